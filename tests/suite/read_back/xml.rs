//! KML, GPX and task data through the command: what is written is read back whole, from a file,
//! a folder and a zip; what is broken or malicious is refused with one message, in little time
//! and memory. What each reader makes of which file is tested beside it; here it is that the
//! command hands each to its reader and says what that says.

use std::path::Path;

use serde::Deserialize;
use swardlane::found::Format;

use super::hostile::{judged, limited, zipped};
use super::round_trip::{lines_of, planned, read};
use crate::workbench::Workbench;

#[test]
fn guidance_files_come_back_with_every_line() {
    for east_deg in [0.0, 183.72] {
        let (bench, plan) = planned(east_deg);
        let lines = lines_of(&plan).len();
        assert!(lines > 10, "{lines} lines");
        for (name, format) in [
            ("out/guidance/passes.kml", Format::Kml),
            ("out/guidance/route.gpx", Format::Gpx),
            ("out/guidance/TASKDATA/TASKDATA.XML", Format::TaskData),
            ("out/guidance/TASKDATA", Format::TaskData),
            ("out/guidance/TASKDATA.zip", Format::TaskData),
        ] {
            let (told, found) = read(&bench, name);
            assert_eq!(told, format, "{name}");
            // In KML there are lines of the ground too, and they say so.
            let is_ground = |kind: &str| format == Format::Kml && kind != "pass";
            let kinds = found.lines.iter().map(|line| line.label.kind.as_deref());
            let passes = kinds.filter(|kind| !kind.is_some_and(is_ground)).count();
            // A line across 180 degrees is one again, or two where the format cuts it.
            let most = if east_deg == 0.0 { lines } else { 2 * lines };
            assert!(
                (lines..=most).contains(&passes),
                "{name}: {passes} lines instead of {lines}"
            );
        }
    }
}

#[test]
fn the_command_tells_each_format_by_its_name() {
    let (bench, _) = planned(0.0);
    for (name, format) in [
        ("out/guidance/passes.kml", "KML"),
        ("out/guidance/route.gpx", "GPX"),
        ("out/guidance/TASKDATA.zip", "ISO 11783-10 task data"),
    ] {
        let told = bench.done(&["read", name]);
        let first = told.lines().next().unwrap_or_default();
        assert!(first.contains(format), "{name}: {first}");
    }
}

#[derive(Deserialize)]
struct Expected {
    file: Vec<One>,
}

#[derive(Deserialize)]
struct One {
    name: String,
    reader: String,
    #[serde(default)]
    says: String,
}

/// What is wrong with how the command refused a file: one message that begins so and holds that.
fn refused(bench: &Workbench, name: &str, says: &str) -> Option<String> {
    let output = limited(bench, &[name]);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    let is_one = told.lines().count() == 1 && told.starts_with(&format!("error: {name}"));
    let is_refused = output.status.code() == Some(2) && output.stdout.is_empty();
    (!is_one || !is_refused || !told.contains(says))
        .then(|| format!("{name}: {}, told:\n{told}instead of: {says}", output.status))
}

#[test]
fn broken_kml_and_gpx_are_refused_as_their_readers_say() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/broken");
    let text = std::fs::read_to_string(folder.join("expected.toml")).unwrap();
    let expected: Expected = toml::from_str(&text).unwrap();
    let faults = expected.file.iter().filter(|one| one.reader == "fault");
    let cases = faults.map(|one| {
        let bench = Workbench::empty();
        bench.put_bytes(&one.name, &std::fs::read(folder.join(&one.name)).unwrap());
        refused(&bench, &one.name, &one.says)
    });
    judged(8, cases.collect());
}

/// The three formats: name, how the file begins and how it ends.
const FORMATS: [(&str, &str, &str); 3] = [
    (
        "field.kml",
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document>",
        "</Document></kml>",
    ),
    (
        "field.gpx",
        "<gpx xmlns=\"http://www.topografix.com/GPX/1/1\" version=\"1.1\" creator=\"x\">",
        "</gpx>",
    ),
    (
        "TASKDATA.XML",
        "<ISO11783_TaskData VersionMajor=\"4\" VersionMinor=\"3\" \
         ManagementSoftwareManufacturer=\"x\" ManagementSoftwareVersion=\"1\" \
         DataTransferOrigin=\"1\">",
        "</ISO11783_TaskData>",
    ),
];

#[test]
fn malicious_xml_is_refused() {
    let mut cases = Vec::new();
    for (name, begins, ends) in FORMATS {
        let entities: String = (1..12)
            .map(|n| format!("<!ENTITY e{n} \"{}\">", format!("&e{};", n - 1).repeat(10)))
            .collect();
        let bomb = format!("<!DOCTYPE x [<!ENTITY e0 \"ha\">{entities}]>{begins}&e11;{ends}");
        let outside = format!("<!DOCTYPE x SYSTEM \"file:///etc/passwd\">{begins}{ends}");
        let deep = format!("{begins}{}", "<Folder>".repeat(1_000_000));
        let wide = format!("{begins}<a {}/>{ends}", "a=\"\" ".repeat(1_000_000));
        let long = format!("{begins}<{}/>{ends}", "a".repeat(10_000_000));
        let unknown = format!("{begins}&nothing;{ends}");
        let cut = begins.to_owned();
        let crossed = format!("{begins}<a><b></a></b>{ends}");
        let latin = [begins.as_bytes(), b"<name>\xe9</name>", ends.as_bytes()].concat();
        let texts = [bomb, outside, deep, wide, unknown, cut, crossed].map(String::into_bytes);
        for (number, bytes) in texts.into_iter().chain([latin]).enumerate() {
            let bench = Workbench::empty();
            bench.put_bytes(name, &bytes);
            let wrong = refused(&bench, name, "");
            cases.push(wrong.map(|wrong| format!("case {number} of {wrong}")));
            // The same in a zip.
            let zip = zipped(&[(name, &bytes)]);
            bench.put_bytes("field.zip", &zip);
            let wrong = refused(&bench, "field.zip", "");
            cases.push(wrong.map(|wrong| format!("case {number} of {wrong}")));
        }
        // A long name is no fault; it must only cost little.
        let bench = Workbench::empty();
        bench.put_bytes(name, long.as_bytes());
        let code = limited(&bench, &[name]).status.code();
        cases.push((!matches!(code, Some(0 | 2))).then(|| format!("{name}: code {code:?}")));
    }
    judged(40, cases);
}
