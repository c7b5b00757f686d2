//! Any text as a job file: a checked job, or its faults; never a panic, never a hang.
#![no_main]

use libfuzzer_sys::fuzz_target;
use swardlane::fault::Fault;

fuzz_target!(|text: &str| {
    let no_ground = |name: &str| {
        Err(Fault {
            file: name.to_owned(),
            place: String::new(),
            text: "there is none".to_owned(),
        })
    };
    if let Err(faults) = swardlane::job::read("job.toml", text, no_ground) {
        assert!(!faults.0.is_empty(), "refused without a reason");
        assert!(!faults.to_string().is_empty());
    }
});
