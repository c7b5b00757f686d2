//! The closed form for what steering leaves, against driving it many times: strips with
//! errors of their own are laid, and what lies bare between them is measured.

use std::f64::consts::TAU;

use swardlane::coverage::steering::missed_width_m;

use crate::support::Chance;

/// Lines laid side by side in one trial.
const LINES: usize = 24;
/// Trials of a setting.
const TRIALS: usize = 20_000;

/// Working width, overlap as laid out and one standard deviation of steering, metres.
const SETTINGS: [(f64, f64, f64); 10] = [
    (2.0, 0.0, 0.10),
    (2.0, 0.10, 0.10),
    (2.0, 0.20, 0.10),
    (1.8, 0.10, 0.05),
    (1.8, 0.05, 0.05),
    (1.5, 0.03, 0.02),
    (3.0, 0.30, 0.15),
    (2.4, 0.02, 0.08),
    (6.0, 0.50, 0.30),
    (1.2, 0.0, 0.03),
];

/// A normal figure, by Box and Muller (1958, from memory).
fn normal(chance: &mut Chance) -> f64 {
    let (radius, angle) = (1.0 - chance.share(), chance.share());
    (-2.0 * radius.ln()).sqrt() * (TAU * angle).cos()
}

/// The width that lies bare between the first and the last of some strips.
fn bare_m(centres: &mut [f64], width_m: f64) -> f64 {
    centres.sort_by(f64::total_cmp);
    let mut reached_m = f64::NEG_INFINITY;
    let mut bare = 0.0;
    for &centre in centres.iter() {
        let (left, right) = (centre - width_m / 2.0, centre + width_m / 2.0);
        if reached_m.is_finite() && left > reached_m {
            bare += left - reached_m;
        }
        reached_m = reached_m.max(right);
    }
    bare
}

/// Mean bare width of a joint and its standard error.
fn simulated(width_m: f64, overlap_m: f64, sd_m: f64, chance: &mut Chance) -> (f64, f64) {
    let mut sum = 0.0;
    let mut sum_2 = 0.0;
    for _ in 0..TRIALS {
        let mut centres: Vec<f64> = (0..LINES)
            .map(|line| line as f64 * (width_m - overlap_m) + sd_m * normal(chance))
            .collect();
        let a_joint = bare_m(&mut centres, width_m) / (LINES - 1) as f64;
        sum += a_joint;
        sum_2 += a_joint * a_joint;
    }
    let trials = TRIALS as f64;
    let mean = sum / trials;
    let variance = (sum_2 - trials * mean * mean) / (trials - 1.0);
    (mean, (variance / trials).sqrt())
}

#[test]
fn the_closed_form_is_what_many_drives_leave() {
    let mut chance = Chance(20_260_602);
    for (width_m, overlap_m, sd_m) in SETTINGS {
        let (mean, error) = simulated(width_m, overlap_m, sd_m, &mut chance);
        let closed = missed_width_m(overlap_m, sd_m);
        let what = format!("{width_m}, {overlap_m}, {sd_m}: {mean} +- {error}, closed {closed}");
        assert!((mean - closed).abs() <= 3.0 * error, "{what}");
        // Sharp enough to see a form that is a twentieth off.
        assert!(3.0 * error < 0.05 * closed, "{what}");
    }
}
