//! The sheets of drives and of wheel passes.

use std::collections::BTreeSet;

use resvg::usvg::roxmltree::Document;
use swardlane::plan::{OperationPlan, Plan};

use super::{all, content, sheet_of, texts, written};

/// The paths of the sheets of an operation's drive: one for each direction that it works.
pub fn sheets_of(work: &OperationPlan) -> Vec<String> {
    let worked = work.route.iter().flat_map(|route| &route.legs);
    let directions: BTreeSet<usize> = worked
        .filter_map(|leg| leg.worked.map(|worked| worked.direction))
        .collect();
    let id = &work.operation.id;
    (1..=directions.len())
        .map(|number| match number {
            1 => format!("sheets/map-route-{id}.svg"),
            _ => format!("sheets/map-route-{id}.{number}.svg"),
        })
        .collect()
}

fn driven() -> (Plan, Vec<(String, String)>) {
    let (_, plan, sheets) = all()
        .into_iter()
        .find(|(name, ..)| *name == "driven")
        .unwrap();
    assert_eq!(
        plan.operations
            .iter()
            .filter(|work| work.route.is_some())
            .count(),
        2
    );
    (plan, sheets)
}

#[test]
fn every_part_has_its_number_in_the_order_driven() {
    let (plan, sheets) = driven();
    let mut lists = 0;
    for work in &plan.operations {
        for (path, direction) in sheets_of(work).iter().zip(1..) {
            let sheet = sheet_of(&sheets, path);
            let document = Document::parse(sheet).unwrap();
            let numbers: Vec<String> = texts(&document).into_iter().map(content).collect();
            let legs = &work.route.as_ref().unwrap().legs;
            let worked = legs.iter().filter_map(|leg| leg.worked);
            let parts: Vec<_> = worked
                .filter(|worked| worked.direction == direction)
                .collect();
            assert!(!parts.is_empty());
            for order in 1..=parts.len() {
                assert!(numbers.contains(&order.to_string()), "{path}: {order}");
            }
            // Where there is room, the passes in the order driven, by the numbers of the other map.
            let text = written(sheet);
            if text.contains("passes in turn") {
                let passes = parts.iter().map(|worked| worked.pass.to_string());
                let listed: Vec<String> = passes.collect();
                assert!(text.contains(&listed.join(" ")), "{path}");
                lists += 1;
            }
        }
    }
    assert!(lists > 0, "no sheet has room for its list");
}

#[test]
fn figures_of_a_drive_are_those_of_the_plan() {
    let (plan, sheets) = driven();
    for work in &plan.operations {
        let Some(route) = &work.route else { continue };
        let count: usize = route.turns.values().sum();
        for path in sheets_of(work) {
            let text = written(sheet_of(&sheets, &path));
            for expected in [
                format!("turns {count}: "),
                format!("cost {:.1} s, on the pitch x 3", route.cost_s),
                format!("on the pitch {:.1} m of turns", route.turn_on_pitch_m),
                "any order no bound at effort quick".to_owned(),
                format!(
                    "The tool works {:.2} m behind it",
                    work.operation.implement.reach_m
                ),
            ] {
                assert!(
                    text.contains(&expected),
                    "`{expected}` not in {path}: {text}"
                );
            }
        }
    }
}

#[test]
fn a_drive_of_several_directions_leads_from_sheet_to_sheet() {
    let (plan, sheets) = driven();
    for work in &plan.operations {
        let paths = sheets_of(work);
        for (index, path) in paths.iter().enumerate() {
            let at = sheets.iter().position(|(other, _)| other == path).unwrap();
            let text = written(&sheets[at].1);
            let (before, after) = (
                format!("from sheet {at}"),
                format!("on to sheet {}", at + 2),
            );
            let (first, last) = (index == 0, index + 1 == paths.len());
            assert_eq!(text.contains(&before), !first, "{path}");
            assert_eq!(text.contains(&after), !last, "{path}");
            assert_eq!(text.contains("finish"), last, "{path}");
            assert!(text.contains(&format!("{} of {}", index + 1, paths.len())));
        }
    }
}

#[test]
fn a_shortened_end_is_told_on_the_sheet_of_the_drive() {
    let (plan, sheets) = driven();
    let told = plan
        .warnings
        .iter()
        .filter(|warning| warning.code.name() == "shortened");
    let places: Vec<&str> = told.map(|warning| warning.place.as_str()).collect();
    assert!(places.contains(&"operation mat-in, along"), "{places:?}");
    let text = written(sheet_of(&sheets, "sheets/map-route-mat-in.svg"));
    assert!(text.contains("parts are shortened"), "{text}");
}

#[test]
fn wheel_passes_name_their_worst_places_and_what_is_counted() {
    let (plan, sheets) = driven();
    let wheels = plan.wheels.as_ref().unwrap();
    let text = written(sheet_of(&sheets, "sheets/map-wheels.svg"));
    for ((_, passes), number) in wheels.worst.iter().zip(1..) {
        assert!(
            text.contains(&format!("{number}: {passes} times")),
            "{text}"
        );
    }
    assert!(
        text.contains("drives mat-in, mow without drive spike"),
        "{text}"
    );
    // The tones reach to the most of all squares.
    let most = wheels.grid.counts.iter().max().unwrap();
    assert!(text.contains(&format!(" {most} ")), "{text}");
    let sum: u32 = wheels.grid.counts.iter().sum();
    let each = plan
        .operations
        .iter()
        .filter_map(|work| work.wheels.as_ref());
    assert_eq!(sum, each.flat_map(|one| &one.grid.counts).sum::<u32>());
}

#[test]
fn without_drives_there_is_no_sheet_of_them() {
    for (name, plan, sheets) in all() {
        let has_drive = plan.operations.iter().any(|work| work.route.is_some());
        let of_drives = |path: &str| path.contains("map-route-") || path.contains("map-wheels");
        let is_drawn = sheets.iter().any(|(path, _)| of_drives(path));
        assert_eq!(has_drive, is_drawn, "{name}");
    }
}
