//! Every default, with its reason and where it comes from.
//!
//! Two tables: by key of the job file ([`KEYS`]) and by task ([`TASKS`]). The reader takes
//! its values from here, the schema and `docs/job-file.md` print them.

use serde_json::{Value, json};

use super::limits;
use super::model::{Body, Ends, Steering, Task};

/// Where a default comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tag {
    /// A published source, described.
    Source(&'static str),
    /// Common practice in the trade; no source is known.
    CommonPractice,
    /// From memory; nobody has checked it.
    FromMemory,
    /// A choice of this program, for simplicity.
    Choice,
}

impl Tag {
    /// As documents print it.
    #[must_use]
    pub fn text(self) -> String {
        match self {
            Self::Source(source) => format!("source: {source}"),
            Self::CommonPractice => "common practice, no source".to_owned(),
            Self::FromMemory => "from memory".to_owned(),
            Self::Choice => "a choice of this program".to_owned(),
        }
    }
}

/// The value of a default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DefaultValue {
    /// A number.
    Number(f64),
    /// A word.
    Word(&'static str),
    /// A list of one word.
    Words(&'static str),
    /// `true` or `false`.
    Flag(bool),
    /// No value of the key, but what is done where it is left out.
    Said(&'static str),
}

impl DefaultValue {
    /// As documents print it: a value as the job file writes it, in code.
    #[must_use]
    pub fn text(self) -> String {
        match self {
            Self::Number(number) => format!("`{number}`"),
            Self::Word(word) => format!("`\"{word}\"`"),
            Self::Words(word) => format!("`[\"{word}\"]`"),
            Self::Flag(flag) => format!("`{flag}`"),
            Self::Said(text) => text.to_owned(),
        }
    }

    /// The value for the schema, where there is one.
    pub(super) fn to_json(self) -> Option<Value> {
        Some(match self {
            Self::Number(number) => super::schema::number(number),
            Self::Word(word) => json!(word),
            Self::Words(word) => json!([word]),
            Self::Flag(flag) => json!(flag),
            Self::Said(_) => return None,
        })
    }
}

/// The default of one key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeyDefault {
    /// The key, as in [`super::limits`].
    pub path: &'static str,
    /// What is taken where the key is left out.
    pub value: DefaultValue,
    /// Why.
    pub reason: &'static str,
    /// Where it comes from.
    pub tag: Tag,
}

/// Run-off all round where nothing says one, metres.
pub const RUN_OFF_M: f64 = 3.0;
/// A tractor's body where none is given.
pub const BODY: Body = Body {
    width_m: 1.5,
    ahead_m: 2.4,
    behind_m: 0.9,
};
/// Seconds of a change of driving direction.
pub const CHANGE_S: f64 = 4.0;
/// Track width, metres.
pub const TRACK_WIDTH_M: f64 = 1.4;
/// More wheel passes over one place are warned of.
pub const WHEEL_PASSES_MAX: u32 = 6;
/// Share of the area that steering may miss.
pub const STEERING_MISS_SHARE: f64 = 0.005;

/// How well a tractor is steered by each method, metres of standard deviation.
#[must_use]
pub const fn steering_sd_m(by: Steering) -> f64 {
    match by {
        Steering::String => 0.04,
        Steering::Eye => 0.10,
        Steering::Satellite => 0.03,
    }
}

/// Stages of forking from a board.
pub const STAGES: u32 = 2;
/// Seconds of one forking.
pub const S_PER_FORKING: f64 = 12.0;
/// Holes nearer than this many tine diameters coincide.
pub const COINCIDENT_TINES: f64 = 1.5;
/// Share of coincident holes above which another step is looked for.
pub const COINCIDENT_SHARE: f64 = 0.1;
/// Seconds of one swapped block.
pub const S_PER_BLOCK: f64 = 240.0;
/// What a barrow carries, kilograms.
pub const BARROW_KG: f64 = 60.0;
/// Width of a lane for mending, metres.
pub const LANE_WIDTH_M: f64 = 2.5;
/// Days of mending.
pub const LANE_DAYS: u32 = 1;
/// What one person mends in an hour, square metres.
pub const MENDED_M2_PER_H: f64 = 700.0;

/// What one person works by hand in an hour of each task, square metres, for what a machine
/// leaves. From memory; nobody has checked it.
#[must_use]
pub const fn by_hand_m2_per_h(task: Task) -> f64 {
    match task {
        Task::Dig | Task::DeepTine | Task::Slit => 10.0,
        Task::Core => 15.0,
        Task::Strip | Task::Level => 20.0,
        Task::VerticalCut | Task::Spike | Task::Drill | Task::Other => 30.0,
        Task::Clean | Task::Sand | Task::Lute => 60.0,
        Task::Brush => 100.0,
        Task::Broadcast | Task::Roll | Task::Mow => 150.0,
        Task::Feed | Task::Spray => 200.0,
    }
}

/// Overlap, metres.
pub const OVERLAP_M: f64 = 0.0;
/// Reach behind the rear axle, metres.
pub const REACH_M: f64 = 0.0;
/// Minutes to fill a hopper.
pub const LOAD_MIN: f64 = 0.0;
/// Whether a machine may reverse with the tool lifted.
pub const CAN_REVERSE: bool = false;
/// Perimeter rounds.
pub const PERIMETER_ROUNDS: u32 = 0;
/// A metre turned on the pitch counts as this many.
pub const TURN_ON_PITCH_COST: f64 = 3.0;
/// Shorter parts are dropped, metres.
pub const MIN_PASS_M: f64 = 0.05;
/// Share of the other times for stops.
pub const STOPS_SHARE: f64 = 0.25;
/// Clearance of obstacles, no-go places, goals and stockpiles, metres.
pub const CLEARANCE_M: f64 = 0.5;
/// Clearance of heads, sockets and lids, metres.
pub const LIFTED_CLEARANCE_M: f64 = 0.75;
/// Wear class of a zone of the user's own.
pub const USER_ZONE_WEAR: u8 = 3;
/// Where a hybrid surface names no depth, tasks that cut go no deeper, millimetres.
pub const HYBRID_UNKNOWN_DEPTH_MM: f64 = 10.0;

const fn key(
    path: &'static str,
    value: DefaultValue,
    reason: &'static str,
    tag: Tag,
) -> KeyDefault {
    KeyDefault {
        path,
        value,
        reason,
        tag,
    }
}

/// Defaults by key, in the order of the job file, those of the ground file last (under
/// `feature`).
#[rustfmt::skip]
pub const KEYS: &[KeyDefault] = &[
    key("currency", DefaultValue::Word(""), "money is printed without a label", Tag::Choice),
    key("pitch.bearing_deg", DefaultValue::Said("`0` where sizes alone are given"), "nothing else depends on it then", Tag::Choice),
    key("pitch.run_off_m", DefaultValue::Said("3 m all round, with a warning"), "the least that a grounds guideline asks for natural pitches", Tag::Source("The FA, goalpost and pitch sizes 2016-17")),
    key("pitch.surface.kind", DefaultValue::Word("natural"), "most pitches are", Tag::Choice),
    key("crew.people", DefaultValue::Said("`1`"), "somebody drives", Tag::Choice),
    key("tractor.*.body", DefaultValue::Said("1.5 m wide, 2.4 m ahead of the rear axle, 0.9 m behind it, with a warning"), "a compact tractor", Tag::FromMemory),
    key("tractor.*.turn_speed_km_h", DefaultValue::Said("the working speed"), "until turns are timed", Tag::Choice),
    key("tractor.*.change_s", DefaultValue::Number(CHANGE_S), "stop, shift, start", Tag::FromMemory),
    key("tractor.*.track_width_m", DefaultValue::Number(TRACK_WIDTH_M), "compact tractors have 1.3 to 1.6 m", Tag::FromMemory),
    key("tractor.*.steering", DefaultValue::Word("eye"), "most are", Tag::CommonPractice),
    key("tractor.*.steering_sd_m", DefaultValue::Said("by `steering`: 0.04 along a string, 0.10 by eye, 0.03 by satellite with correction"), "plausible until it is measured", Tag::FromMemory),
    key("implement.*.overlap_m", DefaultValue::Number(OVERLAP_M), "butt joints, until the machine's own overlap is known", Tag::Choice),
    key("implement.*.reach_m", DefaultValue::Number(REACH_M), "works under the axle, as a machine pushed by hand does", Tag::Choice),
    key("implement.*.can_reverse", DefaultValue::Flag(CAN_REVERSE), "a trailed tool does not back straight", Tag::CommonPractice),
    key("implement.*.load_min", DefaultValue::Number(LOAD_MIN), "no loading is counted until it is timed", Tag::Choice),
    key("operation.*.zones", DefaultValue::Words("all"), "the whole pitch", Tag::Choice),
    key("operation.*.directions", DefaultValue::Words("along"), "straight passes run goal line to goal line unless told otherwise", Tag::CommonPractice),
    key("operation.*.ends", DefaultValue::Said("by task"), "see the table of tasks", Tag::Choice),
    key("operation.*.over_m", DefaultValue::Said("by task"), "see the table of tasks", Tag::Choice),
    key("operation.*.depth_mm", DefaultValue::Said("by task"), "see the table of tasks", Tag::Choice),
    key("operation.*.people", DefaultValue::Said("the crew's"), "all of them are there", Tag::Choice),
    key("operation.*.start", DefaultValue::Word("centred"), "symmetrical to both sides", Tag::CommonPractice),
    key("operation.*.remainder", DefaultValue::Word("even"), "nothing is worked beyond the sides", Tag::Choice),
    key("operation.*.perimeter_rounds", DefaultValue::Number(PERIMETER_ROUNDS as f64), "most work has none", Tag::Choice),
    key("operation.*.order", DefaultValue::Word("shortest"), "the least turning", Tag::Choice),
    key("operation.*.turn_on_pitch_cost", DefaultValue::Number(TURN_ON_PITCH_COST), "turning on the pitch harms it more than the run-off", Tag::FromMemory),
    key("operation.*.rate_per", DefaultValue::Word("operation"), "a rate is what the ground gets in all", Tag::Choice),
    key("operation.*.min_pass_m", DefaultValue::Number(MIN_PASS_M), "nobody lowers a tool for less", Tag::Choice),
    key("hand.*.people", DefaultValue::Said("the crew's"), "all of them are there", Tag::Choice),
    key("hand.*.angle_deg", DefaultValue::Said("`90` for `board`, `0` for `lanes`"), "a board lies along the goal line; mending runs from goal to goal", Tag::CommonPractice),
    key("hand.*.stages", DefaultValue::Number(STAGES as f64), "along, then across", Tag::CommonPractice),
    key("hand.*.s_per_forking", DefaultValue::Number(S_PER_FORKING), "push, ease back, move on", Tag::CommonPractice),
    key("hand.*.coincident_tines", DefaultValue::Number(COINCIDENT_TINES), "nearer holes break into each other", Tag::FromMemory),
    key("hand.*.coincident_share", DefaultValue::Number(COINCIDENT_SHARE), "a hole in ten may be wasted", Tag::Choice),
    key("hand.*.s_per_block", DefaultValue::Number(S_PER_BLOCK), "mark, cut twice, lift, set, tread in; 3 to 5 minutes", Tag::FromMemory),
    key("hand.*.m2_per_person_h", DefaultValue::Said("700 for `lanes`; for `rest` by task, see the table of tasks"), "a pitch in about an hour and a quarter by eight people", Tag::FromMemory),
    key("hand.*.fork.edge_mm", DefaultValue::Said("half a spacing"), "the lattice goes on over a joint", Tag::Choice),
    key("hand.*.block.donors", DefaultValue::Said("the run-off behind the nearest goal, as wide as the goal area"), "nobody plays there", Tag::CommonPractice),
    key("hand.*.block.barrow_kg", DefaultValue::Number(BARROW_KG), "more is hard to steer on soft ground", Tag::FromMemory),
    key("hand.*.lane.width_m", DefaultValue::Number(LANE_WIDTH_M), "people walk 2 to 3 m apart", Tag::FromMemory),
    key("hand.*.lane.balance", DefaultValue::Word("damage"), "worn ground tears more", Tag::Choice),
    key("hand.*.lane.days", DefaultValue::Number(LANE_DAYS as f64), "all of it at once", Tag::Choice),
    key("hand.*.lane.from", DefaultValue::Said("the end that the lanes' angle points away from"), "so that it is the same every time", Tag::Choice),
    key("plan.stops_share", DefaultValue::Number(STOPS_SHARE), "checks, clearing, talk", Tag::FromMemory),
    key("plan.accept_unknown_services", DefaultValue::Flag(false), "a service of unknown depth may lie at the surface", Tag::Choice),
    key("plan.goals_out", DefaultValue::Flag(false), "goals stand where the ground file shows them", Tag::Choice),
    key("plan.effort", DefaultValue::Word("normal"), "between quick and thorough", Tag::Choice),
    key("plan.wheel_passes_max", DefaultValue::Number(WHEEL_PASSES_MAX as f64), "beyond this the top is rolled shut", Tag::FromMemory),
    key("plan.steering_miss_share", DefaultValue::Number(STEERING_MISS_SHARE), "half a square metre in a hundred", Tag::Choice),
    key("plan.gpx_waypoints", DefaultValue::Flag(false), "a terminal's list of waypoints is soon too long", Tag::Choice),
    key("plan.task_data", DefaultValue::Word("4.3"), "the newer version: each line is a pattern of its own", Tag::Choice),
    key("feature.clearance_m", DefaultValue::Said("0.5 m; 0.75 m for heads, sockets and lids"), "room for a guard and for steering; a ring that is worked by hand", Tag::FromMemory),
    key("feature.wear", DefaultValue::Number(USER_ZONE_WEAR as f64), "the middle class", Tag::Choice),
];

/// The default of the key at that path.
#[must_use]
pub fn of(path: &str) -> Option<&'static KeyDefault> {
    KEYS.iter()
        .find(|default| limits::names(default.path, path))
}

/// The defaults of one task.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TaskDefault {
    /// The task.
    pub task: Task,
    /// Where the tool is lifted, unless `ends` says.
    pub ends: Ends,
    /// How far the ends are lengthened, unless `over_m` says; 0 whenever `ends` is
    /// `run_over`, metres.
    pub over_m: f64,
    /// Why those ends.
    pub ends_reason: &'static str,
    /// Where they come from.
    pub ends_tag: Tag,
    /// What the rule is to read, unless `depth_mm` says, millimetres; with its reason.
    pub depth: Option<DepthDefault>,
}

/// A default depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthDefault {
    /// What the rule is to read, millimetres.
    pub depth_mm: f64,
    /// Why.
    pub reason: &'static str,
    /// Where it comes from.
    pub tag: Tag,
}

const fn over(
    task: Task,
    reason: &'static str,
    tag: Tag,
    depth: Option<DepthDefault>,
) -> TaskDefault {
    TaskDefault {
        task,
        ends: Ends::RunOver,
        over_m: 0.0,
        ends_reason: reason,
        ends_tag: tag,
        depth,
    }
}

const fn line(
    task: Task,
    over_m: f64,
    reason: &'static str,
    tag: Tag,
    depth: Option<DepthDefault>,
) -> TaskDefault {
    TaskDefault {
        task,
        ends: Ends::OnLine,
        over_m,
        ends_reason: reason,
        ends_tag: tag,
        depth,
    }
}

const fn deep(depth_mm: f64, reason: &'static str, tag: Tag) -> Option<DepthDefault> {
    Some(DepthDefault {
        depth_mm,
        reason,
        tag,
    })
}

/// Defaults by task, in the order of [`Task::ALL`].
#[rustfmt::skip]
pub const TASKS: [TaskDefault; 19] = [
    line(Task::Strip, 1.0, "the face is clean only once the drum has settled", Tag::FromMemory,
        deep(5.0, "takes thatch and leaves crowns; published depths run from 4 to 10 mm", Tag::Source("three published reports of strips: 4 to 5 mm, 6 to 10 mm, 10 mm"))),
    line(Task::VerticalCut, 1.0, "blades reach depth a little after the line", Tag::FromMemory,
        deep(8.0, "the shallow of two published settings, 8 and 50 mm", Tag::Source("an open turf-training site's article on renovation"))),
    over(Task::Clean, "debris left at the edge buries seed", Tag::CommonPractice, None),
    line(Task::Dig, 0.0, "lifted at the line, so that the run-off stays firm", Tag::CommonPractice,
        deep(125.0, "a typical dig; 100 to 250 mm are worked", Tag::CommonPractice)),
    line(Task::Core, 0.5, "tines reach depth a stride after the line", Tag::FromMemory,
        deep(75.0, "the middle of 50 to 100 mm", Tag::FromMemory)),
    line(Task::DeepTine, 0.5, "tines reach depth a stride after the line", Tag::FromMemory,
        deep(175.0, "usual at a renovation; 100 to 300 mm are worked", Tag::FromMemory)),
    line(Task::Slit, 0.0, "lifted at the line, before turning", Tag::FromMemory,
        deep(200.0, "the middle of 150 to 250 mm", Tag::FromMemory)),
    line(Task::Spike, 0.5, "tines reach depth a stride after the line", Tag::FromMemory,
        deep(100.0, "the middle of 50 to 150 mm", Tag::FromMemory)),
    over(Task::Level, "a ridge at the line would be worse than one beyond it", Tag::FromMemory, None),
    over(Task::Sand, "the line itself needs its sand", Tag::FromMemory, None),
    over(Task::Brush, "sand must not pile up at the line", Tag::CommonPractice, None),
    over(Task::Lute, "sand must not pile up at the line", Tag::CommonPractice, None),
    over(Task::Drill, "seed up to the line", Tag::FromMemory,
        deep(5.0, "seed lies at 4 to 5 mm, never beyond 10", Tag::CommonPractice)),
    over(Task::Broadcast, "seed up to the line", Tag::FromMemory, None),
    over(Task::Roll, "rolled up to and over the line", Tag::CommonPractice, None),
    over(Task::Feed, "an unfed strip shows", Tag::FromMemory, None),
    line(Task::Spray, 0.0, "off at the line; nothing is sprayed beyond it unasked", Tag::FromMemory, None),
    over(Task::Mow, "turns lie in the run-off", Tag::FromMemory, None),
    line(Task::Other, 0.0, "nothing is known of it", Tag::Choice, None),
];

/// The defaults of a task.
#[must_use]
pub fn of_task(task: Task) -> &'static TaskDefault {
    // `TASKS` holds every task (tested); the last row is that of `other`.
    const OTHER: &TaskDefault = &TASKS[TASKS.len() - 1];
    TASKS
        .iter()
        .find(|default| default.task == task)
        .unwrap_or(OTHER)
}
