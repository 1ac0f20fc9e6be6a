//! Several designs side by side.

use crate::units::show::{self, System};

use super::case::Case;
use super::layout::{heading, paragraph, table};
use super::words::{
    change, comfort_limit, day, days, degree, hours, kind, kwh, percent_change, temp,
};

/// Designs that stand side by side in one block of the day-by-day tables.
const ABREAST: usize = 5;

/// What several designs do in the same weather, the first being what the others are held against.
pub fn compare_text(system: System, cases: &[Case]) -> String {
    let Some(first) = cases.first() else {
        return String::new();
    };
    let outcome = &first.outcome;
    let mut text = format!("{}\n", first.house.name);
    text.push_str(&paragraph(
        "",
        2,
        &format!(
            "{}, weather {}: {}. Outdoors up to {}.",
            days(outcome.start, outcome.end, outcome.weather.kind),
            kind(outcome.weather.kind),
            outcome.weather.place,
            show::temperature(system, first.assessment.readings.outdoor.peak.temp_c),
        ),
    ));
    text.push_str(&heading(&format!(
        "What each design does (in brackets: against \"{}\")",
        first.design()
    )));
    text.push_str(&overview(system, cases, first));
    let spans_days = first.assessment.days.len();
    if (2..=14).contains(&spans_days) {
        for (title, of) in [
            ("Attic air, each day's high", 0_usize),
            ("Rooms, each day's high", 1),
        ] {
            for block in cases.chunks(ABREAST) {
                text.push_str(&heading(&format!("{title}, {}", degree(system))));
                text.push_str(&by_day(system, block, of));
            }
        }
    }
    text
}

fn overview(system: System, cases: &[Case], first: &Case) -> String {
    let unit = degree(system);
    let limit = comfort_limit(system);
    let mut header = vec![
        "design".to_owned(),
        format!("attic air\nhighest, {unit}"),
        format!("rooms\nhighest, {unit}"),
        "through the\nceiling, kWh".to_owned(),
        format!("rooms over\n{limit}"),
    ];
    let fans = cases
        .iter()
        .any(|case| case.assessment.air.fan_free_air_m3_s > 0.0);
    if fans {
        header.push("fans\nrun".to_owned());
    }
    let base = &first.assessment;
    let rows: Vec<Vec<String>> = cases
        .iter()
        .enumerate()
        .map(|(index, case)| {
            let own = &case.assessment;
            let against = |value: String, difference: String| {
                if index == 0 {
                    value
                } else {
                    format!("{value} ({difference})")
                }
            };
            let peak = |own: &crate::assess::Reading, base: &crate::assess::Reading| {
                against(
                    temp(system, own.peak.temp_c),
                    change(system, own.peak.temp_c - base.peak.temp_c),
                )
            };
            let mut row = vec![
                case.design().to_owned(),
                peak(&own.readings.attic_air, &base.readings.attic_air),
                peak(&own.readings.living_air, &base.readings.living_air),
                against(
                    kwh(own.heat.ceiling_gain_kwh),
                    percent_change(own.heat.ceiling_gain_kwh / base.heat.ceiling_gain_kwh - 1.0),
                ),
                hours(own.comfort.hours_above_limit),
            ];
            if fans {
                row.push(if own.air.fan_free_air_m3_s > 0.0 {
                    hours(own.fan.run_hours)
                } else {
                    "-".to_owned()
                });
            }
            row
        })
        .collect();
    table(&header, &rows)
}

/// Highs of each day: of the attic's air (0) or the rooms' (1).
fn by_day(system: System, cases: &[Case], of: usize) -> String {
    let mut header = vec!["day".to_owned(), "outdoors".to_owned()];
    header.extend(cases.iter().map(|case| case.design().to_owned()));
    let Some(first) = cases.first() else {
        return String::new();
    };
    let rows: Vec<Vec<String>> = first
        .assessment
        .days
        .iter()
        .enumerate()
        .map(|(index, one)| {
            let mut row = vec![day(one.date), temp(system, one.outdoor_high_c)];
            row.extend(cases.iter().map(|case| {
                case.assessment
                    .days
                    .get(index)
                    .map_or_else(String::new, |day| {
                        temp(
                            system,
                            if of == 0 {
                                day.attic_high_c
                            } else {
                                day.living_high_c
                            },
                        )
                    })
            }));
            row
        })
        .collect();
    table(&header, &rows)
}
