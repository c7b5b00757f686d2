//! XML written from the top to the bottom, one element a line and each a space further in than
//! the one it lies in: as it is read, without a tree of it in between.

use std::fmt::{self, Display, Write};

/// The first line of every file.
pub(super) const DECLARATION: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>";

/// A text of elements that grows. Every line begins with its line feed.
pub(super) struct Xml {
    text: String,
    /// The names of the elements that are open, outermost first.
    open: Vec<&'static str>,
    /// How many elements lie about all of it.
    depth: usize,
    /// Whether the tag of the innermost open element is not closed yet.
    is_in_tag: bool,
}

impl Xml {
    /// A text after these letters, so many elements deep.
    pub(super) fn after(text: impl Into<String>, depth: usize) -> Self {
        Self {
            text: text.into(),
            open: Vec::new(),
            depth,
            is_in_tag: false,
        }
    }

    /// Begins an element within the one that is open.
    pub(super) fn begin(&mut self, name: &'static str) {
        self.line();
        self.text.push('<');
        self.text.push_str(name);
        self.open.push(name);
        self.is_in_tag = true;
    }

    /// Sets an attribute of the element just begun.
    pub(super) fn set(&mut self, key: &str, value: impl Display) {
        for part in [" ", key, "=\""] {
            self.text.push_str(part);
        }
        self.escaped(value);
        self.text.push('"');
    }

    /// Ends the innermost open element.
    pub(super) fn end(&mut self) {
        let Some(name) = self.open.pop() else { return };
        if std::mem::take(&mut self.is_in_tag) {
            self.text.push_str("/>");
        } else {
            self.line();
            self.close(name);
        }
    }

    /// An element with nothing but text in it.
    pub(super) fn leaf(&mut self, name: &str, content: impl Display) {
        self.line();
        for part in ["<", name, ">"] {
            self.text.push_str(part);
        }
        self.escaped(content);
        self.close(name);
    }

    /// A comment; its text must be such that it may stand there.
    pub(super) fn comment(&mut self, text: &str) {
        self.line();
        for part in ["<!-- ", text, " -->"] {
            self.text.push_str(part);
        }
    }

    /// What was written, whatever is still open.
    pub(super) fn into_text(self) -> String {
        self.text
    }

    fn close(&mut self, name: &str) {
        for part in ["</", name, ">"] {
            self.text.push_str(part);
        }
    }

    fn line(&mut self) {
        if std::mem::take(&mut self.is_in_tag) {
            self.text.push('>');
        }
        self.text.push('\n');
        let further_in = self.depth + self.open.len();
        self.text.extend(std::iter::repeat_n(' ', further_in));
    }

    fn escaped(&mut self, value: impl Display) {
        // Writing to a string does not fail.
        let _ = write!(Escaped(&mut self.text), "{value}");
    }
}

/// Letters that mean something in XML, as they stand in text and in attributes.
struct Escaped<'a>(&'a mut String);

impl Write for Escaped<'_> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        let is_special = |byte| matches!(byte, b'<' | b'>' | b'&' | b'\'' | b'"');
        let mut rest = text;
        while let Some(at) = rest.bytes().position(is_special) {
            let (plain, from) = rest.split_at(at);
            let (special, after) = from.split_at(1);
            self.0.push_str(plain);
            self.0.push_str(match special {
                "<" => "&lt;",
                ">" => "&gt;",
                "&" => "&amp;",
                "'" => "&apos;",
                _ => "&quot;",
            });
            rest = after;
        }
        self.0.push_str(rest);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elements_lie_in_each_other_and_an_empty_one_is_a_single_tag() {
        let mut xml = Xml::after(DECLARATION, 0);
        xml.begin("A");
        xml.set("key", "<\"Mill\" & 'Bank'>");
        xml.begin("B");
        xml.leaf("C", 1.5);
        xml.begin("D");
        xml.end();
        xml.end();
        xml.end();
        assert_eq!(
            xml.into_text(),
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
             <A key=\"&lt;&quot;Mill&quot; &amp; &apos;Bank&apos;&gt;\">\n\
             \u{20}<B>\n  <C>1.5</C>\n  <D/>\n </B>\n</A>"
        );
    }
}
