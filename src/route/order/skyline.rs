//! Symmetric systems whose rows reach back only a little: Cholesky within the envelope.
//!
//! Rows of near lines meet near each other, so most of the square is zero. Each row keeps
//! what lies between its first entry and the diagonal; the factor needs no more (George and
//! Liu 1981, chapter 4). Rows that meet everything go last.

/// The lower half of a symmetric matrix, row by row from the first entry that may be other
/// than zero; after [`Skyline::factor`] its Cholesky factor.
#[derive(Debug, Clone)]
pub(super) struct Skyline {
    first: Vec<usize>,
    start: Vec<usize>,
    values: Vec<f64>,
}

impl Skyline {
    /// A matrix of zeros whose rows begin at these columns.
    pub(super) fn new(first: Vec<usize>) -> Self {
        let mut start = Vec::with_capacity(first.len() + 1);
        start.push(0);
        let mut length = 0;
        for (row, &from) in first.iter().enumerate() {
            length += row + 1 - from.min(row);
            start.push(length);
        }
        let first = first.iter().enumerate().map(|(row, &f)| f.min(row));
        Self {
            first: first.collect(),
            start,
            values: vec![0.0; length],
        }
    }

    /// Sets all entries to zero.
    pub(super) fn clear(&mut self) {
        self.values.fill(0.0);
    }

    /// Adds multiples of some entries to a row of the lower half; what lies outside the envelope is
    /// passed over.
    pub(super) fn add_to_row(&mut self, row: usize, entries: &[(usize, f64)], factor: f64) {
        let first = self.first[row];
        let this = &mut self.values[self.start[row]..self.start[row + 1]];
        for &(column, value) in entries {
            if let Some(entry) = this.get_mut(column.wrapping_sub(first)) {
                *entry += factor * value;
            }
        }
    }

    /// Replaces the matrix by its factor. A pivot that is not above `least_pivot` becomes
    /// huge, which leaves its row out of the solution: rows that depend on others do no harm.
    pub(super) fn factor(&mut self, least_pivot: f64) {
        for row in 0..self.first.len() {
            let (done, rest) = self.values.split_at_mut(self.start[row]);
            let first = self.first[row];
            let this = &mut rest[..row + 1 - first];
            for column in first..row {
                let from = first.max(self.first[column]);
                let other =
                    &done[self.start[column] + from - self.first[column]..self.start[column + 1]];
                let (other, pivot) = other.split_at(column - from);
                let mine = &this[from - first..column - first];
                let sum = dot(mine, other);
                this[column - first] = (this[column - first] - sum) / pivot[0];
            }
            let (before, diagonal) = this.split_at_mut(row - first);
            let pivot = diagonal[0] - dot(before, before);
            diagonal[0] = if pivot > least_pivot {
                pivot.sqrt()
            } else {
                1e64
            };
        }
    }

    /// Solves with the factor, in place.
    pub(super) fn solve(&self, right: &mut [f64]) {
        let n = self.first.len();
        for row in 0..n {
            let first = self.first[row];
            let this = &self.values[self.start[row]..self.start[row + 1]];
            let (before, diagonal) = this.split_at(row - first);
            right[row] = (right[row] - dot(before, &right[first..row])) / diagonal[0];
        }
        for row in (0..n).rev() {
            let first = self.first[row];
            let this = &self.values[self.start[row]..self.start[row + 1]];
            let (before, diagonal) = this.split_at(row - first);
            right[row] /= diagonal[0];
            let value = right[row];
            for (entry, factor) in right[first..row].iter_mut().zip(before) {
                *entry -= factor * value;
            }
        }
    }
}

/// The scalar product, in eight sums side by side: a fixed order, and fast.
fn dot(one: &[f64], other: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    let (one_chunks, other_chunks) = (one.chunks_exact(8), other.chunks_exact(8));
    let (one_rest, other_rest) = (one_chunks.remainder(), other_chunks.remainder());
    for (a, b) in one_chunks.zip(other_chunks) {
        for (sum, (x, y)) in sums.iter_mut().zip(a.iter().zip(b)) {
            *sum += x * y;
        }
    }
    let rest: f64 = one_rest.iter().zip(other_rest).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_system_with_a_dense_last_row_is_solved() {
        // [4 1 . 1; 1 5 2 1; . 2 6 1; 1 1 1 7] x = (6, 9, 9, 10) has x = (1, 1, 1, 1).
        let mut matrix = Skyline::new(vec![0, 0, 1, 0]);
        for (row, column, value) in [
            (0, 0, 4.0),
            (1, 0, 1.0),
            (1, 1, 5.0),
            (2, 1, 2.0),
            (2, 2, 6.0),
            (3, 0, 1.0),
            (3, 1, 1.0),
            (3, 2, 1.0),
            (3, 3, 7.0),
        ] {
            matrix.add_to_row(row, &[(column, value)], 1.0);
        }
        matrix.factor(1e-12);
        let mut right = [6.0, 9.0, 9.0, 10.0];
        matrix.solve(&mut right);
        for value in right {
            assert!((value - 1.0).abs() < 1e-12, "{value}");
        }
    }
}
