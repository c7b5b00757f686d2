//! The coordinate reference system of a shapefile (`.prj`), and the way from it to degrees.

use super::shapes::Record;
use crate::found::{degrees, limits};
use crate::ground::frame::NamedCrs;
use crate::job::near;
use crate::space::{Position, Xy};

/// The way from the coordinates of the file to degrees.
pub(super) enum System {
    /// WGS84 degrees, as its `.prj` says.
    Degrees,
    /// Nothing says so, but they can be degrees.
    TakenAsDegrees,
    /// Another, by PROJ.
    Named { name: String, crs: NamedCrs },
}

impl System {
    pub(super) fn of(prj: Option<&[u8]>, records: &[Record]) -> Result<Self, String> {
        let Some(prj) = prj else {
            return if records.iter().all(Record::can_be_degrees) {
                Ok(Self::TakenAsDegrees)
            } else {
                Err(
                    "its coordinates are no degrees, and there is no .prj beside it that says of \
                     which system they are; copy that too"
                        .to_owned(),
                )
            };
        };
        let text = std::str::from_utf8(prj).unwrap_or_default();
        let text = text.trim_start_matches('\u{feff}').trim();
        let capitals = text.to_uppercase();
        let is_one = ["GEOGCS[", "GEOGCRS[", "PROJCS[", "PROJCRS["]
            .iter()
            .any(|start| capitals.starts_with(start));
        // An extension may name files to be read.
        if !is_one || prj.len() > limits::PRJ_BYTES.most || capitals.contains("EXTENSION") {
            return Err(
                "its .prj is no plain description of a coordinate reference system; save it again"
                    .to_owned(),
            );
        }
        let is_wgs84 = capitals.contains("WGS_1984") || capitals.contains("WGS 84");
        if capitals.starts_with("GEOG") && is_wgs84 && capitals.contains("\"DEGREE\"") {
            return Ok(Self::Degrees);
        }
        let name = text.split('"').nth(1).unwrap_or_default();
        match NamedCrs::open(text, None) {
            Ok(crs) => Ok(Self::Named {
                name: near::short(name),
                crs,
            }),
            Err(_) => Err(format!(
                "its .prj describes `{}`, which cannot be used; save the file in WGS84 degrees",
                near::short(name)
            )),
        }
    }

    pub(super) fn position(&self, at: Xy) -> Result<Position, String> {
        degrees::finite(at.x, at.y)?;
        let position = match self {
            Self::Degrees | Self::TakenAsDegrees => Position {
                lat_deg: at.y,
                lon_deg: at.x,
            },
            Self::Named { name, crs } => crs.position(at).map_err(|error| {
                format!(
                    "({}, {}) is no place of `{name}` ({}); save the file in WGS84 degrees",
                    at.x,
                    at.y,
                    near::short(&error.to_string())
                )
            })?,
        };
        degrees::checked(position.lon_deg, position.lat_deg)
    }

    /// What there is to say of how exact the positions are.
    pub(super) fn remark(&self) -> Option<String> {
        match self {
            Self::Degrees => None,
            Self::TakenAsDegrees => Some(
                "there is no .prj beside it; the coordinates are taken as WGS84 longitude and \
                 latitude"
                    .to_owned(),
            ),
            Self::Named { name, crs } => Some(match crs.accuracy_m() {
                Some(accuracy_m) => format!(
                    "the coordinates are of `{name}`, transformed with an accuracy of {accuracy_m} m"
                ),
                None => format!(
                    "the coordinates are of `{name}`, transformed with an accuracy that is not known"
                ),
            }),
        }
    }
}
