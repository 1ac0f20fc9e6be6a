//! A shut attic in steady weather, against a calculation by hand.

use std::f64::consts::{FRAC_PI_2, PI};

use nalgebra::{DMatrix, DVector};
use rafterheat::house::{BarrierPlace, Channel, House};
use rafterheat::physics::air_space::AirSpace;
use rafterheat::physics::attic_layers::{BOUNDARY_LAYER_EXCESS, interface_w_k, rise};
use rafterheat::physics::conduction::Layer;
use rafterheat::physics::convection::{
    FilmShares, OutsidePlate, Plate, Roughness, STANDARD_PRESSURE_PA, Wind,
};
use rafterheat::physics::insulation::LABEL_TEMP_K;
use rafterheat::physics::view_factors::{Face, view_factors};

use super::limits::{hung, shut};
use super::scene::{Hour, black_w_m2, days, hold, last_k, plain, run, still, weather};

/// Steady flux through layers from one surface's temperature to the other's, W/m²: walked from layer to
/// layer, each with its conductivity integrated over its temperatures, and bisected.
fn flux_w_m2(layers: &[Layer], from_k: f64, to_k: f64) -> f64 {
    let far_side_k = |flux: f64| {
        layers.iter().fold(from_k, |near_k, layer| {
            let growth = layer.growth_per_k();
            let above = near_k - LABEL_TEMP_K;
            let potential = above + 0.5 * growth * above * above - flux * layer.resistance_m2k_w();
            let beyond = if growth > 0.0 {
                ((1.0 + 2.0 * growth * potential).sqrt() - 1.0) / growth
            } else {
                potential
            };
            LABEL_TEMP_K + beyond
        })
    };
    let bare: f64 = layers.iter().map(Layer::resistance_m2k_w).sum();
    let (mut low, mut high) = (0.0, 2.0 * (from_k - to_k) / bare);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if (far_side_k(middle) > to_k) == (from_k > to_k) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// A shut gable attic without timber in steady weather without sun or wind, written down afresh: one balance for
/// each unknown, the radiosities by iteration, all solved by Newton's method. Only the formulas of
/// films, air spaces and layers and the view factors are the library's; each of those is checked
/// elsewhere against its source.
struct HandCalculation<'a> {
    house: &'a House,
    outdoor_k: f64,
    infrared_w_m2: f64,
    /// Underside of the ceiling below the insulation and below the joists, K: given.
    undersides_k: [f64; 2],
}

const P: f64 = STANDARD_PRESSURE_PA;

/// What each unknown has received, W.
struct Heat(Vec<f64>);

impl Heat {
    fn pass(&mut self, from: usize, to: Option<usize>, watts: f64) {
        self.0[from] -= watts;
        if let Some(to) = to {
            self.0[to] += watts;
        }
    }
}

/// In the order of the unknowns.
const SKIN: usize = 0;
const DECK: usize = 1;
const GABLE_OUT: usize = 2;
const GABLE_IN: usize = 3;
const FLOOR: usize = 4;
const JOIST: usize = 5;
const LOWER: usize = 6;
const UPPER: usize = 7;
const FOIL: usize = 8;

impl HandCalculation<'_> {
    fn incoming(&self, tilt_rad: f64) -> f64 {
        let up = 0.5 * (1.0 + tilt_rad.cos());
        let sky = up.powf(1.5);
        sky * self.infrared_w_m2 + (1.0 - sky) * black_w_m2(self.outdoor_k)
    }

    /// Heat that each unknown receives, W.
    fn excess(&self, t: &[f64]) -> Vec<f64> {
        let mut heat = Heat(vec![0.0; t.len()]);
        self.outside(t, &mut heat);
        self.shell(t, &mut heat);
        self.convection(t, &mut heat);
        self.radiation(t, &mut heat);
        heat.0
    }

    /// Length, width, height of the ridge, length along a slope, m.
    fn sizes(&self) -> [f64; 4] {
        let plan = &self.house.plan;
        let half = 0.5 * plan.width_m;
        let pitch = self.house.roof.pitch_rad;
        [
            plan.length_m,
            plan.width_m,
            half * pitch.tan(),
            half / pitch.cos(),
        ]
    }

    /// Areas of both slopes, both gables and the floor, m².
    fn areas(&self) -> [f64; 3] {
        let [length, width, height, run] = self.sizes();
        [2.0 * length * run, width * height, length * width]
    }

    /// Outer surfaces without wind and sun.
    fn outside(&self, t: &[f64], heat: &mut Heat) {
        let roof = &self.house.roof;
        let [length, _, height, run] = self.sizes();
        let [slopes, gables, _] = self.areas();
        let per_perimeter = run * length / (2.0 * (run + length));
        let plate = Plate::new(roof.pitch_rad, run, per_perimeter, P);
        let wall = Plate::new(FRAC_PI_2, height, 1.0, P);
        let sides = [
            (
                SKIN,
                slopes,
                roof.pitch_rad,
                roof.emittance,
                OutsidePlate::new(plate, run, roof.roughness, P),
            ),
            (
                GABLE_OUT,
                gables,
                FRAC_PI_2,
                0.9,
                OutsidePlate::new(wall, height, Roughness::MediumRough, P),
            ),
        ];
        for (node, area, tilt_rad, emittance, outer) in sides {
            let film = outer.film_w_m2k(t[node], self.outdoor_k, Wind::of(0.0), FilmShares::one());
            heat.pass(node, None, area * film * (t[node] - self.outdoor_k));
            let emitted = emittance * (black_w_m2(t[node]) - self.incoming(tilt_rad));
            heat.pass(node, None, area * emitted);
        }
    }

    /// Conduction through roof, gables and ceiling, and the space behind a hung sheet.
    fn shell(&self, t: &[f64], heat: &mut Heat) {
        let house = self.house;
        let (roof, ceiling) = (&house.roof, &house.ceiling);
        let [slopes, gables, floor] = self.areas();
        let roofing = [roof.deck.as_slice(), &roof.covering].concat();
        let flux = flux_w_m2(&roofing, t[DECK], t[SKIN]);
        heat.pass(DECK, Some(SKIN), slopes * flux);
        let flux = flux_w_m2(&house.attic.gable_wall, t[GABLE_IN], t[GABLE_OUT]);
        heat.pass(GABLE_IN, Some(GABLE_OUT), gables * flux);
        let shares = [1.0 - ceiling.joist_share, ceiling.joist_share];
        let above = [&ceiling.insulation, &ceiling.joist_path];
        for (path, top) in [FLOOR, JOIST].into_iter().enumerate() {
            let layers = [ceiling.board.as_slice(), above[path]].concat();
            let flux = flux_w_m2(&layers, self.undersides_k[path], t[top]);
            heat.pass(top, None, -floor * shares[path] * flux);
        }
        if let Some(barrier) = &house.barrier {
            let BarrierPlace::Rafters {
                gap_m,
                channel: Channel::Closed,
                ..
            } = barrier.place
            else {
                panic!("only a closed channel is known by hand");
            };
            // The radiation shield of the textbooks, and still air.
            let pair = 1.0 / (1.0 / barrier.emittance_other + 1.0 / roof.deck_emittance - 1.0);
            let radiated = pair * (black_w_m2(t[DECK]) - black_w_m2(t[FOIL]));
            let run = self.sizes()[3];
            let space = AirSpace::new(roof.pitch_rad, gap_m, run, P);
            let conducted = space.conductance_w_m2k(t[FOIL], t[DECK]) * (t[DECK] - t[FOIL]);
            heat.pass(DECK, Some(FOIL), slopes * (radiated + conducted));
        }
    }

    /// What the attic sees of the slopes, deck or foil, and its emittance.
    fn inner(&self) -> (usize, f64) {
        match &self.house.barrier {
            None => (DECK, self.house.roof.deck_emittance),
            Some(barrier) => (FOIL, barrier.emittance_attic),
        }
    }

    /// Convection to two layers of air and what passes between them.
    fn convection(&self, t: &[f64], heat: &mut Heat) {
        let pitch = self.house.roof.pitch_rad;
        let joists = self.house.ceiling.joist_share;
        let [length, width, height, run] = self.sizes();
        let [slopes, gables, floor] = self.areas();
        let (inner, _) = self.inner();
        let slope = Plate::new(PI - pitch, run, run * length / (2.0 * (run + length)), P);
        let wall = Plate::new(FRAC_PI_2, height, 1.0, P);
        // The lower part of each, beside which warm air rises; the rest meets the upper layer.
        let mut stirred = 0.0;
        for (node, plate, area, low) in
            [(inner, slope, slopes, 0.5), (GABLE_IN, wall, gables, 0.75)]
        {
            let low_w_k = plate.natural_w_m2k(t[node], t[LOWER]) * area * low;
            let lift = rise(t[node], t[LOWER], t[UPPER]).share;
            let low_w = low_w_k * (t[node] - t[LOWER]);
            heat.pass(node, Some(LOWER), low_w * (1.0 - lift));
            heat.pass(node, Some(UPPER), low_w * lift);
            let high = plate.natural_w_m2k(t[node], t[UPPER]) * area * (1.0 - low);
            heat.pass(node, Some(UPPER), high * (t[node] - t[UPPER]));
            stirred += lift * low_w_k / BOUNDARY_LAYER_EXCESS;
        }
        let plate = Plate::new(0.0, width, floor / (2.0 * (length + width)), P);
        for (top, share) in [(FLOOR, 1.0 - joists), (JOIST, joists)] {
            let film = plate.natural_w_m2k(t[top], t[LOWER]);
            heat.pass(top, Some(LOWER), floor * share * film * (t[top] - t[LOWER]));
        }
        // What rises must come down again through the interface.
        let mixed = interface_w_k(floor / 2.0, t[LOWER], t[UPPER]).0;
        heat.pass(
            LOWER,
            Some(UPPER),
            (stirred + mixed) * (t[LOWER] - t[UPPER]),
        );
    }

    /// Radiation in the prism.
    fn radiation(&self, t: &[f64], heat: &mut Heat) {
        let [l, w, h, _] = self.sizes();
        let at = |x: f64, y: f64, z: f64| [x, y, z];
        let prism = [
            vec![at(0., 0., 0.), at(l, 0., 0.), at(l, w, 0.), at(0., w, 0.)],
            vec![
                at(0., 0., 0.),
                at(0., w / 2., h),
                at(l, w / 2., h),
                at(l, 0., 0.),
            ],
            vec![
                at(0., w, 0.),
                at(l, w, 0.),
                at(l, w / 2., h),
                at(0., w / 2., h),
            ],
            vec![at(0., 0., 0.), at(0., w, 0.), at(0., w / 2., h)],
            vec![at(l, 0., 0.), at(l, w / 2., h), at(l, w, 0.)],
        ]
        .map(|vertices| Face { vertices });
        let seen = view_factors(&prism).unwrap();
        let gable = (GABLE_IN, self.house.attic.gable_emittance);
        let inner = self.inner();
        let joists = self.house.ceiling.joist_share;
        let emittance = self.house.ceiling.floor_emittance;
        // Face, share of it, unknown and emittance.
        let parts = [
            (0, 1.0 - joists, (FLOOR, emittance)),
            (0, joists, (JOIST, emittance)),
            (1, 1.0, inner),
            (2, 1.0, inner),
            (3, 1.0, gable),
            (4, 1.0, gable),
        ];
        let arriving = |radiosity: &[f64], face: usize| -> f64 {
            let sent = parts.iter().zip(radiosity);
            sent.map(|(&(other, share, _), j)| seen[(face, other)] * share * j)
                .sum()
        };
        let mut radiosity = vec![0.0; parts.len()];
        for _ in 0..200 {
            radiosity = parts
                .iter()
                .map(|&(face, _, (node, e))| {
                    e * black_w_m2(t[node]) + (1.0 - e) * arriving(&radiosity, face)
                })
                .collect();
        }
        for &(face, share, (node, e)) in &parts {
            let net = e * (black_w_m2(t[node]) - arriving(&radiosity, face));
            heat.pass(node, None, prism[face].area_m2() * share * net);
        }
    }

    fn solve(&self) -> Vec<f64> {
        let count = if self.house.barrier.is_some() { 9 } else { 8 };
        let mut t = vec![self.outdoor_k; count];
        for _ in 0..60 {
            let base = self.excess(&t);
            let mut slopes = DMatrix::zeros(count, count);
            for column in 0..count {
                let mut moved = t.clone();
                moved[column] += 1e-5;
                for (row, value) in self.excess(&moved).into_iter().enumerate() {
                    slopes[(row, column)] = (value - base[row]) / 1e-5;
                }
            }
            let step = slopes.lu().solve(&-DVector::from_vec(base)).unwrap();
            let scale = 3.0 / step.amax().max(3.0);
            for (value, change) in t.iter_mut().zip(step.iter()) {
                *value += scale * change;
            }
        }
        let worst = self
            .excess(&t)
            .into_iter()
            .fold(0.0, |a: f64, x| a.max(x.abs()));
        assert!(worst < 1e-3, "the hand calculation is off by {worst} W");
        t
    }
}

/// The engine's steady state against the hand calculation; returns the largest difference, K.
fn compare_with_hand(house: &House, outdoor_c: f64, infrared_w_m2: f64) -> f64 {
    let steady = weather(6, |_| Hour {
        infrared_w_m2,
        ..still(outdoor_c)
    });
    let outcome = run(house, &steady, days(&steady, 3..6));
    let hand = HandCalculation {
        house,
        outdoor_k: outdoor_c + 273.15,
        infrared_w_m2,
        undersides_k: ["ceiling_underside", "joist_underside"].map(|n| last_k(&outcome, n)),
    };
    let t = hand.solve();
    let mut named = vec![
        ("slope_s_skin", SKIN),
        ("slope_n_underside", DECK),
        ("gable_e_outside", GABLE_OUT),
        ("gable_w_inside", GABLE_IN),
        ("attic_floor", FLOOR),
        ("attic_floor_at_joists", JOIST),
        ("attic_lower_air", LOWER),
        ("attic_upper_air", UPPER),
    ];
    if house.barrier.is_some() {
        named.push(("slope_n_foil", FOIL));
    }
    let mut worst = 0.0_f64;
    for (name, unknown) in named {
        let engine = last_k(&outcome, name);
        println!(
            "{name}: engine {:.4}, by hand {:.4}",
            engine - 273.15,
            t[unknown] - 273.15
        );
        worst = worst.max((engine - t[unknown]).abs());
    }
    worst
}

/// A cold sky cools the roof from above: unstable air, one layer in effect. A sky that glows warms
/// it: stable air in two layers with air rising along the slopes.
#[test]
fn without_sun_and_in_steady_weather_the_attic_is_as_calculated_by_hand() {
    let mut house = shut(plain());
    house.attic.framing_area_m2 = 0.0;
    house.ceiling.floor_emittance = 0.6;
    house.attic.gable_emittance = 0.8;
    hold(&mut house, 26.0);
    for (outdoor_c, infrared) in [(15.0, 280.0), (30.0, 690.0), (26.0, black_w_m2(299.15))] {
        let worst = compare_with_hand(&house, outdoor_c, infrared);
        assert!(worst < 0.02, "{worst} K at {infrared} W/m²");
    }
}

#[test]
fn a_hung_sheet_is_the_radiation_shield_of_the_textbooks() {
    let mut house = shut(plain());
    house.attic.framing_area_m2 = 0.0;
    hold(&mut house, 26.0);
    for (attic, other) in [(0.9, 0.9), (0.05, 0.9), (0.9, 0.04)] {
        house.barrier = Some(hung(Channel::Closed, 1.0, attic, other));
        for infrared in [280.0, 690.0] {
            let worst = compare_with_hand(&house, 25.0, infrared);
            assert!(
                worst < 0.02,
                "{worst} K at {infrared} W/m² with {attic} and {other}"
            );
        }
    }
}
