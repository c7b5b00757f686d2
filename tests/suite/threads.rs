//! The same job gives the same bytes, whatever the number of threads.

use std::path::Path;
use std::process::Command;

use crate::output::files;

#[test]
fn one_thread_and_eight_write_the_same_bytes() {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-pitches");
    let written = ["1", "8"].map(|threads| {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let status = Command::new(env!("CARGO_BIN_EXE_swardlane"))
            .args(["plan", "--quiet", "--effort", "quick", "--out"])
            .arg(&out)
            .arg(&samples)
            .env("RAYON_NUM_THREADS", threads)
            .status()
            .unwrap();
        assert!(status.success());
        files(&out)
    });
    assert!(written[0].len() > 30, "all three samples were written");
    assert!(written[0] == written[1]);
}
