//! The numbers of the passes at the ends of their lines.
//!
//! Every number is tried at both ends of its line, just beyond the end, and where a
//! neighbour's number is in the way one to three steps further out with a line to it.
//! Where that leaves too many without a place, only every 2nd, 5th, 10th, … pass is
//! numbered, with the first and the last; every end keeps its tick, and the sheet says
//! which are numbered.

use super::lettering::{CAP_HEIGHT, width_mm};
use super::room::{Room, edge_towards, reach};
use super::scene::{Frame, Ink, Item, Pen, Spot, Style, centred};
use super::symbols;

/// Size of a pass number: its figures are 2.5 mm high.
const NUMBER_MM: f64 = 3.4;

/// White left and right of, and above and below, a number.
const PAD_MM: f64 = 0.25;

/// From the end of a line to its number.
const GAP_MM: f64 = 1.1;

/// Steps outwards that are tried for a number.
const STEPS_OUT: u8 = 4;

/// One in so many passes is numbered; the first that has room is taken.
const EVERY: [usize; 8] = [1, 2, 5, 10, 20, 50, 100, 1000];

/// How much of the numbers may lack a place at one of their two ends.
const MAY_LACK: f64 = 0.08;

/// A straight pass on the paper.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Its number.
    pub number: usize,
    /// Where its first part starts.
    pub from: Spot,
    /// Where its last part ends.
    pub to: Spot,
}

/// What was numbered.
#[derive(Debug, Clone)]
pub(super) struct Numbered {
    /// The numbers and the lines to them.
    pub items: Vec<Item>,
    /// One in so many is numbered.
    pub every: usize,
}

/// Numbers the ends of `lines` and takes the room for it.
pub(super) fn straight(lines: &[Line], room: &mut Room) -> Numbered {
    for every in EVERY {
        let is_last_try = every == EVERY[EVERY.len() - 1];
        let chosen = choose(lines, every);
        let mut trial = room.clone();
        let mut items = Vec::new();
        let (mut lacking, mut is_lost) = (0_u32, false);
        for line in &chosen {
            let mut found = 0;
            for (end, other) in [(line.from, line.to), (line.to, line.from)] {
                match place(line.number, end, other, lines, &trial) {
                    Some((frame, drawn)) => {
                        trial.take(frame);
                        items.extend(drawn);
                        found += 1;
                    }
                    None => lacking += 1,
                }
            }
            is_lost |= found == 0;
        }
        let ends = f64::from(u32::try_from(2 * chosen.len()).unwrap_or(u32::MAX));
        if is_last_try || (!is_lost && f64::from(lacking) <= MAY_LACK * ends) {
            *room = trial;
            return Numbered { items, every };
        }
    }
    Numbered {
        items: Vec::new(),
        every: 1,
    }
}

/// The passes to number: every so many, the first and the last. Near the last, a round
/// number gives way to it.
fn choose(lines: &[Line], every: usize) -> Vec<&Line> {
    let first = lines.first().map(|line| line.number);
    let last = lines.last().map(|line| line.number);
    let is_end = |line: &&Line| Some(line.number) == first || Some(line.number) == last;
    let is_round = |line: &&Line| {
        line.number.is_multiple_of(every) && last.is_none_or(|last| last - line.number >= every / 2)
    };
    // The ends of the set come first, so that they surely have a place.
    let ends = lines.iter().filter(is_end);
    let others = lines.iter().filter(|line| is_round(line) && !is_end(line));
    ends.chain(others).collect()
}

/// A place for a number beyond the end of its line.
fn place(
    number: usize,
    end: Spot,
    other: Spot,
    lines: &[Line],
    room: &Room,
) -> Option<(Frame, Vec<Item>)> {
    let way = end - other;
    let length = way.x.hypot(way.y);
    if length < 1e-9 {
        return None;
    }
    let outwards = way / length;
    let content = number.to_string();
    let size = (
        width_mm(&content, NUMBER_MM) + 2.0 * PAD_MM,
        CAP_HEIGHT * NUMBER_MM + 2.0 * PAD_MM,
    );
    let half = reach((outwards.x, outwards.y), size);
    for step in 0..STEPS_OUT {
        let away = GAP_MM + half + f64::from(step) * (2.0 * half + 0.3);
        let frame = Frame::about(end + outwards * away, size.0, size.1);
        let start = end + outwards * 0.4;
        let foot = edge_towards(&frame, start);
        let meets_a_pass = lines
            .iter()
            .any(|line| line.number != number && frame.meets_line(line.from, line.to));
        let is_free = room.is_free(&frame) && !meets_a_pass;
        if is_free && (step == 0 || room.is_line_free(start, foot)) {
            let mut items = vec![Item::frame(&frame, Style::filled(Ink::White))];
            if step > 0 {
                items.insert(0, Item::line(vec![start, foot], symbols::LEADER));
            }
            items.push(centred(frame.middle(), NUMBER_MM, &content));
            return Some((frame, items));
        }
    }
    None
}

/// Numbers a round on the middle of each of its longer runs, `shift` steps along so that
/// the numbers of neighbouring rounds lie beside each other.
pub(super) fn round(number: usize, track: &[Spot], shift: usize, room: &mut Room) -> Vec<Item> {
    let content = number.to_string();
    let (width, height) = (
        width_mm(&content, NUMBER_MM) + 2.0,
        CAP_HEIGHT * NUMBER_MM + 1.0,
    );
    let shift = f64::from(u32::try_from(shift).unwrap_or(0));
    let mut items = Vec::new();
    for pair in track.windows(2) {
        let [from, to] = pair else { continue };
        let way = *to - *from;
        let length = way.x.hypot(way.y);
        if length < 24.0 {
            continue;
        }
        let along = (length / 2.0 + 4.0 + shift * 7.0).min(length - 4.0);
        let frame = Frame::about(*from + way * (along / length), width, height);
        if room.is_free(&frame) {
            room.take(frame);
            items.push(Item::frame(
                &frame,
                Style::filled_ring(Ink::White, Pen::new(Ink::Pass, 0.2)),
            ));
            items.push(centred(frame.middle(), NUMBER_MM, &content));
        }
    }
    items
}

/// Which passes are numbered, as the sheet says it.
pub(super) fn note(every: usize, passes: usize) -> String {
    match (every, passes) {
        (_, 0) => "no pass".to_owned(),
        (_, 1) => "the one pass, at both ends".to_owned(),
        (1, _) => "every pass, at both ends".to_owned(),
        (2, _) => "every 2nd pass, the first and the last; each has its tick".to_owned(),
        _ => format!("every {every}th pass, the first and the last; each has its tick"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(count: usize, spacing_mm: f64) -> Vec<Line> {
        (1..=count)
            .map(|number| {
                let x = 20.0 + spacing_mm * number as f64;
                Line {
                    number,
                    from: Spot { x, y: 150.0 },
                    to: Spot { x, y: 50.0 },
                }
            })
            .collect()
    }

    fn check(count: usize, spacing_mm: f64) -> Numbered {
        let window = Frame {
            left: 0.0,
            top: 0.0,
            width: 270.0,
            height: 190.0,
        };
        let mut room = Room::new(window);
        straight(&lines(count, spacing_mm), &mut room)
    }

    fn texts(numbered: &Numbered) -> Vec<String> {
        let texts = numbered.items.iter().filter_map(|item| match item {
            Item::Text(text) => Some(text.content.clone()),
            _ => None,
        });
        texts.collect()
    }

    #[test]
    fn wide_lines_are_all_numbered_at_both_ends() {
        let numbered = check(20, 6.0);
        assert_eq!(numbered.every, 1);
        assert_eq!(texts(&numbered).len(), 40);
    }

    #[test]
    fn close_lines_are_thinned_but_keep_the_first_and_the_last() {
        let numbered = check(199, 0.9);
        assert!(numbered.every > 2, "{}", numbered.every);
        let texts = texts(&numbered);
        for number in ["1", "199", "100"] {
            assert_eq!(texts.iter().filter(|text| *text == number).count(), 2);
        }
    }

    #[test]
    fn no_line_needs_no_number() {
        assert!(check(0, 1.0).items.is_empty());
    }
}
