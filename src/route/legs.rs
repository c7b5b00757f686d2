//! A drive as it is handed on: its legs, and what it comes to.

use std::collections::BTreeMap;

use geo::LineString;

use super::kind::Kind;
use super::order::{BoundMethod, Effort};
use super::pose::Pose;
use crate::space::Xy;

/// What a leg is driven for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LegKind {
    /// Tool down to tool up.
    Work,
    /// Every other move.
    Turn,
    /// To the stockpile or from it.
    Haul,
}

impl LegKind {
    /// The word in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Work => "work",
            Self::Turn => "turn",
            Self::Haul => "haul",
        }
    }
}

/// The part that a work leg works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Worked {
    /// The direction, from 1.
    pub direction: usize,
    /// The pass, by its number.
    pub pass: usize,
    /// The part, by its number.
    pub part: usize,
    /// Whether it is driven against the heading.
    pub is_back: bool,
}

/// One leg: a path of the middle of the rear axle, driven in one sense.
#[derive(Debug, Clone)]
pub struct Leg {
    /// What it is driven for.
    pub kind: LegKind,
    /// What it works; `None` for turns.
    pub worked: Option<Worked>,
    /// What the turn is that it belongs to; `None` for work.
    pub turn: Option<Kind>,
    /// The path as written, pitch metres; arcs as chords with a sagitta of at most 5 mm.
    pub line: LineString<f64>,
    /// The exact pose at its beginning.
    pub start: Pose,
    /// The exact pose at its end.
    pub end: Pose,
    /// Its exact length, metres.
    pub length_m: f64,
    /// Driving time, seconds; changes of direction are not in it.
    pub time_s: f64,
    /// Driven backwards.
    pub reverse: bool,
}

/// The drive of an operation and its figures.
#[derive(Debug, Clone)]
pub struct Route {
    /// The legs in the order driven.
    pub legs: Vec<Leg>,
    /// Length of all legs, metres.
    pub length_m: f64,
    /// How many turns there are of each kind, a run of turn legs between two work legs being
    /// one.
    pub turns: BTreeMap<Kind, usize>,
    /// Metres of turn legs on the pitch.
    pub turn_on_pitch_m: f64,
    /// Changes of driving direction, those at the ends of work included, in turns and hauls.
    pub changes: usize,
    /// Metres of haul legs.
    pub haul_m: f64,
    /// Seconds of hauls, changes of direction included.
    pub haul_s: f64,
    /// Its loads; `None` where it carries nothing, or what it puts down is not known.
    pub refills: Option<Refills>,
    /// Seconds of turning, changes of direction included.
    pub turn_s: f64,
    /// What the order is judged by, seconds.
    pub cost_s: f64,
    /// What no order of the same parts costs less than, seconds.
    pub lower_bound_s: Option<f64>,
    /// Where the bound comes from.
    pub bound_method: Option<BoundMethod>,
    /// How hard the order was sought.
    pub effort: Effort,
}

/// What a drive puts down, load by load.
#[derive(Debug, Clone, PartialEq)]
pub struct Refills {
    /// What a load holds, tonnes.
    pub hopper_t: f64,
    /// What all strips put down, tonnes, grass beyond the target included.
    pub put_down_t: f64,
    /// The loads in the order driven; none where nothing is put down or none were planned.
    pub loads: Vec<Load>,
    /// Whether the hauls between them are driven.
    pub hauled: Hauled,
    /// Whether no other cuts of the places tried would cost less; `false` where the effort ended
    /// before that was known.
    pub are_least: bool,
    /// What the pass that takes most puts down, tonnes: the least hopper that lasts a whole pass.
    pub whole_pass_t: f64,
    /// Ground of the strips for which no rate holds, square metres.
    pub unrated_m2: f64,
}

/// Whether hauls are driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hauled {
    /// Each refill's haul to the stockpile and back.
    Driven,
    /// There is no stockpile: material comes to the machine.
    NoStockpile,
    /// No stockpile can be driven to and back for every load.
    NoWay,
    /// There would be too many loads, so none are planned.
    TooMany,
}

/// One load: from a full hopper to where it ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// What it puts down, tonnes.
    pub put_down_t: f64,
    /// Where it ends.
    pub end: LoadEnd,
    /// Metres to the stockpile and back after it; `None` where nothing is driven there, and for
    /// the last load.
    pub haul_m: Option<f64>,
}

/// Where a load ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadEnd {
    /// On which part.
    pub worked: Worked,
    /// Metres of the part worked before it, as driven.
    pub along_m: f64,
    /// Metres of the part left after it; 0 at its end.
    pub left_m: f64,
    /// The middle of the tool, pitch metres.
    pub at: Xy,
    /// The axle there.
    pub pose: Pose,
}

impl Route {
    /// (cost - bound) / cost; 0 where the cost is 0; `None` without a bound.
    #[must_use]
    pub fn gap(&self) -> Option<f64> {
        let bound_s = self.lower_bound_s?;
        Some(if self.cost_s > 0.0 {
            (self.cost_s - bound_s) / self.cost_s
        } else {
            0.0
        })
    }
}
