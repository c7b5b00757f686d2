//! From a good turn to its least.
//!
//! 1. Poses along walls are gone by: the cheapest word to such a pose, the cheapest from it; and
//!    where the ends lie far apart, drives round along the walls.
//! 2. Stretches of the turn are replaced by single words where that is cheaper.
//! 3. The lengths of its first and last pieces are moved, with a word between them.
//! 4. Poses on it are moved about and gone by.
//!
//! Steps are halved down to centimetres; the numbers of rounds are fixed.

use super::path::Piece;
use super::pose::{Pose, Stance};
use super::turn::{Best, Gap, LEAST_GAIN_M, Task};
use super::words::Word;
use crate::space::Xy;

/// Walls within this of an end are gone by, metres.
const WALLS_WITHIN_M: f64 = 12.0;
/// Edges shorter than this are no walls, metres.
const LEAST_WALL_M: f64 = 3.0;
/// Distance of poses along a wall, metres.
const ALONG_M: f64 = 2.0;
/// Poses along a wall are tried up to this far beyond the ends, metres.
const BEYOND_M: f64 = 8.0;
/// Ends further apart than this may be joined by a drive round along the walls, metres.
const FAR_M: f64 = 25.0;
/// How far along a wall such a drive comes to it and leaves it, metres from the place nearest
/// to the end.
const JOINS_M: [f64; 3] = [2.0, 6.0, 10.0];
/// How many places of the best turn are moved, and how often all of them. Forward turns
/// between walls have many shapes near to each other: fewer places lose 1 % of the cost.
const PLACES: u32 = 5;
const ROUNDS: usize = 2;
/// With reversing the lengths of the pieces tell nearly all, and words take longer.
const PLACES_REVERSER: u32 = 1;
/// A gain that is worth another round of everything, metres.
const WORTH_ROUND_M: f64 = 0.05;
/// First and least steps of moving a pose: metres, and radians for each metre.
const FIRST_STEP_M: f64 = 1.0;
const LEAST_STEP_M: f64 = 0.1;
const RADIANS_PER_M: f64 = 0.4;
/// A gain that is worth another round of moves of the same size, metres.
const WORTH_M: f64 = 0.01;
/// First and least steps of the lengths of pieces, metres.
const FIRST_STRETCH_M: f64 = 0.6;
const LEAST_STRETCH_M: f64 = 0.015;
/// Rounds of moves at most.
const MOST_ROUNDS: usize = 30;
/// Stretches replaced by shortcuts at most.
const MOST_SHORTCUTS: usize = 8;

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

/// Tries the drives round along the walls, both ways round, where the ends are far apart: a
/// metre beside the pitch may cost a third of one on it.
pub(super) fn round_walls(task: &Task<'_>, best: &mut Best) {
    if task.from.distance_m(task.to) < FAR_M {
        return;
    }
    let Some(ring) = Ring::of(task) else { return };
    let mut scratch = Scratch::default();
    let (first, last) = (ring.nearest(task.from.at), ring.nearest(task.to.at));
    for forwards in [true, false] {
        for to_m in JOINS_M {
            for from_m in JOINS_M {
                let poses = ring.poses(first, last, (to_m, from_m), forwards, task.radii.least_m());
                scratch.go_by_all(task, &poses, best);
            }
        }
    }
}

/// The sides of the ground's convex hull, so far inside that full lock away from a wall keeps
/// clear of it.
struct Ring {
    /// Corner and unit vector along the side that begins there, anticlockwise.
    sides: Vec<(Xy, Xy)>,
}

impl Ring {
    fn of(task: &Task<'_>) -> Option<Self> {
        let aside_m = task.machine.swing_m();
        let planes = task.terrain.hull();
        let before = planes.iter().cycle().skip(planes.len().checked_sub(1)?);
        let sides = planes.iter().zip(before).map(|(plane, before)| {
            let cross = before.out.x * plane.out.y - before.out.y * plane.out.x;
            let (a_m, b_m) = (before.at_m - aside_m, plane.at_m - aside_m);
            let corner = Xy {
                x: (a_m * plane.out.y - b_m * before.out.y) / cross,
                y: (b_m * before.out.x - a_m * plane.out.x) / cross,
            };
            let along = Xy {
                x: -plane.out.y,
                y: plane.out.x,
            };
            (corner, along)
        });
        let sides: Vec<(Xy, Xy)> = sides.collect();
        let finite = |(corner, _): &(Xy, Xy)| corner.x.is_finite() && corner.y.is_finite();
        (sides.len() >= 3 && sides.iter().all(finite)).then_some(Self { sides })
    }

    fn length_m(&self, side: usize) -> f64 {
        let next = self.sides[(side + 1) % self.sides.len()].0;
        let (corner, along) = self.sides[side];
        (next.x - corner.x) * along.x + (next.y - corner.y) * along.y
    }

    /// The side nearest to a place, and how far along it.
    fn nearest(&self, at: Xy) -> (usize, f64) {
        let mut nearest = (f64::INFINITY, 0, 0.0);
        for (side, (corner, along)) in self.sides.iter().enumerate() {
            let (x, y) = (at.x - corner.x, at.y - corner.y);
            let along_m = (x * along.x + y * along.y).clamp(0.0, self.length_m(side).max(0.0));
            let off_m = (x - along_m * along.x).hypot(y - along_m * along.y);
            if off_m < nearest.0 {
                nearest = (off_m, side, along_m);
            }
        }
        (nearest.1, nearest.2)
    }

    /// The poses of a drive along the walls from one place on them to another.
    fn poses(
        &self,
        first: (usize, f64),
        last: (usize, f64),
        (to_m, from_m): (f64, f64),
        forwards: bool,
        radius_m: f64,
    ) -> Vec<Pose> {
        let sense = if forwards { 1.0 } else { -1.0 };
        let count = self.sides.len();
        let pose = |side: usize, along_m: f64| {
            let (corner, along) = self.sides[side];
            Pose::new(
                corner.x + along_m * along.x,
                corner.y + along_m * along.y,
                (sense * along.y).atan2(sense * along.x),
            )
        };
        let (mut side, mut at_m) = (first.0, first.1 + sense * to_m);
        let mut poses = vec![pose(side, at_m)];
        let is_ahead = sense * (last.1 - first.1) >= 0.0;
        let mut corners = 0;
        while (side != last.0 || (corners == 0 && !is_ahead)) && corners < count {
            let next = if forwards { side + 1 } else { side + count - 1 } % count;
            let (here, there) = (self.sides[side].1, self.sides[next].1);
            // A fillet at the least radius, and a little room before and after it.
            let half = 0.5
                * (here.x * there.x + here.y * there.y)
                    .clamp(-1.0, 1.0)
                    .acos();
            let off_m = 1.2 * radius_m * half.tan();
            let (from_at_m, to_at_m) = if forwards {
                (self.length_m(side) - off_m, off_m)
            } else {
                (off_m, self.length_m(next) - off_m)
            };
            // Where the wall is come to beyond the fillet's start, the fillet is gone to at once.
            if sense * (from_at_m - at_m) < 0.0 {
                poses.pop();
            }
            poses.push(pose(side, from_at_m));
            poses.push(pose(next, to_at_m));
            (side, at_m) = (next, to_at_m);
            corners += 1;
        }
        let leaves_at_m = last.1 - sense * from_m;
        if sense * (leaves_at_m - at_m) > 0.0 {
            poses.push(pose(last.0, leaves_at_m));
        }
        poses
    }
}

/// Moves the best turn to its least.
pub(super) fn refine(task: &Task<'_>, best: &mut Best) {
    if best.cost_m.is_infinite() {
        return;
    }
    let mut scratch = Scratch::default();
    let (rounds, places) = if task.can_reverse {
        (1, PLACES_REVERSER)
    } else {
        (ROUNDS, PLACES)
    };
    for _ in 0..rounds {
        let before_m = best.cost_m;
        shortcuts(task, &mut scratch, best);
        stretch(task, &mut scratch, 1, 1, best);
        stretch(task, &mut scratch, 2, 1, best);
        stretch(task, &mut scratch, 1, 2, best);
        for place in 1..=places {
            let share = f64::from(place) / f64::from(places + 1);
            let via = pose_at(task, &best.pieces, share);
            move_about(task, &mut scratch, via, best);
        }
        if best.cost_m > before_m - WORTH_ROUND_M {
            break;
        }
    }
}

/// Moves the lengths of the first and last pieces, with a word between them, as long as that
/// makes the turn cheaper.
fn stretch(task: &Task<'_>, scratch: &mut Scratch, first: usize, last: usize, best: &mut Best) {
    let count = best.pieces.len();
    if first + last >= count {
        return;
    }
    let mut ends = [
        best.pieces[..first].to_vec(),
        best.pieces[count - last..].to_vec(),
    ];
    let mut step_m = FIRST_STRETCH_M;
    let mut rounds = 0;
    while step_m >= LEAST_STRETCH_M && rounds < MOST_ROUNDS {
        rounds += 1;
        let mut moved = false;
        for which in 0..first + last {
            for by_m in [step_m, -step_m] {
                let mut next = ends.clone();
                let [before, after] = &mut next;
                if let Some(piece) = before.iter_mut().chain(after).nth(which) {
                    piece.length_m = (piece.length_m + by_m).max(0.0);
                }
                let cost_m = best.cost_m;
                scratch.between(task, &next, best);
                if best.cost_m < cost_m - LEAST_GAIN_M {
                    moved |= best.cost_m < cost_m - WORTH_M;
                    ends = next;
                }
            }
        }
        if !moved {
            step_m *= 0.5;
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
    for _ in 0..MOST_SHORTCUTS {
        let before_m = best.cost_m;
        let pieces = best.pieces.clone();
        let mut stance = Stance::of(task.from);
        let mut total_m = 0.0;
        let mut joints = vec![(task.from, 0.0)];
        for piece in &pieces {
            let Some((more_m, end)) = task.driven(&stance, piece) else {
                return;
            };
            stance = end;
            total_m += more_m;
            joints.push((stance.pose, total_m));
        }
        'cuts: for first in 0..pieces.len() {
            for last in (first + 2..=pieces.len()).rev() {
                let gap = Gap {
                    from: joints[first].0,
                    to: joints[last].0,
                    before: &pieces[..first],
                    after: &pieces[last..],
                    spent_m: joints[first].1 + total_m - joints[last].1,
                    goes_on: false,
                    one_sense: false,
                };
                let cost_m = best.cost_m;
                task.join(&gap, &mut scratch.words, best);
                if best.cost_m < cost_m - WORTH_M {
                    break 'cuts;
                }
            }
        }
        if best.cost_m > before_m - WORTH_M {
            return;
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
    let mut rounds = 0;
    while step_m >= LEAST_STEP_M && rounds < MOST_ROUNDS {
        rounds += 1;
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
                moved |= own.cost_m < cost_m - WORTH_M;
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
    /// The turn that begins and ends with given pieces: the cheapest word between them.
    fn between(&mut self, task: &Task<'_>, ends: &[Vec<Piece>; 2], best: &mut Best) {
        let [before, after] = ends;
        let (mut from, mut to) = (Stance::of(task.from), Stance::of(task.to));
        let mut spent_m = 0.0;
        for piece in before {
            let Some((cost_m, end)) = task.driven(&from, piece) else {
                return;
            };
            spent_m += cost_m;
            from = end;
        }
        for piece in after.iter().rev() {
            let Some((cost_m, end)) = task.driven(&to, &piece.turned_back()) else {
                return;
            };
            spent_m += cost_m;
            to = end;
        }
        let gap = Gap {
            from: from.pose,
            to: to.pose,
            before,
            after,
            spent_m,
            goes_on: false,
            one_sense: false,
        };
        task.join(&gap, &mut self.words, best);
    }

    /// The turn by poses one after another: the cheapest word to each.
    fn go_by_all(&mut self, task: &Task<'_>, poses: &[Pose], best: &mut Best) {
        let mut at = task.from;
        let mut so_far: Vec<Piece> = Vec::new();
        let mut spent_m = 0.0;
        for (index, &to) in poses.iter().chain([&task.to]).enumerate() {
            let goes_on = index < poses.len();
            let mut next = Best {
                cost_m: best.cost_m,
                pieces: Vec::new(),
            };
            let gap = Gap {
                from: at,
                to,
                before: &so_far,
                after: &[],
                spent_m,
                goes_on,
                one_sense: false,
            };
            task.join(&gap, &mut self.words, &mut next);
            if next.pieces.is_empty() {
                return;
            }
            if !goes_on {
                *best = next;
                return;
            }
            spent_m = next.cost_m - task.changes_m(&next.pieces, true);
            so_far = next.pieces;
            at = to;
        }
    }

    /// The turn by a pose: the cheapest word to it, then the cheapest from it.
    fn go_by(&mut self, task: &Task<'_>, via: Pose, best: &mut Best) {
        let rest_m = task.least_m(via.distance_m(task.to));
        let least_m = task.least_m(task.from.distance_m(via)) + rest_m;
        if least_m >= best.cost_m - LEAST_GAIN_M {
            return;
        }
        let limit_m = best.cost_m - rest_m;
        let mut first = Best {
            cost_m: limit_m,
            pieces: Vec::new(),
        };
        let gap = Gap {
            from: task.from,
            to: via,
            before: &[],
            after: &[],
            spent_m: 0.0,
            goes_on: true,
            one_sense: false,
        };
        task.join(&gap, &mut self.words, &mut first);
        if first.cost_m >= limit_m {
            return;
        }
        let gap = Gap {
            from: via,
            to: task.to,
            before: &first.pieces,
            after: &[],
            spent_m: first.cost_m - task.changes_m(&first.pieces, true),
            goes_on: false,
            one_sense: false,
        };
        task.join(&gap, &mut self.words, best);
    }
}
