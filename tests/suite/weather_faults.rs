//! Weather files with gaps and faults.

use std::fmt::Write as _;
use std::path::Path;

use rafterheat::weather::{Notice, Problem, Quantity, Weather, WeatherError};

/// The head of a small file; its rows begin on line 9.
pub(crate) const HEAD: &str = "#: latitude_deg = 40
#: longitude_deg = -75
#: utc_offset_h = -5
#: time = { column = \"t\", format = \"%Y-%m-%d %H:%M\" }
#: [columns]
#: dry_bulb = { column = \"T\", unit = \"C\" }
#: relative_humidity = { column = \"rh\", unit = \"%\" }
t,T,rh
";

/// The stamp so many hours after midnight of 2017-07-01.
pub(crate) fn stamp(hour: i64) -> String {
    minute_stamp(60 * hour)
}

fn minute_stamp(minute: i64) -> String {
    let start: jiff::civil::DateTime = "2017-07-01T00:00:00".parse().unwrap();
    let at = start
        .checked_add(jiff::SignedDuration::from_mins(minute))
        .unwrap();
    at.strftime("%Y-%m-%d %H:%M").to_string()
}

/// A file with rows at the given hours.
fn hours(hours: impl IntoIterator<Item = i64>) -> String {
    let mut text = HEAD.to_owned();
    for hour in hours {
        let _ = writeln!(text, "{},{},50", stamp(hour), 20 + hour % 24);
    }
    text
}

fn parse(text: &str) -> Result<Weather, WeatherError> {
    Weather::parse(text.as_bytes(), Path::new("test.csv"), None)
}

fn problems(text: &str) -> Vec<Problem> {
    match parse(text) {
        Err(WeatherError::Invalid { problems, .. }) => problems,
        other => panic!("expected problems, got {other:?}"),
    }
}

#[test]
fn every_broken_row_is_named_at_once() {
    let text = hours(1..=48)
        .replace("2017-07-01 05:00,", "2017-07-01 04:00,")
        .replace("2017-07-01 08:00,", "2017-06-30 08:00,")
        .replace("2017-07-01 10:00,", "2017-07-01 10:07,")
        .replace("2017-07-01 12:00,", "noon,")
        .replace("01 14:00,34,50", "01 14:00,34")
        .replace("01 16:00,36,", "01 16:00,warm,");
    let said: Vec<String> = problems(&text).iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), 6, "{said:?}");
    for line in [13, 16, 18, 20, 22, 24] {
        let named = said
            .iter()
            .any(|text| text.starts_with(&format!("line {line}:")));
        assert!(named, "line {line} in {said:?}");
    }
}

#[test]
fn many_problems_are_counted_and_not_all_listed() {
    match parse(&hours(1..=200).replace(",50", ",wet")) {
        Err(WeatherError::Invalid { problems, more, .. }) => {
            assert_eq!((problems.len(), more), (25, 175));
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_hour_that_clocks_repeat_is_recognised() {
    let text = hours((1..=25).chain(25..=60));
    assert!(matches!(
        problems(&text)[..],
        [Problem::HourTwice { line: 34, .. }]
    ));
}

#[test]
fn fahrenheit_called_celsius_is_recognised() {
    let mut text = HEAD.to_owned();
    for hour in 1..=48 {
        let _ = writeln!(text, "{},95,50", stamp(hour));
    }
    let found = problems(&text);
    assert!(
        matches!(
            &found[..],
            [
                Problem::Unbelievable {
                    quantity: Quantity::DryBulb,
                    count: 48,
                    line: 9,
                    ..
                },
                ..
            ]
        ),
        "{found:?}"
    );
}

#[test]
fn gaps_are_bridged_filled_or_refused() {
    let there = |hour: &i64| !matches!(hour, 30..=32 | 60..=75 | 120..=160);
    let weather = parse(&hours((1..=240).filter(there))).unwrap();
    assert_eq!(weather.intervals(), 240);
    let bridged = Notice::GapsBridged {
        quantity: Quantity::DryBulb,
        gaps: 1,
        values: 3,
    };
    let filled = Notice::GapsFromNeighbourDays {
        quantity: Quantity::DryBulb,
        gaps: 1,
        values: 16,
    };
    assert!(
        weather.notices().contains(&bridged),
        "{:?}",
        weather.notices()
    );
    assert!(
        weather.notices().contains(&filled),
        "{:?}",
        weather.notices()
    );
    let hole = &weather.holes()[0];
    assert_eq!((hole.first, hole.end), (119, 161));
    let day = |n: usize| weather.interval_start(24 * n);
    assert_eq!(weather.span(day(0), day(4)).unwrap(), 0..96);
    assert!(matches!(
        weather.span(day(4), day(6)),
        Err(WeatherError::Hole { .. })
    ));
    let beyond = day(10)
        .checked_add(jiff::SignedDuration::from_hours(1))
        .unwrap();
    assert!(matches!(
        weather.span(day(8), beyond),
        Err(WeatherError::Outside { .. })
    ));
    assert!(
        weather.within(130, 4)[2].dry_bulb_k.is_nan(),
        "a hole must not pass for weather"
    );
    assert!(weather.within(100, 4)[2].dry_bulb_k > 270.0);
}

#[test]
fn files_that_are_no_weather_are_refused_with_a_sentence() {
    let refuse = |bytes: &[u8]| Weather::parse(bytes, Path::new("x"), None).unwrap_err();
    assert!(matches!(refuse(b""), WeatherError::Empty { .. }));
    assert!(matches!(refuse(b" \n\n"), WeatherError::Empty { .. }));
    assert!(matches!(
        refuse(b"PK\x03\x04\0\0"),
        WeatherError::NotText { byte: 4, .. }
    ));
    assert!(matches!(
        refuse(b"a,b,c\n1,2,3\n"),
        WeatherError::NeedsDescription { .. }
    ));
    assert!(matches!(
        refuse(b"#: place = 3\na,b\n"),
        WeatherError::Description { .. }
    ));
    assert!(matches!(
        refuse(HEAD.as_bytes()),
        WeatherError::Invalid { .. }
    ));
    let cut = hours(1..=48);
    let found = problems(&cut[..cut.len() - 4]);
    assert!(matches!(found[..], [Problem::ShortRow { .. }]), "{found:?}");
}

#[test]
fn a_column_that_is_not_there_is_named_with_those_that_are() {
    let found = problems(&hours(1..=48).replace("t,T,rh", "t,temp,rh"));
    assert!(
        matches!(&found[..], [Problem::NoColumn { line: 8, column, found, .. }]
            if column == "T" && found == "t, temp, rh"),
        "{found:?}"
    );
}

#[test]
fn minutes_are_averaged_to_quarters_of_an_hour() {
    let global = "#: global = { column = \"g\", unit = \"W/m2\" }\nt,T,rh,g";
    let mut text = HEAD.replace("t,T,rh", global);
    for minute in 1..=2880 {
        let day = (minute - 1) % 1440;
        let sun = if (600..840).contains(&day) {
            400 + day % 15
        } else {
            0
        };
        let _ = writeln!(text, "{},20,50,{sun}", minute_stamp(minute));
    }
    let weather = parse(&text).unwrap();
    assert_eq!((weather.step_s(), weather.intervals()), (900, 192));
    assert!((weather.radiation()[44].global_w_m2 - 407.0).abs() < 1e-9);
    assert!(weather.notices().contains(&Notice::Averaged {
        from_step_s: 60,
        to_step_s: 900
    }));
}

#[test]
fn sun_at_midnight_is_dropped_and_told() {
    let global = "#: global = { column = \"g\", unit = \"W/m2\" }\nt,T,rh,g";
    let mut text = HEAD.replace("t,T,rh", global);
    for hour in 1..=48 {
        // Twelve hours off.
        let sun = if matches!(hour % 24, 0..=3 | 20..=23) {
            600
        } else {
            0
        };
        let _ = writeln!(text, "{},20,50,{sun}", stamp(hour));
    }
    let weather = parse(&text).unwrap();
    let told = weather.notices().iter().find_map(|notice| match notice {
        Notice::SunBelowHorizon {
            intervals,
            highest_w_m2,
        } => Some((*intervals, *highest_w_m2)),
        _ => None,
    });
    let (intervals, highest_w_m2) = told.unwrap();
    assert!(
        (14..=16).contains(&intervals) && (highest_w_m2 - 600.0).abs() < 1e-9,
        "{told:?}"
    );
    assert!(
        weather
            .radiation()
            .iter()
            .all(|mean| mean.global_w_m2 < 600.0)
    );
}

/// With nothing but temperatures everything else is assumed or derived, and said.
#[test]
fn a_thermometer_alone_makes_weather_with_all_that_is_assumed() {
    let text = hours(1..=96).replace(
        "#: relative_humidity = { column = \"rh\", unit = \"%\" }",
        "#",
    );
    let weather = parse(&text).unwrap();
    let notices = weather.notices();
    assert!(
        matches!(
            notices,
            [
                Notice::DewPointFromDailyLow { .. },
                Notice::PressureFromAltitude,
                Notice::WindSpeedAssumed { .. },
                Notice::WindDirectionAssumed { .. },
                Notice::GlobalFromTemperatureRange { .. },
                Notice::DiffuseFromGlobal,
                Notice::InfraredFromClearness { .. },
                Notice::AlbedoAssumed { .. },
            ]
        ),
        "{notices:?}"
    );
    for i in 0..weather.intervals() {
        for at in weather.within(i, 4) {
            assert!(at.dew_point_k <= at.dry_bulb_k && at.humidity_ratio > 0.0);
            // Below what a black sky as warm as the hottest hour, 43 °C, would send.
            assert!((200.0..566.0).contains(&at.infrared_down_w_m2), "{at:?}");
            assert!((at.pressure_pa - 101_325.0).abs() < 1.0);
        }
    }
}
