//! Heat, air and radiation under a hot roof.
//!
//! `rafterheat` computes what small fans, more inlet area, a radiant barrier, insulation, a
//! lighter roof or night air really do to an attic and to the rooms below it.
//!
//! Data flows one way, and each module names only the modules before it:
//! text with units → validated house → assembled network → run → results → presentation.

pub mod assess;
pub mod catalog;
#[cfg(feature = "cli")]
pub mod cli;
mod elementary;
pub mod equipment;
pub mod house;
pub mod network;
pub mod ode;
pub mod physics;
pub mod readings;
pub mod report;
pub mod run;
pub mod study;
pub mod sun;
pub mod units;
pub mod weather;
