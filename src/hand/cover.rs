//! The fewest squares of a lattice that cover worn places.
//!
//! A lattice is free to be shifted along both lines of the pitch, and how many of its squares
//! hold something worn depends on the shift. For **points** the number changes only where a
//! line of the lattice passes over a point, so one shift between each two neighbouring such
//! events, in both directions, is enough: the fewest of those is the fewest of all. Of shifts
//! as good, the one is taken that keeps the points furthest from the sides of their squares.
//!
//! For a drawn **outline** the shifts that lay a line of the lattice on one of its corners are
//! tried in each direction, and an even grid of others. That is the fewest of all where its
//! sides run with the lines of the pitch; on slanted sides it is a good one, not proven. Points
//! near the outline take its lattice.

use std::collections::{BTreeMap, BTreeSet};

use geo::{BoundingRect, MultiPolygon, Polygon};

use super::blocks::Square;
use crate::space::Xy;

/// Residues nearer than this are one, in sides of a square.
const ALIKE: f64 = 1e-9;

/// Shifts of an even grid that are tried each way for an outline.
const EVEN_SHIFTS: usize = 12;

/// Not more shifts than this are laid a line on a corner, each way.
const CORNER_SHIFTS: usize = 24;

/// A column and row of a lattice.
type Cell = (i64, i64);

/// The squares that hold all points and share ground with the outline, where there is one: a
/// lattice to each group of points. Those of the outline first, then by group in the order of
/// their first points; within a lattice by row and column.
pub(super) fn squares_over(
    worn: &[Xy],
    outline: Option<&Polygon<f64>>,
    side_m: f64,
) -> Vec<Square> {
    let groups = groups(worn, side_m);
    let Some((mut cells, shift)) = outline.map(|outline| area(outline, side_m)) else {
        return groups
            .iter()
            .flat_map(|group| of_group(group, side_m))
            .collect();
    };
    let drawn = squares(&cells, shift, side_m);
    // Squares of a lattice of its own could else overlap those of the outline.
    let is_near = |at: &Xy| {
        drawn.iter().any(|square| {
            let off = *at - square.middle();
            off.x.abs().max(off.y.abs()) < 2.5 * side_m
        })
    };
    let (near, far): (Vec<Vec<Xy>>, Vec<Vec<Xy>>) = groups
        .into_iter()
        .partition(|group| group.iter().any(&is_near));
    cells.extend(near.iter().flatten().map(|&at| cell_of(at / side_m, shift)));
    let mut all = squares(&cells, shift, side_m);
    all.extend(far.iter().flat_map(|group| of_group(group, side_m)));
    all
}

fn cell_of(scaled: Xy, shift: Xy) -> Cell {
    (floor(scaled.x - shift.x), floor(scaled.y - shift.y))
}

/// Points nearer than two sides each way, directly or by others between them, share a lattice:
/// squares of different lattices could else overlap.
fn groups(worn: &[Xy], side_m: f64) -> Vec<Vec<Xy>> {
    let mut group_of: Vec<usize> = (0..worn.len()).collect();
    for i in 0..worn.len() {
        for j in 0..i {
            let off = worn[i] - worn[j];
            let (a, b) = (group_of[i], group_of[j]);
            if a != b && off.x.abs().max(off.y.abs()) < 2.0 * side_m {
                let renamed = group_of.iter_mut().filter(|group| **group == a.max(b));
                renamed.for_each(|group| *group = a.min(b));
            }
        }
    }
    let mut groups: BTreeMap<usize, Vec<Xy>> = BTreeMap::new();
    for (at, group) in worn.iter().zip(group_of) {
        groups.entry(group).or_default().push(*at);
    }
    groups.into_values().collect()
}

/// A shift between two neighbouring residues of points, in sides, and how far it keeps off them.
#[derive(Debug, Clone, Copy)]
struct Shift {
    at: f64,
    margin: f64,
}

/// One shift between each two neighbouring residues.
fn shifts(ordinates: impl Iterator<Item = f64>) -> Vec<Shift> {
    let mut residues: Vec<f64> = ordinates.map(|value| value.rem_euclid(1.0)).collect();
    residues.sort_by(f64::total_cmp);
    residues.dedup_by(|a, b| (*a - *b).abs() < ALIKE);
    let next = |index: usize| match residues.get(index + 1) {
        Some(&next) => next,
        None => residues.first().map_or(1.0, |first| first + 1.0),
    };
    let between = residues.iter().enumerate().map(|(index, &residue)| Shift {
        at: f64::midpoint(residue, next(index)),
        margin: (next(index) - residue) / 2.0,
    });
    // Where all residues are as good as one, a gap of nought may be left at the turn.
    between.filter(|shift| shift.margin > ALIKE).collect()
}

/// A point that changes its row: its index, the row it leaves and the row it comes to.
type Move = (usize, i64, i64);

/// The fewest squares for points of one group.
///
/// As the shift of the rows grows, each point changes its row once; so for each shift of the
/// columns the rows are swept once, with the number of points of each square kept.
fn of_group(points: &[Xy], side_m: f64) -> Vec<Square> {
    let scaled: Vec<Xy> = points.iter().map(|&at| at / side_m).collect();
    let columns = shifts(scaled.iter().map(|at| at.x));
    let rows = shifts(scaled.iter().map(|at| at.y));
    let row_of = |at: &Xy, shift: &Shift| floor(at.y - shift.at);
    let moves: Vec<Vec<Move>> = rows
        .windows(2)
        .map(|pair| {
            let moved = scaled.iter().enumerate().filter_map(|(index, at)| {
                let (before, after) = (row_of(at, &pair[0]), row_of(at, &pair[1]));
                (before != after).then_some((index, before, after))
            });
            moved.collect()
        })
        .collect();
    let mut best: Option<(usize, f64, Xy)> = None;
    for column in &columns {
        let xs: Vec<i64> = scaled.iter().map(|at| floor(at.x - column.at)).collect();
        let mut cells: BTreeMap<Cell, usize> = BTreeMap::new();
        for (index, row) in rows.iter().enumerate() {
            if index == 0 {
                for (&x, at) in xs.iter().zip(&scaled) {
                    *cells.entry((x, row_of(at, row))).or_default() += 1;
                }
            } else {
                for &(point, before, after) in &moves[index - 1] {
                    leave(&mut cells, (xs[point], before));
                    *cells.entry((xs[point], after)).or_default() += 1;
                }
            }
            let margin = column.margin.min(row.margin);
            let is_better = best.is_none_or(|(count, kept_off, _)| {
                cells.len() < count || (cells.len() == count && margin > kept_off + ALIKE)
            });
            if is_better {
                let shift = Xy {
                    x: column.at,
                    y: row.at,
                };
                best = Some((cells.len(), margin, shift));
            }
        }
    }
    let Some((_, _, shift)) = best else {
        return Vec::new();
    };
    let cells: BTreeSet<Cell> = scaled.iter().map(|&at| cell_of(at, shift)).collect();
    squares(&cells, shift, side_m)
}

/// Takes one point out of a cell.
fn leave(cells: &mut BTreeMap<Cell, usize>, cell: Cell) {
    if let Some(count) = cells.get_mut(&cell) {
        *count -= 1;
        if *count == 0 {
            cells.remove(&cell);
        }
    }
}

/// The squares of cells, by row and then by column.
fn squares(cells: &BTreeSet<Cell>, shift: Xy, side_m: f64) -> Vec<Square> {
    let mut ordered: Vec<Cell> = cells.iter().copied().collect();
    ordered.sort_unstable_by_key(|&(column, row)| (row, column));
    let laid = ordered.into_iter();
    laid.map(|cell| square(cell, shift, side_m)).collect()
}

fn square((column, row): Cell, shift: Xy, side_m: f64) -> Square {
    let low = Xy {
        x: column as f64,
        y: row as f64,
    } + shift;
    Square {
        low: low * side_m,
        side_m,
    }
}

#[allow(clippy::cast_possible_truncation)] // a kilometre in sides is far below 2^63
fn floor(value: f64) -> i64 {
    value.floor() as i64
}

/// The squares that share ground with an outline, at the best of the shifts that are tried; and
/// that shift, in sides.
fn area(outline: &Polygon<f64>, side_m: f64) -> (BTreeSet<Cell>, Xy) {
    let ground = MultiPolygon(vec![outline.clone()]);
    let corners = &outline.exterior().0;
    let candidates = |ordinates: Vec<f64>| -> Vec<f64> {
        let mut all: Vec<f64> = ordinates
            .into_iter()
            .map(|value| (value / side_m).rem_euclid(1.0))
            .take(CORNER_SHIFTS)
            .collect();
        all.extend((0..EVEN_SHIFTS).map(|step| step as f64 / EVEN_SHIFTS as f64));
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < ALIKE);
        all
    };
    let columns = candidates(corners.iter().map(|at| at.x).collect());
    let rows = candidates(corners.iter().map(|at| at.y).collect());
    let mut best: Option<(BTreeSet<Cell>, Xy)> = None;
    for &x in &columns {
        for &y in &rows {
            let shift = Xy { x, y };
            let met = met(&ground, shift, side_m);
            if best.as_ref().is_none_or(|(best, _)| met.len() < best.len()) {
                best = Some((met, shift));
            }
        }
    }
    best.unwrap_or_default()
}

/// The squares of a shifted lattice that share ground with ground.
fn met(ground: &MultiPolygon<f64>, shift: Xy, side_m: f64) -> BTreeSet<Cell> {
    let Some(rect) = ground.bounding_rect() else {
        return BTreeSet::new();
    };
    let range = |low: f64, high: f64, shift: f64| {
        floor(low / side_m - shift - ALIKE)..=floor(high / side_m - shift + ALIKE)
    };
    let columns = range(rect.min().x, rect.max().x, shift.x);
    let rows = range(rect.min().y, rect.max().y, shift.y);
    let cells = rows.flat_map(|row| columns.clone().map(move |column| (column, row)));
    let meets = |cell: &Cell| square(*cell, shift, side_m).meets(ground, rect);
    cells.filter(meets).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64, y: f64) -> Xy {
        Xy { x, y }
    }

    fn points(worn: &[Xy], side_m: f64) -> Vec<Square> {
        squares_over(worn, None, side_m)
    }

    #[test]
    fn a_lone_point_lies_in_the_middle_of_its_square() {
        let squares = points(&[at(3.1, -7.7)], 0.25);
        assert_eq!(squares.len(), 1);
        let off = squares[0].middle() - at(3.1, -7.7);
        assert!(off.x.hypot(off.y) < 1e-9);
    }

    #[test]
    fn points_within_a_side_share_a_square_and_far_ones_have_their_own_lattice() {
        // Four points in a square of 0.2 m, and one a metre off that no lattice through the
        // first would hold in its middle.
        let near = [at(0.0, 0.0), at(0.2, 0.0), at(0.0, 0.2), at(0.2, 0.2)];
        let mut worn = near.to_vec();
        worn.push(at(1.033, 0.0));
        let squares = points(&worn, 0.25);
        assert_eq!(squares.len(), 2);
        let off = squares[1].middle() - at(1.033, 0.0);
        assert!(off.x.hypot(off.y) < 1e-9);
    }

    #[test]
    fn no_shift_of_the_lattice_needs_fewer_squares() {
        let mut state = 7_u64;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            f64::from(u32::try_from(state >> 40).unwrap_or(0)) / f64::from(1 << 24)
        };
        for _ in 0..20 {
            let worn: Vec<Xy> = (0..9).map(|_| at(next(), next())).collect();
            let squares = points(&worn, 0.25);
            for point in &worn {
                let held = squares.iter().filter(|square| {
                    let to = *point - square.low;
                    (0.0..=0.25).contains(&to.x) && (0.0..=0.25).contains(&to.y)
                });
                assert_eq!(held.count(), 1);
            }
            let mut fewest = usize::MAX;
            for x in 0..60 {
                for y in 0..60 {
                    let shift = at(f64::from(x) / 60.0, f64::from(y) / 60.0);
                    let cells = worn.iter().map(|&at| at / 0.25 - shift);
                    let cells: BTreeSet<Cell> =
                        cells.map(|at| (floor(at.x), floor(at.y))).collect();
                    fewest = fewest.min(cells.len());
                }
            }
            assert!(squares.len() <= fewest, "{} {fewest}", squares.len());
        }
    }

    #[test]
    fn a_square_outline_of_three_sides_needs_nine_squares() {
        // Any other shift than the one along its sides needs twelve or sixteen.
        let corners = vec![(0.1, 0.3), (0.85, 0.3), (0.85, 1.05), (0.1, 1.05)];
        let outline = Polygon::new(corners.into(), Vec::new());
        let squares = squares_over(&[], Some(&outline), 0.25);
        assert_eq!(squares.len(), 9);
        assert!((squares[0].low.x - 0.1).abs() < 1e-9);
        // A point within needs none more, one beside it takes the same lattice.
        let worn = [at(0.5, 0.5), at(0.95, 0.5)];
        let squares = squares_over(&worn, Some(&outline), 0.25);
        assert_eq!(squares.len(), 10);
        assert!(
            squares
                .iter()
                .any(|square| (square.low.x - 0.85).abs() < 1e-9)
        );
    }
}
