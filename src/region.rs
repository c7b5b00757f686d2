//! Making regions of the pitch by union, intersection and difference, with corners that
//! stay put.
//!
//! `geo`'s booleans work on an integer grid: on a pitch it has a mesh of about 1e-7 m,
//! and each corner of a result may lie half a mesh off. That is mended here, so that later
//! rooms may take a region as the truth, and a ground laid down at another bearing has the
//! same areas:
//!
//! 1. a corner that was a corner of an operand is put back exactly where it was, and one
//!    where two edges of operands cross is computed anew from those edges;
//! 2. splinters thinner than `SPLINTER_M`, which snapping leaves along slanted edges,
//!    are dropped, and holes as thin are closed;
//! 3. neighbours that share an edge can be given the same corners along it
//!    ([`share_corners`]), so that no crack is left when they are united again;
//! 4. operands stay local: nobody passes a half-plane or a globe.
//!
//! A region is right within 1e-7 m times the length of its boundary, and mostly far nearer.

use geo::algorithm::bool_ops::{BooleanOps, unary_union};
use geo::orient::Direction;
use geo::{Area, BoundingRect, Line, LineString, MultiPolygon, Orient, Polygon};

use crate::space::Xy;

/// How far a corner of a result may lie from the operand's corner that it is, metres:
/// several meshes of the grid for operands up to a kilometre across.
const PUT_BACK_M: f64 = 2e-6;

/// Corners sharper than this are cut off when a boundary is moved, as 1 + cosine of the turn (2
/// degrees: no pitch has one).
const SHARPEST_MITRE: f64 = 6e-4;

/// Edges with a smaller sine of the angle between them have no crossing to be computed.
const LEAST_SINE: f64 = 1e-5;

/// Polygons and holes with a mean thickness below this are snapping's work, metres.
const SPLINTER_M: f64 = 1e-6;

/// The union of regions, exteriors anticlockwise.
#[must_use]
pub fn union<'a>(regions: impl IntoIterator<Item = &'a MultiPolygon<f64>>) -> MultiPolygon<f64> {
    let operands: Vec<Polygon<f64>> = regions
        .into_iter()
        .flat_map(|region| &region.0)
        .filter(|polygon| !polygon.exterior().0.is_empty())
        .map(|polygon| polygon.orient(Direction::Default))
        .collect();
    match operands.len() {
        0 => MultiPolygon(Vec::new()),
        1 => MultiPolygon(operands),
        _ => mend(unary_union(&operands), operands.iter()),
    }
}

/// What two regions have in common, exteriors anticlockwise.
#[must_use]
pub fn intersection(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    if apart(a, b) {
        return MultiPolygon(Vec::new());
    }
    mend(a.intersection(b), a.0.iter().chain(&b.0))
}

/// What of `a` lies outside `b`, exteriors anticlockwise.
#[must_use]
pub fn difference(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    if apart(a, b) {
        return a.orient(Direction::Default);
    }
    mend(a.difference(b), a.0.iter().chain(&b.0))
}

/// A region moved in at its boundary by `by_m` metres, mitred where it turns in: the region
/// less a band along each edge.
///
/// The library's own offset is good to some micrometres only, and worse beside edges of a
/// millimetre; bands have exact corners, and their booleans are mended like any other.
#[must_use]
pub fn inset(region: &MultiPolygon<f64>, by_m: f64) -> MultiPolygon<f64> {
    if by_m <= 0.0 {
        return region.clone();
    }
    difference(region, &union(&bands(region, by_m)))
}

/// A region moved out at its boundary by `by_m` metres, mitred where it turns out: the region and
/// a band along each edge.
#[must_use]
pub fn outset(region: &MultiPolygon<f64>, by_m: f64) -> MultiPolygon<f64> {
    if by_m <= 0.0 {
        return region.clone();
    }
    let mut all = bands(region, -by_m);
    all.push(region.clone());
    union(&all)
}

/// A band along each edge of a region, `by_m` metres inwards (outwards, if negative), and the
/// mitres where two bands leave a gap; corners sharper than any on a pitch are cut off.
fn bands(region: &MultiPolygon<f64>, by_m: f64) -> Vec<MultiPolygon<f64>> {
    let region = region.orient(Direction::Default);
    let mut bands: Vec<MultiPolygon<f64>> = Vec::new();
    let mut add = |corners: Vec<Xy>| {
        bands.push(MultiPolygon(vec![Polygon::new(
            LineString(corners),
            Vec::new(),
        )]));
    };
    for ring in rings(&region) {
        let edges: Vec<Line<f64>> = ring.lines().filter(|edge| edge.start != edge.end).collect();
        let inwards = |edge: &Line<f64>| {
            let length = edge.dx().hypot(edge.dy());
            Xy {
                x: -edge.dy() / length,
                y: edge.dx() / length,
            }
        };
        for (index, edge) in edges.iter().enumerate() {
            let inward = inwards(edge);
            let aside = inward * by_m;
            add(vec![
                edge.start,
                edge.end,
                edge.end + aside,
                edge.start + aside,
            ]);
            let before = inwards(&edges[(index + edges.len() - 1) % edges.len()]);
            let turn = before.x * inward.y - before.y * inward.x;
            let towards = 1.0 + before.x * inward.x + before.y * inward.y;
            if turn * by_m < 0.0 && towards > SHARPEST_MITRE {
                let at = edge.start;
                let tip = at + (before + inward) * (by_m / towards);
                add(vec![at, at + aside, tip, at + before * by_m]);
            }
        }
    }
    bands
}

/// Where the lines of two edges cross, and the sine of the angle between them; `None` where
/// they are as good as parallel.
fn crossing_of(a: &Line<f64>, b: &Line<f64>) -> Option<(Xy, f64)> {
    let turn = a.dx() * b.dy() - a.dy() * b.dx();
    let sine = (turn / (a.dx().hypot(a.dy()) * b.dx().hypot(b.dy()))).abs();
    // An edge of no length gives no number.
    if sine.is_nan() || sine <= LEAST_SINE {
        return None;
    }
    let between = b.start - a.start;
    let along = (between.x * b.dy() - between.y * b.dx()) / turn;
    Some((a.start + a.delta() * along, sine))
}

/// Whether a ring encloses ground of more than a splinter's thickness.
fn is_no_splinter(ring: &LineString<f64>) -> bool {
    let length_m: f64 = ring.lines().map(|line| line.dx().hypot(line.dy())).sum();
    let area = Polygon::new(ring.clone(), Vec::new()).unsigned_area();
    ring.0.len() >= 4 && 2.0 * area > SPLINTER_M * length_m
}

/// The area of a region, square metres.
///
/// Each ring is measured from its own first corner, so that a region far from the origin
/// loses no digits.
#[must_use]
pub fn area_m2(region: &MultiPolygon<f64>) -> f64 {
    region.0.iter().map(|polygon| polygon.unsigned_area()).sum()
}

/// All rings of a region.
pub fn rings(region: &MultiPolygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    region
        .0
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
}

/// Whether the bounding boxes of two regions do not even touch.
fn apart(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> bool {
    match (a.bounding_rect(), b.bounding_rect()) {
        (Some(a), Some(b)) => {
            a.max().x < b.min().x
                || b.max().x < a.min().x
                || a.max().y < b.min().y
                || b.max().y < a.min().y
        }
        _ => true,
    }
}

/// Mends a boolean's result: corners exact, no splinters, exteriors anticlockwise.
fn mend<'a>(
    region: MultiPolygon<f64>,
    operands: impl Iterator<Item = &'a Polygon<f64>> + Clone,
) -> MultiPolygon<f64> {
    let edges = operands.clone().flat_map(all_rings);
    let edges: Vec<Line<f64>> = edges.flat_map(LineString::lines).collect();
    let corners = Corners::of(operands);
    let polygons = region.0.into_iter().filter_map(|polygon| {
        let (exterior, interiors) = polygon.into_inner();
        let exterior = wound(exact_ring(exterior, &corners, &edges)?, true);
        let interiors = interiors
            .into_iter()
            .filter_map(|ring| Some(wound(exact_ring(ring, &corners, &edges)?, false)))
            .collect();
        Some(Polygon::new(exterior, interiors))
    });
    MultiPolygon(polygons.collect())
}

/// The ring wound anticlockwise, or clockwise. By its area: corners put back can leave a ring
/// that runs to and fro at its outermost corner, and there the library sees no winding.
fn wound(mut ring: LineString<f64>, anticlockwise: bool) -> LineString<f64> {
    let area = Polygon::new(ring.clone(), Vec::new()).signed_area();
    if (area > 0.0) != anticlockwise {
        ring.0.reverse();
    }
    ring
}

fn all_rings(polygon: &Polygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    std::iter::once(polygon.exterior()).chain(polygon.interiors())
}

/// The ring with its corners exact; `None` for a splinter.
fn exact_ring(
    ring: LineString<f64>,
    corners: &Corners,
    edges: &[Line<f64>],
) -> Option<LineString<f64>> {
    let exact = |at: Xy| {
        let corner = corners.nearest(at);
        corner.or_else(|| crossing_at(at, edges)).unwrap_or(at)
    };
    let mut coords: Vec<Xy> = ring.0.into_iter().map(exact).collect();
    coords.dedup();
    let ring = LineString(coords);
    is_no_splinter(&ring).then_some(ring)
}

/// The crossing of two edges that a snapped corner stands for: of the edges that pass by
/// it, the pair that crosses nearest.
fn crossing_at(at: Xy, edges: &[Line<f64>]) -> Option<Xy> {
    let passing: Vec<&Line<f64>> = edges.iter().filter(|edge| passes_by(edge, at)).collect();
    let pairs = passing.iter().enumerate();
    let pairs = pairs.flat_map(|(i, a)| passing[..i].iter().map(move |b| (*a, *b)));
    let crossings = pairs.filter_map(|(a, b)| {
        let (crossing, sine) = crossing_of(a, b)?;
        let off_m = (crossing.x - at.x).hypot(crossing.y - at.y);
        // Snapping slides a corner along two edges by as much more as they are nearly parallel.
        (off_m < PUT_BACK_M * (1.0 + 0.25 / sine)).then_some((off_m, crossing))
    });
    crossings
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, crossing)| crossing)
}

/// Whether an edge passes within `PUT_BACK_M` of a place.
fn passes_by(edge: &Line<f64>, at: Xy) -> bool {
    let beyond =
        |value: f64, a: f64, b: f64| value < a.min(b) - PUT_BACK_M || value > a.max(b) + PUT_BACK_M;
    if beyond(at.x, edge.start.x, edge.end.x) || beyond(at.y, edge.start.y, edge.end.y) {
        return false;
    }
    let length = edge.dx().hypot(edge.dy());
    let to = at - edge.start;
    let along = (to.x * edge.dx() + to.y * edge.dy()) / length;
    let aside = (to.x * edge.dy() - to.y * edge.dx()) / length;
    aside.abs() < PUT_BACK_M && along > -PUT_BACK_M && along < length + PUT_BACK_M
}

/// Corners of operands, sorted by x, to be found again.
struct Corners(Vec<Xy>);

impl Corners {
    fn of<'a>(polygons: impl Iterator<Item = &'a Polygon<f64>>) -> Self {
        let rings = polygons.flat_map(all_rings);
        let mut corners: Vec<Xy> = rings.flat_map(|ring| ring.0.iter().copied()).collect();
        corners.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        Self(corners)
    }

    /// The corner nearest to a place, if one is near enough to be it.
    fn nearest(&self, at: Xy) -> Option<Xy> {
        let first = self
            .0
            .partition_point(|corner| corner.x < at.x - PUT_BACK_M);
        let mut best: Option<(f64, Xy)> = None;
        for corner in self.0[first..]
            .iter()
            .take_while(|c| c.x <= at.x + PUT_BACK_M)
        {
            let off_m = (corner.x - at.x).hypot(corner.y - at.y);
            if off_m < best.map_or(PUT_BACK_M, |(least, _)| least) {
                best = Some((off_m, *corner));
            }
        }
        best.map(|(_, corner)| corner)
    }
}

/// Gives neighbours the same corners along a common edge: wherever a corner of one region
/// lies on an edge of another (within the grid's mesh), the edge is broken there.
///
/// Areas change by less than the mesh times the edge; cracks between the regions vanish.
pub fn share_corners(regions: &mut [&mut MultiPolygon<f64>]) {
    let corners = Corners::of(regions.iter().flat_map(|region| &region.0));
    for region in regions {
        for polygon in &mut region.0 {
            let break_edges = |ring: &mut LineString<f64>| {
                *ring = LineString(with_corners_on_edges(ring, &corners));
            };
            polygon.exterior_mut(break_edges);
            polygon.interiors_mut(|rings| {
                for ring in rings {
                    *ring = LineString(with_corners_on_edges(ring, &corners));
                }
            });
        }
    }
}

/// The ring's corners, with those of `corners` that lie on its edges between them.
fn with_corners_on_edges(ring: &LineString<f64>, corners: &Corners) -> Vec<Xy> {
    let mut out = Vec::with_capacity(ring.0.len());
    for line in ring.lines() {
        out.push(line.start);
        let (dx, dy) = (line.dx(), line.dy());
        let length = dx.hypot(dy);
        let least_x = line.start.x.min(line.end.x) - SPLINTER_M;
        let greatest_x = line.start.x.max(line.end.x) + SPLINTER_M;
        let first = corners.0.partition_point(|corner| corner.x < least_x);
        let mut between: Vec<(f64, Xy)> = Vec::new();
        for corner in corners.0[first..]
            .iter()
            .take_while(|corner| corner.x <= greatest_x)
        {
            let (px, py) = (corner.x - line.start.x, corner.y - line.start.y);
            let along = (px * dx + py * dy) / length;
            let aside = (px * dy - py * dx).abs() / length;
            if aside < SPLINTER_M && along > PUT_BACK_M && along < length - PUT_BACK_M {
                between.push((along, *corner));
            }
        }
        between.sort_by(|a, b| a.0.total_cmp(&b.0));
        out.extend(between.into_iter().map(|(_, corner)| corner));
        out.dedup();
    }
    out.extend(ring.0.last().copied());
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::algorithm::buffer::{Buffer, BufferStyle, LineJoin};
    use geo::wkt;
    use proptest::prelude::*;

    #[test]
    fn corners_of_operands_come_back_exactly() {
        let a = MultiPolygon(vec![
            wkt!(POLYGON((0.123456789012 0.0,61.3 0.1,60.9 33.7,0.3 34.000000000123,0.123456789012 0.0))),
        ]);
        let b = MultiPolygon(vec![
            wkt!(POLYGON((10.1 10.1,20.7 10.3,20.9 20.2,10.1 10.1))),
        ]);
        let left = difference(&a, &b);
        let wanted: Vec<Xy> = rings(&a)
            .chain(rings(&b))
            .flat_map(|ring| ring.0.clone())
            .collect();
        for corner in rings(&left).flat_map(|ring| ring.0.clone()) {
            assert!(wanted.contains(&corner), "{corner:?}");
        }
        assert!((area_m2(&left) - (area_m2(&a) - area_m2(&b))).abs() < 1e-9);
    }

    #[test]
    fn a_ring_that_runs_to_and_fro_at_its_outermost_corner_is_wound_by_its_area() {
        let spiked = wkt!(LINESTRING(0.0 0.0,4.0 0.0,4.0 3.0,-1.0 3.0,0.0 3.0,0.0 0.0));
        let mut back = spiked.clone();
        back.0.reverse();
        for ring in [spiked, back] {
            for (anticlockwise, area_m2) in [(true, 12.0), (false, -12.0)] {
                let ring = wound(ring.clone(), anticlockwise);
                assert_eq!(Polygon::new(ring, Vec::new()).signed_area(), area_m2);
            }
        }
    }

    #[test]
    fn neighbours_with_a_corner_on_a_slanted_edge_unite_without_a_crack() {
        let whole = MultiPolygon(vec![
            wkt!(POLYGON((0.0 0.0,50.0 1.7,50.0 30.0,0.0 30.0,0.0 0.0))),
        ]);
        let slanted = MultiPolygon(vec![
            wkt!(POLYGON((0.0 7.3,50.0 11.1,50.0 40.0,0.0 40.0,0.0 7.3))),
        ]);
        let mut upper = intersection(&whole, &slanted);
        let lower = difference(&whole, &slanted);
        let west = MultiPolygon(vec![
            wkt!(POLYGON((-1.0 -1.0,17.7 -1.0,17.7 40.0,-1.0 40.0,-1.0 -1.0))),
        ]);
        let (mut left, mut right) = (intersection(&lower, &west), difference(&lower, &west));
        share_corners(&mut [&mut upper, &mut left, &mut right]);
        let united = union([&upper, &left, &right]);
        assert_eq!(united.0.len(), 1);
        assert!(united.0[0].interiors().is_empty());
        assert!((area_m2(&united) - area_m2(&whole)).abs() < 1e-7 * 160.0);
    }

    /// An L of 10 by 10 with arms 4 wide, moved by 1: in, both arms lose 2 of their width; out, they
    /// gain as much.
    #[test]
    fn an_l_is_moved_in_and_out_by_hand() {
        let l = MultiPolygon(vec![
            wkt!(POLYGON((0.0 0.0,10.0 0.0,10.0 4.0,4.0 4.0,4.0 10.0,0.0 10.0,0.0 0.0))),
        ]);
        let wanted_in: MultiPolygon<f64> = MultiPolygon(vec![
            wkt!(POLYGON((1.0 1.0,9.0 1.0,9.0 3.0,3.0 3.0,3.0 9.0,1.0 9.0,1.0 1.0))),
        ]);
        let wanted_out = MultiPolygon(vec![
            wkt!(POLYGON((-1.0 -1.0,11.0 -1.0,11.0 5.0,5.0 5.0,5.0 11.0,-1.0 11.0,-1.0 -1.0))),
        ]);
        for (moved, wanted) in [(inset(&l, 1.0), wanted_in), (outset(&l, 1.0), wanted_out)] {
            assert!(area_m2(&difference(&moved, &wanted)) < 1e-9);
            assert!(area_m2(&difference(&wanted, &moved)) < 1e-9);
        }
        for moved in [inset(&l, 0.0), outset(&l, 0.0)] {
            assert_eq!(moved, l);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// A notched ring with a hole, moved in and out, is what a general library makes of it, as
        /// far as that goes (some micrometres).
        #[test]
        fn what_is_moved_is_as_the_library_moves_it(
            radii_m in prop::collection::vec(6.0..20.0_f64, 5..24),
            hole_m in 1.0..4.0_f64,
            by_m in 0.05..3.0_f64,
        ) {
            let count = radii_m.len() as f64;
            let corners = radii_m.iter().enumerate().map(|(index, radius_m)| {
                let (sin, cos) = (std::f64::consts::TAU * index as f64 / count).sin_cos();
                Xy { x: radius_m * cos, y: radius_m * sin }
            });
            let hole = wkt!(LINESTRING(-0.5 -0.3,0.1 0.6,0.7 -0.4,-0.5 -0.3));
            let hole = LineString(hole.0.iter().map(|&at| at * hole_m).collect());
            let region = MultiPolygon(vec![Polygon::new(
                LineString(corners.collect()),
                vec![hole],
            )]);
            for by_m in [by_m, -by_m] {
                let style = BufferStyle::new(by_m).line_join(LineJoin::Miter(0.035));
                let wanted = region.buffer_with_style(style);
                let moved = if by_m > 0.0 { outset(&region, by_m) } else { inset(&region, -by_m) };
                let apart_m2 = area_m2(&difference(&moved, &wanted))
                    + area_m2(&difference(&wanted, &moved));
                prop_assert!(apart_m2 < 2e-3, "{apart_m2}");
            }
        }
    }
}
