//! The key: a sample of everything that a drawing shows, with its word.

use super::order_numbers::Line;
use super::panel::{BODY_MM, Block, COLUMN_MM, KEY_SAMPLE_MM};
use super::room::Room;
use super::scene::{Frame, Ink, Item, Pen, Spot, Style, starting};
use super::stages::MoveKind;
use super::symbols::{self, Kind};
use super::{lettering, words};
use crate::plan::Plan;

/// What the key can explain beside the things on the ground.
#[derive(Debug, Clone, Copy)]
pub(super) enum Sample {
    /// A pass line with its ticks.
    Pass,
    /// A missed place.
    Missed,
    /// The ring about missed places too small to draw.
    MissedRing,
    /// The edge of what is worked.
    TargetEdge,
    /// The edge of the run-off.
    GrassEdge,
    /// Ground kept clear, and what it is called.
    KeptClear(&'static str),
    /// The way in.
    Entrance,
    /// A thing on the ground.
    Thing(Kind),
    /// A wear class and its area.
    Class(u8),
    /// The way of a machine at work, with its number and arrow.
    Work,
    /// The way of a machine with the tool up.
    Move(MoveKind),
    /// Where the driving direction changes.
    Change,
    /// Where the drive begins.
    DriveStart,
    /// Where the drive ends.
    DriveEnd,
    /// A step of wheel passes.
    Tone {
        /// Its tone.
        ink: Ink,
        /// From so many passes.
        from: u32,
        /// To so many.
        to: u32,
    },
}

/// The key: what the drawing shows, then the things on the ground.
pub(super) fn key(plan: &Plan, grounds: &[Sample], kinds: &[Kind]) -> Vec<Block> {
    let has_entrance = !plan.ground.entrances.is_empty();
    let all: Vec<Sample> = grounds
        .iter()
        .copied()
        .filter(|sample| has_entrance || !matches!(sample, Sample::Entrance))
        .chain(kinds.iter().map(|&kind| Sample::Thing(kind)))
        .collect();
    let mut blocks = vec![Block::heading("Key")];
    blocks.extend(samples(plan, &all));
    blocks
}

/// Samples with their words, two a line.
pub(super) fn samples(plan: &Plan, all: &[Sample]) -> Vec<Block> {
    let line = |pair: &[Sample]| {
        let lefts = [0.0, COLUMN_MM / 2.0];
        let items = pair.iter().zip(lefts).flat_map(|(sample, x)| {
            key_half(plan, *sample)
                .into_iter()
                .map(move |item| item.moved(Spot { x, y: 0.0 }))
        });
        Block {
            gap_mm: 0.7,
            height_mm: KEY_SAMPLE_MM,
            is_heading: false,
            items: items.collect(),
        }
    };
    all.chunks(2).map(line).collect()
}

/// One sample with its word.
fn key_half(plan: &Plan, sample: Sample) -> Vec<Item> {
    const TEXT_AT_MM: f64 = 8.2;
    let frame = Frame {
        left: 0.3,
        top: 0.4,
        width: 6.6,
        height: KEY_SAMPLE_MM - 0.8,
    };
    let middle = frame.middle();
    let left = Spot {
        x: frame.left,
        y: middle.y,
    };
    let right = Spot {
        x: frame.right(),
        y: middle.y,
    };
    let (mut items, word) = match sample {
        Sample::Pass => {
            let tick = |at: Spot| {
                let up = Spot { x: 0.0, y: 0.8 };
                Item::line(vec![at - up, at + up], symbols::PASS_LINE)
            };
            let items = vec![
                Item::line(vec![left, right], symbols::PASS_LINE),
                tick(left),
                tick(right),
            ];
            (items, "pass line".to_owned())
        }
        Sample::Missed => (
            symbols::missed(&symbols::as_shape(&frame)),
            "missed".to_owned(),
        ),
        Sample::MissedRing => (
            symbols::missed_ring(middle, symbols::RING_RADIUS_MM),
            "missed, tiny".to_owned(),
        ),
        Sample::TargetEdge => (
            vec![Item::line(vec![left, right], symbols::TARGET_EDGE)],
            "edge of work".to_owned(),
        ),
        Sample::GrassEdge => (
            vec![Item::line(vec![left, right], symbols::GRASS_EDGE)],
            "run-off edge".to_owned(),
        ),
        Sample::KeptClear(word) => (
            symbols::kept_clear(&symbols::as_shape(&frame)),
            word.to_owned(),
        ),
        Sample::Entrance => {
            let tip = Spot {
                x: middle.x + 2.0,
                y: middle.y,
            };
            (
                vec![symbols::entrance(tip, Spot { x: 1.0, y: 0.0 })],
                "entrance".to_owned(),
            )
        }
        Sample::Thing(kind) => (symbols::sample(kind, &frame), kind.word().to_owned()),
        Sample::Work => {
            let order = super::order_numbers::along(
                &[Line {
                    order: 1,
                    from: left,
                    to: right,
                }],
                &mut Room::new(frame.widened(2.0)),
            );
            let mut items = vec![Item::line(vec![left, right], symbols::WORK_LINE)];
            items.extend(order.items);
            (items, "work, in turn".to_owned())
        }
        Sample::Move(kind) => (symbols::moved(kind, &[left, right]), kind.word().to_owned()),
        Sample::Change => (vec![symbols::change(middle)], "forwards, back".to_owned()),
        Sample::DriveStart => (
            vec![symbols::drive_end(middle, true)],
            "begins here".to_owned(),
        ),
        Sample::DriveEnd => (
            vec![symbols::drive_end(middle, false)],
            "ends here".to_owned(),
        ),
        Sample::Tone { ink, from, to } => (
            vec![Item::frame(
                &frame,
                Style::filled_ring(ink, Pen::new(Ink::Black, 0.25)),
            )],
            if from == to {
                from.to_string()
            } else {
                format!("{from} to {to}")
            },
        ),
        Sample::Class(class) => (class_sample(class, &frame), class_words(plan, class)),
    };
    let base = middle.y + lettering::CAP_HEIGHT * BODY_MM / 2.0;
    items.push(starting(
        Spot {
            x: TEXT_AT_MM,
            y: base,
        },
        BODY_MM,
        &lettering::shorten(&word, BODY_MM, COLUMN_MM / 2.0 - TEXT_AT_MM - 0.5),
    ));
    items
}

/// A wear class and its area.
fn class_words(plan: &Plan, class: u8) -> String {
    let of_class = plan.zones.iter().filter(|zone| zone.wear == class);
    let area_m2: f64 = of_class.map(|zone| zone.area_m2).sum();
    if area_m2 > 0.0 {
        format!("{class}: {}", words::area(area_m2))
    } else {
        format!("{class}: none")
    }
}

/// The sample of a wear class.
fn class_sample(class: u8, frame: &Frame) -> Vec<Item> {
    let mut items = symbols::wear(&symbols::as_shape(frame), class);
    items.push(Item::frame(frame, Style::ring(Pen::new(Ink::Black, 0.35))));
    items
}
