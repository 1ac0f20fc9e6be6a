//! The demo house through a week of measured weather, warm-up and forcing included.
//!
//! `cargo bench --bench house_week` first says, design by design, how much quicker the default
//! integrator is than the reference in this very run and how far they are apart, then times the
//! parts. Results are kept in `benches/runs`.
#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench talks to who runs it"
)]

use std::path::Path;
use std::sync::LazyLock;
use std::time::Instant;

use divan::Bencher;
use rafterheat::house::{House, HouseFile};
use rafterheat::network::Network;
use rafterheat::run::{Choice, Outcome, RunOptions, simulate, simulate_each};
use rafterheat::weather::Weather;

const DESIGNS: [&str; 4] = ["as it stands", "fans", "barrier", "fans and barrier"];

/// The period starts on the eleventh day of the sample, so that a whole week can warm up.
const FIRST_DAY: usize = 10;

/// Tolerance of the reference to which the default is held.
const REFERENCE: f64 = 1e-10;

struct Scene {
    house: HouseFile,
    weather: Weather,
}

static SCENE: LazyLock<Scene> = LazyLock::new(|| {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let sample = root.join("weather-samples/delta-california-2017-summer.csv");
    Scene {
        house: HouseFile::read(&root.join("src/house/demo.toml")).expect("the demo house is valid"),
        weather: Weather::read(&sample, None).expect("the sample is valid"),
    }
});

impl Scene {
    fn house(&self, design: &str) -> &House {
        let mut designs = self.house.all();
        designs
            .find(|house| house.design == design)
            .expect("the demo has this design")
    }

    /// Intervals from the first day on, for a number of seconds.
    fn period(&self, length_s: usize) -> std::ops::Range<usize> {
        let step_s = self.weather.step_s() as usize;
        let first = FIRST_DAY * 86_400 / step_s;
        first..first + length_s / step_s
    }

    fn run(&self, design: &str, length_s: usize, integrator: Choice) -> Outcome {
        let options = RunOptions {
            integrator,
            ..RunOptions::default()
        };
        let period = self.period(length_s);
        simulate(self.house(design), &self.weather, period, &options).expect("the demo runs")
    }
}

const WEEK_S: usize = 7 * 86_400;

fn main() {
    LazyLock::force(&SCENE);
    let default = RunOptions::default().integrator;
    for design in DESIGNS {
        let (quick_s, quick) = timed(|| SCENE.run(design, WEEK_S, default));
        let reference = Choice::Reference {
            tolerance: REFERENCE,
        };
        let (slow_s, slow) = timed(|| SCENE.run(design, WEEK_S, reference));
        let apart = quick.trace.attic_air_k.iter().zip(&slow.trace.attic_air_k);
        let apart_k = apart.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        println!(
            "{design}: default {:.1} ms of CPU, reference {:.0} ms, {:.0} times; attic air at most {apart_k:.4} K apart",
            1e3 * quick_s,
            1e3 * slow_s,
            slow_s / quick_s,
        );
    }
    divan::main();
}

/// Houses that differ in fans and foil, for lanes.
fn varied(count: u32) -> Vec<House> {
    let house = |index: u32| {
        let fans = (1 + index % 6).to_string();
        let emittance = (0.03 + 0.8 * f64::from(index) / f64::from(count)).to_string();
        let settings = [
            ("fans.gable.count", fans.as_str()),
            ("barrier.emittance", emittance.as_str()),
        ];
        let house = SCENE.house.design_with(DESIGNS[3], &settings);
        house.expect("the demo can be varied so")
    };
    (0..count).map(house).collect()
}

/// Many houses' weeks, in lanes on one thread.
#[divan::bench(sample_count = 5)]
fn sixty_four_house_weeks(bencher: Bencher<'_, '_>) {
    let houses = varied(64);
    let houses: Vec<(&House, &Weather)> =
        houses.iter().map(|house| (house, &SCENE.weather)).collect();
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let one = one.expect("a thread can be started");
    bencher.bench_local(|| {
        one.install(|| {
            let period = SCENE.period(WEEK_S);
            let options = RunOptions::default();
            simulate_each(&houses, &period, &options, |_, outcome| outcome.is_ok())
        })
    });
}

/// Median CPU time of three runs after a first, s; by the clock where the system does not tell it.
fn timed(run: impl Fn() -> Outcome) -> (f64, Outcome) {
    let mut outcome = run();
    let mut times: Vec<f64> = (0..3)
        .map(|_| {
            let (start, before_s) = (Instant::now(), cpu_s());
            outcome = run();
            let clock_s = start.elapsed().as_secs_f64();
            cpu_s()
                .zip(before_s)
                .map_or(clock_s, |(after_s, before_s)| after_s - before_s)
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times[1], outcome)
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

/// From the house in memory to the outcome in memory.
#[divan::bench(args = DESIGNS, sample_count = 30)]
fn house_week(bencher: Bencher<'_, '_>, design: &str) {
    bencher.bench_local(|| SCENE.run(design, WEEK_S, RunOptions::default().integrator));
}

/// The same with a period of one interval: assembly, forcing of a week and the warm-up.
#[divan::bench(args = DESIGNS, sample_count = 30)]
fn warm_up(bencher: Bencher<'_, '_>, design: &str) {
    let interval_s = SCENE.weather.step_s() as usize;
    bencher.bench_local(|| SCENE.run(design, interval_s, RunOptions::default().integrator));
}

/// Weather of a week to what drives each surface.
#[divan::bench(sample_count = 100)]
fn forcing(bencher: Bencher<'_, '_>) {
    let network = Network::<f64>::assemble(SCENE.house(DESIGNS[3])).expect("the demo assembles");
    bencher.bench_local(|| network.forcing(&SCENE.weather, SCENE.period(WEEK_S)));
}

/// Nodes, links, view factors and lumps of a house.
#[divan::bench(args = DESIGNS, sample_count = 100)]
fn assembly(bencher: Bencher<'_, '_>, design: &str) {
    bencher.bench_local(|| Network::<f64>::assemble(SCENE.house(design)));
}
