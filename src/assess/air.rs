//! Air through the attic, pressures, and what the fans did.

use crate::network::{AirPath, Inlet};
use crate::run::Outcome;

use super::{KWH_J, largest, mean_of_parts, smallest};

/// Air through the attic, and pressures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirChange {
    /// Mean air change of the attic, 1/h.
    pub attic_ach_mean: f64,
    /// Largest, 1/h.
    pub attic_ach_max: f64,
    /// What the labels of all fans promise together, m³/s.
    pub fan_free_air_m3_s: f64,
    /// What they move while they run, m³/s.
    pub fan_delivered_m3_s: f64,
    /// Largest share of the air entering the attic that comes from the rooms.
    pub from_living_share_max: f64,
    /// Largest share of a fan's flow that it took straight from a vent beside it.
    pub short_circuit_share_max: f64,
    /// Share of all air that entered the attic in the period.
    pub from_living_share_mean: f64,
    /// Lowest pressure of the rooms at their floor against outdoors, Pa.
    pub living_pressure_min_pa: f64,
    /// Lowest pressure of the attic at its floor against outdoors, Pa.
    pub attic_pressure_min_pa: f64,
}

/// What the fans did.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FanUse {
    /// Time that any fan ran, h; groups that take turns within an output interval count once.
    pub run_hours: f64,
    /// Electricity of all fans, kWh.
    pub energy_kwh: f64,
    /// Starts of the group that started most often.
    pub starts: u32,
}

/// Air through the attic of a run, and pressures.
pub fn air(outcome: &Outcome) -> AirChange {
    let trace = &outcome.trace;
    let inlets: Vec<Inlet> = outcome.paths.iter().filter_map(AirPath::inlet).collect();
    let (mut entering_kg, mut from_living_kg) = (0.0, 0.0);
    for row in 0..outcome.times_s.len() {
        let step_s = outcome.interval_s(row);
        let flows = outcome.flow_row(row);
        for inlet in &inlets {
            let inward_kg = inlet.inward_kg_s(flows) * step_s;
            entering_kg += inward_kg;
            from_living_kg += if inlet.is_from_living { inward_kg } else { 0.0 };
        }
    }
    AirChange {
        attic_ach_mean: mean_of_parts(&trace.times_s, &trace.attic_ach),
        attic_ach_max: largest(&trace.attic_ach).0,
        fan_free_air_m3_s: outcome.fans.iter().map(|fan| fan.free_air_m3_s).sum(),
        fan_delivered_m3_s: outcome.fans.iter().map(|fan| fan.delivered_m3_s).sum(),
        from_living_share_max: largest(&trace.from_living_share).0,
        short_circuit_share_max: largest(&trace.short_circuit_share).0,
        from_living_share_mean: if entering_kg > 0.0 {
            from_living_kg / entering_kg
        } else {
            0.0
        },
        living_pressure_min_pa: smallest(&trace.living_pressure_pa),
        attic_pressure_min_pa: smallest(&trace.attic_pressure_pa),
    }
}

/// What the fans of a run did.
pub fn fan(outcome: &Outcome) -> FanUse {
    let run_s: f64 = (0..outcome.times_s.len())
        .map(|row| running_share(outcome, row) * outcome.interval_s(row))
        .sum();
    FanUse {
        run_hours: run_s / 3600.0,
        energy_kwh: outcome.fans.iter().map(|fan| fan.energy_j).sum::<f64>() / KWH_J,
        starts: outcome.fans.iter().map(|fan| fan.starts).max().unwrap_or(0),
    }
}

/// Share of an output interval in which a fan ran: that of the group that ran longest.
pub(super) fn running_share(outcome: &Outcome, row: usize) -> f64 {
    let width = outcome.fans.len();
    let shares = &outcome.fan_share[row * width..(row + 1) * width];
    shares.iter().copied().fold(0.0, f64::max)
}
