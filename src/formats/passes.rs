//! `passes.geojson`: the centre line of every part of every pass, in the order worked.

use geo::LineString;
use geojson::GeometryValue;
use serde::Serialize;

use super::globe::Globe;
use super::{FormatError, features, figure};
use crate::passes::{Track, rounds};
use crate::plan::Plan;

#[derive(Debug, Serialize)]
pub(super) struct Properties<'a> {
    pub operation: &'a str,
    pub direction: usize,
    pub pass: usize,
    pub part: usize,
    pub heading_deg: Option<f64>,
    pub width_m: f64,
    pub length_m: f64,
    pub shortened_m: f64,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    features::file(rows(plan, globe)?)
}

/// What stands beside each part, and its line in degrees, in the order worked.
pub(super) fn rows<'a>(
    plan: &'a Plan,
    globe: &Globe,
) -> Result<Vec<(Properties<'a>, GeometryValue)>, FormatError> {
    let mut rows = Vec::new();
    for planned in &plan.operations {
        for (index, direction) in planned.directions.iter().enumerate() {
            let heading_deg = direction
                .passes
                .heading
                .map(|heading| figure(heading.deg()));
            for pass in &direction.passes.passes {
                for part in &pass.parts {
                    let line = line(&part.track);
                    let properties = Properties {
                        operation: &planned.operation.id,
                        direction: index + 1,
                        pass: pass.number,
                        part: part.number,
                        heading_deg,
                        width_m: figure(part.width_m),
                        length_m: figure(rounds::length_m(&line)),
                        shortened_m: figure(part.shortened_m),
                    };
                    rows.push((properties, globe.lines([&line])?));
                }
            }
        }
    }
    Ok(rows)
}

/// The centre line of a part, a straight one as its two ends.
pub(super) fn line(track: &Track) -> LineString<f64> {
    match track {
        Track::Straight { from, to } => LineString::new(vec![*from, *to]),
        Track::Round(line) => line.clone(),
    }
}
