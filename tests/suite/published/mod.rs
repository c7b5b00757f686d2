//! Do the published values still come out? Every row of `tests/published/` is driven
//! through the code that it names and compared; `tests/published/README.md` says what a row
//! holds. Two tests watch over this one: no file may be empty, and no digit may change
//! unnoticed.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use serde::Deserialize;
use toml::{Spanned, Value};

mod drivers;
mod exchange;
mod foreign;
mod formulas;
mod libraries;
mod planned;
mod routes;
mod terminals;
mod written;

use drivers::{Got, Input};

/// One file of rows.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    row: Vec<Row>,
}

/// One published value, or a few that belong together.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    source: String,
    tag: Tag,
    drives: String,
    input: BTreeMap<String, Spanned<Value>>,
    #[serde(default)]
    blunt: BTreeSet<String>,
    expected: BTreeMap<String, Spanned<Value>>,
    tolerance: Tolerance,
}

/// How sure we are of a source.
#[derive(Deserialize, Debug)]
#[serde(rename_all = "lowercase")]
enum Tag {
    Seen,
    Derived,
    #[serde(rename = "from memory")]
    FromMemory,
}

/// One figure for all, or one for each key.
#[derive(Deserialize)]
#[serde(untagged)]
enum Tolerance {
    All(f64),
    Each(BTreeMap<String, f64>),
}

impl Row {
    fn tolerance(&self, key: &str) -> f64 {
        match &self.tolerance {
            Tolerance::All(tolerance) => *tolerance,
            Tolerance::Each(each) => *each
                .get(key)
                .unwrap_or_else(|| panic!("{}: no tolerance for `{key}`", self.id)),
        }
    }

    fn input(&self) -> Input {
        self.input
            .iter()
            .map(|(key, value)| (key.clone(), value.get_ref().clone()))
            .collect()
    }

    /// What disagrees, one line each; empty where the row holds.
    fn disagreements(&self, got: &BTreeMap<String, Got>) -> Vec<String> {
        let mut lines = Vec::new();
        if got.keys().ne(self.expected.keys()) {
            lines.push(format!("{}: came out: {got:?}", self.id));
        }
        for (key, expected) in &self.expected {
            let Some(got) = got.get(key) else { continue };
            if !agrees(got, expected.get_ref(), self.tolerance(key)) {
                lines.push(format!(
                    "{}: `{key}` came out as {got:?}, published is {} (within {})",
                    self.id,
                    expected.get_ref(),
                    self.tolerance(key)
                ));
            }
        }
        lines
    }
}

fn agrees(got: &Got, expected: &Value, tolerance: f64) -> bool {
    match (got, expected) {
        (Got::Number(got), Value::Float(expected)) => (got - expected).abs() <= tolerance,
        (Got::Number(got), Value::Integer(expected)) => (got - *expected as f64).abs() <= tolerance,
        (Got::Word(got), Value::String(expected)) => got == expected,
        (Got::Yes(got), Value::Boolean(expected)) => got == expected,
        _ => false,
    }
}

/// Every file with its name and text, in the order of the names.
fn files() -> Vec<(PathBuf, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published");
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "toml"))
        .collect();
    paths.sort();
    paths
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            (path, text)
        })
        .collect()
}

fn rows(path: &Path, text: &str) -> Vec<Row> {
    let file: File = toml::from_str(text).unwrap_or_else(|error| panic!("{path:?}: {error}"));
    assert!(!file.row.is_empty(), "{path:?} has no row");
    file.row
}

/// What a row's code says, or why it could not be asked.
fn drive(row: &Row, input: &Input) -> Result<BTreeMap<String, Got>, String> {
    let driver = drivers::named(&row.drives)
        .ok_or_else(|| format!("{}: nothing here drives `{}`", row.id, row.drives))?;
    driver(input)
}

/// Runs the rows of one file and says what it found wrong.
fn check(name: &str) {
    let files = files();
    let (path, text) = files
        .iter()
        .find(|(path, _)| path.file_stem().is_some_and(|stem| stem == name))
        .unwrap_or_else(|| panic!("tests/published/{name}.toml is missing"));
    let wrong: Vec<String> = rows(path, text)
        .iter()
        .flat_map(|row| match drive(row, &row.input()) {
            Ok(got) => row.disagreements(&got),
            Err(why) => vec![why],
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Each file has its own test, so that a failure names it; `every_file_is_checked` holds
/// that none is forgotten.
const FILES: [&str; 15] = [
    "arithmetic",
    "field-capacity",
    "geodesics",
    "geojson",
    "gpx",
    "hand",
    "kml",
    "markings",
    "orders",
    "pass-counts",
    "projection",
    "shapefile",
    "tape",
    "task-data",
    "turns",
];

#[test]
fn arithmetic() {
    check("arithmetic");
}

#[test]
fn field_capacity() {
    check("field-capacity");
}

#[test]
fn geodesics() {
    check("geodesics");
}

#[test]
fn geojson() {
    check("geojson");
}

#[test]
fn gpx() {
    check("gpx");
}

#[test]
fn kml() {
    check("kml");
}

#[test]
fn hand() {
    check("hand");
}

#[test]
fn markings() {
    check("markings");
}

#[test]
fn orders() {
    check("orders");
}

#[test]
fn pass_counts() {
    check("pass-counts");
}

#[test]
fn projection() {
    check("projection");
}

#[test]
fn shapefile() {
    check("shapefile");
}

#[test]
fn task_data() {
    check("task-data");
}

#[test]
fn tape() {
    check("tape");
}

#[test]
fn turns() {
    check("turns");
}

#[test]
fn every_file_is_checked_and_every_row_says_what_it_must() {
    let files = files();
    let names: Vec<&str> = files
        .iter()
        .map(|(path, _)| path.file_stem().unwrap().to_str().unwrap())
        .collect();
    assert_eq!(names, FILES);
    let mut ids = BTreeSet::new();
    for (path, text) in &files {
        for row in rows(path, text) {
            assert!(ids.insert(row.id.clone()), "two rows are called {}", row.id);
            assert!(
                row.source.len() > 8,
                "{} ({:?}) names no source",
                row.id,
                row.tag
            );
            assert!(!row.expected.is_empty(), "{} expects nothing", row.id);
            assert!(drivers::named(&row.drives).is_some(), "{}", row.drives);
        }
    }
    assert!(ids.len() >= 60, "only {} rows", ids.len());
}

/// Every text that differs from `text` in one digit (one more, one less), letter or
/// yes-or-no.
fn one_off(text: &str) -> Vec<String> {
    if let "true" | "false" = text {
        return vec![(text == "false").to_string()];
    }
    let put = |index: usize, with: char| {
        let mut changed: Vec<char> = text.chars().collect();
        changed[index] = with;
        changed.into_iter().collect::<String>()
    };
    let is_word = text.starts_with('"');
    text.chars()
        .enumerate()
        .flat_map(|(index, letter)| match letter {
            '0'..='9' => {
                let digit = letter.to_digit(10).unwrap();
                [(digit + 1) % 10, (digit + 9) % 10]
                    .map(|other| put(index, char::from_digit(other, 10).unwrap()))
                    .to_vec()
            }
            'a'..='z' | 'A'..='Z' if is_word => vec![put(index, '~')],
            _ => Vec::new(),
        })
        .collect()
}

/// Reads a changed value as TOML would, a leading zero allowed.
fn value(text: &str) -> Value {
    if let Ok(yes) = text.parse() {
        Value::Boolean(yes)
    } else if let Ok(number) = text.parse() {
        Value::Float(number)
    } else {
        Value::String(text.trim_matches('"').to_owned())
    }
}

#[test]
fn no_digit_of_an_expected_value_can_change_unnoticed() {
    let mut tried = 0;
    for (path, text) in files() {
        for row in rows(&path, &text) {
            let got = drive(&row, &row.input()).unwrap();
            for (key, expected) in &row.expected {
                for changed in one_off(&text[expected.span()]) {
                    tried += 1;
                    assert!(
                        !agrees(&got[key], &value(&changed), row.tolerance(key)),
                        "{}: `{key}` = {changed} would pass too",
                        row.id
                    );
                }
            }
        }
    }
    assert!(tried > 1000, "only {tried} changes were tried");
}

#[test]
fn no_digit_of_an_input_can_change_unnoticed() {
    let mut tried = 0;
    for (path, text) in files() {
        for row in rows(&path, &text) {
            for (key, input) in &row.input {
                let literal = &text[input.span()];
                let is_number = matches!(input.get_ref(), Value::Float(_) | Value::Integer(_));
                if !is_number || row.blunt.contains(key) {
                    continue;
                }
                // One change a digit is enough here: a plan is made for each.
                for changed in one_off(literal).into_iter().step_by(2) {
                    tried += 1;
                    let mut inputs = row.input();
                    inputs.insert(key.clone(), value(&changed));
                    let noticed = match drive(&row, &inputs) {
                        Ok(got) => !row.disagreements(&got).is_empty(),
                        Err(_) => true,
                    };
                    assert!(noticed, "{}: `{key}` = {changed} would pass too", row.id);
                }
            }
        }
    }
    assert!(tried > 300, "only {tried} changes were tried");
}
