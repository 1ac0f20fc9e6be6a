//! Heat conduction through layered assemblies: the exact periodic response, and the shortest chain
//! of lumps that has the same one.
//!
//! Side 1 is the first layer's (inside, below); heat flows positive from side 1 to side 2, and
//! time goes as `exp(+iωt)`.

use std::f64::consts::PI;

use nalgebra::{Complex, DMatrix, DVector, Matrix2};

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
    /// No chain of the most lumps allowed has the response of the assembly.
    #[error("{nodes} lumps miss the assembly's response by {error_of_bar} times what is allowed")]
    Unreachable {
        /// Lumps in the finest chain that was tried.
        nodes: usize,
        /// Its error as a multiple of the bar.
        error_of_bar: f64,
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
        let p = Complex::new(0.0, frequency * self.capacity_j_m2k() * resistance).sqrt();
        if p.norm() < 1e-12 {
            return resistance_transfer(resistance);
        }
        Matrix2::new(
            p.cosh(),
            -p.sinh() / p * resistance,
            -p.sinh() * p / resistance,
            p.cosh(),
        )
    }

    fn check(&self, layer: usize) -> Result<(), ConductionError> {
        let properties = match *self {
            Self::Solid {
                thickness_m,
                conductivity_w_mk,
                density_kg_m3,
                specific_heat_j_kgk,
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

fn resistance_transfer(resistance: f64) -> Matrix2<Complex<f64>> {
    let one = Complex::new(1.0, 0.0);
    let zero = Complex::new(0.0, 0.0);
    Matrix2::new(one, Complex::new(-resistance, 0.0), zero, one)
}

fn capacity_transfer(capacity: f64, frequency: f64) -> Matrix2<Complex<f64>> {
    let one = Complex::new(1.0, 0.0);
    let zero = Complex::new(0.0, 0.0);
    Matrix2::new(one, zero, Complex::new(0.0, -frequency * capacity), one)
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
    fn around(&self, inner: Matrix2<Complex<f64>>) -> Matrix2<Complex<f64>> {
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
            period_s / (2.0 * PI) * swing.norm()
        })
    }
}

fn assembly_transfer(layers: &[Layer], films: Films, frequency: f64) -> Matrix2<Complex<f64>> {
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
        decrement_factor: resistance / transfer[(0, 1)].norm(),
        time_lag_s: unwrapped_phase(layers, films, frequency) / frequency,
    })
}

/// Phase of `−Z₁₂`, followed from a swing so slow that it has none.
fn unwrapped_phase(layers: &[Layer], films: Films, frequency: f64) -> f64 {
    const STEPS: i32 = 200;
    let span = 1e-5_f64;
    (0..=STEPS).fold(0.0, |last: f64, step| {
        let at = frequency * span.powf(1.0 - f64::from(step) / f64::from(STEPS));
        let phase = (-assembly_transfer(layers, films, at)[(0, 1)]).arg();
        last + wrapped(phase - last)
    })
}

/// An angle brought into ±π.
fn wrapped(angle: f64) -> f64 {
    angle - 2.0 * PI * (angle / (2.0 * PI)).round()
}

fn check(layers: &[Layer]) -> Result<(), ConductionError> {
    if layers.is_empty() {
        return Err(ConductionError::NoLayers);
    }
    layers
        .iter()
        .enumerate()
        .try_for_each(|(index, layer)| layer.check(index))
}

/// An assembly as heat stores joined by resistances, from surface to surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    /// Capacity of each node, J/m²K; the first and last are the surfaces. Zero in an assembly
    /// without any mass. A sheet so thin that both its surfaces are equally warm is one node.
    pub capacities_j_m2k: Vec<f64>,
    /// Resistances between one node and the next, m²K/W; one fewer than nodes.
    pub resistances_m2k_w: Vec<f64>,
}

impl Chain {
    /// Transfer matrix with films at a period, s.
    pub fn transfer(&self, films: Films, period_s: f64) -> Matrix2<Complex<f64>> {
        let frequency = 2.0 * PI / period_s;
        let mut inner = Matrix2::identity();
        for (index, &capacity) in self.capacities_j_m2k.iter().enumerate() {
            if index > 0 {
                inner = resistance_transfer(self.resistances_m2k_w[index - 1]) * inner;
            }
            inner = capacity_transfer(capacity, frequency) * inner;
        }
        films.around(inner)
    }
}

/// How a chain differs from its assembly at one period.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mismatch {
    /// Relative error of the decrement factor.
    pub decrement: f64,
    /// Error of the time lag, s.
    pub time_lag_s: f64,
    /// Relative error of the admittance of the worse side.
    pub admittance: f64,
}

/// What a mismatch may be at one period.
struct Bar {
    period_s: f64,
    decrement: f64,
    time_lag_s: f64,
    admittance: f64,
}

/// Decrement and lag are held to 2 % and 5 min at a day, 5 % and 10 min at half a day; admittances,
/// which set how surfaces swing, to 5 % and 10 %.
const BARS: [Bar; 2] = [
    Bar {
        period_s: 86_400.0,
        decrement: 0.02,
        time_lag_s: 300.0,
        admittance: 0.05,
    },
    Bar {
        period_s: 43_200.0,
        decrement: 0.05,
        time_lag_s: 600.0,
        admittance: 0.10,
    },
];

/// Share of the bars that a chain aims at: films in use differ from those it is judged with.
const AIM: f64 = 0.5;
/// Total resistance below which both surfaces are one node, m²K/W: 0.03 K at 300 W/m².
const ONE_NODE_M2K_W: f64 = 1e-4;
/// Slices of a layer to begin with, and at most.
const FEWEST_SLICES: usize = 4;
/// Slices of a layer in the finest chain.
const MOST_SLICES: usize = 64;
/// Bars' worth that a change of a value by a factor of e costs in the fit.
const HOLD: f64 = 0.3;

fn mismatch_of(
    chain: &Matrix2<Complex<f64>>,
    exact: &Matrix2<Complex<f64>>,
    period_s: f64,
) -> Mismatch {
    let ratio = chain[(0, 1)] / exact[(0, 1)];
    let admittance = |side: usize| {
        let of = |z: &Matrix2<Complex<f64>>| z[(side, side)] / z[(0, 1)];
        (of(chain) / of(exact) - 1.0).norm()
    };
    Mismatch {
        decrement: (1.0 / ratio.norm() - 1.0).abs(),
        time_lag_s: (ratio.arg() * period_s / (2.0 * PI)).abs(),
        admittance: admittance(0).max(admittance(1)),
    }
}

/// How a chain differs from the layers it stands for at a period, s.
///
/// # Errors
/// As [`periodic_response`].
pub fn mismatch(
    chain: &Chain,
    layers: &[Layer],
    films: Films,
    period_s: f64,
) -> Result<Mismatch, ConductionError> {
    check(layers)?;
    let exact = assembly_transfer(layers, films, 2.0 * PI / period_s);
    Ok(mismatch_of(
        &chain.transfer(films, period_s),
        &exact,
        period_s,
    ))
}

/// The shortest chain found whose response to a day's and half a day's swing between the given
/// films is that of the layers: decrement within 2 % and 5 %, lag within 5 min and 10 min (and half
/// of that where the aim can be met), admittances within 5 % and 10 %.
///
/// Every layer starts as many slices, each a π-section. Nodes are then taken out one by one, the
/// least missed first: the capacity of a node that goes is shared by its neighbours, by the nearer
/// the more, and what is left is fitted to the exact response. Total capacity and resistance are
/// those of the layers, and a surface keeps at least half of the capacity that shares gave it.
///
/// # Errors
/// [`ConductionError`] when there is no layer, a property is not positive, or the finest chain
/// misses the bars.
pub fn lumps(layers: &[Layer], films: Films) -> Result<Chain, ConductionError> {
    check(layers)?;
    let capacity: f64 = layers.iter().map(Layer::capacity_j_m2k).sum();
    let resistance: f64 = layers.iter().map(Layer::resistance_m2k_w).sum();
    if capacity <= 0.0 {
        return Ok(Chain {
            capacities_j_m2k: vec![0.0; 2],
            resistances_m2k_w: vec![resistance],
        });
    }
    if resistance <= ONE_NODE_M2K_W {
        return Ok(Chain {
            capacities_j_m2k: vec![capacity],
            resistances_m2k_w: Vec::new(),
        });
    }
    let target = Target::new(layers, films);
    let mut slices = FEWEST_SLICES;
    let mut chain = Chain::of_slices(layers, slices);
    while target.error(&chain) > AIM && slices < MOST_SLICES {
        slices *= 2;
        chain = Chain::of_slices(layers, slices);
    }
    let error_of_bar = target.error(&chain);
    if error_of_bar.is_nan() || error_of_bar > 1.0 {
        return Err(ConductionError::Unreachable {
            nodes: chain.capacities_j_m2k.len(),
            error_of_bar,
        });
    }
    Ok(target.thinned(chain, error_of_bar.max(AIM)))
}

impl Chain {
    /// Every solid layer as `count` equal π-sections. A node between two resistances without mass
    /// is left out.
    fn of_slices(layers: &[Layer], count: usize) -> Self {
        let mut chain = Self {
            capacities_j_m2k: vec![0.0],
            resistances_m2k_w: Vec::new(),
        };
        for layer in layers {
            let cuts = match layer {
                Layer::Solid { .. } => count,
                Layer::Resistance { .. } => 1,
            };
            let half_slice = layer.capacity_j_m2k() / (2.0 * cuts as f64);
            for _ in 0..cuts {
                if let Some(last) = chain.capacities_j_m2k.last_mut() {
                    *last += half_slice;
                }
                chain.capacities_j_m2k.push(half_slice);
                chain
                    .resistances_m2k_w
                    .push(layer.resistance_m2k_w() / cuts as f64);
            }
        }
        let massless = |chain: &Self| {
            (1..chain.capacities_j_m2k.len().saturating_sub(1))
                .find(|&index| chain.capacities_j_m2k[index] <= 0.0)
        };
        while let Some(index) = massless(&chain) {
            chain = chain.without(index);
        }
        chain
    }

    /// The chain without an inner node, whose capacity its neighbours share.
    fn without(&self, index: usize) -> Self {
        let mut fewer = self.clone();
        let capacity = fewer.capacities_j_m2k.remove(index);
        let after = fewer.resistances_m2k_w.remove(index);
        let before = fewer.resistances_m2k_w[index - 1];
        fewer.resistances_m2k_w[index - 1] = before + after;
        let to_next = before / (before + after);
        fewer.capacities_j_m2k[index - 1] += capacity * (1.0 - to_next);
        fewer.capacities_j_m2k[index] += capacity * to_next;
        fewer
    }

    /// Scales each capacity and resistance by the exponential of its change, and all of them back
    /// to the totals.
    fn changed(&self, logs: &DVector<f64>) -> Self {
        let nodes = self.capacities_j_m2k.len();
        let scaled = |values: &[f64], offset: usize| {
            let changed: Vec<f64> = values
                .iter()
                .enumerate()
                .map(|(i, value)| value * logs[offset + i].exp())
                .collect();
            let scale = values.iter().sum::<f64>() / changed.iter().sum::<f64>();
            changed.into_iter().map(|value| value * scale).collect()
        };
        Self {
            capacities_j_m2k: scaled(&self.capacities_j_m2k, 0),
            resistances_m2k_w: scaled(&self.resistances_m2k_w, nodes),
        }
    }
}

/// The response that a chain is to have.
struct Target {
    films: Films,
    exact: [Matrix2<Complex<f64>>; 2],
}

impl Target {
    fn new(layers: &[Layer], films: Films) -> Self {
        let exact = [0, 1]
            .map(|bar: usize| assembly_transfer(layers, films, 2.0 * PI / BARS[bar].period_s));
        Self { films, exact }
    }

    /// Largest mismatch as a multiple of its bar.
    fn error(&self, chain: &Chain) -> f64 {
        BARS.iter()
            .zip(&self.exact)
            .map(|(bar, exact)| {
                let chain = chain.transfer(self.films, bar.period_s);
                let mismatch = mismatch_of(&chain, exact, bar.period_s);
                (mismatch.decrement / bar.decrement)
                    .max(mismatch.time_lag_s / bar.time_lag_s)
                    .max(mismatch.admittance / bar.admittance)
            })
            .fold(0.0, |worst: f64, error| {
                if error.is_nan() {
                    error
                } else {
                    worst.max(error)
                }
            })
    }

    /// Signed mismatches as multiples of their bars, then the changes themselves, which hold
    /// what the response does not tell.
    fn residuals(&self, chain: &Chain, logs: &DVector<f64>) -> DVector<f64> {
        let mut residuals = Vec::with_capacity(12 + logs.len());
        for (bar, exact) in BARS.iter().zip(&self.exact) {
            let z = chain.transfer(self.films, bar.period_s);
            let through = z[(0, 1)] / exact[(0, 1)];
            residuals.push(through.norm().ln() / bar.decrement);
            residuals.push(through.arg() * bar.period_s / (2.0 * PI) / bar.time_lag_s);
            for side in [0, 1] {
                let admittance = z[(side, side)] / exact[(side, side)] / through - 1.0;
                residuals.push(admittance.re / bar.admittance);
                residuals.push(admittance.im / bar.admittance);
            }
        }
        residuals.extend(logs.iter().map(|log| HOLD * log));
        DVector::from_vec(residuals)
    }

    /// The chain with its values moved to where the response fits best: Gauss–Newton on the
    /// logarithms, steps halved while they do not help.
    fn fitted(&self, start: &Chain) -> Chain {
        const ROUNDS: u32 = 20;
        const PROBE: f64 = 1e-5;
        let size = start.capacities_j_m2k.len() + start.resistances_m2k_w.len();
        let mut logs = DVector::zeros(size);
        for _ in 0..ROUNDS {
            let here = self.residuals(&start.changed(&logs), &logs);
            let mut jacobian = DMatrix::zeros(here.len(), size);
            for column in 0..size {
                let mut probe = logs.clone();
                probe[column] += PROBE;
                let there = self.residuals(&start.changed(&probe), &probe);
                jacobian.set_column(column, &((there - &here) / PROBE));
            }
            let normal = jacobian.transpose() * &jacobian;
            let Some(step) = normal
                .cholesky()
                .map(|factored| factored.solve(&(jacobian.transpose() * &here)))
            else {
                break;
            };
            let better = (0..5)
                .map(|halvings| &logs - &step * 0.5_f64.powi(halvings))
                .find(|tried| self.residuals(&start.changed(tried), tried).norm() < here.norm());
            let Some(better) = better else { break };
            let gained = (&better - &logs).norm();
            logs = better;
            if gained < 1e-4 {
                break;
            }
        }
        start.changed(&logs)
    }

    /// Takes out inner nodes while the error stays within `allowed`.
    fn thinned(&self, mut chain: Chain, allowed: f64) -> Chain {
        loop {
            let nodes = chain.capacities_j_m2k.len();
            let mut shorter: Vec<Chain> = (1..nodes.saturating_sub(1))
                .map(|index| chain.without(index))
                .collect();
            shorter.sort_by(|a, b| self.error(a).total_cmp(&self.error(b)));
            let found = shorter.into_iter().find_map(|shared| {
                if self.error(&shared) <= allowed {
                    return Some(shared);
                }
                let fitted = self.fitted(&shared);
                let keeps_surfaces = [0, nodes - 2]
                    .iter()
                    .all(|&i| fitted.capacities_j_m2k[i] >= 0.5 * shared.capacities_j_m2k[i]);
                (keeps_surfaces && self.error(&fitted) <= allowed).then_some(fitted)
            });
            match found {
                Some(shorter) => chain = shorter,
                None => return chain,
            }
        }
    }
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
        }
    }

    fn concrete(thickness_m: f64) -> Layer {
        solid(thickness_m, 1.7, 2300.0, 900.0)
    }

    #[test]
    fn a_determinant_of_one_keeps_energy() {
        let layers = [concrete(0.2), solid(0.1, 0.04, 30.0, 840.0)];
        let got = periodic_response(&layers, FILMS, DAY_S).unwrap();
        assert!((got.transfer.determinant() - 1.0).norm() < 1e-10);
    }

    #[test]
    fn very_slow_swings_pass_as_steady_heat_does() {
        let got = periodic_response(&[concrete(0.2)], FILMS, 1e11).unwrap();
        assert!((got.decrement_factor - 1.0).abs() < 1e-6);
        assert!((got.periodic_transmittance().norm() / got.transmittance_w_m2k - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_lag_longer_than_the_period_is_not_wrapped() {
        let got = periodic_response(&[concrete(1.5)], FILMS, DAY_S).unwrap();
        // A thick wall passes a swing at √(λT/πρc)·2π a day: 0.85 m; 1.5 m take about 40 h.
        assert!(got.time_lag_s > 1.4 * DAY_S && got.time_lag_s < 2.0 * DAY_S);
    }

    #[test]
    fn a_chain_keeps_capacity_and_resistance() {
        let layers = [
            solid(0.0127, 0.16, 640.0, 1150.0),
            solid(0.235, 0.04, 30.0, 840.0),
            Layer::Resistance {
                resistance_m2k_w: 0.15,
            },
            solid(0.0119, 0.13, 650.0, 1700.0),
        ];
        let chain = lumps(&layers, FILMS).unwrap();
        let capacity: f64 = layers.iter().map(Layer::capacity_j_m2k).sum();
        let resistance: f64 = layers.iter().map(Layer::resistance_m2k_w).sum();
        assert!((chain.capacities_j_m2k.iter().sum::<f64>() / capacity - 1.0).abs() < 1e-12);
        assert!((chain.resistances_m2k_w.iter().sum::<f64>() / resistance - 1.0).abs() < 1e-12);
        assert_eq!(
            chain.capacities_j_m2k.len(),
            chain.resistances_m2k_w.len() + 1
        );
        assert!(chain.capacities_j_m2k.iter().all(|&c| c > 0.0));
    }

    #[test]
    fn a_metal_sheet_is_one_node_and_an_air_space_has_no_mass() {
        let sheet = lumps(&[solid(0.0006, 50.0, 7800.0, 480.0)], FILMS).unwrap();
        assert_eq!(sheet.capacities_j_m2k.len(), 1);
        assert!((sheet.capacities_j_m2k[0] - 0.0006 * 7800.0 * 480.0).abs() < 1e-9);
        let space = lumps(
            &[Layer::Resistance {
                resistance_m2k_w: 3.0,
            }],
            FILMS,
        )
        .unwrap();
        assert_eq!(space.capacities_j_m2k, [0.0, 0.0]);
        assert_eq!(space.resistances_m2k_w, [3.0]);
    }

    #[test]
    fn impossible_layers_are_refused() {
        assert_eq!(lumps(&[], FILMS), Err(ConductionError::NoLayers));
        assert!(matches!(
            lumps(&[concrete(0.1), concrete(-0.1)], FILMS),
            Err(ConductionError::Property {
                layer: 1,
                property: "thickness",
                ..
            })
        ));
        assert!(matches!(
            periodic_response(&[solid(0.1, f64::NAN, 1.0, 1.0)], FILMS, DAY_S),
            Err(ConductionError::Property { .. })
        ));
    }
}
