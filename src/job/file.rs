//! The job file as it is written: its serde types, one field for each key.
//!
//! These types are the one list of keys. The reader, the JSON Schema and
//! `docs/job-file.md` are all derived from them: a doc comment here is the description
//! there, `required` here is the demand there. Limits stand in [`super::limits`] and
//! defaults in [`super::defaults`], by the path of the key. Every field is optional for
//! serde, so that a file with several mistakes is still read as far as it goes.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

/// A job: what the ground looks like, what machines there are, what work is asked.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "job")]
pub struct JobFile {
    /// What the job is called on sheets and in files.
    #[schemars(required)]
    pub name: Option<String>,
    /// A date, printed on sheets, such as `2026-06-02`.
    #[schemars(with = "Option<String>", extend("format" = "date"))]
    pub date: Option<toml::value::Datetime>,
    /// The label of money, such as `"£"`.
    pub currency: Option<String>,
    /// The pitch: its sizes and where it lies.
    pub pitch: Option<PitchFile>,
    /// The ground file, where there is one.
    pub ground: Option<GroundFile>,
    /// Places told from a corner flag, where the ground file does not show them.
    pub places: Option<PlacesFile>,
    /// Who works.
    pub crew: Option<CrewFile>,
    /// Materials, each under a name of your own.
    #[serde(default)]
    pub material: BTreeMap<String, MaterialFile>,
    /// Tractors, each under a name of your own.
    #[serde(default)]
    pub tractor: BTreeMap<String, TractorFile>,
    /// Implements, each under a name of your own.
    #[serde(default)]
    pub implement: BTreeMap<String, ImplementFile>,
    /// The machine work, in the order it is done.
    #[serde(default)]
    pub operation: Vec<OperationFile>,
    /// The hand work.
    #[serde(default)]
    pub hand: Vec<HandFile>,
    /// Settings that hold for the whole plan.
    pub plan: Option<PlanFile>,
}

/// The pitch. It is laid down in one of four ways: sizes, centre and bearing; sizes and
/// corner marks; an outline in the ground file; sizes alone.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "pitch")]
pub struct PitchFile {
    /// Length of the touch lines.
    pub length_m: Option<f64>,
    /// Length of the goal lines.
    pub width_m: Option<f64>,
    /// The middle of the pitch.
    pub centre: Option<PositionFile>,
    /// True bearing of the long axis.
    pub bearing_deg: Option<f64>,
    /// Two to four corner marks, instead of centre and bearing.
    pub corners: Option<CornersFile>,
    /// The names of the two ends, that towards the bearing first: `["north", "south"]`.
    #[schemars(length(min = 2, max = 2))]
    pub ends: Option<Vec<CompassWord>>,
    /// Grass beyond the lines: `{ touch = 4.0, goal = 5.0 }` or by all four sides.
    pub run_off_m: Option<RunOffFile>,
    /// The crew's own names of sides and ends, for labels.
    pub stands: Option<StandsFile>,
    /// What the pitch is made of.
    pub surface: Option<SurfaceFile>,
}

/// A place on the globe, WGS84.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "position")]
pub struct PositionFile {
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
pub struct CornersFile {
    /// The north-east corner.
    pub ne: Option<PositionFile>,
    /// The south-east corner.
    pub se: Option<PositionFile>,
    /// The south-west corner.
    pub sw: Option<PositionFile>,
    /// The north-west corner.
    pub nw: Option<PositionFile>,
}

/// Run-off: `touch` and `goal`, or all four sides by the compass.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "run_off")]
pub struct RunOffFile {
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
pub struct StandsFile {
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
pub struct SurfaceFile {
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
pub struct GroundFile {
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
pub struct PlacesFile {
    /// The way in.
    pub entrance: Option<FlagPlaceFile>,
    /// Where material lies.
    pub stockpile: Option<FlagPlaceFile>,
}

/// A place told from a corner flag.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "flag_place")]
pub struct FlagPlaceFile {
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
pub struct CrewFile {
    /// How many people work, where an operation does not say.
    pub people: Option<u32>,
    /// What an hour of one person costs, in `currency`.
    pub price_per_h: Option<f64>,
}

/// A material.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "material")]
pub struct MaterialFile {
    /// Its kind.
    #[schemars(required)]
    pub kind: Option<MaterialWord>,
    /// One figure where it was measured, else a range `[least, greatest]`.
    pub density_t_per_m3: Option<DensityFile>,
    /// Price of a tonne, in `currency`.
    pub price_per_t: Option<f64>,
    /// What one lorry brings.
    pub lorry_t: Option<f64>,
}

/// A density, or a range until it is measured.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(untagged, rename = "density")]
pub enum DensityFile {
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
pub struct TractorFile {
    /// Least turning radius of the middle of the rear axle; where the sides differ
    /// `{ left = 2.9, right = 3.2 }`.
    #[schemars(required)]
    pub turn_radius_m: Option<TurnRadiusFile>,
    /// Its body about the middle of the rear axle, the point that is steered.
    pub body: Option<BodyFile>,
    /// Speed in turns.
    pub turn_speed_km_h: Option<f64>,
    /// How well it is steered: one standard deviation.
    pub steering_sd_m: Option<f64>,
}

/// A turning radius, or one for each side.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(untagged, rename = "turn_radius")]
pub enum TurnRadiusFile {
    /// The same both ways.
    Both(f64),
    /// Left and right.
    Each(EachRadiusFile),
}

/// A turning radius for each side.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "each_turn_radius")]
pub struct EachRadiusFile {
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
pub struct BodyFile {
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
pub struct ImplementFile {
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

/// One operation.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "operation")]
pub struct OperationFile {
    /// Its name, unique in the job and safe in a file name.
    #[schemars(required)]
    pub id: Option<String>,
    /// What is done.
    #[schemars(required)]
    pub task: Option<TaskWord>,
    /// With what: the name of an implement of this job.
    #[schemars(required)]
    pub implement: Option<String>,
    /// Where: zone names, kinds of zone or regions.
    pub zones: Option<Vec<String>>,
    /// Only zones of these wear classes.
    pub wear: Option<Vec<u8>>,
    /// How the lines lie, in the order worked: a word, `{ angle_deg = 20 }`
    /// (anticlockwise from the long axis) or `{ heading_deg = 340 }` (true).
    pub directions: Option<Vec<DirectionFile>>,
    /// Where the tool is lifted.
    pub ends: Option<EndsWord>,
    /// How far both outer ends of each line are lengthened.
    pub over_m: Option<f64>,
    /// Where the set of lines starts: `"centred"`, `{ from = "west touch line" }` or
    /// `{ line = [[x, y], [x, y]], between = true }` in pitch metres.
    pub start: Option<StartFile>,
    /// What is done with what the spacing leaves over.
    pub remainder: Option<RemainderWord>,
    /// Rounds along the edge, before the straight passes.
    pub perimeter_rounds: Option<u32>,
    /// In which order the passes are driven.
    pub order: Option<OrderWord>,
    /// A metre turned on the pitch counts as this many.
    pub turn_on_pitch_cost: Option<f64>,
    /// What the rule is to read, for tasks that cut.
    pub depth_mm: Option<f64>,
    /// The name of a material of this job.
    pub material: Option<String>,
    /// Rate for the whole operation.
    pub rate_t_per_ha: Option<f64>,
    /// Rate for the whole operation.
    pub rate_g_per_m2: Option<f64>,
    /// Rate for the whole operation, as a depth.
    pub dressing_mm: Option<f64>,
    /// Whether the rate is for the whole operation or for each direction.
    pub rate_per: Option<RatePerWord>,
    /// Rates by place, the first that fits; instead of one rate.
    pub rates: Option<Vec<RateRowFile>>,
    /// People at it.
    pub people: Option<u32>,
    /// Parts shorter than this are dropped.
    pub min_pass_m: Option<f64>,
}

/// What is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "task")]
#[allow(missing_docs)]
pub enum TaskWord {
    Strip,
    VerticalCut,
    Clean,
    Dig,
    Core,
    DeepTine,
    Slit,
    Spike,
    Level,
    Sand,
    Brush,
    Lute,
    Drill,
    Broadcast,
    Roll,
    Feed,
    Spray,
    Mow,
    Other,
}

/// How the lines of a direction lie.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(untagged, rename = "direction")]
pub enum DirectionFile {
    /// By a word.
    Word(DirectionWord),
    /// By degrees.
    Turned(TurnedFile),
}

/// Words for directions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "direction_word")]
#[allow(missing_docs)]
pub enum DirectionWord {
    Along,
    Across,
    DiagonalLeft,
    DiagonalRight,
    CornerLeft,
    CornerRight,
}

/// A direction by degrees: one of the two.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "direction_deg")]
pub struct TurnedFile {
    /// Anticlockwise from the long axis.
    pub angle_deg: Option<f64>,
    /// A true heading.
    pub heading_deg: Option<f64>,
}

/// Where the tool is lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "ends")]
#[allow(missing_docs)]
pub enum EndsWord {
    RunOver,
    OnLine,
    HoldInside,
}

/// Where the set of lines starts.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(untagged, rename = "start")]
pub enum StartFile {
    /// By a word.
    Word(StartWord),
    /// From a line.
    Placed(PlacedFile),
}

/// Words for the start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "start_word")]
#[allow(missing_docs)]
pub enum StartWord {
    Centred,
}

/// A start from a line: `from` or `line`.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "start_line")]
pub struct PlacedFile {
    /// A line of the pitch.
    pub from: Option<LineWord>,
    /// Two points, pitch metres.
    pub line: Option<[[f64; 2]; 2]>,
    /// With `line`: the line lies between two passes.
    pub between: Option<bool>,
}

/// The lines of the pitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename = "pitch_line")]
#[allow(missing_docs)]
pub enum LineWord {
    #[serde(rename = "north touch line")]
    NorthTouchLine,
    #[serde(rename = "east touch line")]
    EastTouchLine,
    #[serde(rename = "south touch line")]
    SouthTouchLine,
    #[serde(rename = "west touch line")]
    WestTouchLine,
    #[serde(rename = "north goal line")]
    NorthGoalLine,
    #[serde(rename = "east goal line")]
    EastGoalLine,
    #[serde(rename = "south goal line")]
    SouthGoalLine,
    #[serde(rename = "west goal line")]
    WestGoalLine,
}

/// What is done with what the spacing leaves over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "remainder")]
#[allow(missing_docs)]
pub enum RemainderWord {
    Even,
    Full,
}

/// In which order passes are driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "order")]
#[allow(missing_docs)]
pub enum OrderWord {
    Shortest,
    Neighbour,
    Lands,
}

/// What a rate is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "rate_per")]
#[allow(missing_docs)]
pub enum RatePerWord {
    Operation,
    Direction,
}

/// A rate by place. What is left out means all.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "rate_row")]
pub struct RateRowFile {
    /// Zone names, kinds of zone or regions.
    pub zones: Option<Vec<String>>,
    /// Only zones of these wear classes.
    pub wear: Option<Vec<u8>>,
    /// Only these directions of the operation; the rate is then what each puts down.
    pub directions: Option<Vec<DirectionFile>>,
    /// The rate.
    pub rate_t_per_ha: Option<f64>,
    /// The rate.
    pub rate_g_per_m2: Option<f64>,
    /// The rate, as a depth.
    pub dressing_mm: Option<f64>,
}

/// Hand work. It is read and checked; this version plans none.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "hand")]
pub struct HandFile {
    /// Its name, unique in the job and safe in a file name.
    #[schemars(required)]
    pub id: Option<String>,
    /// What is done.
    #[schemars(required)]
    pub kind: Option<HandWord>,
    /// Where: a zone name, a kind of zone or a region.
    pub zone: Option<String>,
    /// For `rest`: the operation whose leftovers are worked.
    pub operation: Option<String>,
    /// People at it.
    pub people: Option<u32>,
    /// The board that people stand on.
    pub board: Option<BoardFile>,
    /// The fork.
    pub fork: Option<ForkFile>,
    /// The turf blocks.
    pub block: Option<BlockFile>,
    /// Forkings along (1) or along and across (2).
    pub stages: Option<u32>,
    /// Seconds for one forking.
    pub s_per_forking: Option<f64>,
    /// Holes nearer than this many tine diameters count as coincident.
    pub coincident_tines: Option<f64>,
    /// For `rest`: what one person works in an hour.
    pub m2_per_person_h: Option<f64>,
}

/// Kinds of hand work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "hand_kind")]
#[allow(missing_docs)]
pub enum HandWord {
    Board,
    Blocks,
    Lanes,
    Rest,
}

/// A working board.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "board")]
pub struct BoardFile {
    /// Its length.
    #[schemars(required)]
    pub length_m: Option<f64>,
    /// Its width: what it moves on when turned over.
    #[schemars(required)]
    pub width_m: Option<f64>,
}

/// A fork.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "fork")]
pub struct ForkFile {
    /// How many tines.
    #[schemars(required)]
    pub tines: Option<u32>,
    /// Their spacing.
    #[schemars(required)]
    pub tine_spacing_mm: Option<f64>,
    /// Their diameter.
    #[schemars(required)]
    pub tine_diameter_mm: Option<f64>,
    /// How deep they go.
    #[schemars(required)]
    pub depth_mm: Option<f64>,
    /// From one row of holes to the next.
    #[schemars(required)]
    pub step_mm: Option<f64>,
    /// From the edge to the first hole; half a spacing unless given.
    pub edge_mm: Option<f64>,
}

/// Turf blocks.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "block")]
pub struct BlockFile {
    /// Side of a block.
    #[schemars(required)]
    pub side_m: Option<f64>,
    /// Its depth.
    #[schemars(required)]
    pub depth_mm: Option<f64>,
    /// The worn blocks, by their middles, pitch metres.
    #[schemars(required)]
    pub worn: Option<Vec<[f64; 2]>>,
}

/// Settings that hold for the whole plan.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "plan")]
pub struct PlanFile {
    /// Share of work, turning, hauling and loading that is added for stops.
    pub stops_share: Option<f64>,
    /// Work over services whose depth nobody knows as if they lay deep.
    pub accept_unknown_services: Option<bool>,
    /// The goals are away: only their sockets count.
    pub goals_out: Option<bool>,
    /// How hard the order of passes is searched.
    pub effort: Option<EffortWord>,
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
