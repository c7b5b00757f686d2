//! Times, rates and people, put together per operation.
//!
//! Rates follow ASABE EP496 (field capacity = speed x width x efficiency / 10, in hectares
//! an hour from km/h and metres). Turning is that of the drive; where none is planned it is an
//! **estimate**: 35 s for each part but the first (common practice, no source).

use crate::job::model::{Crew, Operation};
use crate::route::legs::Route;

/// Seconds of an estimated turn.
pub const TURN_ESTIMATE_S: f64 = 35.0;
/// Seconds in an hour.
const HOUR_S: f64 = 3600.0;
/// Seconds in a minute.
const MINUTE_S: f64 = 60.0;

/// The time of one operation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Time {
    /// Seconds with the tool down.
    pub work_s: f64,
    /// Seconds of turning: of the drive, or an estimate of 35 s for each part but the first.
    pub turn_s: f64,
    /// Seconds of hauling, of the drive; 0 without one.
    pub haul_s: f64,
    /// Seconds of loading: `load_min` for each load of the drive, the first included; 0 without
    /// one.
    pub load_s: f64,
    /// Seconds for stops: a share of the sum of the others.
    pub allowance_s: f64,
    /// All of them.
    pub total_s: f64,
    /// Hectares covered in an hour, all directions counted; 0 where `total_s` is 0.
    pub rate_ha_per_h: f64,
    /// `rate_ha_per_h` over speed x width (ASABE EP496); 0 where `total_s` is 0.
    pub field_efficiency: f64,
    /// `work_s / total_s`; 0 where `total_s` is 0.
    pub time_efficiency: f64,
    /// People at it.
    pub people: u32,
}

/// Sums over all operations.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Totals {
    /// Seconds with a tool down.
    pub work_s: f64,
    /// Seconds in all.
    pub total_s: f64,
    /// Person-seconds, hand work among them.
    pub person_s: f64,
    /// Cost of people, in the job's money.
    pub cost: f64,
}

/// Field capacity in hectares an hour: speed x width x efficiency / 10 (ASABE EP496; km/h,
/// metres, efficiency as a fraction).
#[must_use]
pub fn field_capacity_ha_per_h(speed_km_h: f64, width_m: f64, efficiency: f64) -> f64 {
    speed_km_h * width_m * efficiency / 10.0
}

/// Seconds of work along a length at a speed.
#[must_use]
pub fn work_s(length_m: f64, speed_km_h: f64) -> f64 {
    length_m / (speed_km_h * 1000.0 / HOUR_S)
}

/// The seconds of turning between so many parts where no drive is planned: an estimate.
#[must_use]
pub fn turn_estimate_s(parts: usize) -> f64 {
    TURN_ESTIMATE_S * parts.saturating_sub(1) as f64
}

/// Seconds beside the work.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Beside {
    /// Of turning.
    pub turn_s: f64,
    /// Of hauling.
    pub haul_s: f64,
    /// Of loading.
    pub load_s: f64,
}

impl Beside {
    /// Of a drive, with the minutes that filling the hopper takes.
    #[must_use]
    pub fn of_drive(route: &Route, load_min: f64) -> Self {
        let loads = route
            .refills
            .as_ref()
            .map_or(0, |refills| refills.loads.len());
        Self {
            turn_s: route.turn_s,
            haul_s: route.haul_s,
            load_s: loads as f64 * load_min * MINUTE_S,
        }
    }

    /// Of so many parts where no drive is planned: turning is an estimate, the rest 0.
    #[must_use]
    pub fn estimated(parts: usize) -> Self {
        Self {
            turn_s: turn_estimate_s(parts),
            ..Self::default()
        }
    }
}

/// The time of an operation from the length worked, the seconds beside the work and the area
/// covered, directions added up.
#[must_use]
pub fn time(
    operation: &Operation,
    crew: &Crew,
    stops_share: f64,
    working_length_m: f64,
    beside: Beside,
    covered_m2: f64,
) -> Time {
    let Beside {
        turn_s,
        haul_s,
        load_s,
    } = beside;
    let implement = &operation.implement;
    let work_s = work_s(working_length_m, implement.speed_km_h);
    let driven_s = work_s + turn_s + haul_s + load_s;
    let allowance_s = stops_share * driven_s;
    let total_s = driven_s + allowance_s;
    let over_total = |value: f64| if total_s > 0.0 { value / total_s } else { 0.0 };
    let rate_ha_per_h = over_total(covered_m2 / 1e4 * HOUR_S);
    let full = field_capacity_ha_per_h(implement.speed_km_h, implement.working_width_m, 1.0);
    Time {
        work_s,
        turn_s,
        haul_s,
        load_s,
        allowance_s,
        total_s,
        rate_ha_per_h,
        field_efficiency: rate_ha_per_h / full,
        time_efficiency: over_total(work_s),
        people: operation.people.or(crew.people).unwrap_or(1),
    }
}

impl Totals {
    /// Sums the times of all operations, with the price of an hour of one person.
    #[must_use]
    pub fn of<'a>(times: impl IntoIterator<Item = &'a Time>, crew: &Crew) -> Self {
        let mut totals = Self::default();
        for time in times {
            totals.work_s += time.work_s;
            totals.total_s += time.total_s;
            totals.person_s += time.total_s * f64::from(time.people);
        }
        totals.cost = totals.person_s * crew.price_per_h.unwrap_or(0.0) / HOUR_S;
        totals
    }

    /// Adds person-seconds of work by hand, with their cost.
    pub fn add_people(&mut self, person_s: f64, crew: &Crew) {
        self.person_s += person_s;
        self.cost += person_s * crew.price_per_h.unwrap_or(0.0) / HOUR_S;
    }
}
