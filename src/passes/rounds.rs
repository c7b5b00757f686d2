//! Perimeter rounds: lines along the edge of a piece, one within the other.
//!
//! Round k is the piece's boundary moved in by half a width and k - 1 spacings, corners
//! mitred; then its corners are rounded at the turning radius, which is what opening and
//! closing with a disc of that radius do. A round is interrupted where its strip would enter
//! what is kept clear or leave allowed ground. The straights work what is left: the piece
//! moved in by as many spacings as there are rounds, so that they overlap the last round by
//! the stated overlap.

use geo::algorithm::buffer::{Buffer, BufferStyle, LineJoin};
use geo::{LineString, MultiPolygon, Polygon, Winding};

use super::band::{DirectionFrame, Span, less};
use super::straight::KeptOut;
use super::{DirectionPasses, Part, Pass, Track};
use crate::ground::curves::SAGITTA_M;
use crate::job::model::Operation;
use crate::region;
use crate::space::Xy;
use crate::zones::Piece;

/// Corners of a rounded line nearer than this to the one before are left out, metres: far
/// below the sagitta, far above the library's grid.
const JAG_M: f64 = 1e-4;

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

/// The strip of a round as rings, exterior first (anticlockwise), then the hole of a closed
/// one: widened by half the width to both sides, joins mitred, ends flat. For a straight part
/// its rectangle.
#[must_use]
pub fn widened(part: &Part) -> Vec<LineString<f64>> {
    let half_m = part.width_m / 2.0;
    match &part.track {
        Track::Straight { from, to } => {
            let line = LineString(vec![*from, *to]);
            vec![open_strip(&line, half_m)]
        }
        Track::Round(line) if line.is_closed() => {
            let mut rings = [half_m, -half_m].map(|aside| {
                let mut ring = LineString(beside(line, aside, true));
                ring.close();
                ring
            });
            let area = |ring: &LineString<f64>| {
                region::area_m2(&MultiPolygon(vec![Polygon::new(ring.clone(), Vec::new())]))
            };
            rings.sort_by(|a, b| area(b).total_cmp(&area(a)));
            let [mut exterior, mut hole] = rings;
            exterior.make_ccw_winding();
            hole.make_cw_winding();
            vec![exterior, hole]
        }
        Track::Round(line) => vec![open_strip(line, half_m)],
    }
}

fn open_strip(line: &LineString<f64>, half_m: f64) -> LineString<f64> {
    let mut ring = beside(line, -half_m, false);
    let mut left = beside(line, half_m, false);
    left.reverse();
    ring.extend(left);
    let mut ring = LineString(ring);
    ring.close();
    ring.make_ccw_winding();
    ring
}

/// The line moved `aside_m` to its left, joins mitred.
fn beside(line: &LineString<f64>, aside_m: f64, is_closed: bool) -> Vec<Xy> {
    let corners = if is_closed {
        &line.0[..line.0.len() - 1]
    } else {
        &line.0[..]
    };
    let n = corners.len();
    let left_of = |i: usize, j: usize| {
        let d = corners[j] - corners[i];
        let length = d.x.hypot(d.y);
        Xy {
            x: -d.y / length,
            y: d.x / length,
        }
    };
    (0..n)
        .map(|i| {
            let before = (i > 0 || is_closed).then(|| left_of((i + n - 1) % n, i));
            let after = (i + 1 < n || is_closed).then(|| left_of(i, (i + 1) % n));
            let aside = match (before, after) {
                (Some(a), Some(b)) => (a + b) / (1.0 + a.x * b.x + a.y * b.y),
                (Some(one), None) | (None, Some(one)) => one,
                (None, None) => Xy::default(),
            };
            corners[i] + aside * aside_m
        })
        .collect()
}
