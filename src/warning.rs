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
    /// `[[hand]]` is read but this version plans no hand work.
    HandNotPlanned,
    /// Loads cannot be planned.
    LoadsNotPlanned,
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
    pub const ALL: [Self; 23] = [
        Self::CornerNames,
        Self::DefaultBody,
        Self::DefaultRunOff,
        Self::EmptyFeature,
        Self::EvenInstead,
        Self::HandNotPlanned,
        Self::LoadsNotPlanned,
        Self::MarkingLeftOut,
        Self::MaterialNotCounted,
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
    ];

    /// The word written in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::CornerNames => "corner_names",
            Self::DefaultBody => "default_body",
            Self::DefaultRunOff => "default_run_off",
            Self::EmptyFeature => "empty_feature",
            Self::EvenInstead => "even_instead",
            Self::HandNotPlanned => "hand_not_planned",
            Self::LoadsNotPlanned => "loads_not_planned",
            Self::MarkingLeftOut => "marking_left_out",
            Self::MaterialNotCounted => "material_not_counted",
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
