//! The drawing of a block swap: every block with its number, on the worn place and where its
//! donor comes from.

use geo::MultiPolygon;

use super::{TIE, clipped, under};
use crate::hand::blocks::{BlockPlan, Square};
use crate::plan::Plan;
use crate::sheets::hatch;
use crate::sheets::layout::{self, Layout};
use crate::sheets::scene::{Ink, Item, Pen, Style, centred, plated};
use crate::space::Xy;

/// Ground drawn about the blocks, metres.
const ABOUT_M: f64 = 0.6;

/// At most so many lines of a grid are drawn each way.
const MOST_LINES: usize = 60;

/// Size of the numbers.
const NUMBER_MM: f64 = 2.7;

/// What is drawn, pitch metres.
pub(super) fn extent(plan: &BlockPlan) -> (Xy, Xy) {
    let swaps = plan.swaps.iter().flat_map(|swap| [&swap.worn, &swap.donor]);
    let all = swaps.chain(&plan.without_donor).chain(&plan.kept_off);
    let corners: Vec<Xy> = all
        .flat_map(|square| {
            let far = square.low
                + Xy {
                    x: square.side_m,
                    y: square.side_m,
                };
            [square.low, far]
        })
        .collect();
    let (low, high) = layout::extent(&[], &corners);
    let about = Xy {
        x: ABOUT_M,
        y: ABOUT_M,
    };
    (low - about, high + about)
}

/// Draws the swap.
pub(super) fn draw(plan: &Plan, blocks: &BlockPlan, layout: &Layout) -> Vec<Item> {
    let mut inside = under(plan, layout, &blocks.kept_clear);
    inside.extend(grid(plan, blocks, layout));
    let ties = blocks.swaps.iter().map(|swap| {
        let ends = [swap.worn.middle(), swap.donor.middle()];
        ends.map(|at| layout.spot(at)).to_vec()
    });
    inside.push(Item::Path {
        lines: ties.collect(),
        style: Style::line(TIE),
    });
    for (index, swap) in blocks.swaps.iter().enumerate() {
        let number = (index + 1).to_string();
        inside.extend(worn(&swap.worn, layout));
        inside.extend(block(&swap.donor, layout, Pen::new(Ink::Pass, 0.5)));
        inside.extend(numbered(&swap.worn, &number, layout));
        inside.extend(numbered(&swap.donor, &number, layout));
    }
    for square in blocks.without_donor.iter().chain(&blocks.kept_off) {
        inside.extend(worn(square, layout));
        inside.push(centred(layout.spot(square.middle()), NUMBER_MM, "\u{2013}"));
    }
    vec![clipped(layout, inside)]
}

/// Lines a metre apart from the goal line and from the middle between the posts, to peg out by.
fn grid(plan: &Plan, blocks: &BlockPlan, layout: &Layout) -> Vec<Item> {
    let (low, high) = extent(blocks);
    let sign = if low.x + high.x >= 0.0 { 1.0 } else { -1.0 };
    let goal_line_m = sign * plan.ground.length_m / 2.0;
    let metres = |from: f64, to: f64| {
        let mut all = Vec::new();
        let mut at = from.ceil();
        while at <= to && all.len() < MOST_LINES {
            all.push(at);
            at += 1.0;
        }
        all
    };
    let (a, b) = ((goal_line_m - low.x) * sign, (goal_line_m - high.x) * sign);
    let mut lines = Vec::new();
    let mut words = Vec::new();
    for inwards_m in metres(a.min(b), a.max(b)) {
        let x = goal_line_m - sign * inwards_m;
        let ends = [low.y, high.y].map(|y| layout.spot(Xy { x, y }));
        lines.push(ends.to_vec());
        // The sum with 0 has no sign where it is 0.
        words.push((ends[0], format!("{:.0}", inwards_m + 0.0)));
    }
    for y in metres(low.y, high.y) {
        let ends = [low.x, high.x].map(|x| layout.spot(Xy { x, y }));
        lines.push(ends.to_vec());
        words.push((ends[0], format!("{:.0}", y.abs())));
    }
    let mut items = vec![Item::Path {
        lines,
        style: Style::line(Pen::new(Ink::Grey, 0.12)),
    }];
    items.extend(
        words
            .iter()
            .flat_map(|(at, text)| plated(*at, NUMBER_MM, text).1),
    );
    items
}

fn on_paper(square: &Square, layout: &Layout) -> MultiPolygon<f64> {
    layout.shape(&MultiPolygon(vec![square.shape()]))
}

fn block(square: &Square, layout: &Layout, pen: Pen) -> Vec<Item> {
    vec![Item::polygons(
        &on_paper(square, layout),
        Style::filled_ring(Ink::White, pen),
    )]
}

/// A worn block: hatched, so that it is told from a donor without colour.
fn worn(square: &Square, layout: &Layout) -> Vec<Item> {
    let shape = on_paper(square, layout);
    vec![
        Item::polygons(&shape, Style::filled(Ink::White)),
        hatch::strokes(&shape, 45.0, 0.9, Pen::new(Ink::Grey, 0.2)),
        Item::polygons(&shape, Style::ring(Pen::new(Ink::Black, 0.5))),
    ]
}

/// The number of a block, on a plate.
fn numbered(square: &Square, number: &str, layout: &Layout) -> Vec<Item> {
    plated(layout.spot(square.middle()), NUMBER_MM, number).1
}
