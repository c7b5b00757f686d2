//! Does the house still stand as `docs/architecture.md` draws it? Most of its invariants
//! are absences, which nobody can read from code; here they are looked for.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The rooms that make a plan, from first to last, and what they stand on.
const CORE_ROOMS: [&str; 14] = [
    "space",
    "fault",
    "warning",
    "region",
    "ground",
    "zones",
    "hand",
    "passes",
    "route",
    "setting_out",
    "coverage",
    "tally",
    "plan",
    "replan",
];

/// Names that lead out of a pure function.
const WAYS_OUT: [&str; 14] = [
    "std::fs",
    "std::env",
    "std::io",
    "std::net",
    "std::process",
    "std::time",
    "Instant",
    "SystemTime",
    "print!",
    "println!",
    "eprint!",
    "eprintln!",
    "File::",
    "rand::",
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every Rust file below a path, or the path itself, in the order of the names.
fn rust_files(path: &Path) -> Vec<PathBuf> {
    if path.is_file() {
        return vec![path.to_owned()];
    }
    let Ok(entries) = std::fs::read_dir(path) else {
        return Vec::new();
    };
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
        .iter()
        .filter(|path| path.is_dir() || path.extension().is_some_and(|end| end == "rs"))
        .flat_map(|path| rust_files(path))
        .collect()
}

/// The files of a room: `src/room.rs`, or all below `src/room/`.
fn room(name: &str) -> Vec<PathBuf> {
    let mut files = rust_files(&root().join("src").join(format!("{name}.rs")));
    files.extend(rust_files(&root().join("src").join(name)));
    assert!(!files.is_empty(), "no room `{name}` in src");
    files
}

/// The code of a file: without its tests (at its end) and without comments.
fn code(path: &Path) -> String {
    let text = std::fs::read_to_string(path).unwrap();
    let code = text.split("#[cfg(test)]").next().unwrap_or_default();
    code.lines()
        .map(|line| line.split("//").next().unwrap_or_default())
        .collect::<Vec<_>>()
        .join("\n")
}

/// Demands that no file of these holds any of these words.
fn assert_absent(files: &[PathBuf], words: &[&str]) {
    let found: Vec<String> = files
        .iter()
        .flat_map(|path| {
            let code = code(path);
            let found = words.iter().filter(|word| code.contains(**word));
            found
                .map(|word| format!("{}: `{word}`", path.display()))
                .collect::<Vec<_>>()
        })
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

fn core_files() -> Vec<PathBuf> {
    CORE_ROOMS.iter().flat_map(|name| room(name)).collect()
}

#[test]
fn core_rooms_read_no_file_clock_or_environment_and_print_nothing() {
    assert_absent(&core_files(), &WAYS_OUT);
}

#[test]
fn files_are_read_in_one_place_and_written_in_another() {
    let doors = [
        "src/job/load.rs",
        "src/found/load.rs",
        "src/output.rs",
        "src/output/",
        "src/cli/",
        "src/main.rs",
    ];
    let files: Vec<PathBuf> = rust_files(&root().join("src"))
        .into_iter()
        .filter(|path| {
            let path = path.strip_prefix(root()).unwrap().to_str().unwrap();
            !doors.iter().any(|door| path.starts_with(door))
        })
        .collect();
    assert!(files.len() > 20, "only {} files", files.len());
    assert_absent(
        &files,
        &[
            "std::fs",
            "File::open",
            "File::create",
            "std::env",
            "println!",
            "eprintln!",
        ],
    );
}

#[test]
fn core_types_are_no_file_formats() {
    let words = [
        "serde",
        "Serialize",
        "Deserialize",
        "JsonSchema",
        "geojson",
        "toml::",
    ];
    assert_absent(&core_files(), &words);
}

#[test]
fn degrees_stay_where_frames_are_made() {
    let rooms = [
        "region",
        "zones",
        "hand",
        "passes",
        "setting_out",
        "coverage",
        "tally",
    ];
    let files: Vec<PathBuf> = rooms
        .iter()
        .flat_map(|name| room(name))
        .chain(["curves", "fit", "law"].map(|name| root().join(format!("src/ground/{name}.rs"))))
        .collect();
    assert_absent(&files, &["lat_deg", "lon_deg", "Position"]);
}

#[test]
fn later_rooms_are_not_used_by_earlier_ones() {
    for (index, name) in CORE_ROOMS.iter().enumerate() {
        // `job` stands beside the core: rooms may read its checked types.
        let later: Vec<String> = CORE_ROOMS[index + 1..]
            .iter()
            .chain(&["formats", "sheets", "cli"])
            // Rooms of one storey: words and values that stand side by side.
            .filter(|later| !(*name == "space" && **later == "fault"))
            .map(|later| format!("crate::{later}"))
            .collect();
        let later: Vec<&str> = later.iter().map(String::as_str).collect();
        assert_absent(&room(name), &later);
    }
}

#[test]
fn no_map_without_an_order_decides_what_is_written() {
    let files = rust_files(&root().join("src"));
    assert_absent(&files, &["HashMap", "HashSet"]);
}

#[test]
fn every_file_tells_its_question_first_and_stays_a_room() {
    for path in rust_files(&root().join("src")) {
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(
            text.starts_with("//!"),
            "{} opens without a word",
            path.display()
        );
        // Code alone: neither its documentation nor its tests make a file a corridor.
        let lines = code(&path)
            .lines()
            .filter(|line| !line.trim().is_empty())
            .count();
        assert!(
            lines <= 600,
            "{} has {lines} lines of code: two ideas?",
            path.display()
        );
    }
}

#[test]
fn unsafe_code_is_forbidden_and_panics_are_lint_errors() {
    let manifest = std::fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let manifest: toml::Table = manifest.parse().unwrap();
    let lints = &manifest["lints"];
    assert_eq!(lints["rust"]["unsafe_code"].as_str(), Some("forbid"));
    for lint in [
        "unwrap_used",
        "expect_used",
        "panic",
        "print_stdout",
        "print_stderr",
        "todo",
    ] {
        assert_eq!(lints["clippy"][lint].as_str(), Some("warn"), "{lint}");
    }
}

#[test]
fn the_test_crate_is_a_list_of_modules_and_no_test_is_ignored() {
    let main = code(&root().join("tests/suite/main.rs"));
    for line in main.lines().map(str::trim).filter(|line| !line.is_empty()) {
        assert!(
            line.starts_with("mod ") || line.starts_with("#!["),
            "{line}"
        );
    }
    // Put together here, so that this line does not find itself.
    let ignored = ["#[", "ignore"].concat();
    for folder in ["src", "tests/suite"] {
        for path in rust_files(&root().join(folder)) {
            let text = std::fs::read_to_string(&path).unwrap();
            assert!(
                !text.contains(&ignored),
                "{} ignores a test",
                path.display()
            );
        }
    }
}

#[test]
fn the_top_level_has_only_what_was_agreed() {
    let listed = Command::new("git")
        .args(["ls-files", "-z"])
        .current_dir(root())
        .output()
        .unwrap();
    assert!(listed.status.success(), "git cannot list the files");
    let listed = String::from_utf8(listed.stdout).unwrap();
    let names: BTreeSet<&str> = listed
        .split('\0')
        .filter_map(|path| path.split('/').next())
        .filter(|name| !name.is_empty())
        .collect();
    assert!(names.contains("src"), "git lists no files");
    let allowed = [
        "Cargo.lock",
        "Cargo.toml",
        "DEVELOPERS.md",
        "README.md",
        "clippy.toml",
        "deny.toml",
        "docs",
        "output",
        "rust-toolchain.toml",
        "rustfmt.toml",
        "sample-pitches",
        "src",
        "tests",
    ];
    let strangers: Vec<&&str> = names
        .iter()
        .filter(|name| {
            !name.starts_with('.') && !name.starts_with("LICENSE") && !allowed.contains(name)
        })
        .collect();
    assert!(strangers.is_empty(), "at the top level: {strangers:?}");
}

#[test]
fn every_warning_code_stands_in_the_documentation() {
    let page = std::fs::read_to_string(root().join("docs/outputs.md")).unwrap();
    let rows: Vec<&str> = page
        .lines()
        .skip_while(|line| *line != "## Warning codes")
        .filter_map(|line| line.strip_prefix("| `")?.split('`').next())
        .collect();
    let codes = swardlane::warning::Code::ALL.map(swardlane::warning::Code::name);
    assert_eq!(
        rows, codes,
        "the list is closed, and in the order of the alphabet"
    );
}
