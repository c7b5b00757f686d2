//! What was found, measured in metres: how long lines are, which way they point and how far
//! apart they lie, how large areas are and which rectangle fits them.
//!
//! 1. Things whose middles lie within [`SITE_M`] of each other are one site.
//! 2. Each site has a plane of its own: the frame of a pitch (`ground::frame`) at the middle of
//!    its things, +x east and +y north, so that a heading is true at that middle.
//! 3. Lines of a group are sorted by how they lie, then by how far they lie to the left; what
//!    lies between neighbours is the spacing.

mod areas;
mod extent;
mod plane;
mod pointing;

use serde::Serialize;

use super::limits::SITES;
use super::{Found, Label};
use crate::space::Position;
pub(super) use areas::areas_m2;
use extent::{Extent, distance_m};
pub(super) use plane::bend_m;
use plane::{Laid, Plane};

/// Things nearer than this to the first of a site belong to it, metres.
const SITE_M: f64 = 2_000.0;

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
                    .push(areas::area(&plane, index + 1, &found.areas[index]));
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
    site.groups = pointing::groups(laid);
    site
}
