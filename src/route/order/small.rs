//! The best order of a few parts, exactly: dynamic programming over subsets.
//!
//! For each set of parts and each node that the set may end with, the least cost of a route
//! from the start (Held and Karp 1962, with two nodes a part). Twelve parts have 4,096 sets
//! and 24 ends: a few milliseconds.

use super::costs::{Costs, FORBIDDEN, Node};

/// The most parts that are ordered exactly.
pub const MOST_PARTS: usize = 12;

/// What was found for a few parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SmallOrder {
    /// The best order, and its cost in tenths of a millimetre.
    Best(Vec<Node>, i64),
    /// No order uses drivable links only.
    None,
    /// More than [`MOST_PARTS`] parts: not tried.
    TooMany,
}

/// The best order of at most [`MOST_PARTS`] parts, over all orders and directions.
///
/// Of equal ones the first in the order of nodes, so the same table gives the same order.
#[must_use]
pub fn exact_small(costs: &Costs) -> SmallOrder {
    let parts = costs.parts();
    if parts > MOST_PARTS {
        return SmallOrder::TooMany;
    }
    if parts == 0 {
        return SmallOrder::Best(Vec::new(), 0);
    }
    let nodes = costs.nodes();
    let sets = 1_usize << parts;
    let mut least = vec![FORBIDDEN; sets * nodes];
    let mut before: Vec<u8> = vec![0; sets * nodes];
    for node in 0..nodes {
        least[(1 << (node / 2)) * nodes + node] = costs.start(node);
    }
    for set in 1..sets {
        for last in 0..nodes {
            let so_far = least[set * nodes + last];
            if so_far >= FORBIDDEN {
                continue;
            }
            for next in (0..nodes).filter(|next| set & (1 << (next / 2)) == 0) {
                let cost = so_far + costs.cost(last, next);
                let at = (set | (1 << (next / 2))) * nodes + next;
                if cost < least[at] {
                    least[at] = cost;
                    before[at] = last as u8;
                }
            }
        }
    }
    let all = sets - 1;
    let whole = |node: Node| least[all * nodes + node] + costs.end(node);
    let Some(last) = (0..nodes).min_by_key(|&node| whole(node)) else {
        return SmallOrder::None;
    };
    let cost = whole(last);
    if cost >= FORBIDDEN {
        return SmallOrder::None;
    }
    let (mut set, mut node) = (all, last);
    let mut order = vec![node];
    while order.len() < parts {
        let previous = usize::from(before[set * nodes + node]);
        set &= !(1 << (node / 2));
        node = previous;
        order.push(node);
    }
    order.reverse();
    SmallOrder::Best(order, cost)
}
