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

/// More rings than this are too many.
const MOST_RINGS: usize = 24;

/// A place nearer than this to a line's end is one of its crumbs.
const AT_END_MM: f64 = 2.0;

/// Size of the labels.
const LABEL_MM: f64 = 2.7;

/// The missed places of a direction, drawn.
pub(super) struct MissedMap {
    /// The grounds themselves, to lie under the pass lines.
    pub grounds: Vec<Item>,
    /// The rings, to lie over them.
    pub rings: Vec<Item>,
    /// Spot and words of the places worth a label, the most important first.
    labels: Vec<(Spot, String)>,
}

impl MissedMap {
    /// Draws missed places; the rings take their room. `line_ends`: where lines end, on the
    /// paper.
    pub(super) fn draw(
        missed: &[MissedPlace],
        line_ends: &[Spot],
        layout: &Layout,
        room: &mut Room,
    ) -> Self {
        let mut grounds = Vec::new();
        let mut seen = Vec::new();
        let mut small = Vec::new();
        for place in missed {
            let shape = layout.shape(&MultiPolygon(vec![place.shape.clone()]));
            let Some(rect) = shape.bounding_rect() else {
                continue;
            };
            grounds.extend(symbols::missed(&shape));
            if rect.width().max(rect.height()) < SEEN_MM {
                small.push(rect.center());
            } else {
                seen.push((place, rect.center()));
            }
        }
        let mut drawn = Vec::new();
        for (centre, radius_mm) in rings(&small, line_ends) {
            drawn.extend(symbols::missed_ring(centre, radius_mm));
            room.take_symbol(Frame::about(centre, 2.0 * radius_mm, 2.0 * radius_mm));
        }
        // Largest first; places of one size in their own order.
        seen.sort_by(|(a, _), (b, _)| b.area_m2.total_cmp(&a.area_m2));
        let labels = seen
            .iter()
            .filter(|(place, _)| place.area_m2 >= LABEL_FROM_M2)
            .take(MOST_LABELS)
            .map(|(place, centre)| {
                let spot = spot_in(place, layout).unwrap_or(*centre);
                (spot, words::area(place.area_m2))
            })
            .collect();
        Self {
            grounds,
            rings: drawn,
            labels,
        }
    }

    /// The areas of the largest places, where there is room.
    pub(super) fn labels(&self, room: &mut Room) -> Vec<Item> {
        self.labels
            .iter()
            .flat_map(|(spot, words)| {
                label_near(*spot, LABEL_MM, words, (1.4, 16.0), room, |_| true)
            })
            .collect()
    }
}

fn spot_in(place: &MissedPlace, layout: &Layout) -> Option<Spot> {
    use geo::InteriorPoint;
    place
        .shape
        .interior_point()
        .map(|point| layout.spot(point.0))
}

/// Middles and radii of the rings. Where there would be too many, the crumbs at the ends
/// of lines go without: they are of one kind, and rings on them would hide the rest.
fn rings(small: &[Spot], line_ends: &[Spot]) -> Vec<(Spot, f64)> {
    let all = clusters(small);
    if all.len() <= MOST_RINGS {
        return all;
    }
    let is_at_end = |place: &Spot| {
        line_ends
            .iter()
            .any(|end| between(*place, *end) < AT_END_MM)
    };
    let elsewhere: Vec<Spot> = small
        .iter()
        .copied()
        .filter(|place| !is_at_end(place))
        .collect();
    let mut rings = clusters(&elsewhere);
    rings.truncate(MOST_RINGS);
    rings
}

fn between(one: Spot, other: Spot) -> f64 {
    (one - other).x.hypot((one - other).y)
}

/// Small places that one ring can hold share one.
fn clusters(places: &[Spot]) -> Vec<(Spot, f64)> {
    let mut clusters: Vec<Vec<Spot>> = Vec::new();
    for &place in places {
        let near = clusters.iter_mut().find(|cluster| {
            cluster
                .first()
                .is_some_and(|first| between(place, *first) < 2.0 * RING_RADIUS_MM)
        });
        match near {
            Some(cluster) => cluster.push(place),
            None => clusters.push(vec![place]),
        }
    }
    let ring = |cluster: &Vec<Spot>| {
        let count = f64::from(u32::try_from(cluster.len()).unwrap_or(u32::MAX)).max(1.0);
        let sum = cluster
            .iter()
            .fold(Spot { x: 0.0, y: 0.0 }, |sum, place| sum + *place);
        let centre = sum / count;
        let reach = cluster
            .iter()
            .map(|place| between(*place, centre))
            .fold(0.0, f64::max);
        (centre, RING_RADIUS_MM.max(reach + 1.0))
    };
    clusters.iter().map(ring).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64) -> Spot {
        Spot { x, y: 5.0 }
    }

    #[test]
    fn places_side_by_side_share_a_ring() {
        let rings = clusters(&[at(0.0), at(1.0), at(2.0), at(9.0)]);
        assert_eq!(rings, [(at(1.0), 2.0), (at(9.0), RING_RADIUS_MM)]);
    }

    #[test]
    fn crumbs_at_line_ends_are_not_ringed_where_they_are_many() {
        let ends: Vec<Spot> = (0..60_u8).map(|index| at(4.0 * f64::from(index))).collect();
        let mut small = ends.clone();
        small.push(Spot { x: 50.0, y: 60.0 });
        let rings = rings(&small, &ends);
        assert_eq!(rings, [(Spot { x: 50.0, y: 60.0 }, RING_RADIUS_MM)]);
    }
}
