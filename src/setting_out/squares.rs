//! Squares first: what proves the four flags to be a rectangle before anything is measured from
//! them, and by how much the grass differs from it.

use super::{Line, away_m, dot};
use crate::ground::Ground;
use crate::space::{Compass, Corner, Xy};

/// The 3-4-5 triangle is enlarged so many times, the largest that fits: at 8 its three sides are
/// 96 m, which one tape of 100 m goes round.
const TIMES: [u8; 7] = [8, 6, 5, 4, 3, 2, 1];

/// A vertex of the outline belongs to every side that is nearest to it within this, metres.
const EQUALLY_NEAR_M: f64 = 1e-3;

/// What to check the fitted rectangle by.
#[derive(Debug, Clone)]
pub struct Squares {
    /// The length of each of its diagonals, metres.
    pub diagonal_m: f64,
    /// A right-angled triangle at a flag: along the goal line, along the touch line, and across
    /// between the two, metres; 3 to 4 to 5, as large as fits. `None` on a pitch too small for it.
    pub triangle_m: Option<[f64; 3]>,
    /// Where the grass differs from each line, north, east, south, west.
    pub sides: [Differs; 4],
}

/// By how much the outline of the pitch differs from one line of the rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Differs {
    /// The line.
    pub line: Line,
    /// How far the outline reaches beyond it at most, metres; 0 where it does not.
    pub beyond_m: f64,
    /// How far the outline stops short of it at most, metres; 0 where it does not.
    pub short_m: f64,
}

impl Differs {
    /// The larger of the two, metres.
    #[must_use]
    pub const fn most_m(&self) -> f64 {
        self.beyond_m.max(self.short_m)
    }
}

impl Squares {
    /// Those of a ground.
    #[must_use]
    pub fn of(ground: &Ground) -> Self {
        let (length_m, width_m) = (ground.length_m, ground.width_m);
        let triangles = TIMES.map(|times| [3.0, 4.0, 5.0].map(|side| side * f64::from(times)));
        let fits = |[goal_m, touch_m, _]: &[f64; 3]| *goal_m <= width_m && *touch_m <= length_m;
        Self {
            diagonal_m: length_m.hypot(width_m),
            triangle_m: triangles.into_iter().find(fits),
            sides: Compass::ALL.map(|side| differs(ground, side)),
        }
    }

    /// The largest difference of any side, metres.
    #[must_use]
    pub fn most_m(&self) -> f64 {
        self.sides.iter().map(Differs::most_m).fold(0.0, f64::max)
    }
}

/// The difference of one side: over the vertices of the outline nearest to it, and those that
/// are the outline's corners at its two flags. Between two vertices the outline is straight, so
/// that it is nowhere further off.
fn differs(ground: &Ground, side: Compass) -> Differs {
    let outwards = ground.names.outward(side);
    let line = Line::of(ground, side);
    let away_m = dot(ends(ground, side).start, outwards);
    let vertices = &ground.outline.exterior().0;
    let corners = line.corners().filter_map(|flag| {
        let flag = ground.corner(flag);
        let far = |vertex: &&Xy| (vertex.x - flag.x).hypot(vertex.y - flag.y);
        vertices
            .iter()
            .min_by(|a, b| far(a).total_cmp(&far(b)))
            .copied()
    });
    let nearest = vertices.iter().copied().filter(|&vertex| {
        let far_m = |side| self::away_m(vertex, ends(ground, side));
        let least_m = Compass::ALL
            .map(far_m)
            .into_iter()
            .fold(f64::INFINITY, f64::min);
        far_m(side) <= least_m + EQUALLY_NEAR_M
    });
    let mut found = Differs {
        line,
        beyond_m: 0.0,
        short_m: 0.0,
    };
    for vertex in corners.chain(nearest) {
        let beyond_m = dot(vertex, outwards) - away_m;
        found.beyond_m = found.beyond_m.max(beyond_m);
        found.short_m = found.short_m.max(-beyond_m);
    }
    found
}

/// A line of the rectangle from flag to flag, pitch metres.
fn ends(ground: &Ground, side: Compass) -> geo::Line<f64> {
    let mut corners = Line::of(ground, side).corners();
    let mut next = || {
        corners
            .next()
            .map_or_else(Xy::default, |corner: Corner| ground.corner(corner))
    };
    geo::Line::new(next(), next())
}
