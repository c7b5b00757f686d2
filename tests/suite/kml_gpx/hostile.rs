//! Hostile and hopeless files: each refused with one message, none by a panic.

use std::time::{Duration, Instant};

use swardlane::fault::Fault;
use swardlane::found::{Found, gpx, kml};

type Reader = fn(&str, &[u8]) -> Result<Found, Fault>;

/// The message of a file that must be refused, quickly.
#[track_caller]
fn refused(reader: Reader, bytes: &[u8]) -> String {
    let began = Instant::now();
    let fault = reader("their file", bytes).unwrap_err();
    // A second on a machine at rest; the tests share theirs.
    assert!(began.elapsed() < Duration::from_secs(10), "{fault}");
    fault.to_string()
}

#[track_caller]
fn assert_kml(inside: &str, message: &str) {
    let text = format!("<kml xmlns=\"http://www.opengis.net/kml/2.2\">{inside}</kml>");
    assert_eq!(
        refused(kml::read, text.as_bytes()),
        format!("their file: {message}")
    );
}

#[track_caller]
fn assert_gpx(inside: &str, message: &str) {
    let text = format!(
        "<gpx version=\"1.1\" creator=\"c\" xmlns=\"http://www.topografix.com/GPX/1/1\">{inside}</gpx>"
    );
    assert_eq!(
        refused(gpx::read, text.as_bytes()),
        format!("their file: {message}")
    );
}

/// A file that must be refused whatever its format; `{root}` stands for the outermost element.
#[track_caller]
fn assert_both(file: &str, message: &str) {
    for (reader, root, format) in [
        (kml::read as Reader, "kml", "KML"),
        (gpx::read, "gpx", "GPX"),
    ] {
        let text = file.replace("{root}", root);
        let want = message.replace("{root}", root).replace("{format}", format);
        assert_eq!(
            refused(reader, text.as_bytes()),
            format!("their file: {want}")
        );
    }
}

#[test]
fn files_that_are_no_xml_of_that_format() {
    assert_both("", "there is no XML in it; give a {format} file");
    assert_both("hello", "there is no XML in it; give a {format} file");
    assert_both(
        "<html/>",
        "line 1: the outermost element is `html` and not the `{root}` of {format}; give a {format} file",
    );
    assert_both(
        "<{root} xmlns=\"http://example.org/other\"/>",
        "line 1: the outermost element is `{root}` and not the `{root}` of {format}; give a {format} file",
    );
    assert_both(
        "<{root}/>\n<{root}/>",
        "line 2: not sound XML: a second outermost element; mend it there, or save the file again",
    );
    assert_both(
        "<{root}>\n<a>",
        "line 2: the file stops too early, within `a`; save or copy it again",
    );
    let utf_16 = [0xff, 0xfe, b'<', 0, b'k', 0];
    for reader in [kml::read as Reader, gpx::read] {
        assert_eq!(
            refused(reader, &utf_16),
            "their file: line 1: not written in UTF-8; save the file again in UTF-8"
        );
    }
}

#[test]
fn xml_that_is_not_sound() {
    for broken in [
        "<{root}></wrong>",
        "<{root}><a b=c/></{root}>",
        "<{root}>&</{root}>",
        "<{root}><a b='1' b='2'/></{root}>",
        "<{root}>&#0;</{root}>",
        "<{root}><![CDATA[</{root}>",
    ] {
        for (reader, root) in [(kml::read as Reader, "kml"), (gpx::read, "gpx")] {
            let message = refused(reader, broken.replace("{root}", root).as_bytes());
            assert!(
                message.starts_with("their file: line 1: not sound XML: "),
                "{broken}: {message}"
            );
        }
    }
    let long = format!("<kml></{}>", "x".repeat(1 << 20));
    assert!(
        refused(kml::read, long.as_bytes()).len() < 300,
        "messages stay short"
    );
}

#[test]
fn nothing_is_expanded_or_fetched() {
    let doctype = "has a document type (`<!DOCTYPE`), through which a file can grow or fetch others; take that line out";
    assert_both(
        "<?xml version=\"1.0\"?>\n<!DOCTYPE {root} [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;\">]>\n<{root}>&b;</{root}>",
        &format!("line 2: {doctype}"),
    );
    assert_both(
        "<!DOCTYPE {root} SYSTEM \"file:///etc/hostname\"><{root}/>",
        &format!("line 1: {doctype}"),
    );
    assert_both(
        "<{root}>\n&lol9;</{root}>",
        "line 2: names an entity `&lol9;` that is none of XML's own five; write the letter itself",
    );
}

#[test]
fn files_that_are_too_much() {
    assert_both(
        &format!("<{{root}}>{}", "<Folder>".repeat(500_000)),
        "line 1: elements stand more than 64 deep within each other, which no sound file needs; save the file again",
    );
    // What is passed over is counted too.
    assert_both(
        &format!(
            "<{{root}}><extensions><NetworkLink>{}",
            "<a>".repeat(500_000)
        ),
        "line 1: elements stand more than 64 deep within each other, which no sound file needs; save the file again",
    );
    let many: Vec<String> = (0..200_000).map(|n| format!("a{n}=\"\"")).collect();
    assert_both(
        &format!("<{{root}}><Folder {}/></{{root}}>", many.join(" ")),
        "line 1: an element has more than 64 attributes; save the file again",
    );
    let blank = vec![b' '; (16 << 20) + 1];
    for reader in [kml::read as Reader, gpx::read] {
        assert_eq!(
            refused(reader, &blank),
            "their file: has 16777217 bytes; at most 16777216 are read; save only the outline or the lines that you need"
        );
    }
    assert_kml(
        &format!(
            "<Placemark><LineString><coordinates>{}</coordinates></LineString></Placemark>",
            "1,2 ".repeat(200_001)
        ),
        "line 1: holds more than 200000 positions; save only what you need from it",
    );
    assert_gpx(
        &format!(
            "<trk><trkseg>{}</trkseg></trk>",
            "<trkpt lat='1' lon='2'/>".repeat(200_001)
        ),
        "line 1: holds more than 200000 positions; save only what you need from it",
    );
    let things = "line 1: holds more than 20000 lines, areas, places and groups; save only what you need from it";
    assert_kml(&"<Folder/>".repeat(20_001), things);
    assert_kml(
        &format!(
            "<Placemark><MultiGeometry>{}</MultiGeometry></Placemark>",
            "<Point><coordinates>1,2</coordinates></Point>".repeat(20_001)
        ),
        things,
    );
    assert_gpx(&"<wpt lat='1' lon='2'/>".repeat(20_001), things);
    assert_gpx(
        &format!("<trk>{}</trk>", "<trkseg/>".repeat(20_001)),
        things,
    );
}

#[test]
fn files_of_just_as_much_as_is_allowed_are_read() {
    let name = "\u{1f33f}".repeat(100);
    let folder = format!("<Folder><name>{name}</name>");
    let point = format!(
        "<Placemark><name>{name}</name><Point><coordinates>1,2</coordinates></Point></Placemark>"
    );
    let text = format!(
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\">{}{}{}</kml>",
        folder.repeat(10),
        point.repeat(19_990),
        "</Folder>".repeat(10)
    );
    let found = kml::read("their file", text.as_bytes()).unwrap();
    assert_eq!(found.places.len(), 19_990);
    assert_eq!(found.places[19_989].label.within.len(), 6);
    let text = format!(
        "<gpx version='1.1' creator='c' xmlns='http://www.topografix.com/GPX/1/1'><trk><trkseg>{}</trkseg></trk></gpx>",
        "<trkpt lat='1' lon='2'/>".repeat(200_000)
    );
    let found = gpx::read("their file", text.as_bytes()).unwrap();
    assert_eq!(found.lines[0].positions.len(), 200_000);
}

#[test]
fn kml_whose_shapes_are_none() {
    let line = |coordinates: &str| {
        format!(
            "<Placemark><LineString><coordinates>{coordinates}</coordinates></LineString></Placemark>"
        )
    };
    for (coordinates, message) in [
        (
            "1,2 NaN,4",
            "line 1: `NaN` is no number; write decimal degrees such as -3.720123456",
        ),
        (
            "1,2 inf,4",
            "line 1: `inf` is no number; write decimal degrees such as -3.720123456",
        ),
        (
            "1,2 3,1e999",
            "line 1: `1e999` is no number; write decimal degrees such as -3.720123456",
        ),
        (
            "1,2 3,4,high",
            "line 1: `high` is no number; write decimal degrees such as -3.720123456",
        ),
        (
            "1,2 3",
            "line 1: `3` is no position; write longitude,latitude without a space between, and a space before the next",
        ),
        (
            "1,2 3,4,5,6",
            "line 1: `3,4,5,6` is no position; write longitude,latitude without a space between, and a space before the next",
        ),
        (
            "1,2 180.5,4",
            "line 1: longitude 180.5 is beyond 180 degrees; write it from -180 to 180, in WGS84 degrees",
        ),
        (
            "",
            "line 1: a line has 0 positions; give it two or more, or take it out",
        ),
    ] {
        assert_kml(&line(coordinates), message);
    }
    assert_kml(
        "<Placemark><Point/></Placemark>",
        "line 1: a `Point` has no coordinates; write them or take it out",
    );
    assert_kml(
        "<Placemark><Point><coordinates>1,2 3,4</coordinates></Point></Placemark>",
        "line 1: a point has 2 positions; write one longitude,latitude",
    );
    assert_kml(
        "<Placemark><Placemark/></Placemark>",
        "line 1: a placemark stands in another; take it out",
    );
    let ring = "<outerBoundaryIs><LinearRing><coordinates>0,0 1,0 1,1 0,0</coordinates></LinearRing></outerBoundaryIs>";
    assert_kml(
        &format!("<Placemark><Polygon>{ring}{ring}</Polygon></Placemark>"),
        "line 1: a polygon has two outer boundaries; make two polygons of it",
    );
}

#[test]
fn gpx_whose_points_are_none() {
    assert_gpx(
        "<wpt lat='1'/>",
        "line 1: a `wpt` has no `lon`; write both `lat` and `lon` in degrees",
    );
    assert_gpx(
        "<rte><rtept lat='' lon='1'/></rte>",
        "line 1: `` is no number; write decimal degrees such as -3.720123456",
    );
    assert_gpx(
        "<trk>\n<trkseg><trkpt lat='-90.5' lon='1'/></trkseg></trk>",
        "line 2: latitude -90.5 is beyond 90 degrees; check that longitude and latitude are not exchanged and that the file is in WGS84 degrees",
    );
}

/// Changes of sound files as if by chance, the same every time: bytes put elsewhere, doubled,
/// left out, or exchanged for those that mean something in XML and in numbers.
#[test]
fn sound_files_changed_as_if_by_chance_are_read_or_refused() {
    const TELLING: &[u8] = b"<>/&;'\"=![]-?#,. e9\n\0\xff";
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/broken");
    let mut chance = crate::support::Chance(6);
    let (mut read, mut refused) = (0, 0);
    for (name, reader) in [("good.kml", kml::read as Reader), ("good.gpx", gpx::read)] {
        let sound = std::fs::read(folder.join(name)).unwrap();
        for _ in 0..3000 {
            let mut bytes = sound.clone();
            for _ in 0..=(chance.between(0.0, 4.0) as usize) {
                if bytes.is_empty() {
                    break;
                }
                let from = chance.between(0.0, bytes.len() as f64) as usize;
                let to = (from + chance.between(0.0, 40.0) as usize).min(bytes.len());
                match chance.one_of(&[0, 1, 2, 3]) {
                    0 => drop(bytes.drain(from..to)),
                    1 => {
                        let doubled = bytes[from..to].to_vec();
                        bytes.splice(to..to, doubled);
                    }
                    2 => bytes.truncate(to.max(1)),
                    _ => bytes[from] = chance.one_of(TELLING),
                }
            }
            match reader("their file", &bytes) {
                Ok(found) => {
                    read += 1;
                    let runs = found.lines.iter().map(|line| &line.positions);
                    assert!(runs.clone().all(|run| run.len() >= 2));
                    let on_the_globe = |at: &swardlane::space::Position| {
                        at.lat_deg.abs() <= 90.0 && at.lon_deg.abs() <= 180.0
                    };
                    assert!(runs.flatten().all(on_the_globe));
                }
                Err(fault) => {
                    refused += 1;
                    let fault = fault.to_string();
                    assert!(fault.lines().count() == 1 && fault.len() < 500, "{fault}");
                }
            }
        }
    }
    assert!(
        read > 300 && refused > 300,
        "{read} read, {refused} refused"
    );
}
