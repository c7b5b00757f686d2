//! Any text as GeoJSON of another's: told in words, or refused with a reason; never a panic, never
//! a hang. What becomes a ground file must be one.
#![no_main]

use libfuzzer_sys::fuzz_target;
use swardlane::found::told::Told;
use swardlane::found::{self, Bundle, used};

fuzz_target!(|text: &str| {
    let file = "field.geojson";
    let bundle = Bundle {
        file: file.to_owned(),
        main: format!("{{{text}").into_bytes(),
        ..Bundle::default()
    };
    match found::read(bundle) {
        Ok((format, found)) => {
            let told = Told::of(file, format, &found);
            assert!(!told.text().is_empty() && told.json().is_ok());
            let _ = used::ground_file(file, &found, Some("1"));
        }
        Err(fault) => assert!(!fault.text.is_empty(), "refused without a reason"),
    }
});
