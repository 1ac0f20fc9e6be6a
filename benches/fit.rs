//! A fit of six unknowns to four weeks of hourly readings, on one thread and on two.
//!
//! `cargo bench --bench fit`. The log is made of a house that differs from the file in all six, with
//! the errors of a cheap logger. Results are kept in `benches/runs`.
#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::cast_possible_truncation,
    reason = "a bench talks to who runs it"
)]

use std::path::Path;
use std::time::Instant;

use jiff::ToSpan;
use jiff::civil::DateTime;
use rafterheat::house::{HouseFile, STARTER};
use rafterheat::readings::{Readings, Role, Series};
use rafterheat::run::{RunOptions, simulate};
use rafterheat::study::calibrate::{Prior, Task, calibrate, priors};
use rafterheat::weather::{Quantity, Weather};

const SAMPLE: &str = "weather-samples/delta-california-2017-summer.csv";
const DAYS: i64 = 28;

/// What is fitted, and how far into the likely range the truth lies.
const UNKNOWNS: [(&str, f64); 6] = [
    ("roof.absorptance", 0.3),
    ("site.shelter", 0.7),
    ("attic.framing_mass", 0.35),
    ("ceiling.insulation", 0.4),
    ("openings.soffit.net_area", 0.4),
    ("roof.deck_thickness", 0.6),
];

fn main() {
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads");
        pool.install(|| fit(threads));
    }
}

fn fit(threads: usize) {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join(SAMPLE);
    let weather = Weather::read(&sample, None).expect("weather");
    let file = HouseFile::from_text(STARTER, "house.toml").expect("a house");
    let from = weather.interval_start(48);
    let to = from + DAYS.days();
    let mut readings = Readings {
        source: String::new(),
        utc_offset_h: weather.place().utc_offset_h,
        clock: None,
        series: vec![Series {
            role: Role::Outdoors(Quantity::DryBulb),
            times_s: vec![0],
            values: vec![290.0],
        }],
        notices: Vec::new(),
    };
    let mut open = priors(&file, &weather, &readings);
    open.retain(|prior| UNKNOWNS.iter().any(|(key, _)| prior.name() == *key));
    assert_eq!(open.len(), UNKNOWNS.len(), "keys have changed");
    readings.series = vec![logged(&file, &open, &weather, [from, to])];
    let task = Task {
        file: &file,
        readings: &readings,
        weather: &weather,
        priors: open,
        fit: [from, to],
        kept_out: None,
        starts: 3,
    };
    let started = Instant::now();
    let found = calibrate(&task, &|| {}).expect("a fit");
    println!(
        "{} readings, {} of {} unknowns fitted, {threads} thread(s): {:.1} s, {} runs",
        found.fitted[0].logged.len(),
        found.findings.len(),
        task.priors.len(),
        started.elapsed().as_secs_f64(),
        found.runs
    );
}

/// Hourly readings at the ridge of the house as it truly is.
fn logged(
    file: &HouseFile,
    open: &[Prior],
    weather: &Weather,
    [from, to]: [DateTime; 2],
) -> Series {
    let settings: Vec<(String, String)> = open
        .iter()
        .filter_map(|prior| {
            let (_, share) = UNKNOWNS.iter().find(|(key, _)| prior.name() == *key)?;
            prior.setting(prior.low + share * (prior.high - prior.low))
        })
        .collect();
    let settings: Vec<(&str, &str)> = settings
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()))
        .collect();
    let house = file.with(&settings).expect("a house").base;
    let span = weather.span(from, to).expect("days");
    let outcome = simulate(&house, weather, span, &RunOptions::default()).expect("a run");
    let trace = &outcome.trace;
    let (mut state, mut drift) = (1_u32, 0.0);
    let (mut times_s, mut values) = (Vec::new(), Vec::new());
    for (time_s, reading_k) in trace.times_s.iter().zip(&trace.sensors_k[0].reading_k) {
        if (*time_s as i64) % 3600 == 0 {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            drift = 0.6 * drift + 0.8 * (f64::from(state >> 8) / f64::from(1_u32 << 23) - 1.0);
            times_s.push(second(from) + *time_s as i64);
            values.push(((reading_k + 0.8 * drift) / 0.1).round() * 0.1);
        }
    }
    Series {
        role: Role::Inside("ridge".to_owned()),
        times_s,
        values,
    }
}

/// Since 1970, on the clock of the place, s.
fn second(at: DateTime) -> i64 {
    at.duration_since(jiff::civil::date(1970, 1, 1).at(0, 0, 0, 0))
        .as_secs()
}
