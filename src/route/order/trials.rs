//! Random tables of few parts: search and bound against the exact order, and that against
//! plain enumeration.
#![allow(clippy::unwrap_used)]

use proptest::prelude::*;

use super::Effort;
use super::costs::{Costs, FORBIDDEN, Node, Place};
use super::kept::KeptMultipliers;
use super::programme::{Rounds, multipliers};
use super::reduced::{Multipliers, Reduced};
use super::small::{SmallOrder, exact_small};
use super::solve::{Begin, Means, NoOrder, searched};
use super::sweep::{Side, Sweep, swept};
use super::table::Table;

/// How a random table is made.
#[derive(Debug, Clone, Copy)]
struct Kind {
    parts: usize,
    /// Links that are forbidden, of a hundred.
    forbidden: u64,
    /// Whether ways in and out cost something and some are forbidden.
    has_depot: bool,
    /// Whether costs grow with the distance of the lines, as turns do.
    is_like_turns: bool,
    seed: u64,
}

fn kinds(parts: std::ops::RangeInclusive<usize>) -> impl Strategy<Value = Kind> {
    let forbidden = prop_oneof![Just(0), Just(20), Just(60), Just(85)];
    (parts, forbidden, any::<bool>(), any::<bool>(), any::<u64>()).prop_map(
        |(parts, forbidden, has_depot, is_like_turns, seed)| Kind {
            parts,
            forbidden,
            has_depot,
            is_like_turns,
            seed,
        },
    )
}

fn table(kind: Kind) -> Costs {
    let mut state = kind.seed | 1;
    let mut below = move |limit: u64| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (state >> 33) % limit
    };
    // Some parts share a line, and numbers do not follow offsets.
    let places = (0..kind.parts)
        .map(|part| Place {
            offset_m: ((part * 7) % kind.parts / 2) as f64,
            position_m: below(100) as f64,
        })
        .collect();
    let mut cost = |from: Node, to: Node| {
        if below(100) < kind.forbidden {
            return FORBIDDEN;
        }
        let apart = (from / 2).abs_diff(to / 2) as u64;
        let same_side = u64::from(from % 2 == to % 2);
        let cost = if kind.is_like_turns {
            60_000 * same_side + 20_000 * apart.abs_diff(3) + below(5_000)
        } else {
            below(200_000)
        };
        cost as i64
    };
    let mut costs = Costs::by_rule(places, &mut cost);
    if kind.has_depot {
        for node in 0..costs.nodes() {
            let (way_in, way_out) = (cost(node, 0), cost(0, node));
            costs.set_start(node, way_in);
            costs.set_end(node, way_out);
        }
    }
    if !kind.is_like_turns {
        // Any cut will do.
        let mut far_ends = || {
            (0..kind.parts)
                .map(|_| [below(2) == 0, below(2) == 0])
                .collect()
        };
        costs.set_odd_cuts(vec![far_ends(), far_ends(), far_ends()]);
    }
    costs
}

/// Sweeps so narrow that nearly everything is dropped, and profiles and bounds must tell.
const NARROW: [&[usize]; 4] = [
    &[1, 1, 1, 1],
    &[2, 3, 2, 5, 7],
    &[10, 10, 20, 20, 40, 40],
    &[1_000],
];

fn means(widths: &'static [usize]) -> Means {
    Means {
        widths,
        always: widths.len(),
        most_states: usize::MAX,
        rounds: Rounds::of(2, 4),
        rounds_near: Some(Rounds::of(1, 2)),
        reach: 1,
        shakes: 0,
    }
}

/// The best cost by trying every order and direction.
fn enumerated(costs: &Costs, order: &mut Vec<Node>) -> i64 {
    if order.len() == costs.parts() {
        return costs.order_cost(order);
    }
    let mut least = FORBIDDEN;
    for node in 0..costs.nodes() {
        if order.iter().all(|&used| used / 2 != node / 2) {
            order.push(node);
            least = least.min(enumerated(costs, order));
            order.pop();
        }
    }
    least
}

/// Searches with all widths; the number of searches that found the best and of all.
fn check(kind: Kind) -> Result<(usize, usize), TestCaseError> {
    let costs = table(kind);
    let best = match exact_small(&costs) {
        SmallOrder::Best(_, cost) => Some(cost),
        _ => None,
    };
    let (mut hits, mut tries) = (0, 0);
    for widths in NARROW {
        match (searched(&costs, &means(widths), None, Begin::Anew), best) {
            (Ok(found), Some(best)) => {
                prop_assert!(costs.is_complete(&found.order));
                prop_assert_eq!(costs.order_cost(&found.order), found.cost);
                prop_assert!(
                    found.lower_bound <= best,
                    "bound {} above {}",
                    found.lower_bound,
                    best
                );
                prop_assert!(found.cost >= best, "cost {} below {}", found.cost, best);
                if let Some(links) = &found.links {
                    let SmallOrder::Best(order, _) = exact_small(&costs) else {
                        continue;
                    };
                    for pair in order.windows(2) {
                        prop_assert!(links.at_least(pair[0], pair[1]) <= best);
                    }
                }
                hits += usize::from(found.cost == best);
                tries += 1;
            }
            (Ok(found), None) => prop_assert!(false, "no order, yet {:?}", found.order),
            (Err(NoOrder { is_proven }), Some(best)) => {
                prop_assert!(!is_proven, "an order of {} was proven not to exist", best);
                tries += 1;
            }
            (Err(_), None) => {}
        }
    }
    Ok((hits, tries))
}

/// Sweeps that know no good tour: what they meet and what they drop must together lie at or
/// below the best. Here nothing covers up for a bound that is too high.
fn check_sweeps(kind: Kind, slack: i64, width: usize) -> Result<(), TestCaseError> {
    let costs = table(kind);
    let SmallOrder::Best(order, best) = exact_small(&costs) else {
        return Ok(());
    };
    let inner = Table::of(&costs);
    let mut found = multipliers(&inner, means(&[1]).rounds, None);
    if kind.seed.is_multiple_of(3) {
        found.clear();
    }
    found.resize(2, Multipliers::default());
    let sets = std::array::from_fn(|set| found[set].clone());
    let reduced = Reduced::of(&inner, &sets).unwrap();
    prop_assert!(reduced.bound() <= best);
    prop_assert_eq!(inner.tour_cost(&inner.inner_tour(&order)), best);
    let mut far = None;
    for turn in 0..6 {
        let side = if turn % 2 == 0 {
            Side::First
        } else {
            Side::Last
        };
        let found = swept(&Sweep {
            table: &inner,
            reduced: &reduced,
            side,
            width: width + turn / 2,
            upper: best + slack,
            far: far.as_ref(),
        });
        let met = found.tour.map_or(best + slack, |tour| tour.1);
        prop_assert!(met >= best);
        prop_assert!(
            met.min(found.dropped) <= best,
            "{} dropped, {} met, best {}",
            found.dropped,
            met,
            best
        );
        far = Some(found.profile);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_exact_order_is_that_of_plain_enumeration(kind in kinds(1..=5)) {
        let costs = table(kind);
        let least = enumerated(&costs, &mut Vec::new());
        match exact_small(&costs) {
            SmallOrder::Best(order, cost) => {
                prop_assert_eq!(cost, least);
                prop_assert_eq!(costs.order_cost(&order), least);
                prop_assert!(costs.is_complete(&order));
            }
            other => {
                prop_assert_eq!(other, SmallOrder::None);
                prop_assert!(least >= FORBIDDEN);
            }
        }
    }

    #[test]
    fn what_sweeps_meet_and_drop_is_never_above_the_best(
        kind in kinds(4..=9),
        slack in prop_oneof![Just(1_i64), Just(20_000), Just(200_000), Just(10_000_000)],
        width in 1_usize..12,
    ) {
        check_sweeps(kind, slack, width)?;
    }

    #[test]
    fn the_best_lies_between_bound_and_cost_however_narrow_the_sweeps(kind in kinds(4..=9)) {
        check(kind)?;
    }
}

#[test]
fn multipliers_that_blow_up_are_cut() {
    // Most links forbidden: the programme had no good solution, and its multipliers overflowed.
    let kind = Kind {
        parts: 4,
        forbidden: 85,
        has_depot: true,
        is_like_turns: true,
        seed: 15_418_886_807_135_699_784,
    };
    check(kind).unwrap();
}

#[test]
fn nearly_all_small_cases_end_at_the_best() {
    let (mut hits, mut tries, mut none) = (0, 0, 0);
    for seed in 0..300 {
        let kind = Kind {
            parts: 4 + (seed % 9) as usize,
            forbidden: [0, 20, 50][(seed % 3) as usize],
            has_depot: seed % 2 == 0,
            is_like_turns: seed % 5 < 3,
            seed: seed * 7_919 + 11,
        };
        let costs = table(kind);
        let SmallOrder::Best(_, best) = exact_small(&costs) else {
            none += 1;
            continue;
        };
        let found = searched(&costs, &Effort::Normal.means(), None, Begin::Anew).unwrap();
        assert!(found.lower_bound <= best && found.cost >= best);
        hits += usize::from(found.cost == best);
        tries += 1;
    }
    assert!(
        hits * 100 >= tries * 99,
        "{hits} of {tries} at the best, {none} without an order"
    );
}

/// One table that has the parts of two, the first's before the second's, with links from each of
/// the first to each of the second.
fn in_turn(first: &Costs, second: &Costs) -> Costs {
    let count = first.nodes();
    let far = second.places().iter().map(|place| Place {
        offset_m: place.offset_m + 1_000.0,
        ..*place
    });
    let places = first.places().iter().copied().chain(far).collect();
    let mut costs = Costs::by_rule(places, |from, to| match (from < count, to < count) {
        (true, true) => first.cost(from, to),
        (false, false) => second.cost(from - count, to - count),
        (true, false) => (37 * from + 101 * to) as i64 % 700,
        (false, true) => FORBIDDEN,
    });
    for node in 0..costs.nodes() {
        let is_first = node < count;
        let start = if is_first {
            first.start(node)
        } else {
            FORBIDDEN
        };
        let end = if is_first {
            FORBIDDEN
        } else {
            second.end(node - count)
        };
        costs.set_start(node, start);
        costs.set_end(node, end);
    }
    costs
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Those of a table tell the same of it once they were kept; those of two make a bound for both
    /// in turn.
    #[test]
    fn kept_multipliers_make_bounds(one in kinds(3..=6), other in kinds(3..=6)) {
        let each = [table(one), table(other)];
        let mut kept = Vec::new();
        for costs in &each {
            let table = Table::of(costs);
            let sets = Begin::Anew.multipliers(&table, &means(NARROW[0]));
            let own = KeptMultipliers::of(&table, &sets);
            let again = KeptMultipliers::in_turn(&[&own]).inner(&table).unwrap();
            for (again, before) in again.iter().zip(&sets) {
                prop_assert_eq!(
                    Reduced::bound_of(&table, again),
                    Reduced::bound_of(&table, before)
                );
            }
            kept.push(own);
        }
        // Of a table of other parts they tell nothing.
        prop_assert!(kept[0].inner(&Table::of(&in_turn(&each[0], &each[1]))).is_none());
        let costs = in_turn(&each[0], &each[1]);
        let both = KeptMultipliers::in_turn(&[&kept[0], &kept[1]]);
        if let SmallOrder::Best(_, best) = exact_small(&costs) {
            let table = Table::of(&costs);
            for multipliers in both.inner(&table).unwrap() {
                prop_assert!(Reduced::bound_of(&table, &multipliers) <= best);
            }
            for begin in [Begin::With(&both), Begin::Near(&both)] {
                if let Ok(found) = searched(&costs, &means(NARROW[0]), None, begin) {
                    prop_assert!(found.lower_bound <= best && best <= found.cost);
                }
            }
        }
    }
}
