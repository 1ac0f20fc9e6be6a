//! Answers as a house file, with every question as a remark.

use std::fmt::Write as _;

use super::question::QUESTIONS;
use super::{Answers, ceiling, cooling, fans, foil, plan, roof, safety, site, vents, walls};

/// Longest line of a remark.
const WIDTH: usize = 98;

const UNKNOWN: &str = "\"unknown\"";

/// The file of the answers.
pub(super) fn house_file(answers: &Answers) -> String {
    let mut page = Page {
        out: String::new(),
        answers,
    };
    page.remark(
        "A house for rafterheat, from an interview. Change what is not so, then run: rafterheat \
         check house.toml",
    );
    page.remark(
        "Where you did not know, \"unknown\" stands: a usual value with a range is taken. \
         rafterheat new DIR, without --ask, writes a file with every other key explained.",
    );
    page.gap();
    page.pair("name", answers.name.as_deref().unwrap_or("my house"));
    site::write(&mut page);
    plan::write(&mut page);
    walls::write(&mut page);
    cooling::write(&mut page);
    roof::write(&mut page);
    ceiling::write_under_roof(&mut page);
    ceiling::write(&mut page);
    vents::write(&mut page);
    fans::write(&mut page);
    foil::write(&mut page);
    fans::write_controls(&mut page);
    cooling::write_control(&mut page);
    safety::write(&mut page);
    foil::write_design(&mut page);
    page.out
}

/// A house file that is being written.
pub(super) struct Page<'a> {
    out: String,
    /// What was answered.
    pub(super) answers: &'a Answers,
}

impl Page<'_> {
    /// The head of a table.
    pub(super) fn table(&mut self, path: &str) {
        let _ = writeln!(self.out, "\n[{path}]");
    }

    /// The head of a table with a name of the owner's.
    pub(super) fn named(&mut self, group: &str, name: &str) {
        // What was asked about it stands right above the first one.
        let last = self.out.lines().next_back().unwrap_or_default();
        if !last.is_empty() && !last.starts_with('#') {
            self.gap();
        }
        let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
        if name.chars().all(plain) {
            let _ = writeln!(self.out, "[{group}.{name}]");
        } else {
            let _ = writeln!(self.out, "[{group}.{}]", quoted(name));
        }
    }

    /// An empty line.
    pub(super) fn gap(&mut self) {
        self.out.push('\n');
    }

    /// A key with a text.
    pub(super) fn pair(&mut self, key: &str, text: &str) {
        self.bare(key, &quoted(text));
    }

    /// A key with a number or a list.
    pub(super) fn bare(&mut self, key: &str, value: &str) {
        let _ = writeln!(self.out, "{key} = {value}");
    }

    /// A key with a text; a number stays one; what is not known is said to be so.
    pub(super) fn maybe(&mut self, key: &str, text: Option<&str>) {
        match text {
            Some(text) if text.parse::<f64>().is_ok() => self.bare(key, text),
            Some(text) => self.pair(key, text),
            None => self.bare(key, UNKNOWN),
        }
    }

    /// A key with a table in its line; pairs without a key are left out.
    pub(super) fn inline(&mut self, key: &str, pairs: &[(&str, &str)]) {
        let pairs: Vec<String> = pairs
            .iter()
            .filter(|(key, _)| !key.is_empty())
            .map(|(key, text)| format!("{key} = {}", quoted(text)))
            .collect();
        self.bare(key, &format!("{{ {} }}", pairs.join(", ")));
    }

    /// A question and its answer as remarks, if it was asked.
    pub(super) fn asked(&mut self, id: &str) {
        let question = QUESTIONS.iter().find(|question| question.id == id);
        let said = self.answers.said.iter().find(|(known, _)| *known == id);
        if let (Some(question), Some((_, said))) = (question, said) {
            self.remark(question.ask);
            let said = said.as_deref().unwrap_or("don't know");
            self.remark(&format!("-> {said}"));
        }
    }

    /// Words as remarks.
    pub(super) fn remark(&mut self, words: &str) {
        let mut line = "#".to_owned();
        for word in words.split_whitespace() {
            if line.chars().count() + 1 + word.chars().count() > WIDTH {
                let _ = writeln!(self.out, "{line}");
                line.truncate(1);
            }
            line.push(' ');
            line.push_str(word);
        }
        let _ = writeln!(self.out, "{line}");
    }
}

fn quoted(text: impl AsRef<str>) -> String {
    let text = text.as_ref().replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{text}\"")
}
