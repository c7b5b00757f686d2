//! Shapefiles (ESRI Shapefile Technical Description, 1998) of any program's: points, lines and
//! polygons, with the names that the table beside them (dBASE III) gives them.
//!
//! The reader is written by hand from the published description. The crate that writes ours asks
//! for as much memory as a record claims, and takes the counts of the table on trust; here every
//! count is held against the bytes that are there before anything is made of it.

mod shapes;
mod system;
mod table;

use std::collections::BTreeMap;

use super::format::last_name;
use super::{Found, FoundArea, FoundLine, FoundPlace, Label, fault, limits, seam};
use crate::fault::Fault;
use crate::job::near;
use crate::space::{Position, Xy};
use shapes::Record;
use system::System;

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
    let shape_type = shapes::header(shp).map_err(wrong)?;
    let records = shapes::records(file, shp, shape_type)?;
    let mut remarks = Vec::new();
    let labels = table::labels(beside, records.len(), &mut remarks).map_err(wrong)?;
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
