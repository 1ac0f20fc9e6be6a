//! Fits to houses whose truth is known.

use std::path::PathBuf;

use jiff::civil::{DateTime, date};

use rafterheat::house::{House, HouseFile};
use rafterheat::network::Detail;
use rafterheat::readings::{Readings, Role, Series};
use rafterheat::run::{Choice, RunOptions, simulate};
use rafterheat::study::calibrate::{
    Calibration, Prior, Quality, Target, Task, calibrate, predict_all, priors,
};
use rafterheat::weather::Weather;

/// A measured month.
pub(crate) const TWIN_WEATHER: &str = "weather-samples/delta-california-2017-summer.csv";

pub(crate) fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Numbers that look random, the same for the same seed.
#[derive(Clone)]
pub(crate) struct Noise(u64);

impl Noise {
    pub(crate) fn new(seed: u64) -> Self {
        let mut noise = Self(seed);
        for _ in 0..10 {
            noise.even();
        }
        noise
    }

    fn even(&mut self) -> f64 {
        let Self(state) = self;
        *state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (*state >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.even()).sum::<f64>() - 6.0
    }
}

/// Deviation of a consumer logger, K; its errors hang together over an hour; it shows tenths.
pub(crate) const LOGGER_K: f64 = 0.5;
pub(crate) const LOGGER_STEP_K: f64 = 0.1;

struct Twin {
    /// Fitted unknowns, and those of them whose limits hold the truth.
    fitted: usize,
    inside: usize,
    /// Whether the limits of the predicted peak hold the true one.
    peak_inside: bool,
    /// Of the kept-out days' readings against what a logger without error would have read.
    rmse_kept_out_k: f64,
    said: Vec<String>,
}

/// A house whose truth is known, and its log.
struct Truth {
    weather: Weather,
    file: HouseFile,
    priors: Vec<Prior>,
    values: Vec<f64>,
    readings: Readings,
    start: DateTime,
    /// What a logger without error would have read, every five minutes from the start.
    exact_k: Vec<f64>,
}

pub(crate) fn house_with(file: &HouseFile, priors: &[Prior], values: &[f64]) -> Option<House> {
    let settings: Vec<(String, String)> = priors
        .iter()
        .zip(values)
        .filter_map(|(prior, value)| prior.setting(*value))
        .collect();
    let settings: Vec<(&str, &str)> = settings
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()))
        .collect();
    Some(file.with(&settings).ok()?.base)
}

/// A house drawn from what is likely, and its values; a draw that makes no house is drawn again.
pub(crate) fn drawn_house(
    noise: &mut Noise,
    file: &HouseFile,
    priors: &[Prior],
) -> (Vec<f64>, House) {
    loop {
        let values: Vec<f64> = priors
            .iter()
            .map(|prior| {
                let z = prior.z(prior.value) + noise.normal() * prior.deviation();
                prior.x(z).clamp(prior.bounds[0], prior.bounds[1])
            })
            .collect();
        if let Some(house) = house_with(file, priors, &values) {
            return (values, house);
        }
    }
}

/// What is known before any reading: nothing but that outdoor air was measured.
pub(crate) fn nothing_logged(weather: &Weather) -> Readings {
    Readings {
        source: String::new(),
        utc_offset_h: weather.place().utc_offset_h,
        clock: None,
        series: vec![Series {
            role: Role::Outdoors(rafterheat::weather::Quantity::DryBulb),
            times_s: vec![0],
            values: vec![290.0],
        }],
        notices: Vec::new(),
    }
}

/// Whether an unknown is a factor of the fitted network's own films, which in a truth with other films
/// has no value.
fn is_film(prior: &Prior) -> bool {
    ["site.natural_film", "site.wind_film", "attic.film"].contains(&prior.name())
}

/// When a house is logged.
#[derive(Clone, Copy)]
enum When {
    HottestWeek,
    /// In one of several summers, by the number, from a day that is drawn too.
    Drawn(u64),
}

/// Summers, measured and typical.
const SUMMERS: [&str; 3] = [
    TWIN_WEATHER,
    "weather-samples/piedmont-typical-summer.csv",
    "weather-samples/greensboro-typical-summer.tmy3.csv",
];

/// A house drawn from what is likely and logged like a consumer's: 10 min, errors of 0.5 K that hang
/// together over an hour, tenths. Everything that may be fitted is drawn, whether it is or not; but for
/// factors of films.
///
/// On the usual network it is worked out by the reference integrator. The finer one, with other films
/// than the fitted one's, is too stiff for that: there it is worked out with a 25th of the fit's error a
/// step.
fn drawn(noise: &mut Noise, days: i64, wanted: &[&str], detail: Detail, when: When) -> Truth {
    let (path, share) = match when {
        When::HottestWeek => (TWIN_WEATHER, None),
        When::Drawn(seed) => {
            let path = SUMMERS[(seed % SUMMERS.len() as u64) as usize];
            (path, Some(noise.even()))
        }
    };
    let weather = Weather::read(&root().join(path), None).unwrap();
    let file = HouseFile::from_text(rafterheat::house::STARTER, "house.toml").unwrap();
    let start = match share {
        None => weather.interval_start(weather.hottest_week().unwrap().intervals.start),
        Some(share) => {
            let first = later(weather.interval_start(0), 1);
            let last = weather.interval_start(weather.intervals());
            let spare = (seconds(last) - seconds(first)) / 86_400 - days;
            later(first.date().at(0, 0, 0, 0), (share * spare as f64) as i64)
        }
    };
    let nothing = nothing_logged(&weather);
    let mut all = priors(&file, &weather, &nothing);
    all.retain(|prior| matches!(prior.target, Target::Key { .. }));
    all.retain(|prior| wanted.is_empty() || wanted.contains(&prior.name()));
    let (films, mut all): (Vec<Prior>, Vec<Prior>) = all.into_iter().partition(is_film);
    let (mut values, house) = drawn_house(noise, &file, &all);
    values.extend(films.iter().map(|film| film.value));
    all.extend(films);
    let span = weather.span(start, later(start, days)).unwrap();
    let options = RunOptions {
        integrator: match detail {
            Detail::Usual => Choice::Reference { tolerance: 1e-6 },
            Detail::Finer => Choice::Default { tolerance_k: 0.002 },
        },
        detail,
        output_s: 300.0,
        ..RunOptions::default()
    };
    let outcome = simulate(&house, &weather, span, &options).unwrap();
    let trace = &outcome.trace;
    let mut drift = 0.0;
    // Ten minutes of an hour's memory.
    let keep = (-1.0_f64 / 6.0).exp();
    let (mut times_s, mut logged) = (Vec::new(), Vec::new());
    for (time_s, reading_k) in trace.times_s.iter().zip(&trace.sensors_k[0].reading_k) {
        if (*time_s as i64) % 600 == 0 {
            drift = keep * drift + (1.0 - keep * keep).sqrt() * LOGGER_K * noise.normal();
            times_s.push(seconds(start) + *time_s as i64);
            logged.push(((reading_k + drift) / LOGGER_STEP_K).round() * LOGGER_STEP_K);
        }
    }
    let readings = Readings {
        series: vec![Series {
            role: Role::Inside("ridge".to_owned()),
            times_s,
            values: logged,
        }],
        ..nothing
    };
    Truth {
        exact_k: trace.sensors_k[0].reading_k.clone(),
        weather,
        file,
        priors: all,
        values,
        readings,
        start,
    }
}

pub(crate) fn seconds(at: DateTime) -> i64 {
    at.duration_since(date(1970, 1, 1).at(0, 0, 0, 0)).as_secs()
}

pub(crate) fn later(start: DateTime, days: i64) -> DateTime {
    start.saturating_add(jiff::SignedDuration::from_hours(24 * days))
}

/// Fits a drawn house to so many days of its log, and keeps two out.
fn twin(seed: u64, days: i64, wanted: &[&str], draws: usize, detail: Detail) -> Twin {
    let mut noise = Noise::new(seed);
    let when = match detail {
        Detail::Usual => When::HottestWeek,
        Detail::Finer => When::Drawn(seed),
    };
    let truth = drawn(&mut noise, days + 2, wanted, detail, when);
    let kept = [later(truth.start, days), later(truth.start, days + 2)];
    let task = Task {
        file: &truth.file,
        readings: &truth.readings,
        weather: &truth.weather,
        priors: truth.priors.clone(),
        fit: [truth.start, kept[0]],
        kept_out: Some(kept),
        starts: 2,
    };
    let found = calibrate(&task, &|| {}).unwrap();
    let mut said = Vec::new();
    let mut inside = 0;
    for film in found.findings.iter().filter(|one| is_film(&one.prior)) {
        said.push(format!("{} {:.2} (film)", film.prior.name(), film.value));
    }
    let with_truth = found.findings.iter().filter(|one| !is_film(&one.prior));
    for one in with_truth.clone() {
        let of = |prior: &Prior| prior.name() == one.prior.name();
        let is = truth.values[task.priors.iter().position(of).unwrap()];
        let holds = (one.interval[0]..=one.interval[1]).contains(&is);
        inside += usize::from(holds);
        said.push(format!(
            "{} {:.4} [{:.4}, {:.4}] true {is:.4}{}",
            one.prior.name(),
            one.value,
            one.interval[0],
            one.interval[1],
            if holds { "" } else { " MISSED" }
        ));
    }
    let start_s = seconds(truth.start);
    let exact = |at_s: &i64| truth.exact_k[((at_s - start_s) / 300) as usize];
    let kept_out = &found.kept_out[0];
    let exact: Vec<f64> = kept_out.times_s.iter().map(exact).collect();
    let against = Quality::of(
        kept_out.measure,
        &kept_out.times_s,
        &kept_out.worked_out,
        &exact,
    );
    let true_peak = exact.iter().copied().fold(0.0, f64::max);
    let (sets, errors) = drawn_with_errors(&task, &found, draws, &mut noise);
    let mut peaks: Vec<f64> = predict_all(&task, &sets, kept)
        .unwrap()
        .iter()
        .zip(&errors)
        .map(|(one, errors)| {
            let all = one[0].worked_out.iter().zip(errors);
            all.map(|(a, b)| a + b).fold(0.0, f64::max)
        })
        .collect();
    peaks.sort_by(f64::total_cmp);
    let at = |share: f64| peaks[(share * (peaks.len() - 1) as f64).round() as usize];
    if draws > 0 {
        said.push(format!(
            "peak {:.2} [{:.2}, {:.2}] true {true_peak:.2}; daily {:.2}, spread {:.2}, {:.0} of {}",
            kept_out.worked_out.iter().copied().fold(0.0, f64::max),
            at(0.05),
            at(0.95),
            found.weights[0].daily,
            found.weights[0].spread,
            found.weights[0].effective,
            found.weights[0].count
        ));
    }
    Twin {
        fitted: with_truth.count(),
        inside,
        peak_inside: draws == 0 || (at(0.05)..=at(0.95)).contains(&true_peak),
        rmse_kept_out_k: against.rmse,
        said,
    }
}

/// Values as likely as others after a fit, and with each a daily error at the readings kept out, K. A draw
/// that makes no house is drawn again.
pub(crate) fn drawn_with_errors(
    task: &Task,
    found: &Calibration,
    draws: usize,
    noise: &mut Noise,
) -> (Vec<Vec<f64>>, Vec<Vec<f64>>) {
    let (mut sets, mut errors) = (Vec::new(), Vec::new());
    while sets.len() < draws {
        let normal: Vec<f64> = task.priors.iter().map(|_| noise.normal()).collect();
        let values = found.drawn(&task.priors, &normal);
        if house_with(task.file, &task.priors, &values).is_some() {
            let moved = task.priors.iter().zip(values.iter().zip(&found.values));
            let moved: Vec<f64> = moved
                .map(|(prior, (to, from))| prior.z(*to) - prior.z(*from))
                .collect();
            let mut normal = || noise.normal();
            let times_s = &found.kept_out[0].times_s;
            errors.push(found.daily[0].drawn(&moved, &mut normal, times_s));
            sets.push(values);
        }
    }
    (sets, errors)
}

/// A few twins with the strongest unknowns: what is fitted holds the truth, and days kept out are
/// met within the logger's own error.
#[test]
fn twins_are_found_again() {
    let wanted = [
        "site.shelter",
        "roof.absorptance",
        "openings.soffit.net_area",
        "ceiling.insulation",
    ];
    let (mut fitted, mut inside) = (0, 0);
    for seed in 1..=3 {
        let twin = twin(seed, 5, &wanted, 0, Detail::Usual);
        fitted += twin.fitted;
        inside += twin.inside;
        assert!(
            twin.rmse_kept_out_k < LOGGER_K,
            "{seed}: {}",
            twin.rmse_kept_out_k
        );
        assert!(twin.fitted >= 2, "{seed}: {:?}", twin.said);
        println!("{seed}: {:?} {:.2}", twin.said, twin.rmse_kept_out_k);
    }
    // Nine in ten of a handful: one may be missed.
    assert!(inside + 1 >= fitted, "{inside} of {fitted}");
}

/// Many twins on another network, with everything drawn: limits of nine in ten hold the truth in 85 to 95 %.
#[test]
#[ignore = "takes an hour; RAFTERHEAT_TWINS tells how many, 200 unless given"]
fn limits_of_many_twins_hold_the_truth() {
    let count = std::env::var("RAFTERHEAT_TWINS")
        .ok()
        .and_then(|text| text.parse().ok());
    let count: u64 = count.unwrap_or(200);
    let (mut fitted, mut inside, mut peaks) = (0, 0, 0);
    for seed in 1..=count {
        let twin = twin(seed, 7, &[], 30, Detail::Finer);
        fitted += twin.fitted;
        inside += twin.inside;
        peaks += u64::from(twin.peak_inside);
        println!(
            "{seed}: {} of {} inside, peak {}, kept out {:.2} K\n    {}",
            twin.inside,
            twin.fitted,
            twin.peak_inside,
            twin.rmse_kept_out_k,
            twin.said.join("\n    ")
        );
    }
    let shares = [inside as f64 / fitted as f64, peaks as f64 / count as f64];
    println!(
        "{count} twins: unknowns inside {:.3}, peaks inside {:.3}",
        shares[0], shares[1]
    );
    assert!(
        shares.iter().all(|share| (0.85..=0.95).contains(share)),
        "{shares:?}"
    );
}
