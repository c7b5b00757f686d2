//! Files of others: what is read of them, and what is said.

use serde::Deserialize;
use swardlane::found::{Found, Label, gpx, kml};
use swardlane::space::Position;

fn read(name: &str, text: &[u8]) -> Result<Found, String> {
    let found = if name.ends_with("kml") {
        kml::read("their file", text)
    } else {
        gpx::read("their file", text)
    };
    found.map_err(|fault| {
        assert_eq!(fault.file, "their file");
        fault.to_string()
    })
}

fn document(inside: &str) -> String {
    format!("<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document>{inside}</Document></kml>")
}

fn kml_of(inside: &str) -> Found {
    read("their.kml", document(inside).as_bytes()).unwrap()
}

fn label(name: &str, within: &[&str], kind: Option<&str>) -> Label {
    Label {
        name: Some(name.to_owned()).filter(|name| !name.is_empty()),
        within: within.iter().map(|&name| name.to_owned()).collect(),
        kind: kind.map(str::to_owned),
        ..Label::default()
    }
}

fn at(lon_deg: f64, lat_deg: f64) -> Position {
    Position { lat_deg, lon_deg }
}

#[derive(Deserialize)]
struct Listed {
    file: Vec<Broken>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Broken {
    name: String,
    #[serde(rename = "schema")]
    _schema: String,
    reader: String,
    says: Option<String>,
}

#[test]
fn broken_and_misleading_files_are_refused_or_read_with_a_remark() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/broken");
    let listed = std::fs::read_to_string(folder.join("expected.toml")).unwrap();
    let listed: Listed = toml::from_str(&listed).unwrap();
    assert!(listed.file.len() > 25);
    for one in listed.file {
        let text = std::fs::read(folder.join(&one.name)).unwrap();
        match (read(&one.name, &text), one.reader.as_str()) {
            (Ok(found), kind @ ("remark" | "reads")) => {
                let called = "the file calls itself `Larkmoor`".to_owned();
                let want: Vec<String> = std::iter::once(called).chain(one.says).collect();
                let heights = |remark: &String| !remark.contains("heights are left out");
                let got: Vec<String> = found.remarks.into_iter().filter(heights).collect();
                assert_eq!(got, want, "{} {kind}", one.name);
            }
            (Err(fault), "fault") => {
                assert_eq!(
                    fault,
                    format!("their file: {}", one.says.unwrap()),
                    "{}",
                    one.name
                );
            }
            (got, want) => panic!("{}: {want} wanted, got {got:?}", one.name),
        }
    }
}

#[test]
fn folders_within_folders_name_what_is_in_them_wherever_their_names_stand() {
    let found = kml_of(
        "<Folder><Folder><name> east\n field </name>\
         <Placemark><name>gate</name><Point><coordinates>1,2</coordinates></Point></Placemark>\
         </Folder>\
         <Placemark><Point><coordinates> 3,4,5 </coordinates></Point></Placemark>\
         <name>club</name></Folder>",
    );
    assert_eq!(
        found.places[0].label,
        label("gate", &["club", "east field"], None)
    );
    assert_eq!(found.places[0].position, at(1.0, 2.0));
    assert_eq!(found.places[1].label, label("", &["club"], None));
    assert_eq!(found.places[1].position, at(3.0, 4.0));
    assert_eq!(found.remarks, ["line 2: heights are left out"]);
}

#[test]
fn shapes_of_one_placemark_share_its_name_and_kind() {
    let found = kml_of(
        "<Placemark><name>old oak</name><ExtendedData>\
         <Data name=\"role\"><value>obstacle</value></Data>\
         <Data name=\"kind\"><value>tree</value></Data>\
         <SchemaData><SimpleData name=\"role\">other</SimpleData></SchemaData></ExtendedData>\
         <MultiGeometry><MultiGeometry><Point><coordinates>1,2</coordinates></Point></MultiGeometry>\
         <LineString><coordinates>1,2 3,4\n5,6</coordinates></LineString>\
         <LinearRing><coordinates>0,0 1,0 1,1 0,0</coordinates></LinearRing>\
         <Polygon><outerBoundaryIs><LinearRing><coordinates>0,0 9,0 9,9 0,0</coordinates></LinearRing></outerBoundaryIs>\
         <innerBoundaryIs><LinearRing><coordinates>4,1 5,1 5,2 4,1</coordinates></LinearRing></innerBoundaryIs>\
         <innerBoundaryIs><LinearRing><coordinates>6,1 7,1 7,2 6,1</coordinates></LinearRing></innerBoundaryIs>\
         </Polygon></MultiGeometry></Placemark>",
    );
    let tree = label("old oak", &[], Some("tree"));
    assert_eq!(found.places[0].label, tree);
    assert_eq!(found.lines[0].label, tree);
    assert_eq!(
        found.lines[0].positions,
        [at(1.0, 2.0), at(3.0, 4.0), at(5.0, 6.0)]
    );
    // A ring by itself is a line that comes back to where it began.
    assert_eq!(found.lines[1].positions.len(), 4);
    assert_eq!(found.lines[1].positions[3], at(0.0, 0.0));
    let rings = &found.areas[0].rings;
    assert_eq!(rings[0], [at(0.0, 0.0), at(9.0, 0.0), at(9.0, 9.0)]);
    assert_eq!((rings.len(), rings[2][0]), (3, at(6.0, 1.0)));
    assert_eq!(found.remarks, Vec::<String>::new());
}

#[test]
fn what_is_elsewhere_or_no_ground_is_remarked_and_not_followed() {
    let found = kml_of(
        "<NetworkLink><Link><href>http://192.0.2.7/more.kml</href></Link></NetworkLink>\n\
         <NetworkLink/><NetworkLink/>\
         <GroundOverlay><LatLonBox><north>1</north></LatLonBox></GroundOverlay>\
         <PhotoOverlay><Point><coordinates>1,2</coordinates></Point></PhotoOverlay>\
         <Placemark><name>drive</name><gx:Track xmlns:gx=\"http://www.google.com/kml/ext/2.2\">\
         <gx:coord>1 2 3</gx:coord></gx:Track></Placemark>\
         <Placemark><name>again</name><gx:Track/></Placemark>\
         <Style><LineStyle><color>red</color></LineStyle></Style>\
         <LineString><coordinates>1,2 3,4</coordinates></LineString>",
    );
    let nothing = (&found.lines[..], &found.areas[..], &found.places[..]);
    assert_eq!(nothing, (&[][..], &[][..], &[][..]));
    assert_eq!(
        found.remarks,
        [
            "3 times, first in line 1: a network link is not followed",
            "line 2: a picture laid over the ground is passed over",
            "line 2: a photograph is passed over",
            "2 times, first in line 2: what is no part of the format is passed over (`gx:Track`)",
            "2 times, first in line 2: a placemark has no shape that is read (`drive`)",
            "line 2: a colour is not eight hex digits aabbggrr (`red`)",
            "line 2: a shape outside of any placemark is passed over",
        ]
    );
}

#[test]
fn older_namespaces_prefixes_and_the_five_entities_are_read() {
    for (root, prefix) in [
        ("<kml xmlns=\"http://earth.google.com/kml/2.1\">", ""),
        (
            "\u{feff}<?xml version=\"1.0\"?><k:kml xmlns:k=\"http://www.opengis.net/kml/2.2\">",
            "k:",
        ),
    ] {
        let text = format!(
            "{root}<!-- <a> --><{prefix}Placemark><{prefix}name>A &amp; B &#x3c;<![CDATA[<c>]]>\
             </{prefix}name><{prefix}Point><{prefix}coordinates>1,2</{prefix}coordinates>\
             </{prefix}Point></{prefix}Placemark></{prefix}kml>"
        );
        let found = read("their.kml", text.as_bytes()).unwrap();
        assert_eq!(found.remarks, Vec::<String>::new());
        assert_eq!(
            found.places[0].label.name.as_deref(),
            Some("A & B <<c>"),
            "{prefix}"
        );
    }
}

#[test]
fn names_are_kept_on_one_line_and_no_longer_than_our_own() {
    let long = "x".repeat(5000);
    let found = kml_of(&format!(
        "{}<Placemark><name>{long}</name><Point><coordinates>1,2</coordinates></Point></Placemark>{}",
        "<Folder><name>f</name>".repeat(12),
        "</Folder>".repeat(12)
    ));
    assert_eq!(found.places[0].label.name, Some("x".repeat(100)));
    assert_eq!(
        found.places[0].label.within, ["f"; 6],
        "the outermost are kept"
    );
    let found = kml_of(
        "<Placemark><name>\u{1b}[31mred</name><Point><coordinates>1,2</coordinates></Point></Placemark>",
    );
    assert_eq!(found.places[0].label.name.as_deref(), Some("?[31mred"));
}

#[test]
fn gpx_of_others_gives_places_routes_and_segments() {
    let found = read(
        "their.gpx",
        br#"<gpx version="1.1" creator="a logger" xmlns="http://www.topografix.com/GPX/1/1"
 xmlns:x="http://example.org/x"><metadata><name>Larkmoor</name><time>2026-06-02T07:30:00.5+01:00</time></metadata>
<wpt lat="55.3" lon="-3.7"><ele>3</ele><name>gate</name><type>way in</type></wpt>
<rte><name>mow</name><rtept lat="1" lon="2"><name>a</name></rtept><rtept lat="3" lon="4"/></rte>
<trk><name>spike</name><extensions><x:a><trkseg/></x:a></extensions>
<trkseg><trkpt lat="5" lon="6"/><trkpt lat="7" lon="8"><x:speed>2</x:speed></trkpt></trkseg>
<trkseg><trkpt lat="9" lon="10"/></trkseg><trkseg/></trk>
<trk><trkseg><trkpt lat="1" lon="1"/><trkpt lat="-90" lon="-180"/></trkseg></trk></gpx>"#,
    )
    .unwrap();
    assert_eq!(found.places[0].label, label("gate", &[], Some("way in")));
    assert_eq!(found.places[0].position, at(-3.7, 55.3));
    let lines: Vec<(&Label, &[Position])> = found
        .lines
        .iter()
        .map(|line| (&line.label, line.positions.as_slice()))
        .collect();
    assert_eq!(
        lines,
        [
            (
                &label("mow", &[], Some("route")),
                &[at(2.0, 1.0), at(4.0, 3.0)][..]
            ),
            (
                &label("", &["spike"], Some("track")),
                &[at(6.0, 5.0), at(8.0, 7.0)][..]
            ),
            (
                &label("", &[], Some("track")),
                &[at(1.0, 1.0), at(-180.0, -90.0)][..]
            ),
        ]
    );
    assert_eq!(
        found.remarks,
        [
            "the file calls itself `Larkmoor`",
            "line 5: extensions are passed over",
            "line 6: what is no part of the format is passed over (`x:speed`)",
            "2 times, first in line 7: a route or segment of fewer than two points is left out",
        ]
    );
}

#[test]
fn gpx_1_0_is_read_and_another_version_remarked() {
    let old = br#"<gpx version="1.0" creator="c" xmlns="http://www.topografix.com/GPX/1/0"><name>old</name><wpt lat="1" lon="2"><speed>3</speed></wpt></gpx>"#;
    let found = read("their.gpx", old).unwrap();
    assert_eq!(found.remarks, ["the file calls itself `old`"]);
    assert_eq!(found.places[0].label.kind.as_deref(), Some("waypoint"));
    let new = br#"<gpx version="2.7" creator="c" xmlns="http://www.topografix.com/GPX/1/1"/>"#;
    let found = read("their.gpx", new).unwrap();
    assert_eq!(
        found.remarks,
        ["line 1: a version that is not 1.1; read as if it were (`2.7`)"]
    );
}
