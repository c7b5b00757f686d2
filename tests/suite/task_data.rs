//! Task data: written, and read back by the program's own reader.

use std::collections::BTreeSet;
use std::io::{Cursor, Read as _};

use swardlane::formats::guidance;
use swardlane::found::{Found, FoundLine, task_data};
use swardlane::job;
use swardlane::passes::Track;
use swardlane::plan::{Plan, plan};
use swardlane::space::{Position, Xy};

use crate::workbench;

/// Half a unit of the ninth decimal, and what the way through pitch metres adds, degrees.
const ROUNDING_DEG: f64 = 1e-9;

/// What the job does besides mowing: a rate by place, deep work.
const MORE: &str = r#"[[operation]]
id = "sand"
task = "sand"
implement = "mower"
directions = ["along", "across"]
material = "dressing-sand"
rates = [
  { zones = ["goalmouth"], rate_t_per_ha = 90.0 },
  { zones = ["all"], rate_t_per_ha = 30.0 },
]
[[operation]]
id = "tine"
task = "deep_tine"
implement = "mower"
depth_mm = 200.0
zones = ["goalmouth"]
directions = ["across"]
[[operation]]
id = "seed"
task = "drill"
implement = "mower"
depth_mm = 8.0
directions = ["along"]
rate_g_per_m2 = 35.0
[places]
entrance = { at = "se", along_m = 4.0, out_m = 2.0 }
[material.dressing-sand]
kind = "sand"
density_t_per_m3 = 1.5
"#;

/// A job with rounds, a part cut by a tree, a rate by place and deep work: the workbench's mowing,
/// and more.
fn job_text() -> String {
    let spikes = workbench::JOB
        .find("[[operation]]\nid = \"spike\"")
        .unwrap();
    let mowing = workbench::JOB[..spikes]
        .replace("\"Larkmoor\"", "\"Larkmoor <north> & \\\"south\\\"\"")
        .replace(
            "lat_deg = 55.312, lon_deg = -3.72",
            "lat_deg = LAT, lon_deg = LON",
        );
    format!("{mowing}{MORE}")
}

fn ground(lat_deg: f64, lon_deg: f64) -> String {
    let at = |east_m: f64, north_m: f64| {
        let lon = lon_deg + east_m / 111_320.0 / lat_deg.to_radians().cos();
        let lon = if lon > 180.0 { lon - 360.0 } else { lon };
        format!("[{lon:.9},{:.9}]", lat_deg + north_m / 111_320.0)
    };
    let feature = |properties: &str, geometry: String| {
        format!(r#"{{"type":"Feature","properties":{{{properties}}},"geometry":{geometry}}}"#)
    };
    let point = |place: String| format!(r#"{{"type":"Point","coordinates":{place}}}"#);
    let features = [
        feature(
            r#""role":"obstacle","name":"old \"oak\" & ash","clearance_m":1.5"#,
            point(at(-4.0, 10.0)),
        ),
        feature(r#""role":"head","name":"head 1""#, point(at(5.0, -6.0))),
        feature(r#""role":"socket""#, point(at(3.0, -9.0))),
        feature(
            r#""role":"service","depth_m":0.4"#,
            format!(
                r#"{{"type":"LineString","coordinates":[{},{}]}}"#,
                at(-9.0, -9.0),
                at(9.0, -9.0)
            ),
        ),
    ];
    format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    )
}

fn planned_at(job: &str, lat_deg: f64, lon_deg: f64) -> Plan {
    let text = job
        .replace("LAT", &format!("{lat_deg:?}"))
        .replace("LON", &format!("{lon_deg:?}"));
    let job = job::read("job.toml", &text, |_| Ok(ground(lat_deg, lon_deg))).unwrap();
    plan(&job).unwrap()
}

fn planned(job: &str) -> Plan {
    planned_at(job, 55.312, -3.72)
}

fn with_version_3(job: &str) -> String {
    format!("{job}[plan]\ntask_data = \"3.3\"\n")
}

fn xml(plan: &Plan) -> String {
    let files = guidance::files(plan).unwrap();
    let (_, bytes) = files
        .iter()
        .find(|(name, _)| name.ends_with("TASKDATA.XML"))
        .unwrap();
    String::from_utf8(bytes.clone()).unwrap()
}

fn alone(_: &str) -> Option<Vec<u8>> {
    None
}

fn read(text: &str) -> Found {
    task_data::read("TASKDATA.XML", text.as_bytes(), &alone).unwrap()
}

/// Every part of a plan: its operation and direction, whether it is straight, its positions.
fn parts(plan: &Plan) -> Vec<(String, bool, Vec<Position>)> {
    let projector = plan.ground.frame.as_ref().unwrap().open().unwrap();
    let mut all = Vec::new();
    for planned in &plan.operations {
        for direction in &planned.directions {
            let group = format!("{} {}", planned.operation.id, direction.passes.name);
            for part in direction.passes.passes.iter().flat_map(|pass| &pass.parts) {
                let (is_straight, places): (bool, Vec<Xy>) = match &part.track {
                    Track::Straight { from, to } => (true, vec![*from, *to]),
                    Track::Round(line) => (false, line.0.clone()),
                };
                all.push((
                    group.clone(),
                    is_straight,
                    projector.positions(places).unwrap(),
                ));
            }
        }
    }
    all
}

fn assert_near(have: &[Position], want: &[Position], what: &str) {
    assert_eq!(have.len(), want.len(), "{what}");
    for (have, want) in have.iter().zip(want) {
        let turn = (have.lon_deg - want.lon_deg + 540.0).rem_euclid(360.0) - 180.0;
        assert!(turn.abs() <= ROUNDING_DEG, "{what}: {have:?} {want:?}");
        assert!(
            (have.lat_deg - want.lat_deg).abs() <= ROUNDING_DEG,
            "{what}"
        );
    }
}

/// The lines of a file are the parts of the plan, in their order, each under a name of its own.
fn assert_lines_of(plan: &Plan, found: &Found, is_version_4: bool) {
    let parts = parts(plan);
    assert_eq!(found.lines.len(), parts.len());
    let mut names = BTreeSet::new();
    for (FoundLine { label, positions }, (group, is_straight, want)) in
        found.lines.iter().zip(&parts)
    {
        let name = label.name.clone().unwrap();
        assert!(name.starts_with(group), "{name}: {group}");
        assert!(name.chars().count() <= 32, "{name}");
        assert!(names.insert(name.clone()), "{name} stands twice");
        let kind = match (is_version_4, is_straight) {
            (true, true) => "A-B",
            (true, false) => "curve",
            (false, _) => "guidance",
        };
        assert_eq!(label.kind.as_deref(), Some(kind));
        assert_eq!(
            label.within.len(),
            if is_version_4 { 2 } else { 1 },
            "{:?}",
            label.within
        );
        assert_near(positions, want, &name);
    }
}

#[test]
fn version_4_reads_back_as_the_plan() {
    let plan = planned(&job_text());
    let text = xml(&plan);
    let found = read(&text);
    assert_lines_of(&plan, &found, true);
    let kinds: Vec<_> = found
        .areas
        .iter()
        .map(|area| area.label.kind.clone().unwrap())
        .collect();
    let count = |kind: &str| kinds.iter().filter(|have| *have == kind).count();
    assert_eq!(count("partfield boundary"), 1);
    assert_eq!(count("obstacle"), 1);
    // The goalmouths and the rest, in both directions.
    assert_eq!(count("treatment zone"), 6);
    let oak = &found.areas[1].label;
    assert_eq!(oak.name.as_deref(), Some("old \"oak\" & ash"));
    assert_eq!(oak.within, ["Larkmoor <north> & \"south\""]);
    let places: Vec<_> = found
        .places
        .iter()
        .map(|place| {
            (
                place.label.name.clone().unwrap(),
                place.label.kind.clone().unwrap(),
            )
        })
        .collect();
    let place = |name: &str, kind: &str| (name.to_owned(), kind.to_owned());
    assert_eq!(
        places,
        [
            place("Entrance", "field access"),
            place("head 1", "obstacle"),
            place("socket", "obstacle"),
        ]
    );
    assert_eq!(
        found.remarks,
        [
            "task data, version 4.3, written by Swardlane",
            "field `Larkmoor <north> & \"south\"`: 2400 m2",
            "product `dressing-sand`",
            "task `mow rounds`: nothing is put down",
            "task `mow along`: nothing is put down",
            "task `mow diagonal_left`: nothing is put down",
            "task `tine across`: nothing is put down",
            "task `sand along`: in zone 1 4500 g/m2 of `dressing-sand`",
            "task `sand along`: in zone 2 1500 g/m2 of `dressing-sand`",
            "task `sand across`: in zone 1 4500 g/m2 of `dressing-sand`",
            "task `sand across`: in zone 2 1500 g/m2 of `dressing-sand`",
            "task `seed along`: in zone 1 35 g/m2",
        ]
    );
}

#[test]
fn version_3_reads_back_as_the_plan() {
    let plan = planned(&with_version_3(&job_text()));
    let text = xml(&plan);
    assert!(text.contains("VersionMajor=\"3\" VersionMinor=\"3\""));
    for absent in ["<GGP", "<GPN"] {
        assert!(!text.contains(absent), "{absent}");
    }
    assert!(text.contains("Version 3.3 has no guidance groups"));
    for point in text.lines().filter(|line| line.contains("<PNT")) {
        assert!(point.contains("<PNT A=\"2\""), "{point}");
    }
    let found = read(&text);
    assert_lines_of(&plan, &found, false);
    assert!(
        found
            .places
            .iter()
            .all(|place| place.label.kind.as_deref() == Some("other"))
    );
}

#[test]
fn each_pattern_has_one_line_and_an_a_b_line_two_points() {
    let plan = planned(&job_text());
    let text = xml(&plan);
    let patterns: Vec<&str> = text.split("<GPN ").skip(1).collect();
    assert_eq!(patterns.len(), parts(&plan).len());
    for pattern in patterns {
        let pattern = pattern.split("</GPN>").next().unwrap();
        assert_eq!(pattern.matches("<LSG A=\"5\">").count(), 1);
        let points = pattern.matches("<PNT").count();
        if pattern.contains("C=\"1\"") {
            assert_eq!(points, 2);
            assert!(pattern.contains(" G=\""));
        } else {
            assert!(pattern.contains("C=\"3\"") && points >= 2);
        }
        for (kind, times) in [("6", 1), ("7", 1)] {
            assert_eq!(
                pattern.matches(&format!("<PNT A=\"{kind}\"")).count(),
                times
            );
        }
    }
}

#[test]
fn the_zip_holds_the_folder_and_never_changes() {
    let files = guidance::files(&planned(&job_text())).unwrap();
    assert_eq!(files, guidance::files(&planned(&job_text())).unwrap());
    let named = |end: &str| {
        &files
            .iter()
            .find(|(name, _)| name.ends_with(end))
            .unwrap()
            .1
    };
    let mut zip = zip::ZipArchive::new(Cursor::new(named(".zip").clone())).unwrap();
    assert_eq!(zip.len(), 1);
    let mut file = zip.by_index(0).unwrap();
    assert_eq!(file.name().unwrap(), "TASKDATA/TASKDATA.XML");
    assert_eq!(file.last_modified().map(|date| date.year()), Some(1980));
    let mut bytes = Vec::new();
    file.read_to_end(&mut bytes).unwrap();
    assert_eq!(&bytes, named("TASKDATA.XML"));
}

/// Ids with the names beside them.
fn ids(text: &str) -> BTreeSet<(String, String)> {
    let of = |line: &str, key: &str| {
        let from = line.split(&format!(" {key}=\"")).nth(1)?;
        Some(from.split('"').next()?.to_owned())
    };
    text.lines()
        .filter(|line| {
            ["<GGP", "<GPN", "<PDT", "<TSK"]
                .iter()
                .any(|tag| line.trim().starts_with(tag))
        })
        .map(|line| (of(line, "A").unwrap(), of(line, "B").unwrap()))
        .collect()
}

#[test]
fn an_operation_at_the_end_renumbers_nothing() {
    let more = r#"[[operation]]
id = "top-up"
task = "sand"
implement = "mower"
directions = ["across"]
material = "another-sand"
rate_t_per_ha = 10.0
[material.another-sand]
kind = "sand"
"#;
    let (before, after) = (
        ids(&xml(&planned(&job_text()))),
        ids(&xml(&planned(&format!("{}{more}", job_text())))),
    );
    assert!(before.len() > 100 && before.is_subset(&after));
    let numbers: BTreeSet<&String> = after.iter().map(|(id, _)| id).collect();
    assert_eq!(numbers.len(), after.len(), "an id stands twice");
    assert!(numbers.iter().all(|id| id.len() <= 14));
    assert!(after.contains(&("PDT2".to_owned(), "another-sand".to_owned())));
}

#[test]
fn an_operation_planned_alone_keeps_its_ids() {
    let whole = ids(&xml(&planned(&job_text())));
    let text = job_text().replace("LAT", "55.312").replace("LON", "-3.72");
    let mut job = job::read("job.toml", &text, |_| Ok(ground(55.312, -3.72))).unwrap();
    job.operations.retain(|operation| operation.id == "sand");
    let alone = ids(&xml(&plan(&job).unwrap()));
    assert!(!alone.is_empty() && alone.is_subset(&whole));
}

#[test]
fn long_ids_are_cut_and_stay_apart() {
    let long = "renovation-of-the-whole-northern-ground";
    let job = job_text()
        .replace("id = \"mow\"", &format!("id = \"{long}-one\""))
        .replace("id = \"sand\"", &format!("id = \"{long}-two\""));
    let text = xml(&planned(&job));
    let found = read(&text);
    let names: BTreeSet<_> = found
        .lines
        .iter()
        .map(|line| line.label.name.clone().unwrap())
        .collect();
    assert_eq!(names.len(), found.lines.len());
    assert!(names.iter().all(|name| name.chars().count() <= 32));
    assert!(
        names.contains("renovation-of-the-whole~1/3 12"),
        "{names:?}"
    );
    let tasks: BTreeSet<_> = ids(&text)
        .into_iter()
        .filter(|(id, _)| id.starts_with("TSK"))
        .map(|(_, name)| name)
        .collect();
    assert_eq!(tasks.len(), 7);
}

#[test]
fn headings_are_true_far_from_the_middle_of_a_grid_zone() {
    // 60 degrees north, 2.5 degrees off the middle of its zone: a grid is 2.2 degrees off north.
    let plan = planned_at(&job_text(), 60.0, 5.5);
    let text = xml(&plan);
    let heading =
        |line: &str| -> Option<f64> { line.split(" G=\"").nth(1)?.split('"').next()?.parse().ok() };
    let written: Vec<f64> = text
        .lines()
        .filter(|line| line.contains("<GPN"))
        .filter_map(heading)
        .collect();
    let laid: Vec<f64> = plan
        .operations
        .iter()
        .flat_map(|planned| &planned.directions)
        .filter_map(|direction| Some((direction.passes.heading?, direction.passes.part_count())))
        .flat_map(|(heading, parts)| vec![heading.deg(); parts])
        .collect();
    assert_eq!(written.len(), laid.len());
    for (written, laid) in written.iter().zip(&laid) {
        let off = (written - laid + 540.0).rem_euclid(360.0) - 180.0;
        assert!(off.abs() < 0.01, "{written} {laid}");
    }
}

#[test]
fn a_pitch_across_180_degrees_is_not_cut() {
    for (lat_deg, lon_deg) in [(-16.8, 180.0), (60.0, -179.9999)] {
        let plan = planned_at(&job_text(), lat_deg, lon_deg);
        let found = read(&xml(&plan));
        assert_lines_of(&plan, &found, true);
        let both_sides = |positions: &[Position]| {
            positions.iter().any(|at| at.lon_deg > 179.0)
                && positions.iter().any(|at| at.lon_deg < -179.0)
        };
        assert!(
            found
                .lines
                .iter()
                .any(|line| line.positions.len() == 2 && both_sides(&line.positions))
        );
        let fields = found
            .areas
            .iter()
            .filter(|area| area.label.kind.as_deref() == Some("partfield boundary"));
        let fields: Vec<_> = fields.collect();
        assert_eq!(fields.len(), 1);
        assert_eq!(fields[0].rings[0].len(), 4);
        assert!(both_sides(&fields[0].rings[0]));
    }
}

#[test]
fn deep_work_carries_the_services_wording_where_a_terminal_shows_it() {
    let text = xml(&planned(&job_text()));
    let head = text.split("<PFD").next().unwrap();
    assert_eq!(
        head.matches("this plan shows recorded services only")
            .count(),
        1
    );
    assert!(head.contains("park on the SE peg") && head.contains("within 5 cm"));
    let task = |name: &str| {
        let from = text
            .split(&format!("B=\"{name}\" E=\"PFD1\""))
            .nth(1)
            .unwrap();
        let pieces = from
            .split("</TSK>")
            .next()
            .unwrap()
            .split("<CAN C=\"")
            .skip(1);
        pieces
            .map(|piece| {
                let text = piece.split('"').next().unwrap();
                text.replace("&apos;", "'")
            })
            .collect::<Vec<_>>()
    };
    let deep = task("tine across");
    assert_eq!(deep[0], "Check on a peg: 5 cm, else canes");
    assert!(
        deep.iter().all(|piece| piece.chars().count() <= 32),
        "{deep:?}"
    );
    assert!(
        deep[1..]
            .join(" ")
            .contains("get the records, trace the services on the ground")
    );
    assert_eq!(task("mow along").len(), 1);
}

#[test]
fn without_a_position_there_is_no_task_data() {
    let job = job_text()
        .replace("centre = { lat_deg = LAT, lon_deg = LON }\n", "")
        .replace("[ground]\nfile = \"ground.geojson\"\n", "");
    let job = job::read("job.toml", &job, |_| unreachable!()).unwrap();
    let files = guidance::files(&plan(&job).unwrap()).unwrap();
    assert!(files.iter().all(|(name, _)| !name.contains("TASKDATA")));
}

#[test]
fn a_hole_of_the_outline_is_a_hole_of_the_field() {
    let at = |x: f64, y: f64| format!("[{:.9},{:.9}]", -3.72 + x * 1.5e-5, 55.312 + y * 9e-6);
    let ring = |corners: [(f64, f64); 4]| {
        let mut corners: Vec<String> = corners.iter().map(|&(x, y)| at(x, y)).collect();
        corners.push(corners[0].clone());
        format!("[{}]", corners.join(","))
    };
    let pitch = format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"role":"pitch"}},"geometry":{{"type":"Polygon","coordinates":[{},{}]}}}}]}}"#,
        ring([(0.0, 0.0), (40.0, 0.0), (40.0, 60.0), (0.0, 60.0)]),
        ring([(10.0, 10.0), (10.0, 14.0), (14.0, 14.0), (14.0, 10.0)]),
    );
    let text = r#"name = "With a hole"
[ground]
file = "ground.geojson"
[implement.mower]
working_width_m = 2.0
speed_km_h = 6.0
[[operation]]
id = "mow"
task = "mow"
implement = "mower"
"#;
    let job = job::read("job.toml", text, |_| Ok(pitch.clone())).unwrap();
    let plan = plan(&job).unwrap();
    let found = read(&xml(&plan));
    assert_eq!(found.areas.len(), 1);
    assert_eq!(found.areas[0].rings.len(), 2);
    let whole_m2 = swardlane::region::area_m2(&plan.ground.field()).round();
    assert!(
        found.remarks[1].ends_with(&format!(": {whole_m2} m2")),
        "{}",
        found.remarks[1]
    );
    let outline = geo::MultiPolygon(vec![plan.ground.outline]);
    assert!(whole_m2 < swardlane::region::area_m2(&outline) - 10.0);
}
