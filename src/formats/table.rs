//! CSV as this program writes it: comma-separated, one header line, written also where there is no
//! row.

use serde::Serialize;

use super::FormatError;

/// The bytes of a table of these rows, in this order.
pub(super) fn bytes<R: Serialize>(
    header: &[&str],
    rows: impl IntoIterator<Item = R>,
) -> Result<Vec<u8>, FormatError> {
    let mut csv = csv::WriterBuilder::new()
        .has_headers(false)
        .from_writer(Vec::new());
    csv.write_record(header)?;
    for row in rows {
        csv.serialize(row)?;
    }
    csv.into_inner()
        .map_err(|error| FormatError::Csv(error.into_error().into()))
}
