//! A house, its hottest week, and the exact course of it: what every integrator is given.
//!
//! Switches fall where the exact course has them, so that all solve the same equations, which jump at
//! instants known beforehand.

use std::path::{Path, PathBuf};

use rafterheat::house::{House, HouseFile};
use rafterheat::network::{Forcing, Network};
use rafterheat::ode::{Advance, Ends, Fault, Integrator as _, Reference, System};
use rafterheat::run::{RunOptions, simulate};
use rafterheat::weather::Weather;

/// Days that are marched.
pub const DAYS: usize = 7;

/// Tolerance of the exact course.
const EXACT: f64 = 1e-10;

/// The folder of the crate that is measured.
pub fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// A switch of the exact course.
#[derive(Debug, Clone, Copy)]
pub struct Turn {
    /// Time, s.
    pub time_s: f64,
    /// Which switch.
    pub switch: usize,
}

/// A stretch in which nothing switches.
#[derive(Debug, Clone, Copy)]
pub struct Segment {
    /// Start and end, s.
    pub span_s: [f64; 2],
    /// Switch that falls at its end.
    pub then: Option<usize>,
}

/// What every integrator is given.
pub struct Scene {
    /// The network, with all switches as they are at the start.
    pub network: Network,
    /// What drives it.
    pub forcing: Forcing,
    /// Temperatures at the start, K.
    pub start_k: Vec<f64>,
    /// Switches in their order.
    pub turns: Vec<Turn>,
    /// States at the ends of all short intervals of the forcing.
    pub exact: Vec<Vec<f64>>,
}

/// A design of the demo's house.
///
/// # Panics
/// If there is no such design.
pub fn demo(design: &str) -> House {
    let file = HouseFile::read(&repository().join("src/house/demo.toml")).expect("the demo");
    file.find(design).expect("a design of the demo").clone()
}

/// The weather of the demo.
///
/// # Panics
/// If it cannot be read.
pub fn weather() -> Weather {
    let sample = repository().join("weather-samples/delta-california-2017-summer.csv");
    Weather::read(&sample, None).expect("the sample")
}

impl Scene {
    /// The hottest days of a weather for a house.
    ///
    /// # Panics
    /// If the house cannot be run.
    pub fn new(house: &House, weather: &Weather, days: usize) -> Self {
        let hottest = weather.hottest_week().expect("a week").intervals;
        let day = 86_400 / weather.step_s() as usize;
        let period = hottest.start..hottest.start + days * day;
        let short = period.start..period.start + 1;
        let warm = simulate(house, weather, short, &RunOptions::default()).expect("a run");
        let start_k = warm.state_row(0).to_vec();
        let mut network = Network::assemble(house).expect("a house");
        let forcing = network.forcing(weather, period);
        network.reset(&forcing);
        let mut scene = Self {
            network,
            forcing,
            start_k,
            turns: Vec::new(),
            exact: Vec::new(),
        };
        scene.run_exactly();
        scene
    }

    /// Stores.
    pub fn size(&self) -> usize {
        self.start_k.len()
    }

    fn run_exactly(&mut self) {
        let mut network = self.network.clone();
        let mut method = Reference::new(EXACT, EXACT);
        let mut state = self.start_k.clone();
        let mut totals = vec![0.0; network.ends().len()];
        for stretch in self.forcing.stretches(0..self.forcing.len()) {
            network.enter(&self.forcing, stretch.clone());
            for interval in stretch {
                let (mut from_s, to_s) = self.forcing.span(interval);
                while let Advance::Switched { time_s, switch } = method
                    .advance(&mut network, from_s, to_s, &mut state, &mut totals)
                    .expect("the reference runs")
                {
                    network.toggle(switch, time_s);
                    self.turns.push(Turn { time_s, switch });
                    from_s = time_s;
                }
                self.exact.push(state.clone());
            }
        }
    }

    /// Start and end of the march, s.
    pub fn span_s(&self) -> [f64; 2] {
        let last = self.forcing.len() - 1;
        [self.forcing.span(0).0, self.forcing.span(last).1]
    }

    /// Stretches between switches; cut at every record of the weather too, if that is asked for.
    pub fn segments(&self, at_records: bool) -> Vec<Segment> {
        let [start_s, end_s] = self.span_s();
        let mut cuts: Vec<(f64, Option<usize>)> = self
            .turns
            .iter()
            .map(|t| (t.time_s, Some(t.switch)))
            .collect();
        if at_records {
            let stretches = self.forcing.stretches(0..self.forcing.len());
            cuts.extend(
                stretches
                    .skip(1)
                    .map(|s| (self.forcing.span(s.start).0, None)),
            );
        }
        cuts.push((end_s, None));
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut from_s = start_s;
        cuts.into_iter()
            .map(|(to_s, then)| {
                let span_s = [from_s, to_s];
                from_s = to_s;
                Segment { span_s, then }
            })
            .collect()
    }

    /// How far a course is from the exact one: attic air, K; heat through the ceiling, relative.
    ///
    /// # Panics
    /// If the air does not balance.
    pub fn apart(&self, course: &[Vec<f64>]) -> (f64, f64) {
        assert_eq!(course.len(), self.exact.len());
        let marks = self.network.landmarks().clone();
        let air = |state: &[f64]| {
            let lower = marks.lower_volume_share;
            state[marks.attic_lower] * lower + state[marks.attic_upper] * (1.0 - lower)
        };
        let pairs = course.iter().zip(&self.exact);
        let apart_k = pairs
            .map(|(a, b)| (air(a) - air(b)).abs())
            .fold(0.0, f64::max);
        let gain = |course: &[Vec<f64>]| -> f64 {
            let mut network = self.network.clone();
            let mut flows = vec![0.0; network.ends().len()];
            let mut turns = self.turns.iter().peekable();
            let mut sum = 0.0;
            for stretch in self.forcing.stretches(0..self.forcing.len()) {
                network.enter(&self.forcing, stretch.clone());
                for interval in stretch {
                    let to_s = self.forcing.span(interval).1;
                    while let Some(turn) = turns.next_if(|turn| turn.time_s <= to_s) {
                        network.toggle(turn.switch, turn.time_s);
                    }
                    network
                        .observe(to_s, &course[interval], &mut flows)
                        .expect("flows");
                    let through = marks
                        .ceiling_flows
                        .iter()
                        .map(|&(flow, sign)| sign * flows[flow]);
                    sum += through.sum::<f64>();
                }
            }
            sum
        };
        (apart_k, (gain(course) / gain(&self.exact) - 1.0).abs())
    }
}

/// The network as `dy/dt = f(t, y)`, with switches that are turned from outside.
pub struct Rates<'a> {
    scene: &'a Scene,
    /// The network.
    pub network: Network,
    flows: Vec<f64>,
    /// Short intervals of the stretch that is entered.
    entered: std::ops::Range<usize>,
    parts: usize,
    /// Evaluations so far.
    pub evaluations: u64,
    at: (f64, Vec<f64>),
    jacobian: Vec<f64>,
    gradients: Vec<f64>,
    /// Jacobian by differences; or by the network's own derivatives, which are approximate.
    pub by_differences: bool,
}

impl<'a> Rates<'a> {
    /// Rates of a scene from its start.
    pub fn new(scene: &'a Scene) -> Self {
        let parts = scene
            .forcing
            .stretches(0..scene.forcing.len())
            .next()
            .map_or(1, |s| s.len());
        let size = scene.size();
        Self {
            scene,
            network: scene.network.clone(),
            flows: vec![0.0; scene.network.ends().len()],
            entered: 0..0,
            parts,
            evaluations: 0,
            at: (f64::NAN, vec![f64::NAN; size]),
            jacobian: vec![0.0; size * size],
            gradients: vec![0.0; scene.network.gradient_pattern().len()],
            by_differences: true,
        }
    }

    /// Enters the record that holds a time.
    fn enter(&mut self, time_s: f64) {
        let forcing = &self.scene.forcing;
        let [start_s, _] = self.scene.span_s();
        let (from_s, to_s) = forcing.span(0);
        let length_s = (to_s - from_s) * self.parts as f64;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "small"
        )]
        let record =
            (((time_s - start_s) / length_s).max(0.0) as usize).min(forcing.len() / self.parts - 1);
        let intervals = record * self.parts..(record + 1) * self.parts;
        if intervals != self.entered {
            self.network.enter(forcing, intervals.clone());
            self.entered = intervals;
        }
    }

    /// Rates of change, K/s; absurd ones where they are undefined, so that a step is not taken.
    pub fn rates(&mut self, time_s: f64, state: &[f64], rates: &mut [f64]) {
        self.enter(time_s);
        self.evaluations += 1;
        if self.network.flows(time_s, state, &mut self.flows).is_err() {
            // Never the same twice, lest a formula take them for a straight line.
            #[expect(clippy::cast_possible_truncation, reason = "of five")]
            let wild = [1e9, -3e9, 7e9, -2e9, 5e9][self.evaluations as usize % 5];
            rates.fill(wild);
            return;
        }
        rates.fill(0.0);
        for (ends, &flow) in self.network.ends().iter().zip(&self.flows) {
            if let Some(from) = ends.from {
                rates[from] -= flow;
            }
            if let Some(to) = ends.to {
                rates[to] += flow;
            }
        }
        for (rate, capacity) in rates.iter_mut().zip(self.network.capacities()) {
            *rate /= capacity;
        }
    }

    /// Jacobian times a vector; the Jacobian is kept while time and state stay the same.
    pub fn jacobian_times(&mut self, time_s: f64, state: &[f64], v: &[f64], out: &mut [f64]) {
        let size = state.len();
        if self.at.0.to_bits() != time_s.to_bits() || self.at.1 != state {
            self.fill_jacobian(time_s, state);
            self.at.0 = time_s;
            self.at.1.copy_from_slice(state);
        }
        out.fill(0.0);
        for (column, &share) in v.iter().enumerate() {
            // A solver asks for a column at a time.
            if share != 0.0 {
                let values = &self.jacobian[column * size..(column + 1) * size];
                for (sum, value) in out.iter_mut().zip(values) {
                    *sum += share * value;
                }
            }
        }
    }

    /// Drops the Jacobian, as after a switch.
    pub fn forget(&mut self) {
        self.at.0 = f64::NAN;
    }

    fn fill_jacobian(&mut self, time_s: f64, state: &[f64]) {
        let size = state.len();
        let mut base = vec![0.0; size];
        self.rates(time_s, state, &mut base);
        if self.by_differences {
            let mut moved = state.to_vec();
            let mut rates = vec![0.0; size];
            for column in 0..size {
                let step = 1e-5;
                moved[column] += step;
                self.rates(time_s, &moved, &mut rates);
                moved[column] = state[column];
                let out = &mut self.jacobian[column * size..(column + 1) * size];
                for ((out, a), b) in out.iter_mut().zip(&rates).zip(&base) {
                    *out = (a - b) / step;
                }
            }
        } else {
            let mut gradients = std::mem::take(&mut self.gradients);
            self.network.gradients(time_s, state, &mut gradients);
            self.jacobian.fill(0.0);
            let capacities = self.network.capacities();
            for (&(flow, store), gradient) in self.network.gradient_pattern().iter().zip(&gradients)
            {
                let ends: Ends = self.network.ends()[flow];
                if let Some(from) = ends.from {
                    self.jacobian[store * size + from] -= gradient / capacities[from];
                }
                if let Some(to) = ends.to {
                    self.jacobian[store * size + to] += gradient / capacities[to];
                }
            }
            self.gradients = gradients;
        }
    }
}

/// A network whose switches stay as they are.
pub struct Unswitched<'a>(pub &'a mut Network);

impl System<f64> for Unswitched<'_> {
    fn capacities(&self) -> &[f64] {
        self.0.capacities()
    }

    fn ends(&self) -> &[Ends] {
        self.0.ends()
    }

    fn gradient_pattern(&self) -> &[(usize, usize)] {
        self.0.gradient_pattern()
    }

    fn flows(&mut self, time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
        self.0.flows(time_s, state, flows)
    }

    fn gradients(&mut self, time_s: f64, state: &[f64], values: &mut [f64]) {
        self.0.gradients(time_s, state, values);
    }

    fn may_run_away(&self) -> bool {
        self.0.may_run_away()
    }
}

/// CPU time of this thread, s.
pub fn cpu_s() -> f64 {
    let now = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    now.tv_sec as f64 + 1e-9 * now.tv_nsec as f64
}
