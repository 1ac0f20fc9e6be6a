//! The weather files that ship, and files that are broken.

use std::path::{Path, PathBuf};

use rafterheat::units::celsius;
use rafterheat::weather::{ColumnMap, Kind, MadeWeek, Notice, Problem, Quantity, Weather, WeatherError};

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
        assert!(weather.holes().is_empty(), "{name}: {:?}", weather.holes());
        assert!(std::fs::metadata(sample(name)).unwrap().len() < 150_000, "{name} is too large");
        assert!(!weather.source().is_empty() && !weather.licence().is_empty(), "{name}");
        let wide = weather.intervals() as u64 * u64::from(weather.step_s());
        assert!(wide >= 28 * 86_400, "{name} covers {wide} s");
        let text = std::fs::read_to_string(sample(name)).unwrap();
        for word in ["# Source:", "# Place:", "# Licence:", "# Units:"] {
            assert!(text.lines().take(8).any(|line| line.starts_with(word)), "{name}: {word}");
        }
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

/// Error of one series against another: bias and root of the mean square, both relative to the
/// mean of the truth.
fn misfit(got: &[f64], truth: &[f64]) -> (f64, f64) {
    let n = truth.len() as f64;
    let mean = truth.iter().sum::<f64>() / n;
    let errors: Vec<f64> = got.iter().zip(truth).map(|(g, t)| g - t).collect();
    let bias = errors.iter().sum::<f64>() / n;
    let rms = (errors.iter().map(|e| e * e).sum::<f64>() / n).sqrt();
    (bias / mean, rms / mean)
}

fn daily(weather: &Weather, of: fn(&rafterheat::weather::Radiation) -> f64) -> Vec<f64> {
    let per_day = 86_400 / weather.step_s() as usize;
    weather
        .radiation()
        .chunks_exact(per_day)
        .map(|day| day.iter().map(of).sum::<f64>() / per_day as f64)
        .collect()
}

fn parse(text: &str) -> Result<Weather, WeatherError> {
    Weather::parse(text.as_bytes(), Path::new("test.csv"), None)
}

fn text(name: &str) -> String {
    std::fs::read_to_string(sample(name)).unwrap()
}

/// The sample without one column of its description.
fn hide(text: &str, key: &str) -> String {
    let lines = text.lines().filter(|line| !line.starts_with(&format!("#: {key} =")));
    lines.map(|line| format!("{line}\n")).collect()
}

#[test]
fn probe_errors() {
    let full = text(SAMPLES[0]);
    let truth = parse(&full).unwrap();
    for k in [0.16, 0.17, 0.19] {
        let hidden = hide(&full, "global").replace("#: albedo", &format!("#: range_coefficient = {k}\n#: albedo"));
        let got = parse(&hidden).unwrap();
        let (b, r) = misfit(&daily(&got, |m| m.global_w_m2), &daily(&truth, |m| m.global_w_m2));
        println!("delta range k={k}: bias {b:.3} rmse {r:.3}");
    }
    let got = parse(&hide(&full, "infrared_down")).unwrap();
    let all = |w: &Weather, of: fn(&rafterheat::weather::Radiation) -> f64| w.radiation().iter().map(of).collect::<Vec<_>>();
    let (b, r) = misfit(&all(&got, |m| m.infrared_down_w_m2), &all(&truth, |m| m.infrared_down_w_m2));
    let mean = all(&truth, |m| m.infrared_down_w_m2).iter().sum::<f64>() / truth.intervals() as f64;
    println!("delta ir: bias {} rmse {} W/m2 (mean {mean})", b * mean, r * mean);
    let full = text(SAMPLES[3]);
    let truth = parse(&full).unwrap();
    let got = parse(&hide(&full, "infrared_down")).unwrap();
    let (b, r) = misfit(&all(&got, |m| m.infrared_down_w_m2), &all(&truth, |m| m.infrared_down_w_m2));
    let mean = all(&truth, |m| m.infrared_down_w_m2).iter().sum::<f64>() / truth.intervals() as f64;
    println!("piedmont ir: bias {} rmse {} W/m2 (mean {mean})", b * mean, r * mean);
    let got = parse(&hide(&hide(&full, "direct_normal"), "diffuse")).unwrap();
    let (b, r) = misfit(&all(&got, |m| m.diffuse_w_m2), &all(&truth, |m| m.diffuse_w_m2));
    println!("piedmont erbs diffuse: {b} {r}");
    let full = text(SAMPLES[1]);
    let truth = parse(&full).unwrap();
    let hidden = full.replace("GHI (W/m^2)", "x").replace("DNI (W/m^2)", "y").replace("DHI (W/m^2)", "z");
    let got = parse(&hidden).unwrap();
    let (b, r) = misfit(&all(&got, |m| m.global_w_m2), &all(&truth, |m| m.global_w_m2));
    println!("greensboro cloud hourly: {b} {r}");
    let (b, r) = misfit(&daily(&got, |m| m.global_w_m2), &daily(&truth, |m| m.global_w_m2));
    println!("greensboro cloud daily: {b} {r}");
    for path in std::env::var("WX").unwrap_or_default().split(':').filter(|p| !p.is_empty()) {
        let t0 = std::time::Instant::now();
        let map = std::fs::read_to_string(format!("{path}.toml")).ok().map(|t| ColumnMap::parse(&t).unwrap());
        let w = Weather::read(Path::new(path), map.as_ref()).unwrap();
        let t1 = t0.elapsed();
        let n: usize = (0..w.intervals()).map(|i| w.within(i, 4).len()).sum();
        println!("{path}: {} x {} s from {} wraps {} read {t1:?} within {:?} {n}", w.intervals(), w.step_s(), w.start(), w.wraps(), t0.elapsed() - t1);
        for n in w.notices() { println!("   {n:?}"); }
        let d = w.describe();
        for s in [&d.hottest_week, &d.coldest_week, &d.most_humid_week].into_iter().flatten() {
            println!("   {} mean {:.2} high {:.2} low {:.2} w {:.4} G {:.0}", s.from, celsius(s.mean_dry_bulb_k), celsius(s.highest_dry_bulb_k), celsius(s.lowest_dry_bulb_k), s.mean_humidity_ratio, s.mean_global_w_m2);
        }
        println!("   months {:?}", d.months.iter().map(|m| (m.month, (celsius(m.stretch.mean_dry_bulb_k) * 10.0).round() / 10.0, m.stretch.mean_global_w_m2.round())).collect::<Vec<_>>());
    }
}
