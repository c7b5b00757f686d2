//! The order of one direction's parts and what no order can be cheaper than, on a table of
//! links that is worked out as it is needed.
//!
//! 1. One link of each class is worked out; the others are guessed from them.
//! 2. An order is sought on the guesses, its links are worked out, and so on until an order
//!    uses known links only.
//! 3. Then the same on the table in which unknown links stand at their least cost: each round
//!    gives a bound, works out what its order uses and the links that keep the bound low, and
//!    so raises the next.
//!
//! Rounds are counted, never timed.

use super::links::Links;
use super::order::{self, BoundMethod, Costs, Effort, Node, Solved};
use crate::job::model::Order;

/// Rounds of step 2 at most; then the order is taken whose links are known or can be.
const MOST_GUESSES: usize = 16;

/// Rounds of step 2 with more than quick effort.
const MOST_CAREFUL_GUESSES: usize = 1;

/// An order with its cost and bound.
#[derive(Debug)]
pub struct Found {
    /// Nodes in the order driven; every link known.
    pub order: Vec<Node>,
    /// Tenths of a millimetre, ways in and out included.
    pub cost: i64,
    /// What no order costs less than, by the least costs of the links that are not known;
    /// `None` where the effort makes none.
    pub lower_bound: Option<i64>,
    /// How the bound was found.
    pub method: BoundMethod,
}

impl Found {
    /// Takes an order that costs less, all of whose links are known.
    fn take(&mut self, order: Vec<Node>, links: &Links<'_>) {
        if links.unknown_of(&order).is_empty() {
            let cost = links.lowered().order_cost(&order);
            if cost < self.cost {
                (self.order, self.cost) = (order, cost);
            }
        }
    }
}

/// What an effort means here.
struct Rounds {
    /// Rounds of step 3 at most.
    bounds: usize,
    /// Links worked out in a round besides those of its order.
    links: usize,
    /// Near enough: the rounds end.
    gap: f64,
    /// What each order is sought with in step 3.
    effort: Effort,
}

const fn rounds(effort: Effort) -> Rounds {
    match effort {
        Effort::Quick => Rounds {
            bounds: 0,
            links: 0,
            gap: 1.0,
            effort,
        },
        Effort::Normal => Rounds {
            bounds: 6,
            links: 300,
            gap: 0.01,
            effort,
        },
        Effort::Thorough => Rounds {
            bounds: 40,
            links: 200,
            gap: 1e-4,
            effort,
        },
    }
}

/// The order of the parts of these links. `start_least` replaces, for the bound alone, what the
/// ways in cost at least: where they lead from another direction, any of whose parts might have
/// been its last.
#[must_use]
pub fn search(
    links: &mut Links<'_>,
    how: Order,
    effort: Effort,
    warm: Option<&[Node]>,
    start_least: Option<&[i64]>,
) -> Option<Found> {
    links.sample();
    let best = settled(links, how, Effort::Quick, warm)?;
    let means = rounds(effort);
    let mut found = Found {
        order: best.0,
        cost: best.1,
        lower_bound: None,
        method: BoundMethod::Multipliers,
    };
    for round in 0..means.bounds {
        // What to learn is found with little; the last round bounds with all effort.
        let is_last = round + 1 == means.bounds;
        let costs = with_start(links.lowered(), start_least);
        let solved = if is_last {
            order::solve(&costs, means.effort, Some(&found.order))
        } else {
            order::look_over(&costs, Some(&found.order))
        };
        let Ok(solved) = solved else { break };
        if found
            .lower_bound
            .is_none_or(|bound| solved.lower_bound > bound)
        {
            found.lower_bound = Some(solved.lower_bound.min(found.cost));
            found.method = solved.method;
        }
        let is_near = found
            .lower_bound
            .is_some_and(|bound| (found.cost - bound) as f64 <= means.gap * found.cost as f64);
        if is_near {
            break;
        }
        learn(links, &solved, found.cost, means.links);
        if how == Order::Shortest {
            // The bound's own order is known now.
            links.work_out_gates_of(&solved.order);
            found.take(solved.order, links);
        }
    }
    if how == Order::Shortest && means.bounds > 0 {
        // What was learnt may have shown a better order.
        if let Some((order, _)) = settled(links, how, effort, Some(&found.order)) {
            found.take(order, links);
        }
    }
    Some(found)
}

/// Works out the unknown links of a bound's order and those that keep it low.
fn learn(links: &mut Links<'_>, solved: &Solved, cost: i64, most: usize) {
    let mut wanted = links.unknown_of(&solved.order);
    if let Some(bounds) = &solved.links {
        let nodes = 2 * solved.order.len();
        let mut low: Vec<(i64, Node, Node)> = Vec::new();
        for from in 0..nodes {
            for to in 0..nodes {
                if from / 2 != to / 2 && !links.is_known((from, to)) {
                    let at_least = bounds.at_least(from, to);
                    if at_least < cost {
                        low.push((at_least, from, to));
                    }
                }
            }
        }
        low.sort_unstable();
        wanted.extend(low.iter().take(most).map(|&(_, from, to)| (from, to)));
    }
    wanted.sort_unstable();
    wanted.dedup();
    links.work_out(&wanted);
}

/// An order that uses known links only, sought on guesses until it does; with its cost.
fn settled(
    links: &mut Links<'_>,
    how: Order,
    effort: Effort,
    warm: Option<&[Node]>,
) -> Option<(Vec<Node>, i64)> {
    let mut best: Option<(Vec<Node>, i64)> = None;
    let mut warm = warm.map(<[Node]>::to_vec);
    let most = if effort == Effort::Quick {
        MOST_GUESSES
    } else {
        MOST_CAREFUL_GUESSES
    };
    for _ in 0..most {
        let guessed = links.guessed();
        let order = ordered(&guessed, how, effort, warm.as_deref())?;
        let unknown = links.unknown_of(&order);
        let (&first, &last) = (order.first()?, order.last()?);
        links.work_out(&unknown);
        let has_gates = links.work_out_gates(first, last);
        let cost = links.lowered().order_cost(&order);
        if best.as_ref().is_none_or(|best| cost < best.1) {
            best = Some((order.clone(), cost));
        }
        if unknown.is_empty() && !has_gates {
            break;
        }
        warm = best.as_ref().map(|best| best.0.clone());
    }
    best.filter(|(_, cost)| *cost < order::FORBIDDEN)
}

/// An order of the kind asked for.
fn ordered(costs: &Costs, how: Order, effort: Effort, warm: Option<&[Node]>) -> Option<Vec<Node>> {
    let by_habit = match how {
        Order::Shortest => None,
        Order::Neighbour => order::neighbour(costs),
        Order::Lands => order::lands(costs),
    };
    match by_habit {
        Some((order, _)) => Some(order),
        None => Some(order::solve(costs, effort, warm).ok()?.order),
    }
}

fn with_start(mut costs: Costs, start_least: Option<&[i64]>) -> Costs {
    if let Some(least) = start_least {
        for (node, &cost) in least.iter().enumerate() {
            costs.set_start(node, cost);
        }
    }
    costs
}
