//! The tape sheets: what two people with a tape and canes need to set the lines out without a
//! terminal.
//!
//! Each direction begins a page of its own: the rectangle to prove first, how to measure, a
//! sketch of the lines, then the table of its passes, which runs on over as many pages as it
//! needs. Every page can be held alone: it says what it belongs to.

mod sketch;
mod table;
mod written;

use super::layout::{A4_MM, Layout, MARGIN_MM};
use super::panel::{Block, COLUMN_MM};
use super::scene::{Frame, Item, Scene, Spot};
use super::written::Page;
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::setting_out::TapedPart;
use crate::space::Xy;

/// Between the written part, the sketch and the table.
const GAP_MM: f64 = 4.0;

/// The sketch is at least so high, whatever stands beside it.
const LEAST_SKETCH_MM: f64 = 90.0;

/// How much is written beside a sketch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Detail {
    /// All there is to say.
    Full,
    /// Without the bar of the scale, and of many rounds the first two.
    Short,
}

/// One page.
#[derive(Clone, Copy)]
pub(super) struct Leaf<'plan> {
    work: &'plan OperationPlan,
    direction: &'plan DirectionPlan,
    /// From 1 within the operation.
    pub number: usize,
    /// Whether it begins the direction.
    is_first: bool,
    /// Which parts of the direction it lists.
    from: usize,
    to: usize,
    /// How much is written beside the sketch.
    detail: Detail,
    /// Height of what stands above the table, with the gap below it.
    head_mm: f64,
}

impl<'plan> Leaf<'plan> {
    fn parts(&self) -> &'plan [TapedPart] {
        let parts = &self.direction.tape.parts;
        parts.get(self.from..self.to).unwrap_or_default()
    }

    /// Its path within the plan's folder.
    pub(super) fn path(&self) -> String {
        let id = &self.work.operation.id;
        if self.number > 1 {
            format!("sheets/tape-{id}.{}.svg", self.number)
        } else {
            format!("sheets/tape-{id}.svg")
        }
    }
}

/// The paper within its white edge.
fn paper() -> Frame {
    let (short, long) = A4_MM;
    Frame {
        left: MARGIN_MM,
        top: MARGIN_MM,
        width: short - 2.0 * MARGIN_MM,
        height: long - 2.0 * MARGIN_MM,
    }
}

/// The pages of an operation, direction by direction. Rounds are told on the first page of the
/// straight lines; they have one of their own only where there are no others.
pub(super) fn leaves<'plan>(plan: &'plan Plan, work: &'plan OperationPlan) -> Vec<Leaf<'plan>> {
    let is_straight = |direction: &&DirectionPlan| direction.passes.angle.is_some();
    let mut directions: Vec<&DirectionPlan> = work.directions.iter().filter(is_straight).collect();
    if directions.is_empty() {
        directions.extend(work.directions.first());
    }
    let foot_mm = written::foot_mm(work);
    let mut leaves = Vec::new();
    for direction in directions {
        let mut from = 0;
        let mut is_first = true;
        let count = direction.tape.parts.len();
        while is_first || from < count {
            let mut leaf = Leaf {
                work,
                direction,
                number: leaves.len() + 1,
                is_first,
                from,
                to: count,
                detail: Detail::Full,
                head_mm: 0.0,
            };
            (leaf.detail, leaf.head_mm) = head(plan, &leaf, paper().height - foot_mm);
            let fits = table::rows_in(paper().height - leaf.head_mm - foot_mm);
            // A page after the first always takes a row, so that the pages come to an end.
            let taken = if is_first { fits } else { fits.max(1) };
            leaf.to = count.min(from + taken);
            from = leaf.to;
            leaves.push(leaf);
            is_first = false;
        }
    }
    leaves
}

/// How much is written above the table, and its height with the gap below it, where there is so
/// much room.
fn head(plan: &Plan, leaf: &Leaf<'_>, room_mm: f64) -> (Detail, f64) {
    // What is written takes the same room whatever number and layout.
    let page = Page {
        number: 1,
        count: 1,
    };
    if !leaf.is_first {
        let high_mm = written::running_head(plan, leaf, page).1;
        return (Detail::Full, high_mm + GAP_MM);
    }
    let any = Layout::within(paper(), (Xy::default(), Xy { x: 1.0, y: 1.0 }), 0.0);
    let high_mm = |detail: Detail| {
        let leaf = Leaf { detail, ..*leaf };
        column_mm(&written::beside(plan, &leaf, page, &any, "")).max(LEAST_SKETCH_MM) + GAP_MM
    };
    let full_mm = high_mm(Detail::Full);
    if full_mm <= room_mm {
        (Detail::Full, full_mm)
    } else {
        (Detail::Short, high_mm(Detail::Short))
    }
}

fn column_mm(blocks: &[Block]) -> f64 {
    let all = blocks.iter().enumerate();
    all.map(|(index, block)| block.height_mm + if index > 0 { block.gap_mm } else { 0.0 })
        .sum()
}

/// The scene of a page.
pub(super) fn scene(plan: &Plan, leaf: &Leaf<'_>, page: Page) -> Scene {
    let paper = paper();
    let head_mm = leaf.head_mm;
    let mut items = Vec::new();
    if leaf.is_first {
        let window = Frame {
            left: paper.left + COLUMN_MM + GAP_MM,
            width: paper.width - COLUMN_MM - GAP_MM,
            height: head_mm - GAP_MM,
            ..paper
        };
        let layout = Layout::within(window, sketch::extent(plan), plan.ground.bearing.deg());
        let (drawn, numbered) = sketch::draw(plan, leaf, &layout);
        items.extend(drawn);
        let mut top = paper.top;
        let blocks = written::beside(plan, leaf, page, &layout, &numbered);
        for (index, block) in blocks.into_iter().enumerate() {
            top += if index > 0 { block.gap_mm } else { 0.0 };
            let at = Spot {
                x: paper.left,
                y: top,
            };
            top += block.height_mm;
            items.extend(block.items.into_iter().map(|item| item.moved(at)));
        }
    } else {
        let at = Spot {
            x: paper.left,
            y: paper.top,
        };
        let (head, _) = written::running_head(plan, leaf, page);
        items.extend(head.into_iter().map(|item| item.moved(at)));
    }
    let at = Spot {
        x: paper.left,
        y: paper.top + head_mm,
    };
    items.extend(moved(
        table::draw(&leaf.direction.tape.parts, leaf.from..leaf.to, paper.width),
        at,
    ));
    let at = Spot {
        x: paper.left,
        y: paper.bottom() - written::foot_mm(leaf.work),
    };
    items.extend(moved(written::foot(leaf.work), at));
    let (short, long) = A4_MM;
    Scene {
        width_mm: short,
        height_mm: long,
        title: format!("{}: {}", plan.name, written::subtitle(leaf)),
        items,
    }
}

fn moved(items: Vec<Item>, at: Spot) -> impl Iterator<Item = Item> {
    items.into_iter().map(move |item| item.moved(at))
}

/// Every tenth cane is coloured, so that the numbers between are counted at a glance.
const COLOURED: usize = 10;

/// The rows of a range as words: `passes 12 to 40`.
fn range_words(parts: &[TapedPart]) -> String {
    match (parts.first(), parts.last()) {
        (Some(first), Some(last)) if first.pass == last.pass => format!("pass {}", first.pass),
        (Some(first), Some(last)) => format!("passes {} to {}", first.pass, last.pass),
        _ => "no pass".to_owned(),
    }
}
