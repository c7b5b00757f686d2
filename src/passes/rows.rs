//! Lists side by side in one store, row after row: one allocation instead of one a row.

use std::ops::Range;

/// Rows of things.
#[derive(Debug, Clone, Default)]
pub(crate) struct Rows<T> {
    things: Vec<T>,
    /// Where each row ends in `things`; it begins where the one before it ends.
    ends: Vec<usize>,
}

impl<T: Copy + Default> Rows<T> {
    /// So many rows of things, each of which lies on a range of neighbouring rows; a row has
    /// its things in the order in which they were given.
    pub(crate) fn of(count: usize, things: &[(T, Range<usize>)]) -> Self {
        let mut lengths = vec![0; count];
        for (_, rows) in things {
            for length in &mut lengths[rows.clone()] {
                *length += 1;
            }
        }
        // Where the next thing of each row goes: first its beginning, in the end its end.
        let mut total = 0;
        let mut next = lengths;
        for next in &mut next {
            let begins = total;
            total += *next;
            *next = begins;
        }
        let mut store = vec![T::default(); total];
        for (thing, rows) in things {
            for next in &mut next[rows.clone()] {
                store[*next] = *thing;
                *next += 1;
            }
        }
        Self {
            things: store,
            ends: next,
        }
    }

    /// Adds a row after the others.
    pub(crate) fn add(&mut self, row: &[T]) {
        self.things.extend_from_slice(row);
        self.ends.push(self.things.len());
    }

    /// How many rows there are.
    pub(crate) fn count(&self) -> usize {
        self.ends.len()
    }

    /// The things of a row.
    pub(crate) fn row(&self, row: usize) -> &[T] {
        let begins = row.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.things[begins..self.ends[row]]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn things_lie_on_all_their_rows_in_the_order_given() {
        let mut rows = Rows::of(3, &[('a', 0..2), ('b', 2..2), ('c', 1..3)]);
        rows.add(&['d', 'e']);
        let all: Vec<&[char]> = (0..rows.count()).map(|row| rows.row(row)).collect();
        assert_eq!(all, [&['a'][..], &['a', 'c'], &['c'], &['d', 'e']]);
    }
}
