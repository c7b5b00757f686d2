//! Does a tape, hooked where the plan says, find the passes? By hand, and by what must not
//! change when the ground is turned, mirrored, or driven the other way.

use proptest::prelude::*;
use swardlane::formats::guidance;
use swardlane::job::model::{Direction, Effort, Ends, Lie, Operation, Remainder, Start};
use swardlane::plan::{Plan, plan};
use swardlane::setting_out::squares::Squares;
use swardlane::setting_out::{self, DrivenBack, Hand, Tape, TapedEnd, TapedPart};
use swardlane::space::{Angle, Compass, Corner, Heading};

use crate::support::{brushing, drawn_job, rectangle_job, small_tractor};

/// Lifting on the line, lines at exactly their width.
fn on_line(width_m: f64, direction: Direction) -> Operation {
    Operation {
        directions: vec![direction],
        ends: Ends::OnLine,
        remainder: Remainder::Full,
        ..brushing(width_m, 0.0)
    }
}

fn angle(deg: f64) -> Direction {
    Direction::Angle(Angle::from_deg(deg))
}

fn planned(operation: Operation) -> Plan {
    plan(&rectangle_job(105.0, 68.0, vec![operation])).unwrap()
}

fn only(plan: &Plan) -> &Tape {
    &plan.operations[0].directions[0].tape
}

/// Demands where an end lies, within a tenth of a millimetre.
fn check(end: &TapedEnd, line: &str, flag: Corner, expected: [f64; 3]) {
    let got = [end.centre_m, end.edge_m, end.lift_m];
    assert_eq!((end.line.name().as_str(), end.flag), (line, flag));
    for (got, expected) in got.iter().zip(expected) {
        assert!((got - expected).abs() < 1e-4, "{end:?}: not {expected}");
    }
}

#[test]
fn a_straight_direction_counts_from_the_line_it_starts_from() {
    // Common practice, no source: at 1.95 m the middles lie at half of it and then 1.95 m on,
    // 0.975, 2.925, 4.875; the edges on the string at 0.00, 1.95, 3.90. The bearing is 0, so
    // +x is north and the right of the heading is east.
    let start = |side| Start::From {
        side,
        is_goal_line: false,
    };
    let from_east = planned(Operation {
        start: start(Compass::East),
        ..on_line(1.95, Direction::Along)
    });
    let tape = only(&from_east);
    assert_eq!(tape.flags, Hand::Right);
    for (part, [centre_m, edge_m]) in
        tape.parts
            .iter()
            .zip([[0.975, 0.0], [2.925, 1.95], [4.875, 3.9]])
    {
        check(
            &part.start,
            "south goal line",
            Corner::Se,
            [centre_m, edge_m, 0.0],
        );
        check(
            &part.stop,
            "north goal line",
            Corner::Ne,
            [centre_m, edge_m, 0.0],
        );
        assert_eq!(part.edge, Hand::Right);
    }
    // From the other side the flags and the edge change sides; numbers still run from the
    // right of the heading to the left, so the last pass lies at the flag.
    let from_west = planned(Operation {
        start: start(Compass::West),
        ..on_line(1.95, Direction::Along)
    });
    let tape = only(&from_west);
    assert_eq!(tape.flags, Hand::Left);
    let last = tape.parts.last().unwrap();
    assert_eq!((last.pass, last.edge), (35, Hand::Left));
    check(
        &last.start,
        "south goal line",
        Corner::Sw,
        [0.975, 0.0, 0.0],
    );
    check(&last.stop, "north goal line", Corner::Nw, [0.975, 0.0, 0.0]);
}

#[test]
fn three_passes_of_a_diagonal_by_hand() {
    // 35 degrees on 105 x 68 m, e = 1.95 m. Across the lines the rectangle measures
    //   E = 105 sin 35 + 68 cos 35 = 60.22552 + 55.70234 = 115.92786 m,
    // so 60 lines (115.92786 / 1.95 = 59.45) that want 117 m; the 1.07214 m too many are shared.
    // The first centre line lies 1.95 / 2 - 1.07214 / 2 = 0.43893 m in from the flag on the
    // right of the heading: north-east, as +x is north. From there, cumulative,
    //   along the goal line at  0.43893 / cos 35 = 0.53584 m, then every 1.95 / cos 35 = 2.38051 m,
    //   along the touch line at 0.43893 / sin 35 = 0.76525 m, then every 1.95 / sin 35 = 3.39972 m
    // (common practice, no source: e / cos and e / sin, 2.38 and 3.40 m). The edge towards the
    // flag is half a width nearer: 1.19025 m along the goal line, 1.69986 m along the touch line.
    let plan = planned(on_line(1.95, angle(35.0)));
    let tape = only(&plan);
    assert_eq!(tape.parts.len(), 60);
    let touch = [[0.76525, -0.93461], [4.16497, 2.46511], [7.56469, 5.86483]];
    let goal = [[0.53584, -0.65442], [2.91634, 1.72609], [5.29685, 4.10659]];
    for (part, ([touch_m, touch_edge_m], [goal_m, goal_edge_m])) in tape
        .parts
        .iter()
        .zip(touch.map(<[f64; 2]>::from).into_iter().zip(goal))
    {
        check(
            &part.start,
            "east touch line",
            Corner::Ne,
            [touch_m, touch_edge_m, 0.0],
        );
        check(
            &part.stop,
            "north goal line",
            Corner::Ne,
            [goal_m, goal_edge_m, 0.0],
        );
        // A right-angled triangle at the flag.
        assert!((part.length_m - touch_m.hypot(goal_m)).abs() < 1e-4);
    }
}

#[test]
fn what_is_lifted_beyond_or_before_a_line_is_measured_square_to_it() {
    // Lifted a metre beyond the line along a pass at 30 degrees to the long axis: cos 30 of it
    // square to the goal line.
    let over = planned(Operation {
        over_m: 1.0,
        ..on_line(2.0, angle(30.0))
    });
    let parts = &only(&over).parts;
    let ends = parts.iter().flat_map(|part| [&part.start, &part.stop]);
    let square: Vec<f64> = ends
        .filter(|end| end.line.is_goal_line)
        .map(|end| end.lift_m)
        .collect();
    assert!(square.len() > 20);
    assert!(
        square
            .iter()
            .all(|lift_m| (lift_m - 0.866_025).abs() < 1e-4)
    );
    // Work that ends within the pitch is lifted before the line: the penalty area is 16.5 m deep.
    let inside = planned(Operation {
        zones: vec!["penalty-area-south".to_owned()],
        ..on_line(2.0, Direction::Along)
    });
    for part in &only(&inside).parts {
        assert_eq!(part.start.line.name(), "south goal line");
        assert!(part.start.lift_m.abs() < 1e-9);
        assert_eq!(
            part.stop.line, part.start.line,
            "both ends are nearest to it"
        );
        assert!((part.stop.lift_m + 16.5).abs() < 1e-9, "{part:?}");
    }
}

#[test]
fn lines_that_are_not_crossed_are_not_told() {
    for (direction, is_goal_line) in [(Direction::Along, true), (Direction::Across, false)] {
        let plan = planned(on_line(1.7, direction));
        for part in &only(&plan).parts {
            assert_eq!(part.start.line.is_goal_line, is_goal_line);
            assert_eq!(part.stop.line.is_goal_line, is_goal_line);
        }
    }
}

#[test]
fn one_flag_serves_a_line_and_figures_grow_with_the_passes() {
    let mut told = 0;
    for deg in [0.0, 20.0, 45.0, 70.0, 90.0, 135.0, 200.0, -60.0] {
        let plan = planned(on_line(1.9, angle(deg)));
        for side in Compass::ALL {
            let parts = &only(&plan).parts;
            for pick in [|part: &TapedPart| part.start, |part: &TapedPart| part.stop] {
                let ends: Vec<TapedEnd> = parts
                    .iter()
                    .map(pick)
                    .filter(|end| end.line.side == side)
                    .collect();
                told += ends.len();
                for pair in ends.windows(2) {
                    assert_eq!(pair[0].flag, pair[1].flag, "{deg}");
                    assert!(pair[0].centre_m < pair[1].centre_m, "{deg}: {pair:?}");
                }
            }
        }
    }
    assert!(told > 400, "{told}");
}

#[test]
fn a_round_is_told_by_how_far_in_it_lies() {
    let plan = planned(Operation {
        perimeter_rounds: 3,
        ..brushing(1.8, 0.1)
    });
    let [rounds, along] = plan.operations[0].directions.as_slice() else {
        panic!("rounds and one direction");
    };
    assert!(rounds.tape.parts.is_empty() && along.tape.rounds.is_empty());
    let told: Vec<[f64; 2]> = rounds
        .tape
        .rounds
        .iter()
        .map(|round| [round.centre_m, round.edge_m])
        .collect();
    // Half a width, then a width less the overlap each.
    for (got, expected) in told.iter().zip([[0.9, 0.0], [2.6, 1.7], [4.3, 3.4]]) {
        assert!((got[0] - expected[0]).abs() < 1e-6, "{told:?}");
        assert!((got[1] - expected[1]).abs() < 1e-6, "{told:?}");
    }
    assert_eq!(told.len(), 3);
}

#[test]
fn squares_first() {
    let squares = planned(brushing(2.0, 0.0)).squares;
    // The root of 105^2 + 68^2 = 15 649: 125.096 m.
    assert!((squares.diagonal_m - 125.096).abs() < 5e-4);
    assert_eq!(squares.triangle_m, Some([24.0, 32.0, 40.0]));
    assert!(squares.most_m() < 1e-9);
    let small = Squares::of(&plan(&rectangle_job(11.0, 10.0, Vec::new())).unwrap().ground);
    assert_eq!(small.triangle_m, Some([6.0, 8.0, 10.0]));
}

#[test]
fn a_skewed_ground_says_where_the_grass_differs() {
    // A rectangle of 100 x 60 m with a bulge of 2 m in one touch line and a dent of 1 m in one
    // goal line, each in the middle, where they move no corner.
    let outline = [
        (-50.0, -30.0),
        (0.0, -32.0),
        (50.0, -30.0),
        (49.0, 0.0),
        (50.0, 30.0),
        (-50.0, 30.0),
    ];
    let plan = plan(&drawn_job(0.0, &outline, &[], vec![brushing(2.0, 0.0)])).unwrap();
    let side = |side| {
        let mut sides = plan.squares.sides.iter();
        sides.find(|differs| differs.line.side == side).unwrap()
    };
    // +x is north, so +y is west.
    let (east, north) = (side(Compass::East), side(Compass::North));
    assert!(
        (east.beyond_m - 2.0).abs() < 1e-3 && east.short_m < 1e-3,
        "{east:?}"
    );
    assert!(
        (north.short_m - 1.0).abs() < 1e-3 && north.beyond_m < 1e-3,
        "{north:?}"
    );
    assert!(side(Compass::South).most_m() < 1e-3 && side(Compass::West).most_m() < 1e-3);
    assert!((plan.squares.most_m() - plan.ground.misfit_m).abs() < 1e-3);
}

#[test]
fn driven_the_other_way_start_and_stop_change_places() {
    let mut operation = brushing(3.0, 0.3);
    operation.directions = vec![Direction::Along, angle(25.0)];
    operation.implement.tractor = Some(small_tractor());
    let mut job = rectangle_job(24.0, 18.0, vec![operation]);
    job.settings.routes = true;
    job.settings.effort = Effort::Quick;
    let plan = plan(&job).unwrap();
    let work = &plan.operations[0];
    let mut turned = work.route.clone().unwrap();
    for leg in &mut turned.legs {
        if let Some(worked) = &mut leg.worked {
            worked.is_back = !worked.is_back;
        }
    }
    let turned = DrivenBack::of(Some(&turned));
    let mut backs = 0;
    for (index, direction) in work.directions.iter().enumerate() {
        let other = setting_out::tape(
            &plan.ground,
            &work.operation,
            &work.target.pieces,
            (index + 1, &direction.passes),
            &turned,
        );
        assert_eq!(direction.tape.parts.len(), other.parts.len());
        for (one, other) in direction.tape.parts.iter().zip(&other.parts) {
            assert_eq!((one.start, one.stop), (other.stop, other.start));
            assert_eq!(one.edge, other.edge.other());
            backs += usize::from(one.edge == Hand::Left);
        }
    }
    // A drive to and fro goes back on about every second pass.
    assert!(backs > 3, "{backs}");
}

#[test]
fn the_file_is_written_without_a_position_and_to_the_centimetre() {
    let plan = planned(on_line(1.95, angle(35.0)));
    let files = guidance::files(&plan).unwrap();
    let (_, bytes) = files
        .iter()
        .find(|(path, _)| path == "guidance/tape.csv")
        .unwrap();
    let text = String::from_utf8(bytes.clone()).unwrap();
    let mut lines = text.lines();
    assert_eq!(
        lines.next(),
        Some("operation,direction,pass,part,end,line,flag,centre_m,edge_m,lift_m,edge_side")
    );
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/formats.md");
    let documents = std::fs::read_to_string(root).unwrap();
    for column in text.lines().next().unwrap().split(',') {
        let word = format!("`{column}`");
        assert!(documents.contains(&word), "{word} is not explained");
    }
    assert_eq!(
        lines.next(),
        Some("brushing,1,1,1,start,east touch line,ne,0.77,-0.93,0.00,right")
    );
    assert_eq!(
        lines.next(),
        Some("brushing,1,1,1,stop,north goal line,ne,0.54,-0.65,0.00,right")
    );
    assert_eq!(text.lines().count(), 1 + 2 * 60);
}

/// A tape's figures without the names of flags and lines, which the compass gives.
fn figures(tape: &Tape) -> Vec<(usize, usize, [f64; 7], [bool; 2])> {
    tape.parts
        .iter()
        .map(|part| {
            let (a, b) = (&part.start, &part.stop);
            (
                part.pass,
                part.part,
                [
                    a.centre_m,
                    a.edge_m,
                    a.lift_m,
                    b.centre_m,
                    b.edge_m,
                    b.lift_m,
                    part.length_m,
                ],
                [a.line.is_goal_line, b.line.is_goal_line],
            )
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn turning_the_ground_changes_no_figure(
        deg in -180.0..180.0_f64, bearing in 0.0..360.0_f64, width_m in 1.0..4.0_f64, over_m in 0.0..1.5_f64,
    ) {
        let at = |bearing: f64| {
            let operation = Operation { over_m, ..on_line(width_m, angle(deg)) };
            let mut job = rectangle_job(60.0, 40.0, vec![operation]);
            job.pitch.lie = Lie::Nowhere { bearing: Heading::from_deg(bearing) };
            figures(only(&plan(&job).unwrap()))
        };
        let (still, turned) = (at(0.0), at(bearing));
        prop_assert!(!still.is_empty());
        prop_assert_eq!(still, turned);
    }

    #[test]
    fn mirroring_counts_from_the_other_end_of_the_line(
        deg in 5.0..85.0_f64, width_m in 1.0..4.0_f64,
    ) {
        let at = |deg: f64| planned(on_line(width_m, angle(deg)));
        let (one, other) = (at(deg), at(-deg));
        let (one_parts, other_parts) = (&only(&one).parts, &only(&other).parts);
        prop_assert_eq!(one_parts.len(), other_parts.len());
        // Numbers run from right to left in both: the first pass of one is the last of the other.
        for (a, b) in one_parts.iter().zip(other_parts.iter().rev()) {
            for (a, b) in [(a.start, b.start), (a.stop, b.stop)] {
                prop_assert_eq!(a.line.is_goal_line, b.line.is_goal_line);
                let long_m = a.line.length_m(&one.ground);
                prop_assert!((a.centre_m + b.centre_m - long_m).abs() < 1e-6, "{:?} {:?}", a, b);
                prop_assert!((a.centre_m - a.edge_m - (b.centre_m - b.edge_m)).abs() < 1e-6);
                prop_assert!((a.lift_m - b.lift_m).abs() < 1e-6);
            }
        }
    }
}
