//! The pitch frame on the globe, and the way between degrees and metres: named reference
//! systems by PROJ, the pitch frame by the same series without PROJ's database, which takes it
//! ten milliseconds to open though a projection needs none of it.
//!
//! | | |
//! |---|---|
//! | forms | WGS84 position <-> pitch metres; named CRS -> WGS84 position |
//! | method | transverse Mercator at the origin, scale 1, WGS84 (`tmerc` of the crate `geodesy`, Poder/Engsager series), turned by the bearing |
//! | domain | latitudes to 84 degrees north and south, any longitude; within some kilometres of the origin |
//! | accuracy | about 1e-9 m there and back; scale within 1e-8 of 1 on a pitch |
//!
//! Core geometry never sees degrees: they exist here and in the writers only.

use geodesy::authoring::OpHandle;
use geodesy::coord::Coor2D;
use geodesy::prelude::{Context as _, Direction, Fwd, Inv, Minimal};
use proj::{Proj, ProjBuilder};

use crate::space::{Heading, Position, Xy};

/// Where the pitch frame lies on the globe. Plain data; [`Frame::open`] makes the live
/// transformation.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// The origin: centre of the fitted rectangle.
    pub origin: Position,
    /// True bearing of +x at the origin.
    pub bearing: Heading,
    /// The CRS the ground file was given in; `None`: WGS84.
    pub crs: Option<String>,
    /// Accuracy of that CRS's transformation, metres; `None` where nothing was
    /// transformed or it is unknown.
    pub crs_accuracy_m: Option<f64>,
}

/// The live transformation of a [`Frame`].
#[derive(Debug)]
pub struct Projector {
    context: Minimal,
    transverse_mercator: OpHandle,
    /// Unit vector of +x in (east, north).
    east: f64,
    north: f64,
}

/// Why a place cannot be taken to or from the pitch frame.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FrameError {
    /// The transformation cannot be made.
    #[error("the transformation cannot be made: {0}")]
    Create(String),
    /// The place is not taken.
    #[error("the place cannot be transformed: {0}")]
    Transform(String),
}

impl Frame {
    /// Opens the transformation between this pitch frame and WGS84.
    ///
    /// # Errors
    /// [`FrameError::Create`] where the origin is refused.
    pub fn open(&self) -> Result<Projector, FrameError> {
        let (sin, cos) = self.bearing.deg().to_radians().sin_cos();
        let Position { lat_deg, lon_deg } = self.origin;
        let mut context = Minimal::default();
        let transverse_mercator = context
            .op(&format!(
                "tmerc lat_0={lat_deg} lon_0={lon_deg} k_0=1 ellps=WGS84"
            ))
            .map_err(|error| FrameError::Create(error.to_string()))?;
        Ok(Projector {
            context,
            transverse_mercator,
            east: sin,
            north: cos,
        })
    }
}

impl Projector {
    /// The place on the globe of a place on the pitch. Longitude in [-180, 180].
    ///
    /// # Errors
    /// [`FrameError::Transform`] where the place lies too far from the frame.
    pub fn position(&self, at: Xy) -> Result<Position, FrameError> {
        let mut place = [self.beside_origin(at)];
        self.take(Inv, &mut place)?;
        let [place] = place;
        Ok(position(place))
    }

    /// The same of many places, in their order: a fraction of the time that each by itself
    /// takes.
    ///
    /// # Errors
    /// [`FrameError::Transform`] where a place lies too far from the frame.
    pub fn positions(
        &self,
        places: impl IntoIterator<Item = Xy>,
    ) -> Result<Vec<Position>, FrameError> {
        let places = places.into_iter().map(|at| self.beside_origin(at));
        let mut places: Vec<Coor2D> = places.collect();
        self.take(Inv, &mut places)?;
        Ok(places.into_iter().map(position).collect())
    }

    /// Metres east and north of the origin.
    fn beside_origin(&self, at: Xy) -> Coor2D {
        Coor2D([
            at.x * self.east - at.y * self.north,
            at.x * self.north + at.y * self.east,
        ])
    }

    /// The place on the pitch of a place on the globe.
    ///
    /// # Errors
    /// [`FrameError::Transform`] where the place lies too far from the frame.
    pub fn pitch(&self, at: Position) -> Result<Xy, FrameError> {
        let mut place = [Coor2D([at.lon_deg.to_radians(), at.lat_deg.to_radians()])];
        self.take(Fwd, &mut place)?;
        let [Coor2D([easting_m, northing_m])] = place;
        Ok(Xy {
            x: easting_m * self.east + northing_m * self.north,
            y: northing_m * self.east - easting_m * self.north,
        })
    }

    /// Takes places between the globe, radians, and metres east and north of the origin.
    fn take(&self, way: Direction, mut places: &mut [Coor2D]) -> Result<(), FrameError> {
        let done = self
            .context
            .apply(self.transverse_mercator, way, &mut places)
            .map_err(|error| FrameError::Transform(error.to_string()))?;
        let is_finite = |Coor2D(place): &Coor2D| place.iter().all(|value| value.is_finite());
        if done == places.len() && places.iter().all(is_finite) {
            Ok(())
        } else {
            Err(FrameError::Transform("it lies too far away".to_owned()))
        }
    }
}

fn position(Coor2D([lon_rad, lat_rad]): Coor2D) -> Position {
    Position {
        lat_deg: lat_rad.to_degrees(),
        lon_deg: lon_rad.to_degrees(),
    }
}

/// The way from a named CRS to WGS84.
#[derive(Debug)]
pub struct NamedCrs {
    to_wgs84: Proj,
}

impl NamedCrs {
    /// Opens the CRS by its name, such as `EPSG:27700`, with an optional folder of grids
    /// that PROJ may use.
    ///
    /// # Errors
    /// [`FrameError::Create`] where PROJ does not know the name or cannot use the folder.
    pub fn open(name: &str, grids: Option<&str>) -> Result<Self, FrameError> {
        let mut builder = ProjBuilder::new();
        if let Some(folder) = grids {
            builder
                .set_search_paths(folder)
                .map_err(|error| FrameError::Create(error.to_string()))?;
        }
        let to_wgs84 = builder
            .proj_known_crs(name, "OGC:CRS84", None)
            .map_err(|error| FrameError::Create(error.to_string()))?;
        Ok(Self { to_wgs84 })
    }

    /// The WGS84 position of a place in file coordinates (easting or longitude first).
    ///
    /// # Errors
    /// [`FrameError::Transform`] where the place lies outside what PROJ can transform.
    pub fn position(&self, at: Xy) -> Result<Position, FrameError> {
        let (lon_deg, lat_deg) = self
            .to_wgs84
            .convert((at.x, at.y))
            .map_err(|error| FrameError::Transform(error.to_string()))?;
        if lon_deg.is_finite() && lat_deg.is_finite() {
            Ok(Position { lat_deg, lon_deg })
        } else {
            Err(FrameError::Transform("no finite place came out".to_owned()))
        }
    }

    /// Accuracy of the transformation used last, metres; `None` where PROJ does not know.
    #[must_use]
    pub fn accuracy_m(&self) -> Option<f64> {
        let accuracy_m = self.to_wgs84.proj_info().accuracy;
        (accuracy_m >= 0.0).then_some(accuracy_m)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::print_stdout)]
    use super::*;

    #[test]
    fn there_and_back_within_a_nanometre_or_so() {
        for (lat_deg, lon_deg) in [(55.3, -3.7), (-45.9, 179.9999), (84.0, 10.0), (0.0, 0.0)] {
            let frame = Frame {
                origin: Position { lat_deg, lon_deg },
                bearing: Heading::from_deg(12.5),
                crs: None,
                crs_accuracy_m: None,
            };
            let projector = frame.open().unwrap();
            let at = Xy { x: 52.5, y: -34.0 };
            let back = projector.pitch(projector.position(at).unwrap()).unwrap();
            assert_eq!(
                projector.positions([at]).unwrap(),
                [projector.position(at).unwrap()]
            );
            approx::assert_abs_diff_eq!(back.x, at.x, epsilon = 1e-8);
            approx::assert_abs_diff_eq!(back.y, at.y, epsilon = 1e-8);
        }
    }

    #[test]
    fn the_british_grid_says_how_exact_it_is() {
        let grid = NamedCrs::open("EPSG:27700", None).unwrap();
        let at = grid
            .position(Xy {
                x: 300_000.0,
                y: 600_000.0,
            })
            .unwrap();
        println!("{at:?} {:?}", grid.accuracy_m());
        assert!(grid.accuracy_m().unwrap() >= 0.1);
        println!("{:?}", NamedCrs::open("EPSG:99999", None));
        println!("{:?}", NamedCrs::open("nonsense", None));
        println!("{:?}", grid.position(Xy { x: 1e9, y: 1e9 }));
    }
}
