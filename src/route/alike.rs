//! What makes two links alike: how their ends lie to each other, and at which sides of the
//! ground.

use super::pose::Pose;

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

/// How the ends of a link lie to each other, to a micrometre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Lie {
    pub(super) ahead_um: i64,
    pub(super) left_um: i64,
    pub(super) turned_nrad: i64,
}

impl Lie {
    /// A whole turn.
    const TURN_NRAD: i64 = 6_283_185_307;

    #[expect(clippy::cast_possible_truncation, reason = "saturates")]
    pub(super) fn of(from: Pose, to: Pose) -> Self {
        let (sin, cos) = from.heading_rad.sin_cos();
        let way = to.at - from.at;
        let turned_nrad = ((to.heading_rad - from.heading_rad) * 1e9).round() as i64;
        Self {
            ahead_um: ((way.x * cos + way.y * sin) * 1e6).round() as i64,
            left_um: ((way.y * cos - way.x * sin) * 1e6).round() as i64,
            turned_nrad: turned_nrad.rem_euclid(Self::TURN_NRAD),
        }
    }

    pub(super) fn mirrored(self) -> Self {
        Self {
            left_um: -self.left_um,
            turned_nrad: (-self.turned_nrad).rem_euclid(Self::TURN_NRAD),
            ..self
        }
    }
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
