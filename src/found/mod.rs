//! What a file of another's holds: lines, areas and places in degrees, and what else it says in
//! plain words. One reader a format; each fills the same [`Found`], so that whatever is done with
//! it knows no format.

mod degrees;
pub mod gpx;
pub mod kml;
mod remarks;
pub mod task_data;
mod xml;

use crate::space::Position;

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

/// What a thing in a file is called and where in the file it stands.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Label {
    /// Its own name, where it has one.
    pub name: Option<String>,
    /// The names of the groups that hold it, outermost first: folders, fields, tracks.
    pub within: Vec<String>,
    /// What the file says that it is, in the file's words: `pitch`, `obstacle`, `A-B`.
    pub kind: Option<String>,
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
