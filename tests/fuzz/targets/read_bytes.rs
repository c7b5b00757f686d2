//! Any bytes as a file of another's, by any name: told in words, or refused with a reason; never a
//! panic, never a hang. The first byte chooses the name, so that zips, XML and rubbish under a
//! name that promises something else are all tried.
#![no_main]

use libfuzzer_sys::fuzz_target;
use swardlane::found::told::Told;
use swardlane::found::{self, Bundle, used};

const NAMES: [&str; 6] = [
    "field.zip",
    "field.geojson",
    "field.kml",
    "field.gpx",
    "field.shp",
    "TASKDATA.XML",
];

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else {
        return;
    };
    let file = NAMES[usize::from(*first) % NAMES.len()];
    let bundle = Bundle {
        file: file.to_owned(),
        main: rest.to_vec(),
        ..Bundle::default()
    };
    match found::read(bundle) {
        Ok((format, found)) => {
            assert!(!Told::of(file, format, &found).text().is_empty());
            let _ = used::ground_file(file, &found, None);
        }
        Err(fault) => assert!(!fault.text.is_empty(), "refused without a reason"),
    }
});
