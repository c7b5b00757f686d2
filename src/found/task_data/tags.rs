//! The tags of an XML file, one after the other, read without building a tree: no document type
//! (so no entity of the file's own), so deep and so many elements at most.

use quick_xml::XmlVersion;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::reader::Reader;

use crate::fault::Fault;
use crate::found::fault;
use crate::found::limits::TASK_ELEMENTS;
use crate::found::remarks::line_of;
use crate::found::xml_words::{
    DOCUMENT_TYPE, NOT_UTF_8, deep_enough, entity, few_attributes, no_xml, nothing, second_root,
    stops_early,
};

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
    let text = std::str::from_utf8(source.bytes)
        .map_err(|error| source.fault(error.valid_up_to(), NOT_UTF_8))?;
    let mut reader = Reader::from_str(text);
    let (mut open, mut elements): (Vec<String>, usize) = (Vec::new(), 0);
    loop {
        let event = reader.read_event();
        let at = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX);
        let event = event.map_err(|error| {
            let at = usize::try_from(reader.error_position()).unwrap_or(at);
            source.fault(at, no_xml(&error.to_string()))
        })?;
        let (start, is_empty) = match event {
            Event::Eof if elements == 0 => {
                return Err(source.fault(at, nothing("TASKDATA.XML")));
            }
            Event::Eof => match open.last() {
                Some(name) => return Err(source.fault(at, stops_early(name))),
                None => return Ok(()),
            },
            Event::DocType(_) => return Err(source.fault(at, DOCUMENT_TYPE)),
            Event::GeneralRef(reference) if !is_known(&reference) => {
                let name = String::from_utf8_lossy(&reference);
                return Err(source.fault(at, entity(&name)));
            }
            Event::End(_) => {
                open.pop();
                take(Next::Close)?;
                continue;
            }
            Event::Start(start) => (start, false),
            Event::Empty(start) => (start, true),
            _ => continue,
        };
        elements += 1;
        if open.is_empty() && elements > 1 {
            return Err(source.fault(at, second_root()));
        }
        let most = TASK_ELEMENTS.most;
        if elements > most {
            let text = format!("there are more than {most} elements; write less into one file");
            return Err(source.fault(at, text));
        }
        deep_enough(open.len()).map_err(|text| source.fault(at, text))?;
        let tag = tag(source, &start, at)?;
        let name = tag.name.clone();
        take(Next::Open(tag))?;
        if is_empty {
            take(Next::Close)?;
        } else {
            open.push(name);
        }
    }
}

/// Whether an entity is one of XML's own five or a letter by its number.
fn is_known(entity: &BytesRef<'_>) -> bool {
    let name = String::from_utf8_lossy(entity);
    resolve_predefined_entity(&name).is_some() || matches!(entity.resolve_char_ref(), Ok(Some(_)))
}

fn tag(source: &Source<'_>, start: &BytesStart<'_>, at: usize) -> Result<Tag, Fault> {
    let broken = |what: String| source.fault(at, no_xml(&what));
    let name = String::from_utf8_lossy(start.name().as_ref()).into_owned();
    let mut attributes = Vec::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|error| broken(error.to_string()))?;
        let key = String::from_utf8_lossy(attribute.key.as_ref()).into_owned();
        let value = attribute
            .normalized_value(XmlVersion::Explicit1_0)
            .map_err(|error| broken(error.to_string()))?;
        attributes.push((key, value.into_owned()));
        few_attributes(attributes.len()).map_err(|text| source.fault(at, text))?;
    }
    Ok(Tag {
        name,
        attributes,
        at,
    })
}
