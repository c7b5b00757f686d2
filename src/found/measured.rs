//! What was found, measured in metres: how long lines are, which way they point and how far
//! apart they lie, how large areas are and which rectangle fits them.
//!
//! 1. Things whose middles lie within [`SITE_M`] of each other are one site.
//! 2. Each site has a plane of its own: the frame of a pitch (`ground::frame`) at the middle of
//!    its things, +x east and +y north, so that a heading is true at that middle.
//! 3. Lines of a group are sorted by how they lie, then by how far they lie to the left; what
//!    lies between neighbours is the spacing.

use geo::{Area as _, ConvexHull as _, LineString, Polygon};
use serde::Serialize;

use super::limits::SITES;
use super::seam::{beside, folded};
use super::{Found, FoundArea, FoundLine, Label};
use crate::ground::fit;
use crate::ground::frame::{Frame, Projector};
use crate::space::{Heading, Position, Xy};

/// Things nearer than this to the first of a site belong to it, metres.
const SITE_M: f64 = 2_000.0;
/// No thing that reaches further from the middle of its site is measured, metres: the scale of
/// the plane is then more than three in a hundred thousand off.
const REACH_M: f64 = 50_000.0;
/// A line that leaves its chord by no more is straight, metres.
const STRAIGHT_M: f64 = 0.05;
/// Lines that differ by no more point the same way, degrees.
const ALIKE_DEG: f64 = 0.2;
/// Lines nearer than this lie on each other: parts of one pass, metres.
const SAME_LINE_M: f64 = 0.02;
/// Spacings that differ by no more than this are regular: metres, and as a share.
const REGULAR_M: f64 = 0.05;
const REGULAR_SHARE: f64 = 0.05;
/// Corners of a convex hull to which a rectangle is fitted; its time grows with their square.
const HULL_CORNERS: usize = 1_000;
/// Mean radius of the earth, metres (IUGG), for distances between sites.
const EARTH_M: f64 = 6_371_008.8;

/// All that was measured.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Measured {
    /// The sites, in the order in which the file comes to them.
    pub sites: Vec<Site>,
    /// Things at sites beyond those that are told apart.
    pub things_elsewhere: usize,
    /// The largest distance between the middles of two sites, metres; 0 where there is one.
    pub farthest_m: f64,
}

/// Things that lie near each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Site {
    /// The middle of their extent.
    pub middle_lat_deg: f64,
    /// Likewise.
    pub middle_lon_deg: f64,
    /// Extent of all positions, metres.
    pub north_south_m: f64,
    /// Likewise.
    pub east_west_m: f64,
    /// Lines by group, in the order of the file.
    pub groups: Vec<Group>,
    /// Lines one by one.
    pub lines: Vec<Line>,
    /// Areas one by one.
    pub areas: Vec<Area>,
    /// Places one by one.
    pub places: Vec<Place>,
}

/// Lines of one group of the file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    /// The names of what holds them, outermost first.
    pub within: Vec<String>,
    /// How many lines.
    pub lines: usize,
    /// Those of them that bend.
    pub bent: usize,
    /// Length of all, metres.
    pub length_m: f64,
    /// Ways in which the straight ones point, the one with the most metres first.
    pub headings: Vec<Pointing>,
}

/// Lines that point the same way, either sense.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pointing {
    /// True heading at the middle of the site, in the sense of most of the lines.
    pub heading_deg: f64,
    /// How many lines.
    pub lines: usize,
    /// Those of them that run the other way.
    pub other_way: usize,
    /// Their share of the group's length.
    pub share: f64,
    /// How far apart they lie; null for fewer than two that lie beside each other.
    pub spacing: Option<Spacing>,
}

/// How far neighbouring lines lie apart, metres.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spacing {
    /// How many spacings.
    pub count: usize,
    /// The middle one.
    pub median_m: f64,
    /// The least.
    pub least_m: f64,
    /// The greatest.
    pub greatest_m: f64,
    /// Whether they differ by no more than 5 cm or a twentieth.
    pub regular: bool,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Its number among the lines of the file, from 1.
    pub number: usize,
    /// What it is called.
    #[serde(flatten)]
    pub label: Called,
    /// How many positions it has.
    pub positions: usize,
    /// Its length, metres; null where it reaches too far to be measured in a plane.
    pub length_m: Option<f64>,
    /// Its true heading from its first position to its last; null where it bends.
    pub heading_deg: Option<f64>,
}

/// One area.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Area {
    /// Its number among the areas of the file, from 1.
    pub number: usize,
    /// What it is called.
    #[serde(flatten)]
    pub label: Called,
    /// Its holes.
    pub holes: usize,
    /// Its area less its holes, square metres; null where it reaches too far.
    pub area_m2: Option<f64>,
    /// The rectangle that fits it; null where it reaches too far or has too many corners.
    pub rectangle: Option<Fitted>,
    /// The middle of its extent.
    pub middle_lat_deg: f64,
    /// Likewise.
    pub middle_lon_deg: f64,
}

/// The rectangle fitted to an area.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fitted {
    /// Along its long axis, metres.
    pub length_m: f64,
    /// Across it, metres.
    pub width_m: f64,
    /// True bearing of the long axis, 0 up to 180 degrees.
    pub bearing_deg: f64,
    /// The largest distance of a corner of the area from the rectangle's edge, metres.
    pub misfit_m: f64,
}

/// One place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Place {
    /// Its number among the places of the file, from 1.
    pub number: usize,
    /// What it is called.
    #[serde(flatten)]
    pub label: Called,
    /// Where it lies.
    pub lat_deg: f64,
    /// Likewise.
    pub lon_deg: f64,
}

/// What a thing is called.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Called {
    /// Its name.
    pub name: Option<String>,
    /// The groups that hold it, outermost first.
    pub within: Vec<String>,
    /// What the file says that it is.
    pub kind: Option<String>,
}

impl From<&Label> for Called {
    fn from(label: &Label) -> Self {
        Self {
            name: label.name.clone(),
            within: label.within.clone(),
            kind: label.kind.clone(),
        }
    }
}

/// A box of degrees. Longitudes run on past 180 beside a thing there.
#[derive(Debug, Clone, Copy)]
struct Extent {
    lat: [f64; 2],
    lon: [f64; 2],
}

impl Extent {
    fn at(at: &Position) -> Self {
        Self {
            lat: [at.lat_deg; 2],
            lon: [at.lon_deg; 2],
        }
    }

    fn of<'a>(positions: impl IntoIterator<Item = &'a Position>) -> Option<Self> {
        let mut positions = positions.into_iter();
        let mut extent = Self::at(positions.next()?);
        positions.for_each(|at| extent.widen(&Self::at(at)));
        Some(extent)
    }

    fn widen(&mut self, other: &Self) {
        let shift = beside(other.lon[0], self.lon[0]) - other.lon[0];
        self.lat = [self.lat[0].min(other.lat[0]), self.lat[1].max(other.lat[1])];
        self.lon = [
            self.lon[0].min(other.lon[0] + shift),
            self.lon[1].max(other.lon[1] + shift),
        ];
    }

    fn middle(&self) -> Position {
        Position {
            lat_deg: f64::midpoint(self.lat[0], self.lat[1]),
            lon_deg: folded(f64::midpoint(self.lon[0], self.lon[1])),
        }
    }
}

/// A thing of the file by its index in its list.
#[derive(Debug, Clone, Copy)]
enum Thing {
    Line(usize),
    Area(usize),
    Place(usize),
}

/// Measures all that was found.
pub(super) fn measure(found: &Found) -> Measured {
    let mut sites: Vec<(Position, Extent, Vec<Thing>)> = Vec::new();
    let mut things_elsewhere = 0;
    for (thing, extent) in things(found) {
        let middle = extent.middle();
        let site = sites
            .iter()
            .position(|(first, ..)| distance_m(first, &middle) <= SITE_M);
        match site {
            Some(index) => {
                let (_, whole, things) = &mut sites[index];
                whole.widen(&extent);
                things.push(thing);
            }
            None if sites.len() < SITES.most => sites.push((middle, extent, vec![thing])),
            None => things_elsewhere += 1,
        }
    }
    let sites: Vec<Site> = sites
        .iter()
        .map(|(_, extent, things)| site(found, extent, things))
        .collect();
    let middle = |site: &Site| Position {
        lat_deg: site.middle_lat_deg,
        lon_deg: site.middle_lon_deg,
    };
    let pairs = sites.iter().flat_map(|one| {
        let others = sites.iter();
        others.map(move |other| distance_m(&middle(one), &middle(other)))
    });
    Measured {
        farthest_m: pairs.fold(0.0, f64::max),
        sites,
        things_elsewhere,
    }
}

/// All things with their extents: lines, areas, places.
fn things(found: &Found) -> Vec<(Thing, Extent)> {
    let lines = found.lines.iter().enumerate();
    let lines = lines.map(|(index, line)| (Thing::Line(index), Extent::of(&line.positions)));
    let areas = found.areas.iter().enumerate();
    let areas = areas.map(|(index, area)| {
        let exterior = area.rings.iter().flatten();
        (Thing::Area(index), Extent::of(exterior))
    });
    let places = found.places.iter().enumerate();
    let places = places.map(|(index, place)| {
        let extent = Some(Extent::at(&place.position));
        (Thing::Place(index), extent)
    });
    lines
        .chain(areas)
        .chain(places)
        .filter_map(|(thing, extent)| Some((thing, extent?)))
        .collect()
}

/// Along a great circle of the mean sphere, metres (haversine).
fn distance_m(one: &Position, other: &Position) -> f64 {
    let (lat, lat_other) = (one.lat_deg.to_radians(), other.lat_deg.to_radians());
    let half_lat = (lat_other - lat) / 2.0;
    let half_lon = (other.lon_deg - one.lon_deg).to_radians() / 2.0;
    let h = half_lat.sin().powi(2) + lat.cos() * lat_other.cos() * half_lon.sin().powi(2);
    2.0 * EARTH_M * h.clamp(0.0, 1.0).sqrt().asin()
}

/// The plane of a site: +x east, +y north at its middle.
struct Plane {
    projector: Option<Projector>,
}

impl Plane {
    fn at(origin: Position) -> Self {
        let frame = Frame {
            origin,
            bearing: Heading::from_deg(90.0),
            crs: None,
            crs_accuracy_m: None,
        };
        Self {
            projector: frame.open().ok(),
        }
    }

    /// The places of a run; `None` where one of them lies too far away.
    fn places(&self, run: &[Position]) -> Option<Vec<Xy>> {
        let projector = self.projector.as_ref()?;
        run.iter()
            .map(|at| {
                let at = projector.pitch(*at).ok()?;
                (at.x.abs() <= REACH_M && at.y.abs() <= REACH_M).then_some(at)
            })
            .collect()
    }
}

fn site(found: &Found, extent: &Extent, things: &[Thing]) -> Site {
    let middle = extent.middle();
    let plane = Plane::at(middle);
    let [south, north] = extent.lat;
    let [west, east] = extent.lon;
    let at = |lat_deg: f64, lon_deg: f64| Position { lat_deg, lon_deg };
    let mut site = Site {
        middle_lat_deg: middle.lat_deg,
        middle_lon_deg: middle.lon_deg,
        north_south_m: distance_m(&at(south, west), &at(north, west)),
        east_west_m: distance_m(&at(middle.lat_deg, west), &at(middle.lat_deg, east)),
        groups: Vec::new(),
        lines: Vec::new(),
        areas: Vec::new(),
        places: Vec::new(),
    };
    let mut laid: Vec<(&[String], Laid)> = Vec::new();
    for thing in things {
        match *thing {
            Thing::Line(index) => {
                let line = &found.lines[index];
                let run = Laid::of(&plane, line);
                site.lines.push(Line {
                    number: index + 1,
                    label: Called::from(&line.label),
                    positions: line.positions.len(),
                    length_m: run.as_ref().map(|run| run.length_m),
                    heading_deg: run.as_ref().and_then(|run| run.heading_deg),
                });
                laid.extend(run.map(|run| (line.label.within.as_slice(), run)));
            }
            Thing::Area(index) => {
                site.areas
                    .push(area(&plane, index + 1, &found.areas[index]));
            }
            Thing::Place(index) => {
                let place = &found.places[index];
                site.places.push(Place {
                    number: index + 1,
                    label: Called::from(&place.label),
                    lat_deg: place.position.lat_deg,
                    lon_deg: place.position.lon_deg,
                });
            }
        }
    }
    site.groups = groups(laid);
    site
}

/// A line in the plane.
struct Laid {
    length_m: f64,
    /// Of a straight one.
    heading_deg: Option<f64>,
    middle: Xy,
}

impl Laid {
    fn of(plane: &Plane, line: &FoundLine) -> Option<Self> {
        let run = plane.places(&line.positions)?;
        let (first, last) = (*run.first()?, *run.last()?);
        let lengths = run.windows(2).map(|pair| length(pair[1] - pair[0]));
        let chord = last - first;
        Some(Self {
            length_m: lengths.sum(),
            heading_deg: (bend_m(&run) <= STRAIGHT_M && length(chord) > 0.0)
                .then(|| Heading::from_deg(chord.x.atan2(chord.y).to_degrees()).deg()),
            middle: (first + last) / 2.0,
        })
    }
}

fn length(way: Xy) -> f64 {
    way.x.hypot(way.y)
}

/// How far a run leaves the stretch from its first place to its last, metres.
pub(super) fn bend_m(run: &[Xy]) -> f64 {
    let (Some(&first), Some(&last)) = (run.first(), run.last()) else {
        return 0.0;
    };
    let chord = last - first;
    let chord_m = length(chord);
    let away = |at: &Xy| {
        let from = *at - first;
        if chord_m == 0.0 {
            return length(from);
        }
        let along = (from.x * chord.x + from.y * chord.y) / chord_m;
        let across = (from.x * chord.y - from.y * chord.x) / chord_m;
        across.hypot(along - along.clamp(0.0, chord_m))
    };
    run.iter().map(away).fold(0.0, f64::max)
}

/// Lines by the groups that hold them, in the order in which the file comes to these.
fn groups(laid: Vec<(&[String], Laid)>) -> Vec<Group> {
    let mut order: Vec<&[String]> = Vec::new();
    let mut by_group: std::collections::BTreeMap<&[String], Vec<Laid>> =
        std::collections::BTreeMap::new();
    for (within, line) in laid {
        let lines = by_group.entry(within).or_insert_with(|| {
            order.push(within);
            Vec::new()
        });
        lines.push(line);
    }
    order
        .into_iter()
        .filter_map(|within| Some((within, by_group.remove(within)?)))
        .map(|(within, lines)| {
            let length_m = lines.iter().map(|line| line.length_m).sum();
            Group {
                within: within.to_vec(),
                lines: lines.len(),
                bent: lines
                    .iter()
                    .filter(|line| line.heading_deg.is_none())
                    .count(),
                length_m,
                headings: pointings(&lines, length_m),
            }
        })
        .collect()
}

/// The ways in which lines point, the one with the most metres first.
fn pointings(lines: &[Laid], whole_m: f64) -> Vec<Pointing> {
    let mut straight: Vec<(f64, f64, &Laid)> = lines
        .iter()
        .filter_map(|line| {
            let heading_deg = line.heading_deg?;
            Some((heading_deg.rem_euclid(180.0), heading_deg, line))
        })
        .collect();
    straight.sort_by(|one, other| one.0.total_cmp(&other.0));
    // Begin behind the widest gap, so that lines about north stay together.
    let count = straight.len();
    let gap = |index: usize| {
        let before = straight[(index + count - 1) % count].0;
        (straight[index].0 - before).rem_euclid(180.0)
    };
    let first =
        (0..count).max_by(|one, other| gap(*one).total_cmp(&gap(*other)).then(other.cmp(one)));
    straight.rotate_left(first.unwrap_or(0));
    let start_deg = straight.first().map_or(0.0, |line| line.0);
    let lies = |line: &(f64, f64, &Laid)| (line.0 - start_deg).rem_euclid(180.0);
    let mut rest = straight.as_slice();
    let mut pointings = Vec::new();
    while let Some(first) = rest.first() {
        let from_deg = lies(first);
        let alike = rest
            .iter()
            .take_while(|line| lies(line) - from_deg <= ALIKE_DEG)
            .count();
        let (these, others) = rest.split_at(alike);
        rest = others;
        pointings.push(pointing(these, whole_m));
    }
    pointings.sort_by(|one, other| {
        other
            .share
            .total_cmp(&one.share)
            .then(one.heading_deg.total_cmp(&other.heading_deg))
    });
    pointings
}

/// Lines that lie alike: (how it lies, its heading, the line).
fn pointing(lines: &[(f64, f64, &Laid)], whole_m: f64) -> Pointing {
    let first_deg = lines.first().map_or(0.0, |line| line.0);
    let turned = |lies_deg: f64| (lies_deg - first_deg + 90.0).rem_euclid(180.0) - 90.0;
    let length_m: f64 = lines.iter().map(|line| line.2.length_m).sum();
    let sum: f64 = lines
        .iter()
        .map(|line| turned(line.0) * line.2.length_m)
        .sum();
    let mean_deg = first_deg + if length_m > 0.0 { sum / length_m } else { 0.0 };
    let with = lines
        .iter()
        .filter(|line| (line.1 - mean_deg).to_radians().cos() > 0.0)
        .count();
    let is_turned = with * 2 < lines.len();
    let heading = Heading::from_deg(if is_turned {
        mean_deg + 180.0
    } else {
        mean_deg
    });
    Pointing {
        heading_deg: heading.deg(),
        lines: lines.len(),
        other_way: if is_turned { with } else { lines.len() - with },
        share: if whole_m > 0.0 {
            length_m / whole_m
        } else {
            0.0
        },
        spacing: spacing(lines, mean_deg),
    }
}

fn spacing(lines: &[(f64, f64, &Laid)], heading_deg: f64) -> Option<Spacing> {
    let (sin, cos) = heading_deg.to_radians().sin_cos();
    let to_left = |at: Xy| at.y * sin - at.x * cos;
    let mut offsets: Vec<f64> = lines.iter().map(|line| to_left(line.2.middle)).collect();
    offsets.sort_by(f64::total_cmp);
    offsets.dedup_by(|next, kept| *next - *kept <= SAME_LINE_M);
    let mut gaps: Vec<f64> = offsets.windows(2).map(|pair| pair[1] - pair[0]).collect();
    gaps.sort_by(f64::total_cmp);
    let (least_m, greatest_m) = (*gaps.first()?, *gaps.last()?);
    let median_m = f64::midpoint(gaps[(gaps.len() - 1) / 2], gaps[gaps.len() / 2]);
    Some(Spacing {
        count: gaps.len(),
        median_m,
        least_m,
        greatest_m,
        regular: greatest_m - least_m <= REGULAR_M.max(REGULAR_SHARE * median_m),
    })
}

fn area(plane: &Plane, number: usize, area: &FoundArea) -> Area {
    let middle = Extent::of(area.rings.iter().flatten()).map_or(
        Position {
            lat_deg: 0.0,
            lon_deg: 0.0,
        },
        |extent| extent.middle(),
    );
    let polygon = polygon(plane, area);
    Area {
        number,
        label: Called::from(&area.label),
        holes: area.rings.len().saturating_sub(1),
        area_m2: polygon.as_ref().map(|polygon| polygon.unsigned_area()),
        rectangle: polygon.as_ref().and_then(fitted),
        middle_lat_deg: middle.lat_deg,
        middle_lon_deg: middle.lon_deg,
    }
}

fn polygon(plane: &Plane, area: &FoundArea) -> Option<Polygon<f64>> {
    let mut rings = area.rings.iter().map(|ring| {
        let mut ring = LineString(plane.places(ring)?);
        ring.close();
        Some(ring)
    });
    let exterior = rings.next()??;
    Some(Polygon::new(exterior, rings.collect::<Option<_>>()?))
}

/// The rectangle of an area: fitted to its corners, or where it has none, of least area.
fn fitted(polygon: &Polygon<f64>) -> Option<Fitted> {
    let hull = polygon.convex_hull();
    if hull.exterior().0.len() > HULL_CORNERS {
        return None;
    }
    let rectangle = fit::to_outline(polygon, None).or_else(|| fit::least_area(&hull))?;
    let axis = rectangle.axis;
    let bearing_deg = axis.x.atan2(axis.y).to_degrees().rem_euclid(180.0);
    Some(Fitted {
        length_m: rectangle.length_m,
        width_m: rectangle.width_m,
        bearing_deg: if bearing_deg >= 180.0 {
            0.0
        } else {
            bearing_deg
        },
        misfit_m: fit::outline_misfit_m(&rectangle, polygon),
    })
}

/// The area of each ground in square metres, each in a plane of its own; 0 where it reaches too
/// far to be measured.
pub(super) fn areas_m2(found: &Found) -> Vec<f64> {
    let area_m2 = |area: &FoundArea| {
        let extent = Extent::of(area.rings.iter().flatten())?;
        let plane = Plane::at(extent.middle());
        Some(polygon(&plane, area)?.unsigned_area())
    };
    let areas = found.areas.iter();
    areas.map(|area| area_m2(area).unwrap_or(0.0)).collect()
}
