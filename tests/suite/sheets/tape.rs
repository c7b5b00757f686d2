//! The tape sheets: every row of the tape is on them, in figures that can be read.

use resvg::usvg::roxmltree::Document;
use swardlane::plan::{OperationPlan, Plan};
use swardlane::setting_out::TapedEnd;

use super::{
    Sheets, all, collide, content, drawn, jobs, picture, text_frames, text_plates, texts, written,
};

/// Paths of the tape sheets of an operation, by what is there: as many as follow each other.
pub fn sheets_of(work: &OperationPlan, sheets: &Sheets) -> Vec<String> {
    let id = &work.operation.id;
    let nth = |number: usize| match number {
        1 => format!("sheets/tape-{id}.svg"),
        _ => format!("sheets/tape-{id}.{number}.svg"),
    };
    (1..)
        .map(nth)
        .take_while(|path| sheets.iter().any(|(found, _)| found == path))
        .collect()
}

fn pages<'a>(work: &OperationPlan, sheets: &'a Sheets) -> Vec<&'a str> {
    let paths = sheets_of(work, sheets);
    let page = |path: &String| sheets.iter().find(|(found, _)| found == path);
    paths
        .iter()
        .filter_map(page)
        .map(|(_, sheet)| sheet.as_str())
        .collect()
}

/// The sheets of the job of that name.
fn of(name: &str) -> (Plan, Sheets) {
    drawn(jobs::ALL.iter().find(|job| job.name == name).unwrap())
}

fn centimetres(metres: f64) -> String {
    let text = format!("{metres:.2}").replace('-', "\u{2212}");
    text.strip_prefix("\u{2212}0.00")
        .map_or(text.clone(), |_| "0.00".to_owned())
}

fn end(at: &TapedEnd) -> String {
    let lift = centimetres(at.lift_m);
    let plus = if at.lift_m >= 0.005 { "+" } else { "" };
    format!(
        "{} {} {} {} {plus}{lift}",
        format!("{:?}", at.line.side).chars().next().unwrap(),
        if at.line.is_goal_line {
            "goal"
        } else {
            "touch"
        },
        at.flag.name().to_uppercase(),
        [at.centre_m, at.edge_m].map(centimetres).join(" "),
    )
}

/// Demands that a page says what it belongs to, and what to mind.
fn is_alone(name: &str, work: &OperationPlan, page: &str) {
    let is_deep = work
        .operation
        .depth
        .is_some_and(|depth| depth.depth_mm > 100.0);
    assert!(page.contains(", by tape"), "{name}: {page}");
    assert!(page.contains(&work.operation.id), "{name}: {page}");
    assert!(
        page.contains("never from the cane before"),
        "{name}: {page}"
    );
    assert_eq!(
        page.contains("trial holes by hand"),
        is_deep,
        "{name}: {page}"
    );
    assert!(!page.contains("clear to dig"), "{name}: {page}");
}

#[test]
fn every_part_has_its_row_in_order_and_each_page_can_be_held_alone() {
    let mut rows = 0;
    for (name, plan, sheets) in all() {
        for work in &plan.operations {
            let all: Vec<String> = pages(work, &sheets).into_iter().map(written).collect();
            assert!(!all.is_empty(), "{name}: {}", work.operation.id);
            all.iter().for_each(|page| is_alone(name, work, page));
            let text = all.join(" ");
            let mut rest = text.as_str();
            for part in work.directions.iter().flat_map(|d| &d.tape.parts) {
                let both = format!("{} {}", end(&part.start), end(&part.stop));
                let row = format!("{} {} ", part.edge.name(), centimetres(part.length_m));
                let from = rest.find(&row).unwrap_or_else(|| {
                    panic!(
                        "{name}: {}: no `{row}` in its turn: {part:?}",
                        work.operation.id
                    )
                });
                rest = &rest[from + row.len()..];
                assert!(
                    rest.starts_with(&both),
                    "{name}: `{both}` not at: {rest:.90}"
                );
                rows += 1;
            }
        }
    }
    assert!(rows > 300, "{rows}");
}

#[test]
fn the_first_page_says_what_to_prove_and_how_to_measure() {
    let (plan, sheets) = of("full");
    let text = written(pages(&plan.operations[0], &sheets)[0]);
    for expected in [
        "Larkmoor practice ground",
        "2026-06-02",
        "Brush with drag-brush",
        "work-in: along, by tape",
        "Heading 12.5\u{b0}",
        "Diagonals 125.096 m",
        "equal within 20 mm",
        "Corner 24.00, 32.00, 40.00 m",
        "goal line 68.00 m, touch line 105.00 m",
        "a 100 m tape pulled tight: good to 20 mm (from memory)",
        "right edge of the machine along the heading",
        "every 10th coloured cane: stout line,",
        "it agrees within 5 cm, else drive by the canes",
        "North goal line: Hill end",
        "West touch line: Main stand",
        "START: drop the tool",
        "STOP: lift the tool",
    ] {
        assert!(text.contains(expected), "`{expected}` not in: {text}");
    }
    // No grass that differs, no place on the globe that a terminal could drive to.
    assert!(!text.contains("no rectangle"), "{text}");
    let (plan, sheets) = of("small");
    let text = written(pages(&plan.operations[0], &sheets)[0]);
    assert!(!text.contains("terminal"), "{text}");
}

#[test]
fn a_crooked_ground_says_by_how_much_and_a_drive_says_which_edge() {
    let (plan, sheets) = of("odd");
    assert!(plan.squares.most_m() > 1.0);
    let text = written(pages(&plan.operations[0], &sheets)[0]);
    assert!(text.contains("The grass is no rectangle"), "{text}");
    let mut told = 0;
    for side in plan.squares.sides {
        for (off_m, word) in [(side.beyond_m, "out"), (side.short_m, "in")] {
            if off_m > 0.005 {
                let expected = format!("{off_m:.2} m {word}");
                assert!(text.contains(&expected), "`{expected}` not in: {text}");
                told += 1;
            }
        }
    }
    assert!(told > 1, "{told}");
    let (plan, sheets) = of("driven");
    let text = written(pages(&plan.operations[0], &sheets)[0]);
    assert!(text.contains("left or right as it is driven"), "{text}");
    assert!(
        text.contains(" left ") && text.contains(" right "),
        "{text}"
    );
}

#[test]
fn rounds_are_told_in_words() {
    let (plan, sheets) = of("full");
    let mow = plan
        .operations
        .iter()
        .find(|work| work.operation.id == "mow");
    let text = written(pages(mow.unwrap(), &sheets)[0]);
    for expected in [
        "Perimeter rounds",
        "round 1 middle 1.20 m, edge 0.00 m",
        "round 2 middle 3.40 m, edge 2.20 m",
        "round 3 middle 5.60 m, edge 4.40 m",
    ] {
        assert!(text.contains(expected), "`{expected}` not in: {text}");
    }
}

#[test]
fn a_pennant_stands_at_every_tenth_pass() {
    let (plan, sheets) = of("full");
    let drill = plan
        .operations
        .iter()
        .find(|work| work.operation.id == "drill")
        .unwrap();
    let tenths = drill.directions[0]
        .tape
        .parts
        .iter()
        .filter(|part| part.pass % 10 == 0);
    let tenths = tenths.count();
    assert!(tenths >= 10);
    let mut pennants = 0;
    let mut firsts = 0;
    for sheet in pages(drill, &sheets) {
        let document = Document::parse(sheet).unwrap();
        // A filled black triangle.
        pennants += document
            .descendants()
            .filter(|node| {
                let d = node.attribute("d").unwrap_or_default();
                node.attribute("fill") == Some("#000000")
                    && node.attribute("stroke").is_none()
                    && d.ends_with('Z')
                    && d.split([' ', 'L']).count() == 6
            })
            .count();
        firsts += usize::from(
            texts(&document)
                .into_iter()
                .any(|node| content(node) == "every 10th"),
        );
    }
    // One more in the words of each first page.
    assert_eq!(pennants, tenths + firsts);
}

/// All that can be said beside a sketch: a long name, a crooked ground, deep work, many rounds,
/// passes in parts and beyond 100 m of tape.
const FULLEST: &str = r#"
name = "Thistlemarsh corner field with a name that goes on for more than one line"
date = 2026-10-31

[pitch]
run_off_m = { touch = 3.0, goal = 3.0 }

[ground]
file = "ground.geojson"

[implement.slitter-with-a-long-name-of-its-own]
working_width_m = 0.9
speed_km_h = 3.5

[[operation]]
id = "slit-the-whole-of-it-once-more"
task = "slit"
implement = "slitter-with-a-long-name-of-its-own"
depth_mm = 180.0
perimeter_rounds = 9
directions = [{ angle_deg = 12.0 }]
"#;

#[test]
fn the_fullest_page_keeps_its_words_apart_and_on_the_paper() {
    let odd = jobs::ALL.iter().find(|job| job.name == "odd").unwrap();
    let (plan, sheets) = drawn(&jobs::Case {
        name: "fullest",
        text: FULLEST,
        ground: odd.ground,
        routes: false,
    });
    let page = pages(&plan.operations[0], &sheets)[0];
    let text = written(page);
    for expected in [
        "no rectangle",
        "trial holes by hand",
        "12/2",
        "minus",
        "round 2",
        "more, each",
    ] {
        assert!(text.contains(expected), "`{expected}` not in: {text}");
    }
    let tree = picture::tree(page);
    let plates = text_plates(tree.root());
    for (index, one) in plates.iter().enumerate() {
        for other in &plates[index + 1..] {
            assert!(!collide(one, other), "{one:?} and {other:?}");
        }
    }
    let edge = 5.0 / 25.4 * 96.0;
    for frame in text_frames(tree.root()) {
        assert!(frame.bottom() <= tree.size().height() - edge, "{frame:?}");
    }
}

/// Which tape sheets are compared with a picture: first pages, and one that goes on.
pub fn is_pictured(job: &str, path: &str) -> bool {
    let Some(name) = path.strip_prefix("sheets/tape-") else {
        return true;
    };
    let goes_on = name.trim_end_matches(".svg").contains('.');
    !goes_on || (job, name) == ("full", "drill.2.svg")
}
