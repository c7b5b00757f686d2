//! Products and tasks: what is put down, where and how much.
//!
//! A task stands for one direction of one operation, since that is what is driven in one go and
//! what a rate is for. Where the operation puts something down, a treatment zone for each rate
//! holds the setpoint: DDI 6, setpoint mass per area application rate, in mg/m2 (ISO 11783-11,
//! data dictionary; number, name and unit seen in the lists that two open libraries for task data
//! carry).

use geo::MultiPolygon;

use super::element::Element;
use super::field::{TREATMENT_ZONE, polygons};
use super::names::{self, cut};
use super::{Ids, PARTFIELD};
use crate::formats::guidance::exact;
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

/// The products, by the order in which the job first uses them.
pub(super) fn products(plan: &Plan) -> Vec<Element> {
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
    let product = |&(number, name): &(usize, &str)| {
        let shown = if cut_alike(name) {
            let tail = format!("~{number}");
            format!("{}{tail}", cut(name, names::LETTERS - tail.len()))
        } else {
            cut(name, names::LETTERS)
        };
        Element::new("PDT")
            .with("A", Ids::of_product(number))
            .with("B", shown)
    };
    used.iter().map(product).collect()
}

/// The tasks, one for each direction that has a line.
pub(super) fn tasks(plan: &Plan, globe: &Globe) -> Result<Vec<Element>, FormatError> {
    let mut tasks = Vec::new();
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
                Some(rated) => Treatment::of(planned, rated, globe)?,
                None => Treatment::default(),
            };
            let task = Element::new("TSK")
                .with("A", Ids::of_task(&planned.operation, number))
                .with("B", names::of_direction(planned, number))
                .with("E", PARTFIELD)
                .with("G", PLANNED)
                .with_some("H", treatment.elsewhere)
                .with_some("I", treatment.outside)
                .with_some("J", treatment.outside)
                .holding(treatment.zones);
            let comments = comments
                .iter()
                .map(|text| Element::new("CAN").with("C", text));
            tasks.push(task.holding(comments));
        }
    }
    Ok(tasks)
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
    zones: Vec<Element>,
    /// The code of the zone that holds where none is drawn.
    elsewhere: Option<usize>,
    /// The code of the zone off the pitch, and where the position is lost.
    outside: Option<usize>,
}

impl Treatment {
    /// A zone for each rate: drawn where there are several, else for all the ground. Codes are
    /// the places of the rates in their order, from 1.
    fn of(planned: &OperationPlan, rated: &Rated, globe: &Globe) -> Result<Self, FormatError> {
        let product = planned
            .operation
            .material
            .as_ref()
            .map(|material| Ids::of_product(material.number));
        let zone = |code: usize, kg_per_m2: f64| {
            let setpoint = Element::new("PDV")
                .with("A", MASS_PER_AREA)
                .with("B", mg_per_m2(kg_per_m2))
                .with_some("C", product.as_ref());
            let zone = Element::new("TZN")
                .with("A", code)
                .with("B", rate_name(kg_per_m2));
            (zone, setpoint)
        };
        let last = rated.rows.len();
        let is_everywhere = rated.unrated.0.is_empty();
        if let ([(_, kg_per_m2)], true) = (rated.rows.as_slice(), is_everywhere) {
            let (zone, setpoint) = zone(last, *kg_per_m2);
            return Ok(Self {
                zones: vec![zone.holding([setpoint])],
                elsewhere: Some(last),
                outside: Some(last),
            });
        }
        let mut zones = Vec::new();
        if !is_everywhere || last == 0 {
            let (zone, setpoint) = zone(UNRATED, 0.0);
            zones.push(zone.holding([setpoint]));
        }
        for (index, (shape, kg_per_m2)) in rated.rows.iter().enumerate() {
            let drawn = drawn(globe, shape)?;
            let code = index + 1;
            if drawn.is_empty() && code != last {
                continue;
            }
            let (zone, setpoint) = zone(code, *kg_per_m2);
            zones.push(zone.holding(drawn).holding([setpoint]));
        }
        Ok(Self {
            zones,
            elsewhere: Some(if is_everywhere { last } else { UNRATED }),
            outside: Some(last),
        })
    }
}

fn drawn(globe: &Globe, shape: &MultiPolygon<f64>) -> Result<Vec<Element>, FormatError> {
    polygons(globe, shape, TREATMENT_ZONE, None, LEAST_PIECE_M2)
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
