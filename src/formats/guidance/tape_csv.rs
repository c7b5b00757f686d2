//! `tape.csv`: both ends of every straight part, as driven, told by flag and tape. Perimeter
//! rounds cross no line and have no rows; the tape sheet tells them in words.

use serde::Serialize;

use crate::formats::{FormatError, decimals, table};
use crate::plan::Plan;
use crate::setting_out::TapedEnd;

#[derive(Debug, Serialize)]
struct Row<'a> {
    operation: &'a str,
    direction: usize,
    pass: usize,
    part: usize,
    end: &'a str,
    line: String,
    flag: &'a str,
    centre_m: String,
    edge_m: String,
    lift_m: String,
    edge_side: &'a str,
}

/// The header, written also where there is no row.
const HEADER: [&str; 11] = [
    "operation",
    "direction",
    "pass",
    "part",
    "end",
    "line",
    "flag",
    "centre_m",
    "edge_m",
    "lift_m",
    "edge_side",
];

pub(super) fn bytes(plan: &Plan) -> Result<Vec<u8>, FormatError> {
    let mut rows = Vec::new();
    for planned in &plan.operations {
        for (index, direction) in planned.directions.iter().enumerate() {
            for part in &direction.tape.parts {
                for (end, at) in [("start", &part.start), ("stop", &part.stop)] {
                    let TapedEnd {
                        line,
                        flag,
                        centre_m,
                        edge_m,
                        lift_m,
                    } = *at;
                    rows.push(Row {
                        operation: &planned.operation.id,
                        direction: index + 1,
                        pass: part.pass,
                        part: part.part,
                        end,
                        line: line.name(),
                        flag: flag.name(),
                        centre_m: centimetres(centre_m),
                        edge_m: centimetres(edge_m),
                        lift_m: centimetres(lift_m),
                        edge_side: part.edge.name(),
                    });
                }
            }
        }
    }
    table::bytes(&HEADER, rows)
}

/// Metres to the centimetre, as one reads a tape; no minus before nought.
fn centimetres(metres: f64) -> String {
    format!("{:.2}", decimals(metres, 1e2))
}
