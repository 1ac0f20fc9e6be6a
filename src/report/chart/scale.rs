//! Units of axes, round steps, and time in words.

use std::ops::Range;

use jiff::ToSpan as _;
use jiff::civil::{DateTime, Weekday};

use crate::elementary::log10;
use crate::units::{System, celsius};

/// One cubic foot a minute, m³/s (international foot).
pub(super) const CFM_M3_S: f64 = 0.304_8 * 0.304_8 * 0.304_8 / 60.0;

/// One Btu (international table), J.
pub(super) const BTU_J: f64 = 1_055.055_852_62;

/// One inch of water (4 °C), Pa.
pub(super) const INCH_WATER_PA: f64 = 249.082;

/// A temperature on an axis, °F or °C.
pub(in crate::report) fn degrees(system: System, temp_k: f64) -> f64 {
    match system {
        System::Us => celsius(temp_k) * 1.8 + 32.0,
        System::Si => celsius(temp_k),
    }
}

/// As above the other way.
pub(super) fn kelvin_of(system: System, degrees: f64) -> f64 {
    match system {
        System::Us => crate::units::kelvin((degrees - 32.0) / 1.8),
        System::Si => crate::units::kelvin(degrees),
    }
}

pub(in crate::report) fn degree_sign(system: System) -> &'static str {
    match system {
        System::Us => "°F",
        System::Si => "°C",
    }
}

pub(super) fn other(system: System) -> System {
    match system {
        System::Us => System::Si,
        System::Si => System::Us,
    }
}

/// A temperature in whole degrees, such as `138 °F`.
pub(super) fn whole_degrees(system: System, temp_k: f64) -> String {
    format!(
        "{} {}",
        plain(degrees(system, temp_k), 0),
        degree_sign(system)
    )
}

/// A heat flow on an axis, in thousands of Btu/h or in kW.
pub(super) fn heat(system: System, heat_w: f64) -> f64 {
    match system {
        System::Us => heat_w * 3_600.0 / BTU_J / 1e3,
        System::Si => heat_w / 1e3,
    }
}

pub(super) fn heat_unit(system: System) -> &'static str {
    match system {
        System::Us => "thousand Btu/h",
        System::Si => "kW",
    }
}

/// Heat over a time in [`heat_total_unit`]s.
pub(super) fn heat_total(system: System, heat_j: f64) -> String {
    match system {
        System::Us => plain(heat_j / BTU_J / 1e3, 0),
        System::Si => plain(heat_j / 3.6e6, 1),
    }
}

pub(super) fn heat_total_unit(system: System) -> &'static str {
    match system {
        System::Us => "thousand Btu",
        System::Si => "kWh",
    }
}

/// An air flow on an axis: cfm or m³/h.
pub(super) fn air_flow(system: System, flow_m3_s: f64) -> f64 {
    match system {
        System::Us => flow_m3_s / CFM_M3_S,
        System::Si => flow_m3_s * 3_600.0,
    }
}

pub(super) fn air_flow_unit(system: System) -> &'static str {
    match system {
        System::Us => "cfm",
        System::Si => "m³/h",
    }
}

/// A figure with a true minus sign and no negative zero.
pub(super) fn plain(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "n/a".to_owned();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.contains(|c: char| matches!(c, '1'..='9')) => format!("−{rest}"),
        Some(rest) => rest.to_owned(),
        None => text,
    }
}

/// Round numbers of one step through a range.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ticks {
    pub(super) values: Vec<f64>,
    pub(super) decimals: usize,
    pub(super) step: f64,
}

impl Ticks {
    pub(super) fn label(&self, value: f64) -> String {
        plain(value, self.decimals)
    }
}

/// Round numbers inside a range, about `most` of them at the most.
pub(super) fn ticks(range: &Range<f64>, most: f64) -> Ticks {
    let span = range.end - range.start;
    if !(span.is_finite() && span > 0.0) {
        return Ticks {
            values: Vec::new(),
            decimals: 0,
            step: 1.0,
        };
    }
    let rough = span / most.max(1.0);
    #[expect(clippy::cast_possible_truncation, reason = "within ±308")]
    let power = 10.0_f64.powi(log10(rough).floor() as i32);
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough * 0.85)
        .unwrap_or(10.0 * power);
    let first = (range.start / step - 1e-9).ceil();
    let last = (range.end / step + 1e-9).floor();
    let mut values = Vec::new();
    let mut index = first;
    while index <= last {
        values.push(index * step);
        index += 1.0;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to 0 to 6"
    )]
    let decimals = (-log10(step).floor()).clamp(0.0, 6.0) as usize;
    Ticks {
        values,
        decimals,
        step,
    }
}

/// A range that holds all values, widened to round numbers; finite and not empty whatever comes.
pub(super) fn round_range(values: impl Iterator<Item = f64>, most: f64) -> Range<f64> {
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(v), high.max(v))
        });
    if low > high {
        return 0.0..1.0;
    }
    let (low, high) = if high - low < 1e-9 * high.abs().max(1.0) {
        (low - 0.5, high + 0.5)
    } else {
        (low, high)
    };
    let widened =
        |step: f64| (low / step + 1e-9).floor() * step..(high / step - 1e-9).ceil() * step;
    let mut range = widened(ticks(&(low..high), most).step);
    // A wider range can ask for a wider step; then the ends ought to be multiples of that.
    for _ in 0..3 {
        range = widened(ticks(&range, most).step);
    }
    range
}

/// Day of the week in three letters.
fn weekday(at: DateTime) -> &'static str {
    match at.weekday() {
        Weekday::Monday => "Mon",
        Weekday::Tuesday => "Tue",
        Weekday::Wednesday => "Wed",
        Weekday::Thursday => "Thu",
        Weekday::Friday => "Fri",
        Weekday::Saturday => "Sat",
        Weekday::Sunday => "Sun",
    }
}

pub(super) fn month(at: DateTime) -> &'static str {
    const NAMES: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    usize::try_from(at.month())
        .ok()
        .and_then(|m| NAMES.get(m.saturating_sub(1)))
        .unwrap_or(&"")
}

/// A day in words, such as `Tue 11 Jul`.
pub(in crate::report) fn day_name(at: DateTime) -> String {
    format!("{} {} {}", weekday(at), at.day(), month(at))
}

/// An hour of the day, such as `4 pm` or `16:00`.
pub(in crate::report) fn hour_name(system: System, at: DateTime) -> String {
    let (hour, minute) = (at.hour(), at.minute());
    match system {
        System::Si => format!("{hour}:{minute:02}"),
        System::Us => {
            let half = if hour < 12 { "am" } else { "pm" };
            let of_half = if hour % 12 == 0 { 12 } else { hour % 12 };
            if minute == 0 {
                format!("{of_half} {half}")
            } else {
                format!("{of_half}:{minute:02} {half}")
            }
        }
    }
}

/// The instant that lies some seconds after another.
pub(in crate::report) fn after(start: DateTime, seconds: f64) -> DateTime {
    #[expect(clippy::cast_possible_truncation, reason = "years at most")]
    let whole = if seconds.is_finite() {
        seconds.round() as i64
    } else {
        0
    };
    start
        .checked_add(whole.clamp(-4_000_000_000, 4_000_000_000).seconds())
        .unwrap_or(start)
}

const DAY_S: f64 = 86_400.0;

/// Marks of a time axis: where lines stand and where words stand, s from the start.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct TimeMarks {
    pub(super) lines_s: Vec<f64>,
    pub(super) words: Vec<(f64, String)>,
}

/// Marks for a stretch of time drawn `width_px` wide: hours, days or months, as many as fit.
pub(super) fn time_marks(
    system: System,
    start: DateTime,
    span_s: &Range<f64>,
    width_px: f64,
) -> TimeMarks {
    let days = (span_s.end - span_s.start) / DAY_S;
    if !(days.is_finite() && days > 0.0) {
        return TimeMarks::default();
    }
    if days <= HOURS_UP_TO_DAYS {
        hours(system, start, span_s, width_px)
    } else {
        date_marks(start, span_s, width_px)
    }
}

/// Longest stretch of time that is marked by hours, days.
const HOURS_UP_TO_DAYS: f64 = 1.6;

/// Marks for stretches side by side: by hours only where all of them are short, so that days and hours
/// do not meet on one axis.
pub(super) fn marks_of_stretches<'a>(
    system: System,
    start: DateTime,
    stretches: impl Iterator<Item = (&'a Range<f64>, f64)> + Clone,
) -> Vec<TimeMarks> {
    let days = |span_s: &Range<f64>| (span_s.end - span_s.start) / DAY_S;
    let are_hours = stretches
        .clone()
        .all(|(span_s, _)| days(span_s) <= HOURS_UP_TO_DAYS);
    let marks = stretches.map(|(span_s, width_px)| {
        if are_hours || days(span_s) <= 0.0 {
            time_marks(system, start, span_s, width_px)
        } else {
            date_marks(start, span_s, width_px)
        }
    });
    marks.collect()
}

/// Marks by days or months.
fn date_marks(start: DateTime, span_s: &Range<f64>, width_px: f64) -> TimeMarks {
    let days = (span_s.end - span_s.start) / DAY_S;
    if days <= 62.0 {
        by_day(start, span_s, width_px / days)
    } else {
        months(start, span_s)
    }
}

fn hours(system: System, start: DateTime, span_s: &Range<f64>, width_px: f64) -> TimeMarks {
    let count = (span_s.end - span_s.start) / 3_600.0;
    let every = [1.0, 2.0, 3.0, 6.0, 12.0, 24.0]
        .into_iter()
        .find(|hours| width_px / count * hours >= 46.0)
        .unwrap_or(24.0)
        * 3_600.0;
    let mut marks = TimeMarks::default();
    for at in multiples(start, span_s, every) {
        marks.lines_s.push(at);
        marks.words.push((at, hour_name(system, after(start, at))));
    }
    marks
}

/// Times at whole multiples of a step since midnight, s from the start.
fn multiples(start: DateTime, span_s: &Range<f64>, step_s: f64) -> Vec<f64> {
    let into_day = f64::from(start.hour()) * 3_600.0
        + f64::from(start.minute()) * 60.0
        + f64::from(start.second());
    let mut at = ((into_day + span_s.start) / step_s - 1e-9).ceil() * step_s - into_day;
    let mut times = Vec::new();
    while at <= span_s.end + 1e-6 {
        times.push(at);
        at += step_s;
    }
    times
}

fn by_day(start: DateTime, span_s: &Range<f64>, day_px: f64) -> TimeMarks {
    let lines_s = multiples(start, span_s, DAY_S);
    let mut marks = TimeMarks {
        lines_s,
        words: Vec::new(),
    };
    let mut edges = vec![span_s.start];
    edges.extend(
        marks
            .lines_s
            .iter()
            .copied()
            .filter(|at| *at > span_s.start + 1.0),
    );
    if edges.last().is_none_or(|last| *last < span_s.end - 1.0) {
        edges.push(span_s.end);
    }
    let every = (26.0 / day_px).ceil().max(1.0);
    for (index, pair) in edges.windows(2).enumerate() {
        // The short rest of a day has no room for its name.
        if pair[1] - pair[0] < 0.4 * DAY_S || index as f64 % every != 0.0 {
            continue;
        }
        let middle = pair[0].midpoint(pair[1]);
        let at = after(start, middle);
        let word = if day_px >= 68.0 {
            day_name(at)
        } else if day_px >= 48.0 {
            format!("{} {}", weekday(at), at.day())
        } else if day_px >= 26.0 {
            weekday(at).to_owned()
        } else {
            at.day().to_string()
        };
        marks.words.push((middle, word));
    }
    marks
}

fn months(start: DateTime, span_s: &Range<f64>) -> TimeMarks {
    let mut marks = TimeMarks::default();
    let days = multiples(start, span_s, DAY_S);
    let mut month_start = span_s.start;
    let close = |from: f64, to: f64, words: &mut Vec<(f64, String)>| {
        if to - from > 12.0 * DAY_S {
            let middle = from.midpoint(to);
            words.push((middle, month(after(start, middle)).to_owned()));
        }
    };
    for at in days {
        if after(start, at).day() == 1 && at > span_s.start {
            marks.lines_s.push(at);
            close(month_start, at, &mut marks.words);
            month_start = at;
        }
    }
    close(month_start, span_s.end, &mut marks.words);
    marks
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn steps_are_round_and_stay_in_range() {
        let ticks = ticks(&(57.0..143.0), 6.0);
        assert_eq!(ticks.values, [60.0, 80.0, 100.0, 120.0, 140.0]);
        assert_eq!(ticks.label(60.0), "60");
        let fine = super::ticks(&(0.0..0.1), 5.0);
        assert_eq!(fine.label(0.02), "0.02");
        assert_eq!(round_range([57.0, 143.0].into_iter(), 6.0), 40.0..160.0);
    }

    #[test]
    fn a_range_is_never_empty() {
        for values in [
            vec![],
            vec![f64::NAN],
            vec![3.0],
            vec![0.0, 0.0],
            vec![f64::INFINITY],
        ] {
            let range = round_range(values.iter().copied(), 5.0);
            assert!(
                range.start.is_finite() && range.end > range.start,
                "{values:?}: {range:?}"
            );
        }
    }

    #[test]
    fn a_week_is_marked_by_days_a_day_by_hours_a_year_by_months() {
        let start = date(2017, 7, 10).at(0, 0, 0, 0);
        let week = time_marks(System::Us, start, &(0.0..7.0 * DAY_S), 560.0);
        assert_eq!(week.words.len(), 7);
        assert_eq!(week.words[1].1, "Tue 11 Jul");
        assert_eq!(week.lines_s.len(), 8);
        let narrow = time_marks(System::Us, start, &(0.0..7.0 * DAY_S), 200.0);
        assert_eq!(narrow.words[0].1, "Mon");
        let day = time_marks(System::Us, start, &(0.0..DAY_S), 400.0);
        assert!(day.words.iter().any(|(_, word)| word == "12 pm"), "{day:?}");
        let year = time_marks(System::Si, start, &(0.0..365.0 * DAY_S), 560.0);
        assert!(year.words.len() >= 11);
        assert_eq!(
            time_marks(System::Si, start, &(0.0..0.0), 560.0),
            TimeMarks::default()
        );
        // A day beside four is marked as a day.
        let spans = [0.0..4.0 * DAY_S, 4.0 * DAY_S..5.0 * DAY_S];
        let beside = marks_of_stretches(System::Us, start, spans.iter().zip([240.0, 60.0]));
        assert_eq!(beside[1].words[0].1, "Fri 14");
        let one = marks_of_stretches(System::Us, start, spans[1..].iter().zip([200.0]));
        assert!(one[0].words.iter().any(|(_, word)| word == "12 pm"));
    }

    #[test]
    fn a_minus_is_a_minus_and_zero_has_none() {
        assert_eq!(plain(-0.04, 1), "0.0");
        assert_eq!(plain(-2.0, 0), "−2");
        assert_eq!(plain(f64::NAN, 0), "n/a");
    }
}
