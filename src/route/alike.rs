//! What makes two links alike: at which sides of the ground their ends lie, driven which way, and
//! how many lines apart.

/// The sides of the ground that two ends are nearest to, 0 to 3.
pub(super) type Sides = (u8, u8);

/// Links that are much alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Class {
    pub(super) from: (u8, bool),
    pub(super) to: (u8, bool),
    pub(super) apart: usize,
    pub(super) is_up: bool,
}

/// True cost over least cost, averaged.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Ratio {
    pub(super) sum: f64,
    pub(super) count: f64,
}

impl Ratio {
    pub(super) fn of<'a>(all: impl IntoIterator<Item = &'a Self>) -> Self {
        all.into_iter().fold(Self::default(), |a, b| Self {
            sum: a.sum + b.sum,
            count: a.count + b.count,
        })
    }

    pub(super) fn mean(self) -> f64 {
        if self.count > 0.0 {
            self.sum / self.count
        } else {
            1.0
        }
    }
}
