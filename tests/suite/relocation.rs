//! Does the built command stand by itself? Copied to an empty folder with nothing but the
//! sample in a national grid, and with the build tree out of its sight, it must plan, say
//! how exact its positions are, and have them where other programs have them.
//!
//! The map-projection library carries the path of the folder that it was built in, and
//! looks there first. Two ways keep it from that folder:
//! - in a mount namespace of its own an empty file system lies over the build tree, so that
//!   it is not there at all; this needs `unshare` and a system that lets it;
//! - `PROJ_DATA` names an empty folder, which the library then searches in place of its own;
//!   a damaged database in that folder proves that it does.
//!
//! The second way always runs, the first where it can; the test prints which did.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde::Deserialize;

/// Mounts an empty file system over each folder named, makes sure that the library's data is
/// gone, then runs the command with an empty environment.
const HIDDEN: &str = r#"
data=$1; shift
while [ "$1" != -- ]; do
    if [ -e "$1" ]; then mount -t tmpfs none "$1" || exit 71; fi
    shift
done
shift
if [ -e "$data/proj.db" ]; then echo "the build tree is still there" >&2; exit 72; fi
exec env -i "$@"
"#;

/// What the library's folder of data ends in.
const DATA_FOLDER: &[u8] = b"/out/share/proj\0";

#[derive(Deserialize)]
struct Places {
    place: Vec<Place>,
}

/// A surveyed place and where it lies by two other programs.
#[derive(Deserialize)]
struct Place {
    of: String,
    by_helmert: Position,
    by_grid: Position,
}

#[derive(Clone, Copy, Deserialize)]
struct Position {
    lon_deg: f64,
    lat_deg: f64,
}

impl Position {
    /// Distance on the globe, flat around the place: right to a millimetre within metres.
    fn distance_m(self, other: Self) -> f64 {
        // Metres of a degree at 55.3 degrees north, from the radii of curvature of WGS84.
        let (of_lat_m, of_lon_m) = (111_340.0, 63_510.0);
        let east_m = (other.lon_deg - self.lon_deg) * of_lon_m;
        east_m.hypot((other.lat_deg - self.lat_deg) * of_lat_m)
    }
}

/// An empty folder with the command and the municipal sample in it, and nothing else.
fn moved() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let sample = root().join("sample-pitches/municipal");
    let to = folder.path().join("municipal");
    std::fs::create_dir(&to).unwrap();
    for name in ["job.toml", "ground.geojson"] {
        std::fs::copy(sample.join(name), to.join(name)).unwrap();
    }
    std::fs::copy(built(), folder.path().join("swardlane")).unwrap();
    folder
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn built() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_swardlane"))
}

/// Where the library was told, when it was built, that its data lies.
fn data_folder() -> PathBuf {
    let bytes = std::fs::read(built()).unwrap();
    let end = bytes
        .windows(DATA_FOLDER.len())
        .position(|window| window == DATA_FOLDER)
        .expect("the command carries the path of its library's data")
        + DATA_FOLDER.len()
        - 1;
    let start = bytes[..end].iter().rposition(|byte| *byte == 0).unwrap() + 1;
    // Another text may stand right before the path, without a zero between them.
    let text = &bytes[start..end];
    let begins = (0..text.len()).filter(|at| text[*at] == b'/');
    let paths = begins.map(|at| PathBuf::from(String::from_utf8_lossy(&text[at..]).as_ref()));
    let mut folders = paths.filter(|path| path.is_dir());
    folders.next().expect("the library's data lies there")
}

/// Plans in a namespace in which the build tree is not there; `None` where there is none.
fn plan_with_the_tree_hidden(folder: &Path) -> Option<Output> {
    let probe = Command::new("unshare").args(["-rm", "true"]).output();
    if !probe.is_ok_and(|probe| probe.status.success()) {
        return None;
    }
    let data = data_folder();
    let target = built().parent().and_then(Path::parent).unwrap();
    for hidden in [root(), target, &data] {
        assert!(!folder.starts_with(hidden), "the copy lies in the tree");
    }
    let output = Command::new("unshare")
        .args(["-rm", "sh", "-c", HIDDEN, "sh"])
        .args([&data, root(), target, &data])
        .args(["--", "./swardlane", "plan", "municipal", "--no-route"])
        .current_dir(folder)
        .output();
    Some(output.unwrap())
}

/// Plans with an empty environment but for a folder that the library searches in place of
/// its own.
fn plan_with_data_in(data: &Path, folder: &Path) -> Output {
    Command::new(folder.join("swardlane"))
        .args(["plan", "municipal", "--no-route"])
        .env_clear()
        .env("PROJ_DATA", data)
        .env("HOME", data)
        .current_dir(folder)
        .output()
        .unwrap()
}

/// The plan in `output/municipal` states its accuracy, warns of it, and lies within it.
fn check_plan(output: &Output, folder: &Path) {
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{errors}");
    assert!(
        errors.contains("warning: ground.crs: positions from `EPSG:27700` are known only to 2 m"),
        "{errors}"
    );
    let read = |name: &str| -> serde_json::Value {
        let text = std::fs::read_to_string(folder.join("output/municipal").join(name)).unwrap();
        serde_json::from_str(&text).unwrap()
    };
    let summary = read("summary.json");
    let stated_m = summary["frame"]["crs_accuracy_m"].as_f64().unwrap();
    let warnings = summary["warnings"].as_array().unwrap();
    assert!(
        warnings
            .iter()
            .any(|warning| warning["code"] == "position_accuracy")
    );

    let ground = read("ground.geojson");
    let text = std::fs::read_to_string(root().join("tests/relocation/positions.toml")).unwrap();
    let places: Places = toml::from_str(&text).unwrap();
    assert!(places.place.len() >= 9, "{} places", places.place.len());
    let mut furthest_m = 0.0_f64;
    for place in &places.place {
        let nearest_m = |to: Position| {
            let away = positions(&ground, &place.of).map(|at| at.distance_m(to));
            away.fold(f64::INFINITY, f64::min)
        };
        // The same formula in another program, to the written digits.
        let by_helmert_m = nearest_m(place.by_helmert);
        assert!(by_helmert_m < 1e-3, "{}: {by_helmert_m} m", place.of);
        // Another method, ten times as exact, within what the plan says of itself.
        let by_grid_m = nearest_m(place.by_grid);
        assert!(by_grid_m <= stated_m, "{}: {by_grid_m} m", place.of);
        furthest_m = furthest_m.max(by_grid_m);
    }
    // A tenth of a metre is not what such positions can promise.
    assert!(furthest_m > 0.1, "{furthest_m} m");
}

/// All positions of the feature of that name or role.
fn positions<'a>(
    ground: &'a serde_json::Value,
    of: &'a str,
) -> impl Iterator<Item = Position> + 'a {
    let features = ground["features"].as_array().unwrap().iter();
    features
        .filter(move |feature| {
            let properties = &feature["properties"];
            properties["name"] == of || properties["role"] == of
        })
        .flat_map(|feature| {
            let coordinates = &feature["geometry"]["coordinates"];
            match coordinates[0][0].as_array() {
                Some(_) => coordinates[0].as_array().unwrap().clone(),
                None => vec![coordinates.clone()],
            }
        })
        .map(|at| Position {
            lon_deg: at[0].as_f64().unwrap(),
            lat_deg: at[1].as_f64().unwrap(),
        })
}

#[test]
#[allow(clippy::print_stdout)] // which way was used is to be seen
fn the_command_alone_plans_a_national_grid_within_the_accuracy_that_it_states() {
    let folder = moved();
    let data = tempfile::tempdir().unwrap();
    // The library looks into this folder and into no other: what is wrong there is all it has.
    std::fs::write(data.path().join("proj.db"), "no database").unwrap();
    let misled = plan_with_data_in(data.path(), folder.path());
    assert_eq!(misled.status.code(), Some(2));
    std::fs::remove_file(data.path().join("proj.db")).unwrap();
    let output = plan_with_data_in(data.path(), folder.path());
    check_plan(&output, folder.path());
    println!("planned with an empty folder in place of the library's data");

    let folder = moved();
    match plan_with_the_tree_hidden(folder.path()) {
        Some(output) => {
            check_plan(&output, folder.path());
            println!("planned in a mount namespace without the build tree");
        }
        None => println!("this system has no mount namespace to hide the build tree in"),
    }
}
