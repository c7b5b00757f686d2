//! How a turn may begin, and mirrored in time how it may end: a fixed list that does not
//! depend on the ground, of which a stub is what can be driven and what that costs.

use super::path::{Bend, Piece};
use super::pose::Stance;
use super::turn::Task;
use super::words::Word;

/// Steps of the arcs' turn, degrees: finer ones gain nothing that refining does not.
const ARC_STEP_DEG: f64 = 30.0;
/// Arcs up to this in all, in steps: a whole turn less one step.
const ARC_STEPS: usize = 11;
/// The same for a machine that may reverse: to go farther round it may as well change.
const ARC_STEPS_REVERSER: usize = 6;
/// Arcs before and after a change, in steps.
const CHANGING_STEPS: usize = 3;
/// How far straight back, metres.
const BACK_M: [f64; 5] = [1.0, 2.0, 3.0, 4.5, 6.0];
/// Ends further apart than this, in least radii, have coarse stubs where that is wanted: how a long
/// way begins matters little to what it costs, and its words are many.
const FAR_RADII: f64 = 8.0;
/// Of the steps of arcs every so many, and nothing with a change before it, for those.
const COARSE_STEPS: usize = 3;

/// A way that a turn may begin with, or end with.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stub {
    /// What is driven, in the order driven.
    pub(super) pieces: Word,
    /// Where it leads to, or comes from.
    pub(super) stance: Stance,
    /// What it costs, changes not counted.
    pub(super) cost_m: f64,
    /// What the changes within it cost, with the one where it joins work.
    pub(super) changes_m: f64,
    /// How far within the pitch its open end lies, metres.
    pub(super) into_m: f64,
}

/// Which end of the turn a stub belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Exit,
    Entry,
}

/// The stubs of one end that can be driven; the first is empty.
pub(super) fn stubs(task: &Task<'_>, side: Side) -> Vec<Stub> {
    let mut grower = Grower {
        task,
        side,
        found: Vec::with_capacity(48),
    };
    let start = grower.empty();
    grower.found.push(start);
    let sides = [Bend::Left, Bend::Right];
    let steps = if task.can_reverse {
        ARC_STEPS_REVERSER
    } else {
        ARC_STEPS
    };
    if task.is_coarse && task.from.distance_m(task.to) > FAR_RADII * task.radii.least_m() {
        for bend in sides {
            let first = grower.found.len();
            grower.arcs(&start, bend, false, steps, |_, _| {});
            let arcs = grower.found.split_off(first);
            let coarse = arcs.into_iter().skip(COARSE_STEPS - 1);
            grower.found.extend(coarse.step_by(COARSE_STEPS));
        }
        return grower.found;
    }
    for bend in sides {
        grower.arcs(&start, bend, false, steps, |_, _| {});
    }
    if task.can_reverse {
        for back_m in BACK_M {
            let piece = Piece::backwards(Bend::Straight, back_m);
            let Some(stub) = grower.longer(&start, piece) else {
                break;
            };
            grower.found.push(stub);
        }
        for bend in sides {
            grower.arcs(&start, bend, true, CHANGING_STEPS, |_, _| {});
            let found = grower.found.len();
            grower.arcs(&start, bend, false, CHANGING_STEPS, |grower, stub| {
                grower.arcs(stub, bend.other(), true, CHANGING_STEPS, |_, _| {});
            });
            // Those of one arc are there already.
            let twice = grower.found.split_off(found);
            let new = twice.into_iter().filter(|stub| stub.pieces.len() > 1);
            grower.found.extend(new);
        }
    }
    grower.found
}

struct Grower<'a> {
    task: &'a Task<'a>,
    side: Side,
    found: Vec<Stub>,
}

impl Grower<'_> {
    fn empty(&self) -> Stub {
        Stub {
            pieces: Word::default(),
            stance: Stance::of(match self.side {
                Side::Exit => self.task.from,
                Side::Entry => self.task.to,
            }),
            cost_m: 0.0,
            changes_m: 0.0,
            into_m: 0.0,
        }
    }

    /// A stub grown by a piece on its open end, if that can be driven. At the entry the piece
    /// is given mirrored in time: as driven from the end backwards.
    fn longer(&self, stub: &Stub, piece: Piece) -> Option<Stub> {
        // What is driven back and forth sweeps the same.
        let walked = match self.side {
            Side::Exit => piece,
            Side::Entry => piece.turned_back(),
        };
        let (cost_m, stance) = self.task.driven(&stub.stance, &walked)?;
        let pieces = match self.side {
            Side::Exit => stub.pieces.followed_by(piece)?,
            Side::Entry => stub.pieces.led_by(piece)?,
        };
        Some(Stub {
            pieces,
            stance,
            cost_m: stub.cost_m + cost_m,
            changes_m: self.task.stub_changes_m(&pieces, self.side),
            into_m: self.task.terrain.into_pitch_m(stance.pose.at),
        })
    }

    /// Arcs of growing turn from a stub's open end, as far as free.
    fn arcs(
        &mut self,
        stub: &Stub,
        bend: Bend,
        reverse: bool,
        steps: usize,
        mut then: impl FnMut(&mut Self, &Stub),
    ) {
        let length_m = ARC_STEP_DEG.to_radians() * self.task.radii.of(bend);
        let step = Piece {
            bend,
            length_m,
            reverse,
        };
        let mut last = *stub;
        for _ in 0..steps {
            let Some(longer) = self.longer(&last, step) else {
                return;
            };
            self.found.push(longer);
            then(self, &longer);
            last = longer;
        }
    }
}
