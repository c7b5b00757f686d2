//! Which jobs were meant: what was typed becomes job files and the names of their folders.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::fault::Fault;
use crate::output;

/// A job, not read yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct JobPlace {
    /// Its folder or file, as the user named it.
    pub path: PathBuf,
    /// The name of its folder: what its output is called.
    pub name: String,
}

/// The jobs that were typed, each found or refused by itself, in the order typed; those of
/// a folder of jobs in the order of their names.
pub(super) fn find(typed: &[PathBuf]) -> Vec<Result<JobPlace, Fault>> {
    typed.iter().flat_map(|path| find_one(path)).collect()
}

fn find_one(path: &Path) -> Vec<Result<JobPlace, Fault>> {
    let refused = |text: String| {
        vec![Err(Fault {
            file: path.display().to_string(),
            place: String::new(),
            text,
        })]
    };
    let whole = match path.canonicalize() {
        Ok(whole) => whole,
        Err(error) => {
            return refused(format!(
                "cannot be read: {}; give a folder with a `job.toml`, or a job file",
                output::why(&error)
            ));
        }
    };
    if !whole.is_dir() {
        let folder = whole.parent().unwrap_or(&whole);
        return vec![Ok(JobPlace {
            path: path.to_owned(),
            name: name_of(folder),
        })];
    }
    if whole.join("job.toml").exists() {
        return vec![Ok(JobPlace {
            path: path.to_owned(),
            name: name_of(&whole),
        })];
    }
    let entries = match std::fs::read_dir(path) {
        Ok(entries) => entries,
        Err(error) => return refused(format!("cannot be read: {}", output::why(&error))),
    };
    let mut folders: Vec<PathBuf> = entries
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .filter(|folder| folder.join("job.toml").exists())
        .collect();
    folders.sort();
    if folders.is_empty() {
        return refused(
            "there is no `job.toml` in this folder or in a folder of it; `swardlane new NAME` \
             writes one"
                .to_owned(),
        );
    }
    folders
        .into_iter()
        .map(|path| {
            let name = name_of(&path);
            Ok(JobPlace { path, name })
        })
        .collect()
}

/// The name of a folder; the root of all folders has none.
fn name_of(folder: &Path) -> String {
    folder.file_name().map_or_else(
        || "job".to_owned(),
        |name| name.to_string_lossy().into_owned(),
    )
}

/// Refuses two jobs whose output would have the same name.
pub(super) fn refuse_doubles(places: &[Result<JobPlace, Fault>]) -> Result<(), Fault> {
    let mut seen: BTreeMap<&str, &Path> = BTreeMap::new();
    for place in places.iter().flatten() {
        if let Some(first) = seen.insert(&place.name, &place.path) {
            return Err(Fault {
                file: place.path.display().to_string(),
                place: String::new(),
                text: format!(
                    "is called `{}` like {}, so both would be written to the same folder; rename \
                     one of them or plan them one by one",
                    place.name,
                    first.display()
                ),
            });
        }
    }
    Ok(())
}
