//! Task data by the facts of ISO 11783-10: codes written, and what its reader makes of files.

use std::collections::BTreeMap;

use swardlane::formats::guidance;
use swardlane::found::task_data;
use swardlane::job;
use swardlane::plan::plan;

use super::drivers::{Got, Input, Results, number};

const ROOT: &str = "ISO11783_TaskData VersionMajor=\"4\" VersionMinor=\"3\"";

/// A pattern of that type with so many lines of so many points: what is made of it.
fn pattern(kind: f64, lines: f64, points: f64) -> Got {
    let point = |n: usize| format!("<PNT A=\"2\" C=\"5{n}.0\" D=\"1.0\"/>");
    let points: String = (0..points as usize).map(point).collect();
    let lines = format!("<LSG A=\"5\">{points}</LSG>").repeat(lines as usize);
    let text = format!(
        "<{ROOT}><PFD A=\"PFD1\" C=\"x\" D=\"1\"><GGP A=\"GGP1\"><GPN A=\"GPN1\" \
         C=\"{kind}\">{lines}</GPN></GGP></PFD></ISO11783_TaskData>"
    );
    let word = match task_data::read("TASKDATA.XML", text.as_bytes(), &|_| None) {
        Err(_) => "refused".to_owned(),
        Ok(found) => match found.lines.first() {
            Some(line) => line.label.kind.clone().unwrap_or_default(),
            None if found.remarks.iter().any(|text| text.contains("an A+ line")) => "A+".to_owned(),
            None if found.remarks.iter().any(|text| text.contains("a pivot")) => "pivot".to_owned(),
            None => "nothing".to_owned(),
        },
    };
    Got::Word(word)
}

/// The same for every key of the input, its number being one of type, lines and points.
fn each(input: &Input, of: impl Fn(f64) -> Got) -> Results {
    let keys = input.keys();
    keys.map(|key| Ok((key.clone(), of(number(input, key)?))))
        .collect()
}

pub fn pattern_types(input: &Input) -> Results {
    each(input, |kind| pattern(kind, 1.0, 2.0))
}

pub fn pattern_lines(input: &Input) -> Results {
    each(input, |lines| pattern(1.0, lines, 2.0))
}

pub fn a_b_points(input: &Input) -> Results {
    each(input, |points| pattern(1.0, 1.0, points))
}

pub fn edges(input: &Input) -> Results {
    let keys = input.keys();
    keys.map(|key| {
        let deg = number(input, key)?;
        let name = key.trim_end_matches("_deg");
        let (lat, lon) = if name.ends_with("lat") {
            (deg, 0.0)
        } else {
            (0.0, deg)
        };
        let text = format!(
            "<{ROOT}><PFD A=\"PFD1\" C=\"x\" D=\"1\"><PNT A=\"1\" C=\"{lat}\" D=\"{lon}\"/></PFD>\
             </ISO11783_TaskData>"
        );
        let read = task_data::read("TASKDATA.XML", text.as_bytes(), &|_| None);
        // Which edge it is shows in the place itself.
        let is_there = read.is_ok_and(|found| {
            let at = found.places[0].position;
            at.lat_deg.abs() == 90.0 || at.lon_deg.abs() == 180.0
        });
        let word = if is_there { "read" } else { "refused" };
        Ok((name.to_owned(), Got::Word(word.to_owned())))
    })
    .collect()
}

/// The task data of a job with everything in it: a hole, rounds, a tree, a head, rates.
fn written(version: &str, rate_g_per_m2: f64) -> Result<String, String> {
    let job = format!(
        r#"name = "{}"
[pitch]
run_off_m = {{ touch = 4.0, goal = 4.0 }}
[ground]
file = "ground.geojson"
[plan]
task_data = "{version}"
[implement.spreader]
working_width_m = 4.0
speed_km_h = 6.0
[[operation]]
id = "feed"
task = "feed"
implement = "spreader"
perimeter_rounds = 1
rates = [{{ zones = ["corner"], rate_g_per_m2 = 70.0 }}, {{ zones = ["all"], rate_g_per_m2 = {rate_g_per_m2:?} }}]
"#,
        "long".repeat(20),
    );
    let ring = |corners: [[f64; 2]; 4]| {
        let mut ring = corners
            .map(|[x, y]| [-3.72 + x * 1e-5, 55.312 + y * 1e-5])
            .to_vec();
        ring.push(ring[0]);
        ring
    };
    let outer = ring([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]]);
    let hole = ring([[40.0, 40.0], [40.0, 44.0], [44.0, 44.0], [44.0, 40.0]]);
    let feature = |role: &str, kind: &str, at: serde_json::Value| {
        serde_json::json!({ "type": "Feature", "properties": { "role": role },
                            "geometry": { "type": kind, "coordinates": at } })
    };
    let ground = serde_json::json!({ "type": "FeatureCollection", "features": [
        feature("pitch", "Polygon", serde_json::json!([outer, hole])),
        feature("obstacle", "Point", serde_json::json!([-3.7197, 55.3127])),
        feature("head", "Point", serde_json::json!([-3.7193, 55.3123])),
        feature("entrance", "Point", serde_json::json!([-3.72001, 55.31199])),
    ]});
    let job = job::read("job.toml", &job, |_| Ok(ground.to_string()));
    let plan = plan(&job.map_err(|faults| faults.to_string())?);
    let files = guidance::files(&plan.map_err(|faults| faults.to_string())?);
    let files = files.map_err(|error| error.to_string())?;
    let named = files
        .iter()
        .find(|(name, _)| name.ends_with("TASKDATA.XML"));
    let (_, bytes) = named.ok_or("there is no task data")?;
    String::from_utf8(bytes.clone()).map_err(|error| error.to_string())
}

/// The attribute `A` (or another) of the first element whose line holds `mark`, at or after the
/// first that holds `after`.
fn code(text: &str, after: &str, mark: &str, key: &str) -> Result<f64, String> {
    let from = text.find(after).ok_or(format!("no `{after}`"))?;
    let line = text[from..].lines().find(|line| line.contains(mark));
    let line = line.ok_or(format!("no `{mark}` after `{after}`"))?;
    let value = line
        .split(&format!(" {key}=\""))
        .nth(1)
        .and_then(|rest| rest.split('"').next());
    value
        .and_then(|value| value.parse().ok())
        .ok_or(format!("no `{key}` in `{line}`"))
}

pub fn codes_of_version_4(_: &Input) -> Results {
    let text = written("4.3", 35.0)?;
    let rounds = text.find("<GPN").ok_or("no pattern")?;
    let straight = text[rounds..].find(" G=\"").ok_or("no heading")? + rounds;
    let start = text[..straight].rfind('\n').ok_or("no line")?;
    let (rounds, straights) = (&text[rounds..start], &text[start..]);
    let points: Vec<&str> = straights
        .lines()
        .filter(|line| line.contains("<PNT"))
        .take(2)
        .collect();
    let point = |index: usize| code(points[index], "<PNT", "<PNT", "A");
    let middle = rounds
        .lines()
        .filter(|line| line.contains("<PNT"))
        .nth(1)
        .ok_or("no point")?;
    let codes = [
        ("field", code(&text, "<PLN", "<PLN", "A")),
        ("treatment_zone", code(&text, "<TZN", "<PLN", "A")),
        ("obstacle", code(&text, "<PLN", "B=\"obstacle\"", "A")),
        ("exterior", code(&text, "<LSG", "<LSG", "A")),
        ("interior", code(&text, "</LSG", "<LSG", "A")),
        ("guidance_line", code(straights, "<LSG", "<LSG", "A")),
        ("field_access", code(&text, "<PFD", "B=\"Entrance\"", "A")),
        ("obstacle_point", code(&text, "<PFD", "B=\"head\"", "A")),
        ("reference_a", point(0)),
        ("reference_b", point(1)),
        ("guidance_point", code(middle, "<PNT", "<PNT", "A")),
        ("a_b", code(straights, "<GPN", "<GPN", "C")),
        ("curve", code(rounds, "<GPN", "<GPN", "C")),
        ("no_propagation", code(straights, "<GPN", "<GPN", "E")),
        ("extended", code(straights, "<GPN", "<GPN", "F")),
        ("not_extended", code(rounds, "<GPN", "<GPN", "F")),
        ("desktop", code(straights, "<GPN", "<GPN", "I")),
    ];
    let codes = codes.map(|(key, code)| Ok((key.to_owned(), Got::Number(code?))));
    codes.into_iter().collect()
}

pub fn codes_of_version_3(_: &Input) -> Results {
    let text = written("3.3", 35.0)?;
    let count = |tag: &str| Got::Number(text.matches(tag).count() as f64);
    let (major, minor) = (
        code(&text, "<ISO", "<ISO", "VersionMajor")?,
        code(&text, "<ISO", "<ISO", "VersionMinor")?,
    );
    let kinds: BTreeMap<String, usize> = text
        .lines()
        .filter(|line| line.contains("<PNT"))
        .map(|line| (line.split('"').nth(1).unwrap_or_default().to_owned(), 1))
        .collect();
    let only = kinds
        .keys()
        .next()
        .filter(|_| kinds.len() == 1)
        .ok_or("points of many types")?;
    Ok(BTreeMap::from([
        ("version".to_owned(), Got::Word(format!("{major}.{minor}"))),
        ("groups".to_owned(), count("<GGP")),
        ("patterns".to_owned(), count("<GPN")),
        (
            "line_type".to_owned(),
            Got::Number(code(&text, "<PFD", " B=\"feed along 1\"", "A")?),
        ),
        (
            "point_type".to_owned(),
            Got::Number(only.parse().map_err(|_| "no number")?),
        ),
    ]))
}

pub fn longest_name(_: &Input) -> Results {
    let text = written("4.3", 35.0)?;
    let names = text.split(" B=\"").chain(text.split(" C=\"")).skip(1);
    let letters = names
        .filter_map(|rest| Some(rest.split('"').next()?.chars().count()))
        .max();
    let letters = letters.ok_or("no name")? as f64;
    Ok(BTreeMap::from([(
        "letters".to_owned(),
        Got::Number(letters),
    )]))
}

pub fn setpoint(input: &Input) -> Results {
    let text = written("4.3", number(input, "rate_g_per_m2")?)?;
    let last = text.rfind("<PDV").ok_or("no value")?;
    let index = code(&text[last..], "<PDV", "<PDV", "A")?;
    let value = code(&text[last..], "<PDV", "<PDV", "B")?;
    Ok(BTreeMap::from([
        ("index".to_owned(), Got::Number(index)),
        ("value".to_owned(), Got::Number(value)),
    ]))
}
