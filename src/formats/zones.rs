//! `zones.geojson`: the disjoint wear zones, by precedence.

use serde::Serialize;

use super::features::Features;
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
use crate::plan::Plan;

/// In the order of the letters, as in every file.
#[derive(Debug, Serialize)]
struct Properties<'a> {
    area_m2: f64,
    kind: &'static str,
    name: &'a str,
    wear: u8,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Features::new();
    for zone in &plan.zones {
        let properties = Properties {
            area_m2: figure(zone.area_m2),
            kind: zone.kind.name(),
            name: &zone.name,
            wear: zone.wear,
        };
        if let Some(shape) = globe.ground(&zone.shape, LEAST_PIECE_M2)? {
            features.add(&properties, &shape)?;
        }
    }
    Ok(features.end())
}
