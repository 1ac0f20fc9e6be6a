//! Psychrometrics: moist air as an ideal mixture of dry air and water vapour.
//!
//! Formulas of ASHRAE Handbook—Fundamentals 2017, chapter 1, per kg of dry air; enthalpy is zero
//! for dry air and for liquid water at 0 °C. Saturation is over ice at and below the triple point.

use crate::elementary::ln;
use crate::ode::Real;

/// Ratio of the molar masses of water and dry air (ASHRAE Fundamentals 2017 ch. 1 eq. 20).
pub const MOLAR_MASS_RATIO: f64 = 0.621_945;

/// Gas constant of dry air, J/kgK (ASHRAE Fundamentals 2017 ch. 1 eq. 1).
pub const DRY_AIR_GAS_CONSTANT_J_KGK: f64 = 287.042;

/// Latent heat of vaporisation at 0 °C, J/kg (same source, eq. 30).
pub const VAPORISATION_J_KG: f64 = 2.501e6;

/// Specific heat of dry air and of water vapour, J/kgK (same source, eq. 30).
pub const SPECIFIC_HEAT_J_KGK: [f64; 2] = [1006.0, 1860.0];

/// Temperature of 0 °C, K.
const ZERO_C_K: f64 = 273.15;

/// Triple point of water, K.
const TRIPLE_POINT_K: f64 = 273.16;

/// Saturation pressures below this are not sought, Pa: the dew point would be under −100 °C.
const LEAST_VAPOUR_PRESSURE_PA: f64 = 1.405_12e-3;

/// Logarithm of the saturation pressure and its slope, per K.
#[inline(always)]
fn log_saturation<R: Real>(temp_k: R) -> (R, R) {
    /// Hyland & Wexler 1983 over ice, 173.15 K to 273.15 K.
    const ICE: [f64; 7] = [
        -5.674_535_9e3,
        6.392_524_7,
        -9.677_843_0e-3,
        6.221_570_1e-7,
        2.074_782_5e-9,
        -9.484_024_0e-13,
        4.163_501_9,
    ];
    /// Hyland & Wexler 1983 over liquid water, 273.15 K to 473.15 K.
    const WATER: [f64; 7] = [
        -5.800_220_6e3,
        1.391_499_3,
        -4.864_023_9e-2,
        4.176_476_8e-5,
        -1.445_209_3e-8,
        0.0,
        6.545_967_3,
    ];
    let t = temp_k;
    let (inverse, log) = (R::splat(1.0) / t, t.ln());
    let of = |c: &[f64; 7]| {
        (
            inverse * c[0] + c[1] + (((t * c[5] + c[4]) * t + c[3]) * t + c[2]) * t + log * c[6],
            inverse * (inverse * -c[0] + c[6])
                + ((t * (4.0 * c[5]) + 3.0 * c[4]) * t + 2.0 * c[3]) * t
                + c[2],
        )
    };
    let (ice, ice_slope) = of(&ICE);
    let (water, water_slope) = of(&WATER);
    let above = t - TRIPLE_POINT_K;
    (
        above.where_positive(water, ice),
        above.where_positive(water_slope, ice_slope),
    )
}

/// Saturation pressure of water vapour, Pa, over ice at and below 0.01 °C and over water above.
///
/// Source: Hyland & Wexler 1983, as ASHRAE Fundamentals 2017 ch. 1 eq. 5 and 6; −100 °C to 200 °C.
#[inline(always)]
pub fn saturation_pressure_pa<R: Real>(temp_k: R) -> R {
    log_saturation(temp_k).0.exp()
}

/// Saturation pressure, Pa, and its slope, Pa/K.
#[inline(always)]
pub fn saturation_pressure_and_slope<R: Real>(temp_k: R) -> (R, R) {
    let (log, slope) = log_saturation(temp_k);
    let pressure = log.exp();
    (pressure, pressure * slope)
}

/// Humidity ratio, kg/kg, of air with a vapour pressure, Pa, below the air's own (eq. 20).
#[inline(always)]
pub fn humidity_ratio<R: Real>(vapour_pressure_pa: R, pressure_pa: R) -> R {
    vapour_pressure_pa * MOLAR_MASS_RATIO / (pressure_pa - vapour_pressure_pa)
}

/// Vapour pressure, Pa, of air with a humidity ratio, kg/kg: [`humidity_ratio`] solved for it.
#[inline(always)]
pub fn vapour_pressure_pa<R: Real>(humidity_ratio: R, pressure_pa: R) -> R {
    pressure_pa * humidity_ratio / (humidity_ratio + MOLAR_MASS_RATIO)
}

/// Humidity ratio of saturated air, kg/kg (eq. 21).
#[inline(always)]
pub fn saturation_humidity_ratio<R: Real>(temp_k: R, pressure_pa: R) -> R {
    humidity_ratio(saturation_pressure_pa(temp_k), pressure_pa)
}

/// Relative humidity, 0 to 1 and above when supersaturated (eq. 22).
#[inline(always)]
pub fn relative_humidity<R: Real>(temp_k: R, humidity_ratio: R, pressure_pa: R) -> R {
    vapour_pressure_pa(humidity_ratio, pressure_pa) / saturation_pressure_pa(temp_k)
}

/// Density of moist air, kg of the mixture per m³ (eq. 26 and 11).
#[inline(always)]
pub fn density_kg_m3<R: Real>(temp_k: R, humidity_ratio: R, pressure_pa: R) -> R {
    (humidity_ratio + 1.0) / specific_volume_m3_kg(temp_k, humidity_ratio, pressure_pa)
}

/// Volume of moist air, m³ per kg of dry air (eq. 26).
#[inline(always)]
pub fn specific_volume_m3_kg<R: Real>(temp_k: R, humidity_ratio: R, pressure_pa: R) -> R {
    temp_k * (humidity_ratio * 1.607_858 + 1.0) * DRY_AIR_GAS_CONSTANT_J_KGK / pressure_pa
}

/// Enthalpy, J per kg of dry air (eq. 30).
#[inline(always)]
pub fn enthalpy_j_kg<R: Real>(temp_k: R, humidity_ratio: R) -> R {
    let temp_c = temp_k - ZERO_C_K;
    temp_c * SPECIFIC_HEAT_J_KGK[0]
        + humidity_ratio * (temp_c * SPECIFIC_HEAT_J_KGK[1] + VAPORISATION_J_KG)
}

/// Specific heat of moist air, J per K and kg of **dry** air: the slope of [`enthalpy_j_kg`].
#[inline(always)]
pub fn specific_heat_j_kgk<R: Real>(humidity_ratio: R) -> R {
    humidity_ratio * SPECIFIC_HEAT_J_KGK[1] + SPECIFIC_HEAT_J_KGK[0]
}

/// Temperature, K, at which a vapour pressure, Pa, saturates: the dew point, or the frost point
/// below 0 °C. Dry air (below 0.0014 Pa) has none and gets −100 °C; NaN stays NaN.
///
/// Newton's method on the logarithm of [`saturation_pressure_pa`], to 10⁻¹⁰ K.
pub fn dew_point_k(vapour_pressure_pa: f64) -> f64 {
    if vapour_pressure_pa <= LEAST_VAPOUR_PRESSURE_PA {
        return ZERO_C_K - 100.0;
    }
    let target = ln(vapour_pressure_pa);
    // Magnus form over water as the start: Sonntag 1990 (from memory); any would do.
    let start = (target - ln(611.2_f64)).min(10.0);
    let mut temp_k = ZERO_C_K + 243.12 * start / (17.62 - start);
    for _ in 0..20 {
        let (log, slope) = log_saturation(temp_k);
        let step = (target - log) / slope;
        temp_k = (temp_k + step).clamp(150.0, 550.0);
        if step.abs() < 1e-10 {
            break;
        }
    }
    temp_k
}

/// Humidity ratio, kg/kg, of air at a dry bulb and thermodynamic wet bulb (eq. 33 over water, eq.
/// 35 over ice below 0 °C).
#[inline(always)]
pub fn humidity_ratio_of_wet_bulb(temp_k: f64, wet_bulb_k: f64, pressure_pa: f64) -> f64 {
    let (dry, wet) = (temp_k - ZERO_C_K, wet_bulb_k - ZERO_C_K);
    let saturated = saturation_humidity_ratio(wet_bulb_k, pressure_pa);
    let [latent, condensed_heat, latent_slope] = if wet >= 0.0 {
        [2501.0, 4.186, 2.326]
    } else {
        [2830.0, 2.1, 0.24]
    };
    ((latent - latent_slope * wet) * saturated - 1.006 * (dry - wet))
        / (latent + 1.86 * dry - condensed_heat * wet)
}

/// Thermodynamic wet bulb, K, of air at a dry bulb, K, humidity ratio, kg/kg, and pressure, Pa.
/// Supersaturated air has its dry bulb.
///
/// [`humidity_ratio_of_wet_bulb`] solved by bisection, to 10⁻¹⁰ K. Close to 0 °C both an ice and a
/// water bulb can satisfy it; the one found is the one that bisection meets.
pub fn wet_bulb_k(temp_k: f64, humidity_ratio: f64, pressure_pa: f64) -> f64 {
    let dew = dew_point_k(vapour_pressure_pa(humidity_ratio, pressure_pa));
    let (mut low, mut high) = (dew.min(temp_k), temp_k);
    while high - low > 1e-10 {
        let middle = 0.5 * (low + high);
        // Also ends where neighbouring numbers are farther apart than that.
        if middle <= low || middle >= high {
            break;
        }
        if humidity_ratio_of_wet_bulb(temp_k, middle, pressure_pa) > humidity_ratio {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    const P: f64 = 101_325.0;

    #[test]
    fn published_saturation_pressures_of_the_handbook_are_met() {
        // ASHRAE Fundamentals 2017 ch. 1 table 3 (from memory): 0.6112 kPa at 0 °C, 3.1693 kPa at
        // 25 °C, 12.3503 kPa at 50 °C, 0.1033 kPa at −20 °C.
        for (temp_c, kilopascal, rounding) in [
            (-20.0, 0.1033, 1e-4),
            (0.0, 0.6112, 1e-4),
            (25.0, 3.1693, 3e-4),
            (50.0, 12.3503, 3e-3),
        ] {
            let got = saturation_pressure_pa(temp_c + ZERO_C_K) / 1000.0;
            let error: f64 = got - kilopascal;
            assert!(error.abs() < rounding, "{got} at {temp_c}");
        }
    }

    #[test]
    fn the_slope_of_saturation_is_its_derivative() {
        for temp in [243.15, 268.0, 280.0, 300.0, 340.0] {
            let (_, slope) = saturation_pressure_and_slope(temp);
            let step = 1e-3;
            let numeric = (saturation_pressure_pa(temp + step)
                - saturation_pressure_pa(temp - step))
                / (2.0 * step);
            let ratio: f64 = slope / numeric;
            assert!((ratio - 1.0).abs() < 1e-7);
        }
    }

    #[test]
    fn dew_point_undoes_saturation_from_deep_frost_to_steam() {
        for temp_c in [-90.0, -40.0, -0.5, 0.5, 20.0, 60.0, 120.0] {
            let temp_k = temp_c + ZERO_C_K;
            let got = dew_point_k(saturation_pressure_pa(temp_k));
            assert!((got - temp_k).abs() < 1e-8, "{got} for {temp_k}");
        }
        assert!((dew_point_k(0.0) - 173.15).abs() < 1e-12);
        assert!((dew_point_k(-1.0) - 173.15).abs() < 1e-12);
        assert!(dew_point_k(f64::NAN).is_nan());
    }

    #[test]
    fn saturated_air_has_its_dry_bulb_as_dew_point_and_wet_bulb() {
        for temp in [260.0, 280.0, 310.0] {
            let saturated = saturation_humidity_ratio(temp, P);
            assert!((wet_bulb_k(temp, saturated, P) - temp).abs() < 1e-8);
            assert!((relative_humidity(temp, saturated, P) - 1.0).abs() < 1e-14);
            assert!((wet_bulb_k(temp, saturated * 1.1, P) - temp).abs() < 1e-8);
        }
    }

    #[test]
    fn humid_air_is_lighter_than_dry_air_and_holds_more_heat() {
        let dry: f64 = density_kg_m3(300.0, 0.0, P);
        assert!((dry - P / (287.042 * 300.0)).abs() < 1e-12);
        assert!(density_kg_m3(300.0, 0.02, P) < dry);
        let slope: f64 = enthalpy_j_kg(301.0, 0.01) - enthalpy_j_kg(300.0, 0.01);
        assert!((slope - specific_heat_j_kgk(0.01)).abs() < 1e-9);
        let back: f64 = humidity_ratio(vapour_pressure_pa(0.013, P), P);
        assert!((back - 0.013).abs() < 1e-16);
    }
}
