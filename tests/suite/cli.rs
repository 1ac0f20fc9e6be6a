//! The command line as people and scripts meet it: what is printed, written and returned.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use assert_cmd::Command;
use serde_json::Value;

use crate::golden;

/// The program in a folder.
fn program(folder: &Path) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"));
    command.current_dir(folder).env_remove("NO_COLOR");
    command
}

/// What a command came to.
pub(crate) struct Ran {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

pub(crate) fn run(folder: &Path, args: &[&str]) -> Ran {
    run_with(folder, args, "")
}

/// The same with something on standard input.
pub(crate) fn run_with(folder: &Path, args: &[&str], input: &str) -> Ran {
    let output = program(folder).args(args).write_stdin(input).output();
    let output = output.unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// A new folder with the starter's files.
pub(crate) fn new_starter() -> PathBuf {
    let folder = tempfile::tempdir().unwrap().keep();
    let ran = run(&folder, &["new", "."]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    folder
}

/// A folder with the demo's files and what it printed; run once for all tests.
fn demo() -> &'static (PathBuf, String) {
    static DEMO: OnceLock<(PathBuf, String)> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap().keep();
        let ran = run(&folder, &["demo"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        (folder, ran.out)
    })
}

/// A starter folder, made once.
fn starter() -> &'static Path {
    static STARTER: OnceLock<PathBuf> = OnceLock::new();
    STARTER.get_or_init(new_starter)
}

fn json(ran: &Ran) -> Value {
    assert_eq!(ran.code, 0, "{}", ran.err);
    serde_json::from_str(&ran.out).expect("one JSON document and nothing else")
}

fn entries(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn fits(text: &str) {
    for line in text.lines() {
        let width = line.chars().count();
        assert!(width <= 80, "{width} columns: {line}");
    }
}

/// A text with its numbers and its line breaks taken out, so that only words count.
fn words_only(text: &str) -> String {
    let mut out = String::new();
    let mut width = 0;
    for word in text.split_whitespace() {
        let masked: String = word
            .chars()
            .map(|c| if c.is_ascii_digit() { '0' } else { c })
            .collect();
        let mut masked = masked.replace("0,0", "00").replace("0.0", "00");
        while masked.contains("00") {
            masked = masked.replace("00", "0");
        }
        let masked = masked.replace('0', "#").replace(['-', '+'], "±");
        let masked = if masked.starts_with('─') {
            "──".to_owned()
        } else {
            masked
        };
        if width + masked.chars().count() > 78 {
            out.push('\n');
            width = 0;
        }
        width += masked.chars().count() + 1;
        out.push_str(&masked);
        out.push(' ');
    }
    out + "\n"
}

fn results(folder: &Path) -> Value {
    let text = std::fs::read_to_string(folder.join("results.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// Whole degrees Fahrenheit and whole percent: what a reader takes away from the demo.
#[test]
fn the_demo_answers_what_each_design_does() {
    let (folder, _) = demo();
    let document = results(&folder.join("hot-week"));
    let designs = document["designs"].as_array().unwrap();
    let fahrenheit = |c: &Value| c.as_f64().unwrap() * 1.8 + 32.0;
    let base = designs[0]["heat"]["ceiling_gain_kwh"].as_f64().unwrap();
    let mut table = String::from("design: attic high °F, rooms high °F, ceiling heat %\n");
    for design in designs {
        let _ = writeln!(
            table,
            "{}: {:.0}, {:.0}, {:.0}",
            design["design"].as_str().unwrap(),
            fahrenheit(&design["peaks"]["attic_air"]["c"]),
            fahrenheit(&design["peaks"]["living_air"]["c"]),
            design["heat"]["ceiling_gain_kwh"].as_f64().unwrap() / base * 100.0,
        );
    }
    golden::check("demo-table.txt", &table);
}

#[test]
fn the_demo_says_why_in_these_words() {
    golden::check("demo-words.txt", &words_only(&demo().1));
}

#[test]
fn the_demo_writes_its_folder_and_leaves_no_part_behind() {
    let (folder, _) = demo();
    let names = entries(&folder.join("hot-week"));
    for name in [
        "as-it-stands",
        "barrier",
        "columns.txt",
        "fans",
        "fans-and-barrier",
        "days.svg",
        "hottest-day.svg",
        "house.toml",
        "report.html",
        "results.json",
        "summary.txt",
    ] {
        assert!(names.iter().any(|n| n == name), "{name} in {names:?}");
    }
    for (design, fans) in [("fans", vec!["fan-1.svg"]), ("as-it-stands", Vec::new())] {
        let inside = entries(&folder.join("hot-week").join(design));
        let mut expected = vec!["air.svg", "days.svg"];
        expected.extend(fans);
        expected.extend(["heat.svg", "nodes.csv", "summary.txt", "temperatures.svg"]);
        expected.push("timeline.csv");
        assert_eq!(inside, expected);
    }
    assert_eq!(entries(folder), ["hot-week"]);
}

#[test]
fn every_text_fits_80_columns_in_both_units() {
    let folder = starter();
    fits(&demo().1);
    for units in ["us", "si"] {
        for args in [
            vec!["check", "house.toml"],
            vec!["weather", "weather.csv"],
            vec!["simulate", "house.toml", "--design", "fans and barrier"],
            vec![
                "compare",
                "house.toml",
                "--period",
                "2017-06-16..2017-06-18",
            ],
        ] {
            let mut args = args;
            args.extend(["--units", units]);
            let ran = run(folder, &args);
            assert_eq!(ran.code, 0, "{args:?}: {}", ran.err);
            assert_eq!(ran.err, "", "{args:?}");
            fits(&ran.out);
            let other = if units == "us" { "°C" } else { "°F" };
            assert!(!ran.out.contains(&format!("highest, {other}")));
        }
    }
}

#[test]
fn simulate_prints_the_documented_keys() {
    let ran = run(
        starter(),
        &["simulate", "house.toml", "--design", "fans", "--json"],
    );
    let document = json(&ran);
    let places = [
        "outdoor",
        "attic_ridge",
        "attic_air",
        "attic_low",
        "deck_underside",
        "attic_floor",
        "ceiling_underside",
        "living_air",
    ];
    assert_eq!(document["schema"], 1);
    assert_eq!(document["design"], "fans");
    assert_eq!(document["weather"]["kind"], "measured");
    assert_eq!(document["period"]["from"], "2017-06-16T00:00:00");
    assert_eq!(document["period"]["to"], "2017-06-23T00:00:00");
    for place in places {
        let peak = &document["peaks"][place];
        assert!(peak["c"].is_f64(), "{place}");
        let at = peak["at"].as_str().unwrap();
        assert!(at.len() == 19 && at.starts_with("2017-06-"), "{at}");
        assert!(document["means"][place]["c"].as_f64() < peak["c"].as_f64());
    }
    for (part, keys) in [
        (
            "heat",
            &[
                "ceiling_gain_kwh",
                "ceiling_peak_w_m2",
                "solar_absorbed_kwh",
            ][..],
        ),
        (
            "air",
            &[
                "attic_ach_mean",
                "attic_ach_max",
                "fan_free_air_m3_s",
                "fan_delivered_m3_s",
                "from_living_share_max",
                "living_pressure_min_pa",
                "attic_pressure_min_pa",
            ],
        ),
        ("fan", &["run_hours", "energy_kwh", "starts"]),
        (
            "comfort",
            &["hours_above_26_7_c", "hours_above_adaptive_limit"],
        ),
        ("balance", &["energy_relative", "air_kg_s"]),
    ] {
        for key in keys {
            assert!(document[part][key].is_number(), "{part}.{key}");
        }
    }
    let days = document["days"].as_array().unwrap();
    assert_eq!(days.len(), 7);
    for key in [
        "outdoor_high_c",
        "attic_high_c",
        "living_high_c",
        "fan_hours",
    ] {
        assert!(days[0][key].is_number(), "{key}");
    }
    assert_eq!(days[0]["date"], "2017-06-16");
    let sensor = &document["sensors"]["ridge"];
    for key in ["high_c", "low_c", "offset_from_air_c"] {
        assert!(sensor[key].is_number(), "{key}");
    }
    let assumed = &document["assumed"][0];
    assert!(assumed["field"].is_string() && assumed["range"][1].is_string());
    assert!(assumed["source"].is_string() && assumed["value"].is_string());
    let caution = &document["cautions"][0];
    assert!(caution["code"].is_string() && caution["text"].is_string());
    // What there is not yet is not there, rather than nought.
    for part in ["moisture", "power"] {
        assert!(document.get(part).is_none(), "{part}");
    }
    assert!(
        document["air"]["short_circuit_share_max"]
            .as_f64()
            .is_some()
    );
}

#[test]
fn json_is_the_same_whatever_the_units_and_the_threads() {
    let base = ["simulate", "house.toml", "--period", "2017-06-18", "--json"];
    let us = run(starter(), &base);
    let si = run(
        starter(),
        &[&base[..], &["--units", "si", "--threads", "1"]].concat(),
    );
    assert_eq!(json(&us), json(&si));
}

#[test]
fn the_heat_account_closes_in_every_design() {
    let document = results(&demo().0.join("hot-week"));
    for design in document["designs"].as_array().unwrap() {
        for (name, account) in design["account"].as_object().unwrap() {
            let off = account["imbalance_relative"].as_f64().unwrap();
            assert!(off <= 1e-6, "{} {name}: {off:e}", design["design"]);
            assert!(account["lines"].as_array().unwrap().len() > 6, "{name}");
            for line in account["lines"].as_array().unwrap() {
                assert_ne!(line["code"], "other", "{} {name}", line["name"]);
            }
        }
        // The ceiling's line is the heat that the summary tells, by way of other columns.
        let lines = design["account"]["attic_period"]["lines"]
            .as_array()
            .unwrap();
        let ceiling = lines.iter().find(|line| line["code"] == "ceiling").unwrap();
        let net = design["heat"]["ceiling_net_kwh"].as_f64().unwrap();
        assert!((ceiling["kwh"].as_f64().unwrap() + net).abs() < 2e-4);
        let sun: f64 = lines
            .iter()
            .filter(|line| {
                line["code"] == "sun" && line["name"].as_str().unwrap().contains("slope")
            })
            .map(|line| line["kwh"].as_f64().unwrap())
            .sum();
        assert!((sun - design["heat"]["solar_absorbed_kwh"].as_f64().unwrap()).abs() < 2e-3);
    }
}

#[test]
fn compare_tells_differences_against_the_first() {
    let ran = run(
        starter(),
        &[
            "compare",
            "house.toml",
            "--period",
            "2017-06-18",
            "--json",
            "--out",
            "compared",
        ],
    );
    let document = json(&ran);
    let names: Vec<&str> = document["designs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|design| design["design"].as_str().unwrap())
        .collect();
    assert_eq!(
        names,
        ["as it stands", "fans", "barrier", "fans and barrier"]
    );
    let high = |index: usize| document["designs"][index]["peaks"]["attic_air"]["c"].as_f64();
    let difference = &document["differences"][1];
    assert_eq!(difference["design"], "barrier");
    assert_eq!(difference["against"], "as it stands");
    let told = difference["attic_high_k"].as_f64().unwrap();
    assert!((told - (high(2).unwrap() - high(0).unwrap())).abs() < 2e-3);
    for key in [
        "attic_high_k",
        "living_high_k",
        "ceiling_gain_kwh",
        "ceiling_gain_share",
    ] {
        let value = difference[key].as_f64().unwrap();
        let end = |at: usize| difference["bands"][key][at].as_f64().unwrap();
        assert!(
            end(0) <= value && value <= end(1) && end(0) < end(1),
            "{key}"
        );
    }
    let out = starter().join("compared");
    for file in ["summary.txt", "report.html"] {
        let text = std::fs::read_to_string(out.join(file)).unwrap();
        assert!(text.contains("How sure the differences are"), "{file}");
    }
    assert_eq!(results(&out), document);
}

#[test]
fn new_runs_as_it_is_and_overwrites_nothing() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(run(folder.path(), &["new", "mine"]).code, 0);
    let mine = folder.path().join("mine");
    assert_eq!(entries(&mine), ["house.toml", "log.csv", "weather.csv"]);
    let log = std::fs::read_to_string(mine.join("log.csv")).unwrap();
    assert!(log.contains("not measured") && log.lines().count() > 400);
    let ran = run(
        folder.path(),
        &["simulate", "mine/house.toml", "--period", "2017-06-18"],
    );
    assert_eq!(ran.code, 0, "{}", ran.err);

    std::fs::remove_file(mine.join("log.csv")).unwrap();
    std::fs::write(mine.join("house.toml"), "mine").unwrap();
    let again = run(folder.path(), &["new", "mine"]);
    assert_eq!(again.code, 2);
    assert!(
        again.err.contains("house.toml is there already"),
        "{}",
        again.err
    );
    assert_eq!(entries(&mine), ["house.toml", "weather.csv"]);
    assert_eq!(
        std::fs::read_to_string(mine.join("house.toml")).unwrap(),
        "mine"
    );
}

#[test]
fn made_weather_can_be_used_and_is_called_made() {
    let folder = tempfile::tempdir().unwrap();
    let make = [
        "weather",
        "make",
        "july.csv",
        "--high",
        "104 F",
        "--low",
        "19 C",
        "--latitude",
        "38.1",
        "--longitude",
        "-121.6",
        "--utc-offset",
        "-8",
        "--days",
        "3",
    ];
    let ran = run(folder.path(), &make);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("made up from a forecast, not measured"));
    let again = run(folder.path(), &make);
    assert_eq!(again.code, 2, "it is not written over");
    let house = starter().join("house.toml");
    let house = house.to_str().unwrap();
    let ran = run(
        folder.path(),
        &["simulate", house, "--weather", "july.csv", "--json"],
    );
    let document = json(&ran);
    assert_eq!(document["weather"]["kind"], "made");
    let high = document["peaks"]["outdoor"]["c"].as_f64().unwrap();
    assert!((high - 40.0).abs() < 0.01, "{high}");
}

#[test]
fn weather_is_described_as_json() {
    let document = json(&run(starter(), &["weather", "weather.csv", "--json"]));
    assert_eq!(document["kind"], "measured");
    assert_eq!(document["hottest_week"]["from"], "2017-06-16T00:00:00");
    assert!(document["notices"].as_array().unwrap().len() > 1);
}

#[test]
fn check_tells_vents_against_the_rules_and_what_was_assumed() {
    let document = json(&run(starter(), &["check", "house.toml", "--json"]));
    let floor = document["attic"]["floor_m2"].as_f64().unwrap();
    let as_it_stands = &document["designs"][0];
    let asked = as_it_stands["vents_asked_300_m2"].as_f64().unwrap();
    assert!((asked - floor / 300.0).abs() < 1e-4);
    // 8 fans of 75 cfm ask for 2 ft².
    let fans = &document["designs"][1];
    let inlet = fans["fan_inlet_asked_m2"].as_f64().unwrap();
    assert!((inlet / 0.3048_f64.powi(2) - 2.0).abs() < 2e-3, "{inlet}");
    // With weather beside the house each assumption has its effect: shelter and absorptance weigh
    // most of what this house leaves open, soil least.
    let effect = |field: &str| {
        let all = as_it_stands["assumed"].as_array().unwrap();
        let one = all.iter().find(|one| one["field"] == field).expect(field);
        one["effect_on_attic_high_c"].as_f64().unwrap()
    };
    assert!(effect("roof.absorptance") > 0.5 && effect("site.shelter") > 0.5);
    assert!(effect("site.soil") < 0.05);

    // Without weather the values are told all the same.
    let alone = tempfile::tempdir().unwrap();
    std::fs::copy(
        starter().join("house.toml"),
        alone.path().join("house.toml"),
    )
    .unwrap();
    let document = json(&run(alone.path(), &["check", "house.toml", "--json"]));
    let assumed = document["designs"][0]["assumed"].as_array().unwrap();
    assert!(assumed.len() > 10);
    assert!(assumed[0].get("effect_on_attic_high_c").is_none());
}

#[test]
fn help_shows_an_example_for_each_command() {
    let folder = tempfile::tempdir().unwrap();
    let ran = run(folder.path(), &["--help"]);
    assert_eq!(ran.code, 0);
    fits(&ran.out);
    for command in [
        "demo", "new", "check", "weather", "simulate", "compare", "sweep", "merge",
    ] {
        let ran = run(folder.path(), &[command, "--help"]);
        assert_eq!(ran.code, 0);
        assert!(
            ran.out.contains(&format!("rafterheat {command}")),
            "{command}"
        );
        assert!(ran.out.contains("Example"), "{command}");
        fits(&ran.out);
    }
    let page = run(folder.path(), &["man", "simulate"]);
    assert!(page.code == 0 && page.out.contains(".TH"), "{}", page.err);
    let shell = run(folder.path(), &["completions", "bash"]);
    assert!(shell.code == 0 && shell.out.contains("simulate"));
    assert!(entries(folder.path()).is_empty());
}

#[test]
fn a_closed_pipe_is_success() {
    use std::io::Read;
    use std::process::Stdio;
    let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"))
        .current_dir(starter())
        .args(["weather", "weather.csv", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut err = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut err)
        .unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0), "{err}");
    assert_eq!(err, "");
}

#[test]
fn a_folder_that_cannot_be_written_is_status_1_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let house = starter().join("house.toml");
    std::fs::write(folder.path().join("taken"), "a file").unwrap();
    let ran = run(
        folder.path(),
        &[
            "simulate",
            house.to_str().unwrap(),
            "--period",
            "2017-06-18",
            "--out",
            "taken",
        ],
    );
    assert_eq!(ran.code, 1);
    assert_eq!(
        ran.out, "",
        "nothing is printed of a run whose files failed"
    );
    assert!(ran.err.contains("cannot write taken"), "{}", ran.err);
    assert!(ran.err.contains("because:"), "{}", ran.err);
    assert_eq!(entries(folder.path()), ["taken"]);
}

/// Wrong command lines and inputs: each with its message, status 2, and nothing printed or written.
#[test]
#[expect(clippy::too_many_lines, reason = "a table of command lines")]
fn wrong_command_lines_are_told_what_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path();
    let starter = starter();
    for name in ["house.toml", "weather.csv"] {
        std::fs::copy(starter.join(name), place.join(name)).unwrap();
    }
    std::fs::create_dir(place.join("alone")).unwrap();
    std::fs::copy(starter.join("house.toml"), place.join("alone/house.toml")).unwrap();
    let house = std::fs::read_to_string(starter.join("house.toml")).unwrap();
    let steep = house.replace("pitch = \"4:12\"", "pitch = \"4 furlongs\"");
    assert_ne!(house, steep);
    std::fs::write(place.join("steep.toml"), steep).unwrap();
    std::fs::write(place.join("empty.csv"), "").unwrap();
    std::fs::write(place.join("columns.toml"), "place = 3").unwrap();
    let before = entries(place);

    let made = |high: &'static str, low: &'static str| {
        vec![
            "weather",
            "make",
            "x.csv",
            "--high",
            high,
            "--low",
            low,
            "--latitude",
            "38",
            "--longitude",
            "-121",
            "--utc-offset",
            "-8",
        ]
    };
    let cases: Vec<(&str, Vec<&str>)> = vec![
        ("no command", vec![]),
        ("unknown command", vec!["simulat", "house.toml"]),
        (
            "unknown option",
            vec!["simulate", "house.toml", "--desing", "fans"],
        ),
        ("no house", vec!["simulate"]),
        ("house that is not there", vec!["check", "hose.toml"]),
        ("house with a fault", vec!["check", "steep.toml"]),
        ("house that is a folder", vec!["check", "alone"]),
        (
            "unknown design",
            vec!["simulate", "house.toml", "--design", "fan"],
        ),
        (
            "unlike any design",
            vec!["simulate", "house.toml", "--design", "zzz"],
        ),
        ("no weather", vec!["simulate", "alone/house.toml"]),
        (
            "empty weather",
            vec!["simulate", "house.toml", "--weather", "empty.csv"],
        ),
        ("weather that is not there", vec!["weather", "nowhere.csv"]),
        (
            "weather without a description",
            vec!["weather", "house.toml"],
        ),
        (
            "bad description",
            vec!["weather", "weather.csv", "--columns", "columns.toml"],
        ),
        (
            "period in words",
            vec!["simulate", "house.toml", "--period", "summer"],
        ),
        (
            "period backwards",
            vec![
                "compare",
                "house.toml",
                "--period",
                "2017-06-20..2017-06-18",
            ],
        ),
        (
            "period outside",
            vec![
                "simulate",
                "house.toml",
                "--period",
                "2017-08-01..2017-08-07",
            ],
        ),
        (
            "a year of a month",
            vec!["simulate", "house.toml", "--period", "year"],
        ),
        (
            "wrong units",
            vec!["check", "house.toml", "--units", "metric"],
        ),
        ("no threads", vec!["check", "house.toml", "--threads", "0"]),
        ("temperature without unit", made("104", "60 F")),
        ("low above high", made("80 F", "90 F")),
        ("unknown page", vec!["man", "simulat"]),
    ];
    let mut told = String::new();
    for (name, args) in cases {
        let ran = run(place, &args);
        assert_eq!(ran.code, 2, "{name}: {}{}", ran.out, ran.err);
        assert_eq!(ran.out, "", "{name}");
        assert!(
            !ran.err.contains('\u{1b}'),
            "{name}: colour without a terminal"
        );
        assert_eq!(entries(place), before, "{name}");
        // What the system says differs from system to system.
        let own = ran.err.lines().filter(|line| !line.contains("os error"));
        let own: Vec<&str> = own.collect();
        let _ = writeln!(
            told,
            "== {name}: rafterheat {}\n{}\n",
            args.join(" "),
            own.join("\n")
        );
    }
    golden::check("wrong-command-lines.txt", &told);
}

#[test]
fn a_run_tells_how_sure_it_is() {
    let house = ["simulate", "house.toml"];
    let ran = run(starter(), &house);
    assert_eq!(ran.code, 0, "{}", ran.err);
    fits(&ran.out);
    for words in [
        "How sure the result is",
        "very likely",
        "Worth finding out first: site.shelter",
        "roof.absorptance = 0.88; likely 0.81 (-",
    ] {
        assert!(ran.out.contains(words), "{words}\n{}", ran.out);
    }
    let whole = json(&run(starter(), &[&house[..], &["--json"]].concat()));
    let high_c = whole["peaks"]["attic_air"]["c"].as_f64().unwrap();
    let limit = |at: usize| whole["bands"]["attic_high_c"][at].as_f64().unwrap();
    assert!(limit(0) < high_c - 2.0 && high_c + 2.0 < limit(1));
    let assumed = whole["assumed"].as_array().unwrap();
    for one in assumed {
        assert!(
            one["effect_on_attic_high_c"].as_f64().unwrap() >= 0.0,
            "{one}"
        );
    }
}

#[test]
fn a_forecast_tells_what_the_logger_should_read() {
    let folder = starter();
    let forecast = [
        "simulate",
        "house.toml",
        "--tomorrow",
        "97 F / 64 F",
        "--date",
        "2026-07-15",
    ];
    let ran = run(folder, &forecast);
    assert_eq!(ran.code, 0, "{}", ran.err);
    fits(&ran.out);
    let line = ran
        .out
        .lines()
        .find(|line| line.contains("Your ridge"))
        .unwrap();
    assert!(
        line.contains("should read 1") && line.contains(" ± "),
        "{line}"
    );
    for words in [
        "15 Jul, made from a high of 97.0 °F",
        "at about 3 pm.",
        "Hour by hour",
        "forecast.wind",
    ] {
        assert!(ran.out.contains(words), "{words}\n{}", ran.out);
    }
    let width = |more: &[&str]| {
        let args = [&forecast[..], more, &["--json"]].concat();
        let told = json(&run(folder, &args));
        let sensor = &told["tomorrow"]["sensors"]["ridge"];
        let high_c = sensor["high_c"].as_f64().unwrap();
        assert!((45.0..70.0).contains(&high_c), "{sensor}");
        sensor["within_c"].as_f64().unwrap()
    };
    // A wind that is forecast narrows it.
    assert!(width(&["--wind", "6 mph"]) < 0.9 * width(&[]));
    for (wrong, words) in [
        (&["--tomorrow", "warm"][..], "it takes a high and a low"),
        (&["--tomorrow", "64 F / 97 F"], "the high comes first"),
        (&["--tomorrow", "97 F/64 F", "--date", "soon"], "not a date"),
        (&["--tomorrow", "97 F/64 F", "--wind", "6"], "--wind"),
        (&["--wind", "6 mph"], "--tomorrow"),
        (&["--tomorrow", "97 F/64 F", "--period", "year"], "--period"),
    ] {
        let ran = run(folder, &[&["simulate", "house.toml"], wrong].concat());
        assert_eq!(ran.code, 2, "{wrong:?}");
        assert!(ran.err.contains(words), "{wrong:?}: {}", ran.err);
    }
    // Without a date, tomorrow by the clock.
    assert_eq!(run(folder, &forecast[..4]).code, 0);
}

#[test]
fn pages_of_help_are_listed_and_shown() {
    let folder = starter();
    let list = run(folder, &["help"]);
    assert_eq!(list.code, 0);
    for topic in rafterheat::report::TOPICS {
        assert!(list.out.contains(topic.name) && list.out.contains(topic.about));
        let page = run(folder, &["help", topic.name]);
        assert_eq!((page.code, page.out.as_str()), (0, topic.text));
    }
    assert_eq!(run(folder, &["help", "Fan Label"]).code, 0);
    assert!(
        run(folder, &["help", "simulate"])
            .out
            .contains("--tomorrow")
    );
    let wrong = run(folder, &["help", "atic"]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("did you mean \"attic\"?"),
        "{}",
        wrong.err
    );
}
