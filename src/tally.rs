//! Times, rates and people, put together per operation.

/// The time of one operation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Time {
    /// Seconds with the tool down.
    pub work_s: f64,
    /// Seconds of turning. An estimate: 35 s for each part but the first.
    pub turn_s: f64,
    /// Seconds of hauling (0 until loads are planned).
    pub haul_s: f64,
    /// Seconds of loading (0 until loads are planned).
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
    /// Person-seconds.
    pub person_s: f64,
    /// Cost of people, in the job's money.
    pub cost: f64,
}
