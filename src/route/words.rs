//! Short runs of pieces without a heap: what joins two poses where no wall counts.

use std::ops::Deref;

use super::path::{Bend, Piece};

/// The most pieces a word has.
pub(super) const MOST_PIECES: usize = 5;

/// A few pieces, one after another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Word {
    pieces: [Piece; MOST_PIECES],
    count: usize,
}

impl Default for Word {
    fn default() -> Self {
        Self {
            pieces: [Piece::forwards(Bend::Straight, 0.0); MOST_PIECES],
            count: 0,
        }
    }
}

impl Deref for Word {
    type Target = [Piece];

    fn deref(&self) -> &[Piece] {
        &self.pieces[..self.count]
    }
}

impl Word {
    /// A word of these pieces, at most five.
    #[must_use]
    pub fn of<const N: usize>(pieces: [Piece; N]) -> Self {
        const { assert!(N <= MOST_PIECES) };
        let mut word = Self::default();
        word.pieces[..N].copy_from_slice(&pieces);
        word.count = N;
        word
    }

    /// Its length, metres.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.iter().map(|piece| piece.length_m).sum()
    }

    /// Its letters, `L`, `S`, `R`, those driven in reverse small; pieces of no length too.
    #[must_use]
    pub fn letters(&self) -> String {
        let letter = |piece: &Piece| match (piece.bend, piece.reverse) {
            (Bend::Left, false) => 'L',
            (Bend::Left, true) => 'l',
            (Bend::Straight, false) => 'S',
            (Bend::Straight, true) => 's',
            (Bend::Right, false) => 'R',
            (Bend::Right, true) => 'r',
        };
        self.iter().map(letter).collect()
    }

    /// The word with a piece after it; one piece where it goes on alike. `None` where that
    /// would be too many.
    #[must_use]
    pub fn followed_by(&self, piece: Piece) -> Option<Self> {
        let mut word = *self;
        if let Some(last) = word.pieces[..word.count].last_mut()
            && last.bend == piece.bend
            && last.reverse == piece.reverse
        {
            last.length_m += piece.length_m;
            return Some(word);
        }
        *word.pieces.get_mut(word.count)? = piece;
        word.count += 1;
        Some(word)
    }

    /// The same with the piece before it.
    #[must_use]
    pub fn led_by(&self, piece: Piece) -> Option<Self> {
        let mut word = Self::default().followed_by(piece)?;
        for piece in self.iter() {
            word = word.followed_by(*piece)?;
        }
        Some(word)
    }

    /// The word driven from its end to its beginning, in the other sense.
    #[must_use]
    pub fn driven_back(&self) -> Self {
        let mut word = *self;
        word.pieces[..word.count].reverse();
        for piece in &mut word.pieces[..word.count] {
            *piece = piece.turned_back();
        }
        word
    }
}

/// Words nearer in cost than this are equals, metres: more than rounding, less than anything that
/// is told.
const EQUAL_M: f64 = 5e-10;

/// The cheapest of the words offered, equals among them, the very least first.
#[derive(Debug, Default)]
pub(super) struct Cheapest(Vec<(f64, Word)>);

impl Cheapest {
    /// Takes a word of this cost, or not; what a word may cost that is still taken.
    pub(super) fn offer(&mut self, cost_m: f64, word: &Word) -> f64 {
        let place = self.0.partition_point(|known| known.0 <= cost_m);
        self.0.insert(place, (cost_m, *word));
        let most_m = self.0[0].0 + EQUAL_M;
        self.0.retain(|known| known.0 <= most_m);
        most_m
    }

    pub(super) fn words(self) -> Vec<Word> {
        self.0.into_iter().map(|(_, word)| word).collect()
    }
}
