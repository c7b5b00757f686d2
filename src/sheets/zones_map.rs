//! The map of the wear zones: hatching by class, the class figure and the name of each.
//!
//! A label lies inside its zone where the zone has room for it; else only the class
//! figure does, or nothing, and the name stands beside the zone with a line to it.

use geo::{Area, BoundingRect, Contains, InteriorPoint, MultiPolygon, Point};

use super::ground_map;
use super::layout::Layout;
use super::lettering;
use super::room::{Room, edge_towards};
use super::scene::{Frame, Ink, Item, Pen, Spot, Style, centred, plate_frame, plated};
use super::symbols::{self, Kind};
use crate::job::model::Role;
use crate::plan::Plan;
use crate::zones::Zone;

/// Size of a class figure.
const CLASS_MM: f64 = 4.4;

/// Size of a zone's name.
const NAME_MM: f64 = 2.7;

/// White between the lines of a label.
const LINE_GAP_MM: f64 = 1.0;

/// Step of the search for a place inside a zone.
const SEARCH_MM: f64 = 1.5;

/// Kept between a label and the edge of its zone.
const CLEAR_MM: f64 = 0.5;

/// Deep enough: deeper in a zone is no better place for a label.
const DEEP_MM: f64 = 12.0;

/// What a millimetre away from the zone's middle costs a label, in millimetres of depth.
const AWAY_COST: f64 = 0.2;

/// The edge of a zone.
const ZONE_EDGE: Pen = Pen::new(Ink::Black, 0.35);

/// What was drawn.
pub(super) struct ZonesMap {
    /// The drawing.
    pub items: Vec<Item>,
    /// The kinds of things in it, for the key.
    pub kinds: Vec<Kind>,
}

/// Draws the zones.
pub(super) fn draw(plan: &Plan, layout: &Layout) -> ZonesMap {
    let ground = &plan.ground;
    let mut room = Room::new(layout.window);
    let blocked: Vec<MultiPolygon<f64>> = ground
        .kept
        .iter()
        .filter(|kept| keeps_machines_out(&kept.role))
        .map(|kept| kept.kept_clear.clone())
        .collect();
    let (things, kinds) = ground_map::things(ground, layout, &blocked, &mut room);
    let entrances = ground_map::entrances(ground, layout, &mut room);
    let names = ground_map::names(ground, layout, &mut room);
    let entrance_words = ground_map::entrance_words(ground, layout, &mut room);

    let mut inside = ground_map::below(ground, layout);
    let zones: Vec<(&Zone, MultiPolygon<f64>)> = plan
        .zones
        .iter()
        .map(|zone| (zone, layout.shape(&zone.shape)))
        .collect();
    for (zone, shape) in &zones {
        inside.extend(symbols::wear(shape, zone.wear));
    }
    inside.extend(ground_map::markings(ground, layout));
    for (_, shape) in &zones {
        inside.push(Item::polygons(shape, Style::ring(ZONE_EDGE)));
    }
    inside.extend(things);
    inside.extend(entrances);

    let mut items = vec![Item::Clipped {
        window: ground_map::drawn(ground, layout),
        items: inside,
    }];
    items.extend(labels(&zones, &mut room));
    items.extend(names);
    items.extend(entrance_words);
    let outline = layout.shape(&MultiPolygon(vec![ground.outline.clone()]));
    items.extend(ground_map::thing_names(ground, layout, &outline, &mut room));
    ZonesMap { items, kinds }
}

/// Whether a thing keeps every machine out, whatever it does.
const fn keeps_machines_out(role: &Role) -> bool {
    matches!(
        role,
        Role::Obstacle { .. }
            | Role::NoGo { .. }
            | Role::Goal { .. }
            | Role::Stockpile { .. }
            | Role::Pitch
    )
}

/// The labels of all zones.
fn labels(zones: &[(&Zone, MultiPolygon<f64>)], room: &mut Room) -> Vec<Item> {
    let mut items = Vec::new();
    let mut left_over = Vec::new();
    // The small ones first: they have the least choice.
    let mut by_size: Vec<&(&Zone, MultiPolygon<f64>)> = zones.iter().collect();
    by_size.sort_by(|a, b| a.1.unsigned_area().total_cmp(&b.1.unsigned_area()));
    for (zone, shape) in by_size {
        match inside_label(zone, shape, room) {
            Some((frame, drawn)) => {
                room.take(frame);
                items.extend(drawn);
            }
            None => left_over.push((*zone, shape)),
        }
    }
    // Class figures before names, so that no name takes a figure's place.
    let mut pointed = Vec::new();
    for (zone, shape) in left_over {
        let class = zone.wear.to_string();
        let plate = plate_frame(Spot { x: 0.0, y: 0.0 }, CLASS_MM, &class);
        let place = place_inside(shape, (plate.width, plate.height), room);
        if let Some(frame) = place {
            let (frame, drawn) = plated(frame.middle(), CLASS_MM, &class);
            room.take(frame);
            items.extend(drawn);
            pointed.push((zone, shape, Some(frame)));
        } else {
            pointed.push((zone, shape, None));
        }
    }
    let edges: Vec<geo::Line<f64>> = zones
        .iter()
        .flat_map(|(_, shape)| shape)
        .flat_map(edges_of)
        .collect();
    for (zone, shape, figure) in pointed {
        items.extend(outside_label(zone, shape, figure, &edges, room));
    }
    items
}

/// Class figure and name inside the zone, in one to three lines.
fn inside_label(zone: &Zone, shape: &MultiPolygon<f64>, room: &Room) -> Option<(Frame, Vec<Item>)> {
    name_lines(&zone.name).into_iter().find_map(|lines| {
        let size = label_size(&lines);
        let frame = place_inside(shape, size, room)?;
        Some((frame, draw_label(zone, &lines, &frame)))
    })
}

/// Ways of breaking a name: whole, then at each hyphen into two lines.
fn name_lines(name: &str) -> Vec<Vec<String>> {
    let shown = lettering::shorten(name, NAME_MM, 40.0);
    let mut ways = vec![vec![shown.clone()]];
    for (index, _) in shown.match_indices(['-', ' ', '_']) {
        let (first, second) = shown.split_at(index + 1);
        if !second.is_empty() {
            ways.push(vec![first.trim_end().to_owned(), second.to_owned()]);
        }
    }
    ways
}

/// Width and height of a label: figure above, name lines below.
fn label_size(lines: &[String]) -> (f64, f64) {
    let widest = lines
        .iter()
        .map(|line| lettering::width_mm(line, NAME_MM))
        .fold(CLASS_MM * 0.7, f64::max);
    let count = f64::from(u32::try_from(lines.len()).unwrap_or(1));
    let height = lettering::CAP_HEIGHT * CLASS_MM
        + count * (lettering::CAP_HEIGHT * NAME_MM + LINE_GAP_MM)
        + lettering::DESCENT * NAME_MM;
    (widest + 1.2, height + 0.8)
}

fn draw_label(zone: &Zone, lines: &[String], frame: &Frame) -> Vec<Item> {
    let mut items = vec![Item::frame(frame, Style::filled(Ink::White))];
    let mut top = frame.top + 0.4;
    let mut line = |content: &str, size_mm: f64| {
        let height = lettering::CAP_HEIGHT * size_mm;
        let middle = Spot {
            x: frame.middle().x,
            y: top + height / 2.0,
        };
        top += height + LINE_GAP_MM;
        centred(middle, size_mm, content)
    };
    items.push(line(&zone.wear.to_string(), CLASS_MM));
    items.extend(lines.iter().map(|content| line(content, NAME_MM)));
    items
}

/// The free place for a rectangle wholly inside a shape that lies deepest in it.
fn place_inside(shape: &MultiPolygon<f64>, size: (f64, f64), room: &Room) -> Option<Frame> {
    let mut best: Option<(f64, Frame)> = None;
    for polygon in shape {
        let Some(rect) = polygon.bounding_rect() else {
            continue;
        };
        if rect.width() < size.0 || rect.height() < size.1 {
            continue;
        }
        let edges = edges_of(polygon);
        for (away, middle) in grid(&rect, size) {
            // Deepest, but of many such the one nearest the middle; so no place further out
            // than this can be worth more.
            if best
                .as_ref()
                .is_some_and(|(most, _)| DEEP_MM - AWAY_COST * away <= *most)
            {
                break;
            }
            // Nor is it deeper in the zone than in the rectangle about the zone.
            let sides = [
                middle.x - rect.min().x,
                rect.max().x - middle.x,
                middle.y - rect.min().y,
                rect.max().y - middle.y,
            ];
            let deepest = sides.into_iter().fold(DEEP_MM, f64::min);
            if best
                .as_ref()
                .is_some_and(|(most, _)| deepest - AWAY_COST * away <= *most)
            {
                continue;
            }
            let frame = Frame::about(middle, size.0, size.1);
            let wide = frame.widened(CLEAR_MM);
            let is_inside = room.is_free(&frame)
                && !edges
                    .iter()
                    .any(|edge| wide.meets_line(edge.start, edge.end))
                && polygon.contains(&Point(middle));
            if !is_inside {
                continue;
            }
            let depth = edges
                .iter()
                .map(|edge| distance_2(middle, edge))
                .fold(f64::INFINITY, f64::min)
                .sqrt();
            let worth = depth.min(DEEP_MM) - AWAY_COST * away;
            if best.as_ref().is_none_or(|(most, _)| worth > *most + 1e-9) {
                best = Some((worth, frame));
            }
        }
    }
    best.map(|(_, frame)| frame)
}

/// The square of the distance of a spot from a line.
fn distance_2(spot: Spot, line: &geo::Line<f64>) -> f64 {
    let (run, way) = (line.end - line.start, spot - line.start);
    let length_2 = run.x * run.x + run.y * run.y;
    let along = if length_2 > 0.0 {
        ((way.x * run.x + way.y * run.y) / length_2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let off = way - run * along;
    off.x * off.x + off.y * off.y
}

/// The edges of a polygon and of its holes.
fn edges_of(polygon: &geo::Polygon<f64>) -> Vec<geo::Line<f64>> {
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    rings.flat_map(geo::LineString::lines).collect()
}

/// Spots for the middle of a label within a rectangle, with their distance from its middle,
/// nearest first.
fn grid(rect: &geo::Rect<f64>, size: (f64, f64)) -> Vec<(f64, Spot)> {
    let steps = |room: f64| (room.max(0.0) / 2.0 / SEARCH_MM).floor().min(200.0) as i32;
    let (across, down) = (steps(rect.width() - size.0), steps(rect.height() - size.1));
    let offsets =
        (-down..=down).flat_map(|row| (-across..=across).map(move |column| (row, column)));
    let mut spots: Vec<(f64, Spot)> = offsets
        .map(|(row, column)| {
            let off = Spot {
                x: f64::from(column) * SEARCH_MM,
                y: f64::from(row) * SEARCH_MM,
            };
            (off.x.hypot(off.y), rect.center() + off)
        })
        .collect();
    spots.sort_by(|a, b| a.0.total_cmp(&b.0));
    spots
}

/// The name beside the zone with a line to it; with the class figure where that found no
/// place inside.
fn outside_label(
    zone: &Zone,
    shape: &MultiPolygon<f64>,
    figure: Option<Frame>,
    edges: &[geo::Line<f64>],
    room: &mut Room,
) -> Vec<Item> {
    let Some(spot) = pointed_spot(shape) else {
        return Vec::new();
    };
    let name = lettering::shorten(&zone.name, NAME_MM, 40.0);
    let content = match figure {
        Some(_) => name,
        None => format!("{}  {name}", zone.wear),
    };
    let plate = plate_frame(spot, NAME_MM, &content);
    let start = figure.map_or(spot, |frame| frame.middle());
    let size = (plate.width, plate.height);
    let hides_no_edge = |frame: &Frame| {
        let frame = frame.widened(0.2);
        !edges
            .iter()
            .any(|edge| frame.meets_line(edge.start, edge.end))
    };
    // Best where it hides no edge of a zone; else anywhere free.
    let place = room
        .near(start, size, (2.2, 16.0), hides_no_edge)
        .or_else(|| room.near(start, size, (2.2, 45.0), |_| true));
    let Some(frame) = place else {
        return Vec::new();
    };
    let (frame, text) = plated(frame.middle(), NAME_MM, &content);
    room.take(frame);
    let foot = edge_towards(&frame, start);
    room.take_line(start, foot);
    let head = figure.map_or(start, |figure| edge_towards(&figure, foot));
    let mut items = vec![
        Item::line(vec![head, foot], Pen::new(Ink::White, 0.9)),
        Item::line(vec![head, foot], Pen::new(Ink::Black, 0.25)),
    ];
    if figure.is_none() {
        items.push(Item::Circle {
            centre: spot,
            radius_mm: 0.5,
            style: Style::filled(Ink::Black),
        });
    }
    items.extend(text);
    items
}

fn pointed_spot(shape: &MultiPolygon<f64>) -> Option<Spot> {
    shape.interior_point().map(|point| point.0)
}
