//! The states of a sweep at one cut, and how each came about.
//!
//! A state is the route so far seen from outside: the fragments it consists of, each by its
//! first and last node, and what it has cost. States with the same fragments have the same
//! future, so only the cheapest of them is kept.

use super::profile::Shape;
use super::reduced::{PerSet, SETS};

/// Stands for a fragment's end that is joined to the depot: nothing can be joined there.
pub(super) const CLOSED: u16 = u16::MAX;
/// Stands for a join that is left to a part yet to come.
pub(super) const LATER: u16 = u16::MAX - 1;
/// Stands for the depot in a trail.
pub(super) const DEPOT: u16 = u16::MAX;

/// A piece of the route: its first and last node, each [`CLOSED`] where the route begins or
/// ends there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Fragment {
    pub(super) first: u16,
    pub(super) last: u16,
}

/// What a state has cost so far.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spent {
    /// In truth, tenths of a millimetre.
    pub(super) cost: i64,
    /// In reduced costs.
    pub(super) reduced: PerSet<i64>,
    /// What its open ends must still pay in reduced costs.
    pub(super) dues: PerSet<i64>,
    /// Its last step.
    pub(super) trail: u32,
}

/// A state of a layer.
#[derive(Debug, Clone, Copy)]
pub(super) struct State {
    from: u32,
    count: u16,
    pub(super) has_start: bool,
    pub(super) has_end: bool,
    pub(super) spent: Spent,
}

impl State {
    pub(super) fn shape(&self) -> Shape {
        Shape {
            fragments: usize::from(self.count),
            has_start: self.has_start,
            has_end: self.has_end,
        }
    }
}

/// The states at one cut, without two alike.
#[derive(Debug, Default)]
pub(super) struct Layer {
    pub(super) states: Vec<State>,
    fragments: Vec<Fragment>,
    /// Open addressing over the states' hashes; 0 is free, else index + 1.
    slots: Vec<u32>,
}

impl Layer {
    /// A layer with nothing but the empty state.
    pub(super) fn start() -> Self {
        let mut layer = Self::default();
        layer.clear(1);
        layer.states.push(State {
            from: 0,
            count: 0,
            has_start: false,
            has_end: false,
            spent: Spent {
                cost: 0,
                reduced: [0; SETS],
                dues: [0; SETS],
                trail: Trails::ROOT,
            },
        });
        layer
    }

    /// Empties the layer and makes room for so many states.
    pub(super) fn clear(&mut self, states: usize) {
        self.states.clear();
        self.fragments.clear();
        self.slots.clear();
        self.slots
            .resize((2 * states).next_power_of_two().max(16), 0);
    }

    pub(super) fn fragments(&self, state: &State) -> &[Fragment] {
        let from = state.from as usize;
        &self.fragments[from..from + usize::from(state.count)]
    }

    /// Adds the state of these fragments, which it sorts. Where it is there already, the
    /// cheaper stays.
    pub(super) fn add(&mut self, fragments: &mut [Fragment], spent: Spent) {
        fragments.sort_unstable();
        let mask = self.slots.len() - 1;
        let mut slot = hash(fragments) & mask;
        while self.slots[slot] != 0 {
            let index = self.slots[slot] as usize - 1;
            if self.fragments(&self.states[index]) == &*fragments {
                let known = &mut self.states[index].spent;
                if spent.cost < known.cost {
                    *known = spent;
                }
                return;
            }
            slot = (slot + 1) & mask;
        }
        self.states.push(State {
            from: self.fragments.len() as u32,
            count: fragments.len() as u16,
            has_start: fragments.iter().any(|f| f.first == CLOSED),
            has_end: fragments.iter().any(|f| f.last == CLOSED),
            spent,
        });
        self.slots[slot] = self.states.len() as u32;
        self.fragments.extend_from_slice(fragments);
    }
}

/// A fixed mixing of all fragments (multiply and rotate).
fn hash(fragments: &[Fragment]) -> usize {
    let mut mixed: u64 = 0x51_7c_c1_b7_27_22_0a_95;
    for fragment in fragments {
        let word = u64::from(fragment.first) << 16 | u64::from(fragment.last);
        mixed = (mixed.rotate_left(5) ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }
    (mixed >> 20) as usize
}

/// One step: a node, and what it was joined to before and after it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    pub(super) before: u16,
    pub(super) node: u16,
    pub(super) after: u16,
}

/// All steps that lead to a state still alive.
#[derive(Debug, Default)]
pub(super) struct Trails {
    steps: Vec<(u32, Step)>,
    /// Steps that were alive when last looked at.
    alive: usize,
}

impl Trails {
    /// Before the first step.
    pub(super) const ROOT: u32 = u32::MAX;
    /// Fewer steps than this are never looked through.
    const FEW: usize = 1 << 19;

    pub(super) fn push(&mut self, trail: u32, step: Step) -> u32 {
        self.steps.push((trail, step));
        self.steps.len() as u32 - 1
    }

    /// The steps of a trail, last first.
    pub(super) fn steps(&self, mut trail: u32) -> Vec<Step> {
        let mut steps = Vec::new();
        while trail != Self::ROOT {
            let (before, step) = self.steps[trail as usize];
            steps.push(step);
            trail = before;
        }
        steps
    }

    /// Forgets the steps that lead to no state of a layer, once they are many.
    pub(super) fn tidy(&mut self, layer: &mut Layer) {
        if self.steps.len() < Self::FEW.max(2 * self.alive) {
            return;
        }
        let mut place = vec![0_u32; self.steps.len()];
        for state in &layer.states {
            let mut trail = state.spent.trail;
            while trail != Self::ROOT && place[trail as usize] == 0 {
                place[trail as usize] = 1;
                trail = self.steps[trail as usize].0;
            }
        }
        let mut alive = 0;
        for index in 0..self.steps.len() {
            if place[index] == 0 {
                continue;
            }
            let (before, step) = self.steps[index];
            let before = if before == Self::ROOT {
                before
            } else {
                place[before as usize]
            };
            self.steps[alive] = (before, step);
            place[index] = alive as u32;
            alive += 1;
        }
        self.steps.truncate(alive);
        self.alive = alive;
        for state in &mut layer.states {
            if state.spent.trail != Self::ROOT {
                state.spent.trail = place[state.spent.trail as usize];
            }
        }
    }
}
