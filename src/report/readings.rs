//! What a log holds, what was dropped of it and why, and a guess to accept.

use crate::readings::{Encoding, Guess, Notice, Readings, Role, TimeFault};
use crate::units::show::{self, System};

use super::layout::{heading, paragraph, table};
use super::notices::{capital, quantity};
use super::words::civil;

/// What a column is called in text.
pub(super) fn role_text(role: &Role) -> String {
    match role {
        Role::Outdoors(of) => format!("{} outdoors", quantity(*of)),
        Role::Inside(name) => name.replace('_', " "),
    }
}

/// A log in words: its columns, then everything that was dropped or looks wrong.
pub fn readings_text(system: System, readings: &Readings) -> String {
    let mut text = format!(
        "Log {} (times below are standard time, UTC{:+})\n\n",
        readings.source, readings.utc_offset_h
    );
    let (header, rows) = readings_rows(readings);
    text.push_str(&table(&header, &rows));
    text.push_str(&heading("Dropped or doubtful"));
    if readings.notices.is_empty() {
        text.push_str("  nothing\n");
    }
    for notice in &readings.notices {
        text.push_str(&paragraph(
            "  -",
            4,
            &capital(&notice_words(system, notice)),
        ));
    }
    text
}

/// The columns of a log, how many readings each holds and of when.
pub(super) fn readings_rows(readings: &Readings) -> (Vec<String>, Vec<Vec<String>>) {
    let at = |at_s: &i64| civil(*at_s).strftime("%Y-%m-%d %H:%M").to_string();
    let header = ["column", "readings", "from", "to"].map(str::to_owned);
    let rows = readings.series.iter().map(|series| {
        let [first, last] =
            [series.times_s.first(), series.times_s.last()].map(|time| time.map(at));
        vec![
            role_text(&series.role),
            series.values.len().to_string(),
            first.unwrap_or_default(),
            last.unwrap_or_default(),
        ]
    });
    (header.to_vec(), rows.collect())
}

/// A guess in words, with the description that would be accepted.
pub fn guess_text(guess: &Guess) -> String {
    let mut text = paragraph(
        "",
        0,
        "Nothing says which column is what. From the header and the first rows it looks like this:",
    );
    text.push('\n');
    for line in guess.columns.to_text().lines() {
        text.push_str("    ");
        text.push_str(line);
        text.push('\n');
    }
    text.push('\n');
    if guess.day_or_month_first {
        let doubt = "The rows do not tell whether the day or the month comes first in the dates.";
        text.push_str(&paragraph("  -", 4, doubt));
    }
    for name in &guess.units_by_size {
        let doubt = format!("No name tells the unit of \"{name}\"; the size of its numbers did.");
        text.push_str(&paragraph("  -", 4, &doubt));
    }
    if guess.columns.zone_text.parse::<f64>().is_ok() {
        let doubt = "This clock never changes. Phones, and loggers set by them, change to daylight saving: \
                     for those, name the place with --zone, such as America/Los_Angeles.";
        text.push_str(&paragraph("  -", 4, doubt));
    }
    if !guess.unused.is_empty() {
        let unused = format!("Not used: {}.", guess.unused.join(", "));
        text.push_str(&paragraph("  -", 4, &unused));
    }
    text.push_str(&paragraph(
        "",
        0,
        "Say --accept-guess if all of it is right. If not, save these lines in a file, mend them, \
         and name the file with --log-columns.",
    ));
    text
}

/// What was dropped or looks wrong, in words.
#[expect(clippy::too_many_lines, reason = "one arm a notice")]
pub(super) fn notice_words(system: System, notice: &Notice) -> String {
    let difference = |k: f64| show::temperature_difference(system, k);
    let when = |at: &jiff::civil::DateTime| at.strftime("%Y-%m-%d %H:%M").to_string();
    match notice {
        Notice::Encoding { encoding } => match encoding {
            Encoding::Utf16 => "the file is UTF-16 and was read as such.".to_owned(),
            Encoding::Latin1 => "the file is not UTF-8; it was read as Latin-1.".to_owned(),
            Encoding::Utf8 => "the file is UTF-8.".to_owned(),
        },
        Notice::TimesDropped {
            fault: TimeFault::Unreadable,
            rows,
            first_line,
        } => format!(
            "{rows} row(s) dropped: their time cannot be read, the first on line {first_line}."
        ),
        Notice::TimesDropped {
            fault: TimeFault::NeverWas,
            rows,
            first_line,
        } => format!(
            "{rows} row(s) dropped: their hour is skipped when clocks are put forward, the first on \
             line {first_line}. If the logger never changes its clock, describe its zone in hours, \
             such as -5."
        ),
        Notice::NewestFirst => "the newest row came first; the file was turned round.".to_owned(),
        Notice::OutOfOrder { rows, first_line } => format!(
            "{rows} row(s) were earlier than the row before, the first on line {first_line}; all \
             were sorted."
        ),
        Notice::HourTwice { rows, first_line } => format!(
            "an hour comes twice when clocks are put back ({rows} row(s), the first on line \
             {first_line}); the order of the rows told which is which."
        ),
        Notice::Duplicates {
            rows,
            differing,
            first_line,
        } => format!(
            "{rows} row(s) dropped: their time is there already, the first on line {first_line}; \
             {differing} of them differ from the row that was kept."
        ),
        Notice::ShortRows { rows, first_line } => format!(
            "{rows} row(s) end before the last column, the first on line {first_line}; what is \
             missing was left out."
        ),
        Notice::NotNumbers {
            role,
            values,
            first_line,
            example,
        } => format!(
            "{}: {values} field(s) dropped that are no numbers, such as \"{example}\" on line \
             {first_line}.",
            role_text(role)
        ),
        Notice::Unbelievable {
            role,
            values,
            first_line,
        } => format!(
            "{}: {values} unbelievable reading(s) dropped, the first on line {first_line}.",
            role_text(role)
        ),
        Notice::Stuck {
            role,
            values,
            from,
            longest_h,
        } => format!(
            "{}: {values} reading(s) dropped: the sensor stuck to one value, first from {} on, the \
             longest for {longest_h:.0} h.",
            role_text(role),
            when(from)
        ),
        Notice::Spikes {
            role,
            values,
            first,
        } => format!(
            "{}: {values} reading(s) dropped that stand far away from those before and after, the \
             first at {}.",
            role_text(role),
            when(first)
        ),
        Notice::Gaps {
            role,
            gaps,
            longest_h,
        } => format!(
            "{}: {gaps} gap(s), the longest {longest_h:.1} h; nothing was filled in.",
            role_text(role)
        ),
        Notice::Irregular { step_s, share } => format!(
            "{:.0} % of the rows are not {:.4} min apart as most are; each is used at its own time.",
            share * 100.0,
            *step_s as f64 / 60.0
        )
        .replace(".0000", ""),
        Notice::SunTouched {
            from_h,
            to_h,
            excess_k,
            values,
        } => format!(
            "the outdoor thermometer reads up to {} more than the weather file from {from_h}:00 to \
             {to_h}:00 and not at other hours, as when the sun reaches it: {values} reading(s) of \
             those hours dropped.",
            difference(*excess_k)
        ),
        Notice::ClockBeforeSun {
            from_h,
            to_h,
            excess_k,
            ahead_h,
        } => format!(
            "the outdoor thermometer reads up to {} more than the weather file from {from_h}:00 to \
             {to_h}:00, as when the sun reaches it; {} h {} it would not. A clock that is off \
             explains that better than the sun: no reading was dropped for it. Look at the log's clock.",
            difference(*excess_k),
            ahead_h.abs(),
            if *ahead_h > 0 { "earlier" } else { "later" }
        ),
        Notice::LooksSwapped {
            inside,
            inside_swing_k,
            outdoor_swing_k,
        } => format!(
            "CHECK THE COLUMNS: {} swings by {} a day and the outdoor column by {}, and the latter \
             is hotter by day. The two look exchanged.",
            role_text(inside),
            difference(*inside_swing_k),
            difference(*outdoor_swing_k)
        ),
    }
}
