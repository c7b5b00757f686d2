//! The unrounded hand work.

use geo::MultiPolygon;
use serde_json::{Value, json};
use swardlane::hand::blocks::{BlockPlan, Square};
use swardlane::hand::board::{BoardPlan, Forked, Stage};
use swardlane::hand::lanes::LanePlan;
use swardlane::hand::rest::RestPlan;
use swardlane::hand::{Detail, HandPlan};
use swardlane::space::Xy;

use super::{area, place, polygon};

pub fn hand(planned: &HandPlan) -> Value {
    let detail = match &planned.detail {
        Detail::Board(_, plan) => board(plan),
        Detail::Blocks(_, plan) => blocks(plan),
        Detail::Lanes(_, plan) => lanes(plan),
        Detail::Rest(plan) => rest(plan),
    };
    json!({
        "id": planned.id,
        "kind": planned.kind(),
        "people": planned.people,
        "time_s": planned.time_s(),
        "detail": detail,
    })
}

fn places(places: &[Xy]) -> Value {
    places.iter().map(|&at| place(at)).collect()
}

fn board(plan: &BoardPlan) -> Value {
    json!({
        "area_m2": plan.area_m2,
        "coincident": plan.coincident,
        "coincident_share": plan.coincident_share,
        "other_step_mm": plan.other_step_mm,
        "forkings": plan.forkings,
        "grounds": plan.grounds.iter().map(forked).collect::<Vec<_>>(),
    })
}

fn forked(forked: &Forked) -> Value {
    json!({
        "name": forked.name,
        "ground": area(&forked.ground),
        "stages": forked.stages.iter().map(stage).collect::<Vec<_>>(),
    })
}

fn stage(stage: &Stage) -> Value {
    let rows = stage.lattice.rows.iter().map(|row| {
        json!({
            "board": stage.board_of(row.ahead_m),
            "holes": places(&row.holes),
            "kept_off": places(&row.kept_off),
        })
    });
    let boards = (1..=stage.boards).map(|place| polygon(&stage.board_at(place)));
    json!({
        "name": stage.name,
        "boards": boards.collect::<Vec<_>>(),
        "lengths": stage.lengths,
        "forkings": stage.forkings,
        "starts": places(&stage.starts),
        "rows": rows.collect::<Vec<_>>(),
    })
}

fn blocks(plan: &BlockPlan) -> Value {
    let square = |square: &Square| polygon(&square.shape());
    json!({
        "donor_ground": area(&plan.donor_ground),
        "swaps": plan.swaps.iter().map(|swap| json!({
            "worn": square(&swap.worn),
            "donor": square(&swap.donor),
            "carry_m": swap.carry_m,
        })).collect::<Vec<_>>(),
        "without_donor": plan.without_donor.iter().map(square).collect::<Vec<_>>(),
        "kept_off": plan.kept_off.iter().map(square).collect::<Vec<_>>(),
        "donors_touch": plan.donors_touch,
        "carry_m": plan.carry_m,
        "trips": plan.trips,
        "volume_m3": plan.volume_m3,
    })
}

fn lanes(plan: &LanePlan) -> Value {
    json!({
        "ground": area(&plan.ground),
        "area_m2": plan.area_m2,
        "waits_m2": plan.waits_m2,
        "lanes": plan.lanes.iter().map(|lane| json!({
            "lane": lane.number,
            "person": lane.person,
            "shape": area(&lane.shape),
            "area_m2": lane.area_m2,
            "load_share": lane.load_share,
            "time_s": lane.time_s,
            "day": lane.day,
            "from": place(lane.from),
            "to": place(lane.to),
        })).collect::<Vec<_>>(),
    })
}

fn rest(plan: &RestPlan) -> Value {
    let places = plan.places.iter().map(|place| {
        json!({
            "why": place.why.name(),
            "shape": area(&MultiPolygon(vec![place.shape.clone()])),
            "area_m2": place.area_m2,
        })
    });
    json!({
        "operation": plan.operation,
        "places": places.collect::<Vec<_>>(),
        "missed_m2": plan.missed_m2,
        "kept_clear_m2": plan.kept_clear_m2,
    })
}
