//! What strips leave of a target, as trapezia in their direction's frame and as places.
//!
//! The plane is cut into bands at every strip edge, every corner of the target and every
//! crossing of the target's boundary with the end of a strip. Within a band nothing crosses,
//! so that the target and the strips are intervals whose ends run straight, and what is left
//! of the one by the other is a row of trapezia. Their areas are exact; only the outlines of
//! places, which are united from them, lie on the grid of [`crate::region`].

use geo::{LineString, MapCoords, MultiPolygon, Polygon};

use super::bands::{Bands, Strip, s_at};
use crate::passes::band::{Boundary, DirectionFrame, Edge};
use crate::region;
use crate::space::Xy;

/// Missed places of less area are counted, not listed, square metres.
pub const LISTED_FROM_M2: f64 = 1e-4;

/// A trapezium with two sides along the heading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trapezium {
    /// Lower and upper ordinate s.
    pub s: (f64, f64),
    /// Left and right abscissa t on the lower side.
    pub lower: (f64, f64),
    /// Left and right abscissa t on the upper side.
    pub upper: (f64, f64),
}

impl Trapezium {
    /// Its corners, anticlockwise from the lower left.
    #[must_use]
    pub fn corners(&self) -> [Xy; 4] {
        [
            Xy {
                x: self.lower.0,
                y: self.s.0,
            },
            Xy {
                x: self.lower.1,
                y: self.s.0,
            },
            Xy {
                x: self.upper.1,
                y: self.s.1,
            },
            Xy {
                x: self.upper.0,
                y: self.s.1,
            },
        ]
    }

    /// Its area, square metres.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        let width = (self.lower.1 - self.lower.0 + self.upper.1 - self.upper.0) / 2.0;
        width * (self.s.1 - self.s.0)
    }
}

/// What the strips leave of the target, as disjoint trapezia.
#[must_use]
pub fn left_over(target: &Boundary, strips: &[Strip], bands: &Bands) -> Vec<Trapezium> {
    let mut out = Vec::new();
    let levels = levels(target, strips, bands);
    let mut edges: Vec<&Edge> = target.edges.iter().filter(|e| e.from.y != e.to.y).collect();
    let low = |edge: &Edge| edge.from.y.min(edge.to.y);
    edges.sort_by(|a, b| low(a).total_cmp(&low(b)));
    let mut next = 0;
    let mut active: Vec<&Edge> = Vec::new();
    for pair in levels.windows(2) {
        let (lo, hi) = (pair[0], pair[1]);
        let mid = f64::midpoint(lo, hi);
        while next < edges.len() && low(edges[next]) <= lo {
            active.push(edges[next]);
            next += 1;
        }
        active.retain(|edge| edge.from.y.max(edge.to.y) > lo);
        let mut crossing: Vec<(f64, &Edge)> = active
            .iter()
            .filter(|e| e.crosses(mid))
            .map(|e| (e.t_at(mid), *e))
            .collect();
        crossing.sort_by(|a, b| a.0.total_cmp(&b.0));
        let filled = bands.union_at(mid);
        for inside in crossing.chunks_exact(2) {
            let (left, right) = (inside[0], inside[1]);
            // Walk along the interval of the target, skipping what strips fill.
            let mut from = Side::Edge(left.1);
            let mut from_t = left.0;
            for span in filled {
                if span.to <= from_t || span.from >= right.0 {
                    continue;
                }
                if span.from > from_t {
                    out.push(trapezium((lo, hi), from, Side::At(span.from)));
                }
                (from, from_t) = (Side::At(span.to), span.to);
            }
            if from_t < right.0 {
                out.push(trapezium((lo, hi), from, Side::Edge(right.1)));
            }
        }
    }
    out
}

/// One side of a trapezium: a strip's end or an edge of the target.
#[derive(Clone, Copy)]
enum Side<'a> {
    At(f64),
    Edge(&'a Edge),
}

impl Side<'_> {
    fn t_at(self, s: f64) -> f64 {
        match self {
            Self::At(t) => t,
            Self::Edge(edge) => edge.t_at(s),
        }
    }
}

fn trapezium(s: (f64, f64), left: Side<'_>, right: Side<'_>) -> Trapezium {
    let row = |s: f64| {
        let from = left.t_at(s);
        (from, right.t_at(s).max(from))
    };
    Trapezium {
        s,
        lower: row(s.0),
        upper: row(s.1),
    }
}

fn levels(target: &Boundary, strips: &[Strip], bands: &Bands) -> Vec<f64> {
    let mut levels: Vec<f64> = bands.levels().to_vec();
    for edge in &target.edges {
        levels.push(edge.from.y);
        let (least, greatest) = (edge.from.y.min(edge.to.y), edge.from.y.max(edge.to.y));
        for strip in strips {
            if strip.across.to <= least || strip.across.from >= greatest {
                continue;
            }
            for t in [strip.along.from, strip.along.to] {
                levels.extend(
                    s_at(edge, t).filter(|s| strip.across.from < *s && *s < strip.across.to),
                );
            }
        }
    }
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels
}

/// The ground that trapezia make up, pitch metres.
///
/// United in the direction's own frame, where the trapezia's common sides lie exactly on the
/// grid, and turned to the pitch afterwards.
#[must_use]
pub fn united(trapezia: &[Trapezium], frame: &DirectionFrame) -> MultiPolygon<f64> {
    let parts: Vec<MultiPolygon<f64>> = trapezia
        .iter()
        .map(|one| {
            let mut ring = LineString(one.corners().to_vec());
            ring.0.dedup();
            ring.close();
            MultiPolygon(vec![Polygon::new(ring, Vec::new())])
        })
        .collect();
    region::union(&parts).map_coords(|at| frame.to_pitch(at))
}

/// The ring of a trapezium on the pitch, anticlockwise.
#[must_use]
pub fn ring(trapezium: &Trapezium, frame: &DirectionFrame) -> LineString<f64> {
    let corners = trapezium.corners().map(|at| frame.to_pitch(at));
    let mut ring = LineString(corners.to_vec());
    ring.close();
    ring
}
