//! What a finished change did, in words and as JSON.

use std::fmt::Write as _;

use serde_json::{Value, json};

use crate::study::verify::{Drop, Told, Verified, WEATHER_APART_K};
use crate::units::show::{self, System};

use super::layout::{heading, paragraph, table};
use super::words::percent;

/// What a change did: a table, and a plain sentence for each figure.
pub fn verified_text(
    system: System,
    house: &str,
    change: Option<&str>,
    found: &Verified,
) -> String {
    let change = change.map_or("the change".to_owned(), |name| format!("\"{name}\""));
    let mut text = format!("{house}: what {change} did, at equal weather\n\n");
    text.push_str(&drops_table(system, found));
    text.push('\n');
    for drop in &found.drops {
        let name = drop.column.replace('_', " ");
        for (what, told) in [("daily highs", drop.highs), ("mean", drop.mean)] {
            text.push_str(&paragraph("  -", 4, &sentence(system, &name, what, told)));
        }
        if let Some([expected, _]) = drop.expected
            && let Some(words) = against_expected(system, drop.highs, expected)
        {
            text.push_str(&paragraph("  -", 4, &words));
        }
    }
    text.push_str(&match found.ceiling_kwh_day {
        Some(told) => paragraph("  -", 4, &ceiling_sentence(told, found.measured_share)),
        None => paragraph(
            "  -",
            4,
            "Of the heat through the ceiling nothing can be said: name the design of the house file \
             that describes the change with --change.",
        ),
    });
    text.push_str(&heading("How that was found"));
    let [before, after] = found.days;
    let mut notes = vec![format!(
        "The house as it was is fitted to {before} whole days before and run through the weather of \
         {after} whole days after. What its thermometers would have read then, less what they did \
         read, is the drop; how far the fitted house was off from day to day before, and what is \
         left of doubt about it, make the limits between which nine in ten lie."
    )];
    if found.warmer_k.abs() > WEATHER_APART_K[0] {
        notes.push(format!(
            "The days after were {} {} than those before; the limits are wider for that.",
            show::temperature_difference(system, found.warmer_k.abs()),
            if found.warmer_k > 0.0 {
                "warmer"
            } else {
                "cooler"
            }
        ));
    }
    if !found.rooms_logged {
        notes.push(
            "The rooms were worked out, not logged: if windows or cooling were used otherwise after \
             than before, that is part of the drop. A column \"rooms\" in both logs takes it out."
                .to_owned(),
        );
    }
    notes.push(
        "A logger that hung elsewhere after than before makes a drop of its own. Small shifts of \
         that kind cannot be told from the change."
            .to_owned(),
    );
    for note in notes {
        text.push_str(&paragraph("  -", 4, &note));
    }
    text
}

fn drops_table(system: System, found: &Verified) -> String {
    let header = ["", "lower by", "from", "to", "expected"].map(str::to_owned);
    let row = |drop: &Drop, at: usize, what: &str, told: Told| {
        let of = |by: f64| show::temperature_difference(system, by);
        vec![
            format!("{}, {what}", drop.column.replace('_', " ")),
            of(told.value),
            of(told.interval[0]),
            of(told.interval[1]),
            drop.expected
                .map_or("-".to_owned(), |all| of(all[at].value)),
        ]
    };
    let rows: Vec<Vec<String>> = found
        .drops
        .iter()
        .flat_map(|drop| {
            [
                row(drop, 0, "daily highs", drop.highs),
                row(drop, 1, "mean", drop.mean),
            ]
        })
        .collect();
    table(&header, &rows)
}

fn sentence(system: System, name: &str, what: &str, told: Told) -> String {
    let of = |by: f64| show::temperature_difference(system, by.abs());
    let [low, high] = told.interval;
    if !told.is_sure() {
        return format!(
            "At {name}, no change of the {what} can be told from these readings: they may be {} \
             higher or {} lower.",
            of(low),
            of(high)
        );
    }
    let (way, ends) = if told.value > 0.0 {
        ("lower", [low, high])
    } else {
        ("higher", [high, low])
    };
    format!(
        "At {name}, the {what} are {} {way} than they would be without it, very likely between {} and \
         {}.",
        of(told.value),
        of(ends[0]),
        of(ends[1])
    )
    .replace("the mean are", "the mean is")
    .replace("than they would be", if what == "mean" { "than it would be" } else { "than they would be" })
}

/// What to say where the drop measured and that expected exclude one another.
fn against_expected(system: System, told: Told, expected: Told) -> Option<String> {
    let way = if told.interval[1] < expected.interval[0] {
        "less"
    } else if told.interval[0] > expected.interval[1] {
        "more"
    } else {
        return None;
    };
    Some(format!(
        "That is {way} than the design should do ({}): look whether it was built as it is described, \
         and whether the logger hangs where the house file says.",
        show::temperature_difference(system, expected.value)
    ))
}

fn ceiling_sentence(told: Told, share: Option<f64>) -> String {
    let [low, high] = told.interval;
    let mut text = if told.is_sure() && told.value > 0.0 {
        format!(
            "It keeps {:.1} kWh a day of heat from coming through the ceiling, very likely between \
             {low:.1} and {high:.1}.",
            told.value
        )
    } else {
        format!(
            "Of the heat through the ceiling no change can be told: between {low:.1} and {high:.1} \
             kWh a day less."
        )
    };
    if let Some(share) = share {
        let _ = write!(
            text,
            " Worked out from the design, in proportion to the {} of the expected drop that was \
             measured.",
            percent(share)
        );
    }
    text
}

/// The same as JSON, SI.
pub fn verified_json(house: &str, change: Option<&str>, found: &Verified) -> Value {
    let told = |told: Told| json!({"value": told.value, "interval_90": told.interval, "sure": told.is_sure()});
    let drops: Vec<Value> = found
        .drops
        .iter()
        .map(|drop| {
            json!({
                "name": drop.column,
                "highs_k": told(drop.highs),
                "mean_k": told(drop.mean),
                "expected_highs_k": drop.expected.map(|all| told(all[0])),
                "expected_mean_k": drop.expected.map(|all| told(all[1])),
            })
        })
        .collect();
    json!({
        "schema": 1, "house": house, "change": change, "drops": drops,
        "ceiling_kwh_day": found.ceiling_kwh_day.map(told),
        "measured_share": found.measured_share,
        "days": {"before": found.days[0], "after": found.days[1]},
        "outdoors_warmer_k": found.warmer_k, "rooms_logged": found.rooms_logged,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::calibrate::Calibration;

    fn told(value: f64, interval: [f64; 2]) -> Told {
        Told { value, interval }
    }

    fn found(highs: Told, mean: Told, ceiling: Option<Told>) -> Verified {
        let expected = ceiling.map(|_| [told(6.0, [5.0, 7.0]), told(2.0, [1.5, 2.5])]);
        Verified {
            drops: vec![Drop {
                column: "ridge".to_owned(),
                highs,
                mean,
                expected,
            }],
            ceiling_kwh_day: ceiling,
            measured_share: ceiling.map(|_| 0.9),
            days: [7, 6],
            warmer_k: 4.0,
            rooms_logged: false,
            fit: Calibration {
                findings: Vec::new(),
                held: Vec::new(),
                correlations: nalgebra::DMatrix::zeros(0, 0),
                directions: Vec::new(),
                weights: Vec::new(),
                fitted: Vec::new(),
                kept_out: Vec::new(),
                before: Vec::new(),
                values: Vec::new(),
                covariance: nalgebra::DMatrix::zeros(0, 0),
                sums: Vec::new(),
                runs: 0,
            },
        }
    }

    fn words(text: &str) -> String {
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn what_is_sure_is_said_plainly_and_what_is_not_too() {
        let ceiling = Some(told(3.4, [2.1, 4.7]));
        let sure = found(told(5.0, [4.0, 6.0]), told(-1.0, [-2.0, -0.5]), ceiling);
        let text = verified_text(System::Si, "my house", Some("fans"), &sure);
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
        let text = words(&text);
        for wanted in [
            "my house: what \"fans\" did, at equal weather",
            "At ridge, the daily highs are 5.0 K lower than they would be without it, very likely \
             between 4.0 K and 6.0 K.",
            "At ridge, the mean is 1.0 K higher than it would be without it, very likely between \
             0.5 K and 2.0 K.",
            "It keeps 3.4 kWh a day of heat from coming through the ceiling, very likely between \
             2.1 and 4.7.",
            "The days after were 4.0 K warmer than those before",
            "if windows or cooling were used otherwise",
            "lower than they would be without it, very likely between 4.0 K and 6.0 K.",
        ] {
            assert!(text.contains(wanted), "{wanted}\n{text}");
        }
        assert!(!text.contains("than the design should do"), "{text}");
        let weak = found(told(3.0, [2.0, 4.0]), told(1.0, [0.5, 1.5]), ceiling);
        let weak = words(&verified_text(System::Si, "my house", Some("fans"), &weak));
        assert!(
            weak.contains("That is less than the design should do (6.0 K)"),
            "{weak}"
        );
        let unsure = found(told(0.5, [-1.0, 2.0]), told(0.1, [-0.4, 0.6]), None);
        let text = words(&verified_text(System::Si, "my house", None, &unsure));
        assert!(
            text.contains(
                "no change of the daily highs can be told from these readings: they may be 1.0 K \
                 higher or 2.0 K lower."
            ) && text.contains("with --change"),
            "{text}"
        );
        let json = verified_json("my house", None, &unsure);
        assert_eq!(json["drops"][0]["highs_k"]["sure"], false);
        assert!(json["ceiling_kwh_day"].is_null());
    }
}
