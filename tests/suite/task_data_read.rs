//! Task data of others: what is understood of it, and what is refused with which words.

use swardlane::found::{Found, task_data};

use super::support::Chance;

const HEAD: &str = "<ISO11783_TaskData VersionMajor=\"4\" VersionMinor=\"3\" \
                    ManagementSoftwareManufacturer=\"Hand\" ManagementSoftwareVersion=\"1\" \
                    DataTransferOrigin=\"1\">";

/// A file of version 4 with that in it.
fn file(within: &str) -> String {
    format!("{HEAD}{within}</ISO11783_TaskData>")
}

/// A field with that in it.
fn field(within: &str) -> String {
    file(&format!(
        "<PFD A=\"PFD1\" C=\"Mill\" D=\"100\">{within}</PFD>"
    ))
}

fn point(kind: u8, lat: &str, lon: &str) -> String {
    format!("<PNT A=\"{kind}\" C=\"{lat}\" D=\"{lon}\"/>")
}

fn line_of(points: usize) -> String {
    let points: String = (0..points)
        .map(|n| point(2, &format!("55.{n}"), "-3.5"))
        .collect();
    format!("<LSG A=\"5\" B=\"way\">{points}</LSG>")
}

fn pattern(kind: u8, within: &str) -> String {
    field(&format!(
        "<GGP A=\"GGP1\" B=\"north\"><GPN A=\"GPN1\" B=\"one\" C=\"{kind}\" G=\"0\">{within}</GPN></GGP>"
    ))
}

fn nobody(_: &str) -> Option<Vec<u8>> {
    None
}

fn read(text: &str) -> Found {
    task_data::read("TASKDATA.XML", text.as_bytes(), &nobody).unwrap()
}

fn refused(bytes: &[u8], message: &str) {
    let fault = task_data::read("TASKDATA.XML", bytes, &nobody).unwrap_err();
    assert_eq!(fault.to_string(), format!("TASKDATA.XML: {message}"));
}

#[test]
fn patterns_are_read_by_their_types() {
    let one = |kind: u8, points: usize| read(&pattern(kind, &line_of(points)));
    assert_eq!(one(1, 2).lines[0].label.kind.as_deref(), Some("A-B"));
    assert_eq!(one(1, 2).lines[0].label.within, ["Mill", "north"]);
    assert_eq!(one(3, 7).lines[0].positions.len(), 7);
    assert_eq!(one(5, 7).lines[0].label.kind.as_deref(), Some("spiral"));
    let plus = one(2, 1);
    assert!(plus.lines.is_empty());
    assert!(plus.remarks.contains(
        &"the guidance pattern `GPN1` is an A+ line: a place and the heading `0`, no second place, \
          so no line is made of it"
            .to_owned()
    ));
    assert!(
        one(4, 1)
            .remarks
            .iter()
            .any(|remark| remark.contains("is a pivot"))
    );
}

#[test]
fn a_heading_off_its_line_is_told() {
    let text = pattern(1, &line_of(2));
    assert!(
        read(&text)
            .remarks
            .iter()
            .all(|remark| !remark.contains("heading"))
    );
    let found = read(&text.replace("G=\"0\"", "G=\"2.2\""));
    assert_eq!(
        found.remarks[1],
        "the guidance pattern `GPN1` says the heading 2.2 degrees, but its points lie 2.20 degrees \
         off that; the points are taken"
    );
}

#[test]
fn grounds_places_and_lines_of_a_field_are_read() {
    let ring = |kind: u8| {
        format!(
            "<LSG A=\"{kind}\">{}{}{}{}</LSG>",
            point(2, "1", "1"),
            point(2, "1", "2"),
            point(2, "2", "2"),
            point(2, "1", "1")
        )
    };
    let within = format!(
        "<PLN A=\"1\">{outer}{hole}{outer}</PLN><PLN A=\"6\" B=\"tree\">{outer}</PLN>\
         <LSG A=\"7\" B=\"fence\">{}{}</LSG><PNT A=\"3\" B=\"gate\" C=\"1.5\" D=\"1.5\"/>",
        point(2, "1", "1"),
        point(2, "3", "3"),
        outer = ring(1),
        hole = ring(2),
    );
    let found = read(&field(&within));
    let rings: Vec<usize> = found.areas.iter().map(|area| area.rings.len()).collect();
    assert_eq!(rings, [2, 1, 1]);
    assert!(
        found
            .areas
            .iter()
            .flat_map(|area| &area.rings)
            .all(|ring| ring.len() == 3)
    );
    assert_eq!(found.lines[0].label.kind.as_deref(), Some("fence"));
    assert_eq!(found.places[0].label.name.as_deref(), Some("gate"));
}

#[test]
fn tasks_rates_and_products_are_told() {
    let text = file(
        "<TSK A=\"TSK1\" B=\"spread\" G=\"1\"><TZN A=\"3\"><PDV A=\"0006\" B=\"25500\" C=\"PDT1\"/>\
         <PDV A=\"0001\" B=\"2000000\" C=\"PDT9\"/><PDV A=\"00G6\" B=\"7\"/><PDV A=\"0086\" B=\"8\"/></TZN></TSK><PDT A=\"PDT1\" B=\"feed\"/>\
         <TSK A=\"TSK2\" B=\"drive\" G=\"1\"><GRD A=\"1\"/></TSK>",
    );
    assert_eq!(
        read(&text).remarks,
        [
            "task data, version 4.3, written by Hand",
            "product `feed`",
            "a grid of rates (`GRD`) is not read",
            "task `drive`: nothing is put down",
            "task `spread`: in zone 3 25.5 g/m2 of `feed`",
            "task `spread`: in zone 3 200 l/ha of `PDT9`",
            "task `spread`: in zone 3 the value 7 under the malformed index `00G6` (`A` of PDV; \
             write four hexadecimal digits, such as `0006`)",
            "task `spread`: in zone 3 the value 8 of process data 134",
            "`C` of a PDV names `PDT9`, which the file does not hold; if it matters, write the whole \
             folder again",
        ]
    );
}

#[test]
fn external_files_are_read_where_they_are_there() {
    let main = file("<XFR A=\"PFD00001\" B=\"1\"/><XFR A=\"TSK00002\" B=\"1\"/>");
    let field = format!(
        "<XFC><PFD A=\"PFD1\" C=\"Mill\" D=\"1\">{}</PFD></XFC>",
        line_of(2)
    );
    let others = |name: &str| (name == "PFD00001.XML").then(|| field.clone().into_bytes());
    let found = task_data::read("TASKDATA.XML", main.as_bytes(), &others).unwrap();
    assert_eq!(found.lines.len(), 1);
    assert_eq!(
        found.remarks[2],
        "the part `TSK00002.XML` is not there, so what is in it is left out"
    );
    let wrong = |name: &str| (name == "PFD00001.XML").then(|| b"<PFD/>".to_vec());
    let fault = task_data::read("TASKDATA.XML", main.as_bytes(), &wrong).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "PFD00001.XML: line 1: the root is `PFD`, not `XFC`; it is no part of task data: write the folder again"
    );
}

#[test]
fn limits_hold_for_all_files_of_a_folder_together() {
    let main = file("<XFR A=\"PFD00001\" B=\"1\"/><XFR A=\"PFD00002\" B=\"1\"/>");
    let full = |_: &str| Some(format!("<XFC>{}</XFC>", " ".repeat((16 << 20) - 11)).into_bytes());
    let fault = task_data::read("TASKDATA.XML", main.as_bytes(), &full).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "PFD00002.XML: task data of more than 33554432 bytes is not read; write less into one folder"
    );
    let places = field(&point(3, "1", "1").repeat(10_001)).replace("PFD1", "PFD2");
    let part = places
        .replace(HEAD, "<XFC>")
        .replace("ISO11783_TaskData", "XFC");
    let half = |name: &str| (name == "PFD00001.XML").then(|| part.clone().into_bytes());
    let main = main.replace("<XFR A=\"PFD00002\" B=\"1\"/>", "");
    let main = main.replace(
        "<XFR",
        &format!(
            "{}<XFR",
            places.replace(HEAD, "").replace("</ISO11783_TaskData>", "")
        ),
    );
    let fault = task_data::read("TASKDATA.XML", main.as_bytes(), &half).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "PFD00001.XML: line 1: holds more than 20000 lines, areas, places and groups; save only \
         what you need from it"
    );
}

#[test]
fn references_beyond_those_that_are_followed_are_told() {
    let tasks = |count: usize| -> String {
        (0..count)
            .map(|n| format!("<TSK A=\"TSK{n}\" E=\"TSK0\"/>"))
            .collect()
    };
    let last = |count: usize| {
        read(&file(&tasks(count)))
            .remarks
            .iter()
            .rev()
            .nth(1)
            .cloned()
    };
    assert_eq!(
        last(50_002).as_deref(),
        Some(
            "2 references more are not followed: whether the file holds what they name is not known"
        )
    );
    assert_ne!(last(50_000).as_deref(), last(50_002).as_deref());
}

#[test]
fn what_a_schema_accepts_though_it_means_nothing_is_refused() {
    let ring = format!(
        "<LSG A=\"1\">{}{}{}</LSG>",
        point(2, "1", "1"),
        point(2, "1", "2"),
        point(2, "2", "2")
    );
    let polygon = format!("<PLN A=\"1\">{ring}</PLN>");
    for (text, message) in [
        (
            pattern(1, &line_of(1)),
            "the guidance pattern `GPN1` is an A-B line of one point; give it two, A and B",
        ),
        (
            pattern(1, ""),
            "the guidance pattern `GPN1` has 0 lines; give it one, no more and no less, or take it out",
        ),
        (
            pattern(1, &polygon),
            "the guidance pattern `GPN1` has 0 lines; give it one, no more and no less, or take it out",
        ),
        (
            pattern(1, &line_of(2).repeat(2)),
            "the guidance pattern `GPN1` has 2 lines; give it one, no more and no less, or take it out",
        ),
        (
            field(&format!("<GGP A=\"GGP1\">{polygon}</GGP>")),
            "the guidance group `GGP1` has no pattern; give it one, or take it out",
        ),
    ] {
        refused(text.as_bytes(), &format!("line 1: {message}"));
    }
    let found = read(&field("").replace("D=\"100\"", "D=\"100\" E=\"CTR9\""));
    assert_eq!(
        found.remarks[2],
        "`E` of a PFD names `CTR9`, which the file does not hold; if it matters, write the whole \
             folder again"
    );
}

#[test]
fn broken_and_hostile_files_are_refused_with_one_message() {
    let many = |piece: &str, times: usize| piece.repeat(times);
    let deep = format!("{HEAD}{}", many("<A>", 64));
    let entities = format!(
        "<!DOCTYPE x [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;\">]>{}",
        field("")
    );
    let attributes: String = (0..80).map(|n| format!(" a{n}=\"1\"")).collect();
    let cases: Vec<(Vec<u8>, String)> = vec![
        (Vec::new(), "line 1: there is no XML in it; give a TASKDATA.XML file".into()),
        (b"PK\x03\x04 nothing".to_vec(), "line 1: there is no XML in it; give a TASKDATA.XML file".into()),
        (b"\xff\xfe<\x00I\x00".to_vec(), "line 1: not written in UTF-8; save the file again in UTF-8".into()),
        (HEAD.into(), "line 1: the file stops too early, within `ISO11783_TaskData`; save or copy it again".into()),
        (format!("{HEAD}\n<PFD></TSK>").into(), "line 2: not sound XML: ill-formed document: expected `</PFD>`, but `</TSK>` was found; mend it there, or save the file again".into()),
        (format!("{}{}", field(""), field("")).into(), "line 1: not sound XML: a second outermost element; mend it there, or save the file again".into()),
        (entities.into(), "line 1: has a document type (`<!DOCTYPE`), through which a file can grow or fetch others; take that line out".into()),
        (field("").replace("Mill", "&bomb;").into(), "line 1: not sound XML: at 1..5: unrecognized entity `bomb`; mend it there, or save the file again".into()),
        (field("").replace("C=\"Mill\"", "C=\"a\" C=\"b\"").into(), "line 1: not sound XML: position 19: duplicated attribute, previous declaration at position 13; mend it there, or save the file again".into()),
        (deep.into(), "line 1: elements stand more than 64 deep within each other, which no sound file needs; save the file again".into()),
        (file(&many("<A/>", 400_001)).into(), "line 1: there are more than 400000 elements; write less into one file".into()),
        (file(&format!("<PFD{attributes}/>")).into(), "line 1: an element has more than 64 attributes; save the file again".into()),
        (vec![b' '; (16 << 20) + 1], "has 16777217 bytes; at most 16777216 are read; save only the outline or the lines that you need".into()),
        (b"<kml/>".to_vec(), "line 1: the root is `kml`, not `ISO11783_TaskData`; give the file `TASKDATA.XML` of a folder of task data".into()),
        (b"<XFC/>".to_vec(), "line 1: the root is `XFC`, not `ISO11783_TaskData`; this is a part of task data: give the file `TASKDATA.XML` beside it".into()),
        (field("").replace("VersionMajor=\"4\"", "VersionMajor=\"2\"").into(), "line 1: `VersionMajor` is `2`; versions 3 and 4 are read: write one of them".into()),
        (pattern(1, &line_of(2)).replace("VersionMajor=\"4\"", "VersionMajor=\"3\"").into(), "line 1: the guidance group `GGP1` stands in a file of version 3, which knows no groups; write version 4".into()),
        (pattern(6, &line_of(2)).into(), "line 1: the guidance pattern `GPN1` has the type `6`, which no pattern of the standard has; correct it".into()),
        (pattern(3, &line_of(1)).into(), "line 1: the guidance pattern `GPN1` has one point; give it two or more, or take it out".into()),
        (pattern(1, &line_of(2).replace("A=\"5\"", "A=\"7\"")).into(), "line 1: the line of the guidance pattern `GPN1` has the type `7`; make it 5".into()),
        (field(&line_of(0)).into(), "line 1: the line `way` has no point; give it two or more, or take it out".into()),
        (field(&point(2, "91.0", "0")).into(), "line 1: latitude 91 is beyond 90 degrees; check that longitude and latitude are not exchanged and that the file is in WGS84 degrees".into()),
        (field(&point(2, "1", "inf")).into(), "line 1: the longitude (`D`) of a point: `inf` is no number; write decimal degrees such as -3.720123456".into()),
        (field(&point(2, "NaN", "1")).into(), "line 1: the latitude (`C`) of a point: `NaN` is no number; write decimal degrees such as -3.720123456".into()),
        (field("<PNT A=\"2\" C=\"1\"/>").into(), "line 1: a point lacks its latitude (`C`) or longitude (`D`); give both".into()),
        (field(&point(12, "1", "1")).into(), "line 1: a point has the type `12`, which no point of the standard has; correct it".into()),
        (field("<PLN A=\"1\"/>").into(), "line 1: a polygon has no ring; give it one, or take it out".into()),
        (field(&format!("<PLN A=\"13\" B=\"x\">{}</PLN>", line_of(3))).into(), "line 1: the polygon `x` has the type `13`, which no polygon of the standard has; correct it".into()),
        (field(&format!("<PLN A=\"1\">{}</PLN>", line_of(3))).into(), "line 1: a polygon holds a line that is no ring (type 1 or 2); put it beside it".into()),
        (field(&format!("<PLN A=\"1\">{}</PLN>", line_of(2).replace("A=\"5\"", "A=\"1\""))).into(), "line 1: a polygon has a ring of fewer than three places; give them, or take it out".into()),
        (field(&format!("<PLN A=\"1\">{}</PLN>", line_of(3).replace("A=\"5\"", "A=\"2\""))).into(), "line 1: a polygon has a hole before its outer ring; put the outer ring (type 1) first".into()),
        (field(&line_of(3).replace("A=\"5\"", "A=\"1\"")).into(), "line 1: the line `way` is a ring but lies in no polygon; put it into a `PLN`".into()),
        (file("<XFR A=\"../../etc/passwd\" B=\"1\"/>").into(), "line 1: an external file is called `../../etc/passwd`; it is called three capitals and five digits, such as `TSK00001`".into()),
        (file("<XFR A=\"ä€00000\" B=\"1\"/>").into(), "line 1: an external file is called `ä€00000`; it is called three capitals and five digits, such as `TSK00001`".into()),
        (file(&(0..501).map(|n| format!("<XFR A=\"TSK{n:05}\" B=\"1\"/>")).collect::<String>()).into(), "501 external files are named; at most 500 are read: write fewer into one folder".into()),
        (file("<TSK A=\"TSK1\"><TZN A=\"1\"><PDV A=\"0006\" B=\"1e99\"/></TZN></TSK>").into(), "line 1: a rate (`B` of PDV) is `1e99`; give a whole number".into()),
        (field(&many(&point(1, "1", "1"), 20_001)).into(), "line 1: holds more than 20000 lines, areas, places and groups; save only what you need from it".into()),
        (file(&format!("<PFD A=\"PFD1\"><LSG A=\"5\">{}</LSG></PFD>", many(&point(2, "1", "1"), 200_001))).into(), "line 1: holds more than 200000 positions; save only what you need from it".into()),
    ];
    assert!(cases.len() > 30);
    let wrong: Vec<String> = cases
        .iter()
        .filter_map(|(bytes, message)| {
            let told = match task_data::read("TASKDATA.XML", bytes, &nobody) {
                Ok(_) => "nothing: it was read".to_owned(),
                Err(fault) => fault.to_string(),
            };
            let wanted = format!("TASKDATA.XML: {message}");
            (told != wanted).then(|| format!("{told}\ninstead of\n{wanted}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// A file with one of everything that is read.
fn everything() -> String {
    let ring = |kind: u8| {
        let corners = [("1", "1"), ("1", "2"), ("2", "2"), ("1", "1")];
        let points: String = corners
            .iter()
            .map(|(lat, lon)| point(2, lat, lon))
            .collect();
        format!("<LSG A=\"{kind}\">{points}</LSG>")
    };
    let patterns: String = [(1, 2), (2, 1), (3, 5), (4, 1), (5, 3)]
        .iter()
        .map(|&(kind, points)| {
            let line = line_of(points);
            format!("<GPN A=\"GPN{kind}\" B=\"way\" C=\"{kind}\" G=\"12.5\">{line}</GPN>")
        })
        .collect();
    file(&format!(
        "<!-- one of each --><PFD A=\"PFD1\" C=\"Mill\" D=\"7140\"><PLN A=\"1\">{}{}</PLN>{}{}\
         <GGP A=\"GGP1\">{patterns}</GGP></PFD><PDT A=\"PDT1\" B=\"a &amp; b\"/><XFR A=\"TSK00001\" \
         B=\"1\"/><TSK A=\"TSK1\" B=\"x\" E=\"PFD1\"><TZN A=\"1\"><PLN A=\"2\">{}</PLN><PDV \
         A=\"0006\" B=\"1\" C=\"PDT1\"/></TZN><GRD/></TSK>",
        ring(1),
        ring(2),
        line_of(2).replace("A=\"5\"", "A=\"7\""),
        point(3, "1.5", "1.5"),
        ring(1),
    ))
}

#[test]
fn changed_files_are_read_or_refused_and_never_break_the_reader() {
    let whole = everything();
    let mut chance = Chance(11);
    let (mut kept, mut refused) = (0, 0);
    for _ in 0..6000 {
        let mut bytes = whole.clone().into_bytes();
        for _ in 0..1 + (chance.share() * 3.0) as usize {
            let at = (chance.share() * bytes.len() as f64) as usize;
            let to = (at + (chance.share() * 60.0) as usize).min(bytes.len());
            match (chance.share() * 5.0) as u8 {
                0 => bytes[at] = (chance.share() * 256.0) as u8,
                1 => drop(bytes.drain(at..to)),
                2 => {
                    let piece = bytes[at..to].to_vec();
                    bytes.splice(at..at, piece);
                }
                3 => bytes[at] = chance.one_of(b"<>/\"&'09-.PNTGL "),
                _ => bytes.truncate(at.max(1)),
            }
            if bytes.is_empty() {
                break;
            }
        }
        let is_alone = chance.happens(0.9);
        let others = |_: &str| (!is_alone).then(|| bytes.clone());
        match task_data::read("TASKDATA.XML", &bytes, &others) {
            Ok(found) => {
                kept += 1;
                assert!(found.lines.iter().all(|line| line.positions.len() >= 2));
                assert!(
                    found
                        .areas
                        .iter()
                        .flat_map(|area| &area.rings)
                        .all(|ring| ring.len() >= 3)
                );
            }
            Err(fault) => {
                refused += 1;
                assert!(!fault.text.is_empty() && !fault.file.is_empty());
            }
        }
    }
    assert!(
        kept > 100 && refused > 1000,
        "{kept} read, {refused} refused"
    );
}
