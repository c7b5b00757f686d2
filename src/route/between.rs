//! What a machine drives between two ends on given ground, and what that costs.

use super::chains::Ways;
use super::dubins;
use super::machine::Machine;
use super::order::Effort;
use super::path::{self, Path, Piece};
use super::reeds_shepp;
use super::terrain::Terrain;
use super::turn::{End, Turn, Weights, best_turn_like, followed_turn};

/// Nearer than this, metres and radians, is there.
const THERE: f64 = 1e-9;

/// What drives where, at which cost.
#[derive(Debug, Clone, Copy)]
pub struct Drive<'a> {
    /// The machine.
    pub machine: &'a Machine,
    /// The ground.
    pub terrain: &'a Terrain,
    /// What a metre and a change of direction cost.
    pub weights: &'a Weights,
    /// Whether turns are moved to their least.
    pub refines: bool,
}

impl Drive<'_> {
    /// The same by the means of an effort.
    pub(super) fn of(self, effort: Effort) -> Self {
        Self {
            refines: effort != Effort::Quick,
            ..self
        }
    }

    /// The same for links that an order need not use: a machine that may reverse takes turns as
    /// they are found, for of its many candidates the best is near its least, and to refine it
    /// takes long.
    pub(super) const fn rough(self) -> Self {
        Self {
            refines: self.refines && !self.machine.can_reverse,
            ..self
        }
    }

    /// The same for links that only tell what orders cost at least: turns are taken as they are
    /// found.
    pub(super) const fn unrefined(self) -> Self {
        Self {
            refines: false,
            ..self
        }
    }

    /// The shortest path between two ends where it stays on allowed ground; of equals the first
    /// that does.
    pub(super) fn direct(self, from: &End<'_>, to: &End<'_>) -> Option<Turn> {
        let machine = self.machine;
        let words = if machine.can_reverse {
            let changes = reeds_shepp::Changes {
                each_m: self.weights.change_m,
                forwards_before: from.of_work,
                forwards_after: to.of_work,
            };
            reeds_shepp::all_cheapest(from.pose, to.pose, machine.radii, &changes)
        } else {
            dubins::all_shortest(from.pose, to.pose, machine.radii)
        };
        words.iter().find_map(|word| self.priced(from, to, word))
    }

    /// Pieces driven from one end to another, where they stay on allowed ground.
    fn priced(self, from: &End<'_>, to: &End<'_>, pieces: &[Piece]) -> Option<Turn> {
        let machine = self.machine;
        if !self.terrain.allows(machine, from.pose, pieces) {
            return None;
        }
        let length_m: f64 = pieces.iter().map(|piece| piece.length_m).sum();
        let on_pitch_m = self.terrain.on_pitch_m(machine.radii, from.pose, pieces);
        let changes = path::changes(pieces, from.of_work, to.of_work);
        let cost_m = length_m
            + (self.weights.on_pitch - 1.0) * on_pitch_m
            + self.weights.change_m * changes as f64;
        Some(Turn {
            path: Path::new(from.pose, machine.radii, pieces.iter().copied()),
            cost_m,
            length_m,
            on_pitch_m,
            changes,
        })
    }
}

impl Ways<End<'_>> for Drive<'_> {
    /// The cheapest turn between two ends, searched by all means, some others' among them.
    fn searched(&self, from: &End<'_>, to: &End<'_>, shapes: &[&[Piece]]) -> Option<Turn> {
        best_turn_like(
            from,
            to,
            self.machine,
            self.terrain,
            self.weights,
            shapes,
            self.refines,
        )
    }

    /// The cheapest of some turns, driven from here just as they are, that lead there.
    fn copied(&self, from: &End<'_>, to: &End<'_>, shapes: &[&[Piece]]) -> Option<Turn> {
        let leads_there = |pieces: &[Piece]| {
            let end = pieces
                .iter()
                .fold(from.pose, |at, piece| at.after(piece, self.machine.radii));
            end.distance_m(to.pose) < THERE && end.heading_difference_rad(to.pose) < THERE
        };
        let turns = shapes.iter().filter(|pieces| leads_there(pieces));
        turns
            .filter_map(|pieces| self.priced(from, to, pieces))
            .reduce(|best, turn| {
                if turn.cost_m < best.cost_m {
                    turn
                } else {
                    best
                }
            })
    }

    fn followed(
        &self,
        from: &End<'_>,
        to: &End<'_>,
        shapes: &[&[Piece]],
        limit_m: f64,
    ) -> Option<Turn> {
        let Self {
            machine,
            terrain,
            weights,
            ..
        } = self;
        followed_turn(from, to, machine, terrain, weights, shapes, limit_m)
    }
}

#[cfg(test)]
mod tests {
    use geo::{MultiPolygon, polygon};

    use super::super::machine::Body;
    use super::super::path::Radii;
    use super::super::pose::Pose;
    use super::*;

    /// Back to a line driven the same way: round by the left is as long as by the right, and a
    /// wall may be at either side.
    #[test]
    fn of_two_shortest_paths_the_free_one_is_driven() {
        let weights = Weights {
            on_pitch: 1.0,
            change_m: 20.0,
        };
        let end = |x, y| End {
            pose: Pose::new(x, y, 0.0),
            way: None,
            of_work: true,
        };
        for can_reverse in [false, true] {
            let machine = Machine {
                radii: Radii::both(3.0),
                body: Body {
                    width_m: 1.2,
                    ahead_m: 1.5,
                    behind_m: 0.6,
                },
                tool_width_m: 1.2,
                reach_m: 0.8,
                can_reverse,
            };
            for (low_m, high_m) in [(-40.0, 4.5), (-4.5, 40.0)] {
                let ground = polygon![(x: -40.0, y: low_m), (x: 40.0, y: low_m), (x: 40.0, y: high_m), (x: -40.0, y: high_m)];
                let terrain = Terrain::new(&MultiPolygon(vec![ground.clone()]), &ground);
                let drive = Drive {
                    machine: &machine,
                    terrain: &terrain,
                    weights: &weights,
                    refines: true,
                };
                let turn = drive.direct(&end(0.0, 0.0), &end(-8.0, 2.0));
                let length_m = turn.map_or(0.0, |turn| turn.length_m);
                let least_m = 6.0 * std::f64::consts::PI + 68.0_f64.sqrt();
                approx::assert_abs_diff_eq!(length_m, least_m, epsilon = 1e-9);
            }
        }
    }
}
