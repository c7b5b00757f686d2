//! The properties that a ground file takes over from what a file says of its things, and what is
//! said of those that it does not.

use std::collections::BTreeMap;

use geojson::JsonObject;
use serde_json::Value;

use super::Label;
use crate::job::ground_file::roles::RoleSpec;
use crate::job::{limits, near};

/// What was taken over so far, and what not.
#[derive(Default)]
pub(super) struct Carried {
    taken: BTreeMap<&'static str, usize>,
    missing: BTreeMap<&'static str, usize>,
    /// The first that cannot be, in words, and how many there are.
    unfit: Option<(String, usize)>,
}

impl Carried {
    /// The properties of a thing of that role.
    pub(super) fn properties(&mut self, role: &RoleSpec, label: &Label) -> JsonObject {
        let mut properties = JsonObject::new();
        properties.insert("role".to_owned(), role.name.into());
        if let Some(name) = own_name(role, label) {
            properties.insert("name".to_owned(), name.into());
        }
        for &key in role.properties {
            let Some(word) = label.property(key) else {
                *self.missing.entry(key).or_default() += 1;
                continue;
            };
            if let Some(number) = number(key, word) {
                *self.taken.entry(key).or_default() += 1;
                properties.insert(key.to_owned(), number);
            } else {
                let of = own_name(role, label)
                    .map_or_else(String::new, |name| format!(" of `{}`", near::short(name)));
                let told = format!("`{key}` `{}`{of}", near::short(word));
                self.unfit.get_or_insert((told, 0)).1 += 1;
            }
        }
        properties
    }

    /// One sentence each for what was taken over, what is missing and what cannot be.
    pub(super) fn said(self) -> Vec<String> {
        let list = |counts: &BTreeMap<&str, usize>| {
            let each = counts
                .iter()
                .map(|(key, count)| format!("`{key}` of {count}"));
            each.collect::<Vec<_>>().join(", ")
        };
        let mut said = Vec::new();
        if !self.taken.is_empty() {
            said.push(format!("taken over: {}", list(&self.taken)));
        }
        if !self.missing.is_empty() {
            said.push(format!(
                "not in the file: {}; write it in where you know it, or the default holds",
                list(&self.missing)
            ));
        }
        if let Some((first, count)) = self.unfit {
            let more = match count {
                1 => String::new(),
                _ => format!(" and {} more", count - 1),
            };
            said.push(format!(
                "left out, for it is no number within its limits: {first}{more}; write it in"
            ));
        }
        said
    }
}

/// The name that a ground file has for a thing of that role: its own, where a map shows another.
pub(super) fn own_name<'a>(role: &RoleSpec, label: &'a Label) -> Option<&'a str> {
    let key = if role.name == "zone" {
        "zone"
    } else {
        "called"
    };
    label.property(key).or(label.name.as_deref())
}

/// A word as the number that the ground file may hold under that name.
fn number(key: &str, word: &str) -> Option<Value> {
    let number: f64 = word.parse().ok()?;
    let limit = limits::of(&format!("feature.{key}"))?;
    if !limit.allows(number) {
        return None;
    }
    if key != "wear" {
        return Some(number.into());
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within its limits
    (number.fract() == 0.0).then(|| (number as u64).into())
}
