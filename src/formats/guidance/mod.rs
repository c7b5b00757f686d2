//! The files of the `guidance` group: the same lines under the same numbers, for a terminal that
//! drives by satellite and for a person with a tape. One leaf a format; what all of them say on
//! how exact the places are stands in [`exact`].

mod exact;
mod gpx;
mod how_exact;
mod kml;
mod kml_parts;
mod shapefile;
mod tape_csv;
mod task_data;

pub(crate) use exact::AGREES_WITHIN_CM;

use super::globe::Globe;
use super::{FormatError, Written};
use crate::plan::Plan;

/// The files of the `guidance` group, in the order of the documents. Without a position none
/// that needs one.
///
/// # Errors
/// [`FormatError`] where a place has no position on the globe, or a file cannot be made.
pub fn files(plan: &Plan) -> Result<Vec<Written>, FormatError> {
    let globe = plan.ground.frame.as_ref().map(Globe::open).transpose()?;
    let mut files = Vec::new();
    if let Some(globe) = &globe {
        files.extend(task_data::files(plan, globe)?);
        files.push(("guidance/passes.kml".to_owned(), kml::bytes(plan, globe)?));
        files.push(("guidance/route.gpx".to_owned(), gpx::bytes(plan, globe)?));
        files.extend(shapefile::files(plan, globe)?);
        files.push((
            "guidance/how-exact.txt".to_owned(),
            how_exact::bytes(plan, globe)?,
        ));
    }
    files.push(("guidance/tape.csv".to_owned(), tape_csv::bytes(plan)?));
    Ok(files)
}

/// A text without what XML 1.0 has no way to write (section 2.2, Char): U+FFFD stands there.
fn xml_text(text: &str) -> String {
    let is_allowed = |letter: char| matches!(letter, '\t' | '\n' | '\r' | '\u{20}'..='\u{fffd}' | '\u{1_0000}'..);
    text.chars()
        .map(|letter| {
            if is_allowed(letter) {
                letter
            } else {
                '\u{fffd}'
            }
        })
        .collect()
}
