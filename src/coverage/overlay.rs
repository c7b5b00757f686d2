//! Exact areas of several regions laid over each other, in any directions.
//!
//! The plane is cut into bands at every corner and every crossing. In a band no two edges
//! cross, so each cell is a trapezium and its area is its width at the middle of the band
//! times the band's height. Only the order of the edges at that middle matters: no topology is
//! built, and a crossing computed a hair off costs no more than the hair.

use geo::{BoundingRect, LineString, Rect};

use crate::space::{Xy, abscissa_at};

/// A region of the overlay: closed rings, a place being inside where their winding is not 0.
#[derive(Debug, Clone, Default)]
pub struct Layer<'a>(Vec<&'a LineString<f64>>);

impl<'a> Layer<'a> {
    /// A layer of rings (exteriors and holes wound opposite ways).
    #[must_use]
    pub fn of(rings: impl IntoIterator<Item = &'a LineString<f64>>) -> Self {
        Self(rings.into_iter().collect())
    }
}

/// An edge from its lower to its upper end.
struct Upward {
    low: Xy,
    high: Xy,
    layer: usize,
    /// +1 where the ring runs upwards, else -1.
    winding: i32,
}

impl Upward {
    /// The edge from one place to another; `None` where it runs level.
    fn of(from: Xy, to: Xy, layer: usize) -> Option<Self> {
        let is_up = to.y > from.y;
        let (low, high) = if is_up { (from, to) } else { (to, from) };
        (from.y != to.y).then_some(Self {
            low,
            high,
            layer,
            winding: if is_up { 1 } else { -1 },
        })
    }

    fn x_at(&self, y: f64) -> f64 {
        abscissa_at(self.low, self.high, y)
    }

    /// The ordinate at which two edges cross, where they do.
    fn crossing(&self, other: &Self) -> Option<f64> {
        let (d, e) = (self.high - self.low, other.high - other.low);
        let between = other.low - self.low;
        let turn = d.x * e.y - d.y * e.x;
        if turn == 0.0 {
            return None;
        }
        let along = (between.x * e.y - between.y * e.x) / turn;
        let beside = (between.x * d.y - between.y * d.x) / turn;
        let is_within = (0.0..=1.0).contains(&along) && (0.0..=1.0).contains(&beside);
        is_within.then_some(self.low.y + along * d.y)
    }
}

/// Calls `cell` for each cell of the overlay with the layers it is in and its area, square
/// metres.
///
/// Rings whose boxes do not meet have nothing to do with each other, so each heap of rings
/// that hang together is cut by itself.
pub fn overlay(layers: &[Layer<'_>], mut cell: impl FnMut(&[bool], f64)) {
    for heap in heaps(layers) {
        cut(&heap, layers.len(), &mut cell);
    }
}

/// A ring with its layer and its box.
type Boxed<'a> = (usize, &'a LineString<f64>, Rect<f64>);

/// The rings of all layers in heaps whose boxes hang together: cut into runs along x and
/// along y in turn, until neither cuts any more.
fn heaps<'a>(layers: &[Layer<'a>]) -> Vec<Vec<Boxed<'a>>> {
    let rings = layers.iter().enumerate();
    let rings = rings.flat_map(|(layer, rings)| rings.0.iter().map(move |&ring| (layer, ring)));
    let boxed = rings.filter_map(|(layer, ring)| Some((layer, ring, ring.bounding_rect()?)));
    let mut heaps = Vec::new();
    // Runs still to be cut, along which axis, and whether the other has cut nothing.
    let mut open = vec![(boxed.collect::<Vec<Boxed<'a>>>(), Axis::X, false)];
    while let Some((run, axis, is_stuck)) = open.pop() {
        let mut parts = runs(run, axis);
        if parts.len() > 1 {
            open.extend(parts.into_iter().map(|part| (part, axis.other(), false)));
        } else if let Some(whole) = parts.pop() {
            if is_stuck || whole.len() == 1 {
                heaps.push(whole);
            } else {
                open.push((whole, axis.other(), true));
            }
        }
    }
    heaps
}

#[derive(Clone, Copy)]
enum Axis {
    X,
    Y,
}

impl Axis {
    const fn other(self) -> Self {
        match self {
            Self::X => Self::Y,
            Self::Y => Self::X,
        }
    }

    /// Where a box begins and ends along the axis.
    fn span(self, of: &Rect<f64>) -> (f64, f64) {
        match self {
            Self::X => (of.min().x, of.max().x),
            Self::Y => (of.min().y, of.max().y),
        }
    }
}

/// Rings in runs that do not meet along an axis.
fn runs(mut rings: Vec<Boxed<'_>>, axis: Axis) -> Vec<Vec<Boxed<'_>>> {
    rings.sort_by(|a, b| axis.span(&a.2).0.total_cmp(&axis.span(&b.2).0));
    let mut runs: Vec<Vec<Boxed<'_>>> = Vec::new();
    let mut reach = f64::NEG_INFINITY;
    for ring in rings {
        let (from, to) = axis.span(&ring.2);
        match runs.last_mut() {
            Some(run) if from <= reach => run.push(ring),
            _ => runs.push(vec![ring]),
        }
        reach = reach.max(to);
    }
    runs
}

/// Cuts one heap of rings into cells, in bands across its longer side.
fn cut(heap: &[Boxed<'_>], layer_count: usize, cell: &mut impl FnMut(&[bool], f64)) {
    let extent = |axis: Axis| {
        let spans = heap.iter().map(|ring| axis.span(&ring.2));
        let (from, to) = spans.fold((f64::INFINITY, f64::NEG_INFINITY), |all, one| {
            (all.0.min(one.0), all.1.max(one.1))
        });
        to - from
    };
    let is_wide = extent(Axis::X) > extent(Axis::Y);
    let turned = |at: Xy| {
        if is_wide {
            Xy { x: -at.y, y: at.x }
        } else {
            at
        }
    };
    let edges = heap.iter().flat_map(|(layer, ring, _)| {
        let lines = ring.lines();
        lines.filter_map(|line| Upward::of(turned(line.start), turned(line.end), *layer))
    });
    let mut edges: Vec<Upward> = edges.collect();
    edges.sort_by(|a, b| {
        a.low
            .y
            .total_cmp(&b.low.y)
            .then(a.low.x.total_cmp(&b.low.x))
    });
    let levels = levels(&edges);
    let mut next = 0;
    let mut winding = vec![0_i32; layer_count];
    let mut inside = vec![false; layer_count];
    // The edges that run through the band, in their order at its middle. From band to band
    // that changes little, so that it is soon sorted.
    let mut order: Vec<(f64, usize)> = Vec::new();
    for pair in levels.windows(2) {
        let (lo, hi) = (pair[0], pair[1]);
        let mid = f64::midpoint(lo, hi);
        order.retain(|(_, edge)| edges[*edge].high.y > lo);
        while next < edges.len() && edges[next].low.y <= lo {
            if edges[next].high.y > lo {
                order.push((0.0, next));
            }
            next += 1;
        }
        for (x, edge) in &mut order {
            *x = edges[*edge].x_at(mid);
        }
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        winding.fill(0);
        inside.fill(false);
        for crossing in order.windows(2) {
            let edge = &edges[crossing[0].1];
            winding[edge.layer] += edge.winding;
            inside[edge.layer] = winding[edge.layer] != 0;
            let width = crossing[1].0 - crossing[0].0;
            if width > 0.0 && inside.contains(&true) {
                cell(&inside, width * (hi - lo));
            }
        }
    }
}

/// Every ordinate at which an edge begins, ends or crosses another.
fn levels(edges: &[Upward]) -> Vec<f64> {
    // The lower ends are in order already, which sorting makes use of.
    let low = edges.iter().map(|edge| edge.low.y);
    let mut levels: Vec<f64> = low.chain(edges.iter().map(|edge| edge.high.y)).collect();
    let mut active: Vec<usize> = Vec::new();
    for (index, edge) in edges.iter().enumerate() {
        active.retain(|&other| edges[other].high.y > edge.low.y);
        let (least, greatest) = (edge.low.x.min(edge.high.x), edge.low.x.max(edge.high.x));
        for &other in &active {
            let other = &edges[other];
            let is_beside =
                other.low.x.max(other.high.x) < least || other.low.x.min(other.high.x) > greatest;
            if !is_beside {
                levels.extend(edge.crossing(other));
            }
        }
        active.push(index);
    }
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::wkt;

    #[test]
    fn two_squares_laid_over_each_other_at_an_angle() {
        let square = wkt!(POLYGON((0.0 0.0,2.0 0.0,2.0 2.0,0.0 2.0,0.0 0.0)));
        // A square of side sqrt(2) standing on its corner at the middle of the first.
        let diamond = wkt!(POLYGON((1.0 0.0,2.0 1.0,1.0 2.0,0.0 1.0,1.0 0.0)));
        let far = wkt!(POLYGON((1.0 1.0,3.0 1.0,3.0 3.0,1.0 3.0,1.0 1.0)));
        let layers = [&square, &diamond, &far].map(|p| Layer::of([p.exterior()]));
        let mut by_count = [0.0; 4];
        overlay(&layers, |inside, area| {
            by_count[inside.iter().filter(|i| **i).count()] += area;
        });
        // Square and diamond share 2, square and far share 1, all three share 1/2.
        approx::assert_abs_diff_eq!(by_count[3], 0.5, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(by_count[2], 1.5 + 0.5, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(by_count[1], 1.5 + 3.0, epsilon = 1e-12);
    }
}
