//! Written, read back by our own reader, and equal to the plan within rounding: every file that
//! is written so far and can be read, on a pitch at hand and on one across 180 degrees.

use std::io::{Cursor, Write as _};

use swardlane::found::{self, Bundle, Format, Found, FoundLine};
use swardlane::job;
use swardlane::passes::Track;
use swardlane::plan::{Plan, plan};
use swardlane::space::{Position, Xy};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use crate::workbench::{GROUND, JOB, Workbench};

/// Half a unit of the ninth decimal, and a little for the way there.
const ROUNDED_DEG: f64 = 0.6e-9;

/// The job of the workbench with its plan, its written files in `out`; moved so far east.
pub(super) fn planned(east_deg: f64) -> (Workbench, Plan) {
    let bench = Workbench::empty();
    let lon_deg = -3.72 + east_deg;
    bench.put(
        "job.toml",
        &JOB.replace("lon_deg = -3.72", &format!("lon_deg = {lon_deg}")),
    );
    let mut ground: serde_json::Value = serde_json::from_str(GROUND).unwrap();
    move_east(&mut ground, east_deg);
    bench.put("ground.geojson", &ground.to_string());
    bench.done(&["plan", "job.toml", "--out", "out", "--quiet"]);
    let job = job::load(&bench.path("job.toml")).unwrap();
    (bench, plan(&job).unwrap())
}

/// Moves the longitude of every position.
fn move_east(value: &mut serde_json::Value, east_deg: f64) {
    match value {
        serde_json::Value::Array(list) => {
            if let [serde_json::Value::Number(lon), serde_json::Value::Number(_)] = &list[..] {
                let lon = lon.as_f64().unwrap() + east_deg;
                list[0] = (lon - 360.0 * (lon / 360.0).round()).into();
            } else {
                list.iter_mut().for_each(|one| move_east(one, east_deg));
            }
        }
        serde_json::Value::Object(object) => {
            for one in object.values_mut() {
                move_east(one, east_deg);
            }
        }
        _ => {}
    }
}

/// Reads a written file as the command would: with what lies beside it.
pub(super) fn read(bench: &Workbench, name: &str) -> (Format, Found) {
    found::read(found::load::load(&bench.path(name)).unwrap()).unwrap()
}

/// Demands that two positions are the same place within rounding.
fn assert_near(found: &Position, wanted: &Position, what: &str) {
    let east = (found.lon_deg - wanted.lon_deg + 540.0).rem_euclid(360.0) - 180.0;
    let north = found.lat_deg - wanted.lat_deg;
    assert!(
        east.abs() <= ROUNDED_DEG && north.abs() <= ROUNDED_DEG,
        "{what}: {found:?} instead of {wanted:?}"
    );
    assert!(found.lon_deg.abs() <= 180.0, "{what}: {found:?}");
}

/// Every line of a plan: its operation, direction, pass and part, and its places.
pub(super) fn lines_of(plan: &Plan) -> Vec<(String, String, String, Vec<Xy>)> {
    let mut lines = Vec::new();
    for operation in &plan.operations {
        for (index, direction) in operation.directions.iter().enumerate() {
            for pass in &direction.passes.passes {
                for part in &pass.parts {
                    let name = match part.number {
                        1 => format!("pass {}", pass.number),
                        part => format!("pass {} part {part}", pass.number),
                    };
                    let run = match &part.track {
                        Track::Straight { from, to } => vec![*from, *to],
                        Track::Round(line) => line.0.clone(),
                    };
                    let direction = format!("direction {}", index + 1);
                    lines.push((operation.operation.id.clone(), direction, name, run));
                }
            }
        }
    }
    lines
}

fn assert_lines(found: &[FoundLine], plan: &Plan, file: &str) {
    let wanted = lines_of(plan);
    assert!(wanted.len() > 40, "{file}: only {} lines", wanted.len());
    assert_eq!(found.len(), wanted.len(), "{file}");
    let projector = plan.ground.frame.as_ref().unwrap().open().unwrap();
    for (line, (operation, direction, name, run)) in found.iter().zip(&wanted) {
        let what = format!("{file}: {operation}, {direction}, {name}");
        assert_eq!(line.label.name.as_ref(), Some(name), "{what}");
        assert_eq!(
            line.label.within,
            [operation.clone(), direction.clone()],
            "{what}"
        );
        let run = projector.positions(run.iter().copied()).unwrap();
        assert_eq!(line.positions.len(), run.len(), "{what}");
        for (found, wanted) in line.positions.iter().zip(&run) {
            assert_near(found, wanted, &what);
        }
    }
}

/// Demands that a ground is found whole: as large as the plan's, and of one polygon.
fn assert_pitch(found: &Found, plan: &Plan, file: &str) {
    let pitches: Vec<_> = found
        .areas
        .iter()
        .filter(|area| area.label.kind.as_deref() == Some("pitch"))
        .collect();
    assert_eq!(pitches.len(), 1, "{file}: the pitch is in pieces");
    let projector = plan.ground.frame.as_ref().unwrap().open().unwrap();
    let outline = &plan.ground.outline.exterior().0;
    let mut wanted = projector
        .positions(outline.iter().skip(1).copied())
        .unwrap();
    let ring = &pitches[0].rings[0];
    assert_eq!(ring.len(), wanted.len(), "{file}");
    // The rings may begin at any of their corners; both run anticlockwise.
    let is_first = |at: &Position| (at.lat_deg - ring[0].lat_deg).abs() <= ROUNDED_DEG;
    let first = wanted.iter().position(is_first).unwrap();
    wanted.rotate_left(first);
    for (found, wanted) in ring.iter().zip(&wanted) {
        assert_near(found, wanted, file);
    }
}

#[test]
fn passes_and_ground_come_back_equal_to_the_plan() {
    let (bench, plan) = planned(0.0);
    for (name, format) in [
        ("out/passes.geojson", Format::GeoJson),
        ("out/guidance/passes.shp", Format::Shapefile),
    ] {
        let (is, found) = read(&bench, name);
        assert_eq!(is, format, "{name}");
        assert_lines(&found.lines, &plan, name);
        assert!(found.areas.is_empty() && found.places.is_empty() && found.remarks.is_empty());
    }
    for name in ["out/ground.geojson", "out/guidance/ground.shp"] {
        assert_pitch(&read(&bench, name).1, &plan, name);
    }
}

#[test]
fn what_was_cut_at_180_degrees_is_whole_again() {
    let (bench, plan) = planned(183.72);
    let written = bench.text("out/passes.geojson");
    assert!(written.contains("MultiLineString"), "nothing is cut");
    assert!(bench.text("out/ground.geojson").contains("MultiPolygon"));
    for name in ["out/passes.geojson", "out/guidance/passes.shp"] {
        assert_lines(&read(&bench, name).1.lines, &plan, name);
    }
    for name in ["out/ground.geojson", "out/guidance/ground.shp"] {
        let found = read(&bench, name).1;
        assert_pitch(&found, &plan, name);
        // The run-off and the zone lie across it too, the tree and the head do not.
        assert_eq!(found.areas.len(), 3, "{name}");
    }
    // A ground file of it holds the pitch as one Polygon again, and can be planned.
    bench.done(&["read", "out/ground.geojson", "--ground", "again.geojson"]);
    let job = bench
        .text("job.toml")
        .replace("ground.geojson", "again.geojson");
    let lies = job
        .split("length_m")
        .nth(1)
        .unwrap()
        .split("run_off_m")
        .next()
        .unwrap();
    bench.put("again.toml", &job.replace(&format!("length_m{lies}"), ""));
    bench.done(&[
        "plan",
        "again.toml",
        "--out",
        "again",
        "--only",
        "data",
        "--quiet",
    ]);
    let summary = bench.json("again/summary.json");
    let length_m = summary["pitch"]["length_m"].as_f64().unwrap();
    assert!((length_m - 60.0).abs() < 0.001, "{length_m}");
}

#[test]
fn things_of_the_ground_keep_their_names_and_kinds() {
    let (bench, _) = planned(0.0);
    let called = |found: &Found| {
        let areas = found.areas.iter().map(|area| &area.label);
        let lines = found.lines.iter().map(|line| &line.label);
        let places = found.places.iter().map(|place| &place.label);
        let mut all: Vec<String> = areas
            .chain(lines)
            .chain(places)
            .map(|label| format!("{:?} {:?}", label.kind, label.name))
            .collect();
        all.sort();
        all
    };
    let whole = called(&read(&bench, "out/ground.geojson").1);
    let mut parts: Vec<String> = ["ground", "ground-lines", "ground-points"]
        .iter()
        .flat_map(|name| called(&read(&bench, &format!("out/guidance/{name}.shp")).1))
        .collect();
    parts.sort();
    assert_eq!(whole, parts);
    assert_eq!(whole.len(), 7, "{whole:?}");
}

#[test]
fn every_geojson_file_is_read_with_all_its_features() {
    let (bench, _) = planned(0.0);
    for name in ["zones", "targets", "missed"] {
        let name = format!("out/{name}.geojson");
        let features = bench.json(&name)["features"].as_array().unwrap().len();
        let found = read(&bench, &name).1;
        assert!(features > 0 && found.areas.len() >= features, "{name}");
    }
}

/// Every position of a JSON geometry, in its order.
fn positions_of(value: &serde_json::Value, found: &mut Vec<[f64; 2]>) {
    let list = value.as_array().unwrap();
    match (list.first(), list.get(1)) {
        (Some(lon), Some(lat)) if lon.is_number() => {
            found.push([lon.as_f64().unwrap(), lat.as_f64().unwrap()]);
        }
        _ => list.iter().for_each(|one| positions_of(one, found)),
    }
}

/// All positions of a GeoJSON file, feature by feature.
fn written_positions(bench: &Workbench, name: &str) -> Vec<Vec<[f64; 2]>> {
    let file = bench.json(name);
    let features = file["features"].as_array().unwrap().iter();
    let of_feature = |feature: &serde_json::Value| {
        let mut found = Vec::new();
        positions_of(&feature["geometry"]["coordinates"], &mut found);
        found
    };
    features.map(of_feature).collect()
}

#[test]
fn a_drive_comes_back_leg_by_leg() {
    let bench = Workbench::empty();
    let tractor = "[tractor.small]\nturn_radius_m = 2.5\nturn_speed_km_h = 4.0\n";
    let with_tractor = JOB.replace(
        "[implement.mower]\n",
        &format!("{tractor}[implement.mower]\ntractor = \"small\"\n"),
    );
    bench.put("job.toml", &with_tractor);
    bench.put("ground.geojson", GROUND);
    let words = [
        "plan", "job.toml", "--out", "out", "--only", "data", "--quiet", "--effort", "quick",
    ];
    bench.done(&words);
    let written = written_positions(&bench, "out/route.geojson");
    let (_, found) = read(&bench, "out/route.geojson");
    assert!(written.len() > 40, "only {} legs", written.len());
    assert_eq!(found.lines.len(), written.len());
    for (line, leg) in found.lines.iter().zip(&written) {
        let read: Vec<[f64; 2]> = line
            .positions
            .iter()
            .map(|at| [at.lon_deg, at.lat_deg])
            .collect();
        assert_eq!(read, *leg, "{:?}", line.label);
    }
}

#[test]
fn hand_work_comes_back_hole_by_hole() {
    let bench = Workbench::empty();
    let stadium = concat!(env!("CARGO_MANIFEST_DIR"), "/sample-pitches/stadium");
    bench.done(&[
        "plan",
        stadium,
        "--out",
        "out",
        "--only",
        "data",
        "--quiet",
        "--no-route",
    ]);
    let file = bench.json("out/hand.geojson");
    let features = file["features"].as_array().unwrap();
    let of_kind = |kind: &str| {
        let is_kind = |feature: &&serde_json::Value| feature["geometry"]["type"] == kind;
        features.iter().filter(is_kind).count()
    };
    let (_, found) = read(&bench, "out/hand.geojson");
    let written = written_positions(&bench, "out/hand.geojson");
    let holes: Vec<[f64; 2]> = written
        .iter()
        .zip(features)
        .filter(|(_, feature)| feature["geometry"]["type"] == "MultiPoint")
        .flat_map(|(positions, _)| positions.clone())
        .collect();
    let read: Vec<[f64; 2]> = found
        .places
        .iter()
        .map(|place| [place.position.lon_deg, place.position.lat_deg])
        .collect();
    assert!(holes.len() > 5_000, "only {} holes", holes.len());
    assert_eq!(read, holes);
    assert!(found.areas.len() >= of_kind("Polygon") && of_kind("Polygon") > 20);
}

#[test]
fn a_zip_of_a_shapefile_is_read_like_the_folder() {
    let (bench, plan) = planned(0.0);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for end in ["shp", "shx", "dbf", "prj", "cpg"] {
        let bytes = std::fs::read(bench.path(&format!("out/guidance/passes.{end}"))).unwrap();
        let name = format!("lines/passes.{end}");
        zip.start_file(name, SimpleFileOptions::default()).unwrap();
        zip.write_all(&bytes).unwrap();
    }
    let bundle = Bundle {
        file: "lines.zip".to_owned(),
        main: zip.finish().unwrap().into_inner(),
        ..Bundle::default()
    };
    let (format, found) = found::read(bundle).unwrap();
    assert_eq!(format, Format::Shapefile);
    assert_lines(&found.lines, &plan, "lines.zip");
}

#[test]
fn the_table_carries_the_jobs_date_and_no_other() {
    let bench = Workbench::new();
    let dates = |bench: &Workbench| -> Vec<Vec<u8>> {
        bench.done(&[
            "plan", "ground", "--out", "out", "--only", "guidance", "--quiet",
        ]);
        ["passes", "ground"]
            .iter()
            .map(|name| {
                let table = std::fs::read(bench.path(&format!("out/guidance/{name}.dbf"))).unwrap();
                assert_eq!(table[29], 0, "a code page beside .cpg");
                table[1..4].to_vec()
            })
            .collect()
    };
    assert_eq!(dates(&bench), [[70, 1, 1], [70, 1, 1]]);
    bench.put("ground/job.toml", &format!("date = 2026-06-02\n{JOB}"));
    assert_eq!(dates(&bench), [[126, 6, 2], [126, 6, 2]]);
}

#[test]
fn rings_run_clockwise_outside_and_the_header_counts_true() {
    let (bench, _) = planned(0.0);
    let bytes = std::fs::read(bench.path("out/guidance/ground.shp")).unwrap();
    let big = |at: usize| i32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
    let little = |at: usize| i32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
    let double = |at: usize| f64::from_le_bytes(bytes[at..at + 8].try_into().unwrap());
    assert_eq!(big(24) as usize * 2, bytes.len());
    let (mut at, mut records) = (100, 0);
    while at < bytes.len() {
        let (parts, points) = (little(at + 44) as usize, little(at + 48) as usize);
        assert_eq!(parts, 1, "no hole is written in this ground");
        let first = at + 52 + 4 * parts;
        let corner = |index: usize| (double(first + 16 * index), double(first + 16 * index + 8));
        let (x0, y0) = corner(0);
        let twice: f64 = (0..points - 1)
            .map(|index| {
                let ((x, y), (to_x, to_y)) = (corner(index), corner(index + 1));
                (x - x0) * (to_y - y0) - (y - y0) * (to_x - x0)
            })
            .sum();
        assert!(twice < 0.0, "record {} is anticlockwise", records + 1);
        assert_eq!(corner(0), corner(points - 1), "the ring is not closed");
        at += 8 + 2 * big(at + 4) as usize;
        records += 1;
    }
    assert_eq!(records, 3);
}
