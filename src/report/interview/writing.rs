//! Answers as a house file, with every question as a remark.

use std::fmt::Write as _;

use crate::units::{Dimension, parse};

use super::questions::QUESTIONS;
use super::{Answer, Answers, reading};

/// Net free area of a ridge slot, in² for each foot: about 13 % of a foot's width.
///
/// Source: fan makers' installation manuals.
const RIDGE_IN2_PER_FT: f64 = 18.0;

/// Longest line of a remark.
const WIDTH: usize = 98;

/// The file of the answers.
pub(super) fn house_file(answers: &Answers) -> String {
    let mut page = Page {
        out: String::new(),
        answers,
    };
    page.top();
    page.rooms();
    page.roof();
    page.vents();
    page.fans();
    page.rest();
    page.out
}

struct Page<'a> {
    out: String,
    answers: &'a Answers,
}

impl Page<'_> {
    fn top(&mut self) {
        self.remark(
            "A house for rafterheat, from an interview. Change what is not so, then run: \
             rafterheat check house.toml",
        );
        self.remark(
            "Where you did not know, \"unknown\" stands: a usual value with a range is taken. \
             rafterheat new DIR, without --ask, writes a file with every other key explained.",
        );
        self.out.push('\n');
        self.asked("name");
        let name = self.answers.text("name", 0).unwrap_or("my house");
        self.pair("name", &quoted(name));
        self.table("site");
        self.asked("place");
        if let Some(latitude) = self.answers.text("place", 0) {
            self.pair("latitude", &quoted(latitude));
        }
        if let Some(longitude) = self.answers.text("place", 1) {
            self.pair("longitude", &quoted(longitude));
        }
        self.asked("hot_day");
        self.asked("around");
        let (terrain, shelter) = match self.answers.word("around") {
            Some("open") => ("\"open\"", "0.85"),
            Some("closed-in") => ("\"suburban\"", "0.4"),
            Some("city") => ("\"city\"", UNKNOWN),
            Some(_) => ("\"suburban\"", UNKNOWN),
            None => (UNKNOWN, UNKNOWN),
        };
        self.pair("terrain", terrain);
        self.pair("shelter", shelter);
    }

    fn rooms(&mut self) {
        self.table("house");
        self.asked("plan");
        self.text("length", "plan", 0);
        self.text("width", "plan", 1);
        self.asked("storeys");
        let storeys = self.answers.count("storeys").max(1);
        self.pair("storeys", &storeys.to_string());
        self.text("ceiling_height", "storeys", 1);
        self.asked("walls");
        self.word("wall", "walls");
        self.asked("mass");
        self.word("mass", "mass");
        self.pair("leakage", UNKNOWN);
        self.table("house.floor");
        self.asked("floor");
        self.word("kind", "floor");
        self.windows();
        if self.answers.word("airing") == Some("yes") {
            self.table("house.airing");
            self.asked("airing");
            self.pair("area", "\"8 ft2\"");
            self.pair("faces", "\"south\"");
            self.pair("control", "\"night air\"");
        } else {
            self.out.push('\n');
            self.asked("airing");
        }
        if self.answers.text("cooling", 0).is_some() {
            self.table("house.cooling");
            self.asked("cooling");
            self.text("set_point", "cooling", 0);
            self.asked("cooling_size");
            self.text("capacity", "cooling_size", 0);
        } else {
            self.out.push('\n');
            self.asked("cooling");
            self.remark("No table [house.cooling]: the house is taken to have none.");
        }
    }

    fn windows(&mut self) {
        self.out.push('\n');
        self.asked("windows");
        self.asked("glazing");
        let sides: Vec<(String, String)> = match self.answers.get("windows") {
            Some(Answer::Word(_)) => Vec::new(),
            Some(Answer::Texts(texts)) => texts
                .chunks(2)
                .filter_map(|side| match side {
                    [faces, area] => Some((faces.clone(), quoted(area))),
                    _ => None,
                })
                .collect(),
            _ => ["south", "north"]
                .map(|faces| (faces.to_owned(), UNKNOWN.to_owned()))
                .to_vec(),
        };
        for (faces, area) in sides {
            let _ = writeln!(self.out, "[house.windows.{faces}]");
            self.pair("faces", &quoted(&faces));
            self.pair("area", &area);
            self.word("glazing", "glazing");
        }
    }

    fn roof(&mut self) {
        self.table("roof");
        self.asked("form");
        self.word("form", "form");
        if self.answers.word("form") == Some("one-slope") {
            self.asked("slope_faces");
            self.text("faces", "slope_faces", 0);
        } else {
            self.asked("ridge");
            self.text("ridge", "ridge", 0);
        }
        self.asked("pitch");
        self.text("pitch", "pitch", 0);
        self.asked("covering");
        self.word("covering", "covering");
        self.asked("colour");
        if let Some(colour) = self.answers.word("colour") {
            self.pair("colour", &quoted(colour));
        }
        self.pair("deck", UNKNOWN);
        self.table("attic");
        if self.answers.word("form") == Some("hip") {
            self.remark("A hip roof has no gable walls.");
        } else {
            let wall = match self.answers.word("walls") {
                Some("wood-siding-frame") => "\"wood-siding\"",
                Some("stucco-frame") => "\"stucco\"",
                Some("brick-veneer-frame" | "solid-brick") => "\"brick\"",
                Some("concrete-block") => "\"block\"",
                _ => UNKNOWN,
            };
            self.remark("Taken as the walls below.");
            self.pair("gable_wall", wall);
        }
        self.table("ceiling");
        self.asked("insulation");
        match self.answers.get("insulation") {
            Some(Answer::Word(_)) => self.pair("insulation", "\"none\""),
            Some(Answer::Texts(texts)) => {
                let key = match texts.first().map(String::as_str) {
                    Some("R") => "insulation",
                    _ => "insulation_thickness",
                };
                self.text(key, "insulation", 1);
            }
            _ => self.pair("insulation", UNKNOWN),
        }
        self.asked("insulation_kind");
        if self.answers.word("insulation") != Some("none") {
            self.word("insulation_material", "insulation_kind");
        }
    }

    fn vents(&mut self) {
        self.out.push('\n');
        self.asked("vents");
        self.asked("cover");
        let all_eaves = if self.answers.word("form") == Some("hip") {
            "\"all\""
        } else {
            "\"both\""
        };
        if self.answers.has("vents", "soffit") {
            self.opening("soffit", "soffit", Some(all_eaves), "soffit");
        }
        if self.answers.has("vents", "ridge") {
            let _ = writeln!(self.out, "[openings.ridge]");
            self.pair("place", "\"ridge\"");
            self.asked("ridge_vent");
            let length_m = self
                .answers
                .text("ridge_vent", 0)
                .and_then(|text| parse(text, Dimension::Length).ok());
            if let Some(length_m) = length_m {
                self.remark("18 in2 of free area a foot, as fan makers' manuals reckon.");
                let area_in2 = length_m / 0.3048 * RIDGE_IN2_PER_FT;
                self.pair("net_area", &format!("\"{area_in2:.0} in2\""));
            } else {
                self.pair("net_area", UNKNOWN);
            }
        }
        if self.answers.has("vents", "gable") {
            self.opening("gable", "gable", Some("\"both\""), "gable");
        }
        if self.answers.has("vents", "roof") {
            let faces = (self.answers.word("form") != Some("one-slope")).then_some("\"both\"");
            self.opening("roof", "slope", faces, "roof_vents");
        }
        if matches!(self.answers.get("vents"), None | Some(Answer::Unknown)) {
            let _ = writeln!(self.out, "[openings.somewhere]");
            self.pair("place", "\"soffit\"");
            self.pair("faces", all_eaves);
            self.pair("net_area", UNKNOWN);
        }
    }

    fn opening(&mut self, name: &str, place: &str, faces: Option<&str>, id: &str) {
        let _ = writeln!(self.out, "[openings.{name}]");
        self.pair("place", &quoted(place));
        if let Some(faces) = faces {
            self.pair("faces", faces);
        }
        self.asked(id);
        let count = self.answers.count(id).max(1);
        self.pair("count", &count.to_string());
        if self.hole(id) {
            let (louvre, screen) = match self.answers.word("cover") {
                Some("open") => (None, Some("quarter-inch-mesh")),
                Some("fine-mesh") => (None, Some("eighth-inch-mesh")),
                Some("insect-mesh") => (None, Some("insect-mesh")),
                Some("wood-louvre") => (Some("wood"), Some("insect-mesh")),
                Some("metal-louvre") => (Some("metal"), Some("eighth-inch-mesh")),
                _ => (None, None),
            };
            for (key, value) in [("louvre", louvre), ("screen", screen)] {
                self.pair(key, &value.map_or(UNKNOWN.to_owned(), quoted));
            }
        }
    }

    /// The hole of vents, or their net free area; says whether it was a hole.
    fn hole(&mut self, id: &str) -> bool {
        let size = |at: usize| quoted(self.answers.text(id, at).unwrap_or_default());
        let (key, value) = match self.answers.text(id, 1) {
            Some("round") => (
                "hole",
                format!("{{ shape = \"round\", diameter = {} }}", size(2)),
            ),
            Some("rectangle") if id == "soffit" => (
                "hole",
                // Under an eave the longer side may be a strip's.
                format!(
                    "{{ shape = \"strip\", length = {}, width = {} }}",
                    size(2),
                    size(3)
                ),
            ),
            Some("rectangle") => (
                "hole",
                format!(
                    "{{ shape = \"rectangle\", width = {}, height = {} }}",
                    size(2),
                    size(3)
                ),
            ),
            Some(_) => ("net_area", size(2)),
            None => ("net_area", UNKNOWN.to_owned()),
        };
        self.pair(key, &value);
        key == "hole"
    }

    fn fans(&mut self) {
        self.out.push('\n');
        self.asked("fans");
        let count = self.answers.count("fans");
        if count > 0 {
            let _ = writeln!(self.out, "[fans.attic]");
            self.pair("count", &count.to_string());
            self.asked("fan_flow");
            self.text("flow", "fan_flow", 0);
            self.pair("shut_off", UNKNOWN);
            self.asked("fan_power");
            self.text("power", "fan_power", 0);
            self.asked("fan_hole");
            let hole = self.answers.text("fan_hole", 0);
            if hole.is_none() {
                self.remark("Not known; a hole of 10 in stands in.");
            }
            let hole = quoted(hole.unwrap_or("10 in"));
            self.pair(
                "hole",
                &format!("{{ shape = \"round\", diameter = {hole} }}"),
            );
            self.asked("fan_place");
            let hip = self.answers.word("form") == Some("hip");
            let place = match self.answers.word("fan_place") {
                Some(place) => place,
                None if hip => "slope",
                None => "gable",
            };
            self.pair("place", &quoted(place));
            if self.answers.word("form") != Some("one-slope") || place == "gable" {
                self.pair("faces", "\"both\"");
            }
            if self.answers.word("fan_switch") != Some("always") {
                self.pair("control", "\"attic fans\"");
            }
        }
        self.table("barrier");
        self.asked("foil");
        self.word("place", "foil");
        if self.answers.word("foil") == Some("rafters") {
            self.asked("channel");
            self.word("channel", "channel");
        }
    }

    fn rest(&mut self) {
        if self.answers.count("fans") > 0 && self.answers.word("fan_switch") != Some("always") {
            self.table("controls.\"attic fans\"");
            self.asked("fan_switch");
            self.pair("kind", "\"thermostat\"");
            let on = self.answers.text("fan_switch", 0);
            if on.is_none() {
                self.remark("Not known; 105 F is a usual setting.");
            }
            let on = quoted(on.unwrap_or("105 F"));
            self.pair("on", &on);
            self.pair("differential", "\"10 F\"");
            self.pair("sensor", "\"attic\"");
        } else if self.answers.count("fans") > 0 {
            self.out.push('\n');
            self.asked("fan_switch");
        }
        if self.answers.word("airing") == Some("yes") {
            self.table("controls.\"night air\"");
            self.pair("kind", "\"timer\"");
            self.pair("between", "[\"20:00\", \"08:00\"]");
            self.pair("sensor", "\"living\"");
            self.pair("only_if_outdoors_cooler", "\"2 F\"");
        }
        self.out.push('\n');
        self.asked("flames");
        if self.answers.word("flames") == Some("yes") {
            self.remark(
                "So before fans run: a carbon monoxide alarm, and a test of the draught with all \
                 of them on.",
            );
        }
        self.out.push('\n');
        self.asked("logger");
        self.asked("shield");
        if self.answers.word("logger") != Some("none") {
            let _ = writeln!(self.out, "[sensors.attic]");
            self.pair("zone", "\"attic\"");
            self.text("height", "logger", 0);
            let shielding = match self.answers.word("shield") {
                Some("bare") => "0",
                Some(_) => "0.8",
                None => UNKNOWN,
            };
            self.pair("shielding", shielding);
        }
        if self.answers.word("foil") == Some("none") {
            self.out.push('\n');
            self.remark("A first thing to compare: foil under the rafters.");
            self.out
                .push_str("[designs.foil]\nbarrier.place = \"rafters\"\n");
        }
    }

    fn table(&mut self, path: &str) {
        let _ = writeln!(self.out, "\n[{path}]");
    }

    fn pair(&mut self, key: &str, value: &str) {
        let _ = writeln!(self.out, "{key} = {value}");
    }

    /// A key with the text of an answer.
    fn text(&mut self, key: &str, id: &str, at: usize) {
        let value = self.answers.text(id, at);
        let value = value.map_or(UNKNOWN.to_owned(), quoted);
        self.pair(key, &value);
    }

    /// A key with the word of an answer.
    fn word(&mut self, key: &str, id: &str) {
        let value = self.answers.word(id);
        let value = value.map_or(UNKNOWN.to_owned(), quoted);
        self.pair(key, &value);
    }

    /// A question and its answer as remarks, if it was asked.
    fn asked(&mut self, id: &str) {
        let question = QUESTIONS.iter().find(|question| question.id == id);
        if let (Some(question), Some(answer)) = (question, self.answers.get(id)) {
            self.remark(question.ask);
            let answer = match answer {
                Answer::Unknown => "don't know".to_owned(),
                other => reading::echo(question, other),
            };
            self.remark(&format!("-> {answer}"));
        }
    }

    /// Words as remarks.
    fn remark(&mut self, words: &str) {
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

const UNKNOWN: &str = "\"unknown\"";

fn quoted(text: impl AsRef<str>) -> String {
    let text = text.as_ref().replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{text}\"")
}
