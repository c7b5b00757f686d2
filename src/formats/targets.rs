//! `targets.geojson`: what each operation is to work, one feature an operation. An empty
//! target is left out.

use geo::MultiPolygon;
use geojson::GeometryValue;
use serde::Serialize;

use super::features::Features;
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
use crate::plan::Plan;

/// In the order of the letters, as in every file.
#[derive(Debug, Serialize)]
struct Properties<'a> {
    area_m2: f64,
    operation: &'a str,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Features::new();
    // Most operations work the same ground.
    let mut made: Vec<(&MultiPolygon<f64>, Option<GeometryValue>)> = Vec::new();
    for planned in &plan.operations {
        let target = &planned.target.shape;
        let at = match made.iter().position(|(other, _)| *other == target) {
            Some(at) => at,
            None => {
                made.push((target, globe.ground(target, LEAST_PIECE_M2)?));
                made.len() - 1
            }
        };
        let properties = Properties {
            area_m2: figure(planned.target.area_m2),
            operation: &planned.operation.id,
        };
        if let Some(shape) = &made[at].1 {
            features.add(&properties, shape)?;
        }
    }
    Ok(features.end())
}
