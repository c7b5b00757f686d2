//! `missed.geojson`: the places that were missed, by operation and direction. Direction 0
//! lists the places that no direction worked.

use serde::Serialize;

use super::features::Features;
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
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
        for (direction, places) in lists.enumerate() {
            let shapes = places
                .iter()
                .map(|place| std::slice::from_ref(&place.shape));
            let shapes = globe.grounds(&shapes.collect::<Vec<_>>(), LEAST_PIECE_M2)?;
            for (place, shape) in places.iter().zip(shapes) {
                let properties = Properties {
                    area_m2: figure(place.area_m2),
                    direction,
                    operation: &planned.operation.id,
                };
                if let Some(shape) = shape {
                    features.add(&properties, &shape)?;
                }
            }
        }
    }
    Ok(features.end())
}
