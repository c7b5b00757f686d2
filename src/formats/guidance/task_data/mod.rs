//! `TASKDATA/TASKDATA.XML` and `TASKDATA.zip`: task data of ISO 11783-10, version 4.3 or 3.3, for
//! a terminal that drives by satellite.
//!
//! | file | holds |
//! |---|---|
//! | `field` | the field (PFD): outline, what is kept clear, places, and every line |
//! | `work` | products (PDT) and tasks (TSK) with their treatment |
//! | `names` | what the terminal shows: at most 32 letters, no two lines alike |
//!
//! Ids hang on the place of an operation in the job and of a direction in it, so that an operation
//! added at the end, or planned alone, changes no id of another. A line is never cut at 180
//! degrees: its longitude jumps from one side to the other.

mod field;
mod names;
mod work;

use std::io::{Cursor, Write as _};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::exact;
use super::xml::{DECLARATION, Xml};
use crate::formats::{FormatError, Globe, Written};
use crate::job::model::{Operation, TaskDataVersion};
use crate::plan::Plan;

/// The one field.
const PARTFIELD: &str = "PFD1";
/// The folder and file that every terminal looks for.
const PATH: &str = "TASKDATA/TASKDATA.XML";
/// Who wrote the file.
const PROGRAM: &str = "Swardlane";
/// Made on a desk, not by a machine (attribute DataTransferOrigin).
const FARM_SOFTWARE: u8 = 1;
/// What version 3 lacks, said in the file.
const NO_PATTERNS: &str = "Version 3.3 has no guidance groups, patterns or headings: each line is \
                           a line string of the field (type 5, guidance path), and heads, sockets, \
                           lids and entrances are points of the type other.";

/// The folder's file and the zip of the folder.
pub(super) fn files(plan: &Plan, globe: &Globe) -> Result<Vec<Written>, FormatError> {
    let bytes = xml(plan, globe)?;
    let zip = zipped(&bytes)?;
    Ok(vec![
        (format!("guidance/{PATH}"), bytes),
        ("guidance/TASKDATA.zip".to_owned(), zip),
    ])
}

fn xml(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let (major, minor) = match plan.task_data {
        TaskDataVersion::V4_3 => (4, 3),
        TaskDataVersion::V3_3 => (3, 3),
    };
    let mut sentences = exact::sentences(plan, globe)?;
    sentences.extend(plan.operations.iter().filter_map(exact::services));
    if plan.task_data == TaskDataVersion::V3_3 {
        sentences.push(NO_PATTERNS.to_owned());
    }
    let mut xml = Xml::after(DECLARATION, 0);
    xml.begin("ISO11783_TaskData");
    xml.set("VersionMajor", major);
    xml.set("VersionMinor", minor);
    xml.set("ManagementSoftwareManufacturer", PROGRAM);
    xml.set("ManagementSoftwareVersion", env!("CARGO_PKG_VERSION"));
    xml.set("DataTransferOrigin", FARM_SOFTWARE);
    // Comments stand first in it, not before it: a reader may look for the version in the first
    // letters alone.
    for sentence in sentences {
        xml.comment(&in_comment(&sentence));
    }
    field::field(plan, globe, &mut xml)?;
    work::products(plan, &mut xml);
    work::tasks(plan, globe, &mut xml)?;
    xml.end();
    let mut text = xml.into_text();
    text.push('\n');
    Ok(text.into_bytes())
}

/// Text that may stand in a comment: no two strokes together, none at its end (XML 1.0, section
/// 2.5).
fn in_comment(text: &str) -> String {
    let mut out = String::new();
    for letter in names::clean(text).chars() {
        if letter == '-' && out.ends_with('-') {
            out.push(' ');
        }
        out.push(letter);
    }
    out
}

/// The folder as a zip; the same bytes every time: no date, no rights of a machine.
fn zipped(xml: &[u8]) -> Result<Vec<u8>, FormatError> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    zip.start_file(PATH, options)?;
    zip.write_all(xml).map_err(zip::result::ZipError::from)?;
    Ok(zip.finish()?.into_inner())
}

/// Ids of elements. None is longer than 14 letters.
struct Ids<'a> {
    operation: &'a Operation,
    count: usize,
}

impl<'a> Ids<'a> {
    /// So many directions has no operation.
    const DIRECTIONS: usize = 100;
    /// Lines of an operation that can be numbered.
    const LINES: usize = 1_000_000;

    /// The ids of an operation's lines, one after the other.
    const fn of_lines(operation: &'a Operation) -> Self {
        Self {
            operation,
            count: 0,
        }
    }

    fn next(&mut self) -> Result<String, FormatError> {
        self.count += 1;
        if self.count >= Self::LINES {
            return Err(FormatError::TooManyLines(self.operation.id.clone()));
        }
        let number = self.operation.number * Self::LINES + self.count;
        Ok(format!("GPN{number}"))
    }

    fn of_group(operation: &Operation, direction: usize) -> String {
        format!("GGP{}", operation.number * Self::DIRECTIONS + direction)
    }

    fn of_task(operation: &Operation, direction: usize) -> String {
        format!("TSK{}", operation.number * Self::DIRECTIONS + direction)
    }

    fn of_product(number: usize) -> String {
        format!("PDT{number}")
    }
}

#[cfg(test)]
mod tests {
    use super::in_comment;

    #[test]
    fn a_comment_has_no_two_strokes_together() {
        assert_eq!(in_comment("x --- y-"), "x - - - y-");
    }
}
