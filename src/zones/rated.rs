//! Which rate holds where: the ground of each row of an operation's rates, by direction.
//!
//! The first row that fits a place holds there, so each row gets what the rows before it have
//! left of the pitch. Off the pitch there are no zones: there the last row of the direction
//! holds.

use geo::MultiPolygon;

use super::target::{Asker, is_left_out, region_ground, unknown_here};
use super::{Zone, ZoneKind};
use crate::fault::Fault;
use crate::ground::Ground;
use crate::job::model::{Job, Operation, RateRow};
use crate::region;

/// What one direction puts down, by place.
#[derive(Debug, Clone)]
pub struct Rated {
    /// Disjoint grounds of the pitch, pitch metres, each with its rate in kilograms a square
    /// metre.
    pub rows: Vec<(MultiPolygon<f64>, f64)>,
    /// What of the pitch no row fits: nothing is put down there.
    pub unrated: MultiPolygon<f64>,
    /// Off the pitch, kilograms a square metre.
    pub outside_kg_per_m2: f64,
}

/// Checks the zone words of an operation's rates.
///
/// # Errors
/// A zone word that means nothing on this pitch.
pub fn check_rates(
    job: &Job,
    operation: &Operation,
    ground: &Ground,
    zones: &[Zone],
) -> Result<(), Fault> {
    let rates = operation.rates.as_ref();
    let mut rows = rates.into_iter().flat_map(|rates| &rates.rows);
    rows.try_for_each(|row| check_words(job, operation, ground, zones, row))
}

/// The rates of an operation on the ground, one entry a direction of the job. `None` where it has
/// none, or where one is a depth of a material without a density.
#[must_use]
pub fn rated(operation: &Operation, ground: &Ground, zones: &[Zone]) -> Option<Vec<Rated>> {
    let rates = operation.rates.as_ref()?;
    let mut by_direction = Vec::new();
    let count = operation.directions.len();
    for direction in &operation.directions {
        let rows = rates.of_direction(direction, count)?;
        let mut left = MultiPolygon(vec![ground.outline.clone()]);
        let mut taken = Vec::new();
        for &(row, kg_per_m2) in &rows {
            let Some(fits) = ground_of(row, ground, zones) else {
                taken.push((left, kg_per_m2));
                left = MultiPolygon(Vec::new());
                break;
            };
            taken.push((region::intersection(&left, &fits), kg_per_m2));
            left = region::difference(&left, &fits);
        }
        by_direction.push(Rated {
            rows: taken,
            unrated: left,
            outside_kg_per_m2: rows.last().map_or(0.0, |&(_, kg_per_m2)| kg_per_m2),
        });
    }
    Some(by_direction)
}

/// The ground that a row fits; `None`: all of it.
fn ground_of(row: &RateRow, ground: &Ground, zones: &[Zone]) -> Option<MultiPolygon<f64>> {
    let words = row.zones.as_deref().unwrap_or_default();
    let is_whole = |word: &String| matches!(word.as_str(), "all" | "pitch" | "grass");
    let is_everywhere = row.zones.is_none() || words.iter().any(is_whole);
    let is_worn = |zone: &&Zone| {
        let classes = row.wear.as_ref();
        classes.is_none_or(|classes| classes.contains(&zone.wear))
    };
    let shapes = |named: &dyn Fn(&Zone) -> bool| {
        let zones = zones.iter().filter(is_worn).filter(|zone| named(zone));
        zones.map(|zone| zone.shape.clone()).collect::<Vec<_>>()
    };
    if is_everywhere {
        row.wear.as_ref()?;
        return Some(region::union(&shapes(&|_| true)));
    }
    let mut chosen = shapes(&|zone| words.iter().any(|word| names(word, zone)));
    let regions = words.iter().filter_map(|word| region_ground(ground, word));
    let regions: Vec<MultiPolygon<f64>> = regions.collect();
    if !regions.is_empty() {
        let regions = region::union(&regions);
        chosen.push(match row.wear {
            // Wear is told of zones: of a region what lies in zones of these classes.
            Some(_) => region::intersection(&regions, &region::union(&shapes(&|_| true))),
            None => regions,
        });
    }
    Some(region::union(&chosen))
}

fn names(word: &str, zone: &Zone) -> bool {
    zone.name == word || zone.kind.name() == word
}

fn check_words(
    job: &Job,
    operation: &Operation,
    ground: &Ground,
    zones: &[Zone],
    row: &RateRow,
) -> Result<(), Fault> {
    for word in row.zones.iter().flatten() {
        let is_known = region_ground(ground, word).is_some()
            || is_left_out(ground, word)
            || ZoneKind::ALL.iter().any(|kind| kind.name() == word)
            || zones.iter().any(|zone| names(word, zone));
        if !is_known {
            let asker = Asker::of(operation, "rates");
            return Err(unknown_here(job, &asker, ground, word));
        }
    }
    Ok(())
}
