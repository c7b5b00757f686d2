//! How large areas are, and which rectangle fits them.

use geo::{Area as _, ConvexHull as _, LineString, Polygon};

use super::extent::Extent;
use super::plane::Plane;
use super::{Area, Called, Fitted};
use crate::found::{Found, FoundArea};
use crate::ground::fit;
use crate::space::Position;

/// Corners of a convex hull to which a rectangle is fitted; its time grows with their square.
const HULL_CORNERS: usize = 1_000;

pub(super) fn area(plane: &Plane, number: usize, area: &FoundArea) -> Area {
    let middle = Extent::of(area.rings.iter().flatten()).map_or(
        Position {
            lat_deg: 0.0,
            lon_deg: 0.0,
        },
        |extent| extent.middle(),
    );
    let polygon = polygon(plane, area);
    Area {
        number,
        label: Called::from(&area.label),
        holes: area.rings.len().saturating_sub(1),
        area_m2: polygon.as_ref().map(|polygon| polygon.unsigned_area()),
        rectangle: polygon.as_ref().and_then(fitted),
        middle_lat_deg: middle.lat_deg,
        middle_lon_deg: middle.lon_deg,
    }
}

fn polygon(plane: &Plane, area: &FoundArea) -> Option<Polygon<f64>> {
    let mut rings = area.rings.iter().map(|ring| {
        let mut ring = LineString(plane.places(ring)?);
        ring.close();
        Some(ring)
    });
    let exterior = rings.next()??;
    Some(Polygon::new(exterior, rings.collect::<Option<_>>()?))
}

/// The rectangle of an area: fitted to its corners, or where it has none, of least area.
fn fitted(polygon: &Polygon<f64>) -> Option<Fitted> {
    let hull = polygon.convex_hull();
    if hull.exterior().0.len() > HULL_CORNERS {
        return None;
    }
    let rectangle = fit::to_outline(polygon, None).or_else(|| fit::least_area(&hull))?;
    let axis = rectangle.axis;
    let bearing_deg = axis.x.atan2(axis.y).to_degrees().rem_euclid(180.0);
    Some(Fitted {
        length_m: rectangle.length_m,
        width_m: rectangle.width_m,
        bearing_deg: if bearing_deg >= 180.0 {
            0.0
        } else {
            bearing_deg
        },
        misfit_m: fit::outline_misfit_m(&rectangle, polygon),
    })
}

/// The area of each ground in square metres, each in a plane of its own; 0 where it reaches too
/// far to be measured.
pub(in crate::found) fn areas_m2(found: &Found) -> Vec<f64> {
    let area_m2 = |area: &FoundArea| {
        let extent = Extent::of(area.rings.iter().flatten())?;
        let plane = Plane::at(extent.middle());
        Some(polygon(&plane, area)?.unsigned_area())
    };
    let areas = found.areas.iter();
    areas.map(|area| area_m2(area).unwrap_or(0.0)).collect()
}
