//! From pitch metres to the lattice of written degrees.

use geo::{CoordsIter as _, Geometry, LineString, MultiPolygon, Polygon};
use geojson::GeometryValue;

use super::lattice::{Node, Patch, STEPS_PER_DEG, cut_line, written, written_whole};
use crate::ground::frame::{Frame, FrameError, Projector};
use crate::space::{Position, Xy};

/// Half a turn in lattice steps.
const HALF_TURN: i64 = 180_000_000_000;

/// A pitch frame, open for writing positions.
pub(super) struct Globe {
    projector: Projector,
    origin_lon: i64,
}

impl Globe {
    pub(super) fn open(frame: &Frame) -> Result<Self, FrameError> {
        Ok(Self {
            projector: frame.open()?,
            origin_lon: steps(frame.origin.lon_deg),
        })
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

    /// Longitude and latitude of places, degrees as written.
    pub(super) fn positions(
        &self,
        places: impl IntoIterator<Item = Xy>,
    ) -> Result<Vec<[f64; 2]>, FrameError> {
        let nodes = self.nodes(places)?;
        Ok(nodes.iter().map(|node| node.folded().degrees()).collect())
    }

    /// Ground as GeoJSON; `None` where no piece of at least `least_m2` is left of it.
    pub(super) fn ground(
        &self,
        shape: &MultiPolygon<f64>,
        least_m2: f64,
    ) -> Result<Option<GeometryValue>, FrameError> {
        let mut polygons: Vec<_> = written(self.patches(shape)?, least_m2)
            .into_iter()
            .map(|patch| {
                patch
                    .rings
                    .iter()
                    .map(|ring| closed(ring))
                    .collect::<Vec<_>>()
            })
            .collect();
        Ok(match polygons.len() {
            0 => None,
            1 => polygons.pop().map(GeometryValue::new_polygon),
            _ => Some(GeometryValue::new_multi_polygon(polygons)),
        })
    }

    /// The polygons of ground as closed rings of longitude and latitude, exterior first, for
    /// formats that know no cut at 180 degrees: there longitude jumps from one side to the other.
    pub(super) fn rings(
        &self,
        shape: &MultiPolygon<f64>,
        least_m2: f64,
    ) -> Result<Vec<Vec<Vec<[f64; 2]>>>, FrameError> {
        let patches = written_whole(self.patches(shape)?, least_m2);
        let ring = |ring: &Vec<Node>| {
            let folded: Vec<Node> = ring.iter().map(|node| node.folded()).collect();
            closed(&folded)
        };
        Ok(patches
            .iter()
            .map(|patch| patch.rings.iter().map(ring).collect())
            .collect())
    }

    fn patches(&self, shape: &MultiPolygon<f64>) -> Result<Vec<Patch>, FrameError> {
        let mut nodes = self.nodes(shape.coords_iter())?.into_iter();
        let mut ring = |ring: &LineString<f64>| nodes.by_ref().take(ring.0.len()).collect();
        let patch = |polygon: &Polygon<f64>| Patch {
            rings: std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .map(&mut ring)
                .collect(),
        };
        Ok(shape.iter().map(patch).collect())
    }

    /// Lines as GeoJSON, each cut where it crosses 180 degrees.
    pub(super) fn lines<'a>(
        &self,
        lines: impl IntoIterator<Item = &'a LineString<f64>>,
    ) -> Result<GeometryValue, FrameError> {
        let mut runs = Vec::new();
        for line in lines {
            let cut = cut_line(&self.nodes(line.coords().copied())?);
            runs.extend(cut.iter().map(|run| degrees(run)));
        }
        Ok(if runs.len() == 1 {
            GeometryValue::new_line_string(runs.pop().unwrap_or_default())
        } else {
            GeometryValue::new_multi_line_string(runs)
        })
    }

    /// A set of places as GeoJSON, in their order.
    pub(super) fn places(&self, places: &[Xy]) -> Result<GeometryValue, FrameError> {
        let positions = self.positions(places.iter().copied())?;
        Ok(GeometryValue::new_multi_point(positions))
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

/// One position as a point, several as a set of points.
fn single(positions: Vec<[f64; 2]>) -> GeometryValue {
    match positions.as_slice() {
        [position] => GeometryValue::new_point(*position),
        _ => GeometryValue::new_multi_point(positions),
    }
}

/// Whole lattice steps of an angle in degrees.
#[allow(clippy::cast_possible_truncation)] // degrees times 1e9 is far below 2^63
fn steps(deg: f64) -> i64 {
    (deg * STEPS_PER_DEG).round() as i64
}

fn degrees(nodes: &[Node]) -> Vec<[f64; 2]> {
    nodes.iter().map(|node| node.degrees()).collect()
}

/// A ring as GeoJSON wants it: its first position again at the end.
fn closed(ring: &[Node]) -> Vec<[f64; 2]> {
    ring.iter()
        .chain(ring.first())
        .map(|node| node.degrees())
        .collect()
}
