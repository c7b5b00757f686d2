//! GPX of others (1.1, and 1.0 as far as it is the same): waypoints are places, routes and the
//! segments of tracks are lines. Heights, times and extensions are left out.

use super::degrees::{checked, number};
use super::remarks::{Remarks, kept_name};
use super::tally::Tally;
use super::xml::{self, Listener, Path, Then, attribute};
use super::{Found, FoundLine, FoundPlace, Label};
use crate::fault::Fault;
use crate::space::Position;

/// Namespaces of the two versions.
const NAMESPACES: [&str; 2] = [
    "http://www.topografix.com/GPX/1/1",
    "http://www.topografix.com/GPX/1/0",
];

/// Order of children (schema of GPX 1.1).
const FILE_ORDER: &[&[&str]] = &[&["metadata"], &["wpt"], &["rte"], &["trk"], &["extensions"]];
const POINT_ORDER: &[&[&str]] = &[
    &["ele"],
    &["time"],
    &["magvar"],
    &["geoidheight"],
    &["name"],
    &["cmt"],
    &["desc"],
    &["src"],
    &["link"],
    &["sym"],
    &["type"],
    &["fix"],
    &["sat"],
    &["hdop"],
    &["vdop"],
    &["pdop"],
    &["ageofdgpsdata"],
    &["dgpsid"],
    &["extensions"],
];
const WAY_ORDER: &[&[&str]] = &[
    &["name"],
    &["cmt"],
    &["desc"],
    &["src"],
    &["link"],
    &["number"],
    &["type"],
    &["extensions"],
    &["trkseg", "rtept"],
];
const METADATA_ORDER: &[&[&str]] = &[
    &["name"],
    &["desc"],
    &["author"],
    &["copyright"],
    &["link"],
    &["time"],
    &["keywords"],
    &["bounds"],
    &["extensions"],
];

/// Reads a GPX file.
///
/// # Errors
/// A [`Fault`] where it is no sound XML, no GPX, too large, or holds coordinates that are none.
pub fn read(file: &str, bytes: &[u8]) -> Result<Found, Fault> {
    let mut reader = Reader::default();
    xml::listen(file, bytes, &mut reader)?;
    let mut found = reader.found;
    found.remarks = reader.remarks.sentences(bytes);
    Ok(found)
}

#[derive(Default)]
struct Reader {
    tally: Tally,
    remarks: Remarks,
    /// The name and the type of the waypoint, route or track that is open.
    name: Option<String>,
    kind: Option<String>,
    waypoint: Option<Position>,
    /// The points of the route or segment that is open.
    run: Vec<Position>,
    /// The segments of the track that is open.
    segments: Vec<Vec<Position>>,
    found: Found,
}

impl Listener for Reader {
    const ROOT: &'static str = "gpx";
    const FORMAT: &'static str = "GPX";

    fn knows(namespace: &str) -> bool {
        NAMESPACES.contains(&namespace)
    }

    fn order(parent: &str) -> &'static [&'static [&'static str]] {
        match parent {
            "gpx" => FILE_ORDER,
            "wpt" | "rtept" | "trkpt" => POINT_ORDER,
            "rte" | "trk" => WAY_ORDER,
            "metadata" => METADATA_ORDER,
            _ => &[],
        }
    }

    fn open(&mut self, path: Path<'_>, attributes: &[(String, String)]) -> Result<Then, String> {
        match (path.parent(), path.name()) {
            ("", _) => self.root(path, attributes),
            ("gpx", "wpt") => {
                self.begin()?;
                self.waypoint = Some(self.point(path, attributes)?);
            }
            ("gpx", "rte" | "trk") => self.begin()?,
            ("rte", "rtept") | ("trkseg", "trkpt") => {
                let at = self.point(path, attributes)?;
                self.run.push(at);
            }
            ("trk", "trkseg") => {
                self.tally.things(1)?;
                self.run.clear();
            }
            (_, "extensions") => {
                self.remarks
                    .add("extensions are passed over", None, path.at);
                return Ok(Then::PassOver);
            }
            _ => {}
        }
        Ok(Then::Tell)
    }

    fn close(&mut self, path: Path<'_>, text: &str) -> Result<(), String> {
        match (path.parent(), path.name()) {
            ("wpt" | "rte" | "trk", "name") => self.name = kept_name(text),
            ("wpt" | "rte" | "trk", "type") => self.kind = kept_name(text),
            ("metadata" | "gpx", "name") => {
                if let Some(name) = kept_name(text) {
                    self.remarks.called(&name);
                }
            }
            (_, "time") if !is_date_time(text.trim()) => {
                let what = "a time is not written like 2026-06-02T07:30:00Z";
                self.remarks.add(what, Some(text.trim()), path.at);
            }
            ("gpx", "wpt") => {
                let label = self.label("waypoint");
                if let Some(position) = self.waypoint.take() {
                    self.found.places.push(FoundPlace { label, position });
                }
            }
            ("gpx", "rte") => {
                let run = std::mem::take(&mut self.run);
                let label = self.label("route");
                self.line(label, run, path);
            }
            ("trk", "trkseg") => self.segments.push(std::mem::take(&mut self.run)),
            ("gpx", "trk") => {
                // A track groups its segments, which have no names of their own.
                let Label { name, kind, .. } = self.label("track");
                for run in std::mem::take(&mut self.segments) {
                    let label = Label {
                        name: None,
                        within: name.iter().cloned().collect(),
                        kind: kind.clone(),
                        ..Label::default()
                    };
                    self.line(label, run, path);
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn remarks(&mut self) -> &mut Remarks {
        &mut self.remarks
    }
}

impl Reader {
    fn root(&mut self, path: Path<'_>, attributes: &[(String, String)]) {
        let mut remark = |what, word| self.remarks.add(what, word, path.at);
        if !path.has_namespace {
            remark(
                "`gpx` names no namespace, so other programs may refuse the file",
                None,
            );
        }
        if attribute(attributes, "creator").is_none() {
            remark(
                "`gpx` does not say who made it (`creator`), as GPX 1.1 wants",
                None,
            );
        }
        match attribute(attributes, "version") {
            Some("1.1" | "1.0") => {}
            Some(other) => remark("a version that is not 1.1; read as if it were", Some(other)),
            None => remark("`gpx` names no version; read as 1.1", None),
        }
    }

    /// A waypoint, route or track begins.
    fn begin(&mut self) -> Result<(), String> {
        self.name = None;
        self.kind = None;
        self.run.clear();
        self.segments.clear();
        self.tally.things(1)
    }

    /// The position of a point, from its attributes.
    fn point(
        &mut self,
        path: Path<'_>,
        attributes: &[(String, String)],
    ) -> Result<Position, String> {
        self.tally.positions(1)?;
        let number = |name: &str| match attribute(attributes, name) {
            Some(text) => number(text.trim()),
            None => Err(format!(
                "a `{}` has no `{name}`; write both `lat` and `lon` in degrees",
                path.name()
            )),
        };
        let position = checked(number("lon")?, number("lat")?)?;
        if position.lon_deg == 180.0 {
            let what = "longitude 180 is none in GPX (-180 is the same place); read all the same";
            self.remarks.add(what, None, path.at);
        }
        Ok(position)
    }

    fn label(&mut self, kind: &str) -> Label {
        Label {
            name: self.name.take(),
            within: Vec::new(),
            kind: Some(self.kind.take().unwrap_or_else(|| kind.to_owned())),
            ..Label::default()
        }
    }

    fn line(&mut self, label: Label, positions: Vec<Position>, path: Path<'_>) {
        if positions.len() < 2 {
            let what = "a route or segment of fewer than two points is left out";
            self.remarks.add(what, None, path.at);
        } else {
            self.found.lines.push(FoundLine { label, positions });
        }
    }
}

/// Whether a text has the form of `xs:dateTime`: `2026-06-02T07:30:00`, then perhaps decimals of
/// a second, then perhaps `Z` or an offset.
fn is_date_time(text: &str) -> bool {
    const FORM: &[u8] = b"0000-00-00T00:00:00";
    let fits = |text: &[u8], form: &[u8]| {
        text.len() == form.len()
            && text.iter().zip(form).all(|(have, want)| match want {
                b'0' => have.is_ascii_digit(),
                _ => have == want,
            })
    };
    let Some((head, rest)) = text.as_bytes().split_at_checked(FORM.len()) else {
        return false;
    };
    let decimals = match rest {
        [b'.', digits @ ..] => {
            let count = digits
                .iter()
                .take_while(|byte| byte.is_ascii_digit())
                .count();
            if count == 0 {
                return false;
            }
            count + 1
        }
        _ => 0,
    };
    let zone = &rest[decimals..];
    let is_zone = matches!(zone, [] | [b'Z']) || fits(zone, b"+00:00") || fits(zone, b"-00:00");
    fits(head, FORM) && is_zone
}
