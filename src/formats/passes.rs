//! `passes.geojson`: the centre line of every part of every pass, in the order worked.

use geojson::GeometryValue;
use serde::Serialize;

use super::features::Features;
use super::globe::{Globe, directions, line};
use super::{FormatError, figure};
use crate::plan::Plan;

/// In the order of the letters, as in every file.
#[derive(Debug, Serialize)]
pub(super) struct Properties<'a> {
    pub direction: usize,
    pub heading_deg: Option<f64>,
    pub length_m: f64,
    pub operation: &'a str,
    pub part: usize,
    pub pass: usize,
    pub shortened_m: f64,
    pub width_m: f64,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Features::new();
    for (properties, shape) in rows(plan, globe) {
        features.add(&properties, &shape)?;
    }
    Ok(features.end())
}

/// What stands beside each part, and its line in degrees, in the order worked.
pub(super) fn rows<'a>(
    plan: &'a Plan,
    globe: &'a Globe,
) -> impl Iterator<Item = (Properties<'a>, GeometryValue)> {
    directions(plan)
        .zip(globe.passes())
        .flat_map(|((planned, number, direction), lines)| {
            let heading = direction.passes.heading;
            let heading_deg = heading.map(|heading| figure(heading.deg()));
            let parts = direction.passes.parts().zip(lines.iter());
            parts.map(move |((pass, part), nodes)| {
                let properties = Properties {
                    direction: number,
                    heading_deg,
                    length_m: figure(part.length_m()),
                    operation: &planned.operation.id,
                    part: part.number,
                    pass: pass.number,
                    shortened_m: figure(part.shortened_m),
                    width_m: figure(part.width_m),
                };
                (properties, line(nodes))
            })
        })
}
