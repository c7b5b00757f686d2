//! A ground that was written and is made into a ground file again keeps what it says of its things.

use serde_json::{Value, json};

use crate::workbench::{JOB, Workbench};

/// Things of every role but the pitch, each a small square so many steps along the pitch.
fn things() -> Vec<Value> {
    let square = |step: f64| {
        let [west, south] = [-3.7202 + step * 2e-5, 55.3119];
        let [east, north] = [west + 1e-5, south + 5e-6];
        json!([[
            [west, south],
            [east, south],
            [east, north],
            [west, north],
            [west, south]
        ]])
    };
    let all = [
        json!({ "role": "obstacle", "name": "old oak", "clearance_m": 1.5 }),
        json!({ "role": "no_go", "clearance_m": 0.25 }),
        json!({ "role": "goal", "name": "north goal", "clearance_m": 0.75 }),
        json!({ "role": "stockpile", "name": "sand", "clearance_m": 2.0 }),
        json!({ "role": "head", "name": "head 1", "clearance_m": 0.3 }),
        json!({ "role": "socket", "clearance_m": 0.2 }),
        json!({ "role": "lid", "clearance_m": 0.1 }),
        json!({ "role": "service", "name": "water main", "depth_m": 0.6 }),
        json!({ "role": "service", "name": "old cable" }),
        json!({ "role": "entrance" }),
        json!({ "role": "stand", "name": "Mill stand", "height_m": 9.5 }),
    ];
    let feature = |(step, properties): (usize, Value)| {
        let geometry = json!({ "type": "Polygon", "coordinates": square(step as f64) });
        json!({ "type": "Feature", "properties": properties, "geometry": geometry })
    };
    let mut things: Vec<Value> = all.into_iter().enumerate().map(feature).collect();
    // A zone in two pieces: it must be one zone again, for a name stands for one.
    things.push(json!({
        "type": "Feature",
        "properties": { "role": "zone", "name": "wet-corner", "wear": 5 },
        "geometry": { "type": "MultiPolygon", "coordinates": [square(14.0), square(16.0)] },
    }));
    things
}

/// The job of the workbench on that ground, planned into `out`.
fn planned() -> Workbench {
    let bench = Workbench::empty();
    bench.put("job.toml", &JOB.replace("perimeter_rounds = 1\n", ""));
    let ground = json!({ "type": "FeatureCollection", "features": things() });
    bench.put("ground.geojson", &ground.to_string());
    bench.done(&["plan", "job.toml", "--out", "out", "--quiet"]);
    bench
}

/// The properties of all features of a ground file, in some order that is always the same.
fn properties(bench: &Workbench, file: &str, keep: impl Fn(&Value) -> bool) -> Vec<String> {
    let file = bench.json(file);
    let features = file["features"].as_array().unwrap().iter();
    let properties = features.map(|feature| &feature["properties"]);
    let mut all: Vec<String> = properties
        .filter(|properties| keep(properties))
        .map(Value::to_string)
        .collect();
    all.sort();
    all
}

#[test]
fn a_written_ground_loses_nothing_on_the_way_back() {
    let bench = planned();
    for from in ["out/ground.geojson", "out/guidance/ground.shp"] {
        let to = format!("{}.again.geojson", from.replace('/', "-"));
        let said = bench.done(&["read", from, "--ground", &to]);
        let written = properties(&bench, "out/ground.geojson", |_| true);
        assert_eq!(written.len(), 14, "{written:?}");
        assert_eq!(properties(&bench, &to, |_| true), written, "{from}");
        assert!(
            said.ends_with(
                "kept with their roles: 13\n\
                 \x20 taken over: `clearance_m` of 7, `depth_m` of 1, `height_m` of 1, `wear` of 1\n\
                 \x20 not in the file: `depth_m` of 1; write it in where you know it, or the \
                 default holds\n"
            ),
            "{said}"
        );
    }
    // What was made can be planned, and says the same again.
    let job = bench.text("job.toml");
    let again = job.replace("ground.geojson", "out-ground.geojson.again.geojson");
    let lies = "length_m = 60.0\nwidth_m = 40.0\n\
                centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5\n";
    bench.put("again.toml", &again.replace(lies, ""));
    bench.done(&[
        "plan",
        "again.toml",
        "--out",
        "again",
        "--only",
        "data",
        "--quiet",
    ]);
    assert_eq!(
        properties(&bench, "again/ground.geojson", |_| true),
        properties(&bench, "out/ground.geojson", |_| true)
    );
}

#[test]
fn kml_of_our_own_keeps_all_but_what_it_does_not_hold() {
    let bench = planned();
    let from = "out/guidance/passes.kml";
    bench.done(&["read", from, "--ground", "again.geojson"]);
    // Stands are not in it; a thing without a name has one on the map.
    let named = |properties: &Value| properties["name"].is_string();
    let not_a_stand = |properties: &Value| properties["role"] != "stand";
    let written = properties(&bench, "out/ground.geojson", |one| {
        named(one) && not_a_stand(one)
    });
    let again = properties(&bench, "again.geojson", |_| true);
    for one in &written {
        assert!(again.contains(one), "{one} is lost: {again:?}");
    }
    assert_eq!(written.len(), 7, "{written:?}");
    let zones = again.iter().filter(|one| one.contains("\"zone\""));
    assert_eq!(zones.count(), 1, "zones that are laid by rule stay out");
    for clearance in ["0.25", "0.2", "0.1"] {
        let is_there = format!("\"clearance_m\":{clearance},");
        assert!(
            again.iter().any(|one| one.contains(&is_there)),
            "{is_there}"
        );
    }
}

#[test]
fn data_of_others_name_nothing_but_zones() {
    let bench = Workbench::empty();
    let placemark = |name: &str, kind: &str, data: &str, at: f64, side: f64| {
        let to = at + side;
        let ring = format!("{at},{at} {to},{at} {to},{to} {at},{to} {at},{at}");
        format!(
            "<Placemark><name>{name}</name><ExtendedData><Data name=\"role\"><value>{kind}</value>\
             </Data>{data}</ExtendedData><Polygon><outerBoundaryIs><LinearRing><coordinates>{ring}\
             </coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
        )
    };
    let zone = "<Data name=\"zone\"><value>wet</value></Data>";
    let all = [
        placemark("field", "pitch", "", 0.0, 1e-3),
        placemark("oak", "obstacle", zone, 1e-4, 1e-5),
        placemark("Wet place", "zone", zone, 3e-4, 1e-5),
    ];
    let kml = format!(
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document>{}</Document></kml>",
        all.concat()
    );
    bench.put("field.kml", &kml);
    bench.done(&["read", "field.kml", "--ground", "made.geojson"]);
    assert_eq!(
        properties(&bench, "made.geojson", |_| true),
        [
            "{\"name\":\"field\",\"role\":\"pitch\"}",
            "{\"name\":\"oak\",\"role\":\"obstacle\"}",
            "{\"name\":\"wet\",\"role\":\"zone\"}",
        ]
    );
}

#[test]
fn what_cannot_be_taken_over_is_told() {
    let bench = Workbench::empty();
    let square = |at: f64, side: f64| {
        let to = at + side;
        json!([[[at, at], [to, at], [to, to], [at, to], [at, at]]])
    };
    let feature = |properties: Value, at: f64, side: f64| {
        let geometry = json!({ "type": "Polygon", "coordinates": square(at, side) });
        json!({ "type": "Feature", "properties": properties, "geometry": geometry })
    };
    let features = [
        feature(json!({ "role": "pitch", "clearance_m": 3 }), 0.0, 1e-3),
        feature(
            json!({ "role": "obstacle", "name": "oak", "clearance_m": "two" }),
            1e-4,
            1e-5,
        ),
        feature(
            json!({ "role": "obstacle", "Clearance_m": "1.25" }),
            2e-4,
            1e-5,
        ),
        feature(json!({ "role": "lid", "clearance_m": -1 }), 3e-4, 1e-5),
        feature(
            json!({ "role": "zone", "name": "wet", "wear": 2.5 }),
            4e-4,
            1e-5,
        ),
        feature(json!({ "role": "lid", "depth_m": 1.0 }), 5e-4, 1e-5),
        feature(json!({ "role": "goal", "clearance_m": null }), 6e-4, 1e-5),
    ];
    let file = json!({ "type": "FeatureCollection", "features": features });
    bench.put("field.geojson", &file.to_string());
    let said = bench.done(&["read", "field.geojson", "--ground", "made.geojson"]);
    assert!(
        said.ends_with(
            "kept with their roles: 6\n\
             \x20 taken over: `clearance_m` of 1\n\
             \x20 not in the file: `clearance_m` of 2; write it in where you know it, or the default \
             holds\n\
             \x20 left out, for it is no number within its limits: `clearance_m` `two` of `oak` and \
             2 more; write it in\n"
        ),
        "{said}"
    );
    assert_eq!(
        properties(&bench, "made.geojson", |_| true),
        [
            "{\"clearance_m\":1.25,\"role\":\"obstacle\"}",
            "{\"name\":\"oak\",\"role\":\"obstacle\"}",
            "{\"name\":\"wet\",\"role\":\"zone\"}",
            "{\"role\":\"goal\"}",
            "{\"role\":\"lid\"}",
            "{\"role\":\"lid\"}",
            "{\"role\":\"pitch\"}",
        ]
    );
}
