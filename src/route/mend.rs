//! What would spare an end its shortening: the smallest change of each kind that does.
//!
//! Each is found by trying: the run-off is widened all round, from what its walls alone ask for,
//! the circles are made smaller, both bisected to a centimetre; reversing is allowed; each obstacle
//! is taken away in turn.

use geo::{MultiPolygon, Polygon};

use super::machine::Machine;
use super::path::Radii;
use super::pose::Pose;
use super::terrain::Terrain;
use super::way_out::{Use, growth_by_walls_m, way_out};
use crate::region;
use crate::space::Xy;

/// Run-off is widened by at most this, centimetres: more is another ground.
const MOST_GROWTH_CM: u32 = 1_000;
/// No machine turns tighter than this, centimetres.
const LEAST_RADIUS_CM: u32 = 50;

/// The smallest changes that would do, each alone; `None` and `false` where that kind does
/// not help.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedies {
    /// So much more run-off all round, metres, to a centimetre.
    pub run_off_m: Option<f64>,
    /// Circles of at most this radius to both sides, metres, to a centimetre.
    pub radius_m: Option<f64>,
    /// Leave to reverse.
    pub reversing: bool,
    /// Without this obstacle: the corner of it that is nearest to the end. Sought only where
    /// nothing else helps.
    pub obstacle: Option<Xy>,
}

/// What would let a machine leave an end (or come in at it) with at most `most_m` of
/// shortening.
///
/// Run-off and radius are taken to help ever more the more they change; where an obstacle
/// makes that untrue, what is told does help, but less might too.
#[must_use]
pub fn remedies(
    terrain: &Terrain,
    pitch: &Polygon<f64>,
    machine: &Machine,
    end: Pose,
    used: Use,
    most_m: f64,
) -> Remedies {
    let helps = |terrain: &Terrain, machine: &Machine| {
        way_out(terrain, machine, end, used, most_m).is_some()
    };
    // What a single wall asks for is near the truth, and each try takes long.
    let guess_cm = growth_by_walls_m(terrain, machine, end, used) * 100.0;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "saturates, and is bounded"
    )]
    let guess_cm = (guess_cm - 1e-5).ceil() as u32;
    let run_off_m = least_near(guess_cm, MOST_GROWTH_CM, |growth_cm| {
        let wider = terrain.wider(growth_cm, || {
            Terrain::new(&wider(terrain.allowed(), metres(growth_cm)), pitch)
        });
        helps(&wider, machine)
    });
    let radii = machine.radii;
    let greatest_cm = (radii.left_m.max(radii.right_m) * 100.0).ceil();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "saturates, and is bounded"
    )]
    let greatest_cm = (greatest_cm as u32).min(100_000);
    let shrink_cm = greatest_cm.saturating_sub(LEAST_RADIUS_CM);
    let radius_m = least(shrink_cm, |by_cm| {
        let radius_m = metres(greatest_cm - by_cm);
        let tighter = Machine {
            radii: Radii {
                left_m: radii.left_m.min(radius_m),
                right_m: radii.right_m.min(radius_m),
            },
            ..*machine
        };
        helps(terrain, &tighter)
    });
    let reverser = Machine {
        can_reverse: true,
        ..*machine
    };
    let reversing = !machine.can_reverse && helps(terrain, &reverser);
    let mut found = Remedies {
        run_off_m: run_off_m.map(metres),
        radius_m: radius_m.map(|by_cm| metres(greatest_cm - by_cm)),
        reversing,
        obstacle: None,
    };
    if found.run_off_m.is_none() && found.radius_m.is_none() && !reversing {
        found.obstacle = obstacles(terrain.allowed(), end)
            .into_iter()
            .find(|obstacle| helps(&Terrain::new(&obstacle.without, pitch), machine))
            .map(|obstacle| obstacle.near);
    }
    found
}

fn metres(cm: u32) -> f64 {
    f64::from(cm) / 100.0
}

/// The least number from 1 to `most` that does, by bisection; `None` where `most` does not.
fn least(most: u32, does: impl Fn(u32) -> bool) -> Option<u32> {
    if most == 0 || !does(most) {
        return None;
    }
    Some(between(0, most, does))
}

/// The same from a guess on: in steps that double, up or down, then by bisection.
fn least_near(guess: u32, most: u32, does: impl Fn(u32) -> bool) -> Option<u32> {
    let guess = guess.clamp(1, most);
    let mut step = 1;
    if does(guess) {
        let mut does_it = guess;
        loop {
            let below = does_it.saturating_sub(step);
            if below == 0 || !does(below) {
                return Some(between(below, does_it, does));
            }
            does_it = below;
            step *= 2;
        }
    }
    let mut fails = guess;
    while fails < most {
        let above = most.min(fails + step);
        if does(above) {
            return Some(between(fails, above, does));
        }
        fails = above;
        step *= 2;
    }
    None
}

/// The least number that does, above one that fails, up to one that does.
fn between(mut fails: u32, mut does_it: u32, does: impl Fn(u32) -> bool) -> u32 {
    while does_it - fails > 1 {
        let middle = fails + (does_it - fails) / 2;
        if does(middle) {
            does_it = middle;
        } else {
            fails = middle;
        }
    }
    does_it
}

/// Ground whose outer walls stand farther out by `by_m`; what lies in it stays.
fn wider(ground: &MultiPolygon<f64>, by_m: f64) -> MultiPolygon<f64> {
    let outer = ground
        .iter()
        .map(|polygon| Polygon::new(polygon.exterior().clone(), Vec::new()));
    let holes = ground.iter().flat_map(|polygon| polygon.interiors());
    let holes = holes.map(|hole| Polygon::new(hole.clone(), Vec::new()));
    region::difference(
        &region::outset(&MultiPolygon(outer.collect()), by_m),
        &MultiPolygon(holes.collect()),
    )
}

struct Obstacle {
    near: Xy,
    without: MultiPolygon<f64>,
}

/// The holes of the ground, the nearest to a pose first, and the ground without each.
fn obstacles(ground: &MultiPolygon<f64>, pose: Pose) -> Vec<Obstacle> {
    let distance = |corner: &Xy| (corner.x - pose.at.x).hypot(corner.y - pose.at.y);
    let mut found: Vec<(f64, Obstacle)> = Vec::new();
    for (index, polygon) in ground.iter().enumerate() {
        for (hole_index, hole) in polygon.interiors().iter().enumerate() {
            let nearest = hole
                .coords()
                .min_by(|a, b| distance(a).total_cmp(&distance(b)));
            let Some(&near) = nearest else { continue };
            let mut without = ground.clone();
            let mut holes = polygon.interiors().to_vec();
            holes.remove(hole_index);
            without.0[index] = Polygon::new(polygon.exterior().clone(), holes);
            found.push((distance(&near), Obstacle { near, without }));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, obstacle)| obstacle).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::machine::Body;
    use super::*;
    use approx::assert_abs_diff_eq;
    use geo::{LineString, polygon};

    fn machine() -> Machine {
        Machine {
            radii: Radii::both(2.9),
            body: Body {
                width_m: 1.5,
                ahead_m: 2.4,
                behind_m: 0.9,
            },
            tool_width_m: 1.8,
            reach_m: 1.6,
            can_reverse: false,
        }
    }

    fn pitch() -> Polygon<f64> {
        polygon![(x: -52.5, y: -34.0), (x: 52.5, y: -34.0), (x: 52.5, y: 34.0), (x: -52.5, y: 34.0)]
    }

    fn stadium(holes: Vec<LineString<f64>>) -> Terrain {
        let walls = LineString::from(vec![
            (-56.5, -38.0),
            (56.5, -38.0),
            (56.5, 38.0),
            (-56.5, 38.0),
        ]);
        Terrain::new(&MultiPolygon(vec![Polygon::new(walls, holes)]), &pitch())
    }

    /// Square at a wall 4 m off: forwards the machine needs hypot(r + b/2, a) + reach.
    #[test]
    fn one_wall_has_closed_remedies() {
        let end = Pose::new(52.5 + 1.6, 0.0, 0.0);
        let found = remedies(
            &stadium(Vec::new()),
            &pitch(),
            &machine(),
            end,
            Use::Leaves,
            0.0,
        );
        let need_m = 3.65_f64.hypot(2.4) + 1.6;
        assert_abs_diff_eq!(
            found.run_off_m.unwrap(),
            ((need_m - 4.0) * 100.0).ceil() / 100.0,
            epsilon = 1e-9
        );
        // The nose alone reaches the wall at 2.4 m: no radius would do.
        assert_eq!(found.radius_m, None);
        assert!(found.reversing);
        assert_eq!(found.obstacle, None);
    }

    #[test]
    fn from_any_guess_the_least_is_found() {
        for least_m in 1..=40 {
            for guess in 0..=50 {
                let found = least_near(guess, 40, |number| number >= least_m);
                assert_eq!(found, Some(least_m), "from {guess}");
            }
        }
        assert_eq!(least_near(7, 40, |_| false), None);
    }

    #[test]
    fn a_tighter_circle_may_do() {
        let end = Pose::new(52.5 + 0.6, 0.0, 0.0);
        let short = Machine {
            reach_m: 0.6,
            ..machine()
        };
        let found = remedies(
            &stadium(Vec::new()),
            &pitch(),
            &short,
            end,
            Use::Leaves,
            0.0,
        );
        // hypot(r + 0.75, 2.4) = 3.4
        let radius_m = (3.4_f64 * 3.4 - 2.4 * 2.4).sqrt() - 0.75;
        assert_abs_diff_eq!(
            found.radius_m.unwrap(),
            (radius_m * 100.0).floor() / 100.0,
            epsilon = 1e-9
        );
    }

    #[test]
    fn where_a_goal_stands_in_front_the_goal_is_the_answer() {
        let goal = LineString::from(vec![(53.0, -4.0), (56.0, -4.0), (56.0, 4.0), (53.0, 4.0)]);
        let terrain = stadium(vec![goal]);
        let end = Pose::new(52.5 + 1.6, 0.0, 0.0);
        let found = remedies(&terrain, &pitch(), &machine(), end, Use::Leaves, 2.0);
        assert_eq!(
            (found.run_off_m, found.radius_m, found.reversing),
            (None, None, false)
        );
        assert_eq!(found.obstacle.map(|near| near.x), Some(53.0));
    }
}
