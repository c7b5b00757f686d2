//! A part driven one way: where the tool is lowered and lifted, and what the ground takes off
//! its ends.
//!
//! The axle runs ahead of the tool by the machine's reach, so the pose at lowering is the
//! part's first end moved on by the reach, and the pose at lifting its last end likewise. Each
//! end is shortened by the least for which the machine, driven that way, can come in at it or
//! leave it ([`super::way_out`]).

use geo::LineString;
use rayon::prelude::*;

use super::machine::Machine;
use super::pose::Pose;
use super::terrain::Terrain;
use super::way_out::{Use, WayOut, way_out};
use crate::passes::{DirectionPasses, Part, Track, rounds};
use crate::space::Xy;

/// A part of a direction: indices into its passes and their parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PartOf {
    /// Index of the pass.
    pub pass: usize,
    /// Index of the part within it.
    pub part: usize,
}

/// A part driven one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The axle where the tool is lowered, after shortening.
    pub lowered: Pose,
    /// The axle where it is lifted.
    pub lifted: Pose,
    /// What is taken off the end it begins at, with the way in to it.
    pub way_in: WayOut,
    /// What is taken off the end it ends at, with the way out of it.
    pub way_out: WayOut,
}

/// Why a part cannot be driven one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stuck {
    /// The axle's pose at the end, unshortened.
    pub at: Pose,
    /// Which end it is, as driven.
    pub end: Use,
}

/// Both ways of driving each part of a direction, along the heading first, in the order of
/// passes and parts.
#[must_use]
pub fn both_ways(
    passes: &DirectionPasses,
    machine: &Machine,
    terrain: &Terrain,
) -> Vec<(PartOf, [Result<Run, Stuck>; 2])> {
    let parts: Vec<(PartOf, &Part)> = passes
        .passes
        .iter()
        .enumerate()
        .flat_map(|(pass, line)| {
            let parts = line.parts.iter().enumerate();
            parts.map(move |(part, of)| (PartOf { pass, part }, of))
        })
        .collect();
    parts
        .into_par_iter()
        .map(|(id, part)| {
            let ways = [false, true].map(|is_back| one_way(&part.track, is_back, machine, terrain));
            (id, ways)
        })
        .collect()
}

/// One way of driving a track.
fn one_way(
    track: &Track,
    is_back: bool,
    machine: &Machine,
    terrain: &Terrain,
) -> Result<Run, Stuck> {
    let ends = Ends::of(track, is_back);
    let lowered = ends.first.ahead(machine.reach_m);
    let lifted = ends.last.ahead(machine.reach_m);
    let way = |at: Pose, end: Use| {
        way_out(terrain, machine, at, end, ends.length_m).ok_or(Stuck { at, end })
    };
    let way_in = way(lowered, Use::ComesIn)?;
    let way_out = way(lifted, Use::Leaves)?;
    if way_in.shortened_m + way_out.shortened_m >= ends.length_m {
        let is_first = way_in.shortened_m > way_out.shortened_m;
        return Err(Stuck {
            at: if is_first { lowered } else { lifted },
            end: if is_first { Use::ComesIn } else { Use::Leaves },
        });
    }
    Ok(match track {
        Track::Straight { .. } => Run {
            lowered: lowered.ahead(way_in.shortened_m),
            lifted: lifted.ahead(-way_out.shortened_m),
            way_in,
            way_out,
        },
        Track::Round(_) => {
            // A round bends, so what is left of it says where it begins and ends.
            let left = shortened(track, is_back, way_in.shortened_m, way_out.shortened_m);
            let ends = Ends::of(&left, is_back);
            Run {
                lowered: ends.first.ahead(machine.reach_m),
                lifted: ends.last.ahead(machine.reach_m),
                way_in,
                way_out,
            }
        }
    })
}

/// The first and last pose of the tool on a track, and its length.
struct Ends {
    first: Pose,
    last: Pose,
    length_m: f64,
}

impl Ends {
    fn of(track: &Track, is_back: bool) -> Self {
        let line = line_of(track, is_back);
        let points = &line.0;
        let pose = |from: Xy, to: Xy, at: Xy| Pose {
            at,
            heading_rad: (to.y - from.y).atan2(to.x - from.x),
        };
        let (first, last) = match points.as_slice() {
            [a, b, .., y, z] => (pose(*a, *b, *a), pose(*y, *z, *z)),
            [a, .., z] => (pose(*a, *z, *a), pose(*a, *z, *z)),
            _ => {
                let at = points.first().copied().unwrap_or_default();
                (pose(at, at, at), pose(at, at, at))
            }
        };
        Self {
            first,
            last,
            length_m: rounds::length_m(&line),
        }
    }
}

/// A track as a line in the direction driven.
#[must_use]
pub fn line_of(track: &Track, is_back: bool) -> LineString<f64> {
    let mut line = match track {
        Track::Straight { from, to } => LineString(vec![*from, *to]),
        Track::Round(line) => line.clone(),
    };
    if is_back {
        line.0.reverse();
    }
    line
}

/// What is left of a track that loses some metres at the end it is begun at and some at the
/// other, in the track's own sense.
#[must_use]
pub fn shortened(track: &Track, is_back: bool, first_m: f64, last_m: f64) -> Track {
    if first_m <= 0.0 && last_m <= 0.0 {
        return track.clone();
    }
    let line = line_of(track, is_back);
    let length_m = rounds::length_m(&line);
    let mut left = stretch(&line, first_m, length_m - last_m);
    if is_back {
        left.0.reverse();
    }
    match (track, left.0.as_slice()) {
        (Track::Straight { .. }, &[from, .., to]) => Track::Straight { from, to },
        _ => Track::Round(left),
    }
}

/// The stretch of a line between two distances along it.
#[must_use]
pub fn stretch(line: &LineString<f64>, from_m: f64, to_m: f64) -> LineString<f64> {
    let mut points: Vec<Xy> = Vec::new();
    let mut along_m = 0.0;
    for chord in line.lines() {
        let length_m = chord.dx().hypot(chord.dy());
        let at = |distance_m: f64| {
            let share = (distance_m - along_m) / length_m;
            chord.start + chord.delta() * share
        };
        let ends_m = along_m + length_m;
        if length_m > 0.0 && ends_m > from_m && along_m < to_m {
            if points.is_empty() {
                points.push(if along_m >= from_m {
                    chord.start
                } else {
                    at(from_m)
                });
            }
            points.push(if ends_m <= to_m { chord.end } else { at(to_m) });
        }
        along_m = ends_m;
    }
    LineString(points)
}

/// The way of the axle along a track: the track moved on by the reach in the direction driven.
///
/// A straight is moved along itself. On a round the axle is ahead on the round by the reach,
/// and at its end goes on straight.
#[must_use]
pub fn axle_line(track: &Track, is_back: bool, reach_m: f64) -> LineString<f64> {
    let line = line_of(track, is_back);
    let ends = Ends::of(track, is_back);
    let last = ends.last.ahead(reach_m).at;
    let mut moved = stretch(&line, reach_m.min(ends.length_m), ends.length_m);
    match track {
        Track::Straight { .. } => LineString(vec![ends.first.ahead(reach_m).at, last]),
        Track::Round(_) => {
            if moved.0.is_empty() {
                moved.0.push(ends.first.ahead(reach_m).at);
            } else if reach_m > 0.0 {
                moved.0[0] = ends.first.ahead(reach_m).at;
            }
            if reach_m > 0.0 {
                moved.0.push(last);
            }
            moved
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn corner() -> LineString<f64> {
        LineString::from(vec![(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)])
    }

    #[test]
    fn a_stretch_keeps_the_corners_within_it() {
        let middle = stretch(&corner(), 1.0, 6.0);
        assert_eq!(
            middle,
            LineString::from(vec![(1.0, 0.0), (4.0, 0.0), (4.0, 2.0)])
        );
        assert_eq!(stretch(&corner(), 0.0, 7.0), corner());
        assert_eq!(
            stretch(&corner(), 4.0, 5.0),
            LineString::from(vec![(4.0, 0.0), (4.0, 1.0)])
        );
    }

    #[test]
    fn ends_are_taken_off_as_driven() {
        let track = Track::Straight {
            from: Xy { x: 0.0, y: 0.0 },
            to: Xy { x: 10.0, y: 0.0 },
        };
        let Track::Straight { from, to } = shortened(&track, true, 1.0, 2.5) else {
            unreachable!("a straight stays one");
        };
        assert_abs_diff_eq!(from.x, 2.5);
        assert_abs_diff_eq!(to.x, 9.0);
    }
}
