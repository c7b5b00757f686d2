//! The numbers of the passes at the ends of their lines.
//!
//! Every number is tried at both ends of its line, just beyond the end, and where a
//! neighbour's number is in the way a little aside or one to three steps further out, with
//! a line to it.
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
const PAD_MM: f64 = 0.15;

/// From the end of a line to its number.
const GAP_MM: f64 = 1.1;

/// How far a number may be moved out and still stand at its end.
const NUDGE_MM: [f64; 3] = [0.0, 0.5, 1.0];

/// Steps outwards that are tried for a number.
const STEPS_OUT: u8 = 4;

/// Steps aside that are tried at each step outwards, millimetres.
const ASIDE_MM: [f64; 3] = [0.0, 1.8, -1.8];

/// One in so many passes is numbered; the first that has room is taken.
pub(super) const EVERY: [usize; 8] = [1, 2, 5, 10, 20, 50, 100, 1000];

/// How much of the numbers may lack a place at one of their two ends, or at both. A
/// neighbour's number is never far then, and a sheet with every number is worth more.
const MAY_LACK: (f64, f64) = (0.2, 0.1);

/// How much of the numbers may stand further out than right at their end: in two rows it
/// is half of them.
const MAY_MOVE: f64 = 0.55;

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
    /// Which passes are numbered, in words.
    pub note: String,
}

/// Numbers the ends of `lines` and takes the room for it.
pub(super) fn straight(lines: &[Line], room: &mut Room) -> Numbered {
    let mut tries = EVERY.into_iter().peekable();
    while let Some(every) = tries.next() {
        let chosen = choose(lines, every);
        let mut trial = room.clone();
        let tally = place_all(&chosen, lines, &mut trial);
        let ends = 2 * chosen.len();
        let is_enough = share(tally.lacking, ends) <= MAY_LACK.0
            && share(tally.lost, chosen.len()) <= MAY_LACK.1
            && share(tally.moved, ends) <= MAY_MOVE;
        if is_enough || tries.peek().is_none() {
            *room = trial;
            return Numbered {
                note: note(
                    every,
                    lines.len(),
                    tally.lacking - 2 * tally.lost,
                    tally.lost,
                ),
                items: tally.items,
            };
        }
    }
    Numbered {
        items: Vec::new(),
        note: String::new(),
    }
}

/// What came of placing numbers.
#[derive(Default)]
struct Tally {
    items: Vec<Item>,
    /// Ends whose number stands further out.
    moved: usize,
    /// Ends without a number.
    lacking: usize,
    /// Passes without a number at either end.
    lost: usize,
}

/// Numbers both ends of the chosen lines: first all that have room right at their end,
/// then the others.
fn place_all(chosen: &[&Line], lines: &[Line], room: &mut Room) -> Tally {
    let mut tally = Tally::default();
    let mut waiting = Vec::new();
    for line in chosen {
        for (end, other) in [(line.from, line.to), (line.to, line.from)] {
            match place(line.number, (end, other), lines, room, Where::AtEnd) {
                Some(items) => tally.items.extend(items),
                None => waiting.push((line.number, end, other)),
            }
        }
    }
    let mut without = Vec::new();
    for (number, end, other) in waiting {
        match place(number, (end, other), lines, room, Where::Further) {
            Some(items) => {
                tally.items.extend(items);
                tally.moved += 1;
            }
            None => {
                tally.lacking += 1;
                without.push(number);
            }
        }
    }
    without.sort_unstable();
    let pairs = without.iter().zip(without.iter().skip(1));
    tally.lost = pairs.filter(|(one, next)| one == next).count();
    tally
}

fn share(part: usize, whole: usize) -> f64 {
    let figure = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
    if whole == 0 {
        0.0
    } else {
        figure(part) / figure(whole)
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
    if every == 1 {
        // In their order, so that numbers in two rows alternate.
        return lines.iter().collect();
    }
    // The ends of the set come first, so that they surely have a place.
    let ends = lines.iter().filter(is_end);
    let others = lines.iter().filter(|line| is_round(line) && !is_end(line));
    ends.chain(others).collect()
}

/// Where a number may stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Where {
    /// Right beyond the end of its line.
    AtEnd,
    /// Aside or further out, with a line to it.
    Further,
}

/// Writes a number beyond the end of its line (`end`, with the line's `other` end) and
/// takes its room; `None` where there is none.
fn place(
    number: usize,
    (end, other): (Spot, Spot),
    lines: &[Line],
    room: &mut Room,
    allowed: Where,
) -> Option<Vec<Item>> {
    let way = end - other;
    let length = way.x.hypot(way.y);
    if length < 1e-9 {
        return None;
    }
    let outwards = way / length;
    let across = Spot {
        x: -outwards.y,
        y: outwards.x,
    };
    let content = number.to_string();
    let size = (
        width_mm(&content, NUMBER_MM) + 2.0 * PAD_MM,
        CAP_HEIGHT * NUMBER_MM + 2.0 * PAD_MM,
    );
    let half = reach((outwards.x, outwards.y), size);
    let start = end + outwards * 0.4;
    let offsets: Vec<(f64, f64)> = match allowed {
        Where::AtEnd => NUDGE_MM.map(|nudge_mm| (nudge_mm, 0.0)).to_vec(),
        Where::Further => (0..STEPS_OUT)
            .map(|step| f64::from(step) * (2.0 * half + 0.3))
            .flat_map(|out_mm| ASIDE_MM.map(|aside_mm| (out_mm, aside_mm)))
            .skip(1)
            .collect(),
    };
    for (out_mm, aside_mm) in offsets {
        let away = GAP_MM + half + out_mm;
        let middle = end + outwards * away + across * aside_mm;
        let frame = Frame::about(middle, size.0, size.1);
        let foot = edge_towards(&frame, start);
        let has_way = || allowed == Where::AtEnd || room.is_line_free(start, foot);
        let meets_a_pass = || {
            lines
                .iter()
                .any(|line| line.number != number && frame.meets_line(line.from, line.to))
        };
        if !room.is_free(&frame) || !has_way() || meets_a_pass() {
            continue;
        }
        room.take(frame);
        let mut items = Vec::new();
        if allowed == Where::Further {
            room.take_line(start, foot);
            items.push(Item::line(vec![start, foot], symbols::LEADER));
        }
        items.push(Item::frame(&frame, Style::filled(Ink::White)));
        items.push(centred(middle, NUMBER_MM, &content));
        return Some(items);
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

/// Which passes are numbered, as the sheet says it: how many of them found room at one
/// end only, and how many at none.
fn note(every: usize, passes: usize, at_one_end: usize, at_none: usize) -> String {
    let which = match (every, passes) {
        (_, 1) => "the one pass".to_owned(),
        (1, _) => "every pass".to_owned(),
        (2, _) => "every 2nd, first and last".to_owned(),
        _ => format!("every {every}th, first and last"),
    };
    let mut note = which;
    if at_one_end > 0 {
        note.push_str(&format!("; {at_one_end} at one end only"));
    }
    if at_none > 0 {
        note.push_str(&format!("; {at_none} at none"));
    }
    note
}

/// A note as long as a sheet can carry, to keep its room.
pub(super) fn longest_note() -> String {
    note(10, 200, 88, 8)
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

    fn empty_room() -> Room {
        Room::new(Frame {
            left: 0.0,
            top: 0.0,
            width: 270.0,
            height: 190.0,
        })
    }

    fn check(count: usize, spacing_mm: f64) -> Numbered {
        straight(&lines(count, spacing_mm), &mut empty_room())
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
        assert_eq!(numbered.note, "every pass");
        assert_eq!(texts(&numbered).len(), 40);
    }

    #[test]
    fn close_lines_are_thinned_but_keep_the_first_and_the_last() {
        let numbered = check(199, 0.9);
        assert_eq!(numbered.note, "every 5th, first and last");
        let texts = texts(&numbered);
        for number in ["1", "199", "100"] {
            assert_eq!(texts.iter().filter(|text| *text == number).count(), 2);
        }
    }

    #[test]
    fn what_finds_no_room_is_told() {
        let mut room = empty_room();
        // Nothing can be written above or below the seventh line.
        room.take_symbol(Frame::about(Spot { x: 62.0, y: 95.0 }, 5.0, 190.0));
        let numbered = straight(&lines(20, 6.0), &mut room);
        assert_eq!(numbered.note, "every pass; 1 at none");
        assert_eq!(texts(&numbered).len(), 38);
    }
}
