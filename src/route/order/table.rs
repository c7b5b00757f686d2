//! The table as the search sees it: parts in the order of the sweep, the depot a node of its
//! own.
//!
//! Parts are sorted by offset, then by position along, so that links between near lines lie
//! near each other. The depot is the last node: a route leaves it once and comes back once,
//! at the cost of the ways in and out, so that an open route becomes a tour.

use super::costs::{Costs, FORBIDDEN, Node};
use super::cut::crossing;

/// A forbidden link.
pub(super) const NO_LINK: i32 = i32::MAX;

/// Costs between nodes in the order of the sweep, and the depot as the last one.
#[derive(Debug)]
pub(super) struct Table {
    parts: usize,
    stride: usize,
    link: Vec<i32>,
    /// The part's number at each place of the sweep.
    part_at: Vec<usize>,
    /// Whether a node begins and ends beyond the cut; the depot at both.
    is_far: Vec<[bool; 2]>,
    must_cross: bool,
}

impl Table {
    pub(super) fn of(costs: &Costs) -> Self {
        let parts = costs.parts();
        let places = costs.places();
        let mut part_at: Vec<usize> = (0..parts).collect();
        part_at.sort_by(|&a, &b| {
            let by_offset = places[a].offset_m.total_cmp(&places[b].offset_m);
            let by_position = places[a].position_m.total_cmp(&places[b].position_m);
            by_offset.then(by_position).then(a.cmp(&b))
        });
        let stride = 2 * parts + 1;
        let mut table = Self {
            parts,
            stride,
            link: vec![NO_LINK; stride * stride],
            part_at,
            is_far: Vec::with_capacity(stride),
            must_cross: crossing(costs.far_ends()) % 2 == 1,
        };
        let depot = table.depot();
        for from in 0..depot {
            let outer = table.outer(from);
            for to in 0..depot {
                table.link[from * stride + to] = entry(costs.cost(outer, table.outer(to)));
            }
            table.link[from * stride + depot] = entry(costs.end(outer));
            table.link[depot * stride + from] = entry(costs.start(outer));
        }
        for node in 0..depot {
            let [first, last] = costs.far_ends()[table.part_at[node / 2]];
            let ends = if node % 2 == 0 {
                [first, last]
            } else {
                [last, first]
            };
            table.is_far.push(ends);
        }
        // The depot is at the side that its ways in and out are shorter to.
        let ways = |is_far: bool| -> i64 {
            let ends = table.is_far.iter().enumerate();
            let sums = ends.map(|(node, ends)| {
                let way = |is_here: bool, entry: i32| if is_here { i64::from(entry) } else { 0 };
                way(ends[0] == is_far, table.entry(depot, node))
                    + way(ends[1] == is_far, table.entry(node, depot))
            });
            sums.sum()
        };
        let depot_is_far = ways(true) < ways(false);
        table.is_far.push([depot_is_far; 2]);
        table
    }

    /// How many parts there are.
    pub(super) const fn parts(&self) -> usize {
        self.parts
    }

    /// How many nodes there are, the depot included.
    pub(super) const fn stride(&self) -> usize {
        self.stride
    }

    /// The depot's node; `depot / 2` is its place after all parts.
    pub(super) const fn depot(&self) -> usize {
        self.stride - 1
    }

    /// The entry of a link, or [`NO_LINK`].
    pub(super) fn entry(&self, from: usize, to: usize) -> i32 {
        self.link[from * self.stride + to]
    }

    /// The entries of all links out of a node.
    pub(super) fn entries_from(&self, from: usize) -> &[i32] {
        &self.link[from * self.stride..(from + 1) * self.stride]
    }

    /// Whether a link leads over the cut ([`super::cut`]).
    pub(super) fn crosses(&self, from: usize, to: usize) -> bool {
        self.is_far[from][1] != self.is_far[to][0]
    }

    /// Whether some link of every tour leads over the cut.
    pub(super) const fn must_cross(&self) -> bool {
        self.must_cross
    }

    /// The cost of a link, [`FORBIDDEN`] where there is none.
    pub(super) fn cost(&self, from: usize, to: usize) -> i64 {
        match self.entry(from, to) {
            NO_LINK => FORBIDDEN,
            entry => i64::from(entry),
        }
    }

    /// The cost of a whole tour from the depot over these nodes and back.
    pub(super) fn tour_cost(&self, tour: &[usize]) -> i64 {
        let mut at = self.depot();
        let mut sum = 0;
        for &node in tour.iter().chain([&self.depot()]) {
            sum += self.cost(at, node);
            at = node;
        }
        sum
    }

    /// The node outside that a node of the sweep stands for.
    pub(super) fn outer(&self, node: usize) -> Node {
        2 * self.part_at[node / 2] + node % 2
    }

    /// The order outside that a tour of the sweep stands for.
    pub(super) fn outer_order(&self, tour: &[usize]) -> Vec<Node> {
        tour.iter().map(|&node| self.outer(node)).collect()
    }

    /// The tour of the sweep that an order outside stands for.
    pub(super) fn inner_tour(&self, order: &[Node]) -> Vec<usize> {
        let mut place_of = vec![0; self.parts];
        for (place, &part) in self.part_at.iter().enumerate() {
            place_of[part] = place;
        }
        let inner = |&node: &Node| 2 * place_of[node / 2] + node % 2;
        order.iter().map(inner).collect()
    }
}

fn entry(cost: i64) -> i32 {
    if cost >= FORBIDDEN {
        NO_LINK
    } else {
        i32::try_from(cost).unwrap_or(NO_LINK)
    }
}
