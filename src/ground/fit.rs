//! Fitting the rectangle: to corner marks of a stated size, or to a drawn outline.
//!
//! Both are least-squares fits in closed form. With the size fixed, turn and shift are
//! the rigid part of the Procrustes problem in the plane (Schönemann, Psychometrika 31,
//! 1966; from memory). With the sides free, the residual is a quadratic form in the sine
//! and cosine of the turn, so that twice the turn is an `atan2`.

use geo::{ConvexHull, Distance, Euclidean, LineString, MultiPoint, Point, Polygon};

use crate::job::model::Size;
use crate::space::Xy;

/// A rectangle in the plane: its centre, the direction of its long axis and its sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// The centre.
    pub centre: Xy,
    /// Unit vector of the long axis.
    pub axis: Xy,
    /// Along the axis, metres.
    pub length_m: f64,
    /// Across it, metres.
    pub width_m: f64,
}

impl Rectangle {
    /// The four corners, anticlockwise, starting at (-, -) in its own frame.
    #[must_use]
    pub fn corners(&self) -> [Xy; 4] {
        SIGNS.map(|(s, t)| {
            let (a, b) = (s * self.length_m / 2.0, t * self.width_m / 2.0);
            Xy {
                x: self.centre.x + a * self.axis.x - b * self.axis.y,
                y: self.centre.y + a * self.axis.y + b * self.axis.x,
            }
        })
    }

    /// Its boundary as a ring.
    #[must_use]
    pub fn ring(&self) -> LineString<f64> {
        let mut ring = LineString(self.corners().to_vec());
        ring.close();
        ring
    }
}

/// Signs of the corners in the rectangle's own frame, anticlockwise.
pub const SIGNS: [(f64, f64); 4] = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];

/// Fits a rectangle of stated size to marks, each a corner by its index in
/// [`Rectangle::corners`] (at least two different corners): turn and shift.
#[must_use]
pub fn of_size(size: Size, marks: &[(usize, Xy)]) -> Rectangle {
    let n = marks.len() as f64;
    let model = |corner: usize| {
        let (s, t) = SIGNS[corner % 4];
        Xy {
            x: s * size.length_m / 2.0,
            y: t * size.width_m / 2.0,
        }
    };
    let mean = |of: &dyn Fn(&(usize, Xy)) -> Xy| {
        marks.iter().map(of).fold(Xy::default(), |sum, at| sum + at) / n
    };
    let (model_mean, mark_mean) = (mean(&|m| model(m.0)), mean(&|m| m.1));
    let (mut dot, mut cross) = (0.0, 0.0);
    for &(corner, at) in marks {
        let (m, p) = (model(corner) - model_mean, at - mark_mean);
        dot += m.x * p.x + m.y * p.y;
        cross += m.x * p.y - m.y * p.x;
    }
    let axis = unit(Xy { x: dot, y: cross });
    let turned = Xy {
        x: model_mean.x * axis.x - model_mean.y * axis.y,
        y: model_mean.x * axis.y + model_mean.y * axis.x,
    };
    Rectangle {
        centre: mark_mean - turned,
        axis,
        length_m: size.length_m,
        width_m: size.width_m,
    }
}

/// Fits a rectangle with free sides to its four corners (in the order of
/// [`Rectangle::corners`]): turn, shift and both sides.
#[must_use]
pub fn free(corners: [Xy; 4]) -> Rectangle {
    let centre = corners.iter().fold(Xy::default(), |sum, &at| sum + at) / 4.0;
    let weighted = |sign: fn((f64, f64)) -> f64| {
        let pairs = SIGNS.iter().zip(corners);
        pairs.fold(Xy::default(), |sum, (&signs, at)| {
            sum + (at - centre) * sign(signs)
        }) / 4.0
    };
    // Half sides as functions of the turn: a = A·u and b = B·v with u the axis, v its left.
    let (a, b) = (weighted(|(s, _)| s), weighted(|(_, t)| t));
    let p = a.x * a.x + b.y * b.y;
    let q = a.y * a.y + b.x * b.x;
    let turn = (2.0 * (a.x * a.y - b.x * b.y)).atan2(p - q) / 2.0;
    let mut axis = Xy {
        x: turn.cos(),
        y: turn.sin(),
    };
    // Of the two senses of the axis take the one in which the corners' order holds.
    if a.x * axis.x + a.y * axis.y < 0.0 {
        axis = axis * -1.0;
    }
    Rectangle {
        centre,
        axis,
        length_m: 2.0 * (a.x * axis.x + a.y * axis.y),
        width_m: 2.0 * (b.y * axis.x - b.x * axis.y),
    }
}

/// The least-area rectangle about an outline: one side lies on an edge of the hull
/// (Freeman and Shapira, Communications of the ACM 18, 1975; from memory). The axis is
/// along the longer side. `None` for an outline without extent.
#[must_use]
pub fn least_area(outline: &Polygon<f64>) -> Option<Rectangle> {
    let points = MultiPoint::from(outline.exterior().0.clone());
    let hull = points.convex_hull();
    let mut best: Option<(f64, Rectangle)> = None;
    for line in hull.exterior().lines() {
        let length = line.dx().hypot(line.dy());
        if length <= 0.0 {
            continue;
        }
        let u = Xy {
            x: line.dx() / length,
            y: line.dy() / length,
        };
        let extent = |along: &dyn Fn(Xy) -> f64| {
            let values = hull.exterior().0.iter().map(|&at| along(at));
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), value| {
                (lo.min(value), hi.max(value))
            })
        };
        let (u_lo, u_hi) = extent(&|at| at.x * u.x + at.y * u.y);
        let (v_lo, v_hi) = extent(&|at| at.y * u.x - at.x * u.y);
        let (along, across) = (u_hi - u_lo, v_hi - v_lo);
        let (u_mid, v_mid) = (f64::midpoint(u_lo, u_hi), f64::midpoint(v_lo, v_hi));
        let centre = Xy {
            x: u_mid * u.x - v_mid * u.y,
            y: u_mid * u.y + v_mid * u.x,
        };
        let rectangle = if along >= across {
            Rectangle {
                centre,
                axis: u,
                length_m: along,
                width_m: across,
            }
        } else {
            let axis = Xy { x: -u.y, y: u.x };
            Rectangle {
                centre,
                axis,
                length_m: across,
                width_m: along,
            }
        };
        // A later edge must be better by more than rounding, so that ties fall alike.
        if best.is_none_or(|(area, _)| along * across < area - 1e-9) {
            best = Some((along * across, rectangle));
        }
    }
    best.map(|(_, rectangle)| rectangle)
}

/// Fits a rectangle to an outline: its four corners are the vertices nearest the
/// least-area rectangle's; turn, shift and both sides are fitted to them. A stated size then
/// takes the place of the fitted sides, about the same centre.
///
/// `None` where the outline has no extent or two corners share a vertex.
#[must_use]
pub fn to_outline(outline: &Polygon<f64>, size: Option<Size>) -> Option<Rectangle> {
    let around = least_area(outline)?;
    let vertices = &outline.exterior().0;
    let vertices = &vertices[..vertices.len().saturating_sub(1)];
    let nearest = |corner: Xy| {
        vertices.iter().copied().min_by(|a, b| {
            let distance = |at: &Xy| (at.x - corner.x).hypot(at.y - corner.y);
            distance(a).total_cmp(&distance(b))
        })
    };
    let [a, b, c, d] = around.corners().map(nearest);
    let corners = [a?, b?, c?, d?];
    let all_differ = (0..4).all(|i| (i + 1..4).all(|j| corners[i] != corners[j]));
    if !all_differ {
        return None;
    }
    let free = free(corners);
    if !(free.length_m > 0.0 && free.width_m > 0.0) {
        return None;
    }
    Some(match size {
        Some(Size { length_m, width_m }) => Rectangle {
            length_m,
            width_m,
            ..free
        },
        None => free,
    })
}

/// The largest distance of an outline's vertices from the rectangle's boundary, metres.
#[must_use]
pub fn outline_misfit_m(rectangle: &Rectangle, outline: &Polygon<f64>) -> f64 {
    let ring = rectangle.ring();
    let distances = outline.exterior().0.iter();
    distances
        .map(|&at| Euclidean.distance(&Point::from(at), &ring))
        .fold(0.0, f64::max)
}

/// The largest distance of marks from their corners, metres.
#[must_use]
pub fn mark_misfit_m(rectangle: &Rectangle, marks: &[(usize, Xy)]) -> f64 {
    let corners = rectangle.corners();
    let distances = marks.iter().map(|&(corner, at)| {
        let away = at - corners[corner % 4];
        away.x.hypot(away.y)
    });
    distances.fold(0.0, f64::max)
}

fn unit(v: Xy) -> Xy {
    let length = v.x.hypot(v.y);
    if length > 0.0 {
        v / length
    } else {
        Xy { x: 1.0, y: 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn rectangle() -> Rectangle {
        let (sin, cos) = 0.7_f64.sin_cos();
        Rectangle {
            centre: Xy { x: 12.0, y: -7.0 },
            axis: Xy { x: cos, y: sin },
            length_m: 101.3,
            width_m: 64.2,
        }
    }

    #[test]
    fn a_true_rectangle_is_found_again_with_free_sides() {
        let found = free(rectangle().corners());
        assert_abs_diff_eq!(found.length_m, 101.3, epsilon = 1e-9);
        assert_abs_diff_eq!(found.width_m, 64.2, epsilon = 1e-9);
        assert_abs_diff_eq!(found.axis.x, rectangle().axis.x, epsilon = 1e-12);
        assert_abs_diff_eq!(found.axis.y, rectangle().axis.y, epsilon = 1e-12);
    }

    #[test]
    fn any_two_marks_of_a_stated_size_find_the_rectangle() {
        let corners = rectangle().corners();
        let size = Size {
            length_m: 101.3,
            width_m: 64.2,
        };
        for (i, j) in [(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)] {
            let found = of_size(size, &[(i, corners[i]), (j, corners[j])]);
            assert_abs_diff_eq!(found.centre.x, 12.0, epsilon = 1e-9);
            assert_abs_diff_eq!(found.centre.y, -7.0, epsilon = 1e-9);
            assert_abs_diff_eq!(found.axis.y, rectangle().axis.y, epsilon = 1e-12);
        }
    }

    #[test]
    fn no_small_change_fits_four_disturbed_corners_better() {
        let mut corners = rectangle().corners();
        for (k, corner) in corners.iter_mut().enumerate() {
            corner.x += 0.3 * (k as f64 * 1.7).sin();
            corner.y += 0.2 * (k as f64 * 2.9).cos();
        }
        let residual = |r: &Rectangle| -> f64 {
            let pairs = r.corners().into_iter().zip(corners);
            pairs
                .map(|(a, b)| (a.x - b.x).powi(2) + (a.y - b.y).powi(2))
                .sum()
        };
        let found = free(corners);
        let least = residual(&found);
        for sign in [-1.0, 1.0] {
            let step: f64 = 1e-4 * sign;
            let (sin, cos) = step.sin_cos();
            let turned = Xy {
                x: found.axis.x * cos - found.axis.y * sin,
                y: found.axis.x * sin + found.axis.y * cos,
            };
            for changed in [
                Rectangle {
                    axis: turned,
                    ..found
                },
                Rectangle {
                    length_m: found.length_m + step,
                    ..found
                },
                Rectangle {
                    width_m: found.width_m + step,
                    ..found
                },
                Rectangle {
                    centre: found.centre + Xy { x: step, y: 0.0 },
                    ..found
                },
                Rectangle {
                    centre: found.centre + Xy { x: 0.0, y: step },
                    ..found
                },
            ] {
                assert!(residual(&changed) > least);
            }
        }
    }
}
