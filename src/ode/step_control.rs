//! Step control and location of switches for one design, whose stages may be its own or a lane among
//! others'.
//!
//! It asks a [`Desk`] for steps and waits for them. A desk of its own answers at once; that of a lane
//! answers when the lanes beside it have asked for theirs, so that all are worked on together. What is
//! decided here depends on the answers to this design alone.

use crate::elementary::cbrt;

use super::Fault;
use super::integrator::{Advance, OdeError, Stats, fallen, foremost};

/// Usual length of the first step and of the first after a switch, s.
const FIRST_STEP_S: f64 = 60.0;
/// Shortest step tried, s.
const SHORTEST_STEP_S: f64 = 1e-4;
/// Steps usually allowed in one call.
const MOST_STEPS: u64 = 100_000;
/// Switches are located to this, in the unit of the switching function.
const SWITCH_VALUE: f64 = 2e-4;
/// Or to this share of the error allowed in a step, if that is more.
const SWITCH_SHARE: f64 = 0.025;
/// Or else to this time, s.
const SWITCH_TIME_S: f64 = 0.05;
/// Trials that may be made to locate a switch; bisection alone needs 21 for a day.
const MOST_LOCATING_STEPS: u32 = 60;

/// Does the steps that a control asks for.
pub(crate) trait Desk {
    /// Takes the state in place as the start of a step and tries it.
    ///
    /// # Errors
    /// The fault at the start.
    async fn begin(&mut self, past: Past, trial: Trial) -> Result<Tried, Fault>;
    /// Tries another step from the same start.
    async fn again(&mut self, trial: Trial) -> Tried;
    /// Puts the state at a share of the step tried last in the place of that at its end.
    async fn look(&mut self, share: f64, step_s: f64);
    /// Advances the state to a share of the step tried last, or to its end.
    async fn hand_out(&mut self, share: Option<f64>, step_s: f64);
    /// How many switching functions there are.
    fn switch_count(&self) -> usize;
    /// Switching functions at a time and a state.
    async fn switches(&mut self, time_s: f64, at: At, values: &mut [f64]);
}

/// Which state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum At {
    /// That handed out last.
    Now,
    /// That at the start of the step in hand.
    Start,
    /// That at the end of the step in hand, or where was looked inside it.
    Next,
}

/// What the step before the one that begins has taught.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Past {
    /// How what the gradients leave out changed at its end.
    Kept,
    /// Nothing: flows have jumped.
    Jumped,
}

/// A step to try.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Trial {
    /// Start, s.
    pub(crate) time_s: f64,
    /// Length, s.
    pub(crate) step_s: f64,
}

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Tried {
    /// A step.
    Step {
        /// Estimated error over tolerance, the largest of all stores.
        error: f64,
        /// Store with that error.
        store: usize,
        /// Whether the state at the end is finite.
        finite: bool,
        /// Whether flows were evaluated at its start.
        anew: bool,
    },
    /// Something was undefined.
    Fault(Fault),
}

/// Step control of one design.
#[derive(Debug, Clone)]
pub(crate) struct Control {
    most_steps: u64,
    first_step_s: f64,
    suggested_step_s: f64,
    /// What the first step of a smooth stretch has suggested: the next stretch, which begins with as much
    /// of a jump, begins with no longer one.
    entry_step_s: f64,
    /// Until when what drives the step taken last is smooth, s.
    smooth_until_s: f64,
    /// How near to its threshold a switch is met: as near as the state is known.
    switch_value: f64,
    /// Where the last call ended: what it taught holds only from there.
    reached_s: Option<f64>,
    past: Past,
    hand: Hand,
    switch_values: Vec<f64>,
    stats: Stats,
}

/// A step that reaches beyond what has been asked for so far.
#[derive(Debug, Clone, Copy)]
struct Hand {
    /// Start and end of the step in hand, s; none is in hand before the first and after a switch.
    span_s: Option<[f64; 2]>,
    /// Length that the step was tried with, s.
    step_s: f64,
    /// Switch that falls at its end.
    switch: Option<usize>,
}

impl Control {
    pub(crate) fn new(tolerances: &[f64]) -> Self {
        let least = tolerances.iter().copied().fold(f64::INFINITY, f64::min);
        Self {
            most_steps: MOST_STEPS,
            first_step_s: FIRST_STEP_S,
            suggested_step_s: FIRST_STEP_S,
            entry_step_s: f64::INFINITY,
            smooth_until_s: f64::INFINITY,
            switch_value: SWITCH_VALUE.max(SWITCH_SHARE * least),
            reached_s: None,
            past: Past::Jumped,
            hand: Hand {
                span_s: None,
                step_s: 0.0,
                switch: None,
            },
            switch_values: Vec::new(),
            stats: Stats::default(),
        }
    }

    /// The same with another number of steps allowed in one call.
    pub(crate) fn with_most_steps(mut self, most_steps: u64) -> Self {
        self.most_steps = most_steps;
        self
    }

    /// The same with another length of the first step and of the first after a switch, s.
    pub(crate) fn with_first_step(mut self, first_step_s: f64) -> Self {
        self.first_step_s = first_step_s;
        self.suggested_step_s = first_step_s;
        self
    }

    pub(crate) fn suggested_step_s(&self) -> f64 {
        self.suggested_step_s
    }

    pub(crate) fn stats(&self) -> Stats {
        self.stats
    }

    /// Starts again with short steps.
    pub(crate) fn restart(&mut self) {
        self.suggested_step_s = self.first_step_s;
        self.smooth_until_s = f64::INFINITY;
        self.reached_s = None;
        self.hand.span_s = None;
        self.past = Past::Jumped;
    }

    /// Advances as [`super::Integrator::advance_within`] does; `unchanged` says whether the state is
    /// still the one that was handed out last.
    pub(crate) async fn advance<D: Desk>(
        &mut self,
        desk: &mut D,
        part_s: [f64; 2],
        smooth_until_s: f64,
        unchanged: bool,
    ) -> Result<Advance, OdeError> {
        let from_s = part_s[0];
        self.switch_values.resize(desk.switch_count(), 0.0);
        if !(unchanged && self.continues(from_s)) {
            self.hand.span_s = None;
            if !unchanged {
                self.past = Past::Jumped;
            }
            let follows = |reached_s: f64| (from_s - reached_s).abs() <= 1e-6;
            if !self.reached_s.is_some_and(follows) {
                self.restart();
            }
            if let Some(switch) = self.fallen(desk, from_s, At::Now).await? {
                return Ok(Advance::Switched {
                    time_s: from_s,
                    switch,
                });
            }
        }
        self.march(desk, part_s, smooth_until_s).await
    }

    /// Whether a step is in hand that goes on from a time.
    fn continues(&self, from_s: f64) -> bool {
        let near = |reached_s: f64| (from_s - reached_s).abs() <= closeness_s(from_s);
        self.hand.span_s.is_some() && self.reached_s.is_some_and(near)
    }

    /// Evaluates the switching functions; the first at or above zero.
    async fn fallen<D: Desk>(
        &mut self,
        desk: &mut D,
        time_s: f64,
        at: At,
    ) -> Result<Option<usize>, Fault> {
        if self.switch_values.is_empty() {
            return Ok(None);
        }
        desk.switches(time_s, at, &mut self.switch_values).await;
        fallen(time_s, &self.switch_values)
    }

    /// Hands out what flows until `to_s` or a switch, and steps on where nothing is in hand.
    async fn march<D: Desk>(
        &mut self,
        desk: &mut D,
        [from_s, to_s]: [f64; 2],
        smooth_until_s: f64,
    ) -> Result<Advance, OdeError> {
        let mut time_s = from_s;
        for _ in 0..self.most_steps {
            if let Some([start_s, end_s]) = self.hand.span_s {
                let within = to_s < end_s - closeness_s(to_s);
                time_s = if within { to_s } else { end_s };
                let step_s = self.hand.step_s;
                let share = within.then_some((to_s - start_s) / step_s);
                desk.hand_out(share, step_s).await;
                self.reached_s = Some(time_s);
                if within {
                    return Ok(Advance::Completed);
                }
                self.hand.span_s = None;
                if let Some(switch) = self.hand.switch.take() {
                    self.suggested_step_s = self.first_step_s;
                    self.past = Past::Jumped;
                    return Ok(Advance::Switched { time_s, switch });
                }
            }
            if to_s - time_s <= closeness_s(to_s) {
                return Ok(Advance::Completed);
            }
            self.step(desk, time_s, smooth_until_s.max(to_s)).await?;
        }
        Err(OdeError::TooManySteps {
            from_s,
            time_s,
            steps: self.most_steps,
        })
    }

    /// Takes one step and keeps it in hand.
    async fn step<D: Desk>(
        &mut self,
        desk: &mut D,
        time_s: f64,
        until_s: f64,
    ) -> Result<(), OdeError> {
        let remaining_s = until_s - time_s;
        let enters = time_s >= self.smooth_until_s - closeness_s(time_s);
        self.smooth_until_s = until_s;
        if enters {
            self.suggested_step_s = self.suggested_step_s.min(self.entry_step_s);
        }
        let (step_s, finite) = self.accepted_step(desk, time_s, remaining_s).await?;
        if enters {
            self.entry_step_s = self.suggested_step_s;
        }
        let mut end_s = if step_s >= remaining_s {
            until_s
        } else {
            time_s + step_s
        };
        self.hand.step_s = step_s;
        self.hand.switch = None;
        self.past = Past::Kept;
        if self.fallen(desk, end_s, At::Next).await?.is_some() {
            let located = self.locate(desk, time_s, step_s).await?;
            end_s = time_s + located.after_s;
            self.hand.step_s = located.after_s;
            self.hand.switch = Some(located.switch);
            self.past = Past::Jumped;
            self.stats.switches += 1;
        }
        if !finite {
            return Err(Fault::NotFinite { time_s: end_s }.into());
        }
        self.stats.steps += 1;
        self.hand.span_s = Some([time_s, end_s]);
        Ok(())
    }

    /// Shortens the step until its error is tolerable; returns its length and whether it ends in a
    /// finite state.
    async fn accepted_step<D: Desk>(
        &mut self,
        desk: &mut D,
        time_s: f64,
        remaining_s: f64,
    ) -> Result<(f64, bool), OdeError> {
        // Equal steps to the end, rather than a long one and a sliver.
        let mut step_s = remaining_s / (remaining_s / self.suggested_step_s - 1e-6).ceil().max(1.0);
        let mut trial = Trial { time_s, step_s };
        let mut tried = desk.begin(self.past, trial).await?;
        if let Tried::Step { anew: true, .. } | Tried::Fault(_) = tried {
            self.stats.flow_evaluations += 1;
            self.stats.gradient_evaluations += 1;
        }
        loop {
            self.count();
            let (store, fault) = match tried {
                Tried::Step { error, finite, .. } if error <= 1.0 => {
                    let longer_s = step_s * growth(error);
                    self.suggested_step_s = if step_s < self.suggested_step_s {
                        // Cut short by the end of the interval or by a rejection.
                        longer_s.max(step_s)
                    } else {
                        longer_s
                    };
                    return Ok((step_s, finite));
                }
                Tried::Step { error, store, .. } => {
                    self.stats.rejected_by_error += 1;
                    step_s *= if error.is_finite() {
                        growth(error).min(0.7)
                    } else {
                        0.1
                    };
                    (Some(store), None)
                }
                Tried::Fault(fault) => {
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
            trial.step_s = step_s;
            tried = desk.again(trial).await;
        }
    }

    /// Counts what a trial has cost.
    fn count(&mut self) {
        self.stats.flow_evaluations += 2;
        self.stats.gradient_evaluations += 1;
        self.stats.factorisations += 1;
    }

    /// Takes a step of a length on the way to a switch, and looks at the switches at its end.
    async fn locating_step<D: Desk>(
        &mut self,
        desk: &mut D,
        time_s: f64,
        step_s: f64,
    ) -> Result<(), OdeError> {
        self.stats.locating_steps += 1;
        let trial = Trial { time_s, step_s };
        let tried = desk.again(trial).await;
        self.count();
        match tried {
            Tried::Step { finite: true, .. } => {}
            Tried::Step { .. } => {
                let time_s = time_s + step_s;
                return Err(Fault::NotFinite { time_s }.into());
            }
            Tried::Fault(fault) => return Err(fault.into()),
        }
        self.fallen(desk, time_s + step_s, At::Next).await?;
        Ok(())
    }

    /// Finds the length of the step that was accepted last at which the first switch falls, and
    /// leaves the state and totals of that step in place.
    ///
    /// Where it should fall is read off the step itself, without looking at the flows again; then
    /// steps of about that length are taken until one ends there.
    async fn locate<D: Desk>(
        &mut self,
        desk: &mut D,
        time_s: f64,
        step_s: f64,
    ) -> Result<Bracket, OdeError> {
        let values = &mut self.switch_values;
        desk.switches(time_s, At::Start, values).await;
        let (_, before) = foremost(values);
        desk.switches(time_s + step_s, At::Next, values).await;
        let (switch, after) = foremost(values);
        let whole = Bracket::new(step_s, before, after, switch, self.switch_value);
        let mut inside = whole;
        while let Some(trial_s) = inside.next_s() {
            self.stats.locating_looks += 1;
            desk.look(trial_s / step_s, step_s).await;
            self.fallen(desk, time_s + trial_s, At::Next).await?;
            inside.narrow(trial_s, foremost(&self.switch_values));
        }
        let mut taken = whole;
        // A look inside has taken the place of the step's end.
        let mut held_s = if inside.left < whole.left {
            0.0
        } else {
            step_s
        };
        let mut guess_s = (inside.after_s < step_s).then_some(inside.after_s);
        while let Some(trial_s) = guess_s.take().or_else(|| taken.next_s()) {
            self.locating_step(desk, time_s, trial_s).await?;
            held_s = trial_s;
            taken.narrow(trial_s, foremost(&self.switch_values));
            if taken.close {
                break;
            }
        }
        if held_s < taken.after_s {
            self.locating_step(desk, time_s, taken.after_s).await?;
        }
        Ok(taken)
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

/// Times nearer than this are the same, s.
fn closeness_s(time_s: f64) -> f64 {
    1e-9 * time_s.abs().max(1.0)
}

/// Ratio of the next step to one with this error over tolerance.
fn growth(error: f64) -> f64 {
    (0.85 / cbrt(error)).clamp(0.1, 4.0)
}
