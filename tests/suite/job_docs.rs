//! What is written about the job file is what is read.

use std::collections::BTreeSet;
use std::path::Path;

use serde_json::Value;
use swardlane::job::defaults::{self, DefaultValue};
use swardlane::job::model::Task;
use swardlane::job::template::{self, USUAL_SIZE};
use swardlane::job::{docs, limits, schema, words};
use swardlane::zones::ZoneKind;

/// Every path of the schema with its node, list entries and names as `*`.
fn nodes() -> Vec<(String, Value)> {
    fn walk(node: &Value, path: &str, all: &mut Vec<(String, Value)>) {
        all.push((path.to_owned(), node.clone()));
        let join = |key: &str| {
            if path.is_empty() {
                key.to_owned()
            } else {
                format!("{path}.{key}")
            }
        };
        for (key, below) in node["properties"].as_object().into_iter().flatten() {
            walk(below, &join(key), all);
        }
        for key in ["items", "additionalProperties"] {
            if node[key].is_object() {
                walk(&node[key], &join("*"), all);
            }
        }
        for way in node["anyOf"].as_array().into_iter().flatten() {
            walk(way, path, all);
        }
    }
    let schema: Value = serde_json::from_str(&schema::job_schema()).unwrap();
    let mut all = Vec::new();
    walk(&schema, "", &mut all);
    assert!(all.len() > 150, "the schema has keys");
    all
}

#[test]
fn the_page_on_the_job_file_is_the_generated_one() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/job-file.md");
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(&path, docs::page()).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap();
    assert!(
        written == docs::page(),
        "docs/job-file.md is not what the types say; run the tests once with UPDATE_DOCS=1"
    );
}

#[test]
fn every_key_of_the_schema_stands_on_the_page() {
    let page = docs::page();
    for (path, _) in nodes() {
        let key = path.rsplit('.').next().unwrap();
        if !key.is_empty() && key != "*" {
            assert!(
                page.contains(&format!("| `{key}` |")),
                "{path} is not on the page"
            );
        }
    }
}

#[test]
fn every_number_of_the_schema_has_a_limit() {
    let mut seen = 0;
    for (path, node) in nodes() {
        if matches!(node["type"].as_str(), Some("number" | "integer")) {
            let limit = limits::of(&path).unwrap_or_else(|| panic!("{path} has no limit"));
            assert!(limit.least < limit.greatest, "{path}");
            assert!(node["maximum"].as_f64() == Some(limit.greatest), "{path}");
            seen += 1;
        }
    }
    assert!(seen > 50, "{seen}");
}

#[test]
fn every_limit_and_default_belongs_to_a_key() {
    let paths: BTreeSet<String> = nodes().into_iter().map(|(path, _)| path).collect();
    let features = ["clearance_m", "depth_m", "height_m", "wear"];
    let is_key = |pattern: &str| match pattern.strip_prefix("feature.") {
        Some(property) => features.contains(&property),
        None => paths.iter().any(|path| limits::names(pattern, path)),
    };
    let patterns = limits::LIMITS.iter().flat_map(|limit| limit.paths);
    let sizes = limits::SIZES.iter().flat_map(|limit| limit.paths);
    for pattern in patterns.chain(sizes) {
        assert!(is_key(pattern), "no key is {pattern}");
    }
    for default in defaults::KEYS {
        assert!(is_key(default.path), "no key is {}", default.path);
    }
}

#[test]
fn every_list_but_the_shapes_has_a_greatest_length() {
    for (path, node) in nodes() {
        if node["type"] == "array" {
            assert!(node["maxItems"].is_u64(), "{path} may be endless");
        }
    }
}

#[test]
fn default_numbers_lie_within_their_limits() {
    for default in defaults::KEYS {
        if let DefaultValue::Number(number) = default.value {
            let limit = limits::of(default.path).unwrap();
            assert!(limit.allows(number), "{}", default.path);
        }
    }
    for task in &defaults::TASKS {
        assert!(
            limits::of("operation.1.over_m")
                .unwrap()
                .allows(task.over_m)
        );
    }
}

#[test]
fn every_task_has_its_defaults_and_those_that_cut_a_depth() {
    for (task, default) in Task::ALL.into_iter().zip(&defaults::TASKS) {
        assert_eq!(default.task, task);
        assert_eq!(defaults::of_task(task), default);
        assert_eq!(default.depth.is_some(), task.cuts(), "{}", task.name());
    }
}

#[test]
fn the_words_of_the_schema_are_those_of_the_model() {
    let tasks = nodes()
        .into_iter()
        .find(|(path, _)| path == "operation.*.task");
    let tasks = tasks.unwrap().1["enum"].clone();
    let names: Vec<&str> = Task::ALL.iter().map(|task| task.name()).collect();
    assert_eq!(tasks, serde_json::json!(names));
    let kinds: Vec<&str> = ZoneKind::ALL.iter().map(|kind| kind.name()).collect();
    assert_eq!(words::KINDS.to_vec(), kinds);
}

#[test]
fn the_example_of_the_page_loads_without_a_warning() {
    let job = swardlane::job::read("job.toml", docs::EXAMPLE, |_| unreachable!()).unwrap();
    assert_eq!(job.warnings, []);
    assert_eq!(job.operations[0].directions.len(), 3);
}

#[test]
fn the_template_loads_whatever_its_name() {
    for name in ["North pitch", "quote \" and \\ stroke", "Ø"] {
        let text = template::job_text(name, USUAL_SIZE);
        let job = swardlane::job::read("job.toml", &text, |_| unreachable!()).unwrap();
        assert_eq!(job.name, name);
        assert_eq!(job.pitch.size_m, Some(USUAL_SIZE));
        assert_eq!(job.operations.len(), 2);
        assert_eq!(job.warnings, []);
    }
}

#[test]
fn the_lines_of_the_template_that_are_commented_out_load_too() {
    let text = template::job_text("North pitch", USUAL_SIZE);
    let text: String = text
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(key) if key.starts_with('[') || key.contains(" = ") => format!("{key}\n"),
            _ => format!("{line}\n"),
        })
        .collect();
    let ground = r#"{ "type": "FeatureCollection", "features": [] }"#;
    let job = swardlane::job::read("job.toml", &text, |_| Ok(ground.to_owned())).unwrap();
    assert!(job.date.is_some() && job.source.ground_file.is_some());
}
