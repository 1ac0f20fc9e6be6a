//! Answers as people type them.

use crate::catalog::{self, COVERINGS, nearest};
use crate::units::show::{self, System};
use crate::units::{Dimension, parse};

use super::questions::{Question, Takes};
use super::{Answer, Answers};

/// Words for not knowing.
const UNKNOWN: &[&str] = &[
    "",
    "?",
    "don't know",
    "dont know",
    "do not know",
    "don’t know",
    "unknown",
    "no idea",
    "not sure",
    "idk",
];

/// Reads an answer to a question; an error says what is wrong, in a few words.
pub(super) fn read(question: &Question, typed: &str, before: &Answers) -> Result<Answer, String> {
    let typed = typed.trim();
    let low = typed.to_lowercase();
    if UNKNOWN.contains(&low.as_str()) {
        return Ok(Answer::Unknown);
    }
    match question.takes {
        Takes::Words => words(typed),
        Takes::Choice(choices) => choice(&low, choices).map(Answer::Word),
        Takes::Choices(choices) => several(&low, choices),
        Takes::Colour => colour(&low, before),
        Takes::Quantity(dimension, least, most, word) => match word {
            Some(word) if low == word || (word == "none" && low == "no") => Ok(Answer::Word(word)),
            _ => quantity(typed, dimension, [least, most]).map(Answer::Texts),
        },
        Takes::Lengths => {
            let [first, second] = two(typed, &[" x ", "x", "×", " by ", ","])?;
            let first = with_unit(&first, &second);
            let length = quantity(&first, Dimension::Length, [2.0, 100.0])?;
            let width = quantity(&second, Dimension::Length, [2.0, 60.0])?;
            Ok(Answer::Texts([length, width].concat()))
        }
        Takes::Storeys => {
            let [count, height] = two(typed, &[" x ", "x", "×", " of ", ","])?;
            let count = whole(&count, 4).filter(|count| *count > 0);
            let count = count.ok_or("a house has 1 to 4 storeys")?;
            let height = quantity(&height, Dimension::Length, [1.8, 6.0])?;
            Ok(Answer::Texts([vec![count.to_string()], height].concat()))
        }
        Takes::Place => place(typed),
        Takes::HighLow => high_low(typed),
        Takes::Line => line(&low),
        Takes::Direction => direction(&low).map(|text| Answer::Texts(vec![text])),
        Takes::Vents => vents(typed),
        Takes::Insulation => insulation(typed, &low),
        Takes::Count(most) => {
            let low = if low == "none" { "0" } else { low.as_str() };
            let count = whole(low, most);
            let count =
                count.ok_or_else(|| format!("a whole number from 0 to {most} is needed"))?;
            Ok(Answer::Texts(vec![count.to_string()]))
        }
        Takes::Windows => windows(&low),
    }
}

/// An answer said back, quantities in both systems of units.
pub(super) fn echo(question: &Question, answer: &Answer) -> String {
    let text = |at: usize| answer.text(at).unwrap_or_default();
    let pair = |at: usize, dimension| both(text(at), dimension);
    match (answer, question.takes) {
        (Answer::Unknown, _) => question.unknown.to_owned(),
        (Answer::Word(word), _) => (*word).to_owned(),
        (Answer::Texts(_), Takes::Quantity(dimension, ..)) => pair(0, dimension),
        (Answer::Texts(_), Takes::Lengths) => format!(
            "{} along the ridge, {} across it",
            pair(0, Dimension::Length),
            pair(1, Dimension::Length)
        ),
        (Answer::Texts(_), Takes::Storeys) => {
            format!("{} of {}", text(0), pair(1, Dimension::Length))
        }
        (Answer::Texts(_), Takes::HighLow) => format!(
            "high {}, low {}",
            pair(0, Dimension::Temperature),
            pair(1, Dimension::Temperature)
        ),
        (Answer::Texts(_), Takes::Vents) => {
            let size = match text(1) {
                "area" => format!("{} free", pair(2, Dimension::Area)),
                "round" => format!("{} round", pair(2, Dimension::Length)),
                _ => format!(
                    "{} x {}",
                    pair(2, Dimension::Length),
                    pair(3, Dimension::Length)
                ),
            };
            format!("{} of {size}", text(0))
        }
        (Answer::Texts(_), Takes::Insulation) => match text(0) {
            "R" => pair(1, Dimension::ThermalResistance),
            _ => pair(1, Dimension::Length),
        },
        (Answer::Texts(texts), Takes::Windows) => {
            let sides: Vec<String> = texts
                .chunks(2)
                .filter_map(|side| match side {
                    [faces, area] => Some(format!("{faces} {}", both(area, Dimension::Area))),
                    _ => None,
                })
                .collect();
            sides.join(", ")
        }
        (Answer::Texts(texts), _) => texts.join(", "),
    }
}

fn words(typed: &str) -> Result<Answer, String> {
    let plain: String = typed.chars().filter(|c| !c.is_control()).collect();
    if plain.chars().count() > 60 {
        return Err("that is longer than 60 letters".to_owned());
    }
    Ok(Answer::Texts(vec![plain]))
}

fn choice(
    low: &str,
    choices: &'static [(&'static str, &'static str)],
) -> Result<&'static str, String> {
    let plain = low.trim().replace([' ', '_'], "-");
    let number: Option<usize> = plain.trim_end_matches(['.', ')']).parse().ok();
    if let Some((word, _)) = number
        .and_then(|number| number.checked_sub(1))
        .and_then(|at| choices.get(at))
    {
        return Ok(word);
    }
    let begins: Vec<&'static str> = choices
        .iter()
        .map(|(word, _)| *word)
        .filter(|word| word.starts_with(&plain))
        .collect();
    if let Some((word, _)) = choices.iter().find(|(word, _)| *word == plain) {
        return Ok(word);
    }
    if let [word] = begins.as_slice() {
        return Ok(word);
    }
    let near = nearest(&plain, choices.iter().map(|(word, _)| *word));
    Err(near.map_or_else(
        || "that is none of them".to_owned(),
        |near| format!("that is none of them; did you mean {near}?"),
    ))
}

fn several(low: &str, choices: &'static [(&'static str, &'static str)]) -> Result<Answer, String> {
    let mut found: Vec<String> = Vec::new();
    for part in low
        .split([',', ';', '+', '&'])
        .flat_map(|part| part.split(" and "))
    {
        let parts: Vec<&str> = part.split_whitespace().collect();
        for part in parts {
            let word = choice(part, choices)?.to_owned();
            if !found.contains(&word) {
                found.push(word);
            }
        }
    }
    if found.is_empty() {
        return Err("that is none of them".to_owned());
    }
    if found.len() > 1 && found.iter().any(|word| word == "none") {
        return Err("none does not go with others".to_owned());
    }
    Ok(Answer::Texts(found))
}

/// The colours that the answered covering comes in.
pub(super) fn colours(answers: &Answers) -> Vec<&'static str> {
    answers
        .word("covering")
        .and_then(|name| catalog::find(COVERINGS, name))
        .map(|row| catalog::colours_of(row.surface).collect())
        .unwrap_or_default()
}

fn colour(low: &str, before: &Answers) -> Result<Answer, String> {
    let known = colours(before);
    let plain = low.replace([' ', '_'], "-");
    if let Some(at) = plain.parse::<usize>().ok().and_then(|n| n.checked_sub(1))
        && let Some(word) = known.get(at)
    {
        return Ok(Answer::Word(word));
    }
    if let Some(word) = known.iter().find(|word| **word == plain) {
        return Ok(Answer::Word(word));
    }
    let near = nearest(&plain, known.iter().copied());
    Err(near.map_or_else(
        || "that covering has no such colour here".to_owned(),
        |near| format!("that covering has no such colour here; did you mean {near}?"),
    ))
}

/// A quantity in its range: the text, if it is one.
fn quantity(
    typed: &str,
    dimension: Dimension,
    [least, most]: [f64; 2],
) -> Result<Vec<String>, String> {
    let typed = typed.trim();
    let value = parse(typed, dimension).map_err(|error| {
        let reason = error.reason.to_string();
        let reason = reason.trim_start_matches([',', ':', ';', ' ']);
        let reason = reason.trim_start_matches("which ");
        if reason.is_empty() {
            format!("that is not {}", dimension.expected())
        } else {
            format!("{} is needed; this {reason}", dimension.expected())
        }
    })?;
    let room = 1e-9 * (most - least);
    if value < least - room || value > most + room {
        return Err(format!(
            "that is out of range: from {} to {}",
            shown(least, dimension),
            shown(most, dimension)
        ));
    }
    Ok(vec![typed.to_owned()])
}

/// A text of a quantity with its value in both systems.
fn both(text: &str, dimension: Dimension) -> String {
    parse(text, dimension).map_or_else(|_| text.to_owned(), |value| shown(value, dimension))
}

fn shown(value: f64, dimension: Dimension) -> String {
    use Dimension as D;
    let pair = |of: fn(System, f64) -> String| {
        format!("{} ({})", of(System::Us, value), of(System::Si, value))
    };
    match dimension {
        D::Length => pair(show::length),
        D::Area => pair(show::area),
        D::Temperature => pair(show::temperature),
        D::AirFlow => pair(show::air_flow),
        D::ThermalResistance => pair(show::resistance),
        D::Power if value >= 500.0 => pair(show::heat_flow),
        D::Power => show::power(value),
        D::Slope => format!("{:.1}:12 ({:.1}°)", value.tan() * 12.0, value.to_degrees()),
        _ => format!("{value}"),
    }
}

/// Two parts of a text, at the first of some separators that is there.
fn two(typed: &str, separators: &[&str]) -> Result<[String; 2], String> {
    let low = typed.to_lowercase();
    for separator in separators {
        if let Some(at) = low.find(separator)
            && let (Some(first), Some(second)) =
                (typed.get(..at), typed.get(at + separator.len()..))
            && !first.trim().is_empty()
            && !second.trim().is_empty()
        {
            return Ok([first.trim().to_owned(), second.trim().to_owned()]);
        }
    }
    Err("two numbers are needed".to_owned())
}

/// A number with the unit of another text, if it has none of its own.
fn with_unit(text: &str, other: &str) -> String {
    let bare = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | '/' | '-' | '+');
    if text.chars().all(bare) {
        let unit = other.trim_start_matches(bare);
        format!("{} {unit}", text.trim())
    } else {
        text.to_owned()
    }
}

fn whole(text: &str, most: u32) -> Option<u32> {
    let count: u32 = text.trim().parse().ok()?;
    (count <= most).then_some(count)
}

fn place(typed: &str) -> Result<Answer, String> {
    let upper = typed.to_uppercase().replace('°', " ");
    let mut numbers: Vec<f64> = Vec::new();
    for part in upper.split([',', ';', ' ']).filter(|part| !part.is_empty()) {
        let sign = match part {
            "N" | "E" => Some(1.0),
            "S" | "W" => Some(-1.0),
            _ => None,
        };
        if let Some(sign) = sign {
            match numbers.last_mut() {
                Some(last) => *last *= sign,
                None => return Err("the number goes before the letter".to_owned()),
            }
            continue;
        }
        let (digits, sign) = match part.chars().last() {
            Some('S' | 'W') => (part.trim_end_matches(['S', 'W']), -1.0),
            Some('N' | 'E') => (part.trim_end_matches(['N', 'E']), 1.0),
            _ => (part, 1.0),
        };
        let number: f64 = digits
            .parse()
            .map_err(|_| "one or two numbers of degrees are needed".to_owned())?;
        numbers.push(number * sign);
    }
    let (latitude, longitude) = match numbers.as_slice() {
        [latitude] => (*latitude, None),
        [latitude, longitude] => (*latitude, Some(*longitude)),
        _ => return Err("one or two numbers of degrees are needed".to_owned()),
    };
    if !(-66.0..=66.0).contains(&latitude) {
        return Err("the first number, the latitude, is from -66 to 66".to_owned());
    }
    let mut texts = vec![degrees(latitude, ["N", "S"])];
    if let Some(longitude) = longitude {
        if !(-180.0..=180.0).contains(&longitude) {
            return Err("the second number, the longitude, is from -180 to 180".to_owned());
        }
        texts.push(degrees(longitude, ["E", "W"]));
    }
    Ok(Answer::Texts(texts))
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
    let [high, low] = two(typed, &["/", " and ", ",", " to ", " - "])?;
    let high = with_unit(&high, &low);
    let texts = [high, low];
    let mut values = [0.0; 2];
    for (value, text) in values.iter_mut().zip(&texts) {
        quantity(text, Dimension::Temperature, [-40.0, 58.0])?;
        *value = parse(text, Dimension::Temperature).unwrap_or(0.0);
    }
    if values[0] <= values[1] {
        return Err("the high comes first and is above the low".to_owned());
    }
    Ok(texts)
}

fn high_low(typed: &str) -> Result<Answer, String> {
    read_high_low(typed).map(|texts| Answer::Texts(texts.to_vec()))
}

fn line(low: &str) -> Result<Answer, String> {
    let plain = low.replace(' ', "-").replace("-to-", "-");
    let text = match plain.as_str() {
        "e-w" | "ew" | "w-e" | "we" | "west-east" | "east-west" => "east-west".to_owned(),
        "n-s" | "ns" | "s-n" | "sn" | "south-north" | "north-south" => "north-south".to_owned(),
        "ne-sw" | "sw-ne" | "northeast-southwest" => "northeast-southwest".to_owned(),
        "nw-se" | "se-nw" | "northwest-southeast" => "northwest-southeast".to_owned(),
        _ => direction(low)?,
    };
    Ok(Answer::Texts(vec![text]))
}

fn direction(low: &str) -> Result<String, String> {
    let text = low.trim();
    let text = if text.chars().all(|c| c.is_ascii_digit() || c == '.') && !text.is_empty() {
        format!("{text} deg")
    } else {
        text.to_owned()
    };
    parse(&text, Dimension::Angle)
        .map(|_| text)
        .map_err(|_| "a direction is needed".to_owned())
}

fn vents(typed: &str) -> Result<Answer, String> {
    let (count, size) = match two(typed, &[" of ", ":"]) {
        Ok([count, size]) => {
            let count = whole(&count, 200).filter(|count| *count > 0);
            (count.ok_or("how many, from 1 to 200?")?, size)
        }
        Err(_) => (1, typed.to_owned()),
    };
    let mut texts = vec![count.to_string()];
    let size = size.trim();
    if let Ok([first, second]) = two(size, &[" x ", "x", "×", " by "]) {
        let first = with_unit(&first, &second);
        texts.push("rectangle".to_owned());
        texts.extend(quantity(&first, Dimension::Length, [0.005, 30.0])?);
        texts.extend(quantity(&second, Dimension::Length, [0.005, 30.0])?);
    } else if parse(size, Dimension::Area).is_ok() {
        texts.push("area".to_owned());
        texts.extend(quantity(size, Dimension::Area, [1e-4, 5.0])?);
    } else {
        let bare = size.trim_end_matches("round").trim_end_matches("across");
        texts.push("round".to_owned());
        texts.extend(
            quantity(bare.trim(), Dimension::Length, [0.01, 2.0])
                .map_err(|_| "the size of one is needed: two sides, a width, or an area")?,
        );
    }
    Ok(Answer::Texts(texts))
}

fn insulation(typed: &str, low: &str) -> Result<Answer, String> {
    if matches!(low, "none" | "no" | "0") {
        return Ok(Answer::Word("none"));
    }
    if parse(typed, Dimension::ThermalResistance).is_ok() {
        let text = quantity(typed, Dimension::ThermalResistance, [0.1, 17.0])?;
        return Ok(Answer::Texts([vec!["R".to_owned()], text].concat()));
    }
    let text = quantity(typed, Dimension::Length, [0.01, 1.0])
        .map_err(|_| "a thickness, an R-value up to R-96, or none is needed")?;
    Ok(Answer::Texts([vec!["thick".to_owned()], text].concat()))
}

fn windows(low: &str) -> Result<Answer, String> {
    const SIDES: [&str; 8] = [
        "north",
        "northeast",
        "east",
        "southeast",
        "south",
        "southwest",
        "west",
        "northwest",
    ];
    if low == "none" {
        return Ok(Answer::Word("none"));
    }
    let mut texts: Vec<String> = Vec::new();
    for part in low.split([',', ';']).map(str::trim) {
        let wanted = "each side is a direction and an area";
        let (side, area) = part.split_once([' ', ':', '=']).ok_or(wanted)?;
        let side = SIDES
            .iter()
            .find(|name| **name == side || initials(name) == side)
            .ok_or_else(|| format!("{side} is no direction"))?;
        if texts.iter().step_by(2).any(|known| known == side) {
            return Err(format!("{side} is there twice"));
        }
        texts.push((*side).to_owned());
        texts.extend(quantity(area, Dimension::Area, [0.1, 100.0])?);
    }
    Ok(Answer::Texts(texts))
}

fn initials(name: &str) -> String {
    ["north", "south", "east", "west"]
        .iter()
        .filter_map(|word| Some((name.find(word)?, word.get(..1)?)))
        .collect::<std::collections::BTreeMap<_, _>>()
        .into_values()
        .collect()
}
