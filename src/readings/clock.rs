//! From the clock of a logger to instants: zones, daylight saving, the hour that comes twice and
//! the hour that never comes.

use jiff::civil::{Date, DateTime};
use jiff::fmt::strtime::{self, BrokenDownTime};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

/// The clock that the stamps of a log were taken from.
#[derive(Debug, Clone, PartialEq)]
pub enum Zone {
    /// A zone with its daylight saving, such as `America/New_York`.
    Named(TimeZone),
    /// The same all year, h ahead of universal time.
    Fixed {
        /// Hours ahead of universal time.
        hours: f64,
    },
}

/// The clock by which the stamps of a log were read.
#[derive(Debug, Clone, PartialEq)]
pub struct Clock {
    /// The zone as the description has it.
    pub zone: String,
    /// Its hours ahead of universal time in the middle of the log, daylight saving counted.
    pub ahead_h: f64,
}

/// What a stamp is when read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Instant {
    /// Seconds since 1970 in universal time.
    At(i64),
    /// In an hour that comes twice: the earlier and the later instant.
    Twice(i64, i64),
    /// In an hour that clocks skip.
    Never,
}

impl Zone {
    /// A zone by its name in the time-zone database, or hours ahead of universal time such as
    /// `-5`, `+05:30`, `UTC-5`, `UTC`.
    pub fn find(text: &str) -> Option<Self> {
        let text = text.trim();
        let hours = text.strip_prefix("UTC").unwrap_or(text);
        if hours.is_empty() || hours == "Z" {
            return (!text.is_empty()).then_some(Self::Fixed { hours: 0.0 });
        }
        if let Some(hours) = fixed_hours(hours) {
            return Some(Self::Fixed { hours });
        }
        TimeZone::get(text).ok().map(Self::Named)
    }

    /// Standard time's hours ahead of universal time at an instant, s since 1970: of the offsets of
    /// a year the least.
    pub fn standard_offset_h(&self, at_s: i64) -> f64 {
        match self {
            Self::Fixed { hours } => *hours,
            Self::Named(zone) => {
                let month_s = 30 * 86_400;
                let of = |month: i64| {
                    let at = jiff::Timestamp::from_second(at_s + month * month_s);
                    f64::from(zone.to_offset(at.unwrap_or_default()).seconds()) / 3600.0
                };
                (0..12).map(of).fold(f64::INFINITY, f64::min)
            }
        }
    }

    /// Hours ahead of universal time at an instant, s since 1970, daylight saving counted.
    pub(super) fn offset_h(&self, at_s: i64) -> f64 {
        match self {
            Self::Fixed { hours } => *hours,
            Self::Named(zone) => {
                let at = jiff::Timestamp::from_second(at_s).unwrap_or_default();
                f64::from(zone.to_offset(at).seconds()) / 3600.0
            }
        }
    }

    /// The instant of a civil time on this clock.
    pub(super) fn instant(&self, civil: DateTime) -> Option<Instant> {
        let shifted =
            |offset: Offset| -> Option<i64> { Some(offset.to_timestamp(civil).ok()?.as_second()) };
        match self {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "casts saturate, and offsets are checked"
            )]
            Self::Fixed { hours } => {
                let offset = Offset::from_seconds((hours * 3600.0).round() as i32).ok()?;
                shifted(offset).map(Instant::At)
            }
            Self::Named(zone) => match zone.to_ambiguous_timestamp(civil).offset() {
                AmbiguousOffset::Unambiguous { offset } => shifted(offset).map(Instant::At),
                AmbiguousOffset::Gap { .. } => Some(Instant::Never),
                AmbiguousOffset::Fold { before, after } => {
                    Some(Instant::Twice(shifted(before)?, shifted(after)?))
                }
            },
        }
    }
}

fn fixed_hours(text: &str) -> Option<f64> {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let hours = match digits.split_once(':') {
        Some((hours, minutes)) => {
            let minutes: f64 = minutes.parse().ok().filter(|m| (0.0..60.0).contains(m))?;
            hours.parse::<f64>().ok()? + minutes / 60.0
        }
        None => digits.parse().ok()?,
    };
    (0.0..=14.0).contains(&hours).then_some(sign * hours)
}

/// Whether stamps of a form tell their own offset from universal time.
pub(super) fn tells_offset(format: &str) -> bool {
    matches!(format, "unix" | "unix-ms") || format.contains("%z") || format.contains("%:z")
}

/// A stamp as the file has it: on its own clock, or with its offset told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Stamp {
    Civil(DateTime),
    Known(i64),
}

/// Reads a stamp by a form of `strftime`; `unix` and `unix-ms` are counts since 1970 in universal
/// time. `24:00` ends the day.
pub(super) fn stamp(text: &str, format: &str) -> Option<Stamp> {
    let text = text.trim();
    match format {
        "unix" => return text.parse::<f64>().ok().and_then(whole).map(Stamp::Known),
        "unix-ms" => {
            let seconds = text.parse::<f64>().ok()? / 1000.0;
            return whole(seconds).map(Stamp::Known);
        }
        _ => {}
    }
    let read = |text: &str| strtime::parse(format, text).ok().and_then(|b| broken(&b));
    if let Some(stamp) = read(text) {
        return Some(stamp);
    }
    let start = text.replacen(" 24:", " 00:", 1).replacen("T24:", "T00:", 1);
    match (start != text).then(|| read(&start)).flatten()? {
        Stamp::Civil(at) => Some(Stamp::Civil(
            at.checked_add(jiff::SignedDuration::from_hours(24)).ok()?,
        )),
        Stamp::Known(at_s) => Some(Stamp::Known(at_s + 86_400)),
    }
}

fn whole(seconds: f64) -> Option<i64> {
    // Within the years 1900 to 2200.
    #[expect(clippy::cast_possible_truncation, reason = "within the range")]
    (-2.3e9..7.3e9)
        .contains(&seconds)
        .then_some(seconds.round() as i64)
}

fn broken(broken: &BrokenDownTime) -> Option<Stamp> {
    if broken.offset().is_some() {
        return Some(Stamp::Known(broken.to_timestamp().ok()?.as_second()));
    }
    let at = broken.to_datetime().ok().or_else(|| {
        let date: Date = broken.to_date().ok()?;
        let (hour, minute) = (broken.hour(), broken.minute());
        Some(date.at(hour.unwrap_or(0), minute.unwrap_or(0), 0, 0))
    })?;
    Some(Stamp::Civil(at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn zones_are_found_by_name_and_by_hours() {
        assert_eq!(Zone::find("-5"), Some(Zone::Fixed { hours: -5.0 }));
        assert_eq!(Zone::find("UTC+05:30"), Some(Zone::Fixed { hours: 5.5 }));
        assert_eq!(Zone::find("UTC"), Some(Zone::Fixed { hours: 0.0 }));
        assert!(matches!(
            Zone::find("Europe/Helsinki"),
            Some(Zone::Named(_))
        ));
        for text in ["", "Mars/Olympus", "-99", "noon"] {
            assert_eq!(Zone::find(text), None, "{text}");
        }
        let helsinki = Zone::find("Europe/Helsinki").unwrap();
        assert!((helsinki.standard_offset_h(1_656_700_000) - 2.0).abs() < 1e-12);
        assert!((helsinki.standard_offset_h(1_640_000_000) - 2.0).abs() < 1e-12);
        assert!((helsinki.offset_h(1_656_700_000) - 3.0).abs() < 1e-12);
        assert!((helsinki.offset_h(1_640_000_000) - 2.0).abs() < 1e-12);
        assert!(tells_offset("unix") && !tells_offset("%Y-%m-%d %H:%M"));
    }

    #[test]
    fn hours_that_come_twice_or_never_are_told() {
        let zone = Zone::find("America/New_York").unwrap();
        let at = |y, m, d, h| zone.instant(date(y, m, d).at(h, 30, 0, 0)).unwrap();
        assert_eq!(at(2022, 3, 13, 2), Instant::Never);
        let Instant::Twice(early, late) = at(2022, 11, 6, 1) else {
            panic!("the hour comes twice");
        };
        assert_eq!(late - early, 3600);
        assert!(matches!(at(2022, 7, 1, 12), Instant::At(1_656_693_000)));
    }

    #[test]
    fn stamps_of_every_sort_are_read() {
        let noon = Some(Stamp::Civil(date(2022, 7, 2).at(12, 5, 0, 0)));
        for (text, format) in [
            ("2022-07-02 12:05:00", "%Y-%m-%d %H:%M:%S"),
            ("7/2/2022 12:05 PM", "%m/%d/%Y %I:%M %p"),
            ("02.07.2022 12:05", "%d.%m.%Y %H:%M"),
        ] {
            assert_eq!(stamp(text, format), noon, "{text}");
        }
        assert_eq!(
            stamp("2022-07-01 24:00", "%Y-%m-%d %H:%M"),
            Some(Stamp::Civil(date(2022, 7, 2).at(0, 0, 0, 0)))
        );
        let known = Some(Stamp::Known(1_656_763_500));
        assert_eq!(stamp("1656763500", "unix"), known);
        assert_eq!(stamp("1656763500000", "unix-ms"), known);
        assert_eq!(
            stamp("2022-07-02T12:05:00+0000", "%Y-%m-%dT%H:%M:%S%z"),
            known
        );
        assert_eq!(stamp("yesterday", "%Y-%m-%d"), None);
    }
}
