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
