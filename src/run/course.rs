//! A house on its way through weather: its network and what marches it, alone or in a lane.

use std::cell::RefCell;
use std::ops::Range;
use std::rc::Rc;

use crate::network::{Exposure, Forcing, Network, Node};
use crate::ode::{
    Advance, Ends, Fault, Integrator, Method, OdeError, Reference, Rosenbrock, Stats, System,
};
use crate::weather::Weather;

use super::Choice;

/// What a run asks of a house's network and integrator.
pub(super) trait Course {
    /// The network, to read what is fixed of it and what was observed last.
    fn network(&self) -> &Network;
    /// Enters weather or turns a switch over.
    fn change<T>(&mut self, act: impl FnOnce(&mut Network) -> T) -> T;
    /// Takes a new integrator, which knows nothing of the past.
    fn renew(&mut self, manner: &Manner);
    /// Puts another state in place.
    fn set_state(&mut self, state: &[f64]);
    /// The state in place.
    async fn state(&mut self) -> &[f64];
    /// Advances the state as [`Integrator::advance_within`] does.
    async fn advance(
        &mut self,
        part_s: [f64; 2],
        smooth_until_s: f64,
        purpose: Purpose,
    ) -> Result<Advance, OdeError>;
    /// Evaluates what readings need at the state in place.
    async fn observe(&mut self, time_s: f64) -> Result<(), OdeError>;
    /// Reads off the state in place and what has flowed in the advance before it, and adds that up;
    /// with `closes` also what has been added up since that was last done.
    async fn read(&mut self, closes: bool);
    /// What was read or observed last.
    fn observed(&self) -> Observed<'_>;
    /// Integrals of all flows, J or kg, as the reading before, which closed, has added them up.
    fn closed_sums(&self) -> &[f64];
    /// Begins to add up anew.
    fn forget_sums(&mut self);
    /// Partial derivatives of the flows at the state in place.
    async fn gradients(&mut self, time_s: f64) -> Result<Vec<f64>, OdeError>;
    /// What the integrator in use has cost.
    fn stats(&self) -> Stats;
}

/// What an advance is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Purpose {
    /// To rest, with the switches as they are.
    Rest,
    /// To be read at its end, for what is told inside a step.
    Read,
    /// To be read at its end for all that has flowed.
    Close,
}

/// State at an instant, and flows.
pub(super) struct Observed<'a> {
    /// Temperatures, K.
    pub(super) state: &'a [f64],
    /// Those flows that [`Network::observe`] evaluates: when read, integrated over the advance before,
    /// J, kg or what the meter reads times seconds; when observed, as they are.
    pub(super) flows: &'a [f64],
}

/// An integrator to be taken.
#[derive(Debug, Clone)]
pub(super) enum Manner {
    /// Linearly implicit, error-controlled.
    Steps {
        /// Error allowed in each node in a step, K.
        tolerances: Vec<f64>,
        /// Length of the first step and of the first after a switch, s, if not the usual one.
        first_step_s: Option<f64>,
        /// Most steps in one advance, if not the usual number.
        most_steps: Option<u64>,
    },
    /// Explicit, with a tolerance.
    Reference {
        /// Relative and absolute tolerance.
        tolerance: f64,
    },
}

/// How much more a solid may err in a step than the air beside it, which is what is felt and what
/// switches; it hands on a part of its error only.
const SOLID_LEEWAY: f64 = 3.0;

impl Manner {
    /// The integrator that was chosen for the run.
    pub(super) fn of(network: &Network, choice: Choice) -> Self {
        match choice {
            Choice::Default { tolerance_k } => {
                let of = |node: &Node| {
                    let is_air = node.area_m2 <= 0.0;
                    tolerance_k * if is_air { 1.0 } else { SOLID_LEEWAY }
                };
                Self::Steps {
                    tolerances: network.nodes().iter().map(of).collect(),
                    first_step_s: None,
                    most_steps: None,
                }
            }
            Choice::Reference { tolerance } => Self::Reference { tolerance },
        }
    }

    fn method(&self) -> Method {
        match self {
            Self::Steps {
                tolerances,
                first_step_s,
                most_steps,
            } => {
                let mut method = Rosenbrock::new(tolerances.clone());
                if let Some(first_step_s) = first_step_s {
                    method = method.with_first_step(*first_step_s);
                }
                if let Some(most_steps) = most_steps {
                    method = method.with_most_steps(*most_steps);
                }
                Method::Default(Box::new(method))
            }
            Self::Reference { tolerance } => {
                Method::Reference(Reference::new(*tolerance, *tolerance))
            }
        }
    }
}

/// What drives houses, worked out of the weather once for all that feel it alike.
pub(super) struct Drivers<'a> {
    weather: &'a Weather,
    known: RefCell<Vec<Known>>,
}

struct Known {
    exposure: Exposure,
    intervals: Range<usize>,
    forcing: Rc<Forcing>,
    coarse: Option<Rc<Forcing>>,
}

/// Most forcings that are kept.
const MOST_KNOWN: usize = 8;

impl<'a> Drivers<'a> {
    pub(super) fn new(weather: &'a Weather) -> Self {
        Self {
            weather,
            known: RefCell::new(Vec::new()),
        }
    }

    pub(super) fn weather(&self) -> &'a Weather {
        self.weather
    }

    /// What drives a house over intervals of the weather.
    pub(super) fn forcing(&self, network: &Network, intervals: &Range<usize>) -> Rc<Forcing> {
        self.with(network, intervals, |known| Rc::clone(&known.forcing))
    }

    /// The same, and on intervals of `coarse_s`, always the same length.
    pub(super) fn with_coarse(
        &self,
        network: &Network,
        intervals: &Range<usize>,
        coarse_s: f64,
    ) -> [Rc<Forcing>; 2] {
        self.with(network, intervals, |known| {
            let forcing = &known.forcing;
            let make = || Rc::new(forcing.coarse(coarse_s));
            let coarse = known.coarse.get_or_insert_with(make);
            [Rc::clone(forcing), Rc::clone(coarse)]
        })
    }

    fn with<T>(
        &self,
        network: &Network,
        intervals: &Range<usize>,
        take: impl FnOnce(&mut Known) -> T,
    ) -> T {
        let mut all = self.known.borrow_mut();
        let exposure = network.exposure();
        let is_same = |known: &Known| known.intervals == *intervals && known.exposure == *exposure;
        let mut known = match all.iter().position(is_same) {
            Some(at) => all.remove(at),
            None => Known {
                exposure: exposure.clone(),
                intervals: intervals.clone(),
                forcing: Rc::new(network.forcing(self.weather, intervals.clone())),
                coarse: None,
            },
        };
        let taken = take(&mut known);
        // The one asked for last is at the end.
        all.push(known);
        if all.len() > MOST_KNOWN {
            all.remove(0);
        }
        taken
    }
}

/// A house alone.
pub(super) struct Alone {
    network: Network,
    method: Method,
    state: Vec<f64>,
    /// Flows, integrated over the advance before or as they are now.
    totals: Vec<f64>,
    /// What has been read to flow, and what of it was taken last.
    sums: Vec<f64>,
    taken: Vec<f64>,
}

impl Alone {
    pub(super) fn new(network: Network) -> Self {
        let flows = network.ends().len();
        Self {
            state: vec![0.0; network.nodes().len()],
            totals: vec![0.0; flows],
            sums: vec![0.0; flows],
            taken: vec![0.0; flows],
            method: Manner::Reference { tolerance: 1e-9 }.method(),
            network,
        }
    }
}

impl Course for Alone {
    fn network(&self) -> &Network {
        &self.network
    }

    fn change<T>(&mut self, act: impl FnOnce(&mut Network) -> T) -> T {
        act(&mut self.network)
    }

    fn renew(&mut self, manner: &Manner) {
        self.method = manner.method();
    }

    fn set_state(&mut self, state: &[f64]) {
        self.state.copy_from_slice(state);
    }

    async fn state(&mut self) -> &[f64] {
        &self.state
    }

    async fn advance(
        &mut self,
        part_s: [f64; 2],
        smooth_until_s: f64,
        purpose: Purpose,
    ) -> Result<Advance, OdeError> {
        let Self {
            network,
            method,
            state,
            totals,
            ..
        } = self;
        method.set_glances(purpose != Purpose::Close);
        if purpose == Purpose::Rest {
            let mut network = Unswitched(network);
            method.advance_within(&mut network, part_s, smooth_until_s, state, totals)
        } else {
            method.advance_within(network, part_s, smooth_until_s, state, totals)
        }
    }

    async fn observe(&mut self, time_s: f64) -> Result<(), OdeError> {
        let seen = self.network.observe(time_s, &self.state, &mut self.totals);
        Ok(seen?)
    }

    async fn read(&mut self, closes: bool) {
        for (sum, total) in self.sums.iter_mut().zip(&self.totals) {
            *sum += total;
        }
        if closes {
            std::mem::swap(&mut self.sums, &mut self.taken);
            self.sums.fill(0.0);
        }
    }

    fn closed_sums(&self) -> &[f64] {
        &self.taken
    }

    fn forget_sums(&mut self) {
        self.sums.fill(0.0);
    }

    fn observed(&self) -> Observed<'_> {
        Observed {
            state: &self.state,
            flows: &self.totals,
        }
    }

    async fn gradients(&mut self, time_s: f64) -> Result<Vec<f64>, OdeError> {
        let mut gradients = vec![0.0; self.network.gradient_pattern().len()];
        self.network.flows(time_s, &self.state, &mut self.totals)?;
        self.network.gradients(time_s, &self.state, &mut gradients);
        Ok(gradients)
    }

    fn stats(&self) -> Stats {
        self.method.stats()
    }
}

/// A network whose switches stay as they are.
struct Unswitched<'a>(&'a mut Network);

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

    fn bring_over(&mut self, time_s: f64, flows: &mut [f64]) -> bool {
        self.0.bring_over(time_s, flows)
    }

    fn told(&self) -> Vec<usize> {
        self.0.told()
    }

    fn may_run_away(&self) -> bool {
        self.0.may_run_away()
    }

    fn watched(&self) -> Vec<usize> {
        self.0.watched()
    }
}
