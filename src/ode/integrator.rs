//! What every integrator offers: to advance a system to a time or to its next switch.

use super::{Fault, Real, System};

/// Marches a system through time.
pub trait Integrator<R: Real> {
    /// Advances from `from_s` to `to_s`, or to the first switch before it.
    ///
    /// Forcing must be smooth in between; the longer the interval, the fewer the steps. After a
    /// switch the caller changes the system and goes on from the instant returned. `state` is advanced in place; `totals` is set to the
    /// integral of each flow over the time covered, so that for each store the change of
    /// capacity × state equals its totals, in minus out, to rounding.
    ///
    /// A switching function that is at or above zero already at `from_s` is returned at once.
    ///
    /// # Errors
    /// See [`OdeError`]; `state` is then that of the last step that was accepted.
    fn advance<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        from_s: f64,
        to_s: f64,
        state: &mut [R],
        totals: &mut [R],
    ) -> Result<Advance, OdeError> {
        self.advance_within(system, [from_s, to_s], to_s, state, totals)
    }

    /// As [`Self::advance`], over the part `[from, to]` of a stretch in which forcing stays smooth
    /// until `smooth_until_s`.
    ///
    /// A step may then reach beyond `to`, and the next call goes on inside it: the system must be
    /// the same until the stretch has ended or a switch has fallen.
    ///
    /// # Errors
    /// As [`Self::advance`].
    fn advance_within<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        part_s: [f64; 2],
        smooth_until_s: f64,
        state: &mut [R],
        totals: &mut [R],
    ) -> Result<Advance, OdeError>;

    /// What it has cost since the integrator was made.
    fn stats(&self) -> Stats;
}

/// Where [`Integrator::advance`] stopped.
#[derive(Debug, Clone, Copy, PartialEq)]
#[must_use]
pub enum Advance {
    /// At the end of the interval.
    Completed,
    /// At the instant at which a switching function reached zero.
    Switched {
        /// Time, s.
        time_s: f64,
        /// Index of the switching function.
        switch: usize,
    },
}

/// Why an integration stopped.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OdeError {
    /// The flows could not be computed at an accepted state.
    #[error(transparent)]
    Flows(#[from] Fault),
    /// No step, however short, met the tolerance or kept the flows defined.
    #[error("no step of {step_s} s or more is accurate enough at {time_s} s")]
    StepUnderflow {
        /// Start of the step, s.
        time_s: f64,
        /// Length that was given up, s.
        step_s: f64,
        /// Store with the largest error, where that is known.
        store: Option<usize>,
        /// Fault of the last trial, if it did not get as far as an error estimate.
        fault: Option<Fault>,
    },
    /// The interval took more steps than allowed.
    #[error("more than {steps} steps between {from_s} s and {time_s} s")]
    TooManySteps {
        /// Start of the interval, s.
        from_s: f64,
        /// Where the march had got to, s.
        time_s: f64,
        /// Steps allowed in an interval.
        steps: u64,
    },
    /// The slices handed over do not fit the system.
    #[error("{found} values handed over for {expected} {what}")]
    Shape {
        /// What is counted: stores, flows or tolerances.
        what: &'static str,
        /// Count that the system has.
        expected: usize,
        /// Count that was handed over.
        found: usize,
    },
}

/// What an integrator has done, split by cause.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Stats {
    /// Steps accepted.
    pub steps: u64,
    /// Trial steps rejected because the error estimate was too large.
    pub rejected_by_error: u64,
    /// Trial steps rejected because flows were undefined or not finite.
    pub rejected_by_fault: u64,
    /// Trial steps made to locate a switch.
    pub locating_steps: u64,
    /// Looks inside a step to locate a switch.
    pub locating_looks: u64,
    /// Evaluations of the flows in all.
    pub flow_evaluations: u64,
    /// Evaluations of the partial derivatives.
    pub gradient_evaluations: u64,
    /// Factorisations.
    pub factorisations: u64,
    /// Switches located.
    pub switches: u64,
}

/// The integrator chosen at run time.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Method {
    /// Linearly implicit and error-controlled: fast for stiff networks.
    Default(Box<super::Rosenbrock<f64>>),
    /// Explicit with tight tolerances: slow, made to check the other.
    Reference(super::Reference),
}

impl Method {
    /// As [`super::Rosenbrock::set_glances`]; the reference tells all flows at any time.
    pub fn set_glances(&mut self, glances: bool) {
        if let Self::Default(method) = self {
            method.set_glances(glances);
        }
    }
}

impl Integrator<f64> for Method {
    fn advance_within<S: System<f64> + ?Sized>(
        &mut self,
        system: &mut S,
        part_s: [f64; 2],
        smooth_until_s: f64,
        state: &mut [f64],
        totals: &mut [f64],
    ) -> Result<Advance, OdeError> {
        match self {
            Self::Default(method) => {
                method.advance_within(system, part_s, smooth_until_s, state, totals)
            }
            Self::Reference(method) => {
                method.advance_within(system, part_s, smooth_until_s, state, totals)
            }
        }
    }

    fn stats(&self) -> Stats {
        match self {
            Self::Default(method) => method.stats(),
            Self::Reference(method) => method.stats(),
        }
    }
}

/// Refuses slices that do not fit a system.
pub(super) fn check_shape<R: Real, S: System<R> + ?Sized>(
    system: &S,
    state: &[R],
    totals: &[R],
) -> Result<(), OdeError> {
    for (what, expected, found) in [
        ("stores", system.capacities().len(), state.len()),
        ("flows", system.ends().len(), totals.len()),
    ] {
        if expected != found {
            return Err(OdeError::Shape {
                what,
                expected,
                found,
            });
        }
    }
    Ok(())
}

/// The first switching function at or above zero.
///
/// # Errors
/// [`Fault::NotFinite`] if any is NaN.
pub(super) fn fallen(time_s: f64, values: &[f64]) -> Result<Option<usize>, Fault> {
    if values.iter().any(|value| value.is_nan()) {
        return Err(Fault::NotFinite { time_s });
    }
    Ok(values.iter().position(|value| *value >= 0.0))
}

/// The switching function that is largest and its value; −∞ if there is none.
pub(super) fn foremost(values: &[f64]) -> (usize, f64) {
    let start = (0, f64::NEG_INFINITY);
    let values = values.iter().copied().enumerate();
    values.fold(
        start,
        |best, (at, value)| {
            if value > best.1 { (at, value) } else { best }
        },
    )
}
