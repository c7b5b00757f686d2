//! Jobs made in code, for tests that drive the planner without files.

use std::collections::BTreeMap;

use geo::{Geometry, LineString, Polygon};
use swardlane::ground::frame::Frame;
use swardlane::job::model::{
    Body, Crew, Direction, Effort, Ends, Feature, Implement, Job, Lie, Operation, Order, Pitch,
    Remainder, Role, RunOff, Settings, Size, Source, Start, Steering, Surface, SurfaceKind, Task,
    TaskDataVersion, Tractor,
};
use swardlane::space::{Heading, Position, Xy};

/// An invented place.
pub const CENTRE: Position = Position {
    lat_deg: 55.312,
    lon_deg: -3.72,
};

/// A pushed implement of that width and overlap.
pub fn implement(working_width_m: f64, overlap_m: f64) -> Implement {
    Implement {
        name: "drag-brush".to_owned(),
        tractor: None,
        working_width_m,
        overlap_m,
        speed_km_h: 6.0,
        reach_m: 0.0,
        can_reverse: false,
        hopper_t: None,
        load_min: 0.0,
    }
}

/// Brushing the whole pitch along, as the defaults have it.
pub fn brushing(working_width_m: f64, overlap_m: f64) -> Operation {
    Operation {
        number: 1,
        id: "brushing".to_owned(),
        task: Task::Brush,
        implement: implement(working_width_m, overlap_m),
        zones: vec!["all".to_owned()],
        wear: None,
        directions: vec![Direction::Along],
        ends: Ends::RunOver,
        over_m: 0.0,
        start: Start::Centred,
        remainder: Remainder::Even,
        perimeter_rounds: 0,
        order: Order::Shortest,
        turn_on_pitch_cost: 3.0,
        depth: None,
        asks_material: false,
        rates: None,
        material: None,
        people: None,
        min_pass_m: 0.05,
    }
}

/// A job on a rectangle of that size, 4 m of run-off all round, no position.
pub fn rectangle_job(length_m: f64, width_m: f64, operations: Vec<Operation>) -> Job {
    Job {
        name: "made in a test".to_owned(),
        date: None,
        currency: String::new(),
        pitch: Pitch {
            size_m: Some(Size { length_m, width_m }),
            lie: Lie::Nowhere {
                bearing: Heading::from_deg(0.0),
            },
            ends: None,
            run_off: Some(RunOff::ByLine {
                touch_m: 4.0,
                goal_m: 4.0,
            }),
            stands: BTreeMap::new(),
            surface: Surface {
                kind: SurfaceKind::Natural,
                max_depth_mm: None,
            },
        },
        features: Vec::new(),
        crs: None,
        entrance: None,
        stockpile: None,
        crew: Crew {
            people: None,
            price_per_h: None,
        },
        materials: BTreeMap::new(),
        operations,
        hand: Vec::new(),
        settings: Settings {
            stops_share: 0.25,
            accept_unknown_services: false,
            goals_out: false,
            routes: false,
            wheel_passes_max: 6,
            steering_miss_share: 0.005,
            gpx_waypoints: false,
            effort: Effort::Normal,
            task_data: TaskDataVersion::V4_3,
        },
        warnings: Vec::new(),
        source: Source::default(),
    }
}

/// A job whose outline and things are drawn, given in metres about an invented place: +x to
/// the bearing `bearing_deg`, before the program fits its own frame.
pub fn drawn_job(
    bearing_deg: f64,
    outline: &[(f64, f64)],
    things: &[(Role, Vec<(f64, f64)>)],
    operations: Vec<Operation>,
) -> Job {
    let frame = Frame {
        origin: CENTRE,
        bearing: Heading::from_deg(bearing_deg),
        crs: None,
        crs_accuracy_m: None,
    };
    let projector = frame.open().unwrap();
    let ring = |corners: &[(f64, f64)]| {
        let at = corners.iter().map(|&(x, y)| {
            let position = projector.position(Xy { x, y }).unwrap();
            Xy {
                x: position.lon_deg,
                y: position.lat_deg,
            }
        });
        Geometry::Polygon(Polygon::new(LineString(at.collect()), Vec::new()))
    };
    let mut job = rectangle_job(100.0, 60.0, operations);
    job.pitch.size_m = None;
    job.pitch.lie = Lie::Outline;
    let pitch = std::iter::once((Role::Pitch, outline.to_vec()));
    let all = pitch.chain(things.iter().cloned());
    job.features = all
        .enumerate()
        .map(|(index, (role, corners))| Feature {
            number: index + 1,
            name: None,
            role,
            shape: ring(&corners),
        })
        .collect();
    job
}

/// Numbers as if by chance, the same every time (splitmix64: Steele, Lea and Flood 2014, from
/// memory).
pub struct Chance(pub u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to below 1.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From one figure to below another.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Whether something of that share happens.
    pub fn happens(&mut self, share: f64) -> bool {
        self.share() < share
    }

    /// One of some.
    pub fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[(self.next() % all.len() as u64) as usize]
    }
}

/// A small tractor with a body of its own, steered by eye.
pub fn small_tractor() -> Tractor {
    Tractor {
        name: "small".to_owned(),
        turn_radius_left_m: 2.2,
        turn_radius_right_m: 2.2,
        body: Some(Body {
            width_m: 1.2,
            ahead_m: 1.8,
            behind_m: 0.7,
        }),
        turn_speed_km_h: None,
        change_s: 4.0,
        track_width_m: 1.2,
        steering: Steering::Eye,
        steering_sd_m: None,
    }
}
