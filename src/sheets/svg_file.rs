//! A scene as SVG 1.1: one user unit is one millimetre of paper.
//!
//! Numbers have fixed decimals and user text passes through the writer's escaping, so
//! that the same scene gives the same bytes and no name can break a file. No font, style
//! sheet or picture is fetched from anywhere.

use std::fmt::Write as _;

use svg::Document;
use svg::node::Blob;
use svg::node::element::{ClipPath, Definitions, Group, Rectangle, Title};

use super::lettering::FONT_FAMILY;
use super::scene::{Anchor, Frame, Ink, Item, Scene, Spot, Style, Text};

/// The bytes of a scene.
pub(super) fn write(scene: &Scene) -> Vec<u8> {
    let mut writer = Writer {
        windows: Vec::new(),
        written: 0,
    };
    let mut drawing = Group::new()
        .set("font-family", FONT_FAMILY)
        .set("stroke-linecap", "butt")
        .set("stroke-linejoin", "round");
    drawing = writer.add_all(drawing, &scene.items);
    let mut document = Document::new()
        .set("width", format!("{}mm", number(scene.width_mm)))
        .set("height", format!("{}mm", number(scene.height_mm)))
        .set(
            "viewBox",
            format!("0 0 {} {}", number(scene.width_mm), number(scene.height_mm)),
        )
        .set("version", "1.1")
        .add(Title::new(
            scene.title.chars().map(clean).collect::<String>(),
        ));
    if !writer.windows.is_empty() {
        let mut definitions = Definitions::new();
        for (index, window) in writer.windows.iter().enumerate() {
            let clip = ClipPath::new()
                .set("id", clip_name(index))
                .add(rectangle(window));
            definitions = definitions.add(clip);
        }
        document = document.add(definitions);
    }
    let page = Frame {
        left: 0.0,
        top: 0.0,
        width: scene.width_mm,
        height: scene.height_mm,
    };
    document = document
        .add(rectangle(&page).set("fill", colour(Ink::White)))
        .add(drawing);
    /// More than the declaration and the elements around the shapes have letters.
    const AROUND: usize = 4096;
    let mut text = String::with_capacity(writer.written + AROUND);
    text.push_str("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    // Writing to a string does not fail.
    let _ = writeln!(text, "{document}");
    text.into_bytes()
}

struct Writer {
    /// Clipping rectangles used so far; their place is their name.
    windows: Vec<Frame>,
    /// Letters of the shapes written so far.
    written: usize,
}

impl Writer {
    /// Adds items in their order. Lines that follow each other and look alike are one path:
    /// the picture is the same, and the file a third shorter.
    ///
    /// Paths, circles and text are written straight away: elements made of attributes, each
    /// escaped, take as long as all the geometry before them.
    fn add_all(&mut self, mut group: Group, items: &[Item]) -> Group {
        let mut shapes = Vec::new();
        let mut rest = items;
        while let Some((first, after)) = rest.split_first() {
            rest = after;
            match first {
                Item::Path { style, .. } => {
                    let alike = after.iter().take_while(|item| match item {
                        Item::Path { style: other, .. } => {
                            style.fill.is_none() && other.fill.is_none() && other.pen == style.pen
                        }
                        _ => false,
                    });
                    let (run, after) = after.split_at(alike.count());
                    rest = after;
                    write_paths(&mut shapes, std::iter::once(first).chain(run), style);
                }
                Item::Circle {
                    centre,
                    radius_mm,
                    style,
                } => write_circle(&mut shapes, *centre, *radius_mm, style),
                Item::Text(words) => write_text(&mut shapes, words),
                Item::Clipped { window, items } => {
                    group = self.with_shapes(group, &mut shapes);
                    let clip = format!("url(#{})", clip_name(self.windows.len()));
                    self.windows.push(*window);
                    let inner = Group::new().set("clip-path", clip);
                    group = group.add(self.add_all(inner, items));
                }
            }
        }
        self.with_shapes(group, &mut shapes)
    }

    /// Adds what was written so far.
    fn with_shapes(&mut self, group: Group, shapes: &mut Vec<u8>) -> Group {
        if shapes.is_empty() {
            return group;
        }
        shapes.pop();
        self.written += shapes.len();
        // They are whole texts one after the other, which are text.
        let shapes = String::from_utf8(std::mem::take(shapes)).unwrap_or_default();
        group.add(Blob::new(shapes))
    }
}

fn clip_name(index: usize) -> String {
    format!("window-{}", index + 1)
}

fn rectangle(frame: &Frame) -> Rectangle {
    Rectangle::new()
        .set("x", number(frame.left))
        .set("y", number(frame.top))
        .set("width", number(frame.width))
        .set("height", number(frame.height))
}

/// Appends texts.
fn put(text: &mut Vec<u8>, parts: &[&str]) {
    for part in parts {
        text.extend_from_slice(part.as_bytes());
    }
}

/// Writes paths that look alike as one; nothing where they have no line.
fn write_paths<'a>(text: &mut Vec<u8>, paths: impl Iterator<Item = &'a Item>, style: &Style) {
    let before = text.len();
    put(text, &["<path d=\""]);
    let begins = text.len();
    for item in paths {
        if let Item::Path { lines, style } = item {
            write_path_data(text, lines, style.is_closed);
        }
    }
    if text.len() == begins {
        text.truncate(before);
        return;
    }
    text.push(b'"');
    write_fill(text, style);
    write_pen(text, style);
    put(text, &["/>\n"]);
}

fn write_circle(text: &mut Vec<u8>, centre: Spot, radius_mm: f64, style: &Style) {
    put(text, &["<circle"]);
    write_number_as(text, "cx", centre.x);
    write_number_as(text, "cy", centre.y);
    write_fill(text, style);
    write_number_as(text, "r", radius_mm);
    write_pen(text, style);
    put(text, &["/>\n"]);
}

/// Text and its tags stay on one line.
fn write_text(text: &mut Vec<u8>, words: &Text) {
    put(text, &["<text"]);
    write_as(text, "fill", colour(words.ink));
    write_number_as(text, "font-size", words.size_mm);
    match words.anchor {
        Anchor::Start => {}
        Anchor::Middle => write_as(text, "text-anchor", "middle"),
        Anchor::End => write_as(text, "text-anchor", "end"),
    }
    if words.turn_deg != 0.0 {
        let [turn, x, y] = [words.turn_deg, words.at.x, words.at.y].map(number);
        write_as(text, "transform", &format!("rotate({turn} {x} {y})"));
    }
    write_number_as(text, "x", words.at.x);
    write_number_as(text, "y", words.at.y);
    text.push(b'>');
    let is_plain = |byte: u8| matches!(byte, b' '..=b'~') && !matches!(byte, b'&' | b'<' | b'>');
    if words.content.bytes().all(is_plain) {
        put(text, &[&words.content]);
    } else {
        for letter in words.content.chars().map(clean) {
            match letter {
                '&' => put(text, &["&amp;"]),
                '<' => put(text, &["&lt;"]),
                '>' => put(text, &["&gt;"]),
                letter => put(text, &[letter.encode_utf8(&mut [0; 4])]),
            }
        }
    }
    put(text, &["</text>\n"]);
}

/// Writes an attribute. Neither name nor value holds anything to escape.
fn write_as(text: &mut Vec<u8>, name: &str, value: &str) {
    put(text, &[" ", name, "=\"", value, "\""]);
}

fn write_number_as(text: &mut Vec<u8>, name: &str, value: f64) {
    put(text, &[" ", name, "=\""]);
    put_number(text, value);
    text.push(b'"');
}

fn write_fill(text: &mut Vec<u8>, style: &Style) {
    write_as(text, "fill", style.fill.map_or("none", colour));
    if style.fill.is_some() {
        write_as(text, "fill-rule", "evenodd");
    }
}

fn write_pen(text: &mut Vec<u8>, style: &Style) {
    let Some(pen) = &style.pen else { return };
    write_as(text, "stroke", colour(pen.ink));
    if !pen.dashes_mm.is_empty() {
        let dashes: Vec<String> = pen.dashes_mm.iter().map(|&mm| number(mm)).collect();
        write_as(text, "stroke-dasharray", &dashes.join(" "));
    }
    write_number_as(text, "stroke-width", pen.width_mm);
}

const fn colour(ink: Ink) -> &'static str {
    match ink {
        Ink::Black => "#000000",
        Ink::Pass => "#12337a",
        Ink::Grey => "#8a8a8a",
        Ink::Faint => "#d0d0d0",
        Ink::Pale => "#e8e8e8",
        Ink::White => "#ffffff",
        Ink::Tone(0 | 1) => "#dedede",
        Ink::Tone(2) => "#b9b9b9",
        Ink::Tone(3) => "#8c8c8c",
        Ink::Tone(4) => "#575757",
        Ink::Tone(_) => "#000000",
    }
}

/// A number of millimetres with at most two decimals (0.01 mm is 6 mm of ground at
/// 1:600); what is no number becomes 0.
fn number(mm: f64) -> String {
    let mut digits = [0_u8; DIGITS];
    let letters = digits_of(mm, &mut digits);
    String::from_utf8_lossy(letters).into_owned()
}

/// As many letters as a number of a sheet has at most.
const DIGITS: usize = 24;

/// Appends the letters of a number.
fn put_number(letters: &mut Vec<u8>, mm: f64) {
    let mut digits = [0_u8; DIGITS];
    letters.extend_from_slice(digits_of(mm, &mut digits));
}

/// The letters of a number, at the end of the room for them.
///
/// Digit by digit from whole hundredths: many thousand numbers go on a sheet, and the general
/// way of writing a float takes ten times as long. A sheet is far smaller than what an i64
/// holds.
fn digits_of(mm: f64, digits: &mut [u8; DIGITS]) -> &[u8] {
    let hundredths = nearest(mm * 100.0);
    // From the last digit to the first.
    let mut begins = digits.len();
    let mut put = |digit: u8| {
        begins -= 1;
        digits[begins] = digit;
    };
    let mut whole = hundredths.unsigned_abs();
    let rest = (whole % 100) as u8;
    whole /= 100;
    if rest > 0 {
        if !rest.is_multiple_of(10) {
            put(b'0' + rest % 10);
        }
        put(b'0' + rest / 10);
        put(b'.');
    }
    loop {
        put(b'0' + (whole % 10) as u8);
        whole /= 10;
        if whole == 0 {
            break;
        }
    }
    if hundredths < 0 {
        put(b'-');
    }
    &digits[begins..]
}

/// The nearest whole number, halves away from nought; nought for what is no number.
fn nearest(value: f64) -> i64 {
    let whole = value as i64;
    let rest = value - whole as f64;
    whole + i64::from(rest >= 0.5) - i64::from(rest <= -0.5)
}

fn write_path_data(text: &mut Vec<u8>, lines: &[Vec<Spot>], is_closed: bool) {
    /// Two numbers with up to three digits, two decimals and what parts them.
    const LETTERS: usize = 14;
    text.reserve(LETTERS * lines.iter().map(Vec::len).sum::<usize>());
    for line in lines {
        if line.len() < 2 {
            continue;
        }
        for (index, spot) in line.iter().enumerate() {
            text.push(match index {
                0 => b'M',
                1 => b'L',
                _ => b' ',
            });
            put_number(text, spot.x);
            text.push(b' ');
            put_number(text, spot.y);
        }
        if is_closed {
            text.push(b'Z');
        }
    }
}

/// A letter, or a space for a control character, which XML 1.0 forbids.
fn clean(letter: char) -> char {
    let is_forbidden = letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}');
    if is_forbidden { ' ' } else { letter }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_minus_nought() {
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(12.345_678), "12.35");
        assert_eq!(number(100.0), "100");
        assert_eq!(number(-0.1), "-0.1");
        assert_eq!(number(7.03), "7.03");
        assert_eq!(number(-12.5), "-12.5");
        assert_eq!(number(f64::NAN), "0");
        for mm in [
            0.125,
            -0.125,
            0.005,
            0.004_999_999_999_999_999,
            87.625,
            -2.5e9,
        ] {
            assert_eq!(nearest(mm * 100.0), (mm * 100.0).round() as i64);
        }
    }

    #[test]
    fn text_is_escaped_and_cleaned() {
        let scene = Scene {
            width_mm: 10.0,
            height_mm: 10.0,
            title: "a < b & \"c\" > d".to_owned(),
            items: vec![super::super::scene::starting(
                Spot { x: 1.0, y: 2.0 },
                3.0,
                "<script>\u{1}&",
            )],
        };
        let text = String::from_utf8(write(&scene)).unwrap_or_default();
        assert!(
            text.contains("<title>a &lt; b &amp; \"c\" &gt; d</title>"),
            "{text}"
        );
        assert!(text.contains("&lt;script&gt; &amp;</text>"), "{text}");
    }
}
