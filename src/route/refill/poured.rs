//! What a strip puts down along itself, where rates differ from place to place.
//!
//! Along a strip lie grounds of several rates, each given by its boundary in the strip's frame.
//! By Green's theorem the area of a ground within the strip's first x metres is the integral,
//! along the ground's boundary, of how much of those x metres lies before the edge; edges are
//! straight, so it is exact and nothing is clipped or sampled.

use crate::passes::band::{Edge, Span};

/// The strip's own rectangle, in the same frame, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Strip {
    /// Along it.
    pub along: Span,
    /// Across it.
    pub across: Span,
}

/// What a strip has put down by any place along it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Poured {
    length_m: f64,
    /// Where no ground is, kilograms a metre.
    rest_kg_per_m: f64,
    ramps: Vec<Ramp>,
    all_kg: f64,
}

/// An edge's share: from nothing before it to `kg_per_m` after it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ramp {
    /// Between these places, metres along the strip as driven, the ground ends or begins.
    from_m: f64,
    to_m: f64,
    kg_per_m: f64,
}

impl Poured {
    /// Along a strip that puts down `rest` kilograms a square metre, and on each of some
    /// disjoint grounds (given by their edges) another amount. Driven from its far end where
    /// `is_back`. Amounts are not below 0.
    pub fn along<'a>(
        strip: Strip,
        is_back: bool,
        rest_kg_per_m2: f64,
        grounds: impl IntoIterator<Item = (f64, &'a [Edge])>,
    ) -> Self {
        let length_m = strip.along.length_m().max(0.0);
        let mut ramps = Vec::new();
        for (kg_per_m2, edges) in grounds {
            let more_kg_per_m2 = kg_per_m2 - rest_kg_per_m2;
            if more_kg_per_m2 != 0.0 {
                let within = edges.iter().filter_map(|edge| strip.ramp(edge, is_back));
                ramps.extend(within.map(|ramp| Ramp {
                    kg_per_m: ramp.kg_per_m * more_kg_per_m2,
                    ..ramp
                }));
            }
        }
        let mut poured = Self {
            length_m,
            rest_kg_per_m: rest_kg_per_m2 * strip.across.length_m(),
            ramps,
            all_kg: 0.0,
        };
        poured.all_kg = poured.sum_kg(length_m);
        poured
    }

    /// A strip that puts nothing down.
    #[must_use]
    pub const fn nothing(length_m: f64) -> Self {
        Self {
            length_m,
            rest_kg_per_m: 0.0,
            ramps: Vec::new(),
            all_kg: 0.0,
        }
    }

    /// What the whole strip puts down, kilograms.
    #[must_use]
    pub const fn all_kg(&self) -> f64 {
        self.all_kg
    }

    /// What is put down in the first metres as driven, kilograms.
    #[must_use]
    pub fn until_kg(&self, along_m: f64) -> f64 {
        if along_m >= self.length_m {
            return self.all_kg;
        }
        self.sum_kg(along_m.max(0.0)).clamp(0.0, self.all_kg)
    }

    fn sum_kg(&self, along_m: f64) -> f64 {
        let ramps = self.ramps.iter();
        let more_kg: f64 = ramps
            .map(|ramp| ramp.kg_per_m * mean_before(ramp.from_m, ramp.to_m, along_m))
            .sum();
        (self.rest_kg_per_m * along_m + more_kg).max(0.0)
    }

    /// The last place at which no more than so much is put down, metres along as driven: a
    /// nanometre before it at most.
    #[must_use]
    pub fn lasts_m(&self, kg: f64) -> f64 {
        if kg >= self.all_kg {
            return self.length_m;
        }
        let (mut low, mut high) = (0.0, self.length_m);
        while high - low > 1e-9 {
            let middle = f64::midpoint(low, high);
            if middle <= low || middle >= high {
                break;
            }
            if self.until_kg(middle) <= kg {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }
}

impl Strip {
    /// What an edge counts for one kilogram a square metre; `None` where it is beside the
    /// strip.
    fn ramp(&self, edge: &Edge, is_back: bool) -> Option<Ramp> {
        let (from, to) = (edge.from, edge.to);
        let low = from.y.min(to.y).max(self.across.from);
        let high = from.y.max(to.y).min(self.across.to);
        if high <= low {
            return None;
        }
        // An edge that runs upwards has its ground before it, one that runs down after it;
        // driven from the far end it is the other way round.
        let is_end = (to.y > from.y) != is_back;
        let from_start_m = |along: f64| {
            if is_back {
                self.along.to - along
            } else {
                along - self.along.from
            }
        };
        let (a, b) = (from_start_m(edge.t_at(low)), from_start_m(edge.t_at(high)));
        Some(Ramp {
            from_m: a.min(b),
            to_m: a.max(b),
            kg_per_m: if is_end { high - low } else { low - high },
        })
    }
}

/// The mean, over places from `from_m` to `to_m`, of how much of the first `along_m` metres
/// lies before the place.
fn mean_before(from_m: f64, to_m: f64, along_m: f64) -> f64 {
    if from_m >= along_m {
        return along_m;
    }
    if to_m <= 0.0 {
        return 0.0;
    }
    if from_m >= 0.0 && to_m <= along_m {
        return f64::midpoint(from_m, to_m);
    }
    // Three pieces: none before the strip, rising within it, all after it.
    let (enters, leaves) = (from_m.max(0.0), to_m.min(along_m));
    let rising = (leaves - enters) * f64::midpoint(enters, leaves);
    let after = (to_m - leaves) * along_m;
    (rising + after) / (to_m - from_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    const STRIP: Strip = Strip {
        along: Span {
            from: -10.0,
            to: 30.0,
        },
        across: Span { from: 1.0, to: 3.0 },
    };

    /// The edges of a ring, anticlockwise.
    fn ring(corners: &[(f64, f64)]) -> Vec<Edge> {
        let next = corners.iter().cycle().skip(1);
        let pairs = corners.iter().zip(next);
        let edges = pairs.map(|(&from, &to)| Edge {
            from: from.into(),
            to: to.into(),
        });
        edges.collect()
    }

    fn box_of(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<Edge> {
        ring(&[(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    }

    #[test]
    fn a_ground_across_the_strip_counts_with_its_own_rate() {
        let ground = box_of(0.0, -5.0, 10.0, 2.5);
        let poured = Poured::along(STRIP, false, 2.0, [(6.0, ground.as_slice())]);
        // 10 m before it at 4 kg a metre, then 1.5 of 2 m at 6 and the rest at 2.
        assert_abs_diff_eq!(poured.until_kg(10.0), 40.0, epsilon = 1e-12);
        assert_abs_diff_eq!(poured.until_kg(15.0), 40.0 + 5.0 * 10.0, epsilon = 1e-12);
        assert_abs_diff_eq!(poured.all_kg(), 40.0 + 100.0 + 80.0, epsilon = 1e-12);
        assert_abs_diff_eq!(poured.lasts_m(90.0), 15.0, epsilon = 2e-9);
        let back = Poured::along(STRIP, true, 2.0, [(6.0, ground.as_slice())]);
        assert_abs_diff_eq!(back.until_kg(20.0), 80.0, epsilon = 1e-12);
        assert_abs_diff_eq!(back.all_kg(), 220.0, epsilon = 1e-12);
    }

    #[test]
    fn nothing_lasts_for_ever_and_a_hole_takes_nothing() {
        assert_abs_diff_eq!(Poured::nothing(7.0).lasts_m(0.0), 7.0);
        let mut ground = box_of(-20.0, -5.0, 40.0, 5.0);
        // A hole runs clockwise.
        let hole = box_of(0.0, 0.0, 10.0, 5.0);
        ground.extend(hole.iter().map(|edge| Edge {
            from: edge.to,
            to: edge.from,
        }));
        let poured = Poured::along(STRIP, false, 0.0, [(1.0, ground.as_slice())]);
        assert_abs_diff_eq!(poured.all_kg(), 60.0, epsilon = 1e-12);
        assert_abs_diff_eq!(poured.until_kg(10.0), 20.0, epsilon = 1e-12);
        assert_abs_diff_eq!(poured.until_kg(20.0), 20.0, epsilon = 1e-12);
        // The last place that 20 kg reach to is the end of the hole.
        assert_abs_diff_eq!(poured.lasts_m(20.0), 20.0, epsilon = 1e-8);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// A triangle anywhere: against thin slices across the pass.
        #[test]
        fn amounts_are_what_thin_slices_add_up_to(
            corners in prop::array::uniform3((-15.0..35.0, -2.0..6.0)),
            along_m in 0.0..40.0,
            is_back in any::<bool>(),
        ) {
            let [a, b, c] = corners;
            let twice = (b.0 - a.0) * (c.1 - a.1) - (c.0 - a.0) * (b.1 - a.1);
            let corners = if twice > 0.0 { [a, b, c] } else { [a, c, b] };
            // How much of the pass lies inside the triangle on a straight across it, in metres.
            let inside_m = |x: f64| {
                let (mut low, mut high) = (1.0_f64, 3.0_f64);
                for i in 0..3 {
                    let (p, q) = (corners[i], corners[(i + 1) % 3]);
                    let y = p.1 + (x - p.0) * (q.1 - p.1) / (q.0 - p.0);
                    if q.0 > p.0 {
                        low = low.max(y);
                    } else {
                        high = high.min(y);
                    }
                }
                let xs = corners.map(|(x, _)| x);
                let from = xs.into_iter().fold(f64::MAX, f64::min);
                let to = xs.into_iter().fold(f64::MIN, f64::max);
                if x < from || x > to { 0.0 } else { (high - low).max(0.0) }
            };
            let sides = ring(&corners);
            let poured = Poured::along(STRIP, is_back, 1.0, [(3.0, sides.as_slice())]);
            let columns = 4_000;
            let mut counted_kg = 0.0;
            for column in 0..columns {
                let far_m = along_m * (f64::from(column) + 0.5) / f64::from(columns);
                let x = if is_back { 30.0 - far_m } else { far_m - 10.0 };
                counted_kg += 2.0 + 2.0 * inside_m(x);
            }
            counted_kg *= along_m / f64::from(columns);
            // A slice is 1 cm wide: half of one is wrong at each upright side of the triangle.
            prop_assert!((poured.until_kg(along_m) - counted_kg).abs() < 0.05, "{} {counted_kg}", poured.until_kg(along_m));
            let lasts_m = poured.lasts_m(poured.until_kg(along_m));
            prop_assert!(lasts_m > along_m - 1e-8, "{lasts_m} {along_m}");
            prop_assert!(poured.until_kg(lasts_m) <= poured.until_kg(along_m) + 1e-9);
        }
    }
}
