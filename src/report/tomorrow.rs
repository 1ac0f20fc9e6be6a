//! What a house's thermometers should read on a day that is forecast.

use serde_json::{Value, json};

use crate::elementary::hypot;
use crate::study::{Effect, band};
use crate::units::celsius;
use crate::units::show::{self, System};
use crate::weather::MadeWeek;

use super::case::Case;
use super::cautions::cautions_text;
use super::layout::{heading, paragraph, table, unbroken};
use super::uncertain::uncertainty_text;
use super::words::{day, degree, own_name, temp};

/// Hours of the day that are told.
const HOURS: [u32; 9] = [6, 8, 10, 12, 14, 16, 18, 20, 22];

/// Error of a cheap thermometer, K (common practice, no source).
const THERMOMETER_K: f64 = 0.5;

/// What each thermometer should read, hour by hour, and how sure that is.
pub fn tomorrow_text(system: System, case: &Case, week: &MadeWeek, effects: &[Effect]) -> String {
    let date = case.outcome.start.date();
    let full = |temp_k: f64| unbroken(&show::temperature(system, celsius(temp_k)));
    let mut text = format!("{}: {}\n", case.house.name, case.design());
    text.push_str(&paragraph(
        "",
        2,
        &format!(
            "{}, made from a high of {} and a low of {}: a fine day, wind of {}, days before alike.",
            day(date),
            full(week.high_k),
            full(week.low_k),
            unbroken(&show::speed(system, week.wind_speed_m_s)),
        ),
    ));
    text.push('\n');
    if case.assessment.sensors.is_empty() {
        text.push_str(&paragraph(
            "",
            2,
            "The house file has no thermometers. With a table [sensors.ridge] in it, this page says \
             what that one should read; see help loggers.",
        ));
    }
    for (at, sensor) in case.assessment.sensors.iter().enumerate() {
        let (middle_c, reach_k) = likely(effects, at, sensor.high.temp_c);
        let words = format!(
            "Your {} thermometer should read {} at its highest, at about {}.",
            own_name(&sensor.name),
            unbroken(&within(system, middle_c, reach_k)),
            hour(case.time(sensor.high.time_s)),
        );
        text.push_str(&paragraph("", 2, &words));
    }
    text.push_str(&hours(system, case));
    text.push_str(&paragraph(
        "",
        2,
        "The hours are those with the values that were assumed. Times are standard time: an hour \
         later on clocks that keep daylight saving. The ± holds what the house file does not know, what a high and a low do not tell (wind, haze, \
         moisture), and a thermometer's own error.",
    ));
    text.push_str(&uncertainty_text(
        system,
        effects,
        case.assessment.readings.attic_air.peak.temp_c,
        case.assessment.heat.ceiling_gain_kwh,
    ));
    text.push_str(&cautions_text(system, &case.assessment.cautions));
    text
}

/// The same for other programs, SI.
pub fn tomorrow_json(case: &Case, week: &MadeWeek, effects: &[Effect]) -> Value {
    let round = |value: f64| (value * 100.0).round() / 100.0;
    let sensors: serde_json::Map<String, Value> = case
        .assessment
        .sensors
        .iter()
        .enumerate()
        .map(|(at, sensor)| {
            let (middle_c, reach_k) = likely(effects, at, sensor.high.temp_c);
            let value = json!({
                "high_c": round(middle_c),
                "within_c": round(reach_k),
                "at": case.time(sensor.high.time_s).to_string(),
            });
            (sensor.name.clone(), value)
        })
        .collect();
    json!({
        "date": case.outcome.start.date().to_string(),
        "forecast": {"high_c": round(celsius(week.high_k)), "low_c": round(celsius(week.low_k))},
        "sensors": sensors,
    })
}

/// The middle of what a thermometer's highest reading may be, °C, and how far it may be off either
/// way, K.
fn likely(effects: &[Effect], sensor: usize, high_c: f64) -> (f64, f64) {
    let all: Vec<&Effect> = effects.iter().collect();
    let band = band(&all, |change| {
        change.sensors_high.get(sensor).copied().unwrap_or(0.0)
    });
    let middle_c = high_c + f64::midpoint(band.low, band.high);
    (middle_c, hypot(band.half_width(), THERMOMETER_K))
}

/// `131 ± 6 °F`.
fn within(system: System, temp_c: f64, reach_k: f64) -> String {
    let (value, reach) = match system {
        System::Us => (temp_c * 1.8 + 32.0, reach_k * 1.8),
        System::Si => (temp_c, reach_k),
    };
    format!("{value:.0} ± {:.0} {}", reach.ceil(), degree(system))
}

/// A time of day to the nearest hour: `3 pm`.
fn hour(at: jiff::civil::DateTime) -> String {
    let hour = (i32::from(at.hour()) + i32::from(at.minute() >= 30)) % 24;
    match hour {
        0 => "midnight".to_owned(),
        12 => "noon".to_owned(),
        1..=11 => format!("{hour} am"),
        _ => format!("{} pm", hour - 12),
    }
}

fn hours(system: System, case: &Case) -> String {
    let trace = &case.outcome.trace;
    let unit = degree(system);
    let mut header = vec![
        "time".to_owned(),
        format!("outdoors\n{unit}"),
        format!("attic air\n{unit}"),
        format!("rooms\n{unit}"),
    ];
    header.extend(
        trace
            .sensors_k
            .iter()
            .map(|sensor| format!("{}\nreads {unit}", own_name(&sensor.name))),
    );
    let rows: Vec<Vec<String>> = HOURS
        .iter()
        .filter_map(|hour| {
            let wanted_s = f64::from(*hour) * 3600.0;
            let index = trace.times_s.iter().position(|t| *t >= wanted_s - 1.0)?;
            let read = |column: &[f64]| {
                let temp_k = column.get(index).copied().unwrap_or(f64::NAN);
                temp(system, celsius(temp_k))
            };
            let mut row = vec![
                format!("{hour:>2}:00"),
                read(&trace.outdoor_k),
                read(&trace.attic_air_k),
                read(&trace.living_air_k),
            ];
            row.extend(trace.sensors_k.iter().map(|s| read(&s.reading_k)));
            Some(row)
        })
        .collect();
    format!("{}{}", heading("Hour by hour"), table(&header, &rows))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_said_in_whole_degrees_and_hours() {
        assert_eq!(within(System::Us, 55.0, 3.2), "131 ± 6 °F");
        assert_eq!(within(System::Si, 55.4, 3.2), "55 ± 4 °C");
        let at = |hour, minute| hour_of(hour, minute);
        assert_eq!(at(14, 45), "3 pm");
        assert_eq!(at(11, 40), "noon");
        assert_eq!(at(23, 59), "midnight");
    }

    fn hour_of(of: i8, minute: i8) -> String {
        hour(jiff::civil::date(2026, 7, 10).at(of, minute, 0, 0))
    }
}
