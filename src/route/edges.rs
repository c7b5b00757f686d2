//! Boundary edges of a region, in bundles that can be passed over quickly.

use geo::{LineString, MultiPolygon};

use crate::space::Xy;

/// Edges in one bundle.
const BUNDLE: usize = 8;

/// A rectangle along the axes of the pitch frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Extent {
    pub(super) low: Xy,
    pub(super) high: Xy,
}

impl Extent {
    /// Of no point at all.
    pub(super) const EMPTY: Self = Self {
        low: Xy {
            x: f64::INFINITY,
            y: f64::INFINITY,
        },
        high: Xy {
            x: f64::NEG_INFINITY,
            y: f64::NEG_INFINITY,
        },
    };

    /// With this point too.
    pub(super) const fn with(self, point: Xy) -> Self {
        Self {
            low: Xy {
                x: self.low.x.min(point.x),
                y: self.low.y.min(point.y),
            },
            high: Xy {
                x: self.high.x.max(point.x),
                y: self.high.y.max(point.y),
            },
        }
    }

    /// Wider by this much all round.
    pub(super) const fn widened(self, by_m: f64) -> Self {
        Self {
            low: Xy {
                x: self.low.x - by_m,
                y: self.low.y - by_m,
            },
            high: Xy {
                x: self.high.x + by_m,
                y: self.high.y + by_m,
            },
        }
    }

    /// What both have in common, perhaps nothing.
    pub(super) const fn within(self, other: Self) -> Self {
        Self {
            low: Xy {
                x: self.low.x.max(other.low.x),
                y: self.low.y.max(other.low.y),
            },
            high: Xy {
                x: self.high.x.min(other.high.x),
                y: self.high.y.min(other.high.y),
            },
        }
    }

    /// Whether the other lies wholly within this one.
    pub(super) fn holds(&self, other: &Self) -> bool {
        self.low.x <= other.low.x
            && self.low.y <= other.low.y
            && other.high.x <= self.high.x
            && other.high.y <= self.high.y
    }

    /// Whether they touch or overlap.
    pub(super) fn meets(&self, other: &Self) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
    }
}

/// One edge: where it begins, its direction and length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    pub(super) from: Xy,
    pub(super) unit: Xy,
    pub(super) length_m: f64,
}

impl Edge {
    /// The extent of its points, to rounding.
    pub(super) fn extent(&self) -> Extent {
        Extent::EMPTY.with(self.from).with(Xy {
            x: self.from.x + self.length_m * self.unit.x,
            y: self.from.y + self.length_m * self.unit.y,
        })
    }

    /// The edge between two points; none where they are one.
    pub(super) fn between(from: Xy, to: Xy) -> Option<Self> {
        let (dx, dy) = (to.x - from.x, to.y - from.y);
        let length_m = dx.hypot(dy);
        (length_m > 0.0 && length_m.is_finite()).then(|| Self {
            from,
            unit: Xy {
                x: dx / length_m,
                y: dy / length_m,
            },
            length_m,
        })
    }

    pub(super) fn to(&self) -> Xy {
        Xy {
            x: self.from.x + self.length_m * self.unit.x,
            y: self.from.y + self.length_m * self.unit.y,
        }
    }

    /// The square of its least distance from a point.
    pub(super) fn distance_squared(&self, point: Xy) -> f64 {
        let (dx, dy) = (point.x - self.from.x, point.y - self.from.y);
        let along_m = (dx * self.unit.x + dy * self.unit.y).clamp(0.0, self.length_m);
        let (ex, ey) = (dx - along_m * self.unit.x, dy - along_m * self.unit.y);
        ex * ex + ey * ey
    }
}

/// The edges of a region's rings.
#[derive(Debug, Clone, Default)]
pub(super) struct Edges {
    edges: Vec<Edge>,
    /// Extents of each run of [`BUNDLE`] edges.
    bundles: Vec<Extent>,
    rings: Vec<Ring>,
}

#[derive(Debug, Clone)]
struct Ring {
    extent: Extent,
    first_bundle: usize,
    end_bundle: usize,
    /// Edges of its own; what fills its last bundle comes after them.
    count: usize,
}

impl Edges {
    /// The boundary of a region, moved out of it by `out_m`, a hair.
    pub(super) fn of(region: &MultiPolygon<f64>, out_m: f64) -> Self {
        let mut edges = Self::default();
        for polygon in &region.0 {
            edges.add(polygon.exterior(), out_m);
            for hole in polygon.interiors() {
                edges.add(hole, -out_m);
            }
        }
        edges
    }

    /// Adds a ring, moved away from its inside by `out_m`.
    fn add(&mut self, ring: &LineString<f64>, out_m: f64) {
        let corners = moved(&distinct(ring), out_m);
        if corners.len() < 3 {
            return;
        }
        let first_bundle = self.bundles.len();
        // Bundles never hold edges of two rings, so each ring's last one may be short; it is
        // filled with its last edge again.
        let mut own: Vec<Edge> = (0..corners.len())
            .filter_map(|i| Edge::between(corners[i], corners[(i + 1) % corners.len()]))
            .collect();
        let Some(&last) = own.last() else { return };
        let count = own.len();
        own.resize(own.len().div_ceil(BUNDLE) * BUNDLE, last);
        let mut ring_extent = Extent::EMPTY;
        for bundle in own.chunks(BUNDLE) {
            let extent = bundle.iter().fold(Extent::EMPTY, |extent, edge| {
                extent.with(edge.from).with(edge.to())
            });
            ring_extent = ring_extent.with(extent.low).with(extent.high);
            self.bundles.push(extent);
        }
        self.edges.extend(own);
        self.rings.push(Ring {
            extent: ring_extent,
            first_bundle,
            end_bundle: self.bundles.len(),
            count,
        });
    }

    /// Whether some edge in a bundle that meets `extent` does.
    pub(super) fn any(&self, extent: &Extent, mut does: impl FnMut(&Edge) -> bool) -> bool {
        self.rings
            .iter()
            .filter(|ring| ring.extent.meets(extent))
            .any(|ring| {
                (ring.first_bundle..ring.end_bundle)
                    .filter(|&bundle| self.bundles[bundle].meets(extent))
                    .any(|bundle| {
                        self.edges[bundle * BUNDLE..(bundle + 1) * BUNDLE]
                            .iter()
                            .any(&mut does)
                    })
            })
    }

    /// The edges of a ring, each once.
    fn own(&self, ring: &Ring) -> &[Edge] {
        let first = ring.first_bundle * BUNDLE;
        &self.edges[first..first + ring.count]
    }

    /// All edges, each once.
    pub(super) fn iter(&self) -> impl Iterator<Item = &Edge> {
        self.rings.iter().flat_map(|ring| self.own(ring))
    }

    /// Whether a point lies within the region, by counting crossings; on its boundary either.
    pub(super) fn hold(&self, point: Xy) -> bool {
        let mut inside = false;
        for ring in &self.rings {
            let extent = &ring.extent;
            if point.y < extent.low.y || point.y > extent.high.y || point.x > extent.high.x {
                continue;
            }
            let own = self.own(ring);
            for (edge, next) in own.iter().zip(own.iter().cycle().skip(1)) {
                let to = next.from;
                if (edge.from.y > point.y) != (to.y > point.y) {
                    let at_x = edge.from.x
                        + (point.y - edge.from.y) / (to.y - edge.from.y) * (to.x - edge.from.x);
                    inside ^= point.x < at_x;
                }
            }
        }
        inside
    }

    /// The extent of all rings.
    pub(super) fn extent(&self) -> Extent {
        self.rings.iter().fold(Extent::EMPTY, |extent, ring| {
            extent.with(ring.extent.low).with(ring.extent.high)
        })
    }
}

/// The corners of a ring, none twice in a row, without the closing one.
fn distinct(ring: &LineString<f64>) -> Vec<Xy> {
    let mut corners: Vec<Xy> = ring
        .0
        .iter()
        .copied()
        .filter(|corner| corner.x.is_finite() && corner.y.is_finite())
        .collect();
    corners.dedup();
    while corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    corners
}

/// Corners of a ring moved away from its inside, mitred (a spike's tip at most ten times as
/// far).
fn moved(corners: &[Xy], out_m: f64) -> Vec<Xy> {
    let n = corners.len();
    if n < 3 || out_m == 0.0 {
        return corners.to_vec();
    }
    let origin = corners[0];
    let twice_area: f64 = (0..n)
        .map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % n]);
            (a.x - origin.x) * (b.y - origin.y) - (b.x - origin.x) * (a.y - origin.y)
        })
        .sum();
    let out_m = out_m * twice_area.signum();
    // To the right of each edge: the outside of an anticlockwise ring.
    let right = |i: usize| {
        let (a, b) = (corners[i], corners[(i + 1) % n]);
        let length = (b.x - a.x).hypot(b.y - a.y);
        ((b.y - a.y) / length, (a.x - b.x) / length)
    };
    (0..n)
        .map(|i| {
            let (before, after) = (right((i + n - 1) % n), right(i));
            let spread = (1.0 + before.0 * after.0 + before.1 * after.1).max(0.1);
            Xy {
                x: corners[i].x + out_m * (before.0 + after.0) / spread,
                y: corners[i].y + out_m * (before.1 + after.1) / spread,
            }
        })
        .collect()
}
