//! A sheet as shapes and text on paper, before any format.
//!
//! Everything here is in millimetres of paper, x to the right, y **down**, from the upper
//! left corner of the page. A scene is made once and then written; nothing in it knows
//! the ground.

use geo::{Coord, MultiPolygon};

use super::lettering;

/// A place on the paper, millimetres, y down.
pub(super) type Spot = Coord<f64>;

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scene {
    /// Width of the paper.
    pub width_mm: f64,
    /// Height of the paper.
    pub height_mm: f64,
    /// What the sheet is, for readers that do not see it.
    pub title: String,
    /// What is drawn, from below to above.
    pub items: Vec<Item>,
}

/// One thing drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    /// Lines or rings in one go.
    Path {
        /// The lines; a ring is closed by its style, not by its points.
        lines: Vec<Vec<Spot>>,
        /// How they are drawn.
        style: Style,
    },
    /// A circle.
    Circle {
        /// Its middle.
        centre: Spot,
        /// Its radius.
        radius_mm: f64,
        /// How it is drawn.
        style: Style,
    },
    /// A line of text.
    Text(Text),
    /// Things that are cut off at a rectangle.
    Clipped {
        /// The rectangle.
        window: Frame,
        /// The things.
        items: Vec<Item>,
    },
}

/// How a shape is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Style {
    /// Its line, where it has one.
    pub pen: Option<Pen>,
    /// Its filling, where it has one.
    pub fill: Option<Ink>,
    /// Whether lines are closed to rings.
    pub is_closed: bool,
}

impl Style {
    /// An open line.
    pub(super) const fn line(pen: Pen) -> Self {
        Self {
            pen: Some(pen),
            fill: None,
            is_closed: false,
        }
    }

    /// A ring without filling.
    pub(super) const fn ring(pen: Pen) -> Self {
        Self {
            pen: Some(pen),
            fill: None,
            is_closed: true,
        }
    }

    /// A filled shape without a line.
    pub(super) const fn filled(ink: Ink) -> Self {
        Self {
            pen: None,
            fill: Some(ink),
            is_closed: true,
        }
    }

    /// A filled shape with a line about it.
    pub(super) const fn filled_ring(ink: Ink, pen: Pen) -> Self {
        Self {
            pen: Some(pen),
            fill: Some(ink),
            is_closed: true,
        }
    }
}

/// A line's looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pen {
    /// Its colour.
    pub ink: Ink,
    /// Its width.
    pub width_mm: f64,
    /// Lengths of dashes and gaps; empty: drawn through.
    pub dashes_mm: &'static [f64],
}

impl Pen {
    /// A line drawn through.
    pub(super) const fn new(ink: Ink, width_mm: f64) -> Self {
        Self {
            ink,
            width_mm,
            dashes_mm: &[],
        }
    }

    /// The same line in dashes.
    pub(super) const fn dashed(self, dashes_mm: &'static [f64]) -> Self {
        Self { dashes_mm, ..self }
    }
}

/// The few colours of a sheet. Each reads as a different grey on a black-and-white
/// printer, and none says anything alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    /// Text, and what must be seen.
    Black,
    /// The pass lines: a dark blue.
    Pass,
    /// Markings of the pitch and what is only context.
    Grey,
    /// Strip outlines.
    Faint,
    /// Grounds of stands.
    Pale,
    /// Plates under text.
    White,
    /// A step of a scale of tones, 1 (light) to 5 (black).
    Tone(u8),
}

/// A line of text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Text {
    /// On the base line, at the anchor.
    pub at: Spot,
    /// Size of the text.
    pub size_mm: f64,
    /// Which end of the text lies at `at`.
    pub anchor: Anchor,
    /// Turned about `at`, degrees clockwise as seen.
    pub turn_deg: f64,
    /// Its colour.
    pub ink: Ink,
    /// The text itself, as written by the user or the program; escaped when written out.
    pub content: String,
}

/// Which point of a text lies at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    /// The left end.
    Start,
    /// The middle.
    Middle,
    /// The right end.
    End,
}

/// A rectangle on the paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Frame {
    /// The rectangle of this size about a middle.
    pub(super) fn about(middle: Spot, width: f64, height: f64) -> Self {
        Self {
            left: middle.x - width / 2.0,
            top: middle.y - height / 2.0,
            width,
            height,
        }
    }

    /// The rectangle about some spots; without size at the corner of the page for none.
    pub(super) fn around(spots: &[Spot]) -> Self {
        let Some(&first) = spots.first() else {
            return Self::about(Spot { x: 0.0, y: 0.0 }, 0.0, 0.0);
        };
        let (mut low, mut high) = (first, first);
        for spot in spots {
            low = Spot {
                x: low.x.min(spot.x),
                y: low.y.min(spot.y),
            };
            high = Spot {
                x: high.x.max(spot.x),
                y: high.y.max(spot.y),
            };
        }
        Self::about((low + high) / 2.0, high.x - low.x, high.y - low.y)
    }

    /// Right edge.
    pub(super) fn right(&self) -> f64 {
        self.left + self.width
    }

    /// Lower edge.
    pub(super) fn bottom(&self) -> f64 {
        self.top + self.height
    }

    /// The middle.
    pub(super) fn middle(&self) -> Spot {
        Spot {
            x: self.left + self.width / 2.0,
            y: self.top + self.height / 2.0,
        }
    }

    /// The corners, from the upper left, clockwise as seen.
    pub(super) fn corners(&self) -> [Spot; 4] {
        let (left, top) = (self.left, self.top);
        let (right, bottom) = (self.right(), self.bottom());
        [
            Spot { x: left, y: top },
            Spot { x: right, y: top },
            Spot {
                x: right,
                y: bottom,
            },
            Spot { x: left, y: bottom },
        ]
    }

    /// The same, larger by `by_mm` on every side (smaller where that is below zero).
    pub(super) fn widened(&self, by_mm: f64) -> Self {
        Self {
            left: self.left - by_mm,
            top: self.top - by_mm,
            width: self.width + 2.0 * by_mm,
            height: self.height + 2.0 * by_mm,
        }
    }

    /// Whether two rectangles share ground.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }

    /// Whether another rectangle lies wholly in this one.
    pub(super) fn holds(&self, other: &Self) -> bool {
        self.left <= other.left
            && other.right() <= self.right()
            && self.top <= other.top
            && other.bottom() <= self.bottom()
    }

    /// Whether a straight line from `from` to `to` passes through the rectangle.
    pub(super) fn meets_line(&self, from: Spot, to: Spot) -> bool {
        // Most lines lie wholly beside it.
        let is_beside = from.x.max(to.x) <= self.left
            || from.x.min(to.x) >= self.right()
            || from.y.max(to.y) <= self.top
            || from.y.min(to.y) >= self.bottom();
        if is_beside {
            return false;
        }
        // Clip the line against the four edges; what is left is inside.
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        let sides = [
            (from.x, to.x - from.x, self.left, self.right()),
            (from.y, to.y - from.y, self.top, self.bottom()),
        ];
        for (start, run, low, high) in sides {
            if run.abs() < 1e-12 {
                if start <= low || start >= high {
                    return false;
                }
            } else {
                let (a, b) = ((low - start) / run, (high - start) / run);
                enter = enter.max(a.min(b));
                leave = leave.min(a.max(b));
            }
        }
        enter < leave
    }
}

impl Item {
    /// One open line.
    pub(super) fn line(points: Vec<Spot>, pen: Pen) -> Self {
        Self::Path {
            lines: vec![points],
            style: Style::line(pen),
        }
    }

    /// A rectangle.
    pub(super) fn frame(frame: &Frame, style: Style) -> Self {
        Self::Path {
            lines: vec![frame.corners().to_vec()],
            style,
        }
    }

    /// Polygons, holes left open.
    pub(super) fn polygons(shape: &MultiPolygon<f64>, style: Style) -> Self {
        Self::Path {
            lines: rings(shape),
            style,
        }
    }

    /// The same thing moved.
    pub(super) fn moved(self, by: Spot) -> Self {
        match self {
            Self::Path { lines, style } => Self::Path {
                lines: lines
                    .into_iter()
                    .map(|line| line.into_iter().map(|spot| spot + by).collect())
                    .collect(),
                style,
            },
            Self::Circle {
                centre,
                radius_mm,
                style,
            } => Self::Circle {
                centre: centre + by,
                radius_mm,
                style,
            },
            Self::Text(text) => Self::Text(Text {
                at: text.at + by,
                ..text
            }),
            Self::Clipped { window, items } => Self::Clipped {
                window: Frame {
                    left: window.left + by.x,
                    top: window.top + by.y,
                    ..window
                },
                items: items.into_iter().map(|item| item.moved(by)).collect(),
            },
        }
    }
}

/// The rings of polygons without their closing points.
pub(super) fn rings(shape: &MultiPolygon<f64>) -> Vec<Vec<Spot>> {
    let mut rings = Vec::new();
    for polygon in shape {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            let mut points = ring.0.clone();
            if points.len() > 1 && points.first() == points.last() {
                points.pop();
            }
            if !points.is_empty() {
                rings.push(points);
            }
        }
    }
    rings
}

/// Text whose middle lies in the middle of a frame of `plate_mm` about it: returns the
/// frame and the items (a white plate and the text).
pub(super) fn plated(middle: Spot, size_mm: f64, content: &str) -> (Frame, Vec<Item>) {
    let frame = plate_frame(middle, size_mm, content);
    let items = vec![
        Item::frame(&frame, Style::filled(Ink::White)),
        centred(middle, size_mm, content),
    ];
    (frame, items)
}

/// The plate of a text about a middle.
pub(super) fn plate_frame(middle: Spot, size_mm: f64, content: &str) -> Frame {
    /// White about the letters.
    const PAD_MM: f64 = 0.35;
    Frame::about(
        middle,
        lettering::width_mm(content, size_mm) + 2.0 * PAD_MM,
        lettering::CAP_HEIGHT * size_mm + 2.0 * PAD_MM,
    )
}

/// Text about a middle (the middle of its capitals).
pub(super) fn centred(middle: Spot, size_mm: f64, content: &str) -> Item {
    Item::Text(Text {
        at: Spot {
            x: middle.x,
            y: middle.y + lettering::CAP_HEIGHT * size_mm / 2.0,
        },
        size_mm,
        anchor: Anchor::Middle,
        turn_deg: 0.0,
        ink: Ink::Black,
        content: content.to_owned(),
    })
}

/// Text along a line about a middle (the middle of its capitals), never upside down; on an upright
/// line it is read from the right of the sheet.
pub(super) fn turned(middle: Spot, way: Spot, size_mm: f64, content: &str) -> Item {
    let mut turn_deg = way.y.atan2(way.x).to_degrees();
    if turn_deg >= 90.0 - 1e-6 {
        turn_deg -= 180.0;
    }
    if turn_deg < -90.0 - 1e-6 {
        turn_deg += 180.0;
    }
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    // Down the page, as the text sees it.
    let down = Spot { x: -sin, y: cos } * (lettering::CAP_HEIGHT * size_mm / 2.0);
    Item::Text(Text {
        at: middle + down,
        size_mm,
        anchor: Anchor::Middle,
        turn_deg,
        ink: Ink::Black,
        content: content.to_owned(),
    })
}

/// Text that starts at a place on its base line.
pub(super) fn starting(at: Spot, size_mm: f64, content: &str) -> Item {
    Item::Text(Text {
        at,
        size_mm,
        anchor: Anchor::Start,
        turn_deg: 0.0,
        ink: Ink::Black,
        content: content.to_owned(),
    })
}
