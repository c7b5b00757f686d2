//! The drives of random small jobs against the exact best: on the very table of links that an
//! order was sought on, dynamic programming over subsets finds what no order beats.
//!
//! The programming here is written on its own, and is itself held against trying every order.

use swardlane::job::model::{
    Body, Direction, Effort, Job, Operation, Role, RunOff, Steering, Tractor,
};
use swardlane::plan::plan;
use swardlane::route::drive;
use swardlane::route::memory::Memory;
use swardlane::route::order::{Costs, FORBIDDEN};

use crate::support::{Chance, brushing, drawn_job};

/// How many jobs are tried.
const JOBS: usize = 300;

/// No job has more parts in a direction.
const MOST_PARTS: usize = 12;

/// The least cost of any order and ways of driving of the parts of a table.
fn best_of_subsets(costs: &Costs) -> i64 {
    let parts = costs.parts();
    let nodes = 2 * parts;
    // By set of parts driven, then by the node driven last.
    let mut least = vec![vec![FORBIDDEN; nodes]; 1 << parts];
    for node in 0..nodes {
        least[1 << (node / 2)][node] = costs.start(node);
    }
    for set in 1..1_usize << parts {
        for part in (0..parts).filter(|part| set & (1 << part) == 0) {
            let with = set | (1 << part);
            for to in [2 * part, 2 * part + 1] {
                let ways = (0..nodes).map(|from| least[set][from] + costs.cost(from, to));
                let cheapest = ways.min().unwrap();
                least[with][to] = least[with][to].min(cheapest);
            }
        }
    }
    let all = &least[(1 << parts) - 1];
    (0..nodes)
        .map(|node| all[node] + costs.end(node))
        .min()
        .unwrap()
}

/// The same by trying every order and every way.
fn best_of_all(costs: &Costs, driven: &mut Vec<usize>) -> i64 {
    if driven.len() == costs.parts() {
        return costs.order_cost(driven);
    }
    let mut best = i64::MAX;
    for node in 0..costs.nodes() {
        if driven.iter().all(|before| before / 2 != node / 2) {
            driven.push(node);
            best = best.min(best_of_all(costs, driven));
            driven.pop();
        }
    }
    best
}

/// A random job of one operation on a small ground: walls near or far, some with an obstacle,
/// an entrance, two directions, a tool that may reverse, unequal radii.
fn job(chance: &mut Chance) -> Job {
    let (half_length_m, half_width_m) = (chance.between(6.2, 16.0), chance.between(5.2, 10.0));
    let skew_m = chance.between(0.0, 1.5);
    let outline = [
        (-half_length_m, -half_width_m),
        (half_length_m, -half_width_m),
        (half_length_m - skew_m, half_width_m),
        (-half_length_m, half_width_m),
    ];
    let mut things = Vec::new();
    if chance.happens(0.3) {
        let (x, y) = (
            chance.between(-0.8, 0.8) * half_length_m,
            chance.between(-0.8, 0.8) * half_width_m,
        );
        let corners = vec![(x, y), (x + 0.6, y), (x + 0.6, y + 0.6), (x, y + 0.6)];
        let clearance_m = 0.3;
        things.push((Role::Obstacle { clearance_m }, corners));
    }
    if chance.happens(0.3) {
        let (x, y) = (-half_length_m - 1.2, -0.5 * half_width_m);
        let corners = vec![(x, y), (x + 0.4, y), (x + 0.4, y + 0.4), (x, y + 0.4)];
        things.push((Role::Entrance, corners));
    }
    let mut job = drawn_job(12.5, &outline, &things, vec![operation(chance)]);
    let run_off_m = chance.one_of(&[2.5, 3.0, 4.0, 6.0, 15.0]);
    job.pitch.run_off = Some(RunOff::ByLine {
        touch_m: run_off_m,
        goal_m: run_off_m + chance.one_of(&[0.0, 0.5]),
    });
    job
}

fn operation(chance: &mut Chance) -> Operation {
    let mut operation = brushing(chance.between(1.2, 3.2), 0.0);
    let all = [
        Direction::Along,
        Direction::Across,
        Direction::DiagonalLeft,
        Direction::CornerRight,
    ];
    let first = chance.one_of(&all);
    operation.directions = vec![first];
    let second = chance.one_of(&all);
    if chance.happens(0.25) && second != first {
        operation.directions.push(second);
    }
    operation.turn_on_pitch_cost = chance.one_of(&[1.0, 3.0]);
    operation.implement.reach_m = chance.one_of(&[0.0, 0.8, 1.2]);
    operation.implement.can_reverse = chance.happens(0.3);
    let radius_m = chance.between(1.5, 2.6);
    operation.implement.tractor = Some(Tractor {
        name: "small".to_owned(),
        turn_radius_left_m: radius_m,
        turn_radius_right_m: radius_m + chance.one_of(&[0.0, 0.0, 0.3]),
        body: Some(Body {
            width_m: 1.1,
            ahead_m: chance.between(1.2, 1.9),
            behind_m: 0.6,
        }),
        turn_speed_km_h: None,
        change_s: 3.0,
        track_width_m: 1.0,
        steering: Steering::Eye,
        steering_sd_m: None,
    });
    operation
}

/// What came of the directions of all jobs.
#[derive(Debug, Default)]
struct Tally {
    jobs: usize,
    directions: usize,
    best: usize,
    enumerated: usize,
    entrances: usize,
    things: usize,
    /// Those that cost less, ordered together, than one direction after another.
    together: usize,
}

/// Drives a job and checks each direction; `false` where it has too many parts, or no drive.
fn check(job: &Job, tally: &mut Tally) -> bool {
    let plan = plan(job).unwrap();
    let work = &plan.operations[0];
    let laid: Vec<_> = work.directions.iter().map(|d| d.passes.clone()).collect();
    if laid
        .iter()
        .any(|passes| !(2..=MOST_PARTS).contains(&passes.part_count()))
    {
        return false;
    }
    let terrain = drive::terrain(&plan.ground);
    let mut sum_cost = 0;
    let mut rows = Vec::new();
    let driven = drive::drive_seen(
        &work.operation,
        laid,
        (&plan.ground, &terrain),
        None,
        &mut Memory::new(Effort::Normal),
        &mut |_, links, found| {
            let table = links.table().lowered();
            assert_eq!(table.order_cost(&found.order), found.cost);
            let best = best_of_subsets(&table);
            if table.parts() <= 5 {
                assert_eq!(best_of_all(&table, &mut Vec::new()), best);
                tally.enumerated += 1;
            }
            let bound = found.lower_bound.unwrap();
            assert!(
                bound <= best && best <= found.cost,
                "{bound} {best} {}",
                found.cost
            );
            sum_cost += found.cost;
            rows.push(best == found.cost);
        },
    );
    let Some(route) = driven.route else {
        return false;
    };
    let speed_m_s = work.operation.implement.speed_km_h / 3.6;
    let alone_s = sum_cost as f64 / 1e4 / speed_m_s;
    assert!(route.lower_bound_s.unwrap() <= route.cost_s + 1e-9);
    if rows.len() == 1 {
        approx::assert_abs_diff_eq!(route.cost_s, alone_s, epsilon = 1e-6);
    } else {
        // Ordered together they cost no more than one after another.
        assert!(route.cost_s <= alone_s + 1e-6, "{} {alone_s}", route.cost_s);
        tally.together += usize::from(route.cost_s < alone_s - 1e-6);
    }
    tally.jobs += 1;
    tally.directions += rows.len();
    tally.best += rows.into_iter().filter(|is_best| *is_best).count();
    tally.entrances += usize::from(!plan.ground.entrances.is_empty());
    tally.things += usize::from(!plan.ground.kept.is_empty());
    true
}

#[test]
fn on_small_jobs_the_exact_best_lies_between_bound_and_cost() {
    let mut chance = Chance(1);
    let mut tally = Tally::default();
    let mut tried = 0;
    while tally.jobs < JOBS {
        tried += 1;
        assert!(tried < 5 * JOBS, "{tally:?}");
        check(&job(&mut chance), &mut tally);
    }
    assert!(tally.together >= 5, "{tally:?}");
    assert!(
        tally.enumerated >= 20 && tally.entrances >= 50 && tally.things >= 50,
        "{tally:?}"
    );
    // Nearly all are the very best: 346 of 346 when this was written.
    assert!(tally.best * 100 >= tally.directions * 95, "{tally:?}");
}
