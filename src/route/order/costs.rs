//! What it costs to drive from one part to the next: the directed table of links.
//!
//! A part (a line's piece that is worked in one go) can be driven either way, so it is a
//! pair of nodes, `2 * part` along the direction and `2 * part + 1` against it, of which a
//! route takes exactly one. Costs are whole tenths of a millimetre, rounded down, so that
//! sums are exact and no rounding can make a bound false.

use super::odd::FarEnds;

/// A part driven one way: `2 * part + direction`, direction 0 along and 1 against the heading.
pub type Node = usize;

/// The cost of a link that cannot be driven. A thousand of them can still be summed.
pub const FORBIDDEN: i64 = 1 << 40;

/// The dearest link that is kept, tenths of a millimetre (about 107 km); what costs more
/// counts as [`FORBIDDEN`].
pub const DEAREST: i64 = (1 << 30) - 1;

/// How a forbidden link is kept in the table.
const FORBIDDEN_ENTRY: i32 = i32::MAX;

/// Where a part lies in the direction's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Offset of its line to the left of the heading, metres.
    pub offset_m: f64,
    /// Position of its middle along the heading, metres.
    pub position_m: f64,
}

/// The directed table over the two nodes of each part, with the links to the first part of a
/// route and from the last (0 where start and end are free).
///
/// Four bytes an entry: 1,000 parts take 16 MB.
#[derive(Debug, Clone, PartialEq)]
pub struct Costs {
    places: Vec<Place>,
    odd_cuts: Vec<FarEnds>,
    link: Vec<i32>,
    start: Vec<i32>,
    end: Vec<i32>,
}

impl Costs {
    /// A table for parts at these places, in the order of their numbers: every link is
    /// forbidden, start and end are free.
    #[must_use]
    pub fn new(places: Vec<Place>) -> Self {
        let nodes = 2 * places.len();
        Self {
            link: vec![FORBIDDEN_ENTRY; nodes * nodes],
            start: vec![0; nodes],
            end: vec![0; nodes],
            odd_cuts: Vec::new(),
            places,
        }
    }

    /// The table whose links are computed by a rule, with free start and end.
    ///
    /// The rule is asked for every pair of nodes of different parts.
    #[must_use]
    pub fn by_rule(places: Vec<Place>, mut rule: impl FnMut(Node, Node) -> i64) -> Self {
        let mut costs = Self::new(places);
        let nodes = costs.nodes();
        for from in 0..nodes {
            for to in 0..nodes {
                if from / 2 != to / 2 {
                    costs.set(from, to, rule(from, to));
                }
            }
        }
        costs
    }

    /// How many parts there are.
    #[must_use]
    pub const fn parts(&self) -> usize {
        self.places.len()
    }

    /// How many nodes there are: twice the parts.
    #[must_use]
    pub const fn nodes(&self) -> usize {
        2 * self.places.len()
    }

    /// Where the parts lie, by number.
    #[must_use]
    pub fn places(&self) -> &[Place] {
        &self.places
    }

    /// Cuts across the ground with an odd number of ends beyond: some link must lead over each.
    /// Any choice leaves a bound valid; good ones make it greater, sooner. Those that do not speak
    /// of every part are passed over.
    pub fn set_odd_cuts(&mut self, odd_cuts: Vec<FarEnds>) {
        self.odd_cuts = odd_cuts;
        let parts = self.parts();
        self.odd_cuts.retain(|far| far.len() == parts);
    }

    /// The cuts across the ground with an odd number of ends beyond.
    #[must_use]
    pub fn odd_cuts(&self) -> &[FarEnds] {
        &self.odd_cuts
    }

    /// The cost of driving from the end of one node to the start of another;
    /// [`FORBIDDEN`] where there is no way, between the two nodes of a part, and for nodes
    /// that do not exist.
    #[must_use]
    pub fn cost(&self, from: Node, to: Node) -> i64 {
        let nodes = self.nodes();
        if from >= nodes || to >= nodes {
            return FORBIDDEN;
        }
        cost_of(self.link[from * nodes + to])
    }

    /// Sets a link. Below 0 counts as 0, beyond [`DEAREST`] as [`FORBIDDEN`]; links within a
    /// part stay forbidden, and nodes that do not exist are passed over.
    pub fn set(&mut self, from: Node, to: Node, cost: i64) {
        let nodes = self.nodes();
        if from < nodes && to < nodes && from / 2 != to / 2 {
            self.link[from * nodes + to] = entry_of(cost);
        }
    }

    /// The cost of the way in, to a route that begins with this node.
    #[must_use]
    pub fn start(&self, node: Node) -> i64 {
        self.start.get(node).map_or(FORBIDDEN, |&e| cost_of(e))
    }

    /// The cost of the way out, from a route that ends with this node.
    #[must_use]
    pub fn end(&self, node: Node) -> i64 {
        self.end.get(node).map_or(FORBIDDEN, |&e| cost_of(e))
    }

    /// Sets the way in to a node, by the same rules as [`Costs::set`].
    pub fn set_start(&mut self, node: Node, cost: i64) {
        if let Some(entry) = self.start.get_mut(node) {
            *entry = entry_of(cost);
        }
    }

    /// Sets the way out from a node, by the same rules as [`Costs::set`].
    pub fn set_end(&mut self, node: Node, cost: i64) {
        if let Some(entry) = self.end.get_mut(node) {
            *entry = entry_of(cost);
        }
    }

    /// The cost of a whole route, ways in and out included: [`FORBIDDEN`] or more where one
    /// of its links cannot be driven; 0 for no part at all.
    #[must_use]
    pub fn order_cost(&self, order: &[Node]) -> i64 {
        let (Some(&first), Some(&last)) = (order.first(), order.last()) else {
            return 0;
        };
        let links = order.windows(2).map(|pair| self.cost(pair[0], pair[1]));
        self.start(first) + links.sum::<i64>() + self.end(last)
    }

    /// By how much an order can have become cheaper at most in a later table of the same parts.
    ///
    /// Each part is left once, by one link or by the way out, and begun with once at most.
    #[must_use]
    pub fn most_fallen(&self, later: &Self) -> i64 {
        let fallen = |before: i64, after: i64| (before - after).max(0);
        let leaving = |from: Node| {
            let links =
                (0..self.nodes()).map(|to| fallen(self.cost(from, to), later.cost(from, to)));
            links.fold(fallen(self.end(from), later.end(from)), i64::max)
        };
        let parts = (0..self.parts()).map(|part| leaving(2 * part).max(leaving(2 * part + 1)));
        let starts = (0..self.nodes()).map(|node| fallen(self.start(node), later.start(node)));
        parts.sum::<i64>() + starts.max().unwrap_or(0)
    }

    /// Whether an order takes each part exactly once.
    #[must_use]
    pub fn is_complete(&self, order: &[Node]) -> bool {
        let mut seen = vec![false; self.parts()];
        order.len() == self.parts()
            && order
                .iter()
                .all(|&node| node < self.nodes() && !std::mem::replace(&mut seen[node / 2], true))
    }
}

fn cost_of(entry: i32) -> i64 {
    if entry == FORBIDDEN_ENTRY {
        FORBIDDEN
    } else {
        i64::from(entry)
    }
}

fn entry_of(cost: i64) -> i32 {
    if cost > DEAREST {
        FORBIDDEN_ENTRY
    } else {
        i32::try_from(cost.max(0)).unwrap_or(FORBIDDEN_ENTRY)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const PARTS: usize = 4;

    fn table(costs: &[i64]) -> Costs {
        let place = Place {
            offset_m: 0.0,
            position_m: 0.0,
        };
        let mut costs = costs.iter().copied();
        let mut next = || costs.next().unwrap_or(0);
        let mut table = Costs::by_rule(vec![place; PARTS], |_, _| next());
        for node in 0..table.nodes() {
            table.set_start(node, next());
            table.set_end(node, next());
        }
        table
    }

    /// Every order of the parts, each driven both ways.
    fn orders() -> Vec<Vec<Node>> {
        let mut orders: Vec<Vec<Node>> = vec![Vec::new()];
        for _ in 0..PARTS {
            let longer = orders.into_iter().flat_map(|order: Vec<Node>| {
                let free = (0..2 * PARTS).filter(|node| order.iter().all(|n| n / 2 != node / 2));
                let free: Vec<Node> = free.collect();
                let longer = free
                    .into_iter()
                    .map(move |node| [&order[..], &[node]].concat());
                longer.collect::<Vec<_>>()
            });
            orders = longer.collect();
        }
        orders
    }

    proptest! {
        #[test]
        fn no_order_falls_by_more_than_it_is_told_to(
            before in prop::collection::vec(0_i64..1000, 64),
            after in prop::collection::vec(0_i64..1000, 64),
        ) {
            let (before, after) = (table(&before), table(&after));
            let most = before.most_fallen(&after);
            for order in orders() {
                prop_assert!(before.order_cost(&order) - after.order_cost(&order) <= most);
            }
            prop_assert_eq!(before.most_fallen(&before), 0);
        }
    }

    #[test]
    fn links_out_of_one_part_fall_once() {
        let before = table(&[100; 64]);
        let mut after = before.clone();
        for (from, to, cost) in [(0, 2, 70), (1, 4, 90), (4, 6, 95), (5, 0, 120)] {
            after.set(from, to, cost);
        }
        assert_eq!(before.most_fallen(&after), 30 + 5);
        after.set_start(3, 60);
        assert_eq!(before.most_fallen(&after), 30 + 5 + 40);
    }
}
