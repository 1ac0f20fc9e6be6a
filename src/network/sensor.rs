//! Thermometers: what hangs between air and radiating surfaces does not read the air.

use nalgebra::DMatrix;

use crate::elementary::exp;
use crate::house::{House, Sensor, SensorZone};
use crate::physics::convection::{
    combined_w_m2k, conductivity_w_mk, kinematic_viscosity_m2_s, rayleigh_scale,
};
use crate::physics::radiation::{STEFAN_BOLTZMANN_W_M2K4, emissive_power_w_m2};
use crate::physics::view_factors::{passing_share, solid_angle_fraction};

use super::Landmarks;
use super::attic::AtticNodes;
use super::shape::Shape;

/// Emittance of a logger's plastic body (usual value, from memory).
const BODY_EMITTANCE: f64 = 0.9;

/// A thermometer ready to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Thermometer {
    /// Name in the file.
    pub name: String,
    /// Nodes of the air it hangs in and their weights.
    air: Vec<(usize, f64)>,
    /// Nodes that radiate at it and their shares of the incoming radiation.
    surroundings: Vec<(usize, f64)>,
    unshielded: f64,
    time_constant_s: f64,
    diameter_m: f64,
}

/// The thermometers of a house.
pub(super) fn thermometers(
    house: &House,
    shape: &Shape,
    attic: &AtticNodes,
    landmarks: &Landmarks,
    furniture: usize,
) -> Vec<Thermometer> {
    house
        .sensors
        .iter()
        .map(|sensor| {
            let (air, surroundings) = match sensor.zone {
                SensorZone::Attic => attic_scene(house, shape, attic, landmarks, sensor),
                SensorZone::Living => (vec![(landmarks.living, 1.0)], vec![(furniture, 1.0)]),
            };
            Thermometer {
                name: sensor.name.clone(),
                air,
                surroundings,
                unshielded: 1.0 - sensor.shielding,
                time_constant_s: sensor.time_constant_s,
                diameter_m: sensor.diameter_m,
            }
        })
        .collect()
}

type Weights = Vec<(usize, f64)>;

/// Air at the sensor's height and what its sphere sees from the middle of the plan.
fn attic_scene(
    house: &House,
    shape: &Shape,
    attic: &AtticNodes,
    landmarks: &Landmarks,
    sensor: &Sensor,
) -> (Weights, Weights) {
    let height = sensor.height_m.clamp(0.01, 0.98 * shape.ridge_height_m);
    let upper = landmarks.upper_weight(height);
    let air = vec![(attic.lower, 1.0 - upper), (attic.upper, upper)];
    // Below the ridge: half way across a gable roof, near the high wall of one slope.
    let across = match house.roof.form {
        crate::house::RoofForm::Gable | crate::house::RoofForm::Hip => 0.5 * shape.width_m,
        crate::house::RoofForm::OneSlope => 0.95 * shape.width_m,
    };
    let point = [0.5 * shape.length_m, across, height];
    let mut surroundings: Weights = Vec::new();
    let radiosity: &DMatrix<f64> = &attic.radiosity;
    // From inside, walls are half as far away as from one another: the root of what passes.
    let walls_m2: f64 = shape.faces.iter().map(|face| face.area_m2).sum();
    let passing = attic.framing.map_or(1.0, |framing| {
        passing_share(framing.area_m2, walls_m2).sqrt()
    });
    let faces = attic.facets.iter().map(|facet| {
        let polygon = &shape.faces[facet.face].polygon;
        passing * solid_angle_fraction(point, polygon) * facet.share
    });
    let timber = attic.framing.map(|_| 1.0 - passing);
    let mut sources: Vec<usize> = attic.facets.iter().map(|facet| facet.node).collect();
    sources.extend(attic.framing.map(|framing| framing.node));
    for (seen, share) in faces.chain(timber).enumerate() {
        for (source, &node) in sources.iter().enumerate() {
            let weight = share * radiosity[(seen, source)];
            match surroundings.iter_mut().find(|(known, _)| *known == node) {
                Some((_, sum)) => *sum += weight,
                None => surroundings.push((node, weight)),
            }
        }
    }
    (air, surroundings)
}

impl Thermometer {
    /// Temperature of the air about it, K.
    pub fn air_k(&self, state: &[f64]) -> f64 {
        self.air
            .iter()
            .map(|&(node, weight)| weight * state[node])
            .sum()
    }

    /// What it would read after a long wait, K: convection balances radiation.
    ///
    /// Natural convection on a sphere, `Nu = 2 + 0.589 Ra^¼/[1 + (0.469/Pr)^(9/16)]^(4/9)`
    /// (Churchill 1983, from memory), helped by air that drifts at 0.1 m/s, `Nu = 2 + 0.6 Re^½
    /// Pr^⅓` (Ranz & Marshall 1952). A shield keeps off its share of the radiation.
    pub fn settled_k(&self, state: &[f64]) -> f64 {
        const DRIFT_M_S: f64 = 0.1;
        const MOST_ROUNDS: usize = 12;
        const CLOSE_K: f64 = 1e-4;
        let air = self.air_k(state);
        let incoming: f64 = self
            .surroundings
            .iter()
            .map(|&(node, weight)| weight * emissive_power_w_m2(state[node]))
            .sum();
        let exchange = BODY_EMITTANCE * self.unshielded;
        let conductivity = conductivity_w_mk(air);
        let diameter = self.diameter_m;
        let per_kelvin = diameter.powi(3) / rayleigh_scale(air).powi(4);
        let reynolds = DRIFT_M_S * diameter / kinematic_viscosity_m2_s(air);
        let forced = conductivity / diameter * (2.0 + 0.6 * reynolds.sqrt() * 0.89);
        let still = conductivity / diameter * 2.0;
        let mut body = air;
        for _ in 0..MOST_ROUNDS {
            let rayleigh = (body - air).abs().max(0.05) * per_kelvin;
            let natural = still + conductivity / diameter * 0.589 * rayleigh.sqrt().sqrt() / 1.29;
            let film = combined_w_m2k(natural, forced);
            let excess = exchange * (incoming - emissive_power_w_m2(body)) - film * (body - air);
            // The film grows as the fourth root of the difference in its natural part.
            let growth = (natural / film).powi(2) * (natural - still) * 0.25;
            let slope = film + growth + exchange * 4.0 * STEFAN_BOLTZMANN_W_M2K4 * body.powi(3);
            body += excess / slope;
            if (excess / slope).abs() < CLOSE_K {
                break;
            }
        }
        body
    }

    /// What it reads, K, after `step_s` with the surroundings of `state`, having read `before_k`.
    pub fn reading_k(&self, before_k: f64, state: &[f64], step_s: f64) -> f64 {
        let settled = self.settled_k(state);
        if self.time_constant_s <= 0.0 {
            return settled;
        }
        settled + (before_k - settled) * exp(-step_s / self.time_constant_s)
    }
}
