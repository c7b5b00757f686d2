//! Entries of the tables of links that orders are sought on, each with how it is driven, so
//! that others can drive it again.
//!
//! The caller draws numbers; of each direction's table every number names one entry, counted
//! round and round over the ways out and in of each part, both ways, and then all links from part
//! to part. What the search of an order left unknown of them is worked out first, as it does for
//! another round.

use swardlane::ground::Ground;
use swardlane::job::model::Effort;
use swardlane::plan::OperationPlan;
use swardlane::route::drive;
use swardlane::route::legs::{Leg, LegKind};
use swardlane::route::links::Links;
use swardlane::route::memory::Memory;
use swardlane::route::order::{FORBIDDEN, Node};
use swardlane::route::path::{Path, SAGITTA_M};
use swardlane::route::terrain::Terrain;
use swardlane::route::turn::Turn;

use geo::LineString;
use serde_json::{Value, json};

use super::{leg, posed};

/// How much dearer than a searched turn one that follows another may be, as a share.
const SLACK: f64 = 0.1;

/// The entries that these numbers name in the tables of an operation's directions.
pub fn entries(
    work: &OperationPlan,
    ground: &Ground,
    terrain: &Terrain,
    numbers: &[usize],
) -> Vec<Value> {
    let laid = work.directions.iter().map(|d| d.passes.clone()).collect();
    let mut found = Vec::new();
    let _ = drive::drive_seen(
        &work.operation,
        laid,
        (ground, terrain),
        None,
        &mut Memory::new(Effort::Normal),
        &mut |direction, links, _| {
            let of_table = of_table(links, numbers).into_iter();
            found.extend(of_table.map(|entry| {
                json!({
                    "operation": work.operation.id,
                    "direction": direction + 1,
                    "entry": entry,
                })
            }));
        },
    );
    found
}

/// From a node to a node; `None` is where the route comes in or goes out.
type Pair = (Option<Node>, Option<Node>);

fn of_table(links: &mut Links<'_>, numbers: &[usize]) -> Vec<Value> {
    let before = links.table().lowered();
    let ends = || (0..before.nodes()).map(Some).chain([None]);
    let part = |node: Option<Node>| node.map(|node| node / 2);
    let mut pairs: Vec<Pair> = ends()
        .flat_map(|from| ends().map(move |to| (from, to)))
        .filter(|&(from, to)| part(from) != part(to))
        .collect();
    pairs.sort_by_key(|(from, to)| from.is_some() && to.is_some());
    if pairs.is_empty() {
        return Vec::new();
    }
    let chosen: Vec<Pair> = numbers.iter().map(|n| pairs[n % pairs.len()]).collect();
    let lacking: Vec<_> = chosen
        .iter()
        .filter_map(|&(from, to)| from.zip(to))
        .collect();
    let was_known: Vec<bool> = lacking
        .iter()
        .map(|&link| links.table().is_known(link))
        .collect();
    links.work_out(&lacking, SLACK);
    for &(from, to) in &chosen {
        if let (None, Some(node)) | (Some(node), None) = (from, to) {
            links.search_ways_of(&[node]);
        }
    }
    let after = links.table().lowered();
    let mut was_known = was_known.into_iter();
    let entry = |(from, to): Pair| {
        let (least, cost, turn) = match (from, to) {
            (Some(from), Some(to)) => (
                before.cost(from, to),
                after.cost(from, to),
                links.turn(from, to),
            ),
            (None, Some(to)) => (before.start(to), after.start(to), links.table().way_in(to)),
            (Some(from), None) => (
                before.end(from),
                after.end(from),
                links.table().way_out(from),
            ),
            (None, None) => (FORBIDDEN, FORBIDDEN, None),
        };
        let is_link = from.is_some() && to.is_some();
        let (leaves, comes_in) = (
            from.and_then(|node| links.table().run(node)),
            to.and_then(|node| links.table().run(node)),
        );
        json!({
            "from": leaves.map(|run| posed(run.lifted)),
            "from_shortened_m": leaves.map(|run| run.way_out.shortened_m),
            "to": comes_in.map(|run| posed(run.lowered)),
            "to_shortened_m": comes_in.map(|run| run.way_in.shortened_m),
            "was_known": is_link.then(|| was_known.next()).flatten(),
            "before": tenths(least),
            "cost": tenths(cost),
            "legs": turn.map(|turn| legs(&turn)),
        })
    };
    chosen.into_iter().map(entry).collect()
}

/// Whole tenths of a millimetre; none where it cannot be driven.
const fn tenths(cost: i64) -> Option<i64> {
    if cost >= FORBIDDEN { None } else { Some(cost) }
}

/// A turn's legs: one for each run of pieces driven in one sense.
fn legs(turn: &Turn) -> Vec<Value> {
    let mut start = turn.path.start;
    let runs = turn.path.pieces.chunk_by(|a, b| a.reverse == b.reverse);
    let legs = runs.map(|pieces| {
        let path = Path::new(start, turn.path.radii, pieces.iter().copied());
        start = path.end();
        leg(&Leg {
            kind: LegKind::Turn,
            worked: None,
            turn: None,
            line: LineString(path.points(SAGITTA_M)),
            start: path.start,
            end: path.end(),
            length_m: path.length_m(),
            time_s: 0.0,
            reverse: pieces.iter().any(|piece| piece.reverse),
        })
    });
    legs.collect()
}
