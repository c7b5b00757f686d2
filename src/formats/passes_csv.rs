//! `passes.csv`: the ends of every part in pitch metres and, where the pitch has a
//! position, in degrees. A round has one row a side. Each row of a round has that side's
//! own heading and length.

use geo::LineString;
use serde::Serialize;

use super::globe::Globe;
use super::passes::line;
use super::{FormatError, figure, table};
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
    let mut rows = Vec::new();
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
                let line = line(&part.track);
                let ends = degrees(globe, &line)?;
                for (side, ends) in line.lines().zip(ends.windows(2)) {
                    let [lon0_deg, lat0_deg] = ends[0];
                    let [lon1_deg, lat1_deg] = ends[1];
                    let along = side.delta();
                    let heading = heading.unwrap_or_else(|| heading_of(along, plan.ground.bearing));
                    rows.push(Row {
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
                    });
                }
            }
        }
    }
    table::bytes(&HEADER, rows)
}

/// Longitude and latitude of a line's corners, where the ground lies on the globe.
fn degrees(
    globe: Option<&Globe>,
    line: &LineString<f64>,
) -> Result<Vec<[Option<f64>; 2]>, FormatError> {
    Ok(match globe {
        Some(globe) => {
            let positions = globe.positions(line.coords().copied())?;
            positions.into_iter().map(|at| at.map(Some)).collect()
        }
        None => vec![[None; 2]; line.0.len()],
    })
}

/// The true heading of a run on the pitch.
fn heading_of(along: Xy, bearing: Heading) -> Heading {
    Angle::from_deg(along.y.atan2(along.x).to_degrees()).heading(bearing)
}
