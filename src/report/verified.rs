//! What a finished change did, in words and as JSON.

use std::fmt::Write as _;

use serde_json::{Value, json};

use crate::study::verify::{Drop, Mimic, OTHER_ROOMS_K, Told, Verified, WEATHER_APART_K};
use crate::units::show::{self, System};

use super::clock::{clock_json, clock_words};
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
    let doubts = doubts(system, found);
    if !doubts.is_empty() {
        text.push_str(&heading("Look at this first"));
        for words in &doubts {
            text.push_str(&paragraph("  -", 4, words));
        }
    }
    let mimics = mimics(system, found);
    if !mimics.is_empty() {
        text.push_str(&heading("What could look like that change, and is not"));
        for words in &mimics {
            text.push_str(&paragraph("  -", 4, words));
        }
    }
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
    for note in notes {
        text.push_str(&paragraph("  -", 4, &note));
    }
    text
}

/// What the readings themselves say against the drop.
fn doubts(system: System, found: &Verified) -> Vec<String> {
    let of = |by: f64| show::temperature_difference(system, by.abs());
    let mut all: Vec<String> = found
        .clocks
        .iter()
        .map(|clock| clock_words(system, clock))
        .collect();
    for drop in &found.drops {
        if let Some(shape) = &drop.shape {
            let way = |k: f64| if k < 0.0 { "higher" } else { "lower" };
            let [from_h, to_h] = shape.hours;
            all.push(format!(
                "At {}, the drop does not take the course of the day that the change would give it: \
                 from {from_h}:00 to {to_h}:00 it is {} {}, where the change would make it {} {}. \
                 Something else has acted, such as a logger that hangs elsewhere than before.",
                drop.column.replace('_', " "),
                of(shape.measured_k),
                way(shape.measured_k),
                of(shape.expected_k),
                way(shape.expected_k)
            ));
        }
    }
    for mimic in &found.mimics {
        if let Mimic::LoggerElsewhere {
            column,
            likely_share: Some(share),
            ..
        } = mimic
        {
            all.push(format!(
                "At {}, the drop takes just the course of the day that a logger would give it that \
                 was hung {} of the way to the attic floor: nothing in these readings tells the two \
                 apart. Name the design that describes the change with --change, so that its course \
                 can be held against the drop.",
                column.replace('_', " "),
                percent(share.min(1.0))
            ));
        }
    }
    for rooms in &found.rooms_otherwise {
        let mut words = format!(
            "At {}, the small hours are {} {} than the change makes them: windows or cooling were \
             used otherwise after than before.",
            rooms.column.replace('_', " "),
            of(rooms.by.value),
            if rooms.by.value > 0.0 {
                "lower"
            } else {
                "higher"
            },
        );
        for (column, highs_k) in &rooms.highs_k {
            let _ = write!(
                words,
                " That makes about {} of the drop of the daily highs at {}.",
                show::temperature_difference(system, *highs_k),
                column.replace('_', " ")
            );
        }
        words.push_str(
            " Name that column \"rooms\" for both logs, so that the rooms follow it, and run this \
             again.",
        );
        all.push(words);
    }
    all
}

/// What else could make such a drop, by how much, and what to log to leave it out.
fn mimics(system: System, found: &Verified) -> Vec<String> {
    let of = |by: f64| show::temperature_difference(system, by.abs());
    let way = |k: f64| if k < 0.0 { "higher" } else { "lower" };
    let all = found.mimics.iter().map(|mimic| match mimic {
        Mimic::LoggerElsewhere {
            column,
            at_floor_k,
            at_ridge_k,
            ..
        } => format!(
            "A logger that hung elsewhere after than before. If {} hung just above the attic floor \
             after, that alone would make its daily highs {} {}; just below the ridge, {} {}. Only a \
             logger left where it was, or a second one at another height in both logs, leaves that \
             out.",
            column.replace('_', " "),
            of(*at_floor_k),
            way(*at_floor_k),
            of(*at_ridge_k),
            way(*at_ridge_k)
        ),
        Mimic::CoolerRooms {
            column,
            highs_k,
            mean_k,
        } => format!(
            "Windows or cooling used otherwise. Rooms that are {} cooler after than before would make \
             the daily highs at {} {} {} and the mean {} {}. A column \"rooms\" in both logs takes \
             that out.",
            of(OTHER_ROOMS_K),
            column.replace('_', " "),
            of(*highs_k),
            way(*highs_k),
            of(*mean_k),
            way(*mean_k)
        ),
    });
    all.collect()
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
                "deviations_k": {
                    "days": drop.doubt.days_k, "house": drop.doubt.house_k,
                    "weather": drop.doubt.weather_k,
                },
                "other_course": drop.shape.map(|shape| json!({
                    "from_h": shape.hours[0], "to_h": shape.hours[1],
                    "measured_k": shape.measured_k, "expected_k": shape.expected_k,
                })),
            })
        })
        .collect();
    json!({
        "schema": 1, "house": house, "change": change, "drops": drops,
        "ceiling_kwh_day": found.ceiling_kwh_day.map(told),
        "measured_share": found.measured_share,
        "days": {"before": found.days[0], "after": found.days[1]},
        "outdoors_warmer_k": found.warmer_k, "rooms_logged": found.rooms_logged,
        "clocks": found.clocks.iter().map(clock_json).collect::<Vec<_>>(),
        "cautions": doubts(System::Si, found),
        "could_look_alike": found.mimics.iter().map(mimic_json).collect::<Vec<_>>(),
    })
}

fn mimic_json(mimic: &Mimic) -> Value {
    match mimic {
        Mimic::LoggerElsewhere {
            column,
            likely_share,
            at_floor_k,
            at_ridge_k,
        } => json!({
            "what": "logger_elsewhere", "name": column, "highs_at_floor_k": at_floor_k,
            "highs_at_ridge_k": at_ridge_k, "likely_share": likely_share,
        }),
        Mimic::CoolerRooms {
            column,
            highs_k,
            mean_k,
        } => json!({
            "what": "cooler_rooms", "name": column, "rooms_k": OTHER_ROOMS_K, "highs_k": highs_k,
            "mean_k": mean_k,
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::calibrate::Calibration;
    use crate::study::verify::{Doubt, Shape};

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
                doubt: Doubt::default(),
                shape: None,
            }],
            ceiling_kwh_day: ceiling,
            measured_share: ceiling.map(|_| 0.9),
            days: [7, 6],
            warmer_k: 4.0,
            rooms_logged: false,
            clocks: Vec::new(),
            rooms_otherwise: Vec::new(),
            mimics: vec![
                Mimic::LoggerElsewhere {
                    column: "ridge".to_owned(),
                    likely_share: None,
                    at_floor_k: 6.2,
                    at_ridge_k: -1.1,
                },
                Mimic::CoolerRooms {
                    column: "ridge".to_owned(),
                    highs_k: 0.3,
                    mean_k: 0.5,
                },
            ],
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
                daily: Vec::new(),
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
            "hung just above the attic floor after, that alone would make its daily highs 6.2 K \
             lower; just below the ridge, 1.1 K higher.",
            "Rooms that are 3.0 K cooler after than before would make the daily highs at ridge 0.3 K \
             lower and the mean 0.5 K lower. A column \"rooms\" in both logs takes that out.",
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
        let mut other = found(told(3.0, [2.0, 4.0]), told(1.0, [0.5, 1.5]), ceiling);
        assert!(!weak.contains("Look at this first"));
        other.drops[0].shape = Some(Shape {
            hours: [9, 12],
            measured_k: 4.0,
            expected_k: 0.5,
        });
        let other = words(&verified_text(System::Si, "my house", Some("fans"), &other));
        assert!(
            other.contains(
                "Look at this first - At ridge, the drop does not take the course of the day that \
                 the change would give it: from 9:00 to 12:00 it is 4.0 K lower, where the change \
                 would make it 0.5 K lower."
            ),
            "{other}"
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
