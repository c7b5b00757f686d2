//! Any text as a ground file: a checked job, or its faults;
//! never a panic, never a hang. What is accepted must also be laid down without a panic.
#![no_main]

use libfuzzer_sys::fuzz_target;

const JOB: &str = r#"
name = "fuzzed ground"

[pitch]
run_off_m = { touch = 4.0, goal = 4.0 }

[ground]
file = "ground.geojson"

[implement.brush]
working_width_m = 2.0
speed_km_h = 6.0

[[operation]]
id = "brush"
task = "brush"
implement = "brush"
"#;

fuzz_target!(|text: &str| {
    match swardlane::job::read("job.toml", JOB, |_| Ok(text.to_owned())) {
        Ok(job) => drop(swardlane::ground::lay(&job)),
        Err(faults) => assert!(!faults.0.is_empty(), "refused without a reason"),
    }
});
