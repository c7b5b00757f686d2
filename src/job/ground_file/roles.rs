//! What a feature of the ground file may be, and the properties that each role reads.

use serde_json::{Map, Value};

use crate::job::model::Role;
use crate::job::{defaults, limits, near};

/// One role: what documents say and what the reader asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RoleSpec {
    /// The word in the file.
    pub name: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// The shapes that it may have.
    pub shapes: Shapes,
    /// The properties that it reads, besides `role` and `name`.
    pub properties: &'static [&'static str],
}

/// Shapes that a role may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shapes {
    /// One Polygon.
    OneArea,
    /// Polygon or MultiPolygon.
    Areas,
    /// Any.
    Any,
}

impl Shapes {
    /// In words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::OneArea => "one Polygon",
            Self::Areas => "Polygon or MultiPolygon",
            Self::Any => "any",
        }
    }
}

const fn spec(
    name: &'static str,
    shapes: Shapes,
    properties: &'static [&'static str],
    meaning: &'static str,
) -> RoleSpec {
    RoleSpec {
        name,
        meaning,
        shapes,
        properties,
    }
}

/// The outline of the pitch.
pub const PITCH: RoleSpec = spec(
    "pitch",
    Shapes::OneArea,
    &[],
    "the outline that is worked; a hole in it is kept clear",
);

/// All roles, in the order of the documents.
#[rustfmt::skip]
pub const ROLES: [RoleSpec; 13] = [
    PITCH,
    spec("run_off", Shapes::Areas, &[], "the outline of all ground that machines may use, pitch included; it wins over `run_off_m`"),
    spec("obstacle", Shapes::Any, &["clearance_m"], "tool and body keep clear"),
    spec("no_go", Shapes::Any, &["clearance_m"], "tool and body keep out"),
    spec("goal", Shapes::Any, &["clearance_m"], "like an obstacle, unless `goals_out = true`"),
    spec("stockpile", Shapes::Any, &["clearance_m"], "where material lies; like an obstacle, hauls excepted"),
    spec("head", Shapes::Any, &["clearance_m"], "a sprinkler head: wheels may cross, a tool that cuts is up around it"),
    spec("socket", Shapes::Any, &["clearance_m"], "a socket of a goal or flag, likewise"),
    spec("lid", Shapes::Any, &["clearance_m"], "a lid or valve box, likewise"),
    spec("service", Shapes::Any, &["depth_m"], "a pipe or cable: the tool is up within 1 m where the work comes within 100 mm of its depth"),
    spec("entrance", Shapes::Any, &[], "the way in"),
    spec("zone", Shapes::Areas, &["wear"], "a wear zone of your own; its `name` is needed, in small letters and strokes"),
    spec("stand", Shapes::Any, &["height_m"], "a stand, for drawings"),
];

/// Why a feature has no role.
pub(super) enum NoRole {
    /// A word that is not known.
    Unknown(String),
    /// None, or not text.
    Faulty(String),
}

/// The role that a feature names.
pub(super) fn role_of(properties: &Map<String, Value>) -> Result<&'static RoleSpec, NoRole> {
    match properties.get("role") {
        Some(Value::String(word)) => ROLES
            .iter()
            .find(|spec| spec.name == word)
            .ok_or_else(|| NoRole::Unknown(word.clone())),
        Some(Value::Null) | None => {
            let near = near::nearest("role", properties.keys().map(String::as_str))
                .map_or(String::new(), |key| format!(" (`{key}` is not read)"));
            Err(NoRole::Faulty(format!(
                "has no property `role`{near}; write one of {}",
                near::list(ROLES.iter().map(|spec| spec.name))
            )))
        }
        Some(other) => Err(NoRole::Faulty(format!(
            "`role` is {}; write one of {} in quotes",
            near::short(&other.to_string()),
            near::list(ROLES.iter().map(|spec| spec.name))
        ))),
    }
}

/// The role with its properties; what is wrong with them goes into `faults`.
pub(super) fn read(
    role: &str,
    name: Option<&str>,
    properties: &Map<String, Value>,
    faults: &mut Vec<String>,
) -> Option<Role> {
    check_spelling(role, properties, faults);
    let mut number = |key: &str| number(key, properties, faults);
    let clearance_m = |given: Option<f64>| given.unwrap_or(defaults::CLEARANCE_M);
    let lifted_m = |given: Option<f64>| given.unwrap_or(defaults::LIFTED_CLEARANCE_M);
    Some(match role {
        "pitch" => Role::Pitch,
        "run_off" => Role::RunOff,
        "obstacle" => Role::Obstacle {
            clearance_m: clearance_m(number("clearance_m")),
        },
        "no_go" => Role::NoGo {
            clearance_m: clearance_m(number("clearance_m")),
        },
        "goal" => Role::Goal {
            clearance_m: clearance_m(number("clearance_m")),
        },
        "stockpile" => Role::Stockpile {
            clearance_m: clearance_m(number("clearance_m")),
        },
        "head" => Role::Head {
            clearance_m: lifted_m(number("clearance_m")),
        },
        "socket" => Role::Socket {
            clearance_m: lifted_m(number("clearance_m")),
        },
        "lid" => Role::Lid {
            clearance_m: lifted_m(number("clearance_m")),
        },
        "service" => Role::Service {
            depth_m: number("depth_m"),
        },
        "entrance" => Role::Entrance,
        "stand" => Role::Stand {
            height_m: number("height_m"),
        },
        "zone" => {
            let wear = number("wear").unwrap_or(f64::from(defaults::USER_ZONE_WEAR));
            if wear.fract() != 0.0 {
                faults.push(format!(
                    "`wear` {wear} is not a whole number; write 1, 2, 3, 4 or 5"
                ));
            }
            let Some(name) = name else {
                faults.push("a zone needs a `name`; write one like `wet-corner`".to_owned());
                return None;
            };
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to 5
            let wear = wear as u8;
            Role::Zone {
                name: name.to_owned(),
                wear,
            }
        }
        _ => return None,
    })
}

/// A property that is nearly one that the role reads would be lost without a word.
/// Others are left alone: drawing programs add columns of their own.
fn check_spelling(role: &str, properties: &Map<String, Value>, faults: &mut Vec<String>) {
    const ALIKE: f64 = 0.75;
    let Some(spec) = ROLES.iter().find(|spec| spec.name == role) else {
        return;
    };
    for known in spec.properties {
        if properties.contains_key(*known) {
            continue;
        }
        let plain = known.trim_end_matches("_m");
        for (key, value) in properties {
            let folded = key.to_lowercase().replace(['-', ' '], "_");
            let alike = folded == plain
                || (key.len() < 40
                    && strsim::normalized_damerau_levenshtein(&folded, known) >= ALIKE);
            if alike && !value.is_null() {
                faults.push(format!(
                    "unknown property `{}`; did you mean `{known}`?",
                    near::short(key)
                ));
            }
        }
    }
}

/// A number of a feature, within its limit; null is as good as left out.
fn number(key: &str, properties: &Map<String, Value>, faults: &mut Vec<String>) -> Option<f64> {
    let value = properties.get(key).filter(|value| !value.is_null())?;
    let limit = limits::of(&format!("feature.{key}"))?;
    let Some(number) = value.as_f64() else {
        faults.push(format!(
            "`{key}` is {}; write a number from {}, without quotes",
            near::short(&value.to_string()),
            limit.range()
        ));
        return None;
    };
    if !limit.allows(number) {
        faults.push(format!("`{key}` {number} is {}", limit.beyond()));
        return None;
    }
    Some(number)
}
