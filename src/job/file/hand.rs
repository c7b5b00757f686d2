//! `[[hand]]` as it is written.

use schemars::JsonSchema;
use serde::Deserialize;

/// Hand work. It is read and checked; this version plans none.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "hand")]
pub struct HandToml {
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
    pub board: Option<BoardToml>,
    /// The fork.
    pub fork: Option<ForkToml>,
    /// The turf blocks.
    pub block: Option<BlockToml>,
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

/// Turf blocks.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename = "block")]
pub struct BlockToml {
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
