//! Values that the libraries give as they are built into the crate.

use geo::{
    Bearing, Coord, Destination, Distance, Geodesic, GeodesicArea, LineString, Point, Polygon,
};
use proj::Proj;

use super::drivers::{Input, Results, number, numbers, word};

/// Degrees to the projection of that definition.
fn projection(input: &Input) -> Result<Proj, String> {
    let definition = format!(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step {}",
        word(input, "definition")?
    );
    Proj::new(&definition).map_err(|error| error.to_string())
}

/// A longitude or latitude, given in degrees, or in degrees, minutes and seconds.
fn degrees(input: &Input, name: &str) -> Result<f64, String> {
    let mut degrees = number(input, &format!("{name}_deg"))?;
    if input.contains_key(&format!("{name}_s")) {
        degrees += number(input, &format!("{name}_min"))? / 60.0;
        degrees += number(input, &format!("{name}_s"))? / 3600.0;
    }
    Ok(degrees)
}

/// Forwards, and back again to where it came from.
pub fn projected(input: &Input) -> Results {
    let projection = projection(input)?;
    let given = (degrees(input, "lon")?, degrees(input, "lat")?);
    let (easting_m, northing_m) = projection
        .project(given, false)
        .map_err(|error| error.to_string())?;
    let back = projection
        .project((easting_m, northing_m), true)
        .map_err(|error| error.to_string())?;
    // In degrees of arc on the ground, so that a longitude near the pole counts for little.
    let east_deg = (back.0 - given.0) * given.1.to_radians().cos();
    if east_deg.hypot(back.1 - given.1) > 1e-11 {
        return Err(format!("{given:?} came back as {back:?}"));
    }
    numbers([("easting_m", easting_m), ("northing_m", northing_m)])
}

fn unprojected(input: &Input) -> Result<(f64, f64), String> {
    let given = (number(input, "easting_m")?, number(input, "northing_m")?);
    projection(input)?
        .project(given, true)
        .map_err(|error| error.to_string())
}

pub fn unprojected_minutes(input: &Input) -> Results {
    let (lon_deg, lat_deg) = unprojected(input)?;
    numbers([
        ("lat_minutes", lat_deg * 60.0),
        ("lon_minutes", lon_deg * 60.0),
    ])
}

pub fn unprojected_seconds(input: &Input) -> Results {
    let (lon_deg, lat_deg) = unprojected(input)?;
    let beyond = |value_deg: f64, deg: f64, min: f64| ((value_deg - deg) * 60.0 - min) * 60.0;
    numbers([
        (
            "lat_s",
            beyond(
                lat_deg,
                number(input, "lat_deg")?,
                number(input, "lat_min")?,
            ),
        ),
        (
            "lon_s",
            beyond(
                lon_deg,
                number(input, "lon_deg")?,
                number(input, "lon_min")?,
            ),
        ),
    ])
}

fn place(input: &Input, lon: &str, lat: &str) -> Result<Point<f64>, String> {
    Ok(Point::new(number(input, lon)?, number(input, lat)?))
}

/// The azimuth with which a geodesic from `origin` arrives.
fn arriving_deg(origin: Point<f64>, destination: Point<f64>) -> f64 {
    (Geodesic.bearing(destination, origin) + 180.0).rem_euclid(360.0)
}

pub fn geodesic_inverse(input: &Input) -> Results {
    let from = place(input, "lon1_deg", "lat1_deg")?;
    let to = place(input, "lon2_deg", "lat2_deg")?;
    numbers([
        ("azimuth1_deg", Geodesic.bearing(from, to)),
        ("azimuth2_deg", arriving_deg(from, to)),
        ("distance_m", Geodesic.distance(from, to)),
    ])
}

pub fn geodesic_direct(input: &Input) -> Results {
    let from = place(input, "lon1_deg", "lat1_deg")?;
    let azimuth_deg = number(input, "azimuth1_deg")?;
    let to = Geodesic.destination(from, azimuth_deg, number(input, "distance_m")?);
    numbers([
        ("lat2_deg", to.y()),
        ("lon2_deg", to.x()),
        ("azimuth2_deg", arriving_deg(from, to)),
    ])
}

pub fn geodesic_area(input: &Input) -> Results {
    let lat_deg = number(input, "lat_deg")?;
    let step_deg = number(input, "lon_step_deg")?;
    let ring: Vec<Coord<f64>> = (0..4)
        .map(|k| Coord {
            x: f64::from(k) * step_deg,
            y: lat_deg,
        })
        .collect();
    let polygon = Polygon::new(LineString(ring), Vec::new());
    numbers([
        ("perimeter_m", polygon.geodesic_perimeter()),
        ("area_m2", polygon.geodesic_area_unsigned()),
    ])
}
