//! What was found in a file, in plain words for people and as JSON for programs.

use std::fmt::Write as _;

use serde::Serialize;

use super::measured::{self, Called, Group, Measured, Pointing, Site, Spacing};
use super::{Format, Found};
use crate::job::near;

/// Of a longer list the first so many are told; `--json` has all.
const TOLD: usize = 12;
/// Headings of one group that are told.
const HEADINGS_TOLD: usize = 4;

/// What was found in a file. The field names are those of the JSON.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Told {
    /// The file as the user named it.
    pub file: String,
    /// Its format.
    pub format: &'static str,
    /// How many lines.
    pub lines: usize,
    /// How many areas.
    pub areas: usize,
    /// How many places.
    pub places: usize,
    /// What was measured, site by site.
    #[serde(flatten)]
    pub measured: Measured,
    /// What else the file says, or what of it was left out and why.
    pub remarks: Vec<String>,
}

impl Told {
    /// Measures what was found.
    #[must_use]
    pub fn of(file: &str, format: Format, found: &Found) -> Self {
        Self {
            file: near::line(file),
            format: format.name(),
            lines: found.lines.len(),
            areas: found.areas.len(),
            places: found.places.len(),
            measured: measured::measure(found),
            remarks: found.remarks.clone(),
        }
    }

    /// As JSON.
    ///
    /// # Errors
    /// Where JSON cannot be made.
    pub fn json(&self) -> Result<String, serde_json::Error> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }

    /// In plain words.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = format!("{}: {}\n", self.file, self.format);
        let counts = [
            count(self.lines, "line"),
            count(self.areas, "area"),
            count(self.places, "place"),
        ];
        let _ = writeln!(text, "{}", counts.join(", "));
        let Measured {
            sites,
            things_elsewhere,
            farthest_m,
        } = &self.measured;
        match sites.as_slice() {
            [] => text.push_str("there is nothing in it that lies anywhere\n"),
            [site] if *things_elsewhere == 0 => text.push_str(&one_site(site)),
            _ => {
                let _ = writeln!(
                    text,
                    "the things do not lie together, but about {} places up to {} apart",
                    sites.len(),
                    far(*farthest_m)
                );
                for (index, site) in sites.iter().enumerate() {
                    let _ = write!(text, "\nplace {}\n{}", index + 1, one_site(site));
                }
                if *things_elsewhere > 0 {
                    let _ = writeln!(
                        text,
                        "\n{} lie elsewhere",
                        count(*things_elsewhere, "more thing")
                    );
                }
            }
        }
        if !self.remarks.is_empty() {
            text.push_str("\nremarks\n");
            let mut more = String::new();
            for remark in some(&self.remarks, &mut more) {
                let _ = writeln!(text, "  {remark}");
            }
            text.push_str(&more);
        }
        text
    }
}

/// The first of a list; what is left is said in `more`.
fn some<'a, T>(all: &'a [T], more: &mut String) -> &'a [T] {
    if all.len() > TOLD {
        *more = format!("  and {} more (`--json` has all)\n", all.len() - TOLD);
    }
    &all[..all.len().min(TOLD)]
}

fn one_site(site: &Site) -> String {
    let mut text = format!(
        "middle at latitude {:.6}, longitude {:.6}; {} from south to north, {} from west to east\n",
        site.middle_lat_deg,
        site.middle_lon_deg,
        far(site.north_south_m),
        far(site.east_west_m)
    );
    let mut more = String::new();
    if !site.lines.is_empty() {
        text.push_str("\nlines\n");
        for group in some(&site.groups, &mut more) {
            text.push_str(&told_group(group));
        }
        let unmeasured = site.lines.iter().filter(|line| line.length_m.is_none());
        let unmeasured = unmeasured.count();
        if unmeasured > 0 {
            let _ = writeln!(
                text,
                "  {} too far to be measured in a plane",
                match unmeasured {
                    1 => "1 line reaches".to_owned(),
                    _ => format!("{unmeasured} lines reach"),
                }
            );
        }
        text.push_str(&std::mem::take(&mut more));
    }
    if !site.areas.is_empty() {
        text.push_str("\nareas\n");
        for area in some(&site.areas, &mut more) {
            let _ = write!(text, "  {} {}: ", area.number, called(&area.label));
            match area.area_m2 {
                Some(area_m2) => {
                    let _ = write!(text, "{area_m2:.1} m2");
                }
                None => text.push_str("reaches too far to be measured in a plane"),
            }
            match area.holes {
                0 => {}
                holes => {
                    let _ = write!(text, " less {}", count(holes, "hole"));
                }
            }
            if let Some(fitted) = &area.rectangle {
                let _ = write!(
                    text,
                    "; the rectangle that fits it is {:.2} x {:.2} m, long axis at {:.2} degrees, \
                     corners within {:.2} m",
                    fitted.length_m, fitted.width_m, fitted.bearing_deg, fitted.misfit_m
                );
            }
            text.push('\n');
        }
        text.push_str(&std::mem::take(&mut more));
    }
    if !site.places.is_empty() {
        text.push_str("\nplaces\n");
        for place in some(&site.places, &mut more) {
            let _ = writeln!(
                text,
                "  {} {}: latitude {:.7}, longitude {:.7}",
                place.number,
                called(&place.label),
                place.lat_deg,
                place.lon_deg
            );
        }
        text.push_str(&more);
    }
    text
}

fn told_group(group: &Group) -> String {
    let name = if group.within.is_empty() {
        "in no group".to_owned()
    } else {
        group.within.join(" / ")
    };
    let mut text = format!(
        "  {name}: {}, {:.1} m in all\n",
        count(group.lines, "line"),
        group.length_m
    );
    for pointing in group.headings.iter().take(HEADINGS_TOLD) {
        text.push_str(&told_pointing(pointing));
    }
    let further = group.headings.len().saturating_sub(HEADINGS_TOLD);
    if further > 0 {
        let _ = writeln!(text, "    and {}", count(further, "other heading"));
    }
    match group.bent {
        0 => {}
        1 => text.push_str("    1 line bends\n"),
        bent => {
            let _ = writeln!(text, "    {bent} lines bend");
        }
    }
    text
}

fn told_pointing(pointing: &Pointing) -> String {
    let mut text = format!(
        "    heading {:.2} degrees: {}, {:.0} % of the length",
        pointing.heading_deg,
        count(pointing.lines, "line"),
        pointing.share * 100.0
    );
    if pointing.other_way > 0 {
        let _ = write!(text, "; {} of them the other way", pointing.other_way);
    }
    if let Some(Spacing {
        median_m,
        least_m,
        greatest_m,
        regular,
        ..
    }) = &pointing.spacing
    {
        let range = format!("{least_m:.3} to {greatest_m:.3} m");
        if *regular {
            let _ = write!(text, "; {median_m:.3} m apart ({range})");
        } else {
            let _ = write!(
                text,
                "; not evenly apart: {range}, half of them up to {median_m:.3} m"
            );
        }
    }
    text.push('\n');
    text
}

/// ``mow / `pass 3` (pitch)``; what it has of these.
fn called(label: &Called) -> String {
    let mut text = label.within.join(" / ");
    if let Some(name) = &label.name {
        let gap = if text.is_empty() { "" } else { " / " };
        let _ = write!(text, "{gap}`{}`", near::short(name));
    }
    match (&label.kind, text.is_empty()) {
        (Some(kind), true) => text.push_str(kind),
        (Some(kind), false) => {
            let _ = write!(text, " ({kind})");
        }
        (None, true) => text.push_str("without a name"),
        (None, false) => {}
    }
    text
}

/// `3 lines`.
fn count(number: usize, word: &str) -> String {
    match number {
        0 => format!("no {word}s"),
        1 => format!("1 {word}"),
        _ => format!("{number} {word}s"),
    }
}

/// A distance for people.
fn far(length_m: f64) -> String {
    if length_m < 10_000.0 {
        format!("{length_m:.1} m")
    } else {
        format!("{:.0} km", length_m / 1000.0)
    }
}
