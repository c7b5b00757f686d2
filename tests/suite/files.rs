//! The written files, read back by types of the tests' own that refuse what they do not
//! know.

use std::collections::BTreeMap;

use geo::{Area as _, Validation as _};
use serde::Deserialize;
use serde_json::Value;

use super::workbench::{JOB, Workbench};

/// The shape of `summary.json`, as its readers may rely on it.
mod shape {
    #![allow(dead_code)] // read for their presence
    use super::*;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Summary {
        pub program: String,
        pub job: String,
        pub frame: Frame,
        pub pitch: Pitch,
        pub zones: Vec<Zone>,
        pub operations: Vec<Operation>,
        pub hand: Vec<Value>,
        pub totals: Totals,
        pub wheels: (),
        pub warnings: Vec<Warning>,
        pub files: Vec<String>,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Frame {
        pub origin_lat_deg: Option<f64>,
        pub origin_lon_deg: Option<f64>,
        pub bearing_deg: f64,
        pub crs: Option<String>,
        pub crs_accuracy_m: Option<f64>,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Pitch {
        pub length_m: f64,
        pub width_m: f64,
        pub area_m2: f64,
        pub misfit_m: f64,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Zone {
        pub name: String,
        pub kind: String,
        pub wear: u8,
        pub area_m2: f64,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Operation {
        pub id: String,
        pub task: String,
        pub implement: String,
        pub working_width_m: f64,
        pub overlap_m: f64,
        pub asked_spacing_m: f64,
        pub target_area_m2: f64,
        pub kept_clear_m2: f64,
        pub directions: Vec<Direction>,
        pub worked_times_m2: BTreeMap<String, f64>,
        pub time: Time,
        pub route: (),
        pub steering: Option<serde_json::Value>,
        pub wheels: (),
        pub material: (),
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Direction {
        pub name: String,
        pub angle_deg: Option<f64>,
        pub heading_deg: Option<f64>,
        pub passes: usize,
        pub parts: usize,
        pub spacing_m: Option<f64>,
        pub working_length_m: f64,
        pub work_s: f64,
        pub strip_area_m2: f64,
        pub covered_m2: f64,
        pub overlap_m2: f64,
        pub missed_m2: f64,
        pub outside_m2: f64,
        pub outside_pitch_m2: f64,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Time {
        pub work_s: f64,
        pub turn_s: f64,
        pub haul_s: f64,
        pub load_s: f64,
        pub allowance_s: f64,
        pub total_s: f64,
        pub rate_ha_per_h: f64,
        pub field_efficiency: f64,
        pub time_efficiency: f64,
        pub people: u32,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Totals {
        pub work_s: f64,
        pub total_s: f64,
        pub person_s: f64,
        pub material_t: f64,
        pub cost: f64,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    pub struct Warning {
        pub code: String,
        pub text: String,
        pub r#where: String,
    }
}

fn planned() -> Workbench {
    let bench = Workbench::new();
    bench.done(&["plan", "ground", "--out", "out", "--quiet"]);
    bench
}

fn summary(bench: &Workbench) -> shape::Summary {
    serde_json::from_str(&bench.text("out/summary.json")).unwrap()
}

/// A GeoJSON file, by the library that did not shape it.
fn features(bench: &Workbench, name: &str) -> Vec<geojson::Feature> {
    let collection: geojson::FeatureCollection = bench.text(name).parse().unwrap();
    assert!(collection.foreign_members.is_none(), "{name}");
    collection.features
}

fn property<'a>(feature: &'a geojson::Feature, key: &str) -> &'a Value {
    feature.property(key).unwrap()
}

fn shape_of(feature: &geojson::Feature) -> geo::Geometry<f64> {
    feature.geometry.clone().unwrap().try_into().unwrap()
}

const GEOJSON: [&str; 5] = [
    "ground.geojson",
    "zones.geojson",
    "targets.geojson",
    "passes.geojson",
    "missed.geojson",
];

#[test]
fn the_summary_has_these_keys_and_agrees_with_itself() {
    let bench = planned();
    let summary = summary(&bench);
    assert_eq!(
        (summary.program.as_str(), summary.job.as_str()),
        ("swardlane", "Larkmoor")
    );
    assert_eq!(summary.frame.origin_lat_deg, Some(55.312));
    assert_eq!(summary.frame.bearing_deg, 12.5);
    assert_eq!(
        (summary.frame.crs, summary.frame.crs_accuracy_m),
        (None, None)
    );
    assert_eq!(summary.pitch.area_m2, 2400.0);
    let zones_m2: f64 = summary.zones.iter().map(|zone| zone.area_m2).sum();
    assert!((zones_m2 - 2400.0).abs() < 1e-4, "{zones_m2}");
    let [mow, spike] = summary.operations.as_slice() else {
        panic!("two operations")
    };
    assert_eq!(mow.asked_spacing_m, 1.9);
    let names: Vec<&str> = mow.directions.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(names, ["rounds", "along", "diagonal_left"]);
    assert_eq!(mow.directions[0].heading_deg, None);
    assert_eq!(mow.directions[2].heading_deg, Some(327.5));
    assert_eq!(
        mow.worked_times_m2.keys().collect::<Vec<_>>(),
        ["0", "1", "2", "3"]
    );
    for operation in [mow, spike] {
        let worked_m2: f64 = operation.worked_times_m2.values().sum();
        assert!((worked_m2 - operation.target_area_m2).abs() < 1e-5);
        for one in &operation.directions {
            let gap_m2 = one.covered_m2 + one.missed_m2 - operation.target_area_m2;
            assert!(gap_m2.abs() < 2e-6, "{} {}", operation.id, one.name);
            let gap_m2 = one.strip_area_m2 - one.covered_m2 - one.overlap_m2;
            assert!(gap_m2.abs() < 2e-6, "{} {}", operation.id, one.name);
        }
        let time = &operation.time;
        let parts: usize = operation.directions.iter().map(|one| one.parts).sum();
        assert_eq!(time.turn_s, 35.0 * (parts as f64 - 1.0));
    }
    assert_eq!(summary.totals.material_t, 0.0);
}

#[test]
fn the_keys_of_the_summary_stand_in_this_order() {
    let text = planned().text("out/summary.json");
    let mut at = 0;
    for key in [
        "program",
        "job",
        "frame",
        "origin_lat_deg",
        "origin_lon_deg",
        "bearing_deg",
        "crs",
        "crs_accuracy_m",
        "pitch",
        "length_m",
        "width_m",
        "area_m2",
        "misfit_m",
        "zones",
        "operations",
        "id",
        "task",
        "implement",
        "working_width_m",
        "overlap_m",
        "asked_spacing_m",
        "target_area_m2",
        "kept_clear_m2",
        "directions",
        "name",
        "angle_deg",
        "heading_deg",
        "passes",
        "parts",
        "spacing_m",
        "working_length_m",
        "work_s",
        "strip_area_m2",
        "covered_m2",
        "overlap_m2",
        "missed_m2",
        "outside_m2",
        "outside_pitch_m2",
        "worked_times_m2",
        "time",
        "turn_s",
        "haul_s",
        "load_s",
        "allowance_s",
        "total_s",
        "rate_ha_per_h",
        "field_efficiency",
        "time_efficiency",
        "people",
        "route",
        "material",
        "hand",
        "totals",
        "person_s",
        "material_t",
        "cost",
        "warnings",
        "files",
    ] {
        let found = text[at..].find(&format!("\"{key}\": "));
        at += found.unwrap_or_else(|| panic!("`{key}` is missing or out of order"));
    }
    assert!(text.ends_with("}\n"));
}

#[test]
fn the_documents_explain_every_key_and_column() {
    let bench = planned();
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/outputs.md");
    let documents = std::fs::read_to_string(root).unwrap();
    let mut words = std::collections::BTreeSet::new();
    for file in GEOJSON.iter().copied().chain(["summary.json"]) {
        let value = bench.json(&format!("out/{file}"));
        let mut all = Vec::new();
        numbers(&value, "", &mut all);
        words.extend(all.into_iter().map(|(key, _)| key.to_owned()));
    }
    words.extend(
        [
            "role", "kind", "where", "route", "material", "hand", "program",
        ]
        .map(str::to_owned),
    );
    let header = bench.text("out/passes.csv");
    words.extend(header.lines().next().unwrap().split(',').map(str::to_owned));
    // Counts of directions and the GeoJSON standard's own word are no keys of ours.
    words.retain(|word| word != "coordinates" && word.parse::<u32>().is_err());
    assert!(words.len() > 50, "{words:?}");
    for word in words {
        assert!(
            documents.contains(&format!("`{word}`")),
            "`{word}` is not explained"
        );
    }
}

#[test]
fn the_schema_names_every_key_and_no_other() {
    let bench = planned();
    let schema: Value = serde_json::from_str(&bench.done(&["schema", "summary"])).unwrap();
    let mut n_objects = 0;
    let root = bench.json("out/summary.json");
    let mut open: Vec<(&Value, &Value)> = vec![(&root, &schema)];
    while let Some((value, mut rule)) = open.pop() {
        if let Some(path) = rule["$ref"].as_str() {
            rule = schema.pointer(path.trim_start_matches('#')).unwrap();
        }
        match value {
            Value::Object(object) if rule["properties"].is_object() => {
                n_objects += 1;
                let named: Vec<&String> = rule["properties"].as_object().unwrap().keys().collect();
                assert_eq!(object.keys().collect::<Vec<_>>(), named);
                for (key, value) in object {
                    let rule = &rule["properties"][key];
                    assert!(
                        rule["description"].is_string() || rule["$ref"].is_string(),
                        "{key} is not explained"
                    );
                    open.push((value, rule));
                }
            }
            Value::Array(items) => open.extend(items.iter().map(|item| (item, &rule["items"]))),
            _ => {}
        }
    }
    assert!(n_objects > 20, "{n_objects}");
}

/// Every number below a value, with the key it stands under.
fn numbers<'a>(value: &'a Value, key: &'a str, all: &mut Vec<(&'a str, f64)>) {
    match value {
        Value::Object(object) => {
            for (key, value) in object {
                numbers(value, key, all);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| numbers(item, key, all)),
        Value::Number(number) => all.push((key, number.as_f64().unwrap())),
        _ => {}
    }
}

#[test]
fn figures_have_at_most_six_decimals_and_positions_nine_or_ten() {
    let bench = planned();
    let mut n_positions = 0;
    for file in GEOJSON.iter().copied().chain(["summary.json"]) {
        let value = bench.json(&format!("out/{file}"));
        let mut all = Vec::new();
        numbers(&value, "", &mut all);
        for (key, number) in all {
            let decimals = match key {
                "coordinates" => 9,
                "origin_lat_deg" | "origin_lon_deg" => 10,
                _ => 6,
            };
            n_positions += usize::from(decimals > 6);
            let told: f64 = format!("{number:.decimals$}").parse().unwrap();
            assert_eq!(told, number, "{file}: `{key}`");
            assert!(
                number != 0.0 || number.is_sign_positive(),
                "{file}: `{key}` is -0"
            );
        }
    }
    assert!(n_positions > 1000, "{n_positions}");
}

#[test]
fn each_geojson_file_has_its_keys_and_valid_shapes() {
    let keys: [&[&str]; 5] = [
        &["role"],
        &["area_m2", "kind", "name", "wear"],
        &["area_m2", "operation"],
        &[
            "direction",
            "heading_deg",
            "length_m",
            "operation",
            "part",
            "pass",
            "shortened_m",
            "width_m",
        ],
        &["area_m2", "direction", "operation"],
    ];
    let bench = planned();
    for (name, keys) in GEOJSON.into_iter().zip(keys) {
        let features = features(&bench, &format!("out/{name}"));
        assert!(!features.is_empty(), "{name}");
        for feature in &features {
            let properties = feature.properties.as_ref().unwrap();
            if name == "ground.geojson" {
                assert!(properties.contains_key("role"));
            } else {
                assert_eq!(properties.keys().collect::<Vec<_>>(), keys, "{name}");
            }
            let shape = shape_of(feature);
            assert!(shape.is_valid(), "{name}: {properties:?}");
            let polygons = match shape {
                geo::Geometry::Polygon(polygon) => vec![polygon],
                geo::Geometry::MultiPolygon(polygons) => polygons.0,
                _ => Vec::new(),
            };
            for polygon in polygons {
                use geo::winding_order::Winding as _;
                assert!(polygon.exterior().is_ccw(), "{name}");
                assert!(
                    polygon.interiors().iter().all(|hole| hole.is_cw()),
                    "{name}"
                );
            }
        }
    }
}

#[test]
fn the_ground_is_written_with_roles_and_clearances() {
    let bench = planned();
    let told: Vec<Value> = features(&bench, "out/ground.geojson")
        .iter()
        .map(|feature| Value::Object(feature.properties.clone().unwrap()))
        .collect();
    assert_eq!(
        Value::Array(told),
        serde_json::json!([
            { "role": "pitch" },
            { "role": "run_off" },
            { "role": "obstacle", "name": "old oak", "clearance_m": 1.5 },
            { "role": "head", "name": "head 1", "clearance_m": 0.75 },
            { "role": "entrance" },
            { "role": "zone", "name": "wet-corner", "wear": 5 },
            { "role": "stand", "name": "Mill stand", "height_m": 9.5 },
        ])
    );
}

#[test]
fn the_written_ground_is_a_ground_file_that_gives_the_same_plan() {
    let bench = planned();
    let sizes_and_place = JOB
        .lines()
        .filter(|line| !line.starts_with("centre") && !line.starts_with("bearing"))
        .filter(|line| !line.starts_with("run_off"))
        .collect::<Vec<_>>()
        .join("\n");
    bench.put("again/job.toml", &sizes_and_place);
    bench.put("again/ground.geojson", &bench.text("out/ground.geojson"));
    let first = summary(&bench);
    let again: shape::Summary =
        serde_json::from_str(&bench.done(&["plan", "again", "--json", "--quiet"])).unwrap();
    // Nine decimals move each corner by up to 0.06 mm.
    let near = |a: f64, b: f64| (a - b).abs() < 0.02;
    assert!((first.frame.bearing_deg - again.frame.bearing_deg).abs() < 1e-3);
    assert_eq!(first.zones.len(), again.zones.len());
    for (a, b) in first.zones.iter().zip(&again.zones) {
        assert_eq!(a.name, b.name);
        assert!(near(a.area_m2, b.area_m2), "{a:?} {b:?}");
    }
    for (a, b) in first.operations.iter().zip(&again.operations) {
        assert!(near(a.target_area_m2, b.target_area_m2), "{a:?} {b:?}");
        assert!(near(a.kept_clear_m2, b.kept_clear_m2), "{a:?} {b:?}");
    }
}

#[test]
fn passes_and_missed_places_agree_with_the_summary() {
    let bench = planned();
    let summary = summary(&bench);
    let passes = features(&bench, "out/passes.geojson");
    let missed = features(&bench, "out/missed.geojson");
    let of = |feature: &geojson::Feature, id: &str, direction: usize| {
        *property(feature, "operation") == id && *property(feature, "direction") == direction
    };
    for operation in &summary.operations {
        let unworked_m2 = operation.worked_times_m2["0"];
        let listed = std::iter::once((0, unworked_m2))
            .chain((1..).zip(operation.directions.iter().map(|one| one.missed_m2)));
        for (number, missed_m2) in listed {
            let places = missed
                .iter()
                .filter(|feature| of(feature, &operation.id, number));
            let areas: Vec<f64> = places
                .map(|place| property(place, "area_m2").as_f64().unwrap())
                .collect();
            assert!(areas.iter().all(|&area_m2| area_m2 >= 1e-4));
            let gap_m2 = missed_m2 - areas.iter().sum::<f64>();
            assert!(
                (-1e-5..0.01).contains(&gap_m2),
                "{} {number}: {gap_m2}",
                operation.id
            );
        }
        for (number, direction) in (1..).zip(&operation.directions) {
            let parts: Vec<_> = passes
                .iter()
                .filter(|feature| of(feature, &operation.id, number))
                .collect();
            assert_eq!(parts.len(), direction.parts);
            let length_m: f64 = parts
                .iter()
                .map(|part| property(part, "length_m").as_f64().unwrap())
                .sum();
            assert!((length_m - direction.working_length_m).abs() < 1e-4);
            let numbers: std::collections::BTreeSet<u64> = parts
                .iter()
                .map(|part| property(part, "pass").as_u64().unwrap())
                .collect();
            assert_eq!(numbers.len(), direction.passes);
            assert_eq!(numbers.first(), Some(&1));
        }
    }
    let targets = features(&bench, "out/targets.geojson");
    assert_eq!(targets.len(), 2);
    assert_eq!(
        property(&targets[0], "area_m2").as_f64(),
        Some(summary.operations[0].target_area_m2)
    );
}

/// A row of `passes.csv`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    operation: String,
    direction: usize,
    pass: usize,
    part: usize,
    x0_m: f64,
    y0_m: f64,
    x1_m: f64,
    y1_m: f64,
    lon0_deg: Option<f64>,
    lat0_deg: Option<f64>,
    lon1_deg: Option<f64>,
    lat1_deg: Option<f64>,
    heading_deg: f64,
    width_m: f64,
    length_m: f64,
}

fn rows(bench: &Workbench, name: &str) -> Vec<Row> {
    let text = bench.text(name);
    assert!(text.starts_with(
        "operation,direction,pass,part,x0_m,y0_m,x1_m,y1_m,lon0_deg,lat0_deg,lon1_deg,lat1_deg,\
         heading_deg,width_m,length_m\n"
    ));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.deserialize().map(Result::unwrap).collect()
}

#[test]
fn passes_csv_has_a_row_a_part_and_of_a_round_a_row_a_side() {
    let bench = planned();
    let summary = summary(&bench);
    let rows = rows(&bench, "out/passes.csv");
    let positions: Vec<Vec<f64>> = features(&bench, "out/passes.geojson")
        .iter()
        .map(|part| match shape_of(part) {
            geo::Geometry::LineString(line) => line.coords().flat_map(|at| [at.x, at.y]).collect(),
            other => panic!("{other:?}"),
        })
        .collect();
    let mut at = 0;
    for line in positions {
        let n_sides = line.len() / 2 - 1;
        for side in 0..n_sides {
            let row = &rows[at];
            let ends = [row.lon0_deg, row.lat0_deg, row.lon1_deg, row.lat1_deg];
            assert_eq!(ends.map(Option::unwrap), line[2 * side..2 * side + 4]);
            let (dx, dy) = (row.x1_m - row.x0_m, row.y1_m - row.y0_m);
            assert!((dx.hypot(dy) - row.length_m).abs() < 3e-6, "{row:?}");
            let angle_deg = dy.atan2(dx).to_degrees();
            let turned_deg = (12.5 - angle_deg - row.heading_deg).rem_euclid(360.0);
            assert!(turned_deg.min(360.0 - turned_deg) < 1e-2, "{row:?}");
            at += 1;
        }
    }
    assert_eq!(at, rows.len());
    let of_rounds: Vec<&Row> = rows
        .iter()
        .filter(|row| row.operation == "mow" && row.direction == 1)
        .collect();
    assert!(of_rounds.len() >= 4);
    assert!(
        of_rounds
            .iter()
            .all(|row| (row.pass, row.width_m) == (1, 2.0) && row.part > 0)
    );
    let length_m: f64 = of_rounds.iter().map(|row| row.length_m).sum();
    let rounds = &summary.operations[0].directions[0];
    assert!((length_m - rounds.working_length_m).abs() < 1e-3);
}

#[test]
fn without_a_position_nothing_with_degrees_is_written() {
    let bench = Workbench::new();
    let nowhere = JOB
        .lines()
        .filter(|line| !line.starts_with("centre"))
        .filter(|line| !line.starts_with("[ground]") && !line.starts_with("file"))
        .collect::<Vec<_>>()
        .join("\n");
    bench.put("nowhere/job.toml", &nowhere);
    bench.done(&[
        "plan", "nowhere", "--out", "out", "--only", "data", "--quiet",
    ]);
    assert_eq!(bench.names("out"), ["passes.csv", "summary.json"]);
    let summary = summary(&bench);
    assert_eq!(summary.files, ["summary.json", "passes.csv"]);
    assert_eq!(
        (summary.frame.origin_lat_deg, summary.frame.origin_lon_deg),
        (None, None)
    );
    assert_eq!(summary.frame.bearing_deg, 12.5);
    assert!(summary.warnings.iter().any(|one| one.code == "no_position"));
    let rows = rows(&bench, "out/passes.csv");
    assert!(rows.len() > 50);
    assert!(
        rows.iter()
            .all(|row| row.lon0_deg.is_none() && row.lat1_deg.is_none())
    );
}

#[test]
fn a_pitch_across_180_degrees_is_cut_there_and_loses_nothing() {
    let bench = Workbench::new();
    let across = |lon_deg: &str| {
        JOB.lines()
            .filter(|line| !line.starts_with("[ground]") && !line.starts_with("file"))
            .map(|line| {
                line.replace(
                    "lat_deg = 55.312, lon_deg = -3.72",
                    &format!("lat_deg = -17.0, lon_deg = {lon_deg}"),
                )
            })
            .collect::<Vec<_>>()
            .join("\n")
    };
    bench.put("dry/job.toml", &across("12.0"));
    bench.put("east/job.toml", &across("179.99995"));
    bench.put("west/job.toml", &across("-180.0"));
    for job in ["dry", "east", "west"] {
        bench.done(&["plan", job, "--quiet", "--out", &format!("out-{job}")]);
    }
    // Square degrees, turned into square metres by the same factor everywhere.
    let area = |job: &str, file: &str| -> f64 {
        features(&bench, &format!("out-{job}/{file}"))
            .iter()
            .map(|feature| shape_of(feature).unsigned_area())
            .sum()
    };
    for file in ["zones.geojson", "targets.geojson"] {
        let dry = area("dry", file);
        for job in ["east", "west"] {
            let share = area(job, file) / dry;
            assert!((share - 1.0).abs() < 1e-6, "{job} {file}: {share}");
        }
    }
    for job in ["east", "west"] {
        let mut n_cut = 0;
        for name in GEOJSON {
            for feature in features(&bench, &format!("out-{job}/{name}")) {
                let shape = shape_of(&feature);
                assert!(shape.is_valid(), "{job} {name}");
                let is_multi = matches!(
                    shape,
                    geo::Geometry::MultiPolygon(_) | geo::Geometry::MultiLineString(_)
                );
                n_cut += usize::from(is_multi);
                use geo::CoordsIter as _;
                assert!(shape.coords_iter().all(|at| at.x.abs() <= 180.0));
            }
        }
        assert!(n_cut > 20, "{job}: {n_cut}");
    }
}
