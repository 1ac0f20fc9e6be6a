//! Names and numbers as people read them.

use jiff::civil::{Date, DateTime};

use crate::elementary::log10;
use crate::units::show::{self, System};
use crate::weather::Kind;

/// What a place of [`crate::assess::PLACES`] is called in text.
pub(super) fn place(name: &str) -> &'static str {
    match name {
        "outdoor" => "outdoors",
        "attic_ridge" => "attic air at the ridge",
        "attic_air" => "attic air, mean",
        "attic_low" => "attic air near its floor",
        "deck_underside" => "underside of the roof deck",
        "attic_floor" => "attic floor",
        "ceiling_underside" => "ceiling, seen from the room",
        _ => "rooms",
    }
}

/// A direction of the compass by its letters.
pub(super) fn compass(letters: &str) -> String {
    let word = |letter: char| match letter {
        'n' => "north",
        'e' => "east",
        's' => "south",
        _ => "west",
    };
    let words: Vec<&str> = letters.chars().map(word).collect();
    if words.len() == 3 {
        format!("{}-{}{}", words[0], words[1], words[2])
    } else {
        words.concat()
    }
}

/// Weather's kind in a word.
pub(super) fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Measured => "measured",
        Kind::Typical => "typical year",
        Kind::Made => "made up from a forecast, not measured",
    }
}

/// A date such as `19 Jun`.
pub(super) fn day(date: Date) -> String {
    date.strftime("%-d %b").to_string()
}

/// A moment such as `19 Jun 16:05`.
pub(super) fn moment(at: DateTime) -> String {
    at.strftime("%-d %b %H:%M").to_string()
}

/// The civil time of seconds since 1970.
pub(super) fn civil(at_s: i64) -> DateTime {
    let epoch = DateTime::constant(1970, 1, 1, 0, 0, 0, 0);
    epoch.saturating_add(jiff::SignedDuration::from_secs(at_s))
}

/// The days from one instant to another, such as `16 to 22 June 2017`; the end at midnight belongs
/// to the day before. A typical year has no year.
pub(super) fn days(from: DateTime, to: DateTime, weather: Kind) -> String {
    let last = to.saturating_sub(jiff::SignedDuration::from_secs(1)).date();
    let first = from.date();
    let year = if weather == Kind::Typical { "" } else { " %Y" };
    let long = |date: Date, form: &str| date.strftime(form).to_string();
    let end = long(last, &format!("%-d %B{year}"));
    if first == last {
        end
    } else if first.year() == last.year() && first.month() == last.month() {
        format!("{} to {end}", first.day())
    } else if first.year() == last.year() {
        format!("{} to {end}", long(first, "%-d %B"))
    } else {
        format!("{} to {end}", long(first, &format!("%-d %B{year}")))
    }
}

/// Unit of temperatures.
pub(super) fn degree(system: System) -> &'static str {
    match system {
        System::Us => "°F",
        System::Si => "°C",
    }
}

/// A temperature without its unit.
pub(super) fn temp(system: System, temp_c: f64) -> String {
    bare(&show::temperature(system, temp_c))
}

/// A difference of temperatures without its unit, always with its sign.
pub(super) fn change(system: System, change_k: f64) -> String {
    signed(&bare(&show::temperature_difference(system, change_k)))
}

/// A difference of temperatures with its unit and without a sign.
pub(super) fn difference(system: System, difference_k: f64) -> String {
    show::temperature_difference(system, difference_k.abs())
}

/// A pressure difference given in Pa, in which draughts are tested everywhere, and in inches of
/// water beside it.
pub(super) fn draught(system: System, pressure_pa: f64) -> String {
    let own = show::pressure(System::Si, pressure_pa);
    match system {
        System::Us => format!("{own} ({})", show::pressure(System::Us, pressure_pa)),
        System::Si => own,
    }
}

/// A change in percent with its sign.
pub(super) fn percent_change(share: f64) -> String {
    if share.is_finite() {
        signed(&unsigned(format!("{:.0}", share * 100.0))) + " %"
    } else {
        "n/a".to_owned()
    }
}

/// A share in whole percent.
pub(super) fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

/// An energy given in kWh, three figures at most, without its unit.
pub(super) fn kwh(energy_kwh: f64) -> String {
    let decimals = match energy_kwh.abs() {
        e if e >= 99.95 => 0,
        e if e >= 9.995 => 1,
        _ => 2,
    };
    unsigned(format!("{energy_kwh:.decimals$}"))
}

/// A heat flow given in W, in kW or thousand Btu/h, with its unit.
pub(super) fn heat(system: System, heat_w: f64) -> String {
    let (value, unit) = heat_number(system, heat_w);
    format!("{value} {unit}")
}

/// A heat flow's number, to three figures, and its unit.
pub(super) fn heat_number(system: System, heat_w: f64) -> (String, &'static str) {
    match system {
        System::Us => (thousands(rounded(heat_w / BTU_H_W)), "Btu/h"),
        System::Si => (unsigned(format!("{:.2}", heat_w / 1e3)), "kW"),
    }
}

/// W in one Btu/h: 1055.056 J (International Table) an hour.
const BTU_H_W: f64 = 1_055.055_852_62 / 3600.0;

/// A number to three figures, tens at the finest.
fn rounded(value: f64) -> f64 {
    #[expect(clippy::cast_possible_truncation, reason = "at most 308")]
    let size = log10(value.abs().max(1.0)).floor() as i32;
    let step = 10_f64.powi((size - 2).max(1));
    (value / step).round() * step
}

/// A whole number with its thousands parted.
fn thousands(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index) % 3 == 0 {
            text.push(',');
        }
        text.push(digit);
    }
    if value < 0.0 && digits != "0" {
        text.insert(0, '-');
    }
    text
}

/// The comfort limit of rooms as people say it.
pub(super) fn comfort_limit(system: System) -> &'static str {
    match system {
        System::Us => "80 °F",
        System::Si => "26.7 °C",
    }
}

/// Hours, whole from ten up.
pub(super) fn hours(hours: f64) -> String {
    if hours >= 9.95 || hours == 0.0 {
        format!("{hours:.0} h")
    } else {
        format!("{hours:.1} h")
    }
}

/// A number without the unit behind it.
pub(super) fn bare(quantity: &str) -> String {
    quantity.split(' ').next().unwrap_or(quantity).to_owned()
}

/// A name in the house file without its group: `openings.gable.east` is `gable east`.
pub(super) fn own_name(name: &str) -> String {
    let (_, own) = name.split_once('.').unwrap_or(("", name));
    own.replace('.', " ")
}

/// Names joined as in a sentence.
pub(super) fn joined(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn signed(number: &str) -> String {
    if number.starts_with('-') || number.trim_matches(['0', '.']).is_empty() {
        number.to_owned()
    } else {
        format!("+{number}")
    }
}

fn unsigned(text: String) -> String {
    let zero = text.starts_with('-') && !text.contains(|c: char| matches!(c, '1'..='9'));
    if zero { text[1..].to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn spans_of_days_are_told_shortly() {
        let span =
            |from: Date, to: Date| days(from.at(0, 0, 0, 0), to.at(0, 0, 0, 0), Kind::Measured);
        assert_eq!(
            span(date(2017, 6, 16), date(2017, 6, 23)),
            "16 to 22 June 2017"
        );
        assert_eq!(
            span(date(2017, 6, 28), date(2017, 7, 3)),
            "28 June to 2 July 2017"
        );
        assert_eq!(span(date(2017, 6, 28), date(2017, 6, 29)), "28 June 2017");
    }

    #[test]
    fn signs_are_kept_and_nothing_has_none() {
        assert_eq!(change(System::Us, -4.0), "-7.2");
        assert_eq!(change(System::Si, 0.5), "+0.5");
        assert_eq!(change(System::Us, -0.01), "0.0");
        assert_eq!(percent_change(-0.123), "-12 %");
        assert_eq!(heat(System::Us, -82_838.0), "-283,000 Btu/h");
        assert_eq!(heat(System::Us, 2092.0), "7,140 Btu/h");
        assert_eq!(heat(System::Us, -0.1), "0 Btu/h");
        assert_eq!(compass("sse"), "south-southeast");
        assert_eq!(own_name("fans.gable.east"), "gable east");
    }
}
