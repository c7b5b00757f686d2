//! Rates: by operation or by place, in three units, all of them brought to kilograms a square
//! metre.

use std::collections::BTreeMap;

use super::Desk;
use super::operations::direction_text;
use crate::job::file::{OperationToml, RatePerWord, RateRowToml};
use crate::job::model::{Direction, Material, MaterialKind, RatePer, RateRow, Rates};

/// Kilograms a square metre of a tonne a hectare.
const KG_PER_M2_OF_T_PER_HA: f64 = 0.1;
/// Kilograms a square metre of a gram a square metre.
const KG_PER_M2_OF_G_PER_M2: f64 = 1e-3;

/// A rate as written, in one of three units.
#[derive(Clone, Copy)]
struct Written {
    t_per_ha: Option<f64>,
    g_per_m2: Option<f64>,
    dressing_mm: Option<f64>,
}

impl Written {
    /// Kilograms a square metre. A millimetre of one tonne a cubic metre is one of them.
    fn kg_per_m2(self, density_t_per_m3: Option<f64>) -> Option<f64> {
        let by_weight = self.t_per_ha.map(|rate| rate * KG_PER_M2_OF_T_PER_HA);
        by_weight
            .or_else(|| self.g_per_m2.map(|rate| rate * KG_PER_M2_OF_G_PER_M2))
            .or_else(|| Some(self.dressing_mm? * density_t_per_m3?))
    }

    fn is_some(self) -> bool {
        self.t_per_ha.is_some() || self.g_per_m2.is_some() || self.dressing_mm.is_some()
    }
}

impl Desk {
    /// Checks rates and rows; says whether any material is asked for, and what is put down.
    pub(super) fn rates(
        &mut self,
        path: &str,
        file: &OperationToml,
        directions: &[Direction],
        materials: &BTreeMap<String, Material>,
    ) -> (bool, Option<Rates>) {
        let given = [
            (file.rate_t_per_ha.is_some(), "rate_t_per_ha"),
            (file.rate_g_per_m2.is_some(), "rate_g_per_m2"),
            (file.dressing_mm.is_some(), "dressing_mm"),
            (file.rates.is_some(), "rates"),
        ];
        let given: Vec<&str> = given
            .iter()
            .filter(|(is, _)| *is)
            .map(|(_, key)| *key)
            .collect();
        if let [first, others @ ..] = given.as_slice() {
            for other in others {
                let text = format!("`{other}` stands beside `{first}`; keep one of them");
                self.wrong(&format!("{path}.{other}"), text);
            }
        }
        if given.is_empty() && file.rate_per.is_some() && !self.spoilt(path) {
            let text = "`rate_per` stands without a rate; take it out";
            self.wrong(&format!("{path}.rate_per"), text);
        }
        let material = file.material.as_ref().and_then(|name| materials.get(name));
        // The middle of a range, until it is measured.
        let density_t_per_m3 = material
            .and_then(|material| material.density_t_per_m3)
            .map(|(least, greatest)| f64::midpoint(least, greatest));
        let mut rows = Vec::new();
        for (index, row) in file.rates.iter().flatten().enumerate() {
            let path = format!("{path}.rates.{}", index + 1);
            rows.push(self.rate_row(&path, row, directions, density_t_per_m3));
        }
        let single = Written {
            t_per_ha: file.rate_t_per_ha,
            g_per_m2: file.rate_g_per_m2,
            dressing_mm: file.dressing_mm,
        };
        if single.is_some() {
            rows.push(RateRow {
                zones: None,
                wear: None,
                directions: None,
                kg_per_m2: single.kg_per_m2(density_t_per_m3),
            });
        }
        let is_taken_off = material.is_some_and(|material| material.kind == MaterialKind::Arisings);
        let rates = Rates {
            per: match file.rate_per {
                Some(RatePerWord::Direction) => RatePer::Direction,
                Some(RatePerWord::Operation) | None => RatePer::Operation,
            },
            rows,
        };
        (
            !given.is_empty() || file.material.is_some(),
            (!rates.rows.is_empty() && !is_taken_off).then_some(rates),
        )
    }

    fn rate_row(
        &mut self,
        path: &str,
        row: &RateRowToml,
        directions: &[Direction],
        density_t_per_m3: Option<f64>,
    ) -> RateRow {
        self.check_zones(
            &format!("{path}.zones"),
            row.zones.as_deref().unwrap_or_default(),
        );
        let rates = [row.rate_t_per_ha, row.rate_g_per_m2, row.dressing_mm];
        if rates.iter().flatten().count() != 1 && !self.spoilt(path) {
            let text = "a row of `rates` needs one of `rate_t_per_ha`, `rate_g_per_m2`, `dressing_mm`, no more and no less";
            self.wrong(path, text);
        }
        let mut only = Vec::new();
        for (index, asked) in row.directions.iter().flatten().enumerate() {
            let path = format!("{path}.directions.{}", index + 1);
            let Some(direction) = self.direction(&path, asked) else {
                continue;
            };
            if !directions.contains(&direction) {
                let all: Vec<String> = directions.iter().map(|d| direction_text(*d)).collect();
                let text = format!(
                    "direction {} is none of this operation's, which are {}; write one of them, or add it to the operation's `directions`",
                    direction_text(direction),
                    all.join(", ")
                );
                self.wrong(&path, text);
            }
            only.push(direction);
        }
        let written = Written {
            t_per_ha: row.rate_t_per_ha,
            g_per_m2: row.rate_g_per_m2,
            dressing_mm: row.dressing_mm,
        };
        RateRow {
            zones: row.zones.clone(),
            wear: row.wear.clone(),
            directions: row.directions.as_ref().map(|_| only),
            kg_per_m2: written.kg_per_m2(density_t_per_m3),
        }
    }
}
