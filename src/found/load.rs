//! Opening what `read` is given: besides `job::load` the only place of the program that reads
//! files. No more is read than the limits allow, and nothing but files: a pipe would never end.

use std::fs::{self, File};
use std::io::{ErrorKind, Read as _};
use std::path::{Path, PathBuf};

use super::format::{Format, belongs};
use super::limits::{self, FOLDER_NAMES};
use super::tally::too_large;
use super::{Bundle, fault};
use crate::fault::Fault;
use crate::job::near;
use crate::output;

const FILE_BYTES: usize = limits::FILE_BYTES.most;
const ALL_BYTES: usize = limits::ALL_BYTES.most;
const FILES: usize = limits::FILES.most;

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
        task_data_in(path)?.ok_or_else(|| {
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
        main: bytes_of(&main, FILE_BYTES, too_large)?,
        ..Bundle::default()
    };
    let name = main.file_name().unwrap_or_default().to_string_lossy();
    if !matches!(
        Format::of_name(&name),
        Some(Format::Shapefile | Format::TaskData)
    ) {
        return Ok(bundle);
    }
    let mut bytes = bundle.main.len();
    for (beside, path) in names_in(folder_of(&main))? {
        if !belongs(&name, &beside) {
            continue;
        }
        if bundle.beside.len() == FILES {
            let text = format!(
                "lies beside more than {FILES} files that may belong to it; copy it into a folder \
                 with nothing but what it needs"
            );
            return Err(fault(&bundle.file, "", text));
        }
        let left = ALL_BYTES.saturating_sub(bytes);
        let more = bytes_of(&path, FILE_BYTES.min(left), |size| match size {
            ..=FILE_BYTES => format!(
                "comes to more than {ALL_BYTES} bytes with `{}` and what else belongs to it; at \
                 most so many are read together: save only what you need",
                near::short(&name)
            ),
            _ => too_large(size),
        })?;
        bytes += more.len();
        bundle.beside.insert(beside.to_ascii_lowercase(), more);
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
fn names_in(folder: &Path) -> Result<Vec<(String, PathBuf)>, Fault> {
    let wrong = |text: String| fault(&folder.display().to_string(), "", text);
    let cannot = |error: std::io::Error| {
        wrong(format!(
            "the folder cannot be looked through for what belongs together: {}; allow it to be \
             read, or copy the files into another",
            output::why(&error)
        ))
    };
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let entry = entry.map_err(cannot)?;
        let most = FOLDER_NAMES.most;
        if names.len() == most {
            return Err(wrong(format!(
                "the folder holds more than {most} files, too many to look through for what \
                 belongs together; copy the files that you mean into one of their own"
            )));
        }
        names.push((
            entry.file_name().to_string_lossy().into_owned(),
            entry.path(),
        ));
    }
    names.sort();
    Ok(names)
}

/// The task data of a folder: in it, or in a folder `TASKDATA` of it, in any letters.
fn task_data_in(folder: &Path) -> Result<Option<PathBuf>, Fault> {
    let named = |folder: &Path, wanted: &str| -> Result<Option<PathBuf>, Fault> {
        let mut names = names_in(folder)?.into_iter();
        let found = names.find(|(name, _)| name.eq_ignore_ascii_case(wanted));
        Ok(found.map(|(_, path)| path))
    };
    if let Some(path) = named(folder, "TASKDATA.XML")? {
        return Ok(Some(path));
    }
    match named(folder, "TASKDATA")? {
        Some(within) if within.is_dir() => named(&within, "TASKDATA.XML"),
        _ => Ok(None),
    }
}

/// The bytes of a file; no more is read than allowed. What is said of more is told their number.
fn bytes_of(
    path: &Path,
    most: usize,
    too_many: impl Fn(usize) -> String,
) -> Result<Vec<u8>, Fault> {
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
    // As much room as is needed: a list that grows as it is filled would take twice as much.
    let size = usize::try_from(metadata.len()).unwrap_or(usize::MAX);
    let mut bytes = Vec::with_capacity(size.min(most) + 1);
    file.take(most as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| cannot(&error))?;
    if bytes.len() > most {
        return Err(fault(&called, "", too_many(size.max(bytes.len()))));
    }
    Ok(bytes)
}
