//! From pitch metres to the lattice of written degrees.

use geo::{CoordsIter, Geometry, LineString, MultiPolygon, Polygon};
use geojson::GeometryValue;

use super::lattice::{Degrees, Node, Patch, cut_line, written, written_whole};
use crate::ground::frame::{FrameError, Projector};
use crate::passes::Track;
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::space::{Position, Xy};

/// Half a turn in lattice steps.
const HALF_TURN: i64 = 180_000_000_000;

/// A pitch frame, open for writing positions, and what several files of a plan write.
pub(super) struct Globe {
    projector: Projector,
    origin_lon: i64,
    /// The lines of all directions, in the order of [`directions`].
    passes: Vec<Lines>,
}

/// Lines on the lattice, one a part, in the order worked. Longitude runs on past 180 degrees.
pub(super) struct Lines {
    nodes: Vec<Node>,
    /// Where each line ends among the nodes.
    ends: Vec<usize>,
}

impl Lines {
    pub(super) fn iter(&self) -> impl Iterator<Item = &[Node]> {
        let begins = std::iter::once(&0).chain(&self.ends);
        begins
            .zip(&self.ends)
            .map(|(&begin, &end)| &self.nodes[begin..end])
    }
}

/// The directions of a plan in the order worked, each with its operation and its number there,
/// from 1.
pub(super) fn directions(
    plan: &Plan,
) -> impl Iterator<Item = (&OperationPlan, usize, &DirectionPlan)> {
    plan.operations.iter().flat_map(|planned| {
        let directions = planned.directions.iter().enumerate();
        directions.map(move |(index, direction)| (planned, index + 1, direction))
    })
}

impl Globe {
    /// The globe under a plan; `None` where the pitch has no place on it.
    pub(super) fn of(plan: &Plan) -> Result<Option<Self>, FrameError> {
        let Some(frame) = &plan.ground.frame else {
            return Ok(None);
        };
        let mut globe = Self {
            projector: frame.open()?,
            origin_lon: steps(frame.origin.lon_deg),
            passes: Vec::new(),
        };
        let lines = directions(plan).map(|(_, _, direction)| globe.lines_of(direction));
        globe.passes = lines.collect::<Result<_, _>>()?;
        Ok(Some(globe))
    }

    fn lines_of(&self, direction: &DirectionPlan) -> Result<Lines, FrameError> {
        let mut places: Vec<Xy> = Vec::new();
        let mut ends = Vec::new();
        for part in direction.passes.passes.iter().flat_map(|pass| &pass.parts) {
            match &part.track {
                Track::Straight { from, to } => places.extend([*from, *to]),
                Track::Round(line) => places.extend(line.coords()),
            }
            ends.push(places.len());
        }
        let nodes = self.nodes(places)?;
        Ok(Lines { nodes, ends })
    }

    /// The lines of the parts of each direction, in the order of [`directions`].
    pub(super) fn passes(&self) -> std::slice::Iter<'_, Lines> {
        self.passes.iter()
    }

    /// Places on the lattice, in their order. Longitude runs on past 180 degrees beside a pitch
    /// there, so that neighbours stay neighbours.
    fn nodes(&self, places: impl IntoIterator<Item = Xy>) -> Result<Vec<Node>, FrameError> {
        let node = |position: &Position| {
            let mut lon = steps(position.lon_deg);
            if lon - self.origin_lon > HALF_TURN {
                lon -= 2 * HALF_TURN;
            } else if lon - self.origin_lon < -HALF_TURN {
                lon += 2 * HALF_TURN;
            }
            Node {
                lon,
                lat: steps(position.lat_deg),
            }
        };
        let positions = self.projector.positions(places)?;
        Ok(positions.iter().map(node).collect())
    }

    /// Places as they are written, in their order.
    pub(super) fn folded(
        &self,
        places: impl IntoIterator<Item = Xy>,
    ) -> Result<Vec<Node>, FrameError> {
        let nodes = self.nodes(places)?;
        Ok(nodes.into_iter().map(Node::folded).collect())
    }

    /// Longitude and latitude of places, degrees as written.
    pub(super) fn positions(
        &self,
        places: impl IntoIterator<Item = Xy>,
    ) -> Result<Vec<[f64; 2]>, FrameError> {
        let nodes = self.folded(places)?;
        Ok(nodes.into_iter().map(Node::degrees).collect())
    }

    /// Ground as GeoJSON; `None` where no piece of at least `least_m2` is left of it.
    pub(super) fn ground(
        &self,
        shape: &MultiPolygon<f64>,
        least_m2: f64,
    ) -> Result<Option<GeometryValue>, FrameError> {
        Ok(self.grounds(&[&shape.0], least_m2)?.pop().flatten())
    }

    /// The same of many shapes, each of polygons, in their order: a fraction of the time that
    /// each by itself takes.
    pub(super) fn grounds(
        &self,
        shapes: &[&[Polygon<f64>]],
        least_m2: f64,
    ) -> Result<Vec<Option<GeometryValue>>, FrameError> {
        let rings =
            |patch: &Patch| -> Vec<_> { patch.rings.iter().map(|ring| closed(ring)).collect() };
        let ground = |patches: Vec<Patch>| {
            let patches = written(patches, least_m2);
            match patches.as_slice() {
                [] => None,
                [only] => Some(GeometryValue::new_polygon(rings(only))),
                all => Some(GeometryValue::new_multi_polygon(all.iter().map(rings))),
            }
        };
        Ok(self.patches(shapes)?.map(ground).collect())
    }

    /// The polygons of ground, for formats that know no cut at 180 degrees: there longitude jumps
    /// from one side to the other.
    pub(super) fn rings(
        &self,
        shape: &MultiPolygon<f64>,
        least_m2: f64,
    ) -> Result<Vec<Patch>, FrameError> {
        let patches = self.patches(&[&shape.0])?.next().unwrap_or_default();
        let mut patches = written_whole(patches, least_m2);
        for node in patches
            .iter_mut()
            .flat_map(|patch| &mut patch.rings)
            .flatten()
        {
            *node = node.folded();
        }
        Ok(patches)
    }

    /// The polygons of each shape on the lattice, in their order.
    fn patches<'a>(
        &self,
        shapes: &'a [&[Polygon<f64>]],
    ) -> Result<impl Iterator<Item = Vec<Patch>> + use<'a>, FrameError> {
        let corners = shapes.iter().flat_map(|polygons| polygons.iter());
        let mut nodes = self
            .nodes(corners.flat_map(CoordsIter::coords_iter))?
            .into_iter();
        let patch = move |polygon: &Polygon<f64>| Patch {
            rings: std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .map(|ring| nodes.by_ref().take(ring.0.len()).collect())
                .collect(),
        };
        let mut patch = patch;
        Ok(shapes
            .iter()
            .map(move |polygons| polygons.iter().map(&mut patch).collect()))
    }

    /// Lines as GeoJSON, each cut where it crosses 180 degrees.
    pub(super) fn lines<'a>(
        &self,
        lines: impl IntoIterator<Item = &'a LineString<f64>>,
    ) -> Result<GeometryValue, FrameError> {
        let mut runs = Vec::new();
        for line in lines {
            runs.extend(cut_line(&self.nodes(line.coords().copied())?));
        }
        Ok(of_runs(&runs))
    }

    /// Sets of places as GeoJSON, in their order.
    pub(super) fn places(&self, sets: &[&[Xy]]) -> Result<Vec<GeometryValue>, FrameError> {
        let places = sets.iter().flat_map(|places| places.iter().copied());
        let mut positions = self.positions(places)?.into_iter();
        let set =
            |places: &&[Xy]| GeometryValue::new_multi_point(positions.by_ref().take(places.len()));
        Ok(sets.iter().map(set).collect())
    }

    /// A thing as it was given, however small. Ground that shrinks to nothing on the
    /// lattice becomes a point, so that no obstacle is ever lost.
    pub(super) fn thing(&self, shape: &Geometry<f64>) -> Result<GeometryValue, FrameError> {
        let area = |polygons: MultiPolygon<f64>| -> Result<GeometryValue, FrameError> {
            if let Some(value) = self.ground(&polygons, 0.0)? {
                return Ok(value);
            }
            let corners = polygons
                .iter()
                .flat_map(|polygon| polygon.exterior().coords());
            Ok(single(self.positions(corners.take(1).copied())?))
        };
        match shape {
            Geometry::Point(point) => Ok(single(self.positions([point.0])?)),
            Geometry::MultiPoint(points) => {
                Ok(single(self.positions(points.iter().map(|point| point.0))?))
            }
            Geometry::Line(line) => self.lines([&LineString::from(*line)]),
            Geometry::LineString(line) => self.lines([line]),
            Geometry::MultiLineString(lines) => self.lines(lines),
            Geometry::Polygon(polygon) => area(MultiPolygon(vec![polygon.clone()])),
            Geometry::MultiPolygon(polygons) => area(polygons.clone()),
            Geometry::Rect(rect) => area(MultiPolygon(vec![rect.to_polygon()])),
            Geometry::Triangle(triangle) => area(MultiPolygon(vec![triangle.to_polygon()])),
            Geometry::GeometryCollection(things) => Ok(GeometryValue::GeometryCollection {
                geometries: things
                    .iter()
                    .map(|thing| Ok(geojson::Geometry::new(self.thing(thing)?)))
                    .collect::<Result<_, FrameError>>()?,
            }),
        }
    }
}

/// A line on the lattice as GeoJSON, cut where it crosses 180 degrees.
pub(super) fn line(nodes: &[Node]) -> GeometryValue {
    of_runs(&cut_line(nodes))
}

/// One run as a line, several as a set of lines.
fn of_runs(runs: &[Vec<Node>]) -> GeometryValue {
    match runs {
        [run] => GeometryValue::new_line_string(degrees(run)),
        _ => GeometryValue::new_multi_line_string(runs.iter().map(|run| degrees(run))),
    }
}

/// One position as a point, several as a set of points.
fn single(positions: Vec<[f64; 2]>) -> GeometryValue {
    match positions.as_slice() {
        [position] => GeometryValue::new_point(*position),
        _ => GeometryValue::new_multi_point(positions),
    }
}

/// Whole lattice steps of an angle in degrees.
fn steps(deg: f64) -> i64 {
    Degrees::of(deg).0
}

fn degrees(nodes: &[Node]) -> impl Iterator<Item = [f64; 2]> {
    nodes.iter().map(|node| node.degrees())
}

/// A ring as GeoJSON wants it: its first position again at the end.
fn closed(ring: &[Node]) -> Vec<[f64; 2]> {
    ring.iter()
        .chain(ring.first())
        .map(|node| node.degrees())
        .collect()
}
