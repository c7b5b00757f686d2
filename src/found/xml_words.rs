//! What is said of XML that is refused, whichever reader goes through it.

use super::limits::{XML_ATTRIBUTES, XML_DEPTH};
use crate::job::near;

pub(super) const NOT_UTF_8: &str = "not written in UTF-8; save the file again in UTF-8";
pub(super) const DOCUMENT_TYPE: &str = "has a document type (`<!DOCTYPE`), through which a file can \
                                        grow or fetch others; take that line out";

pub(super) fn no_xml(why: &str) -> String {
    /// Letters of what the XML reader says; it repeats names of the file, however long.
    const SHOWN: usize = 120;
    let why: String = why.chars().take(SHOWN).collect();
    format!("not sound XML: {why}; mend it there, or save the file again")
}

pub(super) fn second_root() -> String {
    no_xml("a second outermost element")
}

/// Of a file without an element in it.
pub(super) fn nothing(format: &str) -> String {
    format!("there is no XML in it; give a {format} file")
}

/// Of a file that ends within an element of that name.
pub(super) fn stops_early(within: &str) -> String {
    let within = near::short(within);
    format!("the file stops too early, within `{within}`; save or copy it again")
}

pub(super) fn entity(name: &str) -> String {
    format!(
        "names an entity `&{};` that is none of XML's own five; write the letter itself",
        near::short(name)
    )
}

/// Refuses one element more where so many are open.
pub(super) fn deep_enough(open: usize) -> Result<(), String> {
    let most = XML_DEPTH.most;
    if open < most {
        return Ok(());
    }
    Err(format!(
        "elements stand more than {most} deep within each other, which no sound file needs; save \
         the file again"
    ))
}

/// Refuses an element of so many attributes.
pub(super) fn few_attributes(count: usize) -> Result<(), String> {
    let most = XML_ATTRIBUTES.most;
    if count <= most {
        return Ok(());
    }
    Err(format!(
        "an element has more than {most} attributes; save the file again"
    ))
}
