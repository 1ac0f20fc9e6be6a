//! The default integrator against the reference on the demo's week, each design.

use std::path::Path;

use rafterheat::equipment::Condition;
use rafterheat::house::House;
use rafterheat::run::{Choice, Outcome, RunOptions, Switching, simulate};
use rafterheat::weather::Weather;

use super::scene::demo;

/// How far attic air may be apart outside the minutes about a switch, K.
const AIR_BAR_K: f64 = 0.05;

/// Heat through the ceiling over the week, relative.
const GAIN_BAR: f64 = 2e-3;

/// Instants of one switch, s, where the temperature crosses its set-point fast enough.
const INSTANT_BAR_S: f64 = 30.0;

/// Slower than this a crossing grazes, K/h: its instant says nothing, run times do.
const GRAZING_K_H: f64 = 0.2;

/// A condition counts as the one that switched if it is this close to its set-point, K.
const CLOSE_K: f64 = 0.1;

/// Run times of fans, relative.
const RUN_TIME_BAR: f64 = 0.01;

fn compare(design: &str) {
    let file = demo();
    let house = file.find(design).unwrap();
    let sample = Path::new("weather-samples/delta-california-2017-summer.csv");
    let weather = Weather::read(sample, None).unwrap();
    let week = weather.hottest_week().unwrap().intervals;
    let [fast, slow] = [
        Choice::Default { tolerance_k: 0.01 },
        Choice::Reference { tolerance: 1e-7 },
    ]
    .map(|integrator| {
        // Both start from the settled first day, so that two days of warm-up do.
        let options = RunOptions {
            integrator,
            warm_up_days: 2,
            ..RunOptions::default()
        };
        simulate(house, &weather, week.clone(), &options).unwrap()
    });

    let near_switch = |time_s: f64| {
        let both = fast.switches.iter().chain(&slow.switches);
        both.into_iter()
            .any(|switch| (-60.0..=600.0).contains(&(time_s - switch.time_s)))
    };
    // Attic air; and, only told, the reading near the ridge, which is drawn out beyond the middles
    // of the layers.
    let (mut apart_k, mut ridge_apart_k, mut compared) = (0.0_f64, 0.0_f64, 0);
    for (row, &time_s) in slow.trace.times_s.iter().enumerate() {
        if near_switch(time_s) {
            continue;
        }
        let apart = |a: &[f64], b: &[f64]| (a[row] - b[row]).abs();
        let (a, b) = (&fast.trace, &slow.trace);
        apart_k = apart_k.max(apart(&a.attic_air_k, &b.attic_air_k));
        ridge_apart_k = ridge_apart_k.max(apart(&a.attic_ridge_k, &b.attic_ridge_k));
        compared += 1;
    }
    assert!(compared > 1500, "only {compared} readings were compared");

    let gain = |o: &Outcome| o.trace.ceiling_gain_w.iter().sum::<f64>();
    let gain_apart = (gain(&fast) / gain(&slow) - 1.0).abs();

    let (mut instants_s, mut sharp, mut grazing) = (0.0_f64, 0, 0);
    for control in &house.controls {
        let of = |o: &Outcome| -> Vec<Switching> {
            let own = o.switches.iter().filter(|s| s.control == control.name);
            own.cloned().collect()
        };
        let (mut theirs, mut ours) = (of(&slow), of(&fast));
        theirs.retain(|switch| {
            let rate = crossing_k_h(house, &control.control.all_of, &slow, switch.time_s);
            let keep = rate > GRAZING_K_H;
            grazing += usize::from(!keep);
            if !keep {
                // Its fellow, if it has one, is left out too.
                let fellow =
                    |s: &Switching| s.on == switch.on && (s.time_s - switch.time_s).abs() < 1800.0;
                if let Some(index) = ours.iter().position(fellow) {
                    ours.remove(index);
                }
            }
            keep
        });
        assert_eq!(theirs.len(), ours.len(), "{design}: {}", control.name);
        for (a, b) in ours.iter().zip(&theirs) {
            assert_eq!(a.on, b.on, "{design}: {} at {} s", control.name, a.time_s);
            instants_s = instants_s.max((a.time_s - b.time_s).abs());
            sharp += 1;
        }
    }
    println!(
        "{design}: air {apart_k:.4} K, ridge {ridge_apart_k:.4} K, gain {gain_apart:.1e}, {sharp} switches {instants_s:.1} s, \
         {grazing} grazing"
    );
    println!("{:?}\n{:?}", fast.stats, slow.stats);
    assert!(sharp >= 8, "{design}: {sharp}");
    assert!(apart_k <= AIR_BAR_K, "{design}: {apart_k} K");
    assert!(gain_apart <= GAIN_BAR, "{design}: {gain_apart}");
    assert!(instants_s <= INSTANT_BAR_S, "{design}: {instants_s} s");
    for (a, b) in fast.fans.iter().zip(&slow.fans) {
        let apart = (a.run_s - b.run_s).abs();
        assert!(
            apart <= RUN_TIME_BAR * b.run_s,
            "{}: {apart} s of {}",
            b.name,
            b.run_s
        );
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
