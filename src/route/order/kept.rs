//! Multipliers kept for another table of these parts, or one that has them among its own.
//!
//! Any multipliers make a bound for any table. Those that were good for a table are near the best
//! for it as it is once links are learnt: a programme that begins near them is soon done. And those
//! of several tables are good for the one that has all their parts, one table's after another's, as
//! long as few links lead from each to the next: they spare the programme of the whole.

use super::costs::Node;
use super::odd::{OddSet, begun, left};
use super::reduced::{Multipliers, PerSet};
use super::table::Table;

/// Multipliers by parts as they are numbered outside.
#[derive(Debug, Clone)]
pub struct KeptMultipliers {
    parts: usize,
    sets: PerSet<Kept>,
}

/// One set of multipliers, tenths of a millimetre.
#[derive(Debug, Clone, Default)]
struct Kept {
    node: Vec<i64>,
    /// Of a node and another part; `None` is the depot.
    pair: Vec<(Option<Node>, Option<usize>, i64)>,
    odd: Vec<(Ends, i64)>,
}

/// An odd set of ends.
#[derive(Debug, Clone)]
struct Ends {
    /// By part, that at which its first node begins before that at which the other does.
    of_parts: Vec<bool>,
    /// Whether the depot's is among them where the route begins, and where it is over.
    of_depot: [bool; 2],
}

impl KeptMultipliers {
    /// Those of a table.
    pub(super) fn of(table: &Table, multipliers: &PerSet<Multipliers>) -> Self {
        Self {
            parts: table.parts(),
            sets: std::array::from_fn(|set| Kept::of(table, &multipliers[set])),
        }
    }

    /// Those of several tables for one that has the parts of the first, then those of the second
    /// and so on, and whose tours take them in turn.
    #[must_use]
    pub fn in_turn(each: &[&Self]) -> Self {
        let parts = each.iter().map(|own| own.parts).sum();
        let mut all = Self {
            parts,
            sets: PerSet::default(),
        };
        let mut before = 0;
        for own in each {
            for (all, own) in all.sets.iter_mut().zip(&own.sets) {
                all.take(own, before, parts);
            }
            before += own.parts;
        }
        all
    }

    /// As a table numbers its parts; `None` where they are not as many.
    pub(super) fn inner(&self, table: &Table) -> Option<PerSet<Multipliers>> {
        let is_for = self.parts == table.parts();
        is_for.then(|| std::array::from_fn(|set| self.sets[set].inner(table)))
    }
}

impl Kept {
    fn of(table: &Table, multipliers: &Multipliers) -> Self {
        let mut node = vec![0; table.depot()];
        for (inner, &value) in multipliers.node.iter().enumerate() {
            node[table.outer(inner)] = value;
        }
        let node_of = |inner: usize| (inner < table.depot()).then(|| table.outer(inner));
        let part_of = |inner: usize| Some(node_of(2 * inner)? / 2);
        let pair = multipliers.pair.iter();
        let ends = |set: &OddSet| {
            let is_in = set.marked(table.ends());
            let mut of_parts = vec![false; table.depot()];
            for end in 0..table.depot() {
                of_parts[table.outer(end)] = is_in[end];
            }
            let of_depot = [left(table.depot()), begun(table.depot())];
            Ends {
                of_parts,
                of_depot: of_depot.map(|end| is_in[end]),
            }
        };
        let odd = multipliers.odd.iter();
        Self {
            node,
            pair: pair
                .map(|&(w, other, value)| (node_of(w), part_of(other), value))
                .collect(),
            odd: odd.map(|(set, value)| (ends(set), *value)).collect(),
        }
    }

    /// Takes those of a table whose parts stand after so many others, of so many in all. What is
    /// the depot there is here all that comes before its parts and after them.
    fn take(&mut self, own: &Self, before: usize, all: usize) {
        let after = all - before - own.node.len() / 2;
        self.node.extend(&own.node);
        let pair = own.pair.iter();
        self.pair.extend(pair.map(|&(node, other, value)| {
            let node = node.map(|node| 2 * before + node);
            (node, other.map(|part| before + part), value)
        }));
        self.odd.extend(own.odd.iter().map(|(ends, value)| {
            let [begins, is_over] = ends.of_depot;
            let of_parts = [
                &vec![begins; 2 * before],
                &ends.of_parts,
                &vec![is_over; 2 * after],
            ];
            let ends = Ends {
                of_parts: of_parts.into_iter().flatten().copied().collect(),
                of_depot: ends.of_depot,
            };
            (ends, *value)
        }));
    }

    fn inner(&self, table: &Table) -> Multipliers {
        let nodes: Vec<Node> = (0..table.depot()).collect();
        let node_at = table.inner_tour(&nodes);
        let mut node = vec![0; table.depot()];
        for (outer, &value) in self.node.iter().enumerate() {
            node[node_at[outer]] = value;
        }
        let pair = self.pair.iter().map(|&(w, other, value)| {
            let other = other.map_or(table.parts(), |part| node_at[2 * part] / 2);
            (w.map_or(table.depot(), |w| node_at[w]), other, value)
        });
        let odd = self.odd.iter().filter_map(|(ends, value)| {
            let mut is_in = vec![false; table.ends()];
            for (end, &of_part) in ends.of_parts.iter().enumerate() {
                is_in[node_at[end]] = of_part;
            }
            is_in[left(table.depot())] = ends.of_depot[0];
            is_in[begun(table.depot())] = ends.of_depot[1];
            Some((OddSet::of(&is_in)?, *value))
        });
        Multipliers {
            node,
            pair: pair.collect(),
            odd: odd.collect(),
        }
    }
}
