//! Where something lies and which way it points, in types that cannot be mixed up.
//!
//! Three things are easy to confuse and costly when they are: a place on the globe
//! ([`Position`], degrees) and a place on the pitch ([`Xy`], metres); a compass
//! [`Heading`] (true, clockwise from north) and a mathematical [`Angle`]
//! (anticlockwise from the pitch's +x). Each has a type of its own, so that giving one
//! for another does not compile:
//!
//! ```compile_fail
//! use swardlane::space::{Angle, Heading};
//! fn lay_lines(_: Angle) {}
//! lay_lines(Heading::from_deg(45.0)); // a heading is not an angle
//! ```
//!
//! ```compile_fail
//! use swardlane::space::{Position, Xy};
//! fn measure_from(_: Xy) {}
//! measure_from(Position { lat_deg: 55.3, lon_deg: -3.7 }); // degrees are not pitch metres
//! ```
//!
//! The way from one to the other is the pitch's bearing, and it is named at the call:
//!
//! ```
//! use swardlane::space::{Angle, Heading};
//! let bearing = Heading::from_deg(12.5);
//! let left_diagonal = Angle::from_deg(45.0);
//! assert_eq!(left_diagonal.heading(bearing), Heading::from_deg(327.5));
//! ```

/// A place in the pitch frame: `x` along the bearing, `y` to its left, metres from the
/// centre of the fitted rectangle.
pub type Xy = geo::Coord<f64>;

/// Where the line from one place to another has the ordinate `y`: its abscissa, exact at both
/// ends. The two must not have the same ordinate, unless it is `y`.
#[must_use]
pub(crate) fn abscissa_at(from: Xy, to: Xy, y: f64) -> f64 {
    if y == from.y {
        from.x
    } else if y == to.y {
        to.x
    } else {
        let share = (y - from.y) / (to.y - from.y);
        from.x + share * (to.x - from.x)
    }
}

/// A place on the WGS84 ellipsoid, in degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Geodetic latitude in degrees, north positive, -90 to 90.
    pub lat_deg: f64,
    /// Longitude in degrees, east positive, -180 to 180.
    pub lon_deg: f64,
}

/// A mathematical angle in the pitch frame, anticlockwise from +x, in degrees.
///
/// Kept as given (not folded), so that 45 and 225 stay different words for lines that
/// lie alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Angle {
    deg: f64,
}

impl Angle {
    /// An angle of `deg` degrees, anticlockwise from +x.
    #[must_use]
    pub const fn from_deg(deg: f64) -> Self {
        Self { deg }
    }

    /// The angle in degrees, as given.
    #[must_use]
    pub const fn deg(self) -> f64 {
        self.deg
    }

    /// The unit vector of this angle in the pitch frame.
    ///
    /// Quarter turns are exact: 90 degrees is (0, 1) to the last bit, so that lines
    /// along and across a pitch are free of the rounding of `cos(pi/2)`.
    #[must_use]
    pub fn unit(self) -> Xy {
        let folded = self.deg.rem_euclid(360.0);
        let (x, y) = if folded == 0.0 {
            (1.0, 0.0)
        } else if folded == 90.0 {
            (0.0, 1.0)
        } else if folded == 180.0 {
            (-1.0, 0.0)
        } else if folded == 270.0 {
            (0.0, -1.0)
        } else {
            let (sin, cos) = folded.to_radians().sin_cos();
            (cos, sin)
        };
        Xy { x, y }
    }

    /// The true heading of this angle on a pitch whose +x has the given `bearing`:
    /// (bearing - angle) mod 360.
    #[must_use]
    pub fn heading(self, bearing: Heading) -> Heading {
        Heading::from_deg(bearing.deg() - self.deg)
    }
}

/// A true heading: degrees clockwise from north, from 0 up to but not 360.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heading {
    deg: f64,
}

impl Heading {
    /// A heading of `deg` degrees, folded into [0, 360).
    #[must_use]
    pub fn from_deg(deg: f64) -> Self {
        let folded = deg.rem_euclid(360.0);
        // rem_euclid of a tiny negative number rounds up to 360 itself.
        Self {
            deg: if folded >= 360.0 { 0.0 } else { folded },
        }
    }

    /// The heading in degrees, in [0, 360).
    #[must_use]
    pub const fn deg(self) -> f64 {
        self.deg
    }

    /// The angle in the pitch frame of a line with this heading, where +x has `bearing`.
    #[must_use]
    pub fn angle(self, bearing: Heading) -> Angle {
        Angle::from_deg(bearing.deg() - self.deg)
    }

    /// The same line driven the other way is the same heading for comparing: the
    /// smallest difference modulo 180, in degrees (0 to 90).
    #[must_use]
    pub fn line_difference_deg(self, other: Heading) -> f64 {
        let difference = (self.deg - other.deg).rem_euclid(180.0);
        difference.min(180.0 - difference)
    }
}

/// One of the four points of the compass that ends and sides of a pitch are named by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Compass {
    /// North.
    North,
    /// East.
    East,
    /// South.
    South,
    /// West.
    West,
}

impl Compass {
    /// All four, clockwise from north.
    pub const ALL: [Self; 4] = [Self::North, Self::East, Self::South, Self::West];

    /// The word used in files and labels: `north`, `east`, `south` or `west`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::North => "north",
            Self::East => "east",
            Self::South => "south",
            Self::West => "west",
        }
    }

    /// The point straight across.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::North => Self::South,
            Self::East => Self::West,
            Self::South => Self::North,
            Self::West => Self::East,
        }
    }

    /// Whether this is north or south.
    #[must_use]
    pub const fn is_meridional(self) -> bool {
        matches!(self, Self::North | Self::South)
    }
}

/// A corner of the pitch by the compass: `ne`, `se`, `sw`, `nw`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Corner {
    /// North-east.
    Ne,
    /// South-east.
    Se,
    /// South-west.
    Sw,
    /// North-west.
    Nw,
}

impl Corner {
    /// All four, clockwise from north-east.
    pub const ALL: [Self; 4] = [Self::Ne, Self::Se, Self::Sw, Self::Nw];

    /// The word used in files and labels.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ne => "ne",
            Self::Se => "se",
            Self::Sw => "sw",
            Self::Nw => "nw",
        }
    }

    /// Its two compass points: north or south first, then east or west.
    #[must_use]
    pub const fn compass(self) -> (Compass, Compass) {
        match self {
            Self::Ne => (Compass::North, Compass::East),
            Self::Se => (Compass::South, Compass::East),
            Self::Sw => (Compass::South, Compass::West),
            Self::Nw => (Compass::North, Compass::West),
        }
    }

    /// The corner between two compass points, one of them north or south and the other
    /// east or west, in either order; `None` for any other pair.
    #[must_use]
    pub const fn between(one: Compass, other: Compass) -> Option<Self> {
        match (one, other) {
            (Compass::North, Compass::East) | (Compass::East, Compass::North) => Some(Self::Ne),
            (Compass::South, Compass::East) | (Compass::East, Compass::South) => Some(Self::Se),
            (Compass::South, Compass::West) | (Compass::West, Compass::South) => Some(Self::Sw),
            (Compass::North, Compass::West) | (Compass::West, Compass::North) => Some(Self::Nw),
            _ => None,
        }
    }
}
