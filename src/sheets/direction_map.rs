//! The map of one direction: its strips, its numbered lines, and what they miss.

use geo::{Area, BooleanOps, LineString, MultiPolygon};

use super::ground_map;
use super::layout::Layout;
use super::missed_map::MissedMap;
use super::numbers::{self, Numbered};
use super::room::Room;
use super::scene::{Ink, Item, Pen, Spot, Style};
use super::symbols::{self, Kind};
use crate::coverage::MissedPlace;
use crate::passes::{Part, Track};
use crate::plan::{DirectionPlan, OperationPlan, Plan};

/// Half a tick at the end of a part.
const TICK_MM: f64 = 0.8;

/// Smaller places are not drawn, as the plan does not list them, square metres.
const LEAST_PLACE_M2: f64 = 1e-4;

/// Strips narrower than this on the paper get no outline of their own.
const LEAST_STRIP_MM: f64 = 0.9;

/// What was drawn.
pub(super) struct DirectionMap {
    /// The drawing.
    pub items: Vec<Item>,
    /// The kinds of things in it, for the key.
    pub kinds: Vec<Kind>,
    /// Which passes are numbered, in words.
    pub numbered: String,
}

/// Draws a direction.
pub(super) fn draw(
    plan: &Plan,
    work: &OperationPlan,
    direction: &DirectionPlan,
    layout: &Layout,
) -> DirectionMap {
    let ground = &plan.ground;
    let mut room = Room::new(layout.window);
    let (things, kinds) = ground_map::things(ground, layout, &work.target.blocked, &mut room);
    let entrances = ground_map::entrances(ground, layout, &mut room);
    let names = ground_map::names(ground, layout, &mut room);
    let entrance_words = ground_map::entrance_words(ground, layout, &mut room);

    let mut inside = ground_map::below(ground, layout);
    let parts: Vec<&Part> = direction
        .passes
        .passes
        .iter()
        .flat_map(|pass| &pass.parts)
        .collect();
    inside.extend(parts.iter().flat_map(|part| strip(part, layout)));
    inside.extend(ground_map::markings(ground, layout, symbols::MARKING));
    let target = layout.shape(&work.target.shape);
    inside.push(Item::polygons(&target, Style::ring(symbols::TARGET_EDGE)));
    inside.extend(things);

    // Rings before numbers, so that none hides a number; areas after them.
    let missed = MissedMap::draw(
        &left(work, direction),
        &line_ends(direction, layout),
        layout,
        &mut room,
    );
    let numbered = number(direction, layout, &mut room);
    let missed_labels = missed.labels(&mut room);
    inside.extend(missed.grounds);
    inside.push(centre_lines(&parts, layout));
    inside.push(ticks(&parts, layout));
    inside.extend(entrances);

    let mut items = vec![Item::Clipped {
        window: ground_map::drawn(ground, layout),
        items: inside,
    }];
    items.extend(missed.rings);
    items.extend(numbered.items);
    items.extend(missed_labels);
    items.extend(names);
    items.extend(entrance_words);
    items.extend(ground_map::thing_names(ground, layout, &target, &mut room));
    DirectionMap {
        items,
        kinds,
        numbered: numbered.note,
    }
}

/// The missed places to draw. Rounds and straight passes share the ground between them:
/// beside rounds, a place counts as missed where the rounds miss it too; on the sheet of
/// the rounds, where no direction works it.
fn left(work: &OperationPlan, direction: &DirectionPlan) -> Vec<MissedPlace> {
    let rounds = work
        .directions
        .iter()
        .find(|other| other.passes.angle.is_none());
    match rounds {
        None => direction.missed.clone(),
        Some(_) if direction.passes.angle.is_none() => work.unworked.clone(),
        Some(rounds) => {
            // A drawing only: the figures beside it are those of the plan.
            let both = shapes(&direction.missed).intersection(&shapes(&rounds.missed));
            let places = both.into_iter().map(|shape| MissedPlace {
                area_m2: shape.unsigned_area(),
                shape,
            });
            places
                .filter(|place| place.area_m2 >= LEAST_PLACE_M2)
                .collect()
        }
    }
}

fn shapes(places: &[MissedPlace]) -> MultiPolygon<f64> {
    MultiPolygon(places.iter().map(|place| place.shape.clone()).collect())
}

/// The outline of a part's strip.
fn strip(part: &Part, layout: &Layout) -> Vec<Item> {
    let width_mm = part.width_m * layout.mm_per_m();
    if width_mm < LEAST_STRIP_MM {
        return Vec::new();
    }
    match &part.track {
        Track::Straight { from, to } => {
            let (from, to) = (layout.spot(*from), layout.spot(*to));
            let Some(across) = across(from, to) else {
                return Vec::new();
            };
            let half = across * (width_mm / 2.0);
            vec![Item::Path {
                lines: vec![vec![from + half, to + half, to - half, from - half]],
                style: Style::ring(symbols::STRIP_EDGE),
            }]
        }
        Track::Round(line) => {
            // A broad faint line with a white one on it leaves the outline of the strip.
            let edge = symbols::STRIP_EDGE.width_mm;
            let pens = [
                Pen::new(Ink::Faint, width_mm + edge),
                Pen::new(Ink::White, width_mm - edge),
            ];
            pens.into_iter()
                .map(|pen| track(line, layout, pen))
                .collect()
        }
    }
}

/// A round's centre line.
fn track(line: &LineString<f64>, layout: &Layout, pen: Pen) -> Item {
    let mut spots: Vec<Spot> = line.0.iter().map(|&place| layout.spot(place)).collect();
    let is_closed = line.is_closed();
    if is_closed {
        spots.pop();
    }
    Item::Path {
        lines: vec![spots],
        style: Style {
            is_closed,
            ..Style::line(pen)
        },
    }
}

/// The unit vector square to a line; `None` for a line without length.
fn across(from: Spot, to: Spot) -> Option<Spot> {
    let way = to - from;
    let length = way.x.hypot(way.y);
    (length > 1e-9).then(|| Spot {
        x: -way.y / length,
        y: way.x / length,
    })
}

/// Where the straight passes start and end.
fn line_ends(direction: &DirectionPlan, layout: &Layout) -> Vec<Spot> {
    let ends = direction.passes.passes.iter().flat_map(|pass| {
        let first = pass.parts.first().map(|part| &part.track);
        let last = pass.parts.last().map(|part| &part.track);
        match (first, last) {
            (Some(Track::Straight { from, .. }), Some(Track::Straight { to, .. })) => {
                vec![layout.spot(*from), layout.spot(*to)]
            }
            _ => Vec::new(),
        }
    });
    ends.collect()
}

fn centre_lines(parts: &[&Part], layout: &Layout) -> Item {
    let lines = parts
        .iter()
        .map(|part| match &part.track {
            Track::Straight { from, to } => vec![layout.spot(*from), layout.spot(*to)],
            Track::Round(line) => line.0.iter().map(|&place| layout.spot(place)).collect(),
        })
        .collect();
    Item::Path {
        lines,
        style: Style::line(symbols::PASS_LINE),
    }
}

/// A tick across each end of each part, where the tool is dropped or lifted.
fn ticks(parts: &[&Part], layout: &Layout) -> Item {
    let mut lines = Vec::new();
    for part in parts {
        let ends: Vec<(Spot, Spot)> = match &part.track {
            Track::Straight { from, to } => {
                let (from, to) = (layout.spot(*from), layout.spot(*to));
                vec![(from, to), (to, from)]
            }
            Track::Round(line) if line.is_closed() => Vec::new(),
            Track::Round(line) => {
                let spots: Vec<Spot> = line.0.iter().map(|&place| layout.spot(place)).collect();
                match spots.as_slice() {
                    [first, second, .., before, last] => vec![(*first, *second), (*last, *before)],
                    [first, last] => vec![(*first, *last), (*last, *first)],
                    [first, middle, last] => vec![(*first, *middle), (*last, *middle)],
                    _ => Vec::new(),
                }
            }
        };
        for (end, next) in ends {
            if let Some(across) = across(end, next) {
                lines.push(vec![end + across * TICK_MM, end - across * TICK_MM]);
            }
        }
    }
    Item::Path {
        lines,
        style: Style::line(symbols::PASS_LINE),
    }
}

/// The numbers of all passes.
fn number(direction: &DirectionPlan, layout: &Layout, room: &mut Room) -> Numbered {
    let mut lines = Vec::new();
    let mut items = Vec::new();
    for (index, pass) in direction.passes.passes.iter().enumerate() {
        let mut ends: Option<(Spot, Spot)> = None;
        for part in &pass.parts {
            match &part.track {
                Track::Straight { from, to } => {
                    let first = ends.map_or_else(|| layout.spot(*from), |(first, _)| first);
                    ends = Some((first, layout.spot(*to)));
                }
                Track::Round(line) => {
                    let spots: Vec<Spot> = line.0.iter().map(|&place| layout.spot(place)).collect();
                    items.extend(numbers::round(pass.number, &spots, index, room));
                }
            }
        }
        if let Some((from, to)) = ends {
            lines.push(numbers::Line {
                number: pass.number,
                from,
                to,
            });
        }
    }
    if lines.is_empty() {
        return Numbered {
            items,
            note: "no pass".to_owned(),
        };
    }
    numbers::straight(&lines, room)
}
