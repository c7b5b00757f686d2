//! Loads and hauls of a machine that carries material, seen from outside.

use proptest::prelude::*;
use swardlane::job::model::{
    Direction, Effort, FlagPlace, Job, Operation, RatePer, RateRow, Rates, RunOff, Task,
};
use swardlane::plan::{Plan, plan};
use swardlane::route::legs::{Hauled, LegKind, Refills, Route};
use swardlane::space::Corner;

use crate::support::{brushing, rectangle_job, small_tractor};

/// The same everywhere.
fn even(kg_per_m2: f64) -> RateRow {
    RateRow {
        zones: None,
        wear: None,
        directions: None,
        kg_per_m2: Some(kg_per_m2),
    }
}

fn rates(rows: Vec<RateRow>) -> Rates {
    Rates {
        per: RatePer::Operation,
        rows,
    }
}

/// Sand on a small training pitch of 40 x 26 m by a machine that fits between its walls.
fn sanding(hopper_t: f64, rows: Vec<RateRow>, directions: Vec<Direction>) -> Operation {
    let mut operation = brushing(2.0, 0.0);
    operation.task = Task::Sand;
    operation.directions = directions;
    operation.rates = Some(rates(rows));
    operation.implement.reach_m = 1.0;
    operation.implement.hopper_t = Some(hopper_t);
    operation.implement.load_min = 5.0;
    operation.implement.tractor = Some(small_tractor());
    operation
}

fn job(operation: Operation, has_stockpile: bool) -> Job {
    let mut job = rectangle_job(40.0, 26.0, vec![operation]);
    job.pitch.run_off = Some(RunOff::ByLine {
        touch_m: 8.0,
        goal_m: 8.0,
    });
    job.settings.routes = true;
    job.settings.effort = Effort::Quick;
    job.stockpile = has_stockpile.then_some(FlagPlace {
        at: Corner::Ne,
        along_m: 6.0,
        out_m: 4.0,
    });
    job
}

fn planned(job: &Job) -> (Plan, Route, Refills) {
    let plan = plan(job).unwrap();
    let route = plan.operations[0].route.clone().unwrap();
    let refills = route.refills.clone().unwrap();
    (plan, route, refills)
}

fn codes(plan: &Plan) -> Vec<&'static str> {
    plan.warnings.iter().map(|w| w.code.name()).collect()
}

/// What holds for every plan with loads: none is more than the hopper, together they are what the
/// strips put down, and the drive is one line that comes by the stockpile between any two.
fn check(route: &Route, refills: &Refills) {
    let sum_t: f64 = refills.loads.iter().map(|load| load.put_down_t).sum();
    approx::assert_abs_diff_eq!(sum_t, refills.put_down_t, epsilon = 1e-9);
    for load in &refills.loads {
        assert!(load.put_down_t > 0.0 && load.put_down_t <= refills.hopper_t + 1e-9);
    }
    for pair in route.legs.windows(2) {
        assert!(pair[0].end.distance_m(pair[1].start) < 1e-3);
        assert!(pair[0].end.heading_difference_rad(pair[1].start) < 1e-4);
        let (last, first) = (pair[0].line.0.last().unwrap(), pair[1].line.0[0]);
        assert!((last.x - first.x).hypot(last.y - first.y) < 1e-3);
    }
    let groups = route.legs.chunk_by(|a, b| a.kind == b.kind);
    let hauls: Vec<_> = groups
        .filter(|legs| legs[0].kind == LegKind::Haul)
        .collect();
    if refills.hauled == Hauled::Driven {
        assert_eq!(hauls.len() + 1, refills.loads.len());
        // Each stands at the stockpile once: its place is 4 m out, 6 m from the flag.
        for legs in &hauls {
            let at_pile = legs.iter().filter(|leg| {
                (leg.end.at.x - 24.0).abs() < 1e-9 && (leg.end.at.y.abs() - 7.0).abs() < 1e-9
            });
            assert_eq!(at_pile.count(), 1);
        }
        // And begins where the load ends.
        for (legs, load) in hauls.iter().zip(&refills.loads) {
            assert!(legs[0].start.distance_m(load.end.pose) < 1e-6);
            let haul_m: f64 = legs.iter().map(|leg| leg.length_m).sum();
            approx::assert_abs_diff_eq!(haul_m, load.haul_m.unwrap(), epsilon = 1e-6);
        }
    } else {
        assert!(hauls.is_empty());
    }
    let haul_m: f64 = hauls.concat().iter().map(|leg| leg.length_m).sum();
    approx::assert_abs_diff_eq!(haul_m, route.haul_m, epsilon = 1e-6);
    // The work is what it is, however often it is cut: 13 lines of 40 m.
    let worked = route.legs.iter().filter(|leg| leg.kind == LegKind::Work);
    let worked_m: f64 = worked.map(|leg| leg.length_m).sum();
    let directions = (worked_m / 520.0).round();
    approx::assert_abs_diff_eq!(worked_m, 520.0 * directions, epsilon = 1e-6);
}

#[test]
fn loads_are_hauled_and_counted_in_time_cost_and_wheels() {
    // 40 x 26 m at 4 kg/m2: 4.16 t.
    let with = |has_hopper: bool| {
        let mut operation = sanding(1.2, vec![even(4.0)], vec![Direction::Along]);
        if !has_hopper {
            operation.implement.hopper_t = None;
        }
        plan(&job(operation, true)).unwrap()
    };
    let (without, plan) = (with(false), with(true));
    let route = plan.operations[0].route.as_ref().unwrap();
    let refills = route.refills.as_ref().unwrap();
    check(route, refills);
    approx::assert_abs_diff_eq!(refills.put_down_t, 4.16, epsilon = 1e-9);
    assert!((4..=13).contains(&refills.loads.len()), "{refills:?}");
    let time = &plan.operations[0].time;
    let loads = refills.loads.len() as f64;
    approx::assert_abs_diff_eq!(time.load_s, loads * 300.0);
    assert!(time.haul_s >= route.haul_m / (6.0 / 3.6) - 1e-9);
    let sum_s = time.work_s + time.turn_s + time.haul_s + time.load_s;
    approx::assert_abs_diff_eq!(time.allowance_s, 0.25 * sum_s, epsilon = 1e-9);
    approx::assert_abs_diff_eq!(time.total_s, 1.25 * sum_s, epsilon = 1e-9);
    // The same order, and hauls on top of it.
    let before = without.operations[0].route.as_ref().unwrap();
    assert!(before.refills.is_none());
    assert!(route.cost_s > before.cost_s);
    assert_eq!((route.lower_bound_s, route.bound_method), (None, None));
    let wheels = |plan: &Plan| plan.operations[0].wheels.as_ref().unwrap().most;
    assert!(wheels(&plan) >= wheels(&without));
    assert!(!codes(&plan).contains(&"no_stockpile"));
    assert!(!codes(&plan).contains(&"small_hopper"));
}

#[test]
fn without_a_stockpile_loads_are_cut_and_the_drive_stays_as_it_is() {
    let operation = || sanding(1.2, vec![even(4.0)], vec![Direction::Along]);
    let mut job = job(operation(), false);
    job.settings.effort = Effort::Normal;
    let (plan, route, refills) = planned(&job);
    check(&route, &refills);
    assert_eq!(
        (refills.hauled, refills.are_least),
        (Hauled::NoStockpile, true)
    );
    // As few as there can be, and no part cut that need not be: three lines are 0.96 t, so of
    // 4.16 t one load must end within a line.
    assert_eq!(refills.loads.len(), 4);
    let inside = refills.loads.iter().filter(|load| load.end.left_m > 0.0);
    assert_eq!(inside.count(), 1);
    assert_eq!((route.haul_m, plan.operations[0].time.haul_s), (0.0, 0.0));
    assert!(route.lower_bound_s.is_some());
    let told: Vec<_> = plan
        .warnings
        .iter()
        .filter(|w| w.code.name() == "no_stockpile")
        .collect();
    assert_eq!(
        told[0].to_string(),
        "operation brushing: 4 loads are needed, and no stockpile is placed, so no hauls are \
         driven: material has to come to the machine; place a `stockpile`"
    );
    job.operations[0].implement.hopper_t = None;
    let before = planned_without(&job);
    assert_eq!(before.cost_s, route.cost_s);
}

fn planned_without(job: &Job) -> Route {
    plan(job).unwrap().operations[0].route.clone().unwrap()
}

#[test]
fn a_hopper_too_small_for_a_pass_cuts_it_and_the_least_that_would_do_is_told() {
    // A line is 40 x 2 m at 4 kg/m2: 0.32 t.
    let operation = sanding(0.3, vec![even(4.0)], vec![Direction::Along]);
    let (plan, route, refills) = planned(&job(operation, true));
    check(&route, &refills);
    assert!(refills.loads.iter().any(|load| load.end.left_m > 0.0));
    approx::assert_abs_diff_eq!(refills.whole_pass_t, 0.32, epsilon = 1e-9);
    let told: Vec<_> = plan
        .warnings
        .iter()
        .filter(|w| w.code.name() == "small_hopper")
        .collect();
    assert_eq!(
        told[0].to_string(),
        "operation brushing: a load of 0.3 t does not last a whole pass, so passes are cut by \
         refills; a hopper of 0.320 t would do"
    );
}

#[test]
fn rates_by_place_and_direction_are_put_down_where_they_hold() {
    // The goalmouths get twice as much in both directions; the first direction alone does the
    // centre spot; the rest is shared.
    let row = |zones: &str, directions, kg_per_m2| RateRow {
        zones: Some(vec![zones.to_owned()]),
        wear: None,
        directions,
        kg_per_m2: Some(kg_per_m2),
    };
    let rows = vec![
        row("goalmouth", None, 8.0),
        row("centre_spot", Some(vec![Direction::Along]), 5.0),
        even(4.0),
    ];
    let operation = sanding(2.0, rows, vec![Direction::Along, Direction::Across]);
    let (plan, route, refills) = planned(&job(operation, true));
    check(&route, &refills);
    let area = |name: &str| -> f64 {
        let zones = plan.zones.iter().filter(|zone| zone.kind.name() == name);
        zones.map(|zone| zone.area_m2).sum()
    };
    let (goalmouths, spot) = (area("goalmouth"), area("centre_spot"));
    assert!(goalmouths > 100.0 && spot > 20.0);
    // No strip reaches beyond the pitch or over its neighbour.
    let rest = 1040.0 - goalmouths;
    let want_kg = 8.0 * goalmouths + 4.0 * (rest - spot) + (5.0 + 2.0) * spot;
    approx::assert_abs_diff_eq!(refills.put_down_t, want_kg / 1000.0, epsilon = 1e-6);
}

#[test]
fn places_without_a_rate_are_told_and_get_nothing() {
    let goalmouth = RateRow {
        zones: Some(vec!["goalmouth".to_owned()]),
        ..even(10.0)
    };
    let operation = sanding(0.5, vec![goalmouth], vec![Direction::Along]);
    let (plan, route, refills) = planned(&job(operation, true));
    check(&route, &refills);
    assert!(codes(&plan).contains(&"no_rate"));
    let goalmouths = plan.zones.iter().filter(|zone| zone.wear == 5);
    let area_m2: f64 = goalmouths.map(|zone| zone.area_m2).sum();
    approx::assert_abs_diff_eq!(refills.put_down_t, area_m2 / 100.0, epsilon = 1e-6);
    approx::assert_abs_diff_eq!(refills.unrated_m2, 1040.0 - area_m2, epsilon = 1e-3);
}

#[test]
fn a_stockpile_that_cannot_be_driven_to_is_told() {
    let operation = sanding(1.2, vec![even(4.0)], vec![Direction::Along]);
    let mut job = job(operation, true);
    // Far beyond the run-off.
    job.stockpile = Some(FlagPlace {
        at: Corner::Ne,
        along_m: -60.0,
        out_m: 60.0,
    });
    let (plan, route, refills) = planned(&job);
    check(&route, &refills);
    assert_eq!(refills.hauled, Hauled::NoWay);
    let told = plan
        .warnings
        .iter()
        .find(|w| w.code.name() == "no_stockpile");
    assert!(told.unwrap().text.contains("cannot drive to a stockpile"));
}

#[test]
fn too_many_loads_are_none() {
    let operation = sanding(0.001, vec![even(4.0)], vec![Direction::Along]);
    let (plan, route, refills) = planned(&job(operation, true));
    assert!(refills.loads.is_empty() && route.haul_m == 0.0);
    let told = plan
        .warnings
        .iter()
        .find(|w| w.code.name() == "loads_not_planned");
    assert!(told.unwrap().text.contains("at most 500"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    /// Whatever it carries and wherever it puts it down.
    #[test]
    fn a_refill_plan_never_runs_empty(
        hopper_t in 0.15..3.0,
        (goalmouth, rest) in (0.0..12.0, 0.5..6.0),
        has_stockpile in any::<bool>(),
        across in any::<bool>(),
    ) {
        let row = RateRow {
            zones: Some(vec!["goalmouth".to_owned()]),
            ..even(goalmouth)
        };
        let direction = if across { Direction::Across } else { Direction::Along };
        let operation = sanding(hopper_t, vec![row, even(rest)], vec![direction]);
        let (_, route, refills) = planned(&job(operation, has_stockpile));
        check(&route, &refills);
    }
}

#[test]
fn rates_are_read_in_kilograms_a_square_metre() {
    let read = |operation: &str| {
        let text = format!(
            "name = \"x\"\n[pitch]\nlength_m = 100.0\nwidth_m = 64.0\n\
             [material.sand]\nkind = \"sand\"\ndensity_t_per_m3 = [1.5, 1.7]\n\
             [implement.i]\nworking_width_m = 2.0\nspeed_km_h = 5.0\n\
             [[operation]]\nid = \"o\"\ntask = \"sand\"\nimplement = \"i\"\n{operation}\n"
        );
        let job = swardlane::job::read("job.toml", &text, |_| unreachable!("no ground file"));
        job.unwrap().operations[0].rates.clone()
    };
    let kg = |operation: &str| read(operation).unwrap().rows[0].kg_per_m2;
    approx::assert_abs_diff_eq!(kg("rate_t_per_ha = 40.0").unwrap(), 4.0, epsilon = 1e-12);
    approx::assert_abs_diff_eq!(kg("rate_g_per_m2 = 35.0").unwrap(), 0.035, epsilon = 1e-12);
    let by_depth = "dressing_mm = 5.0\nmaterial = \"sand\"";
    approx::assert_abs_diff_eq!(kg(by_depth).unwrap(), 8.0, epsilon = 1e-12);
    assert_eq!(kg("dressing_mm = 5.0"), None);
    assert_eq!(read("material = \"sand\""), None);
    let each = read("rate_g_per_m2 = 35.0\nrate_per = \"direction\"").unwrap();
    assert_eq!(each.per, RatePer::Direction);
}

#[test]
fn a_depth_without_a_density_plans_no_loads_and_says_so() {
    let unknown = RateRow {
        kg_per_m2: None,
        ..even(0.0)
    };
    let operation = sanding(1.2, vec![unknown], vec![Direction::Along]);
    let plan = plan(&job(operation, true)).unwrap();
    let route = plan.operations[0].route.as_ref().unwrap();
    assert!(route.refills.is_none());
    assert!(codes(&plan).contains(&"loads_not_planned"));
}
