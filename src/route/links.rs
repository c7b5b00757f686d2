//! The table of links of one direction, worked out as far as it is needed.
//!
//! Every link has a cost that nothing can be cheaper than, the shortest path where no wall
//! counts ([`super::bound`]). Where that path is free of walls and costs just that, the link is
//! known without a search. Links between near lines are worked out *roughly*, in chains
//! ([`super::chains`]): begun and ended as one that was searched. Those that an order uses are
//! *searched* by all means ([`super::turn`]). The rest is guessed from links alike, near the
//! same sides, driven the same ways, as many lines apart, or stands at its least cost.

use std::collections::{BTreeMap, BTreeSet};

use geo::{BoundingRect, Rect};
use rayon::prelude::*;

use super::alike::{Class, Ratio, Sides};
use super::between::Drive;
use super::bound;
use super::chains::{self, Known, Ways as _};
use super::gates::{self, Gate, Side};
use super::order::{Costs, FORBIDDEN, Node, Place, odd_cut};
use super::path::Piece;
use super::pose::Pose;
use super::runs::Run;
use super::turn::{End, Turn};
use crate::space::Xy;

/// Tenths of a millimetre in a metre.
const PER_M: f64 = 1e4;

/// Lines further apart than this are all alike.
const FAR_LINES: usize = 12;

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

/// The links of the parts of one direction.
#[derive(Debug)]
pub struct Links<'a> {
    drive: Drive<'a>,
    /// By node; `None` where a part cannot be driven that way.
    runs: Vec<Option<Run>>,
    /// By node: the side of the ground each end lies at.
    sides: Vec<Sides>,
    /// By part: which line it is on, counted.
    lines: Vec<usize>,
    /// What no link can be cheaper than.
    least: Costs,
    /// Links whose least cost is their cost.
    exact: BTreeSet<Link>,
    /// Links worked out.
    known: BTreeMap<Link, Known>,
    /// Ways in and out worked out.
    ways: [BTreeMap<Node, Known>; 2],
    /// Where the route begins and ends.
    gates: [Gate; 2],
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
        let lines = lines_of(&places);
        let rows: Vec<Vec<(i64, bool)>> = (0..runs.len())
            .into_par_iter()
            .map(|from| {
                let least = |to: Node| {
                    let is_near = lines[to / 2].abs_diff(lines[from / 2]) < near;
                    least_link(drive, &runs, (from, to), is_near)
                };
                (0..runs.len()).map(least).collect()
            })
            .collect();
        let mut exact = BTreeSet::new();
        for (from, row) in rows.iter().enumerate() {
            let known = row
                .iter()
                .enumerate()
                .filter(|(_, (_, is_exact))| *is_exact);
            exact.extend(known.map(|(to, _)| (from, to)));
        }
        let mut least = Costs::by_rule(places, |from, to| rows[from][to].0);
        for (node, run) in runs.iter().enumerate() {
            if run.is_none() {
                least.set_start(node, FORBIDDEN);
                least.set_end(node, FORBIDDEN);
            }
        }
        if let Some(far_ends) = odd_cut(&positions_m(&runs)) {
            least.set_far_ends(far_ends);
        }
        let extent = drive.terrain.allowed().bounding_rect();
        let sides = runs
            .iter()
            .map(|run| sides_of(run.as_ref(), extent))
            .collect();
        let mut links = Self {
            drive,
            runs,
            sides,
            lines,
            least,
            exact,
            known: BTreeMap::new(),
            ways: [BTreeMap::new(), BTreeMap::new()],
            gates,
        };
        links.set_least_gates();
        links
    }

    /// A way in or out costs at least what it does where no wall counts.
    fn set_least_gates(&mut self) {
        for (node, run) in self.runs.iter().enumerate() {
            let Some(run) = run else { continue };
            let [way_in, way_out] = [Side::In, Side::Out].map(|side| {
                let gate = &self.gates[side as usize];
                tenths(gates::least_m(self.drive, gate, run, side))
            });
            self.least.set_start(node, way_in);
            self.least.set_end(node, way_out);
        }
    }

    /// The run of a node.
    #[must_use]
    pub fn run(&self, node: Node) -> Option<&Run> {
        self.runs.get(node)?.as_ref()
    }

    /// The table of what is known; the rest at its least cost, so that a bound for it is one
    /// for the true costs.
    #[must_use]
    pub fn lowered(&self) -> Costs {
        let mut costs = self.least.clone();
        self.set_known(&mut costs);
        costs
    }

    /// The table of what is known; the rest guessed, and on the dear side: an order that can
    /// do with known links should.
    #[must_use]
    pub fn guessed(&self) -> Costs {
        /// So much dearer than links alike.
        const DEARER: f64 = 1.5;
        let mut costs = self.least.clone();
        let ratios = self.ratios();
        let all = Ratio::of(ratios.values());
        let nodes = self.runs.len();
        for from in 0..nodes {
            for to in 0..nodes {
                let least = costs.cost(from, to);
                if least < FORBIDDEN && !self.is_known((from, to)) {
                    let ratio = ratios.get(&self.class(from, to)).unwrap_or(&all);
                    costs.set(from, to, tenths(metres(least) * DEARER * ratio.mean()));
                }
            }
        }
        self.guess_ways(&mut costs);
        self.set_known(&mut costs);
        costs
    }

    /// Guesses the ways in and out from those that are known.
    fn guess_ways(&self, costs: &mut Costs) {
        let ratio = |side: Side, least: &dyn Fn(Node) -> i64| {
            let known = self.ways[side as usize].iter();
            let ratios = known.filter_map(|(&node, known)| {
                let (turn, least) = (known.turn.as_ref()?, least(node));
                (least > 0).then(|| turn.cost_m / metres(least))
            });
            let all = ratios.map(|sum| Ratio { sum, count: 1.0 });
            Ratio::of(&all.collect::<Vec<_>>()).mean()
        };
        let way_in = ratio(Side::In, &|node| costs.start(node));
        let way_out = ratio(Side::Out, &|node| costs.end(node));
        for node in 0..self.runs.len() {
            let (start, end) = (costs.start(node), costs.end(node));
            if start < FORBIDDEN {
                costs.set_start(node, tenths(metres(start) * way_in));
            }
            if end < FORBIDDEN {
                costs.set_end(node, tenths(metres(end) * way_out));
            }
        }
    }

    fn set_known(&self, costs: &mut Costs) {
        let cost = |known: &Known| {
            let turn = known.turn.as_ref();
            turn.map_or(FORBIDDEN, |turn| tenths(turn.cost_m))
        };
        for (&(from, to), known) in &self.known {
            costs.set(from, to, cost(known));
        }
        let [ways_in, ways_out] = &self.ways;
        for (&node, known) in ways_in {
            costs.set_start(node, cost(known));
        }
        for (&node, known) in ways_out {
            costs.set_end(node, cost(known));
        }
    }

    /// Works out roughly the links between lines fewer than so many apart, and the ways in and
    /// out of each part or only of every so many. `slack` says how much more than the searched turn before it a followed one may
    /// cost, as a share.
    pub fn rough(&mut self, apart: usize, slack: f64, every: usize) {
        let nodes = self.runs.len();
        let all = (0..nodes).flat_map(|from| (0..nodes).map(move |to| (from, to)));
        let limits = self.limits();
        let near: Vec<Link> = all
            .filter(|&(from, to)| self.lines_over(from, to).unsigned_abs() < apart)
            .filter(|&(from, to)| self.least.cost(from, to) <= limits[from].min(limits[to]))
            .collect();
        self.work_out_by(self.drive, &near, slack);
        self.rough_ways(slack, every);
    }

    /// Works out roughly those of some links that are unknown and can be driven at all.
    pub fn work_out(&mut self, links: &[Link], slack: f64) {
        self.work_out_by(self.drive.rough(), links, slack);
    }

    /// The same by turns that a drive finds.
    fn work_out_by(&mut self, drive: Drive<'_>, links: &[Link], slack: f64) {
        let mut by_key: BTreeMap<(usize, usize, isize), Vec<Link>> = BTreeMap::new();
        for &(from, to) in links {
            if !self.is_known((from, to)) && self.least.cost(from, to) < FORBIDDEN {
                let key = (from % 2, to % 2, self.lines_over(from, to));
                by_key.entry(key).or_default().push((from, to));
            }
        }
        let links: Vec<Vec<Link>> = by_key.into_values().collect();
        // By lesser means than there are.
        let is_rough = drive.refines != self.drive.refines;
        let (runs, least) = (&self.runs, &self.least);
        let found = links.par_iter().flat_map_iter(|links| {
            let before = links.first().and_then(|&link| self.most_like(link));
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
        self.known.extend(found);
    }

    /// The known turn most like that of a link, with its least cost in metres: driven the same
    /// ways, over nearly as many lines, from a line near by.
    fn most_like(&self, (from, to): Link) -> Option<(f64, &Turn)> {
        let (line, over) = (self.lines[from / 2], self.lines_over(from, to));
        let known = self.known.iter();
        let alike = known.filter_map(|(&(a, b), known)| {
            let turn = known.turn.as_ref()?;
            let is_alike = a % 2 == from % 2 && b % 2 == to % 2;
            is_alike.then(|| {
                let more_over = self.lines_over(a, b).abs_diff(over);
                ((more_over, self.lines[a / 2].abs_diff(line)), (a, b), turn)
            })
        });
        let (_, (a, b), turn) = alike.min_by_key(|(unlike, ..)| *unlike)?;
        Some((metres(self.least.cost(a, b)), turn))
    }

    /// By node, what links out of it or into it may cost at least and still be of interest:
    /// far more than its cheapest.
    fn limits(&self) -> Vec<i64> {
        const TIMES: i64 = 3;
        const MORE: i64 = 200_000;
        let nodes = self.runs.len();
        let second = |costs: &mut dyn Iterator<Item = i64>| {
            let mut least = [FORBIDDEN; 2];
            for cost in costs {
                if cost < least[0] {
                    least = [cost, least[0]];
                } else {
                    least[1] = least[1].min(cost);
                }
            }
            least[1]
        };
        (0..nodes)
            .map(|node| {
                let out = second(&mut (0..nodes).map(|to| self.least.cost(node, to)));
                let into = second(&mut (0..nodes).map(|from| self.least.cost(from, node)));
                TIMES * out.max(into).min(FORBIDDEN) + MORE
            })
            .collect()
    }

    /// How many lines on the end of a link lies, up the lines or down.
    fn lines_over(&self, from: Node, to: Node) -> isize {
        self.lines[to / 2].cast_signed() - self.lines[from / 2].cast_signed()
    }

    /// Works out roughly the ways in and out of every so many parts, and of the last.
    fn rough_ways(&mut self, slack: f64, every: usize) {
        let chains: Vec<(Side, usize)> = [Side::In, Side::Out]
            .into_iter()
            .flat_map(|side| [(side, 0), (side, 1)])
            .filter(|(side, _)| self.gates[*side as usize] != Gate::Free)
            .collect();
        let (drive, runs) = (self.drive, &self.runs);
        let gates = &self.gates;
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
            self.ways[side as usize].extend(ways);
        }
    }

    /// The links of an order that were not searched yet.
    #[must_use]
    pub fn unsearched_of(&self, order: &[Node]) -> Vec<Link> {
        let pairs = order.windows(2).map(|pair| (pair[0], pair[1]));
        pairs.filter(|link| !self.is_searched(*link)).collect()
    }

    /// Whether all links of an order, and its ways in and out, are known and can be driven.
    #[must_use]
    pub fn is_drivable(&self, order: &[Node]) -> bool {
        let gates = [(Side::In, order.first()), (Side::Out, order.last())];
        let has_ways = gates.iter().all(|&(side, node)| {
            let way = node.and_then(|node| self.ways[side as usize].get(node));
            self.gates[side as usize] == Gate::Free || way.is_some_and(|way| way.turn.is_some())
        });
        let mut pairs = order.windows(2).map(|pair| (pair[0], pair[1]));
        has_ways
            && pairs.all(|link| match self.known.get(&link) {
                Some(known) => known.turn.is_some(),
                None => self.exact.contains(&link),
            })
    }

    /// Whether the cost of a link is known, if only roughly.
    #[must_use]
    pub fn is_known(&self, link: Link) -> bool {
        self.exact.contains(&link) || self.known.contains_key(&link)
    }

    fn is_searched(&self, link: Link) -> bool {
        let known = self.known.get(&link);
        known.map_or_else(|| self.exact.contains(&link), |known| known.is_searched)
    }

    /// Searches links, on all cores; which core takes which changes nothing.
    pub fn search(&mut self, links: &[Link]) {
        let (drive, runs, known) = (self.drive, &self.runs, &self.known);
        let turns: Vec<Option<Turn>> = links
            .par_iter()
            .map(|&(from, to)| {
                let rough = known.get(&(from, to)).and_then(|known| known.turn.as_ref());
                let shapes: Vec<&[Piece]> =
                    rough.iter().map(|turn| &turn.path.pieces[..]).collect();
                let (from, to) = (runs[from].as_ref()?, runs[to].as_ref()?);
                drive.searched(&leaving(from), &coming_in(to), &shapes)
            })
            .collect();
        for (&link, turn) in links.iter().zip(turns) {
            let rough = self.known.remove(&link).and_then(|known| known.turn);
            let known = Known::searched(chains::cheaper(rough, turn));
            self.known.insert(link, known);
        }
    }

    /// Moves the turns of an order to their least, where that was left out so far.
    pub fn refine(&mut self, order: &[Node]) {
        if self.drive.refines {
            return;
        }
        self.drive.refines = true;
        let links = order.windows(2).map(|pair| (pair[0], pair[1]));
        // What is known without a search cannot be driven cheaper.
        let links: Vec<Link> = links.filter(|link| self.known.contains_key(link)).collect();
        self.search(&links);
        for (side, node) in [(Side::In, order.first()), (Side::Out, order.last())] {
            if let Some(known) = node.and_then(|node| self.ways[side as usize].get_mut(node)) {
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
        let mut is_new = false;
        for (side, node) in [(Side::In, first), (Side::Out, last)] {
            let gate = &self.gates[side as usize];
            let known = self.ways[side as usize].get(&node);
            if *gate == Gate::Free || known.is_some_and(|known| known.is_searched) {
                continue;
            }
            let rough = known.and_then(|known| known.turn.clone());
            let run = self.runs[node].as_ref();
            let turn = run.and_then(|run| gates::searched(self.drive, gate, run, side));
            let known = Known::searched(chains::cheaper(rough, turn));
            self.ways[side as usize].insert(node, known);
            is_new = true;
        }
        is_new
    }

    /// The turn of a link, the way in to a node, the way out of one; `None` where there is
    /// none or it was not worked out.
    #[must_use]
    pub fn turn(&self, from: Node, to: Node) -> Option<Turn> {
        match self.known.get(&(from, to)) {
            Some(known) => known.turn.clone(),
            None => {
                let (from, to) = (self.run(from)?, self.run(to)?);
                self.drive.direct(&leaving(from), &coming_in(to))
            }
        }
    }

    /// The way in to a node; `None` where it may begin anywhere.
    #[must_use]
    pub fn way_in(&self, node: Node) -> Option<Turn> {
        self.ways[0].get(&node)?.turn.clone()
    }

    /// The way out of a node; `None` where it may end anywhere.
    #[must_use]
    pub fn way_out(&self, node: Node) -> Option<Turn> {
        self.ways[1].get(&node)?.turn.clone()
    }

    fn class(&self, from: Node, to: Node) -> Class {
        let apart = self.lines[from / 2].abs_diff(self.lines[to / 2]);
        let is_up = self.lines[to / 2] > self.lines[from / 2];
        Class {
            from: (self.sides[from].1, from % 2 == 1),
            to: (self.sides[to].0, to % 2 == 1),
            apart: apart.min(FAR_LINES),
            is_up,
        }
    }

    fn ratios(&self) -> BTreeMap<Class, Ratio> {
        let mut ratios: BTreeMap<Class, Ratio> = BTreeMap::new();
        for (&(from, to), known) in &self.known {
            let (Some(turn), least) = (&known.turn, self.least.cost(from, to)) else {
                continue;
            };
            if least > 0 && least < FORBIDDEN {
                let ratio = ratios.entry(self.class(from, to)).or_default();
                ratio.sum += turn.cost_m / metres(least);
                ratio.count += 1.0;
            }
        }
        ratios
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
        let least_m = bound::apart_cost_m(&from, &to, drive.machine, drive.weights);
        return (tenths(least_m), false);
    }
    let least_m = bound::least_cost_m(&from, &to, drive.machine, drive.terrain, drive.weights);
    let is_exact = drive
        .direct(&from, &to)
        .is_some_and(|turn| turn.cost_m <= least_m + 1e-9);
    (tenths(least_m), is_exact)
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

/// The positions of the two ends of each part along the heading, metres.
fn positions_m(runs: &[Option<Run>]) -> Vec<[f64; 2]> {
    let heading_rad = |node: usize| Some(runs.get(node)?.as_ref()?.lowered.heading_rad);
    let along = (0..runs.len()).find_map(|node| {
        let back = if node % 2 == 0 { 1.0 } else { -1.0 };
        let (sin, cos) = heading_rad(node)?.sin_cos();
        Some(Xy {
            x: back * cos,
            y: back * sin,
        })
    });
    let along = along.unwrap_or_default();
    let position_m = |pose: Pose| pose.at.x * along.x + pose.at.y * along.y;
    let parts = runs.chunks_exact(2);
    parts
        .map(|both| match both {
            [Some(run), _] => [position_m(run.lowered), position_m(run.lifted)],
            [None, Some(run)] => [position_m(run.lifted), position_m(run.lowered)],
            _ => [0.0, 0.0],
        })
        .collect()
}

/// Counted lines: parts of one offset are on one.
fn lines_of(places: &[Place]) -> Vec<usize> {
    let mut offsets: Vec<f64> = places.iter().map(|place| place.offset_m).collect();
    offsets.sort_by(f64::total_cmp);
    offsets.dedup_by(|a, b| (*a - *b).abs() < 1e-3);
    let line = |place: &Place| offsets.partition_point(|offset| *offset < place.offset_m - 5e-4);
    places.iter().map(line).collect()
}

/// The sides of the ground's box that the two ends of a run are nearest to: 0 to 3.
fn sides_of(run: Option<&Run>, extent: Option<Rect<f64>>) -> Sides {
    let (Some(run), Some(extent)) = (run, extent) else {
        return (0, 0);
    };
    let side = |pose: Pose| {
        let (low, high, at) = (extent.min(), extent.max(), pose.at);
        let off_m = [at.x - low.x, high.x - at.x, at.y - low.y, high.y - at.y];
        let nearest =
            (0_u8..4).min_by(|&a, &b| off_m[usize::from(a)].total_cmp(&off_m[usize::from(b)]));
        nearest.unwrap_or(0)
    };
    (side(run.lowered), side(run.lifted))
}
