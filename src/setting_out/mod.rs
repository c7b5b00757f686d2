//! Setting out by tape: where each end of a pass lies, told from a corner flag along a line of
//! the fitted rectangle, as a person measures it who has no terminal.
//!
//! 1. A pass, prolonged both ways, crosses the lines of the rectangle (each prolonged beyond its
//!    flags). An end is told on the line that is crossed nearest to it, along the pass.
//! 2. Every line has one flag for a whole direction: the one to the right of the heading, or to
//!    the left where the lines are laid out from a line on that side. So the tape is hooked once
//!    a line, figures grow with every pass, and the set begins at the flag.
//! 3. Distances are from that flag's corner, never from one pass to the next: a slip stays with
//!    its own pass. They are below zero before the flag and longer than the line beyond the other.
//! 4. The edge that rides the string is the one towards the flag, so that an outer strip that is
//!    flush with the rectangle has its string at 0.00.
//! 5. How far the tool is dropped or lifted beyond the line is measured square to the line.
//!
//! Perimeter rounds cross no line: they are told by how far in from the edge of the work they lie.

pub mod squares;

use std::collections::BTreeSet;

use geo::LineString;

use crate::ground::Ground;
use crate::job::model::{Operation, Start};
use crate::passes::{DirectionPasses, Part, Track};
use crate::region;
use crate::route::legs::Route;
use crate::space::{Compass, Corner, Xy};
use crate::zones::Piece;

/// A pass that leads towards a line by less than this (the sine of the angle between them) runs
/// beside it and crosses it nowhere: a heading given in degrees, less the bearing, leaves up to
/// 1e-15, and a crossing at 1e-9 lies further off than the earth is large.
const PARALLEL: f64 = 1e-9;

/// Two lines crossed so equally near, metres, are taken in the order goal lines, then touch
/// lines; the place is the same.
const EQUALLY_NEAR_M: f64 = 1e-6;

/// The left or the right, of a heading or of travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// To the left.
    Left,
    /// To the right.
    Right,
}

impl Hand {
    /// The word in files and on sheets.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

/// A line of the fitted rectangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    /// By which point of the compass it lies.
    pub side: Compass,
    /// A goal line rather than a touch line.
    pub is_goal_line: bool,
}

impl Line {
    /// The line by that point of the compass.
    #[must_use]
    pub fn of(ground: &Ground, side: Compass) -> Self {
        Self {
            side,
            is_goal_line: ground.names.is_end(side),
        }
    }

    /// `south goal line`.
    #[must_use]
    pub fn name(self) -> String {
        let kind = if self.is_goal_line { "goal" } else { "touch" };
        format!("{} {kind} line", self.side.name())
    }

    /// Its length, metres.
    #[must_use]
    pub const fn length_m(self, ground: &Ground) -> f64 {
        if self.is_goal_line {
            ground.width_m
        } else {
            ground.length_m
        }
    }

    /// Its two corners.
    fn corners(self) -> impl Iterator<Item = Corner> {
        let others = Compass::ALL.into_iter();
        others.filter_map(move |other| Corner::between(self.side, other))
    }
}

/// The passes of one direction as a tape tells them.
#[derive(Debug, Clone)]
pub struct Tape {
    /// On which side of the heading the flags stand that distances are counted from.
    pub flags: Hand,
    /// The straight parts, by pass and part.
    pub parts: Vec<TapedPart>,
    /// The rounds, by pass.
    pub rounds: Vec<TapedRound>,
}

/// A straight part by its two ends, as driven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TapedPart {
    /// The pass, by its number.
    pub pass: usize,
    /// The part, by its number.
    pub part: usize,
    /// Which edge of the tool rides the string, as seen in travel.
    pub edge: Hand,
    /// Where the tool is dropped.
    pub start: TapedEnd,
    /// Where it is lifted.
    pub stop: TapedEnd,
    /// From one to the other, metres.
    pub length_m: f64,
}

/// Where an end lies. Distances are metres along the line from the flag's corner of the fitted
/// rectangle, towards the line's other corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TapedEnd {
    /// The line that the centre line crosses nearest to the end.
    pub line: Line,
    /// The flag from which is measured.
    pub flag: Corner,
    /// To where the centre line crosses.
    pub centre_m: f64,
    /// To where the edge that rides the string crosses.
    pub edge_m: f64,
    /// How far beyond the line the end lies, square to it; below 0 before the line.
    pub lift_m: f64,
}

/// How far in from the edge of the work a round lies, square to the edge, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TapedRound {
    /// The pass, by its number.
    pub pass: usize,
    /// Its centre line.
    pub centre_m: f64,
    /// Its outer edge, which rides the string.
    pub edge_m: f64,
}

/// Which parts a drive works against their heading.
#[derive(Debug, Clone, Default)]
pub struct DrivenBack(BTreeSet<(usize, usize, usize)>);

impl DrivenBack {
    /// Those of a drive; none where nothing is driven: every part is then taken along its heading.
    #[must_use]
    pub fn of(route: Option<&Route>) -> Self {
        let legs = route.into_iter().flat_map(|route| &route.legs);
        let worked = legs.filter_map(|leg| leg.worked);
        let back = worked.filter(|worked| worked.is_back);
        Self(
            back.map(|worked| (worked.direction, worked.pass, worked.part))
                .collect(),
        )
    }

    fn has(&self, direction: usize, pass: usize, part: usize) -> bool {
        self.0.contains(&(direction, pass, part))
    }
}

/// A direction, by its number from 1, as a tape tells it.
#[must_use]
pub fn tape(
    ground: &Ground,
    operation: &Operation,
    pieces: &[Piece],
    (number, passes): (usize, &DirectionPasses),
    back: &DrivenBack,
) -> Tape {
    let mut tape = Tape {
        flags: Hand::Right,
        parts: Vec::new(),
        rounds: Vec::new(),
    };
    if let Some(angle) = passes.angle {
        let along = angle.unit();
        tape.flags = flags(ground, operation, along);
        let lines = crossed(ground, along, tape.flags);
        for pass in &passes.passes {
            for part in &pass.parts {
                let is_back = back.has(number, pass.number, part.number);
                tape.parts.extend(taped(
                    (pass.number, part),
                    (along, is_back),
                    &lines,
                    tape.flags,
                ));
            }
        }
    } else {
        for pass in &passes.passes {
            let piece = pass
                .piece
                .checked_sub(1)
                .and_then(|index| pieces.get(index));
            let inset_m = piece.and_then(|piece| inset_m(&pass.parts, piece));
            let width_m = pass.parts.first().map(|part| part.width_m);
            if let (Some(centre_m), Some(width_m)) = (inset_m, width_m) {
                tape.rounds.push(TapedRound {
                    pass: pass.number,
                    centre_m,
                    edge_m: centre_m - width_m / 2.0,
                });
            }
        }
    }
    tape
}

/// To the left of a direction.
fn left(along: Xy) -> Xy {
    Xy {
        x: -along.y,
        y: along.x,
    }
}

fn dot(a: Xy, b: Xy) -> f64 {
    a.x * b.x + a.y * b.y
}

/// The side of the heading where the flags stand: that from which the lines are laid out.
fn flags(ground: &Ground, operation: &Operation, along: Xy) -> Hand {
    match operation.start {
        Start::From { side, .. } if dot(ground.names.outward(side), left(along)) > 0.0 => {
            Hand::Left
        }
        _ => Hand::Right,
    }
}

/// A line that a direction crosses, and where its tape is hooked.
struct Crossed {
    line: Line,
    flag: Corner,
    /// The flag's corner, pitch metres.
    corner: Xy,
    /// Unit vector from the flag along the line.
    inwards: Xy,
    /// Unit vector outwards, square to the line.
    outwards: Xy,
    /// From the pitch's centre to the line, metres.
    away_m: f64,
    /// The sine of the angle between pass and line; above 0 where the heading leads outwards.
    sine: f64,
}

/// The lines that a direction crosses, goal lines first.
fn crossed(ground: &Ground, along: Xy, flags: Hand) -> Vec<Crossed> {
    let names = ground.names;
    let ends = [names.plus_x, names.minus_x()];
    let sides = [names.plus_y, names.minus_y()];
    let lines = ends.into_iter().chain(sides).filter_map(|side| {
        let line = Line::of(ground, side);
        let outwards = names.outward(side);
        let sine = dot(along, outwards);
        if sine.abs() < PARALLEL {
            return None;
        }
        let to_the_flag = |corner: Corner| {
            let to_left = dot(names.corner_signs(corner), left(along));
            match flags {
                Hand::Right => -to_left,
                Hand::Left => to_left,
            }
        };
        let flag = line
            .corners()
            .max_by(|&a, &b| to_the_flag(a).total_cmp(&to_the_flag(b)))?;
        let signs = names.corner_signs(flag);
        Some(Crossed {
            line,
            flag,
            corner: ground.corner(flag),
            inwards: outwards - signs,
            outwards,
            away_m: if line.is_goal_line {
                ground.length_m / 2.0
            } else {
                ground.width_m / 2.0
            },
            sine,
        })
    });
    lines.collect()
}

/// A straight part as a tape tells it; `None` for a round.
fn taped(
    (pass, part): (usize, &Part),
    (along, is_back): (Xy, bool),
    lines: &[Crossed],
    flags: Hand,
) -> Option<TapedPart> {
    let Track::Straight { from, to } = part.track else {
        return None;
    };
    let end = |at: Xy| taped_end(at, along, part.width_m, lines);
    let run = to - from;
    let (start, stop, edge) = if is_back {
        (to, from, flags.other())
    } else {
        (from, to, flags)
    };
    Some(TapedPart {
        pass,
        part: part.number,
        edge,
        start: end(start)?,
        stop: end(stop)?,
        length_m: run.x.hypot(run.y),
    })
}

/// An end on the line that the pass crosses nearest to it.
fn taped_end(at: Xy, along: Xy, width_m: f64, lines: &[Crossed]) -> Option<TapedEnd> {
    let mut nearest: Option<(f64, &Crossed)> = None;
    for line in lines {
        let ahead_m = (line.away_m - dot(at, line.outwards)) / line.sine;
        let is_nearer =
            nearest.is_none_or(|(least_m, _)| ahead_m.abs() < least_m.abs() - EQUALLY_NEAR_M);
        if is_nearer {
            nearest = Some((ahead_m, line));
        }
    }
    let (ahead_m, line) = nearest?;
    let crossing = at + along * ahead_m;
    let centre_m = dot(crossing - line.corner, line.inwards);
    Some(TapedEnd {
        line: line.line,
        flag: line.flag,
        centre_m,
        // The edge towards the flag lies half a width aside; along the line it is that much
        // further as the pass is slanted to it.
        edge_m: centre_m - width_m / 2.0 / line.sine.abs(),
        lift_m: dot(at, line.outwards) - line.away_m,
    })
}

/// How far in from the boundary of its piece a round lies: from the middle of its longest side,
/// which runs beside the boundary; at rounded corners it lies elsewhere.
fn inset_m(parts: &[Part], piece: &Piece) -> Option<f64> {
    let sides = parts.iter().flat_map(|part| match &part.track {
        Track::Round(line) => line.lines().collect(),
        Track::Straight { .. } => Vec::new(),
    });
    let length = |side: &geo::Line<f64>| side.dx().hypot(side.dy());
    let longest = sides.max_by(|a, b| length(a).total_cmp(&length(b)))?;
    let middle = (longest.start + longest.end) / 2.0;
    region::rings(&piece.zones)
        .flat_map(LineString::lines)
        .map(|side| away_m(middle, side))
        .min_by(f64::total_cmp)
}

/// From a place to a straight line between two places, metres.
fn away_m(from: Xy, line: geo::Line<f64>) -> f64 {
    let run = line.end - line.start;
    let length_2 = dot(run, run);
    let share = if length_2 > 0.0 {
        (dot(from - line.start, run) / length_2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let way = from - (line.start + run * share);
    way.x.hypot(way.y)
}
