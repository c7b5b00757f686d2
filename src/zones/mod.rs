//! The disjoint wear zones of the pitch, the regions, and the targets of operations.

mod named;
mod partition;
mod rated;
mod shapes;
mod target;

pub use named::{NamedGround, named};
pub use partition::partition;
pub use rated::{Rated, check_rates, rated};
pub use target::{Tool, blocked, target, targets};

use geo::MultiPolygon;

/// Kinds of zone, by precedence (an earlier kind keeps its ground).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum ZoneKind {
    User,
    Goalmouth,
    SixYard,
    PenaltySpot,
    Box,
    Corner,
    CentreSpot,
    CentreCircle,
    CentreStrip,
    Wing,
}

impl ZoneKind {
    /// All kinds, by precedence.
    pub const ALL: [Self; 10] = [
        Self::User,
        Self::Goalmouth,
        Self::SixYard,
        Self::PenaltySpot,
        Self::Box,
        Self::Corner,
        Self::CentreSpot,
        Self::CentreCircle,
        Self::CentreStrip,
        Self::Wing,
    ];

    /// The word in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::User => "user",
            Self::Goalmouth => "goalmouth",
            Self::SixYard => "six_yard",
            Self::PenaltySpot => "penalty_spot",
            Self::Box => "box",
            Self::Corner => "corner",
            Self::CentreSpot => "centre_spot",
            Self::CentreCircle => "centre_circle",
            Self::CentreStrip => "centre_strip",
            Self::Wing => "wing",
        }
    }
}

/// One zone of the partition.
#[derive(Debug, Clone)]
pub struct Zone {
    /// Its name, kebab-case, such as `goalmouth-south`; a user zone's own name.
    pub name: String,
    /// Its kind.
    pub kind: ZoneKind,
    /// Its wear class, 1 (light) to 5 (bare).
    pub wear: u8,
    /// Its ground, pitch metres.
    pub shape: MultiPolygon<f64>,
    /// Its area, square metres, measured from `shape`.
    pub area_m2: f64,
}

/// What an operation is to work.
#[derive(Debug, Clone)]
pub struct Target {
    /// Connected pieces of the union of zones, each with what is left of it to work.
    pub pieces: Vec<Piece>,
    /// All that is to be worked: the pieces' targets together.
    pub shape: MultiPolygon<f64>,
    /// Whether `shape` reaches beyond the outline, be it by a hair.
    pub leaves_pitch: bool,
    /// Area of `shape`, square metres.
    pub area_m2: f64,
    /// Area of the union of zones less `area_m2`, square metres.
    pub kept_clear_m2: f64,
    /// What the tool is kept out of in this operation (obstacles, no-go, goals,
    /// stockpiles with clearance, and what its depth keeps off), one entry a thing.
    pub blocked: Vec<MultiPolygon<f64>>,
    /// The union of `blocked`.
    pub closed: MultiPolygon<f64>,
}

/// A connected piece of the union of zones.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The piece before anything was cut out: its extent sets the lines.
    pub zones: MultiPolygon<f64>,
    /// What is left of it to work.
    pub target: MultiPolygon<f64>,
}
