//! Hauls: the way from where the tool is lifted to the stockpile, and from there to where it is
//! lowered, by the same turn search and the same cost rule as any other move.
//!
//! The machine is at a stockpile when the middle of its rear axle stands at the pile's middle (or
//! the nearest allowed ground), in one of 16 headings from which it can turn near by, where there
//! are such; it leaves as it stands. What a haul costs
//! at least is told in two steps, so that few are worked out: by the straight, then by the
//! shortest paths without walls.

use geo::{Centroid, MultiPolygon};
use rayon::prelude::*;

use crate::ground::{Ground, curves};
use crate::region;
use crate::route::between::Drive;
use crate::route::bound::least_cost_m;
use crate::route::drive::{OVERHANG_M, all_round, entrances, on_ground};
use crate::route::links::tenths;
use crate::route::order::{Effort, FORBIDDEN};
use crate::route::path::Path;
use crate::route::pose::Pose;
use crate::route::terrain::Terrain;
use crate::route::turn::{End, Turn, best_turn};
use crate::route::way_out::{Use, way_out};
use crate::space::Xy;

/// So many ways of standing at a stockpile are worked out for one refill, the most promising
/// first.
const fn tried(effort: Effort) -> usize {
    match effort {
        Effort::Quick => 1,
        Effort::Normal => 2,
        Effort::Thorough => 4,
    }
}

/// What is not worked out is taken to cost more than at least by one part in so many.
const DEARER: i64 = 5;

/// So many more are looked at where some of them cannot be driven.
const MORE_TRIED: usize = 3;

/// The ground of hauls and the places to load at.
#[derive(Debug)]
pub(in crate::route) struct Yard {
    /// Allowed ground with the stockpiles themselves, and what the body may overhang about them.
    pub terrain: Terrain,
    places: Vec<Xy>,
}

/// The yard of a ground; `None` where no stockpile is placed.
pub(in crate::route) fn yard(ground: &Ground) -> Option<Yard> {
    let is_pile =
        |role: &crate::job::model::Role| matches!(role, crate::job::model::Role::Stockpile { .. });
    let piles = ground.kept.iter().filter(|kept| is_pile(&kept.role));
    let middles: Vec<_> = piles.filter_map(|pile| pile.shape.centroid()).collect();
    if middles.is_empty() {
        return None;
    }
    let things = ground
        .kept
        .iter()
        .filter(|kept| kept.stops_the_body() && !is_pile(&kept.role));
    let things: Vec<MultiPolygon<f64>> = things.map(|kept| kept.kept_clear.clone()).collect();
    let things = region::union(&things);
    let allowed = region::difference(&ground.grass, &things);
    let overhung = middles.iter().map(|middle| middle.0);
    let discs: Vec<MultiPolygon<f64>> = overhung
        .chain(entrances(ground))
        .map(|at| MultiPolygon(vec![curves::disc(at, OVERHANG_M)]))
        .collect();
    let about = region::difference(&region::union(&discs), &things);
    let body_ground = region::union(&[allowed.clone(), about]);
    Some(Yard {
        places: middles
            .iter()
            .map(|middle| on_ground(&allowed, *middle).0)
            .collect(),
        terrain: Terrain::new(&allowed, &ground.outline).with_overhang(&body_ground),
    })
}

/// Where a refill leaves the work, or takes it up again.
#[derive(Debug, Clone, Copy)]
pub(super) struct WorkEnd<'a> {
    /// The axle where the tool is lifted, or lowered.
    pub pose: Pose,
    /// The way out of this end, or in at it, where one is known.
    pub way: Option<&'a Path>,
}

impl<'a> WorkEnd<'a> {
    const fn end(self) -> End<'a> {
        End {
            pose: self.pose,
            way: self.way,
            of_work: true,
        }
    }
}

/// The way to the stockpile and the way back.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Haul {
    pub to: Turn,
    pub back: Turn,
}

impl Haul {
    /// Both ways, tenths of a millimetre.
    pub(super) fn cost(&self) -> i64 {
        tenths(self.to.cost_m) + tenths(self.back.cost_m)
    }
}

/// What hauls of one machine cost.
#[derive(Debug)]
pub(super) struct Hauls<'a> {
    drive: Drive<'a>,
    places: &'a [Xy],
    docks: Vec<Dock>,
    tried: usize,
}

/// A way of standing at a stockpile.
#[derive(Debug)]
struct Dock {
    pose: Pose,
    /// The ways in and out at it; `None` where a short one is not to be had.
    ways: Option<(Path, Path)>,
}

impl Dock {
    /// With the ways in and out, where the ground lets the machine turn near by.
    fn of(pose: Pose, drive: Drive<'_>) -> Self {
        let way = |used| way_out(drive.terrain, drive.machine, pose, used, 0.0);
        let ways = way(Use::ComesIn).zip(way(Use::Leaves));
        Self {
            pose,
            ways: ways.map(|(way_in, way_out)| (way_in.path, way_out.path)),
        }
    }

    fn reached(&self) -> End<'_> {
        End {
            pose: self.pose,
            way: self.ways.as_ref().map(|ways| &ways.0),
            of_work: false,
        }
    }

    fn left(&self) -> End<'_> {
        End {
            pose: self.pose,
            way: self.ways.as_ref().map(|ways| &ways.1),
            of_work: false,
        }
    }
}

impl<'a> Hauls<'a> {
    /// The hauls of a machine in a yard; `None` where it can stand at no stockpile.
    pub(super) fn new(yard: &'a Yard, drive: Drive<'a>, effort: Effort) -> Option<Self> {
        let drive = Drive {
            terrain: &yard.terrain,
            ..drive
        };
        let poses: Vec<Pose> = yard.places.iter().copied().flat_map(all_round).collect();
        let mut docks: Vec<Dock> = poses
            .into_par_iter()
            .filter(|pose| yard.terrain.allows_pose(drive.machine, *pose))
            .map(|pose| Dock::of(pose, drive))
            .collect();
        if docks.iter().any(|dock| dock.ways.is_some()) {
            docks.retain(|dock| dock.ways.is_some());
        }
        (!docks.is_empty()).then_some(Self {
            drive,
            places: &yard.places,
            docks,
            tried: tried(effort),
        })
    }

    /// What a haul costs at least, by straights, tenths of a millimetre.
    pub(super) fn least_by_straights(&self, from: Pose, to: Pose) -> i64 {
        let terrain = self.drive.terrain;
        let on_pitch = self.drive.weights.on_pitch;
        let (from_edge_m, to_edge_m) = (terrain.into_pitch_m(from.at), terrain.into_pitch_m(to.at));
        let straight_m = |a: Xy, b: Xy, edge_m: f64| {
            let length_m = (b.x - a.x).hypot(b.y - a.y);
            if on_pitch >= 1.0 {
                length_m + (on_pitch - 1.0) * edge_m.min(length_m)
            } else {
                length_m * on_pitch
            }
        };
        let ways = self.places.iter().map(|&pile| {
            tenths(straight_m(from.at, pile, from_edge_m))
                + tenths(straight_m(pile, to.at, to_edge_m))
        });
        ways.min().unwrap_or(0)
    }

    /// What a haul costs at least, without walls, tenths of a millimetre.
    pub(super) fn least_without_walls(&self, from: WorkEnd<'_>, to: WorkEnd<'_>) -> i64 {
        let least = self.by_dock(from, to).into_iter().map(|(least, _)| least);
        least.min().unwrap_or(0)
    }

    /// What it costs at least, without walls, to come to each way of standing at a stockpile.
    pub(super) fn least_to(&self, from: WorkEnd<'_>) -> Vec<i64> {
        let docks = self.docks.iter();
        docks
            .map(|dock| self.least(&from.end(), &dock.reached()))
            .collect()
    }

    /// What it costs at least, without walls, to leave each for the work.
    pub(super) fn least_back(&self, to: WorkEnd<'_>) -> Vec<i64> {
        let docks = self.docks.iter();
        docks
            .map(|dock| self.least(&dock.left(), &to.end()))
            .collect()
    }

    /// What it costs to come to each: the most promising as worked out, the others a share more
    /// than at least.
    pub(super) fn about_to(&self, from: WorkEnd<'_>) -> Vec<i64> {
        self.about(self.least_to(from), |dock| {
            self.turn(&from.end(), &dock.reached())
        })
    }

    /// What it costs to leave each for the work, likewise.
    pub(super) fn about_back(&self, to: WorkEnd<'_>) -> Vec<i64> {
        self.about(self.least_back(to), |dock| {
            self.turn(&dock.left(), &to.end())
        })
    }

    /// By way of standing, from what each costs at least and how its turn is worked out.
    fn about(&self, least: Vec<i64>, turn: impl Fn(&Dock) -> Option<Turn>) -> Vec<i64> {
        let mut by_least: Vec<usize> = (0..least.len()).collect();
        by_least.sort_by_key(|&dock| least[dock]);
        let mut about: Vec<i64> = least.iter().map(|cost| cost + cost / DEARER).collect();
        for dock in by_least.into_iter().take(self.tried) {
            let turn = turn(&self.docks[dock]);
            about[dock] = turn.map_or(FORBIDDEN, |turn| tenths(turn.cost_m));
        }
        about
    }

    fn least(&self, from: &End<'_>, to: &End<'_>) -> i64 {
        let Drive {
            machine,
            terrain,
            weights,
            ..
        } = self.drive;
        tenths(least_cost_m(from, to, machine, terrain, weights))
    }

    /// What the haul by each dock costs at least.
    fn by_dock(&self, from: WorkEnd<'_>, to: WorkEnd<'_>) -> Vec<(i64, &Dock)> {
        let there_and_back = self.least_to(from).into_iter().zip(self.least_back(to));
        let costs = there_and_back.map(|(there, back)| there + back);
        costs.zip(&self.docks).collect()
    }

    /// The cheapest haul of those tried; `None` where none of them can be driven.
    pub(super) fn work_out(&self, from: WorkEnd<'_>, to: WorkEnd<'_>) -> Option<Haul> {
        let mut docks = self.by_dock(from, to);
        docks.sort_by_key(|(least, _)| *least);
        let mut best: Option<Haul> = None;
        let mut found = 0;
        for (least, dock) in docks.into_iter().take(self.tried + MORE_TRIED) {
            let is_enough = best.as_ref().is_some_and(|best| least >= best.cost());
            if is_enough || found == self.tried {
                break;
            }
            let Some(to_pile) = self.turn(&from.end(), &dock.reached()) else {
                continue;
            };
            let Some(back) = self.turn(&dock.left(), &to.end()) else {
                continue;
            };
            found += 1;
            let haul = Haul { to: to_pile, back };
            if best.as_ref().is_none_or(|best| haul.cost() < best.cost()) {
                best = Some(haul);
            }
        }
        best
    }

    fn turn(&self, from: &End<'_>, to: &End<'_>) -> Option<Turn> {
        let drive = self.drive;
        best_turn(from, to, drive.machine, drive.terrain, drive.weights)
    }
}
