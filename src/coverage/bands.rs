//! Exact areas of axis-aligned strips against regions, in the frame of their direction.
//!
//! Between two neighbouring strip edges the union of the strips is a fixed set of intervals
//! of t. By Green's theorem the area of a region within that band and those intervals is the
//! integral of F(t) ds along the region's boundary, where F(t) is the length of the intervals
//! left of t. F is piecewise linear and the boundary is straight, so that the integral is
//! exact, and no polygon is ever clipped. With every strip counted for itself F gives the sum
//! of the strips' areas instead.

use std::ops::Range;

use crate::passes::band::{Boundary, Edge, Span, united};
use crate::passes::rows::Rows;

/// A strip in its direction's frame.
#[derive(Debug, Clone, Copy)]
pub struct Strip {
    /// Along the heading.
    pub along: Span,
    /// Across it.
    pub across: Span,
}

/// The bands between neighbouring strip edges, with the intervals that strips fill there.
#[derive(Debug)]
pub struct Bands {
    /// Band edges, ascending; band i lies between `levels[i]` and `levels[i + 1]`.
    levels: Vec<f64>,
    /// Every strip's interval in each band, by its start.
    each: Rows<Span>,
    /// Their union in each band.
    union: Rows<Span>,
}

/// Areas of strips within a region, square metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Within {
    /// Of the union of the strips.
    pub union_m2: f64,
    /// Of every strip for itself, added up.
    pub sum_m2: f64,
}

impl Bands {
    /// The bands of a set of strips.
    #[must_use]
    pub fn of(strips: &[Strip]) -> Self {
        let ends = strips.iter().flat_map(|s| [s.across.from, s.across.to]);
        let mut levels: Vec<f64> = ends.collect();
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        let band_of = |s: f64| levels.partition_point(|level| *level < s);
        let intervals = strips.iter().map(|strip| {
            let bands = band_of(strip.across.from)..band_of(strip.across.to);
            (strip.along, bands)
        });
        let mut intervals: Vec<(Span, Range<usize>)> = intervals.collect();
        intervals.sort_by(|a, b| a.0.from.total_cmp(&b.0.from));
        let each = Rows::of(levels.len().saturating_sub(1), &intervals);
        let mut union = Rows::default();
        let mut united_spans = Vec::new();
        for band in 0..each.count() {
            united_spans.extend_from_slice(each.row(band));
            united_spans = united(united_spans);
            union.add(&united_spans);
            united_spans.clear();
        }
        Self {
            levels,
            each,
            union,
        }
    }

    /// Area of the union of the strips, square metres.
    #[must_use]
    pub fn union_m2(&self) -> f64 {
        let heights = self.levels.windows(2).map(|pair| pair[1] - pair[0]);
        let areas = heights.enumerate().map(|(band, height)| {
            let lengths = self.union.row(band).iter().map(|span| span.length_m());
            height * lengths.sum::<f64>()
        });
        areas.sum()
    }

    /// Areas of the strips within a region given by its boundary.
    #[must_use]
    pub fn within(&self, region: &Boundary) -> Within {
        let mut total = Within::default();
        for edge in &region.edges {
            let (least, greatest) = (edge.from.y.min(edge.to.y), edge.from.y.max(edge.to.y));
            // Exteriors run anticlockwise: an edge that runs upwards has the region to the side
            // of smaller t, so that F counts positive there and negative on the way down.
            let sign = if edge.to.y > edge.from.y { 1.0 } else { -1.0 };
            let mut below: Option<f64> = None;
            for (band, across) in self.between(least, greatest) {
                let (lo, hi) = (least.max(across.from), greatest.min(across.to));
                if hi <= lo {
                    continue;
                }
                let a = below.unwrap_or_else(|| edge.t_at(lo));
                let b = edge.t_at(hi);
                below = Some(b);
                let (each, union) = (self.each.row(band), self.union.row(band));
                let union_m = mean_length_left(union, a, b);
                // Where no strips meet, their union is them.
                let each_m = if each.len() == union.len() {
                    union_m
                } else {
                    mean_length_left(each, a, b)
                };
                total.union_m2 += sign * (hi - lo) * union_m;
                total.sum_m2 += sign * (hi - lo) * each_m;
            }
        }
        total
    }

    /// The union's intervals just about the ordinate s; empty outside all strips.
    #[must_use]
    pub fn union_at(&self, s: f64) -> &[Span] {
        let above = self.levels.partition_point(|level| *level <= s);
        match above.checked_sub(1) {
            Some(band) if band < self.union.count() => self.union.row(band),
            _ => &[],
        }
    }

    /// The bands that reach into the range between two ordinates s, metres, ascending, each with
    /// the union's intervals there.
    pub fn unions_between(
        &self,
        least: f64,
        greatest: f64,
    ) -> impl Iterator<Item = (Span, &[Span])> {
        let bands = self.between(least, greatest);
        bands.map(|(band, across)| (across, self.union.row(band)))
    }

    /// The bands that reach into the range between two ordinates s, metres, by their index.
    fn between(&self, least: f64, greatest: f64) -> impl Iterator<Item = (usize, Span)> {
        let first = self.levels.partition_point(|level| *level <= least).max(1) - 1;
        let bands = self.levels.windows(2).enumerate().skip(first);
        let bands = bands.map(|(band, pair)| {
            let (from, to) = (pair[0], pair[1]);
            (band, Span { from, to })
        });
        bands.take_while(move |(_, across)| across.from < greatest)
    }

    /// The band edges, ascending.
    #[must_use]
    pub fn levels(&self) -> &[f64] {
        &self.levels
    }
}

/// The mean, over t from a to b, of the length of the spans left of t.
fn mean_length_left(spans: &[Span], a: f64, b: f64) -> f64 {
    let (lo, hi) = (a.min(b), a.max(b));
    spans.iter().map(|span| mean_left_of(*span, lo, hi)).sum()
}

/// The mean, over t from lo to hi, of how much of the span lies left of t.
fn mean_left_of(span: Span, lo: f64, hi: f64) -> f64 {
    if lo >= span.to {
        return span.length_m();
    }
    if hi <= span.from {
        return 0.0;
    }
    if lo >= span.from && hi <= span.to {
        return f64::midpoint(lo, hi) - span.from;
    }
    // The clamped ramp in three pieces: none before the span, rising in it, all after it.
    let (enters, leaves) = (lo.max(span.from), hi.min(span.to));
    let rising = (leaves - enters) * (f64::midpoint(enters, leaves) - span.from);
    let after = (hi - leaves) * span.length_m();
    (rising + after) / (hi - lo)
}

/// Where an edge crosses the level t, if it does so strictly between its ends.
#[must_use]
pub fn s_at(edge: &Edge, t: f64) -> Option<f64> {
    let (least, greatest) = (edge.from.x.min(edge.to.x), edge.from.x.max(edge.to.x));
    (least < t && t < greatest).then(|| {
        let share = (t - edge.from.x) / (edge.to.x - edge.from.x);
        edge.from.y + share * (edge.to.y - edge.from.y)
    })
}
