//! What a finished change did, in words.

use std::fmt::Write as _;

use crate::study::verify::{Mimic, OTHER_ROOMS_K, Told, Verified, WEATHER_APART_K};
use crate::units::show::{self, System};

use super::super::clock::clock_words;
use super::super::layout::{heading, paragraph, table, unbroken};
use super::super::words::percent;
use super::{OTHERS_DECIDE, named};

/// Header and rows of a table.
type Rows = (Vec<String>, Vec<Vec<String>>);

/// What a change did: a table, and a plain sentence for each figure.
pub fn verified_text(
    system: System,
    house: &str,
    change: Option<&str>,
    found: &Verified,
) -> String {
    let mut text = format!("{house}: what {} did, at equal weather\n\n", named(change));
    let (header, rows) = drops_rows(system, found);
    text.push_str(&table(&header, &rows));
    text.push('\n');
    let points = Points::of(system, found);
    let list = |points: &[String]| -> String {
        let each = points.iter().map(|words| paragraph("  -", 4, words));
        each.collect()
    };
    text.push_str(&list(&points.highs_and_means));
    text.push_str(&list(std::slice::from_ref(&points.ceiling)));
    for (title, points) in [
        ("Look at this first", &points.doubts),
        ("What else could look like that change", &points.mimics),
        ("How that was found", &points.notes),
    ] {
        if !points.is_empty() {
            text.push_str(&heading(title));
            text.push_str(&list(points));
        }
    }
    text.push('\n');
    text.push_str(&paragraph("", 0, OTHERS_DECIDE));
    text
}

/// What is told of a change, point by point.
pub(super) struct Points {
    /// What happened at each thermometer, the daily highs of the first one first.
    pub(super) highs_and_means: Vec<String>,
    /// Heat through the ceiling.
    pub(super) ceiling: String,
    /// What the readings themselves say against it.
    pub(super) doubts: Vec<String>,
    /// What else could make such a drop.
    pub(super) mimics: Vec<String>,
    /// How it was found.
    pub(super) notes: Vec<String>,
}

impl Points {
    pub(super) fn of(system: System, found: &Verified) -> Self {
        let mut highs_and_means = Vec::new();
        for drop in &found.drops {
            let name = drop.column.replace('_', " ");
            for (what, told) in [("daily highs", drop.highs), ("mean", drop.mean)] {
                highs_and_means.push(sentence(system, &name, what, told));
            }
            if let Some([expected, _]) = drop.expected {
                highs_and_means.extend(against_expected(system, &name, drop.highs, expected));
            }
        }
        Self {
            highs_and_means,
            ceiling: found.ceiling_kwh_day.map_or_else(
                || {
                    "Of the heat through the ceiling nothing can be said: name the design of the \
                     house file that describes the change with --change."
                        .to_owned()
                },
                |told| ceiling_sentence(told, found.measured_share),
            ),
            doubts: doubts(system, found),
            mimics: mimics(system, found),
            notes: notes(system, found),
        }
    }
}

/// How it was found.
fn notes(system: System, found: &Verified) -> Vec<String> {
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
    notes
}

/// What the readings themselves say against the drop.
pub(super) fn doubts(system: System, found: &Verified) -> Vec<String> {
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

/// The figures as a table.
pub(super) fn drops_rows(system: System, found: &Verified) -> Rows {
    let header = ["", "lower by", "from", "to"].map(str::to_owned);
    let row = |name: String, told: Told| {
        let of = |by: f64| show::temperature_difference(system, by);
        let [low, high] = told.interval.map(of);
        vec![name, of(told.value), low, high]
    };
    let mut rows = Vec::new();
    for drop in &found.drops {
        let both = [("daily highs", drop.highs), ("mean", drop.mean)];
        for (at, (what, told)) in both.into_iter().enumerate() {
            let name = drop.column.replace('_', " ");
            rows.push(row(format!("{name}, {what}"), told));
            let expected = drop.expected.map(|all| all[at]);
            rows.extend(expected.map(|told| row(unbroken("  expected"), told)));
        }
    }
    (header.to_vec(), rows)
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
fn against_expected(system: System, name: &str, told: Told, expected: Told) -> Option<String> {
    let way = if told.interval[1] < expected.interval[0] {
        "less"
    } else if told.interval[0] > expected.interval[1] {
        "more"
    } else {
        return None;
    };
    Some(format!(
        "At {name}, that is {way} than is expected of the design ({}): look whether it was built as it is described, \
         and whether the logger hangs, and is shielded from the hot surfaces, as the house file says.",
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

#[cfg(test)]
mod tests {
    use super::super::json::verified_json;
    use super::*;
    use crate::study::calibrate::Calibration;
    use crate::study::verify::{ByDay, Doubt, Drop, Shape, Without};

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
                days: ByDay::default(),
                without: Without::default(),
            }],
            ceiling_kwh_day: ceiling,
            ceiling_expected_kwh_day: ceiling,
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
        assert!(!text.contains("than is expected of the design"), "{text}");
        let weak = found(told(3.0, [2.0, 4.0]), told(1.0, [0.5, 1.5]), ceiling);
        let weak = words(&verified_text(System::Si, "my house", Some("fans"), &weak));
        assert!(
            weak.contains("At ridge, that is less than is expected of the design (6.0 K)"),
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
