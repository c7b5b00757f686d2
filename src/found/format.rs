//! Which format a file has: by its content first, by the end of its name second, for people
//! rename files and programs do not look at names.

use quick_xml::Reader;
use quick_xml::events::Event;

use super::fault;
use crate::fault::Fault;

/// The formats that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// GeoJSON (RFC 7946).
    GeoJson,
    /// OGC KML 2.2.
    Kml,
    /// GPX 1.1.
    Gpx,
    /// A shapefile (ESRI, 1998).
    Shapefile,
    /// ISO 11783-10 task data.
    TaskData,
}

/// How a zip begins: an entry, or the end of an empty one (APPNOTE.TXT, PKWARE, 4.3).
const ZIP_STARTS: [&[u8]; 2] = [b"PK\x03\x04", b"PK\x05\x06"];
/// How a shapefile begins: file code 9994 (ESRI Shapefile Technical Description, 1998,
/// Main File Header; from memory).
const SHAPEFILE_START: &[u8] = &[0, 0, 0x27, 0x0a];
/// Bytes within which an XML file has begun its first element; before it stand comments at most.
const XML_HEAD_BYTES: usize = 64 << 10;

pub(super) fn is_zip(bytes: &[u8]) -> bool {
    ZIP_STARTS.iter().any(|start| bytes.starts_with(start))
}

/// The last part of a path, in a zip or on a disk.
pub(super) fn last_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// Whether a file belongs to another in the same folder: the parts of a shapefile, the further
/// files of a task data set.
pub(super) fn belongs(main: &str, other: &str) -> bool {
    let (main, other) = (main.to_ascii_lowercase(), other.to_ascii_lowercase());
    let Some((stem, end)) = other.rsplit_once('.') else {
        return false;
    };
    match Format::of_name(&main) {
        Some(Format::Shapefile) => {
            main.strip_suffix(".shp") == Some(stem) && ["dbf", "prj", "cpg"].contains(&end)
        }
        // Files that TASKDATA.XML names have eight letters: `PFD00001.XML` (ISO 11783-10).
        Some(Format::TaskData) => end == "xml" && stem.len() == 8 && stem != "taskdata",
        _ => false,
    }
}

impl Format {
    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::GeoJson => "GeoJSON",
            Self::Kml => "KML",
            Self::Gpx => "GPX",
            Self::Shapefile => "shapefile",
            Self::TaskData => "ISO 11783-10 task data",
        }
    }

    /// The format that a file's name speaks of.
    pub(super) fn of_name(file: &str) -> Option<Self> {
        let name = last_name(file).to_ascii_lowercase();
        if name == "taskdata.xml" {
            return Some(Self::TaskData);
        }
        match name.rsplit_once('.')?.1 {
            "geojson" | "json" => Some(Self::GeoJson),
            "kml" => Some(Self::Kml),
            "gpx" => Some(Self::Gpx),
            "shp" => Some(Self::Shapefile),
            _ => None,
        }
    }

    /// The format of a file.
    ///
    /// # Errors
    /// A [`Fault`] where it is none that is read.
    pub(super) fn of(file: &str, bytes: &[u8]) -> Result<Self, Fault> {
        if bytes.iter().all(u8::is_ascii_whitespace) {
            return Err(fault(file, "", "is empty; save or copy it again"));
        }
        if is_zip(bytes) {
            return Err(fault(
                file,
                "",
                "is a zip within a zip, which is not opened; unpack the outer one first",
            ));
        }
        Self::by_content(bytes)
            .or_else(|| Self::of_name(file))
            .ok_or_else(|| {
                fault(
                    file,
                    "",
                    "is of no format that is read; give a GeoJSON, KML, GPX, shapefile (.shp), \
                     TASKDATA.XML, a TASKDATA folder, or a zip of one of these",
                )
            })
    }

    fn by_content(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(SHAPEFILE_START) {
            return Some(Self::Shapefile);
        }
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        match bytes.iter().find(|byte| !byte.is_ascii_whitespace())? {
            b'{' => Some(Self::GeoJson),
            b'<' => Self::by_element(&bytes[..bytes.len().min(XML_HEAD_BYTES)]),
            _ => None,
        }
    }

    /// By the first element of an XML file. Nothing is expanded on the way to it.
    fn by_element(head: &[u8]) -> Option<Self> {
        let mut reader = Reader::from_reader(head);
        loop {
            match reader.read_event() {
                Ok(Event::Start(element) | Event::Empty(element)) => {
                    return match element.local_name().as_ref() {
                        b"kml" => Some(Self::Kml),
                        b"gpx" => Some(Self::Gpx),
                        b"ISO11783_TaskData" => Some(Self::TaskData),
                        _ => None,
                    };
                }
                Ok(Event::Eof) | Err(_) => return None,
                Ok(_) => {}
            }
        }
    }
}
