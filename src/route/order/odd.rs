//! Odd sets of ends, and why some link must leave each.
//!
//! Each part has two ends, and so has the depot: where the route begins and where it is over. A
//! tour's links join these ends two by two, each end once. So of an odd number of ends at least
//! one is joined with another outside, whatever ends they are (Edmonds 1965, from memory).
//!
//! Two kinds of sets are taken. All ends beyond a cut square to the passes ([`odd_cuts`]): where
//! lines lie in pieces each piece may want a drive of its length more, and each such cut tells
//! of one. And whatever sets a solution of the programme violates most ([`violated`]): they are
//! found from its cut tree, whose odd cuts hold the least odd cut of all (Padberg and Rao 1982;
//! the tree by Gusfield 1990; both from memory).

use std::collections::BTreeMap;
use std::ops::{AddAssign, SubAssign};

/// Which ends are far: of each part the end it begins at, driven along the heading, and the
/// other.
pub type FarEnds = Vec<[bool; 2]>;

/// The cuts square to the passes beyond which an odd number of ends lies, each other ends.
/// `ends_m` are the positions of the two ends of each part along the heading, metres.
#[must_use]
pub fn odd_cuts(ends_m: &[[f64; 2]]) -> Vec<FarEnds> {
    let mut at_m: Vec<f64> = ends_m.iter().flatten().copied().collect();
    at_m.sort_by(f64::total_cmp);
    at_m.dedup();
    let between = at_m.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]));
    let far_ends = |cut_m: f64| -> FarEnds {
        let is_far = |ends_m: &[f64; 2]| ends_m.map(|end_m| end_m > cut_m);
        ends_m.iter().map(is_far).collect()
    };
    let is_odd = |far: &FarEnds| far.iter().flatten().filter(|far| **far).count() % 2 == 1;
    between.map(far_ends).filter(is_odd).collect()
}

/// The end at which a node begins; the depot's is where the route is over.
pub(super) const fn begun(node: usize) -> usize {
    node
}

/// The end at which a node is done with; the depot's is where the route begins.
pub(super) const fn left(node: usize) -> usize {
    node ^ 1
}

/// A set of ends, odd in number, of which a link leads to another end. It and the rest of all ends
/// say the same, so the smaller of both is kept.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct OddSet {
    /// Sorted.
    ends: Vec<usize>,
}

impl OddSet {
    /// The set of the ends that are marked; `None` where they are even in number, and where the
    /// set or the rest is a single end, which is joined with another in any case.
    pub(super) fn of(is_in: &[bool]) -> Option<Self> {
        let count = is_in.iter().filter(|is_in| **is_in).count();
        let rest = is_in.len() - count;
        let takes = count <= rest;
        let ends = (0..is_in.len()).filter(|&end| is_in[end] == takes);
        (count % 2 == 1 && rest % 2 == 1 && count.min(rest) > 1).then(|| Self {
            ends: ends.collect(),
        })
    }

    /// Of so many ends, which are in the set.
    pub(super) fn marked(&self, ends: usize) -> Vec<bool> {
        let mut is_in = vec![false; ends];
        self.ends.iter().for_each(|&end| is_in[end] = true);
        is_in
    }

    /// How much of some flows leads out of the set or into it; of so many ends.
    pub(super) fn flow_out(&self, flows: &[((usize, usize), f64)], ends: usize) -> f64 {
        let is_in = self.marked(ends);
        let leaving = flows
            .iter()
            .filter(|((from, to), _)| is_in[left(*from)] != is_in[begun(*to)]);
        leaving.map(|(_, flow)| flow).sum()
    }

    /// The last part that an end of the set belongs to.
    pub(super) fn last_part(&self) -> usize {
        self.ends.last().map_or(0, |end| end / 2)
    }
}

/// Which sets each end is in.
#[derive(Debug)]
pub(super) struct Members(Vec<Vec<usize>>);

impl Members {
    /// Of these sets, for so many ends.
    pub(super) fn of<'s>(sets: impl IntoIterator<Item = &'s OddSet>, ends: usize) -> Self {
        let mut sets_of = vec![Vec::new(); ends];
        for (index, set) in sets.into_iter().enumerate() {
            for &end in &set.ends {
                sets_of[end].push(index);
            }
        }
        Self(sets_of)
    }

    /// The sets that a link leads out of or into.
    pub(super) fn left_by(&self, (from, to): (usize, usize)) -> impl Iterator<Item = usize> {
        let (one, other) = (&self.0[left(from)], &self.0[begun(to)]);
        only(one, other).chain(only(other, one))
    }
}

/// What is in the one list and not in the other, both sorted.
fn only(one: &[usize], other: &[usize]) -> impl Iterator<Item = usize> {
    let is_only = |value: &usize| other.binary_search(value).is_err();
    one.iter().copied().filter(is_only)
}

/// What the multipliers of sets take off the links that leave these.
pub(super) struct Prices<'s, T> {
    sets: Vec<(&'s OddSet, T)>,
    members: Members,
    /// The sum over the sets that an end is in.
    sum: Vec<T>,
}

impl<'s, T: Copy + Default + AddAssign + SubAssign> Prices<'s, T> {
    /// For so many ends.
    pub(super) fn of(sets: Vec<(&'s OddSet, T)>, ends: usize) -> Self {
        let mut sum = vec![T::default(); ends];
        for (set, price) in &sets {
            for &end in &set.ends {
                sum[end] += *price;
            }
        }
        let members = Members::of(sets.iter().map(|(set, _)| *set), ends);
        Self { sets, members, sum }
    }

    /// Tells for each node what is taken off the link that leads there from one.
    pub(super) fn take_from(&self, from: usize, taken: &mut [T]) {
        let own = self.sum[left(from)];
        for (to, taken) in taken.iter_mut().enumerate() {
            *taken = own;
            *taken += self.sum[begun(to)];
        }
        // A link within a set leaves it at neither end.
        for &set in &self.members.0[left(from)] {
            let (set, price) = self.sets[set];
            for &end in &set.ends {
                if let Some(taken) = taken.get_mut(end) {
                    *taken -= price;
                    *taken -= price;
                }
            }
        }
    }
}

/// Flows are counted in parts of one: whole numbers, so that cuts are found exactly.
const UNIT: i64 = 1_000_000;
/// Flows below this are passed over when sets are sought.
const LEAST_FLOW: f64 = 1e-4;
/// A set is violated where less than this flows out of it.
const ENOUGH: i64 = UNIT - UNIT / 50;

/// Odd sets that the flows of links leave too seldom: the odd cuts of the flows' cut tree.
pub(super) fn violated(flows: &[((usize, usize), f64)], ends: usize) -> Vec<OddSet> {
    let mut joined: BTreeMap<(usize, usize), i64> = BTreeMap::new();
    for &((from, to), flow) in flows.iter().filter(|flow| flow.1 > LEAST_FLOW) {
        let (a, b) = (left(from), begun(to));
        *joined.entry((a.min(b), a.max(b))).or_default() += (flow * UNIT as f64).round() as i64;
    }
    let mut net = Net::of(&joined, ends);
    // The parent of each end in the tree, and what flows between them.
    let mut parent = vec![0; ends];
    let mut between = vec![0; ends];
    for end in 1..ends {
        let up = parent[end];
        between[end] = net.cut(end, up);
        for (other, above) in parent.iter_mut().enumerate() {
            if other != end && other != up && net.is_near[other] && *above == up {
                *above = end;
            }
        }
        if net.is_near[parent[up]] {
            parent[end] = parent[up];
            parent[up] = end;
            between.swap(end, up);
        }
    }
    let below = |top: usize| -> Vec<bool> {
        let mut is_below = vec![None; ends];
        (is_below[top], is_below[0]) = (Some(true), Some(top == 0));
        for end in 0..ends {
            let mut path = Vec::new();
            let mut at = end;
            while is_below[at].is_none() {
                path.push(at);
                at = parent[at];
            }
            for passed in path {
                is_below[passed] = is_below[at];
            }
        }
        is_below.into_iter().map(|is| is == Some(true)).collect()
    };
    let low = (1..ends).filter(|&end| between[end] < ENOUGH);
    low.filter_map(|end| OddSet::of(&below(end))).collect()
}

/// Ends with what may flow between them, for greatest flows.
struct Net {
    /// The arcs from all ends, end after end.
    arcs: Vec<usize>,
    /// Where those of each end begin; one more than ends.
    first: Vec<usize>,
    /// By arc: the end that it leads to. The arc back stands beside it.
    to: Vec<usize>,
    /// What may flow along each arc.
    most: Vec<i64>,
    room: Vec<i64>,
    /// The side of the last cut that its first end is on.
    is_near: Vec<bool>,
    /// The arc by which each end was reached, and the ends in that order.
    by: Vec<usize>,
    queue: Vec<usize>,
}

impl Net {
    fn of(joined: &BTreeMap<(usize, usize), i64>, ends: usize) -> Self {
        let mut arcs = vec![Vec::new(); ends];
        let (mut to, mut most) = (Vec::new(), Vec::new());
        for (&(a, b), &flow) in joined {
            for (from, other) in [(a, b), (b, a)] {
                arcs[from].push(to.len());
                to.push(other);
                most.push(flow);
            }
        }
        let mut first = vec![0];
        first.extend(arcs.iter().scan(0, |count, arcs| {
            *count += arcs.len();
            Some(*count)
        }));
        Self {
            arcs: arcs.concat(),
            first,
            to,
            room: most.clone(),
            most,
            is_near: vec![false; ends],
            by: vec![0; ends],
            queue: Vec::with_capacity(ends),
        }
    }

    /// The greatest flow between two ends; afterwards `is_near` is a least cut between them.
    fn cut(&mut self, from: usize, to: usize) -> i64 {
        self.room.clone_from(&self.most);
        let mut flow = 0;
        while self.reaches(from, to) {
            let mut least = i64::MAX;
            let mut at = to;
            while at != from {
                least = least.min(self.room[self.by[at]]);
                at = self.to[self.by[at] ^ 1];
            }
            at = to;
            while at != from {
                self.room[self.by[at]] -= least;
                self.room[self.by[at] ^ 1] += least;
                at = self.to[self.by[at] ^ 1];
            }
            flow += least;
        }
        flow
    }

    /// Whether a path with room leads from one end to another: a shortest one stands in `by`. Without
    /// one, `is_near` is all that can be reached.
    fn reaches(&mut self, from: usize, to: usize) -> bool {
        self.is_near.fill(false);
        self.is_near[from] = true;
        self.queue.clear();
        self.queue.push(from);
        let mut next = 0;
        while let Some(&at) = self.queue.get(next) {
            next += 1;
            for &arc in &self.arcs[self.first[at]..self.first[at + 1]] {
                let end = self.to[arc];
                if self.room[arc] > 0 && !self.is_near[end] {
                    self.is_near[end] = true;
                    self.by[end] = arc;
                    self.queue.push(end);
                }
            }
            if self.is_near[to] {
                return true;
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn each_cut_with_an_odd_number_of_ends_beyond_is_taken() {
        // Two long parts; one in two pieces with a gap about the middle.
        let ends_m = [[-50.0, 50.0], [-50.0, 50.0], [-50.0, -5.0], [5.0, 50.0]];
        let cuts = odd_cuts(&ends_m);
        let beyond = |far: &FarEnds| far.iter().flatten().filter(|far| **far).count();
        // Three parts lead over the cut through either piece, two over that through the gap.
        assert_eq!(cuts.iter().map(beyond).collect::<Vec<_>>(), [5, 3]);
    }

    #[test]
    fn an_even_number_of_like_parts_has_no_odd_cut() {
        assert!(odd_cuts(&[[-50.0, 50.0], [-50.0, 50.0]]).is_empty());
        assert!(odd_cuts(&[]).is_empty());
    }

    #[test]
    fn three_ends_joined_in_a_ring_by_halves_are_a_violated_set() {
        // Links by the ends they join: two triangles of halves, which flow out of neither.
        let join = |a: usize, b: usize| ((left(a), b), 0.5);
        let ring = [(0, 2), (2, 4), (4, 0), (1, 3), (3, 5), (5, 1)];
        let flows: Vec<_> = ring.iter().map(|&(a, b)| join(a, b)).collect();
        let found = violated(&flows, 6);
        assert!(!found.is_empty());
        for set in &found {
            assert!(set.ends == [0, 2, 4] || set.ends == [1, 3, 5], "{set:?}");
            assert!(set.flow_out(&flows, 6).abs() < 1e-12);
        }
    }

    #[test]
    fn what_is_taken_off_a_link_is_the_sum_over_the_sets_it_leaves() {
        let set = |ends: &[usize]| {
            let is_in: Vec<bool> = (0..10).map(|end| ends.contains(&end)).collect();
            OddSet::of(&is_in).unwrap()
        };
        let sets = [set(&[0, 2, 4]), set(&[4, 5, 8]), set(&[0, 1, 2, 3, 4])];
        let prices = [7_i64, 100, 3_000];
        let priced = Prices::of(sets.iter().zip(prices).collect(), 10);
        let mut taken = vec![0; 9];
        for from in 0..9 {
            priced.take_from(from, &mut taken);
            let left_end = super::left(from);
            for (to, &taken) in taken.iter().enumerate() {
                let left = sets.iter().zip(prices);
                let left = left.filter(|(set, _)| {
                    set.ends.contains(&left_end) != set.ends.contains(&begun(to))
                });
                assert_eq!(taken, left.map(|(_, price)| price).sum::<i64>());
            }
        }
    }
}
