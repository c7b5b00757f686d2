//! The order of several directions together, and what no order of all of them can cost less than.
//!
//! Each direction was ordered by itself, beginning where the one before it ended. Where it had
//! better end hangs on what follows. So their tables are put into one: the parts of one direction
//! after those of another, with the links between a direction and the next, and no other; the
//! way in leads to the first direction only, the way out from the last. An order of that table
//! takes the directions one after another by itself, and orders and bounds are found as for one
//! ([`search::bounded`]).

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::between::Drive;
use super::bound;
use super::chains::{self, Known, Ways as _};
use super::gates::Side;
use super::links::{LOOSE, Link, Links, coming_in, leaving, metres, tenths};
use super::memory::{Answer, Level};
use super::order::{BoundMethod, Costs, Effort, FORBIDDEN, FarEnds, KeptMultipliers, Node, Place};
use super::runs::Run;
use super::search::{self, Learnt};
use crate::job::model::Order;

/// Lines of one direction lie so much further on than those of the one before, metres: an order
/// is swept direction after direction.
const APART_M: f64 = 10.0;

/// A gap of one part in so many of the cost is small enough: twice what is asked of one direction,
/// for a round takes as much longer as there are more parts.
const ENOUGH: i64 = 100;

/// What holds for all directions of a drive.
#[derive(Debug, Clone)]
pub(super) struct Together {
    /// What no order of them costs less than, tenths of a millimetre.
    pub lower_bound: i64,
    /// How that was found.
    pub method: BoundMethod,
}

/// Orders directions together, from the order that each has by itself; with a bound for all.
/// `None` where one of them has none, by its effort: then they stay as they are.
pub(super) fn ordered(answers: &mut [Answer<'_>], how: Order) -> Option<Together> {
    let efforts = answers.iter().map(|answer| match answer.level {
        Level::Worked(effort) => effort,
        Level::First => Effort::Quick,
    });
    let effort = efforts.min().filter(|effort| *effort != Effort::Quick)?;
    let orders: Vec<Vec<Node>> = answers
        .iter()
        .map(|answer| answer.found.order.clone())
        .collect();
    let each = answers
        .iter()
        .map(|answer| answer.found.multipliers.as_ref());
    let each: Option<Vec<&KeptMultipliers>> = each.collect();
    let multipliers = each.map(|each| KeptMultipliers::in_turn(&each));
    let links = answers.iter_mut().map(|answer| &mut answer.links).collect();
    let mut joint = Joint::of(links, &orders);
    joint.multipliers = multipliers;
    let order = joint.whole(&orders);
    let found = search::bounded(&mut joint, order, how, effort, ENOUGH);
    let lower_bound = found.lower_bound?;
    let parted = joint.parted(&found.order)?;
    for (answer, parted) in answers.iter_mut().zip(parted) {
        if let Some((run, way_in)) = parted.after {
            let first = parted.order.first().copied().unwrap_or_default();
            answer.links.begin_after(&run, first, way_in);
            // It held for the ways from where the direction before it ended.
            answer.found.lower_bound = None;
        }
        answer.found.order = parted.order;
        let costs = answer.links.table().lowered();
        answer.found.cost = costs.order_cost(&answer.found.order);
    }
    Some(Together {
        lower_bound,
        method: found.method,
    })
}

/// The links of several directions, and those from each to the next. Its nodes are those of the
/// first direction, of the second and so on.
struct Joint<'l, 'a> {
    links: Vec<&'l mut Links<'a>>,
    /// The first node of each direction, and how many there are of all.
    first: Vec<Node>,
    /// From each direction to the next.
    between: Vec<Between>,
    places: Vec<Place>,
    odd_cuts: Vec<FarEnds>,
    /// What the bound of each direction stands on, put side by side, where all of them have one.
    multipliers: Option<KeptMultipliers>,
}

/// The links from one direction to the next, by their own nodes.
struct Between {
    /// What they cost at least, by the node that they lead from.
    least: Vec<Vec<i64>>,
    known: BTreeMap<Link, Known>,
}

/// What an order of all is for one direction.
struct Parted {
    order: Vec<Node>,
    /// Where the one before it ended, and the way from there; `None` for the first.
    after: Option<(Run, Known)>,
}

impl<'l, 'a> Joint<'l, 'a> {
    fn of(links: Vec<&'l mut Links<'a>>, orders: &[Vec<Node>]) -> Self {
        let mut first = vec![0];
        let mut places = Vec::new();
        let mut from_m = 0.0;
        for links in &links {
            let own = links.table().least.places();
            let offsets = own.iter().map(|place| place.offset_m);
            let low_m = offsets.clone().fold(f64::INFINITY, f64::min);
            let high_m = offsets.fold(f64::NEG_INFINITY, f64::max);
            places.extend(own.iter().map(|place| Place {
                offset_m: place.offset_m - low_m + from_m,
                position_m: place.position_m,
            }));
            from_m += high_m - low_m + APART_M;
            first.push(2 * places.len());
        }
        let between = links.windows(2).zip(orders).map(|(pair, order)| {
            let mut between = Between::of(
                &pair[0].table().runs,
                &pair[1].table().runs,
                pair[0].drive(),
            );
            // The ways in are from where the direction before ends.
            if let Some(&last) = order.last() {
                let ways = pair[1].table().ways[Side::In as usize].iter();
                between.known = ways
                    .map(|(&node, way)| ((last, node), way.clone()))
                    .collect();
            }
            between
        });
        Self {
            between: between.collect(),
            odd_cuts: odd_cuts(&links),
            links,
            first,
            places,
            multipliers: None,
        }
    }

    /// The direction of a node, and its number there.
    fn local(&self, node: Node) -> (usize, Node) {
        let after = self.first.partition_point(|first| *first <= node);
        let direction = after.saturating_sub(1).min(self.links.len() - 1);
        (direction, node - self.first[direction])
    }

    /// The order of all from those of each.
    fn whole(&self, orders: &[Vec<Node>]) -> Vec<Node> {
        let each = orders.iter().zip(&self.first);
        each.flat_map(|(order, first)| order.iter().map(move |node| first + node))
            .collect()
    }

    /// The stretches of an order that are of one direction each.
    fn stretches(&self, order: &[Node]) -> Vec<(usize, Vec<Node>)> {
        let local = order.iter().map(|&node| self.local(node));
        let local: Vec<(usize, Node)> = local.collect();
        let stretches = local.chunk_by(|a, b| a.0 == b.0);
        stretches
            .filter_map(|stretch| {
                let direction = stretch.first()?.0;
                Some((direction, stretch.iter().map(|(_, node)| *node).collect()))
            })
            .collect()
    }

    /// The stretches of an order that takes the directions one after another.
    fn in_turn(&self, order: &[Node]) -> Option<Vec<Vec<Node>>> {
        let stretches = self.stretches(order);
        let directions = stretches.iter().map(|stretch| stretch.0);
        let is_in_turn = directions.eq(0..self.links.len());
        is_in_turn.then(|| stretches.into_iter().map(|stretch| stretch.1).collect())
    }

    /// The order of each direction, and how it is reached.
    fn parted(&self, order: &[Node]) -> Option<Vec<Parted>> {
        let stretches = self.in_turn(order)?;
        let mut before: Option<Node> = None;
        let mut parted = Vec::new();
        for (direction, order) in stretches.into_iter().enumerate() {
            let after = match before {
                None => None,
                Some(last) => {
                    let run = self.links[direction - 1].table().run(last)?;
                    let known = &self.between[direction - 1].known;
                    Some((run.clone(), known.get(&(last, *order.first()?))?.clone()))
                }
            };
            before = order.last().copied();
            parted.push(Parted { order, after });
        }
        Some(parted)
    }
}

impl Learnt for Joint<'_, '_> {
    fn lowered(&self) -> Costs {
        let mut costs = Costs::new(self.places.clone());
        costs.set_odd_cuts(self.odd_cuts.clone());
        for node in 0..costs.nodes() {
            costs.set_start(node, FORBIDDEN);
            costs.set_end(node, FORBIDDEN);
        }
        let last = self.links.len() - 1;
        for (direction, (links, &first)) in self.links.iter().zip(&self.first).enumerate() {
            let own = links.table().lowered();
            for from in 0..own.nodes() {
                for to in 0..own.nodes() {
                    costs.set(first + from, first + to, own.cost(from, to));
                }
                if direction == 0 {
                    costs.set_start(first + from, own.start(from));
                }
                if direction == last {
                    costs.set_end(first + from, own.end(from));
                }
            }
        }
        for (between, first) in self.between.iter().zip(self.first.windows(2)) {
            for (from, least) in between.least.iter().enumerate() {
                for (to, &cost) in least.iter().enumerate() {
                    costs.set(first[0] + from, first[1] + to, cost);
                }
            }
            for (&(from, to), known) in &between.known {
                let turn = known.turn.as_ref();
                let cost = turn.map_or(FORBIDDEN, |turn| tenths(turn.cost_m));
                costs.set(first[0] + from, first[1] + to, cost);
            }
        }
        costs
    }

    fn multipliers(&self) -> Option<&KeptMultipliers> {
        self.multipliers.as_ref()
    }

    fn is_known(&self, (from, to): Link) -> bool {
        let ((before, from), (after, to)) = (self.local(from), self.local(to));
        if before == after {
            self.links[before].table().is_known((from, to))
        } else {
            // There is none between others.
            before + 1 != after || self.between[before].known.contains_key(&(from, to))
        }
    }

    fn is_drivable(&self, order: &[Node]) -> bool {
        let Some(stretches) = self.in_turn(order) else {
            return false;
        };
        let ends = |stretch: &[Node]| stretch.first().copied().zip(stretch.last().copied());
        let Some(ends) = stretches
            .iter()
            .map(|stretch| ends(stretch))
            .collect::<Option<Vec<_>>>()
        else {
            return false;
        };
        let mut each = self.links.iter().zip(&stretches);
        let has_links = each.all(|(links, stretch)| links.table().has_links(stretch));
        let has_ways = |direction: usize, side: Side, node: Node| {
            self.links[direction].table().has_way(side, node)
        };
        let mut joints = self.between.iter().zip(ends.windows(2));
        has_links
            && has_ways(0, Side::In, ends[0].0)
            && has_ways(ends.len() - 1, Side::Out, ends[ends.len() - 1].1)
            && joints.all(|(between, ends)| {
                let known = between.known.get(&(ends[0].1, ends[1].0));
                known.is_some_and(|known| known.turn.is_some())
            })
    }

    fn search_all(&mut self, order: &[Node]) -> bool {
        let stretches = self.stretches(order);
        let mut is_new = false;
        for (direction, stretch) in &stretches {
            is_new |= self.links[*direction].search_of(stretch);
        }
        if let Some((0, stretch)) = stretches.first()
            && let Some(&node) = stretch.first()
        {
            is_new |= self.links[0].search_way(Side::In, node);
        }
        if let Some((direction, stretch)) = stretches.last()
            && *direction + 1 == self.links.len()
            && let Some(&node) = stretch.last()
        {
            is_new |= self.links[*direction].search_way(Side::Out, node);
        }
        for pair in stretches.windows(2) {
            let [(before, one), (after, other)] = pair else {
                continue;
            };
            if before + 1 == *after
                && let (Some(&from), Some(&to)) = (one.last(), other.first())
            {
                let runs = [*before, *after].map(|at| &self.links[at].table().runs);
                let drive = self.links[*after].drive();
                is_new |= self.between[*before].search((from, to), runs, drive);
            }
        }
        is_new
    }

    fn work_out_roughly(&mut self, links: &[Link]) {
        let mut within: Vec<Vec<Link>> = vec![Vec::new(); self.links.len()];
        let mut from_each: Vec<Vec<Link>> = vec![Vec::new(); self.between.len()];
        for &(from, to) in links {
            let ((before, from), (after, to)) = (self.local(from), self.local(to));
            if before == after {
                within[before].push((from, to));
            } else if before + 1 == after {
                from_each[before].push((from, to));
            }
        }
        for (links, own) in self.links.iter_mut().zip(&within) {
            links.work_out(own, LOOSE);
        }
        for (direction, links) in from_each.iter().enumerate() {
            let runs = [direction, direction + 1].map(|at| &self.links[at].table().runs);
            let lines = &self.links[direction + 1].table().lines;
            let drive = self.links[direction].drive();
            self.between[direction].work_out(links, runs, lines, drive);
        }
    }
}

impl Between {
    /// Nothing known but what they cost at least.
    fn of(from: &[Option<Run>], to: &[Option<Run>], drive: Drive<'_>) -> Self {
        let Drive {
            machine,
            terrain,
            weights,
            ..
        } = drive;
        let least = |from: &Option<Run>, to: &Option<Run>| match (from, to) {
            (Some(from), Some(to)) => {
                let (from, to) = (leaving(from), coming_in(to));
                tenths(bound::least_cost_m(&from, &to, machine, terrain, weights))
            }
            _ => FORBIDDEN,
        };
        let rows = from
            .par_iter()
            .map(|from| to.iter().map(|to| least(from, to)).collect());
        Self {
            least: rows.collect(),
            known: BTreeMap::new(),
        }
    }

    /// Searches a link, unless it was; whether it was not.
    fn search(&mut self, link: Link, runs: [&Vec<Option<Run>>; 2], drive: Drive<'_>) -> bool {
        let known = self.known.get(&link);
        if known.is_some_and(|known| known.is_searched) {
            return false;
        }
        let rough = known.and_then(|known| known.turn.clone());
        let ends = runs[0][link.0].as_ref().zip(runs[1][link.1].as_ref());
        let turn = ends.and_then(|(from, to)| {
            let shapes = rough
                .iter()
                .map(|turn| &turn.path.pieces[..])
                .collect::<Vec<_>>();
            drive.searched(&leaving(from), &coming_in(to), &shapes)
        });
        self.known
            .insert(link, Known::searched(chains::cheaper(rough, turn)));
        true
    }

    /// Works out roughly those of some links that are unknown: those from one node to the lines
    /// of the next direction one after another, each driven after the one before.
    fn work_out(
        &mut self,
        links: &[Link],
        runs: [&Vec<Option<Run>>; 2],
        lines: &[usize],
        drive: Drive<'_>,
    ) {
        let mut chains: BTreeMap<(Node, usize), Vec<Node>> = BTreeMap::new();
        for &(from, to) in links {
            let is_open = self.least[from][to] < FORBIDDEN;
            if is_open && !self.known.contains_key(&(from, to)) {
                chains.entry((from, to % 2)).or_default().push(to);
            }
        }
        for chain in chains.values_mut() {
            chain.sort_unstable_by_key(|&to| (lines[to / 2], to));
        }
        let is_rough = drive.refines;
        let drive = drive.unrefined();
        let chains: Vec<(Node, Vec<Node>)> = chains
            .into_iter()
            .map(|((from, _), to)| (from, to))
            .collect();
        let least = &self.least;
        let found = chains.par_iter().flat_map_iter(|(from, chain)| {
            let ends = chain.iter().filter_map(|&to| {
                let (a, b) = (runs[0][*from].as_ref()?, runs[1][to].as_ref()?);
                let least_m = metres(least[*from][to]);
                Some(((*from, to), least_m, leaving(a), coming_in(b)))
            });
            chains::worked_out(ends, None, LOOSE, &drive)
        });
        let mut found: Vec<(Link, Known)> = found.collect();
        if is_rough {
            // By lesser means than there are.
            for (_, known) in &mut found {
                known.is_searched = false;
            }
        }
        self.known.extend(found);
    }
}

/// The cuts of all directions; to those of one all ends of the others are near.
fn odd_cuts(links: &[&mut Links<'_>]) -> Vec<FarEnds> {
    let parts_of = |links: &&mut Links<'_>| links.table().least.places().len();
    let parts: usize = links.iter().map(parts_of).sum();
    let mut before = 0;
    let mut cuts = Vec::new();
    for links in links {
        for own in links.table().least.odd_cuts() {
            let mut far = vec![[false; 2]; parts];
            far[before..before + own.len()].copy_from_slice(own);
            cuts.push(far);
        }
        before += parts_of(links);
    }
    cuts
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::drive;
    use super::super::gates::Gate;
    use super::super::parts::Parts;
    use super::super::turn::Weights;
    use super::*;
    use crate::job::{self, model, template};
    use crate::plan::plan;

    /// What the orders of the parts from one node to another cost at least, by the node that they
    /// end with: dynamic programming over subsets. `start` is what it costs to begin with each.
    fn least_ends(costs: &Costs, nodes: std::ops::Range<Node>, start: &[i64]) -> Vec<i64> {
        let (first, count) = (nodes.start, nodes.len());
        let parts = count / 2;
        let mut least = vec![vec![FORBIDDEN; count]; 1 << parts];
        for node in 0..count {
            least[1 << (node / 2)][node] = start[node];
        }
        for set in 1..1_usize << parts {
            for to in (0..count).filter(|to| set & (1 << (to / 2)) == 0) {
                let ways =
                    (0..count).map(|from| least[set][from] + costs.cost(first + from, first + to));
                let cheapest = ways.min().unwrap();
                let with = set | (1 << (to / 2));
                least[with][to] = least[with][to].min(cheapest);
            }
        }
        least.swap_remove((1 << parts) - 1)
    }

    /// The least that any order of two directions costs.
    fn least_of_both(costs: &Costs, second: Node) -> i64 {
        let start: Vec<i64> = (0..second).map(|node| costs.start(node)).collect();
        let ends = least_ends(costs, 0..second, &start);
        let start: Vec<i64> = (second..costs.nodes())
            .map(|to| {
                (0..second)
                    .map(|from| ends[from] + costs.cost(from, to))
                    .min()
                    .unwrap()
            })
            .collect();
        let ends = least_ends(costs, second..costs.nodes(), &start);
        let whole = ends.iter().enumerate();
        whole
            .map(|(node, cost)| cost + costs.end(second + node))
            .min()
            .unwrap()
    }

    /// Four and four parts are ordered exactly, seven and seven by sweeps, thirteen and thirteen
    /// beginning with what each direction's bound stands on.
    #[test]
    fn the_exact_best_of_two_directions_lies_between_bound_and_cost() {
        for (side_m, count) in [(12.0, 8), (21.0, 14), (39.0, 26)] {
            let size_m = model::Size {
                length_m: side_m,
                width_m: side_m,
            };
            let text = template::job_text("Example", size_m);
            let mut job = job::read("job.toml", &text, |_| unreachable!("no ground file")).unwrap();
            job.settings.routes = false;
            job.operations.truncate(1);
            let operation = &mut job.operations[0];
            operation.zones = vec!["all".to_owned()];
            operation.directions = vec![model::Direction::Along, model::Direction::Across];
            operation.implement.working_width_m = 3.0;
            operation.implement.overlap_m = 0.0;
            let planned = plan(&job).unwrap();
            let terrain = drive::terrain(&planned.ground);
            let machine = drive::machine(&planned.operations[0].operation).unwrap();
            let weights = Weights {
                on_pitch: 2.0,
                change_m: 5.0,
            };
            let drive = Drive {
                machine: &machine,
                terrain: &terrain,
                weights: &weights,
                refines: true,
            };
            let mut gate = Gate::Free;
            let mut orders = Vec::new();
            let mut each = Vec::new();
            let mut kept = Vec::new();
            for (index, direction) in planned.operations[0].directions.iter().enumerate() {
                let parts = Parts::of(index, &direction.passes, drive);
                let gates = [gate.clone(), Gate::Free];
                let mut links = Links::new(drive, parts.places, parts.runs, gates, usize::MAX);
                let found =
                    search::search(&mut links, Order::Shortest, Effort::Normal, None).unwrap();
                let last = *found.order.last().unwrap();
                gate = Gate::After(Box::new(links.table().run(last).unwrap().clone()));
                orders.push(found.order);
                kept.extend(found.multipliers);
                each.push(links);
            }
            let mut joint = Joint::of(each.iter_mut().collect(), &orders);
            joint.multipliers =
                (count > 24).then(|| KeptMultipliers::in_turn(&[&kept[0], &kept[1]]));
            assert_eq!(joint.places.len(), count);
            let order = joint.whole(&orders);
            let alone = joint.lowered().order_cost(&order);
            assert!(joint.is_drivable(&order));
            let found = search::bounded(&mut joint, order, Order::Shortest, Effort::Normal, ENOUGH);
            let costs = joint.lowered();
            let (bound, best) = (
                found.lower_bound.unwrap(),
                least_of_both(&costs, joint.first[1]),
            );
            assert!(bound <= best && best <= found.cost && found.cost <= alone);
            assert_eq!(costs.order_cost(&found.order), found.cost);
            assert!(
                found.cost - bound <= found.cost / 50,
                "{bound} {}",
                found.cost
            );
            assert_eq!(joint.parted(&found.order).unwrap().len(), 2);
        }
    }
}
