//! The pitch frame on the globe.
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
pub struct Projector;

/// Why a place cannot be taken to or from the pitch frame.
#[derive(Debug)]
pub struct FrameError;

impl Frame {
    /// Opens the transformation between this pitch frame and WGS84.
    pub fn open(&self) -> Result<Projector, FrameError> {
        Ok(Projector)
    }
}

impl Projector {
    /// The place on the globe of a place on the pitch.
    pub fn position(&self, _at: Xy) -> Result<Position, FrameError> {
        Err(FrameError)
    }

    /// The place on the pitch of a place on the globe.
    pub fn pitch(&self, _at: Position) -> Result<Xy, FrameError> {
        Err(FrameError)
    }
}
