//! Hand work: its keys are checked, and that this version plans none is said.

use super::Desk;
use crate::job::file::{HandToml, HandWord, JobToml};
use crate::job::near;
use crate::warning::{Code, Warning};

/// The keys that a kind of hand work needs, and those that it reads besides.
fn keys(
    kind: HandWord,
) -> (
    &'static str,
    &'static [&'static str],
    &'static [&'static str],
) {
    match kind {
        HandWord::Board => (
            "board",
            &["zone", "board", "fork"],
            &["stages", "s_per_forking", "coincident_tines"],
        ),
        HandWord::Blocks => ("blocks", &["zone", "block"], &[]),
        HandWord::Lanes => ("lanes", &["zone"], &[]),
        HandWord::Rest => ("rest", &["operation"], &["m2_per_person_h"]),
    }
}

/// The keys that not every kind reads.
const KEYS: [&str; 9] = [
    "zone",
    "operation",
    "board",
    "fork",
    "block",
    "stages",
    "s_per_forking",
    "coincident_tines",
    "m2_per_person_h",
];

impl Desk {
    /// The ids of the hand work.
    pub(super) fn hand(&mut self, file: &JobToml) -> Vec<String> {
        let mut ids = Vec::new();
        for (index, hand) in file.hand.iter().enumerate() {
            let path = format!("hand.{}", index + 1);
            self.hand_keys(&path, hand);
            if let Some(zone) = &hand.zone {
                self.check_zones(&format!("{path}.zone"), std::slice::from_ref(zone));
            }
            if let Some(operation) = &hand.operation {
                self.rest_operation(&format!("{path}.operation"), operation, file);
            }
            if let Some(id) = &hand.id {
                self.warnings.push(Warning::new(
                    Code::HandNotPlanned,
                    format!("hand work `{id}`"),
                    "hand work is asked for, but this version plans none: no boards, no blocks, no time",
                ));
                ids.push(id.clone());
            }
        }
        ids
    }

    fn hand_keys(&mut self, path: &str, hand: &HandToml) {
        let Some(kind) = hand.kind else { return };
        let (kind, needed, read) = keys(kind);
        for key in KEYS {
            let below = format!("{path}.{key}");
            let given = self.tree.lines.contains_key(&below);
            if needed.contains(&key) && !given {
                let text = format!("`[[hand]]` of kind `{kind}` has no `{key}`; add it");
                self.wrong(path, text);
            } else if given && !needed.contains(&key) && !read.contains(&key) {
                let text =
                    format!("`{key}` is not read for hand work of kind `{kind}`; take it out");
                self.wrong(&below, text);
            }
        }
    }

    fn rest_operation(&mut self, path: &str, name: &str, file: &JobToml) {
        let ids = file.operation.iter().filter_map(|one| one.id.as_deref());
        if ids.clone().any(|id| id == name) {
            return;
        }
        let advice = if file.operation.is_empty() {
            "; the job has no operation".to_owned()
        } else {
            near::advice(name, ids)
        };
        self.wrong(
            path,
            format!("unknown operation `{}`{advice}", near::short(name)),
        );
    }
}
