//! What drives: turning radii, body, and a tool that hangs rigidly behind.

use super::path::Radii;

/// A strip may run along what is kept clear with this much over on each side (as passes are
/// laid), so the tool is taken that much narrower here too, metres.
const TRIM_M: f64 = 0.001;

/// A machine and its tool, seen from the middle of the rear axle, nose along +x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Machine {
    /// Least circles to the left and to the right.
    pub radii: Radii,
    /// The body.
    pub body: Body,
    /// Width of the tool, metres: a line across, [`Machine::reach_m`] behind the axle, rigid
    /// also in turns.
    pub tool_width_m: f64,
    /// How far behind the rear axle the tool works, metres.
    pub reach_m: f64,
    /// Whether it may drive backwards with the tool lifted.
    pub can_reverse: bool,
}

/// A body: a rectangle about the middle of the rear axle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Body {
    /// Width, metres.
    pub width_m: f64,
    /// From the rear axle forwards, metres.
    pub ahead_m: f64,
    /// From the rear axle backwards, metres.
    pub behind_m: f64,
}

impl Machine {
    /// The body as a rectangle.
    #[must_use]
    pub fn body_outline(&self) -> Outline {
        Outline {
            back_m: -self.body.behind_m,
            front_m: self.body.ahead_m,
            half_width_m: 0.5 * self.body.width_m,
        }
    }

    /// The tool as a rectangle of no depth, 1 mm narrower on each side, as strips are where they run
    /// along what is kept clear.
    #[must_use]
    pub fn tool_outline(&self) -> Outline {
        Outline {
            back_m: -self.reach_m,
            front_m: -self.reach_m,
            half_width_m: (0.5 * self.tool_width_m - TRIM_M).max(0.0),
        }
    }

    /// Distance of its farthest corner from the middle of the rear axle, metres.
    #[must_use]
    pub fn farthest_m(&self) -> f64 {
        self.body_outline()
            .farthest_m()
            .max(self.tool_outline().farthest_m())
    }
}

/// A rectangle that goes with the machine, symmetric about its middle line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outline {
    /// Its rear edge, metres ahead of the axle (so negative behind it).
    pub back_m: f64,
    /// Its front edge, metres ahead of the axle.
    pub front_m: f64,
    /// Half its width, metres.
    pub half_width_m: f64,
}

impl Outline {
    /// Its corners in the machine's frame, anticlockwise from the rear right one.
    #[must_use]
    pub const fn corners(&self) -> [(f64, f64); 4] {
        [
            (self.back_m, -self.half_width_m),
            (self.front_m, -self.half_width_m),
            (self.front_m, self.half_width_m),
            (self.back_m, self.half_width_m),
        ]
    }

    /// Whether another lies wholly in this one.
    #[must_use]
    pub fn holds(&self, other: &Self) -> bool {
        self.back_m <= other.back_m
            && other.front_m <= self.front_m
            && other.half_width_m <= self.half_width_m
    }

    fn farthest_m(&self) -> f64 {
        self.front_m
            .abs()
            .max(self.back_m.abs())
            .hypot(self.half_width_m)
    }
}
