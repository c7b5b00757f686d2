//! Refills: where a machine that carries material runs to the stockpile, and what is on board.
//!
//! 1. What each part puts down along itself follows from the rates of the places it runs over
//!    (`poured`).
//! 2. Places where a load may end: every end of a part, every half metre within one, and the
//!    very places where a hopper filled at the start or at an end of a part runs empty, load
//!    after load (`places`).
//! 3. The cuts of least added cost, exactly, for the order as it stands (`cuts`): the haul to
//!    the stockpile and back, less the turn that it replaces where a cut lies between two parts.
//!    Hauls (`haul`) stand at what they cost at least until the cheapest cuts use worked out
//!    hauls only; so these cuts are the best of all candidates.
//!
//! Where there is one direction, its order is changed before that for the sake of the loads
//! (`order`).
//!
//! The hopper is filled before the drive begins, where the machine stands: no haul is driven for
//! the first load.

mod cuts;
pub(super) mod haul;
pub(super) mod order;
mod places;
mod poured;
pub mod told;

use geo::LineString;
use rayon::prelude::*;

use self::haul::{Hauls, Yard};
use self::places::{Along, Candidate};
use super::between::Drive;
use super::legs::{Hauled, Load, LoadEnd, Refills};
use super::order::Effort;
use super::tour::{Step, Work};
use crate::passes::DirectionPasses;
use crate::zones::Rated;

/// With more loads than this none are planned: the hopper or the rate is a slip.
pub const MOST_LOADS: usize = 500;

/// A place without a worked out haul counts as this much dearer once as many hauls are worked
/// out as the effort allows, tenths of a millimetre: 10 km.
const NO_MORE: i64 = 100_000_000;

/// So many hauls that cannot be driven and none that can: the stockpile is cut off.
const HOPELESS: usize = 24;

/// Hauls worked out before only places are used whose haul is known, where there are any.
const fn most_hauls(effort: Effort) -> usize {
    match effort {
        Effort::Quick => 100,
        Effort::Normal => 600,
        Effort::Thorough => 6_000,
    }
}

/// What loads are planned for.
#[derive(Debug)]
pub(super) struct Carried<'a> {
    /// What a load holds, tonnes.
    pub hopper_t: f64,
    /// What each direction of the passes puts down; `None` for rounds.
    pub rated: Vec<Option<&'a Rated>>,
    /// The passes as worked.
    pub passes: &'a [DirectionPasses],
    /// The stockpiles; `None` where there are none.
    pub yard: Option<&'a Yard>,
    /// Who drives.
    pub drive: Drive<'a>,
    /// How hard to search.
    pub effort: Effort,
}

/// A drive with its refills, and what they add to its cost, tenths of a millimetre.
pub(super) struct Refilled {
    pub steps: Vec<Step>,
    pub refills: Refills,
    pub added: i64,
}

/// Cuts the work of a drive into loads.
pub(super) fn refilled(steps: Vec<Step>, carried: &Carried<'_>) -> Refilled {
    let (refills, cut) = planned(&steps, carried);
    let added = cut
        .iter()
        .filter_map(|cut| Some(cut.haul.as_ref()?.cost() - cut.replaced))
        .sum();
    Refilled {
        steps: with_cuts(steps, cut),
        refills,
        added,
    }
}

/// The loads and where they are cut.
fn planned(steps: &[Step], carried: &Carried<'_>) -> (Refills, Vec<Candidate>) {
    let along = Along::of(steps, carried);
    let hopper_kg = carried.hopper_t * 1000.0;
    let (hauled, cut, are_least) = if along.all_kg / hopper_kg > MOST_LOADS as f64 {
        (Hauled::TooMany, None, false)
    } else if along.all_kg > 0.0 {
        cut_into_loads(&along, hopper_kg, carried)
    } else {
        (Hauled::Driven, None, true)
    };
    let refills = Refills {
        hopper_t: carried.hopper_t,
        put_down_t: along.all_kg / 1000.0,
        loads: cut.as_ref().map_or_else(Vec::new, |cut| along.loads(cut)),
        hauled,
        are_least,
        whole_pass_t: along.most_of_a_pass_kg() / 1000.0,
        unrated_m2: along.unrated_m2,
    };
    (refills, cut.unwrap_or_default())
}

/// Whether hauls are driven, the cuts, and whether no other cuts cost less.
fn cut_into_loads(
    along: &Along<'_>,
    hopper_kg: f64,
    carried: &Carried<'_>,
) -> (Hauled, Option<Vec<Candidate>>, bool) {
    let candidates = along.candidates(hopper_kg);
    let hauls = carried
        .yard
        .map(|yard| Hauls::new(yard, carried.drive, carried.effort));
    let why_none = match hauls {
        None => Hauled::NoStockpile,
        Some(None) => Hauled::NoWay,
        Some(Some(hauls)) => {
            let effort = carried.effort;
            let cut = driven_cuts(along, candidates.clone(), &hauls, hopper_kg, effort);
            if let Some((cut, are_least)) = cut {
                return (Hauled::Driven, Some(cut), are_least);
            }
            Hauled::NoWay
        }
    };
    let places: Vec<cuts::Place> = candidates.iter().map(Candidate::free).collect();
    match cuts::best_cuts(&places, along.all_kg, hopper_kg) {
        Some(cut) => (why_none, Some(chosen(&candidates, &cut)), true),
        None => (Hauled::TooMany, None, false),
    }
}

fn chosen(candidates: &[Candidate], cut: &[usize]) -> Vec<Candidate> {
    cut.iter().map(|&index| candidates[index].clone()).collect()
}

/// The cuts of least cost, every haul worked out, and whether they are that of all candidates;
/// `None` where no hauls can be driven that would do.
fn driven_cuts(
    along: &Along<'_>,
    mut candidates: Vec<Candidate>,
    hauls: &Hauls<'_>,
    hopper_kg: f64,
    effort: Effort,
) -> Option<(Vec<Candidate>, bool)> {
    for candidate in &mut candidates {
        candidate.tell_straights(along, hauls);
    }
    let (mut worked_out, mut driven) = (0, 0);
    loop {
        if driven == 0 && worked_out >= HOPELESS {
            return None;
        }
        let is_enough = worked_out >= most_hauls(effort);
        let more = if is_enough { NO_MORE } else { 0 };
        let places: Vec<cuts::Place> = candidates.iter().map(|one| one.place(more)).collect();
        let cut = cuts::best_cuts(&places, along.all_kg, hopper_kg)?;
        let unknown: Vec<usize> = cut
            .iter()
            .copied()
            .filter(|&index| !candidates[index].is_known())
            .collect();
        if unknown.is_empty() {
            return Some((chosen(&candidates, &cut), !is_enough));
        }
        let told: Vec<Candidate> = unknown
            .par_iter()
            .map(|&index| candidates[index].clone().told_more(along, hauls))
            .collect();
        for (index, told) in unknown.into_iter().zip(told) {
            worked_out += usize::from(told.is_known());
            driven += usize::from(told.haul.is_some());
            candidates[index] = told;
        }
    }
}

/// The steps with hauls in place of the turns that they replace, and parts cut in two.
fn with_cuts(steps: Vec<Step>, cut: Vec<Candidate>) -> Vec<Step> {
    let mut with: Vec<Step> = Vec::with_capacity(steps.len() + 3 * cut.len());
    let mut cut = cut.into_iter().peekable();
    let mut works = 0;
    let mut replaces = false;
    for step in steps {
        let work = match step {
            Step::Turn(..) if replaces => continue,
            Step::Work(work) => work,
            other => {
                with.push(other);
                continue;
            }
        };
        let index = works;
        works += 1;
        let mut rest = *work;
        let mut done_m = 0.0;
        let mut at_end = None;
        while let Some(next) = cut.next_if(|next| next.work == index) {
            let haul = next.haul.map(|haul| [haul.to, haul.back].map(Step::Haul));
            if next.is_inside {
                let (first, last) = in_two(rest, next.along_m - done_m);
                done_m = next.along_m;
                with.push(Step::Work(Box::new(first)));
                with.extend(haul.into_iter().flatten());
                rest = last;
            } else {
                at_end = haul;
            }
        }
        with.push(Step::Work(Box::new(rest)));
        replaces = at_end.is_some();
        with.extend(at_end.into_iter().flatten());
    }
    with
}

/// A straight work leg as two, the first of that length.
fn in_two(work: Work, first_m: f64) -> (Work, Work) {
    let cut = work.start.ahead(first_m);
    let line = |from, to| LineString(vec![from, to]);
    let first = Work {
        end: cut,
        line: line(work.first_place(), cut.at),
        length_m: first_m,
        ..work.clone()
    };
    let last = Work {
        start: cut,
        line: line(cut.at, work.last_place()),
        length_m: work.length_m - first_m,
        ..work
    };
    (first, last)
}

impl Along<'_> {
    /// The loads between cuts, in the order driven.
    fn loads(&self, cut: &[Candidate]) -> Vec<Load> {
        let mut loads = Vec::new();
        let mut before_kg = 0.0;
        for one in cut {
            let haul = one.haul.as_ref();
            loads.push(Load {
                put_down_t: (one.put_down_kg - before_kg) / 1000.0,
                end: self.end(one.work, one.along_m),
                haul_m: haul.map(|haul| haul.to.length_m + haul.back.length_m),
            });
            before_kg = one.put_down_kg;
        }
        if let Some((work, along_m)) = self.last_put_down() {
            loads.push(Load {
                put_down_t: (self.all_kg - before_kg) / 1000.0,
                end: self.end(work, along_m),
                haul_m: None,
            });
        }
        loads
    }

    fn end(&self, work: usize, along_m: f64) -> LoadEnd {
        let work = self.works[work];
        let pose = if along_m >= work.length_m {
            work.end
        } else {
            work.start.ahead(along_m)
        };
        LoadEnd {
            worked: work.worked,
            along_m,
            left_m: (work.length_m - along_m).max(0.0),
            at: pose.ahead(-self.reach_m).at,
            pose,
        }
    }
}
