//! Missed places on a map: what can be seen is drawn and labelled with its area, what is
//! too small to be seen gets a ring.

use geo::{BoundingRect, MultiPolygon};

use super::ground_map::label_near;
use super::layout::Layout;
use super::room::Room;
use super::scene::{Frame, Item, Spot};
use super::symbols::{self, RING_RADIUS_MM};
use super::words;
use crate::coverage::MissedPlace;

/// A place smaller than this in both ways is ringed.
const SEEN_MM: f64 = 1.5;

/// At most so many places are labelled, the largest first.
const MOST_LABELS: usize = 12;

/// Only places of at least this area are labelled, square metres.
const LABEL_FROM_M2: f64 = 0.5;

/// Size of the labels.
const LABEL_MM: f64 = 2.7;

/// The missed places of a direction.
pub(super) struct MissedMap {
    /// The grounds themselves, to lie under the pass numbers.
    pub grounds: Vec<Item>,
    /// Rings and labels, to lie over all else.
    pub marks: Vec<Item>,
}

/// Draws missed places; rings and labels take their room.
pub(super) fn draw(missed: &[MissedPlace], layout: &Layout, room: &mut Room) -> MissedMap {
    let mut grounds = Vec::new();
    let mut seen = Vec::new();
    let mut small = Vec::new();
    for place in missed {
        let shape = layout.shape(&MultiPolygon(vec![place.shape.clone()]));
        let Some(rect) = shape.bounding_rect() else {
            continue;
        };
        let frame = Frame::about(rect.center(), rect.width(), rect.height());
        grounds.extend(symbols::missed(&shape));
        if frame.width.max(frame.height) < SEEN_MM {
            small.push(frame.middle());
        } else {
            seen.push((place, frame));
        }
    }
    let mut marks = Vec::new();
    for centre in clusters(&small) {
        let frame = Frame::about(centre, 2.0 * RING_RADIUS_MM, 2.0 * RING_RADIUS_MM);
        if room.window().holds(&frame) {
            marks.extend(symbols::missed_ring(centre));
            room.take(frame);
        }
    }
    // Largest first; places of one size in their own order.
    seen.sort_by(|(a, _), (b, _)| b.area_m2.total_cmp(&a.area_m2));
    let worth = seen
        .iter()
        .filter(|(place, _)| place.area_m2 >= LABEL_FROM_M2);
    for (place, frame) in worth.take(MOST_LABELS) {
        marks.extend(label_near(
            spot_in(place, layout).unwrap_or_else(|| frame.middle()),
            LABEL_MM,
            &words::area(place.area_m2),
            (1.4, 16.0),
            room,
        ));
    }
    MissedMap { grounds, marks }
}

fn spot_in(place: &MissedPlace, layout: &Layout) -> Option<Spot> {
    use geo::InteriorPoint;
    place
        .shape
        .interior_point()
        .map(|point| layout.spot(point.0))
}

/// Middles of rings: small places that one ring can hold share one.
fn clusters(places: &[Spot]) -> Vec<Spot> {
    let mut centres: Vec<Spot> = Vec::new();
    for &place in places {
        let is_held = centres
            .iter()
            .any(|centre| (place - *centre).x.hypot((place - *centre).y) < RING_RADIUS_MM * 0.8);
        if !is_held {
            centres.push(place);
        }
    }
    centres
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_side_by_side_share_a_ring() {
        let at = |x: f64| Spot { x, y: 5.0 };
        let centres = clusters(&[at(0.0), at(0.5), at(1.2), at(9.0)]);
        assert_eq!(centres, [at(0.0), at(9.0)]);
    }
}
