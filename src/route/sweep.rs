//! Whether a machine that drives one piece touches an edge: exact, without sampling.
//!
//! A straight sweeps a rectangle, and an edge either meets that or not. On an arc every
//! corner of the machine goes round the arc's centre, and so does, seen from the machine,
//! every corner of the ground the other way. What begins apart can only come together where
//! a corner of the one meets an edge of the other; so arcs of the machine's corners are
//! crossed with the edge, and the arc of the edge's corner, turned back, with the machine's
//! edges. Angles are compared by a number that grows with them, without any arc function.

use super::edges::{Edge, Extent};
use super::machine::{Machine, Outline};
use super::path::{Bend, LEAST_PIECE_M, Piece, Radii};
use super::pose::Stance;
use crate::space::Xy;

/// What touches this shortly before a piece begins counts as touched: two pieces that meet
/// leave no gap for rounding between them. In quarter turns.
const OVERLAP: f64 = 1e-10;

/// A machine, prepared for sweeping.
#[derive(Debug, Clone, Copy)]
pub(super) struct Footprint {
    outlines: [Outline; 2],
    count: usize,
    pub(super) farthest_m: f64,
    pub(super) radii: Radii,
    /// Least and greatest distance of the machine from the centre of its left and right circle.
    rings: [(f64, f64); 2],
    pub(super) tool_at_m: f64,
}

impl Footprint {
    pub(super) fn of(machine: &Machine) -> Self {
        let (body, tool) = (machine.body_outline(), machine.tool_outline());
        let count = if body.holds(&tool) { 1 } else { 2 };
        let outlines = [body, tool];
        let ring = |lever_m: f64| {
            outlines[..count]
                .iter()
                .fold((f64::INFINITY, 0.0_f64), |(least, most), outline| {
                    let along = outline.back_m.max(-outline.front_m).max(0.0);
                    let aside = (lever_m - outline.half_width_m).max(0.0);
                    let far = outline.back_m.abs().max(outline.front_m.abs());
                    (
                        least.min(along.hypot(aside)),
                        most.max(far.hypot(lever_m + outline.half_width_m)),
                    )
                })
        };
        Self {
            outlines,
            count,
            farthest_m: machine.farthest_m(),
            radii: machine.radii,
            rings: [ring(machine.radii.left_m), ring(machine.radii.right_m)],
            tool_at_m: -machine.reach_m,
        }
    }

    /// The middle of the rear axle alone.
    pub(super) const fn axle_only(radii: Radii) -> Self {
        let point = Outline {
            back_m: 0.0,
            front_m: 0.0,
            half_width_m: 0.0,
        };
        Self {
            outlines: [point; 2],
            count: 1,
            farthest_m: 0.0,
            radii,
            // A hair wider than the circle that the point itself draws.
            rings: [
                (radii.left_m - 1e-6, radii.left_m + 1e-6),
                (radii.right_m - 1e-6, radii.right_m + 1e-6),
            ],
            tool_at_m: 0.0,
        }
    }

    /// How far it swings out beyond the circle of its axle, metres, the wider side.
    pub(super) fn swing_m(&self) -> f64 {
        let [left, right] = self.rings;
        (left.1 - self.radii.left_m).max(right.1 - self.radii.right_m)
    }

    fn outlines(&self) -> &[Outline] {
        &self.outlines[..self.count]
    }
}

/// A piece driven by a machine from a pose, prepared for meeting edges.
#[derive(Debug)]
pub(super) enum Sweep<'a> {
    Straight(StraightSweep<'a>),
    Arc(ArcSweep<'a>),
}

impl<'a> Sweep<'a> {
    /// The machine standing still.
    pub(super) fn standing(machine: &'a Footprint, stance: &Stance) -> Self {
        Self::new(machine, stance, &Piece::forwards(Bend::Straight, 0.0))
    }

    /// The machine driving a piece.
    pub(super) fn new(machine: &'a Footprint, stance: &Stance, piece: &Piece) -> Self {
        match piece.bend {
            Bend::Straight => Self::Straight(StraightSweep::new(machine, stance, piece.signed_m())),
            bend => Self::Arc(ArcSweep::new(machine, stance, bend, piece.signed_m())),
        }
    }

    /// Where it reaches at most.
    pub(super) const fn extent(&self) -> Extent {
        match self {
            Self::Straight(sweep) => sweep.extent,
            Self::Arc(sweep) => sweep.extent,
        }
    }

    /// Whether it touches an edge. An arc must begin clear of it.
    pub(super) fn meets(&self, edge: &Edge) -> bool {
        match self {
            Self::Straight(sweep) => sweep.meets(edge),
            Self::Arc(sweep) => sweep.meets(edge),
        }
    }
}

#[derive(Debug)]
pub(super) struct StraightSweep<'a> {
    machine: &'a Footprint,
    origin: Xy,
    cos: f64,
    sin: f64,
    back_by_m: f64,
    ahead_by_m: f64,
    extent: Extent,
}

impl<'a> StraightSweep<'a> {
    fn new(machine: &'a Footprint, stance: &Stance, way_m: f64) -> Self {
        let Stance { pose, cos, sin } = *stance;
        let end = Xy {
            x: pose.at.x + way_m * cos,
            y: pose.at.y + way_m * sin,
        };
        Self {
            machine,
            origin: pose.at,
            cos,
            sin,
            back_by_m: way_m.min(0.0),
            ahead_by_m: way_m.max(0.0),
            extent: Extent::EMPTY
                .with(pose.at)
                .with(end)
                .widened(machine.farthest_m),
        }
    }

    fn meets(&self, edge: &Edge) -> bool {
        let (dx, dy) = (edge.from.x - self.origin.x, edge.from.y - self.origin.y);
        let (x, y) = (dx * self.cos + dy * self.sin, dy * self.cos - dx * self.sin);
        let ux = edge.unit.x * self.cos + edge.unit.y * self.sin;
        let uy = edge.unit.y * self.cos - edge.unit.x * self.sin;
        self.machine.outlines().iter().any(|outline| {
            let along = (
                outline.back_m + self.back_by_m,
                outline.front_m + self.ahead_by_m,
            );
            let across = (-outline.half_width_m, outline.half_width_m);
            let (from, to) = clipped((0.0, edge.length_m), x, ux, along);
            let (from, to) = clipped((from, to), y, uy, across);
            from <= to
        })
    }
}

/// The stretch of a line, `at + t * rate` with t in `span`, that lies within bounds.
fn clipped(span: (f64, f64), at: f64, rate: f64, bounds: (f64, f64)) -> (f64, f64) {
    if rate.abs() < 1e-15 {
        return if bounds.0 <= at && at <= bounds.1 {
            span
        } else {
            (1.0, 0.0)
        };
    }
    let (a, b) = ((bounds.0 - at) / rate, (bounds.1 - at) / rate);
    (span.0.max(a.min(b)), span.1.min(a.max(b)))
}

#[derive(Debug)]
pub(super) struct ArcSweep<'a> {
    machine: &'a Footprint,
    centre: Xy,
    cos: f64,
    sin: f64,
    /// The axle as seen from the centre is at (0, -lever) in the machine's frame.
    lever: f64,
    ring: (f64, f64),
    turn: Turned,
    extent: Extent,
}

impl<'a> ArcSweep<'a> {
    fn new(machine: &'a Footprint, stance: &Stance, bend: Bend, way_m: f64) -> Self {
        let Stance { pose, cos, sin } = *stance;
        let radius_m = machine.radii.of(bend);
        let lever = bend.sign() * radius_m;
        let centre = Xy {
            x: pose.at.x - lever * sin,
            y: pose.at.y + lever * cos,
        };
        let ring = machine.rings[usize::from(bend == Bend::Right)];
        let turn_rad = bend.sign() * way_m / radius_m;
        let around = Extent::EMPTY.with(centre).widened(ring.1);
        let (half_sin, half_cos) = (0.5 * turn_rad).sin_cos();
        let extent = if turn_rad.abs() < std::f64::consts::PI {
            // Start, end, and how far the arc bulges from the chord between them.
            let chord = 2.0 * lever * half_sin;
            let end = Xy {
                x: pose.at.x + chord * (cos * half_cos - sin * half_sin),
                y: pose.at.y + chord * (sin * half_cos + cos * half_sin),
            };
            let bulge_m = radius_m * (1.0 - half_cos);
            Extent::EMPTY
                .with(pose.at)
                .with(end)
                .widened(machine.farthest_m + bulge_m)
                .within(around)
        } else {
            around
        };
        Self {
            machine,
            centre,
            cos,
            sin,
            lever,
            ring,
            turn: Turned::new(turn_rad, half_sin, half_cos),
            extent,
        }
    }

    fn meets(&self, edge: &Edge) -> bool {
        let (dx, dy) = (edge.from.x - self.centre.x, edge.from.y - self.centre.y);
        let along_m = (-(dx * edge.unit.x + dy * edge.unit.y)).clamp(0.0, edge.length_m);
        let near = Xy {
            x: dx + along_m * edge.unit.x,
            y: dy + along_m * edge.unit.y,
        };
        if near.x * near.x + near.y * near.y > self.ring.1 * self.ring.1 {
            return false;
        }
        let from_square = dx * dx + dy * dy;
        let least_square = self.ring.0 * self.ring.0;
        if from_square < least_square {
            let (ex, ey) = (
                dx + edge.length_m * edge.unit.x,
                dy + edge.length_m * edge.unit.y,
            );
            if ex * ex + ey * ey < least_square {
                return false;
            }
        }
        // The edge in the machine's frame at the start, seen from the centre.
        let edge = Edge {
            from: Xy {
                x: dx * self.cos + dy * self.sin,
                y: dy * self.cos - dx * self.sin,
            },
            unit: Xy {
                x: edge.unit.x * self.cos + edge.unit.y * self.sin,
                y: edge.unit.y * self.cos - edge.unit.x * self.sin,
            },
            length_m: edge.length_m,
        };
        self.corners_meet(&edge)
            || (least_square <= from_square
                && from_square <= self.ring.1 * self.ring.1
                && self.corner_of_edge_meets(edge.from, from_square))
    }

    /// Whether a corner of the machine crosses the edge.
    fn corners_meet(&self, edge: &Edge) -> bool {
        let foot = -(edge.from.x * edge.unit.x + edge.from.y * edge.unit.y);
        let aside = edge.from.x * edge.unit.y - edge.from.y * edge.unit.x;
        let aside_square = aside * aside;
        self.machine.outlines().iter().any(|outline| {
            outline.corners().iter().any(|&(x, y)| {
                let corner = Xy {
                    x,
                    y: y - self.lever,
                };
                let half_square = corner.x * corner.x + corner.y * corner.y - aside_square;
                if half_square < 0.0 {
                    return false;
                }
                let half = half_square.sqrt();
                [foot - half, foot + half].into_iter().any(|t| {
                    0.0 <= t
                        && t <= edge.length_m
                        && self.turn.brings(
                            corner,
                            Xy {
                                x: edge.from.x + t * edge.unit.x,
                                y: edge.from.y + t * edge.unit.y,
                            },
                        )
                })
            })
        })
    }

    /// Whether the edge's first corner, going round the other way, crosses the machine's edges.
    fn corner_of_edge_meets(&self, corner: Xy, square: f64) -> bool {
        // A point of the machine is brought to the corner by the turn.
        let brought = |x: f64, y: f64| self.turn.brings(Xy { x, y }, corner);
        self.machine.outlines().iter().any(|outline| {
            let (right, left) = (
                -outline.half_width_m - self.lever,
                outline.half_width_m - self.lever,
            );
            let across = |x: f64| {
                let rest = square - x * x;
                rest >= 0.0 && {
                    let y = rest.sqrt();
                    (right <= y && y <= left && brought(x, y))
                        || (right <= -y && -y <= left && brought(x, -y))
                }
            };
            let along = |y: f64| {
                let rest = square - y * y;
                rest >= 0.0 && {
                    let x = rest.sqrt();
                    let inside = |x: f64| outline.back_m <= x && x <= outline.front_m;
                    (inside(x) && brought(x, y)) || (inside(-x) && brought(-x, y))
                }
            };
            across(outline.back_m) || across(outline.front_m) || along(right) || along(left)
        })
    }
}

/// A turn about the origin, to compare angles with.
#[derive(Debug, Clone, Copy)]
struct Turned {
    sense: f64,
    /// The size of the turn in [`quarters`], 4 for a whole turn and more.
    most: f64,
}

impl Turned {
    fn new(turn_rad: f64, half_sin: f64, half_cos: f64) -> Self {
        let sense = if turn_rad < 0.0 { -1.0 } else { 1.0 };
        let most = if turn_rad.abs() >= std::f64::consts::TAU {
            4.0
        } else {
            let cos = half_cos * half_cos - half_sin * half_sin;
            quarters(cos, sense * 2.0 * half_sin * half_cos)
        };
        Self { sense, most }
    }

    /// Whether the turn brings one point over another; both lie equally far from the origin.
    fn brings(&self, from: Xy, to: Xy) -> bool {
        let along = from.x * to.x + from.y * to.y;
        let aside = self.sense * (from.x * to.y - from.y * to.x);
        let quarters = quarters(along, aside);
        quarters <= self.most + OVERLAP || quarters >= 4.0 - OVERLAP
    }
}

/// A number from 0 to 4 that grows with the angle of (x, y) and is the same at whole quarter
/// turns: y / (|x| + |y|) and its turned forms, so near 0 it is as fine as the angle itself.
fn quarters(x: f64, y: f64) -> f64 {
    let sum = x.abs() + y.abs();
    if sum == 0.0 {
        return 0.0;
    }
    match (x >= 0.0, y >= 0.0) {
        (true, true) => y / sum,
        (false, true) => 1.0 - x / sum,
        (false, false) => 2.0 - y / sum,
        (true, false) => 3.0 + x / sum,
    }
}

/// Whether a piece is too short to be driven.
pub(super) fn is_nothing(piece: &Piece) -> bool {
    piece.length_m <= LEAST_PIECE_M
}
