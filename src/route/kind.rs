//! The name of a turn.

use super::path::{Bend, LEAST_PIECE_M, Piece};

/// Kinds of turns, as they are counted and drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Forwards, all arcs one way, to the neighbouring line.
    U,
    /// The same to a line further off.
    WideU,
    /// Forwards, with arcs both ways.
    Bulb,
    /// With a change of driving direction.
    ThreePoint,
    /// The rest: ways in and out, to another direction or the same line, beside hauls, unless
    /// they are of the last two kinds.
    Other,
}

/// Where a turn leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leads {
    /// To the neighbouring line: same piece of ground, pass number one more or less.
    ToNeighbour,
    /// To another line of the same direction, further off.
    ToFurther,
    /// Anywhere else.
    Elsewhere,
}

impl Kind {
    /// All of them, in the order of the list.
    pub const ALL: [Self; 5] = [
        Self::U,
        Self::WideU,
        Self::Bulb,
        Self::ThreePoint,
        Self::Other,
    ];

    /// The word written in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::U => "u",
            Self::WideU => "wide_u",
            Self::Bulb => "bulb",
            Self::ThreePoint => "three_point",
            Self::Other => "other",
        }
    }

    /// The kind of a turn with these pieces. Its changes are those within it: where it joins
    /// work in reverse, that is a change too, so any piece in reverse beside work makes it
    /// three-point.
    #[must_use]
    pub fn of(pieces: &[Piece], changes: usize, leads: Leads) -> Self {
        let bends = |bend: Bend| {
            pieces
                .iter()
                .any(|piece| piece.bend == bend && piece.length_m > LEAST_PIECE_M)
        };
        if changes > 0 {
            Self::ThreePoint
        } else if bends(Bend::Left) && bends(Bend::Right) {
            Self::Bulb
        } else {
            match leads {
                Leads::ToNeighbour => Self::U,
                Leads::ToFurther => Self::WideU,
                Leads::Elsewhere => Self::Other,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_are_named_by_what_is_driven_and_where_it_leads() {
        let (left, right) = (
            Piece::forwards(Bend::Left, 3.0),
            Piece::forwards(Bend::Right, 2.0),
        );
        let straight = Piece::forwards(Bend::Straight, 4.0);
        let check = |pieces: &[Piece], changes, leads, name| {
            assert_eq!(Kind::of(pieces, changes, leads).name(), name);
        };
        check(&[left, straight, left], 0, Leads::ToNeighbour, "u");
        check(&[left, straight, left], 0, Leads::ToFurther, "wide_u");
        check(&[left, straight, left], 0, Leads::Elsewhere, "other");
        check(&[right, left, right], 0, Leads::ToNeighbour, "bulb");
        check(&[right, left, right], 0, Leads::Elsewhere, "bulb");
        check(
            &[left, straight.turned_back(), left],
            2,
            Leads::ToFurther,
            "three_point",
        );
        check(&[straight], 0, Leads::Elsewhere, "other");
    }
}
