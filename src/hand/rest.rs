//! What the machine leaves to people: the places that no direction of an operation worked, and
//! the grass that it was kept clear of.
//!
//! Obstacles, no-go places and goals themselves are taken out: nothing grows there that anyone
//! could work. Grass under a heap of material stays in; it is somebody's job once the heap is
//! gone.

use geo::{MultiPolygon, Polygon};

use super::Leftover;
use crate::ground::{Ground, curves};
use crate::job::defaults;
use crate::job::model::{RestWork, Role};
use crate::region;

/// Why a place is left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// No direction worked it.
    Missed,
    /// The tool was kept clear of it.
    KeptClear,
}

impl Why {
    /// The word in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Missed => "missed",
            Self::KeptClear => "kept_clear",
        }
    }
}

/// A place that is left.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftPlace {
    /// Why.
    pub why: Why,
    /// Its ground, pitch metres.
    pub shape: Polygon<f64>,
    /// Its area, square metres.
    pub area_m2: f64,
}

/// The plan of what an operation leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct RestPlan {
    /// The id of the operation.
    pub operation: String,
    /// The places: those missed first, then those kept clear.
    pub places: Vec<LeftPlace>,
    /// All that no direction worked, the places too small to be listed too, square metres.
    pub missed_m2: f64,
    /// Grass that was kept clear, square metres.
    pub kept_clear_m2: f64,
    /// What one person works in an hour, square metres.
    pub m2_per_person_h: f64,
    /// Whether that is a default.
    pub is_default: bool,
    /// Seconds that the people take.
    pub time_s: f64,
}

impl RestPlan {
    /// All that is left, square metres.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        self.missed_m2 + self.kept_clear_m2
    }
}

/// The obstacles, no-go places and goals themselves, without their clearance. Points and lines
/// have no ground; a goal that is away has none either.
pub(super) fn things(ground: &Ground) -> MultiPolygon<f64> {
    let things = ground
        .kept
        .iter()
        .filter(|kept| kept.stops_the_body() && !matches!(kept.role, Role::Stockpile { .. }));
    let shapes: Vec<MultiPolygon<f64>> = things
        .map(|kept| curves::clearance(&kept.shape, 0.0))
        .collect();
    region::union(&shapes)
}

/// Plans what an operation leaves.
pub(super) fn plan(work: &RestWork, left: &Leftover<'_>, ground: &Ground, people: u32) -> RestPlan {
    let closed = &left.target.closed;
    let kept = left
        .target
        .pieces
        .iter()
        .flat_map(|piece| region::intersection(&piece.zones, closed).0);
    let kept = region::difference(&MultiPolygon(kept.collect()), &things(ground));
    let missed = left
        .unworked
        .iter()
        .map(|&shape| place(Why::Missed, shape.clone()));
    let kept_clear_m2 = region::area_m2(&kept);
    let places = missed.chain(kept.0.into_iter().map(|shape| place(Why::KeptClear, shape)));
    let default = defaults::by_hand_m2_per_h(left.operation.task);
    let m2_per_person_h = work.m2_per_person_h.unwrap_or(default);
    let missed_m2 = left.unworked_m2.max(0.0);
    RestPlan {
        operation: work.operation.clone(),
        places: places.collect(),
        missed_m2,
        kept_clear_m2,
        m2_per_person_h,
        is_default: work.m2_per_person_h.is_none(),
        time_s: (missed_m2 + kept_clear_m2) / m2_per_person_h * 3600.0 / f64::from(people.max(1)),
    }
}

fn place(why: Why, shape: Polygon<f64>) -> LeftPlace {
    use geo::Area;
    LeftPlace {
        why,
        area_m2: shape.unsigned_area(),
        shape,
    }
}
