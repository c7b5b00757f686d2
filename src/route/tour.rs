//! The drive of an operation as it grows, step after step, and its figures once it is whole.

use std::collections::BTreeMap;

use geo::LineString;

use super::between::Drive;
use super::joint::Together;
use super::kind::{Kind, Leads};
use super::legs::{Leg, LegKind, Refills, Route, Worked};
use super::links::metres;
use super::memory::Answer;
use super::order::{BoundMethod, Effort, Node};
use super::path::{Path, SAGITTA_M};
use super::pose::Pose;
use super::refill::{self, Carried};
use super::runs::{self, PartOf, Run};
use super::turn::Turn;
use crate::job::model::{Operation, Tractor};
use crate::passes::{DirectionPasses, Track, rounds};
use crate::space::Xy;

/// Metres a second of a kilometre an hour.
const M_PER_S: f64 = 1.0 / 3.6;

/// Speeds of a machine, metres a second.
pub(super) struct Speeds {
    pub work_m_s: f64,
    pub turn_m_s: f64,
    /// Seconds of a change of direction.
    pub change_s: f64,
}

impl Speeds {
    pub(super) fn of(operation: &Operation, tractor: &Tractor) -> Self {
        let work_km_h = operation.implement.speed_km_h;
        Self {
            work_m_s: work_km_h * M_PER_S,
            turn_m_s: tractor.turn_speed_km_h.unwrap_or(work_km_h) * M_PER_S,
            change_s: tractor.change_s,
        }
    }
}

/// One thing after the other.
#[derive(Debug, Clone)]
pub(super) enum Step {
    Turn(Turn, Kind),
    Work(Box<Work>),
    /// To the stockpile, or from it.
    Haul(Turn),
}

/// The work on a part, or a stretch of one.
#[derive(Debug, Clone)]
pub(super) struct Work {
    pub worked: Worked,
    /// The axle where the tool is lowered and where it is lifted.
    pub start: Pose,
    pub end: Pose,
    /// The part as worked, in its own sense.
    pub track: Track,
    pub width_m: f64,
    /// The way of the axle.
    pub line: LineString<f64>,
    pub length_m: f64,
    pub way_in: Path,
    pub way_out: Path,
}

impl Work {
    /// The work on a part of passes as laid, less what the ground takes off its ends.
    pub(super) fn of(
        direction: usize,
        id: PartOf,
        is_back: bool,
        run: &Run,
        laid: &DirectionPasses,
        reach_m: f64,
    ) -> Self {
        let pass = &laid.passes[id.pass];
        let part = &pass.parts[id.part];
        let (first_m, last_m) = (run.way_in.shortened_m, run.way_out.shortened_m);
        let track = runs::shortened(&part.track, is_back, first_m, last_m);
        Self {
            worked: Worked {
                direction: direction + 1,
                pass: pass.number,
                part: part.number,
                is_back,
            },
            start: run.lowered,
            end: run.lifted,
            line: runs::axle_line(&track, is_back, reach_m),
            length_m: rounds::length_m(&match &track {
                Track::Straight { from, to } => LineString(vec![*from, *to]),
                Track::Round(line) => line.clone(),
            }),
            track,
            width_m: part.width_m,
            way_in: run.way_in.path.clone(),
            way_out: run.way_out.path.clone(),
        }
    }

    pub(super) fn first_place(&self) -> Xy {
        self.line.0.first().copied().unwrap_or(self.start.at)
    }

    pub(super) fn last_place(&self) -> Xy {
        self.line.0.last().copied().unwrap_or(self.end.at)
    }
}

/// The drive as it grows, direction after direction.
pub(super) struct Tour<'a> {
    speeds: Speeds,
    drive: Drive<'a>,
    /// The least effort of its directions.
    effort: Option<Effort>,
    steps: Vec<Step>,
    refills: Option<Refills>,
    cost: i64,
    bound: Option<i64>,
    method: Option<BoundMethod>,
    /// Whether every direction is driven.
    pub has_all: bool,
    /// The part driven last.
    last: Option<(usize, usize, usize)>,
}

impl<'a> Tour<'a> {
    pub(super) const fn new(speeds: Speeds, drive: Drive<'a>) -> Self {
        Self {
            speeds,
            drive,
            effort: None,
            steps: Vec::new(),
            refills: None,
            cost: 0,
            bound: None,
            method: None,
            has_all: true,
            last: None,
        }
    }

    /// Adds the order found for the parts of a direction (`ids` by part, `runs` by node).
    pub(super) fn add(
        &mut self,
        direction: usize,
        (ids, all): (&[PartOf], &[Option<Run>]),
        answer: &Answer<'_>,
        passes: &mut DirectionPasses,
    ) {
        let (found, links) = (&answer.found, &answer.links);
        let mut before: Option<Node> = None;
        for &node in &found.order {
            let turn = match before {
                None => links.table().way_in(node),
                Some(before) => links.turn(before, node),
            };
            let id = ids[node / 2];
            let pass = &passes.passes[id.pass];
            let here = (direction, pass.piece, pass.number);
            if let Some(turn) = turn {
                let leads = self.leads(here, before.is_none());
                let kind = Kind::of(&turn.path.pieces, turn.changes, leads);
                self.steps.push(Step::Turn(turn, kind));
            }
            self.last = Some(here);
            if let Some(run) = &all[node] {
                self.work(direction, id, node % 2 == 1, run, passes);
            }
            before = Some(node);
        }
        if let Some(turn) = before.and_then(|node| links.table().way_out(node)) {
            let kind = Kind::of(&turn.path.pieces, turn.changes, Leads::Elsewhere);
            self.steps.push(Step::Turn(turn, kind));
        }
        let effort = answer.level.effort();
        self.effort = Some(self.effort.map_or(effort, |least| least.min(effort)));
        self.cost += found.cost;
    }

    /// What no order of all that was added costs less than.
    pub(super) fn set_bound(&mut self, together: Option<&Together>) {
        self.bound = together.map(|together| together.lower_bound);
        self.method = together.map(|together| together.method);
    }

    /// The effort that all of it is worked out with.
    pub(super) fn effort(&self) -> Effort {
        self.effort.unwrap_or(Effort::Quick)
    }

    /// Where a turn to a part leads.
    fn leads(&self, here: (usize, usize, usize), is_way_in: bool) -> Leads {
        match self.last {
            Some((direction, piece, pass)) if !is_way_in && direction == here.0 => {
                if piece == here.1 && pass.abs_diff(here.2) == 1 {
                    Leads::ToNeighbour
                } else if piece == here.1 && pass == here.2 {
                    Leads::Elsewhere
                } else {
                    Leads::ToFurther
                }
            }
            _ => Leads::Elsewhere,
        }
    }

    /// Adds the work on a part, and takes off its ends what the ground takes.
    fn work(
        &mut self,
        direction: usize,
        id: PartOf,
        is_back: bool,
        run: &Run,
        passes: &mut DirectionPasses,
    ) {
        let work = Work::of(
            direction,
            id,
            is_back,
            run,
            passes,
            self.drive.machine.reach_m,
        );
        let part = &mut passes.passes[id.pass].parts[id.part];
        part.track = work.track.clone();
        part.shortened_m = run.way_in.shortened_m + run.way_out.shortened_m;
        self.steps.push(Step::Work(Box::new(work)));
    }

    /// Cuts what was added into loads, with the hauls between them. A bound holds for drives
    /// without hauls, so there is none where some are driven.
    pub(super) fn refill(&mut self, carried: &Carried<'_>) {
        let steps = std::mem::take(&mut self.steps);
        let refilled = refill::refilled(steps, carried);
        self.steps = refilled.steps;
        self.cost += refilled.added;
        if self.steps.iter().any(|step| matches!(step, Step::Haul(_))) {
            self.bound = None;
        }
        self.refills = Some(refilled.refills);
    }

    pub(super) fn done(self) -> Option<Route> {
        if self.steps.is_empty() || !self.has_all {
            return None;
        }
        let effort = self.effort();
        let mut drawn = Drawn::default();
        for step in &self.steps {
            match step {
                Step::Work(work) => drawn.work(work, &self.speeds),
                Step::Turn(turn, kind) => drawn.turn(turn, *kind, &self.speeds),
                Step::Haul(turn) => drawn.haul(turn, &self.speeds),
            }
        }
        let seconds = |cost: i64| metres(cost) / self.speeds.turn_m_s;
        Some(Route {
            length_m: drawn.legs.iter().map(|leg| leg.length_m).sum(),
            turns: drawn.turns,
            turn_on_pitch_m: drawn.turning.on_pitch_m,
            changes: drawn.turning.changes + drawn.hauling.changes,
            turn_s: drawn.turning.time_s(&self.speeds),
            haul_m: drawn.hauling.length_m,
            haul_s: drawn.hauling.time_s(&self.speeds),
            refills: self.refills,
            cost_s: seconds(self.cost),
            lower_bound_s: self.bound.map(seconds),
            bound_method: self.bound.and(self.method),
            effort,
            legs: drawn.legs,
        })
    }
}

/// What moves come to.
#[derive(Default)]
struct Moves {
    length_m: f64,
    on_pitch_m: f64,
    changes: usize,
}

impl Moves {
    fn add(&mut self, turn: &Turn) {
        self.length_m += turn.length_m;
        self.on_pitch_m += turn.on_pitch_m;
        self.changes += turn.changes;
    }

    fn time_s(&self, speeds: &Speeds) -> f64 {
        self.length_m / speeds.turn_m_s + speeds.change_s * self.changes as f64
    }
}

/// The legs of steps, with their sums.
#[derive(Default)]
struct Drawn {
    legs: Vec<Leg>,
    turns: BTreeMap<Kind, usize>,
    turning: Moves,
    hauling: Moves,
}

impl Drawn {
    fn work(&mut self, work: &Work, speeds: &Speeds) {
        self.legs.push(Leg {
            kind: LegKind::Work,
            worked: Some(work.worked),
            turn: None,
            line: work.line.clone(),
            start: work.start,
            end: work.end,
            length_m: work.length_m,
            time_s: work.length_m / speeds.work_m_s,
            reverse: false,
        });
    }

    fn turn(&mut self, turn: &Turn, kind: Kind, speeds: &Speeds) {
        *self.turns.entry(kind).or_default() += 1;
        self.turning.add(turn);
        self.legs_of(turn, (LegKind::Turn, Some(kind)), speeds);
    }

    fn haul(&mut self, turn: &Turn, speeds: &Speeds) {
        self.hauling.add(turn);
        self.legs_of(turn, (LegKind::Haul, None), speeds);
    }

    /// One leg for each run of pieces driven in one sense.
    fn legs_of(&mut self, turn: &Turn, (kind, named): (LegKind, Option<Kind>), speeds: &Speeds) {
        let mut pose = turn.path.start;
        let runs = turn.path.pieces.chunk_by(|a, b| a.reverse == b.reverse);
        for pieces in runs {
            let path = Path {
                start: pose,
                radii: turn.path.radii,
                pieces: pieces.to_vec(),
            };
            let length_m = path.length_m();
            let end = path.end();
            self.legs.push(Leg {
                kind,
                worked: None,
                turn: named,
                line: LineString(path.points(SAGITTA_M)),
                start: pose,
                end,
                length_m,
                time_s: length_m / speeds.turn_m_s,
                reverse: pieces.first().is_some_and(|piece| piece.reverse),
            });
            pose = end;
        }
    }
}
