//! The jobs whose sheets are tested: invented grounds that hold what is hard to draw.

use geojson::{Feature, FeatureCollection, GeoJson, JsonObject};
use swardlane::ground::frame::{Frame, Projector};
use swardlane::space::{Heading, Position, Xy};

/// A job of the tests.
pub struct Case {
    /// What the pictures are called after.
    pub name: &'static str,
    /// The job file.
    pub text: &'static str,
    /// Its ground file.
    pub ground: Option<fn() -> String>,
    /// Whether its drives are planned.
    pub routes: bool,
}

/// All of them.
pub const ALL: [Case; 5] = [
    Case {
        name: "full",
        text: FULL,
        ground: Some(full_ground),
        routes: false,
    },
    Case {
        name: "small",
        text: SMALL,
        ground: None,
        routes: false,
    },
    Case {
        name: "odd",
        text: ODD,
        ground: Some(odd_ground),
        routes: false,
    },
    Case {
        name: "driven",
        text: DRIVEN,
        ground: Some(driven_ground),
        routes: true,
    },
    Case {
        name: "by-hand",
        text: BY_HAND,
        ground: None,
        routes: false,
    },
];

/// A whole pitch with everything on it that keeps machines away.
const FULL: &str = r#"
name = "Larkmoor practice ground"
date = 2026-06-02

[pitch]
length_m = 105.0
width_m = 68.0
centre = { lat_deg = 55.312, lon_deg = -3.720 }
bearing_deg = 12.5
run_off_m = { north = 3.6, east = 4.0, south = 4.0, west = 3.2 }
stands = { north = "Hill end", west = "Main stand" }

[ground]
file = "ground.geojson"

[tractor.compact]
turn_radius_m = 2.9

[implement.drag-brush]
tractor = "compact"
working_width_m = 1.8
overlap_m = 0.1
speed_km_h = 6.0

[implement.stripper]
tractor = "compact"
working_width_m = 2.0
speed_km_h = 3.0

[implement.corer]
tractor = "compact"
working_width_m = 1.5
speed_km_h = 2.0

[implement.drill]
tractor = "compact"
working_width_m = 0.65
speed_km_h = 3.0

[implement.mower]
working_width_m = 2.4
overlap_m = 0.2
speed_km_h = 5.0

[[operation]]
id = "work-in"
task = "brush"
implement = "drag-brush"
directions = ["along", "diagonal_left"]

[[operation]]
id = "strip"
task = "strip"
implement = "stripper"
directions = ["across"]

[[operation]]
id = "deep"
task = "deep_tine"
implement = "corer"
depth_mm = 250.0
zones = ["penalty-area-south"]
directions = ["along"]

[[operation]]
id = "drill"
task = "drill"
implement = "drill"
directions = ["along"]
ends = "hold_inside"

[[operation]]
id = "mow"
task = "mow"
implement = "mower"
perimeter_rounds = 3
directions = ["across"]
"#;

/// A small pitch that runs east and west, without a place on the globe, whose name would
/// break a careless file.
const SMALL: &str = r#"
name = "\"Long\" & <b>Short</b> field"

[pitch]
length_m = 44.0
width_m = 27.0
bearing_deg = 100.0
run_off_m = { touch = 2.0, goal = 2.0 }
stands = { north = "Trees & <hedge>" }

[implement.roller]
working_width_m = 1.2
speed_km_h = 4.0

[implement.spiker]
working_width_m = 2.3
speed_km_h = 4.0

[[operation]]
id = "roll"
task = "roll"
implement = "roller"
directions = ["corner_left"]

[[operation]]
id = "spike"
task = "spike"
implement = "spiker"
ends = "hold_inside"
directions = [{ angle_deg = 20.0 }]
"#;

/// A pitch in two parts with a notch, a tree in it and a zone of its own.
const ODD: &str = r#"
name = "Thistlemarsh corner field"

[pitch]
run_off_m = { touch = 3.0, goal = 3.0 }

[ground]
file = "ground.geojson"

[implement.slitter]
working_width_m = 1.5
speed_km_h = 3.5

[[operation]]
id = "slit"
task = "slit"
implement = "slitter"
depth_mm = 180.0
directions = ["along", { heading_deg = 31.0 }]
"#;

/// A small square with near walls, a gate and a post, driven forwards and with reversing, once
/// round and across.
const DRIVEN: &str = r#"
name = "Fernhollow small square"

[plan]
effort = "quick"

[pitch]
length_m = 46.0
width_m = 30.0
centre = { lat_deg = 54.1, lon_deg = -2.1 }
bearing_deg = 72.0
run_off_m = { touch = 3.5, goal = 4.0 }
stands = { north = "Fell side" }

[ground]
file = "ground.geojson"

[tractor.compact]
turn_radius_m = 2.3
body = { width_m = 1.3, ahead_m = 1.9, behind_m = 0.7 }
change_s = 4.0
track_width_m = 1.1

[implement.drag-mat]
tractor = "compact"
working_width_m = 2.0
overlap_m = 0.2
speed_km_h = 6.0
reach_m = 1.2

[implement.mower]
tractor = "compact"
working_width_m = 1.8
overlap_m = 0.1
speed_km_h = 5.0
reach_m = 1.0
can_reverse = true

[implement.hand-spiker]
working_width_m = 0.9
speed_km_h = 3.0

[[operation]]
id = "mat-in"
task = "brush"
implement = "drag-mat"
directions = ["along", "diagonal_left"]

[[operation]]
id = "mow"
task = "mow"
implement = "mower"
perimeter_rounds = 1
directions = ["across"]

[[operation]]
id = "spike"
task = "spike"
implement = "hand-spiker"
zones = ["goal-area-west"]
"#;

/// All that people do without a machine, on a pitch that lies east and west.
const BY_HAND: &str = r#"
name = "Rushbeck main pitch"

[pitch]
length_m = 100.0
width_m = 64.0
centre = { lat_deg = 53.4, lon_deg = -1.9 }
bearing_deg = 81.0
run_off_m = { touch = 3.0, goal = 4.5 }

[implement.spiker]
working_width_m = 1.5
speed_km_h = 3.0

[[operation]]
id = "spike"
task = "spike"
implement = "spiker"
ends = "hold_inside"
directions = ["diagonal_left"]

[[hand]]
id = "fork"
kind = "board"
zone = "goalmouth-east"
people = 2
board = { length_m = 3.0, width_m = 0.23 }
fork = { tines = 4, tine_spacing_mm = 90, tine_diameter_mm = 12, depth_mm = 200, step_mm = 200 }

[[hand]]
id = "swap"
kind = "blocks"
zone = "goalmouth-west"
block = { side_m = 0.3, depth_mm = 50, worn = [[-48.6, 0.2], [-47.9, 1.1], [-47.4, -1.3], [-46.8, 0.4]] }

[[hand]]
id = "mend"
kind = "lanes"
zone = "all"
people = 5
lane = { width_m = 2.0, minutes = 40, days = 2 }

[[hand]]
id = "left"
kind = "rest"
operation = "spike"
"#;

fn frame(lat_deg: f64, lon_deg: f64, bearing_deg: f64) -> Projector {
    Frame {
        origin: Position { lat_deg, lon_deg },
        bearing: Heading::from_deg(bearing_deg),
        crs: None,
        crs_accuracy_m: None,
    }
    .open()
    .unwrap()
}

/// A ground file of features given in pitch metres.
struct Ground {
    frame: Projector,
    features: Vec<Feature>,
}

impl Ground {
    fn degrees(&self, (x, y): (f64, f64)) -> Vec<f64> {
        let position = self.frame.position(Xy { x, y }).unwrap();
        vec![position.lon_deg, position.lat_deg]
    }

    fn add(&mut self, geometry: geojson::GeometryValue, properties: &[(&str, serde_json::Value)]) {
        let mut object = JsonObject::new();
        for (key, value) in properties {
            object.insert((*key).to_owned(), value.clone());
        }
        self.features.push(Feature {
            geometry: Some(geojson::Geometry::new(geometry)),
            properties: Some(object),
            ..Feature::default()
        });
    }

    fn polygon(&mut self, corners: &[(f64, f64)], properties: &[(&str, serde_json::Value)]) {
        let mut ring: Vec<geojson::Position> =
            corners.iter().map(|&at| self.degrees(at).into()).collect();
        ring.push(ring[0].clone());
        self.add(
            geojson::GeometryValue::Polygon {
                coordinates: vec![ring],
            },
            properties,
        );
    }

    fn point(&mut self, at: (f64, f64), properties: &[(&str, serde_json::Value)]) {
        let coordinates = self.degrees(at).into();
        self.add(geojson::GeometryValue::Point { coordinates }, properties);
    }

    fn line(&mut self, places: &[(f64, f64)], properties: &[(&str, serde_json::Value)]) {
        let coordinates = places.iter().map(|&at| self.degrees(at).into()).collect();
        self.add(
            geojson::GeometryValue::LineString { coordinates },
            properties,
        );
    }

    fn text(self) -> String {
        GeoJson::from(FeatureCollection::new(self.features)).to_string()
    }
}

fn role(name: &str) -> (&'static str, serde_json::Value) {
    ("role", name.into())
}

fn full_ground() -> String {
    let mut ground = Ground {
        frame: frame(55.312, -3.720, 12.5),
        features: Vec::new(),
    };
    ground.point((-54.5, -37.0), &[role("entrance")]);
    for sign in [1.0, -1.0] {
        let (line, net) = (sign * 52.6, sign * 54.4);
        ground.polygon(
            &[(line, -3.66), (net, -3.66), (net, 3.66), (line, 3.66)],
            &[role("goal")],
        );
    }
    ground.polygon(
        &[(12.0, 36.2), (22.0, 36.2), (22.0, 37.2), (12.0, 37.2)],
        &[
            role("obstacle"),
            ("name", "home dugout".into()),
            ("clearance_m", 0.3.into()),
        ],
    );
    ground.polygon(
        &[(-30.0, 34.4), (-27.0, 34.4), (-27.0, 36.4), (-30.0, 36.4)],
        &[role("no_go"), ("name", "camera pit".into())],
    );
    for x in [-40.0, -13.0, 13.0, 40.0] {
        for y in [-20.0, 0.0, 20.0] {
            ground.point((x, y), &[role("head")]);
        }
    }
    ground.point((47.0, 30.0), &[role("lid"), ("name", "valve box".into())]);
    ground.point((52.5, 34.0), &[role("socket")]);
    ground.line(
        &[(-54.0, -30.0), (-20.0, -28.0), (20.0, -36.0)],
        &[
            role("service"),
            ("name", "watering main".into()),
            ("depth_m", 0.3.into()),
        ],
    );
    ground.polygon(
        &[(-50.0, 40.0), (50.0, 40.0), (50.0, 52.0), (-50.0, 52.0)],
        &[role("stand"), ("name", "Main stand".into())],
    );
    ground.polygon(
        &[(20.0, -34.0), (32.0, -34.0), (30.0, -25.0), (20.0, -27.0)],
        &[
            role("zone"),
            ("name", "wet-patch-by-the-far-flag".into()),
            ("wear", 1.into()),
        ],
    );
    ground.text()
}

fn driven_ground() -> String {
    let mut ground = Ground {
        frame: frame(54.1, -2.1, 72.0),
        features: Vec::new(),
    };
    ground.point((-24.5, 9.0), &[role("entrance")]);
    ground.polygon(
        &[(6.0, 16.6), (6.6, 16.6), (6.6, 17.2), (6.0, 17.2)],
        &[
            role("obstacle"),
            ("name", "lamp post".into()),
            ("clearance_m", 0.3.into()),
        ],
    );
    ground.text()
}

fn odd_ground() -> String {
    let mut ground = Ground {
        frame: frame(-41.3, 174.8, 62.0),
        features: Vec::new(),
    };
    ground.polygon(
        &[
            (-45.0, -28.0),
            (44.0, -28.6),
            (45.0, 27.0),
            (20.0, 28.0),
            (18.0, 22.0),
            (-10.0, 21.0),
            (-12.0, 28.0),
            (-45.0, 28.0),
        ],
        &[role("pitch")],
    );
    ground.point(
        (6.0, 24.5),
        &[
            role("obstacle"),
            ("name", "old lime tree".into()),
            ("clearance_m", 1.2.into()),
        ],
    );
    ground.line(
        &[(-48.0, -10.0), (48.0, 4.0)],
        &[
            role("service"),
            ("name", "drain".into()),
            ("depth_m", 0.25.into()),
        ],
    );
    ground.polygon(
        &[
            (-44.0, -27.0),
            (-30.0, -27.0),
            (-32.0, -16.0),
            (-44.0, -18.0),
        ],
        &[
            role("zone"),
            ("name", "wet-corner".into()),
            ("wear", 5.into()),
        ],
    );
    ground.text()
}
