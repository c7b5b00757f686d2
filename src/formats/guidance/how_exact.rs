//! `guidance/how-exact.txt`: what the shapefiles have no room for: how exact the places are, the
//! check on a peg, and the services wording. A table of theirs holds 254 letters in a cell.

use std::fmt::Write as _;

use super::exact;
use crate::formats::FormatError;
use crate::formats::globe::Globe;
use crate::plan::Plan;

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut text = format!("{}\n", plan.name);
    if let Some(date) = &plan.date {
        let _ = writeln!(text, "{date}");
    }
    for sentence in exact::description(plan, globe)? {
        let _ = write!(text, "\n{sentence}\n");
    }
    Ok(text.into_bytes())
}
