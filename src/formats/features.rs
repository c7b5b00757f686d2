//! GeoJSON (RFC 7946) as this program writes it: a FeatureCollection with one feature a
//! line, so that two plans can be compared line by line.

use geojson::{Feature, Geometry, GeometryValue, JsonObject};
use serde::Serialize;

use super::FormatError;

/// One feature: its properties from a type of the file's own, its shape in degrees.
pub(super) fn feature(
    properties: &impl Serialize,
    shape: GeometryValue,
) -> Result<Feature, FormatError> {
    let properties: JsonObject = match serde_json::to_value(properties)? {
        serde_json::Value::Object(object) => object,
        other => JsonObject::from_iter([("value".to_owned(), other)]),
    };
    Ok(Feature {
        bbox: None,
        geometry: Some(Geometry::new(shape)),
        id: None,
        properties: Some(properties),
        foreign_members: None,
    })
}

/// The bytes of a file of these things, in this order: what stands beside each, and its shape.
pub(super) fn file<P: Serialize>(
    rows: impl IntoIterator<Item = (P, GeometryValue)>,
) -> Result<Vec<u8>, FormatError> {
    let rows = rows.into_iter();
    let features = rows.map(|(properties, shape)| feature(&properties, shape));
    collection(&features.collect::<Result<Vec<_>, _>>()?)
}

/// The bytes of a file of these features, in this order.
pub(crate) fn collection(features: &[Feature]) -> Result<Vec<u8>, FormatError> {
    let mut bytes = b"{\"type\":\"FeatureCollection\",\"features\":[".to_vec();
    for (index, feature) in features.iter().enumerate() {
        bytes.extend_from_slice(if index == 0 { b"\n" } else { b",\n" });
        serde_json::to_writer(&mut bytes, feature)?;
    }
    bytes.extend_from_slice(b"\n]}\n");
    Ok(bytes)
}
