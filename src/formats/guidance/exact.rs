//! How exact the places in a guidance file are, in plain words: the datum, how the pitch's place
//! was come by, the check on a peg, and the services wording. Every guidance file says the same.

use super::Globe;
use crate::formats::FormatError;
use crate::ground::PlacedBy;
use crate::plan::{OperationPlan, Plan};
use crate::space::Corner;
use crate::warning::{Code, Warning};

/// How far a terminal on a peg may be off before canes take its place, centimetres (common
/// practice, no source).
pub(crate) const AGREES_WITHIN_CM: u8 = 5;

/// The named peg that a terminal is checked at: this corner of the fitted rectangle.
pub(super) const PEG: Corner = Corner::Se;

/// Everything that a guidance file with one text of its own has to say: how exact it is, what
/// every operation deeper than 100 mm has to heed. One line an entry.
///
/// # Errors
/// [`FormatError`] where the peg has no position on the globe.
pub(super) fn description(plan: &Plan, globe: &Globe) -> Result<Vec<String>, FormatError> {
    let mut lines = sentences(plan, globe)?;
    let deep = plan.operations.iter().filter_map(services);
    lines.extend(deep.map(|wording| format!("{wording}.")));
    Ok(lines)
}

/// The check on a peg in so few letters that a terminal shows them: at most 32.
pub(super) const PEG_CHECK: &str = "Check on a peg: 5 cm, else canes";

/// What every guidance file says on how exact it is: one sentence an entry.
///
/// # Errors
/// [`FormatError`] where the peg has no position on the globe.
pub(super) fn sentences(plan: &Plan, globe: &Globe) -> Result<Vec<String>, FormatError> {
    let ground = &plan.ground;
    let come_by = match ground.placed_by {
        PlacedBy::Centre => "its centre and bearing, written in the job".to_owned(),
        PlacedBy::Corners(count) => format!("{count} corner marks, written in the job"),
        PlacedBy::Outline => "the outline in the ground file".to_owned(),
        PlacedBy::Nothing => "sizes alone".to_owned(),
    };
    let frame = ground.frame.as_ref();
    let system = frame.and_then(|frame| frame.crs.as_deref());
    let accuracy_m = frame.and_then(|frame| frame.crs_accuracy_m);
    let datum = match (system, accuracy_m) {
        (None, _) => "Positions are WGS84 longitude and latitude as they were given; how exact \
                      those were is not known to this file."
            .to_owned(),
        (Some(system), Some(accuracy_m)) => format!(
            "Positions are WGS84 longitude and latitude, transformed from {system} with an \
             accuracy of {accuracy_m} m."
        ),
        (Some(system), None) => format!(
            "Positions are WGS84 longitude and latitude, transformed from {system} with an \
             accuracy that is not known."
        ),
    };
    let mut sentences = vec![
        datum,
        format!("The place of the pitch was come by from {come_by}."),
    ];
    let pegs = globe.positions([ground.corner(PEG)])?;
    sentences.extend(pegs.iter().map(|[lon_deg, lat_deg]| {
        format!(
            "Before driving, park on the {} peg (corner of the fitted rectangle, longitude \
             {lon_deg:.9}, latitude {lat_deg:.9}) and read the terminal: it must agree within \
             {AGREES_WITHIN_CM} cm, else use canes and the tape sheet.",
            PEG.name().to_uppercase()
        )
    }));
    sentences.push(
        "Never steer by itself near people; the driver looks where the machine goes.".to_owned(),
    );
    let coarse = |warning: &&Warning| warning.code == Code::PositionAccuracy;
    let warned = plan.warnings.iter().filter(coarse);
    sentences.extend(warned.map(|warning| format!("Caution: {}.", warning.text)));
    Ok(sentences)
}

/// The services wording of an operation that goes deeper than 100 mm.
pub(super) fn services(planned: &OperationPlan) -> Option<String> {
    let operation = &planned.operation;
    let depth_mm = operation.depth.map_or(0.0, |depth| depth.depth_mm);
    let warning = Warning::services_wording(format!("operation {}", operation.id), depth_mm)?;
    Some(warning.to_string())
}

#[cfg(test)]
mod tests {
    use super::{AGREES_WITHIN_CM, PEG_CHECK};

    #[test]
    fn the_short_check_says_the_same_in_few_letters() {
        assert!(PEG_CHECK.contains(&format!("{AGREES_WITHIN_CM} cm")));
        assert!(PEG_CHECK.chars().count() <= 32);
    }
}
