//! The sentences and figures of the sheets.

use crate::coverage::{Coverage, MissedPlace};
use crate::job::model::{Ends, Operation, Task};
use crate::plan::{DirectionPlan, OperationPlan, Plan};
use crate::warning::{Code, Warning};

/// An operation deeper than this carries the services wording, millimetres.
pub(super) const DEEP_MM: f64 = 100.0;

/// The title of the services wording.
pub(super) const SERVICES_TITLE: &str = "Over 100 mm deep: services below";

/// What every sheet of an operation deeper than 100 mm says.
pub(super) const SERVICES_WORDING: &str = "Only services in the job's records are shown. \
    Records have gaps; a pipe or cable may lie half a metre or more from where it is drawn. \
    Before a tool goes in: get the owners' records, trace the services on the ground, dig trial \
    holes by hand, have the ground owner's permission. Local rules and those licensed for this \
    decide; this sheet gives no leave to break ground.";

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

/// Metres to the centimetre, as one reads a tape, with a minus that is seen.
pub(super) fn centimetres(metres: f64) -> String {
    fixed(metres, 2).replace('-', "\u{2212}")
}

/// The same with a plus before what is above nought.
pub(super) fn signed_centimetres(metres: f64) -> String {
    let text = centimetres(metres);
    if text.starts_with('\u{2212}') || text == "0.00" {
        text
    } else {
        format!("+{text}")
    }
}

/// A number with as many decimals as it has, three at most.
pub(super) fn plain_number(value: f64) -> String {
    let text = fixed(value, 3);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// An area in figures that suit its size.
pub(super) fn area(area_m2: f64) -> String {
    let decimals = match area_m2 {
        small if small < 10.0 => 2,
        middling if middling < 1000.0 => 1,
        _ => 0,
    };
    format!("{}\u{a0}m\u{b2}", fixed(area_m2, decimals))
}

/// A length in metres, or in kilometres from one on.
pub(super) fn length(length_m: f64) -> String {
    if length_m < 1000.0 {
        format!("{}\u{a0}m", fixed(length_m, 1))
    } else {
        format!("{}\u{a0}km", fixed(length_m / 1000.0, 2))
    }
}

/// Seconds in hours and whole minutes, rounded up to the next minute.
pub(super) fn duration(seconds: f64) -> String {
    let minutes = (seconds / 60.0 - 1e-9).ceil().max(0.0);
    let hours = (minutes / 60.0).floor();
    if hours < 1.0 {
        format!("{}\u{a0}min", fixed(minutes, 0))
    } else {
        format!(
            "{}\u{a0}h\u{a0}{}\u{a0}min",
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
        "under 0.1\u{a0}%".to_owned()
    } else {
        format!("{}\u{a0}%", fixed(percent, 1))
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
        Ends::HoldInside => {
            "drop once all of the tool is inside the edge of the work, lift while it is"
        }
    };
    if operation.over_m > 0.0 {
        format!(
            "{rule}; then both ends {}\u{a0}m longer",
            fixed(operation.over_m, 2)
        )
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
        format!("{figure}\u{a0}mm, a default for this task: the job gives none")
    } else {
        format!("{figure}\u{a0}mm by the rule")
    })
}

/// Whether the operation needs the services wording.
pub(super) fn is_deep(operation: &Operation) -> bool {
    operation
        .depth
        .is_some_and(|depth| depth.depth_mm > DEEP_MM)
}

/// What is missed: rows of a word and its meaning. Rounds and straight passes share the
/// ground, so that beside rounds what all directions leave counts.
pub(super) fn missed(
    work: &OperationPlan,
    direction: &DirectionPlan,
) -> Vec<(&'static str, String)> {
    let alone_m2 = direction.coverage.missed_m2.max(0.0);
    let has_rounds = work
        .directions
        .iter()
        .any(|other| other.passes.angle.is_none());
    if !has_rounds {
        return vec![("missed", places(alone_m2, &direction.missed))];
    }
    let all_m2 = work
        .worked_times_m2
        .first()
        .copied()
        .unwrap_or(0.0)
        .max(0.0);
    let partner = if direction.passes.angle.is_none() {
        "left for lines"
    } else {
        "left to others"
    };
    vec![
        (partner, area(alone_m2)),
        ("missed by all", places(all_m2, &work.unworked)),
    ]
}

/// An area and in how many places it lies.
fn places(area_m2: f64, places: &[MissedPlace]) -> String {
    let largest = places.iter().map(|place| place.area_m2).fold(0.0, f64::max);
    match places.len() {
        0 if area_m2 < 1e-4 => "nothing".to_owned(),
        0 => format!("{}, all in crumbs under 1\u{a0}cm\u{b2}", area(area_m2)),
        1 => format!("{} in 1 place", area(area_m2)),
        count => format!(
            "{} in {count} places, the largest {}",
            area(area_m2),
            area(largest)
        ),
    }
}

/// What is worked outside the target.
pub(super) fn outside(coverage: &Coverage) -> String {
    let outside_m2 = coverage.outside_m2.max(0.0);
    let off_pitch_m2 = coverage.outside_pitch_m2.max(0.0);
    if outside_m2 < 0.005 {
        "nothing".to_owned()
    } else if outside_m2 - off_pitch_m2 < 0.005 {
        format!("{}, all off the pitch", area(outside_m2))
    } else {
        format!("{}, off the pitch {}", area(outside_m2), area(off_pitch_m2))
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

/// The warnings that the sheet of a drive repeats: those about the drive, for this direction.
pub(super) fn drive_warnings<'plan>(
    plan: &'plan Plan,
    work: &OperationPlan,
    direction: &DirectionPlan,
) -> Vec<&'plan Warning> {
    let concerns = |warning: &&Warning| match warning.code {
        Code::DefaultRunOff => true,
        Code::Shortened | Code::NoTurn | Code::WheelPasses | Code::DefaultBody => {
            speaks_of(warning, work, direction)
        }
        _ => false,
    };
    plan.warnings.iter().filter(concerns).collect()
}

/// A warning as the sheet tells it: with the thing it speaks of, without the operation
/// that the sheet is about anyway.
pub(super) fn told(warning: &Warning) -> String {
    let things: Vec<&str> = warning
        .place
        .split(", ")
        .filter(|part| !part.starts_with("operation ") && !part.starts_with("pitch"))
        .collect();
    let is_about_thing = matches!(warning.code, Code::Service | Code::MarkingLeftOut);
    if is_about_thing && !things.is_empty() {
        capital(&plain(&format!("{}: {}", things.join(", "), warning.text)))
    } else {
        capital(&plain(&warning.text))
    }
}

/// Without the strokes that mark words of a file on a screen.
fn plain(text: &str) -> String {
    text.replace('`', "")
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
        assert_eq!(area(0.004), "0.00\u{a0}m\u{b2}");
        assert_eq!(area(12.345), "12.3\u{a0}m\u{b2}");
        assert_eq!(area(7140.0), "7140\u{a0}m\u{b2}");
        assert_eq!(length(999.96), "1000.0\u{a0}m");
        assert_eq!(length(7123.0), "7.12\u{a0}km");
        assert_eq!(duration(59.0), "1\u{a0}min");
        assert_eq!(duration(3600.0), "1\u{a0}h\u{a0}0\u{a0}min");
        assert_eq!(duration(4261.0), "1\u{a0}h\u{a0}12\u{a0}min");
        assert_eq!(share(0.0001, 7140.0), "under 0.1\u{a0}%");
        assert_eq!(share(0.0, 7140.0), "0.0\u{a0}%");
        assert_eq!(fixed(-0.0001, 2), "0.00");
        assert_eq!(count(1, "part"), "1 part");
        assert_eq!(count(2, "part"), "2 parts");
    }

    #[test]
    fn a_warning_is_told_with_its_thing_but_without_the_operation() {
        let told = |code, place| told(&Warning::new(code, place, "it is so"));
        assert_eq!(
            told(Code::Service, "operation slit, feature 6 `drain`"),
            "Feature 6 drain: it is so"
        );
        assert_eq!(
            told(Code::MarkingLeftOut, "zone box-west"),
            "Zone box-west: it is so"
        );
        assert_eq!(told(Code::NoPass, "operation slit, along"), "It is so");
    }

    #[test]
    fn no_sheet_ever_says_that_digging_is_safe() {
        for text in [SERVICES_TITLE, SERVICES_WORDING, SITE_RULES] {
            assert!(!text.to_lowercase().contains("clear to dig"));
            assert!(!text.to_lowercase().contains("safe"));
        }
    }
}
