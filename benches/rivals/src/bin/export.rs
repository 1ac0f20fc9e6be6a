//! Writes a network of the demo's house with its hottest week as JSON, for `benches/scipy_ratio.py`:
//!
//! `export "as it stands" network.json`
//!
//! The network and the forcing are what `{:?}` says of them, so that nothing is copied by hand; beside
//! them stand rates that they give at some instants and states, to hold another program to.
#![allow(clippy::expect_used, clippy::print_stdout)]

use rafterheat::ode::System as _;
use rivals::debug_json::parse;
use rivals::scene::{DAYS, Rates, Scene, demo, weather};
use serde_json::{Value, json};

/// Rates are told at so many instants.
const CHECKS: usize = 24;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let (Some(design), Some(path)) = (arguments.next(), arguments.next()) else {
        println!("export DESIGN FILE");
        std::process::exit(2);
    };
    let scene = Scene::new(&demo(&design), &weather(), DAYS);
    let mut rates = Rates::new(&scene);
    let mut segments = Vec::new();
    let mut checks = Vec::new();
    let all = scene.segments(false);
    let every = scene.exact.len() / CHECKS;
    for (number, segment) in all.iter().enumerate() {
        let network = parse(&format!("{:?}", rates.network));
        let elements: Vec<&Value> = network["air"]["paths"]
            .as_array()
            .expect("paths")
            .iter()
            .map(|path| &path["element"])
            .collect();
        segments.push(json!({"span_s": segment.span_s, "elements": elements}));
        let [from_s, to_s] = segment.span_s;
        for interval in (every / 2..scene.exact.len()).step_by(every) {
            let time_s = scene.forcing.span(interval).1;
            if !(time_s > from_s && time_s < to_s) {
                continue;
            }
            // On the course and well off it.
            for off_k in [0.0, 3.0] {
                let state: Vec<f64> = scene.exact[interval]
                    .iter()
                    .enumerate()
                    .map(|(at, temp_k)| temp_k + off_k * (((7 * at) % 11) as f64 / 5.0 - 1.0))
                    .collect();
                let mut found = vec![0.0; state.len()];
                // Each goes on from the pressures of the one before: the flows end on their laws.
                for _ in 0..5 {
                    rates.rates(time_s, &state, &mut found);
                }
                checks.push(
                    json!({"time_s": time_s, "segment": number, "state_k": state, "rates": found}),
                );
            }
        }
        if let Some(switch) = segment.then {
            rates.network.toggle(switch, segment.span_s[1]);
        }
    }
    let marks = scene.network.landmarks();
    let ends_s: Vec<f64> = (0..scene.forcing.len())
        .map(|i| scene.forcing.span(i).1)
        .collect();
    let document = json!({
        "design": design,
        "network": parse(&format!("{:?}", scene.network)),
        "capacities_j_k": scene.network.capacities(),
        "forcing": parse(&format!("{:?}", scene.forcing)),
        "start_k": scene.start_k,
        "segments": segments,
        "ends_s": ends_s,
        "exact_k": scene.exact,
        "attic": {
            "lower": marks.attic_lower,
            "upper": marks.attic_upper,
            "lower_share": marks.lower_volume_share,
        },
        "checks": checks,
    });
    std::fs::write(&path, document.to_string()).expect("a file");
}
