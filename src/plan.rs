//! The [`Plan`] and the function that makes it: the one place that knows the order of
//! the rooms.

use geo::MultiPolygon;
use rayon::prelude::*;

use crate::coverage::{self, Against, Coverage, Left, MissedPlace, steering};
use crate::fault::{Fault, Faults};
use crate::ground::{self, Ground};
use crate::hand::{self, HandPlan, Leftover};
use crate::job::defaults;
use crate::job::model::{Direction, Job, Operation, Start, Steering, TaskDataVersion};
use crate::passes::straight::{self, Layout, Phase};
use crate::passes::{DirectionPasses, rounds};
use crate::route::drive::{self, Driven};
use crate::route::legs::Route;
use crate::route::memory::Memory;
use crate::route::refill;
use crate::route::terrain::Terrain;
use crate::route::told;
use crate::route::wheels::WheelTraffic;
use crate::setting_out::squares::Squares;
use crate::setting_out::{self, DrivenBack, Tape};
use crate::space::{Angle, Xy};
use crate::tally::{self, Beside, Time, Totals};
use crate::warning::{Code, Warning};
use crate::zones::{self, Piece, Rated, Target, Zone};

/// All that is known of a planned job. Every file and sheet is derived from it alone.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The job's name.
    pub name: String,
    /// The date printed on sheets, ISO 8601.
    pub date: Option<String>,
    /// The label of money.
    pub currency: String,
    /// The ground in pitch metres.
    pub ground: Ground,
    /// What to check its fitted rectangle by, before anything is measured from its flags.
    pub squares: Squares,
    /// The disjoint wear zones.
    pub zones: Vec<Zone>,
    /// The operations, in the order of the job.
    pub operations: Vec<OperationPlan>,
    /// The hand work, in the order of the job.
    pub hand: Vec<HandPlan>,
    /// Sums over all operations, and people's hours of the hand work.
    pub totals: Totals,
    /// Wheel passes of all drives together; `None` where nothing is driven.
    pub wheels: Option<WheelTraffic>,
    /// Whether the job wants the ends of passes as waypoints of the GPX file.
    pub gpx_waypoints: bool,
    /// The version that task data is written in.
    pub task_data: TaskDataVersion,
    /// What a person should know, in the order of the rooms.
    pub warnings: Vec<Warning>,
}

/// One planned operation.
#[derive(Debug, Clone)]
pub struct OperationPlan {
    /// What was asked.
    pub operation: Operation,
    /// What is to be worked.
    pub target: Target,
    /// Its directions in the order worked, rounds first.
    pub directions: Vec<DirectionPlan>,
    /// Area worked by exactly k directions, square metres, for k = 0, 1, ….
    pub worked_times_m2: Vec<f64>,
    /// Places that no direction worked (of at least 1e-4 m2).
    pub unworked: Vec<MissedPlace>,
    /// What each direction of the job puts down, by place (rounds put down nothing); `None` where
    /// there is no rate, or one that is not known as a weight.
    pub rated: Option<Vec<Rated>>,
    /// The drive; `None` where it is work by hand or cannot be driven.
    pub route: Option<Route>,
    /// What steering leaves on average; `None` by hand.
    pub steering: Option<SteeringMiss>,
    /// How often wheels roll over the ground in the drive; `None` without one.
    pub wheels: Option<WheelTraffic>,
    /// Its time.
    pub time: Time,
}

/// What steering leaves unworked between neighbouring passes, on average: an estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteeringMiss {
    /// One standard deviation of a line off its place, metres.
    pub sd_m: f64,
    /// Whether that is a default rather than the job's word.
    pub is_default: bool,
    /// By what the tractor is steered.
    pub by: Steering,
    /// Area missed, directions added up, square metres.
    pub missed_m2: f64,
    /// The share of the area that the job allows.
    pub share: f64,
    /// The overlap at which steering misses that share, metres; `None` where none does.
    pub overlap_for_share_m: Option<f64>,
}

/// One planned direction.
#[derive(Debug, Clone)]
pub struct DirectionPlan {
    /// The passes.
    pub passes: DirectionPasses,
    /// Sum of the lengths of all parts, metres.
    pub working_length_m: f64,
    /// `working_length_m` at working speed, seconds.
    pub work_s: f64,
    /// The areas.
    pub coverage: Coverage,
    /// Missed places of at least 1e-4 m2, pitch metres.
    pub missed: Vec<MissedPlace>,
    /// Where its passes start and stop, told by flag and tape.
    pub tape: Tape,
}

/// Plans a job. Pure: no file, clock, screen or network; the same job gives the same plan.
///
/// # Errors
/// [`Faults`] of the job that show only on its ground: a frame that cannot be laid, a zone
/// word or a named line that this pitch does not have.
pub fn plan(job: &Job) -> Result<Plan, Faults> {
    let laid = Laid::of(job)?;
    let targets = zones::targets(job, &laid.ground, &laid.zones);
    let operations = || -> Vec<Planned> {
        let each = job.operations.par_iter().zip(targets).with_max_len(1);
        each.map(|(operation, target)| {
            let memory = &mut Memory::new(job.settings.effort);
            plan_operation(job, operation, target, &laid, memory)
        })
        .collect()
    };
    let (planned, by_hand) = rayon::join(operations, || laid.hand_alone(job));
    put_together(job, laid, planned, by_hand)
}

/// What comes of an operation: its plan and what is to be told of it.
pub(crate) type Planned = Result<(OperationPlan, Vec<Warning>), Faults>;

/// A target with its warnings, as [`zones::targets`] hands it out.
pub(crate) type Targeted = Result<(Target, Vec<Warning>), Fault>;

/// The ground of a job, and what all of its operations share.
#[derive(Debug, Clone)]
pub(crate) struct Laid {
    pub(crate) ground: Ground,
    pub(crate) zones: Vec<Zone>,
    pub(crate) terrain: Terrain,
    /// What was to be told of ground and zones.
    warnings: Vec<Warning>,
}

impl Laid {
    /// Lays a job's pitch.
    pub(crate) fn of(job: &Job) -> Result<Self, Faults> {
        let (ground, mut warnings) = ground::lay(job)?;
        let (zones, of_zones) = zones::partition(&ground);
        warnings.extend(of_zones);
        let terrain = drive::terrain(&ground);
        Ok(Self {
            ground,
            zones,
            terrain,
            warnings,
        })
    }

    /// Whether machines find the same ground: where they may drive, what stands on it, and where
    /// they come in.
    pub(crate) fn has_same_ground(&self, other: &Self) -> bool {
        let (a, b) = (&self.ground, &other.ground);
        let things = |ground: &Ground| -> Vec<(MultiPolygon<f64>, bool)> {
            let kept = ground.kept.iter();
            kept.map(|kept| (kept.kept_clear.clone(), kept.stops_the_body()))
                .collect()
        };
        a.allowed == b.allowed
            && a.outline == b.outline
            && a.entrances == b.entrances
            && things(a) == things(b)
    }

    /// The hand work that hangs on no operation.
    pub(crate) fn hand_alone(&self, job: &Job) -> hand::Alone {
        hand::alone(job, &self.ground, &self.zones)
    }
}

/// The plan of operations and hand work on their ground.
pub(crate) fn put_together(
    job: &Job,
    laid: Laid,
    planned: Vec<Planned>,
    by_hand: hand::Alone,
) -> Result<Plan, Faults> {
    let Laid { ground, zones, .. } = laid;
    let mut warnings = job.warnings.clone();
    warnings.extend(laid.warnings);
    let mut faults = Vec::new();
    let mut operations = Vec::new();
    for one in planned {
        match one {
            Ok((operation, found)) => {
                operations.push(operation);
                warnings.extend(found);
            }
            Err(found) => faults.extend(found.0),
        }
    }
    let left: Vec<Leftover<'_>> = operations.iter().map(left_by_hand).collect();
    let hand = match hand::plan(job, &ground, &zones, by_hand, &left) {
        Ok((hand, found)) => {
            warnings.extend(found);
            hand
        }
        Err(found) => {
            faults.extend(found.0);
            Vec::new()
        }
    };
    if !faults.is_empty() {
        return Err(Faults(faults));
    }
    let wheels = WheelTraffic::together(
        &ground,
        operations.iter().filter_map(|o| o.wheels.as_ref()),
        job.settings.wheel_passes_max,
    );
    let mut totals = Totals::of(operations.iter().map(|o| &o.time), &job.crew);
    for work in &hand {
        totals.add_people(work.time_s() * f64::from(work.people), &job.crew);
    }
    Ok(Plan {
        name: job.name.clone(),
        date: job.date.clone(),
        currency: job.currency.clone(),
        squares: Squares::of(&ground),
        ground,
        zones,
        totals,
        wheels,
        operations,
        hand,
        gpx_waypoints: job.settings.gpx_waypoints,
        task_data: job.settings.task_data,
        warnings,
    })
}

/// What an operation leaves to people.
fn left_by_hand(planned: &OperationPlan) -> Leftover<'_> {
    Leftover {
        operation: &planned.operation,
        target: &planned.target,
        unworked: planned.unworked.iter().map(|place| &place.shape).collect(),
        unworked_m2: planned.worked_times_m2.first().copied().unwrap_or(0.0),
    }
}

/// One operation on its target: each direction's passes, the drive, coverage, then the tally.
/// What of an earlier drive still holds is taken from `memory`, which then holds this one.
pub(crate) fn plan_operation(
    job: &Job,
    operation: &Operation,
    target: Targeted,
    laid: &Laid,
    memory: &mut Memory,
) -> Planned {
    let (ground, terrain, zones) = (&laid.ground, &laid.terrain, &laid.zones);
    let (target, mut warnings) = target?;
    let depth_mm = operation.depth.map_or(0.0, |depth| depth.depth_mm);
    let place = format!("operation {}", operation.id);
    warnings.extend(Warning::services_wording(place, depth_mm));
    zones::check_rates(job, operation, ground, zones)?;
    let passes = lay_directions(job, operation, ground, &target, &mut warnings)?;
    let rated = zones::rated(operation, ground, zones);
    let (route, passes) = if job.settings.routes {
        let on = (ground, terrain);
        let driven = drive::drive_again(operation, passes, on, rated.as_deref(), memory);
        warnings.extend(told::warnings(operation, ground, &driven));
        warnings.extend(refill::told::warnings(operation, driven.route.as_ref()));
        let Driven { route, passes, .. } = driven;
        (route, passes)
    } else {
        memory.forget();
        (None, passes)
    };

    let outline = MultiPolygon(vec![ground.outline.clone()]);
    let against = Against {
        target: &target.shape,
        target_m2: target.area_m2,
        outline: &outline,
        target_leaves_pitch: target.leaves_pitch,
    };
    let back = DrivenBack::of(route.as_ref());
    let measured: Vec<(DirectionPlan, Left, MultiPolygon<f64>)> = passes
        .into_par_iter()
        .enumerate()
        .map(|(index, passes)| {
            let numbered = (index + 1, &passes);
            let tape = setting_out::tape(ground, operation, &target.pieces, numbered, &back);
            measure(operation, passes, tape, &against)
        })
        .collect();
    let mut directions = Vec::new();
    // What each direction leaves, with its area, and as ground.
    let mut lefts: Vec<(Left, f64)> = Vec::new();
    let mut missed: Vec<MultiPolygon<f64>> = Vec::new();
    for (direction, left, ground) in measured {
        if direction.passes.passes.is_empty() {
            warnings.push(no_pass(operation, &direction.passes.name, &target));
        }
        lefts.push((left, direction.coverage.missed_m2));
        missed.push(ground);
        directions.push(direction);
    }
    let (worked_times_m2, unworked) = rayon::join(
        || coverage::worked_times_m2(&lefts, &target.shape, target.area_m2),
        || coverage::places(&coverage::unworked(&missed, &target.shape)),
    );
    let parts = directions.iter().map(|d| d.passes.part_count()).sum();
    let wheels = route
        .as_ref()
        .zip(operation.implement.tractor.as_ref())
        .map(|(route, tractor)| {
            let above = job.settings.wheel_passes_max;
            WheelTraffic::of(ground, &route.legs, tractor.track_width_m, above)
        });
    warnings.extend(
        wheels
            .as_ref()
            .and_then(|wheels| told::wheels(operation, ground, wheels)),
    );
    let time = tally::time(
        operation,
        &job.crew,
        job.settings.stops_share,
        directions.iter().map(|d| d.working_length_m).sum(),
        route.as_ref().map_or_else(
            || Beside::estimated(parts),
            |route| Beside::of_drive(route, operation.implement.load_min),
        ),
        directions.iter().map(|d| d.coverage.covered_m2).sum(),
    );
    let plan = OperationPlan {
        steering: steering_miss(job, operation, &directions),
        worked_times_m2,
        unworked,
        operation: operation.clone(),
        target,
        directions,
        rated,
        route,
        wheels,
        time,
    };
    Ok((plan, warnings))
}

/// What steering leaves between neighbouring lines: the shared length of a direction's lines
/// is its working length less one line's share.
fn steering_miss(
    job: &Job,
    operation: &Operation,
    directions: &[DirectionPlan],
) -> Option<SteeringMiss> {
    let tractor = operation.implement.tractor.as_ref()?;
    let sd_m = tractor
        .steering_sd_m
        .unwrap_or_else(|| defaults::steering_sd_m(tractor.steering));
    let width_m = operation.implement.working_width_m;
    let missed = directions.iter().filter_map(|direction| {
        let passes = direction.passes.passes.len() as f64;
        let joints_m = direction.working_length_m * (passes - 1.0) / passes;
        let overlap_m = width_m - direction.passes.spacing_m?;
        Some(joints_m * steering::missed_width_m(overlap_m, sd_m))
    });
    let share = job.settings.steering_miss_share;
    Some(SteeringMiss {
        sd_m,
        is_default: tractor.steering_sd_m.is_none(),
        by: tractor.steering,
        missed_m2: missed.sum(),
        share,
        overlap_for_share_m: steering::overlap_for_m(share, width_m, sd_m),
    })
}

/// What the passes of a direction cover and miss: its plan, and what it leaves, as the
/// coverage has it and as ground.
fn measure(
    operation: &Operation,
    passes: DirectionPasses,
    tape: Tape,
    against: &Against<'_>,
) -> (DirectionPlan, Left, MultiPolygon<f64>) {
    let measured = coverage::measure(&passes, against);
    let missed = coverage::all_missed(&measured.left, against.target);
    let working_length_m = passes.working_length_m();
    let direction = DirectionPlan {
        working_length_m,
        work_s: tally::work_s(working_length_m, operation.implement.speed_km_h),
        missed: coverage::places(&missed),
        coverage: measured.coverage,
        passes,
        tape,
    };
    (direction, measured.left, missed)
}

/// The passes of every direction, rounds first.
fn lay_directions(
    job: &Job,
    operation: &Operation,
    ground: &Ground,
    target: &Target,
    warnings: &mut Vec<Warning>,
) -> Result<Vec<DirectionPasses>, Faults> {
    let mut laid = Vec::new();
    let mut inner: Option<Vec<Piece>> = None;
    if operation.perimeter_rounds > 0 {
        let (pieces, blocked) = (&target.pieces, &target.blocked);
        laid.push(rounds::lay_out(operation, pieces, blocked, &ground.allowed));
        inner = Some(rounds::left_to_straights(operation, pieces));
    }
    let pieces = inner.as_ref().unwrap_or(&target.pieces);
    let angles: Vec<Angle> = operation
        .directions
        .iter()
        .map(|direction| angle_of(direction, ground))
        .collect();
    let phases = phases(job, operation, ground, &angles)?;
    for ((direction, &angle), phase) in operation.directions.iter().zip(&angles).zip(phases) {
        let name = unique_name(direction, &laid);
        let place = format!("operation {}, {name}", operation.id);
        let (passes, gave_way) = straight::lay_out(&Layout {
            operation,
            pieces,
            blocked: &target.blocked,
            allowed: &ground.allowed,
            angle,
            heading: angle.heading(ground.bearing),
            phase,
            name,
        });
        if gave_way {
            warnings.push(Warning::new(
                Code::EvenInstead,
                place,
                "an outer line of the `full` spacing would leave the allowed ground, so the lines \
                 lie closer together (`even`); more run-off would keep the spacing",
            ));
        }
        laid.push(passes);
    }
    Ok(laid)
}

/// The angle of a direction on this pitch.
fn angle_of(direction: &Direction, ground: &Ground) -> Angle {
    let corner_deg = (ground.width_m / ground.length_m).atan().to_degrees();
    match direction {
        Direction::Along => Angle::from_deg(0.0),
        Direction::Across => Angle::from_deg(90.0),
        Direction::DiagonalLeft => Angle::from_deg(45.0),
        Direction::DiagonalRight => Angle::from_deg(-45.0),
        Direction::CornerLeft => Angle::from_deg(corner_deg),
        Direction::CornerRight => Angle::from_deg(-corner_deg),
        Direction::Angle(angle) => *angle,
        Direction::Heading(heading) => heading.angle(ground.bearing),
    }
}

/// The name of a direction; a second of the same name in an operation gets `_2`, and so on.
fn unique_name(direction: &Direction, laid: &[DirectionPasses]) -> String {
    let name = match direction {
        Direction::Along => "along".to_owned(),
        Direction::Across => "across".to_owned(),
        Direction::DiagonalLeft => "diagonal_left".to_owned(),
        Direction::DiagonalRight => "diagonal_right".to_owned(),
        Direction::CornerLeft => "corner_left".to_owned(),
        Direction::CornerRight => "corner_right".to_owned(),
        Direction::Angle(angle) => format!("angle_{}", angle.deg()),
        Direction::Heading(heading) => format!("heading_{}", heading.deg()),
    };
    let is_taken = |name: &str| laid.iter().any(|passes| passes.name == name);
    if !is_taken(&name) {
        return name;
    }
    let mut nth = 2;
    while is_taken(&format!("{name}_{nth}")) {
        nth += 1;
    }
    format!("{name}_{nth}")
}

/// Where each direction's set of lines starts.
fn phases(
    job: &Job,
    operation: &Operation,
    ground: &Ground,
    angles: &[Angle],
) -> Result<Vec<Phase>, Fault> {
    let fault = |text: String| Fault {
        file: job.source.job_file.clone(),
        place: job
            .source
            .place(&format!("operation.{}.start", operation.number)),
        text: format!("operation `{}`: {text}", operation.id),
    };
    match &operation.start {
        Start::Centred => Ok(vec![Phase::Centred; angles.len()]),
        Start::From { side, is_goal_line } => {
            let kind = |is_goal_line| {
                if is_goal_line {
                    "goal line"
                } else {
                    "touch line"
                }
            };
            if ground.names.is_end(*side) != *is_goal_line {
                return Err(fault(format!(
                    "this pitch has no {} {}; on the {} it has a {}",
                    side.name(),
                    kind(*is_goal_line),
                    side.name(),
                    kind(!is_goal_line)
                )));
            }
            let outward = ground.names.outward(*side);
            angles
                .iter()
                .map(|angle| {
                    let along = angle.unit();
                    let to_left = outward.y * along.x - outward.x * along.y;
                    if to_left.abs() < 1e-9 {
                        Err(fault(format!(
                            "`from` names the {} {}, which is square to lines at {} degrees; name a \
                             line that runs beside them",
                            side.name(),
                            kind(*is_goal_line),
                            angle.deg()
                        )))
                    } else if to_left > 0.0 {
                        Ok(Phase::FromLeft)
                    } else {
                        Ok(Phase::FromRight)
                    }
                })
                .collect()
        }
        Start::Line { from, to, between } => {
            let phases: Vec<Phase> = angles
                .iter()
                .map(|angle| line_phase(operation, *from, *to, *between, *angle))
                .collect();
            if phases.iter().all(|phase| *phase == Phase::Centred) {
                return Err(fault(
                    "`line` is parallel to none of the directions (within 0.01 degree); give the \
                     direction its angle, or move a point of the line"
                        .to_owned(),
                ));
            }
            Ok(phases)
        }
    }
}

/// The phase a `line` start gives to a direction: centred where they are not parallel.
fn line_phase(operation: &Operation, from: Xy, to: Xy, between: bool, angle: Angle) -> Phase {
    /// The sine of 0.01 degree.
    const PARALLEL: f64 = 1.745_329_3e-4;
    let (along, line) = (angle.unit(), to - from);
    let sine = (along.x * line.y - along.y * line.x) / line.x.hypot(line.y);
    if sine.abs() > PARALLEL {
        return Phase::Centred;
    }
    let mid = (from + to) / 2.0;
    let offset_m = mid.y * along.x - mid.x * along.y;
    let half_m = operation.implement.asked_spacing_m() / 2.0;
    Phase::Through(if between { offset_m + half_m } else { offset_m })
}

fn no_pass(operation: &Operation, direction: &str, target: &Target) -> Warning {
    let why = if target.area_m2 <= 0.0 {
        "there is nothing to work: its zones are left out on this pitch or wholly kept clear"
    } else {
        "no line could be worked: its strips leave the allowed ground or the ends rule leaves \
         nothing; a narrower implement, `run_over`, or more run-off would do"
    };
    Warning::new(
        Code::NoPass,
        format!("operation {}, {direction}", operation.id),
        why,
    )
}
