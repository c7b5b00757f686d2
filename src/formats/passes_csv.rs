//! `passes.csv`: the ends of every part in pitch metres and, where the pitch has a
//! position, in degrees. A round has one row a side. Each row of a round has that side's
//! own heading and length.

use serde::Serialize;

use super::globe::{Globe, Lines, directions};
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
    let mut lines = globe.map(Globe::passes);
    for (planned, number, direction) in directions(plan) {
        let mut lines = lines.as_mut().and_then(Iterator::next).map(Lines::iter);
        for (pass, part) in direction.passes.parts() {
            let heading = match part.track {
                Track::Straight { .. } => direction.passes.heading,
                Track::Round(_) => None,
            };
            let corners = part.track.corners();
            let nodes = lines.as_mut().and_then(Iterator::next).unwrap_or_default();
            let degrees = |corner: usize| match nodes.get(corner) {
                Some(node) => node.folded().degrees().map(Some),
                None => [None; 2],
            };
            for (corner, ends) in corners.windows(2).enumerate() {
                let [lon0_deg, lat0_deg] = degrees(corner);
                let [lon1_deg, lat1_deg] = degrees(corner + 1);
                let (start, along) = (ends[0], ends[1] - ends[0]);
                let heading = heading.unwrap_or_else(|| heading_of(along, plan.ground.bearing));
                rows.push(Row {
                    operation: &planned.operation.id,
                    direction: number,
                    pass: pass.number,
                    part: part.number,
                    x0_m: figure(start.x),
                    y0_m: figure(start.y),
                    x1_m: figure(ends[1].x),
                    y1_m: figure(ends[1].y),
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
    table::bytes(&HEADER, rows)
}

/// The true heading of a run on the pitch.
fn heading_of(along: Xy, bearing: Heading) -> Heading {
    Angle::from_deg(along.y.atan2(along.x).to_degrees()).heading(bearing)
}
