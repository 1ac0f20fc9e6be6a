//! What to log next, in words and as JSON.

use serde_json::{Value, json};

use crate::study::calibrate::{Advice, Days, Goal, NextReading, Reading, Where};

use super::layout::{heading, paragraph};

/// Readings that are named.
const NAMED: usize = 3;
/// Share of the doubt that a reading must take to be worth the trouble.
const WORTH: f64 = 0.1;

/// What to log next: at most four lines under a heading.
pub fn advice_text(advice: &Advice) -> String {
    let mut text = heading("What to log next");
    let about = match &advice.designs {
        Some([one, other]) => format!("\"{one}\" or \"{other}\""),
        None => "heat through the ceiling".to_owned(),
    };
    let worth: Vec<&NextReading> = advice
        .readings
        .iter()
        .filter(|one| one.narrows >= WORTH)
        .take(NAMED)
        .collect();
    if worth.is_empty() {
        let best = advice.readings.first();
        let best = best.map_or_else(String::new, |one| {
            let percent = 100.0 * one.narrows.max(0.0);
            format!(
                ": the best, {}, narrows the doubt by {percent:.0} %",
                words(one)
            )
        });
        let line = format!("Nothing here would help much with {about}{best}.");
        text.push_str(&clipped(&line, 3));
        return text;
    }
    let narrowed = |about: &str| {
        format!(
            "{} days more would narrow the doubt about {about} by:",
            advice.length_days
        )
    };
    let own = paragraph("", 2, &narrowed(&about));
    let is_one_line = own.lines().count() == 1;
    let short = || paragraph("", 2, &narrowed("the best two designs"));
    text.push_str(&if is_one_line { own } else { short() });
    for one in worth {
        let line = format!("{}: {:.0} %", words(one), 100.0 * one.narrows);
        text.push_str(&paragraph("  -", 4, &line));
    }
    text
}

/// At most so many lines of a paragraph, whose names may be long.
fn clipped(words: &str, lines: usize) -> String {
    let whole = paragraph("", 2, words);
    whole.split_inclusive('\n').take(lines).collect()
}

fn words(one: &NextReading) -> String {
    let what = match &one.reading {
        Reading::SameAgain => "the same thermometers again",
        Reading::At(at) => place(at),
    };
    let day = one.from.strftime("%b %-d");
    match one.days {
        Days::Ordinary => what.to_owned(),
        Days::Windy => format!("{what}, on windy days such as {day}"),
        Days::Clear => format!("{what}, on clear days such as {day}"),
        Days::FansOff => format!("{what}, with the fans switched off"),
    }
}

fn place(at: &Where) -> &'static str {
    match at {
        Where::Sensor(_) => "a thermometer of the house file",
        Where::AtticRidge => "attic air near the ridge",
        Where::AtticAir => "attic air",
        Where::AtticLow => "attic air near the floor",
        Where::DeckUnderside => "the underside of the roof deck",
        Where::AtticFloor => "the top of the attic floor",
        Where::CeilingUnderside => "the underside of the ceiling",
        Where::LivingAir => "the rooms' air",
        Where::CeilingFlux => "a heat flux plate under the ceiling",
    }
}

/// The column of a log that the reading would be.
fn column(reading: &Reading) -> &'static str {
    match reading {
        Reading::SameAgain => "same_again",
        Reading::At(at) => at.column().unwrap_or("sensor"),
    }
}

/// What to log next as JSON, SI.
pub fn advice_json(advice: &Advice) -> Value {
    let goal = |goal: &Goal| json!({"value": goal.value, "deviation": goal.deviation});
    let readings: Vec<Value> = advice
        .readings
        .iter()
        .map(|one| {
            let days = match one.days {
                Days::Ordinary => "ordinary",
                Days::Windy => "windy",
                Days::Clear => "clear",
                Days::FansOff => "fans_off",
            };
            json!({
                "reading": column(&one.reading), "days": days, "from": one.from.to_string(),
                "narrows": one.narrows,
            })
        })
        .collect();
    json!({
        "designs": advice.designs, "attic_high_k": advice.attic_high_k.as_ref().map(goal),
        "ceiling_w_m2": goal(&advice.ceiling_w_m2), "length_days": advice.length_days,
        "readings": readings,
    })
}
