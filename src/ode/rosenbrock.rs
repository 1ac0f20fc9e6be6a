//! The default integrator: step control and location of switches around one linearly implicit
//! formula.

use super::integrator::{Advance, Integrator, OdeError, Stats, check_shape, fallen, foremost};
use super::stages::{Stages, all_finite};
use super::{Fault, Real, System};

/// Usual length of the first step and of the first after a switch, s.
const FIRST_STEP_S: f64 = 60.0;
/// Shortest step tried, s.
const SHORTEST_STEP_S: f64 = 1e-4;
/// Steps usually allowed in one call.
const MOST_STEPS: u64 = 100_000;
/// Steps after which the middle is looked at even if nothing asks for it.
const STEPS_BETWEEN_PROBES: u32 = 12;
/// Switches are located to this, in the unit of the switching function.
const SWITCH_VALUE: f64 = 2e-4;
/// Or to this share of the error allowed in a step, if that is more.
const SWITCH_SHARE: f64 = 0.025;
/// Or else to this time, s.
const SWITCH_TIME_S: f64 = 0.05;
/// Trials that may be made to locate a switch; bisection alone needs 21 for a day.
const MOST_LOCATING_STEPS: u32 = 60;

/// Linearly implicit, error-controlled integrator for stiff networks.
///
/// One step costs two evaluations of the flows (three where the forcing bends), one of the
/// gradients and one sparse factorisation. It remembers its step length from call to call, so
/// that a smooth stretch is taken in one step a call.
#[derive(Debug, Clone)]
pub struct Rosenbrock<R> {
    tolerances: Vec<f64>,
    most_steps: u64,
    first_step_s: f64,
    suggested_step_s: f64,
    steps_since_probe: u32,
    /// Where the last call ended: what it taught holds only from there.
    reached_s: Option<f64>,
    stages: Option<Stages<R>>,
    next: Vec<R>,
    step_totals: Vec<R>,
    hand: Hand<R>,
    switch_values: Vec<R>,
    stats: Stats,
}

/// A step that reaches beyond what has been asked for so far.
#[derive(Debug, Clone)]
struct Hand<R> {
    /// Start and end of the step in hand, s; none is in hand before the first and after a switch.
    span_s: Option<[f64; 2]>,
    /// Length that the step was tried with, s.
    step_s: f64,
    /// Switch that falls at its end.
    switch: Option<usize>,
    /// State at its start.
    start: Vec<R>,
    /// State handed over last, to see whether the caller goes on from it.
    handed: Vec<R>,
    /// Totals from the step's start to there.
    handed_totals: Vec<R>,
    /// Room for the totals to the next instant.
    reached_totals: Vec<R>,
}

impl<R: Real> Rosenbrock<R> {
    /// An integrator with an error tolerance for each store and step, unit of its state.
    ///
    /// 0.005 K keeps attic air within 0.02 K of the exact course (see the integration tests). A
    /// switch is met as exactly as the state: its instant errs by the error over the slope.
    pub fn new(tolerances: Vec<f64>) -> Self {
        Self {
            tolerances,
            most_steps: MOST_STEPS,
            first_step_s: FIRST_STEP_S,
            suggested_step_s: FIRST_STEP_S,
            steps_since_probe: 0,
            reached_s: None,
            stages: None,
            next: Vec::new(),
            step_totals: Vec::new(),
            hand: Hand {
                span_s: None,
                step_s: 0.0,
                switch: None,
                start: Vec::new(),
                handed: Vec::new(),
                handed_totals: Vec::new(),
                reached_totals: Vec::new(),
            },
            switch_values: Vec::new(),
            stats: Stats::default(),
        }
    }

    /// The same with another number of steps allowed in one call.
    pub fn with_most_steps(mut self, most_steps: u64) -> Self {
        self.most_steps = most_steps;
        self
    }

    /// The same with another length of the first step and of the first after a switch, s.
    pub fn with_first_step(mut self, first_step_s: f64) -> Self {
        self.first_step_s = first_step_s;
        self.suggested_step_s = first_step_s;
        self
    }

    /// Step length that the next call starts with, s.
    pub fn suggested_step_s(&self) -> f64 {
        self.suggested_step_s
    }

    /// Starts again with short steps, as after a jump of the state or of an operating mode.
    pub fn restart(&mut self) {
        self.suggested_step_s = self.first_step_s;
        self.steps_since_probe = 0;
        self.reached_s = None;
        self.hand.span_s = None;
        if let Some(stages) = &mut self.stages {
            stages.forget();
        }
    }

    /// Evaluates the switching functions; the first at or above zero.
    fn fallen<S: System<R> + ?Sized>(
        &mut self,
        system: &S,
        time_s: f64,
        state: &[R],
    ) -> Result<Option<usize>, Fault> {
        if self.switch_values.is_empty() {
            return Ok(None);
        }
        system.switches(time_s, state, &mut self.switch_values);
        fallen(time_s, &self.switch_values)
    }

    /// Makes the scratch fit the system.
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
        self.next.resize(state.len(), R::splat(0.0));
        self.step_totals.resize(totals.len(), R::splat(0.0));
        self.hand.start.resize(state.len(), R::splat(0.0));
        self.hand.handed.resize(state.len(), R::splat(0.0));
        self.hand.handed_totals.resize(totals.len(), R::splat(0.0));
        self.hand.reached_totals.resize(totals.len(), R::splat(0.0));
        self.switch_values
            .resize(system.switch_count(), R::splat(0.0));
        match self.stages.take() {
            Some(stages) if stages.fits(system) => Ok(stages),
            _ => {
                self.restart();
                Ok(Stages::new(system, &self.tolerances))
            }
        }
    }

    /// Hands out what flows until `to_s` or a switch, and steps on where nothing is in hand.
    fn march<S: System<R> + ?Sized>(
        &mut self,
        stages: &mut Stages<R>,
        system: &mut S,
        [from_s, to_s]: [f64; 2],
        smooth_until_s: f64,
        state: &mut [R],
        totals: &mut [R],
    ) -> Result<Advance, OdeError> {
        let mut time_s = from_s;
        for _ in 0..self.most_steps {
            if let Some([start_s, end_s]) = self.hand.span_s {
                let within = to_s < end_s - closeness_s(to_s);
                time_s = if within { to_s } else { end_s };
                self.hand_out(stages, within.then_some(to_s - start_s), state, totals);
                self.reached_s = Some(time_s);
                if within {
                    return Ok(Advance::Completed);
                }
                self.hand.span_s = None;
                if let Some(switch) = self.hand.switch.take() {
                    self.suggested_step_s = self.first_step_s;
                    self.steps_since_probe = 0;
                    stages.forget();
                    return Ok(Advance::Switched { time_s, switch });
                }
            }
            if to_s - time_s <= closeness_s(to_s) {
                return Ok(Advance::Completed);
            }
            self.step(stages, system, [time_s, smooth_until_s.max(to_s)], state)?;
        }
        Err(OdeError::TooManySteps {
            from_s,
            time_s,
            steps: self.most_steps,
        })
    }

    /// Takes one step and keeps it in hand.
    fn step<S: System<R> + ?Sized>(
        &mut self,
        stages: &mut Stages<R>,
        system: &mut S,
        [time_s, until_s]: [f64; 2],
        state: &[R],
    ) -> Result<(), OdeError> {
        let remaining_s = until_s - time_s;
        stages.begin(system, time_s, state, &mut self.stats)?;
        let step_s = self.accepted_step(stages, system, time_s, remaining_s, state)?;
        stages.reach(1.0, step_s, state, &mut self.next, &mut self.step_totals);
        let mut end_s = if step_s >= remaining_s {
            until_s
        } else {
            time_s + step_s
        };
        self.hand.step_s = step_s;
        let next = std::mem::take(&mut self.next);
        let crossed = self.fallen(system, end_s, &next);
        self.next = next;
        if crossed?.is_some() {
            let (located_s, switch) = self.locate(stages, system, time_s, step_s, state)?;
            end_s = time_s + located_s;
            self.hand.step_s = located_s;
            self.hand.switch = Some(switch);
            self.stats.switches += 1;
        } else {
            self.hand.switch = None;
            stages.keep_slope(step_s);
        }
        if !all_finite(&self.next) {
            return Err(Fault::NotFinite { time_s: end_s }.into());
        }
        self.stats.steps += 1;
        self.hand.span_s = Some([time_s, end_s]);
        self.hand.start.copy_from_slice(state);
        self.hand.handed_totals.fill(R::splat(0.0));
        Ok(())
    }

    /// Advances to a time inside the step in hand, s from its start, or to its end.
    fn hand_out(
        &mut self,
        stages: &mut Stages<R>,
        inside_s: Option<f64>,
        state: &mut [R],
        totals: &mut [R],
    ) {
        let hand = &mut self.hand;
        if let Some(inside_s) = inside_s {
            stages.reach(
                inside_s / hand.step_s,
                hand.step_s,
                &hand.start,
                state,
                &mut hand.reached_totals,
            );
        } else {
            state.copy_from_slice(&self.next);
            hand.reached_totals.copy_from_slice(&self.step_totals);
        }
        let pairs = hand.reached_totals.iter().zip(&mut hand.handed_totals);
        for (total, (&reached, handed)) in totals.iter_mut().zip(pairs) {
            *total += reached - *handed;
            *handed = reached;
        }
        hand.handed.copy_from_slice(state);
    }

    /// Whether a step is in hand that goes on from a state at a time.
    fn continues(&self, from_s: f64, state: &[R]) -> bool {
        let near = |reached_s: f64| (from_s - reached_s).abs() <= closeness_s(from_s);
        let unchanged = || {
            let pairs = state.iter().zip(&self.hand.handed);
            pairs.fold(0.0, |sum, (&a, &b)| sum + (a - b).abs().largest()) <= 0.0
        };
        self.hand.span_s.is_some() && self.reached_s.is_some_and(near) && unchanged()
    }

    /// Shortens the step until its error is tolerable; returns its length.
    fn accepted_step<S: System<R> + ?Sized>(
        &mut self,
        stages: &mut Stages<R>,
        system: &mut S,
        time_s: f64,
        remaining_s: f64,
        state: &[R],
    ) -> Result<f64, OdeError> {
        // Equal steps to the end, rather than a long one and a sliver.
        let mut step_s = remaining_s / (remaining_s / self.suggested_step_s - 1e-6).ceil().max(1.0);
        loop {
            let probe = self.steps_since_probe >= STEPS_BETWEEN_PROBES;
            let probes = self.stats.probes;
            let trial = stages.attempt(system, time_s, state, step_s, probe, &mut self.stats);
            let (store, fault) = match trial {
                Ok(trial) if trial.error <= 1.0 => {
                    self.steps_since_probe = if self.stats.probes > probes {
                        0
                    } else {
                        self.steps_since_probe + 1
                    };
                    let longer_s = step_s * growth(trial.error);
                    self.suggested_step_s = if step_s < self.suggested_step_s {
                        // Cut short by the end of the interval or by a rejection.
                        longer_s.max(step_s)
                    } else {
                        longer_s
                    };
                    return Ok(step_s);
                }
                Ok(trial) => {
                    self.stats.rejected_by_error += 1;
                    step_s *= if trial.error.is_finite() {
                        growth(trial.error).min(0.7)
                    } else {
                        0.1
                    };
                    (Some(trial.store), None)
                }
                Err(fault) => {
                    self.stats.rejected_by_fault += 1;
                    step_s *= 0.25;
                    (None, Some(fault))
                }
            };
            self.suggested_step_s = step_s;
            if step_s < SHORTEST_STEP_S.min(remaining_s) {
                return Err(OdeError::StepUnderflow {
                    time_s,
                    step_s,
                    store,
                    fault,
                });
            }
        }
    }

    /// Finds the length of the step that was accepted last at which the first switch falls, and
    /// leaves the state and totals of that step in place.
    ///
    /// Where it should fall is read off the step itself, without looking at the flows again; then
    /// steps of about that length are taken until one ends there.
    fn locate<S: System<R> + ?Sized>(
        &mut self,
        stages: &mut Stages<R>,
        system: &mut S,
        time_s: f64,
        step_s: f64,
        state: &[R],
    ) -> Result<(f64, usize), OdeError> {
        system.switches(time_s, state, &mut self.switch_values);
        let (_, before) = foremost(&self.switch_values);
        system.switches(time_s + step_s, &self.next, &mut self.switch_values);
        let (switch, after) = foremost(&self.switch_values);
        let whole = Bracket::new(step_s, before, after, switch, self.switch_value());
        let mut inside = whole;
        let mut held_s = step_s;
        while let Some(trial_s) = inside.next_s() {
            self.stats.locating_looks += 1;
            stages.reach(
                trial_s / step_s,
                step_s,
                state,
                &mut self.next,
                &mut self.step_totals,
            );
            held_s = trial_s;
            system.switches(time_s + trial_s, &self.next, &mut self.switch_values);
            fallen(time_s + trial_s, &self.switch_values)?;
            inside.narrow(trial_s, foremost(&self.switch_values));
        }
        let mut taken = whole;
        let mut guess_s = (inside.after_s < step_s).then_some(inside.after_s);
        while let Some(trial_s) = guess_s.take().or_else(|| taken.next_s()) {
            self.stats.locating_steps += 1;
            stages.attempt(system, time_s, state, trial_s, false, &mut self.stats)?;
            stages.reach(1.0, trial_s, state, &mut self.next, &mut self.step_totals);
            held_s = trial_s;
            system.switches(time_s + trial_s, &self.next, &mut self.switch_values);
            fallen(time_s + trial_s, &self.switch_values)?;
            taken.narrow(trial_s, foremost(&self.switch_values));
            if taken.close {
                break;
            }
        }
        if held_s < taken.after_s {
            self.stats.locating_steps += 1;
            stages.attempt(system, time_s, state, taken.after_s, false, &mut self.stats)?;
            stages.reach(
                1.0,
                taken.after_s,
                state,
                &mut self.next,
                &mut self.step_totals,
            );
        }
        Ok((taken.after_s, taken.switch))
    }

    /// How near to its threshold a switch is met: as near as the state is known.
    fn switch_value(&self) -> f64 {
        let least = self
            .tolerances
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min);
        SWITCH_VALUE.max(SWITCH_SHARE * least)
    }
}

/// Step lengths between which a switch falls.
#[derive(Debug, Clone, Copy)]
struct Bracket {
    before_s: f64,
    value_before: f64,
    after_s: f64,
    value_after: f64,
    switch: usize,
    /// Whether the later end is near enough.
    close: bool,
    near: f64,
    same_side: i32,
    left: u32,
}

impl Bracket {
    fn new(step_s: f64, value_before: f64, value_after: f64, switch: usize, near: f64) -> Self {
        Self {
            before_s: 0.0,
            value_before,
            after_s: step_s,
            value_after,
            switch,
            close: value_after < near,
            near,
            same_side: 0,
            left: MOST_LOCATING_STEPS,
        }
    }

    /// The length to try next, unless the switch is located.
    fn next_s(&mut self) -> Option<f64> {
        let width_s = self.after_s - self.before_s;
        if self.close || width_s < SWITCH_TIME_S || self.left == 0 {
            return None;
        }
        self.left -= 1;
        // Regula falsi with the stale end halved (Illinois); kept off the ends.
        let share = self.value_before / (self.value_before - self.value_after);
        let share = if share.is_finite() {
            share.clamp(0.02, 0.98)
        } else {
            0.5
        };
        Some(self.before_s + share * width_s)
    }

    /// Takes in what a length has shown.
    fn narrow(&mut self, trial_s: f64, (foremost, value): (usize, f64)) {
        if value >= 0.0 || value > -self.near {
            (self.after_s, self.value_after, self.switch) = (trial_s, value, foremost);
            self.close = value < self.near;
            self.value_before *= if self.same_side > 0 { 0.5 } else { 1.0 };
            self.same_side = 1;
        } else {
            (self.before_s, self.value_before) = (trial_s, value);
            self.value_after *= if self.same_side < 0 { 0.5 } else { 1.0 };
            self.same_side = -1;
        }
    }
}

impl<R: Real> Integrator<R> for Rosenbrock<R> {
    fn advance_within<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        [from_s, to_s]: [f64; 2],
        smooth_until_s: f64,
        state: &mut [R],
        totals: &mut [R],
    ) -> Result<Advance, OdeError> {
        let mut stages = self.prepare(system, state, totals)?;
        totals.fill(R::splat(0.0));
        if !self.continues(from_s, state) {
            self.hand.span_s = None;
            if self
                .reached_s
                .is_none_or(|reached_s| (from_s - reached_s).abs() > 1e-6)
            {
                self.restart();
                stages.forget();
            }
            if let Some(switch) = self.fallen(system, from_s, state)? {
                self.stages = Some(stages);
                return Ok(Advance::Switched {
                    time_s: from_s,
                    switch,
                });
            }
        }
        let part_s = [from_s, to_s];
        let result = self.march(&mut stages, system, part_s, smooth_until_s, state, totals);
        self.stages = Some(stages);
        result
    }

    fn stats(&self) -> Stats {
        self.stats
    }
}

/// Times nearer than this are the same, s.
fn closeness_s(time_s: f64) -> f64 {
    1e-9 * time_s.abs().max(1.0)
}

/// Ratio of the next step to one with this error over tolerance.
fn growth(error: f64) -> f64 {
    (0.85 / error.cbrt()).clamp(0.1, 3.0)
}
