//! Turns of an earlier table, to drive new ones after.
//!
//! Where a width, an angle, a start or the ground was changed a little, most turns are driven much
//! as one was before: over nearly as many metres, at nearly the same place. So a turn is first
//! tried as those most like it, which takes a hundredth of a search.

use super::alike::{Mean, Ratios};
use super::between::Drive;
use super::bound;
use super::chains::Known;
use super::gates::Side;
use super::link_table::LinkTable;
use super::path::Piece;
use super::pose::Pose;
use super::turn::Turn;
use crate::space::Xy;

/// So many turns are followed, the most alike first.
const FOLLOWED: usize = 3;
/// A metre between the places of two turns makes them as unlike as this many metres between
/// where they lead.
const PLACE: f64 = 0.2;
/// A radian between where two turns lead, or where they begin, makes them as unlike as this many
/// metres.
const RADIAN_M: f64 = 10.0;

/// A turn that was driven, and how many times its least cost it costs, as told at once.
#[derive(Debug, Clone)]
pub(super) struct Driven {
    pub(super) turn: Turn,
    pub(super) times_least: f64,
    /// Where it leads, seen from where it begins.
    leads: Pose,
}

/// What was driven before.
#[derive(Debug)]
pub(super) struct Earlier {
    pub(super) ratios: Ratios,
    turns: Vec<Driven>,
    ways: [Vec<Driven>; 2],
}

impl Earlier {
    /// The turns of a table, measured by the least costs that a machine is told at once
    /// ([`bound::apart_cost_m`]).
    pub(super) fn of(table: &LinkTable, drive: Drive<'_>) -> Self {
        let least_m = |from: Pose, to: Pose| {
            bound::apart_cost_m(from, to, drive.machine, drive.weights).max(f64::MIN_POSITIVE)
        };
        let all = |known: &mut dyn Iterator<Item = &Known>| {
            let turns = known.filter_map(|known| {
                let turn = known.turn.clone()?;
                let (start, end) = (turn.path.start, turn.path.end());
                Some(Driven {
                    times_least: turn.cost_m / least_m(start, end),
                    leads: seen_from(start, end),
                    turn,
                })
            });
            turns.collect::<Vec<_>>()
        };
        let [into, out] = &table.ways;
        Self {
            ratios: table.all_ratios(least_m),
            turns: all(&mut table.known.values()),
            ways: [all(&mut into.values()), all(&mut out.values())],
        }
    }

    /// How many times their least costs the ways in or out cost.
    pub(super) fn way_ratio(&self, side: Side) -> Mean {
        let ways = &self.ways[side as usize];
        Mean::of(ways.iter().map(|way| way.times_least))
    }

    /// The turns most like one between two poses.
    pub(super) fn alike(&self, from: Pose, to: Pose) -> Vec<&Driven> {
        let leads = seen_from(from, to);
        let unlike = |driven: &Driven| {
            let start = driven.turn.path.start;
            let way = driven.leads.distance_m(leads)
                + RADIAN_M * driven.leads.heading_difference_rad(leads);
            let place = start.distance_m(from) + RADIAN_M * start.heading_difference_rad(from);
            PLACE.mul_add(place, way)
        };
        let mut nearest: Vec<(f64, &Driven)> = Vec::with_capacity(FOLLOWED + 1);
        for driven in &self.turns {
            let unlike = unlike(driven);
            let at = nearest.partition_point(|(other, _)| *other <= unlike);
            if at < FOLLOWED {
                nearest.insert(at, (unlike, driven));
                nearest.truncate(FOLLOWED);
            }
        }
        nearest.into_iter().map(|(_, driven)| driven).collect()
    }

    /// The ways in or out most like one at this end of a part.
    pub(super) fn ways_alike(&self, side: Side, at: Pose) -> Vec<&Driven> {
        let unlike = |driven: &Driven| {
            let own = match side {
                Side::In => driven.turn.path.end(),
                Side::Out => driven.turn.path.start,
            };
            own.distance_m(at) + RADIAN_M * own.heading_difference_rad(at)
        };
        let ways = self.ways[side as usize].iter();
        let mut ways: Vec<(f64, &Driven)> = ways.map(|way| (unlike(way), way)).collect();
        ways.sort_by(|a, b| a.0.total_cmp(&b.0));
        let nearest = ways.into_iter().take(FOLLOWED);
        nearest.map(|(_, driven)| driven).collect()
    }
}

/// The pieces of turns.
pub(super) fn shapes<'a>(turns: &[&'a Driven]) -> Vec<&'a [Piece]> {
    let pieces = turns.iter().map(|driven| &driven.turn.path.pieces[..]);
    pieces.collect()
}

/// A pose as seen from another.
fn seen_from(from: Pose, to: Pose) -> Pose {
    let (sin, cos) = from.heading_rad.sin_cos();
    let over = to.at - from.at;
    let at = Xy {
        x: over.x * cos + over.y * sin,
        y: over.y * cos - over.x * sin,
    };
    Pose {
        at,
        heading_rad: to.heading_rad - from.heading_rad,
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::super::path::{Bend, Path, Radii};
    use super::*;

    /// Half a circle to the left over twice the radius, from a place on the x axis.
    fn half_circle(x: f64, radius_m: f64) -> Driven {
        let start = Pose::new(x, 0.0, PI / 2.0);
        let pieces = [Piece::forwards(Bend::Left, PI * radius_m)];
        let path = Path::new(start, Radii::both(radius_m), pieces);
        let length_m = path.length_m();
        Driven {
            leads: seen_from(start, path.end()),
            times_least: 1.0,
            turn: Turn {
                path,
                cost_m: length_m,
                length_m,
                on_pitch_m: 0.0,
                changes: 0,
            },
        }
    }

    #[test]
    fn first_comes_what_leads_as_far_then_what_is_near_by() {
        let turns = [(0.0, 3.0), (40.0, 3.0), (50.0, 3.0), (49.0, 6.0)];
        let earlier = Earlier {
            ratios: Ratios::default(),
            turns: turns.map(|(x, r)| half_circle(x, r)).to_vec(),
            ways: [Vec::new(), Vec::new()],
        };
        let from = Pose::new(50.5, 0.0, PI / 2.0);
        let to = Pose::new(44.4, 0.0, 3.0 * PI / 2.0);
        let alike = earlier.alike(from, to);
        let places: Vec<f64> = alike.iter().map(|at| at.turn.path.start.at.x).collect();
        assert_eq!(places, [50.0, 40.0, 49.0]);
    }
}
