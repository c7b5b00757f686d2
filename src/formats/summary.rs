//! `summary.json`: every figure of a plan. Its shape is a promise: a key stays, and what
//! it means stays; keys may be added.
//!
//! Figures have at most six decimals, positions ten. The types here are the file's own;
//! their words are those of the JSON Schema that `swardlane schema summary` prints.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::summary_hand::{self as hand, Hand};
use super::{FormatError, decimals, figure};
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::route::kind::Kind;
use crate::route::legs;
use crate::route::order::BoundMethod;
use crate::route::wheels::{CELL_M, WheelTraffic};

/// The name of the file.
pub const FILE_NAME: &str = "summary.json";
/// What the key `program` says: by it a folder is known to be this program's.
pub const PROGRAM: &str = "swardlane";

/// Every figure of a plan. Metres, square metres, seconds; headings true, clockwise from
/// north; angles anticlockwise from the pitch's +x, which points along the bearing.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Summary {
    /// Always `swardlane`: by it a folder is known to be this program's.
    pub program: &'static str,
    /// The job's name.
    pub job: String,
    /// Where the pitch lies.
    pub frame: Frame,
    /// The pitch.
    pub pitch: Pitch,
    /// The disjoint wear zones; their areas sum to the pitch's.
    pub zones: Vec<Zone>,
    /// The machine work, in the order of the job.
    pub operations: Vec<Operation>,
    /// The hand work, in the order of the job.
    pub hand: Vec<Hand>,
    /// Sums over all operations; the hand work counts in person-seconds and cost.
    pub totals: Totals,
    /// Wheel passes of all drives of this run together; null without a drive.
    pub wheels: Option<Wheels>,
    /// What a person should know before driving the plan.
    pub warnings: Vec<Warning>,
    /// The paths of all files of this run within its folder, this one among them.
    pub files: Vec<String>,
}

/// Where the pitch lies: a transverse Mercator at the origin, scale 1, WGS84, turned by
/// the bearing.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Frame {
    /// WGS84 latitude of the middle of the fitted rectangle, degrees; null without a position.
    pub origin_lat_deg: Option<f64>,
    /// WGS84 longitude likewise.
    pub origin_lon_deg: Option<f64>,
    /// True bearing of the long axis (+x) at the origin, degrees.
    pub bearing_deg: f64,
    /// The coordinate reference system the ground file was given in; null: WGS84.
    pub crs: Option<String>,
    /// Accuracy of its transformation, metres; null where nothing was transformed or it
    /// is unknown.
    pub crs_accuracy_m: Option<f64>,
}

/// The pitch.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Pitch {
    /// Length of the fitted rectangle: the touch line.
    pub length_m: f64,
    /// Width of the fitted rectangle: the goal line.
    pub width_m: f64,
    /// Area within the outline, places kept clear included.
    pub area_m2: f64,
    /// The largest distance of a mark or outline vertex from the fitted rectangle.
    pub misfit_m: f64,
}

/// A wear zone.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Zone {
    /// Its name, such as `goalmouth-south`.
    pub name: String,
    /// Its kind, such as `goalmouth`; `user` for the user's own.
    pub kind: &'static str,
    /// Its wear class, 1 (light) to 5 (bare).
    pub wear: u8,
    /// Its area.
    pub area_m2: f64,
}

/// One operation.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Operation {
    /// Its id.
    pub id: String,
    /// What is done.
    pub task: &'static str,
    /// With what.
    pub implement: String,
    /// Width worked.
    pub working_width_m: f64,
    /// Overlap of neighbouring passes, as asked.
    pub overlap_m: f64,
    /// Width less overlap.
    pub asked_spacing_m: f64,
    /// What is to be worked.
    pub target_area_m2: f64,
    /// Area of the union of zones less the target.
    pub kept_clear_m2: f64,
    /// The directions in the order worked; rounds, where there are any, first.
    pub directions: Vec<Direction>,
    /// Area of the target worked by exactly 0, 1, 2 … directions. Rounds count as one.
    pub worked_times_m2: BTreeMap<usize, f64>,
    /// The time it takes.
    pub time: Time,
    /// The drive; null where none is planned (work by hand, or nothing can be driven), and
    /// turning is an estimate then.
    pub route: Option<Route>,
    /// What steering leaves on average: an estimate; null without a tractor.
    pub steering: Option<Steering>,
    /// Wheel passes over the ground in the drive; null without one.
    pub wheels: Option<Wheels>,
    /// Always null in this version: no material is counted.
    pub material: (),
}

/// The drive of an operation.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Route {
    /// Length of all legs of the middle of the rear axle.
    pub length_m: f64,
    /// Turns by kind; a run of turn legs between two work legs is one.
    pub turns: BTreeMap<&'static str, usize>,
    /// Metres of turn legs on the pitch.
    pub turn_on_pitch_m: f64,
    /// Changes of driving direction.
    pub changes: usize,
    /// What orders are compared by: metres off the pitch and weighed metres on it at turning
    /// speed, and seconds of changes of direction.
    pub cost_s: f64,
    /// No order of these parts costs less; null where no bound was made.
    pub lower_bound_s: Option<f64>,
    /// (cost_s - lower_bound_s) / cost_s.
    pub gap: Option<f64>,
    /// How the bound was made: `subsets`, `multipliers` or `sweep`.
    pub bound_method: Option<&'static str>,
    /// How hard the order was searched.
    pub effort: &'static str,
    /// Ends of parts that the ground shortens, metres in all.
    pub shortened_m: f64,
    /// Metres of haul legs.
    pub haul_m: f64,
    /// The loads in the order driven; null where the machine carries nothing or what it puts
    /// down is not known.
    pub loads: Option<Vec<Load>>,
    /// Whether no other loads of the places tried would cost less; null where `loads` is.
    pub loads_are_least: Option<bool>,
}

/// A load, from a full hopper to where it ends.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Load {
    /// Its number, from 1.
    pub load: usize,
    /// What it puts down, tonnes.
    pub put_down_t: f64,
    /// Where it ends: which direction, from 1.
    pub direction: usize,
    /// Which pass of it.
    pub pass: usize,
    /// Which part of that.
    pub part: usize,
    /// Metres of the part worked before it ends, as driven.
    pub along_m: f64,
    /// Metres of the part left to the next load; 0: it ends with the part.
    pub left_m: f64,
    /// The middle of the tool where it ends, pitch metres.
    pub x_m: f64,
    /// Likewise.
    pub y_m: f64,
    /// Metres to the stockpile and back; null after the last load and where no haul is driven.
    pub haul_m: Option<f64>,
}

/// What steering leaves, on average. An estimate.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Steering {
    /// One standard deviation of a line off its place.
    pub sd_m: f64,
    /// Whether that is a default.
    pub sd_is_default: bool,
    /// `string`, `eye` or `satellite`.
    pub by: &'static str,
    /// Area missed between neighbouring passes, all directions added up.
    pub missed_m2: f64,
    /// The share of the area for which the next figure is.
    pub share: f64,
    /// The overlap at which steering misses that share; null where none does.
    pub overlap_for_share_m: Option<f64>,
}

/// Wheel passes of a drive, or of several together.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Wheels {
    /// Side of a cell of the grid.
    pub cell_m: f64,
    /// The most passes of a wheel over one cell of the pitch.
    pub most: u32,
    /// Area of the pitch with more passes than the job wants.
    pub above_m2: f64,
    /// That number.
    pub above: u32,
}

/// One direction of an operation.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Direction {
    /// `along`, `diagonal_left`, `angle_20` …, or `rounds`.
    pub name: String,
    /// How the lines lie; null for rounds.
    pub angle_deg: Option<f64>,
    /// Their true heading at the middle of the pitch; null for rounds.
    pub heading_deg: Option<f64>,
    /// How many lines have a part.
    pub passes: usize,
    /// How many pieces they have.
    pub parts: usize,
    /// Spacing of the lines laid out, the widest where pieces differ; null for one line.
    pub spacing_m: Option<f64>,
    /// Sum of the lengths of all parts.
    pub working_length_m: f64,
    /// Seconds with the tool down.
    pub work_s: f64,
    /// Areas of the strips within the target, added up.
    pub strip_area_m2: f64,
    /// Area of the target that at least one strip works.
    pub covered_m2: f64,
    /// `strip_area_m2` less `covered_m2`.
    pub overlap_m2: f64,
    /// Target less `covered_m2`.
    pub missed_m2: f64,
    /// Area that strips work outside the target.
    pub outside_m2: f64,
    /// The part of `outside_m2` that is off the pitch.
    pub outside_pitch_m2: f64,
}

/// The time of an operation.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Time {
    /// Seconds with the tool down.
    pub work_s: f64,
    /// Seconds of turning: of the drive; where `route` is null an estimate of 35 s for each
    /// part but the first.
    pub turn_s: f64,
    /// Seconds of hauling, of the drive; 0 where `route` is null.
    pub haul_s: f64,
    /// Seconds of loading: `load_min` for each load of the drive; 0 where `route` is null.
    pub load_s: f64,
    /// Seconds for stops: a share of the sum of the others.
    pub allowance_s: f64,
    /// All of them.
    pub total_s: f64,
    /// Hectares covered in an hour, directions added up.
    pub rate_ha_per_h: f64,
    /// `rate_ha_per_h` over speed times width (ASABE EP496).
    pub field_efficiency: f64,
    /// `work_s` over `total_s`.
    pub time_efficiency: f64,
    /// People at it.
    pub people: u32,
}

/// Sums over all operations.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Totals {
    /// Seconds with a tool down.
    pub work_s: f64,
    /// Seconds in all.
    pub total_s: f64,
    /// Person-seconds, those of the hand work among them.
    pub person_s: f64,
    /// Tonnes put down; 0 in this version.
    pub material_t: f64,
    /// Cost of people, in the job's money.
    pub cost: f64,
}

/// A warning.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Warning {
    /// One of a closed, documented list.
    pub code: &'static str,
    /// What was found, what was done about it, how to mend it.
    pub text: String,
    /// The place it speaks of.
    #[serde(rename = "where")]
    pub place: String,
}

impl Summary {
    /// The summary of a plan whose run writes `files`.
    #[must_use]
    pub fn of(plan: &Plan, files: &[String]) -> Self {
        let ground = &plan.ground;
        let frame = ground.frame.as_ref();
        let position = |deg: f64| decimals(deg, 1e10);
        Self {
            program: PROGRAM,
            job: plan.name.clone(),
            frame: Frame {
                origin_lat_deg: frame.map(|frame| position(frame.origin.lat_deg)),
                origin_lon_deg: frame.map(|frame| position(frame.origin.lon_deg)),
                bearing_deg: figure(ground.bearing.deg()),
                crs: frame.and_then(|frame| frame.crs.clone()),
                crs_accuracy_m: frame.and_then(|frame| frame.crs_accuracy_m).map(figure),
            },
            pitch: Pitch {
                length_m: figure(ground.length_m),
                width_m: figure(ground.width_m),
                area_m2: figure(geo::Area::unsigned_area(&ground.outline)),
                misfit_m: figure(ground.misfit_m),
            },
            zones: plan
                .zones
                .iter()
                .map(|zone| Zone {
                    name: zone.name.clone(),
                    kind: zone.kind.name(),
                    wear: zone.wear,
                    area_m2: figure(zone.area_m2),
                })
                .collect(),
            operations: plan.operations.iter().map(operation).collect(),
            hand: plan.hand.iter().map(hand::hand).collect(),
            totals: Totals {
                work_s: figure(plan.totals.work_s),
                total_s: figure(plan.totals.total_s),
                person_s: figure(plan.totals.person_s),
                material_t: 0.0,
                cost: figure(plan.totals.cost),
            },
            wheels: plan.wheels.as_ref().map(wheels),
            warnings: plan
                .warnings
                .iter()
                .map(|warning| Warning {
                    code: warning.code.name(),
                    text: warning.text.clone(),
                    place: warning.place.clone(),
                })
                .collect(),
            files: files.to_vec(),
        }
    }

    /// The file's text: indented JSON with a line feed at its end.
    ///
    /// # Errors
    /// [`FormatError::Json`] where a figure is not a number.
    pub fn text(&self) -> Result<String, FormatError> {
        Ok(format!("{}\n", serde_json::to_string_pretty(self)?))
    }
}

fn operation(planned: &OperationPlan) -> Operation {
    let implement = &planned.operation.implement;
    let time = &planned.time;
    Operation {
        id: planned.operation.id.clone(),
        task: planned.operation.task.name(),
        implement: implement.name.clone(),
        working_width_m: figure(implement.working_width_m),
        overlap_m: figure(implement.overlap_m),
        asked_spacing_m: figure(implement.asked_spacing_m()),
        target_area_m2: figure(planned.target.area_m2),
        kept_clear_m2: figure(planned.target.kept_clear_m2),
        directions: planned.directions.iter().map(direction).collect(),
        worked_times_m2: planned
            .worked_times_m2
            .iter()
            .map(|&area_m2| figure(area_m2))
            .enumerate()
            .collect(),
        time: Time {
            work_s: figure(time.work_s),
            turn_s: figure(time.turn_s),
            haul_s: figure(time.haul_s),
            load_s: figure(time.load_s),
            allowance_s: figure(time.allowance_s),
            total_s: figure(time.total_s),
            rate_ha_per_h: figure(time.rate_ha_per_h),
            field_efficiency: figure(time.field_efficiency),
            time_efficiency: figure(time.time_efficiency),
            people: time.people,
        },
        route: planned.route.as_ref().map(|drive| route(planned, drive)),
        steering: planned.steering.as_ref().map(|steering| Steering {
            sd_m: figure(steering.sd_m),
            sd_is_default: steering.is_default,
            by: steering.by.name(),
            missed_m2: figure(steering.missed_m2),
            share: figure(steering.share),
            overlap_for_share_m: steering.overlap_for_share_m.map(figure),
        }),
        wheels: planned.wheels.as_ref().map(wheels),
        material: (),
    }
}

fn wheels(traffic: &WheelTraffic) -> Wheels {
    Wheels {
        cell_m: CELL_M,
        most: traffic.most,
        above_m2: figure(traffic.above_m2),
        above: traffic.above,
    }
}

fn route(planned: &OperationPlan, drive: &legs::Route) -> Route {
    let count = |kind: &Kind| drive.turns.get(kind).copied().unwrap_or(0);
    let parts = planned.directions.iter().flat_map(|direction| {
        let passes = direction.passes.passes.iter();
        passes.flat_map(|pass| &pass.parts)
    });
    Route {
        length_m: figure(drive.length_m),
        turns: Kind::ALL
            .iter()
            .map(|kind| (kind.name(), count(kind)))
            .collect(),
        turn_on_pitch_m: figure(drive.turn_on_pitch_m),
        changes: drive.changes,
        cost_s: figure(drive.cost_s),
        lower_bound_s: drive.lower_bound_s.map(figure),
        gap: drive.gap().map(figure),
        bound_method: drive.bound_method.map(BoundMethod::name),
        effort: drive.effort.name(),
        shortened_m: figure(parts.map(|part| part.shortened_m).sum()),
        haul_m: figure(drive.haul_m),
        loads: drive.refills.as_ref().map(loads),
        loads_are_least: drive.refills.as_ref().map(|refills| refills.are_least),
    }
}

fn loads(refills: &legs::Refills) -> Vec<Load> {
    let numbered = refills.loads.iter().enumerate();
    let loads = numbered.map(|(index, load)| Load {
        load: index + 1,
        put_down_t: figure(load.put_down_t),
        direction: load.end.worked.direction,
        pass: load.end.worked.pass,
        part: load.end.worked.part,
        along_m: figure(load.end.along_m),
        left_m: figure(load.end.left_m),
        x_m: figure(load.end.at.x),
        y_m: figure(load.end.at.y),
        haul_m: load.haul_m.map(figure),
    });
    loads.collect()
}

fn direction(planned: &DirectionPlan) -> Direction {
    let (passes, coverage) = (&planned.passes, &planned.coverage);
    Direction {
        name: passes.name.clone(),
        angle_deg: passes.angle.map(|angle| figure(angle.deg())),
        heading_deg: passes.heading.map(|heading| figure(heading.deg())),
        passes: passes.passes.len(),
        parts: passes.part_count(),
        spacing_m: passes.spacing_m.map(figure),
        working_length_m: figure(planned.working_length_m),
        work_s: figure(planned.work_s),
        strip_area_m2: figure(coverage.strip_area_m2),
        covered_m2: figure(coverage.covered_m2),
        overlap_m2: figure(coverage.overlap_m2),
        missed_m2: figure(coverage.missed_m2),
        outside_m2: figure(coverage.outside_m2),
        outside_pitch_m2: figure(coverage.outside_pitch_m2),
    }
}

/// The JSON Schema of `summary.json`, as `swardlane schema summary` prints it.
///
/// # Errors
/// [`FormatError::Json`] should it not print, which no input can bring about.
pub fn schema() -> Result<String, FormatError> {
    let schema = schemars::schema_for!(Summary);
    Ok(format!("{}\n", serde_json::to_string_pretty(&schema)?))
}
