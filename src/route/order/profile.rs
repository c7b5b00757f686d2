//! What the parts on the far side of a cut cost at least, as the last sweep from there found.
//!
//! A cut lies between two parts of the sweep's order. The states of a sweep at a cut are told
//! apart by how many fragments of the route they hold and whether the route's start and end
//! are among them; that also says with which states from the other side they can make a tour.
//! For each such shape the profile keeps the least reduced cost of a state, with and without
//! what its open ends must still pay.
//!
//! States that a sweep dropped because its width was full are not followed further, but
//! something may still have come of them. So beside the states that were kept go the *lost*:
//! for each shape, the least of what may have become of any that was dropped before, and the
//! least bound of those. A tour from the other side either meets a kept state, and costs what
//! the profile says, or a lost one, and costs at least what its bound said when it was
//! dropped. States dropped because they reach the upper bound need no record: no tour below
//! that bound is made of them. So a profile holds as long as the upper bound does not rise.

use super::reduced::{PerSet, SETS};

/// Far above any cost, and a thousand of them can be added.
pub(super) const NEVER: i64 = 1 << 50;

/// The most fragments of a state that is kept; states with more are dropped like those
/// beyond the width.
pub(super) const MOST_FRAGMENTS: usize = 30;

/// Shapes at a cut: fragments (the last stands for all beyond), start and end.
const SHAPES: usize = (MOST_FRAGMENTS + 2) * 4;

/// How many fragments a state holds, and whether the route's start and end are among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shape {
    pub(super) fragments: usize,
    pub(super) has_start: bool,
    pub(super) has_end: bool,
}

impl Shape {
    /// The shape of what the other side must hold.
    pub(super) fn other_side(self) -> Self {
        let ends = usize::from(self.has_start) + usize::from(self.has_end);
        Self {
            fragments: (self.fragments + 1).saturating_sub(ends),
            has_start: !self.has_start,
            has_end: !self.has_end,
        }
    }

    /// A number below [`SHAPES`].
    pub(super) fn index(self) -> usize {
        4 * self.fragments.min(MOST_FRAGMENTS + 1)
            + 2 * usize::from(self.has_start)
            + usize::from(self.has_end)
    }

    fn at(index: usize) -> Self {
        Self {
            fragments: index / 4,
            has_start: index & 2 != 0,
            has_end: index & 1 != 0,
        }
    }
}

/// How a part is joined to what lies before it in the route; likewise for what comes after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Join {
    /// To an open end of a fragment.
    Fragment,
    /// To the start (or the end) of the route.
    Depot,
    /// To a part that comes later in the sweep.
    Later,
}

impl Join {
    pub(super) const ALL: [Self; 3] = [Self::Fragment, Self::Depot, Self::Later];

    /// The shape after a part was joined so before and after; `None` where that cannot be.
    pub(super) fn shape(before: Self, after: Self, shape: Shape) -> Option<Shape> {
        if (before == Self::Depot && shape.has_start) || (after == Self::Depot && shape.has_end) {
            return None;
        }
        let joined = usize::from(before == Self::Fragment) + usize::from(after == Self::Fragment);
        Some(Shape {
            fragments: (shape.fragments + 1)
                .checked_sub(joined)
                .filter(|&n| n > 0)?,
            has_start: shape.has_start || before == Self::Depot,
            has_end: shape.has_end || after == Self::Depot,
        })
    }
}

/// What states of a shape cost at least.
#[derive(Debug, Clone, Copy)]
pub(super) struct Least {
    /// Reduced costs so far.
    spent: PerSet<i64>,
    /// The same with what the open ends must still pay.
    with_dues: PerSet<i64>,
}

impl Least {
    const NONE: Self = Self {
        spent: [NEVER; SETS],
        with_dues: [NEVER; SETS],
    };

    fn take(&mut self, spent: &PerSet<i64>, with_dues: &PerSet<i64>) {
        for set in 0..SETS {
            self.spent[set] = self.spent[set].min(spent[set]);
            self.with_dues[set] = self.with_dues[set].min(with_dues[set]);
        }
    }

    /// What a tour costs at least, of a state with these costs and dues and one of this
    /// shape on the other side. The links across the cut are in neither's costs so far, and
    /// in the dues of both.
    fn tour(&self, spent: &PerSet<i64>, dues: &PerSet<i64>) -> i64 {
        let sums = (0..SETS)
            .map(|set| spent[set] + (dues[set] + self.spent[set]).max(self.with_dues[set]));
        sums.fold(0, i64::max)
    }
}

/// The kept and the lost of one shape.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    kept: Least,
    lost: Least,
    /// The least bound of any that was lost.
    lost_bound: i64,
}

impl Entry {
    const NONE: Self = Self {
        kept: Least::NONE,
        lost: Least::NONE,
        lost_bound: NEVER,
    };

    /// Of which nothing is known: costs nothing.
    pub(super) const UNKNOWN: Self = Self {
        kept: Least {
            spent: [0; SETS],
            with_dues: [0; SETS],
        },
        ..Self::NONE
    };

    /// What a tour costs at least, of a state with these costs (constants included) and dues
    /// of open ends, with any state that stands for this entry.
    pub(super) fn bound(&self, spent: &PerSet<i64>, dues: &PerSet<i64>) -> i64 {
        let with_kept = self.kept.tour(spent, dues);
        if self.lost_bound >= NEVER {
            return with_kept;
        }
        with_kept.min(self.lost.tour(spent, dues).max(self.lost_bound))
    }
}

/// The entries of every cut of a sweep: cut t lies after its first t parts.
#[derive(Debug)]
pub(super) struct Profile {
    cuts: Vec<Vec<Entry>>,
}

impl Profile {
    /// A profile before its sweep.
    pub(super) fn new(parts: usize) -> Self {
        Self {
            cuts: vec![vec![Entry::NONE; SHAPES]; parts + 1],
        }
    }

    /// The entry of a shape at a cut.
    pub(super) fn entry(&self, cut: usize, shape: Shape) -> Entry {
        let entry = |cut: &Vec<Entry>| cut[shape.index()];
        self.cuts.get(cut).map_or(Entry::NONE, entry)
    }

    /// Notes a state that was kept at a cut, without constants.
    pub(super) fn keep(
        &mut self,
        cut: usize,
        shape: Shape,
        spent: &PerSet<i64>,
        with_dues: &PerSet<i64>,
    ) {
        self.cuts[cut][shape.index()].kept.take(spent, with_dues);
    }

    /// Notes a state that was dropped at a cut, with its bound.
    pub(super) fn lose(
        &mut self,
        cut: usize,
        shape: Shape,
        spent: &PerSet<i64>,
        with_dues: &PerSet<i64>,
        bound: i64,
    ) {
        let entry = &mut self.cuts[cut][shape.index()];
        entry.lost.take(spent, with_dues);
        entry.lost_bound = entry.lost_bound.min(bound);
    }

    /// Carries the lost of a cut over to the next: whatever joining one more part may make of
    /// them. It costs nothing below 0, so their least stays valid.
    pub(super) fn carry_lost(&mut self, cut: usize) {
        for index in 0..SHAPES {
            let from = self.cuts[cut][index];
            if from.lost_bound >= NEVER {
                continue;
            }
            for before in Join::ALL {
                for after in Join::ALL {
                    let Some(shape) = Join::shape(before, after, Shape::at(index)) else {
                        continue;
                    };
                    let lost = from.lost;
                    self.lose(
                        cut + 1,
                        shape,
                        &lost.spent,
                        &lost.with_dues,
                        from.lost_bound,
                    );
                    if index / 4 == MOST_FRAGMENTS + 1 {
                        // The last index stands for more fragments too.
                        let at_least = Shape {
                            fragments: MOST_FRAGMENTS + 1,
                            ..shape
                        };
                        self.lose(
                            cut + 1,
                            at_least,
                            &lost.spent,
                            &lost.with_dues,
                            from.lost_bound,
                        );
                    }
                }
            }
        }
    }
}
