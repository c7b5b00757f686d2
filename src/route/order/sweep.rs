//! One sweep over the parts: the best tour it meets, and a bound from what it drops.
//!
//! 1. Parts are added one by one, in the order of their lines or from the other side. A state
//!    is the set of fragments of the route so far. A part is driven either way; before it
//!    comes an open end, the start of the route or a part yet to come, likewise after it. No
//!    ring is closed, and the route never ends early.
//! 2. Each state has a bound: constant and reduced costs so far, and what must still be paid,
//!    which is the greater of the dues of its open ends and what the profile of the last sweep
//!    from the other side says. The greater over both sets of multipliers counts.
//! 3. A state that reaches the upper bound is dropped: no better tour is made of it. Of the
//!    rest the best by (bound, order of making) are kept, up to the width; the others are
//!    dropped too, but their least bound is kept.
//! 4. So every tour below the upper bound was either met, or costs at least the least bound
//!    of what was dropped for want of width.
//!
//! That good routes only link lines that lie near each other is what keeps states few: ten
//! open ends or so (frontiers: Sekine, Imai and Tani 1995; bounds within dynamic programming:
//! Morin and Marsten 1976; bounded width with valid bounds: Bergman, Cire, van Hoeve and
//! Hooker 2016).

use super::costs::FORBIDDEN;
use super::dues::Dues;
use super::layer::{CLOSED, DEPOT, Fragment, LATER, Layer, Spent, State, Step, Trails};
use super::profile::{Entry, Join, MOST_FRAGMENTS, NEVER, Profile, Shape};
use super::reduced::{PerSet, Reduced, SETS};
use super::table::{NO_LINK, Table};

/// Which side a sweep begins at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// At the first part of the sweep's order.
    First,
    /// At the last.
    Last,
}

/// What a sweep is given.
#[derive(Clone, Copy)]
pub(super) struct Sweep<'a> {
    pub(super) table: &'a Table,
    pub(super) reduced: &'a Reduced,
    pub(super) side: Side,
    /// How many states are kept at a cut.
    pub(super) width: usize,
    /// Only tours below this are of interest.
    pub(super) upper: i64,
    /// The profile of the last sweep from the other side.
    pub(super) far: Option<&'a Profile>,
}

/// What a sweep found.
pub(super) struct Swept {
    /// The best tour below the upper bound, if it met one, and its cost.
    pub(super) tour: Option<(Vec<usize>, i64)>,
    /// Least bound of what was dropped for want of width; [`NEVER`] where nothing was.
    pub(super) dropped: i64,
    /// For the next sweep from the other side.
    pub(super) profile: Profile,
}

/// A state to be.
#[derive(Clone, Copy)]
struct Child {
    bound: i64,
    reduced: PerSet<i64>,
    dues: PerSet<i64>,
    parent: u32,
    node: u16,
    /// Fragment of the parent that is joined, or [`DEPOT`] or [`LATER`].
    before: u16,
    after: u16,
    shape: Shape,
}

/// One way to join a part, before it or after it.
#[derive(Clone, Copy)]
struct Way {
    join: Join,
    /// Fragment of the parent, or [`DEPOT`] or [`LATER`].
    what: u16,
    /// Whether the fragment's other end is the route's start (or end) already.
    is_closed: bool,
    reduced: PerSet<i64>,
    dues: PerSet<i64>,
}

/// What holds for all children of a state with the same pair of joins.
#[derive(Clone, Copy)]
struct Outlook {
    shape: Shape,
    /// Constants, and what start and end must still pay.
    fixed: PerSet<i64>,
    far: Entry,
}

pub(super) fn swept(sweep: &Sweep<'_>) -> Swept {
    let parts = sweep.table.parts();
    let at = |place: usize| match sweep.side {
        Side::First => place,
        Side::Last => parts - 1 - place,
    };
    let place: Vec<usize> = (0..parts).map(at).collect();
    let mut run = Run {
        sweep: *sweep,
        dues: Dues::of(sweep.reduced, parts, &place),
        profile: Profile::new(parts),
        dropped: NEVER,
        children: Vec::new(),
        ranks: Vec::new(),
        outlooks: Vec::new(),
        before: Vec::new(),
        after: Vec::new(),
        limit: NEVER,
        left: 0,
        cut: 0,
    };
    let mut layer = Layer::start();
    let mut next = Layer::default();
    let mut trails = Trails::default();
    for step in 0..parts {
        run.left = parts - 1 - step;
        run.cut = step + 1;
        run.limit = NEVER;
        run.dues.pass(step);
        run.profile.carry_lost(step);
        run.outlooks.clear();
        for index in 0..layer.states.len() {
            run.expand(&layer, index, at(step));
            run.trim();
        }
        run.build(&layer, &mut next, &mut trails);
        std::mem::swap(&mut layer, &mut next);
        trails.tidy(&mut layer);
    }
    let best = layer.states.iter().min_by_key(|state| state.spent.cost);
    Swept {
        tour: best
            .map(|state| (tour_of(&trails, state.spent.trail), state.spent.cost))
            .filter(|best| best.1 < sweep.upper),
        dropped: run.dropped,
        profile: run.profile,
    }
}

/// By join before and join after; `None` where that cannot be.
type Outlooks = [[Option<Outlook>; 3]; 3];

struct Run<'a> {
    sweep: Sweep<'a>,
    dues: Dues,
    profile: Profile,
    dropped: i64,
    children: Vec<Child>,
    /// The children's bounds and indices, for sorting.
    ranks: Vec<(i64, u32)>,
    /// What comes of each pair of joins, by the index of the parent's shape.
    outlooks: Vec<Option<Outlooks>>,
    /// Scratch: the ways to join a part before it and after it.
    before: Vec<Way>,
    after: Vec<Way>,
    /// Children beyond this bound are dropped at once.
    limit: i64,
    /// Parts yet to come after this one.
    left: usize,
    /// The cut after this part.
    cut: usize,
}

impl Run<'_> {
    /// Makes the children of a state by adding a part.
    fn expand(&mut self, layer: &Layer, index: usize, part: usize) {
        let state = &layer.states[index];
        let fragments = layer.fragments(state);
        let mut dues = [0; SETS];
        for fragment in fragments {
            if fragment.last != CLOSED {
                add(&mut dues, &self.dues.outward(usize::from(fragment.last)));
            }
            if fragment.first != CLOSED {
                add(&mut dues, &self.dues.inward(usize::from(fragment.first)));
            }
        }
        let outlooks = self.outlooks(state.shape());
        let mut before = std::mem::take(&mut self.before);
        let mut after = std::mem::take(&mut self.after);
        for node in [2 * part, 2 * part + 1] {
            self.ways_before(state, fragments, node, &mut before);
            self.ways_after(state, fragments, node, &mut after);
            let mut least_after = [NEVER; SETS];
            for way in &after {
                for (set, least) in least_after.iter_mut().enumerate() {
                    *least = (*least).min(way.reduced[set] + way.dues[set]);
                }
            }
            for one in &before {
                let mut spent = state.spent.reduced;
                let mut owed = dues;
                add(&mut spent, &one.reduced);
                add(&mut owed, &one.dues);
                let constant = &self.sweep.reduced.constant;
                let is_hopeless = (0..SETS).any(|set| {
                    constant[set] + spent[set] + owed[set] + least_after[set] >= self.sweep.upper
                });
                if is_hopeless {
                    continue;
                }
                for other in &after {
                    let Some(outlook) = &outlooks[one.join as usize][other.join as usize] else {
                        continue;
                    };
                    let is_ring = one.join == Join::Fragment
                        && one.what == other.what
                        && other.join == Join::Fragment;
                    let is_whole = one.is_closed && other.is_closed && self.left > 0;
                    if is_ring || is_whole {
                        continue;
                    }
                    let mut reduced = spent;
                    let mut dues = owed;
                    add(&mut reduced, &other.reduced);
                    add(&mut dues, &other.dues);
                    let mut with_constant = reduced;
                    let mut bound = 0;
                    for set in 0..SETS {
                        with_constant[set] += constant[set];
                        bound = bound.max(reduced[set] + dues[set] + outlook.fixed[set]);
                    }
                    if bound >= self.sweep.upper {
                        continue;
                    }
                    bound = bound.max(outlook.far.bound(&with_constant, &dues));
                    if bound >= self.sweep.upper {
                        continue;
                    }
                    let child = Child {
                        bound,
                        reduced,
                        dues,
                        parent: index as u32,
                        node: node as u16,
                        before: one.what,
                        after: other.what,
                        shape: outlook.shape,
                    };
                    if bound > self.limit || outlook.shape.fragments > MOST_FRAGMENTS {
                        self.drop_child(&child);
                    } else {
                        self.ranks.push((bound, self.children.len() as u32));
                        self.children.push(child);
                    }
                }
            }
        }
        (self.before, self.after) = (before, after);
    }

    /// What comes of each pair of joins for a parent of this shape.
    fn outlooks(&mut self, parent: Shape) -> Outlooks {
        let index = parent.index();
        if self.outlooks.len() <= index {
            self.outlooks.resize(index + 1, None);
        }
        if let Some(outlooks) = self.outlooks[index] {
            return outlooks;
        }
        let outlooks =
            Join::ALL.map(|before| Join::ALL.map(|after| self.outlook(before, after, parent)));
        self.outlooks[index] = Some(outlooks);
        outlooks
    }

    fn outlook(&self, before: Join, after: Join, parent: Shape) -> Option<Outlook> {
        let depot = self.sweep.table.depot();
        let shape = Join::shape(before, after, parent)?;
        // One part joins two fragments at most, and start and end take one each.
        let to_come = usize::from(!shape.has_start) + usize::from(!shape.has_end);
        if shape.fragments + to_come > self.left + 1 {
            return None;
        }
        let mut fixed = self.sweep.reduced.constant;
        if !shape.has_start {
            add(&mut fixed, &self.dues.outward(depot));
        }
        if !shape.has_end {
            add(&mut fixed, &self.dues.inward(depot));
        }
        let far = match self.sweep.far {
            Some(far) if self.left > 0 => far.entry(self.left, shape.other_side()),
            _ => Entry::UNKNOWN,
        };
        Some(Outlook { shape, fixed, far })
    }

    fn ways_before(&self, state: &State, fragments: &[Fragment], node: usize, ways: &mut Vec<Way>) {
        ways.clear();
        let depot = self.sweep.table.depot();
        for (index, fragment) in fragments.iter().enumerate() {
            if fragment.last == CLOSED {
                continue;
            }
            let last = usize::from(fragment.last);
            let is_closed = fragment.first == CLOSED;
            ways.extend(self.way_to_fragment(
                index,
                is_closed,
                (last, node),
                self.dues.outward(last),
            ));
        }
        if !state.has_start {
            ways.extend(self.way_to_depot((depot, node)));
        }
        ways.extend(way_to_later(self.dues.inward(node)));
    }

    fn ways_after(&self, state: &State, fragments: &[Fragment], node: usize, ways: &mut Vec<Way>) {
        ways.clear();
        let depot = self.sweep.table.depot();
        for (index, fragment) in fragments.iter().enumerate() {
            if fragment.first == CLOSED {
                continue;
            }
            let first = usize::from(fragment.first);
            let is_closed = fragment.last == CLOSED;
            let due = self.dues.inward(first);
            ways.extend(self.way_to_fragment(index, is_closed, (node, first), due));
        }
        if !state.has_end {
            ways.extend(self.way_to_depot((node, depot)));
        }
        ways.extend(way_to_later(self.dues.outward(node)));
    }

    fn way_to_fragment(
        &self,
        index: usize,
        is_closed: bool,
        link: (usize, usize),
        due: PerSet<i64>,
    ) -> Option<Way> {
        Some(Way {
            join: Join::Fragment,
            what: index as u16,
            is_closed,
            reduced: self.link(link)?,
            dues: due.map(|due| -due),
        })
    }

    fn way_to_depot(&self, link: (usize, usize)) -> Option<Way> {
        Some(Way {
            join: Join::Depot,
            what: DEPOT,
            is_closed: true,
            reduced: self.link(link)?,
            dues: [0; SETS],
        })
    }

    fn link(&self, (from, to): (usize, usize)) -> Option<PerSet<i64>> {
        let left = self.sweep.reduced.left(from, to);
        (left[0] != NO_LINK).then(|| left.map(i64::from))
    }

    fn drop_child(&mut self, child: &Child) {
        let mut with_dues = child.reduced;
        add(&mut with_dues, &child.dues);
        self.dropped = self.dropped.min(child.bound);
        self.profile.lose(
            self.cut,
            child.shape,
            &child.reduced,
            &with_dues,
            child.bound,
        );
    }

    /// Drops the worse half once children are many.
    fn trim(&mut self) {
        // Some are alike, so a few more than the width are needed.
        let keep = self.sweep.width + self.sweep.width / 2;
        if self.left == 0 || self.ranks.len() <= 2 * keep {
            return;
        }
        let mut ranks = std::mem::take(&mut self.ranks);
        let (_, last, worse) = ranks.select_nth_unstable(keep - 1);
        self.limit = last.0;
        for &(_, index) in worse.iter() {
            let child = self.children[index as usize];
            self.drop_child(&child);
        }
        ranks.truncate(keep);
        ranks.sort_unstable_by_key(|rank| rank.1);
        self.children = ranks
            .iter()
            .map(|rank| self.children[rank.1 as usize])
            .collect();
        self.ranks = ranks;
        for (index, rank) in self.ranks.iter_mut().enumerate() {
            rank.1 = index as u32;
        }
    }

    /// Builds the next layer from the best children.
    fn build(&mut self, layer: &Layer, next: &mut Layer, trails: &mut Trails) {
        let children = std::mem::take(&mut self.children);
        let mut ranks = std::mem::take(&mut self.ranks);
        ranks.sort_unstable();
        let width = if self.left == 0 {
            usize::MAX
        } else {
            self.sweep.width
        };
        next.clear(children.len().min(width));
        let mut fragments = Vec::with_capacity(MOST_FRAGMENTS + 1);
        for &(_, index) in &ranks {
            let child = &children[index as usize];
            if next.states.len() >= width {
                self.drop_child(child);
                continue;
            }
            let parent = &layer.states[child.parent as usize];
            let (step, cost) = self.joined(child, layer.fragments(parent), &mut fragments);
            let trail = trails.push(parent.spent.trail, step);
            let spent = Spent {
                cost: parent.spent.cost + cost,
                reduced: child.reduced,
                dues: child.dues,
                trail,
            };
            next.add(&mut fragments, spent);
        }
        for state in &next.states {
            let mut with_dues = state.spent.reduced;
            add(&mut with_dues, &state.spent.dues);
            self.profile
                .keep(self.cut, state.shape(), &state.spent.reduced, &with_dues);
        }
        (self.children, self.ranks) = (children, ranks);
        self.children.clear();
        self.ranks.clear();
    }

    /// The fragments of a child, the step that makes it and what the step truly costs.
    fn joined(&self, child: &Child, parent: &[Fragment], out: &mut Vec<Fragment>) -> (Step, i64) {
        let table = self.sweep.table;
        let node = usize::from(child.node);
        let mut cost = 0;
        let (first, before) = match child.before {
            DEPOT => {
                cost += table.cost(table.depot(), node);
                (CLOSED, DEPOT)
            }
            LATER => (child.node, LATER),
            index => {
                let fragment = parent[usize::from(index)];
                cost += table.cost(usize::from(fragment.last), node);
                (fragment.first, fragment.last)
            }
        };
        let (last, after) = match child.after {
            DEPOT => {
                cost += table.cost(node, table.depot());
                (CLOSED, DEPOT)
            }
            LATER => (child.node, LATER),
            index => {
                let fragment = parent[usize::from(index)];
                cost += table.cost(node, usize::from(fragment.first));
                (fragment.last, fragment.first)
            }
        };
        out.clear();
        out.extend(
            parent
                .iter()
                .enumerate()
                .filter(|(index, _)| {
                    *index != usize::from(child.before) && *index != usize::from(child.after)
                })
                .map(|(_, fragment)| *fragment),
        );
        out.push(Fragment { first, last });
        let step = Step {
            before,
            node: child.node,
            after,
        };
        (step, cost.min(FORBIDDEN))
    }
}

fn way_to_later(due: PerSet<i64>) -> Option<Way> {
    (due[0] < NEVER).then_some(Way {
        join: Join::Later,
        what: LATER,
        is_closed: false,
        reduced: [0; SETS],
        dues: due,
    })
}

fn add(to: &mut PerSet<i64>, other: &PerSet<i64>) {
    for set in 0..SETS {
        to[set] += other[set];
    }
}

/// The tour of a finished state: its steps say for each node what comes before or after it.
fn tour_of(trails: &Trails, trail: u32) -> Vec<usize> {
    let steps = trails.steps(trail);
    let mut follower = std::collections::BTreeMap::new();
    for step in &steps {
        if step.before != LATER {
            follower.insert(step.before, step.node);
        }
        if step.after != LATER {
            follower.insert(step.node, step.after);
        }
    }
    let mut tour = Vec::with_capacity(steps.len());
    let mut at = DEPOT;
    while let Some(&node) = follower.get(&at) {
        if node == DEPOT {
            break;
        }
        tour.push(usize::from(node));
        at = node;
    }
    tour
}
