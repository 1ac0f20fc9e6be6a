//! Laws that hold for every house, tried on houses and weather drawn at random.
//!
//! Fans and windows never move by a control here: a thermostat breaks monotony, since a hotter
//! attic may start a fan. Each law says under which other hypotheses it is true.

use std::f64::consts::{PI, TAU};

use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed};
use rafterheat::equipment::{Fan, FanCurve};
use rafterheat::house::{
    Barrier, BarrierPlace, Channel, Direction, FanGroup, Floor, House, Opening, Place, RoofForm,
};
use rafterheat::physics::conduction::Layer;
use rafterheat::run::{Choice, Outcome, RunOptions, simulate};
use rafterheat::weather::Weather;

use super::scene::{Hour, days, hold, last_flow, peak, plain, run, still, sunny, weather};

/// Few cases, always the same ones: each is some days of a whole house. `PROPTEST_CASES` asks for
/// more, drawn afresh.
fn few(cases: u32) -> Config {
    let asked = std::env::var("PROPTEST_CASES")
        .ok()
        .and_then(|text| text.parse().ok());
    Config {
        cases: asked.unwrap_or(cases),
        rng_seed: match asked {
            Some(_) => RngSeed::Random,
            None => RngSeed::Fixed(20_260_620),
        },
        failure_persistence: None,
        max_shrink_iters: 60,
        ..Config::default()
    }
}

/// What is drawn for a house.
#[derive(Debug, Clone)]
pub(super) struct Draw {
    one_slope: bool,
    ridge_deg: f64,
    length_m: f64,
    width_m: f64,
    storeys: u32,
    pitch_deg: f64,
    absorptance: f64,
    deck_m: f64,
    insulation_m: f64,
    vent_share: f64,
    leak_share: f64,
    slab: bool,
    always_on_fans: u32,
    supply: bool,
    barrier: Option<(u8, f64, f64)>,
}

pub(super) fn draw() -> impl Strategy<Value = Draw> {
    let shape = (
        any::<bool>(),
        0.0..360.0f64,
        7.0..22.0f64,
        6.0..13.0f64,
        1..3u32,
        8.0..48.0f64,
    );
    let shell = (
        0.3..0.95f64,
        0.009..0.03f64,
        0.02..0.3f64,
        0.001..0.012f64,
        0.2..3.0f64,
    );
    let rest = (
        any::<bool>(),
        0..8u32,
        any::<bool>(),
        proptest::option::of((0..6u8, 0.5..1.0f64, 0.03..0.3f64)),
    );
    (shape, shell, rest).prop_map(|(shape, shell, rest)| Draw {
        one_slope: shape.0,
        ridge_deg: shape.1,
        length_m: shape.2,
        width_m: shape.3,
        storeys: shape.4,
        pitch_deg: shape.5,
        absorptance: shell.0,
        deck_m: shell.1,
        insulation_m: shell.2,
        vent_share: shell.3,
        leak_share: shell.4,
        slab: rest.0,
        always_on_fans: rest.1,
        supply: rest.2,
        barrier: rest.3,
    })
}

/// Days drawn: mean and swing of the air, °C, wind, m/s, and where it blows from, degrees.
fn sky() -> impl Strategy<Value = (f64, f64, f64, f64)> {
    (15.0..36.0f64, 3.0..9.0f64, 0.0..6.0f64, 0.0..360.0f64)
}

fn insulation(thickness_m: f64) -> Layer {
    Layer::Solid {
        thickness_m,
        conductivity_w_mk: 0.045,
        density_kg_m3: 12.0,
        specific_heat_j_kgk: 840.0,
        growth_per_k: 0.0056,
    }
}

fn insulate(house: &mut House, thickness_m: f64) {
    let joist_m = 0.14;
    house.ceiling.insulation = vec![insulation(thickness_m)];
    house.ceiling.joist_path = vec![Layer::Solid {
        thickness_m: joist_m,
        conductivity_w_mk: 0.13,
        density_kg_m3: 480.0,
        specific_heat_j_kgk: 1600.0,
        growth_per_k: 0.0,
    }];
    if thickness_m > joist_m + 0.001 {
        house
            .ceiling
            .joist_path
            .push(insulation(thickness_m - joist_m));
    }
}

impl Draw {
    pub(super) fn house(&self) -> House {
        let mut house = plain();
        "drawn".clone_into(&mut house.design);
        house.roof.form = if self.one_slope {
            RoofForm::OneSlope
        } else {
            RoofForm::Gable
        };
        let turn = if self.one_slope { 360.0 } else { 180.0 };
        house.roof.ridge_azimuth_rad = self.ridge_deg.rem_euclid(turn).to_radians();
        let scale = self.length_m * self.width_m / (house.plan.length_m * house.plan.width_m);
        house.plan.length_m = self.length_m;
        house.plan.width_m = self.width_m;
        house.plan.storeys = self.storeys;
        house.roof.pitch_rad = self.pitch_deg.to_radians();
        house.roof.solar_absorptance = self.absorptance;
        house.roof.deck = vec![Layer::Solid {
            thickness_m: self.deck_m,
            conductivity_w_mk: 0.12,
            density_kg_m3: 550.0,
            specific_heat_j_kgk: 1600.0,
            growth_per_k: 0.0,
        }];
        insulate(&mut house, self.insulation_m);
        house.attic.leakage_area_m2 *= scale * self.leak_share;
        house.ceiling.leakage_area_m2 *= scale * self.leak_share;
        house.attic.framing_mass_kg *= scale;
        house.attic.framing_area_m2 *= scale;
        let living = &mut house.living;
        for window in &mut living.windows {
            window.area_m2 *= 0.7 * scale.min(1.0);
        }
        living.fast_mass_j_k *= scale;
        living.fast_mass_area_m2 *= scale;
        living.internal_gain_w *= scale;
        living.leakage_m3_s *= scale * self.leak_share;
        if self.slab {
            let layers = vec![Layer::Solid {
                thickness_m: 0.1,
                conductivity_w_mk: 1.7,
                density_kg_m3: 2300.0,
                specific_heat_j_kgk: 900.0,
                growth_per_k: 0.0,
            }];
            living.floor = Floor::Slab {
                layers,
                wall_thickness_m: 0.2,
            };
        }
        let shape = house.attic_shape();
        let vents_m2 = self.vent_share * shape.floor_area_m2();
        let eaves = shape.slopes[0].azimuth_rad;
        let gable = shape.walls[0].azimuth_rad;
        house.openings = [
            ("eave", Place::Soffit, eaves, 0.0),
            ("gable", Place::Gable, gable, 0.5 * shape.ridge_height_m),
            ("ridge", Place::Ridge, 0.0, shape.ridge_height_m),
        ]
        .map(|(name, place, azimuth_rad, height_m)| Opening {
            name: format!("openings.{name}"),
            place,
            azimuth_rad,
            net_free_area_m2: vents_m2 / 3.0,
            height_m,
            extent_m: 0.2,
            turbine: None,
            mesh_m: None,
            discharge_coefficient: 0.6,
        })
        .to_vec();
        if self.always_on_fans > 0 {
            let direction = if self.supply {
                Direction::Supply
            } else {
                Direction::Exhaust
            };
            house.fans = vec![fans(self.always_on_fans, gable + PI, direction, &house)];
        }
        house.barrier = self
            .barrier
            .map(|(kind, coverage, emittance)| barrier(kind, coverage, emittance));
        house
    }
}

fn fans(count: u32, azimuth_rad: f64, direction: Direction, house: &House) -> FanGroup {
    let curve = FanCurve::Quadratic {
        shut_off_pa: 25.0,
        free_air_m3_s: 0.0354,
    };
    FanGroup {
        name: "fans.gable".to_owned(),
        fan: Fan {
            curve,
            curve_density_kg_m3: 1.2,
            power_w: 5.0,
            speed: 1.0,
        },
        count,
        place: Place::Gable,
        azimuth_rad: azimuth_rad.rem_euclid(TAU),
        hole_net_area_m2: 0.012,
        holes: count,
        fans_per_hole: 1,
        height_m: 0.4 * house.attic_shape().ridge_height_m,
        discharge_coefficient: 0.6,
        direction,
        damper: false,
        vent_distance_m: None,
        shutter_leak_m2: 0.0,
        control: None,
    }
}

fn barrier(kind: u8, coverage: f64, emittance: f64) -> Barrier {
    let hung = |channel| BarrierPlace::Rafters {
        gap_m: 0.09,
        channel,
        open_share: 0.5,
    };
    Barrier {
        place: match kind {
            0 => hung(Channel::Closed),
            1 => hung(Channel::Attic),
            2 => hung(Channel::Outdoors),
            3 => hung(Channel::EaveToAttic),
            4 => BarrierPlace::Deck,
            _ => BarrierPlace::Floor,
        },
        coverage,
        emittance_attic: emittance,
        emittance_other: 0.9,
        capacity_j_m2k: 300.0,
    }
}

fn clear(sky: (f64, f64, f64, f64)) -> Weather {
    weather(3, |hour| sunny(hour, sky.0, sky.1, sky.2, sky.3))
}

fn last_day(house: &House, weather: &Weather) -> Outcome {
    run(house, weather, days(weather, 2..3))
}

/// Values of a trace between 9 and 18 o'clock of a run that starts at midnight.
fn daytime<'a>(outcome: &'a Outcome, column: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
    let times = outcome.trace.times_s.iter().zip(column);
    times
        .filter(|(t, _)| (9.0 * 3600.0..=18.0 * 3600.0).contains(*t))
        .map(|(_, value)| *value)
}

proptest! {
    #![proptest_config(few(8))]

    /// At every instant and for every slope, fans off and no channel behind a foil that opens
    /// outdoors: at night the air in such a channel may turn round between a warmer and a cooler
    /// house, and then the cooler one's deck is warmed by attic air. For those, the day's peak.
    #[test]
    fn more_absorptance_never_cools_the_deck(draw in draw(), sky in sky(), more in 0.02..0.4f64) {
        let weather = clear(sky);
        let mut house = draw.house();
        house.fans.clear();
        let opens_out = matches!(draw.barrier, Some((2 | 3, ..)));
        house.roof.solar_absorptance = 0.5;
        let before = last_day(&house, &weather);
        house.roof.solar_absorptance += more;
        let after = last_day(&house, &weather);
        for row in 0..=before.times_s.len() {
            let (cool, warm) = (before.state_row(row), after.state_row(row));
            for &deck in &before.landmarks.decks {
                prop_assert!(opens_out || warm[deck] > cool[deck] - 0.01,
                    "{}: {} K against {} K", before.nodes[deck].name, warm[deck], cool[deck]);
            }
        }
        let peaks = [&before, &after].map(|o| peak(&o.trace.deck_underside_k));
        prop_assert!(peaks[1] > peaks[0] + more, "{peaks:?}");
    }

    /// A roof of absorptance 0.6 and more on warm sunny days, so that the deck is hotter than the
    /// floor while the sun is up, and insulation whose delay is a few hours: a cool roof's foil
    /// also keeps the night's cold from the floor, and thick insulation hands that on by day. The
    /// air that takes over more of the heat never carries as much of it down.
    #[test]
    fn lower_barrier_emittance_never_raises_the_daytime_peak_ceiling_gain(
        draw in draw(), sky in sky(), kind in 0..6u8, coverage in 0.5..1.0f64,
        low in 0.03..0.3f64, more in 0.05..0.5f64,
    ) {
        let weather = clear((sky.0.max(22.0), sky.1, sky.2, sky.3));
        let mut house = draw.house();
        house.roof.solar_absorptance = house.roof.solar_absorptance.max(0.6);
        insulate(&mut house, draw.insulation_m.min(0.15));
        house.barrier = Some(barrier(kind, coverage, low));
        let bright = last_day(&house, &weather);
        house.barrier = Some(barrier(kind, coverage, low + more));
        let dull = last_day(&house, &weather);
        let gain = |o: &Outcome| daytime(o, &o.trace.ceiling_gain_w).fold(f64::MIN, f64::max);
        prop_assert!(gain(&bright) < gain(&dull) + 1e-3 * gain(&dull).abs() + 0.1,
            "{} W bright, {} W dull", gain(&bright), gain(&dull));
    }

    /// Sunny days, so that the attic is warmer than outdoors while the sun is up; all openings grow
    /// by one factor; no fans (bigger holes can lame a fan by letting it turn its air round).
    #[test]
    fn more_vent_area_never_raises_the_mean_daytime_attic_air(
        draw in draw(), sky in sky(), factor in 1.2..5.0f64,
    ) {
        let weather = clear(sky);
        let mut house = draw.house();
        house.fans.clear();
        house.roof.solar_absorptance = house.roof.solar_absorptance.max(0.6);
        let tight = last_day(&house, &weather);
        for opening in &mut house.openings {
            opening.net_free_area_m2 *= factor;
        }
        let open = last_day(&house, &weather);
        let mean = |o: &Outcome| {
            let values: Vec<f64> = daytime(o, &o.trace.attic_air_k).collect();
            values.iter().sum::<f64>() / values.len() as f64
        };
        prop_assert!(mean(&open) < mean(&tight) + 0.01, "{} {}", mean(&open), mean(&tight));
    }

    /// Sunny days that are warmer than the rooms, which are held at 24 °C: all heat through the
    /// ceiling then runs down while the sun is up.
    #[test]
    fn more_insulation_never_raises_the_ceiling_gain(
        draw in draw(), sky in sky(), thin in 0.01..0.2f64, more in 0.01..0.2f64,
    ) {
        let weather = clear((sky.0.max(26.0), sky.1, sky.2, sky.3));
        let mut house = draw.house();
        hold(&mut house, 24.0);
        insulate(&mut house, thin);
        let bare = last_day(&house, &weather);
        insulate(&mut house, thin + more);
        let thick = last_day(&house, &weather);
        let gains = |o: &Outcome| {
            let day: Vec<f64> = daytime(o, &o.trace.ceiling_gain_w).collect();
            let mean = o.trace.ceiling_gain_w.iter().sum::<f64>();
            [peak(&day), mean / o.trace.times_s.len() as f64]
        };
        let (bare, thick) = (gains(&bare), gains(&thick));
        prop_assert!(thick[0] < bare[0] && thick[1] < bare[1], "{thick:?} {bare:?}");
    }
}

/// As [`last_day`], so fine that two orders of adding up give the same: rounding alone chooses
/// other steps, and then results differ by a share of the tolerance.
fn fine_day(house: &House, weather: &Weather) -> Outcome {
    let integrator = Choice::Default { tolerance_k: 3e-4 };
    run_with(
        house,
        weather,
        &RunOptions {
            integrator,
            ..RunOptions::default()
        },
    )
}

/// Far more than such a difference, far less than a mistaken side would make, K.
const SAME_K: f64 = 5e-3;

fn run_with(house: &House, weather: &Weather, options: &RunOptions) -> Outcome {
    simulate(house, weather, days(weather, 2..3), options).unwrap()
}

/// Largest difference of any temperature that is read, at any time, K, with its name.
fn farthest(a: &Outcome, b: &Outcome) -> (f64, &'static str) {
    let columns = |o: &Outcome| {
        let t = &o.trace;
        [
            ("ridge", t.attic_ridge_k.clone()),
            ("attic air", t.attic_air_k.clone()),
            ("low", t.attic_low_k.clone()),
            ("deck", t.deck_underside_k.clone()),
            ("floor", t.attic_floor_k.clone()),
            ("ceiling", t.ceiling_underside_k.clone()),
            ("living", t.living_air_k.clone()),
        ]
    };
    let mut worst = (0.0, "none");
    for ((name, a), (_, b)) in columns(a).into_iter().zip(columns(b)) {
        let far = a
            .iter()
            .zip(&b)
            .map(|(x, y)| (x - y).abs())
            .fold(0.0, f64::max);
        if far > worst.0 {
            worst = (far, name);
        }
    }
    worst
}

proptest! {
    #![proptest_config(few(8))]

    /// Any house without controls.
    #[test]
    fn halving_the_tolerance_moves_peaks_by_less_than_a_twentieth_of_a_kelvin(
        draw in draw(), sky in sky(),
    ) {
        let weather = clear(sky);
        let house = draw.house();
        let with = |tolerance_k| {
            let integrator = Choice::Default { tolerance_k };
            let options = RunOptions { integrator, ..RunOptions::default() };
            let trace = run_with(&house, &weather, &options).trace;
            [trace.attic_ridge_k, trace.attic_air_k, trace.deck_underside_k, trace.attic_floor_k,
                trace.living_air_k].map(|column| peak(&column))
        };
        let (usual, half) = (with(0.01), with(0.005));
        for (a, b) in usual.iter().zip(half) {
            prop_assert!((a - b).abs() < 0.05, "{usual:?} {half:?}");
        }
    }

    /// Any house without controls; 250 K and 340 K are colder and hotter than any attic.
    #[test]
    fn any_start_moves_results_by_less_than_a_twentieth_of_a_kelvin(
        draw in draw(), sky in sky(), masonry in 0.0..4e7f64,
    ) {
        let weather = clear(sky);
        let mut house = draw.house();
        house.living.slow_mass_j_k = masonry;
        house.living.slow_mass_area_m2 = 60.0;
        let from = |start_k| {
            let options = RunOptions { start_k, ..RunOptions::default() };
            run_with(&house, &weather, &options)
        };
        let usual = from(None);
        for start_k in [250.0, 340.0] {
            let other = from(Some(start_k));
            let (far, what) = farthest(&usual, &other);
            prop_assert!(far < 0.05, "from {start_k} K: {what} moves by {far} K");
            let gain = usual.trace.ceiling_gain_w.iter().zip(&other.trace.ceiling_gain_w);
            let far = gain.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            prop_assert!(far < 0.05 * 3.0 * usual.landmarks.floor_m2, "gain moves by {far} W");
        }
    }

    /// Any house.
    #[test]
    fn every_run_closes_its_books(draw in draw(), sky in sky()) {
        let weather = clear(sky);
        let outcome = last_day(&draw.house(), &weather);
        let balance = outcome.balance;
        prop_assert!(balance.energy_relative <= 1e-6 && balance.whole_relative <= 1e-6);
        prop_assert!(balance.air_kg_s <= 1e-6);
        // Added up afresh: what each store gained is what its flows brought, over the whole day.
        let mut brought = vec![0.0; outcome.nodes.len()];
        let mut moved = vec![0.0; outcome.nodes.len()];
        for row in 0..outcome.times_s.len() {
            let step_s = outcome.interval_s(row);
            for (&flow, &(from, to)) in outcome.flow_row(row).iter().zip(&outcome.flow_ends) {
                if let Some(from) = from {
                    brought[from] -= flow * step_s;
                    moved[from] += (flow * step_s).abs();
                }
                if let Some(to) = to {
                    brought[to] += flow * step_s;
                    moved[to] += (flow * step_s).abs();
                }
            }
        }
        let (first, last) = (outcome.state_row(0), outcome.state_row(outcome.times_s.len()));
        for (i, node) in outcome.nodes.iter().enumerate() {
            let off = node.capacity_j_k * (last[i] - first[i]) - brought[i];
            prop_assert!(off.abs() <= 1e-6 * moved[i], "{}: {off} J of {}", node.name, moved[i]);
        }
    }

    /// No wind, no fans, and an attic that is warmer than outdoors at night because the rooms are;
    /// no leaks in the ceiling, through which warm rooms can press air out of every vent.
    #[test]
    fn a_warm_attic_draws_in_low_and_lets_out_high(draw in draw(), outdoor_c in -10.0..15.0f64) {
        let calm = weather(3, |_| Hour { infrared_w_m2: 300.0, ..still(outdoor_c) });
        let mut house = draw.house();
        house.fans.clear();
        // The cold sky must not cool the attic below the air outside.
        house.roof.emittance = 0.05;
        house.attic.leakage_area_m2 = 0.0;
        house.ceiling.leakage_area_m2 = 0.0;
        insulate(&mut house, 0.02);
        hold(&mut house, 30.0);
        let outcome = last_day(&house, &calm);
        let excess = outcome.trace.attic_air_k.iter().zip(&outcome.trace.outdoor_k);
        prop_assert!(excess.map(|(a, o)| a - o).fold(f64::MAX, f64::min) > 0.2);
        let low = last_flow(&outcome, "outdoors_to_attic_by_eave");
        let high = last_flow(&outcome, "outdoors_to_attic_by_ridge");
        prop_assert!(low > 0.0 && high < 0.0, "{low} {high}");
        // With leaks the rooms, warmer and lower still, send air up.
        house.ceiling.leakage_area_m2 = 0.01;
        let outcome = last_day(&house, &calm);
        let ceiling = last_flow(&outcome, "living_to_attic_by_ceiling-leak");
        prop_assert!(ceiling > 0.0, "{ceiling}");
    }

    /// Everything at one temperature, two gable vents, wind within 30° of their axis.
    #[test]
    fn air_comes_in_to_windward_and_leaves_to_leeward(
        draw in draw(), wind_m_s in 1.0..8.0f64, off_deg in -29.0..29.0f64, share in 0.1..0.9f64,
    ) {
        let mut house = draw.house();
        house.fans.clear();
        house.barrier = None;
        hold(&mut house, 20.0);
        let shape = house.attic_shape();
        let walls = [shape.walls[0].azimuth_rad, shape.walls[1].azimuth_rad];
        let template = house.openings[1].clone();
        let vents_m2 = 0.1;
        house.openings = walls
            .iter()
            .zip([share, 1.0 - share])
            .zip(["first", "second"])
            .map(|((&azimuth_rad, share), name)| Opening {
                name: format!("openings.{name}"),
                azimuth_rad,
                net_free_area_m2: vents_m2 * share,
                ..template.clone()
            })
            .collect();
        for (windward, leeward, azimuth_rad) in
            [("first", "second", walls[0]), ("second", "first", walls[1])]
        {
            let wind = weather(3, |_| Hour {
                wind_m_s,
                wind_from_deg: azimuth_rad.to_degrees() + off_deg,
                ..still(20.0)
            });
            let outcome = last_day(&house, &wind);
            let flow = |name| last_flow(&outcome, &format!("outdoors_to_attic_by_{name}"));
            prop_assert!(flow(windward) > 0.0 && flow(leeward) < 0.0,
                "{} {}", flow(windward), flow(leeward));
        }
    }

    /// No sun, which cannot be turned: a house and its wind turned together are the same house.
    #[test]
    fn a_house_turned_with_its_wind_gives_the_same(draw in draw(), sky in sky(), turn in 1..4u32) {
        let turn_deg = 90.0 * f64::from(turn);
        let night = |from_deg: f64| {
            weather(3, move |hour| Hour {
                global_w_m2: 0.0,
                diffuse_w_m2: 0.0,
                ..sunny(hour, sky.0, sky.1, sky.2, from_deg)
            })
        };
        let mut draw = draw;
        draw.one_slope = true;
        let house = draw.house();
        let before = fine_day(&house, &night(sky.3));
        let mut turned = house.clone();
        let turn_rad = turn_deg.to_radians();
        let by = |azimuth_rad: &mut f64| *azimuth_rad = (*azimuth_rad + turn_rad).rem_euclid(TAU);
        by(&mut turned.roof.ridge_azimuth_rad);
        turned.openings.iter_mut().for_each(|o| by(&mut o.azimuth_rad));
        turned.fans.iter_mut().for_each(|f| by(&mut f.azimuth_rad));
        turned.living.windows.iter_mut().for_each(|w| by(&mut w.azimuth_rad));
        let after = fine_day(&turned, &night(sky.3 + turn_deg));
        let (far, what) = farthest(&before, &after);
        prop_assert!(far < SAME_K, "{what} moves by {far} K");
    }

    /// No sun: a house mirrored along its ridge, in mirrored wind, is the mirror image. The mirror
    /// with sun on given planes is in the network's own tests.
    #[test]
    fn a_mirrored_house_in_mirrored_wind_is_the_mirror_image(draw in draw(), sky in sky()) {
        let mut draw = draw;
        draw.one_slope = false;
        let house = draw.house();
        let ridge_rad = house.roof.ridge_azimuth_rad;
        let night = |from_deg: f64| {
            weather(3, move |hour| Hour {
                global_w_m2: 0.0,
                diffuse_w_m2: 0.0,
                ..sunny(hour, sky.0, sky.1, sky.2, from_deg)
            })
        };
        let before = fine_day(&house, &night(sky.3));
        let mut mirrored = house.clone();
        let flip = |azimuth_rad: &mut f64| {
            *azimuth_rad = (2.0 * ridge_rad - *azimuth_rad).rem_euclid(TAU);
        };
        mirrored.openings.iter_mut().for_each(|o| flip(&mut o.azimuth_rad));
        mirrored.fans.iter_mut().for_each(|f| flip(&mut f.azimuth_rad));
        mirrored.living.windows.iter_mut().for_each(|w| flip(&mut w.azimuth_rad));
        let mut from_rad = sky.3.to_radians();
        flip(&mut from_rad);
        let after = fine_day(&mirrored, &night(from_rad.to_degrees()));
        let (far, what) = farthest(&before, &after);
        prop_assert!(far < SAME_K, "{what} moves by {far} K");
        let flow = |o: &Outcome, name: &str| last_flow(o, &format!("outdoors_to_attic_by_{name}"));
        for name in ["eave", "gable", "ridge"] {
            let (a, b) = (flow(&before, name), flow(&after, name));
            prop_assert!((a - b).abs() < 1e-4 + 2e-3 * a.abs(), "{name}: {a} {b}");
        }
    }
}
