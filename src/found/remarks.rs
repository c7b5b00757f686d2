//! What is said of a file of another's beside what is found in it, and which words of it are kept:
//! whatever the file holds, a few short sentences and short names.

use super::limits::LETTERS;
use crate::job::near;

/// Remarks of a reader: each sort once, with how often and where first.
#[derive(Default)]
pub(super) struct Remarks {
    /// What, the word that it was first said of, how often, and the byte where first.
    sorts: Vec<(&'static str, Option<String>, usize, usize)>,
    /// What the file calls itself.
    called: Option<String>,
}

impl Remarks {
    /// Something that may come often.
    pub(super) fn add(&mut self, what: &'static str, word: Option<&str>, at: usize) {
        match self.sorts.iter_mut().find(|(sort, ..)| *sort == what) {
            Some((_, _, count, _)) => *count += 1,
            None => self.sorts.push((what, word.map(near::short), 1, at)),
        }
    }

    /// What the file calls itself; only the first such name is told.
    pub(super) fn called(&mut self, name: &str) {
        if self.called.is_none() {
            self.called = Some(name.to_owned());
        }
    }

    /// All of them, in the order in which they came up.
    pub(super) fn sentences(self, bytes: &[u8]) -> Vec<String> {
        let sort = |(what, word, count, at): (&str, Option<String>, usize, usize)| {
            let word = word.map_or_else(String::new, |word| format!(" (`{word}`)"));
            let line = line_of(bytes, at);
            match count {
                1 => format!("line {line}: {what}{word}"),
                _ => format!("{count} times, first in line {line}: {what}{word}"),
            }
        };
        let all = self.sorts.into_iter().map(sort);
        let called = self
            .called
            .map(|name| format!("the file calls itself `{name}`"));
        called.into_iter().chain(all).collect()
    }
}

/// The line of a byte in a file, from 1.
pub(super) fn line_of(bytes: &[u8], at: usize) -> usize {
    let before = bytes.get(..at).unwrap_or(bytes);
    1 + before.iter().filter(|&&byte| byte == b'\n').count()
}

/// A name as it is kept: one line of at most as many letters as names of our own; `None` where
/// nothing is left.
pub(super) fn kept_name(text: &str) -> Option<String> {
    let most = LETTERS.most;
    let words: Vec<&str> = text.split_whitespace().take(most).collect();
    let line: String = words
        .join(" ")
        .chars()
        .take(most)
        .map(near::shown)
        .collect();
    (!line.is_empty()).then_some(line)
}
