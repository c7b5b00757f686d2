//! A plan that is changed and improved, seen from outside: what stays, what is answered at once,
//! and what further calls make of it.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::fmt::Write as _;

use geo::{Distance, Euclidean, Point};
use swardlane::formats::summary::Summary;
use swardlane::job::model::{Direction, Effort, Job, Operation, Role, RunOff, Start};
use swardlane::plan::{OperationPlan, Plan, plan};
use swardlane::replan::Replanner;
use swardlane::route::legs::Route;
use swardlane::route::memory::Level;
use swardlane::space::{Angle, Xy};

use crate::support::{brushing, drawn_job, rectangle_job, small_tractor};

const QUICK: Option<Level> = Some(Level::Worked(Effort::Quick));
const FIRST: Option<Level> = Some(Level::First);

fn brush(id: &str, directions: Vec<Direction>) -> Operation {
    let mut operation = brushing(1.6, 0.0);
    id.clone_into(&mut operation.id);
    operation.directions = directions;
    operation.implement.reach_m = 1.0;
    operation.implement.tractor = Some(small_tractor());
    operation
}

/// Two operations on a small pitch, one of them in two directions.
fn job() -> Job {
    let operations = vec![
        brush("one", vec![Direction::Along]),
        brush("two", vec![Direction::Along, Direction::DiagonalLeft]),
    ];
    let mut job = rectangle_job(50.0, 32.0, operations);
    job.pitch.run_off = Some(RunOff::ByLine {
        touch_m: 4.0,
        goal_m: 4.0,
    });
    job.settings.routes = true;
    job.settings.effort = Effort::Normal;
    job
}

fn changed(planner: &Replanner, change: impl FnOnce(&mut Job)) -> Replanner {
    let mut after = planner.clone();
    let mut job = planner.job().clone();
    change(&mut job);
    after.change(job).unwrap();
    after
}

fn levels(planner: &Replanner) -> Vec<Vec<Option<Level>>> {
    planner.levels().collect()
}

fn route(plan: &Plan, operation: usize) -> &Route {
    plan.operations[operation].route.as_ref().unwrap()
}

/// Each part is worked once, and legs join.
fn check_drive(work: &OperationPlan) {
    let route = work.route.as_ref().unwrap();
    let worked = route.legs.iter().filter_map(|leg| leg.worked);
    let worked: Vec<_> = worked.map(|w| (w.direction, w.pass, w.part)).collect();
    let once: BTreeSet<_> = worked.iter().collect();
    let parts: usize = work.directions.iter().map(|d| d.passes.part_count()).sum();
    assert_eq!((worked.len(), once.len()), (parts, parts));
    for pair in route.legs.windows(2) {
        assert!(pair[0].end.distance_m(pair[1].start) < 1e-3);
        assert!(pair[0].end.heading_difference_rad(pair[1].start) < 1e-4);
    }
}

/// All that is written of a plan, as text.
fn text(plan: &Plan) -> String {
    let mut text = Summary::of(plan, &[]).text().unwrap();
    for work in &plan.operations {
        write!(text, "{:?}", work.route).unwrap();
    }
    text
}

#[test]
fn what_is_not_changed_stays_as_it_is() {
    let planner = Replanner::new(job()).unwrap();
    assert_eq!(levels(&planner), [vec![QUICK], vec![QUICK, QUICK]]);
    let before = format!("{:?}", planner.plan().operations[1]);
    let wider = changed(&planner, |job| {
        job.operations[0].implement.working_width_m = 1.9;
    });
    assert_eq!(levels(&wider), [vec![FIRST], vec![QUICK, QUICK]]);
    assert_eq!(format!("{:?}", wider.plan().operations[1]), before);
    check_drive(&wider.plan().operations[0]);
    // What the drive does not hang on drives nothing anew.
    let fewer = changed(&planner, |job| job.crew.price_per_h = Some(30.0));
    assert_eq!(levels(&fewer), [vec![QUICK], vec![QUICK, QUICK]]);
    for (old, new) in planner
        .plan()
        .operations
        .iter()
        .zip(&fewer.plan().operations)
    {
        assert_eq!(format!("{:?}", old.route), format!("{:?}", new.route));
    }
}

#[test]
fn a_later_direction_leaves_the_ones_before_it_alone() {
    let planner = Replanner::new(job()).unwrap();
    let turned = changed(&planner, |job| {
        job.operations[1].directions[1] = Direction::Angle(Angle::from_deg(30.0));
    });
    assert_eq!(levels(&turned), [vec![QUICK], vec![QUICK, FIRST]]);
    check_drive(&turned.plan().operations[1]);
    let works = |planner: &Replanner| -> Vec<(usize, bool)> {
        let legs = route(planner.plan(), 1).legs.clone();
        let worked = legs.into_iter().filter_map(|leg| leg.worked);
        let first = worked.filter(|worked| worked.direction == 1);
        first.map(|worked| (worked.pass, worked.is_back)).collect()
    };
    assert_eq!(works(&planner), works(&turned));
}

/// Width, angle, start, obstacle, an operation more, one less: each is driven at once, and
/// improving ends with the job's effort everywhere, at no greater cost for the first direction of
/// an operation, near what a plan made by itself costs, and with a bound that is below it.
#[test]
fn each_change_is_driven_at_once_and_improves_to_the_effort_asked() {
    type Change = (&'static str, fn(&mut Job));
    let changes: [Change; 6] = [
        ("width", |job| {
            job.operations[0].implement.working_width_m = 2.0;
        }),
        ("angle", |job| {
            job.operations[0].directions[0] = Direction::Angle(Angle::from_deg(20.0));
        }),
        ("start", |job| {
            job.operations[0].start = Start::Line {
                from: Xy { x: 0.0, y: 0.3 },
                to: Xy { x: 10.0, y: 0.3 },
                between: false,
            };
        }),
        ("radius", |job| {
            let tractor = job.operations[0].implement.tractor.as_mut().unwrap();
            tractor.turn_radius_left_m = 2.8;
        }),
        ("more", |job| {
            job.operations.push(brush("three", vec![Direction::Across]));
        }),
        ("less", |job| {
            job.operations.remove(1);
        }),
    ];
    let planner = Replanner::new(job()).unwrap();
    for (name, change) in changes {
        let mut after = changed(&planner, change);
        after.plan().operations.iter().for_each(check_drive);
        let mut cost_s = route(after.plan(), 0).cost_s;
        let mut calls = 0;
        while after.improve().unwrap() {
            let now_s = route(after.plan(), 0).cost_s;
            assert!(now_s <= cost_s + 1e-9, "{name}: {now_s} after {cost_s}");
            cost_s = now_s;
            calls += 1;
            assert!(calls < 40, "{name}: improving goes on");
        }
        assert!(calls > 0);
        let goal = Some(Level::Worked(Effort::Normal));
        assert!(
            after.levels().flatten().all(|level| level == goal),
            "{name}"
        );
        let alone = plan(after.job()).unwrap();
        for (at, work) in after.plan().operations.iter().enumerate() {
            check_drive(work);
            let (found, fresh) = (route(after.plan(), at), route(&alone, at));
            assert!(found.lower_bound_s.unwrap() <= found.cost_s, "{name}");
            let share = found.cost_s / fresh.cost_s;
            assert!((0.95..1.05).contains(&share), "{name}: {share} of a plan's");
            // Bounds of the same parts: none is above what the other found.
            assert!(
                found.lower_bound_s.unwrap() <= fresh.cost_s * 1.002,
                "{name}"
            );
        }
    }
}

/// A post in the run-off, where the machine turned before.
#[test]
fn a_thing_that_is_put_up_is_driven_round_at_once() {
    const CLEARANCE_M: f64 = 0.3;
    const POST: (f64, f64) = (27.0, 4.0);
    let outline = [(-25.0, -16.0), (25.0, -16.0), (25.0, 16.0), (-25.0, 16.0)];
    let post = [-0.1, 0.1].map(|x| [-0.1, 0.1].map(|y| (POST.0 + x, POST.1 + y)));
    let post = vec![post[0][0], post[1][0], post[1][1], post[0][1]];
    let obstacle = Role::Obstacle {
        clearance_m: CLEARANCE_M,
    };
    let drawn = |things: &[(Role, Vec<(f64, f64)>)]| {
        let mut drawn = drawn_job(0.0, &outline, things, job().operations);
        drawn.settings = job().settings;
        drawn
    };
    // How near the middle of the rear axle comes to the post.
    let nearest_m = |planner: &Replanner| {
        let legs = route(planner.plan(), 0).legs.iter();
        let off_m = legs.map(|leg| Euclidean.distance(&leg.line, &Point::new(POST.0, POST.1)));
        off_m.fold(f64::INFINITY, f64::min)
    };
    let planner = Replanner::new(drawn(&[])).unwrap();
    assert!(nearest_m(&planner) < 0.9, "{}", nearest_m(&planner));
    let mut after = planner;
    after.change(drawn(&[(obstacle, post)])).unwrap();
    assert_eq!(levels(&after), [vec![FIRST], vec![FIRST, FIRST]]);
    // Half the body and the clearance.
    assert!(
        nearest_m(&after) > 0.6 + CLEARANCE_M,
        "{}",
        nearest_m(&after)
    );
    after.plan().operations.iter().for_each(check_drive);
}

#[test]
fn the_same_calls_give_the_same_bytes_with_one_thread_and_eight() {
    let session = || {
        let mut planner = Replanner::new(job()).unwrap();
        let mut texts = text(planner.plan());
        for width_m in [1.9, 1.7] {
            planner = changed(&planner, |job| {
                job.operations[1].implement.working_width_m = width_m;
            });
            texts += &text(planner.plan());
            planner.improve().unwrap();
            texts += &text(planner.plan());
        }
        texts
    };
    let texts = [1, 8].map(|threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        pool.build().unwrap().install(session)
    });
    assert!(texts[0].len() > 10_000);
    assert!(texts[0] == texts[1]);
}

/// What is pushed, and what is planned without its drive, has nothing to improve; improving ends.
#[test]
fn where_nothing_is_driven_nothing_is_improved() {
    let mut job = job();
    job.settings.effort = Effort::Quick;
    let planner = Replanner::new(job).unwrap();
    let mut pushed = changed(&planner, |job| {
        job.settings.effort = Effort::Normal;
        job.operations.truncate(1);
        job.operations[0].implement.tractor = None;
    });
    assert!(pushed.plan().operations[0].route.is_none());
    assert_eq!(levels(&pushed), [vec![]]);
    assert!(!pushed.improve().unwrap());
    let mut without = changed(&planner, |job| {
        job.settings.effort = Effort::Normal;
        job.settings.routes = false;
    });
    assert!(!without.improve().unwrap());
    assert!(
        without
            .plan()
            .operations
            .iter()
            .all(|work| work.route.is_none())
    );
    // And driven again.
    let again = changed(&without, |job| job.settings.routes = true);
    assert_eq!(levels(&again), [vec![QUICK], vec![QUICK, QUICK]]);
}

#[test]
fn a_change_that_cannot_be_planned_leaves_all_as_it_was() {
    let mut planner = Replanner::new(job()).unwrap();
    let before = text(planner.plan());
    let mut job = planner.job().clone();
    job.operations[0].zones = vec!["no-such-zone".to_owned()];
    assert!(planner.change(job).is_err());
    assert_eq!(text(planner.plan()), before);
    assert_eq!(levels(&planner), [vec![QUICK], vec![QUICK, QUICK]]);
    assert!(planner.improve().unwrap());
}
