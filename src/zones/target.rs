//! What an operation is to work: the union of the zones it names, in connected pieces, less
//! what is kept clear.

use geo::{
    BoundingRect, Distance, Euclidean, Intersects, IsConvex, LineString, MultiPolygon, Point,
    Polygon,
};
use rayon::prelude::*;

use super::partition::sticks_out_m;
use super::shapes;
use super::{Piece, Target, Zone, ZoneKind};
use crate::fault::Fault;
use crate::ground::Ground;
use crate::job::model::{Job, Operation, Role};
use crate::region;
use crate::space::{Compass, Corner, Xy};
use crate::warning::{Code, Warning};

/// Pieces nearer than this are one; necks narrower than this do not connect, metres.
const HAIR_M: f64 = 0.001;
/// Places nearer to a line than this lie on it, metres.
const ROUNDING_M: f64 = 1e-10;
/// A tool is kept up where it would come nearer to a service than this, millimetres.
const SERVICE_MARGIN_MM: f64 = 100.0;

/// The target of an operation.
///
/// # Errors
/// A zone word that means nothing on this pitch, such as the west goalmouth of a pitch whose
/// ends are north and south.
pub fn target(
    job: &Job,
    operation: &Operation,
    ground: &Ground,
    zones: &[Zone],
) -> Result<(Target, Vec<Warning>), Fault> {
    let (asked, warnings) = Asked::of(job, operation, ground, zones)?;
    Ok((asked.target(ground), warnings))
}

/// The target of each operation of a job. Most operations of a job work the same ground, which
/// is cut out once.
///
/// # Errors
/// As [`target`], for each operation.
pub fn targets(
    job: &Job,
    ground: &Ground,
    zones: &[Zone],
) -> Vec<Result<(Target, Vec<Warning>), Fault>> {
    let asked = job.operations.par_iter();
    let asked: Vec<Result<(Asked, Vec<Warning>), Fault>> = asked
        .map(|operation| Asked::of(job, operation, ground, zones))
        .collect();
    let mut different: Vec<&Asked> = Vec::new();
    for (one, _) in asked.iter().flatten() {
        if !different.contains(&one) {
            different.push(one);
        }
    }
    let made = different.par_iter().map(|one| (*one, one.target(ground)));
    let made: Vec<(&Asked, Target)> = made.collect();
    let targets = asked.iter().map(|one| {
        let (asked, warnings) = one.as_ref().map_err(Fault::clone)?;
        let same = made.iter().find(|(other, _)| *other == asked);
        let target = same.map_or_else(|| asked.target(ground), |(_, target)| target.clone());
        Ok((target, warnings.clone()))
    });
    targets.collect()
}

/// What a target is made of.
#[derive(PartialEq)]
struct Asked {
    /// The union of what the operation names.
    named: MultiPolygon<f64>,
    /// What the tool is kept out of, one region a thing.
    blocked: Vec<MultiPolygon<f64>>,
}

impl Asked {
    fn of(
        job: &Job,
        operation: &Operation,
        ground: &Ground,
        zones: &[Zone],
    ) -> Result<(Self, Vec<Warning>), Fault> {
        let mut warnings = Vec::new();
        let named = named_ground(job, operation, ground, zones, &mut warnings)?;
        let tool = Tool {
            place: format!("operation {}", operation.id),
            depth_mm: operation.depth.map(|depth| depth.depth_mm),
            cuts: operation.task.cuts(),
            over_service: "the tool is up within 1 m of it, and the grass there is left to hand work",
        };
        let blocked = blocked(job, &tool, ground, &mut warnings);
        Ok((Self { named, blocked }, warnings))
    }

    fn target(&self, ground: &Ground) -> Target {
        let closed = region::union(&self.blocked);
        let pieces: Vec<Piece> = pieces(self.named.clone())
            .into_iter()
            .map(|zones| Piece {
                target: region::difference(&zones, &closed),
                zones,
            })
            .collect();
        let shape = MultiPolygon(
            pieces
                .iter()
                .flat_map(|piece| piece.target.0.clone())
                .collect(),
        );
        let area_m2 = region::area_m2(&shape);
        let named_m2: f64 = pieces
            .iter()
            .map(|piece| region::area_m2(&piece.zones))
            .sum();
        Target {
            leaves_pitch: leaves_pitch(&shape, &ground.outline),
            pieces,
            shape,
            area_m2,
            kept_clear_m2: (named_m2 - area_m2).max(0.0),
            blocked: self.blocked.clone(),
            closed,
        }
    }
}

/// Whether a target reaches beyond the outline by more than rounding: by its words, or by the
/// hair that a boolean's grid leaves.
fn leaves_pitch(target: &MultiPolygon<f64>, outline: &Polygon<f64>) -> bool {
    let edge = outline.exterior();
    let is_off = |at: &Xy| {
        let at = Point::from(*at);
        !outline.intersects(&at) && Euclidean.distance(edge, &at) > ROUNDING_M
    };
    let cuts_off = |at: &Xy| {
        let at = Point::from(*at);
        let boundary_m = |ring: &LineString<f64>| Euclidean.distance(ring, &at);
        target.intersects(&at) && region::rings(target).all(|ring| boundary_m(ring) > ROUNDING_M)
    };
    region::rings(target).any(|ring| ring.0.iter().any(is_off)) || edge.0.iter().any(cuts_off)
}

/// The union of what `zones` and `wear` name.
fn named_ground(
    job: &Job,
    operation: &Operation,
    ground: &Ground,
    zones: &[Zone],
    warnings: &mut Vec<Warning>,
) -> Result<MultiPolygon<f64>, Fault> {
    let mut chosen: Vec<MultiPolygon<f64>> = Vec::new();
    let mut picked = vec![false; zones.len()];
    for word in &operation.zones {
        if let Some(region) = region_ground(ground, word) {
            if operation.wear.is_some() {
                warnings.push(Warning::new(
                    Code::WearOfRegion,
                    format!("operation {}", operation.id),
                    format!(
                        "`wear` picks among zones, and `{word}` is a region, which is worked whole; \
                         name zones or kinds (such as `goalmouth`, `box`, `wing`) to work some \
                         classes only"
                    ),
                ));
            }
            chosen.push(region);
            continue;
        }
        let mut known = is_left_out(ground, word);
        for (zone, picked) in zones.iter().zip(&mut picked) {
            if zone.name == *word || zone.kind.name() == word {
                known = true;
                *picked |= worn(operation, zone);
            }
        }
        known |= ZoneKind::ALL.iter().any(|kind| kind.name() == word);
        if !known {
            let asker = Asker::of(operation, "zones");
            return Err(unknown_here(job, &asker, ground, word));
        }
    }
    let picked = zones.iter().zip(picked).filter(|(_, picked)| *picked);
    chosen.extend(picked.map(|(zone, _)| zone.shape.clone()));
    Ok(region::union(&chosen))
}

fn worn(operation: &Operation, zone: &Zone) -> bool {
    let classes = operation.wear.as_ref();
    classes.is_none_or(|classes| classes.contains(&zone.wear))
}

/// The ground of a region word; `None` where the word names no region of this pitch.
pub(super) fn region_ground(ground: &Ground, word: &str) -> Option<MultiPolygon<f64>> {
    let outline = MultiPolygon(vec![ground.outline.clone()]);
    match word {
        "all" | "pitch" => return Some(outline),
        "grass" => return Some(ground.grass.clone()),
        "run_off" => return Some(region::difference(&ground.grass, &outline)),
        _ => {}
    }
    let (end, is_goal_area) = match word.strip_prefix("goal-area-") {
        Some(end) => (end, true),
        None => (word.strip_prefix("penalty-area-")?, false),
    };
    let ends = [ground.names.plus_x, ground.names.minus_x()];
    let end = ends.into_iter().find(|point| point.name() == end)?;
    let area = shapes::area_at(ground, end, is_goal_area);
    if sticks_out_m(ground, &area).is_some() {
        // Left out like a marking that does not fit: nothing to work.
        return Some(MultiPolygon(Vec::new()));
    }
    Some(region::intersection(
        &outline,
        &MultiPolygon(vec![area.ground]),
    ))
}

/// Whether a word names a marking of this pitch, so that it was left out where no zone has
/// that name.
pub(super) fn is_left_out(ground: &Ground, word: &str) -> bool {
    let names = shapes::of_markings(ground)
        .into_iter()
        .map(|shape| shape.name);
    let wings = shapes::halves(ground).map(|(side, _)| format!("wing-{}", side.name()));
    names.chain(wings).any(|name| name == word)
}

/// Who names a zone, for messages.
pub(super) struct Asker {
    /// Such as ``operation `slit` ``.
    pub what: String,
    /// The key of the job that holds the word.
    pub key: String,
}

impl Asker {
    /// An operation, under one of its keys.
    pub(super) fn of(operation: &Operation, key: &str) -> Self {
        Self {
            what: format!("operation `{}`", operation.id),
            key: format!("operation.{}.{key}", operation.number),
        }
    }
}

/// The fault of a word that names nothing on this pitch.
pub(super) fn unknown_here(job: &Job, asker: &Asker, ground: &Ground, word: &str) -> Fault {
    let names = ground.names;
    let listed = |points: [Compass; 2]| format!("{} and {}", points[0].name(), points[1].name());
    Fault {
        file: job.source.job_file.clone(),
        place: job.source.place(&asker.key),
        text: format!(
            "{} names the zone `{word}`, which this pitch does not have; its ends are \
             {}, its sides {}, its corners {}",
            asker.what,
            listed([names.plus_x, names.minus_x()]),
            listed([names.plus_y, names.minus_y()]),
            Corner::ALL.map(Corner::name).join(", "),
        ),
    }
}

/// What a tool is, to those who keep it out of something.
#[derive(Debug, Clone)]
pub struct Tool {
    /// The work it belongs to, for warnings: `operation slit`.
    pub place: String,
    /// How deep it goes, millimetres; `None`: not into the ground.
    pub depth_mm: Option<f64>,
    /// Whether it is up around heads, sockets and lids.
    pub cuts: bool,
    /// What is told of a service that keeps it out.
    pub over_service: &'static str,
}

/// What a tool is kept out of, one region a thing. A service that keeps it out is warned of.
pub fn blocked(
    job: &Job,
    tool: &Tool,
    ground: &Ground,
    warnings: &mut Vec<Warning>,
) -> Vec<MultiPolygon<f64>> {
    let mut blocked = Vec::new();
    for kept in &ground.kept {
        let is_blocked = match (&kept.role, tool.depth_mm) {
            (Role::Service { depth_m }, Some(depth_mm)) => {
                let unknown_counts = !job.settings.accept_unknown_services;
                let struck = match depth_m {
                    Some(depth_m) => depth_mm + SERVICE_MARGIN_MM >= depth_m * 1000.0,
                    None => unknown_counts,
                };
                if struck {
                    warnings.push(over_service(tool, &kept.label, *depth_m, depth_mm));
                }
                struck
            }
            (Role::Service { .. }, None) => false,
            _ if kept.stops_tools_that_cut() => tool.cuts,
            _ => kept.stops_the_body(),
        };
        if is_blocked && !kept.kept_clear.0.is_empty() {
            blocked.push(kept.kept_clear.clone());
        }
    }
    blocked
}

fn over_service(tool: &Tool, label: &str, depth_m: Option<f64>, depth_mm: f64) -> Warning {
    let known = match depth_m {
        Some(depth_m) => format!("recorded at {depth_m} m"),
        None => "of unknown depth, taken as at the surface".to_owned(),
    };
    Warning::new(
        Code::Service,
        format!("{}, {label}", tool.place),
        format!(
            "a service {known} lies within 100 mm of a depth of {depth_mm} mm; {}",
            tool.over_service
        ),
    )
}

/// The connected pieces of a region: parts nearer than 1 mm are one piece, necks narrower
/// than 1 mm do not connect.
fn pieces(named: MultiPolygon<f64>) -> Vec<MultiPolygon<f64>> {
    let mut bodies: Vec<MultiPolygon<f64>> = Vec::new();
    let mut necks: Vec<Polygon<f64>> = Vec::new();
    for part in named.0 {
        cut_at_necks(part, &mut bodies, &mut necks);
    }
    let mut piece_of: Vec<usize> = (0..bodies.len()).collect();
    for i in 0..bodies.len() {
        for j in 0..i {
            let (a, b) = (piece_of[i], piece_of[j]);
            if a != b && nearer_than_a_hair(&bodies[i], &bodies[j]) {
                let renamed = piece_of.iter_mut().filter(|piece| **piece == a.max(b));
                renamed.for_each(|piece| *piece = a.min(b));
            }
        }
    }
    for neck in necks {
        let distance_m = |body: &MultiPolygon<f64>| Euclidean.distance(body, &neck);
        let nearest = (0..bodies.len())
            .min_by(|&a, &b| distance_m(&bodies[a]).total_cmp(&distance_m(&bodies[b])));
        if let Some(nearest) = nearest {
            bodies[nearest].0.push(neck);
        }
    }
    let mut pieces: Vec<MultiPolygon<f64>> = vec![MultiPolygon(Vec::new()); bodies.len()];
    for (body, piece) in bodies.into_iter().zip(piece_of) {
        pieces[piece].0.extend(body.0);
    }
    pieces.retain(|piece| !piece.0.is_empty());
    pieces
}

/// Adds a polygon to `bodies`, as one body or, where necks hold it together, as several, with
/// what the necks are made of in `necks`.
fn cut_at_necks(
    part: Polygon<f64>,
    bodies: &mut Vec<MultiPolygon<f64>>,
    necks: &mut Vec<Polygon<f64>>,
) {
    let part = MultiPolygon(vec![part]);
    let is_simple = part.0[0].interiors().is_empty() && part.0[0].exterior().is_convex();
    let cores = if is_simple {
        MultiPolygon(Vec::new())
    } else {
        region::inset(&part, HAIR_M / 2.0)
    };
    if cores.0.len() <= 1 {
        bodies.push(part);
        return;
    }
    let mut rest = part;
    for core in cores.0 {
        // A little more than half a hair, so that the core's own edges are reached again.
        let grown = region::outset(&MultiPolygon(vec![core]), HAIR_M * 0.51);
        let body = region::intersection(&rest, &grown);
        rest = region::difference(&rest, &grown);
        bodies.push(body);
    }
    necks.extend(rest.0);
}

fn nearer_than_a_hair(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> bool {
    let (Some(a_box), Some(b_box)) = (a.bounding_rect(), b.bounding_rect()) else {
        return false;
    };
    let apart = |a_min: f64, a_max: f64, b_min: f64, b_max: f64| {
        a_min > b_max + HAIR_M || b_min > a_max + HAIR_M
    };
    !apart(a_box.min().x, a_box.max().x, b_box.min().x, b_box.max().x)
        && !apart(a_box.min().y, a_box.max().y, b_box.min().y, b_box.max().y)
        && Euclidean.distance(a, b) < HAIR_M
}
