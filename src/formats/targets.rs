//! `targets.geojson`: what each operation is to work, one feature an operation. An empty
//! target is left out.

use serde::Serialize;

use super::features::{collection, feature};
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
use crate::plan::Plan;

#[derive(Debug, Serialize)]
struct Properties<'a> {
    operation: &'a str,
    area_m2: f64,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Vec::new();
    for planned in &plan.operations {
        let properties = Properties {
            operation: &planned.operation.id,
            area_m2: figure(planned.target.area_m2),
        };
        if let Some(value) = globe.ground(&planned.target.shape, LEAST_PIECE_M2)? {
            features.push(feature(&properties, value)?);
        }
    }
    collection(&features)
}
