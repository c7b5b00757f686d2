//! `[[operation]]` as it is written.

use schemars::JsonSchema;
use serde::Deserialize;

/// One operation.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "operation")]
pub struct OperationToml {
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
    pub directions: Option<Vec<DirectionToml>>,
    /// Where the tool is lifted.
    pub ends: Option<EndsWord>,
    /// How far both outer ends of each line are lengthened.
    pub over_m: Option<f64>,
    /// Where the set of lines starts: `"centred"`, `{ from = "west touch line" }` or
    /// `{ line = [[x, y], [x, y]], between = true }` in pitch metres.
    pub start: Option<StartToml>,
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
    pub rates: Option<Vec<RateRowToml>>,
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
pub enum DirectionToml {
    /// By a word.
    Word(DirectionWord),
    /// By degrees.
    Turned(TurnedToml),
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
pub struct TurnedToml {
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
pub enum StartToml {
    /// By a word.
    Word(StartWord),
    /// From a line.
    Placed(PlacedToml),
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
pub struct PlacedToml {
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
pub struct RateRowToml {
    /// Zone names, kinds of zone or regions.
    pub zones: Option<Vec<String>>,
    /// Only zones of these wear classes.
    pub wear: Option<Vec<u8>>,
    /// Only these directions of the operation; the rate is then what each puts down.
    pub directions: Option<Vec<DirectionToml>>,
    /// The rate.
    pub rate_t_per_ha: Option<f64>,
    /// The rate.
    pub rate_g_per_m2: Option<f64>,
    /// The rate, as a depth.
    pub dressing_mm: Option<f64>,
}
