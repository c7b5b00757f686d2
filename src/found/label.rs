//! What a thing is called and what is said of it, from the properties that GeoJSON, shapefiles and
//! KML have beside it. Our own files say `operation`, `direction`, `pass`, `part`, `leg`; others
//! mostly `name`.

use super::Label;
use super::remarks::kept_name;

/// Properties of a ground file, and what files call them: a column of a shapefile has ten letters at
/// most.
pub(super) const PROPERTIES: [Property; 4] = [
    ("clearance_m", &["clearance_m", "clear_m"]),
    ("depth_m", &["depth_m"]),
    ("wear", &["wear"]),
    ("height_m", &["height_m"]),
];

/// A property with the words that stand for it, the best first.
pub(super) type Property = (&'static str, &'static [&'static str]);

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
        properties: properties(&PROPERTIES, word),
    }
}

/// What is said of a thing that a ground file can hold.
pub(super) fn properties<'a>(
    table: impl IntoIterator<Item = &'a Property>,
    word: impl Fn(&str) -> Option<String>,
) -> Vec<(&'static str, String)> {
    let first = |keys: &[&str]| keys.iter().find_map(|key| word(key));
    let all = table.into_iter();
    all.filter_map(|(name, keys)| Some((*name, first(keys)?)))
        .collect()
}
