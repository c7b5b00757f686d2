//! The map of a drive in one direction: which part comes when, driven which way, and the
//! turns between them.
//!
//! Drawn is the way of the middle of the rear axle. Work is a stout line with its number
//! and an arrow at the end where it is begun, so that whoever has just lifted the tool
//! looks for the next number near by. Turns are thin and black, told apart by their dashes,
//! and lie under the work.

use geo::{LineString, MultiPolygon, Simplify};

use super::ground_map;
use super::layout::Layout;
use super::order_numbers::{self, Line};
use super::room::Room;
use super::scene::{Frame, Ink, Item, Spot, Style, plated};
use super::stages::{self, Drawn, MoveKind, Stage, Work};
use super::symbols::{self, Kind};
use super::written::Page;
use crate::plan::{OperationPlan, Plan};
use crate::route::kind::Kind as TurnKind;

/// Half a tick where the tool is dropped or lifted.
const TICK_MM: f64 = 0.8;

/// Ways are drawn so near to what they are.
const NEAR_MM: f64 = 0.02;

/// Ways at least so long have an arrow.
const FAR_MM: f64 = 10.0;

/// Size of the words at the ends of the drive.
const END_MM: f64 = 3.0;

/// Size of the numbers of rounds.
const ROUND_MM: f64 = 3.4;

/// From the beginning of a round to its number.
const ROUND_INSET_MM: f64 = 7.0;

/// What was drawn.
pub(super) struct RouteMap {
    /// The drawing.
    pub items: Vec<Item>,
    /// The kinds of things in it, for the key.
    pub kinds: Vec<Kind>,
    /// The kinds of moves in it, for the key.
    pub moves: Vec<MoveKind>,
    /// Whether the driving direction changes anywhere.
    pub has_changes: bool,
    /// Which parts are numbered, in words.
    pub numbered: String,
}

/// Draws a stage of an operation's drive.
pub(super) fn draw(
    plan: &Plan,
    work: &OperationPlan,
    stage: &Stage<'_>,
    page: Page,
    layout: &Layout,
) -> RouteMap {
    let ground = &plan.ground;
    let mut room = Room::new(layout.window);
    let closed: Vec<MultiPolygon<f64>> = ground
        .kept
        .iter()
        .filter(|kept| kept.stops_the_body())
        .map(|kept| kept.kept_clear.clone())
        .collect();
    let (things, kinds) = ground_map::things(ground, layout, &closed, &mut room);
    let entrances = ground_map::entrances(ground, layout, &mut room);
    let names = ground_map::names(ground, layout, &mut room);
    let drawn = stages::drawn(stage, |place| layout.spot(place));

    let mut inside = ground_map::below(ground, layout);
    inside.extend(ground_map::markings(ground, layout, symbols::MARKING));
    let target = layout.shape(&work.target.shape);
    inside.push(Item::polygons(&target, Style::ring(symbols::TARGET_EDGE)));
    inside.extend(things);
    inside.extend(moves(&drawn));
    inside.extend(works(&drawn.works));
    inside.extend(drawn.changes.iter().map(|&spot| symbols::change(spot)));
    inside.extend(entrances);

    let ends_of = ends_of(stage, &drawn, page);
    for end in &ends_of {
        room.take_symbol(Frame::about(end.spot, 2.8, 2.8));
    }
    let numbered = number(&drawn.works, &mut room);
    let ends = ends(ends_of, &target, &mut room);
    let entrance_words = ground_map::entrance_words(ground, layout, &mut room);
    inside.extend(numbered.items);
    let mut items = vec![Item::Clipped {
        window: ground_map::drawn(ground, layout),
        items: inside,
    }];
    items.extend(ends);
    items.extend(names);
    items.extend(entrance_words);
    items.extend(ground_map::thing_names(ground, layout, &target, &mut room));
    let mut kinds_of_moves: Vec<MoveKind> = drawn.moves.iter().map(|of| of.kind).collect();
    kinds_of_moves.sort_unstable();
    kinds_of_moves.dedup();
    RouteMap {
        items,
        kinds,
        moves: kinds_of_moves,
        has_changes: !drawn.changes.is_empty(),
        numbered: numbered.note,
    }
}

/// The moves with the tool up. Those that lead far have an arrow; of the turns from line to
/// line the numbers tell enough.
fn moves(drawn: &Drawn) -> Vec<Item> {
    let mut items = Vec::new();
    for of in &drawn.moves {
        let way = LineString(of.way.clone()).simplify(NEAR_MM).0;
        items.extend(symbols::moved(of.kind, &way));
        if matches!(of.kind, MoveKind::Turn(TurnKind::Other) | MoveKind::Haul) {
            let long_mm: f64 = way.windows(2).map(|pair| between(pair[0], pair[1])).sum();
            let middle = spot_along(&way, long_mm / 2.0).filter(|_| long_mm >= FAR_MM);
            items.extend(middle.map(|(tip, along)| symbols::arrow(tip, along, Ink::Black)));
        }
    }
    items
}

fn between(one: Spot, other: Spot) -> f64 {
    (other.x - one.x).hypot(other.y - one.y)
}

/// The lines of work with their ticks.
fn works(works: &[Work]) -> Vec<Item> {
    let lines = works.iter().map(|work| work.way.clone()).collect();
    let mut ticks = Vec::new();
    for work in works {
        let ends = match work.way.as_slice() {
            [first, second, .., before, last] => vec![(*first, *second), (*last, *before)],
            [first, middle, last] => vec![(*first, *middle), (*last, *middle)],
            [first, last] => vec![(*first, *last), (*last, *first)],
            _ => Vec::new(),
        };
        for (end, next) in ends {
            let way = next - end;
            let length = way.x.hypot(way.y);
            if length > 1e-9 {
                let across = Spot {
                    x: -way.y,
                    y: way.x,
                } * (TICK_MM / length);
                ticks.push(vec![end + across, end - across]);
            }
        }
    }
    vec![
        Item::Path {
            lines,
            style: Style::line(symbols::WORK_LINE),
        },
        Item::Path {
            lines: ticks,
            style: Style::line(symbols::PASS_LINE),
        },
    ]
}

/// The numbers of the works: along straight lines, upright on rounds.
fn number(works: &[Work], room: &mut Room) -> order_numbers::Numbered {
    let mut lines = Vec::new();
    let mut items = Vec::new();
    for work in works {
        match work.way.as_slice() {
            &[from, to] => lines.push(Line {
                order: work.order,
                from,
                to,
            }),
            way => items.extend(on_round(work.order, way, room)),
        }
    }
    if lines.is_empty() {
        return order_numbers::Numbered {
            items,
            note: "every round, where it is begun".to_owned(),
        };
    }
    let mut numbered = order_numbers::along(&lines, room);
    numbered.items.extend(items);
    numbered
}

/// A round's number on it, a little after its beginning, and an arrow ahead of it; further
/// on where that place is taken.
fn on_round(order: usize, way: &[Spot], room: &mut Room) -> Vec<Item> {
    const STEPS: u8 = 12;
    let content = order.to_string();
    let places = (0..STEPS).filter_map(|step| {
        let at_mm = ROUND_INSET_MM * f64::from(step + 1);
        let middle = spot_along(way, at_mm)?.0;
        let (frame, plate) = plated(middle, ROUND_MM, &content);
        let ahead_mm = at_mm + frame.width.max(frame.height) / 2.0 + symbols::ARROW_MM + 0.3;
        Some((frame, plate, spot_along(way, ahead_mm)?))
    });
    let Some((frame, plate, (tip, along))) =
        places.into_iter().find(|(frame, ..)| room.is_free(frame))
    else {
        return Vec::new();
    };
    room.take(frame);
    let mut items = vec![symbols::arrow(tip, along, Ink::Pass)];
    items.extend(plate);
    items
}

/// The spot so far along a line, and the direction there.
fn spot_along(way: &[Spot], at_mm: f64) -> Option<(Spot, Spot)> {
    let mut left_mm = at_mm;
    for pair in way.windows(2) {
        let [from, to] = pair else { continue };
        let run = *to - *from;
        let length = run.x.hypot(run.y);
        if length >= left_mm && length > 1e-9 {
            return Some((*from + run * (left_mm / length), run / length));
        }
        left_mm -= length;
    }
    None
}

/// An end of a stage: its spot, whether it is the first, and its words.
struct End {
    spot: Spot,
    is_start: bool,
    words: String,
}

/// Where the stage begins and ends.
fn ends_of(stage: &Stage<'_>, drawn: &Drawn, page: Page) -> Vec<End> {
    let is_first_move = stage.legs.first().is_some_and(|leg| leg.worked.is_none());
    let is_last_move = stage.legs.last().is_some_and(|leg| leg.worked.is_none());
    let first = match (is_first_move, drawn.moves.first(), drawn.works.first()) {
        (true, Some(of), _) => of.way.first(),
        (_, _, Some(of)) => of.way.first(),
        _ => None,
    };
    let last = match (is_last_move, drawn.moves.last(), drawn.works.last()) {
        (true, Some(of), _) => of.way.last(),
        (_, _, Some(of)) => of.way.last(),
        _ => None,
    };
    let start_words = if stage.number == 1 {
        "start".to_owned()
    } else {
        format!("from sheet {}", page.number.saturating_sub(1))
    };
    let end_words = if stage.number == stage.count {
        "finish".to_owned()
    } else {
        format!("on to sheet {}", page.number + 1)
    };
    // The end first: the ring of a beginning at the same spot lies in its square.
    let ends = [(last, false, end_words), (first, true, start_words)];
    let ends = ends.into_iter().filter_map(|(spot, is_start, words)| {
        let spot = *spot?;
        Some(End {
            spot,
            is_start,
            words,
        })
    });
    ends.collect()
}

/// The marks and words of the ends, the words off the work where that has room.
fn ends(ends: Vec<End>, target: &MultiPolygon<f64>, room: &mut Room) -> Vec<Item> {
    let mut items = Vec::new();
    for end in ends {
        items.push(symbols::drive_end(end.spot, end.is_start));
        let mut label = |most_mm: f64, accepts: &dyn Fn(&Frame) -> bool| {
            let away_mm = (2.2, most_mm);
            ground_map::label_near(end.spot, END_MM, &end.words, away_mm, room, accepts)
        };
        let mut words = label(16.0, &|frame| ground_map::is_off(frame, target));
        if words.is_empty() {
            words = label(40.0, &|_| true);
        }
        items.extend(words);
    }
    items
}
