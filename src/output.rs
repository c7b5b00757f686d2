//! Writing a plan's folder so that it is either the earlier one, whole, or the new one.
//!
//! 1. Everything is written into a folder aside, beside the plan's own
//!    (`.NAME.swardlane-new-…`).
//! 2. What lies in the earlier folder and was not written by the earlier run is carried
//!    over (linked, not copied, where the file system can).
//! 3. The two folders are exchanged in one step. Where the file system has no such step
//!    the earlier one is renamed (`.NAME.swardlane-old-…`) and the new one put in its
//!    place; a kill between the two leaves the earlier one whole under that name.
//! 4. The earlier one is removed.
//!
//! The next run first puts back or clears away what a killed run left. A folder that a
//! run is still working on is locked, so it is left alone.
//!
//! A folder is ours where its `summary.json` says so. One that holds anything and is not
//! ours is never touched.

use std::collections::BTreeSet;
use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use serde::Deserialize;

use crate::fault::Fault;
use crate::formats::summary;

/// Refuses, before any work is done, a folder that a plan must not be written to: a file,
/// a folder that holds what is not ours, the folder one stands in.
///
/// # Errors
/// A [`Fault`] that says why and what to do.
pub fn check(folder: &Path) -> Result<(), Fault> {
    earlier(folder).map(|_| ())
}

/// A plan's folder that is being written: aside, until [`Writing::end`] puts it in its place.
/// Where it does not come to that, nothing is left of it and what was there is as it was.
pub struct Writing {
    place: Place,
    /// The folders above it that had to be made.
    made: Vec<PathBuf>,
    earlier: Earlier,
    aside: Option<Aside>,
}

impl Writing {
    /// Begins to write a plan's folder.
    ///
    /// # Errors
    /// A [`Fault`] where a plan must not or cannot be written there.
    pub fn begin(folder: &Path) -> Result<Self, Fault> {
        let (place, made) = Place::of(folder)?;
        let mut writing = Self {
            place,
            made,
            earlier: Earlier::Nothing,
            aside: None,
        };
        writing.place.recover()?;
        writing.earlier = earlier(folder)?;
        writing.aside = Some(writing.place.open_aside()?);
        Ok(writing)
    }

    /// Writes one file, of any thread: its path within the folder, with `/`, and its bytes.
    ///
    /// # Errors
    /// A [`Fault`] where it cannot be written.
    pub fn put(&self, name: &str, bytes: &[u8]) -> Result<(), Fault> {
        let is_guarded = matches!(self.earlier, Earlier::Ours(_));
        let aside = self.aside.as_ref().map(|aside| aside.path.join(name));
        aside
            .map_or(Ok(()), |path| write_bytes(&path, bytes, is_guarded))
            .map_err(|error| cannot(&self.place.named.join(name), &error))
    }

    /// Puts the folder in its place: exactly the files of these names, `summary.json` among them,
    /// and what else lies there already but was not written by an earlier run.
    ///
    /// # Errors
    /// A [`Fault`] where that cannot be done. The folder is then as it was.
    pub fn end<N: AsRef<str>>(self, names: &[N]) -> Result<(), Fault> {
        self.end_by(names, exchange)
    }

    fn end_by<N: AsRef<str>>(mut self, names: &[N], exchange: Exchange) -> Result<(), Fault> {
        let Some(aside) = self.aside.take() else {
            return Ok(());
        };
        let place = &self.place;
        if let Earlier::Ours(of_ours) = &self.earlier {
            let new = names.iter().map(|name| Path::new(name.as_ref())).collect();
            place.carry_over(of_ours, &new, &aside.path)?;
            if let Ok(found) = fs::metadata(&place.path) {
                let kept = fs::set_permissions(&aside.path, found.permissions());
                kept.map_err(|error| cannot(&place.named, &error))?;
            }
        }
        place.swap(aside, exchange)?;
        self.made.clear();
        Ok(())
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        self.aside = None;
        // Only empty ones go.
        for parent in self.made.iter().rev() {
            let _ = fs::remove_dir(parent);
        }
    }
}

/// Writes one file: the earlier one stays whole until the new one is complete.
///
/// # Errors
/// A [`Fault`] where it cannot be written. The file is then as it was.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let aside = path.with_file_name(format!(".{name}.swardlane-new-{}", std::process::id()));
    let written = fs::write(&aside, bytes).and_then(|()| fs::rename(&aside, path));
    written.map_err(|error| {
        let _ = fs::remove_file(&aside);
        cannot(path, &error)
    })
}

/// Writes a folder that must not be there yet, with one file in it.
///
/// # Errors
/// A [`Fault`] where something of that name is there, or it cannot be written.
pub fn write_new(folder: &Path, file: &str, bytes: &[u8]) -> Result<(), Fault> {
    if fs::symlink_metadata(folder).is_ok() {
        return Err(fault(
            folder,
            "is there already; choose another name or remove it",
        ));
    }
    let written = fs::create_dir_all(folder).and_then(|()| fs::write(folder.join(file), bytes));
    written.map_err(|error| {
        let _ = fs::remove_file(folder.join(file));
        let _ = fs::remove_dir(folder);
        cannot(folder, &error)
    })
}

/// What is of interest in an earlier `summary.json`.
#[derive(Debug, Deserialize)]
struct EarlierSummary {
    program: String,
    files: Vec<String>,
}

/// What lies where a plan is to be written.
enum Earlier {
    /// Nothing, or an empty folder.
    Nothing,
    /// The folder of an earlier run, which wrote these files.
    Ours(BTreeSet<PathBuf>),
}

fn earlier(folder: &Path) -> Result<Earlier, Fault> {
    let found = match fs::metadata(folder) {
        Ok(found) => found,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Earlier::Nothing),
        Err(error) => return Err(cannot(folder, &error)),
    };
    if !found.is_dir() {
        return Err(fault(
            folder,
            "is a file; a plan is written to a folder: name another one",
        ));
    }
    if found.permissions().readonly() {
        return Err(fault(
            folder,
            "is a read-only folder; name another one or make it writable",
        ));
    }
    let whole = folder
        .canonicalize()
        .map_err(|error| cannot(folder, &error))?;
    if std::env::current_dir().is_ok_and(|here| here.starts_with(&whole)) {
        return Err(fault(
            folder,
            "is the folder you stand in (or one above it), which cannot be exchanged for a new \
             one; name a folder in it or go elsewhere",
        ));
    }
    let mut entries = fs::read_dir(folder).map_err(|error| cannot(folder, &error))?;
    if entries.next().is_none() {
        return Ok(Earlier::Nothing);
    }
    match ours(folder) {
        Some(files) => Ok(Earlier::Ours(files)),
        None => Err(fault(
            folder,
            "holds files and no `summary.json` of this program; name an empty or a new folder",
        )),
    }
}

/// The files that an earlier run wrote to a folder, where it is ours.
fn ours(folder: &Path) -> Option<BTreeSet<PathBuf>> {
    let text = fs::read(folder.join(summary::FILE_NAME)).ok()?;
    let summary: EarlierSummary = serde_json::from_slice(&text).ok()?;
    (summary.program == summary::PROGRAM)
        .then(|| summary.files.into_iter().map(PathBuf::from).collect())
}

/// How two folders change places.
type Exchange = fn(&Path, &Path) -> io::Result<()>;

/// Where a plan's folder lies, once links are followed.
struct Place {
    /// As the user named it, for messages.
    named: PathBuf,
    parent: PathBuf,
    name: String,
    path: PathBuf,
}

impl Place {
    /// The place, and the folders above it that had to be made.
    fn of(folder: &Path) -> Result<(Self, Vec<PathBuf>), Fault> {
        let mut made = Vec::new();
        let path = match folder.canonicalize() {
            Ok(path) => path,
            Err(_) => {
                let name = folder.file_name().ok_or_else(|| {
                    fault(
                        folder,
                        "is no name of a folder; name a new or an empty folder",
                    )
                })?;
                let parent = match folder.parent() {
                    Some(parent) if !parent.as_os_str().is_empty() => parent,
                    _ => Path::new("."),
                };
                let missing = parent.ancestors().take_while(|above| !above.exists());
                made = missing.map(Path::to_owned).collect();
                made.reverse();
                let whole = fs::create_dir_all(parent).and_then(|()| parent.canonicalize());
                whole.map_err(|error| cannot(folder, &error))?.join(name)
            }
        };
        let (Some(parent), Some(name)) = (path.parent(), path.file_name()) else {
            return Err(fault(
                folder,
                "is the root of all folders; name one below it",
            ));
        };
        let place = Self {
            named: folder.to_owned(),
            parent: parent.to_owned(),
            name: name.to_string_lossy().into_owned(),
            path: path.clone(),
        };
        Ok((place, made))
    }

    fn aside(&self, kind: &str) -> PathBuf {
        let (name, run) = (&self.name, std::process::id());
        self.parent.join(format!(".{name}.swardlane-{kind}-{run}"))
    }

    /// Puts back or clears away what killed runs left.
    fn recover(&self) -> Result<(), Fault> {
        for old in self.left("old")? {
            let is_gone = !self.path.exists() || fs::remove_dir(&self.path).is_ok();
            if is_gone {
                fs::rename(&old, &self.path).map_err(|error| cannot(&self.named, &error))?;
            } else if ours(&self.path).is_some() {
                fs::remove_dir_all(&old).map_err(|error| cannot(&old, &error))?;
            }
        }
        for new in self.left("new")? {
            fs::remove_dir_all(&new).map_err(|error| cannot(&new, &error))?;
        }
        Ok(())
    }

    /// Folders aside that no run is working on, in the order of their names.
    fn left(&self, kind: &str) -> Result<Vec<PathBuf>, Fault> {
        let start = format!(".{}.swardlane-{kind}-", self.name);
        let mut left = Vec::new();
        let entries = fs::read_dir(&self.parent).map_err(|error| cannot(&self.named, &error))?;
        for entry in entries.filter_map(Result::ok) {
            let name = entry.file_name();
            let is_number = |rest: &str| rest.parse::<u32>().is_ok();
            let is_aside = name
                .to_string_lossy()
                .strip_prefix(&start)
                .is_some_and(is_number);
            if is_aside && entry.path().is_dir() && !is_locked(&entry.path()) {
                left.push(entry.path());
            }
        }
        left.sort();
        Ok(left)
    }

    /// The new folder, empty, beside the plan's own.
    fn open_aside(&self) -> Result<Aside, Fault> {
        let path = self.aside("new");
        fs::create_dir(&path).map_err(|error| cannot(&self.named, &error))?;
        Ok(Aside {
            lock: lock(&path),
            path,
        })
    }

    /// Takes along what lies in the earlier folder and is not ours, empty folders included.
    fn carry_over(
        &self,
        of_ours: &BTreeSet<PathBuf>,
        new: &BTreeSet<&Path>,
        aside: &Path,
    ) -> Result<(), Fault> {
        let mut open = vec![PathBuf::new()];
        while let Some(folder) = open.pop() {
            let named = self.named.join(&folder);
            let failed = |error: io::Error| cannot(&named, &error);
            let mut is_empty = true;
            for entry in fs::read_dir(self.path.join(&folder)).map_err(failed)? {
                let entry = entry.map_err(failed)?;
                is_empty = false;
                let name = folder.join(entry.file_name());
                if entry.file_type().map_err(failed)?.is_dir() {
                    open.push(name);
                } else if of_ours.contains(&name) {
                    // Its time is over.
                } else if new.contains(name.as_path()) {
                    return Err(fault(
                        &self.named.join(&name),
                        "was not written by an earlier run and would be overwritten; move it away",
                    ));
                } else {
                    fs::create_dir_all(aside.join(&folder))
                        .and_then(|()| link(&entry.path(), &aside.join(&name)))
                        .map_err(|error| cannot(&self.named.join(&name), &error))?;
                }
            }
            if is_empty {
                fs::create_dir_all(aside.join(&folder)).map_err(failed)?;
            }
        }
        Ok(())
    }

    /// Puts the new folder in the place of the earlier one.
    fn swap(&self, mut aside: Aside, exchange: Exchange) -> Result<(), Fault> {
        let failed = |error: &io::Error| cannot(&self.named, error);
        if !self.path.exists() {
            fs::rename(&aside.path, &self.path).map_err(|error| failed(&error))?;
            aside.path = PathBuf::new();
            return Ok(());
        }
        // From here on the folder aside holds the earlier output, and goes with `aside`.
        match exchange(&aside.path, &self.path) {
            Ok(()) => {}
            Err(error) if has_no_exchange(&error) => {
                let old = self.aside("old");
                let _earlier_lock = lock(&self.path);
                fs::rename(&self.path, &old).map_err(|error| failed(&error))?;
                if let Err(error) = fs::rename(&aside.path, &self.path) {
                    let _ = fs::rename(&old, &self.path);
                    return Err(failed(&error));
                }
                aside.path = old;
            }
            Err(error) => return Err(failed(&error)),
        }
        // That the new names last is worth asking for; that they are right is certain.
        if let Ok(parent) = File::open(&self.parent) {
            let _ = parent.sync_all();
        }
        Ok(())
    }
}

/// A folder aside, locked while this run works on it and removed when the run lets go.
struct Aside {
    path: PathBuf,
    lock: Option<File>,
}

impl Drop for Aside {
    fn drop(&mut self) {
        if !self.path.as_os_str().is_empty() {
            // Should it not go, the next run clears it away.
            let _ = fs::remove_dir_all(&self.path);
        }
        self.lock = None;
    }
}

/// Locks a folder for this run, where the file system can.
fn lock(folder: &Path) -> Option<File> {
    let file = File::open(folder).ok()?;
    file.try_lock().ok().map(|()| file)
}

fn is_locked(folder: &Path) -> bool {
    File::open(folder).is_ok_and(|file| matches!(file.try_lock(), Err(TryLockError::WouldBlock)))
}

/// Writes a file; where an earlier output is to give way to it, down to the disk. The folder it
/// lies in is made where it is missing.
fn write_bytes(path: &Path, bytes: &[u8], is_guarded: bool) -> io::Result<()> {
    let mut file = match (File::create_new(path), path.parent()) {
        (Err(error), Some(folder)) if error.kind() == ErrorKind::NotFound => {
            fs::create_dir_all(folder)?;
            File::create_new(path)?
        }
        (file, _) => file?,
    };
    file.write_all(bytes)?;
    if is_guarded { file.sync_all() } else { Ok(()) }
}

/// Gives a file a second name, or a copy where the file system has no second names.
fn link(from: &Path, to: &Path) -> io::Result<()> {
    if fs::hard_link(from, to).is_ok() {
        return Ok(());
    }
    #[cfg(unix)]
    if fs::symlink_metadata(from)?.is_symlink() {
        return std::os::unix::fs::symlink(fs::read_link(from)?, to);
    }
    fs::copy(from, to).map(|_| ())
}

/// Exchanges two folders in one step.
#[cfg(unix)]
fn exchange(one: &Path, other: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE).map_err(io::Error::from)
}

/// Elsewhere there is no such step.
#[cfg(not(unix))]
fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(ErrorKind::Unsupported.into())
}

/// Whether the file system (or the system) has no exchange of two folders.
fn has_no_exchange(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        ErrorKind::Unsupported | ErrorKind::InvalidInput
    )
}

fn fault(path: &Path, text: &str) -> Fault {
    Fault {
        file: path.display().to_string(),
        place: String::new(),
        text: text.to_owned(),
    }
}

fn cannot(path: &Path, error: &io::Error) -> Fault {
    fault(path, &format!("cannot be written: {}", why(error)))
}

/// What went wrong, in plain words.
#[must_use]
pub fn why(error: &io::Error) -> String {
    let words = match error.kind() {
        ErrorKind::PermissionDenied => "permission denied",
        ErrorKind::NotFound => "there is no such file or folder",
        ErrorKind::NotADirectory => "a part of the path is a file, not a folder",
        ErrorKind::StorageFull => "no space is left on the disk",
        ErrorKind::QuotaExceeded => "the quota of disk space is used up",
        ErrorKind::FileTooLarge => "the file would be larger than is allowed here",
        ErrorKind::ReadOnlyFilesystem => "the file system is read-only",
        ErrorKind::InvalidFilename => "the name is too long or not allowed",
        _ => {
            let text = error.to_string();
            return text.split(" (os error").next().unwrap_or(&text).to_owned();
        }
    };
    words.to_owned()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formats::Written;

    /// Writes a folder of these files.
    fn write(folder: &Path, files: &[Written]) -> Result<(), Fault> {
        write_by(folder, files, exchange)
    }

    fn write_by(folder: &Path, files: &[Written], exchange: Exchange) -> Result<(), Fault> {
        let writing = Writing::begin(folder)?;
        for (name, bytes) in files {
            writing.put(name, bytes)?;
        }
        let names: Vec<&String> = files.iter().map(|(name, _)| name).collect();
        writing.end_by(&names, exchange)
    }

    fn no_exchange(_: &Path, _: &Path) -> io::Result<()> {
        Err(ErrorKind::InvalidInput.into())
    }

    /// A run's files: `summary.json` that lists them, and others with this text.
    fn run(names: &[&str], text: &str) -> Vec<Written> {
        let mut files: Vec<Written> = names
            .iter()
            .map(|name| ((*name).to_owned(), text.as_bytes().to_vec()))
            .collect();
        let listed: Vec<&str> = names.iter().copied().chain(["summary.json"]).collect();
        let summary = serde_json::json!({ "program": "swardlane", "files": listed });
        files.push(("summary.json".to_owned(), summary.to_string().into_bytes()));
        files
    }

    /// All names in a folder, hidden ones too, in order.
    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn both_ways_of_swapping_replace_ours_and_carry_over_the_rest() {
        for way in [exchange as Exchange, no_exchange] {
            let root = tempfile::tempdir().unwrap();
            let out = root.path().join("out");
            write_by(&out, &run(&["a.csv", "sheets/one.svg"], "first"), way).unwrap();
            fs::write(out.join("sheets/notes.txt"), "mine").unwrap();
            fs::create_dir(out.join("photos")).unwrap();
            write_by(&out, &run(&["b.csv"], "second"), way).unwrap();
            assert_eq!(names(&out), ["b.csv", "photos", "sheets", "summary.json"]);
            assert_eq!(names(&out.join("sheets")), ["notes.txt"]);
            assert_eq!(fs::read_to_string(out.join("b.csv")).unwrap(), "second");
            assert_eq!(names(root.path()), ["out"], "nothing is left aside");
        }
    }

    #[test]
    fn a_kill_between_two_renames_leaves_the_earlier_output_for_the_next_run() {
        let root = tempfile::tempdir().unwrap();
        let out = root.path().join("out");
        write(&out, &run(&["a.csv"], "first")).unwrap();
        fs::write(out.join("notes.txt"), "mine").unwrap();
        // As a killed run leaves it.
        fs::rename(&out, root.path().join(".out.swardlane-old-4711")).unwrap();
        let new = root.path().join(".out.swardlane-new-4711");
        fs::create_dir(&new).unwrap();
        fs::write(new.join("half.csv"), "hal").unwrap();

        let (place, _) = Place::of(&out).unwrap();
        place.recover().unwrap();
        assert_eq!(names(root.path()), ["out"]);
        assert_eq!(names(&out), ["a.csv", "notes.txt", "summary.json"]);
    }

    #[test]
    fn a_kill_after_two_renames_leaves_only_rubbish() {
        let root = tempfile::tempdir().unwrap();
        let out = root.path().join("out");
        write(&out, &run(&["a.csv"], "second")).unwrap();
        let old = root.path().join(".out.swardlane-old-4711");
        fs::create_dir(&old).unwrap();
        fs::write(old.join("a.csv"), "first").unwrap();
        Place::of(&out).unwrap().0.recover().unwrap();
        assert_eq!(names(root.path()), ["out"]);
        assert_eq!(fs::read_to_string(out.join("a.csv")).unwrap(), "second");
    }

    #[test]
    fn an_old_output_beside_a_foreign_folder_is_left_alone() {
        let root = tempfile::tempdir().unwrap();
        let (out, old) = (
            root.path().join("out"),
            root.path().join(".out.swardlane-old-4711"),
        );
        for folder in [&out, &old] {
            fs::create_dir(folder).unwrap();
            fs::write(folder.join("a.txt"), "mine").unwrap();
        }
        assert!(write(&out, &run(&["a.csv"], "new")).is_err());
        assert_eq!(names(root.path()), [".out.swardlane-old-4711", "out"]);
        assert_eq!(names(&out), ["a.txt"]);
    }

    #[test]
    fn a_folder_that_a_run_is_working_on_is_left_alone() {
        let root = tempfile::tempdir().unwrap();
        let busy = root.path().join(".out.swardlane-new-4711");
        fs::create_dir(&busy).unwrap();
        let guard = lock(&busy).unwrap();
        let out = root.path().join("out");
        write(&out, &run(&["a.csv"], "first")).unwrap();
        assert_eq!(names(root.path()), [".out.swardlane-new-4711", "out"]);
        drop(guard);
        write(&out, &run(&["a.csv"], "first")).unwrap();
        assert_eq!(names(root.path()), ["out"]);
    }

    #[test]
    fn names_that_only_look_like_ours_are_not_cleared_away() {
        let root = tempfile::tempdir().unwrap();
        for name in [
            ".out.swardlane-new-",
            ".out.swardlane-new-1a",
            ".outer.swardlane-new-1",
        ] {
            fs::create_dir(root.path().join(name)).unwrap();
        }
        write(&root.path().join("out"), &run(&[], "")).unwrap();
        assert_eq!(names(root.path()).len(), 4);
    }

    #[test]
    fn what_fails_half_way_leaves_no_trace() {
        let root = tempfile::tempdir().unwrap();
        let out = root.path().join("deep/er/out");
        // The second file would have to lie in the first.
        let broken = run(&["a", "a/b"], "text");
        let fault = write(&out, &broken).unwrap_err();
        assert!(fault.text.starts_with("cannot be written: "), "{fault}");
        assert_eq!(names(root.path()), Vec::<String>::new());
    }

    #[test]
    fn a_link_to_a_folder_stays_a_link() {
        let root = tempfile::tempdir().unwrap();
        let real = root.path().join("real");
        fs::create_dir(&real).unwrap();
        let linked = root.path().join("linked");
        std::os::unix::fs::symlink(&real, &linked).unwrap();
        write(&linked, &run(&["a.csv"], "first")).unwrap();
        assert!(fs::symlink_metadata(&linked).unwrap().is_symlink());
        assert_eq!(names(&real), ["a.csv", "summary.json"]);
    }
}
