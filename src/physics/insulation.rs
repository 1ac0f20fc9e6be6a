//! Insulation that conducts more when it is warmer.
//!
//! Radiation between fibres or cell walls and the conductivity of the air between them both grow
//! with temperature, so that what passes an insulation rises by 0.3 to 0.7 % for each kelvin of its
//! mean temperature. Its label holds at 24 °C (75 °F): ASTM C518 and 16 CFR 460, from memory.
//!
//! With a conductivity that is linear in temperature, `λ = λ₂₄ (1 + β (T − 24 °C))`, as guarded hot
//! plates find it from 280 to 340 K (Zarr, Heckert & Leigh 2014, J. Res. NIST 119:296, abstract
//! seen), Kirchhoff's transform makes the steady flow between two places exact:
//! `G (1 + β ((Tₐ + T_b)/2 − 24 °C)) (Tₐ − T_b)`.
//!
//! Range: −80 °C and up. Below, the conductivity stays as it is there, above zero, so that no trial
//! step of a solver can turn heat back.

use super::conduction::Layer;
use crate::ode::Real;

/// Mean temperature at which insulation is labelled, K: 75 °F.
pub const LABEL_TEMP_K: f64 = 297.04;

/// Most that a conductivity may grow by, share of that at the label's temperature, 1/K.
pub const MOST_GROWTH_PER_K: f64 = 0.008;

/// Below this a conductivity stays what it is here, K; with the most growth 17 % of the label's.
const COLDEST_K: f64 = 193.15;

/// Growth that is taken for none, 1/K: what rounding leaves where no insulation is.
const LEAST_GROWTH_PER_K: f64 = 1e-6;

/// Conductance through insulation as a straight line of the temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Insulating<R> {
    /// Where the line meets absolute zero, W/K; usually negative.
    at_zero_w_k: R,
    /// Half of its slope, W/K².
    half_slope_w_k2: R,
}

impl<R: Real> Insulating<R> {
    /// Through a conductance at the label's temperature, W/K, that grows by a share per kelvin, from
    /// 0 to [`MOST_GROWTH_PER_K`].
    pub fn new(label_w_k: R, growth_per_k: R) -> Self {
        Self {
            at_zero_w_k: label_w_k * (R::splat(1.0) - growth_per_k * LABEL_TEMP_K),
            half_slope_w_k2: label_w_k * growth_per_k * 0.5,
        }
    }

    /// Steady flow from one temperature to another, K, in W.
    #[inline(always)]
    pub fn flow_w(&self, from_k: R, to_k: R) -> R {
        let coldest = R::splat(COLDEST_K);
        let (from, to) = (from_k.max(coldest), to_k.max(coldest));
        let colder = (from_k - from) - (to_k - to);
        let squares = (from + to) * (from - to) + colder * (2.0 * COLDEST_K);
        self.at_zero_w_k * (from_k - to_k) + self.half_slope_w_k2 * squares
    }

    /// Derivatives of the flow by both temperatures, W/K.
    #[inline(always)]
    pub fn slopes_w_k(&self, from_k: R, to_k: R) -> [R; 2] {
        let conductance = |temp_k: R| {
            self.at_zero_w_k + self.half_slope_w_k2 * temp_k.max(R::splat(COLDEST_K)) * 2.0
        };
        [conductance(from_k), -conductance(to_k)]
    }
}

impl<R: Copy> Insulating<R> {
    /// The same with every number changed.
    pub fn map<Q>(self, mut f: impl FnMut(R) -> Q) -> Insulating<Q> {
        Insulating {
            at_zero_w_k: f(self.at_zero_w_k),
            half_slope_w_k2: f(self.half_slope_w_k2),
        }
    }
}

/// How much each section of a resistance grows in conductance, share of that at the label's
/// temperature, 1/K: the growths of the layers it runs through, by the resistance of each in it.
///
/// Sections are laid along the layers from the first on, m²K/W. For a section of several layers
/// this is exact to the first order of the growth, where they are about equally warm.
pub fn growths_per_k(layers: &[Layer], sections_m2k_w: &[f64]) -> Vec<f64> {
    let mut start = 0.0;
    sections_m2k_w
        .iter()
        .map(|section| {
            let from = start;
            start += section;
            let growth = growth_between(layers, from, start) / section;
            if growth > LEAST_GROWTH_PER_K {
                growth
            } else {
                0.0
            }
        })
        .collect()
}

/// Growth times resistance, m²/W, of what layers have between two resistances from the first's side.
fn growth_between(layers: &[Layer], from_m2k_w: f64, to_m2k_w: f64) -> f64 {
    let mut begins = 0.0;
    let mut sum = 0.0;
    for layer in layers {
        let ends = begins + layer.resistance_m2k_w();
        let inside = to_m2k_w.min(ends) - from_m2k_w.max(begins);
        sum += layer.growth_per_k() * inside.max(0.0);
        begins = ends;
    }
    sum
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::ode::Lanes;

    fn solid(thickness_m: f64, conductivity_w_mk: f64, growth_per_k: f64) -> Layer {
        Layer::Solid {
            thickness_m,
            conductivity_w_mk,
            density_kg_m3: 30.0,
            specific_heat_j_kgk: 840.0,
            growth_per_k,
        }
    }

    proptest! {
        #[test]
        fn heat_runs_downhill_the_same_both_ways_and_in_lanes(
            a in 20.0..600.0f64,
            b in 20.0..600.0f64,
            growth in 0.0..MOST_GROWTH_PER_K,
        ) {
            let path = Insulating::new(5.0, growth);
            let there = path.flow_w(a, b);
            prop_assert!((there + path.flow_w(b, a)).abs() <= 1e-9 * there.abs().max(1.0));
            prop_assert!(there * (a - b) >= 0.0);
            let lanes = path.map(Lanes::splat).flow_w(Lanes::splat(a), Lanes::splat(b));
            prop_assert_eq!(lanes.lane(3).to_bits(), there.to_bits());
        }

        #[test]
        fn derivatives_are_those_of_the_flow(
            a in 100.0..400.0f64,
            b in 100.0..400.0f64,
            growth in 0.0..MOST_GROWTH_PER_K,
        ) {
            let path = Insulating::new(5.0, growth);
            let step = 1e-3;
            let by = [
                (path.flow_w(a + step, b) - path.flow_w(a - step, b)) / (2.0 * step),
                (path.flow_w(a, b + step) - path.flow_w(a, b - step)) / (2.0 * step),
            ];
            let [by_from, by_to] = path.slopes_w_k(a, b);
            prop_assert!(by_from > 0.0 && by_to < 0.0);
            prop_assert!((by[0] - by_from).abs() < 1e-4 && (by[1] - by_to).abs() < 1e-4);
        }
    }

    #[test]
    fn at_the_labels_temperature_the_label_holds() {
        let path = Insulating::new(4.0, 0.006);
        let flow = path.flow_w(LABEL_TEMP_K + 15.0, LABEL_TEMP_K - 15.0);
        assert!((flow - 120.0).abs() < 1e-9, "{flow}");
    }

    #[test]
    fn many_sections_in_a_row_pass_what_one_does() {
        // Kirchhoff's transform holds for any cut: the same flow at every one, by bisection.
        let (hot, cold, growth) = (330.0, 290.0, 0.006);
        let whole = Insulating::new(1.0, growth).flow_w(hot, cold);
        let part = Insulating::new(4.0, growth);
        let mut temp = hot;
        for _ in 0..4 {
            let (mut low, mut high) = (200.0, temp);
            for _ in 0..100 {
                let middle = 0.5 * (low + high);
                if part.flow_w(temp, middle) > whole {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            temp = low;
        }
        assert!((temp - cold).abs() < 1e-9, "{temp}");
    }

    /// Standard Reference Material 1450c, fibrous glass board, certified from 280 to 340 K:
    /// `λ = −7.2661·10⁻³ + 5.6252·10⁻⁵ ρ + 1.0741·10⁻⁴ T`, ρ 150 kg/m³ (from memory; that such a
    /// form linear in ρ and T serves nearly all lots: Zarr, Heckert & Leigh 2014, abstract seen).
    #[test]
    fn published_fibrous_glass_board_passes_what_its_certificate_says() {
        let certified = |temp_k: f64| -7.2661e-3 + 5.6252e-5 * 150.0 + 1.0741e-4 * temp_k;
        let label = certified(LABEL_TEMP_K);
        let growth = 1.0741e-4 / label;
        let thickness_m = 0.0254;
        let path = Insulating::new(label / thickness_m, growth);
        for mean_k in [280.0, 300.0, 320.0, 340.0] {
            let got = path.flow_w(mean_k + 12.5, mean_k - 12.5);
            let want = certified(mean_k) * 25.0 / thickness_m;
            assert!((got / want - 1.0).abs() < 1e-9, "{mean_k} K: {got} {want}");
        }
    }

    #[test]
    fn sections_share_the_growth_of_what_they_run_through() {
        let layers = [
            solid(0.0127, 0.16, 0.0),
            solid(0.2, 0.05, 0.006),
            Layer::Resistance {
                resistance_m2k_w: 0.2,
            },
        ];
        let board = layers[0].resistance_m2k_w();
        let got = growths_per_k(&layers, &[board, 1.0, 3.2]);
        assert!(got[0] <= 0.0, "{got:?}");
        assert!((got[1] - 0.006).abs() < 1e-12, "{got:?}");
        assert!((got[2] - 0.006 * 3.0 / 3.2).abs() < 1e-12, "{got:?}");
    }
}
