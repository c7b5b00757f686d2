//! Whether coordinates can be where they say: degrees or metres, longitude before
//! latitude, near the pitch, and not too near a pole.

use geo::Coord;

use super::Setting;
use crate::job::{limits, near};

/// The coordinates of one feature.
pub(super) struct Spots {
    /// What messages call the feature.
    pub label: String,
    /// Whether it is the outline of the pitch.
    pub is_pitch: bool,
    /// All its coordinates, in the file's frame.
    pub at: Vec<Coord<f64>>,
}

/// No projected coordinate on the globe is larger: even in feet, half its girth is less.
const LARGEST: f64 = 1e8;

/// Beyond this no coordinate is a longitude, even one carried on past 180.
const LARGEST_LONGITUDE_DEG: f64 = 360.0;

/// Feet in a metre, rounded up: a CRS may count in feet, and only PROJ knows.
const UNITS_IN_A_METRE: f64 = 3.3;

/// Metres of one degree of latitude, near enough to tell 5 km from 6.
const M_IN_A_DEGREE: f64 = 111_200.0;

/// What is wrong with where the features lie: place and text. The same mistake of several
/// features is told once.
pub(super) fn check(spots: &[Spots], setting: Setting<'_>) -> Vec<(String, String)> {
    match setting.crs {
        Some(crs) => projected(spots, crs),
        None => {
            let faults = degrees(spots);
            if faults.is_empty() {
                near_the_pitch(spots, setting)
            } else {
                faults
            }
        }
    }
}

/// One text for all features with the same mistake: at the first, the others counted.
fn once(found: &[(&Spots, String)]) -> Option<(String, String)> {
    let (first, text) = found.first()?;
    let others = found.len() - 1;
    let likewise = match others {
        0 => String::new(),
        1 => " (likewise 1 more feature)".to_owned(),
        _ => format!(" (likewise {others} more features)"),
    };
    Some((first.label.clone(), format!("{text}{likewise}")))
}

/// Longitude and latitude that cannot be ones.
fn degrees(spots: &[Spots]) -> Vec<(String, String)> {
    let (mut in_metres, mut swapped, mut polar) = (Vec::new(), Vec::new(), Vec::new());
    for spot in spots {
        let large = |value: f64| value.abs() > LARGEST_LONGITUDE_DEG || !value.is_finite();
        let mut all = spot.at.iter();
        if let Some(at) = all.clone().find(|at| large(at.x) || large(at.y)) {
            let shown = if large(at.x) { at.x } else { at.y };
            in_metres.push((spot, format!(
                "coordinates look projected ({shown}); GeoJSON needs longitude, latitude in degrees, or name the CRS in `[ground] crs`"
            )));
        } else if let Some(at) = all.clone().find(|at| at.y.abs() > 90.0) {
            swapped.push((spot, format!(
                "latitude {} is beyond 90; longitude and latitude look swapped, GeoJSON writes longitude first",
                at.y
            )));
        } else if let Some(at) = all.find(|at| at.y.abs() > limits::LATITUDE_DEG) {
            polar.push((
                spot,
                format!(
                    "latitude {} is outside -{1} to {1}; no pitch is planned nearer to a pole",
                    at.y,
                    limits::LATITUDE_DEG
                ),
            ));
        }
    }
    [in_metres, swapped, polar]
        .iter()
        .filter_map(|found| once(found))
        .collect()
}

/// The place that the others must lie near to, and what messages call it.
fn reference<'a>(spots: &'a [Spots], setting: Setting<'_>) -> Option<(Coord<f64>, &'a str)> {
    if let Some(near) = setting.near {
        let at = Coord {
            x: near.lon_deg,
            y: near.lat_deg,
        };
        return Some((at, "the pitch of the job file"));
    }
    let first = |spot: &Spots| spot.at.first().copied();
    let pitch = spots.iter().find(|spot| spot.is_pitch).and_then(first);
    pitch
        .map(|at| (at, "the outline of the pitch"))
        .or_else(|| {
            let at = spots.iter().find_map(first)?;
            Some((at, "the first feature"))
        })
}

/// Distance on the globe, flat around `a`, metres. Right to a few per cent within some
/// kilometres, and large where the distance is large; that is all it is for.
fn distance_m(a: Coord<f64>, b: Coord<f64>) -> f64 {
    let turn = (b.x - a.x + 180.0).rem_euclid(360.0) - 180.0;
    let x = turn * a.y.to_radians().cos();
    x.hypot(b.y - a.y) * M_IN_A_DEGREE
}

/// Features too far from the pitch, or that would be near it with their numbers swapped.
fn near_the_pitch(spots: &[Spots], setting: Setting<'_>) -> Vec<(String, String)> {
    let Some((centre, called)) = reference(spots, setting) else {
        return Vec::new();
    };
    let (mut swapped, mut far) = (Vec::new(), Vec::new());
    for spot in spots {
        let away = |at: &&Coord<f64>| distance_m(centre, **at) > limits::GROUND_SPREAD_M;
        let Some(at) = spot.at.iter().find(away) else {
            continue;
        };
        let turned = Coord { x: at.y, y: at.x };
        if distance_m(centre, turned) <= limits::GROUND_SPREAD_M {
            swapped.push((
                spot,
                format!(
                    "longitude and latitude look swapped ({}, {}); GeoJSON writes longitude first",
                    at.x, at.y
                ),
            ));
        } else {
            far.push((
                spot,
                format!(
                    "({}, {}) lies {:.1} km from {called}; at most {} km are planned at once, check the position or take the feature out",
                    at.x,
                    at.y,
                    distance_m(centre, *at) / 1e3,
                    limits::GROUND_SPREAD_M / 1e3
                ),
            ));
        }
    }
    [swapped, far]
        .iter()
        .filter_map(|found| once(found))
        .collect()
}

/// Easting and northing that cannot be ones.
fn projected(spots: &[Spots], crs: &str) -> Vec<(String, String)> {
    let crs_shown = near::short(crs);
    let large = |at: &&Coord<f64>| !(at.x.abs() <= LARGEST && at.y.abs() <= LARGEST);
    let beyond: Vec<_> = spots
        .iter()
        .filter_map(|spot| {
            let at = spot.at.iter().find(large)?;
            let text = format!(
                "coordinate ({}, {}) of `{crs_shown}` lies beyond the globe; write easting, northing in the unit of that CRS",
                at.x, at.y
            );
            Some((spot, text))
        })
        .collect();
    if let Some(fault) = once(&beyond) {
        return vec![fault];
    }
    let is_degrees = |at: &Coord<f64>| at.x.abs() <= 180.0 && at.y.abs() <= 90.0;
    let all = || spots.iter().flat_map(|spot| &spot.at);
    let Some((centre, called)) = reference(spots, Setting::default()) else {
        return Vec::new();
    };
    // A ground in metres is wider than one metre; a ground in degrees is not wider than one.
    let is_small = all().all(|at| (at.x - centre.x).abs() < 1.0 && (at.y - centre.y).abs() < 1.0);
    let several = all().take(2).count() == 2;
    if several && is_small && all().all(is_degrees) && !may_be_degrees(crs) {
        let found: Vec<_> = spots.iter().map(|spot| (spot, format!(
            "coordinates look like degrees ({}, {}), but `[ground] crs` names `{crs_shown}`; leave `crs` out for WGS84, or write easting, northing",
            centre.x, centre.y
        ))).collect();
        return once(&found).into_iter().collect();
    }
    let spread = limits::GROUND_SPREAD_M * UNITS_IN_A_METRE;
    let far: Vec<_> = spots
        .iter()
        .filter_map(|spot| {
            let at = spot
                .at
                .iter()
                .find(|at| (at.x - centre.x).hypot(at.y - centre.y) > spread)?;
            let text = format!(
                "({}, {}) lies far from {called} ({}, {}) in `{crs_shown}`; at most {} km are planned at once, check the position or take the feature out",
                at.x, at.y, centre.x, centre.y,
                limits::GROUND_SPREAD_M / 1e3
            );
            Some((spot, text))
        })
        .collect();
    once(&far).into_iter().collect()
}

/// Whether a named CRS may count in degrees: the geographic codes of EPSG lie from 4000
/// to 4999, and a PROJ string or WKT says so. PROJ itself has the last word.
fn may_be_degrees(crs: &str) -> bool {
    let folded = crs.to_lowercase();
    let code = folded.rsplit(':').next().and_then(|code| code.parse().ok());
    matches!(code, Some(4000..=4999_u32))
        || ["longlat", "latlong", "geogcrs", "geogcs", "crs84"]
            .iter()
            .any(|word| folded.contains(word))
}
