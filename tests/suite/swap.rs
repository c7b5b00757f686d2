//! The folder of a plan is the earlier one, whole, or the new one: never a mixture and
//! never less.

use std::os::unix::process::ExitStatusExt as _;
use std::process::Command;

use super::workbench::Workbench;

const ALL_DATA: [&str; 7] = [
    "ground.geojson",
    "missed.geojson",
    "passes.csv",
    "passes.geojson",
    "summary.json",
    "targets.geojson",
    "zones.geojson",
];

fn plan_data(bench: &Workbench, out: &str) {
    bench.done(&["plan", "ground", "--out", out, "--only", "data", "--quiet"]);
}

#[test]
fn a_plan_is_written_to_where_it_is_told_or_below_output() {
    let bench = Workbench::new();
    plan_data(&bench, "deep/down/out");
    assert_eq!(bench.names("deep"), {
        let inner = ALL_DATA.map(|name| format!("down/out/{name}"));
        let mut all = vec!["down".to_owned(), "down/out".to_owned()];
        all.extend(inner);
        all
    });
    bench.done(&["plan", "ground", "--only", "data", "--quiet"]);
    assert_eq!(bench.names("output/ground"), ALL_DATA);
    // From within its own folder it goes by the folder's name too.
    let done = bench
        .command()
        .current_dir(bench.path("ground"))
        .args(["plan", ".", "--only", "data", "--quiet"])
        .status()
        .unwrap();
    assert!(done.success());
    assert_eq!(bench.names("ground/output/ground"), ALL_DATA);
}

#[test]
fn the_same_job_gives_the_same_bytes_whatever_the_threads() {
    let bench = Workbench::new();
    for (out, threads) in [("one", "1"), ("two", "8"), ("one", "8")] {
        let done = bench
            .command()
            .env("RAYON_NUM_THREADS", threads)
            .args(["plan", "ground", "--out", out, "--quiet"])
            .status()
            .unwrap();
        assert!(done.success());
        let all = bench.all();
        let below = |start: &str| -> Vec<(String, Option<Vec<u8>>)> {
            all.iter()
                .filter_map(|(name, bytes)| {
                    Some((name.strip_prefix(start)?.to_owned(), bytes.clone()))
                })
                .collect()
        };
        if bench.path("two").exists() {
            assert!(below("one/").len() > ALL_DATA.len());
            assert!(below("one/") == below("two/"));
        }
    }
}

#[test]
fn files_lists_exactly_what_is_written() {
    let bench = Workbench::new();
    for groups in ["data", "sheets", "data,sheets"] {
        bench.done(&["plan", "ground", "--only", groups, "--quiet"]);
        let summary = bench.json("output/ground/summary.json");
        let mut listed: Vec<String> = summary["files"]
            .as_array()
            .unwrap()
            .iter()
            .map(|name| name.as_str().unwrap().to_owned())
            .collect();
        listed.sort();
        let mut found = bench.names("output/ground");
        found.retain(|name| bench.path("output/ground").join(name).is_file());
        assert_eq!(found, listed, "{groups}");
    }
}

#[test]
fn stale_files_go_and_other_peoples_files_stay() {
    let bench = Workbench::new();
    bench.done(&["plan", "ground", "--out", "out", "--quiet"]);
    assert!(bench.path("out/sheets/map-zones.svg").is_file());
    bench.put("out/notes.txt", "phone the sand people");
    bench.put("out/sheets/photos/gate.txt", "a picture");
    std::fs::create_dir(bench.path("out/empty")).unwrap();
    plan_data(&bench, "out");
    let mut wanted: Vec<String> = ALL_DATA.map(str::to_owned).to_vec();
    wanted.extend(
        [
            "empty",
            "notes.txt",
            "sheets",
            "sheets/photos",
            "sheets/photos/gate.txt",
        ]
        .map(str::to_owned),
    );
    wanted.sort();
    assert_eq!(bench.names("out"), wanted);
    assert_eq!(bench.text("out/notes.txt"), "phone the sand people");
}

#[test]
fn one_operation_leaves_only_that_operation() {
    let bench = Workbench::new();
    plan_data(&bench, "out");
    bench.done(&[
        "plan",
        "ground",
        "--out",
        "out",
        "--operation",
        "spike",
        "--quiet",
    ]);
    let summary = bench.json("out/summary.json");
    assert_eq!(summary["operations"].as_array().unwrap().len(), 1);
    assert_eq!(summary["operations"][0]["id"], "spike");
    assert!(!bench.text("out/passes.csv").contains("\nmow,"));
}

#[test]
fn a_read_only_folder_is_refused_untouched() {
    let bench = Workbench::new();
    plan_data(&bench, "out");
    let path = bench.path("out");
    let mut permissions = std::fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&path, permissions.clone()).unwrap();
    bench.refused(
        &["plan", "ground", "--out", "out"],
        "error: out: is a read-only folder; name another one or make it writable\n",
    );
    #[allow(clippy::permissions_set_readonly_false)] // the folder is ours and goes soon
    permissions.set_readonly(false);
    std::fs::set_permissions(&path, permissions).unwrap();
}

#[test]
fn a_file_that_is_not_ours_is_not_overwritten() {
    let bench = Workbench::new();
    plan_data(&bench, "out");
    bench.put("out/sheets/map-zones.svg", "drawn by hand");
    bench.refused(
        &["plan", "ground", "--out", "out", "--only", "sheets"],
        "error: out/sheets/map-zones.svg: was not written by an earlier run and would be \
         overwritten; move it away\n",
    );
}

#[test]
fn with_several_jobs_the_rule_holds_for_each_folder() {
    let bench = Workbench::new();
    bench.put("second/job.toml", super::workbench::JOB);
    bench.put("second/ground.geojson", super::workbench::GROUND);
    bench.put("out/ground/notes.txt", "mine");
    let output = bench.run(&["plan", "ground", "second", "--out", "out", "--quiet"]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(
        String::from_utf8_lossy(&output.stderr),
        "error: out/ground: holds files and no `summary.json` of this program; name an empty or \
         a new folder\n"
    );
    assert_eq!(bench.names("out/ground"), ["notes.txt"]);
    assert!(bench.path("out/second/summary.json").is_file());
    assert!(bench.path("out/summary.csv").is_file());
}

#[test]
fn what_a_killed_run_left_aside_is_put_back_or_cleared_away() {
    let bench = Workbench::new();
    plan_data(&bench, "out");
    bench.put("out/notes.txt", "mine");
    let whole = bench.names("out");
    // Between two renames: the earlier output under its aside name, the new one beside it.
    std::fs::rename(bench.path("out"), bench.path(".out.swardlane-old-4711")).unwrap();
    bench.put(".out.swardlane-new-4711/summary.json", "{\"half\"");
    plan_data(&bench, "out");
    assert_eq!(
        bench.names("out"),
        whole,
        "the carried file came back with it"
    );
    assert_eq!(bench.text("out/notes.txt"), "mine");
    let left: Vec<String> = bench
        .names("")
        .into_iter()
        .filter(|name| name.contains("swardlane-"))
        .collect();
    assert_eq!(left, Vec::<String>::new());
}

/// Runs the command under a limit of file size (in blocks of 1024 bytes) that its files
/// pass: with the signal that comes with it heeded (a crash) or not (an error).
fn run_short_of_space(bench: &Workbench, signal: &str) -> std::process::Output {
    let script = format!("{signal} ulimit -f 4; exec \"$0\" plan ground --out out --quiet");
    Command::new("bash")
        .args(["-c", &script, env!("CARGO_BIN_EXE_swardlane")])
        .current_dir(bench.path(""))
        .output()
        .unwrap()
}

#[test]
fn a_crash_in_the_middle_of_writing_leaves_the_earlier_output_whole() {
    let bench = Workbench::new();
    plan_data(&bench, "out");
    let before = bench.all();
    let killed = run_short_of_space(&bench, "");
    assert!(killed.status.signal().is_some(), "{killed:?}");
    let after = bench.all();
    assert!(
        before
            .iter()
            .all(|(name, bytes)| after.get(name) == Some(bytes))
    );
    assert!(
        after
            .keys()
            .any(|name| name.starts_with(".out.swardlane-new-")),
        "it was killed before it wrote anything"
    );
    plan_data(&bench, "out");
    assert!(before == bench.all(), "the next run clears up");
}

#[test]
fn a_disk_that_takes_no_more_leaves_everything_as_it_was() {
    let bench = Workbench::new();
    plan_data(&bench, "out");
    let before = bench.all();
    let refused = run_short_of_space(&bench, "trap '' XFSZ;");
    assert_eq!(
        String::from_utf8_lossy(&refused.stderr),
        "error: out/zones.geojson: cannot be written: the file would be larger than is allowed \
         here\n"
    );
    assert_eq!(refused.status.code(), Some(2));
    assert!(before == bench.all());
}
