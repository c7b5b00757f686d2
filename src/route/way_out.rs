//! How far the end of a part must be shortened so that the machine can leave it, or come in.
//!
//! A way out leads from the pose at lifting to a place where both full circles are free: from
//! there the machine can make for anywhere. It is straight, or up to three arcs at full lock to
//! alternating sides and then straight; a machine that may reverse also goes straight back,
//! or changes its driving direction from arc to arc. A way in is the same mirrored in time: a
//! way out of the pose at lowering, driven backwards.
//!
//! Shortenings are tried in steps of 5 cm, the least first. Those that a single straight wall
//! rules out are passed over unseen: a machine that only drives forwards keeps farthest from
//! a wall by full lock at once until it runs along it, and a wall on the convex hull of the
//! ground cannot be driven round ([`least_by_walls_m`]).

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::machine::Machine;
use super::path::{Bend, Path, Piece};
use super::pose::{Pose, Stance};
use super::sweep::Footprint;
use super::terrain::Terrain;

/// Ends are shortened in steps of this, metres.
pub const STEP_M: f64 = 0.05;

/// No part is longer than this, metres; so a search ends.
const MOST_SHORTENED_M: f64 = 1_000.0;

/// Where along a straight the circles are tried, metres from its beginning. Farther than a
/// machine needs between walls; beyond the last one a way would be a journey.
const STRAIGHTS_M: [f64; 19] = [
    0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 15.0, 18.0, 22.0, 30.0,
    40.0,
];

/// Steps of the arcs' turn where one, two or three are driven, degrees: finer where there are
/// fewer of them to combine.
const ARC_STEPS_DEG: [f64; 3] = [5.0, 15.0, 45.0];

/// Which end of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// Its end as driven: the machine leaves from the pose at lifting.
    Leaves,
    /// Its start as driven: the machine comes in to the pose at lowering.
    ComesIn,
}

/// An end with a way to leave it, or to come in at it.
#[derive(Debug, Clone, PartialEq)]
pub struct WayOut {
    /// By how much the end is shortened, metres, a whole number of [`STEP_M`].
    pub shortened_m: f64,
    /// From the pose at lifting to a place where both full circles are free, or from such a
    /// place to the pose at lowering.
    pub path: Path,
}

/// The way out of (or in at) an end with the least shortening up to `most_m`, metres; `None`
/// where there is none.
///
/// `end` is the pose of the unshortened end: of the machine when it lifts the tool, or when it
/// lowers it; so [`Machine::reach_m`] is in it already.
#[must_use]
pub fn way_out(
    terrain: &Terrain,
    machine: &Machine,
    end: Pose,
    used: Use,
    most_m: f64,
) -> Option<WayOut> {
    let search = Search {
        terrain,
        machine: &Footprint::of(machine),
        can_reverse: machine.can_reverse,
        backwards: used == Use::ComesIn,
    };
    let least_m = if machine.can_reverse {
        0.0
    } else {
        least_by_walls_m(terrain, machine, end, used)
    };
    let most_m = most_m.min(MOST_SHORTENED_M);
    let mut step = ((least_m - 1e-7) / STEP_M).ceil().max(0.0);
    while step * STEP_M <= most_m + 1e-9 {
        let shortened_m = step * STEP_M;
        let pose = match used {
            Use::Leaves => end.ahead(-shortened_m),
            Use::ComesIn => end.ahead(shortened_m),
        };
        if let Some(pieces) = search.from(pose) {
            let path = Path::new(pose, machine.radii, pieces);
            return Some(WayOut {
                shortened_m,
                path: match used {
                    Use::Leaves => path,
                    Use::ComesIn => path.turned_back(),
                },
            });
        }
        step += 1.0;
    }
    None
}

/// A shortening that no way driven in one direction can do without, metres, from the sides of
/// the convex hull of the ground; infinite where no shortening helps.
#[must_use]
pub fn least_by_walls_m(terrain: &Terrain, machine: &Machine, end: Pose, used: Use) -> f64 {
    let lacking = lacking_by_walls(terrain, machine, end, used);
    let least_m = lacking.map(|(lacking_m, towards)| lacking_m / towards);
    least_m.fold(0.0, f64::max)
}

/// By how much the sides of the convex hull of the ground would have to stand farther out, metres,
/// so that none of them alone makes a shortening needed.
pub(super) fn growth_by_walls_m(terrain: &Terrain, machine: &Machine, end: Pose, used: Use) -> f64 {
    if !machine.can_reverse {
        let lacking = lacking_by_walls(terrain, machine, end, used);
        return lacking.map(|(lacking_m, _)| lacking_m).fold(0.0, f64::max);
    }
    // It need only stand there, for it may back out as it came.
    let (sin, cos) = end.heading_rad.sin_cos();
    let outlines = [machine.body_outline(), machine.tool_outline()];
    let corners = outlines.iter().flat_map(super::machine::Outline::corners);
    let beyond_m = corners.flat_map(|(x, y)| {
        let (over_x, over_y) = (x * cos - y * sin, x * sin + y * cos);
        let at = (end.at.x + over_x, end.at.y + over_y);
        let walls = terrain.hull().iter();
        walls.map(move |wall| wall.out.x * at.0 + wall.out.y * at.1 - wall.at_m)
    });
    beyond_m.fold(0.0, f64::max)
}

/// Of each wall of the hull that the machine drives at: the room that it lacks before the wall,
/// metres, less than 0 where there is more than it needs, and how fast it drives at the wall.
fn lacking_by_walls<'a>(
    terrain: &'a Terrain,
    machine: &'a Machine,
    end: Pose,
    used: Use,
) -> impl Iterator<Item = (f64, f64)> + 'a {
    let sense = match used {
        Use::Leaves => 1.0,
        Use::ComesIn => -1.0,
    };
    let (sin, cos) = end.heading_rad.sin_cos();
    terrain.hull().iter().filter_map(move |wall| {
        // As fast as that shortening brings it away.
        let towards = sense * (wall.out.x * cos + wall.out.y * sin);
        (towards > 1e-9).then(|| {
            let room_m = wall.at_m - (wall.out.x * end.at.x + wall.out.y * end.at.y);
            let out_rad = wall.out.y.atan2(wall.out.x) - end.heading_rad;
            let need_m = [Bend::Left, Bend::Right]
                .into_iter()
                .map(|side| need_m(machine, side, sense, out_rad))
                .fold(f64::INFINITY, f64::min);
            (need_m - room_m, towards)
        })
    })
}

/// How far a machine reaches towards a wall, beyond its axle's place at the start, while it
/// drives at full lock to one side until it runs along the wall. `out_rad` is the direction
/// towards the wall, seen from the heading.
fn need_m(machine: &Machine, side: Bend, sense: f64, out_rad: f64) -> f64 {
    let lever = side.sign() * machine.radii.of(side);
    // The travel's direction, seen from the wall's; it turns by `turned_rad` until it is square.
    let travel_rad = if sense > 0.0 { -out_rad } else { PI - out_rad };
    let travel_rad = (travel_rad + PI).rem_euclid(TAU) - PI;
    let turned_rad = if side.sign() * sense > 0.0 {
        FRAC_PI_2 - travel_rad
    } else {
        -FRAC_PI_2 - travel_rad
    };
    let centre_m = lever * out_rad.sin();
    let outlines = [machine.body_outline(), machine.tool_outline()];
    let corners = outlines.iter().flat_map(super::machine::Outline::corners);
    let farthest = corners.map(|(x, y)| {
        let (y, radius_m) = (y - lever, x.hypot(y - lever));
        // The corner's direction from the centre, seen from the wall's.
        let from_rad = y.atan2(x) - out_rad;
        let to_rad = from_rad + turned_rad;
        let (low, high) = (from_rad.min(to_rad), from_rad.max(to_rad));
        let passes_it = (low / TAU).ceil() * TAU <= high;
        let reach = if passes_it {
            1.0
        } else {
            from_rad.cos().max(to_rad.cos())
        };
        centre_m + radius_m * reach
    });
    farthest.fold(f64::NEG_INFINITY, f64::max)
}

struct Search<'a> {
    terrain: &'a Terrain,
    machine: &'a Footprint,
    can_reverse: bool,
    /// All is driven backwards: the way in, mirrored in time.
    backwards: bool,
}

impl Search<'_> {
    /// The first way found from a pose.
    fn from(&self, pose: Pose) -> Option<Vec<Piece>> {
        if !self.terrain.stands(self.machine, pose) {
            return None;
        }
        let pose = &Stance::of(pose);
        let mut pieces = Vec::new();
        let reverse = self.can_reverse;
        let found = self.straight(pose, false, &mut pieces)
            || (reverse && self.straight(pose, true, &mut pieces))
            || self.arcs(pose, false, &mut pieces)
            || (reverse && self.arcs(pose, true, &mut pieces));
        found.then_some(pieces)
    }

    fn piece(&self, bend: Bend, length_m: f64, against: bool) -> Piece {
        Piece {
            bend,
            length_m,
            reverse: self.backwards != against,
        }
    }

    /// Goes straight, against the usual driving direction or not, until both circles are free.
    fn straight(&self, pose: &Stance, against: bool, pieces: &mut Vec<Piece>) -> bool {
        let mut at = *pose;
        let mut gone_m = 0.0;
        for so_far_m in STRAIGHTS_M {
            let step = self.piece(Bend::Straight, so_far_m - gone_m, against);
            if !self.terrain.drives(self.machine, &at, &step) {
                return false;
            }
            at = at.after(&step, self.machine.radii);
            gone_m = so_far_m;
            if self.terrain.circles_free(self.machine, &at) {
                pieces.push(self.piece(Bend::Straight, so_far_m, against));
                return true;
            }
        }
        false
    }

    /// One, two, then three arcs and a straight; with `changing` each arc is driven against
    /// the one before.
    fn arcs(&self, pose: &Stance, changing: bool, pieces: &mut Vec<Piece>) -> bool {
        ARC_STEPS_DEG.iter().enumerate().any(|(more, step_deg)| {
            // A single arc has nothing to change to, but may begin against.
            let begins = if changing {
                [true, false]
            } else {
                [false, false]
            };
            let begins = if changing && more > 0 {
                &begins[..]
            } else {
                &begins[..1]
            };
            begins.iter().any(|&against| {
                [Bend::Left, Bend::Right].into_iter().any(|bend| {
                    let next = Arc {
                        bend,
                        against,
                        changing,
                        step_rad: step_deg.to_radians(),
                    };
                    self.along_arc(pose, next, more, pieces)
                })
            })
        })
    }

    fn along_arc(&self, pose: &Stance, arc: Arc, more: usize, pieces: &mut Vec<Piece>) -> bool {
        let step_m = arc.step_rad * self.machine.radii.of(arc.bend);
        let step = self.piece(arc.bend, step_m, arc.against);
        let mut at = *pose;
        let mut length_m = 0.0;
        // A whole turn and more leads nowhere new.
        while length_m + step_m < TAU * self.machine.radii.of(arc.bend) - 1e-9 {
            if !self.terrain.drives(self.machine, &at, &step) {
                return false;
            }
            at = at.after(&step, self.machine.radii);
            length_m += step_m;
            pieces.push(self.piece(arc.bend, length_m, arc.against));
            let found = if more == 0 {
                self.straight(&at, arc.against, pieces)
            } else {
                let next = Arc {
                    bend: arc.bend.other(),
                    against: arc.against != arc.changing,
                    ..arc
                };
                self.along_arc(&at, next, more - 1, pieces)
            };
            if found {
                return true;
            }
            pieces.pop();
        }
        false
    }
}

#[derive(Debug, Clone, Copy)]
struct Arc {
    bend: Bend,
    against: bool,
    changing: bool,
    step_rad: f64,
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::machine::Body;
    use super::super::path::Radii;
    use super::*;
    use approx::assert_abs_diff_eq;
    use geo::{LineString, MultiPolygon, Polygon, polygon};

    fn machine(can_reverse: bool) -> Machine {
        Machine {
            radii: Radii::both(2.9),
            body: Body {
                width_m: 1.5,
                ahead_m: 2.4,
                behind_m: 0.9,
            },
            tool_width_m: 1.8,
            reach_m: 1.6,
            can_reverse,
        }
    }

    fn stadium(run_off_m: f64, holes: Vec<LineString<f64>>) -> Terrain {
        let (x, y) = (52.5 + run_off_m, 34.0 + run_off_m);
        let walls = LineString::from(vec![(-x, -y), (x, -y), (x, y), (-x, y)]);
        let pitch = polygon![
            (x: -52.5, y: -34.0), (x: 52.5, y: -34.0), (x: 52.5, y: 34.0), (x: -52.5, y: 34.0)
        ];
        Terrain::new(&MultiPolygon(vec![Polygon::new(walls, holes)]), &pitch)
    }

    /// A pass at `angle_deg` to the goal line, in the middle of it, with its strip's outer
    /// corner on the line: `run_over`.
    fn lifted(machine: &Machine, angle_deg: f64) -> Pose {
        let phi = angle_deg.to_radians();
        let heading_rad = std::f64::consts::FRAC_PI_2 - phi;
        // The centre line's end lies beyond the line by half the width's share.
        let beyond_m = 0.5 * machine.tool_width_m * phi.cos();
        let end = Pose::new(52.5 + beyond_m, 0.0, heading_rad);
        end.ahead(machine.reach_m)
    }

    /// Shortening in front of one straight wall in closed form, before the steps of 5 cm.
    fn closed_m(machine: &Machine, angle_deg: f64, run_off_m: f64) -> f64 {
        let phi = angle_deg.to_radians();
        let (a, b) = (machine.body.ahead_m, machine.body.width_m);
        let (r, w) = (machine.radii.left_m, machine.tool_width_m);
        let to_axle = machine.reach_m * phi.sin() + 0.5 * w * phi.cos();
        let need = if machine.can_reverse {
            a * phi.sin() + 0.5 * b * phi.cos() + to_axle
        } else {
            (r + 0.5 * b).hypot(a) - r * phi.cos() + to_axle
        };
        (need - run_off_m).max(0.0) / phi.sin()
    }

    #[test]
    fn in_front_of_one_wall_the_closed_form_says_how_far() {
        for can_reverse in [false, true] {
            let machine = machine(can_reverse);
            for angle_deg in [90.0, 75.0, 60.0, 45.0, 32.93, 30.0] {
                for run_off_m in [3.0, 3.5, 4.0, 4.5, 5.0, 6.5] {
                    let mut closed_m = closed_m(&machine, angle_deg, run_off_m);
                    let terrain = stadium(run_off_m, Vec::new());
                    let end = lifted(&machine, angle_deg);
                    let way = way_out(&terrain, &machine, end, Use::Leaves, 50.0).unwrap();
                    if !can_reverse {
                        let least_m = least_by_walls_m(&terrain, &machine, end, Use::Leaves);
                        // At a flat angle the nose's corner is past its farthest at once.
                        let slack_m = if angle_deg > 34.0 { 1e-6 } else { 0.15 };
                        assert_abs_diff_eq!(least_m, closed_m, epsilon = slack_m);
                        assert!(least_m <= closed_m + 1e-6);
                        closed_m = least_m;
                    }
                    let steps = (closed_m / STEP_M - 1e-6).ceil().max(0.0) * STEP_M;
                    assert_abs_diff_eq!(way.shortened_m, steps, epsilon = 1e-9);
                }
            }
        }
    }

    #[test]
    fn passes_along_stop_short_of_a_tight_run_off() {
        for (run_off_m, forwards_m, reversing_m) in
            [(3.0, 3.0, 1.0), (4.0, 2.0, 0.0), (5.0, 1.0, 0.0)]
        {
            let terrain = stadium(run_off_m, Vec::new());
            for (can_reverse, expected_m) in [(false, forwards_m), (true, reversing_m)] {
                let machine = machine(can_reverse);
                let end = lifted(&machine, 90.0);
                let way = way_out(&terrain, &machine, end, Use::Leaves, 50.0).unwrap();
                assert_abs_diff_eq!(way.shortened_m, expected_m, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn coming_in_past_one_wall_is_never_the_narrow_place() {
        let machine = machine(false);
        for angle_deg in [90.0, 60.0, 45.0, 30.0] {
            let start = lifted(&machine, angle_deg).ahead(-machine.reach_m);
            // Driven the other way: from the wall inwards.
            let start = Pose {
                heading_rad: start.heading_rad + std::f64::consts::PI,
                ..start
            }
            .ahead(machine.reach_m);
            let terrain = stadium(3.0, Vec::new());
            let way = way_out(&terrain, &machine, start, Use::ComesIn, 50.0).unwrap();
            assert_abs_diff_eq!(way.shortened_m, 0.0);
            assert_abs_diff_eq!(way.path.end().distance_m(start), 0.0, epsilon = 1e-9);
            assert!(way.path.pieces.iter().all(|piece| !piece.reverse));
            assert!(terrain.allows_pose(&machine, way.path.start));
            assert!(terrain.allows(&machine, way.path.start, &way.path.pieces));
        }
    }

    /// A post in the way of the left turn makes it go right, or in more arcs; what is found
    /// can be driven, and a step less cannot be left by any of the shapes.
    #[test]
    fn ways_past_posts_can_be_driven() {
        let machine = machine(false);
        let square = |x: f64, y: f64| {
            LineString::from(vec![
                (x - 0.6, y - 0.6),
                (x + 0.6, y - 0.6),
                (x + 0.6, y + 0.6),
                (x - 0.6, y + 0.6),
            ])
        };
        for (x, y) in [
            (55.0, 3.0),
            (54.0, -3.0),
            (53.0, 2.4),
            (55.5, 0.0),
            (50.0, 5.0),
        ] {
            let terrain = stadium(6.0, vec![square(x, y)]);
            for used in [Use::Leaves, Use::ComesIn] {
                let mut end = lifted(&machine, 90.0);
                if used == Use::ComesIn {
                    end = Pose::new(52.5, 0.0, std::f64::consts::PI).ahead(machine.reach_m);
                }
                let way = way_out(&terrain, &machine, end, used, 50.0).unwrap();
                assert!(terrain.allows_pose(&machine, way.path.start));
                assert!(terrain.allows(&machine, way.path.start, &way.path.pieces));
                let free = if used == Use::Leaves {
                    way.path.end()
                } else {
                    way.path.start
                };
                assert!(terrain.circles_free(&Footprint::of(&machine), &Stance::of(free)));
                if way.shortened_m > 0.0 {
                    assert!(
                        way_out(&terrain, &machine, end, used, way.shortened_m - STEP_M).is_none()
                    );
                }
            }
        }
    }

    #[test]
    fn where_nothing_is_free_there_is_no_way() {
        let corridor = MultiPolygon(vec![
            polygon![(x: 0.0, y: -1.5), (x: 80.0, y: -1.5), (x: 80.0, y: 1.5), (x: 0.0, y: 1.5)],
        ]);
        let terrain = Terrain::new(
            &corridor,
            &polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 1.0, y: 1.0)],
        );
        let end = Pose::new(40.0, 0.0, 0.0);
        for can_reverse in [false, true] {
            assert_eq!(
                way_out(&terrain, &machine(can_reverse), end, Use::Leaves, 3.0),
                None
            );
        }
    }
}
