//! What a file of another's holds: lines, areas and places in degrees, and what else it says in
//! plain words. One reader a format; each fills the same [`Found`], so that whatever is done with
//! it knows no format.
//!
//! [`load`] opens files; from there on everything is pure: [`read`] takes bytes and gives what is
//! in them, `measured` measures it in metres, [`told`] says it in words, [`used`] makes a ground
//! file or the start of a job's lines of it.

mod carried;
mod degrees;
mod format;
mod geojson;
pub mod gpx;
pub mod kml;
mod label;
pub mod limits;
pub mod load;
mod measured;
mod remarks;
mod seam;
mod shapefile;
mod tally;
pub mod task_data;
pub mod told;
mod unzip;
pub mod used;
mod xml;
mod xml_words;

use std::cell::RefCell;
use std::collections::BTreeMap;

use crate::fault::Fault;
use crate::job::near;
use crate::space::Position;
pub use format::Format;
use tally::Tally;

/// A file with what lies beside it, not read yet.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Bundle {
    /// The file as messages call it.
    pub file: String,
    /// Its bytes.
    pub main: Vec<u8>,
    /// Files beside it by their names in small letters: those that belong to it.
    pub beside: BTreeMap<String, Vec<u8>>,
}

/// Reads a file: its format, by its content first and by its name second, and what is in it.
/// A zip is opened where one thing in it can be read.
///
/// # Errors
/// A [`Fault`] that says what is wrong with it.
pub fn read(bundle: Bundle) -> Result<(Format, Found), Fault> {
    let bundle = if format::is_zip(&bundle.main) {
        let opened = unzip::open(&bundle.file, &bundle.main)?;
        // The packed bytes are not needed beside the unpacked ones.
        drop(bundle);
        opened
    } else {
        bundle
    };
    let Bundle { file, main, beside } = bundle;
    let (file, main) = (file.as_str(), main.as_slice());
    tally::sized(main.len()).map_err(|text| fault(file, "", text))?;
    let format = Format::of(file, main)?;
    let found = match format {
        Format::GeoJson => geojson::read(file, main)?,
        Format::Shapefile => shapefile::read(file, main, &shapefile::Beside::of(file, &beside))?,
        Format::Kml => kml::read(file, main)?,
        Format::Gpx => gpx::read(file, main)?,
        Format::TaskData => {
            // Handed over, not copied: each is asked for once, and they may be large.
            let left = RefCell::new(beside);
            let other = |name: &str| left.borrow_mut().remove(&name.to_lowercase());
            task_data::read(file, main, &other)?
        }
    };
    check(&found).map_err(|text| fault(file, "", text))?;
    Ok((format, found))
}

/// What every reader must keep, looked at once more in one place.
fn check(found: &Found) -> Result<(), String> {
    let rings = found.areas.iter().flat_map(|area| &area.rings);
    let runs = found.lines.iter().map(|line| &line.positions).chain(rings);
    let places = found.places.iter().map(|place| &place.position);
    let mut tally = Tally::default();
    tally.things(found.lines.len() + found.areas.len() + found.places.len())?;
    for at in runs.flatten().chain(places) {
        tally.positions(1)?;
        degrees::checked(at.lon_deg, at.lat_deg)?;
    }
    Ok(())
}

/// A fault of a file that is read. Whatever the file, a zip or a folder calls things, nothing in
/// it moves a cursor.
pub(crate) fn fault(file: &str, place: &str, text: impl Into<String>) -> Fault {
    Fault {
        file: near::line(file),
        place: near::line(place),
        text: near::line(&text.into()),
    }
}

/// All that was found in a file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// Lines, in the order of the file.
    pub lines: Vec<FoundLine>,
    /// Grounds, in the order of the file.
    pub areas: Vec<FoundArea>,
    /// Single places, in the order of the file.
    pub places: Vec<FoundPlace>,
    /// What else it says, or what of it was left out and why: one plain sentence each.
    pub remarks: Vec<String>,
}

/// What a thing in a file is called, where in the file it stands and what is said of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Label {
    /// Its own name, where it has one.
    pub name: Option<String>,
    /// The names of the groups that hold it, outermost first: folders, fields, tracks.
    pub within: Vec<String>,
    /// What the file says that it is, in the file's words: `pitch`, `obstacle`, `A-B`.
    pub kind: Option<String>,
    /// What else the file says of it that a ground file can hold: names, mostly those of that
    /// file's properties, with the words that stand here, not checked.
    pub properties: Vec<(&'static str, String)>,
}

impl Label {
    /// The words that stand for a property.
    #[must_use]
    pub fn property(&self, name: &str) -> Option<&str> {
        let mut all = self.properties.iter();
        all.find(|(have, _)| *have == name)
            .map(|(_, word)| word.as_str())
    }
}

/// A line: at least two positions.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundLine {
    /// What it is called.
    pub label: Label,
    /// Its corners in their order. Longitude from -180 to 180.
    pub positions: Vec<Position>,
}

/// A ground: one polygon.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundArea {
    /// What it is called.
    pub label: Label,
    /// The exterior ring, then the holes: each at least three positions, not closed.
    pub rings: Vec<Vec<Position>>,
}

/// A single place.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundPlace {
    /// What it is called.
    pub label: Label,
    /// Where it lies.
    pub position: Position,
}
