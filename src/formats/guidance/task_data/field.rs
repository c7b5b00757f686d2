//! The field of task data: its outline, what is kept clear, places, and the lines.

use geo::{Centroid as _, CoordsIter as _, Geodesic, Geometry, Point};

use super::element::Element;
use super::names::{self, cut};
use super::{Ids, PARTFIELD};
use crate::formats::passes::line;
use crate::formats::{FormatError, Globe, LEAST_PIECE_M2};
use crate::ground::Kept;
use crate::job::model::TaskDataVersion;
use crate::passes::Track;
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::region;
use crate::space::{Heading, Xy};

/// Types of polygon (attribute A of PLN).
pub(super) const BOUNDARY: u8 = 1;
pub(super) const TREATMENT_ZONE: u8 = 2;
const OBSTACLE: u8 = 6;
/// Types of line (attribute A of LSG).
const EXTERIOR: u8 = 1;
const INTERIOR: u8 = 2;
const GUIDANCE: u8 = 5;
/// Types of point (attribute A of PNT) that both versions know.
const OTHER_POINT: u8 = 2;
/// Types of point of version 4.
const FIELD_ACCESS: u8 = 3;
const OBSTACLE_POINT: u8 = 5;
const REFERENCE_A: u8 = 6;
const REFERENCE_B: u8 = 7;
const GUIDANCE_POINT: u8 = 9;
/// Types of guidance pattern (attribute C of GPN).
const A_B: u8 = 1;
const CURVE: u8 = 3;
/// Each line stands for itself: none beside it is made of it (attribute E of GPN).
const NO_PROPAGATION: u8 = 4;
/// A line is shown beyond both its ends, for lining up (attribute F of GPN).
const EXTENDED: u8 = 1;
const NOT_EXTENDED: u8 = 4;
/// How the lines were come by: made at a desk (attribute I of GPN).
const DESKTOP: u8 = 16;
/// The greatest accuracy that fits attribute J of GPN, metres.
const ACCURACY_MOST_M: f64 = 65.0;

/// The field element with all that lies in it.
pub(super) fn field(plan: &Plan, globe: &Globe) -> Result<Element, FormatError> {
    let ground = plan.ground.field();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most 500 m x 500 m
    let area_m2 = region::area_m2(&ground).round() as u64;
    let mut field = Element::new("PFD")
        .with("A", PARTFIELD)
        .with("C", cut(&plan.name, names::LETTERS))
        .with("D", area_m2)
        .holding(polygons(globe, &ground, BOUNDARY, None, LEAST_PIECE_M2)?);
    let mut points = Vec::new();
    for entrance in &plan.ground.entrances {
        points.extend(access(plan.task_data, globe, entrance)?);
    }
    for kept in plan.ground.kept.iter().filter(|kept| !kept.is_hole) {
        let (grounds, places) = kept_clear(plan.task_data, globe, kept)?;
        field = field.holding(grounds);
        points.extend(places);
    }
    Ok(match plan.task_data {
        TaskDataVersion::V4_3 => {
            let mut groups = Vec::new();
            for planned in &plan.operations {
                groups.extend(groups_of(plan, planned, globe)?);
            }
            field.holding(points).holding(groups)
        }
        TaskDataVersion::V3_3 => {
            let mut lines = Vec::new();
            for planned in &plan.operations {
                lines.extend(lines_of(planned, globe)?);
            }
            field.holding(lines).holding(points)
        }
    })
}

/// A polygon element for each polygon of a shape; rings are closed by their first point.
pub(super) fn polygons(
    globe: &Globe,
    shape: &geo::MultiPolygon<f64>,
    kind: u8,
    name: Option<&str>,
    least_m2: f64,
) -> Result<Vec<Element>, FormatError> {
    let polygons = globe.rings(shape, least_m2)?;
    let polygon = |rings: &Vec<Vec<[f64; 2]>>| {
        let rings = rings.iter().enumerate().map(|(index, ring)| {
            let kind = if index == 0 { EXTERIOR } else { INTERIOR };
            let points = ring.iter().map(|&at| point(OTHER_POINT, at));
            Element::new("LSG").with("A", kind).holding(points)
        });
        Element::new("PLN")
            .with("A", kind)
            .with_some("B", name)
            .holding(rings)
    };
    Ok(polygons.iter().map(polygon).collect())
}

fn point(kind: u8, [lon_deg, lat_deg]: [f64; 2]) -> Element {
    Element::new("PNT")
        .with("A", kind)
        .with("C", format!("{lat_deg:.9}"))
        .with("D", format!("{lon_deg:.9}"))
}

fn named_point(kind: u8, name: &str, [lon_deg, lat_deg]: [f64; 2]) -> Element {
    Element::new("PNT")
        .with("A", kind)
        .with("B", name)
        .with("C", format!("{lat_deg:.9}"))
        .with("D", format!("{lon_deg:.9}"))
}

/// An entrance as one place: its middle.
fn access(
    version: TaskDataVersion,
    globe: &Globe,
    entrance: &Geometry<f64>,
) -> Result<Option<Element>, FormatError> {
    let kind = match version {
        TaskDataVersion::V4_3 => FIELD_ACCESS,
        TaskDataVersion::V3_3 => OTHER_POINT,
    };
    place(globe, entrance, kind, "Entrance")
}

/// The middle of a thing as a point with a name.
fn place(
    globe: &Globe,
    shape: &Geometry<f64>,
    kind: u8,
    name: &str,
) -> Result<Option<Element>, FormatError> {
    let middle: Option<Xy> = shape.centroid().map(|middle| middle.0);
    let Some(middle) = middle.or_else(|| shape.coords_iter().next()) else {
        return Ok(None);
    };
    let at = globe.positions([middle])?;
    Ok(at.first().map(|&at| named_point(kind, name, at)))
}

/// What is kept clear: ground with its clearance where tool and body keep out, a point where
/// wheels may cross (heads, sockets, lids) or where there is no ground. Services are left out.
fn kept_clear(
    version: TaskDataVersion,
    globe: &Globe,
    kept: &Kept,
) -> Result<(Vec<Element>, Option<Element>), FormatError> {
    let stops_the_body = kept.stops_the_body();
    if !stops_the_body && !kept.stops_tools_that_cut() {
        return Ok((Vec::new(), None));
    }
    let name = kept.name.as_deref().unwrap_or_else(|| kept.role.name());
    let name = cut(name, names::LETTERS);
    if stops_the_body {
        let grounds = polygons(globe, &kept.kept_clear, OBSTACLE, Some(&name), 0.0)?;
        if !grounds.is_empty() {
            return Ok((grounds, None));
        }
    }
    let kind = match version {
        TaskDataVersion::V4_3 => OBSTACLE_POINT,
        TaskDataVersion::V3_3 => OTHER_POINT,
    };
    Ok((Vec::new(), place(globe, &kept.shape, kind, &name)?))
}

/// A line to be written: its name, places in degrees, and whether it is straight.
struct Line {
    name: String,
    at: Vec<[f64; 2]>,
    is_straight: bool,
}

/// The lines of a direction, one a part.
fn lines_of_direction(
    planned: &OperationPlan,
    direction: &DirectionPlan,
    number: usize,
    globe: &Globe,
) -> Result<Vec<Line>, FormatError> {
    let parts = direction.passes.passes.iter().flat_map(|pass| &pass.parts);
    let names = names::of_parts(planned, direction, number);
    let mut lines = Vec::new();
    for (part, name) in parts.zip(names) {
        let places = line(&part.track);
        let mut at = globe.positions(places.coords().copied())?;
        let is_straight = matches!(part.track, Track::Straight { .. });
        if !is_straight {
            let ends = [at.first().copied(), at.last().copied()];
            at.dedup();
            // A round too small for the lattice still has two points.
            if at.len() < 2 {
                at = ends.into_iter().flatten().collect();
            }
        }
        lines.push(Line {
            name,
            at,
            is_straight,
        });
    }
    Ok(lines)
}

/// Version 4: a group of patterns for each direction that has a line.
fn groups_of(
    plan: &Plan,
    planned: &OperationPlan,
    globe: &Globe,
) -> Result<Vec<Element>, FormatError> {
    let mut ids = Ids::of_lines(&planned.operation);
    let mut groups = Vec::new();
    for (index, direction) in planned.directions.iter().enumerate() {
        let number = index + 1;
        let mut patterns = Vec::new();
        for line in lines_of_direction(planned, direction, number, globe)? {
            patterns.push(pattern(plan, &line, ids.next()?, direction.passes.heading));
        }
        // A group without a pattern says nothing and breaks the standard's own model.
        if !patterns.is_empty() {
            let group = Element::new("GGP")
                .with("A", Ids::of_group(&planned.operation, number))
                .with("B", names::of_direction(planned, number));
            groups.push(group.holding(patterns));
        }
    }
    Ok(groups)
}

/// One line as a pattern of its own.
fn pattern(plan: &Plan, line: &Line, id: String, laid: Option<Heading>) -> Element {
    let frame = plan.ground.frame.as_ref();
    let system = frame.and_then(|frame| frame.crs.as_deref());
    let accuracy_m = frame.and_then(|frame| frame.crs_accuracy_m);
    let accuracy_m = accuracy_m.filter(|accuracy_m| (0.0..=ACCURACY_MOST_M).contains(accuracy_m));
    let (kind, extension, heading) = if line.is_straight {
        (A_B, EXTENDED, azimuth(&line.at, laid))
    } else {
        (CURVE, NOT_EXTENDED, None)
    };
    let last = line.at.len().saturating_sub(1);
    let points = line.at.iter().enumerate().map(|(index, &at)| {
        let kind = match index {
            0 => REFERENCE_A,
            _ if index == last => REFERENCE_B,
            _ => GUIDANCE_POINT,
        };
        point(kind, at)
    });
    Element::new("GPN")
        .with("A", id)
        .with("B", &line.name)
        .with("C", kind)
        .with("E", NO_PROPAGATION)
        .with("F", extension)
        .with_some("G", heading)
        .with("I", DESKTOP)
        .with_some("J", accuracy_m)
        .with_some("M", system.map(|system| cut(system, names::LETTERS)))
        .holding([Element::new("LSG").with("A", GUIDANCE).holding(points)])
}

/// The true azimuth of a line at its start, degrees clockwise from north: of the geodesic on
/// WGS84 between the places as they are written, so that the file agrees with itself. A line
/// shorter than the lattice has the heading that it was laid with.
fn azimuth(at: &[[f64; 2]], laid: Option<Heading>) -> Option<String> {
    use geo::Bearing as _;
    let laid_deg = laid.map(Heading::deg);
    let deg = match at {
        [from, to] if from != to => {
            let [from, to] = [from, to].map(|&[lon_deg, lat_deg]| Point::new(lon_deg, lat_deg));
            Some(Geodesic.bearing(from, to))
        }
        _ => laid_deg,
    };
    let text = format!("{:.6}", Heading::from_deg(deg?).deg());
    // What rounds up to a whole turn is north.
    Some(match text.as_str() {
        "360.000000" => "0.000000".to_owned(),
        _ => text,
    })
}

/// Version 3: the lines as they lie in the field.
fn lines_of(planned: &OperationPlan, globe: &Globe) -> Result<Vec<Element>, FormatError> {
    let mut lines = Vec::new();
    for (index, direction) in planned.directions.iter().enumerate() {
        for line in lines_of_direction(planned, direction, index + 1, globe)? {
            let points = line.at.iter().map(|&at| point(OTHER_POINT, at));
            lines.push(
                Element::new("LSG")
                    .with("A", GUIDANCE)
                    .with("B", &line.name)
                    .holding(points),
            );
        }
    }
    Ok(lines)
}
