//! The elements of task data as a small tree, and the tree as XML: one element a line, text
//! escaped, no letter that XML 1.0 forbids.

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

use crate::formats::FormatError;

/// An element with its attributes in the order written, and what is in it.
#[derive(Debug)]
pub(super) struct Element {
    name: &'static str,
    attributes: Vec<(&'static str, String)>,
    within: Vec<Element>,
}

impl Element {
    pub(super) const fn new(name: &'static str) -> Self {
        Self {
            name,
            attributes: Vec::new(),
            within: Vec::new(),
        }
    }

    pub(super) fn with(mut self, key: &'static str, value: impl ToString) -> Self {
        self.attributes.push((key, value.to_string()));
        self
    }

    pub(super) fn with_some(self, key: &'static str, value: Option<impl ToString>) -> Self {
        match value {
            Some(value) => self.with(key, value),
            None => self,
        }
    }

    pub(super) fn holding(mut self, elements: impl IntoIterator<Item = Self>) -> Self {
        self.within.extend(elements);
        self
    }

    /// The bytes of a file with this root, these sentences standing first in it as comments. They
    /// do not stand before it: a reader may look for the version in the first letters alone.
    pub(super) fn document(&self, sentences: &[String]) -> Result<Vec<u8>, FormatError> {
        let mut writer = Writer::new_with_indent(Vec::new(), b' ', 1);
        let mut write = |event: Event<'_>| writer.write_event(event).map_err(FormatError::Xml);
        write(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
        write(Event::Start(self.start()))?;
        for sentence in sentences {
            let comment = format!(" {} ", in_comment(sentence));
            write(Event::Comment(BytesText::from_escaped(comment)))?;
        }
        for element in &self.within {
            element.write(&mut write)?;
        }
        write(Event::End(BytesEnd::new(self.name)))?;
        let mut bytes = writer.into_inner();
        bytes.push(b'\n');
        Ok(bytes)
    }

    fn start(&self) -> BytesStart<'_> {
        let mut start = BytesStart::new(self.name);
        for (key, value) in &self.attributes {
            start.push_attribute((*key, value.as_str()));
        }
        start
    }

    fn write(
        &self,
        write: &mut dyn FnMut(Event<'_>) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        if self.within.is_empty() {
            return write(Event::Empty(self.start()));
        }
        write(Event::Start(self.start()))?;
        for element in &self.within {
            element.write(write)?;
        }
        write(Event::End(BytesEnd::new(self.name)))
    }
}

/// Text on one line without letters that XML 1.0 forbids (section 2.2).
pub(super) fn clean(text: &str) -> String {
    let allowed = text
        .chars()
        .filter(|letter| !matches!(letter, '\u{fffe}' | '\u{ffff}'))
        .map(|letter| if letter.is_control() { ' ' } else { letter });
    let spaced: String = allowed.collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Text that may stand in a comment: no two strokes together, none at its end (XML 1.0, section
/// 2.5).
fn in_comment(text: &str) -> String {
    let mut out = String::new();
    for letter in clean(text).chars() {
        if letter == '-' && out.ends_with('-') {
            out.push(' ');
        }
        out.push(letter);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{Element, clean};

    #[test]
    fn text_loses_control_letters_and_is_escaped() {
        assert_eq!(clean(" a\u{1}b\n\tc\u{fffe}\u{85} "), "a b c");
        let element = Element::new("PFD").with("C", clean("<\"Mill\" & 'Bank'>"));
        let text = element.document(&["x --- y-".to_owned()]);
        let text = String::from_utf8(text.unwrap_or_default()).unwrap_or_default();
        assert_eq!(
            text,
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
             <PFD C=\"&lt;&quot;Mill&quot; &amp; &apos;Bank&apos;&gt;\">\n\
             \u{20}<!-- x - - - y- -->\n</PFD>\n"
        );
    }
}
