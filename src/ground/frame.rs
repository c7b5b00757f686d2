//! The pitch frame on the globe, and the way between degrees and metres, by PROJ.
//!
//! | | |
//! |---|---|
//! | forms | WGS84 position <-> pitch metres; named CRS -> WGS84 position |
//! | method | transverse Mercator at the origin, scale 1, WGS84 (PROJ `tmerc`, Poder/Engsager series), turned by the bearing |
//! | domain | latitudes to 84 degrees north and south, any longitude; within some kilometres of the origin |
//! | accuracy | about 1e-9 m there and back; scale within 1e-8 of 1 on a pitch |
//!
//! Core geometry never sees degrees: they exist here and in the writers only.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Once;

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
    transverse_mercator: Rc<Proj>,
    /// Unit vector of +x in (east, north).
    east: f64,
    north: f64,
}

/// Why a place cannot be taken to or from the pitch frame.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FrameError {
    /// PROJ does not make the transformation.
    #[error("PROJ cannot make the transformation: {0}")]
    Create(String),
    /// PROJ does not take the place.
    #[error("PROJ cannot transform the place: {0}")]
    Transform(String),
}

impl Frame {
    /// Opens the transformation between this pitch frame and WGS84.
    ///
    /// # Errors
    /// [`FrameError::Create`] where PROJ refuses the origin.
    pub fn open(&self) -> Result<Projector, FrameError> {
        let (sin, cos) = self.bearing.deg().to_radians().sin_cos();
        Ok(Projector {
            transverse_mercator: made(definition(self.origin))?,
            east: sin,
            north: cos,
        })
    }
}

/// Has PROJ open its database, which takes it about ten milliseconds: so that it is open when
/// the first frame is. To be called on another thread while a job is read. The thread keeps
/// its projection, and with it the database stays open for all threads. Works once in a
/// program, and not on a thread that has made a projection: that would be dropped for this.
pub fn warm_up() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        if LAST.with_borrow(Option::is_none) {
            let anywhere = Position {
                lat_deg: 0.0,
                lon_deg: 0.0,
            };
            // What is wrong shows where a frame is opened.
            let _ = made(definition(anywhere));
        }
    });
}

/// The transverse Mercator about an origin, in PROJ's words.
fn definition(origin: Position) -> String {
    // The algorithm is named, so that no configuration file of PROJ's can change it.
    format!(
        "+proj=tmerc +algo=poder_engsager +lat_0={:?} +lon_0={:?} +k=1 +ellps=WGS84",
        origin.lat_deg, origin.lon_deg
    )
}

thread_local! {
    /// The projection made last on this thread, with its definition.
    static LAST: RefCell<Option<(String, Rc<Proj>)>> = const { RefCell::new(None) };
}

/// The projection of a definition. PROJ opens its database to make the first, though it needs
/// none for this, and forgets it again when one is dropped; a plan and its files need the same
/// one: so the last is kept.
fn made(definition: String) -> Result<Rc<Proj>, FrameError> {
    LAST.with_borrow_mut(|last| {
        if let Some((same, projection)) = last
            && *same == definition
        {
            return Ok(Rc::clone(projection));
        }
        let projection =
            Proj::new(&definition).map_err(|error| FrameError::Create(error.to_string()))?;
        let projection = Rc::new(projection);
        *last = Some((definition, Rc::clone(&projection)));
        Ok(projection)
    })
}

impl Projector {
    /// The place on the globe of a place on the pitch. Longitude in [-180, 180].
    ///
    /// # Errors
    /// [`FrameError::Transform`] where PROJ does not take the place.
    pub fn position(&self, at: Xy) -> Result<Position, FrameError> {
        let easting_m = at.x * self.east - at.y * self.north;
        let northing_m = at.x * self.north + at.y * self.east;
        let (lon_rad, lat_rad): (f64, f64) = self
            .transverse_mercator
            .project((easting_m, northing_m), true)
            .map_err(|error| FrameError::Transform(error.to_string()))?;
        Ok(Position {
            lat_deg: lat_rad.to_degrees(),
            lon_deg: lon_rad.to_degrees(),
        })
    }

    /// The place on the pitch of a place on the globe.
    ///
    /// # Errors
    /// [`FrameError::Transform`] where PROJ does not take the place.
    pub fn pitch(&self, at: Position) -> Result<Xy, FrameError> {
        let (easting_m, northing_m) = self
            .transverse_mercator
            .project((at.lon_deg.to_radians(), at.lat_deg.to_radians()), false)
            .map_err(|error| FrameError::Transform(error.to_string()))?;
        Ok(Xy {
            x: easting_m * self.east + northing_m * self.north,
            y: northing_m * self.east - easting_m * self.north,
        })
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
