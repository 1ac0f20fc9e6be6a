//! Heat through the ceiling, and sun on the roof.

use crate::run::Outcome;

use super::{KWH_J, largest};

/// Heat through the ceiling, read at the top of its board, and sun on the roof.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heat {
    /// Heat that came down through the ceiling, not counting when it went up, kWh.
    pub ceiling_gain_kwh: f64,
    /// The same less what went up, kWh.
    pub ceiling_net_kwh: f64,
    /// Largest flow down through the ceiling, W/m² of ceiling.
    pub ceiling_peak_w_m2: f64,
    /// Time of it, s from the start of the period.
    pub ceiling_peak_time_s: f64,
    /// Sun taken up by the roof's slopes, kWh.
    pub solar_absorbed_kwh: f64,
}

/// Heat through the ceiling, and sun on the roof, of a run.
pub fn heat(outcome: &Outcome) -> Heat {
    let (mut down_j, mut net_j, mut sun_j) = (0.0, 0.0, 0.0);
    let suns: Vec<usize> = outcome
        .flow_names
        .iter()
        .enumerate()
        .filter(|(_, name)| name.starts_with("sun_to_slope_"))
        .map(|(index, _)| index)
        .collect();
    for row in 0..outcome.times_s.len() {
        let step_s = outcome.interval_s(row);
        let flows = outcome.flow_row(row);
        let ceiling_w = outcome.ceiling_gain_w(row);
        down_j += ceiling_w.max(0.0) * step_s;
        net_j += ceiling_w * step_s;
        sun_j += suns.iter().map(|&flow| flows[flow]).sum::<f64>() * step_s;
    }
    let (peak_w, index) = largest(&outcome.trace.ceiling_gain_w);
    Heat {
        ceiling_gain_kwh: down_j / KWH_J,
        ceiling_net_kwh: net_j / KWH_J,
        ceiling_peak_w_m2: peak_w / outcome.landmarks.floor_m2,
        ceiling_peak_time_s: outcome.trace.times_s.get(index).copied().unwrap_or(0.0),
        solar_absorbed_kwh: sun_j / KWH_J,
    }
}
