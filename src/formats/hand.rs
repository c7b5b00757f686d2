//! `hand.geojson`: the hand work, in the order of the job. A row of holes is one set of places;
//! a turf block, a lane and a place that is left are grounds.

use geo::Polygon;
use serde::Serialize;

use super::features::Features;
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
use crate::hand::blocks::{BlockPlan, Square};
use crate::hand::board::BoardPlan;
use crate::hand::lanes::{Lane, LanePlan};
use crate::hand::rest::{LeftPlace, RestPlan};
use crate::hand::{Detail, HandPlan};
use crate::plan::Plan;
use crate::space::Xy;

/// In the order of the letters, as in every file. A key that a kind has no use for is left out.
#[derive(Debug, Default, Serialize)]
struct Properties<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    area_m2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    block: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    board: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    day: Option<Option<u32>>,
    hand: &'a str,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    lane: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    operation: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pair: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    person: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    role: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    row: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stage: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    zone: Option<&'a str>,
}

impl<'a> Properties<'a> {
    fn of(hand: &'a HandPlan) -> Self {
        Self {
            hand: &hand.id,
            kind: hand.kind(),
            ..Self::default()
        }
    }
}

pub(super) fn bytes(plan: &Plan, globe: &Globe) -> Result<Vec<u8>, FormatError> {
    let mut features = Features::new();
    for hand in &plan.hand {
        match &hand.detail {
            Detail::Board(_, board) => rows(hand, board, globe, &mut features)?,
            Detail::Blocks(_, blocks) => squares(hand, blocks, globe, &mut features)?,
            Detail::Lanes(_, lanes) => grounds(&strips(hand, lanes), globe, &mut features)?,
            Detail::Rest(rest) => grounds(&places(hand, rest), globe, &mut features)?,
        }
    }
    Ok(features.end())
}

/// One set of places a row, in the order in which they are forked; empty rows are left out.
fn rows(
    hand: &HandPlan,
    plan: &BoardPlan,
    globe: &Globe,
    features: &mut Features,
) -> Result<(), FormatError> {
    let (mut rows, mut holes): (Vec<_>, Vec<&[Xy]>) = (Vec::new(), Vec::new());
    for forked in &plan.grounds {
        for (stage_index, stage) in forked.stages.iter().enumerate() {
            for (row_index, row) in stage.lattice.rows.iter().enumerate() {
                if row.holes.is_empty() {
                    continue;
                }
                holes.push(&row.holes);
                rows.push(Properties {
                    zone: Some(&forked.name),
                    stage: Some(stage_index + 1),
                    board: Some(stage.board_of(row.ahead_m)),
                    row: Some(row_index + 1),
                    ..Properties::of(hand)
                });
            }
        }
    }
    for (properties, shape) in rows.iter().zip(globe.places(&holes)?) {
        features.add(properties, &shape)?;
    }
    Ok(())
}

/// Worn blocks and donors, pair by pair, then the worn blocks that stay.
fn squares(
    hand: &HandPlan,
    plan: &BlockPlan,
    globe: &Globe,
    features: &mut Features,
) -> Result<(), FormatError> {
    let mut all: Vec<(Properties<'_>, Polygon<f64>)> = Vec::new();
    let mut add = |square: &Square, role, block: usize, pair: Option<usize>| {
        let properties = Properties {
            block: Some(block),
            role: Some(role),
            pair,
            area_m2: Some(figure(square.side_m * square.side_m)),
            ..Properties::of(hand)
        };
        all.push((properties, square.shape()));
    };
    for (index, swap) in plan.swaps.iter().enumerate() {
        add(&swap.worn, "worn", index + 1, Some(index + 1));
        add(&swap.donor, "donor", index + 1, Some(index + 1));
    }
    let mut block = plan.swaps.len();
    for (squares, role) in [
        (&plan.without_donor, "without_donor"),
        (&plan.kept_off, "kept_off"),
    ] {
        for square in squares {
            block += 1;
            add(square, role, block, None);
        }
    }
    let (rows, shapes): (Vec<_>, Vec<_>) = all.into_iter().unzip();
    let shapes = shapes.iter().map(std::slice::from_ref);
    grounds(
        &rows.into_iter().zip(shapes).collect::<Vec<_>>(),
        globe,
        features,
    )
}

fn strips<'a>(hand: &'a HandPlan, plan: &'a LanePlan) -> Vec<Row<'a>> {
    let strip = |lane: &'a Lane| {
        let properties = Properties {
            lane: Some(lane.number),
            person: Some(lane.person),
            day: Some(lane.day),
            area_m2: Some(figure(lane.area_m2)),
            ..Properties::of(hand)
        };
        (properties, lane.shape.0.as_slice())
    };
    plan.lanes.iter().map(strip).collect()
}

fn places<'a>(hand: &'a HandPlan, plan: &'a RestPlan) -> Vec<Row<'a>> {
    let place = |place: &'a LeftPlace| {
        let properties = Properties {
            operation: Some(&plan.operation),
            role: Some(place.why.name()),
            area_m2: Some(figure(place.area_m2)),
            ..Properties::of(hand)
        };
        (properties, std::slice::from_ref(&place.shape))
    };
    plan.places.iter().map(place).collect()
}

/// What stands beside a ground, and its polygons.
type Row<'a> = (Properties<'a>, &'a [Polygon<f64>]);

fn grounds(rows: &[Row<'_>], globe: &Globe, features: &mut Features) -> Result<(), FormatError> {
    let shapes: Vec<&[Polygon<f64>]> = rows.iter().map(|(_, shape)| *shape).collect();
    let shapes = globe.grounds(&shapes, LEAST_PIECE_M2)?;
    for ((properties, _), shape) in rows.iter().zip(shapes) {
        if let Some(shape) = shape {
            features.add(properties, &shape)?;
        }
    }
    Ok(())
}
