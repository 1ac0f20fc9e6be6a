//! Continuous-time solvers for networks of stores and flows; no physics.

mod balance;
mod columns;
mod formula;
mod integrator;
mod lanes;
mod lu;
#[doc(hidden)]
pub mod problems;
mod real;
mod reference;
mod rosenbrock;
mod stages;
mod step_control;
mod system;

pub use integrator::{Advance, Integrator, Method, OdeError, Stats};
pub use lanes::Lanes;
pub use real::{Mask, Real, Work, smoothstep};
pub use reference::Reference;
pub use rosenbrock::Rosenbrock;
pub(crate) use rosenbrock::{at_once, tried};
pub(crate) use stages::{Attempt, HandOut, Judgement, Stages, Start};
pub(crate) use step_control::{At, Control, Desk, Past, Trial, Tried};
pub use system::{Ends, Fault, System};
