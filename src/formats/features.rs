//! GeoJSON (RFC 7946) as this program writes it: a FeatureCollection with one feature a
//! line, so that two plans can be compared line by line.

use geojson::{Feature, GeometryValue};
use serde::Serialize;

use super::FormatError;

/// A file of features, written as they come.
pub(super) struct Features {
    bytes: Vec<u8>,
    is_empty: bool,
}

/// One feature: its shape in degrees, and its properties as the file's own type has them.
#[derive(Serialize)]
#[serde(tag = "type", rename = "Feature")]
struct Row<'a, P> {
    geometry: &'a GeometryValue,
    properties: &'a P,
}

impl Features {
    pub(super) fn new() -> Self {
        Self {
            bytes: b"{\"type\":\"FeatureCollection\",\"features\":[".to_vec(),
            is_empty: true,
        }
    }

    /// Adds a thing: what stands beside it, and its shape in degrees.
    pub(super) fn add(
        &mut self,
        properties: &impl Serialize,
        geometry: &GeometryValue,
    ) -> Result<(), FormatError> {
        self.write(&Row {
            geometry,
            properties,
        })
    }

    fn write(&mut self, feature: &impl Serialize) -> Result<(), FormatError> {
        let before: &[u8] = if self.is_empty { b"\n" } else { b",\n" };
        self.bytes.extend_from_slice(before);
        self.is_empty = false;
        Ok(serde_json::to_writer(&mut self.bytes, feature)?)
    }

    /// The bytes of the file.
    pub(super) fn end(mut self) -> Vec<u8> {
        self.bytes.extend_from_slice(b"\n]}\n");
        self.bytes
    }
}

/// The bytes of a file of these features, in this order.
pub(crate) fn collection(features: &[Feature]) -> Result<Vec<u8>, FormatError> {
    let mut file = Features::new();
    for feature in features {
        file.write(feature)?;
    }
    Ok(file.end())
}
