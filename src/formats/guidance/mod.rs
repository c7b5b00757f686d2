//! The files of the `guidance` group: the same lines under the same numbers, for a terminal that
//! drives by satellite and for a person with a tape. One leaf a format; what all of them say on
//! how exact the places are stands in [`exact`].

mod exact;
mod how_exact;
mod shapefile;

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
        files.extend(shapefile::files(plan, globe)?);
        files.push((
            "guidance/how-exact.txt".to_owned(),
            how_exact::bytes(plan, globe)?,
        ));
    }
    Ok(files)
}
