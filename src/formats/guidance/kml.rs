//! `guidance/passes.kml`: every pass, the zones, the ground and all that is kept clear, to be
//! looked at over an aerial picture and to be read by terminals. KML 2.2 (OGC 07-147r2).
//!
//! Folders: one an operation, in it one a direction; then zones, ground, what is kept clear,
//! ways in, and the peg to check at. What a thing is stands in its name, its folder and its
//! data, never in a colour alone.

use kml::Kml;

use super::kml_parts::{Look, data, file, folder, folders, line, placemark, style, text};
use super::xml::Xml;
use super::{exact, xml_text};
use crate::formats::globe::{Globe, Lines};
use crate::formats::{FormatError, LEAST_PIECE_M2, figure};
use crate::ground::Kept;
use crate::job::model::Role;
use crate::passes::{Part, Pass};
use crate::plan::{DirectionPlan, Plan};
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
    let folders = [
        zones(plan, globe)?,
        ground(plan, globe)?,
        kept_clear(plan, globe)?,
        places(plan, globe)?,
    ];
    elements.extend(folders);
    file(elements, &operations(plan, globe))
}

/// The folders of all operations as they stand in the file, one a direction in each.
///
/// Written straight away: thousands of elements of many small texts, each made before it is
/// written, take ten times as long.
fn operations(plan: &Plan, globe: &Globe) -> String {
    let mut xml = folders();
    let mut passes = globe.passes();
    for planned in &plan.operations {
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
        xml.begin("Folder");
        xml.leaf("name", xml_text(&format!("operation {}", operation.id)));
        xml.leaf("description", xml_text(&description.join("\n")));
        for (index, (planned, lines)) in planned.directions.iter().zip(&mut passes).enumerate() {
            direction(&mut xml, &operation.id, index + 1, planned, lines);
        }
        xml.end();
    }
    xml.into_text()
}

/// Writes the folder of a direction: one placemark a part. Its name is unique in the file, since
/// some readers make one flat list of folders.
fn direction(
    xml: &mut Xml,
    operation: &str,
    number: usize,
    planned: &DirectionPlan,
    lines: &Lines,
) {
    let passes = &planned.passes;
    let heading = passes.heading.map(|heading| figure(heading.deg()));
    let (way, about) = match heading {
        Some(deg) => (
            format!("Heading {deg} degrees, true, at the middle of the pitch."),
            format!("heading {deg:.2} degrees"),
        ),
        None => ("Rounds along the edge.".to_owned(), "round".to_owned()),
    };
    xml.begin("Folder");
    let name = format!("{operation} direction {number}: {}", passes.name);
    xml.leaf("name", xml_text(&name));
    xml.leaf("description", xml_text(&way));
    for ((pass, part), nodes) in passes.parts().zip(lines.iter()) {
        let width_m = part.width_m;
        let length_m = part.length_m();
        xml.begin("Placemark");
        xml.leaf("name", name_of(pass, part));
        xml.leaf(
            "description",
            format_args!("{about}, width {width_m} m, length {length_m:.2} m"),
        );
        xml.leaf("styleUrl", format_args!("#{}", PASS.id));
        xml.begin("ExtendedData");
        data(xml, "kind", "pass");
        data(xml, "operation", operation);
        data(xml, "direction", number);
        data(xml, "pass", pass.number);
        data(xml, "part", part.number);
        if let Some(deg) = heading {
            data(xml, "heading_deg", deg);
        }
        data(xml, "width_m", figure(width_m));
        data(xml, "length_m", figure(length_m));
        xml.end();
        line(xml, nodes);
        xml.end();
    }
    xml.end();
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
