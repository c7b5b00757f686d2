//! What makes two links alike: at which sides of the ground their ends lie, driven which way, and
//! how many lines apart.

use std::collections::BTreeMap;

/// The sides of the ground that two ends are nearest to, 0 to 3.
pub(super) type Sides = (u8, u8);

/// A chain of links: driven which way out of a part and into the next, and over how many lines.
pub(super) type Chain = (bool, bool, isize);

/// How much more than their least costs the links of chains cost, by where they lie in them: from 0
/// at the first line to 1 at the last.
#[derive(Debug, Clone, Default)]
struct Along(BTreeMap<Chain, Vec<(f64, Dearer)>>);

impl Along {
    /// Of links as (chain, place, how much dearer).
    fn of(links: impl IntoIterator<Item = (Chain, f64, Dearer)>) -> Self {
        let mut chains: BTreeMap<Chain, Vec<(f64, Dearer)>> = BTreeMap::new();
        for (chain, place, dearer) in links {
            chains.entry(chain).or_default().push((place, dearer));
        }
        for chain in chains.values_mut() {
            chain.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        Self(chains)
    }

    /// At a place of a chain, between the two links known that are nearest; `None` where nothing
    /// of the chain is known.
    fn at(&self, chain: Chain, place: f64) -> Option<Dearer> {
        let known = self.0.get(&chain)?;
        let next = known.partition_point(|(other, _)| *other < place);
        let after = known.get(next);
        let before = next.checked_sub(1).map(|last| &known[last]);
        match (before, after) {
            (Some(&(low, a)), Some(&(high, b))) => {
                let share = (place - low) / (high - low);
                Some(a.towards(b, share))
            }
            (only, None) | (None, only) => only.map(|(_, dearer)| *dearer),
        }
    }
}

/// Links that are much alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Class {
    pub(super) from: (u8, bool),
    pub(super) to: (u8, bool),
    pub(super) apart: usize,
    pub(super) is_up: bool,
}

/// What is averaged.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Mean {
    pub(super) sum: f64,
    pub(super) count: f64,
}

impl Mean {
    pub(super) fn of(values: impl IntoIterator<Item = f64>) -> Self {
        let mut mean = Self::default();
        for value in values {
            mean.add(value);
        }
        mean
    }

    fn add(&mut self, value: f64) {
        self.sum += value;
        self.count += 1.0;
    }

    fn with(self, other: Self) -> Self {
        Self {
            sum: self.sum + other.sum,
            count: self.count + other.count,
        }
    }

    /// The mean; `none` of nothing.
    pub(super) fn or(self, none: f64) -> f64 {
        if self.count > 0.0 {
            self.sum / self.count
        } else {
            none
        }
    }
}

/// So many times what those alike cost more than their least is on the dear side.
const MORE_TIMES: f64 = 1.5;

/// How much more than its least cost a link costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dearer {
    /// So many times.
    times: f64,
    /// So many metres more.
    more_m: f64,
}

impl Dearer {
    /// Where no link is known.
    pub(super) const UNKNOWN: Self = Self {
        times: 1.0,
        more_m: f64::INFINITY,
    };

    /// What a link of this least cost may cost, metres: as many times it, and a factor more; or,
    /// where it is far longer than those alike, so many metres more, and on the dear side. For what
    /// makes a turn dear lies at its ends, however far they are apart.
    pub(super) fn guess_m(self, least_m: f64, factor: f64) -> f64 {
        let times_m = factor * self.scaled_m(least_m);
        times_m.min(MORE_TIMES.mul_add(self.more_m, least_m))
    }

    /// As many times a cost.
    pub(super) fn scaled_m(self, cost_m: f64) -> f64 {
        self.times * cost_m
    }

    /// This share of the way to another.
    fn towards(self, other: Self, share: f64) -> Self {
        Self {
            times: (other.times - self.times).mul_add(share, self.times),
            more_m: (other.more_m - self.more_m).mul_add(share, self.more_m),
        }
    }
}

/// The mean of several.
#[derive(Debug, Clone, Copy, Default)]
struct Means {
    times: Mean,
    more_m: Mean,
}

impl Means {
    fn with(self, other: Self) -> Self {
        Self {
            times: self.times.with(other.times),
            more_m: self.more_m.with(other.more_m),
        }
    }

    fn dearer(self) -> Dearer {
        Dearer {
            times: self.times.or(Dearer::UNKNOWN.times),
            more_m: self.more_m.or(Dearer::UNKNOWN.more_m),
        }
    }
}

/// What is known of how much more than their least costs links cost.
#[derive(Debug, Clone, Default)]
pub(super) struct Ratios {
    classes: BTreeMap<Class, Means>,
    along: Along,
}

/// A link whose cost is known.
pub(super) struct Costed {
    pub(super) class: Class,
    pub(super) chain: Chain,
    /// Its place in the chain.
    pub(super) place: f64,
    /// What it costs and costs at least, metres; above 0.
    pub(super) cost_m: f64,
    pub(super) least_m: f64,
}

impl Ratios {
    pub(super) fn of(links: impl IntoIterator<Item = Costed>) -> Self {
        let mut classes: BTreeMap<Class, Means> = BTreeMap::new();
        let mut in_chains = Vec::new();
        for link in links {
            let dearer = Dearer {
                times: link.cost_m / link.least_m,
                more_m: link.cost_m - link.least_m,
            };
            let means = classes.entry(link.class).or_default();
            means.times.add(dearer.times);
            means.more_m.add(dearer.more_m);
            in_chains.push((link.chain, link.place, dearer));
        }
        Self {
            classes,
            along: Along::of(in_chains),
        }
    }

    /// Between the nearest links of its chain.
    pub(super) fn in_chain(&self, chain: Chain, place: f64) -> Option<Dearer> {
        self.along.at(chain, place)
    }

    /// Of links alike.
    pub(super) fn of_class(&self, class: Class) -> Option<Dearer> {
        self.classes.get(&class).map(|means| means.dearer())
    }

    /// Of all links.
    pub(super) fn of_all(&self) -> Option<Dearer> {
        let all = self.classes.values().copied().reduce(Means::with);
        all.map(Means::dearer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn along_a_chain_it_is_told_between_the_nearest_known() {
        let chain = (false, true, 2);
        let dearer = |times: f64| Dearer {
            times,
            more_m: 10.0 * times,
        };
        let known = [(0.5, 3.0), (0.0, 1.0), (1.0, 3.5)];
        let along = Along::of(known.map(|(place, times)| (chain, place, dearer(times))));
        for (place, times) in [(0.0, 1.0), (0.25, 2.0), (0.5, 3.0), (0.9, 3.4), (2.0, 3.5)] {
            let found = along.at(chain, place).unwrap_or(Dearer::UNKNOWN);
            assert_abs_diff_eq!(found.times, times, epsilon = 1e-12);
            assert_abs_diff_eq!(found.more_m, 10.0 * times, epsilon = 1e-12);
        }
        assert_eq!(along.at((true, true, 2), 0.5), None);
    }

    #[test]
    fn a_long_way_is_dearer_by_as_much_as_a_short_one() {
        let dearer = Dearer {
            times: 1.5,
            more_m: 10.0,
        };
        assert_abs_diff_eq!(dearer.guess_m(4.0, 1.1), 6.6, epsilon = 1e-12);
        assert_abs_diff_eq!(dearer.guess_m(100.0, 1.1), 115.0);
    }
}
