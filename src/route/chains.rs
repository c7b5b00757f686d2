//! Turns that are much alike, one after another.
//!
//! Links over as many lines, driven the same ways, make a chain from one side of the ground to
//! the other, in which a turn is mostly the one before it moved on. So each is tried as the last
//! ones were driven; where that does not lead there or is not free, it begins and ends as they do, with a
//! new word between; where that costs more than it did there, measured by what it must cost at
//! least, it is searched anew. Of those that can be driven as they are, the first, second,
//! fourth, … is given a new word all the same, in case the ground now allows a cheaper one.

use super::path::Piece;
use super::turn::{LEAST_GAIN_M, Turn};

/// What is known of a link.
#[derive(Debug, Clone)]
pub(super) struct Known {
    /// Its turn; `None`: none was found.
    pub(super) turn: Option<Turn>,
    /// Whether it was searched by all means.
    pub(super) is_searched: bool,
    /// What it cost as it was known before it was searched, metres; `None` where it was not known, or
    /// not searched since.
    pub(super) rough_m: Option<f64>,
}

impl Known {
    pub(super) const fn searched(turn: Option<Turn>) -> Self {
        Self {
            turn,
            is_searched: true,
            rough_m: None,
        }
    }

    pub(super) const fn rough(turn: Option<Turn>) -> Self {
        Self {
            turn,
            is_searched: false,
            rough_m: None,
        }
    }
}

/// The cheaper of two turns, the first of equals.
pub(super) fn cheaper(a: Option<Turn>, b: Option<Turn>) -> Option<Turn> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.cost_m < a.cost_m { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// How a turn between two ends is made.
pub(super) trait Ways<E> {
    /// Driven just as one of some turns is, where that leads there and is free.
    fn copied(&self, from: &E, to: &E, shapes: &[&[Piece]]) -> Option<Turn>;
    /// Begun and ended as one of some turns is, for less than a limit, metres.
    fn followed(&self, from: &E, to: &E, shapes: &[&[Piece]], limit_m: f64) -> Option<Turn>;
    /// Searched by all means, or by those that the effort allows; some turns among them.
    fn searched(&self, from: &E, to: &E, shapes: &[&[Piece]]) -> Option<Turn>;
}

/// Works out the links of a chain, given with their least costs in metres. `slack` is what a
/// followed turn may cost more than the searched one before it, as a share of its least cost; the
/// first may follow a turn of another chain, given with its least cost.
pub(super) fn worked_out<I, E>(
    chain: impl IntoIterator<Item = (I, f64, E, E)>,
    before: Option<(f64, &Turn)>,
    slack: f64,
    ways: &impl Ways<E>,
) -> Vec<(I, Known)> {
    let mut last = Last::default();
    if let Some((least_m, turn)) = before {
        last.searched = Some(times_its_least(least_m, turn.clone()));
    }
    let chain = chain.into_iter();
    chain
        .map(|(link, least_m, from, to)| (link, last.next((&from, &to), least_m, slack, ways)))
        .collect()
}

/// How many times its least cost a turn costs, and the turn.
fn times_its_least(least_m: f64, turn: Turn) -> (f64, Turn) {
    (turn.cost_m / least_m.max(f64::MIN_POSITIVE), turn)
}

/// The last turns of a chain.
#[derive(Debug, Clone, Default)]
struct Last {
    /// The last one searched, and how many times its least cost it costs.
    searched: Option<(f64, Turn)>,
    /// The last one followed since.
    followed: Option<Turn>,
    /// How many were driven as these since a better one was found.
    copies: usize,
}

impl Last {
    /// The next turn of the chain.
    fn next<E>(
        &mut self,
        (from, to): (&E, &E),
        least_m: f64,
        slack: f64,
        ways: &impl Ways<E>,
    ) -> Known {
        let last = self.clone();
        let shapes = [
            last.searched.as_ref().map(|(_, turn)| turn),
            last.followed.as_ref(),
        ];
        let shapes = shapes.into_iter().flatten();
        let shapes: Vec<&[Piece]> = shapes.map(|turn| &turn.path.pieces[..]).collect();
        if let Some((ratio, _)) = last.searched {
            let most_m = (1.0 + slack) * ratio * least_m;
            let copied = ways.copied(from, to, &shapes);
            let copied = copied.filter(|turn| turn.cost_m <= most_m);
            let is_tried_anew = (self.copies + 1).is_power_of_two();
            if copied.is_some() && !is_tried_anew {
                self.copies += 1;
                return Known::rough(copied);
            }
            let limit_m = match &copied {
                Some(turn) => turn.cost_m - LEAST_GAIN_M,
                // A turn that costs as many times its least as the one before it will do.
                None => most_m + 2.0 * LEAST_GAIN_M,
            };
            let followed = ways.followed(from, to, &shapes, limit_m);
            if followed.is_some() {
                self.followed.clone_from(&followed);
                self.copies = 0;
                return Known::rough(followed);
            }
            if copied.is_some() {
                self.copies += 1;
                return Known::rough(copied);
            }
        }
        let turn = ways.searched(from, to, &shapes);
        if let Some(turn) = &turn {
            *self = Self {
                searched: Some(times_its_least(least_m, turn.clone())),
                ..Self::default()
            };
        }
        Known::searched(turn)
    }
}

#[cfg(test)]
mod tests {
    use super::super::path::{Bend, Path, Radii};
    use super::super::pose::Pose;
    use super::*;

    fn turn(cost_m: f64) -> Turn {
        let piece = Piece::forwards(Bend::Left, cost_m);
        Turn {
            path: Path::new(Pose::new(0.0, 0.0, 0.0), Radii::both(3.0), [piece]),
            cost_m,
            length_m: cost_m,
            on_pitch_m: 0.0,
            changes: 0,
        }
    }

    /// Ends are what the link costs when searched; nought: it cannot be driven. What follows
    /// another costs no less than it did, unless turns can be driven as others are.
    struct Told {
        copies: bool,
    }

    impl Ways<f64> for Told {
        fn copied(&self, own_m: &f64, _: &f64, shapes: &[&[Piece]]) -> Option<Turn> {
            let shape = shapes.last().filter(|_| self.copies && *own_m > 0.0)?;
            Some(turn(shape[0].length_m))
        }

        fn followed(
            &self,
            own_m: &f64,
            _: &f64,
            shapes: &[&[Piece]],
            limit_m: f64,
        ) -> Option<Turn> {
            let longest = shapes.iter().map(|shape| shape[0].length_m);
            let longest_m = longest.fold(*own_m, f64::max);
            let cost_m = if self.copies { *own_m } else { longest_m };
            (*own_m > 0.0 && cost_m < limit_m).then(|| turn(cost_m))
        }

        fn searched(&self, own_m: &f64, _: &f64, _: &[&[Piece]]) -> Option<Turn> {
            (*own_m > 0.0).then(|| turn(*own_m))
        }
    }

    fn known_of(costs_m: &[f64], slack: f64, copies: bool) -> Vec<Known> {
        let chain = costs_m.iter().enumerate().map(|(at, &m)| (at, 10.0, m, m));
        let known = worked_out(chain, None, slack, &Told { copies });
        known.into_iter().map(|(_, known)| known).collect()
    }

    fn searched_of(costs_m: &[f64], slack: f64) -> Vec<bool> {
        let known = known_of(costs_m, slack, false);
        known.iter().map(|known| known.is_searched).collect()
    }

    #[test]
    fn only_where_it_gets_dearer_a_turn_is_searched_anew() {
        let costs_m = [20.0, 20.0, 20.5, 30.0, 30.0];
        assert_eq!(
            searched_of(&costs_m, 0.1),
            [true, false, false, true, false]
        );
        assert_eq!(searched_of(&costs_m, 0.0), [true, false, true, true, false]);
    }

    #[test]
    fn the_first_may_follow_a_turn_of_another_chain() {
        let first_is_searched = |before_m: f64| {
            let (other, told) = (turn(before_m), Told { copies: false });
            let chain = [(0, 10.0, 20.0, 20.0)];
            let known = worked_out(chain, Some((10.0, &other)), 0.1, &told);
            known[0].1.is_searched
        };
        // At twice its least cost, as it is there; but not where it was cheaper.
        assert!(!first_is_searched(20.0));
        assert!(first_is_searched(15.0));
    }

    #[test]
    fn where_nothing_can_be_driven_the_chain_goes_on() {
        let known = known_of(&[0.0, 2.0, 0.0, 2.0], 0.1, false);
        let has_turn: Vec<bool> = known.iter().map(|known| known.turn.is_some()).collect();
        assert_eq!(has_turn, [false, true, false, true]);
        assert!(known[0].is_searched && known[2].is_searched && !known[3].is_searched);
    }

    #[test]
    fn copies_are_tried_anew_less_and_less_often() {
        // All can be driven as the first; the ground allows 10 m from some link on.
        let mut costs_m = [20.0; 20];
        costs_m[6..].fill(10.0);
        let known = known_of(&costs_m, 0.0, true);
        let cost_m = |at: usize| known[at].turn.as_ref().map(|turn| turn.cost_m);
        // Searched at 0; new words at 1, 2, 4 and 8.
        assert_eq!((cost_m(0), cost_m(7)), (Some(20.0), Some(20.0)));
        assert_eq!((cost_m(8), cost_m(19)), (Some(10.0), Some(10.0)));
        assert_eq!(known.iter().filter(|known| known.is_searched).count(), 1);
    }
}
