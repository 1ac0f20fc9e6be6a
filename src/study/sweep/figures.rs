//! What is told of each row.

use crate::assess;
use crate::run::Outcome;

/// A column of results.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Name, with its unit at the end.
    pub name: &'static str,
    /// Digits behind the point that are kept.
    pub decimals: usize,
}

const fn column(name: &'static str, decimals: usize) -> Column {
    Column { name, decimals }
}

/// The columns of results, in their order.
pub const COLUMNS: [Column; 12] = [
    column("attic_ridge_high_c", 4),
    column("attic_air_high_c", 4),
    column("deck_underside_high_c", 4),
    column("living_high_c", 4),
    column("living_hours_above_26_7_c", 3),
    column("ceiling_gain_kwh", 5),
    column("ceiling_peak_w_m2", 4),
    column("attic_ach_mean", 4),
    column("fan_delivered_m3_s", 6),
    column("fan_run_hours", 3),
    column("fan_energy_kwh", 5),
    column("living_pressure_min_pa", 4),
];

/// Which column holds the highest mean temperature of the attic's air, °C.
pub const ATTIC_AIR: usize = 1;
/// Which holds the rooms' highest, °C.
pub const LIVING: usize = 3;
/// Which holds the heat through the ceiling, kWh.
pub const CEILING: usize = 5;
/// Which holds what the fans move, m³/s.
pub const DELIVERED: usize = 8;
/// Which holds how long they run, h.
pub const RUN_HOURS: usize = 9;

/// A row's results, rounded to what is written down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures(pub [f64; COLUMNS.len()]);

impl Figures {
    /// Those of a run: of what a run means only what is told of a row is worked out.
    pub fn of(outcome: &Outcome) -> Self {
        let readings = assess::readings(outcome);
        let heat = assess::heat(outcome);
        let air = assess::air(outcome);
        let fan = assess::fan(outcome);
        let mut values = [
            readings.attic_ridge.peak.temp_c,
            readings.attic_air.peak.temp_c,
            readings.deck_underside.peak.temp_c,
            readings.living_air.peak.temp_c,
            assess::hours_above_limit(outcome),
            heat.ceiling_gain_kwh,
            heat.ceiling_peak_w_m2,
            air.attic_ach_mean,
            air.fan_delivered_m3_s,
            fan.run_hours,
            fan.energy_kwh,
            air.living_pressure_min_pa,
        ];
        for (value, column) in values.iter_mut().zip(COLUMNS) {
            *value = rounded(*value, column.decimals);
        }
        Self(values)
    }
}

/// A number to some decimals: the one that its digits are read back as.
fn rounded(value: f64, decimals: usize) -> f64 {
    let scale = 10f64.powi(i32::try_from(decimals).unwrap_or(0));
    // Without a negative nought.
    (value * scale).round() / scale + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back_the_same() {
        for value in [1.0 / 3.0, -2.0 / 3.0, 54.123_45, 1e-9, -1e-9, 0.1 + 0.2] {
            for decimals in [3, 4, 5, 6] {
                let rounded = rounded(value, decimals);
                let text = format!("{rounded:.decimals$}");
                let back: f64 = text.parse().unwrap();
                assert_eq!(back.to_bits(), rounded.to_bits(), "{text}");
            }
        }
    }
}
