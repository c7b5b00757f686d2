//! What is told of broken jobs and ground files, word for word, and that good ones are
//! read as they are meant.

use std::fmt::Write as _;

use proptest::prelude::*;
use swardlane::fault::{Fault, Faults};
use swardlane::job::model::{
    Direction, Effort, Ends, HandKind, Job, Lie, Order, Remainder, RunOff, Start, SurfaceKind,
    Task, TaskDataVersion,
};
use swardlane::job::{ground_file, limits, load, read};
use swardlane::space::{Angle, Compass, Corner, Heading, Position};
use swardlane::warning::Code;

pub const JOB: &str = r#"name = "Test pitch"
[pitch]
length_m = 105.0
width_m = 68.0
centre = { lat_deg = 55.312, lon_deg = -3.72 }
bearing_deg = 12.5
[tractor.compact]
turn_radius_m = 2.9
[implement.drag-brush]
tractor = "compact"
working_width_m = 2.0
speed_km_h = 6.0
[[operation]]
id = "brush"
task = "brush"
implement = "drag-brush"
"#;

/// The job above with one text in place of another; a text `+…` is added at the end.
pub fn changed(from: &str, to: &str) -> String {
    if from == "+" {
        return format!("{JOB}{to}\n");
    }
    assert!(JOB.contains(from), "{from}");
    JOB.replacen(from, to, 1)
}

fn read_alone(text: &str) -> Result<Job, Faults> {
    read("job.toml", text, |file| {
        Err(Fault {
            file: file.to_owned(),
            place: String::new(),
            text: "cannot be read: there is no such file".to_owned(),
        })
    })
}

pub fn told(result: Result<Job, Faults>) -> String {
    match result {
        Ok(job) => format!("no fault; {} warnings", job.warnings.len()),
        Err(faults) => faults.to_string(),
    }
}

#[test]
fn a_hybrid_surface_without_a_depth_refuses_tasks_that_cut_deep() {
    let surface = "[pitch.surface]\nkind = \"hybrid\"\n";
    let core = changed("task = \"brush\"", "task = \"core\"") + surface;
    assert_eq!(
        told(read_alone(&core)),
        "job.toml: line 15: the default depth of `core`, 75 mm, is deeper than 10 mm on a hybrid surface without `max_depth_mm`; ask its supplier and write it under `[pitch.surface]`"
    );
    let limited = core.replace("kind = \"hybrid\"", "max_depth_mm = 25");
    assert_eq!(
        told(read_alone(&limited)),
        "job.toml: line 15: the default depth of `core`, 75 mm, is deeper than `max_depth_mm` 25; write a `depth_mm` of 25 or less"
    );
    let shallow = changed("task = \"brush\"", "task = \"core\"\ndepth_mm = 10") + surface;
    assert_eq!(told(read_alone(&shallow)), "no fault; 0 warnings");
    let known = core + "max_depth_mm = 80\n";
    assert_eq!(told(read_alone(&known)), "no fault; 0 warnings");
}

#[test]
fn everything_wrong_is_told_in_one_go() {
    let text = r#"nmae = "Test pitch"
[pitch]
length_m = "long"
width_m = 680
bearing_deg = 400
[implement.drag-brush]
working_width_m = 2
overlap_m = 1.5
[[operation]]
id = "brush"
task = "brusch"
implement = "drag-brash"
zones = ["everywhere"]
"#;
    assert_eq!(
        told(read_alone(text)),
        "job.toml: the job has no `name`; write one at the top, text in quotes\n\
         job.toml: line 1: unknown key `nmae`; did you mean `name`?\n\
         job.toml: line 3: `length_m` is the text \"long\"; write a number from 10 to 500\n\
         job.toml: line 4: `width_m` 680 is outside 10 to 500\n\
         job.toml: line 5: `bearing_deg` 400 is outside 0 to 360\n\
         job.toml: line 6: `[implement.drag-brush]` has no `speed_km_h`; add it, a number from 0.1 to 40\n\
         job.toml: line 8: `overlap_m` 1.5 is not below half of `working_width_m` 2.0; lower it below 1.0\n\
         job.toml: line 11: unknown task `brusch`; did you mean `brush`?\n\
         job.toml: line 12: unknown implement `drag-brash`; did you mean `drag-brush`?\n\
         job.toml: line 13: unknown zone `everywhere`; write a kind such as `goalmouth`, a zone such as `goalmouth-south` or a region such as `all`"
    );
}

#[test]
fn an_empty_file_is_told_what_a_job_needs() {
    assert_eq!(
        told(read_alone("")),
        "job.toml: the job has no `name`; write one at the top, text in quotes\n\
         job.toml: the pitch has no sizes; write `length_m` and `width_m` under `[pitch]`, or draw its outline with role `pitch` in a ground file"
    );
}

#[test]
fn no_more_faults_are_told_than_can_be_mended_at_once() {
    let mut text = String::new();
    for number in 0..500 {
        let _ = writeln!(text, "key_{number} = 1");
    }
    let faults = read_alone(&text).unwrap_err().0;
    assert_eq!(faults.len(), limits::FAULTS_TOLD + 1);
    assert_eq!(
        faults.last().unwrap().to_string(),
        "job.toml: 402 more faults are not shown; mend these first"
    );
}

#[test]
fn sizes_beyond_the_limits_are_refused() {
    let many = "[[operation]]\n".repeat(101);
    assert_eq!(
        told(read_alone(&format!("{JOB}{many}"))),
        "job.toml: line 13: 102 operations are too many; at most 100 are read"
    );
    assert_eq!(
        told(read_alone(&format!(
            "{JOB}directions = [{}]",
            "\"along\",".repeat(13)
        ))),
        "job.toml: line 17: 13 directions of an operation are too many; at most 12 are read"
    );
    let long = "#".repeat(limits::JOB_BYTES.greatest + 1);
    assert_eq!(
        told(read_alone(&long)),
        "job.toml: 1048577 bytes of a job file are too many; at most 1048576 are read"
    );
}

#[test]
fn a_whole_job_is_read_as_it_is_meant() {
    let text = r#"name = "North pitch"
date = 2026-06-02
currency = "£"
[pitch]
length_m = 105
width_m = 68
ends = ["north", "south"]
run_off_m = { west = 3.2, east = 4.1, south = 5.0, north = 4.6 }
stands = { west = "Main stand" }
[pitch.corners]
sw = { lat_deg = 55.3115, lon_deg = -3.7205 }
se = { lat_deg = 55.3115, lon_deg = -3.7194 }
[pitch.surface]
kind = "hybrid"
max_depth_mm = 25
[places]
entrance = { at = "se", along_m = 4, out_m = 3 }
[crew]
people = 4
price_per_h = 18.5
[material.dressing-sand]
kind = "sand"
density_t_per_m3 = [1.5, 1.6]
[tractor.compact]
turn_radius_m = { left = 2.9, right = 3.2 }
body = { width_m = 1.5, ahead_m = 2.4, behind_m = 0.9 }
[implement.drag-brush]
tractor = "compact"
working_width_m = 1.8
overlap_m = 0.1
speed_km_h = 6
reach_m = 1.6
[implement.strip]
working_width_m = 2
speed_km_h = 2
[[operation]]
id = "strip"
task = "strip"
implement = "strip"
ends = "hold_inside"
[[operation]]
id = "work-in-sand"
task = "brush"
implement = "drag-brush"
zones = ["goalmouth", "centre-strip"]
wear = [4, 5]
directions = ["along", { angle_deg = 20 }, { heading_deg = 340 }]
start = { line = [[0, 0], [10, 0]], between = true }
remainder = "full"
perimeter_rounds = 2
order = "lands"
depth_mm = 5
dressing_mm = 2
material = "dressing-sand"
people = 2
[[hand]]
id = "fork-goalmouth"
kind = "board"
zone = "goalmouth-south"
board = { length_m = 3, width_m = 0.23 }
fork = { tines = 4, tine_spacing_mm = 60, tine_diameter_mm = 10, depth_mm = 200, step_mm = 100 }
[plan]
goals_out = true
gpx_waypoints = true
effort = "thorough"
task_data = "3.3"
"#;
    let job = read("renovation/job.toml", text, |_| unreachable!()).unwrap();
    assert_eq!(job.date.as_deref(), Some("2026-06-02"));
    assert_eq!(job.pitch.ends, Some([Compass::North, Compass::South]));
    assert_eq!(
        job.pitch.lie,
        Lie::Corners(vec![
            (
                Corner::Sw,
                Position {
                    lat_deg: 55.3115,
                    lon_deg: -3.7205
                }
            ),
            (
                Corner::Se,
                Position {
                    lat_deg: 55.3115,
                    lon_deg: -3.7194
                }
            ),
        ])
    );
    let Some(RunOff::BySide(sides)) = &job.pitch.run_off else {
        panic!("{:?}", job.pitch.run_off)
    };
    assert_eq!((sides[&Compass::West], sides[&Compass::North]), (3.2, 4.6));
    assert_eq!(job.pitch.surface.kind, SurfaceKind::Hybrid);
    assert_eq!(job.entrance.unwrap().at, Corner::Se);
    assert_eq!(
        job.materials["dressing-sand"].density_t_per_m3,
        Some((1.5, 1.6))
    );

    let [strip, brush] = job.operations.as_slice() else {
        panic!("two operations")
    };
    // The task's `over_m` holds where `ends` is given; its depth is said to be a default.
    assert_eq!((strip.ends, strip.over_m), (Ends::HoldInside, 1.0));
    let depth = strip.depth.unwrap();
    assert_eq!((depth.depth_mm, depth.is_default), (5.0, true));
    assert_eq!(strip.implement.tractor, None);
    assert_eq!(strip.implement.corner_radius_m(), 0.0);
    assert_eq!(strip.zones, ["all"]);
    assert_eq!(strip.directions, [Direction::Along]);
    assert_eq!(strip.min_pass_m, 0.05);

    assert_eq!((brush.task, brush.number), (Task::Brush, 2));
    assert_eq!((brush.ends, brush.over_m), (Ends::RunOver, 0.0));
    assert_eq!(
        brush.directions[2],
        Direction::Heading(Heading::from_deg(340.0))
    );
    assert!(matches!(brush.start, Start::Line { between: true, .. }));
    assert_eq!(
        (brush.remainder, brush.order),
        (Remainder::Full, Order::Lands)
    );
    assert_eq!(brush.implement.corner_radius_m(), 3.2);
    assert!(brush.asks_material && !strip.asks_material);
    assert!(!brush.depth.unwrap().is_default);

    let [hand] = job.hand.as_slice() else {
        panic!("one piece of hand work")
    };
    assert_eq!((hand.id.as_str(), hand.people), ("fork-goalmouth", None));
    let HandKind::Board(board) = &hand.kind else {
        panic!("{hand:?}")
    };
    assert_eq!((board.angle, board.stages), (Angle::from_deg(90.0), 2));
    assert_eq!((board.s_per_forking, board.coincident_tines), (12.0, 1.5));
    assert_eq!((board.board.width_m, board.fork.step_mm), (0.23, 100.0));
    assert!(job.settings.goals_out && !job.settings.accept_unknown_services);
    assert!(job.settings.gpx_waypoints);
    assert_eq!(job.settings.stops_share, 0.25);
    assert_eq!(job.settings.effort, Effort::Thorough);
    assert_eq!(job.settings.task_data, TaskDataVersion::V3_3);
    let used = job.operations[1]
        .material
        .as_ref()
        .map(|used| (used.name.as_str(), used.number));
    assert_eq!(used, Some(("dressing-sand", 1)));
    let codes: Vec<_> = job
        .warnings
        .iter()
        .map(|w| (w.code, w.place.as_str()))
        .collect();
    assert_eq!(
        codes,
        [(Code::MaterialNotCounted, "operation `work-in-sand`")]
    );
    let lines = &job.source.lines;
    for (key, start) in [
        ("pitch.length_m", "length_m = 105"),
        ("pitch.corners.se", "se = {"),
        ("implement.drag-brush", "[implement.drag-brush]"),
        ("operation.1", "[[operation]]"),
        ("operation.2.zones", "zones = ["),
        ("operation.2.directions.2", "directions = ["),
        ("plan.goals_out", "goals_out"),
    ] {
        let line = text.lines().nth(lines[key] - 1).unwrap();
        assert!(
            line.starts_with(start),
            "{key} is said to stand in `{line}`"
        );
    }
}

#[test]
fn over_m_is_nothing_with_run_over_unless_written() {
    for (keys, ends, over_m) in [
        ("", Ends::OnLine, 0.5),
        ("ends = \"run_over\"", Ends::RunOver, 0.0),
        ("ends = \"run_over\"\nover_m = 2", Ends::RunOver, 2.0),
        ("ends = \"hold_inside\"", Ends::HoldInside, 0.5),
    ] {
        let text = changed("task = \"brush\"", &format!("task = \"spike\"\n{keys}"));
        let job = read_alone(&text).unwrap();
        let operation = &job.operations[0];
        assert_eq!((operation.ends, operation.over_m), (ends, over_m), "{keys}");
    }
}

#[test]
fn a_job_without_position_keeps_its_bearing() {
    let text = changed("centre = { lat_deg = 55.312, lon_deg = -3.72 }\n", "");
    let lie = read_alone(&text).unwrap().pitch.lie;
    assert_eq!(
        lie,
        Lie::Nowhere {
            bearing: Heading::from_deg(12.5)
        }
    );
}

// ---- opening ---------------------------------------------------------------------

#[test]
fn a_folder_and_its_job_file_are_the_same_job() {
    let folder = tempfile::tempdir().unwrap();
    let job_file = folder.path().join("job.toml");
    std::fs::write(
        &job_file,
        format!("{JOB}[ground]\nfile = \"ground.geojson\"\n"),
    )
    .unwrap();
    let ground = r#"{ "type": "FeatureCollection", "features": [] }"#;
    std::fs::write(folder.path().join("ground.geojson"), ground).unwrap();
    let by_folder = load(folder.path()).unwrap();
    assert_eq!(by_folder, load(&job_file).unwrap());
    let ground = folder.path().join("ground.geojson");
    assert_eq!(
        by_folder.source.ground_file,
        Some(ground.display().to_string())
    );
}

#[test]
fn what_cannot_be_opened_is_told_with_its_path() {
    let folder = tempfile::tempdir().unwrap();
    let shown = folder.path().display().to_string();
    let told = |name: &str| {
        load(&folder.path().join(name))
            .unwrap_err()
            .to_string()
            .replace(&shown, "DIR")
    };
    assert_eq!(
        told(""),
        "DIR/: there is no `job.toml` in this folder; `swardlane new NAME` writes one"
    );
    assert_eq!(
        told("missing.toml"),
        "DIR/missing.toml: cannot be read: there is no such file"
    );
    std::fs::write(folder.path().join("job.toml"), b"name = \"a\"\n# \xff\n").unwrap();
    assert_eq!(
        told("job.toml"),
        "DIR/job.toml: line 2: not UTF-8 text; save it as UTF-8"
    );
    std::fs::write(
        folder.path().join("job.toml"),
        format!("{JOB}[ground]\nfile = \"ground.geojson\"\n"),
    )
    .unwrap();
    assert_eq!(
        told("job.toml"),
        "DIR/ground.geojson: cannot be read: there is no such file"
    );
    std::fs::write(folder.path().join("big.toml"), "#".repeat(1 << 21)).unwrap();
    assert_eq!(
        told("big.toml"),
        "DIR/big.toml: has more than 1048576 bytes; no more are read"
    );
}

// ---- hostile input ---------------------------------------------------------------

proptest! {
    #[test]
    fn no_text_makes_the_readers_panic(text in ".{0,400}") {
        let _ = read_alone(&text);
        let _ = ground_file::read("g", &text, ground_file::Setting::default());
    }

    /// The good job with some bytes taken out, put in or doubled.
    #[test]
    fn no_damage_makes_the_reader_panic(
        cuts in proptest::collection::vec((0_usize..500, 0_usize..20, "[\\[\\]{}=.,\"a-z0-9\n-]{0,6}"), 1..4)
    ) {
        let mut text: Vec<char> = swardlane::job::docs::EXAMPLE.chars().collect();
        for (at, length, put) in cuts {
            let at = at.min(text.len());
            let end = (at + length).min(text.len());
            text.splice(at..end, put.chars());
        }
        let text: String = text.into_iter().collect();
        let _ = read_alone(&text);
    }
}

#[test]
fn the_samples_load() {
    let samples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-pitches");
    let mut loaded = 0;
    for sample in std::fs::read_dir(samples).unwrap() {
        let path = sample.unwrap().path();
        if path.is_dir() {
            if let Err(faults) = load(&path) {
                panic!("{faults}");
            }
            loaded += 1;
        }
    }
    assert!(loaded >= 3, "{loaded} samples");
}

/// Files as large as allowed, made to be slow to refuse.
#[test]
fn large_hostile_files_are_refused_in_seconds() {
    let many = |line: &str| line.repeat(1_000_000 / line.len());
    let zones = format!(
        "{JOB}rates = [\n{}]\n",
        many("{ zones = [\"a\", \"bb\", \"goalmoutk\"], rate_t_per_ha = 1 },\n")
    );
    let texts = [
        many("a.b.c.d.e.f.g.h = 1\n"),
        (0..40_000).map(|n| format!("goalmoutk{n} = 1\n")).collect(),
        format!("{} = 1", vec!["a"; 500_000].join(".")),
        format!("[{}]", vec!["a"; 500_000].join(".")),
        format!("a = {}", "[".repeat(1_000_000)),
        format!("a = {}", "{a=".repeat(300_000)),
        many("[[operation]]\n"),
        (0..30_000)
            .map(|n| format!("[implement.i{n}]\nspead = 1\n"))
            .collect(),
        zones,
        many("= \n"),
        many("\"\"\"\n"),
    ];
    for text in texts {
        let started = std::time::Instant::now();
        assert!(read_alone(&text).is_err());
        let took = started.elapsed();
        let start: String = text.chars().take(40).collect();
        assert!(took.as_secs() < 10, "{took:?} for `{start}`");
    }
}
