//! Global irradiance split into its direct and diffuse parts.

use std::f64::consts::FRAC_PI_2;

use crate::elementary::cos;

/// Smallest cosine of the zenith angle used for the clearness index.
const MIN_COS_ZENITH: f64 = 0.065;
/// Zenith angle beyond which everything is taken as diffuse, degrees.
const MAX_ZENITH_DEG: f64 = 87.0;

/// Direct and diffuse parts of a global irradiance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// On a plane facing the sun, W/m².
    pub direct_normal_w_m2: f64,
    /// From the sky on the horizontal, W/m².
    pub diffuse_w_m2: f64,
    /// Global over extraterrestrial irradiance on the horizontal, 0 to 1.
    pub clearness: f64,
}

/// Splits global horizontal irradiance by the clearness index.
///
/// The parts always add up: `global = direct cos z + diffuse`. With the sun lower than 3° all is
/// diffuse, since there a small error of the angle makes any direct irradiance. Made for hourly
/// means; a global irradiance at or below zero gives zero direct.
///
/// Source: Erbs, Klein & Duffie 1982, Solar Energy 28(4), equation 1.
pub fn erbs(global_w_m2: f64, zenith_rad: f64, extraterrestrial_w_m2: f64) -> Split {
    let cos_zenith = cos(zenith_rad);
    let outside = extraterrestrial_w_m2 * cos_zenith.max(MIN_COS_ZENITH);
    let kt = (global_w_m2 / outside).clamp(0.0, 1.0);
    let diffuse_share = if kt <= 0.22 {
        1.0 - 0.09 * kt
    } else if kt <= 0.8 {
        0.9511 - 0.1604 * kt + 4.388 * kt.powi(2) - 16.638 * kt.powi(3) + 12.336 * kt.powi(4)
    } else {
        0.165
    };
    let diffuse = diffuse_share * global_w_m2;
    let direct_normal = (global_w_m2 - diffuse) / cos_zenith;
    let low = zenith_rad.to_degrees() > MAX_ZENITH_DEG || zenith_rad >= FRAC_PI_2;
    if low || global_w_m2 < 0.0 || direct_normal < 0.0 {
        return Split {
            direct_normal_w_m2: 0.0,
            diffuse_w_m2: global_w_m2,
            clearness: kt,
        };
    }
    Split {
        direct_normal_w_m2: direct_normal,
        diffuse_w_m2: diffuse,
        clearness: kt,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_parts_add_up(
            global in 0.0..1_400.0f64, zenith in 0.0..std::f64::consts::PI, outside in 1_320.0..1_415.0f64,
        ) {
            let split = erbs(global, zenith, outside);
            let sum = split.direct_normal_w_m2 * cos(zenith) + split.diffuse_w_m2;
            prop_assert!((sum - global).abs() < 1e-9);
            prop_assert!(split.direct_normal_w_m2 >= 0.0 && split.diffuse_w_m2 >= 0.0);
            if zenith >= FRAC_PI_2 {
                prop_assert!(split.direct_normal_w_m2 == 0.0);
            }
        }
    }
}
