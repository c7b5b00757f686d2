//! The holes of one forking of a piece of ground: where each lies and which row it belongs
//! to.
//!
//! The rows run along one axis and the board is turned over along the other. The lattice is
//! that of the ground's extents on both axes, centred. Each row is cut by the ground's
//! boundary as by a saw: what lies inside stays, holes on the boundary stay too, and holes
//! strictly within a place that is kept clear are kept off.

use geo::{BoundingRect, MultiPolygon};

use crate::region;
use crate::space::{Xy, abscissa_at};

/// A hole this near to a boundary lies on it, metres.
const ON_EDGE_M: f64 = 1e-9;

/// Lengths in spacings are taken as whole where they are nearer than this.
const WHOLE: f64 = 1e-9;

/// Two directions square to each other: that of the rows and that in which the board moves on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axes {
    /// Unit vector of the rows.
    pub along: Xy,
    /// Unit vector in which the board moves on.
    pub ahead: Xy,
}

impl Axes {
    /// The place with these coordinates, pitch metres.
    #[must_use]
    pub fn place(&self, along_m: f64, ahead_m: f64) -> Xy {
        self.along * along_m + self.ahead * ahead_m
    }

    /// The coordinates of a place: x along the rows, y ahead.
    #[must_use]
    pub fn coordinates(&self, at: Xy) -> Xy {
        Xy {
            x: at.x * self.along.x + at.y * self.along.y,
            y: at.x * self.ahead.x + at.y * self.ahead.y,
        }
    }

    /// The axes of the second stage: its rows run ahead, and its board moves on to the right
    /// of that.
    #[must_use]
    pub fn across(&self) -> Self {
        Self {
            along: self.ahead,
            ahead: Xy {
                x: self.ahead.y,
                y: -self.ahead.x,
            },
        }
    }
}

/// How a lattice is spaced, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spacing {
    /// From hole to hole in a row.
    pub hole_m: f64,
    /// From row to row.
    pub row_m: f64,
    /// From the edge of the ground to the first hole and row; `None`: half a spacing.
    pub edge_m: Option<f64>,
}

/// How many holes lie along a length: floor((length - 2 edge) / spacing) + 1, and none where
/// that is below nought.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped: whole, at least 0
pub fn count(length_m: f64, spacing_m: f64, edge_m: f64) -> usize {
    let count = ((length_m - 2.0 * edge_m) / spacing_m + WHOLE).floor() + 1.0;
    count.clamp(0.0, 1e12) as usize
}

/// Holes on a square metre of an endless lattice.
#[must_use]
pub fn holes_per_m2(hole_m: f64, row_m: f64) -> f64 {
    1.0 / (hole_m * row_m)
}

/// The share of the surface that so many holes of this diameter open, per cent.
#[must_use]
pub fn open_area_pct(holes_per_m2: f64, diameter_m: f64) -> f64 {
    100.0 * holes_per_m2 * hole_area_m2(diameter_m)
}

/// The area of a hole, square metres.
#[must_use]
pub fn hole_area_m2(diameter_m: f64) -> f64 {
    std::f64::consts::PI * diameter_m * diameter_m / 4.0
}

/// Evenly spaced ordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ladder {
    pub first_m: f64,
    pub step_m: f64,
    pub count: usize,
}

impl Ladder {
    /// Centred between two ends.
    pub(super) fn between(low_m: f64, high_m: f64, step_m: f64, edge_m: Option<f64>) -> Self {
        let count = count(high_m - low_m, step_m, edge_m.unwrap_or(step_m / 2.0));
        let reach_m = step_m * count.saturating_sub(1) as f64;
        Self {
            first_m: f64::midpoint(low_m, high_m) - reach_m / 2.0,
            step_m,
            count,
        }
    }

    pub(super) fn at(&self, index: usize) -> f64 {
        self.first_m + self.step_m * index as f64
    }

    /// The indices whose ordinates may lie within `reach_m` of one, a spare one on each side.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the count
    pub(super) fn near(&self, at_m: f64, reach_m: f64) -> std::ops::Range<usize> {
        let most = self.count as f64;
        let steps = |to_m: f64| (to_m - self.first_m) / self.step_m;
        let from = (steps(at_m - reach_m).floor() - 1.0).clamp(0.0, most) as usize;
        let to = (steps(at_m + reach_m).ceil() + 2.0).clamp(0.0, most) as usize;
        from..to.max(from)
    }
}

/// The lattice of one stage on one piece of ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Lattice {
    /// Its axes.
    pub axes: Axes,
    /// Extents of the ground on the axes: least and greatest, metres.
    pub low: Xy,
    /// See `low`.
    pub high: Xy,
    /// The rows in the order in which they are reached, empty ones too.
    pub rows: Vec<Row>,
    columns: Ladder,
    lines: Ladder,
    /// By row and column: how many holes of the row stand before that column.
    before: Vec<u32>,
}

/// One row of holes.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Distance from the first side of the ground, metres.
    pub ahead_m: f64,
    /// The holes, pitch metres, in the direction of the row.
    pub holes: Vec<Xy>,
    /// Holes that are left out because something is kept clear there, pitch metres.
    pub kept_off: Vec<Xy>,
}

impl Lattice {
    /// How many places a lattice on ground of these extents has, before it is made.
    #[must_use]
    pub fn places(ground: &MultiPolygon<f64>, axes: Axes, spacing: Spacing) -> usize {
        let (low, high) = extents(ground, axes);
        let [columns, lines] = ladders(low, high, spacing);
        columns.count.saturating_mul(lines.count)
    }

    /// Lays the lattice on ground; `kept_clear` is what no tine may enter.
    #[must_use]
    pub fn lay(
        ground: &MultiPolygon<f64>,
        kept_clear: &[MultiPolygon<f64>],
        axes: Axes,
        spacing: Spacing,
    ) -> Self {
        let (low, high) = extents(ground, axes);
        let [columns, lines] = ladders(low, high, spacing);
        let edges = Edges::of(ground, axes);
        let kept: Vec<Edges> = kept_clear
            .iter()
            .map(|shape| Edges::of(shape, axes))
            .filter(|edges| edges.reaches(low.y, high.y))
            .collect();
        let mut before = Vec::with_capacity((columns.count + 1) * lines.count);
        let rows = (0..lines.count)
            .map(|line| {
                let ahead_m = lines.at(line);
                let inside = edges.touched(ahead_m);
                let closed: Vec<(f64, f64)> = kept.iter().flat_map(|k| k.within(ahead_m)).collect();
                let mut row = Row {
                    ahead_m: ahead_m - low.y,
                    holes: Vec::new(),
                    kept_off: Vec::new(),
                };
                before.push(0);
                for column in 0..columns.count {
                    let along_m = columns.at(column);
                    let is_in = |spans: &[(f64, f64)]| {
                        spans.iter().any(|&(a, b)| a <= along_m && along_m <= b)
                    };
                    if is_in(&inside) {
                        let at = axes.place(along_m, ahead_m);
                        if is_in(&closed) {
                            row.kept_off.push(at);
                        } else {
                            row.holes.push(at);
                        }
                    }
                    before.push(u32::try_from(row.holes.len()).unwrap_or(u32::MAX));
                }
                row
            })
            .collect();
        Self {
            axes,
            low,
            high,
            rows,
            columns,
            lines,
            before,
        }
    }

    /// How far the ground reaches ahead, metres.
    #[must_use]
    pub fn depth_m(&self) -> f64 {
        self.high.y - self.low.y
    }

    /// How far the ground reaches along the rows, metres.
    #[must_use]
    pub fn breadth_m(&self) -> f64 {
        self.high.x - self.low.x
    }

    /// How many holes are made.
    #[must_use]
    pub fn holes(&self) -> usize {
        self.rows.iter().map(|row| row.holes.len()).sum()
    }

    /// How many are kept off.
    #[must_use]
    pub fn kept_off(&self) -> usize {
        self.rows.iter().map(|row| row.kept_off.len()).sum()
    }

    /// Pairs of a hole here and a hole of a lattice with axes across these that lie nearer than
    /// `within_m`. A pair at that very distance (to 1e-9 m) is none.
    #[must_use]
    pub fn coincident(&self, other: &Self, within_m: f64) -> usize {
        let within_m = within_m - ON_EDGE_M;
        if within_m <= 0.0 {
            return 0;
        }
        let holes = self.rows.iter().flat_map(|row| &row.holes);
        holes.map(|&hole| other.holes_near(hole, within_m)).sum()
    }

    /// How many holes lie nearer to a place than `within_m`.
    fn holes_near(&self, at: Xy, within_m: f64) -> usize {
        let at = self.axes.coordinates(at);
        let mut found = 0;
        for line in self.lines.near(at.y, within_m) {
            let aside_m = self.lines.at(line) - at.y;
            let is_near =
                |column: usize| (self.columns.at(column) - at.x).hypot(aside_m) < within_m;
            let mut columns = self.columns.near(at.x, within_m);
            // What is near is one run of columns: take off those beside it.
            while columns.start < columns.end && !is_near(columns.start) {
                columns.start += 1;
            }
            while columns.start < columns.end && !is_near(columns.end - 1) {
                columns.end -= 1;
            }
            let row = &self.before[line * (self.columns.count + 1)..];
            found += (row[columns.end] - row[columns.start]) as usize;
        }
        found
    }
}

/// The share of coincident holes on the whole of a rectangle of these extents, by counting
/// distances on each axis apart: a quick guess at that of ground within it.
pub(super) fn coincident_share_guess(low: Xy, high: Xy, spacing: Spacing, within_m: f64) -> f64 {
    let [holes, rows] = ladders(low, high, spacing);
    let turned = Xy { x: low.y, y: low.x };
    let [holes_across, rows_across] = ladders(
        turned,
        Xy {
            x: high.y,
            y: high.x,
        },
        spacing,
    );
    let apart = |one: Ladder, other: Ladder| -> Vec<f64> {
        let mut found = Vec::new();
        for index in 0..one.count {
            let at = one.at(index);
            let near = other.near(at, within_m).map(|k| (other.at(k) - at).abs());
            found.extend(near.filter(|apart_m| *apart_m < within_m));
        }
        found.sort_by(f64::total_cmp);
        found
    };
    let along = apart(holes, rows_across);
    let ahead = apart(rows, holes_across);
    let pairs: usize = along
        .iter()
        .map(|a| ahead.partition_point(|b| a.hypot(*b) < within_m - ON_EDGE_M))
        .sum();
    let of = holes_across.count * rows_across.count;
    pairs as f64 / of.max(1) as f64
}

fn ladders(low: Xy, high: Xy, spacing: Spacing) -> [Ladder; 2] {
    [
        Ladder::between(low.x, high.x, spacing.hole_m, spacing.edge_m),
        Ladder::between(low.y, high.y, spacing.row_m, spacing.edge_m),
    ]
}

/// Extents of ground on axes; all nought where there is none.
pub(super) fn extents(ground: &MultiPolygon<f64>, axes: Axes) -> (Xy, Xy) {
    use geo::MapCoords;
    let turned = ground.map_coords(|at| axes.coordinates(at));
    turned
        .bounding_rect()
        .map_or_else(Default::default, |rect| (rect.min(), rect.max()))
}

/// The boundary of ground on axes, without what runs along the rows, each edge from below.
#[derive(Debug, Clone)]
struct Edges(Vec<(Xy, Xy)>);

impl Edges {
    fn of(ground: &MultiPolygon<f64>, axes: Axes) -> Self {
        let lines = region::rings(ground).flat_map(|ring| ring.lines());
        let edges = lines.filter_map(|line| {
            let (a, b) = (axes.coordinates(line.start), axes.coordinates(line.end));
            if a.y < b.y {
                Some((a, b))
            } else if b.y < a.y {
                Some((b, a))
            } else {
                None
            }
        });
        Self(edges.collect())
    }

    fn reaches(&self, low: f64, high: f64) -> bool {
        self.0.iter().any(|(a, b)| a.y <= high && b.y >= low)
    }

    /// The spans of the ground on the line at `y`.
    fn at(&self, y: f64) -> Vec<(f64, f64)> {
        let crossing = self.0.iter().filter(|(a, b)| a.y <= y && y < b.y);
        let mut xs: Vec<f64> = crossing.map(|&(a, b)| abscissa_at(a, b, y)).collect();
        xs.sort_by(f64::total_cmp);
        xs.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
    }

    /// The spans on the line at `y` of what is no further from the ground than a hair.
    fn touched(&self, y: f64) -> Vec<(f64, f64)> {
        let lines = [y, y - ON_EDGE_M, y + ON_EDGE_M];
        let spans = lines.into_iter().flat_map(|y| self.at(y));
        spans.map(|(a, b)| (a - ON_EDGE_M, b + ON_EDGE_M)).collect()
    }

    /// The spans on the line at `y` of what is further inside than a hair.
    fn within(&self, y: f64) -> Vec<(f64, f64)> {
        let mut spans = self.at(y);
        for y in [y - ON_EDGE_M, y + ON_EDGE_M] {
            let other = self.at(y);
            let pairs = spans
                .iter()
                .flat_map(|&(a, b)| other.iter().map(move |&(c, d)| (a.max(c), b.min(d))));
            spans = pairs.filter(|(a, b)| a < b).collect();
        }
        let narrowed = spans
            .into_iter()
            .map(|(a, b)| (a + ON_EDGE_M, b - ON_EDGE_M));
        narrowed.filter(|(a, b)| a < b).collect()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use geo::{LineString, Polygon, polygon};

    const AXES: Axes = Axes {
        along: Xy { x: 0.0, y: 1.0 },
        ahead: Xy { x: 1.0, y: 0.0 },
    };

    fn rectangle(x: (f64, f64), y: (f64, f64)) -> MultiPolygon<f64> {
        let ring = [(x.0, y.0), (x.1, y.0), (x.1, y.1), (x.0, y.1)];
        MultiPolygon(vec![Polygon::new(LineString::from(ring.to_vec()), vec![])])
    }

    fn square(hole_m: f64, row_m: f64, edge_m: Option<f64>) -> Spacing {
        Spacing {
            hole_m,
            row_m,
            edge_m,
        }
    }

    #[test]
    fn the_goal_area_at_a_tenth_of_a_metre_has_10_065_holes_a_stage() {
        // By hand: 18.32 / 0.1 = 183.2, so 183 holes a row; 5.5 / 0.1 = 55 rows.
        // 183 x 55 = 10 065. Across: 55 holes a row in 183 rows, the same number.
        let ground = rectangle((-52.5, -47.0), (-9.16, 9.16));
        let along = Lattice::lay(&ground, &[], AXES, square(0.1, 0.1, None));
        assert_eq!((along.rows.len(), along.rows[0].holes.len()), (55, 183));
        assert_eq!(along.holes(), 10_065);
        let across = Lattice::lay(&ground, &[], AXES.across(), square(0.1, 0.1, None));
        assert_eq!((across.rows.len(), across.holes()), (183, 10_065));
        // Centred: (18.32 - 18.2) / 2 = 0.06 m to the touch sides, 0.05 m to the goal line.
        let first = along.rows[0].holes[0];
        assert!((first.x + 52.45).abs() < 1e-12 && (first.y + 9.10).abs() < 1e-12);
        // Both stages lie on the very same places: every hole is hit twice.
        assert_eq!(along.coincident(&across, 0.015), 10_065);
    }

    #[test]
    fn holes_on_the_edge_stay_and_holes_on_a_clearance_stay() {
        // 1 m at 0.25 m from the very edge: 5 x 5. The square from 0.25 to 0.75 holds one hole
        // within it and eight on its edge.
        let ground = rectangle((0.0, 1.0), (0.0, 1.0));
        let kept = rectangle((0.25, 0.75), (0.25, 0.75));
        let lattice = Lattice::lay(&ground, &[kept], AXES, square(0.25, 0.25, Some(0.0)));
        assert_eq!((lattice.holes(), lattice.kept_off()), (24, 1));
        assert_eq!(lattice.rows[2].kept_off, [Xy { x: 0.5, y: 0.5 }]);
    }

    #[test]
    fn a_dent_takes_its_holes_out_and_leaves_the_rows() {
        let ground = MultiPolygon(vec![polygon![
            (x: 0.0, y: 0.0), (x: 2.0, y: 0.0), (x: 2.0, y: 2.0), (x: 1.0, y: 2.0),
            (x: 1.0, y: 0.95), (x: 0.0, y: 0.95)
        ]]);
        // 10 x 10 places at 0.2 m; those with x < 1 and y > 0.95 go: 5 columns of y 1.1 to 1.9.
        let lattice = Lattice::lay(&ground, &[], AXES, square(0.2, 0.2, None));
        assert_eq!((lattice.rows.len(), lattice.holes()), (10, 75));
    }

    #[test]
    fn a_length_below_one_spacing_has_no_hole() {
        assert_eq!(count(0.99, 1.0, 0.5), 0);
        assert_eq!(count(1.0, 1.0, 0.5), 1);
        assert_eq!(count(0.3, 0.1, 0.0), 4);
    }

    #[test]
    fn coincident_pairs_are_those_of_trying_all() {
        let ground = rectangle((0.0, 2.3), (0.0, 3.1));
        let spacing = square(0.06, 0.11, None);
        let one = Lattice::lay(&ground, &[], AXES, spacing);
        let other = Lattice::lay(&ground, &[], AXES.across(), spacing);
        for within_m in [0.01, 0.02, 0.05, 0.2] {
            let holes = |lattice: &Lattice| -> Vec<Xy> {
                lattice
                    .rows
                    .iter()
                    .flat_map(|row| row.holes.clone())
                    .collect()
            };
            let (a, b) = (holes(&one), holes(&other));
            let pairs = a.iter().flat_map(|p| b.iter().map(move |q| *p - *q));
            let near = pairs.filter(|d| d.x.hypot(d.y) < within_m).count();
            assert_eq!(one.coincident(&other, within_m), near);
            let guess = coincident_share_guess(one.low, one.high, spacing, within_m);
            assert!((guess - near as f64 / b.len() as f64).abs() < 1e-12);
        }
    }
}
