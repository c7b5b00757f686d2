//! Who gives to whom: the pairing of two sets of places with the least way in sum.
//!
//! The assignment is exact, by Kuhn's method (H. W. Kuhn, 1955; J. Munkres, 1957) from a
//! library, on ways in tenths of a micrometre, so that no rounding decides. Of many givers only
//! those among the nearest of some receiver are offered: with n receivers, one that takes a
//! giver beyond its n nearest would find one of those free, and nearer.

use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;

use crate::space::Xy;

/// Steps of a way in a metre.
const STEPS_PER_M: f64 = 1e7;

/// For each receiver the index of its giver; `None` for those left without, where givers are
/// fewer. As many are paired as can be, and the sum of their ways is the least.
pub(super) fn least_way(receivers: &[Xy], givers: &[Xy]) -> Vec<Option<usize>> {
    let mut pairs = vec![None; receivers.len()];
    let offered = offered(receivers, givers);
    if receivers.is_empty() || offered.is_empty() {
        return pairs;
    }
    // The library wants no more rows than columns.
    if receivers.len() <= offered.len() {
        let ways = ways(receivers.len(), offered.len(), |row, column| {
            way(receivers[row], givers[offered[column]])
        });
        if let Some(ways) = ways {
            for (row, column) in kuhn_munkres_min(&ways).1.into_iter().enumerate() {
                pairs[row] = Some(offered[column]);
            }
        }
    } else {
        let ways = ways(offered.len(), receivers.len(), |row, column| {
            way(givers[offered[row]], receivers[column])
        });
        if let Some(ways) = ways {
            for (row, column) in kuhn_munkres_min(&ways).1.into_iter().enumerate() {
                pairs[column] = Some(offered[row]);
            }
        }
    }
    pairs
}

fn ways(rows: usize, columns: usize, way: impl Fn(usize, usize) -> i64) -> Option<Matrix<i64>> {
    let places = (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column)));
    Matrix::from_vec(
        rows,
        columns,
        places.map(|(row, column)| way(row, column)).collect(),
    )
    .ok()
}

#[allow(clippy::cast_possible_truncation)] // a few kilometres in such steps fit many times
fn way(one: Xy, other: Xy) -> i64 {
    let way = one - other;
    (way.x.hypot(way.y) * STEPS_PER_M).round() as i64
}

/// The givers among the n nearest of some receiver, in their order.
fn offered(receivers: &[Xy], givers: &[Xy]) -> Vec<usize> {
    let n = receivers.len();
    if givers.len() <= n {
        return (0..givers.len()).collect();
    }
    let mut is_offered = vec![false; givers.len()];
    let mut ranked: Vec<(i64, usize)> = Vec::with_capacity(givers.len());
    for &receiver in receivers {
        ranked.clear();
        ranked.extend(
            givers
                .iter()
                .enumerate()
                .map(|(index, &giver)| (way(receiver, giver), index)),
        );
        // Only which n are nearest counts, not their order.
        ranked.select_nth_unstable(n - 1);
        for (_, index) in &ranked[..n] {
            is_offered[*index] = true;
        }
    }
    let offered = is_offered.iter().enumerate().filter(|(_, is)| **is);
    offered.map(|(index, _)| index).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Places that look drawn at random, the same every time.
    fn places(count: usize, seed: u64) -> Vec<Xy> {
        let mut state = seed;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            f64::from(u32::try_from(state >> 40).unwrap_or(0)) / 1e6
        };
        (0..count)
            .map(|_| Xy {
                x: next(),
                y: next(),
            })
            .collect()
    }

    fn sum(receivers: &[Xy], givers: &[Xy], pairs: &[Option<usize>]) -> i64 {
        let paired = receivers.iter().zip(pairs);
        paired
            .filter_map(|(at, pair)| pair.map(|index| way(*at, givers[index])))
            .sum()
    }

    /// The least sum by trying every order of givers.
    fn tried(receivers: &[Xy], givers: &[Xy], used: &mut Vec<bool>, from: usize) -> i64 {
        if from == receivers.len() {
            return 0;
        }
        let mut least = i64::MAX;
        for index in 0..givers.len() {
            if !used[index] {
                used[index] = true;
                let rest = tried(receivers, givers, used, from + 1);
                least = least.min(way(receivers[from], givers[index]) + rest);
                used[index] = false;
            }
        }
        least
    }

    #[test]
    fn the_sum_of_ways_is_the_least_of_all_orders() {
        for seed in 1..=20 {
            let (receivers, givers) = (places(5, seed), places(7, seed + 100));
            let pairs = least_way(&receivers, &givers);
            let mut taken: Vec<usize> = pairs.iter().flatten().copied().collect();
            taken.sort_unstable();
            taken.dedup();
            assert_eq!(taken.len(), 5);
            let least = tried(&receivers, &givers, &mut vec![false; 7], 0);
            assert_eq!(sum(&receivers, &givers, &pairs), least);
        }
    }

    #[test]
    fn where_givers_are_few_those_are_served_that_are_nearest_in_sum() {
        for seed in 1..=10 {
            let (receivers, givers) = (places(7, seed), places(4, seed + 50));
            let pairs = least_way(&receivers, &givers);
            assert_eq!(pairs.iter().flatten().count(), 4);
            let least = tried(&givers, &receivers, &mut vec![false; 7], 0);
            assert_eq!(sum(&receivers, &givers, &pairs), least);
        }
    }

    #[test]
    fn leaving_out_far_givers_changes_no_sum() {
        let (receivers, givers) = (places(12, 3), places(400, 4));
        assert!(offered(&receivers, &givers).len() < 145);
        let pairs = least_way(&receivers, &givers);
        let all = ways(12, 400, |row, column| way(receivers[row], givers[column]));
        let least = all.map(|ways| kuhn_munkres_min(&ways).0);
        assert_eq!(Some(sum(&receivers, &givers, &pairs)), least);
    }

    #[test]
    fn nobody_is_paired_with_nobody() {
        assert_eq!(least_way(&[], &places(2, 1)), []);
        assert_eq!(least_way(&places(2, 1), &[]), [None, None]);
    }
}
