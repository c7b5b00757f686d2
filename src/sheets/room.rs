//! Room for text on a drawing: what is taken, and whether a place is still free.

use super::scene::{Frame, Spot};

/// The drawing's window and the rectangles in it that are taken.
#[derive(Debug, Clone)]
pub(super) struct Room {
    window: Frame,
    /// Taken by text: nothing crosses it.
    taken: Vec<Frame>,
    /// Taken by symbols: no text lies on them, but a line to a text may cross them.
    symbols: Vec<Frame>,
    /// Lines to texts: no text lies on them.
    lines: Vec<(Spot, Spot)>,
}

impl Room {
    /// An empty drawing.
    pub(super) const fn new(window: Frame) -> Self {
        Self {
            window,
            taken: Vec::new(),
            symbols: Vec::new(),
            lines: Vec::new(),
        }
    }

    /// Takes a line to a text.
    pub(super) fn take_line(&mut self, from: Spot, to: Spot) {
        self.lines.push((from, to));
    }

    /// Takes a rectangle for a symbol, free or not.
    pub(super) fn take_symbol(&mut self, frame: Frame) {
        self.symbols.push(frame);
    }

    /// Takes a rectangle for a text, free or not.
    pub(super) fn take(&mut self, frame: Frame) {
        self.taken.push(frame);
    }

    /// Whether a rectangle lies in the window and on nothing taken.
    pub(super) fn is_free(&self, frame: &Frame) -> bool {
        let mut all = self.taken.iter().chain(&self.symbols);
        let mut lines = self.lines.iter();
        self.window.holds(frame)
            && !all.any(|taken| taken.overlaps(frame))
            && !lines.any(|(from, to)| frame.meets_line(*from, *to))
    }

    /// Whether a straight line crosses no text.
    pub(super) fn is_line_free(&self, from: Spot, to: Spot) -> bool {
        !self.taken.iter().any(|taken| crosses(taken, from, to))
    }

    /// Whether a straight line from a spot crosses no text but the one that lies at the spot.
    fn is_way_free(&self, from: Spot, to: Spot) -> bool {
        let point = Frame::about(from, 0.0, 0.0);
        let mut others = self.taken.iter().filter(|taken| !taken.holds(&point));
        !others.any(|taken| crosses(taken, from, to))
    }

    /// The same room, with what is taken in a frame only.
    fn within(&self, frame: &Frame) -> Self {
        let in_frame = |taken: &[Frame]| {
            let taken = taken.iter().filter(|taken| taken.overlaps(frame));
            taken.copied().collect()
        };
        let lines = self.lines.iter();
        Self {
            window: self.window,
            taken: in_frame(&self.taken),
            symbols: in_frame(&self.symbols),
            lines: lines
                .filter(|(from, to)| frame.meets_line(*from, *to))
                .copied()
                .collect(),
        }
    }

    /// The window.
    pub(super) const fn window(&self) -> &Frame {
        &self.window
    }

    /// The first free place for a plate of this size near a spot: beside it in sixteen
    /// directions, nearest rings first, from `least_mm` to `most_mm` away from the
    /// plate's edge, such that `accepts` and a line from the spot reaches it freely; the text
    /// that lies at the spot itself keeps no line from leaving it.
    pub(super) fn near(
        &self,
        spot: Spot,
        size: (f64, f64),
        (least_mm, most_mm): (f64, f64),
        accepts: impl Fn(&Frame) -> bool,
    ) -> Option<Frame> {
        /// From one ring of places to the next.
        const STEP_MM: f64 = 1.5;
        let ways = DIRECTIONS.map(|eighth| {
            let (sin, cos) = (f64::from(eighth) * 22.5).to_radians().sin_cos();
            (sin, cos, reach((cos, -sin), size))
        });
        // Every place that is tried lies in this frame.
        let reach_mm = most_mm + size.0 + size.1;
        let here = self.within(&Frame::about(spot, 2.0 * reach_mm, 2.0 * reach_mm));
        let mut away = least_mm;
        while away <= most_mm {
            for (sin, cos, reach) in ways {
                let reach = away + reach;
                let middle = Spot {
                    x: spot.x + cos * reach,
                    y: spot.y - sin * reach,
                };
                let frame = Frame::about(middle, size.0, size.1);
                if here.is_free(&frame) && here.is_way_free(spot, middle) && accepts(&frame) {
                    return Some(frame);
                }
            }
            away += STEP_MM;
        }
        None
    }
}

/// Whether a line crosses the text in a frame; it may touch the white about it.
fn crosses(taken: &Frame, from: Spot, to: Spot) -> bool {
    const TOUCH_MM: f64 = 0.25;
    taken.widened(-TOUCH_MM).meets_line(from, to)
}

/// Sixteenths of a circle in the order they are tried: sideways first, where text reads
/// best.
const DIRECTIONS: [u8; 16] = [0, 8, 4, 12, 1, 15, 7, 9, 2, 14, 6, 10, 3, 13, 5, 11];

/// How far the middle of a plate lies from its edge along a direction.
pub(super) fn reach(direction: (f64, f64), size: (f64, f64)) -> f64 {
    let along = |part: f64, length: f64| {
        if part.abs() < 1e-9 {
            f64::INFINITY
        } else {
            length / 2.0 / part.abs()
        }
    };
    along(direction.0, size.0).min(along(direction.1, size.1))
}

/// Where a line from `spot` to the middle of a plate meets the plate's edge.
pub(super) fn edge_towards(frame: &Frame, spot: Spot) -> Spot {
    let middle = frame.middle();
    let away = spot - middle;
    let length = away.x.hypot(away.y);
    if length < 1e-9 {
        return middle;
    }
    let direction = away / length;
    let reach = reach((direction.x, direction.y), (frame.width, frame.height));
    middle + direction * reach.min(length)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plate_finds_the_nearest_free_place_and_none_where_all_is_taken() {
        let window = Frame {
            left: 0.0,
            top: 0.0,
            width: 50.0,
            height: 50.0,
        };
        let mut room = Room::new(window);
        let spot = Spot { x: 25.0, y: 25.0 };
        let first = room.near(spot, (6.0, 3.0), (1.0, 9.0), |_| true);
        let Some(first) = first else {
            unreachable!("an empty drawing has room")
        };
        assert!((first.left - 26.0).abs() < 1e-9, "{first:?}");
        room.take(first);
        let second = room.near(spot, (6.0, 3.0), (1.0, 9.0), |_| true);
        assert!(second.is_some_and(|second| !second.overlaps(&first)));
        room.take(window);
        assert!(room.near(spot, (6.0, 3.0), (1.0, 9.0), |_| true).is_none());
    }
}
