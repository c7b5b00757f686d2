//! The pieces that a KML file is put together from: texts, placemarks, folders, styles, shapes.
//!
//! The crate `kml` writes most of it. Where what it writes is not KML 2.2 (OGC 07-147r2), its
//! free-form `Element` is used instead:
//!
//! - it writes `styleUrl` after the shape, but the schema wants it before: it goes among the children;
//! - it writes all holes of a polygon into one `innerBoundaryIs`, but 10.8 allows one ring in
//!   each: polygons are put together here;
//! - it writes no XML declaration: it is put in front;
//! - it keeps attributes in a map without an order: no element gets more than one.

use std::fmt::{Display, Write as _};

use geojson::{GeometryValue, Position};
use kml::types::{
    AltitudeMode, Coord, Element, Folder, Geometry, LabelStyle, LineString, LineStyle,
    MultiGeometry, Placemark, Point, PolyStyle, Style,
};
use kml::{Kml, KmlDocument, KmlVersion, KmlWriter};

use super::xml::{DECLARATION, Xml};
use super::xml_text;
use crate::formats::FormatError;
use crate::formats::lattice::{Degrees, Node, cut_line};

/// The namespace of KML 2.2.
const NAMESPACE: &str = "http://www.opengis.net/kml/2.2";
/// Where a folder of the document begins, with the line feed before it.
const FOLDER: &[u8] = b"\n  <Folder>";

/// A look that several placemarks share. Colours are `aabbggrr`, eight hex digits (the schema's
/// `colorType`).
pub(super) struct Look {
    /// Its id.
    pub id: &'static str,
    /// Of lines and edges.
    pub ink: &'static str,
    /// Of lines and edges, pixels.
    pub width: f64,
    /// Of ground; `None` leaves it clear.
    pub fill: Option<&'static str>,
}

/// An element with text in it.
pub(super) fn text(name: &str, content: &str) -> Element {
    Element {
        name: name.to_owned(),
        content: Some(xml_text(content)),
        ..Element::default()
    }
}

/// An element with others in it.
fn holding(name: &str, children: Vec<Element>) -> Element {
    Element {
        name: name.to_owned(),
        children,
        ..Element::default()
    }
}

/// A look as KML has it: lines, ground, and names in the same ink.
pub(super) fn style(look: &Look) -> Kml {
    Kml::Style(Style {
        id: Some(look.id.to_owned()),
        label: Some(LabelStyle {
            scale: 0.8,
            ..LabelStyle::default()
        }),
        line: Some(LineStyle {
            color: look.ink.to_owned(),
            width: look.width,
            ..LineStyle::default()
        }),
        poly: Some(PolyStyle {
            color: look.fill.unwrap_or("00ffffff").to_owned(),
            fill: look.fill.is_some(),
            ..PolyStyle::default()
        }),
        ..Style::default()
    })
}

/// A folder; its description is left out where there is none.
pub(super) fn folder(name: &str, description: &[String], elements: Vec<Kml>) -> Kml {
    Kml::Folder(Folder {
        name: Some(xml_text(name)),
        description: (!description.is_empty()).then(|| xml_text(&description.join("\n"))),
        elements,
        ..Folder::default()
    })
}

/// One thing with its shape. `data` are names and values for programs.
pub(super) fn placemark(
    name: &str,
    description: &str,
    look: &Look,
    data: &[(&str, String)],
    shape: GeometryValue,
) -> Kml {
    let value = |(name, value): &(&str, String)| Element {
        attrs: std::iter::once(("name".to_owned(), (*name).to_owned())).collect(),
        ..holding("Data", vec![text("value", value)])
    };
    let mut children = vec![
        text("styleUrl", &format!("#{}", look.id)),
        holding("ExtendedData", data.iter().map(value).collect()),
    ];
    let mut geometry = None;
    match shape {
        GeometryValue::Polygon { .. }
        | GeometryValue::MultiPolygon { .. }
        | GeometryValue::GeometryCollection { .. } => children.push(element(&shape)),
        GeometryValue::Point { coordinates } => geometry = Some(point(&coordinates)),
        GeometryValue::MultiPoint { coordinates } => {
            geometry = Some(several(coordinates.iter().map(point)));
        }
        GeometryValue::LineString { coordinates } => geometry = Some(run(&coordinates)),
        GeometryValue::MultiLineString { coordinates } => {
            geometry = Some(several(coordinates.iter().map(|one| run(one))));
        }
    }
    Kml::Placemark(Placemark {
        name: Some(xml_text(name)),
        description: Some(xml_text(description)),
        geometry,
        children,
        ..Placemark::default()
    })
}

fn point(at: &Position) -> Geometry {
    Geometry::Point(Point::from(coord(at)))
}

/// A line that follows the ground: `tessellate` goes with `clampToGround` alone (10.6.2), which
/// is the crate's altitude mode unless another is set.
fn run(positions: &[Position]) -> Geometry {
    Geometry::LineString(LineString {
        coords: positions.iter().map(coord).collect(),
        tessellate: true,
        ..LineString::default()
    })
}

fn several(shapes: impl Iterator<Item = Geometry>) -> Geometry {
    Geometry::MultiGeometry(MultiGeometry::new(shapes.collect()))
}

fn coord(at: &Position) -> Coord {
    Coord::new(at[0], at[1], None)
}

/// A shape put together by hand.
fn element(shape: &GeometryValue) -> Element {
    let many = |children: Vec<Element>| holding("MultiGeometry", children);
    let along = |name: &str, positions: &[Position]| {
        let mut children = follows_the_ground();
        children.push(coordinates(positions));
        holding(name, children)
    };
    match shape {
        GeometryValue::Point { coordinates: at } => {
            holding("Point", vec![coordinates(std::slice::from_ref(at))])
        }
        GeometryValue::MultiPoint { coordinates: all } => {
            let one = |at: &Position| holding("Point", vec![coordinates(std::slice::from_ref(at))]);
            many(all.iter().map(one).collect())
        }
        GeometryValue::LineString { coordinates: run } => along("LineString", run),
        GeometryValue::MultiLineString { coordinates: runs } => {
            many(runs.iter().map(|run| along("LineString", run)).collect())
        }
        GeometryValue::Polygon { coordinates: rings } => polygon(rings),
        GeometryValue::MultiPolygon { coordinates: all } => {
            many(all.iter().map(|rings| polygon(rings)).collect())
        }
        // A thing of several kinds; its parts are none such, so this does not go deep.
        GeometryValue::GeometryCollection { geometries } => {
            many(geometries.iter().map(|one| element(&one.value)).collect())
        }
    }
}

/// A polygon, each hole in a boundary of its own.
fn polygon(rings: &[Vec<Position>]) -> Element {
    let mut children = follows_the_ground();
    for (index, ring) in rings.iter().enumerate() {
        let boundary = if index == 0 {
            "outerBoundaryIs"
        } else {
            "innerBoundaryIs"
        };
        let ring = holding("LinearRing", vec![coordinates(ring)]);
        children.push(holding(boundary, vec![ring]));
    }
    holding("Polygon", children)
}

fn follows_the_ground() -> Vec<Element> {
    vec![
        text("tessellate", "1"),
        text("altitudeMode", "clampToGround"),
    ]
}

fn coordinates(positions: &[Position]) -> Element {
    let at = positions.iter().map(|at| [at[0], at[1]].map(Degrees::of));
    text("coordinates", &tuples(at))
}

/// Places as KML has them, one a line.
fn tuples(places: impl Iterator<Item = [Degrees; 2]>) -> String {
    let mut text = String::new();
    for [lon, lat] in places {
        // Writing to a string does not fail.
        let _ = writeln!(text, "{lon},{lat}");
    }
    text.pop();
    text
}

/// A text of folders for [`file`], as deep as they stand there.
pub(super) fn folders() -> Xml {
    Xml::after("", 2)
}

/// Writes a name and a value for programs.
pub(super) fn data(xml: &mut Xml, name: &str, value: impl Display) {
    xml.begin("Data");
    xml.set("name", name);
    xml.leaf("value", value);
    xml.end();
}

/// Writes a line as the crate does: its pieces, where it is cut at 180 degrees.
pub(super) fn line(xml: &mut Xml, nodes: &[Node]) {
    let runs = cut_line(nodes);
    let is_one = runs.len() == 1;
    if !is_one {
        xml.begin("MultiGeometry");
    }
    for run in &runs {
        xml.begin("LineString");
        xml.leaf("extrude", 0);
        xml.leaf("tessellate", 1);
        xml.leaf("altitudeMode", AltitudeMode::ClampToGround);
        let at = run.iter().map(|at| [at.lon, at.lat].map(Degrees));
        xml.leaf("coordinates", tuples(at));
        xml.end();
    }
    if !is_one {
        xml.end();
    }
}

/// The bytes of a file that holds one document of these elements, and these folders before the
/// first of its own.
pub(super) fn file(elements: Vec<Kml>, folders: &str) -> Result<Vec<u8>, FormatError> {
    let document = Kml::KmlDocument(KmlDocument {
        version: KmlVersion::V22,
        attrs: std::iter::once(("xmlns".to_owned(), NAMESPACE.to_owned())).collect(),
        elements: vec![Kml::Document {
            attrs: Default::default(),
            elements,
        }],
    });
    let mut written = Vec::new();
    let writer = quick_xml::Writer::new_with_indent(&mut written, b' ', 1);
    KmlWriter::new(writer).write(&document)?;
    // No text holds a tag: its brackets are escaped.
    let first = written.windows(FOLDER.len()).position(|tag| tag == FOLDER);
    let (before, after) = written.split_at(first.unwrap_or(written.len()));
    let parts = [
        DECLARATION.as_bytes(),
        b"\n",
        before,
        folders.as_bytes(),
        after,
        b"\n",
    ];
    Ok(parts.concat())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    const LOOK: Look = Look {
        id: "edge",
        ink: "ff005ed5",
        width: 2.0,
        fill: None,
    };

    /// The written text of one placemark, white space between elements taken out.
    fn written(shape: GeometryValue) -> String {
        let data = [("kind", "pitch".to_owned())];
        let one = placemark("pitch", "What is worked.", &LOOK, &data, shape);
        let text = String::from_utf8(file(vec![one], "").unwrap()).unwrap();
        text.lines().map(str::trim).collect()
    }

    fn square(at: f64) -> Vec<[f64; 2]> {
        let [low, high] = [at, at + 1.0];
        vec![
            [low, low],
            [high, low],
            [high, high],
            [low, high],
            [low, low],
        ]
    }

    #[test]
    fn each_hole_has_a_boundary_of_its_own() {
        let shape = GeometryValue::new_polygon([square(0.0), square(0.25), square(0.75)]);
        let text = written(shape);
        assert_eq!(text.matches("<outerBoundaryIs><LinearRing>").count(), 1);
        assert_eq!(text.matches("<innerBoundaryIs><LinearRing>").count(), 2);
        assert_eq!(text.matches("<LinearRing>").count(), 3);
        let in_order = "</ExtendedData><Polygon><tessellate>1</tessellate>\
                        <altitudeMode>clampToGround</altitudeMode><outerBoundaryIs>";
        assert!(text.contains(in_order), "{text}");
    }

    #[test]
    fn the_style_and_the_data_stand_before_the_shape() {
        let text = written(GeometryValue::new_line_string([[1.0, 2.0], [1.5, 2.0]]));
        let in_order = "<name>pitch</name><description>What is worked.</description>\
                        <styleUrl>#edge</styleUrl><ExtendedData><Data name=\"kind\">\
                        <value>pitch</value></Data></ExtendedData><LineString>";
        assert!(text.contains(in_order), "{text}");
        assert!(
            text.contains("<coordinates>1,21.5,2</coordinates>"),
            "{text}"
        );
    }

    #[test]
    fn a_thing_of_several_kinds_is_one_placemark() {
        let kinds = [
            GeometryValue::new_point([1.0, 2.0]),
            GeometryValue::new_multi_point([[1.0, 2.0], [3.0, 4.0]]),
            GeometryValue::new_line_string([[1.0, 2.0], [3.0, 4.0]]),
            GeometryValue::new_multi_line_string([[[1.0, 2.0], [3.0, 4.0]]]),
            GeometryValue::new_multi_polygon([[square(0.0)], [square(5.0)]]),
        ];
        let text = written(GeometryValue::GeometryCollection {
            geometries: kinds.into_iter().map(geojson::Geometry::new).collect(),
        });
        assert_eq!(text.matches("<Placemark>").count(), 1);
        assert_eq!(text.matches("<Point><coordinates>").count(), 3);
        assert_eq!(
            text.matches("<LineString><tessellate>1</tessellate>")
                .count(),
            2
        );
        assert_eq!(text.matches("<Polygon>").count(), 2);
        // One of all, and one of each that is several itself.
        assert_eq!(text.matches("<MultiGeometry>").count(), 4);
    }
}
