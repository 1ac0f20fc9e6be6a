//! Layered assemblies as the shortest chains of lumps that answer daily swings as they do.

use std::f64::consts::PI;

use nalgebra::{Complex, DMatrix, DVector, Matrix2};

use crate::elementary::{exp, ln};
use crate::physics::conduction::{
    ConductionError, Films, Layer, arg, assembly_transfer, check, norm, resistance_transfer,
};

/// Why an assembly cannot be made into lumps.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LumpingError {
    /// The assembly itself is impossible.
    #[error(transparent)]
    Assembly(#[from] ConductionError),
    /// No chain of the most lumps allowed has the response of the assembly.
    #[error("{nodes} lumps miss the assembly's response by {error_of_bar} times what is allowed")]
    Unreachable {
        /// Lumps in the finest chain that was tried.
        nodes: usize,
        /// Its error as a multiple of the bar.
        error_of_bar: f64,
    },
}

fn capacity_transfer(capacity: f64, frequency: f64) -> Matrix2<Complex<f64>> {
    let one = Complex::new(1.0, 0.0);
    let zero = Complex::new(0.0, 0.0);
    Matrix2::new(one, zero, Complex::new(0.0, -frequency * capacity), one)
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
        norm(of(chain) / of(exact) - 1.0)
    };
    Mismatch {
        decrement: (1.0 / norm(ratio) - 1.0).abs(),
        time_lag_s: (arg(ratio) * period_s / (2.0 * PI)).abs(),
        admittance: admittance(0).max(admittance(1)),
    }
}

/// How a chain differs from the layers it stands for at a period, s.
///
/// # Errors
/// [`ConductionError`] when there is no layer or a property is not positive.
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
/// [`LumpingError`] when there is no layer, a property is not positive, or the finest chain misses
/// the bars.
pub fn lumps(layers: &[Layer], films: Films) -> Result<Chain, LumpingError> {
    lumps_with_places(layers, films, &[]).map(|(chain, _)| chain)
}

/// As [`lumps`], with a node kept at the far side of each layer named in `places`, where a
/// temperature or a heat flow is to be read, such as the top of a ceiling board. A kept node stays
/// at its place in the resistance of the assembly; nodes that are not kept stand for none. Also
/// gives the index of the node of each place; in an assembly of one node that is 0.
///
/// # Errors
/// As [`lumps`]. A place that is not a layer is the far surface.
pub fn lumps_with_places(
    layers: &[Layer],
    films: Films,
    places: &[usize],
) -> Result<(Chain, Vec<usize>), LumpingError> {
    check(layers)?;
    let capacity: f64 = layers.iter().map(Layer::capacity_j_m2k).sum();
    if let Some(chain) = one_node(layers) {
        return Ok((chain, vec![0; places.len()]));
    }
    let target = Target::new(layers, films);
    let mut slices = FEWEST_SLICES;
    let mut draft = Draft::of_slices(layers, slices, places);
    if capacity > 0.0 {
        while target.error(&draft.chain) > AIM && slices < MOST_SLICES {
            slices *= 2;
            draft = Draft::of_slices(layers, slices, places);
        }
        let error_of_bar = target.error(&draft.chain);
        if error_of_bar.is_nan() || error_of_bar > 1.0 {
            return Err(LumpingError::Unreachable {
                nodes: draft.kept.len(),
                error_of_bar,
            });
        }
        draft = target.thinned(draft, error_of_bar.max(AIM));
    }
    let nodes = places.iter().map(|place| draft.node_of(*place)).collect();
    Ok((draft.chain, nodes))
}

/// Layers cut into as many slices each, with nothing taken out, and the nodes of places as
/// [`lumps_with_places`] gives them.
///
/// # Errors
/// As [`lumps`], but never that the bars are missed.
pub fn slices(
    layers: &[Layer],
    count: usize,
    places: &[usize],
) -> Result<(Chain, Vec<usize>), LumpingError> {
    check(layers)?;
    if let Some(chain) = one_node(layers) {
        return Ok((chain, vec![0; places.len()]));
    }
    let draft = Draft::of_slices(layers, count.max(1), places);
    let nodes = places.iter().map(|place| draft.node_of(*place)).collect();
    Ok((draft.chain, nodes))
}

/// A sheet whose two surfaces are one node.
fn one_node(layers: &[Layer]) -> Option<Chain> {
    let capacity: f64 = layers.iter().map(Layer::capacity_j_m2k).sum();
    let resistance: f64 = layers.iter().map(Layer::resistance_m2k_w).sum();
    (capacity > 0.0 && resistance <= ONE_NODE_M2K_W).then(|| Chain {
        capacities_j_m2k: vec![capacity],
        resistances_m2k_w: Vec::new(),
    })
}

/// A chain on its way to being short.
#[derive(Debug, Clone)]
struct Draft {
    chain: Chain,
    /// The layer at whose far side a node is kept.
    kept: Vec<Option<usize>>,
}

impl Draft {
    /// Every solid layer as `count` equal π-sections. A node between two resistances without mass
    /// is left out.
    fn of_slices(layers: &[Layer], count: usize, places: &[usize]) -> Self {
        let mut capacities = vec![0.0];
        let mut resistances = Vec::new();
        let mut kept = vec![None];
        for (index, layer) in layers.iter().enumerate() {
            let cuts = match layer {
                Layer::Solid { .. } => count,
                Layer::Resistance { .. } => 1,
            };
            let half_slice = layer.capacity_j_m2k() / (2.0 * cuts as f64);
            for cut in 1..=cuts {
                if let Some(last) = capacities.last_mut() {
                    *last += half_slice;
                }
                capacities.push(half_slice);
                resistances.push(layer.resistance_m2k_w() / cuts as f64);
                kept.push((cut == cuts && places.contains(&index)).then_some(index));
            }
        }
        let mut draft = Self {
            chain: Chain {
                capacities_j_m2k: capacities,
                resistances_m2k_w: resistances,
            },
            kept,
        };
        let massless = |draft: &Self| {
            draft
                .removable()
                .find(|&index| draft.chain.capacities_j_m2k[index] <= 0.0)
        };
        while let Some(index) = massless(&draft) {
            draft = draft.without(index);
        }
        draft
    }

    /// The node kept for a place; the far surface if there is none.
    fn node_of(&self, place: usize) -> usize {
        let last = self.kept.len() - 1;
        self.kept
            .iter()
            .position(|&kept| kept == Some(place))
            .unwrap_or(last)
    }

    /// Inner nodes that are not kept.
    fn removable(&self) -> impl Iterator<Item = usize> + '_ {
        (1..self.kept.len().saturating_sub(1)).filter(|&index| self.kept[index].is_none())
    }

    /// The draft without an inner node, whose capacity its neighbours share.
    fn without(&self, index: usize) -> Self {
        let mut fewer = self.clone();
        fewer.kept.remove(index);
        let capacities = &mut fewer.chain.capacities_j_m2k;
        let resistances = &mut fewer.chain.resistances_m2k_w;
        let capacity = capacities.remove(index);
        let after = resistances.remove(index);
        let before = resistances[index - 1];
        resistances[index - 1] = before + after;
        let to_next = before / (before + after);
        capacities[index - 1] += capacity * (1.0 - to_next);
        capacities[index] += capacity * to_next;
        fewer
    }

    /// Scales each capacity and resistance by the exponential of its change, and then all
    /// capacities, and the resistances between kept nodes, back to their totals.
    fn changed(&self, logs: &DVector<f64>) -> Chain {
        let nodes = self.kept.len();
        let scale = |values: &[f64], offset: usize| -> Vec<f64> {
            let changed: Vec<f64> = values
                .iter()
                .enumerate()
                .map(|(i, value)| value * exp(logs[offset + i]))
                .collect();
            let back = values.iter().sum::<f64>() / changed.iter().sum::<f64>();
            changed.into_iter().map(|value| value * back).collect()
        };
        let mut resistances = Vec::with_capacity(nodes);
        let mut start = 0;
        for end in 1..nodes {
            if end == nodes - 1 || self.kept[end].is_some() {
                let section = &self.chain.resistances_m2k_w[start..end];
                resistances.extend(scale(section, nodes + start));
                start = end;
            }
        }
        Chain {
            capacities_j_m2k: scale(&self.chain.capacities_j_m2k, 0),
            resistances_m2k_w: resistances,
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
            residuals.push(ln(norm(through)) / bar.decrement);
            residuals.push(arg(through) * bar.period_s / (2.0 * PI) / bar.time_lag_s);
            for side in [0, 1] {
                let admittance = z[(side, side)] / exact[(side, side)] / through - 1.0;
                residuals.push(admittance.re / bar.admittance);
                residuals.push(admittance.im / bar.admittance);
            }
        }
        residuals.extend(logs.iter().map(|log| HOLD * log));
        DVector::from_vec(residuals)
    }

    /// The draft with its values moved to where the response fits best: Gauss–Newton on the
    /// logarithms, steps halved while they do not help.
    fn fitted(&self, start: &Draft) -> Draft {
        const ROUNDS: u32 = 20;
        const PROBE: f64 = 1e-5;
        let size = 2 * start.kept.len() - 1;
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
            let normal = jacobian.tr_mul(&jacobian);
            let Some(step) = normal
                .cholesky()
                .map(|factored| factored.solve(&jacobian.tr_mul(&here)))
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
        Draft {
            chain: start.changed(&logs),
            kept: start.kept.clone(),
        }
    }

    /// Takes out inner nodes while the error stays within `allowed`.
    fn thinned(&self, mut draft: Draft, allowed: f64) -> Draft {
        /// How many ways of taking a node out are fitted before giving up.
        const TRIALS: usize = 4;
        loop {
            let mut shorter: Vec<(f64, Draft)> = draft
                .removable()
                .map(|index| draft.without(index))
                .map(|shorter| (self.error(&shorter.chain), shorter))
                .collect();
            shorter.sort_by(|(a, _), (b, _)| a.total_cmp(b));
            let found = shorter
                .into_iter()
                .take(TRIALS)
                .find_map(|(error, shared)| {
                    if error <= allowed {
                        return Some(shared);
                    }
                    let fitted = self.fitted(&shared);
                    let keeps_surfaces = [0, shared.kept.len() - 1].iter().all(|&i| {
                        fitted.chain.capacities_j_m2k[i] >= 0.5 * shared.chain.capacities_j_m2k[i]
                    });
                    (keeps_surfaces && self.error(&fitted.chain) <= allowed).then_some(fitted)
                });
            match found {
                Some(shorter) => draft = shorter,
                None => return draft,
            }
        }
    }
}

/// Layers cut into even slices of at most a resistance each, m²K/W, without being held to the
/// bars; layers without mass stay whole. Also gives the node at the far side of layer `place`.
///
/// # Errors
/// As [`lumps`], but never that the bars are missed.
pub fn even_slices(
    layers: &[Layer],
    most_m2k_w: f64,
    place: usize,
) -> Result<(Chain, usize), LumpingError> {
    check(layers)?;
    let mut chain = Chain {
        capacities_j_m2k: vec![0.0],
        resistances_m2k_w: Vec::new(),
    };
    let mut kept = 0;
    for (index, layer) in layers.iter().enumerate() {
        let resistance = layer.resistance_m2k_w();
        let capacity = layer.capacity_j_m2k();
        let count = if capacity > 0.0 {
            (resistance / most_m2k_w).ceil().max(1.0)
        } else {
            1.0
        };
        let mut cut = 0.0;
        while cut < count {
            let last = chain.capacities_j_m2k.len() - 1;
            chain.capacities_j_m2k[last] += 0.5 * capacity / count;
            chain.capacities_j_m2k.push(0.5 * capacity / count);
            chain.resistances_m2k_w.push(resistance / count);
            cut += 1.0;
        }
        if index == place {
            kept = chain.capacities_j_m2k.len() - 1;
        }
    }
    Ok((chain, kept))
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
    fn a_place_is_a_node_at_the_resistance_of_the_layers_before_it() {
        let board = solid(0.0127, 0.16, 640.0, 1150.0);
        let layers = [board, solid(0.28, 0.042, 45.0, 1600.0)];
        let (chain, places) = lumps_with_places(&layers, FILMS, &[0]).unwrap();
        let before: f64 = chain.resistances_m2k_w[..places[0]].iter().sum();
        assert!((before / board.resistance_m2k_w() - 1.0).abs() < 1e-12);
        for (period_s, most) in [(DAY_S, 0.02), (0.5 * DAY_S, 0.05)] {
            let missed = mismatch(&chain, &layers, FILMS, period_s).unwrap();
            assert!(missed.decrement < most && missed.time_lag_s < 600.0);
        }
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
        assert_eq!(
            lumps(&[], FILMS),
            Err(LumpingError::Assembly(ConductionError::NoLayers))
        );
        // Twenty metres would need hundreds of lumps to pass on the last trace of a swing.
        assert!(matches!(
            lumps(&[solid(20.0, 0.04, 300.0, 2000.0)], FILMS),
            Err(LumpingError::Unreachable { .. })
        ));
    }

    #[test]
    fn slices_are_finer_and_keep_what_lumps_keep() {
        let wall = [
            solid(0.1, 0.8, 1800.0, 900.0),
            solid(0.0127, 0.16, 640.0, 1150.0),
        ];
        let (coarse, _) = lumps_with_places(&wall, FILMS, &[0]).unwrap();
        let (fine, nodes) = slices(&wall, 8, &[0]).unwrap();
        assert!(fine.capacities_j_m2k.len() > 2 * coarse.capacities_j_m2k.len());
        assert_eq!((fine.capacities_j_m2k.len(), nodes), (17, vec![8]));
        let total = |chain: &Chain| chain.capacities_j_m2k.iter().sum::<f64>();
        assert!((total(&fine) / total(&coarse) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn even_slices_keep_capacity_and_resistance() {
        let board = solid(0.0127, 0.16, 640.0, 1150.0);
        let joist = solid(0.14, 0.12, 500.0, 1630.0);
        let (chain, kept) = even_slices(&[board, joist], 0.3, 0).unwrap();
        let capacity: f64 = chain.capacities_j_m2k.iter().sum();
        let whole = board.capacity_j_m2k() + joist.capacity_j_m2k();
        assert!((capacity / whole - 1.0).abs() < 1e-12);
        let resistance: f64 = chain.resistances_m2k_w.iter().sum();
        let both = board.resistance_m2k_w() + joist.resistance_m2k_w();
        assert!((resistance / both - 1.0).abs() < 1e-12);
        assert_eq!((chain.capacities_j_m2k.len(), kept), (6, 1));
    }
}
