//! The table of links of one direction as far as they are known.
//!
//! Every link has a cost that nothing can be cheaper than ([`super::bound`]); some are worked out,
//! some of those searched by all means ([`super::links`] does it). The rest is guessed from links
//! alike, near the same sides, driven the same ways, as many lines apart, or stands at its least
//! cost.

use std::collections::{BTreeMap, BTreeSet};

use geo::{BoundingRect, MultiPolygon, Rect};
use rayon::prelude::*;

use super::alike::{Chain, Class, Costed, Dearer, Mean, Ratios, Sides};
use super::chains::Known;
use super::earlier::Earlier;
use super::gates::{Gate, Side};
use super::links::{Link, metres, tenths};
use super::order::{Costs, FORBIDDEN, Node, Place, odd_cuts};
use super::pose::Pose;
use super::runs::Run;
use super::turn::Turn;
use crate::space::Xy;

/// Lines further apart than this are all alike.
const FAR_LINES: usize = 12;

/// What is known of the links of a direction's parts.
#[derive(Debug, Clone)]
pub struct LinkTable {
    /// By node; `None` where a part cannot be driven that way.
    pub(super) runs: Vec<Option<Run>>,
    /// By node: the side of the ground each end lies at.
    sides: Vec<Sides>,
    /// By part: which line it is on, counted.
    pub(super) lines: Vec<usize>,
    last_line: usize,
    /// What no link can be cheaper than.
    pub(super) least: Costs,
    /// Links whose least cost is their cost.
    pub(super) exact: BTreeSet<Link>,
    /// Links worked out.
    pub(super) known: BTreeMap<Link, Known>,
    /// Ways in and out worked out.
    pub(super) ways: [BTreeMap<Node, Known>; 2],
    /// Where the route begins and ends.
    pub(super) gates: [Gate; 2],
}

impl LinkTable {
    /// The table of parts at these places, both ways of each, of which nothing is known but what
    /// the links cost at least and whether that is their cost.
    pub(super) fn new(
        places: Vec<Place>,
        runs: Vec<Option<Run>>,
        gates: [Gate; 2],
        allowed: &MultiPolygon<f64>,
        least_link: impl Fn(&[Option<Run>], Link, usize) -> (i64, bool) + Sync,
    ) -> Self {
        let lines = lines_of(&places);
        let rows: Vec<Vec<(i64, bool)>> = (0..runs.len())
            .into_par_iter()
            .map(|from| {
                let apart = |to: Node| lines[to / 2].abs_diff(lines[from / 2]);
                let row = (0..runs.len()).map(|to| least_link(&runs, (from, to), apart(to)));
                row.collect()
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
        least.set_odd_cuts(odd_cuts(&positions_m(&runs)));
        let extent = allowed.bounding_rect();
        let sides = runs
            .iter()
            .map(|run| sides_of(run.as_ref(), extent))
            .collect();
        Self {
            runs,
            sides,
            last_line: lines.iter().max().copied().unwrap_or_default(),
            lines,
            least,
            exact,
            known: BTreeMap::new(),
            ways: [BTreeMap::new(), BTreeMap::new()],
            gates,
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
    pub(super) fn guessed(&self, earlier: Option<&Earlier>) -> Costs {
        /// So much dearer than links alike.
        const DEARER: f64 = 1.5;
        /// The same where links of the very chain are known.
        const DEARER_IN_CHAIN: f64 = 1.02;
        let mut costs = self.least.clone();
        let own = self.ratios();
        let earlier_ratios = earlier.map(|earlier| &earlier.ratios);
        let all: Vec<&Ratios> = std::iter::once(&own).chain(earlier_ratios).collect();
        let of_all = all.iter().find_map(|ratios| ratios.of_all());
        let of_all = of_all.unwrap_or(Dearer::UNKNOWN);
        let guess_m = |link: Link, least_m: f64| {
            let (chain, place) = (self.chain(link), self.place(link.0));
            let in_chain = all.iter().find_map(|ratios| ratios.in_chain(chain, place));
            in_chain.map_or_else(
                || {
                    let class = self.class(link);
                    let of_class = all.iter().find_map(|ratios| ratios.of_class(class));
                    of_class.unwrap_or(of_all).guess_m(least_m, DEARER)
                },
                |dearer| dearer.guess_m(least_m, DEARER_IN_CHAIN),
            )
        };
        let nodes = self.runs.len();
        for from in 0..nodes {
            for to in 0..nodes {
                let least = costs.cost(from, to);
                if least < FORBIDDEN && !self.is_known((from, to)) {
                    costs.set(from, to, tenths(guess_m((from, to), metres(least))));
                }
            }
        }
        self.guess_ways(&mut costs, earlier);
        self.set_known(&mut costs);
        self.guess_gains(&mut costs);
        costs
    }

    /// Links known roughly may cost as much less once they are searched as those alike that were.
    fn guess_gains(&self, costs: &mut Costs) {
        let searched = self.known.iter().filter_map(|(&link, known)| {
            let turn = known.turn.as_ref().filter(|_| known.is_searched)?;
            Some((link, turn.cost_m, known.rough_m?))
        });
        let gains = Ratios::of(searched.map(|(link, cost_m, rough_m)| Costed {
            class: self.class(link),
            chain: self.chain(link),
            place: self.place(link.0),
            cost_m,
            least_m: rough_m,
        }));
        let of_all = gains.of_all().unwrap_or(Dearer::UNKNOWN);
        for (&link, known) in &self.known {
            let Some(turn) = known.turn.as_ref().filter(|_| !known.is_searched) else {
                continue;
            };
            let in_chain = gains.in_chain(self.chain(link), self.place(link.0));
            let gain = in_chain.or_else(|| gains.of_class(self.class(link)));
            let cost_m = gain.unwrap_or(of_all).scaled_m(turn.cost_m);
            costs.set(link.0, link.1, tenths(cost_m));
        }
    }

    /// Guesses the ways in and out from those that are known, or else from earlier ones.
    fn guess_ways(&self, costs: &mut Costs, earlier: Option<&Earlier>) {
        let least = &self.least;
        let [way_in, way_out] = [Side::In, Side::Out].map(|side| {
            let ratios = self.ways[side as usize]
                .iter()
                .filter_map(|(&node, known)| {
                    let turn = known.turn.as_ref()?;
                    let least = match side {
                        Side::In => least.start(node),
                        Side::Out => least.end(node),
                    };
                    (least > 0).then(|| turn.cost_m / metres(least))
                });
            let own = Mean::of(ratios);
            let mean = match earlier {
                Some(earlier) if own.count == 0.0 => earlier.way_ratio(side),
                _ => own,
            };
            mean.or(1.0)
        });
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

    /// The known turn most like that of a link, with its least cost in metres: driven the same
    /// ways, over nearly as many lines, from a line near by.
    pub(super) fn most_like(&self, (from, to): Link) -> Option<(f64, &Turn)> {
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
    pub(super) fn limits(&self) -> Vec<i64> {
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

    /// The line that a node is on, counted from one side.
    pub(super) fn line(&self, node: Node) -> usize {
        self.lines[node / 2]
    }

    /// Whether a link is driven the same ways as another, over hardly more lines or fewer, from a
    /// line near by.
    pub(super) fn is_alike(&self, (from, to): Link, like: Link) -> bool {
        const LINES_OVER: usize = 1;
        const LINES_APART: usize = 20;
        let over = self.lines_over(like.0, like.1);
        like.0 % 2 == from % 2
            && like.1 % 2 == to % 2
            && self.lines_over(from, to).abs_diff(over) <= LINES_OVER
            && self.line(from).abs_diff(self.line(like.0)) <= LINES_APART
    }

    /// How many lines on the end of a link lies, up the lines or down.
    pub(super) fn lines_over(&self, from: Node, to: Node) -> isize {
        self.lines[to / 2].cast_signed() - self.lines[from / 2].cast_signed()
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
        let has_way = |(side, node): (Side, Option<&Node>)| {
            node.is_some_and(|&node| self.has_way(side, node))
        };
        gates.into_iter().all(has_way) && self.has_links(order)
    }

    /// Whether all links of an order are known and can be driven.
    pub(super) fn has_links(&self, order: &[Node]) -> bool {
        let mut pairs = order.windows(2).map(|pair| (pair[0], pair[1]));
        pairs.all(|link| match self.known.get(&link) {
            Some(known) => known.turn.is_some(),
            None => self.exact.contains(&link),
        })
    }

    /// Whether the way in to a node, or out of it, is known and can be driven.
    pub(super) fn has_way(&self, side: Side, node: Node) -> bool {
        let way = self.ways[side as usize].get(&node);
        self.gates[side as usize] == Gate::Free || way.is_some_and(|way| way.turn.is_some())
    }

    /// Whether the cost of a link is known, if only roughly.
    #[must_use]
    pub fn is_known(&self, link: Link) -> bool {
        self.exact.contains(&link) || self.known.contains_key(&link)
    }

    pub(super) fn is_searched(&self, link: Link) -> bool {
        let known = self.known.get(&link);
        known.map_or_else(|| self.exact.contains(&link), |known| known.is_searched)
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

    fn class(&self, (from, to): Link) -> Class {
        let apart = self.lines[from / 2].abs_diff(self.lines[to / 2]);
        let is_up = self.lines[to / 2] > self.lines[from / 2];
        Class {
            from: (self.sides[from].1, from % 2 == 1),
            to: (self.sides[to].0, to % 2 == 1),
            apart: apart.min(FAR_LINES),
            is_up,
        }
    }

    /// Whether a node is on one of every so many lines, or on the last.
    pub(super) fn is_every(&self, node: Node, every: usize) -> bool {
        let line = self.lines[node / 2];
        line.is_multiple_of(every) || line == self.last_line
    }

    /// The chain that a link belongs to.
    fn chain(&self, (from, to): Link) -> Chain {
        (from % 2 == 1, to % 2 == 1, self.lines_over(from, to))
    }

    /// Where in its chains a node lies: from 0 at the first line to 1 at the last.
    fn place(&self, node: Node) -> f64 {
        self.lines[node / 2] as f64 / self.last_line.max(1) as f64
    }

    /// How many times their least costs the links cost that are worked out.
    fn ratios(&self) -> Ratios {
        self.ratios_of(self.costs_m(), |(from, to)| {
            metres(self.least.cost(from, to))
        })
    }

    /// The same of all links whose cost is known, measured by another least cost.
    pub(super) fn all_ratios(&self, least_m: impl Fn(Pose, Pose) -> f64) -> Ratios {
        let exact = self.exact.iter();
        let exact = exact.map(|&(from, to)| ((from, to), metres(self.least.cost(from, to))));
        self.ratios_of(self.costs_m().chain(exact), |(from, to)| {
            let ends = self.run(from).zip(self.run(to));
            ends.map_or(0.0, |(from, to)| least_m(from.lifted, to.lowered))
        })
    }

    /// What the links cost that are worked out, metres.
    fn costs_m(&self) -> impl Iterator<Item = (Link, f64)> {
        let known = self.known.iter();
        known.filter_map(|(&link, known)| Some((link, known.turn.as_ref()?.cost_m)))
    }

    fn ratios_of(
        &self,
        costs_m: impl Iterator<Item = (Link, f64)>,
        least_m: impl Fn(Link) -> f64,
    ) -> Ratios {
        let links = costs_m.filter_map(|(link, cost_m)| {
            let least_m = least_m(link);
            let is_known = least_m > 0.0 && least_m < metres(FORBIDDEN);
            is_known.then(|| Costed {
                class: self.class(link),
                chain: self.chain(link),
                place: self.place(link.0),
                cost_m,
                least_m,
            })
        });
        Ratios::of(links)
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

/// The offsets of the lines, metres: parts of one offset are on one.
fn offsets_m(places: &[Place]) -> Vec<f64> {
    let mut offsets: Vec<f64> = places.iter().map(|place| place.offset_m).collect();
    offsets.sort_by(f64::total_cmp);
    offsets.dedup_by(|a, b| (*a - *b).abs() < 1e-3);
    offsets
}

/// How far apart neighbouring lines are on average, metres; without end where there are not two.
pub(super) fn spacing_m(places: &[Place]) -> f64 {
    let offsets = offsets_m(places);
    match offsets.as_slice() {
        [first, .., last] => (last - first) / (offsets.len() - 1) as f64,
        _ => f64::INFINITY,
    }
}

/// Counted lines.
fn lines_of(places: &[Place]) -> Vec<usize> {
    let offsets = offsets_m(places);
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
