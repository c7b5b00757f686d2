//! What is written beside the map of a drive and beside that of the wheel passes.

use super::key::{Sample, key, samples};
use super::layout::Layout;
use super::order_numbers;
use super::panel::Block;
use super::stages::{self, MoveKind, Stage};
use super::symbols::Kind;
use super::wheels_map;
use super::words;
use super::written::{Page, cautions, dial, scale, title};
use crate::ground::Ground;
use crate::plan::{OperationPlan, Plan};
use crate::route::kind::Kind as TurnKind;
use crate::route::legs::{LegKind, Route};
use crate::route::told;
use crate::route::wheels::{CELL_M, WheelTraffic};

/// Longer orders are not listed.
const MOST_LISTED: usize = 160;

/// At most so many lines of a caution, and of one cut short.
const CAUTION_LINES: usize = 7;
const SHORT_CAUTION_LINES: usize = 2;

/// What of a drive's map the key explains.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shown<'a> {
    /// The kinds of things.
    pub kinds: &'a [Kind],
    /// The kinds of moves.
    pub moves: &'a [MoveKind],
    /// Whether the driving direction changes.
    pub has_changes: bool,
    /// Which parts are numbered.
    pub numbered: &'a str,
}

/// How much is written beside the map of a drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Detail {
    /// All of it.
    Full,
    /// What is needed: cautions cut short, no list, and in the key nothing that every map shows,
    /// so that the drawing can be larger.
    Short,
}

/// Beside the map of a drive in one direction.
pub(super) fn drive(
    plan: &Plan,
    (work, stage): (&OperationPlan, &Stage<'_>),
    page: Page,
    layout: &Layout,
    (shown, detail): (&Shown<'_>, Detail),
) -> Vec<Block> {
    let operation = &work.operation;
    let which = if stage.count > 1 {
        format!(" {} of {}", stage.number, stage.count)
    } else {
        String::new()
    };
    let subtitle = format!(
        "{}: drive{which}, {}",
        operation.id,
        words::direction_name(stage.direction)
    );
    let mut blocks = title(plan, &words::what_is_done(operation), &subtitle, page);
    blocks.push(dial(plan, layout, Some(stage.direction)));
    if words::is_deep(operation) {
        blocks.push(Block::caution(
            words::SERVICES_TITLE,
            words::SERVICES_WORDING,
        ));
    }
    let most_lines = match detail {
        Detail::Full => CAUTION_LINES,
        Detail::Short => SHORT_CAUTION_LINES,
    };
    let warnings = words::drive_warnings(plan, work, stage.direction);
    blocks.extend(cautions(&warnings, most_lines));

    blocks.push(Block::heading("This sheet"));
    let parts = stages::parts(stage);
    blocks.push(Block::row(
        "work",
        &format!(
            "{}, {}",
            words::count(parts.len(), "part"),
            words::duration(stage.direction.work_s)
        ),
    ));
    // The note is known only once the map is drawn; the room is that of the longest.
    let longest = Block::row("numbered", &order_numbers::longest_note());
    blocks.push(Block {
        height_mm: longest.height_mm,
        ..Block::row("numbered", shown.numbered)
    });
    if detail == Detail::Full
        && let Some(list) = listed(stage)
    {
        blocks.push(Block::row_of("passes in turn", &list, 12));
    }

    if let Some(route) = &work.route {
        let title = if stage.count > 1 {
            "All directions"
        } else {
            "The drive"
        };
        blocks.push(Block::heading(title));
        blocks.extend(figures(work, route, detail));
    }

    let mut grounds = vec![Sample::Work];
    grounds.extend(shown.moves.iter().map(|&kind| Sample::Move(kind)));
    if shown.has_changes {
        grounds.push(Sample::Change);
    }
    grounds.extend([Sample::DriveStart, Sample::DriveEnd]);
    if detail == Detail::Full {
        // The other maps tell them too.
        grounds.extend([Sample::TargetEdge, Sample::GrassEdge]);
    }
    if plan.ground.kept.iter().any(|kept| kept.stops_the_body()) {
        grounds.push(Sample::KeptClear("kept clear"));
    }
    grounds.push(Sample::Entrance);
    blocks.extend(key(plan, &grounds, shown.kinds));
    blocks.push(Block::body(&format!(
        "Lines: way of the rear axle. The tool works {}\u{a0}m behind it.",
        words::fixed(operation.implement.reach_m, 2)
    )));
    blocks.extend(scale(layout));
    blocks
}

/// The moves that a drive can show, for the room that its key takes.
pub(super) fn moves_of(route: Option<&Route>) -> Vec<MoveKind> {
    let has = |kind: &MoveKind| {
        route.is_some_and(|route| match kind {
            MoveKind::Turn(turn) => route.turns.contains_key(turn),
            MoveKind::Haul => route.legs.iter().any(|leg| leg.kind == LegKind::Haul),
        })
    };
    MoveKind::ALL.into_iter().filter(has).collect()
}

/// The figures of a whole drive.
fn figures(work: &OperationPlan, route: &Route, detail: Detail) -> Vec<Block> {
    let kinds = TurnKind::ALL.into_iter().filter_map(|kind| {
        let count = *route.turns.get(&kind)?;
        Some(format!("{count} {}", short(kind)))
    });
    let kinds: Vec<String> = kinds.collect();
    let turns: usize = route.turns.values().sum();
    let mut rows = vec![Block::row(
        "turns",
        &format!("{turns}: {}", kinds.join(", ")),
    )];
    if route.changes > 0 {
        rows.push(Block::row(
            "changes",
            &format!("{} of direction", route.changes),
        ));
    }
    rows.push(Block::row(
        "on the pitch",
        &format!("{} of turns", words::length(route.turn_on_pitch_m)),
    ));
    if detail == Detail::Full {
        let turning = words::duration(route.turn_s);
        rows.push(Block::row(
            "length",
            &format!("{}; turning {turning}", words::length(route.length_m)),
        ));
    }
    rows.push(Block::row(
        "cost",
        &format!(
            "{}\u{a0}s, on the pitch x\u{a0}{}",
            words::fixed(route.cost_s, 1),
            words::plain_number(work.operation.turn_on_pitch_cost)
        ),
    ));
    let bound = match (route.lower_bound_s, route.gap()) {
        (Some(bound_s), Some(gap)) => format!(
            "at least {}\u{a0}s, gap {}",
            words::fixed(bound_s, 1),
            words::share(gap, 1.0)
        ),
        _ if route.haul_m > 0.0 => "no bound with hauls".to_owned(),
        _ => format!("no bound at effort {}", route.effort.name()),
    };
    rows.push(Block::row("any order", &bound));
    rows
}

/// The kind of a turn beside a number of them.
const fn short(kind: TurnKind) -> &'static str {
    match kind {
        TurnKind::U => "U",
        TurnKind::WideU => "wide U",
        TurnKind::Bulb => "bulb",
        TurnKind::ThreePoint => "three-point",
        TurnKind::Other => "other",
    }
}

/// The passes in the order driven, by the numbers of the map of the direction; with the
/// part where a pass has several. `None` where there are too many.
fn listed(stage: &Stage<'_>) -> Option<String> {
    let parts = stages::parts(stage);
    if parts.len() > MOST_LISTED {
        return None;
    }
    let passes = &stage.direction.passes.passes;
    let has_several = |number: usize| {
        let pass = passes.iter().find(|pass| pass.number == number);
        pass.is_some_and(|pass| pass.parts.len() > 1)
    };
    let names = parts.iter().map(|worked| {
        if has_several(worked.pass) {
            format!("{}.{}", worked.pass, worked.part)
        } else {
            worked.pass.to_string()
        }
    });
    Some(names.collect::<Vec<_>>().join(" "))
}

/// Beside the map of the wheel passes.
pub(super) fn wheels(
    plan: &Plan,
    wheels: &WheelTraffic,
    page: Page,
    layout: &Layout,
) -> Vec<Block> {
    let mut blocks = title(plan, "Wheel passes", "all drives of the job", page);
    blocks.push(dial(plan, layout, None));
    blocks.push(Block::heading("Times a wheel rolls over a place"));
    let steps = wheels_map::steps(wheels);
    let tones: Vec<Sample> = steps
        .iter()
        .zip(1_u8..)
        .map(|(&(from, to), step)| Sample::Tone {
            ink: wheels_map::tone(step, steps.len()),
            from,
            to,
        })
        .collect();
    blocks.extend(samples(plan, &tones));
    blocks.push(Block::body("White: no wheel."));

    blocks.push(Block::heading("Worst places on the pitch"));
    blocks.extend(worst(&plan.ground, wheels));

    blocks.push(Block::heading("What is counted"));
    let ids = |is_driven: bool| {
        let ids = plan.operations.iter().filter(|work| {
            let has_drive = work.wheels.is_some();
            has_drive == is_driven
        });
        let ids: Vec<&str> = ids.map(|work| work.operation.id.as_str()).collect();
        ids.join(", ")
    };
    blocks.push(Block::row("drives", &ids(true)));
    let left_out = ids(false);
    if !left_out.is_empty() {
        blocks.push(Block::row("without drive", &left_out));
    }
    blocks.push(Block::body(&format!(
        "Both rear wheels, one pass each time a wheel comes on to a square of {}\u{a0}m; drawn is \
         the most in {}\u{a0}m. Front wheels and those of the tool are left out.",
        words::plain_number(CELL_M),
        words::plain_number(wheels_map::drawn_m(layout))
    )));
    blocks.extend(key(plan, &[Sample::GrassEdge, Sample::Entrance], &[]));
    blocks.extend(scale(layout));
    blocks
}

/// The worst places, by the numbers of their rings.
fn worst(ground: &Ground, wheels: &WheelTraffic) -> Vec<Block> {
    let rows = wheels.worst.iter().zip(1_usize..);
    rows.map(|((at, passes), number)| {
        Block::row(
            &format!("{number}: {passes} times"),
            &words::capital(&told::near(ground, *at)),
        )
    })
    .collect()
}
