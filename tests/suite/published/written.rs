//! What the built command writes and reads: the rules of RFC 7946 on its files.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

use super::drivers::{Got, Input, Results, number, numbers, word};

/// A folder with a job in it, and what the command says to it.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new(job: &str, ground: Option<&str>) -> Result<Self, String> {
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        let bench = Self { folder };
        bench.put("job.toml", job)?;
        if let Some(ground) = ground {
            bench.put("ground.geojson", ground)?;
        }
        Ok(bench)
    }

    fn put(&self, name: &str, text: &str) -> Result<(), String> {
        std::fs::write(self.folder.path().join(name), text).map_err(|error| error.to_string())
    }

    fn check(&self) -> Result<Output, String> {
        run(&["check", &self.folder.path().display().to_string()])
    }

    fn plan(&self) -> Result<PathBuf, String> {
        plan(self.folder.path(), &self.folder.path().join("out"))
    }
}

fn run(arguments: &[&str]) -> Result<Output, String> {
    Command::new(env!("CARGO_BIN_EXE_swardlane"))
        .args(arguments)
        .output()
        .map_err(|error| error.to_string())
}

/// Plans a job into `out` and says where its data lie.
fn plan(job: &Path, out: &Path) -> Result<PathBuf, String> {
    let job = job.display().to_string();
    let done = run(&[
        "plan",
        &job,
        "--out",
        &out.display().to_string(),
        "--only",
        "data",
        "--quiet",
        "--no-route",
    ])?;
    if !done.status.success() {
        return Err(String::from_utf8_lossy(&done.stderr).into_owned());
    }
    Ok(out.to_owned())
}

fn sample(input: &Input) -> Result<(tempfile::TempDir, PathBuf), String> {
    let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
    let job = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-pitches")
        .join(word(input, "sample")?);
    let out = plan(&job, &folder.path().join("out"))?;
    Ok((folder, out))
}

fn json(path: &Path) -> Result<Value, String> {
    let text = std::fs::read_to_string(path).map_err(|error| format!("{path:?}: {error}"))?;
    serde_json::from_str(&text).map_err(|error| format!("{path:?}: {error}"))
}

/// Every GeoJSON file below a folder of output, in the order of the names.
fn geojson_files(out: &Path) -> Result<Vec<Value>, String> {
    let summary = json(&out.join("summary.json"))?;
    let files: Vec<Value> = summary["files"]
        .as_array()
        .ok_or("no list of files")?
        .iter()
        .filter_map(Value::as_str)
        .filter(|name| name.ends_with(".geojson"))
        .map(|name| json(&out.join(name)))
        .collect::<Result<_, _>>()?;
    if files.len() < 5 {
        return Err(format!("only {} GeoJSON files were written", files.len()));
    }
    Ok(files)
}

fn features(collection: &Value) -> Result<&Vec<Value>, String> {
    collection["features"]
        .as_array()
        .ok_or_else(|| "no features".to_owned())
}

/// Every position below a `coordinates`.
fn positions(coordinates: &Value) -> Vec<&Vec<Value>> {
    match coordinates.as_array() {
        Some(position) if position.first().is_some_and(Value::is_number) => vec![position],
        Some(parts) => parts.iter().flat_map(positions).collect(),
        None => Vec::new(),
    }
}

/// A job of one mown pitch at a place, due north.
pub(super) fn pitch_at(lon_deg: f64, lat_deg: f64, direction: &str) -> String {
    format!(
        "name = \"a pitch at a place\"\n\
         [pitch]\nlength_m = 105.0\nwidth_m = 68.0\n\
         centre = {{ lat_deg = {lat_deg:?}, lon_deg = {lon_deg:?} }}\nbearing_deg = 0.0\n\
         run_off_m = {{ touch = 4.0, goal = 4.0 }}\n\
         [implement.tool]\nworking_width_m = 2.0\nspeed_km_h = 5.0\n\
         [[operation]]\nid = \"work\"\ntask = \"mow\"\nimplement = \"tool\"\n\
         directions = [\"{direction}\"]\n"
    )
}

/// A job whose outline comes from its ground file.
const SURVEYED: &str = "name = \"a surveyed pitch\"\n\
     [pitch]\nrun_off_m = { touch = 4.0, goal = 4.0 }\n\
     [ground]\nfile = \"ground.geojson\"\n\
     [implement.tool]\nworking_width_m = 2.0\nspeed_km_h = 5.0\n\
     [[operation]]\nid = \"work\"\ntask = \"mow\"\nimplement = \"tool\"\n";

fn collection(features: &[(&str, &[(f64, f64)])]) -> String {
    let features: Vec<Value> = features
        .iter()
        .map(|(role, ring)| {
            let ring: Vec<[f64; 2]> = ring.iter().map(|&(x, y)| [x, y]).collect();
            serde_json::json!({
                "type": "Feature",
                "properties": { "role": role, "name": role },
                "geometry": { "type": "Polygon", "coordinates": [ring] }
            })
        })
        .collect();
    serde_json::json!({ "type": "FeatureCollection", "features": features }).to_string()
}

/// About 100 m by 64 m at 0 east, 52 north, anticlockwise.
const OUTLINE: [(f64, f64); 5] = [
    (0.0, 52.0),
    (0.00093, 52.0),
    (0.00093, 52.0009),
    (0.0, 52.0009),
    (0.0, 52.0),
];

pub fn decimals(input: &Input) -> Results {
    let bench = Bench::new(&pitch_at(-3.72, 55.312, "diagonal_left"), None)?;
    let out = bench.plan()?;
    let text =
        std::fs::read_to_string(out.join("passes.geojson")).map_err(|error| error.to_string())?;
    let passes: Value = serde_json::from_str(&text).map_err(|error| error.to_string())?;
    let mut most = 0;
    for feature in features(&passes)? {
        for position in positions(&feature["geometry"]["coordinates"]) {
            for number in position {
                let digits = number.to_string();
                most = most.max(digits.split('.').nth(1).map_or(0, str::len));
            }
        }
    }
    // How far that last decimal is on the ground, from the frame itself.
    let mut frame_input = input.clone();
    frame_input.insert("lat_deg".to_owned(), toml::Value::Float(46.5));
    let step = super::formulas::degrees_on_the_ground(&frame_input)?;
    let Got::Number(north_m) = step["north_m"] else {
        return Err("no number".to_owned());
    };
    numbers([("decimals", most as f64), ("about_m", north_m)])
}

pub fn order_of_a_position(input: &Input) -> Results {
    let job = pitch_at(
        number(input, "lon_deg")?,
        number(input, "lat_deg")?,
        "across",
    );
    let bench = Bench::new(&job, None)?;
    let out = bench.plan()?;
    let mut sums = [0.0; 2];
    let mut seen = 0;
    let mut values = 0;
    for file in geojson_files(&out)? {
        for feature in features(&file)? {
            for position in positions(&feature["geometry"]["coordinates"]) {
                seen += 1;
                values = values.max(position.len());
                for (sum, value) in sums.iter_mut().zip(position) {
                    *sum += value.as_f64().ok_or("not a number")?;
                }
            }
        }
    }
    let seen = f64::from(seen);
    numbers([
        ("first_deg", sums[0] / seen),
        ("second_deg", sums[1] / seen),
        ("values_in_a_position", values as f64),
    ])
}

pub fn swapped_order_read(input: &Input) -> Results {
    let (x, y) = (number(input, "first_deg")?, number(input, "second_deg")?);
    let ring = OUTLINE.map(|(dx, dy)| (x + dx, y + dy - 52.0));
    let bench = Bench::new(SURVEYED, Some(&collection(&[("pitch", &ring)])))?;
    numbers([("exit_code", code(&bench.check()?)?)])
}

fn code(output: &Output) -> Result<f64, String> {
    output
        .status
        .code()
        .map(f64::from)
        .ok_or_else(|| "killed".to_owned())
}

/// Twice the signed area of a ring: positive where it runs anticlockwise.
fn doubled_area(ring: &[(f64, f64)]) -> f64 {
    let (x0, y0) = ring[0];
    ring.windows(2)
        .map(|edge| (edge[0].0 - x0) * (edge[1].1 - y0) - (edge[1].0 - x0) * (edge[0].1 - y0))
        .sum()
}

fn sense(rings: &[Vec<(f64, f64)>]) -> String {
    if rings.is_empty() {
        "none written".to_owned()
    } else if rings.iter().all(|ring| doubled_area(ring) > 0.0) {
        "anticlockwise".to_owned()
    } else if rings.iter().all(|ring| doubled_area(ring) < 0.0) {
        "clockwise".to_owned()
    } else {
        "both".to_owned()
    }
}

pub fn rings(input: &Input) -> Results {
    let (_folder, out) = sample(input)?;
    let (mut exteriors, mut holes) = (Vec::new(), Vec::new());
    for file in geojson_files(&out)? {
        for feature in features(&file)? {
            let geometry = &feature["geometry"];
            let polygons = match geometry["type"].as_str() {
                Some("Polygon") => vec![geometry["coordinates"].clone()],
                Some("MultiPolygon") => geometry["coordinates"]
                    .as_array()
                    .cloned()
                    .unwrap_or_default(),
                _ => continue,
            };
            for polygon in &polygons {
                for (index, ring) in polygon.as_array().ok_or("no rings")?.iter().enumerate() {
                    let ring: Vec<(f64, f64)> = positions(ring)
                        .iter()
                        .filter_map(|at| Some((at[0].as_f64()?, at[1].as_f64()?)))
                        .collect();
                    if index == 0 {
                        &mut exteriors
                    } else {
                        &mut holes
                    }
                    .push(ring);
                }
            }
        }
    }
    let all = || exteriors.iter().chain(&holes);
    if all().any(|ring| ring.len() < 4) {
        return Err("a ring of fewer than four positions was written".to_owned());
    }
    // The least ring that is read: of one, two, three … positions, closed.
    let least = (1..=5)
        .find_map(|count| {
            let mut ring = OUTLINE[..count].to_vec();
            ring[count - 1] = ring[0];
            let bench = Bench::new(
                SURVEYED,
                Some(&collection(&[("pitch", &OUTLINE), ("zone", &ring)])),
            );
            match bench.and_then(|bench| bench.check()) {
                Ok(output) if output.status.success() => Some(Ok(count as f64)),
                Ok(_) => None,
                Err(error) => Some(Err(error)),
            }
        })
        .ok_or("no ring was read")??;
    let mut results = numbers([("positions_at_least", least)])?;
    let closed = all().all(|ring| ring.first() == ring.last());
    results.insert("closed".to_owned(), Got::Yes(closed));
    results.insert("exterior".to_owned(), Got::Word(sense(&exteriors)));
    results.insert("hole".to_owned(), Got::Word(sense(&holes)));
    Ok(results)
}

pub fn windings_read(_: &Input) -> Results {
    let mut reversed = OUTLINE;
    reversed.reverse();
    let mut areas = Vec::new();
    for ring in [OUTLINE, reversed] {
        let bench = Bench::new(SURVEYED, Some(&collection(&[("pitch", &ring)])))?;
        let summary = json(&bench.plan()?.join("summary.json"))?;
        areas.push(summary["pitch"]["area_m2"].as_f64().ok_or("no area")?);
    }
    let mut results = numbers([("exit_code", 0.0)])?;
    results.insert("same_area".to_owned(), Got::Yes(areas[0] == areas[1]));
    Ok(results)
}

pub fn antimeridian(input: &Input) -> Results {
    let job = pitch_at(number(input, "lon_deg")?, -17.0, "across");
    let bench = Bench::new(&job, None)?;
    let out = bench.plan()?;
    let mut results = numbers([])?;
    let mut widest_deg: f64 = 0.0;
    for file in geojson_files(&out)? {
        for feature in features(&file)? {
            let (properties, geometry) = (&feature["properties"], &feature["geometry"]);
            let kind = geometry["type"].as_str().unwrap_or_default();
            if properties["role"] == "pitch" {
                results.insert("outline".to_owned(), Got::Word(kind.to_owned()));
            } else if properties["pass"] == 20 {
                results.insert("pass_across".to_owned(), Got::Word(kind.to_owned()));
            }
            let whole = vec![geometry["coordinates"].clone()];
            let parts = match geometry["coordinates"].as_array() {
                Some(parts) if kind.starts_with("Multi") => parts,
                _ => &whole,
            };
            for part in parts {
                let lon: Vec<f64> = positions(part)
                    .iter()
                    .filter_map(|at| at[0].as_f64())
                    .collect();
                let least = lon.iter().copied().fold(f64::INFINITY, f64::min);
                let greatest = lon.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                widest_deg = widest_deg.max(greatest - least);
            }
        }
    }
    results.insert(
        "widest_part_deg_below".to_owned(),
        Got::Number(widest_deg.ceil()),
    );
    Ok(results)
}

pub fn crs_members(input: &Input) -> Results {
    let (_folder, out) = sample(input)?;
    let any = geojson_files(&out)?
        .iter()
        .any(|file| file.get("crs").is_some());
    Ok([("crs_member".to_owned(), Got::Yes(any))].into())
}
