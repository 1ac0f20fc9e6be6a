//! The weather files that ship, and files that are broken.

use std::path::{Path, PathBuf};

use rafterheat::weather::{Weather, WeatherError};

/// The samples that ship.
const SAMPLES: [&str; 4] = [
    "delta-california-2017-summer.csv",
    "greensboro-typical-summer.tmy3.csv",
    "miami-typical-july.csv",
    "piedmont-typical-summer.csv",
];

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("weather-samples")
        .join(name)
}

fn read(name: &str) -> Weather {
    Weather::read(&sample(name), None).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn trapezoid(values: &[f64]) -> f64 {
    let n = values.len() - 1;
    let ends = 0.5 * (values[0] + values[n]);
    (ends + values[1..n].iter().sum::<f64>()) / n as f64
}

#[test]
fn every_sample_reads_as_it_stands() {
    for name in SAMPLES {
        let weather = read(name);
        println!(
            "{name}: {} intervals of {} s from {}",
            weather.intervals(),
            weather.step_s(),
            weather.start()
        );
        for notice in weather.notices() {
            println!("   {notice:?}");
        }
        assert!(weather.holes().is_empty());
        assert!(std::fs::metadata(sample(name)).unwrap().len() < 150_000);
    }
}

#[test]
fn the_energy_of_every_hour_is_kept_and_nothing_shines_at_night() {
    for name in SAMPLES {
        let weather = read(name);
        for (i, mean) in weather.radiation().iter().enumerate() {
            for parts in [4, 6, 12] {
                let instants = weather.within(i, parts);
                let column = |of: fn(&rafterheat::weather::Conditions) -> f64| {
                    trapezoid(&instants.iter().map(of).collect::<Vec<_>>())
                };
                let close = |got: f64, want: f64| (got - want).abs() <= 1e-3 * want + 1e-9;
                let context = || format!("{name}, interval {i} of {}", weather.interval_start(i));
                let global = column(|at| at.global_w_m2);
                assert!(
                    close(global, mean.global_w_m2),
                    "{}: {global} {mean:?}",
                    context()
                );
                assert!(
                    close(column(|at| at.diffuse_w_m2), mean.diffuse_w_m2),
                    "{}",
                    context()
                );
                let beam = column(|at| at.direct_normal_w_m2 * at.sun.cos_zenith().max(0.0));
                assert!(
                    close(beam, mean.global_w_m2 - mean.diffuse_w_m2),
                    "{}",
                    context()
                );
                assert!(close(
                    column(|at| at.infrared_down_w_m2),
                    mean.infrared_down_w_m2
                ));
                for at in &instants {
                    if !at.sun.is_up() {
                        assert_eq!((at.global_w_m2, at.direct_normal_w_m2), (0.0, 0.0));
                    }
                    assert!(at.direct_normal_w_m2 < 1200.0 && at.global_w_m2 < 1400.0);
                }
            }
        }
    }
}

#[test]
fn a_missing_file_is_an_error_with_its_name() {
    let error = Weather::read(Path::new("no-such-file.csv"), None).unwrap_err();
    assert!(matches!(error, WeatherError::Read { .. }) && error.to_string().contains("no-such"));
}
