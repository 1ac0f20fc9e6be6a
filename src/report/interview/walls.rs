//! Outer walls, windows, and how heavy the inside is.

use crate::units::Dimension;

use super::phrase::{self, Item, Words, both, once, within};
use super::question::Question;
use super::writing::Page;
use super::{Answers, plan};

/// Walls, windows and what stands inside.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Walls {
    wall: Option<&'static str>,
    mass: Option<&'static str>,
    glazing: Option<&'static str>,
    /// Sides and areas; none where there are no windows.
    windows: Option<Vec<(&'static str, String)>>,
}

pub(super) const WALLS: Question = Question::at(
    "the rooms",
    "walls",
    "What are the outer walls made of, what windows are on which side and how large together, \
     frames included, and how heavy is the inside? One window of 5 ft x 4 ft is 20 ft2.",
    "\"stucco, double windows south 70 ft2, north 60 ft2, light\", or as much of it as you know",
    read,
)
.only(|answers| !answers.is_porch())
.choosing(&[
    (
        "walls",
        "wood siding, stucco, brick veneer (all on a wooden frame),",
    ),
    ("", "concrete block, solid brick"),
    (
        "windows",
        "single, single metal frame, double, low-e; or no windows",
    ),
    (
        "inside",
        "light (furniture, wooden partitions), medium (some",
    ),
    (
        "",
        "masonry or stone floors), heavy (inner walls of masonry)",
    ),
]);

const WORDS: &Words = &[
    (
        "wood-siding-frame",
        &[
            "wood siding",
            "siding",
            "wood",
            "boards",
            "clapboard",
            "vinyl siding",
            "vinyl",
            "wood frame",
            "wooden",
            "weatherboard",
            "shiplap",
        ],
    ),
    ("stucco-frame", &["stucco", "render", "plaster"]),
    ("brick-veneer-frame", &["brick veneer", "brick", "bricks"]),
    (
        "concrete-block",
        &["block", "blocks", "cinder block", "cmu", "concrete"],
    ),
    ("solid-brick", &["double brick", "brick solid"]),
    (
        "single",
        &["single pane", "single glazed", "single glazing", "one pane"],
    ),
    (
        "single-aluminium-frame",
        &[
            "single metal",
            "single metal frame",
            "single pane metal",
            "single pane aluminum",
            "single pane aluminium",
            "single aluminum frame",
            "single aluminum",
            "single aluminium",
            "aluminum",
            "aluminium",
            "metal frame",
            "metal",
        ],
    ),
    (
        "double",
        &[
            "double pane",
            "double glazed",
            "double glazing",
            "two panes",
            "dual pane",
            "thermopane",
        ],
    ),
    (
        "double-low-e",
        &["low e", "coated", "double coated", "double pane low e"],
    ),
    ("triple-low-e", &["triple", "triple pane", "triple glazing"]),
    ("light", &["light inside", "furniture"]),
    (
        "medium",
        &[
            "medium inside",
            "some masonry",
            "stone floors",
            "tile floors",
        ],
    ),
    ("heavy", &["heavy inside", "masonry inside", "massive"]),
    (
        "all",
        &[
            "each side",
            "every side",
            "all sides",
            "on each side",
            "on every side",
            "all four sides",
        ],
    ),
    ("north", &["n"]),
    ("northeast", &["ne"]),
    ("east", &["e"]),
    ("southeast", &["se"]),
    ("south", &["s"]),
    ("southwest", &["sw"]),
    ("west", &["w"]),
    ("northwest", &["nw"]),
    ("none", &["no windows", "no window", "without windows"]),
    (
        "",
        &[
            "window",
            "wall",
            "outer",
            "frame",
            "frames",
            "pane",
            "panes",
            "glass",
            "total",
            "together",
            "light windows",
            "facing",
            "mostly",
        ],
    ),
];

const SIDES: &[&str] = &[
    "north",
    "northeast",
    "east",
    "southeast",
    "south",
    "southwest",
    "west",
    "northwest",
];

fn read(typed: &str, answers: &mut Answers) -> Result<String, String> {
    let mut walls = Walls::default();
    let mut windows: Vec<(&'static str, String)> = Vec::new();
    let mut none = false;
    for piece in phrase::pieces(&typed.replace(':', " ")) {
        let mut sides: Vec<&'static str> = Vec::new();
        let mut area = None;
        for item in phrase::items(&piece.text, WORDS, &[Dimension::Area])? {
            match item {
                Item::Word("none") => none = true,
                Item::Word("all") => sides.extend(["north", "east", "south", "west"]),
                Item::Word(side) if SIDES.contains(&side) => sides.push(side),
                Item::Word(mass @ ("light" | "medium" | "heavy")) => {
                    once(&mut walls.mass, mass, "how heavy the inside is")?;
                }
                Item::Word(word) if is_glazing(word) => {
                    once(&mut walls.glazing, word, "the kind of window")?;
                }
                Item::Word(word) => once(&mut walls.wall, word, "what the walls are made of")?,
                Item::Quantity(_, text) => {
                    let text = within(&text, Dimension::Area, [0.1, 100.0])?;
                    once(&mut area, text, "an area")?;
                }
                _ => return Err("window areas have a unit: 70 ft2 or 6.5 m2".to_owned()),
            }
        }
        match (sides.as_slice(), area) {
            ([], None) => {}
            ([], Some(area)) => return Err(format!("on which side are the {area} of windows?")),
            (_, None) => return Err("how large are the windows of that side?".to_owned()),
            (sides, Some(area)) => {
                for side in sides {
                    if windows.iter().any(|(known, _)| known == side) {
                        return Err(format!("{side} is there twice"));
                    }
                    windows.push((side, area.clone()));
                }
            }
        }
    }
    if none && !windows.is_empty() {
        return Err("no windows does not go with windows".to_owned());
    }
    walls.windows = (none || !windows.is_empty()).then_some(windows);
    if walls == Walls::default() {
        return Err("a word for the walls or windows with their sides are needed".to_owned());
    }
    let echo = walls.said();
    answers.walls = Some(walls);
    Ok(echo)
}

fn is_glazing(word: &str) -> bool {
    ["single", "double", "triple"]
        .iter()
        .any(|kind| word.starts_with(kind))
}

impl Walls {
    fn said(&self) -> String {
        let windows = match &self.windows {
            None => "areas not known".to_owned(),
            Some(windows) if windows.is_empty() => "none".to_owned(),
            Some(windows) => {
                let sides: Vec<String> = windows
                    .iter()
                    .map(|(side, area)| format!("{side} {}", both(area, Dimension::Area)))
                    .collect();
                sides.join(", ")
            }
        };
        format!(
            "{}; windows {}: {windows}; inside {}",
            self.wall.unwrap_or("walls not known"),
            self.glazing.unwrap_or("of unknown kind"),
            self.mass.unwrap_or("not known"),
        )
    }
}

/// What the attic's upright walls are made of, as the walls below.
pub(super) fn gable(answers: &Answers) -> Option<&'static str> {
    match answers.walls.as_ref()?.wall? {
        "wood-siding-frame" => Some("wood-siding"),
        "stucco-frame" => Some("stucco"),
        "brick-veneer-frame" | "solid-brick" => Some("brick"),
        "concrete-block" => Some("block"),
        _ => None,
    }
}

/// What belongs to the table of the house, then its floor and its windows.
pub(super) fn write(page: &mut Page<'_>) {
    if page.answers.is_porch() {
        page.remark("Nothing but outdoors below.");
        page.pair("rooms", "outdoors");
        return;
    }
    page.asked("walls");
    let walls = page.answers.walls.clone().unwrap_or_default();
    page.maybe("wall", walls.wall);
    page.maybe("mass", walls.mass);
    page.maybe("leakage", None);
    plan::write_floor(page);
    let unknown = ["south", "north"].map(|side| (side, None));
    let windows: Vec<(&str, Option<String>)> = match walls.windows {
        Some(windows) => windows
            .into_iter()
            .map(|(side, area)| (side, Some(area)))
            .collect(),
        None => unknown.to_vec(),
    };
    for (side, area) in windows {
        page.table(&format!("house.windows.{side}"));
        page.pair("faces", side);
        page.maybe("area", area.as_deref());
        page.maybe("glazing", walls.glazing);
    }
}
