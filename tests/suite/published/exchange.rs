//! KML and GPX: what our readers take, and what our writers write, the latter read by others'
//! readers or taken apart as text.

use std::collections::BTreeMap;
use std::path::Path;

use kml::types::{AltitudeMode, Geometry};
use kml::{Kml, KmlReader};
use swardlane::fault::Fault;
use swardlane::found::{self, Found};
use swardlane::plan::{Plan, plan};

use super::drivers::{Got, Input, Results, number, numbers, word};
use super::written::pitch_at;

/// Whether a reader takes a file and has nothing to remark.
fn valid(read: Result<Found, Fault>) -> Results {
    let is_valid = read.is_ok_and(|found| found.remarks.is_empty());
    Ok(BTreeMap::from([("valid".to_owned(), Got::Yes(is_valid))]))
}

fn read_kml(inside: &str) -> Results {
    let text = format!("<kml xmlns=\"http://www.opengis.net/kml/2.2\">{inside}</kml>");
    valid(found::kml::read("row", text.as_bytes()))
}

fn read_gpx(attributes: &str, inside: &str) -> Results {
    let text =
        format!("<gpx {attributes} xmlns=\"http://www.topografix.com/GPX/1/1\">{inside}</gpx>");
    valid(found::gpx::read("row", text.as_bytes()))
}

const ROOT: &str = "version='1.1' creator='a logger'";

pub fn kml_line(input: &Input) -> Results {
    let coordinates = word(input, "coordinates")?;
    read_kml(&format!(
        "<Placemark><LineString><coordinates>{coordinates}</coordinates></LineString></Placemark>"
    ))
}

fn kml_polygon(input: &Input, boundary: &str) -> Results {
    let coordinates = word(input, "coordinates")?;
    read_kml(&format!(
        "<Placemark><Polygon><{boundary}><LinearRing><coordinates>{coordinates}</coordinates>\
         </LinearRing></{boundary}></Polygon></Placemark>"
    ))
}

pub fn kml_ring(input: &Input) -> Results {
    kml_polygon(input, "outerBoundaryIs")
}

pub fn kml_inner_alone(input: &Input) -> Results {
    kml_polygon(input, "innerBoundaryIs")
}

pub fn kml_tessellated(input: &Input) -> Results {
    let mode = word(input, "altitude_mode")?;
    read_kml(&format!(
        "<Placemark><LineString><tessellate>1</tessellate><altitudeMode>{mode}</altitudeMode>\
         <coordinates>0,0 1,1</coordinates></LineString></Placemark>"
    ))
}

pub fn kml_colour(input: &Input) -> Results {
    let colour = word(input, "colour")?;
    read_kml(&format!(
        "<Document><Style><LineStyle><color>{colour}</color></LineStyle></Style></Document>"
    ))
}

pub fn gpx_waypoint(input: &Input) -> Results {
    let (lat, lon) = (number(input, "lat_deg")?, number(input, "lon_deg")?);
    read_gpx(ROOT, &format!("<wpt lat=\"{lat:?}\" lon=\"{lon:?}\"/>"))
}

pub fn gpx_file_order(input: &Input) -> Results {
    let inside: String = word(input, "order")?
        .split(' ')
        .map(|name| match name {
            "wpt" => "<wpt lat='1' lon='2'/>".to_owned(),
            // A route without points would be remarked.
            "rte" => "<rte><rtept lat='1' lon='2'/><rtept lat='3' lon='4'/></rte>".to_owned(),
            _ => format!("<{name}/>"),
        })
        .collect();
    read_gpx(ROOT, &inside)
}

pub fn gpx_root(input: &Input) -> Results {
    read_gpx(word(input, "attributes")?, "")
}

pub fn gpx_point_order(input: &Input) -> Results {
    let inside: String = word(input, "order")?
        .split(' ')
        .map(|name| match name {
            "ele" => "<ele>1</ele>",
            "time" => "<time>2026-06-02T07:30:00Z</time>",
            _ => "<name>gate</name>",
        })
        .collect();
    read_gpx(ROOT, &format!("<wpt lat='1' lon='2'>{inside}</wpt>"))
}

pub fn gpx_time(input: &Input) -> Results {
    let time = word(input, "time")?;
    read_gpx(
        ROOT,
        &format!("<wpt lat='1' lon='2'><time>{time}</time></wpt>"),
    )
}

/// A guidance file of a plan, as text.
fn file(plan: &Plan, name: &str) -> Result<String, String> {
    let files = swardlane::formats::guidance::files(plan).map_err(|error| error.to_string())?;
    let found = files.into_iter().find(|(path, _)| path.ends_with(name));
    let (_, bytes) = found.ok_or_else(|| format!("no {name} is written"))?;
    String::from_utf8(bytes).map_err(|error| error.to_string())
}

fn planned(job: &str) -> Result<Plan, String> {
    let job = swardlane::job::read("job.toml", job, |_| unreachable!());
    plan(&job.map_err(|faults| faults.to_string())?).map_err(|faults| faults.to_string())
}

fn sample(input: &Input) -> Result<Plan, String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-pitches")
        .join(word(input, "sample")?);
    let job = swardlane::job::load(&folder).map_err(|faults| faults.to_string())?;
    plan(&job).map_err(|faults| faults.to_string())
}

/// What a file holds by the crate's own reader: good enough for files of our own.
fn by_the_crate(text: &str) -> Result<Vec<Kml>, String> {
    let root = KmlReader::<_, f64>::from_string(text)
        .read()
        .map_err(|error| error.to_string())?;
    let mut flat = Vec::new();
    let mut open = vec![root];
    while let Some(one) = open.pop() {
        match one {
            Kml::KmlDocument(document) => open.extend(document.elements),
            Kml::Document { elements, .. } => open.extend(elements),
            Kml::Folder(folder) => open.extend(folder.elements),
            other => flat.push(other),
        }
    }
    Ok(flat)
}

/// Every shape of every placemark, none within another.
fn shapes(text: &str) -> Result<Vec<Geometry>, String> {
    let mut shapes = Vec::new();
    for one in by_the_crate(text)? {
        let Kml::Placemark(placemark) = one else {
            continue;
        };
        let mut open: Vec<Geometry> = placemark.geometry.into_iter().collect();
        while let Some(shape) = open.pop() {
            match shape {
                Geometry::MultiGeometry(many) => open.extend(many.geometries),
                other => shapes.push(other),
            }
        }
    }
    Ok(shapes)
}

pub fn kml_mean_position(input: &Input) -> Results {
    let job = pitch_at(
        number(input, "lon_deg")?,
        number(input, "lat_deg")?,
        "along",
    );
    let text = file(&planned(&job)?, "passes.kml")?;
    let (mut sum, mut count, mut values) = ((0.0, 0.0), 0.0, 2.0_f64);
    for shape in shapes(&text)? {
        let Geometry::LineString(line) = shape else {
            continue;
        };
        for at in line.coords {
            sum = (sum.0 + at.x, sum.1 + at.y);
            count += 1.0;
            values = if at.z.is_some() { 3.0 } else { values };
        }
    }
    numbers([
        ("first_deg", sum.0 / count),
        ("second_deg", sum.1 / count),
        ("values_in_a_position", values),
    ])
}

pub fn kml_rings(input: &Input) -> Results {
    let text = file(&sample(input)?, "passes.kml")?;
    let (mut closed, mut least, mut anticlockwise) = (true, usize::MAX, true);
    let shapes = shapes(&text)?;
    if !shapes
        .iter()
        .any(|shape| matches!(shape, Geometry::Polygon(_)))
    {
        return Err("no polygon is written".to_owned());
    }
    for shape in shapes {
        let Geometry::Polygon(polygon) = shape else {
            continue;
        };
        for ring in std::iter::once(&polygon.outer).chain(&polygon.inner) {
            closed &= ring.coords.first() == ring.coords.last();
            least = least.min(ring.coords.len());
        }
        let outer = &polygon.outer.coords;
        let (x, y) = (outer[0].x, outer[0].y);
        let twice: f64 = outer
            .windows(2)
            .map(|pair| (pair[0].x - x) * (pair[1].y - y) - (pair[1].x - x) * (pair[0].y - y))
            .sum();
        anticlockwise &= twice > 0.0;
    }
    let exterior = if anticlockwise {
        "anticlockwise"
    } else {
        "clockwise"
    };
    Ok(BTreeMap::from([
        ("closed".to_owned(), Got::Yes(closed)),
        ("four_or_more".to_owned(), Got::Yes(least >= 4)),
        ("exterior".to_owned(), Got::Word(exterior.to_owned())),
    ]))
}

pub fn kml_lines(input: &Input) -> Results {
    let text = file(&sample(input)?, "passes.kml")?;
    let (mut tessellate, mut modes) = (true, Vec::new());
    for shape in shapes(&text)? {
        if let Geometry::LineString(line) = shape {
            tessellate &= line.tessellate;
            modes.push(line.altitude_mode);
        }
    }
    let clamped = !modes.is_empty()
        && modes
            .iter()
            .all(|mode| *mode == AltitudeMode::ClampToGround);
    let mode = if clamped { "clampToGround" } else { "another" };
    Ok(BTreeMap::from([
        ("tessellate".to_owned(), Got::Yes(tessellate)),
        ("altitude_mode".to_owned(), Got::Word(mode.to_owned())),
    ]))
}

pub fn kml_ink(_: &Input) -> Results {
    let text = file(&planned(&pitch_at(12.0, 50.0, "along"))?, "passes.kml")?;
    let style = by_the_crate(&text)?.into_iter().find_map(|one| match one {
        Kml::Style(style) if style.id.as_deref() == Some("pass") => style.line,
        _ => None,
    });
    let ink = style.ok_or("no style of passes")?.color;
    let byte = |at: usize| {
        let pair = ink.get(at..at + 2).ok_or("a colour of too few digits")?;
        u8::from_str_radix(pair, 16).map_err(|error| error.to_string())
    };
    let [alpha, blue, green, red] = [byte(0)?, byte(2)?, byte(4)?, byte(6)?];
    numbers([
        ("alpha", alpha.into()),
        ("red", red.into()),
        ("green", green.into()),
        ("blue", blue.into()),
    ])
}

pub fn gpx_longitudes(input: &Input) -> Results {
    let text = file(
        &planned(&pitch_at(number(input, "lon_deg")?, -17.0, "across"))?,
        "route.gpx",
    )?;
    let gpx = gpx::read(text.as_bytes()).map_err(|error| error.to_string())?;
    let (mut least, mut greatest, mut widest) = (f64::INFINITY, f64::NEG_INFINITY, 0.0_f64);
    for segment in gpx.tracks.iter().flat_map(|track| &track.segments) {
        let lons: Vec<f64> = segment
            .points
            .iter()
            .map(|point| point.point().x())
            .collect();
        for &lon in &lons {
            (least, greatest) = (least.min(lon), greatest.max(lon));
        }
        for pair in lons.windows(2) {
            widest = widest.max((pair[1] - pair[0]).abs());
        }
    }
    numbers([
        ("least_deg", least),
        ("greatest_deg", greatest),
        ("widest_step_deg_below", widest.ceil()),
    ])
}

pub fn gpx_written(_: &Input) -> Results {
    let text = file(&planned(&pitch_at(12.0, 50.0, "along"))?, "route.gpx")?;
    let root = text
        .split("<gpx ")
        .nth(1)
        .and_then(|rest| rest.split('>').next());
    let root = root.ok_or("no root")?;
    let value = |name: &str| {
        let rest = root.split(&format!("{name}=\"")).nth(1)?;
        rest.split('"').next().map(str::to_owned)
    };
    // Two spaces before a tag: a child of the root.
    let mut order: Vec<&str> = text
        .lines()
        .filter_map(|line| line.strip_prefix("  <"))
        .filter_map(|line| line.split([' ', '>']).next())
        .filter(|name| !name.starts_with('/'))
        .collect();
    order.dedup();
    Ok(BTreeMap::from([
        (
            "version".to_owned(),
            Got::Word(value("version").unwrap_or_default()),
        ),
        ("order".to_owned(), Got::Word(order.join(" "))),
        (
            "has_creator".to_owned(),
            Got::Yes(value("creator").is_some_and(|name| !name.is_empty())),
        ),
    ]))
}
