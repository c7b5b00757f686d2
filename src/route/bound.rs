//! What no turn between two poses can cost less than, with walls or without.
//!
//! Walls only forbid; so the shortest path without them is a bound on the length. A machine
//! that may reverse and has work before and after it, driven forwards, changes its direction
//! twice or not at all; so its turn costs at least the shortest forward path, or the shortest of
//! all and two changes. And where both ends lie on the pitch, a path stays on it all the way or
//! drives at least to its edge and from it: that many metres count `on_pitch` times.

use super::dubins;
use super::machine::Machine;
use super::pose::Pose;
use super::reeds_shepp::{self, Changes};
use super::terrain::Terrain;
use super::turn::{End, Weights};

/// A cost that no path between the ends can have less than where every metre counts once:
/// metres of length and changes of direction. Without reversing it is the least itself.
#[must_use]
pub fn wall_free_m(from: &End<'_>, to: &End<'_>, machine: &Machine, change_m: f64) -> f64 {
    let [forwards, changing] = lengths_m(from, to, machine, change_m);
    (forwards.0 + forwards.1).min(changing.0 + changing.1)
}

/// A cost that no turn between the ends can have less than, on any ground.
#[must_use]
pub fn least_cost_m(
    from: &End<'_>,
    to: &End<'_>,
    machine: &Machine,
    terrain: &Terrain,
    weights: &Weights,
) -> f64 {
    let past_m = terrain.past_pitch_m(from.pose.at, to.pose.at, weights.on_pitch);
    let to_edge_m = terrain.into_pitch_m(from.pose.at) + terrain.into_pitch_m(to.pose.at);
    let cost = |(length_m, changes_m): (f64, f64)| {
        let weighed_m = if weights.on_pitch >= 1.0 {
            length_m + (weights.on_pitch - 1.0) * length_m.min(to_edge_m)
        } else {
            // On the pitch all the way is the best there could be.
            length_m * weights.on_pitch
        };
        weighed_m.max(past_m) + changes_m
    };
    let [forwards, changing] = lengths_m(from, to, machine, weights.change_m);
    cost(forwards).min(cost(changing))
}

/// A cost that [`least_cost_m`] is never below, told at once: the straight way, or what it takes
/// to turn.
#[must_use]
pub fn apart_cost_m(from: Pose, to: Pose, machine: &Machine, weights: &Weights) -> f64 {
    let turning_m = machine.radii.least_m() * from.heading_difference_rad(to);
    from.distance_m(to).max(turning_m) * weights.on_pitch.min(1.0)
}

/// The least length driven one way and what its changes cost, and the same with changes within
/// it; infinite where that is not to be had.
fn lengths_m(from: &End<'_>, to: &End<'_>, machine: &Machine, change_m: f64) -> [(f64, f64); 2] {
    let radii = machine.radii;
    let forwards_m = dubins::shortest(from.pose, to.pose, radii).length_m();
    if !machine.can_reverse {
        return [(forwards_m, 0.0), (f64::INFINITY, 0.0)];
    }
    let least_m = reeds_shepp::least_length_m(from.pose, to.pose, radii).min(forwards_m);
    // Where an end is not joined to work, all may be driven backwards without any change there.
    let changes = match (from.of_work, to.of_work) {
        (true, true) => 2.0,
        (true, false) | (false, true) => 1.0,
        (false, false) => 0.0,
    };
    [(forwards_m, 0.0), (least_m, changes * change_m)]
}

/// The changes of a turn between two ends, each at `change_m`.
pub(super) const fn changes(from: &End<'_>, to: &End<'_>, change_m: f64) -> Changes {
    Changes {
        each_m: change_m,
        forwards_before: from.of_work,
        forwards_after: to.of_work,
    }
}

#[cfg(test)]
mod tests {
    use super::super::machine::Body;
    use super::super::path::Radii;
    use super::super::pose::Pose;
    use super::*;
    use approx::assert_abs_diff_eq;
    use geo::{MultiPolygon, polygon};
    use std::f64::consts::PI;

    fn machine(can_reverse: bool) -> Machine {
        Machine {
            radii: Radii::both(3.0),
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

    fn work(x: f64, y: f64, heading_rad: f64) -> End<'static> {
        End {
            pose: Pose::new(x, y, heading_rad),
            way: None,
            of_work: true,
        }
    }

    #[test]
    fn reversing_costs_two_changes_or_none() {
        let (from, to) = (work(0.0, 0.0, 0.0), work(0.0, 2.0, PI));
        let omega_m = 19.517_602_010;
        assert_abs_diff_eq!(
            wall_free_m(&from, &to, &machine(false), 5.0),
            omega_m,
            epsilon = 1e-8
        );
        // Three arcs of half a circle in all.
        assert_abs_diff_eq!(
            wall_free_m(&from, &to, &machine(true), 3.0),
            3.0 * PI + 6.0,
            epsilon = 1e-6
        );
        assert_abs_diff_eq!(
            wall_free_m(&from, &to, &machine(true), 30.0),
            omega_m,
            epsilon = 1e-8
        );
    }

    #[test]
    fn deep_in_the_pitch_every_metre_counts_more() {
        let square = polygon![(x: -50.0, y: -50.0), (x: 50.0, y: -50.0), (x: 50.0, y: 50.0), (x: -50.0, y: 50.0)];
        let terrain = Terrain::new(&MultiPolygon(vec![square.clone()]), &square);
        let weights = Weights {
            on_pitch: 3.0,
            change_m: 5.0,
        };
        let (from, to) = (work(0.0, 0.0, 0.0), work(0.0, 6.0, PI));
        let cost = |from: &End<'_>, to: &End<'_>| {
            least_cost_m(from, to, &machine(false), &terrain, &weights)
        };
        assert_abs_diff_eq!(cost(&from, &to), 9.0 * PI, epsilon = 1e-6);
        let (from, to) = (work(49.0, 0.0, 0.0), work(49.5, 6.0, PI));
        let plain_m = wall_free_m(&from, &to, &machine(false), 0.0);
        assert_abs_diff_eq!(cost(&from, &to), plain_m + 2.0 * 1.5, epsilon = 1e-6);
    }
}
