//! Good multipliers, from a linear programme over the links.
//!
//! Columns are links; rows say that into each node flows what flows out, and that each part
//! and the depot are left once. Its value is a bound already; cuts lift it. A node w that is
//! driven has different parts before and after it, so for another part i (or the depot)
//! `y(w) >= x(i, w) + x(w, i)`, where y is what flows through w and x(i, .) counts both nodes
//! of i (Fischetti, Salazar and Toth 1997 have such cuts for the symmetric case).
//!
//! Where an odd number of parts leads over a cut, one more row says that some link does too
//! ([`super::cut`]).
//!
//! Links and cuts are few at first: the cheapest links out of and into each node, no cuts.
//! After each round those come in that the solution asks for: links whose reduced cost is
//! below zero, cuts it violates.

use super::interior::{Programme, Solution};
use super::reduced::Multipliers;
use super::table::{NO_LINK, Table};

/// Tenths of a millimetre in a metre: the programme counts in metres.
const UNITS_PER_M: f64 = 10_000.0;
/// Cheapest links out of and into each node that are columns from the start.
const FIRST_LINKS: usize = 10;
/// A cut is added where it is violated by more than this.
const LEAST_VIOLATION: f64 = 0.02;
/// A link is added where its reduced cost is below minus this, metres.
const LEAST_GAIN_M: f64 = 1e-3;
/// The most links added for a node in a round.
const MOST_LINKS_ADDED: usize = 8;

/// How much is done for the multipliers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rounds {
    /// Rounds that only add links.
    pub(super) without_cuts: usize,
    /// Rounds that add cuts and links.
    pub(super) with_cuts: usize,
}

/// Multipliers without and with cuts; either may be missing where the programme came to
/// nothing.
pub(super) fn multipliers(table: &Table, rounds: Rounds) -> Vec<Multipliers> {
    let mut model = Model::of(table);
    let mut found = Vec::new();
    let mut solution = None;
    for _ in 0..rounds.without_cuts {
        solution = model.solved();
        let Some(solution) = &solution else { break };
        if !model.add_links(solution) {
            break;
        }
    }
    found.extend(
        solution
            .as_ref()
            .map(|solution| model.multipliers(solution)),
    );
    let mut with_cuts = None;
    for _ in 0..rounds.with_cuts {
        let Some(last) = &solution else { break };
        // Links first: the last solution knows the rows as they were before new cuts.
        let has_links = model.add_links(last);
        let has_cuts = model.add_cuts(last);
        if !has_cuts && !has_links {
            break;
        }
        solution = model.solved();
        with_cuts = solution
            .as_ref()
            .map(|solution| model.multipliers(solution));
    }
    found.extend(with_cuts);
    found
}

struct Model<'t> {
    table: &'t Table,
    links: Vec<(usize, usize)>,
    /// Whether a link is a column.
    is_in: Vec<bool>,
    /// Cuts as node and other part, sorted; those of a node stand together.
    cuts: Vec<(usize, usize)>,
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
    /// Row of the links that cross; `None` where none has to.
    crossing: Option<usize>,
    count: usize,
}

impl<'t> Model<'t> {
    fn of(table: &'t Table) -> Self {
        let stride = table.stride();
        let mut model = Self {
            table,
            links: Vec::new(),
            is_in: vec![false; stride * stride],
            cuts: Vec::new(),
        };
        let depot = table.depot();
        for node in 0..stride {
            let how_many = if node == depot { stride } else { FIRST_LINKS };
            let out = |other: usize| (node, other);
            let into = |other: usize| (other, node);
            model.add_cheapest(how_many, &out);
            model.add_cheapest(how_many, &into);
        }
        model
    }

    fn add_cheapest(&mut self, how_many: usize, link: &dyn Fn(usize) -> (usize, usize)) {
        let mut by_cost: Vec<(i32, (usize, usize))> = (0..self.table.stride())
            .map(link)
            .map(|(from, to)| (self.table.entry(from, to), (from, to)))
            .filter(|&(cost, _)| cost != NO_LINK)
            .collect();
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

    fn rows(&self) -> Rows {
        let depot = self.table.depot();
        let mut rows = Rows {
            node: vec![0; depot + 1],
            part: vec![0; depot / 2 + 1],
            cut: vec![0; self.cuts.len()],
            cuts_of: Vec::with_capacity(depot + 1),
            crossing: None,
            count: 0,
        };
        let mut next_cut = 0;
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
        }
        // Last, for it meets most of the others.
        rows.crossing = self.table.must_cross().then(|| rows.take());
        rows
    }

    fn solved(&self) -> Option<Solution> {
        let depot = self.table.depot();
        let rows = self.rows();
        let mut right = vec![0.0; rows.count];
        for &row in rows.part.iter().chain(&rows.crossing) {
            right[row] = 1.0;
        }
        let mut programme = Programme::new(right);
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
            if let Some(row) = rows.crossing
                && self.table.crosses(from, to)
            {
                entries.push((row, 1.0));
            }
            let cost_m = f64::from(self.table.entry(from, to)) / UNITS_PER_M;
            programme.push(cost_m, entries.iter().copied());
        }
        for &row in rows.cut.iter().chain(&rows.crossing) {
            programme.push(0.0, [(row, -1.0)]);
        }
        programme.solved()
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
        let crossing = rows.crossing.map_or(0.0, |row| y[row]);
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
            for (to, &cost) in self.table.entries_from(from).iter().enumerate() {
                row[to] = f64::from(cost) / UNITS_PER_M - base + of_node(to);
                if self.table.crosses(from, to) {
                    row[to] -= crossing;
                }
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
            crossing: rows.crossing.map_or(0, whole),
        }
    }
}

impl Rows {
    fn take(&mut self) -> usize {
        self.count += 1;
        self.count - 1
    }
}
