//! How the rooms are kept cool.

use crate::units::Dimension;

use super::fans;
use super::phrase::{self, Item, Words, Wrong, both, once, or_unknown, within};
use super::question::Question;
use super::writing::Page;

/// How the rooms are kept cool.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Cooling {
    none: bool,
    airing: bool,
    plant: bool,
    set_point: Option<String>,
    capacity: Option<String>,
    /// Whether there are any in the attic, if that was said.
    ducts: Option<bool>,
    duct_insulation: Option<String>,
    duct_area: Option<String>,
}

pub(super) const COOLING: Question = Question::at(
    "cooling",
    "cooling",
    "What keeps the rooms cool: windows open on summer nights, air conditioning? At which \
     temperature is it set, how large is it by its label, and do its ducts run through the attic?",
    "\"windows at night\", \"AC 78 F, 3 tons, ducts in the attic R-6\" or \"none\"",
    read,
)
.only(|answers| !answers.is_porch())
.else_taken("not known: none, and windows kept shut");

const WORDS: &Words = &[
    ("none", &["no", "nothing", "neither"]),
    (
        "windows",
        &[
            "window",
            "open windows",
            "night air",
            "airing",
            "windows at night",
            "windows open",
        ],
    ),
    (
        "AC",
        &[
            "ac",
            "a/c",
            "a c",
            "air conditioning",
            "air conditioner",
            "aircon",
            "air con",
            "central air",
            "heat pump",
            "split",
            "mini split",
            "window unit",
            "cooling",
            "plant",
            "central ac",
        ],
    ),
    (
        "ducts",
        &["duct", "ductwork", "ducts in the attic", "ducts in attic"],
    ),
    (
        "no-ducts",
        &[
            "no ducts",
            "no duct",
            "without ducts",
            "ductless",
            "no ducts in the attic",
        ],
    ),
    (
        "",
        &[
            "night",
            "nights",
            "summer",
            "set",
            "attic",
            "open",
            "opened",
            "ton",
            "evening",
            "summer nights",
            "thermostat",
            "insulated",
            "size",
            "through the attic",
        ],
    ),
];

fn read(typed: &str, answers: &mut super::Answers) -> Result<String, Wrong> {
    let mut cooling = Cooling::default();
    let dimensions = [
        Dimension::Power,
        Dimension::Temperature,
        Dimension::ThermalResistance,
        Dimension::Area,
    ];
    for piece in phrase::pieces(typed) {
        for item in phrase::items(&piece.text, WORDS, &dimensions)? {
            match item {
                Item::Word("none") => cooling.none = true,
                Item::Word("windows") => cooling.airing = true,
                Item::Word("AC") => cooling.plant = true,
                Item::Word("ducts") => cooling.ducts = Some(true),
                Item::Word("no-ducts") => cooling.ducts = Some(false),
                Item::Word(_) => {}
                Item::Quantity(Dimension::Temperature, text) => {
                    let text = within(&text, Dimension::Temperature, [15.0, 35.0])?;
                    once(&mut cooling.set_point, text, "the temperature")?;
                    cooling.plant = true;
                }
                Item::Quantity(Dimension::Power, text) => {
                    let text = within(&text, Dimension::Power, [500.0, 60e3])?;
                    once(&mut cooling.capacity, text, "the size")?;
                    cooling.plant = true;
                }
                Item::Quantity(Dimension::ThermalResistance, text) => {
                    let text = within(&text, Dimension::ThermalResistance, [0.0, 3.5])?;
                    once(
                        &mut cooling.duct_insulation,
                        text,
                        "the R-value of the ducts",
                    )?;
                    cooling.ducts = Some(true);
                }
                Item::Quantity(_, text) => {
                    let text = within(&text, Dimension::Area, [0.0, 200.0])?;
                    once(&mut cooling.duct_area, text, "the surface of the ducts")?;
                    cooling.ducts = Some(true);
                }
                Item::Number(number) => {
                    return Err(
                        format!("{number} has no unit: is it {number} F or {number} C?").into(),
                    );
                }
                Item::Size(..) => return Err("its size is in tons, Btu/h or kW".into()),
            }
        }
    }
    if cooling == Cooling::default() {
        return Err("windows, AC or none is needed".into());
    }
    if cooling.ducts == Some(true) && !cooling.plant {
        return Err("ducts belong to air conditioning: is there any?".into());
    }
    if cooling.none && cooling.plant {
        return Err("none does not go with air conditioning".into());
    }
    let echo = cooling.said();
    answers.cooling = Some(cooling);
    Ok(echo)
}

impl Cooling {
    fn said(&self) -> String {
        let mut said = Vec::new();
        if self.airing {
            said.push("windows open by night while it is cooler outdoors".to_owned());
        }
        if self.plant {
            said.push(format!(
                "air conditioning set to {}, size {}",
                or_unknown(self.set_point.as_ref(), Dimension::Temperature),
                or_unknown(self.capacity.as_ref(), Dimension::Power)
            ));
            said.push(match (self.ducts, &self.duct_insulation) {
                (Some(true), Some(r)) => {
                    format!(
                        "ducts of {} in the attic",
                        both(r, Dimension::ThermalResistance)
                    )
                }
                (Some(true), None) => "ducts in the attic".to_owned(),
                (Some(false), _) => "no ducts in the attic".to_owned(),
                (None, _) => "nothing said of ducts in the attic".to_owned(),
            });
        }
        if said.is_empty() {
            said.push("none, windows kept shut".to_owned());
        }
        said.join("; ")
    }
}

pub(super) fn write(page: &mut Page<'_>) {
    if page.answers.is_porch() {
        return;
    }
    page.gap();
    page.asked("cooling");
    let cooling = page.answers.cooling.clone().unwrap_or_default();
    if airs(page) {
        page.table("house.airing");
        page.pair("area", "8 ft2");
        page.pair("faces", "south");
        page.pair("control", "night air");
    }
    if cooling.plant {
        page.table("house.cooling");
        page.maybe("set_point", cooling.set_point.as_deref());
        page.maybe("capacity", cooling.capacity.as_deref());
        match cooling.ducts {
            Some(true) => {
                page.table("house.ducts");
                page.maybe("area", cooling.duct_area.as_deref());
                page.maybe("insulation", cooling.duct_insulation.as_deref());
            }
            Some(false) => {
                page.table("house.ducts");
                page.pair("area", "0 ft2");
            }
            None => {}
        }
    } else {
        page.remark("No table [house.cooling]: the house is taken to have none.");
    }
}

pub(super) fn write_control(page: &mut Page<'_>) {
    if airs(page) && !page.answers.is_porch() {
        page.named("controls", "night air");
        page.pair("kind", "timer");
        page.bare("between", "[\"20:00\", \"08:00\"]");
        page.pair("sensor", "living");
        page.pair("only_if_outdoors_cooler", "2 F");
    }
}

/// Whether windows are opened: where a whole-house fan runs, they must be.
fn airs(page: &Page<'_>) -> bool {
    let said = page
        .answers
        .cooling
        .as_ref()
        .is_some_and(|cooling| cooling.airing);
    said || fans::is_whole_house(page.answers)
}
