//! The map of wheel passes: how often a wheel of any drive of the job rolls over each
//! place, in steps of tone, with the worst places named.

use super::ground_map;
use super::layout::Layout;
use super::room::Room;
use super::scene::{Frame, Ink, Item, Pen, Spot, Style, centred};
use super::symbols;
use crate::plan::Plan;
use crate::route::wheels::{CELL_M, WheelTraffic};
use crate::space::{Corner, Xy};

/// How many steps of tone there are.
pub(super) const STEPS: u8 = 5;

/// Radius of the ring about a bad place.
const RING_MM: f64 = 2.6;

/// Size of its figure.
const FIGURE_MM: f64 = 3.4;

/// Neighbouring rows of cells share this, so that no white shows between them.
const SHARE_MM: f64 = 0.03;

/// The painted lines, dark enough to be seen on a tone.
const MARKING: Pen = Pen::new(Ink::Black, 0.25);

/// The steps of tone: from so many passes to so many. Each reaches twice as far as the one
/// before, and the last holds the most.
pub(super) fn steps(wheels: &WheelTraffic) -> Vec<(u32, u32)> {
    let most = wheels.grid.counts.iter().copied().max().unwrap_or(0);
    let first = most.div_ceil(1 << (STEPS - 1)).max(1);
    let mut steps = Vec::new();
    let (mut from, mut to) = (1, first);
    while from <= most {
        let is_last = steps.len() + 1 == usize::from(STEPS) || to >= most;
        let end = if is_last { most } else { to };
        steps.push((from, end));
        (from, to) = (end.saturating_add(1), to.saturating_mul(2));
    }
    steps
}

/// Draws the passes.
pub(super) fn draw(plan: &Plan, wheels: &WheelTraffic, layout: &Layout) -> Vec<Item> {
    let ground = &plan.ground;
    let mut room = Room::new(layout.window);
    let entrances = ground_map::entrances(ground, layout, &mut room);
    let names = ground_map::names(ground, layout, &mut room);
    let entrance_words = ground_map::entrance_words(ground, layout, &mut room);
    for corner in Corner::ALL {
        room.take_symbol(Frame::about(layout.spot(ground.corner(corner)), 1.6, 1.6));
    }
    let mut inside = ground_map::below(ground, layout);
    inside.extend(tones(wheels, layout));
    let grass = layout.shape(&ground.grass);
    inside.push(Item::polygons(&grass, Style::ring(symbols::GRASS_EDGE)));
    inside.extend(ground_map::markings(ground, layout, MARKING));
    inside.extend(entrances);
    let mut items = vec![Item::Clipped {
        window: ground_map::drawn(ground, layout),
        items: inside,
    }];
    items.extend(worst(wheels, layout, &mut room));
    items.extend(names);
    items.extend(entrance_words);
    items
}

/// How many cells of the grid, along each side, are drawn as one square: smaller squares could
/// not be told apart on paper.
fn cells_a_side(layout: &Layout) -> usize {
    const LEAST_MM: f64 = 1.2;
    let cell_mm = CELL_M * layout.mm_per_m();
    let enough = (1..=40_usize).find(|&cells| cells as f64 * cell_mm >= LEAST_MM);
    enough.unwrap_or(40)
}

/// Side of a square as drawn, metres.
pub(super) fn drawn_m(layout: &Layout) -> f64 {
    cells_a_side(layout) as f64 * CELL_M
}

/// The most passes over any cell of each square, row after row of squares.
fn squares(wheels: &WheelTraffic, cells: usize) -> Vec<Vec<u32>> {
    let grid = &wheels.grid;
    let rows: Vec<&[u32]> = grid.counts.chunks(grid.columns.max(1)).collect();
    let together = |rows: &[&[u32]]| {
        let columns = (0..grid.columns.div_ceil(cells)).map(|column| {
            let cells_of = rows
                .iter()
                .flat_map(|row| row.chunks(cells).nth(column))
                .flatten();
            cells_of.copied().max().unwrap_or(0)
        });
        columns.collect()
    };
    rows.chunks(cells).map(together).collect()
}

/// The squares, each row of them in runs of one step.
fn tones(wheels: &WheelTraffic, layout: &Layout) -> Vec<Item> {
    let steps = steps(wheels);
    let cells = cells_a_side(layout);
    let side_m = drawn_m(layout);
    let low = wheels.grid.low;
    let step_of = |passes: u32| {
        let step = steps.iter().position(|&(_, to)| passes <= to);
        step.filter(|_| passes > 0)
    };
    let mut lines: Vec<Vec<Vec<Spot>>> = vec![Vec::new(); steps.len()];
    for (row, squares) in squares(wheels, cells).iter().enumerate() {
        let spot = |column: usize| {
            layout.spot(Xy {
                x: low.x + column as f64 * side_m,
                y: low.y + (row as f64 + 0.5) * side_m,
            })
        };
        let mut from = 0;
        for run in squares.chunk_by(|a, b| step_of(*a) == step_of(*b)) {
            let to = from + run.len();
            let step = run.first().and_then(|&passes| step_of(passes));
            if let Some(of_step) = step.and_then(|step| lines.get_mut(step)) {
                of_step.push(vec![spot(from), spot(to)]);
            }
            from = to;
        }
    }
    let width_mm = side_m * layout.mm_per_m() + SHARE_MM;
    lines
        .into_iter()
        .zip(1_u8..)
        .map(|(lines, step)| Item::Path {
            lines,
            style: Style::line(Pen::new(tone(step, steps.len()), width_mm)),
        })
        .collect()
}

/// The tone of a step, the last always the darkest.
pub(super) fn tone(step: u8, steps: usize) -> Ink {
    let lacking = usize::from(STEPS).saturating_sub(steps);
    Ink::Tone(step + u8::try_from(lacking).unwrap_or(0))
}

/// The worst places: a ring, and its number beside it.
fn worst(wheels: &WheelTraffic, layout: &Layout, room: &mut Room) -> Vec<Item> {
    let spots: Vec<Spot> = wheels
        .worst
        .iter()
        .map(|(at, _)| layout.spot(*at))
        .collect();
    for &spot in &spots {
        room.take_symbol(Frame::about(spot, 2.0 * RING_MM, 2.0 * RING_MM));
    }
    let mut items = Vec::new();
    for (index, spot) in spots.into_iter().enumerate() {
        for (ink, width_mm) in [(Ink::White, 1.5), (Ink::Black, 0.6)] {
            items.push(Item::Circle {
                centre: spot,
                radius_mm: RING_MM,
                style: Style::ring(Pen::new(ink, width_mm)),
            });
        }
        let size = (5.2, 5.2);
        let place = room.near(spot, size, (RING_MM + 0.6, 40.0), |_| true);
        let Some(frame) = place else { continue };
        room.take(frame);
        items.push(Item::Circle {
            centre: frame.middle(),
            radius_mm: 2.6,
            style: Style::filled_ring(Ink::White, Pen::new(Ink::Black, 0.4)),
        });
        items.push(centred(frame.middle(), FIGURE_MM, &(index + 1).to_string()));
    }
    items
}
