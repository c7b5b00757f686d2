//! `summary.csv`: several jobs side by side, one row an operation.

use serde::Serialize;

use super::{FormatError, figure, table};
use crate::plan::Plan;

/// The name of the file.
pub const FILE_NAME: &str = "summary.csv";

#[derive(Debug, Serialize)]
struct Row<'a> {
    folder: &'a str,
    job: &'a str,
    operation: &'a str,
    task: &'static str,
    implement: &'a str,
    working_width_m: f64,
    target_area_m2: f64,
    kept_clear_m2: f64,
    directions: usize,
    passes: usize,
    parts: usize,
    working_length_m: f64,
    unworked_m2: f64,
    work_s: f64,
    turn_s: f64,
    haul_s: f64,
    load_s: f64,
    allowance_s: f64,
    total_s: f64,
    people: u32,
}

/// The header, written also where there is no row.
const HEADER: [&str; 20] = [
    "folder",
    "job",
    "operation",
    "task",
    "implement",
    "working_width_m",
    "target_area_m2",
    "kept_clear_m2",
    "directions",
    "passes",
    "parts",
    "working_length_m",
    "unworked_m2",
    "work_s",
    "turn_s",
    "haul_s",
    "load_s",
    "allowance_s",
    "total_s",
    "people",
];

/// The file of these plans, each with the name of its folder, in this order.
///
/// # Errors
/// [`FormatError::Csv`] should it not print, which no input can bring about.
pub fn bytes<'a>(
    plans: impl IntoIterator<Item = (&'a str, &'a Plan)>,
) -> Result<Vec<u8>, FormatError> {
    let mut rows = Vec::new();
    for (folder, plan) in plans {
        for planned in &plan.operations {
            let directions = &planned.directions;
            rows.push(Row {
                folder,
                job: &plan.name,
                operation: &planned.operation.id,
                task: planned.operation.task.name(),
                implement: &planned.operation.implement.name,
                working_width_m: figure(planned.operation.implement.working_width_m),
                target_area_m2: figure(planned.target.area_m2),
                kept_clear_m2: figure(planned.target.kept_clear_m2),
                directions: directions.len(),
                passes: directions.iter().map(|one| one.passes.passes.len()).sum(),
                parts: directions.iter().map(|one| one.passes.part_count()).sum(),
                working_length_m: figure(directions.iter().map(|one| one.working_length_m).sum()),
                unworked_m2: figure(planned.worked_times_m2.first().copied().unwrap_or(0.0)),
                work_s: figure(planned.time.work_s),
                turn_s: figure(planned.time.turn_s),
                haul_s: figure(planned.time.haul_s),
                load_s: figure(planned.time.load_s),
                allowance_s: figure(planned.time.allowance_s),
                total_s: figure(planned.time.total_s),
                people: planned.time.people,
            });
        }
    }
    table::bytes(&HEADER, rows)
}
