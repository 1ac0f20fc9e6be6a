//! Several designs side by side.

use crate::assess::{Caution, Depressurised};
use crate::study::{Band, Difference};
use crate::units::show::{self, System};

use super::calibration::Rows;
use super::case::Case;
use super::layout::{heading, paragraph, table, unbroken};
use super::words::{
    change, comfort_limit, day, days, degree, draught, hours, kind, kwh, percent_change, temp,
};

/// Designs that stand side by side in one block of the day-by-day tables.
const ABREAST: usize = 5;

/// What several designs do in the same weather, the first being what the others are held against;
/// with `doubts`, how sure their differences are.
pub fn compare_text(system: System, cases: &[Case], doubts: &[Difference]) -> String {
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
    if let Some((header, rows)) = doubt_rows(system, cases, doubts) {
        text.push_str(&heading("How sure the differences are"));
        text.push_str(&table(&header, &rows));
        text.push_str(&paragraph("", 2, &doubt_note(first)));
    }
    if let Some(words) = flues(system, cases) {
        text.push_str(&heading("Flues"));
        text.push_str(&paragraph("", 2, &words));
    }
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

/// Which designs come near to what an appliance with a plain flue bears; nothing where none does.
fn flues(system: System, cases: &[Case]) -> Option<String> {
    let near = cases.iter().filter_map(|case| {
        let mut cautions = case.assessment.cautions.iter();
        let (level, pressure_pa) = cautions.find_map(|caution| match caution {
            Caution::Combustion { level, pressure_pa } => Some((*level, *pressure_pa)),
            _ => None,
        })?;
        let words = match level {
            Depressurised::Little => return None,
            Depressurised::Watch => "close to the limit",
            Depressurised::WaterHeater => "more than a water heater bears",
            Depressurised::Furnace => "more than a furnace bears",
        };
        let fall = unbroken(&draught(system, -pressure_pa));
        Some(format!("\"{}\" {fall}, {words}", case.design()))
    });
    let near: Vec<String> = near.collect();
    (!near.is_empty()).then(|| {
        format!(
            "While fans run the rooms fall below outdoors: {}. An appliance with a plain flue bears \
             about 2 Pa (water heater) to 5 Pa (furnace) before its fumes come into the house.",
            near.join("; ")
        )
    })
}

/// The limits of each design's differences from the first, in its own numbers: attic air's high and
/// rooms' high, K, and heat through the ceiling, kWh and as a share of the first's.
pub(super) struct Limits {
    pub(super) attic_high_k: [f64; 2],
    pub(super) living_high_k: [f64; 2],
    pub(super) ceiling: Option<[[f64; 2]; 2]>,
}

impl Limits {
    pub(super) fn of(case: &Case, first: &Case, doubt: &Difference) -> Self {
        let (own, base) = (&case.assessment, &first.assessment);
        let about = |difference: f64, band: Band| [difference + band.low, difference + band.high];
        let of = |peak: fn(&crate::assess::Readings) -> f64, band: Band| {
            about(peak(&own.readings) - peak(&base.readings), band)
        };
        let base_kwh = base.heat.ceiling_gain_kwh;
        let share = own.heat.ceiling_gain_kwh / base_kwh - 1.0;
        Self {
            attic_high_k: of(|r| r.attic_air.peak.temp_c, doubt.attic_high),
            living_high_k: of(|r| r.living_air.peak.temp_c, doubt.living_high),
            ceiling: doubt
                .ceiling
                .filter(|_| base_kwh > 0.0)
                .map(|[heat, shares]| {
                    let kwh = about(share, heat).map(|share| share * base_kwh);
                    [kwh, about(share, shares)]
                }),
        }
    }
}

/// The doubts of the designs, each with its design; those of designs that are not there are left out.
pub(super) fn doubted<'a>(
    cases: &'a [Case],
    doubts: &'a [Difference],
) -> impl Iterator<Item = (&'a Case, Limits)> {
    let (first, others) = cases.split_at(cases.len().min(1));
    others.iter().filter_map(move |case| {
        let doubt = doubts.iter().find(|doubt| doubt.design == case.design())?;
        Some((case, Limits::of(case, first.first()?, doubt)))
    })
}

/// How sure the differences are, as a table; none where nothing is told of them.
pub(super) fn doubt_rows(system: System, cases: &[Case], doubts: &[Difference]) -> Option<Rows> {
    let unit = degree(system);
    let header = vec![
        "very likely between".to_owned(),
        format!("attic air\nhighest, {unit}"),
        format!("rooms\nhighest, {unit}"),
        "through the\nceiling".to_owned(),
    ];
    let rows: Vec<Vec<String>> = doubted(cases, doubts)
        .map(|(case, limits)| {
            let of = |ends: [f64; 2]| {
                let [low, high] = ends.map(|end| change(system, end));
                format!("{low} to {high}")
            };
            let ceiling = limits.ceiling.map_or("-".to_owned(), |[_, shares]| {
                let [low, high] = shares.map(percent_change);
                format!("{low} to {high}")
            });
            vec![
                case.design().to_owned(),
                of(limits.attic_high_k),
                of(limits.living_high_k),
                ceiling,
            ]
        })
        .collect();
    (!rows.is_empty()).then_some((header, rows))
}

/// What the limits of the differences hold.
pub(super) fn doubt_note(first: &Case) -> String {
    format!(
        "Against \"{}\", by houses drawn from what was assumed, each with both designs, on the \
         hottest day of these: what makes both hotter or cooler cancels, and what only one of them \
         leaves open stays.",
        first.design()
    )
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
