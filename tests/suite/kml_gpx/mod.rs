//! `guidance/passes.kml` and `guidance/route.gpx`: written, read back by our own readers, and
//! compared with the plan; then files of others, broken ones and hostile ones.
#![allow(clippy::unwrap_used, clippy::panic)]

mod hostile;
mod strangers;

use swardlane::formats::guidance;
use swardlane::found::{Found, FoundLine, Label, gpx, kml};
use swardlane::job::model::Job;
use swardlane::passes::Track;
use swardlane::plan::{Plan, plan};
use swardlane::space::{Corner, Position, Xy};

use crate::support::{brushing, rectangle_job, small_tractor};
use crate::workbench::{GROUND, JOB};

/// Half a unit of the ninth decimal of a degree, and what a double carries beside it.
const ROUNDED_DEG: f64 = 5.1e-10;

fn planned(job: &str) -> Plan {
    let job = swardlane::job::read("job.toml", job, |_| Ok(GROUND.to_owned())).unwrap();
    plan(&job).unwrap()
}

/// The bytes of a guidance file of that name.
fn bytes(plan: &Plan, name: &str) -> Vec<u8> {
    let files = guidance::files(plan).unwrap();
    let mut of_name = files.into_iter().filter(|(path, _)| path == name);
    of_name.next().unwrap_or_else(|| panic!("no {name}")).1
}

fn kml_of(plan: &Plan) -> Found {
    kml::read("passes.kml", &bytes(plan, "guidance/passes.kml")).unwrap()
}

fn gpx_of(plan: &Plan) -> Found {
    gpx::read("route.gpx", &bytes(plan, "guidance/route.gpx")).unwrap()
}

fn text_of(plan: &Plan, name: &str) -> String {
    String::from_utf8(bytes(plan, name)).unwrap()
}

/// Positions of places of the plan, unrounded.
fn degrees(plan: &Plan, places: impl IntoIterator<Item = Xy>) -> Vec<Position> {
    let frame = plan.ground.frame.as_ref().unwrap().open().unwrap();
    let all = places.into_iter();
    all.map(|at| frame.position(at).unwrap()).collect()
}

#[track_caller]
fn assert_same(got: &[Position], want: &[Position]) {
    assert_eq!(got.len(), want.len());
    for (got, want) in got.iter().zip(want) {
        let lon_deg = (got.lon_deg - want.lon_deg + 540.0).rem_euclid(360.0) - 180.0;
        let off = lon_deg.abs().max((got.lat_deg - want.lat_deg).abs());
        assert!(off <= ROUNDED_DEG, "{got:?} for {want:?}");
    }
}

/// The centre lines of all parts, with the label that KML gives each.
fn all_parts(plan: &Plan) -> Vec<(Label, Vec<Xy>)> {
    let mut all = Vec::new();
    for planned in &plan.operations {
        let id = &planned.operation.id;
        for (index, direction) in planned.directions.iter().enumerate() {
            for pass in &direction.passes.passes {
                for part in &pass.parts {
                    let many = pass.parts.len() > 1;
                    let part_name = format!(" part {}", part.number);
                    let part_name = if many { part_name.as_str() } else { "" };
                    let label = Label {
                        name: Some(format!("pass {}{part_name}", pass.number)),
                        within: vec![
                            format!("operation {id}"),
                            format!("{id} direction {}: {}", index + 1, direction.passes.name),
                        ],
                        kind: Some("pass".to_owned()),
                        ..Label::default()
                    };
                    let line = match &part.track {
                        Track::Straight { from, to } => vec![*from, *to],
                        Track::Round(line) => line.0.clone(),
                    };
                    all.push((label, line));
                }
            }
        }
    }
    all
}

#[test]
fn passes_kml_reads_back_as_the_plan() {
    let plan = planned(JOB);
    let found = kml_of(&plan);
    let parts = all_parts(&plan);
    assert!(
        parts.len() > 50
            && parts
                .iter()
                .any(|(label, _)| { label.name.as_ref().unwrap().ends_with("part 2") })
    );
    let passes: Vec<&FoundLine> = found.lines.iter().collect();
    assert_eq!(passes.len(), parts.len());
    for (got, (label, line)) in passes.iter().zip(&parts) {
        assert_eq!(&got.label, label);
        assert_same(&got.positions, &degrees(&plan, line.iter().copied()));
    }
    let named = |name: &str| {
        let mut of_name = found.areas.iter();
        of_name.find(|area| area.label.name.as_deref() == Some(name))
    };
    let pitch = named("pitch").unwrap();
    assert_eq!(pitch.label.within, ["ground"]);
    assert_eq!(pitch.label.kind.as_deref(), Some("pitch"));
    // As written by the plan but for the last corner, which closes the ring.
    let corners: Vec<Xy> = plan.ground.outline.exterior().0[1..].to_vec();
    let mut want = degrees(&plan, corners);
    let first = pitch.rings[0][0];
    let turn = want
        .iter()
        .position(|at| (at.lat_deg - first.lat_deg).abs() < 1e-9)
        .unwrap();
    want.rotate_left(turn);
    assert_same(&pitch.rings[0], &want);
    for zone in &plan.zones {
        let area = named(&format!("{}, wear {}", zone.name, zone.wear)).unwrap();
        assert_eq!(area.label.kind.as_deref(), Some("zone"));
        assert_eq!(area.rings.len(), 1 + zone.shape.0[0].interiors().len());
    }
    let clear = named("kept clear of obstacle old oak").unwrap();
    assert_eq!(clear.label.within, ["kept clear"]);
    let places: Vec<(Option<&str>, Option<&str>)> = found
        .places
        .iter()
        .map(|place| (place.label.name.as_deref(), place.label.kind.as_deref()))
        .collect();
    assert_eq!(
        places,
        [
            (Some("obstacle old oak"), Some("obstacle")),
            (Some("head head 1"), Some("head")),
            (Some("entrance"), Some("entrance")),
            (Some("peg SE"), Some("peg")),
        ]
    );
    let peg = found.places.last().unwrap().position;
    assert_same(&[peg], &degrees(&plan, [plan.ground.corner(Corner::Se)]));
    assert_eq!(found.remarks, ["the file calls itself `Larkmoor`"]);
}

#[test]
fn without_a_drive_the_tracks_are_the_lines_and_say_so() {
    let plan = planned(JOB);
    let found = gpx_of(&plan);
    let parts = all_parts(&plan);
    assert_eq!(found.lines.len(), parts.len());
    for (got, (label, line)) in found.lines.iter().zip(&parts) {
        let id = label.within[0].strip_prefix("operation ").unwrap();
        assert_eq!(got.label.within, [format!("{id} (lines, not a drive)")]);
        assert_eq!(got.label.kind.as_deref(), Some("lines"));
        assert_same(&got.positions, &degrees(&plan, line.iter().copied()));
    }
    assert_eq!(found.places.len(), 1, "only the peg, unless asked for more");
    assert_eq!(found.remarks, ["the file calls itself `Larkmoor`"]);
    let text = text_of(&plan, "guidance/route.gpx");
    assert!(
        text.contains("<desc>Lines, not a drive (none was planned): "),
        "{text}"
    );
    assert!(!text.contains("<time>"));
}

#[test]
fn ends_of_passes_are_waypoints_where_the_job_wants_them() {
    let plan = planned(&format!("{JOB}[plan]\ngpx_waypoints = true\n"));
    let found = gpx_of(&plan);
    let parts = all_parts(&plan);
    assert_eq!(found.places.len(), 1 + 2 * parts.len());
    assert_eq!(found.places[0].label.kind.as_deref(), Some("peg"));
    let ends = parts
        .iter()
        .flat_map(|(_, line)| [line[0], *line.last().unwrap()]);
    let got: Vec<Position> = found.places[1..]
        .iter()
        .map(|place| place.position)
        .collect();
    assert_same(&got, &degrees(&plan, ends));
    let name = |index: usize| found.places[index].label.name.clone().unwrap();
    assert_eq!([name(1), name(2)], ["mow d1 p1 start", "mow d1 p1 stop"]);
    let last = [name(found.places.len() - 2), name(found.places.len() - 1)];
    assert!(
        last[0].starts_with("spike d1 p") && last[0].ends_with(" start"),
        "{last:?}"
    );
    assert_eq!(
        found.places.last().unwrap().label.kind.as_deref(),
        Some("pass end")
    );
}

/// A small pitch on the globe, brushed with a drive.
fn driven_job(lon_deg: f64) -> Job {
    let mut operation = brushing(1.6, 0.0);
    operation.implement.reach_m = 1.0;
    operation.implement.tractor = Some(small_tractor());
    let mut job = rectangle_job(40.0, 26.0, vec![operation]);
    job.pitch.lie = swardlane::job::model::Lie::Centre {
        centre: Position {
            lat_deg: -17.0,
            lon_deg,
        },
        bearing: swardlane::space::Heading::from_deg(90.0),
    };
    job.pitch.run_off = Some(swardlane::job::model::RunOff::ByLine {
        touch_m: 8.0,
        goal_m: 8.0,
    });
    job.settings.routes = true;
    job.settings.gpx_waypoints = true;
    job
}

#[test]
fn a_drive_is_one_track_of_one_segment() {
    let plan = plan(&driven_job(12.0)).unwrap();
    let found = gpx_of(&plan);
    let [drive] = found.lines.as_slice() else {
        panic!("{} segments", found.lines.len())
    };
    assert_eq!(drive.label.within, ["brushing"]);
    assert_eq!(drive.label.kind.as_deref(), Some("drive"));
    let route = plan.operations[0].route.as_ref().unwrap();
    let mut places: Vec<Xy> = Vec::new();
    for leg in &route.legs {
        places.extend(leg.line.coords());
    }
    places.dedup();
    let mut want = degrees(&plan, places);
    // Places within half a tenth of a millimetre of each other are written once.
    let grid = |at: &Position| [at.lon_deg, at.lat_deg].map(|deg| (deg * 1e9).round());
    want.dedup_by(|one, other| grid(one) == grid(other));
    assert_same(&drive.positions, &want);

    // `start` is where the machine lowers its tool: every other pass is driven back.
    let start = |number: usize| {
        let name = format!("brushing d1 p{number} start");
        let mut places = found.places.iter();
        let place = places.find(|place| place.label.name.as_ref() == Some(&name));
        place.unwrap().position
    };
    let mut n_back = 0;
    for pass in &plan.operations[0].directions[0].passes.passes {
        let Track::Straight { from, to } = pass.parts[0].track else {
            panic!("a straight pass")
        };
        let mut worked = route.legs.iter().filter_map(|leg| leg.worked);
        let is_back = worked
            .find(|worked| worked.pass == pass.number)
            .unwrap()
            .is_back;
        n_back += usize::from(is_back);
        let want = if is_back { to } else { from };
        assert_same(&[start(pass.number)], &degrees(&plan, [want]));
    }
    assert!(n_back > 3, "{n_back} passes driven back");
}

/// Lengths in degrees of lines, added up.
fn length_deg(lines: &[FoundLine]) -> f64 {
    let steps = lines.iter().flat_map(|line| line.positions.windows(2));
    steps
        .map(|pair| {
            let east = pair[1].lon_deg - pair[0].lon_deg;
            east.hypot(pair[1].lat_deg - pair[0].lat_deg)
        })
        .sum()
}

#[test]
fn across_180_degrees_lines_are_cut_and_whole_again() {
    let dry = plan(&driven_job(12.0)).unwrap();
    let cut = plan(&driven_job(180.0)).unwrap();
    for (what, whole, parts) in [
        ("KML", kml_of(&dry), kml_of(&cut)),
        ("GPX", gpx_of(&dry), gpx_of(&cut)),
    ] {
        assert!(parts.lines.len() > whole.lines.len(), "{what} is cut");
        // 1e-8 degrees a cut: in GPX the end of a line at 180 degrees lies 1e-9 before it.
        let allowed = 1e-8 * parts.lines.len() as f64;
        let off = (length_deg(&whole.lines) - length_deg(&parts.lines)).abs();
        assert!(off < allowed, "{what}: lengths differ by {off} degrees");
        let least = if what == "KML" {
            -180.0
        } else {
            -180.0 - 1e-12
        };
        let most = if what == "KML" {
            180.0
        } else {
            179.999_999_999_5
        };
        for at in parts.lines.iter().flat_map(|line| &line.positions) {
            assert!((least..=most).contains(&at.lon_deg), "{what}: {at:?}");
        }
        assert_eq!(parts.remarks.len(), 1, "{what}: {:?}", parts.remarks);
    }
    // The pitch is two polygons that meet at 180 degrees.
    let areas = kml_of(&cut).areas;
    let pitches = areas
        .iter()
        .filter(|area| area.label.name.as_deref() == Some("pitch"));
    let sides: Vec<bool> = pitches.map(|area| area.rings[0][0].lon_deg > 0.0).collect();
    assert!(
        matches!(sides[..], [true, false] | [false, true]),
        "{sides:?}"
    );
}

#[test]
fn both_files_carry_the_services_wording_and_how_exact_they_are() {
    let deep = JOB.replace("task = \"spike\"", "task = \"deep_tine\"\ndepth_mm = 250.0");
    let plan = planned(&deep);
    let [at] = degrees(&plan, [plan.ground.corner(Corner::Se)])[..] else {
        panic!("one peg")
    };
    let peg = format!(
        "park on the SE peg (corner of the fitted rectangle, longitude {:.9}, latitude {:.9})",
        at.lon_deg, at.lat_deg
    );
    let wording = "operation spike: 250 mm deep: this plan shows recorded services only.";
    for name in ["guidance/passes.kml", "guidance/route.gpx"] {
        let text = text_of(&plan, name);
        for words in [
            "Positions are WGS84 longitude and latitude as they were given",
            "come by from its centre and bearing, written in the job.",
            &peg,
            "it must agree within 5 cm, else use canes",
            "Never steer by itself near people",
            wording,
            "Nothing here means that the ground is free of services.",
        ] {
            assert!(text.contains(words), "{name} lacks `{words}`");
        }
        // Once for the file, and once with the operation itself.
        assert_eq!(text.matches(wording).count(), 2, "{name}");
        assert!(!text_of(&planned(JOB), name).contains("services"), "{name}");
    }
}

#[test]
fn a_coarse_position_is_cautioned_of_in_both_files() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-pitches/municipal");
    let plan = plan(&swardlane::job::load(&folder).unwrap()).unwrap();
    for name in ["guidance/passes.kml", "guidance/route.gpx"] {
        let text = text_of(&plan, name);
        assert!(
            text.contains("transformed from EPSG:27700 with an accuracy of"),
            "{name}"
        );
        assert!(
            text.contains("Caution: positions from `EPSG:27700` are known"),
            "{name}"
        );
    }
}

#[test]
fn words_that_xml_cannot_carry_are_replaced_and_the_rest_is_kept() {
    let plan = planned(&JOB.replace("Larkmoor", "A <b> & \\\"c\\\" \u{fffe} ]]>"));
    let want = ["the file calls itself `A <b> & \"c\" \u{fffd} ]]>`"];
    assert_eq!(kml_of(&plan).remarks, want);
    assert_eq!(gpx_of(&plan).remarks, want);
}

#[test]
fn the_date_of_the_job_is_told_and_is_no_time() {
    let plan = planned(&format!("date = 2026-06-02\n{JOB}"));
    let text = text_of(&plan, "guidance/route.gpx");
    assert!(text.contains("Planned for 2026-06-02.") && !text.contains("<time>"));
    assert_eq!(text, text_of(&plan, "guidance/route.gpx"));
}

#[test]
fn without_a_position_only_the_tape_is_written() {
    let plan = plan(&rectangle_job(60.0, 40.0, vec![brushing(2.0, 0.0)])).unwrap();
    let files = guidance::files(&plan).unwrap();
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["guidance/tape.csv"]);
}
