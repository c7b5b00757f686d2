//! A folder to try the built command in, and what came of it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A small pitch with a position: an overlap, a round, a direction that misses nothing.
pub const JOB: &str = r#"name = "Larkmoor"
[pitch]
length_m = 60.0
width_m = 40.0
centre = { lat_deg = 55.312, lon_deg = -3.72 }
bearing_deg = 12.5
run_off_m = { touch = 4.0, goal = 4.0 }
[ground]
file = "ground.geojson"
[implement.mower]
working_width_m = 2.0
overlap_m = 0.1
speed_km_h = 6.0
[[operation]]
id = "mow"
task = "mow"
implement = "mower"
perimeter_rounds = 1
directions = ["along", "diagonal_left"]
[[operation]]
id = "spike"
task = "spike"
implement = "mower"
zones = ["goalmouth"]
directions = ["across"]
"#;

/// A tree on the pitch, a sprinkler head, a gate, a zone and a stand.
pub const GROUND: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"role":"obstacle","name":"old oak","clearance_m":1.5},
 "geometry":{"type":"Point","coordinates":[-3.7201,55.3121]}},
{"type":"Feature","properties":{"role":"head","name":"head 1"},
 "geometry":{"type":"Point","coordinates":[-3.71995,55.31195]}},
{"type":"Feature","properties":{"role":"entrance"},
 "geometry":{"type":"Point","coordinates":[-3.7203,55.3123]}},
{"type":"Feature","properties":{"role":"zone","name":"wet-corner","wear":5},
 "geometry":{"type":"Polygon","coordinates":[[[-3.72,55.312],[-3.7199,55.312],[-3.7199,55.31207],[-3.72,55.31207],[-3.72,55.312]]]}},
{"type":"Feature","properties":{"role":"stand","name":"Mill stand","height_m":9.5},
 "geometry":{"type":"LineString","coordinates":[[-3.7196,55.3117],[-3.7195,55.3122]]}}
]}"#;

pub struct Workbench {
    folder: tempfile::TempDir,
}

impl Workbench {
    /// A folder with nothing in it.
    pub fn empty() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    /// A folder with the job `ground` in it.
    pub fn new() -> Self {
        let bench = Self::empty();
        bench.put("ground/job.toml", JOB);
        bench.put("ground/ground.geojson", GROUND);
        bench
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn put(&self, name: &str, text: &str) {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    pub fn put_bytes(&self, name: &str, bytes: &[u8]) {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }

    pub fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    pub fn json(&self, name: &str) -> serde_json::Value {
        serde_json::from_str(&self.text(name)).unwrap()
    }

    /// The command, in this folder, with nothing around it that changes what it prints.
    pub fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_swardlane"));
        command
            .current_dir(self.folder.path())
            .env_remove("NO_COLOR")
            .env("COLUMNS", "100");
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Output {
        self.command().args(arguments).output().unwrap()
    }

    /// Runs what must succeed, and gives its standard output.
    pub fn done(&self, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        let errors = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {errors}");
        String::from_utf8(output.stdout).unwrap()
    }

    /// Runs what must be refused with this message, word for word, and demands that
    /// nothing was printed besides and nothing changed on the disk.
    pub fn refused(&self, arguments: &[&str], message: &str) {
        let before = self.all();
        let output = self.run(arguments);
        assert_eq!(
            String::from_utf8_lossy(&output.stderr),
            message,
            "{arguments:?}"
        );
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert_eq!(String::from_utf8_lossy(&output.stdout), "", "{arguments:?}");
        assert!(before == self.all(), "{arguments:?} changed files");
    }

    /// Everything below the folder, hidden names too: paths and bytes, `None` for folders.
    pub fn all(&self) -> BTreeMap<String, Option<Vec<u8>>> {
        all_below(self.folder.path())
    }

    /// Names below a folder of the bench, in order.
    pub fn names(&self, folder: &str) -> Vec<String> {
        all_below(&self.path(folder)).into_keys().collect()
    }
}

fn all_below(root: &Path) -> BTreeMap<String, Option<Vec<u8>>> {
    let mut all = BTreeMap::new();
    let mut open = vec![root.to_owned()];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(root).unwrap().display().to_string();
            if path.is_dir() {
                all.insert(name, None);
                open.push(path);
            } else {
                all.insert(name, Some(std::fs::read(&path).unwrap()));
            }
        }
    }
    all
}
