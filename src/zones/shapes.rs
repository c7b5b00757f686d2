//! The shapes that zones and regions are cut from, by Law 1's markings on the fitted
//! rectangle.
//!
//! Shapes at the edge run on outwards: a place outside the rectangle belongs to a shape
//! where the nearest place of the rectangle does, so that a drawn outline that bulges over
//! a line leaves no sliver beside it.

use geo::{BoundingRect, LineString, MultiPolygon, Polygon};

use super::ZoneKind;
use crate::ground::{Ground, curves, law};
use crate::space::{Compass, Corner, Xy};

/// Width of a goalmouth beyond each post, metres (common practice, no source).
const GOALMOUTH_BESIDE_M: f64 = 2.0;
/// Radius of the worn place about a penalty mark, metres (common practice, no source).
const PENALTY_SPOT_RADIUS_M: f64 = 1.5;
/// Radius of the worn place at a corner flag, metres (common practice, no source).
const CORNER_RADIUS_M: f64 = 3.0;
/// Radius of the worn core of the centre circle, metres (common practice, no source).
const CENTRE_SPOT_RADIUS_M: f64 = 3.0;
/// Width of the worn strip from goal to goal, metres (common practice, no source).
const CENTRE_STRIP_WIDTH_M: f64 = 20.0;
/// How far beyond everything a shape runs on, metres.
const BEYOND_M: f64 = 1.0;

/// A shape of the markings, before it is cut at the outline.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    pub kind: ZoneKind,
    pub name: String,
    pub wear: u8,
    /// The corners of the marking itself, by which it is judged whether it fits.
    pub corners: Vec<Xy>,
    /// Its ground, run on outwards.
    pub ground: Polygon<f64>,
}

/// All shapes of the markings by precedence, the wings (what is left) excepted; ends in the
/// order +x, -x.
pub(super) fn of_markings(ground: &Ground) -> Vec<Shape> {
    let ends = [ground.names.plus_x, ground.names.minus_x()];
    let mut shapes = Vec::new();
    for end in ends {
        let width_m = law::GOAL_WIDTH_M + 2.0 * GOALMOUTH_BESIDE_M;
        let kind = ZoneKind::Goalmouth;
        shapes.push(at_goal_line(
            ground,
            end,
            kind,
            5,
            width_m,
            law::GOAL_AREA_M,
        ));
    }
    for end in ends {
        let (width_m, deep_m) = (law::GOAL_AREA_WIDTH_M, law::GOAL_AREA_M);
        shapes.push(at_goal_line(
            ground,
            end,
            ZoneKind::SixYard,
            4,
            width_m,
            deep_m,
        ));
    }
    for end in ends {
        let outward = ground.names.outward(end);
        let centre = outward * (ground.length_m / 2.0 - law::PENALTY_MARK_M);
        let name = format!("penalty-spot-{}", end.name());
        shapes.push(round(
            ZoneKind::PenaltySpot,
            name,
            4,
            centre,
            PENALTY_SPOT_RADIUS_M,
        ));
    }
    for end in ends {
        let (width_m, deep_m) = (law::PENALTY_AREA_WIDTH_M, law::PENALTY_AREA_M);
        shapes.push(at_goal_line(ground, end, ZoneKind::Box, 3, width_m, deep_m));
    }
    shapes.extend(Corner::ALL.map(|corner| at_corner(ground, corner)));
    let centre = Xy::default();
    let spot = ("centre-spot".to_owned(), CENTRE_SPOT_RADIUS_M);
    shapes.push(round(ZoneKind::CentreSpot, spot.0, 4, centre, spot.1));
    let circle = ("centre-circle".to_owned(), law::CIRCLE_RADIUS_M);
    shapes.push(round(ZoneKind::CentreCircle, circle.0, 3, centre, circle.1));
    shapes.push(centre_strip(ground));
    shapes
}

/// The two halves of the pitch by the long axis, for the wings: (name of the side, ground).
pub(super) fn halves(ground: &Ground) -> [(Compass, MultiPolygon<f64>); 2] {
    let reach = reach_m(ground);
    [1.0, -1.0].map(|sign| {
        let side = if sign > 0.0 {
            ground.names.plus_y
        } else {
            ground.names.minus_y()
        };
        let half = rectangle(
            Xy {
                x: -reach.x,
                y: 0.0,
            },
            Xy {
                x: reach.x,
                y: sign * reach.y,
            },
        );
        (side, MultiPolygon(vec![half]))
    })
}

/// The shape of `goal-area-…` and `penalty-area-…`, run on outwards.
pub(super) fn area_at(ground: &Ground, end: Compass, is_goal_area: bool) -> Shape {
    let (width_m, deep_m) = if is_goal_area {
        (law::GOAL_AREA_WIDTH_M, law::GOAL_AREA_M)
    } else {
        (law::PENALTY_AREA_WIDTH_M, law::PENALTY_AREA_M)
    };
    at_goal_line(ground, end, ZoneKind::Box, 0, width_m, deep_m)
}

/// Half sides of a box about the origin that holds outline and rectangle with room.
fn reach_m(ground: &Ground) -> Xy {
    let (mut x, mut y) = (ground.length_m / 2.0, ground.width_m / 2.0);
    if let Some(bounds) = ground.outline.bounding_rect() {
        x = x.max(bounds.max().x).max(-bounds.min().x);
        y = y.max(bounds.max().y).max(-bounds.min().y);
    }
    Xy {
        x: x + BEYOND_M,
        y: y + BEYOND_M,
    }
}

/// A rectangle by two opposite corners, anticlockwise.
fn rectangle(one: Xy, other: Xy) -> Polygon<f64> {
    let (x0, x1) = (one.x.min(other.x), one.x.max(other.x));
    let (y0, y1) = (one.y.min(other.y), one.y.max(other.y));
    let ring = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)];
    Polygon::new(LineString::from(ring.to_vec()), Vec::new())
}

fn at_goal_line(
    ground: &Ground,
    end: Compass,
    kind: ZoneKind,
    wear: u8,
    width_m: f64,
    deep_m: f64,
) -> Shape {
    let sign = ground.names.outward(end).x;
    let (line_m, half_m) = (ground.length_m / 2.0, width_m / 2.0);
    let inner = sign * (line_m - deep_m);
    let corners = [line_m * sign, inner].map(|x| [Xy { x, y: half_m }, Xy { x, y: -half_m }]);
    let outer = sign * reach_m(ground).x;
    Shape {
        kind,
        name: format!("{}-{}", kind.name().replace('_', "-"), end.name()),
        wear,
        corners: corners.concat(),
        ground: rectangle(
            Xy {
                x: inner,
                y: -half_m,
            },
            Xy {
                x: outer,
                y: half_m,
            },
        ),
    }
}

fn round(kind: ZoneKind, name: String, wear: u8, centre: Xy, radius_m: f64) -> Shape {
    let ground = curves::disc(centre, radius_m);
    Shape {
        kind,
        name,
        wear,
        corners: ground.exterior().0.clone(),
        ground,
    }
}

fn at_corner(ground: &Ground, corner: Corner) -> Shape {
    let flag = ground.corner(corner);
    let signs = ground.names.corner_signs(corner);
    // The quarter of the circle that looks into the pitch.
    let quarter = match (signs.x > 0.0, signs.y > 0.0) {
        (false, false) => 0,
        (true, false) => 1,
        (true, true) => 2,
        (false, true) => 3,
    };
    let arc = curves::quarter_arc(flag, CORNER_RADIUS_M, quarter);
    let reach = reach_m(ground);
    let mut ring = arc.clone();
    // From the arc's last corner out over one line, round the flag, back over the other.
    let outside = |at: Xy| {
        if at.x == flag.x {
            Xy {
                x: signs.x * reach.x,
                y: at.y,
            }
        } else {
            Xy {
                x: at.x,
                y: signs.y * reach.y,
            }
        }
    };
    if let (Some(&first), Some(&last)) = (arc.first(), arc.last()) {
        ring.push(outside(last));
        ring.push(Xy {
            x: signs.x * reach.x,
            y: signs.y * reach.y,
        });
        ring.push(outside(first));
    }
    let mut corners = arc;
    corners.push(flag);
    Shape {
        kind: ZoneKind::Corner,
        name: format!("corner-{}", corner.name()),
        wear: 3,
        corners,
        ground: Polygon::new(LineString(ring), Vec::new()),
    }
}

fn centre_strip(ground: &Ground) -> Shape {
    let half = Xy {
        x: ground.length_m / 2.0,
        y: CENTRE_STRIP_WIDTH_M / 2.0,
    };
    let strip = rectangle(half * -1.0, half);
    Shape {
        kind: ZoneKind::CentreStrip,
        name: "centre-strip".to_owned(),
        wear: 3,
        corners: strip.exterior().0.clone(),
        ground: strip,
    }
}
