//! The drive of an operation, seen from outside: what is driven, where, and what is promised
//! of its order.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;

use geo::{Distance, Euclidean, MultiPolygon, Point, Polygon, Rotate, Translate};
use swardlane::job::model::{Direction, Effort, Job, Lie, Operation, Order, RunOff};
use swardlane::plan::{OperationPlan, Plan, plan};
use swardlane::route::legs::{LegKind, Route};
use swardlane::route::pose::Pose;
use swardlane::space::Heading;

use crate::support::{CENTRE, brushing, rectangle_job, small_tractor};

/// A small training pitch with that much run-off all round, brushed in that direction by a
/// machine that may reverse or not.
fn planned(run_off_m: f64, direction: Direction, can_reverse: bool, effort: Effort) -> Plan {
    let mut operation = brushing(1.6, 0.0);
    operation.directions = vec![direction];
    operation.implement.reach_m = 1.0;
    operation.implement.can_reverse = can_reverse;
    operation.implement.tractor = Some(small_tractor());
    plan(&on_small_pitch(run_off_m, operation, effort)).unwrap()
}

fn on_small_pitch(run_off_m: f64, operation: Operation, effort: Effort) -> Job {
    let mut job = rectangle_job(40.0, 26.0, vec![operation]);
    job.pitch.run_off = Some(RunOff::ByLine {
        touch_m: run_off_m,
        goal_m: run_off_m,
    });
    job.settings.routes = true;
    job.settings.effort = effort;
    job
}

fn driven(plan: &Plan) -> (&OperationPlan, &Route) {
    let work = &plan.operations[0];
    (work, work.route.as_ref().unwrap())
}

/// Each part is worked once, and every leg begins where the one before it ended: the exact
/// poses within 1 mm and 0.01 degree, the lines as written within 1 mm.
fn check_joints(work: &OperationPlan, route: &Route) {
    let worked: Vec<_> = route.legs.iter().filter_map(|leg| leg.worked).collect();
    let once: BTreeSet<_> = worked
        .iter()
        .map(|w| (w.direction, w.pass, w.part))
        .collect();
    let parts: usize = work.directions.iter().map(|d| d.passes.part_count()).sum();
    assert_eq!((worked.len(), once.len()), (parts, parts));
    for pair in route.legs.windows(2) {
        let (before, after) = (&pair[0], &pair[1]);
        assert!(before.end.distance_m(after.start) < 1e-3);
        assert!(before.end.heading_difference_rad(after.start) < 0.01_f64.to_radians());
        let (last, first) = (before.line.0.last().unwrap(), after.line.0[0]);
        assert!((last.x - first.x).hypot(last.y - first.y) < 1e-3);
    }
    let sum_m: f64 = route.legs.iter().map(|leg| leg.length_m).sum();
    approx::assert_abs_diff_eq!(sum_m, route.length_m, epsilon = 1e-9);
}

/// The machine at a pose, as a polygon: body and tool.
fn machine_at(pose: Pose) -> [Polygon<f64>; 2] {
    let rectangle = |back_m: f64, front_m: f64, half_m: f64| {
        let shape = geo::Rect::new((back_m, -half_m), (front_m, half_m)).to_polygon();
        let turned = shape.rotate_around_point(pose.heading_rad.to_degrees(), Point::new(0.0, 0.0));
        turned.translate(pose.at.x, pose.at.y)
    };
    [
        rectangle(-0.7, 1.8, 0.6),
        rectangle(-1.0 - 1e-6, -1.0, 0.8 - 0.001),
    ]
}

/// Every 10 cm of every leg the whole machine is on allowed ground, and no leg bends more
/// than the radius allows.
fn check_ground(allowed: &MultiPolygon<f64>, route: &Route) {
    for leg in route.legs.iter().filter(|leg| leg.kind == LegKind::Turn) {
        let chords: Vec<_> = leg.line.lines().collect();
        for pair in chords.windows(2) {
            let turn = |line: &geo::Line<f64>| line.dy().atan2(line.dx());
            let bend = (turn(&pair[1]) - turn(&pair[0])).rem_euclid(std::f64::consts::TAU);
            let bend = bend.min(std::f64::consts::TAU - bend);
            let length_m = 0.5 * pair.iter().map(|l| l.dx().hypot(l.dy())).sum::<f64>();
            assert!(
                bend / length_m <= 1.02 / 2.2 + 1e-9,
                "{bend} over {length_m}"
            );
        }
        for chord in &chords {
            let length_m = chord.dx().hypot(chord.dy());
            let steps = (length_m / 0.1).ceil().max(1.0) as usize;
            let way = chord.dy().atan2(chord.dx());
            let nose = if leg.reverse {
                way + std::f64::consts::PI
            } else {
                way
            };
            for step in 0..=steps {
                let at = chord.start + chord.delta() * (step as f64 / steps as f64);
                for shape in machine_at(Pose {
                    at,
                    heading_rad: nose,
                }) {
                    for corner in &shape.exterior().0 {
                        // Chords lie up to 5 mm beside their arcs, and turn with them.
                        let off_m = Euclidean.distance(allowed, &Point(*corner));
                        assert!(off_m < 0.2, "{corner:?} is {off_m} m off");
                    }
                }
            }
        }
        for pose in [leg.start, leg.end] {
            for shape in machine_at(pose) {
                for corner in &shape.exterior().0 {
                    assert!(Euclidean.distance(allowed, &Point(*corner)) < 1e-6);
                }
            }
        }
    }
}

#[test]
fn with_room_a_drive_shortens_nothing_and_keeps_off_the_pitch() {
    let plan = planned(12.0, Direction::Along, false, Effort::Normal);
    let (work, route) = driven(&plan);
    check_joints(work, route);
    check_ground(&plan.ground.allowed, route);
    let parts = work.directions[0]
        .passes
        .passes
        .iter()
        .flat_map(|p| &p.parts);
    assert!(parts.into_iter().all(|part| part.shortened_m == 0.0));
    approx::assert_abs_diff_eq!(work.directions[0].coverage.missed_m2, 0.0, epsilon = 1e-6);
    // A machine lowers its tool on the line, so its axle has driven the reach over it: 1 m.
    let parts = work.directions[0].passes.part_count() as f64;
    let on_pitch_m = route.turn_on_pitch_m;
    assert!((0.0..=parts).contains(&on_pitch_m), "{on_pitch_m}");
    let gap = route.gap().unwrap();
    assert!((0.0..0.01).contains(&gap), "{gap}");
}

#[test]
fn between_near_walls_ends_are_shortened_told_and_still_driven() {
    let plan = planned(3.0, Direction::Along, false, Effort::Normal);
    let (work, route) = driven(&plan);
    check_joints(work, route);
    check_ground(&plan.ground.allowed, route);
    let passes = &work.directions[0].passes;
    let shortened: f64 = passes
        .passes
        .iter()
        .flat_map(|p| &p.parts)
        .map(|p| p.shortened_m)
        .sum();
    assert!(shortened > 1.0, "{shortened}");
    assert!(work.directions[0].coverage.missed_m2 > 1.0);
    let told = plan
        .warnings
        .iter()
        .find(|w| w.code.name() == "shortened")
        .unwrap();
    assert!(told.text.contains("perimeter round"), "{}", told.text);
    assert!(told.text.contains("more run-off"), "{}", told.text);
    let gap = route.gap().unwrap();
    assert!((0.0..0.1).contains(&gap), "{gap}");
}

#[test]
fn a_tool_that_may_reverse_loses_less_of_its_ends() {
    let sum = |can_reverse: bool| {
        let plan = planned(3.0, Direction::Along, can_reverse, Effort::Quick);
        let (work, route) = driven(&plan);
        check_joints(work, route);
        check_ground(&plan.ground.allowed, route);
        assert_eq!(route.lower_bound_s, None);
        let parts = work.directions[0]
            .passes
            .passes
            .iter()
            .flat_map(|p| &p.parts);
        parts.map(|part| part.shortened_m).sum::<f64>()
    };
    let (forwards, reversing) = (sum(false), sum(true));
    assert!(reversing < forwards, "{reversing} {forwards}");
}

/// A machine cannot turn from a narrow line into the next few: where links between lines far
/// enough apart are not worked out, orders are dear and bounds low (4.7 % apart here).
#[test]
fn narrow_lines_are_ordered_as_near_to_their_bound_as_wide_ones() {
    let mut operation = brushing(0.3, 0.0);
    operation.directions = vec![Direction::DiagonalLeft];
    operation.implement.tractor = Some(small_tractor());
    let mut job = rectangle_job(20.0, 12.0, vec![operation]);
    job.settings.routes = true;
    let plan = plan(&job).unwrap();
    let (work, route) = driven(&plan);
    check_joints(work, route);
    let (cost_s, bound_s) = (route.cost_s, route.lower_bound_s.unwrap());
    assert!(
        cost_s - bound_s <= 0.02 * cost_s,
        "{cost_s} s, at least {bound_s} s"
    );
}

#[test]
fn habits_cost_no_less_than_the_order_sought() {
    let cost = |order: Order| {
        let plan = planned_with_order(order);
        let (_, route) = driven(&plan);
        (route.cost_s, route.lower_bound_s.unwrap())
    };
    let (shortest, bound) = cost(Order::Shortest);
    for habit in [Order::Neighbour, Order::Lands] {
        let (by_habit, _) = cost(habit);
        assert!(by_habit >= bound - 1e-6);
        assert!(
            by_habit >= shortest - 1e-6,
            "{habit:?}: {by_habit} {shortest}"
        );
    }
}

fn planned_with_order(order: Order) -> Plan {
    let mut operation = brushing(1.6, 0.0);
    operation.order = order;
    operation.implement.tractor = Some(small_tractor());
    plan(&on_small_pitch(12.0, operation, Effort::Normal)).unwrap()
}

/// A job given by sizes is planned in metres of its pitch, wherever that lies.
#[test]
fn another_bearing_changes_no_byte_of_a_drive() {
    let at = |lie: Lie| {
        let mut operation = brushing(1.6, 0.0);
        operation.directions = vec![Direction::Along, Direction::DiagonalLeft];
        operation.implement.reach_m = 1.0;
        operation.implement.tractor = Some(small_tractor());
        let mut job = on_small_pitch(3.0, operation, Effort::Normal);
        job.pitch.lie = lie;
        let plan = plan(&job).unwrap();
        let (work, route) = driven(&plan);
        check_joints(work, route);
        format!("{route:?}")
    };
    let nowhere = |bearing_deg| Lie::Nowhere {
        bearing: Heading::from_deg(bearing_deg),
    };
    let here = |bearing_deg| Lie::Centre {
        centre: CENTRE,
        bearing: Heading::from_deg(bearing_deg),
    };
    let first = at(nowhere(0.0));
    assert!(first.len() > 10_000);
    for lie in [nowhere(217.3), here(0.0), here(12.5), here(301.0)] {
        assert_eq!(at(lie), first);
    }
}

#[test]
fn threads_change_no_byte_of_a_drive() {
    let line = |threads: usize| {
        let pool = rayon_pool(threads);
        pool(|| {
            let plan = planned(4.0, Direction::DiagonalLeft, false, Effort::Quick);
            let (_, route) = driven(&plan);
            format!("{:?}", route.legs)
        })
    };
    assert_eq!(line(1), line(4));
}

/// Runs something with that many worker threads.
fn rayon_pool(threads: usize) -> impl Fn(fn() -> String) -> String {
    move |work| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(work)
    }
}
