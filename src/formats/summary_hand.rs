//! The hand work in `summary.json`.

use schemars::JsonSchema;
use serde::Serialize;

use super::figure;
use crate::hand::blocks::BlockPlan;
use crate::hand::board::{BoardPlan, Stage as Laid};
use crate::hand::lanes::LanePlan;
use crate::hand::rest::RestPlan;
use crate::hand::{Detail, HandPlan};
use crate::job::model::{BlockWork, BoardWork, LaneWork};

/// One piece of hand work. `kind` says which of the four, and with it which keys.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Hand {
    /// Forking from a board.
    Board(Board),
    /// Swapping turf blocks.
    Blocks(Blocks),
    /// Mending in lanes.
    Lanes(Lanes),
    /// What an operation leaves.
    Rest(Rest),
}

/// Forking from a board.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Board {
    /// Its id.
    pub id: String,
    /// Zone, kind or region, as in the job.
    pub zone: String,
    /// Area of the ground, what is kept clear in it included.
    pub area_m2: f64,
    /// The stages; where the word names several zones, theirs added up.
    pub stages: Vec<Stage>,
    /// Holes of all stages.
    pub holes: usize,
    /// Holes left out because something is kept clear there.
    pub kept_off: usize,
    /// Holes of all stages on a square metre.
    pub holes_per_m2: f64,
    /// Share of the ground that the holes open, per cent.
    pub open_area_pct: f64,
    /// Volume of the holes, cubic metres.
    pub hole_volume_m3: f64,
    /// Volume loosened, cubic metres: an estimate.
    pub loosened_m3: f64,
    /// Pairs of holes of different stages that fall into each other.
    pub coincident: usize,
    /// Those pairs over the holes of the second stage.
    pub coincident_share: f64,
    /// A step that would keep that share within what the job allows; null where it is, or where
    /// none near does.
    pub other_step_mm: Option<f64>,
    /// How often a fork is pushed in.
    pub forkings: usize,
    /// People at it.
    pub people: u32,
    /// Seconds that they take.
    pub time_s: f64,
}

/// A stage of forking.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Stage {
    /// `along` or `across`.
    pub name: &'static str,
    /// Places of the board.
    pub boards: usize,
    /// Boards end to end that fill a place.
    pub board_lengths: usize,
    /// Rows of the lattice, empty ones too.
    pub rows: usize,
    /// Holes made.
    pub holes: usize,
    /// Holes left out because something is kept clear there.
    pub kept_off: usize,
    /// How often a fork is pushed in.
    pub forkings: usize,
}

/// Swapping turf blocks.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Blocks {
    /// Its id.
    pub id: String,
    /// Zone, kind or region, as in the job.
    pub zone: String,
    /// Side of a block.
    pub side_m: f64,
    /// Depth of a block.
    pub depth_mm: f64,
    /// Blocks that are swapped: so many come out, so many go in.
    pub blocks: usize,
    /// Worn blocks for which there is no donor.
    pub without_donor: usize,
    /// Worn blocks that are not cut because something is kept clear there.
    pub kept_off: usize,
    /// Where the donors come from.
    pub donors_from: String,
    /// Whether donors lie side by side.
    pub donors_touch: bool,
    /// Ways of the blocks, one way, added up.
    pub carry_m: f64,
    /// Barrow loads.
    pub trips: usize,
    /// Weight of one block, kilograms: an estimate.
    pub block_kg: f64,
    /// Volume that comes out, and goes in, cubic metres.
    pub volume_m3: f64,
    /// People at it.
    pub people: u32,
    /// Seconds that they take, carrying included.
    pub time_s: f64,
}

/// Mending in lanes.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Lanes {
    /// Its id.
    pub id: String,
    /// Zone, kind or region, as in the job.
    pub zone: String,
    /// How many lanes.
    pub lanes: usize,
    /// No lane is wider.
    pub width_m: f64,
    /// What every person has the same of: `area` or `damage`.
    pub balance: &'static str,
    /// Area of all lanes.
    pub area_m2: f64,
    /// Area of the lanes that fit no day and wait.
    pub waits_m2: f64,
    /// Days that something is done on.
    pub days: u32,
    /// People at it.
    pub people: u32,
    /// Seconds that they take for all lanes, those that wait included.
    pub time_s: f64,
}

/// What an operation leaves.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Rest {
    /// Its id.
    pub id: String,
    /// The operation.
    pub operation: String,
    /// How many places are listed.
    pub places: usize,
    /// All that is left.
    pub area_m2: f64,
    /// The part that no direction worked.
    pub missed_m2: f64,
    /// The part that the tool was kept clear of, things that stand there taken out.
    pub kept_clear_m2: f64,
    /// What one person works in an hour.
    pub m2_per_person_h: f64,
    /// Whether that is the default of the task.
    pub rate_is_default: bool,
    /// People at it.
    pub people: u32,
    /// Seconds that they take.
    pub time_s: f64,
}

pub(super) fn hand(planned: &HandPlan) -> Hand {
    match &planned.detail {
        Detail::Board(work, plan) => Hand::Board(board(planned, work, plan)),
        Detail::Blocks(work, plan) => Hand::Blocks(blocks(planned, work, plan)),
        Detail::Lanes(work, plan) => Hand::Lanes(lanes(planned, work, plan)),
        Detail::Rest(plan) => Hand::Rest(rest(planned, plan)),
    }
}

fn board(planned: &HandPlan, work: &BoardWork, plan: &BoardPlan) -> Board {
    let stages = (0..work.stages as usize).filter_map(|index| {
        let laid = plan
            .grounds
            .iter()
            .filter_map(|ground| ground.stages.get(index));
        stage(&laid.collect::<Vec<_>>())
    });
    Board {
        id: planned.id.clone(),
        zone: work.zone.clone(),
        area_m2: figure(plan.area_m2),
        stages: stages.collect(),
        holes: plan.holes,
        kept_off: plan.kept_off,
        holes_per_m2: figure(plan.holes_per_m2()),
        open_area_pct: figure(plan.open_area_pct(&work.fork)),
        hole_volume_m3: figure(plan.hole_volume_m3(&work.fork)),
        loosened_m3: figure(plan.loosened_m3(&work.fork)),
        coincident: plan.coincident,
        coincident_share: figure(plan.coincident_share),
        other_step_mm: plan.other_step_mm.map(figure),
        forkings: plan.forkings,
        people: planned.people,
        time_s: figure(plan.time_s),
    }
}

/// The same stage of all zones.
fn stage(laid: &[&Laid]) -> Option<Stage> {
    let sum = |count: fn(&Laid) -> usize| laid.iter().map(|stage| count(stage)).sum();
    Some(Stage {
        name: laid.first()?.name,
        boards: sum(|stage| stage.boards),
        board_lengths: laid.iter().map(|stage| stage.lengths).max()?,
        rows: sum(|stage| stage.lattice.rows.len()),
        holes: sum(|stage| stage.lattice.holes()),
        kept_off: sum(|stage| stage.lattice.kept_off()),
        forkings: sum(|stage| stage.forkings),
    })
}

fn blocks(planned: &HandPlan, work: &BlockWork, plan: &BlockPlan) -> Blocks {
    Blocks {
        id: planned.id.clone(),
        zone: work.zone.clone(),
        side_m: figure(work.side_m),
        depth_mm: figure(work.depth_mm),
        blocks: plan.swaps.len(),
        without_donor: plan.without_donor.len(),
        kept_off: plan.kept_off.len(),
        donors_from: plan.donors_from.clone(),
        donors_touch: plan.donors_touch,
        carry_m: figure(plan.carry_m),
        trips: plan.trips,
        block_kg: figure(plan.block_kg),
        volume_m3: figure(plan.volume_m3),
        people: planned.people,
        time_s: figure(plan.time_s),
    }
}

fn lanes(planned: &HandPlan, work: &LaneWork, plan: &LanePlan) -> Lanes {
    Lanes {
        id: planned.id.clone(),
        zone: work.zone.clone(),
        lanes: plan.lanes.len(),
        width_m: figure(work.width_m),
        balance: work.balance.name(),
        area_m2: figure(plan.area_m2),
        waits_m2: figure(plan.waits_m2),
        days: plan.days,
        people: planned.people,
        time_s: figure(plan.time_s),
    }
}

fn rest(planned: &HandPlan, plan: &RestPlan) -> Rest {
    Rest {
        id: planned.id.clone(),
        operation: plan.operation.clone(),
        places: plan.places.len(),
        area_m2: figure(plan.area_m2()),
        missed_m2: figure(plan.missed_m2),
        kept_clear_m2: figure(plan.kept_clear_m2),
        m2_per_person_h: figure(plan.m2_per_person_h),
        rate_is_default: plan.is_default,
        people: planned.people,
        time_s: figure(plan.time_s),
    }
}
