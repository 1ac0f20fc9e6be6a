//! What a run means: peaks, heat, air, comfort, cautions, and where the attic's heat comes from.
//!
//! Numbers and codes only; words are made where results are reported.

mod account;
mod air;
mod caution;
mod comfort;
mod days;
mod heat;
mod inspection;
mod readings;
mod trade_rules;

pub use account::{Account, Accounts, Item, Line, Side, Surface, attic_account_at};
pub use air::{AirChange, FanUse, air, fan};
pub use caution::{Caution, Depressurised};
pub use comfort::{COMFORT_LIMIT_C, Comfort, hours_above_limit};
pub use days::Day;
pub use heat::{Heat, heat};
pub use inspection::{Inspection, Warning, inspect};
pub use readings::{PLACES, Peak, Reading, Readings, SensorReading, readings};
pub use trade_rules::{
    AGREEING_HEIGHT_M, AIR_PATH_M, Amount, MESH_M, Rule, Ruling, Unmet, Verdict,
    fan_flow_by_floor_m3_s, fan_flow_by_volume_m3_s, fan_inlet_m2, is_dark_or_steep, rulings,
    vents_at_150_m2, vents_at_300_m2, whole_house_exit_m2,
};

use crate::house::House;
use crate::run::Outcome;
use crate::weather::Weather;

/// What a run means.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// Peaks and means of the temperatures that people ask for.
    pub readings: Readings,
    /// Heat through the ceiling, and sun on the roof.
    pub heat: Heat,
    /// Air through the attic, and pressures.
    pub air: AirChange,
    /// What the fans did.
    pub fan: FanUse,
    /// Day by day.
    pub days: Vec<Day>,
    /// What thermometers show.
    pub sensors: Vec<SensorReading>,
    /// How long the rooms are too warm.
    pub comfort: Comfort,
    /// Where the attic's heat comes from and goes to.
    pub accounts: Accounts,
    /// Where the work can hurt someone.
    pub cautions: Vec<Caution>,
}

/// Works out what a run means. `weather` is that of the run: days before the period count for the
/// adaptive comfort limit.
pub fn assess(house: &House, weather: &Weather, outcome: &Outcome) -> Assessment {
    let readings = readings::readings(outcome);
    let air = air::air(outcome);
    let cautions = caution::cautions(house, outcome, &readings);
    Assessment {
        heat: heat::heat(outcome),
        fan: air::fan(outcome),
        days: days::days(outcome),
        sensors: readings::sensors(outcome),
        comfort: comfort::comfort(house, weather, outcome),
        accounts: account::accounts(outcome, readings.attic_air.peak.time_s),
        readings,
        air,
        cautions,
    }
}

/// Joules in a kilowatt-hour.
const KWH_J: f64 = 3.6e6;

/// Largest value and where it is; `NaN` and 0 of nothing.
fn largest(values: &[f64]) -> (f64, usize) {
    let mut best = (f64::NAN, 0);
    for (index, &value) in values.iter().enumerate() {
        if best.0.is_nan() || value > best.0 {
            best = (value, index);
        }
    }
    best
}

/// Smallest value; `NaN` of nothing.
fn smallest(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::NAN, f64::min)
}

/// Mean over time of values at instants, by straight lines between them.
fn mean(times_s: &[f64], values: &[f64]) -> f64 {
    let mut sum = 0.0;
    for (t, v) in times_s.windows(2).zip(values.windows(2)) {
        sum += (t[1] - t[0]) * 0.5 * (v[0] + v[1]);
    }
    match (times_s.first(), times_s.last()) {
        (Some(first), Some(last)) if last > first => sum / (last - first),
        _ => values.first().copied().unwrap_or(f64::NAN),
    }
}

/// Mean over time of values that are means of the part that ends at their instant; the first, of no
/// part, counts for nothing.
fn mean_of_parts(times_s: &[f64], values: &[f64]) -> f64 {
    let parts = times_s.windows(2).zip(values.iter().skip(1));
    let sum: f64 = parts.map(|(t, value)| (t[1] - t[0]) * value).sum();
    match (times_s.first(), times_s.last()) {
        (Some(first), Some(last)) if last > first => sum / (last - first),
        _ => values.first().copied().unwrap_or(f64::NAN),
    }
}

/// Time that values at instants, joined by straight lines, are above a limit, s.
fn time_above_s(times_s: &[f64], values: &[f64], limit: f64) -> f64 {
    let mut sum = 0.0;
    for (t, v) in times_s.windows(2).zip(values.windows(2)) {
        let (low, high) = (v[0].min(v[1]) - limit, v[0].max(v[1]) - limit);
        let share = if low >= 0.0 && high > 0.0 {
            1.0
        } else if high > 0.0 {
            high / (high - low)
        } else {
            0.0
        };
        sum += share * (t[1] - t[0]);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_above_its_middle_half_of_the_time() {
        let times = [0.0, 10.0, 20.0];
        assert!((time_above_s(&times, &[0.0, 10.0, 20.0], 10.0) - 10.0).abs() < 1e-12);
        assert!((time_above_s(&times, &[0.0, 10.0, 20.0], 5.0) - 15.0).abs() < 1e-12);
        assert!(time_above_s(&times, &[0.0, 10.0, 20.0], 20.0).abs() < 1e-12);
        assert!((time_above_s(&times, &[3.0, 3.0, 3.0], 2.0) - 20.0).abs() < 1e-12);
    }

    #[test]
    fn means_weigh_time() {
        assert!((mean(&[0.0, 1.0, 4.0], &[0.0, 2.0, 2.0]) - 1.75).abs() < 1e-12);
    }
}
