//! How glass takes light that falls on it at an angle.

use crate::elementary::exp;

/// Refractive index of glass; Duffie & Beckman, section 5.1 (from memory).
const GLASS_INDEX: f64 = 1.526;
/// Extinction of clear glass, 1/m; De Soto, Klein & Beckman 2006.
const EXTINCTION_PER_M: f64 = 4.0;
/// Thickness of the cover, m; De Soto, Klein & Beckman 2006.
const THICKNESS_M: f64 = 0.002;

/// Share of direct light that passes glass at an angle, relative to normal incidence:
/// `1 − b0 (1/cos θ − 1)`, 0 where that is negative.
///
/// Source: Souka & Safwat 1966, as used in ASHRAE standard 93; `b0` is about 0.05 for one cover
/// and 0.1 for two (from memory).
pub fn ashrae_incidence_modifier(cos_incidence: f64, b0: f64) -> f64 {
    if cos_incidence <= 0.0 {
        return 0.0;
    }
    (1.0 - b0 * (1.0 / cos_incidence - 1.0)).clamp(0.0, 1.0)
}

/// Share of direct light that passes one pane at an angle, relative to normal incidence, by
/// Snell's, Fresnel's and Bouguer's laws.
///
/// Source: De Soto, Klein & Beckman 2006, Solar Energy 80, equations 6 to 8.
pub fn physical_incidence_modifier(cos_incidence: f64) -> f64 {
    if cos_incidence <= 0.0 {
        return 0.0;
    }
    let cos_in = cos_incidence.min(1.0);
    let sin_in = (1.0 - cos_in * cos_in).max(0.0).sqrt();
    let cos_out = (1.0 - (sin_in / GLASS_INDEX).powi(2)).sqrt();
    let across = ((cos_in - GLASS_INDEX * cos_out) / (cos_in + GLASS_INDEX * cos_out)).powi(2);
    let along = ((cos_out - GLASS_INDEX * cos_in) / (cos_out + GLASS_INDEX * cos_in)).powi(2);
    let depth = EXTINCTION_PER_M * THICKNESS_M;
    let passed = (1.0 - f64::midpoint(across, along)) * exp(-depth / cos_out);
    let straight = (1.0 - ((GLASS_INDEX - 1.0) / (GLASS_INDEX + 1.0)).powi(2)) * exp(-depth);
    passed / straight
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_passes_straight_on_and_nothing_from_behind() {
        assert!((physical_incidence_modifier(1.0) - 1.0).abs() < 1e-12);
        assert!((ashrae_incidence_modifier(1.0, 0.05) - 1.0).abs() < 1e-12);
        for cos_incidence in [0.0, -0.5] {
            assert!(physical_incidence_modifier(cos_incidence).abs() < 1e-12);
            assert!(ashrae_incidence_modifier(cos_incidence, 0.05).abs() < 1e-12);
        }
    }
}
