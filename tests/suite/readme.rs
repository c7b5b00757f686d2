//! Does README keep its word? Its first command is taken apart and run, its second must be
//! `tests/run`, its job is planned, its commands answer, its paths lead somewhere.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn readme() -> String {
    std::fs::read_to_string(root().join("README.md")).unwrap()
}

/// The fenced blocks of that language, in order.
fn blocks(language: &str) -> Vec<String> {
    let text = readme();
    text.split("```")
        .skip(1)
        .step_by(2)
        .filter_map(|block| block.strip_prefix(language)?.strip_prefix('\n'))
        .map(|block| block.trim_end().to_owned())
        .collect()
}

/// What stands in single backticks outside the fenced blocks.
fn quoted() -> Vec<String> {
    let text = readme();
    text.split("```")
        .step_by(2)
        .flat_map(|prose| prose.split('`').skip(1).step_by(2))
        .map(str::to_owned)
        .collect()
}

fn swardlane(arguments: &[&str], folder: &Path) -> Output {
    let output = Command::new(env!("CARGO_BIN_EXE_swardlane"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "swardlane {arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    output
}

#[test]
fn the_first_command_sets_up_builds_and_plans_the_stadium() {
    let first = blocks("sh").into_iter().next().unwrap();
    let pieces: Vec<&str> = first.split(" && ").collect();
    let [setup, run] = pieces.as_slice() else {
        panic!("README's first command has other pieces now: {first}");
    };
    // On a machine that built this test nothing is missing, so this installs nothing.
    let done = Command::new("bash")
        .args(["-c", setup])
        .current_dir(root())
        .status()
        .unwrap();
    assert!(done.success(), "{setup}");

    let arguments = run
        .strip_prefix("cargo run --release --locked -- ")
        .unwrap_or_else(|| panic!("README runs something else: {run}"));
    // In a folder of its own, so that the kept output is left alone.
    let folder = tempfile::tempdir().unwrap();
    let arguments: Vec<String> = arguments
        .split(' ')
        .map(|word| match word.strip_prefix("sample-pitches/") {
            Some(_) => root().join(word).display().to_string(),
            None => word.to_owned(),
        })
        .collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    swardlane(&arguments, folder.path());

    // Where README says to look, something must lie.
    let quoted = quoted();
    let out = quoted
        .iter()
        .find(|path| path.starts_with("output/"))
        .unwrap();
    let out = folder.path().join(out);
    let places: Vec<PathBuf> = quoted
        .iter()
        .filter(|path| path.starts_with("sheets/") || *path == "summary.json")
        .map(|path| out.join(path))
        .collect();
    assert!(
        places.len() >= 3,
        "README tells too little of where to look"
    );
    for place in places {
        assert!(place.is_file(), "{} is not written", place.display());
    }
}

#[test]
fn the_second_command_is_the_one_that_passes_the_tests() {
    let commands = blocks("sh");
    assert_eq!(commands.len(), 2, "one command to try it, one to check it");
    assert_eq!(commands[1], "tests/run");
    let continuous = std::fs::read_to_string(root().join(".ci/run")).unwrap();
    assert!(continuous.contains("tests/run"));
    for script in ["tests/run", "tests/setup", ".ci/run"] {
        let parsed = Command::new("bash")
            .args(["-n", script])
            .current_dir(root())
            .status()
            .unwrap();
        assert!(parsed.success(), "{script}");
        // Executable, as a stranger's clone gets it.
        let listed = Command::new("git")
            .args(["ls-files", "--stage", script])
            .current_dir(root())
            .output()
            .unwrap();
        assert!(
            listed.stdout.starts_with(b"100755"),
            "{script} cannot be run"
        );
    }
}

#[test]
fn the_job_of_ten_lines_plans() {
    let jobs = blocks("toml");
    assert_eq!(jobs.len(), 1);
    let lines = jobs[0].lines().filter(|line| !line.is_empty()).count();
    assert_eq!(lines, 10);
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("job.toml"), &jobs[0]).unwrap();
    let output = swardlane(&["plan", ".", "--out", "out", "--json"], folder.path());
    let summary: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let directions = summary["operations"][0]["directions"].as_array().unwrap();
    assert_eq!(directions.len(), 3);
}

#[test]
fn every_command_of_the_table_answers() {
    let folder = tempfile::tempdir().unwrap();
    let job = root().join("sample-pitches/training-ground");
    let job = job.to_str().unwrap();
    let file = root().join("sample-pitches/stadium/ground.geojson");
    let file = file.to_str().unwrap();
    let mut run = 0;
    for line in readme().lines() {
        let Some(command) = line.strip_prefix("| `swardlane ") else {
            continue;
        };
        let command = command.split('`').next().unwrap();
        let arguments: Vec<&str> = command
            .split(' ')
            .map(|word| match word {
                "JOB…" => job,
                "FILE" => file,
                "NAME" => "my-ground",
                "SHELL" => "bash",
                word => word,
            })
            .collect();
        swardlane(&arguments, folder.path());
        run += 1;
    }
    assert_eq!(run, 6);
    // What `new` wrote plans at once.
    swardlane(&["plan", "my-ground"], folder.path());
}

#[test]
fn every_path_leads_somewhere() {
    let places: Vec<String> = quoted()
        .into_iter()
        .filter(|path| {
            [
                "docs/",
                "sample-pitches/",
                "tests/",
                "LICENSE",
                "DEVELOPERS",
            ]
            .iter()
            .any(|start| path.starts_with(start))
        })
        .collect();
    assert!(places.len() >= 5);
    for place in places {
        assert!(root().join(&place).exists(), "README points at {place}");
    }
    for picture in readme().split("](").skip(1) {
        let target = picture.split(')').next().unwrap();
        assert!(root().join(target).exists(), "README shows {target}");
    }
}
