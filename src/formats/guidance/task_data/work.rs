//! Products and tasks: what is put down, where and how much.
//!
//! A task stands for one direction of one operation, since that is what is driven in one go and
//! what a rate is for. Where the operation puts something down, a treatment zone for each rate
//! holds the setpoint: DDI 6, setpoint mass per area application rate, in mg/m2 (ISO 11783-11,
//! data dictionary; number, name and unit seen in the lists that two open libraries for task data
//! carry).

use super::field::{TREATMENT_ZONE, polygons};
use super::names::{self, cut};
use super::{Ids, PARTFIELD, Xml};
use crate::formats::guidance::exact;
use crate::formats::lattice::Patch;
use crate::formats::{FormatError, Globe, LEAST_PIECE_M2};
use crate::plan::{OperationPlan, Plan};
use crate::zones::Rated;

/// Setpoint mass per area application rate, as written: two bytes in hexadecimal.
const MASS_PER_AREA: &str = "0006";
/// Milligrams in a kilogram.
const MG_PER_KG: f64 = 1e6;
/// The greatest value of a process data variable.
const GREATEST_VALUE: f64 = 2_147_483_647.0;
/// A task that is still to be done (attribute G of TSK).
const PLANNED: u8 = 1;
/// The treatment zone of what no rate fits.
const UNRATED: usize = 0;

/// Writes the products, by the order in which the job first uses them.
pub(super) fn products(plan: &Plan, xml: &mut Xml) {
    let mut used: Vec<(usize, &str)> = plan
        .operations
        .iter()
        .filter(|planned| planned.rated.is_some())
        .filter_map(|planned| planned.operation.material.as_ref())
        .map(|material| (material.number, material.name.as_str()))
        .collect();
    used.sort_unstable();
    used.dedup();
    let cut_alike = |name: &str| {
        let is_alike = |(_, other): &&(usize, &str)| {
            other
                .chars()
                .take(names::LETTERS)
                .eq(name.chars().take(names::LETTERS))
        };
        used.iter().filter(is_alike).count() > 1
    };
    for &(number, name) in &used {
        xml.begin("PDT");
        xml.set("A", Ids::of_product(number));
        if cut_alike(name) {
            let tail = format!("~{number}");
            let head = cut(name, names::LETTERS - tail.len());
            xml.set("B", format_args!("{head}{tail}"));
        } else {
            xml.set("B", cut(name, names::LETTERS));
        }
        xml.end();
    }
}

/// Writes the tasks, one for each direction that has a line.
pub(super) fn tasks(plan: &Plan, globe: &Globe, xml: &mut Xml) -> Result<(), FormatError> {
    for planned in &plan.operations {
        let comments = comments(planned);
        // Rounds come first among the directions and have no rates.
        let rounds = planned.directions.len() - planned.operation.directions.len();
        for (index, direction) in planned.directions.iter().enumerate() {
            if direction.passes.part_count() == 0 {
                continue;
            }
            let number = index + 1;
            let by_direction = planned.rated.as_deref().unwrap_or_default();
            let rated = index
                .checked_sub(rounds)
                .and_then(|index| by_direction.get(index));
            let treatment = match rated {
                Some(rated) => Treatment::of(rated, globe)?,
                None => Treatment::default(),
            };
            xml.begin("TSK");
            xml.set("A", Ids::of_task(&planned.operation, number));
            xml.set("B", names::of_direction(planned, number));
            xml.set("E", PARTFIELD);
            xml.set("G", PLANNED);
            let codes = [treatment.elsewhere, treatment.outside, treatment.outside];
            for (key, code) in ["H", "I", "J"].into_iter().zip(codes) {
                if let Some(code) = code {
                    xml.set(key, code);
                }
            }
            for zone in &treatment.zones {
                zone.write(planned, xml);
            }
            for text in &comments {
                xml.begin("CAN");
                xml.set("C", text);
                xml.end();
            }
            xml.end();
        }
    }
    Ok(())
}

/// What the terminal shows beside a task: the check on a peg, and the services wording of deep
/// work, in pieces of 32 letters.
fn comments(planned: &OperationPlan) -> Vec<String> {
    let services = exact::services(planned);
    let services = services.iter().flat_map(|wording| names::lines(wording));
    std::iter::once(exact::PEG_CHECK.to_owned())
        .chain(services)
        .collect()
}

/// The treatment of one task.
#[derive(Default)]
struct Treatment {
    zones: Vec<Zone>,
    /// The code of the zone that holds where none is drawn.
    elsewhere: Option<usize>,
    /// The code of the zone off the pitch, and where the position is lost.
    outside: Option<usize>,
}

/// A treatment zone: the ground that it is drawn on, and what is put down there.
struct Zone {
    code: usize,
    kg_per_m2: f64,
    drawn: Vec<Patch>,
}

impl Treatment {
    /// A zone for each rate: drawn where there are several, else for all the ground. Codes are
    /// the places of the rates in their order, from 1.
    fn of(rated: &Rated, globe: &Globe) -> Result<Self, FormatError> {
        let zone = |code: usize, kg_per_m2: f64, drawn: Vec<Patch>| Zone {
            code,
            kg_per_m2,
            drawn,
        };
        let last = rated.rows.len();
        let is_everywhere = rated.unrated.0.is_empty();
        if let ([(_, kg_per_m2)], true) = (rated.rows.as_slice(), is_everywhere) {
            return Ok(Self {
                zones: vec![zone(last, *kg_per_m2, Vec::new())],
                elsewhere: Some(last),
                outside: Some(last),
            });
        }
        let mut zones = Vec::new();
        if !is_everywhere || last == 0 {
            zones.push(zone(UNRATED, 0.0, Vec::new()));
        }
        for (index, (shape, kg_per_m2)) in rated.rows.iter().enumerate() {
            let drawn = globe.rings(shape, LEAST_PIECE_M2)?;
            let code = index + 1;
            if drawn.is_empty() && code != last {
                continue;
            }
            zones.push(zone(code, *kg_per_m2, drawn));
        }
        Ok(Self {
            zones,
            elsewhere: Some(if is_everywhere { last } else { UNRATED }),
            outside: Some(last),
        })
    }
}

impl Zone {
    fn write(&self, planned: &OperationPlan, xml: &mut Xml) {
        xml.begin("TZN");
        xml.set("A", self.code);
        xml.set("B", rate_name(self.kg_per_m2));
        polygons(xml, &self.drawn, TREATMENT_ZONE, None);
        xml.begin("PDV");
        xml.set("A", MASS_PER_AREA);
        xml.set("B", mg_per_m2(self.kg_per_m2));
        if let Some(material) = &planned.operation.material {
            xml.set("C", Ids::of_product(material.number));
        }
        xml.end();
        xml.end();
    }
}

/// Whole milligrams a square metre.
#[allow(clippy::cast_possible_truncation)] // held below the greatest value
fn mg_per_m2(kg_per_m2: f64) -> i64 {
    (kg_per_m2 * MG_PER_KG).round().clamp(0.0, GREATEST_VALUE) as i64
}

/// `35 g/m2`.
fn rate_name(kg_per_m2: f64) -> String {
    format!("{} g/m2", mg_per_m2(kg_per_m2) as f64 / 1e3)
}
