//! What standards say of files that others read, held against the written bytes, and their printed
//! examples, read by our own reader.

use swardlane::found::{self, Bundle};
use swardlane::job;
use swardlane::plan::plan;

use super::drivers::{Got, Input, Results, numbers};
use crate::workbench::{GROUND, JOB};

/// The shapefiles of a small job with a tree, a gate and a stand.
fn shapefile(name: &str) -> Result<Vec<u8>, String> {
    let job = job::read("job.toml", JOB, |_| Ok(GROUND.to_owned())).map_err(|e| e.to_string())?;
    let plan = plan(&job).map_err(|error| error.to_string())?;
    let files = swardlane::formats::guidance::files(&plan).map_err(|error| error.to_string())?;
    let wanted = format!("guidance/{name}.shp");
    files
        .into_iter()
        .find(|(name, _)| *name == wanted)
        .map(|(_, bytes)| bytes)
        .ok_or_else(|| format!("{wanted} is not written"))
}

fn big(bytes: &[u8], at: usize) -> Result<f64, String> {
    let four = bytes.get(at..at + 4).and_then(|four| four.try_into().ok());
    four.map(|four| f64::from(i32::from_be_bytes(four)))
        .ok_or_else(|| format!("no byte {at}"))
}

fn little(bytes: &[u8], at: usize) -> Result<i32, String> {
    let four = bytes.get(at..at + 4).and_then(|four| four.try_into().ok());
    four.map(i32::from_le_bytes)
        .ok_or_else(|| format!("no byte {at}"))
}

pub fn shapefile_headers(_: &Input) -> Results {
    let bytes = shapefile("passes")?;
    numbers([
        ("file_code", big(&bytes, 0)?),
        ("version", f64::from(little(&bytes, 28)?)),
        ("bytes_of_a_word", bytes.len() as f64 / big(&bytes, 24)?),
    ])
}

pub fn shapefile_types(_: &Input) -> Results {
    let of = |name: &str| little(&shapefile(name)?, 32).map(f64::from);
    numbers([
        ("polyline", of("passes")?),
        ("polygon", of("ground")?),
        ("point", of("ground-points")?),
    ])
}

pub fn shapefile_rings(_: &Input) -> Results {
    let bytes = shapefile("ground")?;
    let double = |at: usize| -> Result<f64, String> {
        let eight = bytes
            .get(at..at + 8)
            .and_then(|eight| eight.try_into().ok());
        eight
            .map(f64::from_le_bytes)
            .ok_or_else(|| format!("no byte {at}"))
    };
    let (mut senses, mut closed, mut at) = (Vec::new(), true, 100);
    while at < bytes.len() {
        let (parts, points) = (little(&bytes, at + 44)?, little(&bytes, at + 48)?);
        let first = at + 52 + 4 * usize::try_from(parts).map_err(|error| error.to_string())?;
        let ring: Vec<(f64, f64)> = (0..usize::try_from(points).map_err(|e| e.to_string())?)
            .map(|index| Ok((double(first + 16 * index)?, double(first + 16 * index + 8)?)))
            .collect::<Result<_, String>>()?;
        let (x0, y0) = ring[0];
        let twice: f64 = ring
            .windows(2)
            .map(|e| (e[0].0 - x0) * (e[1].1 - y0) - (e[1].0 - x0) * (e[0].1 - y0))
            .sum();
        senses.push(if twice < 0.0 {
            "clockwise"
        } else {
            "anticlockwise"
        });
        closed &= ring.first() == ring.last();
        let words = big(&bytes, at + 4)?;
        at += 8 + 2 * words as usize;
    }
    senses.dedup();
    Ok([
        ("exterior".to_owned(), Got::Word(senses.join(" and "))),
        ("closed".to_owned(), Got::Yes(closed)),
    ]
    .into())
}

/// The two examples of RFC 7946, section 3.1.9.
pub fn cut_examples(_: &Input) -> Results {
    const CUT: &str = r#"{"type":"GeometryCollection","geometries":[
        {"type":"MultiLineString","coordinates":[[[170.0,45.0],[180.0,45.0]],[[-180.0,45.0],[-170.0,45.0]]]},
        {"type":"MultiPolygon","coordinates":[
            [[[180.0,40.0],[180.0,50.0],[170.0,50.0],[170.0,40.0],[180.0,40.0]]],
            [[[-170.0,40.0],[-170.0,50.0],[-180.0,50.0],[-180.0,40.0],[-170.0,40.0]]]]}]}"#;
    let bundle = Bundle {
        file: "cut.geojson".to_owned(),
        main: CUT.as_bytes().to_vec(),
        ..Bundle::default()
    };
    let (_, found) = found::read(bundle).map_err(|fault| fault.to_string())?;
    let positions = found.lines.iter().map(|line| line.positions.len());
    let corners = found
        .areas
        .iter()
        .flat_map(|area| &area.rings)
        .map(Vec::len);
    numbers([
        ("lines", found.lines.len() as f64),
        ("positions_of_the_line", positions.sum::<usize>() as f64),
        ("areas", found.areas.len() as f64),
        ("corners_of_the_area", corners.sum::<usize>() as f64),
    ])
}
