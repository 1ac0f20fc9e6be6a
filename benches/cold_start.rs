//! From the start of the program to its first byte, and to its end.
//!
//! `cargo bench --bench cold_start`. Results are kept in `benches/runs`.
#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench talks to who runs it"
)]

use std::io::Read as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const RUNS: usize = 15;

fn main() {
    let place = tempfile::tempdir().expect("a folder");
    let done = Command::new(env!("CARGO_BIN_EXE_rafterheat"))
        .args(["new", "house"])
        .current_dir(place.path())
        .stdout(Stdio::null())
        .status();
    assert!(
        done.is_ok_and(|status| status.success()),
        "a house is started"
    );
    println!("program and arguments: first byte, end; medians of {RUNS}");
    for arguments in [
        &["--help"][..],
        &["check", "house/house.toml"],
        &["simulate", "house/house.toml", "--quiet"],
        &["demo", "--quiet"],
    ] {
        let mut times: Vec<(Duration, Duration)> = (0..RUNS)
            .map(|_| first_and_last(place.path(), arguments))
            .collect();
        times.sort();
        let (first, last) = times[RUNS / 2];
        println!(
            "rafterheat {}: {:.1} ms, {:.1} ms",
            arguments.join(" "),
            1e3 * first.as_secs_f64(),
            1e3 * last.as_secs_f64()
        );
    }
}

fn first_and_last(place: &Path, arguments: &[&str]) -> (Duration, Duration) {
    let started = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_rafterheat"))
        .args(arguments)
        .current_dir(place)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    let mut out = child.stdout.take().expect("a pipe");
    let mut byte = [0];
    out.read_exact(&mut byte).expect("it says something");
    let first = started.elapsed();
    std::io::copy(&mut out, &mut std::io::sink()).expect("it ends");
    assert!(child.wait().expect("it ends").success());
    (first, started.elapsed())
}
