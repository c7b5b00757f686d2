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
    /// Whether the next block must not be parted from it.
    pub keeps_with_next: bool,
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
            keeps_with_next: false,
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
            keeps_with_next: true,
            items: vec![rule, title],
        }
    }

    /// A word and what it stands for, in two columns.
    pub(super) fn row(word: &str, meaning: &str) -> Self {
        /// Where the meaning starts.
        const MEANING_AT_MM: f64 = 21.5;
        let words = lettering::wrap(word, BODY_MM, MEANING_AT_MM - 1.0, 3);
        let meanings = lettering::wrap(meaning, BODY_MM, COLUMN_MM - MEANING_AT_MM, 6);
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
            keeps_with_next: false,
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
            keeps_with_next: false,
            items,
        }
    }

    /// A small drawing beside a text, as a line of the key.
    pub(super) fn key(sample: Vec<Item>, text: &str) -> Self {
        let lines = lettering::wrap(text, BODY_MM, COLUMN_MM - KEY_TEXT_MM, 3);
        let mut items = sample;
        let text_mm = lines_height(lines.len(), BODY_MM);
        let height_mm = text_mm.max(KEY_SAMPLE_MM);
        let top = if lines.len() > 1 {
            0.0
        } else {
            (height_mm - lettering::CAP_HEIGHT * BODY_MM) / 2.0
        };
        for (index, line) in lines.iter().enumerate() {
            let at = Spot {
                x: KEY_TEXT_MM,
                y: base(top, index, BODY_MM).y,
            };
            items.push(starting(at, BODY_MM, line));
        }
        Self {
            gap_mm: 0.8,
            height_mm,
            keeps_with_next: false,
            items,
        }
    }
}

/// Where the text of a key line starts; its drawing lies to the left of it.
pub(super) const KEY_TEXT_MM: f64 = 13.0;

/// Height and greatest width (less 3 mm) of the drawing of a key line.
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

/// The blocks laid into columns of this height: the items, from the upper left corner of
/// the first column, and how high the highest column is. `None` where they do not fit
/// into `columns`.
pub(super) fn flow(
    blocks: &[Block],
    columns: usize,
    height_mm: f64,
    gap_mm: f64,
) -> Option<(Vec<Item>, f64)> {
    let mut items = Vec::new();
    let (mut column, mut top, mut highest) = (0_u32, 0.0_f64, 0.0_f64);
    let mut rest = blocks;
    while !rest.is_empty() {
        let together = 1 + rest
            .iter()
            .take_while(|block| block.keeps_with_next)
            .count();
        let (group, later) = rest.split_at(together.min(rest.len()));
        rest = later;
        let mut group_mm: f64 = group
            .iter()
            .map(|block| block.gap_mm + block.height_mm)
            .sum();
        if top == 0.0 {
            group_mm -= group.first().map_or(0.0, |block| block.gap_mm);
        }
        if top > 0.0 && top + group_mm > height_mm {
            column += 1;
            top = 0.0;
            group_mm -= group.first().map_or(0.0, |block| block.gap_mm);
        }
        if top + group_mm > height_mm || usize::try_from(column).map_or(true, |n| n >= columns) {
            return None;
        }
        for block in group {
            if top > 0.0 {
                top += block.gap_mm;
            }
            let corner = Spot {
                x: f64::from(column) * (COLUMN_MM + gap_mm),
                y: top,
            };
            items.extend(block.items.iter().cloned().map(|item| item.moved(corner)));
            top += block.height_mm;
            highest = highest.max(top);
        }
    }
    Some((items, highest))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(height_mm: f64, keeps_with_next: bool) -> Block {
        Block {
            gap_mm: 1.0,
            height_mm,
            keeps_with_next,
            items: Vec::new(),
        }
    }

    #[test]
    fn blocks_go_on_in_the_next_column_and_headings_stay_with_what_follows() {
        let blocks = [block(10.0, false), block(5.0, true), block(10.0, false)];
        let one = flow(&blocks, 1, 30.0, 4.0).map(|(_, height)| height);
        assert_eq!(one, Some(27.0));
        // The heading does not stay alone at the foot of the first column.
        let two = flow(&blocks, 2, 17.0, 4.0).map(|(_, height)| height);
        assert_eq!(two, Some(16.0));
        assert!(flow(&blocks, 2, 15.0, 4.0).is_none());
        assert!(flow(&blocks, 1, 26.0, 4.0).is_none());
    }
}
