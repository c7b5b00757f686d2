//! What the rows of `tests/published/` drive, by the words in their `drives`.

use std::collections::BTreeMap;

use toml::Value;

use super::{exchange, foreign, formulas, libraries, planned, routes, terminals, written};

/// What came out.
#[derive(Debug, Clone, PartialEq)]
pub enum Got {
    Number(f64),
    Word(String),
    Yes(bool),
}

pub type Input = BTreeMap<String, Value>;
pub type Results = Result<BTreeMap<String, Got>, String>;

/// The driver of that name.
pub fn named(drives: &str) -> Option<fn(&Input) -> Results> {
    DRIVERS
        .iter()
        .find(|(name, _)| *name == drives)
        .map(|(_, driver)| *driver)
}

/// A name and its driver.
type Driver = (&'static str, fn(&Input) -> Results);

/// All drivers, by the file that holds them.
const DRIVERS: &[Driver] = &[
    // formulas
    (
        "ground::law::is_law_1, its edges searched by halving",
        formulas::law_1_edges,
    ),
    (
        "ground::law::is_international, its edges searched by halving",
        formulas::international_edges,
    ),
    ("ground::law, the constants", formulas::law_constants),
    (
        "ground::law, the width between the posts",
        formulas::goal_width,
    ),
    ("ground::law, the width of a line", formulas::line_width),
    (
        "ground::law::CIRCLE_RADIUS_M by the formula",
        formulas::circle,
    ),
    (
        "ground::law::CORNER_ARC_M by the formula",
        formulas::corner_quarter,
    ),
    ("tally::field_capacity_ha_per_h", formulas::field_capacity),
    (
        "tally::field_capacity_ha_per_h, from feet and miles to acres",
        formulas::field_capacity_in_acres,
    ),
    ("ground::frame::Frame", formulas::degrees_on_the_ground),
    (
        "hand::lattice::holes_per_m2, a square lattice",
        formulas::square_lattice,
    ),
    (
        "hand::lattice::holes_per_m2, a triangular lattice",
        formulas::triangular_lattice,
    ),
    (
        "hand::lattice::count, along and across a rectangle",
        formulas::holes_of_a_rectangle,
    ),
    ("hand::lattice, what holes open", formulas::opened_by_holes),
    // libraries
    ("library proj, both ways", libraries::projected),
    ("library proj, inverse", libraries::unprojected_minutes),
    (
        "library proj, inverse seconds",
        libraries::unprojected_seconds,
    ),
    ("library geo, Geodesic inverse", libraries::geodesic_inverse),
    ("library geo, Geodesic direct", libraries::geodesic_direct),
    (
        "library geo, Geodesic area and perimeter",
        libraries::geodesic_area,
    ),
    // planned
    (
        "plan::plan, work time of lines across a pitch",
        planned::work_time,
    ),
    (
        "plan::plan, passes along with an overlap",
        planned::passes_along,
    ),
    ("plan::plan, full and even, on_line", planned::full_and_even),
    (
        "plan::plan, one remainder and one kind of ends",
        planned::one_direction,
    ),
    ("plan::plan, extents of zones and targets", planned::extents),
    (
        "plan::plan, the tape of lines along, full, from a touch line",
        planned::tape_along,
    ),
    (
        "plan::plan, the tape of a diagonal, full",
        planned::tape_of_a_diagonal,
    ),
    (
        "plan::plan, the diagonals of the rectangle",
        planned::diagonals,
    ),
    (
        "plan::plan, extents of the goalmouth zone",
        planned::goalmouth_extent,
    ),
    (
        "plan::plan, the outline and the sum of all zones",
        planned::areas,
    ),
    (
        "plan::plan, target of `penalty-area-…`",
        planned::penalty_area,
    ),
    ("plan::plan, target of `goal-area-…`", planned::goal_area),
    (
        "plan::plan, areas of centre_spot and centre_circle",
        planned::circle_zones,
    ),
    (
        "plan::plan, bearing and length of an outline given in EPSG:32630",
        planned::along_the_grid,
    ),
    (
        "plan::plan, places of the board on a goalmouth",
        planned::boards_of_a_goalmouth,
    ),
    // routes
    ("route::dubins::shortest and its word", routes::dubins_word),
    (
        "route::dubins::shortest, to a line beside driven the other way",
        routes::dubins_beside,
    ),
    (
        "route::path, a quarter circle, straight back and a quarter circle",
        routes::fishtail,
    ),
    (
        "route::path::Path::points, extent of an omega",
        routes::omega_extent,
    ),
    (
        "route::reeds_shepp::cheapest, to where three such arcs lead",
        routes::about_face,
    ),
    (
        "route::reeds_shepp::cheapest and its arcs",
        routes::reeds_shepp_arcs,
    ),
    (
        "route::reeds_shepp::cheapest and its word",
        routes::reeds_shepp_word,
    ),
    (
        "route::reeds_shepp::cheapest, to lines 0, 1 and 2 radii beside",
        routes::reeds_shepp_to_near_lines,
    ),
    (
        "route::order::neighbour, the length of its order",
        routes::in_order,
    ),
    ("route::order::solve, open path", routes::open_path),
    (
        "route::order::solve, closed tour from line 1",
        routes::closed_tour,
    ),
    // exchange
    ("found::kml::read, a LineString", exchange::kml_line),
    (
        "found::kml::read, a Polygon of one LinearRing",
        exchange::kml_ring,
    ),
    (
        "found::kml::read, a Polygon of inner boundaries alone",
        exchange::kml_inner_alone,
    ),
    (
        "found::kml::read, a tessellated LineString",
        exchange::kml_tessellated,
    ),
    ("found::kml::read, a LineStyle", exchange::kml_colour),
    (
        "formats::guidance, the mean position of the passes in passes.kml",
        exchange::kml_mean_position,
    ),
    (
        "formats::guidance, every ring in passes.kml, read by the crate kml",
        exchange::kml_rings,
    ),
    (
        "formats::guidance, every line in passes.kml, read by the crate kml",
        exchange::kml_lines,
    ),
    (
        "formats::guidance, the ink of passes in passes.kml, taken apart as aabbggrr",
        exchange::kml_ink,
    ),
    ("found::gpx::read, a waypoint", exchange::gpx_waypoint),
    (
        "found::gpx::read, elements of a file",
        exchange::gpx_file_order,
    ),
    (
        "found::gpx::read, a root with these attributes",
        exchange::gpx_root,
    ),
    (
        "found::gpx::read, elements of a waypoint",
        exchange::gpx_point_order,
    ),
    ("found::gpx::read, a time", exchange::gpx_time),
    (
        "formats::guidance, longitudes in route.gpx of a pitch across 180 degrees",
        exchange::gpx_longitudes,
    ),
    (
        "formats::guidance, the root of route.gpx and what stands in it",
        exchange::gpx_written,
    ),
    // terminals
    (
        "found::task_data::read, a pattern of each type",
        terminals::pattern_types,
    ),
    (
        "found::task_data::read, a pattern of so many lines",
        terminals::pattern_lines,
    ),
    (
        "found::task_data::read, an A-B line of so many points",
        terminals::a_b_points,
    ),
    (
        "found::task_data::read, a place at the edges",
        terminals::edges,
    ),
    (
        "formats::guidance::files, the codes of version 4.3",
        terminals::codes_of_version_4,
    ),
    (
        "formats::guidance::files, the codes of version 3.3",
        terminals::codes_of_version_3,
    ),
    (
        "formats::guidance::files, letters of the longest name",
        terminals::longest_name,
    ),
    (
        "formats::guidance::files, the setpoint of a rate",
        terminals::setpoint,
    ),
    // written
    (
        "plan command, decimals of passes.geojson",
        written::decimals,
    ),
    (
        "plan command, passes.geojson of a pitch at a known place",
        written::order_of_a_position,
    ),
    (
        "check command, a ground file with latitude first",
        written::swapped_order_read,
    ),
    (
        "plan command, every ring of every written polygon",
        written::rings,
    ),
    (
        "plan command, the same outline wound either way",
        written::windings_read,
    ),
    (
        "plan command, a pitch across 180 degrees",
        written::antimeridian,
    ),
    (
        "plan command, every written GeoJSON file of a job in a national grid",
        written::crs_members,
    ),
    // foreign
    (
        "formats::guidance::files, the headers of the shapefiles",
        foreign::shapefile_headers,
    ),
    (
        "formats::guidance::files, the shape types of the shapefiles",
        foreign::shapefile_types,
    ),
    (
        "formats::guidance::files, the rings of the ground shapefile",
        foreign::shapefile_rings,
    ),
    (
        "found::read, the cut examples of RFC 7946",
        foreign::cut_examples,
    ),
];

/// A number of the input.
pub fn number(input: &Input, key: &str) -> Result<f64, String> {
    match input.get(key) {
        Some(Value::Float(number)) => Ok(*number),
        Some(Value::Integer(number)) => Ok(*number as f64),
        other => Err(format!("input `{key}` is {other:?}, not a number")),
    }
}

/// A word of the input.
pub fn word<'a>(input: &'a Input, key: &str) -> Result<&'a str, String> {
    match input.get(key) {
        Some(Value::String(word)) => Ok(word),
        other => Err(format!("input `{key}` is {other:?}, not a word")),
    }
}

/// Results that are numbers, by their keys.
pub fn numbers<const N: usize>(results: [(&str, f64); N]) -> Results {
    Ok(results
        .into_iter()
        .map(|(key, number)| (key.to_owned(), Got::Number(number)))
        .collect())
}
