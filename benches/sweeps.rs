//! Many designs: a batch in memory, and a sweep from the files to `sweep.csv`.
//!
//! `cargo bench --bench sweeps`; `SWEEP_ROWS=10000` asks for the whole of it. Results are kept in
//! `benches/runs`.
#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench talks to who runs it"
)]

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use divan::Bencher;
use rafterheat::house::{DEMO, HouseFile};
use rafterheat::study::sweep::{Climate, Ground, Variation};
use rafterheat::weather::Weather;

const SAMPLE: &str = "weather-samples/delta-california-2017-summer.csv";

/// Designs of a batch.
const BATCH: u32 = 16;

/// Rows of the sweep, if no other number is asked for.
const ROWS: u32 = 500;

fn variations() -> Vec<Variation> {
    (0..BATCH)
        .map(|number| Variation {
            settings: vec![
                ("fans.gable.count".to_owned(), (number % 9).to_string()),
                (
                    "roof.absorptance".to_owned(),
                    format!("{}", 0.5 + 0.025 * f64::from(number)),
                ),
            ],
            ..Variation::default()
        })
        .collect()
}

fn main() {
    let rows = std::env::var("SWEEP_ROWS")
        .ok()
        .and_then(|text| text.parse().ok());
    for threads in [1, 2] {
        sweep(rows.unwrap_or(ROWS), threads);
    }
    divan::main();
}

/// The hot week of the demo's house, sampled over four fields, from the files to `sweep.csv`.
fn sweep(rows: u32, threads: u32) {
    let folder = tempfile::tempdir().expect("a folder");
    let house = folder.path().join("house.toml");
    std::fs::write(&house, DEMO).expect("a file");
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join(SAMPLE);
    let (before_s, started) = (children_s(), Instant::now());
    let status = Command::new(env!("CARGO_BIN_EXE_rafterheat"))
        .arg("sweep")
        .arg(&house)
        .arg("--weather")
        .arg(&sample)
        .args([
            "--sample",
            &rows.to_string(),
            "--threads",
            &threads.to_string(),
        ])
        .args(["--vary", "fans.gable.count=0..8"])
        .args(["--vary", "roof.absorptance=0.4..0.95"])
        .args(["--vary", "ceiling.insulation=R-11..R-49"])
        .args(["--vary", "barrier.place=none,rafters,floor"])
        .args(["--quiet", "--out"])
        .arg(folder.path().join("out"))
        .stdout(Stdio::null())
        .status();
    assert!(
        status.is_ok_and(|status| status.success()),
        "the sweep fails"
    );
    let cpu_s = children_s()
        .zip(before_s)
        .map_or(f64::NAN, |(after, before)| after - before);
    println!(
        "sweep of {rows} hot weeks, {threads} threads: {:.1} s, {cpu_s:.1} s of CPU, {:.1} ms of CPU a row",
        started.elapsed().as_secs_f64(),
        1e3 * cpu_s / f64::from(rows)
    );
}

/// CPU time of the programs that have ended, where the system tells it, s.
fn children_s() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    let (_, after_name) = text.rsplit_once(')')?;
    let mut fields = after_name.split_whitespace().skip(13);
    let ticks: f64 = fields.next()?.parse::<f64>().ok()? + fields.next()?.parse::<f64>().ok()?;
    // A hundred in a second on every Linux that matters.
    Some(ticks * 0.01)
}

/// Hot weeks of several designs in memory, side by side on one thread, each built from the file.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn batch(bencher: Bencher<'_, '_>) {
    let file = HouseFile::from_text(DEMO, "demo.toml").expect("the demo");
    let weather = Weather::read(Path::new(SAMPLE), None).expect("the sample");
    let period = weather.hottest_week().expect("a week").intervals;
    let ground = Ground {
        file: &file,
        design: String::from("as it stands"),
        climates: vec![Climate {
            name: String::from("sample"),
            weather,
            period,
        }],
    };
    let variations = variations();
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("threads");
    bencher
        .counter(divan::counter::ItemsCount::new(BATCH))
        .bench_local(|| pool.install(|| ground.each(&variations)));
}
