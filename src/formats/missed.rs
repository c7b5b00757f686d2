//! `missed.geojson`: the places that were missed, by operation and direction. Direction 0
//! lists the places that no direction worked.

use serde::Serialize;

use super::features::{collection, feature};
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
use crate::plan::Plan;

#[derive(Debug, Serialize)]
struct Properties<'a> {
    operation: &'a str,
    direction: usize,
    area_m2: f64,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Vec::new();
    for planned in &plan.operations {
        let lists = std::iter::once(&planned.unworked)
            .chain(planned.directions.iter().map(|direction| &direction.missed));
        for (direction, places) in lists.enumerate() {
            for place in places {
                let properties = Properties {
                    operation: &planned.operation.id,
                    direction,
                    area_m2: figure(place.area_m2),
                };
                let shape = geo::MultiPolygon(vec![place.shape.clone()]);
                if let Some(value) = globe.ground(&shape, LEAST_PIECE_M2)? {
                    features.push(feature(&properties, value)?);
                }
            }
        }
    }
    collection(&features)
}
