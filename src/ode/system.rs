//! What a solver sees: stores joined by flows.

use super::Real;
use super::real::Mask as _;

/// The two stores a flow joins; `None` is the surroundings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ends {
    /// Store that the flow leaves when it is positive.
    pub from: Option<usize>,
    /// Store that the flow enters when it is positive.
    pub to: Option<usize>,
}

/// Stores joined by flows: `C_i dy_i/dt = Σ flows into i − Σ flows out of i`.
///
/// What leaves one store enters another or the surroundings, so conservation is a property of the
/// form, and the time integral of each flow closes the balance of each store.
pub trait System<R: Real> {
    /// Capacity of each store, unit of the flow × s per unit of the state; all above zero.
    fn capacities(&self) -> &[R];

    /// The ends of each flow.
    fn ends(&self) -> &[Ends];

    /// Which state each partial derivative is for: pairs of (flow, store), ordered by flow.
    fn gradient_pattern(&self) -> &[(usize, usize)];

    /// Flows at a time and state, lane by lane. Time is inside an interval in which the forcing is smooth; the
    /// system knows which (see [`Self::switches`] for what ends one early).
    ///
    /// # Errors
    /// Anything that makes the flows undefined, such as an air-flow balance that does not close.
    fn flows(&mut self, time_s: R, state: &[R], flows: &mut [R]) -> Result<(), Fault>;

    /// Partial derivatives of the flows, in the order of [`Self::gradient_pattern`], at the time
    /// and state of the last call of [`Self::flows`]. They may be approximate: the solver keeps
    /// its order for any values.
    fn gradients(&mut self, time_s: R, state: &[R], values: &mut [R]);

    /// Brings flows that were found at a time and a state just before, by the last call of
    /// [`Self::flows`], over what has changed since of that which drives them, where it can tell so
    /// without evaluating them all; returns the lanes, of those attended to, in which they are those of
    /// now. In the others they must be evaluated.
    fn bring_over(&mut self, _time_s: R, _flows: &mut [R]) -> R::Mask {
        R::Mask::NONE
    }

    /// Whether stores may come to drive one another on, rather than hold one another back, while flows
    /// turn over within a step. A long implicit step would pass that by without a sign.
    fn may_run_away(&self) -> bool {
        false
    }

    /// How many switching functions there are.
    fn switch_count(&self) -> usize {
        0
    }

    /// The stores that switching functions look at.
    fn watched(&self) -> Vec<usize> {
        (0..self.capacities().len()).collect()
    }

    /// The flows that are told inside a step where the others may wait for its end.
    fn told(&self) -> Vec<usize> {
        (0..self.ends().len()).collect()
    }

    /// Switching functions: each is below zero until its switch falls, and the solver stops at the
    /// instant at which one reaches zero.
    fn switches(&self, _time_s: f64, _state: &[R], _values: &mut [R]) {}

    /// Says which lanes the next evaluations are for: what the system remembers of the others must
    /// not change.
    fn attend(&mut self, _lanes: R::Mask) {}

    /// Why the flows of a lane that was attended to are not finite, where the others' are; a system
    /// of one lane gives an error instead.
    fn fault(&self, _lane: usize, _time_s: f64) -> Option<Fault> {
        None
    }
}

/// Why flows could not be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Fault {
    /// An inner iteration did not converge.
    #[error("{what} did not converge at {time_s} s: residual {residual:e}")]
    NoConvergence {
        /// The balance that was being solved.
        what: &'static str,
        /// Time, s.
        time_s: f64,
        /// What was left over, in the unit of the balance.
        residual: f64,
    },
    /// A state or a flow is not a finite number.
    #[error("a state is not a finite number at {time_s} s")]
    NotFinite {
        /// Time, s.
        time_s: f64,
    },
}
