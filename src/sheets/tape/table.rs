//! The table of passes: a row for each part, with where it starts and stops by line, flag and
//! figures, and a box to tick.

use std::ops::Range;

use super::COLOURED;
use crate::setting_out::{Hand, TapedEnd, TapedPart};
use crate::sheets::lettering;
use crate::sheets::scene::{Anchor, Frame, Ink, Item, Pen, Spot, Style, Text};
use crate::sheets::words;

/// From one row to the next.
const ROW_MM: f64 = 5.8;

/// Height of the head of the table.
const HEAD_MM: f64 = 12.6;

/// Size of the figures: 2.6 mm high.
const FIGURE_MM: f64 = 3.6;

/// Size of the words of the head.
const HEAD_WORD_MM: f64 = 2.7;

/// Size of the titles over several columns.
const TITLE_MM: f64 = 3.2;

const RULE: Pen = Pen::new(Ink::Black, 0.35);
const THIN: Pen = Pen::new(Ink::Grey, 0.12);

/// Right or left ends of the columns, from the table's left edge.
const PASS_AT: f64 = 14.6;
const STRING_AT: f64 = 17.4;
const START: End = End { left: 29.5 };
const STOP: End = End { left: 100.5 };
const LENGTH_AT: f64 = 185.4;
const BOX_AT: f64 = 190.6;

/// The columns of one end.
struct End {
    left: f64,
}

impl End {
    const LINE: f64 = 1.6;
    const FLAG: f64 = 18.0;
    const MIDDLE: f64 = 38.2;
    const EDGE: f64 = 53.0;
    const LIFT: f64 = 68.8;
    const WIDTH: f64 = 71.0;
}

/// How many rows go into a height.
pub(super) fn rows_in(room_mm: f64) -> usize {
    let rows = ((room_mm - HEAD_MM) / ROW_MM + 1e-9).floor();
    // A page is some 50 rows high.
    if rows > 0.0 { rows as usize } else { 0 }
}

/// The table of the rows in a range of a direction's parts, from its upper left corner.
pub(super) fn draw(all: &[TapedPart], rows: Range<usize>, width_mm: f64) -> Vec<Item> {
    let parts = all.get(rows.clone()).unwrap_or_default();
    if parts.is_empty() {
        return Vec::new();
    }
    let bottom = HEAD_MM + ROW_MM * parts.len() as f64;
    let mut items = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let top = HEAD_MM + ROW_MM * index as f64;
        if part.pass.is_multiple_of(COLOURED) {
            items.push(band(top, width_mm));
        }
    }
    let across =
        |y: f64, pen: Pen| Item::line(vec![Spot { x: 0.0, y }, Spot { x: width_mm, y }], pen);
    let upright = |x: f64| Item::line(vec![Spot { x, y: 0.0 }, Spot { x, y: bottom }], THIN);
    items.extend([
        upright(START.left),
        upright(STOP.left),
        upright(STOP.left + End::WIDTH),
    ]);
    for index in 1..=parts.len() {
        items.push(across(HEAD_MM + ROW_MM * index as f64, THIN));
    }
    items.extend([
        across(0.0, RULE),
        across(HEAD_MM, RULE),
        across(bottom, RULE),
    ]);
    items.extend(head());
    for (index, part) in parts.iter().enumerate() {
        // A pass in one part goes by its number alone.
        let next = all.get(rows.start + index + 1);
        let is_whole = part.part == 1 && next.is_none_or(|next| next.pass != part.pass);
        items.extend(row(part, is_whole, HEAD_MM + ROW_MM * index as f64));
    }
    items
}

/// The ground of a row whose cane is coloured.
fn band(top: f64, width_mm: f64) -> Item {
    let frame = Frame {
        left: 0.0,
        top,
        width: width_mm,
        height: ROW_MM,
    };
    Item::frame(&frame, Style::filled(Ink::Pale))
}

fn head() -> Vec<Item> {
    let low = HEAD_MM - 1.9;
    let title = 1.5 + lettering::CAP_HEIGHT * TITLE_MM;
    let mut items = vec![
        text(PASS_AT, low, HEAD_WORD_MM, Anchor::End, "pass"),
        text(STRING_AT, low, HEAD_WORD_MM, Anchor::Start, "string"),
        text(LENGTH_AT, low, HEAD_WORD_MM, Anchor::End, "length"),
        text(BOX_AT, low, HEAD_WORD_MM, Anchor::Middle, "set"),
    ];
    for (end, words, lift) in [
        (START, "START: drop the tool", "beyond"),
        (STOP, "STOP: lift the tool", "beyond"),
    ] {
        let at = |column: f64| end.left + column;
        items.extend([
            text(at(End::LINE), title, TITLE_MM, Anchor::Start, words),
            text(at(End::LINE), low, HEAD_WORD_MM, Anchor::Start, "line"),
            text(at(End::FLAG), low, HEAD_WORD_MM, Anchor::Start, "from"),
            text(at(End::MIDDLE), low, HEAD_WORD_MM, Anchor::End, "middle"),
            text(at(End::EDGE), low, HEAD_WORD_MM, Anchor::End, "edge"),
            text(at(End::LIFT), low, HEAD_WORD_MM, Anchor::End, lift),
        ]);
    }
    items
}

fn row(part: &TapedPart, is_whole: bool, top: f64) -> Vec<Item> {
    let y = top + (ROW_MM + lettering::CAP_HEIGHT * FIGURE_MM) / 2.0;
    let figure = |x: f64, anchor: Anchor, content: &str| text(x, y, FIGURE_MM, anchor, content);
    let pass = if is_whole {
        part.pass.to_string()
    } else {
        format!("{}/{}", part.pass, part.part)
    };
    let string = match part.edge {
        Hand::Left => "left",
        Hand::Right => "right",
    };
    let mut items = vec![
        figure(PASS_AT, Anchor::End, &pass),
        figure(STRING_AT, Anchor::Start, string),
        figure(LENGTH_AT, Anchor::End, &words::centimetres(part.length_m)),
        Item::frame(
            &Frame::about(
                Spot {
                    x: BOX_AT,
                    y: top + ROW_MM / 2.0,
                },
                3.6,
                3.6,
            ),
            Style::filled_ring(Ink::White, Pen::new(Ink::Black, 0.3)),
        ),
    ];
    if part.pass.is_multiple_of(COLOURED) {
        items.extend(coloured(Spot {
            x: 1.2,
            y: top + ROW_MM / 2.0,
        }));
    }
    for (columns, end) in [(START, &part.start), (STOP, &part.stop)] {
        let at = |column: f64| columns.left + column;
        items.extend([
            figure(at(End::LINE), Anchor::Start, &short_name(end)),
            figure(
                at(End::FLAG),
                Anchor::Start,
                &end.flag.name().to_uppercase(),
            ),
            figure(
                at(End::MIDDLE),
                Anchor::End,
                &words::centimetres(end.centre_m),
            ),
            figure(at(End::EDGE), Anchor::End, &words::centimetres(end.edge_m)),
            figure(
                at(End::LIFT),
                Anchor::End,
                &words::signed_centimetres(end.lift_m),
            ),
        ]);
    }
    items
}

/// `S goal`: a line in a row.
fn short_name(end: &TapedEnd) -> String {
    let kind = if end.line.is_goal_line {
        "goal"
    } else {
        "touch"
    };
    let name = end.line.side.name();
    let letter = name.chars().next().unwrap_or(' ').to_ascii_uppercase();
    format!("{letter} {kind}")
}

/// The sign of a coloured cane: a pennant, so that no colour is needed to see it. `at` is the
/// foot of its staff, in the middle of its height.
pub(super) fn coloured(at: Spot) -> Vec<Item> {
    let staff = |y: f64| Spot {
        x: at.x,
        y: at.y + y,
    };
    vec![
        Item::line(vec![staff(-1.8), staff(1.8)], Pen::new(Ink::Black, 0.35)),
        Item::Path {
            lines: vec![vec![
                staff(-1.8),
                Spot {
                    x: at.x + 2.5,
                    y: at.y - 0.75,
                },
                staff(0.3),
            ]],
            style: Style::filled(Ink::Black),
        },
    ]
}

fn text(x: f64, y: f64, size_mm: f64, anchor: Anchor, content: &str) -> Item {
    Item::Text(Text {
        at: Spot { x, y },
        size_mm,
        anchor,
        turn_deg: 0.0,
        ink: Ink::Black,
        content: content.to_owned(),
    })
}
