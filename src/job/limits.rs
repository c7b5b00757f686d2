//! The one table of limits: what each bounded quantity may be.
//!
//! The check, the message, the JSON Schema and `docs/job-file.md` all read these tables.
//! A path names the keys that a limit holds for; `*` stands for any one name or entry,
//! so `implement.*.speed_km_h` is the speed of every implement.

/// The limit of a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// What it is called in the documents.
    pub name: &'static str,
    /// The least value.
    pub least: f64,
    /// Whether the least value itself is allowed.
    pub least_included: bool,
    /// The greatest value, itself allowed.
    pub greatest: f64,
    /// The unit, in words; empty for counts.
    pub unit: &'static str,
    /// The keys that it holds for.
    pub paths: &'static [&'static str],
}

impl Limit {
    /// Whether a value is within the limit. A number that is not finite never is.
    #[must_use]
    pub fn allows(&self, value: f64) -> bool {
        let above = if self.least_included {
            value >= self.least
        } else {
            value > self.least
        };
        value.is_finite() && above && value <= self.greatest
    }

    /// `0.1 to 30`; `above 0, to 40` where the least value itself is not allowed.
    #[must_use]
    pub fn range(&self) -> String {
        if self.least_included {
            format!("{} to {}", self.least, self.greatest)
        } else {
            format!("above {}, to {}", self.least, self.greatest)
        }
    }

    /// What a value beyond the limit is, in words that follow `is`: `outside 0.1 to 30`; `not
    /// above 0 and at most 40` where the least value itself is not allowed.
    #[must_use]
    pub fn beyond(&self) -> String {
        if self.least_included {
            format!("outside {}", self.range())
        } else {
            format!("not above {} and at most {}", self.least, self.greatest)
        }
    }
}

const fn from_to(
    name: &'static str,
    least: f64,
    greatest: f64,
    unit: &'static str,
    paths: &'static [&'static str],
) -> Limit {
    Limit {
        name,
        least,
        least_included: true,
        greatest,
        unit,
        paths,
    }
}

const fn above_to(
    name: &'static str,
    least: f64,
    greatest: f64,
    unit: &'static str,
    paths: &'static [&'static str],
) -> Limit {
    Limit {
        least_included: false,
        ..from_to(name, least, greatest, unit, paths)
    }
}

/// All limits of numbers, in the order of the job file, those of the ground file last
/// (under `feature`).
#[rustfmt::skip]
pub const LIMITS: &[Limit] = &[
    from_to("side of the pitch", 10.0, 500.0, "metres", &["pitch.length_m", "pitch.width_m"]),
    from_to("latitude", -84.0, 84.0, "degrees", &["pitch.centre.lat_deg", "pitch.corners.*.lat_deg"]),
    from_to("longitude", -180.0, 180.0, "degrees", &["pitch.centre.lon_deg", "pitch.corners.*.lon_deg"]),
    from_to("bearing", 0.0, 360.0, "degrees, clockwise from true north", &["pitch.bearing_deg"]),
    from_to("run-off", 0.0, 50.0, "metres", &["pitch.run_off_m.*"]),
    above_to("greatest depth of the surface", 0.0, 1000.0, "millimetres", &["pitch.surface.max_depth_mm"]),
    from_to("along the goal line", -50.0, 500.0, "metres", &["places.*.along_m"]),
    from_to("out from the goal line", -50.0, 50.0, "metres", &["places.*.out_m"]),
    from_to("people", 1.0, 100.0, "", &["crew.people", "operation.*.people", "hand.*.people"]),
    from_to("price of an hour", 0.0, 10_000.0, "", &["crew.price_per_h"]),
    from_to("density", 0.05, 5.0, "tonnes per cubic metre", &["material.*.density_t_per_m3", "material.*.density_t_per_m3.*"]),
    from_to("price of a tonne", 0.0, 100_000.0, "", &["material.*.price_per_t"]),
    above_to("lorry load", 0.0, 60.0, "tonnes", &["material.*.lorry_t"]),
    from_to("turning radius", 0.0, 30.0, "metres", &["tractor.*.turn_radius_m", "tractor.*.turn_radius_m.*"]),
    from_to("width of a body", 0.1, 5.0, "metres", &["tractor.*.body.width_m"]),
    from_to("reach of a body", 0.0, 10.0, "metres", &["tractor.*.body.ahead_m", "tractor.*.body.behind_m"]),
    from_to("speed", 0.1, 40.0, "km/h", &["tractor.*.turn_speed_km_h", "implement.*.speed_km_h"]),
    from_to("change of driving direction", 0.0, 120.0, "seconds", &["tractor.*.change_s"]),
    from_to("track width", 0.1, 5.0, "metres", &["tractor.*.track_width_m"]),
    from_to("steering", 0.0, 1.0, "metres", &["tractor.*.steering_sd_m"]),
    from_to("working width", 0.1, 30.0, "metres", &["implement.*.working_width_m"]),
    from_to("overlap", 0.0, 15.0, "metres, and below half of `working_width_m`", &["implement.*.overlap_m"]),
    from_to("reach of an implement", 0.0, 15.0, "metres", &["implement.*.reach_m"]),
    above_to("hopper", 0.0, 40.0, "tonnes", &["implement.*.hopper_t"]),
    from_to("loading time", 0.0, 240.0, "minutes", &["implement.*.load_min"]),
    from_to("wear class", 1.0, 5.0, "(5 is bare)", &["operation.*.wear.*", "operation.*.rates.*.wear.*", "feature.wear"]),
    from_to("angle", -360.0, 360.0, "degrees, anticlockwise from the long axis", &["operation.*.directions.*.angle_deg", "operation.*.rates.*.directions.*.angle_deg", "hand.*.angle_deg"]),
    from_to("heading", 0.0, 360.0, "degrees, clockwise from true north", &["operation.*.directions.*.heading_deg", "operation.*.rates.*.directions.*.heading_deg"]),
    from_to("run over the end", 0.0, 20.0, "metres", &["operation.*.over_m"]),
    from_to("pitch coordinate", -1000.0, 1000.0, "metres", &["operation.*.start.line.*.*", "hand.*.block.worn.*.*", "hand.*.block.worn_area.*.*"]),
    from_to("perimeter rounds", 0.0, 50.0, "", &["operation.*.perimeter_rounds"]),
    from_to("cost of turning on the pitch", 0.0, 100.0, "metres for a metre", &["operation.*.turn_on_pitch_cost"]),
    from_to("depth", 0.0, 1000.0, "millimetres", &["operation.*.depth_mm", "hand.*.fork.depth_mm", "hand.*.block.depth_mm"]),
    from_to("rate by hectare", 0.0, 2000.0, "tonnes per hectare", &["operation.*.rate_t_per_ha", "operation.*.rates.*.rate_t_per_ha"]),
    from_to("rate by square metre", 0.0, 20_000.0, "grams per square metre", &["operation.*.rate_g_per_m2", "operation.*.rates.*.rate_g_per_m2"]),
    from_to("dressing", 0.0, 100.0, "millimetres", &["operation.*.dressing_mm", "operation.*.rates.*.dressing_mm"]),
    from_to("shortest part", 0.0, 10.0, "metres", &["operation.*.min_pass_m"]),
    from_to("length of a board", 0.2, 10.0, "metres", &["hand.*.board.length_m"]),
    from_to("width of a board", 0.05, 2.0, "metres", &["hand.*.board.width_m"]),
    from_to("tines", 1.0, 50.0, "", &["hand.*.fork.tines"]),
    from_to("spacing of holes", 5.0, 2000.0, "millimetres", &["hand.*.fork.tine_spacing_mm", "hand.*.fork.step_mm"]),
    above_to("tine diameter", 0.0, 100.0, "millimetres", &["hand.*.fork.tine_diameter_mm"]),
    from_to("edge of a lattice", 0.0, 2000.0, "millimetres", &["hand.*.fork.edge_mm"]),
    from_to("side of a block", 0.05, 2.0, "metres", &["hand.*.block.side_m"]),
    from_to("barrow load", 1.0, 1000.0, "kilograms", &["hand.*.block.barrow_kg"]),
    from_to("width of a lane", 0.5, 50.0, "metres", &["hand.*.lane.width_m"]),
    above_to("time for mending", 0.0, 1440.0, "minutes", &["hand.*.lane.minutes"]),
    from_to("days of mending", 1.0, 60.0, "", &["hand.*.lane.days"]),
    from_to("stages", 1.0, 2.0, "", &["hand.*.stages"]),
    above_to("time of a forking", 0.0, 600.0, "seconds", &["hand.*.s_per_forking"]),
    from_to("coincident holes", 0.0, 10.0, "tine diameters", &["hand.*.coincident_tines"]),
    from_to("share of coincident holes", 0.0, 1.0, "of the holes of the second stage", &["hand.*.coincident_share"]),
    above_to("time of a block", 0.0, 7200.0, "seconds", &["hand.*.s_per_block"]),
    above_to("hand work in an hour", 0.0, 10_000.0, "square metres by one person", &["hand.*.m2_per_person_h"]),
    from_to("share of stops", 0.0, 5.0, "of the other times", &["plan.stops_share"]),
    from_to("wheel passes", 1.0, 10_000.0, "", &["plan.wheel_passes_max"]),
    above_to("share missed by steering", 0.0, 0.5, "of the area", &["plan.steering_miss_share"]),
    from_to("clearance", 0.0, 50.0, "metres", &["feature.clearance_m"]),
    from_to("depth of a service", 0.0, 20.0, "metres", &["feature.depth_m"]),
    from_to("height of a stand", 0.0, 100.0, "metres", &["feature.height_m"]),
];

/// The limit of a size: of a file, a list or a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SizeLimit {
    /// What it is called in documents and messages.
    pub name: &'static str,
    /// The least.
    pub least: usize,
    /// The greatest.
    pub greatest: usize,
    /// The keys whose lists it holds for; empty where it is no list of the job file.
    pub paths: &'static [&'static str],
}

const fn size(
    name: &'static str,
    least: usize,
    greatest: usize,
    paths: &'static [&'static str],
) -> SizeLimit {
    SizeLimit {
        name,
        least,
        greatest,
        paths,
    }
}

/// Bytes of a job file.
pub const JOB_BYTES: SizeLimit = size("bytes of a job file", 0, 1 << 20, &[]);
/// Bytes of a ground file.
pub const GROUND_BYTES: SizeLimit = size("bytes of a ground file", 0, 16 << 20, &[]);
/// Features of a ground file.
pub const FEATURES: SizeLimit = size("features of a ground file", 0, 2_000, &[]);
/// Vertices of a ground file, all features together.
pub const VERTICES: SizeLimit = size("vertices of a ground file", 0, 50_000, &[]);
/// Rings of one feature.
pub const RINGS: SizeLimit = size("rings of a feature", 0, 200, &[]);
/// Letters of a name or label.
pub const NAME_LETTERS: SizeLimit = size("letters of a name", 1, 100, &[]);
/// Letters of an id, which becomes part of file names.
pub const ID_LETTERS: SizeLimit = size("letters of an id", 1, 64, &[]);
/// Blocks that one piece of hand work swaps.
pub const BLOCKS: SizeLimit = size("blocks to swap", 0, 500, &[]);
/// Places on the strip that donor blocks are sought on.
pub const DONOR_PLACES: SizeLimit = size("places for a donor block", 0, 400_000, &[]);
/// Holes of one stage of one piece of hand work.
pub const HOLES: SizeLimit = size("holes of a stage", 0, 1_000_000, &[]);
/// Features lie no further apart than this, metres.
pub const GROUND_SPREAD_M: f64 = 5_000.0;
/// No latitude beyond this, degrees north or south.
pub const LATITUDE_DEG: f64 = 84.0;
/// Not more faults than this are told at once.
pub const FAULTS_TOLD: usize = 100;

/// All limits of sizes, files first, then lists in the order of the job file.
#[rustfmt::skip]
pub const SIZES: &[SizeLimit] = &[
    JOB_BYTES,
    GROUND_BYTES,
    FEATURES,
    VERTICES,
    RINGS,
    NAME_LETTERS,
    ID_LETTERS,
    size("materials", 0, 200, &["material"]),
    size("tractors", 0, 200, &["tractor"]),
    size("implements", 0, 200, &["implement"]),
    size("operations", 0, 100, &["operation"]),
    size("pieces of hand work", 0, 100, &["hand"]),
    size("zone words", 1, 200, &["operation.*.zones", "operation.*.rates.*.zones"]),
    size("wear classes", 1, 5, &["operation.*.wear", "operation.*.rates.*.wear"]),
    size("directions of an operation", 1, 12, &["operation.*.directions", "operation.*.rates.*.directions"]),
    size("rates by place", 1, 200, &["operation.*.rates"]),
    size("worn places", 1, 500, &["hand.*.block.worn"]),
    size("corners of a worn place", 3, 100, &["hand.*.block.worn_area"]),
    BLOCKS,
    DONOR_PLACES,
    HOLES,
];

/// Whether a pattern such as `implement.*.speed_km_h` names that path.
#[must_use]
pub fn names(pattern: &str, path: &str) -> bool {
    // Most patterns differ in their last letter already, and there are many.
    let last = |text: &str| text.bytes().next_back();
    if !pattern.ends_with('*') && last(pattern) != last(path) {
        return false;
    }
    let mut parts = path.split('.');
    pattern
        .split('.')
        .all(|part| parts.next().is_some_and(|have| part == "*" || part == have))
        && parts.next().is_none()
}

/// The limit of the number at that path.
#[must_use]
pub fn of(path: &str) -> Option<&'static Limit> {
    LIMITS
        .iter()
        .find(|limit| limit.paths.iter().any(|pattern| names(pattern, path)))
}

/// The limit of the list or table of names at that path.
#[must_use]
pub fn size_of(path: &str) -> Option<&'static SizeLimit> {
    SIZES
        .iter()
        .find(|limit| limit.paths.iter().any(|pattern| names(pattern, path)))
}
