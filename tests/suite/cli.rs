//! The command line, through the built command: messages word for word, exit codes, what
//! goes to which stream.

use std::io::Read as _;
use std::process::Stdio;

use super::workbench::Workbench;

#[test]
fn new_writes_a_job_that_plans_and_never_over_anything() {
    let bench = Workbench::new();
    bench.refused(
        &["new", "ground"],
        "error: ground: is there already; choose another name or remove it\n",
    );
    bench.refused(
        &["new", ".."],
        "error: ..: is no name for a new folder; name one such as `my-ground`\n",
    );
    bench.refused(
        &["new", "small", "--length-m", "5"],
        "error: `--length-m` 5 is outside 10 to 500 metres\n",
    );
    bench.refused(
        &["new", "ground/job.toml/deeper"],
        "error: ground/job.toml/deeper: cannot be written: a part of the path is a file, not a \
         folder\n",
    );
    let said = bench.done(&["new", "my-ground", "--length-m", "90", "--width-m", "55.5"]);
    assert_eq!(
        said,
        "my-ground/job.toml is written; change it as you need, then run `swardlane plan \
         my-ground`\n"
    );
    bench.done(&["plan", "my-ground", "--quiet"]);
    let summary = bench.json("output/my-ground/summary.json");
    assert_eq!(summary["pitch"]["length_m"], 90.0);
    assert_eq!(summary["pitch"]["width_m"], 55.5);
}

#[test]
fn the_table_tells_zones_then_directions_then_time_then_totals_then_the_folder() {
    let bench = Workbench::new();
    let output = bench.run(&["plan", "ground"]);
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "Larkmoor");
    assert_eq!(
        lines[1],
        "pitch 60.00 x 40.00 m, 2400.0 m2, long axis at 12.5°"
    );
    assert!(lines[2].starts_with("zones: wear 5 "), "{}", lines[2]);
    assert!(lines[4].starts_with("mow  mow with mower, 2.00 m wide, on "));
    let titles: Vec<&str> = lines[5].split_whitespace().collect();
    assert_eq!(
        titles.join(" "),
        "direction heading passes metres hours covered m2 overlap % missed m2"
    );
    // The same figures as in the file, rounded.
    let summary = bench.json("output/ground/summary.json");
    let rows: Vec<Vec<&str>> = lines[6..9]
        .iter()
        .map(|line| line.split_whitespace().collect())
        .collect();
    let directions = summary["operations"][0]["directions"].as_array().unwrap();
    assert_eq!(directions.len(), 3);
    for (row, direction) in rows.iter().zip(directions) {
        let figure = |key: &str| direction[key].as_f64().unwrap();
        let heading = match direction["heading_deg"].as_f64() {
            Some(heading_deg) => format!("{heading_deg:.1}°"),
            None => "-".to_owned(),
        };
        let overlap_pct = 100.0 * figure("overlap_m2") / figure("covered_m2");
        assert_eq!(
            row[..7],
            [
                direction["name"].as_str().unwrap(),
                heading.as_str(),
                &figure("passes").to_string(),
                &format!("{:.0}", figure("working_length_m")),
                &format!("{:.2}", figure("work_s") / 3600.0),
                &format!("{:.1}", figure("covered_m2")),
                &format!("{overlap_pct:.1}"),
            ]
        );
    }
    assert!(
        lines[9].contains("(an estimate: 35 s a turn)"),
        "{}",
        lines[9]
    );
    assert!(text.contains("\nin all: work "), "{text}");
    let n_files = summary["files"].as_array().unwrap().len();
    assert_eq!(
        *lines.last().unwrap(),
        format!("{n_files} files in output/ground")
    );
    for line in lines.iter().filter(|line| line.starts_with("  ")) {
        assert!(!line.contains('\u{1b}'), "colour in a pipe");
    }
}

#[test]
fn warnings_go_to_standard_error_in_plain_words() {
    let bench = Workbench::new();
    bench.put(
        "nowhere/job.toml",
        "name = \"Sizes alone\"\npitch = { length_m = 60.0, width_m = 40.0 }\n[implement.m]\n\
         working_width_m = 2.0\nspeed_km_h = 6.0\n[[operation]]\nid = \"mow\"\ntask = \
         \"mow\"\nimplement = \"m\"\n",
    );
    let output = bench.run(&["plan", "nowhere"]);
    let errors = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{errors}");
    assert!(errors.lines().count() >= 2, "{errors}");
    assert!(
        errors.lines().all(|line| line.starts_with("warning: ")),
        "{errors}"
    );
    let summary = bench.json("output/nowhere/summary.json");
    let told = summary["warnings"].as_array().unwrap();
    assert_eq!(errors.lines().count(), told.len());
    assert!(told.iter().any(|one| one["code"] == "no_position"));

    let quiet = bench.run(&["plan", "nowhere", "--quiet"]);
    assert_eq!(quiet.status.code(), Some(0));
    assert_eq!((quiet.stdout, quiet.stderr), (Vec::new(), Vec::new()));
}

#[test]
fn json_is_the_summary_and_nothing_else() {
    let bench = Workbench::new();
    let printed = bench.done(&["plan", "ground", "--json"]);
    assert_eq!(printed, bench.text("output/ground/summary.json"));
    let quiet = bench.done(&["plan", "ground", "--json", "--quiet"]);
    assert_eq!(quiet, printed);
}

#[test]
fn check_says_that_nothing_is_wrong_and_writes_nothing() {
    let bench = Workbench::new();
    let before = bench.all();
    let said = bench.done(&["check", "ground"]);
    assert!(
        said.starts_with("ground: nothing is wrong; 2 operations, 4 directions, "),
        "{said}"
    );
    assert_eq!(bench.done(&["check", "ground/job.toml", "--quiet"]), "");
    assert!(before == bench.all());
}

#[test]
fn a_wrong_job_touches_no_output() {
    let bench = Workbench::new();
    bench.done(&["plan", "ground", "--quiet"]);
    let job = bench.text("ground/job.toml").replace("6.0", "-6.0");
    bench.put("ground/job.toml", &job);
    let before = bench.all();
    for arguments in [
        &["plan", "ground"][..],
        &["check", "ground"],
        &["plan", "ground", "--out", "elsewhere/deep"],
    ] {
        let output = bench.run(arguments);
        let errors = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{errors}");
        assert!(
            errors.starts_with("error: ground/job.toml: line "),
            "{errors}"
        );
        assert!(before == bench.all(), "{arguments:?}");
    }
}

#[test]
fn several_jobs_are_each_planned_or_refused_by_themselves() {
    let bench = Workbench::new();
    bench.put("jobs/b-good/job.toml", super::workbench::JOB);
    bench.put("jobs/b-good/ground.geojson", super::workbench::GROUND);
    bench.put("jobs/a-bad/job.toml", "name = 3\n");
    bench.put("jobs/c-good/job.toml", super::workbench::JOB);
    bench.put("jobs/c-good/ground.geojson", super::workbench::GROUND);
    bench.put("jobs/notes.txt", "no job");
    let output = bench.run(&["plan", "jobs", "--out", "out"]);
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{errors}");
    assert!(errors.contains("error: jobs/a-bad/job.toml: "), "{errors}");
    let top: Vec<String> = std::fs::read_dir(bench.path("out"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(top.len(), 3, "{top:?}");
    assert!(bench.path("out/b-good/summary.json").is_file());
    assert!(bench.path("out/c-good/summary.json").is_file());
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(
        text.ends_with("side by side in out/summary.csv\n"),
        "{text}"
    );

    let rows = bench.text("out/summary.csv");
    let firsts: Vec<&str> = rows
        .lines()
        .map(|row| row.split(',').next().unwrap())
        .collect();
    assert_eq!(firsts, ["folder", "b-good", "b-good", "c-good", "c-good"]);

    let output = bench.run(&["plan", "jobs", "--out", "out", "--json"]);
    let list: Vec<serde_json::Value> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(list.len(), 2);
    assert_eq!(list[0], bench.json("out/b-good/summary.json"));
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let bench = Workbench::new();
    let mut child = bench
        .command()
        .args(["plan", "ground", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut errors = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut errors)
        .unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0), "{errors}");
    assert!(!errors.contains("error"), "{errors}");
    assert!(bench.path("output/ground/summary.json").is_file());
}

#[test]
fn a_full_standard_output_is_told_and_the_files_are_there() {
    let bench = Workbench::new();
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let output = bench
        .command()
        .args(["schema", "summary"])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(
        String::from_utf8_lossy(&output.stderr),
        "error: standard output: cannot be written: no space is left on the disk\n"
    );
}

#[test]
fn colour_only_where_it_is_asked_for() {
    let bench = Workbench::new();
    let coloured = |arguments: &[&str], variables: &[(&str, &str)]| {
        let output = bench
            .command()
            .args(arguments)
            .envs(variables.iter().copied())
            .output()
            .unwrap();
        [output.stdout, output.stderr].map(|text| text.contains(&0x1b))
    };
    let plan = |colour| ["plan", "ground", "--color", colour];
    assert_eq!(coloured(&plan("auto"), &[]), [false, false]);
    assert_eq!(coloured(&plan("never"), &[]), [false, false]);
    assert!(coloured(&plan("always"), &[])[0]);
    assert!(coloured(&plan("always"), &[("NO_COLOR", "1"), ("TERM", "dumb")])[0]);
    assert_eq!(
        coloured(&["plan", "nowhere", "--color", "always"], &[]),
        [false, true]
    );
}

#[test]
fn help_completions_and_schemas_are_results() {
    let bench = Workbench::new();
    for command in ["plan", "check", "new", "schema", "completions"] {
        let help = bench.done(&[command, "--help"]);
        assert!(
            help.contains(&format!("Usage: swardlane {command}")),
            "{help}"
        );
    }
    assert_eq!(
        bench.done(&["--version"]),
        concat!("swardlane ", env!("CARGO_PKG_VERSION"), "\n")
    );
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = bench.done(&["completions", shell]);
        for word in ["--operation", "--width-m", "completions"] {
            assert!(
                script.contains(word.trim_start_matches("--")),
                "{shell} does not complete {word}"
            );
        }
    }
    for of in ["job", "summary"] {
        let schema: serde_json::Value = serde_json::from_str(&bench.done(&["schema", of])).unwrap();
        assert!(schema["properties"].is_object(), "{of}");
    }
}
