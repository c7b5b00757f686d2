//! Hand work: which keys a kind needs and reads, and the checked work.

use super::Desk;
use super::pitch::compass;
use crate::job::file::{
    BalanceWord, BlockToml, BoardToml, ForkToml, HandToml, HandWord, JobToml, LaneToml,
};
use crate::job::model::{
    Balance, BlockWork, Board, BoardWork, Fork, HandKind, HandWork, LaneWork, RestWork,
};
use crate::job::{defaults, near};
use crate::space::{Angle, Xy};

/// The keys that a kind of hand work needs, and those that it reads besides.
fn keys(
    kind: HandWord,
) -> (
    &'static str,
    &'static [&'static str],
    &'static [&'static str],
) {
    match kind {
        HandWord::Board => (
            "board",
            &["zone", "board", "fork"],
            &[
                "angle_deg",
                "stages",
                "s_per_forking",
                "coincident_tines",
                "coincident_share",
            ],
        ),
        HandWord::Blocks => ("blocks", &["zone", "block"], &["s_per_block"]),
        HandWord::Lanes => (
            "lanes",
            &["zone"],
            &["angle_deg", "lane", "m2_per_person_h"],
        ),
        HandWord::Rest => ("rest", &["operation"], &["m2_per_person_h"]),
    }
}

/// The keys that not every kind reads.
const KEYS: [&str; 13] = [
    "zone",
    "operation",
    "angle_deg",
    "board",
    "fork",
    "block",
    "lane",
    "stages",
    "s_per_forking",
    "coincident_tines",
    "coincident_share",
    "s_per_block",
    "m2_per_person_h",
];

impl Desk {
    /// The hand work.
    pub(super) fn hand(&mut self, file: &JobToml) -> Vec<HandWork> {
        let mut works = Vec::new();
        for (index, hand) in file.hand.iter().enumerate() {
            let number = index + 1;
            let path = format!("hand.{number}");
            self.hand_keys(&path, hand);
            if let Some(zone) = &hand.zone {
                self.check_zones(&format!("{path}.zone"), std::slice::from_ref(zone));
            }
            if let Some(operation) = &hand.operation {
                self.rest_operation(&format!("{path}.operation"), operation, file);
            }
            if let Some(block) = &hand.block {
                self.block(&format!("{path}.block"), block);
            }
            let work = hand.id.clone().zip(kind(hand));
            works.extend(work.map(|(id, kind)| HandWork {
                number,
                id,
                people: hand.people,
                kind,
            }));
        }
        works
    }

    fn hand_keys(&mut self, path: &str, hand: &HandToml) {
        let Some(kind) = hand.kind else { return };
        let (kind, needed, read) = keys(kind);
        for key in KEYS {
            let below = format!("{path}.{key}");
            let given = self.tree.lines.contains_key(&below);
            if needed.contains(&key) && !given {
                let text = format!("`[[hand]]` of kind `{kind}` has no `{key}`; add it");
                self.wrong(path, text);
            } else if given && !needed.contains(&key) && !read.contains(&key) {
                let text =
                    format!("`{key}` is not read for hand work of kind `{kind}`; take it out");
                self.wrong(&below, text);
            }
        }
    }

    fn rest_operation(&mut self, path: &str, name: &str, file: &JobToml) {
        let ids = file.operation.iter().filter_map(|one| one.id.as_deref());
        if ids.clone().any(|id| id == name) {
            return;
        }
        let advice = if file.operation.is_empty() {
            "; the job has no operation".to_owned()
        } else {
            near::advice(name, ids)
        };
        self.wrong(
            path,
            format!("unknown operation `{}`{advice}", near::short(name)),
        );
    }

    fn block(&mut self, path: &str, block: &BlockToml) {
        if let Some(donors) = &block.donors {
            self.check_zones(&format!("{path}.donors"), std::slice::from_ref(donors));
        }
        if block.worn.is_none() && block.worn_area.is_none() && !self.spoilt(path) {
            let text = "`block` has neither `worn` nor `worn_area`; write the worn places, as points or by an outline";
            self.wrong(path, text);
        }
        let Some(area) = &block.worn_area else { return };
        let is_simple = {
            use geo::{LineString, Polygon, Validation};
            let ring = LineString::from(area.iter().map(|[x, y]| (*x, *y)).collect::<Vec<_>>());
            Polygon::new(ring, Vec::new()).is_valid()
        };
        let path = format!("{path}.worn_area");
        if !is_simple && !self.spoilt(&path) {
            let text = "`worn_area` crosses itself or holds no ground; give its corners in the order in which they are walked round";
            self.wrong(&path, text);
        }
    }
}

/// What is done, where everything for it is there.
fn kind(hand: &HandToml) -> Option<HandKind> {
    Some(match hand.kind? {
        HandWord::Board => HandKind::Board(BoardWork {
            zone: hand.zone.clone()?,
            angle: Angle::from_deg(hand.angle_deg.unwrap_or(90.0)),
            board: board(hand.board.as_ref()?)?,
            fork: fork(hand.fork.as_ref()?)?,
            stages: hand.stages.unwrap_or(defaults::STAGES),
            s_per_forking: hand.s_per_forking.unwrap_or(defaults::S_PER_FORKING),
            coincident_tines: hand.coincident_tines.unwrap_or(defaults::COINCIDENT_TINES),
            coincident_share: hand.coincident_share.unwrap_or(defaults::COINCIDENT_SHARE),
        }),
        HandWord::Blocks => HandKind::Blocks(blocks(hand, hand.block.as_ref()?)?),
        HandWord::Lanes => HandKind::Lanes(lanes(hand)?),
        HandWord::Rest => HandKind::Rest(RestWork {
            operation: hand.operation.clone()?,
            m2_per_person_h: hand.m2_per_person_h,
        }),
    })
}

fn board(file: &BoardToml) -> Option<Board> {
    Some(Board {
        length_m: file.length_m?,
        width_m: file.width_m?,
    })
}

fn fork(file: &ForkToml) -> Option<Fork> {
    Some(Fork {
        tines: file.tines?,
        tine_spacing_mm: file.tine_spacing_mm?,
        tine_diameter_mm: file.tine_diameter_mm?,
        depth_mm: file.depth_mm?,
        step_mm: file.step_mm?,
        edge_mm: file.edge_mm,
    })
}

fn blocks(hand: &HandToml, file: &BlockToml) -> Option<BlockWork> {
    let places = |places: &Option<Vec<[f64; 2]>>| -> Vec<Xy> {
        let places = places.iter().flatten();
        places.map(|&[x, y]| Xy { x, y }).collect()
    };
    Some(BlockWork {
        zone: hand.zone.clone()?,
        side_m: file.side_m?,
        depth_mm: file.depth_mm?,
        worn: places(&file.worn),
        worn_area: places(&file.worn_area),
        donors: file.donors.clone(),
        s_per_block: hand.s_per_block.unwrap_or(defaults::S_PER_BLOCK),
        barrow_kg: file.barrow_kg.unwrap_or(defaults::BARROW_KG),
    })
}

fn lanes(hand: &HandToml) -> Option<LaneWork> {
    let none = LaneToml::default();
    let lane = hand.lane.as_ref().unwrap_or(&none);
    Some(LaneWork {
        zone: hand.zone.clone()?,
        angle: Angle::from_deg(hand.angle_deg.unwrap_or(0.0)),
        width_m: lane.width_m.unwrap_or(defaults::LANE_WIDTH_M),
        balance: match lane.balance {
            Some(BalanceWord::Area) => Balance::Area,
            Some(BalanceWord::Damage) | None => Balance::Damage,
        },
        m2_per_person_h: hand.m2_per_person_h.unwrap_or(defaults::MENDED_M2_PER_H),
        minutes: lane.minutes,
        days: lane.days.unwrap_or(defaults::LANE_DAYS),
        from: lane.from.map(compass),
    })
}
