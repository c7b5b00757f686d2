//! An element that is open, and what the elements within it have handed to it.

use super::tags::Tag;
use crate::found::remarks::kept_name;
use crate::job::near::short;
use crate::space::Position;

/// An element that is open.
pub(super) struct Open {
    pub tag: Tag,
    /// Positions of the points in a line.
    pub points: Vec<Position>,
    /// Lines in a polygon or pattern, with their type.
    pub lines: Vec<(String, Vec<Position>)>,
    /// Patterns in a group.
    pub patterns: usize,
    /// Values in a zone of treatment, in words, each with the id of a product.
    pub values: Vec<(String, Option<String>)>,
    /// Zones with a value in a task.
    pub treated: usize,
}

impl Open {
    pub(super) const fn of(tag: Tag) -> Self {
        Self {
            tag,
            points: Vec::new(),
            lines: Vec::new(),
            patterns: 0,
            values: Vec::new(),
            treated: 0,
        }
    }

    pub(super) fn is(&self, name: &str) -> bool {
        self.tag.name == name
    }

    /// The key of what it is called.
    const fn name_key(name: &str) -> &'static str {
        match name.as_bytes() {
            b"PFD" => "C",
            _ => "B",
        }
    }

    pub(super) fn name(&self) -> Option<String> {
        kept_name(self.tag.get(Self::name_key(&self.tag.name))?)
    }

    /// How messages call it: ``the pattern `GPN3` ``.
    pub(super) fn called(&self) -> String {
        let what = match self.tag.name.as_str() {
            "PFD" => "field",
            "PLN" => "polygon",
            "LSG" => "line",
            "PNT" => "point",
            "GGP" => "guidance group",
            "GPN" => "guidance pattern",
            "TSK" => "task",
            "TZN" => "treatment zone",
            other => other,
        };
        let key = match self.tag.name.as_str() {
            "PLN" | "LSG" | "PNT" => "B",
            _ => "A",
        };
        match self.tag.get(key) {
            Some(name) => format!("the {what} `{}`", short(name)),
            None => format!("a {what}"),
        }
    }
}
