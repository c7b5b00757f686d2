//! What a way past the pitch costs at least, where metres on it count more than beside it.
//!
//! Take the largest upright rectangle that is known to lie on the pitch, its shorter side `b` and
//! its longer one `a`. Between two places on its edge the way along the edge is at most
//! `(a + b) / b` times the straight across: most between the middles of its longer sides. So where
//! a metre on the pitch counts as `w`, each stretch across costs at least `min(1, w b / (a + b))`
//! times the way round, and so does a whole path between places beside the rectangle. The way round
//! is the shorter of the two that a string drawn tight about the rectangle takes.
//!
//! A place within it is left by one of its four sides. By a side `d` away, at whose foot the way
//! round is `g` long, that costs `w s` for the `s >= d` metres to the edge, and brings the path at
//! most `s` further along it: at least `(w - l) d + l g` in all, with `l` the factor from above.

use super::edges::Extent;
use crate::space::Xy;

/// What rounding may add, metres; taken off.
const SPARE_M: f64 = 1e-5;

/// An upright rectangle of the pitch.
#[derive(Debug, Clone, Copy)]
pub(super) struct Past {
    low: Xy,
    high: Xy,
    /// The longest way along its edge, as a multiple of the straight across.
    most: f64,
}

/// A place from which a path is beside the rectangle, and what it costs at least to get there
/// besides.
type Foot = (Xy, f64);

impl Past {
    /// `None` where the rectangle is none.
    pub(super) fn of(extent: &Extent) -> Option<Self> {
        let (length_m, width_m) = (extent.high.x - extent.low.x, extent.high.y - extent.low.y);
        let shorter_m = length_m.min(width_m);
        (shorter_m > 0.0).then(|| Self {
            low: extent.low,
            high: extent.high,
            most: (length_m + width_m) / shorter_m,
        })
    }

    /// What a path between two places costs at least, metres, where a metre on the pitch counts as
    /// `on_pitch`; 0 where that is less than one.
    pub(super) fn least_m(&self, from: Xy, to: Xy, on_pitch: f64) -> f64 {
        if on_pitch < 1.0 {
            return 0.0;
        }
        let factor = (on_pitch / self.most).min(1.0);
        let across_m = on_pitch * distance_m(from, to);
        let mut least_m = f64::INFINITY;
        let (starts, ends) = (
            self.feet(from, on_pitch - factor),
            self.feet(to, on_pitch - factor),
        );
        for (a, before_m) in starts.into_iter().flatten() {
            for (b, after_m) in ends.into_iter().flatten() {
                let spent_m = before_m + after_m;
                if spent_m < least_m {
                    least_m = least_m.min(spent_m + factor * self.round_m(a, b));
                }
            }
        }
        if self.holds(from) && self.holds(to) {
            // Such a path need not leave it at all.
            least_m = least_m.min(across_m);
        }
        (least_m - SPARE_M).max(0.0)
    }

    fn holds(&self, at: Xy) -> bool {
        self.low.x < at.x && at.x < self.high.x && self.low.y < at.y && at.y < self.high.y
    }

    /// Where a path from a place comes beside the rectangle, at `each` a metre to its sides.
    fn feet(&self, at: Xy, each: f64) -> [Option<Foot>; 4] {
        if !self.holds(at) {
            return [Some((at, 0.0)), None, None, None];
        }
        let beside = |x: f64, y: f64| {
            let foot = Xy { x, y };
            Some((foot, each * distance_m(at, foot)))
        };
        [
            beside(self.low.x, at.y),
            beside(self.high.x, at.y),
            beside(at.x, self.low.y),
            beside(at.x, self.high.y),
        ]
    }

    /// The shortest way between two places beside the rectangle that does not cross it.
    fn round_m(&self, from: Xy, to: Xy) -> f64 {
        if !self.is_crossed(from, to) {
            return distance_m(from, to);
        }
        self.string_m(from, to, 1.0)
            .min(self.string_m(from, to, -1.0))
    }

    /// Whether the straight between two places crosses the rectangle.
    fn is_crossed(&self, from: Xy, to: Xy) -> bool {
        let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
        let slabs = [
            (from.x, to.x - from.x, self.low.x, self.high.x),
            (from.y, to.y - from.y, self.low.y, self.high.y),
        ];
        for (at, by, low, high) in slabs {
            if by == 0.0 {
                if at <= low || at >= high {
                    return false;
                }
            } else {
                let (a, b) = ((low - at) / by, (high - at) / by);
                enters = enters.max(a.min(b));
                leaves = leaves.min(a.max(b));
            }
        }
        enters < leaves
    }

    /// The length of a string drawn tight about the corners to the left of the straight (`side`
    /// 1), or to its right (-1).
    fn string_m(&self, from: Xy, to: Xy, side: f64) -> f64 {
        let (low, high) = (self.low, self.high);
        let corner = |x: f64, y: f64| Xy { x, y };
        let corners = [low, corner(high.x, low.y), high, corner(low.x, high.y)];
        let mut at = from;
        let mut length_m = 0.0;
        // Each step goes to the corner that leaves all others on its inner side.
        for _ in 0..=corners.len() {
            let mut next = to;
            for corner in corners {
                let is_outer = side * cross(from, to, corner) > 0.0
                    && side * cross(at, next, corner) > 0.0
                    && corner != at;
                if is_outer {
                    next = corner;
                }
            }
            length_m += distance_m(at, next);
            if next == to {
                break;
            }
            at = next;
        }
        length_m
    }
}

fn distance_m(a: Xy, b: Xy) -> f64 {
    (b.x - a.x).hypot(b.y - a.y)
}

/// Twice the area of a triangle, positive where it runs anticlockwise.
fn cross(a: Xy, b: Xy, c: Xy) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::expect_used)]

    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    fn pitch() -> Past {
        let (low, high) = (Xy { x: -50.0, y: -30.0 }, Xy { x: 50.0, y: 30.0 });
        Past::of(&Extent { low, high }).expect("a rectangle")
    }

    fn xy(x: f64, y: f64) -> Xy {
        Xy { x, y }
    }

    #[test]
    fn the_way_round_is_that_of_a_tight_string() {
        let near = |from: Xy, to: Xy, round_m: f64| {
            assert_abs_diff_eq!(pitch().round_m(from, to), round_m, epsilon = 1e-9);
            assert_abs_diff_eq!(pitch().round_m(to, from), round_m, epsilon = 1e-9);
        };
        // From the middle of a longer side to that of the other; along a side; past one corner;
        // past two, of which one lies behind; and where nothing is in the way.
        near(xy(0.0, -30.0), xy(0.0, 30.0), 160.0);
        near(xy(-50.0, 30.0), xy(50.0, 30.0), 100.0);
        near(xy(47.0, 34.0), xy(55.0, -30.0 + 48.0), 5.0 + 13.0);
        near(xy(-46.0, -33.0), xy(-46.0, 33.0), 5.0 + 60.0 + 5.0);
        near(xy(60.0, -40.0), xy(60.0, 40.0), 80.0);
    }

    #[test]
    fn across_may_be_cheaper_than_round() {
        // At 3 a metre no way across is; at 1.6 across costs as much as its share of the round.
        let (from, to) = (xy(0.0, -31.0), xy(0.0, 31.0));
        let round_m = 2.0 * 50_f64.hypot(1.0) + 60.0;
        assert_abs_diff_eq!(pitch().least_m(from, to, 3.0), round_m, epsilon = 1e-4);
        let share = 1.6 * 60.0 / 160.0;
        assert_abs_diff_eq!(
            pitch().least_m(from, to, 1.6),
            share * round_m,
            epsilon = 1e-4
        );
        // From within: two metres to the edge, at 3 a metre; or straight across.
        let (from, to) = (xy(10.0, 28.0), xy(40.0, 30.0));
        assert_abs_diff_eq!(
            pitch().least_m(from, to, 3.0),
            2.0 * 2.0 + 30.0,
            epsilon = 1e-4
        );
        let to = xy(11.0, 28.0);
        assert_abs_diff_eq!(pitch().least_m(from, to, 3.0), 3.0, epsilon = 1e-4);
    }

    /// What a straight costs.
    fn straight_m(from: Xy, to: Xy, on_pitch: f64) -> f64 {
        let pitch = pitch();
        let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
        for (at, by, low, high) in [
            (from.x, to.x - from.x, pitch.low.x, pitch.high.x),
            (from.y, to.y - from.y, pitch.low.y, pitch.high.y),
        ] {
            if by != 0.0 {
                let (a, b) = ((low - at) / by, (high - at) / by);
                enters = enters.max(a.min(b));
                leaves = leaves.min(a.max(b));
            } else if at < low || at > high {
                leaves = 0.0;
            }
        }
        let inside = (leaves - enters).max(0.0);
        distance_m(from, to) * (1.0 + (on_pitch - 1.0) * inside)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]

        /// No path of straights, with corners where they do most, costs less.
        #[test]
        fn no_path_costs_less(
            places in prop::collection::vec((-60.0..60.0_f64, -40.0..40.0_f64), 2..6),
            on_edge in prop::collection::vec(0_u8..6, 6),
            on_pitch in 1.0..4.0_f64,
        ) {
            // Corners of the path on an edge, or near one of the rectangle's corners.
            let places: Vec<Xy> = places
                .iter()
                .zip(&on_edge)
                .map(|(&(x, y), edge)| match edge {
                    0 => xy(x.clamp(-50.0, 50.0), 30.000_1_f64.copysign(y)),
                    1 => xy(50.000_1_f64.copysign(x), y.clamp(-30.0, 30.0)),
                    2 => xy(50.000_1_f64.copysign(x), 30.000_1_f64.copysign(y)),
                    _ => xy(x, y),
                })
                .collect();
            let cost_m: f64 = places
                .windows(2)
                .map(|pair| straight_m(pair[0], pair[1], on_pitch))
                .sum();
            let least_m = pitch().least_m(places[0], places[places.len() - 1], on_pitch);
            prop_assert!(least_m <= cost_m + 1e-9, "{least_m} {cost_m}");
        }
    }
}
