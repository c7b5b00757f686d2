//! Where a machine stands and which way its nose points.

use std::f64::consts::TAU;

use super::path::{Bend, Piece, Radii};
use crate::space::Xy;

/// The place of the middle of the rear axle in the pitch frame and the direction of the
/// nose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// The middle of the rear axle, pitch metres.
    pub at: Xy,
    /// Where the nose points: a mathematical angle in the pitch frame, radians, not folded.
    pub heading_rad: f64,
}

impl Pose {
    /// A pose at (`x`, `y`) pitch metres with the nose at `heading_rad`.
    #[must_use]
    pub const fn new(x: f64, y: f64, heading_rad: f64) -> Self {
        Self {
            at: Xy { x, y },
            heading_rad,
        }
    }

    /// The pose at the end of a piece driven from here.
    #[must_use]
    pub fn after(self, piece: &Piece, radii: Radii) -> Self {
        Stance::of(self).after(piece, radii).pose
    }

    /// The pose moved along its own heading by `by_m` metres, backwards where negative.
    #[must_use]
    pub fn ahead(self, by_m: f64) -> Self {
        let (sin, cos) = self.heading_rad.sin_cos();
        Self::new(
            self.at.x + by_m * cos,
            self.at.y + by_m * sin,
            self.heading_rad,
        )
    }

    /// The middle of the circle driven with full lock to that side; the place itself for
    /// straight on.
    #[must_use]
    pub fn centre(self, bend: Bend, radii: Radii) -> Xy {
        Stance::of(self).centre(bend, radii)
    }

    /// Distance between two poses' places, metres.
    #[must_use]
    pub fn distance_m(self, other: Self) -> f64 {
        (other.at.x - self.at.x).hypot(other.at.y - self.at.y)
    }

    /// The least angle between two poses' headings, radians (0 to pi).
    #[must_use]
    pub fn heading_difference_rad(self, other: Self) -> f64 {
        let difference = (self.heading_rad - other.heading_rad).rem_euclid(TAU);
        difference.min(TAU - difference)
    }
}

/// A pose with the cosine and sine of its heading, which cost more than all else that is done
/// with it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stance {
    pub(super) pose: Pose,
    pub(super) cos: f64,
    pub(super) sin: f64,
}

impl Stance {
    pub(super) fn of(pose: Pose) -> Self {
        let (sin, cos) = pose.heading_rad.sin_cos();
        Self { pose, cos, sin }
    }

    /// The same as [`Pose::after`].
    pub(super) fn after(&self, piece: &Piece, radii: Radii) -> Self {
        let way_m = piece.signed_m();
        let at = self.pose.at;
        match piece.bend {
            Bend::Straight => Self {
                pose: Pose::new(
                    at.x + way_m * self.cos,
                    at.y + way_m * self.sin,
                    self.pose.heading_rad,
                ),
                ..*self
            },
            bend => {
                let lever = bend.sign() * radii.of(bend);
                let heading_rad = self.pose.heading_rad + way_m / lever;
                let (sin, cos) = heading_rad.sin_cos();
                Self {
                    pose: Pose::new(
                        at.x + lever * (sin - self.sin),
                        at.y - lever * (cos - self.cos),
                        heading_rad,
                    ),
                    cos,
                    sin,
                }
            }
        }
    }

    /// The same as [`Pose::centre`].
    pub(super) const fn centre(&self, bend: Bend, radii: Radii) -> Xy {
        let lever = bend.sign() * radii.of(bend);
        Xy {
            x: self.pose.at.x - lever * self.sin,
            y: self.pose.at.y + lever * self.cos,
        }
    }
}

/// An angle folded into [0, 2 pi), where what lies a hair below 2 pi is 0: a whole turn that
/// only rounding asks for is never driven.
pub(super) fn folded(angle_rad: f64) -> f64 {
    /// At 100 m from the centre this is 1e-8 m.
    const HAIR_RAD: f64 = 1e-10;
    let folded = angle_rad - TAU * (angle_rad / TAU).floor();
    if folded < TAU - HAIR_RAD {
        folded.max(0.0)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_PI_2, PI};

    use super::*;
    use approx::assert_abs_diff_eq;

    const RADII: Radii = Radii {
        left_m: 2.0,
        right_m: 3.0,
    };

    fn check(bend: Bend, length_m: f64, reverse: bool, x: f64, y: f64, heading_rad: f64) {
        let end = Pose::new(0.0, 0.0, 0.0).after(
            &Piece {
                bend,
                length_m,
                reverse,
            },
            RADII,
        );
        assert_abs_diff_eq!(end.at.x, x, epsilon = 1e-12);
        assert_abs_diff_eq!(end.at.y, y, epsilon = 1e-12);
        assert_abs_diff_eq!(end.heading_rad, heading_rad, epsilon = 1e-12);
    }

    #[test]
    fn quarter_turns_end_where_the_radius_of_that_side_says() {
        check(Bend::Left, PI, false, 2.0, 2.0, FRAC_PI_2);
        check(Bend::Right, 1.5 * PI, false, 3.0, -3.0, -FRAC_PI_2);
        check(Bend::Left, PI, true, -2.0, 2.0, -FRAC_PI_2);
        check(Bend::Right, 1.5 * PI, true, -3.0, -3.0, FRAC_PI_2);
        check(Bend::Straight, 4.0, true, -4.0, 0.0, 0.0);
    }

    #[test]
    fn a_whole_turn_that_rounding_asks_for_is_none() {
        assert_abs_diff_eq!(folded(-1e-13), 0.0);
        assert_abs_diff_eq!(folded(3.0 * TAU + 1.0), 1.0, epsilon = 1e-12);
    }
}
