//! `guidance/passes.kml`: every pass, the zones, the ground and all that is kept clear, to be
//! looked at over an aerial picture and to be read by terminals. KML 2.2 (OGC 07-147r2).
//!
//! Folders: one an operation, in it one a direction; then zones, ground, what is kept clear,
//! ways in, and the peg to check at. What a thing is stands in its name, its folder and its
//! data, never in a colour alone.

use kml::Kml;

use super::exact;
use super::kml_parts::{Look, file, folder, placemark, style, text};
use crate::formats::globe::Globe;
use crate::formats::passes::line;
use crate::formats::{FormatError, LEAST_PIECE_M2, figure};
use crate::ground::Kept;
use crate::job::model::Role;
use crate::passes::{Part, Pass, rounds};
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use geo::MultiPolygon;

/// Passes: strong, in an orange that stands out on grass and to eyes that do not tell red from
/// green.
const PASS: Look = Look {
    id: "pass",
    ink: "ff005ed5",
    width: 3.0,
    fill: None,
};
/// The edges of the ground: thin and white.
const GROUND: Look = Look {
    id: "ground",
    ink: "ffffffff",
    width: 1.0,
    fill: None,
};
/// Zones: thin, with a veil.
const ZONE: Look = Look {
    id: "zone",
    ink: "ffffffff",
    width: 1.0,
    fill: Some("33ffffff"),
};
/// What is kept clear: dark.
const CLEAR: Look = Look {
    id: "kept-clear",
    ink: "ff000000",
    width: 2.0,
    fill: Some("80000000"),
};
/// Single places to go to.
const PLACE: Look = Look {
    id: "place",
    ink: "ffb27200",
    width: 2.0,
    fill: None,
};

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut elements = vec![
        Kml::Element(text("name", &plan.name)),
        Kml::Element(text(
            "description",
            &exact::description(plan, globe)?.join("\n"),
        )),
    ];
    elements.extend([PASS, GROUND, ZONE, CLEAR, PLACE].iter().map(style));
    for planned in &plan.operations {
        elements.push(operation(planned, globe)?);
    }
    elements.push(zones(plan, globe)?);
    elements.push(ground(plan, globe)?);
    elements.push(kept_clear(plan, globe)?);
    elements.push(places(plan, globe)?);
    file(elements)
}

/// The folder of an operation: one a direction.
fn operation(planned: &OperationPlan, globe: &Globe) -> Result<Kml, FormatError> {
    let operation = &planned.operation;
    let mut description = vec![format!(
        "{} with `{}`, {} m wide.",
        operation.task.name(),
        operation.implement.name,
        operation.implement.working_width_m
    )];
    if let Some(depth) = operation.depth {
        description.push(format!("Depth {} mm.", depth.depth_mm));
    }
    description.extend(exact::services(planned).map(|wording| format!("{wording}.")));
    let directions = planned
        .directions
        .iter()
        .enumerate()
        .map(|(index, planned)| direction(&operation.id, index + 1, planned, globe))
        .collect::<Result<_, _>>()?;
    let name = format!("operation {}", operation.id);
    Ok(folder(&name, &description, directions))
}

/// The folder of a direction: one placemark a part. Its name is unique in the file, since some
/// readers make one flat list of folders.
fn direction(
    operation: &str,
    number: usize,
    planned: &DirectionPlan,
    globe: &Globe,
) -> Result<Kml, FormatError> {
    let passes = &planned.passes;
    let heading = passes.heading.map(|heading| figure(heading.deg()));
    let way = heading.map_or("Rounds along the edge.".to_owned(), |deg| {
        format!("Heading {deg} degrees, true, at the middle of the pitch.")
    });
    let mut parts = Vec::new();
    for pass in &passes.passes {
        for part in &pass.parts {
            let line = line(&part.track);
            let length_m = rounds::length_m(&line);
            let about = heading.map_or("round".to_owned(), |deg| {
                format!("heading {deg:.2} degrees")
            });
            let mut data = vec![
                ("kind", "pass".to_owned()),
                ("operation", operation.to_owned()),
                ("direction", number.to_string()),
                ("pass", pass.number.to_string()),
                ("part", part.number.to_string()),
            ];
            data.extend(heading.map(|deg| ("heading_deg", deg.to_string())));
            data.push(("width_m", figure(part.width_m).to_string()));
            data.push(("length_m", figure(length_m).to_string()));
            parts.push(placemark(
                &name_of(pass, part),
                &format!("{about}, width {} m, length {length_m:.2} m", part.width_m),
                &PASS,
                &data,
                globe.lines([&line])?,
            ));
        }
    }
    let name = format!("{operation} direction {number}: {}", passes.name);
    Ok(folder(&name, &[way], parts))
}

/// `pass 12`, or `pass 12 part 2` where something interrupts it.
fn name_of(pass: &Pass, part: &Part) -> String {
    if pass.parts.len() > 1 {
        format!("pass {} part {}", pass.number, part.number)
    } else {
        format!("pass {}", pass.number)
    }
}

fn zones(plan: &Plan, globe: &Globe) -> Result<Kml, FormatError> {
    let mut zones = Vec::new();
    for zone in &plan.zones {
        if let Some(shape) = globe.ground(&zone.shape, LEAST_PIECE_M2)? {
            zones.push(placemark(
                &format!("{}, wear {}", zone.name, zone.wear),
                &format!(
                    "{}, wear class {} (1 light, 5 bare), {:.1} square metres",
                    zone.kind.name(),
                    zone.wear,
                    zone.area_m2
                ),
                &ZONE,
                &[
                    ("kind", "zone".to_owned()),
                    ("zone", zone.name.clone()),
                    ("zone_kind", zone.kind.name().to_owned()),
                    ("wear", zone.wear.to_string()),
                    ("area_m2", figure(zone.area_m2).to_string()),
                ],
                shape,
            ));
        }
    }
    Ok(folder("zones", &[], zones))
}

/// The pitch without its holes (they are among what is kept clear), and all grass.
fn ground(plan: &Plan, globe: &Globe) -> Result<Kml, FormatError> {
    let outline = MultiPolygon(vec![plan.ground.outline.clone()]);
    let mut grounds = Vec::new();
    for (kind, name, about, shape) in [
        ("pitch", "pitch", "What is worked.", &outline),
        (
            "run_off",
            "run-off",
            "All allowed grass, the pitch included, nothing taken out.",
            &plan.ground.grass,
        ),
    ] {
        if let Some(shape) = globe.ground(shape, LEAST_PIECE_M2)? {
            let data = [("kind", kind.to_owned())];
            grounds.push(placemark(name, about, &GROUND, &data, shape));
        }
    }
    Ok(folder("ground", &[], grounds))
}

/// Each thing as it was given, and after it the ground that is kept clear of it.
fn kept_clear(plan: &Plan, globe: &Globe) -> Result<Kml, FormatError> {
    let mut things = Vec::new();
    for kept in &plan.ground.kept {
        let kind = kept.role.name();
        let name = kept.name.as_ref().map_or_else(
            || kind.replace('_', "-"),
            |name| format!("{} {name}", kind.replace('_', "-")),
        );
        let mut data = vec![("kind", kind.to_owned())];
        data.extend(kept.name.clone().map(|name| ("called", name)));
        data.push(("clearance_m", figure(kept.clearance_m).to_string()));
        if let Role::Service {
            depth_m: Some(depth_m),
        } = kept.role
        {
            data.push(("depth_m", figure(depth_m).to_string()));
        }
        let shape = globe.thing(&kept.shape)?;
        things.push(placemark(&name, &about(kept), &CLEAR, &data, shape));
        if let Some(shape) = globe.ground(&kept.kept_clear, LEAST_PIECE_M2)? {
            things.push(placemark(
                &format!("kept clear of {name}"),
                &about(kept),
                &CLEAR,
                &[("kind", "kept_clear".to_owned()), ("of", kind.to_owned())],
                shape,
            ));
        }
    }
    let told = "Each thing as it was given, and the ground kept clear of it.".to_owned();
    Ok(folder("kept clear", &[told], things))
}

/// What is done about a thing, in words.
fn about(kept: &Kept) -> String {
    let clearance_m = figure(kept.clearance_m);
    if kept.away {
        return "away: nothing is kept clear of it".to_owned();
    }
    match &kept.role {
        Role::Service {
            depth_m: Some(depth_m),
        } => format!(
            "service recorded {depth_m} m deep; the tool is up within {clearance_m} m where the \
             work comes near it. Records are incomplete"
        ),
        Role::Service { depth_m: None } => format!(
            "service of unknown depth; the tool is up within {clearance_m} m where the work cuts. \
             Records are incomplete"
        ),
        _ if kept.stops_the_body() => {
            format!("machine and tool keep {clearance_m} m clear of it")
        }
        _ => format!("wheels may cross; tools that cut are up within {clearance_m} m"),
    }
}

/// Ways in, and the peg to check a terminal at.
fn places(plan: &Plan, globe: &Globe) -> Result<Kml, FormatError> {
    let mut places = Vec::new();
    for entrance in &plan.ground.entrances {
        places.push(placemark(
            "entrance",
            "The way in.",
            &PLACE,
            &[("kind", "entrance".to_owned())],
            globe.thing(entrance)?,
        ));
    }
    let peg = exact::PEG;
    let shape = globe.thing(&geo::Point(plan.ground.corner(peg)).into())?;
    places.push(placemark(
        &format!("peg {}", peg.name().to_uppercase()),
        "Corner of the fitted rectangle: park here and read the terminal before driving.",
        &PLACE,
        &[("kind", "peg".to_owned())],
        shape,
    ));
    Ok(folder("places", &[], places))
}
