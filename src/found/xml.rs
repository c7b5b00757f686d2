//! XML of strangers, gone through once from front to back: elements are told to a [`Listener`]
//! as they open and close. Nothing is kept but the elements that are open, nothing is expanded,
//! nothing outside the file is looked at, and no function calls itself.
//!
//! The XML readers of format libraries are not used on strangers' files: the one for KML never
//! ends on a file that stops within a placemark and panics on a point without coordinates, the
//! one for GPX refuses a whole file for one element that it does not know, and neither says in
//! which line.

use quick_xml::NsReader;
use quick_xml::escape::{resolve_predefined_entity, unescape};
use quick_xml::events::{BytesStart, Event};
use quick_xml::name::ResolveResult;

use super::fault;
use super::remarks::{Remarks, line_of};
use super::tally::sized;
use super::xml_words::{
    DOCUMENT_TYPE, NOT_UTF_8, deep_enough, entity, few_attributes, no_xml, nothing, second_root,
    stops_early,
};
use crate::fault::Fault;
use crate::job::near;

/// Who listens to the elements of a file. Texts of faults are put beside file and line.
pub(super) trait Listener {
    /// What the outermost element is called.
    const ROOT: &'static str;
    /// The format in words, for messages.
    const FORMAT: &'static str;

    /// Whether elements of that namespace belong to the format.
    fn knows(namespace: &str) -> bool;

    /// In which order the standard wants what stands in an element; of a row any one.
    fn order(parent: &str) -> &'static [&'static [&'static str]];

    /// An element opens; it is the last of the path.
    fn open(&mut self, path: Path<'_>, attributes: &[(String, String)]) -> Result<Then, String>;

    /// The last element of the path closes, with the text that stood in it.
    fn close(&mut self, path: Path<'_>, text: &str) -> Result<(), String>;

    /// Where remarks go.
    fn remarks(&mut self) -> &mut Remarks;
}

/// What is done with what stands in an element.
pub(super) enum Then {
    /// It is told.
    Tell,
    /// It is passed over.
    PassOver,
}

/// An element that is open.
pub(super) struct Open {
    name: String,
    text: String,
    /// Where in the order of its parent the last child stood.
    rank: usize,
}

/// The open elements, the outermost first, and the place in the file.
#[derive(Clone, Copy)]
pub(super) struct Path<'a> {
    open: &'a [Open],
    /// Byte in the file.
    pub at: usize,
    /// Whether the last element is in a namespace.
    pub has_namespace: bool,
}

impl<'a> Path<'a> {
    /// The name of the last element.
    pub(super) fn name(self) -> &'a str {
        self.above(0)
    }

    /// The name of the element that holds it; empty where there is none.
    pub(super) fn parent(self) -> &'a str {
        self.above(1)
    }

    /// The name so many elements further out; empty where there is none.
    pub(super) fn above(self, steps: usize) -> &'a str {
        let index = self.open.len().checked_sub(steps + 1);
        index.map_or("", |index| &self.open[index].name)
    }

    /// How many elements are open.
    pub(super) fn depth(self) -> usize {
        self.open.len()
    }
}

/// Tells a file's elements to a listener.
///
/// # Errors
/// A [`Fault`] where it is too large, no sound XML, or where the listener refuses it.
pub(super) fn listen(file: &str, bytes: &[u8], listener: &mut impl Listener) -> Result<(), Fault> {
    walk(bytes, listener).map_err(|(at, text)| {
        let place = at.map_or_else(String::new, |at| format!("line {}", line_of(bytes, at)));
        fault(file, &place, text)
    })
}

/// A byte in the file, where there is one, and what is wrong there.
type Wrong = (Option<usize>, String);

fn walk<L: Listener>(bytes: &[u8], listener: &mut L) -> Result<(), Wrong> {
    let text = as_text(bytes)?;
    let before = bytes.len() - text.len();
    let mut reader = NsReader::from_str(text);
    // `<a/>` is told like `<a></a>`.
    reader.config_mut().expand_empty_elements = true;
    let mut open: Vec<Open> = Vec::new();
    // So many elements are open within one that is passed over, itself included.
    let mut passed_over = 0;
    let mut is_over = false;
    loop {
        let at = before + position(reader.buffer_position());
        let wrong = |text: String| (Some(at), text);
        let event = match reader.read_resolved_event() {
            Ok((namespace, Event::Start(element))) => {
                let has_namespace = matches!(namespace, ResolveResult::Bound(_));
                let is_ours = match namespace {
                    ResolveResult::Unbound => true,
                    ResolveResult::Bound(name) => std::str::from_utf8(name.0).is_ok_and(L::knows),
                    ResolveResult::Unknown(_) => false,
                };
                Told::Opens(element, is_ours, has_namespace)
            }
            Ok((_, event)) => Told::Other(event),
            Err(error) => {
                let at = before + position(reader.error_position());
                return Err((Some(at), no_xml(&error.to_string())));
            }
        };
        match event {
            Told::Opens(element, is_ours, has_namespace) => {
                deep_enough(open.len() + passed_over).map_err(wrong)?;
                if is_over {
                    return Err(wrong(second_root()));
                }
                if passed_over > 0 {
                    passed_over += 1;
                    continue;
                }
                let name = String::from_utf8_lossy(element.local_name().as_ref()).into_owned();
                if open.is_empty() && (name != L::ROOT || !is_ours) {
                    let name = near::short(&String::from_utf8_lossy(element.name().as_ref()));
                    return Err(wrong(format!(
                        "the outermost element is `{name}` and not the `{}` of {}; give a {} file",
                        L::ROOT,
                        L::FORMAT,
                        L::FORMAT
                    )));
                }
                if !is_ours {
                    let what = "what is no part of the format is passed over";
                    let name = String::from_utf8_lossy(element.name().as_ref()).into_owned();
                    listener.remarks().add(what, Some(&name), at);
                    passed_over = 1;
                    continue;
                }
                if let Some(parent) = open.last_mut() {
                    check_order::<L>(parent, &name, at, listener);
                }
                let attributes = attributes(&element).map_err(wrong)?;
                open.push(Open {
                    name,
                    text: String::new(),
                    rank: 0,
                });
                let path = Path {
                    open: &open,
                    at,
                    has_namespace,
                };
                match listener.open(path, &attributes).map_err(wrong)? {
                    Then::Tell => {}
                    Then::PassOver => {
                        open.pop();
                        passed_over = 1;
                    }
                }
            }
            Told::Other(Event::End(_)) => {
                if passed_over > 0 {
                    passed_over -= 1;
                    is_over = open.is_empty() && passed_over == 0;
                    continue;
                }
                if let Some(last) = open.last_mut() {
                    let text = std::mem::take(&mut last.text);
                    let path = Path {
                        open: &open,
                        at,
                        has_namespace: true,
                    };
                    listener.close(path, &text).map_err(wrong)?;
                }
                open.pop();
                is_over = open.is_empty();
            }
            Told::Other(event) => {
                if matches!(event, Event::Eof) {
                    break;
                }
                let text = text_of(&event).map_err(wrong)?;
                if let (Some(text), Some(last), 0) = (text, open.last_mut(), passed_over) {
                    last.text.push_str(&text);
                }
            }
        }
    }
    let still_open = open.last().map(|element| near::short(&element.name));
    match still_open {
        Some(name) => Err((Some(bytes.len()), stops_early(&name))),
        None if is_over => Ok(()),
        None => Err((None, nothing(L::FORMAT))),
    }
}

/// What the reader says, sorted.
enum Told<'a> {
    /// An element opens; whether it belongs to the format, and whether it is in a namespace.
    Opens(BytesStart<'a>, bool, bool),
    Other(Event<'a>),
}

/// The text of a file, without a byte order mark.
fn as_text(bytes: &[u8]) -> Result<&str, Wrong> {
    sized(bytes.len()).map_err(|text| (None, text))?;
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(error) => Err((Some(error.valid_up_to()), NOT_UTF_8.to_owned())),
    }
}

/// What stands between tags; `None` for what says nothing.
fn text_of(event: &Event<'_>) -> Result<Option<String>, String> {
    match event {
        Event::Text(text) => {
            let text = text.decode().map_err(|error| no_xml(&error.to_string()))?;
            Ok(Some(text.into_owned()))
        }
        Event::CData(text) => {
            let text = text.decode().map_err(|error| no_xml(&error.to_string()))?;
            Ok(Some(text.into_owned()))
        }
        Event::GeneralRef(reference) => {
            let name = reference
                .decode()
                .map_err(|error| no_xml(&error.to_string()))?;
            if let Some(text) = resolve_predefined_entity(&name) {
                return Ok(Some(text.to_owned()));
            }
            match reference.resolve_char_ref() {
                Ok(Some(letter)) => Ok(Some(letter.to_string())),
                Ok(None) => Err(entity(&name)),
                Err(error) => Err(no_xml(&error.to_string())),
            }
        }
        Event::DocType(_) => Err(DOCUMENT_TYPE.to_owned()),
        _ => Ok(None),
    }
}

fn attributes(element: &BytesStart<'_>) -> Result<Vec<(String, String)>, String> {
    let mut all = Vec::new();
    for attribute in element.attributes() {
        few_attributes(all.len() + 1)?;
        let attribute = attribute.map_err(|error| no_xml(&error.to_string()))?;
        let name = String::from_utf8_lossy(attribute.key.local_name().as_ref()).into_owned();
        let value = String::from_utf8_lossy(&attribute.value);
        let value = unescape(&value).map_err(|error| no_xml(&error.to_string()))?;
        // A prefix makes it another's attribute.
        if attribute.key.prefix().is_none() {
            all.push((name, value.into_owned()));
        }
    }
    Ok(all)
}

/// The value of the attribute of that name.
pub(super) fn attribute<'a>(attributes: &'a [(String, String)], name: &str) -> Option<&'a str> {
    let found = attributes.iter().find(|(have, _)| have == name);
    found.map(|(_, value)| value.as_str())
}

/// Remarks on a child that stands before one that should come first.
fn check_order<L: Listener>(parent: &mut Open, name: &str, at: usize, listener: &mut L) {
    let order = L::order(&parent.name);
    let Some(rank) = order.iter().position(|row| row.contains(&name)) else {
        return;
    };
    if rank < parent.rank {
        let what = "stands after what the standard wants after it; read all the same";
        listener.remarks().add(what, Some(name), at);
    } else {
        parent.rank = rank;
    }
}

fn position(at: u64) -> usize {
    usize::try_from(at).unwrap_or(usize::MAX)
}
