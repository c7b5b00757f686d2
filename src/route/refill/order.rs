//! An order that suits the loads.
//!
//! The order of least turning may end its loads far from the stockpile. So an order is changed, as
//! far as that is cheaper with its refills: stretches are turned round, and up to three parts are
//! moved elsewhere, either way round. What refills cost is told by hauls from and to every end,
//! worked out with walls for the most promising ways of standing at a stockpile, by hauls where no
//! wall counts every few metres of a part, and by the exact cuts for these ([`super::cuts`]): an
//! estimate, by which orders are compared. Steps are counted, never timed.

use rayon::prelude::*;

use super::cuts::{self, NOT_HERE, Place};
use super::haul::{Hauls, WorkEnd};
use super::places::Along;
use super::{Carried, MOST_LOADS};
use crate::route::order::{Costs, Effort, FORBIDDEN, Node};
use crate::route::tour::{Step, Work};

/// Within a part a load may end so often, metres.
const STEP_M: f64 = 2.0;

/// Less often where that would be more places than these in all.
const MOST_STOPS: f64 = 4_000.0;

/// The most parts that are moved at once.
const MOST_MOVED: usize = 3;

/// Steps at most: to price the turns of an order is one, to price its refills [`REFILLS`] more.
const fn most_steps(effort: Effort) -> usize {
    match effort {
        Effort::Quick => 60_000,
        Effort::Normal => 600_000,
        Effort::Thorough => 6_000_000,
    }
}

/// What it takes to price the refills of an order, in steps.
const REFILLS: usize = 20;

/// What each node puts down, and what hauls from it and to it cost about.
pub(in crate::route) struct Laden {
    nodes: Vec<Option<LadenNode>>,
    hopper_kg: f64,
    steps: usize,
}

struct LadenNode {
    all_kg: f64,
    /// Within it: what is put down until there, kilograms, and what a refill costs there.
    stops: Vec<(f64, i64)>,
    /// From its end to each way of standing at a stockpile.
    to_pile: Vec<i64>,
    /// From each to its start.
    back: Vec<i64>,
}

impl LadenNode {
    fn of(work: Work, step_m: f64, carried: &Carried<'_>, hauls: &Hauls<'_>) -> Self {
        let steps = [Step::Work(Box::new(work))];
        let along = Along::of(&steps, carried);
        let work = along.works[0];
        let here = |pose| WorkEnd { pose, way: None };
        let stops = along.every(step_m).map(|(along_m, put_down_kg)| {
            let here = here(work.start.ahead(along_m));
            (put_down_kg, hauls.least_without_walls(here, here))
        });
        Self {
            all_kg: along.all_kg,
            stops: stops.collect(),
            to_pile: hauls.about_to(WorkEnd {
                pose: work.end,
                way: Some(&work.way_out),
            }),
            back: hauls.about_back(WorkEnd {
                pose: work.start,
                way: Some(&work.way_in),
            }),
        }
    }
}

impl Laden {
    /// Of the work of each node (`None`: cannot be driven that way); `None` where no refill is
    /// needed, or none can be driven.
    pub(in crate::route) fn of(works: Vec<Option<Work>>, carried: &Carried<'_>) -> Option<Self> {
        let hauls = Hauls::new(carried.yard?, carried.drive, carried.effort)?;
        let both_ways_m: f64 = works.iter().flatten().map(|work| work.length_m).sum();
        let step_m = STEP_M.max(both_ways_m / 2.0 / MOST_STOPS);
        let nodes: Vec<Option<LadenNode>> = works
            .into_par_iter()
            .map(|work| Some(LadenNode::of(work?, step_m, carried, &hauls)))
            .collect();
        let hopper_kg = carried.hopper_t * 1000.0;
        let both_ways_kg: f64 = nodes.iter().flatten().map(|node| node.all_kg).sum();
        let loads = both_ways_kg / 2.0 / hopper_kg;
        (loads > 1.0 && loads < MOST_LOADS as f64).then_some(Self {
            nodes,
            hopper_kg,
            steps: most_steps(carried.effort),
        })
    }

    /// What an order costs with its refills, tenths of a millimetre: an estimate.
    pub(in crate::route) fn cost(&self, order: &[Node], costs: &Costs) -> i64 {
        let turning = costs.order_cost(order);
        if turning >= FORBIDDEN {
            return FORBIDDEN;
        }
        let mut places: Vec<Place> = Vec::new();
        let mut put_down_kg = 0.0;
        for (index, &node) in order.iter().enumerate() {
            let Some(laden) = &self.nodes[node] else {
                return FORBIDDEN;
            };
            places.extend(laden.stops.iter().map(|(kg, cost)| Place {
                put_down_kg: put_down_kg + kg,
                cost: *cost,
                is_inside: true,
            }));
            put_down_kg += laden.all_kg;
            let next = order.get(index + 1);
            if let Some((&next, after)) =
                next.and_then(|next| Some((next, self.nodes[*next].as_ref()?)))
            {
                let hauls = laden.to_pile.iter().zip(&after.back);
                let haul = hauls.map(|(there, back)| there + back).min();
                places.push(Place {
                    put_down_kg,
                    cost: haul.map_or(NOT_HERE, |haul| (haul - costs.cost(node, next)).max(0)),
                    is_inside: false,
                });
            }
        }
        match cuts::best_cuts(&places, put_down_kg, self.hopper_kg) {
            Some(cuts) => turning + cuts.iter().map(|&cut| places[cut].cost).sum::<i64>(),
            None => FORBIDDEN,
        }
    }

    /// An order changed for the better, while that helps and steps are left.
    pub(in crate::route) fn improved(&self, order: &[Node], costs: &Costs) -> Vec<Node> {
        let mut best = order.to_vec();
        let mut best_cost = self.cost(&best, costs);
        let mut steps = self.steps;
        loop {
            let mut is_better = false;
            for change in changes(best.len()) {
                if steps < 1 + REFILLS {
                    return best;
                }
                steps -= 1;
                let changed = change.of(&best);
                // Most changes turn more than all refills could save.
                if costs.order_cost(&changed) >= best_cost {
                    continue;
                }
                steps -= REFILLS;
                let cost = self.cost(&changed, costs);
                if cost < best_cost {
                    (best, best_cost) = (changed, cost);
                    is_better = true;
                }
            }
            if !is_better {
                return best;
            }
        }
    }
}

/// A change of an order.
#[derive(Debug, Clone, Copy)]
enum Change {
    /// The stretch from one place to before another is driven the other way round.
    Turned(usize, usize),
    /// So many parts from a place are taken out and put back before a place of the rest, turned
    /// round or not.
    Moved(usize, usize, usize, bool),
}

impl Change {
    fn of(self, order: &[Node]) -> Vec<Node> {
        let turned =
            |stretch: &[Node]| -> Vec<Node> { stretch.iter().rev().map(|node| node ^ 1).collect() };
        match self {
            Self::Turned(from, to) => {
                [&order[..from], &turned(&order[from..to]), &order[to..]].concat()
            }
            Self::Moved(from, count, to, is_turned) => {
                let mut rest = order.to_vec();
                let moved: Vec<Node> = rest.drain(from..from + count).collect();
                let moved = if is_turned { turned(&moved) } else { moved };
                rest.splice(to..to, moved);
                rest
            }
        }
    }
}

/// All changes of an order of so many parts.
fn changes(parts: usize) -> impl Iterator<Item = Change> {
    let turned =
        (0..parts).flat_map(move |from| (from + 1..=parts).map(move |to| Change::Turned(from, to)));
    let moved = (1..=MOST_MOVED.min(parts)).flat_map(move |count| {
        (0..=parts - count).flat_map(move |from| {
            let places = (0..=parts - count).filter(move |&to| to != from);
            places.flat_map(move |to| {
                [false, true].map(|is_turned| Change::Moved(from, count, to, is_turned))
            })
        })
    });
    turned.chain(moved)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::route::order::Place as At;

    #[test]
    fn every_change_takes_each_part_once() {
        let order: Vec<Node> = vec![0, 3, 4, 7, 8];
        let mut all = 0;
        for change in changes(order.len()) {
            let mut parts: Vec<usize> = change.of(&order).iter().map(|node| node / 2).collect();
            parts.sort_unstable();
            assert_eq!(parts, [0, 1, 2, 3, 4], "{change:?}");
            all += 1;
        }
        // 15 stretches; 5, 4 and 3 places of stretches of 1, 2 and 3, each to one less, both ways.
        assert_eq!(all, 15 + 2 * (5 * 4 + 4 * 3 + 3 * 2));
        assert_eq!(Change::Turned(1, 3).of(&order), [0, 5, 2, 7, 8]);
        assert_eq!(Change::Moved(0, 2, 1, true).of(&order), [4, 2, 1, 7, 8]);
    }

    /// Four parts beside each other, of which each takes half a hopper, and a stockpile
    /// at one end of the lines: only there a refill is cheap.
    fn laden() -> (Laden, Costs) {
        let mut costs = Costs::new(vec![
            At {
                offset_m: 0.0,
                position_m: 0.0
            };
            4
        ]);
        for from in 0..8_usize {
            for to in (0..8_usize).filter(|to| to / 2 != from / 2) {
                // A part driven along is left at the far end; the next is begun there driven back.
                let is_near = from % 2 != to % 2;
                let lines = i64::try_from((from / 2).abs_diff(to / 2)).unwrap();
                costs.set(from, to, if is_near { 10 * lines } else { 1_000 });
            }
        }
        let nodes = (0..8).map(|node| {
            let is_back = node % 2 == 1;
            Some(LadenNode {
                all_kg: 200.0,
                stops: vec![(100.0, 900)],
                to_pile: vec![if is_back { 20 } else { 600 }],
                back: vec![if is_back { 600 } else { 20 }],
            })
        });
        let laden = Laden {
            nodes: nodes.collect(),
            hopper_kg: 400.0,
            steps: 100_000,
        };
        (laden, costs)
    }

    #[test]
    fn loads_end_at_the_side_of_the_stockpile() {
        let (laden, costs) = laden();
        // Along first, the first load ends by the pile: turns of 10, 10 and 10, of which the haul
        // of 40 spares one. Nothing costs less.
        let good = [0, 3, 4, 7];
        assert_eq!(laden.cost(&good, &costs), 60);
        // Back first the second part ends far from it, so it is gone to after the first part and
        // after the third.
        let bad = [1, 2, 5, 6];
        assert_eq!(laden.cost(&bad, &costs), 90);
        // It is cheaper to take the first part last: 10, 10 and 30, of which the haul spares 10.
        let improved = laden.improved(&bad, &costs);
        assert_eq!(laden.cost(&improved, &costs), 80);
    }

    #[test]
    fn no_single_change_betters_what_was_improved() {
        let (laden, costs) = laden();
        let improved = laden.improved(&[6, 1, 3, 4], &costs);
        let cost = laden.cost(&improved, &costs);
        for change in changes(4) {
            assert!(laden.cost(&change.of(&improved), &costs) >= cost);
        }
    }
}
