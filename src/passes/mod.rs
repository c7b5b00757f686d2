//! Strips and pass lines of one direction: spacing, start, ends, pieces, parts,
//! perimeter rounds.

pub mod band;
pub mod rounds;
pub(crate) mod rows;
pub mod straight;

use std::borrow::Cow;

use geo::LineString;

use crate::space::{Angle, Heading, Xy};

/// The passes of one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct DirectionPasses {
    /// `along`, `diagonal_left`, `angle_20`, … or `rounds`; unique in its operation.
    pub name: String,
    /// How the lines lie; `None` for rounds.
    pub angle: Option<Angle>,
    /// Their true heading at the pitch's centre; `None` for rounds.
    pub heading: Option<Heading>,
    /// Spacing of the lines laid out (the widest, if pieces differ), metres; `None` for
    /// one line.
    pub spacing_m: Option<f64>,
    /// The passes that have a part, by number.
    pub passes: Vec<Pass>,
}

/// One line of a direction, or one round.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// From 1, through all pieces.
    pub number: usize,
    /// The piece it belongs to, from 1.
    pub piece: usize,
    /// Its parts, in order along the heading.
    pub parts: Vec<Part>,
}

/// One straight run of the implement, or one run along a round.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// From 1 within its pass.
    pub number: usize,
    /// The centre line, pitch metres.
    pub track: Track,
    /// Width of the strip, metres.
    pub width_m: f64,
    /// How much a route shortened both ends together, metres; 0 without a route.
    pub shortened_m: f64,
}

impl Part {
    /// The length of its centre line, metres.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        match &self.track {
            Track::Straight { from, to } => (to.x - from.x).hypot(to.y - from.y),
            Track::Round(line) => rounds::length_m(line),
        }
    }
}

impl Track {
    /// The corners of the line, those of a straight one its two ends.
    #[must_use]
    pub fn corners(&self) -> Cow<'_, [Xy]> {
        match self {
            Self::Straight { from, to } => Cow::Owned(vec![*from, *to]),
            Self::Round(line) => Cow::Borrowed(&line.0),
        }
    }
}

/// The centre line of a part.
#[derive(Debug, Clone, PartialEq)]
pub enum Track {
    /// From one end to the other, in the sense of the heading.
    Straight {
        /// First end.
        from: Xy,
        /// Last end.
        to: Xy,
    },
    /// Along a round; closed (first = last) where nothing interrupts it.
    Round(LineString<f64>),
}

impl DirectionPasses {
    /// Sum of the lengths of all parts, metres.
    #[must_use]
    pub fn working_length_m(&self) -> f64 {
        self.parts().map(|(_, part)| part.length_m()).sum()
    }

    /// All parts, each with its pass, by number.
    pub fn parts(&self) -> impl Iterator<Item = (&Pass, &Part)> {
        self.passes
            .iter()
            .flat_map(|pass| pass.parts.iter().map(move |part| (pass, part)))
    }

    /// How many parts all passes have.
    #[must_use]
    pub fn part_count(&self) -> usize {
        self.passes.iter().map(|pass| pass.parts.len()).sum()
    }
}
