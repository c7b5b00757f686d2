//! The links of one direction, worked out as far as that is needed.
//!
//! No link costs less than the shortest path where no wall counts ([`super::bound`]). Where that
//! path is free of walls and costs just that, the link is
//! known without a search. Links between near lines are worked out *roughly*, in chains
//! ([`super::chains`]): begun and ended as one that was searched. Those that an order uses are
//! *searched* by all means ([`super::turn`]). What is known goes into a
//! [table](super::link_table), which guesses the rest.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::between::Drive;
use super::bound;
use super::chains::{self, Known, Ways as _};
use super::earlier::{Driven, Earlier, shapes};
use super::gates::{self, Gate, Side, own};
use super::link_table::LinkTable;
use super::order::{Costs, FORBIDDEN, Node, Place};
use super::path::Piece;
use super::runs::Run;
use super::turn::{End, Turn};

/// Tenths of a millimetre in a metre.
const PER_M: f64 = 1e4;

/// A cost in whole tenths of a millimetre, rounded down.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "saturates")]
pub fn tenths(cost_m: f64) -> i64 {
    (cost_m * PER_M).floor() as i64
}

/// A cost in metres.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "far below 2^53")]
pub fn metres(cost: i64) -> f64 {
    cost as f64 / PER_M
}

/// From one node to another.
pub type Link = (Node, Node);

/// The links of the parts of one direction, and what drives them.
#[derive(Debug)]
pub struct Links<'a> {
    drive: Drive<'a>,
    table: LinkTable,
    /// Turns to drive new ones after, where that is near enough.
    earlier: Option<Earlier>,
}

impl<'a> Links<'a> {
    /// The links of parts at these places, both ways of each (`None`: cannot be driven that
    /// way), with the route's way in and out. Between lines fewer than `near` apart the least
    /// costs are those of the shortest paths; between others lesser ones that are told at once.
    #[must_use]
    pub fn new(
        drive: Drive<'a>,
        places: Vec<Place>,
        runs: Vec<Option<Run>>,
        gates: [Gate; 2],
        near: usize,
    ) -> Self {
        let least = |runs: &[Option<Run>], link: Link, apart: usize| {
            least_link(drive, runs, link, apart < near)
        };
        let allowed = drive.terrain.allowed();
        let table = LinkTable::new(places, runs, gates, allowed, least);
        let mut links = Self::known(drive, table);
        links.set_least_gates(near > 0);
        links
    }

    /// Links of which a table is known.
    pub(super) const fn known(drive: Drive<'a>, table: LinkTable) -> Self {
        Self {
            drive,
            table,
            earlier: None,
        }
    }

    /// What drives them.
    pub(super) const fn drive(&self) -> Drive<'a> {
        self.drive
    }

    /// What is known of them.
    #[must_use]
    pub const fn table(&self) -> &LinkTable {
        &self.table
    }

    /// What is known, the rest guessed ([`LinkTable::guessed`]).
    pub(super) fn guessed(&self) -> Costs {
        self.table.guessed(self.earlier.as_ref())
    }

    /// Whether an order takes each of these parts once.
    pub(super) fn takes_all(&self, order: &[Node]) -> bool {
        self.table.least.is_complete(order)
    }

    pub(super) fn into_table(self) -> LinkTable {
        self.table
    }

    /// The route begins or ends elsewhere: no way in or out is known, and what they cost at least
    /// is what is told at once.
    pub(super) fn set_gates(&mut self, gates: [Gate; 2]) {
        self.table.gates = gates;
        self.table.ways = [BTreeMap::new(), BTreeMap::new()];
        self.set_least_gates(false);
    }

    /// The route begins after a run, by this way into a node.
    pub(super) fn begin_after(&mut self, run: &Run, node: Node, way_in: Known) {
        let gate = Gate::After(Box::new(run.clone()));
        if self.table.gates[0] != gate {
            self.table.gates[0] = gate;
            self.table.ways[0].clear();
            self.set_least_gates(true);
        }
        self.table.ways[0].insert(node, way_in);
    }

    /// Turns are driven after earlier ones from now on, or by themselves.
    pub(super) fn after(&mut self, earlier: Option<Earlier>) {
        self.earlier = earlier;
    }

    /// Takes the turns of an order from another table of the same parts, gates and ground.
    pub(super) fn adopt(&mut self, other: &LinkTable, order: &[Node]) {
        for pair in order.windows(2) {
            let link = (pair[0], pair[1]);
            if let Some(known) = other.known.get(&link) {
                let known = Known::rough(known.turn.clone());
                self.table.known.insert(link, known);
            }
        }
        for (side, node) in [(Side::In, order.first()), (Side::Out, order.last())] {
            let way = node.and_then(|node| Some((*node, other.ways[side as usize].get(node)?)));
            if let Some((node, known)) = way {
                let known = Known::rough(known.turn.clone());
                self.table.ways[side as usize].insert(node, known);
            }
        }
    }

    /// A way in or out costs at least what it does where no wall counts; where that need not be
    /// `near` the truth, a lesser cost that is told at once.
    pub(super) fn set_least_gates(&mut self, near: bool) {
        for (node, run) in self.table.runs.iter().enumerate() {
            let Some(run) = run else { continue };
            let [way_in, way_out] = [Side::In, Side::Out].map(|side| {
                let gate = &self.table.gates[side as usize];
                tenths(gates::least_m(self.drive, gate, run, side, near))
            });
            self.table.least.set_start(node, way_in);
            self.table.least.set_end(node, way_out);
        }
    }

    /// Works out roughly the links between lines fewer than so many apart, and the ways in and
    /// out: of every so many lines and of every so many parts. `slack` says how much more than the
    /// searched turn before it a followed one may cost, as a share.
    pub fn rough(&mut self, apart: usize, slack: f64, every: [usize; 2]) {
        let nodes = self.table.runs.len();
        let all = (0..nodes).flat_map(|from| (0..nodes).map(move |to| (from, to)));
        let limits = self.table.limits();
        let near: Vec<Link> = all
            .filter(|&(from, to)| self.table.lines_over(from, to).unsigned_abs() < apart)
            .filter(|&(from, _)| self.table.is_every(from, every[0]))
            .filter(|&(from, to)| self.table.least.cost(from, to) <= limits[from].min(limits[to]))
            .collect();
        let drive = if near.len() > MANY {
            self.drive.rough()
        } else {
            self.drive
        };
        self.work_out_by(drive, &near, slack);
        self.rough_ways(slack, every[1]);
    }

    /// Works out roughly those of some links that are unknown and can be driven at all.
    pub fn work_out(&mut self, links: &[Link], slack: f64) {
        self.work_out_by(self.drive.unrefined(), links, slack);
    }

    /// The same by turns that a drive finds.
    fn work_out_by(&mut self, drive: Drive<'_>, links: &[Link], slack: f64) {
        let mut by_key: BTreeMap<(usize, usize, isize), Vec<Link>> = BTreeMap::new();
        for &(from, to) in links {
            if !self.table.is_known((from, to)) && self.table.least.cost(from, to) < FORBIDDEN {
                let key = (from % 2, to % 2, self.table.lines_over(from, to));
                by_key.entry(key).or_default().push((from, to));
            }
        }
        let links: Vec<Vec<Link>> = by_key.into_values().collect();
        // By lesser means than there are.
        let is_rough = drive.refines != self.drive.refines;
        let (runs, least) = (&self.table.runs, &self.table.least);
        let found = links.par_iter().flat_map_iter(|links| {
            let before = links.first().and_then(|&link| self.table.most_like(link));
            let ends = links.iter().filter_map(|&(from, to)| {
                let (a, b) = (runs[from].as_ref()?, runs[to].as_ref()?);
                let least_m = metres(least.cost(from, to));
                Some(((from, to), least_m, leaving(a), coming_in(b)))
            });
            chains::worked_out(ends, before, slack, &drive)
        });
        let mut found: Vec<(Link, Known)> = found.collect();
        if is_rough {
            for (_, known) in &mut found {
                known.is_searched = false;
            }
        }
        self.table.known.extend(found);
    }

    /// Works out roughly the ways in and out of every so many parts, and of the last.
    fn rough_ways(&mut self, slack: f64, every: usize) {
        let chains: Vec<(Side, usize)> = [Side::In, Side::Out]
            .into_iter()
            .flat_map(|side| [(side, 0), (side, 1)])
            .filter(|(side, _)| self.table.gates[*side as usize] != Gate::Free)
            .collect();
        let (drive, runs) = (self.drive, &self.table.runs);
        let gates = &self.table.gates;
        let found: Vec<(Side, Vec<(Node, Known)>)> = chains
            .par_iter()
            .map(|&(side, way)| {
                let gate = &gates[side as usize];
                let last = (runs.len().checked_sub(2)).map(|part| part + way);
                let nodes = (way..runs.len()).step_by(2 * every).chain(last);
                let nodes: BTreeSet<Node> = nodes.collect();
                let nodes = nodes.into_iter();
                let ends = nodes.filter_map(|node| Some((node, runs[node].as_ref()?)));
                (side, gates::chain(drive, gate, side, ends, slack))
            })
            .collect();
        for (side, ways) in found {
            self.table.ways[side as usize].extend(ways);
        }
    }

    /// Searches the links of an order that were not searched yet; where turns are driven after
    /// earlier ones, or not moved to their least, it is enough that they are worked out roughly.
    /// Whether there were any.
    pub(super) fn search_of(&mut self, order: &[Node]) -> bool {
        let mut lacking = self.table.unsearched_of(order);
        if self.earlier.is_some() || !self.drive.refines {
            lacking.retain(|link| !self.table.is_known(*link));
        }
        if self.earlier.is_some() || self.drive.refines {
            self.search(&lacking);
        } else {
            self.work_out_by(self.drive, &lacking, LOOSE);
        }
        !lacking.is_empty()
    }

    /// Searches links, on all cores; which core takes which changes nothing. Driven after earlier
    /// ones they do not count as searched by all means.
    pub fn search(&mut self, links: &[Link]) {
        let LinkTable { runs, known, .. } = &self.table;
        let (drive, earlier) = (self.drive, self.earlier.as_ref());
        let turns: Vec<Option<Turn>> = links
            .par_iter()
            .map(|&(from, to)| {
                let rough = known.get(&(from, to)).and_then(|known| known.turn.as_ref());
                let shapes: Vec<&[Piece]> =
                    rough.iter().map(|turn| &turn.path.pieces[..]).collect();
                let (from, to) = (runs[from].as_ref()?, runs[to].as_ref()?);
                let (from, to) = (leaving(from), coming_in(to));
                let after = earlier.and_then(|earlier| after(drive, &from, &to, earlier));
                after.or_else(|| drive.searched(&from, &to, &shapes))
            })
            .collect();
        let mut gained: Vec<Link> = Vec::new();
        for (&link, turn) in links.iter().zip(turns) {
            let rough = self.table.known.remove(&link).and_then(|known| known.turn);
            let rough_m = rough.as_ref().map(|turn| turn.cost_m);
            if let (Some(rough), Some(turn)) = (&rough, &turn)
                && turn.cost_m < (1.0 - WORTH_SPREADING) * rough.cost_m
            {
                gained.push(link);
            }
            let known = self.found(chains::cheaper(rough, turn));
            self.table.known.insert(link, Known { rough_m, ..known });
        }
        if self.earlier.is_none() && self.drive.refines {
            self.spread(&gained);
        }
    }

    /// Drives links alike as some were found to be driven, where that costs less than what is known
    /// of them.
    fn spread(&mut self, gained: &[Link]) {
        if gained.is_empty() {
            return;
        }
        let (table, drive) = (&self.table, self.drive);
        let rough = table.known.iter().filter(|(_, known)| !known.is_searched);
        let alike: Vec<(Link, &Turn, &Turn)> = rough
            .filter_map(|(&link, known)| {
                let turn_of = |link: &Link| table.known.get(link)?.turn.as_ref();
                let like = gained.iter().filter(|&&like| table.is_alike(link, like));
                let nearest =
                    like.min_by_key(|like| table.line(like.0).abs_diff(table.line(link.0)));
                Some((link, known.turn.as_ref()?, turn_of(nearest?)?))
            })
            .collect();
        let found: Vec<(Link, Known)> = alike
            .into_par_iter()
            .filter_map(|((from, to), turn, like)| {
                let ends = (table.run(from)?, table.run(to)?);
                let (a, b) = (leaving(ends.0), coming_in(ends.1));
                let turn = drive.followed(&a, &b, &[&like.path.pieces], turn.cost_m)?;
                Some(((from, to), Known::rough(Some(turn))))
            })
            .collect();
        self.table.known.extend(found);
    }

    /// Moves the turns of an order to their least, where that was left out so far.
    pub fn refine(&mut self, order: &[Node]) {
        if self.drive.refines {
            return;
        }
        self.drive.refines = true;
        let links = order.windows(2).map(|pair| (pair[0], pair[1]));
        // What is known without a search cannot be driven cheaper.
        let links: Vec<Link> = links
            .filter(|link| self.table.known.contains_key(link))
            .collect();
        self.search(&links);
        for (side, node) in [(Side::In, order.first()), (Side::Out, order.last())] {
            if let Some(known) = node.and_then(|node| self.table.ways[side as usize].get_mut(node))
            {
                known.is_searched = false;
            }
        }
        self.search_ways_of(order);
    }

    /// Searches the way in to the first of an order and out of its last; says whether anything
    /// was new.
    pub fn search_ways_of(&mut self, order: &[Node]) -> bool {
        let (Some(&first), Some(&last)) = (order.first(), order.last()) else {
            return false;
        };
        let is_new = self.search_way(Side::In, first);
        self.search_way(Side::Out, last) || is_new
    }

    /// Searches the way in to a node, or out of it; whether it was new.
    pub(super) fn search_way(&mut self, side: Side, node: Node) -> bool {
        let gate = &self.table.gates[side as usize];
        let known = self.table.ways[side as usize].get(&node);
        let is_enough = |known: &Known| known.is_searched || self.earlier.is_some();
        if *gate == Gate::Free || known.is_some_and(is_enough) {
            return false;
        }
        let rough = known.and_then(|known| known.turn.clone());
        let run = self.table.runs[node].as_ref();
        let turn = run.and_then(|run| {
            let earlier = self.earlier.as_ref();
            let after = earlier.and_then(|earlier| {
                let alike = earlier.ways_alike(side, own(run, side).pose);
                let way = (gate, run, side);
                gates::followed(self.drive, way, &shapes(&alike), f64::INFINITY)
                    .filter(|turn| is_alike(self.drive, turn, &alike))
            });
            after.or_else(|| gates::searched(self.drive, gate, run, side))
        });
        let known = self.found(chains::cheaper(rough, turn));
        self.table.ways[side as usize].insert(node, known);
        true
    }

    /// A turn as it is known once it was looked for.
    fn found(&self, turn: Option<Turn>) -> Known {
        match self.earlier {
            Some(_) => Known::rough(turn),
            None => Known::searched(turn),
        }
    }

    /// The turn of a link, the way in to a node, the way out of one; `None` where there is
    /// none or it was not worked out.
    #[must_use]
    pub fn turn(&self, from: Node, to: Node) -> Option<Turn> {
        match self.table.known.get(&(from, to)) {
            Some(known) => known.turn.clone(),
            None => {
                let (from, to) = (self.table.run(from)?, self.table.run(to)?);
                self.drive.direct(&leaving(from), &coming_in(to))
            }
        }
    }
}

/// What a link costs at least, and whether that is its cost: where it is between near lines and
/// the shortest path is free of walls and costs no more.
fn least_link(
    drive: Drive<'_>,
    runs: &[Option<Run>],
    (from, to): Link,
    is_near: bool,
) -> (i64, bool) {
    let (Some(a), Some(b)) = (&runs[from], &runs[to]) else {
        return (FORBIDDEN, false);
    };
    if from / 2 == to / 2 {
        return (FORBIDDEN, false);
    }
    let (from, to) = (leaving(a), coming_in(b));
    if !is_near {
        let least_m = bound::apart_cost_m(from.pose, to.pose, drive.machine, drive.weights);
        return (tenths(least_m), false);
    }
    let least_m = bound::least_cost_m(&from, &to, drive.machine, drive.terrain, drive.weights);
    let is_exact = drive
        .direct(&from, &to)
        .is_some_and(|turn| turn.cost_m <= least_m + 1e-9);
    (tenths(least_m), is_exact)
}

/// How much dearer than a searched turn a followed one may be, as a share, where nothing says
/// yet that an order uses it.
pub(super) const LOOSE: f64 = 0.5;

/// With more links than these a machine that may reverse takes their turns as they are found.
const MANY: usize = 1_000;

/// A searched turn cheaper by this share than what was known of it is worth trying elsewhere.
const WORTH_SPREADING: f64 = 0.01;

/// How much dearer than the turns it is driven after a turn may be, as a share.
const DEARER: f64 = 0.25;

/// A turn driven as one of those most like it was, where that comes to no more than it did there;
/// or the shortest path, where that is free.
fn after(drive: Drive<'_>, from: &End<'_>, to: &End<'_>, earlier: &Earlier) -> Option<Turn> {
    let alike = earlier.alike(from.pose, to.pose);
    if let Some(turn) = drive.copied(from, to, &shapes(&alike)) {
        return Some(turn);
    }
    let direct = drive.direct(from, to).into_iter();
    let followed = alike.iter().flat_map(|driven| {
        let shape = &driven.turn.path.pieces[..];
        drive.followed(from, to, &[shape], f64::INFINITY)
    });
    direct
        .chain(followed)
        .find(|turn| is_alike(drive, turn, &alike))
}

/// Whether a turn costs hardly more than some were, measured by what it costs at least.
fn is_alike(drive: Drive<'_>, turn: &Turn, alike: &[&Driven]) -> bool {
    let (start, end) = (turn.path.start, turn.path.end());
    let least_m = bound::apart_cost_m(start, end, drive.machine, drive.weights);
    let times = alike.iter().map(|driven| driven.times_least);
    turn.cost_m <= (1.0 + DEARER) * times.fold(f64::INFINITY, f64::min) * least_m
}

pub(super) fn leaving(run: &Run) -> End<'_> {
    End {
        pose: run.lifted,
        way: Some(&run.way_out.path),
        of_work: true,
    }
}

pub(super) fn coming_in(run: &Run) -> End<'_> {
    End {
        pose: run.lowered,
        way: Some(&run.way_in.path),
        of_work: true,
    }
}
