//! Any bytes as a KML file of others: what is in it, or one fault; never a panic, never a hang.
//! What is found must be what the reader promises.
#![no_main]

use libfuzzer_sys::fuzz_target;
use swardlane::space::Position;

fuzz_target!(|bytes: &[u8]| {
    let is_on_the_globe = |at: &Position| at.lat_deg.abs() <= 90.0 && at.lon_deg.abs() <= 180.0;
    match swardlane::found::kml::read("their.kml", bytes) {
        Ok(found) => {
            for line in &found.lines {
                assert!(line.positions.len() >= 2);
                assert!(line.positions.iter().all(is_on_the_globe));
            }
            for area in &found.areas {
                assert!(!area.rings.is_empty());
                assert!(area.rings.iter().all(|ring| ring.len() >= 3));
                assert!(area.rings.iter().flatten().all(is_on_the_globe));
            }
            assert!(
                found
                    .places
                    .iter()
                    .all(|place| is_on_the_globe(&place.position))
            );
        }
        Err(fault) => assert!(!fault.text.is_empty(), "refused without a reason"),
    }
});
