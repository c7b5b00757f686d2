//! The checked job: what the ground looks like, what machines there are, what is asked.
//!
//! Every value here has passed the limits of [`super::limits`]; names are resolved (an
//! operation holds its implement and tractor), defaults are filled and said to be
//! defaults. Nothing here knows TOML or GeoJSON.

use std::collections::BTreeMap;

pub use super::hand_work::{
    Balance, BlockWork, Board, BoardWork, Fork, HandKind, HandWork, LaneWork, RestWork,
};
pub use super::rates::{RatePer, RateRow, Rates};
pub use super::task::Task;

use crate::space::{Angle, Compass, Corner, Heading, Position, Xy};
use crate::warning::Warning;

/// A whole job, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// What the job calls itself.
    pub name: String,
    /// The date printed on sheets, ISO 8601 (`2026-06-02`); `None` prints no date.
    pub date: Option<String>,
    /// The label of money, such as `£`; empty where none was given.
    pub currency: String,
    /// How the pitch is laid down.
    pub pitch: Pitch,
    /// What stands in the ground file, in the order of the file; empty without one.
    pub features: Vec<Feature>,
    /// The coordinate reference system of the features' coordinates, where the file is
    /// not WGS84.
    pub crs: Option<Crs>,
    /// Entrance given by corner flag and metres.
    pub entrance: Option<FlagPlace>,
    /// Stockpile given by corner flag and metres.
    pub stockpile: Option<FlagPlace>,
    /// The crew.
    pub crew: Crew,
    /// Materials by their name in the job.
    pub materials: BTreeMap<String, Material>,
    /// The machine work, in the order of the job.
    pub operations: Vec<Operation>,
    /// The hand work, in the order of the job.
    pub hand: Vec<HandWork>,
    /// Settings that hold for the whole plan.
    pub settings: Settings,
    /// What loading the job had to say, in the order found.
    pub warnings: Vec<Warning>,
    /// Where the job and its parts were read from, for messages.
    pub source: Source,
}

/// File names and lines, kept so that a later stage can say where a mistake stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Source {
    /// The job file as the user named it, such as `sample-pitches/stadium/job.toml`.
    pub job_file: String,
    /// The ground file likewise, where there is one.
    pub ground_file: Option<String>,
    /// Line (from 1) of each key, by dotted path: `pitch.length_m`, `operation.2.zones`
    /// (operations from 1), `ground.crs`.
    pub lines: BTreeMap<String, usize>,
}

impl Source {
    /// `line 12` for the line of a key, or of the nearest key above it that has one; empty
    /// where none has.
    #[must_use]
    pub fn place(&self, key: &str) -> String {
        let mut key = key;
        loop {
            if let Some(line) = self.lines.get(key) {
                return format!("line {line}");
            }
            match key.rfind('.') {
                Some(dot) => key = &key[..dot],
                None => return String::new(),
            }
        }
    }
}

/// The ways of laying a pitch down.
#[derive(Debug, Clone, PartialEq)]
pub struct Pitch {
    /// Length of the touch lines and of the goal lines, metres, where given.
    pub size_m: Option<Size>,
    /// Where it lies.
    pub lie: Lie,
    /// The names of the +x end and of the -x end, where the job fixes them.
    pub ends: Option<[Compass; 2]>,
    /// Run-off beyond the lines; `None` where the job says nothing.
    pub run_off: Option<RunOff>,
    /// The crew's own names of the sides and ends, for labels.
    pub stands: BTreeMap<Compass, String>,
    /// The surface.
    pub surface: Surface,
}

/// The sizes of a pitch, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Along x: the touch line.
    pub length_m: f64,
    /// Along y: the goal line.
    pub width_m: f64,
}

/// Where the pitch lies.
#[derive(Debug, Clone, PartialEq)]
pub enum Lie {
    /// By its centre and the true bearing of +x. Needs `size_m`.
    Centre {
        /// The middle of the pitch.
        centre: Position,
        /// True bearing of the long axis (+x).
        bearing: Heading,
    },
    /// By two to four corner marks, in the order of the job file. Needs `size_m`.
    Corners(Vec<(Corner, Position)>),
    /// By the outline with role `pitch` in the ground file. `size_m`, where given, sets
    /// the markings.
    Outline,
    /// Nowhere: sizes alone. Needs `size_m`.
    Nowhere {
        /// True bearing of the long axis (+x); 0 unless given.
        bearing: Heading,
    },
}

/// Run-off beyond the lines of the fitted rectangle, metres.
#[derive(Debug, Clone, PartialEq)]
pub enum RunOff {
    /// Beyond the touch lines and beyond the goal lines.
    ByLine {
        /// Beyond both touch lines.
        touch_m: f64,
        /// Beyond both goal lines.
        goal_m: f64,
    },
    /// By the compass; the job file must name the pitch's four sides.
    BySide(BTreeMap<Compass, f64>),
}

/// What the pitch is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Natural or fibre-reinforced.
    pub kind: SurfaceKind,
    /// No operation may go deeper, millimetres.
    pub max_depth_mm: Option<f64>,
}

/// Kinds of surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceKind {
    /// Grass in its root zone.
    Natural,
    /// Grass reinforced by fibres.
    Hybrid,
}

/// A named coordinate reference system.
#[derive(Debug, Clone, PartialEq)]
pub struct Crs {
    /// Such as `EPSG:27700`.
    pub name: String,
    /// A folder of PROJ grids, as a path that can be opened from here.
    pub grids: Option<String>,
}

/// One feature of the ground file.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Its place in the file, from 1.
    pub number: usize,
    /// Its `name`, where it has one.
    pub name: Option<String>,
    /// What it is.
    pub role: Role,
    /// Its shape in **file coordinates**: x = longitude or easting, y = latitude or
    /// northing. Valid (rings closed, no ring crosses itself, no empty geometry).
    pub shape: geo::Geometry<f64>,
}

impl Feature {
    /// How messages call it: ``feature 3 `old oak` ``.
    #[must_use]
    pub fn label(&self) -> String {
        match &self.name {
            Some(name) => format!("feature {} `{name}`", self.number),
            None => format!("feature {}", self.number),
        }
    }
}

/// What a feature of the ground file is.
#[derive(Debug, Clone, PartialEq)]
pub enum Role {
    /// The outline that is worked (one polygon); holes in it are kept clear.
    Pitch,
    /// The outline of all allowed ground, pitch included.
    RunOff,
    /// Tool and body keep clear.
    Obstacle {
        /// Kept clear around it, metres.
        clearance_m: f64,
    },
    /// Tool and body keep out.
    NoGo {
        /// Kept clear around it, metres.
        clearance_m: f64,
    },
    /// A goal: like an obstacle unless the goals are out.
    Goal {
        /// Kept clear around it, metres.
        clearance_m: f64,
    },
    /// Where material lies: like an obstacle, hauls excepted.
    Stockpile {
        /// Kept clear around it, metres.
        clearance_m: f64,
    },
    /// A sprinkler head: wheels may cross, tools that cut are up around it.
    Head {
        /// Tool up within, metres.
        clearance_m: f64,
    },
    /// A socket of a goal or flag, likewise.
    Socket {
        /// Tool up within, metres.
        clearance_m: f64,
    },
    /// A lid or valve box, likewise.
    Lid {
        /// Tool up within, metres.
        clearance_m: f64,
    },
    /// A pipe or cable in the ground.
    Service {
        /// Depth of its upper side, metres; `None` where nobody knows.
        depth_m: Option<f64>,
    },
    /// The way in.
    Entrance,
    /// A wear zone of the user's own.
    Zone {
        /// Its name (unique among zones).
        name: String,
        /// Wear class 1 to 5.
        wear: u8,
    },
    /// A stand, for drawings.
    Stand {
        /// Height of its roof edge, metres.
        height_m: Option<f64>,
    },
}

impl Role {
    /// The word in the ground file.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Pitch => "pitch",
            Self::RunOff => "run_off",
            Self::Obstacle { .. } => "obstacle",
            Self::NoGo { .. } => "no_go",
            Self::Goal { .. } => "goal",
            Self::Stockpile { .. } => "stockpile",
            Self::Head { .. } => "head",
            Self::Socket { .. } => "socket",
            Self::Lid { .. } => "lid",
            Self::Service { .. } => "service",
            Self::Entrance => "entrance",
            Self::Zone { .. } => "zone",
            Self::Stand { .. } => "stand",
        }
    }
}

/// A place told from a corner flag.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlagPlace {
    /// The flag.
    pub at: Corner,
    /// Metres along the goal line from the flag, inwards positive.
    pub along_m: f64,
    /// Metres out from the goal line into the run-off.
    pub out_m: f64,
}

/// Who works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crew {
    /// How many, where given.
    pub people: Option<u32>,
    /// What an hour of one person costs, in the job's money.
    pub price_per_h: Option<f64>,
}

/// A material of the job. Read and checked; nothing is computed from it yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Its kind.
    pub kind: MaterialKind,
    /// Density band in t/m3 (least, greatest); equal where measured.
    pub density_t_per_m3: Option<(f64, f64)>,
    /// Price of a tonne, in the job's money.
    pub price_per_t: Option<f64>,
    /// What a lorry brings, tonnes.
    pub lorry_t: Option<f64>,
}

/// Kinds of material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaterialKind {
    /// Sand.
    Sand,
    /// Seed.
    Seed,
    /// Fertiliser.
    Fertiliser,
    /// Root zone.
    RootZone,
    /// What machines take off.
    Arisings,
}

/// A tractor.
#[derive(Debug, Clone, PartialEq)]
pub struct Tractor {
    /// Its name in the job.
    pub name: String,
    /// Least turning radius of the middle of the rear axle to the left, metres.
    pub turn_radius_left_m: f64,
    /// The same to the right.
    pub turn_radius_right_m: f64,
    /// Its body about the middle of the rear axle.
    pub body: Option<Body>,
    /// Speed in turns, km/h; `None`: the speed of the work.
    pub turn_speed_km_h: Option<f64>,
    /// Seconds of a change of driving direction.
    pub change_s: f64,
    /// From the middle of the left wheels to the middle of the right ones, metres.
    pub track_width_m: f64,
    /// By what it is steered.
    pub steering: Steering,
    /// How well it is steered, metres (one standard deviation); `None`: by the default of
    /// `steering`.
    pub steering_sd_m: Option<f64>,
}

/// By what a tractor is steered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Steering {
    /// Along a string or canes.
    String,
    /// By eye, along the pass before.
    Eye,
    /// By satellite with correction.
    Satellite,
}

impl Steering {
    /// The word in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::String => "string",
            Self::Eye => "eye",
            Self::Satellite => "satellite",
        }
    }
}

/// A body about the middle of the rear axle, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Body {
    /// Width.
    pub width_m: f64,
    /// Reach ahead of the rear axle.
    pub ahead_m: f64,
    /// Reach behind the rear axle.
    pub behind_m: f64,
}

/// An implement.
#[derive(Debug, Clone, PartialEq)]
pub struct Implement {
    /// Its name in the job.
    pub name: String,
    /// What pulls it; `None`: pushed or carried by hand.
    pub tractor: Option<Tractor>,
    /// Width it works, metres.
    pub working_width_m: f64,
    /// How far neighbouring passes overlap, metres.
    pub overlap_m: f64,
    /// Working speed, km/h.
    pub speed_km_h: f64,
    /// How far behind the rear axle it works, metres.
    pub reach_m: f64,
    /// Whether the machine may reverse with the tool lifted.
    pub can_reverse: bool,
    /// What it carries, tonnes.
    pub hopper_t: Option<f64>,
    /// Minutes to fill it.
    pub load_min: f64,
}

impl Implement {
    /// Spacing of neighbouring lines as asked: width less overlap, metres.
    #[must_use]
    pub fn asked_spacing_m(&self) -> f64 {
        self.working_width_m - self.overlap_m
    }

    /// The radius of a rounded corner: the greater of the tractor's two, 0 by hand, metres.
    #[must_use]
    pub fn corner_radius_m(&self) -> f64 {
        self.tractor.as_ref().map_or(0.0, |tractor| {
            tractor.turn_radius_left_m.max(tractor.turn_radius_right_m)
        })
    }
}

/// One operation of the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Operation {
    /// Its place in the job, from 1.
    pub number: usize,
    /// Its id, unique; safe in a file name.
    pub id: String,
    /// What is done.
    pub task: Task,
    /// With what.
    pub implement: Implement,
    /// Zone names, kinds or regions, as written.
    pub zones: Vec<String>,
    /// Only zones of these wear classes.
    pub wear: Option<Vec<u8>>,
    /// Directions, in the order worked.
    pub directions: Vec<Direction>,
    /// Where the tool is lifted.
    pub ends: Ends,
    /// How far both outer ends of each line are lengthened, metres.
    pub over_m: f64,
    /// Where the set of lines starts.
    pub start: Start,
    /// What is done with what the spacing leaves over.
    pub remainder: Remainder,
    /// Rounds along the edge, before the straights.
    pub perimeter_rounds: u32,
    /// In which order the passes are driven (for routes).
    pub order: Order,
    /// A metre turned on the pitch counts as this many (for routes).
    pub turn_on_pitch_cost: f64,
    /// What the rule is to read, for tasks that have a depth.
    pub depth: Option<Depth>,
    /// Whether a rate or material is asked for (read, not counted yet).
    pub asks_material: bool,
    /// What is put down where (for loads); `None` where there is no rate, and for what machines
    /// take off.
    pub rates: Option<Rates>,
    /// The material that the rates speak of; a rate may have none.
    pub material: Option<OperationMaterial>,
    /// People at it; `None`: the crew's, else 1.
    pub people: Option<u32>,
    /// Shorter parts are dropped, metres.
    pub min_pass_m: f64,
}

/// The material of an operation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OperationMaterial {
    /// Its name in the job.
    pub name: String,
    /// Its place among the materials of all operations of the job, in the order in which they are
    /// first used, from 1. It stays the same where operations are left out or added at the end.
    pub number: usize,
}

/// A depth, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// What the rule is to read.
    pub depth_mm: f64,
    /// Whether it is the task's default rather than the job's word.
    pub is_default: bool,
}

/// How the lines of a direction lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Direction {
    /// Along the touch lines, 0 degrees.
    Along,
    /// Along the goal lines, 90 degrees.
    Across,
    /// +45 degrees.
    DiagonalLeft,
    /// -45 degrees.
    DiagonalRight,
    /// +atan(width / length) of the fitted rectangle.
    CornerLeft,
    /// -atan(width / length).
    CornerRight,
    /// An angle anticlockwise from +x.
    Angle(Angle),
    /// A true heading.
    Heading(Heading),
}

/// Where the tool is lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Where the whole cross-section of the strip has left the target.
    RunOver,
    /// Where the centre line leaves the target.
    OnLine,
    /// Where the first of the cross-section leaves the target.
    HoldInside,
}

impl Ends {
    /// The word in the job file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::RunOver => "run_over",
            Self::OnLine => "on_line",
            Self::HoldInside => "hold_inside",
        }
    }
}

/// Where the set of lines starts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Start {
    /// Symmetric about the middle of the extent.
    Centred,
    /// At the side towards a named line of the pitch.
    From {
        /// The line's compass point.
        side: Compass,
        /// Whether the job calls it a goal line (else a touch line).
        is_goal_line: bool,
    },
    /// In phase with a line in pitch metres, for the direction parallel to it.
    Line {
        /// One point of it.
        from: Xy,
        /// Another.
        to: Xy,
        /// Half a spacing off, so that the line lies between two passes.
        between: bool,
    },
}

/// What is done with what the spacing leaves over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Remainder {
    /// Lines move closer together so that the outer edges fit.
    Even,
    /// The spacing is kept; the surplus lies outside.
    Full,
}

impl Remainder {
    /// The word in the job file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Even => "even",
            Self::Full => "full",
        }
    }
}

/// In which order passes are driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// The least turning.
    Shortest,
    /// One after the other.
    Neighbour,
    /// Blocks worked round.
    Lands,
}

/// Settings that hold for the whole plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Share of work, turning, hauling and loading that is added for stops.
    pub stops_share: f64,
    /// Plan over services of unknown depth as if they were deep.
    pub accept_unknown_services: bool,
    /// Goals are away: only their sockets count.
    pub goals_out: bool,
    /// More passes of a wheel over one place are warned of.
    pub wheel_passes_max: u32,
    /// The overlap is told for which steering misses at most this share of the area.
    pub steering_miss_share: f64,
    /// Ends of passes are waypoints of the GPX file too.
    pub gpx_waypoints: bool,
    /// Plan the drive too: turns, order and its bound.
    pub routes: bool,
    /// How hard the order of passes is searched (for routes).
    pub effort: Effort,
    /// The version that task data is written in.
    pub task_data: TaskDataVersion,
}

/// Versions of ISO 11783-10 task data that are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TaskDataVersion {
    /// Version 4.3: guidance groups, each line a pattern.
    V4_3,
    /// Version 3.3: lines of the field, for older terminals.
    V3_3,
}

/// How hard the order of passes is searched: fixed numbers of rounds and states, never
/// seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Effort {
    /// A drivable order, without a bound.
    Quick,
    /// An order within some per cent of its bound.
    Normal,
    /// Until order and bound meet, as far as memory allows.
    Thorough,
}

impl Effort {
    /// The word in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Quick => "quick",
            Self::Normal => "normal",
            Self::Thorough => "thorough",
        }
    }
}
