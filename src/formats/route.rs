//! `route.geojson`: the legs of every drive, in the order driven: where the middle of the rear
//! axle goes.

use serde::Serialize;

use super::features::{collection, feature};
use super::globe::Globe;
use super::{FormatError, figure};
use crate::plan::Plan;

#[derive(Debug, Serialize)]
struct Properties<'a> {
    operation: &'a str,
    leg: usize,
    kind: &'static str,
    direction: Option<usize>,
    pass: Option<usize>,
    part: Option<usize>,
    turn: Option<&'static str>,
    length_m: f64,
    time_s: f64,
    reverse: bool,
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Vec::new();
    for planned in &plan.operations {
        let legs = planned.route.iter().flat_map(|route| &route.legs);
        for (index, leg) in legs.enumerate() {
            let properties = Properties {
                operation: &planned.operation.id,
                leg: index + 1,
                kind: leg.kind.name(),
                direction: leg.worked.map(|worked| worked.direction),
                pass: leg.worked.map(|worked| worked.pass),
                part: leg.worked.map(|worked| worked.part),
                turn: leg.turn.map(|turn| turn.name()),
                length_m: figure(leg.length_m),
                time_s: figure(leg.time_s),
                reverse: leg.reverse,
            };
            features.push(feature(&properties, globe.lines([&leg.line])?)?);
        }
    }
    collection(&features)
}
