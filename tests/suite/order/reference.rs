//! Wall-free tables on a plain rectangle, for tests and examples: a small Dubins of their own.
#![allow(dead_code, missing_docs)]

use std::f64::consts::{PI, TAU};
use swardlane::route::order::costs::{Costs, Place};

pub const LENGTH_M: f64 = 105.0;
pub const BREADTH_M: f64 = 68.0;

#[derive(Debug, Clone, Copy)]
pub struct Setting {
    pub heading_deg: f64,
    pub width_m: f64,
    pub overlap_m: f64,
    pub is_even: bool,
    pub radius_m: f64,
    pub reach_m: f64,
}

pub struct Case {
    pub name: &'static str,
    pub setting: Setting,
    pub neighbour_m: f64,
    pub proven_m: f64,
    pub thorough_s: f64,
}

/// The reference cases. Their least turning was proved in an unpublished trial of the same search,
/// written apart from this one; no published source.
pub fn cases() -> Vec<Case> {
    let set = |heading_deg, width_m, overlap_m, is_even, radius_m, reach_m| Setting {
        heading_deg,
        width_m,
        overlap_m,
        is_even,
        radius_m,
        reach_m,
    };
    let case = |name, setting, neighbour_m, proven_m, thorough_s| Case {
        name,
        setting,
        neighbour_m,
        proven_m,
        thorough_s,
    };
    vec![
        case(
            "A",
            set(45.0, 2.0, 0.0, false, 3.0, 0.0),
            1170.67,
            897.0742,
            0.1,
        ),
        case(
            "B",
            set(45.0, 2.0, 0.0, true, 3.0, 0.0),
            1173.43,
            904.7183,
            0.1,
        ),
        case(
            "C",
            set(45.0, 2.0, 0.0, false, 3.0, 1.6),
            1118.05,
            877.3628,
            1.0,
        ),
        case(
            "D",
            set(45.0, 1.8, 0.1, true, 2.9, 1.6),
            1281.27,
            999.1508,
            5.0,
        ),
        case(
            "E",
            set(0.0, 1.8, 0.1, true, 2.9, 1.6),
            713.41,
            484.0552,
            0.1,
        ),
        case(
            "F",
            set(32.93, 1.8, 0.1, true, 2.9, 1.6),
            1209.49,
            952.5717,
            0.5,
        ),
    ]
}

/// Forty settings over the stated ranges, by a low-discrepancy sequence.
pub fn forty() -> Vec<Setting> {
    let steps = [0.754_877_666, 0.569_840_290, 0.438_579_021, 0.320_956_1];
    (1..=40)
        .map(|k| {
            let at = |axis: usize| (0.5 + f64::from(k) * steps[axis]).fract();
            Setting {
                heading_deg: 90.0 * at(0),
                radius_m: 1.5 + 4.5 * at(1),
                width_m: 1.2 + 1.8 * at(2),
                overlap_m: 0.0,
                is_even: k % 2 == 0,
                reach_m: 3.0 * at(3),
            }
        })
        .collect()
}

/// One line: offset and where it is worked from and to along the heading.
pub fn lines(setting: &Setting, length_m: f64, breadth_m: f64) -> Vec<(f64, f64, f64)> {
    let (sin, cos) = setting.heading_deg.to_radians().sin_cos();
    let corners: Vec<(f64, f64)> = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
        .iter()
        .map(|&(x, y)| (x * length_m, y * breadth_m))
        .map(|(x, y)| (x * cos + y * sin, -x * sin + y * cos))
        .collect();
    let low = corners.iter().map(|c| c.1).fold(f64::INFINITY, f64::min);
    let extent = -2.0 * low;
    let asked = setting.width_m - setting.overlap_m;
    let n = (((extent - setting.overlap_m) / asked - 1e-9).ceil() as usize).max(1);
    let (first, spacing) = if setting.is_even {
        let spacing = (extent - setting.width_m) / (n as f64 - 1.0);
        (low + setting.width_m / 2.0, spacing)
    } else {
        let surplus = n as f64 * asked + setting.overlap_m - extent;
        (low - surplus / 2.0 + setting.width_m / 2.0, asked)
    };
    (0..n)
        .map(|k| {
            let offset = first + k as f64 * spacing;
            let (from, to) = extent_within(&corners, offset, setting.width_m / 2.0);
            (offset, from, to)
        })
        .collect()
}

/// Where a strip meets a convex outline, along the heading.
fn extent_within(corners: &[(f64, f64)], offset: f64, half: f64) -> (f64, f64) {
    let (low, high) = (offset - half, offset + half);
    let mut met: Vec<f64> = Vec::new();
    for (index, &(x0, y0)) in corners.iter().enumerate() {
        let (x1, y1) = corners[(index + 1) % corners.len()];
        if y0 >= low && y0 <= high {
            met.push(x0);
        }
        for edge in [low, high] {
            if (y0 - edge) * (y1 - edge) < 0.0 {
                met.push(x0 + (x1 - x0) * (edge - y0) / (y1 - y0));
            }
        }
    }
    let least = met.iter().copied().fold(f64::INFINITY, f64::min);
    let most = met.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (least, most)
}

/// The table of wall-free links between lines, tenths of a millimetre rounded down.
pub fn table(setting: &Setting) -> Costs {
    table_of(setting, &lines(setting, LENGTH_M, BREADTH_M))
}

pub fn table_of(setting: &Setting, lines: &[(f64, f64, f64)]) -> Costs {
    table_by(setting, lines, |from, to| {
        dubins_m(from, to, setting.radius_m)
    })
}

fn table_by(
    setting: &Setting,
    lines: &[(f64, f64, f64)],
    cost_m: impl Fn((f64, f64, f64), (f64, f64, f64)) -> f64,
) -> Costs {
    let places = lines
        .iter()
        .map(|&(offset_m, from, to)| Place {
            offset_m,
            position_m: (from + to) / 2.0,
        })
        .collect();
    let reach = setting.reach_m;
    let pose = |node: usize, is_leaving: bool| {
        let (offset, from, to) = lines[node / 2];
        match (node % 2, is_leaving) {
            (0, true) => (to + reach, offset, 0.0),
            (0, false) => (from + reach, offset, 0.0),
            (_, true) => (from - reach, offset, PI),
            (_, false) => (to - reach, offset, PI),
        }
    };
    Costs::by_rule(places, |from, to| {
        (cost_m(pose(from, true), pose(to, false)) * 10_000.0).floor() as i64
    })
}

/// The same with each metre on the pitch counted `weight` times, by the word that is cheapest so.
pub fn weighted_table(setting: &Setting, weight: f64) -> Costs {
    let (sin, cos) = setting.heading_deg.to_radians().sin_cos();
    let is_on_pitch = |(x, y): (f64, f64)| {
        let (along, across) = (x * cos - y * sin, x * sin + y * cos);
        along.abs() < LENGTH_M / 2.0 && across.abs() < BREADTH_M / 2.0
    };
    let lines = lines(setting, LENGTH_M, BREADTH_M);
    table_by(setting, &lines, |from, to| {
        let mut words = words(from, to, setting.radius_m);
        words.sort_by(|one, other| length(one).total_cmp(&length(other)));
        let mut least_m = f64::INFINITY;
        for word in words {
            let length_m = length(&word) * setting.radius_m;
            if length_m < least_m {
                let on_pitch_m = on_pitch_m(from, &word, setting.radius_m, &is_on_pitch);
                least_m = least_m.min(length_m + (weight - 1.0) * on_pitch_m);
            }
        }
        least_m
    })
}

/// How much of a word lies on the pitch, metres: steps that cross its edge are halved until that is
/// found.
fn on_pitch_m(
    from: (f64, f64, f64),
    word: &Word,
    radius_m: f64,
    is_on_pitch: &impl Fn((f64, f64)) -> bool,
) -> f64 {
    const STEP_M: f64 = 0.04;
    let (mut x, mut y, mut heading) = from;
    let mut sum = 0.0;
    for &(bend, amount) in word {
        let (sin, cos) = heading.sin_cos();
        let place = |along: f64| {
            let (ahead, aside) = if bend == 0.0 {
                (along, 0.0)
            } else {
                (along.sin(), bend * (1.0 - along.cos()))
            };
            let (ahead_m, aside_m) = (radius_m * ahead, radius_m * aside);
            (
                x + cos * ahead_m - sin * aside_m,
                y + sin * ahead_m + cos * aside_m,
            )
        };
        let steps = (amount * radius_m / STEP_M).ceil().max(1.0);
        let mut was_on = is_on_pitch(place(0.0));
        for step in 0..steps as usize {
            let (mut low, mut high) = (step as f64, (step + 1) as f64);
            let is_on = is_on_pitch(place(amount * high / steps));
            if was_on == is_on {
                sum += if is_on { amount / steps } else { 0.0 };
                continue;
            }
            for _ in 0..20 {
                let middle = f64::midpoint(low, high);
                if is_on_pitch(place(amount * middle / steps)) == was_on {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            let before = low - step as f64;
            sum += amount / steps * if was_on { before } else { 1.0 - before };
            was_on = is_on;
        }
        (x, y) = place(amount);
        heading += bend * amount;
    }
    sum * radius_m
}

/// Three pieces: the bend (1 to the left, -1 to the right, 0 straight on), and radians or radii.
pub type Word = [(f64, f64); 3];

fn length(word: &Word) -> f64 {
    word.iter().map(|piece| piece.1).sum()
}

/// Length of the shortest of the six words of Dubins (1957).
pub fn dubins_m(from: (f64, f64, f64), to: (f64, f64, f64), radius_m: f64) -> f64 {
    let words = words(from, to, radius_m);
    words.iter().map(length).fold(f64::INFINITY, f64::min) * radius_m
}

/// Those of the six words of Dubins (1957) that lead from one place and heading to another.
pub fn words(from: (f64, f64, f64), to: (f64, f64, f64), radius_m: f64) -> Vec<Word> {
    const LEFT: f64 = 1.0;
    const STRAIGHT: f64 = 0.0;
    const RIGHT: f64 = -1.0;
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let d = dx.hypot(dy) / radius_m;
    let theta = dy.atan2(dx);
    let fold = |angle: f64| {
        let folded = angle.rem_euclid(TAU);
        if folded > TAU - 1e-9 { 0.0 } else { folded }
    };
    let (a, b) = (fold(from.2 - theta), fold(to.2 - theta));
    let (sa, sb, ca, cb, cab) = (a.sin(), b.sin(), a.cos(), b.cos(), (a - b).cos());
    let mut words = Vec::new();
    let p = 2.0 + d * d - 2.0 * cab + 2.0 * d * (sa - sb);
    if p >= 0.0 {
        let t = (cb - ca).atan2(d + sa - sb);
        words.push([
            (LEFT, fold(t - a)),
            (STRAIGHT, p.sqrt()),
            (LEFT, fold(b - t)),
        ]);
    }
    let p = 2.0 + d * d - 2.0 * cab + 2.0 * d * (sb - sa);
    if p >= 0.0 {
        let t = (ca - cb).atan2(d - sa + sb);
        words.push([
            (RIGHT, fold(a - t)),
            (STRAIGHT, p.sqrt()),
            (RIGHT, fold(t - b)),
        ]);
    }
    let p = -2.0 + d * d + 2.0 * cab + 2.0 * d * (sa + sb);
    if p >= 0.0 {
        let p = p.sqrt();
        let t = (-ca - cb).atan2(d + sa + sb) - (-2.0_f64).atan2(p);
        words.push([(LEFT, fold(t - a)), (STRAIGHT, p), (RIGHT, fold(t - b))]);
    }
    let p = -2.0 + d * d + 2.0 * cab - 2.0 * d * (sa + sb);
    if p >= 0.0 {
        let p = p.sqrt();
        let t = (ca + cb).atan2(d - sa - sb) - 2.0_f64.atan2(p);
        words.push([(RIGHT, fold(a - t)), (STRAIGHT, p), (LEFT, fold(b - t))]);
    }
    let p = (6.0 - d * d + 2.0 * cab + 2.0 * d * (sa - sb)) / 8.0;
    if p.abs() <= 1.0 {
        let p = fold(TAU - p.acos());
        let t = fold(a - (ca - cb).atan2(d - sa + sb) + p / 2.0);
        words.push([(RIGHT, t), (LEFT, p), (RIGHT, fold(a - b - t + p))]);
    }
    let p = (6.0 - d * d + 2.0 * cab + 2.0 * d * (sb - sa)) / 8.0;
    if p.abs() <= 1.0 {
        let p = fold(TAU - p.acos());
        let t = fold(-a - (ca - cb).atan2(d + sa - sb) + p / 2.0);
        words.push([(LEFT, t), (RIGHT, p), (LEFT, fold(b - a - t + p))]);
    }
    words
}
