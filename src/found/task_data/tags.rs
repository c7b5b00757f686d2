//! The tags of an XML file, one after the other, read without building a tree: no document type
//! (so no entity of the file's own), so deep and so many elements at most.

use quick_xml::XmlVersion;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::reader::Reader;

use crate::fault::Fault;
use crate::found::fault;
use crate::found::remarks::line_of;
use crate::job::near::short;

/// Elements within each other; the standard's own nest eight deep.
const DEPTH: usize = 32;
/// Elements of one file. A point is one; sixteen megabytes hold about as many.
const ELEMENTS: usize = 400_000;
/// Attributes of one element; the standard's own have at most fifteen.
const ATTRIBUTES: usize = 64;

/// A file as given.
pub(super) struct Source<'a> {
    /// As the user named it.
    pub file: &'a str,
    /// Its bytes.
    pub bytes: &'a [u8],
}

impl Source<'_> {
    /// A fault at that byte of the file.
    pub(super) fn fault(&self, at: usize, text: impl Into<String>) -> Fault {
        fault(
            self.file,
            &format!("line {}", line_of(self.bytes, at)),
            text,
        )
    }
}

/// An element as it opens.
pub(super) struct Tag {
    /// Its name.
    pub name: String,
    attributes: Vec<(String, String)>,
    /// The byte after its tag, for messages.
    pub at: usize,
}

impl Tag {
    /// An attribute; an empty one is none.
    pub(super) fn get(&self, key: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(name, _)| name == key);
        let value = found.map(|(_, value)| value.trim());
        value.filter(|value| !value.is_empty())
    }
}

/// What happens next in a file.
pub(super) enum Next {
    /// An element opens.
    Open(Tag),
    /// The last opened element closes.
    Close,
}

/// Hands over every tag of a file in its order.
///
/// # Errors
/// A [`Fault`] where the file is no XML of this kind, or what `take` finds wrong.
pub(super) fn walk(
    source: &Source<'_>,
    mut take: impl FnMut(Next) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let text = std::str::from_utf8(source.bytes).map_err(|error| {
        source.fault(
            error.valid_up_to(),
            "a letter is not UTF-8; save the file as UTF-8",
        )
    })?;
    let mut reader = Reader::from_str(text);
    let (mut depth, mut elements) = (0_usize, 0_usize);
    loop {
        let event = reader.read_event();
        let at = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX);
        let event = event.map_err(|error| {
            let at = usize::try_from(reader.error_position()).unwrap_or(at);
            source.fault(at, format!("this is no XML: {}", short(&error.to_string())))
        })?;
        let (start, is_empty) = match event {
            Event::Eof if elements == 0 => {
                return Err(source.fault(at, "this is no XML: there is no element in it"));
            }
            Event::Eof if depth > 0 => {
                return Err(source.fault(at, "the file ends too early; save it whole"));
            }
            Event::Eof => return Ok(()),
            Event::DocType(_) => {
                let text = "a document type (`<!DOCTYPE`) stands here; task data has none, and \
                            none is read: take it out";
                return Err(source.fault(at, text));
            }
            Event::GeneralRef(entity) if !is_known(&entity) => {
                let name = String::from_utf8_lossy(&entity);
                let text = format!(
                    "`&{};` names an entity that is none of XML's own five; write the letter itself",
                    short(&name)
                );
                return Err(source.fault(at, text));
            }
            Event::End(_) => {
                depth = depth.saturating_sub(1);
                take(Next::Close)?;
                continue;
            }
            Event::Start(start) => (start, false),
            Event::Empty(start) => (start, true),
            _ => continue,
        };
        elements += 1;
        if depth == 0 && elements > 1 {
            return Err(source.fault(at, "a second root stands here; keep one"));
        }
        if elements > ELEMENTS {
            let text = format!("there are more than {ELEMENTS} elements; write less into one file");
            return Err(source.fault(at, text));
        }
        if depth >= DEPTH {
            let text = format!("elements lie more than {DEPTH} deep; task data does not");
            return Err(source.fault(at, text));
        }
        take(Next::Open(tag(source, &start, at)?))?;
        if is_empty {
            take(Next::Close)?;
        } else {
            depth += 1;
        }
    }
}

/// Whether an entity is one of XML's own five or a letter by its number.
fn is_known(entity: &BytesRef<'_>) -> bool {
    let name = String::from_utf8_lossy(entity);
    resolve_predefined_entity(&name).is_some() || matches!(entity.resolve_char_ref(), Ok(Some(_)))
}

fn tag(source: &Source<'_>, start: &BytesStart<'_>, at: usize) -> Result<Tag, Fault> {
    let broken = |what: String| source.fault(at, format!("this is no XML: {}", short(&what)));
    let name = String::from_utf8_lossy(start.name().as_ref()).into_owned();
    let mut attributes = Vec::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|error| broken(error.to_string()))?;
        let key = String::from_utf8_lossy(attribute.key.as_ref()).into_owned();
        let value = attribute
            .normalized_value(XmlVersion::Explicit1_0)
            .map_err(|error| broken(error.to_string()))?;
        attributes.push((key, value.into_owned()));
        if attributes.len() > ATTRIBUTES {
            let text =
                format!("an element has more than {ATTRIBUTES} attributes; task data has not");
            return Err(source.fault(at, text));
        }
    }
    Ok(Tag {
        name,
        attributes,
        at,
    })
}
