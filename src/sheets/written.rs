//! What is written beside each drawing, in the order in which a person needs it: which
//! sheet, which way, cautions, how to set and drive the machine, what is left, the key,
//! and the scale.
//!
//! The blocks take the same room whatever the layout, so that the layout can be chosen
//! from them.

use super::key::{Sample, key, samples};
use super::layout::{Layout, bar_fields, bar_length_m};
use super::panel::{BODY_MM, Block, COLUMN_MM};
use super::scene::{Anchor, Frame, Ink, Item, Pen, Spot, Style, Text, starting};
use super::symbols::Kind;
use super::{lettering, numbers, words};
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::space::Heading;
use crate::warning::Warning;
use crate::zones::Zone;

/// Sheet `number` of `count`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Page {
    /// From 1.
    pub number: usize,
    /// How many there are.
    pub count: usize,
}

/// At most so many zones are listed.
const MOST_ZONES: usize = 26;

/// At most so many warnings are repeated.
const MOST_WARNINGS: usize = 4;

/// At most so many lines of a warning.
pub(super) const CAUTION_LINES: usize = 5;

/// All kinds of things that the ground can show.
pub(super) fn all_kinds(plan: &Plan) -> Vec<Kind> {
    let has = |kind: &Kind| {
        let mut kinds = plan
            .ground
            .kept
            .iter()
            .filter_map(|kept| Kind::of(&kept.role));
        kinds.any(|found| found == *kind)
    };
    Kind::ALL.into_iter().filter(has).collect()
}

/// Beside the map of the zones.
pub(super) fn zones(plan: &Plan, page: Page, layout: &Layout, kinds: &[Kind]) -> Vec<Block> {
    let mut blocks = title(plan, "Wear zones", "", page);
    blocks.push(dial(plan, layout, None));
    blocks.extend(cautions(&words::warnings(plan, None), CAUTION_LINES));
    blocks.push(Block::heading("Wear classes, 1 light to 5 bare"));
    let classes: Vec<Sample> = (1..=5).rev().map(Sample::Class).collect();
    blocks.extend(samples(plan, &classes));
    blocks.push(Block::heading("Zones"));
    blocks.extend(zone_list(&plan.zones));
    let pitch_m2: f64 = plan.zones.iter().map(|zone| zone.area_m2).sum();
    blocks.push(zone_row("all", "", &words::area(pitch_m2)));
    let grounds = [
        Sample::GrassEdge,
        Sample::KeptClear("kept clear"),
        Sample::Entrance,
    ];
    blocks.extend(key(plan, &grounds, kinds));
    blocks.extend(scale(layout));
    blocks
}

/// Beside the map of a direction. `shown`: the kinds of things on it, and which passes are
/// numbered.
pub(super) fn direction(
    plan: &Plan,
    (work, direction): (&OperationPlan, &DirectionPlan),
    page: Page,
    layout: &Layout,
    shown: (&[Kind], &str),
) -> Vec<Block> {
    let operation = &work.operation;
    let (kinds, numbered) = shown;
    let subtitle = format!("{}: {}", operation.id, words::direction_name(direction));
    let mut blocks = title(plan, &words::what_is_done(operation), &subtitle, page);
    blocks.push(dial(plan, layout, Some(direction)));
    if words::is_deep(operation) {
        blocks.push(Block::caution(
            words::SERVICES_TITLE,
            words::SERVICES_WORDING,
        ));
    }
    blocks.extend(cautions(
        &words::warnings(plan, Some((work, direction))),
        CAUTION_LINES,
    ));

    blocks.push(Block::heading("Set and drive"));
    let implement = &operation.implement;
    blocks.push(Block::row(
        "width",
        &format!("{}\u{a0}m", words::fixed(implement.working_width_m, 2)),
    ));
    if let Some(spacing_m) = direction.passes.spacing_m {
        let overlap_m = implement.working_width_m - spacing_m;
        blocks.push(Block::row(
            "spacing",
            &format!(
                "{}\u{a0}m (overlap {}\u{a0}m)",
                words::fixed(spacing_m, 3),
                words::fixed(overlap_m, 3)
            ),
        ));
    }
    if let Some(depth) = words::depth(operation) {
        blocks.push(Block::row("depth", &depth));
    }
    let passes = direction.passes.passes.len();
    let parts: usize = direction
        .passes
        .passes
        .iter()
        .map(|pass| pass.parts.len())
        .sum();
    let lines = if parts == passes {
        passes.to_string()
    } else {
        format!("{passes}, in {}", words::count(parts, "part"))
    };
    blocks.push(Block::row("passes", &lines));
    blocks.push(Block::row(
        "length",
        &format!(
            "{}, tool down {} at {}\u{a0}km/h",
            words::length(direction.working_length_m),
            words::duration(direction.work_s),
            words::fixed(implement.speed_km_h, 1)
        ),
    ));
    blocks.push(Block::row("ends", &words::ends(operation)));
    if direction.passes.angle.is_some() {
        let row = Block::row("numbered", numbered);
        // The note is known only once the map is drawn; the room is that of the longest.
        let longest = Block::row("numbered", &numbers::longest_note());
        blocks.push(Block {
            height_mm: longest.height_mm,
            ..row
        });
    }

    blocks.push(Block::heading("What is left"));
    let coverage = &direction.coverage;
    let target_m2 = work.target.area_m2;
    for (word, meaning) in words::missed(work, direction) {
        blocks.push(Block::row(word, &meaning));
    }
    blocks.push(Block::row(
        "worked",
        &format!(
            "{} of {}",
            words::area(coverage.covered_m2),
            words::area(target_m2)
        ),
    ));
    blocks.push(Block::row(
        "twice over",
        &words::share(coverage.overlap_m2, target_m2),
    ));
    blocks.push(Block::row("outside", &words::outside(coverage)));
    if work.target.kept_clear_m2 >= 0.005 {
        blocks.push(Block::row(
            "kept clear",
            &words::area(work.target.kept_clear_m2),
        ));
    }

    let mut grounds = vec![Sample::Pass];
    if !direction.missed.is_empty() {
        grounds.extend([Sample::Missed, Sample::MissedRing]);
    }
    grounds.push(Sample::TargetEdge);
    grounds.push(Sample::GrassEdge);
    if !work.target.blocked.is_empty() {
        grounds.push(Sample::KeptClear("tool kept out"));
    }
    grounds.push(Sample::Entrance);
    blocks.extend(key(plan, &grounds, kinds));
    blocks.extend(scale(layout));
    blocks
}

/// The title block.
pub(super) fn title(plan: &Plan, what: &str, subtitle: &str, page: Page) -> Vec<Block> {
    let mut blocks = vec![
        Block::text(&plan.name, 4.4, 2, 0.0),
        Block::text(what, 4.0, 2, 1.2),
    ];
    if !subtitle.is_empty() {
        blocks.push(Block::text(subtitle, 3.4, 2, 1.0));
    }
    let sheet = format!("Sheet {} of {}", page.number, page.count);
    let line = match &plan.date {
        Some(date) => format!("{sheet}, {date}"),
        None => sheet,
    };
    blocks.push(Block::text(&line, 3.0, 1, 1.2));
    blocks
}

/// North, and the heading of the lines, as they lie on the paper.
pub(super) fn dial(plan: &Plan, layout: &Layout, direction: Option<&DirectionPlan>) -> Block {
    const RADIUS_MM: f64 = 7.6;
    const HEIGHT_MM: f64 = 22.0;
    const TEXT_AT_MM: f64 = 24.0;
    let middle = Spot {
        x: 10.5,
        y: HEIGHT_MM / 2.0,
    };
    let north = layout.direction(super::north(plan));
    let mut items = vec![Item::Circle {
        centre: middle,
        radius_mm: RADIUS_MM,
        style: Style::ring(Pen::new(Ink::Black, 0.25)),
    }];
    items.extend(north_needle(middle, north, RADIUS_MM));
    let mut lines: Vec<(String, f64)> = Vec::new();
    match direction.map(|direction| (direction.passes.heading, direction.passes.angle)) {
        Some((Some(heading), Some(angle))) => {
            items.extend(heading_arrow(
                middle,
                layout.direction(angle.unit()),
                RADIUS_MM,
            ));
            let back = Heading::from_deg(heading.deg() + 180.0);
            lines.push((
                format!("Heading {}\u{b0}", words::fixed(heading.deg(), 1)),
                4.2,
            ));
            lines.push((
                format!("or back, {}\u{b0}", words::fixed(back.deg(), 1)),
                3.0,
            ));
            lines.push(("from true north".to_owned(), BODY_MM));
        }
        Some(_) => {
            lines.push(("Along the edge".to_owned(), 4.2));
            lines.push(("no single heading".to_owned(), 3.0));
        }
        None => {
            lines.push(("North".to_owned(), 4.2));
            let long = words::fixed(plan.ground.bearing.deg(), 1);
            lines.push((format!("long axis {long}\u{b0}"), 3.0));
            lines.push(("from true north".to_owned(), BODY_MM));
        }
    }
    if plan.ground.frame.is_none() {
        lines.push(("by the job's bearing:".to_owned(), BODY_MM));
        lines.push(("no position is given".to_owned(), BODY_MM));
    }
    let mut y = 3.4;
    for (content, size_mm) in lines {
        y += lettering::CAP_HEIGHT * size_mm;
        items.push(starting(Spot { x: TEXT_AT_MM, y }, size_mm, &content));
        y += 1.7;
    }
    Block {
        gap_mm: 1.6,
        height_mm: HEIGHT_MM,
        is_heading: false,
        items,
    }
}

/// A thin needle to north with an open and a filled half, and its letter beyond the rim.
fn north_needle(middle: Spot, north: Spot, radius_mm: f64) -> Vec<Item> {
    let across = Spot {
        x: -north.y,
        y: north.x,
    };
    let tip = middle + north * (radius_mm - 0.6);
    let tail = middle - north * (radius_mm - 0.6);
    let thin = Pen::new(Ink::Black, 0.25);
    let half = |side: f64, fill: Ink| Item::Path {
        lines: vec![vec![tip, middle + across * (1.5 * side), tail]],
        style: Style::filled_ring(fill, thin),
    };
    // Outside the rim, where no heading's arrow covers it.
    let letter = middle + north * (radius_mm + 1.9);
    vec![
        half(1.0, Ink::Black),
        half(-1.0, Ink::White),
        Item::Text(Text {
            at: letter
                + Spot {
                    x: 0.0,
                    y: lettering::CAP_HEIGHT * 3.4 / 2.0,
                },
            size_mm: 3.4,
            anchor: Anchor::Middle,
            turn_deg: 0.0,
            ink: Ink::Black,
            content: "N".to_owned(),
        }),
    ]
}

/// A stout arrow through the dial, the way the lines run.
fn heading_arrow(middle: Spot, way: Spot, radius_mm: f64) -> Vec<Item> {
    let across = Spot {
        x: -way.y,
        y: way.x,
    };
    let tip = middle + way * (radius_mm - 0.3);
    let neck = tip - way * 3.6;
    let tail = middle - way * (radius_mm - 0.3);
    let shaft = |ink: Ink, width_mm: f64| Item::line(vec![tail, neck], Pen::new(ink, width_mm));
    vec![
        shaft(Ink::White, 1.8),
        shaft(Ink::Pass, 0.9),
        Item::Path {
            lines: vec![vec![tip, neck + across * 1.6, neck - across * 1.6]],
            style: Style::filled_ring(Ink::Pass, Pen::new(Ink::White, 0.3)),
        },
    ]
}

/// Warnings as cautions, each in at most so many lines.
pub(super) fn cautions(warnings: &[&Warning], most_lines: usize) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    if !warnings.is_empty() {
        blocks.push(Block::heading("Mind"));
    }
    for warning in warnings.iter().take(MOST_WARNINGS) {
        blocks.push(Block::text(&words::told(warning), BODY_MM, most_lines, 1.0));
    }
    if warnings.len() > MOST_WARNINGS {
        let more = warnings.len() - MOST_WARNINGS;
        blocks.push(Block::body(&format!("and {more} more in summary.json")));
    }
    blocks
}

/// The list of zones: class, name, area.
fn zone_list(zones: &[Zone]) -> Vec<Block> {
    let mut rows: Vec<Block> = zones
        .iter()
        .take(MOST_ZONES)
        .map(|zone| {
            zone_row(
                &zone.wear.to_string(),
                &zone.name,
                &words::area(zone.area_m2),
            )
        })
        .collect();
    if zones.len() > MOST_ZONES {
        let more = zones.len() - MOST_ZONES;
        rows.push(Block::body(&format!("and {more} more in summary.json")));
    }
    rows
}

fn zone_row(class: &str, name: &str, area: &str) -> Block {
    const NAME_AT_MM: f64 = 5.0;
    const NAME_MM: f64 = 36.0;
    let y = lettering::CAP_HEIGHT * BODY_MM;
    let name = lettering::shorten(name, BODY_MM, NAME_MM);
    let items = vec![
        starting(Spot { x: 0.0, y }, BODY_MM, class),
        starting(Spot { x: NAME_AT_MM, y }, BODY_MM, &name),
        Item::Text(Text {
            at: Spot { x: COLUMN_MM, y },
            size_mm: BODY_MM,
            anchor: Anchor::End,
            turn_deg: 0.0,
            ink: Ink::Black,
            content: area.to_owned(),
        }),
    ];
    Block {
        gap_mm: 0.6,
        height_mm: BODY_MM,
        is_heading: false,
        items,
    }
}

/// The scale in figures and as a bar, and whose word comes first.
pub(super) fn scale(layout: &Layout) -> Vec<Block> {
    const BAR_TOP_MM: f64 = 1.0;
    const BAR_MM: f64 = 1.6;
    const FIGURE_MM: f64 = 2.7;
    let length_m = bar_length_m(layout.scale);
    let long_mm = length_m * layout.mm_per_m();
    let mut items = Vec::new();
    let fields: u8 = bar_fields(length_m);
    let field_mm = long_mm / f64::from(fields);
    // Filled by turns.
    for field in 0..fields {
        let frame = Frame {
            left: 1.5 + f64::from(field) * field_mm,
            top: BAR_TOP_MM,
            width: field_mm,
            height: BAR_MM,
        };
        let fill = if field % 2 == 0 {
            Ink::Black
        } else {
            Ink::White
        };
        items.push(Item::frame(
            &frame,
            Style::filled_ring(fill, Pen::new(Ink::Black, 0.2)),
        ));
    }
    let y = BAR_TOP_MM + BAR_MM + 1.0 + lettering::CAP_HEIGHT * FIGURE_MM;
    let figure = |metres: f64, anchor: Anchor, unit: &str| {
        let decimals = if metres.fract() == 0.0 { 0 } else { 1 };
        Item::Text(Text {
            at: Spot {
                x: 1.5 + metres * layout.mm_per_m(),
                y,
            },
            size_mm: FIGURE_MM,
            anchor,
            turn_deg: 0.0,
            ink: Ink::Black,
            content: format!("{}{unit}", words::fixed(metres, decimals)),
        })
    };
    items.push(figure(0.0, Anchor::Middle, ""));
    items.push(figure(length_m / f64::from(fields), Anchor::Middle, ""));
    items.push(figure(length_m, Anchor::Middle, " m"));
    let decimals = if length_m.fract() == 0.0 { 0 } else { 1 };
    let check = format!(
        "Print at 100\u{a0}%: {}\u{a0}mm of this bar on paper are {}\u{a0}m of ground.",
        words::fixed(long_mm, 1),
        words::fixed(length_m, decimals)
    );
    // The figures may take one line or two; the room is that of two.
    let check = Block::text(&check, BODY_MM, 2, 0.0);
    let check_at = Spot { x: 0.0, y: y + 1.6 };
    items.extend(check.items.into_iter().map(|item| item.moved(check_at)));
    let two_lines_mm =
        BODY_MM * (lettering::CAP_HEIGHT + lettering::LINE_STEP + lettering::DESCENT);
    let bar = Block {
        gap_mm: 1.2,
        height_mm: check_at.y + two_lines_mm,
        is_heading: false,
        items,
    };
    vec![
        Block::heading(&format!("Scale 1:{} on A4", layout.scale)),
        bar,
        Block::text(words::SITE_RULES, BODY_MM, 3, 1.6),
    ]
}
