//! The sentences and figures of the sheets.

use crate::job::model::{Ends, Operation, Task};
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::warning::{Code, Warning};

/// An operation deeper than this carries the services wording, millimetres.
pub(super) const DEEP_MM: f64 = 100.0;

/// The title of the services wording.
pub(super) const SERVICES_TITLE: &str = "Deeper than 100 mm: what lies below?";

/// What every sheet of an operation deeper than 100 mm says.
pub(super) const SERVICES_WORDING: &str = "This sheet knows only the services that its job \
    records. Records have gaps, and a pipe or cable may lie half a metre or more from where it \
    is drawn. Before a tool goes in: get the owners' records, trace the services on the ground, \
    dig trial holes by hand, have the ground owner's permission. Local rules and those licensed \
    to do this decide; this sheet gives no leave to break ground.";

/// The last line of every sheet.
pub(super) const SITE_RULES: &str = "The site's own rules and the person in charge there come \
    before this sheet.";

/// A number with fixed decimals, never minus nought.
pub(super) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let is_nought = text.chars().all(|letter| matches!(letter, '-' | '0' | '.'));
    if is_nought {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

/// An area in figures that suit its size.
pub(super) fn area(area_m2: f64) -> String {
    let decimals = match area_m2 {
        small if small < 10.0 => 2,
        middling if middling < 1000.0 => 1,
        _ => 0,
    };
    format!("{} m\u{b2}", fixed(area_m2, decimals))
}

/// A length in metres, or in kilometres from one on.
pub(super) fn length(length_m: f64) -> String {
    if length_m < 1000.0 {
        format!("{} m", fixed(length_m, 1))
    } else {
        format!("{} km", fixed(length_m / 1000.0, 2))
    }
}

/// Seconds in hours and whole minutes, rounded up to the next minute.
pub(super) fn duration(seconds: f64) -> String {
    let minutes = (seconds / 60.0 - 1e-9).ceil().max(0.0);
    let hours = (minutes / 60.0).floor();
    if hours < 1.0 {
        format!("{} min", fixed(minutes, 0))
    } else {
        format!(
            "{} h {} min",
            fixed(hours, 0),
            fixed(minutes - 60.0 * hours, 0)
        )
    }
}

/// `1 part`, `2 parts`.
pub(super) fn count(number: usize, singular: &str) -> String {
    if number == 1 {
        format!("{number} {singular}")
    } else {
        format!("{number} {singular}s")
    }
}

/// A share in per cent; `under 0.1 %` rather than 0 for what is there.
pub(super) fn share(part: f64, whole: f64) -> String {
    let percent = if whole > 0.0 {
        100.0 * part / whole
    } else {
        0.0
    };
    if percent > 0.0 && percent < 0.05 {
        "under 0.1 %".to_owned()
    } else {
        format!("{} %", fixed(percent, 1))
    }
}

/// A word of the files as printed: `vertical_cut` is `vertical cut`.
pub(super) fn spoken(word: &str) -> String {
    word.replace('_', " ")
}

/// The same with a capital.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .chain(letters)
        .collect()
}

/// What is done and with what: `Brush with drag-brush`.
pub(super) fn what_is_done(operation: &Operation) -> String {
    let task = match operation.task {
        Task::Other => capital(&operation.id),
        task => capital(&spoken(task.name())),
    };
    format!("{task} with {}", operation.implement.name)
}

/// The name of a direction as printed.
pub(super) fn direction_name(direction: &DirectionPlan) -> String {
    match direction.passes.name.as_str() {
        "rounds" => "perimeter rounds".to_owned(),
        name => spoken(name),
    }
}

/// The rule for the ends, as an instruction.
pub(super) fn ends(operation: &Operation) -> String {
    let rule = match operation.ends {
        Ends::RunOver => "drop and lift where the whole tool is clear of the edge of the work",
        Ends::OnLine => "drop and lift where the middle of the tool is on the edge of the work",
        Ends::HoldInside => "keep all of the tool inside the edge of the work",
    };
    if operation.over_m > 0.0 {
        format!("{rule}, and run on {} m", fixed(operation.over_m, 2))
    } else {
        rule.to_owned()
    }
}

/// The depth, and whose word it is; `None` for tasks without one.
pub(super) fn depth(operation: &Operation) -> Option<String> {
    let depth = operation.depth?;
    let decimals = if depth.depth_mm.fract() == 0.0 { 0 } else { 1 };
    let figure = fixed(depth.depth_mm, decimals);
    Some(if depth.is_default {
        format!("{figure} mm, a default for this task: the job gives none")
    } else {
        format!("{figure} mm by the rule")
    })
}

/// Whether the operation needs the services wording.
pub(super) fn is_deep(operation: &Operation) -> bool {
    operation
        .depth
        .is_some_and(|depth| depth.depth_mm > DEEP_MM)
}

/// What is missed, in a sentence.
pub(super) fn missed(direction: &DirectionPlan) -> String {
    let missed_m2 = direction.coverage.missed_m2.max(0.0);
    let places = direction.missed.len();
    let largest = direction
        .missed
        .iter()
        .map(|place| place.area_m2)
        .fold(0.0, f64::max);
    match places {
        0 => format!("{}: no place worth listing", area(missed_m2)),
        1 => format!("{} in 1 place", area(missed_m2)),
        _ => format!(
            "{} in {places} places, the largest {}",
            area(missed_m2),
            area(largest)
        ),
    }
}

/// The warnings that a sheet repeats: those about the whole ground, and with an operation
/// and direction those about them.
pub(super) fn warnings<'plan>(
    plan: &'plan Plan,
    work: Option<(&OperationPlan, &DirectionPlan)>,
) -> Vec<&'plan Warning> {
    let concerns = |warning: &&Warning| match (warning.code, work) {
        (Code::DefaultRunOff, _) => true,
        (Code::MarkingLeftOut | Code::OutsideLaw1, None) => true,
        (Code::EvenInstead | Code::NoPass | Code::Service, Some((operation, direction))) => {
            speaks_of(warning, operation, direction)
        }
        _ => false,
    };
    plan.warnings.iter().filter(concerns).collect()
}

/// Whether a warning's place names this operation, and no other of its directions.
fn speaks_of(warning: &Warning, work: &OperationPlan, direction: &DirectionPlan) -> bool {
    let words: Vec<&str> = warning
        .place
        .split(|letter: char| !(letter.is_alphanumeric() || "_-.".contains(letter)))
        .collect();
    let names = |name: &str| words.contains(&name);
    let is_other = work
        .directions
        .iter()
        .any(|other| other.passes.name != direction.passes.name && names(&other.passes.name));
    names(&work.operation.id) && (!is_other || names(&direction.passes.name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_suit_their_size() {
        assert_eq!(area(0.004), "0.00 m\u{b2}");
        assert_eq!(area(12.345), "12.3 m\u{b2}");
        assert_eq!(area(7140.0), "7140 m\u{b2}");
        assert_eq!(length(999.96), "1000.0 m");
        assert_eq!(length(7123.0), "7.12 km");
        assert_eq!(duration(59.0), "1 min");
        assert_eq!(duration(3600.0), "1 h 0 min");
        assert_eq!(duration(4261.0), "1 h 12 min");
        assert_eq!(share(0.0001, 7140.0), "under 0.1 %");
        assert_eq!(share(0.0, 7140.0), "0.0 %");
        assert_eq!(fixed(-0.0001, 2), "0.00");
        assert_eq!(count(1, "part"), "1 part");
        assert_eq!(count(2, "part"), "2 parts");
    }

    #[test]
    fn no_sheet_ever_says_that_digging_is_safe() {
        for text in [SERVICES_TITLE, SERVICES_WORDING, SITE_RULES] {
            assert!(!text.to_lowercase().contains("clear to dig"));
            assert!(!text.to_lowercase().contains("safe"));
        }
    }
}
