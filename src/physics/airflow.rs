//! Air flow through openings, cracks, fans and channels by pressure difference.
//!
//! Sources: orifice and power-law flow, ASHRAE Handbook—Fundamentals (2017) ch. 16 (form from
//! memory); effective leakage area at 4 Pa, ASTM E779 (form from memory); laminar and turbulent
//! friction of parallel plates, textbook values (from memory).

use crate::elementary::power;
use crate::ode::Real;

/// Standard gravity, m/s² (CGPM 1901).
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// Gas constant of dry air, J/(kg K) (ASHRAE Fundamentals 2017 ch. 1: 287.042; the older 287.055
/// is the value of the tables this engine is checked against; they differ by 5e-5).
pub const DRY_AIR_GAS_CONSTANT_J_KGK: f64 = 287.055;

/// Pressure difference below which flow laws turn linear, Pa: so small that no flow of interest
/// is touched (relative change 2.5e-9 at 0.01 Pa), so that slopes stay finite at zero.
const LINEAR_BELOW_PA: f64 = 1e-6;

/// Resistance of a fan beyond which nothing passes, Pa s²/m⁶: 10 Pa would drive 10⁻¹⁴ m³/s.
const MOST_RESISTANCE: f64 = 1e30;

/// Density of moist air as an ideal mixture, kg/m³.
///
/// `ρ = p (1 + w) / (R_da T (1 + 1.607858 w))`, ASHRAE Fundamentals 2017 ch. 1 eq. 26 and 28.
#[inline(always)]
pub fn density_kg_m3<R: Real>(pressure_pa: R, temp_k: R, humidity_ratio: R) -> R {
    pressure_pa * (humidity_ratio + 1.0)
        / (temp_k * (humidity_ratio * 1.607_858 + 1.0) * DRY_AIR_GAS_CONSTANT_J_KGK)
}

/// `x · (x² + ε²)^((n−1)/2)`: the odd power law `sign(x)|x|^n` with a finite slope at zero, and
/// its derivative.
#[inline(always)]
fn odd_power<R: Real>(x: R, exponent: f64) -> (R, R) {
    let square = x * x + LINEAR_BELOW_PA * LINEAR_BELOW_PA;
    let factor = square.powf(0.5 * (exponent - 1.0));
    (
        x * factor,
        factor * (x * x / square * (exponent - 1.0) + 1.0),
    )
}

/// Exponent of most leaks, for which there is a quicker way than by logarithms.
const USUAL_EXPONENT: f64 = 0.65;

/// [`odd_power`] with [`USUAL_EXPONENT`]: its factor is the seventh power of a fortieth root.
#[inline(always)]
fn odd_usual_power<R: Real>(x: R) -> (R, R) {
    let squared = x * x;
    let root = (squared + LINEAR_BELOW_PA * LINEAR_BELOW_PA).inverse_fortieth_root();
    let second = root * root;
    let fourth = second * second;
    let eighth = fourth * fourth;
    let sixteenth = eighth * eighth;
    let factor = fourth * second * root;
    // x²/(x² + ε²), whose denominator is the root to −40.
    let share = squared * (sixteenth * sixteenth * eighth);
    (x * factor, factor * (share * (USUAL_EXPONENT - 1.0) + 1.0))
}

/// `x (x² + ε²)^(−¼) w^(−½)`: the odd square root with a finite slope at zero over that of a positive
/// weight, and its derivative; in one root, without divisions.
#[inline(always)]
fn odd_sqrt_over<R: Real>(x: R, weight: R) -> (R, R) {
    const SQUARE: f64 = LINEAR_BELOW_PA * LINEAR_BELOW_PA;
    let weights = weight * weight;
    let root = (weights * (x * x + SQUARE)).inverse_fourth_root();
    let roots = root * root;
    // 1 − x²/2(x² + ε²), where 1/(x² + ε²) = w² root⁴.
    let bend = weights * (roots * roots) * (0.5 * SQUARE) + 0.5;
    (x * root, root * bend)
}

/// What a path does with a pressure difference.
#[derive(Debug, Clone, PartialEq)]
pub enum Element<R = f64> {
    /// Sharp opening: `ṁ = C_d A √(2 ρ Δp)`.
    Orifice {
        /// Discharge coefficient times net free area, m².
        cd_area_m2: R,
    },
    /// Crack: `V̇ = C Δp^n`.
    Crack {
        /// Volume flow at 1 Pa, m³/s.
        flow_at_1_pa_m3_s: R,
        /// Exponent, 0.5 to 1.
        exponent: f64,
    },
    /// Fans side by side, each behind its own share of grille, `p0(1 − (V̇/V̇0)²)` each; stopped,
    /// the same resistances without the pressure. Pressures scale with the density (fan laws).
    QuadraticFan {
        /// Shut-off pressure of one fan at the speed of use over the density, Pa m³/kg; 0 when
        /// stopped.
        shut_off_per_density: R,
        /// `p0/V̇0²` of one fan over the density, Pa s²/m⁶ · m³/kg.
        curvature_per_density: R,
        /// Discharge coefficient times net free area of the grille of one fan, m².
        cd_area_m2: R,
        /// Number of fans.
        count: R,
    },
    /// As above with straight lines between points of one fan: flow in m³/s, pressure over density
    /// in Pa m³/kg.
    PolygonFan {
        /// Points of rising flow and falling pressure.
        points: Vec<[f64; 2]>,
        /// Discharge coefficient times net free area of the grille of one fan, m².
        cd_area_m2: R,
        /// Number of fans.
        count: R,
    },
    /// Flow that does not depend on pressure, m³/s.
    Fixed {
        /// Volume flow, m³/s.
        flow_m3_s: R,
    },
    /// Air channel between two plates with its end openings.
    Channel(ChannelResistance<R>),
    /// Nothing passes.
    Shut,
    /// One law while something runs and another while it does not, for lanes that differ in that.
    Either {
        /// Law while it runs.
        on: Box<Element<R>>,
        /// Law while it does not.
        off: Box<Element<R>>,
        /// Above zero while it runs.
        running: R,
    },
}

/// Resistance of a flat channel: `Δp = a V̇ + b V̇²`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelResistance<R = f64> {
    /// Laminar friction, Pa s/m³.
    pub laminar_pa_s_m3: R,
    /// Entry, exit and bends, Pa s²/m⁶ per kg/m³ of density.
    pub quadratic_per_density: R,
}

impl<R: Real> ChannelResistance<R> {
    /// Channel of plates `length_m` long, `width_m` wide and `gap_m` apart whose ends are open to
    /// `open_share` of the cross-section.
    ///
    /// Laminar friction `Δp = 12 μ L V̇ / (W d³)`; entry and exit each an opening of discharge
    /// coefficient 0.6 in series (common practice, no source). In the gaps of a roof
    /// (Re below about 3000) friction is small beside the ends.
    pub fn new(length_m: R, width_m: R, gap_m: R, open_share: R) -> Self {
        const VISCOSITY_PA_S: f64 = 1.9e-5;
        let end_m2 = width_m * gap_m * open_share * 0.6;
        Self {
            laminar_pa_s_m3: length_m * (12.0 * VISCOSITY_PA_S) / (width_m * gap_m * gap_m * gap_m),
            quadratic_per_density: R::splat(2.0 * 0.5) / (end_m2 * end_m2),
        }
    }

    /// Volume flow and its slope, m³/s and m³/(s Pa).
    #[inline(always)]
    fn flow(&self, pressure_pa: R, density_kg_m3: R) -> (R, R) {
        let a = self.laminar_pa_s_m3;
        let b = density_kg_m3 * self.quadratic_per_density;
        // The stable form of (−a + √(a² + 4 b |Δp|)) / 2b.
        let root = (b * pressure_pa.abs() * 4.0 + a * a).sqrt();
        (pressure_pa * 2.0 / (root + a), R::splat(1.0) / root)
    }
}

impl<R: Real> Element<R> {
    /// Mass flow along the path and its slope, kg/s and kg/(s Pa), at a pressure difference that
    /// drives along the path; `density_from` and `density_to` are those of the air at its two
    /// ends, of which the upstream one crosses.
    #[inline(always)]
    pub fn mass_flow(&self, pressure_pa: R, density_from: R, density_to: R) -> (R, R) {
        if let Self::Either { on, off, running } = self {
            let (on, on_slope) = on.one_law(pressure_pa, density_from, density_to);
            let (off, off_slope) = off.one_law(pressure_pa, density_from, density_to);
            return (
                running.where_positive(on, off),
                running.where_positive(on_slope, off_slope),
            );
        }
        self.one_law(pressure_pa, density_from, density_to)
    }

    #[inline(always)]
    fn one_law(&self, pressure_pa: R, density_from: R, density_to: R) -> (R, R) {
        match self {
            Self::Orifice { cd_area_m2 } => {
                let density = pressure_pa.where_positive(density_from, density_to);
                // √(2ρ) = 2ρ/√(2ρ).
                let twice = density * 2.0;
                let scale = twice * *cd_area_m2;
                let (flow, slope) = odd_sqrt_over(pressure_pa, twice);
                (scale * flow, scale * slope)
            }
            Self::Crack {
                flow_at_1_pa_m3_s,
                exponent,
            } if (*exponent - USUAL_EXPONENT).abs() < 1e-12 => {
                let density = pressure_pa.where_positive(density_from, density_to);
                let scale = density * *flow_at_1_pa_m3_s;
                let (flow, slope) = odd_usual_power(pressure_pa);
                (scale * flow, scale * slope)
            }
            Self::Crack {
                flow_at_1_pa_m3_s,
                exponent,
            } => {
                let density = pressure_pa.where_positive(density_from, density_to);
                let scale = density * *flow_at_1_pa_m3_s;
                let (flow, slope) = odd_power(pressure_pa, *exponent);
                (scale * flow, scale * slope)
            }
            Self::QuadraticFan {
                shut_off_per_density,
                curvature_per_density,
                cd_area_m2,
                count,
            } => {
                let driving = pressure_pa + density_from * *shut_off_per_density;
                let density = driving.where_positive(density_from, density_to);
                let resistance = density
                    * (R::splat(0.5) / (*cd_area_m2 * *cd_area_m2) + *curvature_per_density);
                // A hole without area resists without end; this much is no flow either.
                let resistance = resistance.min(R::splat(MOST_RESISTANCE));
                let scale = density * *count;
                let (flow, slope) = odd_sqrt_over(driving, resistance);
                (scale * flow, scale * slope)
            }
            Self::PolygonFan {
                points,
                cd_area_m2,
                count,
            } => {
                let (flow, slope) = polygon_fan_flow(
                    points,
                    R::splat(0.5) / (*cd_area_m2 * *cd_area_m2),
                    pressure_pa,
                    density_from,
                    density_to,
                );
                let density = flow.where_positive(density_from, density_to);
                (density * flow * *count, density * slope * *count)
            }
            Self::Fixed { flow_m3_s } => {
                let flow = *flow_m3_s;
                let density = flow.where_positive(density_from, density_to);
                (density * flow, R::splat(0.0))
            }
            Self::Channel(resistance) => {
                let density = pressure_pa.where_positive(density_from, density_to);
                let (flow, slope) = resistance.flow(pressure_pa, density);
                (density * flow, density * slope)
            }
            // Alternatives of alternatives are not made.
            Self::Shut | Self::Either { .. } => (R::splat(0.0), R::splat(0.0)),
        }
    }
}

/// Flow of one fan with a polygon curve behind a grille of loss `k ρ V̇²`, and its slope.
///
/// The sum of grille loss and lost fan pressure rises with the flow, so that one line of the
/// polygon holds the answer: `k ρ V̇|V̇| + s V̇ = Δp + p_line(0)`, with the line's slope `−s`.
#[inline(always)]
fn polygon_fan_flow<R: Real>(
    points: &[[f64; 2]],
    loss_per_density: R,
    pressure_pa: R,
    density_from: R,
    density_to: R,
) -> (R, R) {
    let mut flow = R::splat(0.0);
    let mut slope = R::splat(0.0);
    for (index, pair) in points.windows(2).enumerate() {
        let [[q0, p0], [q1, p1]] = [pair[0], pair[1]];
        let fall_per_density = f64::max((p0 - p1) / (q1 - q0), 1e-6);
        let fall = density_from * fall_per_density;
        let driving = pressure_pa + density_from * (p0 + fall_per_density * q0);
        let density = driving.where_positive(density_from, density_to);
        let k = density * loss_per_density;
        let root = (k * driving.abs() * 4.0 + fall * fall).sqrt();
        let candidate = driving * 2.0 / (root + fall);
        let steepness = R::splat(1.0) / root;
        if index == 0 {
            (flow, slope) = (candidate, steepness);
        } else {
            let beyond = candidate - q0;
            flow = beyond.where_positive(candidate, flow);
            slope = beyond.where_positive(steepness, slope);
        }
    }
    (flow, slope)
}

/// Flow at 1 Pa of a crack with an effective leakage area at 4 Pa, m³/s.
///
/// `C = A √(2·4/ρ) / 4^n` with discharge coefficient 1 and ρ = 1.204 kg/m³ (ASTM E779 form).
pub fn flow_at_1_pa_m3_s(leakage_area_m2: f64, exponent: f64) -> f64 {
    leakage_area_m2 * (8.0_f64 / 1.204).sqrt() / power(4.0_f64, exponent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn elements() -> Vec<Element> {
        vec![
            Element::Orifice { cd_area_m2: 0.05 },
            Element::Crack {
                flow_at_1_pa_m3_s: 0.02,
                exponent: 0.65,
            },
            Element::QuadraticFan {
                shut_off_per_density: 10.0,
                curvature_per_density: 10.0 / 0.0354_f64.powi(2),
                cd_area_m2: 0.01,
                count: 4.0,
            },
            Element::PolygonFan {
                points: vec![[0.0, 20.0], [0.02, 14.0], [0.035, 0.0]],
                cd_area_m2: 0.01,
                count: 2.0,
            },
            Element::Channel(ChannelResistance::new(4.0, 10.0, 0.05, 0.8)),
        ]
    }

    #[test]
    fn the_quick_way_for_usual_leaks_gives_the_general_law() {
        for power in -90..50 {
            for x in [
                10_f64.powi(power / 10) * f64::from(power + 91),
                -3.0 * f64::from(power),
            ] {
                let (quick, general) = (odd_usual_power(x), odd_power(x, USUAL_EXPONENT));
                let off = |a: f64, b: f64| (a - b).abs() <= 1e-13 * b.abs();
                assert!(off(quick.0, general.0), "flow at {x}");
                assert!(off(quick.1, general.1), "slope at {x}");
            }
        }
    }

    proptest! {
        #[test]
        fn every_element_passes_more_at_more_pressure_and_knows_its_slope(
            dp in -40.0..40.0f64, rho_from in 0.9..1.4f64, rho_to in 0.9..1.4f64,
        ) {
            for element in elements() {
                let step = 1e-6 * dp.abs().max(1e-3);
                let (m0, slope) = element.mass_flow(dp, rho_from, rho_to);
                let (m1, _) = element.mass_flow(dp + step, rho_from, rho_to);
                let (m2, _) = element.mass_flow(dp - step, rho_from, rho_to);
                prop_assert!(m1 >= m0 && m0 >= m2, "{element:?} falls at {dp}");
                let numeric = (m1 - m2) / (2.0 * step);
                prop_assert!((numeric - slope).abs() <= 2e-4 * slope.abs() + 1e-9,
                    "{element:?} at {dp}: {numeric} against {slope}");
            }
        }
    }

    #[test]
    fn nothing_flows_without_pressure_unless_a_fan_runs() {
        for element in elements() {
            let (flow, slope) = element.mass_flow(0.0, 1.2, 1.1);
            let fan = matches!(
                element,
                Element::QuadraticFan { .. } | Element::PolygonFan { .. }
            );
            assert_eq!(flow > 1e-3, fan, "{element:?}");
            assert!(slope.is_finite() && slope > 0.0);
        }
    }

    #[test]
    fn a_polygon_of_two_points_is_the_straight_line() {
        let fan = Element::PolygonFan {
            points: vec![[0.0, 30.0], [0.4, 0.0]],
            cd_area_m2: 1e6,
            count: 1.0,
        };
        let (flow, _) = fan.mass_flow(-15.0, 1.0, 1.0);
        assert!((flow - 0.2).abs() < 1e-6, "{flow}");
    }
}
