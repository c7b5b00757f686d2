//! Numbers of a file of another's as positions.

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

/// Two coordinates, whatever their system, that are numbers.
pub(super) fn finite(x: f64, y: f64) -> Result<(), String> {
    if x.is_finite() && y.is_finite() {
        Ok(())
    } else {
        Err("a position is no number; save the file again".to_owned())
    }
}

/// A position whose numbers can be one.
pub(super) fn checked(lon_deg: f64, lat_deg: f64) -> Result<Position, String> {
    finite(lon_deg, lat_deg)?;
    if lat_deg.abs() > 90.0 {
        Err(format!(
            "latitude {lat_deg} is beyond 90 degrees; check that longitude and latitude are not \
             exchanged and that the file is in WGS84 degrees"
        ))
    } else if lon_deg.abs() > 180.0 {
        Err(format!(
            "longitude {lon_deg} is beyond 180 degrees; write it from -180 to 180, in WGS84 degrees"
        ))
    } else {
        Ok(Position { lat_deg, lon_deg })
    }
}
