//! The [`Plan`] and the function that makes it: the one place that knows the order of
//! the rooms.

use crate::coverage::{Coverage, MissedPlace};
use crate::fault::Faults;
use crate::ground::Ground;
use crate::job::model::{Job, Operation};
use crate::passes::DirectionPasses;
use crate::tally::{Time, Totals};
use crate::warning::Warning;
use crate::zones::{Target, Zone};

/// All that is known of a planned job. Every file and sheet is derived from it alone.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The job's name.
    pub name: String,
    /// The date printed on sheets, ISO 8601.
    pub date: Option<String>,
    /// The label of money.
    pub currency: String,
    /// The ground in pitch metres.
    pub ground: Ground,
    /// The disjoint wear zones.
    pub zones: Vec<Zone>,
    /// The operations, in the order of the job.
    pub operations: Vec<OperationPlan>,
    /// Sums over all operations.
    pub totals: Totals,
    /// What a person should know, in the order of the rooms.
    pub warnings: Vec<Warning>,
}

/// One planned operation.
#[derive(Debug, Clone)]
pub struct OperationPlan {
    /// What was asked.
    pub operation: Operation,
    /// What is to be worked.
    pub target: Target,
    /// Its directions in the order worked, rounds first.
    pub directions: Vec<DirectionPlan>,
    /// Area worked by exactly k directions, square metres, for k = 0, 1, ….
    pub worked_times_m2: Vec<f64>,
    /// Places that no direction worked (of at least 1e-4 m2).
    pub unworked: Vec<MissedPlace>,
    /// Its time.
    pub time: Time,
}

/// One planned direction.
#[derive(Debug, Clone)]
pub struct DirectionPlan {
    /// The passes.
    pub passes: DirectionPasses,
    /// Sum of the lengths of all parts, metres.
    pub working_length_m: f64,
    /// `working_length_m` at working speed, seconds.
    pub work_s: f64,
    /// The areas.
    pub coverage: Coverage,
    /// Missed places of at least 1e-4 m2, pitch metres.
    pub missed: Vec<MissedPlace>,
}

/// Plans a job. Pure: no file, clock, screen or network.
pub fn plan(_job: &Job) -> Result<Plan, Faults> {
    Err(Faults(Vec::new()))
}
