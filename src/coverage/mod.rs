//! What the strips really cover: worked, overlapped, missed, outside, and how often.

use geo::Polygon;

/// Areas of one direction's strips against its target, square metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Coverage {
    /// Sum over strips of the area of the strip within the target.
    pub strip_area_m2: f64,
    /// Area of the union of strips within the target.
    pub covered_m2: f64,
    /// `strip_area_m2 - covered_m2`.
    pub overlap_m2: f64,
    /// `target - covered_m2`.
    pub missed_m2: f64,
    /// Area of the union of strips outside the target.
    pub outside_m2: f64,
    /// The part of `outside_m2` that is off the outline.
    pub outside_pitch_m2: f64,
}

/// A place that was missed.
#[derive(Debug, Clone)]
pub struct MissedPlace {
    /// Its ground, pitch metres.
    pub shape: Polygon<f64>,
    /// Its area, square metres.
    pub area_m2: f64,
}
