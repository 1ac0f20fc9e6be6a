//! Long-wave exchange between grey, diffuse surfaces, and between a surface and the sky.

use nalgebra::DMatrix;

use crate::elementary::cos;
use crate::ode::Real;

/// Stefan–Boltzmann constant, W/m²K⁴ (CODATA 2018).
pub const STEFAN_BOLTZMANN_W_M2K4: f64 = 5.670_374_419e-8;

/// Why an exchange cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ExchangeError {
    /// Areas, emittances and view factors do not belong to the same number of surfaces.
    #[error("{areas} areas, {emittances} emittances and {rows} rows of view factors")]
    Sizes {
        /// Number of areas.
        areas: usize,
        /// Number of emittances.
        emittances: usize,
        /// Rows of the view-factor matrix.
        rows: usize,
    },
    /// An emittance is not above 0 and up to 1.
    #[error("emittance {emittance} of surface {surface} is not above 0 and up to 1")]
    Emittance {
        /// Index of the surface.
        surface: usize,
        /// The value given.
        emittance: f64,
    },
    /// The radiosity equations have no solution: the view factors are not those of a room.
    #[error("the radiosity equations of these view factors have no solution")]
    Singular,
}

/// Black-body emission `σT⁴`, W/m².
#[inline(always)]
pub fn emissive_power_w_m2<R: Real>(temp_k: R) -> R {
    let square = temp_k * temp_k;
    square * square * STEFAN_BOLTZMANN_W_M2K4
}

/// The exact grey-diffuse exchange of a closed room, ready for any temperatures.
#[derive(Debug, Clone, PartialEq)]
pub struct ExchangeFactors {
    /// `g_ij`, m²: the net flow from surface i to surface j is `g_ij σ (T_i⁴ − T_j⁴)`, W, with all
    /// reflections counted. Symmetric; row i sums to `A_i ε_i`. The diagonal is what a surface
    /// emits and gets back.
    pub conductance_area_m2: DMatrix<f64>,
    /// `k_ij`: the radiosity of surface i is `Σ_j k_ij σ T_j⁴`, W/m². Rows sum to 1.
    pub radiosity: DMatrix<f64>,
}

/// Solves the radiosity equations `J_i = ε_i σT_i⁴ + (1 − ε_i) Σ_j F_ij J_j` for unit emissions.
///
/// With `J = K σT⁴` the flux absorbed by surface i is `ε_i Σ_j F_ij J_j`, so
/// `g_ij = A_i ε_i (F K)_ij`, which stays finite for black surfaces (ε = 1). This is the absorption
/// factor method of Gebhart 1961 written with radiosities; grey-diffuse theory as in Hottel &
/// Sarofim 1967.
///
/// # Errors
/// [`ExchangeError`] when sizes differ, an emittance is outside (0, 1], or there is no solution.
pub fn exchange(
    areas_m2: &[f64],
    emittances: &[f64],
    view_factors: &DMatrix<f64>,
) -> Result<ExchangeFactors, ExchangeError> {
    let count = areas_m2.len();
    if emittances.len() != count || view_factors.shape() != (count, count) {
        return Err(ExchangeError::Sizes {
            areas: count,
            emittances: emittances.len(),
            rows: view_factors.nrows(),
        });
    }
    for (surface, &emittance) in emittances.iter().enumerate() {
        if !(emittance > 0.0 && emittance <= 1.0) {
            return Err(ExchangeError::Emittance { surface, emittance });
        }
    }
    let system = DMatrix::from_fn(count, count, |i, j| {
        let unit = if i == j { 1.0 } else { 0.0 };
        unit - (1.0 - emittances[i]) * view_factors[(i, j)]
    });
    let emission = DMatrix::from_fn(
        count,
        count,
        |i, j| {
            if i == j { emittances[i] } else { 0.0 }
        },
    );
    let radiosity = system
        .lu()
        .solve(&emission)
        .ok_or(ExchangeError::Singular)?;
    let absorbed = view_factors.transpose().tr_mul(&radiosity);
    let one_way = DMatrix::from_fn(count, count, |i, j| {
        areas_m2[i] * emittances[i] * absorbed[(i, j)]
    });
    // Equal but for rounding; made equal so that what one surface loses the other gains.
    let conductance_area_m2 = (&one_way + one_way.transpose()) * 0.5;
    Ok(ExchangeFactors {
        conductance_area_m2,
        radiosity,
    })
}

/// Effective emittance of two wide parallel planes, `1/(1/ε₁ + 1/ε₂ − 1)`: the net flux is this
/// times `σ(T₁⁴ − T₂⁴)`. Emittances above 0.
///
/// Source: textbook two-plane case of the radiosity equations (Hottel & Sarofim 1967).
pub fn parallel_planes_emittance(first: f64, second: f64) -> f64 {
    1.0 / (1.0 / first + 1.0 / second - 1.0)
}

/// What part of a plane's outward long-wave view is sky, ground and air near the horizon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutwardView {
    /// Share at the temperature of the sky.
    pub sky: f64,
    /// Share at the temperature of the ground.
    pub ground: f64,
    /// Share at the temperature of the outdoor air.
    pub air: f64,
}

/// Splits the outward view of a plane, tilt from horizontal in rad, 0 facing up. Shares sum to 1.
///
/// `F_ground = (1 − cos φ)/2`, `F_sky = β(1 + cos φ)/2`, `F_air = (1 − β)(1 + cos φ)/2`,
/// `β = √((1 + cos φ)/2)`. Source: Walton 1983, NBSIR 83-2655,
/// National Bureau of Standards (from memory).
pub fn outward_view(tilt_rad: f64) -> OutwardView {
    let up = 0.5 * (1.0 + cos(tilt_rad));
    let sky_share = up.sqrt();
    OutwardView {
        sky: up * sky_share,
        ground: 1.0 - up,
        air: up * (1.0 - sky_share),
    }
}

/// Emissivity of the clear sky at sea level and elsewhere.
///
/// `ε₀ = 0.711 + 0.56 t + 0.73 t² + 0.013 cos(2π h/24) + 0.00012 (P − 1000)`, t = dew point / 100
/// °C, h the hour from midnight, P in hPa.
///
/// * `dew_point_c`: °C; `hour`: h of solar time; `pressure_pa`: station pressure, Pa
///
/// Source: Berdahl & Martin 1984, "Emissivity of clear skies", Solar Energy 32, 663; the pressure
/// term from memory.
pub fn clear_sky_emissivity(dew_point_c: f64, hour: f64, pressure_pa: f64) -> f64 {
    let dew = dew_point_c / 100.0;
    let day_angle = 2.0 * std::f64::consts::PI * hour / 24.0;
    0.711
        + 0.56 * dew
        + 0.73 * dew * dew
        + 0.013 * cos(day_angle)
        + 0.000_12 * (pressure_pa / 100.0 - 1000.0)
}

/// Emissivity of a sky with clouds, `ε₀ + (1 − ε₀) κ C`.
///
/// * `cloud_cover`: opaque fraction, 0 to 1
/// * `cloud_factor`: κ, what a full cover adds of what is missing; 0.8 is usual, 0.78 to 0.9 are in
///   use, and low cloud has the highest
///
/// Source: Martin & Berdahl 1984, "Characteristics of infrared sky radiation in the United
/// States", Solar Energy 33, 321 (form and factor from memory).
pub fn cloudy_sky_emissivity(clear_emissivity: f64, cloud_cover: f64, cloud_factor: f64) -> f64 {
    clear_emissivity + (1.0 - clear_emissivity) * cloud_factor * cloud_cover
}

/// Temperature of the black hemisphere that sends what the sky sends, K.
pub fn sky_temp_k(air_temp_k: f64, sky_emissivity: f64) -> f64 {
    air_temp_k * sky_emissivity.sqrt().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::view_factors::crossed_strings;

    /// Derived from the two-plane formula; no measurement.
    #[test]
    fn two_planes_have_the_handbook_effective_emittance() {
        // The last figure is half a unit of the last digit printed.
        for (first, second, effective, rounding) in [
            (0.9, 0.9, 0.818, 5e-4),
            (0.9, 0.5, 0.474, 5e-4),
            (0.9, 0.25, 0.243, 5e-4),
            (0.9, 0.2, 0.196, 5e-4),
            (0.9, 0.1, 0.099, 5e-4),
            (0.9, 0.05, 0.0497, 5e-5),
            (0.05, 0.05, 0.0256, 5e-5),
        ] {
            let got = parallel_planes_emittance(first, second);
            assert!((got - effective).abs() <= rounding, "{got}");
        }
        assert!((parallel_planes_emittance(1.0, 1.0) - 1.0).abs() < 1e-15);
    }

    /// Deck at 65 °C above a floor at 50 °C, derived from the two-plane formula.
    #[test]
    fn a_hot_deck_sends_the_derived_flux_to_the_floor() {
        let drop = emissive_power_w_m2(338.15) - emissive_power_w_m2(323.15);
        for (barrier, flux_w_m2, film) in [
            (0.9, 100.7, 6.71),
            (0.25, 29.9, 1.99),
            (0.1, 12.2, 0.81),
            (0.05, 6.1, 0.41),
        ] {
            let flux = parallel_planes_emittance(0.9, barrier) * drop;
            assert!((flux / flux_w_m2 - 1.0).abs() < 0.01, "{flux}");
            assert!((flux / 15.0 / film - 1.0).abs() < 0.01, "{flux}");
        }
    }

    #[test]
    fn published_black_body_rule_of_six_watts_per_kelvin_holds() {
        let slope = (emissive_power_w_m2(300.5) - emissive_power_w_m2(299.5)) / 1.0;
        assert!((slope - 6.12).abs() < 0.01);
    }

    /// Differences derived from Berdahl & Martin 1984 at 1000 hPa.
    #[test]
    fn clear_skies_are_colder_than_the_air_by_the_derived_differences() {
        for (air_c, dew_c, hour, colder_k) in [
            (35.0, 20.0, 15.0, 12.9),
            (30.0, 22.0, 15.0, 11.2),
            (40.0, 5.0, 15.0, 23.5),
            (20.0, 10.0, 0.0, 17.0),
            (0.0, -5.0, 0.0, 23.5),
        ] {
            let air_k = air_c + 273.15;
            let sky_k = sky_temp_k(air_k, clear_sky_emissivity(dew_c, hour, 1.0e5));
            assert!((air_k - sky_k - colder_k).abs() < 0.2, "{}", air_k - sky_k);
        }
    }

    #[test]
    fn clouds_and_altitude_move_the_sky_the_right_way() {
        let low = clear_sky_emissivity(10.0, 12.0, 1.0e5);
        assert!(clear_sky_emissivity(10.0, 12.0, 0.8e5) < low);
        assert!((cloudy_sky_emissivity(low, 0.0, 0.8) - low).abs() < 1e-15);
        assert!((cloudy_sky_emissivity(low, 1.0, 1.0) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn a_plane_facing_up_sees_sky_only_and_a_wall_half_ground() {
        let flat = outward_view(0.0);
        assert!((flat.sky - 1.0).abs() < 1e-15 && flat.ground.abs() < 1e-15);
        let wall = outward_view(std::f64::consts::FRAC_PI_2);
        assert!((wall.ground - 0.5).abs() < 1e-15 && (wall.sky - 0.353_55).abs() < 1e-5);
        for tilt in [0.1, 0.5, 1.0, 2.0, 3.0] {
            let view = outward_view(tilt);
            assert!((view.sky + view.ground + view.air - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn black_surfaces_exchange_by_view_factor_alone() {
        let section = [[0.0, 0.0], [8.0, 0.0], [4.0, 2.0]];
        let areas = [8.0, 20f64.sqrt(), 20f64.sqrt()];
        let factors = crossed_strings(&section);
        let black = exchange(&areas, &[1.0; 3], &factors).unwrap();
        for i in 0..3 {
            for j in 0..3 {
                let expected = areas[i] * factors[(i, j)];
                assert!((black.conductance_area_m2[(i, j)] - expected).abs() < 1e-13);
            }
        }
    }

    #[test]
    fn conductances_are_symmetric_and_rows_sum_to_area_times_emittance() {
        let section = [[0.0, 0.0], [8.0, 0.0], [3.0, 2.0]];
        let areas = [8.0, 29f64.sqrt(), 13f64.sqrt()];
        for emittances in [[0.9, 0.03, 0.03], [0.02, 0.9, 1.0], [1e-6, 1e-6, 1e-6]] {
            let got = exchange(&areas, &emittances, &crossed_strings(&section)).unwrap();
            for i in 0..3 {
                let sum = got.conductance_area_m2.row(i).sum();
                assert!((sum / (areas[i] * emittances[i]) - 1.0).abs() < 1e-9);
                assert!((got.radiosity.row(i).sum() - 1.0).abs() < 1e-9);
                for j in 0..3 {
                    let (there, back) = (
                        got.conductance_area_m2[(i, j)],
                        got.conductance_area_m2[(j, i)],
                    );
                    assert!((there - back).abs() < 1e-15 && there >= 0.0);
                }
            }
        }
    }

    #[test]
    fn impossible_emittances_and_sizes_are_refused() {
        let factors = crossed_strings(&[[0.0, 0.0], [8.0, 0.0], [4.0, 2.0]]);
        for bad in [0.0, -0.1, 1.01, f64::NAN] {
            assert!(matches!(
                exchange(&[8.0, 5.0, 5.0], &[0.9, bad, 0.9], &factors),
                Err(ExchangeError::Emittance { surface: 1, .. })
            ));
        }
        assert!(matches!(
            exchange(&[8.0, 5.0], &[0.9, 0.9], &factors),
            Err(ExchangeError::Sizes { .. })
        ));
    }
}
