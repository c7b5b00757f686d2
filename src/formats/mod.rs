//! What is written of a plan: one file a format, each a leaf that prints the figures of
//! the [`Plan`] and computes none.
//!
//! | file | holds |
//! |---|---|
//! | `summary.json` | every figure |
//! | `ground.geojson` | the ground, readable as a ground file again |
//! | `zones.geojson` | the wear zones |
//! | `targets.geojson` | what each operation is to work |
//! | `passes.geojson`, `passes.csv` | every part of every pass |
//! | `missed.geojson` | the places that were missed |
//! | `route.geojson` | every leg of every drive, in order |
//! | `hand.geojson` | holes, blocks, lanes and leftovers of the hand work |
//! | `summary.csv` | several jobs side by side |
//!
//! What the GeoJSON files share is in `globe` (metres to degrees), `lattice` and `mend`
//! (polygons that stay valid when rounded) and `features` (GeoJSON itself); what the CSV files
//! share is in `table`.

mod features;
mod globe;
mod ground;
pub mod guidance;
mod hand;
mod lattice;
mod mend;
mod missed;
mod passes;
mod passes_csv;
mod route;
pub mod summary;
pub mod summary_csv;
mod summary_hand;
mod table;
mod targets;
mod zones;

use rayon::prelude::*;

use crate::ground::frame::FrameError;
use crate::plan::Plan;
pub(crate) use features::collection;
use globe::Globe;

/// Pieces of places under this area, square metres, are not written.
const LEAST_PIECE_M2: f64 = 1e-4;

/// Makes one file from the plan and its place on the globe.
type Leaf = fn(&Plan, &Globe) -> Result<Vec<u8>, FormatError>;

/// A written file: its path within the plan's folder, with `/`, and its bytes.
pub type Written = (String, Vec<u8>);

/// Why a file cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum FormatError {
    /// A place cannot be taken to degrees.
    #[error(transparent)]
    Frame(#[from] FrameError),
    /// JSON that cannot be made.
    #[error("JSON cannot be made: {0}")]
    Json(#[from] serde_json::Error),
    /// A shapefile that cannot be made.
    #[error("shapefile cannot be made: {0}")]
    Shapefile(String),
    /// CSV that cannot be made.
    #[error("CSV cannot be made: {0}")]
    Csv(#[from] csv::Error),
    /// KML that cannot be made.
    #[error("KML cannot be made: {0}")]
    Kml(#[from] kml::Error),
    /// GPX that cannot be made.
    #[error("GPX cannot be made: {0}")]
    Gpx(#[from] gpx::errors::GpxError),
    /// XML that cannot be made.
    #[error("XML cannot be made: {0}")]
    Xml(std::io::Error),
    /// A zip that cannot be made.
    #[error("a zip cannot be made: {0}")]
    Zip(#[from] zip::result::ZipError),
    /// More lines than ids of task data.
    #[error("operation `{0}` has more than 999999 parts, which is more than task data can number")]
    TooManyLines(String),
}

/// The files of the `data` group but for `summary.json`, each handed to `take` as soon as it is
/// made, by any thread; what came of them in the order of the documents. Without a position only
/// `passes.csv`.
///
/// # Errors
/// [`FormatError`] where a place has no position on the globe.
pub fn each_data_file<T: Send>(
    plan: &Plan,
    take: impl Fn(Written) -> T + Sync,
) -> Result<Vec<T>, FormatError> {
    let globe = Globe::of(plan)?;
    let is_driven = plan.operations.iter().any(|one| one.route.is_some());
    let has_hand = !plan.hand.is_empty();
    let leaves: [(&str, bool, Leaf); 8] = [
        ("ground.geojson", true, ground::bytes),
        ("zones.geojson", true, zones::bytes),
        ("targets.geojson", true, targets::bytes),
        ("passes.geojson", true, passes::bytes),
        ("passes.csv", true, |plan, globe| {
            passes_csv::bytes(plan, Some(globe))
        }),
        ("missed.geojson", true, missed::bytes),
        ("route.geojson", is_driven, route::bytes),
        ("hand.geojson", has_hand, hand::bytes),
    ];
    let Some(globe) = globe else {
        let csv = passes_csv::bytes(plan, None)?;
        return Ok(vec![take(("passes.csv".to_owned(), csv))]);
    };
    let leaves = leaves.par_iter().with_max_len(1);
    leaves
        .filter(|(_, is_wanted, _)| *is_wanted)
        .map(|(name, _, leaf)| Ok(take(((*name).to_owned(), leaf(plan, &globe)?))))
        .collect()
}

/// A figure as written: at most six decimals, no minus before nought.
fn figure(value: f64) -> f64 {
    decimals(value, 1e6)
}

/// The nearest number with as many decimals as `scale` has noughts.
fn decimals(value: f64, scale: f64) -> f64 {
    let rounded = (value * scale).round() / scale;
    // Adding nought turns -0 into 0.
    if rounded.is_finite() {
        rounded + 0.0
    } else {
        value
    }
}
