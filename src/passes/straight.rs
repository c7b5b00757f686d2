//! The straight passes of one direction.
//!
//! 1. Each connected piece of the target is seen in the direction's frame; its extent across
//!    the heading sets how many lines there are and where.
//! 2. Each line is worked where its rule of ends holds, less where its strip would enter what
//!    is kept clear or leave allowed ground; its outer ends may be run on.
//! 3. Pieces are numbered through, from the right of the heading to the left.

use geo::MultiPolygon;

use super::band::{Boundary, DirectionFrame, Span, less, united};
use super::{DirectionPasses, Part, Pass, Track};
use crate::job::model::{Ends, Operation, Remainder};
use crate::space::{Angle, Heading, Xy};
use crate::zones::Piece;

/// A hair: what lies in a strip by less than this is not met, metres.
const HAIR_M: f64 = 1e-6;
/// Gaps shorter than this close, metres; also how far a hair's slant may be followed.
const GAP_M: f64 = 0.01;
/// A strip this much narrower on each side must be clear of what is kept clear, metres.
const CLEAR_TRIM_M: f64 = 0.001;
/// A strip this much narrower on each side must be in the target to hold inside, metres.
const HOLD_TRIM_M: f64 = 0.02;
/// Rounding allowed in counting lines.
const COUNT_SLACK: f64 = 1e-9;

/// Where a direction's set of lines starts, resolved on the pitch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Phase {
    /// Symmetric about the middle of the extent.
    Centred,
    /// At the right-hand side of the heading.
    FromRight,
    /// At the left-hand side of the heading.
    FromLeft,
    /// Some line lies at this offset to the left of the heading, metres.
    Through(f64),
}

/// What one direction needs to know.
#[derive(Debug)]
pub struct Layout<'a> {
    /// The operation asked for.
    pub operation: &'a Operation,
    /// The pieces to work.
    pub pieces: &'a [Piece],
    /// What the tool is kept out of.
    pub blocked: &'a [MultiPolygon<f64>],
    /// Where wheels and tool may go.
    pub allowed: &'a MultiPolygon<f64>,
    /// How the lines lie.
    pub angle: Angle,
    /// Their heading.
    pub heading: Heading,
    /// Where the set starts.
    pub phase: Phase,
    /// The direction's name.
    pub name: String,
}

/// The passes of a direction, and whether `full` had to give way to `even` in some piece.
#[must_use]
pub fn lay_out(layout: &Layout<'_>) -> (DirectionPasses, bool) {
    let frame = DirectionFrame::of(layout.angle);
    let kept = KeptOut::of(layout.blocked, layout.allowed, &frame);
    let width_m = layout.operation.implement.working_width_m;
    let mut pieces: Vec<SeenPiece> = layout
        .pieces
        .iter()
        .filter_map(|piece| SeenPiece::of(piece, &frame))
        .collect();
    pieces.sort_by(|a, b| {
        let to_a_centimetre = |piece: &SeenPiece| (piece.across.from * 100.0).round();
        to_a_centimetre(a)
            .total_cmp(&to_a_centimetre(b))
            .then(a.along.from.total_cmp(&b.along.from))
    });
    let mut out = DirectionPasses {
        name: layout.name.clone(),
        angle: Some(layout.angle),
        heading: Some(layout.heading),
        spacing_m: None,
        passes: Vec::new(),
    };
    let mut gave_way = false;
    for (piece_index, piece) in pieces.iter().enumerate() {
        let (lines, piece_gave_way) = worked_lines(layout, piece, &kept);
        gave_way |= piece_gave_way;
        if let Some(spacing_m) = lines.spacing_m {
            out.spacing_m = Some(
                out.spacing_m
                    .map_or(spacing_m, |widest| widest.max(spacing_m)),
            );
        }
        for (offset_m, spans) in lines.worked {
            if spans.is_empty() {
                continue;
            }
            let parts = spans.iter().enumerate().map(|(index, span)| Part {
                number: index + 1,
                track: Track::Straight {
                    from: frame.to_pitch(Xy {
                        x: span.from,
                        y: offset_m,
                    }),
                    to: frame.to_pitch(Xy {
                        x: span.to,
                        y: offset_m,
                    }),
                },
                width_m,
                shortened_m: 0.0,
            });
            out.passes.push(Pass {
                number: out.passes.len() + 1,
                piece: piece_index + 1,
                parts: parts.collect(),
            });
        }
    }
    (out, gave_way)
}

/// A piece in the direction's frame.
struct SeenPiece {
    target: Boundary,
    across: Span,
    along: Span,
}

impl SeenPiece {
    fn of(piece: &Piece, frame: &DirectionFrame) -> Option<Self> {
        let zones = Boundary::of(&piece.zones, frame);
        Some(Self {
            across: zones.extent_across()?,
            along: zones.extent_along()?,
            target: Boundary::of(&piece.target, frame),
        })
    }
}

/// What strips keep out of, in the direction's frame.
pub(super) struct KeptOut {
    blocked: Vec<Boundary>,
    allowed: Boundary,
}

impl KeptOut {
    /// The boundaries of what is kept clear, and of allowed ground, in a direction's frame.
    pub(super) fn of(
        blocked: &[MultiPolygon<f64>],
        allowed: &MultiPolygon<f64>,
        frame: &DirectionFrame,
    ) -> Self {
        Self {
            blocked: blocked.iter().map(|one| Boundary::of(one, frame)).collect(),
            allowed: Boundary::of(allowed, frame),
        }
    }

    /// Where a strip may not be: sorted, disjoint, unbounded at both ends.
    pub(super) fn spans(&self, s_lo: f64, s_hi: f64, with_allowed: bool) -> Vec<Span> {
        let (lo, hi) = trimmed(s_lo, s_hi, CLEAR_TRIM_M);
        let mut out: Vec<Span> = Vec::new();
        for blocked in &self.blocked {
            out.extend(blocked.seen_from(lo, hi).meets());
        }
        if with_allowed {
            let mut from = f64::NEG_INFINITY;
            for span in self.allowed.seen_from(lo, hi).fills() {
                out.push(Span {
                    from,
                    to: span.from,
                });
                from = span.to;
            }
            out.push(Span {
                from,
                to: f64::INFINITY,
            });
        }
        united(out)
    }
}

/// A band narrowed on each side; a band narrower than the trims shrinks to its middle.
fn trimmed(s_lo: f64, s_hi: f64, trim_m: f64) -> (f64, f64) {
    let trim_m = trim_m.min((s_hi - s_lo) * 0.49);
    (s_lo + trim_m, s_hi - trim_m)
}

/// The lines of a piece, from the right of the heading to the left, with what is worked.
struct WorkedLines {
    spacing_m: Option<f64>,
    worked: Vec<(f64, Vec<Span>)>,
}

/// Lays the lines of a piece and works them; where an outer `full` line could not be worked
/// for want of run-off alone, `even` is laid instead (the flag says so).
fn worked_lines(layout: &Layout<'_>, piece: &SeenPiece, kept: &KeptOut) -> (WorkedLines, bool) {
    let operation = layout.operation;
    let (width_m, spacing_m) = (
        operation.implement.working_width_m,
        operation.implement.asked_spacing_m(),
    );
    let work = |lines: &Lines, with_allowed| WorkedLines {
        spacing_m: lines.spacing_m,
        worked: lines
            .offsets_m
            .iter()
            .map(|&offset_m| {
                let half_m = width_m / 2.0;
                let strip = (offset_m - half_m, offset_m + half_m);
                (
                    offset_m,
                    worked_spans(operation, piece, kept, offset_m, strip, with_allowed),
                )
            })
            .collect(),
    };
    let is_full = operation.remainder == Remainder::Full;
    let lines = Lines::of(piece.across, width_m, spacing_m, layout.phase, is_full);
    let worked = work(&lines, true);
    if is_full && !matches!(layout.phase, Phase::Through(_)) {
        let outer = [worked.worked.first(), worked.worked.last()];
        let is_lost = outer.into_iter().flatten().any(|(offset_m, spans)| {
            let strip = (offset_m - width_m / 2.0, offset_m + width_m / 2.0);
            spans.is_empty()
                && !worked_spans(operation, piece, kept, *offset_m, strip, false).is_empty()
        });
        if is_lost {
            let even = Lines::of(piece.across, width_m, spacing_m, layout.phase, false);
            return (work(&even, true), true);
        }
    }
    (worked, false)
}

/// The offsets of a piece's lines, ascending, and their spacing (`None` for one line).
struct Lines {
    offsets_m: Vec<f64>,
    spacing_m: Option<f64>,
}

impl Lines {
    fn of(extent: Span, width_m: f64, asked_m: f64, phase: Phase, is_full: bool) -> Self {
        let overlap_m = width_m - asked_m;
        let extent_m = extent.length_m();
        if let Phase::Through(offset_m) = phase {
            return Self::through(extent, width_m, asked_m, offset_m);
        }
        let n = line_count(extent_m, width_m, overlap_m);
        let half_m = width_m / 2.0;
        let last = (n - 1) as f64;
        let (first_m, spacing_m) = if n == 1 {
            let first_m = match phase {
                Phase::FromRight => extent.from + half_m,
                Phase::FromLeft => extent.to - half_m,
                _ => f64::midpoint(extent.from, extent.to),
            };
            (first_m, 0.0)
        } else if is_full {
            let surplus_m = n as f64 * asked_m + overlap_m - extent_m;
            let first_m = match phase {
                Phase::FromRight => extent.from + half_m,
                Phase::FromLeft => extent.to - half_m - last * asked_m,
                _ => extent.from - surplus_m / 2.0 + half_m,
            };
            (first_m, asked_m)
        } else {
            (extent.from + half_m, (extent_m - width_m) / last)
        };
        Self {
            offsets_m: (0..n).map(|k| first_m + k as f64 * spacing_m).collect(),
            spacing_m: (n > 1).then_some(spacing_m),
        }
    }

    /// Lines in phase with an offset, added until the extent is covered.
    fn through(extent: Span, width_m: f64, asked_m: f64, offset_m: f64) -> Self {
        let half_m = width_m / 2.0;
        let first = ((extent.from + half_m - offset_m) / asked_m + COUNT_SLACK).floor();
        let last = ((extent.to - half_m - offset_m) / asked_m - COUNT_SLACK).ceil();
        let n = (last - first).max(0.0) as usize + 1;
        let offsets_m = (0..n).map(|k| offset_m + (first + k as f64) * asked_m);
        Self {
            offsets_m: offsets_m.collect(),
            spacing_m: (n > 1).then_some(asked_m),
        }
    }
}

/// How many lines cover an extent: max(1, ceil((E - overlap) / (width - overlap))), with the
/// rounding of 1e-9 that keeps a whole number whole.
#[must_use]
pub fn line_count(extent_m: f64, width_m: f64, overlap_m: f64) -> usize {
    let exact = (extent_m - overlap_m) / (width_m - overlap_m);
    ((exact - COUNT_SLACK).ceil().max(1.0)) as usize
}

/// Where one line is worked.
fn worked_spans(
    operation: &Operation,
    piece: &SeenPiece,
    kept: &KeptOut,
    offset_m: f64,
    (s_lo, s_hi): (f64, f64),
    with_allowed: bool,
) -> Vec<Span> {
    let base = match operation.ends {
        Ends::RunOver => met_by_more_than_a_hair(&piece.target, s_lo, s_hi),
        Ends::OnLine => piece.target.on_line(offset_m),
        Ends::HoldInside => {
            let (lo, hi) = trimmed(s_lo, s_hi, HOLD_TRIM_M);
            piece.target.seen_from(lo, hi).fills().collect()
        }
    };
    if base.is_empty() {
        return base;
    }
    let kept_out = kept.spans(s_lo, s_hi, with_allowed);
    let mut spans = less(&without_gaps(base), &kept_out);
    run_on(&mut spans, &kept_out, operation.over_m);
    spans.retain(|span| span.length_m() >= operation.min_pass_m);
    spans
}

/// Where T(t) meets the target, a target edge that lies on the strip's own edge up to
/// rounding not being met.
///
/// The strip narrowed by a hair decides what is met; where the target's edge merely slants
/// across the strip's edge, the end is followed back to the full width, so that it is exact.
fn met_by_more_than_a_hair(target: &Boundary, s_lo: f64, s_hi: f64) -> Vec<Span> {
    let (lo, hi) = trimmed(s_lo, s_hi, HAIR_M);
    let met = target.seen_from(lo, hi).meets();
    let touched = target.seen_from(s_lo, s_hi).meets();
    let followed = met.into_iter().map(|span| {
        let around = touched
            .iter()
            .find(|t| t.from <= span.from && span.to <= t.to);
        let (from, to) = around.map_or((span.from, span.to), |t| (t.from, t.to));
        Span {
            from: if span.from - from <= GAP_M {
                from
            } else {
                span.from
            },
            to: if to - span.to <= GAP_M { to } else { span.to },
        }
    });
    united(followed.collect())
}

/// Spans with the gaps shorter than a centimetre closed.
fn without_gaps(mut spans: Vec<Span>) -> Vec<Span> {
    spans.dedup_by(|span, last| {
        let is_near = span.from - last.to < GAP_M;
        if is_near {
            last.to = span.to;
        }
        is_near
    });
    spans
}

/// Lengthens the two outer ends, as far as nothing is kept clear there.
fn run_on(spans: &mut [Span], kept_out: &[Span], over_m: f64) {
    if over_m <= 0.0 {
        return;
    }
    if let Some(first) = spans.first_mut() {
        let before = kept_out.iter().filter(|kept| kept.to <= first.from);
        let stop = before.map(|kept| kept.to).fold(f64::NEG_INFINITY, f64::max);
        first.from = (first.from - over_m).max(stop);
    }
    if let Some(last) = spans.last_mut() {
        let after = kept_out.iter().filter(|kept| kept.from >= last.to);
        let stop = after.map(|kept| kept.from).fold(f64::INFINITY, f64::min);
        last.to = (last.to + over_m).min(stop);
    }
}
