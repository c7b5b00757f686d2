//! From a good turn to its least: poses to go by are tried along walls and moved about.
//!
//! A turn by a pose is the cheapest word to it and the cheapest word from it. Before poses are
//! moved, stretches of the turn are replaced by single words where that is cheaper.

use super::path::Piece;
use super::pose::Pose;
use super::turn::{Best, Gap, LEAST_GAIN_M, Task};
use super::words::Word;

/// Walls within this of an end are gone by, metres.
const WALLS_WITHIN_M: f64 = 12.0;
/// Edges shorter than this are no walls, metres.
const LEAST_WALL_M: f64 = 3.0;
/// Distance of poses along a wall, metres.
const ALONG_M: f64 = 2.0;
/// Poses along a wall are tried up to this far beyond the ends, metres.
const BEYOND_M: f64 = 8.0;
/// How many places of the best turn are moved.
const PLACES: usize = 5;
/// First and least steps of moving a pose: metres, and radians for each metre.
const FIRST_STEP_M: f64 = 1.0;
const LEAST_STEP_M: f64 = 0.04;
const RADIANS_PER_M: f64 = 0.4;

/// Tries poses along each wall near the ends, to go by in either direction.
pub(super) fn by_walls(task: &Task<'_>, best: &mut Best) {
    let mut walls = Vec::new();
    for at in [task.from.at, task.to.at] {
        for edge in task.terrain.edges_near(at, WALLS_WITHIN_M) {
            if edge.length_m >= LEAST_WALL_M && !walls.contains(&edge) {
                walls.push(edge);
            }
        }
    }
    // So far from a wall that full lock away from it keeps clear.
    let aside_m = task.machine.swing_m();
    let mut poses = Vec::new();
    for wall in walls {
        let along = |pose: Pose| {
            (pose.at.x - wall.from.x) * wall.unit.x + (pose.at.y - wall.from.y) * wall.unit.y
        };
        let (a, b) = (along(task.from), along(task.to));
        let low = (a.min(b) - BEYOND_M).max(0.0);
        let high = (a.max(b) + BEYOND_M).min(wall.length_m);
        let heading_rad = wall.unit.y.atan2(wall.unit.x);
        let mut at_m = (low / ALONG_M).ceil() * ALONG_M;
        while at_m <= high {
            // Far from both ends nothing is to be gained.
            if (at_m - a).abs().min((at_m - b).abs()) <= BEYOND_M {
                for turned_rad in [0.0, std::f64::consts::PI] {
                    // Ground lies to the left of its boundary or, in a ring that runs the
                    // other way, to the right; the pose that stands on it is taken.
                    for side in [1.0, -1.0] {
                        poses.push(Pose::new(
                            wall.from.x + at_m * wall.unit.x - side * aside_m * wall.unit.y,
                            wall.from.y + at_m * wall.unit.y + side * aside_m * wall.unit.x,
                            heading_rad + turned_rad,
                        ));
                    }
                }
            }
            at_m += ALONG_M;
        }
    }
    let mut scratch = Scratch::default();
    for pose in poses {
        if !task.terrain.stands(&task.machine, pose) {
            continue;
        }
        scratch.go_by(task, pose, best);
    }
}

/// Moves the best turn to its least.
pub(super) fn refine(task: &Task<'_>, best: &mut Best) {
    if best.cost_m.is_infinite() {
        return;
    }
    let mut scratch = Scratch::default();
    for _ in 0..2 {
        let before_m = best.cost_m;
        shortcuts(task, &mut scratch, best);
        for place in 1..=PLACES {
            #[expect(clippy::cast_precision_loss, reason = "a handful")]
            let share = place as f64 / (PLACES + 1) as f64;
            let via = pose_at(task, &best.pieces, share);
            move_about(task, &mut scratch, via, best);
        }
        if best.cost_m > before_m - 0.05 {
            break;
        }
    }
}

fn pose_at(task: &Task<'_>, pieces: &[Piece], share: f64) -> Pose {
    let length_m: f64 = pieces.iter().map(|piece| piece.length_m).sum();
    let mut left_m = share * length_m;
    let mut pose = task.from;
    for piece in pieces {
        let length_m = piece.length_m.min(left_m);
        pose = pose.after(&Piece { length_m, ..*piece }, task.radii);
        left_m -= length_m;
    }
    pose
}

/// Replaces stretches of the best turn between joints of pieces by one word.
fn shortcuts(task: &Task<'_>, scratch: &mut Scratch, best: &mut Best) {
    let mut improved = true;
    while improved && best.pieces.len() > 2 {
        improved = false;
        let pieces = best.pieces.clone();
        let mut joints = vec![(task.from, 0.0)];
        for piece in &pieces {
            let &(pose, cost_m) = joints.last().unwrap_or(&(task.from, 0.0));
            let more_m = task.piece_cost_m(pose, piece).unwrap_or(f64::INFINITY);
            joints.push((pose.after(piece, task.radii), cost_m + more_m));
        }
        let total_m = joints.last().map_or(0.0, |joint| joint.1);
        'cuts: for first in 0..pieces.len() {
            for last in (first + 2..=pieces.len()).rev() {
                let gap = Gap {
                    from: joints[first].0,
                    to: joints[last].0,
                    before: &pieces[..first],
                    after: &pieces[last..],
                    spent_m: joints[first].1 + total_m - joints[last].1,
                    goes_on: false,
                };
                let cost_m = best.cost_m;
                task.join(&gap, &mut scratch.words, best);
                if best.cost_m < cost_m - 1e-6 {
                    improved = true;
                    break 'cuts;
                }
            }
        }
    }
}

/// Moves a pose that the turn goes by as long as that makes it cheaper.
fn move_about(task: &Task<'_>, scratch: &mut Scratch, via: Pose, best: &mut Best) {
    let mut via = via;
    // The pose may not yield the best turn by itself: it is then moved by its own cost.
    let mut own = Best::NONE;
    scratch.go_by(task, via, &mut own);
    let mut step_m = FIRST_STEP_M;
    while step_m >= LEAST_STEP_M {
        let mut moved = false;
        for (along, aside, turn) in [
            (0.0, 1.0, 0.0),
            (0.0, -1.0, 0.0),
            (0.0, 0.0, 1.0),
            (0.0, 0.0, -1.0),
            (1.0, 0.0, 0.0),
            (-1.0, 0.0, 0.0),
        ] {
            let (sin, cos) = via.heading_rad.sin_cos();
            let next = Pose::new(
                via.at.x + step_m * (along * cos - aside * sin),
                via.at.y + step_m * (along * sin + aside * cos),
                via.heading_rad + turn * step_m * RADIANS_PER_M,
            );
            let cost_m = own.cost_m;
            scratch.go_by(task, next, &mut own);
            if own.cost_m < cost_m - LEAST_GAIN_M {
                via = next;
                moved = true;
            }
        }
        if !moved {
            step_m *= 0.5;
        }
    }
    if own.cost_m < best.cost_m - LEAST_GAIN_M {
        *best = own;
    }
}

/// Room for words, used again and again.
#[derive(Debug, Default)]
struct Scratch {
    words: Vec<(f64, Word)>,
}

impl Scratch {
    /// The turn by a pose: the cheapest word to it, then the cheapest from it.
    fn go_by(&mut self, task: &Task<'_>, via: Pose, best: &mut Best) {
        let rest_m = task.least_m(via.distance_m(task.to));
        let least_m = task.least_m(task.from.distance_m(via)) + rest_m;
        if least_m >= best.cost_m - LEAST_GAIN_M {
            return;
        }
        let mut first = Best {
            cost_m: best.cost_m - rest_m,
            pieces: Vec::new(),
        };
        let gap = Gap {
            from: task.from,
            to: via,
            before: &[],
            after: &[],
            spent_m: 0.0,
            goes_on: true,
        };
        task.join(&gap, &mut self.words, &mut first);
        if first.pieces.is_empty() {
            return;
        }
        let gap = Gap {
            from: via,
            to: task.to,
            before: &first.pieces,
            after: &[],
            spent_m: first.cost_m - task.changes_m(&first.pieces, true),
            goes_on: false,
        };
        task.join(&gap, &mut self.words, best);
    }
}
