//! Prints the unrounded plan of a job as JSON, for checks by other programs:
//! `dump JOB`; with `--routes` the drives too, with `--links 5,77,…` those entries of each
//! direction's table of links (`links`). With `--after EARLIER` the plan is that of an earlier job,
//! changed into this one, and improved so many `--steps`. Numbers are the shortest decimals that
//! read back equal.
//!
//! Pitch metres unless a key says degrees. Rings are closed; a polygon is its exterior
//! ring and then its holes. Strips and unions are never printed: who checks them builds
//! them from the lines and widths.

mod hand;
mod links;

use std::ffi::{OsStr, OsString};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use geo::{LineString, MultiPolygon, Polygon};
use serde_json::{Value, json};
use swardlane::fault::Faults;
use swardlane::ground::Ground;
use swardlane::passes::Track;
use swardlane::plan::{DirectionPlan, OperationPlan, Plan, plan};
use swardlane::replan::Replanner;
use swardlane::route::drive;
use swardlane::route::legs::{Hauled, Leg, Refills};
use swardlane::route::pose::Pose;
use swardlane::space::Xy;

/// What is asked for.
struct Asked {
    job: PathBuf,
    /// Whether drives are planned.
    routes: bool,
    /// A job of which this one is a change, and so many steps of improvement after it.
    after: Option<(PathBuf, usize)>,
    /// Numbers that pick links.
    links: Vec<usize>,
}

impl Asked {
    fn of(mut words: impl Iterator<Item = OsString>) -> Option<Self> {
        let mut asked = Self {
            job: PathBuf::new(),
            routes: false,
            after: None,
            links: Vec::new(),
        };
        let (mut earlier, mut steps) = (None, 0);
        while let Some(word) = words.next() {
            match word.to_str() {
                Some("--routes") => asked.routes = true,
                Some("--links") => asked.links = numbers_of(&words.next()?)?,
                Some("--after") => earlier = Some(words.next()?.into()),
                Some("--steps") => steps = words.next()?.to_str()?.parse().ok()?,
                _ => asked.job = word.into(),
            }
        }
        asked.after = earlier.map(|earlier| (earlier, steps));
        (!asked.job.as_os_str().is_empty()).then_some(asked)
    }
}

fn main() -> ExitCode {
    let Some(asked) = Asked::of(std::env::args_os().skip(1)) else {
        let usage =
            "usage: dump [--routes] [--links NUMBER,...] [--after EARLIER [--steps NUMBER]] JOB";
        let _ = writeln!(std::io::stderr(), "{usage}");
        return ExitCode::from(2);
    };
    match planned(&asked) {
        Ok(plan) => {
            let mut printed = dump(&plan);
            if !asked.links.is_empty() {
                printed["links"] = links_of(&plan, &asked.links);
            }
            let done = writeln!(std::io::stdout(), "{printed}");
            ExitCode::from(u8::from(done.is_err()))
        }
        Err(faults) => {
            let _ = writeln!(std::io::stderr(), "{faults}");
            ExitCode::from(2)
        }
    }
}

fn planned(asked: &Asked) -> Result<Plan, Faults> {
    let load = |path: &Path| {
        swardlane::job::load(path).map(|mut job| {
            job.settings.routes = asked.routes;
            job
        })
    };
    let job = load(&asked.job)?;
    let Some((earlier, steps)) = &asked.after else {
        return plan(&job);
    };
    let mut planner = Replanner::new(load(earlier)?)?;
    planner.change(job)?;
    for _ in 0..*steps {
        planner.improve()?;
    }
    Ok(planner.plan().clone())
}

/// Whole numbers with commas between.
fn numbers_of(text: &OsStr) -> Option<Vec<usize>> {
    let numbers = text.to_str()?.split(',');
    numbers.map(|number| number.parse().ok()).collect()
}

fn links_of(plan: &Plan, numbers: &[usize]) -> Value {
    let terrain = drive::terrain(&plan.ground);
    let operations = plan.operations.iter();
    operations
        .flat_map(|work| links::entries(work, &plan.ground, &terrain, numbers))
        .collect()
}

fn dump(plan: &Plan) -> Value {
    let ground = &plan.ground;
    json!({
        "frame": frame(ground),
        "bearing_deg": ground.bearing.deg(),
        "pitch": {
            "length_m": ground.length_m,
            "width_m": ground.width_m,
            "misfit_m": ground.misfit_m,
            "plus_x": ground.names.plus_x.name(),
            "plus_y": ground.names.plus_y.name(),
        },
        "outline": polygon(&ground.outline),
        "grass": area(&ground.grass),
        "allowed": area(&ground.allowed),
        "kept": ground.kept.iter().map(|kept| json!({
            "label": kept.label,
            "role": kept.role.name(),
            "clearance_m": kept.clearance_m,
            "kept_clear": area(&kept.kept_clear),
        })).collect::<Vec<_>>(),
        "zones": plan.zones.iter().map(|zone| json!({
            "name": zone.name,
            "kind": zone.kind.name(),
            "wear": zone.wear,
            "area_m2": zone.area_m2,
            "shape": area(&zone.shape),
        })).collect::<Vec<_>>(),
        "operations": plan.operations.iter().map(operation).collect::<Vec<_>>(),
        "hand": plan.hand.iter().map(hand::hand).collect::<Vec<_>>(),
    })
}

fn frame(ground: &Ground) -> Value {
    ground.frame.as_ref().map_or(Value::Null, |frame| {
        json!({
            "origin_lat_deg": frame.origin.lat_deg,
            "origin_lon_deg": frame.origin.lon_deg,
            "bearing_deg": frame.bearing.deg(),
            "crs": frame.crs,
            "crs_accuracy_m": frame.crs_accuracy_m,
        })
    })
}

fn operation(planned: &OperationPlan) -> Value {
    let (operation, target) = (&planned.operation, &planned.target);
    json!({
        "id": operation.id,
        "task": operation.task.name(),
        "working_width_m": operation.implement.working_width_m,
        "overlap_m": operation.implement.overlap_m,
        "depth_mm": operation.depth.map_or(0.0, |depth| depth.depth_mm),
        "ends": operation.ends.name(),
        "over_m": operation.over_m,
        "remainder": operation.remainder.name(),
        "min_pass_m": operation.min_pass_m,
        "perimeter_rounds": operation.perimeter_rounds,
        "blocked": target.blocked.iter().map(area).collect::<Vec<_>>(),
        "pieces": target.pieces.iter().map(|piece| json!({
            "zones": area(&piece.zones),
            "target": area(&piece.target),
        })).collect::<Vec<_>>(),
        "target": area(&target.shape),
        "target_area_m2": target.area_m2,
        "kept_clear_m2": target.kept_clear_m2,
        "directions": planned.directions.iter().map(direction).collect::<Vec<_>>(),
        "route": planned.route.as_ref().map(|route| json!({
            "cost_s": route.cost_s,
            "lower_bound_s": route.lower_bound_s,
            "legs": route.legs.iter().map(leg).collect::<Vec<_>>(),
            "haul_m": route.haul_m,
            "haul_s": route.haul_s,
            "refills": route.refills.as_ref().map(refills),
        })),
        "worked_times_m2": planned.worked_times_m2,
    })
}

fn direction(planned: &DirectionPlan) -> Value {
    let (passes, coverage) = (&planned.passes, &planned.coverage);
    let parts = passes.passes.iter().flat_map(|pass| {
        pass.parts.iter().map(|part| {
            json!({
                "pass": pass.number,
                "piece": pass.piece,
                "part": part.number,
                "width_m": part.width_m,
                "line": track(&part.track),
            })
        })
    });
    json!({
        "name": passes.name,
        "angle_deg": passes.angle.map(|angle| angle.deg()),
        "heading_deg": passes.heading.map(|heading| heading.deg()),
        "spacing_m": passes.spacing_m,
        "parts": parts.collect::<Vec<_>>(),
        "figures": {
            "strip_area_m2": coverage.strip_area_m2,
            "covered_m2": coverage.covered_m2,
            "overlap_m2": coverage.overlap_m2,
            "missed_m2": coverage.missed_m2,
            "outside_m2": coverage.outside_m2,
            "outside_pitch_m2": coverage.outside_pitch_m2,
            "working_length_m": planned.working_length_m,
        },
    })
}

fn leg(leg: &Leg) -> Value {
    json!({
        "kind": leg.kind.name(),
        "direction": leg.worked.map(|worked| worked.direction),
        "pass": leg.worked.map(|worked| worked.pass),
        "part": leg.worked.map(|worked| worked.part),
        "start": posed(leg.start),
        "end": posed(leg.end),
        "length_m": leg.length_m,
        "reverse": leg.reverse,
        "line": ring(&leg.line),
    })
}

fn posed(pose: Pose) -> Value {
    json!([pose.at.x, pose.at.y, pose.heading_rad])
}

fn refills(refills: &Refills) -> Value {
    json!({
        "hopper_t": refills.hopper_t,
        "put_down_t": refills.put_down_t,
        "whole_pass_t": refills.whole_pass_t,
        "unrated_m2": refills.unrated_m2,
        "hauled": refills.hauled == Hauled::Driven,
        "loads": refills.loads.iter().map(|load| json!({
            "put_down_t": load.put_down_t,
            "direction": load.end.worked.direction,
            "pass": load.end.worked.pass,
            "part": load.end.worked.part,
            "along_m": load.end.along_m,
            "left_m": load.end.left_m,
            "at": place(load.end.at),
            "haul_m": load.haul_m,
        })).collect::<Vec<_>>(),
    })
}

fn track(track: &Track) -> Value {
    match track {
        Track::Straight { from, to } => json!([place(*from), place(*to)]),
        Track::Round(line) => ring(line),
    }
}

fn area(shape: &MultiPolygon<f64>) -> Value {
    shape.iter().map(polygon).collect()
}

fn polygon(shape: &Polygon<f64>) -> Value {
    std::iter::once(shape.exterior())
        .chain(shape.interiors())
        .map(ring)
        .collect()
}

fn ring(line: &LineString<f64>) -> Value {
    line.coords().map(|&at| place(at)).collect()
}

fn place(at: Xy) -> Value {
    json!([at.x, at.y])
}
