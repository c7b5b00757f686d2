//! The shapes of a `.shp`: its header and its records, each count held against the bytes that are
//! there before anything is made of it.

use crate::fault::Fault;
use crate::found::fault;
use crate::found::tally::Tally;
use crate::space::Xy;

/// The header of a shapefile, bytes.
const HEADER: usize = 100;
/// The header of a record, bytes.
const RECORD_HEADER: usize = 8;
/// Code and version that every shapefile begins with.
const FILE_CODE: i32 = 9994;
const VERSION: i32 = 1000;

/// Bytes that are read front to back; what is not there is `None`.
struct Bytes<'a>(&'a [u8]);

impl<'a> Bytes<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }

    fn four(&mut self) -> Option<[u8; 4]> {
        self.take(4)?.try_into().ok()
    }

    fn little(&mut self) -> Option<i32> {
        self.four().map(i32::from_le_bytes)
    }

    fn big(&mut self) -> Option<i32> {
        self.four().map(i32::from_be_bytes)
    }

    fn double(&mut self) -> Option<f64> {
        Some(f64::from_le_bytes(self.take(8)?.try_into().ok()?))
    }

    fn point(&mut self) -> Option<Xy> {
        let (x, y) = (self.double()?, self.double()?);
        Some(Xy { x, y })
    }
}

/// What a record holds, in the coordinates of the file.
pub(super) enum Record {
    Empty,
    Points(Vec<Xy>),
    Lines(Vec<Vec<Xy>>),
    Rings(Vec<Vec<Xy>>),
}

/// The kinds of shape, without their heights and measures, which are not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Empty,
    Point,
    Lines,
    Rings,
    Points,
}

impl Kind {
    fn of(code: i32) -> Result<Self, String> {
        match code {
            0 => Ok(Self::Empty),
            1 | 11 | 21 => Ok(Self::Point),
            3 | 13 | 23 => Ok(Self::Lines),
            5 | 15 | 25 => Ok(Self::Rings),
            8 | 18 | 28 => Ok(Self::Points),
            31 => Err(
                "holds surfaces (MultiPatch), which are not read; save it as polygons".to_owned(),
            ),
            _ => Err(format!(
                "has the shape type {code}, which there is none of; save the file again"
            )),
        }
    }
}

/// The header: its kind of shape, and that it does not claim more than there is.
pub(super) fn header(shp: &[u8]) -> Result<i32, String> {
    let short = || {
        format!(
            "has {} bytes, fewer than the {HEADER} of a shapefile's header; copy it again",
            shp.len()
        )
    };
    let mut bytes = Bytes(shp.get(..HEADER).ok_or_else(short)?);
    let code = bytes.big().ok_or_else(short)?;
    bytes.take(20).ok_or_else(short)?;
    let words = bytes.big().ok_or_else(short)?;
    let (version, shape_type) = (bytes.little(), bytes.little());
    if code != FILE_CODE {
        return Err("is no shapefile, though its name says so; save or copy it again".to_owned());
    }
    if version != Some(VERSION) {
        return Err(
            "is of a version of the shapefile that there is none of; save it again".to_owned(),
        );
    }
    let claimed = usize::try_from(words)
        .ok()
        .and_then(|words| words.checked_mul(2));
    if claimed != Some(shp.len()) {
        return Err(format!(
            "says that it has {} bytes, but has {}; copy or save it again",
            i64::from(words) * 2,
            shp.len()
        ));
    }
    let shape_type = shape_type.ok_or_else(short)?;
    Kind::of(shape_type)?;
    Ok(shape_type)
}

/// All records, each held against the bytes that are there.
pub(super) fn records(file: &str, shp: &[u8], shape_type: i32) -> Result<Vec<Record>, Fault> {
    let mut bytes = Bytes(shp.get(HEADER..).unwrap_or_default());
    let (mut records, mut tally) = (Vec::new(), Tally::default());
    while !bytes.0.is_empty() {
        let place = format!("record {}", records.len() + 1);
        let wrong = |text: &str| fault(file, &place, text);
        let cut_off = "is cut off; copy or save the file again";
        if bytes.0.len() < RECORD_HEADER {
            return Err(wrong(cut_off));
        }
        let _number = bytes.big();
        let length = bytes
            .big()
            .and_then(|words| usize::try_from(words).ok()?.checked_mul(2))
            .ok_or_else(|| wrong("says that it is less than nothing long; save the file again"))?;
        let there = bytes.0.len();
        let content = bytes.take(length).ok_or_else(|| {
            let text = format!(
                "says that it is {length} bytes long, but {there} are left; copy or save the file \
                 again"
            );
            wrong(&text)
        })?;
        let record = shape(content, shape_type).map_err(|text| wrong(&text))?;
        let (things, positions) = match &record {
            Record::Empty => (1, 0),
            Record::Points(points) => (points.len(), points.len()),
            Record::Lines(runs) => (runs.len(), runs.iter().map(Vec::len).sum()),
            Record::Rings(runs) => (1, runs.iter().map(Vec::len).sum()),
        };
        let counted = tally
            .things(things)
            .and_then(|()| tally.positions(positions));
        counted.map_err(|text| fault(file, "", text))?;
        records.push(record);
    }
    Ok(records)
}

/// The shape of one record.
fn shape(content: &[u8], of_file: i32) -> Result<Record, String> {
    let cut_off = || "holds fewer bytes than its shape needs; save the file again".to_owned();
    let mut bytes = Bytes(content);
    let code = bytes.little().ok_or_else(cut_off)?;
    let kind = Kind::of(code)?;
    if kind == Kind::Empty {
        return Ok(Record::Empty);
    }
    if code != of_file {
        return Err(format!(
            "has the shape type {code} in a file of type {of_file}; save the file again"
        ));
    }
    if kind == Kind::Point {
        return Ok(Record::Points(vec![bytes.point().ok_or_else(cut_off)?]));
    }
    bytes.take(32).ok_or_else(cut_off)?;
    let mut count = || -> Result<usize, String> {
        let count = bytes.little().ok_or_else(cut_off)?;
        usize::try_from(count)
            .map_err(|_| format!("counts {count} of something; save the file again"))
    };
    if kind == Kind::Points {
        let points = count()?;
        return Ok(Record::Points(points_of(&mut bytes, points)?));
    }
    let (n_parts, n_points) = (count()?, count()?);
    // Asked first: a false count must not become a list.
    let needed = n_parts
        .checked_mul(4)
        .and_then(|parts| n_points.checked_mul(16)?.checked_add(parts));
    if needed.is_none_or(|needed| needed > bytes.0.len()) {
        return Err(format!(
            "says that it has {n_parts} parts and {n_points} points, but is too short for them; \
             save the file again"
        ));
    }
    let mut starts = Vec::with_capacity(n_parts + 1);
    for _ in 0..n_parts {
        let start = bytes.little().and_then(|start| usize::try_from(start).ok());
        starts.push(start.unwrap_or(usize::MAX));
    }
    starts.push(n_points);
    let is_in_order = starts.first() == Some(&0) && starts.windows(2).all(|pair| pair[0] < pair[1]);
    if !is_in_order {
        return Err("has parts that do not follow each other; save the file again".to_owned());
    }
    let points = points_of(&mut bytes, n_points)?;
    let parts = starts
        .windows(2)
        .filter_map(|pair| points.get(pair[0]..pair[1]))
        .map(<[Xy]>::to_vec)
        .collect();
    Ok(if kind == Kind::Lines {
        Record::Lines(parts)
    } else {
        Record::Rings(parts)
    })
}

fn points_of(bytes: &mut Bytes<'_>, count: usize) -> Result<Vec<Xy>, String> {
    let room = bytes.0.len() / 16;
    if count > room {
        return Err(format!(
            "says that it has {count} points, but has room for {room}; save the file again"
        ));
    }
    Ok((0..count).map_while(|_| bytes.point()).collect())
}

impl Record {
    pub(super) fn can_be_degrees(&self) -> bool {
        let is_one = |at: &Xy| at.x.abs() <= 180.0 && at.y.abs() <= 90.0 || at.x.is_nan();
        match self {
            Self::Empty => true,
            Self::Points(points) => points.iter().all(is_one),
            Self::Lines(runs) | Self::Rings(runs) => runs.iter().flatten().all(is_one),
        }
    }
}
