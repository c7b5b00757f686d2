//! Swapping turf blocks: which squares cover the worn places, which squares give for them, and
//! which goes where.
//!
//! The worn squares of one place lie on one lattice, parallel to the lines of the pitch, whose
//! shift is the one that needs fewest squares ([`cover`]). Worn places nearer than two sides
//! share a lattice, others have their own. Donors are squares of a lattice on the donor strip, a
//! side apart so that no two touch; only where those are too few do they lie side by side.
//! Who carries which square where is an exact assignment ([`super::pairing`]).

use geo::{BoundingRect, Intersects, LineString, MultiPolygon, Point, Polygon, Rect};

use super::{cover, pairing};
use crate::job::model::BlockWork;
use crate::region;
use crate::space::Xy;

/// Weight of a wet block of turf, tonnes a cubic metre (a calculation for wet turf and soil, no
/// source).
pub const TURF_T_PER_M3: f64 = 1.9;
/// Walking with a barrow, metres a second (from memory).
pub const BARROW_M_PER_S: f64 = 1.0;

/// A square with sides parallel to the lines of the pitch, by its least corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Square {
    /// Its least corner, pitch metres.
    pub low: Xy,
    /// Its side, metres.
    pub side_m: f64,
}

impl Square {
    /// Its middle.
    #[must_use]
    pub fn middle(&self) -> Xy {
        let half = self.side_m / 2.0;
        self.low + Xy { x: half, y: half }
    }

    /// Its ground, anticlockwise.
    #[must_use]
    pub fn shape(&self) -> Polygon<f64> {
        let (Xy { x, y }, side) = (self.low, self.side_m);
        let ring = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
        Polygon::new(LineString::from(ring.to_vec()), Vec::new())
    }

    /// Whether an edge passes through it, by more than a hair.
    fn meets_edge(&self, from: Xy, to: Xy) -> bool {
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        let sides = [
            (from.x, to.x - from.x, self.low.x),
            (from.y, to.y - from.y, self.low.y),
        ];
        for (start, run, low) in sides {
            let (low, high) = (low + HAIR_M, low + self.side_m - HAIR_M);
            if run == 0.0 {
                if start <= low || start >= high {
                    return false;
                }
            } else {
                let (a, b) = ((low - start) / run, (high - start) / run);
                enter = enter.max(a.min(b));
                leave = leave.min(a.max(b));
            }
        }
        enter < leave
    }

    /// Whether a boundary passes through it.
    fn is_cut_by(&self, ground: &MultiPolygon<f64>) -> bool {
        region::rings(ground).any(|ring| {
            ring.lines()
                .any(|line| self.meets_edge(line.start, line.end))
        })
    }

    /// Whether it shares ground with that ground, which lies in this rectangle.
    pub(super) fn meets(&self, ground: &MultiPolygon<f64>, rect: Rect<f64>) -> bool {
        let (low, high) = (
            self.low,
            self.low
                + Xy {
                    x: self.side_m,
                    y: self.side_m,
                },
        );
        let is_apart = rect.max().x <= low.x
            || rect.min().x >= high.x
            || rect.max().y <= low.y
            || rect.min().y >= high.y;
        !is_apart && (self.is_cut_by(ground) || ground.intersects(&Point::from(self.middle())))
    }

    /// Whether it lies wholly on that ground.
    #[must_use]
    pub fn lies_on(&self, ground: &MultiPolygon<f64>) -> bool {
        !self.is_cut_by(ground) && ground.intersects(&Point::from(self.middle()))
    }
}

/// Squares that come nearer than this to something do not meet it, metres.
const HAIR_M: f64 = 1e-9;

/// One swapped block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swap {
    /// What is cut out.
    pub worn: Square,
    /// What comes in its place.
    pub donor: Square,
    /// How far it is carried, middle to middle in a straight line, metres.
    pub carry_m: f64,
}

/// The plan of one block swap.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockPlan {
    /// Where the worn places are looked for.
    pub zone: String,
    /// The ground that the donors come from.
    pub donor_ground: MultiPolygon<f64>,
    /// What that ground is called.
    pub donors_from: String,
    /// What no spade may enter, pitch metres.
    pub kept_clear: Vec<MultiPolygon<f64>>,
    /// The swaps, in the order of the worn squares: lattice by lattice, row by row.
    pub swaps: Vec<Swap>,
    /// Worn squares for which there is no donor.
    pub without_donor: Vec<Square>,
    /// Worn squares that are not cut because something is kept clear there.
    pub kept_off: Vec<Square>,
    /// Whether donors lie side by side.
    pub donors_touch: bool,
    /// Sum of the ways, one way, metres.
    pub carry_m: f64,
    /// Barrow loads.
    pub trips: usize,
    /// Volume that comes out and goes in, cubic metres.
    pub volume_m3: f64,
    /// Weight of one block, kilograms: an estimate.
    pub block_kg: f64,
    /// Seconds that the people take.
    pub time_s: f64,
}

/// Where donors may come from.
#[derive(Debug, Clone)]
pub(super) struct Strip {
    pub name: String,
    pub ground: MultiPolygon<f64>,
}

/// The squares of a lattice over the extents of an outline: more than it can need.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped: whole, at least 0
pub(super) fn squares_over(outline: &[Xy], side_m: f64) -> usize {
    let Some(rect) = LineString(outline.to_vec()).bounding_rect() else {
        return 0;
    };
    let over = |length_m: f64| (length_m / side_m).ceil().clamp(0.0, 1e6) as usize;
    over(rect.width()) * over(rect.height())
}

/// The squares that cover what is worn.
pub(super) fn worn(work: &BlockWork) -> Vec<Square> {
    let is_drawn = work.worn_area.len() >= 3;
    let outline = is_drawn.then(|| Polygon::new(LineString(work.worn_area.clone()), Vec::new()));
    cover::squares_over(&work.worn, outline.as_ref(), work.side_m)
}

/// Plans a block swap: `squares` are worn, `kept_clear` is what no spade may enter.
pub(super) fn plan(
    work: &BlockWork,
    squares: Vec<Square>,
    strip: Strip,
    kept_clear: &[MultiPolygon<f64>],
    people: u32,
) -> BlockPlan {
    let boxed = kept_clear
        .iter()
        .filter_map(|kept| Some((kept, kept.bounding_rect()?)));
    let boxed: Vec<(&MultiPolygon<f64>, Rect<f64>)> = boxed.collect();
    let is_free = |square: &Square| !boxed.iter().any(|(kept, rect)| square.meets(kept, *rect));
    let (worn, kept_off): (Vec<Square>, Vec<Square>) = squares.into_iter().partition(is_free);
    let is_donor = |square: &Square| {
        square.lies_on(&strip.ground)
            && is_free(square)
            && !worn.iter().chain(&kept_off).any(|w| overlaps(w, square))
    };
    let candidates = |gap: f64| -> Vec<Square> {
        let all = squares_on(&strip.ground, work.side_m, gap);
        all.into_iter().filter(is_donor).collect()
    };
    let mut donors = candidates(2.0);
    let mut donors_touch = false;
    if donors.len() < worn.len() {
        let dense = candidates(1.0);
        if dense.len() > donors.len() {
            donors = dense;
            donors_touch = true;
        }
    }
    let (swaps, without_donor) = paired(&worn, &donors);
    let carry_m = swaps.iter().map(|swap| swap.carry_m).sum();
    let block_m3 = work.side_m * work.side_m * work.depth_mm / 1000.0;
    let block_kg = block_m3 * TURF_T_PER_M3 * 1000.0;
    let trips = trips(swaps.len(), block_kg, work.barrow_kg);
    let mean_m = carry_m / swaps.len().max(1) as f64;
    let walking_s = 2.0 * trips as f64 * mean_m / BARROW_M_PER_S;
    BlockPlan {
        zone: work.zone.clone(),
        donor_ground: strip.ground,
        donors_from: strip.name,
        kept_clear: kept_clear.to_vec(),
        volume_m3: swaps.len() as f64 * block_m3,
        time_s: (swaps.len() as f64 * work.s_per_block + walking_s) / f64::from(people.max(1)),
        without_donor,
        kept_off,
        donors_touch,
        carry_m,
        trips,
        block_kg,
        swaps,
    }
}

/// Barrow loads for so many blocks: as many whole blocks a load as it carries, one at least.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped: whole, at least 1
fn trips(blocks: usize, block_kg: f64, barrow_kg: f64) -> usize {
    let a_load = (barrow_kg / block_kg + 1e-9).floor().clamp(1.0, 1e9) as usize;
    blocks.div_ceil(a_load)
}

fn overlaps(one: &Square, other: &Square) -> bool {
    let off = one.low - other.low;
    let side_m = one.side_m.max(other.side_m) - HAIR_M;
    off.x.abs() < side_m && off.y.abs() < side_m
}

/// How many places the squares of a lattice have on the extents of ground, whatever of them lies
/// on it.
pub(super) fn donor_places(ground: &MultiPolygon<f64>, side_m: f64) -> usize {
    ground.bounding_rect().map_or(0, |rect| {
        let fit = |length_m| fitting(length_m, side_m, 1.0);
        fit(rect.width()).saturating_mul(fit(rect.height()))
    })
}

/// How many squares fit on a length, `gap` sides from one to the next.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped: whole, at least 0
fn fitting(length_m: f64, side_m: f64, gap: f64) -> usize {
    let count = ((length_m - side_m) / (side_m * gap) + 1e-9).floor() + 1.0;
    count.clamp(0.0, 1e9) as usize
}

/// The squares of a lattice on ground, `gap` sides from one to the next, centred on its extents.
fn squares_on(ground: &MultiPolygon<f64>, side_m: f64, gap: f64) -> Vec<Square> {
    let Some(rect) = ground.bounding_rect() else {
        return Vec::new();
    };
    let step_m = side_m * gap;
    let (n_x, n_y) = (
        fitting(rect.width(), side_m, gap),
        fitting(rect.height(), side_m, gap),
    );
    let spare = |length_m: f64, count: usize| {
        (length_m - side_m - step_m * count.saturating_sub(1) as f64) / 2.0
    };
    let first = rect.min()
        + Xy {
            x: spare(rect.width(), n_x),
            y: spare(rect.height(), n_y),
        };
    let places = (0..n_x).flat_map(|column| (0..n_y).map(move |row| (column, row)));
    let squares = places.map(|(column, row)| Square {
        low: first
            + Xy {
                x: step_m * column as f64,
                y: step_m * row as f64,
            },
        side_m,
    });
    squares.collect()
}

/// Pairs worn squares with donors so that all is carried the least way in sum; where donors are
/// too few, those that save most are used. Also the worn squares left without.
fn paired(worn: &[Square], donors: &[Square]) -> (Vec<Swap>, Vec<Square>) {
    let middles = |squares: &[Square]| -> Vec<Xy> { squares.iter().map(Square::middle).collect() };
    let pairs = pairing::least_way(&middles(worn), &middles(donors));
    let mut swaps = Vec::new();
    let mut without = Vec::new();
    for (square, donor) in worn.iter().zip(pairs) {
        match donor.and_then(|index| donors.get(index)) {
            Some(donor) => {
                let way = donor.middle() - square.middle();
                swaps.push(Swap {
                    worn: *square,
                    donor: *donor,
                    carry_m: way.x.hypot(way.y),
                });
            }
            None => without.push(*square),
        }
    }
    (swaps, without)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(x: (f64, f64), y: (f64, f64)) -> MultiPolygon<f64> {
        let ring = [(x.0, y.0), (x.1, y.0), (x.1, y.1), (x.0, y.1)];
        MultiPolygon(vec![Polygon::new(LineString::from(ring.to_vec()), vec![])])
    }

    fn work(worn: Vec<Xy>) -> BlockWork {
        BlockWork {
            zone: "goalmouth-south".to_owned(),
            side_m: 0.25,
            depth_mm: 100.0,
            worn,
            worn_area: Vec::new(),
            donors: None,
            s_per_block: 240.0,
            barrow_kg: 60.0,
        }
    }

    fn swap(work: &BlockWork, strip: MultiPolygon<f64>, kept: &[MultiPolygon<f64>]) -> BlockPlan {
        let strip = Strip {
            name: "behind the goal".to_owned(),
            ground: strip,
        };
        plan(work, worn(work), strip, kept, 2)
    }

    #[test]
    fn donors_are_equal_in_number_and_a_side_apart() {
        let worn = (0..6)
            .map(|i| Xy {
                x: f64::from(i),
                y: 0.0,
            })
            .collect();
        let work = work(worn);
        let plan = swap(&work, rectangle((-3.0, -1.0), (-2.0, 2.0)), &[]);
        assert_eq!((plan.swaps.len(), plan.donors_touch), (6, false));
        for (index, one) in plan.swaps.iter().enumerate() {
            assert!(one.donor.lies_on(&plan.donor_ground));
            for other in &plan.swaps[..index] {
                let off = one.donor.low - other.donor.low;
                assert!(off.x.abs().max(off.y.abs()) > 0.25 + 1e-9);
            }
        }
        // By hand: a block of 0.25 x 0.25 x 0.1 m is 6.25 l, at 1.9 t a cubic metre 11.9 kg; five
        // to a load of 60 kg, so two loads for six.
        assert!((plan.block_kg - 11.875).abs() < 1e-9);
        assert_eq!(plan.trips, 2);
        assert!((plan.volume_m3 - 6.0 * 0.00625).abs() < 1e-12);
        let walking_s = 2.0 * 2.0 * plan.carry_m / 6.0;
        assert!((plan.time_s - (6.0 * 240.0 + walking_s) / 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_small_strip_gives_donors_side_by_side_and_then_none() {
        let worn = (0..6)
            .map(|i| Xy {
                x: f64::from(i),
                y: 0.0,
            })
            .collect();
        let work = work(worn);
        // Half a metre by half a metre: one square a side apart, four side by side.
        let plan = swap(&work, rectangle((-1.0, -0.5), (0.0, 0.5)), &[]);
        assert_eq!((plan.swaps.len(), plan.without_donor.len()), (4, 2));
        assert!(plan.donors_touch);
        let none = swap(&work, MultiPolygon(Vec::new()), &[]);
        assert_eq!((none.swaps.len(), none.without_donor.len()), (0, 6));
        assert_eq!((none.carry_m, none.time_s), (0.0, 0.0));
    }

    #[test]
    fn no_block_is_cut_where_something_is_kept_clear() {
        let work = work(vec![Xy { x: 0.0, y: 0.0 }, Xy { x: 2.0, y: 0.0 }]);
        let kept = rectangle((1.9, 2.2), (-0.1, 0.1));
        let plan = swap(&work, rectangle((-3.0, -1.0), (-2.0, 2.0)), &[kept]);
        assert_eq!((plan.swaps.len(), plan.kept_off.len()), (1, 1));
    }
}
