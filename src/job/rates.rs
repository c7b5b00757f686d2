//! What an operation puts down, by place and direction.

use super::model::Direction;

/// The rates of an operation: the first row that fits a place holds there.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    /// What a row without directions is for.
    pub per: RatePer,
    /// The rows, in the order of the job; a single rate is one row that holds everywhere.
    pub rows: Vec<RateRow>,
}

/// What a rate is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RatePer {
    /// For all directions together, which share it evenly.
    Operation,
    /// For each direction.
    Direction,
}

/// A rate and where it holds. What is `None` means all.
#[derive(Debug, Clone, PartialEq)]
pub struct RateRow {
    /// Zone names, kinds or regions, as written.
    pub zones: Option<Vec<String>>,
    /// Only in zones of these wear classes.
    pub wear: Option<Vec<u8>>,
    /// Only in these directions; the rate is then what each of them puts down.
    pub directions: Option<Vec<Direction>>,
    /// Kilograms a square metre; `None` where it is a depth and the material's density is not
    /// known.
    pub kg_per_m2: Option<f64>,
}

impl Rates {
    /// The rows that hold for a direction, with what that direction puts down, kilograms a square
    /// metre. `None` where some rate is a depth without a density.
    #[must_use]
    pub fn of_direction(
        &self,
        direction: &Direction,
        directions: usize,
    ) -> Option<Vec<(&RateRow, f64)>> {
        let holds = |row: &&RateRow| {
            let only = row.directions.as_ref();
            only.is_none_or(|only| only.contains(direction))
        };
        let rows = self.rows.iter().filter(holds).map(|row| {
            let is_shared = row.directions.is_none() && self.per == RatePer::Operation;
            let shares = if is_shared { directions.max(1) } else { 1 };
            Some((row, row.kg_per_m2? / shares as f64))
        });
        rows.collect()
    }
}
