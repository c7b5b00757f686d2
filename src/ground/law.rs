//! Sizes of the field of play: IFAB, Laws of the Game, Law 1 "The Field of Play".
//!
//! All distances are measured to the outside of the lines, and along the goal line from
//! the inside of the posts.

/// Least and greatest touch line, metres (Law 1, dimensions).
pub const TOUCH_LINE_M: (f64, f64) = (90.0, 120.0);
/// Least and greatest goal line, metres (Law 1, dimensions).
pub const GOAL_LINE_M: (f64, f64) = (45.0, 90.0);
/// The same for international matches: touch line, metres.
pub const INTERNATIONAL_TOUCH_LINE_M: (f64, f64) = (100.0, 110.0);
/// The same for international matches: goal line, metres.
pub const INTERNATIONAL_GOAL_LINE_M: (f64, f64) = (64.0, 75.0);
/// The greatest width of a line, metres.
pub const LINE_WIDTH_MAX_M: f64 = 0.12;
/// Distance between the inner edges of the goalposts, metres.
pub const GOAL_WIDTH_M: f64 = 7.32;
/// The goal area: from each post along the goal line and into the field, metres.
pub const GOAL_AREA_M: f64 = 5.5;
/// The penalty area: from each post along the goal line and into the field, metres.
pub const PENALTY_AREA_M: f64 = 16.5;
/// The penalty mark's distance from the goal line, metres.
pub const PENALTY_MARK_M: f64 = 11.0;
/// Radius of the centre circle and of the penalty arc, metres.
pub const CIRCLE_RADIUS_M: f64 = 9.15;
/// Radius of the corner arc, metres.
pub const CORNER_ARC_M: f64 = 1.0;

/// Width of the goal area along the goal line, metres: 18.32.
pub const GOAL_AREA_WIDTH_M: f64 = GOAL_WIDTH_M + 2.0 * GOAL_AREA_M;
/// Width of the penalty area along the goal line, metres: 40.32.
pub const PENALTY_AREA_WIDTH_M: f64 = GOAL_WIDTH_M + 2.0 * PENALTY_AREA_M;

/// Whether a field of that size lies within Law 1: touch line 90 to 120 m, goal line 45 to
/// 90 m, the touch line longer than the goal line.
#[must_use]
pub fn is_law_1(length_m: f64, width_m: f64) -> bool {
    within(length_m, TOUCH_LINE_M) && within(width_m, GOAL_LINE_M) && length_m > width_m
}

/// Whether a field of that size serves international matches: 100 to 110 m by 64 to 75 m.
#[must_use]
pub fn is_international(length_m: f64, width_m: f64) -> bool {
    within(length_m, INTERNATIONAL_TOUCH_LINE_M) && within(width_m, INTERNATIONAL_GOAL_LINE_M)
}

fn within(value: f64, (least, greatest): (f64, f64)) -> bool {
    (least..=greatest).contains(&value)
}
