//! One file a mechanism: formulas with their sources, `f64` in and `f64` out.

pub mod air_space;
pub mod airflow;
pub mod attic_layers;
pub mod conduction;
pub mod convection;
pub mod ground;
pub mod insulation;
pub mod lumping;
pub mod moist_air;
pub mod pressure_network;
pub mod radiation;
pub mod short_circuit;
pub mod view_factors;
