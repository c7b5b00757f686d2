//! Where the pitch lies: the frame as given or fitted, and the names of ends and sides.

use geo::{Geometry, LineString, MapCoords, Polygon};

use super::Names;
use super::fit::{self, Rectangle};
use super::frame::{Frame, FrameError, NamedCrs};
use crate::fault::{Fault, Faults};
use crate::job::model::{Feature, Job, Lie, Role, Size};
use crate::space::{Compass, Corner, Heading, Position, Xy};
use crate::warning::{Code, Warning};

/// Least and greatest side of a pitch, metres.
const SIDE_M: (f64, f64) = (10.0, 500.0);
/// Marks further than this from a rectangle of the stated size are a mistake, metres.
const MARKS_MISFIT_MAX_M: f64 = 10.0;
/// A guidance file whose positions may be further off carries a warning, metres.
const ACCURACY_WANTED_M: f64 = 0.10;
/// Greatest latitude of a frame, degrees.
const LATITUDE_MAX_DEG: f64 = 84.0;
/// The frame has settled when its fitted centre lies this near its origin, metres: some
/// times what PROJ resolves.
const SETTLED_M: f64 = 1e-8;

/// The features as positions: x = longitude, y = latitude, degrees.
pub(super) struct Survey {
    pub positions: Vec<Geometry<f64>>,
    crs_accuracy_m: Option<f64>,
}

impl Survey {
    pub fn of(job: &Job) -> Result<Self, Faults> {
        let Some(crs) = &job.crs else {
            return Ok(Self {
                positions: job.features.iter().map(|f| f.shape.clone()).collect(),
                crs_accuracy_m: None,
            });
        };
        // PROJ's own words say no more than that it cannot.
        let named = NamedCrs::open(&crs.name, crs.grids.as_deref()).map_err(|_| {
            at_key(
                job,
                "ground.crs",
                format!(
                    "`crs` `{}` is none that PROJ knows and can take to WGS84; check the code, \
                     which is like `EPSG:27700`, or leave `crs` out where the file is in WGS84",
                    crs.name
                ),
            )
        })?;
        let mut faults = Vec::new();
        let mut positions = Vec::new();
        for feature in &job.features {
            let shape = feature.shape.try_map_coords(|at| {
                let position = named.position(at)?;
                Ok::<_, FrameError>(Xy {
                    x: position.lon_deg,
                    y: position.lat_deg,
                })
            });
            match shape {
                Ok(shape) => positions.push(shape),
                Err(error) => faults.push(at_feature(
                    job,
                    feature,
                    format!(
                        "its coordinates do not lie in `{}` ({error}); they are easting, northing \
                         in metres",
                        crs.name
                    ),
                )),
            }
        }
        if faults.is_empty() {
            Ok(Self {
                positions,
                crs_accuracy_m: named.accuracy_m(),
            })
        } else {
            Err(Faults(faults))
        }
    }
}

pub(super) fn is_pitch((feature, _): &(&Feature, &Geometry<f64>)) -> bool {
    feature.role == Role::Pitch
}

/// What comes of laying the frame.
pub(super) struct Laid {
    pub frame: Option<Frame>,
    pub bearing: Heading,
    pub size: Size,
    pub misfit_m: f64,
    /// Each corner mark, by the name it was given, with the signs of its corner.
    pub marks_at: Vec<(Corner, (f64, f64))>,
}

pub(super) fn lay_frame(job: &Job, survey: &Survey) -> Result<Laid, Faults> {
    let stated = || {
        job.pitch.size_m.ok_or_else(|| {
            at_key(
                job,
                "pitch",
                "`length_m` and `width_m` are missing; give both, or draw the outline with role \
                 `pitch` in the ground file",
            )
        })
    };
    let frame = |origin: Position, bearing: Heading| Frame {
        origin,
        bearing,
        crs: job.crs.as_ref().map(|crs| crs.name.clone()),
        crs_accuracy_m: survey.crs_accuracy_m,
    };
    let laid = |frame: Option<Frame>, bearing, size, misfit_m| Laid {
        frame,
        bearing,
        size,
        misfit_m,
        marks_at: Vec::new(),
    };
    match &job.pitch.lie {
        Lie::Nowhere { bearing } => Ok(laid(None, *bearing, stated()?, 0.0)),
        Lie::Centre { centre, bearing } => {
            let frame = frame(*centre, *bearing);
            Ok(laid(Some(frame), *bearing, stated()?, 0.0))
        }
        Lie::Corners(marks) => {
            let size = stated()?;
            let positions: Vec<Position> = marks.iter().map(|mark| mark.1).collect();
            let (origin, bearing, (rectangle, shift)) =
                settle(&positions, |places| Some(fit_marks(size, marks, places)))
                    .map_err(|error| at_key(job, "pitch.corners", error))?;
            let numbered: Vec<(usize, Xy)> = rectangle.marks.clone();
            let misfit_m = fit::mark_misfit_m(&rectangle.rectangle, &numbered);
            if misfit_m > MARKS_MISFIT_MAX_M {
                return Err(at_key(
                    job,
                    "pitch.corners",
                    format!(
                        "the corner marks lie up to {misfit_m:.1} m from a rectangle of {} x {} m; \
                         check the sizes, and that sw, se, ne, nw go round anticlockwise",
                        metres(size.length_m),
                        metres(size.width_m)
                    ),
                )
                .into());
            }
            let flip = if shift { -1.0 } else { 1.0 };
            let marks_at = marks.iter().zip(&numbered);
            let marks_at = marks_at.map(|(mark, &(corner, _))| {
                let (s, t) = fit::SIGNS[corner % 4];
                (mark.0, (s * flip, t * flip))
            });
            Ok(Laid {
                marks_at: marks_at.collect(),
                ..laid(Some(frame(origin, bearing)), bearing, size, misfit_m)
            })
        }
        Lie::Outline => {
            let pitch = job.features.iter().zip(&survey.positions).find(is_pitch);
            let Some((feature, Geometry::Polygon(outline))) = pitch else {
                return Err(at_key(
                    job,
                    "pitch",
                    "nothing says where the pitch lies; give sizes, or draw one polygon with role \
                     `pitch` in the ground file",
                )
                .into());
            };
            let positions: Vec<Position> =
                outline.exterior().0.iter().map(|&at| lat_lon(at)).collect();
            let settled = settle(&positions, |places| {
                let outline = Polygon::new(LineString(places.to_vec()), Vec::new());
                let rectangle = fit::to_outline(&outline, job.pitch.size_m)?;
                let misfit_m = fit::outline_misfit_m(&rectangle, &outline);
                Some(FittedOutline {
                    rectangle,
                    misfit_m,
                })
            });
            let (origin, bearing, (fitted, _)) =
                settled.map_err(|error| at_feature(job, feature, error))?;
            let size = job.pitch.size_m.unwrap_or(Size {
                length_m: fitted.rectangle.length_m,
                width_m: fitted.rectangle.width_m,
            });
            for side_m in [size.length_m, size.width_m] {
                if !(SIDE_M.0..=SIDE_M.1).contains(&side_m) {
                    return Err(at_feature(
                        job,
                        feature,
                        format!(
                            "its sides are {:.1} and {:.1} m, but {} to {} m are allowed; check the \
                             outline and its units",
                            size.length_m, size.width_m, SIDE_M.0, SIDE_M.1
                        ),
                    )
                    .into());
                }
            }
            Ok(laid(
                Some(frame(origin, bearing)),
                bearing,
                size,
                fitted.misfit_m,
            ))
        }
    }
}

/// Something fitted that has a rectangle.
trait Fitted {
    fn rectangle(&self) -> &Rectangle;
}

struct FittedOutline {
    rectangle: Rectangle,
    misfit_m: f64,
}

struct FittedMarks {
    rectangle: Rectangle,
    marks: Vec<(usize, Xy)>,
}

impl Fitted for FittedOutline {
    fn rectangle(&self) -> &Rectangle {
        &self.rectangle
    }
}

impl Fitted for FittedMarks {
    fn rectangle(&self) -> &Rectangle {
        &self.rectangle
    }
}

/// Marks in the anticlockwise order sw, se, ne, nw are corners of a rectangle whose first
/// side, from sw to se, is either a touch line or a goal line: whichever fits better.
fn fit_marks(size: Size, marks: &[(Corner, Position)], places: &[Xy]) -> FittedMarks {
    let fitted = [0, 1].map(|turn| {
        let numbered: Vec<(usize, Xy)> = marks
            .iter()
            .zip(places)
            .map(|((corner, _), &place)| {
                let round = match corner {
                    Corner::Sw => 0,
                    Corner::Se => 1,
                    Corner::Ne => 2,
                    Corner::Nw => 3,
                };
                ((round + turn) % 4, place)
            })
            .collect();
        FittedMarks {
            rectangle: fit::of_size(size, &numbered),
            marks: numbered,
        }
    });
    let residual = |fitted: &FittedMarks| -> f64 {
        let corners = fitted.rectangle.corners();
        let squares = fitted.marks.iter().map(|&(corner, at)| {
            let away = at - corners[corner % 4];
            away.x * away.x + away.y * away.y
        });
        squares.sum()
    };
    let [touch_first, goal_first] = fitted;
    if residual(&goal_first) < residual(&touch_first) {
        goal_first
    } else {
        touch_first
    }
}

/// Fits in a plane about the fitted centre itself: projects, fits, moves the origin to the
/// centre, until it stays. Gives origin, bearing in [0, 180), the fit, and whether the
/// axis was turned about to bring the bearing there.
fn settle<F: Fitted>(
    positions: &[Position],
    fit: impl Fn(&[Xy]) -> Option<F>,
) -> Result<(Position, Heading, (F, bool)), String> {
    let Some(&first) = positions.first() else {
        return Err("it has no corner".to_owned());
    };
    let mut origin = first;
    for _ in 0..20 {
        if origin.lat_deg.abs() > LATITUDE_MAX_DEG {
            return Err(format!(
                "latitude {:.4} is beyond {LATITUDE_MAX_DEG} degrees north or south; check that \
                 longitude and latitude are not swapped",
                origin.lat_deg
            ));
        }
        let north_up = Frame {
            origin,
            bearing: Heading::from_deg(90.0),
            crs: None,
            crs_accuracy_m: None,
        };
        let projector = north_up.open().map_err(|error| error.to_string())?;
        let places: Result<Vec<Xy>, FrameError> =
            positions.iter().map(|&at| projector.pitch(at)).collect();
        let fitted = fit(&places.map_err(|error| error.to_string())?).ok_or_else(|| {
            "no rectangle can be fitted to it; an outline needs four corners that differ".to_owned()
        })?;
        let Rectangle { centre, axis, .. } = *fitted.rectangle();
        if centre.x.hypot(centre.y) < SETTLED_M {
            let bearing_deg = axis.x.atan2(axis.y).to_degrees();
            let folded_deg = bearing_deg.rem_euclid(180.0);
            let folded_deg = if folded_deg >= 180.0 { 0.0 } else { folded_deg };
            let turned = (folded_deg - bearing_deg).abs() > 1.0;
            return Ok((origin, Heading::from_deg(folded_deg), (fitted, turned)));
        }
        origin = projector
            .position(centre)
            .map_err(|error| error.to_string())?;
    }
    Err("its rectangle does not settle; check that the coordinates are of one pitch".to_owned())
}

/// The names of ends and sides: north and south where the long axis lies within 45 degrees
/// of the meridian (45 included), else east and west; as the job fixes them, where it does.
pub(super) fn names(job: &Job, bearing: Heading) -> Result<Names, Faults> {
    let deg = bearing.deg();
    let folded = deg.rem_euclid(180.0);
    let by_compass = if folded <= 45.0 || folded >= 135.0 {
        if (90.0..270.0).contains(&deg) {
            Compass::South
        } else {
            Compass::North
        }
    } else if deg < 180.0 {
        Compass::East
    } else {
        Compass::West
    };
    let plus_x = match job.pitch.ends {
        Some([plus_x, _]) => {
            let named_deg = match plus_x {
                Compass::North => 0.0,
                Compass::East => 90.0,
                Compass::South => 180.0,
                Compass::West => 270.0,
            };
            let off_deg = (deg - named_deg + 180.0).rem_euclid(360.0) - 180.0;
            if off_deg.abs() > 60.0 {
                return Err(at_key(
                    job,
                    "pitch.ends",
                    format!(
                        "`ends` names {0} first, but the long axis points to {deg:.1} degrees, which \
                         is {1}; write `[\"{1}\", \"{2}\"]`",
                        plus_x.name(),
                        by_compass.name(),
                        by_compass.opposite().name()
                    ),
                )
                .into());
            }
            plus_x
        }
        None => by_compass,
    };
    Ok(Names::with_plus_x(plus_x))
}

pub(super) fn mark_names(
    job: &Job,
    names: Names,
    marks_at: &[(Corner, (f64, f64))],
    warnings: &mut Vec<Warning>,
) {
    let wrong: Vec<String> = marks_at
        .iter()
        .filter_map(|&(called, signs)| {
            let is = Corner::ALL.into_iter().find(|&corner| {
                let at = names.corner_signs(corner);
                (at.x, at.y) == signs
            })?;
            (is != called).then(|| format!("`{}` is the {} corner", called.name(), is.name()))
        })
        .collect();
    if !wrong.is_empty() && job.pitch.ends.is_none() {
        warnings.push(Warning::new(
            Code::CornerNames,
            "pitch.corners",
            format!(
                "by the compass {}; places and zones take the compass names, unless `ends` fixes \
                 others",
                wrong.join(", ")
            ),
        ));
    }
}

pub(super) fn accuracy_warning(frame: Option<&Frame>, warnings: &mut Vec<Warning>) {
    match frame {
        None => warnings.push(Warning::new(
            Code::NoPosition,
            "pitch",
            "the job does not say where the pitch lies, so no file with positions is written; give \
             `centre` and `bearing_deg`, or corner marks",
        )),
        Some(Frame {
            crs: Some(crs),
            crs_accuracy_m,
            ..
        }) => {
            let found = match crs_accuracy_m {
                Some(accuracy_m) if *accuracy_m <= ACCURACY_WANTED_M => return,
                Some(accuracy_m) => format!("only to {accuracy_m} m"),
                None => "with an accuracy that is not known".to_owned(),
            };
            warnings.push(Warning::new(
                Code::PositionAccuracy,
                "ground.crs",
                format!(
                    "positions from `{crs}` are known {found}; check a line on a named peg before \
                     driving by satellite, or give the grid files in `grids`"
                ),
            ));
        }
        Some(_) => {}
    }
}

pub(super) fn lat_lon(at: Xy) -> Position {
    Position {
        lat_deg: at.y,
        lon_deg: at.x,
    }
}

pub(super) fn metres(value_m: f64) -> String {
    let rounded = (value_m * 100.0).round() / 100.0;
    format!("{rounded}")
}

/// A fault at a key of the job file.
pub(super) fn at_key(job: &Job, key: &str, text: impl Into<String>) -> Fault {
    Fault {
        file: job.source.job_file.clone(),
        place: job.source.place(key),
        text: text.into(),
    }
}

/// A fault at a feature of the ground file.
pub(super) fn at_feature(job: &Job, feature: &Feature, text: impl Into<String>) -> Fault {
    Fault {
        file: job.source.ground_file.clone().unwrap_or_default(),
        place: feature.label(),
        text: text.into(),
    }
}
