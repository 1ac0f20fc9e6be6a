//! What a question is, and all of them in the order in which one walks round a house.

use super::phrase::Wrong;
use super::{
    Answers, around, ceiling, cooling, fans, foil, plan, roof, safety, site, vents, walls,
};

/// Reads an answer into the answers and says it back, quantities in both systems of units; an error
/// says in a few words what is wrong.
pub(super) type Reader = fn(&str, &mut Answers) -> Result<String, Wrong>;

/// A question.
#[derive(Debug, Clone, Copy)]
pub(super) struct Question {
    /// Name.
    pub(super) id: &'static str,
    /// Stop on the walk; a question without one follows from the answer before.
    pub(super) stop: Option<&'static str>,
    /// The question.
    pub(super) ask: &'static str,
    /// A drawing, where words fail.
    pub(super) drawing: &'static str,
    /// Words to choose from, each with what it means.
    pub(super) choices: &'static [(&'static str, &'static str)],
    /// What is accepted, beside "don't know".
    pub(super) accepts: &'static str,
    /// What not knowing comes to.
    pub(super) unknown: &'static str,
    /// How it is read.
    pub(super) read: Reader,
    /// Whether it is asked after these answers.
    pub(super) when: fn(&Answers) -> bool,
}

impl Question {
    /// A question at a stop, always asked.
    pub(super) const fn at(
        stop: &'static str,
        id: &'static str,
        ask: &'static str,
        accepts: &'static str,
        read: Reader,
    ) -> Self {
        Self {
            id,
            stop: Some(stop),
            ask,
            drawing: "",
            choices: &[],
            accepts,
            unknown: "not known: usual values and their ranges are taken",
            read,
            when: always,
        }
    }

    /// A question that only some answers call for.
    pub(super) const fn after(
        when: fn(&Answers) -> bool,
        id: &'static str,
        ask: &'static str,
        accepts: &'static str,
        read: Reader,
    ) -> Self {
        Self {
            stop: None,
            when,
            ..Self::at("", id, ask, accepts, read)
        }
    }

    pub(super) const fn only(mut self, when: fn(&Answers) -> bool) -> Self {
        self.when = when;
        self
    }
    pub(super) const fn drawn(mut self, drawing: &'static str) -> Self {
        self.drawing = drawing;
        self
    }
    pub(super) const fn choosing(
        mut self,
        choices: &'static [(&'static str, &'static str)],
    ) -> Self {
        self.choices = choices;
        self
    }
    pub(super) const fn else_taken(mut self, unknown: &'static str) -> Self {
        self.unknown = unknown;
        self
    }
}

fn always(_: &Answers) -> bool {
    true
}

/// All questions.
pub(super) const QUESTIONS: &[Question] = &[
    site::PLACE,
    around::SIDES_QUESTION,
    around::SKYLINE_QUESTION,
    site::HOT_DAY,
    plan::PLAN,
    roof::ROOF,
    roof::COVERING,
    vents::VENTS,
    vents::COVER,
    ceiling::CEILING,
    foil::FOIL,
    foil::CHANNEL,
    fans::FANS,
    fans::LABEL,
    fans::SWITCH,
    walls::WALLS,
    cooling::COOLING,
    safety::FLAMES,
    safety::LOGGERS,
];
