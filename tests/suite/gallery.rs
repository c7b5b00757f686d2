//! `docs/gallery/` shows sheets of the samples as they are made today, byte for byte, and
//! its page names each of them.
//!
//! `UPDATE_GALLERY=1` writes them anew.

use std::path::Path;
use std::process::Command;

/// The sheets that are shown: the sample and the sheet of it.
const SHOWN: [(&str, &str); 7] = [
    ("municipal", "map-mow-grass-rounds.svg"),
    ("municipal", "map-slit-along.svg"),
    ("municipal", "map-zones.svg"),
    ("stadium", "hand-swap-south-goalmouth.svg"),
    ("stadium", "map-strip-along.svg"),
    ("stadium", "map-zones.svg"),
    ("training-ground", "map-zones.svg"),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn text(name: &str) -> String {
    std::fs::read_to_string(root().join(name)).unwrap()
}

#[test]
fn the_gallery_shows_what_the_samples_make() {
    let folder = tempfile::tempdir().unwrap();
    let status = Command::new(env!("CARGO_BIN_EXE_swardlane"))
        .args([
            "plan",
            "--quiet",
            "--no-route",
            "--only",
            "sheets",
            "sample-pitches",
            "--out",
        ])
        .arg(folder.path())
        .current_dir(root())
        .status()
        .unwrap();
    assert!(status.success());
    for (sample, sheet) in SHOWN {
        let made = std::fs::read(folder.path().join(sample).join("sheets").join(sheet)).unwrap();
        let kept = root().join(format!("docs/gallery/{sample}-{sheet}"));
        if std::env::var_os("UPDATE_GALLERY").is_some() {
            std::fs::write(&kept, &made).unwrap();
        }
        assert!(
            std::fs::read(&kept).is_ok_and(|kept| kept == made),
            "{} is not what the sample makes; UPDATE_GALLERY=1 writes it anew",
            kept.display()
        );
    }
}

#[test]
fn the_gallery_holds_nothing_else_and_its_page_names_each_sheet() {
    let mut names: Vec<String> = std::fs::read_dir(root().join("docs/gallery"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    let shown = SHOWN.map(|(sample, sheet)| format!("{sample}-{sheet}"));
    let mut expected = vec!["README.md".to_owned()];
    expected.extend(shown.iter().cloned());
    assert_eq!(names, expected);
    let page = text("docs/gallery/README.md");
    for sheet in &shown {
        assert!(page.contains(&format!("- [{sheet}]({sheet}): ")), "{sheet}");
    }
}

#[test]
fn readers_are_led_to_the_gallery() {
    assert!(text("README.md").contains("(docs/gallery/README.md)"));
    assert!(text("docs/sheets.md").contains("(gallery/README.md)"));
}
