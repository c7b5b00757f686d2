//! Broken inputs through the built command: what a person is told, word for word, and that
//! nothing is printed besides and nothing is written. The tables are data; each case runs in
//! a fresh folder, once with no output there and once with an earlier one.

mod arguments;
mod grounds;
mod jobs;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::LazyLock;

use crate::ground_reading::{PLACED, collection};
use crate::job_reading::{JOB, changed};
use crate::workbench::Workbench;

/// What an earlier run of a good job wrote.
static EARLIER: LazyLock<BTreeMap<String, Vec<u8>>> = LazyLock::new(|| {
    let bench = Workbench::empty();
    bench.put("job.toml", JOB);
    bench.done(&[
        "plan", "job.toml", "--out", "out", "--only", "data", "--quiet",
    ]);
    let names = bench.names("out").into_iter();
    let files = names.filter(|name| bench.path("out").join(name).is_file());
    files
        .map(|name| {
            let name = format!("out/{name}");
            let bytes = std::fs::read(bench.path(&name)).unwrap();
            (name, bytes)
        })
        .collect()
});

/// Runs the command on a job and its ground file, and gives what is wrong with what it said.
fn judge(job: &str, ground: Option<&str>, expected: &str) -> Option<String> {
    let bench = Workbench::empty();
    bench.put("job.toml", job);
    if let Some(ground) = ground {
        bench.put("ground.geojson", ground);
    }
    let expected: String = expected.lines().fold(String::new(), |mut all, line| {
        let _ = writeln!(all, "error: {line}");
        all
    });
    for has_earlier in [false, true] {
        if has_earlier {
            for (name, bytes) in &*EARLIER {
                bench.put_bytes(name, bytes);
            }
        }
        let before = bench.all();
        let output = bench.run(&["plan", "job.toml", "--out", "out"]);
        let told = String::from_utf8_lossy(&output.stderr);
        if told != expected {
            return Some(format!("told:\n{told}instead of:\n{expected}"));
        }
        if output.status.code() != Some(2) || !output.stdout.is_empty() {
            return Some(format!("{}, though told:\n{told}", output.status));
        }
        if bench.all() != before {
            return Some(format!("files have changed, though told:\n{told}"));
        }
    }
    None
}

/// Demands at least so many cases, and that each is told as it should be.
fn demand(least: usize, wrong: Vec<Option<String>>) {
    assert!(wrong.len() >= least, "only {} cases", wrong.len());
    let wrong: Vec<String> = wrong.into_iter().flatten().collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn broken_jobs_are_told_word_for_word() {
    let cases = jobs::FAULTS.iter();
    let judged = cases.map(|(from, to, expected)| judge(&changed(from, to), None, expected));
    demand(70, judged.collect());
}

/// Demands that each ground file beside that job is told as it should be.
fn demand_of_grounds(least: usize, job: &str, cases: &[(String, &str)]) {
    let judge = |(ground, expected): &(String, &str)| judge(job, Some(ground), expected);
    demand(least, cases.iter().map(judge).collect());
}

#[test]
fn broken_ground_files_are_told_word_for_word() {
    demand_of_grounds(25, &format!("{JOB}{PLACED}"), &grounds::beside());
}

#[test]
fn broken_outlines_are_told_word_for_word() {
    demand_of_grounds(15, &(sizes_alone() + PLACED), &grounds::outlines());
}

#[test]
fn outlines_that_are_no_pitch_are_told_word_for_word() {
    let job = sizes_alone().replace("length_m = 105.0\nwidth_m = 68.0\n", "") + PLACED;
    demand_of_grounds(3, &job, &grounds::lone_outlines());
}

#[test]
fn broken_reference_systems_are_told_word_for_word() {
    let cases = grounds::in_metres();
    let judged = cases.iter().map(|(keys, ground, expected)| {
        judge(
            &format!("{}{PLACED}{keys}", sizes_alone()),
            Some(ground),
            expected,
        )
    });
    demand(6, judged.collect());
}

#[test]
fn an_empty_ground_file_is_no_fault() {
    let bench = Workbench::empty();
    bench.put("job.toml", &format!("{JOB}{PLACED}"));
    bench.put("ground.geojson", &collection(&[]));
    bench.done(&["plan", "job.toml", "--out", "out", "--quiet"]);
    assert!(bench.path("out/summary.json").is_file());
}

/// The good job without a word on where the pitch lies.
fn sizes_alone() -> String {
    changed(
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5\n",
        "",
    )
}
