//! Places as they are written: whole billionths of a degree.
//!
//! Nine decimals of a degree are a lattice of about 0.1 mm. Moving a polygon's corners
//! onto it can close a narrow neck or fold a sliver over itself, so every polygon is
//! looked at again *on the lattice*, in whole numbers, and mended where it is no longer
//! simple. What is cut at 180 degrees is cut here too.

use std::fmt::{self, Display, Formatter};

use geo::{LineString, Polygon};

use super::mend::{cut_out, is_clear, least_step, mend};

/// Lattice steps in a degree.
pub(super) const STEPS_PER_DEG: f64 = 1e9;
/// Lattice steps in half a turn.
const HALF_TURN: i64 = 180_000_000_000;
/// Metres in a lattice step of latitude, near enough to tell a crumb from a place.
const M_PER_STEP: f64 = 6_371_008.8 * std::f64::consts::PI / 180.0 / STEPS_PER_DEG;
/// Holes under this area, in square steps, may be lost.
const LEAST_HOLE: i128 = 4;

/// A place on the lattice. Longitude may run past 180 degrees until it is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Node {
    /// Longitude in steps, east positive.
    pub lon: i64,
    /// Latitude in steps, north positive.
    pub lat: i64,
}

impl Node {
    /// Longitude and latitude in degrees, as written.
    #[allow(clippy::cast_precision_loss)] // below 2^53
    pub(super) fn degrees(self) -> [f64; 2] {
        [
            self.lon as f64 / STEPS_PER_DEG,
            self.lat as f64 / STEPS_PER_DEG,
        ]
    }

    /// The same place with its longitude folded into -180 to 180 degrees.
    pub(super) fn folded(self) -> Self {
        let turn = 2 * HALF_TURN;
        let lon = if self.lon > HALF_TURN {
            self.lon - turn
        } else if self.lon < -HALF_TURN {
            self.lon + turn
        } else {
            self.lon
        };
        Self { lon, ..self }
    }
}

/// Billionths of a degree, shown as degrees with nine decimals.
pub(super) struct NineDecimals(pub i64);

impl Display for NineDecimals {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(self.digits(&mut [b'0'; DIGITS]))
    }
}

/// Billionths of a degree, shown as degrees with as many decimals as it needs.
pub(super) struct Degrees(pub i64);

impl Degrees {
    /// Of an angle as it is written: a whole number of billionths.
    #[allow(clippy::cast_possible_truncation)] // degrees times 1e9 is far below 2^63
    pub(super) fn of(deg: f64) -> Self {
        Self((deg * STEPS_PER_DEG).round() as i64)
    }
}

impl Display for Degrees {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let digits = &mut [b'0'; DIGITS];
        let digits = NineDecimals(self.0).digits(digits);
        f.write_str(digits.trim_end_matches('0').trim_end_matches('.'))
    }
}

/// The digits of an `i64`, its point and its sign.
const DIGITS: usize = 21;

impl NineDecimals {
    /// The letters, at the end of the room for them, which holds noughts. Digit by digit: a
    /// float's own way takes many times as long.
    fn digits<'a>(&self, room: &'a mut [u8; DIGITS]) -> &'a str {
        const POINT: usize = DIGITS - 10;
        let mut rest = self.0.unsigned_abs();
        let mut begins = DIGITS;
        room[POINT] = b'.';
        // A digit stands before the point at least.
        while rest > 0 || begins > POINT - 1 {
            begins -= 1;
            if begins == POINT {
                continue;
            }
            room[begins] = b'0' + (rest % 10) as u8;
            rest /= 10;
        }
        if self.0 < 0 {
            begins -= 1;
            room[begins] = b'-';
        }
        std::str::from_utf8(&room[begins..]).unwrap_or_default()
    }
}

/// A polygon on the lattice: exterior ring first, rings not closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Patch {
    pub rings: Vec<Vec<Node>>,
}

/// What is to be written of one shape: valid, wound as RFC 7946 says (exterior
/// anticlockwise), within -180 to 180 degrees, no piece under `least_m2`. Empty where
/// nothing of it is left.
pub(super) fn written(patches: Vec<Patch>, least_m2: f64) -> Vec<Patch> {
    let sides = cut_patches(patches.into_iter().filter_map(tidy).collect());
    sides
        .into_iter()
        .flat_map(|side| mended(side, least_m2))
        .collect()
}

/// The same, not cut: longitude may run past 180 degrees.
pub(super) fn written_whole(patches: Vec<Patch>, least_m2: f64) -> Vec<Patch> {
    mended(patches.into_iter().filter_map(tidy).collect(), least_m2)
}

/// Tidied patches, valid on the lattice, none under `least_m2`.
fn mended(patches: Vec<Patch>, least_m2: f64) -> Vec<Patch> {
    let whole = match Bounds::of(&patches) {
        Some(bounds) if !is_clear(&patches) => mend(&patches, bounds),
        _ => patches,
    };
    whole
        .into_iter()
        .filter(|patch| patch.area_m2() >= least_m2)
        .collect()
}

/// Drops repeated corners and rings that are none, and winds the rest.
pub(super) fn tidy(patch: Patch) -> Option<Patch> {
    let mut rings = Vec::with_capacity(patch.rings.len());
    for (index, mut ring) in patch.rings.into_iter().enumerate() {
        ring.dedup();
        while ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
        let area = twice_area(&ring);
        let is_exterior = index == 0;
        if ring.len() < 3 || (!is_exterior && area.abs() < 2 * LEAST_HOLE) {
            if is_exterior {
                return None;
            }
            continue;
        }
        if (area > 0) != is_exterior {
            ring.reverse();
        }
        rings.push(ring);
    }
    Some(Patch { rings })
}

/// Twice the signed area of a ring in square steps, anticlockwise positive.
pub(super) fn twice_area(ring: &[Node]) -> i128 {
    let Some(&origin) = ring.first() else {
        return 0;
    };
    ring.windows(2)
        .map(|pair| cross(origin, pair[0], pair[1]))
        .sum()
}

/// Twice the area of the triangle a, b, c; positive where c lies left of a to b.
pub(super) fn cross(a: Node, b: Node, c: Node) -> i128 {
    let (abx, aby) = (i128::from(b.lon - a.lon), i128::from(b.lat - a.lat));
    let (acx, acy) = (i128::from(c.lon - a.lon), i128::from(c.lat - a.lat));
    abx * acy - aby * acx
}

impl Patch {
    /// Area in square metres, near enough to tell a crumb from a place.
    #[allow(clippy::cast_precision_loss)]
    fn area_m2(&self) -> f64 {
        let twice: i128 = self.rings.iter().map(|ring| twice_area(ring)).sum();
        let lat_deg = self
            .rings
            .first()
            .and_then(|ring| ring.first())
            .map_or(0.0, |node| node.degrees()[1]);
        twice as f64 / 2.0 * M_PER_STEP * M_PER_STEP * lat_deg.to_radians().cos()
    }

    pub(super) fn as_degrees(&self) -> Polygon<f64> {
        let mut rings = self.rings.iter().map(|ring| {
            let closed = ring.iter().chain(ring.first());
            LineString::from_iter(closed.map(|node| {
                let [x, y] = node.degrees();
                geo::Coord { x, y }
            }))
        });
        let exterior = rings.next().unwrap_or_else(|| LineString::new(Vec::new()));
        Polygon::new(exterior, rings.collect())
    }
}

/// Cuts a shape where its longitude passes 180 degrees, and folds each side.
fn cut_patches(patches: Vec<Patch>) -> Vec<Vec<Patch>> {
    let Some(bounds) = Bounds::of(&patches) else {
        return Vec::new();
    };
    let mut sides = Vec::new();
    for turn in [-2 * HALF_TURN, 0, 2 * HALF_TURN] {
        let (west, east) = (turn - HALF_TURN, turn + HALF_TURN);
        if bounds.high.lon <= west || bounds.low.lon >= east {
            continue;
        }
        let mut side = if west <= bounds.low.lon && bounds.high.lon <= east {
            patches.clone()
        } else {
            let frame = Bounds {
                low: Node {
                    lon: west.max(bounds.low.lon),
                    lat: bounds.low.lat,
                },
                high: Node {
                    lon: east.min(bounds.high.lon),
                    lat: bounds.high.lat,
                },
            };
            let edge_lon = if frame.low.lon == west { west } else { east };
            cut_out(&patches, frame, edge_lon, least_step(bounds))
        };
        for node in side.iter_mut().flat_map(|patch| &mut patch.rings).flatten() {
            node.lon -= turn;
        }
        sides.push(side);
    }
    sides
}

/// The extent of a shape.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bounds {
    pub low: Node,
    pub high: Node,
}

impl Bounds {
    pub(super) fn of(patches: &[Patch]) -> Option<Self> {
        let mut nodes = patches.iter().flat_map(|patch| &patch.rings).flatten();
        let &first = nodes.next()?;
        let mut bounds = Self {
            low: first,
            high: first,
        };
        for node in nodes {
            bounds.low.lon = bounds.low.lon.min(node.lon);
            bounds.low.lat = bounds.low.lat.min(node.lat);
            bounds.high.lon = bounds.high.lon.max(node.lon);
            bounds.high.lat = bounds.high.lat.max(node.lat);
        }
        Some(bounds)
    }

    pub(super) fn middle(self) -> Node {
        Node {
            lon: self.low.lon.midpoint(self.high.lon),
            lat: self.low.lat.midpoint(self.high.lat),
        }
    }
}

/// Cuts a line where its longitude passes 180 degrees, and folds each run.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
pub(super) fn cut_line(nodes: &[Node]) -> Vec<Vec<Node>> {
    let mut runs: Vec<Vec<Node>> = Vec::new();
    let mut run: Vec<Node> = Vec::new();
    for &node in nodes {
        if let Some(&last) = run.last() {
            for edge in [-HALF_TURN, HALF_TURN] {
                if (last.lon < edge && node.lon > edge) || (last.lon > edge && node.lon < edge) {
                    let share = (edge - last.lon) as f64 / (node.lon - last.lon) as f64;
                    let lat = last.lat + (share * (node.lat - last.lat) as f64).round() as i64;
                    let cut = Node { lon: edge, lat };
                    run.push(cut);
                    runs.push(std::mem::replace(&mut run, vec![cut]));
                }
            }
        }
        run.push(node);
    }
    runs.push(run);
    for run in &mut runs {
        fold_run(run);
    }
    runs
}

/// Folds a run that lies on one side of 180 degrees; its ends may lie on it.
fn fold_run(run: &mut [Node]) {
    let turn = if run.iter().any(|node| node.lon > HALF_TURN) {
        2 * HALF_TURN
    } else if run.iter().any(|node| node.lon < -HALF_TURN) {
        -2 * HALF_TURN
    } else {
        0
    };
    for node in run {
        node.lon -= turn;
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use geo::{MultiPolygon, Validation};

    use super::*;

    fn ring(corners: &[(i64, i64)]) -> Vec<Node> {
        corners
            .iter()
            .map(|&(lon, lat)| Node { lon, lat })
            .collect()
    }

    fn patch(rings: &[&[(i64, i64)]]) -> Patch {
        Patch {
            rings: rings.iter().map(|corners| ring(corners)).collect(),
        }
    }

    fn square_steps(patches: &[Patch]) -> i128 {
        let rings = patches.iter().flat_map(|patch| &patch.rings);
        rings.map(|ring| twice_area(ring)).sum::<i128>() / 2
    }

    fn assert_valid(patches: &[Patch]) {
        let shape = MultiPolygon::new(patches.iter().map(Patch::as_degrees).collect());
        assert!(shape.is_valid(), "{patches:?}");
        for patch in patches {
            for (index, ring) in patch.rings.iter().enumerate() {
                assert_eq!(twice_area(ring) > 0, index == 0, "winding of {ring:?}");
            }
        }
    }

    #[test]
    fn degrees_are_shown_as_their_float_is() {
        let turn = 2 * HALF_TURN;
        for steps in [
            0,
            1,
            -1,
            10,
            -500_000_000,
            1_000_000_000,
            55_312_000_010,
            turn,
            -turn,
        ] {
            let node = Node { lon: steps, lat: 0 };
            let [deg, _] = node.degrees();
            assert_eq!(Degrees(steps).to_string(), deg.to_string());
            assert_eq!(NineDecimals(steps).to_string(), format!("{deg:.9}"));
        }
        assert_eq!(NineDecimals(i64::MIN).to_string(), "-9223372036.854775808");
    }

    #[test]
    fn a_clear_polygon_keeps_its_corners_and_is_wound_anticlockwise() {
        let clockwise = patch(&[
            &[(0, 0), (0, 900), (900, 900), (900, 0)],
            &[(100, 100), (200, 100), (200, 200), (100, 200)],
        ]);
        let out = written(vec![clockwise], 0.0);
        assert_valid(&out);
        assert_eq!(
            out[0].rings[0],
            ring(&[(900, 0), (900, 900), (0, 900), (0, 0)])
        );
        assert_eq!(out[0].rings[1][0], Node { lon: 100, lat: 200 });
    }

    #[test]
    fn a_neck_that_rounding_closed_becomes_two_pieces() {
        let hourglass = patch(&[&[
            (0, 0),
            (1000, 0),
            (500, 500),
            (1000, 1000),
            (0, 1000),
            (500, 500),
        ]]);
        let out = written(vec![hourglass], 0.0);
        assert_valid(&out);
        assert_eq!(out.len(), 2);
        assert_eq!(square_steps(&out), 500_000);
    }

    #[test]
    fn a_spike_of_no_width_is_taken_off() {
        let spiked = patch(&[&[
            (0, 0),
            (1000, 0),
            (1000, 1000),
            (1000, 4000),
            (1000, 1000),
            (0, 1000),
        ]]);
        let out = written(vec![spiked], 0.0);
        assert_valid(&out);
        assert_eq!(square_steps(&out), 1_000_000);
    }

    #[test]
    fn a_lobe_folded_over_by_rounding_drops_out() {
        let folded = patch(&[&[
            (0, 0),
            (1000, 0),
            (1000, 1000),
            (1002, 1000),
            (999, 500),
            (0, 1000),
        ]]);
        assert_valid(&written(vec![folded], 0.0));
    }

    #[test]
    fn a_hole_that_reaches_out_of_its_polygon_becomes_a_bay() {
        let pierced = patch(&[
            &[(0, 0), (1000, 0), (1000, 1000), (0, 1000)],
            &[(900, 400), (900, 600), (1001, 600), (1001, 400)],
        ]);
        let out = written(vec![pierced], 0.0);
        assert_valid(&out);
        assert_eq!(out[0].rings.len(), 1);
        assert_eq!(square_steps(&out), 1_000_000 - 100 * 200);
    }

    #[test]
    fn holes_that_touch_in_two_points_do_not_leave_an_island_inside() {
        let ringed = patch(&[
            &[(0, 0), (1000, 0), (1000, 1000), (0, 1000)],
            &[(300, 500), (500, 700), (700, 500), (500, 900)],
            &[(300, 500), (500, 100), (700, 500), (500, 300)],
        ]);
        let out = written(vec![ringed], 0.0);
        assert_valid(&out);
        assert_eq!(out.len(), 2, "the island is a polygon of its own: {out:?}");
    }

    #[test]
    fn pieces_that_came_to_overlap_are_united() {
        let one = patch(&[&[(0, 0), (1000, 0), (1001, 1000), (0, 1000)]]);
        let two = patch(&[&[(1000, 0), (2000, 0), (2000, 1000), (1000, 1000)]]);
        let out = written(vec![one, two], 0.0);
        assert_valid(&out);
        assert_eq!(out.len(), 1);
    }

    #[test]
    fn crumbs_are_dropped_and_what_collapses_is_nothing() {
        let crumb = patch(&[&[(0, 0), (80, 0), (80, 80), (0, 80)]]); // 9 mm square
        assert_eq!(written(vec![crumb.clone()], 1e-4), Vec::new());
        assert_eq!(written(vec![crumb], 0.0).len(), 1);
        let line = patch(&[&[(0, 0), (1000, 0), (1000, 0), (0, 0)]]);
        assert_eq!(written(vec![line], 0.0), Vec::new());
    }

    #[test]
    fn a_polygon_across_180_degrees_is_cut_into_two_that_sum_to_it() {
        let (west, east) = (HALF_TURN - 600, HALF_TURN + 400);
        let across = patch(&[&[(west, 0), (east, 0), (east, 1000), (west, 1000)]]);
        let out = written(vec![across], 0.0);
        assert_valid(&out);
        assert_eq!(square_steps(&out), 1_000_000);
        assert_eq!(out.len(), 2);
        let lons = |patch: &Patch| {
            let all = patch.rings[0].iter().map(|node| node.lon);
            (all.clone().min().unwrap(), all.max().unwrap())
        };
        let mut extents: Vec<_> = out.iter().map(lons).collect();
        extents.sort_unstable();
        assert_eq!(extents, [(-HALF_TURN, 400 - HALF_TURN), (west, HALF_TURN)]);
    }

    #[test]
    fn a_polygon_across_minus_180_degrees_is_cut_too() {
        let (west, east) = (-HALF_TURN - 600, -HALF_TURN + 400);
        let across = patch(&[&[(west, 0), (east, 0), (east, 1000), (west, 1000)]]);
        let out = written(vec![across], 0.0);
        assert_valid(&out);
        assert_eq!(square_steps(&out), 1_000_000);
        assert!(
            out.iter()
                .flat_map(|patch| &patch.rings[0])
                .all(|node| node.lon.abs() <= HALF_TURN)
        );
    }

    #[test]
    fn a_polygon_that_only_touches_180_degrees_stays_whole() {
        let beside = patch(&[&[
            (HALF_TURN, 0),
            (HALF_TURN + 500, 0),
            (HALF_TURN + 500, 500),
            (HALF_TURN, 500),
        ]]);
        let out = written(vec![beside], 0.0);
        assert_eq!(out.len(), 1);
        assert_eq!(
            out[0].rings[0][0],
            Node {
                lon: -HALF_TURN,
                lat: 0
            }
        );
    }

    #[test]
    fn a_line_is_cut_where_it_crosses_and_not_where_it_touches() {
        let crossing = ring(&[(HALF_TURN - 100, 0), (HALF_TURN + 300, 400)]);
        assert_eq!(
            cut_line(&crossing),
            [
                ring(&[(HALF_TURN - 100, 0), (HALF_TURN, 100)]),
                ring(&[(-HALF_TURN, 100), (300 - HALF_TURN, 400)]),
            ]
        );
        let touching = ring(&[
            (HALF_TURN - 100, 0),
            (HALF_TURN, 50),
            (HALF_TURN - 100, 100),
        ]);
        assert_eq!(cut_line(&touching), [touching]);
    }

    /// A fixed little generator of whole numbers.
    fn generator(mut state: u64) -> impl FnMut(u64) -> i64 {
        move |below| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            ((state >> 33) % below).cast_signed()
        }
    }

    #[test]
    fn rings_that_touch_fold_and_cross_come_out_valid() {
        let mut next = generator(7);
        let mut n_mended = 0;
        for _ in 0..2000 {
            let n_corners = 3 + next(9);
            let corners: Vec<(i64, i64)> = (0..n_corners).map(|_| (next(12), next(12))).collect();
            let before = patch(&[&corners]);
            n_mended += usize::from(!is_clear(std::slice::from_ref(&before)));
            assert_valid(&written(vec![before], 0.0));
        }
        assert!(n_mended > 1000, "{n_mended}");
    }

    #[test]
    fn mended_ground_is_where_rings_wind_round_it_more_left_than_right() {
        const GRID: i64 = 8;
        let mut next = generator(11);
        for _ in 0..500 {
            let mut winding = vec![0; 64];
            let patches: Vec<Patch> = (0..5)
                .map(|number| {
                    let (west, south) = (next(7), next(7));
                    let east = west + 1 + next((GRID - west - 1).cast_unsigned().max(1));
                    let north = south + 1 + next((GRID - south - 1).cast_unsigned().max(1));
                    let is_hole = number == 4;
                    for cell in 0..64 {
                        let (x, y) = (cell % GRID, cell / GRID);
                        if (west..east).contains(&x) && (south..north).contains(&y) {
                            winding[usize::try_from(cell).unwrap()] += if is_hole { -1 } else { 1 };
                        }
                    }
                    let [west, east, south, north] =
                        [west, east, south, north].map(|line| 10 * line);
                    let mut corners =
                        ring(&[(west, south), (east, south), (east, north), (west, north)]);
                    if is_hole {
                        corners.reverse();
                    }
                    Patch {
                        rings: vec![corners],
                    }
                })
                .collect();
            let n_cells = winding.iter().filter(|&&times| times > 0).count();
            let out = mend(&patches, Bounds::of(&patches).unwrap());
            assert_valid(&out);
            assert_eq!(
                square_steps(&out),
                100 * i128::try_from(n_cells).unwrap(),
                "{patches:?}"
            );
        }
    }
}
