//! What is kept of an operation's drive, to answer it again after something was changed.
//!
//! A direction that is asked for anew is one of three:
//! - nothing of it was changed: what was found stands;
//! - its parts are as they were, but not where its route begins or ends: what is known of its links
//!   stands, and its order is sought anew;
//! - its parts or their ground are others: turns are driven as those most like them were
//!   ([`super::earlier`]), and searched only where that will not do.
//!
//! The last two give a first answer at once; it is worked out further when that is asked for. Once
//! all are worked out with a bound, they are ordered together ([`super::joint`]). All hangs on what
//! was asked and in which order, on nothing else.

use super::between::Drive;
use super::earlier::Earlier;
use super::gates::Gate;
use super::joint::{self, Together};
use super::link_table::LinkTable;
use super::links::Links;
use super::machine::Machine;
use super::mend::Remedies;
use super::order::Effort;
use super::parts::Parts;
use super::refill::{Carried, order::Laden};
use super::runs::Stuck;
use super::search::{self, Found, Learnt as _, search};
use super::tour::Work;
use super::turn::Weights;
use crate::job::model::Order;
use crate::passes::DirectionPasses;

/// How well a direction's drive is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// It can be driven, after turns of an earlier drive.
    First,
    /// By the means of an effort.
    Worked(Effort),
}

impl Level {
    /// The effort that its files tell: a first answer is a quick one.
    #[must_use]
    pub const fn effort(self) -> Effort {
        match self {
            Self::First => Effort::Quick,
            Self::Worked(effort) => effort,
        }
    }
}

/// What is kept of an operation's drive, by direction.
#[derive(Debug, Clone)]
pub struct Memory {
    /// How well what nothing is kept of is worked out.
    effort: Effort,
    /// The direction that is to be worked out further, and how well.
    raised: Option<(usize, Level)>,
    directions: Vec<Option<Remembered>>,
    /// What holds for so many of them together.
    together: Option<(usize, Together)>,
    /// What would spare ends their shortening, on this ground.
    remedies: Vec<(Machine, Stuck, f64, Remedies)>,
}

#[derive(Debug, Clone)]
struct Remembered {
    question: Question,
    parts: Parts,
    table: LinkTable,
    /// By whose means the table was worked out; `None`: after an earlier one.
    table_effort: Option<Effort>,
    found: Found,
    level: Level,
    /// Whether the ground was changed since.
    on_other_ground: bool,
}

/// What an answer hangs on beside parts, ground and gates.
#[derive(Debug, Clone, PartialEq)]
struct Question {
    machine: Machine,
    weights: Weights,
    how: Order,
}

/// A direction whose order is asked for.
pub(super) struct Asked<'a, 'p> {
    pub drive: Drive<'a>,
    pub how: Order,
    pub parts: &'p Parts,
    /// Where its route begins and ends.
    pub gates: [Gate; 2],
}

impl Memory {
    /// Nothing kept; what is asked for is worked out by the means of this effort.
    #[must_use]
    pub const fn new(effort: Effort) -> Self {
        Self {
            effort,
            raised: None,
            directions: Vec::new(),
            together: None,
            remedies: Vec::new(),
        }
    }

    /// The ground is another: what is kept are turns to follow, no more.
    pub fn on_other_ground(&mut self) {
        for direction in self.directions.iter_mut().flatten() {
            direction.on_other_ground = true;
        }
        self.remedies.clear();
    }

    /// Nothing is driven any more.
    pub fn forget(&mut self) {
        *self = Self::new(self.effort);
    }

    /// How well each direction is worked out; `None` where there is nothing to drive.
    pub fn levels(&self) -> impl Iterator<Item = Option<Level>> {
        let all = self.directions.iter();
        all.map(|direction| Some(direction.as_ref()?.level))
    }

    /// The direction worked out least, short of an effort.
    #[must_use]
    pub fn least(&self, goal: Effort) -> Option<(Level, usize)> {
        let levels = self.levels().enumerate();
        let short = levels.filter_map(|(index, level)| {
            level
                .filter(|level| *level < Level::Worked(goal))
                .map(|level| (level, index))
        });
        short.min()
    }

    /// At the next drive one direction is worked out a step further, towards an effort.
    pub fn raise(&mut self, index: usize, goal: Effort) {
        let Some(Some(direction)) = self.directions.get(index) else {
            return;
        };
        let next = match (direction.level, direction.table_effort) {
            // Its links are known as well as that already.
            (Level::First, Some(effort)) => effort,
            (Level::First, None) => Effort::Quick,
            (Level::Worked(Effort::Quick), _) => Effort::Normal,
            (Level::Worked(Effort::Normal | Effort::Thorough), _) => Effort::Thorough,
        };
        self.raised = Some((index, Level::Worked(next.min(goal))));
    }

    /// What would spare an end its shortening; sought, unless that is known, where it is
    /// `wanted`.
    pub(super) fn remedies(
        &mut self,
        machine: &Machine,
        (stuck, most_m): (Stuck, f64),
        wanted: bool,
        seek: impl FnOnce() -> Remedies,
    ) -> Option<Remedies> {
        let mut kept = self.remedies.iter();
        let known = kept.find(|kept| (kept.0, kept.1, kept.2) == (*machine, stuck, most_m));
        if let Some((.., remedies)) = known {
            return Some(remedies.clone());
        }
        wanted.then(|| {
            let found = seek();
            let entry = (*machine, stuck, most_m, found.clone());
            self.remedies.push(entry);
            found
        })
    }

    /// The parts of a direction as laid, driven by this machine.
    pub(super) fn parts(&self, index: usize, laid: &DirectionPasses, drive: Drive<'_>) -> Parts {
        let before = self.directions.get(index).and_then(Option::as_ref);
        match before.filter(|before| before.has_parts(laid, drive)) {
            Some(before) => before.parts.clone(),
            None => Parts::of(index, laid, drive),
        }
    }

    /// The order of a direction's parts, its links, and how well they are worked out; `None` where
    /// no order can be driven.
    pub(super) fn answer<'a>(&mut self, index: usize, asked: &Asked<'a, '_>) -> Option<Answer<'a>> {
        let raised = self.raised.filter(|raised| raised.0 == index);
        let raised = raised.map(|(_, level)| level);
        let before = self.directions.get_mut(index).and_then(Option::take);
        let Some(before) = before else {
            return worked(asked, self.effort, None);
        };
        let has_parts = before.has_parts(&asked.parts.laid, asked.drive);
        let is_same =
            has_parts && before.table.gates == asked.gates && before.question == asked.question();
        match raised.unwrap_or(before.level) {
            level if is_same && level <= before.level => Some(before.again(asked)),
            Level::Worked(effort) if is_same && before.table_effort == Some(effort) => {
                before.worked_on(asked, effort)
            }
            Level::Worked(effort) if is_same => worked(asked, effort, Some(&before)),
            _ => first(asked, before, has_parts).or_else(|| worked(asked, Effort::Quick, None)),
        }
    }

    /// Keeps what was found of a direction's parts.
    pub(super) fn keep(&mut self, index: usize, found: Option<(Answer<'_>, Parts)>) {
        if self.directions.len() <= index {
            self.directions.resize_with(index + 1, || None);
        }
        self.directions[index] = found.map(|(answer, parts)| Remembered {
            question: answer.question,
            parts,
            table: answer.links.into_table(),
            table_effort: answer.table_effort,
            found: answer.found,
            level: answer.level,
            on_other_ground: false,
        });
    }

    /// Orders the directions that there are answers for together, where more than one is worked
    /// out with a bound. What no order of all costs less than; `None` where there is no bound.
    pub(super) fn together(&mut self, answers: &mut [Answer<'_>], how: Order) -> Option<Together> {
        let is_kept = answers.iter().all(|answer| answer.is_kept);
        let count = answers.len();
        let kept = self
            .together
            .take()
            .filter(|kept| is_kept && kept.0 == count);
        self.together = kept.or_else(|| {
            let together = match answers {
                [] => None,
                [alone] => alone.found.lower_bound.map(|lower_bound| Together {
                    lower_bound,
                    method: alone.found.method,
                }),
                several => joint::ordered(several, how),
            };
            Some((count, together?))
        });
        Some(self.together.as_ref()?.1.clone())
    }

    /// Ends a drive of so many directions.
    pub(super) fn done(&mut self, directions: usize) {
        self.directions.truncate(directions);
        self.raised = None;
    }
}

/// The order of a direction and its links.
pub(super) struct Answer<'a> {
    pub links: Links<'a>,
    pub found: Found,
    pub level: Level,
    /// Whether it is the one that was kept.
    is_kept: bool,
    question: Question,
    table_effort: Option<Effort>,
}

impl Answer<'_> {
    /// Changes the order for the sake of its loads, where that is cheaper with the hauls. A first
    /// answer is left as it is, and so is one that was kept.
    pub(super) fn suit_loads(&mut self, index: usize, parts: &Parts, carried: &Carried<'_>) {
        /// Changed orders use links that are not searched yet; so often they are.
        const ROUNDS: usize = 3;
        if self.is_kept || self.level == Level::First {
            return;
        }
        let laid = &carried.passes[index];
        let reach_m = carried.drive.machine.reach_m;
        let works = parts.runs.iter().enumerate().map(|(node, run)| {
            let (id, is_back) = (parts.ids[node / 2], node % 2 == 1);
            Some(Work::of(index, id, is_back, run.as_ref()?, laid, reach_m))
        });
        let Some(laden) = Laden::of(works.collect(), carried) else {
            return;
        };
        let mut order = self.found.order.clone();
        for _ in 0..ROUNDS {
            let changed = laden.improved(&order, &self.links.guessed());
            if changed == order {
                break;
            }
            self.links.search_all(&changed);
            order = changed;
        }
        let costs = self.links.table().lowered();
        let is_cheaper = laden.cost(&order, &costs) < laden.cost(&self.found.order, &costs);
        if is_cheaper && self.links.table().is_drivable(&order) {
            self.found.cost = costs.order_cost(&order);
            self.found.order = order;
        }
    }
}

impl Asked<'_, '_> {
    fn question(&self) -> Question {
        Question {
            machine: *self.drive.machine,
            weights: *self.drive.weights,
            how: self.how,
        }
    }

    /// Links of which nothing is known.
    fn links<'a>(&self, drive: Drive<'a>, near: usize) -> Links<'a> {
        let (places, runs) = (self.parts.places.clone(), self.parts.runs.clone());
        Links::new(drive, places, runs, self.gates.clone(), near)
    }
}

impl Remembered {
    /// Whether these passes, driven by this machine, come to the same parts.
    fn has_parts(&self, laid: &DirectionPasses, drive: Drive<'_>) -> bool {
        !self.on_other_ground
            && self.question.machine == *drive.machine
            && self.question.weights == *drive.weights
            && self.parts.laid == *laid
    }

    /// What was found, as it is.
    fn again<'a>(self, asked: &Asked<'a, '_>) -> Answer<'a> {
        Answer {
            links: Links::known(asked.drive.of(self.level.effort()), self.table),
            found: self.found,
            question: self.question,
            level: self.level,
            is_kept: true,
            table_effort: self.table_effort,
        }
    }

    /// What was found, worked out by the means of the effort that its table was made with.
    fn worked_on<'a>(self, asked: &Asked<'a, '_>, effort: Effort) -> Option<Answer<'a>> {
        let mut links = Links::known(asked.drive.of(effort), self.table);
        links.set_least_gates(true);
        let warm = Some(&self.found.order[..]);
        let found = search(&mut links, asked.how, effort, warm)?;
        Some(Answer {
            links,
            found,
            question: self.question,
            level: Level::Worked(effort),
            is_kept: false,
            table_effort: Some(effort),
        })
    }
}

/// An answer by the means of an effort; it costs no more than the one before, if that is of the
/// same parts, gates and ground.
fn worked<'a>(
    asked: &Asked<'a, '_>,
    effort: Effort,
    before: Option<&Remembered>,
) -> Option<Answer<'a>> {
    let near = search::near(effort, asked.drive.machine, &asked.parts.places);
    let mut links = asked.links(asked.drive.of(effort), near);
    let warm = before.map(|before| {
        links.adopt(&before.table, &before.found.order);
        &before.found.order[..]
    });
    let found = search(&mut links, asked.how, effort, warm)?;
    Some(Answer {
        links,
        found,
        question: asked.question(),
        level: Level::Worked(effort),
        is_kept: false,
        table_effort: Some(effort),
    })
}

/// A first answer after what was found before, of the same parts or others.
fn first<'a>(asked: &Asked<'a, '_>, before: Remembered, has_parts: bool) -> Option<Answer<'a>> {
    let drive = asked.drive.of(Effort::Quick);
    let earlier = Earlier::of(&before.table, drive);
    let (mut links, table_effort) = if has_parts {
        let mut links = Links::known(drive, before.table);
        links.set_gates(asked.gates.clone());
        (links, before.table_effort)
    } else {
        (asked.links(drive, 0), None)
    };
    links.after(Some(earlier));
    let found = search::first(&mut links, asked.how, &before.found.order)?;
    links.after(None);
    Some(Answer {
        links,
        found,
        question: asked.question(),
        level: Level::First,
        is_kept: false,
        table_effort,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::drive::{self, drive_again};
    use super::*;
    use crate::job::{self, model::Size, template};
    use crate::plan::plan;

    /// A first answer on links that are well known brings in turns driven after others; once it is
    /// worked out they are searched like all that an order uses.
    #[test]
    fn what_was_driven_after_others_is_searched_when_it_is_worked_out() {
        let size_m = Size {
            length_m: 40.0,
            width_m: 26.0,
        };
        let text = template::job_text("Example", size_m);
        let mut job = job::read("job.toml", &text, |_| unreachable!("no ground file")).unwrap();
        job.settings.routes = false;
        job.operations.truncate(1);
        job.operations[0].directions.truncate(2);
        let planned = plan(&job).unwrap();
        let terrain = drive::terrain(&planned.ground);
        let operation = &job.operations[0];
        let directions = planned.operations[0].directions.iter();
        let mut laid: Vec<DirectionPasses> = directions.map(|d| d.passes.clone()).collect();
        let mut memory = Memory::new(Effort::Normal);
        let drive = |laid: &[DirectionPasses], memory: &mut Memory| {
            let on = (&planned.ground, &terrain);
            drive_again(operation, laid.to_vec(), on, None, memory)
        };
        drive(&laid, &mut memory);
        laid[0].passes.pop();
        drive(&laid, &mut memory);
        let is_searched = |memory: &Memory| {
            let kept = memory.directions[1].as_ref().unwrap();
            let order = &kept.found.order;
            let way_in = &kept.table.ways[0][&order[0]];
            (way_in.is_searched && kept.table.unsearched_of(order).is_empty()).then_some(kept.level)
        };
        let kept = memory.directions[1].as_ref().unwrap();
        assert_eq!(
            (kept.level, kept.table_effort),
            (Level::First, Some(Effort::Normal))
        );
        assert_eq!(is_searched(&memory), None);
        memory.raise(1, Effort::Normal);
        drive(&laid, &mut memory);
        assert_eq!(is_searched(&memory), Some(Level::Worked(Effort::Normal)));
    }
}
