//! What `verify --out` writes: page, charts and tables of a finished change.

use std::collections::BTreeMap;
use std::path::Path;

use assert_cmd::Command;
use jiff::ToSpan as _;
use jiff::civil::{Date, date};

use rafterheat::assess::Caution;
use rafterheat::readings::{Notice, Readings, Role, Series};
use rafterheat::report::{
    Folder, LogInput, ProofInput, VERIFIED_FILES, refused_folder, verified_folder, verified_json,
    verified_text,
};
use rafterheat::study::calibrate::{ClockError, ColumnsExchanged};
use rafterheat::study::verify::{ByDay, Doubt, Drop, Mimic, Told, Verified, VerifyError, Without};
use rafterheat::units::{System, show};
use rafterheat::weather::Weather;

use crate::fit_page::{fit, read_all, start_s, weather};
use crate::golden;
use crate::report_page::{assert_told_in_words, assert_well_formed};

const DAY_S: i64 = 86_400;
/// Made-up drops of the highs of six days, K.
const DROPS_K: [f64; 6] = [4.0, 2.5, 3.0, 5.5, 3.5, 2.5];

fn told(value: f64, half: f64) -> Told {
    Told {
        value,
        interval: [value - half, value + half],
    }
}

fn day(at: usize) -> Date {
    date(2017, 7, 3) + i64::try_from(at).unwrap().days()
}

/// A made-up drop at a thermometer.
fn drop_of(column: &str) -> Drop {
    let times_s: Vec<i64> = (0..6 * 144).map(|at| start_s() + at * 600).collect();
    let likely_k = times_s.iter().map(|at_s| {
        let turn = (at_s % DAY_S) as f64 / DAY_S as f64 * std::f64::consts::TAU;
        308.0 + 14.0 * (turn - 2.4).sin()
    });
    let likely_k: Vec<f64> = likely_k.collect();
    let mean_k = DROPS_K.iter().sum::<f64>() / 6.0;
    let after = DROPS_K.iter().enumerate();
    Drop {
        column: column.to_owned(),
        highs: told(mean_k, 1.2),
        mean: told(1.4, 0.6),
        doubt: Doubt::default(),
        shape: None,
        expected: Some([told(4.0, 0.8), told(1.6, 0.4)]),
        days: ByDay {
            before: [0.3, -0.4, 0.1]
                .into_iter()
                .enumerate()
                .map(|(at, k)| (day(at), k))
                .collect(),
            after: after.map(|(at, k)| (day(at), told(*k, 2.0))).collect(),
        },
        without: Without {
            logged_k: likely_k.iter().map(|k| k - 0.1 * (k - 294.0)).collect(),
            limits_k: likely_k.iter().map(|k| [k - 1.5, k + 1.5]).collect(),
            likely_k,
            times_s,
        },
    }
}

fn found(columns: &[&str]) -> Verified {
    Verified {
        drops: columns.iter().map(|column| drop_of(column)).collect(),
        ceiling_kwh_day: Some(told(2.4, 1.1)),
        ceiling_expected_kwh_day: Some(told(2.7, 0.6)),
        measured_share: Some(0.875),
        days: [3, 6],
        warmer_k: 1.0,
        rooms_logged: false,
        clocks: Vec::new(),
        rooms_otherwise: Vec::new(),
        mimics: vec![Mimic::LoggerElsewhere {
            column: "attic_ridge".to_owned(),
            likely_share: None,
            at_floor_k: 5.2,
            at_ridge_k: -0.3,
        }],
        fit: fit(None, 1),
    }
}

fn readings(source: &str) -> Readings {
    let role = Role::Inside("attic_ridge".to_owned());
    Readings {
        source: source.to_owned(),
        utc_offset_h: -8.0,
        clock: None,
        notices: vec![Notice::Unbelievable {
            role: role.clone(),
            values: 3,
            first_line: 17,
        }],
        series: vec![Series {
            role,
            times_s: vec![start_s(), start_s() + 6 * DAY_S],
            values: vec![300.0, 301.0],
        }],
    }
}

/// A log before and one after.
fn logs() -> [Readings; 2] {
    ["june.csv", "july.csv"].map(readings)
}

/// What goes into a folder; the second is whether it put anything there.
fn files(
    system: System,
    change: Option<&str>,
    put: impl FnOnce(&mut Folder, &ProofInput<'_>) -> bool,
) -> (BTreeMap<String, String>, bool) {
    let (logs, weather): (_, Weather) = (logs(), weather(true));
    let input = ProofInput {
        system,
        house: "a house",
        change,
        logs: [&logs[0], &logs[1]].map(|readings| LogInput {
            readings,
            weather: &weather,
        }),
        cautions: &[Caution::FansAndFire],
    };
    let mut folder = Folder::default();
    let is_put = put(&mut folder, &input);
    let place = tempfile::tempdir().unwrap();
    folder.write(place.path()).unwrap();
    (read_all(place.path()), is_put)
}

fn is_drawing(name: &str) -> bool {
    Path::new(name).extension().is_some_and(|end| end == "svg")
}

fn proof(system: System, change: Option<&str>, found: &Verified) -> BTreeMap<String, String> {
    let put = |folder: &mut Folder, input: &ProofInput<'_>| {
        verified_folder(folder, input, found).unwrap();
        true
    };
    files(system, change, put).0
}

/// The words of a page, without marks, spaces that hold a unit as others.
fn words(page: &str) -> String {
    let mut words = String::new();
    for part in page.split('<') {
        let text = part.split_once('>').map_or(part, |(_, text)| text);
        words.push_str(text);
        words.push(' ');
    }
    let plain = words.replace('\u{a0}', " ").replace("&quot;", "\"");
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_page_says_what_the_json_says() {
    let found = found(&["attic_ridge", "living_air"]);
    let json = verified_json("a house", Some("fans"), &found);
    for system in [System::Us, System::Si] {
        let files = proof(system, Some("fans"), &found);
        let page = words(&files["verification.html"]);
        let of = |value: &serde_json::Value| {
            show::temperature_difference(system, value.as_f64().unwrap())
        };
        for drop in json["drops"].as_array().unwrap() {
            let name = drop["name"].as_str().unwrap().replace('_', " ");
            for (key, what, verb) in [("highs_k", "daily highs", "are"), ("mean_k", "mean", "is")] {
                let (told, ends) = (&drop[key], &drop[key]["interval_90"]);
                let sentence = format!("At {name}, the {what} {verb} {} lower", of(&told["value"]));
                assert!(page.contains(&sentence), "{sentence}");
                let limits = format!("between {} and {}.", of(&ends[0]), of(&ends[1]));
                assert!(page.contains(&limits), "{limits}");
                let figures = |told: &serde_json::Value| {
                    let ends = &told["interval_90"];
                    [&told["value"], &ends[0], &ends[1]].map(of).join(" ")
                };
                let row = format!(
                    "{name}, {what} {} expected {}",
                    figures(told),
                    figures(&drop[format!("expected_{key}")])
                );
                assert!(page.contains(&row), "{row}");
            }
            // Each day of the JSON is in the table of days, and they make up the drop.
            let days = drop["days"]["after"].as_array().unwrap();
            for day in days {
                let row = format!(
                    "{},{},after,{:.4}",
                    day["date"].as_str().unwrap(),
                    drop["name"].as_str().unwrap(),
                    day["k"].as_f64().unwrap()
                );
                assert!(files["days.csv"].contains(&row), "{row}");
            }
            let sum: f64 = days.iter().map(|day| day["k"].as_f64().unwrap()).sum();
            let highs_k = drop["highs_k"]["value"].as_f64().unwrap();
            assert!((sum / days.len() as f64 - highs_k).abs() < 1e-9);
        }
        for (key, name) in [
            ("ceiling_kwh_day", "by what was measured"),
            ("ceiling_promised_kwh_day", "expected of \"fans\""),
        ] {
            let [value, low, high] = [
                &json[key]["value"],
                &json[key]["interval_90"][0],
                &json[key]["interval_90"][1],
            ]
            .map(|number| number.as_f64().unwrap());
            let figure = format!("{name}: {value:.1} ({low:.1} to {high:.1}) kWh a day");
            assert!(page.contains(&figure), "{figure}");
        }
        for part in [
            "june.csv",
            "july.csv",
            "3 unbelievable reading(s) dropped, the first on line 17",
            "What else could look like that change",
            "programme's own rules",
            "Fire: fans feed it",
        ] {
            assert!(page.contains(part), "{part}");
        }
    }
}

#[test]
fn charts_are_well_formed_and_promises_are_charted_only_where_there_are_any() {
    for (columns, change) in [
        (&["attic_ridge", "living_air"][..], Some("fans")),
        (&["attic_ridge"][..], None),
    ] {
        let mut found = found(columns);
        if change.is_none() {
            found.drops[0].expected = None;
            found.ceiling_kwh_day = None;
            found.ceiling_expected_kwh_day = None;
        }
        let files = proof(System::Us, change, &found);
        let known = |name: &String| VERIFIED_FILES.contains(&name.as_str());
        assert!(files.keys().all(known), "{:?}", files.keys());
        let drawings = files.iter().filter(|(name, _)| is_drawing(name));
        let mut count = 0;
        for (name, drawing) in drawings {
            assert_well_formed(drawing);
            assert_told_in_words(drawing);
            assert!(drawing.contains("°F"), "{name}");
            count += 1;
        }
        assert_eq!(count, if change.is_some() { 8 } else { 6 });
        let page = &files["verification.html"];
        assert_eq!(page.matches("<svg").count(), count);
        let without_names = page.replace("http://www.w3.org/2000/svg", "");
        for outside in [
            "http:", "https:", "<script", "<link", "@import", "src=", "NaN", ">inf",
        ] {
            assert!(!without_names.contains(outside), "{outside}");
        }
        let readings = files["after.csv"].lines().count() - 1;
        assert_eq!(readings, columns.len() * 6 * 144);
    }
}

#[test]
fn a_proof_in_words_is_kept_whole() {
    for (system, name) in [
        (System::Us, "verified-us.txt"),
        (System::Si, "verified-si.txt"),
    ] {
        let text = verified_text(system, "a house", Some("fans"), &found(&["attic_ridge"]));
        golden::check(name, &text);
    }
}

#[test]
fn a_refusal_has_a_page_without_charts() {
    let column = || "attic_ridge".to_owned();
    let refusals = [
        VerifyError::TooFewDays {
            before: 6,
            after: 2,
        },
        VerifyError::PoorFit {
            column: column(),
            spread_k: 3.0,
        },
        VerifyError::WeatherApart { apart_k: -11.0 },
        VerifyError::LoggerMoved {
            column: column(),
            night_k: -3.0,
            day_k: -3.2,
        },
        VerifyError::NothingInCommon,
        VerifyError::ColumnsExchanged(ColumnsExchanged {
            log: "june.csv".to_owned(),
            inside: column(),
        }),
        VerifyError::LogsExchanged {
            after_ends: jiff::civil::date(2017, 6, 22),
            before_begins: jiff::civil::date(2017, 7, 1),
        },
        VerifyError::ClockOff {
            clock: Box::new(ClockError {
                log: "june.csv".to_owned(),
                read_by: None,
                ahead_h: 7,
                rmse_k: 14.0,
                rmse_otherwise_k: 0.5,
            }),
        },
    ];
    let wanted = [
        "2 after it that can be used",
        "by 5.4 °F from day to day",
        "19.8 °F cooler outdoors",
        "read -5.4 °F other than the house as it was",
        "no thermometer in common",
        "attic ridge swings less through the day",
        "ends on 22 June 2017",
        "7 h",
    ];
    for (error, wanted) in refusals.iter().zip(wanted) {
        let (files, is_put) = files(System::Us, Some("fans"), |folder, input| {
            refused_folder(folder, input, error)
        });
        assert!(is_put);
        let page = words(&files["verification.html"]);
        for part in [
            "What \"fans\" did cannot be told",
            wanted,
            "june.csv",
            "What to do",
        ] {
            assert!(page.contains(part), "{part}\n{page}");
        }
        assert!(!files["verification.html"].contains("<svg"));
        assert!(!files.keys().any(|name| is_drawing(name)));
        assert!(
            files["summary.txt"]
                .lines()
                .all(|line| line.chars().count() <= 80)
        );
    }
}

/// The starter's log before itself.
#[test]
fn logs_the_wrong_way_round_are_refused() {
    let place = tempfile::tempdir().unwrap();
    let house = place.path().join("house");
    let rafterheat = || Command::cargo_bin("rafterheat").unwrap();
    rafterheat().arg("new").arg(&house).assert().success();
    let log = std::fs::read_to_string(house.join("log.csv")).unwrap();
    let later = log.replace("2017-06-1", "2017-06-2");
    std::fs::write(house.join("later.csv"), later).unwrap();
    let done = rafterheat()
        .arg("verify")
        .arg(house.join("house.toml"))
        .args(["--accept-guess", "--zone", "-7", "--before"])
        .arg(house.join("later.csv"))
        .arg("--after")
        .arg(house.join("log.csv"))
        .output()
        .unwrap();
    let told = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2), "{told}");
    assert!(told.contains("If they are exchanged"), "{told}");
}

/// The starter's log, read as if the attic were outdoors.
#[test]
fn nothing_is_fitted_to_exchanged_columns() {
    let place = tempfile::tempdir().unwrap();
    let house = place.path().join("house");
    let rafterheat = || Command::cargo_bin("rafterheat").unwrap();
    rafterheat().arg("new").arg(&house).assert().success();
    let log = std::fs::read_to_string(house.join("log.csv")).unwrap();
    let swapped = log.replace("time,outdoors,ridge", "time,ridge,outdoors");
    assert_ne!(log, swapped);
    std::fs::write(house.join("swapped.csv"), swapped).unwrap();
    let out = place.path().join("fitted");
    let done = rafterheat()
        .arg("calibrate")
        .arg(house.join("house.toml"))
        .args(["--accept-guess", "--zone", "-7", "--log"])
        .arg(house.join("swapped.csv"))
        .arg("--out")
        .arg(&out)
        .output()
        .unwrap();
    let told = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2), "{told}");
    let told = words(&told);
    for part in [
        "nothing was fitted and nothing written",
        "Two columns of swapped.csv look exchanged",
        "let the columns of \"ridge\" and \"outdoor\" change places",
    ] {
        assert!(told.contains(part), "{told}");
    }
    assert!(!out.exists() && !house.join("house-calibrated.toml").exists());
}

/// The starter's log against two days of itself.
#[test]
fn a_refusal_of_the_command_is_told_and_kept() {
    let place = tempfile::tempdir().unwrap();
    let house = place.path().join("house");
    let rafterheat = || Command::cargo_bin("rafterheat").unwrap();
    rafterheat().arg("new").arg(&house).assert().success();
    let log = std::fs::read_to_string(house.join("log.csv")).unwrap();
    let is_late = |line: &&str| {
        line.starts_with("2017")
            && !line.starts_with("2017-06-16")
            && !line.starts_with("2017-06-17")
    };
    let short: Vec<&str> = log.lines().filter(|line| !is_late(line)).collect();
    std::fs::write(house.join("short.csv"), short.join("\n") + "\n").unwrap();
    // The folder holds charts of another run, and something of the owner's.
    let out = place.path().join("proof");
    std::fs::create_dir(&out).unwrap();
    for name in ["days-after.svg", "days.csv", "own.csv"] {
        std::fs::write(out.join(name), "old").unwrap();
    }
    let mut command = rafterheat();
    command
        .arg("verify")
        .arg(house.join("house.toml"))
        .args([
            "--accept-guess",
            "--zone",
            "-7",
            "--change",
            "fans",
            "--before",
        ])
        .arg(house.join("log.csv"))
        .arg("--after")
        .arg(house.join("short.csv"))
        .arg("--out")
        .arg(&out);
    let done = command.output().unwrap();
    let told = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2), "{told}");
    assert!(told.contains("days.csv is there already"), "{told}");
    assert_eq!(read_all(&out).len(), 3);
    let done = command.arg("--overwrite").output().unwrap();
    let told = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2), "{told}");
    assert!(told.contains("3 of each are the least"), "{told}");
    let printed = String::from_utf8(done.stdout).unwrap();
    assert!(
        printed.starts_with("Why nothing can be told is in "),
        "{printed}"
    );
    let files = read_all(&out);
    assert!(!files["verification.html"].contains("<svg"));
    assert!(files["results.json"].contains("\"refused\""));
    // What the older run had charted is gone; what verify does not write stays.
    let names: Vec<&str> = files.keys().map(String::as_str).collect();
    let wanted = [
        "own.csv",
        "results.json",
        "summary.txt",
        "verification.html",
    ];
    assert_eq!(names, wanted);
}
