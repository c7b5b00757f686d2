//! The sheets: working drawings on paper, made from the plan and from nothing else.
//!
//! A sheet is made in three steps: what is written beside the drawing ([`panel`] blocks),
//! then one [`layout`] for all maps of the job, then the drawing itself as a [`scene`] in
//! millimetres of paper, which a writer turns into SVG. White paper, thin grey markings,
//! one strong ink for the passes the sheet is about; hatching and shape, never colour
//! alone, tell things apart.

mod direction_map;
mod ground_map;
mod hand;
mod hatch;
mod key;
mod layout;
mod lettering;
mod missed_map;
mod numbers;
mod order_numbers;
mod panel;
mod room;
mod route_map;
mod scene;
mod stages;
mod svg_file;
mod symbols;
mod tape;
mod wheels_map;
mod words;
mod written;
mod written_route;
mod zones_map;

use std::collections::BTreeSet;

use rayon::prelude::*;

use crate::hand::HandPlan;
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::route::wheels::WheelTraffic;
use crate::space::Xy;
use layout::Layout;
use scene::Scene;
use stages::Stage;
use written_route::{Detail, Shown};

/// What a sheet is about.
#[derive(Clone, Copy)]
enum Subject<'plan> {
    /// The wear zones.
    Zones,
    /// One direction of an operation.
    Direction(&'plan OperationPlan, &'plan DirectionPlan),
    /// The drive of an operation, in one direction.
    Drive(&'plan OperationPlan, Stage<'plan>),
    /// Where the passes of an operation start and stop, by tape.
    Tape(tape::Leaf<'plan>),
    /// The wheel passes of all drives.
    Wheels(&'plan WheelTraffic),
    /// One piece of hand work.
    Hand(&'plan HandPlan),
}

impl Subject<'_> {
    /// Its path within the plan's folder.
    fn path(&self) -> String {
        match self {
            Self::Zones => "sheets/map-zones.svg".to_owned(),
            Self::Direction(work, direction) => format!(
                "sheets/map-{}-{}.svg",
                work.operation.id, direction.passes.name
            ),
            Self::Drive(work, stage) if stage.number > 1 => {
                format!(
                    "sheets/map-route-{}.{}.svg",
                    work.operation.id, stage.number
                )
            }
            Self::Drive(work, _) => format!("sheets/map-route-{}.svg", work.operation.id),
            Self::Tape(leaf) => leaf.path(),
            Self::Wheels(_) => "sheets/map-wheels.svg".to_owned(),
            Self::Hand(hand) => format!("sheets/hand-{}.svg", hand.id),
        }
    }
}

/// The sheets of a plan, path within the plan's folder and bytes, in the order in which
/// they are numbered: the zones, then of every operation each direction in the order
/// worked, perimeter rounds among them, then its drive in as many sheets, then its tape sheets;
/// then the wheel passes, and last the hand work. Drives and wheel passes only where drives are planned.
///
/// Each is an SVG file of one A4 page: one user unit is one millimetre of paper, and the
/// ground is drawn to the scale that is written on it. All maps of a plan have one scale
/// and one position on the paper; a tape sheet and a sheet of hand work have their own. The same plan gives the same bytes.
#[must_use]
pub fn files(plan: &Plan) -> Vec<(String, Vec<u8>)> {
    each_file(plan, |file| file)
}

/// The same, each handed to `take` as soon as it is made, by any thread; what came of them in the
/// order in which they are numbered.
#[must_use]
pub fn each_file<T: Send>(plan: &Plan, take: impl Fn((String, Vec<u8>)) -> T + Sync) -> Vec<T> {
    let subjects = subjects(plan);
    let layout = layout(plan, &subjects);
    let count = subjects.len();
    subjects
        .par_iter()
        .zip(paths(&subjects))
        .enumerate()
        .with_max_len(1)
        .map(|(index, (subject, path))| {
            let page = written::Page {
                number: index + 1,
                count,
            };
            let scene = scene(plan, *subject, page, &layout);
            take((path, svg_file::write(&scene)))
        })
        .collect()
}

/// Their paths. Where an operation is called `route`, a drive and a direction could share
/// one; no id holds a full stop, so that one more keeps them apart.
fn paths(subjects: &[Subject<'_>]) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let unique = subjects.iter().map(|subject| {
        let mut path = subject.path();
        while !seen.insert(path.clone()) {
            path = path.replace(".svg", ".drive.svg");
        }
        path
    });
    unique.collect()
}

fn subjects(plan: &Plan) -> Vec<Subject<'_>> {
    let operations = plan.operations.iter().flat_map(|work| {
        let directions = work
            .directions
            .iter()
            .map(move |direction| Subject::Direction(work, direction));
        let drives = stages::stages(work)
            .into_iter()
            .map(move |stage| Subject::Drive(work, stage));
        let leaves = tape::leaves(plan, work).into_iter().map(Subject::Tape);
        directions.chain(drives).chain(leaves)
    });
    std::iter::once(Subject::Zones)
        .chain(operations)
        .chain(plan.wheels.as_ref().map(Subject::Wheels))
        .chain(plan.hand.iter().map(Subject::Hand))
        .collect()
}

/// One layout for all maps.
fn layout(plan: &Plan, subjects: &[Subject<'_>]) -> Layout {
    let ground = &plan.ground;
    let outline = geo::MultiPolygon(vec![ground.outline.clone()]);
    let (low, high) = layout::extent(&[&ground.grass, &outline], &[]);
    // North lies at the bearing, counted anticlockwise from +x.
    let north_deg = ground.bearing.deg();
    // What is written takes the same room whatever the layout, so that any will do to
    // measure it.
    let any = Layout::choose(low, high, north_deg, &[]);
    let page = written::Page {
        number: subjects.len(),
        count: subjects.len(),
    };
    let panels: Vec<_> = subjects
        .par_iter()
        .map(|subject| match subject {
            Subject::Zones => written::zones(plan, page, &any, &written::all_kinds(plan)),
            Subject::Direction(work, direction) => written::direction(
                plan,
                (work, direction),
                page,
                &any,
                (&written::all_kinds(plan), ""),
            ),
            Subject::Drive(work, stage) => {
                let route = work.route.as_ref();
                let shown = Shown {
                    kinds: &written::all_kinds(plan),
                    moves: &written_route::moves_of(route),
                    has_changes: route.is_some_and(|route| route.changes > 0),
                    numbered: "",
                };
                // What else there is to say finds room, or is left out.
                written_route::drive(plan, (work, stage), page, &any, (&shown, Detail::Short))
            }
            Subject::Wheels(wheels) => written_route::wheels(plan, wheels, page, &any),
            Subject::Tape(_) | Subject::Hand(_) => Vec::new(),
        })
        .collect();
    Layout::choose(low, high, north_deg, &panels)
}

fn scene(plan: &Plan, subject: Subject<'_>, page: written::Page, layout: &Layout) -> Scene {
    let (mut items, blocks, title) = match subject {
        Subject::Zones => {
            let map = zones_map::draw(plan, layout);
            let blocks = written::zones(plan, page, layout, &map.kinds);
            (map.items, blocks, "wear zones".to_owned())
        }
        Subject::Direction(work, direction) => {
            let map = direction_map::draw(plan, work, direction, layout);
            let blocks = written::direction(
                plan,
                (work, direction),
                page,
                layout,
                (&map.kinds, &map.numbered),
            );
            let title = format!(
                "{}, {}",
                work.operation.id,
                words::direction_name(direction)
            );
            (map.items, blocks, title)
        }
        Subject::Drive(work, stage) => {
            let map = route_map::draw(plan, work, &stage, page, layout);
            let shown = Shown {
                kinds: &map.kinds,
                moves: &map.moves,
                has_changes: map.has_changes,
                numbered: &map.numbered,
            };
            let written = |detail: Detail| {
                written_route::drive(plan, (work, &stage), page, layout, (&shown, detail))
            };
            let mut blocks = written(Detail::Full);
            if !layout.has_room_for(&blocks) {
                blocks = written(Detail::Short);
            }
            let title = format!(
                "{}, drive, {}",
                work.operation.id,
                words::direction_name(stage.direction)
            );
            (map.items, blocks, title)
        }
        Subject::Wheels(wheels) => {
            let items = wheels_map::draw(plan, wheels, layout);
            let blocks = written_route::wheels(plan, wheels, page, layout);
            (items, blocks, "wheel passes".to_owned())
        }
        Subject::Tape(leaf) => return tape::scene(plan, &leaf, page),
        Subject::Hand(hand) => return hand::scene(plan, hand, page),
    };
    items.extend(layout.panel(&blocks));
    Scene {
        width_mm: layout.paper_mm.0,
        height_mm: layout.paper_mm.1,
        title: format!("{}: {title}", plan.name),
        items,
    }
}

/// The direction of north in the pitch frame, as a unit vector.
fn north(plan: &Plan) -> Xy {
    crate::space::Heading::from_deg(0.0)
        .angle(plan.ground.bearing)
        .unit()
}
