//! A zip: the one thing in it that can be read, with what belongs to it.
//!
//! Nothing is written to the disk, and nothing that the zip says of itself is believed: what
//! comes out of it is counted while it is unpacked. The crate `zip` would set aside room for as
//! many entries as it finds, so their marks are counted first.

use std::io::{Cursor, Read as _};

use zip::ZipArchive;
use zip::result::ZipError;

use super::format::{Format, belongs, last_name};
use super::{Bundle, fault, limits};
use crate::fault::Fault;
use crate::job::near;

/// How an entry of the list of a zip begins (APPNOTE.TXT, PKWARE, 4.3.12).
const ENTRY_START: &[u8] = b"PK\x01\x02";
const FILE_BYTES: usize = limits::FILE_BYTES.most;
const ALL_BYTES: usize = limits::ALL_BYTES.most;
const FILES: usize = limits::FILES.most;
/// A zip that grows by more than this is a bomb.
const MOST_GROWTH: usize = limits::GROWTH.most;
/// Growth is not looked at below this, bytes: a small file of spaces packs well and harms nobody.
const SMALL: usize = 1 << 20;

/// An entry that may be wanted.
struct Entry {
    index: usize,
    name: String,
}

/// What is in a zip, by its list. Its bytes are still packed.
struct Opened<'a> {
    file: &'a str,
    archive: ZipArchive<Cursor<&'a [u8]>>,
    packed: usize,
    unpacked: usize,
}

/// Opens a zip and takes the one thing out of it that can be read.
pub(super) fn open(file: &str, bytes: &[u8]) -> Result<Bundle, Fault> {
    let entries = bytes.windows(ENTRY_START.len());
    if entries.filter(|window| *window == ENTRY_START).count() > FILES {
        return Err(fault(
            file,
            "",
            format!("holds more than {FILES} files; unpack it and read the one you mean"),
        ));
    }
    let archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| broken(file, ""))?;
    let mut opened = Opened {
        file,
        archive,
        packed: bytes.len(),
        unpacked: 0,
    };
    let entries = opened.list()?;
    let main = opened.the_one(&entries)?;
    let folder = &main.name[..main.name.len() - last_name(&main.name).len()];
    let mut bundle = Bundle {
        file: format!("{file}/{}", main.name),
        main: opened.unpack(main)?,
        ..Bundle::default()
    };
    for entry in &entries {
        let is_near = entry
            .name
            .strip_prefix(folder)
            .is_some_and(|rest| !rest.contains('/') && belongs(last_name(&main.name), rest));
        if is_near {
            let name = last_name(&entry.name).to_ascii_lowercase();
            let bytes = opened.unpack(entry)?;
            bundle.beside.insert(name, bytes);
        }
    }
    Ok(bundle)
}

/// A zip that cannot be unpacked. What the crate says of it names its own parts and helps nobody.
fn broken(file: &str, name: &str) -> Fault {
    fault(file, name, "not a sound zip; copy or pack it again")
}

impl Opened<'_> {
    /// The files in it, folders and links left out, in the order of the zip.
    fn list(&mut self) -> Result<Vec<Entry>, Fault> {
        let mut entries = Vec::new();
        for index in 0..self.archive.len() {
            let entry = self
                .archive
                .by_index_raw(index)
                .map_err(|_| broken(self.file, ""))?;
            let name = entry
                .name()
                .map_err(|_| broken(self.file, ""))?
                .into_owned();
            let called = near::short(&name);
            if climbs(&name) {
                return Err(fault(
                    self.file,
                    "",
                    format!(
                        "holds a file with the path `{called}`, which leads out of its folder; do \
                         not trust this zip"
                    ),
                ));
            }
            if entry.encrypted() {
                return Err(fault(
                    self.file,
                    "",
                    format!("`{called}` in it is locked by a password; pack it without one"),
                ));
            }
            // Links are not followed; what some programs add beside the files is none of theirs.
            let is_aside = name.starts_with("__MACOSX/") || last_name(&name).starts_with('.');
            if !entry.is_dir() && !entry.is_symlink() && !is_aside {
                entries.push(Entry { index, name });
            }
        }
        Ok(entries)
    }

    /// The one entry that can be read.
    fn the_one<'e>(&self, entries: &'e [Entry]) -> Result<&'e Entry, Fault> {
        let mut readable = entries
            .iter()
            .filter(|entry| Format::of_name(&entry.name).is_some());
        let text = match (readable.next(), readable.next()) {
            (Some(only), None) => return Ok(only),
            (None, _) => {
                "holds nothing that is read; it needs one GeoJSON, KML, GPX, shapefile (.shp) or \
                 TASKDATA.XML"
                    .to_owned()
            }
            (Some(first), Some(second)) => {
                let names = [first, second].map(|entry| entry.name.as_str());
                let all = names
                    .into_iter()
                    .chain(readable.map(|entry| entry.name.as_str()));
                format!(
                    "holds several files that are read: {}; unpack it and name one of them",
                    near::list(all)
                )
            }
        };
        Err(fault(self.file, "", text))
    }

    /// The bytes of an entry, counted as they come.
    fn unpack(&mut self, entry: &Entry) -> Result<Vec<u8>, Fault> {
        let called = near::short(&entry.name);
        let mut bytes = Vec::new();
        let growth = self.packed.saturating_mul(MOST_GROWTH).max(SMALL);
        let left = ALL_BYTES.min(growth).saturating_sub(self.unpacked);
        let most = left.min(FILE_BYTES);
        let packed = self
            .archive
            .by_index(entry.index)
            .map_err(|error| match error {
                ZipError::CompressionMethodNotSupported(_) => fault(
                    self.file,
                    &called,
                    "is packed by a method that is not read; pack it again as an ordinary zip",
                ),
                _ => broken(self.file, &called),
            })?;
        packed
            .take(most as u64 + 1)
            .read_to_end(&mut bytes)
            .map_err(|_| broken(self.file, &called))?;
        if bytes.len() > most {
            let how = if most == FILE_BYTES {
                format!("{FILE_BYTES} bytes")
            } else if left < ALL_BYTES - self.unpacked {
                format!("{MOST_GROWTH} times the size of the zip")
            } else {
                format!("{ALL_BYTES} bytes with what belongs to it")
            };
            return Err(fault(
                self.file,
                &called,
                format!(
                    "unpacks to more than {how}, which no file of lines and areas does; do not \
                     trust this zip"
                ),
            ));
        }
        self.unpacked += bytes.len();
        Ok(bytes)
    }
}

/// Whether a path leads out of the folder that it is unpacked in.
fn climbs(name: &str) -> bool {
    let has_drive = name.as_bytes().get(1) == Some(&b':');
    name.starts_with(['/', '\\'])
        || has_drive
        || name.contains('\0')
        || name.split(['/', '\\']).any(|part| part == "..")
}
