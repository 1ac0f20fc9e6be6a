//! A log whose clock was likely set otherwise than its description says, in words and as JSON.

use serde_json::{Value, json};

use crate::study::calibrate::ClockError;
use crate::units::show::{self, System};

use super::layout::{heading, paragraph};

/// What to tell of a log's clock, and what to set.
pub fn clock_text(system: System, clock: &ClockError) -> String {
    let mut text = heading("Look at the clock of the log");
    text.push_str(&paragraph("", 2, &clock_words(system, clock)));
    text
}

/// The same without its layout.
pub(super) fn clock_words(system: System, clock: &ClockError) -> String {
    let of = |by: f64| show::temperature_difference(system, by);
    let hours = clock.ahead_h.abs();
    let (side, other) = if clock.ahead_h > 0 {
        ("ahead of", "earlier")
    } else {
        ("behind", "later")
    };
    let what_to_set = match &clock.read_by {
        Some(read_by) => format!(
            "The description of its columns says zone = \"{}\". If the logger was left on daylight \
             saving, or set to another zone, say zone = \"{}\" there, or the name of the zone whose \
             clock it kept, such as \"America/New_York\", and run this again.",
            read_by.zone,
            hours_of(read_by.ahead_h + clock.ahead_h as f64)
        ),
        None => format!(
            "Its stamps tell their own offset from universal time: look what the logger or its \
             telephone was set to, and export the log with stamps {hours} h {other}."
        ),
    };
    format!(
        "The clock of {} looks {hours} h {side} the sun and the house: read as it is described, it \
         is {} off what can be worked out (RMSE); {hours} h {other}, {}. Nothing was moved: all that \
         is told here is by the clock as it is described. {what_to_set}",
        clock.log,
        of(clock.rmse_k),
        of(clock.rmse_otherwise_k),
    )
}

/// Hours of a zone as a description has them.
fn hours_of(hours: f64) -> String {
    let minutes = (hours * 60.0).round();
    if minutes % 60.0 == 0.0 {
        format!("{:+.0}", minutes / 60.0)
    } else {
        let sign = if minutes < 0.0 { '-' } else { '+' };
        let whole = (minutes.abs() / 60.0).floor();
        format!("{sign}{whole:02.0}:{:02.0}", minutes.abs() - 60.0 * whole)
    }
}

/// The same as JSON, SI.
pub fn clock_json(clock: &ClockError) -> Value {
    let read_by = clock.read_by.as_ref();
    json!({
        "log": clock.log,
        "ahead_h": clock.ahead_h,
        "rmse_k": clock.rmse_k,
        "rmse_otherwise_k": clock.rmse_otherwise_k,
        "zone": read_by.map(|own| own.zone.clone()),
        "zone_to_try": read_by.map(|own| hours_of(own.ahead_h + clock.ahead_h as f64)),
        "text": clock_words(System::Si, clock),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::Clock;

    fn clock(ahead_h: i64, zone: &str, read_h: f64) -> ClockError {
        ClockError {
            log: "attic.csv".to_owned(),
            read_by: Some(Clock {
                zone: zone.to_owned(),
                ahead_h: read_h,
            }),
            ahead_h,
            rmse_k: 2.6,
            rmse_otherwise_k: 0.4,
        }
    }

    #[test]
    fn what_to_set_is_said() {
        // Described as standard time, and left on daylight saving.
        let late = clock(1, "-8", -8.0);
        let text = clock_text(System::Si, &late);
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
        let words = clock_words(System::Si, &late);
        for wanted in [
            "looks 1 h ahead of",
            "zone = \"-8\"",
            "say zone = \"-7\"",
            "1 h earlier",
        ] {
            assert!(words.contains(wanted), "{wanted}\n{words}");
        }
        // Described with daylight saving, and never put forward.
        let summer = clock(-1, "America/Los_Angeles", -7.0);
        assert_eq!(clock_json(&summer)["zone_to_try"], "-8");
        assert_eq!(
            clock_json(&clock(1, "Asia/Kolkata", 5.5))["zone_to_try"],
            "+06:30"
        );
        let own = ClockError {
            read_by: None,
            ..late
        };
        assert!(clock_words(System::Us, &own).contains("export the log with stamps 1 h earlier"));
    }
}
