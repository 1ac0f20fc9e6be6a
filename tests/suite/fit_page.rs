//! What `calibrate --out` writes: page, charts and table of what is left.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use jiff::SignedDuration;
use jiff::civil::{DateTime, date};

use rafterheat::report::{FitInput, Folder, calibration_text, fit_folder};
use rafterheat::study::calibrate::{
    Calibration, Compared, Finding, Measure, Prior, Quality, Target, Weight,
};
use rafterheat::units::{Dimension, System};
use rafterheat::weather::{ColumnMap, Weather};

use crate::report_page::{assert_told_in_words, assert_well_formed};

const HOUR_S: i64 = 3600;
const DAY_S: i64 = 24 * HOUR_S;

fn seconds(at: DateTime) -> i64 {
    at.duration_since(DateTime::constant(1970, 1, 1, 0, 0, 0, 0))
        .as_secs()
}

pub(crate) fn start_s() -> i64 {
    seconds(date(2017, 7, 3).at(0, 0, 0, 0))
}

/// Forty days with a wind that turns through the day, or without any wind told.
pub(crate) fn weather(has_wind: bool) -> Weather {
    let mut text = String::from("time,air,humidity,sun,speed,from\n");
    for hour in 0..40 * 24 {
        let at = date(2017, 7, 1)
            .at(0, 0, 0, 0)
            .saturating_add(SignedDuration::from_hours(hour));
        let swing = ((hour % 24) as f64 / 24.0 * std::f64::consts::TAU - 2.4).sin();
        let (air, sun) = (24.0 + 8.0 * swing, (900.0 * swing).max(0.0));
        let (speed, from) = (2.5 + 2.4 * swing, (hour * 37) % 360);
        writeln!(
            text,
            "{},{air:.2},40,{sun:.0},{speed:.2},{from}",
            at.strftime("%Y-%m-%d %H:%M")
        )
        .unwrap();
    }
    let wind = "wind_speed = { column = \"speed\", unit = \"m/s\" }\n\
                wind_direction = { column = \"from\", unit = \"deg\" }\n";
    let map = format!(
        "place = \"made\"\nlatitude_deg = 38\nlongitude_deg = -121\naltitude_m = 10\n\
         utc_offset_h = -8\nstamp = \"end\"\nreadings = \"instant\"\n\
         time = {{ column = \"time\", format = \"%Y-%m-%d %H:%M\" }}\n[columns]\n\
         dry_bulb = {{ column = \"air\", unit = \"C\" }}\n\
         relative_humidity = {{ column = \"humidity\", unit = \"%\" }}\n\
         global = {{ column = \"sun\", unit = \"W/m2\" }}\n{}",
        if has_wind { wind } else { "" }
    );
    let map = ColumnMap::parse(&map).unwrap();
    Weather::parse(text.as_bytes(), Path::new("made.csv"), Some(&map)).unwrap()
}

/// A column every half hour, off by a pattern of the hour, from a day to another of the log; half a
/// day is missing.
fn compared(name: &str, measure: Measure, days: [i64; 2], off: f64) -> Compared {
    let steps = (days[0] * 48)..(days[1] * 48);
    let times = steps.filter(|step| !(200..224).contains(step));
    let times_s: Vec<i64> = times.map(|step| start_s() + step * HOUR_S / 2).collect();
    let turn = |at_s: i64| (at_s.rem_euclid(DAY_S)) as f64 / DAY_S as f64 * std::f64::consts::TAU;
    let (mean, swing) = match measure {
        Measure::Temperature => (308.0, 14.0),
        Measure::HeatFlux => (3.0, 6.0),
    };
    let slow = |at_s: i64| 1.0 + 0.25 * ((at_s - start_s()) as f64 / (4.3 * DAY_S as f64)).sin();
    let logged: Vec<f64> = times_s
        .iter()
        .map(|at_s| mean + swing * slow(*at_s) * (turn(*at_s) - 2.4).sin())
        .collect();
    // The same noise on any machine.
    let mut state = 1_u64;
    let mut noise = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    };
    let worked_out = times_s.iter().zip(&logged).map(|(at_s, value)| {
        value
            + off * (0.4 + (2.0 * turn(*at_s)).sin()) * swing / 14.0
            + 1.2 * noise() * swing / 14.0
    });
    Compared {
        name: name.to_owned(),
        measure,
        worked_out: worked_out.collect(),
        logged,
        times_s,
    }
}

/// A made-up fit of two columns; days are kept out from some day to another, if any.
pub(crate) fn fit(kept_out: Option<[i64; 2]>, columns: usize) -> Calibration {
    let key = "roof.absorptance".to_owned();
    let target = Target::Key {
        key,
        dimension: Dimension::Fraction,
    };
    let prior = Prior::new(target, [0.85, 0.7, 0.95], [0.0, 1.0], "made up");
    let all = |days: [i64; 2], off: f64| {
        let mut all = vec![
            compared("attic_ridge", Measure::Temperature, days, off),
            compared("ceiling_flux", Measure::HeatFlux, days, off),
        ];
        all.truncate(columns);
        all
    };
    Calibration {
        findings: vec![Finding {
            prior,
            value: 0.9,
            interval: [0.87, 0.93],
            pull: 0.6,
            doubt_left: 0.25,
        }],
        held: Vec::new(),
        correlations: nalgebra::DMatrix::identity(1, 1),
        directions: Vec::new(),
        weights: vec![Weight {
            name: "attic_ridge".to_owned(),
            measure: Measure::Temperature,
            spread: 0.9,
            count: 168,
            effective: 31.0,
            daily: 0.5,
        }],
        fitted: all([0, 12], 0.8),
        kept_out: kept_out.map_or_else(Vec::new, |days| all(days, -1.1)),
        before: all([0, 12], 4.0),
        values: Vec::new(),
        covariance: nalgebra::DMatrix::zeros(0, 0),
        daily: Vec::new(),
        sums: vec![33.1],
        runs: 12,
    }
}

/// The files of a fit.
fn files(system: System, fit: &Calibration, weather: &Weather) -> BTreeMap<String, String> {
    let text = calibration_text(system, "a house", fit);
    let mut folder = Folder::default();
    let input = FitInput {
        system,
        house: "a house",
        log: "attic.csv",
        fit,
        clock: None,
        weather,
        text: &text,
    };
    fit_folder(&mut folder, &input).unwrap();
    let place = tempfile::tempdir().unwrap();
    folder.write(place.path()).unwrap();
    read_all(place.path())
}

/// The files of a folder by their names.
pub(crate) fn read_all(folder: &Path) -> BTreeMap<String, String> {
    let names = std::fs::read_dir(folder).unwrap();
    names
        .map(|entry| {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, std::fs::read_to_string(path).unwrap())
        })
        .collect()
}

/// Worked out less logged of a column's rows in `residuals.csv`.
fn residuals(csv: &str, column: &str, days: &str) -> Vec<f64> {
    let mut lines = csv.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    let at = |name: &str| header.iter().position(|known| *known == name).unwrap();
    let places = ["column", "days", "worked_out", "logged"].map(at);
    let rows = lines.map(|line| line.split(',').collect::<Vec<_>>());
    rows.filter(|row| row[places[0]] == column && row[places[1]] == days)
        .map(|row| {
            let number = |place: usize| row[places[place]].parse::<f64>().unwrap();
            number(2) - number(3)
        })
        .collect()
}

/// Root mean square of a column's rows in `residuals.csv`.
pub(crate) fn rmse_c(csv: &str, column: &str, days: &str) -> f64 {
    let left = residuals(csv, column, days);
    assert!(!left.is_empty());
    (left.iter().map(|by| by * by).sum::<f64>() / left.len() as f64).sqrt()
}

#[test]
fn the_table_adds_up_to_what_is_told() {
    let fit = fit(Some([12, 15]), 2);
    let csv = &files(System::Us, &fit, &weather(true))["residuals.csv"];
    let mut rows = 0;
    for (days, columns) in [("fitted", &fit.fitted), ("kept_out", &fit.kept_out)] {
        for one in columns {
            let Quality {
                count, bias, rmse, ..
            } = one.quality();
            let left = residuals(csv, &one.name, days);
            assert_eq!(left.len(), count);
            assert!((left.iter().sum::<f64>() / count as f64 - bias).abs() < 1e-4);
            assert!((rmse_c(csv, &one.name, days) - rmse).abs() < 1e-4);
            rows += count;
        }
    }
    assert_eq!(csv.lines().count(), rows + 1, "no row beside these");
    // Wind of the hour: at 15:00 of the third day, hour 63 of the weather, which is stamped so.
    let line = csv
        .lines()
        .find(|line| line.starts_with("2017-07-03T15:00:00"))
        .unwrap();
    let cells: Vec<&str> = line.split(',').collect();
    assert_eq!(cells[8], (63 * 37 % 360).to_string(), "{line}");
}

#[test]
fn every_chart_is_there_well_formed_and_says_which_column() {
    let wind = weather(true);
    let charts = [
        "before-after",
        "over-time",
        "closely",
        "residuals-time",
        "residuals-hour",
        "residuals-wind-direction",
        "residuals-wind-speed",
    ];
    for system in [System::Us, System::Si] {
        let files = files(system, &fit(Some([12, 15]), 2), &wind);
        for chart in charts {
            for suffix in ["", "-phone"] {
                let drawing = &files[&format!("{chart}{suffix}.svg")];
                assert_well_formed(drawing);
                for part in ["attic ridge", "ceiling flux", "kept out"] {
                    assert!(drawing.contains(part), "{part} in {chart}{suffix}");
                }
                let unit = if system == System::Us { "°F" } else { "W/m²" };
                assert!(drawing.contains(unit), "{chart} {unit}");
                assert_told_in_words(drawing);
            }
        }
        assert_eq!(files.len(), 2 * charts.len() + 3, "{:?}", files.keys());
    }
}

#[test]
fn a_wind_that_was_assumed_is_not_charted() {
    let files = files(System::Si, &fit(Some([12, 15]), 1), &weather(false));
    assert!(
        !files.keys().any(|name| name.contains("wind")),
        "{:?}",
        files.keys()
    );
    assert!(!files["calibration.html"].contains("where the wind came from"));
    let row = files["residuals.csv"].lines().nth(1).unwrap();
    assert!(row.ends_with(",fitted,,"), "{row}");
}

#[test]
fn a_page_of_a_fit_is_whole_and_the_same_each_time() {
    let wind = weather(true);
    for kept_out in [None, Some([12, 15]), Some([20, 30])] {
        let fit = fit(kept_out, 2);
        let page = &files(System::Us, &fit, &wind)["calibration.html"];
        assert_eq!(page, &files(System::Us, &fit, &wind)["calibration.html"]);
        let without_names = page.replace("http://www.w3.org/2000/svg", "");
        for outside in [
            "http:", "https:", "<script", "<link", "@import", "src=", "url(\"",
        ] {
            assert!(!without_names.contains(outside), "{outside}");
        }
        for wrong in ["NaN", ">inf", "n/a"] {
            assert!(!page.contains(wrong), "{wrong}");
        }
        assert_eq!(page.contains("days kept out"), kept_out.is_some());
        assert_eq!(page.matches("<svg").count(), 2 * 7);
        assert!(page.contains("prefers-color-scheme:dark") && page.contains("roof.absorptance"));
    }
}
