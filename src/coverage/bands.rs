//! Exact areas of axis-aligned strips against regions, in the frame of their direction.
//!
//! Between two neighbouring strip edges the union of the strips is a fixed set of intervals
//! of t. By Green's theorem the area of a region within that band and those intervals is the
//! integral of F(t) ds along the region's boundary, where F(t) is the length of the intervals
//! left of t. F is piecewise linear and the boundary is straight, so that the integral is
//! exact, and no polygon is ever clipped. With every strip counted for itself F gives the sum
//! of the strips' areas instead.

use crate::passes::band::{Boundary, Edge, Span};

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
    bands: Vec<Filled>,
}

/// What strips fill in one band.
#[derive(Debug, Default)]
struct Filled {
    /// Every strip's interval, by its start.
    each: Vec<Span>,
    /// Their union.
    union: Vec<Span>,
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
        let mut bands: Vec<Filled> = Vec::new();
        bands.resize_with(levels.len().saturating_sub(1), Filled::default);
        for strip in strips {
            let first = levels.partition_point(|level| *level < strip.across.from);
            let last = levels.partition_point(|level| *level < strip.across.to);
            for band in &mut bands[first..last] {
                band.each.push(strip.along);
            }
        }
        for band in &mut bands {
            band.each.sort_by(|a, b| a.from.total_cmp(&b.from));
            for &span in &band.each {
                match band.union.last_mut() {
                    Some(last) if span.from <= last.to => last.to = last.to.max(span.to),
                    _ => band.union.push(span),
                }
            }
        }
        Self { levels, bands }
    }

    /// Area of the union of the strips, square metres.
    #[must_use]
    pub fn union_m2(&self) -> f64 {
        let heights = self.levels.windows(2).map(|pair| pair[1] - pair[0]);
        let lengths = self.bands.iter();
        let lengths = lengths.map(|band| band.union.iter().map(|s| s.length_m()).sum::<f64>());
        heights
            .zip(lengths)
            .map(|(height, length)| height * length)
            .sum()
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
            let first = self.levels.partition_point(|level| *level <= least).max(1) - 1;
            for (band, pair) in self.bands.iter().zip(self.levels.windows(2)).skip(first) {
                let (lo, hi) = (least.max(pair[0]), greatest.min(pair[1]));
                if pair[0] >= greatest {
                    break;
                }
                if hi <= lo {
                    continue;
                }
                let (a, b) = (edge.t_at(lo), edge.t_at(hi));
                total.union_m2 += sign * (hi - lo) * mean_length_left(&band.union, a, b);
                total.sum_m2 += sign * (hi - lo) * mean_length_left(&band.each, a, b);
            }
        }
        total
    }

    /// The union's intervals just about the ordinate s; empty outside all strips.
    #[must_use]
    pub fn union_at(&self, s: f64) -> &[Span] {
        let above = self.levels.partition_point(|level| *level <= s);
        match above.checked_sub(1).and_then(|band| self.bands.get(band)) {
            Some(band) => &band.union,
            None => &[],
        }
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
