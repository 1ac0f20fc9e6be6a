//! Dew point, vapour pressure and humidity ratio.
//!
//! Source: Sonntag 1990, Zeitschrift für Meteorologie 70, 340: the Magnus form over water
//! (coefficients from memory). Valid from −45 to 60 °C.

use crate::units::{celsius, kelvin};

const AT_ZERO_PA: f64 = 611.2;
const SLOPE: f64 = 17.62;
const OFFSET_C: f64 = 243.12;
/// Molar mass of water over that of dry air: ASHRAE Handbook of Fundamentals (2017), chapter 1.
const MASS_RATIO: f64 = 0.621_945;

/// Saturation pressure of water vapour over water, Pa.
pub(super) fn saturation_pa(temp_k: f64) -> f64 {
    let temp_c = celsius(temp_k);
    AT_ZERO_PA * (SLOPE * temp_c / (OFFSET_C + temp_c)).exp()
}

/// Dew point of a vapour pressure, K.
pub(super) fn dew_point_k(vapour_pa: f64) -> f64 {
    let exponent = (vapour_pa / AT_ZERO_PA).ln();
    kelvin(OFFSET_C * exponent / (SLOPE - exponent))
}

/// Humidity ratio of a dew point at a pressure, kg/kg.
pub(super) fn humidity_ratio(dew_point_k: f64, pressure_pa: f64) -> f64 {
    let vapour_pa = saturation_pa(dew_point_k);
    MASS_RATIO * vapour_pa / (pressure_pa - vapour_pa)
}
