//! A small linear programme by an interior-point method.
//!
//! min c x, A x = b, x >= 0, by the predictor-corrector method of Mehrotra (SIAM Journal on
//! Optimization 2, 1992). Only proposals come from here: whoever uses the multipliers
//! computes its bound from them in whole numbers, so nothing depends on how well this ends.

use super::skyline::Skyline;

/// The most steps; a dozen to twenty are usual.
const MOST_STEPS: usize = 45;
/// Where to stop: relative difference of both values, and relative residuals.
const ACCURACY: f64 = 1e-5;
/// How near to the edge a step may go.
const STEP_SHARE: f64 = 0.995;

/// The programme, column by column.
#[derive(Debug, Default)]
pub(super) struct Programme {
    /// Right-hand side by row.
    pub(super) right: Vec<f64>,
    /// Cost by column.
    pub(super) cost: Vec<f64>,
    /// Where each column's entries begin; one more than columns.
    start: Vec<usize>,
    /// Row and value of each entry, those of a column by their rows.
    entries: Vec<(usize, f64)>,
}

/// What was found: not exact, but near.
#[derive(Debug)]
pub(super) struct Solution {
    /// Value of each column.
    pub(super) column: Vec<f64>,
    /// Multiplier of each row.
    pub(super) multiplier: Vec<f64>,
}

impl Programme {
    pub(super) fn new(right: Vec<f64>) -> Self {
        Self {
            right,
            start: vec![0],
            ..Self::default()
        }
    }

    /// Adds a column; each row has one entry at most.
    pub(super) fn push(&mut self, cost: f64, entries: impl IntoIterator<Item = (usize, f64)>) {
        let before = self.entries.len();
        self.entries.extend(entries);
        self.entries[before..].sort_unstable_by_key(|&(row, _)| row);
        self.start.push(self.entries.len());
        self.cost.push(cost);
    }

    fn entries(&self, column: usize) -> &[(usize, f64)] {
        &self.entries[self.start[column]..self.start[column + 1]]
    }

    /// A x, added to `out` with a factor.
    fn add_product(&self, x: &[f64], factor: f64, out: &mut [f64]) {
        for (column, &value) in x.iter().enumerate() {
            for &(row, entry) in self.entries(column) {
                out[row] += factor * entry * value;
            }
        }
    }

    /// The multipliers' share in a column.
    fn priced(&self, column: usize, y: &[f64]) -> f64 {
        let entries = self.entries(column).iter();
        entries.map(|&(row, entry)| entry * y[row]).sum()
    }

    /// Where rows of A A' begin.
    fn envelope(&self) -> Skyline {
        let mut first: Vec<usize> = (0..self.right.len()).collect();
        for column in 0..self.cost.len() {
            let entries = self.entries(column);
            for &(row, _) in entries {
                first[row] = first[row].min(entries[0].0);
            }
        }
        Skyline::new(first)
    }

    /// Fills A D A' and factors it.
    fn factor(&self, matrix: &mut Skyline, scale: &[f64]) {
        matrix.clear();
        for (column, &d) in scale.iter().enumerate() {
            let entries = self.entries(column);
            for (at, &(row, value)) in entries.iter().enumerate() {
                matrix.add_to_row(row, &entries[..=at], d * value);
            }
        }
        for row in 0..self.right.len() {
            matrix.add_to_row(row, &[(row, 1.0)], 1e-11);
        }
        matrix.factor(1e-13);
    }

    /// Solves the programme, or comes as near as the steps allow; `None` where the numbers
    /// went astray from the start.
    pub(super) fn solved(&self) -> Option<Solution> {
        let columns = self.cost.len();
        let mut matrix = self.envelope();
        let mut point = self.starting_point(&mut matrix);
        let mut best: Option<Solution> = None;
        let right_size = 1.0 + largest(&self.right);
        let cost_size = 1.0 + largest(&self.cost);
        for _ in 0..MOST_STEPS {
            let mut missing = self.right.clone();
            self.add_product(&point.x, -1.0, &mut missing);
            let slack: Vec<f64> = (0..columns)
                .map(|j| self.cost[j] - self.priced(j, &point.y) - point.s[j])
                .collect();
            let gap = dot(&point.x, &point.s);
            let mean = gap / columns as f64;
            let value = dot(&self.cost, &point.x);
            if !(gap.is_finite() && value.is_finite()) {
                break;
            }
            best = Some(Solution {
                column: point.x.clone(),
                multiplier: point.y.clone(),
            });
            let is_near = gap <= ACCURACY * (1.0 + value.abs())
                && largest(&missing) <= ACCURACY * right_size
                && largest(&slack) <= ACCURACY * cost_size;
            if is_near {
                break;
            }
            let scale: Vec<f64> = (0..columns).map(|j| point.x[j] / point.s[j]).collect();
            self.factor(&mut matrix, &scale);
            let towards: Vec<f64> = (0..columns).map(|j| -point.x[j] * point.s[j]).collect();
            let guess = self.direction(&matrix, &point, &scale, &missing, &slack, &towards);
            let (far_x, far_s) = (
                longest(&point.x, &guess.x, 1.0),
                longest(&point.s, &guess.s, 1.0),
            );
            let ahead: f64 = (0..columns)
                .map(|j| (point.x[j] + far_x * guess.x[j]) * (point.s[j] + far_s * guess.s[j]))
                .sum();
            let centring = (ahead / gap).powi(3).clamp(0.0, 1.0);
            let towards: Vec<f64> = (0..columns)
                .map(|j| centring * mean - point.x[j] * point.s[j] - guess.x[j] * guess.s[j])
                .collect();
            let step = self.direction(&matrix, &point, &scale, &missing, &slack, &towards);
            let (far_x, far_s) = (
                longest(&point.x, &step.x, STEP_SHARE),
                longest(&point.s, &step.s, STEP_SHARE),
            );
            add(&mut point.x, &step.x, far_x);
            add(&mut point.s, &step.s, far_s);
            add(&mut point.y, &step.y, far_s);
        }
        best
    }

    /// Mehrotra's starting point: least squares, moved inside.
    fn starting_point(&self, matrix: &mut Skyline) -> Point {
        let columns = self.cost.len();
        self.factor(matrix, &vec![1.0; columns]);
        let mut weights = self.right.clone();
        matrix.solve(&mut weights);
        let mut x: Vec<f64> = (0..columns).map(|j| self.priced(j, &weights)).collect();
        let mut y = vec![0.0; self.right.len()];
        self.add_product(&self.cost, 1.0, &mut y);
        matrix.solve(&mut y);
        let mut s: Vec<f64> = (0..columns)
            .map(|j| self.cost[j] - self.priced(j, &y))
            .collect();
        for values in [&mut x, &mut s] {
            let least = values.iter().copied().fold(f64::INFINITY, f64::min);
            let lift = (-1.5 * least).max(0.0) + 1e-3;
            values.iter_mut().for_each(|value| *value += lift);
        }
        let product = dot(&x, &s);
        let lift_x = 0.5 * product / s.iter().sum::<f64>();
        let lift_s = 0.5 * product / x.iter().sum::<f64>();
        x.iter_mut().for_each(|value| *value += lift_x);
        s.iter_mut().for_each(|value| *value += lift_s);
        Point { x, y, s }
    }

    /// The step that would meet all equations to first order.
    fn direction(
        &self,
        matrix: &Skyline,
        point: &Point,
        scale: &[f64],
        missing: &[f64],
        slack: &[f64],
        towards: &[f64],
    ) -> Point {
        let columns = self.cost.len();
        let held: Vec<f64> = (0..columns)
            .map(|j| towards[j] / point.s[j] - scale[j] * slack[j])
            .collect();
        let mut y = missing.to_vec();
        self.add_product(&held, -1.0, &mut y);
        matrix.solve(&mut y);
        let s: Vec<f64> = (0..columns)
            .map(|j| slack[j] - self.priced(j, &y))
            .collect();
        let x = (0..columns)
            .map(|j| towards[j] / point.s[j] - scale[j] * s[j])
            .collect();
        Point { x, y, s }
    }
}

/// Columns, multipliers and reduced costs.
struct Point {
    x: Vec<f64>,
    y: Vec<f64>,
    s: Vec<f64>,
}

fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |most, value| value.abs().max(most))
}

fn add(to: &mut [f64], step: &[f64], factor: f64) {
    for (value, change) in to.iter_mut().zip(step) {
        *value += factor * change;
    }
}

/// How far one may go along a step with all values above zero, at most the whole step.
fn longest(values: &[f64], step: &[f64], share: f64) -> f64 {
    let mut most = 1.0 / share;
    for (value, change) in values.iter().zip(step) {
        if *change < 0.0 {
            most = most.min(-value / change);
        }
    }
    (most * share).min(1.0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn a_programme_with_a_known_solution_is_solved() {
        // max 3x + 5y with x <= 4, 2y <= 12, 3x + 2y <= 18 has x 2, y 6, value 36.
        let mut programme = Programme::new(vec![4.0, 12.0, 18.0]);
        programme.push(-3.0, [(0, 1.0), (2, 3.0)]);
        programme.push(-5.0, [(1, 2.0), (2, 2.0)]);
        for row in 0..3 {
            programme.push(0.0, [(row, 1.0)]);
        }
        let solution = programme.solved().unwrap();
        assert!((solution.column[0] - 2.0).abs() < 1e-4);
        assert!((solution.column[1] - 6.0).abs() < 1e-4);
        // The multipliers of the textbook: 0, 3/2, 1.
        for (row, known) in [0.0, -1.5, -1.0].into_iter().enumerate() {
            assert!((solution.multiplier[row] - known).abs() < 1e-4);
        }
    }
}
