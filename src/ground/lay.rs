//! Laying the ground down: from the job's words to metres.
//!
//! 1. features to WGS84 (through the named CRS, where there is one);
//! 2. the frame: centre and bearing as given, or fitted to marks or outline, with the
//!    origin moved to the fitted centre until it stays;
//! 3. names of ends and sides by the compass;
//! 4. outline, run-off, what is kept clear, allowed ground.

use geo::{Geometry, LineString, MapCoords, MultiPolygon, Point, Polygon};
use rayon::prelude::*;

use super::frame::{Frame, Projector};
use super::lie::{self, Laid, Survey, at_feature, at_key, lat_lon, metres};
use super::{Ground, Kept, Names, PlacedBy, Stand, UserZone, curves, law};
use crate::fault::{Fault, Faults};
use crate::job::model::{Feature, FlagPlace, Job, Role, RunOff, Size};
use crate::region;
use crate::space::Xy;
use crate::warning::{Code, Warning};

/// Run-off all round where the job says nothing, metres.
const DEFAULT_RUN_OFF_M: f64 = 3.0;
/// The tool is up within this of a service, metres.
const SERVICE_CLEARANCE_M: f64 = 1.0;
/// Clearance of a stockpile given by corner flag, metres.
const STOCKPILE_CLEARANCE_M: f64 = 0.5;

/// Lays the ground of a job down in the pitch frame.
///
/// # Errors
/// Faults of the job or ground file that show only when they are fitted together.
pub fn lay(job: &Job) -> Result<(Ground, Vec<Warning>), Faults> {
    let mut warnings = Vec::new();
    let survey = Survey::of(job)?;
    let Laid {
        frame,
        bearing,
        size,
        misfit_m,
        marks_at,
    } = lie::lay_frame(job, &survey)?;
    let names = lie::names(job, bearing)?;
    let to_pitch = ToPitch::open(job, frame.as_ref(), &survey)?;

    let rectangle = box_of(size, [0.0; 4]);
    let mut holes = Vec::new();
    let outline = match job
        .features
        .iter()
        .zip(&survey.positions)
        .find(lie::is_pitch)
    {
        Some((feature, shape)) => {
            let polygon = to_pitch.polygon(feature, shape)?;
            let (exterior, interiors) = polygon.into_inner();
            holes = interiors;
            Polygon::new(exterior, Vec::new())
        }
        None => rectangle,
    };
    let outline = region::union([&MultiPolygon(vec![outline])])
        .0
        .into_iter()
        .next()
        .ok_or_else(|| at_key(job, "pitch", "the pitch outline has no ground in it"))?;

    if !law::is_law_1(size.length_m, size.width_m) {
        warnings.push(Warning::new(
            Code::OutsideLaw1,
            "pitch",
            format!(
                "{} x {} m is outside Law 1 (touch line 90 to 120 m, goal line 45 to 90 m, touch \
                 line the longer); planned as given",
                metres(size.length_m),
                metres(size.width_m)
            ),
        ));
    }
    lie::mark_names(job, names, &marks_at, &mut warnings);
    lie::accuracy_warning(frame.as_ref(), &mut warnings);

    let grass = grass(
        job,
        &survey,
        &to_pitch,
        size,
        names,
        &outline,
        &mut warnings,
    )?;
    let mut ground = Ground {
        frame,
        placed_by: PlacedBy::from(&job.pitch.lie),
        bearing,
        length_m: size.length_m,
        width_m: size.width_m,
        misfit_m,
        names,
        outline,
        grass,
        allowed: MultiPolygon(Vec::new()),
        kept: Vec::new(),
        user_zones: Vec::new(),
        entrances: Vec::new(),
        stands: Vec::new(),
        stand_names: job.pitch.stands.clone(),
    };
    place_features(job, &survey, &to_pitch, &mut ground, &mut warnings)?;
    place_by_flags(job, &mut ground);
    let pitch_label = job
        .features
        .iter()
        .find(|feature| feature.role == Role::Pitch)
        .map_or_else(String::new, Feature::label);
    ground.kept.extend(holes.into_iter().map(|ring| {
        let shape = Geometry::Polygon(Polygon::new(ring, Vec::new()));
        Kept {
            label: format!("hole in {pitch_label}"),
            name: None,
            role: Role::NoGo { clearance_m: 0.0 },
            kept_clear: curves::clearance(&shape, 0.0),
            shape,
            clearance_m: 0.0,
            away: false,
            is_hole: true,
        }
    }));
    let bodies = ground.kept.iter().filter(|kept| kept.stops_the_body());
    let closed = region::union(bodies.map(|kept| &kept.kept_clear));
    ground.allowed = region::difference(&ground.grass, &closed);
    Ok((ground, warnings))
}

/// From positions to the pitch frame.
struct ToPitch<'a> {
    job: &'a Job,
    projector: Option<Projector>,
}

impl<'a> ToPitch<'a> {
    fn open(job: &'a Job, frame: Option<&Frame>, survey: &Survey) -> Result<Self, Faults> {
        let projector = match frame {
            // Nothing to project: no transformer is made, which keeps the start short.
            Some(_) if survey.positions.is_empty() => None,
            Some(frame) => Some(
                frame
                    .open()
                    .map_err(|error| at_key(job, "pitch", error.to_string()))?,
            ),
            None => None,
        };
        Ok(Self { job, projector })
    }

    fn shape(&self, feature: &Feature, shape: &Geometry<f64>) -> Result<Geometry<f64>, Fault> {
        let Some(projector) = &self.projector else {
            return Err(at_key(
                self.job,
                "pitch",
                "a ground file needs a pitch with a position; give `centre` and `bearing_deg`, or \
                 corner marks",
            ));
        };
        shape
            .try_map_coords(|at| projector.pitch(lat_lon(at)))
            .map_err(|error| at_feature(self.job, feature, error.to_string()))
    }

    fn polygon(&self, feature: &Feature, shape: &Geometry<f64>) -> Result<Polygon<f64>, Fault> {
        match self.shape(feature, shape)? {
            Geometry::Polygon(polygon) => Ok(polygon),
            _ => Err(at_feature(
                self.job,
                feature,
                "a pitch is one polygon; draw it as such",
            )),
        }
    }
}

/// The rectangle of that size about the origin, widened by (-x, +x, -y, +y) metres.
fn box_of(size: Size, [minus_x, plus_x, minus_y, plus_y]: [f64; 4]) -> Polygon<f64> {
    let (x, y) = (size.length_m / 2.0, size.width_m / 2.0);
    let (least, greatest) = (
        Xy {
            x: -x - minus_x,
            y: -y - minus_y,
        },
        Xy {
            x: x + plus_x,
            y: y + plus_y,
        },
    );
    Polygon::new(
        LineString(vec![
            least,
            Xy {
                x: greatest.x,
                y: least.y,
            },
            greatest,
            Xy {
                x: least.x,
                y: greatest.y,
            },
        ]),
        Vec::new(),
    )
}

fn grass(
    job: &Job,
    survey: &Survey,
    to_pitch: &ToPitch<'_>,
    size: Size,
    names: Names,
    outline: &Polygon<f64>,
    warnings: &mut Vec<Warning>,
) -> Result<MultiPolygon<f64>, Faults> {
    let mut drawn = vec![MultiPolygon(vec![outline.clone()])];
    for (feature, shape) in job.features.iter().zip(&survey.positions) {
        if feature.role == Role::RunOff {
            drawn.push(curves::solids(&to_pitch.shape(feature, shape)?));
        }
    }
    if drawn.len() == 1 {
        let widened = match &job.pitch.run_off {
            Some(RunOff::ByLine { touch_m, goal_m }) => [*goal_m, *goal_m, *touch_m, *touch_m],
            Some(RunOff::BySide(sides)) => {
                let side = |point| sides.get(&point).copied().unwrap_or(0.0);
                [
                    side(names.minus_x()),
                    side(names.plus_x),
                    side(names.minus_y()),
                    side(names.plus_y),
                ]
            }
            None => {
                warnings.push(Warning::new(
                    Code::DefaultRunOff,
                    "pitch.run_off_m",
                    format!(
                        "no run-off is given; {DEFAULT_RUN_OFF_M} m all round is taken (common \
                         practice, no source)"
                    ),
                ));
                [DEFAULT_RUN_OFF_M; 4]
            }
        };
        drawn.push(MultiPolygon(vec![box_of(size, widened)]));
    }
    Ok(region::union(&drawn))
}

fn place_features(
    job: &Job,
    survey: &Survey,
    to_pitch: &ToPitch<'_>,
    ground: &mut Ground,
    warnings: &mut Vec<Warning>,
) -> Result<(), Faults> {
    for (feature, shape) in job.features.iter().zip(&survey.positions) {
        let shape = to_pitch.shape(feature, shape)?;
        let clearance_m = match &feature.role {
            Role::Obstacle { clearance_m }
            | Role::NoGo { clearance_m }
            | Role::Goal { clearance_m }
            | Role::Stockpile { clearance_m }
            | Role::Head { clearance_m }
            | Role::Socket { clearance_m }
            | Role::Lid { clearance_m } => *clearance_m,
            Role::Service { .. } => SERVICE_CLEARANCE_M,
            Role::Pitch | Role::RunOff => continue,
            Role::Entrance => {
                ground.entrances.push(shape);
                continue;
            }
            Role::Zone { name, wear } => {
                ground.user_zones.push(UserZone {
                    name: name.clone(),
                    wear: *wear,
                    shape: region::union([&curves::solids(&shape)]),
                });
                continue;
            }
            Role::Stand { height_m } => {
                ground.stands.push(Stand {
                    name: feature.name.clone(),
                    height_m: *height_m,
                    shape,
                });
                continue;
            }
        };
        ground.kept.push(Kept {
            label: feature.label(),
            name: feature.name.clone(),
            role: feature.role.clone(),
            away: job.settings.goals_out && matches!(feature.role, Role::Goal { .. }),
            shape,
            clearance_m,
            kept_clear: MultiPolygon(Vec::new()),
            is_hole: false,
        });
    }
    ground.kept.par_iter_mut().for_each(|kept| {
        kept.kept_clear = curves::clearance(&kept.shape, kept.clearance_m);
    });
    let is_nothing = |kept: &&Kept| kept.kept_clear.0.is_empty();
    warnings.extend(ground.kept.iter().filter(is_nothing).map(|kept| {
        Warning::new(
            Code::EmptyFeature,
            kept.label.clone(),
            format!(
                "this {} has neither area nor clearance, so nothing is kept clear of it; give \
                 `clearance_m`",
                kept.role.name()
            ),
        )
    }));
    Ok(())
}

/// Entrance and stockpile told from a corner flag: along the goal line inwards, then out.
fn place_by_flags(job: &Job, ground: &mut Ground) {
    let place = |from: FlagPlace| {
        let signs = ground.names.corner_signs(from.at);
        Point::new(
            signs.x * (ground.length_m / 2.0 + from.out_m),
            signs.y * (ground.width_m / 2.0 - from.along_m),
        )
    };
    let entrance = job.entrance.map(place);
    let stockpile = job.stockpile.map(place);
    ground.entrances.extend(entrance.map(Geometry::Point));
    ground.kept.extend(stockpile.map(|at| {
        let shape = Geometry::Point(at);
        Kept {
            label: "places.stockpile".to_owned(),
            name: None,
            role: Role::Stockpile {
                clearance_m: STOCKPILE_CLEARANCE_M,
            },
            kept_clear: curves::clearance(&shape, STOCKPILE_CLEARANCE_M),
            shape,
            clearance_m: STOCKPILE_CLEARANCE_M,
            away: false,
            is_hole: false,
        }
    }));
}
