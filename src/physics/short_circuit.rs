//! Air that a fan takes straight from a vent beside it, so that it never sweeps the space.
//!
//! A fan draws air towards itself from all around; air that falls in through a vent is heavier than
//! the space's air and drops out of its reach unless the vent is close. How close follows from the
//! scale at which a sink of flow `V̇` still holds a layer of reduced gravity `g′` against its
//! weight, `0.69 (V̇²/g′)^(1/5)` (selective withdrawal: Lubin & Springer 1967, from memory). That the
//! share caught falls evenly from all at no distance to nothing at that reach is derived here and
//! was not measured. No published model of the case was found.

use super::airflow::GRAVITY_M_S2;
use crate::ode::Real;

/// Constant of the reach.
const REACH: f64 = 0.69;

/// Least reduced gravity, m/s²: that of 0.3 K, below which air drifts anyhow.
const LEAST_REDUCED_GRAVITY_M_S2: f64 = 0.01;

/// Distance up to which a fan catches air that falls in from outdoors, m.
#[inline(always)]
pub fn reach_m<R: Real>(flow_m3_s: R, inside_k: R, outdoor_k: R) -> R {
    let gravity = (inside_k - outdoor_k).abs() / inside_k * GRAVITY_M_S2;
    let gravity = gravity.max(R::splat(LEAST_REDUCED_GRAVITY_M_S2));
    (flow_m3_s * flow_m3_s / gravity + 1e-15).powf(0.2) * REACH
}

/// Share of a vent's inflow that a fan at a distance catches.
#[inline(always)]
pub fn caught_share<R: Real>(distance_m: f64, reach_m: R) -> R {
    (R::splat(1.0) - R::splat(distance_m) / reach_m).max(R::splat(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::power;

    #[test]
    fn a_strong_fan_reaches_far_and_heavy_air_is_hard_to_hold() {
        // 1 m³/s against air 15 K colder than 315 K: 0.69 (1/0.467)^0.2.
        let reach: f64 = reach_m(1.0, 315.0, 300.0);
        assert!((reach - 0.69 * power(1.0 / 0.466_98_f64, 0.2)).abs() < 1e-4);
        assert!(reach_m(0.03, 315.0, 300.0) < 0.3 * reach);
        assert!(reach_m(1.0, 340.0, 300.0) < reach);
    }

    #[test]
    fn nothing_is_caught_from_afar_and_all_at_the_fan() {
        assert!(caught_share(2.0, 0.8) == 0.0 && caught_share(1e-9, 0.8) > 0.999);
        assert!((caught_share(0.4, 0.8_f64) - 0.5).abs() < 1e-12);
    }
}
