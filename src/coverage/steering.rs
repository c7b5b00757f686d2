//! What steering leaves unworked, on average: an estimate, and it is said to be one.
//!
//! | | |
//! |---|---|
//! | forms | overlap, steering error -> expected missed width of a joint; allowed share -> overlap |
//! | method | each line lies off its place by an error of its own, normal with deviation s, so the gap of a joint is normal with deviation s times the root of 2 about minus the overlap; its positive part has a closed form |
//! | domain | errors well below the working width: a gap is not filled by the line after next |
//! | accuracy | the closed form is exact to 1e-7 (error function of Abramowitz and Stegun 1964, 7.1.26, error 1.5e-7) |
//!
//! How fast a line wanders about its place changes nothing in the mean: only how far it is off
//! at each place counts. Errors of neighbours are taken as independent; a driver who follows
//! the edge of the pass before has errors that add up instead.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// The mean width that is missed at a joint of two lines, metres, for an overlap as laid out
/// and one standard deviation of steering, metres.
///
/// With deviation g = `steering_sd_m` x root 2 of the gap and z = overlap / g:
/// g (phi(z) - z (1 - Phi(z))), the mean of the positive part of a normal gap.
#[must_use]
pub fn missed_width_m(overlap_m: f64, steering_sd_m: f64) -> f64 {
    let gap_sd_m = steering_sd_m * std::f64::consts::SQRT_2;
    if gap_sd_m <= 0.0 {
        return (-overlap_m).max(0.0);
    }
    let z = overlap_m / gap_sd_m;
    let density = (-0.5 * z * z).exp() / (2.0 * PI).sqrt();
    (gap_sd_m * (density - z * upper_tail(z))).max(0.0)
}

/// The least overlap, metres, at which steering misses on average no more than `share` of the
/// spacing of the lines (`width_m` less that overlap); `None` where no overlap below half the
/// width does.
#[must_use]
pub fn overlap_for_m(share: f64, width_m: f64, steering_sd_m: f64) -> Option<f64> {
    let is_enough =
        |overlap_m: f64| missed_width_m(overlap_m, steering_sd_m) <= share * (width_m - overlap_m);
    let (mut low_m, mut high_m) = (0.0, width_m / 2.0);
    if is_enough(low_m) {
        return Some(low_m);
    }
    if !is_enough(high_m) {
        return None;
    }
    // What is missed falls with the overlap much faster than the spacing does.
    for _ in 0..60 {
        let middle_m = f64::midpoint(low_m, high_m);
        if is_enough(middle_m) {
            high_m = middle_m;
        } else {
            low_m = middle_m;
        }
    }
    Some(high_m)
}

/// Share of a standard normal distribution above z.
fn upper_tail(z: f64) -> f64 {
    0.5 * (1.0 - error_function(z * FRAC_1_SQRT_2))
}

/// Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 7.1.26.
fn error_function(x: f64) -> f64 {
    const A: [f64; 5] = [
        0.254_829_592,
        -0.284_496_736,
        1.421_413_741,
        -1.453_152_027,
        1.061_405_429,
    ];
    let t = 1.0 / (1.0 + 0.327_591_1 * x.abs());
    let series = t * (A[0] + t * (A[1] + t * (A[2] + t * (A[3] + t * A[4]))));
    (1.0 - series * (-x * x).exp()).copysign(x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn butt_joints_miss_the_mean_of_half_a_normal_distribution() {
        // With no overlap the mean positive gap is g / sqrt(2 pi).
        let gap_sd_m = 0.1 * std::f64::consts::SQRT_2;
        let by_hand = gap_sd_m / (2.0 * PI).sqrt();
        assert_abs_diff_eq!(missed_width_m(0.0, 0.1), by_hand, epsilon = 1e-7);
    }

    #[test]
    fn without_error_only_a_gap_is_missed() {
        assert_abs_diff_eq!(missed_width_m(0.1, 0.0), 0.0);
        assert_abs_diff_eq!(missed_width_m(-0.1, 0.0), 0.1);
    }

    #[test]
    fn the_overlap_asked_for_misses_just_the_share() {
        for (share, width_m, sd_m) in [(0.005, 2.0, 0.1), (0.001, 1.8, 0.03), (0.02, 3.0, 0.2)] {
            let overlap_m = overlap_for_m(share, width_m, sd_m).unwrap_or(f64::NAN);
            let missed = missed_width_m(overlap_m, sd_m) / (width_m - overlap_m);
            assert_abs_diff_eq!(missed, share, epsilon = 1e-9);
        }
        assert_eq!(overlap_for_m(0.5, 2.0, 0.01), Some(0.0));
        assert_eq!(overlap_for_m(1e-6, 0.2, 1.0), None);
    }
}
