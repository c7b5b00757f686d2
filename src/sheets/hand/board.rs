//! The drawing of a forking: a window for each stage, with the places of the board numbered,
//! the holes where they fall, where people start and which way the board is turned over.

use super::{arrow, edge, person, person_letter, under};
use crate::hand::board::{BoardPlan, Stage};
use crate::plan::Plan;
use crate::sheets::layout::Layout;
use crate::sheets::scene::{Frame, Ink, Item, Pen, Spot, Style, centred, starting};
use crate::space::Xy;

/// At most so many zones are drawn; more of them look alike.
pub(super) const MOST_GROUNDS: usize = 2;

/// A hole is drawn no smaller than this.
const LEAST_DOT_MM: f64 = 0.28;

/// Size of the numbers of places.
const NUMBER_MM: f64 = 2.9;

/// Room from one number to the next.
const NUMBER_STEP_MM: f64 = 3.6;

/// Half a cross where a hole is kept off.
const CROSS_MM: f64 = 0.45;

/// What each window shows: the ground and the board before it, pitch metres.
pub(super) fn extents(plan: &BoardPlan) -> Vec<(Xy, Xy)> {
    let stages = plan
        .grounds
        .iter()
        .take(MOST_GROUNDS)
        .flat_map(|one| &one.stages);
    let extents = stages.map(|stage| {
        let board = geo::MultiPolygon(vec![stage.board_at(1)]);
        let lattice = &stage.lattice;
        let far = [
            lattice.axes.place(lattice.low.x, lattice.high.y),
            lattice.axes.place(lattice.high.x, lattice.high.y),
        ];
        crate::sheets::layout::extent(&[&board], &far)
    });
    let extents: Vec<(Xy, Xy)> = extents.collect();
    if extents.is_empty() {
        vec![(Xy::default(), Xy { x: 1.0, y: 1.0 })]
    } else {
        extents
    }
}

/// What of a stage's window is left for the drawing.
fn below_title(window: &Frame) -> Frame {
    /// Room of the title, paper millimetres.
    const TITLE_MM: f64 = 5.0;
    Frame {
        top: window.top + TITLE_MM,
        height: window.height - TITLE_MM,
        ..*window
    }
}

/// Draws the stages, each by its layout.
pub(super) fn draw(plan: &Plan, board: &BoardPlan, layouts: &[Layout]) -> Vec<Item> {
    let grounds = board.grounds.iter().take(MOST_GROUNDS);
    let stages = grounds.flat_map(|one| {
        let numbered = one.stages.iter().enumerate();
        numbered.map(move |(index, stage)| (one, index + 1, stage))
    });
    let drawn = stages
        .zip(layouts)
        .flat_map(|((one, number, stage), layout)| {
            let mut inside = under(plan, layout, &board.kept_clear);
            inside.push(edge(&one.ground, layout));
            inside.extend(places(stage, layout));
            inside.push(dots(stage, layout));
            inside.push(crosses(stage, layout));
            let mut items = vec![Item::Clipped {
                window: below_title(&layout.window),
                items: inside,
            }];
            items.extend(way(stage, layout));
            items.extend(numbers(stage, layout));
            items.extend(people(stage, layout));
            let title = format!(
                "{number}. {}: {}, {} places of the board",
                one.name, stage.name, stage.boards
            );
            items.push(starting(
                Spot {
                    x: layout.window.left,
                    y: layout.window.top + 3.2,
                },
                3.6,
                &title,
            ));
            items
        });
    drawn.collect()
}

/// The board at place 1, and a line along each further place.
fn places(stage: &Stage, layout: &Layout) -> Vec<Item> {
    let lattice = &stage.lattice;
    let line = |place: usize| {
        let ahead_m = lattice.low.y + (place as f64 - 1.0) * stage.board_width_m;
        let ends = [lattice.low.x, lattice.high.x];
        let spots = ends.map(|along_m| layout.spot(lattice.axes.place(along_m, ahead_m)));
        spots.to_vec()
    };
    let first = layout.shape(&geo::MultiPolygon(vec![stage.board_at(1)]));
    vec![
        Item::Path {
            lines: (2..=stage.boards).map(line).collect(),
            style: Style::line(Pen::new(Ink::Grey, 0.14)),
        },
        Item::polygons(
            &first,
            Style::filled_ring(Ink::Pale, Pen::new(Ink::Black, 0.5)),
        ),
    ]
}

/// The holes as square dots, all one path.
fn dots(stage: &Stage, layout: &Layout) -> Item {
    let holes = stage.lattice.rows.iter().flat_map(|row| &row.holes);
    let lines = holes.map(|&hole| {
        let at = layout.spot(hole);
        let half = Spot {
            x: LEAST_DOT_MM / 2.0,
            y: 0.0,
        };
        vec![at - half, at + half]
    });
    Item::Path {
        lines: lines.collect(),
        style: Style::line(Pen::new(Ink::Pass, LEAST_DOT_MM)),
    }
}

fn crosses(stage: &Stage, layout: &Layout) -> Item {
    let kept_off = stage.lattice.rows.iter().flat_map(|row| &row.kept_off);
    let lines = kept_off.flat_map(|&hole| {
        let at = layout.spot(hole);
        let (one, other) = (
            Spot {
                x: CROSS_MM,
                y: CROSS_MM,
            },
            Spot {
                x: CROSS_MM,
                y: -CROSS_MM,
            },
        );
        [vec![at - one, at + one], vec![at - other, at + other]]
    });
    Item::Path {
        lines: lines.collect(),
        style: Style::line(Pen::new(Ink::Black, 0.16)),
    }
}

/// The numbers of the places, where its rows begin.
fn numbers(stage: &Stage, layout: &Layout) -> Vec<Item> {
    let lattice = &stage.lattice;
    let step_mm = stage.board_width_m * layout.mm_per_m();
    let every = [1, 2, 5, 10, 20, 50, 100]
        .into_iter()
        .find(|every| f64::from(*every) * step_mm >= NUMBER_STEP_MM);
    let every = usize::try_from(every.unwrap_or(1000)).unwrap_or(1000);
    let aside = layout.direction(lattice.axes.along) * -1.0;
    let mut items = Vec::new();
    let mut ticks = Vec::new();
    for place in 1..=stage.boards {
        let middle_m = lattice.low.y + (place as f64 - 1.5) * stage.board_width_m;
        let at = layout.spot(lattice.axes.place(lattice.low.x, middle_m));
        let is_end = place == 1 || place == stage.boards;
        // A number beside the first or the last would run into it.
        let is_beside_end = place - 1 < every || stage.boards - place < every;
        if is_end || (place % every == 0 && !is_beside_end) {
            ticks.push(vec![at + aside * 0.4, at + aside * 2.0]);
            items.push(centred(at + aside * 4.6, NUMBER_MM, &place.to_string()));
        } else {
            ticks.push(vec![at + aside * 0.4, at + aside * 1.2]);
        }
    }
    items.push(Item::Path {
        lines: ticks,
        style: Style::line(Pen::new(Ink::Black, 0.2)),
    });
    items
}

/// The arrow of the turn-over, where its rows end.
fn way(stage: &Stage, layout: &Layout) -> Vec<Item> {
    let lattice = &stage.lattice;
    let aside = layout.direction(lattice.axes.along) * 5.0;
    let ends = [lattice.low.y - stage.board_width_m, lattice.high.y];
    let [from, to] =
        ends.map(|ahead_m| layout.spot(lattice.axes.place(lattice.high.x, ahead_m)) + aside);
    arrow(from, to, Pen::new(Ink::Black, 0.9))
}

/// Where each person starts, on the board.
fn people(stage: &Stage, layout: &Layout) -> Vec<Item> {
    // A mark at the very end of the board would lie half beside it.
    let inwards = layout.direction(stage.lattice.axes.along) * 2.2;
    let starts = stage.starts.iter().enumerate();
    starts
        .flat_map(|(index, &start)| {
            let at = layout.spot(start) + inwards;
            let mut items = person(at, &person_letter(index));
            items.extend(arrow(
                at + inwards,
                at + inwards * 3.4,
                Pen::new(Ink::Black, 0.4),
            ));
            items
        })
        .collect()
}
