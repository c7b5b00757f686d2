//! The drawings on the whole ground: mending lanes with who walks them, and what a machine
//! leaves.

use super::{arrow, clipped, person_letter, under};
use crate::coverage::MissedPlace;
use crate::hand::lanes::{Lane, LanePlan};
use crate::hand::rest::{RestPlan, Why};
use crate::plan::Plan;
use crate::sheets::layout::Layout;
use crate::sheets::lettering::width_mm;
use crate::sheets::missed_map::MissedMap;
use crate::sheets::room::Room;
use crate::sheets::scene::{Frame, Ink, Item, Pen, Spot, Style, plate_frame, plated, turned};
use crate::sheets::{ground_map, hatch, symbols};

/// Size of the words of a lane.
const LANE_MM: f64 = 2.9;

/// From the end of a lane to its words.
const IN_MM: f64 = 5.0;

/// The lanes: outlines, an arrow the way each is walked, its number and its person's letter.
pub(super) fn lanes(plan: &Plan, lanes: &LanePlan, layout: &Layout) -> Vec<Item> {
    let mut room = Room::new(layout.window);
    let names = ground_map::names(&plan.ground, layout, &mut room);
    let mut inside = under(plan, layout, &[]);
    for lane in &lanes.lanes {
        let shape = layout.shape(&lane.shape);
        if lane.day.is_none() {
            inside.push(hatch::strokes(&shape, 45.0, 1.4, Pen::new(Ink::Grey, 0.2)));
        }
        inside.push(Item::polygons(
            &shape,
            Style::ring(Pen::new(Ink::Black, 0.2)),
        ));
    }
    for pair in lanes.lanes.windows(2) {
        if pair[0].person != pair[1].person {
            inside.extend(border(&pair[0], &pair[1], layout));
        }
    }
    let mut items = vec![clipped(layout, inside)];
    for lane in &lanes.lanes {
        items.extend(lane_words(lane, layout, &mut room));
    }
    items.extend(names);
    items
}

/// How wide a lane is on average, metres.
fn lane_width_m(lane: &Lane) -> f64 {
    let length_m = (lane.to.x - lane.from.x).hypot(lane.to.y - lane.from.y);
    lane.area_m2 / length_m.max(1e-9)
}

/// The stout line where one person's share ends and the next begins: between the middles of the
/// two lanes.
fn border(one: &Lane, other: &Lane, layout: &Layout) -> Vec<Item> {
    let ends = |lane: &Lane| {
        let (a, b) = (layout.spot(lane.from), layout.spot(lane.to));
        if (a.x + a.y) <= (b.x + b.y) {
            (a, b)
        } else {
            (b, a)
        }
    };
    let ((a, b), (c, d)) = (ends(one), ends(other));
    let widths = [one, other].map(lane_width_m);
    let share = widths[0] / (widths[0] + widths[1]).max(1e-9);
    let line = vec![a + (c - a) * share, b + (d - b) * share];
    vec![Item::line(line, Pen::new(Ink::Black, 0.7))]
}

/// The arrow and the words of a lane, where it sets out; words that find no room are left out.
fn lane_words(lane: &Lane, layout: &Layout, room: &mut Room) -> Vec<Item> {
    let (from, to) = (layout.spot(lane.from), layout.spot(lane.to));
    let way = to - from;
    let length = way.x.hypot(way.y);
    if length < 4.0 * IN_MM {
        return Vec::new();
    }
    let ahead = way / length;
    let letter = person_letter(lane.person.saturating_sub(1) as usize);
    let words = match lane.day {
        Some(day) => format!("{} {letter} d{day}", lane.number),
        None => format!("{} {letter} waits", lane.number),
    };
    let mut items = Vec::new();
    if lane.day.is_some() {
        items.extend(arrow(
            from + ahead * (length * 0.4),
            from + ahead * (length * 0.4 + 9.0),
            Pen::new(Ink::Pass, 0.45),
        ));
    }
    // A lane that is wide enough has its words along it, and so beside no other's.
    let along = width_mm(&words, LANE_MM);
    let fits = lane_width_m(lane) * layout.mm_per_m() >= LANE_MM && length >= 4.0 * along;
    for reach in [0.12, 0.24, 0.62, 0.78] {
        let at = from + ahead * (length * reach).max(IN_MM);
        if fits {
            let (x, y) = (ahead.x.abs(), ahead.y.abs());
            let frame = Frame::about(at, x * along + y * LANE_MM, y * along + x * LANE_MM);
            if room.is_free(&frame) {
                items.push(turned(at, ahead, LANE_MM, &words));
                break;
            }
            continue;
        }
        let frame = plate_frame(at, LANE_MM, &words);
        if room.is_free(&frame) {
            room.take(frame);
            items.extend(plated(at, LANE_MM, &words).1);
            break;
        }
    }
    items
}

/// What a machine leaves: missed places crossed, grass kept clear hatched once; the largest
/// with their areas.
pub(super) fn rest(plan: &Plan, rest: &RestPlan, layout: &Layout) -> Vec<Item> {
    let mut room = Room::new(layout.window);
    let names = ground_map::names(&plan.ground, layout, &mut room);
    let mut inside = under(plan, layout, &[]);
    let of = |why: Why| rest.places.iter().filter(move |place| place.why == why);
    for place in of(Why::KeptClear) {
        let shape = layout.shape(&geo::MultiPolygon(vec![place.shape.clone()]));
        inside.push(hatch::strokes(
            &shape,
            45.0,
            0.8,
            Pen::new(Ink::Black, 0.22),
        ));
        inside.push(Item::polygons(
            &shape,
            Style::ring(Pen::new(Ink::Black, 0.4)),
        ));
    }
    let missed: Vec<MissedPlace> = of(Why::Missed)
        .map(|place| MissedPlace {
            shape: place.shape.clone(),
            area_m2: place.area_m2,
        })
        .collect();
    let drawn = MissedMap::draw(&missed, &[], layout, &mut room);
    let labels = drawn.labels(&mut room);
    inside.extend(drawn.grounds);
    let mut items = vec![clipped(layout, inside)];
    items.extend(drawn.rings);
    items.extend(labels);
    items.extend(names);
    items
}

/// A sample of ground kept clear, for the key.
pub(super) fn kept_sample(frame: &Frame) -> Vec<Item> {
    let shape = symbols::as_shape(frame);
    vec![
        hatch::strokes(&shape, 45.0, 0.8, Pen::new(Ink::Black, 0.22)),
        Item::polygons(&shape, Style::ring(Pen::new(Ink::Black, 0.4))),
    ]
}

/// A sample of a lane's arrow, for the key.
pub(super) fn way_sample(frame: &Frame) -> Vec<Item> {
    let y = frame.middle().y;
    let ends = [frame.left, frame.right()].map(|x| Spot { x, y });
    arrow(ends[0], ends[1], Pen::new(Ink::Pass, 0.45))
}
