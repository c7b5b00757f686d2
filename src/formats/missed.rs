//! `missed.geojson`: the places that were missed, by operation and direction. Direction 0
//! lists the places that no direction worked.

use geojson::GeometryValue;
use serde::Serialize;

use super::features::Features;
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
use crate::coverage::MissedPlace;
use crate::plan::Plan;

/// In the order of the letters, as in every file.
#[derive(Debug, Serialize)]
struct Properties<'a> {
    area_m2: f64,
    direction: usize,
    operation: &'a str,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Features::new();
    for planned in &plan.operations {
        let lists = std::iter::once(&planned.unworked)
            .chain(planned.directions.iter().map(|direction| &direction.missed));
        let mut before: (&[MissedPlace], Vec<Option<GeometryValue>>) = (&[], Vec::new());
        for (direction, places) in lists.enumerate() {
            // What the only direction misses is what none worked.
            if before.0 != places {
                let shapes = places
                    .iter()
                    .map(|place| std::slice::from_ref(&place.shape));
                let shapes = globe.grounds(&shapes.collect::<Vec<_>>(), LEAST_PIECE_M2)?;
                before = (places, shapes);
            }
            for (place, shape) in places.iter().zip(&before.1) {
                let properties = Properties {
                    area_m2: figure(place.area_m2),
                    direction,
                    operation: &planned.operation.id,
                };
                if let Some(shape) = shape {
                    features.add(&properties, shape)?;
                }
            }
        }
    }
    Ok(features.end())
}
