//! Hatching: parallel strokes inside polygons.
//!
//! The strokes are worked out here rather than left to a pattern fill, which viewers and
//! printers draw in different ways. They keep one phase over the whole page, so that
//! neighbours with the same hatching read as one ground.

use geo::MultiPolygon;

use super::scene::{Item, Pen, Spot, Style, rings};

/// More strokes than this are not drawn: the spacing is doubled until they fit.
const MOST_STROKES: f64 = 4000.0;

/// Strokes `spacing_mm` apart that rise at `angle_deg` (anticlockwise from the right, as
/// seen) inside `shape`, paper millimetres, as one item.
pub(super) fn strokes(
    shape: &MultiPolygon<f64>,
    angle_deg: f64,
    spacing_mm: f64,
    pen: Pen,
) -> Item {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    // Along the stroke (u) and across it (v); the paper's y points down.
    let turned: Vec<Vec<(f64, f64)>> = rings(shape)
        .iter()
        .map(|ring| {
            ring.iter()
                .map(|spot| (spot.x * cos - spot.y * sin, spot.x * sin + spot.y * cos))
                .collect()
        })
        .collect();
    let across = turned.iter().flatten().map(|point| point.1);
    let low = across.clone().fold(f64::INFINITY, f64::min);
    let high = across.fold(f64::NEG_INFINITY, f64::max);
    let mut lines = Vec::new();
    if low.is_finite() && high.is_finite() && spacing_mm > 0.0 {
        let mut spacing = spacing_mm;
        while (high - low) / spacing > MOST_STROKES {
            spacing *= 2.0;
        }
        let mut row = (low / spacing).ceil();
        while row * spacing <= high {
            for (from, to) in inside(&turned, row * spacing) {
                let v = row * spacing;
                lines.push(vec![
                    Spot {
                        x: from * cos + v * sin,
                        y: v * cos - from * sin,
                    },
                    Spot {
                        x: to * cos + v * sin,
                        y: v * cos - to * sin,
                    },
                ]);
            }
            row += 1.0;
        }
    }
    Item::Path {
        lines,
        style: Style::line(pen),
    }
}

/// Where the line at height `v` runs inside the rings (even-odd).
fn inside(rings: &[Vec<(f64, f64)>], v: f64) -> Vec<(f64, f64)> {
    let mut crossings = Vec::new();
    for ring in rings {
        let next = ring.iter().cycle().skip(1);
        for (&(u0, v0), &(u1, v1)) in ring.iter().zip(next) {
            // Half-open, so that a vertex on the line counts once.
            if (v0 <= v) != (v1 <= v) {
                crossings.push(u0 + (v - v0) / (v1 - v0) * (u1 - u0));
            }
        }
    }
    crossings.sort_by(f64::total_cmp);
    crossings
        .chunks_exact(2)
        .filter_map(|pair| match pair {
            [from, to] => Some((*from, *to)),
            _ => None,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::scene::Ink;
    use super::*;
    use geo::{Area, polygon};

    #[test]
    fn the_strokes_fill_the_shape_and_spare_its_hole() {
        let outer = polygon!(
            exterior: [(x: 10.0, y: 20.0), (x: 50.0, y: 20.0), (x: 50.0, y: 50.0), (x: 10.0, y: 50.0)],
            interiors: [[(x: 20.0, y: 25.0), (x: 30.0, y: 25.0), (x: 30.0, y: 35.0), (x: 20.0, y: 35.0)]],
        );
        let shape = MultiPolygon(vec![outer]);
        for angle_deg in [0.0, 45.0, -30.0, 90.0] {
            let item = strokes(&shape, angle_deg, 0.1, Pen::new(Ink::Black, 0.1));
            let Item::Path { lines, .. } = item else {
                unreachable!("strokes are one path")
            };
            let length: f64 = lines
                .iter()
                .map(|line| (line[1].x - line[0].x).hypot(line[1].y - line[0].y))
                .sum();
            let area = length * 0.1;
            assert!(
                (area - shape.unsigned_area()).abs() < 6.0,
                "{angle_deg}: {area}"
            );
            for line in lines {
                let middle = (line[0] + line[1]) / 2.0;
                let in_hole = (20.1..29.9).contains(&middle.x) && (25.1..34.9).contains(&middle.y);
                assert!(!in_hole, "{angle_deg}: {middle:?}");
            }
        }
    }
}
