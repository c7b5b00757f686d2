//! What `read` says of good files, word for word, and that what it makes of them can be used.

use super::shapes::{Shp, table};
use crate::workbench::{JOB, Workbench};

/// An invented field with a tree, two lines across it and a gate far off.
const FIELD: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"Name":"mill field"},
 "geometry":{"type":"Polygon","coordinates":[[[-3.72,55.312],[-3.718582346,55.312],[-3.718582346,55.312539],[-3.72,55.312539],[-3.72,55.312]]]}},
{"type":"Feature","properties":{"name":"old oak","kind":"obstacle"},
 "geometry":{"type":"Point","coordinates":[-3.7192,55.3122]}},
{"type":"Feature","properties":{"name":"A-B","operation":"mow"},
 "geometry":{"type":"LineString","coordinates":[[-3.7199,55.3121],[-3.7187,55.3121]]}},
{"type":"Feature","properties":{"name":"A-B 2","operation":"mow"},
 "geometry":{"type":"LineString","coordinates":[[-3.7187,55.31212],[-3.7199,55.31212]]}},
{"type":"Feature","properties":{"name":"A-B 3","operation":"mow"},
 "geometry":{"type":"LineString","coordinates":[[-3.7199,55.31214],[-3.7187,55.31214]]}},
{"type":"Feature","properties":null,"geometry":null}
]}"#;

#[test]
fn a_field_of_anothers_is_told_in_plain_words() {
    let bench = Workbench::empty();
    bench.put("field.geojson", FIELD);
    assert_eq!(
        bench.done(&["read", "field.geojson"]),
        "field.geojson: GeoJSON\n\
         3 lines, 1 area, 1 place\n\
         middle at latitude 55.312269, longitude -3.719291; 59.9 m from south to north, 89.7 m \
         from west to east\n\
         \n\
         lines\n\
         \x20 mow: 3 lines, 228.6 m in all\n\
         \x20   heading 90.00 degrees: 3 lines, 100 % of the length; 1 of them the other way; \
         2.227 m apart (2.227 to 2.227 m)\n\
         \n\
         areas\n\
         \x20 1 `mill field`: 5401.5 m2; the rectangle that fits it is 90.02 x 60.01 m, long axis at \
         90.00 degrees, corners within 0.00 m\n\
         \n\
         places\n\
         \x20 1 `old oak` (obstacle): latitude 55.3122000, longitude -3.7192000\n\
         \n\
         remarks\n\
         \x20 1 feature has no geometry and is left out\n"
    );
}

#[test]
fn json_says_the_same_with_nothing_left_out() {
    let bench = Workbench::empty();
    bench.put("field.geojson", FIELD);
    let told: serde_json::Value =
        serde_json::from_str(&bench.done(&["read", "field.geojson", "--json"])).unwrap();
    assert_eq!(told["format"], "GeoJSON");
    assert_eq!(told["sites"][0]["lines"][1]["name"], "A-B 2");
    assert_eq!(told["sites"][0]["lines"][1]["within"][0], "mow");
    let heading_deg = told["sites"][0]["lines"][1]["heading_deg"]
        .as_f64()
        .unwrap();
    assert!((heading_deg - 270.0).abs() < 0.01, "{heading_deg}");
    assert_eq!(
        told["sites"][0]["groups"][0]["headings"][0]["spacing"]["regular"],
        true
    );
    assert_eq!(
        told["remarks"][0],
        "1 feature has no geometry and is left out"
    );
}

#[test]
fn fields_far_apart_are_told_one_by_one() {
    let bench = Workbench::empty();
    bench.put(
        "gates.geojson",
        r#"{"type":"MultiPoint","coordinates":[[-3.72,55.3],[-3.71,55.3],[20,-30]]}"#,
    );
    assert_eq!(
        bench.done(&["read", "gates.geojson"]),
        "gates.geojson: GeoJSON\n\
         no lines, no areas, 3 places\n\
         the things do not lie together, but about 2 places up to 9751 km apart\n\
         \n\
         place 1\n\
         middle at latitude 55.300000, longitude -3.715000; 0.0 m from south to north, 633.0 m \
         from west to east\n\
         \n\
         places\n\
         \x20 1 without a name: latitude 55.3000000, longitude -3.7200000\n\
         \x20 2 without a name: latitude 55.3000000, longitude -3.7100000\n\
         \n\
         place 2\n\
         middle at latitude -30.000000, longitude 20.000000; 0.0 m from south to north, 0.0 m \
         from west to east\n\
         \n\
         places\n\
         \x20 3 without a name: latitude -30.0000000, longitude 20.0000000\n"
    );
}

#[test]
fn an_outline_becomes_a_ground_file_that_plans() {
    let bench = Workbench::empty();
    bench.put("field.geojson", FIELD);
    let said = bench.done(&["read", "field.geojson", "--ground", "ground.geojson"]);
    assert!(
        said.ends_with(
            "\nground.geojson is written as a ground file\n\
             \x20 pitch: area 1 `mill field`\n\
             \x20 kept with their roles: 1\n\
             \x20 not in the file: `clearance_m` of 1; write it in where you know it, or the default \
             holds\n\
             \x20 left out, for they have no role: 3; roles are `pitch`, `run_off`, `obstacle`, \
             `no_go`, `goal`, `stockpile`, `head`, `socket`, `lid`, `service`, `entrance`, `zone`, \
             `stand`\n"
        ),
        "{said}"
    );
    let job = JOB
        .replace("length_m = 60.0\nwidth_m = 40.0\n", "")
        .replace(
            "centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5\n",
            "",
        );
    bench.put("job.toml", &job);
    bench.done(&["plan", "job.toml", "--out", "out", "--quiet"]);
    let summary = bench.json("out/summary.json");
    let length_m = summary["pitch"]["length_m"].as_f64().unwrap();
    assert!((length_m - 90.016).abs() < 0.001, "{length_m}");
    let ground = bench.json("out/ground.geojson");
    let roles: Vec<&str> = ground["features"]
        .as_array()
        .unwrap()
        .iter()
        .map(|feature| feature["properties"]["role"].as_str().unwrap())
        .collect();
    assert_eq!(roles, ["pitch", "run_off", "obstacle"]);
}

#[test]
fn of_several_areas_the_pitch_the_largest_or_the_named_one_is_taken() {
    let bench = Workbench::empty();
    let area = |name: &str, kind: &str, side: f64| {
        format!(
            "{{\"type\":\"Feature\",\"properties\":{{\"name\":\"{name}\"{kind}}},\"geometry\":{{\
             \"type\":\"Polygon\",\"coordinates\":[[[0,0],[{side},0],[{side},{side}],[0,{side}],\
             [0,0]]]}}}}"
        )
    };
    let put = |kind: &str| {
        let areas = [
            area("small", kind, 0.0005),
            area("large", "", 0.002),
            area("middling", "", 0.001),
        ];
        bench.put(
            "fields.geojson",
            &format!(
                "{{\"type\":\"FeatureCollection\",\"features\":[{}]}}",
                areas.join(",")
            ),
        );
    };
    let taken = |out: &str, take: &[&str]| {
        let arguments = [&["read", "fields.geojson", "--ground", out], take].concat();
        bench.done(&arguments);
        let ground = bench.json(out);
        let features = ground["features"].as_array().unwrap();
        assert_eq!(features[0]["properties"]["role"], "pitch");
        features[0]["properties"]["name"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    put("");
    assert_eq!(taken("a.geojson", &[]), "large");
    assert_eq!(taken("b.geojson", &["--take", "middling"]), "middling");
    assert_eq!(taken("c.geojson", &["--take", "1"]), "small");
    put(",\"role\":\"pitch\"");
    assert_eq!(taken("d.geojson", &[]), "small");
}

#[test]
fn a_line_starts_a_job_whose_passes_ride_it() {
    let bench = Workbench::new();
    // 1.2 m off the middle of the pitch of that job, along its long axis; and a slanted one.
    bench.put(
        "lines.geojson",
        r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"name":"along"},"geometry":{"type":"LineString","coordinates":
 [[-3.720136,55.311829],[-3.719914,55.312400]]}},
{"type":"Feature","properties":{"name":"slanted"},"geometry":{"type":"LineString","coordinates":
 [[-3.72015,55.3119],[-3.7199,55.3121]]}}]}"#,
    );
    for (name, direction) in [("along", "[\"along\"]"), ("slanted", "angle_deg")] {
        let said = bench.done(&["read", "lines.geojson", "--line", name, "--for", "ground"]);
        let lines: Vec<&str> = said.lines().collect();
        assert_eq!(lines.len(), 3, "{said}");
        assert!(lines[0].starts_with("# line "), "{said}");
        assert!(lines[1].contains(direction), "{said}");
        let job = JOB.replace(
            "perimeter_rounds = 1\ndirections = [\"along\", \"diagonal_left\"]\n",
            &format!("{}\n{}\n", lines[1], lines[2]),
        );
        bench.put("ground/job.toml", &job);
        bench.done(&["plan", "ground", "--out", "out", "--quiet"]);
        let start: toml::Table = lines[2].parse().unwrap();
        let at = |index: usize, axis: usize| {
            let value = &start["start"]["line"][index][axis];
            value
                .as_float()
                .or_else(|| Some(value.as_integer()? as f64))
                .unwrap()
        };
        let (from, to) = ((at(0, 0), at(0, 1)), (at(1, 0), at(1, 1)));
        let way = (to.0 - from.0, to.1 - from.1);
        let beside = |x: f64, y: f64| {
            ((x - from.0) * way.1 - (y - from.1) * way.0).abs() / way.0.hypot(way.1)
        };
        let table = bench.text("out/passes.csv");
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        let least = reader
            .records()
            .map(|row| {
                let row = row.unwrap();
                let cell = |index: usize| row[index].parse::<f64>().unwrap();
                beside(cell(4), cell(5)).max(beside(cell(6), cell(7)))
            })
            .fold(f64::INFINITY, f64::min);
        // A hundredth of a degree along half a pitch is 5 mm; the line itself is given to 0.1 mm.
        assert!(
            least < 0.005,
            "{name}: the nearest pass is {least} m off\n{said}"
        );
    }
}

#[test]
fn shapefiles_of_others_are_read_with_their_names() {
    let bench = Workbench::empty();
    let square = |x: f64, size: f64| {
        [
            (x, 0.0),
            (x, size),
            (x + size, size),
            (x + size, 0.0),
            (x, 0.0),
        ]
    };
    let mut hole = square(2e-4, 1e-4);
    hole.iter_mut().for_each(|corner| corner.1 += 2e-4);
    hole.reverse();
    let mut wrong_way = square(0.002, 1e-3);
    wrong_way.reverse();
    let shp = Shp::new(5)
        .line(&[&square(0.0, 1e-3), &hole])
        .nothing()
        .line(&[&wrong_way]);
    bench.put_bytes("FIELD.SHP", &shp.bytes());
    let mut dbf = table("NAME", &["one", "two", "three"]);
    let end = dbf.len() - 1;
    dbf[end - 5..end].copy_from_slice(b"K\xf6ln ");
    bench.put_bytes("FIELD.DBF", &dbf);
    assert_eq!(
        bench.done(&["read", "FIELD.SHP"]),
        "FIELD.SHP: shapefile\n\
         no lines, 2 areas, no places\n\
         middle at latitude 0.000500, longitude 0.001500; 111.2 m from south to north, 333.6 m \
         from west to east\n\
         \n\
         areas\n\
         \x20 1 `one`: 12186.0 m2 less 1 hole; the rectangle that fits it is 111.32 x 110.57 m, \
         long axis at 90.00 degrees, corners within 0.00 m\n\
         \x20 2 `Köln`: 12309.1 m2; the rectangle that fits it is 111.32 x 110.57 m, long axis at \
         90.00 degrees, corners within 0.00 m\n\
         \n\
         remarks\n\
         \x20 letters beyond a to z in names are read as Latin 1\n\
         \x20 1 record has no shape and is left out\n\
         \x20 there is no .prj beside it; the coordinates are taken as WGS84 longitude and latitude\n"
    );
}

#[test]
fn a_shapefile_in_a_national_grid_says_how_exact_it_is() {
    let bench = Workbench::empty();
    let corners = [
        (300_000.0, 600_000.0),
        (300_000.0, 600_068.0),
        (300_105.0, 600_068.0),
        (300_105.0, 600_000.0),
        (300_000.0, 600_000.0),
    ];
    bench.put_bytes("field.shp", &Shp::new(5).line(&[&corners]).bytes());
    bench.put(
        "field.prj",
        "PROJCS[\"British_National_Grid\",GEOGCS[\"GCS_OSGB_1936\",DATUM[\"D_OSGB_1936\",\
         SPHEROID[\"Airy_1830\",6377563.396,299.3249646]],PRIMEM[\"Greenwich\",0.0],\
         UNIT[\"Degree\",0.0174532925199433]],PROJECTION[\"Transverse_Mercator\"],\
         PARAMETER[\"False_Easting\",400000.0],PARAMETER[\"False_Northing\",-100000.0],\
         PARAMETER[\"Central_Meridian\",-2.0],PARAMETER[\"Scale_Factor\",0.9996012717],\
         PARAMETER[\"Latitude_Of_Origin\",49.0],UNIT[\"Meter\",1.0]]",
    );
    let said = bench.done(&["read", "field.shp"]);
    assert!(
        said.contains(
            "7143.5 m2; the rectangle that fits it is 105.03 x 68.02 m, long axis at 88.70"
        ),
        "{said}"
    );
    assert!(
        said.ends_with(
            "remarks\n\
             \x20 there is no .dbf beside it, so nothing has a name\n\
             \x20 the coordinates are of `British_National_Grid`, transformed with an accuracy of \
             2 m\n"
        ),
        "{said}"
    );
}

#[test]
fn points_with_heights_are_read_without_them() {
    let bench = Workbench::empty();
    let shp = Shp::new(1).point((-3.72, 55.312)).point((-3.7201, 55.312));
    bench.put_bytes("heads.shp", &shp.bytes());
    let said = bench.done(&["read", "heads.shp"]);
    assert!(said.contains("no lines, no areas, 2 places\n"), "{said}");
}

#[test]
fn the_documents_hold_the_limits_that_are_kept() {
    let docs = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/formats.md");
    let docs = std::fs::read_to_string(docs).unwrap();
    let table = swardlane::found::limits::table();
    assert!(table.lines().count() > 20, "{table}");
    assert!(docs.contains(&table), "docs/formats.md must hold:\n{table}");
    // Said once: no other line names them.
    for number in ["20,000", "200,000", "16 MiB"] {
        assert!(docs.matches(number).count() <= 1, "{number} stands twice");
    }
}
