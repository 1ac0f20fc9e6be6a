//! Constants, and quantities as people write and read them.
//!
//! Inside the program everything is SI. [`parse`] brings text such as `"R-19"`, `"75 cfm"` or
//! `"4:12"` to SI, never guessing a unit that is not there; [`show`] goes the other way.

mod accepted;
mod dimension;
mod error;
mod forms;
mod number;
mod parse;
pub mod show;
mod symbols;
mod unit;

pub use dimension::Dimension;
pub use error::{QuantityError, Reason};
pub use parse::parse;
pub use show::System;

/// Stefan–Boltzmann constant, W/(m² K⁴). Source: CODATA 2018 (exact since the SI of 2019).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Standard acceleration of gravity, m/s². Source: 3rd CGPM, 1901 (exact by definition).
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// Molar gas constant, J/(mol K). Source: CODATA 2018 (exact since the SI of 2019).
pub const GAS_CONSTANT: f64 = 8.314_462_618;

/// The ice point, K: `temp_k = temp_c + ZERO_CELSIUS_K` (exact by definition of the degree).
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Standard atmosphere, Pa. Source: 10th CGPM, 1954 (exact by definition).
pub const STANDARD_PRESSURE_PA: f64 = 101_325.0;

/// Degrees Celsius to kelvin.
pub fn kelvin(temp_c: f64) -> f64 {
    temp_c + ZERO_CELSIUS_K
}

/// Kelvin to degrees Celsius.
pub fn celsius(temp_k: f64) -> f64 {
    temp_k - ZERO_CELSIUS_K
}
