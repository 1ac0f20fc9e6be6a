//! The reference integrator: an explicit method of order 5 at tight tolerances.
//!
//! Slow on stiff networks, and nothing in common with the default one but the system itself.

use std::cell::RefCell;

use nalgebra::DVector;
use ode_solvers::dop_shared::{IntegrationError, OutputType};
use ode_solvers::dopri5::Dopri5;

use super::columns::finite;
use super::integrator::{Advance, Integrator, OdeError, Stats, check_shape, fallen, foremost};
use super::{Fault, System};

/// Switches are located to this, s.
const SWITCH_TIME_S: f64 = 0.01;
/// Steps allowed in one call.
const MOST_STEPS: u32 = 200_000;
/// Times that an interval is tried again with steps an eighth as long after flows were undefined
/// at a trial state.
const MOST_RETRIES: i32 = 5;

/// Dormand–Prince 5(4) of the crate `ode_solvers`, with flow totals as further states.
///
/// Each call integrates from zero local time: the crate loses its step to rounding when time is
/// large.
#[derive(Debug, Clone)]
pub struct Reference {
    relative: f64,
    absolute: f64,
    stats: Stats,
}

impl Default for Reference {
    fn default() -> Self {
        Self::new(1e-9, 1e-9)
    }
}

/// States, then totals over their scales.
type Extended = DVector<f64>;

impl Reference {
    /// A reference with a relative and an absolute tolerance, the latter in the unit of the state.
    pub fn new(relative: f64, absolute: f64) -> Self {
        Self {
            relative,
            absolute,
            stats: Stats::default(),
        }
    }

    /// Integrates from a local start to at most `length_s` on; stops at the first step at whose
    /// end a switch has fallen. Returns the last two points.
    fn run<S: System<f64> + ?Sized>(
        &mut self,
        system: &mut S,
        start_s: f64,
        length_s: f64,
        start: &Extended,
        scales: &[f64],
    ) -> Result<[(f64, Extended); 2], OdeError> {
        let mut last_fault = None;
        for retry in 0..=MOST_RETRIES {
            let fault = RefCell::new(None);
            let adapter = Adapter {
                system: RefCell::new(&mut *system),
                flows: RefCell::new(vec![0.0; scales.len()]),
                fault: &fault,
                start_s,
                scales,
            };
            let mut stepper = Dopri5::from_param(
                adapter,
                0.0,
                length_s,
                length_s,
                start.clone(),
                self.relative,
                self.absolute,
                0.9,
                0.04,
                0.2,
                10.0,
                length_s * 8_f64.powi(-retry),
                0.0,
                MOST_STEPS,
                u32::MAX,
                OutputType::Sparse,
            );
            let outcome = stepper.integrate();
            let (times, points) = stepper.results().get();
            let reached_s = times.last().copied().unwrap_or(0.0);
            let found = fault.take();
            if let Some(fault) = found {
                self.stats.rejected_by_fault += 1;
                last_fault = Some(fault);
                continue;
            }
            let done = outcome.map_err(|error| match error {
                IntegrationError::MaxNumStepReached { x, n_step } => OdeError::TooManySteps {
                    from_s: start_s,
                    time_s: start_s + x,
                    steps: n_step.into(),
                },
                IntegrationError::StepSizeUnderflow { x }
                | IntegrationError::StiffnessDetected { x } => OdeError::StepUnderflow {
                    time_s: start_s + x,
                    step_s: f64::EPSILON * x,
                    store: None,
                    fault: None,
                },
            })?;
            self.stats.steps += u64::from(done.accepted_steps);
            self.stats.rejected_by_error += u64::from(done.rejected_steps);
            self.stats.flow_evaluations += u64::from(done.num_eval);
            let before = times.len().saturating_sub(2);
            return match (points.get(before), points.last()) {
                (Some(before_point), Some(last)) => Ok([
                    (times[before], before_point.clone()),
                    (reached_s, last.clone()),
                ]),
                _ => Err(Fault::NotFinite { time_s: start_s }.into()),
            };
        }
        Err(last_fault
            .unwrap_or(Fault::NotFinite { time_s: start_s })
            .into())
    }
}

impl Integrator<f64> for Reference {
    /// Never looks beyond the part: its steps end at every instant asked for.
    fn advance_within<S: System<f64> + ?Sized>(
        &mut self,
        system: &mut S,
        [from_s, to_s]: [f64; 2],
        _smooth_until_s: f64,
        state: &mut [f64],
        totals: &mut [f64],
    ) -> Result<Advance, OdeError> {
        check_shape(system, state, totals)?;
        totals.fill(0.0);
        let mut switches = vec![0.0; system.switch_count()];
        system.switches(from_s, state, &mut switches);
        if let Some(switch) = fallen(from_s, &switches)? {
            return Ok(Advance::Switched {
                time_s: from_s,
                switch,
            });
        }
        if to_s <= from_s {
            return Ok(Advance::Completed);
        }
        let scales = total_scales(system);
        let start = Extended::from_iterator(
            state.len() + totals.len(),
            state.iter().chain(&*totals).copied(),
        );
        let [(mut before_s, mut before), (mut after_s, mut after)] =
            self.run(system, from_s, to_s - from_s, &start, &scales)?;
        system.switches(
            from_s + after_s,
            &after.as_slice()[..state.len()],
            &mut switches,
        );
        let mut advance = Advance::Completed;
        if fallen(from_s + after_s, &switches)?.is_some() {
            let (mut switch, _) = foremost(&switches);
            while after_s - before_s > SWITCH_TIME_S {
                let half_s = 0.5 * (after_s - before_s);
                // It may stop before the middle, at a step at whose end the switch has fallen.
                let [_, (run_s, middle)] =
                    self.run(system, from_s + before_s, half_s, &before, &scales)?;
                self.stats.locating_steps += 1;
                let middle_s = before_s + run_s;
                let at_middle = &middle.as_slice()[..state.len()];
                system.switches(from_s + middle_s, at_middle, &mut switches);
                if fallen(from_s + middle_s, &switches)?.is_some() {
                    (after_s, after, switch) = (middle_s, middle, foremost(&switches).0);
                } else {
                    (before_s, before) = (middle_s, middle);
                }
            }
            self.stats.switches += 1;
            advance = Advance::Switched {
                time_s: from_s + after_s,
                switch,
            };
        }
        let (states, sums) = after.as_slice().split_at(state.len());
        state.copy_from_slice(states);
        for ((total, &sum), &scale) in totals.iter_mut().zip(sums).zip(&scales) {
            *total = sum * scale;
        }
        Ok(advance)
    }

    fn stats(&self) -> Stats {
        self.stats
    }
}

/// Scale of each total, so that the tolerances mean the same for totals as for states: the larger
/// capacity that the flow joins.
fn total_scales<S: System<f64> + ?Sized>(system: &S) -> Vec<f64> {
    let capacities = system.capacities();
    system
        .ends()
        .iter()
        .map(|end| {
            let scale = [end.from, end.to]
                .into_iter()
                .flatten()
                .map(|store| capacities[store])
                .fold(0.0, f64::max);
            if scale > 0.0 { scale } else { 1.0 }
        })
        .collect()
}

/// What `ode_solvers` sees.
struct Adapter<'a, S: ?Sized> {
    system: RefCell<&'a mut S>,
    flows: RefCell<Vec<f64>>,
    fault: &'a RefCell<Option<Fault>>,
    start_s: f64,
    scales: &'a [f64],
}

impl<S: System<f64> + ?Sized> ode_solvers::System<f64, Extended> for Adapter<'_, S> {
    fn system(&self, local_s: f64, extended: &Extended, rates: &mut Extended) {
        rates.fill(0.0);
        if self.fault.borrow().is_some() {
            return;
        }
        let (mut system, mut flows) = (self.system.borrow_mut(), self.flows.borrow_mut());
        let stores = extended.len() - flows.len();
        let time_s = self.start_s + local_s;
        let result = system.flows(time_s, &extended.as_slice()[..stores], &mut flows);
        let result = result.and_then(|()| {
            if finite(&flows) {
                Ok(())
            } else {
                Err(Fault::NotFinite { time_s })
            }
        });
        if let Err(fault) = result {
            self.fault.replace(Some(fault));
            return;
        }
        let (states, sums) = rates.as_mut_slice().split_at_mut(stores);
        for (((end, &flow), sum), scale) in
            system.ends().iter().zip(&*flows).zip(sums).zip(self.scales)
        {
            *sum = flow / scale;
            if let Some(from) = end.from {
                states[from] -= flow;
            }
            if let Some(to) = end.to {
                states[to] += flow;
            }
        }
        for (rate, capacity) in states.iter_mut().zip(system.capacities()) {
            *rate /= capacity;
        }
    }

    fn solout(&mut self, local_s: f64, extended: &Extended, _rates: &Extended) -> bool {
        if self.fault.borrow().is_some() {
            return true;
        }
        let system = self.system.borrow();
        let mut values = vec![0.0; system.switch_count()];
        let stores = extended.len() - self.scales.len();
        let time_s = self.start_s + local_s;
        system.switches(time_s, &extended.as_slice()[..stores], &mut values);
        match fallen(time_s, &values) {
            Ok(fallen) => fallen.is_some(),
            Err(fault) => {
                self.fault.replace(Some(fault));
                true
            }
        }
    }
}
