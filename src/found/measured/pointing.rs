//! Which way the lines of a group point and how far apart they lie: sorted by how they lie, then by
//! how far they lie to the left; what lies between neighbours is the spacing.

use std::collections::BTreeMap;

use super::plane::Laid;
use super::{Group, Pointing, Spacing};
use crate::space::{Heading, Xy};

/// Lines that differ by no more point the same way, degrees.
const ALIKE_DEG: f64 = 0.2;
/// Lines nearer than this lie on each other: parts of one pass, metres.
const SAME_LINE_M: f64 = 0.02;
/// Spacings that differ by no more than this are regular: metres, and as a share.
const REGULAR_M: f64 = 0.05;
const REGULAR_SHARE: f64 = 0.05;

/// Lines by the groups that hold them, in the order in which the file comes to these.
pub(super) fn groups(laid: Vec<(&[String], Laid)>) -> Vec<Group> {
    let mut order: Vec<&[String]> = Vec::new();
    let mut by_group: BTreeMap<&[String], Vec<Laid>> = BTreeMap::new();
    for (within, line) in laid {
        let lines = by_group.entry(within).or_insert_with(|| {
            order.push(within);
            Vec::new()
        });
        lines.push(line);
    }
    order
        .into_iter()
        .filter_map(|within| Some((within, by_group.remove(within)?)))
        .map(|(within, lines)| {
            let length_m = lines.iter().map(|line| line.length_m).sum();
            Group {
                within: within.to_vec(),
                lines: lines.len(),
                bent: lines
                    .iter()
                    .filter(|line| line.heading_deg.is_none())
                    .count(),
                length_m,
                headings: pointings(&lines, length_m),
            }
        })
        .collect()
}

/// The ways in which lines point, the one with the most metres first.
fn pointings(lines: &[Laid], whole_m: f64) -> Vec<Pointing> {
    let mut straight: Vec<(f64, f64, &Laid)> = lines
        .iter()
        .filter_map(|line| {
            let heading_deg = line.heading_deg?;
            Some((heading_deg.rem_euclid(180.0), heading_deg, line))
        })
        .collect();
    straight.sort_by(|one, other| one.0.total_cmp(&other.0));
    // Begin behind the widest gap, so that lines about north stay together.
    let count = straight.len();
    let gap = |index: usize| {
        let before = straight[(index + count - 1) % count].0;
        (straight[index].0 - before).rem_euclid(180.0)
    };
    let first =
        (0..count).max_by(|one, other| gap(*one).total_cmp(&gap(*other)).then(other.cmp(one)));
    straight.rotate_left(first.unwrap_or(0));
    let start_deg = straight.first().map_or(0.0, |line| line.0);
    let lies = |line: &(f64, f64, &Laid)| (line.0 - start_deg).rem_euclid(180.0);
    let mut rest = straight.as_slice();
    let mut pointings = Vec::new();
    while let Some(first) = rest.first() {
        let from_deg = lies(first);
        let alike = rest
            .iter()
            .take_while(|line| lies(line) - from_deg <= ALIKE_DEG)
            .count();
        let (these, others) = rest.split_at(alike);
        rest = others;
        pointings.push(pointing(these, whole_m));
    }
    pointings.sort_by(|one, other| {
        other
            .share
            .total_cmp(&one.share)
            .then(one.heading_deg.total_cmp(&other.heading_deg))
    });
    pointings
}

/// Lines that lie alike: (how it lies, its heading, the line).
fn pointing(lines: &[(f64, f64, &Laid)], whole_m: f64) -> Pointing {
    let first_deg = lines.first().map_or(0.0, |line| line.0);
    let turned = |lies_deg: f64| (lies_deg - first_deg + 90.0).rem_euclid(180.0) - 90.0;
    let length_m: f64 = lines.iter().map(|line| line.2.length_m).sum();
    let sum: f64 = lines
        .iter()
        .map(|line| turned(line.0) * line.2.length_m)
        .sum();
    let mean_deg = first_deg + if length_m > 0.0 { sum / length_m } else { 0.0 };
    let with = lines
        .iter()
        .filter(|line| (line.1 - mean_deg).to_radians().cos() > 0.0)
        .count();
    let is_turned = with * 2 < lines.len();
    let heading = Heading::from_deg(if is_turned {
        mean_deg + 180.0
    } else {
        mean_deg
    });
    Pointing {
        heading_deg: heading.deg(),
        lines: lines.len(),
        other_way: if is_turned { with } else { lines.len() - with },
        share: if whole_m > 0.0 {
            length_m / whole_m
        } else {
            0.0
        },
        spacing: spacing(lines, mean_deg),
    }
}

fn spacing(lines: &[(f64, f64, &Laid)], heading_deg: f64) -> Option<Spacing> {
    let (sin, cos) = heading_deg.to_radians().sin_cos();
    let to_left = |at: Xy| at.y * sin - at.x * cos;
    let mut offsets: Vec<f64> = lines.iter().map(|line| to_left(line.2.middle)).collect();
    offsets.sort_by(f64::total_cmp);
    offsets.dedup_by(|next, kept| *next - *kept <= SAME_LINE_M);
    let mut gaps: Vec<f64> = offsets.windows(2).map(|pair| pair[1] - pair[0]).collect();
    gaps.sort_by(f64::total_cmp);
    let (least_m, greatest_m) = (*gaps.first()?, *gaps.last()?);
    let median_m = f64::midpoint(gaps[(gaps.len() - 1) / 2], gaps[gaps.len() / 2]);
    Some(Spacing {
        count: gaps.len(),
        median_m,
        least_m,
        greatest_m,
        regular: greatest_m - least_m <= REGULAR_M.max(REGULAR_SHARE * median_m),
    })
}
