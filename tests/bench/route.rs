//! How long do turns, the table of links, the order and its bound take? A whole pitch between
//! walls, 4 m off its lines, with 72 passes at 45 degrees; ground and passes are made before
//! the clock starts.
//!
//! Each answer is checked first, so that nobody measures a fast mistake.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::path::Path;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use swardlane::job::model::{Direction, Effort, Order};
use swardlane::passes::DirectionPasses;
use swardlane::plan::plan;
use swardlane::replan::Replanner;
use swardlane::route::between::Drive;
use swardlane::route::dubins;
use swardlane::route::gates::Gate;
use swardlane::route::links::Links;
use swardlane::route::machine::Machine;
use swardlane::route::order::{Begin, Costs, Place, look_over, solve};
use swardlane::route::pose::Pose;
use swardlane::route::reeds_shepp::{self, Changes};
use swardlane::route::runs::{self, Run};
use swardlane::route::search::search;
use swardlane::route::terrain::Terrain;
use swardlane::route::turn::{End, Weights, best_turn, quick_turn};
use swardlane::route::{bound, drive};
use swardlane::space::Angle;

/// Links between lines fewer than this apart, and how much dearer than a searched turn one that
/// follows another may be.
const NEAR_LINES: usize = 12;
const SLACK: f64 = 0.3;

/// Everything that is known before the first turn is sought.
struct Prepared {
    machine: Machine,
    terrain: Terrain,
    weights: Weights,
    places: Vec<Place>,
    runs: Vec<Option<Run>>,
}

impl Prepared {
    fn new() -> Self {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/jobs/walls");
        let plan = plan(&swardlane::job::load(&folder).unwrap()).unwrap();
        let work = &plan.operations[0];
        let terrain = drive::terrain(&plan.ground);
        let machine = drive::machine(&work.operation).unwrap();
        let passes = &work.directions[0].passes;
        let (places, runs) = parts(passes, &machine, &terrain);
        Self {
            weights: Weights {
                on_pitch: work.operation.turn_on_pitch_cost,
                change_m: 5.0,
            },
            machine,
            terrain,
            places,
            runs,
        }
    }

    const fn drive(&self) -> Drive<'_> {
        Drive {
            machine: &self.machine,
            terrain: &self.terrain,
            weights: &self.weights,
            refines: true,
        }
    }

    fn links(&self) -> Links<'_> {
        let gates = [Gate::Free, Gate::Free];
        Links::new(
            self.drive(),
            self.places.clone(),
            self.runs.clone(),
            gates,
            usize::MAX,
        )
    }

    /// The ends of a link from a part to the next, driven the other way.
    fn ends(&self, part: usize) -> (End<'_>, End<'_>) {
        let from = self.runs[2 * part].as_ref().unwrap();
        let to = self.runs[2 * part + 3].as_ref().unwrap();
        let end = |pose, way| End {
            pose,
            way: Some(way),
            of_work: true,
        };
        (
            end(from.lifted, &from.way_out.path),
            end(to.lowered, &to.way_in.path),
        )
    }
}

fn parts(
    passes: &DirectionPasses,
    machine: &Machine,
    terrain: &Terrain,
) -> (Vec<Place>, Vec<Option<Run>>) {
    let ways = runs::both_ways(passes, machine, terrain);
    let places = ways.iter().map(|(id, _)| Place {
        offset_m: passes.passes[id.pass].number as f64,
        position_m: 0.0,
    });
    let places = places.collect();
    let runs = ways.into_iter().flat_map(|(_, ways)| ways.map(Result::ok));
    (places, runs.collect())
}

fn turns(criterion: &mut Criterion) {
    let forwards = Prepared::new();
    let radii = forwards.machine.radii;
    let (from, to) = forwards.ends(30);
    let (a, b) = (from.pose, to.pose);
    assert!(dubins::shortest(a, b, radii).length_m() > 5.0);
    criterion.bench_function("a word forwards", |bencher| {
        bencher.iter(|| dubins::shortest(black_box(a), black_box(b), radii));
    });
    let changes = Changes {
        each_m: 5.0,
        forwards_before: true,
        forwards_after: true,
    };
    let word = |a: Pose, b: Pose| reeds_shepp::cheapest(a, b, radii, &changes);
    assert!(word(a, b).length_m() <= dubins::shortest(a, b, radii).length_m() + 1e-9);
    criterion.bench_function("a word with reversing", |bencher| {
        bencher.iter(|| word(black_box(a), black_box(b)));
    });

    let reversing = Prepared {
        machine: Machine {
            can_reverse: true,
            ..forwards.machine
        },
        ..Prepared::new()
    };
    for (name, prepared) in [("forwards", &forwards), ("with reversing", &reversing)] {
        let (from, to) = prepared.ends(30);
        let task = (&prepared.machine, &prepared.terrain, &prepared.weights);
        let best = best_turn(&from, &to, task.0, task.1, task.2).unwrap();
        let quick = quick_turn(&from, &to, task.0, task.1, task.2).unwrap();
        let least_m = bound::least_cost_m(&from, &to, task.0, task.1, task.2);
        assert!(least_m <= best.cost_m + 1e-9 && best.cost_m <= quick.cost_m + 1e-9);
        criterion.bench_function(&format!("a turn between walls {name}, quick"), |bencher| {
            bencher.iter(|| quick_turn(&from, &to, task.0, task.1, task.2));
        });
        criterion.bench_function(&format!("a turn between walls {name}"), |bencher| {
            bencher.iter(|| best_turn(&from, &to, task.0, task.1, task.2));
        });
        criterion.bench_function(&format!("the least cost of a turn {name}"), |bencher| {
            bencher.iter(|| bound::least_cost_m(&from, &to, task.0, task.1, task.2));
        });
    }
}

fn orders(criterion: &mut Criterion) {
    let prepared = Prepared::new();
    let mut group = criterion.benchmark_group("72 passes between walls");
    group.sample_size(10);
    assert_eq!(prepared.places.len(), 72);
    group.bench_function("table of least costs", |bencher| {
        bencher.iter(|| prepared.links());
    });
    group.bench_function("links between near lines, roughly", |bencher| {
        bencher.iter_batched(
            || prepared.links(),
            |mut links| links.rough(NEAR_LINES, SLACK, [1, 1]),
            BatchSize::PerIteration,
        );
    });
    for (name, effort) in [("quick", Effort::Quick), ("normal", Effort::Normal)] {
        group.bench_function(format!("search, {name}"), |bencher| {
            bencher.iter_batched(
                || prepared.links(),
                |mut links| search(&mut links, Order::Shortest, effort, None).unwrap(),
                BatchSize::PerIteration,
            );
        });
    }
    let table = searched(&prepared);
    let solved = solve(&table, Effort::Normal, None).unwrap();
    assert!(table.is_complete(&solved.order) && solved.lower_bound <= solved.cost);
    group.bench_function("order and bound on that table, normal", |bencher| {
        bencher.iter(|| solve(&table, Effort::Normal, None).unwrap());
    });
    group.bench_function("bound on that table, narrow", |bencher| {
        bencher.iter(|| look_over(&table, Some(&solved.order), Begin::Anew).unwrap());
    });
    group.finish();
}

/// The table as a search leaves it.
fn searched(prepared: &Prepared) -> Costs {
    let mut links = prepared.links();
    let found = search(&mut links, Order::Shortest, Effort::Normal, None).unwrap();
    assert!(found.lower_bound.unwrap() <= found.cost);
    links.table().lowered()
}

/// First answers to changes of one direction of the stadium: the aim is 100 ms each.
fn changes(criterion: &mut Criterion) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-pitches/stadium");
    let mut job = swardlane::job::load(&folder).unwrap();
    job.settings.routes = true;
    let planner = Replanner::new(job).unwrap();
    let at = |id: &str| {
        let operations = &planner.job().operations;
        operations.iter().position(|work| work.id == id).unwrap()
    };
    let mut group = criterion.benchmark_group("first answer, stadium");
    group.sample_size(20);
    for id in ["strip", "clean", "roll"] {
        let mut job = planner.job().clone();
        job.operations[at(id)].implement.working_width_m -= 0.1;
        group.bench_function(format!("another width, {id}"), |bencher| {
            bencher.iter_batched(
                || (planner.clone(), job.clone()),
                |(mut planner, job)| {
                    planner.change(job).unwrap();
                    assert!(planner.plan().operations[at(id)].route.is_some());
                    planner
                },
                BatchSize::PerIteration,
            );
        });
    }
    let mut job = planner.job().clone();
    job.operations[at("work-in-sand")].directions[2] = Direction::Angle(Angle::from_deg(20.0));
    group.bench_function("another angle, last direction of work-in-sand", |bencher| {
        bencher.iter_batched(
            || (planner.clone(), job.clone()),
            |(mut planner, job)| {
                planner.change(job).unwrap();
                planner
            },
            BatchSize::PerIteration,
        );
    });
    group.finish();
}

criterion_group!(benches, turns, orders, changes);
criterion_main!(benches);
