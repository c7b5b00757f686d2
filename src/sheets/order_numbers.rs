//! The numbers of the parts in the order driven, each on its own line at the end where it
//! is begun, with an arrow ahead of it.
//!
//! A number is written along its line, so that it needs no more room than the line has to
//! its neighbours. Where lines lie too close for that it moves along its line, in a few
//! steps; where that leaves too many without a place, only every 2nd, 5th, 10th, … is
//! numbered, with the first and the last. The few that are left, of short lines in corners
//! say, stand near by with a line to them. All lines of a direction are parallel, so the room
//! is kept in their own frame, in which every number is an upright rectangle.

use super::lettering::{CAP_HEIGHT, width_mm};
use super::numbers::EVERY;
use super::room::{Room, edge_towards};
use super::scene::{Frame, Ink, Item, Spot, Style, plate_frame, plated, turned};
use super::symbols;

/// Size of a number: its figures are 2.5 mm high.
const NUMBER_MM: f64 = 3.4;

/// White about a number, along its line and across it.
const PAD_MM: (f64, f64) = (0.5, 0.12);

/// From the end of a line to its number.
const INSET_MM: f64 = 1.6;

/// Steps along the line that are tried.
const STEPS: u8 = 4;

/// From a number to the arrow ahead of it.
const ARROW_GAP_MM: f64 = 0.5;

/// How much of the numbers may have no place on their lines.
const MAY_LEAVE: f64 = 0.15;

/// How far a number may stand from the end of its line.
const AWAY_MM: (f64, f64) = (1.0, 12.0);

/// A part's line on the paper.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    /// Its place in the order.
    pub order: usize,
    /// Where it is begun.
    pub from: Spot,
    /// Where it is ended.
    pub to: Spot,
}

/// What was numbered.
#[derive(Debug, Clone)]
pub(super) struct Numbered {
    /// Arrows, plates and numbers.
    pub items: Vec<Item>,
    /// Which parts are numbered, in words.
    pub note: String,
}

/// Numbers `lines`, which are parallel. `room` holds what no number may lie on, and takes
/// the numbers.
pub(super) fn along(lines: &[Line], room: &mut Room) -> Numbered {
    let last = lines.iter().map(|line| line.order).max().unwrap_or(0);
    let mut tries = EVERY.into_iter().peekable();
    while let Some(every) = tries.next() {
        let is_due = |line: &&Line| {
            line.order == 1
                || line.order == last
                || (line.order.is_multiple_of(every) && last - line.order >= every / 2)
        };
        let due = lines.iter().filter(is_due).count();
        let mut taken = Taken::default();
        let mut items = Vec::new();
        let mut left = Vec::new();
        for line in lines {
            let placed = is_due(&line)
                .then(|| place(line, &mut taken, room))
                .flatten();
            if is_due(&line) && placed.is_none() {
                left.push(line);
            }
            items.extend(placed.unwrap_or_else(|| arrow_at(line, INSET_MM)));
        }
        let may_leave = (due as f64 * MAY_LEAVE).max(2.0);
        if left.len() as f64 <= may_leave || tries.peek().is_none() {
            for frame in taken.on_page {
                room.take(frame);
            }
            let mut lacking = 0;
            for line in left {
                match place_near(line, room) {
                    Some(placed) => items.extend(placed),
                    None => lacking += 1,
                }
            }
            return Numbered {
                items,
                note: note(every, lines.len(), lacking),
            };
        }
    }
    Numbered {
        items: Vec::new(),
        note: String::new(),
    }
}

/// What numbers take.
#[derive(Default)]
struct Taken {
    /// In the lines' own frame.
    in_frame: Vec<Frame>,
    /// About each on the page.
    on_page: Vec<Frame>,
}

/// Writes a number on its line; `None` where no place is free.
fn place(line: &Line, taken: &mut Taken, room: &Room) -> Option<Vec<Item>> {
    let (way, length_mm) = way_of(line)?;
    let content = line.order.to_string();
    let size = (
        width_mm(&content, NUMBER_MM) + 2.0 * PAD_MM.0,
        CAP_HEIGHT * NUMBER_MM + 2.0 * PAD_MM.1,
    );
    let step_mm = size.0.max(width_mm("00", NUMBER_MM)) + ARROW_GAP_MM + symbols::ARROW_MM;
    // The lines' own frame: one axis for both senses of driving.
    let is_forth = way.x > 1e-6 || (way.x > -1e-6 && way.y > 0.0);
    let axis = if is_forth { way } else { way * -1.0 };
    for step in 0..STEPS {
        let away_mm = INSET_MM + size.0 / 2.0 + f64::from(step) * step_mm;
        if step > 0 && away_mm + size.0 / 2.0 > length_mm * 0.5 {
            break;
        }
        let middle = line.from + way * away_mm;
        let own = Spot {
            x: middle.x * axis.x + middle.y * axis.y,
            y: middle.y * axis.x - middle.x * axis.y,
        };
        let in_frame = Frame::about(own, size.0, size.1);
        let [a, b, c, d] = corners(middle, way, size);
        let about = Frame::around(&[a, b, c, d]);
        let is_taken = taken.in_frame.iter().any(|other| other.overlaps(&in_frame));
        if is_taken || !room.is_free(&about) {
            continue;
        }
        taken.in_frame.push(in_frame);
        taken.on_page.push(about);
        let mut items = arrow_at(line, away_mm + size.0 / 2.0 + ARROW_GAP_MM);
        items.push(Item::Path {
            lines: vec![vec![a, b, c, d]],
            style: Style::filled(Ink::White),
        });
        items.push(turned(middle, way, NUMBER_MM, &content));
        return Some(items);
    }
    None
}

/// Writes a number near the end of its line, with a line to it; `None` where no place is
/// free.
fn place_near(line: &Line, room: &mut Room) -> Option<Vec<Item>> {
    let content = line.order.to_string();
    let plate = plate_frame(line.from, NUMBER_MM, &content);
    let frame = room.near(line.from, (plate.width, plate.height), AWAY_MM, |_| true)?;
    room.take(frame);
    let foot = edge_towards(&frame, line.from);
    room.take_line(line.from, foot);
    let mut items = vec![Item::line(vec![line.from, foot], symbols::LEADER)];
    items.extend(plated(frame.middle(), NUMBER_MM, &content).1);
    Some(items)
}

/// The direction of a line and its length; `None` for one without length.
fn way_of(line: &Line) -> Option<(Spot, f64)> {
    let run = line.to - line.from;
    let length_mm = run.x.hypot(run.y);
    (length_mm > 1e-9).then(|| (run / length_mm, length_mm))
}

/// The corners of a rectangle about a middle that lies along `way`.
fn corners(middle: Spot, way: Spot, size: (f64, f64)) -> [Spot; 4] {
    let along = way * (size.0 / 2.0);
    let across = Spot {
        x: -way.y,
        y: way.x,
    } * (size.1 / 2.0);
    [
        middle - along - across,
        middle + along - across,
        middle + along + across,
        middle - along + across,
    ]
}

/// An arrow on a line, its tail so far from where the line is begun, but never beyond it.
fn arrow_at(line: &Line, away_mm: f64) -> Vec<Item> {
    let Some((way, length_mm)) = way_of(line) else {
        return Vec::new();
    };
    let tip_mm = (away_mm + symbols::ARROW_MM).min(length_mm);
    vec![symbols::arrow(line.from + way * tip_mm, way, Ink::Pass)]
}

/// Which parts are numbered, as the sheet says it.
fn note(every: usize, parts: usize, lacking: usize) -> String {
    let mut note = match (every, parts) {
        (_, 1) => "the one part".to_owned(),
        (1, _) => "every part, where it is begun".to_owned(),
        (2, _) => "every 2nd part, first and last".to_owned(),
        _ => format!("every {every}th part, first and last"),
    };
    if lacking > 0 {
        note.push_str(&format!("; {lacking} without room"));
    }
    note
}

/// A note as long as a sheet can carry, to keep its room.
pub(super) fn longest_note() -> String {
    note(100, 1000, 88)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn room() -> Room {
        Room::new(Frame {
            left: 0.0,
            top: 0.0,
            width: 270.0,
            height: 190.0,
        })
    }

    /// Lines driven up and down by turns, that lie so far apart.
    fn check(count: usize, spacing_mm: f64, room: &mut Room) -> (Vec<String>, String) {
        let lines: Vec<Line> = (1..=count)
            .map(|order| {
                let x = 10.0 + spacing_mm * order as f64;
                let (top, foot) = (Spot { x, y: 20.0 }, Spot { x, y: 170.0 });
                let (from, to) = if order % 2 == 0 {
                    (top, foot)
                } else {
                    (foot, top)
                };
                Line { order, from, to }
            })
            .collect();
        let numbered = along(&lines, room);
        let texts = numbered.items.iter().filter_map(|item| match item {
            Item::Text(text) => Some(text.content.clone()),
            _ => None,
        });
        (texts.collect(), numbered.note)
    }

    #[test]
    fn lines_of_a_long_drive_are_all_numbered() {
        let (texts, note) = check(72, 2.2, &mut room());
        assert_eq!(note, "every part, where it is begun");
        let expected: Vec<String> = (1..=72).map(|order: usize| order.to_string()).collect();
        assert_eq!(texts, expected);
    }

    #[test]
    fn lines_too_close_are_thinned_and_keep_the_first_and_the_last() {
        let (texts, note) = check(400, 0.2, &mut room());
        assert!(
            note.starts_with("every ") && !note.starts_with("every part"),
            "{note}"
        );
        assert!(texts.len() < 250, "{}", texts.len());
        for order in ["1", "400"] {
            assert!(texts.iter().any(|text| text == order), "{order}");
        }
    }

    #[test]
    fn a_number_moves_along_its_line_off_what_lies_there() {
        let mut room = room();
        // Over the first place of the seventh number, at the foot of the page.
        room.take_symbol(Frame::about(Spot { x: 52.0, y: 168.0 }, 3.0, 4.0));
        let (texts, note) = check(20, 6.0, &mut room);
        assert_eq!(
            (texts.len(), note.as_str()),
            (20, "every part, where it is begun")
        );
    }
}
