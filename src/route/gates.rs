//! The ways in to the first part of a route and out of its last.

use super::bound;
use super::chains::{self, Known};
use super::links::{Drive, coming_in, leaving, tenths};
use super::order::Node;
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

/// The ends of all turns between a gate and a run, in the sense driven.
fn pairs<'a>(gate: &'a Gate, run: &'a Run, side: Side) -> Vec<(End<'a>, End<'a>)> {
    let own = match side {
        Side::In => coming_in(run),
        Side::Out => leaving(run),
    };
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

/// The same, the pair with the shortest way where no wall counts first.
fn turns<'a>(
    drive: Drive<'_>,
    gate: &'a Gate,
    run: &'a Run,
    side: Side,
) -> Vec<(End<'a>, End<'a>)> {
    let mut turns = pairs(gate, run, side);
    turns.sort_by_cached_key(|(from, to)| {
        tenths(bound::wall_free_m(
            from,
            to,
            drive.machine,
            drive.weights.change_m,
        ))
    });
    turns
}

/// What a way between a gate and a run costs at least, metres.
pub(super) fn least_m(drive: Drive<'_>, gate: &Gate, run: &Run, side: Side) -> f64 {
    let least = pairs(gate, run, side).into_iter().map(|(from, to)| {
        bound::least_cost_m(&from, &to, drive.machine, drive.terrain, drive.weights)
    });
    match gate {
        Gate::Free => 0.0,
        _ => least.fold(f64::INFINITY, f64::min),
    }
}

/// The cheapest way found between a gate and a run.
pub(super) fn searched(drive: Drive<'_>, gate: &Gate, run: &Run, side: Side) -> Option<Turn> {
    let turns = turns(drive, gate, run, side);
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

/// The ways of nodes one after another ([`chains`]).
pub(super) fn chain<'a>(
    drive: Drive<'_>,
    gate: &Gate,
    side: Side,
    nodes: impl Iterator<Item = (Node, &'a Run)>,
    slack: f64,
) -> Vec<(Node, Known)> {
    let ends = nodes.map(|(node, run)| (node, least_m(drive, gate, run, side), run, run));
    chains::worked_out(
        ends,
        slack,
        |(run, _), shapes| {
            // From some headings, after the shapes that were driven from any.
            let ways = turns(drive, gate, run, side).into_iter();
            let ways = ways.take(HEADINGS_TRIED);
            ways.filter_map(|(from, to)| drive.followed(&from, &to, shapes))
                .reduce(|best, turn| {
                    if turn.cost_m < best.cost_m {
                        turn
                    } else {
                        best
                    }
                })
        },
        |(run, _), _| searched(drive, gate, run, side),
    )
}
