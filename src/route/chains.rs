//! Turns that are much alike, one after another.
//!
//! Links over as many lines, driven the same ways, make a chain from one side of the ground to
//! the other, in which a turn begins and ends much as the one before it. So each is driven after
//! the last ones, with a new word between beginning and end; where that costs more than it did
//! there, measured by what it must cost at least, the turn is searched anew.

use super::path::Piece;
use super::turn::Turn;

/// What is known of a link.
#[derive(Debug, Clone)]
pub(super) struct Known {
    /// Its turn; `None`: none was found.
    pub(super) turn: Option<Turn>,
    /// Whether it was searched by all means.
    pub(super) is_searched: bool,
}

impl Known {
    pub(super) const fn searched(turn: Option<Turn>) -> Self {
        Self {
            turn,
            is_searched: true,
        }
    }

    pub(super) const fn rough(turn: Option<Turn>) -> Self {
        Self {
            turn,
            is_searched: false,
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

/// Works out the links of a chain, given with their least costs in metres. `slack` is what a
/// followed turn may cost more than the searched one before it, as a share of its least cost.
pub(super) fn worked_out<I, E>(
    chain: impl IntoIterator<Item = (I, f64, E, E)>,
    slack: f64,
    followed: impl Fn((&E, &E), &[&[Piece]]) -> Option<Turn>,
    searched: impl Fn((&E, &E), &[&[Piece]]) -> Option<Turn>,
) -> Vec<(I, Known)> {
    let mut last_searched: Option<(f64, Turn)> = None;
    let mut last_followed: Option<Turn> = None;
    let mut found = Vec::new();
    for (link, least_m, from, to) in chain {
        let shapes = [
            last_searched.as_ref().map(|last| &last.1),
            last_followed.as_ref(),
        ];
        let shapes = shapes.into_iter().flatten();
        let shapes: Vec<&[Piece]> = shapes.map(|turn| &turn.path.pieces[..]).collect();
        if let Some((ratio, _)) = &last_searched {
            let turn = followed((&from, &to), &shapes);
            if let Some(turn) = turn.filter(|turn| turn.cost_m <= (1.0 + slack) * ratio * least_m) {
                last_followed = Some(turn.clone());
                found.push((link, Known::rough(Some(turn))));
                continue;
            }
        }
        let turn = searched((&from, &to), &shapes);
        if let Some(turn) = &turn {
            last_searched = Some((turn.cost_m / least_m.max(f64::MIN_POSITIVE), turn.clone()));
            last_followed = None;
        }
        found.push((link, Known::searched(turn)));
    }
    found
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

    /// Ends are what the link costs when searched; following one costs as much as it did.
    fn searched_of(costs_m: &[f64], slack: f64) -> Vec<bool> {
        let chain = costs_m.iter().enumerate().map(|(at, &m)| (at, 10.0, m, m));
        let known = worked_out(
            chain,
            slack,
            |(own_m, _), shapes| {
                let longest = shapes.iter().map(|shape| shape[0].length_m);
                Some(turn(longest.fold(*own_m, f64::max)))
            },
            |(own_m, _), _| Some(turn(*own_m)),
        );
        known.iter().map(|(_, known)| known.is_searched).collect()
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
    fn where_nothing_can_be_driven_the_chain_goes_on() {
        let known = worked_out(
            [(1, 5.0, 1.0, 1.0), (2, 5.0, 2.0, 2.0)],
            0.1,
            |_, _| None,
            |(own_m, _), _| (*own_m > 1.0).then(|| turn(*own_m)),
        );
        assert!(known[0].1.turn.is_none() && known[0].1.is_searched);
        assert!(known[1].1.turn.is_some());
    }
}
