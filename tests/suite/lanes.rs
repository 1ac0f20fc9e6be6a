//! Houses side by side in lanes: each is the house alone to the last bit, whatever stands beside it.

use rafterheat::house::{DEMO, House, HouseFile, STARTER};
use rafterheat::network::Network;
use rafterheat::ode::OdeError;
use rafterheat::run::{Outcome, RunError, RunOptions, measure_each, simulate, simulate_each};
use rafterheat::weather::{MadeWeek, Weather};

fn weather() -> Weather {
    MadeWeek::default().weather().unwrap()
}

/// The third day of the week, so that there are days before it.
fn day(weather: &Weather) -> std::ops::Range<usize> {
    let intervals = (86_400 / weather.step_s()) as usize;
    2 * intervals..3 * intervals
}

/// Runs houses side by side; each outcome with the order in which they were done.
fn side_by_side(houses: &[&House], weather: &Weather) -> Vec<Result<Outcome, RunError>> {
    let pairs: Vec<_> = houses.iter().map(|house| (*house, weather)).collect();
    let options = RunOptions::default();
    simulate_each(&pairs, &day(weather), &options, |_, outcome| outcome)
}

fn alone(house: &House, weather: &Weather) -> Result<Outcome, RunError> {
    simulate(house, weather, day(weather), &RunOptions::default())
}

/// Variations of a design that fit lanes: different numbers, one form.
fn variations(file: &HouseFile, design: &str, settings: &[&[(&str, &str)]]) -> Vec<House> {
    settings
        .iter()
        .map(|settings| file.design_with(design, settings).unwrap())
        .collect()
}

/// Of a form with fans under a thermostat, which starts them at different times in each.
fn with_thermostats() -> Vec<House> {
    let file = HouseFile::from_text(DEMO, "demo").unwrap();
    variations(
        &file,
        "fans and barrier",
        &[
            &[("fans.gable.count", "6"), ("barrier.emittance", "0.03")],
            &[("fans.gable.count", "2"), ("barrier.emittance", "0.05")],
            &[("fans.gable.count", "3"), ("barrier.emittance", "0.1")],
            &[("fans.gable.count", "4"), ("barrier.emittance", "0.2")],
            &[("fans.gable.count", "5"), ("barrier.emittance", "0.3")],
            &[("fans.gable.count", "2"), ("roof.absorptance", "0.5")],
            &[("fans.gable.count", "3"), ("roof.absorptance", "0.6")],
            &[("fans.gable.count", "4"), ("roof.absorptance", "0.7")],
            &[("fans.gable.count", "5"), ("roof.absorptance", "0.95")],
            &[("fans.gable.count", "6"), ("roof.absorptance", "0.9")],
            &[("fans.gable.count", "6"), ("attic.leakage", "40 in2")],
        ],
    )
}

fn refs(houses: &[House]) -> Vec<&House> {
    houses.iter().collect()
}

#[test]
fn each_lane_is_the_house_alone_to_the_last_bit() {
    let weather = weather();
    let houses = with_thermostats();
    let together = side_by_side(&refs(&houses), &weather);
    let mut starts = Vec::new();
    for (house, outcome) in houses.iter().zip(together) {
        let (found, wanted) = (outcome.unwrap(), alone(house, &weather).unwrap());
        assert!(found == wanted, "{} moved in its lane", house.design);
        // Clocks turn over at full hours.
        let times = found.switches.iter().map(|one| one.time_s);
        starts.extend(times.filter(|time_s| time_s % 3600.0 > 0.0));
    }
    // The thermostats did switch, each at a time of its own.
    starts.sort_by(f64::total_cmp);
    starts.dedup();
    assert!(starts.len() > 6, "{starts:?}");
}

#[test]
fn a_lane_does_not_depend_on_its_company() {
    let weather = weather();
    let houses = with_thermostats();
    let forward = side_by_side(&refs(&houses), &weather);
    let mut turned = refs(&houses);
    turned.reverse();
    let mut backward = side_by_side(&turned, &weather);
    backward.reverse();
    assert!(forward == backward);
    let few: Vec<&House> = houses.iter().skip(2).step_by(2).collect();
    let some = side_by_side(&few, &weather);
    assert!(forward.iter().skip(2).step_by(2).eq(&some));
}

/// Outcomes that are only looked at are written into one another's place: nothing of the one before may
/// be left, though it had other stores, fans and thermometers.
#[test]
fn an_outcome_holds_nothing_of_the_one_written_there_before() {
    let weather = weather();
    let file = HouseFile::from_text(DEMO, "demo").unwrap();
    let mut houses = with_thermostats();
    houses.extend(file.all().cloned());
    let mut unread = file.base.clone();
    unread.sensors.clear();
    houses.extend([unread, file.base.clone()]);
    let wanted = side_by_side(&refs(&houses), &weather);
    let pairs: Vec<_> = houses.iter().map(|house| (house, &weather)).collect();
    let (day, options) = (day(&weather), RunOptions::default());
    for houses in [&pairs[..], &pairs[11..]] {
        let skipped = pairs.len() - houses.len();
        let same = measure_each(houses, &day, &options, |index, outcome| {
            outcome.unwrap() == wanted[skipped + index].as_ref().unwrap()
        });
        assert_eq!(same, vec![true; houses.len()]);
    }
}

/// The demo's four designs, three of each so that lanes are filled.
#[test]
fn the_demos_designs_are_the_same_in_lanes() {
    let weather = weather();
    let file = HouseFile::from_text(DEMO, "demo").unwrap();
    let designs: Vec<&House> = file.all().flat_map(|house| [house; 3]).collect();
    assert_eq!(designs.len(), 12);
    for (house, outcome) in designs.iter().zip(side_by_side(&designs, &weather)) {
        assert!(outcome == alone(house, &weather), "{}", house.design);
    }
}

/// Twenty houses and more of several forms, their assumptions drawn.
#[test]
fn drawn_houses_are_the_same_in_lanes() {
    let weather = weather();
    let houses = drawn(24);
    let together = side_by_side(&refs(&houses), &weather);
    for (house, outcome) in houses.iter().zip(together) {
        assert!(outcome == alone(house, &weather), "{house:?}");
    }
}

/// Starters with numbers drawn, of which many share a form.
fn drawn(count: usize) -> Vec<House> {
    let file = HouseFile::from_text(STARTER, "house.toml").unwrap();
    let mut seed = 7_u64;
    let mut throw = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (seed >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut houses = Vec::new();
    while houses.len() < count {
        let place = ["none", "rafters", "floor"][(throw() * 3.0) as usize];
        let emittance = format!("{:.3}", 0.03 + 0.4 * throw());
        let absorptance = format!("{:.3}", 0.4 + 0.5 * throw());
        let insulation = format!("R-{:.0}", 11.0 + 30.0 * throw());
        let fans = format!("{:.0}", 5.0 * throw());
        let leakage = format!("{:.0} in2", 10.0 + 60.0 * throw());
        let settings = [
            ("barrier.place", place),
            ("barrier.emittance", emittance.as_str()),
            ("roof.absorptance", absorptance.as_str()),
            ("ceiling.insulation", insulation.as_str()),
            ("fans.gable.count", fans.as_str()),
            ("attic.leakage", leakage.as_str()),
        ];
        houses.extend(file.with(&settings).map(|file| file.base));
    }
    houses
}

/// A house in a lane of its own trouble fails as it does alone, and the others do not feel it.
#[test]
fn a_lane_that_fails_does_so_alone() {
    let weather = weather();
    let mut houses = with_thermostats();
    let good = side_by_side(&refs(&houses), &weather);
    // No law of flow has a negative opening.
    for opening in &mut houses[3].openings {
        opening.net_free_area_m2 = f64::NAN;
    }
    let wanted = alone(&houses[3], &weather).unwrap_err();
    assert!(matches!(
        wanted,
        RunError::Solution(OdeError::StepUnderflow { .. } | OdeError::Flows(_))
    ));
    let found = side_by_side(&refs(&houses), &weather);
    for (index, (found, good)) in found.iter().zip(&good).enumerate() {
        if index == 3 {
            assert_eq!(
                format!("{:?}", found.as_ref().unwrap_err()),
                format!("{wanted:?}")
            );
        } else {
            assert!(found == good, "{index}");
        }
    }
}

/// These tests would say little if no two of these houses shared a form.
#[test]
fn numbers_alone_do_not_change_a_houses_form() {
    let file = HouseFile::from_text(DEMO, "demo").unwrap();
    let base = Network::<f64>::assemble(
        &variations(&file, "fans and barrier", &[&[("fans.gable.count", "2")]])[0],
    )
    .unwrap();
    for other in with_thermostats() {
        let other = Network::<f64>::assemble(&other).unwrap();
        assert!(base.shares_form(&other));
    }
    // Without foil, or with a fan in one gable only, it is another.
    let one_fan = variations(&file, "fans and barrier", &[&[("fans.gable.count", "1")]]);
    for other in [&file.base, &one_fan[0]] {
        assert!(!base.shares_form(&Network::<f64>::assemble(other).unwrap()));
    }
}
