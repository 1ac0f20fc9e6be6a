//! Model problems with known solutions, shared by unit tests, integration tests and benches.

use crate::elementary::{cos, exp, hypot, power, sin};

use super::{Ends, Fault, System};

/// A signal: a straight line and waves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Signal {
    /// Value at `from_s`.
    pub level: f64,
    /// Slope of the straight part, 1/s.
    pub slope_per_s: f64,
    /// Time at which the straight part passes `level`, s.
    pub from_s: f64,
    /// Waves on top.
    pub waves: Vec<Wave>,
}

/// `amplitude × cos(frequency × t + phase)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wave {
    /// Amplitude, unit of the signal.
    pub amplitude: f64,
    /// Angular frequency, rad/s.
    pub frequency_rad_s: f64,
    /// Phase, rad.
    pub phase_rad: f64,
}

impl Signal {
    /// A value that never changes.
    pub fn constant(level: f64) -> Self {
        Self {
            level,
            ..Self::default()
        }
    }

    /// Value at a time, s.
    pub fn at(&self, time_s: f64) -> f64 {
        self.waves.iter().fold(
            self.level + self.slope_per_s * (time_s - self.from_s),
            |sum, wave| sum + wave.amplitude * cos(wave.frequency_rad_s * time_s + wave.phase_rad),
        )
    }
}

/// A level of one store at which a switch falls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// Store that is watched.
    pub store: usize,
    /// Level, unit of the state.
    pub level: f64,
    /// Whether it falls on the way up.
    pub rising: bool,
}

/// Stores joined by conductances to one another and to the surroundings, with gains.
#[derive(Debug, Clone)]
pub struct LinearNetwork {
    capacities: Vec<f64>,
    links: Vec<(Option<usize>, usize, f64)>,
    ends: Vec<Ends>,
    pattern: Vec<(usize, usize)>,
    /// Temperature of the surroundings.
    pub outdoor: Signal,
    /// Gain of each store, as many as there are stores.
    pub gains: Vec<Signal>,
    /// What the partial derivatives are multiplied by: 1 is right.
    pub gradient_scale: f64,
    /// Switches.
    pub thresholds: Vec<Threshold>,
    /// Surroundings and gains of the last evaluation.
    seen: Option<(Signal, Vec<Signal>)>,
}

impl LinearNetwork {
    /// A network from capacities (J/K) and links (W/K) from a store or the surroundings to a store.
    pub fn new(capacities: Vec<f64>, links: Vec<(Option<usize>, usize, f64)>) -> Self {
        let mut ends: Vec<_> = links
            .iter()
            .map(|&(from, to, _)| Ends { from, to: Some(to) })
            .collect();
        let pattern = links
            .iter()
            .enumerate()
            .flat_map(|(flow, &(from, to, _))| {
                from.into_iter().chain([to]).map(move |store| (flow, store))
            })
            .collect();
        ends.extend((0..capacities.len()).map(|store| Ends {
            from: None,
            to: Some(store),
        }));
        Self {
            gains: vec![Signal::default(); capacities.len()],
            capacities,
            links,
            ends,
            pattern,
            outdoor: Signal::default(),
            gradient_scale: 1.0,
            thresholds: Vec::new(),
            seen: None,
        }
    }
}

impl System<f64> for LinearNetwork {
    fn capacities(&self) -> &[f64] {
        &self.capacities
    }

    fn ends(&self) -> &[Ends] {
        &self.ends
    }

    fn gradient_pattern(&self) -> &[(usize, usize)] {
        &self.pattern
    }

    fn bring_over(&mut self, _time_s: f64, _flows: &mut [f64]) -> bool {
        let now = (&self.outdoor, &self.gains);
        self.seen.as_ref().is_some_and(|(a, b)| now == (a, b))
    }

    fn flows(&mut self, time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
        if !self.bring_over(time_s, flows) {
            self.seen = Some((self.outdoor.clone(), self.gains.clone()));
        }
        let outdoor = self.outdoor.at(time_s);
        let (conducted, gained) = flows.split_at_mut(self.links.len());
        for (flow, &(from, to, conductance)) in conducted.iter_mut().zip(&self.links) {
            *flow = conductance * (from.map_or(outdoor, |store| state[store]) - state[to]);
        }
        for (flow, gain) in gained.iter_mut().zip(&self.gains) {
            *flow = gain.at(time_s);
        }
        Ok(())
    }

    fn gradients(&mut self, _time_s: f64, _state: &[f64], values: &mut [f64]) {
        let mut values = values.iter_mut();
        for &(from, _, conductance) in &self.links {
            let signs: &[f64] = if from.is_some() {
                &[1.0, -1.0]
            } else {
                &[-1.0]
            };
            for (sign, value) in signs.iter().zip(values.by_ref()) {
                *value = sign * conductance * self.gradient_scale;
            }
        }
    }

    fn switch_count(&self) -> usize {
        self.thresholds.len()
    }

    fn switches(&self, _time_s: f64, state: &[f64], values: &mut [f64]) {
        for (value, threshold) in values.iter_mut().zip(&self.thresholds) {
            let above = state[threshold.store] - threshold.level;
            *value = if threshold.rising { above } else { -above };
        }
    }
}

/// A problem whose solution is known.
#[derive(Debug, Clone)]
pub struct Problem {
    /// What it is.
    pub name: &'static str,
    /// The network.
    pub network: LinearNetwork,
    /// State at time 0.
    pub start: Vec<f64>,
    /// State at a time, s.
    pub exact: fn(f64) -> Vec<f64>,
}

/// Problems with closed solutions.
pub fn closed_form() -> Vec<Problem> {
    vec![one_store(), two_stores(), driven_store()]
}

/// One store that cools from 60 to 20 degrees with a time constant of 2000 s.
pub fn one_store() -> Problem {
    let mut network = LinearNetwork::new(vec![1e5], vec![(None, 0, 50.0)]);
    network.outdoor = Signal::constant(20.0);
    Problem {
        name: "one store",
        network,
        start: vec![60.0],
        exact: |time_s| vec![20.0 + 40.0 * exp(-time_s / 2000.0)],
    }
}

/// Two equal stores, cut off from the surroundings, that meet half way in 500 s.
pub fn two_stores() -> Problem {
    let network = LinearNetwork::new(vec![4e4; 2], vec![(Some(0), 1, 40.0)]);
    Problem {
        name: "two stores",
        network,
        start: vec![50.0, 10.0],
        exact: |time_s| {
            let half = 20.0 * exp(-time_s / 500.0);
            vec![30.0 + half, 30.0 - half]
        },
    }
}

/// One store (time constant 1800 s) driven by a daily wave of 10 degrees about 25.
pub fn driven_store() -> Problem {
    const FREQUENCY_RAD_S: f64 = std::f64::consts::TAU / 86_400.0;
    const TIME_CONSTANT_S: f64 = 1800.0;
    let mut network = LinearNetwork::new(vec![1.8e5], vec![(None, 0, 100.0)]);
    network.outdoor = Signal {
        level: 25.0,
        waves: vec![Wave {
            amplitude: 10.0,
            frequency_rad_s: FREQUENCY_RAD_S,
            phase_rad: 0.0,
        }],
        ..Signal::default()
    };
    Problem {
        name: "driven store",
        network,
        start: vec![40.0],
        exact: |time_s| {
            let lag = FREQUENCY_RAD_S * TIME_CONSTANT_S;
            let steady = |time_s: f64| {
                let angle = FREQUENCY_RAD_S * time_s;
                25.0 + 10.0 * (cos(angle) + lag * sin(angle)) / (1.0 + lag * lag)
            };
            vec![steady(time_s) + (40.0 - steady(0.0)) * exp(-time_s / TIME_CONSTANT_S)]
        },
    }
}

/// Names of the stores of [`attic`], in order.
pub const ATTIC_STORES: [&str; 6] = ["deck", "attic", "ceiling", "living", "mass", "barrier"];

/// A stiff attic of six stores from capacities (J/K, in the order of [`ATTIC_STORES`]) and
/// conductances (W/K): deck–attic, deck–barrier, deck–ceiling, attic–barrier, attic–ceiling,
/// barrier–ceiling, ceiling–living, living–mass, out–deck, out–attic, out–living.
pub fn attic(capacities: [f64; 6], conductances: [f64; 11]) -> LinearNetwork {
    const LINKS: [(Option<usize>, usize); 11] = [
        (Some(0), 1),
        (Some(0), 5),
        (Some(0), 2),
        (Some(1), 5),
        (Some(1), 2),
        (Some(5), 2),
        (Some(2), 3),
        (Some(3), 4),
        (None, 0),
        (None, 1),
        (None, 3),
    ];
    let links = LINKS
        .iter()
        .zip(conductances)
        .map(|(&(from, to), k)| (from, to, k))
        .collect();
    LinearNetwork::new(capacities.to_vec(), links)
}

/// A store that loses heat in proportion to the square of its state: `y' = −y²/scale`, so that
/// `y = y₀ / (1 + y₀ t / scale)`.
#[derive(Debug, Clone)]
pub struct SquareLoss {
    /// Time × state at which half is lost.
    pub scale: f64,
    /// What the partial derivatives are multiplied by: 1 is right.
    pub gradient_scale: f64,
}

impl System<f64> for SquareLoss {
    fn capacities(&self) -> &[f64] {
        &[1.0]
    }

    fn ends(&self) -> &[Ends] {
        &[Ends {
            from: Some(0),
            to: None,
        }]
    }

    fn gradient_pattern(&self) -> &[(usize, usize)] {
        &[(0, 0)]
    }

    fn flows(&mut self, _time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
        flows[0] = state[0] * state[0] / self.scale;
        Ok(())
    }

    fn gradients(&mut self, _time_s: f64, state: &[f64], values: &mut [f64]) {
        values[0] = 2.0 * state[0] / self.scale * self.gradient_scale;
    }
}

/// A small attic with radiation, natural convection and a thermostat on a fan: not linear, stiff,
/// and without a closed solution. Stores: deck, air, barrier, floor (K).
#[derive(Debug, Clone, Default)]
pub struct FanAttic {
    /// Whether the fan runs; turned over by whoever meets the switch.
    pub fan_on: bool,
}

impl FanAttic {
    const CAPACITIES: [f64; 4] = [1.2e6, 8e4, 2e3, 9e5];
    const ENDS: [Ends; 8] = [
        Ends {
            from: None,
            to: Some(0),
        },
        Ends {
            from: Some(0),
            to: None,
        },
        Ends {
            from: Some(0),
            to: Some(1),
        },
        Ends {
            from: Some(0),
            to: Some(2),
        },
        Ends {
            from: Some(2),
            to: Some(1),
        },
        Ends {
            from: Some(2),
            to: Some(3),
        },
        Ends {
            from: Some(1),
            to: Some(3),
        },
        Ends {
            from: Some(1),
            to: None,
        },
    ];
    const PATTERN: [(usize, usize); 12] = [
        (1, 0),
        (2, 0),
        (2, 1),
        (3, 0),
        (3, 2),
        (4, 2),
        (4, 1),
        (5, 2),
        (5, 3),
        (6, 1),
        (6, 3),
        (7, 1),
    ];

    /// State at the start, K.
    pub const START: [f64; 4] = [296.0, 297.0, 296.5, 298.0];

    fn outdoor_k(time_s: f64) -> f64 {
        301.0 - 7.0 * cos(std::f64::consts::TAU * (time_s / 86_400.0 - 0.1))
    }

    fn solar_w(time_s: f64) -> f64 {
        let height = -cos(std::f64::consts::TAU * time_s / 86_400.0);
        // A smooth dawn in place of a corner.
        60_000.0 * 0.5 * (height + hypot(height, 0.15))
    }

    /// Conductance of a surface that grows with the cube root of the difference, W/K, and how
    /// much of it comes from the difference.
    fn convection(area_m2: f64, difference_k: f64) -> (f64, f64) {
        let squared = difference_k * difference_k + 0.01;
        let conductance = area_m2 * 1.5 * power(squared, 1.0 / 6.0);
        (
            conductance,
            conductance * difference_k * difference_k / squared / 3.0,
        )
    }

    fn vent_w_k(&self, air_k: f64, outdoor_k: f64) -> (f64, f64) {
        let (fan, stack) = (if self.fan_on { 900.0 } else { 0.0 }, 180.0);
        let squared = (air_k - outdoor_k).powi(2) + 0.04;
        let root = power(squared, 0.25);
        (
            fan + stack * root,
            stack * root * 0.5 * (air_k - outdoor_k).powi(2) / squared,
        )
    }
}

/// Black-body exchange of an area and its two derivatives over the cubes, W/K⁴.
const RADIATION: f64 = 5.670_374_419e-8;

impl System<f64> for FanAttic {
    fn capacities(&self) -> &[f64] {
        &Self::CAPACITIES
    }

    fn ends(&self) -> &[Ends] {
        &Self::ENDS
    }

    fn gradient_pattern(&self) -> &[(usize, usize)] {
        &Self::PATTERN
    }

    fn flows(&mut self, time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
        let (deck, air, barrier, floor) = (state[0], state[1], state[2], state[3]);
        let outdoor_k = Self::outdoor_k(time_s);
        let exchange =
            |area: f64, hot: f64, cold: f64| area * RADIATION * (hot.powi(4) - cold.powi(4));
        let convect =
            |area: f64, hot: f64, cold: f64| Self::convection(area, hot - cold).0 * (hot - cold);
        flows.copy_from_slice(&[
            Self::solar_w(time_s),
            120.0 * 18.0 * (deck - outdoor_k),
            convect(120.0, deck, air),
            exchange(90.0, deck, barrier),
            convect(200.0, barrier, air),
            exchange(5.0, barrier, floor),
            convect(100.0, air, floor),
            self.vent_w_k(air, outdoor_k).0 * (air - outdoor_k),
        ]);
        Ok(())
    }

    fn gradients(&mut self, time_s: f64, state: &[f64], values: &mut [f64]) {
        let (deck, air, barrier, floor) = (state[0], state[1], state[2], state[3]);
        let convect = |area: f64, hot: f64, cold: f64| {
            let (conductance, growth) = Self::convection(area, hot - cold);
            conductance + growth
        };
        let radiate = |area: f64, temp_k: f64| 4.0 * area * RADIATION * temp_k.powi(3);
        let (deck_air, barrier_air, air_floor) = (
            convect(120.0, deck, air),
            convect(200.0, barrier, air),
            convect(100.0, air, floor),
        );
        let (vent, vent_growth) = self.vent_w_k(air, Self::outdoor_k(time_s));
        values.copy_from_slice(&[
            120.0 * 18.0,
            deck_air,
            -deck_air,
            radiate(90.0, deck),
            -radiate(90.0, barrier),
            barrier_air,
            -barrier_air,
            radiate(5.0, barrier),
            -radiate(5.0, floor),
            air_floor,
            -air_floor,
            vent + vent_growth,
        ]);
    }

    fn switch_count(&self) -> usize {
        1
    }

    fn switches(&self, _time_s: f64, state: &[f64], values: &mut [f64]) {
        values[0] = if self.fan_on {
            308.0 - state[1]
        } else {
            state[1] - 310.0
        };
    }
}
