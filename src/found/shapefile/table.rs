//! The table beside a shapefile (`.dbf`, dBASE III): what each record is called.

use super::Beside;
use crate::found::{Label, label, limits};

/// A table's header and the description of one of its columns, bytes.
const TABLE_HEADER: usize = 32;
const COLUMN: usize = 32;

/// How the letters of a table are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Letters {
    Utf8,
    /// One byte a letter; Latin 1 is taken for all of these.
    Latin1,
}

/// What each record is called; empty where there is no table.
pub(super) fn labels(
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
