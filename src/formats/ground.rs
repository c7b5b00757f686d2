//! `ground.geojson`: the ground as it was given or made, with roles, so that the file can
//! be read as a ground file again. The pitch stands first, without its holes: each hole
//! is a no-go of clearance 0.

use geo::{Geometry, MultiPolygon};
use geojson::GeometryValue;
use serde::Serialize;

use super::features::Features;
use super::globe::Globe;
use super::{FormatError, figure};
use crate::ground::{Kept, Stand};
use crate::job::model::Role;
use crate::plan::Plan;

/// What stands beside a shape, in the order of the letters, as in every file. Keys that do not
/// fit the role are left out.
#[derive(Debug, Default, Serialize)]
pub(super) struct Properties<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<&'a str>,
    pub role: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wear: Option<u8>,
}

impl<'a> Properties<'a> {
    fn role(role: &'static str) -> Self {
        Self {
            role,
            ..Self::default()
        }
    }

    fn kept(kept: &'a Kept) -> Self {
        let depth_m = match kept.role {
            Role::Service { depth_m } => depth_m.map(figure),
            _ => None,
        };
        // How far the tool keeps off a service is no property of it but of the work.
        let is_service = matches!(kept.role, Role::Service { .. });
        Self {
            name: kept.name.as_deref(),
            clearance_m: (!is_service).then(|| figure(kept.clearance_m)),
            depth_m,
            ..Self::role(kept.role.name())
        }
    }

    fn stand(stand: &'a Stand) -> Self {
        Self {
            name: stand.name.as_deref(),
            height_m: stand.height_m.map(figure),
            ..Self::role("stand")
        }
    }
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Features::new();
    for (properties, shape) in rows(plan, globe)? {
        features.add(&properties, &shape)?;
    }
    Ok(features.end())
}

/// What stands beside each thing, and its shape in degrees, in the order of the file.
pub(super) fn rows<'a>(
    plan: &'a Plan,
    globe: &Globe,
) -> Result<Vec<(Properties<'a>, GeometryValue)>, FormatError> {
    let ground = &plan.ground;
    let outline = MultiPolygon(vec![ground.outline.clone()]);
    let mut rows = Vec::new();
    for (role, shape) in [("pitch", &outline), ("run_off", &ground.grass)] {
        if let Some(value) = globe.ground(shape, super::LEAST_PIECE_M2)? {
            rows.push((Properties::role(role), value));
        }
    }
    for kept in &ground.kept {
        rows.push((Properties::kept(kept), globe.thing(&kept.shape)?));
    }
    for entrance in &ground.entrances {
        rows.push((Properties::role("entrance"), globe.thing(entrance)?));
    }
    for zone in &ground.user_zones {
        let properties = Properties {
            name: Some(&zone.name),
            wear: Some(zone.wear),
            ..Properties::role("zone")
        };
        let shape = Geometry::MultiPolygon(zone.shape.clone());
        rows.push((properties, globe.thing(&shape)?));
    }
    for stand in &ground.stands {
        rows.push((Properties::stand(stand), globe.thing(&stand.shape)?));
    }
    Ok(rows)
}
