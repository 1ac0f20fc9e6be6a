//! A run day by day.

use jiff::civil::Date;

use crate::run::Outcome;
use crate::units::celsius;

use super::KWH_J;
use super::air::running_share;

/// One day of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// Date, local standard time.
    pub date: Date,
    /// Highest outdoor temperature, °C.
    pub outdoor_high_c: f64,
    /// Highest mean temperature of the attic's air, °C.
    pub attic_high_c: f64,
    /// Highest temperature of the rooms' air, °C.
    pub living_high_c: f64,
    /// Time that a fan ran, h.
    pub fan_hours: f64,
    /// Heat that came down through the ceiling, kWh.
    pub ceiling_gain_kwh: f64,
}

/// Days of the period; what happens at midnight belongs to the day that ends.
pub(super) fn days(outcome: &Outcome) -> Vec<Day> {
    let trace = &outcome.trace;
    let mut days: Vec<Day> = Vec::new();
    for (index, &time_s) in trace.times_s.iter().enumerate() {
        let high = |day: &mut f64, column: &[f64]| *day = day.max(celsius(column[index]));
        let day = on(outcome, &mut days, time_s);
        high(&mut day.outdoor_high_c, &trace.outdoor_k);
        high(&mut day.attic_high_c, &trace.attic_air_k);
        high(&mut day.living_high_c, &trace.living_air_k);
    }
    for row in 0..outcome.times_s.len() {
        let step_s = outcome.interval_s(row);
        let ceiling_w = outcome.ceiling_gain_w(row);
        let day = on(outcome, &mut days, outcome.times_s[row]);
        day.fan_hours += running_share(outcome, row) * step_s / 3600.0;
        day.ceiling_gain_kwh += ceiling_w.max(0.0) * step_s / KWH_J;
    }
    days
}

/// The day to which an instant belongs, added if it is new.
fn on<'a>(outcome: &Outcome, days: &'a mut Vec<Day>, time_s: f64) -> &'a mut Day {
    // A second earlier: midnight ends a day. The start begins one.
    let inside_s = (time_s - 1.0).max(0.0);
    let date = time(outcome, inside_s).date();
    let index = days
        .iter()
        .position(|day| day.date == date)
        .unwrap_or_else(|| {
            days.push(Day {
                date,
                outdoor_high_c: f64::NEG_INFINITY,
                attic_high_c: f64::NEG_INFINITY,
                living_high_c: f64::NEG_INFINITY,
                fan_hours: 0.0,
                ceiling_gain_kwh: 0.0,
            });
            days.len() - 1
        });
    &mut days[index]
}

/// Civil time of an instant of a run, to the second.
fn time(outcome: &Outcome, time_s: f64) -> jiff::civil::DateTime {
    #[expect(clippy::cast_possible_truncation, reason = "seconds of a period")]
    let ahead = jiff::SignedDuration::from_secs(time_s.round() as i64);
    outcome.start.saturating_add(ahead)
}
