//! What is said about hand work: where it has nothing to do, cannot be done so, or needs care.

use super::blocks::BlockPlan;
use super::board::BoardPlan;
use super::lanes::LanePlan;
use super::rest::RestPlan;
use crate::job::defaults;
use crate::job::model::{BlockWork, BoardWork, Job, LaneWork, RestWork, SurfaceKind};
use crate::warning::{Code, Warning};

/// A fork goes no deeper by hand, millimetres (common practice, no source).
pub const DEEPEST_FORK_MM: f64 = 230.0;

/// Of a depth: what the surface bears, and what may lie in the ground.
pub(super) fn depth(place: &str, job: &Job, depth_mm: f64) -> Vec<Warning> {
    let surface = job.pitch.surface;
    let unknown_mm = defaults::HYBRID_UNKNOWN_DEPTH_MM;
    let borne = match (surface.kind, surface.max_depth_mm) {
        (_, Some(most)) if depth_mm > most => Some(format!(
            "{depth_mm} mm is deeper than the {most} mm that the surface bears from machines; ask its \
             supplier before anything goes in"
        )),
        (SurfaceKind::Hybrid, None) if depth_mm > unknown_mm => Some(format!(
            "{depth_mm} mm goes into a hybrid surface without `max_depth_mm`; ask its supplier \
             before anything goes in, and write the depth under `[pitch.surface]`"
        )),
        _ => None,
    };
    let borne = borne.map(|text| Warning::new(Code::HybridDepth, place, text));
    let services = Warning::services_wording(place.to_owned(), depth_mm);
    borne.into_iter().chain(services).collect()
}

/// Of a forking.
pub(super) fn board(place: &str, work: &BoardWork, plan: &BoardPlan) -> Vec<Warning> {
    let mut told = Vec::new();
    if plan.area_m2 <= 0.0 {
        told.push(nothing(place, &work.zone));
        return told;
    }
    let fork = &work.fork;
    let reach_m = fork.tine_spacing_mm / 1000.0 * f64::from(fork.tines.saturating_sub(1));
    let stages = plan.grounds.iter().flat_map(|ground| &ground.stages);
    let breadths = stages.map(|stage| stage.lattice.breadth_m());
    let least_m = breadths.fold(f64::INFINITY, f64::min);
    if reach_m > least_m {
        let text = format!(
            "the fork reaches {reach_m:.2} m from first to last tine, and a row of `{}` is \
             {least_m:.2} m long; take a narrower fork, or a wider zone",
            work.zone
        );
        told.push(Warning::new(Code::ForkTooWide, place, text));
    }
    if plan.holes == 0 {
        let text = format!(
            "no hole falls on `{}`: it is narrower than a spacing and its edges, or all of it is kept \
             clear; lessen `edge_mm`, `tine_spacing_mm` or `step_mm`, or take another zone",
            work.zone
        );
        told.push(Warning::new(Code::NoHandWork, place, text));
    }
    if fork.depth_mm > DEEPEST_FORK_MM {
        let text = format!(
            "`depth_mm` {} is more than {DEEPEST_FORK_MM} mm, the most that is forked by hand \
             (common practice, no source); what was agreed on the ground goes first",
            fork.depth_mm
        );
        told.push(Warning::new(Code::DeepFork, place, text));
    }
    if plan.coincident_share > work.coincident_share {
        let advice = plan.other_step_mm.map_or_else(
            || {
                "no step that would do was found within a quarter of it; change `tine_spacing_mm`"
                    .to_owned()
            },
            |step_mm| format!("a `step_mm` of {step_mm} would do"),
        );
        let text = format!(
            "{} holes of the second stage fall into holes of the first, {:.0} % of them; at most \
             {:.0} % are wanted (`coincident_share`); {advice}",
            plan.coincident,
            100.0 * plan.coincident_share,
            100.0 * work.coincident_share
        );
        told.push(Warning::new(Code::CoincidentHoles, place, text));
    }
    told
}

/// Of a block swap; `outside`: how many worn places lie outside the zone.
pub(super) fn blocks(
    place: &str,
    work: &BlockWork,
    plan: &BlockPlan,
    outside: usize,
) -> Vec<Warning> {
    let mut told = Vec::new();
    if outside > 0 {
        let text = format!(
            "{} outside `{}`; what is worn there is swapped all the same: check the coordinates",
            counted(
                outside,
                "worn place or corner lies",
                "worn places or corners lie"
            ),
            work.zone
        );
        told.push(Warning::new(Code::WornOutside, place, text));
    }
    if !plan.kept_off.is_empty() {
        let text = format!(
            "{} where something is kept clear, and nothing is cut there; loosen and seed by hand",
            counted(plan.kept_off.len(), "worn block lies", "worn blocks lie"),
        );
        told.push(Warning::new(Code::BlocksKeptOff, place, text));
    }
    let (swaps, without) = (plan.swaps.len(), plan.without_donor.len());
    if without > 0 {
        let text = format!(
            "{} holds {} for {}; {}; name a larger strip in `donors`",
            plan.donors_from,
            counted(swaps, "donor", "donors"),
            counted(swaps + without, "worn block", "worn blocks"),
            counted(without, "stays as it is", "stay as they are"),
        );
        told.push(Warning::new(Code::DonorsShort, place, text));
    } else if plan.donors_touch {
        let text = format!(
            "{} is too small to leave grass between the donors, so they may lie side by side; a \
             larger strip in `donors` would heal sooner",
            plan.donors_from
        );
        told.push(Warning::new(Code::DonorsShort, place, text));
    } else if swaps == 0 && plan.kept_off.is_empty() {
        told.push(nothing(place, &work.zone));
    }
    told
}

/// Of a mending.
pub(super) fn lanes(place: &str, work: &LaneWork, plan: &LanePlan, people: u32) -> Option<Warning> {
    if plan.lanes.is_empty() {
        return Some(nothing(place, &work.zone));
    }
    let minutes = work.minutes.filter(|_| plan.waits_m2 > 0.0)?;
    let all_min = plan.time_s / 60.0 * f64::from(people);
    let needed = (all_min / (minutes * f64::from(work.days))).ceil();
    let longest_s = plan
        .lanes
        .iter()
        .map(|lane| lane.time_s)
        .fold(0.0, f64::max);
    let advice = if plan.days == 0 {
        format!(
            "a lane takes up to {:.0} min, and none fits: take narrower ones, or more time",
            longest_s / 60.0
        )
    } else if needed > f64::from(people) {
        format!("it takes at least {needed:.0} people, or more time")
    } else {
        "the lanes are too long for the minutes: take narrower ones, more people or more time"
            .to_owned()
    };
    let text = format!(
        "{:.0} of {:.0} m2 do not fit {} of {minutes} min with {} and wait; {advice}",
        plan.waits_m2,
        plan.area_m2,
        counted(work.days as usize, "day", "days"),
        counted(people as usize, "person", "people"),
    );
    Some(Warning::new(Code::HandTime, place, text))
}

/// Of what machines leave.
pub(super) fn rest(place: &str, work: &RestWork, plan: &RestPlan) -> Option<Warning> {
    plan.places.is_empty().then(|| {
        let text = format!(
            "there is nothing to do: `{}` leaves no place on this pitch that is large enough to list",
            work.operation
        );
        Warning::new(Code::NoHandWork, place, text)
    })
}

fn nothing(place: &str, zone: &str) -> Warning {
    Warning::new(
        Code::NoHandWork,
        place,
        format!("there is nothing to do: `{zone}` is left out on this pitch or holds no ground"),
    )
}

/// `1 donor`, `3 donors`.
fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}
