//! Dew points as they are recorded and as the program keeps them.
//!
//! Weather services record dew point and relative humidity against water, below freezing too
//! (WMO 2018, Guide to Instruments and Methods of Observation, chapter 4, from memory). Inside
//! the program what saturates below freezing is ice, so that a recorded dew point becomes the
//! frost point of the same vapour pressure: −8.9 °C for −10 °C.

use crate::elementary::{exp, ln};
use crate::physics::moist_air;
use crate::units::{ZERO_CELSIUS_K, celsius, kelvin};

/// Magnus form over water, supercooled below freezing: Sonntag 1990, Zeitschrift für
/// Meteorologie 70, 340 (from memory).
const AT_ZERO_PA: f64 = 611.2;
const SLOPE: f64 = 17.62;
const OFFSET_C: f64 = 243.12;

/// Saturation pressure over water at any temperature, Pa.
pub(super) fn over_water_pa(temp_k: f64) -> f64 {
    if temp_k >= ZERO_CELSIUS_K {
        return moist_air::saturation_pressure_pa(temp_k);
    }
    let temp_c = celsius(temp_k);
    AT_ZERO_PA * exp(SLOPE * temp_c / (OFFSET_C + temp_c))
}

/// The dew or frost point that a recorded dew point stands for, K.
pub(super) fn kept_k(recorded_k: f64) -> f64 {
    if recorded_k >= ZERO_CELSIUS_K || recorded_k.is_nan() {
        return recorded_k;
    }
    moist_air::dew_point_k(over_water_pa(recorded_k))
}

/// The dew point over water that a dew or frost point is recorded as, K.
pub(super) fn recorded_k(kept_k: f64) -> f64 {
    if kept_k >= ZERO_CELSIUS_K || kept_k.is_nan() {
        return kept_k;
    }
    let exponent = ln(moist_air::saturation_pressure_pa(kept_k) / AT_ZERO_PA);
    kelvin(OFFSET_C * exponent / (SLOPE - exponent))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_recorded_dew_point_comes_back() {
        for recorded_c in [-40.0, -10.0, -0.5, 0.0, 12.0] {
            let there = kept_k(kelvin(recorded_c));
            assert!(
                (celsius(recorded_k(there)) - recorded_c).abs() < 0.01,
                "{recorded_c}"
            );
        }
    }

    /// Dew point −10 °C, frost point −8.9 °C: from memory, to its digits.
    #[test]
    fn the_frost_point_is_above_the_dew_point() {
        assert!((celsius(kept_k(kelvin(-10.0))) + 8.9).abs() < 0.06);
        assert!(celsius(kept_k(kelvin(-0.2))) < 0.0);
    }
}
