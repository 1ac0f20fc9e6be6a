//! Limit cases whose answer is known without the engine, and cases at the edge of what a house can
//! be.

use std::f64::consts::{FRAC_PI_2, PI};

use rafterheat::equipment::{Condition, Control, Fan, FanCurve};
use rafterheat::house::{
    Airing, Barrier, BarrierPlace, Battens, Channel, Direction, FanGroup, Floor, House,
    NamedControl, Opening, Place, RoofForm,
};
use rafterheat::physics::conduction::Layer;
use rafterheat::run::{Notice, Outcome, RunOptions, simulate};
use rafterheat::weather::Weather;

use super::scene::{
    Hour, black_w_m2, days, hold, last_flow, last_k, peak, plain, run, run_closely, still, sunny,
    weather,
};

/// No way for air into or out of the attic.
pub(super) fn shut(mut house: House) -> House {
    house.openings.clear();
    house.fans.clear();
    house.attic.leakage_area_m2 = 0.0;
    house.ceiling.leakage_area_m2 = 0.0;
    house
}

pub(super) fn hung(channel: Channel, coverage: f64, attic: f64, other: f64) -> Barrier {
    Barrier {
        place: BarrierPlace::Rafters {
            gap_m: 0.1,
            channel,
            open_share: 0.6,
        },
        coverage,
        emittance_attic: attic,
        emittance_other: other,
        capacity_j_m2k: 300.0,
    }
}

fn attic_peaks(outcome: &Outcome) -> [f64; 5] {
    let trace = &outcome.trace;
    [
        &trace.attic_air_k,
        &trace.deck_underside_k,
        &trace.attic_floor_k,
        &trace.living_air_k,
        &trace.ceiling_gain_w,
    ]
    .map(|column| peak(column))
}

#[test]
fn foil_of_emittance_point_nine_on_deck_or_floor_is_no_foil() {
    let hot = weather(3, |hour| sunny(hour, 30.0, 8.0, 2.0, 240.0));
    let mut house = plain();
    house.roof.deck_emittance = 0.9;
    house.ceiling.floor_emittance = 0.9;
    let bare = attic_peaks(&run_closely(&house, &hot, days(&hot, 2..3)));
    for place in [BarrierPlace::Deck, BarrierPlace::Floor] {
        for coverage in [0.7, 1.0] {
            let barrier = Barrier {
                place,
                ..hung(Channel::Closed, coverage, 0.9, 0.05)
            };
            house.barrier = Some(barrier);
            let foil = attic_peaks(&run_closely(&house, &hot, days(&hot, 2..3)));
            // Not to the last digit: rounding alone may choose other steps.
            for (a, b) in bare.iter().zip(foil) {
                assert!(
                    (a / b - 1.0).abs() < 2e-6,
                    "{place:?} {coverage}: {bare:?} {foil:?}"
                );
            }
        }
        // And with an emittance of its own it is foil.
        house.barrier = Some(Barrier {
            place,
            ..hung(Channel::Closed, 1.0, 0.05, 0.05)
        });
        let foil = attic_peaks(&run_closely(&house, &hot, days(&hot, 2..3)));
        assert!(foil[4] < 0.9 * bare[4], "{place:?}: {bare:?} {foil:?}");
    }
}

#[test]
fn very_large_ventilation_gives_outdoors() {
    let hot = weather(3, |hour| sunny(hour, 30.0, 8.0, 4.0, 180.0));
    let mut house = plain();
    let before = run(&house, &hot, days(&hot, 2..3));
    for (place, azimuth_rad, height_m) in [
        (Place::Soffit, PI, 0.0),
        (Place::Soffit, 0.0, 0.0),
        (Place::Ridge, 0.0, 1.7),
    ] {
        house.openings.push(Opening {
            name: format!("openings.wide-{azimuth_rad}-{height_m}"),
            place,
            azimuth_rad,
            net_free_area_m2: 2000.0,
            height_m,
            extent_m: 0.1,
            turbine: None,
            mesh_m: None,
            discharge_coefficient: 0.6,
        });
    }
    let after = run(&house, &hot, days(&hot, 2..3));
    let excess = |outcome: &Outcome| {
        let trace = &outcome.trace;
        let pairs = trace.attic_air_k.iter().zip(&trace.outdoor_k);
        pairs
            .map(|(attic, outdoor)| (attic - outdoor).abs())
            .fold(0.0, f64::max)
    };
    println!(
        "excess {} K, wide open {} K",
        excess(&before),
        excess(&after)
    );
    assert!(excess(&before) > 5.0);
    assert!(excess(&after) < 0.05, "{}", excess(&after));
}

/// With outdoors, sky and rooms at one temperature, only sun that is taken up can heat the attic.
#[test]
fn without_absorptance_and_infrared_loss_the_sun_does_nothing() {
    let bright = weather(4, |hour| Hour {
        air_c: 27.0,
        infrared_w_m2: black_w_m2(300.15),
        ..sunny(hour, 27.0, 0.0, 2.0, 90.0)
    });
    let mut house = plain();
    hold(&mut house, 27.0);
    house.living.windows.clear();
    house.living.internal_gain_w = 0.0;
    house.living.wall_absorptance = 0.0;
    house.site.annual_mean_c = Some(27.0);
    house.attic.gable_absorptance = 0.0;
    // The ground, which follows the year, must not reach what the ceiling sees.
    let (Floor::Crawl { layers, .. } | Floor::Slab { layers, .. }) = &mut house.living.floor else {
        unreachable!("the house has rooms")
    };
    layers.push(Layer::Resistance {
        resistance_m2k_w: 1e4,
    });
    let dark = run(&house, &bright, days(&bright, 3..4));
    house.roof.solar_absorptance = 0.0;
    let white = run(&house, &bright, days(&bright, 3..4));
    let off = |column: &[f64]| {
        column
            .iter()
            .fold(0.0, |a: f64, t| a.max((t - 300.15).abs()))
    };
    let trace = &white.trace;
    for (name, column) in [
        ("attic air", &trace.attic_air_k),
        ("deck", &trace.deck_underside_k),
        ("floor", &trace.attic_floor_k),
    ] {
        println!(
            "{name} off by {} K, dark {}",
            off(column),
            off(&dark.trace.attic_air_k)
        );
        assert!(off(column) < 0.02, "{name}: {}", off(column));
    }
    let gain = peak(&trace.ceiling_gain_w);
    assert!(
        gain.abs() < 0.5 && peak(&dark.trace.ceiling_gain_w) > 50.0,
        "{gain} W"
    );
    assert!(off(&dark.trace.attic_air_k) > 5.0);
}

fn thermostat(name: &str) -> NamedControl {
    let condition = Condition::AtticAbove {
        on_k: 308.15,
        off_k: 305.15,
        height_m: 1.0,
    };
    NamedControl {
        name: name.to_owned(),
        control: Control {
            all_of: vec![condition],
        },
    }
}

fn fans(name: &str, count: u32) -> FanGroup {
    let curve = FanCurve::Quadratic {
        shut_off_pa: 25.0,
        free_air_m3_s: 0.0354,
    };
    FanGroup {
        name: format!("fans.{name}"),
        fan: Fan {
            curve,
            curve_density_kg_m3: 1.2,
            power_w: 5.0,
            speed: 1.0,
        },
        count,
        place: Place::Gable,
        azimuth_rad: FRAC_PI_2,
        hole_net_area_m2: 0.012,
        holes: count,
        fans_per_hole: 1,
        height_m: 1.1,
        discharge_coefficient: 0.6,
        direction: Direction::Exhaust,
        damper: false,
        vent_distance_m: None,
        shutter_leak_m2: 0.0,
        control: None,
    }
}

/// A run is finite and believable, or it is refused in words.
fn solved_or_refused(name: &str, house: &House, weather: &Weather) -> Option<Outcome> {
    let last = weather.intervals() / 24;
    match simulate(
        house,
        weather,
        days(weather, last - 1..last),
        &RunOptions::default(),
    ) {
        Ok(outcome) => {
            for (row, &temp) in outcome.state_k.iter().enumerate() {
                let node = &outcome.nodes[row % outcome.nodes.len()].name;
                assert!(
                    (230.0..400.0).contains(&temp),
                    "{name}: {node} is at {temp} K"
                );
            }
            let all_finite = outcome.flows.iter().all(|flow| flow.is_finite());
            assert!(all_finite, "{name}: a flow is not a number");
            let trace = &outcome.trace;
            for column in [
                &trace.attic_ach,
                &trace.from_living_share,
                &trace.attic_pressure_pa,
            ] {
                assert!(
                    column.iter().all(|value| value.is_finite()),
                    "{name}: {column:?}"
                );
            }
            for fan in &outcome.fans {
                assert!(fan.delivered_m3_s.is_finite() && fan.working_pressure_pa.is_finite());
            }
            let ends = outcome.flow_names.len();
            let mut names = outcome.flow_names.clone();
            names.sort();
            names.dedup();
            assert_eq!(names.len(), ends, "{name}: two flows have one name");
            let mut nodes: Vec<_> = outcome.nodes.iter().map(|node| &node.name).collect();
            nodes.sort();
            nodes.dedup();
            assert_eq!(
                nodes.len(),
                outcome.nodes.len(),
                "{name}: two nodes have one name"
            );
            Some(outcome)
        }
        Err(error) => {
            let text = error.to_string();
            println!("{name} refused: {text}");
            assert!(
                text.len() > 20 && text.contains(' ') && !text.contains("NaN"),
                "{text}"
            );
            None
        }
    }
}

fn hot_days() -> Weather {
    weather(2, |hour| sunny(hour, 30.0, 8.0, 2.5, 200.0))
}

#[test]
fn holes_without_area_houses_without_leaks_and_fans_in_closed_houses_are_never_nan() {
    let hot = hot_days();
    let mut house = shut(plain());
    assert!(solved_or_refused("nothing open", &house, &hot).is_some());

    house.living.leakage_m3_s = 0.0;
    assert!(solved_or_refused("nothing open or leaky anywhere", &house, &hot).is_some());

    house.fans = vec![fans("gable", 8)];
    let closed = solved_or_refused("fans in a closed attic", &house, &hot).unwrap();
    assert!(
        closed.fans[0].delivered_m3_s.abs() < 1e-6,
        "{:?}",
        closed.fans
    );

    house.ceiling.leakage_area_m2 = 0.01;
    let tight = solved_or_refused("fans in a closed house", &house, &hot).unwrap();
    assert!(
        tight.fans[0].delivered_m3_s.abs() < 1e-6,
        "{:?}",
        tight.fans
    );

    let mut house = plain();
    for opening in &mut house.openings {
        opening.net_free_area_m2 = 0.0;
    }
    assert!(solved_or_refused("openings of no area", &house, &hot).is_some());

    house.fans = vec![FanGroup {
        hole_net_area_m2: 0.0,
        ..fans("gable", 2)
    }];
    solved_or_refused("fans behind no hole", &house, &hot);

    house.fans = vec![FanGroup {
        holes: 3,
        ..fans("gable", 0)
    }];
    assert!(solved_or_refused("holes without fans", &house, &hot).is_some());

    let mut points = fans("gable", 2);
    points.hole_net_area_m2 = 0.0;
    points.fan.curve = FanCurve::Points(vec![[0.0, 25.0], [0.03, 8.0], [0.035, 0.0]]);
    house.fans = vec![points];
    solved_or_refused("fans of points behind no hole", &house, &hot);
}

#[test]
fn every_kind_of_barrier_channel_and_roof_runs() {
    let hot = hot_days();
    for form in [RoofForm::Gable, RoofForm::OneSlope, RoofForm::Hip] {
        let mut house = plain();
        house.roof.form = form;
        if form == RoofForm::Hip {
            house
                .openings
                .retain(|opening| opening.place != Place::Gable);
        }
        assert!(solved_or_refused("bare", &house, &hot).is_some());
        for coverage in [0.5, 1.0] {
            let channels = [
                Channel::Closed,
                Channel::Attic,
                Channel::Outdoors,
                Channel::EaveToAttic,
            ];
            let mut barriers: Vec<Barrier> = channels
                .map(|channel| hung(channel, coverage, 0.05, 0.9))
                .to_vec();
            for place in [BarrierPlace::Deck, BarrierPlace::Floor] {
                barriers.push(Barrier {
                    place,
                    ..hung(Channel::Closed, coverage, 0.05, 0.9)
                });
            }
            for barrier in barriers {
                let name = format!("{form:?} {barrier:?}");
                house.barrier = Some(barrier);
                assert!(solved_or_refused(&name, &house, &hot).is_some(), "{name}");
            }
        }
        house.barrier = Some(hung(Channel::Outdoors, 0.9, 0.05, 0.9));
        for open_share in [0.0, 0.02, 1.0] {
            house.roof.battens = Some(Battens {
                gap_m: 0.04,
                open_share,
                covering_emittance: 0.9,
                deck_emittance: 0.9,
            });
            let name = format!("{form:?} on battens open {open_share}");
            assert!(solved_or_refused(&name, &house, &hot).is_some(), "{name}");
        }
    }
}

#[test]
fn every_kind_of_fan_and_window_rule_runs() {
    let hot = hot_days();
    let mut house = plain();
    house.controls = vec![thermostat("hot"), night_air("night")];
    house.living.airing = Some(Airing {
        area_m2: 0.8,
        azimuth_rad: PI,
        control: 1,
    });
    let supply = FanGroup {
        direction: Direction::Supply,
        place: Place::Soffit,
        azimuth_rad: PI,
        height_m: 0.0,
        ..fans("supply", 3)
    };
    let mut points = FanGroup {
        control: Some(0),
        damper: true,
        ..fans("points", 5)
    };
    points.fan.curve = FanCurve::Points(vec![[0.0, 25.0], [0.03, 8.0], [0.035, 0.0]]);
    points.fan.speed = 0.7;
    points.fans_per_hole = 2;
    points.holes = 4;
    let slope = FanGroup {
        place: Place::Slope,
        azimuth_rad: 0.0,
        ..fans("slope", 1)
    };
    house.fans = vec![supply, points, slope];
    let outcome = solved_or_refused("three groups", &house, &hot).unwrap();
    for fan in &outcome.fans {
        let share = fan.delivered_m3_s / fan.free_air_m3_s;
        println!(
            "{}: {share:.2} of the label, {:.1} h",
            fan.name,
            fan.run_s / 3600.0
        );
        assert!(share > 0.3 && share < 1.1, "{}: {share}", fan.name);
    }
    assert!((outcome.fans[0].run_s - 86_400.0).abs() < 1e-3);
    assert!(outcome.fans[1].run_s > 3600.0 && outcome.fans[1].run_s < 80_000.0);
    let opened = last_flow(&outcome, "outdoors_to_living_by_windows-a-low");
    assert!(
        opened.abs() > 1e-3,
        "windows are open at midnight: {opened}"
    );
}

fn night_air(name: &str) -> NamedControl {
    let all_of = vec![
        Condition::Daily {
            from_s: 20.0 * 3600.0,
            to_s: 8.0 * 3600.0,
        },
        Condition::OutdoorsCoolerThanLiving { margin_k: 1.0 },
    ];
    NamedControl {
        name: name.to_owned(),
        control: Control { all_of },
    }
}

#[test]
fn houses_of_every_size_run() {
    let hot = hot_days();
    for (length_m, width_m, storeys, pitch_deg) in [
        (2.0_f64, 2.0_f64, 1, 20.0_f64),
        (120.0, 40.0, 1, 8.0),
        (15.0, 9.0, 2, 45.0),
        (9.0, 15.0, 3, 60.0),
        (40.0, 5.0, 1, 3.0),
    ] {
        let mut house = plain();
        let scale = length_m * width_m / (house.plan.length_m * house.plan.width_m);
        house.plan.length_m = length_m;
        house.plan.width_m = width_m;
        house.plan.storeys = storeys;
        house.roof.pitch_rad = pitch_deg.to_radians();
        house.living.windows.truncate(1);
        house.living.windows[0].area_m2 *= scale;
        house.living.fast_mass_j_k *= scale;
        house.living.fast_mass_area_m2 *= scale;
        house.living.internal_gain_w *= scale;
        let ridge_m = house.attic_shape().ridge_height_m;
        for opening in &mut house.openings {
            opening.net_free_area_m2 *= scale;
            opening.height_m = opening.height_m.min(0.8 * ridge_m);
        }
        let name = format!("{length_m} by {width_m} m, {storeys} storeys, {pitch_deg}°");
        let outcome = solved_or_refused(&name, &house, &hot);
        assert!(outcome.is_some(), "{name}");
        if let Floor::Crawl { .. } = house.living.floor {
            let layers = vec![Layer::Solid {
                thickness_m: 0.1,
                conductivity_w_mk: 1.7,
                density_kg_m3: 2300.0,
                specific_heat_j_kgk: 900.0,
                growth_per_k: 0.0,
            }];
            house.living.floor = Floor::Slab {
                layers,
                wall_thickness_m: 0.2,
            };
            assert!(solved_or_refused(&format!("{name} on a slab"), &house, &hot).is_some());
        }
    }
}

/// Between its set-points a thermostat stays as it was: also where a period begins.
#[test]
fn a_thermostat_that_is_on_when_a_period_begins_stays_on() {
    let hot = weather(3, |hour| sunny(hour, 32.0, 8.0, 1.0, 200.0));
    let mut house = plain();
    let condition = Condition::AtticAbove {
        on_k: 318.15,
        off_k: 299.15,
        height_m: 1.0,
    };
    let all_of = vec![condition];
    house.controls = vec![NamedControl {
        name: "hot".to_owned(),
        control: Control { all_of },
    }];
    house.fans = vec![FanGroup {
        control: Some(0),
        ..fans("gable", 2)
    }];
    let evening = |from: usize| {
        let outcome = run(&house, &hot, from..72);
        let begin = outcome.trace.attic_air_k[0];
        (begin, outcome.fan_share[0], outcome.switches)
    };
    let (_, _, switches) = evening(48);
    let noon = switches.iter().find(|s| s.on && s.time_s > 6.0 * 3600.0);
    assert!(
        noon.is_some_and(|s| s.time_s < 15.0 * 3600.0),
        "{switches:?}"
    );
    let (begin_k, share, _) = evening(48 + 20);
    assert!(begin_k < 316.0 && begin_k > 301.0, "{begin_k}");
    assert!((share - 1.0).abs() < 1e-9, "{share} at {begin_k} K");
}

/// Fans out of the upper layer of an attic in steady weather: what their air carries is its mass
/// flow times the heat capacity of moist air, and their volume flow is that of the fan laws.
#[test]
fn fans_carry_the_heat_of_moist_air_at_its_own_density() {
    let steady = weather(3, |_| Hour {
        infrared_w_m2: 650.0,
        ..still(34.0)
    });
    let mut house = plain();
    hold(&mut house, 26.0);
    let ridge_m = house.attic_shape().ridge_height_m;
    house.fans = vec![FanGroup {
        height_m: 0.9 * ridge_m,
        ..fans("top", 6)
    }];
    let outcome = run(&house, &steady, days(&steady, 2..3));
    let top_k = last_k(&outcome, "attic_upper_air");
    let mass = last_flow(&outcome, "attic_to_outdoors_by_top");
    let heat = last_flow(&outcome, "attic_upper_air_to_outdoors_by_top");
    assert!(top_k > 308.0 && mass > 0.05, "{top_k} K, {mass} kg/s");
    // Dew point 14 °C at 101325 Pa: 1598 Pa of vapour (from memory).
    let humidity_ratio: f64 = 0.621_945 * 1598.0 / (101_325.0 - 1598.0);
    let capacity = (1006.0 + 1860.0 * humidity_ratio) / (1.0 + humidity_ratio);
    let by_hand = mass * capacity * (top_k - 307.15);
    assert!(
        (heat / by_hand - 1.0).abs() < 2e-4,
        "{heat} W, by hand {by_hand} W"
    );

    let vapour = 1.0 + 1.607_858 * humidity_ratio;
    let density = 101_325.0 * (1.0 + humidity_ratio) / (287.055 * top_k * vapour);
    let delivered = outcome.fans[0].delivered_m3_s;
    assert!(
        (delivered * density / mass - 1.0).abs() < 1e-3,
        "{delivered} m³/s"
    );
}

#[test]
fn a_house_far_from_its_weather_is_told_so_and_one_near_is_not() {
    let hot = hot_days();
    let far = |latitude_deg, longitude_deg| {
        let mut house = plain();
        house.site.latitude_deg = Some(latitude_deg);
        house.site.longitude_deg = Some(longitude_deg);
        let outcome = run(&house, &hot, days(&hot, 1..2));
        outcome.notices.iter().find_map(|notice| match notice {
            Notice::FarFromWeather { distance_km } => Some(*distance_km),
            _ => None,
        })
    };
    let place = hot.place().clone();
    assert_eq!(far(place.latitude_deg, place.longitude_deg), None);
    // Five degrees of latitude are 556 km.
    let distance_km = far(place.latitude_deg - 5.0, place.longitude_deg).unwrap();
    assert!((distance_km - 556.0).abs() < 1.0, "{distance_km}");
}
