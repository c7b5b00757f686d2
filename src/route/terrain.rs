//! The ground that a machine may stand on, and the pitch whose grass is spared.
//!
//! Allowed ground is any region with holes: walls are its outer rings, obstacles its holes.
//! Whether a whole machine stays on it while it drives a piece is decided exactly
//! (`sweep`); what lies within a nanometre of the boundary is still allowed. Edges far
//! off are passed over in bundles (`edges`).

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use geo::{ConvexHull, MultiPolygon, Polygon};

use super::edges::{Edge, Edges, Extent};
use super::machine::Machine;
use super::path::{Bend, Piece, Radii};
use super::pose::{Pose, Stance};
use super::spared::Spared;
use super::sweep::{Footprint, Sweep, is_nothing};
use crate::space::Xy;

/// Ground is taken this much wider, so that what touches a wall is not held for crossing it.
const TOLERANCE_M: f64 = 1e-9;

/// Where machines may drive.
#[derive(Debug, Clone)]
pub struct Terrain {
    allowed: MultiPolygon<f64>,
    ground: Edges,
    /// Where the axle itself must stay, if that is less than the ground for the whole machine.
    axle: Option<Edges>,
    /// The sides of the convex hull of the ground for the whole machine.
    hull: Vec<HalfPlane>,
    pitch: Spared,
    /// The same with its walls farther out, by centimetres, as far as they were asked for.
    wider: Arc<Mutex<BTreeMap<u32, Arc<Self>>>>,
}

/// All that lies behind a straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HalfPlane {
    /// Away from what is held, length 1.
    pub(super) out: Xy,
    /// Of what is held, the farthest along `out`, metres from the origin.
    pub(super) at_m: f64,
}

impl Terrain {
    /// The terrain of allowed ground and a pitch, in the pitch frame.
    #[must_use]
    pub fn new(allowed: &MultiPolygon<f64>, pitch: &Polygon<f64>) -> Self {
        Self {
            allowed: allowed.clone(),
            ground: Edges::of(allowed, TOLERANCE_M),
            axle: None,
            hull: hull_of(allowed),
            wider: Arc::default(),
            pitch: Spared::of(pitch),
        }
    }

    /// The same with wider ground for body and tool: allowed ground and, within some metres of
    /// an entrance or a stockpile, what a machine may overhang. The middle of its rear axle
    /// keeps to allowed ground.
    #[must_use]
    pub fn with_overhang(self, body_ground: &MultiPolygon<f64>) -> Self {
        Self {
            ground: Edges::of(body_ground, TOLERANCE_M),
            axle: Some(Edges::of(&self.allowed, TOLERANCE_M)),
            hull: hull_of(body_ground),
            ..self
        }
    }

    /// Allowed ground, as given.
    #[must_use]
    pub const fn allowed(&self) -> &MultiPolygon<f64> {
        &self.allowed
    }

    /// The ground whose walls stand so many centimetres farther out, which is made once.
    pub(super) fn wider(&self, by_cm: u32, make: impl FnOnce() -> Self) -> Arc<Self> {
        let made = || self.wider.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(wider) = made().get(&by_cm) {
            return Arc::clone(wider);
        }
        // Not while it is locked: what is made by several threads is the same.
        let wider = Arc::new(make());
        Arc::clone(made().entry(by_cm).or_insert(wider))
    }

    /// Half-planes that each hold all the ground.
    pub(super) fn hull(&self) -> &[HalfPlane] {
        &self.hull
    }

    /// Whether a machine may stand at a pose: all of it on allowed ground.
    #[must_use]
    pub fn allows_pose(&self, machine: &Machine, pose: Pose) -> bool {
        self.stands(&Footprint::of(machine), pose)
    }

    /// Whether a machine that stands at a pose may drive a piece from it: all of it stays on
    /// allowed ground. The pose itself must be allowed.
    #[must_use]
    pub fn allows_piece(&self, machine: &Machine, pose: Pose, piece: &Piece) -> bool {
        self.drives(&Footprint::of(machine), &Stance::of(pose), piece)
    }

    /// Whether a machine may drive pieces one after another from an allowed pose.
    #[must_use]
    pub fn allows(&self, machine: &Machine, pose: Pose, pieces: &[Piece]) -> bool {
        self.drives_all(&Footprint::of(machine), pose, pieces)
    }

    pub(super) fn stands(&self, machine: &Footprint, pose: Pose) -> bool {
        let stance = Stance::of(pose);
        let sweep = Sweep::standing(machine, &stance);
        !self.ground.any(&sweep.extent(), |edge| sweep.meets(edge))
            && self.ground.hold(pose.at)
            && self.ground.hold(pose.ahead(machine.tool_at_m).at)
            && self.axle.as_ref().is_none_or(|axle| axle.hold(pose.at))
    }

    pub(super) fn drives(&self, machine: &Footprint, stance: &Stance, piece: &Piece) -> bool {
        if is_nothing(piece) {
            return true;
        }
        let sweep = Sweep::new(machine, stance, piece);
        if self.ground.any(&sweep.extent(), |edge| sweep.meets(edge)) {
            return false;
        }
        self.axle.as_ref().is_none_or(|axle| {
            let point = Footprint::axle_only(machine.radii);
            let sweep = Sweep::new(&point, stance, piece);
            !axle.any(&sweep.extent(), |edge| sweep.meets(edge))
        })
    }

    fn drives_all(&self, machine: &Footprint, pose: Pose, pieces: &[Piece]) -> bool {
        let mut at = Stance::of(pose);
        pieces.iter().all(|piece| {
            let free = self.drives(machine, &at, piece);
            at = at.after(piece, machine.radii);
            free
        })
    }

    /// Whether both full circles from a pose are free: from there any pose can be made for.
    pub(super) fn circles_free(&self, machine: &Footprint, stance: &Stance) -> bool {
        [Bend::Left, Bend::Right].into_iter().all(|bend| {
            let whole = std::f64::consts::TAU * machine.radii.of(bend);
            self.drives(machine, stance, &Piece::forwards(bend, whole))
        })
    }

    /// Metres of a piece, driven from a pose, whose middle of the rear axle is on the pitch.
    #[must_use]
    pub fn piece_on_pitch_m(&self, radii: Radii, pose: Pose, piece: &Piece) -> f64 {
        let from = Stance::of(pose);
        self.stretch_on_pitch_m(radii, &from, &from.after(piece, radii), piece)
    }

    /// The same where the stance at the end is known.
    pub(super) fn stretch_on_pitch_m(
        &self,
        radii: Radii,
        from: &Stance,
        to: &Stance,
        piece: &Piece,
    ) -> f64 {
        self.pitch.stretch_m(radii, from, to, piece)
    }

    /// Metres of a run of pieces on the pitch.
    #[must_use]
    pub fn on_pitch_m(&self, radii: Radii, start: Pose, pieces: &[Piece]) -> f64 {
        let mut pose = start;
        let mut on_pitch_m = 0.0;
        for piece in pieces {
            on_pitch_m += self.piece_on_pitch_m(radii, pose, piece);
            pose = pose.after(piece, radii);
        }
        on_pitch_m
    }

    /// How far a place on the pitch is from the pitch's edge, metres; 0 off the pitch.
    #[must_use]
    pub fn into_pitch_m(&self, at: Xy) -> f64 {
        self.pitch.within_m(at)
    }

    /// What a path between two places costs at least, metres, where a metre on the pitch counts as
    /// `on_pitch`: it goes round the pitch or across it.
    #[must_use]
    pub fn past_pitch_m(&self, from: Xy, to: Xy, on_pitch: f64) -> f64 {
        self.pitch.past_m(from, to, on_pitch)
    }

    /// Edges of allowed ground within `within_m` of a place, holes' edges too, in a fixed order.
    pub(super) fn edges_near(&self, at: Xy, within_m: f64) -> Vec<Edge> {
        let extent = Extent::EMPTY.with(at).widened(within_m);
        let mut near = Vec::new();
        self.ground.any(&extent, |edge| {
            if edge.distance_squared(at) <= within_m * within_m && near.last() != Some(edge) {
                near.push(*edge);
            }
            false
        });
        near
    }
}

fn hull_of(ground: &MultiPolygon<f64>) -> Vec<HalfPlane> {
    let hull = ground.convex_hull();
    let sides = hull.exterior().lines();
    let planes = sides.filter_map(|side| {
        // The hull runs anticlockwise, its outside on the right.
        let edge = Edge::between(side.start, side.end)?;
        let out = Xy {
            x: edge.unit.y,
            y: -edge.unit.x,
        };
        Some(HalfPlane {
            out,
            at_m: out.x * edge.from.x + out.y * edge.from.y + TOLERANCE_M,
        })
    });
    planes.collect()
}

#[cfg(test)]
mod tests {
    use super::super::machine::{Body, Outline};
    use super::*;
    use approx::assert_abs_diff_eq;
    use geo::{LineString, polygon};
    use proptest::prelude::*;

    fn machine() -> Machine {
        Machine {
            radii: Radii {
                left_m: 2.9,
                right_m: 3.3,
            },
            body: Body {
                width_m: 1.5,
                ahead_m: 2.4,
                behind_m: 0.9,
            },
            tool_width_m: 1.8,
            reach_m: 1.6,
            can_reverse: true,
        }
    }

    fn disc(x: f64, y: f64, radius_m: f64, corners: usize) -> LineString<f64> {
        let corner = |i: usize| {
            let angle = std::f64::consts::TAU * i as f64 / corners as f64;
            (x + radius_m * angle.cos(), y + radius_m * angle.sin())
        };
        (0..corners).map(corner).collect()
    }

    /// A room with a notch, a spur, a thin fence, a round and a square obstacle.
    fn ground() -> MultiPolygon<f64> {
        let walls = polygon![
            (x: -15.0, y: -10.0), (x: 2.0, y: -10.0), (x: 3.0, y: -6.0), (x: 4.0, y: -10.0),
            (x: 15.0, y: -10.0), (x: 15.0, y: 3.0), (x: 11.0, y: 3.0), (x: 11.0, y: 6.0),
            (x: 15.0, y: 6.0), (x: 15.0, y: 10.0), (x: -15.0, y: 12.0)
        ];
        let fence = LineString::from(vec![
            (-9.0, -2.0),
            (-6.0, -1.5),
            (-6.0, -1.48),
            (-9.0, -1.98),
        ]);
        let post = LineString::from(vec![(6.0, 6.0), (6.3, 6.0), (6.3, 6.3), (6.0, 6.3)]);
        MultiPolygon(vec![Polygon::new(
            walls.exterior().clone(),
            vec![fence, disc(0.0, 6.0, 0.6, 52), post],
        )])
    }

    fn terrain() -> Terrain {
        Terrain::new(
            &ground(),
            &polygon![(x: -8.0, y: -5.0), (x: 8.0, y: -5.0), (x: 8.0, y: 5.0), (x: -8.0, y: 5.0)],
        )
    }

    /// Plainly: does an edge come into the outline, widened by `by_m`, where the machine stands?
    fn touches(outline: &Outline, by_m: f64, pose: Pose, edges: &[(Xy, Xy)]) -> bool {
        let (sin, cos) = pose.heading_rad.sin_cos();
        let local = |p: Xy| {
            let (dx, dy) = (p.x - pose.at.x, p.y - pose.at.y);
            (dx * cos + dy * sin, dy * cos - dx * sin)
        };
        let (low, high) = (
            (outline.back_m - by_m, -outline.half_width_m - by_m),
            (outline.front_m + by_m, outline.half_width_m + by_m),
        );
        edges.iter().any(|&(a, b)| {
            let (a, b) = (local(a), local(b));
            // Cut the edge by the four sides, one after another.
            let (mut from, mut to) = (0.0_f64, 1.0_f64);
            for (p, d, l, h) in [
                (a.0, b.0 - a.0, low.0, high.0),
                (a.1, b.1 - a.1, low.1, high.1),
            ] {
                if d == 0.0 {
                    if p < l || p > h {
                        return false;
                    }
                } else {
                    let (s, t) = ((l - p) / d, (h - p) / d);
                    from = from.max(s.min(t));
                    to = to.min(s.max(t));
                }
            }
            from <= to
        })
    }

    fn ring_edges(ground: &MultiPolygon<f64>) -> Vec<(Xy, Xy)> {
        let mut edges = Vec::new();
        for polygon in ground {
            for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                let corners = ring
                    .0
                    .iter()
                    .copied()
                    .zip(ring.0.iter().copied().cycle().skip(1));
                edges.extend(corners.filter(|(a, b)| a != b));
            }
        }
        edges
    }

    fn any_pose() -> impl Strategy<Value = Pose> {
        (-15.0..15.0, -10.0..12.0, 0.0..7.0).prop_map(|(x, y, h)| Pose::new(x, y, h))
    }

    fn any_piece() -> impl Strategy<Value = Piece> {
        (0..3, 0.0..1.0_f64, any::<bool>()).prop_map(|(bend, share, reverse)| Piece {
            bend: [Bend::Left, Bend::Straight, Bend::Right][bend as usize],
            // Short pieces and whole circles alike.
            length_m: 24.0 * share * share,
            reverse,
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4_000))]

        /// Driving in steps of 2 mm finds nothing that the exact test does not, and the other
        /// way round: blocked legs touch within a step's travel, free ones never do.
        #[test]
        fn a_leg_is_free_as_driven_step_by_step(pose in any_pose(), piece in any_piece()) {
            let (machine, terrain, edges) = (machine(), terrain(), ring_edges(&ground()));
            let outlines = [machine.body_outline(), machine.tool_outline()];
            let stands = |by_m: f64, pose: Pose| !outlines.iter().any(|o| touches(o, by_m, pose, &edges));
            if !terrain.allows_pose(&machine, pose) {
                // Off the ground, or touching.
                prop_assert!(!stands(2e-9, pose) || !terrain.ground.hold(pose.at)
                    || !terrain.ground.hold(pose.ahead(-machine.reach_m).at));
                return Ok(());
            }
            prop_assert!(stands(-2e-9, pose));
            let free = terrain.allows_piece(&machine, pose, &piece);
            let steps = (piece.length_m / 0.002).ceil() as usize + 1;
            // A corner goes at most this much farther than the axle.
            let travel_m = 0.002 * (1.0 + machine.farthest_m() / 2.9) / 2.0;
            let by_m = if free { -2e-9 } else { travel_m };
            let mut touched = false;
            for step in 0..=steps {
                let length_m = piece.length_m * step as f64 / steps as f64;
                let at = pose.after(&Piece { length_m, ..piece }, machine.radii);
                touched |= !stands(by_m, at);
            }
            prop_assert_eq!(touched, !free);
        }

        /// Metres on the pitch against counting 20,000 short steps.
        #[test]
        fn metres_on_the_pitch_are_exact(pose in any_pose(), piece in any_piece()) {
            let terrain = terrain();
            let radii = machine().radii;
            let steps = 20_000;
            let inside = (0..steps).filter(|step| {
                let length_m = piece.length_m * (f64::from(*step) + 0.5) / f64::from(steps);
                let at = pose.after(&Piece { length_m, ..piece }, radii).at;
                at.x.abs() < 8.0 && at.y.abs() < 5.0
            });
            let counted_m = piece.length_m * inside.count() as f64 / f64::from(steps);
            let exact_m = terrain.piece_on_pitch_m(radii, pose, &piece);
            // Each crossing may be half a step off; there are at most eight.
            prop_assert!((exact_m - counted_m).abs() <= 8.0 * piece.length_m / f64::from(steps) + 1e-9,
                "{exact_m} {counted_m}");
        }
    }

    #[test]
    fn touching_a_wall_is_allowed_and_a_nanometre_more_is_not_much() {
        let square = MultiPolygon(vec![
            polygon![(x: 0.0, y: 0.0), (x: 20.0, y: 0.0), (x: 20.0, y: 20.0), (x: 0.0, y: 20.0)],
        ]);
        let terrain = Terrain::new(
            &square,
            &polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 1.0, y: 1.0)],
        );
        let machine = machine();
        let at_wall = Pose::new(20.0 - 2.4, 10.0, 0.0);
        assert!(terrain.allows_pose(&machine, at_wall));
        assert!(!terrain.allows_pose(&machine, at_wall.ahead(1e-8)));
        let back = Piece::backwards(Bend::Straight, 3.0);
        assert!(terrain.allows_piece(&machine, at_wall, &back));
        let on = Piece::forwards(Bend::Straight, 1e-8);
        assert!(!terrain.allows_piece(&machine, at_wall, &on));
        // Up to the wall and away from it in one go, by arcs.
        let away = Piece::backwards(Bend::Left, 4.0);
        let before = at_wall.after(&away, machine.radii);
        assert!(terrain.allows_piece(&machine, at_wall, &away));
        assert!(terrain.allows_piece(&machine, before, &away.turned_back()));
    }

    #[test]
    fn wider_ground_for_the_body_lets_it_overhang_but_not_the_axle() {
        let square = |size: f64| {
            MultiPolygon(vec![polygon![
                (x: -size, y: -size), (x: size, y: -size), (x: size, y: size), (x: -size, y: size)
            ]])
        };
        let pitch = polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 1.0, y: 1.0)];
        let terrain = Terrain::new(&square(10.0), &pitch);
        let machine = machine();
        let near = Pose::new(8.0, 0.0, 0.0);
        assert!(!terrain.allows_pose(&machine, near));
        let terrain = terrain.with_overhang(&square(14.0));
        assert!(terrain.allows_pose(&machine, near));
        let ahead = |length_m| Piece::forwards(Bend::Straight, length_m);
        assert!(terrain.allows_piece(&machine, near, &ahead(1.99)));
        assert!(!terrain.allows_piece(&machine, near, &ahead(2.01)));
        let arc = Piece::forwards(Bend::Left, 8.0);
        assert!(!terrain.allows_piece(&machine, near, &arc));
        assert!(terrain.allows_piece(&machine, near.ahead(-2.0), &arc));
    }

    #[test]
    fn a_place_on_the_pitch_knows_its_edge() {
        let terrain = terrain();
        assert_abs_diff_eq!(terrain.into_pitch_m(Xy { x: 6.0, y: 1.0 }), 2.0);
        assert_abs_diff_eq!(terrain.into_pitch_m(Xy { x: 9.0, y: 1.0 }), 0.0);
    }

    #[test]
    fn ground_of_nothing_allows_nothing() {
        let nothing = Terrain::new(
            &MultiPolygon(Vec::new()),
            &Polygon::new(LineString(Vec::new()), Vec::new()),
        );
        assert!(!nothing.allows_pose(&machine(), Pose::new(0.0, 0.0, 0.0)));
    }
}
