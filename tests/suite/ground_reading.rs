//! What is told of broken ground files, word for word, and that good ones are read as
//! they are meant.

use geo::{BoundingRect, Geometry};
use proptest::prelude::*;
use swardlane::fault::Faults;
use swardlane::job::model::{Job, Role};
use swardlane::job::{ground_file, read};
use swardlane::warning::Code;

use crate::job_reading::{JOB, changed, told};

/// A place on the invented ground, some metres east and north of its middle.
pub fn spot(east_m: f64, north_m: f64) -> String {
    let round = |deg: f64| (deg * 1e7).round() / 1e7;
    format!(
        "[{}, {}]",
        round(-3.72 + east_m * 1.58e-5),
        round(55.312 + north_m * 8.98e-6)
    )
}

pub fn ring(corners: &[(f64, f64)]) -> String {
    let spots: Vec<String> = corners.iter().map(|(x, y)| spot(*x, *y)).collect();
    format!("[{}]", spots.join(", "))
}

pub const SQUARE: [(f64, f64); 5] = [
    (-50., -30.),
    (50., -30.),
    (50., 30.),
    (-50., 30.),
    (-50., -30.),
];

pub fn polygon(rings: &[&[(f64, f64)]]) -> String {
    let rings: Vec<String> = rings.iter().map(|corners| ring(corners)).collect();
    format!(
        r#"{{ "type": "Polygon", "coordinates": [{}] }}"#,
        rings.join(", ")
    )
}

pub fn point(coordinates: &str) -> String {
    format!(r#"{{ "type": "Point", "coordinates": [{coordinates}] }}"#)
}

pub fn feature(properties: &str, geometry: &str) -> String {
    format!(r#"{{ "type": "Feature", "properties": {{ {properties} }}, "geometry": {geometry} }}"#)
}

pub fn collection(features: &[String]) -> String {
    format!(
        r#"{{ "type": "FeatureCollection", "features": [{}] }}"#,
        features.join(", ")
    )
}

pub const PLACED: &str = "[ground]\nfile = \"ground.geojson\"\n";

/// A job by centre and bearing with that ground file.
fn beside(ground: &str) -> Result<Job, Faults> {
    read("job.toml", &format!("{JOB}{PLACED}"), |_| {
        Ok(ground.to_owned())
    })
}

/// A job whose pitch is the outline of the ground file, with more keys under `[ground]`.
fn outlined(ground: &str, keys: &str) -> Result<Job, Faults> {
    let text = changed(
        "centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5\n",
        "",
    );
    read("job.toml", &format!("{text}{PLACED}{keys}"), |_| {
        Ok(ground.to_owned())
    })
}

#[test]
fn degrees_where_a_projected_crs_is_named_are_told() {
    let ground = collection(&[feature(r#""role": "pitch""#, &polygon(&[&SQUARE]))]);
    assert_eq!(
        told(outlined(&ground, "crs = \"EPSG:27700\"")),
        "ground.geojson: feature 1: coordinates look like degrees (-3.72079, 55.3117306), but `[ground] crs` names `EPSG:27700`; leave `crs` out for WGS84, or write easting, northing"
    );
    // A geographic CRS counts in degrees, and a grid of one's own may start at the pitch.
    assert_eq!(
        told(outlined(&ground, "crs = \"EPSG:4258\"")),
        "no fault; 0 warnings"
    );
    let metres =
        r#"{ "type": "Polygon", "coordinates": [[[0, 0], [100, 0], [100, 60], [0, 60], [0, 0]]] }"#;
    let ground = collection(&[feature(r#""role": "pitch""#, metres)]);
    assert_eq!(
        told(outlined(&ground, "crs = \"EPSG:27700\"")),
        "no fault; 0 warnings"
    );
    let far = collection(&[
        feature(r#""role": "pitch""#, metres),
        feature(r#""role": "head""#, &point("452310, 612000")),
    ]);
    assert_eq!(
        told(outlined(&far, "crs = \"EPSG:27700\"")),
        "ground.geojson: feature 2: (452310, 612000) lies far from the outline of the pitch (0, 0) in `EPSG:27700`; at most 5 km are planned at once, check the position or take the feature out"
    );
}

#[test]
fn an_unknown_role_is_left_out_with_a_warning() {
    let ground = collection(&[
        feature(
            r#""role": "obstakle", "name": "old oak""#,
            &point("-3.72, 55.312"),
        ),
        feature(r#""role": "bench""#, "null"),
        feature(r#""role": "head""#, &point("-3.72, 55.312, 120.5")),
    ]);
    let job = beside(&ground).unwrap();
    let warnings: Vec<String> = job.warnings.iter().map(ToString::to_string).collect();
    assert_eq!(
        warnings,
        [
            "feature 1 `old oak`: left out: unknown role `obstakle`; did you mean `obstacle`?",
            "feature 2: left out: unknown role `bench`; allowed: `pitch`, `run_off`, `obstacle`, `no_go`, `goal`, `stockpile`, `head`, `socket`, `lid`, `service`, `entrance`, `zone`, `stand`",
        ]
    );
    assert!(
        job.warnings
            .iter()
            .all(|warning| warning.code == Code::UnknownRole)
    );
    assert_eq!(job.features.len(), 1);
    assert_eq!(job.features[0].number, 3);
}

#[test]
fn features_have_their_defaults_and_places() {
    let here = point("-3.72, 55.312");
    let ground = collection(&[
        feature(r#""role": "obstacle", "fid": 7"#, &here),
        feature(r#""role": "goal", "clearance_m": null"#, &here),
        feature(r#""role": "lid""#, &here),
        feature(r#""role": "service""#, &here),
        feature(r#""role": "service", "depth_m": 0.4"#, &here),
        feature(
            r#""role": "zone", "name": "wet-corner", "wear": 5"#,
            &polygon(&[&SQUARE]),
        ),
        feature(r#""role": "stand", "height_m": 25"#, &here),
    ]);
    let job = beside(&ground).unwrap();
    let roles: Vec<&Role> = job.features.iter().map(|feature| &feature.role).collect();
    assert_eq!(
        roles,
        [
            &Role::Obstacle { clearance_m: 0.5 },
            &Role::Goal { clearance_m: 0.5 },
            &Role::Lid { clearance_m: 0.75 },
            &Role::Service { depth_m: None },
            &Role::Service { depth_m: Some(0.4) },
            &Role::Zone {
                name: "wet-corner".to_owned(),
                wear: 5
            },
            &Role::Stand {
                height_m: Some(25.0)
            },
        ]
    );
}

#[test]
fn the_users_own_zones_are_words_of_the_job() {
    let ground = collection(&[feature(
        r#""role": "zone", "name": "wet-corner""#,
        &polygon(&[&SQUARE]),
    )]);
    let with = |zone: &str| {
        let text = format!("{JOB}zones = [\"{zone}\"]\n{PLACED}");
        told(read("job.toml", &text, |_| Ok(ground.clone())))
    };
    assert_eq!(with("wet-corner"), "no fault; 0 warnings");
    assert_eq!(
        with("wet-korner"),
        "job.toml: line 17: unknown zone `wet-korner`; did you mean `wet-corner`?"
    );
    assert_eq!(
        with("q"),
        "job.toml: line 17: unknown zone `q`; the zones of the ground file are `wet-corner`"
    );
}

#[test]
fn ground_across_180_degrees_is_in_one_piece() {
    let outline = r#"{ "type": "MultiPolygon", "coordinates": [[[[179.9995, 10], [-179.9995, 10], [-179.9995, 10.0005], [179.9995, 10.0005], [179.9995, 10]]]] }"#;
    let ground = collection(&[
        feature(r#""role": "pitch""#, outline),
        feature(r#""role": "obstacle""#, &point("-179.9993, 10")),
    ]);
    let job = outlined(&ground, "").unwrap();
    let Geometry::Polygon(pitch) = &job.features[0].shape else {
        panic!("one Polygon")
    };
    assert!((pitch.bounding_rect().unwrap().width() - 0.001).abs() < 1e-9);
    let Geometry::Point(tree) = job.features[1].shape else {
        panic!("a point")
    };
    assert!((tree.x() - 180.0007).abs() < 1e-9);
}

#[test]
fn large_ground_files_are_refused_before_they_are_worked_on() {
    let many = vec![feature(r#""role": "head""#, &point("-3.72, 55.312")); 2001];
    assert_eq!(
        told(beside(&collection(&many))),
        "ground.geojson: 2001 features of a ground file are too many; at most 2000 are read"
    );
    let line = vec!["[-3.72, 55.312]"; 50_001].join(", ");
    let line = format!(r#"{{ "type": "LineString", "coordinates": [{line}] }}"#);
    assert_eq!(
        told(beside(&collection(&[feature(
            r#""role": "service""#,
            &line
        )]))),
        "ground.geojson: 50001 vertices of a ground file are too many; at most 50000 are read"
    );
    let hole = ring(&[(10., 0.), (20., 0.), (20., 10.), (10., 0.)]);
    let rings = vec![hole; 300].join(", ");
    let polygon = format!(r#"{{ "type": "Polygon", "coordinates": [{rings}] }}"#);
    assert_eq!(
        told(beside(&collection(&[feature(
            r#""role": "no_go""#,
            &polygon
        )]))),
        "ground.geojson: feature 1: more than 200 rings in one feature; at most 200 are read"
    );
}

/// The slowest ring for the sweep: a comb whose teeth all overlap in both coordinates.
#[test]
fn a_ring_of_as_many_vertices_as_allowed_is_checked_in_seconds() {
    let teeth = 12_000;
    let mut corners = Vec::new();
    for tooth in 0..teeth {
        let y = f64::from(tooth) * 1e-3;
        corners.extend([(0.0, y), (40.0 - y / 10.0, y + 4e-4), (0.0, y + 8e-4)]);
    }
    corners.push((-1.0, 0.0));
    corners.push((0.0, 0.0));
    let corners: Vec<String> = corners
        .iter()
        .map(|(x, y)| format!("[{}, {}]", 1000.0 + x, 2000.0 + y))
        .collect();
    let polygon = format!(
        r#"{{ "type": "Polygon", "coordinates": [[{}]] }}"#,
        corners.join(",")
    );
    let ground = collection(&[feature(r#""role": "pitch""#, &polygon)]);
    let started = std::time::Instant::now();
    let reading = ground_file::read(
        "ground.geojson",
        &ground,
        ground_file::Setting {
            crs: Some("EPSG:27700"),
            near: None,
        },
    );
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
    assert_eq!(
        reading
            .faults
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>(),
        [""; 0]
    );
}

proptest! {
    /// Rings of few coordinates, so that points and segments fall together often.
    #[test]
    fn no_shape_makes_the_reader_panic(
        rings in proptest::collection::vec(proptest::collection::vec((0_i32..4, 0_i32..4), 0..9), 0..4),
        kind in 0_usize..3,
    ) {
        let rings: Vec<String> = rings.iter().map(|ring| {
            let mut spots: Vec<String> = ring.iter().map(|(x, y)| format!("[{x}, {y}]")).collect();
            spots.extend(spots.first().cloned());
            format!("[{}]", spots.join(","))
        }).collect();
        let geometry = match kind {
            0 => format!(r#"{{ "type": "Polygon", "coordinates": [{}] }}"#, rings.join(",")),
            1 => format!(r#"{{ "type": "MultiPolygon", "coordinates": [[{}]] }}"#, rings.join("],[")),
            _ => format!(r#"{{ "type": "MultiLineString", "coordinates": [{}] }}"#, rings.join(",")),
        };
        let ground = collection(&[feature(r#""role": "obstacle""#, &geometry)]);
        let setting = ground_file::Setting { crs: Some("EPSG:27700"), near: None };
        let reading = ground_file::read("g", &ground, setting);
        // A shape is taken or told, never both and never neither.
        prop_assert!(reading.features.is_empty() != reading.faults.is_empty());
        for feature in &reading.features {
            use geo::Validation as _;
            prop_assert!(feature.shape.is_valid(), "{:?}", feature.shape);
        }
    }
}
