//! The operations: words resolved, defaults filled, depths held against the surface.

use std::collections::BTreeMap;

use super::Desk;
use crate::job::file::{
    DirectionToml, DirectionWord, EndsWord, JobToml, LineWord, OperationToml, OrderWord,
    PlacedToml, RemainderWord, StartToml, TaskWord,
};
use crate::job::model::{
    Depth, Direction, Ends, Implement, Material, Operation, OperationMaterial, Order, Remainder,
    Start, Surface, SurfaceKind, Task,
};
use crate::job::{defaults, tree, words};
use crate::space::{Angle, Compass, Heading, Xy};
use crate::warning::{Code, Warning};

/// A `line` of `start` is told apart from a point by this length, metres.
const SHORTEST_START_LINE_M: f64 = 0.1;

/// The place of a material among those of all operations, in the order of first use, from 1.
fn first_used(file: &JobToml, name: &str) -> usize {
    let mut seen: Vec<&str> = Vec::new();
    for used in file
        .operation
        .iter()
        .filter_map(|one| one.material.as_deref())
    {
        if !seen.contains(&used) {
            seen.push(used);
        }
        if used == name {
            break;
        }
    }
    seen.len()
}

impl Desk {
    pub(super) fn operations(
        &mut self,
        file: &JobToml,
        implements: &BTreeMap<String, Option<Implement>>,
        materials: &BTreeMap<String, Material>,
        surface: Option<Surface>,
    ) -> Vec<Operation> {
        let mut operations = Vec::new();
        for (index, asked) in file.operation.iter().enumerate() {
            let number = index + 1;
            let path = format!("operation.{number}");
            let implement = asked
                .implement
                .as_ref()
                .and_then(|name| self.refers(&format!("{path}.implement"), name, implements));
            if let Some(material) = &asked.material {
                self.refers(&format!("{path}.material"), material, &file.material);
            }
            let implement = implement.cloned().flatten();
            let with = (implement, materials);
            let mut operation = self.operation(number, &path, asked, with, surface);
            if let (Some(operation), Some(name)) = (&mut operation, &asked.material) {
                operation.material = Some(OperationMaterial {
                    name: name.clone(),
                    number: first_used(file, name),
                });
            }
            operations.extend(operation);
        }
        self.check_ids(file);
        operations
    }

    /// Ids are unique, whatever their case: some file systems do not tell it apart.
    fn check_ids(&mut self, file: &JobToml) {
        let of_operations = file.operation.iter().map(|one| &one.id).enumerate();
        let of_hand = file.hand.iter().map(|one| &one.id).enumerate();
        let all: Vec<(String, &String)> = of_operations
            .map(|(index, id)| (format!("operation.{}.id", index + 1), id))
            .chain(of_hand.map(|(index, id)| (format!("hand.{}.id", index + 1), id)))
            .filter_map(|(path, id)| Some((path, id.as_ref()?)))
            .collect();
        let mut seen: BTreeMap<String, String> = BTreeMap::new();
        for (path, id) in all {
            if let Err(text) = tree::check_id("id", id) {
                self.wrong(&path, text);
                continue;
            }
            if let Some(first) = seen.get(&id.to_lowercase()) {
                let line = self.line(first).unwrap_or_default();
                let text = format!("`id` `{id}` stands in line {line} already; give each its own");
                self.wrong(&path, text);
            } else {
                seen.insert(id.to_lowercase(), path);
            }
        }
    }

    fn operation(
        &mut self,
        number: usize,
        path: &str,
        file: &OperationToml,
        (implement, materials): (Option<Implement>, &BTreeMap<String, Material>),
        surface: Option<Surface>,
    ) -> Option<Operation> {
        let zones = file.zones.clone().unwrap_or(vec!["all".to_owned()]);
        self.check_zones(&format!("{path}.zones"), &zones);
        let directions = self.directions(path, file);
        let start = self.start(path, file.start.as_ref());
        let (asks_material, rates) = self.rates(path, file, &directions, materials);
        let task = task(file.task?);
        let depth = self.depth(path, file, task, surface);
        let task_default = defaults::of_task(task);
        let ends = match file.ends {
            Some(EndsWord::RunOver) => Ends::RunOver,
            Some(EndsWord::OnLine) => Ends::OnLine,
            Some(EndsWord::HoldInside) => Ends::HoldInside,
            None => task_default.ends,
        };
        let over_m = file.over_m.unwrap_or(match ends {
            Ends::RunOver => 0.0,
            Ends::OnLine | Ends::HoldInside => task_default.over_m,
        });
        let id = file.id.clone()?;
        if asks_material {
            self.warnings.push(Warning::new(
                Code::MaterialNotCounted,
                format!("operation `{id}`"),
                "material is asked for, but this version counts none: no tonnes, no cost of material; loads only where a drive is planned",
            ));
        }
        Some(Operation {
            number,
            id,
            task,
            implement: implement?,
            zones,
            wear: file.wear.clone(),
            directions,
            ends,
            over_m,
            start,
            remainder: match file.remainder {
                Some(RemainderWord::Full) => Remainder::Full,
                Some(RemainderWord::Even) | None => Remainder::Even,
            },
            perimeter_rounds: file.perimeter_rounds.unwrap_or(defaults::PERIMETER_ROUNDS),
            order: match file.order {
                Some(OrderWord::Neighbour) => Order::Neighbour,
                Some(OrderWord::Lands) => Order::Lands,
                Some(OrderWord::Shortest) | None => Order::Shortest,
            },
            turn_on_pitch_cost: file
                .turn_on_pitch_cost
                .unwrap_or(defaults::TURN_ON_PITCH_COST),
            depth,
            asks_material,
            rates,
            material: None,
            people: file.people,
            min_pass_m: file.min_pass_m.unwrap_or(defaults::MIN_PASS_M),
        })
    }

    pub(super) fn check_zones(&mut self, path: &str, zones: &[String]) {
        let Some(user_zones) = self.user_zones.take() else {
            return;
        };
        for (index, zone) in zones.iter().enumerate() {
            if let Err(text) = words::check(zone, &user_zones) {
                self.wrong(&format!("{path}.{}", index + 1), text);
            }
        }
        self.user_zones = Some(user_zones);
    }

    fn directions(&mut self, path: &str, file: &OperationToml) -> Vec<Direction> {
        let Some(asked) = &file.directions else {
            return vec![Direction::Along];
        };
        let mut directions = Vec::new();
        for (index, asked) in asked.iter().enumerate() {
            let path = format!("{path}.directions.{}", index + 1);
            let Some(direction) = self.direction(&path, asked) else {
                continue;
            };
            if directions.contains(&direction) {
                let text = format!(
                    "direction {} stands twice; take one out, or write a second operation",
                    direction_text(direction)
                );
                self.wrong(&path, text);
            }
            directions.push(direction);
        }
        directions
    }

    pub(super) fn direction(&mut self, path: &str, file: &DirectionToml) -> Option<Direction> {
        match file {
            DirectionToml::Word(word) => Some(match word {
                DirectionWord::Along => Direction::Along,
                DirectionWord::Across => Direction::Across,
                DirectionWord::DiagonalLeft => Direction::DiagonalLeft,
                DirectionWord::DiagonalRight => Direction::DiagonalRight,
                DirectionWord::CornerLeft => Direction::CornerLeft,
                DirectionWord::CornerRight => Direction::CornerRight,
            }),
            DirectionToml::Turned(turned) => match (turned.angle_deg, turned.heading_deg) {
                (Some(deg), None) => Some(Direction::Angle(Angle::from_deg(deg))),
                (None, Some(deg)) => Some(Direction::Heading(Heading::from_deg(deg))),
                _ if self.spoilt(path) => None,
                _ => {
                    let text = "a direction in braces is `{ angle_deg = … }` or `{ heading_deg = … }`; write one of the two";
                    self.wrong(path, text);
                    None
                }
            },
        }
    }

    fn start(&mut self, path: &str, file: Option<&StartToml>) -> Start {
        let path = format!("{path}.start");
        match file {
            None | Some(StartToml::Word(_)) => Start::Centred,
            Some(StartToml::Placed(placed)) => self.placed(&path, placed).unwrap_or(Start::Centred),
        }
    }

    fn placed(&mut self, path: &str, file: &PlacedToml) -> Option<Start> {
        match (file.from, file.line) {
            _ if self.spoilt(path) => None,
            (Some(from), None) => {
                if file.between.is_some() {
                    let text = "`between` stands without `line`; take it out";
                    self.wrong(&format!("{path}.between"), text);
                }
                let (side, is_goal_line) = pitch_line(from);
                Some(Start::From { side, is_goal_line })
            }
            (None, Some([[x0, y0], [x1, y1]])) => {
                if (x1 - x0).hypot(y1 - y0) < SHORTEST_START_LINE_M {
                    let text = format!(
                        "the two points of `line` are nearer than {SHORTEST_START_LINE_M} m; write two that show its direction"
                    );
                    self.wrong(&format!("{path}.line"), text);
                }
                Some(Start::Line {
                    from: Xy { x: x0, y: y0 },
                    to: Xy { x: x1, y: y1 },
                    between: file.between.unwrap_or(false),
                })
            }
            _ => {
                let text = "`start` in braces needs `from` or `line`, one of the two";
                self.wrong(path, text);
                None
            }
        }
    }

    /// The depth of the task, held against what the surface bears.
    fn depth(
        &mut self,
        path: &str,
        file: &OperationToml,
        task: Task,
        surface: Option<Surface>,
    ) -> Option<Depth> {
        let depth = match file.depth_mm {
            Some(depth_mm) => Depth {
                depth_mm,
                is_default: false,
            },
            None => Depth {
                depth_mm: defaults::of_task(task).depth?.depth_mm,
                is_default: true,
            },
        };
        let path = format!(
            "{path}.{}",
            if depth.is_default { "task" } else { "depth_mm" }
        );
        let what = if depth.is_default {
            format!(
                "the default depth of `{}`, {} mm,",
                task.name(),
                depth.depth_mm
            )
        } else {
            format!("`depth_mm` {}", depth.depth_mm)
        };
        let mend = if depth.is_default {
            "write a `depth_mm` of"
        } else {
            "lower it to"
        };
        let unknown_mm = defaults::HYBRID_UNKNOWN_DEPTH_MM;
        match surface {
            Some(Surface {
                max_depth_mm: Some(most),
                ..
            }) if depth.depth_mm > most => {
                let text =
                    format!("{what} is deeper than `max_depth_mm` {most}; {mend} {most} or less");
                self.wrong(&path, text);
            }
            Some(Surface {
                kind: SurfaceKind::Hybrid,
                max_depth_mm: None,
            }) if task.cuts() && depth.depth_mm > unknown_mm && !self.spoilt("pitch.surface") => {
                let text = format!(
                    "{what} is deeper than {unknown_mm} mm on a hybrid surface without `max_depth_mm`; ask its supplier and write it under `[pitch.surface]`"
                );
                self.wrong(&path, text);
            }
            _ => {}
        }
        Some(depth)
    }
}

/// A direction as the job file writes it.
pub(super) fn direction_text(direction: Direction) -> String {
    match direction {
        Direction::Along => "`along`".to_owned(),
        Direction::Across => "`across`".to_owned(),
        Direction::DiagonalLeft => "`diagonal_left`".to_owned(),
        Direction::DiagonalRight => "`diagonal_right`".to_owned(),
        Direction::CornerLeft => "`corner_left`".to_owned(),
        Direction::CornerRight => "`corner_right`".to_owned(),
        Direction::Angle(angle) => format!("`{{ angle_deg = {} }}`", angle.deg()),
        Direction::Heading(heading) => format!("`{{ heading_deg = {} }}`", heading.deg()),
    }
}

fn pitch_line(word: LineWord) -> (Compass, bool) {
    match word {
        LineWord::NorthTouchLine => (Compass::North, false),
        LineWord::EastTouchLine => (Compass::East, false),
        LineWord::SouthTouchLine => (Compass::South, false),
        LineWord::WestTouchLine => (Compass::West, false),
        LineWord::NorthGoalLine => (Compass::North, true),
        LineWord::EastGoalLine => (Compass::East, true),
        LineWord::SouthGoalLine => (Compass::South, true),
        LineWord::WestGoalLine => (Compass::West, true),
    }
}

fn task(word: TaskWord) -> Task {
    match word {
        TaskWord::Strip => Task::Strip,
        TaskWord::VerticalCut => Task::VerticalCut,
        TaskWord::Clean => Task::Clean,
        TaskWord::Dig => Task::Dig,
        TaskWord::Core => Task::Core,
        TaskWord::DeepTine => Task::DeepTine,
        TaskWord::Slit => Task::Slit,
        TaskWord::Spike => Task::Spike,
        TaskWord::Level => Task::Level,
        TaskWord::Sand => Task::Sand,
        TaskWord::Brush => Task::Brush,
        TaskWord::Lute => Task::Lute,
        TaskWord::Drill => Task::Drill,
        TaskWord::Broadcast => Task::Broadcast,
        TaskWord::Roll => Task::Roll,
        TaskWord::Feed => Task::Feed,
        TaskWord::Spray => Task::Spray,
        TaskWord::Mow => Task::Mow,
        TaskWord::Other => Task::Other,
    }
}
