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
mod xml;

pub(crate) use exact::AGREES_WITHIN_CM;

use rayon::prelude::*;

use super::globe::Globe;
use super::{FormatError, Written};
use crate::plan::Plan;

/// The files of the `guidance` group, in the order of the documents. Without a position none
/// that needs one.
///
/// # Errors
/// [`FormatError`] where a place has no position on the globe, or a file cannot be made.
pub fn files(plan: &Plan) -> Result<Vec<Written>, FormatError> {
    each_file(plan, |file| file)
}

/// The same, each handed to `take` as soon as it is made, by any thread; what came of them in the
/// order of the documents.
///
/// # Errors
/// As [`files`].
pub fn each_file<T: Send>(
    plan: &Plan,
    take: impl Fn(Written) -> T + Sync,
) -> Result<Vec<T>, FormatError> {
    let globe = Globe::of(plan)?;
    let leaves: [Leaf; 5] = [
        task_data::files,
        |plan, globe| one("guidance/passes.kml", kml::bytes(plan, globe)),
        |plan, globe| one("guidance/route.gpx", gpx::bytes(plan, globe)),
        shapefile::files,
        |plan, globe| one("guidance/how-exact.txt", how_exact::bytes(plan, globe)),
    ];
    let each = |files: Vec<Written>| -> Vec<T> { files.into_iter().map(&take).collect() };
    let on_globe = || -> Result<Vec<Vec<T>>, FormatError> {
        let Some(globe) = &globe else {
            return Ok(Vec::new());
        };
        let leaves = leaves.par_iter().with_max_len(1);
        leaves.map(|leaf| Ok(each(leaf(plan, globe)?))).collect()
    };
    let tape = || one("guidance/tape.csv", tape_csv::bytes(plan)).map(each);
    let (on_globe, tape) = rayon::join(on_globe, tape);
    Ok(on_globe?.into_iter().flatten().chain(tape?).collect())
}

/// Makes the files of one format from the plan and its place on the globe.
type Leaf = fn(&Plan, &Globe) -> Result<Vec<Written>, FormatError>;

/// The only file of its format.
fn one(name: &str, bytes: Result<Vec<u8>, FormatError>) -> Result<Vec<Written>, FormatError> {
    Ok(vec![(name.to_owned(), bytes?)])
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
