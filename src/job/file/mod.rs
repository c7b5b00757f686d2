//! The job file as it is written: its serde types, one field for each key.
//!
//! These types are the one list of keys. The reader, the JSON Schema and
//! `docs/job-file.md` are all derived from them: a doc comment here is the description
//! there, `required` here is the demand there. Limits stand in [`super::limits`] and
//! defaults in [`super::defaults`], by the path of the key. Every field is optional for
//! serde, so that a file with several mistakes is still read as far as it goes.

mod hand;
mod operation;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

pub use hand::*;
pub use operation::*;

/// A job: what the ground looks like, what machines there are, what work is asked.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "job")]
pub struct JobToml {
    /// What the job is called on sheets and in files.
    #[schemars(required)]
    pub name: Option<String>,
    /// A date, printed on sheets, such as `2026-06-02`.
    #[schemars(with = "Option<String>", extend("format" = "date"))]
    pub date: Option<toml::value::Datetime>,
    /// The label of money, such as `"£"`.
    pub currency: Option<String>,
    /// The pitch: its sizes and where it lies.
    pub pitch: Option<PitchToml>,
    /// The ground file, where there is one.
    pub ground: Option<GroundToml>,
    /// Places told from a corner flag, where the ground file does not show them.
    pub places: Option<PlacesToml>,
    /// Who works.
    pub crew: Option<CrewToml>,
    /// Materials, each under a name of your own.
    #[serde(default)]
    pub material: BTreeMap<String, MaterialToml>,
    /// Tractors, each under a name of your own.
    #[serde(default)]
    pub tractor: BTreeMap<String, TractorToml>,
    /// Implements, each under a name of your own.
    #[serde(default)]
    pub implement: BTreeMap<String, ImplementToml>,
    /// The machine work, in the order it is done.
    #[serde(default)]
    pub operation: Vec<OperationToml>,
    /// The hand work.
    #[serde(default)]
    pub hand: Vec<HandToml>,
    /// Settings that hold for the whole plan.
    pub plan: Option<PlanToml>,
}

/// The pitch. It is laid down in one of four ways: sizes, centre and bearing; sizes and
/// corner marks; an outline in the ground file; sizes alone.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "pitch")]
pub struct PitchToml {
    /// Length of the touch lines.
    pub length_m: Option<f64>,
    /// Length of the goal lines.
    pub width_m: Option<f64>,
    /// The middle of the pitch.
    pub centre: Option<PositionToml>,
    /// True bearing of the long axis.
    pub bearing_deg: Option<f64>,
    /// Two to four corner marks, instead of centre and bearing.
    pub corners: Option<CornersToml>,
    /// The names of the two ends, that towards the bearing first: `["north", "south"]`.
    #[schemars(length(min = 2, max = 2))]
    pub ends: Option<Vec<CompassWord>>,
    /// Grass beyond the lines: `{ touch = 4.0, goal = 5.0 }` or by all four sides.
    pub run_off_m: Option<RunOffToml>,
    /// The crew's own names of sides and ends, for labels.
    pub stands: Option<StandsToml>,
    /// What the pitch is made of.
    pub surface: Option<SurfaceToml>,
}

/// A place on the globe, WGS84.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "position")]
pub struct PositionToml {
    /// Latitude, north positive.
    #[schemars(required)]
    pub lat_deg: Option<f64>,
    /// Longitude, east positive.
    #[schemars(required)]
    pub lon_deg: Option<f64>,
}

/// Corner marks, by the compass.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "corners")]
pub struct CornersToml {
    /// The north-east corner.
    pub ne: Option<PositionToml>,
    /// The south-east corner.
    pub se: Option<PositionToml>,
    /// The south-west corner.
    pub sw: Option<PositionToml>,
    /// The north-west corner.
    pub nw: Option<PositionToml>,
}

/// Run-off: `touch` and `goal`, or all four sides by the compass.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "run_off")]
pub struct RunOffToml {
    /// Beyond both touch lines.
    pub touch: Option<f64>,
    /// Beyond both goal lines.
    pub goal: Option<f64>,
    /// Beyond the north side or end.
    pub north: Option<f64>,
    /// Beyond the east side or end.
    pub east: Option<f64>,
    /// Beyond the south side or end.
    pub south: Option<f64>,
    /// Beyond the west side or end.
    pub west: Option<f64>,
}

/// Names of stands, by the compass.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "stands")]
pub struct StandsToml {
    /// The crew's name of the north side or end.
    pub north: Option<String>,
    /// The crew's name of the east side or end.
    pub east: Option<String>,
    /// The crew's name of the south side or end.
    pub south: Option<String>,
    /// The crew's name of the west side or end.
    pub west: Option<String>,
}

/// A point of the compass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "compass")]
#[allow(missing_docs)]
pub enum CompassWord {
    North,
    East,
    South,
    West,
}

/// The surface.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "surface")]
pub struct SurfaceToml {
    /// Natural grass, or grass reinforced by fibres.
    pub kind: Option<SurfaceWord>,
    /// No operation may go deeper.
    pub max_depth_mm: Option<f64>,
}

/// Kinds of surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "surface_kind")]
#[allow(missing_docs)]
pub enum SurfaceWord {
    Natural,
    Hybrid,
}

/// The ground file.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "ground")]
pub struct GroundToml {
    /// A GeoJSON file of features with a role, beside the job file.
    #[schemars(required)]
    pub file: Option<String>,
    /// The coordinate reference system of the file, such as `"EPSG:27700"`; only where it
    /// is not WGS84. Coordinates are then easting, northing.
    pub crs: Option<String>,
    /// A folder of PROJ grids, beside the job file, for a sharper transformation.
    pub grids: Option<String>,
}

/// Places told from a corner flag. They may stand beside those of a ground file.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "places")]
pub struct PlacesToml {
    /// The way in.
    pub entrance: Option<FlagPlaceToml>,
    /// Where material lies.
    pub stockpile: Option<FlagPlaceToml>,
}

/// A place told from a corner flag.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "flag_place")]
pub struct FlagPlaceToml {
    /// The corner flag.
    #[schemars(required)]
    pub at: Option<CornerWord>,
    /// Along the goal line from the flag, inwards.
    #[schemars(required)]
    pub along_m: Option<f64>,
    /// Out from the goal line into the run-off.
    #[schemars(required)]
    pub out_m: Option<f64>,
}

/// A corner of the pitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "corner")]
#[allow(missing_docs)]
pub enum CornerWord {
    Ne,
    Se,
    Sw,
    Nw,
}

/// The crew.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "crew")]
pub struct CrewToml {
    /// How many people work, where an operation does not say.
    pub people: Option<u32>,
    /// What an hour of one person costs, in `currency`.
    pub price_per_h: Option<f64>,
}

/// A material.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "material")]
pub struct MaterialToml {
    /// Its kind.
    #[schemars(required)]
    pub kind: Option<MaterialWord>,
    /// One figure where it was measured, else a range `[least, greatest]`.
    pub density_t_per_m3: Option<DensityToml>,
    /// Price of a tonne, in `currency`.
    pub price_per_t: Option<f64>,
    /// What one lorry brings.
    pub lorry_t: Option<f64>,
}

/// A density, or a range until it is measured.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(untagged, rename = "density")]
pub enum DensityToml {
    /// Measured.
    Measured(f64),
    /// The least and the greatest that it may be.
    Range([f64; 2]),
}

/// Kinds of material.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "material_kind")]
#[allow(missing_docs)]
pub enum MaterialWord {
    Sand,
    Seed,
    Fertiliser,
    RootZone,
    Arisings,
}

/// A tractor.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "tractor")]
pub struct TractorToml {
    /// Least turning radius of the middle of the rear axle; where the sides differ
    /// `{ left = 2.9, right = 3.2 }`.
    #[schemars(required)]
    pub turn_radius_m: Option<TurnRadiusToml>,
    /// Its body about the middle of the rear axle, the point that is steered.
    pub body: Option<BodyToml>,
    /// Speed in turns.
    pub turn_speed_km_h: Option<f64>,
    /// What a change of driving direction takes: stop, shift, start.
    pub change_s: Option<f64>,
    /// From the middle of the left wheels to the middle of the right ones.
    pub track_width_m: Option<f64>,
    /// By what it is steered.
    pub steering: Option<SteeringWord>,
    /// How well it is steered: one standard deviation of its way off the line.
    pub steering_sd_m: Option<f64>,
}

/// By what a tractor is steered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "steering")]
pub enum SteeringWord {
    /// Along a string or canes.
    String,
    /// By eye, along the pass before.
    Eye,
    /// By satellite with correction.
    Satellite,
}

/// A turning radius, or one for each side.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(untagged, rename = "turn_radius")]
pub enum TurnRadiusToml {
    /// The same both ways.
    Both(f64),
    /// Left and right.
    Each(EachRadiusToml),
}

/// A turning radius for each side.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "each_turn_radius")]
pub struct EachRadiusToml {
    /// To the left.
    #[schemars(required)]
    pub left: Option<f64>,
    /// To the right.
    #[schemars(required)]
    pub right: Option<f64>,
}

/// A tractor's body.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "body")]
pub struct BodyToml {
    /// Its width.
    #[schemars(required)]
    pub width_m: Option<f64>,
    /// How far it reaches ahead of the rear axle.
    #[schemars(required)]
    pub ahead_m: Option<f64>,
    /// How far it reaches behind the rear axle.
    #[schemars(required)]
    pub behind_m: Option<f64>,
}

/// An implement.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "implement")]
pub struct ImplementToml {
    /// The tractor that pulls it; left out, it is pushed or carried by hand.
    pub tractor: Option<String>,
    /// Width that it works.
    #[schemars(required)]
    pub working_width_m: Option<f64>,
    /// How far neighbouring passes overlap.
    pub overlap_m: Option<f64>,
    /// Working speed.
    #[schemars(required)]
    pub speed_km_h: Option<f64>,
    /// How far behind the rear axle it works.
    pub reach_m: Option<f64>,
    /// Whether the machine may reverse with the tool lifted.
    pub can_reverse: Option<bool>,
    /// What it carries, where it carries material.
    pub hopper_t: Option<f64>,
    /// Minutes to fill it.
    pub load_min: Option<f64>,
}

/// Settings that hold for the whole plan.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "plan")]
pub struct PlanToml {
    /// Share of work, turning, hauling and loading that is added for stops.
    pub stops_share: Option<f64>,
    /// Work over services whose depth nobody knows as if they lay deep.
    pub accept_unknown_services: Option<bool>,
    /// The goals are away: only their sockets count.
    pub goals_out: Option<bool>,
    /// How hard the order of passes is searched.
    pub effort: Option<EffortWord>,
    /// More passes of a wheel over one place are warned of.
    pub wheel_passes_max: Option<u32>,
    /// The overlap is told for which steering misses at most this share of the area.
    pub steering_miss_share: Option<f64>,
    /// Write both ends of every pass into `guidance/route.gpx` as named waypoints.
    pub gpx_waypoints: Option<bool>,
    /// The version of ISO 11783-10 that the task data for a terminal is written in.
    pub task_data: Option<TaskDataWord>,
}

/// Versions of task data.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename = "task_data")]
#[allow(missing_docs)]
pub enum TaskDataWord {
    #[serde(rename = "4.3")]
    V4_3,
    #[serde(rename = "3.3")]
    V3_3,
}

/// How hard the order of passes is searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "effort")]
#[allow(missing_docs)]
pub enum EffortWord {
    Quick,
    Normal,
    Thorough,
}
