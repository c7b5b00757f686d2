//! Exact areas of several regions laid over each other, in any directions.
//!
//! The plane is cut into bands at every corner, and a band again where edges do not leave it in
//! the order in which they enter it. In a band no two edges cross, so each cell is a trapezium
//! and its area is its width at the middle of the band times the band's height. Only the order
//! of the edges at that middle matters: no topology is built, corners that coincide but for
//! rounding count as one, and a crossing computed a hair off costs no more than the hair.

use geo::{BoundingRect, LineString, Rect};

use crate::space::{Xy, abscissa_at};

/// A hair, metres: corners whose ordinates are no further apart cut the plane once, and edges
/// that pass each other by less do not cross. Each costs at most a hair times a length in area.
const HAIR_M: f64 = 1e-12;

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

    /// The abscissa at an ordinate, held at the nearer end beyond either.
    fn x_at(&self, y: f64) -> f64 {
        abscissa_at(self.low, self.high, y.clamp(self.low.y, self.high.y))
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
    edges.sort_by(|a, b| a.low.y.total_cmp(&b.low.y));
    let levels = levels(&edges);
    let mut next = 0;
    let mut sweep = Sweep {
        order: Vec::new(),
        winding: vec![0; layer_count],
        inside: vec![false; layer_count],
    };
    let mut bands = Vec::new();
    for pair in levels.windows(2) {
        let mid = f64::midpoint(pair[0], pair[1]);
        sweep.order.retain(|run| run.edge.high.y > mid);
        while let Some(edge) = edges.get(next).filter(|edge| edge.low.y <= mid) {
            if edge.high.y > mid {
                sweep.order.push(Run::of(edge));
            }
            next += 1;
        }
        // A band that is crossed within is cut there; the lower part comes first, so that
        // the order changes little from one to the next.
        bands.push((pair[0], pair[1]));
        while let Some((lo, hi)) = bands.pop() {
            sweep.lie_between(lo, hi);
            match sweep.crossing(lo, hi) {
                Some(y) => bands.extend([(y, hi), (lo, y)]),
                None => sweep.cells(hi - lo, cell),
            }
        }
    }
}

/// An edge within a band: where it meets the band's lower and upper side.
struct Run<'a> {
    edge: &'a Upward,
    lower_x: f64,
    upper_x: f64,
}

impl<'a> Run<'a> {
    const fn of(edge: &'a Upward) -> Self {
        Self {
            edge,
            lower_x: 0.0,
            upper_x: 0.0,
        }
    }

    const fn mid_x(&self) -> f64 {
        f64::midpoint(self.lower_x, self.upper_x)
    }
}

/// The edges that run through a band, in their order at its middle.
struct Sweep<'a> {
    order: Vec<Run<'a>>,
    /// By layer, how often its rings run round the cell at hand.
    winding: Vec<i32>,
    inside: Vec<bool>,
}

impl Sweep<'_> {
    /// Puts the edges in their order between two ordinates.
    fn lie_between(&mut self, lo: f64, hi: f64) {
        for run in &mut self.order {
            run.lower_x = run.edge.x_at(lo);
            run.upper_x = run.edge.x_at(hi);
        }
        self.order.sort_by(|a, b| a.mid_x().total_cmp(&b.mid_x()));
    }

    /// An ordinate within the band at which two neighbours cross, if any do: edges that keep
    /// their order from one side of the band to the other do not cross in it.
    fn crossing(&self, lo: f64, hi: f64) -> Option<f64> {
        if hi - lo <= HAIR_M {
            return None;
        }
        self.order.windows(2).find_map(|pair| {
            let lower_m = pair[0].lower_x - pair[1].lower_x;
            let upper_m = pair[0].upper_x - pair[1].upper_x;
            let is_crossed = lower_m.max(upper_m) > HAIR_M;
            let y = lo + (hi - lo) * (lower_m / (lower_m - upper_m));
            (is_crossed && lo < y && y < hi).then_some(y)
        })
    }

    /// Calls `cell` for each cell of a band that nothing crosses.
    fn cells(&mut self, height_m: f64, cell: &mut impl FnMut(&[bool], f64)) {
        self.winding.fill(0);
        self.inside.fill(false);
        let mut inside_count = 0_usize;
        for pair in self.order.windows(2) {
            let edge = pair[0].edge;
            let winding = &mut self.winding[edge.layer];
            *winding += edge.winding;
            let is_inside = *winding != 0;
            if is_inside != self.inside[edge.layer] {
                self.inside[edge.layer] = is_inside;
                inside_count = if is_inside {
                    inside_count + 1
                } else {
                    inside_count - 1
                };
            }
            let width_m = pair[1].mid_x() - pair[0].mid_x();
            if width_m > 0.0 && inside_count > 0 {
                cell(&self.inside, width_m * height_m);
            }
        }
    }
}

/// Every ordinate at which an edge begins or ends; of several within a hair, the first.
fn levels(edges: &[Upward]) -> Vec<f64> {
    // The lower ends are in order already, which sorting makes use of.
    let low = edges.iter().map(|edge| edge.low.y);
    let mut levels: Vec<f64> = low.chain(edges.iter().map(|edge| edge.high.y)).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup_by(|level, last| *level - *last <= HAIR_M);
    levels
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use geo::{Area, BooleanOps, MapCoords, Polygon, wkt};
    use proptest::prelude::*;

    /// A star-shaped ring: one corner in every eighth of a turn.
    fn star() -> impl Strategy<Value = Polygon<f64>> {
        let corners = prop::collection::vec((1.0..40.0_f64, 0.0..1.0_f64), 8);
        (-30.0..30.0_f64, -30.0..30.0_f64, corners).prop_map(|(x, y, corners)| {
            let corner = |(index, (radius, share)): (usize, &(f64, f64))| {
                let angle = (index as f64 + share) * std::f64::consts::FRAC_PI_4;
                (x + radius * angle.cos(), y + radius * angle.sin())
            };
            let ring = corners.iter().enumerate().map(corner);
            Polygon::new(ring.collect(), Vec::new())
        })
    }

    proptest! {
        #[test]
        fn areas_of_two_rings_are_those_of_a_general_library(a in star(), b in star(), angle in 0.0..7.0_f64) {
            // The second ring is there a second time, but for rounding: turned and turned back.
            let (sin, cos) = f64::sin_cos(angle);
            let again = b.map_coords(|at| {
                let turned = Xy { x: cos * at.x - sin * at.y, y: sin * at.x + cos * at.y };
                Xy { x: cos * turned.x + sin * turned.y, y: cos * turned.y - sin * turned.x }
            });
            let layers = [&a, &b, &again].map(|polygon| Layer::of([polygon.exterior()]));
            let mut by_kind = [0.0; 8];
            overlay(&layers, |inside, area_m2| {
                by_kind[inside.iter().rev().fold(0, |kind, &is_in| 2 * kind + usize::from(is_in))] += area_m2;
            });
            let both_m2 = a.intersection(&b).unsigned_area();
            // The general library rounds to a grid.
            prop_assert!((by_kind[7] - both_m2).abs() < 1e-4, "{} {both_m2}", by_kind[7]);
            prop_assert!((by_kind[1] - (a.unsigned_area() - both_m2)).abs() < 1e-4);
            prop_assert!((by_kind[6] + by_kind[7] - b.unsigned_area()).abs() < 1e-9);
            prop_assert!((by_kind[1] + by_kind[3] + by_kind[5] + by_kind[7] - a.unsigned_area()).abs() < 1e-9);
            for apart in [2, 3, 4, 5] {
                prop_assert!(by_kind[apart] < 1e-9);
            }
        }
    }

    #[test]
    fn a_crossing_too_near_a_band_to_cut_it_hides_no_other() {
        // The sides of two of these cross where they begin, two picometres apart; two others
        // cross in the same band, two thirds of the way up.
        let wedge = wkt!(POLYGON((0.0 60.0,50.0 60.05,0.0 60.05,0.0 60.0)));
        let block = wkt!(POLYGON((0.000000000002 60.0,1.0 60.0,1.0 60.05,0.000000000002 60.05,0.000000000002 60.0)));
        let left = wkt!(POLYGON((30.0 60.0,32.0 60.0,33.0 60.05,31.0 60.05,30.0 60.0)));
        let right = wkt!(POLYGON((31.0 60.0,34.0 60.0,36.0 60.05,33.5 60.05,31.0 60.0)));
        // What holds them in one heap, higher than it is wide.
        let frame = wkt!(POLYGON((-1.0 0.0,51.0 0.0,51.0 70.0,-1.0 70.0,-1.0 0.0)));
        let layers = [&left, &right, &wedge, &block, &frame].map(|p| Layer::of([p.exterior()]));
        let mut both_m2 = 0.0;
        overlay(&layers, |inside, area_m2| {
            if inside[0] && inside[1] {
                both_m2 += area_m2;
            }
        });
        // A triangle, 1 m along its base and 0.05 x 2/3 m high.
        assert_abs_diff_eq!(both_m2, 0.05 / 3.0, epsilon = 1e-9);
    }

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
        assert_abs_diff_eq!(by_count[3], 0.5, epsilon = 1e-12);
        assert_abs_diff_eq!(by_count[2], 1.5 + 0.5, epsilon = 1e-12);
        assert_abs_diff_eq!(by_count[1], 1.5 + 3.0, epsilon = 1e-12);
    }
}
