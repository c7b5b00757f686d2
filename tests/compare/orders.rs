//! Prints the directed tables of links that orders are sought on, as JSON for another solver:
//! `orders JOB…`; one line a direction, with our order's cost, bound and time on that table.
//!
//! Every link is worked out first, so that whatever order another solver finds could be
//! driven. Costs are whole tenths of a millimetre; -1 stands for a link that cannot be driven.
//! The time is that of ordering alone, from the table to the order and its bound, the least of
//! a few runs: seconds of the processor where the system tells them, for ordering runs on one
//! thread and the machine may have other work. `stages` are cost and time of lesser efforts, that
//! of `normal` the last: how soon an order of its cost is there.

use std::io::Write as _;
use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use serde_json::json;
use swardlane::job::model::{Effort, Operation};
use swardlane::plan::plan;
use swardlane::route::drive;
use swardlane::route::links::Links;
use swardlane::route::memory::Memory;
use swardlane::route::order::{
    Begin, Costs, FORBIDDEN, NoOrder, Solved, look_over, neighbour, solve,
};

/// Runs of which the quickest counts.
const RUNS: usize = 3;

/// How much dearer than a searched turn one that follows another may be, as a share.
const SLACK: f64 = 0.05;

fn main() -> ExitCode {
    let jobs: Vec<_> = std::env::args_os().skip(1).collect();
    for job in &jobs {
        if let Err(fault) = print_job(Path::new(job)) {
            let _ = writeln!(std::io::stderr(), "{fault}");
            return ExitCode::from(2);
        }
    }
    ExitCode::from(if jobs.is_empty() { 2 } else { 0 })
}

fn print_job(path: &Path) -> Result<(), String> {
    let job = swardlane::job::load(path).map_err(|faults| faults.to_string())?;
    let plan = plan(&job).map_err(|faults| faults.to_string())?;
    let terrain = drive::terrain(&plan.ground);
    for work in &plan.operations {
        let laid: Vec<_> = work.directions.iter().map(|d| d.passes.clone()).collect();
        let names: Vec<String> = laid.iter().map(|passes| passes.name.clone()).collect();
        let mut said = Ok(());
        let _ = drive::drive_seen(
            &work.operation,
            laid,
            (&plan.ground, &terrain),
            None,
            &mut Memory::new(Effort::Normal),
            &mut |index, links, _| {
                if said.is_err() {
                    return;
                }
                let row = row(&plan.name, &work.operation, &names[index], links);
                said = row.and_then(|row| {
                    writeln!(std::io::stdout(), "{row}").map_err(|fault| fault.to_string())
                });
            },
        );
        said?;
    }
    Ok(())
}

/// One direction's table, and what our own order on it comes to.
fn row(
    job: &str,
    operation: &Operation,
    direction: &str,
    links: &mut Links<'_>,
) -> Result<serde_json::Value, String> {
    let nodes = links.table().lowered().nodes();
    let pairs = (0..nodes).flat_map(|from| (0..nodes).map(move |to| (from, to)));
    let lacking: Vec<_> = pairs
        .filter(|&(from, to)| from / 2 != to / 2 && !links.table().is_known((from, to)))
        .collect();
    links.work_out(&lacking, SLACK);
    for node in 0..nodes {
        links.search_ways_of(&[node]);
    }
    let table = links.table().lowered();
    type Stage = fn(&Costs) -> Result<Solved, NoOrder>;
    let stages: [(&str, Stage); 3] = [
        ("quick", |table| solve(table, Effort::Quick, None)),
        ("look over", |table| look_over(table, None, Begin::Anew)),
        ("normal", |table| solve(table, Effort::Normal, None)),
    ];
    let mut reached = Vec::new();
    let mut last = None;
    for (name, stage) in stages {
        let mut least_s = f64::INFINITY;
        for _ in 0..RUNS {
            let (began, busy_s) = (Instant::now(), busy_s());
            let found = stage(&table);
            let elapsed_s = began.elapsed().as_secs_f64();
            least_s = least_s.min(match (busy_s, self::busy_s()) {
                (Some(before_s), Some(after_s)) => after_s - before_s,
                _ => elapsed_s,
            });
            last = Some(found.map_err(|_| format!("{}: no order", operation.id))?);
        }
        let cost = last.as_ref().map(|solved| solved.cost);
        reached.push(json!({ "stage": name, "cost": cost, "seconds": least_s }));
    }
    let solved = last.ok_or("no run")?;
    Ok(json!({
        "job": job,
        "operation": operation.id,
        "direction": direction,
        "parts": table.parts(),
        "cost": solved.cost,
        "lower_bound": solved.lower_bound,
        "shortened_m": shortened_m(links, &solved.order),
        "neighbour": neighbour(&table).map(|(_, cost)| cost),
        "stages": reached,
        "start": (0..nodes).map(|node| entry(table.start(node))).collect::<Vec<_>>(),
        "end": (0..nodes).map(|node| entry(table.end(node))).collect::<Vec<_>>(),
        "links": (0..nodes).map(|from| entries(&table, from)).collect::<Vec<_>>(),
    }))
}

/// Seconds that this thread has run on a processor; `None` where the system does not tell.
fn busy_s() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let busy_ns: f64 = stat.split_whitespace().next()?.parse().ok()?;
    Some(busy_ns / 1e9)
}

/// What each part loses at both its ends as driven in that order, metres: the mean and the
/// most.
fn shortened_m(links: &Links<'_>, order: &[usize]) -> [f64; 2] {
    let lost = order.iter().filter_map(|&node| {
        let run = links.table().run(node)?;
        Some(run.way_in.shortened_m + run.way_out.shortened_m)
    });
    let lost: Vec<f64> = lost.collect();
    let most = lost.iter().copied().fold(0.0, f64::max);
    [lost.iter().sum::<f64>() / lost.len().max(1) as f64, most]
}

fn entries(table: &Costs, from: usize) -> Vec<i64> {
    let links = (0..table.nodes()).map(|to| entry(table.cost(from, to)));
    links.collect()
}

const fn entry(cost: i64) -> i64 {
    if cost >= FORBIDDEN { -1 } else { cost }
}
