//! The order of one direction's parts and what no order can be cheaper than, on a table of
//! links that is worked out as it is needed.
//!
//! 1. Links between near lines, and the ways in and out, are worked out roughly.
//! 2. An order is sought, with what is unknown guessed; its links are searched by all means,
//!    and so on until an order uses searched links only. (With quick effort no turn is moved to
//!    its least until the order stands.)
//! 3. Then the same on the table in which unknown links stand at their least cost: each round
//!    gives a bound, searches what its order uses and, while that still raises the bound, works
//!    out the links that keep it low. With normal effort all is done once the gap is small enough.
//! 4. On that table the order and the bound that count are found; where a cheaper order uses links
//!    that are not searched yet they are, and it is found again if that changed much. What of the
//!    order was not searched then is searched, and the bound made lower by what any order can thereby
//!    have become cheaper.
//!
//! Rounds are counted, never timed.

use super::link_table::spacing_m;
use super::links::{LOOSE, Link, Links};
use super::machine::Machine;
use super::order::{
    self, Begin, BoundMethod, Costs, Effort, FORBIDDEN, KeptMultipliers, Node, Place, Solved,
};
use crate::job::model::Order;

/// Links that are worked out as they are needed: those of one direction, or of several together.
pub(super) trait Learnt {
    /// The table of what is known; the rest at its least cost.
    fn lowered(&self) -> Costs;
    /// Multipliers that make a good bound already, where there are any.
    fn multipliers(&self) -> Option<&KeptMultipliers> {
        None
    }
    /// Whether the cost of a link is known, if only roughly.
    fn is_known(&self, link: Link) -> bool;
    /// Whether all links of an order, and its ways in and out, are known and can be driven.
    fn is_drivable(&self, order: &[Node]) -> bool;
    /// Searches the links of an order and its ways in and out by all means; whether any was new.
    fn search_all(&mut self, order: &[Node]) -> bool;
    /// Works out roughly those of some links that are unknown and can be driven at all.
    fn work_out_roughly(&mut self, links: &[Link]);
}

impl Learnt for Links<'_> {
    fn lowered(&self) -> Costs {
        self.table().lowered()
    }

    fn is_known(&self, link: Link) -> bool {
        self.table().is_known(link)
    }

    fn is_drivable(&self, order: &[Node]) -> bool {
        self.table().is_drivable(order)
    }

    fn search_all(&mut self, order: &[Node]) -> bool {
        let is_new = self.search_of(order);
        self.search_ways_of(order) || is_new
    }

    fn work_out_roughly(&mut self, links: &[Link]) {
        self.work_out(links, LOOSE);
    }
}

/// Rounds of step 2 at most; then the order is taken whose links are known or can be.
const MOST_GUESSES: usize = 16;

/// The same for orders that are touched up only.
const FIRST_GUESSES: usize = 3;

/// The same after those, by better means.
const LAST_GUESSES: usize = 4;

/// Rounds of step 3 for each one that works out links beyond its order's.
const ROUNDS_PER_BOUND: usize = 3;

/// So many links beyond its order's are worked out in such a round at most: where lines are narrow
/// a bound stands on many.
const LINKS_LEARNT: usize = 1_000;

/// The same by the nodes of the table; the more of both counts.
const LINKS_LEARNT_PER_NODE: usize = 8;

/// So often at most is the order that counts sought, where it uses links that are not searched.
const LAST_ROUNDS: usize = 3;

/// A gap of one part in so many of the cost is small enough.
const ENOUGH: i64 = 200;

/// A rise of the bound by one part in so many is worth another round.
const WORTH: i64 = 1_000;

/// Between lines this many apart or more no links are worked out roughly, however near the lines
/// lie to each other.
const MOST_APART: usize = 60;

/// An order with its cost and bound.
#[derive(Debug, Clone)]
pub struct Found {
    /// Nodes in the order driven; every link known.
    pub order: Vec<Node>,
    /// Tenths of a millimetre, ways in and out included.
    pub cost: i64,
    /// What no order costs less than, by the least costs of the links that are not known;
    /// `None` where the effort makes none.
    pub lower_bound: Option<i64>,
    /// How the bound was found.
    pub method: BoundMethod,
    /// What it stands on; `None` where there is none, and for few parts.
    pub(super) multipliers: Option<KeptMultipliers>,
}

impl Found {
    /// Searches what of the order was not searched, and takes a bound of an earlier table, less what
    /// any order can have become cheaper by since.
    fn close(&mut self, (table, solved): (&Costs, &Solved), links: &mut impl Learnt) {
        links.search_all(&self.order);
        let lowered = links.lowered();
        let lower_bound = solved.lower_bound.min(table.order_cost(&self.order));
        self.cost = lowered.order_cost(&self.order);
        self.lower_bound = Some((lower_bound - table.most_fallen(&lowered)).max(0));
        self.method = solved.method;
        self.multipliers.clone_from(&solved.multipliers);
    }

    /// Takes an order that costs less, all of whose links are known.
    fn take(&mut self, order: Vec<Node>, links: &impl Learnt) {
        if links.is_drivable(&order) {
            let cost = links.lowered().order_cost(&order);
            if cost < self.cost {
                (self.order, self.cost) = (order, cost);
            }
        }
    }
}

/// What an effort means here.
struct Rounds {
    /// Links between lines fewer than this apart are worked out roughly.
    apart: Apart,
    /// The same for a machine that may reverse: it turns within few lines, and to search one of
    /// its turns takes ten times as long.
    apart_reversing: Apart,
    /// How much dearer than a searched turn a followed one may be, as a share.
    slack: f64,
    /// The links from every so many lines, and the ways in and out of every so many parts, are
    /// worked out roughly.
    every: [usize; 2],
    /// Rounds of step 3 that work out links beyond their order's.
    bounds: usize,
    /// Whether no more is looked for once a gap is small enough.
    leaves_off: bool,
}

/// How far apart lines are, by count and by what a machine needs to turn: the more of both counts.
struct Apart {
    lines: usize,
    /// Times the greater turning radius.
    radii: f64,
}

const fn rounds(effort: Effort) -> Rounds {
    match effort {
        Effort::Quick => Rounds {
            apart: Apart {
                lines: 8,
                radii: 6.0,
            },
            apart_reversing: Apart {
                lines: 5,
                radii: 2.5,
            },
            slack: LOOSE,
            every: [4, 8],
            bounds: 0,
            leaves_off: false,
        },
        Effort::Normal => Rounds {
            apart: Apart {
                lines: 12,
                radii: 6.5,
            },
            apart_reversing: Apart {
                lines: 6,
                radii: 3.0,
            },
            slack: 0.02,
            every: [1, 1],
            bounds: 6,
            leaves_off: true,
        },
        Effort::Thorough => Rounds {
            apart: Apart {
                lines: 16,
                radii: 8.0,
            },
            apart_reversing: Apart {
                lines: 6,
                radii: 3.0,
            },
            slack: 0.01,
            every: [1, 1],
            bounds: 40,
            leaves_off: false,
        },
    }
}

/// Links between lines fewer than this apart are worked out roughly.
fn apart(effort: Effort, machine: &Machine, spacing_m: f64) -> usize {
    let means = rounds(effort);
    let apart = if machine.can_reverse {
        means.apart_reversing
    } else {
        means.apart
    };
    let most_m = machine.radii.left_m.max(machine.radii.right_m);
    // A single line has none beside it; lines no distance apart would have all.
    let to_turn = (apart.radii * most_m / spacing_m)
        .ceil()
        .min(MOST_APART as f64);
    apart.lines.max(to_turn as usize)
}

/// Links between lines fewer than this apart need their true least costs: all of them where a
/// bound is made.
pub(super) fn near(effort: Effort, machine: &Machine, places: &[Place]) -> usize {
    match effort {
        Effort::Quick => apart(effort, machine, spacing_m(places)),
        Effort::Normal | Effort::Thorough => usize::MAX,
    }
}

/// The order of the parts of these links, with its bound where the effort makes one.
#[must_use]
pub fn search(
    links: &mut Links<'_>,
    how: Order,
    effort: Effort,
    warm: Option<&[Node]>,
) -> Option<Found> {
    let means = rounds(effort);
    let spacing_m = spacing_m(links.table().least.places());
    let apart = apart(effort, links.drive().machine, spacing_m);
    links.rough(apart, means.slack, means.every);
    // Without a bound an order that is touched up is nearly as good, and told much sooner.
    let (seek, guesses): (Seek, usize) = if means.bounds == 0 {
        (touched_up, FIRST_GUESSES)
    } else {
        (quickly, MOST_GUESSES)
    };
    let mut kept = None;
    let (mut order, _) = settled(links, how, warm, guesses, seek, &mut kept)?;
    if means.bounds == 0 {
        (order, _) = settled(links, how, Some(&order), LAST_GUESSES, quickly, &mut kept)?;
    }
    links.refine(&order);
    Some(bounded(links, order, how, effort, ENOUGH))
}

/// An order with a bound, and a cheaper one where there is one and that is asked for; as it is
/// where the effort makes no bound. With normal effort a gap of one part in `enough` will do.
pub(super) fn bounded(
    links: &mut impl Learnt,
    order: Vec<Node>,
    how: Order,
    effort: Effort,
    enough: i64,
) -> Found {
    let means = rounds(effort);
    let will_do = |cost: i64, bound: i64| means.leaves_off && cost - bound <= cost / enough;
    let mut found = Found {
        cost: links.lowered().order_cost(&order),
        order,
        lower_bound: None,
        method: BoundMethod::Multipliers,
        multipliers: None,
    };
    if means.bounds == 0 {
        return found;
    }
    let mut bound = 0;
    let mut kept: Option<KeptMultipliers> = None;
    for round in 0..ROUNDS_PER_BOUND * means.bounds {
        let table = links.lowered();
        let warm = Some(&found.order[..]);
        let begin = match (&kept, links.multipliers()) {
            (Some(kept), _) => Begin::Near(kept),
            (None, Some(known)) => Begin::With(known),
            (None, None) => Begin::Anew,
        };
        let Ok(solved) = order::look_over(&table, warm, begin) else {
            break;
        };
        if solved.multipliers.is_some() {
            kept.clone_from(&solved.multipliers);
        }
        let has_risen = solved.lower_bound > bound + bound / WORTH;
        bound = solved.lower_bound;
        // Few parts are ordered exactly, which takes no time.
        if solved.links.is_some() && will_do(found.cost, bound) {
            found.close((&table, &solved), links);
            if (found.lower_bound).is_some_and(|bound| will_do(found.cost, bound)) {
                return found;
            }
            found.lower_bound = None;
        }
        let widely = has_risen && round < means.bounds;
        let is_new = learn(links, &solved, found.cost, widely);
        if how == Order::Shortest {
            found.take(solved.order, links);
        }
        if !is_new {
            break;
        }
    }
    for round in 1..=LAST_ROUNDS {
        let table = links.lowered();
        let begin = kept.as_ref().map_or(Begin::Anew, Begin::Near);
        let Ok(solved) = order::solve_by(&table, effort, Some(&found.order), begin) else {
            break;
        };
        let is_promising = how == Order::Shortest && solved.cost < found.cost;
        let is_new = is_promising && round < LAST_ROUNDS && links.search_all(&solved.order);
        if is_promising {
            found.take(solved.order.clone(), links);
        }
        let has_changed = || {
            let has_fallen = table.most_fallen(&links.lowered()) > found.cost / WORTH;
            has_fallen || found.cost > solved.cost
        };
        if is_new && has_changed() {
            kept = solved.multipliers;
            continue;
        }
        found.close((&table, &solved), links);
        break;
    }
    found
}

/// Searches the links of a bound's order and, where that is wanted `widely`, works out roughly
/// those that keep the bound low; whether there were any.
fn learn(links: &mut impl Learnt, solved: &Solved, cost: i64, widely: bool) -> bool {
    let mut is_new = links.search_all(&solved.order);
    if widely {
        let nodes = 2 * solved.order.len();
        let mut low: Vec<(i64, Node, Node)> = Vec::new();
        for from in 0..nodes {
            for to in 0..nodes {
                if from / 2 != to / 2 && !links.is_known((from, to)) {
                    // Few parts are ordered exactly, and any of their links may keep it low.
                    let bounds = solved.links.as_ref();
                    let at_least = bounds.map_or(0, |bounds| bounds.at_least(from, to));
                    if at_least < cost {
                        low.push((at_least, from, to));
                    }
                }
            }
        }
        low.sort_unstable();
        let low = low
            .iter()
            .take(LINKS_LEARNT.max(LINKS_LEARNT_PER_NODE * nodes))
            .map(|&(_, from, to)| (from, to));
        let mut low: Vec<Link> = low.collect();
        low.sort_unstable();
        links.work_out_roughly(&low);
        is_new |= !low.is_empty();
    }
    is_new
}

/// A first answer: an order whose turns are driven after earlier ones, where that will do. `warm`
/// is the order found then, of these parts or others.
pub(super) fn first(links: &mut Links<'_>, how: Order, warm: &[Node]) -> Option<Found> {
    let (order, cost) = settled(links, how, Some(warm), FIRST_GUESSES, touched_up, &mut None)?;
    Some(Found {
        order,
        cost,
        lower_bound: None,
        method: BoundMethod::Multipliers,
        multipliers: None,
    })
}

/// An order that uses known links only, sought on guesses until it does or they are spent; with
/// its cost.
fn settled(
    links: &mut Links<'_>,
    how: Order,
    warm: Option<&[Node]>,
    guesses: usize,
    seek: Seek,
    kept: &mut Option<KeptMultipliers>,
) -> Option<(Vec<Node>, i64)> {
    let mut best: Option<(Vec<Node>, i64)> = None;
    let may_stay = |order: &&[Node]| how == Order::Shortest && links.takes_all(order);
    if let Some(order) = warm.filter(may_stay) {
        links.search_all(order);
        let cost = links.table().lowered().order_cost(order);
        best = Some((order.to_vec(), cost));
    }
    for _ in 0..guesses {
        let warm = best.as_ref().map(|best| &best.0[..]);
        let order = ordered(&links.guessed(), how, warm, seek, kept)?;
        let is_new = links.search_all(&order);
        let cost = links.table().lowered().order_cost(&order);
        if best.as_ref().is_none_or(|best| cost < best.1) {
            best = Some((order, cost));
        }
        if !is_new {
            break;
        }
    }
    best.filter(|(_, cost)| *cost < FORBIDDEN)
}

/// How an order is sought on a table, with one that the caller has, and by multipliers that were
/// found for the table as it was before.
type Seek = fn(&Costs, Option<&[Node]>, &mut Option<KeptMultipliers>) -> Option<Vec<Node>>;

/// An order found before, touched up; without one, sought with little effort.
fn touched_up(
    costs: &Costs,
    warm: Option<&[Node]>,
    kept: &mut Option<KeptMultipliers>,
) -> Option<Vec<Node>> {
    match warm {
        Some(warm) => Some(order::touched_up(costs, warm)),
        None => quickly(costs, None, kept),
    }
}

/// An order sought with little effort.
fn quickly(
    costs: &Costs,
    warm: Option<&[Node]>,
    kept: &mut Option<KeptMultipliers>,
) -> Option<Vec<Node>> {
    let begin = kept.as_ref().map_or(Begin::Anew, Begin::With);
    let solved = order::solve_by(costs, Effort::Quick, warm, begin).ok()?;
    *kept = solved.multipliers;
    Some(solved.order)
}

/// An order of the kind asked for.
fn ordered(
    costs: &Costs,
    how: Order,
    warm: Option<&[Node]>,
    seek: Seek,
    kept: &mut Option<KeptMultipliers>,
) -> Option<Vec<Node>> {
    let by_habit = match how {
        Order::Shortest => None,
        Order::Neighbour => order::neighbour(costs),
        Order::Lands => order::lands(costs),
    };
    match by_habit {
        Some((order, _)) => Some(order),
        None => seek(costs, warm, kept),
    }
}

#[cfg(test)]
mod tests {
    use super::super::machine::Body;
    use super::super::path::Radii;
    use super::*;

    #[test]
    fn the_nearer_the_lines_the_more_of_them_are_within_a_turn() {
        let mut machine = Machine {
            radii: Radii {
                left_m: 2.0,
                right_m: 3.0,
            },
            body: Body {
                width_m: 1.5,
                ahead_m: 2.4,
                behind_m: 0.9,
            },
            tool_width_m: 1.0,
            reach_m: 1.0,
            can_reverse: false,
        };
        let normal = |machine: &Machine, spacing_m| apart(Effort::Normal, machine, spacing_m);
        // 6.5 times the greater radius is 19.5 m.
        assert_eq!(normal(&machine, 2.0), 12);
        assert_eq!(normal(&machine, 0.5), 39);
        assert_eq!(normal(&machine, 0.1), MOST_APART);
        assert_eq!(normal(&machine, 0.0), MOST_APART);
        assert_eq!(normal(&machine, f64::INFINITY), 12);
        machine.can_reverse = true;
        assert_eq!(normal(&machine, 2.0), 6);
        assert_eq!(normal(&machine, 0.5), 18);
    }
}
