//! What is told of broken jobs and ground files, word for word, and that good ones are
//! read as they are meant.

use std::fmt::Write as _;

use proptest::prelude::*;
use swardlane::fault::{Fault, Faults};
use swardlane::job::model::{
    Direction, Ends, Job, Lie, Order, Remainder, RunOff, Start, SurfaceKind, Task,
};
use swardlane::job::{ground_file, limits, load, read};
use swardlane::space::{Compass, Corner, Heading, Position};
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

/// What was changed, into what, and all that must be told.
const BROKEN_JOBS: &[(&str, &str, &str)] = &[
    // Numbers and limits.
    (
        "speed_km_h = 6.0",
        "speed_km_h = 6.0\noverlap_m = 1.2",
        "job.toml: line 13: `overlap_m` 1.2 is not below half of `working_width_m` 2.0; lower it below 1.0",
    ),
    (
        "12.5",
        "371",
        "job.toml: line 6: `bearing_deg` 371 is outside 0 to 360",
    ),
    (
        "105.0",
        "nan",
        "job.toml: line 3: `length_m` nan is outside 10 to 500",
    ),
    (
        "105.0",
        "-inf",
        "job.toml: line 3: `length_m` -inf is outside 10 to 500",
    ),
    (
        "105.0",
        "1_000.5",
        "job.toml: line 3: `length_m` 1000.5 is outside 10 to 500",
    ),
    (
        "105.0",
        "99999999999999999999",
        "job.toml: line 3: `length_m` 99999999999999999999 is outside 10 to 500",
    ),
    (
        "lat_deg = 55.312",
        "lat_deg = 85.1",
        "job.toml: line 5: `lat_deg` 85.1 is outside -84 to 84",
    ),
    (
        "+",
        "wear = [0, 9]",
        "job.toml: line 17: `wear` 0 is outside 1 to 5\njob.toml: line 17: `wear` 9 is outside 1 to 5",
    ),
    (
        "+",
        "over_m = -1",
        "job.toml: line 17: `over_m` -1 is outside 0 to 20",
    ),
    (
        "+",
        "people = 2.5",
        "job.toml: line 17: `people` 2.5 is not a whole number; write a whole number from 1 to 100",
    ),
    (
        "speed_km_h = 6.0",
        "speed_km_h = 6.0\nhopper_t = 0",
        "job.toml: line 13: `hopper_t` 0 is outside above 0, to 40",
    ),
    // Kinds of value.
    (
        "105.0",
        "\"105\"",
        "job.toml: line 3: `length_m` is in quotes; write 105, without quotes",
    ),
    (
        "105.0",
        "true",
        "job.toml: line 3: `length_m` is `true`; write a number from 10 to 500",
    ),
    (
        "turn_radius_m = 2.9",
        "turn_radius_m = \"small\"",
        "job.toml: line 8: `turn_radius_m` is the text \"small\"; write a number from 0 to 30 or a table `{ left = …, right = … }`",
    ),
    (
        "+",
        "zones = \"all\"",
        "job.toml: line 17: `zones` is the text \"all\"; write a list in square brackets",
    ),
    (
        "+",
        "zones = []",
        "job.toml: line 17: `zones` is empty; write at least 1, or leave it out",
    ),
    (
        "+",
        "start = { line = [[0, 0]] }",
        "job.toml: line 17: `line` has 1 entry; write 2",
    ),
    (
        "name = \"Test pitch\"",
        "name = \"  \"",
        "job.toml: line 1: `name` is empty; write something or leave it out",
    ),
    (
        "name = \"Test pitch\"",
        "name = \"two\\nlines\"",
        "job.toml: line 1: `name` holds the control character U+000A; write it on one line",
    ),
    (
        "name = \"Test pitch\"",
        "name = \"x\"\ndate = \"2026-06-02\"",
        "job.toml: line 2: `date` is the text \"2026-06-02\"; write a date like 2026-06-02, without quotes",
    ),
    (
        "name = \"Test pitch\"",
        "name = \"x\"\ndate = 2026-06-02T10:00:00",
        "job.toml: line 2: `date` 2026-06-02T10:00:00 is not a plain date; write it like 2026-06-02",
    ),
    // Words and references.
    (
        "task = \"brush\"",
        "task = \"brusch\"",
        "job.toml: line 15: unknown task `brusch`; did you mean `brush`?",
    ),
    (
        "tractor = \"compact\"",
        "tracktor = \"compact\"",
        "job.toml: line 10: unknown key `tracktor` in `[implement.drag-brush]`; did you mean `tractor`?",
    ),
    (
        "tractor = \"compact\"",
        "tractor = \"compakt\"",
        "job.toml: line 10: unknown tractor `compakt`; did you mean `compact`?",
    ),
    (
        "implement = \"drag-brush\"",
        "implement = \"mower\"",
        "job.toml: line 16: unknown implement `mower`; allowed: `drag-brush`",
    ),
    (
        "+",
        "material = \"sand\"",
        "job.toml: line 17: unknown material `sand`; the job has no `[material.sand]`",
    ),
    (
        "+",
        "zones = [\"goalmouht\"]",
        "job.toml: line 17: unknown zone `goalmouht`; did you mean `goalmouth`?",
    ),
    (
        "+",
        "zones = [\"q\"]",
        "job.toml: line 17: unknown zone `q`; write a kind such as `goalmouth`, a zone such as `goalmouth-south` or a region such as `all`",
    ),
    (
        "+",
        "directions = [\"allong\"]",
        "job.toml: line 17: unknown direction `allong`; did you mean `along`?",
    ),
    (
        "+",
        "ends = \"runover\"",
        "job.toml: line 17: unknown ends `runover`; did you mean `run_over`?",
    ),
    (
        "+",
        "order = \"q\"",
        "job.toml: line 17: unknown order `q`; allowed: `shortest`, `neighbour`, `lands`",
    ),
    (
        "+",
        "start = \"center\"",
        "job.toml: line 17: unknown start `center`; did you mean `centred`?",
    ),
    (
        "+",
        "start = { from = \"west touchline\" }",
        "job.toml: line 17: unknown line `west touchline`; did you mean `west touch line`?",
    ),
    (
        "+",
        "[plan]\nefort = \"quick\"",
        "job.toml: line 18: unknown key `efort` in `[plan]`; did you mean `effort`?",
    ),
    (
        "+",
        "[tractors.big]\nturn_radius_m = 4",
        "job.toml: line 17: unknown key `tractors`; did you mean `tractor`?",
    ),
    // Missing, twice, or side by side with what it cannot stand beside.
    (
        "name = \"Test pitch\"",
        "",
        "job.toml: the job has no `name`; write one at the top, text in quotes",
    ),
    (
        "speed_km_h = 6.0\n",
        "",
        "job.toml: line 9: `[implement.drag-brush]` has no `speed_km_h`; add it, a number from 0.1 to 40",
    ),
    (
        "id = \"brush\"\n",
        "",
        "job.toml: line 13: `[[operation]]` has no `id`; add it, text in quotes",
    ),
    (
        "+",
        "[[operation]]\nid = \"Brush\"\ntask = \"mow\"\nimplement = \"drag-brush\"",
        "job.toml: line 18: `id` `Brush` stands in line 14 already; give each its own",
    ),
    (
        "id = \"brush\"",
        "id = \"brush/1\"",
        "job.toml: line 14: `id` `brush/1` has letters that are not safe in file names; use a to z, A to Z, 0 to 9, `-` and `_`",
    ),
    (
        "+",
        "id = \"again\"",
        "job.toml: line 17: `id = \"again\"` is not valid TOML: duplicate key; the rest is checked once this is mended",
    ),
    (
        "speed_km_h = 6.0",
        "speed_km_h = 6 km/h",
        "job.toml: line 12: `speed_km_h = 6 km/h` is not valid TOML: write text in quotes, and numbers without a unit; the rest is checked once this is mended",
    ),
    (
        "task = \"brush\"",
        "task = brush",
        "job.toml: line 15: `task = brush` is not valid TOML: write text in quotes, and numbers without a unit; the rest is checked once this is mended",
    ),
    (
        "+",
        "directions = [{ angle_deg = 20, heading_deg = 3 }]",
        "job.toml: line 17: a direction in braces is `{ angle_deg = … }` or `{ heading_deg = … }`; write one of the two",
    ),
    (
        "+",
        "directions = [\"along\", \"across\", \"along\"]",
        "job.toml: line 17: direction `along` stands twice; take one out, or write a second operation",
    ),
    (
        "+",
        "start = {}",
        "job.toml: line 17: `start` in braces needs `from` or `line`, one of the two",
    ),
    (
        "+",
        "start = { from = \"west touch line\", between = true }",
        "job.toml: line 17: `between` stands without `line`; take it out",
    ),
    (
        "+",
        "start = { line = [[0, 0], [0, 0]] }",
        "job.toml: line 17: the two points of `line` are nearer than 0.1 m; write two that show its direction",
    ),
    // How the pitch lies.
    (
        "bearing_deg = 12.5\n",
        "",
        "job.toml: line 5: `centre` stands without `bearing_deg`; add the true bearing of the long axis, 0 to 360",
    ),
    (
        "bearing_deg = 12.5",
        "corners = { sw = { lat_deg = 55.3, lon_deg = -3.7 } }",
        "job.toml: line 6: `corners` and `centre` both say where the pitch lies; keep one of them",
    ),
    (
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5",
        "corners.ne = { lat_deg = 55.31, lon_deg = -3.72 }\ncorners.sw = { lat_deg = 55.312, lon_deg = -3.72 }",
        "job.toml: line 5: two opposite marks, `ne` and `sw`, leave two answers; give a third",
    ),
    (
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }",
        "corners.ne = { lat_deg = 55.31, lon_deg = -3.72 }",
        "job.toml: line 5: fewer than two corner marks do not say which way the pitch points; give two to four\n\
         job.toml: line 6: `bearing_deg` stands beside `corners`, which say it already; take it out",
    ),
    (
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5",
        "corners.ne = { lat_deg = 55.31, lon_deg = -3.72 }\ncorners.se = { lat_deg = 55.31, lon_deg = -3.72 }",
        "job.toml: line 6: marks `ne` and `se` lie at the same place; measure one again",
    ),
    (
        "width_m = 68.0\n",
        "",
        "job.toml: line 3: `length_m` stands without `width_m`; give both",
    ),
    (
        "length_m = 105.0\nwidth_m = 68.0\n",
        "",
        "job.toml: line 2: the pitch has no sizes; write `length_m` and `width_m` under `[pitch]`",
    ),
    (
        "bearing_deg = 12.5",
        "bearing_deg = 12.5\nrun_off_m = { touch = 3.0 }",
        "job.toml: line 7: `run_off_m` needs `touch` and `goal`, or all of `north`, `east`, `south` and `west`",
    ),
    (
        "bearing_deg = 12.5",
        "bearing_deg = 12.5\nends = [\"north\", \"east\"]",
        "job.toml: line 7: `ends` are `north` and `east`, which do not lie opposite; write `south` second",
    ),
    // Depth.
    (
        "+",
        "depth_mm = 30\n[pitch.surface]\nmax_depth_mm = 25",
        "job.toml: line 17: `depth_mm` 30 is deeper than `max_depth_mm` 25; lower it to 25 or less",
    ),
    (
        "+",
        "[pitch.surface]\nkind = \"hybird\"",
        "job.toml: line 18: unknown kind `hybird`; did you mean `hybrid`?",
    ),
    // Rates and hand work.
    (
        "+",
        "rate_t_per_ha = 30\nrate_g_per_m2 = 3",
        "job.toml: line 18: `rate_g_per_m2` stands beside `rate_t_per_ha`; keep one of them",
    ),
    (
        "+",
        "rates = [{ zones = [\"all\"] }]",
        "job.toml: line 17: a row of `rates` needs one of `rate_t_per_ha`, `rate_g_per_m2`, `dressing_mm`, no more and no less",
    ),
    (
        "+",
        "rates = [{ rate_t_per_ha = 3, directions = [\"across\"] }]",
        "job.toml: line 17: direction `across` is none of the operation's, `along`",
    ),
    (
        "+",
        "rate_per = \"direction\"",
        "job.toml: line 17: `rate_per` stands without a rate; take it out",
    ),
    (
        "+",
        "[material.sand]\nkind = \"sand\"\ndensity_t_per_m3 = [1.6, 1.5]",
        "job.toml: line 19: `density_t_per_m3` runs from 1.6 down to 1.5; write the lesser first",
    ),
    (
        "+",
        "[[hand]]\nid = \"fork\"\nkind = \"lanes\"\nstages = 1",
        "job.toml: line 17: `[[hand]]` of kind `lanes` has no `zone`; add it\n\
         job.toml: line 20: `stages` is not read for hand work of kind `lanes`; take it out",
    ),
    (
        "+",
        "[[hand]]\nid = \"rest\"\nkind = \"rest\"\noperation = \"brusch\"",
        "job.toml: line 20: unknown operation `brusch`; did you mean `brush`?",
    ),
    // The ground file, seen from the job.
    (
        "+",
        "[ground]\nfile = \"ground.geojson\"\ncrs = \"27700\"",
        "job.toml: line 19: `crs` `27700` names no authority; write `EPSG:27700`\nground.geojson: cannot be read: there is no such file",
    ),
];

#[test]
fn broken_jobs_are_told_word_for_word() {
    for (from, to, expected) in BROKEN_JOBS {
        let text = changed(from, to);
        assert_eq!(told(read_alone(&text)), *expected, "{to}");
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

    assert_eq!(job.hand_ids, ["fork-goalmouth"]);
    assert!(job.settings.goals_out && !job.settings.accept_unknown_services);
    assert_eq!(job.settings.stops_share, 0.25);
    let codes: Vec<_> = job
        .warnings
        .iter()
        .map(|w| (w.code, w.place.as_str()))
        .collect();
    assert_eq!(
        codes,
        [
            (Code::MaterialNotCounted, "operation `work-in-sand`"),
            (Code::HandNotPlanned, "hand work `fork-goalmouth`"),
        ]
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
