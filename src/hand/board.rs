//! Forking from a board: stages, places of the board, who starts where, counts and time.
//!
//! Place 1 of the board lies outside the ground with its front edge on the first side; place k
//! serves the rows between k - 1 and k board widths from that side. Then the board is turned
//! over by its own width and lies on what was just forked: people stand on the board only. The
//! second stage is the same with the axes swapped.

use std::f64::consts::PI;

use geo::{LineString, MultiPolygon, Polygon};

use super::lattice::{self, Axes, Lattice, Spacing};
use crate::job::limits;
use crate::job::model::{Board, BoardWork, Fork};
use crate::region;
use crate::space::{Angle, Xy};
use crate::zones::NamedGround;

/// How far a fork is eased back at the surface, metres: the middle of 20 to 30 mm (common
/// practice, no source).
pub const EASED_M: f64 = 0.025;

/// Rows on the border of two places are reached from the earlier one: the board does not lie
/// on them yet. A row this near lies on the border, in board widths.
const BORDER: f64 = 1e-9;

/// The path of a step in the job file.
const STEP: &str = "hand.0.fork.step_mm";

/// Steps are tried up to this share of the asked step away from it.
const STEP_REACH: f64 = 0.25;

/// The plan of one forking work.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardPlan {
    /// One entry a zone, in the order of the zones; each has lattices of its own.
    pub grounds: Vec<Forked>,
    /// What no tine may enter, pitch metres.
    pub kept_clear: Vec<MultiPolygon<f64>>,
    /// Area of the ground, what is kept clear in it included, square metres.
    pub area_m2: f64,
    /// Holes of all stages.
    pub holes: usize,
    /// Holes left out where something is kept clear.
    pub kept_off: usize,
    /// Pairs of holes of different stages that coincide.
    pub coincident: usize,
    /// Those pairs over the holes of the second stage; 0 without one.
    pub coincident_share: f64,
    /// A step near the asked one with which the share is not above what the job allows; only
    /// where it is above, and `None` where no step near enough does.
    pub other_step_mm: Option<f64>,
    /// How often a fork is pushed in.
    pub forkings: usize,
    /// Seconds that the people take.
    pub time_s: f64,
}

/// One piece of ground, forked.
#[derive(Debug, Clone, PartialEq)]
pub struct Forked {
    /// The zone or region.
    pub name: String,
    /// The ground.
    pub ground: MultiPolygon<f64>,
    /// Its stages, one or two.
    pub stages: Vec<Stage>,
}

/// One stage.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// `along` (the rows as asked) or `across`.
    pub name: &'static str,
    /// The holes.
    pub lattice: Lattice,
    /// Places of the board: the depth of the ground in board widths, rounded up.
    pub boards: usize,
    /// The board's width, metres.
    pub board_width_m: f64,
    /// Boards laid end to end that fill a place (or moves of one board along it).
    pub lengths: usize,
    /// How often a fork is pushed in.
    pub forkings: usize,
    /// Where each person starts, on the middle line of the board at place 1, pitch metres.
    pub starts: Vec<Xy>,
}

impl Stage {
    /// The place of the board, from 1, from which a row is forked.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the places
    pub fn board_of(&self, ahead_m: f64) -> usize {
        let place = (ahead_m / self.board_width_m - BORDER).ceil();
        place.clamp(1.0, self.boards.max(1) as f64) as usize
    }

    /// The ground that the board covers at a place (from 1), pitch metres, anticlockwise or
    /// clockwise as the axes lie: the first two corners are those of its front edge.
    #[must_use]
    pub fn board_at(&self, place: usize) -> Polygon<f64> {
        let lattice = &self.lattice;
        let front_m = lattice.low.y + (place as f64 - 1.0) * self.board_width_m;
        let back_m = front_m - self.board_width_m;
        let (left, right) = (lattice.low.x, lattice.high.x);
        let corners = [
            (left, front_m),
            (right, front_m),
            (right, back_m),
            (left, back_m),
        ];
        let ring = corners.map(|(along, ahead)| lattice.axes.place(along, ahead));
        Polygon::new(LineString(ring.to_vec()), Vec::new())
    }
}

impl BoardPlan {
    /// Holes of all stages on a square metre of the ground.
    #[must_use]
    pub fn holes_per_m2(&self) -> f64 {
        if self.area_m2 > 0.0 {
            self.holes as f64 / self.area_m2
        } else {
            0.0
        }
    }

    /// The share of the ground that the holes open, per cent; coincident holes count twice.
    #[must_use]
    pub fn open_area_pct(&self, fork: &Fork) -> f64 {
        lattice::open_area_pct(self.holes_per_m2(), fork.tine_diameter_mm / 1000.0)
    }

    /// Volume of the holes themselves, cubic metres.
    #[must_use]
    pub fn hole_volume_m3(&self, fork: &Fork) -> f64 {
        let hole_m2 = lattice::hole_area_m2(fork.tine_diameter_mm / 1000.0);
        self.holes as f64 * hole_m2 * fork.depth_mm / 1000.0
    }

    /// Volume loosened, cubic metres: **an estimate**. Each hole, and the wedge that its tine
    /// sweeps when the fork is eased back by [`EASED_M`] at the surface.
    #[must_use]
    pub fn loosened_m3(&self, fork: &Fork) -> f64 {
        let (diameter_m, depth_m) = (fork.tine_diameter_mm / 1000.0, fork.depth_mm / 1000.0);
        let hole_m3 = PI * diameter_m * diameter_m / 4.0 * depth_m;
        let wedge_m3 = diameter_m * depth_m * EASED_M / 2.0;
        self.holes as f64 * (hole_m3 + wedge_m3)
    }
}

/// How many places the lattices have before they are laid, the largest stage.
pub(super) fn places(work: &BoardWork, grounds: &[NamedGround]) -> usize {
    let spacing = spacing(&work.fork, work.fork.step_mm);
    let of = |ground: &NamedGround| {
        let axes = axes(&ground.shape, work.angle);
        let one = Lattice::places(&ground.shape, axes, spacing);
        one.max(Lattice::places(&ground.shape, axes.across(), spacing))
    };
    grounds.iter().map(of).fold(0, usize::saturating_add)
}

/// Plans a forking work on ground; `kept_clear` is what no tine may enter.
pub(super) fn plan(
    work: &BoardWork,
    grounds: &[NamedGround],
    kept_clear: &[MultiPolygon<f64>],
    people: u32,
) -> BoardPlan {
    let forked: Vec<Forked> = grounds
        .iter()
        .filter(|ground| region::area_m2(&ground.shape) > 0.0)
        .map(|ground| fork_ground(work, ground, kept_clear, people))
        .collect();
    let stages = || forked.iter().flat_map(|forked| &forked.stages);
    let within_m = within_m(work);
    let coincident = coincident(&forked, within_m);
    let forkings = stages().map(|stage| stage.forkings).sum();
    let mut plan = BoardPlan {
        area_m2: forked.iter().map(|one| region::area_m2(&one.ground)).sum(),
        holes: stages().map(|stage| stage.lattice.holes()).sum(),
        kept_off: stages().map(|stage| stage.lattice.kept_off()).sum(),
        coincident,
        coincident_share: share(coincident, &forked),
        other_step_mm: None,
        forkings,
        time_s: forkings as f64 * work.s_per_forking / f64::from(people.max(1)),
        grounds: forked,
        kept_clear: kept_clear.to_vec(),
    };
    if plan.coincident_share > work.coincident_share {
        plan.other_step_mm = other_step_mm(work, grounds, kept_clear);
    }
    plan
}

/// The axes of the first stage: rows at the asked angle; the board moves on from the ground's
/// own end towards the middle of the pitch, or where the rows run from end to end, from its
/// own side.
fn axes(ground: &MultiPolygon<f64>, angle: Angle) -> Axes {
    let pitch = Axes {
        along: Xy { x: 1.0, y: 0.0 },
        ahead: Xy { x: 0.0, y: 1.0 },
    };
    let (low, high) = lattice::extents(ground, pitch);
    let middle = (low + high) / 2.0;
    let along = angle.unit();
    let ahead = Xy {
        x: -along.y,
        y: along.x,
    };
    // Inwards by the long axis first, then by the short one; forwards where it lies in the middle.
    let inwards = if ahead.x.abs() > 1e-9 {
        -ahead.x * if middle.x >= 0.0 { 1.0 } else { -1.0 }
    } else {
        -ahead.y * if middle.y >= 0.0 { 1.0 } else { -1.0 }
    };
    let ahead = if inwards >= 0.0 { ahead } else { ahead * -1.0 };
    // Rows run to the right of the way ahead, so that a row begins on the left.
    Axes {
        along: Xy {
            x: ahead.y,
            y: -ahead.x,
        },
        ahead,
    }
}

fn spacing(fork: &Fork, step_mm: f64) -> Spacing {
    Spacing {
        hole_m: fork.tine_spacing_mm / 1000.0,
        row_m: step_mm / 1000.0,
        edge_m: fork.edge_mm.map(|edge_mm| edge_mm / 1000.0),
    }
}

fn within_m(work: &BoardWork) -> f64 {
    work.coincident_tines * work.fork.tine_diameter_mm / 1000.0
}

fn fork_ground(
    work: &BoardWork,
    ground: &NamedGround,
    kept_clear: &[MultiPolygon<f64>],
    people: u32,
) -> Forked {
    let first = axes(&ground.shape, work.angle);
    let all = [("along", first), ("across", first.across())];
    let stages = all.into_iter().take(work.stages.max(1) as usize);
    let spacing = spacing(&work.fork, work.fork.step_mm);
    Forked {
        name: ground.name.clone(),
        stages: stages
            .map(|(name, axes)| {
                let lattice = Lattice::lay(&ground.shape, kept_clear, axes, spacing);
                stage(name, lattice, &work.board, work.fork.tines, people)
            })
            .collect(),
        ground: ground.shape.clone(),
    }
}

fn stage(name: &'static str, lattice: Lattice, board: &Board, tines: u32, people: u32) -> Stage {
    let tines = tines.max(1) as usize;
    let rows = lattice.rows.iter();
    let forkings = rows.map(|row| row.holes.len().div_ceil(tines)).sum();
    let people = people.max(1);
    let stretch_m = lattice.breadth_m() / f64::from(people);
    let back_m = lattice.low.y - board.width_m / 2.0;
    let starts = (0..people).map(|person| {
        let along_m = lattice.low.x + stretch_m * f64::from(person);
        lattice.axes.place(along_m, back_m)
    });
    let starts = starts.collect();
    Stage {
        name,
        boards: whole(lattice.depth_m() / board.width_m),
        board_width_m: board.width_m,
        lengths: whole(lattice.breadth_m() / board.length_m),
        forkings,
        starts,
        lattice,
    }
}

/// How many whole things fill so many: rounded up, but not for a hair.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped: whole, at least 0
fn whole(things: f64) -> usize {
    (things - BORDER).ceil().clamp(0.0, 1e9) as usize
}

fn coincident(forked: &[Forked], within_m: f64) -> usize {
    let pairs = forked.iter().map(|one| match one.stages.as_slice() {
        [along, across] => along.lattice.coincident(&across.lattice, within_m),
        _ => 0,
    });
    pairs.sum()
}

fn share(coincident: usize, forked: &[Forked]) -> f64 {
    let across = forked.iter().filter_map(|one| one.stages.get(1));
    let holes: usize = across.map(|stage| stage.lattice.holes()).sum();
    coincident as f64 / holes.max(1) as f64
}

/// The nearest step in whole millimetres, the longer of two as near, with which the share of
/// coincident holes is not above what the job allows. What fails on the rectangles about the
/// grounds is not laid out on the grounds themselves.
fn other_step_mm(
    work: &BoardWork,
    grounds: &[NamedGround],
    kept_clear: &[MultiPolygon<f64>],
) -> Option<f64> {
    let asked_mm = work.fork.step_mm;
    let within_m = within_m(work);
    let mut off_mm = 1.0;
    while off_mm <= (asked_mm * STEP_REACH).floor() {
        for step_mm in [(asked_mm + off_mm).floor(), (asked_mm - off_mm).ceil()] {
            // None that the job file does not take.
            if !limits::of(STEP).is_none_or(|limit| limit.allows(step_mm)) {
                continue;
            }
            let spacing = spacing(&work.fork, step_mm);
            let hopeless = grounds.iter().all(|ground| {
                let (low, high) = lattice::extents(&ground.shape, axes(&ground.shape, work.angle));
                let guess = lattice::coincident_share_guess(low, high, spacing, within_m);
                guess > work.coincident_share
            });
            if hopeless {
                continue;
            }
            let other = BoardWork {
                fork: Fork {
                    step_mm,
                    ..work.fork
                },
                ..work.clone()
            };
            let laid = grounds.iter();
            let laid: Vec<Forked> = laid
                .map(|ground| fork_ground(&other, ground, kept_clear, 1))
                .collect();
            if share(coincident(&laid, within_m), &laid) <= work.coincident_share {
                return Some(step_mm);
            }
        }
        off_mm += 1.0;
    }
    None
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;

    fn ground(x: (f64, f64), y: (f64, f64)) -> NamedGround {
        let ring = [(x.0, y.0), (x.1, y.0), (x.1, y.1), (x.0, y.1)];
        NamedGround {
            name: "goalmouth-south".to_owned(),
            shape: MultiPolygon(vec![Polygon::new(LineString::from(ring.to_vec()), vec![])]),
        }
    }

    fn work(hole_mm: f64, step_mm: f64) -> BoardWork {
        BoardWork {
            zone: "goalmouth-south".to_owned(),
            angle: Angle::from_deg(90.0),
            board: Board {
                length_m: 3.0,
                width_m: 0.23,
            },
            fork: Fork {
                tines: 4,
                tine_spacing_mm: hole_mm,
                tine_diameter_mm: 12.0,
                depth_mm: 200.0,
                step_mm,
                edge_mm: None,
            },
            stages: 2,
            s_per_forking: 12.0,
            coincident_tines: 1.5,
            coincident_share: 0.05,
        }
    }

    /// The goalmouth behind the -x goal line.
    fn goalmouth() -> NamedGround {
        ground((-52.5, -47.0), (-5.66, 5.66))
    }

    #[test]
    fn the_goalmouth_has_24_places_of_a_board_of_23_cm_and_50_across() {
        // By hand: 5.5 / 0.23 = 23.9, so 24; 11.32 / 0.23 = 49.2, so 50 (common practice gives
        // the 24). Boards of 3 m: 11.32 / 3 = 3.8, so 4 end to end; 5.5 / 3 = 1.8, so 2.
        let plan = plan(&work(100.0, 200.0), &[goalmouth()], &[], 2);
        let [along, across] = plan.grounds[0].stages.as_slice() else {
            panic!("two stages");
        };
        assert_eq!((along.boards, along.lengths), (24, 4));
        assert_eq!((across.boards, across.lengths), (50, 2));
        // Rows: 5.5 / 0.2 = 27.5, so 27 of 113 holes: 29 forkings of four tines a row.
        // Across: 11.32 / 0.2 = 56.6, so 56 rows of 55 holes: 14 forkings a row.
        assert_eq!((along.lattice.holes(), along.forkings), (27 * 113, 27 * 29));
        assert_eq!(
            (across.lattice.holes(), across.forkings),
            (56 * 55, 56 * 14)
        );
        // (783 + 784) x 12 s by two people.
        assert!((plan.time_s - 9402.0).abs() < 1e-9);
    }

    #[test]
    fn the_board_starts_behind_the_goal_line_and_moves_into_the_pitch() {
        for (x, sign) in [((-52.5, -47.0), 1.0), ((47.0, 52.5), -1.0)] {
            let plan = plan(&work(100.0, 100.0), &[ground(x, (-5.66, 5.66))], &[], 2);
            let along = &plan.grounds[0].stages[0];
            assert_eq!(along.lattice.axes.ahead, Xy { x: sign, y: 0.0 });
            let first = along.lattice.rows[0].holes[0];
            assert!(first.x * sign < -52.3, "{first:?}");
            // Rows begin on the left of who looks into the pitch.
            assert!(first.y * sign > 5.5, "{first:?}");
            let front = along.board_at(1).exterior().0[0];
            assert!((front.x + sign * 52.5).abs() < 1e-12, "{front:?}");
        }
    }

    #[test]
    fn a_row_on_the_border_of_two_places_is_reached_from_the_earlier_one() {
        let mut work = work(100.0, 50.0);
        work.board.width_m = 0.25;
        work.fork.edge_mm = Some(0.0);
        let plan = plan(&work, &[goalmouth()], &[], 1);
        let stage = &plan.grounds[0].stages[0];
        // Rows at 0, 0.05 … 5.5 m: 0 to 0.25 is six rows of place 1, then five a place.
        let mut rows = vec![0; stage.boards + 1];
        for row in &stage.lattice.rows {
            rows[stage.board_of(row.ahead_m)] += 1;
        }
        assert_eq!((stage.boards, rows[0], rows[1]), (22, 0, 6));
        assert!(rows[2..].iter().all(|&n| n == 5), "{rows:?}");
    }

    #[test]
    fn another_step_is_named_where_holes_coincide_and_keeps_its_promise() {
        let asked = work(100.0, 100.0);
        let laid = plan(&asked, &[goalmouth()], &[], 2);
        assert_eq!(laid.coincident_share, 1.0);
        let step_mm = laid.other_step_mm.unwrap();
        let other = plan(&work(100.0, step_mm), &[goalmouth()], &[], 2);
        assert!(other.coincident_share <= 0.05, "{}", other.coincident_share);
        assert_eq!(other.other_step_mm, None);
    }

    #[test]
    fn loosened_soil_is_the_holes_and_the_wedges_beside_them() {
        // By hand, a hole of 12 mm, 200 mm deep: 22.6 ml; its wedge 0.012 x 0.2 x 0.025 / 2: 30 ml.
        let plan = plan(&work(100.0, 200.0), &[goalmouth()], &[], 2);
        let fork = work(100.0, 200.0).fork;
        let holes = plan.holes as f64;
        assert!((plan.hole_volume_m3(&fork) / holes - 22.619_467e-6).abs() < 1e-11);
        assert!((plan.loosened_m3(&fork) / holes - 52.619_467e-6).abs() < 1e-11);
    }
}
