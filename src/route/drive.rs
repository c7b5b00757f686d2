//! The drive of one operation: from the entrance over every part and back, leg by leg.
//!
//! Directions are driven in the job's order. Each is ordered on its own ([`super::search`]),
//! beginning where the one before it ended; where a bound is made, all are then ordered together
//! ([`super::joint`]).

use geo::{Centroid, Closest, ClosestPoint, Contains, MultiPolygon, Point};

use super::between::Drive;
use super::gates::Gate;
use super::legs::Route;
use super::links::Links;
use super::machine::{Body, Machine};
use super::memory::{Answer, Asked, Level, Memory};
use super::mend::{Remedies, remedies};
use super::order::Effort;
use super::parts::Parts;
use super::path::Radii;
use super::pose::Pose;
use super::refill::{self, Carried};
use super::runs::{Run, Stuck};
use super::search::Found;
use super::terrain::Terrain;
use super::tour::{Speeds, Tour};
use super::turn::Weights;
use crate::ground::{Ground, curves};
use crate::job::defaults;
use crate::job::model::{Operation, Order};
use crate::passes::DirectionPasses;
use crate::region;
use crate::space::Xy;
use crate::zones::Rated;

/// Within this of an entrance or a stockpile a machine may overhang allowed ground, metres.
pub(super) const OVERHANG_M: f64 = 6.0;
/// Remedies for a part that cannot be driven may still shorten its end by this, metres.
const MOST_SHORTENED_M: f64 = 10.0;
/// How many headings are tried at an entrance.
const HEADINGS: u32 = 16;

/// A part that is not driven, or not to its end.
#[derive(Debug, Clone)]
pub struct Trouble {
    /// Index of the direction.
    pub direction: usize,
    /// Number of the pass.
    pub pass: usize,
    /// Number of the part.
    pub part: usize,
    /// Where the machine is stuck; `None`: the end is shortened by `shortened_m`.
    pub stuck: Option<Stuck>,
    /// The place of the end, pitch metres.
    pub at: Xy,
    /// By how much the end is shortened, metres.
    pub shortened_m: f64,
    /// What would help, each alone.
    pub remedies: Option<Remedies>,
}

/// What came of an operation's drive.
#[derive(Debug, Clone)]
pub struct Driven {
    /// The drive; `None` where nothing can be driven.
    pub route: Option<Route>,
    /// The passes as worked: ends shortened where the ground forces it.
    pub passes: Vec<DirectionPasses>,
    /// Parts that cannot be driven either way.
    pub stuck: Vec<Trouble>,
    /// The end of each direction that is shortened most.
    pub worst: Vec<Trouble>,
    /// Indices of directions for whose parts no order was found.
    pub without_order: Vec<usize>,
    /// Whether the entrance cannot be driven through.
    pub no_entrance: bool,
}

/// The machine of an operation; `None` where it is pushed or carried by hand.
#[must_use]
pub fn machine(operation: &Operation) -> Option<Machine> {
    let implement = &operation.implement;
    let tractor = implement.tractor.as_ref()?;
    let body = tractor.body.unwrap_or(defaults::BODY);
    Some(Machine {
        radii: Radii {
            left_m: tractor.turn_radius_left_m,
            right_m: tractor.turn_radius_right_m,
        },
        body: Body {
            width_m: body.width_m,
            ahead_m: body.ahead_m,
            behind_m: body.behind_m,
        },
        tool_width_m: implement.working_width_m,
        reach_m: implement.reach_m,
        can_reverse: implement.can_reverse,
    })
}

/// The ground of a machine's turns: allowed ground, and about entrances what it may overhang.
#[must_use]
pub fn terrain(ground: &Ground) -> Terrain {
    let terrain = Terrain::new(&ground.allowed, &ground.outline);
    let gates: Vec<Xy> = entrances(ground);
    if gates.is_empty() {
        return terrain;
    }
    let discs: Vec<MultiPolygon<f64>> = gates
        .iter()
        .map(|at| MultiPolygon(vec![curves::disc(*at, OVERHANG_M)]))
        .collect();
    let things: Vec<MultiPolygon<f64>> = ground
        .kept
        .iter()
        .filter(|kept| kept.stops_the_body())
        .map(|kept| kept.kept_clear.clone())
        .collect();
    let about = region::difference(&region::union(&discs), &region::union(&things));
    terrain.with_overhang(&region::union(&[ground.allowed.clone(), about]))
}

/// The places of the entrances on allowed ground.
pub(super) fn entrances(ground: &Ground) -> Vec<Xy> {
    let places = ground.entrances.iter().filter_map(Centroid::centroid);
    places
        .map(|place| on_ground(&ground.allowed, place).0)
        .collect()
}

/// A place, or the nearest on the ground.
pub(super) fn on_ground(ground: &MultiPolygon<f64>, place: Point<f64>) -> Point<f64> {
    if ground.contains(&place) {
        return place;
    }
    match ground.closest_point(&place) {
        Closest::Intersection(at) | Closest::SinglePoint(at) => at,
        Closest::Indeterminate => place,
    }
}

/// The poses at a place, in headings all round.
pub(super) fn all_round(at: Xy) -> impl Iterator<Item = Pose> {
    (0..HEADINGS).map(move |step| Pose {
        at,
        heading_rad: std::f64::consts::TAU * f64::from(step) / f64::from(HEADINGS),
    })
}

/// Drives an operation's passes. `rated` is what each of its directions puts down where it
/// carries material: then the work is cut into loads.
#[must_use]
pub fn drive(
    operation: &Operation,
    laid: Vec<DirectionPasses>,
    ground: &Ground,
    terrain: &Terrain,
    rated: Option<&[Rated]>,
    effort: Effort,
) -> Driven {
    let memory = &mut Memory::new(effort);
    drive_again(operation, laid, (ground, terrain), rated, memory)
}

/// The same after an earlier drive of the operation: what of it still holds is kept, and what was
/// changed is answered at once ([`super::memory`]).
#[must_use]
pub fn drive_again(
    operation: &Operation,
    laid: Vec<DirectionPasses>,
    on: (&Ground, &Terrain),
    rated: Option<&[Rated]>,
    memory: &mut Memory,
) -> Driven {
    let unseen = &mut |_: usize, _: &mut Links<'_>, _: &Found| {};
    drive_seen(operation, laid, on, rated, memory, unseen)
}

/// The same, and shows the links of each direction with the order found on them, so that the
/// order can be checked on the very table it was sought on. To work out more links there
/// changes nothing of the drive.
#[must_use]
pub fn drive_seen(
    operation: &Operation,
    laid: Vec<DirectionPasses>,
    (ground, terrain): (&Ground, &Terrain),
    rated: Option<&[Rated]>,
    memory: &mut Memory,
    seen: &mut dyn FnMut(usize, &mut Links<'_>, &Found),
) -> Driven {
    let mut driven = Driven {
        route: None,
        passes: laid,
        stuck: Vec::new(),
        worst: Vec::new(),
        without_order: Vec::new(),
        no_entrance: false,
    };
    let (Some(machine), Some(tractor)) = (machine(operation), &operation.implement.tractor) else {
        memory.forget();
        return driven;
    };
    let speeds = Speeds::of(operation, tractor);
    let weights = Weights {
        on_pitch: operation.turn_on_pitch_cost,
        change_m: tractor.change_s * speeds.turn_m_s,
    };
    let drive = Drive {
        machine: &machine,
        terrain,
        weights: &weights,
        refines: true,
    };
    let entrance: Vec<Pose> = entrances(ground)
        .into_iter()
        .flat_map(all_round)
        .filter(|pose| terrain.allows_pose(&machine, *pose))
        .collect();
    driven.no_entrance = entrance.is_empty() && !ground.entrances.is_empty();
    let gate = if entrance.is_empty() {
        Gate::Free
    } else {
        Gate::At(entrance)
    };

    let mut tour = Tour::new(speeds, drive);
    let laid = driven.passes.iter().enumerate();
    let all: Vec<Parts> = laid
        .map(|(index, passes)| memory.parts(index, passes, drive))
        .collect();
    let stuck = all.iter().flat_map(|parts| parts.stuck.clone());
    driven.stuck.extend(stuck);
    let last = all.iter().rposition(|parts| !parts.ids.is_empty());
    let as_laid = driven.passes.clone();
    // The run driven last.
    let mut before: Option<Run> = None;
    let directions = all.len();
    let mut driven_parts: Vec<(usize, Parts)> = Vec::new();
    let mut answers: Vec<Answer<'_>> = Vec::new();
    for (index, parts) in all.into_iter().enumerate() {
        if parts.ids.is_empty() {
            memory.keep(index, None);
            continue;
        }
        let way_in = match &before {
            Some(run) => Gate::After(Box::new(run.clone())),
            None => gate.clone(),
        };
        let way_out = if Some(index) == last {
            gate.clone()
        } else {
            Gate::Free
        };
        let answer = memory.answer(
            index,
            &Asked {
                drive,
                how: operation.order,
                parts: &parts,
                gates: [way_in, way_out],
            },
        );
        let Some(mut answer) = answer else {
            memory.keep(index, None);
            driven.without_order.push(index);
            tour.has_all = false;
            continue;
        };
        let last_node = answer.found.order.last();
        before = last_node.and_then(|&node| parts.runs[node].clone());
        seen(index, &mut answer.links, &answer.found);
        driven_parts.push((index, parts));
        answers.push(answer);
    }
    let together = memory.together(&mut answers, operation.order);
    let loads = rated.zip(operation.implement.hopper_t);
    let yard = loads.and_then(|_| refill::haul::yard(ground));
    if let ([answer], [(index, parts)]) = (&mut answers[..], &driven_parts[..])
        && let Some((rated, hopper_t)) = loads
        && operation.order == Order::Shortest
    {
        let carried = Carried {
            hopper_t,
            rated: by_direction(rated, &driven.passes),
            passes: &driven.passes,
            yard: yard.as_ref(),
            drive,
            effort: answer.level.effort(),
        };
        answer.suit_loads(*index, parts, &carried);
    }
    for ((index, parts), answer) in driven_parts.into_iter().zip(answers) {
        let passes = &mut driven.passes[index];
        driven
            .worst
            .extend(parts.worst(&answer.found, passes, index));
        tour.add(index, (&parts.ids, &parts.runs), &answer, passes);
        memory.keep(index, Some((answer, parts)));
    }
    tour.set_bound(together.as_ref());
    memory.done(directions);
    if let Some((rated, hopper_t)) = loads
        && tour.has_all
    {
        tour.refill(&Carried {
            hopper_t,
            rated: by_direction(rated, &driven.passes),
            passes: &driven.passes,
            yard: yard.as_ref(),
            drive,
            effort: tour.effort(),
        });
    }
    driven.route = tour.done();
    if driven.route.is_none() {
        // What is not driven is not shortened.
        driven.passes = as_laid;
        driven.worst.clear();
    }
    // What would help is not sought for a first answer.
    let levels: Vec<Option<Level>> = memory.levels().collect();
    let outline = &ground.outline;
    for trouble in driven.stuck.iter_mut().chain(&mut driven.worst) {
        let is_wanted = levels[trouble.direction] != Some(Level::First);
        trouble.remedies = trouble.stuck.and_then(|stuck| {
            let is_driven = trouble.shortened_m > 0.0;
            let most_m = if is_driven { 0.0 } else { MOST_SHORTENED_M };
            memory.remedies(&machine, (stuck, most_m), is_wanted, || {
                remedies(terrain, outline, &machine, stuck.at, stuck.end, most_m)
            })
        });
    }
    driven
}

/// The rates of each direction's passes; rounds have none.
fn by_direction<'a>(rated: &'a [Rated], passes: &[DirectionPasses]) -> Vec<Option<&'a Rated>> {
    let mut rated = rated.iter();
    let straights = passes.iter().map(|passes| passes.angle.is_some());
    straights
        .map(|is_straight| if is_straight { rated.next() } else { None })
        .collect()
}
