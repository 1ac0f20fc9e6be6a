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
    let books = Books::of(outcome);
    let zones = ["attic", "living", "crawl"].map(|zone| Zone::of(outcome, zone));
    for row in 0..outcome.times_s.len() {
        let step_s = outcome.interval_s(row);
        let flows = outcome.flow_row(row);
        let (before, after) = (outcome.state_row(row), outcome.state_row(row + 1));
        for &(flow, sign) in &books.crossing {
            crossing += flows[flow] * sign * step_s;
            through += (flows[flow] * step_s).abs();
        }
        for node in 0..count {
            let (mut net, mut gross) = (0.0, 0.0);
            for &(flow, sign) in &books.nodes[node] {
                net += flows[flow] * sign * step_s;
                gross += (flows[flow] * step_s).abs();
            }
            let change = outcome.nodes[node].capacity_j_k * (after[node] - before[node]);
            stored += change;
            // What a float of 300 K can resolve in this store.
            let rounding = outcome.nodes[node].capacity_j_k * 300.0 * 4.0 * f64::EPSILON;
            let off = (change - net).abs() - rounding;
            let relative = off / f64::max(gross, 1e-9);
            // What is not a number is worse than anything, and stays so.
            if relative.is_nan() || relative > worst.0 {
                worst = (relative, node);
            }
        }
        for zone in &zones {
            let off_kg_s = zone.off_kg_s(flows)?;
            balance.air_kg_s = balance.air_kg_s.max(off_kg_s);
        }
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

/// Which flows are entered in which book, −1 where they leave it and 1 where they enter.
struct Books {
    nodes: Vec<Vec<(usize, f64)>>,
    /// Between the house and its surroundings.
    crossing: Vec<(usize, f64)>,
}

impl Books {
    fn of(outcome: &Outcome) -> Self {
        let mut nodes = vec![Vec::new(); outcome.nodes.len()];
        let mut crossing = Vec::new();
        for (flow, &(from, to)) in outcome.flow_ends.iter().enumerate() {
            for (end, sign) in [(from, -1.0), (to, 1.0)] {
                if let Some(node) = end {
                    nodes[node].push((flow, sign));
                }
            }
            if from.is_some() != to.is_some() {
                crossing.push((flow, if to.is_some() { 1.0 } else { -1.0 }));
            }
        }
        Self { nodes, crossing }
    }
}

/// A zone and its ways for air.
struct Zone {
    name: &'static str,
    /// Their mass flows, −1 where they leave it and 1 where they enter.
    meters: Vec<(usize, f64)>,
}

impl Zone {
    fn of(outcome: &Outcome, name: &'static str) -> Self {
        let ends = outcome.paths.iter().flat_map(|path| {
            let leaves = (path.from == name).then_some((path.meter, -1.0));
            let enters = (path.to == name).then_some((path.meter, 1.0));
            leaves.into_iter().chain(enters)
        });
        Self {
            name,
            meters: ends.collect(),
        }
    }

    fn off_kg_s(&self, flows: &[f64]) -> Result<f64, Imbalance> {
        let net: f64 = self
            .meters
            .iter()
            .map(|&(meter, sign)| flows[meter] * sign)
            .sum();
        if net.is_nan() || net.abs() > AIR_BAR_KG_S {
            let (zone, kg_s) = (self.name, net);
            return Err(Imbalance::Air { zone, kg_s });
        }
        Ok(net.abs())
    }
}
