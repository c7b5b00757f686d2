//! `hand.geojson`: the hand work, in the order of the job. A row of holes is one set of places;
//! a turf block, a lane and a place that is left are grounds.

use geo::MultiPolygon;
use geojson::Feature;
use serde::Serialize;

use super::features::{collection, feature};
use super::globe::Globe;
use super::{FormatError, LEAST_PIECE_M2, figure};
use crate::hand::blocks::{BlockPlan, Square};
use crate::hand::board::BoardPlan;
use crate::hand::lanes::LanePlan;
use crate::hand::rest::RestPlan;
use crate::hand::{Detail, HandPlan};
use crate::plan::Plan;

/// A key that a kind has no use for is left out.
#[derive(Debug, Default, Serialize)]
struct Properties<'a> {
    hand: &'a str,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    zone: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stage: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    board: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    row: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    block: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    role: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pair: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    operation: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lane: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    person: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    day: Option<Option<u32>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    area_m2: Option<f64>,
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
    let mut features = Vec::new();
    for hand in &plan.hand {
        match &hand.detail {
            Detail::Board(_, board) => rows(hand, board, globe, &mut features)?,
            Detail::Blocks(_, blocks) => squares(hand, blocks, globe, &mut features)?,
            Detail::Lanes(_, lanes) => strips(hand, lanes, globe, &mut features)?,
            Detail::Rest(rest) => places(hand, rest, globe, &mut features)?,
        }
    }
    collection(&features)
}

/// One set of places a row, in the order in which they are forked; empty rows are left out.
fn rows(
    hand: &HandPlan,
    plan: &BoardPlan,
    globe: &Globe,
    features: &mut Vec<Feature>,
) -> Result<(), FormatError> {
    for forked in &plan.grounds {
        for (stage_index, stage) in forked.stages.iter().enumerate() {
            for (row_index, row) in stage.lattice.rows.iter().enumerate() {
                if row.holes.is_empty() {
                    continue;
                }
                let properties = Properties {
                    zone: Some(&forked.name),
                    stage: Some(stage_index + 1),
                    board: Some(stage.board_of(row.ahead_m)),
                    row: Some(row_index + 1),
                    ..Properties::of(hand)
                };
                features.push(feature(&properties, globe.places(&row.holes)?)?);
            }
        }
    }
    Ok(())
}

/// Worn blocks and donors, pair by pair, then the worn blocks that stay.
fn squares(
    hand: &HandPlan,
    plan: &BlockPlan,
    globe: &Globe,
    features: &mut Vec<Feature>,
) -> Result<(), FormatError> {
    let mut add = |square: &Square, role, block: usize, pair: Option<usize>| {
        let properties = Properties {
            block: Some(block),
            role: Some(role),
            pair,
            area_m2: Some(figure(square.side_m * square.side_m)),
            ..Properties::of(hand)
        };
        ground(
            &MultiPolygon(vec![square.shape()]),
            &properties,
            globe,
            features,
        )
    };
    for (index, swap) in plan.swaps.iter().enumerate() {
        add(&swap.worn, "worn", index + 1, Some(index + 1))?;
        add(&swap.donor, "donor", index + 1, Some(index + 1))?;
    }
    let mut block = plan.swaps.len();
    for (squares, role) in [
        (&plan.without_donor, "without_donor"),
        (&plan.kept_off, "kept_off"),
    ] {
        for square in squares {
            block += 1;
            add(square, role, block, None)?;
        }
    }
    Ok(())
}

fn strips(
    hand: &HandPlan,
    plan: &LanePlan,
    globe: &Globe,
    features: &mut Vec<Feature>,
) -> Result<(), FormatError> {
    for lane in &plan.lanes {
        let properties = Properties {
            lane: Some(lane.number),
            person: Some(lane.person),
            day: Some(lane.day),
            area_m2: Some(figure(lane.area_m2)),
            ..Properties::of(hand)
        };
        ground(&lane.shape, &properties, globe, features)?;
    }
    Ok(())
}

fn places(
    hand: &HandPlan,
    plan: &RestPlan,
    globe: &Globe,
    features: &mut Vec<Feature>,
) -> Result<(), FormatError> {
    for place in &plan.places {
        let properties = Properties {
            operation: Some(&plan.operation),
            role: Some(place.why.name()),
            area_m2: Some(figure(place.area_m2)),
            ..Properties::of(hand)
        };
        let shape = MultiPolygon(vec![place.shape.clone()]);
        ground(&shape, &properties, globe, features)?;
    }
    Ok(())
}

fn ground(
    shape: &MultiPolygon<f64>,
    properties: &Properties<'_>,
    globe: &Globe,
    features: &mut Vec<Feature>,
) -> Result<(), FormatError> {
    if let Some(value) = globe.ground(shape, LEAST_PIECE_M2)? {
        features.push(feature(properties, value)?);
    }
    Ok(())
}
