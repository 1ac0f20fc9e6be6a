//! One design in words.

use crate::assess::PLACES;
use crate::study::Effect;
use crate::units::show::{self, System};

use super::account::account_text;
use super::case::Case;
use super::cautions::cautions_text;
use super::layout::{heading, paragraph, table};
use super::notices::notices_text;
use super::uncertain::uncertainty_text;
use super::words::{
    change, comfort_limit, day, days, degree, draught, hours, kind, kwh, moment, percent, place,
    temp,
};

/// What a run of one design came to; with `effects`, what was assumed by what it does, and how sure
/// that makes the result.
pub fn summary_text(system: System, case: &Case, effects: Option<&[Effect]>) -> String {
    let outcome = &case.outcome;
    let mut text = format!("{}: {}\n", case.house.name, case.design());
    text.push_str(&paragraph(
        "",
        2,
        &format!(
            "{}, weather {}: {}",
            days(outcome.start, outcome.end, outcome.weather.kind),
            kind(outcome.weather.kind),
            outcome.weather.place
        ),
    ));
    text.push_str(&temperatures(system, case));
    text.push_str(&heat_and_air(system, case));
    text.push_str(&days_text(system, case));
    text.push_str(&sensors(system, case));
    text.push_str(&account_text(system, case));
    if !outcome.notices.is_empty() {
        text.push_str(&heading("About the weather"));
        text.push_str(&notices_text(system, &outcome.notices));
    }
    text.push_str(&match effects {
        Some(effects) => uncertainty_text(
            system,
            effects,
            case.assessment.readings.attic_air.peak.temp_c,
            case.assessment.heat.ceiling_gain_kwh,
        ),
        None => assumed(case),
    });
    text.push_str(&cautions_text(system, &case.assessment.cautions));
    text
}

fn temperatures(system: System, case: &Case) -> String {
    let unit = degree(system);
    let header = [
        "temperature".to_owned(),
        format!("highest\n{unit}"),
        "when".to_owned(),
        format!("mean\n{unit}"),
        format!("lowest\n{unit}"),
    ];
    let readings = case.assessment.readings.all();
    let rows: Vec<Vec<String>> = PLACES
        .iter()
        .zip(readings)
        .map(|(name, reading)| {
            vec![
                place(name).to_owned(),
                temp(system, reading.peak.temp_c),
                moment(case.time(reading.peak.time_s)),
                temp(system, reading.mean_c),
                temp(system, reading.low_c),
            ]
        })
        .collect();
    format!("\n{}", table(&header, &rows))
}

fn heat_and_air(system: System, case: &Case) -> String {
    let assessment = &case.assessment;
    let (heat, air, fan) = (&assessment.heat, &assessment.air, &assessment.fan);
    let pressure = |pa: f64| draught(system, pa);
    let mut rows = vec![
        vec![
            "heat down through the ceiling".to_owned(),
            format!("{} kWh", kwh(heat.ceiling_gain_kwh)),
        ],
        vec![
            "  net of what went back up".to_owned(),
            format!("{} kWh", kwh(heat.ceiling_net_kwh)),
        ],
        vec![
            format!(
                "  most at one time, {}",
                moment(case.time(heat.ceiling_peak_time_s))
            ),
            show::heat_flux(system, heat.ceiling_peak_w_m2),
        ],
        vec![
            "sun taken up by the roof".to_owned(),
            format!("{} kWh", kwh(heat.solar_absorbed_kwh)),
        ],
        vec![
            "attic air changes an hour, mean / most".to_owned(),
            format!("{:.1} / {:.1}", air.attic_ach_mean, air.attic_ach_max),
        ],
        vec![
            "of the air entering the attic, from the rooms".to_owned(),
            percent(air.from_living_share_mean),
        ],
        vec![
            "lowest pressure against outdoors, attic / rooms".to_owned(),
            format!(
                "{} / {}",
                pressure(air.attic_pressure_min_pa),
                pressure(air.living_pressure_min_pa)
            ),
        ],
    ];
    if air.fan_free_air_m3_s > 0.0 {
        let flow = |m3_s: f64| show::air_flow(system, m3_s);
        rows.push(vec![
            "fans: on their labels / moved in place".to_owned(),
            format!(
                "{} / {}",
                flow(air.fan_free_air_m3_s),
                flow(air.fan_delivered_m3_s)
            ),
        ]);
        rows.push(vec![
            "fans: running / starts / electricity".to_owned(),
            format!(
                "{} / {} / {} kWh",
                hours(fan.run_hours),
                fan.starts,
                kwh(fan.energy_kwh)
            ),
        ]);
    }
    let comfort = &assessment.comfort;
    rows.push(vec![
        format!("rooms above {}", comfort_limit(system)),
        hours(comfort.hours_above_limit),
    ]);
    if let (Some(above), Some(limit_c)) =
        (comfort.hours_above_adaptive, comfort.adaptive_limit_mean_c)
    {
        rows.push(vec![
            format!(
                "rooms above {}, the limit for people used to heat",
                show::temperature(system, limit_c)
            ),
            hours(above),
        ]);
    }
    format!("{}{}", heading("Heat, air and comfort"), table(&[], &rows))
}

fn days_text(system: System, case: &Case) -> String {
    let unit = degree(system);
    let header = [
        "day".to_owned(),
        format!("outdoors\nhigh {unit}"),
        format!("attic air\nhigh {unit}"),
        format!("rooms\nhigh {unit}"),
        "through the\nceiling, kWh".to_owned(),
        "fans run\nh".to_owned(),
    ];
    let all = &case.assessment.days;
    if all.len() > 31 {
        return String::new();
    }
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|one| {
            vec![
                day(one.date),
                temp(system, one.outdoor_high_c),
                temp(system, one.attic_high_c),
                temp(system, one.living_high_c),
                kwh(one.ceiling_gain_kwh),
                format!("{:.1}", one.fan_hours),
            ]
        })
        .collect();
    format!("{}{}", heading("Day by day"), table(&header, &rows))
}

fn sensors(system: System, case: &Case) -> String {
    let all = &case.assessment.sensors;
    if all.is_empty() {
        return String::new();
    }
    let unit = degree(system);
    let header = [
        "thermometer".to_owned(),
        format!("highest\n{unit}"),
        "when".to_owned(),
        format!("off the air\nthen, {unit}"),
        format!("lowest\n{unit}"),
    ];
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|sensor| {
            vec![
                sensor.name.clone(),
                temp(system, sensor.high.temp_c),
                moment(case.time(sensor.high.time_s)),
                change(system, sensor.offset_at_high_k),
                temp(system, sensor.low_c),
            ]
        })
        .collect();
    format!(
        "{}{}{}",
        heading("What your thermometers would show"),
        table(&header, &rows),
        paragraph(
            "",
            2,
            "A bare thermometer also feels the hot surfaces around it, so it reads off the air."
        )
    )
}

fn assumed(case: &Case) -> String {
    let all = &case.house.assumed;
    if all.is_empty() {
        return String::new();
    }
    let fields: Vec<String> = all.iter().map(|one| one.field.clone()).collect();
    format!(
        "{}{}",
        heading("Assumed for lack of an answer (check HOUSE tells values and sources)"),
        paragraph("", 2, &fields.join(", "))
    )
}
