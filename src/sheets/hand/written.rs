//! What is written beside a drawing of hand work: what and with whom, cautions, the steps in
//! their order, the figures, what the signs mean, the scale.

use super::{board as board_map, person_letter};
use crate::hand::blocks::BlockPlan;
use crate::hand::board::BoardPlan;
use crate::hand::lanes::LanePlan;
use crate::hand::rest::RestPlan;
use crate::hand::{Detail, HandPlan};
use crate::job::model::{BlockWork, BoardWork, LaneWork};
use crate::plan::Plan;
use crate::sheets::layout::Layout;
use crate::sheets::panel::{Block, COLUMN_MM, KEY_SAMPLE_MM};
use crate::sheets::scene::{Frame, Item};
use crate::sheets::words;
use crate::sheets::written::{self, Page};
use crate::warning::{Code, Warning};

use super::map;

/// At most so many people are listed one by one.
const MOST_PEOPLE: usize = 12;

/// At most so many places are listed.
const MOST_PLACES: usize = 12;

/// The written part.
pub(super) fn beside(plan: &Plan, hand: &HandPlan, page: Page, layout: &Layout) -> Vec<Block> {
    let what = match &hand.detail {
        Detail::Board(..) => "Fork from the board",
        Detail::Blocks(..) => "Swap turf blocks",
        Detail::Lanes(..) => "Mend in lanes",
        Detail::Rest(_) => "Work by hand what is left",
    };
    let mut blocks = written::title(plan, what, &hand.id, page);
    blocks.push(written::dial(plan, layout, None));
    let told = warnings(plan, hand);
    if told
        .iter()
        .any(|warning| warning.code == Code::ServicesWording)
    {
        let text = words::SERVICES_WORDING;
        blocks.push(Block::caution(words::SERVICES_TITLE, text));
    }
    let others: Vec<&Warning> = told
        .into_iter()
        .filter(|warning| warning.code != Code::ServicesWording)
        .collect();
    blocks.extend(written::cautions(&others, written::CAUTION_LINES));
    match &hand.detail {
        Detail::Board(work, plan) => blocks.extend(board(work, plan, hand)),
        Detail::Blocks(work, plan) => blocks.extend(swap(work, plan, hand)),
        Detail::Lanes(work, plan) => blocks.extend(lanes(work, plan, hand)),
        Detail::Rest(plan) => blocks.extend(rest(plan, hand)),
    }
    blocks.extend(written::scale(layout));
    blocks
}

/// The warnings about this work.
fn warnings<'plan>(plan: &'plan Plan, hand: &HandPlan) -> Vec<&'plan Warning> {
    let place = format!("hand work {}", hand.id);
    let about = |warning: &&Warning| {
        warning.place == place || warning.place.starts_with(&format!("{place}, "))
    };
    plan.warnings.iter().filter(about).collect()
}

/// Who lifts what, and whose word goes first.
fn care(text: &str) -> Block {
    let text = format!("{text} Boots and gloves. What was agreed on this ground goes first.");
    Block::caution("Lifting and care", &text)
}

fn people_and_time(hand: &HandPlan) -> Vec<Block> {
    let people = if hand.people == 1 {
        "1 person".to_owned()
    } else {
        format!("{} people", hand.people)
    };
    let time = format!("{people}, {}", words::duration(hand.time_s()));
    vec![Block::row("who, how long", &time)]
}

fn millimetres(value: f64) -> String {
    let decimals = if value.fract() == 0.0 { 0 } else { 1 };
    format!("{}\u{a0}mm", words::fixed(value, decimals))
}

fn board(work: &BoardWork, plan: &BoardPlan, hand: &HandPlan) -> Vec<Block> {
    let fork = &work.fork;
    let mut blocks = vec![care(
        "Take turns at the fork every 20 to 30 minutes. Two lift the board.",
    )];
    blocks.push(Block::heading("In this order"));
    let lay = "Lay the board before the ground, on place 1 (the grey one): its front edge on the \
               first side. Stand on the board only. Each person starts at their letter and works the \
               way of their arrow.";
    let turn = format!(
        "Fork the rows ahead of the board, up to its next place; ease back 20 to 30 mm, do not \
         heave. Then turn the board over by its own width, as the arrow shows, onto what was just \
         forked. A place takes {} end to end, or one that is moved along.",
        words::count(boards_abreast(plan), "board")
    );
    let cross = "At the last place go on with the second drawing, across the first.";
    let all = [lay, &turn, cross];
    let steps = if work.stages > 1 { &all[..] } else { &all[..2] };
    blocks.extend(numbered(steps));
    blocks.push(Block::heading("Fork and board"));
    blocks.push(Block::row(
        "fork",
        &format!(
            "{}, {} apart, {} thick, {} deep by the rule",
            words::count(fork.tines as usize, "tine"),
            millimetres(fork.tine_spacing_mm),
            millimetres(fork.tine_diameter_mm),
            millimetres(fork.depth_mm)
        ),
    ));
    blocks.push(Block::row(
        "rows",
        &format!("{} from row to row", millimetres(fork.step_mm)),
    ));
    if let Some(text) = first_hole(plan) {
        blocks.push(Block::row("first hole", &text));
    }
    blocks.push(Block::row(
        "board",
        &format!(
            "{} x {}\u{a0}m",
            words::fixed(work.board.length_m, 2),
            words::fixed(work.board.width_m, 2)
        ),
    ));
    blocks.extend(people_and_time(hand));
    blocks.push(Block::row("holes", &holes(plan)));
    blocks.push(Block::row(
        "loosened",
        &format!(
            "about {}\u{a0}l, an estimate",
            words::fixed(plan.loosened_m3(fork) * 1000.0, 0)
        ),
    ));
    blocks.push(Block::heading("Signs"));
    blocks.push(Block::row("numbers", "places of the board, where it lies"));
    blocks.push(Block::row("dots", "holes, where they fall"));
    if plan.kept_off > 0 {
        blocks.push(Block::row(
            "crosses",
            "no hole: something is kept clear (hatched)",
        ));
    }
    if plan.grounds.len() > board_map::MOST_GROUNDS {
        let more = format!(
            "drawn are {} of {} zones",
            board_map::MOST_GROUNDS,
            plan.grounds.len()
        );
        blocks.push(Block::row("zones", &more));
    }
    blocks
}

/// Steps, each with its number.
fn numbered(steps: &[&str]) -> Vec<Block> {
    let steps = steps.iter().enumerate();
    let text = steps.map(|(index, step)| Block::body(&format!("{}. {step}", index + 1)));
    text.collect()
}

/// Where the lattice of the first stage begins: by it both people set out alike.
fn first_hole(plan: &BoardPlan) -> Option<String> {
    let lattice = &plan.grounds.first()?.stages.first()?.lattice;
    let row = lattice.rows.iter().find(|row| !row.holes.is_empty())?;
    let left_m = lattice.axes.coordinates(*row.holes.first()?).x - lattice.low.x;
    Some(format!(
        "{}\u{a0}m from the first side, {}\u{a0}m from the left",
        words::fixed(row.ahead_m, 3),
        words::fixed(left_m, 3)
    ))
}

fn boards_abreast(plan: &BoardPlan) -> usize {
    let stages = plan.grounds.iter().flat_map(|ground| &ground.stages);
    stages.map(|stage| stage.lengths).max().unwrap_or(0)
}

fn holes(plan: &BoardPlan) -> String {
    let mut text = format!(
        "{} in {} forkings, {} on a square metre",
        plan.holes,
        plan.forkings,
        words::fixed(plan.holes_per_m2(), 0)
    );
    if plan.coincident > 0 {
        text.push_str(&format!("; {} fall into earlier ones", plan.coincident));
    }
    text
}

fn swap(work: &BlockWork, plan: &BlockPlan, hand: &HandPlan) -> Vec<Block> {
    let mut blocks = vec![care(&format!(
        "A wet block weighs about {}\u{a0}kg, an estimate: lift from the knees, two people to a barrow.",
        words::fixed(plan.block_kg, 1)
    ))];
    blocks.push(Block::heading("In this order"));
    let steps = [
        "Peg out the blocks by the scale and the lines. Count them.",
        "Cut the worn block, square and to the full depth; measure each. Cut its donor, the one \
         with the same number, to the same depth.",
        "The worn soil goes into the hole of the donor. Set the donor flush, not more than 2 mm \
         proud; tread in, sand the joints, brush, water.",
        "Count: as many in as out.",
    ];
    blocks.extend(numbered(&steps));
    blocks.push(Block::heading("Blocks"));
    blocks.push(Block::row(
        "blocks",
        &format!(
            "{}, {} square, {} deep",
            plan.swaps.len(),
            millimetres(work.side_m * 1000.0),
            millimetres(work.depth_mm)
        ),
    ));
    blocks.push(Block::row("donors", &format!("from {}", plan.donors_from)));
    blocks.push(Block::row(
        "carrying",
        &format!(
            "{} in {}",
            words::length(plan.carry_m),
            words::count(plan.trips, "barrow load")
        ),
    ));
    blocks.extend(people_and_time(hand));
    blocks.push(Block::heading("Signs"));
    blocks.push(Block::row(
        "thin lines",
        "every metre from the goal line, and from the middle between the posts",
    ));
    blocks.push(Block::row("hatched", "a worn block and its number"));
    blocks.push(Block::row("blue edge", "the donor with that number"));
    let stays = plan.without_donor.len() + plan.kept_off.len();
    if stays > 0 {
        blocks.push(Block::row(
            "a stroke",
            &format!("{} not cut", words::count(stays, "block")),
        ));
    }
    blocks
}

fn lanes(work: &LaneWork, plan: &LanePlan, hand: &HandPlan) -> Vec<Block> {
    let mut blocks = vec![care(
        "Lift, close and fill; tread in. Off the grass when time is up.",
    )];
    blocks.push(Block::heading("Who walks where"));
    let people = hand.people as usize;
    for person in 0..people.min(MOST_PEOPLE) {
        let number = u32::try_from(person + 1).unwrap_or(u32::MAX);
        let own: Vec<_> = plan
            .lanes
            .iter()
            .filter(|lane| lane.person == number)
            .collect();
        let walked = own.iter().filter(|lane| lane.day.is_some());
        let seconds: f64 = walked.clone().map(|lane| lane.time_s).sum();
        let span = match (own.first(), own.last()) {
            (Some(first), Some(last)) if first.number < last.number => {
                format!("lanes {} to {}", first.number, last.number)
            }
            (Some(first), _) => format!("lane {}", first.number),
            _ => "no lane".to_owned(),
        };
        let waits = own.len() - walked.count();
        let waits = if waits > 0 {
            format!("; {waits} wait")
        } else {
            String::new()
        };
        blocks.push(Block::row(
            &person_letter(person),
            &format!("{span}, {}{waits}", words::duration(seconds)),
        ));
    }
    if people > MOST_PEOPLE {
        blocks.push(Block::body(&format!(
            "and {} more in hand.geojson",
            people - MOST_PEOPLE
        )));
    }
    blocks.push(Block::heading("Lanes"));
    blocks.push(Block::row(
        "lanes",
        &format!(
            "{} of at most {}\u{a0}m, {}",
            plan.lanes.len(),
            words::fixed(work.width_m, 1),
            words::area(plan.area_m2)
        ),
    ));
    if let Some(minutes) = work.minutes {
        let text = format!(
            "{}\u{a0}min a day, {}",
            words::fixed(minutes, 0),
            words::count(work.days as usize, "day")
        );
        blocks.push(Block::row("time", &text));
    }
    blocks.extend(people_and_time(hand));
    blocks.push(Block::row("waits", &words::area(plan.waits_m2)));
    blocks.push(Block::heading("Signs"));
    blocks.push(Block::row(
        "7 B d1",
        "lane 7, person B, day 1; hatched: it waits",
    ));
    blocks.push(sample("arrow", "the way it is walked", map::way_sample));
    blocks.push(Block::row("stout line", "where one share ends"));
    blocks
}

fn rest(plan: &RestPlan, hand: &HandPlan) -> Vec<Block> {
    let mut blocks = vec![Block::heading("What is left")];
    blocks.push(Block::row("after", &plan.operation));
    blocks.push(Block::row("in all", &words::area(plan.area_m2())));
    blocks.push(Block::row("missed", &words::area(plan.missed_m2)));
    blocks.push(Block::row(
        "kept clear",
        &format!("{} of grass round things", words::area(plan.kept_clear_m2)),
    ));
    let source = if plan.is_default { ", from memory" } else { "" };
    blocks.push(Block::row(
        "rate",
        &format!(
            "{} a person and hour{source}",
            words::area(plan.m2_per_person_h)
        ),
    ));
    blocks.extend(people_and_time(hand));
    blocks.push(Block::heading("The largest places"));
    let mut areas: Vec<(f64, &'static str)> = plan
        .places
        .iter()
        .map(|place| (place.area_m2, place.why.name()))
        .collect();
    // Largest first; places of one size in their own order.
    areas.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (area_m2, why) in areas.iter().take(MOST_PLACES) {
        blocks.push(Block::row(&words::area(*area_m2), &words::spoken(why)));
    }
    if areas.len() > MOST_PLACES {
        blocks.push(Block::body(&format!(
            "and {} more in hand.geojson",
            areas.len() - MOST_PLACES
        )));
    }
    blocks.push(Block::heading("Signs"));
    blocks.push(Block::row(
        "crossed",
        "missed by the machine; a ring where it is tiny",
    ));
    blocks.push(sample("hatched", "grass kept clear", map::kept_sample));
    blocks
}

/// A line of signs with a sample drawn at its right end.
fn sample(word: &str, meaning: &str, draw: fn(&Frame) -> Vec<Item>) -> Block {
    let mut block = Block::row(word, meaning);
    let frame = Frame {
        left: COLUMN_MM - 7.0,
        top: 0.2,
        width: 6.6,
        height: KEY_SAMPLE_MM - 1.2,
    };
    block.items.extend(draw(&frame));
    block.height_mm = block.height_mm.max(KEY_SAMPLE_MM);
    block
}
