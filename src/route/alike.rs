//! What makes two links alike: at which sides of the ground their ends lie, driven which way, and
//! how many lines apart.

use std::collections::BTreeMap;

/// The sides of the ground that two ends are nearest to, 0 to 3.
pub(super) type Sides = (u8, u8);

/// A chain of links: driven which way out of a part and into the next, and over how many lines.
pub(super) type Chain = (bool, bool, isize);

/// How many times their least costs the links of chains cost, by where they lie in them: from 0 at
/// the first line to 1 at the last.
#[derive(Debug, Clone, Default)]
pub(super) struct Along(BTreeMap<Chain, Vec<(f64, f64)>>);

impl Along {
    /// Of links as (chain, place, times their least cost).
    pub(super) fn of(links: impl IntoIterator<Item = (Chain, f64, f64)>) -> Self {
        let mut chains: BTreeMap<Chain, Vec<(f64, f64)>> = BTreeMap::new();
        for (chain, place, times) in links {
            chains.entry(chain).or_default().push((place, times));
        }
        for chain in chains.values_mut() {
            chain.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        Self(chains)
    }

    /// At a place of a chain, between the two links known that are nearest; `None` where nothing
    /// of the chain is known.
    pub(super) fn at(&self, chain: Chain, place: f64) -> Option<f64> {
        let known = self.0.get(&chain)?;
        let next = known.partition_point(|(other, _)| *other < place);
        let after = known.get(next);
        let before = next.checked_sub(1).map(|last| &known[last]);
        match (before, after) {
            (Some(&(low, a)), Some(&(high, b))) => {
                let share = (place - low) / (high - low);
                Some((b - a).mul_add(share, a))
            }
            (only, None) | (None, only) => only.map(|(_, times)| *times),
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

/// True cost over least cost, averaged.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Ratio {
    pub(super) sum: f64,
    pub(super) count: f64,
}

impl Ratio {
    pub(super) fn of<'a>(all: impl IntoIterator<Item = &'a Self>) -> Self {
        all.into_iter().fold(Self::default(), |a, b| Self {
            sum: a.sum + b.sum,
            count: a.count + b.count,
        })
    }

    pub(super) fn mean(self) -> f64 {
        if self.count > 0.0 {
            self.sum / self.count
        } else {
            1.0
        }
    }
}

/// What is known of how many times their least costs links cost.
#[derive(Debug, Clone, Default)]
pub(super) struct Ratios {
    classes: BTreeMap<Class, Ratio>,
    along: Along,
}

impl Ratios {
    /// Of links, each with its class, its chain, its place there, and how many times its least it
    /// costs.
    pub(super) fn of(links: impl IntoIterator<Item = (Class, Chain, f64, f64)>) -> Self {
        let mut classes: BTreeMap<Class, Ratio> = BTreeMap::new();
        let mut in_chains = Vec::new();
        for (class, chain, place, times) in links {
            let ratio = classes.entry(class).or_default();
            ratio.sum += times;
            ratio.count += 1.0;
            in_chains.push((chain, place, times));
        }
        Self {
            classes,
            along: Along::of(in_chains),
        }
    }

    /// Between the nearest links of its chain.
    pub(super) fn in_chain(&self, chain: Chain, place: f64) -> Option<f64> {
        self.along.at(chain, place)
    }

    /// That of links alike.
    pub(super) fn of_class(&self, class: Class) -> Option<f64> {
        self.classes.get(&class).map(|ratio| ratio.mean())
    }

    /// That of all links.
    pub(super) fn of_all(&self) -> Option<f64> {
        let all = Ratio::of(self.classes.values());
        (!self.classes.is_empty()).then(|| all.mean())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn along_a_chain_it_is_told_between_the_nearest_known() {
        let chain = (false, true, 2);
        let known = [(0.5, 3.0), (0.0, 1.0), (1.0, 3.5)];
        let along = Along::of(known.map(|(place, times)| (chain, place, times)));
        for (place, times) in [(0.0, 1.0), (0.25, 2.0), (0.5, 3.0), (0.9, 3.4), (2.0, 3.5)] {
            assert_abs_diff_eq!(
                along.at(chain, place).unwrap_or_default(),
                times,
                epsilon = 1e-12
            );
        }
        assert_eq!(along.at((true, true, 2), 0.5), None);
    }
}
