//! What a machine drives: arcs at full lock and straights, forwards or in reverse, one after
//! another.
//!
//! All measures are of the arcs themselves; only [`Path::points`] makes chords.

use super::pose::Pose;
use crate::space::Xy;

/// Greatest distance of a written chord from its arc, metres.
pub const SAGITTA_M: f64 = 0.005;

/// Pieces shorter than this are none, metres.
pub(super) const LEAST_PIECE_M: f64 = 1e-9;

/// How the front wheels stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Bend {
    /// Full lock to the left.
    Left,
    /// Straight on.
    Straight,
    /// Full lock to the right.
    Right,
}

impl Bend {
    /// 1 to the left, -1 to the right, 0 straight on.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Left => 1.0,
            Self::Straight => 0.0,
            Self::Right => -1.0,
        }
    }

    /// The other side; straight on stays.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Straight => Self::Straight,
            Self::Right => Self::Left,
        }
    }
}

/// The radii of the least circles of the middle of the rear axle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Radii {
    /// To the left, metres, above 0.
    pub left_m: f64,
    /// To the right, metres, above 0.
    pub right_m: f64,
}

impl Radii {
    /// The same radius to both sides, metres.
    #[must_use]
    pub const fn both(radius_m: f64) -> Self {
        Self {
            left_m: radius_m,
            right_m: radius_m,
        }
    }

    /// The radius of that side, metres; 0 for straight on.
    #[must_use]
    pub const fn of(self, bend: Bend) -> f64 {
        match bend {
            Bend::Left => self.left_m,
            Bend::Straight => 0.0,
            Bend::Right => self.right_m,
        }
    }

    /// The lesser of the two, metres.
    #[must_use]
    pub const fn least_m(self) -> f64 {
        self.left_m.min(self.right_m)
    }
}

/// One arc or straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// How the wheels stand.
    pub bend: Bend,
    /// Length driven, metres, not negative.
    pub length_m: f64,
    /// Driven backwards. With the lock to the left a machine that reverses goes round the same
    /// left circle the other way.
    pub reverse: bool,
}

impl Piece {
    /// A piece driven forwards.
    #[must_use]
    pub const fn forwards(bend: Bend, length_m: f64) -> Self {
        Self {
            bend,
            length_m,
            reverse: false,
        }
    }

    /// A piece driven in reverse.
    #[must_use]
    pub const fn backwards(bend: Bend, length_m: f64) -> Self {
        Self {
            bend,
            length_m,
            reverse: true,
        }
    }

    /// Its length, negative in reverse, metres.
    #[must_use]
    pub const fn signed_m(&self) -> f64 {
        if self.reverse {
            -self.length_m
        } else {
            self.length_m
        }
    }

    /// By how much the nose turns, radians, positive to the left.
    #[must_use]
    pub fn turned_rad(&self, radii: Radii) -> f64 {
        match self.bend {
            Bend::Straight => 0.0,
            bend => bend.sign() * self.signed_m() / radii.of(bend),
        }
    }

    /// The same piece driven the other way.
    #[must_use]
    pub const fn turned_back(&self) -> Self {
        Self {
            reverse: !self.reverse,
            ..*self
        }
    }
}

/// How many times the driving direction changes from piece to piece; with `forwards_before`
/// and `forwards_after` the joints to work driven forwards count too. Pieces of no length
/// count for nothing.
#[must_use]
pub fn changes<'a>(
    pieces: impl IntoIterator<Item = &'a Piece>,
    forwards_before: bool,
    forwards_after: bool,
) -> usize {
    let mut last = forwards_before.then_some(false);
    let mut count = 0;
    for piece in pieces {
        if piece.length_m > LEAST_PIECE_M {
            count += usize::from(last.is_some_and(|reverse| reverse != piece.reverse));
            last = Some(piece.reverse);
        }
    }
    count + usize::from(forwards_after && last == Some(true))
}

/// A way from a pose, piece by piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// Where it begins.
    pub start: Pose,
    /// The radii that its arcs are driven at.
    pub radii: Radii,
    /// What is driven, in order.
    pub pieces: Vec<Piece>,
}

impl Path {
    /// The path of these pieces; what has no length is left out, and neighbours alike are one.
    #[must_use]
    pub fn new(start: Pose, radii: Radii, pieces: impl IntoIterator<Item = Piece>) -> Self {
        let mut kept: Vec<Piece> = Vec::new();
        for piece in pieces {
            if piece.length_m <= LEAST_PIECE_M {
                continue;
            }
            match kept.last_mut() {
                Some(last) if last.bend == piece.bend && last.reverse == piece.reverse => {
                    last.length_m += piece.length_m;
                }
                _ => kept.push(piece),
            }
        }
        Self {
            start,
            radii,
            pieces: kept,
        }
    }

    /// The pose at its end.
    #[must_use]
    pub fn end(&self) -> Pose {
        self.pieces
            .iter()
            .fold(self.start, |pose, piece| pose.after(piece, self.radii))
    }

    /// The pose before each piece.
    pub fn poses(&self) -> impl Iterator<Item = (Pose, &Piece)> {
        self.pieces.iter().scan(self.start, |pose, piece| {
            let before = *pose;
            *pose = before.after(piece, self.radii);
            Some((before, piece))
        })
    }

    /// The pose `along_m` metres from its start; its end beyond that.
    #[must_use]
    pub fn pose_at(&self, along_m: f64) -> Pose {
        let mut left_m = along_m.max(0.0);
        let mut pose = self.start;
        for piece in &self.pieces {
            let length_m = piece.length_m.min(left_m);
            pose = pose.after(&Piece { length_m, ..*piece }, self.radii);
            left_m -= length_m;
        }
        pose
    }

    /// Its length, metres.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.length_m).sum()
    }

    /// Changes of driving direction within it.
    #[must_use]
    pub fn changes(&self) -> usize {
        changes(&self.pieces, false, false)
    }

    /// The same way driven from its end back to its start.
    #[must_use]
    pub fn turned_back(&self) -> Self {
        Self {
            start: self.end(),
            radii: self.radii,
            pieces: self.pieces.iter().rev().map(Piece::turned_back).collect(),
        }
    }

    /// Points of the path, first and last included, so that no chord is farther than
    /// `sagitta_m` from its arc: an arc of angle a at radius r has the fewest n equal chords
    /// with r (1 - cos(a / 2n)) <= sagitta. Points of neighbouring pieces are shared.
    #[must_use]
    pub fn points(&self, sagitta_m: f64) -> Vec<Xy> {
        let mut points = vec![self.start.at];
        for (pose, piece) in self.poses() {
            let chords = chords(piece, self.radii, sagitta_m);
            for chord in 1..=chords {
                #[expect(clippy::cast_precision_loss, reason = "few chords")]
                let share = chord as f64 / chords as f64;
                let part = Piece {
                    length_m: piece.length_m * share,
                    ..*piece
                };
                points.push(pose.after(&part, self.radii).at);
            }
        }
        points
    }
}

/// How many equal chords a piece is written with.
fn chords(piece: &Piece, radii: Radii, sagitta_m: f64) -> usize {
    /// More than a whole circle of the greatest radius needs.
    const MOST: f64 = 100_000.0;
    let radius_m = radii.of(piece.bend);
    if radius_m <= sagitta_m {
        return 1;
    }
    let widest_rad = 2.0 * (1.0 - sagitta_m.max(0.0) / radius_m).acos();
    let n = (piece.length_m / radius_m / widest_rad - 1e-9).ceil();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "bounded on both sides"
    )]
    let n = n.clamp(1.0, MOST) as usize;
    n
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use approx::assert_abs_diff_eq;

    fn two_arcs() -> Path {
        Path::new(
            Pose::new(1.0, 2.0, 0.3),
            Radii {
                left_m: 2.5,
                right_m: 3.0,
            },
            [
                Piece::forwards(Bend::Left, 4.0),
                Piece::backwards(Bend::Straight, 1.5),
                Piece::forwards(Bend::Right, 0.0),
                Piece::backwards(Bend::Right, 5.0),
            ],
        )
    }

    #[test]
    fn chords_stay_within_their_sagitta_and_are_the_fewest_that_do() {
        let arc = Path::new(
            Pose::new(0.0, 0.0, 0.0),
            Radii::both(3.0),
            [Piece::forwards(Bend::Left, 3.0 * PI)],
        );
        for sagitta_m in [0.001, SAGITTA_M, 0.05] {
            let points = arc.points(sagitta_m);
            let angle = PI / (points.len() - 1) as f64;
            assert!(3.0 * (1.0 - (angle / 2.0).cos()) <= sagitta_m);
            let wider = PI / (points.len() - 2) as f64;
            assert!(3.0 * (1.0 - (wider / 2.0).cos()) > sagitta_m);
            for point in points {
                assert_abs_diff_eq!(point.x.hypot(point.y - 3.0), 3.0, epsilon = 1e-12);
            }
        }
    }

    #[test]
    fn a_path_turned_back_ends_where_it_began() {
        let path = two_arcs();
        assert_eq!(path.pieces.len(), 3);
        let back = path.turned_back().end();
        assert_abs_diff_eq!(back.distance_m(path.start), 0.0, epsilon = 1e-12);
        assert_abs_diff_eq!(
            back.heading_difference_rad(path.start),
            0.0,
            epsilon = 1e-12
        );
    }

    #[test]
    fn changes_count_joints_to_work_where_asked() {
        let path = two_arcs();
        assert_eq!(path.changes(), 1);
        assert_eq!(changes(&path.pieces, true, true), 2);
        assert_eq!(changes(&path.turned_back().pieces, true, false), 1);
        assert_eq!(changes(&path.turned_back().pieces, false, true), 2);
        assert_eq!(changes([], true, true), 0);
    }

    #[test]
    fn the_pose_part_way_lies_on_the_path() {
        let path = two_arcs();
        assert_abs_diff_eq!(path.pose_at(99.0).distance_m(path.end()), 0.0);
        let at = path.pose_at(4.7);
        let by_hand = path.start.after(&path.pieces[0], path.radii).ahead(-0.7);
        assert_abs_diff_eq!(at.distance_m(by_hand), 0.0, epsilon = 1e-12);
    }
}
