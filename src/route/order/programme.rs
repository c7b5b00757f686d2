//! Good multipliers, from a linear programme over the links.
//!
//! Columns are links; rows say that into each node flows what flows out, and that each part
//! and the depot are left once. Its value is a bound already; cuts lift it. A node w that is
//! driven has different parts before and after it, so for another part i (or the depot)
//! `y(w) >= x(i, w) + x(w, i)`, where y is what flows through w and x(i, .) counts both nodes
//! of i (Fischetti, Salazar and Toth 1997 have such cuts for the symmetric case).
//!
//! Of an odd set of ends some link leads out ([`super::odd`]): one more row for each set.
//!
//! Links and cuts are few at first: the cheapest links out of and into each node, no cuts and no
//! sets. After each round those come in that the solution asks for: links whose reduced cost is
//! below zero, cuts and sets it violates.

use super::interior::{Programme, Solution};
use super::odd::{Members, OddSet, Prices, violated};
use super::reduced::{Multipliers, PerSet, Reduced};
use super::table::{NO_LINK, Table};

/// Tenths of a millimetre in a metre: the programme counts in metres.
const UNITS_PER_M: f64 = 10_000.0;
/// Cheapest links out of and into each node that are columns from the start.
const FIRST_LINKS: usize = 10;
/// A cut is added where it is violated by more than this.
const LEAST_VIOLATION: f64 = 0.02;
/// A cut or set is dropped that is kept by this and more.
const IDLE: f64 = 0.3;
/// A link is added where its reduced cost is below minus this, metres.
const LEAST_GAIN_M: f64 = 1e-3;
/// The most links added for a node in a round.
const MOST_LINKS_ADDED: usize = 8;
/// A programme that begins near others takes the rows whose multiplier is above this there, tenths
/// of a millimetre.
const LEAST_PRICE: i64 = 100;
/// The most sets added in a round, those that are violated most.
const MOST_SETS_ADDED: usize = 40;

/// How much is done for the multipliers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rounds {
    /// Rounds that only add links, and sets beyond cuts across the ground.
    pub(super) without_cuts: usize,
    /// Rounds that add cuts, sets and links.
    pub(super) with_cuts: usize,
}

impl Rounds {
    pub(super) const fn of(without_cuts: usize, with_cuts: usize) -> Self {
        Self {
            without_cuts,
            with_cuts,
        }
    }
}

/// Multipliers without and with cuts; either may be missing where the programme came to
/// nothing. Where those of a table much like this one are near, it begins with the links that they
/// leave cheapest, and takes their rows where it takes its first cuts.
pub(super) fn multipliers(
    table: &Table,
    rounds: Rounds,
    near: Option<&PerSet<Multipliers>>,
) -> Vec<Multipliers> {
    let mut model = Model::of(table, near);
    let mut rows_near = near.map(|[_, with_cuts]| with_cuts);
    let mut found: [Option<(i64, Multipliers)>; 2] = [None, None];
    let count = rounds.without_cuts + rounds.with_cuts;
    let mut round = 0;
    while round < count {
        let Some(solution) = model.solved() else {
            break;
        };
        let best = &mut found[usize::from(round >= rounds.without_cuts)];
        let multipliers = model.multipliers(&solution);
        // Links that are not columns yet may make a later bound the lower one.
        let bound = Reduced::bound_of(table, &multipliers);
        if best.as_ref().is_none_or(|best| bound > best.0) {
            *best = Some((bound, multipliers));
        }
        round += 1;
        let is_without_cuts = round < rounds.without_cuts;
        if is_without_cuts && model.grow(&solution, false) {
            continue;
        }
        round = round.max(rounds.without_cuts);
        // The last round brings no new rows: it is for the links that those before ask for.
        let mut is_grown = if round == count {
            break;
        } else if is_without_cuts {
            // Nothing else is asked for, and the solution tells of rows as they were.
            model.add_cuts(&solution)
        } else if round + 1 == count {
            model.add_links(&solution)
        } else {
            model.grow(&solution, true)
        };
        if let Some(near) = rows_near.take() {
            is_grown |= model.take_rows(near);
        }
        if !is_grown {
            break;
        }
    }
    let found = found.into_iter().flatten();
    found.map(|(_, multipliers)| multipliers).collect()
}

struct Model<'t> {
    table: &'t Table,
    links: Vec<(usize, usize)>,
    /// Whether a link is a column.
    is_in: Vec<bool>,
    /// Cuts as node and other part, sorted; those of a node stand together.
    cuts: Vec<(usize, usize)>,
    /// Odd sets of ends, in the order of their last parts.
    sets: Vec<OddSet>,
}

/// Where the rows of a model lie: line by line, so that the matrix stays narrow.
struct Rows {
    /// Row of a node's flow.
    node: Vec<usize>,
    /// Row of a part's being left once; the depot's is last.
    part: Vec<usize>,
    /// Row of each cut.
    cut: Vec<usize>,
    /// The cuts of each node, as a range.
    cuts_of: Vec<std::ops::Range<usize>>,
    /// Row of each set.
    set: Vec<usize>,
    count: usize,
}

impl<'t> Model<'t> {
    fn of(table: &'t Table, near: Option<&PerSet<Multipliers>>) -> Self {
        let stride = table.stride();
        let mut model = Self {
            table,
            links: Vec::new(),
            is_in: vec![false; stride * stride],
            cuts: Vec::new(),
            sets: Vec::new(),
        };
        let reduced = near.and_then(|near| Reduced::of(table, near));
        let cost = |(from, to): (usize, usize)| match &reduced {
            Some(reduced) => {
                let [_, with_cuts] = reduced.left(from, to);
                with_cuts
            }
            None => table.entry(from, to),
        };
        let depot = table.depot();
        for node in 0..stride {
            let how_many = if node == depot { stride } else { FIRST_LINKS };
            let out = (0..stride).map(|other| (node, other));
            let into = (0..stride).map(|other| (other, node));
            model.add_cheapest(how_many, out.map(|link| (cost(link), link)).collect());
            model.add_cheapest(how_many, into.map(|link| (cost(link), link)).collect());
        }
        model
    }

    /// Adds the cheapest of some links with their costs.
    fn add_cheapest(&mut self, how_many: usize, mut by_cost: Vec<(i32, (usize, usize))>) {
        by_cost.retain(|&(cost, _)| cost != NO_LINK);
        if how_many < by_cost.len() {
            by_cost.select_nth_unstable(how_many);
            by_cost.truncate(how_many);
        }
        by_cost.sort_unstable();
        for (_, link) in by_cost {
            self.add_link(link);
        }
    }

    fn add_link(&mut self, (from, to): (usize, usize)) {
        let at = from * self.table.stride() + to;
        if !self.is_in[at] {
            self.is_in[at] = true;
            self.links.push((from, to));
        }
    }

    /// Adds the rows that multipliers of another table stand on; whether there were any.
    fn take_rows(&mut self, multipliers: &Multipliers) -> bool {
        let known = self.cuts.len() + self.sets.len();
        let pairs = multipliers.pair.iter().filter(|pair| pair.2 > LEAST_PRICE);
        self.cuts.extend(pairs.map(|&(node, part, _)| (node, part)));
        self.cuts.sort_unstable();
        self.cuts.dedup();
        let odd = multipliers.odd.iter().filter(|odd| odd.1 > LEAST_PRICE);
        for (set, _) in odd {
            if !self.sets.contains(set) {
                self.sets.push(set.clone());
            }
        }
        self.sets.sort_by_key(OddSet::last_part);
        self.cuts.len() + self.sets.len() > known
    }

    fn rows(&self) -> Rows {
        let depot = self.table.depot();
        let mut rows = Rows {
            node: vec![0; depot + 1],
            part: vec![0; depot / 2 + 1],
            cut: vec![0; self.cuts.len()],
            cuts_of: Vec::with_capacity(depot + 1),
            set: vec![0; self.sets.len()],
            count: 0,
        };
        let mut next_cut = 0;
        let mut next_set = 0;
        for node in 0..=depot {
            if node != depot {
                rows.node[node] = rows.take();
            }
            if node % 2 == 1 || node == depot {
                rows.part[node / 2] = rows.take();
            }
            let from = next_cut;
            while self.cuts.get(next_cut).is_some_and(|cut| cut.0 == node) {
                rows.cut[next_cut] = rows.take();
                next_cut += 1;
            }
            rows.cuts_of.push(from..next_cut);
            let is_done = |set: &OddSet| node + 1 >= (2 * set.last_part() + 2).min(depot + 1);
            while self.sets.get(next_set).is_some_and(is_done) {
                rows.set[next_set] = rows.take();
                next_set += 1;
            }
        }
        rows
    }

    fn solved(&self) -> Option<Solution> {
        let depot = self.table.depot();
        let rows = self.rows();
        let mut right = vec![0.0; rows.count];
        for &row in rows.part.iter().chain(&rows.set) {
            right[row] = 1.0;
        }
        let mut programme = Programme::new(right);
        let members = Members::of(&self.sets, self.table.ends());
        let mut entries = Vec::new();
        for &(from, to) in &self.links {
            entries.clear();
            entries.push((rows.part[from / 2], 1.0));
            if from != depot {
                entries.push((rows.node[from], 1.0));
            }
            if to != depot {
                entries.push((rows.node[to], -1.0));
            }
            for cut in rows.cuts_of[from].clone() {
                if self.cuts[cut].1 != to / 2 {
                    entries.push((rows.cut[cut], 1.0));
                }
            }
            for cut in rows.cuts_of[to].clone() {
                if self.cuts[cut].1 == from / 2 {
                    entries.push((rows.cut[cut], -1.0));
                }
            }
            let sets = members.left_by((from, to));
            entries.extend(sets.map(|set| (rows.set[set], 1.0)));
            let cost_m = f64::from(self.table.entry(from, to)) / UNITS_PER_M;
            programme.push(cost_m, entries.iter().copied());
        }
        for &row in rows.cut.iter().chain(&rows.set) {
            programme.push(0.0, [(row, -1.0)]);
        }
        programme.solved()
    }

    /// Adds what a solution asks for, cuts only where they are wanted; whether there was any.
    fn grow(&mut self, solution: &Solution, with_cuts: bool) -> bool {
        // Links first: the solution knows the rows as they were before.
        let links = self.links.len();
        let has_links = self.add_links(solution);
        self.drop_idle(solution, links);
        let has_cuts = with_cuts && self.add_cuts(solution);
        let has_sets = self.add_sets(solution);
        has_links || has_cuts || has_sets
    }

    /// Drops the cuts and sets that a solution is far from violating: what is left makes a narrower
    /// matrix, and a row that is missed comes back.
    fn drop_idle(&mut self, solution: &Solution, links: usize) {
        // The columns after those of links tell by how much each row is kept.
        let mut kept_by = solution.column.iter().skip(links);
        let mut is_near = || kept_by.next().is_none_or(|&by| by < IDLE);
        self.cuts.retain(|_| is_near());
        self.sets.retain(|_| is_near());
    }

    /// Adds the odd sets of ends that a solution violates; whether there were any.
    fn add_sets(&mut self, solution: &Solution) -> bool {
        let flows = self
            .links
            .iter()
            .copied()
            .zip(solution.column.iter().copied());
        let flows: Vec<((usize, usize), f64)> = flows.filter(|flow| flow.1 > 0.0).collect();
        let found = violated(&flows, self.table.ends());
        let mut low: Vec<(f64, &OddSet)> = Vec::new();
        for set in self.table.odd_cuts().iter().chain(&found) {
            let out = set.flow_out(&flows, self.table.ends());
            if out < 1.0 - LEAST_VIOLATION && !self.sets.contains(set) {
                low.push((out, set));
            }
        }
        low.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(b.1)));
        low.dedup();
        low.truncate(MOST_SETS_ADDED);
        self.sets.extend(low.iter().map(|(_, set)| (*set).clone()));
        self.sets.sort_by_key(OddSet::last_part);
        !low.is_empty()
    }

    /// Adds the cuts that a solution violates; whether there were any.
    fn add_cuts(&mut self, solution: &Solution) -> bool {
        let stride = self.table.stride();
        let parts = self.table.depot() / 2 + 1;
        let mut through = vec![0.0; stride];
        let mut beside = vec![0.0; stride * parts];
        for (&(from, to), &flow) in self.links.iter().zip(&solution.column) {
            through[from] += flow;
            beside[from * parts + to / 2] += flow;
            beside[to * parts + from / 2] += flow;
        }
        let known = self.cuts.len();
        let mut added = Vec::new();
        for node in 0..stride {
            for part in (0..parts).filter(|&part| part != node / 2) {
                let over = beside[node * parts + part] - through[node];
                if over > LEAST_VIOLATION && self.cuts.binary_search(&(node, part)).is_err() {
                    added.push((node, part));
                }
            }
        }
        self.cuts.append(&mut added);
        self.cuts.sort_unstable();
        self.cuts.len() > known
    }

    /// Adds the links that would better a solution; whether there were any.
    fn add_links(&mut self, solution: &Solution) -> bool {
        let stride = self.table.stride();
        let rows = self.rows();
        let y = &solution.multiplier;
        let depot = self.table.depot();
        let of_node = |node: usize| {
            if node == depot {
                0.0
            } else {
                y[rows.node[node]]
            }
        };
        let of_cut = |cut: usize| y[rows.cut[cut]];
        let sets = self.sets.iter().zip(&rows.set);
        let sets = sets.map(|(set, &row)| (set, y[row])).collect();
        let sets = Prices::of(sets, self.table.ends());
        let mut taken = vec![0.0; stride];
        let mut added = Vec::new();
        let mut row = vec![0.0; stride];
        // Cuts by their other part, so that a link finds those it stands beside.
        let mut beside: Vec<Vec<usize>> = vec![Vec::new(); depot / 2 + 1];
        for (cut, &(_, part)) in self.cuts.iter().enumerate() {
            beside[part].push(cut);
        }
        for from in 0..stride {
            let own: f64 = rows.cuts_of[from].clone().map(of_cut).sum();
            let base = y[rows.part[from / 2]] + of_node(from) + own;
            sets.take_from(from, &mut taken);
            for (to, &cost) in self.table.entries_from(from).iter().enumerate() {
                row[to] = f64::from(cost) / UNITS_PER_M - base + of_node(to) - taken[to];
            }
            for cut in rows.cuts_of[from].clone() {
                let part = self.cuts[cut].1;
                for value in row.iter_mut().skip(2 * part).take(2) {
                    *value += of_cut(cut);
                }
            }
            for &cut in &beside[from / 2] {
                row[self.cuts[cut].0] += of_cut(cut);
            }
            let mut gains: Vec<(f64, usize)> = (0..stride)
                .filter(|&to| row[to] < -LEAST_GAIN_M && !self.is_in[from * stride + to])
                .filter(|&to| self.table.entry(from, to) != NO_LINK)
                .map(|to| (row[to], to))
                .collect();
            gains.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            added.extend(gains.iter().take(MOST_LINKS_ADDED).map(|g| (from, g.1)));
        }
        let has_links = !added.is_empty();
        for link in added {
            self.add_link(link);
        }
        has_links
    }

    /// A solution's multipliers in whole tenths of a millimetre.
    fn multipliers(&self, solution: &Solution) -> Multipliers {
        let rows = self.rows();
        let whole = |row: usize| (solution.multiplier[row] * UNITS_PER_M).round() as i64;
        let nodes = 0..self.table.depot();
        Multipliers {
            node: nodes.map(|node| whole(rows.node[node])).collect(),
            pair: self
                .cuts
                .iter()
                .zip(&rows.cut)
                .map(|(&(node, part), &row)| (node, part, whole(row)))
                .filter(|pair| pair.2 > 0)
                .collect(),
            odd: self
                .sets
                .iter()
                .zip(&rows.set)
                .map(|(set, &row)| (set.clone(), whole(row)))
                .filter(|odd| odd.1 > 0)
                .collect(),
        }
    }
}

impl Rows {
    fn take(&mut self) -> usize {
        self.count += 1;
        self.count - 1
    }
}
