//! `docs/job-file.md`, made from the schema, the limits, the defaults and the roles.

use std::fmt::Write as _;

use serde_json::Value;

use super::defaults::{self, Tag};
use super::ground_file::roles::ROLES;
use super::{limits, schema, words};

/// The page, as it stands in `docs/job-file.md`.
#[must_use]
pub fn page() -> String {
    let mut page = HEAD.to_owned();
    let _ = writeln!(page, "\n## An example\n\n```toml\n{EXAMPLE}```");
    tables(&mut page);
    tasks(&mut page);
    zones(&mut page);
    roles(&mut page);
    sizes(&mut page);
    page
}

const HEAD: &str = "# The job file

<!-- Made by `swardlane::job::docs`; a test keeps it so. Do not edit by hand. -->

A job is a folder with `job.toml` (TOML) and, where there is one, a ground file (GeoJSON).
Key names carry their units. Unknown keys, unknown words and values beyond their limits
are errors; all of them are told in one go, each with its line. `swardlane schema job`
prints the same as a JSON Schema.

The pitch is laid down in one of four ways:

1. sizes, `centre` and `bearing_deg`;
2. sizes and two to four `corners` (two opposite ones are not enough);
3. an outline with role `pitch` in the ground file; sizes beside it set the markings;
4. sizes alone: no position, so no file with positions is written.

A surface of kind `hybrid` without `max_depth_mm` refuses tasks that cut deeper than 10 mm:
its supplier knows the depth, this program does not.
";

/// A whole job file; a test loads it.
pub const EXAMPLE: &str = r#"name = "North pitch, June renovation"
date = 2026-06-02
currency = "£"

[pitch]
length_m = 105.0
width_m = 68.0
centre = { lat_deg = 55.312, lon_deg = -3.720 }
bearing_deg = 12.5
run_off_m = { touch = 4.0, goal = 5.0 }
stands = { west = "Main stand" }

[pitch.surface]
kind = "hybrid"
max_depth_mm = 25.0

[places]
entrance = { at = "se", along_m = 4.0, out_m = 3.0 }

[crew]
people = 4
price_per_h = 18.5

[material.dressing-sand]
kind = "sand"
density_t_per_m3 = [1.5, 1.6]

[tractor.compact]
turn_radius_m = { left = 2.9, right = 3.2 }
body = { width_m = 1.5, ahead_m = 2.4, behind_m = 0.9 }

[implement.drag-brush]
tractor = "compact"
working_width_m = 1.8
overlap_m = 0.1
speed_km_h = 6.0
reach_m = 1.6

[[operation]]
id = "work-in-sand"
task = "brush"
implement = "drag-brush"
zones = ["all"]
wear = [4, 5]
directions = ["along", { angle_deg = 30.0 }, { heading_deg = 340.0 }]
start = { from = "west touch line" }
remainder = "full"
"#;

/// A section of the page; tables that read the same keys share one.
struct Section {
    titles: Vec<String>,
    about: String,
    rows: String,
}

fn tables(page: &mut String) {
    let mut sections = Vec::new();
    section(schema::job(), "", &mut sections);
    for section in sections {
        let Section {
            titles,
            about,
            rows,
        } = section;
        let titles = titles.join(", ");
        let _ = write!(
            page,
            "\n## {titles}\n\n{about}\n\n| key | value | default | meaning |\n|---|---|---|---|\n{rows}"
        );
    }
}

/// One section for each table of the job file, in the order of the schema.
fn section(node: &Value, path: &str, sections: &mut Vec<Section>) {
    let Some(properties) = node.get("properties").and_then(Value::as_object) else {
        return;
    };
    let required: Vec<&str> = node
        .get("required")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .collect();
    // Required keys first, in the order of the types; the others by the alphabet.
    let first = required
        .iter()
        .filter_map(|key| properties.get_key_value(*key));
    let others = properties
        .iter()
        .filter(|(key, _)| !required.contains(&key.as_str()));
    let keys: Vec<(&String, &Value)> = first.chain(others).collect();
    let mut rows = String::new();
    for (key, below) in &keys {
        let path = join(path, key);
        let default = match defaults::of(&path) {
            _ if required.contains(&key.as_str()) => "required".to_owned(),
            Some(default) => format!(
                "{}: {}",
                default.value.text(),
                because(default.reason, default.tag)
            ),
            None => String::new(),
        };
        let _ = writeln!(
            rows,
            "| `{key}` | {} | {default} | {} |",
            value_text(below, &path),
            text(below, "description")
        );
    }
    let title = match path {
        "" => "The top of the file".to_owned(),
        _ => format!("`{}`", header(path)),
    };
    if let Some(same) = sections.iter_mut().find(|section| section.rows == rows) {
        same.titles.push(title);
    } else {
        sections.push(Section {
            titles: vec![title],
            about: text(node, "description"),
            rows,
        });
    }
    for (key, node) in keys {
        below(node, &join(path, key), sections);
    }
}

/// The tables below a key, however it holds them.
fn below(node: &Value, path: &str, sections: &mut Vec<Section>) {
    section(node, path, sections);
    for key in ["additionalProperties", "items"] {
        if let Some(inner) = node.get(key) {
            below(inner, &join(path, "*"), sections);
        }
    }
    let ways = node.get("anyOf").and_then(Value::as_array);
    for way in ways.into_iter().flatten() {
        below(way, path, sections);
    }
}

/// `[implement.NAME]`, `[[operation]]`, `directions` in `[[operation]]`.
fn header(path: &str) -> String {
    let parts: Vec<&str> = path.split('.').collect();
    match parts.as_slice() {
        [list @ ("operation" | "hand"), "*"] => format!("[[{list}]]"),
        [list @ ("operation" | "hand"), "*", rest @ ..] => {
            let rest: Vec<&str> = rest.iter().copied().filter(|part| *part != "*").collect();
            format!("[[{list}]] {}", rest.join("."))
        }
        _ => format!("[{}]", path.replace('*', "NAME")),
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

fn text(node: &Value, key: &str) -> String {
    node.get(key)
        .and_then(Value::as_str)
        .unwrap_or_default()
        .to_owned()
}

/// The kind of a value with its limit and unit.
fn value_text(node: &Value, path: &str) -> String {
    if let Some(ways) = node.get("anyOf").and_then(Value::as_array) {
        let ways: Vec<String> = ways.iter().map(|way| value_text(way, path)).collect();
        return ways.join("; or ");
    }
    let bounded = |kind: &str| match limits::of(path) {
        Some(limit) if limit.unit.is_empty() => format!("{kind}, {}", limit.range()),
        Some(limit) => format!("{kind}, {} {}", limit.range(), limit.unit),
        None => kind.to_owned(),
    };
    match node.get("type").and_then(Value::as_str).unwrap_or_default() {
        "string" => match node.get("enum").and_then(Value::as_array) {
            Some(words) => {
                let words: Vec<String> = words
                    .iter()
                    .filter_map(Value::as_str)
                    .map(|word| format!("`\"{word}\"`"))
                    .collect();
                words.join(", ")
            }
            None if node.get("format").is_some() => "date".to_owned(),
            None => "text".to_owned(),
        },
        "number" => bounded("number"),
        "integer" => bounded("whole number"),
        "boolean" => "`true`, `false`".to_owned(),
        "array" => {
            let entries = node
                .get("items")
                .map_or(String::new(), |items| value_text(items, &join(path, "*")));
            format!("list: {entries}")
        }
        _ => "table".to_owned(),
    }
}

fn tasks(page: &mut String) {
    let _ = writeln!(
        page,
        "\n## Tasks\n\nThe closed list, with the defaults of each. `over_m` holds where `ends` is given too, but is 0 with\n`run_over` unless written. A tool that cuts is up around heads, sockets and lids, and has a depth. By hand: square metres that one person\nworks in an hour where `[[hand]]` of kind `rest` gives no `m2_per_person_h` (from memory).\n\n| task | cuts | `ends` | `over_m` | why | `depth_mm` | why | by hand |\n|---|---|---|---|---|---|---|---|"
    );
    for task in &defaults::TASKS {
        let (depth, why) = task.depth.map_or((String::new(), String::new()), |depth| {
            (depth.depth_mm.to_string(), because(depth.reason, depth.tag))
        });
        let _ = writeln!(
            page,
            "| `{}` | {} | `{}` | {} | {} | {depth} | {why} | {} |",
            task.task.name(),
            if task.task.cuts() { "yes" } else { "" },
            task.ends.name(),
            task.over_m,
            because(task.ends_reason, task.ends_tag),
            defaults::by_hand_m2_per_h(task.task)
        );
    }
}

fn because(reason: &str, tag: Tag) -> String {
    format!("{reason} ({})", tag.text())
}

fn zones(page: &mut String) {
    let list = |words: &[&str]| {
        let words: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
        words.join(", ")
    };
    let _ = writeln!(
        page,
        "\n## Words for places\n\n- Kinds of zone: {}.\n- Regions: {}.\n- One for each end or side, followed by `-north`, `-east`, `-south` or `-west`: {}.\n- Corners: `corner-ne`, `corner-se`, `corner-sw`, `corner-nw`.\n- One of each: {}.\n- The names of the zones in the ground file.\n\nA word for a place that this pitch does not have gives nothing to work; an unknown word is an error.",
        list(&words::KINDS),
        list(&words::REGIONS),
        list(&words::BY_COMPASS),
        list(&words::SINGLE)
    );
}

fn roles(page: &mut String) {
    let _ = writeln!(
        page,
        "\n## The ground file\n\nA GeoJSON FeatureCollection (RFC 7946, 2016): longitude, latitude in WGS84, unless `[ground]` names a\n`crs`; then easting, northing. Every feature has a property `role`, and may have a `name`. Other\nproperties are left alone; a feature of an unknown role is left out with a warning. Rings are closed\nand do not cross or touch themselves; holes lie inside. A ground across 180 degrees is read in one piece.\n\n| role | shape | meaning | properties |\n|---|---|---|---|"
    );
    for role in &ROLES {
        let properties: Vec<String> = role
            .properties
            .iter()
            .map(|key| match limits::of(&format!("feature.{key}")) {
                Some(limit) => format!("`{key}`, {} {}", limit.range(), limit.unit),
                None => format!("`{key}`"),
            })
            .collect();
        let _ = writeln!(
            page,
            "| `{}` | {} | {} | {} |",
            role.name,
            role.shapes.text(),
            role.meaning,
            properties.join("; ")
        );
    }
    page.push('\n');
    for default in defaults::KEYS {
        if let Some(key) = default.path.strip_prefix("feature.") {
            let _ = writeln!(
                page,
                "- `{key}` is {} unless given: {}.",
                default.value.text(),
                because(default.reason, default.tag)
            );
        }
    }
}

fn sizes(page: &mut String) {
    let _ = writeln!(
        page,
        "\n## Sizes\n\nLarger inputs are refused.\n\n| what | at most |\n|---|---|"
    );
    for size in limits::SIZES {
        let _ = writeln!(page, "| {} | {} |", size.name, size.greatest);
    }
    let _ = writeln!(
        page,
        "| metres from the pitch to a feature | {} |\n| degrees of latitude, north or south | {} |",
        limits::GROUND_SPREAD_M,
        limits::LATITUDE_DEG
    );
}
