//! The sheets: what is on them, and what they look like.

mod drives;
mod jobs;
mod picture;
mod tape;

use resvg::usvg;
use resvg::usvg::roxmltree::{Document, Node};
use swardlane::plan::{Plan, plan};

/// No text is smaller, millimetres.
const LEAST_TEXT_MM: f64 = 2.5;

fn planned(case: &jobs::Case) -> Plan {
    let job = swardlane::job::read("job.toml", case.text, |file| {
        let ground = case
            .ground
            .unwrap_or_else(|| panic!("no ground file {file}"));
        Ok(ground())
    });
    let mut job = job.unwrap();
    job.settings.routes = case.routes;
    plan(&job).unwrap()
}

/// Path and text of each sheet of a plan.
type Sheets = Vec<(String, String)>;

/// The sheets of every job of the tests, with the plan that they are of.
fn all() -> Vec<(&'static str, Plan, Sheets)> {
    let jobs = jobs::ALL.iter();
    jobs.map(|job| {
        let (plan, sheets) = drawn(job);
        (job.name, plan, sheets)
    })
    .collect()
}

/// The sheets of one job, with the plan that they are of.
fn drawn(job: &jobs::Case) -> (Plan, Sheets) {
    let plan = planned(job);
    let sheets = swardlane::sheets::files(&plan)
        .into_iter()
        .map(|(path, bytes)| (path, String::from_utf8(bytes).unwrap()))
        .collect();
    (plan, sheets)
}

fn texts<'a>(sheet: &'a Document<'_>) -> Vec<Node<'a, 'a>> {
    sheet
        .descendants()
        .filter(|node| node.has_tag_name("text"))
        .collect()
}

fn content(node: Node<'_, '_>) -> String {
    node.text().unwrap_or_default().trim().to_owned()
}

/// Everything written on a sheet, in order, words divided by one space.
fn written(sheet: &str) -> String {
    let sheet = Document::parse(sheet).unwrap();
    let lines: Vec<String> = texts(&sheet).into_iter().map(content).collect();
    lines.join(" ").replace('\u{a0}', " ")
}

fn sheet_of<'a>(sheets: &'a [(String, String)], path: &str) -> &'a str {
    let found = sheets.iter().find(|(found, _)| found == path);
    &found.unwrap_or_else(|| panic!("no sheet {path}")).1
}

#[test]
fn there_is_a_sheet_of_the_zones_of_every_direction_drive_and_tape() {
    for (name, plan, sheets) in all() {
        let mut expected = vec!["sheets/map-zones.svg".to_owned()];
        for work in &plan.operations {
            for direction in &work.directions {
                expected.push(format!(
                    "sheets/map-{}-{}.svg",
                    work.operation.id, direction.passes.name
                ));
            }
            expected.extend(drives::sheets_of(work));
            let tapes = tape::sheets_of(work, &sheets);
            assert!(!tapes.is_empty(), "{name}: {}", work.operation.id);
            expected.extend(tapes);
        }
        expected.extend(
            plan.wheels
                .iter()
                .map(|_| "sheets/map-wheels.svg".to_owned()),
        );
        let by_hand = plan.hand.iter();
        expected.extend(by_hand.map(|hand| format!("sheets/hand-{}.svg", hand.id)));
        let paths: Vec<&String> = sheets.iter().map(|(path, _)| path).collect();
        assert_eq!(paths, expected.iter().collect::<Vec<_>>(), "{name}");
        for (index, (path, sheet)) in sheets.iter().enumerate() {
            let line = format!("Sheet {} of {}", index + 1, sheets.len());
            assert!(written(sheet).contains(&line), "{name}: {path}");
        }
    }
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let (first, second) = (all(), all());
    for ((name, _, a), (_, _, b)) in first.iter().zip(&second) {
        assert!(a == b, "{name}");
    }
}

#[test]
fn sheets_are_a4_in_true_millimetres_without_foreign_parts() {
    for (name, _, sheets) in all() {
        for (path, sheet) in &sheets {
            let document = Document::parse(sheet).unwrap();
            let root = document.root_element();
            let size = (root.attribute("width"), root.attribute("height"));
            let box_of = match size {
                (Some("297mm"), Some("210mm")) => "0 0 297 210",
                (Some("210mm"), Some("297mm")) => "0 0 210 297",
                other => panic!("{name}: {path}: {other:?}"),
            };
            assert_eq!(root.attribute("viewBox"), Some(box_of));
            for node in document.descendants().filter(Node::is_element) {
                let tag = node.tag_name().name();
                assert!(
                    !["image", "style", "script", "use", "foreignObject"].contains(&tag),
                    "{name}: {path}: {tag}"
                );
                for attribute in node.attributes() {
                    let value = attribute.value();
                    assert!(!value.contains("NaN") && !value.contains("inf"), "{value}");
                }
            }
        }
    }
}

#[test]
fn every_text_lies_on_the_paper_and_can_be_read() {
    let mut seen = 0;
    for (name, _, sheets) in all() {
        for (path, sheet) in &sheets {
            let document = Document::parse(sheet).unwrap();
            for node in texts(&document) {
                let size: f64 = node.attribute("font-size").unwrap().parse().unwrap();
                assert!(size >= LEAST_TEXT_MM, "{name}: {path}: {}", content(node));
            }
            let tree = picture::tree(sheet);
            let size = tree.size();
            for frame in text_frames(tree.root()) {
                seen += 1;
                // Nearest to the edge that any printer prints.
                let edge = 5.0 / 25.4 * 96.0;
                let is_on_paper = frame.left() >= edge
                    && frame.top() >= edge
                    && frame.right() <= size.width() - edge
                    && frame.bottom() <= size.height() - edge;
                assert!(is_on_paper, "{name}: {path}: {frame:?}");
            }
        }
    }
    assert!(seen > 1000, "{seen}");
}

/// Frames of all texts, in px.
fn text_frames(group: &usvg::Group) -> Vec<usvg::Rect> {
    let mut frames = Vec::new();
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => frames.extend(text_frames(group)),
            usvg::Node::Text(text) => frames.push(text.abs_bounding_box()),
            usvg::Node::Path(_) | usvg::Node::Image(_) => {}
        }
    }
    frames
}

#[test]
fn no_two_texts_lie_on_each_other() {
    for (name, _, sheets) in all() {
        for (path, sheet) in &sheets {
            let tree = picture::tree(sheet);
            let plates = text_plates(tree.root());
            for (index, one) in plates.iter().enumerate() {
                for other in &plates[index + 1..] {
                    assert!(
                        !collide(one, other),
                        "{name}: {path}: {one:?} and {other:?}"
                    );
                }
            }
        }
    }
}

/// The corners of a rectangle, one after another.
type Corners = [(f32, f32); 4];

/// Corners of the letters of all texts, in px, turned as they are.
fn text_plates(group: &usvg::Group) -> Vec<Corners> {
    let mut plates = Vec::new();
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => plates.extend(text_plates(group)),
            usvg::Node::Text(text) => {
                // Frames of text reach from ascender to descender: figures fill the middle
                // two thirds of that, so that a little sharing is no collision.
                let frame = text.bounding_box();
                let (dx, dy) = (0.05 * frame.width(), 0.165 * frame.height());
                let (left, right) = (frame.left() + dx, frame.right() - dx);
                let (top, bottom) = (frame.top() + dy, frame.bottom() - dy);
                let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
                let by = text.abs_transform();
                plates.push(
                    corners.map(|(x, y)| {
                        (by.sx * x + by.kx * y + by.tx, by.ky * x + by.sy * y + by.ty)
                    }),
                );
            }
            usvg::Node::Path(_) | usvg::Node::Image(_) => {}
        }
    }
    plates
}

/// Whether two rectangles share ground: no side of either has the other beyond it.
fn collide(one: &Corners, other: &Corners) -> bool {
    let parts = |one: &Corners, other: &Corners| {
        [(0, 1), (1, 2)].into_iter().any(|(from, to)| {
            let axis = (one[to].0 - one[from].0, one[to].1 - one[from].1);
            let along = |corners: &Corners| {
                let values = corners.map(|(x, y)| x * axis.0 + y * axis.1);
                let low = values.into_iter().fold(f32::INFINITY, f32::min);
                (low, values.into_iter().fold(f32::NEG_INFINITY, f32::max))
            };
            let (a, b) = (along(one), along(other));
            a.1 <= b.0 || b.1 <= a.0
        })
    };
    !parts(one, other) && !parts(other, one)
}

#[test]
fn turned_texts_collide_where_they_cross_and_not_where_their_frames_do() {
    let flat = [(0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (0.0, 1.0)];
    let turned = |x: f32, y: f32| [(x, y - 1.0), (x + 1.0, y), (x, y + 1.0), (x - 1.0, y)];
    assert!(collide(&flat, &turned(3.5, 0.0)));
    assert!(!collide(&flat, &turned(4.6, -0.6)));
}

#[test]
fn every_pass_number_is_there_or_accounted_for() {
    let mut is_thinned = false;
    for (name, plan, sheets) in all() {
        for work in &plan.operations {
            for direction in &work.directions {
                let passes = &direction.passes;
                let path = format!("sheets/map-{}-{}.svg", work.operation.id, passes.name);
                let sheet = sheet_of(&sheets, &path);
                let document = Document::parse(sheet).unwrap();
                let numbers: Vec<String> = texts(&document).into_iter().map(content).collect();
                let is_there = |number: usize| numbers.contains(&number.to_string());
                let all = written(sheet);
                let every = stated_step(&all);
                let untold = stated_untold(&all);
                is_thinned |= every > 1;
                let mut missing = 0;
                for pass in &passes.passes {
                    let is_first_or_last = pass.number == 1 || pass.number == passes.passes.len();
                    // A round number gives way to the last one where they are close.
                    let is_near_last = passes.passes.len() - pass.number < every / 2;
                    let is_due = pass.number % every == 0 && !is_near_last;
                    if (is_due || is_first_or_last) && !is_there(pass.number) {
                        missing += 1;
                        assert!(untold > 0, "{name}: {path}: {}", pass.number);
                    }
                }
                assert!(missing <= untold, "{name}: {path}: {missing} of {untold}");
            }
        }
    }
    assert!(
        is_thinned,
        "no job of the tests has lines too close to number all"
    );
}

/// One in how many passes a sheet says that it numbers.
fn stated_step(written: &str) -> usize {
    match written.split_once("numbered every ") {
        None => 1,
        Some((_, rest)) => {
            let figures: String = rest.chars().take_while(char::is_ascii_digit).collect();
            figures.parse().unwrap_or(1)
        }
    }
}

/// How many passes a sheet says to be without a number.
fn stated_untold(written: &str) -> usize {
    let before = written.split_once(" at none").map(|(before, _)| before);
    let figure = before.and_then(|before| before.rsplit(' ').next());
    figure.map_or(0, |figure| figure.parse().unwrap())
}

#[test]
fn names_that_hold_markup_are_escaped() {
    let (_, plan, sheets) = all()
        .into_iter()
        .find(|(name, ..)| *name == "small")
        .unwrap();
    assert!(plan.name.contains("<b>") && plan.name.contains('&'));
    for (path, sheet) in &sheets {
        assert!(!sheet.contains("<b>"), "{path}");
        assert!(written(sheet).contains("\"Long\" & <b>Short</b>"), "{path}");
    }
}

#[test]
fn deep_work_carries_the_services_wording_and_shallow_work_does_not() {
    let mut deep = 0;
    for (_, plan, sheets) in all() {
        for work in &plan.operations {
            let is_deep = work
                .operation
                .depth
                .is_some_and(|depth| depth.depth_mm > 100.0);
            for direction in &work.directions {
                let path = format!(
                    "sheets/map-{}-{}.svg",
                    work.operation.id, direction.passes.name
                );
                let text = written(sheet_of(&sheets, &path)).to_lowercase();
                assert_eq!(text.contains("trial holes by hand"), is_deep, "{path}");
                assert!(!text.contains("clear to dig"), "{path}");
                assert!(text.contains("come before this sheet"), "{path}");
                deep += usize::from(is_deep);
            }
        }
    }
    assert!(deep > 0);
}

#[test]
fn figures_on_a_sheet_are_those_of_the_plan() {
    let (_, plan, sheets) = all()
        .into_iter()
        .find(|(name, ..)| *name == "full")
        .unwrap();
    let work = &plan.operations[0];
    let direction = &work.directions[1];
    assert_eq!(direction.passes.name, "diagonal_left");
    let text = written(sheet_of(&sheets, "sheets/map-work-in-diagonal_left.svg"));
    let coverage = &direction.coverage;
    for expected in [
        plan.name.clone(),
        "2026-06-02".to_owned(),
        "Brush with drag-brush".to_owned(),
        "work-in: diagonal left".to_owned(),
        "Heading 327.5\u{b0}".to_owned(),
        format!("width {:.2} m", work.operation.implement.working_width_m),
        format!("spacing {:.3} m", direction.passes.spacing_m.unwrap()),
        format!("missed {:.1} m\u{b2} in", coverage.missed_m2),
        format!("{:.0} m\u{b2} of", coverage.covered_m2),
        "North end: Hill end".to_owned(),
        "West side: Main stand".to_owned(),
    ] {
        assert!(text.contains(&expected), "`{expected}` not in: {text}");
    }
}

#[test]
fn a_default_depth_is_said_to_be_one() {
    let (_, _, sheets) = all()
        .into_iter()
        .find(|(name, ..)| *name == "full")
        .unwrap();
    let default = written(sheet_of(&sheets, "sheets/map-strip-across.svg"));
    assert!(default.contains("a default for this task"), "{default}");
    let given = written(sheet_of(&sheets, "sheets/map-deep-along.svg"));
    assert!(given.contains("250 mm by the rule"), "{given}");
}

#[test]
fn the_scale_is_true() {
    // The touch line of the full pitch, 105 m, as drawn.
    let (_, _, sheets) = all()
        .into_iter()
        .find(|(name, ..)| *name == "full")
        .unwrap();
    let sheet = sheet_of(&sheets, "sheets/map-zones.svg");
    let text = written(sheet);
    let (_, rest) = text.split_once("Scale 1:").unwrap();
    let figures: String = rest.chars().take_while(char::is_ascii_digit).collect();
    let scale: f64 = figures.parse().unwrap();
    let document = Document::parse(sheet).unwrap();
    let markings = document
        .descendants()
        .find(|node| {
            node.has_tag_name("path")
                && node.attribute("stroke") == Some("#8a8a8a")
                && node.attribute("fill") == Some("none")
                && node
                    .attribute("d")
                    .is_some_and(|d| d.matches('M').count() >= 10 && !d.contains('Z'))
        })
        .and_then(|node| node.attribute("d"))
        .unwrap();
    let boundary = markings.split('M').nth(1).unwrap().replace('L', " ");
    let values: Vec<f64> = boundary
        .split_whitespace()
        .map(|v| v.parse().unwrap())
        .collect();
    let drawn_mm = (values[2] - values[0]).hypot(values[3] - values[1]);
    assert!(
        (drawn_mm - 105.0 * 1000.0 / scale).abs() <= 0.011,
        "{drawn_mm} mm at 1:{scale}"
    );
}

#[test]
fn the_sheets_look_as_they_did() {
    let mut compared = 0;
    for (name, _, sheets) in all() {
        let pictured = sheets
            .iter()
            .filter(|(path, _)| tape::is_pictured(name, path));
        for (path, sheet) in pictured {
            let case = path
                .trim_start_matches("sheets/")
                .trim_start_matches("map-")
                .trim_end_matches(".svg");
            picture::check(&format!("{name}-{case}"), sheet);
            compared += 1;
        }
    }
    assert!(compared >= 8, "{compared}");
    picture::no_reference_is_left_over(compared);
}
