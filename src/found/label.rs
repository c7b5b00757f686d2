//! What a thing is called, from the properties that GeoJSON and shapefiles have beside it. Our own
//! files say `operation`, `direction`, `pass`, `part`, `leg`; others mostly `name`.

use super::Label;
use super::remarks::kept_name;

/// The label by a look into the properties: `None` where there is none of that name.
pub(super) fn label(property: impl Fn(&str) -> Option<String>) -> Label {
    let word = |key: &str| property(key).and_then(|text| kept_name(&text));
    let numbered = |key: &str| word(key).map(|number| format!("{key} {number}"));
    let holder = word("operation").or_else(|| word("hand"));
    let mut within: Vec<String> = holder.into_iter().collect();
    within.extend(numbered("direction"));
    let pass = numbered("pass").map(|pass| match word("part") {
        Some(part) if part != "1" => format!("{pass} part {part}"),
        _ => pass,
    });
    Label {
        name: word("name")
            .or_else(|| numbered("leg"))
            .or(pass)
            .or_else(|| word("id")),
        within,
        kind: word("role").or_else(|| word("kind")),
    }
}
