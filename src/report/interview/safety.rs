//! Flames in the house, and thermometers.

use crate::units::Dimension;

use super::phrase::{self, Item, Words, Wrong, both, once, whole, within};
use super::question::Question;
use super::writing::Page;

/// A thermometer.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Logger {
    count: Option<u32>,
    height: Option<String>,
    shielded: Option<bool>,
    living: bool,
}

pub(super) const FLAMES: Question = Question::at(
    "flames",
    "flames",
    "Does anything burn gas, oil or wood in the house, the attic or the garage and send its fumes up \
     a plain flue: a water heater, a furnace, a stove?",
    "yes or no",
    |typed, answers| {
        let word = phrase::choice(typed, &[("yes", ""), ("no", "")], FLAME_WORDS)?;
        answers.flames = Some(word == "yes");
        Ok(word.to_owned())
    },
)
.else_taken("not known: look before any fan goes in");

const FLAME_WORDS: &Words = &[
    (
        "yes",
        &[
            "gas",
            "water heater",
            "gas water heater",
            "furnace",
            "gas furnace",
            "yes gas",
            "dryer",
            "range",
            "stove",
            "wood stove",
            "boiler",
            "fireplace",
            "oil",
        ],
    ),
    (
        "",
        &[
            "garage", "attic", "basement", "kitchen", "house", "pilot", "burns",
        ],
    ),
    ("no", &["none", "nothing", "all electric", "electric"]),
];

/// What an owner with flames is told.
pub(super) const FUMES: &str = "Fans in the attic can pull fumes down a plain flue. Keep a carbon \
    monoxide alarm, and have the draught tested with all fans running before you trust them.";

pub(super) const LOGGERS: Question = Question::at(
    "thermometers",
    "loggers",
    "Have you thermometers in the attic? How high above the attic floor does each hang, and is it \
     bare, or shielded by foil or a white cup? Middle of the attic, away from fans, not touching \
     wood. One in the rooms may be told too.",
    "\"4 ft bare\", \"6 ft shielded, 1 ft bare, rooms 5 ft\" or \"none\"",
    read,
)
.drawn(
    r"
               /\
             /    \
           /   o    \      o the thermometer
         /     |      \    | its height above the attic floor
       /_______|________\",
)
.else_taken("not known: one in the attic is taken, of unknown height");

const WORDS: &Words = &[
    ("none", &["no", "nothing"]),
    ("bare", &["unshielded", "no shield"]),
    ("shielded", &["shield", "foil", "white cup", "cup"]),
    (
        "living",
        &[
            "rooms",
            "room",
            "hall",
            "hallway",
            "bedroom",
            "living room",
            "indoors",
        ],
    ),
    (
        "",
        &[
            "thermometer",
            "logger",
            "sensor",
            "attic",
            "above",
            "floor",
            "above the floor",
            "above floor",
            "yes",
            "hangs",
            "hanging",
            "ridge",
            "middle",
            "low",
            "near",
            "up",
        ],
    ),
];

fn read(typed: &str, answers: &mut super::Answers) -> Result<String, Wrong> {
    let mut loggers: Vec<Logger> = Vec::new();
    let mut none = false;
    for piece in phrase::pieces(typed) {
        let items = phrase::items(&piece.text, WORDS, &[Dimension::Length])?;
        if items.contains(&Item::Word("none")) || items == [Item::Number(0.0)] {
            none = true;
            continue;
        }
        if items.is_empty() {
            continue;
        }
        if let [Item::Number(_)] = items.as_slice() {
            return Err("how high above the attic floor does it hang?".into());
        }
        // "Bare" after a comma belongs to what stands before it.
        let anew = items.iter().any(|item| {
            matches!(
                item,
                Item::Quantity(..) | Item::Number(_) | Item::Word("living")
            )
        });
        if loggers.is_empty() || anew {
            loggers.push(Logger::default());
        }
        let Some(logger) = loggers.last_mut() else {
            continue;
        };
        for item in items {
            match item {
                Item::Quantity(_, text) => {
                    let text = within(&text, Dimension::Length, [0.0, 10.0])?;
                    once(&mut logger.height, text, "the height")?;
                }
                Item::Number(number) => {
                    let count = whole(number, [1, 4])
                        .map_err(|_| format!("{number} has no unit: ft, in or m?"))?;
                    once(&mut logger.count, count, "the number")?;
                }
                Item::Word("bare") => logger.shielded = Some(false),
                Item::Word("shielded") => logger.shielded = Some(true),
                Item::Word("living") => logger.living = true,
                _ => {}
            }
        }
    }
    if none != loggers.is_empty() {
        return Err("a height above the floor is needed, or none".into());
    }
    let echo: Vec<String> = loggers.iter().map(Logger::said).collect();
    answers.loggers = Some(loggers);
    Ok(if none {
        "none".to_owned()
    } else {
        echo.join("; ")
    })
}

impl Logger {
    fn said(&self) -> String {
        let height = match &self.height {
            Some(height) => both(height, Dimension::Length),
            None => "unknown height".to_owned(),
        };
        let shield = match self.shielded {
            Some(true) => "shielded",
            Some(false) => "bare",
            None => "bare or shielded not known",
        };
        let place = if self.living {
            "in the rooms"
        } else {
            "in the attic"
        };
        let count = self.count.unwrap_or(1);
        format!("{count} {place} at {height}, {shield}")
    }
}

pub(super) fn write(page: &mut Page<'_>) {
    page.gap();
    page.asked("flames");
    if page.answers.flames == Some(true) {
        page.remark(
            "So before fans run: a carbon monoxide alarm, and a test of the draught with all of \
             them on.",
        );
    }
    page.gap();
    page.asked("loggers");
    let unknown = vec![Logger::default()];
    let mut counts = [0, 0];
    for logger in page.answers.loggers.clone().unwrap_or(unknown) {
        for _ in 0..logger.count.unwrap_or(1) {
            let zone = if logger.living { "living" } else { "attic" };
            let count = &mut counts[usize::from(logger.living)];
            *count += 1;
            let name = match count {
                1 => zone.to_owned(),
                count => format!("{zone} {count}"),
            };
            page.named("sensors", &name);
            page.pair("zone", zone);
            page.maybe("height", logger.height.as_deref());
            match logger.shielded {
                Some(true) => page.bare("shielding", "0.8"),
                Some(false) => page.bare("shielding", "0"),
                None => page.maybe("shielding", None),
            }
        }
    }
}
