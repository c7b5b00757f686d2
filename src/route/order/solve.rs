//! The search as a whole: from a table and an effort to an order and a bound.

use super::costs::{Costs, FORBIDDEN, Node};
use super::habit::{lands, neighbour};
use super::improve::{improved, shaken};
use super::kept::KeptMultipliers;
use super::links::LinkBounds;
use super::profile::{NEVER, Profile};
use super::programme::{self, Rounds};
use super::reduced::{Multipliers, PerSet, Reduced, SETS};
use super::small::{SmallOrder, exact_small};
use super::sweep::{Side, Sweep, swept};
use super::table::Table;
use crate::job::model::Effort;

/// Nearer than one part in so many the order counts as proved, and the search ends.
const PROVED: i64 = 10_000;
/// Nearer than one part in so many (1.1 per cent) is near enough to spare the extra sweeps.
const NEAR: i64 = 90;

/// With more parts than this narrow sweeps go first: their tours, improved, are far better
/// upper bounds than the first ones, and spare the wide sweeps many states; and of the first
/// tours only the cheapest is improved.
const MANY: usize = 120;
/// With fewer parts than this sweeps are as many times wider: they make as many states.
const FEW: usize = 90;
/// The widths of those narrow sweeps.
const NARROW: [usize; 2] = [50, 100];

/// Where a bound comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BoundMethod {
    /// Dynamic programming over subsets: the order is the best.
    Subsets,
    /// Multipliers alone.
    Multipliers,
    /// Multipliers and sweeps.
    Sweep,
}

impl BoundMethod {
    /// The word written in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Subsets => "subsets",
            Self::Multipliers => "multipliers",
            Self::Sweep => "sweep",
        }
    }
}

/// An order, its cost and what no order can be cheaper than.
#[derive(Debug)]
pub struct Solved {
    /// The nodes in the order in which they are driven, each part once.
    pub order: Vec<Node>,
    /// Its cost, ways in and out included, tenths of a millimetre.
    pub cost: i64,
    /// What every order costs at least, tenths of a millimetre; never above `cost`.
    pub lower_bound: i64,
    /// Where the bound comes from.
    pub method: BoundMethod,
    /// What each link brings with it; `None` for the few parts that are ordered exactly.
    pub links: Option<LinkBounds>,
    /// What the bound stands on, for other tables; `None` as well.
    pub multipliers: Option<KeptMultipliers>,
}

impl Solved {
    /// (cost - bound) / cost, 0 where the cost is 0.
    #[must_use]
    pub fn gap(&self) -> f64 {
        if self.cost == 0 {
            0.0
        } else {
            (self.cost - self.lower_bound) as f64 / self.cost as f64
        }
    }

    /// Whether no order is cheaper.
    #[must_use]
    pub const fn is_best(&self) -> bool {
        self.lower_bound >= self.cost
    }
}

/// Where multipliers come from. Those that are kept are of a table much like the one at hand;
/// where they are of other than so many parts all is found anew.
#[derive(Debug, Clone, Copy)]
pub enum Begin<'k> {
    /// From a programme of their own.
    Anew,
    /// From a programme that begins with the links that these leave cheapest and takes their rows.
    Near(&'k KeptMultipliers),
    /// These are taken as they are.
    With(&'k KeptMultipliers),
}

impl Begin<'_> {
    /// The multipliers without and with cuts.
    pub(super) fn multipliers(self, table: &Table, means: &Means) -> PerSet<Multipliers> {
        let near = match self {
            Self::Anew => None,
            Self::Near(kept) => kept.inner(table),
            Self::With(kept) => match kept.inner(table) {
                Some(known) => return known,
                None => None,
            },
        };
        let rounds = match (&near, means.rounds_near) {
            (Some(_), Some(rounds)) => rounds,
            _ => means.rounds,
        };
        let mut found = programme::multipliers(table, rounds, near.as_ref());
        let last = found.last().cloned().unwrap_or_default();
        found.resize(SETS, last);
        std::array::from_fn(|set| std::mem::take(&mut found[set]))
    }
}

/// That no order was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoOrder {
    /// Whether it is proven that none exists; else the effort was too small to tell.
    pub is_proven: bool,
}

/// What an effort means.
#[derive(Debug, Clone, Copy)]
pub(super) struct Means {
    /// Widths of the sweeps, the side changing with each.
    pub(super) widths: &'static [usize],
    /// How many of the sweeps are always made; the others only while the gap is not near.
    pub(super) always: usize,
    /// Those others are made as long as all have so many states at most: parts times widths.
    pub(super) most_states: usize,
    pub(super) rounds: Rounds,
    /// Where the programme begins near multipliers that are known; `None`: as many.
    pub(super) rounds_near: Option<Rounds>,
    /// The longest shorter one, in parts, of two stretches that change places.
    pub(super) reach: usize,
    /// So many times for each part the best tour is shaken, where sweeps leave a gap.
    pub(super) shakes: usize,
}

impl Effort {
    pub(super) const fn means(self) -> Means {
        match self {
            Self::Quick => Means {
                widths: &[100],
                always: 1,
                most_states: usize::MAX,
                rounds: Rounds::of(3, 0),
                rounds_near: None,
                reach: 3,
                shakes: 0,
            },
            Self::Normal => Means {
                widths: &[300, 2_000, 4_000, 4_000, 10_000, 10_000, 20_000, 20_000],
                always: 2,
                most_states: 9_200_000,
                rounds: Rounds::of(4, 5),
                rounds_near: Some(Rounds::of(4, 6)),
                reach: 3,
                shakes: 5,
            },
            Self::Thorough => Means {
                widths: &[
                    300, 1_500, 3_000, 3_000, 10_000, 10_000, 30_000, 30_000, 100_000, 100_000,
                ],
                always: 10,
                most_states: usize::MAX,
                rounds: Rounds::of(5, 6),
                rounds_near: None,
                reach: 10,
                shakes: 20,
            },
        }
    }
}

/// The best order found with this effort, and a bound for all orders. `warm` is an order the
/// caller has, from an earlier plan say: the result is not dearer.
///
/// # Errors
///
/// Where no order of drivable links was found; the value says whether none exists.
pub fn solve(costs: &Costs, effort: Effort, warm: Option<&[Node]>) -> Result<Solved, NoOrder> {
    solve_by(costs, effort, warm, Begin::Anew)
}

/// The same, with multipliers from where `begin` says.
///
/// # Errors
///
/// As [`solve`].
pub fn solve_by(
    costs: &Costs,
    effort: Effort,
    warm: Option<&[Node]>,
    begin: Begin<'_>,
) -> Result<Solved, NoOrder> {
    match exact_small(costs) {
        SmallOrder::Best(order, cost) => {
            return Ok(Solved {
                order,
                cost,
                lower_bound: cost,
                method: BoundMethod::Subsets,
                links: None,
                multipliers: None,
            });
        }
        SmallOrder::None => return Err(NoOrder { is_proven: true }),
        SmallOrder::TooMany => {}
    }
    searched(costs, &effort.means(), warm, begin)
}

/// A quick search with a bound nearly as good as can be had without wide sweeps, for tables
/// that are still being worked out.
///
/// # Errors
///
/// As [`solve`].
pub fn look_over(
    costs: &Costs,
    warm: Option<&[Node]>,
    begin: Begin<'_>,
) -> Result<Solved, NoOrder> {
    const MEANS: Means = Means {
        widths: &[100, 300],
        always: 2,
        most_states: usize::MAX,
        rounds: Rounds::of(3, 4),
        rounds_near: Some(Rounds::of(1, 3)),
        reach: 3,
        shakes: 0,
    };
    match exact_small(costs) {
        SmallOrder::TooMany => searched(costs, &MEANS, warm, begin),
        _ => solve(costs, Effort::Quick, warm),
    }
}

/// An order of a table that was changed here and there, changed for the better while that helps:
/// near the best where the order was for the table before. It is handed back as it is where it
/// takes not each part once.
#[must_use]
pub fn touched_up(costs: &Costs, order: &[Node]) -> Vec<Node> {
    if costs.parts() < 2 || !costs.is_complete(order) {
        return order.to_vec();
    }
    let table = Table::of(costs);
    let tour = improved(
        &table,
        &table.inner_tour(order),
        Effort::Quick.means().reach,
    );
    table.outer_order(&tour)
}

/// The search without the exact way for few parts; two parts at least.
pub(super) fn searched(
    costs: &Costs,
    means: &Means,
    warm: Option<&[Node]>,
    begin: Begin<'_>,
) -> Result<Solved, NoOrder> {
    let table = Table::of(costs);
    let mut best = Best::of(&table, costs, warm, means);
    let sets = begin.multipliers(&table, means);
    let Some(reduced) = Reduced::of(&table, &sets) else {
        return Err(NoOrder { is_proven: true });
    };
    let mut lower = reduced.bound();
    let mut method = BoundMethod::Multipliers;
    let mut far: Option<Profile> = None;
    let mut is_proven = false;
    let narrow: &[usize] = if costs.parts() > MANY { &NARROW } else { &[] };
    let always = narrow.len() + means.always;
    let mut states = 0;
    for (index, &width) in narrow.iter().chain(means.widths).enumerate() {
        let width = width * (FEW / costs.parts()).max(1);
        if index == always {
            best.shake(&table, lower, means);
        }
        let near = if index < always { PROVED } else { NEAR };
        states += width * costs.parts();
        // Where no tour was met yet wider sweeps seldom meet one.
        let most_states = if best.cost < FORBIDDEN {
            means.most_states
        } else {
            means.most_states / 4
        };
        let is_enough = index >= always && states > most_states;
        if is_enough || best.cost - lower <= best.cost / near {
            break;
        }
        let side = if index % 2 == 0 {
            Side::First
        } else {
            Side::Last
        };
        let found = swept(&Sweep {
            table: &table,
            reduced: &reduced,
            side,
            width,
            upper: best.cost.min(FORBIDDEN),
            far: far.as_ref(),
        });
        far = Some(found.profile);
        if let Some((tour, _)) = found.tour {
            best.offer(&table, &tour, means.reach);
        }
        let proven = found.dropped.min(best.cost);
        if proven > lower {
            lower = proven;
            method = BoundMethod::Sweep;
        }
        if index + 1 == narrow.len() && best.cost - lower > best.cost / NEAR {
            let tour = shaken(&table, &best.tour, means.reach, costs.parts());
            best.offer(&table, &tour, means.reach);
        }
        if found.dropped >= NEVER {
            is_proven = true;
            break;
        }
    }
    best.shake(&table, lower, means);
    if best.cost >= FORBIDDEN {
        return Err(NoOrder { is_proven });
    }
    Ok(Solved {
        order: table.outer_order(&best.tour),
        cost: best.cost,
        lower_bound: lower.min(best.cost),
        method,
        links: Some(LinkBounds::new(reduced, &table, costs)),
        multipliers: Some(KeptMultipliers::of(&table, &sets)),
    })
}

/// The best tour so far.
struct Best {
    tour: Vec<usize>,
    cost: i64,
}

impl Best {
    /// The best of a few first tours, each improved.
    fn of(table: &Table, costs: &Costs, warm: Option<&[Node]>, means: &Means) -> Self {
        let as_numbered = (0..costs.parts()).map(|part| 2 * part).collect();
        let mut first = vec![as_numbered];
        first.extend(neighbour(costs).map(|priced| priced.0));
        first.extend(lands(costs).map(|priced| priced.0));
        first.extend(
            warm.filter(|warm| costs.is_complete(warm))
                .map(<[Node]>::to_vec),
        );
        if costs.parts() > MANY {
            first.sort_by_key(|order| costs.order_cost(order));
            first.truncate(1);
        }
        let mut best = Self {
            tour: Vec::new(),
            cost: i64::MAX,
        };
        for order in first {
            best.offer(table, &table.inner_tour(&order), means.reach);
        }
        if best.cost >= FORBIDDEN {
            let tour = shaken(table, &best.tour, means.reach, 100);
            best.offer(table, &tour, means.reach);
        }
        best
    }

    /// Shakes the tour where it is not near a bound: where lines are in pieces, side by side, sweeps
    /// help little.
    fn shake(&mut self, table: &Table, lower: i64, means: &Means) {
        if self.cost - lower > self.cost / NEAR {
            let shakes = means.shakes * self.tour.len();
            let tour = shaken(table, &self.tour, means.reach, shakes);
            self.offer(table, &tour, means.reach);
        }
    }

    fn offer(&mut self, table: &Table, tour: &[usize], reach: usize) {
        let tour = improved(table, tour, reach);
        let cost = table.tour_cost(&tour);
        if cost < self.cost {
            *self = Self { tour, cost };
        }
    }
}
