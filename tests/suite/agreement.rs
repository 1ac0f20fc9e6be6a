//! The default integrator against the reference: the demo's week, each design, and houses drawn at
//! random.

use std::ops::Range;
use std::path::Path;

use proptest::strategy::{Strategy as _, ValueTree as _};
use proptest::test_runner::TestRunner;
use rafterheat::equipment::Condition;
use rafterheat::house::{House, HouseFile, STARTER};
use rafterheat::network::Detail;
use rafterheat::run::{Choice, Outcome, RunOptions, Switching, simulate};
use rafterheat::weather::Weather;

use super::laws::draw;
use super::scene::demo;

/// How far attic air may be apart, K, at any instant, switches included.
const AIR_BAR_K: f64 = 0.02;

/// Heat through the ceiling over the period, relative.
const GAIN_BAR: f64 = 1e-3;

/// Instants of one switch, s, where the temperature crosses its set-point fast enough.
const INSTANT_BAR_S: f64 = 15.0;

/// Slower than this a crossing grazes, K/h: its instant says nothing, run times do.
const GRAZING_K_H: f64 = 0.2;

/// A condition counts as the one that switched if it is this close to its set-point, K.
const CLOSE_K: f64 = 0.1;

/// Run times of fans, relative.
const RUN_TIME_BAR: f64 = 2e-3;

/// Two switches farther apart than this are not the same one, s.
const FELLOW_S: f64 = 1800.0;

/// How far two runs of the same house are apart.
#[derive(Debug)]
struct Apart {
    air_k: f64,
    /// Readings of attic air, of all, that are farther apart than the bar.
    beyond: [usize; 2],
    gain: f64,
    /// The same against what is left of gain and loss.
    net_gain: f64,
    instant_s: f64,
    run_time: f64,
    sharp: usize,
    grazing: usize,
    /// Sharp switches of either run that the other has not.
    unmatched: usize,
}

impl Apart {
    fn check(&self, name: &str) {
        assert!(self.air_k <= AIR_BAR_K, "{name}: {self:?}");
        assert!(self.gain <= GAIN_BAR, "{name}: {self:?}");
        assert!(self.instant_s <= INSTANT_BAR_S, "{name}: {self:?}");
        assert!(self.run_time <= RUN_TIME_BAR, "{name}: {self:?}");
        assert!(self.unmatched == 0, "{name}: {self:?}");
    }
}

/// The default integrator against the reference at a tolerance.
fn apart(house: &House, weather: &Weather, period: &Range<usize>, tolerance: f64) -> Apart {
    let [fast, slow] = [
        RunOptions::default().integrator,
        Choice::Reference { tolerance },
    ]
    .map(|integrator| {
        // Both start from the settled first day, so that two days of warm-up do.
        let options = RunOptions {
            integrator,
            warm_up_days: 2,
            ..RunOptions::default()
        };
        simulate(house, weather, period.clone(), &options).unwrap()
    });
    let columns = fast.trace.attic_air_k.iter().zip(&slow.trace.attic_air_k);
    let air_k: Vec<f64> = columns.map(|(a, b)| (a - b).abs()).collect();
    let beyond = air_k.iter().filter(|&&apart_k| apart_k > AIR_BAR_K).count();
    // Against all heat that passed, so that a ceiling whose gain and loss cancel is no special case.
    let gain = |o: &Outcome| o.trace.ceiling_gain_w.iter().sum::<f64>();
    let passed: f64 = slow.trace.ceiling_gain_w.iter().map(|w| w.abs()).sum();
    let run_times = fast.fans.iter().zip(&slow.fans);
    let mut found = Apart {
        air_k: air_k.iter().copied().fold(0.0, f64::max),
        beyond: [beyond, air_k.len()],
        gain: (gain(&fast) - gain(&slow)).abs() / passed,
        net_gain: (gain(&fast) / gain(&slow) - 1.0).abs(),
        instant_s: 0.0,
        run_time: run_times
            .filter(|(_, b)| b.run_s > 0.0)
            .map(|(a, b)| (a.run_s / b.run_s - 1.0).abs())
            .fold(0.0, f64::max),
        sharp: 0,
        grazing: 0,
        unmatched: 0,
    };
    for control in &house.controls {
        let of = |o: &Outcome| -> Vec<Switching> {
            let own = o.switches.iter().filter(|s| s.control == control.name);
            own.cloned().collect()
        };
        let (theirs, mut ours) = (of(&slow), of(&fast));
        let rate = |run: &Outcome, switch: &Switching| {
            crossing_k_h(house, &control.control.all_of, run, switch.time_s)
        };
        for switch in &theirs {
            let far_s = |s: &Switching| (s.time_s - switch.time_s).abs();
            let fellow = (0..ours.len())
                .filter(|&index| ours[index].on == switch.on && far_s(&ours[index]) < FELLOW_S)
                .min_by(|&a, &b| far_s(&ours[a]).total_cmp(&far_s(&ours[b])));
            let fellow = fellow.map(|index| ours.remove(index));
            if rate(&slow, switch) <= GRAZING_K_H {
                found.grazing += 1;
                continue;
            }
            found.sharp += 1;
            match fellow {
                Some(fellow) => found.instant_s = found.instant_s.max(far_s(&fellow)),
                None => found.unmatched += 1,
            }
        }
        let left = ours.iter().filter(|s| rate(&fast, s) > GRAZING_K_H);
        found.unmatched += left.count();
    }
    found
}

fn delta() -> Weather {
    let sample = Path::new("weather-samples/delta-california-2017-summer.csv");
    Weather::read(sample, None).unwrap()
}

/// The reference is at 1e-7 here, whose own error is a thousandth of the bars.
fn compare(design: &str) {
    let file = demo();
    let weather = delta();
    let week = weather.hottest_week().unwrap().intervals;
    let found = apart(file.find(design).unwrap(), &weather, &week, 1e-7);
    println!("{design}: {found:?}");
    assert!(found.sharp >= 8, "{design}: {}", found.sharp);
    assert!(found.beyond[1] > 1500, "{design}: {}", found.beyond[1]);
    assert!(found.net_gain <= GAIN_BAR, "{design}: {}", found.net_gain);
    found.check(design);
}

/// Houses drawn at random, with the demo's thermostat on their fans and its windows opened at night.
fn drawn(count: usize) -> Vec<House> {
    let mut runner = TestRunner::deterministic();
    let file = demo();
    let demo = file.find("fans").unwrap();
    let hot_attic = demo.fans[0].control;
    let draws = (0..count).map(|_| draw().new_tree(&mut runner).unwrap().current());
    let houses = draws.map(|draw| {
        let mut house = draw.house();
        let ridge_m = house.attic_shape().ridge_height_m;
        house.controls.clone_from(&demo.controls);
        for named in &mut house.controls {
            for condition in &mut named.control.all_of {
                if let Condition::AtticAbove { height_m, .. } = condition {
                    *height_m = 0.5 * ridge_m;
                }
            }
        }
        house.living.airing.clone_from(&demo.living.airing);
        for group in &mut house.fans {
            group.control = hot_attic;
        }
        house
    });
    houses.collect()
}

#[test]
fn integrators_agree_on_houses_drawn_at_random() {
    let weather = delta();
    let week = weather.hottest_week().unwrap().intervals;
    let day = week.start..week.start + 48;
    let mut sharp = 0;
    for (number, house) in drawn(3).iter().enumerate() {
        let found = apart(house, &weather, &day, 1e-7);
        found.check(&format!("house {number}"));
        sharp += found.sharp;
    }
    assert!(sharp >= 6, "{sharp}");
}

/// The whole table: a week of the demo's designs and of twenty houses drawn at random, against the
/// reference at 1e-10. Prints a row each:
///
/// `cargo test --release --test suite agreement:: -- --ignored --nocapture`
///
/// Attic air meets its bar at all 48,000 readings.
#[test]
#[ignore = "takes minutes: the reference at 1e-10 for 24 house-weeks"]
fn the_table_of_the_default_integrators_errors() {
    let weather = delta();
    let week = weather.hottest_week().unwrap().intervals;
    let file = demo();
    let demos = file
        .all()
        .map(|house| (house.design.clone(), house.clone()));
    let random = drawn(20).into_iter().enumerate();
    let random = random.map(|(number, house)| (format!("house {}", number + 1), house));
    let all: Vec<(String, House)> = demos.chain(random).collect();
    println!(
        "| house | attic air, K | beyond the bar | ceiling gain, % | switches, s | run time, % \
         | sharp, grazing |"
    );
    println!("|---|---|---|---|---|---|---|");
    let mut table = Vec::new();
    for (name, house) in &all {
        let found = apart(house, &weather, &week, 1e-10);
        println!(
            "| {name} | {:.4} | {} of {} | {:.4} | {:.1} | {:.3} | {}, {} |",
            found.air_k,
            found.beyond[0],
            found.beyond[1],
            100.0 * found.gain,
            found.instant_s,
            100.0 * found.run_time,
            found.sharp,
            found.grazing
        );
        table.push((name, found));
    }
    for (name, found) in table {
        found.check(name);
    }
}

/// How fast the temperature that a control watches crosses its set-point, K/h: the slowest of its
/// conditions that stand at theirs. A clock is infinitely fast.
fn crossing_k_h(house: &House, conditions: &[Condition], outcome: &Outcome, time_s: f64) -> f64 {
    let trace = &outcome.trace;
    let ridge_m = house.attic_shape().ridge_height_m;
    // The last two readings up to the switch: after it the slope is another.
    let row = trace
        .times_s
        .iter()
        .rposition(|&t| t <= time_s)
        .unwrap_or(0);
    let (early, late) = (row.saturating_sub(1), row.max(1));
    let mut slowest = f64::INFINITY;
    for condition in conditions {
        let attic = |height_m: f64, row: usize| {
            let share = (height_m / ridge_m - 0.1) / 0.8;
            trace.attic_low_k[row] + (trace.attic_ridge_k[row] - trace.attic_low_k[row]) * share
        };
        let watched = |row: usize| match *condition {
            Condition::AtticAbove { height_m, .. } => attic(height_m, row),
            Condition::LivingAbove { .. } => trace.living_air_k[row],
            Condition::OutdoorsCoolerThanAttic { .. } => {
                trace.attic_air_k[row] - trace.outdoor_k[row]
            }
            Condition::OutdoorsCoolerThanLiving { .. } => {
                trace.living_air_k[row] - trace.outdoor_k[row]
            }
            Condition::Daily { .. } => f64::NAN,
        };
        let points = match *condition {
            Condition::AtticAbove { on_k, off_k, .. } | Condition::LivingAbove { on_k, off_k } => {
                [on_k, off_k]
            }
            Condition::OutdoorsCoolerThanAttic { margin_k }
            | Condition::OutdoorsCoolerThanLiving { margin_k } => [margin_k, 0.0],
            Condition::Daily { .. } => continue,
        };
        let rate = (watched(late) - watched(early)) / (trace.times_s[late] - trace.times_s[early]);
        let at_switch = watched(late) + rate * (time_s - trace.times_s[late]);
        if points
            .iter()
            .any(|point| (at_switch - point).abs() < CLOSE_K)
        {
            slowest = slowest.min(rate.abs() * 3600.0);
        }
    }
    slowest
}

#[test]
fn integrators_agree_on_the_demo_as_it_stands() {
    compare("as it stands");
}

#[test]
fn integrators_agree_on_the_demo_with_fans() {
    compare("fans");
}

#[test]
fn integrators_agree_on_the_demo_with_a_barrier() {
    compare("barrier");
}

#[test]
fn integrators_agree_on_the_demo_with_fans_and_a_barrier() {
    compare("fans and barrier");
}

/// More lumps and other authors' films move the attic by no more than films half as strong do: in a
/// light wind, `4 v` of EN ISO 6946 is little more than half of what a rough roof has here.
#[test]
fn finer_lumps_and_other_films_stay_within_half_of_the_films() {
    let file = HouseFile::from_text(STARTER, "house").unwrap();
    let weather = rafterheat::weather::MadeWeek::default().weather().unwrap();
    let run = |house: &House, detail| {
        let options = RunOptions {
            detail,
            ..RunOptions::default()
        };
        simulate(house, &weather, 48..96, &options).unwrap()
    };
    let mut weaker = file.base.clone();
    weaker.site.natural_film = 0.5;
    weaker.site.wind_film = 0.5;
    weaker.attic.film = 0.5;
    let usual = run(&file.base, Detail::Usual);
    let finer = run(&file.base, Detail::Finer);
    let weaker = run(&weaker, Detail::Usual);
    assert!(finer.nodes.len() > usual.nodes.len() + 10);
    let apart = |other: &Outcome| {
        let pairs = usual.trace.attic_air_k.iter().zip(&other.trace.attic_air_k);
        let squares: Vec<f64> = pairs.map(|(a, b)| (a - b).powi(2)).collect();
        (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
    };
    let (finer_k, weaker_k) = (apart(&finer), apart(&weaker));
    let high = |of: &Outcome| of.trace.attic_air_k.iter().copied().fold(0.0, f64::max);
    println!(
        "attic air apart: finer {finer_k:.2} K, weaker films {weaker_k:.2} K; highs {:.2} and {:.2} K over {:.2}",
        high(&finer) - high(&usual),
        high(&weaker) - high(&usual),
        high(&usual)
    );
    assert!(finer_k > 0.05 && finer_k < weaker_k, "{finer_k} {weaker_k}");
}
