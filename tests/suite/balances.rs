//! The books of a run catch what does not add up, and name where.

use rafterheat::house::House;
use rafterheat::network::Network;
use rafterheat::ode::{Advance, Ends, Fault, Integrator, Rosenbrock, System};
use rafterheat::run::{Imbalance, Outcome, check_balance};
use rafterheat::weather::Weather;

use super::scene::{days, demo, run, sunny, weather};

fn hot_days() -> Weather {
    weather(2, |hour| sunny(hour, 30.0, 8.0, 2.5, 200.0))
}

fn house() -> House {
    demo().find("fans and barrier").unwrap().clone()
}

fn outcome() -> Outcome {
    let hot = hot_days();
    run(&house(), &hot, days(&hot, 1..2))
}

/// The node that a check finds at fault, or what else it says.
fn culprit(outcome: &Outcome) -> String {
    match check_balance(outcome) {
        Err(Imbalance::Node { node, .. }) => node,
        Err(Imbalance::Air { zone, .. }) => format!("air of {zone}"),
        other => format!("{other:?}"),
    }
}

#[test]
fn a_changed_flow_is_caught_and_names_a_node_at_its_ends() {
    let honest = outcome();
    assert!(check_balance(&honest).is_ok());
    let width = honest.flow_names.len();
    let row = honest.times_s.len() / 2;
    for (flow, &(from, to)) in honest.flow_ends.iter().enumerate() {
        if honest.is_air(flow) {
            continue;
        }
        for broken in [1.001, f64::NAN] {
            let mut outcome = honest.clone();
            let value = &mut outcome.flows[row * width + flow];
            // A thousandth and a watt, so that idle flows change too, both the same way.
            *value = *value * broken + 1.0_f64.copysign(*value);
            let named = culprit(&outcome);
            let ends: Vec<&str> = [from, to]
                .into_iter()
                .flatten()
                .map(|node| honest.nodes[node].name.as_str())
                .collect();
            let name = &honest.flow_names[flow];
            assert!(
                ends.contains(&named.as_str()),
                "{name} by {broken}: named {named}"
            );
        }
    }
}

#[test]
fn a_changed_capacity_is_caught_and_names_its_node() {
    let honest = outcome();
    for node in 0..honest.nodes.len() {
        let mut outcome = honest.clone();
        outcome.nodes[node].capacity_j_k *= 1.001;
        assert_eq!(culprit(&outcome), honest.nodes[node].name);
    }
}

#[test]
fn a_changed_temperature_is_caught_and_names_its_node() {
    let honest = outcome();
    let width = honest.nodes.len();
    let row = honest.times_s.len() / 2;
    for node in 0..width {
        for shift in [1e-3, f64::NAN] {
            let mut outcome = honest.clone();
            outcome.state_k[row * width + node] += shift;
            assert_eq!(culprit(&outcome), honest.nodes[node].name);
        }
    }
}

#[test]
fn a_changed_air_flow_is_caught_and_names_a_zone_at_its_ends() {
    let honest = outcome();
    let width = honest.flow_names.len();
    let row = honest.times_s.len() / 2;
    for path in &honest.paths {
        if path.from == path.to {
            continue;
        }
        for shift in [2e-6, f64::NAN] {
            let mut outcome = honest.clone();
            outcome.flows[row * width + path.meter] += shift;
            let named = culprit(&outcome);
            let ends = [path.from, path.to].map(|zone| format!("air of {zone}"));
            assert!(ends.contains(&named), "{}: named {named}", path.name);
        }
    }
}

#[test]
fn a_flow_that_enters_nothing_is_caught_and_names_the_node_it_should_enter() {
    let honest = outcome();
    for (flow, &(from, to)) in honest.flow_ends.iter().enumerate() {
        let (Some(_), Some(to)) = (from, to) else {
            continue;
        };
        let moved = honest.flows.chunks(honest.flow_names.len());
        if moved.map(|row| row[flow].abs()).fold(0.0, f64::max) < 1.0 {
            continue;
        }
        let mut outcome = honest.clone();
        outcome.flow_ends[flow] = (from, None);
        assert_eq!(culprit(&outcome), honest.nodes[to].name);
    }
}

/// A network in which one flow leaves a node and enters none.
struct Broken {
    network: Network,
    ends: Vec<Ends>,
}

impl System<f64> for Broken {
    fn capacities(&self) -> &[f64] {
        self.network.capacities()
    }
    fn ends(&self) -> &[Ends] {
        &self.ends
    }
    fn gradient_pattern(&self) -> &[(usize, usize)] {
        self.network.gradient_pattern()
    }
    fn flows(&mut self, time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
        self.network.flows(time_s, state, flows)
    }
    fn gradients(&mut self, time_s: f64, state: &[f64], values: &mut [f64]) {
        self.network.gradients(time_s, state, values);
    }
}

/// Marches one interval of the forcing from the honest run's start and keeps its books.
fn one_interval(honest: &Outcome, broken_flow: Option<&str>) -> Outcome {
    let hot = hot_days();
    let mut network = Network::assemble(&house()).unwrap();
    let forcing = network.forcing(&hot, days(&hot, 1..2));
    network.reset(&forcing);
    let mut ends = network.ends().to_vec();
    if let Some(name) = broken_flow {
        let flow = honest.flow_names.iter().position(|n| n == name).unwrap();
        assert!(ends[flow].from.is_some() && ends[flow].to.is_some());
        ends[flow].to = None;
    }
    let (from_s, to_s) = network.enter(&forcing, 0..1);
    let mut state = honest.state_row(0).to_vec();
    let mut totals = vec![0.0; ends.len()];
    let mut solver = Rosenbrock::new(vec![0.01; state.len()]);
    let mut system = Broken { network, ends };
    let advance = solver
        .advance(&mut system, from_s, to_s, &mut state, &mut totals)
        .unwrap();
    assert_eq!(advance, Advance::Completed);
    let length_s = to_s - from_s;
    let mut outcome = honest.clone();
    outcome.times_s = vec![length_s];
    outcome.state_k = [honest.state_row(0), &state].concat();
    let named = &totals[..honest.flow_names.len()];
    outcome.flows = named.iter().map(|total| total / length_s).collect();
    outcome
}

#[test]
fn a_broken_coupling_of_the_system_is_caught_and_named() {
    let honest = outcome();
    let balance = check_balance(&one_interval(&honest, None)).unwrap();
    assert!(balance.energy_relative < 1e-9, "{balance:?}");
    for (flow, loser) in [
        ("attic_floor_to_attic_lower_air", "attic_lower_air"),
        ("slope_s_underside_to_slope_s_foil", "slope_s_foil"),
        ("attic_lower_air_to_attic_upper_air", "attic_upper_air"),
    ] {
        let broken = one_interval(&honest, Some(flow));
        assert_eq!(culprit(&broken), loser, "{flow}");
    }
}
