//! Broken and malicious files: each is refused with one message, in little time and memory. The
//! limits are those of the shell (`ulimit`): a child that wants more is killed, and shows it.

use std::io::{Cursor, Write as _};
use std::process::Output;

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::shapes::{Shp, table};
use crate::workbench::Workbench;

/// Memory that a run may take, kilobytes (all of it, also what is only asked for), and processor
/// seconds.
const LIMITS: &str = "ulimit -v 102400 && ulimit -t 1 && exec \"$0\" \"$@\"";

/// Runs `read` within the limits.
pub(super) fn limited(bench: &Workbench, arguments: &[&str]) -> Output {
    let mut command = std::process::Command::new("sh");
    command
        .args(["-c", LIMITS, env!("CARGO_BIN_EXE_swardlane"), "read"])
        .args(arguments)
        .current_dir(bench.path(""))
        .env_remove("NO_COLOR")
        .output()
        .unwrap()
}

/// What is wrong with how a file was refused.
fn judge(name: &str, bytes: &[u8], expected: &str) -> Option<String> {
    let bench = Workbench::empty();
    bench.put_bytes(name, bytes);
    judge_at(&bench, &[name], expected)
}

fn judge_at(bench: &Workbench, arguments: &[&str], expected: &str) -> Option<String> {
    let before = bench.all();
    let output = limited(bench, arguments);
    let told = String::from_utf8_lossy(&output.stderr);
    let expected = format!("error: {expected}\n");
    let is_refused = output.status.code() == Some(2) && output.stdout.is_empty();
    (told != expected || !is_refused || bench.all() != before).then(|| {
        format!(
            "{arguments:?}: {}, told:\n{told}instead of:\n{expected}",
            output.status
        )
    })
}

/// A zip of these files.
pub(super) fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// A GeoJSON file of one feature with that geometry.
fn one(geometry: &str) -> String {
    format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"properties\":\
         {{\"name\":\"field\"}},\"geometry\":{geometry}}}]}}"
    )
}

pub(super) fn judged(least: usize, cases: Vec<Option<String>>) {
    assert!(cases.len() >= least, "only {} cases", cases.len());
    let wrong: Vec<String> = cases.into_iter().flatten().collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

const NO_FORMAT: &str = "is of no format that is read; give a GeoJSON, KML, GPX, shapefile (.shp), \
                         TASKDATA.XML, a TASKDATA folder, or a zip of one of these";

#[test]
fn files_of_no_format_are_refused() {
    let rubbish: Vec<u8> = (0..5000_u32)
        .map(|n| (n * 31 + n / 7 + 128) as u8)
        .collect();
    let html = "<!DOCTYPE html><html><body>not a field</body></html>";
    let entities: String = (0..9).fold(
        "<!DOCTYPE d [<!ENTITY e0 \"grass\">".to_owned(),
        |text, n| {
            let all = format!("&e{n};").repeat(10);
            format!("{text}<!ENTITY e{} \"{all}\">", n + 1)
        },
    ) + "]><d>&e9;</d>";
    let cases = vec![
        judge(
            "empty.geojson",
            b"",
            "empty.geojson: is empty; save or copy it again",
        ),
        judge(
            "blank.kml",
            b" \n\t\n",
            "blank.kml: is empty; save or copy it again",
        ),
        judge(
            "rubbish.bin",
            &rubbish,
            &format!("rubbish.bin: {NO_FORMAT}"),
        ),
        judge(
            "page.html",
            html.as_bytes(),
            &format!("page.html: {NO_FORMAT}"),
        ),
        judge(
            "entities",
            entities.as_bytes(),
            &format!("entities: {NO_FORMAT}"),
        ),
        judge(
            "text.txt",
            b"the field behind the mill",
            &format!("text.txt: {NO_FORMAT}"),
        ),
    ];
    judged(6, cases);
}

#[test]
fn what_is_no_file_is_refused() {
    let bench = Workbench::empty();
    bench.put("field/notes.txt", "nothing here");
    let made = std::process::Command::new("mkfifo")
        .arg(bench.path("pipe.kml"))
        .status()
        .unwrap();
    assert!(made.success());
    let fifo = limited(&bench, &["pipe.kml"]);
    assert_eq!(fifo.status.code(), Some(2));
    assert_eq!(
        String::from_utf8_lossy(&fifo.stderr),
        "error: pipe.kml: is no file; name a file\n"
    );
    std::fs::remove_file(bench.path("pipe.kml")).unwrap();
    let cases = vec![
        judge_at(
            &bench,
            &["field"],
            "field: is a folder without a TASKDATA.XML; name the file that you mean",
        ),
        judge_at(
            &bench,
            &["nowhere.gpx"],
            "nowhere.gpx: cannot be read: there is no such file",
        ),
    ];
    judged(2, cases);
}

/// A folder that nobody may look through, and a command that is bound by that: the superuser,
/// whom tests may run as, is not, so it runs as another.
fn locked(bench: &Workbench, folder: &str, arguments: &[&str]) -> Output {
    use std::os::unix::fs::PermissionsExt as _;
    use std::os::unix::process::CommandExt as _;
    let allow = |path: &str, mode: u32| {
        let mode = std::fs::Permissions::from_mode(mode);
        std::fs::set_permissions(bench.path(path), mode).unwrap();
    };
    // The command itself may lie where that other may not go.
    std::fs::copy(env!("CARGO_BIN_EXE_swardlane"), bench.path("command")).unwrap();
    allow("", 0o755);
    allow("command", 0o755);
    allow(folder, 0o311);
    let mut command = std::process::Command::new(bench.path("command"));
    command
        .arg("read")
        .args(arguments)
        .current_dir(bench.path(""));
    if std::fs::read_dir(bench.path(folder)).is_ok() {
        command.uid(65_534);
    }
    let output = command.output().unwrap();
    allow(folder, 0o755);
    output
}

#[test]
fn a_folder_that_cannot_be_looked_through_says_so() {
    let bench = Workbench::empty();
    let line = Shp::new(3).line(&[&[(3e5, 6e5), (3.001e5, 6e5)]]);
    bench.put_bytes("field/lines.shp", &line.bytes());
    bench.put("field/lines.prj", "PROJCS[\"a grid\"]");
    for arguments in [["field/lines.shp"], ["field"]] {
        let output = locked(&bench, "field", &arguments);
        assert_eq!(
            String::from_utf8_lossy(&output.stderr),
            "error: field: the folder cannot be looked through for what belongs together: \
             permission denied; allow it to be read, or copy the files into another\n"
        );
        assert_eq!(output.status.code(), Some(2));
        assert!(output.stdout.is_empty());
    }
}

#[test]
fn a_folder_of_too_many_files_says_so() {
    let bench = Workbench::empty();
    let line = Shp::new(3).line(&[&[(0.0, 0.0), (1e-3, 1e-3)]]);
    bench.put_bytes("field/lines.shp", &line.bytes());
    for n in 0..9_999 {
        std::fs::File::create(bench.path(&format!("field/{n}.txt"))).unwrap();
    }
    let told = limited(&bench, &["field/lines.shp"]);
    assert_eq!(
        told.status.code(),
        Some(0),
        "10000 files are looked through"
    );
    std::fs::File::create(bench.path("field/one-more.txt")).unwrap();
    let expected = "field: the folder holds more than 10000 files, too many to look through for \
                    what belongs together; copy the files that you mean into one of their own";
    let cases = [["field/lines.shp"], ["field"]].map(|of| judge_at(&bench, &of, expected));
    judged(2, cases.into());
}

#[test]
fn parts_of_task_data_beyond_the_limits_are_told() {
    let bench = Workbench::empty();
    bench.put(
        "field/TASKDATA.XML",
        "<ISO11783_TaskData VersionMajor=\"4\"/>",
    );
    for n in 0..500 {
        std::fs::File::create(bench.path(&format!("field/TSK{n:05}.XML"))).unwrap();
    }
    assert_eq!(limited(&bench, &["field"]).status.code(), Some(0));
    std::fs::File::create(bench.path("field/TSK00500.XML")).unwrap();
    let mut cases = vec![judge_at(
        &bench,
        &["field"],
        "field/TASKDATA.XML: lies beside more than 500 files that may belong to it; copy it into a \
         folder with nothing but what it needs",
    )];
    let bench = Workbench::empty();
    bench.put(
        "field/TASKDATA.XML",
        "<ISO11783_TaskData VersionMajor=\"4\"/>",
    );
    for n in 1..=3 {
        let file = std::fs::File::create(bench.path(&format!("field/TSK0000{n}.XML"))).unwrap();
        file.set_len(15 << 20).unwrap();
    }
    cases.push(judge_at(
        &bench,
        &["field"],
        "field/TSK00003.XML: comes to more than 33554432 bytes with `TASKDATA.XML` and what else \
         belongs to it; at most so many are read together: save only what you need",
    ));
    judged(2, cases);
}

#[test]
fn as_much_task_data_as_is_allowed_takes_no_more_memory_than_is_allowed() {
    let bench = Workbench::empty();
    let full = |begins: &str, ends: &str| {
        let blank = " ".repeat((16 << 20) - begins.len() - ends.len());
        format!("{begins}{blank}{ends}")
    };
    let place = "<PNT A=\"3\" C=\"55.31\" D=\"-3.72\"/>";
    let field = |number: u8| format!("<PFD A=\"PFD{number}\">{}</PFD>", place.repeat(10_000));
    let main = format!(
        "<ISO11783_TaskData VersionMajor=\"4\"><XFR A=\"PFD00001\"/>{}",
        field(1)
    );
    bench.put("field/TASKDATA.XML", &full(&main, "</ISO11783_TaskData>"));
    let part = format!("<XFC>{}", field(2));
    bench.put("field/PFD00001.XML", &full(&part, "</XFC>"));
    let output = limited(&bench, &["field"]);
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(
        told.contains("no lines, no areas, 20000 places\n"),
        "{output:?}"
    );
}

#[test]
fn a_file_that_is_too_large_is_refused_by_its_size() {
    let bench = Workbench::empty();
    let file = std::fs::File::create(bench.path("large.geojson")).unwrap();
    file.set_len(3 << 30).unwrap();
    let output = limited(&bench, &["large.geojson"]);
    assert_eq!(
        String::from_utf8_lossy(&output.stderr),
        "error: large.geojson: has 3221225472 bytes; at most 16777216 are read; save only the \
         outline or the lines that you need\n"
    );
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn broken_geojson_is_refused() {
    let deep = one(&format!("{}{}", "[".repeat(100_000), "]".repeat(100_000)));
    let objects = format!("[{}0]", "{\"\":0},".repeat(300_000));
    let objects = format!("{{\"type\":\"FeatureCollection\",\"features\":{objects}}}");
    let numbers = one(&format!(
        "{{\"type\":\"Point\",\"coordinates\":[{}0]}}",
        "0,".repeat(4_000_000)
    ));
    let many = format!(
        "{{\"type\":\"MultiPoint\",\"coordinates\":[{}[0,0]]}}",
        "[0,0],".repeat(20_001)
    );
    let square = "[[0,0],[1e-3,0],[1e-3,1e-3],[0,0]]";
    let rings = format!(
        "{{\"type\":\"Polygon\",\"coordinates\":[{}{square}]}}",
        format!("{square},").repeat(200)
    );
    let in_feature = "field.geojson: feature 1 `field`: ";
    let geometry = |geometry: &str, expected: &str| {
        judge(
            "field.geojson",
            one(geometry).as_bytes(),
            &format!("{in_feature}{expected}"),
        )
    };
    let whole = |text: &str, expected: &str| {
        judge(
            "field.geojson",
            text.as_bytes(),
            &format!("field.geojson: {expected}"),
        )
    };
    let too_much = "holds more than can be read at once; save only the outline or the lines that \
                    you need";
    let cases = vec![
        whole(
            &deep,
            "lists and objects stand in each other more than 32 deep, which no GeoJSON needs; save \
             the file again",
        ),
        whole(&objects, too_much),
        whole(&numbers, too_much),
        whole(
            &many,
            "holds more than 20000 lines, areas, places and groups; save only what you need from it",
        ),
        whole(
            "{\"type\":\"FeatureCollection\",\n\"features\":[",
            "line 2: the file stops too early (EOF while parsing a list); save or copy it again",
        ),
        whole(
            "{\"type\":\"FeatureCollection\",\n\"features\":[}",
            "line 2: not valid JSON: expected value; save the file again",
        ),
        whole(
            "{\"type\":\"Topology\"}",
            "its `type` is `Topology`; save it as a FeatureCollection (RFC 7946)",
        ),
        whole(
            "{}",
            "it has no `type`; save it as a FeatureCollection (RFC 7946)",
        ),
        whole(
            "{\"type\":\"FeatureCollection\"}",
            "the FeatureCollection has no list `features`; save the file again as GeoJSON",
        ),
        whole(
            "{\"type\":\"FeatureCollection\",\"features\":[7]}",
            "feature 1: is no feature; save the file again as GeoJSON",
        ),
        whole(
            "{\"type\":\"FeatureCollection\",\"features\":[{\"type\":\"Point\"}]}",
            "feature 1: its `type` is not `Feature`; put the geometry into a Feature",
        ),
        whole(
            "{\"type\":\"FeatureCollection\",\"crs\":{\"properties\":{\"name\":\
             \"urn:ogc:def:crs:EPSG::27700\"}},\"features\":[]}",
            "its member `crs` names `urn:ogc:def:crs:EPSG::27700`; GeoJSON is WGS84 longitude and \
             latitude: save it so, or name the system in a job's `[ground] crs`",
        ),
        geometry(
            "{\"type\":\"Point\",\"coordinates\":[300000,600000]}",
            "latitude 600000 is beyond 90 degrees; check that longitude and latitude are not \
             exchanged and that the file is in WGS84 degrees",
        ),
        geometry(
            "{\"type\":\"Point\",\"coordinates\":[1]}",
            "its geometry is not as RFC 7946 writes it: A position must contain two or more \
             elements, but got `1`; save the file again",
        ),
        geometry(
            "{\"type\":\"LineString\",\"coordinates\":[[0,0]]}",
            "a line has fewer than 2 positions; draw it longer or as a Point",
        ),
        geometry(
            "{\"type\":\"Polygon\",\"coordinates\":[[[0,0],[1,1],[0,0]]]}",
            "a ring has fewer than 3 different positions; draw 3 corners or more",
        ),
        geometry(
            "{\"type\":\"Polygon\",\"coordinates\":[]}",
            "a Polygon is empty; draw it or take the feature out",
        ),
        geometry(
            &rings,
            "more than 200 rings in one feature; part it into several",
        ),
        geometry(
            "{\"type\":\"Circle\",\"coordinates\":[0,0]}",
            "its geometry is not as RFC 7946 writes it: unknown variant `Circle`, expected one of \
             `Point`, `LineStri…; save the file again",
        ),
    ];
    judged(19, cases);
}

#[test]
fn zips_that_lie_or_harm_are_refused() {
    let field = one("{\"type\":\"Point\",\"coordinates\":[0,0]}");
    let field = field.as_bytes();
    let spaces = vec![b' '; 40 << 20];
    let sound = zipped(&[("field.geojson", field)]);
    let locked = {
        // The first flag bit of the entry, in its own header and in the list.
        let start = sound
            .windows(4)
            .position(|four| four == b"PK\x01\x02")
            .unwrap();
        let mut locked = sound.clone();
        locked[6] |= 1;
        locked[start + 8] |= 1;
        locked
    };
    let spoilt = {
        let start = sound
            .windows(4)
            .position(|four| four == b"PK\x01\x02")
            .unwrap();
        let mut spoilt = sound.clone();
        spoilt[start + 16] ^= 1;
        spoilt
    };
    let linked = {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        zip.add_symlink(
            "field.geojson",
            "/etc/hostname",
            SimpleFileOptions::default(),
        )
        .unwrap();
        zip.finish().unwrap().into_inner()
    };
    let many: Vec<(String, &[u8])> = (0..501).map(|n| (format!("{n}.kml"), field)).collect();
    let many: Vec<(&str, &[u8])> = many
        .iter()
        .map(|(name, bytes)| (name.as_str(), *bytes))
        .collect();
    let packed = |files: &[(&str, &[u8])], expected: &str| {
        judge(
            "field.zip",
            &zipped(files),
            &format!("field.zip: {expected}"),
        )
    };
    let climbing = |name: &str| {
        let text = format!(
            "holds a file with the path `{name}`, which leads out of its folder; do not trust this \
             zip"
        );
        packed(&[(name, field)], &text)
    };
    let cases = vec![
        packed(
            &[("field.geojson", &spaces)],
            "field.geojson: unpacks to more than 200 times the size of the zip, which no file of \
             lines and areas does; do not trust this zip",
        ),
        climbing("../field.geojson"),
        climbing("a/../../field.geojson"),
        climbing("/etc/field.geojson"),
        climbing("..\\field.geojson"),
        climbing("c:field.geojson"),
        packed(
            &many,
            "holds more than 500 files; unpack it and read the one you mean",
        ),
        packed(
            &[("field.txt", field)],
            "holds nothing that is read; it needs one GeoJSON, KML, GPX, shapefile (.shp) or \
             TASKDATA.XML",
        ),
        judge(
            "field.zip",
            &linked,
            "field.zip: holds nothing that is read; it needs one GeoJSON, KML, GPX, shapefile \
             (.shp) or TASKDATA.XML",
        ),
        packed(
            &[("a.kml", field), ("b/c.gpx", field)],
            "holds several files that are read: `a.kml`, `b/c.gpx`; unpack it and name one of them",
        ),
        judge(
            "field.zip",
            &zipped(&[("field.geojson", &sound)]),
            "field.zip/field.geojson: is a zip within a zip, which is not opened; unpack the outer \
             one first",
        ),
        judge(
            "field.zip",
            &locked,
            "field.zip: `field.geojson` in it is locked by a password; pack it without one",
        ),
        judge(
            "field.zip",
            &spoilt,
            "field.zip: field.geojson: not a sound zip; copy or pack it again",
        ),
        judge(
            "field.zip",
            &sound[..sound.len() / 2],
            "field.zip: not a sound zip; copy or pack it again",
        ),
        judge(
            "field.zip",
            b"PK\x05\x06",
            "field.zip: not a sound zip; copy or pack it again",
        ),
    ];
    judged(15, cases);
}

#[test]
fn sizes_that_a_zip_claims_are_not_believed() {
    let field = one("{\"type\":\"Point\",\"coordinates\":[0,0]}");
    let mut zip = zipped(&[("field.geojson", field.as_bytes())]);
    // Four thousand million bytes, packed and unpacked, says the list.
    let start = zip
        .windows(4)
        .position(|four| four == b"PK\x01\x02")
        .unwrap();
    zip[start + 20..start + 28].copy_from_slice(&[0xfe; 8]);
    let bench = Workbench::empty();
    bench.put_bytes("field.zip", &zip);
    let output = limited(&bench, &["field.zip"]);
    assert_eq!(output.status.code(), Some(0));
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(told.contains("no lines, no areas, 1 place\n"), "{told}");
}

#[test]
fn bytes_that_are_stored_unpacked_are_counted_too() {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    zip.start_file("field.geojson", stored).unwrap();
    zip.write_all(&vec![b' '; 17 << 20]).unwrap();
    let bytes = zip.finish().unwrap().into_inner();
    let expected = format!(
        "field.zip: has {} bytes; at most 16777216 are read; save only the outline or the lines \
         that you need",
        bytes.len()
    );
    judged(1, vec![judge("field.zip", &bytes, &expected)]);
}

#[test]
fn shapefiles_that_lie_are_refused() {
    let line = Shp::new(3).line(&[&[(0.0, 0.0), (1e-3, 1e-3)]]);
    let shp = |shp: &Shp, expected: &str| {
        judge("field.shp", &shp.bytes(), &format!("field.shp: {expected}"))
    };
    let changed = |at: usize, to: &[u8], expected: &str| {
        let mut bytes = line.bytes();
        bytes[at..at + to.len()].copy_from_slice(to);
        judge("field.shp", &bytes, &format!("field.shp: {expected}"))
    };
    let beside = |end: &str, bytes: &[u8], expected: &str| {
        let bench = Workbench::empty();
        bench.put_bytes("field.shp", &line.bytes());
        bench.put_bytes(&format!("field.{end}"), bytes);
        judge_at(&bench, &["field.shp"], &format!("field.shp: {expected}"))
    };
    let two_gb = 0x3fff_ffff_i32.to_be_bytes();
    let most = i32::MAX.to_le_bytes();
    // Where in the file: header 100, head of the record 8, type 4, box 32, counts 4 and 4.
    let (length, content, parts, points, start, first) = (24, 104, 144, 148, 152, 156);
    let again = "save the file again";
    let many: Vec<(f64, f64)> = (0..200_001).map(|_| (0.0, 0.0)).collect();
    let table_of = |bytes: &[u8], at: usize, to: &[u8]| {
        let mut bytes = bytes.to_vec();
        bytes[at..at + to.len()].copy_from_slice(to);
        bytes
    };
    let sound = table("NAME", &["field"]);
    let cases = vec![
        judge(
            "field.shp",
            &line.bytes()[..60],
            "field.shp: has 60 bytes, fewer than the 100 of a shapefile's header; copy it again",
        ),
        judge(
            "field.shp",
            &[b'x'; 200],
            "field.shp: is no shapefile, though its name says so; save or copy it again",
        ),
        changed(
            28,
            &7_i32.to_le_bytes(),
            "is of a version of the shapefile that there is none of; save it again",
        ),
        changed(
            32,
            &99_i32.to_le_bytes(),
            &format!("has the shape type 99, which there is none of; {again}"),
        ),
        changed(
            length,
            &two_gb,
            "says that it has 2147483646 bytes, but has 188; copy or save it again",
        ),
        changed(
            content,
            &two_gb,
            &format!(
                "record 1: says that it is 2147483646 bytes long, but 80 are left; copy or {again}"
            ),
        ),
        changed(
            content,
            &(-4_i32).to_be_bytes(),
            &format!("record 1: says that it is less than nothing long; {again}"),
        ),
        changed(
            parts,
            &most,
            &format!(
                "record 1: says that it has 2147483647 parts and 2 points, but is too short for \
                 them; {again}"
            ),
        ),
        changed(
            points,
            &most,
            &format!(
                "record 1: says that it has 1 parts and 2147483647 points, but is too short for \
                 them; {again}"
            ),
        ),
        changed(
            points,
            &(-1_i32).to_le_bytes(),
            &format!("record 1: counts -1 of something; {again}"),
        ),
        changed(
            start,
            &5_i32.to_le_bytes(),
            &format!("record 1: has parts that do not follow each other; {again}"),
        ),
        changed(
            first,
            &f64::NAN.to_le_bytes(),
            &format!("record 1: a position is no number; {again}"),
        ),
        changed(
            first,
            &f64::INFINITY.to_le_bytes(),
            "its coordinates are no degrees, and there is no .prj beside it that says of which \
             system they are; copy that too",
        ),
        changed(
            108,
            &5_i32.to_le_bytes(),
            &format!("record 1: has the shape type 5 in a file of type 3; {again}"),
        ),
        shp(
            &Shp::new(31),
            "holds surfaces (MultiPatch), which are not read; save it as polygons",
        ),
        shp(
            &Shp::new(3).line(&[&many]),
            "holds more than 200000 positions; save only what you need from it",
        ),
        shp(
            &Shp::new(5).line(&[&[(0.0, 0.0), (1e-3, 1e-3), (0.0, 0.0)]]),
            "record 1: a ring has fewer than 3 different points; draw 3 corners or more",
        ),
        beside(
            "dbf",
            &table_of(&sound, 4, &u32::MAX.to_le_bytes()),
            "its .dbf says that it has 4294967295 records of 6 bytes, but 7 bytes are there; copy \
             it again",
        ),
        beside(
            "dbf",
            &table_of(&sound, 48, &[200]),
            "its .dbf has columns of 201 bytes in records of 6; save it again",
        ),
        beside("dbf", &sound[..20], "its .dbf is cut off; copy it again"),
        beside(
            "dbf",
            &table("NAME", &["a", "b", "c"]),
            "its .dbf has 3 records for 1 shapes; copy the files again, or leave the .dbf away",
        ),
        beside(
            "prj",
            b"+proj=pipeline +step +init=/etc/hostname:x",
            "its .prj is no plain description of a coordinate reference system; save it again",
        ),
        beside(
            "prj",
            "PROJCS[".repeat(2_000).as_bytes(),
            "its .prj describes ``, which cannot be used; save the file in WGS84 degrees",
        ),
    ];
    judged(23, cases);
}

#[test]
fn options_that_do_not_fit_are_refused() {
    let bench = Workbench::new();
    let square = "[[[-3.72,55.31],[-3.719,55.31],[-3.719,55.311],[-3.72,55.311],[-3.72,55.31]]]";
    bench.put(
        "area.geojson",
        &one(&format!(
            "{{\"type\":\"Polygon\",\"coordinates\":{square}}}"
        )),
    );
    bench.put(
        "lines.geojson",
        &one(
            "{\"type\":\"MultiLineString\",\"coordinates\":[[[-3.72,55.312],[-3.7199,55.312]],\
             [[-3.72,55.312],[-3.71995,55.3121],[-3.7199,55.312]],\
             [[-3.72,55.312],[-3.720001,55.312]],[[10,55.312],[10.001,55.312]]]}",
        ),
    );
    let butterfly = "[[[-3.72,55.31],[-3.719,55.311],[-3.719,55.31],[-3.72,55.311],[-3.72,55.31]]]";
    bench.put(
        "crossed.geojson",
        &one(&format!(
            "{{\"type\":\"Polygon\",\"coordinates\":{butterfly}}}"
        )),
    );
    bench.put("there.geojson", "somebody's work");
    bench.put(
        "nowhere/job.toml",
        &crate::workbench::JOB
            .replace("centre = { lat_deg = 55.312, lon_deg = -3.72 }\n", "")
            .replace("[ground]\nfile = \"ground.geojson\"\n", ""),
    );
    let start = |line: &str, job: &str, expected: &str| {
        let arguments = ["lines.geojson", "--line", line, "--for", job];
        judge_at(&bench, &arguments, &format!("lines.geojson: {expected}"))
    };
    let cases = vec![
        judge_at(
            &bench,
            &["lines.geojson", "--ground", "out.geojson"],
            "lines.geojson: holds no area, so there is no outline for a ground file; draw it as a \
             polygon",
        ),
        judge_at(
            &bench,
            &["area.geojson", "--ground", "there.geojson"],
            "there.geojson: is there already; name another file or remove it",
        ),
        judge_at(
            &bench,
            &["area.geojson", "--ground", "no/such/out.geojson"],
            "no/such/out.geojson: cannot be written: there is no such file or folder",
        ),
        judge_at(
            &bench,
            &["area.geojson", "--ground", "out.geojson", "--take", "feild"],
            "area.geojson: `--take feild` names no area of its 1; did you mean `field`?",
        ),
        judge_at(
            &bench,
            &["crossed.geojson", "--ground", "out.geojson"],
            "crossed.geojson: no ground file can be made of it: in that, feature 1 `field`: \
             exterior ring crosses itself near (-3.7195000, 55.3105000); put its corners in their \
             order round the edge",
        ),
        judge_at(
            &bench,
            &["area.geojson", "--line", "1", "--for", "ground"],
            "area.geojson: holds no line, so no lines can start from one; name a file with a line in it",
        ),
        start(
            "field",
            "ground",
            "`--line field` names 4 lines; give one by its number: `1`, `2`, `3`, `4`",
        ),
        start(
            "2",
            "ground",
            "line 2 `field`: bends by up to 11.13 m; take a line that is straight to 0.05 m",
        ),
        start(
            "3",
            "ground",
            "line 3 `field`: is 0.06 m long, too short to show a direction; take one of 5 m or more",
        ),
        start(
            "1",
            "nowhere",
            "line 1 `field`: nowhere gives no position of its pitch; give `centre` and \
             `bearing_deg`, or marks",
        ),
        start(
            "4",
            "ground",
            "line 4 `field`: lies 872471 m from the pitch of ground; take a line that lies on it",
        ),
    ];
    judged(11, cases);
}
