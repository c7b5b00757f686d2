//! Shapefiles (ESRI Shapefile Technical Description, 1998) of any program's: points, lines and
//! polygons, with the names that the table beside them (dBASE III) gives them.
//!
//! The reader is written by hand from the published description. The crate that writes ours asks
//! for as much memory as a record claims, and takes the counts of the table on trust; here every
//! count is held against the bytes that are there before anything is made of it.

use std::collections::BTreeMap;

use super::format::last_name;
use super::tally::Tally;
use super::{Found, FoundArea, FoundLine, FoundPlace, Label, degrees, fault, label, limits, seam};
use crate::fault::Fault;
use crate::ground::frame::NamedCrs;
use crate::job::near;
use crate::space::{Position, Xy};

/// The header of a shapefile, bytes.
const HEADER: usize = 100;
/// The header of a record, bytes.
const RECORD_HEADER: usize = 8;
/// Code and version that every shapefile begins with.
const FILE_CODE: i32 = 9994;
const VERSION: i32 = 1000;
/// A table's header and the description of one of its columns, bytes.
const TABLE_HEADER: usize = 32;
const COLUMN: usize = 32;

/// What lies beside a `.shp`.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Beside<'a> {
    /// The table.
    pub dbf: Option<&'a [u8]>,
    /// The coordinate reference system, as text.
    pub prj: Option<&'a [u8]>,
    /// How the letters of the table are written.
    pub cpg: Option<&'a [u8]>,
}

impl<'a> Beside<'a> {
    /// Those of a bundle's files that belong to a shapefile of that name.
    pub(crate) fn of(file: &str, beside: &'a BTreeMap<String, Vec<u8>>) -> Self {
        let name = last_name(file).to_ascii_lowercase();
        let stem = name
            .rsplit_once('.')
            .map_or(name.as_str(), |(stem, _)| stem);
        let with = |end: &str| beside.get(&format!("{stem}.{end}")).map(Vec::as_slice);
        Self {
            dbf: with("dbf"),
            prj: with("prj"),
            cpg: with("cpg"),
        }
    }
}

/// Reads a shapefile.
///
/// # Errors
/// A [`Fault`] that says what is wrong, and in which record.
pub(crate) fn read(file: &str, shp: &[u8], beside: &Beside<'_>) -> Result<Found, Fault> {
    let wrong = |text: String| fault(file, "", text);
    let shape_type = header(shp).map_err(wrong)?;
    let records = records(file, shp, shape_type)?;
    let mut remarks = Vec::new();
    let labels = labels(beside, records.len(), &mut remarks).map_err(wrong)?;
    let system = System::of(beside.prj, &records).map_err(wrong)?;
    let mut reader = Reader {
        file,
        system,
        found: Found::default(),
        empty: 0,
    };
    for (index, record) in records.iter().enumerate() {
        let label = labels.get(index).cloned().unwrap_or_default();
        reader.record(index + 1, record, &label)?;
    }
    match reader.empty {
        0 => {}
        1 => remarks.push("1 record has no shape and is left out".to_owned()),
        count => remarks.push(format!("{count} records have no shape and are left out")),
    }
    remarks.extend(reader.system.remark());
    reader.found.remarks = remarks;
    Ok(reader.found)
}

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
enum Record {
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
fn header(shp: &[u8]) -> Result<i32, String> {
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
fn records(file: &str, shp: &[u8], shape_type: i32) -> Result<Vec<Record>, Fault> {
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

/// The way from the coordinates of the file to degrees.
enum System {
    /// WGS84 degrees, as its `.prj` says.
    Degrees,
    /// Nothing says so, but they can be degrees.
    TakenAsDegrees,
    /// Another, by PROJ.
    Named { name: String, crs: NamedCrs },
}

impl System {
    fn of(prj: Option<&[u8]>, records: &[Record]) -> Result<Self, String> {
        let Some(prj) = prj else {
            return if records.iter().all(Record::can_be_degrees) {
                Ok(Self::TakenAsDegrees)
            } else {
                Err(
                    "its coordinates are no degrees, and there is no .prj beside it that says of \
                     which system they are; copy that too"
                        .to_owned(),
                )
            };
        };
        let text = std::str::from_utf8(prj).unwrap_or_default();
        let text = text.trim_start_matches('\u{feff}').trim();
        let capitals = text.to_uppercase();
        let is_one = ["GEOGCS[", "GEOGCRS[", "PROJCS[", "PROJCRS["]
            .iter()
            .any(|start| capitals.starts_with(start));
        // An extension may name files to be read.
        if !is_one || prj.len() > limits::PRJ_BYTES.most || capitals.contains("EXTENSION") {
            return Err(
                "its .prj is no plain description of a coordinate reference system; save it again"
                    .to_owned(),
            );
        }
        let is_wgs84 = capitals.contains("WGS_1984") || capitals.contains("WGS 84");
        if capitals.starts_with("GEOG") && is_wgs84 && capitals.contains("\"DEGREE\"") {
            return Ok(Self::Degrees);
        }
        let name = text.split('"').nth(1).unwrap_or_default();
        match NamedCrs::open(text, None) {
            Ok(crs) => Ok(Self::Named {
                name: near::short(name),
                crs,
            }),
            Err(_) => Err(format!(
                "its .prj describes `{}`, which cannot be used; save the file in WGS84 degrees",
                near::short(name)
            )),
        }
    }

    fn position(&self, at: Xy) -> Result<Position, String> {
        degrees::finite(at.x, at.y)?;
        let position = match self {
            Self::Degrees | Self::TakenAsDegrees => Position {
                lat_deg: at.y,
                lon_deg: at.x,
            },
            Self::Named { name, crs } => crs.position(at).map_err(|error| {
                format!(
                    "({}, {}) is no place of `{name}` ({}); save the file in WGS84 degrees",
                    at.x,
                    at.y,
                    near::short(&error.to_string())
                )
            })?,
        };
        degrees::checked(position.lon_deg, position.lat_deg)
    }

    /// What there is to say of how exact the positions are.
    fn remark(&self) -> Option<String> {
        match self {
            Self::Degrees => None,
            Self::TakenAsDegrees => Some(
                "there is no .prj beside it; the coordinates are taken as WGS84 longitude and \
                 latitude"
                    .to_owned(),
            ),
            Self::Named { name, crs } => Some(match crs.accuracy_m() {
                Some(accuracy_m) => format!(
                    "the coordinates are of `{name}`, transformed with an accuracy of {accuracy_m} m"
                ),
                None => format!(
                    "the coordinates are of `{name}`, transformed with an accuracy that is not known"
                ),
            }),
        }
    }
}

impl Record {
    fn can_be_degrees(&self) -> bool {
        let is_one = |at: &Xy| at.x.abs() <= 180.0 && at.y.abs() <= 90.0 || at.x.is_nan();
        match self {
            Self::Empty => true,
            Self::Points(points) => points.iter().all(is_one),
            Self::Lines(runs) | Self::Rings(runs) => runs.iter().flatten().all(is_one),
        }
    }
}

struct Reader<'a> {
    file: &'a str,
    system: System,
    found: Found,
    empty: usize,
}

impl Reader<'_> {
    fn record(&mut self, number: usize, record: &Record, label: &Label) -> Result<(), Fault> {
        let place = match &label.name {
            Some(name) => format!("record {number} `{}`", near::short(name)),
            None => format!("record {number}"),
        };
        let wrong = |text: String| fault(self.file, &place, text);
        let run = |run: &Vec<Xy>| -> Result<Vec<Position>, Fault> {
            run.iter()
                .map(|at| self.system.position(*at).map_err(wrong))
                .collect()
        };
        match record {
            Record::Empty => self.empty += 1,
            Record::Points(points) => {
                let places = run(points)?.into_iter().map(|position| FoundPlace {
                    label: label.clone(),
                    position,
                });
                self.found.places.extend(places);
            }
            Record::Lines(runs) => {
                let runs = runs.iter().map(run).collect::<Result<Vec<_>, _>>()?;
                if runs.iter().any(|run| run.len() < 2) {
                    return Err(wrong(
                        "a line has fewer than 2 points; save it again".to_owned(),
                    ));
                }
                let lines = seam::whole_lines(runs).into_iter();
                self.found.lines.extend(lines.map(|positions| FoundLine {
                    label: label.clone(),
                    positions,
                }));
            }
            Record::Rings(rings) => {
                let most = limits::RINGS_OF_ONE.most;
                if rings.len() > most {
                    let text = format!("has more than {most} rings; part it into several");
                    return Err(wrong(text));
                }
                let mut open = rings.iter().map(run).collect::<Result<Vec<_>, _>>()?;
                for ring in &mut open {
                    if ring.len() > 1 && ring.first() == ring.last() {
                        ring.pop();
                    }
                    if ring.len() < 3 {
                        let text =
                            "a ring has fewer than 3 different points; draw 3 corners or more";
                        return Err(wrong(text.to_owned()));
                    }
                    // Clockwise is outside here (section Polygon), anticlockwise in what is found.
                    ring.reverse();
                }
                let grounds = match open.len() {
                    // The one ring of a ground is its outside, however it is wound.
                    1 => vec![open],
                    _ => seam::whole_grounds(seam::nested(open)),
                };
                self.found
                    .areas
                    .extend(grounds.into_iter().map(|rings| FoundArea {
                        label: label.clone(),
                        rings,
                    }));
            }
        }
        Ok(())
    }
}

/// How the letters of a table are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Letters {
    Utf8,
    /// One byte a letter; Latin 1 is taken for all of these.
    Latin1,
}

/// What each record is called; empty where there is no table.
fn labels(
    beside: &Beside<'_>,
    n_records: usize,
    remarks: &mut Vec<String>,
) -> Result<Vec<Label>, String> {
    let Some(dbf) = beside.dbf else {
        remarks.push("there is no .dbf beside it, so nothing has a name".to_owned());
        return Ok(Vec::new());
    };
    let table = Table::of(dbf)?;
    if table.n_records != n_records {
        return Err(format!(
            "its .dbf has {} records for {n_records} shapes; copy the files again, or leave the \
             .dbf away",
            table.n_records
        ));
    }
    let cpg = beside
        .cpg
        .map(|cpg| String::from_utf8_lossy(cpg).to_uppercase());
    let letters = match cpg.as_deref().map(str::trim) {
        Some("UTF-8" | "UTF8" | "65001") => Letters::Utf8,
        Some(_) => Letters::Latin1,
        None if std::str::from_utf8(table.cells).is_ok() => Letters::Utf8,
        None => Letters::Latin1,
    };
    if letters == Letters::Latin1 && !table.cells.is_ascii() {
        remarks.push("letters beyond a to z in names are read as Latin 1".to_owned());
    }
    Ok((0..n_records)
        .map(|record| label::label(|key| table.word(record, key, letters)))
        .collect())
}

/// A table (dBASE III), held against the bytes that are there.
struct Table<'a> {
    n_records: usize,
    record_bytes: usize,
    /// Name in small letters, where it begins in a record, how many bytes.
    columns: Vec<(String, usize, usize)>,
    cells: &'a [u8],
}

impl<'a> Table<'a> {
    fn of(dbf: &'a [u8]) -> Result<Self, String> {
        let cut_off = || "its .dbf is cut off; copy it again".to_owned();
        let at = |index: usize| dbf.get(index).copied().map(usize::from).ok_or_else(cut_off);
        let two =
            |index: usize| -> Result<usize, String> { Ok(at(index)? + (at(index + 1)? << 8)) };
        let n_records = two(4)? + (two(6)? << 16);
        let (header_bytes, record_bytes) = (two(8)?, two(10)?);
        let head = dbf.get(TABLE_HEADER..header_bytes).ok_or_else(cut_off)?;
        let mut columns = Vec::new();
        let mut begin = 1; // behind the mark of deleted records
        for column in head.chunks_exact(COLUMN) {
            if column.first() == Some(&0x0d) {
                break;
            }
            let most = limits::TABLE_COLUMNS.most;
            if columns.len() == most {
                return Err(format!(
                    "its .dbf has more than {most} columns; save it with fewer, or leave the .dbf \
                     away"
                ));
            }
            let name = column[..11]
                .split(|byte| *byte == 0)
                .next()
                .unwrap_or_default();
            let name = String::from_utf8_lossy(name).trim().to_ascii_lowercase();
            let bytes = usize::from(column[16]);
            columns.push((name, begin, bytes));
            begin += bytes;
        }
        if begin > record_bytes {
            return Err(format!(
                "its .dbf has columns of {begin} bytes in records of {record_bytes}; save it again"
            ));
        }
        let claimed = n_records.checked_mul(record_bytes).ok_or_else(cut_off)?;
        let rest = &dbf[header_bytes..];
        let cells = rest.get(..claimed).ok_or_else(|| {
            format!(
                "its .dbf says that it has {n_records} records of {record_bytes} bytes, but {} \
                 bytes are there; copy it again",
                rest.len()
            )
        })?;
        Ok(Self {
            n_records,
            record_bytes,
            columns,
            cells,
        })
    }

    /// The text of a cell.
    fn word(&self, record: usize, key: &str, letters: Letters) -> Option<String> {
        let (_, begin, bytes) = self.columns.iter().find(|(name, ..)| name == key)?;
        let begin = record * self.record_bytes + begin;
        let cell = self.cells.get(begin..begin + bytes)?;
        let cell = cell.split(|byte| *byte == 0).next().unwrap_or_default();
        Some(match letters {
            Letters::Utf8 => String::from_utf8_lossy(cell).into_owned(),
            Letters::Latin1 => cell.iter().map(|byte| char::from(*byte)).collect(),
        })
    }
}
