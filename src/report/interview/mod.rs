//! An interview with the owner of a house: questions in the order in which one walks round it,
//! each of which may be answered with "don't know"; a house file comes out.
//!
//! Nothing is read or printed here: [`Interview::ask`] gives the words and [`Interview::answer`]
//! takes what was typed. An answer is one line as a person would say it. A file a part of the
//! house asks about it, reads the answer, says it back and writes it down; `phrase` finds words,
//! numbers and quantities in a line.

mod around;
mod ceiling;
mod cooling;
mod fans;
mod foil;
mod label;
mod phrase;
mod plan;
mod question;
mod roof;
mod safety;
mod site;
mod vents;
mod walls;
mod writing;

use crate::house::{FaultKind, HouseError, HouseFile};
use crate::weather::MadeWeek;

use super::layout::paragraph;

use phrase::Wrong;
use question::{QUESTIONS, Question};

pub use site::read_high_low;

/// What was answered; nothing is what is not known.
#[derive(Debug, Clone, Default)]
pub(super) struct Answers {
    name: Option<String>,
    /// Questions that were answered, in order, and what was said back; nothing for "don't know".
    said: Vec<(&'static str, Option<String>)>,
    place: Option<site::Place>,
    sides: Option<around::Sides>,
    skyline: Option<String>,
    hot_day: Option<[String; 2]>,
    plan: Option<plan::Plan>,
    roof: Option<roof::Roof>,
    covering: Option<roof::Covering>,
    vents: Option<Vec<vents::Vents>>,
    ceiling: Option<ceiling::Ceiling>,
    foil: Option<foil::Foil>,
    fans: Option<Vec<fans::Fans>>,
    walls: Option<walls::Walls>,
    cooling: Option<cooling::Cooling>,
    flames: Option<bool>,
    loggers: Option<Vec<safety::Logger>>,
}

impl Answers {
    /// Whether nothing but outdoors is below the roof.
    fn is_porch(&self) -> bool {
        self.ceiling
            .as_ref()
            .is_some_and(ceiling::Ceiling::is_porch)
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
    /// Questions that were answered, in order, and the answers before each of them.
    path: Vec<(usize, Answers)>,
}

impl Interview {
    /// An interview at its first question.
    pub fn new() -> Self {
        Self::default()
    }

    /// An interview about a house that has a name.
    pub fn named(name: impl Into<String>) -> Self {
        let mut talk = Self::default();
        talk.answers.name = Some(name.into());
        talk
    }

    /// Number of questions that were answered.
    pub fn answered(&self) -> usize {
        self.path.len()
    }

    /// The question that waits; past the last one, whether to write the file.
    pub fn ask(&self) -> String {
        let Some(question) = self.waiting() else {
            return "\nThat is all. Shall the files be written?\n  yes, back or quit\n".to_owned();
        };
        let mut text = String::new();
        if let Some(stop) = question.stop {
            let stops = || QUESTIONS.iter().filter(|question| question.stop.is_some());
            let number = stops().take_while(|other| other.id != question.id).count() + 1;
            text = format!("\n{number} of {}: {stop}\n", stops().count());
        }
        text.push('\n');
        text.push_str(&paragraph("", 0, question.ask));
        if !question.drawing.is_empty() {
            text.push_str(question.drawing.trim_start_matches('\n'));
            text.push('\n');
        }
        text.push_str(&choices(question));
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
                if let Some((_, before)) = self.path.pop() {
                    self.answers = before;
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
        let mut answers = self.answers.clone();
        let said = if phrase::is_unknown(typed) {
            None
        } else {
            match lenient(question, typed, &mut answers) {
                Ok(said) => Some(said),
                Err(wrong) => return Reply::Again(again(&wrong.words, question.accepts)),
            }
        };
        let mut words = paragraph("   ", 3, said.as_deref().unwrap_or(question.unknown));
        answers.said.push((question.id, said));
        let text = writing::house_file(&answers);
        if let Err(error) = HouseFile::from_text(&text, "house.toml") {
            let wrong = format!(
                "that does not go with the answers before: {}",
                clash(&error)
            );
            return Reply::Again(again(&wrong, question.accepts));
        }
        if question.id == "flames" && answers.flames != Some(false) {
            words.push_str(&paragraph("   !", 5, safety::FUMES));
        }
        let before = std::mem::replace(&mut self.answers, answers);
        self.path.push((at, before));
        Reply::Taken(words)
    }

    /// The house file of the answers so far; what is not answered is not known.
    pub fn house_file(&self) -> String {
        writing::house_file(&self.answers)
    }

    /// Weather made from the day that was described, if one was.
    pub fn week(&self) -> Option<MadeWeek> {
        site::week(&self.answers)
    }

    fn waiting(&self) -> Option<&'static Question> {
        self.next().and_then(|at| QUESTIONS.get(at))
    }

    /// The first question after the last answered one that is to be asked.
    fn next(&self) -> Option<usize> {
        let from = self.path.last().map_or(0, |(at, _)| at + 1);
        let mut rest = QUESTIONS.iter().enumerate().skip(from);
        rest.find(|(_, question)| (question.when)(&self.answers))
            .map(|(at, _)| at)
    }
}

/// Reads an answer, passing over words that mean nothing, and tells which those were.
fn lenient(question: &Question, typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut text = typed.to_owned();
    let mut idle: Vec<String> = Vec::new();
    let mut first = None;
    loop {
        let mut tried = answers.clone();
        match (question.read)(&text, &mut tried) {
            Ok(mut said) => {
                if !idle.is_empty() {
                    said = format!("{said} (not understood: {})", idle.join(", "));
                }
                *answers = tried;
                return Ok(said);
            }
            Err(wrong) => match &wrong.idle {
                Some(word) if idle.len() < MOST_IDLE => {
                    text = phrase::without(&text, word);
                    idle.push(word.clone());
                    first.get_or_insert(wrong);
                }
                // Where nothing is left, what was wrong first says more.
                _ if phrase::is_unknown(&text) => return Err(first.unwrap_or(wrong)),
                _ => return Err(wrong),
            },
        }
    }
}

/// Words of an answer that may be passed over.
const MOST_IDLE: usize = 8;

/// The words of a choice; numbered where a number is an answer.
fn choices(question: &Question) -> String {
    let width = question.choices.iter().map(|(word, _)| word.len()).max();
    let width = width.unwrap_or(0);
    let numbered = question.accepts.starts_with("a number");
    let mut text = String::new();
    for (at, (word, means)) in question.choices.iter().enumerate() {
        let number = if numbered {
            (at + 1).to_string()
        } else {
            String::new()
        };
        let line = format!("{number:>4} {word:<width$}  {means}");
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

fn again(wrong: &str, accepts: &str) -> String {
    let stop = if wrong.ends_with('?') { "" } else { "." };
    let words = format!("Sorry, {wrong}{stop} It takes {accepts}; or Enter, back, quit.");
    paragraph("   ", 3, &words)
}

/// Why answers do not fit together, in a few words.
fn clash(error: &HouseError) -> String {
    let HouseError::Invalid { faults, .. } = error else {
        return error.to_string();
    };
    match faults.first().map(|fault| (&fault.kind, &fault.key)) {
        Some((FaultKind::Clash(clash), key)) => format!("{key} {clash}"),
        Some((_, key)) => format!("{key} cannot be so"),
        None => "the house cannot be so".to_owned(),
    }
}
