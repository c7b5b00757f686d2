//! The ground file: GeoJSON features with a role, read and checked.
//!
//! GeoJSON is RFC 7946 (2016): WGS84, longitude first. Where the job names another
//! coordinate reference system the coordinates are easting, northing in that. They stay
//! in the file's own frame here ([`Feature::shape`]); only `ground` takes them to the pitch.
//! Three steps, each a file: what a feature is (here, with [`roles`]), whether its
//! coordinates can be where they say (`place`), whether its shape is one (`shape`).

mod place;
pub mod roles;
mod shape;

use serde_json::{Map, Value};

use super::model::{Feature, Role};
use super::{limits, near, words};
use crate::fault::Fault;
use crate::space::Position;
use crate::warning::{Code, Warning};

/// What the job says about its ground file.
#[derive(Debug, Clone, Copy, Default)]
pub struct Setting<'a> {
    /// The coordinate reference system that `[ground] crs` names.
    pub crs: Option<&'a str>,
    /// Where the job itself says that the pitch lies.
    pub near: Option<Position>,
}

/// What a ground file holds, and what is wrong with it.
#[derive(Debug, Default)]
pub struct Reading {
    /// The features with a known role and a sound shape, in the order of the file.
    pub features: Vec<Feature>,
    /// Names of the user's own zones, of faulty ones too.
    pub zone_names: Vec<String>,
    /// Whether every feature was gone through, so that `zone_names` holds them all.
    pub is_whole: bool,
    /// Whether an outline of the pitch is drawn, faulty or not.
    pub has_pitch: bool,
    /// What there is to say.
    pub warnings: Vec<Warning>,
    /// What is wrong, in the order of the file.
    pub faults: Vec<Fault>,
}

/// A feature on its way in.
struct Draft {
    number: usize,
    name: Option<String>,
    /// `None` where the role's properties are faulty.
    role: Option<Role>,
    /// What the role is called.
    role_name: &'static str,
    geometry: geojson::Geometry,
}

impl Draft {
    fn label(&self) -> String {
        label(self.number, self.name.as_deref())
    }
}

fn label(number: usize, name: Option<&str>) -> String {
    match name {
        Some(name) => format!("feature {number} `{}`", near::short(name)),
        None => format!("feature {number}"),
    }
}

/// Reads the text of a ground file. Pure; never panics, whatever the text.
#[must_use]
pub fn read(file: &str, text: &str, setting: Setting<'_>) -> Reading {
    let mut reader = Reader {
        file,
        reading: Reading::default(),
    };
    reader.collection(text, setting);
    reader.reading
}

struct Reader<'a> {
    file: &'a str,
    reading: Reading,
}

impl Reader<'_> {
    fn wrong(&mut self, place: impl Into<String>, text: impl Into<String>) {
        self.reading.faults.push(Fault {
            file: self.file.to_owned(),
            place: place.into(),
            text: text.into(),
        });
    }

    fn collection(&mut self, text: &str, setting: Setting<'_>) {
        if text.len() > limits::GROUND_BYTES.greatest {
            return self.wrong("", too_large(&limits::GROUND_BYTES, text.len()));
        }
        // Some programs write a byte order mark, which JSON does not know.
        let text = text.trim_start_matches('\u{feff}');
        let value: Value = match serde_json::from_str(text) {
            Ok(value) => value,
            Err(error) => {
                let message = error.to_string();
                let message = message.split(" at line ").next().unwrap_or_default();
                let place = if error.line() == 0 {
                    String::new()
                } else {
                    format!("line {}", error.line())
                };
                let text = if error.is_eof() {
                    format!("the file stops too early ({message}); save or copy it again")
                } else {
                    format!("not valid JSON: {message}; mend it there, or save the file again")
                };
                return self.wrong(place, text);
            }
        };
        let kind = value.get("type").and_then(Value::as_str).map(str::to_owned);
        let Value::Object(mut collection) = value else {
            let text = "not GeoJSON; save it as a FeatureCollection (RFC 7946)";
            return self.wrong("", text);
        };
        if kind.as_deref() != Some("FeatureCollection") {
            let found = kind.map_or("it has no `type`".to_owned(), |kind| {
                format!("its `type` is `{}`", near::short(&kind))
            });
            let text = format!("{found}; save it as a FeatureCollection (RFC 7946)");
            return self.wrong("", text);
        }
        self.check_crs_member(collection.get("crs"), setting);
        let Some(Value::Array(features)) = collection.remove("features") else {
            let text =
                "the FeatureCollection has no list `features`; save the file again as GeoJSON";
            return self.wrong("", text);
        };
        if features.len() > limits::FEATURES.greatest {
            return self.wrong("", too_large(&limits::FEATURES, features.len()));
        }
        let mut drafts = Vec::new();
        for (index, feature) in features.into_iter().enumerate() {
            drafts.extend(self.feature(index + 1, feature));
        }
        self.reading.is_whole = true;
        self.check_singles(&drafts);
        let vertices = drafts.iter().map(|d| shape::vertices(&d.geometry)).sum();
        if vertices > limits::VERTICES.greatest {
            return self.wrong("", too_large(&limits::VERTICES, vertices));
        }
        let first_shift = self.check_places(&drafts, setting);
        for draft in drafts {
            self.take(draft, first_shift);
        }
        // Faults of places come before those of shapes; a person reads by feature.
        self.reading
            .faults
            .sort_by_key(|fault| number_of(&fault.place));
    }

    /// RFC 7946 knows no `crs` member; older files have one, and it must not be passed over.
    fn check_crs_member(&mut self, member: Option<&Value>, setting: Setting<'_>) {
        let Some(member) = member.filter(|member| !member.is_null()) else {
            return;
        };
        let name = member
            .pointer("/properties/name")
            .and_then(Value::as_str)
            .unwrap_or_default();
        let code = name.rsplit(':').next().unwrap_or_default();
        let is_wgs84 = matches!(code, "CRS84" | "CRS84h" | "4326" | "4979");
        let text = match (setting.crs, name.is_empty()) {
            (_, true) => {
                "its member `crs` has no readable name; take it out, and name the CRS in `[ground] crs` if it is not WGS84".to_owned()
            }
            (None, _) if is_wgs84 => return,
            (None, _) => format!(
                "its member `crs` names `{0}`, but the job does not; write `crs = \"EPSG:{1}\"` under `[ground]`",
                near::short(name),
                near::short(code)
            ),
            (Some(crs), _) if crs.rsplit(':').next() == Some(code) => return,
            (Some(crs), _) => format!(
                "its member `crs` names `{}`, but `[ground] crs` is `{}`; write the right one in both",
                near::short(name),
                near::short(crs)
            ),
        };
        self.wrong("", text);
    }

    /// One feature: its role and geometry; `None` where it is told or passed over.
    fn feature(&mut self, number: usize, value: Value) -> Option<Draft> {
        let name = value
            .pointer("/properties/name")
            .and_then(|name| match name {
                Value::String(name) => Some(name.trim().to_owned()),
                Value::Number(name) => Some(name.to_string()),
                _ => None,
            })
            .filter(|name| !name.is_empty());
        let here = label(number, name.as_deref());
        if value.get("type").and_then(Value::as_str) != Some("Feature") {
            let text = "its `type` is not `Feature`; put the geometry into a Feature with a `role`";
            self.wrong(here, text);
            return None;
        }
        if let Some(Err(text)) = name
            .as_deref()
            .map(|name| super::tree::check_text("name", name))
        {
            self.wrong(here, text);
            return None;
        }
        let no_properties = Map::new();
        let properties = value
            .get("properties")
            .and_then(Value::as_object)
            .unwrap_or(&no_properties);
        let role_name = match roles::role_of(properties) {
            Ok(spec) => spec.name,
            Err(roles::NoRole::Unknown(word)) => {
                let advice = near::advice(&word, roles::ROLES.iter().map(|spec| spec.name));
                let text = format!("left out: unknown role `{}`{advice}", near::short(&word));
                self.reading
                    .warnings
                    .push(Warning::new(Code::UnknownRole, here, text));
                return None;
            }
            Err(roles::NoRole::Faulty(text)) => {
                self.wrong(here, text);
                return None;
            }
        };
        self.reading.has_pitch |= role_name == "pitch";
        let mut faults = Vec::new();
        let role = roles::read(role_name, name.as_deref(), properties, &mut faults);
        if let (Some(name), "zone") = (&name, role_name) {
            self.zone_name(name, &mut faults);
        }
        let sound = faults.is_empty();
        for text in faults {
            self.wrong(here.clone(), text);
        }
        let geometry = match shape::geometry(value) {
            Ok(geometry) => geometry,
            Err(text) => {
                self.wrong(here, text);
                return None;
            }
        };
        Some(Draft {
            number,
            name,
            role: role.filter(|_| sound),
            role_name,
            geometry,
        })
    }

    fn zone_name(&mut self, name: &str, faults: &mut Vec<String>) {
        if let Err(text) = words::check_own(name) {
            faults.push(text);
        } else if self.reading.zone_names.iter().any(|have| have == name) {
            faults.push(format!(
                "there is a zone `{name}` already; give this one another name"
            ));
        }
        self.reading.zone_names.push(name.to_owned());
    }

    /// Of a pitch and of a run-off there can be but one.
    fn check_singles(&mut self, drafts: &[Draft]) {
        for role in ["pitch", "run_off"] {
            let mut of_role = drafts.iter().filter(|draft| draft.role_name == role);
            let Some(first) = of_role.next() else {
                continue;
            };
            for second in of_role {
                let text = format!(
                    "a second `{role}`; {} is one already, keep one of them",
                    first.label()
                );
                self.wrong(second.label(), text);
            }
        }
    }

    /// Tells coordinates that cannot be where they say. Gives the longitude that all
    /// others are brought near to, where they are longitudes.
    fn check_places(&mut self, drafts: &[Draft], setting: Setting<'_>) -> Option<f64> {
        let spots: Vec<place::Spots> = drafts
            .iter()
            .map(|draft| place::Spots {
                label: draft.label(),
                is_pitch: draft.role_name == "pitch",
                at: shape::coordinates(&draft.geometry),
            })
            .collect();
        for (label, text) in place::check(&spots, setting) {
            self.wrong(label, text);
        }
        if setting.crs.is_some() {
            return None;
        }
        spots.iter().flat_map(|spot| &spot.at).map(|at| at.x).next()
    }

    /// The last step: the shape.
    fn take(&mut self, draft: Draft, near_lon_deg: Option<f64>) {
        let label = draft.label();
        match shape::build(&draft.geometry, draft.role_name, near_lon_deg) {
            Ok(shape) => {
                if let Some(role) = draft.role {
                    self.reading.features.push(Feature {
                        number: draft.number,
                        name: draft.name,
                        role,
                        shape,
                    });
                }
            }
            Err(texts) => {
                for text in texts {
                    self.wrong(label.clone(), text);
                }
            }
        }
    }
}

/// The number of the feature that a place names; 0 for the whole file.
fn number_of(place: &str) -> usize {
    place
        .strip_prefix("feature ")
        .and_then(|rest| rest.split(' ').next())
        .and_then(|number| number.parse().ok())
        .unwrap_or(0)
}

fn too_large(limit: &limits::SizeLimit, found: usize) -> String {
    format!(
        "{found} {} are too many; at most {} are read",
        limit.name, limit.greatest
    )
}
