//! The plan on the terminal: zones in a line, a table an operation, times, totals. Figures
//! are rounded for people; `summary.json` has all of them.

use std::collections::BTreeMap;

use super::colour::Paint;
use crate::hand::{Detail, HandPlan};
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::route::legs::{Hauled, Refills, Route};

/// Columns after the name of the direction: heading and width.
const COLUMNS: [(&str, usize); 7] = [
    ("heading", 7),
    ("passes", 6),
    ("metres", 7),
    ("hours", 6),
    ("covered m2", 10),
    ("overlap %", 10),
    ("missed m2", 10),
];

/// The whole table of a plan.
pub(super) fn plan(plan: &Plan, out: Paint) -> String {
    let ground = &plan.ground;
    let mut text = format!("{}\n", out.bold(&plan.name));
    let position = if ground.frame.is_some() {
        ""
    } else {
        ", no position"
    };
    text.push_str(&format!(
        "pitch {:.2} x {:.2} m, {:.1} m2, long axis at {:.1}°{position}\n",
        ground.length_m,
        ground.width_m,
        geo::Area::unsigned_area(&ground.outline),
        ground.bearing.deg(),
    ));
    text.push_str(&zones(plan));
    for operation in &plan.operations {
        text.push('\n');
        text.push_str(&operation_table(operation, out));
    }
    if !plan.hand.is_empty() {
        text.push_str(&format!("\n{}\n", out.bold("by hand")));
        for work in &plan.hand {
            text.push_str(&format!("  {}\n", by_hand(work)));
        }
    }
    text.push('\n');
    text.push_str(&totals(plan, out));
    text
}

/// `fork-goalmouth: 6625 holes from 74 places of the board; 2.86 h, 2 people`
fn by_hand(work: &HandPlan) -> String {
    let what = match &work.detail {
        Detail::Board(_, board) => {
            let stages = board.grounds.iter().flat_map(|ground| &ground.stages);
            let places = stages.map(|stage| stage.boards).sum();
            format!(
                "{} from {} of the board",
                count(board.holes, "hole"),
                count(places, "place"),
            )
        }
        Detail::Blocks(_, blocks) => format!(
            "{} swapped, carried {:.0} m",
            count(blocks.swaps.len(), "block"),
            blocks.carry_m
        ),
        Detail::Lanes(_, lanes) => format!(
            "{} over {:.1} m2, of which {:.1} m2 wait",
            count(lanes.lanes.len(), "lane"),
            lanes.area_m2,
            lanes.waits_m2
        ),
        Detail::Rest(rest) => format!(
            "{:.1} m2 in {} that {} leaves",
            rest.area_m2(),
            count(rest.places.len(), "place"),
            rest.operation
        ),
    };
    format!(
        "{}: {what}; {} h, {}",
        work.id,
        hours(work.time_s()),
        people(work.people)
    )
}

/// `zones  wear 5: 196.2 m2 in 2, wear 4: …`
fn zones(plan: &Plan) -> String {
    let mut by_wear: BTreeMap<u8, (usize, f64)> = BTreeMap::new();
    for zone in &plan.zones {
        let (n_zones, area_m2) = by_wear.entry(zone.wear).or_default();
        *n_zones += 1;
        *area_m2 += zone.area_m2;
    }
    let classes: Vec<String> = by_wear
        .iter()
        .rev()
        .map(|(wear, (n_zones, area_m2))| format!("wear {wear} {area_m2:.1} m2 ({n_zones})"))
        .collect();
    format!("zones: {}\n", classes.join(", "))
}

fn operation_table(planned: &OperationPlan, out: Paint) -> String {
    let operation = &planned.operation;
    let mut text = format!(
        "{}  {} with {}, {:.2} m wide, on {:.1} m2\n",
        out.bold(&operation.id),
        operation.task.name().replace('_', " "),
        operation.implement.name,
        operation.implement.working_width_m,
        planned.target.area_m2,
    );
    let names = planned.directions.iter().map(|one| one.passes.name.len());
    let name_width = names.max().unwrap_or(0).max("direction".len());
    let mut head = format!("  {:name_width$}", "direction");
    for (title, width) in COLUMNS {
        head.push_str(&format!(" {title:>width$}"));
    }
    text.push_str(&format!("{}\n", out.bold(&head)));
    for direction in &planned.directions {
        text.push_str(&format!("  {:name_width$}", direction.passes.name));
        for (cell, (_, width)) in cells(direction).iter().zip(COLUMNS) {
            text.push_str(&format!(" {cell:>width$}"));
        }
        text.push('\n');
    }
    text.push_str(&format!("  {}\n", time(planned)));
    let refills = planned
        .route
        .iter()
        .filter_map(|route| route.refills.as_ref());
    for refills in refills.filter(|refills| !refills.loads.is_empty()) {
        text.push_str(&format!("  {}\n", loads(planned, refills)));
    }
    text
}

/// `loads: 18 of at most 2.5 t, 44.30 t in all; loading 1.80 h, hauls 1.20 h over 2310 m`
fn loads(planned: &OperationPlan, refills: &Refills) -> String {
    let time = &planned.time;
    let haul_m = planned.route.as_ref().map_or(0.0, |route| route.haul_m);
    let hauls = match refills.hauled {
        Hauled::Driven => format!("hauls {} h over {haul_m:.0} m", hours(time.haul_s)),
        _ => "no hauls driven".to_owned(),
    };
    format!(
        "loads: {} of at most {} t, {:.2} t in all; loading {} h, {hauls}",
        refills.loads.len(),
        refills.hopper_t,
        refills.put_down_t,
        hours(time.load_s),
    )
}

fn cells(planned: &DirectionPlan) -> [String; 7] {
    let coverage = &planned.coverage;
    let overlap_pct = if coverage.covered_m2 > 0.0 {
        100.0 * coverage.overlap_m2 / coverage.covered_m2
    } else {
        0.0
    };
    let heading = planned.passes.heading;
    [
        heading.map_or_else(
            || "-".to_owned(),
            |heading| format!("{:.1}°", heading.deg()),
        ),
        planned.passes.passes.len().to_string(),
        format!("{:.0}", planned.working_length_m),
        hours(planned.work_s),
        format!("{:.1}", coverage.covered_m2),
        format!("{overlap_pct:.1}"),
        small(coverage.missed_m2),
    ]
}

/// Two decimals; what would round to nothing but is not (in the six decimals of
/// `summary.json`) is told as such.
fn small(value: f64) -> String {
    if (0.5e-6..0.005).contains(&value) {
        "<0.01".to_owned()
    } else {
        // Adding nought turns -0 into 0.
        format!("{:.2}", (value * 100.0).round() / 100.0 + 0.0)
    }
}

fn hours(seconds: f64) -> String {
    format!("{:.2}", seconds / 3600.0)
}

fn people(number: u32) -> String {
    if number == 1 {
        "1 person".to_owned()
    } else {
        format!("{number} people")
    }
}

fn time(planned: &OperationPlan) -> String {
    let time = &planned.time;
    let how = match &planned.route {
        Some(route) => turning(route),
        None => "an estimate: 35 s a turn".to_owned(),
    };
    format!(
        "time: work {} h, turning {} h ({how}), stops {} h; in all {} h, {}",
        hours(time.work_s),
        hours(time.turn_s),
        hours(time.allowance_s),
        hours(time.total_s),
        people(time.people),
    )
}

/// What is turned in a drive, and how near its order is to the best.
fn turning(route: &Route) -> String {
    let turns: usize = route.turns.values().sum();
    let proof = match route.gap() {
        Some(gap) => format!("at most {:.1} % from the best order", gap * 100.0),
        None if route.haul_m > 0.0 => "no bound with hauls".to_owned(),
        None => "no bound at this effort".to_owned(),
    };
    format!(
        "{turns} turns, {:.0} m of them on the pitch; {proof}",
        route.turn_on_pitch_m
    )
}

fn totals(plan: &Plan, out: Paint) -> String {
    let totals = &plan.totals;
    let cost = if totals.cost > 0.0 {
        format!(", people cost {}{:.2}", plan.currency, totals.cost)
    } else {
        String::new()
    };
    format!(
        "{} work {} h, with turns and stops {} h, {} person hours{cost}\n",
        out.bold("in all:"),
        hours(totals.work_s),
        hours(totals.total_s),
        hours(totals.person_s),
    )
}

/// `stadium: nothing is wrong; 9 operations, 14 directions, 3 warnings`
pub(super) fn checked(name: &str, plan: &Plan) -> String {
    let directions = plan.operations.iter().map(|one| one.directions.len()).sum();
    format!(
        "{name}: nothing is wrong; {}, {}, {}\n",
        count(plan.operations.len(), "operation"),
        count(directions, "direction"),
        count(plan.warnings.len(), "warning"),
    )
}

/// `1 warning`, `2 warnings`
fn count(number: usize, word: &str) -> String {
    let s = if number == 1 { "" } else { "s" };
    format!("{number} {word}{s}")
}
