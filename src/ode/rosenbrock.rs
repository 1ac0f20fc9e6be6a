//! The default integrator: one design with stages of its own.

use std::future::Future;
use std::pin::pin;
use std::task::{Context, Poll, Waker};

use super::integrator::{Advance, Integrator, OdeError, Stats, check_shape};
use super::real::Mask;
use super::stages::{Attempt, HandOut, Judgement, Stages, Start};
use super::step_control::{At, Control, Desk, Past, Trial, Tried};
use super::{Fault, Real, System};

/// Linearly implicit, error-controlled integrator for stiff networks.
///
/// One step costs two evaluations of the flows (three after a jump), one of the gradients and one sparse
/// factorisation. It remembers its step length from call to call, so
/// that a smooth stretch is taken in one step a call.
#[derive(Debug, Clone)]
pub struct Rosenbrock<R: Real = f64> {
    tolerances: Vec<f64>,
    control: Control,
    stages: Option<Stages<R>>,
    glances: bool,
}

impl<R: Real> Rosenbrock<R> {
    /// An integrator with an error tolerance for each store and step, unit of its state.
    ///
    /// 0.005 K keeps attic air within 0.02 K of the exact course (see the integration tests). A
    /// switch is met as exactly as the state: its instant errs by the error over the slope.
    pub fn new(tolerances: Vec<f64>) -> Self {
        Self {
            control: Control::new(&tolerances),
            tolerances,
            stages: None,
            glances: false,
        }
    }

    /// The same with another number of steps allowed in one call.
    pub fn with_most_steps(mut self, most_steps: u64) -> Self {
        self.control = self.control.with_most_steps(most_steps);
        self
    }

    /// The same with another length of the first step and of the first after a switch, s.
    pub fn with_first_step(mut self, first_step_s: f64) -> Self {
        self.control = self.control.with_first_step(first_step_s);
        self
    }

    /// Says whether, inside a step, only those flows need be handed out that the system tells there
    /// ([`System::told`]): the totals of the others are then behind until a call ends where a step does.
    pub fn set_glances(&mut self, glances: bool) {
        self.glances = glances;
    }

    /// Step length that the next call starts with, s.
    pub fn suggested_step_s(&self) -> f64 {
        self.control.suggested_step_s()
    }

    /// Starts again with short steps, as after a jump of the state or of an operating mode.
    pub fn restart(&mut self) {
        self.control.restart();
    }

    /// Makes the stages fit the system.
    fn prepare<S: System<R> + ?Sized>(
        &mut self,
        system: &S,
        state: &[R],
        totals: &[R],
    ) -> Result<Stages<R>, OdeError> {
        check_shape(system, state, totals)?;
        if self.tolerances.len() != state.len() {
            return Err(OdeError::Shape {
                what: "tolerances",
                expected: state.len(),
                found: self.tolerances.len(),
            });
        }
        match self.stages.take() {
            Some(mut stages) if stages.fits(system) => {
                stages.take_capacities(system.capacities());
                Ok(stages)
            }
            _ => {
                self.restart();
                let mut stages = Stages::new(system);
                stages.set_tolerances(ONLY, &self.tolerances);
                Ok(stages)
            }
        }
    }
}

impl<R: Real> Integrator<R> for Rosenbrock<R> {
    fn advance_within<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        part_s: [f64; 2],
        smooth_until_s: f64,
        state: &mut [R],
        totals: &mut [R],
    ) -> Result<Advance, OdeError> {
        let mut stages = self.prepare(system, state, totals)?;
        let pairs = state.iter().zip(&stages.state);
        let apart = pairs.fold(0.0, |sum, (&a, &b)| sum + (a - b).abs().lane(ONLY));
        let unchanged = apart <= 0.0;
        stages.state.copy_from_slice(state);
        stages.totals.fill(R::splat(0.0));
        let mut desk = OwnDesk {
            system,
            stages: &mut stages,
            glances: self.glances,
        };
        let advance = self
            .control
            .advance(&mut desk, part_s, smooth_until_s, unchanged);
        let result = at_once(advance);
        state.copy_from_slice(&stages.state);
        totals.copy_from_slice(&stages.totals);
        self.stages = Some(stages);
        result
    }

    fn stats(&self) -> Stats {
        self.control.stats()
    }
}

/// What comes of a future that waits for nothing but itself.
pub(crate) fn at_once<F: Future>(future: F) -> F::Output {
    let mut future = pin!(future);
    let mut context = Context::from_waker(Waker::noop());
    loop {
        if let Poll::Ready(output) = future.as_mut().poll(&mut context) {
            return output;
        }
    }
}

/// The lane of a number that has no others.
const ONLY: usize = 0;

/// All lanes or none.
fn if_so<R: Real>(so: bool) -> R::Mask {
    if so { R::Mask::ALL } else { R::Mask::NONE }
}

/// Stages of one design, which answer at once.
struct OwnDesk<'a, S: ?Sized, R: Real> {
    system: &'a mut S,
    stages: &'a mut Stages<R>,
    glances: bool,
}

/// What came of a trial in one lane.
pub(crate) fn tried<R: Real>(
    stages: &mut Stages<R>,
    judgement: &Judgement<R>,
    lane: usize,
    time_s: f64,
) -> Tried {
    if !judgement.sound.has(lane) {
        return Tried::Fault(stages.take_fault(lane, time_s));
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the index of a store"
    )]
    let store = judgement.store.lane(lane) as usize;
    Tried::Step {
        error: judgement.error.lane(lane),
        store,
        finite: judgement.finite.has(lane),
        anew: stages.is_anew(lane),
    }
}

impl<R: Real, S: System<R> + ?Sized> OwnDesk<'_, S, R> {
    fn attempt(&mut self, trial: Trial) -> Tried {
        let attempt = Attempt {
            lanes: R::Mask::ALL,
            time_s: R::splat(trial.time_s),
            step_s: R::splat(trial.step_s),
        };
        let judgement = self.stages.attempt(self.system, &attempt);
        tried(self.stages, &judgement, ONLY, trial.time_s)
    }
}

impl<R: Real, S: System<R> + ?Sized> Desk for OwnDesk<'_, S, R> {
    async fn begin(&mut self, past: Past, trial: Trial) -> Result<Tried, Fault> {
        let start = Start {
            kept: if_so::<R>(past == Past::Kept),
            jumped: if_so::<R>(past == Past::Jumped),
            time_s: R::splat(trial.time_s),
        };
        if self.stages.begin(self.system, &start).has(ONLY) {
            Ok(self.attempt(trial))
        } else {
            Err(self.stages.take_fault(ONLY, trial.time_s))
        }
    }

    async fn again(&mut self, trial: Trial) -> Tried {
        self.attempt(trial)
    }

    async fn look(&mut self, share: f64, step_s: f64) {
        let (share, step_s) = (R::splat(share), R::splat(step_s));
        self.stages.look(R::Mask::ALL, share, step_s);
    }

    async fn hand_out(&mut self, share: Option<f64>, step_s: f64) {
        self.stages.hand_out(&HandOut {
            anew: R::Mask::NONE,
            whole: if_so::<R>(share.is_none()),
            part: if_so::<R>(share.is_some()),
            glance: if_so::<R>(share.is_some() && self.glances),
            share: R::splat(share.unwrap_or(1.0)),
            step_s: R::splat(step_s),
        });
    }

    fn switch_count(&self) -> usize {
        self.system.switch_count()
    }

    async fn switches(&mut self, time_s: f64, at: At, values: &mut [f64]) {
        let state = match at {
            At::Now => &self.stages.state,
            At::Start => &self.stages.start,
            At::Next => &self.stages.next,
        };
        let found = &mut vec![R::splat(0.0); values.len()];
        self.system.switches(time_s, state, found);
        for (value, found) in values.iter_mut().zip(found) {
            *value = found.lane(ONLY);
        }
    }
}
