//! `calibrate`: its report, and the way from a log to a calibrated house file.

use std::fmt::Write as _;
use std::path::PathBuf;

use rafterheat::house::{HouseFile, Spread};
use rafterheat::report::calibration_text;
use rafterheat::run::{RunOptions, simulate};
use rafterheat::study::calibrate::{
    Calibration, Compared, Direction, Finding, Held, Measure, Prior, Target, Weight,
};
use rafterheat::units::{Dimension as D, System};
use rafterheat::weather::Weather;

use crate::golden::check;

/// A measured month.
const WEATHER: &str = "weather-samples/delta-california-2017-summer.csv";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The report of a fit, from made-up findings.
#[test]
fn the_report_of_a_fit_reads_well() {
    let prior = |key: &str, dimension, range: [f64; 3]| {
        let key = key.to_owned();
        let target = Target::Key { key, dimension };
        Prior::new(target, range, [0.0, 1e4], "made up")
    };
    let all = [
        prior("roof.absorptance", D::Fraction, [0.85, 0.7, 0.95]),
        prior("openings.soffit.net_area", D::Area, [0.016, 0.008, 0.026]),
        prior("site.shelter", D::Fraction, [0.6, 0.3, 0.9]),
        Prior::new(Target::AirOffset, [0.0, -1.5, 1.5], [-4.0, 4.0], "made up"),
        prior("ceiling.insulation", D::ThermalResistance, [3.3, 2.0, 4.0]),
    ];
    let finding =
        |index: usize, value: f64, interval: [f64; 2], pull: f64, doubt_left: f64| Finding {
            prior: all[index].clone(),
            value,
            interval,
            pull,
            doubt_left,
        };
    let compared = |off: f64, days: i64| {
        let times_s: Vec<i64> = (0..24 * days).map(|hour| hour * 3600).collect();
        let logged: Vec<f64> = times_s
            .iter()
            .map(|at_s| 305.0 + 12.0 * (*at_s as f64 / 86_400.0 * std::f64::consts::TAU).sin())
            .collect();
        vec![Compared {
            name: "ridge".to_owned(),
            measure: Measure::Temperature,
            worked_out: logged
                .iter()
                .map(|k| k + off + 0.02 * (k - 305.0))
                .collect(),
            logged,
            times_s,
        }]
    };
    let fit = Calibration {
        findings: vec![
            finding(0, 0.9, [0.87, 0.93], 0.6, 0.25),
            finding(1, 0.012, [0.008, 0.019], -0.8, 0.7),
            finding(2, 0.41, [0.3, 0.52], -1.0, 0.4),
            finding(3, 2.1, [1.6, 2.6], 2.3, 0.33),
        ],
        held: vec![Held {
            prior: all[4].clone(),
            told: 0.2,
        }],
        correlations: nalgebra::DMatrix::from_row_slice(
            4,
            4,
            &[
                1.0, 0.2, -0.8, 0.1, 0.2, 1.0, 0.1, 0.0, -0.8, 0.1, 1.0, 0.3, 0.1, 0.0, 0.3, 1.0,
            ],
        ),
        directions: vec![
            Direction {
                told: 12.0,
                parts: vec![("roof.absorptance".to_owned(), 0.9)],
            },
            Direction {
                told: 0.6,
                parts: vec![
                    ("openings.soffit.net_area".to_owned(), 0.8),
                    ("site.shelter".to_owned(), -0.55),
                ],
            },
        ],
        weights: vec![Weight {
            name: "ridge".to_owned(),
            measure: Measure::Temperature,
            spread: 0.62,
            count: 168,
            effective: 31.0,
            daily: 0.5,
        }],
        fitted: compared(0.1, 7),
        kept_out: compared(-0.4, 2),
        before: compared(2.5, 7),
        values: Vec::new(),
        covariance: nalgebra::DMatrix::zeros(0, 0),
        daily: Vec::new(),
        sums: vec![33.1, 33.2, 58.0],
        runs: 148,
    };
    for (system, name) in [(System::Us, "us"), (System::Si, "si")] {
        let text = calibration_text(system, "a house", &fit);
        check(&format!("calibration-{name}.txt"), &text);
    }
    let short = Calibration {
        fitted: compared(0.1, 2),
        ..fit
    };
    let text = calibration_text(System::Us, "a house", &short);
    assert!(text.contains("readings of 2 day(s)"), "{text}");
}

/// Checks that the folder of a fit tells the same as its JSON.
fn assert_tells(folder: &std::path::Path, rmse: f64) {
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    let told = crate::fit_page::rmse_c(&read("residuals.csv"), "ridge", "fitted");
    assert!((told - rmse).abs() < 1e-3, "{told} {rmse}");
    let page = read("calibration.html");
    assert!(page.contains("site.shelter") && page.contains("What the readings cannot tell"));
}

/// The command from a log to a calibrated house file.
#[test]
#[expect(
    clippy::too_many_lines,
    reason = "one fit is dear, so that all is looked at after it"
)]
fn the_command_fits_a_log_and_writes_a_house_file() {
    let place = tempfile::tempdir().unwrap();
    let path = |name: &str| place.path().join(name);
    let starter = rafterheat::house::STARTER;
    std::fs::write(path("house.toml"), starter).unwrap();
    std::fs::copy(root().join(WEATHER), path("weather.csv")).unwrap();
    // The log is of a house with more wind than is likely and a darker roof.
    let weather = Weather::read(&path("weather.csv"), None).unwrap();
    let file = HouseFile::from_text(starter, "house.toml").unwrap();
    let house = file
        .with(&[("site.shelter", "0.8"), ("roof.absorptance", "0.95")])
        .unwrap()
        .base;
    let start = weather.hottest_week().unwrap().intervals.start;
    let outcome = simulate(
        &house,
        &weather,
        start..start + 5 * 48,
        &RunOptions::default(),
    )
    .unwrap();
    let mut log = String::from("Timestamp;Ridge (°F);Außen (°F)\n");
    let trace = &outcome.trace;
    for (index, time_s) in trace
        .times_s
        .iter()
        .enumerate()
        .filter(|(index, _)| index % 6 == 0)
    {
        let at = outcome
            .start
            .saturating_add(jiff::SignedDuration::from_secs(*time_s as i64));
        let f = |kelvin: f64| (kelvin - 273.15) * 1.8 + 32.0;
        let ridge = f(trace.sensors_k[0].reading_k[index]);
        let out = f(trace.outdoor_k[index]);
        writeln!(log, "{};{ridge:.1};{out:.1}", at.strftime("%m/%d/%Y %H:%M")).unwrap();
    }
    std::fs::write(path("log.csv"), log).unwrap();
    let run = |more: &[&str]| {
        let text = |name: &str| path(name).display().to_string();
        let mut args: Vec<String> = ["rafterheat", "--quiet", "calibrate"]
            .map(str::to_owned)
            .to_vec();
        args.extend([text("house.toml"), "--log".to_owned(), text("log.csv")]);
        args.extend(["--starts", "1", "--fit", ""].map(str::to_owned));
        let days = [0, 4].map(|days| {
            let at = outcome
                .start
                .saturating_add(jiff::SignedDuration::from_hours(24 * days));
            at.date().to_string()
        });
        let last = args.len() - 1;
        args[last] = format!("{}..{}", days[0], days[1]);
        args.extend(more.iter().map(|arg| (*arg).to_owned()));
        let mut out = Vec::new();
        let code = rafterheat::cli::run(args.into_iter().map(Into::into), &mut out);
        (code, String::from_utf8(out).unwrap())
    };
    assert_eq!(run(&[]).0, 2, "a guess that nobody accepted is not used");
    assert!(!path("house-calibrated.toml").exists());
    let (code, text) = run(&["--accept-guess"]);
    assert_eq!(code, 0, "{text}");
    assert!(
        text.contains("site.shelter") && text.contains("What the readings cannot tell"),
        "{text}"
    );
    assert!(text.contains("\nWhat to log next\n"), "{text}");
    assert!(
        text.lines().all(|line| line.chars().count() <= 100),
        "{text}"
    );
    let written = std::fs::read_to_string(path("house-calibrated.toml")).unwrap();
    let kept = starter.lines().filter(|line| line.starts_with('#'));
    assert!(kept.clone().count() > 10 && kept.clone().all(|line| written.contains(line)));
    let calibrated = HouseFile::read(&path("house-calibrated.toml")).unwrap();
    // What was fitted keeps what doubt is left, less than before.
    let doubt = |file: &HouseFile, key: &str| {
        let mut assumed = file.base.assumed.iter();
        match assumed.find(|one| one.field == key).unwrap().spread {
            Spread::Number { low, high, .. } => high - low,
            Spread::Cases(_) => f64::NAN,
        }
    };
    let [before, after] = [&file, &calibrated].map(|file| doubt(file, "site.shelter"));
    assert!(after < 0.5 * before, "{after} {before}");
    // What the attic's air gets wrong every day goes along, for limits alone; it is little here, where
    // the log has no errors and is of the fitted network.
    assert!(doubt(&calibrated, "attic.air_error") > 0.0);
    assert!(calibrated.base.attic.air_error_k.abs() < 1e-12);
    // A vent's area is fitted with its coefficient, which has no doubt of its own then.
    let discharge = |file: &HouseFile| {
        let mut assumed = file.base.assumed.iter();
        assumed.any(|one| one.field == "openings.soffit.discharge")
    };
    let area = written.contains("[fitted.openings-soffit-net_area]");
    assert_eq!(discharge(&calibrated), !area);
    assert_eq!(run(&["--accept-guess"]).0, 2, "the file is there already");
    let out = path("out").display().to_string();
    let (code, text) = run(&["--accept-guess", "--overwrite", "--json", "--out", &out]);
    assert_eq!(code, 0);
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let next = json["log_next"]["readings"].as_array().unwrap();
    assert!(json["clock"].is_null(), "{}", json["clock"]);
    assert!(next.len() >= 6 && next[0]["narrows"].as_f64().unwrap() > 0.0);
    let rmse = json["quality"]["fitted"]["ridge"]["rmse"].as_f64().unwrap();
    let before = json["quality"]["before"]["ridge"]["rmse"].as_f64().unwrap();
    assert!(rmse < 0.35 && rmse < 0.3 * before, "{rmse} {before}");
    // The folder tells the same.
    assert_tells(&path("out"), rmse);
    std::fs::remove_dir_all(path("out")).unwrap();
    // Only the house file and the calibrated one: nothing half-written is left.
    let names = std::fs::read_dir(place.path()).unwrap().count();
    assert_eq!(names, 4);
}
