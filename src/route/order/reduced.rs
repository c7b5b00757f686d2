//! Multipliers, and what is left of the costs after them: the bound before any search.
//!
//! For any multiplier l of a node and any multiplier s >= 0 of a node w and another part i,
//!
//! ```text
//! r(v, w) = c(v, w) - l(v) + l(w) - sum over i of s(v, i) + s(v, part of w) + s(w, part of v)
//! ```
//!
//! adds up, over any tour, to at most the tour's cost: each l is taken and given back, and a
//! node that is driven has two different parts (or the depot) before and after it, so that
//! of its s at most the sum over i is given back. From all links out of a part (either node)
//! their least r is then taken, of the rest the least of all links into a part: each part is
//! left once and entered once. The constant K is the sum of all that was taken. So every tour
//! costs at least K plus what its links still cost, which is nowhere below 0. No symmetry is
//! used: tools that trail, walls and unequal radii are all allowed.
//!
//! Some link of every tour leaves each odd set of ends ([`super::odd`]): of such a set a multiplier
//! m >= 0 is taken off each link that does, and K is m more.
//!
//! All of it is in whole numbers, so no rounding can make the bound false.

use super::odd::{OddSet, Prices};
use super::table::{NO_LINK, Table};

/// A reduced cost is kept up to this; beyond it counts as this, which is lower and so valid.
const MOST_KEPT: i64 = (1 << 30) - 1;

/// Multipliers, tenths of a millimetre.
#[derive(Debug, Clone, Default)]
pub(super) struct Multipliers {
    /// Of each node, the depot's left out.
    pub(super) node: Vec<i64>,
    /// Of a node and another part: not below 0. The depot counts as the part after the last.
    pub(super) pair: Vec<(usize, usize, i64)>,
    /// Of odd sets of ends: not below 0.
    pub(super) odd: Vec<(OddSet, i64)>,
}

/// Multipliers are cut at this, tenths of a millimetre: far above any cost.
const GREATEST: i64 = 1 << 40;

/// How many sets of multipliers are kept side by side: without and with cuts.
pub(super) const SETS: usize = 2;

/// One number for each set of multipliers.
pub(super) type PerSet<T> = [T; SETS];

/// Reduced costs and their constants, for each set of multipliers.
#[derive(Debug)]
pub(super) struct Reduced {
    /// What every tour costs at least, tenths of a millimetre.
    pub(super) constant: PerSet<i64>,
    stride: usize,
    left: Vec<PerSet<i32>>,
}

impl Reduced {
    /// The costs reduced by each set of multipliers; `None` where a part cannot be left or
    /// entered at all, so that there is no tour.
    pub(super) fn of(table: &Table, multipliers: &PerSet<Multipliers>) -> Option<Self> {
        let mut reduced = Self::unfilled(table);
        for (set, multipliers) in multipliers.iter().enumerate() {
            reduced.fill(set, table, multipliers)?;
        }
        Some(reduced)
    }

    fn unfilled(table: &Table) -> Self {
        let stride = table.stride();
        Self {
            constant: [0; SETS],
            stride,
            left: vec![[NO_LINK; SETS]; stride * stride],
        }
    }

    /// What every tour costs at least by some multipliers; 0 where there is no tour.
    pub(super) fn bound_of(table: &Table, multipliers: &Multipliers) -> i64 {
        let mut reduced = Self::unfilled(table);
        let has_tours = reduced.fill(0, table, multipliers).is_some();
        if has_tours { reduced.constant[0] } else { 0 }
    }

    fn fill(&mut self, set: usize, table: &Table, multipliers: &Multipliers) -> Option<()> {
        let stride = self.stride;
        let depot = table.depot();
        // Any multipliers give a bound, so those that a table without a good programme blows up
        // may be cut: sums of them stay whole numbers.
        let node = |v: usize| {
            let value = multipliers.node.get(v).copied().unwrap_or(0);
            value.clamp(-GREATEST, GREATEST)
        };
        let mut pairs_of = vec![Vec::new(); stride];
        let mut pair_sum = vec![0; stride];
        for &(w, part, value) in &multipliers.pair {
            let value = value.clamp(0, GREATEST);
            pair_sum[w] += value;
            for other in (2 * part..2 * part + 2).filter(|&other| other < stride) {
                pairs_of[w].push((other, value));
                pairs_of[other].push((w, value));
            }
        }
        let odd = multipliers.odd.iter();
        let odd: Vec<(&OddSet, i64)> = odd
            .map(|(set, value)| (set, (*value).clamp(0, GREATEST)))
            .collect();
        self.constant[set] += odd.iter().map(|(_, value)| value).sum::<i64>();
        let odd = Prices::of(odd, table.ends());
        let mut taken = vec![0; stride];
        let mut least_in = vec![i64::MAX; depot / 2 + 1];
        let mut rows = [vec![i64::MAX; stride], vec![i64::MAX; stride]];
        for part in 0..=depot / 2 {
            let nodes = 2 * part..(2 * part + 2).min(stride);
            for (v, row) in nodes.clone().zip(&mut rows) {
                odd.take_from(v, &mut taken);
                for (w, &cost) in table.entries_from(v).iter().enumerate() {
                    row[w] = if cost == NO_LINK {
                        i64::MAX
                    } else {
                        i64::from(cost) - node(v) + node(w) - pair_sum[v] - taken[w]
                    };
                }
                for &(w, value) in &pairs_of[v] {
                    row[w] = row[w].saturating_add(value);
                }
            }
            let of_part = &rows[..nodes.len()];
            let least = of_part.iter().flatten().copied().min()?;
            if least == i64::MAX {
                return None;
            }
            self.constant[set] += least;
            for (v, row) in nodes.zip(of_part) {
                for (w, &value) in row.iter().enumerate().filter(|(_, v)| **v != i64::MAX) {
                    let left = value - least;
                    least_in[w / 2] = least_in[w / 2].min(left);
                    self.left[v * stride + w][set] = kept(left);
                }
            }
        }
        if least_in.contains(&i64::MAX) {
            return None;
        }
        let least_in: Vec<i32> = least_in.into_iter().map(kept).collect();
        self.constant[set] += least_in.iter().map(|&least| i64::from(least)).sum::<i64>();
        for row in self.left.chunks_mut(stride) {
            for (w, left) in row.iter_mut().enumerate() {
                if left[set] != NO_LINK {
                    left[set] -= least_in[w / 2];
                }
            }
        }
        Some(())
    }

    /// What a link still costs in each set, or [`NO_LINK`].
    pub(super) fn left(&self, from: usize, to: usize) -> PerSet<i32> {
        self.left[from * self.stride + to]
    }

    /// The greater of the constants: what every tour costs at least.
    pub(super) fn bound(&self) -> i64 {
        self.constant.iter().copied().fold(0, i64::max)
    }

    /// What every tour over this link costs at least.
    pub(super) fn bound_with(&self, from: usize, to: usize) -> i64 {
        let left = self.left(from, to);
        let sums = left.iter().zip(&self.constant);
        sums.map(|(&left, constant)| constant + i64::from(left))
            .fold(0, i64::max)
    }
}

fn kept(value: i64) -> i32 {
    i32::try_from(value.min(MOST_KEPT)).unwrap_or(NO_LINK - 1)
}
