//! The pitch as it lies, in metres: frame, outline, markings, run-off, what to keep
//! clear of.

pub mod curves;
pub mod fit;
pub mod frame;
pub mod law;
mod lay;
mod lie;
pub mod markings;

pub use lay::lay;

use geo::{Geometry, MultiPolygon, Polygon};

use crate::job::model::{Lie, Role};
use crate::region;
use crate::space::{Compass, Corner, Xy};
use frame::Frame;

/// The ground in the pitch frame, metres.
#[derive(Debug, Clone)]
pub struct Ground {
    /// The pitch frame on the globe; `None` where the job gives no position.
    pub frame: Option<Frame>,
    /// From what the place on the globe was come by.
    pub placed_by: PlacedBy,
    /// True bearing of +x (0 unless given where there is no position).
    pub bearing: crate::space::Heading,
    /// Length of the fitted rectangle along x, metres: the touch line.
    pub length_m: f64,
    /// Width of the fitted rectangle along y, metres: the goal line.
    pub width_m: f64,
    /// The largest distance of a mark from the rectangle's corner, or of an outline
    /// vertex from its boundary, metres.
    pub misfit_m: f64,
    /// The names of ends and sides.
    pub names: Names,
    /// What is worked: exterior ring only, anticlockwise (holes are among `kept`).
    pub outline: Polygon<f64>,
    /// Pitch and run-off, nothing taken out.
    pub grass: MultiPolygon<f64>,
    /// Where wheels and tool may go: `grass` less obstacles, no-go, goals and stockpiles
    /// with their clearance.
    pub allowed: MultiPolygon<f64>,
    /// Everything that is kept clear in some way, in the order of the ground file, holes
    /// of the pitch last.
    pub kept: Vec<Kept>,
    /// Zones of the user's own, in the order of the ground file.
    pub user_zones: Vec<UserZone>,
    /// Ways in.
    pub entrances: Vec<Geometry<f64>>,
    /// The stands, for drawings.
    pub stands: Vec<Stand>,
    /// The crew's own names of the sides and ends, for labels.
    pub stand_names: std::collections::BTreeMap<Compass, String>,
}

/// From what a pitch's place on the globe was come by: how exact it can be at best.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlacedBy {
    /// Its centre and bearing, written in the job.
    Centre,
    /// So many corner marks, written in the job.
    Corners(usize),
    /// The outline in the ground file.
    Outline,
    /// Nothing: sizes alone.
    Nothing,
}

impl From<&Lie> for PlacedBy {
    fn from(lie: &Lie) -> Self {
        match lie {
            Lie::Centre { .. } => Self::Centre,
            Lie::Corners(marks) => Self::Corners(marks.len()),
            Lie::Outline => Self::Outline,
            Lie::Nowhere { .. } => Self::Nothing,
        }
    }
}

/// One thing that is kept clear.
#[derive(Debug, Clone)]
pub struct Kept {
    /// Its label in messages, such as ``feature 3 `old oak` ``.
    pub label: String,
    /// Its own name, where it has one.
    pub name: Option<String>,
    /// What it is.
    pub role: Role,
    /// Its shape as given, pitch metres.
    pub shape: Geometry<f64>,
    /// How far it is kept clear of, metres.
    pub clearance_m: f64,
    /// The shape widened by the clearance (contract of the curve: never under-run, at
    /// most 1 mm over).
    pub kept_clear: MultiPolygon<f64>,
    /// A goal that is away: nothing is kept clear of it.
    pub away: bool,
    /// A hole of the pitch's outline, written there rather than as a no-go of its own.
    pub is_hole: bool,
}

impl Kept {
    /// Whether tool and body keep out (obstacle, no-go, goal, stockpile, hole).
    #[must_use]
    pub const fn stops_the_body(&self) -> bool {
        !self.away
            && matches!(
                self.role,
                Role::Obstacle { .. }
                    | Role::NoGo { .. }
                    | Role::Goal { .. }
                    | Role::Stockpile { .. }
            )
    }

    /// Whether tools that cut are up around it (head, socket, lid).
    #[must_use]
    pub const fn stops_tools_that_cut(&self) -> bool {
        matches!(
            self.role,
            Role::Head { .. } | Role::Socket { .. } | Role::Lid { .. }
        )
    }
}

/// A wear zone of the user's own.
#[derive(Debug, Clone)]
pub struct UserZone {
    /// Its name.
    pub name: String,
    /// Its wear class, 1 to 5.
    pub wear: u8,
    /// Its shape as given, pitch metres.
    pub shape: MultiPolygon<f64>,
}

/// A stand.
#[derive(Debug, Clone)]
pub struct Stand {
    /// Its name.
    pub name: Option<String>,
    /// Height of the roof edge, metres.
    pub height_m: Option<f64>,
    /// Its shape, pitch metres.
    pub shape: Geometry<f64>,
}

/// The compass names of the pitch's ends and sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Names {
    /// The end towards +x.
    pub plus_x: Compass,
    /// The side towards +y.
    pub plus_y: Compass,
}

impl Names {
    /// The names of a pitch whose +x end is called so: +y lies to its left.
    #[must_use]
    pub const fn with_plus_x(plus_x: Compass) -> Self {
        let plus_y = match plus_x {
            Compass::North => Compass::West,
            Compass::East => Compass::North,
            Compass::South => Compass::East,
            Compass::West => Compass::South,
        };
        Self { plus_x, plus_y }
    }

    /// The end towards -x.
    #[must_use]
    pub const fn minus_x(self) -> Compass {
        self.plus_x.opposite()
    }

    /// The side towards -y.
    #[must_use]
    pub const fn minus_y(self) -> Compass {
        self.plus_y.opposite()
    }

    /// The outward unit vector of the pitch's line by that compass point.
    #[must_use]
    pub fn outward(self, point: Compass) -> Xy {
        let (x, y) = if point == self.plus_x {
            (1.0, 0.0)
        } else if point == self.minus_x() {
            (-1.0, 0.0)
        } else if point == self.plus_y {
            (0.0, 1.0)
        } else {
            (0.0, -1.0)
        };
        Xy { x, y }
    }

    /// Whether that compass point names an end (a goal line) rather than a side.
    #[must_use]
    pub fn is_end(self, point: Compass) -> bool {
        point == self.plus_x || point == self.minus_x()
    }

    /// The signs of x and y at a corner.
    #[must_use]
    pub fn corner_signs(self, corner: Corner) -> Xy {
        let (one, other) = corner.compass();
        let (a, b) = (self.outward(one), self.outward(other));
        Xy {
            x: a.x + b.x,
            y: a.y + b.y,
        }
    }
}

impl Ground {
    /// The outline less its holes.
    #[must_use]
    pub fn field(&self) -> MultiPolygon<f64> {
        let outline = MultiPolygon(vec![self.outline.clone()]);
        let holes = self.kept.iter().filter(|kept| kept.is_hole);
        region::difference(&outline, &region::union(holes.map(|kept| &kept.kept_clear)))
    }

    /// A corner of the fitted rectangle, pitch metres.
    #[must_use]
    pub fn corner(&self, corner: Corner) -> Xy {
        let signs = self.names.corner_signs(corner);
        Xy {
            x: signs.x * self.length_m / 2.0,
            y: signs.y * self.width_m / 2.0,
        }
    }

    /// `south end (Canal stand)`: a compass point with the crew's own name, where it has one.
    #[must_use]
    pub fn stand_label(&self, point: Compass) -> String {
        match self.stand_names.get(&point) {
            Some(name) => format!("{} ({name})", point.name()),
            None => point.name().to_owned(),
        }
    }
}
