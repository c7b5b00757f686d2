//! The sketch of a tape sheet: the fitted rectangle with its four lines and flags, and the lines
//! of the direction with their numbers. The flags where the tape is hooked are ringed.

use std::collections::BTreeSet;

use geo::MultiPolygon;

use super::{COLOURED, Leaf};
use crate::passes::Track;
use crate::plan::Plan;
use crate::sheets::layout::{self, Layout, line_name};
use crate::sheets::room::Room;
use crate::sheets::scene::{Frame, Ink, Item, Pen, Spot, Style};
use crate::sheets::{ground_map, numbers, symbols};
use crate::space::{Corner, Xy};

/// The lines that distances are measured along.
const LINE: Pen = Pen::new(Ink::Black, 0.5);

/// The edge of the pitch's grass, where it is not the rectangle.
const GRASS: Pen = Pen::new(Ink::Black, 0.25).dashed(&[0.8, 0.8]);

/// A pass whose canes are coloured.
const TENTH: Pen = Pen::new(Ink::Pass, 0.7);

/// The ring about a flag where the tape is hooked.
const HOOK_MM: f64 = 1.9;

/// What is drawn, pitch metres.
pub(super) fn extent(plan: &Plan) -> (Xy, Xy) {
    let ground = &plan.ground;
    let outline = MultiPolygon(vec![ground.outline.clone()]);
    let corners = Corner::ALL.map(|corner| ground.corner(corner));
    layout::extent(&[&ground.grass, &outline], &corners)
}

/// Draws the sketch. Also which passes are numbered, in words.
pub(super) fn draw(plan: &Plan, leaf: &Leaf<'_>, layout: &Layout) -> (Vec<Item>, String) {
    let ground = &plan.ground;
    let mut room = Room::new(layout.window);
    let hooks = hooks(leaf);
    for &corner in &hooks {
        let spot = layout.spot(ground.corner(corner));
        room.take_symbol(Frame::about(spot, 2.0 * HOOK_MM, 2.0 * HOOK_MM));
    }
    let names = ground_map::names_as(ground, layout, &mut room, line_name);
    let lines = lines(leaf, layout);
    let numbered = if lines.is_empty() {
        numbers::Numbered {
            items: Vec::new(),
            note: "no pass".to_owned(),
        }
    } else {
        numbers::straight(&lines, &mut room)
    };

    let mut inside = ground_map::below(ground, layout);
    inside.extend(ground_map::markings(ground, layout, symbols::MARKING));
    if plan.squares.most_m() > super::written::DIFFERS_M {
        let outline = MultiPolygon(vec![ground.outline.clone()]);
        inside.push(Item::polygons(&layout.shape(&outline), Style::ring(GRASS)));
    }
    inside.push(Item::Path {
        lines: vec![
            // Clockwise, as they stand round the rectangle.
            Corner::ALL
                .map(|corner| layout.spot(ground.corner(corner)))
                .to_vec(),
        ],
        style: Style::ring(LINE),
    });
    inside.extend(passes(leaf, layout));
    let mut items = vec![Item::Clipped {
        window: ground_map::drawn(ground, layout),
        items: inside,
    }];
    for &corner in &hooks {
        items.push(hook(layout.spot(ground.corner(corner))));
    }
    items.extend(numbered.items);
    items.extend(names);
    (items, numbered.note)
}

/// The sign of a flag where the tape is hooked.
pub(super) fn hook(at: Spot) -> Item {
    Item::Circle {
        centre: at,
        radius_mm: HOOK_MM,
        style: Style::ring(Pen::new(Ink::Black, 0.5)),
    }
}

/// The flags that distances of this direction are counted from.
fn hooks(leaf: &Leaf<'_>) -> BTreeSet<Corner> {
    let parts = leaf.direction.tape.parts.iter();
    parts
        .flat_map(|part| [part.start.flag, part.stop.flag])
        .collect()
}

/// The passes as the numbers know them.
fn lines(leaf: &Leaf<'_>, layout: &Layout) -> Vec<numbers::Line> {
    let passes = leaf.direction.passes.passes.iter();
    let lines = passes.filter_map(|pass| {
        let first = pass.parts.first().map(|part| &part.track)?;
        let last = pass.parts.last().map(|part| &part.track)?;
        match (first, last) {
            (Track::Straight { from, .. }, Track::Straight { to, .. }) => Some(numbers::Line {
                number: pass.number,
                from: layout.spot(*from),
                to: layout.spot(*to),
            }),
            _ => None,
        }
    });
    lines.collect()
}

/// The centre lines, those with coloured canes stout.
fn passes(leaf: &Leaf<'_>, layout: &Layout) -> Vec<Item> {
    let mut thin = Vec::new();
    let mut stout = Vec::new();
    for pass in &leaf.direction.passes.passes {
        for part in &pass.parts {
            let line = match &part.track {
                Track::Straight { from, to } => vec![layout.spot(*from), layout.spot(*to)],
                Track::Round(line) => line.0.iter().map(|&place| layout.spot(place)).collect(),
            };
            if pass.number.is_multiple_of(COLOURED) {
                stout.push(line);
            } else {
                thin.push(line);
            }
        }
    }
    let path = |lines, pen| Item::Path {
        lines,
        style: Style::line(pen),
    };
    vec![path(thin, symbols::PASS_LINE), path(stout, TENTH)]
}
