//! Values that only the whole planner gives: small jobs, planned, and read off the plan.

use std::f64::consts::PI;

use geo::{BoundingRect, Centroid, MultiPolygon, Rect};
use swardlane::hand::Detail;
use swardlane::plan::{OperationPlan, Plan, plan};
use swardlane::setting_out::TapedPart;
use swardlane::zones::{Zone, ZoneKind};

use super::drivers::{Input, Results, number, numbers, word};

/// Plans a job given as text, beside a ground file where there is one.
fn planned(job: &str, ground: Option<&str>) -> Result<Plan, String> {
    let ground = ground.unwrap_or_default().to_owned();
    let job = swardlane::job::read("job.toml", job, |_| Ok(ground))
        .map_err(|faults| faults.to_string())?;
    plan(&job).map_err(|faults| faults.to_string())
}

/// A pitch of that size with 8 m of run-off, and one operation.
fn rectangle(
    length_m: f64,
    width_m: f64,
    implement: &str,
    operation: &str,
) -> Result<Plan, String> {
    planned(
        &format!(
            "name = \"published value\"\n\
             [pitch]\nlength_m = {length_m:?}\nwidth_m = {width_m:?}\n\
             run_off_m = {{ touch = 8.0, goal = 8.0 }}\n\
             [implement.tool]\n{implement}\n\
             [[operation]]\nid = \"work\"\ntask = \"other\"\nimplement = \"tool\"\n{operation}\n"
        ),
        None,
    )
}

fn only(plan: &Plan) -> Result<&OperationPlan, String> {
    match plan.operations.as_slice() {
        [operation] => Ok(operation),
        operations => Err(format!("{} operations", operations.len())),
    }
}

pub fn work_time(input: &Input) -> Results {
    let plan = rectangle(
        number(input, "length_m")?,
        number(input, "width_m")?,
        &format!(
            "working_width_m = {:?}\nspeed_km_h = {:?}",
            number(input, "working_width_m")?,
            number(input, "speed_km_h")?
        ),
        "directions = [\"across\"]\nends = \"on_line\"",
    )?;
    let operation = only(&plan)?;
    numbers([
        ("passes", operation.directions[0].passes.passes.len() as f64),
        ("work_min", operation.time.work_s / 60.0),
    ])
}

pub fn passes_along(input: &Input) -> Results {
    let plan = rectangle(
        105.0,
        number(input, "width_m")?,
        &format!(
            "working_width_m = {:?}\noverlap_m = {:?}\nspeed_km_h = 5.0",
            number(input, "working_width_m")?,
            number(input, "overlap_m")?
        ),
        "",
    )?;
    numbers([(
        "passes",
        only(&plan)?.directions[0].passes.passes.len() as f64,
    )])
}

/// Passes, working length and spacing of one direction.
fn direction(input: &Input, remainder: &str, ends: &str) -> Result<(f64, f64, f64), String> {
    let plan = rectangle(
        number(input, "length_m")?,
        number(input, "width_m")?,
        &format!(
            "working_width_m = {:?}\nspeed_km_h = 5.0",
            number(input, "spacing_m")?
        ),
        &format!(
            "directions = [{{ angle_deg = {:?} }}]\nremainder = \"{remainder}\"\nends = \"{ends}\"",
            number(input, "angle_deg")?
        ),
    )?;
    let direction = &only(&plan)?.directions[0];
    Ok((
        direction.passes.passes.len() as f64,
        direction.working_length_m,
        direction.passes.spacing_m.ok_or("one line only")?,
    ))
}

/// The lines as published are `full`; the extent across them is read off `even`, where the
/// outer strips lie edge on edge with it.
pub fn full_and_even(input: &Input) -> Results {
    let spacing_m = number(input, "spacing_m")?;
    let (passes, working_length_m, full_spacing_m) = direction(input, "full", "on_line")?;
    let (even_passes, _, even_spacing_m) = direction(input, "even", "on_line")?;
    if full_spacing_m != spacing_m || passes != even_passes {
        return Err(format!(
            "full: {passes} at {full_spacing_m} m, even: {even_passes} at {even_spacing_m} m"
        ));
    }
    let extent_m = (passes - 1.0) * even_spacing_m + spacing_m;
    numbers([
        ("passes", passes),
        ("working_length_m", working_length_m),
        ("extent_m", extent_m),
        ("surplus_m", passes * spacing_m - extent_m),
    ])
}

pub fn one_direction(input: &Input) -> Results {
    let (passes, working_length_m, _) =
        direction(input, word(input, "remainder")?, word(input, "ends")?)?;
    numbers([("passes", passes), ("working_length_m", working_length_m)])
}

/// The first passes on a tape, where they start.
fn on_tape(
    spacing_m: f64,
    direction: &str,
    start: &str,
    passes: usize,
) -> Result<Vec<TapedPart>, String> {
    let plan = rectangle(
        105.0,
        68.0,
        &format!("working_width_m = {spacing_m:?}\nspeed_km_h = 5.0"),
        &format!(
            "directions = [{direction}]\nremainder = \"full\"\nends = \"on_line\"\nstart = {start}"
        ),
    )?;
    let parts = &only(&plan)?.directions[0].tape.parts;
    let first = parts
        .get(..passes)
        .ok_or_else(|| format!("{} parts", parts.len()))?;
    Ok(first.to_vec())
}

pub fn tape_along(input: &Input) -> Results {
    let from = "{ from = \"east touch line\" }";
    let parts = on_tape(number(input, "spacing_m")?, "\"along\"", from, 3)?;
    numbers([
        ("centre_1_m", parts[0].start.centre_m),
        ("centre_2_m", parts[1].start.centre_m),
        ("centre_3_m", parts[2].start.centre_m),
        ("edge_1_m", parts[0].start.edge_m),
        ("edge_2_m", parts[1].start.edge_m),
    ])
}

/// Passes that cut off a corner: they start on the touch line and stop on the goal line.
pub fn tape_of_a_diagonal(input: &Input) -> Results {
    let direction = format!("{{ angle_deg = {:?} }}", number(input, "angle_deg")?);
    let parts = on_tape(number(input, "spacing_m")?, &direction, "\"centred\"", 2)?;
    if parts[0].start.line.is_goal_line || !parts[0].stop.line.is_goal_line {
        return Err(format!("no corner is cut off: {parts:?}"));
    }
    numbers([
        (
            "touch_step_m",
            parts[1].start.centre_m - parts[0].start.centre_m,
        ),
        (
            "goal_step_m",
            parts[1].stop.centre_m - parts[0].stop.centre_m,
        ),
    ])
}

pub fn diagonals(input: &Input) -> Results {
    let plan = rectangle(
        number(input, "length_m")?,
        number(input, "width_m")?,
        "working_width_m = 2.0\nspeed_km_h = 5.0",
        "",
    )?;
    numbers([("diagonal_m", plan.squares.diagonal_m)])
}

/// A pitch that is big enough for every marking, and an operation on the named zones.
fn target_of(zones: &str) -> Result<Plan, String> {
    rectangle(
        105.0,
        68.0,
        "working_width_m = 2.0\nspeed_km_h = 5.0",
        &format!("zones = [\"{zones}\"]"),
    )
}

fn rect(shape: &MultiPolygon<f64>) -> Result<Rect<f64>, String> {
    shape
        .bounding_rect()
        .ok_or_else(|| "nothing there".to_owned())
}

fn zone(plan: &Plan, kind: ZoneKind) -> Result<&Zone, String> {
    plan.zones
        .iter()
        .find(|zone| zone.kind == kind)
        .ok_or_else(|| format!("no zone of kind {}", kind.name()))
}

/// The sizes of Law 1 as they lie on the ground (depths along x, widths along y).
pub fn extents(_: &Input) -> Results {
    let goal_area_plan = target_of("goal-area-north")?;
    let penalty_area_plan = target_of("penalty-area-north")?;
    let goal_area = rect(&only(&goal_area_plan)?.target.shape)?;
    let penalty_area = rect(&only(&penalty_area_plan)?.target.shape)?;
    let spot = zone(&goal_area_plan, ZoneKind::PenaltySpot)?
        .shape
        .centroid()
        .ok_or("an empty penalty spot")?;
    let circle = rect(&zone(&goal_area_plan, ZoneKind::CentreCircle)?.shape)?;
    numbers([
        ("goal_area_depth_m", goal_area.width()),
        ("goal_area_width_m", goal_area.height()),
        ("penalty_area_depth_m", penalty_area.width()),
        ("penalty_area_width_m", penalty_area.height()),
        ("penalty_mark_from_line_m", 52.5 - spot.x().abs()),
        ("centre_circle_radius_m", circle.height() / 2.0),
    ])
}

pub fn goalmouth_extent(input: &Input) -> Results {
    let plan = target_of("all")?;
    let goalmouth = rect(&zone(&plan, ZoneKind::Goalmouth)?.shape)?;
    numbers([(
        "goal_width_m",
        goalmouth.height() - 2.0 * number(input, "wider_on_each_side_m")?,
    )])
}

pub fn areas(input: &Input) -> Results {
    let plan = rectangle(
        number(input, "length_m")?,
        number(input, "width_m")?,
        "working_width_m = 2.0\nspeed_km_h = 5.0",
        "",
    )?;
    numbers([
        ("area_m2", geo::Area::unsigned_area(&plan.ground.outline)),
        (
            "zones_area_m2",
            plan.zones.iter().map(|zone| zone.area_m2).sum(),
        ),
    ])
}

pub fn penalty_area(_: &Input) -> Results {
    numbers([(
        "area_m2",
        only(&target_of("penalty-area-south")?)?.target.area_m2,
    )])
}

pub fn goal_area(_: &Input) -> Results {
    numbers([(
        "area_m2",
        only(&target_of("goal-area-south")?)?.target.area_m2,
    )])
}

/// The two zones of the centre circle, and what their polygon leaves of the disc.
pub fn circle_zones(input: &Input) -> Results {
    let corners = number(input, "corners")?;
    let plan = target_of("all")?;
    let worked_m2 =
        zone(&plan, ZoneKind::CentreSpot)?.area_m2 + zone(&plan, ZoneKind::CentreCircle)?.area_m2;
    let radius_m = rect(&zone(&plan, ZoneKind::CentreCircle)?.shape)?.height() / 2.0;
    let left_out_m2 = radius_m * radius_m * (PI - corners / 2.0 * (2.0 * PI / corners).sin());
    numbers([("area_m2", worked_m2 + left_out_m2)])
}

/// A rectangle along grid north: its true bearing is the convergence, its length on the
/// ground is the grid's over the scale.
pub fn along_the_grid(input: &Input) -> Results {
    let length_m = number(input, "length_on_grid_m")?;
    let width_m = number(input, "width_on_grid_m")?;
    let (east_m, north_m) = (number(input, "easting_m")?, number(input, "northing_m")?);
    let corner = |right: f64, up: f64| {
        format!(
            "[{:?}, {:?}]",
            east_m + right * width_m / 2.0,
            north_m + up * length_m / 2.0
        )
    };
    let ring = [
        (-1.0, -1.0),
        (1.0, -1.0),
        (1.0, 1.0),
        (-1.0, 1.0),
        (-1.0, -1.0),
    ]
    .map(|(right, up)| corner(right, up))
    .join(", ");
    let ground = format!(
        "{{\"type\": \"FeatureCollection\", \"features\": [{{\"type\": \"Feature\", \
         \"properties\": {{\"role\": \"pitch\"}}, \"geometry\": {{\"type\": \"Polygon\", \
         \"coordinates\": [[{ring}]]}}}}]}}"
    );
    let plan = planned(
        &format!(
            "name = \"along the grid\"\n\
             [pitch]\nrun_off_m = {{ touch = 4.0, goal = 4.0 }}\n\
             [ground]\nfile = \"ground.geojson\"\ncrs = \"{}\"\n\
             [implement.tool]\nworking_width_m = 2.0\nspeed_km_h = 5.0\n\
             [[operation]]\nid = \"work\"\ntask = \"mow\"\nimplement = \"tool\"\n",
            word(input, "crs")?
        ),
        Some(&ground),
    )?;
    numbers([
        ("convergence_deg", plan.ground.bearing.deg()),
        ("scale", length_m / plan.ground.length_m),
    ])
}

pub fn boards_of_a_goalmouth(input: &Input) -> Results {
    let plan = planned(
        &format!(
            "name = \"published value\"\n\
             [pitch]\nlength_m = 105.0\nwidth_m = 68.0\n\
             run_off_m = {{ touch = 4.0, goal = 4.0 }}\n\
             [[hand]]\nid = \"fork\"\nkind = \"board\"\nzone = \"goalmouth-south\"\n\
             board = {{ length_m = 3.0, width_m = {:?} }}\n\
             fork = {{ tines = 4, tine_spacing_mm = 200, tine_diameter_mm = 12, depth_mm = 200, step_mm = 200 }}\n",
            number(input, "board_width_m")?
        ),
        None,
    )?;
    match &plan.hand[0].detail {
        Detail::Board(_, board) => {
            let stage = &board.grounds[0].stages[0];
            numbers([("boards", stage.boards as f64)])
        }
        other => Err(format!("{other:?}")),
    }
}
