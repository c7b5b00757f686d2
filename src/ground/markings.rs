//! The lines of a pitch by Law 1, on the fitted rectangle, pitch metres.
//!
//! Sizes are those of [`super::law`]. A line here stands for a painted line, drawn where
//! its outer edge is, as Law 1 measures it. Markings that do not fit the rectangle are
//! left out one by one: a small pitch keeps its boundary and its halfway line.

use geo::{LineString, Polygon};

use super::curves;
use super::law::{
    CIRCLE_RADIUS_M, CORNER_ARC_M, GOAL_AREA_M, GOAL_AREA_WIDTH_M, PENALTY_AREA_M,
    PENALTY_AREA_WIDTH_M, PENALTY_MARK_M,
};
use crate::space::Xy;

/// Radius of the centre mark and of the penalty marks, metres. Common practice (a spot
/// of 9 inches across), no source: Law 1 gives none.
pub const MARK_RADIUS_M: f64 = 0.115;

/// The lines of a pitch whose touch lines are `length_m` (along x) and whose goal lines
/// are `width_m` (along y), centred on the origin, metres.
///
/// In this order, each left out where it does not fit: the boundary, the halfway line,
/// the centre circle and centre mark; then for the +x end and the -x end the penalty
/// area, goal area, penalty mark and arc; then the four corner arcs. A marking of one
/// end fits where it stays in its own half; the arc needs its penalty area and mark.
/// Curves are those of [`curves`]: polygons inscribed within 1 mm. Sides that are not
/// above zero give no line at all.
///
/// ```
/// let lines = swardlane::ground::markings::lines(105.0, 68.0);
/// assert_eq!(lines.len(), 4 + 2 * 4 + 4);
/// let small = swardlane::ground::markings::lines(30.0, 20.0);
/// assert!(small.len() < lines.len());
/// ```
#[must_use]
pub fn lines(length_m: f64, width_m: f64) -> Vec<LineString<f64>> {
    let (half_length, half_width) = (length_m / 2.0, width_m / 2.0);
    let has_size = half_length > 0.0 && half_width > 0.0;
    if !(has_size && half_length.is_finite() && half_width.is_finite()) {
        return Vec::new();
    }
    let mut lines = vec![
        closed_box(-half_length, half_length, half_width),
        LineString::from(vec![(0.0, -half_width), (0.0, half_width)]),
    ];
    if CIRCLE_RADIUS_M <= half_length.min(half_width) {
        lines.push(circle(ORIGIN, CIRCLE_RADIUS_M));
    }
    if MARK_RADIUS_M <= half_length.min(half_width) {
        lines.push(circle(ORIGIN, MARK_RADIUS_M));
    }
    for sign in [1.0, -1.0] {
        lines.extend(end_lines(sign, half_length, half_width));
    }
    if CORNER_ARC_M <= half_length.min(half_width) {
        for (x_sign, y_sign, quarter) in CORNERS {
            let flag = Xy {
                x: x_sign * half_length,
                y: y_sign * half_width,
            };
            lines.push(LineString(curves::quarter_arc(flag, CORNER_ARC_M, quarter)));
        }
    }
    lines
}

const ORIGIN: Xy = Xy { x: 0.0, y: 0.0 };

/// Signs of x and y at a corner flag, and the quarter turn that its arc lies in.
const CORNERS: [(f64, f64, u32); 4] = [
    (1.0, 1.0, 2),
    (-1.0, 1.0, 3),
    (-1.0, -1.0, 0),
    (1.0, -1.0, 1),
];

/// What stands before one goal line, at `sign` times +x.
fn end_lines(sign: f64, half_length: f64, half_width: f64) -> Vec<LineString<f64>> {
    let mut lines = Vec::new();
    let fits = |depth: f64, width: f64| depth <= half_length && width / 2.0 <= half_width;
    let has_penalty_area = fits(PENALTY_AREA_M, PENALTY_AREA_WIDTH_M);
    if has_penalty_area {
        lines.push(area_line(
            sign,
            half_length,
            PENALTY_AREA_M,
            PENALTY_AREA_WIDTH_M,
        ));
    }
    if fits(GOAL_AREA_M, GOAL_AREA_WIDTH_M) {
        lines.push(area_line(sign, half_length, GOAL_AREA_M, GOAL_AREA_WIDTH_M));
    }
    let mark = Xy {
        x: sign * (half_length - PENALTY_MARK_M),
        y: 0.0,
    };
    let has_mark = fits(PENALTY_MARK_M + MARK_RADIUS_M, 2.0 * MARK_RADIUS_M);
    if has_mark {
        lines.push(circle(mark, MARK_RADIUS_M));
    }
    if has_penalty_area && has_mark && fits(PENALTY_MARK_M + CIRCLE_RADIUS_M, 0.0) {
        lines.push(penalty_arc(sign, half_length));
    }
    lines
}

/// The boundary, closed.
fn closed_box(x_min: f64, x_max: f64, half_width: f64) -> LineString<f64> {
    LineString::from(vec![
        (x_min, -half_width),
        (x_max, -half_width),
        (x_max, half_width),
        (x_min, half_width),
        (x_min, -half_width),
    ])
}

/// The three sides of an area whose fourth is the goal line.
fn area_line(sign: f64, half_length: f64, depth_m: f64, width_m: f64) -> LineString<f64> {
    let (goal_line, inner) = (sign * half_length, sign * (half_length - depth_m));
    let side = width_m / 2.0;
    LineString::from(vec![
        (goal_line, -side),
        (inner, -side),
        (inner, side),
        (goal_line, side),
    ])
}

/// A circle's ring.
fn circle(centre: Xy, radius_m: f64) -> LineString<f64> {
    let (ring, _) = Polygon::into_inner(curves::disc(centre, radius_m));
    ring
}

/// The arc about a penalty mark outside its penalty area: the circle's corners there, and
/// the two places where it meets the area's line.
fn penalty_arc(sign: f64, half_length: f64) -> LineString<f64> {
    let mark = Xy {
        x: sign * (half_length - PENALTY_MARK_M),
        y: 0.0,
    };
    let beyond_m = PENALTY_AREA_M - PENALTY_MARK_M;
    let half_chord_m = (CIRCLE_RADIUS_M * CIRCLE_RADIUS_M - beyond_m * beyond_m).sqrt();
    let end = |side: f64| Xy {
        x: sign * (half_length - PENALTY_AREA_M),
        y: side * half_chord_m,
    };
    let mut corners: Vec<Xy> = circle(mark, CIRCLE_RADIUS_M).0;
    corners.retain(|corner| sign * corner.x < half_length - PENALTY_AREA_M - 1e-9);
    // One corner may be both first and last of the ring.
    corners.sort_by(|a, b| a.y.total_cmp(&b.y));
    corners.dedup();
    let points = std::iter::once(end(-1.0))
        .chain(corners)
        .chain(std::iter::once(end(1.0)));
    LineString(points.collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::BoundingRect;

    fn extent(line: &LineString<f64>) -> (f64, f64, f64, f64) {
        let rect = line.bounding_rect().map(|r| (r.min(), r.max()));
        rect.map_or((0.0, 0.0, 0.0, 0.0), |(low, high)| {
            (low.x, low.y, high.x, high.y)
        })
    }

    #[test]
    fn a_full_pitch_has_every_marking_of_law_1() {
        let all = lines(105.0, 68.0);
        assert_eq!(all.len(), 16);
        assert_eq!(extent(&all[0]), (-52.5, -34.0, 52.5, 34.0));
        assert_eq!(extent(&all[2]), (-9.15, -9.15, 9.15, 9.15));
        assert_eq!(extent(&all[4]), (36.0, -20.16, 52.5, 20.16));
        assert_eq!(extent(&all[5]), (47.0, -9.16, 52.5, 9.16));
        // The arc reaches 9.15 m from the mark and ends on the area's line.
        let (reach, _, edge, _) = extent(&all[7]);
        assert!((reach - (41.5 - 9.15)).abs() < 1e-9, "{reach}");
        assert!((edge - 36.0).abs() < 1e-9, "{edge}");
    }

    #[test]
    fn no_line_leaves_the_rectangle_whatever_its_size() {
        for length in [10.0, 18.0, 31.0, 33.5, 41.0, 60.0, 120.0] {
            for width in [10.0, 18.3, 19.0, 40.0, 41.0, 90.0] {
                for line in lines(length, width) {
                    for point in &line.0 {
                        assert!(point.x.abs() <= length / 2.0 + 1e-9, "{length} {width}");
                        assert!(point.y.abs() <= width / 2.0 + 1e-9, "{length} {width}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_small_pitch_leaves_out_what_does_not_fit() {
        // Neither areas nor circle nor marks at 11 m; boundary, halfway line, centre
        // mark and corner arcs stay.
        assert_eq!(lines(20.0, 15.0).len(), 3 + 4);
        assert!(lines(0.0, 15.0).is_empty());
        assert!(lines(f64::NAN, 15.0).is_empty());
    }
}
