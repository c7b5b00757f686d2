//! A box of degrees about things, and how far places on the globe lie apart.

use crate::found::seam::{beside, folded};
use crate::space::Position;

/// Mean radius of the earth, metres (IUGG), for distances between sites.
const EARTH_M: f64 = 6_371_008.8;

/// A box of degrees. Longitudes run on past 180 beside a thing there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Extent {
    pub lat: [f64; 2],
    pub lon: [f64; 2],
}

impl Extent {
    pub(super) fn at(at: &Position) -> Self {
        Self {
            lat: [at.lat_deg; 2],
            lon: [at.lon_deg; 2],
        }
    }

    pub(super) fn of<'a>(positions: impl IntoIterator<Item = &'a Position>) -> Option<Self> {
        let mut positions = positions.into_iter();
        let mut extent = Self::at(positions.next()?);
        positions.for_each(|at| extent.widen(&Self::at(at)));
        Some(extent)
    }

    pub(super) fn widen(&mut self, other: &Self) {
        let shift = beside(other.lon[0], self.lon[0]) - other.lon[0];
        self.lat = [self.lat[0].min(other.lat[0]), self.lat[1].max(other.lat[1])];
        self.lon = [
            self.lon[0].min(other.lon[0] + shift),
            self.lon[1].max(other.lon[1] + shift),
        ];
    }

    pub(super) fn middle(&self) -> Position {
        Position {
            lat_deg: f64::midpoint(self.lat[0], self.lat[1]),
            lon_deg: folded(f64::midpoint(self.lon[0], self.lon[1])),
        }
    }
}

/// Along a great circle of the mean sphere, metres (haversine).
pub(super) fn distance_m(one: &Position, other: &Position) -> f64 {
    let (lat, lat_other) = (one.lat_deg.to_radians(), other.lat_deg.to_radians());
    let half_lat = (lat_other - lat) / 2.0;
    let half_lon = (other.lon_deg - one.lon_deg).to_radians() / 2.0;
    let h = half_lat.sin().powi(2) + lat.cos() * lat_other.cos() * half_lon.sin().powi(2);
    2.0 * EARTH_M * h.clamp(0.0, 1.0).sqrt().asin()
}
