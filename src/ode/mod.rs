//! Continuous-time solvers for networks of stores and flows; no physics.

mod balance;
mod elementary;
mod integrator;
mod lu;
#[doc(hidden)]
pub mod problems;
mod real;
mod reference;
mod rosenbrock;
mod stages;
mod system;

pub use integrator::{Advance, Integrator, Method, OdeError, Stats};
pub use real::{Real, smoothstep};
pub use reference::Reference;
pub use rosenbrock::Rosenbrock;
pub use system::{Ends, Fault, System};
