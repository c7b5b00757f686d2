//! What a person is told about a drive: ends that the ground shortens, parts that cannot be
//! driven, wheels that roll over one place too often. Each with its place and what would help.

use super::drive::{Driven, Trouble};
use super::mend::Remedies;
use super::way_out::Use;
use super::wheels::WheelTraffic;
use crate::ground::Ground;
use crate::job::defaults;
use crate::job::model::Operation;
use crate::passes::Part;
use crate::space::{Compass, Xy};
use crate::warning::{Code, Warning};

/// What would help, of a first answer.
const NOT_SOUGHT: &str = "what would help is not worked out yet";

/// The warnings about an operation's drive.
#[must_use]
pub fn warnings(operation: &Operation, ground: &Ground, driven: &Driven) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let Some(tractor) = &operation.implement.tractor else {
        return warnings;
    };
    let whole = format!("operation {}", operation.id);
    if tractor.body.is_none() {
        let body = defaults::BODY;
        warnings.push(Warning::new(
            Code::DefaultBody,
            whole.clone(),
            format!(
                "tractor `{}` has no `body`; {} m wide, {} m ahead of the rear axle and {} m behind \
                 it were taken; measure it, for turns near walls hang on it",
                tractor.name, body.width_m, body.ahead_m, body.behind_m
            ),
        ));
    }
    if driven.no_entrance {
        warnings.push(Warning::new(
            Code::NoTurn,
            whole,
            "the machine does not fit through the entrance in any heading; the drive begins and \
             ends anywhere; check the entrance's place and what stands beside it",
        ));
    }
    for trouble in &driven.stuck {
        warnings.push(Warning::new(
            Code::NoTurn,
            place(operation, driven, trouble),
            format!(
                "the machine cannot {} {} however early the tool is lifted, so this part is not in \
                 the drive; {}",
                use_of(trouble),
                near(ground, trouble.at),
                would_help(trouble.remedies.as_ref())
            ),
        ));
    }
    for &index in &driven.without_order {
        warnings.push(Warning::new(
            Code::NoTurn,
            format!("operation {}, {}", operation.id, driven.passes[index].name),
            "no order of the passes can be driven: some part is cut off from the others for this \
             machine; turning is an estimate; more run-off, a smaller turning radius or \
             `can_reverse` would help",
        ));
    }
    warnings.extend(
        driven
            .worst
            .iter()
            .map(|worst| shortened(operation, ground, driven, worst)),
    );
    warnings
}

/// The ends of a direction that are shortened, with the worst of them.
fn shortened(operation: &Operation, ground: &Ground, driven: &Driven, worst: &Trouble) -> Warning {
    let passes = &driven.passes[worst.direction];
    let parts = passes.passes.iter().flat_map(|pass| &pass.parts);
    let cut: Vec<&Part> = parts.filter(|part| part.shortened_m > 0.0).collect();
    let sum_m: f64 = cut.iter().map(|part| part.shortened_m).sum();
    let area_m2: f64 = cut.iter().map(|part| part.shortened_m * part.width_m).sum();
    let spacing_m = operation.implement.asked_spacing_m();
    let mut helps = Vec::new();
    if passes.angle.is_some() {
        // A round takes the ends back by its spacing, measured square to the edge; along the
        // pass that is more, so this many are enough.
        let rounds = (worst.shortened_m / spacing_m).ceil();
        helps.push(match rounds {
            1.0 => "1 perimeter round".to_owned(),
            _ => format!("{rounds} perimeter rounds"),
        });
    }
    helps.extend(worst.remedies.iter().flat_map(remedies));
    Warning::new(
        Code::Shortened,
        format!("operation {}, {}", operation.id, passes.name),
        format!(
            "{} of {} parts are shortened, for the machine must turn within the run-off: {sum_m:.2} m \
             in all, about {area_m2:.1} m2; most at pass {} {}: {:.2} m; {}",
            cut.len(),
            passes.part_count(),
            worst.pass,
            near(ground, worst.at),
            worst.shortened_m,
            match (helps.as_slice(), &worst.remedies) {
                ([], None) => NOT_SOUGHT.to_owned(),
                (helps, _) => format!("{} would avoid it", listed(helps)),
            }
        ),
    )
}

fn place(operation: &Operation, driven: &Driven, trouble: &Trouble) -> String {
    let name = &driven.passes[trouble.direction].name;
    format!(
        "operation {}, {name}, pass {}, part {}",
        operation.id, trouble.pass, trouble.part
    )
}

const fn use_of(trouble: &Trouble) -> &'static str {
    match &trouble.stuck {
        Some(stuck) => match stuck.end {
            Use::Leaves => "leave the end",
            Use::ComesIn => "come in at the end",
        },
        None => "drive to the end",
    }
}

fn would_help(found: Option<&Remedies>) -> String {
    let Some(found) = found else {
        return NOT_SOUGHT.to_owned();
    };
    let helps = remedies(found);
    match found.obstacle {
        Some(at) if helps.is_empty() => format!(
            "what stands at {:.1}, {:.1} (pitch metres) would have to go",
            at.x, at.y
        ),
        _ if helps.is_empty() => {
            "no single change of run-off, radius or reversing helps; work it by \
                                  hand or from another side"
                .to_owned()
        }
        _ => format!("{} would help", listed(&helps)),
    }
}

/// The smallest changes, in words.
fn remedies(found: &Remedies) -> Vec<String> {
    let mut helps = Vec::new();
    if let Some(run_off_m) = found.run_off_m {
        helps.push(format!("{:.0} cm more run-off", run_off_m * 100.0));
    }
    if let Some(radius_m) = found.radius_m {
        helps.push(format!("a turning radius of {radius_m:.2} m"));
    }
    if found.reversing {
        helps.push("a tool that may reverse".to_owned());
    }
    helps
}

fn listed(helps: &[String]) -> String {
    match helps {
        [] => "nothing single".to_owned(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// Wheel traffic beyond what the job wants.
#[must_use]
pub fn wheels(operation: &Operation, ground: &Ground, wheels: &WheelTraffic) -> Option<Warning> {
    (wheels.most > wheels.above).then(|| {
        let worst = wheels.worst.iter().filter(|(_, passes)| *passes > wheels.above);
        let worst: Vec<String> = worst
            .map(|(at, passes)| format!("{passes} {}", near(ground, *at)))
            .collect();
        Warning::new(
            Code::WheelPasses,
            format!("operation {}", operation.id),
            format!(
                "wheels roll over {:.1} m2 of the pitch more than {} times; most: {}; other starts, \
                 fewer turns on the pitch or a day between directions would spare it",
                wheels.above_m2,
                wheels.above,
                worst.join(", ")
            ),
        )
    })
}

/// Where a place lies, by the nearest line of the pitch and its stand.
#[must_use]
pub fn near(ground: &Ground, at: Xy) -> String {
    let sides = [Compass::North, Compass::East, Compass::South, Compass::West];
    let off_m = |side: Compass| {
        let outward = ground.names.outward(side);
        let half_m = if ground.names.is_end(side) {
            ground.length_m / 2.0
        } else {
            ground.width_m / 2.0
        };
        half_m - (at.x * outward.x + at.y * outward.y)
    };
    let nearest = sides
        .into_iter()
        .min_by(|&a, &b| off_m(a).abs().total_cmp(&off_m(b).abs()));
    let side = nearest.unwrap_or(Compass::North);
    let line = if ground.names.is_end(side) {
        "goal line"
    } else {
        "touch line"
    };
    let off_m = off_m(side);
    let name = ground.stand_label(side);
    if off_m > 1.0 {
        format!("{off_m:.0} m inside the {name} {line}")
    } else {
        format!("at the {name} {line}")
    }
}
