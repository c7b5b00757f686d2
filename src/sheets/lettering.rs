//! How wide text is on paper, and how it is broken into lines.
//!
//! Sheets are set in DejaVu Sans, whose advance widths stand here as a table, so that a
//! sheet can be laid out without opening a font file. Kerning is left out: it makes a line
//! of plain text narrower or wider by a per cent or two, for which there is room. A test
//! holds the table against the font itself.

/// The family named in every sheet, with the fallback of whoever shows it.
pub(super) const FONT_FAMILY: &str = "DejaVu Sans, sans-serif";

/// Height of a figure or capital over the size of the text (1493 / 2048).
pub(super) const CAP_HEIGHT: f64 = 0.729;

/// How far letters reach below the base line over the size of the text (the deepest
/// common ones: 483 / 2048).
pub(super) const DESCENT: f64 = 0.236;

/// From one base line to the next over the size of the text.
pub(super) const LINE_STEP: f64 = 1.32;

/// Units of the table in one size of text.
const UNITS: f64 = 2048.0;

/// The first character of the table.
const FIRST: u32 = 0x20;

/// What a character outside the table counts for: the widest letters are as wide as the
/// text is high.
const UNKNOWN: u16 = 2048;

/// Advance widths of U+0020 to U+017F; 0 for controls.
#[rustfmt::skip]
const ADVANCE: [u16; 352] = [
    651, 821, 942, 1716, 1303, 1946, 1597, 563, 799, 799, 1024, 1716, 651, 739, 651, 690,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 690, 690, 1716, 1716, 1716, 1087,
    2048, 1401, 1405, 1430, 1577, 1294, 1178, 1587, 1540, 604, 604, 1343, 1141, 1767, 1532, 1612,
    1235, 1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403, 1251, 1403, 799, 690, 799, 1716, 1024,
    1024, 1255, 1300, 1126, 1300, 1260, 721, 1300, 1298, 569, 569, 1186, 569, 1995, 1298, 1253,
    1300, 1300, 842, 1067, 803, 1298, 1212, 1675, 1212, 1212, 1075, 1303, 690, 1303, 1716, 0,
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    651, 821, 1303, 1303, 1303, 1303, 690, 1024, 1024, 2048, 965, 1253, 1716, 739, 2048, 1024,
    1024, 1716, 821, 821, 1024, 1303, 1303, 651, 1024, 821, 965, 1253, 1985, 1985, 1985, 1087,
    1401, 1401, 1401, 1401, 1401, 1401, 1995, 1430, 1294, 1294, 1294, 1294, 604, 604, 604, 604,
    1587, 1532, 1612, 1612, 1612, 1612, 1612, 1716, 1612, 1499, 1499, 1499, 1499, 1251, 1239, 1290,
    1255, 1255, 1255, 1255, 1255, 1255, 2011, 1126, 1260, 1260, 1260, 1260, 569, 569, 569, 569,
    1253, 1298, 1253, 1253, 1253, 1253, 1253, 1716, 1253, 1298, 1298, 1298, 1298, 1212, 1300, 1212,
    1401, 1255, 1401, 1255, 1401, 1255, 1430, 1126, 1430, 1126, 1430, 1126, 1430, 1126, 1577, 1300,
    1587, 1300, 1294, 1260, 1294, 1260, 1294, 1260, 1294, 1260, 1294, 1260, 1587, 1300, 1587, 1300,
    1587, 1300, 1587, 1300, 1540, 1298, 1876, 1423, 604, 569, 604, 569, 604, 569, 604, 569,
    604, 569, 1208, 1138, 604, 569, 1343, 1186, 1186, 1141, 569, 1141, 569, 1141, 768, 1141,
    700, 1151, 582, 1532, 1298, 1532, 1298, 1532, 1298, 1666, 1532, 1298, 1612, 1253, 1612, 1253,
    1612, 1253, 2191, 2095, 1423, 842, 1423, 842, 1423, 842, 1300, 1067, 1300, 1067, 1300, 1067,
    1300, 1067, 1251, 803, 1251, 803, 1251, 803, 1499, 1298, 1499, 1298, 1499, 1298, 1499, 1298,
    1499, 1298, 1499, 1298, 2025, 1675, 1251, 1212, 1251, 1403, 1075, 1403, 1075, 1403, 1075, 721,
];

/// Characters beyond the table that the sheets themselves use.
const FURTHER: [(char, u16); 9] = [
    ('\u{2013}', 1024),
    ('\u{2014}', 2048),
    ('\u{2018}', 651),
    ('\u{2019}', 651),
    ('\u{201c}', 1061),
    ('\u{201d}', 1061),
    ('\u{2026}', 2048),
    ('\u{2192}', 1716),
    ('\u{2212}', 1716),
];

/// Width of `text` at `size_mm`, millimetres.
pub(super) fn width_mm(text: &str, size_mm: f64) -> f64 {
    units_mm(units(text), size_mm)
}

/// Width of `text` in the units of the letters' table.
fn units(text: &str) -> u32 {
    text.chars().map(|letter| u32::from(advance(letter))).sum()
}

/// So many units at `size_mm`, millimetres.
fn units_mm(units: u32, size_mm: f64) -> f64 {
    f64::from(units) / UNITS * size_mm
}

fn advance(letter: char) -> u16 {
    let index = u32::from(letter).checked_sub(FIRST);
    let known = index
        .and_then(|index| usize::try_from(index).ok())
        .and_then(|index| ADVANCE.get(index).copied());
    known.unwrap_or_else(|| {
        let further = FURTHER.iter().find(|(known, _)| *known == letter);
        further.map_or(UNKNOWN, |(_, units)| *units)
    })
}

/// `text` in lines of at most `width_mm`, broken at spaces (not at no-break spaces), and within a
/// word only where the word alone is wider. At most `max_lines` (at least one); what is left out is
/// told by an ellipsis.
pub(super) fn wrap(text: &str, size_mm: f64, line_mm: f64, max_lines: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut line_units = 0;
    for word in text
        .split([' ', '\n', '\t'])
        .filter(|word| !word.is_empty())
    {
        for piece in break_word(word, size_mm, line_mm) {
            let piece_units = units(piece);
            let joined_units = line_units + u32::from(advance(' ')) + piece_units;
            if line.is_empty() {
                line_units = piece_units;
            } else if units_mm(joined_units, size_mm) <= line_mm {
                line.push(' ');
                line_units = joined_units;
            } else {
                lines.push(std::mem::take(&mut line));
                line_units = piece_units;
            }
            line.push_str(piece);
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    let max_lines = max_lines.max(1);
    if lines.len() > max_lines {
        lines.truncate(max_lines);
        if let Some(last) = lines.last_mut() {
            *last = shorten(&format!("{last}\u{2026}"), size_mm, line_mm);
        }
    }
    lines
}

/// A word in pieces that are each no wider than a line.
fn break_word(word: &str, size_mm: f64, line_mm: f64) -> Vec<&str> {
    let mut pieces = Vec::new();
    let (mut begun, mut piece_units) = (0, 0);
    for (at, letter) in word.char_indices() {
        let letter_units = u32::from(advance(letter));
        piece_units += letter_units;
        if units_mm(piece_units, size_mm) > line_mm && at > begun {
            pieces.push(&word[begun..at]);
            (begun, piece_units) = (at, letter_units);
        }
    }
    pieces.push(&word[begun..]);
    pieces
}

/// `text` cut with an ellipsis so that it is no wider than `line_mm`.
pub(super) fn shorten(text: &str, size_mm: f64, line_mm: f64) -> String {
    if width_mm(text, size_mm) <= line_mm {
        return text.to_owned();
    }
    let mut kept: String = text.trim_end_matches('\u{2026}').to_owned();
    while kept.pop().is_some() {
        let cut = format!("{}\u{2026}", kept.trim_end());
        if width_mm(&cut, size_mm) <= line_mm {
            return cut;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_spaces_and_keep_every_word() {
        let text = "lift the tool where the middle of it crosses the edge of the work";
        let lines = wrap(text, 2.7, 30.0, 9);
        assert!(lines.len() > 2, "{lines:?}");
        assert!(lines.iter().all(|line| width_mm(line, 2.7) <= 30.0));
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn a_word_wider_than_the_line_is_broken_and_too_much_is_cut() {
        let long = "m".repeat(200);
        let lines = wrap(&long, 3.0, 20.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines.iter().all(|line| width_mm(line, 3.0) <= 20.0));
        assert!(lines[1].ends_with('\u{2026}'));
    }

    #[test]
    fn no_text_is_one_empty_line() {
        assert_eq!(wrap("  ", 3.0, 20.0, 2), [""]);
    }

    #[test]
    fn the_table_is_that_of_the_font() {
        use resvg::usvg;
        let mut options = usvg::Options::default();
        let fonts = options.fontdb_mut();
        fonts.load_font_data(dejavu::sans::regular().to_vec());
        fonts.set_sans_serif_family("DejaVu Sans");
        let letters = (0x21..0x180).filter_map(char::from_u32);
        let further = FURTHER.iter().map(|(letter, _)| *letter);
        let mut compared = 0;
        for letter in letters.chain(further) {
            // Controls, the no-break space and the soft hyphen draw nothing. Figures
            // between the letters keep kerning out.
            if letter.is_control() || matches!(letter, '\u{a0}' | '\u{ad}') {
                continue;
            }
            let row = format!("0&#{};", u32::from(letter)).repeat(20);
            let sheet = format!(
                "<svg xmlns='http://www.w3.org/2000/svg' width='1500' height='40'>\
                 <text y='30' font-family='DejaVu Sans' font-size='20'>{row}</text></svg>"
            );
            let tree = usvg::Tree::from_str(&sheet, &options);
            let width = tree.ok().and_then(|tree| {
                tree.root()
                    .children()
                    .first()
                    .map(|text| f64::from(text.bounding_box().width()))
            });
            let expected = width_mm(&format!("0{letter}").repeat(20), 20.0);
            assert!(
                width.is_some_and(|width| (width - expected).abs() < 0.005 * expected),
                "{letter}: {width:?}, by the table {expected}"
            );
            compared += 1;
        }
        assert!(compared > 300, "{compared}");
    }
}
