//! Continuous-time solvers for networks of stores and flows; no physics.

mod real;
mod system;

pub use real::{Real, smoothstep};
pub use system::{Ends, Fault, System};
