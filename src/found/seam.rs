//! Whole again what was cut at 180 degrees: GeoJSON (RFC 7946, section 3.1.9) and its like cut
//! there, and a line or a ground in two pieces would be counted twice and measured short.
//!
//! A line is joined where one piece stops on the seam and the next starts at the same latitude on
//! its other side. Grounds are stitched: of every ring the edges that lie on the seam are taken
//! out, and the chains that are left are joined at equal latitudes. What finds no partner stays
//! as it was. A cut adds a corner; it goes again where the edge runs straight through it.

use super::limits::SEAM_CHAINS;
use crate::space::Position;

/// Two latitudes of the same cut differ by no more, degrees: a unit of the ninth decimal.
const SAME_DEG: f64 = 1.5e-9;
/// A corner on the seam this little beside the edge through it is the cut's, degrees: two
/// roundings to the ninth decimal.
const CUT_DEG: f64 = 2e-9;

/// A line as its positions; a ring likewise, not closed.
type Run = Vec<Position>;

fn is_on_seam(at: &Position) -> bool {
    at.lon_deg.abs() == 180.0
}

/// Whether two positions are the same place of the seam, seen from its two sides.
fn is_across(one: &Position, other: &Position) -> bool {
    is_on_seam(one)
        && one.lon_deg == -other.lon_deg
        && (one.lat_deg - other.lat_deg).abs() <= SAME_DEG
}

/// The runs of one line, those joined that were cut apart.
pub(super) fn whole_lines(runs: Vec<Run>) -> Vec<Run> {
    let mut whole: Vec<Run> = Vec::with_capacity(runs.len());
    for run in runs {
        match (whole.last_mut(), run.first()) {
            (Some(before), Some(first))
                if before.last().is_some_and(|last| is_across(last, first)) =>
            {
                let seam = before.len() - 1;
                before.extend_from_slice(&run[1..]);
                if seam > 0
                    && seam + 1 < before.len()
                    && is_straight(&before[seam - 1], &before[seam], &before[seam + 1])
                {
                    before.remove(seam);
                }
            }
            _ => whole.push(run),
        }
    }
    whole
}

/// Whether the edge from `before` to `after` runs through `at`, which lies on the seam.
fn is_straight(before: &Position, at: &Position, after: &Position) -> bool {
    let lon = |position: &Position| beside(position.lon_deg, before.lon_deg) - before.lon_deg;
    let (to_at, to_after) = (lon(at), lon(after));
    let (rise_at, rise_after) = (at.lat_deg - before.lat_deg, after.lat_deg - before.lat_deg);
    let length = to_after.hypot(rise_after);
    length > 0.0 && (to_at * rise_after - rise_at * to_after).abs() <= CUT_DEG * length
}

/// A longitude brought within 180 degrees of another, so that neighbours are neighbours.
pub(super) fn beside(lon_deg: f64, near_deg: f64) -> f64 {
    let away = lon_deg - near_deg;
    if away > 180.0 {
        lon_deg - 360.0
    } else if away < -180.0 {
        lon_deg + 360.0
    } else {
        lon_deg
    }
}

/// A longitude within -180 to 180 again.
pub(super) fn folded(lon_deg: f64) -> f64 {
    if lon_deg > 180.0 {
        lon_deg - 360.0
    } else if lon_deg < -180.0 {
        lon_deg + 360.0
    } else {
        lon_deg
    }
}

/// The polygons of one ground (each its rings, exterior first, not closed), those stitched that
/// were cut apart.
pub(super) fn whole_grounds(polygons: Vec<Vec<Run>>) -> Vec<Vec<Run>> {
    let (cut, mut whole): (Vec<_>, Vec<_>) = polygons
        .into_iter()
        .partition(|rings| rings.iter().flatten().any(is_on_seam));
    if cut.is_empty() {
        return whole;
    }
    match stitched(&cut) {
        Some(joined) => whole.extend(joined),
        None => whole.extend(cut),
    }
    whole
}

/// The stitched grounds; `None` where a chain finds no partner.
fn stitched(polygons: &[Vec<Run>]) -> Option<Vec<Vec<Run>>> {
    let has_side = |east: bool| {
        let mut lons = polygons.iter().flatten().flatten().map(|at| at.lon_deg);
        lons.any(|lon| if east { lon > 0.0 } else { lon < 0.0 })
    };
    if !(has_side(true) && has_side(false)) {
        return None;
    }
    let (mut rings, mut chains) = (Vec::new(), Vec::new());
    for polygon in polygons {
        for (index, ring) in polygon.iter().enumerate() {
            let mut ring = ring.clone();
            // Exteriors anticlockwise, holes clockwise: then chains join head to tail.
            if (twice_area(&ring) > 0.0) != (index == 0) {
                ring.reverse();
            }
            split(ring, &mut rings, &mut chains);
        }
    }
    if chains.len() > SEAM_CHAINS.most {
        return None;
    }
    while let Some(mut chain) = chains.pop() {
        loop {
            let last = *chain.last()?;
            let seam = chain.len() - 1;
            let next = chains
                .iter()
                .position(|next: &Run| next.first().is_some_and(|first| is_across(&last, first)));
            let is_closed = is_across(&last, chain.first()?);
            if let Some(next) = next {
                let next = chains.swap_remove(next);
                chain.extend_from_slice(&next[1..]);
                if is_straight(&chain[seam - 1], &chain[seam], &chain[seam + 1]) {
                    chain.remove(seam);
                }
            } else if is_closed && chain.len() > 3 {
                chain.pop();
                let count = chain.len();
                if is_straight(&chain[count - 1], &chain[0], &chain[1]) {
                    chain.remove(0);
                }
                rings.push(chain);
                break;
            } else {
                return None;
            }
        }
    }
    Some(nested(rings))
}

/// A ring as the chains between its edges on the seam; whole where it has none.
fn split(ring: Run, rings: &mut Vec<Run>, chains: &mut Vec<Run>) {
    let count = ring.len();
    let on_seam = |index: usize| {
        let (from, to) = (&ring[index % count], &ring[(index + 1) % count]);
        is_on_seam(from) && from.lon_deg == to.lon_deg
    };
    let Some(first) = (0..count).find(|index| on_seam(*index)) else {
        rings.push(ring);
        return;
    };
    let mut chain: Run = Vec::new();
    for index in first + 1..=first + count {
        chain.push(ring[index % count]);
        if on_seam(index) {
            if chain.len() > 1 {
                chains.push(std::mem::take(&mut chain));
            }
            chain.clear();
        }
    }
}

/// Twice the signed area in square degrees, anticlockwise positive.
fn twice_area(ring: &[Position]) -> f64 {
    let Some(origin) = ring.first() else {
        return 0.0;
    };
    let off = |at: &Position| {
        (
            beside(at.lon_deg, origin.lon_deg) - origin.lon_deg,
            at.lat_deg - origin.lat_deg,
        )
    };
    ring.windows(2)
        .map(|pair| {
            let ((ax, ay), (bx, by)) = (off(&pair[0]), off(&pair[1]));
            ax * by - ay * bx
        })
        .sum()
}

/// Exteriors with the holes that lie in them; a hole in none of them is an exterior of its own.
pub(super) fn nested(rings: Vec<Run>) -> Vec<Vec<Run>> {
    let (exteriors, holes): (Vec<_>, Vec<_>) =
        rings.into_iter().partition(|ring| twice_area(ring) > 0.0);
    let mut polygons: Vec<Vec<Run>> = exteriors.into_iter().map(|ring| vec![ring]).collect();
    for hole in holes {
        let Some(at) = hole.first() else {
            continue;
        };
        // The least exterior about it: grounds within holes of others come out right.
        let about = polygons
            .iter_mut()
            .filter(|polygon| polygon.first().is_some_and(|ring| is_within(at, ring)))
            .min_by(|one, other| {
                let area = |polygon: &[Run]| polygon.first().map_or(0.0, |ring| twice_area(ring));
                area(one).total_cmp(&area(other))
            });
        match about {
            Some(polygon) => polygon.push(hole),
            None => polygons.push(vec![hole]),
        }
    }
    polygons
}

/// Whether a position lies within a ring (crossings of the ray to the east; a place on the ring
/// counts as either).
fn is_within(at: &Position, ring: &[Position]) -> bool {
    let count = ring.len();
    let mut within = false;
    for (index, from) in ring.iter().enumerate() {
        let to = &ring[(index + 1) % count];
        if (from.lat_deg > at.lat_deg) != (to.lat_deg > at.lat_deg) {
            let share = (at.lat_deg - from.lat_deg) / (to.lat_deg - from.lat_deg);
            let from_lon = beside(from.lon_deg, at.lon_deg);
            let lon = from_lon + share * (beside(to.lon_deg, from_lon) - from_lon);
            within ^= lon > at.lon_deg;
        }
    }
    within
}

#[cfg(test)]
mod tests {
    #![allow(clippy::panic)]
    use super::*;

    fn run(corners: &[(f64, f64)]) -> Run {
        let at = |&(lon_deg, lat_deg): &(f64, f64)| Position { lat_deg, lon_deg };
        corners.iter().map(at).collect()
    }

    #[test]
    fn a_line_cut_at_the_seam_is_one_again_and_loses_the_cut() {
        let cut = vec![
            run(&[(179.9, -40.0), (180.0, -40.1)]),
            run(&[(-180.0, -40.1), (-179.9, -40.2)]),
        ];
        assert_eq!(whole_lines(cut), [run(&[(179.9, -40.0), (-179.9, -40.2)])]);
        let bent = vec![
            run(&[(-179.9, 1.0), (-180.0, 1.0)]),
            run(&[(180.0, 1.0), (179.9, 2.0)]),
        ];
        assert_eq!(
            whole_lines(bent),
            [run(&[(-179.9, 1.0), (-180.0, 1.0), (179.9, 2.0)])]
        );
    }

    #[test]
    fn two_lines_that_do_not_meet_stay_two() {
        let two = vec![
            run(&[(179.9, 0.0), (180.0, 0.0)]),
            run(&[(-180.0, 0.1), (-179.9, 0.1)]),
        ];
        assert_eq!(whole_lines(two.clone()), two);
    }

    #[test]
    fn a_ground_cut_at_the_seam_through_its_hole_is_one_again() {
        let west = run(&[
            (179.0, 0.0),
            (180.0, 0.0),
            (180.0, 1.0),
            (179.5, 1.0),
            (179.5, 2.0),
            (180.0, 2.0),
            (180.0, 3.0),
            (179.0, 3.0),
        ]);
        let east = run(&[
            (-180.0, 0.0),
            (-179.0, 0.0),
            (-179.0, 3.0),
            (-180.0, 3.0),
            (-180.0, 2.0),
            (-179.5, 2.0),
            (-179.5, 1.0),
            (-180.0, 1.0),
        ]);
        let whole = whole_grounds(vec![vec![west], vec![east]]);
        assert_eq!(whole.len(), 1);
        let [exterior, hole] = &whole[0][..] else {
            panic!("{whole:?}");
        };
        assert_eq!((exterior.len(), hole.len()), (4, 4));
        assert!((twice_area(exterior) - 12.0).abs() < 1e-12);
        assert!((twice_area(hole) + 2.0).abs() < 1e-12);
    }

    #[test]
    fn grounds_that_only_touch_the_seam_stay_as_they_are() {
        let touching = vec![vec![run(&[(179.0, 0.0), (180.0, 0.5), (179.0, 1.0)])]];
        assert_eq!(whole_grounds(touching.clone()), touching);
        let apart = vec![
            vec![run(&[(179.0, 0.0), (180.0, 0.0), (180.0, 1.0)])],
            vec![run(&[(-180.0, 4.0), (-179.0, 4.0), (-180.0, 5.0)])],
        ];
        assert_eq!(whole_grounds(apart.clone()), apart);
    }
}
