//! Heat conduction through layered assemblies: the exact periodic response.
//!
//! The response is that at the label's temperature of insulation, see [`super::insulation`].
//!
//! Side 1 is the first layer's (inside, below); heat flows positive from side 1 to side 2, and
//! time goes as `exp(+iωt)`.

use std::f64::consts::PI;

use nalgebra::{Complex, Matrix2};

use super::insulation::MOST_GROWTH_PER_K;
use crate::elementary::{atan2, cosh, hypot, power, sin_cos, sinh};

/// One layer of an assembly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Layer {
    /// A homogeneous solid.
    Solid {
        /// Thickness, m.
        thickness_m: f64,
        /// Thermal conductivity, W/mK.
        conductivity_w_mk: f64,
        /// Density, kg/m³.
        density_kg_m3: f64,
        /// Specific heat, J/kgK.
        specific_heat_j_kgk: f64,
        /// By what share of the conductivity it grows, 1/K; 0 where it hardly does. The conductivity
        /// is that at 24 °C then: see [`super::insulation`].
        growth_per_k: f64,
    },
    /// A resistance without mass, such as a closed air space, m²K/W.
    Resistance {
        /// Resistance, m²K/W.
        resistance_m2k_w: f64,
    },
}

/// Why an assembly cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ConductionError {
    /// There is no layer.
    #[error("an assembly needs a layer")]
    NoLayers,
    /// A property is not a positive finite number.
    #[error("layer {layer} has a {property} of {value}; it must be above 0")]
    Property {
        /// Index of the layer.
        layer: usize,
        /// Name of the property.
        property: &'static str,
        /// Its value.
        value: f64,
    },
    /// A conductivity shrinks with temperature, or grows as none does.
    #[error(
        "layer {layer} conducts more by a share of {value} for each kelvin; it must be from 0 to \
         {MOST_GROWTH_PER_K}"
    )]
    Growth {
        /// Index of the layer.
        layer: usize,
        /// Its value, 1/K.
        value: f64,
    },
}

impl Layer {
    /// Resistance, m²K/W.
    pub fn resistance_m2k_w(&self) -> f64 {
        match *self {
            Self::Solid {
                thickness_m,
                conductivity_w_mk,
                ..
            } => thickness_m / conductivity_w_mk,
            Self::Resistance { resistance_m2k_w } => resistance_m2k_w,
        }
    }

    /// By what share of the conductivity it grows, 1/K.
    pub fn growth_per_k(&self) -> f64 {
        match *self {
            Self::Solid { growth_per_k, .. } => growth_per_k,
            Self::Resistance { .. } => 0.0,
        }
    }

    /// Heat capacity, J/m²K.
    pub fn capacity_j_m2k(&self) -> f64 {
        match *self {
            Self::Solid {
                thickness_m,
                density_kg_m3,
                specific_heat_j_kgk,
                ..
            } => thickness_m * density_kg_m3 * specific_heat_j_kgk,
            Self::Resistance { .. } => 0.0,
        }
    }

    /// Transfer matrix at an angular frequency, rad/s.
    ///
    /// `[[cosh p, −R sinh p / p], [−p sinh p / R, cosh p]]`, `p = √(iωCR)`: ISO 13786 eq. 14–19 in
    /// complex form.
    fn transfer(&self, frequency: f64) -> Matrix2<Complex<f64>> {
        let resistance = self.resistance_m2k_w();
        // √i = (1 + i)/√2, so that both parts of p are the same.
        let part = (0.5 * frequency * self.capacity_j_m2k() * resistance).sqrt();
        if part < 1e-12 {
            return resistance_transfer(resistance);
        }
        let p = Complex::new(part, part);
        let (sine, cosine) = sin_cos(part);
        let (sinh, cosh) = (sinh(part), cosh(part));
        let sinh_p = Complex::new(sinh * cosine, cosh * sine);
        let cosh_p = Complex::new(cosh * cosine, sinh * sine);
        Matrix2::new(
            cosh_p,
            -sinh_p / p * resistance,
            -sinh_p * p / resistance,
            cosh_p,
        )
    }

    fn check(&self, layer: usize) -> Result<(), ConductionError> {
        let value = self.growth_per_k();
        if !(0.0..=MOST_GROWTH_PER_K).contains(&value) {
            return Err(ConductionError::Growth { layer, value });
        }
        let properties = match *self {
            Self::Solid {
                thickness_m,
                conductivity_w_mk,
                density_kg_m3,
                specific_heat_j_kgk,
                ..
            } => vec![
                ("thickness", thickness_m),
                ("conductivity", conductivity_w_mk),
                ("density", density_kg_m3),
                ("specific heat", specific_heat_j_kgk),
            ],
            Self::Resistance { resistance_m2k_w } => vec![("resistance", resistance_m2k_w)],
        };
        properties
            .into_iter()
            .find(|(_, value)| !(*value > 0.0 && value.is_finite()))
            .map_or(Ok(()), |(property, value)| {
                Err(ConductionError::Property {
                    layer,
                    property,
                    value,
                })
            })
    }
}

/// Magnitude of a complex number.
pub(super) fn norm(z: Complex<f64>) -> f64 {
    hypot(z.re, z.im)
}

/// Angle of a complex number from the real axis, rad in ±π.
pub(super) fn arg(z: Complex<f64>) -> f64 {
    atan2(z.im, z.re)
}

pub(super) fn resistance_transfer(resistance: f64) -> Matrix2<Complex<f64>> {
    let one = Complex::new(1.0, 0.0);
    let zero = Complex::new(0.0, 0.0);
    Matrix2::new(one, Complex::new(-resistance, 0.0), zero, one)
}

/// Resistances of the films on side 1 and side 2, m²K/W; 0 for a bare surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Films {
    /// On the side of the first layer, m²K/W.
    pub side_1_m2k_w: f64,
    /// On the side of the last layer, m²K/W.
    pub side_2_m2k_w: f64,
}

impl Films {
    pub(super) fn around(&self, inner: Matrix2<Complex<f64>>) -> Matrix2<Complex<f64>> {
        resistance_transfer(self.side_2_m2k_w) * inner * resistance_transfer(self.side_1_m2k_w)
    }
}

/// What an assembly does with a sinusoidal swing, as defined by ISO 13786.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeriodicResponse {
    /// `(θ₂, q₂) = Z (θ₁, q₁)`.
    pub transfer: Matrix2<Complex<f64>>,
    /// Steady transmittance, W/m²K.
    pub transmittance_w_m2k: f64,
    /// `|Y₁₂| / U`: how much of the steady heat flow a swing on the far side brings.
    pub decrement_factor: f64,
    /// By how much the heat flow trails the far side's temperature, s; unwrapped, so that it may
    /// exceed the period.
    pub time_lag_s: f64,
}

impl PeriodicResponse {
    /// Periodic transmittance `Y₁₂ = −1/Z₁₂`, W/m²K.
    pub fn periodic_transmittance(&self) -> Complex<f64> {
        -self.transfer[(0, 1)].inv()
    }

    /// Admittances `Y₁₁ = −Z₁₁/Z₁₂` and `Y₂₂ = −Z₂₂/Z₁₂`, W/m²K.
    pub fn admittances(&self) -> [Complex<f64>; 2] {
        [0, 1].map(|side| -self.transfer[(side, side)] / self.transfer[(0, 1)])
    }

    /// Areal heat capacities of both sides, `T/2π |(Z_mm − 1)/Z₁₂|`, J/m²K.
    pub fn areal_capacities_j_m2k(&self, period_s: f64) -> [f64; 2] {
        [0, 1].map(|side| {
            let swing = (self.transfer[(side, side)] - 1.0) / self.transfer[(0, 1)];
            period_s / (2.0 * PI) * norm(swing)
        })
    }
}

pub(super) fn assembly_transfer(
    layers: &[Layer],
    films: Films,
    frequency: f64,
) -> Matrix2<Complex<f64>> {
    films.around(layers.iter().fold(Matrix2::identity(), |inner, layer| {
        layer.transfer(frequency) * inner
    }))
}

/// Response of layers, listed from side 1 to side 2, between two films at a period, s.
///
/// # Errors
/// [`ConductionError`] when there is no layer or a property is not positive.
///
/// Source: transfer-matrix method of ISO 13786:2017.
pub fn periodic_response(
    layers: &[Layer],
    films: Films,
    period_s: f64,
) -> Result<PeriodicResponse, ConductionError> {
    check(layers)?;
    let frequency = 2.0 * PI / period_s;
    let transfer = assembly_transfer(layers, films, frequency);
    let resistance = films.side_1_m2k_w
        + films.side_2_m2k_w
        + layers.iter().map(Layer::resistance_m2k_w).sum::<f64>();
    Ok(PeriodicResponse {
        transfer,
        transmittance_w_m2k: 1.0 / resistance,
        decrement_factor: resistance / norm(transfer[(0, 1)]),
        time_lag_s: unwrapped_phase(layers, films, frequency) / frequency,
    })
}

/// Phase of `−Z₁₂`, followed from a swing so slow that it has none.
fn unwrapped_phase(layers: &[Layer], films: Films, frequency: f64) -> f64 {
    const STEPS: i32 = 200;
    let span = 1e-5_f64;
    (0..=STEPS).fold(0.0, |last: f64, step| {
        let at = frequency * power(span, 1.0 - f64::from(step) / f64::from(STEPS));
        let phase = arg(-assembly_transfer(layers, films, at)[(0, 1)]);
        last + wrapped(phase - last)
    })
}

/// An angle brought into ±π.
fn wrapped(angle: f64) -> f64 {
    angle - 2.0 * PI * (angle / (2.0 * PI)).round()
}

pub(super) fn check(layers: &[Layer]) -> Result<(), ConductionError> {
    if layers.is_empty() {
        return Err(ConductionError::NoLayers);
    }
    layers
        .iter()
        .enumerate()
        .try_for_each(|(index, layer)| layer.check(index))
}

#[cfg(test)]
mod tests {
    use super::*;

    const DAY_S: f64 = 86_400.0;
    const FILMS: Films = Films {
        side_1_m2k_w: 0.1,
        side_2_m2k_w: 0.04,
    };

    fn solid(thickness_m: f64, conductivity_w_mk: f64, density_kg_m3: f64, heat: f64) -> Layer {
        Layer::Solid {
            thickness_m,
            conductivity_w_mk,
            density_kg_m3,
            specific_heat_j_kgk: heat,
            growth_per_k: 0.0,
        }
    }

    fn concrete(thickness_m: f64) -> Layer {
        solid(thickness_m, 1.7, 2300.0, 900.0)
    }

    #[test]
    fn a_determinant_of_one_keeps_energy() {
        let layers = [concrete(0.2), solid(0.1, 0.04, 30.0, 840.0)];
        let got = periodic_response(&layers, FILMS, DAY_S).unwrap();
        assert!(norm(got.transfer.determinant() - 1.0) < 1e-10);
    }

    #[test]
    fn very_slow_swings_pass_as_steady_heat_does() {
        let got = periodic_response(&[concrete(0.2)], FILMS, 1e11).unwrap();
        assert!((got.decrement_factor - 1.0).abs() < 1e-6);
        assert!((norm(got.periodic_transmittance()) / got.transmittance_w_m2k - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_lag_longer_than_the_period_is_not_wrapped() {
        let got = periodic_response(&[concrete(1.5)], FILMS, DAY_S).unwrap();
        // A thick wall passes a swing at √(λT/πρc)·2π a day: 0.85 m; 1.5 m take about 40 h.
        assert!(got.time_lag_s > 1.4 * DAY_S && got.time_lag_s < 2.0 * DAY_S);
    }

    #[test]
    fn impossible_layers_are_refused() {
        assert_eq!(
            periodic_response(&[], FILMS, DAY_S),
            Err(ConductionError::NoLayers)
        );
        assert!(matches!(
            periodic_response(&[concrete(0.1), concrete(-0.1)], FILMS, DAY_S),
            Err(ConductionError::Property {
                layer: 1,
                property: "thickness",
                ..
            })
        ));
        let growing = Layer::Solid {
            thickness_m: 0.1,
            conductivity_w_mk: 0.04,
            density_kg_m3: 30.0,
            specific_heat_j_kgk: 840.0,
            growth_per_k: 0.5,
        };
        assert_eq!(
            periodic_response(&[growing], FILMS, DAY_S),
            Err(ConductionError::Growth {
                layer: 0,
                value: 0.5
            })
        );
        assert!(matches!(
            periodic_response(&[solid(0.1, f64::NAN, 1.0, 1.0)], FILMS, DAY_S),
            Err(ConductionError::Property { .. })
        ));
    }
}
