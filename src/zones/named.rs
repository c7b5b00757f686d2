//! The grounds that one zone word names, for work by hand.

use geo::MultiPolygon;

use super::target::{Asker, is_left_out, region_ground, unknown_here};
use super::{Zone, ZoneKind};
use crate::fault::Fault;
use crate::ground::Ground;
use crate::job::model::Job;

/// Ground with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedGround {
    /// The zone or region.
    pub name: String,
    /// Its ground, pitch metres.
    pub shape: MultiPolygon<f64>,
}

/// The grounds of a word: the region or zone of that name, or every zone of that kind. Empty
/// where this pitch has left them out.
///
/// `what` (such as ``hand work `fork` ``) and `key` (of the job) are for the message.
///
/// # Errors
/// A word that means nothing on this pitch.
pub fn named(
    job: &Job,
    ground: &Ground,
    zones: &[Zone],
    word: &str,
    (what, key): (&str, &str),
) -> Result<Vec<NamedGround>, Fault> {
    if let Some(shape) = region_ground(ground, word) {
        return Ok(vec![NamedGround {
            name: word.to_owned(),
            shape,
        }]);
    }
    let named = zones
        .iter()
        .filter(|zone| zone.name == word || zone.kind.name() == word);
    let grounds: Vec<NamedGround> = named
        .map(|zone| NamedGround {
            name: zone.name.clone(),
            shape: zone.shape.clone(),
        })
        .collect();
    let is_kind = ZoneKind::ALL.iter().any(|kind| kind.name() == word);
    if grounds.is_empty() && !is_kind && !is_left_out(ground, word) {
        let asker = Asker {
            what: what.to_owned(),
            key: key.to_owned(),
        };
        return Err(unknown_here(job, &asker, ground, word));
    }
    Ok(grounds)
}
