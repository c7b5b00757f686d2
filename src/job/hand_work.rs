//! Hand work as the job asks for it, checked.
//!
//! Four kinds: forking from a board, swapping turf blocks, mending in lanes, and what an
//! operation leaves. Zones are still words here; [`crate::hand`] lays them on the ground.

use crate::space::{Angle, Compass, Xy};

/// One piece of hand work.
#[derive(Debug, Clone, PartialEq)]
pub struct HandWork {
    /// Its place in the job, from 1.
    pub number: usize,
    /// Its id, unique among operations too; safe in a file name.
    pub id: String,
    /// People at it; `None`: the crew.
    pub people: Option<u32>,
    /// What is done.
    pub kind: HandKind,
}

/// What is done by hand.
#[derive(Debug, Clone, PartialEq)]
pub enum HandKind {
    /// Forking from a board.
    Board(BoardWork),
    /// Swapping turf blocks.
    Blocks(BlockWork),
    /// Mending in lanes.
    Lanes(LaneWork),
    /// What an operation leaves.
    Rest(RestWork),
}

/// Forking from a board.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardWork {
    /// Zone name, kind or region, as written.
    pub zone: String,
    /// How the rows of the first stage lie, anticlockwise from the long axis; 90 degrees is
    /// parallel to the goal line.
    pub angle: Angle,
    /// The board.
    pub board: Board,
    /// The fork.
    pub fork: Fork,
    /// 1: along only; 2: along and then across.
    pub stages: u32,
    /// Seconds that one forking takes one person.
    pub s_per_forking: f64,
    /// Holes of different stages nearer than this many tine diameters coincide.
    pub coincident_tines: f64,
    /// Above this share of coincident holes another step is looked for.
    pub coincident_share: f64,
}

/// A working board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Board {
    /// Its length, metres.
    pub length_m: f64,
    /// Its width, metres: what it moves on when it is turned over.
    pub width_m: f64,
}

/// A fork.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fork {
    /// How many tines.
    pub tines: u32,
    /// From tine to tine, millimetres.
    pub tine_spacing_mm: f64,
    /// Thickness of a tine, millimetres.
    pub tine_diameter_mm: f64,
    /// How deep they go, millimetres.
    pub depth_mm: f64,
    /// From row to row of holes, millimetres.
    pub step_mm: f64,
    /// From the edge of the ground to the first hole, millimetres; `None`: half a spacing.
    pub edge_mm: Option<f64>,
}

/// Swapping turf blocks.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockWork {
    /// Zone name, kind or region where the worn places lie, as written.
    pub zone: String,
    /// Side of a block, metres.
    pub side_m: f64,
    /// Depth of a block, millimetres.
    pub depth_mm: f64,
    /// Worn places as points, pitch metres.
    pub worn: Vec<Xy>,
    /// A worn place by its outline, pitch metres; empty where none was drawn.
    pub worn_area: Vec<Xy>,
    /// Zone name, kind or region that gives the donors; `None`: behind the goal.
    pub donors: Option<String>,
    /// Seconds that one swapped block takes one person.
    pub s_per_block: f64,
    /// What a barrow carries, kilograms.
    pub barrow_kg: f64,
}

/// Mending in lanes.
#[derive(Debug, Clone, PartialEq)]
pub struct LaneWork {
    /// Zone name, kind or region, as written.
    pub zone: String,
    /// How the lanes lie, anticlockwise from the long axis.
    pub angle: Angle,
    /// No lane is wider, metres.
    pub width_m: f64,
    /// What every person has the same of.
    pub balance: Balance,
    /// What one person mends in an hour, square metres.
    pub m2_per_person_h: f64,
    /// Minutes a day until all must be off the grass; `None`: no limit.
    pub minutes: Option<f64>,
    /// Days that the work may be spread over.
    pub days: u32,
    /// Where the line of people starts; `None`: where the lanes' own direction starts.
    pub from: Option<Compass>,
}

/// What every person has the same of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Balance {
    /// Square metres.
    Area,
    /// Expected damage: square metres times the wear class.
    Damage,
}

impl Balance {
    /// The word in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Area => "area",
            Self::Damage => "damage",
        }
    }
}

/// What an operation leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct RestWork {
    /// The id of the operation.
    pub operation: String,
    /// What one person works in an hour, square metres; `None`: by the operation's task.
    pub m2_per_person_h: Option<f64>,
}
