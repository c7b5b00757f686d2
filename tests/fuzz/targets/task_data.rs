//! Any bytes as task data, and as an external file of one: what was found, or one fault; never a
//! panic, never a hang.
#![no_main]

use libfuzzer_sys::fuzz_target;
use swardlane::found::task_data;

const MAIN: &[u8] = br#"<ISO11783_TaskData VersionMajor="4" VersionMinor="3"><XFR A="PFD00001" B="1"/></ISO11783_TaskData>"#;

fuzz_target!(|bytes: &[u8]| {
    let others = |_: &str| Some(bytes.to_vec());
    for main in [bytes, MAIN] {
        match task_data::read("TASKDATA.XML", main, &others) {
            Ok(found) => {
                for line in &found.lines {
                    assert!(line.positions.len() >= 2);
                    assert!(line.positions.iter().all(|at| at.lat_deg.abs() <= 90.0 && at.lon_deg.abs() <= 180.0));
                }
                for area in &found.areas {
                    assert!(area.rings.iter().all(|ring| ring.len() >= 3));
                }
            }
            Err(fault) => assert!(!fault.text.is_empty(), "refused without a reason"),
        }
    }
});
