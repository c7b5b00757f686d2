//! Work by hand: forking from a board, swapping turf blocks, mending in lanes, and what the
//! machines leave.
//!
//! This room knows no machine. What an operation leaves is handed in as ground ([`Leftover`]).

pub mod blocks;
pub mod board;
mod cover;
pub mod lanes;
pub mod lattice;
mod pairing;
pub mod rest;
mod told;

use geo::{Intersects, LineString, MultiPolygon, Point, Polygon};
use rayon::prelude::*;

use crate::fault::{Fault, Faults};
use crate::ground::{Ground, law};
use crate::job::limits;
use crate::job::model::{
    Balance, BlockWork, BoardWork, HandKind, HandWork, Job, LaneWork, Operation,
};
use crate::region;
use crate::space::Xy;
use crate::warning::Warning;
use crate::zones::{self, NamedGround, Target, Tool, Zone};
use blocks::{BlockPlan, Strip};
use board::BoardPlan;
use lanes::{LanePlan, Loaded};
use lattice::Axes;
use rest::RestPlan;

/// Load of a square metre outside all zones: that of the lightest wear class.
const LEAST_WEAR: f64 = 1.0;

/// The squares of a lattice over a drawn worn place may be so many times those that it needs.
const SPARE_SQUARES: usize = 4;

/// One planned piece of hand work.
#[derive(Debug, Clone, PartialEq)]
pub struct HandPlan {
    /// The id of the work.
    pub id: String,
    /// People at it.
    pub people: u32,
    /// What is to be done.
    pub detail: Detail,
}

/// What was asked and what is to be done, by kind.
#[derive(Debug, Clone, PartialEq)]
pub enum Detail {
    /// Forking from a board.
    Board(BoardWork, BoardPlan),
    /// Swapping turf blocks.
    Blocks(BlockWork, BlockPlan),
    /// Mending in lanes.
    Lanes(LaneWork, LanePlan),
    /// What an operation leaves.
    Rest(RestPlan),
}

impl HandPlan {
    /// The word of its kind in files.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self.detail {
            Detail::Board(..) => "board",
            Detail::Blocks(..) => "blocks",
            Detail::Lanes(..) => "lanes",
            Detail::Rest(_) => "rest",
        }
    }

    /// Seconds that the people take.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        match &self.detail {
            Detail::Board(_, plan) => plan.time_s,
            Detail::Blocks(_, plan) => plan.time_s,
            Detail::Lanes(_, plan) => plan.time_s,
            Detail::Rest(plan) => plan.time_s,
        }
    }
}

/// What an operation leaves to people.
#[derive(Debug, Clone)]
pub struct Leftover<'a> {
    /// The operation.
    pub operation: &'a Operation,
    /// What it was to work, and what it was kept out of.
    pub target: &'a Target,
    /// Places that no direction worked, those that are listed.
    pub unworked: Vec<&'a Polygon<f64>>,
    /// All that no direction worked, square metres.
    pub unworked_m2: f64,
}

/// One piece planned with its warnings; no plan for work on what an unknown operation leaves.
type Planned = Result<(Option<HandPlan>, Vec<Warning>), Fault>;

/// The hand work that waits for no machine: everything but what operations leave.
#[derive(Debug, Clone)]
pub struct Alone(Vec<Option<Planned>>);

/// Plans the hand work that waits for no machine.
#[must_use]
pub fn alone(job: &Job, ground: &Ground, zones: &[Zone]) -> Alone {
    let desks = job.hand.par_iter().with_max_len(1).map(|work| {
        let desk = Desk::new(job, ground, zones, work);
        desk.alone()
    });
    Alone(desks.collect())
}

/// Plans the rest of a job's hand work: what its operations leave.
///
/// # Errors
/// A zone word that this pitch does not have, a lattice or a block swap that is too large, lanes
/// that do not begin where people are to set out.
pub fn plan(
    job: &Job,
    ground: &Ground,
    zones: &[Zone],
    alone: Alone,
    left: &[Leftover<'_>],
) -> Result<(Vec<HandPlan>, Vec<Warning>), Faults> {
    let planned: Vec<Planned> = job
        .hand
        .par_iter()
        .zip(alone.0)
        .with_max_len(1)
        .map(|(work, planned)| {
            planned.unwrap_or_else(|| Desk::new(job, ground, zones, work).left(left))
        })
        .collect();
    let (mut plans, mut warnings, mut faults) = (Vec::new(), Vec::new(), Vec::new());
    for one in planned {
        match one {
            Ok((plan, found)) => {
                plans.extend(plan);
                warnings.extend(found);
            }
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() {
        Ok((plans, warnings))
    } else {
        Err(Faults(faults))
    }
}

/// One piece of hand work, and what it is planned on.
struct Desk<'a> {
    job: &'a Job,
    ground: &'a Ground,
    zones: &'a [Zone],
    work: &'a HandWork,
}

impl<'a> Desk<'a> {
    fn new(job: &'a Job, ground: &'a Ground, zones: &'a [Zone], work: &'a HandWork) -> Self {
        Self {
            job,
            ground,
            zones,
            work,
        }
    }

    fn people(&self) -> u32 {
        self.work.people.or(self.job.crew.people).unwrap_or(1)
    }

    /// Work that waits for no machine; `None` where it does.
    fn alone(&self) -> Option<Planned> {
        let mut warnings = Vec::new();
        let detail = match &self.work.kind {
            HandKind::Board(work) => self.board(work, self.people(), &mut warnings),
            HandKind::Blocks(work) => self.blocks(work, self.people(), &mut warnings),
            HandKind::Lanes(work) => self.lanes(work, self.people(), &mut warnings),
            HandKind::Rest(_) => return None,
        };
        Some(detail.map(|detail| (Some(self.planned(detail)), warnings)))
    }

    /// Work on what operations leave.
    fn left(&self, left: &[Leftover<'_>]) -> Planned {
        let HandKind::Rest(work) = &self.work.kind else {
            return Ok((None, Vec::new()));
        };
        let of_operation = |left: &&Leftover<'_>| left.operation.id == work.operation;
        let Some(left) = left.iter().find(of_operation) else {
            return Ok((None, Vec::new()));
        };
        let plan = rest::plan(work, left, self.ground, self.people());
        let warnings = told::rest(&self.place(), work, &plan);
        Ok((
            Some(self.planned(Detail::Rest(plan))),
            warnings.into_iter().collect(),
        ))
    }

    fn planned(&self, detail: Detail) -> HandPlan {
        HandPlan {
            id: self.work.id.clone(),
            people: self.people(),
            detail,
        }
    }

    fn place(&self) -> String {
        format!("hand work {}", self.work.id)
    }

    fn fault(&self, key: &str, text: String) -> Fault {
        let key = format!("hand.{}.{key}", self.work.number);
        Fault {
            file: self.job.source.job_file.clone(),
            place: self.job.source.place(&key),
            text: format!("hand work `{}`: {text}", self.work.id),
        }
    }

    fn grounds(&self, word: &str, key: &str) -> Result<Vec<NamedGround>, Fault> {
        let what = format!("hand work `{}`", self.work.id);
        let key = format!("hand.{}.{key}", self.work.number);
        zones::named(self.job, self.ground, self.zones, word, (&what, &key))
    }

    /// What a tine or spade of that depth is kept out of.
    fn kept_clear(&self, depth_mm: f64, warnings: &mut Vec<Warning>) -> Vec<MultiPolygon<f64>> {
        let tool = Tool {
            place: self.place(),
            depth_mm: Some(depth_mm),
            cuts: true,
            over_service: "nothing is forked or cut within 1 m of it",
        };
        zones::blocked(self.job, &tool, self.ground, warnings)
    }

    fn board(
        &self,
        work: &BoardWork,
        people: u32,
        warnings: &mut Vec<Warning>,
    ) -> Result<Detail, Fault> {
        let grounds = self.grounds(&work.zone, "zone")?;
        let (places, most) = (board::places(work, &grounds), limits::HOLES.greatest);
        if places > most {
            let text = format!(
                "a stage has {places} holes; at most {most} are planned; widen `tine_spacing_mm` \
                 or `step_mm`, or take a smaller zone"
            );
            return Err(self.fault("fork", text));
        }
        let kept_clear = self.kept_clear(work.fork.depth_mm, warnings);
        let plan = board::plan(work, &grounds, &kept_clear, people);
        warnings.extend(told::board(&self.place(), work, &plan));
        warnings.extend(told::depth(&self.place(), self.job, work.fork.depth_mm));
        Ok(Detail::Board(work.clone(), plan))
    }

    fn blocks(
        &self,
        work: &BlockWork,
        people: u32,
        warnings: &mut Vec<Warning>,
    ) -> Result<Detail, Fault> {
        let grounds = self.grounds(&work.zone, "zone")?;
        let zone = united(&grounds);
        let most = limits::BLOCKS.greatest;
        let too_many = |needed: usize| {
            let text = format!(
                "the worn places need {needed} blocks; at most {most} are planned; enlarge \
                 `side_m`, or part the work"
            );
            self.fault("block", text)
        };
        let spread = blocks::squares_over(&work.worn_area, work.side_m);
        if spread > most * SPARE_SQUARES {
            let text = format!(
                "`worn_area` lies in a rectangle of {spread} blocks; at most {} are looked at; \
                 enlarge `side_m`, or part the work",
                most * SPARE_SQUARES
            );
            return Err(self.fault("block", text));
        }
        let worn = blocks::worn(work);
        if worn.len() > most {
            return Err(too_many(worn.len()));
        }
        let strip = match &work.donors {
            Some(word) => Strip {
                name: word.clone(),
                ground: united(&self.grounds(word, "block.donors")?),
            },
            None => self.behind_the_goal(work),
        };
        let (places, most) = (
            blocks::donor_places(&strip.ground, work.side_m),
            limits::DONOR_PLACES.greatest,
        );
        if places > most {
            let text = format!(
                "{} has {places} places for a donor; at most {most} are looked at; \
                 name a smaller strip in `donors`",
                strip.name
            );
            return Err(self.fault("block.donors", text));
        }
        let kept_clear = self.kept_clear(work.depth_mm, warnings);
        let plan = blocks::plan(work, worn, strip, &kept_clear, people);
        let places = work.worn.iter().chain(&work.worn_area);
        let outside = places
            .filter(|at| !zone.intersects(&Point::from(**at)))
            .count();
        warnings.extend(told::blocks(&self.place(), work, &plan, outside));
        warnings.extend(told::depth(&self.place(), self.job, work.depth_mm));
        Ok(Detail::Blocks(work.clone(), plan))
    }

    /// The run-off behind the goal nearest to the worn places, as wide as the goal area.
    fn behind_the_goal(&self, work: &BlockWork) -> Strip {
        let ground = self.ground;
        let places = work.worn.iter().chain(&work.worn_area);
        let sum_x: f64 = places.map(|at| at.x).sum();
        let end = if sum_x >= 0.0 {
            ground.names.plus_x
        } else {
            ground.names.minus_x()
        };
        let outward = ground.names.outward(end).x;
        let line_m = outward * ground.length_m / 2.0;
        let pitch = Axes {
            along: Xy { x: 1.0, y: 0.0 },
            ahead: Xy { x: 0.0, y: 1.0 },
        };
        let (low, high) = lattice::extents(&ground.grass, pitch);
        // Beyond the grass, so that no edge of the cut lies all but on one of the grass.
        let far_m = if outward > 0.0 {
            high.x + 1.0
        } else {
            low.x - 1.0
        };
        let (near_m, half_m) = (line_m, law::GOAL_AREA_WIDTH_M / 2.0);
        let (from, to) = (near_m.min(far_m), near_m.max(far_m));
        let ring = [(from, -half_m), (to, -half_m), (to, half_m), (from, half_m)];
        let behind = MultiPolygon(vec![Polygon::new(
            LineString::from(ring.to_vec()),
            Vec::new(),
        )]);
        let outline = MultiPolygon(vec![ground.outline.clone()]);
        let grass = region::intersection(&ground.grass, &behind);
        Strip {
            name: format!("the run-off behind the {} goal", end.name()),
            ground: region::difference(&grass, &outline),
        }
    }

    fn lanes(
        &self,
        work: &LaneWork,
        people: u32,
        warnings: &mut Vec<Warning>,
    ) -> Result<Detail, Fault> {
        let named = united(&self.grounds(&work.zone, "zone")?);
        let ground = region::difference(&named, &rest::things(self.ground));
        let axes = self.lane_axes(work)?;
        let loads = match work.balance {
            Balance::Area => vec![Loaded {
                shape: ground.clone(),
                per_m2: LEAST_WEAR,
            }],
            Balance::Damage => self.damage(&ground),
        };
        let plan = lanes::plan(work, ground, &loads, axes, people);
        warnings.extend(told::lanes(&self.place(), work, &plan, people));
        Ok(Detail::Lanes(work.clone(), plan))
    }

    /// The way people set out, and what lies to their right.
    fn lane_axes(&self, work: &LaneWork) -> Result<Axes, Fault> {
        /// Lanes that lie nearer than this to square have no end there (the sine of 5 degrees).
        const SQUARE: f64 = 0.087;
        let mut along = work.angle.unit();
        if let Some(from) = work.from {
            let outward = self.ground.names.outward(from);
            let towards = along.x * outward.x + along.y * outward.y;
            if towards.abs() < SQUARE {
                let text = format!(
                    "`from` names the {}, and the lanes run beside it; name an end of the lanes, or \
                     turn them by `angle_deg`",
                    from.name()
                );
                return Err(self.fault("lane.from", text));
            }
            if towards > 0.0 {
                along = along * -1.0;
            }
        }
        Ok(Axes {
            along,
            ahead: Xy {
                x: along.y,
                y: -along.x,
            },
        })
    }

    /// Ground by the damage that is expected on it: the wear class of its zone on each square
    /// metre, the lightest where there is none.
    fn damage(&self, ground: &MultiPolygon<f64>) -> Vec<Loaded> {
        let mut loads: Vec<Loaded> = self
            .zones
            .iter()
            .map(|zone| Loaded {
                shape: region::intersection(ground, &zone.shape),
                per_m2: f64::from(zone.wear),
            })
            .filter(|loaded| !loaded.shape.0.is_empty())
            .collect();
        let outline = MultiPolygon(vec![self.ground.outline.clone()]);
        let beyond = region::difference(ground, &outline);
        if !beyond.0.is_empty() {
            loads.push(Loaded {
                shape: beyond,
                per_m2: LEAST_WEAR,
            });
        }
        loads
    }
}

/// All grounds of a word as one.
fn united(grounds: &[NamedGround]) -> MultiPolygon<f64> {
    region::union(grounds.iter().map(|ground| &ground.shape))
}
