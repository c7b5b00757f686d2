//! What was found, made into material for a job: a ground file of an outline and what stands on
//! it, or the start of a direction's lines from a line.
//!
//! The outline becomes the pitch. Other things are kept whose kind is the word of a role, with the
//! properties that the role reads; what else there is, and what of a thing is missing, is told.

use geojson::{Feature, Geometry, GeometryValue};

use super::carried::{Carried, own_name};
use super::measured::{areas_m2, bend_m};
use super::seam::beside;
use super::{Found, FoundArea, FoundLine, Label, fault};
use crate::fault::Fault;
use crate::ground::Ground;
use crate::job::ground_file::roles::{PITCH, ROLES, RoleSpec, Shapes};
use crate::job::ground_file::{self, Setting};
use crate::job::{limits, near};
use crate::space::{Position, Xy};
use crate::zones::ZoneKind;

/// A line that leaves its chord by more is no start for straight passes, metres.
const BEND_M: f64 = 0.05;
/// A line is too short to show a direction below this, metres: a millimetre aside is then more
/// than the hundredth of a degree that a start is held to.
const SHORT_M: f64 = 5.0;
/// A line this nearly along, across or at 45 degrees is meant so, degrees: half of what a start
/// is held to.
const MEANT_DEG: f64 = 0.005;
/// Decimals of a degree in the ground file: a ten-millionth of a metre is left out.
const DEGREES: f64 = 1e9;

/// A ground file, and what there is to say about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroundFile {
    /// The bytes of the file.
    pub bytes: Vec<u8>,
    /// One plain sentence each.
    pub said: Vec<String>,
}

/// Makes a ground file: `take` names the area that becomes the pitch, by its name or number;
/// without it the one that says that it is the pitch, else the largest.
///
/// # Errors
/// A [`Fault`] where there is no such area, or what comes of it is no sound ground file.
pub fn ground_file(file: &str, found: &Found, take: Option<&str>) -> Result<GroundFile, Fault> {
    let pitch = chosen_area(file, found, take)?;
    let mut said = vec![format!(
        "pitch: {}",
        named("area", pitch, &found.areas[pitch].label)
    )];
    let near_deg = found.areas[pitch].rings[0]
        .first()
        .map_or(0.0, |at| at.lon_deg);
    let mut made = Made::default();
    made.add(
        &PITCH,
        &found.areas[pitch].label,
        polygon(&found.areas[pitch], near_deg),
    );
    let others: Vec<&FoundArea> = (0..found.areas.len())
        .filter(|index| *index != pitch)
        .map(|index| &found.areas[index])
        .collect();
    for areas in others.chunk_by(|one, next| is_one(&one.label, &next.label)) {
        let geometry = match areas {
            [area] => polygon(area, near_deg),
            _ => GeometryValue::new_multi_polygon(areas.iter().map(|area| rings(area, near_deg))),
        };
        if let Some(area) = areas.first() {
            made.keep(&area.label, true, geometry);
        }
    }
    for line in &found.lines {
        let run = degrees(&line.positions, near_deg);
        made.keep(&line.label, false, GeometryValue::new_line_string(run));
    }
    for place in &found.places {
        let at = degrees(std::slice::from_ref(&place.position), near_deg);
        let at = at.first().copied().unwrap_or_default();
        made.keep(&place.label, false, GeometryValue::new_point(at));
    }
    said.push(format!(
        "kept with their roles: {}",
        made.features.len() - 1
    ));
    said.extend(made.carried.said());
    if made.left_out > 0 {
        let roles = near::list(ROLES.iter().map(|role| role.name));
        said.push(format!(
            "left out, for they have no role: {}; roles are {roles}",
            made.left_out
        ));
    }
    let bytes = crate::formats::collection(&made.features)
        .map_err(|error| fault(file, "", error.to_string()))?;
    check(file, &bytes)?;
    Ok(GroundFile { bytes, said })
}

/// A ground file as it grows.
#[derive(Default)]
struct Made {
    features: Vec<Feature>,
    carried: Carried,
    left_out: usize,
}

impl Made {
    /// Keeps a thing whose kind is the word of a role that its shape may have.
    fn keep(&mut self, label: &Label, is_area: bool, geometry: GeometryValue) {
        let role = role_of(label).filter(|role| {
            let fits = is_area || role.shapes == Shapes::Any;
            let is_zone = role.name == "zone";
            // Zones laid by rule are laid anew, and one without a name cannot be told of.
            let is_own = label
                .property("zone_kind")
                .is_none_or(|kind| kind == ZoneKind::User.name());
            role.name != "pitch" && fits && (!is_zone || is_own && own_name(role, label).is_some())
        });
        match role {
            Some(role) => self.add(role, label, geometry),
            None => self.left_out += 1,
        }
    }

    fn add(&mut self, role: &RoleSpec, label: &Label, geometry: GeometryValue) {
        self.features.push(Feature {
            bbox: None,
            geometry: Some(Geometry::new(geometry)),
            id: None,
            properties: Some(self.carried.properties(role, label)),
            foreign_members: None,
        });
    }
}

/// Whether two neighbours are parts of one thing: areas of a role that several may have are told
/// apart by their labels alone.
fn is_one(label: &Label, next: &Label) -> bool {
    label == next && role_of(label).is_some_and(|role| role.shapes == Shapes::Areas)
}

/// The file must be one that a job can use: read it as a job would.
fn check(file: &str, bytes: &[u8]) -> Result<(), Fault> {
    let text = String::from_utf8_lossy(bytes);
    let reading = ground_file::read(file, &text, Setting::default());
    match reading.faults.into_iter().next() {
        Some(wrong) => Err(Fault {
            text: format!(
                "no ground file can be made of it: in that, {}: {}",
                wrong.place, wrong.text
            ),
            place: String::new(),
            ..wrong
        }),
        None => Ok(()),
    }
}

/// The role that a thing's kind names.
fn role_of(label: &Label) -> Option<&'static RoleSpec> {
    let kind = label
        .kind
        .as_deref()?
        .to_lowercase()
        .replace(['-', ' '], "_");
    ROLES.iter().find(|role| role.name == kind)
}

fn chosen_area(file: &str, found: &Found, take: Option<&str>) -> Result<usize, Fault> {
    let labels: Vec<&Label> = found.areas.iter().map(|area| &area.label).collect();
    if labels.is_empty() {
        return Err(fault(
            file,
            "",
            "holds no area, so there is no outline for a ground file; draw it as a polygon",
        ));
    }
    if let Some(take) = take {
        return the_one(file, "area", "--take", &labels, take);
    }
    let mut pitches = (0..labels.len())
        .filter(|index| role_of(labels[*index]).is_some_and(|role| role.name == "pitch"));
    if let (Some(only), None) = (pitches.next(), pitches.next()) {
        return Ok(only);
    }
    let areas_m2 = areas_m2(found);
    let largest = (0..areas_m2.len()).max_by(|one, other| {
        areas_m2[*one]
            .total_cmp(&areas_m2[*other])
            .then(other.cmp(one))
    });
    Ok(largest.unwrap_or(0))
}

/// The one thing that is called so: by its number from 1, its name, or its whole name with the
/// groups that hold it, `mow/direction 1/pass 3`.
fn the_one(
    file: &str,
    what: &str,
    option: &str,
    labels: &[&Label],
    called: &str,
) -> Result<usize, Fault> {
    let is_called = |label: &&Label| {
        label.name.as_deref() == Some(called) || whole_name(label).as_deref() == Some(called)
    };
    let named: Vec<usize> = (0..labels.len())
        .filter(|index| is_called(&labels[*index]))
        .collect();
    match (named.as_slice(), called.parse::<usize>()) {
        ([only], _) => Ok(*only),
        ([], Ok(number)) if (1..=labels.len()).contains(&number) => Ok(number - 1),
        ([], _) => {
            let names: Vec<String> = labels
                .iter()
                .filter_map(|label| whole_name(label))
                .collect();
            let names = names.iter().map(String::as_str);
            let known = match near::nearest(called, names.clone()) {
                Some(near) => format!("; did you mean `{near}`?"),
                None if names.len() == 0 => "; none has a name".to_owned(),
                None => format!("; there are {}", near::list(names)),
            };
            let text = format!(
                "`{option} {}` names no {what} of its {}{known}",
                near::short(called),
                labels.len()
            );
            Err(fault(file, "", text))
        }
        (several, _) => {
            let choices: Vec<String> = several
                .iter()
                .map(|index| match whole_name(labels[*index]) {
                    Some(name) if name != called => format!("{} ({name})", index + 1),
                    _ => (index + 1).to_string(),
                })
                .collect();
            let text = format!(
                "`{option} {}` names {} {what}s; give one by its number: {}",
                near::short(called),
                several.len(),
                near::list(choices.iter().map(String::as_str))
            );
            Err(fault(file, "", text))
        }
    }
}

/// The name of a thing with the groups that hold it.
fn whole_name(label: &Label) -> Option<String> {
    let name = label.name.as_ref()?;
    let parts = label.within.iter().chain([name]);
    Some(parts.map(String::as_str).collect::<Vec<_>>().join("/"))
}

/// ``area 2 `north field` ``.
fn named(what: &str, index: usize, label: &Label) -> String {
    match &label.name {
        Some(name) => format!("{what} {} `{}`", index + 1, near::short(name)),
        None => format!("{what} {}", index + 1),
    }
}

/// Positions as the ground file has them: longitude first, nine decimals. Longitude runs on past
/// 180 degrees there, so that a pitch stays one Polygon, as a ground file wants it.
fn degrees(run: &[Position], near_deg: f64) -> Vec<[f64; 2]> {
    let rounded = |deg: f64| (deg * DEGREES).round() / DEGREES;
    run.iter()
        .map(|at| [rounded(beside(at.lon_deg, near_deg)), rounded(at.lat_deg)])
        .collect()
}

fn polygon(area: &FoundArea, near_deg: f64) -> GeometryValue {
    GeometryValue::new_polygon(rings(area, near_deg))
}

/// The rings of an area as a Polygon has them: closed, the exterior anticlockwise, holes clockwise.
fn rings(area: &FoundArea, near_deg: f64) -> Vec<Vec<[f64; 2]>> {
    let rings = area.rings.iter().enumerate().map(|(index, ring)| {
        let mut ring = degrees(ring, near_deg);
        ring.dedup();
        if (twice_area(&ring) > 0.0) != (index == 0) {
            ring.reverse();
        }
        ring.extend(ring.first().copied());
        ring
    });
    rings.collect()
}

fn twice_area(ring: &[[f64; 2]]) -> f64 {
    let Some(&[x0, y0]) = ring.first() else {
        return 0.0;
    };
    let pairs = ring.windows(2);
    pairs
        .map(|pair| (pair[0][0] - x0) * (pair[1][1] - y0) - (pair[0][1] - y0) * (pair[1][0] - x0))
        .sum()
}

/// The text that starts an operation's lines from a line of the file, ready to be pasted into the
/// job, in pitch metres of `ground`: the line is called by its number or its name.
///
/// # Errors
/// A [`Fault`] where there is no such line, it bends, is too short or lies too far away, or the
/// job has no position.
pub fn start_of(
    file: &str,
    found: &Found,
    called: &str,
    ground: &Ground,
    job: &str,
) -> Result<String, Fault> {
    let labels: Vec<&Label> = found.lines.iter().map(|line| &line.label).collect();
    if labels.is_empty() {
        return Err(fault(
            file,
            "",
            "holds no line, so no lines can start from one; name a file with a line in it",
        ));
    }
    let index = the_one(file, "line", "--line", &labels, called)?;
    let line = &found.lines[index];
    let place = named("line", index, &line.label);
    let run = on_pitch(line, ground, job).map_err(|text| fault(file, &place, text))?;
    let (Some(&from), Some(&to)) = (run.first(), run.last()) else {
        return Err(fault(file, &place, "has no positions; take another line"));
    };
    let way = to - from;
    let length_m = way.x.hypot(way.y);
    let bend_m = bend_m(&run);
    if bend_m > BEND_M {
        let text =
            format!("bends by up to {bend_m:.2} m; take a line that is straight to {BEND_M} m");
        return Err(fault(file, &place, text));
    }
    if length_m < SHORT_M {
        let text = format!(
            "is {length_m:.2} m long, too short to show a direction; take one of {SHORT_M} m or more"
        );
        return Err(fault(file, &place, text));
    }
    if let Some(limit) = limits::of("operation.0.start.line.0.0") {
        let farthest = [from.x, from.y, to.x, to.y];
        if !farthest.iter().all(|value| limit.allows(*value)) {
            let text = format!(
                "lies {:.0} m from the pitch of {job}; take a line that lies on it",
                f64::midpoint(from.x, to.x).hypot(f64::midpoint(from.y, to.y))
            );
            return Err(fault(file, &place, text));
        }
    }
    let angle_deg = way.y.atan2(way.x).to_degrees();
    let heading_deg = (ground.bearing.deg() - angle_deg).rem_euclid(360.0);
    Ok(format!(
        "# {place} of {}: {length_m:.2} m, true heading {heading_deg:.4} degrees\n\
         directions = [{}]\n\
         start = {{ line = [[{}, {}], [{}, {}]] }}\n",
        near::line(file),
        direction(angle_deg),
        plain(from.x),
        plain(from.y),
        plain(to.x),
        plain(to.y)
    ))
}

/// The line in pitch metres.
fn on_pitch(line: &FoundLine, ground: &Ground, job: &str) -> Result<Vec<Xy>, String> {
    let frame = ground.frame.as_ref().ok_or_else(|| {
        format!("{job} gives no position of its pitch; give `centre` and `bearing_deg`, or marks")
    })?;
    let projector = frame.open().map_err(|error| {
        format!("{job} has a position that cannot be used ({error}); correct it there")
    })?;
    let place = |at: &Position| {
        let place = projector.pitch(*at);
        place.map_err(|error| {
            format!(
                "cannot be laid beside the pitch of {job} ({error}); take a line that lies on it"
            )
        })
    };
    line.positions.iter().map(place).collect()
}

/// The direction of a line at that angle as the job file writes it.
fn direction(angle_deg: f64) -> String {
    let lies_deg = angle_deg.rem_euclid(180.0);
    let named = [
        (0.0, "along"),
        (45.0, "diagonal_left"),
        (90.0, "across"),
        (135.0, "diagonal_right"),
        (180.0, "along"),
    ];
    match named
        .iter()
        .find(|(deg, _)| (lies_deg - deg).abs() <= MEANT_DEG)
    {
        Some((_, word)) => format!("\"{word}\""),
        None => format!("{{ angle_deg = {} }}", plain(lies_deg)),
    }
}

/// Four decimals at most: a tenth of a millimetre, as exact as nine decimals of a degree.
fn plain(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}
