//! Shortest paths of a machine that may drive backwards, where no wall counts.
//!
//! The families are those of Reeds and Shepp (Pacific J. Math. 145, 1990, 367-393, sections
//! from memory): with C an arc, S a straight and | a change of driving direction, CSC, C|C|C
//! and its relatives with one change, CCu|CuC, C|CuCu|C, C|C_q S C and its mirror, and
//! C|C_q S C_q|C with q a quarter turn. Arcs at the ends may be driven either way, whichever
//! costs less.
//!
//! 1. Three arcs: the circles touch as in a word without reversing; each arc is driven
//!    whichever way is shorter.
//! 2. Four arcs, the two in the middle turning by the same u: the four centres lie on a
//!    chain of equal links, left radius plus right radius, and u follows from its span.
//! 3. A straight with an arc or an arc with a change on either side: known lengths along and
//!    across the straight's direction, and the span of the centres gives the rest.
//!
//! **Unequal radii.** Everything stays drivable and ends where it should. The arc between a
//! change and a straight is no longer a quarter turn: from the maximum principle its cosine
//! is (r_inner - r_outer) / (r_inner + r_outer), r_inner the radius of that arc and r_outer
//! that of the arc before the change. For four arcs the two in the middle are kept equal,
//! which need not be the least; so with unequal radii the shortest word is a path, but
//! [`least_length_m`], which must never be too long, takes the lesser radius to both sides.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::dubins::{Link, angle_less};
use super::path::{self, Bend, Piece, Radii};
use super::pose::{Pose, folded};
use super::words::{Cheapest, Word};

const SIDES: [Bend; 2] = [Bend::Left, Bend::Right];

/// What a change of driving direction costs, and what joins the ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Changes {
    /// Cost of one change, in metres driven.
    pub each_m: f64,
    /// Whether work driven forwards comes before.
    pub forwards_before: bool,
    /// Whether work driven forwards comes after.
    pub forwards_after: bool,
}

impl Changes {
    /// Changes that cost nothing.
    pub const FREE: Self = Self {
        each_m: 0.0,
        forwards_before: false,
        forwards_after: false,
    };

    /// Length plus changes of a run of pieces, metres.
    #[must_use]
    pub fn cost_m(&self, pieces: &[Piece]) -> f64 {
        let length_m: f64 = pieces.iter().map(|piece| piece.length_m).sum();
        length_m + self.all_m(pieces)
    }

    /// What the changes of a run of pieces cost, joints to work included, metres.
    #[must_use]
    pub fn all_m<'a>(&self, pieces: impl IntoIterator<Item = &'a Piece>) -> f64 {
        let count = path::changes(pieces, self.forwards_before, self.forwards_after);
        #[expect(clippy::cast_precision_loss, reason = "few pieces")]
        let count = count as f64;
        self.each_m * count
    }
}

/// The word of least cost (length plus changes) of the families; the first of equals.
#[must_use]
pub fn cheapest(from: Pose, to: Pose, radii: Radii, changes: &Changes) -> Word {
    let mut best = Word::default();
    let mut best_m = f64::INFINITY;
    each_word(from, to, radii, f64::INFINITY, |word: &Word| {
        let cost_m = changes.cost_m(word);
        if cost_m < best_m {
            best_m = cost_m;
            best = *word;
        }
        best_m
    });
    best
}

/// All words of least cost.
#[must_use]
pub fn all_cheapest(from: Pose, to: Pose, radii: Radii, changes: &Changes) -> Vec<Word> {
    let mut cheapest = Cheapest::default();
    each_word(from, to, radii, f64::INFINITY, |word: &Word| {
        cheapest.offer(changes.cost_m(word), word)
    });
    cheapest.words()
}

/// A length that no path from `from` to `to` with any number of changes is shorter than,
/// metres: the least of the families with the lesser radius to both sides.
#[must_use]
pub fn least_length_m(from: Pose, to: Pose, radii: Radii) -> f64 {
    let mut least_m = f64::INFINITY;
    let radii = Radii::both(radii.least_m());
    each_word(from, to, radii, f64::INFINITY, |word: &Word| {
        least_m = least_m.min(word.length_m());
        least_m
    });
    least_m
}

/// Hands over the words of all families in a fixed order, the arcs at their ends driven both
/// ways. Words longer than the limit are left out; each call of `take` sets it anew.
pub(super) fn each_word(
    from: Pose,
    to: Pose,
    radii: Radii,
    limit_m: f64,
    take: impl FnMut(&Word) -> f64,
) {
    let families = Families {
        link: Link::new(from, to, radii),
        radii,
        apart_m: radii.left_m + radii.right_m,
        beside_straights: SIDES.map(|inner| Beside::of(inner, radii)),
    };
    let mut taker = Taker { take, limit_m };
    for side in SIDES {
        for last in SIDES {
            for reverse in [false, true] {
                families.straights(side, last, reverse, &mut taker);
            }
        }
        families.three_arcs(side, &mut taker);
        families.four_arcs(side, &mut taker);
    }
}

/// Who takes words, and how long they may be.
struct Taker<T> {
    take: T,
    limit_m: f64,
}

impl<T: FnMut(&Word) -> f64> Taker<T> {
    fn offer(&mut self, word: &Word) {
        if word.length_m() <= self.limit_m {
            self.limit_m = (self.take)(word);
        }
    }
}

struct Families {
    link: Link,
    radii: Radii,
    apart_m: f64,
    /// By side, left first.
    beside_straights: [Beside; 2],
}

/// The arc that lies between a change and a straight.
#[derive(Clone, Copy)]
struct Beside {
    turn_rad: f64,
    sin: f64,
    cos: f64,
}

impl Beside {
    /// The one on the side `inner`.
    fn of(inner: Bend, radii: Radii) -> Self {
        let (inner_m, outer_m) = (radii.of(inner), radii.of(inner.other()));
        let turn_rad = ((inner_m - outer_m) / (inner_m + outer_m)).acos();
        let (sin, cos) = turn_rad.sin_cos();
        Self { turn_rad, sin, cos }
    }
}

/// More than rounding adds to the length of a word, metres.
const SPARE_M: f64 = 1e-9;

/// The shorter of both ways to turn the nose by an angle (folded, in the sense of forwards).
fn shorter(bend: Bend, radius_m: f64, turn_rad: f64) -> Piece {
    if turn_rad <= PI {
        Piece::forwards(bend, radius_m * turn_rad)
    } else {
        Piece::backwards(bend, radius_m * (TAU - turn_rad))
    }
}

/// The arc driven the way that is said.
fn arc(bend: Bend, radius_m: f64, turn_rad: f64, reverse: bool) -> Piece {
    if reverse {
        Piece::backwards(bend, radius_m * folded(-turn_rad))
    } else {
        Piece::forwards(bend, radius_m * turn_rad)
    }
}

impl Families {
    fn first(&self, side: Bend, heading_rad: f64) -> f64 {
        self.link.first_rad(side, heading_rad)
    }

    fn last(&self, side: Bend, heading_rad: f64) -> f64 {
        self.link.last_rad(side, heading_rad)
    }

    /// Hands over a word with its first and last arc driven the shorter way and the other.
    fn both_ways<const N: usize>(
        &self,
        pieces: [Piece; N],
        ends: (f64, f64),
        take: &mut Taker<impl FnMut(&Word) -> f64>,
    ) {
        let word = Word::of(pieces);
        let radius = |piece: &Piece| self.radii.of(piece.bend);
        let other =
            |piece: Piece, turn_rad: f64| arc(piece.bend, radius(&piece), turn_rad, !piece.reverse);
        let (first, last) = (pieces[0], pieces[N - 1]);
        let (other_first, other_last) = (other(first, ends.0), other(last, ends.1));
        // What the other ways could save: an arc beside a change is not always the shorter one.
        let saved_m = (first.length_m - other_first.length_m).max(0.0)
            + (last.length_m - other_last.length_m).max(0.0);
        if word.length_m() - saved_m > take.limit_m {
            return;
        }
        take.offer(&word);
        // Beyond half a circle the other way pays only where a change is saved.
        let mut swapped = pieces;
        swapped[0] = other_first;
        take.offer(&Word::of(swapped));
        swapped[N - 1] = other_last;
        take.offer(&Word::of(swapped));
        swapped[0] = pieces[0];
        take.offer(&Word::of(swapped));
    }

    fn three_arcs(&self, side: Bend, take: &mut Taker<impl FnMut(&Word) -> f64>) {
        let other = side.other();
        for (first_rad, last_rad) in self.link.headings_of_three(side).into_iter().flatten() {
            let ends = (self.first(side, first_rad), self.last(side, last_rad));
            let radius_m = self.radii.of(side);
            let middle_rad = folded(other.sign() * (last_rad - first_rad));
            for reverse in [false, true] {
                let middle = arc(other, self.radii.of(other), middle_rad, reverse);
                if middle.length_m > take.limit_m + SPARE_M {
                    continue;
                }
                self.both_ways(
                    [
                        shorter(side, radius_m, ends.0),
                        middle,
                        shorter(side, radius_m, ends.1),
                    ],
                    ends,
                    take,
                );
            }
        }
    }

    /// Four arcs side, other, side, other; the middle two turn by u, driven each its way.
    fn four_arcs(&self, side: Bend, take: &mut Taker<impl FnMut(&Word) -> f64>) {
        let other = side.other();
        let (dx, dy) = self.link.centre_to_centre(side, other);
        let span = dx.hypot(dy) / self.apart_m;
        let towards_rad = dy.atan2(dx);
        // Directions below are of the links between centres; the heading where two circles
        // touch lies a quarter turn from it, and the second arc changes it by `turn`.
        let quarter = side.sign() * FRAC_PI_2;
        // CCu|CuC: both middle arcs turn the nose the same way, and the middle link lies along
        // the span, against it or with it.
        for (cos, along_rad) in [
            (0.5 * (1.0 + span), towards_rad),
            (0.5 * (1.0 - span), towards_rad + PI),
        ] {
            if let Some(u) = self.middle_turn_rad(cos, take.limit_m) {
                for turn in [u, -u] {
                    let middle_rad = along_rad + quarter;
                    self.take_four(
                        side,
                        [middle_rad - turn, middle_rad, middle_rad + turn],
                        take,
                    );
                }
            }
        }
        // C|CuCu|C: they turn it there and back; the outer links are parallel.
        let cos = 0.25 * (5.0 - span * span);
        if let Some(u) = self.middle_turn_rad(cos, take.limit_m) {
            for turn in [u, -u] {
                let outer_rad = towards_rad + turn.sin().atan2(2.0 - turn.cos()) + quarter;
                self.take_four(side, [outer_rad, outer_rad + turn, outer_rad], take);
            }
        }
    }

    /// What each of two arcs in the middle turns by; `None` where there is no such turn, or the two
    /// are longer than the limit by themselves.
    fn middle_turn_rad(&self, cos: f64, limit_m: f64) -> Option<f64> {
        if cos.abs() > 1.0 {
            return None;
        }
        let turn_rad = cos.acos();
        (self.apart_m * turn_rad <= limit_m + SPARE_M).then_some(turn_rad)
    }

    /// The word through these three headings at the joints.
    fn take_four(
        &self,
        side: Bend,
        headings_rad: [f64; 3],
        take: &mut Taker<impl FnMut(&Word) -> f64>,
    ) {
        let other = side.other();
        let [h1, h2, h3] = headings_rad;
        let ends = (self.first(side, h1), self.last(other, h3));
        let middle = |bend: Bend, turned_rad: f64| {
            let way_m = bend.sign() * turned_rad * self.radii.of(bend);
            Piece {
                bend,
                length_m: way_m.abs(),
                reverse: way_m < 0.0,
            }
        };
        self.both_ways(
            [
                shorter(side, self.radii.of(side), ends.0),
                middle(other, h2 - h1),
                middle(side, h3 - h2),
                shorter(other, self.radii.of(other), ends.1),
            ],
            ends,
            take,
        );
    }

    /// The arc that lies between a change and a straight, `inner` being its side.
    const fn beside_straight(&self, inner: Bend) -> Beside {
        self.beside_straights[matches!(inner, Bend::Right) as usize]
    }

    /// Words with a straight driven in the given sense; `first` and `last` are the sides of
    /// the arcs beside it. On either side of those there may be another arc and a change.
    fn straights(
        &self,
        first: Bend,
        last: Bend,
        reverse: bool,
        take: &mut Taker<impl FnMut(&Word) -> f64>,
    ) {
        let sense = if reverse { -1.0 } else { 1.0 };
        let aside = last.sign() * self.radii.of(last) - first.sign() * self.radii.of(first);
        let (by_first, by_last) = (self.beside_straight(first), self.beside_straight(last));
        let (first_rad, last_rad) = (by_first.turn_rad, by_last.turn_rad);
        let driven = |bend, length_m| Piece {
            bend,
            length_m,
            reverse,
        };
        for outer_first in [false, true] {
            for outer_last in [false, true] {
                let side_of = |side: Bend, outer| if outer { side.other() } else { side };
                let (start, end) = (side_of(first, outer_first), side_of(last, outer_last));
                let (dx, dy) = self.link.centre_to_centre(start, end);
                // Along and across the straight's direction, what the arcs add to it.
                let (mut along, mut across) = (0.0, aside);
                let mut between_m = 0.0;
                if outer_first {
                    between_m += self.radii.of(first) * first_rad;
                    along += self.apart_m * by_first.sin;
                    across += first.sign() * self.apart_m * by_first.cos;
                }
                if outer_last {
                    between_m += self.radii.of(last) * last_rad;
                    along += self.apart_m * by_last.sin;
                    across -= last.sign() * self.apart_m * by_last.cos;
                }
                let square = dx * dx + dy * dy - across * across;
                if square < 0.0 {
                    continue;
                }
                let span_m = square.sqrt();
                let straight_m = span_m - along;
                let least_m = straight_m + between_m;
                if straight_m < 0.0 || least_m > take.limit_m {
                    continue;
                }
                let heading_rad = if span_m < 1e-12 && start == end {
                    // All circles are one: any straight of no length will do.
                    self.link.start_heading_rad()
                } else {
                    angle_less(dx, dy, sense * span_m, across)
                };
                let straight = driven(Bend::Straight, straight_m);
                let (before_rad, after_rad) = (
                    heading_rad - first.sign() * sense * first_rad,
                    heading_rad + last.sign() * sense * last_rad,
                );
                let inner_first = driven(first, self.radii.of(first) * first_rad);
                let inner_last = driven(last, self.radii.of(last) * last_rad);
                // An outer arc is driven against the rest.
                let outer = |side, turn_rad| arc(side, self.radii.of(side), turn_rad, !reverse);
                match (outer_first, outer_last) {
                    (false, false) => {
                        let ends = (self.first(start, heading_rad), self.last(end, heading_rad));
                        self.both_ways(
                            [
                                shorter(start, self.radii.of(start), ends.0),
                                straight,
                                shorter(end, self.radii.of(end), ends.1),
                            ],
                            ends,
                            take,
                        );
                    }
                    (true, false) => {
                        let ends = (self.first(start, before_rad), self.last(end, heading_rad));
                        self.both_ways(
                            [
                                outer(start, ends.0),
                                inner_first,
                                straight,
                                shorter(end, self.radii.of(end), ends.1),
                            ],
                            ends,
                            take,
                        );
                    }
                    (false, true) => {
                        let ends = (self.first(start, heading_rad), self.last(end, after_rad));
                        self.both_ways(
                            [
                                shorter(start, self.radii.of(start), ends.0),
                                straight,
                                inner_last,
                                outer(end, ends.1),
                            ],
                            ends,
                            take,
                        );
                    }
                    (true, true) => {
                        let ends = (self.first(start, before_rad), self.last(end, after_rad));
                        self.both_ways(
                            [
                                outer(start, ends.0),
                                inner_first,
                                straight,
                                inner_last,
                                outer(end, ends.1),
                            ],
                            ends,
                            take,
                        );
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    fn check(to: Pose, length_m: f64) -> Word {
        let from = Pose::new(0.0, 0.0, 0.0);
        let radii = Radii::both(1.0);
        let word = cheapest(from, to, radii, &Changes::FREE);
        assert_abs_diff_eq!(word.length_m(), length_m, epsilon = 1e-6);
        assert_abs_diff_eq!(least_length_m(from, to, radii), length_m, epsilon = 1e-6);
        word
    }

    fn driven_pieces(word: &Word) -> Vec<Piece> {
        let driven = word.iter().filter(|piece| piece.length_m > 1e-6);
        driven.copied().collect()
    }

    /// Found by a numerical search over all controls, two seeds agreeing.
    #[test]
    fn known_shortest_words_come_out() {
        // Several words of three arcs tie; one turns by 60 degrees three times.
        check(Pose::new(0.0, 0.0, PI), PI);
        let mut even = false;
        each_word(
            Pose::new(0.0, 0.0, 0.0),
            Pose::new(0.0, 0.0, PI),
            Radii::both(1.0),
            f64::INFINITY,
            |word: &Word| {
                let sixth = |piece: &Piece| (piece.length_m - PI / 3.0).abs() < 1e-6;
                even |= word.len() == 3 && word.iter().all(sixth);
                f64::INFINITY
            },
        );
        assert!(even);
        let aside = check(Pose::new(0.0, 1.0, 0.0), 2.636_232_143);
        assert_eq!(driven_pieces(&aside).len(), 4);
        for d in [0.0, 0.5, 1.0, 1.7, 2.0] {
            check(Pose::new(0.0, d, PI), PI);
        }
        check(Pose::new(2.0, 1.0, 0.0), 2.287_002_218);
        let back = check(Pose::new(-3.0, 0.0, 0.0), 3.0);
        assert_eq!(driven_pieces(&back).len(), 1);
        assert!(driven_pieces(&back)[0].reverse);
    }

    /// Back straight between two quarter circles: shorter than an omega where lines are near.
    #[test]
    fn a_fishtail_has_its_closed_length() {
        let r = 3.0;
        for d in [2.0, 4.0, 6.0] {
            let (from, to) = (Pose::new(0.0, 0.0, 0.0), Pose::new(0.0, d, PI));
            let fishtail_m = PI * r + 2.0 * r - d;
            let mut found = false;
            each_word(from, to, Radii::both(r), f64::INFINITY, |word: &Word| {
                found |= (word.length_m() - fishtail_m).abs() < 1e-6;
                f64::INFINITY
            });
            assert!(found, "d {d}");
        }
    }

    fn any_pose() -> impl Strategy<Value = Pose> {
        (-15.0..15.0, -15.0..15.0, -7.0..7.0).prop_map(|(x, y, h)| Pose::new(x, y, h))
    }

    fn any_radii() -> impl Strategy<Value = Radii> {
        (1.0..6.0, 1.0..6.0).prop_map(|(left_m, right_m)| Radii { left_m, right_m })
    }

    fn any_drive() -> impl Strategy<Value = Vec<(f64, f64)>> {
        prop::collection::vec((-1.2..1.2_f64, -2.0..2.0_f64), 1..8)
    }

    fn driven(radii: Radii, drive: &[(f64, f64)]) -> (Pose, f64) {
        let mut at = Pose::new(0.0, 0.0, 0.0);
        let mut driven_m = 0.0;
        for (lock, turned) in drive {
            let lock = lock.clamp(-1.0, 1.0);
            let bend = if lock > 0.0 { Bend::Left } else { Bend::Right };
            let way_m = turned * radii.of(bend);
            driven_m += way_m.abs();
            let piece = Piece {
                bend,
                length_m: way_m.abs(),
                reverse: way_m < 0.0,
            };
            at = if lock.abs() < 0.2 {
                at.ahead(way_m)
            } else {
                at.after(&piece, Radii::both(radii.of(bend) / lock.abs()))
            };
        }
        (at, driven_m)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]

        #[test]
        fn every_word_ends_at_its_goal(from in any_pose(), to in any_pose(), radii in any_radii()) {
            let mut worst = (0.0_f64, String::new());
            each_word(from, to, radii, f64::INFINITY, |word: &Word| {
                let end = word.iter().fold(from, |pose, piece| pose.after(piece, radii));
                let miss = end.distance_m(to) + end.heading_difference_rad(to);
                if miss > worst.0 {
                    worst = (miss, word.letters());
                }
                f64::INFINITY
            });
            prop_assert!(worst.0 < 1e-6, "{worst:?}");
        }

        #[test]
        fn no_drive_is_shorter_than_the_least_length(radii in any_radii(), drive in any_drive()) {
            let (to, driven_m) = driven(radii, &drive);
            let least_m = least_length_m(Pose::new(0.0, 0.0, 0.0), to, radii);
            prop_assert!(least_m <= driven_m + 1e-7, "{least_m} {driven_m}");
        }

        /// With equal radii the families hold the shortest path of all.
        #[test]
        fn no_drive_is_shorter_than_the_shortest_word(r in 1.0..6.0_f64, drive in any_drive()) {
            let radii = Radii::both(r);
            let (to, driven_m) = driven(radii, &drive);
            let from = Pose::new(0.0, 0.0, 0.0);
            let shortest = cheapest(from, to, radii, &Changes::FREE);
            prop_assert!(shortest.length_m() <= driven_m + 1e-7);
        }

        /// A path to another pose and the same path turned back are as long.
        #[test]
        fn there_and_back_are_as_long(from in any_pose(), to in any_pose(), radii in any_radii()) {
            let there = cheapest(from, to, radii, &Changes::FREE).length_m();
            let back = cheapest(to, from, radii, &Changes::FREE).length_m();
            prop_assert!((there - back).abs() < 1e-7, "{there} {back}");
        }
    }
}
