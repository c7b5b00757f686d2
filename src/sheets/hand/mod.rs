//! The sheets of hand work, one each: what two people need to start without asking.
//!
//! Board places and turf blocks are drawn at a scale of their own, as large as the paper
//! allows; lanes and what a machine leaves on the whole ground.

mod blocks;
mod board;
mod map;
mod written;

use geo::MultiPolygon;

use super::layout::{self, Layout};
use super::room::Room;
use super::scene::{Ink, Item, Pen, Scene, Spot, Style};
use super::written::Page;
use super::{ground_map, symbols};
use crate::hand::{Detail, HandPlan};
use crate::plan::Plan;
use crate::space::Xy;

/// The sheet of a piece of hand work.
pub(super) fn scene(plan: &Plan, hand: &HandPlan, page: Page) -> Scene {
    let north_deg = plan.ground.bearing.deg();
    let extents = match &hand.detail {
        Detail::Board(_, board) => board::extents(board),
        Detail::Blocks(_, blocks) => vec![blocks::extent(blocks)],
        Detail::Lanes(..) | Detail::Rest(_) => {
            let outline = MultiPolygon(vec![plan.ground.outline.clone()]);
            vec![layout::extent(&[&plan.ground.grass, &outline], &[])]
        }
    };
    // What is written takes the same room whatever the layout, so that any will do to measure it.
    let any = Layout::choose(Xy::default(), Xy { x: 1.0, y: 1.0 }, north_deg, &[]);
    let panel = written::beside(plan, hand, page, &any);
    let layouts = Layout::choose_parted(&extents, north_deg, &[panel]);
    let layout = layouts.first().cloned().unwrap_or(any);
    let mut items = match &hand.detail {
        Detail::Board(_, plan_of) => board::draw(plan, plan_of, &layouts),
        Detail::Blocks(_, plan_of) => blocks::draw(plan, plan_of, &layout),
        Detail::Lanes(_, plan_of) => map::lanes(plan, plan_of, &layout),
        Detail::Rest(plan_of) => map::rest(plan, plan_of, &layout),
    };
    items.extend(layout.panel(&written::beside(plan, hand, page, &layout)));
    Scene {
        width_mm: layout.paper_mm.0,
        height_mm: layout.paper_mm.1,
        title: format!("{}: {}", plan.name, hand.id),
        items,
    }
}

/// The ground under a drawing: lines, what is kept clear hatched, and the things on it. Goals
/// that are away are not drawn.
fn under(plan: &Plan, layout: &Layout, kept: &[MultiPolygon<f64>]) -> Vec<Item> {
    let mut room = Room::new(layout.window);
    let mut ground = plan.ground.clone();
    ground.kept.retain(|kept| !kept.away);
    let mut items = ground_map::below(&ground, layout);
    items.extend(ground_map::markings(&ground, layout, symbols::MARKING));
    let (things, _) = ground_map::things(&ground, layout, kept, &mut room);
    items.extend(things);
    items
}

/// An arrow from one spot to another, its head at the end.
fn arrow(from: Spot, to: Spot, pen: Pen) -> Vec<Item> {
    let way = to - from;
    let length = way.x.hypot(way.y);
    if length < 1e-9 {
        return Vec::new();
    }
    let ahead = way / length;
    let across = Spot {
        x: -ahead.y,
        y: ahead.x,
    };
    let reach = (pen.width_mm * 3.0 + 1.6).min(length);
    let back = to - ahead * reach;
    vec![
        Item::line(vec![from, back], pen),
        Item::Path {
            lines: vec![vec![
                to,
                back + across * (reach * 0.45),
                back - across * (reach * 0.45),
            ]],
            style: Style::filled(pen.ink),
        },
    ]
}

/// The letter of a person: A, B, …; beyond Z the number.
fn person_letter(index: usize) -> String {
    u8::try_from(index)
        .ok()
        .filter(|index| *index < 26)
        .map_or_else(
            || (index + 1).to_string(),
            |index| char::from(b'A' + index).to_string(),
        )
}

/// A mark for a person: a ring with their letter.
fn person(at: Spot, letter: &str) -> Vec<Item> {
    let mut items = vec![Item::Circle {
        centre: at,
        radius_mm: 2.0,
        style: Style::filled_ring(Ink::White, Pen::new(Ink::Black, 0.45)),
    }];
    items.push(super::scene::centred(at, 2.7, letter));
    items
}

/// The edge of the ground that is worked.
const EDGE: Pen = Pen::new(Ink::Black, 0.35);

/// Ground as a ring.
fn edge(shape: &MultiPolygon<f64>, layout: &Layout) -> Item {
    Item::polygons(&layout.shape(shape), Style::ring(EDGE))
}

/// Things that are cut off at the drawing's window.
fn clipped(layout: &Layout, items: Vec<Item>) -> Item {
    Item::Clipped {
        window: layout.window,
        items,
    }
}

/// A line between two things that belong together.
const TIE: Pen = symbols::LEADER.dashed(&[0.9, 0.7]);
