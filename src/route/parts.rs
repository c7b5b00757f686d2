//! The parts of a direction as a machine drives them: where they lie and the runs along them.

use geo::Centroid;

use super::between::Drive;
use super::drive::Trouble;
use super::order::{Node, Place};
use super::pose::Pose;
use super::runs::{self, PartOf, Run, Stuck};
use super::search::Found;
use super::way_out::Use;
use crate::passes::DirectionPasses;
use crate::space::Xy;

/// The parts of a direction that can be driven.
#[derive(Debug, Clone)]
pub(super) struct Parts {
    /// The direction as laid.
    pub laid: DirectionPasses,
    pub ids: Vec<PartOf>,
    pub places: Vec<Place>,
    /// By node.
    pub runs: Vec<Option<Run>>,
    /// Those that cannot be driven either way.
    pub stuck: Vec<Trouble>,
}

impl Parts {
    pub(super) fn of(index: usize, passes: &DirectionPasses, drive: Drive<'_>) -> Self {
        let mut parts = Self {
            laid: passes.clone(),
            ids: Vec::new(),
            places: Vec::new(),
            runs: Vec::new(),
            stuck: Vec::new(),
        };
        let along = passes
            .angle
            .map_or(Xy { x: 1.0, y: 0.0 }, |angle| angle.unit());
        for (id, ways) in runs::both_ways(passes, drive.machine, drive.terrain) {
            let pass = &passes.passes[id.pass];
            let part = &pass.parts[id.part];
            if let [Err(first), Err(_)] = &ways {
                parts.stuck.push(Trouble {
                    direction: index,
                    pass: pass.number,
                    part: part.number,
                    at: first.at.at,
                    stuck: Some(*first),
                    shortened_m: 0.0,
                    remedies: None,
                });
                continue;
            }
            let line = runs::line_of(&part.track, false);
            let middle = line.centroid().map_or(Xy::default(), |point| point.0);
            let is_round = passes.angle.is_none();
            parts.ids.push(id);
            parts.places.push(Place {
                // Rounds lie one inside the other: in the order of their numbers.
                offset_m: if is_round {
                    pass.number as f64
                } else {
                    middle.y * along.x - middle.x * along.y
                },
                position_m: if is_round {
                    part.number as f64
                } else {
                    middle.x * along.x + middle.y * along.y
                },
            });
            parts.runs.extend(ways.map(Result::ok));
        }
        parts
    }

    /// The end that an order shortens most.
    pub(super) fn worst(
        &self,
        found: &Found,
        passes: &DirectionPasses,
        direction: usize,
    ) -> Option<Trouble> {
        let ends = found.order.iter().filter_map(|&node| {
            let run = self.runs[node].as_ref()?;
            Some([
                (
                    run.way_in.shortened_m,
                    run.lowered.ahead(-run.way_in.shortened_m),
                    node,
                    Use::ComesIn,
                ),
                (
                    run.way_out.shortened_m,
                    run.lifted.ahead(run.way_out.shortened_m),
                    node,
                    Use::Leaves,
                ),
            ])
        });
        let worst =
            ends.flatten().fold(
                None,
                |worst: Option<(f64, Pose, Node, Use)>, end| match worst {
                    Some(worst) if worst.0 >= end.0 => Some(worst),
                    _ => Some(end),
                },
            );
        let (shortened_m, at, node, end) = worst.filter(|worst| worst.0 > 0.0)?;
        let id = self.ids[node / 2];
        let pass = &passes.passes[id.pass];
        Some(Trouble {
            direction,
            pass: pass.number,
            part: pass.parts[id.part].number,
            at: at.at,
            stuck: Some(Stuck { at, end }),
            shortened_m,
            remedies: None,
        })
    }
}
