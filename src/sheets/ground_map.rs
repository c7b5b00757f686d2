//! The ground as it lies under every map: stands, run-off, markings, what is kept clear,
//! the ways in, and the names around it.

use geo::{Contains, Distance, Euclidean, Geometry, Intersects, LineString, MultiPolygon, Point};

use super::layout::{Layout, RING_MM, side_name};
use super::lettering;
use super::room::{Room, edge_towards};
use super::scene::{
    Anchor, Frame, Ink, Item, Pen, Spot, Style, Text, centred, plate_frame, plated,
};
use super::symbols::{self, Kind};
use crate::ground::{Ground, markings};
use crate::space::{Compass, Corner, Xy};

/// Size of the names of ends and sides.
const SIDE_MM: f64 = 3.2;
/// Size of the names of corner flags.
const FLAG_MM: f64 = 3.0;
/// Size of the names of things.
const THING_MM: f64 = 2.6;

/// What lies lowest: stands, the edge of the run-off, the markings.
pub(super) fn below(ground: &Ground, layout: &Layout) -> Vec<Item> {
    let mut items = Vec::new();
    for stand in &ground.stands {
        let pieces = symbols::Pieces::of(&layout.geometry(&stand.shape));
        items.push(Item::polygons(
            &MultiPolygon(pieces.polygons),
            Style::filled(Ink::Pale),
        ));
        for line in pieces.lines {
            items.push(Item::line(line.0, Pen::new(Ink::Pale, 1.0)));
        }
    }
    // Stands can reach over the run-off; the ground itself stays white.
    let grass = layout.shape(&ground.grass);
    items.push(Item::polygons(&grass, Style::filled(Ink::White)));
    items.push(Item::polygons(&grass, Style::ring(symbols::GRASS_EDGE)));
    items
}

/// The painted lines.
pub(super) fn markings(ground: &Ground, layout: &Layout, pen: Pen) -> Vec<Item> {
    let lines = markings::lines(ground.length_m, ground.width_m);
    let lines = lines
        .iter()
        .map(|line| on_paper(line, layout))
        .collect::<Vec<_>>();
    vec![Item::Path {
        lines,
        style: Style::line(pen),
    }]
}

fn on_paper(line: &LineString<f64>, layout: &Layout) -> Vec<Spot> {
    line.0.iter().map(|&place| layout.spot(place)).collect()
}

/// The names of ends, sides and corner flags around the drawing. They take their room.
pub(super) fn names(ground: &Ground, layout: &Layout, room: &mut Room) -> Vec<Item> {
    names_as(ground, layout, room, side_name)
}

/// The same, ends and sides being called otherwise.
pub(super) fn names_as(
    ground: &Ground,
    layout: &Layout,
    room: &mut Room,
    called: fn(&Ground, Compass) -> String,
) -> Vec<Item> {
    let mut items = Vec::new();
    let ground_frame = ground_frame(ground, layout);
    for point in Compass::ALL {
        let outwards = layout.direction(ground.names.outward(point));
        let (item, frame) = side(&called(ground, point), outwards, &ground_frame, room);
        items.push(item);
        room.take(frame);
    }
    let grass = layout.shape(&ground.grass);
    for corner in Corner::ALL {
        let flag = layout.spot(ground.corner(corner));
        items.push(Item::Circle {
            centre: flag,
            radius_mm: 0.6,
            style: Style::filled(Ink::Black),
        });
        let signs = ground.names.corner_signs(corner);
        let outwards = layout.direction(signs) / std::f64::consts::SQRT_2;
        let name = corner.name().to_uppercase();
        let near = outside(flag, outwards, &grass) + outwards * 1.6;
        let at = |away_mm: f64| {
            let frame = plate_frame(near + outwards * away_mm, FLAG_MM, &name);
            pushed_in(&frame, room.window())
        };
        let steps = [0.0, 1.5, 3.0, 4.5, 6.0];
        let free = steps.into_iter().map(at).find(|frame| room.is_free(frame));
        let middle = free.unwrap_or_else(|| at(0.0)).middle();
        let (frame, plate) = plated(middle, FLAG_MM, &name);
        items.push(Item::line(
            vec![flag, edge_towards(&frame, flag)],
            symbols::LEADER,
        ));
        items.extend(plate);
        room.take(frame);
    }
    items
}

/// What of the window is drawn in: the ground and the ring around it.
pub(super) fn drawn(ground: &Ground, layout: &Layout) -> Frame {
    let frame = ground_frame(ground, layout).widened(RING_MM);
    let window = &layout.window;
    let (left, top) = (frame.left.max(window.left), frame.top.max(window.top));
    Frame {
        left,
        top,
        width: frame.right().min(window.right()) - left,
        height: frame.bottom().min(window.bottom()) - top,
    }
}

/// The frame of the ground on the paper.
fn ground_frame(ground: &Ground, layout: &Layout) -> Frame {
    let outline = MultiPolygon(vec![ground.outline.clone()]);
    let (low, high) = super::layout::extent(&[&ground.grass, &outline], &[]);
    let (a, b) = (layout.spot(low), layout.spot(high));
    Frame::about((a + b) / 2.0, (a.x - b.x).abs(), (a.y - b.y).abs())
}

/// The name of an end or side beside the ground, in the outer part of the ring.
fn side(name: &str, outwards: Spot, ground: &Frame, room: &Room) -> (Item, Frame) {
    let half = SIDE_MM * lettering::CAP_HEIGHT / 2.0;
    let away = RING_MM - half - 0.6;
    let is_upright = outwards.x.abs() > 0.5;
    let (reach, most_mm) = if is_upright {
        (ground.width / 2.0, ground.height - 16.0)
    } else {
        (ground.height / 2.0, ground.width - 16.0)
    };
    let most_mm = most_mm.max(24.0);
    let name = lettering::shorten(name, SIDE_MM, most_mm);
    let middle = ground.middle() + outwards * (reach + away);
    let long = lettering::width_mm(&name, SIDE_MM) + 1.0;
    let (width, height) = if is_upright {
        (half * 2.0 + 0.6, long)
    } else {
        (long, half * 2.0 + 0.6)
    };
    let frame = pushed_in(&Frame::about(middle, width, height), room.window());
    let item = if is_upright {
        // Read from the right of the sheet.
        Item::Text(Text {
            at: frame.middle() + Spot { x: half, y: 0.0 },
            size_mm: SIDE_MM,
            anchor: Anchor::Middle,
            turn_deg: -90.0,
            ink: Ink::Black,
            content: name,
        })
    } else {
        centred(frame.middle(), SIDE_MM, &name)
    };
    (item, frame)
}

/// A frame moved as little as will do to lie in a window.
fn pushed_in(frame: &Frame, window: &Frame) -> Frame {
    let push = |start: f64, length: f64, low: f64, high: f64| start.min(high - length).max(low);
    Frame {
        left: push(frame.left, frame.width, window.left, window.right()),
        top: push(frame.top, frame.height, window.top, window.bottom()),
        ..*frame
    }
}

/// The first spot from `from` along `outwards` that is off the grass, at most 40 mm away.
fn outside(from: Spot, outwards: Spot, grass: &MultiPolygon<f64>) -> Spot {
    const STEP_MM: f64 = 0.5;
    let spots = (0..80_u8).map(|step| from + outwards * (f64::from(step) * STEP_MM));
    let mut last = from;
    for spot in spots {
        last = spot;
        if !grass.contains(&Point(spot)) {
            break;
        }
    }
    last
}

/// What is kept clear of: the grounds `blocked` to the tool, then the things themselves.
/// Their symbols take their room. Also the kinds of things drawn.
pub(super) fn things(
    ground: &Ground,
    layout: &Layout,
    blocked: &[MultiPolygon<f64>],
    room: &mut Room,
) -> (Vec<Item>, Vec<Kind>) {
    let mut items: Vec<Item> = blocked
        .iter()
        .flat_map(|shape| symbols::kept_clear(&layout.shape(shape)))
        .collect();
    let mut kinds = Vec::new();
    for kept in &ground.kept {
        let Some(kind) = Kind::of(&kept.role) else {
            continue;
        };
        let (drawn, frames) = symbols::thing(kind, &layout.geometry(&kept.shape));
        items.extend(drawn);
        for frame in frames {
            room.take_symbol(frame);
        }
        kinds.push(kind);
    }
    kinds.sort_unstable();
    kinds.dedup();
    (items, kinds)
}

/// The names of things, where there is room for them outside `work` (on the paper).
pub(super) fn thing_names(
    ground: &Ground,
    layout: &Layout,
    work: &MultiPolygon<f64>,
    room: &mut Room,
) -> Vec<Item> {
    let mut items = Vec::new();
    for kept in &ground.kept {
        let is_named = Kind::of(&kept.role).is_some_and(Kind::is_named);
        let (Some(name), true) = (&kept.name, is_named) else {
            continue;
        };
        let Some(spot) = anchor(&layout.geometry(&kept.shape)) else {
            continue;
        };
        let name = lettering::shorten(name, THING_MM, 34.0);
        items.extend(label_near(
            spot,
            THING_MM,
            &name,
            (1.6, 14.0),
            room,
            |frame| is_off(frame, work),
        ));
    }
    items
}

/// Whether a rectangle lies wholly outside polygons.
pub(super) fn is_off(frame: &Frame, shape: &MultiPolygon<f64>) -> bool {
    !shape.intersects(&geo::Rect::new(
        Spot {
            x: frame.left,
            y: frame.top,
        },
        Spot {
            x: frame.right(),
            y: frame.bottom(),
        },
    ))
}

/// A plated text near a spot with a line to it, where there is room; it takes its room.
pub(super) fn label_near(
    spot: Spot,
    size_mm: f64,
    content: &str,
    away_mm: (f64, f64),
    room: &mut Room,
    accepts: impl Fn(&Frame) -> bool,
) -> Vec<Item> {
    if !room.window().holds(&Frame::about(spot, 0.0, 0.0)) {
        return Vec::new();
    }
    let plate = plate_frame(spot, size_mm, content);
    let Some(frame) = room.near(spot, (plate.width, plate.height), away_mm, accepts) else {
        return Vec::new();
    };
    let (frame, text) = plated(frame.middle(), size_mm, content);
    room.take(frame);
    let foot = edge_towards(&frame, spot);
    room.take_line(spot, foot);
    let mut items = vec![Item::line(vec![spot, foot], symbols::LEADER)];
    items.extend(text);
    items
}

/// A spot to point at.
fn anchor(shape: &Geometry<f64>) -> Option<Spot> {
    use geo::InteriorPoint;
    shape.interior_point().map(|point| point.0)
}

/// The ways in: their arrows, which take their room.
pub(super) fn entrances(ground: &Ground, layout: &Layout, room: &mut Room) -> Vec<Item> {
    let arrows = arrows(ground, layout);
    for (tip, inwards) in &arrows {
        room.take_symbol(arrow_frame(*tip, *inwards));
    }
    arrows
        .into_iter()
        .map(|(tip, inwards)| symbols::entrance(tip, inwards))
        .collect()
}

/// The word beside each arrow, where there is room for it.
pub(super) fn entrance_words(ground: &Ground, layout: &Layout, room: &mut Room) -> Vec<Item> {
    let outline = layout.shape(&MultiPolygon(vec![ground.outline.clone()]));
    let mut items = Vec::new();
    for (tip, inwards) in arrows(ground, layout) {
        let middle = arrow_frame(tip, inwards).middle();
        items.extend(label_near(
            middle,
            THING_MM,
            "entrance",
            (2.6, 14.0),
            room,
            |frame| is_off(frame, &outline),
        ));
    }
    items
}

fn arrow_frame(tip: Spot, inwards: Spot) -> Frame {
    Frame::about(tip - inwards * 2.0, 4.2, 4.2)
}

/// Tip and direction of the arrow of each way in.
fn arrows(ground: &Ground, layout: &Layout) -> Vec<(Spot, Spot)> {
    let outline = layout.shape(&MultiPolygon(vec![ground.outline.clone()]));
    let middle = layout.spot(Xy { x: 0.0, y: 0.0 });
    let tips = ground
        .entrances
        .iter()
        .filter_map(|entrance| anchor(&layout.geometry(entrance)));
    tips.map(|tip| (tip, inwards(tip, &outline, middle)))
        .collect()
}

/// The direction from a spot to the nearest of the outline, or to the middle from on it.
fn inwards(from: Spot, outline: &MultiPolygon<f64>, middle: Spot) -> Spot {
    let mut nearest: Option<(f64, Spot)> = None;
    for polygon in outline {
        for line in polygon.exterior().lines() {
            let (run, start) = (line.end - line.start, line.start);
            let length_2 = run.x * run.x + run.y * run.y;
            let t = if length_2 > 0.0 {
                (((from - start).x * run.x + (from - start).y * run.y) / length_2).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let place = start + run * t;
            let away = Euclidean.distance(Point(place), Point(from));
            if nearest.is_none_or(|(least, _)| away < least) {
                nearest = Some((away, place));
            }
        }
    }
    let target = match nearest {
        Some((away, place)) if away > 0.5 => place,
        _ => middle,
    };
    let way = target - from;
    let length = way.x.hypot(way.y);
    if length > 0.0 {
        way / length
    } else {
        Spot { x: 0.0, y: -1.0 }
    }
}
