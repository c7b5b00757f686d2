//! The disjoint partition of the pitch into wear zones.

use geo::{Distance, Euclidean, Intersects, MultiPolygon, Point};

use super::shapes::{self, Shape};
use super::{Zone, ZoneKind};
use crate::ground::Ground;
use crate::region;
use crate::warning::{Code, Warning};

/// A marking fits where no corner of it lies further outside than the misfit and this, metres.
const FIT_SLACK_M: f64 = 0.010;
/// Zones of less ground than this are rounding, square metres.
const LEAST_AREA_M2: f64 = 1e-6;
/// Wear class of a wing (common practice, no source).
const WING_WEAR: u8 = 2;

/// Cuts the pitch into disjoint zones by precedence: user zones (later in the file first),
/// then the markings, then the wings. Areas sum to the pitch's within 1e-7 m times the total
/// boundary.
#[must_use]
pub fn partition(ground: &Ground) -> (Vec<Zone>, Vec<Warning>) {
    let mut warnings = Vec::new();
    let mut left = MultiPolygon(vec![ground.outline.clone()]);
    let mut zones: Vec<Zone> = Vec::new();
    let mut take = |kind, name: String, wear, shape: &MultiPolygon<f64>| {
        let (taken, rest) = rayon::join(
            || region::intersection(&left, shape),
            || region::difference(&left, shape),
        );
        left = rest;
        zones.push(Zone {
            name,
            kind,
            wear,
            shape: taken,
            area_m2: 0.0,
        });
    };
    for zone in ground.user_zones.iter().rev() {
        take(ZoneKind::User, zone.name.clone(), zone.wear, &zone.shape);
    }
    for shape in shapes::of_markings(ground) {
        if let Some(outside_m) = sticks_out_m(ground, &shape) {
            warnings.push(Warning::new(
                Code::MarkingLeftOut,
                format!("zone {}", shape.name),
                format!(
                    "it would lie {outside_m:.2} m outside the outline and is left out; its \
                     ground belongs to the zones around it"
                ),
            ));
            continue;
        }
        let shape_ground = MultiPolygon(vec![shape.ground]);
        take(shape.kind, shape.name, shape.wear, &shape_ground);
    }
    for (side, half) in shapes::halves(ground) {
        take(
            ZoneKind::Wing,
            format!("wing-{}", side.name()),
            WING_WEAR,
            &half,
        );
    }
    let mut grounds: Vec<&mut MultiPolygon<f64>> =
        zones.iter_mut().map(|zone| &mut zone.shape).collect();
    region::share_corners(&mut grounds);
    for zone in &mut zones {
        zone.area_m2 = region::area_m2(&zone.shape);
    }
    zones.retain(|zone| zone.kind == ZoneKind::User || zone.area_m2 >= LEAST_AREA_M2);
    (zones, warnings)
}

/// How far the marking sticks out where it does not fit, metres.
pub(super) fn sticks_out_m(ground: &Ground, shape: &Shape) -> Option<f64> {
    let outside = shape.corners.iter().map(|&corner| {
        let corner = Point::from(corner);
        if ground.outline.intersects(&corner) {
            0.0
        } else {
            Euclidean.distance(&ground.outline, &corner)
        }
    });
    let outside_m = outside.fold(0.0, f64::max);
    (outside_m > ground.misfit_m + FIT_SLACK_M).then_some(outside_m)
}
