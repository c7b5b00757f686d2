//! What strips leave of a target, as exact columns in their direction's frame and as places.
//!
//! The plane is cut into bands at every strip edge, every corner of the target and every
//! crossing of the target's boundary with the end of a strip. Within a band nothing crosses,
//! so that the target and the strips are intervals whose ends run straight, and what is left
//! of the one by the other is a row of trapezia. A trapezium that stands exactly on another is
//! one column with it, so that a column is a polygon with few corners. Its area is exact; only
//! the outlines of places, which are united from columns, lie on the grid of [`crate::region`].

use geo::{LineString, MapCoords, MultiPolygon, Polygon};

use super::bands::{Bands, s_at};
use crate::passes::band::{Boundary, DirectionFrame, Edge};
use crate::region;
use crate::space::Xy;

/// Missed places of less area are counted, not listed, square metres.
pub const LISTED_FROM_M2: f64 = 1e-4;

/// What the strips leave of the target: disjoint columns, as closed rings in the direction's
/// frame, anticlockwise.
#[must_use]
pub fn left_over(target: &Boundary, bands: &Bands) -> Vec<LineString<f64>> {
    let mut columns = Columns::default();
    let levels = levels(target, bands);
    let mut edges: Vec<&Edge> = target.edges.iter().filter(|e| e.from.y != e.to.y).collect();
    let low = |edge: &Edge| edge.from.y.min(edge.to.y);
    edges.sort_by(|a, b| low(a).total_cmp(&low(b)));
    let mut next = 0;
    let mut active: Vec<&Edge> = Vec::new();
    let mut crossing: Vec<(f64, &Edge)> = Vec::new();
    for pair in levels.windows(2) {
        let (lo, hi) = (pair[0], pair[1]);
        let mid = f64::midpoint(lo, hi);
        while next < edges.len() && low(edges[next]) <= lo {
            active.push(edges[next]);
            next += 1;
        }
        active.retain(|edge| edge.from.y.max(edge.to.y) > lo);
        crossing.clear();
        let across = active.iter().filter(|edge| edge.crosses(mid));
        crossing.extend(across.map(|edge| (edge.t_at(mid), *edge)));
        crossing.sort_by(|a, b| a.0.total_cmp(&b.0));
        let filled = bands.union_at(mid);
        for inside in crossing.chunks_exact(2) {
            let (left, right) = (inside[0], inside[1]);
            // Walk along the interval of the target, skipping what strips fill.
            let mut from = Side::Edge(left.1);
            let mut from_t = left.0;
            for span in filled {
                if span.to <= from_t || span.from >= right.0 {
                    continue;
                }
                if span.from > from_t {
                    columns.add((lo, hi), from, Side::End(span.from));
                }
                (from, from_t) = (Side::End(span.to), span.to);
            }
            if from_t < right.0 {
                columns.add((lo, hi), from, Side::Edge(right.1));
            }
        }
        columns.close_below(hi);
    }
    columns.close_below(f64::INFINITY);
    columns.closed
}

/// One side of a trapezium: the end of a strip or an edge of the target.
#[derive(Clone, Copy)]
enum Side<'a> {
    End(f64),
    Edge(&'a Edge),
}

impl Side<'_> {
    fn t_at(self, s: f64) -> f64 {
        match self {
            Self::End(t) => t,
            Self::Edge(edge) => edge.t_at(s),
        }
    }

    /// Whether this goes on in the same straight line.
    fn goes_on(self, above: Self) -> bool {
        match (self, above) {
            (Self::End(t), Self::End(u)) => t == u,
            (Self::Edge(e), Self::Edge(f)) => std::ptr::eq(e, f),
            _ => false,
        }
    }
}

/// Trapezia that stand exactly on each other.
struct Column<'a> {
    /// The side on top, left and right.
    sides: (Side<'a>, Side<'a>),
    /// Where the top lies.
    top: f64,
    left: Vec<Xy>,
    right: Vec<Xy>,
}

/// Columns still growing, and those that are done.
#[derive(Default)]
struct Columns<'a> {
    open: Vec<Column<'a>>,
    closed: Vec<LineString<f64>>,
}

impl<'a> Columns<'a> {
    /// Adds the trapezium between two ordinates and two sides.
    fn add(&mut self, (lo, hi): (f64, f64), left: Side<'a>, right: Side<'a>) {
        let row = |s: f64| {
            let from = left.t_at(s);
            let to = right.t_at(s).max(from);
            (Xy { x: from, y: s }, Xy { x: to, y: s })
        };
        let (bottom, top) = (row(lo), row(hi));
        // Where two ordinates are all but one, an edge may cross a strip's end between them: the
        // right side is then held at the left one, and leaves its straight line.
        let is_held = [lo, hi].iter().any(|&s| right.t_at(s) < left.t_at(s));
        let below = self.open.iter_mut().find(|column| {
            column.top == lo
                && column.left.last() == Some(&bottom.0)
                && column.right.last() == Some(&bottom.1)
        });
        let Some(column) = below else {
            self.open.push(Column {
                sides: (left, right),
                top: hi,
                left: vec![bottom.0, top.0],
                right: vec![bottom.1, top.1],
            });
            return;
        };
        let chains = [
            (&mut column.left, column.sides.0.goes_on(left), top.0),
            (
                &mut column.right,
                column.sides.1.goes_on(right) && !is_held,
                top.1,
            ),
        ];
        for (chain, goes_on, corner) in chains {
            if goes_on {
                chain.pop();
            }
            chain.push(corner);
        }
        column.sides = (left, right);
        column.top = hi;
    }

    /// Closes the columns whose top lies below an ordinate: nothing stands on them any more.
    fn close_below(&mut self, s: f64) {
        let done = self.open.extract_if(.., |column| column.top < s);
        self.closed.extend(done.map(|column| {
            let mut ring = column.right;
            ring.extend(column.left.into_iter().rev());
            ring.dedup();
            let mut ring = LineString(ring);
            ring.close();
            ring
        }));
    }
}

/// Every ordinate at which something begins, ends or crosses.
fn levels(target: &Boundary, bands: &Bands) -> Vec<f64> {
    let mut levels: Vec<f64> = bands.levels().to_vec();
    for edge in &target.edges {
        levels.push(edge.from.y);
        let (least, greatest) = (edge.from.y.min(edge.to.y), edge.from.y.max(edge.to.y));
        for (across, filled) in bands.unions_between(least, greatest) {
            for span in filled {
                let crossed = [span.from, span.to].map(|t| s_at(edge, t));
                let within = crossed.into_iter().flatten();
                levels.extend(within.filter(|s| across.from < *s && *s < across.to));
            }
        }
    }
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels
}

/// The ground that columns make up, pitch metres.
///
/// United in the direction's own frame, where the columns' common sides lie exactly on the
/// grid, and turned to the pitch afterwards.
#[must_use]
pub fn united(columns: &[LineString<f64>], frame: &DirectionFrame) -> MultiPolygon<f64> {
    let parts = columns.iter().filter(|ring| ring.0.len() >= 4);
    let parts: Vec<MultiPolygon<f64>> = parts
        .map(|ring| MultiPolygon(vec![Polygon::new(ring.clone(), Vec::new())]))
        .collect();
    region::union(&parts).map_coords(|at| frame.to_pitch(at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coverage::bands::Strip;
    use crate::passes::band::Span;
    use crate::space::Angle;
    use approx::assert_abs_diff_eq;
    use geo::Area;

    #[test]
    fn where_two_ordinates_are_all_but_one_no_false_ground_is_left() {
        // 10 m by 1 m, and on it 5 m by 1 m to the right; the edge between rises by one bit.
        let bit_above = 1.0 + f64::EPSILON;
        let target = MultiPolygon(vec![Polygon::new(
            LineString::from(vec![
                (0.0, 0.0),
                (10.0, 0.0),
                (10.0, 2.0),
                (5.0, 2.0),
                (5.0, bit_above),
                (0.0, 1.0),
            ]),
            Vec::new(),
        )]);
        // The strip fills all but the first two metres.
        let strips = [Strip {
            across: Span { from: 0.0, to: 2.0 },
            along: Span {
                from: 2.0,
                to: 20.0,
            },
        }];
        let frame = DirectionFrame::of(Angle::from_deg(0.0));
        let target = Boundary::of(&target, &frame);
        let left = left_over(&target, &Bands::of(&strips));
        let area = |ring: &LineString<f64>| Polygon::new(ring.clone(), Vec::new()).signed_area();
        let left_m2: f64 = left.iter().map(area).sum();
        assert_abs_diff_eq!(left_m2, 2.0, epsilon = 1e-9);
    }
}
