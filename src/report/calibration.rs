//! What a fit found, in words and as JSON.

use std::fmt::Write as _;

use serde_json::{Value, json};

use crate::house::{as_written, setting};
use crate::study::calibrate::{
    Calibration, Compared, Direction, Measure, Prior, Quality, Target, meaning,
};
use crate::units::show::{self, System};

use super::layout::{heading, paragraph, table};

/// A value of an unknown with its unit.
fn value_text(system: System, prior: &Prior, value: f64) -> String {
    let three = |value: f64| -> f64 { format!("{value:.2e}").parse().unwrap_or(value) };
    match (&prior.target, system) {
        (Target::Key { dimension, .. }, System::Us) => as_written(three(value), *dimension),
        (Target::Key { dimension, .. }, System::Si) => {
            use crate::units::Dimension as D;
            if matches!(dimension, D::Angle | D::Slope) {
                format!("{:.0} deg", value.to_degrees())
            } else {
                // Settings are typed on any keyboard.
                let typed = setting(three(value), *dimension);
                typed.replace("m2", "m²").replace("m3", "m³")
            }
        }
        (Target::AirOffset, _) => show::temperature_difference(system, value),
        (Target::Sun | Target::Snow, _) => format!("× {value:.2}"),
        (Target::Infrared, _) => format!("{value:+.0} W/m²"),
        (Target::SunSpread | Target::SunContrast, _) => format!("{value:.2}"),
        (Target::WindInCalm, _) => show::speed(system, value),
    }
}

/// A fit in words: how well the readings are met, what was found, what the readings cannot tell.
pub fn calibration_text(system: System, house: &str, fit: &Calibration) -> String {
    let mut text = format!("{house}, fitted to its log\n\nHow well the readings are met\n");
    text.push_str(&quality_table(system, fit));
    text.push_str(&heading(
        "What was found, with limits between which nine in ten lie",
    ));
    let (header, rows) = found_table(system, fit);
    text.push_str(&table(&header, &rows));
    text.push_str(&paragraph(
        "",
        2,
        "Doubt left: of the doubt before any reading, how much is left.",
    ));
    text.push_str("  What these are:\n");
    for one in &fit.findings {
        if let Some(words) = meaning(one.prior.name()) {
            let line = format!("{}: {words}", one.prior.name());
            text.push_str(&paragraph("  -", 4, &line));
        }
    }
    for one in fit.findings.iter().filter(|one| one.pull.abs() > 2.0) {
        let far = format!(
            "{} went far from what was likely ({:.1} of its deviations): look at it, and at what \
             else may be wrong instead.",
            one.prior.name(),
            one.pull.abs()
        );
        text.push_str(&paragraph("  -", 4, &far));
    }
    text.push_str(&told_text(fit));
    text.push_str(&heading("How sure that is"));
    if let Some(days) = few_days(fit) {
        let words = format!(
            "These are readings of {days:.0} day(s): little to tell the house from its weather by. A week \
             or two tell far more."
        );
        text.push_str(&paragraph("  -", 4, &words));
    }
    for weight in &fit.weights {
        let words = format!(
            "{}: {} readings differ by {}, beside what comes back every day, and hang together from one \
             to the next; they count as {:.0} readings of their own, and all limits are wider by that.",
            weight.name.replace('_', " "),
            weight.count,
            difference(system, weight.measure, weight.spread),
            weight.effective
        );
        text.push_str(&paragraph("  -", 4, &words));
        let words = format!(
            "{}: what the house gets wrong every day alike is taken to be {} (one deviation), after \
             what these days and what other attics show. It does not wear off with more days, and is \
             in all limits.",
            weight.name.replace('_', " "),
            difference(system, weight.measure, weight.daily),
        );
        text.push_str(&paragraph("  -", 4, &words));
    }
    let model = "The limits hold if the house is built as the file describes it. What the file has \
                 wrong beside the fitted numbers is not in them.";
    text.push_str(&paragraph("  -", 4, model));
    let sums: Vec<String> = fit.sums.iter().map(|sum| format!("{sum:.1}")).collect();
    let search = format!(
        "{} runs; sums of squares from the starts: {}.",
        fit.runs,
        sums.join(", ")
    );
    text.push_str(&paragraph("  -", 4, &search));
    text
}

/// Header and rows of a table.
pub(super) type Rows = (Vec<String>, Vec<Vec<String>>);

/// How many days were fitted, if those are few.
fn few_days(fit: &Calibration) -> Option<f64> {
    const ENOUGH: f64 = 4.5;
    let times_s = &fit.fitted.first()?.times_s;
    let span_s = times_s.last()? - times_s.first()?;
    let days = span_s as f64 / 86_400.0;
    (days < ENOUGH).then_some(days)
}

/// What was found, as a table.
pub(super) fn found_table(system: System, fit: &Calibration) -> Rows {
    let header = ["", "before", "now", "from", "to", "doubt\nleft"].map(str::to_owned);
    let rows = fit.findings.iter().map(|one| {
        let of = |value: f64| value_text(system, &one.prior, value);
        vec![
            one.prior.name().to_owned(),
            of(one.prior.value),
            of(one.value),
            of(one.interval[0]),
            of(one.interval[1]),
            format!("{:.0} %", 100.0 * one.doubt_left),
        ]
    });
    (header.to_vec(), rows.collect())
}

/// A difference of readings with its unit.
pub(super) fn difference(system: System, measure: Measure, by: f64) -> String {
    match measure {
        Measure::Temperature => show::temperature_difference(system, by),
        Measure::HeatFlux => show::heat_flux(system, by),
    }
}

/// The unit of readings in JSON.
fn unit(measure: Measure) -> &'static str {
    match measure {
        Measure::Temperature => "K",
        Measure::HeatFlux => "W/m2",
    }
}

/// How well the readings are met, as a table.
pub(super) fn quality_rows(system: System, fit: &Calibration) -> Rows {
    let header = [
        "",
        "readings",
        "bias",
        "spread\n(RMSE)",
        "daily peak\noff by",
        "NMBE",
        "CV(RMSE)",
    ]
    .map(str::to_owned);
    let mut rows: Vec<Vec<String>> = Vec::new();
    let days = [
        ("before", &fit.before),
        ("fitted days", &fit.fitted),
        ("days kept out", &fit.kept_out),
    ];
    for (name, compared) in days {
        for one in compared {
            let Quality {
                count,
                bias,
                rmse,
                peak_off,
                peak_spread: _,
                days,
                nmbe,
                cv_rmse,
            } = one.quality();
            let difference = |by: f64| difference(system, one.measure, by);
            let peak = if days > 0 {
                difference(peak_off)
            } else {
                "-".to_owned()
            };
            rows.push(vec![
                format!("{}, {name}", one.name.replace('_', " ")),
                count.to_string(),
                difference(bias),
                difference(rmse),
                peak,
                format!("{:.1} %", 100.0 * nmbe),
                format!("{:.1} %", 100.0 * cv_rmse),
            ]);
        }
    }
    (header.to_vec(), rows)
}

fn quality_table(system: System, fit: &Calibration) -> String {
    let (header, rows) = quality_rows(system, fit);
    let mut text = table(&header, &rows);
    text.push_str(&paragraph(
        "",
        2,
        "NMBE and CV(RMSE) are shares of the mean reading in °C, for those who ask for them; bias and \
         spread say more.",
    ));
    text
}

/// What the readings tell together only, and what they do not tell.
fn told_text(fit: &Calibration) -> String {
    let mut text = heading("What the readings cannot tell");
    let joined: Vec<&Direction> = fit
        .directions
        .iter()
        .filter(|direction| direction.told < 1.0 && direction.parts.len() > 1)
        .collect();
    for direction in &joined {
        text.push_str(&paragraph("  -", 4, &direction_text(direction)));
    }
    let pairs = pairs(fit);
    for (a, b, correlation) in &pairs {
        let words = format!(
            "{a} and {b}: correlation {correlation:+.2}; these readings tell their {} better than \
             either.",
            if *correlation < 0.0 {
                "joint effect"
            } else {
                "difference"
            }
        );
        text.push_str(&paragraph("  -", 4, &words));
    }
    let names: Vec<&str> = fit.held.iter().map(|one| one.prior.name()).collect();
    if !names.is_empty() {
        let words = format!(
            "Held at what was likely, with all their doubt, since the readings say nothing of them: \
             {}.",
            names.join(", ")
        );
        text.push_str(&paragraph("  -", 4, &words));
    }
    if joined.is_empty() && pairs.is_empty() && names.is_empty() {
        text.push_str("  nothing that was asked\n");
    }
    text
}

fn direction_text(direction: &Direction) -> String {
    let mut text = String::new();
    let last = direction.parts.len().saturating_sub(1);
    for (at, (name, _)) in direction.parts.iter().enumerate() {
        let link = match at {
            0 => "",
            at if at == last => " and ",
            _ => ", ",
        };
        let _ = write!(text, "{link}{name}");
    }
    let first = direction.parts.first().map_or(1.0, |part| part.1);
    let alike = direction.parts.iter().all(|part| part.1 * first > 0.0);
    if alike {
        text.push_str(" may all be larger or all be smaller together");
    } else {
        text.push_str(" may move against one another");
    }
    text.push_str(" with next to no trace in these readings; they cannot part them.");
    text
}

/// Pairs with strong correlations.
fn pairs(fit: &Calibration) -> Vec<(&str, &str, f64)> {
    const STRONG: f64 = 0.7;
    let mut pairs = Vec::new();
    for (a, one) in fit.findings.iter().enumerate() {
        for (b, other) in fit.findings.iter().enumerate().skip(a + 1) {
            let correlation = fit.correlations[(a, b)];
            if correlation.abs() > STRONG {
                pairs.push((one.prior.name(), other.prior.name(), correlation));
            }
        }
    }
    pairs
}

/// A fit as JSON, SI.
pub fn calibration_json(house: &str, fit: &Calibration) -> Value {
    let quality = |compared: &[Compared]| -> Value {
        let each = compared.iter().map(|one| {
            let quality = one.quality();
            let of = json!({
                "readings": quality.count, "bias": quality.bias, "rmse": quality.rmse,
                "unit": unit(one.measure), "peak_off": quality.peak_off, "days": quality.days,
                "nmbe": quality.nmbe, "cv_rmse": quality.cv_rmse,
            });
            (one.name.clone(), of)
        });
        Value::Object(each.collect())
    };
    let found: Vec<Value> = fit
        .findings
        .iter()
        .map(|one| {
            json!({
                "name": one.prior.name(), "before": one.prior.value,
                "likely": [one.prior.low, one.prior.high], "source": one.prior.source,
                "value": one.value, "interval_90": one.interval, "pull": one.pull,
                "doubt_left": one.doubt_left,
            })
        })
        .collect();
    let held: Vec<Value> = fit
        .held
        .iter()
        .map(|one| json!({"name": one.prior.name(), "value": one.prior.value, "told": one.told}))
        .collect();
    let correlations: Vec<Vec<f64>> = fit
        .correlations
        .row_iter()
        .map(|row| row.iter().copied().collect())
        .collect();
    let directions: Vec<Value> = fit
        .directions
        .iter()
        .map(|one| json!({"told": one.told, "parts": one.parts}))
        .collect();
    let weights: Vec<Value> = fit
        .weights
        .iter()
        .map(|one| {
            json!({
                "name": one.name, "unit": unit(one.measure), "spread": one.spread, "readings": one.count,
                "effective": one.effective, "daily": one.daily,
            })
        })
        .collect();
    json!({
        "schema": 1, "house": house,
        "quality": {
            "before": quality(&fit.before), "fitted": quality(&fit.fitted),
            "kept_out": quality(&fit.kept_out),
        },
        "found": found, "held": held, "correlations": correlations, "directions": directions,
        "weights": weights, "sums_of_squares": fit.sums, "runs": fit.runs,
    })
}
