//! What is written on a tape sheet: what to prove first, how to measure, which edge rides the
//! string, and what to mind.

use super::{Detail, Leaf, range_words, table};
use crate::formats::guidance::AGREES_WITHIN_CM;
use crate::plan::{OperationPlan, Plan};
use crate::setting_out::squares::Differs;
use crate::sheets::layout::Layout;
use crate::sheets::lettering::{self, LINE_STEP};
use crate::sheets::panel::{BODY_MM, Block, COLUMN_MM};
use crate::sheets::scene::{Frame, Ink, Item, Pen, Spot, Style, starting};
use crate::sheets::{numbers, words, written};

/// Two people with a tape of 100 m measure as well as this, millimetres (from memory).
const TAPE_MM: u8 = 20;

/// Grass that differs from the rectangle by less is not worth a word, metres: half of what is
/// read off the tape.
pub(super) const DIFFERS_M: f64 = 0.005;

/// Size of the figures that prove the rectangle.
const LARGE_MM: f64 = 3.6;

/// At most so many rounds are listed.
const MOST_ROUNDS: usize = 6;

/// So many where there is little room: they show how far apart rounds lie.
const FEW_ROUNDS: usize = 2;

/// `strip: along, by tape`.
pub(super) fn subtitle(leaf: &Leaf<'_>) -> String {
    format!(
        "{}: {}, by tape",
        leaf.work.operation.id,
        words::direction_name(leaf.direction)
    )
}

fn metres(metres: f64) -> String {
    format!("{}\u{a0}m", words::fixed(metres, 2))
}

/// Beside the sketch.
pub(super) fn beside(
    plan: &Plan,
    leaf: &Leaf<'_>,
    page: written::Page,
    layout: &Layout,
    numbered: &str,
) -> Vec<Block> {
    let what = words::what_is_done(&leaf.work.operation);
    let mut blocks = written::title(plan, &what, &subtitle(leaf), page);
    blocks.push(written::dial(plan, layout, Some(leaf.direction)));
    blocks.extend(squares(plan));
    blocks.extend(differences(plan));
    if !leaf.direction.tape.parts.is_empty() {
        blocks.extend(by_tape(plan, leaf, numbered));
    }
    match leaf.detail {
        Detail::Full => {
            blocks.extend(rounds(leaf.work, MOST_ROUNDS));
            blocks.extend(written::scale(layout));
        }
        Detail::Short => {
            blocks.extend(rounds(leaf.work, FEW_ROUNDS));
            blocks.push(Block::text(words::SITE_RULES, BODY_MM, 3, 1.6));
        }
    }
    blocks
}

/// What to prove before anything is measured.
fn squares(plan: &Plan) -> Vec<Block> {
    let squares = &plan.squares;
    let mut blocks = vec![
        Block::heading("Squares first"),
        Block::text(
            &format!("Diagonals {}\u{a0}m", words::fixed(squares.diagonal_m, 3)),
            LARGE_MM,
            1,
            1.2,
        ),
        Block::body(&format!(
            "each, flag to flag; equal within {TAPE_MM}\u{a0}mm"
        )),
    ];
    if let Some([goal_m, touch_m, across_m]) = squares.triangle_m {
        let sides = [goal_m, touch_m, across_m].map(|side_m| words::fixed(side_m, 2));
        blocks.push(Block::text(
            &format!("Corner {}\u{a0}m", sides.join(", ")),
            LARGE_MM,
            1,
            1.6,
        ));
        blocks.push(Block::body(
            "at a flag: along the goal line, along the touch line, across between the two",
        ));
    }
    let ground = &plan.ground;
    blocks.push(Block::row(
        "sides",
        &format!(
            "goal line {}, touch\u{a0}line {}",
            metres(ground.width_m),
            metres(ground.length_m)
        ),
    ));
    blocks
}

/// Where the grass, or the marks, are not the rectangle.
fn differences(plan: &Plan) -> Vec<Block> {
    let ground = &plan.ground;
    let most_m = plan.squares.most_m();
    let mut blocks = Vec::new();
    if most_m > DIFFERS_M {
        blocks.push(Block::heading("The grass is no rectangle"));
        blocks.push(Block::body(
            "Measure along the thick lines, not along the grass. It reaches out beyond them, or \
             stays in short of them, by up to:",
        ));
        for side in plan.squares.sides {
            if side.most_m() > DIFFERS_M {
                blocks.push(Block::row(side.line.side.name(), &off(&side)));
            }
        }
    } else if ground.misfit_m > DIFFERS_M {
        blocks.push(Block::heading("The marks are no rectangle"));
        blocks.push(Block::body(&format!(
            "The corner marks lie up to {} off the corners of the rectangle; measure from its \
             corners.",
            metres(ground.misfit_m)
        )));
    }
    blocks
}

/// `0.42 m out, 0.31 m in`.
fn off(side: &Differs) -> String {
    let parts = [(side.beyond_m, "out"), (side.short_m, "in")];
    let told: Vec<String> = parts
        .iter()
        .filter(|(off_m, _)| *off_m > DIFFERS_M)
        .map(|(off_m, word)| format!("{} {word}", metres(*off_m)))
        .collect();
    told.join(", ")
}

/// How to measure and what rides where.
fn by_tape(plan: &Plan, leaf: &Leaf<'_>, numbered: &str) -> Vec<Block> {
    let parts = &leaf.direction.tape.parts;
    let mut blocks = vec![
        Block::heading("By tape"),
        Block::body(&format!(
            "Two people, a 100\u{a0}m tape pulled tight: good to {TAPE_MM}\u{a0}mm (from memory). \
             Hook it once a line on the flag named (ringed), walk the line, read every cane from \
             that flag, never from the cane before.",
        )),
    ];
    let longest_m = parts
        .iter()
        .flat_map(|part| [part.start.centre_m, part.stop.centre_m])
        .fold(0.0, f64::max);
    let least_m = parts
        .iter()
        .flat_map(|part| [part.start.edge_m, part.stop.edge_m])
        .fold(0.0, f64::min);
    if least_m < -DIFFERS_M {
        blocks.push(Block::row(
            "minus",
            "before the flag, on the line prolonged",
        ));
    }
    if longest_m > 100.0 {
        blocks.push(Block::row(
            "over 100",
            "from the line's other flag: the line's length less the figure",
        ));
    }
    let string = if leaf.work.route.is_some() {
        "the machine's edge in the row, left or right as it is driven".to_owned()
    } else {
        let flags = leaf.direction.tape.flags;
        format!(
            "{} edge of the machine along the heading; driven back, {} edge",
            flags.name(),
            flags.other().name()
        )
    };
    blocks.push(Block::row("string", &string));
    blocks.push(Block::row(
        "beyond",
        "drop and lift so far beyond the line, square to it; minus: before it",
    ));
    blocks.push(coloured_row());
    if plan.ground.frame.is_some() {
        blocks.push(Block::row(
            "terminal",
            &format!(
                "park on a flag's peg: it agrees within {AGREES_WITHIN_CM}\u{a0}cm, else drive by \
                 the canes"
            ),
        ));
    }
    let is_parted = parts.iter().any(|part| part.part > 1);
    if is_parted {
        blocks.push(Block::row("12/2", "pass 12, its second part"));
    }
    // The note is known only once the sketch is drawn; the room is that of the longest.
    let longest = Block::row("numbered", &numbers::longest_note());
    blocks.push(Block {
        height_mm: longest.height_mm,
        ..Block::row("numbered", numbered)
    });
    blocks
}

/// The line that says what the pennant is.
fn coloured_row() -> Block {
    let mut block = Block::row("every 10th", "coloured cane: stout line,");
    let at = Spot {
        x: COLUMN_MM - 3.2,
        y: 1.2,
    };
    block.items.extend(table::coloured(at));
    block
}

/// How far in the rounds lie.
fn rounds(work: &OperationPlan, most: usize) -> Vec<Block> {
    let rounds: Vec<_> = work
        .directions
        .iter()
        .flat_map(|direction| &direction.tape.rounds)
        .collect();
    if rounds.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![
        Block::heading("Perimeter rounds"),
        Block::body("In from the edge of the work, square to it; the outer edge rides the string:"),
    ];
    for round in rounds.iter().take(most) {
        blocks.push(Block::row(
            &format!("round {}", round.pass),
            &format!(
                "middle {}, edge {}",
                metres(round.centre_m),
                metres(round.edge_m)
            ),
        ));
    }
    if rounds.len() > most {
        blocks.push(Block::body(&format!(
            "and {} more, each as far on",
            rounds.len() - most
        )));
    }
    blocks
}

/// The head of a page that goes on with a table, and its height.
pub(super) fn running_head(plan: &Plan, leaf: &Leaf<'_>, page: written::Page) -> (Vec<Item>, f64) {
    const NAME_MM: f64 = 4.4;
    const WHAT_MM: f64 = 3.4;
    let width_mm = super::paper().width;
    let sheet = format!("Sheet {} of {}", page.number, page.count);
    let sheet = match &plan.date {
        Some(date) => format!("{sheet}, {date}"),
        None => sheet,
    };
    let sheet_mm = lettering::width_mm(&sheet, WHAT_MM) + 4.0;
    let name = lettering::shorten(&plan.name, NAME_MM, width_mm - sheet_mm);
    let what = format!("{}, {}", subtitle(leaf), range_words(leaf.parts()));
    let what = lettering::shorten(&what, WHAT_MM, width_mm);
    let reminder = "Metres from the flag named, never from the cane before. Pennant: coloured \
                    cane. Beyond: square to the line; minus: before it.";
    let mut y = lettering::CAP_HEIGHT * NAME_MM;
    let mut items = vec![
        starting(Spot { x: 0.0, y }, NAME_MM, &name),
        starting(
            Spot {
                x: width_mm - sheet_mm + 4.0,
                y,
            },
            WHAT_MM,
            &sheet,
        ),
    ];
    y += 1.7 * WHAT_MM;
    items.push(starting(Spot { x: 0.0, y }, WHAT_MM, &what));
    for line in lettering::wrap(reminder, BODY_MM, width_mm, 2) {
        y += 1.6 * BODY_MM;
        items.push(starting(Spot { x: 0.0, y }, BODY_MM, &line));
    }
    (items, y + lettering::DESCENT * BODY_MM)
}

/// From the frame of the services wording to its text.
const PAD_MM: f64 = 1.6;

/// Size of its title.
const TITLE_MM: f64 = 3.0;

/// Height of the foot of every page of an operation.
pub(super) fn foot_mm(work: &OperationPlan) -> f64 {
    if words::is_deep(&work.operation) {
        let lines = wording().len() as f64;
        // A gap above the frame belongs to it.
        2.0 + 2.0 * PAD_MM + 1.5 * TITLE_MM + lines * LINE_STEP * BODY_MM
    } else {
        0.0
    }
}

fn wording() -> Vec<String> {
    let text = format!("{} {}", words::SERVICES_WORDING, words::SITE_RULES);
    lettering::wrap(&text, BODY_MM, super::paper().width - 2.0 * PAD_MM, 12)
}

/// The services wording along the foot of every page of deep work.
pub(super) fn foot(work: &OperationPlan) -> Vec<Item> {
    let height_mm = foot_mm(work);
    if height_mm <= 0.0 {
        return Vec::new();
    }
    let frame = Frame {
        left: 0.3,
        top: 2.0,
        width: super::paper().width - 0.6,
        height: height_mm - 2.3,
    };
    let mut y = frame.top + PAD_MM + lettering::CAP_HEIGHT * TITLE_MM;
    let mut items = vec![
        Item::frame(&frame, Style::ring(Pen::new(Ink::Black, 0.6))),
        starting(Spot { x: PAD_MM, y }, TITLE_MM, words::SERVICES_TITLE),
    ];
    y += 0.4;
    for line in wording() {
        y += LINE_STEP * BODY_MM;
        items.push(starting(Spot { x: PAD_MM, y }, BODY_MM, &line));
    }
    items
}
