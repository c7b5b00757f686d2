//! What the strips really cover: worked, overlapped, missed, outside, and how often.
//!
//! Straight strips are measured by [`bands`] in the frame of their direction, rounds and
//! areas worked k times by [`overlay`]; both are exact up to rounding. Places are drawn from
//! [`missed`]'s columns.

pub mod bands;
pub mod missed;
pub mod overlay;
pub mod steering;

use geo::{LineString, MapCoords, MultiPolygon, Polygon};

use crate::passes::band::{Boundary, DirectionFrame, Span};
use crate::passes::{DirectionPasses, Part, Track, rounds};
use crate::region;
use bands::{Bands, Strip};
use overlay::{Layer, overlay};

/// Areas below this are rounding: nothing is missed, square metres.
const NOTHING_M2: f64 = 1e-9;

/// Areas of one direction's strips against its target, square metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Coverage {
    /// Sum over strips of the area of the strip within the target.
    pub strip_area_m2: f64,
    /// Area of the union of strips within the target.
    pub covered_m2: f64,
    /// `strip_area_m2 - covered_m2`.
    pub overlap_m2: f64,
    /// `target - covered_m2`.
    pub missed_m2: f64,
    /// Area of the union of strips outside the target.
    pub outside_m2: f64,
    /// The part of `outside_m2` that is off the outline.
    pub outside_pitch_m2: f64,
}

/// A place that was missed.
#[derive(Debug, Clone, PartialEq)]
pub struct MissedPlace {
    /// Its ground, pitch metres.
    pub shape: Polygon<f64>,
    /// Its area, square metres.
    pub area_m2: f64,
}

/// What strips are measured against.
#[derive(Debug)]
pub struct Against<'a> {
    /// The target of the operation.
    pub target: &'a MultiPolygon<f64>,
    /// Its area, square metres.
    pub target_m2: f64,
    /// The outline of the pitch.
    pub outline: &'a MultiPolygon<f64>,
    /// Whether the target may reach beyond the outline.
    pub target_leaves_pitch: bool,
}

/// One direction, measured.
#[derive(Debug)]
pub struct Measured {
    /// Its areas.
    pub coverage: Coverage,
    /// What it misses, by which areas worked k times are counted.
    pub left: Left,
}

/// What a direction leaves of the target.
#[derive(Debug)]
pub enum Left {
    /// Disjoint rings in the direction's frame; none where nothing is missed.
    Columns(Vec<LineString<f64>>, DirectionFrame),
    /// All but these widened rounds.
    AllBut(Vec<Vec<LineString<f64>>>),
}

impl Left {
    /// Whether anything is left at all.
    const fn is_some_ground(&self) -> bool {
        match self {
            Self::Columns(columns, _) => !columns.is_empty(),
            Self::AllBut(_) => true,
        }
    }
}

/// Measures the passes of a direction.
#[must_use]
pub fn measure(passes: &DirectionPasses, against: &Against<'_>) -> Measured {
    let parts: Vec<&Part> = passes.passes.iter().flat_map(|pass| &pass.parts).collect();
    match passes.angle {
        Some(angle) => measure_straight(&parts, &DirectionFrame::of(angle), against),
        None => measure_rounds(&parts, against),
    }
}

fn measure_straight(parts: &[&Part], frame: &DirectionFrame, against: &Against<'_>) -> Measured {
    let strips: Vec<Strip> = parts.iter().filter_map(|part| strip(part, frame)).collect();
    let bands = Bands::of(&strips);
    let target = Boundary::of(against.target, frame);
    let on_target = bands.within(&target);
    let on_either = if against.target_leaves_pitch {
        on_target_or_outline_m2(parts, against)
    } else {
        bands.within(&Boundary::of(against.outline, frame)).union_m2
    };
    let coverage = Coverage::of(
        &Sums {
            each_on_target: on_target.sum_m2,
            union: bands.union_m2(),
            on_target: on_target.union_m2,
            on_either,
        },
        against.target_m2,
    );
    let left = if coverage.missed_m2 > NOTHING_M2 {
        missed::left_over(&target, &bands)
    } else {
        Vec::new()
    };
    Measured {
        coverage,
        left: Left::Columns(left, *frame),
    }
}

/// Area of the strips within target or outline, neither of which holds the other, m2.
fn on_target_or_outline_m2(parts: &[&Part], against: &Against<'_>) -> f64 {
    let strips: Vec<LineString<f64>> = parts
        .iter()
        .flat_map(|part| rounds::widened(part))
        .collect();
    let layers = [
        Layer::of(region::rings(against.target)),
        Layer::of(region::rings(against.outline)),
        Layer::of(&strips),
    ];
    let mut sum_m2 = 0.0;
    overlay(&layers, |inside, area_m2| {
        if inside[2] && (inside[0] || inside[1]) {
            sum_m2 += area_m2;
        }
    });
    sum_m2
}

fn strip(part: &Part, frame: &DirectionFrame) -> Option<Strip> {
    let Track::Straight { from, to } = &part.track else {
        return None;
    };
    let (from, to) = (frame.from_pitch(*from), frame.from_pitch(*to));
    let offset_m = f64::midpoint(from.y, to.y);
    Some(Strip {
        along: Span {
            from: from.x,
            to: to.x,
        },
        across: Span {
            from: offset_m - part.width_m / 2.0,
            to: offset_m + part.width_m / 2.0,
        },
    })
}

fn measure_rounds(parts: &[&Part], against: &Against<'_>) -> Measured {
    let widened: Vec<Vec<LineString<f64>>> =
        parts.iter().map(|part| rounds::widened(part)).collect();
    let mut layers = vec![
        Layer::of(region::rings(against.target)),
        Layer::of(region::rings(against.outline)),
    ];
    layers.extend(widened.iter().map(Layer::of));
    let mut sums = Sums::default();
    overlay(&layers, |inside, area_m2| {
        let times = inside[2..].iter().filter(|i| **i).count();
        if times == 0 {
            return;
        }
        sums.union += area_m2;
        if inside[0] {
            sums.on_target += area_m2;
            sums.each_on_target += area_m2 * times as f64;
        }
        if inside[0] || inside[1] {
            sums.on_either += area_m2;
        }
    });
    Measured {
        coverage: Coverage::of(&sums, against.target_m2),
        left: Left::AllBut(widened),
    }
}

/// Areas of strips, square metres, from which a [`Coverage`] is put together.
#[derive(Debug, Default)]
struct Sums {
    /// Every strip within the target, added up.
    each_on_target: f64,
    /// The union of the strips.
    union: f64,
    /// The union within the target.
    on_target: f64,
    /// The union within target or outline.
    on_either: f64,
}

impl Coverage {
    /// Differences of nearly equal areas are held at 0 from below, where rounding would make
    /// them negative.
    fn of(sums: &Sums, target_m2: f64) -> Self {
        Self {
            strip_area_m2: sums.each_on_target.max(0.0),
            covered_m2: sums.on_target.clamp(0.0, target_m2),
            overlap_m2: (sums.each_on_target - sums.on_target).max(0.0),
            missed_m2: (target_m2 - sums.on_target).max(0.0),
            outside_m2: (sums.union - sums.on_target).max(0.0),
            outside_pitch_m2: (sums.union - sums.on_either).max(0.0),
        }
    }
}

/// All ground a direction missed, the smallest places too.
#[must_use]
pub fn all_missed(left: &Left, target: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    match left {
        Left::Columns(columns, frame) => missed::united(columns, frame),
        Left::AllBut(widened) => region::difference(target, &region::union(&solid(widened))),
    }
}

/// The ground that no direction worked, from what each of them missed; all of the target
/// where there is no direction.
#[must_use]
pub fn unworked(missed: &[MultiPolygon<f64>], target: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    let mut missed = missed.iter();
    let Some(first) = missed.next() else {
        return target.clone();
    };
    missed.fold(first.clone(), |so_far, also| {
        if so_far.0.is_empty() || also.0.is_empty() {
            MultiPolygon(Vec::new())
        } else {
            region::intersection(&so_far, also)
        }
    })
}

/// The places that ground falls into, each of at least 1e-4 m2.
#[must_use]
pub fn places(ground: &MultiPolygon<f64>) -> Vec<MissedPlace> {
    let places = ground.0.iter().map(|polygon| MissedPlace {
        shape: polygon.clone(),
        area_m2: region::area_m2(&MultiPolygon(vec![polygon.clone()])),
    });
    places
        .filter(|place| place.area_m2 >= missed::LISTED_FROM_M2)
        .collect()
}

/// Widened rounds as regions.
fn solid(widened: &[Vec<LineString<f64>>]) -> Vec<MultiPolygon<f64>> {
    let rings = widened.iter().flatten();
    rings
        .map(|ring| MultiPolygon(vec![Polygon::new(ring.clone(), Vec::new())]))
        .collect()
}

/// Area of the target worked by exactly k directions, for k = 0, 1, …, square metres, from
/// what each direction leaves and the area of that.
///
/// Counted over what each direction *misses*, which is little, instead of over the strips;
/// where only one misses anything, there is nothing to lay over each other.
#[must_use]
pub fn worked_times_m2(
    lefts: &[(Left, f64)],
    target: &MultiPolygon<f64>,
    target_m2: f64,
) -> Vec<f64> {
    let n = lefts.len();
    let mut times = vec![0.0; n + 1];
    let mut missed_m2 = 0.0;
    let missing = lefts.iter().filter(|(left, _)| left.is_some_ground());
    let missing: Vec<&(Left, f64)> = missing.collect();
    if let [(_, only_m2)] = missing[..] {
        times[n - 1] = *only_m2;
        missed_m2 = *only_m2;
    } else if !missing.is_empty() {
        // Columns lie within the target; only what rounds leave must be cut with it.
        let mut needs_target = false;
        let mut rings: Vec<Vec<LineString<f64>>> = Vec::new();
        for (left, _) in &missing {
            rings.push(match left {
                Left::Columns(columns, frame) => {
                    let turned = columns.iter();
                    turned
                        .map(|ring| ring.map_coords(|at| frame.to_pitch(at)))
                        .collect()
                }
                Left::AllBut(widened) => {
                    needs_target = true;
                    widened.concat()
                }
            });
        }
        let mut layers = vec![Layer::default()];
        if needs_target {
            layers[0] = Layer::of(region::rings(target));
        }
        layers.extend(rings.iter().map(Layer::of));
        overlay(&layers, |inside, area_m2| {
            let in_target = inside[0];
            let missed = missing.iter().zip(&inside[1..]);
            let missed = missed.filter(|((left, _), inside)| match left {
                Left::Columns(..) => **inside,
                Left::AllBut(_) => in_target && !**inside,
            });
            let missed = missed.count();
            if missed > 0 {
                times[n - missed] += area_m2;
                missed_m2 += area_m2;
            }
        });
    }
    times[n] = (target_m2 - missed_m2).max(0.0);
    times
}
