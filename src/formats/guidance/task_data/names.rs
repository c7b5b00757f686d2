//! Names that a terminal shows: at most 32 letters each, no two lines alike.
//!
//! A line is called by its operation, its direction and the number of its pass: `mow along 12`;
//! of a pass in several parts each part by its number too: `mow along 12.2`. Where that is too
//! long, the words are cut and the place of operation and direction in the job stands behind
//! them, so that no two are alike: `renovation-of-the-whol~12/3 12.2`. An id holds no `~`, so a
//! cut name is never like one that is whole.

use crate::plan::{DirectionPlan, OperationPlan};

/// Letters of a designator (ISO 11783-10, all elements).
pub(super) const LETTERS: usize = 32;

/// Text on one line without letters that XML 1.0 forbids (section 2.2).
pub(super) fn clean(text: &str) -> String {
    let allowed = text
        .chars()
        .filter(|letter| !matches!(letter, '\u{fffe}' | '\u{ffff}'))
        .map(|letter| if letter.is_control() { ' ' } else { letter });
    let spaced: String = allowed.collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The first letters of a text, cleaned.
pub(super) fn cut(text: &str, letters: usize) -> String {
    let cut: String = clean(text).chars().take(letters).collect();
    cut.trim_end().to_owned()
}

/// A text as lines of at most 32 letters, broken between words where that is possible.
pub(super) fn lines(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in clean(text).split(' ') {
        let letters: Vec<char> = word.chars().collect();
        for piece in letters.chunks(LETTERS) {
            let piece: String = piece.iter().collect();
            match lines.last_mut() {
                Some(line) if line.chars().count() + 1 + piece.chars().count() <= LETTERS => {
                    line.push(' ');
                    line.push_str(&piece);
                }
                _ => lines.push(piece),
            }
        }
    }
    lines
}

/// The name of a direction of an operation, in so many letters; `number` from 1.
fn of_direction_in(planned: &OperationPlan, number: usize, letters: usize) -> String {
    let operation = &planned.operation;
    let name = planned
        .directions
        .get(number.saturating_sub(1))
        .map_or("", |direction| direction.passes.name.as_str());
    let whole = format!("{} {name}", operation.id);
    if whole.chars().count() <= letters {
        return whole;
    }
    let tail = format!("~{}/{number}", operation.number);
    let head = cut(&whole, letters.saturating_sub(tail.len()));
    format!("{head}{tail}")
}

/// The name of a direction of an operation.
pub(super) fn of_direction(planned: &OperationPlan, number: usize) -> String {
    of_direction_in(planned, number, LETTERS)
}

/// The names of all parts of a direction, in their order.
pub(super) fn of_parts(
    planned: &OperationPlan,
    direction: &DirectionPlan,
    number: usize,
) -> Vec<String> {
    let mut tails = Vec::new();
    for pass in &direction.passes.passes {
        for part in &pass.parts {
            tails.push(match pass.parts.len() {
                1 => format!(" {}", pass.number),
                _ => format!(" {}.{}", pass.number, part.number),
            });
        }
    }
    let longest = tails.iter().map(String::len).max().unwrap_or(0);
    let head = of_direction_in(planned, number, LETTERS.saturating_sub(longest));
    tails.iter().map(|tail| format!("{head}{tail}")).collect()
}

#[cfg(test)]
mod tests {
    use super::{clean, cut, lines};

    #[test]
    fn text_loses_control_letters() {
        assert_eq!(clean(" a\u{1}b\n\tc\u{fffe}\u{85} "), "a b c");
    }

    #[test]
    fn names_are_cut_between_letters() {
        assert_eq!(cut("Grünfläche – Süd", 7), "Grünflä");
        assert_eq!(cut("ab cd", 3), "ab");
    }

    #[test]
    fn long_texts_are_broken_between_words() {
        let text = "a text of several words that is broken äöü".repeat(3);
        let broken = lines(&text);
        assert!(broken.iter().all(|line| line.chars().count() <= 32));
        assert_eq!(broken.join(" "), text);
        assert_eq!(lines(&"x".repeat(40)), ["x".repeat(32), "x".repeat(8)]);
    }
}
