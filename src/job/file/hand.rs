//! `[[hand]]` as it is written.

use schemars::JsonSchema;
use serde::Deserialize;

use super::CompassWord;

/// Hand work: forking from a board, swapping turf blocks, mending in lanes, or what an
/// operation leaves.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "hand")]
pub struct HandToml {
    /// Its name, unique in the job and safe in a file name.
    #[schemars(required)]
    pub id: Option<String>,
    /// What is done.
    #[schemars(required)]
    pub kind: Option<HandWord>,
    /// Where: a zone name, a kind of zone or a region. Not for `rest`.
    pub zone: Option<String>,
    /// For `rest`: the operation whose leftovers are worked.
    pub operation: Option<String>,
    /// People at it.
    pub people: Option<u32>,
    /// For `board`: how the rows of the first stage lie, anticlockwise from the long axis (90 is
    /// parallel to the goal line). For `lanes`: how the lanes lie.
    pub angle_deg: Option<f64>,
    /// For `board`: the board that people stand on.
    pub board: Option<BoardToml>,
    /// For `board`: the fork.
    pub fork: Option<ForkToml>,
    /// For `blocks`: the turf blocks.
    pub block: Option<BlockToml>,
    /// For `lanes`: the lanes.
    pub lane: Option<LaneToml>,
    /// For `board`: along (1) or along and across (2).
    pub stages: Option<u32>,
    /// For `board`: seconds for one forking by one person.
    pub s_per_forking: Option<f64>,
    /// For `board`: holes of different stages nearer than this many tine diameters coincide.
    pub coincident_tines: Option<f64>,
    /// For `board`: above this share of coincident holes another step is looked for.
    pub coincident_share: Option<f64>,
    /// For `blocks`: seconds for one swapped block by one person, carrying apart.
    pub s_per_block: Option<f64>,
    /// For `lanes` and `rest`: what one person works in an hour.
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
pub struct BoardToml {
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
pub struct ForkToml {
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

/// Turf blocks, squares with sides parallel to the lines of the pitch. At least one of `worn`
/// and `worn_area`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "block")]
pub struct BlockToml {
    /// Side of a block.
    #[schemars(required)]
    pub side_m: Option<f64>,
    /// Its depth.
    #[schemars(required)]
    pub depth_mm: Option<f64>,
    /// Worn places as points, pitch metres: each must lie in a block.
    pub worn: Option<Vec<[f64; 2]>>,
    /// A worn place by the corners of its outline, pitch metres: all of it must be covered.
    pub worn_area: Option<Vec<[f64; 2]>>,
    /// Where donors come from: a zone name, a kind of zone or a region.
    pub donors: Option<String>,
    /// What a barrow carries.
    pub barrow_kg: Option<f64>,
}

/// Lanes for mending.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "lane")]
pub struct LaneToml {
    /// No lane is wider.
    pub width_m: Option<f64>,
    /// What every person has the same of: `area`, or `damage`, area times wear class.
    pub balance: Option<BalanceWord>,
    /// Minutes a day until all must be off the grass: a break, or the time before watering.
    pub minutes: Option<f64>,
    /// Days that the work may be spread over.
    pub days: Option<u32>,
    /// The end or side that people set out from.
    pub from: Option<CompassWord>,
}

/// What is shared out evenly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", rename = "balance")]
#[allow(missing_docs)]
pub enum BalanceWord {
    Area,
    Damage,
}
