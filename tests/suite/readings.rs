//! Logs as loggers and phones export them.

use std::fmt::Write as _;
use std::path::Path;

use rafterheat::readings::{
    Encoding, LogColumns, Notice, Readings, ReadingsError, Role, TimeFault, outdoor_weather,
};
use rafterheat::report::{guess_text, readings_text};
use rafterheat::units::celsius;
use rafterheat::units::show::System;
use rafterheat::weather::{MadeWeek, Quantity, Weather};

fn columns(text: &str) -> LogColumns {
    LogColumns::parse(text).unwrap()
}

fn plain(zone: &str, format: &str) -> LogColumns {
    columns(&format!(
        "zone = \"{zone}\"\ntime = {{ column = \"time\", format = \"{format}\" }}\n\
         [columns]\noutdoor = {{ column = \"out\", unit = \"C\" }}\n\
         attic_air = {{ column = \"attic\", unit = \"C\" }}\n"
    ))
}

fn read(bytes: &[u8], columns: &LogColumns) -> Readings {
    Readings::parse(bytes, Path::new("log.csv"), columns).unwrap()
}

fn attic(readings: &Readings) -> &rafterheat::readings::Series {
    readings
        .find(&Role::Inside("attic_air".to_owned()))
        .unwrap()
}

/// A day's swing of an attic and of the air outdoors, °C, by hours.
fn swing(hour: f64, low: f64, high: f64) -> f64 {
    let phase = ((hour - 15.0) / 24.0 * std::f64::consts::TAU).cos();
    low + (high - low) * 0.5 * (1.0 + phase)
}

/// Rows of a log, one a step.
fn rows(days: u32, step_min: u32) -> Vec<(u32, f64, f64)> {
    (0..days * 1440 / step_min)
        .map(|i| {
            let minute = i * step_min;
            let hour = f64::from(minute) / 60.0;
            let rounded = |c: f64| (c * 100.0).round() / 100.0;
            let (out, attic) = (swing(hour, 14.0, 31.0), swing(hour, 16.0, 52.0));
            (minute, rounded(out), rounded(attic))
        })
        .collect()
}

fn stamp(minute: u32) -> String {
    let (day, rest) = (minute / 1440 + 1, minute % 1440);
    format!("2022-07-{day:02} {:02}:{:02}", rest / 60, rest % 60)
}

fn text(rows: &[(u32, f64, f64)]) -> String {
    let mut text = String::from("time,out,attic\n");
    for (minute, out, attic) in rows {
        writeln!(text, "{},{out:.2},{attic:.2}", stamp(*minute)).unwrap();
    }
    text
}

#[test]
fn one_log_in_every_dress_gives_the_same_readings() {
    let rows = rows(2, 60);
    let us = read(text(&rows).as_bytes(), &plain("-5", "%Y-%m-%d %H:%M"));
    assert!(us.notices.is_empty(), "{:?}", us.notices);

    let mut german = String::from("Zeit;Außen (°C);Dachboden (°C)\r\n");
    let mut fahrenheit = String::from("Date\tTime\tYard\tAttic temp (°F)\n");
    for (minute, out, attic) in &rows {
        let (date, time) = (
            stamp(*minute)[..10].to_owned(),
            stamp(*minute)[11..].to_owned(),
        );
        let day = &date[8..];
        german.push_str(&format!("{day}.07.2022 {time};{out:.2};{attic:.2}\r\n").replace('.', ","));
        let f = |c: f64| c * 1.8 + 32.0;
        let hour: u32 = time[..2].parse().unwrap();
        let half = if hour < 12 { "AM" } else { "PM" };
        let twelve = if hour.is_multiple_of(12) {
            12
        } else {
            hour % 12
        };
        writeln!(
            fahrenheit,
            "7/{}/2022\t{twelve}:{} {half}\t{:.3}\t{:.3}",
            day.trim_start_matches('0'),
            &time[3..],
            f(*out),
            f(*attic)
        )
        .unwrap();
    }
    let german = german.replace(",07,2022", ".07.2022");
    let described = columns(
        "zone = -5\ndecimal = \",\"\ntime = { column = \"Zeit\", format = \"%d.%m.%Y %H:%M\" }\n\
         [columns]\noutdoor = { column = 2, unit = \"C\" }\n\
         attic_air = { column = \"Dachboden (°C)\", unit = \"C\" }\n",
    );
    let utf16 = |text: &str| -> Vec<u8> {
        let marked = format!("\u{feff}{text}");
        marked.encode_utf16().flat_map(u16::to_le_bytes).collect()
    };
    let latin = |text: &str| -> Vec<u8> { text.chars().map(|c| c as u8).collect() };
    for (bytes, encoding) in [
        (german.as_bytes().to_vec(), None),
        (format!("\u{feff}{german}").into_bytes(), None),
        (utf16(&german), Some(Encoding::Utf16)),
        (latin(&german), Some(Encoding::Latin1)),
    ] {
        let got = read(&bytes, &described);
        assert_eq!(got.series, us.series, "{encoding:?}");
        let noted: Vec<Notice> = encoding
            .map(|encoding| Notice::Encoding { encoding })
            .into_iter()
            .collect();
        assert_eq!(got.notices, noted);
    }
    let described = columns(
        "zone = -5\ntime = { column = \"Date\", time_column = \"Time\", format = \"%m/%d/%Y %I:%M %p\" }\n\
         [columns]\noutdoor = { column = \"Yard\", unit = \"F\" }\n\
         attic_air = { column = \"Attic temp (°F)\", unit = \"F\" }\n",
    );
    let got = read(fahrenheit.as_bytes(), &described);
    assert_eq!(attic(&got).times_s, attic(&us).times_s);
    for (a, b) in attic(&got).values.iter().zip(&attic(&us).values) {
        assert!((a - b).abs() < 0.002, "{a} {b}");
    }
}

#[test]
fn clocks_that_change_give_even_instants() {
    // New York: back on 2022-11-06 at 02:00, forward on 2022-03-13 at 02:00.
    let ny = plain("America/New_York", "%Y-%m-%d %H:%M");
    let mut back = String::from("time,out,attic\n");
    for hour in [
        "06 00:00", "06 00:30", "06 01:00", "06 01:30", "06 01:00", "06 01:30", "06 02:00",
        "06 02:30",
    ] {
        writeln!(back, "2022-11-{hour},10,20").unwrap();
    }
    let got = read(back.as_bytes(), &ny);
    let times = &attic(&got).times_s;
    assert_eq!(times.len(), 8);
    assert!(
        times.windows(2).all(|pair| pair[1] - pair[0] == 1800),
        "{times:?}"
    );
    assert!(
        matches!(
            got.notices[..],
            [Notice::HourTwice {
                rows: 4,
                first_line: 4
            }]
        ),
        "{:?}",
        got.notices
    );
    // Standard time: midnight of daylight time is 23:00 of the day before.
    assert!((got.utc_offset_h + 5.0).abs() < 1e-12);
    assert_eq!(times[0].rem_euclid(86_400), 23 * 3600);

    let mut ahead = String::from("time,out,attic\n");
    for step in 0..48 {
        let hour = step / 2;
        writeln!(ahead, "2022-03-13 {hour:02}:{:02},10,20", 30 * (step % 2)).unwrap();
    }
    let error = Readings::parse(ahead.as_bytes(), Path::new("log.csv"), &ny);
    let got = error.unwrap();
    assert!(
        matches!(
            got.notices[0],
            Notice::TimesDropped {
                fault: TimeFault::NeverWas,
                rows: 2,
                first_line: 6
            }
        ),
        "{:?}",
        got.notices
    );

    // A stamp with its offset needs no zone; the newest may come first.
    let known = plain("Europe/Helsinki", "%Y-%m-%dT%H:%M:%S%:z");
    let lines = "time,out,attic\n2022-07-02T02:00:00+03:00,10,20\n2022-07-02T01:00:00+03:00,10,21\n\
                 2022-07-01T21:00:00+00:00,10,22\n";
    let got = read(lines.as_bytes(), &known);
    assert_eq!(got.notices, [Notice::NewestFirst]);
    let times = &attic(&got).times_s;
    assert_eq!((times[1] - times[0], times[2] - times[1]), (3600, 3600));
    assert!((celsius(attic(&got).values[0]) - 22.0).abs() < 1e-9);
}

#[test]
fn everything_that_is_dropped_is_told() {
    let plan = plain("-5", "%Y-%m-%d %H:%M");
    let mut clean: Vec<String> = text(&rows(6, 30)).lines().map(str::to_owned).collect();
    clean[20] = "2022-07-01 09:30,20.10,95.00".to_owned();
    let cut = clean[30].rfind(',').unwrap();
    clean[30] = format!("2022-07-01 14:30,LOW BATT{}", &clean[30][cut..]);
    clean[40] = "2022-07-01 19:30,22.00,-999".to_owned();
    clean[50] = "yesterday,22.00,30.00".to_owned();
    clean[60] = "2022-07-02 05:30,15.00".to_owned();
    clean.insert(70, clean[69].clone());
    clean.swap(80, 81);
    for row in 150..210 {
        let cut = clean[row].rfind(',').unwrap();
        clean[row] = format!("{},33.30", &clean[row][..cut]);
    }
    clean.drain(230..245);
    let got = read(clean.join("\n").as_bytes(), &plan);
    let has = |what: &str, of: &dyn Fn(&Notice) -> bool| {
        assert!(
            got.notices.iter().any(of),
            "{what} is not told: {:?}",
            got.notices
        );
    };
    has("a spike", &|n| {
        matches!(n, Notice::Spikes { values: 1, .. })
    });
    has("a word", &|n| {
        matches!(
            n,
            Notice::NotNumbers {
                values: 1,
                first_line: 31,
                ..
            }
        )
    });
    has("an impossible number", &|n| {
        matches!(
            n,
            Notice::Unbelievable {
                values: 1,
                first_line: 41,
                ..
            }
        )
    });
    has("no time", &|n| {
        matches!(
            n,
            Notice::TimesDropped {
                fault: TimeFault::Unreadable,
                rows: 1,
                first_line: 51
            }
        )
    });
    has("a short row", &|n| {
        matches!(
            n,
            Notice::ShortRows {
                rows: 1,
                first_line: 61
            }
        )
    });
    has("a duplicate", &|n| {
        matches!(
            n,
            Notice::Duplicates {
                rows: 1,
                differing: 0,
                ..
            }
        )
    });
    has("disorder", &|n| {
        matches!(n, Notice::OutOfOrder { rows: 1, .. })
    });
    has("a stuck sensor", &|n| {
        matches!(n, Notice::Stuck { values: 60, .. })
    });
    has("a gap", &|n| matches!(n, Notice::Gaps { gaps: 1, .. }));
    let words = readings_text(System::Us, &got);
    assert!(
        words.contains("stuck to one value") && words.contains("no numbers"),
        "{words}"
    );
    assert!(
        words.lines().all(|line| line.chars().count() <= 80),
        "{words}"
    );
    // What is left is what was there.
    let truth = rows(6, 30);
    for (at_s, value) in attic(&got).times_s.iter().zip(&attic(&got).values) {
        let minute = (at_s - attic(&got).times_s[0]) / 60;
        let row = &truth[usize::try_from(minute / 30).unwrap()];
        assert!((celsius(*value) - row.2).abs() < 0.006, "{minute}: {value}");
    }
}

#[test]
fn wrong_descriptions_are_refused_with_the_place() {
    let good = text(&rows(3, 30));
    let with = |from: &str, to: &str, zone: &str, format: &str| {
        let path = Path::new("log.csv");
        Readings::parse(
            good.replace(from, to).as_bytes(),
            path,
            &plain(zone, format),
        )
        .unwrap_err()
    };
    let format = "%Y-%m-%d %H:%M";
    assert!(matches!(
        with("attic", "loft", "-5", format),
        ReadingsError::NoColumn { line: 1, .. }
    ));
    assert!(matches!(
        with("-07-", "/07/", "-5", format),
        ReadingsError::Times { line: 2, .. }
    ));
    // Celsius as Kelvin: no attic is that cold.
    let kelvin = columns(&plain("-5", format).to_text().replace("\"C\"", "\"K\""));
    let error = Readings::parse(good.as_bytes(), Path::new("log.csv"), &kelvin).unwrap_err();
    assert!(matches!(error, ReadingsError::Values { .. }));
    assert!(error.to_string().contains("log.csv:2"), "{error}");
    let error =
        Readings::parse(b"PK\x03\x04\0\0\x08\0\0\0", Path::new("log.xlsx"), &kelvin).unwrap_err();
    assert!(matches!(error, ReadingsError::NotText { .. }));
}

#[test]
fn exchanged_columns_are_pointed_at() {
    let swapped = text(&rows(5, 30)).replace("time,out,attic", "time,attic,out");
    let got = read(swapped.as_bytes(), &plain("-5", "%Y-%m-%d %H:%M"));
    assert!(
        matches!(got.notices[..], [Notice::LooksSwapped { .. }]),
        "{:?}",
        got.notices
    );
    assert!(readings_text(System::Si, &got).contains("look exchanged"));
}

#[test]
fn a_guess_is_shown_and_reads_the_log() {
    let log = text(&rows(3, 10))
        .replace("time,out,attic", "Timestamp,Outdoor temp (C),Attic °C")
        .replace("2022-07-0", "0")
        .lines()
        .map(|line| match line.split_once(' ') {
            Some((day, rest)) if day.len() == 2 => format!("{day}/07/2022 {rest}\n"),
            _ => format!("{line}\n"),
        })
        .collect::<String>();
    let guess = LogColumns::guess_of(
        log.as_bytes(),
        Path::new("log.csv"),
        &[],
        None,
        "America/Chicago",
    )
    .unwrap();
    assert_eq!(guess.columns.format, "%d/%m/%Y %H:%M");
    assert!(
        !guess.day_or_month_first,
        "three days in a row tell which comes first"
    );
    let words = guess_text(&guess);
    assert!(
        words.contains("--accept-guess")
            && words.contains("attic_air")
            && !words.contains("daylight saving"),
        "{words}"
    );
    assert_eq!(
        LogColumns::parse(&guess.columns.to_text()).unwrap(),
        guess.columns
    );
    let got = read(log.as_bytes(), &guess.columns);
    assert_eq!(attic(&got).values.len(), 432);
    // The house's only thermometer of the attic is meant by a name that says no more.
    let guess = LogColumns::guess_of(
        log.as_bytes(),
        Path::new("log.csv"),
        &["ridge"],
        Some("ridge"),
        "America/Chicago",
    )
    .unwrap();
    let roles = guess.columns.columns.iter().map(|column| &column.role);
    let roles: Vec<&Role> = roles.collect();
    assert!(
        roles.contains(&&Role::Inside("ridge".to_owned())),
        "{roles:?}"
    );

    // A thermometer of the house file is found by its name; sizes tell a unit that no name tells.
    let log = "Date,ridge,Outside\n7/13/2022 1:00 PM,131,95\n7/13/2022 2:00 PM,133,96\n";
    let guess =
        LogColumns::guess_of(log.as_bytes(), Path::new("log.csv"), &["ridge"], None, "-6").unwrap();
    let units: Vec<&str> = guess
        .columns
        .columns
        .iter()
        .map(|c| c.unit_text.as_str())
        .collect();
    assert_eq!(units, ["F", "F"]);
    // A clock that never changes is asked about.
    assert!(guess_text(&guess).contains("daylight saving"));
    assert_eq!(guess.units_by_size, ["ridge", "Outside"]);
    let log = "a,b\n1,2\n3,4\n";
    assert!(LogColumns::guess_of(log.as_bytes(), Path::new("x.csv"), &[], None, "-6").is_err());
}

#[test]
fn what_was_measured_outdoors_goes_before_the_weather_file() {
    let file = MadeWeek::default().weather().unwrap();
    let start = file.start();
    let mut text = String::from("time,out,attic\n");
    // The house is 2 K cooler than the file; the sun reaches the thermometer from 8 to 10.
    for hour in 0..=168_usize {
        let at = file.interval_start(hour);
        let sun = if (8..10).contains(&at.hour()) {
            7.0
        } else {
            0.0
        };
        let out = celsius(file.air()[hour].dry_bulb_k) - 2.0 + sun;
        writeln!(
            text,
            "{},{out:.3},{:.3}",
            at.strftime("%Y-%m-%d %H:%M"),
            out + 9.0
        )
        .unwrap();
    }
    let zone = format!("{}", file.place().utc_offset_h);
    let mut got = read(text.as_bytes(), &plain(&zone, "%Y-%m-%d %H:%M"));
    got.drop_sun_touched(&file);
    assert!(
        got.notices.iter().any(|n| matches!(
            n,
            Notice::SunTouched {
                from_h: 8,
                to_h: 10,
                values: 14,
                ..
            }
        )),
        "{:?}",
        got.notices
    );
    let own = outdoor_weather(&got, Some(&file), file.place()).unwrap();
    assert_eq!(own.start(), start);
    for hour in [0, 30, 100, 168] {
        let cooler = file.air()[hour].dry_bulb_k - own.air()[hour].dry_bulb_k;
        assert!((cooler - 2.0).abs() < 0.002, "{hour}: {cooler}");
    }
    // The readings left, of 7 and 10 o'clock, are near enough for a straight line between them.
    let ends = [7, 10].map(|hour: usize| own.air()[hour].dry_bulb_k);
    assert!((own.air()[8].dry_bulb_k - ends[0] - (ends[1] - ends[0]) / 3.0).abs() < 1e-9);
    assert!((own.radiation()[12].global_w_m2 - file.radiation()[12].global_w_m2).abs() < 1e-9);

    // Without a file the sun comes from each day's range.
    let alone = outdoor_weather(&got, None, file.place()).unwrap();
    assert!(
        (celsius(alone.air()[0].dry_bulb_k) - celsius(file.air()[0].dry_bulb_k) + 2.0).abs()
            < 0.002
    );
    assert!(alone.radiation()[12].global_w_m2 > 300.0);
    assert!(alone.notices().iter().any(|n| matches!(
        n,
        rafterheat::weather::Notice::GlobalFromTemperatureRange { .. }
    )));
    assert!(
        outdoor_weather(
            &Readings {
                series: got
                    .series
                    .iter()
                    .filter(|s| s.role != Role::Outdoors(Quantity::DryBulb))
                    .cloned()
                    .collect(),
                ..got.clone()
            },
            None,
            file.place()
        )
        .is_err()
    );
}

/// Hours of the evening that stand out because the log's clock is an hour ahead are no work of the sun.
#[test]
fn a_clock_that_is_off_is_not_taken_for_the_sun() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("weather-samples/delta-california-2017-summer.csv");
    let file = Weather::read(&path, None).unwrap();
    let mut text = String::from("time,out,attic\n");
    let mut rows = 0;
    for (index, air) in file.air().iter().enumerate() {
        let at = file.interval_start(index);
        if at.month() != 6 || !(10..23).contains(&at.day()) || !air.dry_bulb_k.is_finite() {
            continue;
        }
        let ahead = at.saturating_add(jiff::SignedDuration::from_hours(1));
        let ahead = ahead.strftime("%Y-%m-%d %H:%M");
        let out = celsius(air.dry_bulb_k);
        writeln!(text, "{ahead},{out:.3},{:.3}", out + 9.0).unwrap();
        rows += 1;
    }
    let zone = format!("{}", file.place().utc_offset_h);
    let mut got = read(text.as_bytes(), &plain(&zone, "%Y-%m-%d %H:%M"));
    got.drop_sun_touched(&file);
    let told = |n: &Notice| matches!(n, Notice::ClockBeforeSun { ahead_h: 1, .. });
    assert!(got.notices.iter().any(told), "{:?}", got.notices);
    assert!(got.series.iter().all(|one| one.values.len() == rows));
    let text = readings_text(System::Us, &got);
    let words: Vec<&str> = text.split_whitespace().collect();
    assert!(words.join(" ").contains("1 h earlier it would not"));
}

#[test]
fn nonsense_never_panics() {
    let plan = plain("Europe/Berlin", "%Y-%m-%d %H:%M");
    let good = text(&rows(1, 60));
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    for _ in 0..400 {
        let mut bytes = good.clone().into_bytes();
        for _ in 0..6 {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            let at = usize::try_from(state).unwrap() % bytes.len();
            bytes[at] = state.to_le_bytes()[7];
        }
        let cut = usize::try_from(state >> 8).unwrap() % bytes.len();
        for bytes in [&bytes[..], &bytes[..cut]] {
            let _ = Readings::parse(bytes, Path::new("log.csv"), &plan);
            let _ = LogColumns::guess_of(bytes, Path::new("log.csv"), &["attic"], None, "UTC");
        }
    }
}
