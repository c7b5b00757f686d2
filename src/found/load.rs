//! Opening what `read` is given: besides `job::load` the only place of the program that reads
//! files. No more is read than the limits allow, and nothing but files: a pipe would never end.

use std::fs::{self, File};
use std::io::{ErrorKind, Read as _};
use std::path::{Path, PathBuf};

use super::format::{Format, belongs};
use super::{ALL_BYTES, Bundle, FILE_BYTES, FILES, fault, too_large};
use crate::fault::Fault;
use crate::output;

/// Names of a folder that are looked at to find what belongs to a file.
const NAMES: usize = 10_000;

/// Loads a file with what belongs to it beside it, or the task data of a folder.
///
/// # Errors
/// A [`Fault`] where it cannot be read, is too large, or is a folder without task data.
pub fn load(path: &Path) -> Result<Bundle, Fault> {
    let called = path.display().to_string();
    let cannot = |error: &std::io::Error| {
        let why = match error.kind() {
            ErrorKind::NotFound => "there is no such file".to_owned(),
            _ => output::why(error),
        };
        fault(&called, "", format!("cannot be read: {why}"))
    };
    let metadata = fs::metadata(path).map_err(|error| cannot(&error))?;
    let main = if metadata.is_dir() {
        task_data_in(path).ok_or_else(|| {
            fault(
                &called,
                "",
                "is a folder without a TASKDATA.XML; name the file that you mean",
            )
        })?
    } else {
        path.to_owned()
    };
    let mut bundle = Bundle {
        file: main.display().to_string(),
        main: bytes_of(&main, FILE_BYTES)?,
        ..Bundle::default()
    };
    let mut left = ALL_BYTES.saturating_sub(bundle.main.len());
    let name = main.file_name().unwrap_or_default().to_string_lossy();
    if !matches!(
        Format::of_name(&name),
        Some(Format::Shapefile | Format::TaskData)
    ) {
        return Ok(bundle);
    }
    for (beside, path) in names_in(folder_of(&main)) {
        if belongs(&name, &beside) && bundle.beside.len() < FILES {
            let bytes = bytes_of(&path, FILE_BYTES.min(left))?;
            left = left.saturating_sub(bytes.len());
            bundle.beside.insert(beside.to_ascii_lowercase(), bytes);
        }
    }
    Ok(bundle)
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// The names in a folder and their paths, in the order of the names.
fn names_in(folder: &Path) -> Vec<(String, PathBuf)> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut names: Vec<(String, PathBuf)> = entries
        .filter_map(Result::ok)
        .take(NAMES)
        .map(|entry| {
            (
                entry.file_name().to_string_lossy().into_owned(),
                entry.path(),
            )
        })
        .collect();
    names.sort();
    names
}

/// The task data of a folder: in it, or in a folder `TASKDATA` of it, in any letters.
fn task_data_in(folder: &Path) -> Option<PathBuf> {
    let named = |folder: &Path, wanted: &str| {
        let mut names = names_in(folder).into_iter();
        names
            .find(|(name, _)| name.eq_ignore_ascii_case(wanted))
            .map(|(_, path)| path)
    };
    named(folder, "TASKDATA.XML").or_else(|| named(&named(folder, "TASKDATA")?, "TASKDATA.XML"))
}

/// The bytes of a file; no more is read than allowed.
fn bytes_of(path: &Path, most: usize) -> Result<Vec<u8>, Fault> {
    let called = path.display().to_string();
    let cannot = |error: &std::io::Error| {
        fault(
            &called,
            "",
            format!("cannot be read: {}", output::why(error)),
        )
    };
    // Asked before it is opened: opening a pipe waits for whoever writes to it.
    let metadata = fs::metadata(path).map_err(|error| cannot(&error))?;
    if !metadata.is_file() {
        return Err(fault(&called, "", "is no file; name a file"));
    }
    let file = File::open(path).map_err(|error| cannot(&error))?;
    let mut bytes = Vec::new();
    file.take(most as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| cannot(&error))?;
    if bytes.len() > most {
        let size = usize::try_from(metadata.len()).unwrap_or(usize::MAX);
        return Err(fault(&called, "", too_large(size.max(bytes.len()))));
    }
    Ok(bytes)
}
