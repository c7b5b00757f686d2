//! The ways in to the first part of a route and out of its last.

use super::between::Drive;
use super::bound;
use super::chains::{self, Known, Ways};
use super::links::{coming_in, leaving};
use super::order::Node;
use super::path::Piece;
use super::pose::Pose;
use super::runs::Run;
use super::turn::{End, Turn, cheapest_turn};

/// One end of a route: from where it comes in, or to where it goes out.
#[derive(Debug, Clone, PartialEq)]
pub enum Gate {
    /// Anywhere, at no cost.
    Free,
    /// At one of these poses, where no work begins or ends.
    At(Vec<Pose>),
    /// From the end of this run of another direction.
    After(Box<Run>),
}

/// Which end of a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    In = 0,
    Out = 1,
}

/// A pose at which no work begins or ends.
const fn at(pose: Pose) -> End<'static> {
    End {
        pose,
        way: None,
        of_work: false,
    }
}

/// So many headings at an entrance are tried, those of the shortest ways where no wall counts;
/// the others only where none of them will do.
const HEADINGS_TRIED: usize = 5;

/// The end of a run that is on a side of the route.
pub(super) fn own(run: &Run, side: Side) -> End<'_> {
    match side {
        Side::In => coming_in(run),
        Side::Out => leaving(run),
    }
}

/// The ends of all turns between a gate and a run, in the sense driven.
fn pairs<'a>(gate: &'a Gate, run: &'a Run, side: Side) -> Vec<(End<'a>, End<'a>)> {
    let own = own(run, side);
    let others: Vec<End<'_>> = match gate {
        Gate::Free => Vec::new(),
        Gate::At(poses) => poses.iter().map(|&pose| at(pose)).collect(),
        Gate::After(run) => vec![leaving(run)],
    };
    let both = others.into_iter().map(|other| match side {
        Side::In => (other, own),
        Side::Out => (own, other),
    });
    both.collect()
}

/// The same with what each costs at least, metres, the least first.
fn turns<'a>(
    drive: Drive<'_>,
    gate: &'a Gate,
    run: &'a Run,
    side: Side,
) -> Vec<(f64, (End<'a>, End<'a>))> {
    let least_m = |(from, to): &(End<'_>, End<'_>)| {
        bound::least_cost_m(from, to, drive.machine, drive.terrain, drive.weights)
    };
    let turns = pairs(gate, run, side).into_iter();
    let mut turns: Vec<_> = turns.map(|ends| (least_m(&ends), ends)).collect();
    turns.sort_by(|a, b| a.0.total_cmp(&b.0));
    turns
}

/// What a way between a gate and a run costs at least, metres; where that need not be `near` the
/// truth, a lesser cost that is told at once.
pub(super) fn least_m(drive: Drive<'_>, gate: &Gate, run: &Run, side: Side, near: bool) -> f64 {
    let least = pairs(gate, run, side).into_iter().map(|(from, to)| {
        if near {
            bound::least_cost_m(&from, &to, drive.machine, drive.terrain, drive.weights)
        } else {
            bound::apart_cost_m(from.pose, to.pose, drive.machine, drive.weights)
        }
    });
    match gate {
        Gate::Free => 0.0,
        _ => least.fold(f64::INFINITY, f64::min),
    }
}

/// The cheapest way found between a gate and a run.
pub(super) fn searched(drive: Drive<'_>, gate: &Gate, run: &Run, side: Side) -> Option<Turn> {
    let turns = turns(drive, gate, run, side).into_iter();
    let turns: Vec<(End<'_>, End<'_>)> = turns.map(|(_, ends)| ends).collect();
    let (first, others) = turns.split_at(turns.len().min(HEADINGS_TRIED));
    let cheapest = |turns: &[(End<'_>, End<'_>)]| {
        cheapest_turn(
            turns,
            drive.machine,
            drive.terrain,
            drive.weights,
            drive.refines,
        )
    };
    cheapest(first).or_else(|| cheapest(others))
}

/// A way between a gate and a run from some headings, after shapes that were driven from any, for
/// less than a limit.
pub(super) fn followed(
    drive: Drive<'_>,
    (gate, run, side): (&Gate, &Run, Side),
    shapes: &[&[Piece]],
    limit_m: f64,
) -> Option<Turn> {
    let ways = turns(drive, gate, run, side).into_iter();
    let mut best: Option<Turn> = None;
    for (least_m, (from, to)) in ways.take(HEADINGS_TRIED) {
        let limit_m = best.as_ref().map_or(limit_m, |turn| turn.cost_m);
        if least_m >= limit_m {
            break;
        }
        let turn = drive.followed(&from, &to, shapes, limit_m);
        best = turn.or(best);
    }
    best
}

/// The ways of nodes one after another ([`chains`]), roughly.
pub(super) fn chain<'a>(
    drive: Drive<'_>,
    gate: &Gate,
    side: Side,
    nodes: impl Iterator<Item = (Node, &'a Run)>,
    slack: f64,
) -> Vec<(Node, Known)> {
    let ends = nodes.map(|(node, run)| (node, least_m(drive, gate, run, side, true), run, run));
    let rough = drive.rough();
    let ways = WaysOf {
        drive: rough,
        gate,
        side,
    };
    let mut found = chains::worked_out(ends, None, slack, &ways);
    if rough.refines != drive.refines {
        for (_, known) in &mut found {
            known.is_searched = false;
        }
    }
    found
}

/// How the ways of one gate are made.
struct WaysOf<'a> {
    drive: Drive<'a>,
    gate: &'a Gate,
    side: Side,
}

impl Ways<&Run> for WaysOf<'_> {
    /// No two of these ways are alike.
    fn copied(&self, _: &&Run, _: &&Run, _: &[&[Piece]]) -> Option<Turn> {
        None
    }

    fn followed(&self, run: &&Run, _: &&Run, shapes: &[&[Piece]], limit_m: f64) -> Option<Turn> {
        followed(self.drive, (self.gate, run, self.side), shapes, limit_m)
    }

    fn searched(&self, run: &&Run, _: &&Run, _: &[&[Piece]]) -> Option<Turn> {
        searched(self.drive, self.gate, run, self.side)
    }
}
