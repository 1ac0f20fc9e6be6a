//! Adds the books of a run up again: every node, the whole house, every zone's air.

use std::ops::Range;

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
    let mut worst = (0.0, 0);
    let mut balance = Balance::default();
    let (mut stored, mut crossing, mut through) = (0.0, 0.0, 0.0);
    let mut books = Books::of(outcome);
    let zones = ["attic", "living", "crawl"].map(|zone| Zone::of(outcome, zone));
    let rows = outcome.times_s.len();
    for first in (0..rows).step_by(SIDE_BY_SIDE) {
        let entered = first..rows.min(first + SIDE_BY_SIDE);
        books.enter(outcome, entered.clone());
        for (at, row) in entered.enumerate() {
            for &(flow, sign) in &books.crossing {
                let heat_j = books.heats_j[flow][at];
                crossing += heat_j * sign;
                through += heat_j.abs();
            }
            let nodes = books.changes_j.iter().zip(&books.relative);
            for (node, (changes_j, relative)) in nodes.enumerate() {
                stored += changes_j[at];
                // What is not a number is worse than anything, and stays so.
                if relative[at].is_nan() || relative[at] > worst.0 {
                    worst = (relative[at], node);
                }
            }
            let flows = outcome.flow_row(row);
            for zone in &zones {
                let off_kg_s = zone.off_kg_s(flows)?;
                balance.air_kg_s = balance.air_kg_s.max(off_kg_s);
            }
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

/// Output intervals that are entered side by side, so that one instruction adds up several.
const SIDE_BY_SIDE: usize = 8;

/// A number of each of them.
type Side = [f64; SIDE_BY_SIDE];

/// The books of some output intervals.
struct Books {
    /// Flows of heat, the node that each leaves and the one that it enters. The surroundings are the
    /// node after the last.
    flows: Vec<(usize, [usize; 2])>,
    /// Those between the house and its surroundings, −1 where they leave it and 1 where they enter.
    crossing: Vec<(usize, f64)>,
    capacities_j_k: Vec<f64>,
    /// What each flow has carried.
    heats_j: Vec<Side>,
    /// What each node was brought, less what was taken, and both without regard to sign.
    net_j: Vec<Side>,
    gross_j: Vec<Side>,
    /// By how much what each node holds has changed.
    changes_j: Vec<Side>,
    /// How far off each node is, against what passed through it.
    relative: Vec<Side>,
}

impl Books {
    fn of(outcome: &Outcome) -> Self {
        let nodes = &outcome.nodes;
        let ends = outcome.flow_ends.iter().enumerate();
        let heat = ends.filter(|(_, (from, to))| from.is_some() || to.is_some());
        let crossing = heat
            .clone()
            .filter(|(_, (from, to))| from.is_some() != to.is_some());
        let place = |end: Option<usize>| end.unwrap_or(nodes.len());
        Self {
            flows: heat
                .map(|(flow, &(from, to))| (flow, [place(from), place(to)]))
                .collect(),
            crossing: crossing
                .map(|(flow, (_, to))| (flow, if to.is_some() { 1.0 } else { -1.0 }))
                .collect(),
            capacities_j_k: nodes.iter().map(|node| node.capacity_j_k).collect(),
            heats_j: vec![[0.0; SIDE_BY_SIDE]; outcome.flow_ends.len()],
            net_j: vec![[0.0; SIDE_BY_SIDE]; nodes.len() + 1],
            gross_j: vec![[0.0; SIDE_BY_SIDE]; nodes.len() + 1],
            changes_j: vec![[0.0; SIDE_BY_SIDE]; nodes.len()],
            relative: vec![[0.0; SIDE_BY_SIDE]; nodes.len()],
        }
    }

    /// Enters all that flowed in some output intervals, as many as go side by side at most, and closes
    /// the books.
    fn enter(&mut self, outcome: &Outcome, rows: Range<usize>) {
        for (at, row) in rows.enumerate() {
            let step_s = outcome.interval_s(row);
            for (heats_j, flow) in self.heats_j.iter_mut().zip(outcome.flow_row(row)) {
                heats_j[at] = flow * step_s;
            }
            let (before, after) = (outcome.state_row(row), outcome.state_row(row + 1));
            let stores = self.capacities_j_k.iter().zip(before.iter().zip(after));
            for (changes_j, (capacity, (before, after))) in self.changes_j.iter_mut().zip(stores) {
                changes_j[at] = capacity * (after - before);
            }
        }
        let (net_j, gross_j) = (&mut self.net_j[..], &mut self.gross_j[..]);
        net_j.fill([0.0; SIDE_BY_SIDE]);
        gross_j.fill([0.0; SIDE_BY_SIDE]);
        for &(flow, [from, to]) in &self.flows {
            let heats_j = self.heats_j[flow];
            add(&mut net_j[from], heats_j.map(|heat_j| -heat_j));
            add(&mut net_j[to], heats_j);
            add(&mut gross_j[from], heats_j.map(f64::abs));
            add(&mut gross_j[to], heats_j.map(f64::abs));
        }
        let flowed = self.changes_j.iter().zip(net_j.iter().zip(gross_j.iter()));
        let nodes = self.relative.iter_mut().zip(&self.capacities_j_k);
        for ((relative, capacity), (changes_j, (net_j, gross_j))) in nodes.zip(flowed) {
            // What a float of 300 K can resolve in this store.
            let rounding_j = capacity * 300.0 * 4.0 * f64::EPSILON;
            for at in 0..SIDE_BY_SIDE {
                let off_j = (changes_j[at] - net_j[at]).abs() - rounding_j;
                relative[at] = off_j / f64::max(gross_j[at], 1e-9);
            }
        }
    }
}

fn add(sums: &mut Side, more: Side) {
    for (sum, more) in sums.iter_mut().zip(more) {
        *sum += more;
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
