//! The cheapest turn found between two ends on given ground.
//!
//! 1. Stubs: a turn may begin with an arc of 30, 60, … degrees, as far as free, and end with
//!    one; with reversing also straight back, or with one change ([`stubs`](super::stubs)).
//!    Between each two stubs the shortest word that fits. This is [`quick_turn`]: its
//!    candidates do not depend on the ground, so no answer costs more where ground grows.
//! 2. [`best_turn`] goes on: each end's own way out or in as a stub, poses along walls to go
//!    by, drives round along the walls, and the best of all moved to its least (`refine`). It
//!    never costs more.
//!
//! Candidates are tried by what they must at least cost, and left as soon as that reaches the
//! best so far. Nothing depends on the clock, and of equals the first stays.

use super::bound;
use super::dubins;
use super::machine::Machine;
use super::path::{LEAST_PIECE_M, Path, Piece, Radii, changes};
use super::pose::{Pose, Stance};
use super::reeds_shepp::{self, Changes};
use super::refine;
use super::stubs::{Side, Stub, stubs};
use super::sweep::Footprint;
use super::terrain::Terrain;
use super::words::{MOST_PIECES, Word};
use crate::space::Xy;

/// What counts in a turn beside its metres off the pitch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// A metre on the pitch counts as this many.
    pub on_pitch: f64,
    /// A change of driving direction counts as this many metres.
    pub change_m: f64,
}

/// One end of a turn.
#[derive(Debug, Clone, Copy)]
pub struct End<'a> {
    /// Where the machine stands when it lifts or lowers its tool (or at an entrance).
    pub pose: Pose,
    /// The way out of this end, or in at it, where one is known: it begins or ends here.
    pub way: Option<&'a Path>,
    /// Whether work, driven forwards, joins here: then a joint in reverse is a change.
    pub of_work: bool,
}

/// A turn that can be driven.
#[derive(Debug, Clone, PartialEq)]
pub struct Turn {
    /// The path of the middle of the rear axle.
    pub path: Path,
    /// Metres off the pitch, weighed metres on it, and changes, together.
    pub cost_m: f64,
    /// Length, metres.
    pub length_m: f64,
    /// Metres of it on the pitch.
    pub on_pitch_m: f64,
    /// Changes of driving direction, those where it joins work included.
    pub changes: usize,
}

/// A first answer: the cheapest of fixed candidates. `None` where none of them fits.
#[must_use]
pub fn quick_turn(
    from: &End<'_>,
    to: &End<'_>,
    machine: &Machine,
    terrain: &Terrain,
    weights: &Weights,
) -> Option<Turn> {
    let task = Task::new(from, to, machine, terrain, weights)?;
    let mut best = Best::NONE;
    task.try_fixed(&mut best);
    task.turn(best)
}

/// The cheapest turn found by all means: never dearer than [`quick_turn`]'s, and found where
/// that finds none.
#[must_use]
pub fn best_turn(
    from: &End<'_>,
    to: &End<'_>,
    machine: &Machine,
    terrain: &Terrain,
    weights: &Weights,
) -> Option<Turn> {
    best_turn_like(from, to, machine, terrain, weights, &[], true)
}

/// As [`best_turn`], with turns known to be good elsewhere as further candidates, the first to
/// be tried: what costs more than they do need not be looked at. Where it is not `refined` the
/// best of the fixed candidates is taken as it is, and others are tried only where none fits.
#[must_use]
pub fn best_turn_like(
    from: &End<'_>,
    to: &End<'_>,
    machine: &Machine,
    terrain: &Terrain,
    weights: &Weights,
    shapes: &[&[Piece]],
    refined: bool,
) -> Option<Turn> {
    let task = Task::new(from, to, machine, terrain, weights)?.coarse(!refined);
    let mut best = Best::NONE;
    for shape in shapes {
        task.follow(shape, &mut best);
    }
    task.try_all(from.way, to.way, refined, &mut best);
    if refined {
        refine::refine(&task, &mut best);
    }
    task.turn(best)
}

/// The cheapest turn between any of some pairs of ends, in metres of cost; the most promising
/// pair is best given first. Where it is `refined` all candidates of each pair are tried, and the
/// best of all is moved to its least; else the fixed ones, and others only where none of those
/// fits. `None` where no pair can be driven.
#[must_use]
pub fn cheapest_turn(
    pairs: &[(End<'_>, End<'_>)],
    machine: &Machine,
    terrain: &Terrain,
    weights: &Weights,
    refined: bool,
) -> Option<Turn> {
    let mut found: Option<(Task<'_>, Best)> = None;
    for (from, to) in pairs {
        let Some(task) = Task::new(from, to, machine, terrain, weights) else {
            continue;
        };
        let task = task.coarse(!refined);
        // What costs no less than the best so far is not of interest.
        let limit_m = found.as_ref().map_or(f64::INFINITY, |found| found.1.cost_m);
        let mut best = Best {
            cost_m: limit_m,
            pieces: Vec::new(),
        };
        task.try_all(from.way, to.way, refined, &mut best);
        if best.cost_m < limit_m {
            found = Some((task, best));
        }
    }
    let (task, mut best) = found?;
    if refined {
        refine::refine(&task, &mut best);
    }
    task.turn(best)
}

/// A turn that begins and ends as known ones do, with the cheapest word between; `None` too
/// where it would cost `limit_m` metres and more.
#[must_use]
pub fn followed_turn(
    from: &End<'_>,
    to: &End<'_>,
    machine: &Machine,
    terrain: &Terrain,
    weights: &Weights,
    shapes: &[&[Piece]],
    limit_m: f64,
) -> Option<Turn> {
    let task = Task::new(from, to, machine, terrain, weights)?;
    let mut best = Best {
        cost_m: limit_m,
        pieces: Vec::new(),
    };
    for shape in shapes {
        task.follow(shape, &mut best);
    }
    if best.cost_m < limit_m {
        task.turn(best)
    } else {
        None
    }
}

/// The best run of pieces so far.
#[derive(Debug, Clone)]
pub(super) struct Best {
    pub(super) cost_m: f64,
    pub(super) pieces: Vec<Piece>,
}

impl Best {
    pub(super) const NONE: Self = Self {
        cost_m: f64::INFINITY,
        pieces: Vec::new(),
    };

    fn take<'a>(&mut self, cost_m: f64, pieces: impl Iterator<Item = &'a Piece>) {
        self.cost_m = cost_m;
        self.pieces.clear();
        // Pieces of no length would only be more joints to try.
        let driven = pieces.filter(|piece| piece.length_m > LEAST_PIECE_M);
        for piece in driven {
            match self.pieces.last_mut() {
                Some(last) if last.bend == piece.bend && last.reverse == piece.reverse => {
                    last.length_m += piece.length_m;
                }
                _ => self.pieces.push(*piece),
            }
        }
    }
}

/// Ends further apart than this, metres, may have the pitch between them.
const FAR_M: f64 = 30.0;

/// Gains below this are rounding, metres.
pub(super) const LEAST_GAIN_M: f64 = 1e-9;

/// One turn to be found.
#[derive(Debug)]
pub(super) struct Task<'a> {
    pub(super) terrain: &'a Terrain,
    pub(super) machine: Footprint,
    pub(super) radii: Radii,
    pub(super) can_reverse: bool,
    /// Whether ways between ends far apart begin and end with fewer stubs.
    pub(super) is_coarse: bool,
    pub(super) from: Pose,
    pub(super) to: Pose,
    weights: Weights,
    changes: Changes,
}

impl<'a> Task<'a> {
    /// The same with coarse stubs, if so.
    fn coarse(self, is_coarse: bool) -> Self {
        Self { is_coarse, ..self }
    }

    /// `None` where the machine may not stand at one of the ends, or numbers are no numbers.
    fn new(
        from: &End<'_>,
        to: &End<'_>,
        machine: &Machine,
        terrain: &'a Terrain,
        weights: &Weights,
    ) -> Option<Self> {
        let task = Self {
            terrain,
            machine: Footprint::of(machine),
            radii: machine.radii,
            can_reverse: machine.can_reverse,
            is_coarse: false,
            from: from.pose,
            to: to.pose,
            weights: *weights,
            changes: bound::changes(from, to, weights.change_m),
        };
        let finite = [from.pose, to.pose].into_iter().all(|pose| {
            pose.at.x.is_finite() && pose.at.y.is_finite() && pose.heading_rad.is_finite()
        });
        let fits = finite
            && machine.radii.least_m() > 0.0
            && terrain.stands(&task.machine, task.from)
            && terrain.stands(&task.machine, task.to);
        fits.then_some(task)
    }

    /// What this length costs at least.
    pub(super) fn least_m(&self, length_m: f64) -> f64 {
        length_m * self.weights.on_pitch.min(1.0)
    }

    /// What is driven between two poses at least: the straight, and what it takes to turn.
    pub(super) fn apart_m(&self, from: Pose, to: Pose) -> f64 {
        let turning_m = self.radii.least_m() * from.heading_difference_rad(to);
        from.distance_m(to).max(turning_m)
    }

    /// What this length costs at least between two places of which the one lies so far within
    /// the pitch, and the other.
    fn least_between_m(&self, length_m: f64, into_m: f64) -> f64 {
        let more = (self.weights.on_pitch - 1.0).max(0.0);
        self.least_m(length_m) + more * length_m.min(into_m)
    }

    /// What a drive between two places that lie far apart costs at least: round the pitch or
    /// across it.
    fn least_past_m(&self, from: Xy, to: Xy, apart_m: f64) -> f64 {
        if apart_m < FAR_M {
            return 0.0;
        }
        self.terrain.past_pitch_m(from, to, self.weights.on_pitch)
    }

    /// The longest drive between two places that may cost no more than this.
    fn longest_m(&self, cost_m: f64, into_m: f64) -> f64 {
        let (least, more) = (self.least_m(1.0), (self.weights.on_pitch - 1.0).max(0.0));
        if least <= 0.0 {
            f64::INFINITY
        } else if cost_m <= (least + more) * into_m {
            cost_m / (least + more)
        } else {
            (cost_m - more * into_m) / least
        }
    }

    /// What a piece costs, changes not counted, and where it ends; `None` where it cannot be
    /// driven.
    pub(super) fn driven(&self, from: &Stance, piece: &Piece) -> Option<(f64, Stance)> {
        self.terrain.drives(&self.machine, from, piece).then(|| {
            let to = from.after(piece, self.radii);
            (self.weighed_m(from, &to, piece), to)
        })
    }

    fn weighed_m(&self, from: &Stance, to: &Stance, piece: &Piece) -> f64 {
        let on_pitch_m = self.terrain.stretch_on_pitch_m(self.radii, from, to, piece);
        piece.length_m + (self.weights.on_pitch - 1.0) * on_pitch_m
    }

    /// What a word costs, changes not counted; `None` where it cannot be driven or costs
    /// `limit_m` and more.
    fn word_cost_m(&self, start: &Stance, word: &Word, limit_m: f64) -> Option<f64> {
        let mut cost_m = 0.0;
        let mut left_m = word.length_m();
        let mut stances = [*start; MOST_PIECES];
        let mut at = *start;
        // Metres first: they are told sooner than whether the ground is free.
        for (piece, stance) in word.iter().zip(&mut stances) {
            *stance = at;
            at = at.after(piece, self.radii);
            cost_m += self.weighed_m(stance, &at, piece);
            left_m -= piece.length_m;
            if cost_m + self.least_m(left_m) >= limit_m {
                return None;
            }
        }
        word.iter()
            .zip(&stances)
            .all(|(piece, stance)| self.terrain.drives(&self.machine, stance, piece))
            .then_some(cost_m)
    }

    /// What the changes of a run from its beginning cost; where it `goes_on` the joint to
    /// the work at its end is not counted.
    pub(super) fn changes_m<'p>(
        &self,
        pieces: impl IntoIterator<Item = &'p Piece>,
        goes_on: bool,
    ) -> f64 {
        if !self.can_reverse {
            return 0.0;
        }
        let changes = Changes {
            forwards_after: self.changes.forwards_after && !goes_on,
            ..self.changes
        };
        changes.all_m(pieces)
    }

    /// What the changes within a stub cost, the joint to its work included.
    pub(super) fn stub_changes_m(&self, pieces: &Word, side: Side) -> f64 {
        if !self.can_reverse {
            return 0.0;
        }
        let changes = Changes {
            forwards_before: self.changes.forwards_before && side == Side::Exit,
            forwards_after: self.changes.forwards_after && side == Side::Entry,
            ..self.changes
        };
        changes.all_m(pieces.iter())
    }

    /// Hands over words between two poses that are not longer than the limit, as the machine
    /// may drive.
    fn each_word(&self, from: Pose, to: Pose, limit_m: f64, take: &mut dyn FnMut(&Word) -> f64) {
        if self.can_reverse {
            reeds_shepp::each_word(from, to, self.radii, limit_m, take);
        } else {
            dubins::each_word(from, to, self.radii, limit_m, take);
        }
    }

    /// The same of words that are driven forwards all the way, or backwards.
    fn each_word_of_one_sense(
        &self,
        from: Pose,
        to: Pose,
        limit_m: f64,
        take: &mut dyn FnMut(&Word) -> f64,
    ) {
        dubins::each_word(from, to, self.radii, limit_m, &mut *take);
        dubins::each_word(to, from, self.radii, limit_m, |word| {
            take(&word.driven_back())
        });
    }

    /// Joins two poses by the cheapest word that fits, with runs before and after it that cost
    /// `spent_m` without changes.
    pub(super) fn join(&self, gap: &Gap<'_>, words: &mut Vec<(f64, Word)>, best: &mut Best) {
        let limit_m = best.cost_m - LEAST_GAIN_M;
        words.clear();
        let into_m = self.terrain.into_pitch_m(gap.from.at) + self.terrain.into_pitch_m(gap.to.at);
        let longest_m = self.longest_m(limit_m - gap.spent_m, into_m);
        let apart_m = self.apart_m(gap.from, gap.to);
        let past_m = self.least_past_m(gap.from.at, gap.to.at, apart_m);
        if apart_m > longest_m || gap.spent_m + past_m >= limit_m {
            return;
        }
        let least_word_m = |word: &Word| self.least_between_m(word.length_m(), into_m).max(past_m);
        let each_word = if gap.one_sense {
            Self::each_word_of_one_sense
        } else {
            Self::each_word
        };
        each_word(self, gap.from, gap.to, longest_m, &mut |word| {
            let but_changes_m = gap.spent_m + least_word_m(word);
            if but_changes_m < limit_m {
                let all = gap.before.iter().chain(word.iter()).chain(gap.after);
                let least_m = but_changes_m + self.changes_m(all, gap.goes_on);
                if least_m < limit_m {
                    words.push((least_m, *word));
                }
            }
            longest_m
        });
        words.sort_by(|a, b| a.0.total_cmp(&b.0));
        let start = Stance::of(gap.from);
        for (least_m, word) in words.iter() {
            if *least_m >= best.cost_m - LEAST_GAIN_M {
                break;
            }
            let but_word_m = least_m - least_word_m(word);
            let left_m = best.cost_m - LEAST_GAIN_M - but_word_m;
            if let Some(cost_m) = self.word_cost_m(&start, word, left_m) {
                let all = gap.before.iter().chain(word.iter()).chain(gap.after);
                best.take(but_word_m + cost_m, all);
            }
        }
    }

    /// All fixed candidates; hands back the stubs of both ends.
    fn try_fixed(&self, best: &mut Best) -> (Vec<Stub>, Vec<Stub>) {
        let (exits, entries) = (stubs(self, Side::Exit), stubs(self, Side::Entry));
        self.try_pairs(&exits, &entries, best);
        (exits, entries)
    }

    /// All candidates; those beyond the fixed ones only where they are `wanted`, or none of those
    /// fits.
    fn try_all(&self, out: Option<&Path>, into: Option<&Path>, wanted: bool, best: &mut Best) {
        let (exits, entries) = self.try_fixed(best);
        if !wanted && best.cost_m < f64::INFINITY {
            return;
        }
        self.try_ways(out, into, &exits, &entries, best);
        // A machine that may reverse finds its way along walls by itself.
        if !self.can_reverse || best.cost_m.is_infinite() {
            refine::by_walls(self, best);
        }
        refine::round_walls(self, best);
    }

    /// Every exit with every entry, the most promising first.
    fn try_pairs(&self, exits: &[Stub], entries: &[Stub], best: &mut Best) {
        let mut pairs: Vec<(f64, &Stub, &Stub)> = Vec::with_capacity(exits.len() * entries.len());
        for exit in exits {
            for entry in entries {
                let apart_m = self.apart_m(exit.stance.pose, entry.stance.pose);
                let spent_m = exit.cost_m + entry.cost_m + exit.changes_m + entry.changes_m;
                let into_m = exit.into_m + entry.into_m;
                let (a, b) = (exit.stance.pose.at, entry.stance.pose.at);
                let least_m = self
                    .least_between_m(apart_m, into_m)
                    .max(self.least_past_m(a, b, apart_m));
                let least_m = spent_m + least_m;
                pairs.push((least_m, exit, entry));
            }
        }
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut words = Vec::new();
        for (least_m, exit, entry) in pairs {
            if least_m >= best.cost_m - LEAST_GAIN_M {
                break;
            }
            let gap = Gap {
                from: exit.stance.pose,
                to: entry.stance.pose,
                before: &exit.pieces,
                after: &entry.pieces,
                spent_m: exit.cost_m + entry.cost_m,
                goes_on: false,
                // With changes before and after it, one within it would be one too many.
                one_sense: self.can_reverse && exit.pieces.len().max(entry.pieces.len()) > 1,
            };
            self.join(&gap, &mut words, best);
        }
    }

    /// The ends' own ways as stubs, whole and in part.
    fn try_ways(
        &self,
        out: Option<&Path>,
        into: Option<&Path>,
        exits: &[Stub],
        entries: &[Stub],
        best: &mut Best,
    ) {
        let ways_out = out.map_or_else(Vec::new, |way| self.way_stubs(way, Side::Exit));
        let ways_in = into.map_or_else(Vec::new, |way| self.way_stubs(way, Side::Entry));
        self.try_pairs(&ways_out, entries, best);
        self.try_pairs(exits, &ways_in, best);
        self.try_pairs(&ways_out, &ways_in, best);
    }

    fn way_stubs(&self, way: &Path, side: Side) -> Vec<Stub> {
        let mut stubs = Vec::new();
        let mut pieces = Word::default();
        let mut cost_m = 0.0;
        let mut stance = Stance::of(match side {
            Side::Exit => self.from,
            Side::Entry => self.to,
        });
        let mut add = |piece: &Piece| {
            let (walked, longer) = match side {
                Side::Exit => (*piece, pieces.followed_by(*piece)),
                Side::Entry => (piece.turned_back(), pieces.led_by(*piece)),
            };
            let (more_m, end) = self.driven(&stance, &walked)?;
            pieces = longer?;
            cost_m += more_m;
            stance = end;
            stubs.push(Stub {
                pieces,
                stance,
                cost_m,
                changes_m: self.stub_changes_m(&pieces, side),
                into_m: self.terrain.into_pitch_m(stance.pose.at),
            });
            Some(())
        };
        match side {
            Side::Exit => way.pieces.iter().try_for_each(&mut add),
            Side::Entry => way.pieces.iter().rev().try_for_each(&mut add),
        };
        stubs
    }

    /// The turn of the best run, its measures taken anew.
    fn turn(&self, best: Best) -> Option<Turn> {
        if best.cost_m.is_infinite() {
            return None;
        }
        let path = Path::new(self.from, self.radii, best.pieces);
        let length_m = path.length_m();
        let on_pitch_m = self
            .terrain
            .on_pitch_m(self.radii, path.start, &path.pieces);
        let changes = changes(
            &path.pieces,
            self.changes.forwards_before,
            self.changes.forwards_after,
        );
        Some(Turn {
            cost_m: length_m
                + (self.weights.on_pitch - 1.0) * on_pitch_m
                + self.changes_m(&path.pieces, false),
            path,
            length_m,
            on_pitch_m,
            changes,
        })
    }
}

/// Two poses to be joined, and what is driven before and after.
#[derive(Debug)]
pub(super) struct Gap<'a> {
    pub(super) from: Pose,
    pub(super) to: Pose,
    pub(super) before: &'a [Piece],
    pub(super) after: &'a [Piece],
    /// What `before` and `after` cost, changes not counted.
    pub(super) spent_m: f64,
    /// Whether more is to follow than `after`.
    pub(super) goes_on: bool,
    /// Whether only words are tried that a machine drives forwards all the way, or backwards.
    pub(super) one_sense: bool,
}

#[cfg(test)]
#[path = "turn_tests.rs"]
mod tests;
