//! The pieces that a KML file is put together from: texts, placemarks, folders, styles, shapes.
//!
//! The crate `kml` writes most of it. Where what it writes is not KML 2.2 (OGC 07-147r2), its
//! free-form `Element` is used instead:
//!
//! - it writes `styleUrl` after the shape, but 9.1 wants it before: it goes among the children;
//! - it writes all holes of a polygon into one `innerBoundaryIs`, but 10.8 allows one ring in
//!   each: polygons are put together here;
//! - it writes no XML declaration: it is put in front;
//! - it keeps attributes in a map without an order: no element gets more than one.

use geojson::{GeometryValue, Position};
use kml::types::{
    Coord, Element, Folder, Geometry, LabelStyle, LineString, LineStyle, MultiGeometry, Placemark,
    Point, PolyStyle, Style,
};
use kml::{Kml, KmlDocument, KmlVersion, KmlWriter};

use super::xml_text;
use crate::formats::FormatError;

/// The namespace of KML 2.2 (clause 6.1).
const NAMESPACE: &str = "http://www.opengis.net/kml/2.2";
/// Before everything else; the crate writes none.
const DECLARATION: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";

/// A look that several placemarks share. Colours are `aabbggrr`, eight hex digits (clause 16.9).
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

/// One thing with its shape. `data` are names and values for programs (clause 9.4).
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
        GeometryValue::LineString { coordinates } => geometry = Some(line(&coordinates)),
        GeometryValue::MultiLineString { coordinates } => {
            geometry = Some(several(coordinates.iter().map(|run| line(run))));
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
fn line(run: &[Position]) -> Geometry {
    Geometry::LineString(LineString {
        coords: run.iter().map(coord).collect(),
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
    let tuples: Vec<String> = positions.iter().map(|at| coord(at).to_string()).collect();
    text("coordinates", &tuples.join("\n"))
}

/// The bytes of a file that holds one document.
pub(super) fn file(elements: Vec<Kml>) -> Result<Vec<u8>, FormatError> {
    let document = Kml::KmlDocument(KmlDocument {
        version: KmlVersion::V22,
        attrs: std::iter::once(("xmlns".to_owned(), NAMESPACE.to_owned())).collect(),
        elements: vec![Kml::Document {
            attrs: Default::default(),
            elements,
        }],
    });
    let mut bytes = DECLARATION.as_bytes().to_vec();
    let writer = quick_xml::Writer::new_with_indent(&mut bytes, b' ', 1);
    KmlWriter::new(writer).write(&document)?;
    bytes.push(b'\n');
    Ok(bytes)
}
