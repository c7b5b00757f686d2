//! Broken ground files beside a good job, and all that must be told.

use crate::ground_reading::{SQUARE, collection, feature, point, polygon, ring};

/// Beside a job that says itself where the pitch lies: the ground file and the message.
pub fn beside() -> Vec<(String, &'static str)> {
    let oak = r#""role": "obstacle", "name": "old oak""#;
    let here = point("-3.72, 55.312");
    vec![
        ("{".into(), "ground.geojson: line 1: the file stops too early (EOF while parsing an object); save or copy it again"),
        ("{\n\"type\": FeatureCollection".into(), "ground.geojson: line 2: not valid JSON: expected value; mend it there, or save the file again"),
        ("[]".into(), "ground.geojson: not GeoJSON; save it as a FeatureCollection (RFC 7946)"),
        (r#"{ "type": "Feature" }"#.into(), "ground.geojson: its `type` is `Feature`; save it as a FeatureCollection (RFC 7946)"),
        (r#"{ "type": "FeatureCollection" }"#.into(), "ground.geojson: the FeatureCollection has no list `features`; save the file again as GeoJSON"),
        (collection(&[point("1, 2")]), "ground.geojson: feature 1: its `type` is not `Feature`; put the geometry into a Feature with a `role`"),
        (collection(&[feature(oak, "null")]), "ground.geojson: feature 1 `old oak`: has no geometry; draw it or take the feature out"),
        (collection(&[feature("", &here)]),
            "ground.geojson: feature 1: has no property `role`; write one of `pitch`, `run_off`, `obstacle`, `no_go`, `goal`, `stockpile`, `head`, `socket`, `lid`, `service`, `entrance`, `zone`, `stand`"),
        (collection(&[feature(oak, r#"{ "type": "Circle" }"#)]),
            "ground.geojson: feature 1 `old oak`: unknown geometry `Circle`; allowed: `Point`, `MultiPoint`, `LineString`, `MultiLineString`, `Polygon`, `MultiPolygon`, `GeometryCollection`"),
        (collection(&[feature(oak, r#"{ "type": "Polygone" }"#)]), "ground.geojson: feature 1 `old oak`: unknown geometry `Polygone`; did you mean `Polygon`?"),
        (collection(&[feature(oak, &point("1"))]),
            "ground.geojson: feature 1 `old oak`: the `Point` is not as RFC 7946 writes it: a position must contain two or more elements, but got `1`"),
        (collection(&[feature(oak, r#"{ "type": "MultiPoint", "coordinates": [] }"#)]),
            "ground.geojson: feature 1 `old oak`: the MultiPoint is empty; draw it or take the feature out"),
        // Where things lie.
        (collection(&[feature(oak, &point("55.312, -3.72")), feature(oak, &point("55.312, -3.72"))]),
            "ground.geojson: feature 1 `old oak`: longitude and latitude look swapped (55.312, -3.72); GeoJSON writes longitude first (likewise 1 more feature)"),
        (collection(&[feature(oak, &point("30, -120"))]),
            "ground.geojson: feature 1 `old oak`: latitude -120 is beyond 90; longitude and latitude look swapped, GeoJSON writes longitude first"),
        (collection(&[feature(oak, &point("452310.7, 612000.1"))]),
            "ground.geojson: feature 1 `old oak`: coordinates look projected (452310.7); GeoJSON needs longitude, latitude in degrees, or name the CRS in `[ground] crs`"),
        (collection(&[feature(oak, &point("-3.72, 86"))]), "ground.geojson: feature 1 `old oak`: latitude 86 is outside -84 to 84; no pitch is planned nearer to a pole"),
        (collection(&[feature(oak, &point("-3.5, 55.312"))]),
            "ground.geojson: feature 1 `old oak`: (-3.5, 55.312) lies 13.9 km from the pitch of the job file; at most 5 km are planned at once, check the position or take the feature out"),
        (collection(&[feature(oak, &point("-3.72, 1e400"))]), "ground.geojson: line 1: not valid JSON: number out of range; mend it there, or save the file again"),
        // Properties.
        (collection(&[feature(r#""role": "obstacle", "clearance": 2"#, &here)]), "ground.geojson: feature 1: unknown property `clearance`; did you mean `clearance_m`?"),
        (collection(&[feature(r#""role": "obstacle", "clearance_m": "2""#, &here)]), "ground.geojson: feature 1: `clearance_m` is \"2\"; write a number from 0 to 50, without quotes"),
        (collection(&[feature(r#""role": "obstacle", "clearance_m": -2"#, &here)]), "ground.geojson: feature 1: `clearance_m` -2 is outside 0 to 50"),
        (collection(&[feature(r#""role": "zone""#, &polygon(&[&SQUARE]))]), "ground.geojson: feature 1: a zone needs a `name`; write one like `wet-corner`"),
        (collection(&[feature(r#""role": "zone", "name": "Wet corner""#, &polygon(&[&SQUARE]))]),
            "ground.geojson: feature 1 `Wet corner`: `name` `Wet corner` of a zone is not written in small letters and strokes; write it like `wet-corner`"),
        (collection(&[feature(r#""role": "zone", "name": "wing-east""#, &polygon(&[&SQUARE]))]),
            "ground.geojson: feature 1 `wing-east`: `name` `wing-east` is a word of this program; give the zone a name of its own"),
        (collection(&[feature(r#""role": "zone", "name": "wet""#, &polygon(&[&SQUARE])), feature(r#""role": "zone", "name": "wet", "wear": 2.5"#, &here)]),
            "ground.geojson: feature 2 `wet`: `wear` 2.5 is not a whole number; write 1, 2, 3, 4 or 5\n\
             ground.geojson: feature 2 `wet`: there is a zone `wet` already; give this one another name\n\
             ground.geojson: feature 2 `wet`: `zone` is a Point; draw it as a Polygon or MultiPolygon"),
        // The older `crs` member.
        (r#"{ "type": "FeatureCollection", "crs": { "type": "name", "properties": { "name": "urn:ogc:def:crs:EPSG::27700" } }, "features": [] }"#.into(),
            "ground.geojson: its member `crs` names `urn:ogc:def:crs:EPSG::27700`, but the job does not; write `crs = \"EPSG:27700\"` under `[ground]`"),
        // Two words for one place.
        (collection(&[feature(r#""role": "pitch""#, &polygon(&[&SQUARE]))]),
            "job.toml: line 5: `centre` stands beside an outline with role `pitch` in the ground file, which says where the pitch lies; keep one of them\n\
             job.toml: line 6: `bearing_deg` stands beside an outline with role `pitch` in the ground file, which says where the pitch lies; keep one of them"),
    ]
}

/// Beside a job of sizes alone, so that the outline has to say where the pitch lies.
pub fn outlines() -> Vec<(String, &'static str)> {
    let pitch = r#""role": "pitch""#;
    let [a, b, c, d, _] = SQUARE;
    let one = |geometry: String| collection(&[feature(pitch, &geometry)]);
    let multi = |polygons: &[&[(f64, f64)]]| {
        let all: Vec<String> = polygons
            .iter()
            .map(|corners| format!("[{}]", ring(corners)))
            .collect();
        format!(
            r#"{{ "type": "MultiPolygon", "coordinates": [{}] }}"#,
            all.join(", ")
        )
    };
    let aside: [(f64, f64); 4] = [(100., 0.), (110., 0.), (110., 10.), (100., 0.)];
    let across: [(f64, f64); 4] = [(40., 0.), (60., 0.), (60., 10.), (40., 0.)];
    let inside: [(f64, f64); 4] = [(10., 0.), (20., 0.), (20., 10.), (10., 0.)];
    let inside_too: [(f64, f64); 4] = [(12., 1.), (25., 1.), (25., 12.), (12., 1.)];
    vec![
        (
            one(polygon(&[&[a, b, c, d]])),
            "ground.geojson: feature 1: exterior ring is not closed: it starts at (-3.72079, 55.3117306) and stops at (-3.72079, 55.3122694); repeat the first point at the end",
        ),
        (
            one(polygon(&[&[a, b]])),
            "ground.geojson: feature 1: exterior ring has 2 points; a ring needs at least 4, the last equal to the first",
        ),
        (
            one(polygon(&[&[a, b, a, a]])),
            "ground.geojson: feature 1: exterior ring has fewer than 3 different points and encloses nothing; draw 3 corners or more",
        ),
        (
            one(polygon(&[&[a, c, b, d, a]])),
            "ground.geojson: feature 1: exterior ring crosses itself near (-3.7200000, 55.3120000); put its corners in their order round the edge",
        ),
        (
            one(polygon(&[&[a, b, (60., -30.), (45., -30.), c, d, a]])),
            "ground.geojson: feature 1: exterior ring runs along itself near (-3.7192890, 55.3117306); take out the stretch that is drawn twice",
        ),
        (
            one(polygon(&[&[a, b, (0., 0.), c, d, (0., 0.), a]])),
            "ground.geojson: feature 1: exterior ring touches itself near (-3.7200000, 55.3120000); move that corner, or draw two shapes",
        ),
        (
            one(polygon(&[])),
            "ground.geojson: feature 1: the Polygon is empty; draw it or take the feature out",
        ),
        (
            one(polygon(&[&[]])),
            "ground.geojson: feature 1: exterior ring has no points; draw it or take it out",
        ),
        (
            one(point("-3.72, 55.312")),
            "ground.geojson: feature 1: `pitch` is a Point; draw it as a Polygon",
        ),
        (
            one(multi(&[&SQUARE, &aside])),
            "ground.geojson: feature 1: `pitch` has 2 Polygons; keep one, a plan is of one pitch",
        ),
        (
            one(multi(&[&SQUARE, &across])),
            "ground.geojson: feature 1: Polygons 1 and 2 overlap; unite them\nground.geojson: feature 1: `pitch` has 2 Polygons; keep one, a plan is of one pitch",
        ),
        (
            one(polygon(&[&SQUARE, &across])),
            "ground.geojson: feature 1: hole 1 is not inside the exterior ring; move it inside or take it out",
        ),
        (
            one(polygon(&[&SQUARE, &inside, &inside_too])),
            "ground.geojson: feature 1: holes 1 and 2 overlap; unite them",
        ),
        (
            collection(&[
                feature(pitch, &polygon(&[&SQUARE])),
                feature(pitch, &polygon(&[&SQUARE])),
            ]),
            "ground.geojson: feature 2: a second `pitch`; feature 1 is one already, keep one of them",
        ),
        (
            collection(&[feature(
                r#""role": "service""#,
                r#"{ "type": "LineString", "coordinates": [[-3.72, 55.312]] }"#,
            )]),
            "job.toml: line 16: there is a ground file, but nothing says where the pitch lies; give `centre` and `bearing_deg`, or `corners`, or an outline with role `pitch`\n\
             ground.geojson: feature 1: a line has no two different points; draw it longer or as a Point",
        ),
    ]
}

/// Beside a job without sizes: sound shapes that are no pitch.
pub fn lone_outlines() -> Vec<(String, &'static str)> {
    let drawn =
        |corners: &[(f64, f64)]| collection(&[feature(r#""role": "pitch""#, &polygon(&[corners]))]);
    let side = |x: f64, y: f64| drawn(&[(0., 0.), (x, 0.), (x, y), (0., y), (0., 0.)]);
    vec![
        (
            drawn(&[(0., 0.), (100., 0.), (50., 60.), (0., 0.)]),
            "ground.geojson: feature 1: no rectangle can be fitted to it; an outline needs four corners that differ",
        ),
        (
            side(600.0, 60.0),
            "ground.geojson: feature 1: its sides are 601.9 and 60.0 m, but 10 to 500 m are allowed; check the outline and its units",
        ),
        (
            side(50.0, 8.0),
            "ground.geojson: feature 1: its sides are 50.2 and 8.0 m, but 10 to 500 m are allowed; check the outline and its units",
        ),
    ]
}

/// In a named reference system: more keys of `[ground]`, the ground file and the message.
pub fn in_metres() -> Vec<(&'static str, String, &'static str)> {
    let outline = |corners: &str| {
        let geometry = format!(r#"{{ "type": "Polygon", "coordinates": [[{corners}]] }}"#);
        feature(r#""role": "pitch""#, &geometry)
    };
    let square = outline(
        "[386400, 601200], [386500, 601200], [386500, 601260], [386400, 601260], [386400, 601200]",
    );
    let head = |at: &str| feature(r#""role": "head", "name": "head 4""#, &point(at));
    let degrees = feature(r#""role": "pitch""#, &polygon(&[&SQUARE]));
    let british = "crs = \"EPSG:27700\"";
    vec![
        (
            "crs = \"EPSG:99999\"",
            collection(std::slice::from_ref(&square)),
            "job.toml: line 17: `crs` `EPSG:99999` is none that PROJ knows and can take to WGS84; check the code, which is like `EPSG:27700`, or leave `crs` out where the file is in WGS84",
        ),
        (
            "crs = \"british grid\"",
            collection(std::slice::from_ref(&square)),
            "job.toml: line 17: `crs` `british grid` is none that PROJ knows and can take to WGS84; check the code, which is like `EPSG:27700`, or leave `crs` out where the file is in WGS84",
        ),
        ("", collection(std::slice::from_ref(&square)), "ground.geojson: feature 1: coordinates look projected (386400); GeoJSON needs longitude, latitude in degrees, or name the CRS in `[ground] crs`"),
        (british, collection(&[degrees]), "ground.geojson: feature 1: coordinates look like degrees (-3.72079, 55.3117306), but `[ground] crs` names `EPSG:27700`; leave `crs` out for WGS84, or write easting, northing"),
        (
            "crs = \"EPSG:27700\"\ngrids = \"grids\"",
            collection(std::slice::from_ref(&square)),
            "job.toml: line 18: `grids` names the folder `grids`, which is not there; name the one that holds the PROJ grid files, seen from the job file",
        ),
        (
            british,
            collection(&[square.clone(), head("1e9, 601210")]),
            "ground.geojson: feature 2 `head 4`: coordinate (1000000000, 601210) of `EPSG:27700` lies beyond the globe; write easting, northing in the unit of that CRS",
        ),
        (
            british,
            collection(&[square.clone(), head("601210, 386410")]),
            "ground.geojson: feature 2 `head 4`: (601210, 386410) lies far from the outline of the pitch (386400, 601200) in `EPSG:27700`; at most 5 km are planned at once, check the position or take the feature out",
        ),
        (
            british,
            collection(std::slice::from_ref(&square)).replacen('{', r#"{ "crs": { "type": "name", "properties": { "name": "urn:ogc:def:crs:EPSG::25832" } },"#, 1),
            "ground.geojson: its member `crs` names `urn:ogc:def:crs:EPSG::25832`, but `[ground] crs` is `EPSG:27700`; write the right one in both",
        ),
    ]
}
