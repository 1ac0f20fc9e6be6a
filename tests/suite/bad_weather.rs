//! Broken weather files: each is refused, or repaired and told, in the words kept in
//! `tests/golden/weather`.

use std::path::Path;

use rafterheat::weather::Weather;

use crate::golden;

const SAMPLE: &str = include_str!("../../weather-samples/piedmont-typical-summer.csv");
const TMY3: &str = include_str!("../../weather-samples/greensboro-typical-summer.tmy3.csv");

/// What is said of a file, or that it is read.
fn said(text: &[u8]) -> String {
    match Weather::parse(text, Path::new("weather.csv"), None) {
        Ok(weather) => format!("read, {} intervals\n", weather.intervals()),
        Err(error) => {
            let mut lines = error.to_string();
            let mut source = std::error::Error::source(&error);
            while let Some(cause) = source {
                lines.push_str("\n  because: ");
                lines.push_str(&cause.to_string());
                source = cause.source();
            }
            lines + "\n"
        }
    }
}

fn edited(from: &str, to: &str) -> String {
    assert!(SAMPLE.contains(from), "{from} is not in the sample");
    SAMPLE.replacen(from, to, 1)
}

#[test]
fn broken_weather_files_are_refused_in_these_words() {
    let head = SAMPLE.lines().take(30).collect::<Vec<_>>().join("\n") + "\n";
    let middle = SAMPLE.len() / 2;
    let row = middle + SAMPLE[middle..].find('\n').unwrap();
    let cut = &SAMPLE[..row + 20];
    let first = "20060617:0100,18.36,81.0,0.0,-0.0,0.0,347.1,1.66,164.0,100010.0\n";
    let later = "20060617:0300,";
    let cases: Vec<(&str, Vec<u8>)> = vec![
        ("empty", Vec::new()),
        ("only-blank-lines", b"\n\n\n".to_vec()),
        ("binary", (0..=255).cycle().take(4000).collect()),
        (
            "no-description",
            b"time,temp\n2017-07-01 00:00,20\n".to_vec(),
        ),
        ("no-rows", head.into_bytes()),
        ("cut-in-a-row", cut.as_bytes().to_vec()),
        (
            "word-for-a-number",
            edited("18.88,81.05", "warm,81.05").into_bytes(),
        ),
        (
            "wrong-unit",
            edited("unit = \"C\"", "unit = \"K/m\"").into_bytes(),
        ),
        (
            "unknown-key",
            edited("latitude_deg", "lattitude_deg").into_bytes(),
        ),
        (
            "unknown-column",
            edited("column = \"T2m\"", "column = \"T3m\"").into_bytes(),
        ),
        (
            "latitude-off-the-globe",
            edited("latitude_deg = 45.0", "latitude_deg = 145").into_bytes(),
        ),
        (
            "duplicate-stamp",
            edited(first, &format!("{first}{first}")).into_bytes(),
        ),
        (
            "stamp-out-of-order",
            edited(later, "20060617:0030,").into_bytes(),
        ),
        ("hour-25", edited(later, "20060617:2500,").into_bytes()),
        ("month-13", edited(later, "20061317:0300,").into_bytes()),
        (
            "too-few-fields",
            edited(first, "20060617:0100,18.36\n").into_bytes(),
        ),
        (
            "impossible-temperature",
            edited("18.88,81.05", "188.8,81.05").into_bytes(),
        ),
        (
            "impossible-humidity",
            edited("18.88,81.05", "18.88,810.5").into_bytes(),
        ),
        (
            "two-columns-one-quantity",
            edited("#: global", "#: dry_bulb").into_bytes(),
        ),
        (
            "tmy3-without-rows",
            TMY3.lines()
                .take(9)
                .collect::<Vec<_>>()
                .join("\n")
                .into_bytes(),
        ),
        (
            "tmy3-without-place",
            TMY3.replacen(",NC,", ",", 1).into_bytes(),
        ),
    ];
    for (name, text) in cases {
        golden::check(&format!("weather/{name}.txt"), &said(&text));
    }
}
