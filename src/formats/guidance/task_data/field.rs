//! The field of task data: its outline, what is kept clear, places, and the lines.

use geo::{Centroid as _, CoordsIter as _, Geodesic, Geometry, Point};

use super::names::{self, cut};
use super::{Ids, PARTFIELD, Xml};
use crate::formats::globe::{Globe, Lines, directions};
use crate::formats::lattice::{NineDecimals, Node, Patch};
use crate::formats::{FormatError, LEAST_PIECE_M2};
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

/// Writes the field element with all that lies in it.
pub(super) fn field(plan: &Plan, globe: &Globe, xml: &mut Xml) -> Result<(), FormatError> {
    let ground = plan.ground.field();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most 500 m x 500 m
    let area_m2 = region::area_m2(&ground).round() as u64;
    xml.begin("PFD");
    xml.set("A", PARTFIELD);
    xml.set("C", cut(&plan.name, names::LETTERS));
    xml.set("D", area_m2);
    polygons(xml, &globe.rings(&ground, LEAST_PIECE_M2)?, BOUNDARY, None);
    let version = plan.task_data;
    let mut places = Vec::new();
    for entrance in &plan.ground.entrances {
        let kind = match version {
            TaskDataVersion::V4_3 => FIELD_ACCESS,
            TaskDataVersion::V3_3 => OTHER_POINT,
        };
        places.extend(Place::of(globe, entrance, kind, "Entrance")?);
    }
    for kept in plan.ground.kept.iter().filter(|kept| !kept.is_hole) {
        places.extend(kept_clear(xml, version, globe, kept)?);
    }
    let named = |xml: &mut Xml| places.iter().for_each(|place| place.write(xml));
    match version {
        TaskDataVersion::V4_3 => {
            named(xml);
            groups(xml, plan, globe)?;
        }
        TaskDataVersion::V3_3 => {
            lines(xml, plan, globe);
            named(xml);
        }
    }
    xml.end();
    Ok(())
}

/// Writes a polygon element for each of these; rings are closed by their first point.
pub(super) fn polygons(xml: &mut Xml, patches: &[Patch], kind: u8, name: Option<&str>) {
    for patch in patches {
        xml.begin("PLN");
        xml.set("A", kind);
        if let Some(name) = name {
            xml.set("B", name);
        }
        for (index, ring) in patch.rings.iter().enumerate() {
            xml.begin("LSG");
            xml.set("A", if index == 0 { EXTERIOR } else { INTERIOR });
            for &at in ring.iter().chain(ring.first()) {
                point(xml, OTHER_POINT, None, at);
            }
            xml.end();
        }
        xml.end();
    }
}

fn point(xml: &mut Xml, kind: u8, name: Option<&str>, at: Node) {
    xml.begin("PNT");
    xml.set("A", kind);
    if let Some(name) = name {
        xml.set("B", name);
    }
    xml.set("C", NineDecimals(at.lat));
    xml.set("D", NineDecimals(at.lon));
    xml.end();
}

/// A thing as one place: its middle.
struct Place {
    kind: u8,
    name: String,
    at: Node,
}

impl Place {
    fn of(
        globe: &Globe,
        shape: &Geometry<f64>,
        kind: u8,
        name: &str,
    ) -> Result<Option<Self>, FormatError> {
        let middle: Option<Xy> = shape.centroid().map(|middle| middle.0);
        let Some(middle) = middle.or_else(|| shape.coords_iter().next()) else {
            return Ok(None);
        };
        let at = globe.folded([middle])?;
        Ok(at.first().map(|&at| Self {
            kind,
            name: name.to_owned(),
            at,
        }))
    }

    fn write(&self, xml: &mut Xml) {
        point(xml, self.kind, Some(&self.name), self.at);
    }
}

/// What is kept clear: ground with its clearance where tool and body keep out, a point where
/// wheels may cross (heads, sockets, lids) or where there is no ground. Services are left out.
fn kept_clear(
    xml: &mut Xml,
    version: TaskDataVersion,
    globe: &Globe,
    kept: &Kept,
) -> Result<Option<Place>, FormatError> {
    let stops_the_body = kept.stops_the_body();
    if !stops_the_body && !kept.stops_tools_that_cut() {
        return Ok(None);
    }
    let name = kept.name.as_deref().unwrap_or_else(|| kept.role.name());
    let name = cut(name, names::LETTERS);
    if stops_the_body {
        let grounds = globe.rings(&kept.kept_clear, 0.0)?;
        polygons(xml, &grounds, OBSTACLE, Some(&name));
        if !grounds.is_empty() {
            return Ok(None);
        }
    }
    let kind = match version {
        TaskDataVersion::V4_3 => OBSTACLE_POINT,
        TaskDataVersion::V3_3 => OTHER_POINT,
    };
    Place::of(globe, &kept.shape, kind, &name)
}

/// A line to be written: its name, its places, and whether it is straight.
struct Line {
    name: String,
    at: Vec<Node>,
    is_straight: bool,
}

/// The lines of a direction, one a part.
fn lines_of_direction<'a>(
    planned: &OperationPlan,
    direction: &'a DirectionPlan,
    number: usize,
    lines: &'a Lines,
) -> impl Iterator<Item = Line> + use<'a> {
    let parts = direction.passes.parts().zip(lines.iter());
    let named = parts.zip(names::of_parts(planned, direction, number));
    named.map(|(((_, part), nodes), name)| {
        let mut at: Vec<Node> = nodes.iter().map(|node| node.folded()).collect();
        let is_straight = matches!(part.track, Track::Straight { .. });
        if !is_straight {
            let ends = [at.first().copied(), at.last().copied()];
            at.dedup();
            // A round too small for the lattice still has two points.
            if at.len() < 2 {
                at = ends.into_iter().flatten().collect();
            }
        }
        Line {
            name,
            at,
            is_straight,
        }
    })
}

/// Version 4: writes a group of patterns for each direction that has a line; a group without a
/// pattern says nothing and breaks the standard's own model.
fn groups(xml: &mut Xml, plan: &Plan, globe: &Globe) -> Result<(), FormatError> {
    let mut passes = globe.passes();
    for planned in &plan.operations {
        let mut ids = Ids::of_lines(&planned.operation);
        for (index, (direction, lines)) in planned.directions.iter().zip(&mut passes).enumerate() {
            if direction.passes.part_count() == 0 {
                continue;
            }
            let number = index + 1;
            xml.begin("GGP");
            xml.set("A", Ids::of_group(&planned.operation, number));
            xml.set("B", names::of_direction(planned, number));
            for line in lines_of_direction(planned, direction, number, lines) {
                pattern(xml, plan, &line, &ids.next()?, direction.passes.heading);
            }
            xml.end();
        }
    }
    Ok(())
}

/// Writes one line as a pattern of its own.
fn pattern(xml: &mut Xml, plan: &Plan, line: &Line, id: &str, laid: Option<Heading>) {
    let frame = plan.ground.frame.as_ref();
    let system = frame.and_then(|frame| frame.crs.as_deref());
    let accuracy_m = frame.and_then(|frame| frame.crs_accuracy_m);
    let accuracy_m = accuracy_m.filter(|accuracy_m| (0.0..=ACCURACY_MOST_M).contains(accuracy_m));
    let (kind, extension, heading) = if line.is_straight {
        (A_B, EXTENDED, azimuth(&line.at, laid))
    } else {
        (CURVE, NOT_EXTENDED, None)
    };
    xml.begin("GPN");
    xml.set("A", id);
    xml.set("B", &line.name);
    xml.set("C", kind);
    xml.set("E", NO_PROPAGATION);
    xml.set("F", extension);
    if let Some(heading) = heading {
        xml.set("G", heading);
    }
    xml.set("I", DESKTOP);
    if let Some(accuracy_m) = accuracy_m {
        xml.set("J", accuracy_m);
    }
    if let Some(system) = system {
        xml.set("M", cut(system, names::LETTERS));
    }
    xml.begin("LSG");
    xml.set("A", GUIDANCE);
    let last = line.at.len().saturating_sub(1);
    for (index, &at) in line.at.iter().enumerate() {
        let kind = match index {
            0 => REFERENCE_A,
            _ if index == last => REFERENCE_B,
            _ => GUIDANCE_POINT,
        };
        point(xml, kind, None, at);
    }
    xml.end();
    xml.end();
}

/// The true azimuth of a line at its start, degrees clockwise from north: of the geodesic on
/// WGS84 between the places as they are written, so that the file agrees with itself. A line
/// shorter than the lattice has the heading that it was laid with.
fn azimuth(at: &[Node], laid: Option<Heading>) -> Option<String> {
    use geo::Bearing as _;
    let laid_deg = laid.map(Heading::deg);
    let deg = match at {
        [from, to] if from != to => {
            let [from, to] = [from, to].map(|node| Point::from(node.degrees()));
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

/// Version 3: writes the lines as they lie in the field.
fn lines(xml: &mut Xml, plan: &Plan, globe: &Globe) {
    for ((planned, number, direction), lines) in directions(plan).zip(globe.passes()) {
        for line in lines_of_direction(planned, direction, number, lines) {
            xml.begin("LSG");
            xml.set("A", GUIDANCE);
            xml.set("B", &line.name);
            for &at in &line.at {
                point(xml, OTHER_POINT, None, at);
            }
            xml.end();
        }
    }
}
