//! Polygons that rounding spoiled, made whole again on the lattice.
//!
//! 1. [`is_clear`] tells whether anything is to be done at all.
//! 2. [`unite`] splits all edges where they meet, in whole numbers, and keeps those with
//!    ground on one side only. Their ends are lattice corners again.
//! 3. [`assemble`] walks along each connected piece of ground with the ground on the
//!    left, and takes a loop off the walk wherever it comes through the same corner
//!    twice. So no ring touches itself, and what hangs together by a corner only is two
//!    polygons.
//!
//! The union's own way of making valid rings is not used: it stops on rings that touch
//! in several corners.

use std::collections::BTreeMap;

use geo::{MultiPolygon, Validation};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use super::lattice::{Bounds, Node, Patch, cross, tidy, twice_area};

/// A corner nearer than this to another edge, in steps, calls for mending: the decimal
/// numbers that are written are only that near to the lattice.
const CLEAR_STEPS: f64 = 1e-3;
/// The union's numbers are 32 bits wide; a shape is kept to half of that.
const UNION_REACH: i64 = 1 << 29;
/// The coarsest lattice tried, in steps (about half a metre; nothing gets there).
const COARSEST: i64 = 1 << 12;

/// One edge of a ring, with its place among its neighbours.
struct Edge {
    ends: [Node; 2],
    ring: usize,
    index: usize,
    ring_len: usize,
}

impl Edge {
    fn lon_range(&self) -> (i64, i64) {
        let [a, b] = self.ends;
        (a.lon.min(b.lon), a.lon.max(b.lon))
    }

    fn lat_range(&self) -> (i64, i64) {
        let [a, b] = self.ends;
        (a.lat.min(b.lat), a.lat.max(b.lat))
    }

    /// Whether `other` starts where this edge ends.
    fn is_followed_by(&self, other: &Self) -> bool {
        self.ring == other.ring && (self.index + 1) % self.ring_len == other.index
    }

    /// The side of this edge that a place lies on: -1, 0 (nearly on its line) or 1.
    #[allow(clippy::cast_precision_loss)]
    fn side(&self, place: Node) -> i8 {
        let [a, b] = self.ends;
        let length = ((b.lon - a.lon) as f64).hypot((b.lat - a.lat) as f64);
        let twice = cross(a, b, place) as f64;
        if twice.abs() <= CLEAR_STEPS * length {
            0
        } else if twice > 0.0 {
            1
        } else {
            -1
        }
    }

    fn meets(&self, other: &Self) -> bool {
        let parted = |one: &Self, two: &Self| {
            let sides = two.ends.map(|end| one.side(end));
            sides == [1, 1] || sides == [-1, -1]
        };
        !parted(self, other) && !parted(other, self)
    }

    /// Whether the next edge runs back along this one.
    fn folds_onto(&self, next: &Self) -> bool {
        let [a, b] = self.ends;
        let c = next.ends[1];
        let dot = i128::from(a.lon - b.lon) * i128::from(c.lon - b.lon)
            + i128::from(a.lat - b.lat) * i128::from(c.lat - b.lat);
        dot > 0 && (self.side(c) == 0 || next.side(a) == 0)
    }
}

/// Whether no corner touches or comes within a hair of another edge, anywhere in the
/// shape. Stricter than validity: rings that touch in a point are not clear.
pub(super) fn is_clear(patches: &[Patch]) -> bool {
    let rings = patches.iter().flat_map(|patch| &patch.rings);
    let mut edges: Vec<Edge> = rings
        .enumerate()
        .flat_map(|(number, ring)| {
            (0..ring.len()).map(move |index| Edge {
                ends: [ring[index], ring[(index + 1) % ring.len()]],
                ring: number,
                index,
                ring_len: ring.len(),
            })
        })
        .collect();
    edges.sort_by_key(|edge| (edge.lon_range().0, edge.ring, edge.index));
    for (position, edge) in edges.iter().enumerate() {
        let (_, east) = edge.lon_range();
        let (south, north) = edge.lat_range();
        for other in &edges[position + 1..] {
            if other.lon_range().0 > east {
                break;
            }
            let (other_south, other_north) = other.lat_range();
            if other_south > north || other_north < south {
                continue;
            }
            let is_bad = if edge.is_followed_by(other) {
                edge.folds_onto(other)
            } else if other.is_followed_by(edge) {
                other.folds_onto(edge)
            } else {
                edge.meets(other)
            };
            if is_bad {
                return false;
            }
        }
    }
    true
}

/// The same ground as valid polygons. Should they not be valid as the decimal numbers a
/// reader sees, it is done once more on a lattice twice as coarse, and so on.
pub(super) fn mend(patches: &[Patch], bounds: Bounds) -> Vec<Patch> {
    let mut step = least_step(bounds);
    loop {
        let mended = unite(patches, None, bounds.middle(), step);
        let in_degrees = MultiPolygon::new(mended.iter().map(Patch::as_degrees).collect());
        if step >= COARSEST || in_degrees.is_valid() {
            return mended;
        }
        step *= 2;
    }
}

/// The ground of the patches within `frame`, whose western or eastern edge is `edge_lon`.
pub(super) fn cut_out(patches: &[Patch], frame: Bounds, edge_lon: i64, step: i64) -> Vec<Patch> {
    // Counted from the cut, so that it stays a whole number on any lattice.
    let base = Node {
        lon: edge_lon,
        lat: frame.middle().lat,
    };
    unite(patches, Some(frame), base, step)
}

/// The least power of two that the union's numbers can count a shape in.
pub(super) fn least_step(bounds: Bounds) -> i64 {
    let reach = (bounds.high.lon - bounds.low.lon).max(bounds.high.lat - bounds.low.lat);
    let mut step = 1;
    while reach / step >= UNION_REACH && step < COARSEST {
        step *= 2;
    }
    step
}

/// Unites the patches, within `frame` where one is given, on the lattice of every
/// `step`th node counted from `base`. Ground counts as inside where rings wind round it
/// once more anticlockwise than clockwise, so that a lobe folded over by rounding drops
/// out and two patches that came to overlap become one.
fn unite(patches: &[Patch], frame: Option<Bounds>, base: Node, step: i64) -> Vec<Patch> {
    let to_local = |node: Node| {
        let local = |value: i64, base: i64| {
            let offset = value - base;
            let nearest = offset.div_euclid(step) + i64::from(2 * offset.rem_euclid(step) >= step);
            i32::try_from(nearest.clamp(-2 * UNION_REACH, 2 * UNION_REACH)).unwrap_or_default()
        };
        IntPoint::new(local(node.lon, base.lon), local(node.lat, base.lat))
    };
    let from_local = |point: IntPoint| Node {
        lon: i64::from(point.x) * step + base.lon,
        lat: i64::from(point.y) * step + base.lat,
    };
    let rings = || patches.iter().flat_map(|patch| &patch.rings);
    let options = IntOverlayOptions::keep_all_points();
    let mut overlay =
        Overlay::new_custom(rings().flatten().count() + 4, options, Default::default());
    for ring in rings() {
        overlay.add_path_iter(ring.iter().map(|&node| to_local(node)), ShapeType::Subject);
    }
    let rule = match frame {
        None => OverlayRule::Subject,
        Some(Bounds { low, high }) => {
            let corners = [
                low,
                Node {
                    lon: high.lon,
                    ..low
                },
                high,
                Node {
                    lon: low.lon,
                    ..high
                },
            ];
            overlay.add_path_iter(corners.into_iter().map(to_local), ShapeType::Clip);
            OverlayRule::Intersect
        }
    };
    let outlines = overlay
        .overlay(rule, FillRule::Positive)
        .into_iter()
        .flatten()
        .map(|ring| ring.into_iter().map(from_local).collect());
    assemble(outlines.collect())
}

/// Edges by the corner they start at, each list in order of the corner they end at.
type Edges = BTreeMap<Node, Vec<Node>>;

/// Valid polygons from outlines that have ground on their left, meet only in corners and
/// may run through a corner several times.
fn assemble(outlines: Vec<Vec<Node>>) -> Vec<Patch> {
    let mut edges = Edges::new();
    for ring in &outlines {
        for (&from, &to) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            // An edge that runs back along another has no ground between: both go.
            if let Some(back) = edges.get_mut(&to)
                && let Some(at) = back.iter().position(|&end| end == from)
            {
                back.remove(at);
            } else {
                edges.entry(from).or_default().push(to);
            }
        }
    }
    let mut exteriors = Vec::new();
    let mut holes = Vec::new();
    while let Some(ring) = next_walk(&mut edges) {
        for ring in loops(ring) {
            if twice_area(&ring) > 0 {
                exteriors.push(Patch { rings: vec![ring] });
            } else {
                holes.push(ring);
            }
        }
    }
    exteriors.sort_by_key(|patch| twice_area(&patch.rings[0]));
    for hole in holes {
        let area = -twice_area(&hole);
        // The smallest that holds it. Islands in the hole are smaller than it is.
        let owner = exteriors.iter_mut().find(|patch| {
            let exterior = &patch.rings[0];
            twice_area(exterior) > area && hole.iter().all(|&node| holds(exterior, node))
        });
        if let Some(patch) = owner {
            patch.rings.push(hole);
        }
    }
    exteriors.sort_by(|a, b| a.rings[0].cmp(&b.rings[0]));
    exteriors.into_iter().filter_map(tidy).collect()
}

/// Takes one closed walk off the edges, with the ground on its left all along.
fn next_walk(edges: &mut Edges) -> Option<Vec<Node>> {
    while edges
        .first_entry()
        .is_some_and(|entry| entry.get().is_empty())
    {
        edges.pop_first();
    }
    let start = *edges.keys().next()?;
    let mut walk = vec![start];
    let mut here = start;
    let mut next = edges.get_mut(&start)?.pop()?;
    loop {
        if next == start {
            // The walk ends where going on would be its own first edge again.
            let onward = edges.get(&next).is_some_and(|ends| {
                let first = walk.get(1).copied().unwrap_or(next);
                ends.iter()
                    .any(|&end| turns_more_left(here, next, end, first))
            });
            if !onward {
                return Some(walk);
            }
        }
        walk.push(next);
        let ends = edges.get_mut(&next)?;
        let mut best = 0;
        for candidate in 1..ends.len() {
            if turns_more_left(here, next, ends[candidate], ends[best]) {
                best = candidate;
            }
        }
        if ends.is_empty() {
            return Some(walk);
        }
        let end = ends.remove(best);
        here = next;
        next = end;
    }
}

/// Whether, coming from `here` to `corner`, going on to `a` turns more to the left than
/// going on to `b`.
fn turns_more_left(here: Node, corner: Node, a: Node, b: Node) -> bool {
    // Turned clockwise from the way back, the sharpest left turn comes first.
    let turn = |to: Node| {
        let side = cross(corner, here, to);
        let is_second_half = side > 0;
        (is_second_half, side)
    };
    let (a_turn, b_turn) = (turn(a), turn(b));
    if a_turn.0 != b_turn.0 {
        return !a_turn.0;
    }
    // Within one half, the one on the left of the other comes first clockwise.
    cross(corner, b, a) > 0
}

/// Splits a walk at corners it passes more than once, into rings that do not.
fn loops(walk: Vec<Node>) -> Vec<Vec<Node>> {
    let mut rings = Vec::new();
    let mut open: Vec<Node> = Vec::new();
    let mut places = BTreeMap::new();
    for node in walk {
        if let Some(&at) = places.get(&node) {
            let ring = open.split_off(at);
            for passed in &ring {
                places.remove(passed);
            }
            rings.push(ring);
        }
        places.insert(node, open.len());
        open.push(node);
    }
    rings.push(open);
    rings.retain(|ring| ring.len() > 2);
    rings
}

/// Whether a place lies inside a ring or on it.
fn holds(ring: &[Node], place: Node) -> bool {
    let mut is_inside = false;
    for (&a, &b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
        let side = cross(a, b, place);
        let is_level =
            |low: i64, high: i64, value: i64| low.min(high) <= value && value <= low.max(high);
        if side == 0 && is_level(a.lon, b.lon, place.lon) && is_level(a.lat, b.lat, place.lat) {
            return true;
        }
        if (a.lat > place.lat) != (b.lat > place.lat) && (side > 0) == (b.lat > a.lat) {
            is_inside = !is_inside;
        }
    }
    is_inside
}
