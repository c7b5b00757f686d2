//! Where a load may end along a drive, and what is put down until there.

use super::Carried;
use super::cuts::{NOT_HERE, Place};
use super::haul::{Haul, Hauls, WorkEnd};
use super::poured::{Poured, Strip};
use crate::passes::band::{Boundary, DirectionFrame, Edge, Span};
use crate::passes::{DirectionPasses, Track};
use crate::route::links::tenths;
use crate::route::tour::{Step, Work};
use crate::zones::Rated;

/// Within a part a load may end at every whole multiple of this from where it is begun, metres.
/// Half a metre of drive more is little beside a haul.
const STEP_M: f64 = 0.5;

/// No part is cut nearer to one of its ends, metres: the tool would hardly touch the ground.
const LEAST_LEG_M: f64 = 0.05;

/// The work of a drive, with what it puts down.
pub(super) struct Along<'a> {
    pub works: Vec<&'a Work>,
    poured: Vec<Poured>,
    /// What is put down before each work, kilograms.
    before_kg: Vec<f64>,
    /// After each work: the cost of the turn to the next, tenths of a millimetre.
    links: Vec<i64>,
    pub all_kg: f64,
    /// Ground of the strips for which no rate holds, square metres.
    pub unrated_m2: f64,
    pub reach_m: f64,
}

/// The edges of one direction's grounds in its frame, with their rates.
struct Grounds {
    frame: DirectionFrame,
    rows: Vec<(f64, Vec<Edge>)>,
    unrated: Vec<Edge>,
    outside_kg_per_m2: f64,
}

impl Grounds {
    fn of(rated: &Rated, passes: &DirectionPasses) -> Option<Self> {
        let frame = DirectionFrame::of(passes.angle?);
        let edges = |shape| Boundary::of(shape, &frame).edges;
        Some(Self {
            rows: rated
                .rows
                .iter()
                .map(|(shape, kg)| (*kg, edges(shape)))
                .collect(),
            unrated: edges(&rated.unrated),
            outside_kg_per_m2: rated.outside_kg_per_m2,
            frame,
        })
    }

    fn strip(&self, work: &Work) -> Option<Strip> {
        let Track::Straight { from, to } = &work.track else {
            return None;
        };
        let (from, to) = (self.frame.from_pitch(*from), self.frame.from_pitch(*to));
        let offset_m = f64::midpoint(from.y, to.y);
        Some(Strip {
            along: Span {
                from: from.x,
                to: to.x,
            },
            across: Span {
                from: offset_m - work.width_m / 2.0,
                to: offset_m + work.width_m / 2.0,
            },
        })
    }

    fn poured(&self, work: &Work) -> Option<Poured> {
        let rows = self.rows.iter().map(|(kg, edges)| (*kg, edges.as_slice()));
        let all = rows.chain([(0.0, self.unrated.as_slice())]);
        let strip = self.strip(work)?;
        Some(Poured::along(
            strip,
            work.worked.is_back,
            self.outside_kg_per_m2,
            all,
        ))
    }

    fn unrated_m2(&self, work: &Work) -> Option<f64> {
        let unrated = (1.0, self.unrated.as_slice());
        Some(Poured::along(self.strip(work)?, false, 0.0, [unrated]).all_kg())
    }
}

impl<'a> Along<'a> {
    pub(super) fn of(steps: &'a [Step], carried: &Carried<'_>) -> Self {
        let grounds: Vec<Option<Grounds>> = carried
            .passes
            .iter()
            .zip(&carried.rated)
            .map(|(passes, rated)| Grounds::of((*rated)?, passes))
            .collect();
        let mut along = Self {
            works: Vec::new(),
            poured: Vec::new(),
            before_kg: Vec::new(),
            links: Vec::new(),
            all_kg: 0.0,
            unrated_m2: 0.0,
            reach_m: carried.drive.machine.reach_m,
        };
        for step in steps {
            match step {
                Step::Work(work) => {
                    let grounds = grounds.get(work.worked.direction - 1);
                    let grounds = grounds.and_then(Option::as_ref);
                    let poured = grounds.and_then(|grounds| grounds.poured(work));
                    let poured = poured.unwrap_or(Poured::nothing(work.length_m));
                    along.works.push(work);
                    along.before_kg.push(along.all_kg);
                    along.links.push(0);
                    along.all_kg += poured.all_kg();
                    along.unrated_m2 += grounds
                        .and_then(|grounds| grounds.unrated_m2(work))
                        .unwrap_or(0.0);
                    along.poured.push(poured);
                }
                Step::Turn(turn, _) => {
                    if let Some(link) = along.links.last_mut() {
                        *link += tenths(turn.cost_m);
                    }
                }
                Step::Haul(_) => {}
            }
        }
        along
    }

    /// What the pass that takes most puts down, all its parts together, kilograms.
    pub(super) fn most_of_a_pass_kg(&self) -> f64 {
        let mut by_pass = std::collections::BTreeMap::new();
        for (work, poured) in self.works.iter().zip(&self.poured) {
            let pass = (work.worked.direction, work.worked.pass);
            *by_pass.entry(pass).or_insert(0.0) += poured.all_kg();
        }
        by_pass.into_values().fold(0.0, f64::max)
    }

    /// Where something is put down last: the work and metres along it.
    pub(super) fn last_put_down(&self) -> Option<(usize, f64)> {
        let last = self
            .poured
            .iter()
            .rposition(|poured| poured.all_kg() > 0.0)?;
        Some((last, self.works[last].length_m))
    }

    /// Places within the first work at every whole multiple of a step, where it puts something
    /// down: metres along it, and what is put down until there, kilograms.
    pub(super) fn every(&self, step_m: f64) -> impl Iterator<Item = (f64, f64)> {
        let first = self.works.iter().zip(&self.poured).take(1);
        let first = first.filter(|(_, poured)| poured.all_kg() > 0.0);
        first.flat_map(move |(work, poured)| {
            let most_m = work.length_m - LEAST_LEG_M;
            let places_m = (1..).map(move |step| f64::from(step) * step_m);
            let within = places_m.take_while(move |along_m| *along_m <= most_m);
            within.map(|along_m| (along_m, poured.until_kg(along_m)))
        })
    }

    /// Every place where a load may end, in the order driven.
    pub(super) fn candidates(&self, hopper_kg: f64) -> Vec<Candidate> {
        let mut places: Vec<(usize, f64)> = Vec::new();
        let last = self.works.len().saturating_sub(1);
        for (index, (work, poured)) in self.works.iter().zip(&self.poured).enumerate() {
            if poured.all_kg() > 0.0 {
                let mut step = 1.0;
                while step * STEP_M <= work.length_m - LEAST_LEG_M {
                    places.push((index, step * STEP_M));
                    step += 1.0;
                }
            }
            if index < last {
                places.push((index, work.length_m));
            }
            let filled_kg = self.before_kg[index];
            if index == 0 || filled_kg > self.before_kg[index - 1] {
                places.extend(self.runs_empty(filled_kg, hopper_kg));
            }
        }
        places.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        places.dedup_by(|b, a| a.0 == b.0 && b.1 - a.1 < 1e-9);
        let candidates = places.into_iter().map(|(work, along_m)| {
            let length_m = self.works[work].length_m;
            let is_inside = along_m < length_m;
            Candidate {
                work,
                along_m,
                is_inside,
                put_down_kg: self.before_kg[work]
                    + if is_inside {
                        self.poured[work].until_kg(along_m)
                    } else {
                        self.poured[work].all_kg()
                    },
                replaced: if is_inside { 0 } else { self.links[work] },
                told: Told::Nothing,
                least: 0,
                haul: None,
            }
        });
        candidates.collect()
    }

    /// Where a hopper filled here runs empty, and each one after it filled there.
    fn runs_empty(&self, filled_kg: f64, hopper_kg: f64) -> Vec<(usize, f64)> {
        let mut places = Vec::new();
        let mut empty_kg = filled_kg + hopper_kg;
        while empty_kg < self.all_kg && places.len() < super::MOST_LOADS {
            let work = self.before_kg.partition_point(|before| *before <= empty_kg);
            let work = work.saturating_sub(1);
            let along_m = self.poured[work].lasts_m(empty_kg - self.before_kg[work]);
            let length_m = self.works[work].length_m;
            if (LEAST_LEG_M..=length_m - LEAST_LEG_M).contains(&along_m) {
                places.push((work, along_m));
            }
            empty_kg += hopper_kg;
        }
        places
    }
}

/// How much is known of what a refill costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Told {
    Nothing,
    Straights,
    WithoutWalls,
    All,
}

/// A place where a load may end.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    /// Index of the work.
    pub work: usize,
    /// Metres along it as driven.
    pub along_m: f64,
    /// Within the part, not at its end.
    pub is_inside: bool,
    /// Put down until here, kilograms.
    pub put_down_kg: f64,
    /// The turn that a refill here replaces, tenths of a millimetre; 0 within a part.
    pub replaced: i64,
    told: Told,
    /// What the haul costs at least, tenths of a millimetre.
    least: i64,
    /// The haul, once worked out.
    pub haul: Option<Haul>,
}

impl Candidate {
    pub(super) const fn is_known(&self) -> bool {
        matches!(self.told, Told::All)
    }

    /// As the cuts see it: what is not known yet stands at its least, and so much more.
    pub(super) fn place(&self, more: i64) -> Place {
        let cost = match (self.told, &self.haul) {
            (Told::All, None) => NOT_HERE,
            (Told::All, Some(haul)) => (haul.cost() - self.replaced).max(0),
            _ => (self.least - self.replaced).max(0) + more,
        };
        Place {
            cost,
            ..self.free()
        }
    }

    /// As a place at which nothing is driven.
    pub(super) const fn free(&self) -> Place {
        Place {
            put_down_kg: self.put_down_kg,
            cost: 0,
            is_inside: self.is_inside,
        }
    }

    pub(super) fn tell_straights(&mut self, along: &Along<'_>, hauls: &Hauls<'_>) {
        let (from, to) = self.ends(along);
        self.least = hauls.least_by_straights(from.pose, to.pose);
        self.told = Told::Straights;
    }

    /// The same, known one step better.
    pub(super) fn told_more(mut self, along: &Along<'_>, hauls: &Hauls<'_>) -> Self {
        let (from, to) = self.ends(along);
        if self.told == Told::WithoutWalls {
            self.haul = hauls.work_out(from, to);
            self.told = Told::All;
        } else {
            self.least = self.least.max(hauls.least_without_walls(from, to));
            self.told = Told::WithoutWalls;
        }
        self
    }

    /// Where the tool is lifted and lowered again.
    fn ends<'a>(&self, along: &Along<'a>) -> (WorkEnd<'a>, WorkEnd<'a>) {
        let work = along.works[self.work];
        match along.works.get(self.work + 1) {
            Some(next) if !self.is_inside => (
                WorkEnd {
                    pose: work.end,
                    way: Some(&work.way_out),
                },
                WorkEnd {
                    pose: next.start,
                    way: Some(&next.way_in),
                },
            ),
            _ => {
                let here = WorkEnd {
                    pose: work.start.ahead(self.along_m),
                    way: None,
                };
                (here, here)
            }
        }
    }
}
