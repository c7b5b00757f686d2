//! What the elements of task data mean: each is taken when it closes and handed to the one that
//! holds it.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Bearing as _, Geodesic, Point};

use super::open::Open;
use super::tags::{Next, Source, Tag, walk};
use super::words;
use crate::fault::Fault;
use crate::found::degrees::{checked, number};
use crate::found::limits::{GROUPS, REMARKS, TASK_REFERENCES};
use crate::found::tally::Tally;
use crate::found::{Found, FoundArea, FoundLine, FoundPlace, Label};
use crate::job::near::short;
use crate::space::{Heading, Position};

/// A heading that is told beside a line may be this far off it before that is told: between the
/// 0.01 degree of rounding and the degrees by which a grid is turned against true north.
const HEADING_OFF_DEG: f64 = 0.1;
/// Headings of shorter lines hang on the last decimals of their ends, degrees of arc (about 5 m).
const HEADING_FROM_DEG: f64 = 5e-5;

/// What has been read so far.
#[derive(Default)]
pub(super) struct Reading {
    found: Found,
    tally: Tally,
    /// Names of external files, without what follows the dot.
    pub external: Vec<String>,
    left_out: usize,
    /// Told first: who wrote the file.
    head: Option<String>,
    is_version_3: bool,
    ids: BTreeSet<String>,
    /// Element and attribute that refer, and the id that they name.
    references: Vec<(String, &'static str, String)>,
    /// References beyond those that are followed.
    unfollowed: usize,
    /// Names of products by their ids.
    products: BTreeMap<String, String>,
    /// What tasks put down: the sentence's start, and the id of a product.
    rates: Vec<(String, Option<String>)>,
}

impl Reading {
    /// Reads one file.
    pub(super) fn file(&mut self, source: &Source<'_>) -> Result<(), Fault> {
        let mut open: Vec<Open> = Vec::new();
        walk(source, |next| match next {
            Next::Open(tag) => {
                if open.is_empty() {
                    self.root(source, &tag)?;
                } else {
                    self.note_ids(&tag);
                }
                open.push(Open::of(tag));
                Ok(())
            }
            Next::Close => match open.pop() {
                Some(closed) => self.close(source, closed, &mut open),
                None => Ok(()),
            },
        })
    }

    pub(super) fn remark(&mut self, text: String) {
        if self.found.remarks.len() < REMARKS.most {
            self.found.remarks.push(text);
        } else {
            self.left_out += 1;
        }
    }

    /// All that was found, with what can be told only at the end.
    pub(super) fn done(mut self) -> Found {
        for (sentence, product) in std::mem::take(&mut self.rates) {
            let product = product.map(|id| self.products.get(&id).cloned().unwrap_or(id));
            self.remark(match product {
                Some(product) => format!("{sentence} of `{}`", short(&product)),
                None => sentence,
            });
        }
        for (element, key, id) in std::mem::take(&mut self.references) {
            if !self.ids.contains(&id) {
                self.remark(format!(
                    "`{key}` of a {element} names `{}`, which the file does not hold; if \
                     it matters, write the whole folder again",
                    short(&id)
                ));
            }
        }
        if self.unfollowed > 0 {
            let text = format!(
                "{} references more are not followed: whether the file holds what they name is not \
                 known",
                self.unfollowed
            );
            self.found.remarks.push(text);
        }
        if self.left_out > 0 {
            let text = format!("there is more to tell: {} sentences", self.left_out);
            self.found.remarks.push(text);
        }
        if let Some(head) = self.head {
            self.found.remarks.insert(0, head);
        }
        self.found
    }

    fn root(&mut self, source: &Source<'_>, tag: &Tag) -> Result<(), Fault> {
        let is_main = self.head.is_none();
        let wanted = if is_main { "ISO11783_TaskData" } else { "XFC" };
        if tag.name != wanted {
            let advice = match tag.name.as_str() {
                "XFC" => "; this is a part of task data: give the file `TASKDATA.XML` beside it",
                _ if is_main => "; give the file `TASKDATA.XML` of a folder of task data",
                _ => "; it is no part of task data: write the folder again",
            };
            let text = format!("the root is `{}`, not `{wanted}`{advice}", short(&tag.name));
            return Err(source.fault(tag.at, text));
        }
        if !is_main {
            return Ok(());
        }
        let major = tag.get("VersionMajor").unwrap_or_default();
        let minor = tag.get("VersionMinor").unwrap_or("?");
        if !matches!(major, "3" | "4") {
            let text = format!(
                "`VersionMajor` is `{}`; versions 3 and 4 are read: write one of them",
                short(major)
            );
            return Err(source.fault(tag.at, text));
        }
        let by = tag
            .get("ManagementSoftwareManufacturer")
            .unwrap_or("nobody named");
        self.is_version_3 = major == "3";
        self.head = Some(format!(
            "task data, version {major}.{}, written by {}",
            short(minor),
            short(by)
        ));
        Ok(())
    }

    /// Remembers the id of an element and what it refers to.
    fn note_ids(&mut self, tag: &Tag) {
        let own = tag
            .get("A")
            .filter(|id| words::kind_of(id) == Some(tag.name.as_str()));
        if let Some(id) = own
            && !self.ids.insert(id.to_owned())
        {
            self.remark(format!("the id `{}` stands twice", short(id)));
        }
        for key in words::references(&tag.name) {
            let Some(id) = tag.get(key) else {
                continue;
            };
            if self.references.len() < TASK_REFERENCES.most {
                let reference = (tag.name.clone(), *key, id.to_owned());
                self.references.push(reference);
            } else {
                self.unfollowed += 1;
            }
        }
    }

    fn close(&mut self, source: &Source<'_>, closed: Open, open: &mut [Open]) -> Result<(), Fault> {
        match closed.tag.name.as_str() {
            "PNT" => self.point(source, &closed, open),
            "LSG" => self.line(source, closed, open),
            "PLN" => self.polygon(source, &closed, open),
            "GPN" => self.pattern(source, &closed, open),
            "GGP" => self.group(source, &closed),
            "PFD" => {
                self.field(&closed);
                Ok(())
            }
            "PDT" => {
                if let (Some(id), Some(name)) = (closed.tag.get("A"), closed.name()) {
                    self.remark(format!("product `{}`", short(&name)));
                    self.products.insert(id.to_owned(), name);
                }
                Ok(())
            }
            "PDV" => value(source, &closed, open),
            "TZN" => {
                self.zone(closed, open);
                Ok(())
            }
            "TSK" => {
                self.task(&closed);
                Ok(())
            }
            "XFR" => self.external(source, &closed),
            other => {
                if let Some(what) = words::unread(other) {
                    self.remark(format!("{what} (`{other}`) is not read"));
                }
                Ok(())
            }
        }
    }

    /// Refuses more things than are read.
    fn room(&mut self, source: &Source<'_>, at: usize) -> Result<(), Fault> {
        let counted = self.tally.things(1);
        counted.map_err(|text| source.fault(at, text))
    }

    fn point(
        &mut self,
        source: &Source<'_>,
        closed: &Open,
        open: &mut [Open],
    ) -> Result<(), Fault> {
        let tag = &closed.tag;
        let (Some(lat), Some(lon)) = (tag.get("C"), tag.get("D")) else {
            if tag.get("J").is_some() {
                self.remark("points in a binary file are not read".to_owned());
                return Ok(());
            }
            let text = "a point lacks its latitude (`C`) or longitude (`D`); give both";
            return Err(source.fault(tag.at, text));
        };
        let degrees = |what: &str, text: &str| {
            number(text).map_err(|text| format!("the {what} of a point: {text}"))
        };
        let position = || -> Result<Position, String> {
            let lat_deg = degrees("latitude (`C`)", lat)?;
            checked(degrees("longitude (`D`)", lon)?, lat_deg)
        };
        let counted = self.tally.positions(1);
        let position = counted.and_then(|()| position());
        let position = position.map_err(|text| source.fault(tag.at, text))?;
        let Some(holder) = open.last_mut() else {
            return Ok(());
        };
        if holder.is("LSG") {
            holder.points.push(position);
        } else if holder.is("PFD") {
            let code = tag.get("A").unwrap_or_default();
            let kind = words::point(code).ok_or_else(|| unknown(source, closed, "point", code))?;
            self.room(source, tag.at)?;
            let label = label(closed, open, kind);
            self.found.places.push(FoundPlace { label, position });
        }
        Ok(())
    }

    fn line(&mut self, source: &Source<'_>, closed: Open, open: &mut [Open]) -> Result<(), Fault> {
        let code = closed.tag.get("A").unwrap_or_default();
        let Some(kind) = words::line(code) else {
            return Err(unknown(source, &closed, "line", code));
        };
        let Some(holder) = open.last_mut() else {
            return Ok(());
        };
        if holder.is("PLN") || holder.is("GPN") {
            holder.lines.push((code.to_owned(), closed.points));
            return Ok(());
        }
        if !holder.is("PFD") {
            return Ok(());
        }
        if matches!(kind, "exterior" | "interior") {
            let text = format!(
                "{} is a ring but lies in no polygon; put it into a `PLN`",
                closed.called()
            );
            return Err(source.fault(closed.tag.at, text));
        }
        at_least_two(source, &closed, closed.points.len())?;
        self.room(source, closed.tag.at)?;
        let label = label(&closed, open, kind);
        let positions = closed.points;
        self.found.lines.push(FoundLine { label, positions });
        Ok(())
    }

    /// A ground for each exterior ring; holes belong to the exterior before them.
    fn polygon(&mut self, source: &Source<'_>, closed: &Open, open: &[Open]) -> Result<(), Fault> {
        let at = closed.tag.at;
        let code = closed.tag.get("A").unwrap_or_default();
        let kind = words::polygon(code).ok_or_else(|| unknown(source, closed, "polygon", code))?;
        let fault = |text: &str| Err(source.fault(at, format!("{} {text}", closed.called())));
        let mut areas: Vec<FoundArea> = Vec::new();
        for (code, points) in &closed.lines {
            let mut ring = points.clone();
            while ring.len() > 1 && ring.first() == ring.last() {
                ring.pop();
            }
            if ring.len() < 3 {
                return fault("has a ring of fewer than three places; give them, or take it out");
            }
            match (code.as_str(), areas.last_mut()) {
                ("1", _) => areas.push(FoundArea {
                    label: label(closed, open, kind),
                    rings: vec![ring],
                }),
                ("2", Some(area)) => area.rings.push(ring),
                ("2", None) => {
                    return fault(
                        "has a hole before its outer ring; put the outer ring (type 1) first",
                    );
                }
                _ => return fault("holds a line that is no ring (type 1 or 2); put it beside it"),
            }
        }
        if areas.is_empty() {
            return fault("has no ring; give it one, or take it out");
        }
        for area in areas {
            self.room(source, at)?;
            self.found.areas.push(area);
        }
        Ok(())
    }

    fn pattern(
        &mut self,
        source: &Source<'_>,
        closed: &Open,
        open: &mut [Open],
    ) -> Result<(), Fault> {
        let (at, called) = (closed.tag.at, closed.called());
        if let Some(group) = open.last_mut().filter(|holder| holder.is("GGP")) {
            group.patterns += 1;
        }
        let [(code, points)] = closed.lines.as_slice() else {
            let text = format!(
                "{called} has {} lines; give it one, no more and no less, or take it out",
                closed.lines.len()
            );
            return Err(source.fault(at, text));
        };
        if code != "5" {
            let text = format!("the line of {called} has the type `{code}`; make it 5");
            return Err(source.fault(at, text));
        }
        let kind = match closed.tag.get("C").unwrap_or_default() {
            "1" if points.len() == 2 => "A-B",
            "1" => {
                let text = format!(
                    "{called} is an A-B line of {}; give it two, A and B",
                    counted(points.len())
                );
                return Err(source.fault(at, text));
            }
            "2" => {
                let heading = closed.tag.get("G").unwrap_or("unknown");
                self.remark(format!(
                    "{called} is an A+ line: a place and the heading `{}`, no second place, so no \
                     line is made of it",
                    short(heading)
                ));
                return Ok(());
            }
            "4" => {
                self.remark(format!("{called} is a pivot, which is left out"));
                return Ok(());
            }
            "3" => "curve",
            "5" => "spiral",
            other => return Err(unknown(source, closed, "pattern", other)),
        };
        at_least_two(source, closed, points.len())?;
        self.check_heading(closed, points);
        self.room(source, at)?;
        self.found.lines.push(FoundLine {
            label: label(closed, open, kind),
            positions: points.clone(),
        });
        Ok(())
    }

    /// Tells of an A-B line whose heading is not where its points lead: often that of a grid.
    fn check_heading(&mut self, closed: &Open, points: &[Position]) {
        let ([from, to], Some(told)) = (points, closed.tag.get("G")) else {
            return;
        };
        let reach = (from.lat_deg - to.lat_deg).abs() + (from.lon_deg - to.lon_deg).abs();
        let Some(told_deg) = told.parse::<f64>().ok().filter(|deg| deg.is_finite()) else {
            return;
        };
        if reach < HEADING_FROM_DEG {
            return;
        }
        let at = |position: &Position| Point::new(position.lon_deg, position.lat_deg);
        let deg = Geodesic.bearing(at(from), at(to));
        let off = Heading::from_deg(deg - told_deg).deg();
        let off_deg = off.min(360.0 - off);
        if off_deg > HEADING_OFF_DEG {
            self.remark(format!(
                "{} says the heading {told_deg} degrees, but its points lie {off_deg:.2} degrees \
                 off that; the points are taken",
                closed.called()
            ));
        }
    }

    fn group(&mut self, source: &Source<'_>, closed: &Open) -> Result<(), Fault> {
        if closed.patterns == 0 {
            let text = format!(
                "{} has no pattern; give it one, or take it out",
                closed.called()
            );
            return Err(source.fault(closed.tag.at, text));
        }
        if self.is_version_3 {
            let text = format!(
                "{} stands in a file of version 3, which knows no groups; write version 4",
                closed.called()
            );
            return Err(source.fault(closed.tag.at, text));
        }
        Ok(())
    }

    fn field(&mut self, closed: &Open) {
        let name = closed.name().unwrap_or_default();
        let area = match closed
            .tag
            .get("D")
            .and_then(|area| area.parse::<u64>().ok())
        {
            Some(area_m2) => format!("{area_m2} m2"),
            None => "no area told".to_owned(),
        };
        self.remark(format!("field `{}`: {area}", short(&name)));
    }

    fn zone(&mut self, closed: Open, open: &mut [Open]) {
        let Some(task) = open.last_mut().filter(|holder| holder.is("TSK")) else {
            return;
        };
        let name = task.name().unwrap_or_default();
        let code = closed.tag.get("A").unwrap_or_default();
        for (value, product) in closed.values {
            task.treated += 1;
            let sentence = format!("task `{}`: in zone {} {value}", short(&name), short(code));
            if self.rates.len() < REMARKS.most {
                self.rates.push((sentence, product));
            } else {
                self.left_out += 1;
            }
        }
    }

    fn task(&mut self, closed: &Open) {
        if closed.treated == 0 {
            let name = closed.name().unwrap_or_default();
            self.remark(format!("task `{}`: nothing is put down", short(&name)));
        }
    }

    fn external(&mut self, source: &Source<'_>, closed: &Open) -> Result<(), Fault> {
        let name = closed.tag.get("A").unwrap_or_default();
        let is_plain = name.len() == 8
            && name.is_char_boundary(3)
            && name[..3].bytes().all(|byte| byte.is_ascii_uppercase())
            && name[3..].bytes().all(|byte| byte.is_ascii_digit());
        if !is_plain {
            let text = format!(
                "an external file is called `{}`; it is called three capitals and five digits, \
                 such as `TSK00001`",
                short(name)
            );
            return Err(source.fault(closed.tag.at, text));
        }
        if !self.external.iter().any(|have| have == name) {
            self.external.push(name.to_owned());
        }
        Ok(())
    }
}

/// A value of a treatment zone. Values within values say what the outer one is made of.
fn value(source: &Source<'_>, closed: &Open, open: &mut [Open]) -> Result<(), Fault> {
    let Some(zone) = open.last_mut().filter(|holder| holder.is("TZN")) else {
        return Ok(());
    };
    let text = closed.tag.get("B").unwrap_or_default();
    let Ok(value) = text.parse::<i64>() else {
        let text = format!(
            "a rate (`B` of PDV) is `{}`; give a whole number",
            short(text)
        );
        return Err(source.fault(closed.tag.at, text));
    };
    let index = closed.tag.get("A").unwrap_or_default();
    let product = closed.tag.get("C").map(str::to_owned);
    zone.values.push((words::rate(index, value), product));
    Ok(())
}

/// What a thing is called, and the names of what holds it, outermost first.
fn label(closed: &Open, open: &[Open], kind: &str) -> Label {
    Label {
        name: closed.name(),
        within: open
            .iter()
            .filter_map(Open::name)
            .take(GROUPS.most)
            .collect(),
        kind: Some(kind.to_owned()),
        ..Label::default()
    }
}

fn unknown(source: &Source<'_>, closed: &Open, what: &str, code: &str) -> Fault {
    let text = format!(
        "{} has the type `{}`, which no {what} of the standard has; correct it",
        closed.called(),
        short(code)
    );
    source.fault(closed.tag.at, text)
}

fn at_least_two(source: &Source<'_>, closed: &Open, points: usize) -> Result<(), Fault> {
    if points >= 2 {
        return Ok(());
    }
    let text = format!(
        "{} has {}; give it two or more, or take it out",
        closed.called(),
        counted(points)
    );
    Err(source.fault(closed.tag.at, text))
}

fn counted(points: usize) -> String {
    match points {
        0 => "no point".to_owned(),
        1 => "one point".to_owned(),
        _ => format!("{points} points"),
    }
}
