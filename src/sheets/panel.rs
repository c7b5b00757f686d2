//! The written part of a sheet: blocks of text and small drawings, one under the other,
//! in one or more columns of one width.
//!
//! Blocks are made before the paper is chosen, because how much room they need decides
//! how large the ground can be drawn.

use super::lettering::{self, LINE_STEP};
use super::scene::{Frame, Ink, Item, Pen, Spot, Style, starting};

/// Width of a column.
pub(super) const COLUMN_MM: f64 = 62.0;

/// Size of the running text.
pub(super) const BODY_MM: f64 = 2.7;

/// Something that stays together in one column.
#[derive(Debug, Clone)]
pub(super) struct Block {
    /// Room left above it, unless it opens a column.
    pub gap_mm: f64,
    /// Its height.
    pub height_mm: f64,
    /// Whether it is the title of what follows, and not parted from it.
    pub is_heading: bool,
    /// What it holds, from its own upper left corner.
    pub items: Vec<Item>,
}

impl Block {
    /// Text at a size, broken into at most `max_lines` lines.
    pub(super) fn text(text: &str, size_mm: f64, max_lines: usize, gap_mm: f64) -> Self {
        let lines = lettering::wrap(text, size_mm, COLUMN_MM, max_lines);
        let items = lines
            .iter()
            .enumerate()
            .map(|(index, line)| starting(base(0.0, index, size_mm), size_mm, line))
            .collect();
        Self {
            gap_mm,
            height_mm: lines_height(lines.len(), size_mm),
            is_heading: false,
            items,
        }
    }

    /// Running text.
    pub(super) fn body(text: &str) -> Self {
        Self::text(text, BODY_MM, 14, 1.0)
    }

    /// The title of what follows, under a thin rule.
    pub(super) fn heading(text: &str) -> Self {
        /// Size of such a title.
        const SIZE_MM: f64 = 3.0;
        /// From the rule to the top of the letters.
        const BELOW_RULE_MM: f64 = 1.1;
        let rule = Item::line(
            vec![
                Spot { x: 0.0, y: 0.0 },
                Spot {
                    x: COLUMN_MM,
                    y: 0.0,
                },
            ],
            Pen::new(Ink::Black, 0.25),
        );
        let title = starting(base(BELOW_RULE_MM, 0, SIZE_MM), SIZE_MM, text);
        Self {
            gap_mm: 2.4,
            height_mm: BELOW_RULE_MM + lines_height(1, SIZE_MM),
            is_heading: true,
            items: vec![rule, title],
        }
    }

    /// A word and what it stands for, in two columns.
    pub(super) fn row(word: &str, meaning: &str) -> Self {
        Self::row_of(word, meaning, 6)
    }

    /// The same with at most so many lines.
    pub(super) fn row_of(word: &str, meaning: &str, max_lines: usize) -> Self {
        /// Where the meaning starts.
        const MEANING_AT_MM: f64 = 21.5;
        let words = lettering::wrap(word, BODY_MM, MEANING_AT_MM - 1.0, 3);
        let meanings = lettering::wrap(meaning, BODY_MM, COLUMN_MM - MEANING_AT_MM, max_lines);
        let mut items = Vec::new();
        for (left, lines) in [(0.0, &words), (MEANING_AT_MM, &meanings)] {
            for (index, line) in lines.iter().enumerate() {
                let at = base(0.0, index, BODY_MM) + Spot { x: left, y: 0.0 };
                items.push(starting(at, BODY_MM, line));
            }
        }
        Self {
            gap_mm: 0.7,
            height_mm: lines_height(words.len().max(meanings.len()), BODY_MM),
            is_heading: false,
            items,
        }
    }

    /// A caution: text in a thick frame.
    pub(super) fn caution(title: &str, text: &str) -> Self {
        /// Size of its title.
        const TITLE_MM: f64 = 3.0;
        /// From the frame to the text.
        const PAD_MM: f64 = 1.6;
        let inner_mm = COLUMN_MM - 2.0 * PAD_MM;
        let title_lines = lettering::wrap(title, TITLE_MM, inner_mm, 2);
        let lines = lettering::wrap(text, BODY_MM, inner_mm, 18);
        let mut items = Vec::new();
        let indent = Spot { x: PAD_MM, y: 0.0 };
        for (index, line) in title_lines.iter().enumerate() {
            items.push(starting(
                base(PAD_MM, index, TITLE_MM) + indent,
                TITLE_MM,
                line,
            ));
        }
        let text_top = PAD_MM + lines_height(title_lines.len(), TITLE_MM) + 1.0;
        for (index, line) in lines.iter().enumerate() {
            items.push(starting(
                base(text_top, index, BODY_MM) + indent,
                BODY_MM,
                line,
            ));
        }
        let height_mm = text_top + lines_height(lines.len(), BODY_MM) + PAD_MM - 0.4;
        let frame = Frame {
            left: 0.3,
            top: 0.0,
            width: COLUMN_MM - 0.6,
            height: height_mm,
        };
        items.insert(
            0,
            Item::frame(&frame, Style::ring(Pen::new(Ink::Black, 0.6))),
        );
        Self {
            gap_mm: 2.4,
            height_mm,
            is_heading: false,
            items,
        }
    }
}

/// Height of a line of the key.
pub(super) const KEY_SAMPLE_MM: f64 = 4.2;

/// The base line of a line of text whose first line starts at `top`.
fn base(top: f64, index: usize, size_mm: f64) -> Spot {
    let index = f64::from(u32::try_from(index).unwrap_or(u32::MAX));
    Spot {
        x: 0.0,
        y: top + lettering::CAP_HEIGHT * size_mm + index * LINE_STEP * size_mm,
    }
}

/// From the top of the capitals of the first line to the foot of the last.
fn lines_height(count: usize, size_mm: f64) -> f64 {
    base(0.0, count.saturating_sub(1), size_mm).y + lettering::DESCENT * size_mm
}

/// The upper left corners of blocks laid into columns of this height, from the corner of
/// the first column. `None` where they do not fit into `columns`. Sections, from one
/// heading to the next, stay whole where that fits.
pub(super) fn flow(
    blocks: &[Block],
    columns: usize,
    height_mm: f64,
    gap_mm: f64,
) -> Option<Vec<Spot>> {
    let starts_section =
        |index: usize| index == 0 || blocks.get(index).is_some_and(|block| block.is_heading);
    // A block may part from the one before it unless that is a heading.
    let may_part = |index: usize| {
        index
            .checked_sub(1)
            .and_then(|before| blocks.get(before))
            .is_none_or(|before| !before.is_heading)
    };
    flow_groups(&groups(blocks, starts_section), columns, height_mm, gap_mm)
        .or_else(|| flow_groups(&groups(blocks, may_part), columns, height_mm, gap_mm))
}

/// Blocks cut into groups before each index for which `starts` holds.
fn groups(blocks: &[Block], starts: impl Fn(usize) -> bool) -> Vec<&[Block]> {
    let mut cuts: Vec<usize> = (1..blocks.len()).filter(|&index| starts(index)).collect();
    cuts.push(blocks.len());
    let mut from = 0;
    let mut groups = Vec::new();
    for to in cuts {
        groups.extend(blocks.get(from..to).filter(|group| !group.is_empty()));
        from = to;
    }
    groups
}

fn flow_groups(
    groups: &[&[Block]],
    columns: usize,
    height_mm: f64,
    gap_mm: f64,
) -> Option<Vec<Spot>> {
    let mut corners = Vec::new();
    let (mut column, mut top) = (0_u32, 0.0_f64);
    for group in groups {
        let first_gap_mm = group.first().map_or(0.0, |block| block.gap_mm);
        let all_mm: f64 = group
            .iter()
            .map(|block| block.gap_mm + block.height_mm)
            .sum();
        if top > 0.0 && top + all_mm > height_mm {
            column += 1;
            top = 0.0;
        }
        let group_mm = if top > 0.0 {
            all_mm
        } else {
            all_mm - first_gap_mm
        };
        let has_column = usize::try_from(column).is_ok_and(|index| index < columns);
        if !has_column || top + group_mm > height_mm {
            return None;
        }
        for block in *group {
            if top > 0.0 {
                top += block.gap_mm;
            }
            corners.push(Spot {
                x: f64::from(column) * (COLUMN_MM + gap_mm),
                y: top,
            });
            top += block.height_mm;
        }
    }
    Some(corners)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(height_mm: f64, is_heading: bool) -> Block {
        Block {
            gap_mm: 1.0,
            height_mm,
            is_heading,
            items: Vec::new(),
        }
    }

    fn check(blocks: &[Block], height_mm: f64, expected: Option<&[(f64, f64)]>) {
        let corners = flow(blocks, 2, height_mm, 4.0);
        let corners: Option<Vec<(f64, f64)>> =
            corners.map(|corners| corners.iter().map(|spot| (spot.x, spot.y)).collect());
        assert_eq!(corners.as_deref(), expected);
    }

    #[test]
    fn a_section_stays_whole_where_that_fits() {
        let second = COLUMN_MM + 4.0;
        let blocks = [
            block(10.0, false),
            block(5.0, true),
            block(10.0, false),
            block(4.0, false),
        ];
        // Parted, the first column would hold three blocks of the four.
        let whole = [(0.0, 0.0), (second, 0.0), (second, 6.0), (second, 17.0)];
        check(&blocks, 27.5, Some(&whole));
    }

    #[test]
    fn a_heading_is_never_parted_from_what_follows() {
        let second = COLUMN_MM + 4.0;
        let blocks = [block(10.0, false), block(5.0, true), block(10.0, false)];
        check(&blocks, 27.0, Some(&[(0.0, 0.0), (0.0, 11.0), (0.0, 17.0)]));
        check(
            &blocks,
            17.0,
            Some(&[(0.0, 0.0), (second, 0.0), (second, 6.0)]),
        );
        check(&blocks, 15.0, None);
    }
}
