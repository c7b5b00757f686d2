//! `output/` holds what the stadium sample makes, byte for byte.
//!
//! `UPDATE_OUTPUT=1` writes it anew.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Every file below a folder by its path, with its bytes.
pub fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
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
fn the_kept_output_is_what_the_stadium_sample_makes() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let kept = top.join("output/stadium");
    let folder = tempfile::tempdir().unwrap();
    let made = if std::env::var_os("UPDATE_OUTPUT").is_some() {
        kept.clone()
    } else {
        folder.path().join("stadium")
    };
    let status = Command::new(env!("CARGO_BIN_EXE_swardlane"))
        .args(["plan", "--quiet", "sample-pitches/stadium", "--out"])
        .arg(&made)
        .current_dir(top)
        .status()
        .unwrap();
    assert!(status.success());
    let (kept, made) = (files(&kept), files(&made));
    assert!(kept.len() > 15, "output/stadium holds a whole plan");
    assert_eq!(
        kept.keys().collect::<Vec<_>>(),
        made.keys().collect::<Vec<_>>(),
        "the same files"
    );
    for (name, bytes) in &kept {
        assert!(
            made[name] == *bytes,
            "output/stadium/{} is not what the sample makes; UPDATE_OUTPUT=1 writes it anew",
            name.display()
        );
    }
}
