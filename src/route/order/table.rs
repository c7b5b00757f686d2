//! The table as the search sees it: parts in the order of the sweep, the depot a node of its
//! own.
//!
//! Parts are sorted by offset, then by position along, so that links between near lines lie
//! near each other. The depot is the last node: a route leaves it once and comes back once,
//! at the cost of the ways in and out, so that an open route becomes a tour.

use super::costs::{Costs, FORBIDDEN, Node};
use super::odd::OddSet;

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
    /// The ends beyond cuts across the ground, without the depot's and with them.
    odd_cuts: Vec<OddSet>,
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
            odd_cuts: Vec::new(),
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
        for far in costs.odd_cuts() {
            let of_parts = table.part_at.iter().flat_map(|&part| far[part]);
            let of_parts: Vec<bool> = of_parts.collect();
            for depot_is_far in [false, true] {
                let is_far = [&of_parts[..], &[depot_is_far; 2]].concat();
                table.odd_cuts.extend(OddSet::of(&is_far));
            }
        }
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

    /// How many ends there are, the depot's two included ([`super::odd`]).
    pub(super) const fn ends(&self) -> usize {
        self.stride + 1
    }

    /// The ends beyond cuts across the ground: some link of every tour leaves each of these sets.
    pub(super) fn odd_cuts(&self) -> &[OddSet] {
        &self.odd_cuts
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
