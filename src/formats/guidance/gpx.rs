//! `guidance/route.gpx`: the drive of each operation as a track; where no drive was planned, its
//! lines. GPX 1.1.
//!
//! The crate `gpx` writes it. What it writes wrongly is not used: it writes tracks before routes
//! and keywords before the time, where the schema wants them the other way round, and it loses a
//! track's number. There are no routes, keywords or numbers here. It takes any longitude, though
//! GPX has none of 180 degrees: [`Run::written`] sees to that.
//!
//! No time stands in it: in GPX that is the moment the file was made, and the same job gives the
//! same bytes.

use geo::{LineString, Point};
use geojson::{GeometryValue, Position};
use gpx::{Gpx, GpxVersion, Metadata, Track, TrackSegment, Waypoint};

use super::{exact, xml_text};
use crate::formats::FormatError;
use crate::formats::globe::{Globe, Lines, line};
use crate::plan::{OperationPlan, Plan};
use crate::route::legs::{Leg, Route};

/// Who made the file.
const CREATOR: &str = "Swardlane";
/// The last longitude before 180 degrees that nine decimals can tell, 0.1 mm west of it.
const LAST_LON_DEG: f64 = 179.999_999_999;

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut waypoints = vec![peg(plan, globe)?];
    let mut tracks = Vec::new();
    let mut passes = globe.passes();
    for planned in &plan.operations {
        let directions: Vec<&Lines> = passes.by_ref().take(planned.directions.len()).collect();
        if plan.gpx_waypoints {
            waypoints.extend(ends(planned, globe)?);
        }
        let track = match &planned.route {
            Some(route) => drive(planned, route, globe)?,
            None => lines(planned, &directions),
        };
        tracks.extend(Some(track).filter(|track| !track.segments.is_empty()));
    }
    let mut description = exact::description(plan, globe)?;
    description.extend(plan.date.iter().map(|date| format!("Planned for {date}.")));
    let gpx = Gpx {
        version: GpxVersion::Gpx11,
        creator: Some(CREATOR.to_owned()),
        metadata: Some(Metadata {
            name: Some(xml_text(&plan.name)),
            description: Some(xml_text(&description.join("\n"))),
            ..Metadata::default()
        }),
        waypoints,
        tracks,
        routes: Vec::new(),
    };
    let mut bytes = Vec::new();
    gpx::write(&gpx, &mut bytes)?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// Where the middle of the rear axle goes, leg after leg in one line.
fn drive(planned: &OperationPlan, route: &Route, globe: &Globe) -> Result<Track, FormatError> {
    let all = route.legs.iter().flat_map(|leg| leg.line.coords().copied());
    let mut places: Vec<_> = all.collect();
    places.dedup();
    let about = format!(
        "Drive of the middle of the rear axle, {} legs, {:.1} m. A track does not tell work from \
         turning, nor forwards from backwards.",
        route.legs.len(),
        route.length_m
    );
    let segments = segments(globe.lines([&LineString::new(places)])?);
    Ok(track(planned, "drive", about, segments))
}

/// Every part of every pass, in the order of their numbers.
fn lines(planned: &OperationPlan, directions: &[&Lines]) -> Track {
    let lines = directions.iter().flat_map(|lines| lines.iter());
    let all = lines.flat_map(|nodes| segments(line(nodes))).collect();
    let about = "Lines, not a drive (none was planned): the centre line of every part of every \
                 pass, a segment each, by direction, pass and part.";
    track(planned, "lines", about.to_owned(), all)
}

fn track(planned: &OperationPlan, kind: &str, about: String, segments: Vec<TrackSegment>) -> Track {
    let wording = exact::services(planned).map(|wording| format!("{wording}."));
    let description: Vec<String> = std::iter::once(about).chain(wording).collect();
    let name = match kind {
        "lines" => format!("{} (lines, not a drive)", planned.operation.id),
        _ => planned.operation.id.clone(),
    };
    Track {
        name: Some(name),
        description: Some(xml_text(&description.join("\n"))),
        type_: Some(kind.to_owned()),
        segments,
        ..Track::default()
    }
}

/// A line as segments: one, or one on each side of 180 degrees.
fn segments(line: GeometryValue) -> Vec<TrackSegment> {
    let runs = match line {
        GeometryValue::LineString { coordinates } => vec![coordinates],
        GeometryValue::MultiLineString { coordinates } => coordinates,
        _ => Vec::new(),
    };
    let segment = |run: &Vec<Position>| {
        let run = Run::of(run);
        let mut at: Vec<Point<f64>> = run.positions.iter().map(|at| run.written(at)).collect();
        at.dedup();
        TrackSegment {
            points: at.into_iter().map(Waypoint::new).collect(),
        }
    };
    let all = runs.iter().map(segment);
    all.filter(|segment| segment.points.len() > 1).collect()
}

/// Positions that belong together and lie on one side of 180 degrees.
struct Run<'a> {
    positions: &'a [Position],
    is_west_of_180: bool,
}

impl<'a> Run<'a> {
    fn of(positions: &'a [Position]) -> Self {
        Self {
            positions,
            is_west_of_180: positions.iter().any(|at| at[0] > 0.0 && at[0] < 180.0),
        }
    }

    /// A position as GPX has it: longitudes from -180 up to but not 180 degrees. What lies at
    /// 180 is written at -180, which is the same place; but beside 179.9 that would be a line
    /// round the world, so in such a run it is moved 0.1 mm back.
    fn written(&self, at: &Position) -> Point<f64> {
        let lon_deg = if at[0] < 180.0 {
            at[0]
        } else if self.is_west_of_180 {
            LAST_LON_DEG
        } else {
            -180.0
        };
        Point::new(lon_deg, at[1])
    }
}

/// A single place.
fn waypoint(at: [f64; 2], name: String, description: String, kind: &str) -> Waypoint {
    let at = Position::from(at);
    let place = Run {
        positions: &[],
        is_west_of_180: false,
    };
    let mut waypoint = Waypoint::new(place.written(&at));
    waypoint.name = Some(xml_text(&name));
    waypoint.description = Some(xml_text(&description));
    waypoint.type_ = Some(kind.to_owned());
    waypoint
}

/// The peg to check a terminal at.
fn peg(plan: &Plan, globe: &Globe) -> Result<Waypoint, FormatError> {
    let peg = exact::PEG;
    let at = globe.positions([plan.ground.corner(peg)])?;
    let told = "Corner of the fitted rectangle: park here and read the terminal before driving.";
    let name = format!("peg {}", peg.name().to_uppercase());
    let at = at.first().copied().unwrap_or_default();
    Ok(waypoint(at, name, told.to_owned(), "peg"))
}

/// Both ends of every part, `start` and `stop` as driven; without a drive along the heading.
fn ends(planned: &OperationPlan, globe: &Globe) -> Result<Vec<Waypoint>, FormatError> {
    let mut names = Vec::new();
    let mut places = Vec::new();
    for (index, direction) in planned.directions.iter().enumerate() {
        for pass in &direction.passes.passes {
            for part in &pass.parts {
                let id = [index + 1, pass.number, part.number];
                let coords = part.track.corners();
                let (Some(&first), Some(&last)) = (coords.first(), coords.last()) else {
                    continue;
                };
                let (start, stop) = if is_driven_back(planned, id) {
                    (last, first)
                } else {
                    (first, last)
                };
                let number = if pass.parts.len() > 1 {
                    format!("{}.{}", pass.number, part.number)
                } else {
                    pass.number.to_string()
                };
                let name = format!("{} d{} p{number}", planned.operation.id, id[0]);
                let told = format!("{} m wide, {}", part.width_m, direction.passes.name);
                for (end, place) in [("start", start), ("stop", stop)] {
                    names.push((format!("{name} {end}"), told.clone()));
                    places.push(place);
                }
            }
        }
    }
    let positions = globe.positions(places)?;
    let all = names.into_iter().zip(positions);
    Ok(all
        .map(|((name, told), at)| waypoint(at, name, told, "pass end"))
        .collect())
}

/// Whether the drive works that part against its heading.
fn is_driven_back(planned: &OperationPlan, [direction, pass, part]: [usize; 3]) -> bool {
    let legs = planned.route.iter().flat_map(|route| &route.legs);
    let worked = legs
        .filter_map(|leg: &Leg| leg.worked)
        .find(|worked| [worked.direction, worked.pass, worked.part] == [direction, pass, part]);
    worked.is_some_and(|worked| worked.is_back)
}
