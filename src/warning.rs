//! Warnings as values: what a person should know before driving the plan.
//!
//! A warning never stops a plan. Each has a code from a closed list ([`Code`]), a
//! sentence for people and the place it speaks of.

use std::fmt;

/// The closed list of warning codes, in alphabetical order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Code {
    /// The names written beside the corner marks are not those the compass gives.
    CornerNames,
    /// No run-off was given; 3 m all round was taken.
    DefaultRunOff,
    /// `full` could not be kept for want of run-off; `even` was used.
    EvenInstead,
    /// A ground feature has no area, length or clearance, so it keeps nothing clear.
    EmptyFeature,
    /// Loads cannot be planned.
    LoadsNotPlanned,
    /// Worn blocks lie where something is kept clear and are not cut.
    BlocksKeptOff,
    /// Holes of the two stages of a forking fall into each other too often.
    CoincidentHoles,
    /// A fork goes deeper than people can work it.
    DeepFork,
    /// Donors for turf blocks are too few, or have to touch.
    DonorsShort,
    /// A fork is wider than the ground that it is to work.
    ForkTooWide,
    /// Mending does not fit into the time that there is.
    HandTime,
    /// Hand work goes deeper than the surface bears.
    HybridDepth,
    /// A piece of hand work has nothing to do.
    NoHandWork,
    /// Worn places lie outside the zone that they are said to lie in.
    WornOutside,
    /// A marking does not fit the outline and was left out.
    MarkingLeftOut,
    /// Material is asked for, but this version counts no material.
    MaterialNotCounted,
    /// A tractor's body was not given; one was taken.
    DefaultBody,
    /// A direction has no pass at all.
    NoPass,
    /// Places that no row of the rates fits.
    NoRate,
    /// No hauls are driven: there is no stockpile, or no way to it.
    NoStockpile,
    /// An end of a part cannot be driven to, or left.
    NoTurn,
    /// The job says no position, so no file with positions is written.
    NoPosition,
    /// Sides outside Law 1's ranges, or a touch line no longer than the goal line.
    OutsideLaw1,
    /// The named CRS cannot be placed to 0.10 m.
    PositionAccuracy,
    /// The ground forces the tool up before the end of a part.
    Shortened,
    /// A load does not last a whole pass.
    SmallHopper,
    /// The tool is kept up over a service in the ground.
    Service,
    /// An operation deeper than 100 mm: the services wording.
    ServicesWording,
    /// A feature in the ground file has a role this program does not know.
    UnknownRole,
    /// Wheels roll over a place more often than the job wants.
    WheelPasses,
    /// `wear` was given beside a region, which has no wear class and is worked whole.
    WearOfRegion,
}

impl Code {
    /// All codes, in alphabetical order of their names.
    pub const ALL: [Self; 31] = [
        Self::BlocksKeptOff,
        Self::CoincidentHoles,
        Self::CornerNames,
        Self::DeepFork,
        Self::DefaultBody,
        Self::DefaultRunOff,
        Self::DonorsShort,
        Self::EmptyFeature,
        Self::EvenInstead,
        Self::ForkTooWide,
        Self::HandTime,
        Self::HybridDepth,
        Self::LoadsNotPlanned,
        Self::MarkingLeftOut,
        Self::MaterialNotCounted,
        Self::NoHandWork,
        Self::NoPass,
        Self::NoPosition,
        Self::NoRate,
        Self::NoStockpile,
        Self::NoTurn,
        Self::OutsideLaw1,
        Self::PositionAccuracy,
        Self::Service,
        Self::ServicesWording,
        Self::Shortened,
        Self::SmallHopper,
        Self::UnknownRole,
        Self::WearOfRegion,
        Self::WheelPasses,
        Self::WornOutside,
    ];

    /// The word written in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::BlocksKeptOff => "blocks_kept_off",
            Self::CoincidentHoles => "coincident_holes",
            Self::CornerNames => "corner_names",
            Self::DeepFork => "deep_fork",
            Self::DefaultBody => "default_body",
            Self::DefaultRunOff => "default_run_off",
            Self::DonorsShort => "donors_short",
            Self::EmptyFeature => "empty_feature",
            Self::EvenInstead => "even_instead",
            Self::ForkTooWide => "fork_too_wide",
            Self::HandTime => "hand_time",
            Self::HybridDepth => "hybrid_depth",
            Self::LoadsNotPlanned => "loads_not_planned",
            Self::MarkingLeftOut => "marking_left_out",
            Self::MaterialNotCounted => "material_not_counted",
            Self::NoHandWork => "no_hand_work",
            Self::NoPass => "no_pass",
            Self::NoPosition => "no_position",
            Self::NoRate => "no_rate",
            Self::NoStockpile => "no_stockpile",
            Self::NoTurn => "no_turn",
            Self::OutsideLaw1 => "outside_law_1",
            Self::PositionAccuracy => "position_accuracy",
            Self::Service => "service",
            Self::ServicesWording => "services_wording",
            Self::Shortened => "shortened",
            Self::SmallHopper => "small_hopper",
            Self::UnknownRole => "unknown_role",
            Self::WearOfRegion => "wear_of_region",
            Self::WheelPasses => "wheel_passes",
            Self::WornOutside => "worn_outside",
        }
    }
}

/// One warning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Which of the closed list.
    pub code: Code,
    /// A sentence in plain words: what was found, what was done, how to mend it.
    pub text: String,
    /// The place it speaks of: an operation and direction, a feature, a key of the job.
    pub place: String,
}

impl Warning {
    /// A warning with its sentence and place.
    pub fn new(code: Code, place: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            code,
            text: text.into(),
            place: place.into(),
        }
    }

    /// The services wording, for what goes deeper than 100 mm; `None` where it does not.
    #[must_use]
    pub fn services_wording(place: String, depth_mm: f64) -> Option<Self> {
        (depth_mm > 100.0).then(|| {
            Self::new(
                Code::ServicesWording,
                place,
                format!(
                    "{depth_mm} mm deep: this plan shows recorded services only. Records are \
                     incomplete and positions may differ by half a metre or more. Before digging \
                     get the records, trace the services on the ground, open trial holes by hand \
                     and have the owner's permission (after HSE, HSG47, 2014); local rules and \
                     licensed practice go first. Nothing here means that the ground is free of \
                     services"
                ),
            )
        })
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.place.is_empty() {
            write!(f, "{}", self.text)
        } else {
            write!(f, "{}: {}", self.place, self.text)
        }
    }
}
