//! Laying the ground down: from the job's words to metres.
//!
//! 1. features to WGS84 (through the named CRS, where there is one);
//! 2. the frame: centre and bearing as given, or fitted to marks or outline, with the
//!    origin moved to the fitted centre until it stays;
//! 3. names of ends and sides by the compass;
//! 4. outline, run-off, what is kept clear, allowed ground.

use geo::{Geometry, LineString, MapCoords, MultiPolygon, Point, Polygon};

use super::fit::{self, Rectangle};
use super::frame::{Frame, FrameError, NamedCrs, Projector};
use super::{Ground, Kept, Names, Stand, UserZone, curves, law};
use crate::fault::{Fault, Faults};
use crate::job::model::{Feature, FlagPlace, Job, Lie, Role, RunOff, Size};
use crate::region;
use crate::space::{Compass, Corner, Heading, Position, Xy};
use crate::warning::{Code, Warning};

/// Run-off all round where the job says nothing, metres.
const DEFAULT_RUN_OFF_M: f64 = 3.0;
/// The tool is up within this of a service, metres.
const SERVICE_CLEARANCE_M: f64 = 1.0;
/// Clearance of a stockpile given by corner flag, metres.
const STOCKPILE_CLEARANCE_M: f64 = 0.5;
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
    } = lay_frame(job, &survey)?;
    let names = names(job, bearing)?;
    let to_pitch = ToPitch::open(job, frame.as_ref(), &survey)?;

    let rectangle = box_of(size, [0.0; 4]);
    let mut holes = Vec::new();
    let outline = match job.features.iter().zip(&survey.positions).find(is_pitch) {
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
    mark_names(job, names, &marks_at, &mut warnings);
    accuracy_warning(frame.as_ref(), &mut warnings);

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
        }
    }));
    let bodies = ground.kept.iter().filter(|kept| kept.stops_the_body());
    let closed = region::union(bodies.map(|kept| &kept.kept_clear));
    ground.allowed = region::difference(&ground.grass, &closed);
    Ok((ground, warnings))
}

/// The features as positions: x = longitude, y = latitude, degrees.
struct Survey {
    positions: Vec<Geometry<f64>>,
    crs_accuracy_m: Option<f64>,
}

impl Survey {
    fn of(job: &Job) -> Result<Self, Faults> {
        let Some(crs) = &job.crs else {
            return Ok(Self {
                positions: job.features.iter().map(|f| f.shape.clone()).collect(),
                crs_accuracy_m: None,
            });
        };
        let named = NamedCrs::open(&crs.name, crs.grids.as_deref()).map_err(|error| {
            at_key(
                job,
                "ground.crs",
                format!(
                    "`crs` `{}` cannot be used ({error}); give a code such as `EPSG:27700`, or \
                     leave it out for WGS84",
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

fn is_pitch((feature, _): &(&Feature, &Geometry<f64>)) -> bool {
    feature.role == Role::Pitch
}

/// What comes of laying the frame.
struct Laid {
    frame: Option<Frame>,
    bearing: Heading,
    size: Size,
    misfit_m: f64,
    /// Each corner mark, by the name it was given, with the signs of its corner.
    marks_at: Vec<(Corner, (f64, f64))>,
}

fn lay_frame(job: &Job, survey: &Survey) -> Result<Laid, Faults> {
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
fn names(job: &Job, bearing: Heading) -> Result<Names, Faults> {
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
                        "`ends` calls the +x end {}, but it points to {deg:.1} degrees, by the \
                         compass {}; put that one first",
                        plus_x.name(),
                        by_compass.name()
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

fn mark_names(
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

fn accuracy_warning(frame: Option<&Frame>, warnings: &mut Vec<Warning>) {
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
        let kept_clear = curves::clearance(&shape, clearance_m);
        if kept_clear.0.is_empty() {
            warnings.push(Warning::new(
                Code::EmptyFeature,
                feature.label(),
                format!(
                    "this {} has neither area nor clearance, so nothing is kept clear of it; give \
                     `clearance_m`",
                    feature.role.name()
                ),
            ));
        }
        ground.kept.push(Kept {
            label: feature.label(),
            name: feature.name.clone(),
            role: feature.role.clone(),
            away: job.settings.goals_out && matches!(feature.role, Role::Goal { .. }),
            shape,
            clearance_m,
            kept_clear,
        });
    }
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
        }
    }));
}

fn lat_lon(at: Xy) -> Position {
    Position {
        lat_deg: at.y,
        lon_deg: at.x,
    }
}

fn metres(value_m: f64) -> String {
    let rounded = (value_m * 100.0).round() / 100.0;
    format!("{rounded}")
}

/// A fault at a key of the job file.
fn at_key(job: &Job, key: &str, text: impl Into<String>) -> Fault {
    Fault {
        file: job.source.job_file.clone(),
        place: job.source.place(key),
        text: text.into(),
    }
}

/// A fault at a feature of the ground file.
fn at_feature(job: &Job, feature: &Feature, text: impl Into<String>) -> Fault {
    Fault {
        file: job.source.ground_file.clone().unwrap_or_default(),
        place: feature.label(),
        text: text.into(),
    }
}
