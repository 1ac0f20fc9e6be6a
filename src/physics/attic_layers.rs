//! Attic air in two layers: what moves heat and air between them.
//!
//! That attic air is layered, and more so below surfaces of low emittance, was measured by Parker,
//! Fairey & Gu 1991 (abstract seen). No published lumped model of it was found; the one here is
//! derived from three published parts: the boundary layer on a heated slope (profiles of Squire
//! and Eckert, from memory), the entraining plume (Morton, Taylor & Turner 1956, from memory) and
//! stratified boxes with distributed sources (Linden, Lane-Serff & Smeed 1990).
//!
//! Air that warms along the lower half of a hot slope rises beside it and lets go into the upper
//! layer, until that layer is warmer than the rising air; cold air that falls in from a high inlet
//! drags upper air down with it; a stable interface hardly mixes and an unstable one at once.

use super::airflow::GRAVITY_M_S2;
use crate::ode::{Real, smoothstep};

/// Mean excess of a natural boundary layer's air over the still air, as a share of the surface's
/// excess, weighted by speed: `∫η(1−η)⁴ dη / ∫η(1−η)² dη = (1/30)/(1/12)` for Squire's profiles.
pub const BOUNDARY_LAYER_EXCESS: f64 = 0.4;

/// Width of the temperature band over which the rising air lets go, K (smooths a switch).
const DETRAIN_BAND_K: f64 = 0.5;

/// Exchange of a stable interface, W/(m² K): conduction and weak stirring (judgement).
const STABLE_W_M2K: f64 = 0.1;

/// Exchange of an unstable interface, W/(m² K): anything large (judgement).
const UNSTABLE_W_M2K: f64 = 20.0;

/// Width of the band in which an interface turns from stable to unstable, K.
const TURNOVER_BAND_K: f64 = 0.3;

/// What rises along the lower half of one slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rise<R> {
    /// Share of the lower half's convective heat that reaches the upper layer.
    pub share: R,
    /// Derivative of the share by the surface temperature, 1/K.
    pub by_surface: R,
    /// By the lower layer's temperature, 1/K.
    pub by_lower: R,
    /// By the upper layer's temperature, 1/K.
    pub by_upper: R,
}

/// Share of the slope flow that reaches the upper layer.
///
/// `f = smoothstep[(T_l + β(T_s − T_l) − T_u)/0.5 K + ½]` where the surface is warmer than the
/// lower layer, fading to 0 where it is not: rising air leaves the slope where it is no longer
/// warmer than what is around it.
#[inline(always)]
pub fn rise<R: Real>(surface_k: R, lower_k: R, upper_k: R) -> Rise<R> {
    let beta = BOUNDARY_LAYER_EXCESS;
    let x = (lower_k + (surface_k - lower_k) * beta - upper_k) / DETRAIN_BAND_K + 0.5;
    let warm = (surface_k - lower_k) / DETRAIN_BAND_K;
    let (lift, lift_slope) = smoothstep_with_slope(x);
    let (gate, gate_slope) = smoothstep_with_slope(warm);
    let by_x = lift_slope * gate / DETRAIN_BAND_K;
    let by_warm = lift * gate_slope / DETRAIN_BAND_K;
    Rise {
        share: lift * gate,
        by_surface: by_x * beta + by_warm,
        by_lower: by_x * (1.0 - beta) - by_warm,
        by_upper: R::splat(0.0) - by_x,
    }
}

/// Mass flow that rises along a slope, kg/s: `f h A / (β c_p)`.
#[inline(always)]
pub fn rising_kg_s<R: Real>(share: R, film_w_k: R, specific_heat_j_kgk: R) -> R {
    share * film_w_k / (specific_heat_j_kgk * BOUNDARY_LAYER_EXCESS)
}

/// Upper air that falls with a cold inflow from a height above the interface, kg/s.
///
/// Plume from a virtual origin: `V̇(d) = 0.15 B^(1/3) (d + z0)^(5/3)` with buoyancy flux
/// `B = g V̇ ΔT/T` and `z0 = (V̇/0.15 B^(1/3))^(3/5)` so that `V̇(0)` is the inflow.
#[inline(always)]
pub fn entrained_kg_s<R: Real>(
    inflow_kg_s: R,
    density_kg_m3: R,
    height_above_interface_m: f64,
    upper_k: R,
    inflow_k: R,
) -> R {
    const PLUME: f64 = 0.15;
    let zero = R::splat(0.0);
    if height_above_interface_m <= 0.0 {
        return zero;
    }
    let volume = (inflow_kg_s / density_kg_m3).max(R::splat(1e-9));
    let colder = (upper_k - inflow_k).max(R::splat(1e-3));
    let strength = (volume * colder / upper_k * GRAVITY_M_S2).cbrt() * PLUME;
    let origin = (volume / strength).powf(0.6);
    let reach = origin + height_above_interface_m;
    let cube_root = reach.cbrt();
    let carried = strength * reach * cube_root * cube_root - volume;
    let fading = smoothstep((upper_k - inflow_k) / DETRAIN_BAND_K);
    carried.max(zero) * density_kg_m3 * fading
}

/// Exchange of the interface, W/K, and its derivative by the lower layer's excess, W/K².
#[inline(always)]
pub fn interface_w_k<R: Real>(area_m2: R, lower_k: R, upper_k: R) -> (R, R) {
    let (turn, slope) = smoothstep_with_slope((lower_k - upper_k) / TURNOVER_BAND_K);
    (
        area_m2 * (turn * UNSTABLE_W_M2K + STABLE_W_M2K),
        area_m2 * slope * (UNSTABLE_W_M2K / TURNOVER_BAND_K),
    )
}

#[inline(always)]
fn smoothstep_with_slope<R: Real>(x: R) -> (R, R) {
    let x = x.max(R::splat(0.0)).min(R::splat(1.0));
    (smoothstep(x), x * (R::splat(1.0) - x) * 6.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_profile_weights_give_the_stated_excess() {
        // ∫η(1−η)⁴ = B(2,5) = 1/30 and ∫η(1−η)² = B(2,3) = 1/12.
        assert!((BOUNDARY_LAYER_EXCESS - (1.0 / 30.0) / (1.0 / 12.0)).abs() < 1e-15);
    }

    #[test]
    fn slope_air_rises_only_from_a_warm_slope_and_only_until_the_top_is_warmer() {
        assert!((rise(330.0, 310.0, 312.0).share - 1.0).abs() < 1e-12);
        assert!(rise(330.0, 310.0, 319.0).share < 1e-12);
        assert!(rise(309.0, 310.0, 305.0).share < 1e-12);
    }

    #[test]
    fn the_derivatives_of_the_rise_are_those_of_the_rise() {
        let at = |s: f64, l: f64, u: f64| rise(s, l, u).share;
        for (s, l, u) in [
            (330.0, 310.0, 318.1),
            (310.3, 310.0, 310.2),
            (325.0, 312.0, 317.15),
        ] {
            let r = rise(s, l, u);
            let d = 1e-5;
            let numeric = [
                (at(s + d, l, u) - at(s - d, l, u)) / (2.0 * d),
                (at(s, l + d, u) - at(s, l - d, u)) / (2.0 * d),
                (at(s, l, u + d) - at(s, l, u - d)) / (2.0 * d),
            ];
            for (n, a) in numeric.iter().zip([r.by_surface, r.by_lower, r.by_upper]) {
                assert!((n - a).abs() < 1e-3 * a.abs().max(1e-3), "{n} {a}");
            }
        }
    }

    #[test]
    fn a_plume_that_falls_farther_drags_more_and_none_when_it_is_not_colder() {
        let drag = |d, inflow| entrained_kg_s(0.1, 1.1, d, 325.0, inflow);
        assert!(drag(1.0, 305.0) > drag(0.5, 305.0));
        assert!(drag(0.5, 305.0) > 0.0);
        assert!(drag(0.0, 305.0) == 0.0 && drag(1.0, 326.0) == 0.0);
    }

    #[test]
    fn an_unstable_interface_mixes_at_once_and_a_stable_one_hardly() {
        assert!((interface_w_k(50.0, 310.0, 314.0).0 - 5.0).abs() < 1e-9);
        assert!((interface_w_k(50.0, 311.0, 310.0).0 - 1005.0).abs() < 1e-9);
    }
}
