//! Shortest forward paths with a least circle to either side, where no wall counts.
//!
//! A path of least length from pose to pose is an arc, a straight and an arc, or three arcs
//! (Dubins, Amer. J. Math. 79, 1957, 497-516, from memory): LSL, RSR, LSR, RSL, RLR, LRL. All
//! are found from the centres of the circles, so that the radii to the left and to the right
//! may differ; that the same six words are enough then is the result of Bakolas and Tsiotras
//! (J. Optim. Theory Appl. 150, 2011, from memory). Of the words with three arcs the one with
//! the short middle arc is never the shortest, but where walls are near it may fit when
//! nothing else does.
//!
//! | form | domain | accuracy |
//! |---|---|---|
//! | [`shortest`], [`words`] | finite poses, radii above 0 | ends within 1e-9 m per 10 m |

use std::f64::consts::{FRAC_PI_2, PI};

use super::path::{Bend, Piece, Radii};
use super::pose::{Pose, folded};
use super::words::{Cheapest, Word};

/// All words from `from` to `to`: at most six and the two with a short middle arc, in a fixed
/// order (not by length).
#[must_use]
pub fn words(from: Pose, to: Pose, radii: Radii) -> Vec<Word> {
    let mut found = Vec::with_capacity(8);
    each_word(from, to, radii, f64::INFINITY, |word| {
        found.push(*word);
        f64::INFINITY
    });
    found
}

/// Hands over each of [`words`] in turn. Words longer than the limit may be left out; each call
/// of `take` sets it anew.
pub(super) fn each_word(
    from: Pose,
    to: Pose,
    radii: Radii,
    mut limit_m: f64,
    mut take: impl FnMut(&Word) -> f64,
) {
    let link = Link::new(from, to, radii);
    for first in [Bend::Left, Bend::Right] {
        for last in [Bend::Left, Bend::Right] {
            if let Some(word) = link.straight_between(first, last, limit_m) {
                limit_m = take(&word);
            }
        }
        for word in link.three_arcs(first).iter().flatten() {
            limit_m = take(word);
        }
    }
}

/// The shortest word; the first of equals in the order of [`words`]. There always is one:
/// LSL and RSR join any two poses.
#[must_use]
pub fn shortest(from: Pose, to: Pose, radii: Radii) -> Word {
    let mut best = Word::default();
    let mut best_m = f64::INFINITY;
    each_word(from, to, radii, f64::INFINITY, |word| {
        let length_m = word.length_m();
        if length_m < best_m {
            best_m = length_m;
            best = *word;
        }
        best_m
    });
    best
}

/// The shortest words: to a parallel line, driven the same way, LSL and RSR are as long.
#[must_use]
pub fn all_shortest(from: Pose, to: Pose, radii: Radii) -> Vec<Word> {
    let mut cheapest = Cheapest::default();
    each_word(from, to, radii, f64::INFINITY, |word| {
        cheapest.offer(word.length_m(), word)
    });
    cheapest.words()
}

/// Two poses with the centres of their circles.
pub(super) struct Link {
    radii: Radii,
    from_rad: f64,
    to_rad: f64,
    from_centres: [(f64, f64); 2],
    to_centres: [(f64, f64); 2],
}

/// The direction of (`dx`, `dy`) less that of (`x`, `y`), radians.
pub(super) fn angle_less(dx: f64, dy: f64, x: f64, y: f64) -> f64 {
    (dy * x - dx * y).atan2(dx * x + dy * y)
}

/// 0 for left, 1 for right.
const fn index(bend: Bend) -> usize {
    matches!(bend, Bend::Right) as usize
}

impl Link {
    pub(super) fn new(from: Pose, to: Pose, radii: Radii) -> Self {
        let centres = |pose: Pose| {
            let (sin, cos) = pose.heading_rad.sin_cos();
            [
                (
                    pose.at.x - radii.left_m * sin,
                    pose.at.y + radii.left_m * cos,
                ),
                (
                    pose.at.x + radii.right_m * sin,
                    pose.at.y - radii.right_m * cos,
                ),
            ]
        };
        Self {
            radii,
            from_rad: from.heading_rad,
            to_rad: to.heading_rad,
            from_centres: centres(from),
            to_centres: centres(to),
        }
    }

    /// The heading at the start, radians.
    pub(super) const fn start_heading_rad(&self) -> f64 {
        self.from_rad
    }

    /// From the centre of the first circle to that of the last.
    pub(super) fn centre_to_centre(&self, first: Bend, last: Bend) -> (f64, f64) {
        let (a, b) = (
            self.from_centres[index(first)],
            self.to_centres[index(last)],
        );
        (b.0 - a.0, b.1 - a.1)
    }

    /// The turn of the nose on the first circle up to a heading, by full lock forwards, radians.
    pub(super) fn first_rad(&self, side: Bend, heading_rad: f64) -> f64 {
        folded(side.sign() * (heading_rad - self.from_rad))
    }

    /// The turn on the last circle from a heading on, radians.
    pub(super) fn last_rad(&self, side: Bend, heading_rad: f64) -> f64 {
        folded(side.sign() * (self.to_rad - heading_rad))
    }

    /// The word with a straight, if that is not longer than the limit.
    fn straight_between(&self, first: Bend, last: Bend, limit_m: f64) -> Option<Word> {
        let (dx, dy) = self.centre_to_centre(first, last);
        // The straight runs beside the line of centres by this much at its end less its start.
        let aside = last.sign() * self.radii.of(last) - first.sign() * self.radii.of(first);
        let square = dx * dx + dy * dy - aside * aside;
        if square < 0.0 || square > limit_m * limit_m {
            return None;
        }
        let straight_m = square.sqrt();
        // A straight of no length has no direction: the arcs are then one.
        let heading_rad = if first == last && straight_m < 1e-12 {
            self.from_rad
        } else {
            angle_less(dx, dy, straight_m, aside)
        };
        Some(Word::of([
            Piece::forwards(
                first,
                self.radii.of(first) * self.first_rad(first, heading_rad),
            ),
            Piece::forwards(Bend::Straight, straight_m),
            Piece::forwards(last, self.radii.of(last) * self.last_rad(last, heading_rad)),
        ]))
    }

    /// The words side, other, side: with the long and with the short middle arc.
    fn three_arcs(&self, side: Bend) -> [Option<Word>; 2] {
        let mut found = [None; 2];
        for (slot, headings) in found.iter_mut().zip(self.headings_of_three(side)) {
            let Some((first_rad, last_rad)) = headings else {
                continue;
            };
            let other = side.other();
            *slot = Some(Word::of([
                Piece::forwards(side, self.radii.of(side) * self.first_rad(side, first_rad)),
                Piece::forwards(
                    other,
                    self.radii.of(other) * folded(other.sign() * (last_rad - first_rad)),
                ),
                Piece::forwards(side, self.radii.of(side) * self.last_rad(side, last_rad)),
            ]));
        }
        found
    }

    /// Headings where three circles touch, side, other, side, for both places of the middle
    /// one.
    pub(super) fn headings_of_three(&self, side: Bend) -> [Option<(f64, f64)>; 2] {
        let (dx, dy) = self.centre_to_centre(side, side);
        let apart_m = self.radii.left_m + self.radii.right_m;
        let cos = (dx * dx + dy * dy).sqrt() / (2.0 * apart_m);
        if cos > 1.0 {
            return [None; 2];
        }
        let towards_rad = dy.atan2(dx);
        let lift_rad = cos.acos();
        // The middle centre is seen from the first under `towards + lift`, and sees the last
        // under `towards - lift`.
        let quarter = side.sign() * FRAC_PI_2;
        let touching = |lift_rad: f64| {
            (
                towards_rad + lift_rad + quarter,
                towards_rad - lift_rad + PI + quarter,
            )
        };
        [Some(touching(lift_rad)), Some(touching(-lift_rad))]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    fn pose(x: f64, y: f64, heading_deg: f64) -> Pose {
        Pose::new(x, y, heading_deg.to_radians())
    }

    fn end_of(word: &Word, from: Pose, radii: Radii) -> Pose {
        word.iter()
            .fold(from, |pose, piece| pose.after(piece, radii))
    }

    fn check(from: Pose, to: Pose, radius_m: f64, letters: &[&str], length_m: f64) {
        let radii = Radii::both(radius_m);
        let word = shortest(from, to, radii);
        assert_abs_diff_eq!(word.length_m(), length_m, epsilon = 1e-8);
        assert!(
            letters.is_empty() || letters.contains(&word.letters().as_str()),
            "{}",
            word.letters()
        );
        let end = end_of(&word, from, radii);
        assert!(end.distance_m(to) < 1e-8, "{end:?}");
    }

    /// Numbers of the six words driven forwards to the goal; coordinates define the case.
    #[test]
    fn known_shortest_words_come_out() {
        check(
            pose(0.0, 0.0, 0.0),
            pose(4.0, 4.0, 90.0),
            1.0,
            &["LSL"],
            5.813_437_014,
        );
        let tie = ["LSR", "RSL"];
        check(
            pose(0.0, 0.0, 0.0),
            pose(4.0, 0.0, 180.0),
            1.0,
            &tie,
            7.652_891_820,
        );
        let tie = ["RLR", "LRL"];
        check(
            pose(0.0, 0.0, 90.0),
            pose(0.0, 0.0, 270.0),
            1.0,
            &tie,
            7.330_382_858,
        );
        check(
            pose(1.0, 1.0, 45.0),
            pose(-3.0, -3.0, -45.0),
            1.0,
            &["LSL"],
            9.475_401_840,
        );
        check(
            pose(0.0, 0.0, 0.0),
            pose(0.0, 2.0, 180.0),
            3.0,
            &["RLR"],
            19.517_602_010,
        );
        check(
            pose(0.0, 0.0, 0.0),
            pose(0.0, 6.0, 180.0),
            3.0,
            &[],
            9.424_777_961,
        );
        check(
            pose(0.0, 0.0, 0.0),
            pose(0.0, 10.0, 180.0),
            3.0,
            &["LSL"],
            13.424_777_961,
        );
        check(
            pose(0.0, 0.0, 0.0),
            pose(10.0, -5.0, 60.0),
            2.5,
            &["RSL"],
            12.978_326_630,
        );
    }

    /// The omega and the U turn in closed form: with a line d to the left driven the other way.
    #[test]
    fn omega_and_u_turn_have_their_closed_lengths() {
        let r: f64 = 3.0;
        for d in [2.0, 4.0, 6.0, 8.0_f64] {
            let length_m =
                shortest(pose(0.0, 0.0, 0.0), pose(0.0, d, 180.0), Radii::both(r)).length_m();
            let expected = if d <= 2.0 * r {
                r * (PI + 4.0 * ((2.0 * r + d) / (4.0 * r)).acos())
            } else {
                PI * r + d - 2.0 * r
            };
            assert_abs_diff_eq!(length_m, expected, epsilon = 1e-6);
            if d <= 2.0 * r {
                let by_sine = r * (3.0 * PI - 4.0 * ((2.0 * r + d) / (4.0 * r)).asin());
                assert_abs_diff_eq!(length_m, by_sine, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn an_omega_needs_its_depth_and_breadth() {
        let radii = Radii::both(3.0);
        let from = pose(0.0, 0.0, 0.0);
        let omega = shortest(from, pose(0.0, 2.0, 180.0), radii);
        let points = super::super::path::Path::new(from, radii, omega.iter().copied()).points(1e-8);
        let extent = |of: fn(&crate::space::Xy) -> f64| {
            let values = points.iter().map(of);
            (
                values.clone().fold(f64::INFINITY, f64::min),
                values.fold(f64::NEG_INFINITY, f64::max),
            )
        };
        assert_abs_diff_eq!(extent(|p| p.x).1, 7.472_136, epsilon = 1e-6);
        let across = extent(|p| p.y);
        assert_abs_diff_eq!(across.1 - across.0, 6.0, epsilon = 1e-6);
    }

    #[test]
    fn the_same_pose_is_reached_by_staying() {
        let here = pose(3.0, -2.0, 77.0);
        assert_abs_diff_eq!(
            shortest(
                here,
                here,
                Radii {
                    left_m: 2.0,
                    right_m: 3.5
                }
            )
            .length_m(),
            0.0
        );
    }

    fn any_pose() -> impl Strategy<Value = Pose> {
        (-15.0..15.0, -15.0..15.0, -7.0..7.0).prop_map(|(x, y, h)| Pose::new(x, y, h))
    }

    fn any_radii() -> impl Strategy<Value = Radii> {
        (1.0..6.0, 1.0..6.0).prop_map(|(left_m, right_m)| Radii { left_m, right_m })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]

        #[test]
        fn every_word_ends_at_its_goal(from in any_pose(), to in any_pose(), radii in any_radii()) {
            let words = words(from, to, radii);
            prop_assert!(words.len() >= 2);
            for word in words {
                let end = end_of(&word, from, radii);
                prop_assert!(end.distance_m(to) < 1e-7, "{} {end:?} {to:?}", word.letters());
                prop_assert!(end.heading_difference_rad(to) < 1e-8);
            }
        }

        /// Whatever is driven, the shortest word to where it ends is no longer: arcs at full
        /// lock, easier arcs and straights in any order, unequal radii.
        #[test]
        fn no_drive_is_shorter_than_the_shortest_word(
            radii in any_radii(),
            drive in prop::collection::vec((-1.2..1.2_f64, 0.0..6.5_f64), 1..7),
        ) {
            let from = pose(0.0, 0.0, 0.0);
            let mut at = from;
            let mut driven_m = 0.0;
            for (lock, turned) in drive {
                let lock = lock.clamp(-1.0, 1.0);
                let (bend, full_m) = if lock > 0.0 {
                    (Bend::Left, radii.left_m)
                } else {
                    (Bend::Right, radii.right_m)
                };
                let length_m = turned * full_m;
                driven_m += length_m;
                at = if lock.abs() < 0.1 {
                    at.ahead(length_m)
                } else {
                    let wider = Radii::both(full_m / lock.abs());
                    at.after(&Piece::forwards(bend, length_m), wider)
                };
            }
            prop_assert!(shortest(from, at, radii).length_m() <= driven_m + 1e-7);
        }

        /// The same with four arcs at full lock, the two in the middle of equal turn above a
        /// half circle: what Pontryagin's principle leaves beside the six words.
        #[test]
        fn four_arcs_are_never_shorter(
            radii in any_radii(),
            a in 0.0..1.0_f64, b in 0.0..1.0_f64, middle in 3.2..6.2_f64, left in any::<bool>(),
        ) {
            let from = pose(0.0, 0.0, 0.0);
            let mut at = from;
            let mut driven_m = 0.0;
            let mut bend = if left { Bend::Left } else { Bend::Right };
            for turned in [a * middle, middle, middle, b * middle] {
                let piece = Piece::forwards(bend, turned * radii.of(bend));
                driven_m += piece.length_m;
                at = at.after(&piece, radii);
                bend = bend.other();
            }
            prop_assert!(shortest(from, at, radii).length_m() <= driven_m + 1e-7);
        }
    }
}
