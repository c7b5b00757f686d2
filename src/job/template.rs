//! The commented job that `swardlane new NAME` writes.

use super::model::Size;

/// The sizes of a pitch where nobody gave any: those that competitions ask for most.
pub const USUAL_SIZE: Size = Size {
    length_m: 105.0,
    width_m: 68.0,
};

/// The text of a job file that plans at once. It gives no position, so that nobody works
/// by an invented one; how to give one stands in its comments.
#[must_use]
pub fn job_text(name: &str, size_m: Size) -> String {
    let name = toml::Value::String(name.to_owned());
    let Size { length_m, width_m } = size_m;
    format!(
        r#"# A job for swardlane. All keys and their limits: docs/job-file.md
name = {name}
# date = 2026-06-02              # printed on sheets

[pitch]
length_m = {length_m:?}               # touch line
width_m = {width_m:?}                 # goal line
run_off_m = {{ touch = 3.0, goal = 3.0 }}
# Where the pitch lies: its middle, and the true bearing of the long axis. Without them
# lengths and areas are planned, but no file with positions is written.
# centre = {{ lat_deg = 0.0, lon_deg = 0.0 }}
# bearing_deg = 0.0

# [ground]                       # trees, goals, sprinkler heads: GeoJSON with a `role`
# file = "ground.geojson"

[crew]
people = 2

[tractor.compact]
turn_radius_m = 2.9

[implement.drag-brush]
tractor = "compact"
working_width_m = 1.8
overlap_m = 0.1
speed_km_h = 6.0
reach_m = 1.6

[[operation]]
id = "brush"
task = "brush"
implement = "drag-brush"
zones = ["all"]
directions = ["along", "diagonal_left", "diagonal_right"]

[[operation]]
id = "brush-goalmouths"
task = "brush"
implement = "drag-brush"
zones = ["goalmouth"]
directions = ["across"]

# By hand: what a machine leaves (kinds `board`, `blocks` and `lanes` are in docs/job-file.md).
# [[hand]]
# id = "brush-the-rest"
# kind = "rest"
# operation = "brush"
"#
    )
}
