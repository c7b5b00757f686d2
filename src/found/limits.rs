//! How much of a file of another's is read: one table, each limit with its reason. The documents
//! hold the same table. Whatever a file claims, memory and time stay within what these allow.

use std::fmt::Write as _;

use crate::job::limits::{GROUND_BYTES, NAME_LETTERS, RINGS};

/// One limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Most {
    /// What is counted.
    pub what: &'static str,
    /// How many there may be.
    pub most: usize,
    /// What is done beyond that.
    pub beyond: &'static str,
    /// Why it is so many.
    pub why: &'static str,
}

const fn most(what: &'static str, most: usize, beyond: &'static str, why: &'static str) -> Most {
    Most {
        what,
        most,
        beyond,
        why,
    }
}

const REFUSED: &str = "refused";

/// All limits, what holds for every format first.
#[rustfmt::skip]
pub const LIMITS: [Most; 21] = [
    FILE_BYTES, ALL_BYTES, FILES, FOLDER_NAMES, GROWTH, THINGS, POSITIONS, RINGS_OF_ONE, LETTERS,
    GROUPS, REMARKS, XML_DEPTH, XML_ATTRIBUTES, TASK_ELEMENTS, TASK_REFERENCES, JSON_DEPTH,
    JSON_WEIGHT, TABLE_COLUMNS, PRJ_BYTES, SEAM_CHAINS, SITES,
];

pub(super) const FILE_BYTES: Most = most(
    "bytes of one file, unpacked",
    GROUND_BYTES.greatest,
    REFUSED,
    "as many as a ground file may have",
);
pub(super) const ALL_BYTES: Most = most(
    "bytes of a file with all that belongs to it",
    2 * FILE_BYTES.most,
    REFUSED,
    "a full file and as much beside it",
);
pub(super) const FILES: Most = most(
    "files in a zip, or that belong to one file",
    500,
    REFUSED,
    "a folder of task data has some dozens",
);
pub(super) const FOLDER_NAMES: Most = most(
    "files in a folder that is looked through",
    10_000,
    REFUSED,
    "a folder of downloads has some thousands",
);
pub(super) const GROWTH: Most = most(
    "times its size that a zip unpacks to, from 1 MiB on",
    200,
    REFUSED,
    "text of coordinates packs to a tenth, nothing drawn by hand to a hundredth",
);
pub(super) const THINGS: Most = most(
    "lines, areas, places and groups of one file",
    20_000,
    REFUSED,
    "a plan of many operations has some thousands",
);
pub(super) const POSITIONS: Most = most(
    "positions of one file",
    200_000,
    REFUSED,
    "a survey by the second of a long day",
);
pub(super) const RINGS_OF_ONE: Most = most(
    "rings of one feature or record",
    RINGS.greatest,
    REFUSED,
    "as many as a feature of a ground file may have",
);
pub(super) const LETTERS: Most = most(
    "letters of a name",
    NAME_LETTERS.greatest,
    "cut",
    "as many as names of our own",
);
pub(super) const GROUPS: Most = most(
    "groups that are kept for a thing, outermost first",
    6,
    "left out",
    "each thing carries its own, so a file could fill memory with them",
);
pub(super) const REMARKS: Most = most("remarks on task data", 200, "counted", "nobody reads more");
pub(super) const XML_DEPTH: Most = most(
    "XML elements within each other",
    64,
    REFUSED,
    "folders in folders and shapes in shapes need a dozen",
);
pub(super) const XML_ATTRIBUTES: Most = most(
    "attributes of an XML element",
    64,
    REFUSED,
    "the standards' own have at most fifteen; comparing each with each costs their square",
);
pub(super) const TASK_ELEMENTS: Most = most(
    "elements of a file of task data",
    400_000,
    REFUSED,
    "a point is one; a full file holds about as many",
);
pub(super) const TASK_REFERENCES: Most = most(
    "references in task data that are followed",
    50_000,
    "told",
    "more than any field has, few enough to keep in mind",
);
pub(super) const JSON_DEPTH: Most = most(
    "lists and objects of GeoJSON within each other",
    32,
    REFUSED,
    "a MultiPolygon in a collection needs nine",
);
pub(super) const JSON_WEIGHT: Most = most(
    "bytes that GeoJSON takes once parsed",
    48 << 20,
    REFUSED,
    "half of what a whole run may take: some 13,000 features, or 160,000 positions of one",
);
pub(super) const TABLE_COLUMNS: Most = most(
    "columns of a table beside a shapefile",
    255,
    REFUSED,
    "dBASE III has no more than 128, later ones 255",
);
pub(super) const PRJ_BYTES: Most = most(
    "bytes of a `.prj`",
    16 << 10,
    REFUSED,
    "a coordinate reference system is described in a few hundred",
);
pub(super) const SEAM_CHAINS: Most = most(
    "pieces of one ground that are joined at 180 degrees",
    1_000,
    "left cut",
    "each looks for its partner among all, and no ground is cut so often",
);
pub(super) const SITES: Most = most(
    "sites that are told apart",
    20,
    "counted",
    "a club has a few",
);

/// The table of the documents.
#[must_use]
pub fn table() -> String {
    let mut text = "| what | at most | beyond that | why so many |\n|---|---|---|---|\n".to_owned();
    for Most {
        what,
        most,
        beyond,
        why,
    } in LIMITS
    {
        let _ = writeln!(
            text,
            "| {what} | {} | {beyond} | {why} |",
            by_thousands(most)
        );
    }
    text
}

/// `20,000`.
fn by_thousands(number: usize) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}
