//! What a cloudless sky gives.

use std::f64::consts::FRAC_PI_2;

use crate::elementary::{cos, exp};

/// Irradiance under a cloudless sky, W/m².
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ClearSky {
    /// On the horizontal.
    pub global_w_m2: f64,
    /// On a plane facing the sun.
    pub direct_normal_w_m2: f64,
    /// From the sky on the horizontal.
    pub diffuse_w_m2: f64,
}

/// Global irradiance on the horizontal under a cloudless sky by the sun's height alone, W/m².
///
/// Source: Haurwitz 1945, Journal of Meteorology 2, fitted at Blue Hill, Massachusetts.
pub fn haurwitz_global_w_m2(apparent_zenith_rad: f64) -> f64 {
    let cos_zenith = cos(apparent_zenith_rad);
    if cos_zenith > 0.0 {
        1_098.0 * cos_zenith * exp(-0.059 / cos_zenith)
    } else {
        0.0
    }
}

/// Irradiance under a cloudless sky of a given turbidity.
///
/// * `apparent_zenith_rad`: with refraction
/// * `absolute_air_mass`: corrected for pressure
/// * `linke_turbidity`: about 2 for very clear and cold, 3 clear, 4–5 humid or hazy summer air
///   (common practice, no source)
///
/// Source: Ineichen & Perez 2002, Solar Energy 73(3), with the limit of the direct part of the same
/// paper; without the later enhancement for very large air masses.
pub fn ineichen(
    apparent_zenith_rad: f64,
    absolute_air_mass: f64,
    linke_turbidity: f64,
    altitude_m: f64,
    extraterrestrial_w_m2: f64,
) -> ClearSky {
    let cos_zenith = cos(apparent_zenith_rad);
    if apparent_zenith_rad >= FRAC_PI_2 || cos_zenith <= 0.0 || !absolute_air_mass.is_finite() {
        return ClearSky::default();
    }
    let fh1 = exp(-altitude_m / 8_000.0);
    let fh2 = exp(-altitude_m / 1_250.0);
    let cg1 = 5.09e-5 * altitude_m + 0.868;
    let cg2 = 3.92e-5 * altitude_m + 0.038_7;
    let turbid = linke_turbidity - 1.0;
    let global = cg1
        * extraterrestrial_w_m2
        * cos_zenith
        * exp(-cg2 * absolute_air_mass * (fh1 + fh2 * turbid));
    let beam = extraterrestrial_w_m2
        * ((0.664 + 0.163 / fh1) * exp(-0.09 * absolute_air_mass * turbid)).max(0.0);
    let least_diffuse = (0.1 - 0.2 * exp(-linke_turbidity)) / (0.1 + 0.882 / fh1);
    let limit = global * ((1.0 - least_diffuse) / cos_zenith).max(0.0);
    let direct_normal = beam.min(limit);
    ClearSky {
        global_w_m2: global,
        direct_normal_w_m2: direct_normal,
        diffuse_w_m2: global - direct_normal * cos_zenith,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_shines_with_the_sun_below_the_horizon() {
        for zenith in [FRAC_PI_2, 1.6, 2.5, std::f64::consts::PI] {
            assert_eq!(
                ineichen(zenith, 38.0, 3.0, 0.0, 1_361.0),
                ClearSky::default()
            );
            assert!(haurwitz_global_w_m2(zenith) < 1e-9);
        }
    }
}
