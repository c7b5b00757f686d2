//! `route.geojson`: the legs of every drive, in the order driven: where the middle of the rear
//! axle goes.

use serde::Serialize;

use super::features::Features;
use super::globe::Globe;
use super::{FormatError, figure};
use crate::plan::Plan;

/// In the order of the letters, as in every file.
#[derive(Debug, Serialize)]
struct Properties<'a> {
    direction: Option<usize>,
    kind: &'static str,
    leg: usize,
    length_m: f64,
    operation: &'a str,
    part: Option<usize>,
    pass: Option<usize>,
    reverse: bool,
    time_s: f64,
    turn: Option<&'static str>,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Features::new();
    for planned in &plan.operations {
        let legs = planned.route.iter().flat_map(|route| &route.legs);
        for (index, leg) in legs.enumerate() {
            let properties = Properties {
                direction: leg.worked.map(|worked| worked.direction),
                kind: leg.kind.name(),
                leg: index + 1,
                length_m: figure(leg.length_m),
                operation: &planned.operation.id,
                part: leg.worked.map(|worked| worked.part),
                pass: leg.worked.map(|worked| worked.pass),
                reverse: leg.reverse,
                time_s: figure(leg.time_s),
                turn: leg.turn.map(|turn| turn.name()),
            };
            features.add(&properties, &globe.lines([&leg.line])?)?;
        }
    }
    Ok(features.end())
}
