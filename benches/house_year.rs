//! The demo's designs through a whole year, hour by hour, on one core.
//!
//! `cargo bench --bench house_year`. No year of weather ships, so this one is made up: a climate of hot
//! dry summers and mild winters with spells of cloud, wind and cold, the same every time. Results are
//! kept in `benches/runs`.
#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench talks to who runs it"
)]

use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::LazyLock;

use divan::Bencher;
use rafterheat::house::{DEMO, HouseFile};
use rafterheat::run::{Outcome, RunOptions, simulate};
use rafterheat::weather::{ColumnMap, Weather};

const DESIGNS: [&str; 4] = ["as it stands", "fans", "barrier", "fans and barrier"];

const COLUMNS: &str = r#"
    place = "nowhere"
    kind = "made"
    latitude_deg = 38.0
    longitude_deg = -120.0
    altitude_m = 0
    utc_offset_h = -8
    stamp = "end"
    readings = "instant"
    wind_height_m = 10
    time = { column = "when", format = "%Y-%m-%d %H:%M" }
    [columns]
    dry_bulb = { column = "air", unit = "C" }
    dew_point = { column = "dew", unit = "C" }
    pressure = { column = "pressure", unit = "Pa" }
    wind_speed = { column = "wind", unit = "m/s" }
    wind_direction = { column = "from", unit = "deg" }
    global = { column = "global", unit = "W/m2" }
    infrared_down = { column = "infrared", unit = "W/m2" }
"#;

/// Days of the year.
const YEAR: usize = 365;

/// A number between 0 and 1 that looks random, the same for the same day.
fn chance(day: u32, of: u32) -> f64 {
    let mixed =
        (day.wrapping_mul(2_654_435_761) ^ of.wrapping_mul(40_503)).wrapping_mul(2_246_822_519);
    f64::from(mixed >> 8) / f64::from(1_u32 << 24)
}

/// As above, even from day to day.
fn spell(hour: u32, of: u32) -> f64 {
    let (day, share) = (hour / 24, f64::from(hour % 24) / 24.0);
    chance(day, of) * (1.0 - share) + chance(day + 1, of) * share
}

fn year() -> Weather {
    let mut text = String::from("when,air,dew,pressure,wind,from,global,infrared\n");
    let mut date = jiff::civil::date(2026, 1, 1).at(0, 0, 0, 0);
    for hour in 0..8760_u32 {
        date = date.saturating_add(jiff::Span::new().hours(1));
        let season = (TAU * (f64::from(hour) / 8760.0 - 0.54)).cos();
        let of_day = f64::from((hour + 1) % 24);
        let daily = (TAU * (of_day - 15.0) / 24.0).cos();
        let cloud = spell(hour, 1).powi(if season > 0.0 { 4 } else { 1 });
        let air = 16.0 + 9.0 * season + (8.0 - 4.0 * cloud) * daily + 8.0 * (spell(hour, 2) - 0.5);
        let declination = 0.409 * (TAU * (f64::from(hour) / 8760.0 - 0.222)).sin();
        let angle = TAU * (of_day - 12.5) / 24.0;
        let high = 0.616 * declination.sin() + 0.788 * declination.cos() * angle.cos();
        let global = (1050.0 * high.max(0.0).powf(1.15) * (1.0 - 0.75 * cloud)).max(0.0);
        let black = 5.67e-8 * (air + 273.15).powi(4);
        let infrared = black * (0.78 + 0.18 * cloud);
        let wind = 0.5 + 6.0 * spell(hour, 3) * (0.6 + 0.4 * daily);
        let _ = writeln!(
            text,
            "{},{air:.2},{:.2},101325,{wind:.2},{:.0},{global:.1},{infrared:.1}",
            date.strftime("%Y-%m-%d %H:%M"),
            air - 4.0 - 10.0 * (1.0 - cloud),
            359.0 * spell(hour, 4),
        );
    }
    let map = ColumnMap::parse(COLUMNS).expect("columns");
    Weather::parse(text.as_bytes(), Path::new("made.csv"), Some(&map)).expect("a year")
}

static SCENE: LazyLock<(HouseFile, Weather)> = LazyLock::new(|| {
    let house = HouseFile::from_text(DEMO, "demo.toml").expect("the demo");
    (house, year())
});

fn run(design: &str, days: usize) -> Outcome {
    let (file, weather) = &*SCENE;
    let house = file.find(design).expect("a design of the demo");
    // What a sweep keeps: no row more often than hourly.
    let options = RunOptions {
        output_s: 3600.0,
        ..RunOptions::default()
    };
    simulate(house, weather, 0..24 * days, &options).expect("it runs")
}

/// CPU time of this thread where the system tells it, s.
#[cfg(unix)]
#[expect(clippy::unnecessary_wraps, reason = "elsewhere there is none")]
fn cpu_s() -> Option<f64> {
    let now = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Some(now.tv_sec as f64 + 1e-9 * now.tv_nsec as f64)
}

/// CPU time of this thread where the system tells it, s.
#[cfg(not(unix))]
fn cpu_s() -> Option<f64> {
    None
}

/// Median CPU time of three runs, s.
fn median_s(run: impl Fn() -> Outcome) -> f64 {
    let mut times: Vec<f64> = (0..3)
        .filter_map(|_| {
            let before = cpu_s()?;
            run();
            Some(cpu_s()? - before)
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times.get(1).copied().unwrap_or(f64::NAN)
}

fn main() {
    LazyLock::force(&SCENE);
    for design in DESIGNS {
        let cpu_s = median_s(|| run(design, YEAR));
        let outcome = run(design, YEAR);
        let hottest = outcome
            .trace
            .attic_air_k
            .iter()
            .copied()
            .fold(0.0, f64::max);
        println!(
            "{design}: {:.0} ms of CPU, {} steps, {} evaluations, {} switches; hottest attic {:.1} °C",
            1e3 * cpu_s,
            outcome.stats.steps,
            outcome.stats.flow_evaluations,
            outcome.switches.len(),
            hottest - 273.15,
        );
    }
    for days in [15, 45, 135, YEAR] {
        let cpu_s = median_s(|| run(DESIGNS[0], days));
        println!(
            "{days} days: {:.0} ms of CPU, {:.2} ms a day",
            1e3 * cpu_s,
            1e3 * cpu_s / days as f64
        );
    }
    divan::main();
}

/// From the house in memory to the outcome in memory.
#[divan::bench(args = DESIGNS, sample_count = 3, sample_size = 1)]
fn house_year(bencher: Bencher<'_, '_>, design: &str) {
    bencher.bench_local(|| run(design, YEAR));
}
