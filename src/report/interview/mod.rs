//! An interview with the owner of a house: questions in the order in which one walks round it,
//! each of which may be answered with "don't know"; a house file comes out.
//!
//! Nothing is read or printed here: [`Interview::ask`] gives the words and [`Interview::answer`]
//! takes what was typed.

mod questions;
mod reading;
mod writing;

use std::collections::BTreeMap;

use crate::house::{FaultKind, HouseError, HouseFile};
use crate::units::{Dimension, kelvin, parse};
use crate::weather::MadeWeek;

use super::layout::paragraph;

use questions::{QUESTIONS, Question, STOPS, Takes};

pub use reading::read_high_low;

/// An answer.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Answer {
    /// "Don't know".
    Unknown,
    /// A word of the question's own.
    Word(&'static str),
    /// Texts that were checked, as they go into the file.
    Texts(Vec<String>),
}

impl Answer {
    fn text(&self, at: usize) -> Option<&str> {
        match self {
            Self::Texts(texts) => texts.get(at).map(String::as_str),
            _ => None,
        }
    }
}

/// Answers by question.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Answers(BTreeMap<&'static str, Answer>);

impl Answers {
    fn get(&self, id: &str) -> Option<&Answer> {
        self.0.get(id)
    }

    /// A word of the question's own.
    fn word(&self, id: &str) -> Option<&'static str> {
        match self.get(id) {
            Some(Answer::Word(word)) => Some(word),
            _ => None,
        }
    }

    /// One of the texts of an answer.
    fn text(&self, id: &str, at: usize) -> Option<&str> {
        self.get(id)?.text(at)
    }

    /// Whether several words hold one.
    fn has(&self, id: &str, word: &str) -> bool {
        matches!(self.get(id), Some(Answer::Texts(texts)) if texts.iter().any(|text| text == word))
    }

    /// A whole number, 0 where there is none.
    fn count(&self, id: &str) -> u32 {
        let text = self.text(id, 0);
        text.and_then(|text| text.parse().ok()).unwrap_or(0)
    }

    /// Whether vents were described by a hole rather than by a net free area.
    fn is_hole(&self, id: &str) -> bool {
        matches!(self.text(id, 1), Some("round" | "rectangle"))
    }
}

/// What became of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reply {
    /// It was taken: said back, with both systems of units. The next question waits.
    Taken(String),
    /// It was not: what is wrong, and what is accepted. The same question waits.
    Again(String),
    /// The question before waits again.
    Back,
    /// All is answered and the file may be written.
    Done,
    /// The owner leaves; nothing is to be written.
    Quit,
}

/// An interview.
#[derive(Debug, Clone, Default)]
pub struct Interview {
    answers: Answers,
    /// Questions that were answered, in order.
    path: Vec<usize>,
}

impl Interview {
    /// An interview at its first question.
    pub fn new() -> Self {
        Self::default()
    }

    /// The question that waits; past the last one, whether to write the file.
    pub fn ask(&self) -> String {
        let Some(question) = self.waiting() else {
            return "\nThat is all. Shall the files be written?\n  yes, back or quit\n".to_owned();
        };
        let mut text = String::new();
        let before = self.path.last().and_then(|at| QUESTIONS.get(*at));
        if before.is_none_or(|before| before.stop != question.stop) {
            let stop = STOPS.get(question.stop).copied().unwrap_or_default();
            text.push_str(&format_stop(question.stop + 1, stop));
        }
        text.push('\n');
        text.push_str(&paragraph("", 0, question.ask));
        if !question.drawing.is_empty() {
            text.push_str(question.drawing.trim_start_matches('\n'));
            text.push('\n');
        }
        text.push_str(&self.choices(question));
        let accepts = format!("{}; Enter if you don't know", question.accepts);
        text.push_str(&paragraph("  ->", 5, &accepts));
        text
    }

    /// Takes what was typed.
    pub fn answer(&mut self, typed: &str) -> Reply {
        let low = typed.trim().to_lowercase();
        match low.as_str() {
            "quit" | "q" | "exit" => return Reply::Quit,
            "back" | "b" => {
                if let Some(at) = self.path.pop()
                    && let Some(question) = QUESTIONS.get(at)
                {
                    self.answers.0.remove(question.id);
                }
                return Reply::Back;
            }
            _ => {}
        }
        let Some(at) = self.next() else {
            return match low.as_str() {
                "yes" | "y" => Reply::Done,
                _ => Reply::Again("   yes, back or quit, please\n".to_owned()),
            };
        };
        let Some(question) = QUESTIONS.get(at) else {
            return Reply::Quit;
        };
        let answer = match reading::read(question, typed, &self.answers) {
            Ok(answer) => answer,
            Err(wrong) => return Reply::Again(again(&wrong, question.accepts)),
        };
        let echo = reading::echo(question, &answer);
        let before = self.answers.clone();
        self.answers.0.insert(question.id, answer);
        if let Err(error) = HouseFile::from_text(&self.house_file(), "house.toml") {
            self.answers = before;
            let wrong = format!(
                "that does not go with the answers before: {}",
                clash(&error)
            );
            return Reply::Again(again(&wrong, question.accepts));
        }
        self.path.push(at);
        let mut words = paragraph("   ", 3, &echo);
        if question.id == "flames" && self.answers.word("flames") != Some("no") {
            words.push_str(&paragraph(
                "   !",
                5,
                "Fans in the attic can pull fumes down a plain flue. Keep a carbon monoxide alarm, \
                 and have the draught tested with all fans running before you trust them.",
            ));
        }
        Reply::Taken(words)
    }

    /// The house file of the answers so far; what is not answered is not known.
    pub fn house_file(&self) -> String {
        writing::house_file(&self.answers)
    }

    /// Weather made from the day that was described, if one was.
    pub fn week(&self) -> Option<MadeWeek> {
        let temp_k = |at: usize| {
            let text = self.answers.text("hot_day", at)?;
            parse(text, Dimension::Temperature).ok().map(kelvin)
        };
        let (high_k, low_k) = (temp_k(0)?, temp_k(1)?);
        let mut week = MadeWeek::default();
        let degrees = |at: usize| {
            let text = self.answers.text("place", at)?;
            let (number, letter) = text.split_once(' ')?;
            let sign = if matches!(letter, "S" | "W") {
                -1.0
            } else {
                1.0
            };
            number.parse::<f64>().ok().map(|number| number * sign)
        };
        if let Some(latitude_deg) = degrees(0) {
            week.place.latitude_deg = latitude_deg;
            if latitude_deg < 0.0 {
                week.first_day = jiff::civil::Date::constant(2026, 1, 10);
            }
        }
        if let Some(longitude_deg) = degrees(1) {
            week.place.longitude_deg = longitude_deg;
            week.place.utc_offset_h = (longitude_deg / 15.0).round();
        }
        week.high_k = high_k;
        week.low_k = low_k;
        // Never above the night's air, or every night would be fog.
        week.dew_point_k = week.dew_point_k.min(low_k - 2.0);
        Some(week)
    }

    fn waiting(&self) -> Option<&'static Question> {
        self.next().and_then(|at| QUESTIONS.get(at))
    }

    /// The first question after the last answered one that is to be asked.
    fn next(&self) -> Option<usize> {
        let from = self.path.last().map_or(0, |at| at + 1);
        let mut rest = QUESTIONS.iter().enumerate().skip(from);
        rest.find(|(_, question)| (question.when)(&self.answers))
            .map(|(at, _)| at)
    }

    /// The words of a choice, numbered.
    fn choices(&self, question: &Question) -> String {
        match question.takes {
            Takes::Choice(choices) if choices.len() == 2 && plain(choices) => String::new(),
            Takes::Choice(choices) if plain(choices) => {
                numbered(choices.iter().map(|(word, _)| *word))
            }
            Takes::Choice(choices) | Takes::Choices(choices) => {
                let width = choices
                    .iter()
                    .map(|(word, _)| word.len())
                    .max()
                    .unwrap_or(0);
                let mut text = String::new();
                for (at, (word, means)) in choices.iter().enumerate() {
                    let line = format!("{:>4} {word:<width$}  {means}", at + 1);
                    text.push_str(line.trim_end());
                    text.push('\n');
                }
                text
            }
            Takes::Colour => numbered(reading::colours(&self.answers)),
            _ => String::new(),
        }
    }
}

/// Whether the words of a choice need no explanation.
fn plain(choices: &[(&str, &str)]) -> bool {
    choices.iter().all(|(_, means)| means.is_empty())
}

/// Words with numbers, in a row.
fn numbered<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let all: Vec<String> = words
        .into_iter()
        .enumerate()
        .map(|(at, word)| format!("{} {word}", at + 1))
        .collect();
    paragraph("", 3, &all.join(", "))
}

fn format_stop(number: usize, name: &str) -> String {
    format!("\n{number} of {}: {name}\n", STOPS.len())
}

fn again(wrong: &str, accepts: &str) -> String {
    let words = format!("Sorry, {wrong}. It takes {accepts}; or Enter, back, quit.");
    paragraph("   ", 3, &words)
}

/// Why answers do not fit together, in a few words.
fn clash(error: &HouseError) -> String {
    let HouseError::Invalid { faults, .. } = error else {
        return error.to_string();
    };
    match faults.first().map(|fault| (&fault.kind, &fault.key)) {
        Some((FaultKind::Clash(clash), _)) => clash.to_string(),
        Some((_, key)) => format!("{key} cannot be so"),
        None => "the house cannot be so".to_owned(),
    }
}
