//! How often wheels roll over each place: a grid over pitch and run-off, from the route as
//! written.
//!
//! Two tracks, half the track width to each side of the middle of the rear axle. A place is a
//! cell of the grid; a cell is counted once for each time a track enters it, so that a wheel
//! that turns within a cell counts once and one that comes back counts again. Width of the
//! tyre, front wheels and the wheels of the tool are not counted: the figures compare places,
//! they do not tell pressures.

use geo::{BoundingRect, Contains, LineString, MultiPolygon, Point};

use super::legs::Leg;
use crate::ground::Ground;
use crate::space::Xy;

/// Side of a cell, metres.
pub const CELL_M: f64 = 0.5;

/// Cells at most along a side: 500 m pitches and their run-off.
const MOST_CELLS: usize = 1_400;

/// Counts of wheel passes over a grid in the pitch frame.
#[derive(Debug, Clone)]
pub struct Wheels {
    /// The low corner of the grid.
    pub low: Xy,
    /// Cells along x.
    pub columns: usize,
    /// Cells along y.
    pub rows: usize,
    /// Passes of a wheel, row after row from the low corner.
    pub counts: Vec<u32>,
}

impl Wheels {
    /// An empty grid over ground.
    #[must_use]
    pub fn over(ground: &MultiPolygon<f64>) -> Self {
        let Some(extent) = ground.bounding_rect() else {
            return Self {
                low: Xy::default(),
                columns: 0,
                rows: 0,
                counts: Vec::new(),
            };
        };
        // Whole cells from the middle of the pitch on, so that a re-survey moves none.
        let low = Xy {
            x: (extent.min().x / CELL_M).floor() * CELL_M,
            y: (extent.min().y / CELL_M).floor() * CELL_M,
        };
        let cells = |length_m: f64| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "bounded"
            )]
            let count = (length_m / CELL_M).ceil().clamp(1.0, MOST_CELLS as f64) as usize;
            count
        };
        let columns = cells(extent.max().x - low.x);
        let rows = cells(extent.max().y - low.y);
        Self {
            low,
            columns,
            rows,
            counts: vec![0; columns * rows],
        }
    }

    /// Counts the wheels of a drive, leg after leg.
    pub fn roll(&mut self, legs: &[Leg], track_width_m: f64) {
        for side in [-0.5, 0.5] {
            let mut last: Option<usize> = None;
            for leg in legs {
                let track = beside(&leg.line, side * track_width_m * sense(leg.reverse));
                for chord in track.lines() {
                    self.along(chord.start, chord.end, &mut last);
                }
            }
        }
    }

    /// Counts the cells that a straight enters.
    fn along(&mut self, from: Xy, to: Xy, last: &mut Option<usize>) {
        // Where the straight crosses lines of the grid, in order.
        let mut cuts = vec![0.0, 1.0];
        for (a, b) in [
            ((from.x - self.low.x) / CELL_M, (to.x - self.low.x) / CELL_M),
            ((from.y - self.low.y) / CELL_M, (to.y - self.low.y) / CELL_M),
        ] {
            let (least, greatest) = (a.min(b), a.max(b));
            let mut line = least.ceil();
            while line < greatest {
                cuts.push((line - a) / (b - a));
                line += 1.0;
            }
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            let middle = from + (to - from) * f64::midpoint(pair[0], pair[1]);
            let cell = self.cell_of(middle);
            if cell != *last {
                if let Some(cell) = cell {
                    self.counts[cell] += 1;
                }
                *last = cell;
            }
        }
    }

    fn cell_of(&self, at: Xy) -> Option<usize> {
        let (column, row) = (
            ((at.x - self.low.x) / CELL_M).floor(),
            ((at.y - self.low.y) / CELL_M).floor(),
        );
        let is_within =
            (0.0..self.columns as f64).contains(&column) && (0.0..self.rows as f64).contains(&row);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "within the grid"
        )]
        is_within.then(|| row as usize * self.columns + column as usize)
    }

    /// The middle of a cell.
    #[must_use]
    pub fn middle(&self, cell: usize) -> Xy {
        let (row, column) = (cell / self.columns.max(1), cell % self.columns.max(1));
        Xy {
            x: self.low.x + (column as f64 + 0.5) * CELL_M,
            y: self.low.y + (row as f64 + 0.5) * CELL_M,
        }
    }

    /// Adds another grid over the same ground.
    pub fn add(&mut self, other: &Self) {
        for (count, more) in self.counts.iter_mut().zip(&other.counts) {
            *count += more;
        }
    }

    /// The cells with the most passes, worst first, no two nearer than `apart_m`; on the given
    /// ground only.
    #[must_use]
    pub fn worst(&self, ground: &MultiPolygon<f64>, most: usize, apart_m: f64) -> Vec<(Xy, u32)> {
        let mut cells: Vec<usize> = (0..self.counts.len())
            .filter(|&cell| self.counts[cell] > 0)
            .collect();
        cells.sort_by_key(|&cell| (std::cmp::Reverse(self.counts[cell]), cell));
        let mut worst: Vec<(Xy, u32)> = Vec::new();
        for cell in cells {
            if worst.len() == most {
                break;
            }
            let at = self.middle(cell);
            let is_apart = worst
                .iter()
                .all(|(other, _)| (at.x - other.x).hypot(at.y - other.y) >= apart_m);
            if is_apart && ground.contains(&Point(at)) {
                worst.push((at, self.counts[cell]));
            }
        }
        worst
    }

    /// Area of cells with more than so many passes, square metres; cells whose middle is on
    /// the ground.
    #[must_use]
    pub fn area_above_m2(&self, ground: &MultiPolygon<f64>, passes: u32) -> f64 {
        let cells = (0..self.counts.len()).filter(|&cell| self.counts[cell] > passes);
        cells
            .filter(|&cell| ground.contains(&Point(self.middle(cell))))
            .count() as f64
            * CELL_M
            * CELL_M
    }
}

/// Wheel traffic of a drive.
#[derive(Debug, Clone)]
pub struct WheelTraffic {
    /// Passes of a wheel over each cell.
    pub grid: Wheels,
    /// The most over one cell of the pitch.
    pub most: u32,
    /// More than this is warned of.
    pub above: u32,
    /// Area of the pitch with more, square metres.
    pub above_m2: f64,
    /// The worst places on the pitch with their passes, 5 m apart.
    pub worst: Vec<(Xy, u32)>,
}

impl WheelTraffic {
    /// The traffic of a drive over ground; more than `above` passes are warned of.
    #[must_use]
    pub fn of(ground: &Ground, legs: &[Leg], track_width_m: f64, above: u32) -> Self {
        let mut grid = Wheels::over(&ground.grass);
        grid.roll(legs, track_width_m);
        Self::of_grid(ground, grid, above)
    }

    /// The traffic of several drives together; `None` for no drive.
    #[must_use]
    pub fn together<'a>(
        ground: &Ground,
        drives: impl IntoIterator<Item = &'a Self>,
        above: u32,
    ) -> Option<Self> {
        let mut grids = drives.into_iter().map(|drive| &drive.grid);
        let mut sum = grids.next()?.clone();
        for grid in grids {
            sum.add(grid);
        }
        Some(Self::of_grid(ground, sum, above))
    }

    fn of_grid(ground: &Ground, grid: Wheels, above: u32) -> Self {
        const PLACES: usize = 3;
        const APART_M: f64 = 5.0;
        let pitch = MultiPolygon(vec![ground.outline.clone()]);
        let worst = grid.worst(&pitch, PLACES, APART_M);
        Self {
            most: worst.first().map_or(0, |(_, passes)| *passes),
            above_m2: grid.area_above_m2(&pitch, above),
            above,
            worst,
            grid,
        }
    }
}

const fn sense(reverse: bool) -> f64 {
    if reverse { -1.0 } else { 1.0 }
}

/// A line so far to the left of another, chord by chord, with their ends joined.
fn beside(line: &LineString<f64>, left_m: f64) -> LineString<f64> {
    let points = line.lines().flat_map(|chord| {
        let (dx, dy) = (chord.dx(), chord.dy());
        let length_m = dx.hypot(dy);
        let off = if length_m > 0.0 {
            Xy {
                x: -dy / length_m * left_m,
                y: dx / length_m * left_m,
            }
        } else {
            Xy::default()
        };
        [chord.start + off, chord.end + off]
    });
    points.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::legs::LegKind;
    use crate::route::pose::Pose;
    use geo::polygon;

    fn leg(points: Vec<(f64, f64)>) -> Leg {
        Leg {
            kind: LegKind::Turn,
            worked: None,
            turn: None,
            line: LineString::from(points),
            start: Pose::new(0.0, 0.0, 0.0),
            end: Pose::new(0.0, 0.0, 0.0),
            length_m: 0.0,
            time_s: 0.0,
            reverse: false,
        }
    }

    #[test]
    fn two_wheels_cross_each_cell_of_their_tracks_once() {
        let ground = MultiPolygon(vec![polygon![
            (x: 0.0, y: 0.0), (x: 4.0, y: 0.0), (x: 4.0, y: 3.0), (x: 0.0, y: 3.0)
        ]]);
        let mut wheels = Wheels::over(&ground);
        assert_eq!((wheels.columns, wheels.rows), (8, 6));
        wheels.roll(&[leg(vec![(0.0, 1.5), (2.0, 1.5), (4.0, 1.5)])], 1.4);
        // Tracks at y = 0.8 and 2.2: rows 1 and 4, eight cells each.
        let by_row: Vec<u32> = (0..6)
            .map(|row| wheels.counts[row * 8..row * 8 + 8].iter().sum())
            .collect();
        assert_eq!(by_row, [0, 8, 0, 0, 8, 0]);
        wheels.roll(&[leg(vec![(4.0, 1.5), (0.0, 1.5)])], 1.4);
        assert_eq!(wheels.worst(&ground, 1, 1.0)[0].1, 2);
        assert!((wheels.area_above_m2(&ground, 1) - 16.0 * 0.25).abs() < 1e-12);
    }
}
