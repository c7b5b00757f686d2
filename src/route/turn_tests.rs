//! Tests of `turn`, with `bound` and `refine`.
#![allow(clippy::unwrap_used)]

use std::f64::consts::{PI, TAU};

use super::super::bound::{least_cost_m, wall_free_m};
use super::super::machine::Body;
use super::super::path::Bend;
use super::super::way_out::{Use, WayOut, way_out};
use super::*;
use approx::assert_abs_diff_eq;
use geo::{LineString, MultiPolygon, Polygon, polygon};
use proptest::prelude::*;

const WEIGHTS: Weights = Weights {
    on_pitch: 3.0,
    change_m: 4.0,
};

fn machine(can_reverse: bool) -> Machine {
    Machine {
        radii: Radii {
            left_m: 2.9,
            right_m: 3.2,
        },
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

fn pitch() -> Polygon<f64> {
    polygon![(x: -20.0, y: -15.0), (x: 20.0, y: -15.0), (x: 20.0, y: 15.0), (x: -20.0, y: 15.0)]
}

fn ground(run_off_m: f64, holes: Vec<LineString<f64>>) -> Terrain {
    let (x, y) = (20.0 + run_off_m, 15.0 + run_off_m);
    let walls = LineString::from(vec![(-x, -y), (x, -y), (x, y), (-x, y)]);
    Terrain::new(&MultiPolygon(vec![Polygon::new(walls, holes)]), &pitch())
}

fn post(x: f64, y: f64) -> LineString<f64> {
    LineString::from(vec![
        (x - 0.5, y - 0.5),
        (x + 0.5, y - 0.5),
        (x + 0.5, y + 0.5),
        (x - 0.5, y + 0.5),
    ])
}

/// The ends of two passes along: one driven to the right, `lines` further on one to the left.
fn ends(terrain: &Terrain, machine: &Machine, y: f64, further_m: f64) -> (WayOut, WayOut) {
    let lifted = Pose::new(20.0, y, 0.0).ahead(machine.reach_m);
    let lowered = Pose::new(20.0, y + further_m, PI).ahead(machine.reach_m);
    let out = way_out(terrain, machine, lifted, Use::Leaves, 30.0).unwrap();
    let into = way_out(terrain, machine, lowered, Use::ComesIn, 30.0).unwrap();
    (out, into)
}

fn end(pose: Pose, way: Option<&Path>) -> End<'_> {
    End {
        pose,
        way,
        of_work: true,
    }
}

fn assert_drivable(turn: &Turn, from: Pose, to: Pose, machine: &Machine, terrain: &Terrain) {
    assert_eq!(turn.path.start, from);
    let last = turn.path.end();
    assert!(last.distance_m(to) < 1e-6, "{last:?} {to:?}");
    assert!(last.heading_difference_rad(to) < 1e-6);
    assert!(terrain.allows_pose(machine, from));
    assert!(terrain.allows(machine, from, &turn.path.pieces));
    assert_eq!(turn.path.radii, machine.radii);
    if !machine.can_reverse {
        assert!(turn.path.pieces.iter().all(|piece| !piece.reverse));
    }
    let on_pitch_m = terrain.on_pitch_m(machine.radii, from, &turn.path.pieces);
    #[expect(clippy::cast_precision_loss, reason = "few")]
    let changes_m = WEIGHTS.change_m * turn.changes as f64;
    assert_abs_diff_eq!(
        turn.cost_m,
        turn.path.length_m() + 2.0 * on_pitch_m + changes_m,
        epsilon = 1e-9
    );
}

#[test]
fn turns_between_walls_can_be_driven_and_refining_never_costs() {
    for can_reverse in [false, true] {
        let machine = machine(can_reverse);
        for (run_off_m, holes) in [
            (3.0, vec![]),
            (5.0, vec![post(23.0, 0.0), post(22.0, -6.0)]),
            (9.0, vec![]),
        ] {
            let terrain = ground(run_off_m, holes);
            for (y, further_m) in [(-4.0, 1.7), (0.0, 3.4), (2.0, 8.5), (-13.0, 1.7)] {
                let (out, into) = ends(&terrain, &machine, y, further_m);
                let from = end(out.path.start, Some(&out.path));
                let to = end(into.path.end(), Some(&into.path));
                let best = best_turn(&from, &to, &machine, &terrain, &WEIGHTS).unwrap();
                assert_drivable(&best, from.pose, to.pose, &machine, &terrain);
                let bound_m = least_cost_m(&from, &to, &machine, &terrain, &WEIGHTS);
                assert!(bound_m <= best.cost_m + 1e-6, "{bound_m} {}", best.cost_m);
                if let Some(quick) = quick_turn(&from, &to, &machine, &terrain, &WEIGHTS) {
                    assert_drivable(&quick, from.pose, to.pose, &machine, &terrain);
                    assert!(best.cost_m <= quick.cost_m + 1e-9);
                }
                let again = best_turn(&from, &to, &machine, &terrain, &WEIGHTS).unwrap();
                assert_eq!(again, best);
            }
        }
    }
}

#[test]
fn without_walls_and_weights_the_turn_is_the_shortest_path() {
    let machine = machine(false);
    let terrain = ground(60.0, Vec::new());
    let plain = Weights {
        on_pitch: 1.0,
        change_m: 0.0,
    };
    for (x, y, heading_rad) in [
        (21.6, 3.4, PI),
        (21.6, 1.7, PI),
        (0.0, 9.0, 1.0),
        (-14.0, -3.0, 5.0),
    ] {
        let from = end(Pose::new(21.6, 0.0, 0.0), None);
        let to = end(Pose::new(x, y, heading_rad), None);
        let turn = best_turn(&from, &to, &machine, &terrain, &plain).unwrap();
        assert_abs_diff_eq!(
            turn.cost_m,
            wall_free_m(&from, &to, &machine, 0.0),
            epsilon = 1e-9
        );
    }
}

#[test]
fn where_the_machine_cannot_stand_or_get_there_is_no_turn() {
    let terrain = ground(3.0, Vec::new());
    for can_reverse in [false, true] {
        let machine = machine(can_reverse);
        let inside = end(Pose::new(0.0, 0.0, 0.0), None);
        for bad in [
            Pose::new(22.5, 0.0, 0.0),
            Pose::new(40.0, 0.0, 0.0),
            Pose::new(f64::NAN, 0.0, 0.0),
        ] {
            let bad = end(bad, None);
            assert_eq!(best_turn(&inside, &bad, &machine, &terrain, &WEIGHTS), None);
            assert_eq!(
                quick_turn(&bad, &inside, &machine, &terrain, &WEIGHTS),
                None
            );
        }
        // Two rooms.
        let island = MultiPolygon(vec![
            polygon![(x: -30.0, y: -9.0), (x: -10.0, y: -9.0), (x: -10.0, y: 9.0), (x: -30.0, y: 9.0)],
            polygon![(x: 10.0, y: -9.0), (x: 30.0, y: -9.0), (x: 30.0, y: 9.0), (x: 10.0, y: 9.0)],
        ]);
        let rooms = Terrain::new(&island, &pitch());
        let (from, to) = (
            end(Pose::new(-20.0, 0.0, 0.0), None),
            end(Pose::new(20.0, 0.0, 0.0), None),
        );
        assert_eq!(best_turn(&from, &to, &machine, &rooms, &WEIGHTS), None);
    }
}

#[test]
fn reversing_counts_the_changes_at_its_joints() {
    // Nose to the wall: only back is free, so the turn begins with a change.
    let machine = machine(true);
    let terrain = ground(4.0, Vec::new());
    let from = end(Pose::new(21.6, 0.0, 0.0), None);
    let to = end(Pose::new(18.4, 1.7, PI), None);
    let turn = best_turn(&from, &to, &machine, &terrain, &WEIGHTS).unwrap();
    assert_drivable(&turn, from.pose, to.pose, &machine, &terrain);
    assert!(turn.path.pieces[0].reverse);
    assert!(turn.changes >= 2 && turn.changes.is_multiple_of(2));
    // From an entrance nothing joins before: one change less.
    let loose = End {
        of_work: false,
        ..from
    };
    let freed = best_turn(&loose, &to, &machine, &terrain, &WEIGHTS).unwrap();
    assert!(freed.cost_m <= turn.cost_m - WEIGHTS.change_m + 1e-6);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// The first answer comes from candidates that do not know the ground: it never rises when
    /// ground grows, by a wider run-off or without a post.
    #[test]
    fn a_first_answer_never_rises_when_ground_grows(
        y in -12.0..8.0_f64, further_m in 1.0..9.0_f64, posts in prop::collection::vec((18.0..24.0_f64, -12.0..12.0_f64), 1..4),
        can_reverse in any::<bool>(),
    ) {
        let machine = machine(can_reverse);
        let holes: Vec<_> = posts.iter().map(|&(x, y)| post(x, y)).collect();
        let from = end(Pose::new(18.6, y, 0.0), None);
        let to = end(Pose::new(18.9, y + further_m, PI), None);
        let cost = |terrain: &Terrain| quick_turn(&from, &to, &machine, terrain, &WEIGHTS).map_or(f64::INFINITY, |turn| turn.cost_m);
        let tight = cost(&ground(4.0, holes.clone()));
        let fewer = cost(&ground(4.0, holes[1..].to_vec()));
        let wider = cost(&ground(6.5, holes));
        prop_assert!(fewer <= tight + 1e-6 && wider <= tight + 1e-6, "{tight} {fewer} {wider}");
    }

    /// No path costs less than the bound: here random drives that end where they end.
    #[test]
    fn no_drive_beats_the_bound(
        x in -25.0..25.0_f64, y in -18.0..18.0_f64, heading_rad in 0.0..TAU,
        drive in prop::collection::vec((0..3_usize, -9.0..9.0_f64), 1..7),
        can_reverse in any::<bool>(),
    ) {
        let machine = machine(can_reverse);
        let terrain = ground(60.0, Vec::new());
        let pieces: Vec<Piece> = drive.iter().map(|&(bend, way_m)| Piece {
            bend: [Bend::Left, Bend::Straight, Bend::Right][bend],
            length_m: way_m.abs(),
            reverse: can_reverse && way_m < 0.0,
        }).collect();
        let path = Path::new(Pose::new(x, y, heading_rad), machine.radii, pieces);
        let (from, to) = (end(path.start, None), end(path.end(), None));
        let on_pitch_m = terrain.on_pitch_m(machine.radii, path.start, &path.pieces);
        let changes = changes(&path.pieces, true, true);
        #[expect(clippy::cast_precision_loss, reason = "few")]
        let cost_m = path.length_m() + 2.0 * on_pitch_m + WEIGHTS.change_m * changes as f64;
        let bound_m = least_cost_m(&from, &to, &machine, &terrain, &WEIGHTS);
        prop_assert!(bound_m <= cost_m + 1e-6, "{bound_m} {cost_m}");
        prop_assert!(wall_free_m(&from, &to, &machine, WEIGHTS.change_m) <= cost_m + 1e-6);
    }
}

/// Where an arc beside a change was the longer way round, whether the shorter one was tried hung on
/// the best turn so far.
#[test]
fn a_shorter_arc_beside_a_change_is_tried_whatever_was_found_before() {
    let machine = machine(true);
    let y = -4.171_512_712_011_179;
    let from = end(Pose::new(18.6, y, 0.0), None);
    let to = end(Pose::new(18.9, y + 7.587_715_526_060_312, PI), None);
    let cost_m = |run_off_m: f64| {
        let terrain = ground(run_off_m, vec![post(21.009_013_967_897_257, 0.0)]);
        let turn = quick_turn(&from, &to, &machine, &terrain, &WEIGHTS).unwrap();
        turn.cost_m
    };
    let (tight_m, wider_m) = (cost_m(4.0), cost_m(6.5));
    assert!(wider_m <= tight_m + 1e-6, "{wider_m} {tight_m}");
}

/// Both ends lie beside the pitch, at its long sides; between them is its short side.
#[test]
fn a_long_way_goes_round_the_pitch_and_not_over_it() {
    let terrain = ground(5.0, Vec::new());
    let from = end(Pose::new(-15.0, -17.4, PI), None);
    let to = end(Pose::new(-10.0, 17.4, 0.0), None);
    for can_reverse in [false, true] {
        let machine = machine(can_reverse);
        let quick = quick_turn(&from, &to, &machine, &terrain, &WEIGHTS).unwrap();
        let best = best_turn(&from, &to, &machine, &terrain, &WEIGHTS).unwrap();
        assert_drivable(&best, from.pose, to.pose, &machine, &terrain);
        assert!(quick.on_pitch_m > 10.0, "{quick:?}");
        assert!(best.on_pitch_m < 2.0, "{best:?}");
    }
}
