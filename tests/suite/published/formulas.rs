//! Values that single public functions and constants of the crate give.

use std::f64::consts::PI;

use swardlane::ground::frame::Frame;
use swardlane::ground::law;
use swardlane::hand::lattice;
use swardlane::space::{Heading, Position};
use swardlane::tally;

use super::drivers::{Got, Input, Results, number, numbers};

/// The place between `no` and `yes` where `allowed` begins to hold.
fn edge(no: f64, yes: f64, allowed: impl Fn(f64) -> bool) -> Result<f64, String> {
    let (mut no, mut yes) = (no, yes);
    if allowed(no) || !allowed(yes) {
        return Err(format!("nothing changes between {no} and {yes}"));
    }
    for _ in 0..60 {
        let middle = 0.5 * (no + yes);
        if allowed(middle) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    Ok(yes)
}

pub fn law_1_edges(_: &Input) -> Results {
    let allowed = law::is_law_1;
    let mut results = edges(
        allowed,
        [60.0, 100.0, 150.0],
        [20.0, 60.0, 105.0],
        (110.0, 50.0),
    )?;
    results.insert(
        "square_of_90_m_is_allowed".to_owned(),
        Got::Yes(allowed(90.0, 90.0)),
    );
    results.insert(
        "touch_line_of_90_01_by_goal_line_of_90_m_is_allowed".to_owned(),
        Got::Yes(allowed(90.01, 90.0)),
    );
    Ok(results)
}

pub fn international_edges(_: &Input) -> Results {
    edges(
        law::is_international,
        [80.0, 105.0, 130.0],
        [50.0, 70.0, 90.0],
        (105.0, 70.0),
    )
}

/// The four edges of what is allowed: each line has a length below, one within and one above,
/// and is tried with the other line as it is in `with`.
fn edges(
    allowed: fn(f64, f64) -> bool,
    touch_line_m: [f64; 3],
    goal_line_m: [f64; 3],
    with: (f64, f64),
) -> Results {
    let touch = |from, to| edge(from, to, |x| allowed(x, with.1));
    let goal = |from, to| edge(from, to, |y| allowed(with.0, y));
    let ([below_x, within_x, above_x], [below_y, within_y, above_y]) = (touch_line_m, goal_line_m);
    numbers([
        ("touch_line_least_m", touch(below_x, within_x)?),
        ("touch_line_greatest_m", touch(above_x, within_x)?),
        ("goal_line_least_m", goal(below_y, within_y)?),
        ("goal_line_greatest_m", goal(above_y, within_y)?),
    ])
}

pub fn law_constants(_: &Input) -> Results {
    numbers([
        ("goal_area_m", law::GOAL_AREA_M),
        ("penalty_area_m", law::PENALTY_AREA_M),
        ("penalty_mark_m", law::PENALTY_MARK_M),
        ("circle_and_arc_radius_m", law::CIRCLE_RADIUS_M),
        ("corner_arc_radius_m", law::CORNER_ARC_M),
    ])
}

pub fn goal_width(_: &Input) -> Results {
    numbers([("goal_width_m", law::GOAL_WIDTH_M)])
}

pub fn line_width(_: &Input) -> Results {
    numbers([("line_width_greatest_m", law::LINE_WIDTH_MAX_M)])
}

pub fn circle(_: &Input) -> Results {
    let radius_m = law::CIRCLE_RADIUS_M;
    numbers([
        ("area_m2", PI * radius_m * radius_m),
        ("circumference_m", 2.0 * PI * radius_m),
    ])
}

pub fn corner_quarter(_: &Input) -> Results {
    let radius_m = law::CORNER_ARC_M;
    numbers([
        ("area_m2", PI * radius_m * radius_m / 4.0),
        ("arc_m", PI * radius_m / 2.0),
    ])
}

pub fn field_capacity(input: &Input) -> Results {
    numbers([(
        "capacity_ha_per_h",
        tally::field_capacity_ha_per_h(
            number(input, "speed_km_h")?,
            number(input, "width_m")?,
            number(input, "efficiency")?,
        ),
    )])
}

pub fn field_capacity_in_acres(input: &Input) -> Results {
    // By definition: the international mile, foot and acre.
    const KM_IN_A_MILE: f64 = 1.609_344;
    const M_IN_A_FOOT: f64 = 0.3048;
    const HA_IN_AN_ACRE: f64 = 0.404_685_642_24;
    let ha_per_h = tally::field_capacity_ha_per_h(
        number(input, "speed_mph")? * KM_IN_A_MILE,
        number(input, "width_ft")? * M_IN_A_FOOT,
        number(input, "efficiency")?,
    );
    numbers([("capacity_ac_per_h", ha_per_h / HA_IN_AN_ACRE)])
}

/// How far a step of so many degrees lies from the origin, in the pitch frame.
pub fn degrees_on_the_ground(input: &Input) -> Results {
    let lat_deg = number(input, "lat_deg")?;
    let step_deg = number(input, "step_deg")?;
    let at = |lat_deg, lon_deg| Position { lat_deg, lon_deg };
    let frame = Frame {
        origin: at(lat_deg, 0.0),
        bearing: Heading::from_deg(0.0),
        crs: None,
        crs_accuracy_m: None,
    };
    let projector = frame.open().map_err(|error| error.to_string())?;
    let there = |position| projector.pitch(position).map_err(|error| error.to_string());
    let north = there(at(lat_deg + step_deg, 0.0))?;
    let east = there(at(lat_deg, step_deg))?;
    numbers([("north_m", north.x), ("east_m", -east.y)])
}

pub fn square_lattice(input: &Input) -> Results {
    let spacing_m = number(input, "spacing_mm")? / 1000.0;
    numbers([("holes_per_m2", lattice::holes_per_m2(spacing_m, spacing_m))])
}

pub fn triangular_lattice(input: &Input) -> Results {
    let spacing_m = number(input, "spacing_mm")? / 1000.0;
    let row_m = spacing_m * (PI / 3.0).sin();
    numbers([("holes_per_m2", lattice::holes_per_m2(spacing_m, row_m))])
}

pub fn holes_of_a_rectangle(input: &Input) -> Results {
    let spacing_m = number(input, "spacing_mm")? / 1000.0;
    let count = |key| -> Result<f64, String> {
        Ok(lattice::count(number(input, key)?, spacing_m, spacing_m / 2.0) as f64)
    };
    numbers([("holes", count("length_m")? * count("width_m")?)])
}

pub fn opened_by_holes(input: &Input) -> Results {
    let spacing_m = number(input, "spacing_mm")? / 1000.0;
    let tine_m = number(input, "tine_mm")? / 1000.0;
    let holes_per_m2 = lattice::holes_per_m2(spacing_m, spacing_m);
    let m3_per_m2 =
        holes_per_m2 * lattice::hole_area_m2(tine_m) * number(input, "depth_mm")? / 1000.0;
    numbers([
        (
            "open_area_pct",
            lattice::open_area_pct(holes_per_m2, tine_m),
        ),
        ("holes_l_per_m2", m3_per_m2 * 1000.0),
    ])
}
