//! Hand work as a whole: what is said of it, what must always hold, what is written and drawn.

use std::fmt::Write as _;

use geo::{Area, Distance, Euclidean, Intersects, MultiPolygon, Point};
use proptest::prelude::*;
use serde_json::Value;
use swardlane::hand::board::Stage;
use swardlane::hand::{Detail, HandPlan};
use swardlane::plan::{Plan, plan};
use swardlane::region;
use swardlane::space::Xy;

use crate::workbench::Workbench;

const PITCH: &str = "name = \"by hand\"\n\
    [pitch]\nlength_m = 105.0\nwidth_m = 68.0\n\
    centre = { lat_deg = 55.312, lon_deg = -3.72 }\nbearing_deg = 12.5\n\
    run_off_m = { touch = 4.0, goal = 5.0 }\n\
    [crew]\npeople = 3\nprice_per_h = 20.0\n\
    [implement.drag-brush]\nworking_width_m = 2.0\nspeed_km_h = 6.0\n\
    [[operation]]\nid = \"spike\"\ntask = \"spike\"\nimplement = \"drag-brush\"\n";

/// Of the operation: diagonal lines that are held inside leave the triangles at the edge.
const LEAVES: &str = "ends = \"hold_inside\"\ndirections = [\"diagonal_left\"]\n";

const BOARD: &str = "[[hand]]\nid = \"fork\"\nkind = \"board\"\nzone = \"goalmouth-south\"\n\
    board = { length_m = 3.0, width_m = 0.23 }\n\
    fork = { tines = 4, tine_spacing_mm = 90, tine_diameter_mm = 12, depth_mm = 90, step_mm = 200 }\n";

const BLOCKS: &str = "[[hand]]\nid = \"swap\"\nkind = \"blocks\"\nzone = \"goalmouth-south\"\n\
    block = { side_m = 0.229, depth_mm = 50, worn = [[-51, 0], [-50, 1], [-49.5, -1], [-49.4, -1]] }\n";

const LANES: &str = "[[hand]]\nid = \"mend\"\nkind = \"lanes\"\nzone = \"all\"\n";

const REST: &str = "[[hand]]\nid = \"left\"\nkind = \"rest\"\noperation = \"spike\"\n";

fn planned(job: &str) -> Plan {
    let job = swardlane::job::read("job.toml", job, |_| unreachable!());
    plan(&job.unwrap_or_else(|faults| panic!("{faults}"))).unwrap()
}

/// The plan of one piece of hand work, with `from` in its text replaced.
fn changed(work: &str, from: &str, to: &str) -> Plan {
    assert!(work.contains(from), "{from}");
    planned(&format!("{PITCH}{}", work.replacen(from, to, 1)))
}

/// What is said about the hand work.
fn told(plan: &Plan) -> Vec<String> {
    let warnings = plan.warnings.iter();
    let about = warnings.filter(|warning| warning.place.starts_with("hand work"));
    about.map(ToString::to_string).collect()
}

fn only(plan: &Plan) -> &HandPlan {
    let [hand] = plan.hand.as_slice() else {
        panic!("{} pieces of hand work", plan.hand.len())
    };
    hand
}

#[test]
fn nothing_is_said_where_nothing_is_amiss() {
    for work in [BOARD, BLOCKS, LANES, &[LEAVES, REST].concat()] {
        assert_eq!(
            told(&planned(&format!("{PITCH}{work}"))),
            Vec::<String>::new()
        );
    }
}

/// What each oddity is told as, word for word.
#[test]
fn what_cannot_be_done_so_is_told_word_for_word() {
    let cases = [
        (
            BOARD,
            "tines = 4, tine_spacing_mm = 90",
            "tines = 50, tine_spacing_mm = 120",
            "hand work fork: the fork reaches 5.88 m from first to last tine, and a row of \
             `goalmouth-south` is 5.50 m long; take a narrower fork, or a wider zone",
        ),
        (
            BOARD,
            "step_mm = 200",
            "step_mm = 200, edge_mm = 2000",
            "hand work fork: no hole falls on `corner-ne`: it is narrower than a spacing and its \
             edges, or all of it is kept clear; lessen `edge_mm`, `tine_spacing_mm` or `step_mm`, or \
             take another zone",
        ),
        (
            BOARD,
            "depth_mm = 90",
            "depth_mm = 240",
            "hand work fork: `depth_mm` 240 is more than 230 mm, the most that is forked by hand \
             (common practice, no source); what was agreed on the ground goes first",
        ),
        (
            BOARD,
            "tine_spacing_mm = 90",
            "tine_spacing_mm = 200",
            "hand work fork: 1512 holes of the second stage fall into holes of the first, 100 % of \
             them; at most 10 % are wanted (`coincident_share`); a `step_mm` of 198 would do",
        ),
        (
            BLOCKS,
            "[-51, 0]",
            "[-40, 0]",
            "hand work swap: 1 worn place or corner lies outside `goalmouth-south`; what is \
             worn there is swapped all the same: check the coordinates",
        ),
        (
            BLOCKS,
            "[-49.4, -1]] }",
            "[-49.4, -1]], donors = \"corner-ne\", side_m = 1.4 }",
            "hand work swap: corner-ne holds 1 donor for 2 worn blocks; 1 stays as it is; name a \
             larger strip in `donors`",
        ),
        (
            LANES,
            "zone = \"all\"",
            "zone = \"all\"\nlane = { minutes = 30, days = 2 }",
            "hand work mend: 5653 of 7140 m2 do not fit 2 days of 30 min with 3 people and wait; it \
             takes at least 11 people, or more time",
        ),
        // Three shares of 210 min, each of 20 to 24 m, so in three lanes.
        (
            LANES,
            "zone = \"all\"",
            "zone = \"all\"\nlane = { width_m = 8.0, minutes = 30, days = 2 }",
            "hand work mend: 7140 of 7140 m2 do not fit 2 days of 30 min with 3 people and wait; a \
             lane takes up to 70 min, and none fits: take narrower ones, or more time",
        ),
    ];
    let mut wrong = String::new();
    for (work, from, to, expected) in cases {
        let mut work = work.replacen(from, to, 1);
        if expected.contains("`corner-ne`") {
            work = work.replace("goalmouth-south", "corner-ne");
        }
        if to.contains("side_m = 1.4") {
            work = work.replacen("side_m = 0.229, ", "", 1);
        }
        let told = told(&planned(&format!("{PITCH}{work}")));
        if !told.iter().any(|line| line == expected) {
            let _ = writeln!(wrong, "told: {told:#?}\ninstead of: {expected}");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn deep_work_carries_the_wording_on_services_and_asks_the_supplier_of_the_surface() {
    let hybrid = "[pitch.surface]\nkind = \"hybrid\"\nmax_depth_mm = 60\n";
    for (work, from, to) in [
        (BOARD, "depth_mm = 90", "depth_mm = 180"),
        (BLOCKS, "depth_mm = 50", "depth_mm = 180"),
    ] {
        let work = work.replacen(from, to, 1);
        // The operation is made shallow enough for such a surface.
        let pitch = PITCH.replace("task = \"spike\"", "task = \"brush\"");
        let told = told(&planned(&format!("{pitch}{hybrid}{work}")));
        assert!(told.iter().any(|line| line.contains(
            "180 mm is deeper than the 60 mm that the surface bears from machines; ask its \
             supplier before anything goes in"
        )));
        assert!(
            told.iter()
                .any(|line| line.contains("Records are incomplete"))
        );
        assert!(
            !told
                .iter()
                .any(|line| line.to_lowercase().contains("clear to dig"))
        );
    }
}

#[test]
fn zones_that_a_small_pitch_leaves_out_give_no_work() {
    let small = PITCH
        .replace("length_m = 105.0", "length_m = 26.0")
        .replace("width_m = 68.0", "width_m = 15.0");
    for work in [BOARD, LANES] {
        let work = work
            .replace("goalmouth-south", "goal-area-south")
            .replace("\"all\"", "\"goal-area-south\"");
        let plan = planned(&format!("{small}{work}"));
        assert_eq!(only(&plan).time_s(), 0.0);
        let told = told(&plan);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].contains(
            "there is nothing to do: `goal-area-south` is left out on this pitch or holds no ground"
        ));
    }
}

#[test]
fn where_a_machine_leaves_nothing_that_is_told() {
    let plan = planned(&format!("{PITCH}{REST}"));
    assert_eq!(
        told(&plan),
        [
            "hand work left: there is nothing to do: `spike` leaves no place on this pitch that is \
             large enough to list"
        ]
    );
    assert_eq!(only(&plan).time_s(), 0.0);
}

#[test]
fn what_a_machine_leaves_is_somebodys_job() {
    let plan = planned(&format!("{PITCH}{LEAVES}{REST}people = 2\n"));
    let hand = only(&plan);
    let Detail::Rest(rest) = &hand.detail else {
        panic!("{hand:?}")
    };
    let operation = &plan.operations[0];
    assert!(rest.missed_m2 > 10.0);
    assert_eq!(rest.missed_m2, operation.worked_times_m2[0]);
    assert!((rest.kept_clear_m2 - operation.target.kept_clear_m2).abs() < 1e-6);
    // By task: 30 m2 a person and hour, from memory.
    let wanted_s = rest.area_m2() / 30.0 * 3600.0 / 2.0;
    assert!((hand.time_s() - wanted_s).abs() < 1e-9);
}

#[test]
fn hand_work_counts_in_people_and_money_but_not_in_machine_time() {
    let without = planned(PITCH);
    let with = planned(&format!("{PITCH}{BOARD}{LANES}"));
    let hand_s: f64 = with
        .hand
        .iter()
        .map(|hand| hand.time_s() * f64::from(hand.people))
        .sum();
    assert!(hand_s > 3600.0);
    assert_eq!(with.totals.work_s, without.totals.work_s);
    assert_eq!(with.totals.total_s, without.totals.total_s);
    let more_s = with.totals.person_s - without.totals.person_s;
    assert!((more_s - hand_s).abs() < 1e-6);
    let more = with.totals.cost - without.totals.cost;
    assert!((more - hand_s * 20.0 / 3600.0).abs() < 1e-6);
}

#[test]
fn both_goalmouths_have_lattices_of_their_own() {
    let plan = changed(BOARD, "goalmouth-south", "goalmouth");
    let Detail::Board(_, board) = &only(&plan).detail else {
        panic!("a board")
    };
    let names: Vec<&str> = board.grounds.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(names, ["goalmouth-north", "goalmouth-south"]);
    for one in &board.grounds {
        assert_eq!(one.stages[0].boards, 24);
    }
}

fn is_on(shape: &MultiPolygon<f64>, at: Xy) -> bool {
    let at = Point::from(at);
    shape.intersects(&at) || Euclidean.distance(shape, &at) < 1e-8
}

fn check_stage(stage: &Stage, ground: &MultiPolygon<f64>, kept: &[MultiPolygon<f64>]) {
    let mut served = vec![0_usize; stage.boards + 1];
    for row in &stage.lattice.rows {
        served[stage.board_of(row.ahead_m)] += 1;
        for &hole in &row.holes {
            assert!(is_on(ground, hole), "{hole:?} outside");
            for shape in kept {
                let at = Point::from(hole);
                let within = shape.intersects(&at)
                    && region::rings(shape).all(|ring| Euclidean.distance(ring, &at) > 1e-8);
                assert!(!within, "{hole:?} where something is kept clear");
            }
        }
    }
    assert_eq!(served.iter().sum::<usize>(), stage.lattice.rows.len());
    assert_eq!(served[0], 0);
    let board = MultiPolygon(vec![stage.board_at(1)]);
    for &start in &stage.starts {
        assert!(is_on(&board, start), "{start:?} beside the board");
    }
    // The board moves on by its own width: together the places cover the ground but for the
    // last, from which the last rows are reached.
    for place in 1..=stage.boards {
        let area = stage.board_at(place).unsigned_area();
        let wanted = stage.lattice.breadth_m() * stage.board_width_m;
        assert!((area - wanted).abs() < 1e-6);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn nobody_stands_off_the_board_and_no_hole_lies_where_it_must_not(
        zone in prop_oneof![Just("goalmouth"), Just("six-yard-south"), Just("penalty_spot"), Just("corner"), Just("goal-area-north")],
        width_m in 0.1..0.6_f64,
        hole_mm in 60.0..400.0_f64,
        row_mm in 60.0..400.0_f64,
        angle_deg in prop_oneof![Just(90.0), Just(0.0), -180.0..180.0_f64],
        people in 1..7_u32,
    ) {
        let work = format!(
            "[[hand]]\nid = \"fork\"\nkind = \"board\"\nzone = \"{zone}\"\nangle_deg = {angle_deg:?}\n\
             people = {people}\nboard = {{ length_m = 3.0, width_m = {width_m:?} }}\n\
             fork = {{ tines = 4, tine_spacing_mm = {hole_mm:?}, tine_diameter_mm = 12, depth_mm = 90, step_mm = {row_mm:?} }}\n"
        );
        let plan = planned(&format!("{PITCH}{work}"));
        let Detail::Board(_, board) = &only(&plan).detail else {
            panic!("a board")
        };
        for one in &board.grounds {
            for stage in &one.stages {
                check_stage(stage, &one.ground, &board.kept_clear);
                prop_assert_eq!(stage.starts.len(), people as usize);
            }
        }
    }

    #[test]
    fn more_people_never_take_longer(kind in 0..4_usize, people in 1..12_u32) {
        let work = [BOARD, BLOCKS, LANES, REST][kind];
        let time_s = |people: u32| {
            let plan = planned(&format!("{PITCH}{LEAVES}{work}people = {people}\n"));
            only(&plan).time_s()
        };
        prop_assert!(time_s(people + 1) < time_s(people));
    }

    #[test]
    fn blocks_out_are_blocks_in(
        worn in proptest::collection::vec((-52.4..-47.1_f64, -5.0..5.0_f64), 1..30),
        side_m in 0.1..0.5_f64,
    ) {
        let mut places = String::new();
        for (x, y) in &worn {
            let _ = write!(places, "[{x:?}, {y:?}], ");
        }
        let work = format!(
            "[[hand]]\nid = \"swap\"\nkind = \"blocks\"\nzone = \"goalmouth-south\"\n\
             block = {{ side_m = {side_m:?}, depth_mm = 50, worn = [{places}] }}\n"
        );
        let plan = planned(&format!("{PITCH}{work}"));
        let Detail::Blocks(_, blocks) = &only(&plan).detail else {
            panic!("blocks")
        };
        let area = |squares: Vec<geo::Polygon<f64>>| -> f64 {
            squares.iter().map(Area::unsigned_area).sum()
        };
        let out = area(blocks.swaps.iter().map(|swap| swap.worn.shape()).collect());
        let into = area(blocks.swaps.iter().map(|swap| swap.donor.shape()).collect());
        prop_assert!((out - into).abs() < 1e-9);
        prop_assert!((out * 0.05 - blocks.volume_m3).abs() < 1e-9);
        // Every worn place lies in a block, be it swapped or not.
        let squares = blocks.swaps.iter().map(|swap| &swap.worn).chain(&blocks.without_donor);
        let squares: Vec<_> = squares.map(|square| MultiPolygon(vec![square.shape()])).collect();
        for (x, y) in worn {
            let at = Xy { x, y };
            prop_assert!(squares.iter().any(|square| is_on(square, at)));
        }
        // Donors lie behind the goal line, never on the pitch.
        for swap in &blocks.swaps {
            prop_assert!(swap.donor.low.x + swap.donor.side_m <= -52.5 + 1e-9);
        }
    }

    #[test]
    fn every_square_metre_lies_in_exactly_one_lane(
        people in 1..9_u32,
        angle_deg in prop_oneof![Just(0.0), Just(90.0), -180.0..180.0_f64],
        width_m in 1.0..6.0_f64,
        balance in prop_oneof![Just("area"), Just("damage")],
    ) {
        let work = format!(
            "{LANES}angle_deg = {angle_deg:?}\npeople = {people}\n\
             lane = {{ width_m = {width_m:?}, balance = \"{balance}\" }}\n"
        );
        let plan = planned(&format!("{PITCH}{work}"));
        let Detail::Lanes(_, lanes) = &only(&plan).detail else {
            panic!("lanes")
        };
        let sum: f64 = lanes.lanes.iter().map(|lane| lane.area_m2).sum();
        prop_assert!((sum - 7140.0).abs() < 1e-7 * 200.0 * (lanes.lanes.len() as f64 + 1.0));
        let united = region::union(lanes.lanes.iter().map(|lane| &lane.shape));
        prop_assert!((region::area_m2(&united) - 7140.0).abs() < 1e-7 * 200.0 * (lanes.lanes.len() as f64 + 1.0));
        for person in 1..=people {
            let own = lanes.lanes.iter().filter(|lane| lane.person == person);
            let share: f64 = own.map(|lane| lane.load_share).sum();
            prop_assert!((share - 1.0 / f64::from(people)).abs() < 1e-9, "{}", share);
        }
    }
}

fn written() -> Workbench {
    let bench = Workbench::empty();
    let work = [LEAVES, BOARD, BLOCKS, LANES, REST].concat();
    bench.put("job.toml", &format!("{PITCH}{work}"));
    bench.done(&["plan", "job.toml", "--out", "out", "--quiet"]);
    bench
}

#[test]
fn every_key_of_hand_work_is_written_explained_and_in_the_schema() {
    let bench = written();
    let documents = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/outputs.md");
    let documents = std::fs::read_to_string(documents).unwrap();
    let schema: Value = serde_json::from_str(&bench.done(&["schema", "summary"])).unwrap();
    let ways = schema
        .pointer("/$defs/Hand/oneOf")
        .unwrap()
        .as_array()
        .unwrap();
    assert_eq!(ways.len(), 4);
    let summary = bench.json("out/summary.json");
    let hand = summary["hand"].as_array().unwrap();
    assert_eq!(hand.len(), 4);
    for (one, way) in hand.iter().zip(ways) {
        let mut known: Vec<String> = vec!["kind".to_owned()];
        let mut rule = way;
        if let Some(path) = way["$ref"].as_str() {
            rule = schema.pointer(path.trim_start_matches('#')).unwrap();
        }
        known.extend(rule["properties"].as_object().unwrap().keys().cloned());
        for key in one.as_object().unwrap().keys() {
            assert!(known.contains(key), "{key} is not in the schema");
            assert!(
                documents.contains(&format!("`{key}`")),
                "`{key}` is not explained"
            );
        }
    }
    let file = bench.json("out/hand.geojson");
    let features = file["features"].as_array().unwrap();
    let mut kinds: Vec<&str> = Vec::new();
    for feature in features {
        for key in feature["properties"].as_object().unwrap().keys() {
            assert!(
                documents.contains(&format!("`{key}`")),
                "`{key}` is not explained"
            );
        }
        let kind = feature["properties"]["kind"].as_str().unwrap();
        if kinds.last() != Some(&kind) {
            kinds.push(kind);
        }
    }
    assert_eq!(kinds, ["board", "blocks", "lanes", "rest"]);
    let holes: usize = features
        .iter()
        .filter(|feature| feature["properties"]["kind"] == "board")
        .map(|feature| feature["geometry"]["coordinates"].as_array().unwrap().len())
        .sum();
    assert_eq!(summary["hand"][0]["holes"].as_u64(), Some(holes as u64));
}

#[test]
fn an_operation_alone_brings_only_what_it_leaves() {
    let bench = written();
    bench.done(&[
        "plan",
        "job.toml",
        "--out",
        "out",
        "--quiet",
        "--operation",
        "spike",
    ]);
    let summary = bench.json("out/summary.json");
    let hand = summary["hand"].as_array().unwrap();
    assert_eq!(hand.len(), 1);
    assert_eq!(hand[0]["kind"], "rest");
}

#[test]
fn each_sheet_of_hand_work_tells_what_two_people_need() {
    let deep = BOARD.replacen("depth_mm = 90", "depth_mm = 200", 1);
    let work = [LEAVES, &deep, BLOCKS, LANES, REST].concat();
    let plan = planned(&format!("{PITCH}{work}"));
    let sheets = swardlane::sheets::files(&plan);
    let sheet = |name: &str| -> String {
        let path = format!("sheets/hand-{name}.svg");
        let found = sheets.iter().find(|(found, _)| *found == path);
        let text = String::from_utf8(found.unwrap().1.clone()).unwrap();
        let document = resvg::usvg::roxmltree::Document::parse(&text).unwrap();
        let texts = document
            .descendants()
            .filter(|node| node.has_tag_name("text"));
        let lines: Vec<&str> = texts
            .map(|node| node.text().unwrap_or_default().trim())
            .collect();
        lines.join(" ").replace('\u{a0}', " ")
    };
    let fork = sheet("fork");
    for words in [
        "Over 100 mm deep: services below",
        "Stand on the board only.",
        "1. goalmouth-south: along, 24 places of the board",
        "2. goalmouth-south: across, 50 places of the board",
        "4 tines, 90 mm apart, 12 mm thick, 200 mm deep by the rule",
        "What was agreed on this ground goes first.",
        "The site's own rules and the person in charge there come before this sheet.",
    ] {
        assert!(fork.contains(words), "{words}\n{fork}");
    }
    assert!(sheet("swap").contains("Count: as many in as out."));
    assert!(sheet("mend").contains("Who walks where"));
    assert!(sheet("left").contains("The largest places"));
}
