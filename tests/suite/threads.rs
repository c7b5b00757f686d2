//! The same job gives the same bytes, whatever the number of threads.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Every file below a folder by its path, with its bytes.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut out = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_owned();
                out.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    out
}

#[test]
fn one_thread_and_eight_write_the_same_bytes() {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-pitches");
    let written = ["1", "8"].map(|threads| {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let status = Command::new(env!("CARGO_BIN_EXE_swardlane"))
            .args(["plan", "--quiet", "--out"])
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
