//! The pitch, whose grass is spared: how many metres of a piece lie on it, and what a way past it
//! costs at least.
//!
//! Where only one side of the pitch comes near a piece, it parts the ground there into pitch and
//! none, and what lies on either is told in closed form. Else the piece is cut where it crosses a
//! side, and each stretch is asked for by its middle.

use geo::{Area as _, MultiPolygon, Polygon};

use super::edges::{Edge, Edges, Extent};
use super::past::Past;
use super::path::{Bend, Piece, Radii};
use super::pose::Stance;
use super::sweep::is_nothing;
use crate::space::Xy;

/// A bound on how often one piece is cut at the pitch's edge, for arcs of a thousand rounds.
const MOST_CUTS: usize = 100_000;

/// With more sides than these none is looked for by itself.
const MOST_SIDES: usize = 8;

/// The pitch.
#[derive(Debug, Clone)]
pub(super) struct Spared {
    edges: Edges,
    extent: Extent,
    /// Upright ground that lies on the pitch; none where that is not easily told.
    core: Extent,
    /// What it costs to get past that.
    past: Option<Past>,
    /// Its sides; none where there are many.
    sides: Vec<Side>,
}

impl Spared {
    /// A pitch, in the pitch frame; holes in it count as pitch.
    pub(super) fn of(pitch: &Polygon<f64>) -> Self {
        let outline = Polygon::new(pitch.exterior().clone(), Vec::new());
        let is_left = outline.signed_area() >= 0.0;
        let edges = Edges::of(&MultiPolygon(vec![outline]), 0.0);
        let core = core_of(&edges);
        let sides: Vec<Side> = edges
            .iter()
            .take(MOST_SIDES + 1)
            .map(|edge| Side::of(edge, is_left))
            .collect();
        Self {
            extent: edges.extent(),
            core,
            past: Past::of(&core),
            sides: if sides.len() > MOST_SIDES {
                Vec::new()
            } else {
                sides
            },
            edges,
        }
    }

    /// Metres of a piece between two stances whose middle of the rear axle is on the pitch.
    pub(super) fn stretch_m(&self, radii: Radii, from: &Stance, to: &Stance, piece: &Piece) -> f64 {
        if is_nothing(piece) {
            return 0.0;
        }
        let extent = match piece.bend {
            Bend::Straight => Extent::EMPTY.with(from.pose.at).with(to.pose.at),
            bend => {
                let turn_rad = piece.turned_rad(radii);
                arc_extent(from.pose.at, to.pose.at, radii.of(bend), turn_rad)
            }
        };
        if !extent.meets(&self.extent) {
            return 0.0;
        }
        if self.core.holds(&extent) {
            return piece.length_m;
        }
        match self.only_side(&extent) {
            Some(side) => side.inside_m(radii, from, to, piece),
            None => self.inside_by_cuts_m(radii, (from, to), piece, &extent),
        }
    }

    /// The side that alone comes into an extent, where it parts the whole of it.
    fn only_side(&self, extent: &Extent) -> Option<&Side> {
        let mut near = self.sides.iter().filter(|side| side.extent.meets(extent));
        let side = near.next()?;
        (near.next().is_none() && side.parts(extent)).then_some(side)
    }

    /// Metres of a piece on any pitch: it is cut where it crosses an edge.
    fn inside_by_cuts_m(
        &self,
        radii: Radii,
        (from, to): (&Stance, &Stance),
        piece: &Piece,
        extent: &Extent,
    ) -> f64 {
        let at = from.pose.at;
        let mut cuts: Vec<f64> = Vec::new();
        match piece.bend {
            Bend::Straight => {
                self.edges.any(extent, |edge| {
                    cuts.extend(cut_of_straight(at, to.pose.at, edge));
                    false
                });
            }
            bend => {
                let centre = from.centre(bend, radii);
                let turn_rad = piece.turned_rad(radii);
                let start = at - centre;
                self.edges.any(extent, |edge| {
                    if edge.extent().meets(extent) {
                        cuts_of_arc(start, centre, turn_rad, edge, &mut cuts);
                    }
                    false
                });
            }
        }
        let middle = |share: f64| {
            let length_m = piece.length_m * share;
            from.after(&Piece { length_m, ..*piece }, radii).pose.at
        };
        if cuts.is_empty() {
            return if self.edges.hold(middle(0.5)) {
                piece.length_m
            } else {
                0.0
            };
        }
        cuts.extend([0.0, 1.0]);
        cuts.sort_by(f64::total_cmp);
        let inside: f64 = cuts
            .windows(2)
            .filter(|pair| pair[1] > pair[0] && self.edges.hold(middle(0.5 * (pair[0] + pair[1]))))
            .map(|pair| pair[1] - pair[0])
            .sum();
        inside * piece.length_m
    }

    /// How far a place on the pitch is from the pitch's edge, metres; 0 off the pitch.
    pub(super) fn within_m(&self, at: Xy) -> f64 {
        if !self.edges.hold(at) {
            return 0.0;
        }
        let nearest = self.edges.iter().map(|edge| edge.distance_squared(at));
        nearest.fold(f64::INFINITY, f64::min).sqrt()
    }

    /// What a path between two places costs at least, metres, where a metre on the pitch counts as
    /// `on_pitch`: it goes round the pitch or across it.
    pub(super) fn past_m(&self, from: Xy, to: Xy, on_pitch: f64) -> f64 {
        let past = self.past.as_ref();
        past.map_or(0.0, |past| past.least_m(from, to, on_pitch))
    }
}

/// A side of the pitch.
#[derive(Debug, Clone)]
struct Side {
    edge: Edge,
    extent: Extent,
    /// Into the pitch, square to the side, length 1.
    inward: Xy,
    inward_rad: f64,
}

impl Side {
    /// An edge that has the pitch to its left, or to its right.
    fn of(edge: &Edge, is_left: bool) -> Self {
        let sign = if is_left { 1.0 } else { -1.0 };
        let inward = Xy {
            x: -edge.unit.y,
            y: edge.unit.x,
        } * sign;
        Self {
            edge: *edge,
            extent: edge.extent(),
            inward,
            inward_rad: inward.y.atan2(inward.x),
        }
    }

    /// Whether it goes through the whole of an extent, rather than end in it.
    fn parts(&self, extent: &Extent) -> bool {
        let Edge {
            from,
            unit,
            length_m,
        } = self.edge;
        let (low, high) = (extent.low - from, extent.high - from);
        let along = |low: f64, high: f64| (low.min(high), low.max(high));
        let (low_x, high_x) = along(low.x * unit.x, high.x * unit.x);
        let (low_y, high_y) = along(low.y * unit.y, high.y * unit.y);
        low_x + low_y >= 0.0 && high_x + high_y <= length_m
    }

    /// How far a place is on the pitch's side of it, metres.
    fn inwards_m(&self, at: Xy) -> f64 {
        let off = at - self.edge.from;
        off.x * self.inward.x + off.y * self.inward.y
    }

    /// Metres of a piece between two stances that lie on the pitch's side of it.
    fn inside_m(&self, radii: Radii, from: &Stance, to: &Stance, piece: &Piece) -> f64 {
        let (start_m, end_m) = (self.inwards_m(from.pose.at), self.inwards_m(to.pose.at));
        match piece.bend {
            Bend::Straight => {
                let (low_m, high_m) = (start_m.min(end_m), start_m.max(end_m));
                if high_m <= 0.0 {
                    0.0
                } else if low_m >= 0.0 {
                    piece.length_m
                } else {
                    piece.length_m * (high_m / (high_m - low_m))
                }
            }
            bend => {
                let radius_m = radii.of(bend);
                let centre_m = self.inwards_m(from.centre(bend, radii));
                if centre_m <= -radius_m {
                    return 0.0;
                }
                if centre_m >= radius_m {
                    return piece.length_m;
                }
                // Seen from the centre, counted from the way into the pitch: so far to either
                // side the circle is on it.
                let half_rad = (-centre_m / radius_m).acos();
                let quarter_rad = std::f64::consts::FRAC_PI_2;
                let start_rad = from.pose.heading_rad - bend.sign() * quarter_rad - self.inward_rad;
                let end_rad = start_rad + piece.turned_rad(radii);
                let inside_rad = within_rad(end_rad, half_rad) - within_rad(start_rad, half_rad);
                (inside_rad.abs() * radius_m).min(piece.length_m)
            }
        }
    }
}

/// How much of the turn from 0 to an angle lies within so much of a whole number of turns.
fn within_rad(angle_rad: f64, half_rad: f64) -> f64 {
    use std::f64::consts::{PI, TAU};
    let rounds = ((angle_rad + PI) / TAU).floor();
    let rest_rad = angle_rad - rounds * TAU;
    2.0 * half_rad * rounds + rest_rad.clamp(-half_rad, half_rad)
}

/// Where a straight from `from` to `to` crosses an edge, as a share of its length.
fn cut_of_straight(from: Xy, to: Xy, edge: &Edge) -> Option<f64> {
    let side = |p: Xy| (p.x - edge.from.x) * edge.unit.y - (p.y - edge.from.y) * edge.unit.x;
    let (a, b) = (side(from), side(to));
    if (a > 0.0) == (b > 0.0) {
        return None;
    }
    let share = a / (a - b);
    let along = (from.x + share * (to.x - from.x) - edge.from.x) * edge.unit.x
        + (from.y + share * (to.y - from.y) - edge.from.y) * edge.unit.y;
    (-1e-9 <= along && along <= edge.length_m + 1e-9).then_some(share)
}

/// The upright rectangle between the inner ones of four corners, if it lies within their edges.
fn core_of(pitch: &Edges) -> Extent {
    /// So far within, metres, that no edge is met.
    const WITHIN_M: f64 = 1e-6;
    let corners: Vec<Xy> = pitch.iter().map(|edge| edge.from).collect();
    if corners.len() != 4 {
        return Extent::EMPTY;
    }
    let inner = |of: fn(&Xy) -> f64| {
        let mut values: Vec<f64> = corners.iter().map(of).collect();
        values.sort_by(f64::total_cmp);
        (values[1] + WITHIN_M, values[2] - WITHIN_M)
    };
    let ((low_x, high_x), (low_y, high_y)) = (inner(|at| at.x), inner(|at| at.y));
    let core = Extent {
        low: Xy { x: low_x, y: low_y },
        high: Xy {
            x: high_x,
            y: high_y,
        },
    };
    let middle = Xy {
        x: f64::midpoint(low_x, high_x),
        y: f64::midpoint(low_y, high_y),
    };
    let is_within = low_x < high_x
        && low_y < high_y
        && pitch.hold(middle)
        && pitch.iter().all(|edge| !edge.extent().meets(&core));
    if is_within { core } else { Extent::EMPTY }
}

/// Where an arc between two places can lie. It bulges from its chord by r (1 - cos(turn / 2)), and
/// that is at most r turn^2 / 8; where it turns back it may bulge more.
fn arc_extent(from: Xy, to: Xy, radius_m: f64, turn_rad: f64) -> Extent {
    /// More than rounding adds, metres.
    const SPARE_M: f64 = 1e-6;
    let bulge_m = if turn_rad.abs() <= std::f64::consts::PI {
        radius_m * turn_rad * turn_rad / 8.0
    } else {
        2.0 * radius_m
    };
    Extent::EMPTY.with(from).with(to).widened(bulge_m + SPARE_M)
}

/// Where an arc from `start` (seen from its centre) through `turn_rad` crosses an edge, as shares of
/// its length.
fn cuts_of_arc(start: Xy, centre: Xy, turn_rad: f64, edge: &Edge, cuts: &mut Vec<f64>) {
    let (dx, dy) = (edge.from.x - centre.x, edge.from.y - centre.y);
    let foot = -(dx * edge.unit.x + dy * edge.unit.y);
    let aside = dx * edge.unit.y - dy * edge.unit.x;
    let half_square = start.x * start.x + start.y * start.y - aside * aside;
    if half_square <= 0.0 {
        return;
    }
    let half = half_square.sqrt();
    for t in [foot - half, foot + half] {
        if t < -1e-9 || t > edge.length_m + 1e-9 {
            continue;
        }
        let (x, y) = (dx + t * edge.unit.x, dy + t * edge.unit.y);
        let along = start.x * x + start.y * y;
        let aside = (start.x * y - start.y * x) * turn_rad.signum();
        let angle_rad = aside.atan2(along).rem_euclid(std::f64::consts::TAU);
        let (mut at_rad, whole_rad) = (angle_rad, turn_rad.abs());
        // Round after round, where it is more than one.
        while at_rad < whole_rad && cuts.len() < MOST_CUTS {
            cuts.push(at_rad / whole_rad);
            at_rad += std::f64::consts::TAU;
        }
    }
}

#[cfg(test)]
mod tests {
    use geo::polygon;
    use proptest::prelude::*;

    use super::super::pose::Pose;
    use super::*;

    const RADII: Radii = Radii {
        left_m: 2.9,
        right_m: 3.3,
    };

    /// Pitches wound either way: upright, askew, and one with a corner that turns in.
    fn pitches() -> [Polygon<f64>; 4] {
        let upright =
            polygon![(x: -8.0, y: -5.0), (x: 8.0, y: -5.0), (x: 8.0, y: 5.0), (x: -8.0, y: 5.0)];
        let mut clockwise = upright.exterior().clone();
        clockwise.0.reverse();
        [
            upright,
            Polygon::new(clockwise, Vec::new()),
            polygon![(x: -7.0, y: -6.0), (x: 8.0, y: -4.5), (x: 7.5, y: 5.0), (x: -8.0, y: 4.0)],
            polygon![(x: -8.0, y: -5.0), (x: 8.0, y: -5.0), (x: 0.5, y: 0.0), (x: 8.0, y: 5.0), (x: -8.0, y: 5.0)],
        ]
    }

    fn any_pose() -> impl Strategy<Value = Pose> {
        (-12.0..12.0, -9.0..9.0, -7.0..7.0).prop_map(|(x, y, h)| Pose::new(x, y, h))
    }

    fn any_piece() -> impl Strategy<Value = Piece> {
        (0..3, 0.0..1.0_f64, any::<bool>()).prop_map(|(bend, share, reverse)| Piece {
            bend: [Bend::Left, Bend::Straight, Bend::Right][bend as usize],
            // Short pieces and several rounds alike.
            length_m: 50.0 * share.powi(3),
            reverse,
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]

        #[test]
        fn by_one_side_it_is_as_long_as_by_cuts(pose in any_pose(), piece in any_piece()) {
            for pitch in pitches() {
                let spared = Spared::of(&pitch);
                let from = Stance::of(pose);
                let to = from.after(&piece, RADII);
                let reach_m = piece.length_m + 1e-6;
                let whole = Extent::EMPTY.with(pose.at).widened(reach_m);
                let by_cuts_m = spared.inside_by_cuts_m(RADII, (&from, &to), &piece, &whole);
                let told_m = spared.stretch_m(RADII, &from, &to, &piece);
                // Where a circle all but touches a side, both lose half of their digits.
                prop_assert!((told_m - by_cuts_m).abs() < 1e-6, "{told_m} {by_cuts_m} {pitch:?}");
            }
        }
    }

    #[test]
    fn pieces_at_a_side_are_mostly_told_by_it() {
        let [spared, ..] = pitches().map(|pitch| Spared::of(&pitch));
        let across = Extent::EMPTY
            .with(Xy { x: -3.0, y: 4.0 })
            .with(Xy { x: 3.0, y: 9.0 });
        let at_corner = across.with(Xy { x: 9.0, y: 9.0 });
        assert!(spared.only_side(&across).is_some());
        assert!(spared.only_side(&at_corner).is_none());
    }

    #[test]
    fn a_circle_about_the_middle_of_a_side_is_half_on_the_pitch() {
        let [spared, ..] = pitches().map(|pitch| Spared::of(&pitch));
        let from = Stance::of(Pose::new(2.9, 5.0, std::f64::consts::FRAC_PI_2));
        for rounds in [0.5, 1.0, 3.0] {
            let length_m = rounds * std::f64::consts::TAU * 2.9;
            for (piece, share) in [
                (
                    Piece::forwards(Bend::Left, length_m),
                    if rounds < 1.0 { 0.0 } else { 0.5 },
                ),
                (
                    Piece::backwards(Bend::Left, length_m),
                    if rounds < 1.0 { 1.0 } else { 0.5 },
                ),
            ] {
                let to = from.after(&piece, RADII);
                let on_pitch_m = spared.stretch_m(RADII, &from, &to, &piece);
                approx::assert_abs_diff_eq!(on_pitch_m, share * length_m, epsilon = 1e-9);
            }
        }
    }
}
