//! From the text of a job file to a tree that fits its schema, with the line of every
//! key and every fault told.
//!
//! The text is parsed with spans, then walked side by side with the JSON Schema that
//! [`super::schema`] makes from the serde types. What does not fit (an unknown key, a
//! word for a number, a number beyond its limit) is told and left out, so that serde can
//! read the rest and the later checks can run in the same go.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value as Schema;
use serde_spanned::Spanned;
use toml::de::{DeTable, DeValue};

use super::{limits, near};

/// A job file's tree, less what was wrong with it.
pub(super) struct Tree {
    /// What fits the schema.
    pub table: toml::Table,
    /// Line (from 1) of each key, by dotted path; entries of lists counted from 1.
    pub lines: BTreeMap<String, usize>,
    /// Paths of what was left out because it was wrong.
    pub spoilt: BTreeSet<String>,
    /// Whether the text is TOML at all.
    pub is_toml: bool,
    /// What was wrong, with its line.
    pub faults: Vec<(Option<usize>, String)>,
}

/// Reads the text against the schema. Where it is no TOML at all, only that is told: the
/// rest of the file cannot be trusted until it is mended.
pub(super) fn read(text: &str, schema: &Schema) -> Tree {
    let mut walk = Walk {
        line_starts: std::iter::once(0)
            .chain(text.match_indices('\n').map(|(at, _)| at + 1))
            .collect(),
        tree: Tree {
            table: toml::Table::new(),
            lines: BTreeMap::new(),
            spoilt: BTreeSet::new(),
            is_toml: true,
            faults: Vec::new(),
        },
    };
    let (document, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        walk.tree.table = walk.table(document.get_ref(), schema, "");
        return walk.tree;
    }
    walk.tree.is_toml = false;
    let mut told = BTreeSet::new();
    for error in errors.iter().take(limits::FAULTS_TOLD) {
        let line = walk.line(error.span().map_or(0, |span| span.start));
        if told.insert(line) {
            let written = text.lines().nth(line - 1).unwrap_or_default().trim();
            let message = syntax_message(error.message());
            walk.tree.faults.push((
                Some(line),
                format!(
                    "`{}` is not valid TOML: {message}; the rest is checked once this is mended",
                    near::short(written)
                ),
            ));
        }
    }
    walk.tree
}

/// The last part of a path that is no number: the key that messages name.
pub(super) fn key_of(path: &str) -> &str {
    path.rsplit('.')
        .find(|part| !part.bytes().all(|byte| byte.is_ascii_digit()))
        .unwrap_or(path)
}

/// How messages name the table at a path: `[pitch]`, `[[operation]]`, `centre`.
pub(super) fn table_label(path: &str) -> String {
    let parts: Vec<&str> = path.split('.').collect();
    match parts.as_slice() {
        [list @ ("operation" | "hand"), _] => format!("`[[{list}]]`"),
        ["operation" | "hand", ..] => format!("`{}`", key_of(path)),
        [_] | [_, _] => format!("`[{path}]`"),
        _ => format!("`{}`", key_of(path)),
    }
}

/// The parser's words, the commonest slips in plainer ones.
fn syntax_message(message: &str) -> String {
    if message.starts_with("string values must be quoted") {
        "write text in quotes, and numbers without a unit".to_owned()
    } else if message == "duplicate key" {
        "the key stands twice; take one out".to_owned()
    } else {
        message.replace('\n', "; ")
    }
}

struct Walk {
    line_starts: Vec<usize>,
    tree: Tree,
}

impl Walk {
    fn line(&self, at: usize) -> usize {
        self.line_starts.partition_point(|start| *start <= at)
    }

    /// Tells what is wrong with the value at `path`, and marks it as left out.
    fn wrong(&mut self, line: usize, path: &str, text: String) {
        self.tree.spoilt.insert(path.to_owned());
        self.tree.faults.push((Some(line), text));
    }

    fn table(&mut self, table: &DeTable<'_>, schema: &Schema, path: &str) -> toml::Table {
        let mut kept = toml::Table::new();
        let properties = schema.get("properties").and_then(Schema::as_object);
        let named = schema.get("additionalProperties").filter(|s| s.is_object());
        let most = named.and_then(|_| limits::size_of(path));
        if let Some(limit) = most.filter(|limit| table.len() > limit.greatest) {
            let line = self.tree.lines.get(path).copied().unwrap_or(1);
            self.wrong(line, path, too_many(limit, table.len()));
            return kept;
        }
        for (key, value) in table {
            let line = self.line(key.span().start);
            let name = key.get_ref().as_ref();
            if let Some(schema) = properties.and_then(|properties| properties.get(name)) {
                let below = join(path, name);
                self.tree.lines.insert(below.clone(), line);
                if let Some(value) = self.value(value, schema, &below, line) {
                    kept.insert(name.to_owned(), value);
                }
            } else if let Some(schema) = named {
                if let Err(text) = check_id(key_of(path), name) {
                    self.wrong(line, &join(path, name), text);
                    continue;
                }
                let below = join(path, name);
                self.tree.lines.insert(below.clone(), line);
                if let Some(value) = self.value(value, schema, &below, line) {
                    kept.insert(name.to_owned(), value);
                }
            } else {
                let known = properties.map(|all| all.keys().map(String::as_str));
                let place = if path.is_empty() {
                    String::new()
                } else {
                    format!(" in {}", table_label(path))
                };
                let advice = known.map_or(String::new(), |known| near::advice(name, known));
                let text = format!("unknown key `{}`{place}{advice}", near::short(name));
                self.tree.faults.push((Some(line), text));
            }
        }
        self.tell_missing(table, schema, path);
        kept
    }

    /// Tells which required keys are missing.
    fn tell_missing(&mut self, table: &DeTable<'_>, schema: &Schema, path: &str) {
        let required = schema.get("required").and_then(Schema::as_array);
        for key in required.into_iter().flatten().filter_map(Schema::as_str) {
            if table.contains_key(key) {
                continue;
            }
            let what = schema
                .pointer(&format!("/properties/{key}"))
                .map_or(String::new(), wanted);
            let below = join(path, key);
            self.tree.spoilt.insert(below);
            if path.is_empty() {
                let text = format!("the job has no `{key}`; write one at the top, {what}");
                self.tree.faults.push((None, text));
            } else {
                let line = self.tree.lines.get(path).copied();
                let text = format!("{} has no `{key}`; add it, {what}", table_label(path));
                self.tree.faults.push((line, text));
            }
        }
    }

    /// One value against its schema; `None` where it was wrong and told.
    fn value(
        &mut self,
        value: &Spanned<DeValue<'_>>,
        schema: &Schema,
        path: &str,
        line: usize,
    ) -> Option<toml::Value> {
        let kind = Kind::of_value(value.get_ref());
        let Some(schema) = ways(schema).find(|way| Kind::of_schema(way).takes(kind)) else {
            let wanted = wanted(schema);
            let key = key_of(path);
            let text = match value.get_ref() {
                DeValue::Float(float) if wanted.contains("whole") => {
                    format!("`{key}` {float} is not a whole number; write {wanted}")
                }
                DeValue::String(text) if text.trim().parse::<f64>().is_ok() => {
                    format!(
                        "`{key}` is in quotes; write {}, without quotes",
                        text.trim()
                    )
                }
                found => format!("`{key}` is {}; write {wanted}", describe(found)),
            };
            self.wrong(line, path, text);
            return None;
        };
        match value.get_ref() {
            DeValue::String(text) => self.text(text, schema, path, line),
            DeValue::Integer(number) => {
                let Ok(whole) = i64::from_str_radix(number.as_str(), number.radix()) else {
                    self.beyond(number.as_str(), path, line);
                    return None;
                };
                #[allow(clippy::cast_precision_loss)] // limits are far below 2^53
                let fits = limits::of(path).is_none_or(|limit| limit.allows(whole as f64));
                if !fits {
                    self.beyond(&whole.to_string(), path, line);
                }
                fits.then_some(toml::Value::Integer(whole))
            }
            DeValue::Float(number) => {
                let value = number.as_str().parse::<f64>().unwrap_or(f64::NAN);
                let fits = match limits::of(path) {
                    Some(limit) => limit.allows(value),
                    None => value.is_finite(),
                };
                if !fits {
                    self.beyond(number.as_str(), path, line);
                }
                fits.then_some(toml::Value::Float(value))
            }
            DeValue::Boolean(flag) => Some(toml::Value::Boolean(*flag)),
            DeValue::Datetime(date) => {
                if date.time.is_some() || date.offset.is_some() || date.date.is_none() {
                    let text = format!(
                        "`{}` {date} is not a plain date; write it like 2026-06-02",
                        key_of(path)
                    );
                    self.wrong(line, path, text);
                    return None;
                }
                Some(toml::Value::Datetime(*date))
            }
            DeValue::Array(entries) => self.list(entries, schema, path, line),
            DeValue::Table(table) => {
                // Of an inline table the key's line is the table's; of `[[…]]` its own.
                Some(toml::Value::Table(self.table(table, schema, path)))
            }
        }
    }

    fn beyond(&mut self, written: &str, path: &str, line: usize) {
        let beyond = limits::of(path).map_or(
            "outside what can be counted".to_owned(),
            limits::Limit::beyond,
        );
        let text = format!("`{}` {} is {beyond}", key_of(path), near::short(written));
        self.wrong(line, path, text);
    }

    fn text(
        &mut self,
        text: &str,
        schema: &Schema,
        path: &str,
        line: usize,
    ) -> Option<toml::Value> {
        if let Some(words) = schema.get("enum").and_then(Schema::as_array) {
            let words = words.iter().filter_map(Schema::as_str);
            if !words.clone().any(|word| word == text) {
                let message = format!(
                    "unknown {} `{}`{}",
                    noun(path),
                    near::short(text),
                    near::advice(text, words)
                );
                self.wrong(line, path, message);
                return None;
            }
        } else if let Err(message) = check_text(key_of(path), text) {
            self.wrong(line, path, message);
            return None;
        }
        Some(toml::Value::String(text.to_owned()))
    }

    /// A list is kept whole or not at all: a plan for half the directions would be none.
    /// Tables in a list are kept each by itself.
    fn list(
        &mut self,
        entries: &toml::de::DeArray<'_>,
        schema: &Schema,
        path: &str,
        line: usize,
    ) -> Option<toml::Value> {
        let count = entries.iter().count();
        let key = key_of(path);
        let bound = |name: &str| {
            schema
                .get(name)
                .and_then(Schema::as_u64)
                .and_then(|n| usize::try_from(n).ok())
        };
        let least = bound("minItems").unwrap_or(0);
        let greatest = bound("maxItems").unwrap_or(usize::MAX);
        if count < least || count > greatest {
            let text = match limits::size_of(path) {
                Some(limit) if count > greatest => too_many(limit, count),
                Some(_) => format!("`{key}` is empty; write at least {least}, or leave it out"),
                None => format!(
                    "`{key}` has {count} {}; write {least}",
                    plural(count, "entry", "entries")
                ),
            };
            self.wrong(line, path, text);
            return None;
        }
        let below = schema.get("items").unwrap_or(&Schema::Null);
        let mut kept = Vec::new();
        for (index, entry) in entries.iter().enumerate() {
            let entry_path = format!("{path}.{}", index + 1);
            let entry_line = self.line(entry.span().start);
            self.tree.lines.insert(entry_path.clone(), entry_line);
            if let Some(value) = self.value(entry, below, &entry_path, entry_line) {
                kept.push(value);
            } else {
                self.tree.spoilt.insert(path.to_owned());
            }
        }
        (kept.len() == count || path == "operation" || path == "hand")
            .then_some(toml::Value::Array(kept))
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

fn plural<'a>(count: usize, one: &'a str, many: &'a str) -> &'a str {
    if count == 1 { one } else { many }
}

fn too_many(limit: &limits::SizeLimit, found: usize) -> String {
    format!(
        "{found} {} are too many; at most {} are read",
        limit.name, limit.greatest
    )
}

/// What an entry of a list is called: `direction` for `directions`.
fn noun(path: &str) -> &str {
    let key = key_of(path);
    let is_entry = path
        .rsplit('.')
        .next()
        .is_some_and(|last| last.bytes().all(|byte| byte.is_ascii_digit()));
    match key {
        "directions" if is_entry => "direction",
        "from" => "line",
        _ => key,
    }
}

/// Text is one line of 1 to 100 letters: it is printed on sheets and in tables.
pub(super) fn check_text(key: &str, text: &str) -> Result<(), String> {
    let greatest = limits::NAME_LETTERS.greatest;
    let letters = text.chars().count();
    if text.trim().is_empty() {
        Err(format!("`{key}` is empty; write something or leave it out"))
    } else if let Some(letter) = text.chars().find(|letter| letter.is_control()) {
        Err(format!(
            "`{key}` holds the control character U+{:04X}; write it on one line",
            u32::from(letter)
        ))
    } else if letters > greatest && key != "file" && key != "grids" {
        Err(format!(
            "`{key}` has {letters} letters; at most {greatest} are read"
        ))
    } else {
        Ok(())
    }
}

/// Names and ids become part of file names and of dotted paths.
pub(super) fn check_id(what: &str, id: &str) -> Result<(), String> {
    let greatest = limits::ID_LETTERS.greatest;
    let safe = |letter: char| letter.is_ascii_alphanumeric() || letter == '-' || letter == '_';
    if id.is_empty() {
        Err(format!("`{what}` is empty; give it a name"))
    } else if !id.chars().all(safe) {
        Err(format!(
            "`{what}` `{}` has letters that are not safe in file names; use a to z, A to Z, 0 to 9, `-` and `_`",
            near::short(id)
        ))
    } else if id.len() > greatest {
        Err(format!(
            "`{what}` `{}` has {} letters; at most {greatest} are read",
            near::short(id),
            id.len()
        ))
    } else {
        Ok(())
    }
}

/// The kinds of value that TOML knows and the schema asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Text,
    Date,
    Whole,
    Number,
    Flag,
    List,
    Table,
}

impl Kind {
    fn of_value(value: &DeValue<'_>) -> Self {
        match value {
            DeValue::String(_) => Self::Text,
            DeValue::Integer(_) => Self::Whole,
            DeValue::Float(_) => Self::Number,
            DeValue::Boolean(_) => Self::Flag,
            DeValue::Datetime(_) => Self::Date,
            DeValue::Array(_) => Self::List,
            DeValue::Table(_) => Self::Table,
        }
    }

    fn of_schema(schema: &Schema) -> Self {
        let is_date = schema.get("format").and_then(Schema::as_str) == Some("date");
        match schema.get("type").and_then(Schema::as_str) {
            Some("string") if is_date => Self::Date,
            Some("string") => Self::Text,
            Some("integer") => Self::Whole,
            Some("number") => Self::Number,
            Some("boolean") => Self::Flag,
            Some("array") => Self::List,
            _ => Self::Table,
        }
    }

    /// Whether a value of the other kind will do where this one is asked for.
    fn takes(self, other: Self) -> bool {
        self == other || (self == Self::Number && other == Self::Whole)
    }
}

/// The ways in which a value may be written; one unless the schema says `anyOf`.
fn ways(schema: &Schema) -> impl Iterator<Item = &Schema> {
    let several = schema.get("anyOf").and_then(Schema::as_array);
    let one = several.is_none().then_some(schema);
    several.into_iter().flatten().chain(one)
}

/// What a value should be, in words that follow `write`.
fn wanted(schema: &Schema) -> String {
    let all: Vec<String> = ways(schema).map(wanted_one).collect();
    all.join(" or ")
}

fn wanted_one(schema: &Schema) -> String {
    let number = |key: &str| schema.get(key).map(Schema::to_string);
    let range = match (
        number("minimum"),
        number("exclusiveMinimum"),
        number("maximum"),
    ) {
        (Some(least), _, Some(greatest)) => format!(" from {least} to {greatest}"),
        (_, Some(least), Some(greatest)) => format!(" above {least}, to {greatest}"),
        _ => String::new(),
    };
    match Kind::of_schema(schema) {
        Kind::Text => match schema.get("enum").and_then(Schema::as_array) {
            Some(words) => format!(
                "one of {}",
                near::list(words.iter().filter_map(Schema::as_str))
            ),
            None => "text in quotes".to_owned(),
        },
        Kind::Date => "a date like 2026-06-02, without quotes".to_owned(),
        Kind::Whole => format!("a whole number{range}"),
        Kind::Number => format!("a number{range}"),
        Kind::Flag => "`true` or `false`".to_owned(),
        Kind::List => "a list in square brackets".to_owned(),
        Kind::Table => match schema.get("properties").and_then(Schema::as_object) {
            Some(properties) => {
                let keys: Vec<String> = properties
                    .keys()
                    .take(6)
                    .map(|key| format!("{key} = …"))
                    .collect();
                let more = if properties.len() > 6 { ", …" } else { "" };
                format!("a table `{{ {}{more} }}`", keys.join(", "))
            }
            None => "a table, each entry under a name of its own".to_owned(),
        },
    }
}

/// What was found, in words that follow `is`.
fn describe(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text \"{}\"", near::short(text)),
        DeValue::Integer(number) => format!("the number {}", near::short(number.as_str())),
        DeValue::Float(number) => format!("the number {}", near::short(number.as_str())),
        DeValue::Boolean(flag) => format!("`{flag}`"),
        DeValue::Datetime(date) => format!("the date {date}"),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}
