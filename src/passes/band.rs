//! A region seen from one direction: its boundary in the direction's frame, and where a
//! band across it meets or fills it.
//!
//! The direction's frame has `t` along the heading (u) and `s` to its left (v). A strip is
//! the band `s_lo..s_hi`; its cross-section T(t) is the segment at `t`. The boundary's edges
//! within the band, projected on `t`, are the only places where T(t) is partly in the region;
//! between them it is wholly inside or wholly outside. That one view answers all the rules of
//! ends: no polygon is ever clipped.

use std::ops::Range;

use geo::MultiPolygon;

use super::rows::Rows;
use crate::region;
use crate::space::{Angle, Xy, abscissa_at};

/// A span along the heading, metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Span {
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

impl Span {
    /// Its length, metres.
    #[must_use]
    pub fn length_m(self) -> f64 {
        self.to - self.from
    }
}

/// The frame of a direction: unit vectors along the heading and to its left.
#[derive(Debug, Clone, Copy)]
pub struct DirectionFrame {
    /// Along the heading, in the pitch frame.
    pub along: Xy,
    /// To its left, in the pitch frame.
    pub left: Xy,
}

impl DirectionFrame {
    /// The frame of lines at that angle.
    #[must_use]
    pub fn of(angle: Angle) -> Self {
        let along = angle.unit();
        let left = Xy {
            x: -along.y,
            y: along.x,
        };
        Self { along, left }
    }

    /// A place of the pitch in this frame: x = t, y = s.
    #[must_use]
    pub fn from_pitch(&self, at: Xy) -> Xy {
        Xy {
            x: at.x * self.along.x + at.y * self.along.y,
            y: at.x * self.left.x + at.y * self.left.y,
        }
    }

    /// A place of this frame on the pitch.
    #[must_use]
    pub fn to_pitch(&self, at: Xy) -> Xy {
        Xy {
            x: at.x * self.along.x + at.y * self.left.x,
            y: at.x * self.along.y + at.y * self.left.y,
        }
    }
}

/// One edge of a boundary in a direction's frame, as the ring runs.
#[derive(Debug, Clone, Copy)]
pub struct Edge {
    /// First end: x = t, y = s.
    pub from: Xy,
    /// Last end.
    pub to: Xy,
}

impl Edge {
    /// Least and greatest s.
    fn span(&self) -> (f64, f64) {
        (self.from.y.min(self.to.y), self.from.y.max(self.to.y))
    }

    /// The abscissa t at ordinate s; exact at the ends.
    #[must_use]
    pub fn t_at(&self, s: f64) -> f64 {
        abscissa_at(self.from, self.to, s)
    }

    /// Whether it crosses the level s, each end belonging to one of its two edges only.
    #[must_use]
    pub fn crosses(&self, s: f64) -> bool {
        (self.from.y <= s) != (self.to.y <= s)
    }
}

/// The boundary of a region in a direction's frame: exteriors anticlockwise, holes clockwise.
#[derive(Debug, Clone, Default)]
pub struct Boundary {
    /// All edges of all rings.
    pub edges: Vec<Edge>,
    shelves: Shelves,
}

/// Which edges lie about an ordinate: the range of s in shelves of one height.
#[derive(Debug, Clone, Default)]
struct Shelves {
    low: f64,
    high: f64,
    per_m: f64,
    /// Indices of edges; an edge is on every shelf that it touches.
    edges: Rows<usize>,
}

impl Shelves {
    fn of(edges: &[Edge]) -> Self {
        let mut shelves = Self::default();
        let all = edges.iter().map(|edge| edge.from.y);
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), s| {
            (low.min(s), high.max(s))
        });
        let count = (edges.len() / 4).max(1);
        if high >= low {
            (shelves.low, shelves.high) = (low, high);
        }
        if high > low {
            shelves.per_m = count as f64 / (high - low);
        }
        let on_shelves = edges.iter().enumerate().map(|(index, edge)| {
            let (least, greatest) = edge.span();
            let (first, last) = (shelves.on(least, count), shelves.on(greatest, count));
            (index, first..last + 1)
        });
        let on_shelves: Vec<(usize, Range<usize>)> = on_shelves.collect();
        shelves.edges = Rows::of(count, &on_shelves);
        shelves
    }

    /// The shelf of an ordinate; the first or last where it lies beyond.
    fn on(&self, s: f64, count: usize) -> usize {
        (((s - self.low) * self.per_m).max(0.0) as usize).min(count - 1)
    }
}

impl Boundary {
    /// The boundary of a region whose rings are wound as [`crate::region`] makes them.
    #[must_use]
    pub fn of(region: &MultiPolygon<f64>, frame: &DirectionFrame) -> Self {
        let most = region::rings(region).map(|ring| ring.0.len()).sum();
        let mut edges = Vec::with_capacity(most);
        for ring in region::rings(region) {
            let mut corners = ring.0.iter().map(|&at| frame.from_pitch(at));
            let Some(mut from) = corners.next() else {
                continue;
            };
            for to in corners {
                edges.push(Edge { from, to });
                from = to;
            }
        }
        Self {
            shelves: Shelves::of(&edges),
            edges,
        }
    }

    /// The edges that may lie between two ordinates, each once.
    fn between(&self, s_lo: f64, s_hi: f64) -> impl Iterator<Item = &Edge> {
        let shelves = &self.shelves;
        let count = shelves.edges.count();
        let is_beyond = s_hi < shelves.low || s_lo > shelves.high;
        let (first, last) = if is_beyond || count == 0 {
            (0, 0)
        } else {
            (shelves.on(s_lo, count), shelves.on(s_hi, count) + 1)
        };
        (first..last).flat_map(move |shelf| {
            let on_shelf = shelves.edges.row(shelf);
            let edges = on_shelf.iter().map(|&edge| &self.edges[edge]);
            // An edge on several shelves counts on the first of them that is looked at.
            edges.filter(move |edge| shelf == first || shelves.on(edge.span().0, count) == shelf)
        })
    }

    /// Least and greatest s; `None` for an empty region.
    #[must_use]
    pub fn extent_across(&self) -> Option<Span> {
        self.extent(|at| at.y)
    }

    /// Least and greatest t; `None` for an empty region.
    #[must_use]
    pub fn extent_along(&self) -> Option<Span> {
        self.extent(|at| at.x)
    }

    fn extent(&self, of: impl Fn(Xy) -> f64) -> Option<Span> {
        let mut values = self.edges.iter().map(|edge| of(edge.from));
        let first = values.next()?;
        Some(values.fold(
            Span {
                from: first,
                to: first,
            },
            |span, value| Span {
                from: span.from.min(value),
                to: span.to.max(value),
            },
        ))
    }

    /// The region as the open band `s_lo..s_hi` sees it.
    #[must_use]
    pub fn seen_from(&self, s_lo: f64, s_hi: f64) -> BandView {
        let mid = f64::midpoint(s_lo, s_hi);
        let mut runs: Vec<Run> = Vec::new();
        for edge in self.between(s_lo, s_hi) {
            let (least, greatest) = edge.span();
            if greatest <= s_lo || least >= s_hi {
                continue;
            }
            let (a, b) = if least == greatest {
                (edge.from.x, edge.to.x)
            } else {
                (edge.t_at(least.max(s_lo)), edge.t_at(greatest.min(s_hi)))
            };
            runs.push(Run {
                span: Span {
                    from: a.min(b),
                    to: a.max(b),
                },
                changes_side: edge.crosses(mid),
            });
        }
        runs.sort_by(|a, b| a.span.from.total_cmp(&b.span.from));
        runs.dedup_by(|run, last| {
            let touches = run.span.from <= last.span.to;
            if touches {
                last.span.to = last.span.to.max(run.span.to);
                last.changes_side ^= run.changes_side;
            }
            touches
        });
        BandView { runs }
    }

    /// Where the line at s is in the region.
    #[must_use]
    pub fn on_line(&self, s: f64) -> Vec<Span> {
        let crossing = self.between(s, s).filter(|edge| edge.crosses(s));
        let mut at: Vec<f64> = crossing.map(|edge| edge.t_at(s)).collect();
        at.sort_by(f64::total_cmp);
        let spans = at.chunks_exact(2).map(|pair| Span {
            from: pair[0],
            to: pair[1],
        });
        united(spans.collect())
    }
}

/// Edges within a band that touch each other as seen along it: where T(t) is partly in the
/// region.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Run {
    span: Span,
    /// Whether T(t) is wholly inside on one side of it and wholly outside on the other: the
    /// edges cross the middle of the band an odd number of times.
    changes_side: bool,
}

/// Where a band is partly and where it is wholly in a region.
#[derive(Debug, Clone, PartialEq)]
pub struct BandView {
    /// Sorted and disjoint. Before the first T(t) is outside.
    runs: Vec<Run>,
}

impl BandView {
    /// Where T(t) meets the region at all: sorted, disjoint spans.
    #[must_use]
    pub fn meets(&self) -> Vec<Span> {
        let mut out: Vec<Span> = Vec::new();
        let mut is_inside = false;
        for run in &self.runs {
            match out.last_mut() {
                Some(last) if is_inside => last.to = run.span.to,
                _ => out.push(run.span),
            }
            is_inside ^= run.changes_side;
        }
        out
    }

    /// Where all of T(t) is in the region: sorted, disjoint spans.
    pub fn fills(&self) -> impl Iterator<Item = Span> {
        let mut is_inside = false;
        self.runs.windows(2).filter_map(move |pair| {
            is_inside ^= pair[0].changes_side;
            is_inside.then_some(Span {
                from: pair[0].span.to,
                to: pair[1].span.from,
            })
        })
    }
}

/// Spans sorted and, where they touch, made one.
#[must_use]
pub fn united(mut spans: Vec<Span>) -> Vec<Span> {
    spans.sort_by(|a, b| a.from.total_cmp(&b.from));
    spans.dedup_by(|span, last| {
        let is_one = span.from <= last.to;
        if is_one {
            last.to = last.to.max(span.to);
        }
        is_one
    });
    spans
}

/// What of sorted, disjoint `spans` lies outside sorted, disjoint `taken`.
#[must_use]
pub fn less(spans: &[Span], taken: &[Span]) -> Vec<Span> {
    let mut out = Vec::new();
    for &span in spans {
        let mut from = span.from;
        for cut in taken {
            if cut.to <= from || cut.from >= span.to {
                continue;
            }
            if cut.from > from {
                out.push(Span { from, to: cut.from });
            }
            from = from.max(cut.to);
        }
        if from < span.to {
            out.push(Span { from, to: span.to });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::wkt;

    fn check(wkt: geo::Polygon<f64>, band: (f64, f64), meets: &[(f64, f64)], fills: &[(f64, f64)]) {
        let frame = DirectionFrame::of(Angle::from_deg(0.0));
        let view = Boundary::of(&MultiPolygon(vec![wkt]), &frame).seen_from(band.0, band.1);
        let plain = |spans: &[Span]| spans.iter().map(|s| (s.from, s.to)).collect::<Vec<_>>();
        assert_eq!(plain(&view.meets()), meets);
        assert_eq!(plain(&view.fills().collect::<Vec<_>>()), fills);
    }

    #[test]
    fn a_band_meets_more_than_it_fills_where_edges_slant() {
        let slanted = wkt!(POLYGON((0.0 0.0,10.0 0.0,12.0 4.0,2.0 4.0,0.0 0.0)));
        check(slanted, (0.0, 2.0), &[(0.0, 11.0)], &[(1.0, 10.0)]);
    }

    #[test]
    fn an_edge_on_the_bands_own_edge_does_not_count() {
        let step = wkt!(POLYGON((0.0 0.0,10.0 0.0,10.0 2.0,4.0 2.0,4.0 4.0,0.0 4.0,0.0 0.0)));
        check(step.clone(), (2.0, 4.0), &[(0.0, 4.0)], &[(0.0, 4.0)]);
        check(step, (0.0, 2.0), &[(0.0, 10.0)], &[(0.0, 10.0)]);
    }

    #[test]
    fn a_hole_within_the_band_interrupts_what_it_fills() {
        let holed = wkt!(POLYGON((0.0 0.0,10.0 0.0,10.0 4.0,0.0 4.0,0.0 0.0),(4.0 1.0,4.0 2.0,6.0 2.0,6.0 1.0,4.0 1.0)));
        check(
            holed,
            (0.5, 3.5),
            &[(0.0, 10.0)],
            &[(0.0, 4.0), (6.0, 10.0)],
        );
    }

    #[test]
    fn what_is_taken_out_may_be_unbounded() {
        let all = [Span {
            from: 0.0,
            to: 10.0,
        }];
        let taken = [
            Span {
                from: f64::NEG_INFINITY,
                to: 1.0,
            },
            Span { from: 4.0, to: 5.0 },
            Span {
                from: 9.0,
                to: f64::INFINITY,
            },
        ];
        let left = [Span { from: 1.0, to: 4.0 }, Span { from: 5.0, to: 9.0 }];
        assert_eq!(less(&all, &taken), left);
    }
}
