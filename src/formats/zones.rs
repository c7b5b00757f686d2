//! `zones.geojson`: the disjoint wear zones, by precedence.

use serde::Serialize;

use super::features::{collection, feature};
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
use crate::plan::Plan;

#[derive(Debug, Serialize)]
struct Properties<'a> {
    name: &'a str,
    kind: &'static str,
    wear: u8,
    area_m2: f64,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Vec::new();
    for zone in &plan.zones {
        let properties = Properties {
            name: &zone.name,
            kind: zone.kind.name(),
            wear: zone.wear,
            area_m2: figure(zone.area_m2),
        };
        if let Some(value) = globe.ground(&zone.shape, LEAST_PIECE_M2)? {
            features.push(feature(&properties, value)?);
        }
    }
    collection(&features)
}
