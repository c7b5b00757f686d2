//! Names that would move a cursor or colour a terminal: none of their letters comes through,
//! whatever the format, in what is told, in JSON, in messages and in what is made of a file.

use super::hostile::zipped;
use super::shapes::{Shp, table};
use crate::workbench::Workbench;

/// Red letters, a cleared screen, a title, the one-byte start of such a row, letters turned round.
const NASTY: &str = "\u{1b}[31mred\u{1b}[2J\u{7}\u{9b}1m\u{202e}kao\u{7f}";

/// Everything that a run prints, both ways, must be plain letters and ends of lines.
fn assert_plain(bench: &Workbench, arguments: &[&str]) -> String {
    let output = bench.run(arguments);
    let told = [output.stdout, output.stderr].concat();
    let told = String::from_utf8(told).unwrap();
    let turns = |letter: char| matches!(letter, '\u{202a}'..='\u{202e}');
    let is_plain = |letter: char| letter == '\n' || !(letter.is_control() || turns(letter));
    assert!(told.chars().all(is_plain), "{arguments:?}: {told:?}");
    told
}

/// Reads a file in every way in which its names are told; they must be told.
fn assert_told_plainly(bench: &Workbench, name: &str) {
    let told = assert_plain(bench, &["read", name]);
    assert!(told.contains("?[31mred?[2J??1m?kao?"), "{name}: {told}");
    assert_plain(bench, &["read", name, "--json"]);
    assert_plain(
        bench,
        &["read", name, "--ground", "out.geojson", "--take", "none"],
    );
    assert_plain(bench, &["read", name, "--line", "none", "--for", "ground"]);
}

const SQUARE: [(f64, f64); 5] = [
    (-3.72, 55.31),
    (-3.719, 55.31),
    (-3.719, 55.311),
    (-3.72, 55.311),
    (-3.72, 55.31),
];

#[test]
fn names_of_geojson() {
    let bench = Workbench::new();
    let ring: Vec<[f64; 2]> = SQUARE.iter().map(|&(lon, lat)| [lon, lat]).collect();
    let feature = |kind: &str, coordinates: serde_json::Value| {
        serde_json::json!({
            "type": "Feature",
            "properties": { "name": NASTY, "kind": NASTY, "operation": NASTY, "direction": NASTY },
            "geometry": { "type": kind, "coordinates": coordinates },
        })
    };
    let file = |features: Vec<serde_json::Value>| {
        serde_json::json!({ "type": "FeatureCollection", "features": features }).to_string()
    };
    let sound = vec![
        feature("Polygon", serde_json::json!([ring])),
        feature("LineString", serde_json::json!([ring[0], ring[1]])),
        feature("Point", serde_json::json!(ring[0])),
    ];
    bench.put("field.geojson", &file(sound));
    assert_told_plainly(&bench, "field.geojson");
    bench.put(
        "broken.geojson",
        &file(vec![feature("Point", serde_json::json!([300.0, 0.0]))]),
    );
    assert_plain(&bench, &["read", "broken.geojson"]);
    bench.done(&["read", "field.geojson", "--ground", "made.geojson"]);
    let made = bench.json("made.geojson");
    let name = made["features"][0]["properties"]["name"].as_str().unwrap();
    assert_eq!(name, "?[31mred?[2J??1m?kao?");
}

#[test]
fn names_of_a_shapefile() {
    let bench = Workbench::new();
    bench.put_bytes("field.shp", &Shp::new(5).line(&[&SQUARE]).bytes());
    bench.put_bytes("field.dbf", &table("NAME", &[NASTY]));
    assert_told_plainly(&bench, "field.shp");
}

#[test]
fn names_of_task_data() {
    let bench = Workbench::new();
    // Letters by their numbers: that way XML 1.0 lets a few of them through.
    let nasty: String = NASTY
        .chars()
        .map(|letter| format!("&#{};", u32::from(letter)))
        .collect();
    let point = "<PNT A=\"2\" C=\"55.31\" D=\"-3.72\"/>";
    let file = |point: &str| {
        format!(
            "<ISO11783_TaskData VersionMajor=\"4\" VersionMinor=\"3\" \
             ManagementSoftwareManufacturer=\"{nasty}\"><PFD A=\"PFD1\" C=\"{nasty}\">\
             <LSG A=\"7\" B=\"{nasty}\">{point}<PNT A=\"2\" C=\"55.311\" D=\"-3.72\"/></LSG>\
             <PNT A=\"5\" B=\"{nasty}\" C=\"55.31\" D=\"-3.72\"/></PFD><PDT A=\"PDT1\" \
             B=\"{nasty}\"/></ISO11783_TaskData>"
        )
    };
    bench.put("TASKDATA.XML", &file(point));
    assert_told_plainly(&bench, "TASKDATA.XML");
    bench.put(
        "TASKDATA.XML",
        &file(
            &point
                .replace("A=\"2\"", "A=\"77\"")
                .replace("55.31", &nasty),
        ),
    );
    assert_plain(&bench, &["read", "TASKDATA.XML"]);
}

#[test]
fn names_of_kml_and_gpx() {
    let bench = Workbench::new();
    let nasty: String = NASTY
        .chars()
        .map(|letter| format!("&#{};", u32::from(letter)))
        .collect();
    bench.put(
        "field.kml",
        &format!(
            "<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Folder><name>{nasty}</name><Placemark>\
             <name>{nasty}</name><Point><coordinates>-3.72,55.31</coordinates></Point></Placemark>\
             </Folder></kml>"
        ),
    );
    assert_told_plainly(&bench, "field.kml");
    bench.put(
        "field.gpx",
        &format!(
            "<gpx version=\"1.1\" creator=\"x\" xmlns=\"http://www.topografix.com/GPX/1/1\">\
             <wpt lat=\"55.31\" lon=\"-3.72\"><name>{nasty}</name><type>{nasty}</type></wpt></gpx>"
        ),
    );
    assert_told_plainly(&bench, "field.gpx");
}

#[test]
fn names_of_files_in_a_zip_and_in_a_folder() {
    let bench = Workbench::new();
    let inside = format!("{NASTY}.kml");
    bench.put_bytes("field.zip", &zipped(&[(&inside, b"<kml><a></b></kml>")]));
    let told = assert_plain(&bench, &["read", "field.zip"]);
    assert!(told.contains("not sound XML"), "{told}");
    // A part of task data has eight letters, whichever.
    bench.put("field/TASKDATA.XML", "<ISO11783_TaskData/>");
    bench.put_bytes("field/\u{1b}[31mabc.xml", &vec![b' '; (16 << 20) + 1]);
    let told = assert_plain(&bench, &["read", "field"]);
    assert!(told.contains("16777217 bytes"), "{told}");
}
