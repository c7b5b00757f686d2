//! The words for places on a pitch that a job may use: kinds of zone, zones and regions.

use std::sync::LazyLock;

use super::near;

/// Kinds of zone.
pub const KINDS: [&str; 10] = [
    "user",
    "goalmouth",
    "six_yard",
    "penalty_spot",
    "box",
    "corner",
    "centre_spot",
    "centre_circle",
    "centre_strip",
    "wing",
];

/// Regions that are no zones.
pub const REGIONS: [&str; 4] = ["all", "pitch", "grass", "run_off"];

/// Zones and regions that each end or side of the compass has one of.
pub const BY_COMPASS: [&str; 7] = [
    "goalmouth",
    "six-yard",
    "penalty-spot",
    "box",
    "wing",
    "goal-area",
    "penalty-area",
];

/// Zones that there is one of.
pub const SINGLE: [&str; 3] = ["centre-spot", "centre-circle", "centre-strip"];

/// All words of the program, kinds first, then regions, then names.
#[must_use]
pub fn all() -> &'static [String] {
    &ALL
}

static ALL: LazyLock<Vec<String>> = LazyLock::new(|| {
    let plain = KINDS.iter().chain(&REGIONS).map(|word| (*word).to_owned());
    let by_compass = BY_COMPASS.iter().flat_map(|word| {
        crate::space::Compass::ALL.map(|point| format!("{word}-{}", point.name()))
    });
    let corners = crate::space::Corner::ALL.map(|corner| format!("corner-{}", corner.name()));
    let single = SINGLE.iter().map(|word| (*word).to_owned());
    plain
        .chain(by_compass)
        .chain(corners)
        .chain(single)
        .collect()
});

/// Whether a word is one of the program's or of the user's zones; if not, what to say.
pub(super) fn check(word: &str, user_zones: &[String]) -> Result<(), String> {
    let mut words = all().iter().chain(user_zones).map(String::as_str);
    if words.clone().any(|have| have == word) {
        return Ok(());
    }
    let advice = match near::nearest(word, &mut words) {
        Some(near) => format!("; did you mean `{near}`?"),
        None if user_zones.is_empty() => {
            "; write a kind such as `goalmouth`, a zone such as `goalmouth-south` or a region such as `all`".to_owned()
        }
        None => format!(
            "; the zones of the ground file are {}",
            near::list(user_zones.iter().map(String::as_str))
        ),
    };
    Err(format!("unknown zone `{}`{advice}", near::short(word)))
}

/// Whether a name of the user's own zone is one: kebab-case, and no word of the program.
pub(super) fn check_own(name: &str) -> Result<(), String> {
    let is_kebab = name.split('-').all(|part| {
        !part.is_empty()
            && part
                .bytes()
                .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit())
    });
    let greatest = super::limits::ID_LETTERS.greatest;
    if !is_kebab {
        return Err(format!(
            "`name` `{}` of a zone is not written in small letters and strokes; write it like `wet-corner`",
            near::short(name)
        ));
    }
    if name.len() > greatest {
        return Err(format!(
            "`name` of a zone has {} letters; at most {greatest} are read",
            name.len()
        ));
    }
    if all().iter().any(|word| word == name) {
        return Err(format!(
            "`name` `{name}` is a word of this program; give the zone a name of its own"
        ));
    }
    Ok(())
}
