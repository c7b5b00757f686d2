//! The plane that a site is measured in, and lines laid into it.

use crate::found::FoundLine;
use crate::ground::frame::{Frame, Projector};
use crate::space::{Heading, Position, Xy};

/// No thing that reaches further from the middle of its site is measured, metres: the scale of
/// the plane is then more than three in a hundred thousand off.
const REACH_M: f64 = 50_000.0;
/// A line that leaves its chord by no more is straight, metres.
const STRAIGHT_M: f64 = 0.05;

/// The plane of a site: +x east, +y north at its middle.
pub(super) struct Plane {
    projector: Option<Projector>,
}

impl Plane {
    pub(super) fn at(origin: Position) -> Self {
        let frame = Frame {
            origin,
            bearing: Heading::from_deg(90.0),
            crs: None,
            crs_accuracy_m: None,
        };
        Self {
            projector: frame.open().ok(),
        }
    }

    /// The places of a run; `None` where one of them lies too far away.
    pub(super) fn places(&self, run: &[Position]) -> Option<Vec<Xy>> {
        let projector = self.projector.as_ref()?;
        run.iter()
            .map(|at| {
                let at = projector.pitch(*at).ok()?;
                (at.x.abs() <= REACH_M && at.y.abs() <= REACH_M).then_some(at)
            })
            .collect()
    }
}

/// A line in the plane.
pub(super) struct Laid {
    pub length_m: f64,
    /// Of a straight one.
    pub heading_deg: Option<f64>,
    pub middle: Xy,
}

impl Laid {
    pub(super) fn of(plane: &Plane, line: &FoundLine) -> Option<Self> {
        let run = plane.places(&line.positions)?;
        let (first, last) = (*run.first()?, *run.last()?);
        let lengths = run.windows(2).map(|pair| length(pair[1] - pair[0]));
        let chord = last - first;
        Some(Self {
            length_m: lengths.sum(),
            heading_deg: (bend_m(&run) <= STRAIGHT_M && length(chord) > 0.0)
                .then(|| Heading::from_deg(chord.x.atan2(chord.y).to_degrees()).deg()),
            middle: (first + last) / 2.0,
        })
    }
}

pub(super) fn length(way: Xy) -> f64 {
    way.x.hypot(way.y)
}

/// How far a run leaves the stretch from its first place to its last, metres.
pub(in crate::found) fn bend_m(run: &[Xy]) -> f64 {
    let (Some(&first), Some(&last)) = (run.first(), run.last()) else {
        return 0.0;
    };
    let chord = last - first;
    let chord_m = length(chord);
    let away = |at: &Xy| {
        let from = *at - first;
        if chord_m == 0.0 {
            return length(from);
        }
        let along = (from.x * chord.x + from.y * chord.y) / chord_m;
        let across = (from.x * chord.y - from.y * chord.x) / chord_m;
        across.hypot(along - along.clamp(0.0, chord_m))
    };
    run.iter().map(away).fold(0.0, f64::max)
}
