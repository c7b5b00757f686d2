//! A drive cut into stages, one for each direction: a sheet shows one stage.
//!
//! A stage begins where the last work of the direction before it ended, so that the way
//! from one direction to the next lies on the sheet of the next. The last stage holds the
//! way out too.

use super::scene::Spot;
use crate::plan::{DirectionPlan, OperationPlan};
use crate::route::kind::Kind as TurnKind;
use crate::route::legs::{Leg, LegKind, Worked};

/// A direction's stretch of a drive.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stage<'plan> {
    /// From 1, in the order driven.
    pub number: usize,
    /// How many stages the drive has.
    pub count: usize,
    /// The direction that is worked.
    pub direction: &'plan DirectionPlan,
    /// Its legs, in the order driven.
    pub legs: &'plan [Leg],
}

/// What a machine does between two works: what it is drawn as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum MoveKind {
    /// A turn, and every other move with the tool up.
    Turn(TurnKind),
    /// To the stockpile or from it.
    Haul,
}

impl MoveKind {
    /// All kinds, in the order of the key.
    pub(super) const ALL: [Self; 6] = [
        Self::Turn(TurnKind::U),
        Self::Turn(TurnKind::WideU),
        Self::Turn(TurnKind::Bulb),
        Self::Turn(TurnKind::ThreePoint),
        Self::Turn(TurnKind::Other),
        Self::Haul,
    ];

    /// Its word in the key.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Turn(TurnKind::U) => "U turn",
            Self::Turn(TurnKind::WideU) => "wide U turn",
            Self::Turn(TurnKind::Bulb) => "bulb turn",
            Self::Turn(TurnKind::ThreePoint) => "three-point",
            Self::Turn(TurnKind::Other) => "other way",
            Self::Haul => "haul",
        }
    }

    fn of(leg: &Leg) -> Option<Self> {
        match leg.kind {
            LegKind::Work => None,
            LegKind::Haul => Some(Self::Haul),
            LegKind::Turn => Some(Self::Turn(leg.turn.unwrap_or(TurnKind::Other))),
        }
    }
}

/// Work on a part, or on what a refill left of it.
#[derive(Debug, Clone)]
pub(super) struct Work {
    /// The part's place in the order of the stage, from 1.
    pub order: usize,
    /// Which part it is.
    pub part: Worked,
    /// The way of the axle on the paper, in the sense driven.
    pub way: Vec<Spot>,
}

/// A move between works, whatever the number of its legs.
#[derive(Debug, Clone)]
pub(super) struct Move {
    /// What it is.
    pub kind: MoveKind,
    /// The way of the axle on the paper, in the sense driven.
    pub way: Vec<Spot>,
}

/// What a stage comes to on the paper.
#[derive(Debug, Clone, Default)]
pub(super) struct Drawn {
    /// The works, in the order driven.
    pub works: Vec<Work>,
    /// The moves, in the order driven.
    pub moves: Vec<Move>,
    /// Where the driving direction changes.
    pub changes: Vec<Spot>,
}

/// The stages of an operation's drive, in the order driven; none without a drive.
pub(super) fn stages(work: &OperationPlan) -> Vec<Stage<'_>> {
    let Some(route) = &work.route else {
        return Vec::new();
    };
    // Where each stage's legs end: behind the last work of a direction.
    let mut ends: Vec<(usize, usize)> = Vec::new();
    for (index, leg) in route.legs.iter().enumerate() {
        let Some(worked) = leg.worked else { continue };
        match ends.last_mut() {
            Some((direction, end)) if *direction == worked.direction => *end = index + 1,
            _ => ends.push((worked.direction, index + 1)),
        }
    }
    if let Some((_, end)) = ends.last_mut() {
        *end = route.legs.len();
    }
    let count = ends.len();
    let mut from = 0;
    let mut stages = Vec::new();
    for (index, (direction, end)) in ends.into_iter().enumerate() {
        let direction = direction
            .checked_sub(1)
            .and_then(|index| work.directions.get(index));
        if let (Some(direction), Some(legs)) = (direction, route.legs.get(from..end)) {
            stages.push(Stage {
                number: index + 1,
                count,
                direction,
                legs,
            });
        }
        from = end;
    }
    stages
}

/// The parts of a stage in the order driven, each once: a part that a refill cuts is
/// worked in two legs.
pub(super) fn parts(stage: &Stage<'_>) -> Vec<Worked> {
    let mut parts: Vec<Worked> = stage.legs.iter().filter_map(|leg| leg.worked).collect();
    parts.dedup_by_key(|worked| (worked.direction, worked.pass, worked.part));
    parts
}

/// Lays a stage on the paper; `spot` says where a place of the pitch lies.
pub(super) fn drawn(stage: &Stage<'_>, spot: impl Fn(crate::space::Xy) -> Spot) -> Drawn {
    let mut drawn = Drawn::default();
    let mut before: Option<&Leg> = None;
    for leg in stage.legs {
        let way: Vec<Spot> = leg.line.0.iter().map(|&place| spot(place)).collect();
        if let (Some(last), Some(&first)) = (before, way.first())
            && last.reverse != leg.reverse
        {
            drawn.changes.push(first);
        }
        match (MoveKind::of(leg), leg.worked) {
            (None, Some(part)) => {
                let order = match drawn.works.last() {
                    Some(last) if is_same(last.part, part) => last.order,
                    Some(last) => last.order + 1,
                    None => 1,
                };
                drawn.works.push(Work { order, part, way });
            }
            (None, None) => {}
            (Some(kind), _) => {
                let goes_on = before.is_some_and(|last| MoveKind::of(last) == Some(kind));
                match drawn.moves.last_mut() {
                    // One line, so that its dashes run on.
                    Some(last) if goes_on => last.way.extend(way.into_iter().skip(1)),
                    _ => drawn.moves.push(Move { kind, way }),
                }
            }
        }
        before = Some(leg);
    }
    drawn
}

fn is_same(one: Worked, other: Worked) -> bool {
    (one.direction, one.pass, one.part) == (other.direction, other.pass, other.part)
}
