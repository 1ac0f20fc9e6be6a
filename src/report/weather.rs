//! A weather file in words.

use crate::units::show::System;
use crate::weather::{Description, Stretch};

use super::layout::{heading, paragraph, table};
use super::notices::{capital, notice_text, quantity, span_text};
use super::words::{days, degree, kind, temp};
use crate::units::celsius;
use crate::units::show;

/// What a weather file holds.
pub fn weather_text(system: System, description: &Description) -> String {
    let place = &description.place;
    let mut text = format!("{}\n", place.name);
    let mut line = |name: &str, words: String| {
        text.push_str(&paragraph(&format!("  {name}"), 16, &words));
    };
    line("kind", kind(description.kind).to_owned());
    line("source", description.source.clone());
    if !description.licence.is_empty() {
        line("licence", description.licence.clone());
    }
    line(
        "place",
        format!(
            "{:.2}° {}, {:.2}° {}, {} above the sea, UTC{:+}",
            place.latitude_deg.abs(),
            if place.latitude_deg < 0.0 {
                "south"
            } else {
                "north"
            },
            place.longitude_deg.abs(),
            if place.longitude_deg < 0.0 {
                "west"
            } else {
                "east"
            },
            match system {
                System::Us => format!("{:.0} ft", place.altitude_m / 0.3048),
                System::Si => format!("{:.0} m", place.altitude_m),
            },
            place.utc_offset_h
        ),
    );
    line(
        "span",
        format!(
            "{}, every {} min",
            days(description.from, description.to, description.kind),
            description.step_s / 60
        ),
    );
    for (name, week) in [
        ("hottest week", &description.hottest_week),
        ("coldest week", &description.coldest_week),
        ("most humid", &description.most_humid_week),
    ] {
        if let Some(week) = week {
            line(name, stretch_text(system, week, description));
        }
    }
    if !description.months.is_empty() {
        text.push_str(&months(system, description));
    }
    if !description.holes.is_empty() {
        text.push_str(&heading("Missing for too long to be bridged"));
        for hole in &description.holes {
            text.push_str(&paragraph(
                "  -",
                4,
                &format!(
                    "{} intervals {} to {}",
                    quantity(hole.quantity),
                    hole.first,
                    hole.end
                ),
            ));
        }
    }
    if !description.notices.is_empty() {
        text.push_str(&heading("Repaired, assumed or worked out"));
        for notice in &description.notices {
            text.push_str(&paragraph("  -", 4, &capital(&notice_text(system, notice))));
        }
    }
    text
}

fn stretch_text(system: System, week: &Stretch, description: &Description) -> String {
    format!(
        "{}: {}",
        days(week.from, week.to, description.kind),
        span_text(
            system,
            week.lowest_dry_bulb_k,
            week.highest_dry_bulb_k,
            week.mean_dry_bulb_k
        )
    )
}

fn months(system: System, description: &Description) -> String {
    let unit = degree(system);
    let header = [
        "month".to_owned(),
        format!("mean\n{unit}"),
        format!("highest\n{unit}"),
        format!("lowest\n{unit}"),
        "wind".to_owned(),
        "sun a day\nkWh/m²".to_owned(),
    ];
    let of = |temp_k: f64| temp(system, celsius(temp_k));
    let rows: Vec<Vec<String>> = description
        .months
        .iter()
        .map(|month| {
            let stretch = &month.stretch;
            vec![
                stretch.from.date().strftime("%B").to_string(),
                of(stretch.mean_dry_bulb_k),
                of(stretch.highest_dry_bulb_k),
                of(stretch.lowest_dry_bulb_k),
                show::speed(system, stretch.mean_wind_speed_m_s),
                format!("{:.1}", stretch.mean_global_w_m2 * 24.0 / 1e3),
            ]
        })
        .collect();
    format!("\n{}", table(&header, &rows))
}
