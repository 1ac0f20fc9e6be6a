//! Fans: what blows, how much, through what, where, and when.

use std::fmt::Write as _;

use crate::units::{Dimension, parse};

use super::label::Label;
use super::phrase::{self, Item, Words, Wrong, both, once, whole, within};
use super::question::Question;
use super::writing::Page;
use super::{Answers, vents};

/// Like fans.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Fans {
    name: String,
    count: Option<u32>,
    label: Label,
    place: Option<&'static str>,
    in_vent: bool,
    supply: bool,
    switch: Option<Switch>,
}

/// When fans run.
#[derive(Debug, Clone, PartialEq)]
enum Switch {
    Always,
    Above(String),
    Between(String, String),
}

pub(super) const FANS: Question = Question::at(
    "fans",
    "fans",
    "Are there fans at the attic? How many, where, with what on the label, through how wide a hole, \
     and when do they run? A semicolon parts different ones. They blow out unless you say supply.",
    "\"8 fans in the gable vents, 75 cfm, 5 W, 6 in hole, on at 105 F\", \"1 roof fan 1000 cfm 14 \
     in always; 2 supply fans in the soffit\", \"whole-house fan 3200 cfm 24x24 in\" or \"none\"",
    read,
)
.choosing(&[
    ("gable", "in an end wall, or \"in the gable vents\" that are there"),
    ("roof, ridge, soffit", "in a slope, along the top, under the eave"),
    ("whole-house", "in the ceiling, blows from the rooms into the attic"),
])
.else_taken("not known: none is taken");

pub(super) const LABEL: Question = Question::after(
    |answers| fans(answers).iter().any(Fans::lacks_label),
    "fan_label",
    "What stands on the label of one fan, and how wide is the hole that it blows through? Air flow, \
     power, or volts and amps.",
    "\"75 cfm, 5 W, 6 in\", \"130 m3/h, 12 V 0.4 A, 150 mm\" or a part of it",
    |typed, answers| {
        let mut label = Label::default();
        for piece in phrase::pieces(typed) {
            for item in phrase::items(&piece.text, WORDS, DIMENSIONS)? {
                label.fill(&item)?;
            }
        }
        label.settle()?;
        let groups = answers.fans.iter_mut().flatten();
        for group in groups.filter(|group| group.lacks_label()) {
            group.label.fill_up(&label);
        }
        Ok(label.said())
    },
);

pub(super) const SWITCH: Question = Question::after(
    |answers| fans(answers).iter().any(|group| group.switch.is_none()),
    "fan_switch",
    "When do they run? At which temperature (of the attic; of the rooms for a whole-house fan) do \
     they switch on, or between which hours?",
    "\"105 F\", \"40 C\", \"8 pm to 8 am\" or \"always\"",
    |typed, answers| {
        let mut group = Fans::default();
        let mut times = Vec::new();
        for piece in phrase::pieces(typed) {
            for item in phrase::items(&piece.text, WORDS, DIMENSIONS)? {
                group.fill(item, &mut times)?;
            }
        }
        group.between(&times)?;
        let switch = group.switch.ok_or("a temperature or hours are needed")?;
        let said = switch.said();
        let groups = answers.fans.iter_mut().flatten();
        for group in groups.filter(|group| group.switch.is_none()) {
            group.switch = Some(switch.clone());
        }
        Ok(said)
    },
)
.else_taken("not known: attic fans on at 105 °F (40.6 °C), whole-house fans by night");

const WORDS: &Words = &[
    (
        "fan",
        &[
            "ventilator",
            "blower",
            "exhaust fan",
            "powered vent",
            "power vent",
        ],
    ),
    ("gable", &["end wall", "end walls", "gable end", "wall"]),
    (
        "roof",
        &["slope", "through the roof", "on the roof", "on roof"],
    ),
    ("soffit", &["eave", "eaves", "under the eaves"]),
    ("ridge", &[]),
    (
        "ceiling",
        &[
            "whole house",
            "whole house fan",
            "house fan",
            "hall",
            "hallway",
            "attic floor",
        ],
    ),
    (
        "in-vent",
        &[
            "in the vent",
            "in the vents",
            "in the gable vent",
            "in gable vent",
            "gable vent",
            "in the louvre",
            "in existing vents",
        ],
    ),
    (
        "supply",
        &[
            "intake",
            "in blowing",
            "blowing in",
            "blow in",
            "blows in",
            "inward",
            "into the attic",
            "pushing in",
            "push in",
        ],
    ),
    (
        "exhaust",
        &["blowing out", "blow out", "blows out", "out", "outward"],
    ),
    (
        "always",
        &[
            "day and night",
            "all day",
            "constantly",
            "continuous",
            "24 7",
            "all the time",
        ],
    ),
    ("none", &["no", "no fan", "nothing"]),
    (
        "",
        &[
            "thermostat",
            "by hand",
            "hand",
            "morning",
            "afternoon",
            "evening",
            "daytime",
            "electric",
            "above",
            "from",
            "until",
            "till",
            "on at",
            "switched",
            "switch",
            "runs",
            "run",
            "running",
            "blowing",
            "free air",
            "round",
            "diameter",
            "label",
            "dc",
            "small",
            "big",
            "solar",
            "attic",
            "between",
            "static",
            "pressure",
            "night",
            "moving",
            "moves",
            "together",
            "set",
            "blow",
            "through",
            "when",
            "existing",
            "says",
            "draws",
        ],
    ),
];

const DIMENSIONS: &[Dimension] = &[
    Dimension::AirFlow,
    Dimension::Power,
    Dimension::Voltage,
    Dimension::Current,
    Dimension::Pressure,
    Dimension::Length,
    Dimension::Temperature,
    Dimension::ClockTime,
];

/// The fans that were described.
fn fans(answers: &Answers) -> &[Fans] {
    answers.fans.as_deref().unwrap_or_default()
}

fn read(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut groups: Vec<Fans> = Vec::new();
    let mut times = Vec::new();
    let mut none = false;
    let mut blown = false;
    // "day and night" is no list.
    for piece in phrase::pieces(&typed.replace("day and night", "always")) {
        let items = phrase::items(&piece.text, WORDS, DIMENSIONS)?;
        let is = |word| items.contains(&Item::Word(word));
        if is("none") || items.first() == Some(&Item::Number(0.0)) {
            none = true;
            continue;
        }
        let anew = piece.is_first || (blown && (is("fan") || is("ceiling")));
        if groups.is_empty() || anew {
            if let Some(group) = groups.last_mut() {
                group.between(&times)?;
            }
            times.clear();
            groups.push(Fans::default());
            blown = false;
        }
        blown |= is("fan") || is("ceiling");
        if let Some(group) = groups.last_mut() {
            for item in items {
                group.fill(item, &mut times)?;
            }
        }
    }
    if let Some(group) = groups.last_mut() {
        group.between(&times)?;
    }
    if none != groups.is_empty() {
        return Err("how many fans there are is needed, or none".into());
    }
    let has_gable = vents::vents(answers)
        .iter()
        .any(|vent| vent.kind == "gable");
    let form = answers.roof.as_ref().and_then(|roof| roof.form);
    let usual = if form == Some("hip") { "roof" } else { "gable" };
    for at in 0..groups.len() {
        let mut group = groups[at].clone();
        group.label.settle()?;
        let place = group
            .place
            .unwrap_or(if group.in_vent { "gable" } else { usual });
        group.in_vent &= has_gable && place == "gable";
        group.place = Some(place);
        let name = match place {
            "ceiling" => "whole house",
            place => place,
        };
        let before = groups[..at]
            .iter()
            .filter(|other| other.place == group.place);
        group.name = match before.count() {
            0 => name.to_owned(),
            same => format!("{name} {}", same + 1),
        };
        groups[at] = group;
    }
    let echo: Vec<String> = groups.iter().map(Fans::said).collect();
    answers.fans = Some(groups);
    Ok(if none {
        "none".to_owned()
    } else {
        echo.join("; ")
    })
}

impl Switch {
    fn said(&self) -> String {
        match self {
            Self::Always => "always on".to_owned(),
            Self::Above(text) => format!("on at {}", both(text, Dimension::Temperature)),
            Self::Between(from, to) => format!("from {from} to {to}"),
        }
    }
}

impl Fans {
    fn lacks_label(&self) -> bool {
        self.label.is_partial()
    }

    fn fill(&mut self, item: Item, times: &mut Vec<String>) -> Result<(), String> {
        match item {
            Item::Number(number) => once(&mut self.count, whole(number, [1, 40])?, "the number"),
            Item::Word(place @ ("gable" | "roof" | "soffit" | "ridge" | "ceiling")) => {
                match self.place {
                    Some(known) if known == place => Ok(()),
                    _ => once(&mut self.place, place, "the place"),
                }
            }
            Item::Word("in-vent") => {
                self.in_vent = true;
                Ok(())
            }
            Item::Word("supply") => {
                self.supply = true;
                Ok(())
            }
            Item::Word("always") => once(&mut self.switch, Switch::Always, "when they run"),
            Item::Quantity(Dimension::Temperature, text) => {
                let text = within(&text, Dimension::Temperature, [-5.0, 80.0])?;
                once(&mut self.switch, Switch::Above(text), "when they run")
            }
            Item::Quantity(Dimension::ClockTime, text) => {
                times.push(text);
                Ok(())
            }
            item => self.label.fill(&item),
        }
    }

    /// Hours between which they run.
    fn between(&mut self, times: &[String]) -> Result<(), String> {
        let clock = |text: &String| {
            let minutes = (parse(text, Dimension::ClockTime).unwrap_or(0.0) / 60.0).round();
            format!(
                "{:02}:{:02}",
                (minutes / 60.0).floor() % 24.0,
                minutes % 60.0
            )
        };
        match times {
            [] => Ok(()),
            [from, to] if clock(from) != clock(to) => {
                let switch = Switch::Between(clock(from), clock(to));
                once(&mut self.switch, switch, "when they run")
            }
            _ => Err("two different times are needed, such as 8 pm to 8 am".to_owned()),
        }
    }

    fn said(&self) -> String {
        let count = self.count.unwrap_or(1);
        let place = match self.place {
            Some("ceiling") => "whole-house",
            Some(place) if self.in_vent => &format!("{place} vent"),
            place => place.unwrap_or_default(),
        };
        let way = if self.supply { ", blowing in" } else { "" };
        let mut said = format!("{count} {place}{way}: {}", self.label.said());
        if let Some(switch) = &self.switch {
            let _ = write!(said, ", {}", switch.said());
        }
        said
    }

    fn is_whole_house(&self) -> bool {
        self.place == Some("ceiling")
    }

    fn control(&self) -> Option<String> {
        (self.switch != Some(Switch::Always)).then(|| format!("{} fans", self.name))
    }

    fn write(&self, page: &mut Page<'_>, one_slope: bool, gable: Option<&str>) {
        page.named("fans", &self.name);
        page.bare("count", &self.count.unwrap_or(1).to_string());
        let usual = if self.is_whole_house() {
            "24 in"
        } else {
            "10 in"
        };
        self.label.write(page, usual);
        let place = match self.place {
            Some("roof") => "slope",
            place => place.unwrap_or("gable"),
        };
        match gable {
            Some(vent) if self.in_vent => page.pair("in_opening", vent),
            _ => {
                page.pair("place", place);
                match place {
                    "gable" => page.pair("faces", "both"),
                    "slope" | "soffit" if !one_slope || place == "soffit" => {
                        page.pair("faces", "both");
                    }
                    _ => {}
                }
            }
        }
        if self.supply && !self.is_whole_house() {
            page.pair("direction", "supply");
        }
        if let Some(control) = self.control() {
            page.pair("control", &control);
        }
    }

    fn write_control(&self, page: &mut Page<'_>) {
        let Some(control) = self.control() else {
            return;
        };
        page.named("controls", &control);
        let sensor = if self.is_whole_house() {
            "living"
        } else {
            "attic"
        };
        match &self.switch {
            Some(Switch::Between(from, to)) => {
                page.pair("kind", "timer");
                page.bare("between", &format!("[\"{from}\", \"{to}\"]"));
            }
            None if self.is_whole_house() => {
                page.remark("Not known; by night, while it is cooler outdoors.");
                page.pair("kind", "timer");
                page.bare("between", "[\"20:00\", \"08:00\"]");
            }
            switch => {
                let on = if let Some(Switch::Above(on)) = switch {
                    on
                } else {
                    page.remark("Not known; 105 F is a usual setting.");
                    "105 F"
                };
                page.pair("kind", "thermostat");
                page.pair("on", on);
                let differential = if self.is_whole_house() { "2 F" } else { "10 F" };
                page.pair("differential", differential);
            }
        }
        page.pair("sensor", sensor);
        if self.is_whole_house() {
            page.pair("only_if_outdoors_cooler", "2 F");
        }
    }
}

/// Whether a whole-house fan blows, which needs open windows.
pub(super) fn is_whole_house(answers: &Answers) -> bool {
    fans(answers).iter().any(Fans::is_whole_house)
}

pub(super) fn write(page: &mut Page<'_>) {
    page.gap();
    for id in ["fans", "fan_label", "fan_switch"] {
        page.asked(id);
    }
    let form = page.answers.roof.as_ref().and_then(|roof| roof.form);
    let vents = vents::vents(page.answers).to_vec();
    let gable = vents.iter().find(|vent| vent.kind == "gable");
    for group in fans(page.answers).to_vec() {
        let gable = gable.map(|vent| vent.name.as_str());
        group.write(page, form == Some("one-slope"), gable);
    }
}

pub(super) fn write_controls(page: &mut Page<'_>) {
    for group in fans(page.answers).to_vec() {
        group.write_control(page);
    }
}
