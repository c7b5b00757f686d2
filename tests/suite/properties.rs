//! What must hold of every plan, on grounds and operations drawn at random.

use geo::orient::Direction as Orientation;
use geo::{MapCoords, MultiPolygon, Orient};
use proptest::prelude::*;
use swardlane::coverage::{self, Against};
use swardlane::job::model::{Direction, Ends, Operation, Remainder, Role};
use swardlane::passes::Track;
use swardlane::passes::straight::{self, Layout, Phase, line_count};
use swardlane::plan::plan;
use swardlane::region;
use swardlane::space::{Angle, Heading, Xy};
use swardlane::zones::Piece;

use crate::support::{brushing, drawn_job, rectangle_job};

/// The corners of a pitch drawn by hand: a rectangle with every corner moved, and a dent or a
/// bulge in one touch line.
fn outline() -> impl Strategy<Value = Vec<(f64, f64)>> {
    (
        60.0..120.0_f64,
        40.0..80.0_f64,
        proptest::collection::vec(-3.0..3.0_f64, 8),
        -6.0..6.0_f64,
    )
        .prop_map(|(length, width, moved, bulge)| {
            let (x, y) = (length / 2.0, width / 2.0);
            vec![
                (-x + moved[0], -y + moved[1]),
                (moved[2] * 5.0, -y + bulge),
                (x + moved[3], -y + moved[4]),
                (x + moved[5], y + moved[6]),
                (-x + moved[7], y),
            ]
        })
}

/// Two things on the pitch or at its edge.
fn things() -> impl Strategy<Value = Vec<(Role, Vec<(f64, f64)>)>> {
    proptest::collection::vec(
        (-60.0..60.0_f64, -40.0..40.0_f64, 0.3..4.0_f64, 0.0..2.0_f64),
        0..3,
    )
    .prop_map(|things| {
        let square = |(x, y, side, clearance_m): (f64, f64, f64, f64)| {
            let corners = vec![(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
            (Role::Obstacle { clearance_m }, corners)
        };
        things.into_iter().map(square).collect()
    })
}

fn operation() -> impl Strategy<Value = Operation> {
    (
        0.8..4.0_f64,
        0.0..0.45_f64,
        proptest::collection::vec(-180.0..180.0_f64, 1..3),
        prop_oneof![
            Just(Ends::RunOver),
            Just(Ends::OnLine),
            Just(Ends::HoldInside)
        ],
        prop_oneof![Just(Remainder::Even), Just(Remainder::Full)],
        0.0..1.5_f64,
        prop_oneof![3 => Just(0_u32), 1 => 1..3_u32],
    )
        .prop_map(
            |(width_m, share, angles, ends, remainder, over_m, rounds)| {
                let angles = angles.into_iter();
                Operation {
                    directions: angles
                        .map(|deg| Direction::Angle(Angle::from_deg(deg)))
                        .chain([Direction::Along])
                        .collect(),
                    ends,
                    remainder,
                    over_m,
                    perimeter_rounds: rounds,
                    ..brushing(width_m, width_m * share)
                }
            },
        )
}

/// The boundary of a region, metres.
fn boundary_m(region: &MultiPolygon<f64>) -> f64 {
    region::rings(region)
        .flat_map(|ring| {
            ring.lines()
                .map(|line| line.dx().hypot(line.dy()))
                .collect::<Vec<_>>()
        })
        .sum()
}

/// All that one direction is laid out and measured on, so that it can be moved as a whole.
struct Scene {
    pieces: Vec<Piece>,
    target: MultiPolygon<f64>,
    blocked: Vec<MultiPolygon<f64>>,
    allowed: MultiPolygon<f64>,
    outline: MultiPolygon<f64>,
}

impl Scene {
    fn mapped(&self, to: impl Fn(Xy) -> Xy) -> Self {
        let region =
            |region: &MultiPolygon<f64>| region.map_coords(&to).orient(Orientation::Default);
        let piece = |piece: &Piece| Piece {
            zones: region(&piece.zones),
            target: region(&piece.target),
        };
        Self {
            pieces: self.pieces.iter().map(piece).collect(),
            target: region(&self.target),
            blocked: self.blocked.iter().map(region).collect(),
            allowed: region(&self.allowed),
            outline: region(&self.outline),
        }
    }

    /// The areas of the direction at that angle, square metres.
    fn figures(&self, operation: &Operation, deg: f64) -> [f64; 6] {
        let (passes, _) = straight::lay_out(&Layout {
            operation,
            pieces: &self.pieces,
            blocked: &self.blocked,
            allowed: &self.allowed,
            angle: Angle::from_deg(deg),
            heading: Heading::from_deg(0.0),
            phase: Phase::Centred,
            name: "moved".to_owned(),
        });
        let against = Against {
            target: &self.target,
            target_m2: region::area_m2(&self.target),
            outline: &self.outline,
            target_leaves_pitch: false,
        };
        let c = coverage::measure(&passes, &against).coverage;
        [
            c.strip_area_m2,
            c.covered_m2,
            c.overlap_m2,
            c.missed_m2,
            c.outside_m2,
            c.outside_pitch_m2,
        ]
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, max_shrink_iters: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_covered_and_what_is_missed_make_up_the_target(
        outline in outline(), things in things(), operation in operation(), bearing in 0.0..360.0_f64,
    ) {
        let job = drawn_job(bearing, &outline, &things, vec![operation]);
        let plan = plan(&job).unwrap();
        let planned = &plan.operations[0];
        let target = &planned.target;
        let outline = MultiPolygon(vec![plan.ground.outline.clone()]);
        let against = Against {
            target: &target.shape,
            target_m2: target.area_m2,
            outline: &outline,
            target_leaves_pitch: false,
        };
        for direction in &planned.directions {
            let c = direction.coverage;
            for value in [c.strip_area_m2, c.covered_m2, c.overlap_m2, c.missed_m2, c.outside_m2, c.outside_pitch_m2] {
                prop_assert!(value >= 0.0 && value.is_finite());
            }
            let measured = coverage::measure(&direction.passes, &against);
            let missed = coverage::all_missed(&measured.left, &target.shape);
            let missed_m2 = region::area_m2(&missed);
            // Rounds run along the boundary itself: what they leave there thinner than a
            // splinter (1e-6 m) is measured, but is no place.
            let thickness_m = if direction.passes.angle.is_some() { 1e-7 } else { 1e-6 };
            let slack_m2 = thickness_m * (boundary_m(&missed) + boundary_m(&target.shape)) + 1e-6;
            prop_assert!((c.covered_m2 + missed_m2 - target.area_m2).abs() < slack_m2,
                "{}: covered {} + missed {} != {}", direction.passes.name, c.covered_m2, missed_m2, target.area_m2);
            prop_assert!((c.covered_m2 + c.missed_m2 - target.area_m2).abs() < 1e-6);
        }
        let worked: f64 = planned.worked_times_m2.iter().sum();
        prop_assert!((worked - target.area_m2).abs() < 1e-6);
        let times: f64 = planned.worked_times_m2.iter().enumerate().map(|(k, m2)| k as f64 * m2).sum();
        let covered: f64 = planned.directions.iter().map(|d| d.coverage.covered_m2).sum();
        prop_assert!((times - covered).abs() < 1e-6, "worked {times} covered {covered}");
    }

    #[test]
    fn zones_make_up_the_pitch(outline in outline(), bearing in 0.0..360.0_f64) {
        let plan = plan(&drawn_job(bearing, &outline, &[], Vec::new())).unwrap();
        let sum: f64 = plan.zones.iter().map(|zone| zone.area_m2).sum();
        let outline = MultiPolygon(vec![plan.ground.outline.clone()]);
        let boundary: f64 = plan.zones.iter().map(|zone| boundary_m(&zone.shape)).sum();
        prop_assert!((sum - region::area_m2(&outline)).abs() < 1e-7 * boundary);
    }

    #[test]
    fn surveying_the_ground_at_another_bearing_changes_no_zone(
        outline in outline(), things in things(), operation in operation(),
        one in 0.0..360.0_f64, other in 0.0..360.0_f64,
    ) {
        // Through degrees, which resolve a nanometre: enough for areas of zones and targets.
        let at = |bearing| {
            let plan = plan(&drawn_job(bearing, &outline, &things, vec![operation.clone()])).unwrap();
            let mut areas: Vec<f64> = plan.zones.iter().map(|zone| zone.area_m2).collect();
            areas.push(plan.operations[0].target.area_m2);
            // Zones come in the order of their ends, whose names change with the bearing.
            areas.sort_by(f64::total_cmp);
            areas
        };
        let (a, b) = (at(one), at(other));
        prop_assert_eq!(a.len(), b.len());
        for (a, b) in a.iter().zip(&b) {
            prop_assert!((a - b).abs() < 1e-6, "{a} {b}");
        }
    }

    #[test]
    fn turning_moving_and_mirroring_change_no_area(
        outline in outline(), things in things(), operation in operation(),
        turn_deg in 0.0..360.0_f64, dx in -900.0..900.0_f64, dy in -900.0..900.0_f64, mirrored in any::<bool>(),
    ) {
        let operation = Operation { perimeter_rounds: 0, ..operation };
        let plan = plan(&drawn_job(30.0, &outline, &things, vec![operation.clone()])).unwrap();
        let target = &plan.operations[0].target;
        let here = Scene {
            pieces: target.pieces.clone(),
            target: target.shape.clone(),
            blocked: target.blocked.clone(),
            allowed: plan.ground.allowed.clone(),
            outline: MultiPolygon(vec![plan.ground.outline.clone()]),
        };
        let (sin, cos) = turn_deg.to_radians().sin_cos();
        let there = here.mapped(|at| {
            let x = if mirrored { -at.x } else { at.x };
            Xy { x: x * cos - at.y * sin + dx, y: x * sin + at.y * cos + dy }
        });
        for direction in &operation.directions {
            let deg = match direction {
                Direction::Angle(angle) => angle.deg(),
                _ => 0.0,
            };
            let turned_deg = if mirrored { 180.0 - deg + turn_deg } else { deg + turn_deg };
            let (a, b) = (here.figures(&operation, deg), there.figures(&operation, turned_deg));
            for (a, b) in a.iter().zip(&b) {
                prop_assert!((a - b).abs() < 1e-6, "{deg}: {a} {b}");
            }
        }
    }

    #[test]
    fn one_line_fewer_would_leave_part_of_the_extent(
        extent_m in 0.5..150.0_f64, width_m in 0.3..5.0_f64, share in 0.0..0.49_f64,
    ) {
        let overlap_m = width_m * share;
        let n = line_count(extent_m, width_m, overlap_m);
        let covers = |n: usize| n as f64 * (width_m - overlap_m) + overlap_m >= extent_m - 1e-8;
        prop_assert!(covers(n));
        prop_assert!(n == 1 || !covers(n - 1));
    }

    #[test]
    fn the_lines_laid_are_as_many_as_the_extent_needs(
        width_m in 0.8..4.0_f64, share in 0.0..0.45_f64, deg in -90.0..90.0_f64, is_full in any::<bool>(),
    ) {
        let overlap_m = width_m * share;
        let mut job = rectangle_job(105.0, 68.0, vec![Operation {
            directions: vec![Direction::Angle(Angle::from_deg(deg))],
            remainder: if is_full { Remainder::Full } else { Remainder::Even },
            ..brushing(width_m, overlap_m)
        }]);
        job.pitch.run_off = Some(swardlane::job::model::RunOff::ByLine { touch_m: 200.0, goal_m: 200.0 });
        let plan = plan(&job).unwrap();
        let direction = &plan.operations[0].directions[0];
        let (sin, cos) = deg.to_radians().sin_cos();
        let extent_m = 105.0 * sin.abs() + 68.0 * cos.abs();
        let n = direction.passes.passes.len();
        let spacing_m = width_m - overlap_m;
        // `full` may lay an outer strip wholly in the surplus beyond a corner's tip.
        prop_assert!(n as f64 * spacing_m + overlap_m >= extent_m - 1e-6);
        prop_assert!((n as f64 - 1.0) * spacing_m + overlap_m < extent_m + 1e-6 || n == 1);
        prop_assert!(direction.coverage.missed_m2 < 1e-6);
        let offsets: Vec<f64> = direction.passes.passes.iter().map(|pass| match &pass.parts[0].track {
            Track::Straight { from, .. } => from.y * cos - from.x * sin,
            Track::Round(_) => f64::NAN,
        }).collect();
        prop_assert!(offsets.windows(2).all(|pair| pair[0] < pair[1]), "from the right to the left");
    }
}
