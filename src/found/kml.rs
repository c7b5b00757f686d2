//! KML of others (OGC 07-147r2): lines, areas and places of placemarks, with the folders that
//! hold them. Coordinates are longitude, latitude and perhaps a height, which is left out.
//!
//! What would be fetched from elsewhere (network links) is not followed; pictures laid over the
//! ground, models and tours are passed over. All of that is remarked.

use super::degrees::{checked, number};
use super::label::{PROPERTIES, Property, properties};
use super::limits::GROUPS;
use super::remarks::{Remarks, kept_name};
use super::tally::Tally;
use super::xml::{self, Listener, Path, Then, attribute};
use super::{Found, FoundArea, FoundLine, FoundPlace, Label};
use crate::fault::Fault;
use crate::job::near;
use crate::space::Position;

/// Namespaces of KML begin so: OGC's own, and the one it had before.
const NAMESPACES: [&str; 2] = [
    "http://www.opengis.net/kml/",
    "http://earth.google.com/kml/",
];

/// Elements that are passed over with all that stands in them, and what is said of them.
const PASSED_OVER: [(&str, &str); 7] = [
    ("NetworkLink", "a network link is not followed"),
    ("NetworkLinkControl", "changes to other files are not made"),
    (
        "GroundOverlay",
        "a picture laid over the ground is passed over",
    ),
    (
        "ScreenOverlay",
        "a picture laid over the screen is passed over",
    ),
    ("PhotoOverlay", "a photograph is passed over"),
    ("Model", "a model is passed over"),
    ("Schema", "a schema of data is passed over"),
];

/// What a placemark's data may call the kind of thing that it is, the best word first.
const KIND_KEYS: [&str; 2] = ["kind", "role"];
/// Our own files call things and zones by their own names beside those that a map shows, and say
/// which zones were laid by rule.
const OUR_DATA: [Property; 3] = [
    ("called", &["called"]),
    ("zone", &["zone"]),
    ("zone_kind", &["zone_kind"]),
];

/// Order of children (schema of KML 2.2), as far as they are read.
const FEATURE_ORDER: &[&[&str]] = &[
    &["name"],
    &["visibility"],
    &["open"],
    &["address"],
    &["phoneNumber"],
    &["Snippet", "snippet"],
    &["description"],
    &["Camera", "LookAt"],
    &["TimeStamp", "TimeSpan"],
    &["styleUrl"],
    &["Style", "StyleMap"],
    &["Region"],
    &["Metadata", "ExtendedData"],
    &[
        "Point",
        "LineString",
        "LinearRing",
        "Polygon",
        "MultiGeometry",
        "Model",
    ],
];
const SHAPE_ORDER: &[&[&str]] = &[
    &["extrude"],
    &["tessellate"],
    &["altitudeMode"],
    &["coordinates", "outerBoundaryIs"],
    &["innerBoundaryIs"],
];

/// Reads a KML file.
///
/// # Errors
/// A [`Fault`] where it is no sound XML, no KML, too large, or holds coordinates that are none.
pub fn read(file: &str, bytes: &[u8]) -> Result<Found, Fault> {
    let mut reader = Reader::default();
    xml::listen(file, bytes, &mut reader)?;
    Ok(reader.found(bytes))
}

/// A shape on its way in.
enum Shape {
    Line(Vec<Position>),
    Area(Vec<Vec<Position>>),
    Place(Position),
}

/// A folder and the one that holds it.
struct Folder {
    name: Option<String>,
    within: Option<usize>,
}

/// A placemark that is open.
#[derive(Default)]
struct Placemark {
    name: Option<String>,
    /// The data that are kept, each name once: the first.
    data: Vec<(&'static str, String)>,
    shapes: Vec<Shape>,
}

/// A thing with the folder that it stands in.
struct Thing {
    folder: Option<usize>,
    label: Label,
    shape: Shape,
}

#[derive(Default)]
struct Reader {
    tally: Tally,
    remarks: Remarks,
    folders: Vec<Folder>,
    /// The folders that are open, by their places in the list.
    open_folders: Vec<usize>,
    placemark: Option<Placemark>,
    /// The name of the data whose value comes next.
    data: Option<String>,
    /// The coordinates of the shape or ring that is open.
    run: Option<Vec<Position>>,
    /// The rings of the polygon that is open; the exterior first.
    rings: Vec<Vec<Position>>,
    has_exterior: bool,
    /// Whether the inner boundary that is open has its ring already.
    has_hole: bool,
    tessellated: bool,
    off_the_ground: bool,
    things: Vec<Thing>,
}

impl Listener for Reader {
    const ROOT: &'static str = "kml";
    const FORMAT: &'static str = "KML";

    fn knows(namespace: &str) -> bool {
        NAMESPACES.iter().any(|ours| namespace.starts_with(ours))
    }

    fn order(parent: &str) -> &'static [&'static [&'static str]] {
        match parent {
            "Placemark" => FEATURE_ORDER,
            "Point" | "LineString" | "LinearRing" | "Polygon" => SHAPE_ORDER,
            _ => &[],
        }
    }

    fn open(&mut self, path: Path<'_>, attributes: &[(String, String)]) -> Result<Then, String> {
        let name = path.name();
        if path.depth() == 1 && !path.has_namespace {
            let what = "`kml` names no namespace, so other programs may refuse the file";
            self.remarks.add(what, None, path.at);
        }
        if let Some((_, what)) = PASSED_OVER.iter().find(|(passed, _)| *passed == name) {
            self.remarks.add(what, None, path.at);
            return Ok(Then::PassOver);
        }
        match name {
            "Folder" => {
                self.tally.things(1)?;
                self.folders.push(Folder {
                    name: None,
                    within: self.open_folders.last().copied(),
                });
                self.open_folders.push(self.folders.len() - 1);
            }
            "Placemark" => {
                if self.placemark.is_some() {
                    return Err("a placemark stands in another; take it out".to_owned());
                }
                self.placemark = Some(Placemark::default());
            }
            "Data" | "SimpleData" => {
                self.data = attribute(attributes, "name").map(str::to_owned);
            }
            "Point" | "LineString" | "Polygon" => {
                self.open_shape();
                self.rings.clear();
                self.has_exterior = false;
            }
            "LinearRing" => self.open_shape(),
            "innerBoundaryIs" => self.has_hole = false,
            _ => {}
        }
        Ok(Then::Tell)
    }

    fn close(&mut self, path: Path<'_>, text: &str) -> Result<(), String> {
        match path.name() {
            "name" => self.name(path, text),
            "value" if path.parent() == "Data" => self.datum(text),
            "SimpleData" => self.datum(text),
            "color" if !is_colour(text.trim()) => {
                let what = "a colour is not eight hex digits aabbggrr";
                self.remarks.add(what, Some(text.trim()), path.at);
            }
            "tessellate" => {
                self.tessellated = matches!(text.trim(), "1" | "true");
                self.check_tessellation(path);
            }
            "altitudeMode" => {
                self.off_the_ground = text.trim() != "clampToGround";
                self.check_tessellation(path);
            }
            "coordinates" => self.run = Some(self.coordinates(path, text)?),
            "Point" => {
                let run = self.run_of("Point")?;
                let [position] = run[..] else {
                    return Err(format!(
                        "a point has {}; write one longitude,latitude",
                        counted(run.len(), "position")
                    ));
                };
                self.shape(Shape::Place(position), path)?;
            }
            "LineString" => {
                let run = self.run_of("LineString")?;
                if run.len() < 2 {
                    return Err(format!(
                        "a line has {}; give it two or more, or take it out",
                        counted(run.len(), "position")
                    ));
                }
                self.shape(Shape::Line(run), path)?;
            }
            "LinearRing" => self.ring(path)?,
            "Polygon" => {
                if !self.has_exterior {
                    return Err(
                        "a polygon has no outer boundary; give it one, or take it out".to_owned(),
                    );
                }
                let rings = std::mem::take(&mut self.rings);
                self.shape(Shape::Area(rings), path)?;
            }
            "Folder" => drop(self.open_folders.pop()),
            "Placemark" => self.placemark(path)?,
            _ => {}
        }
        Ok(())
    }

    fn remarks(&mut self) -> &mut Remarks {
        &mut self.remarks
    }
}

impl Reader {
    fn open_shape(&mut self) {
        self.run = None;
        self.tessellated = false;
        self.off_the_ground = false;
    }

    fn name(&mut self, path: Path<'_>, text: &str) {
        let name = kept_name(text);
        match path.parent() {
            "Placemark" => {
                if let Some(placemark) = &mut self.placemark {
                    placemark.name = name;
                }
            }
            "Folder" => {
                let folder = self.open_folders.last();
                if let Some(folder) = folder.and_then(|&index| self.folders.get_mut(index)) {
                    folder.name = name;
                }
            }
            "Document" => {
                if let Some(name) = name {
                    self.remarks.called(&name);
                }
            }
            _ => {}
        }
    }

    /// A value of a placemark's data.
    fn datum(&mut self, text: &str) {
        let key = self.data.take().unwrap_or_default();
        let read = PROPERTIES.iter().chain(&OUR_DATA);
        let read = read.flat_map(|(_, keys)| keys.iter());
        let known = KIND_KEYS.iter().chain(read).find(|known| **known == key);
        let (Some(known), Some(word), Some(placemark)) =
            (known, kept_name(text), &mut self.placemark)
        else {
            return;
        };
        if placemark.data.iter().all(|(have, _)| have != known) {
            placemark.data.push((*known, word));
        }
    }

    fn coordinates(&mut self, path: Path<'_>, text: &str) -> Result<Vec<Position>, String> {
        let mut run = Vec::new();
        for tuple in text.split_whitespace() {
            self.tally.positions(1)?;
            let parts: Vec<&str> = tuple.split(',').take(4).collect();
            let (lon, lat) = match parts[..] {
                [lon, lat] if !lon.is_empty() && !lat.is_empty() => (lon, lat),
                [lon, lat, height] if !lon.is_empty() && !lat.is_empty() => {
                    if number(height)? != 0.0 {
                        self.remarks.add("heights are left out", None, path.at);
                    }
                    (lon, lat)
                }
                _ => {
                    return Err(format!(
                        "`{}` is no position; write longitude,latitude without a space between, \
                         and a space before the next",
                        near::short(tuple)
                    ));
                }
            };
            run.push(checked(number(lon)?, number(lat)?)?);
        }
        Ok(run)
    }

    /// The coordinates of the shape that closes.
    fn run_of(&mut self, shape: &str) -> Result<Vec<Position>, String> {
        self.run
            .take()
            .ok_or_else(|| format!("a `{shape}` has no coordinates; write them or take it out"))
    }

    /// Lines that follow the ground can do so only where they lie on it (10.6.2).
    fn check_tessellation(&mut self, path: Path<'_>) {
        if self.tessellated && self.off_the_ground {
            let what = "`tessellate` has no meaning without `clampToGround`";
            self.remarks.add(what, None, path.at);
        }
    }

    /// A ring closes: of a polygon, or one by itself, which is a line.
    fn ring(&mut self, path: Path<'_>) -> Result<(), String> {
        let mut run = self.run_of("LinearRing")?;
        let is_closed = run.len() > 1 && run.first() == run.last();
        if is_closed {
            run.pop();
        }
        if run.len() < 3 {
            return Err(format!(
                "a ring has {}; give it three or more, and the first again at its end, or take it \
                 out",
                counted(run.len(), "corner")
            ));
        }
        if !is_closed {
            let what = "a ring does not end where it begins; it is closed";
            self.remarks.add(what, None, path.at);
        }
        match path.parent() {
            "outerBoundaryIs" => {
                if self.has_exterior {
                    return Err(
                        "a polygon has two outer boundaries; make two polygons of it".to_owned(),
                    );
                }
                self.has_exterior = true;
                self.rings.insert(0, run);
                Ok(())
            }
            "innerBoundaryIs" => {
                if self.has_hole {
                    let what = "an inner boundary has more than one ring; each is read as a hole";
                    self.remarks.add(what, None, path.at);
                }
                self.has_hole = true;
                self.rings.push(run);
                Ok(())
            }
            _ => {
                run.extend(run.first().copied());
                self.shape(Shape::Line(run), path)
            }
        }
    }

    fn shape(&mut self, shape: Shape, path: Path<'_>) -> Result<(), String> {
        self.tally.things(1)?;
        match &mut self.placemark {
            Some(placemark) => placemark.shapes.push(shape),
            None => {
                let what = "a shape outside of any placemark is passed over";
                self.remarks.add(what, None, path.at);
            }
        }
        Ok(())
    }

    /// A placemark closes: its shapes are things, each under its name.
    fn placemark(&mut self, path: Path<'_>) -> Result<(), String> {
        let Some(placemark) = self.placemark.take() else {
            return Ok(());
        };
        if placemark.shapes.is_empty() {
            let what = "a placemark has no shape that is read";
            self.remarks.add(what, placemark.name.as_deref(), path.at);
        }
        let word = |key: &str| {
            let mut data = placemark.data.iter();
            data.find(|(have, _)| *have == key)
                .map(|(_, word)| word.clone())
        };
        let label = Label {
            name: placemark.name.clone(),
            kind: KIND_KEYS.iter().find_map(|key| word(key)),
            properties: properties(PROPERTIES.iter().chain(&OUR_DATA), word),
            ..Label::default()
        };
        for shape in placemark.shapes {
            self.things.push(Thing {
                folder: self.open_folders.last().copied(),
                label: label.clone(),
                shape,
            });
        }
        Ok(())
    }

    /// The names of a folder and of those that hold it, outermost first.
    fn names(&self, folder: Option<usize>) -> Vec<String> {
        let mut names = Vec::new();
        let mut next = folder.and_then(|index| self.folders.get(index));
        while let Some(folder) = next {
            names.extend(folder.name.clone());
            next = folder.within.and_then(|index| self.folders.get(index));
        }
        names.reverse();
        names.truncate(GROUPS.most);
        names
    }

    fn found(mut self, bytes: &[u8]) -> Found {
        let mut found = Found::default();
        for thing in std::mem::take(&mut self.things) {
            let label = Label {
                within: self.names(thing.folder),
                ..thing.label
            };
            match thing.shape {
                Shape::Line(positions) => found.lines.push(FoundLine { label, positions }),
                Shape::Area(rings) => found.areas.push(FoundArea { label, rings }),
                Shape::Place(position) => found.places.push(FoundPlace { label, position }),
            }
        }
        found.remarks = self.remarks.sentences(bytes);
        found
    }
}

/// `1 position`, `3 positions`.
fn counted(count: usize, what: &str) -> String {
    let many = if count == 1 { "" } else { "s" };
    format!("{count} {what}{many}")
}

/// Eight hex digits (`colorType` of the schema).
fn is_colour(text: &str) -> bool {
    text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_hexdigit())
}
