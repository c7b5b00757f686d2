//! A plan that is changed and improved while somebody looks on.
//!
//! [`Replanner`] holds a job, its plan and what was worked out for the drives. A changed job is
//! answered at once: operations that nothing was changed of stay as they are, and in the others
//! only directions whose passes, ground or beginning are others are driven anew, after the turns
//! of the last drive ([`crate::route::memory`]). Each call of [`Replanner::improve`] then works one
//! direction out a step further, until all are as good as the job's effort asks.
//!
//! The plan hangs on the calls that were made and their order, on nothing else. It may differ
//! from the one that [`plan`](crate::plan::plan) makes of the same job, for it comes from the ones
//! before it; cost, bound and effort in its routes say how good it is.
//!
//! ```
//! use swardlane::job::{self, model::Size, template};
//! use swardlane::replan::Replanner;
//!
//! let size_m = Size { length_m: 40.0, width_m: 26.0 };
//! let text = template::job_text("Example", size_m);
//! let mut job = job::read("job.toml", &text, |_| unreachable!("it names no ground file"))?;
//! job.settings.routes = true;
//! job.operations.truncate(1);
//! job.operations[0].directions.truncate(1);
//!
//! let mut planner = Replanner::new(job)?;
//! let mut changed = planner.job().clone();
//! changed.operations[0].implement.working_width_m = 1.6;
//! planner.change(changed)?;
//! let cost_s = |planner: &Replanner| {
//!     let route = planner.plan().operations[0].route.as_ref();
//!     route.map(|route| route.cost_s)
//! };
//! let at_once_s = cost_s(&planner);
//! while planner.improve()? {}
//! assert!(at_once_s.is_some() && cost_s(&planner) <= at_once_s);
//! # Ok::<(), swardlane::fault::Faults>(())
//! ```

use std::sync::Arc;

use rayon::prelude::*;

use crate::fault::Faults;
use crate::hand;
use crate::job::model::{Effort, Job, Operation};
use crate::plan::{Laid, OperationPlan, Plan, plan_operation, put_together};
use crate::route::memory::{Level, Memory};
use crate::warning::Warning;
use crate::zones::{self, Target};

/// A job, its plan, and what was worked out for it.
#[derive(Debug, Clone)]
pub struct Replanner {
    job: Job,
    laid: Laid,
    operations: Vec<Arc<Kept>>,
    /// The hand work that hangs on no operation.
    hand: hand::Alone,
    plan: Plan,
}

/// What is kept of an operation.
#[derive(Debug, Clone)]
struct Kept {
    target: (Target, Vec<Warning>),
    plan: OperationPlan,
    warnings: Vec<Warning>,
    memory: Memory,
}

impl Kept {
    fn of(
        job: &Job,
        operation: &Operation,
        laid: &Laid,
        target: (Target, Vec<Warning>),
        mut memory: Memory,
    ) -> Result<Self, Faults> {
        let (plan, warnings) =
            plan_operation(job, operation, Ok(target.clone()), laid, &mut memory)?;
        Ok(Self {
            target,
            plan,
            warnings,
            memory,
        })
    }
}

impl Replanner {
    /// Plans a job with quick effort; [`Self::improve`] goes on from there.
    ///
    /// # Errors
    /// As [`plan`](crate::plan::plan).
    pub fn new(job: Job) -> Result<Self, Faults> {
        Self::after(None, job)
    }

    /// The job as it was changed last.
    #[must_use]
    pub const fn job(&self) -> &Job {
        &self.job
    }

    /// Its plan as far as it is worked out.
    #[must_use]
    pub const fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Takes a changed job: another width, angle, start or ground, other operations, whatever it
    /// is. What is driven anew is driven as well as can be told at once.
    ///
    /// # Errors
    /// As [`plan`](crate::plan::plan); job and plan are then as before.
    pub fn change(&mut self, job: Job) -> Result<(), Faults> {
        *self = Self::after(Some(self), job)?;
        Ok(())
    }

    /// Works the direction that is worked out least a step further; whether there was one, short
    /// of the job's effort.
    ///
    /// # Errors
    /// None, for the same job was planned before.
    pub fn improve(&mut self) -> Result<bool, Faults> {
        let goal = self.job.settings.effort;
        let short = self.operations.iter().enumerate();
        let least = short.filter_map(|(operation, kept)| {
            let (level, direction) = kept.memory.least(goal)?;
            Some((level, operation, direction))
        });
        let Some((_, index, direction)) = least.min() else {
            return Ok(false);
        };
        let operation = &self.job.operations[index];
        let kept = &self.operations[index];
        let mut memory = kept.memory.clone();
        memory.raise(direction, goal);
        let target = kept.target.clone();
        let improved = Kept::of(&self.job, operation, &self.laid, target, memory)?;
        self.operations[index] = Arc::new(improved);
        self.plan = planned(&self.job, &self.laid, &self.operations, &self.hand)?;
        Ok(true)
    }

    /// How well the directions of each operation are worked out, rounds first; `None` where there
    /// is nothing to drive.
    pub fn levels(&self) -> impl Iterator<Item = Vec<Option<Level>>> {
        let all = self.operations.iter();
        all.map(|kept| kept.memory.levels().collect())
    }

    /// The plan of a job after that of another.
    fn after(before: Option<&Self>, job: Job) -> Result<Self, Faults> {
        let laid = Laid::of(&job)?;
        let same_setting = before.is_some_and(|before| but_work(&before.job) == but_work(&job));
        let same_ground = before.is_some_and(|before| before.laid.has_same_ground(&laid));
        let kept_of = |operation: &Operation| {
            let before = before?;
            let mut kept = before.job.operations.iter().zip(&before.operations);
            kept.find(|(asked, _)| asked.id == operation.id)
        };
        let targets = zones::targets(&job, &laid.ground, &laid.zones);
        let each = job.operations.par_iter().zip(targets).with_max_len(1);
        let operations: Vec<Result<Arc<Kept>, Faults>> = each
            .map(|(operation, target)| {
                let memory = match kept_of(operation) {
                    Some((asked, kept)) if same_setting && asked == operation => {
                        return Ok(Arc::clone(kept));
                    }
                    Some((_, kept)) if same_ground => kept.memory.clone(),
                    Some((_, kept)) => {
                        let mut memory = kept.memory.clone();
                        memory.on_other_ground();
                        memory
                    }
                    None => Memory::new(Effort::Quick),
                };
                Kept::of(&job, operation, &laid, target?, memory).map(Arc::new)
            })
            .collect();
        let mut faults = Vec::new();
        let mut kept = Vec::new();
        for operation in operations {
            match operation {
                Ok(operation) => kept.push(operation),
                Err(found) => faults.extend(found.0),
            }
        }
        if !faults.is_empty() {
            return Err(Faults(faults));
        }
        let hand = match before {
            Some(before) if same_setting && before.job.hand == job.hand => before.hand.clone(),
            _ => laid.hand_alone(&job),
        };
        Ok(Self {
            plan: planned(&job, &laid, &kept, &hand)?,
            hand,
            job,
            laid,
            operations: kept,
        })
    }
}

/// The plan of operations as they are worked out.
fn planned(
    job: &Job,
    laid: &Laid,
    operations: &[Arc<Kept>],
    by_hand: &hand::Alone,
) -> Result<Plan, Faults> {
    let planned = operations.iter();
    let planned = planned.map(|kept| Ok((kept.plan.clone(), kept.warnings.clone())));
    put_together(job, laid.clone(), planned.collect(), by_hand.clone())
}

/// A job without its work and without what only messages need.
fn but_work(job: &Job) -> Job {
    Job {
        operations: Vec::new(),
        hand: Vec::new(),
        warnings: Vec::new(),
        source: crate::job::model::Source::default(),
        ..job.clone()
    }
}
