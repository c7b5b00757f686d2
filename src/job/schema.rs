//! The JSON Schema of the job file, made from its serde types, with the limits and
//! defaults of the tables written in.

use std::sync::LazyLock;

use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

use super::file::JobToml;
use super::{defaults, limits};

/// The schema as text, as `swardlane schema job` prints it: JSON Schema, draft 2020-12.
#[must_use]
pub fn job_schema() -> String {
    format!("{:#}\n", *JOB)
}

/// The schema as a tree, all of it written out in place (no `$ref`).
pub(super) fn job() -> &'static Value {
    &JOB
}

static JOB: LazyLock<Value> = LazyLock::new(|| {
    let mut settings = SchemaSettings::draft2020_12();
    settings.inline_subschemas = true;
    let schema = settings.into_generator().into_root_schema_for::<JobToml>();
    let mut schema = schema.to_value();
    finish(&mut schema, "");
    schema
});

/// Mends one node and all below it: TOML knows no null, and the limits and defaults of
/// the tables belong to the path.
fn finish(node: &mut Value, path: &str) {
    let Value::Object(node) = node else { return };
    forget_null(node);
    if let Some(Value::String(text)) = node.get_mut("description") {
        *text = text.replace('\n', " ");
    }
    for noise in ["format", "minimum", "maximum"] {
        if node.get("type").and_then(Value::as_str) != Some("string") {
            node.remove(noise);
        }
    }
    let is_number = matches!(
        node.get("type").and_then(Value::as_str),
        Some("number" | "integer")
    );
    if let Some(limit) = is_number.then(|| limits::of(path)).flatten() {
        let least = if limit.least_included {
            "minimum"
        } else {
            "exclusiveMinimum"
        };
        node.insert(least.to_owned(), number(limit.least));
        node.insert("maximum".to_owned(), number(limit.greatest));
        node.insert("x-unit".to_owned(), json!(limit.unit));
    }
    let size = if matches!(node.get("type").and_then(Value::as_str), Some("array")) {
        Some(["minItems", "maxItems"])
    } else if node
        .get("additionalProperties")
        .is_some_and(Value::is_object)
    {
        Some(["minProperties", "maxProperties"])
    } else {
        None
    };
    if let (Some([least, greatest]), Some(limit)) = (size, limits::size_of(path)) {
        node.insert(least.to_owned(), json!(limit.least));
        node.insert(greatest.to_owned(), json!(limit.greatest));
    }
    if let Some(default) = defaults::of(path).and_then(|default| default.value.to_json()) {
        node.insert("default".to_owned(), default);
    } else {
        node.remove("default");
    }
    if let Some(Value::Object(properties)) = node.get_mut("properties") {
        for (key, below) in properties {
            finish(below, &join(path, key));
        }
    }
    for key in ["additionalProperties", "items"] {
        if let Some(below) = node.get_mut(key) {
            finish(below, &join(path, "*"));
        }
    }
    if let Some(Value::Array(ways)) = node.get_mut("anyOf") {
        for below in ways {
            finish(below, path);
        }
    }
}

/// Whole numbers are written as such.
pub(super) fn number(value: f64) -> Value {
    #[allow(clippy::cast_possible_truncation)] // checked: whole and small
    if value.fract() == 0.0 && value.abs() < 1e9 {
        json!(value as i64)
    } else {
        json!(value)
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

/// Optional fields of serde allow null; a key that is left out is what they mean.
fn forget_null(node: &mut Map<String, Value>) {
    if let Some(Value::Array(kinds)) = node.get_mut("type") {
        kinds.retain(|kind| kind != "null");
        if let [only] = kinds.as_slice() {
            let only = only.clone();
            node.insert("type".to_owned(), only);
        }
    }
    if let Some(Value::Array(words)) = node.get_mut("enum") {
        words.retain(|word| !word.is_null());
    }
    let Some(Value::Array(ways)) = node.get_mut("anyOf") else {
        return;
    };
    ways.retain(|way| way.get("type").and_then(Value::as_str) != Some("null"));
    if let [Value::Object(only)] = ways.as_slice() {
        let only = only.clone();
        node.remove("anyOf");
        for (key, value) in only {
            node.entry(key).or_insert(value);
        }
    }
}
