//! What a person says in one breath, as words, numbers and quantities.

use crate::catalog::nearest;
use crate::elementary::tan;
use crate::units::show::{self, System};
use crate::units::{Dimension, parse};

/// Words that mean something to a question, each with other ways of saying it.
pub(super) type Words = [(&'static str, &'static [&'static str])];

/// A part of an answer.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    /// A word of the question's, by its first name.
    Word(&'static str),
    /// A number without a unit.
    Number(f64),
    /// A quantity, as it was typed.
    Quantity(Dimension, String),
    /// Two lengths, as they were typed.
    Size(String, String),
}

/// What stands between two separators.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    /// As typed.
    pub(super) text: String,
    /// Whether a semicolon stands before it, or nothing.
    pub(super) is_first: bool,
}

/// Why an answer was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wrong {
    /// What is wrong, in a few words.
    pub(super) words: String,
    /// A word that means nothing here and is like none that does, if that is all.
    pub(super) idle: Option<String>,
}

impl From<String> for Wrong {
    fn from(words: String) -> Self {
        Self { words, idle: None }
    }
}

impl From<&str> for Wrong {
    fn from(words: &str) -> Self {
        words.to_owned().into()
    }
}

/// Words for not knowing.
const UNKNOWN: &[&str] = &[
    "",
    "?",
    "don't know",
    "dont know",
    "do not know",
    "i don't know",
    "don’t know",
    "unknown",
    "no idea",
    "not sure",
    "idk",
    "dunno",
];

/// Words that add nothing.
const FILLERS: &str = "a an the of with and is are it its has have by about around roughly each \
    every on at in to for per there some all both across wide deep tall high size sized or \
    inside outside side sides house my our which that i we one's vent vents hole holes \
    along street them us these those stick sticks out seen";

/// Numbers in letters.
const NUMERALS: &[&str] = &[
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
];

/// Most words that a quantity is written in: `9 ft 6 in`.
const LONGEST: usize = 4;

/// Whether a text says that something is not known.
pub(super) fn is_unknown(typed: &str) -> bool {
    UNKNOWN.contains(&typed.trim().trim_end_matches('.').to_lowercase().as_str())
}

/// The parts of an answer between commas, semicolons and "and"; those not known are left out.
pub(super) fn pieces(typed: &str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for part in typed.split([';', '\n']) {
        let mut is_first = true;
        for text in commas(part) {
            for text in text.split(" and ").flat_map(|text| text.split(" plus ")) {
                if !is_unknown(text) {
                    let text = text.trim().to_owned();
                    pieces.push(Piece { text, is_first });
                    is_first = false;
                }
            }
        }
    }
    pieces
}

/// Parts between commas that do not stand inside a number.
fn commas(text: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut from = 0;
    for (at, _) in text.match_indices([',', '+']) {
        let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        let before = text.get(..at).and_then(|text| text.chars().next_back());
        let after = text.get(at + 1..).and_then(|text| text.chars().next());
        if !(digit(before) && digit(after)) {
            parts.extend(text.get(from..at));
            from = at + 1;
        }
    }
    parts.extend(text.get(from..));
    parts
}

/// Reads a piece. Quantities may be of these dimensions, the first that fits.
///
/// # Errors
/// What is wrong, in a few words.
pub(super) fn items(
    text: &str,
    words: &Words,
    dimensions: &[Dimension],
) -> Result<Vec<Item>, Wrong> {
    let tokens = tokens(text);
    let mut parts: Vec<Option<Item>> = Vec::new();
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        if let Some((word, length)) = word(&tokens[at..], words) {
            // A word without a name adds nothing.
            if !word.is_empty() {
                parts.push(Some(Item::Word(word)));
            }
            at += length;
        } else if token == "x" || (token == "by" && is_digit(tokens.get(at + 1))) {
            parts.push(None);
            at += 1;
        } else if let Some((item, length)) = measure(&tokens[at..], dimensions)? {
            parts.push(Some(item));
            at += length;
        } else if FILLERS.split_whitespace().any(|filler| filler == token) {
            at += 1;
        } else {
            return Err(stranger(token, words));
        }
    }
    Ok(sizes(parts)?)
}

/// Words and numbers, parted so that each stands alone.
fn tokens(text: &str) -> Vec<String> {
    let mut plain = String::new();
    let all: Vec<char> = text.chars().collect();
    for (at, &c) in all.iter().enumerate() {
        let before = at.checked_sub(1).and_then(|at| all.get(at)).copied();
        let after = all.get(at + 1).copied();
        match c {
            '×' | '*' => plain.push_str(" x "),
            'x' | 'X'
                if before.is_none_or(|c| !c.is_alphabetic())
                    && after.is_none_or(|c| !c.is_alphabetic()) =>
            {
                plain.push_str(" x ");
            }
            '(' | ')' | '=' | '@' | '!' => plain.push(' '),
            '’' | '′' => plain.push('\''),
            '”' | '″' | '“' => plain.push('"'),
            // A hyphen joins words, and a letter with its number.
            '-' | '_'
                if before.is_some_and(char::is_alphabetic)
                    && after.is_some_and(char::is_alphabetic) =>
            {
                plain.push(' ');
            }
            c => plain.push(c),
        }
    }
    let mut tokens: Vec<String> = Vec::new();
    for token in plain.split_whitespace() {
        let token = token.trim_end_matches([':', '?']);
        let token = match token.strip_suffix('.') {
            Some(short) if !short.ends_with(|c: char| c.is_ascii_digit()) => short,
            _ => token,
        };
        if !token.is_empty() {
            tokens.push(token.to_owned());
        }
    }
    tokens
}

fn is_digit(token: Option<&String>) -> bool {
    token.is_some_and(|token| token.starts_with(|c: char| c.is_ascii_digit() || c == '.'))
}

/// The longest of the question's words at the head of tokens.
fn word(tokens: &[String], words: &Words) -> Option<(&'static str, usize)> {
    let mut best: Option<(&'static str, usize)> = None;
    for &(name, others) in words {
        for phrase in std::iter::once(&name).chain(others) {
            let parts: Vec<&str> = phrase.split(['-', ' ']).collect();
            let here = tokens.get(..parts.len());
            let fits = here.is_some_and(|here| {
                here.iter()
                    .zip(&parts)
                    .all(|(token, part)| is_same(token, part))
            });
            if fits && best.is_none_or(|(_, length)| parts.len() > length) {
                best = Some((name, parts.len()));
            }
        }
    }
    best
}

/// Whether a typed word is a known one, in the singular or plural.
fn is_same(typed: &str, known: &str) -> bool {
    let typed = typed.to_lowercase();
    typed == known || (known.len() > 2 && typed.strip_suffix('s') == Some(known))
}

/// A number or quantity at the head of tokens, and how many of them it takes.
fn measure(tokens: &[String], dimensions: &[Dimension]) -> Result<Option<(Item, usize)>, String> {
    let Some(first) = tokens.first() else {
        return Ok(None);
    };
    let low = first.to_lowercase();
    if let Some(number) = NUMERALS.iter().position(|name| *name == low) {
        #[expect(clippy::cast_precision_loss, reason = "up to twelve")]
        return Ok(Some((Item::Number(number as f64), 1)));
    }
    let digits = low.trim_start_matches(['-', '+', '.', '$', '#']);
    let labelled = low.trim_start_matches("rsi").trim_start_matches('r');
    let has_digit = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
    let label = labelled.len() < low.len()
        && (has_digit(labelled.trim_start_matches('-'))
            || (labelled.is_empty() && tokens.get(1).is_some_and(|token| has_digit(token))));
    if !has_digit(digits) && !label {
        return Ok(None);
    }
    let ends = tokens
        .iter()
        .position(|token| token == "x" || token == "by");
    let most = ends.unwrap_or(tokens.len()).min(LONGEST);
    for length in (1..=most).rev() {
        let text = tokens.get(..length).unwrap_or_default().join(" ");
        if is_place(tokens, length) {
            continue;
        }
        let fits = |dimension: &&Dimension| parse(&text, **dimension).is_ok();
        // A bare number may be a count or a share; that is for the question to say.
        if text.parse::<f64>().is_err()
            && let Some(dimension) = dimensions.iter().find(fits)
        {
            return Ok(Some((Item::Quantity(*dimension, text), length)));
        }
    }
    if let Ok(number) = first.replace(',', ".").parse::<f64>()
        && number.is_finite()
    {
        return Ok(Some((Item::Number(number), 1)));
    }
    Err(format!("{first} is no quantity with a unit that fits here"))
}

/// Whether "in" says where and not how much: `2 in the gable`.
fn is_place(tokens: &[String], length: usize) -> bool {
    let place = ["the", "a", "each", "every", "both", "one"];
    length == 2
        && tokens.get(1).is_some_and(|token| token == "in")
        && tokens
            .get(2)
            .is_some_and(|next| place.contains(&next.as_str()))
}

fn stranger(token: &str, words: &Words) -> Wrong {
    let known = words
        .iter()
        .flat_map(|(name, others)| std::iter::once(name).chain(*others))
        .filter(|phrase| !phrase.contains(' '));
    let low = token.to_lowercase();
    let mut wrong = Wrong::from(format!("\"{token}\" is not understood"));
    match nearest(token, known.copied()) {
        Some(near) if low.chars().count() > 2 => {
            wrong.words = format!("{}; did you mean {near}?", wrong.words);
        }
        // What turns the meaning round cannot be passed over.
        _ if TURNS.contains(&low.as_str()) => {}
        _ => wrong.idle = Some(token.to_owned()),
    }
    wrong
}

/// Words without which the rest means something else.
const TURNS: &[&str] = &[
    "not", "no", "never", "without", "except", "only", "isn't", "don't", "none", "neither",
];

/// A text without a word.
pub(super) fn without(text: &str, idle: &str) -> String {
    let is_edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric() && c != '\'');
    let found = text.match_indices(idle).find(|(at, _)| {
        let before = text.get(..*at).and_then(|text| text.chars().next_back());
        let after = text.get(at + idle.len()..);
        is_edge(before) && is_edge(after.and_then(|text| text.chars().next()))
    });
    let Some((at, _)) = found else {
        return String::new();
    };
    let parts = [text.get(..at), text.get(at + idle.len()..)];
    parts.map(Option::unwrap_or_default).join(" ")
}

/// Joins what a cross joins: `14 x 18 in`.
fn sizes(parts: Vec<Option<Item>>) -> Result<Vec<Item>, String> {
    let mut items: Vec<Item> = Vec::new();
    let mut crossed = false;
    for part in parts {
        match part {
            None if crossed || items.is_empty() => return Err(CROSS.to_owned()),
            None => crossed = true,
            Some(second) if crossed => {
                crossed = false;
                let first = items.pop();
                items.push(size(first, second)?);
            }
            Some(item) => items.push(item),
        }
    }
    if crossed {
        return Err(CROSS.to_owned());
    }
    Ok(items)
}

const CROSS: &str = "on either side of an x stands a length, such as 14 x 18 in";

fn size(first: Option<Item>, second: Item) -> Result<Item, String> {
    match (first, second) {
        (Some(Item::Number(first)), Item::Quantity(Dimension::Length, second)) => {
            let unit = second.trim_start_matches(|c: char| {
                c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | '/')
            });
            Ok(Item::Size(format!("{first} {unit}"), second))
        }
        (
            Some(Item::Quantity(Dimension::Length, first)),
            Item::Quantity(Dimension::Length, second),
        ) => Ok(Item::Size(first, second)),
        (Some(Item::Number(_)), Item::Number(_)) => {
            Err("the unit is missing: in, ft, cm or m?".to_owned())
        }
        _ => Err(CROSS.to_owned()),
    }
}

/// One of some choices, by its number, its word, or other ways of saying it.
///
/// # Errors
/// That it is none of them, and what is near.
pub(super) fn choice(
    typed: &str,
    choices: &[(&'static str, &str)],
    others: &Words,
) -> Result<&'static str, Wrong> {
    let plain = typed.trim().trim_end_matches(['.', ')']);
    let at = plain.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    if let Some((word, _)) = at.and_then(|at| choices.get(at)) {
        return Ok(word);
    }
    let low = plain.to_lowercase().replace([' ', '_'], "-");
    let mut begins = choices.iter().filter(|(word, _)| word.starts_with(&low));
    match (begins.next(), begins.next()) {
        (Some((word, _)), None) if !low.is_empty() => return Ok(word),
        _ => {}
    }
    let mut words: Vec<(&'static str, &'static [&'static str])> = others.to_vec();
    words.extend(choices.iter().map(|(word, _)| (*word, &[] as &[&str])));
    // Of a choice every word counts: nothing is passed over.
    let found = items(plain, &words, &[]).map_err(|wrong| wrong.words)?;
    let mut found = found.into_iter();
    match (found.next(), found.next()) {
        (Some(Item::Word(word)), None) => Ok(word),
        _ => Err("that is none of them".into()),
    }
}

/// A quantity in its range.
///
/// # Errors
/// What the range is.
pub(super) fn within(
    text: &str,
    dimension: Dimension,
    [least, most]: [f64; 2],
) -> Result<String, String> {
    let value = parse(text, dimension).map_err(|_| format!("{text} cannot be read"))?;
    let room = 1e-9 * (most - least);
    if value < least - room || value > most + room {
        return Err(format!(
            "{text} is out of range: from {} to {}",
            shown(least, dimension),
            shown(most, dimension)
        ));
    }
    Ok(text.to_owned())
}

/// A whole number in its range.
///
/// # Errors
/// What the range is.
pub(super) fn whole(number: f64, [least, most]: [u32; 2]) -> Result<u32, String> {
    (least..=most)
        .find(|whole| (f64::from(*whole) - number).abs() < 1e-9)
        .ok_or_else(|| format!("{number} is no whole number from {least} to {most}"))
}

/// Puts a thing where nothing else was said yet.
///
/// # Errors
/// That two were said.
pub(super) fn once<T: PartialEq>(
    place: &mut Option<T>,
    thing: T,
    what: &str,
) -> Result<(), String> {
    if place.as_ref().is_some_and(|known| *known != thing) {
        return Err(format!("{what} is there twice"));
    }
    *place = Some(thing);
    Ok(())
}

/// A text of a quantity with its value in both systems.
pub(super) fn both(text: &str, dimension: Dimension) -> String {
    parse(text, dimension).map_or_else(|_| text.to_owned(), |value| shown(value, dimension))
}

/// A length, or that it is not known.
pub(super) fn or_unknown(text: Option<&String>, dimension: Dimension) -> String {
    text.map_or_else(|| "not known".to_owned(), |text| both(text, dimension))
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
        D::Pressure => pair(show::pressure),
        D::Speed => pair(show::speed),
        D::ThermalResistance => pair(show::resistance),
        D::Power if value >= 500.0 => pair(show::heat_flow),
        D::Power => show::power(value),
        D::Fraction => show::fraction(value),
        D::Slope => format!("{:.1}:12 ({:.1}°)", tan(value) * 12.0, value.to_degrees()),
        _ => format!("{value}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: &Words = &[
        ("gable", &["end wall", "end walls"]),
        ("one-slope", &["shed"]),
    ];
    const DIMENSIONS: &[Dimension] = &[
        Dimension::Length,
        Dimension::Area,
        Dimension::AirFlow,
        Dimension::ThermalResistance,
    ];

    fn read(text: &str) -> Result<Vec<Item>, Wrong> {
        items(text, WORDS, DIMENSIONS)
    }

    #[test]
    fn the_same_thing_may_be_said_in_several_ways() {
        let wanted = vec![
            Item::Number(2.0),
            Item::Word("gable"),
            Item::Size("12 in".to_owned(), "18 in".to_owned()),
        ];
        for text in [
            "2 gable 12x18 in",
            "two gable vents of 12 x 18 in",
            "2 in the end walls 12 in by 18 in",
            "2 Gables (12 in x 18 in)",
        ] {
            assert_eq!(read(text).unwrap(), wanted, "{text}");
        }
    }

    #[test]
    fn quantities_are_as_long_as_they_can_be() {
        let length = |text: &str| Item::Quantity(Dimension::Length, text.to_owned());
        assert_eq!(read("9 ft 6 in").unwrap(), [length("9 ft 6 in")]);
        assert_eq!(
            read("40' x 25' 6\"").unwrap(),
            [Item::Size("40'".to_owned(), "25' 6\"".to_owned())]
        );
        let resistance = Item::Quantity(Dimension::ThermalResistance, "R-19".to_owned());
        assert_eq!(read("R-19").unwrap(), [resistance]);
        let flow = Item::Quantity(Dimension::AirFlow, "75cfm".to_owned());
        assert_eq!(
            read("one-slope 75cfm").unwrap(),
            [Item::Word("one-slope"), flow]
        );
    }

    #[test]
    fn what_is_not_understood_is_named_with_what_is_near() {
        assert!(
            read("gabel")
                .unwrap_err()
                .words
                .contains("did you mean gable?")
        );
        for text in [
            "12 x 18",
            "12 x",
            "x 12 in",
            "5gal of",
            "12in x 3 cfm",
            "not",
        ] {
            let wrong = read(text).unwrap_err();
            assert!(wrong.idle.is_none(), "{text}: {wrong:?}");
        }
        let wrong = read("2 gable squeaking").unwrap_err();
        assert_eq!(wrong.idle.as_deref(), Some("squeaking"));
        assert_eq!(without("2 a-b a b", "a"), "2  -b a b");
        assert_eq!(without("late at, at", "at"), "late  , at");
    }

    #[test]
    fn commas_part_but_not_inside_numbers() {
        let texts = |typed: &str| -> Vec<String> {
            pieces(typed).into_iter().map(|piece| piece.text).collect()
        };
        assert_eq!(
            texts("12,5 m, 3 m; don't know and 4"),
            ["12,5 m", "3 m", "4"]
        );
        assert!(texts(" ? , don't know").is_empty());
    }
}
