//! Values that turns and orders of lines come to where no wall counts.

use std::f64::consts::{FRAC_PI_2, PI};

use swardlane::route::dubins;
use swardlane::route::links::{metres, tenths};
use swardlane::route::order::{Costs, Effort, FORBIDDEN, Node, Place, neighbour, solve};
use swardlane::route::path::{Bend, Path, Piece, Radii};
use swardlane::route::pose::Pose;
use swardlane::route::reeds_shepp::{self, Changes};
use swardlane::route::words::Word;

use super::drivers::{Got, Input, Results, number, numbers, word};

/// Where the turns without poses of their own begin.
const START: Pose = Pose::new(0.0, 0.0, 0.0);

/// Pieces shorter than this are left out of a word, metres.
const NO_PIECE_M: f64 = 1e-6;

fn radii(input: &Input) -> Result<Radii, String> {
    Ok(Radii::both(number(input, "radius_m")?))
}

fn pose(input: &Input, which: &str) -> Result<Pose, String> {
    let of = |key: &str| number(input, &format!("{which}_{key}"));
    Ok(Pose::new(of("x_m")?, of("y_m")?, of("deg")?.to_radians()))
}

/// The pose on a line so far to the left, driven the other way.
fn on_line_beside(apart_m: f64) -> Pose {
    Pose::new(0.0, apart_m, PI)
}

/// The shortest forward word between two poses, and whether it is one of those named.
pub fn dubins_word(input: &Input) -> Results {
    let (from, to) = (pose(input, "from")?, pose(input, "to")?);
    let found = dubins::shortest(from, to, radii(input)?);
    let letters = found.letters();
    let is_one = word(input, "words")?.split(' ').any(|one| one == letters);
    let mut results = numbers([("length_m", found.length_m())])?;
    results.insert("is_one_of_these_words".to_owned(), Got::Yes(is_one));
    Ok(results)
}

fn dubins_to_line_beside(input: &Input) -> Result<Word, String> {
    let to = on_line_beside(number(input, "lines_apart_m")?);
    Ok(dubins::shortest(START, to, radii(input)?))
}

pub fn dubins_beside(input: &Input) -> Results {
    numbers([("length_m", dubins_to_line_beside(input)?.length_m())])
}

/// A quarter circle, straight back and a quarter circle.
pub fn fishtail(input: &Input) -> Results {
    let radii = radii(input)?;
    let apart_m = number(input, "lines_apart_m")?;
    let back_m = 2.0 * radii.left_m - apart_m;
    if back_m < 0.0 {
        return Err(format!("lines {apart_m} m apart need no way back"));
    }
    let quarter = Piece::forwards(Bend::Left, FRAC_PI_2 * radii.left_m);
    let back = Piece::backwards(Bend::Straight, back_m);
    let path = Path::new(START, radii, [quarter, back, quarter]);
    let line = on_line_beside(apart_m);
    let reaches =
        path.end().distance_m(line) < 1e-9 && path.end().heading_difference_rad(line) < 1e-9;
    let mut results = numbers([
        ("length_m", path.length_m()),
        ("changes", path.changes() as f64),
    ])?;
    results.insert("reaches_the_line".to_owned(), Got::Yes(reaches));
    Ok(results)
}

/// How far an omega goes ahead, and how broad it is.
pub fn omega_extent(input: &Input) -> Results {
    let omega = dubins_to_line_beside(input)?;
    let path = Path::new(START, radii(input)?, omega.iter().copied());
    let points = path.points(1e-8);
    let ahead = points.iter().map(|point| point.x);
    let low = points
        .iter()
        .map(|point| point.y)
        .fold(f64::INFINITY, f64::min);
    let high = points
        .iter()
        .map(|point| point.y)
        .fold(f64::NEG_INFINITY, f64::max);
    numbers([
        ("depth_m", ahead.fold(f64::NEG_INFINITY, f64::max)),
        ("breadth_m", high - low),
    ])
}

/// The cheapest word where changes of direction cost nothing.
fn reeds_shepp_to(from: Pose, to: Pose, radii: Radii) -> Word {
    reeds_shepp::cheapest(from, to, radii, &Changes::FREE)
}

/// Left, back to the right, left by the same angle: where that leads, and the shortest way
/// there.
pub fn about_face(input: &Input) -> Results {
    let radii = radii(input)?;
    let arc_m = number(input, "arc_deg")?.to_radians() * radii.left_m;
    let left = Piece::forwards(Bend::Left, arc_m);
    let right = Piece::backwards(Bend::Right, arc_m);
    let end = Path::new(START, radii, [left, right, left]).end();
    numbers([
        ("end_x_m", end.at.x),
        ("end_y_m", end.at.y),
        ("end_deg", end.heading_rad.to_degrees()),
        ("length_m", reeds_shepp_to(START, end, radii).length_m()),
    ])
}

fn reeds_shepp_of(input: &Input) -> Result<Word, String> {
    let (from, to) = (pose(input, "from")?, pose(input, "to")?);
    Ok(reeds_shepp_to(from, to, radii(input)?))
}

/// The pieces of a word that have a length.
fn driven(word: &Word) -> impl Iterator<Item = Piece> {
    let pieces = word.iter().filter(|piece| piece.length_m > NO_PIECE_M);
    pieces.copied()
}

pub fn reeds_shepp_arcs(input: &Input) -> Results {
    let found = reeds_shepp_of(input)?;
    let arcs = driven(&found).filter(|piece| piece.bend != Bend::Straight);
    numbers([
        ("length_m", found.length_m()),
        ("arcs", arcs.count() as f64),
    ])
}

pub fn reeds_shepp_word(input: &Input) -> Results {
    let found = reeds_shepp_of(input)?;
    let letters: String = driven(&found)
        .map(|piece| Word::of([piece]).letters())
        .collect();
    let mut results = numbers([("length_m", found.length_m())])?;
    results.insert("word".to_owned(), Got::Word(letters));
    Ok(results)
}

pub fn reeds_shepp_to_near_lines(input: &Input) -> Results {
    let radii = radii(input)?;
    let length_m = |share: f64| {
        let to = on_line_beside(share * radii.left_m);
        reeds_shepp_to(START, to, radii).length_m()
    };
    numbers([
        ("to_0_radii_m", length_m(0.0)),
        ("to_1_radius_m", length_m(1.0)),
        ("to_2_radii_m", length_m(2.0)),
    ])
}

/// Parallel lines so far apart, numbered from 0, on which only turns count.
struct Lines {
    radii: Radii,
    spacing_m: f64,
    count: usize,
}

impl Lines {
    fn of(input: &Input) -> Result<Self, String> {
        let count = number(input, "lines")?;
        if !(2.0..=40.0).contains(&count) {
            return Err(format!("{count} lines"));
        }
        Ok(Self {
            radii: radii(input)?,
            spacing_m: number(input, "spacing_m")?,
            count: count as usize,
        })
    }

    /// The turn from one line to another, driven forwards where no wall counts.
    fn turn_m(&self, from: usize, to: usize) -> f64 {
        let to = on_line_beside(self.spacing_m * from.abs_diff(to) as f64);
        dubins::shortest(START, to, self.radii).length_m()
    }

    /// The table of the lines from `first` on: a turn leads to a line driven the other way.
    fn costs(&self, first: usize) -> Costs {
        let places = (first..self.count).map(|line| Place {
            offset_m: self.spacing_m * line as f64,
            position_m: 0.0,
        });
        Costs::by_rule(places.collect(), |from, to| {
            if from % 2 == to % 2 {
                FORBIDDEN
            } else {
                tenths(self.turn_m(first + from / 2, first + to / 2))
            }
        })
    }

    /// The turns between lines in this sequence, added up.
    fn length_m(&self, lines: &[usize]) -> f64 {
        lines
            .windows(2)
            .map(|pair| self.turn_m(pair[0], pair[1]))
            .sum()
    }
}

/// The order found: the lines it leads over, `lines` being those with what closes the tour.
fn order_found(costs: &Costs, lines: &Lines, sequence: impl Fn(&[Node]) -> Vec<usize>) -> Results {
    let solved = solve(costs, Effort::Normal, None)
        .map_err(|none| format!("no order, proven: {}", none.is_proven))?;
    if costs.order_cost(&solved.order) != solved.cost {
        return Err("the order costs something else than what is said".to_owned());
    }
    let mut results = numbers([
        ("length_m", lines.length_m(&sequence(&solved.order))),
        ("table_cost_m", metres(solved.cost)),
    ])?;
    let once = costs.is_complete(&solved.order);
    results.insert("each_line_once".to_owned(), Got::Yes(once));
    results.insert("is_best".to_owned(), Got::Yes(solved.is_best()));
    Ok(results)
}

pub fn in_order(input: &Input) -> Results {
    let lines = Lines::of(input)?;
    let (order, _) = neighbour(&lines.costs(0)).ok_or("no order line after line")?;
    let sequence: Vec<usize> = order.iter().map(|node| node / 2).collect();
    numbers([("length_m", lines.length_m(&sequence))])
}

pub fn open_path(input: &Input) -> Results {
    let lines = Lines::of(input)?;
    order_found(&lines.costs(0), &lines, |order| {
        order.iter().map(|node| node / 2).collect()
    })
}

/// Line 1 is where the route comes from and goes back to: it is left along the heading, so the
/// lines after and before it are driven against it.
pub fn closed_tour(input: &Input) -> Results {
    let lines = Lines::of(input)?;
    let mut costs = lines.costs(1);
    for node in 0..costs.nodes() {
        let cost = if node % 2 == 0 {
            FORBIDDEN
        } else {
            tenths(lines.turn_m(0, 1 + node / 2))
        };
        costs.set_start(node, cost);
        costs.set_end(node, cost);
    }
    order_found(&costs, &lines, |order| {
        let between = order.iter().map(|node| 1 + node / 2);
        std::iter::once(0).chain(between).chain([0]).collect()
    })
}
