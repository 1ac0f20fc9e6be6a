//! Where the house stands, what stands around it, and a hot day there.

use crate::units::{Dimension, kelvin, parse};
use crate::weather::MadeWeek;

use super::phrase::{self, Item, Words, Wrong, both, within};
use super::question::Question;
use super::writing::Page;
use super::{Answers, around};

/// Where the house stands.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Place {
    latitude_deg: Option<f64>,
    longitude_deg: Option<f64>,
    around: Option<&'static str>,
}

impl Place {
    /// Whether houses and trees, or tall buildings, stand close on most sides.
    pub(super) fn is_closed_in(&self) -> bool {
        matches!(self.around, Some("closed-in" | "city"))
    }
}

pub(super) const PLACE: Question = Question::at(
    "where the house stands",
    "place",
    "Where is the house, and what stands around it? A map on a phone shows two numbers when you \
     hold a finger on the house; they are for the sun's path, so those of the nearest town will \
     do, but not its name. What stands around decides how much wind reaches the roof.",
    "\"38.1 N 121.6 W, suburban\", \"38.1, -121.6\" or \"open fields\"",
    read_place,
)
.choosing(&[
    ("open", "fields, water or a wide view on most sides"),
    ("suburban", "houses and trees at some distance"),
    ("closed-in", "houses and trees close by on most sides"),
    ("city", "tall buildings around"),
])
.else_taken("not known: the place of the weather file is taken, and usual surroundings");

pub(super) const HOT_DAY: Question = Question::at(
    "a hot day there",
    "hot_day",
    "On a hot day of your summer, what are the day's high and low? A week of weather is made from \
     them; left open, a measured month of California stands in.",
    "\"97 F / 64 F\" or \"36 C / 18 C\"",
    |typed, answers| {
        let [high, low] = read_high_low(typed)?;
        let say = |text: &str| both(text, Dimension::Temperature);
        let echo = format!("high {}, low {}", say(&high), say(&low));
        answers.hot_day = Some([high, low]);
        Ok(echo)
    },
)
.else_taken("not known: a measured month of California is taken");

const AROUND: &Words = &[
    (
        "open",
        &[
            "open fields",
            "open country",
            "open land",
            "exposed",
            "field",
            "fields",
            "farmland",
            "prairie",
            "water",
            "lake",
            "desert",
        ],
    ),
    (
        "suburban",
        &[
            "suburb",
            "suburbs",
            "some trees",
            "a few trees",
            "some houses",
            "a few houses",
            "trees",
            "houses",
            "neighbours",
            "neighbors",
            "village",
            "street",
        ],
    ),
    (
        "closed-in",
        &[
            "closed",
            "close by",
            "close",
            "trees all round",
            "trees all around",
            "surrounded",
            "dense",
            "woods",
            "forest",
            "sheltered",
        ],
    ),
    (
        "city",
        &["downtown", "town centre", "tall buildings", "high rises"],
    ),
    // Numbers in letters are of trees and houses.
    (
        "",
        &[
            "one", "two", "three", "four", "five", "big", "tall", "left", "right", "front",
        ],
    ),
    ("N", &["n", "north", "lat", "latitude"]),
    ("S", &["s", "south"]),
    ("E", &["e", "east", "lon", "long", "longitude"]),
    ("W", &["w", "west"]),
];

fn read_place(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut place = Place::default();
    let mut numbers: Vec<f64> = Vec::new();
    let mut words: Vec<&'static str> = Vec::new();
    let mut spaced = String::new();
    for c in typed.chars() {
        if c.is_alphabetic() && spaced.ends_with(|c: char| c.is_ascii_digit()) {
            spaced.push(' ');
        }
        spaced.push(if matches!(c, '°' | ',' | ';') {
            ' '
        } else {
            c
        });
    }
    for item in phrase::items(&spaced, AROUND, &[])? {
        match item {
            Item::Number(number) => numbers.push(number),
            Item::Word(side @ ("N" | "S" | "E" | "W")) => {
                let last = numbers.last_mut();
                let last = last.ok_or("the number goes before the letter")?;
                if matches!(side, "S" | "W") {
                    *last = -last.abs();
                }
            }
            Item::Word(word) => words.push(word),
            _ => return Err("numbers of degrees and a word are needed".into()),
        }
    }
    if let Some((latitude, rest)) = numbers.split_first() {
        if !(-66.0..=66.0).contains(latitude) {
            return Err("the first number, the latitude, is from -66 to 66".into());
        }
        place.latitude_deg = Some(*latitude);
        place.longitude_deg = rest.first().copied();
        if rest.len() > 1 || rest.iter().any(|deg| !(-180.0..=180.0).contains(deg)) {
            return Err("the second number, the longitude, is from -180 to 180".into());
        }
    }
    // "Trees" says less than "trees close by".
    if words.iter().any(|word| *word != "suburban") {
        words.retain(|word| *word != "suburban");
    }
    words.dedup();
    if words.len() > 1 {
        return Err("one word for what stands around is needed".into());
    }
    place.around = words.first().copied();
    if place == Place::default() {
        return Err("two numbers of degrees or a word are needed".into());
    }
    let mut echo: Vec<String> = [
        (place.latitude_deg, ["N", "S"]),
        (place.longitude_deg, ["E", "W"]),
    ]
    .iter()
    .filter_map(|(value, letters)| value.map(|value| degrees(value, *letters)))
    .collect();
    echo.push(place.around.unwrap_or("surroundings not known").to_owned());
    answers.place = Some(place);
    Ok(echo.join(", "))
}

fn degrees(value: f64, [plus, minus]: [&str; 2]) -> String {
    let letter = if value < 0.0 { minus } else { plus };
    format!("{} {letter}", value.abs())
}

/// A day's high and low, such as a forecast gives them: the texts of both.
///
/// # Errors
/// What is wrong, in a few words.
pub fn read_high_low(typed: &str) -> Result<[String; 2], String> {
    let separators = ["/", " and ", ",", " to ", " - "];
    let found = separators.iter().find_map(|mark| typed.split_once(mark));
    let (high, low) = found.ok_or("two temperatures are needed")?;
    let clean = |text: &str| {
        let text = text.trim().to_lowercase();
        let text = text.trim_start_matches("high").trim_start_matches("low");
        text.trim().to_uppercase()
    };
    let (mut high, low) = (clean(high), clean(low));
    if high.parse::<f64>().is_ok() {
        let unit = low.trim_start_matches(|c: char| !c.is_alphabetic() && c != '°');
        high = format!("{high} {unit}");
    }
    let mut values = [0.0; 2];
    for (value, text) in values.iter_mut().zip([&high, &low]) {
        *value = parse(text, Dimension::Temperature).map_err(|_| {
            let start: String = text.to_lowercase().chars().take(30).collect();
            format!("\"{start}\" is no temperature with its unit")
        })?;
        within(text, Dimension::Temperature, [-40.0, 58.0])?;
    }
    if values[0] <= values[1] {
        return Err("the high comes first and is above the low".to_owned());
    }
    Ok([high, low])
}

/// Weather made from the day that was described, if one was.
pub(super) fn week(answers: &Answers) -> Option<MadeWeek> {
    let day = answers.hot_day.as_ref()?;
    let temp_k = |text: &str| parse(text, Dimension::Temperature).ok().map(kelvin);
    let (high_k, low_k) = (temp_k(&day[0])?, temp_k(&day[1])?);
    let mut week = MadeWeek::default();
    let place = answers.place.as_ref();
    if let Some(latitude_deg) = place.and_then(|place| place.latitude_deg) {
        week.place.latitude_deg = latitude_deg;
        if latitude_deg < 0.0 {
            week.first_day = jiff::civil::Date::constant(2026, 1, 10);
        }
    }
    if let Some(longitude_deg) = place.and_then(|place| place.longitude_deg) {
        week.place.longitude_deg = longitude_deg;
        week.place.utc_offset_h = (longitude_deg / 15.0).round();
    }
    week.high_k = high_k;
    week.low_k = low_k;
    // Never above the night's air, or every night would be fog.
    week.dew_point_k = week.dew_point_k.min(low_k - 2.0);
    Some(week)
}

pub(super) fn write(page: &mut Page<'_>) {
    page.table("site");
    page.asked("place");
    let place = page.answers.place.clone().unwrap_or_default();
    if let Some(latitude) = place.latitude_deg {
        page.pair("latitude", &degrees(latitude, ["N", "S"]));
    }
    if let Some(longitude) = place.longitude_deg {
        page.pair("longitude", &degrees(longitude, ["E", "W"]));
    }
    let (terrain, shelter) = match place.around {
        Some("open") => (Some("open"), Some(around::OPEN)),
        Some("closed-in") => (Some("suburban"), Some(around::CLOSED_IN)),
        Some("city") => (Some("city"), None),
        Some(_) => (Some("suburban"), None),
        None => (None, None),
    };
    let shelter = shelter.or_else(|| around::all_alike(page.answers));
    page.maybe("terrain", terrain);
    page.maybe("shelter", shelter);
    around::write(page, shelter);
    page.asked("hot_day");
}
