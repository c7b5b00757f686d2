//! From a GeoJSON geometry to a sound shape: rings closed, none crossing itself, holes
//! inside, nothing empty.
//!
//! Crossings are found by a sweep over the segments in order of one coordinate, with
//! exact predicates, so that the place can be told; `geo` relates whole rings.

use geo::coordinate_position::CoordPos;
use geo::dimensions::Dimensions;
use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{
    BoundingRect, Coord, Geometry, GeometryCollection, Intersects, Line, LineString,
    MultiLineString, MultiPoint, MultiPolygon, Point, Polygon, PreparedGeometry, Relate,
};
use geojson::{GeometryValue, Position};
use serde_json::Value;

use super::roles::{ROLES, Shapes};
use crate::job::{limits, near};

const TYPES: [&str; 7] = [
    "Point",
    "MultiPoint",
    "LineString",
    "MultiLineString",
    "Polygon",
    "MultiPolygon",
    "GeometryCollection",
];

/// The geometry of a feature, as GeoJSON.
pub(super) fn geometry(feature: Value) -> Result<geojson::Geometry, String> {
    let Value::Object(mut feature) = feature else {
        return Err("is no feature".to_owned());
    };
    let value = match feature.remove("geometry") {
        None | Some(Value::Null) => {
            return Err("has no geometry; draw it or take the feature out".to_owned());
        }
        Some(value) => value,
    };
    let kind = value
        .get("type")
        .and_then(Value::as_str)
        .unwrap_or_default();
    if !TYPES.contains(&kind) {
        let advice = near::advice(kind, TYPES);
        return Err(format!("unknown geometry `{}`{advice}", near::short(kind)));
    }
    let kind = kind.to_owned();
    serde_json::from_value(value).map_err(|error| {
        let message = error.to_string();
        let mut letters = message.chars();
        let first = letters.next().map(|first| first.to_lowercase().to_string());
        let message = format!("{}{}", first.unwrap_or_default(), letters.as_str());
        format!(
            "the `{kind}` is not as RFC 7946 writes it: {}",
            near::short(&message)
        )
    })
}

/// How many positions a geometry has.
pub(super) fn vertices(geometry: &geojson::Geometry) -> usize {
    let mut count = 0;
    visit(geometry, &mut |_| count += 1);
    count
}

/// All its coordinates.
pub(super) fn coordinates(geometry: &geojson::Geometry) -> Vec<Coord<f64>> {
    let mut all = Vec::new();
    visit(geometry, &mut |position| all.push(coord(position, None)));
    all
}

fn visit(geometry: &geojson::Geometry, see: &mut impl FnMut(&Position)) {
    // `dyn` below keeps the recursion into collections from making ever new types.
    fn walk(value: &GeometryValue, see: &mut dyn FnMut(&Position)) {
        match value {
            GeometryValue::Point { coordinates } => see(coordinates),
            GeometryValue::MultiPoint { coordinates }
            | GeometryValue::LineString { coordinates } => coordinates.iter().for_each(see),
            GeometryValue::MultiLineString { coordinates }
            | GeometryValue::Polygon { coordinates } => {
                coordinates.iter().flatten().for_each(see);
            }
            GeometryValue::MultiPolygon { coordinates } => {
                coordinates.iter().flatten().flatten().for_each(see);
            }
            GeometryValue::GeometryCollection { geometries } => {
                for geometry in geometries {
                    walk(&geometry.value, see);
                }
            }
        }
    }
    walk(&geometry.value, see);
}

/// A position as it is, its longitude brought within 180 degrees of `near_lon_deg`, so
/// that ground across the date line is in one piece. Heights are not read.
fn coord(position: &Position, near_lon_deg: Option<f64>) -> Coord<f64> {
    let (x, y) = match position.as_slice() {
        [x, y, ..] => (*x, *y),
        _ => (f64::NAN, f64::NAN),
    };
    let x = match near_lon_deg {
        Some(near) if (x - near).abs() > 180.0 => x - 360.0 * ((x - near) / 360.0).round(),
        _ => x,
    };
    Coord { x, y }
}

/// The shape of a feature with that role; else everything that is wrong with it.
pub(super) fn build(
    geometry: &geojson::Geometry,
    role: &str,
    near_lon_deg: Option<f64>,
) -> Result<Geometry<f64>, Vec<String>> {
    let mut builder = Builder {
        near_lon_deg,
        faults: Vec::new(),
        rings: 0,
    };
    let shape = builder.geometry(&geometry.value);
    builder.check_kind(&shape, role);
    if builder.faults.is_empty() {
        Ok(as_one_polygon(shape))
    } else {
        Err(builder.faults)
    }
}

/// A MultiPolygon of one Polygon is that Polygon.
fn as_one_polygon(shape: Geometry<f64>) -> Geometry<f64> {
    match shape {
        Geometry::MultiPolygon(mut all) if all.0.len() == 1 => {
            let only = all.0.remove(0);
            Geometry::Polygon(only)
        }
        other => other,
    }
}

struct Builder {
    near_lon_deg: Option<f64>,
    faults: Vec<String>,
    rings: usize,
}

impl Builder {
    fn wrong(&mut self, text: impl Into<String>) {
        self.faults.push(text.into());
    }

    fn check_kind(&mut self, shape: &Geometry<f64>, role: &str) {
        let Some(spec) = ROLES.iter().find(|spec| spec.name == role) else {
            return;
        };
        let kind = match shape {
            Geometry::Polygon(_) => "Polygon",
            Geometry::MultiPolygon(_) => "MultiPolygon",
            Geometry::Point(_) => "Point",
            Geometry::MultiPoint(_) => "MultiPoint",
            Geometry::LineString(_) => "LineString",
            Geometry::MultiLineString(_) => "MultiLineString",
            _ => "GeometryCollection",
        };
        let wanted = match spec.shapes {
            Shapes::Any => return,
            Shapes::Areas if matches!(kind, "Polygon" | "MultiPolygon") => return,
            Shapes::OneArea if kind == "Polygon" => return,
            Shapes::OneArea => {
                if let Geometry::MultiPolygon(all) = shape {
                    if all.0.len() > 1 {
                        let text = format!(
                            "`{role}` has {} Polygons; keep one, a plan is of one pitch",
                            all.0.len()
                        );
                        self.wrong(text);
                    }
                    return;
                }
                "a Polygon"
            }
            Shapes::Areas => "a Polygon or MultiPolygon",
        };
        self.wrong(format!("`{role}` is a {kind}; draw it as {wanted}"));
    }

    fn geometry(&mut self, value: &GeometryValue) -> Geometry<f64> {
        match value {
            GeometryValue::Point { coordinates } => Geometry::Point(self.point(coordinates)),
            GeometryValue::MultiPoint { coordinates } => {
                self.not_empty(coordinates, "MultiPoint");
                let points = coordinates.iter().map(|at| self.point(at)).collect();
                Geometry::MultiPoint(MultiPoint::new(points))
            }
            GeometryValue::LineString { coordinates } => {
                Geometry::LineString(self.line(coordinates))
            }
            GeometryValue::MultiLineString { coordinates } => {
                self.not_empty(coordinates, "MultiLineString");
                let lines = coordinates.iter().map(|line| self.line(line)).collect();
                Geometry::MultiLineString(MultiLineString::new(lines))
            }
            GeometryValue::Polygon { coordinates } => {
                Geometry::Polygon(self.polygon(coordinates, ""))
            }
            GeometryValue::MultiPolygon { coordinates } => {
                self.not_empty(coordinates, "MultiPolygon");
                let mut polygons = Vec::new();
                for (index, rings) in coordinates.iter().enumerate() {
                    polygons.push(self.polygon(rings, &format!("Polygon {}: ", index + 1)));
                }
                if self.faults.is_empty() {
                    self.check_apart(&polygons);
                }
                Geometry::MultiPolygon(MultiPolygon::new(polygons))
            }
            GeometryValue::GeometryCollection { geometries } => {
                self.not_empty(geometries, "GeometryCollection");
                let all = geometries.iter().map(|one| self.geometry(&one.value));
                Geometry::GeometryCollection(GeometryCollection::new_from(all.collect()))
            }
        }
    }

    fn not_empty<T>(&mut self, list: &[T], kind: &str) {
        if list.is_empty() {
            self.wrong(format!(
                "the {kind} is empty; draw it or take the feature out"
            ));
        }
    }

    fn coord(&mut self, position: &Position) -> Coord<f64> {
        let at = coord(position, self.near_lon_deg);
        if !(at.x.is_finite() && at.y.is_finite()) {
            self.wrong("a position has no two numbers; write longitude, latitude");
        }
        at
    }

    fn point(&mut self, position: &Position) -> Point<f64> {
        Point(self.coord(position))
    }

    fn line(&mut self, positions: &[Position]) -> LineString<f64> {
        let line: Vec<_> = positions.iter().map(|at| self.coord(at)).collect();
        if line.iter().all(|at| Some(at) == line.first()) {
            self.wrong("a line has no two different points; draw it longer or as a Point");
        }
        LineString::new(line)
    }

    fn polygon(&mut self, rings: &[Vec<Position>], which: &str) -> Polygon<f64> {
        if rings.is_empty() {
            self.wrong(format!(
                "{which}the Polygon is empty; draw it or take the feature out"
            ));
        }
        self.rings += rings.len();
        if self.rings > limits::RINGS.greatest {
            if self.rings - rings.len() <= limits::RINGS.greatest {
                self.wrong(format!(
                    "more than {} rings in one feature; at most {0} are read",
                    limits::RINGS.greatest
                ));
            }
            return Polygon::new(LineString::new(Vec::new()), Vec::new());
        }
        let faults_before = self.faults.len();
        let mut sound = Vec::new();
        for (index, positions) in rings.iter().enumerate() {
            let called = if index == 0 {
                format!("{which}exterior ring")
            } else {
                format!("{which}hole {index}")
            };
            let ring: Vec<_> = positions.iter().map(|at| self.coord(at)).collect();
            let ring = LineString::new(ring);
            if let Some(text) = ring_fault(&ring) {
                self.wrong(format!("{called} {text}"));
            }
            sound.push(ring);
        }
        if self.faults.len() == faults_before {
            self.check_holes(&sound, which);
        }
        let mut rings = sound.into_iter();
        let exterior = rings.next().unwrap_or_else(|| LineString::new(Vec::new()));
        Polygon::new(exterior, rings.collect())
    }

    /// Holes lie inside, and touch the exterior and each other in points at most.
    fn check_holes(&mut self, rings: &[LineString<f64>], which: &str) {
        let [exterior, holes @ ..] = rings else {
            return;
        };
        if holes.is_empty() {
            return;
        }
        let area = |ring: &LineString<f64>| Polygon::new(ring.clone(), Vec::new());
        let exterior = area(exterior);
        let exterior = PreparedGeometry::from(&exterior);
        for (index, hole) in holes.iter().enumerate() {
            let number = index + 1;
            let hole_area = area(hole);
            let relation = exterior.relate(&hole_area);
            if !relation.is_contains() {
                self.wrong(format!(
                    "{which}hole {number} is not inside the exterior ring; move it inside or take it out"
                ));
            } else if relation.get(CoordPos::OnBoundary, CoordPos::OnBoundary)
                == Dimensions::OneDimensional
            {
                self.wrong(format!(
                    "{which}hole {number} runs along the exterior ring; draw the exterior ring round it"
                ));
            }
            for (other_index, other) in holes.iter().enumerate().skip(number) {
                if boxes_meet(hole, other) && share_ground(&hole_area, &area(other)) {
                    let other = other_index + 1;
                    self.wrong(format!(
                        "{which}holes {number} and {other} overlap; unite them"
                    ));
                }
            }
        }
    }

    /// The polygons of a MultiPolygon do not overlap.
    fn check_apart(&mut self, polygons: &[Polygon<f64>]) {
        for (index, one) in polygons.iter().enumerate() {
            for (other_index, other) in polygons.iter().enumerate().skip(index + 1) {
                if boxes_meet(one.exterior(), other.exterior()) && share_ground(one, other) {
                    self.wrong(format!(
                        "Polygons {} and {} overlap; unite them",
                        index + 1,
                        other_index + 1
                    ));
                }
            }
        }
    }
}

fn boxes_meet(one: &LineString<f64>, other: &LineString<f64>) -> bool {
    match (one.bounding_rect(), other.bounding_rect()) {
        (Some(one), Some(other)) => one.intersects(&other),
        _ => false,
    }
}

/// Whether two areas have more than a point in common.
fn share_ground(one: &Polygon<f64>, other: &Polygon<f64>) -> bool {
    let relation = one.relate(other);
    relation.get(CoordPos::Inside, CoordPos::Inside) == Dimensions::TwoDimensional
        || relation.get(CoordPos::OnBoundary, CoordPos::OnBoundary) == Dimensions::OneDimensional
}

/// What is wrong with a ring by itself.
fn ring_fault(ring: &LineString<f64>) -> Option<String> {
    let (Some(first), Some(last)) = (ring.0.first(), ring.0.last()) else {
        return Some("has no points; draw it or take it out".to_owned());
    };
    if ring
        .0
        .iter()
        .any(|at| !(at.x.is_finite() && at.y.is_finite()))
    {
        return None; // told already, by position
    }
    if ring.0.len() < 4 {
        let (count, s) = (ring.0.len(), if ring.0.len() == 1 { "" } else { "s" });
        return Some(format!(
            "has {count} point{s}; a ring needs at least 4, the last equal to the first"
        ));
    }
    if first != last {
        return Some(format!(
            "is not closed: it starts at {} and stops at {}; repeat the first point at the end",
            given(*first),
            given(*last)
        ));
    }
    let segments: Vec<Line<f64>> = ring.lines().filter(|line| line.start != line.end).collect();
    if segments.len() < 3 {
        let text = "has fewer than 3 different points and encloses nothing; draw 3 corners or more";
        return Some(text.to_owned());
    }
    self_contact(&segments).map(|(contact, at)| {
        let (how, mend) = contact.words();
        format!("{how} near {}; {mend}", shown(at))
    })
}

/// A coordinate of the file for messages, as it stands there.
fn given(at: Coord<f64>) -> String {
    format!("({}, {})", at.x, at.y)
}

/// A coordinate that was worked out, for messages: degrees to a centimetre, metres to a centimetre.
fn shown(at: Coord<f64>) -> String {
    if at.x.abs() <= 360.0 && at.y.abs() <= 90.0 {
        format!("({:.7}, {:.7})", at.x, at.y)
    } else {
        format!("({:.2}, {:.2})", at.x, at.y)
    }
}

/// How a ring meets itself where it should not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Contact {
    Crosses,
    Touches,
    RunsAlong,
    DoublesBack,
}

impl Contact {
    /// What it does, and how to mend it.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Crosses => (
                "crosses itself",
                "put its corners in their order round the edge",
            ),
            Self::Touches => ("touches itself", "move that corner, or draw two shapes"),
            Self::RunsAlong => (
                "runs along itself",
                "take out the stretch that is drawn twice",
            ),
            Self::DoublesBack => ("doubles back on itself", "take out the point at the tip"),
        }
    }
}

/// Where a closed ring of segments meets itself, and how.
fn self_contact(segments: &[Line<f64>]) -> Option<(Contact, Coord<f64>)> {
    // Sweep along the coordinate in which the segments are shorter: fewer pairs meet.
    let (wide, high) = segments.iter().fold((0.0, 0.0), |(wide, high), line| {
        (wide + line.dx().abs(), high + line.dy().abs())
    });
    let along = |at: Coord<f64>| if wide <= high { at.x } else { at.y };
    let span = |line: &Line<f64>| {
        let (a, b) = (along(line.start), along(line.end));
        (a.min(b), a.max(b))
    };
    let mut order: Vec<usize> = (0..segments.len()).collect();
    order.sort_by(|a, b| {
        span(&segments[*a])
            .0
            .total_cmp(&span(&segments[*b]).0)
            .then(a.cmp(b))
    });
    for (rank, &one) in order.iter().enumerate() {
        let end = span(&segments[one]).1;
        let later = order.iter().skip(rank + 1);
        for &other in later.take_while(|other| span(&segments[**other]).0 <= end) {
            let contact = contact(segments, one.min(other), one.max(other));
            if contact.is_some() {
                return contact;
            }
        }
    }
    None
}

/// How two segments of a closed ring meet where they should not.
fn contact(segments: &[Line<f64>], one: usize, other: usize) -> Option<(Contact, Coord<f64>)> {
    let neighbours = other - one == 1 || (one == 0 && other == segments.len() - 1);
    match line_intersection(segments[one], segments[other])? {
        LineIntersection::Collinear { intersection } if intersection.start != intersection.end => {
            let how = if neighbours {
                Contact::DoublesBack
            } else {
                Contact::RunsAlong
            };
            Some((how, intersection.start))
        }
        LineIntersection::SinglePoint {
            intersection,
            is_proper,
        } if !neighbours => {
            let how = if is_proper {
                Contact::Crosses
            } else {
                Contact::Touches
            };
            Some((how, intersection))
        }
        LineIntersection::Collinear { .. } | LineIntersection::SinglePoint { .. } => None,
    }
}
