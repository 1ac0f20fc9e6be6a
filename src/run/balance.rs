//! Adds the books of a run up again: every node, the whole house, every zone's air.

use super::outcome::{Balance, Outcome};

/// Imbalance that is still rounding, against the throughput.
const ENERGY_BAR: f64 = 1e-6;

/// Imbalance of a zone's air that is still rounding, kg/s.
const AIR_BAR_KG_S: f64 = 1e-6;

/// A balance that does not close.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Imbalance {
    /// A node gains or loses heat that no flow brings or takes.
    #[error("the heat balance of {node} is off by {relative:e} of its throughput")]
    Node {
        /// Name of the node.
        node: String,
        /// Imbalance against throughput.
        relative: f64,
    },
    /// The house as a whole does.
    #[error("the heat balance of the whole house is off by {relative:e} of its throughput")]
    Whole {
        /// Imbalance against throughput.
        relative: f64,
    },
    /// A zone gains or loses air.
    #[error("the air balance of the {zone} is off by {kg_s:e} kg/s")]
    Air {
        /// Name of the zone.
        zone: &'static str,
        /// Imbalance, kg/s.
        kg_s: f64,
    },
}

/// Adds up an outcome's own columns: `C ΔT = Δt Σ flows` for each node and output interval, the
/// same for the whole house over the period, and the mass flows of each zone.
///
/// # Errors
/// [`Imbalance`] with the worst node, if one is off by more than 1e-6 of its throughput, or a zone
/// by more than 1e-6 kg/s.
pub fn check(outcome: &Outcome) -> Result<Balance, Imbalance> {
    let count = outcome.nodes.len();
    let mut worst = (0.0, 0);
    let mut balance = Balance::default();
    let (mut stored, mut crossing, mut through) = (0.0, 0.0, 0.0);
    for row in 0..outcome.times_s.len() {
        let step_s = outcome.interval_s(row);
        let flows = outcome.flow_row(row);
        let (before, after) = (outcome.state_row(row), outcome.state_row(row + 1));
        let mut net = vec![0.0; count];
        let mut gross = vec![0.0; count];
        for (&flow, &(from, to)) in flows.iter().zip(&outcome.flow_ends) {
            for (end, sign) in [(from, -1.0), (to, 1.0)] {
                if let Some(node) = end {
                    net[node] += sign * flow * step_s;
                    gross[node] += (flow * step_s).abs();
                }
            }
            if from.is_some() != to.is_some() {
                let inward = if to.is_some() { flow } else { -flow };
                crossing += inward * step_s;
                through += (flow * step_s).abs();
            }
        }
        for node in 0..count {
            let change = outcome.nodes[node].capacity_j_k * (after[node] - before[node]);
            stored += change;
            // What a float of 300 K can resolve in this store.
            let rounding = outcome.nodes[node].capacity_j_k * 300.0 * 4.0 * f64::EPSILON;
            let off = (change - net[node]).abs() - rounding;
            let relative = off / gross[node].max(1e-9);
            // What is not a number is worse than anything, and stays so.
            if relative.is_nan() || relative > worst.0 {
                worst = (relative, node);
            }
        }
        check_air(outcome, flows, &mut balance)?;
    }
    balance.energy_relative = worst.0;
    balance.whole_relative = (stored - crossing).abs() / through.max(1e-9);
    if worst.0.is_nan() || worst.0 > ENERGY_BAR {
        let node = outcome.nodes[worst.1].name.clone();
        return Err(Imbalance::Node {
            node,
            relative: worst.0,
        });
    }
    if balance.whole_relative.is_nan() || balance.whole_relative > ENERGY_BAR {
        return Err(Imbalance::Whole {
            relative: balance.whole_relative,
        });
    }
    Ok(balance)
}

fn check_air(outcome: &Outcome, flows: &[f64], balance: &mut Balance) -> Result<(), Imbalance> {
    for zone in ["attic", "living", "crawl"] {
        let mut net = 0.0;
        for path in &outcome.paths {
            if path.from == zone {
                net -= flows[path.meter];
            }
            if path.to == zone {
                net += flows[path.meter];
            }
        }
        if net.is_nan() || net.abs() > AIR_BAR_KG_S {
            return Err(Imbalance::Air { zone, kg_s: net });
        }
        balance.air_kg_s = balance.air_kg_s.max(net.abs());
    }
    Ok(())
}
