//! Exact areas of several regions laid over each other, in any directions.
//!
//! The plane is cut into bands at every corner and every crossing. In a band no two edges
//! cross, so each cell is a trapezium and its area is its width at the middle of the band
//! times the band's height. Only the order of the edges at that middle matters: no topology is
//! built, and a crossing computed a hair off costs no more than the hair.

use geo::LineString;

use crate::space::{Xy, abscissa_at};

/// A region of the overlay: closed rings, a place being inside where their winding is not 0.
#[derive(Debug, Clone, Default)]
pub struct Layer {
    edges: Vec<(Xy, Xy)>,
}

impl Layer {
    /// A layer of rings (exteriors and holes wound opposite ways).
    #[must_use]
    pub fn of<'a>(rings: impl IntoIterator<Item = &'a LineString<f64>>) -> Self {
        let edges = rings.into_iter().flat_map(LineString::lines);
        Self {
            edges: edges
                .filter(|line| line.start.y != line.end.y)
                .map(|line| (line.start, line.end))
                .collect(),
        }
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
pub fn overlay(layers: &[Layer], mut cell: impl FnMut(&[bool], f64)) {
    let mut edges: Vec<Upward> = Vec::new();
    for (layer, rings) in layers.iter().enumerate() {
        edges.extend(rings.edges.iter().map(|&(from, to)| {
            let is_up = to.y > from.y;
            let (low, high) = if is_up { (from, to) } else { (to, from) };
            Upward {
                low,
                high,
                layer,
                winding: if is_up { 1 } else { -1 },
            }
        }));
    }
    edges.sort_by(|a, b| {
        a.low
            .y
            .total_cmp(&b.low.y)
            .then(a.low.x.total_cmp(&b.low.x))
    });
    let levels = levels(&edges);
    let mut next = 0;
    let mut active: Vec<usize> = Vec::new();
    let mut winding = vec![0_i32; layers.len()];
    let mut inside = vec![false; layers.len()];
    let mut order: Vec<(f64, usize)> = Vec::new();
    for pair in levels.windows(2) {
        let (lo, hi) = (pair[0], pair[1]);
        let mid = f64::midpoint(lo, hi);
        while next < edges.len() && edges[next].low.y <= lo {
            active.push(next);
            next += 1;
        }
        active.retain(|&edge| edges[edge].high.y > lo);
        order.clear();
        order.extend(active.iter().map(|&edge| (edges[edge].x_at(mid), edge)));
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        winding.fill(0);
        for crossing in order.windows(2) {
            let edge = &edges[crossing[0].1];
            winding[edge.layer] += edge.winding;
            let width = crossing[1].0 - crossing[0].0;
            if width > 0.0 && winding.iter().any(|turns| *turns != 0) {
                for (inside, turns) in inside.iter_mut().zip(&winding) {
                    *inside = *turns != 0;
                }
                cell(&inside, width * (hi - lo));
            }
        }
    }
}

/// Every ordinate at which an edge begins, ends or crosses another.
fn levels(edges: &[Upward]) -> Vec<f64> {
    let mut levels: Vec<f64> = edges.iter().flat_map(|e| [e.low.y, e.high.y]).collect();
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
        let layers = [square, diamond, far].map(|p| Layer::of([p.exterior()]));
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
