//! Making a tour cheaper by small changes, until none helps.
//!
//! Three moves, all for directed costs:
//! - a stretch is turned round, each part then driven the other way (2-opt; a stretch of one
//!   part is a change of its direction);
//! - two stretches that follow each other change places, each as it is or turned round
//!   (Or-opt where one is short, Or-3opt where neither is).
//!
//! Sums along the tour, forwards and turned round, make each try cost a few look-ups. What is
//! left is typically half a per cent above the least. To get out of such a hollow, three
//! stretches are shuffled and the search goes on ([`shaken`]); the places come from a fixed
//! sequence of numbers, so the same table gives the same tour.

use std::ops::RangeInclusive;

use super::table::Table;

/// The most rounds over all moves; a guard, a dozen are usual.
const MOST_ROUNDS: usize = 200;
/// A short stretch is moved by at most so many places.
const FAR: usize = 120;
/// The parts among which stretches are shuffled: few, so that what is improved stays near.
const SHUFFLED: usize = 24;

/// The tour changed for the better until no move helps.
///
/// `reach` is the length, in parts, of the shorter of two stretches that change places: with
/// all parts a round takes time as their cube.
pub(super) fn improved(table: &Table, tour: &[usize], reach: usize) -> Vec<usize> {
    if tour.is_empty() {
        return Vec::new();
    }
    let mut path = Path::of(table, tour);
    path.improve(1..=tour.len(), reach);
    path.tour()
}

/// The best of so many tours, each made from the best so far by a shuffle of three stretches,
/// and improved around them.
pub(super) fn shaken(table: &Table, tour: &[usize], reach: usize, shakes: usize) -> Vec<usize> {
    let parts = tour.len();
    if parts < 8 {
        return tour.to_vec();
    }
    let mut path = Path::of(table, tour);
    let mut numbers = Numbers(0x9e37_79b9_7f4a_7c15);
    for _ in 0..shakes {
        let before = path.at.clone();
        let cost = path.cost();
        let span = SHUFFLED.min(parts);
        let from = 1 + numbers.below(parts - span + 1);
        let mut cuts = [0; 4];
        for cut in &mut cuts {
            *cut = from + numbers.below(span + 1);
        }
        cuts.sort_unstable();
        let [a, b, c, d] = cuts;
        path.at[a..d].rotate_left(b - a);
        path.at[a..a + d - b].rotate_left(c - b);
        path.sum();
        let around = from.saturating_sub(span).max(1)..=(from + 2 * span).min(parts);
        path.improve(around, reach);
        if path.cost() >= cost {
            path.at = before;
            path.sum();
        }
    }
    path.tour()
}

/// A fixed sequence of numbers (xorshift, Marsaglia 2003).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % limit.max(1) as u64) as usize
    }
}

/// A tour with the depot at both ends and running sums.
struct Path<'t> {
    table: &'t Table,
    at: Vec<usize>,
    /// Cost of the links up to each place.
    forwards: Vec<i64>,
    /// The same for the links turned round.
    backwards: Vec<i64>,
}

impl<'t> Path<'t> {
    fn of(table: &'t Table, tour: &[usize]) -> Self {
        let depot = [table.depot()];
        let mut path = Self {
            table,
            at: [&depot, tour, &depot].concat(),
            forwards: Vec::new(),
            backwards: Vec::new(),
        };
        path.sum();
        path
    }

    fn tour(&self) -> Vec<usize> {
        self.at[1..self.at.len() - 1].to_vec()
    }

    /// Makes moves within these places until none helps.
    fn improve(&mut self, places: RangeInclusive<usize>, reach: usize) {
        for _ in 0..MOST_ROUNDS {
            let turned = self.turn_stretches(&places);
            let swapped = self.swap_stretches(&places, reach);
            if !turned && !swapped {
                break;
            }
        }
    }

    fn cost(&self) -> i64 {
        self.forwards.last().copied().unwrap_or(0)
    }

    fn sum(&mut self) {
        self.forwards.clear();
        self.backwards.clear();
        self.forwards.push(0);
        self.backwards.push(0);
        let (mut forwards, mut backwards) = (0, 0);
        for pair in self.at.windows(2) {
            forwards += self.table.cost(pair[0], pair[1]);
            backwards += self.table.cost(self.turned(pair[1]), self.turned(pair[0]));
            self.forwards.push(forwards);
            self.backwards.push(backwards);
        }
    }

    fn turned(&self, node: usize) -> usize {
        if node == self.table.depot() {
            node
        } else {
            node ^ 1
        }
    }

    /// A stretch from place i to j, as it is or turned round: its first node, last node, and
    /// the cost within.
    fn stretch(&self, i: usize, j: usize, is_turned: bool) -> (usize, usize, i64) {
        if is_turned {
            let within = self.backwards[j] - self.backwards[i];
            (self.at[j] ^ 1, self.at[i] ^ 1, within)
        } else {
            (self.at[i], self.at[j], self.forwards[j] - self.forwards[i])
        }
    }

    fn turn_stretches(&mut self, places: &RangeInclusive<usize>) -> bool {
        let mut is_better = false;
        let last_place = *places.end();
        for i in places.clone() {
            for j in i..=last_place {
                let (first, last, within) = self.stretch(i, j, true);
                let now = self.forwards[j + 1] - self.forwards[i - 1];
                let then = self.table.cost(self.at[i - 1], first)
                    + within
                    + self.table.cost(last, self.at[j + 1]);
                if then < now {
                    self.turn(i, j);
                    self.sum();
                    is_better = true;
                }
            }
        }
        is_better
    }

    fn turn(&mut self, i: usize, j: usize) {
        self.at[i..=j].reverse();
        for node in &mut self.at[i..=j] {
            *node ^= 1;
        }
    }

    fn swap_stretches(&mut self, places: &RangeInclusive<usize>, reach: usize) -> bool {
        let mut is_better = false;
        let last = *places.end();
        for i in places.clone() {
            for j in i..last {
                let furthest = j + if j - i < reach { FAR } else { reach };
                for k in j + 1..=furthest.min(last) {
                    is_better |= self.swap(i, j, k);
                }
            }
        }
        is_better
    }

    /// Lets the stretches from i to j and from j + 1 to k change places, if that helps.
    fn swap(&mut self, i: usize, j: usize, k: usize) -> bool {
        let (before, after) = (self.at[i - 1], self.at[k + 1]);
        let now = self.forwards[k + 1] - self.forwards[i - 1];
        for (turns_first, turns_second) in
            [(false, false), (false, true), (true, false), (true, true)]
        {
            let (second_first, second_last, second) = self.stretch(j + 1, k, turns_second);
            let entered = self.table.cost(before, second_first) + second;
            if entered >= now {
                continue;
            }
            let (first_first, first_last, first) = self.stretch(i, j, turns_first);
            let then = entered
                + self.table.cost(second_last, first_first)
                + first
                + self.table.cost(first_last, after);
            if then < now {
                if turns_first {
                    self.turn(i, j);
                }
                if turns_second {
                    self.turn(j + 1, k);
                }
                self.at[i..=k].rotate_left(j + 1 - i);
                self.sum();
                return true;
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::costs::{Costs, Place};
    use super::*;

    #[test]
    fn a_worse_tour_is_never_returned_and_every_part_stays() {
        let place = |offset: i32| Place {
            offset_m: f64::from(offset),
            position_m: 0.0,
        };
        let costs = Costs::by_rule((0..9).map(place).collect(), |a, b| {
            ((a * 7919 + b * 104_729) % 1009) as i64
        });
        let table = Table::of(&costs);
        let tour: Vec<usize> = (0..9).map(|part| 2 * part).collect();
        let better = improved(&table, &tour, 9);
        let best = shaken(&table, &better, 9, 20);
        assert!(table.tour_cost(&better) < table.tour_cost(&tour));
        assert!(table.tour_cost(&best) <= table.tour_cost(&better));
        assert!(costs.is_complete(&best));
    }
}
