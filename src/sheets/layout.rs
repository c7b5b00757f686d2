//! Which paper, which way round, at which scale, and where on the paper a place of the
//! pitch lies.
//!
//! One layout serves all maps of a job, so that a place lies at the same spot of every
//! sheet and sheets can be held one over the other. The long side of the ground lies
//! along the long side of the paper. Of the layouts that fit, the one with the largest
//! scale is taken, and among equals the one with north nearest to the top of the paper.

use geo::{BoundingRect, Coord, MapCoords, MultiPolygon};

use super::panel::{self, Block, COLUMN_MM};
use super::scene::{Frame, Item, Spot};
use crate::ground::Ground;
use crate::space::{Compass, Xy};

/// The scales in use, 1 to so much. Larger grounds go on by doubling the last.
const SCALES: [u32; 22] = [
    50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 600, 750, 1000, 1250, 1500, 2000, 2500, 3000,
    4000, 5000, 7500, 10_000,
];

/// A4, short and long side.
pub(super) const A4_MM: (f64, f64) = (210.0, 297.0);

/// Paper left white at the edge: most printers reach to 5 mm.
pub(super) const MARGIN_MM: f64 = 8.0;

/// Between the drawing and the written part, and between columns of it.
const GAP_MM: f64 = 4.0;

/// Around the ground, for pass numbers and the names of ends and sides.
pub(super) const RING_MM: f64 = 10.5;

/// Paper, scale and place.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    /// Width and height of the paper.
    pub paper_mm: (f64, f64),
    /// 1 to so much.
    pub scale: u32,
    /// Where the ground is drawn.
    pub window: Frame,
    /// Upper left corner of the first column of the written part.
    panel_at: Spot,
    /// How many columns.
    columns: usize,
    /// Height of a column.
    column_mm: f64,
    /// Quarter turns anticlockwise of the pitch on the paper, 0 to 3.
    quarter_turns: u8,
    /// Middle of the ground's extent, pitch metres.
    middle: Xy,
}

impl Layout {
    /// The layout of a ground with this extent (pitch metres) and these written parts, on
    /// a pitch where north lies at `north_deg` (anticlockwise from +x).
    pub(super) fn choose(low: Xy, high: Xy, north_deg: f64, panels: &[Vec<Block>]) -> Self {
        let size = Xy {
            x: (high.x - low.x).max(1.0),
            y: (high.y - low.y).max(1.0),
        };
        let middle = (low + high) / 2.0;
        let mut best: Option<(Self, f64)> = None;
        for sheet in papers(panels) {
            let is_landscape = sheet.paper_mm.0 > sheet.paper_mm.1;
            let lies_along_x = size.x >= size.y;
            // With no turn or a half turn x runs across the paper.
            let turns: [u8; 2] = if is_landscape == lies_along_x {
                [0, 2]
            } else {
                [1, 3]
            };
            let (across_m, up_m) = if turns.contains(&0) {
                (size.x, size.y)
            } else {
                (size.y, size.x)
            };
            let scale = largest_scale(across_m, up_m, &sheet.window);
            for quarter_turns in turns {
                let up = (north_deg + 90.0 * f64::from(quarter_turns))
                    .to_radians()
                    .sin();
                let is_better = best.as_ref().is_none_or(|(other, other_up)| {
                    scale < other.scale || (scale == other.scale && up > other_up + 1e-9)
                });
                if is_better {
                    let layout = Self {
                        scale,
                        quarter_turns,
                        middle,
                        ..sheet.clone()
                    };
                    best = Some((layout, up));
                }
            }
        }
        best.map_or_else(|| fallback(middle), |(layout, _)| layout)
    }

    /// The layout of a drawing that has its window on upright paper already: the largest scale
    /// that fits it, and among equals north nearest to the top.
    pub(super) fn within(window: Frame, (low, high): (Xy, Xy), north_deg: f64) -> Self {
        let (short, long) = A4_MM;
        let mut best: Option<(u32, f64, u8)> = None;
        for quarter_turns in 0..4_u8 {
            let scale = scale_of(&[(low, high)], &[window], quarter_turns);
            let up = (north_deg + 90.0 * f64::from(quarter_turns))
                .to_radians()
                .sin();
            let is_better = best.is_none_or(|(other, other_up, _)| {
                scale < other || (scale == other && up > other_up + 1e-9)
            });
            if is_better {
                best = Some((scale, up, quarter_turns));
            }
        }
        let (scale, _, quarter_turns) = best.unwrap_or((1000, 0.0, 0));
        Self {
            paper_mm: (short, long),
            scale,
            window,
            quarter_turns,
            ..fallback((low + high) / 2.0)
        }
    }

    /// Layouts of several drawings on one sheet, all at one scale and turned alike: the window
    /// is parted into equal ones, row by row. As many as there are extents.
    pub(super) fn choose_parted(
        extents: &[(Xy, Xy)],
        north_deg: f64,
        panels: &[Vec<Block>],
    ) -> Vec<Self> {
        let count = extents.len().max(1);
        let mut best: Option<(u32, f64, Vec<Self>)> = None;
        for sheet in papers(panels) {
            for columns in 1..=count {
                let windows = parted(&sheet.window, columns, count.div_ceil(columns));
                for quarter_turns in 0..4_u8 {
                    let scale = scale_of(extents, &windows, quarter_turns);
                    let up = (north_deg + 90.0 * f64::from(quarter_turns))
                        .to_radians()
                        .sin();
                    let is_better = best.as_ref().is_none_or(|(other, other_up, _)| {
                        scale < *other || (scale == *other && up > other_up + 1e-9)
                    });
                    if is_better {
                        let layouts =
                            extents
                                .iter()
                                .zip(&windows)
                                .map(|(&(low, high), &window)| Self {
                                    scale,
                                    window,
                                    quarter_turns,
                                    middle: (low + high) / 2.0,
                                    ..sheet.clone()
                                });
                        best = Some((scale, up, layouts.collect()));
                    }
                }
            }
        }
        best.map_or_else(
            || {
                extents
                    .iter()
                    .map(|(low, high)| fallback((*low + *high) / 2.0))
                    .collect()
            },
            |(_, _, layouts)| layouts,
        )
    }

    /// Paper millimetres of a metre.
    pub(super) fn mm_per_m(&self) -> f64 {
        1000.0 / f64::from(self.scale)
    }

    /// The direction on the paper (y down) of a direction on the pitch.
    pub(super) fn direction(&self, on_pitch: Xy) -> Spot {
        let Coord { x, y } = on_pitch;
        let (right, up) = match self.quarter_turns {
            0 => (x, y),
            1 => (-y, x),
            2 => (-x, -y),
            _ => (y, -x),
        };
        Spot { x: right, y: -up }
    }

    /// The spot on the paper of a place on the pitch.
    pub(super) fn spot(&self, place: Xy) -> Spot {
        self.window.middle() + self.direction(place - self.middle) * self.mm_per_m()
    }

    /// Polygons on the paper.
    pub(super) fn shape(&self, on_pitch: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        on_pitch.map_coords(|place| self.spot(place))
    }

    /// Any shape on the paper.
    pub(super) fn geometry(&self, on_pitch: &geo::Geometry<f64>) -> geo::Geometry<f64> {
        on_pitch.map_coords(|place| self.spot(place))
    }

    /// Whether a written part fits beside the drawing.
    pub(super) fn has_room_for(&self, blocks: &[Block]) -> bool {
        panel::flow(blocks, self.columns, self.column_mm, GAP_MM).is_some()
    }

    /// The written part in its place.
    pub(super) fn panel(&self, blocks: &[Block]) -> Vec<Item> {
        let corners = panel::flow(blocks, self.columns, self.column_mm, GAP_MM);
        let placed = blocks.iter().zip(corners.into_iter().flatten());
        placed
            .flat_map(|(block, corner)| {
                let at = self.panel_at + corner;
                block.items.iter().map(move |item| item.clone().moved(at))
            })
            .collect()
    }
}

/// The ways of dividing the paper that hold every written part; scale and turn are set
/// later.
fn papers(panels: &[Vec<Block>]) -> Vec<Layout> {
    let (short, long) = A4_MM;
    let (inner_short, inner_long) = (short - 2.0 * MARGIN_MM, long - 2.0 * MARGIN_MM);
    let mut papers = Vec::new();
    // Landscape: columns to the right of the drawing.
    let columns = (1..=3_u8).find(|&columns| {
        panels
            .iter()
            .all(|blocks| panel::flow(blocks, columns.into(), inner_short, GAP_MM).is_some())
    });
    if let Some(columns) = columns {
        let n = f64::from(columns);
        let window_mm = inner_long - n * (COLUMN_MM + GAP_MM);
        papers.push(Layout {
            paper_mm: (long, short),
            window: Frame {
                left: MARGIN_MM,
                top: MARGIN_MM,
                width: window_mm,
                height: inner_short,
            },
            panel_at: Spot {
                x: MARGIN_MM + window_mm + GAP_MM,
                y: MARGIN_MM,
            },
            columns: columns.into(),
            column_mm: inner_short,
            ..fallback(Xy { x: 0.0, y: 0.0 })
        });
    }
    // Portrait: three columns under the drawing, as low as they can be.
    let height = (20..=240_u8).map(f64::from).find(|&height| {
        panels
            .iter()
            .all(|blocks| panel::flow(blocks, 3, height, GAP_MM).is_some())
    });
    if let Some(height) = height {
        let window_mm = inner_long - height - GAP_MM;
        papers.push(Layout {
            paper_mm: (short, long),
            window: Frame {
                left: MARGIN_MM,
                top: MARGIN_MM,
                width: inner_short,
                height: window_mm,
            },
            panel_at: Spot {
                x: MARGIN_MM,
                y: MARGIN_MM + window_mm + GAP_MM,
            },
            columns: 3,
            column_mm: height,
            ..fallback(Xy { x: 0.0, y: 0.0 })
        });
    }
    papers
}

/// Where no written part fits, the drawing alone.
fn fallback(middle: Xy) -> Layout {
    let (short, long) = A4_MM;
    Layout {
        paper_mm: (long, short),
        scale: 1000,
        window: Frame {
            left: MARGIN_MM,
            top: MARGIN_MM,
            width: long - 2.0 * MARGIN_MM,
            height: short - 2.0 * MARGIN_MM,
        },
        panel_at: Spot {
            x: MARGIN_MM,
            y: MARGIN_MM,
        },
        columns: 1,
        column_mm: short - 2.0 * MARGIN_MM,
        quarter_turns: 0,
        middle,
    }
}

/// The largest scale at which a ground of this size fits the window with the ring.
fn largest_scale(across_m: f64, up_m: f64, window: &Frame) -> u32 {
    let fits = |scale: u32| {
        let mm_per_m = 1000.0 / f64::from(scale);
        across_m * mm_per_m + 2.0 * RING_MM <= window.width
            && up_m * mm_per_m + 2.0 * RING_MM <= window.height
    };
    if let Some(scale) = SCALES.into_iter().find(|&scale| fits(scale)) {
        return scale;
    }
    let mut scale = 20_000;
    while !fits(scale) && scale < 1_000_000_000 {
        scale *= 2;
    }
    scale
}

/// The largest scale at which every ground fits its window.
fn scale_of(extents: &[(Xy, Xy)], windows: &[Frame], quarter_turns: u8) -> u32 {
    let scales = extents.iter().zip(windows).map(|((low, high), window)| {
        let size = *high - *low;
        let (across_m, up_m) = if quarter_turns.is_multiple_of(2) {
            (size.x, size.y)
        } else {
            (size.y, size.x)
        };
        largest_scale(across_m.max(1.0), up_m.max(1.0), window)
    });
    scales.max().unwrap_or(1000)
}

/// A window parted into equal ones, row by row, with a gap between them.
fn parted(window: &Frame, columns: usize, rows: usize) -> Vec<Frame> {
    let part = |length: f64, count: usize| {
        let count = count as f64;
        (length - GAP_MM * (count - 1.0)) / count
    };
    let (width, height) = (part(window.width, columns), part(window.height, rows));
    let places = (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column)));
    let frames = places.map(|(row, column)| Frame {
        left: window.left + (width + GAP_MM) * column as f64,
        top: window.top + (height + GAP_MM) * row as f64,
        width,
        height,
    });
    frames.collect()
}

/// The extent of all that must be on the drawing, pitch metres.
pub(super) fn extent(shapes: &[&MultiPolygon<f64>], places: &[Xy]) -> (Xy, Xy) {
    let mut low = Xy {
        x: f64::INFINITY,
        y: f64::INFINITY,
    };
    let mut high = Xy {
        x: f64::NEG_INFINITY,
        y: f64::NEG_INFINITY,
    };
    let corners = shapes
        .iter()
        .filter_map(|shape| shape.bounding_rect())
        .flat_map(|rect| [rect.min(), rect.max()]);
    for place in corners.chain(places.iter().copied()) {
        if place.x.is_finite() && place.y.is_finite() {
            low = Xy {
                x: low.x.min(place.x),
                y: low.y.min(place.y),
            };
            high = Xy {
                x: high.x.max(place.x),
                y: high.y.max(place.y),
            };
        }
    }
    if low.x > high.x {
        (Xy { x: 0.0, y: 0.0 }, Xy { x: 1.0, y: 1.0 })
    } else {
        (low, high)
    }
}

/// A length of ground, metres, whose bar is 20 to 50 mm long at this scale: a round
/// number.
pub(super) fn bar_length_m(scale: u32) -> f64 {
    const LONGEST_MM: f64 = 50.0;
    let most_m = LONGEST_MM * f64::from(scale) / 1000.0;
    let power = 10.0_f64.powf(most_m.log10().floor());
    let fits = [5.0, 3.0, 2.5, 2.0, 1.0]
        .into_iter()
        .map(|digit| digit * power)
        .find(|&length_m| length_m <= most_m + 1e-9);
    fits.unwrap_or(power)
}

/// How many fields such a bar has: round ones.
pub(super) fn bar_fields(length_m: f64) -> u8 {
    let leading = length_m / 10.0_f64.powf(length_m.log10().floor());
    if (leading - 3.0).abs() < 0.1 {
        3
    } else if (leading - 2.0).abs() < 0.1 {
        4
    } else {
        5
    }
}

/// `North end: Hill end`, as printed beside the drawing.
pub(super) fn side_name(ground: &Ground, point: Compass) -> String {
    let kind = if ground.names.is_end(point) {
        "end"
    } else {
        "side"
    };
    named(ground, point, kind)
}

/// `North goal line: Hill end`, as printed beside the sketch of a tape sheet.
pub(super) fn line_name(ground: &Ground, point: Compass) -> String {
    let kind = if ground.names.is_end(point) {
        "goal line"
    } else {
        "touch line"
    };
    named(ground, point, kind)
}

fn named(ground: &Ground, point: Compass, kind: &str) -> String {
    let name = point.name();
    let mut letters = name.chars();
    let capital: String = letters
        .next()
        .map(|letter| letter.to_ascii_uppercase())
        .into_iter()
        .chain(letters)
        .collect();
    match ground.stand_names.get(&point) {
        Some(own) => format!("{capital} {kind}: {own}"),
        None => format!("{capital} {kind}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn choose(length_m: f64, width_m: f64, north_deg: f64) -> Layout {
        let high = Xy {
            x: length_m / 2.0,
            y: width_m / 2.0,
        };
        let panel = vec![Block::caution("some words", "and some more of them"); 12];
        Layout::choose(high * -1.0, high, north_deg, &[panel])
    }

    #[test]
    fn the_long_side_lies_along_the_paper_and_north_is_up_where_it_can_be() {
        // +x points 12.5 degrees east of north: north lies at 12.5 degrees from +x.
        let layout = choose(115.0, 76.0, 12.5);
        assert!(layout.paper_mm.1 > layout.paper_mm.0);
        let ahead = layout.direction(Xy { x: 1.0, y: 0.0 });
        assert!(ahead.y < -0.99, "{ahead:?}");
        // +x points east: north is +y.
        let layout = choose(115.0, 76.0, 90.0);
        let left = layout.direction(Xy { x: 0.0, y: 1.0 });
        assert!(left.y < -0.99, "{left:?}");
    }

    #[test]
    fn the_scale_is_a_standard_one_and_the_ground_fits() {
        for (length_m, width_m) in [(10.0, 10.0), (115.0, 76.0), (500.0, 500.0), (9e4, 9e4)] {
            let layout = choose(length_m, width_m, 30.0);
            assert!(SCALES.contains(&layout.scale) || layout.scale >= 20_000);
            for (x, y) in [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0)] {
                let corner = layout.spot(Xy {
                    x: x * length_m / 2.0,
                    y: y * width_m / 2.0,
                });
                let frame = Frame::about(corner, 0.0, 0.0);
                assert!(layout.window.widened(-RING_MM + 1e-6).holds(&frame));
            }
        }
    }

    #[test]
    fn the_bar_is_a_round_length_of_20_to_50_mm() {
        assert_eq!(bar_fields(30.0), 3);
        assert_eq!(bar_fields(20.0), 4);
        assert_eq!(bar_fields(25.0), 5);
        for scale in SCALES {
            let mm = bar_length_m(scale) * 1000.0 / f64::from(scale);
            assert!((20.0..=50.0).contains(&mm), "1:{scale}: {mm} mm");
        }
    }
}
