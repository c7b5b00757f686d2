//! Perimeter rounds: lines along the edge of a piece, one within the other.
//!
//! Round k is the piece's boundary moved in by half a width and k - 1 spacings, corners
//! mitred; then its corners are rounded at the turning radius, which is what opening and
//! closing with a disc of that radius do. A round is interrupted where its strip would enter
//! what is kept clear or leave allowed ground. The straights work what is left: the piece
//! moved in by as many spacings as there are rounds, so that they overlap the last round by
//! the stated overlap.

use geo::algorithm::buffer::{Buffer, BufferStyle, LineJoin};
use geo::{LineString, MultiPolygon, Polygon};

use super::band::{DirectionFrame, Span, less};
use super::straight::KeptOut;
use super::{DirectionPasses, Part, Pass, Track};
use crate::ground::curves::SAGITTA_M;
use crate::job::model::Operation;
use crate::region;
use crate::space::Xy;
use crate::zones::Piece;

/// Corners of a rounded line nearer than this to the one before are left out, metres: where
/// arcs meet, the library leaves jags of up to the sagitta on both sides. The sides of arcs are
/// ten times longer.
const JAG_M: f64 = 2.5e-3;

/// Corners that turn back more sharply than this (1 + cosine; 2.6 degrees from straight back)
/// have no mitre.
const SHARPEST_TURN: f64 = 1e-3;

/// The name of the direction that rounds make up.
pub const NAME: &str = "rounds";

/// The rounds of an operation, outermost first in each piece.
#[must_use]
pub fn lay_out(
    operation: &Operation,
    pieces: &[Piece],
    blocked: &[MultiPolygon<f64>],
    allowed: &MultiPolygon<f64>,
) -> DirectionPasses {
    let implement = &operation.implement;
    let (width_m, spacing_m) = (implement.working_width_m, implement.asked_spacing_m());
    let mut out = DirectionPasses {
        name: NAME.to_owned(),
        angle: None,
        heading: None,
        spacing_m: (operation.perimeter_rounds > 1).then_some(spacing_m),
        passes: Vec::new(),
    };
    for (piece_index, piece) in pieces.iter().enumerate() {
        for round in 0..operation.perimeter_rounds {
            let inset_m = width_m / 2.0 + f64::from(round) * spacing_m;
            let inner = region::inset(&piece.zones, inset_m);
            let line = rounded(&inner, implement.corner_radius_m());
            let mut parts = Vec::new();
            for ring in region::rings(&line) {
                for track in worked(&started(ring), width_m, blocked, allowed) {
                    if length_m(&track) >= operation.min_pass_m {
                        parts.push(Part {
                            number: parts.len() + 1,
                            track: Track::Round(track),
                            width_m,
                            shortened_m: 0.0,
                        });
                    }
                }
            }
            if !parts.is_empty() {
                out.passes.push(Pass {
                    number: out.passes.len() + 1,
                    piece: piece_index + 1,
                    parts,
                });
            }
        }
    }
    out
}

/// What the rounds leave to the straights, in connected pieces.
#[must_use]
pub fn left_to_straights(operation: &Operation, pieces: &[Piece]) -> Vec<Piece> {
    let inset_m = f64::from(operation.perimeter_rounds) * operation.implement.asked_spacing_m();
    let mut left = Vec::new();
    for piece in pieces {
        for polygon in region::inset(&piece.zones, inset_m).0 {
            let zones = MultiPolygon(vec![polygon]);
            left.push(Piece {
                target: region::intersection(&piece.target, &zones),
                zones,
            });
        }
    }
    left
}

/// The length of a line, metres.
#[must_use]
pub fn length_m(line: &LineString<f64>) -> f64 {
    line.lines().map(|l| l.dx().hypot(l.dy())).sum()
}

/// A region with its corners rounded at a radius: opened, then closed, with a disc.
fn rounded(region: &MultiPolygon<f64>, radius_m: f64) -> MultiPolygon<f64> {
    if radius_m <= 0.0 || region.0.is_empty() {
        return region.clone();
    }
    // The step of an arc whose chord stays within the sagitta, and the library's own limits.
    let step = 2.0 * (1.0 - (SAGITTA_M / radius_m).min(1.0)).acos();
    let moved = |region: &MultiPolygon<f64>, out_m: f64| {
        region.buffer_with_style(BufferStyle::new(out_m).line_join(LineJoin::Round(step)))
    };
    let opened = moved(&moved(region, -radius_m), radius_m);
    let closed = moved(&moved(&opened, radius_m), -radius_m);
    let rings = closed.0.into_iter().filter_map(|polygon| {
        let (exterior, interiors) = polygon.into_inner();
        let interiors = interiors.into_iter().filter_map(without_jags).collect();
        Some(Polygon::new(without_jags(exterior)?, interiors))
    });
    MultiPolygon(rings.collect())
}

/// The ring without the jags that moving a boundary by the library leaves: corners nearer
/// than [`JAG_M`] to the one before. `None` where no ring is left.
fn without_jags(ring: LineString<f64>) -> Option<LineString<f64>> {
    let mut corners: Vec<Xy> = Vec::with_capacity(ring.0.len());
    for corner in ring.0 {
        let near = |last: &Xy| (corner.x - last.x).hypot(corner.y - last.y) < JAG_M;
        if !corners.last().is_some_and(near) {
            corners.push(corner);
        }
    }
    // The ring's end is its beginning again, or a jag away from it.
    if corners.len() > 1 {
        corners.pop();
    }
    (corners.len() >= 3).then(|| {
        let mut ring = LineString(corners);
        ring.close();
        ring
    })
}

/// The ring turned to begin at its least x, then least y, so that the same ground gives the
/// same beginning.
fn started(ring: &LineString<f64>) -> LineString<f64> {
    let mut corners = ring.0.clone();
    corners.pop();
    let first = (0..corners.len())
        .min_by(|&a, &b| {
            let (a, b) = (corners[a], corners[b]);
            a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
        })
        .unwrap_or(0);
    corners.rotate_left(first);
    let mut ring = LineString(corners);
    ring.close();
    ring
}

/// The runs of a closed ring that may be worked: the ring itself where nothing interrupts it.
fn worked(
    ring: &LineString<f64>,
    width_m: f64,
    blocked: &[MultiPolygon<f64>],
    allowed: &MultiPolygon<f64>,
) -> Vec<LineString<f64>> {
    let mut runs: Vec<Vec<Xy>> = Vec::new();
    let mut is_whole = true;
    for line in ring.lines() {
        let length = line.dx().hypot(line.dy());
        if length <= 0.0 {
            continue;
        }
        let along = Xy {
            x: line.dx() / length,
            y: line.dy() / length,
        };
        let frame = DirectionFrame {
            along,
            left: Xy {
                x: -along.y,
                y: along.x,
            },
        };
        let (from, to) = (frame.from_pitch(line.start), frame.from_pitch(line.end));
        let segment = Span {
            from: from.x,
            to: to.x,
        };
        let kept_out = KeptOut::of(blocked, allowed, &frame);
        let half_m = width_m / 2.0;
        let kept_out = kept_out.spans(from.y - half_m, from.y + half_m, true);
        let free = less(&[segment], &kept_out);
        is_whole &= free == [segment];
        for span in free {
            let at = |t: f64| {
                if t == segment.from {
                    line.start
                } else if t == segment.to {
                    line.end
                } else {
                    frame.to_pitch(Xy { x: t, y: from.y })
                }
            };
            let (start, end) = (at(span.from), at(span.to));
            match runs.last_mut() {
                Some(run) if run.last() == Some(&start) => run.push(end),
                _ => runs.push(vec![start, end]),
            }
        }
    }
    if is_whole {
        return vec![ring.clone()];
    }
    // A run through the ring's beginning is one run.
    if runs.len() > 1 && runs[0].first() == runs[runs.len() - 1].last() {
        let first = runs.remove(0);
        if let Some(last) = runs.last_mut() {
            last.extend(&first[1..]);
        }
    }
    runs.into_iter().map(LineString).collect()
}

/// The strip of a part as rings, each anticlockwise, whose union it is: the rectangle of each
/// side, and at each corner the mitre between two of them; ends are flat. For a straight part
/// its rectangle alone.
///
/// A line that bends more sharply than its strip is wide is widened rightly too, which moving
/// it aside as a whole would not do.
#[must_use]
pub fn widened(part: &Part) -> Vec<LineString<f64>> {
    let half_m = part.width_m / 2.0;
    let (corners, is_closed) = match &part.track {
        Track::Straight { from, to } => (vec![*from, *to], false),
        Track::Round(line) => (line.0.clone(), line.is_closed()),
    };
    let mut rings: Vec<LineString<f64>> = corners
        .windows(2)
        .filter(|side| side[0] != side[1])
        .map(|side| {
            let aside = left_of(side[0], side[1]) * half_m;
            let (from, to) = (side[0], side[1]);
            closed(vec![from - aside, to - aside, to + aside, from + aside])
        })
        .collect();
    let joints = corners
        .windows(3)
        .map(|three| [three[0], three[1], three[2]]);
    let seam = is_closed.then(|| {
        let n = corners.len();
        [corners[n - 2], corners[0], corners[1]]
    });
    rings.extend(joints.chain(seam).filter_map(|joint| mitre(joint, half_m)));
    rings
}

/// The mitre on the outer side of a corner; `None` where the line runs straight on or back.
fn mitre([before, at, after]: [Xy; 3], half_m: f64) -> Option<LineString<f64>> {
    let (a, b) = (left_of(before, at), left_of(at, after));
    let turn = a.x * b.y - a.y * b.x;
    let towards = 1.0 + a.x * b.x + a.y * b.y;
    if !turn.is_finite() || turn == 0.0 || towards < SHARPEST_TURN {
        return None;
    }
    // The outer side is the right where the line turns left.
    let outward = if turn > 0.0 { -half_m } else { half_m };
    let tip = at + (a + b) * (outward / towards);
    let (one, other) = (at + a * outward, at + b * outward);
    Some(closed(if turn > 0.0 {
        vec![at, one, tip, other]
    } else {
        vec![at, other, tip, one]
    }))
}

fn left_of(from: Xy, to: Xy) -> Xy {
    let d = to - from;
    Xy { x: -d.y, y: d.x } / d.x.hypot(d.y)
}

fn closed(ring: Vec<Xy>) -> LineString<f64> {
    let mut ring = LineString(ring);
    ring.close();
    ring
}
