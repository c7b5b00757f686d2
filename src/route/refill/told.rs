//! What a person is told about loads.

use super::MOST_LOADS;
use crate::job::model::Operation;
use crate::route::legs::{Hauled, Refills, Route};
use crate::warning::{Code, Warning};

/// Ground without a rate below this is rounding, square metres.
const NOTHING_M2: f64 = 1e-3;

/// The warnings about an operation's loads.
#[must_use]
pub fn warnings(operation: &Operation, route: Option<&Route>) -> Vec<Warning> {
    let place = || format!("operation {}", operation.id);
    let (Some(_), Some(rates)) = (operation.implement.hopper_t, &operation.rates) else {
        return Vec::new();
    };
    if rates.rows.iter().any(|row| row.kg_per_m2.is_none()) {
        return vec![Warning::new(
            Code::LoadsNotPlanned,
            place(),
            "no loads are planned, for `dressing_mm` needs the density of the material; give the \
             operation a `material` with `density_t_per_m3`, or a rate by weight",
        )];
    }
    let Some(refills) = route.and_then(|route| route.refills.as_ref()) else {
        return Vec::new();
    };
    let mut warnings = Vec::new();
    if refills.unrated_m2 > NOTHING_M2 {
        warnings.push(Warning::new(
            Code::NoRate,
            place(),
            format!(
                "no row of `rates` fits {:.1} m2 of the strips, so nothing is put down there; a \
                 last row without `zones` and `wear` would hold for the rest",
                refills.unrated_m2
            ),
        ));
    }
    warnings.extend(hauled(refills).map(|(code, text)| Warning::new(code, place(), text)));
    let (hopper_t, pass_t) = (refills.hopper_t, refills.whole_pass_t);
    if refills.loads.len() > 1 && pass_t > hopper_t {
        warnings.push(Warning::new(
            Code::SmallHopper,
            place(),
            format!(
                "a load of {hopper_t} t does not last a whole pass, so passes are cut by refills; \
                 a hopper of {:.3} t would do",
                (pass_t * 1000.0).ceil() / 1000.0
            ),
        ));
    }
    warnings
}

fn hauled(refills: &Refills) -> Option<(Code, String)> {
    let loads = refills.loads.len();
    match refills.hauled {
        Hauled::NoStockpile if loads > 1 => Some((
            Code::NoStockpile,
            format!(
                "{loads} loads are needed, and no stockpile is placed, so no hauls are driven: \
                 material has to come to the machine; place a `stockpile`"
            ),
        )),
        Hauled::NoWay if loads > 1 => Some((
            Code::NoStockpile,
            format!(
                "{loads} loads are needed, and the machine cannot drive to a stockpile and back, \
                 so no hauls are driven: material has to come to the machine; place the stockpile \
                 where there is room to turn, or check what stands beside it"
            ),
        )),
        Hauled::TooMany => Some((
            Code::LoadsNotPlanned,
            format!(
                "{:.3} t in loads of {} t are too many loads; at most {MOST_LOADS} are planned; \
                 check `hopper_t` and the rate",
                refills.put_down_t, refills.hopper_t
            ),
        )),
        _ => None,
    }
}
