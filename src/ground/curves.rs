//! Curves become polygons once, here; from then on the polygon is the truth.
//!
//! A marking's circle is inscribed: its corners lie on the circle, and no chord is more
//! than 1 mm inside it. A clearance is circumscribed: no edge comes nearer than asked,
//! and no corner lies more than 1 mm further out, so that a clearance is never under-run.

use std::f64::consts::TAU;

use geo::{ConvexHull, CoordsIter, Geometry, LineString, MultiPolygon, Polygon};

use crate::region;
use crate::space::Xy;

/// How far a polygon may lie from the curve it stands for, metres.
pub const SAGITTA_M: f64 = 0.001;

/// The least multiple of 4 for which `deviation_m(n)` is at most [`SAGITTA_M`].
fn corners_for(deviation_m: impl Fn(f64) -> f64) -> u32 {
    let mut n = 4;
    // A circle of 50 km would take a million corners; no job comes near.
    while deviation_m(f64::from(n)) > SAGITTA_M && n < 1_000_000 {
        n += 4;
    }
    n
}

/// The number of corners of an inscribed circle of that radius.
#[must_use]
pub fn inscribed_corners(radius_m: f64) -> u32 {
    corners_for(|n| radius_m * (1.0 - (TAU / 2.0 / n).cos()))
}

/// The unit vector at `k / n` of a full turn from +x, exact at the quarters.
fn step(k: u32, n: u32) -> Xy {
    let (quarter, rest) = ((4 * k) / n % 4, (4 * k) % n);
    let (sin, cos) = if rest == 0 {
        (0.0, 1.0)
    } else {
        (TAU * f64::from(rest) / f64::from(4 * n)).sin_cos()
    };
    let (x, y) = match quarter {
        0 => (cos, sin),
        1 => (-sin, cos),
        2 => (-cos, -sin),
        _ => (sin, -cos),
    };
    Xy { x, y }
}

/// The circle polygon of a marking: anticlockwise, first corner towards +x.
#[must_use]
pub fn disc(centre: Xy, radius_m: f64) -> Polygon<f64> {
    let n = inscribed_corners(radius_m);
    let ring = (0..n).map(|k| centre + step(k, n) * radius_m).collect();
    Polygon::new(LineString(ring), Vec::new())
}

/// The corners of the inscribed circle within a quarter turn, ends included: quarter 0
/// from +x to +y, 1 from +y to -x, 2 from -x to -y, 3 from -y to +x.
#[must_use]
pub fn quarter_arc(centre: Xy, radius_m: f64, quarter: u32) -> Vec<Xy> {
    let n = inscribed_corners(radius_m);
    (quarter * n / 4..=(quarter + 1) * n / 4)
        .map(|k| centre + step(k % n, n) * radius_m)
        .collect()
}

/// The corners of the polygon about a circle of that radius round the origin.
fn about(radius_m: f64) -> Vec<Xy> {
    let n = corners_for(|n| radius_m / (TAU / 2.0 / n).cos() - radius_m);
    let reach_m = radius_m / (TAU / 2.0 / f64::from(n)).cos();
    (0..n).map(|k| step(k, n) * reach_m).collect()
}

/// The ground within `clearance_m` of a shape: the Minkowski sum of the shape and the
/// polygon about the circle. Points and lines without clearance have no ground.
#[must_use]
pub fn clearance(shape: &Geometry<f64>, clearance_m: f64) -> MultiPolygon<f64> {
    let mut grown = solids(shape);
    if clearance_m > 0.0 {
        let kernel = about(clearance_m);
        let mut hulls = Vec::new();
        strokes(shape, &mut |from, to| {
            let corners = kernel.iter().flat_map(|&k| [from + k, to + k]).collect();
            hulls.push(LineString(corners).convex_hull());
        });
        grown.0.extend(hulls);
    }
    let parts: Vec<MultiPolygon<f64>> = grown
        .0
        .into_iter()
        .map(|polygon| MultiPolygon(vec![polygon]))
        .collect();
    region::union(&parts)
}

/// The polygons of a shape.
pub fn solids(shape: &Geometry<f64>) -> MultiPolygon<f64> {
    match shape {
        Geometry::Polygon(polygon) => MultiPolygon(vec![polygon.clone()]),
        Geometry::MultiPolygon(polygons) => polygons.clone(),
        Geometry::Rect(rect) => MultiPolygon(vec![rect.to_polygon()]),
        Geometry::Triangle(triangle) => MultiPolygon(vec![triangle.to_polygon()]),
        Geometry::GeometryCollection(shapes) => {
            MultiPolygon(shapes.iter().flat_map(|one| solids(one).0).collect())
        }
        _ => MultiPolygon(Vec::new()),
    }
}

/// Calls `each` with both ends of every segment of a shape; a point is a segment of no
/// length.
fn strokes(shape: &Geometry<f64>, each: &mut impl FnMut(Xy, Xy)) {
    let mut along = |line: &LineString<f64>| line.lines().for_each(|l| each(l.start, l.end));
    match shape {
        Geometry::LineString(line) => along(line),
        Geometry::MultiLineString(lines) => lines.iter().for_each(along),
        Geometry::Line(line) => each(line.start, line.end),
        Geometry::Point(_) | Geometry::MultiPoint(_) => {
            shape.coords_iter().for_each(|at| each(at, at));
        }
        Geometry::GeometryCollection(shapes) => shapes.iter().for_each(|one| strokes(one, each)),
        _ => region::rings(&solids(shape)).for_each(along),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Distance, Euclidean, Point};

    #[test]
    fn a_clearance_is_never_under_run_and_at_most_a_millimetre_over() {
        for radius_m in [0.05, 0.5, 0.75, 3.0, 12.0] {
            let kept = clearance(&Geometry::Point(Point::new(3.0, 4.0)), radius_m);
            let ring = kept.0[0].exterior();
            let centre = Point::new(3.0, 4.0);
            for line in ring.lines() {
                assert!(Euclidean.distance(&line, &centre) >= radius_m - 1e-9);
                let corner = (line.start.x - 3.0).hypot(line.start.y - 4.0);
                assert!(corner <= radius_m + SAGITTA_M + 1e-9);
            }
        }
    }

    #[test]
    fn a_disc_lies_within_a_millimetre_of_its_circle() {
        let disc = disc(Xy { x: 0.0, y: 0.0 }, 9.15);
        let n = inscribed_corners(9.15);
        assert_eq!(n % 4, 0);
        assert_eq!(disc.exterior().0.len(), n as usize + 1);
        let shallow = |n: f64| 9.15 * (1.0 - (TAU / 2.0 / n).cos());
        assert!(shallow(f64::from(n)) <= SAGITTA_M && shallow(f64::from(n - 4)) > SAGITTA_M);
        assert_eq!(disc.exterior().0[n as usize / 4], Xy { x: 0.0, y: 9.15 });
    }
}
