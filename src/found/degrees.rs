//! Numbers of a file of another's as positions, and how many of them there may be.

use super::{POSITIONS, THINGS};
use crate::job::near;
use crate::space::Position;

/// A number in decimal digits.
pub(super) fn number(text: &str) -> Result<f64, String> {
    let is_plain = |letter: char| letter.is_ascii_digit() || "+-.eE".contains(letter);
    text.parse::<f64>()
        .ok()
        .filter(|number| number.is_finite() && text.chars().all(is_plain))
        .ok_or_else(|| {
            format!(
                "`{}` is no number; write decimal degrees such as -3.720123456",
                near::short(text)
            )
        })
}

/// A position whose numbers can be one.
pub(super) fn checked(lon_deg: f64, lat_deg: f64) -> Result<Position, String> {
    if lat_deg.abs() > 90.0 {
        Err(format!(
            "latitude {lat_deg} is beyond 90 degrees; check that longitude and latitude are not \
             exchanged and that the file is in WGS84 degrees"
        ))
    } else if lon_deg.abs() > 180.0 {
        Err(format!(
            "longitude {lon_deg} is beyond 180 degrees; write it from -180 to 180"
        ))
    } else {
        Ok(Position { lat_deg, lon_deg })
    }
}

/// Counts positions and things, and refuses what is too many.
#[derive(Default)]
pub(super) struct Tally {
    things: usize,
    positions: usize,
}

impl Tally {
    /// One thing more.
    pub(super) fn thing(&mut self) -> Result<(), String> {
        self.things += 1;
        within(self.things, THINGS, "lines, areas, places and folders")
    }

    /// One position more.
    pub(super) fn position(&mut self) -> Result<(), String> {
        self.positions += 1;
        within(self.positions, POSITIONS, "positions")
    }
}

fn within(count: usize, most: usize, what: &str) -> Result<(), String> {
    if count > most {
        return Err(format!(
            "there are more than {most} {what}; save only what you need from it"
        ));
    }
    Ok(())
}
