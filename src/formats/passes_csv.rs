//! `passes.csv`: the ends of every part in pitch metres and, where the pitch has a
//! position, in degrees. A round has one row a side. Each row of a round has that side's
//! own heading and length.

use serde::Serialize;

use super::globe::Globe;
use super::passes::line;
use super::{FormatError, figure};
use crate::passes::Track;
use crate::plan::Plan;
use crate::space::{Angle, Heading, Xy};

#[derive(Debug, Serialize)]
struct Row<'a> {
    operation: &'a str,
    direction: usize,
    pass: usize,
    part: usize,
    x0_m: f64,
    y0_m: f64,
    x1_m: f64,
    y1_m: f64,
    lon0_deg: Option<f64>,
    lat0_deg: Option<f64>,
    lon1_deg: Option<f64>,
    lat1_deg: Option<f64>,
    heading_deg: f64,
    width_m: f64,
    length_m: f64,
}

/// The header, written also where there is no row.
const HEADER: [&str; 15] = [
    "operation",
    "direction",
    "pass",
    "part",
    "x0_m",
    "y0_m",
    "x1_m",
    "y1_m",
    "lon0_deg",
    "lat0_deg",
    "lon1_deg",
    "lat1_deg",
    "heading_deg",
    "width_m",
    "length_m",
];

pub(super) fn bytes(plan: &Plan, globe: Option<&Globe>) -> Result<Vec<u8>, FormatError> {
    let mut csv = csv::WriterBuilder::new()
        .has_headers(false)
        .from_writer(Vec::new());
    csv.write_record(HEADER)?;
    for planned in &plan.operations {
        for (index, direction) in planned.directions.iter().enumerate() {
            let passes = &direction.passes.passes;
            for (pass, part) in passes
                .iter()
                .flat_map(|pass| pass.parts.iter().map(move |part| (pass, part)))
            {
                let heading = match part.track {
                    Track::Straight { .. } => direction.passes.heading,
                    Track::Round(_) => None,
                };
                for side in line(&part.track).lines() {
                    let [lon0_deg, lat0_deg] = degrees(globe, side.start)?;
                    let [lon1_deg, lat1_deg] = degrees(globe, side.end)?;
                    let along = side.delta();
                    let heading = heading.unwrap_or_else(|| heading_of(along, plan.ground.bearing));
                    csv.serialize(Row {
                        operation: &planned.operation.id,
                        direction: index + 1,
                        pass: pass.number,
                        part: part.number,
                        x0_m: figure(side.start.x),
                        y0_m: figure(side.start.y),
                        x1_m: figure(side.end.x),
                        y1_m: figure(side.end.y),
                        lon0_deg,
                        lat0_deg,
                        lon1_deg,
                        lat1_deg,
                        heading_deg: figure(heading.deg()),
                        width_m: figure(part.width_m),
                        length_m: figure(along.x.hypot(along.y)),
                    })?;
                }
            }
        }
    }
    csv.into_inner()
        .map_err(|error| FormatError::Csv(error.into_error().into()))
}

fn degrees(globe: Option<&Globe>, at: Xy) -> Result<[Option<f64>; 2], FormatError> {
    Ok(match globe {
        Some(globe) => globe.position(at)?.map(Some),
        None => [None, None],
    })
}

/// The true heading of a run on the pitch.
fn heading_of(along: Xy, bearing: Heading) -> Heading {
    Angle::from_deg(along.y.atan2(along.x).to_degrees()).heading(bearing)
}
