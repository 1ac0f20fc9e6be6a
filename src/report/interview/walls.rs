//! Outer walls, windows, and how heavy the inside is.

use crate::units::show::COMPASS;
use crate::units::{Dimension, parse};

use super::phrase::{self, Item, Words, Wrong, both, once, whole, within};
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
    "What are the outer walls made of, what windows are on which side and how large are they, frames \
     included, and how heavy is the inside?",
    "\"stucco, double windows south 70 ft2, north three 5 x 4 ft, light\", or as much of it as you \
     know",
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
            "window", "wall", "outer", "frame", "frames", "pane", "panes", "glass", "total",
            "together", "door", "doors", "sliding", "slider", "old", "new", "facing", "mostly",
        ],
    ),
];

fn read(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut walls = Walls::default();
    let mut windows: Vec<(&'static str, String)> = Vec::new();
    let mut none = false;
    // Where the windows of the piece before begin.
    let mut last = 0;
    for piece in phrase::pieces(&typed.replace(':', " ")) {
        let mut sides: Vec<&'static str> = Vec::new();
        let mut areas_m2 = Vec::new();
        let mut typed = None;
        let mut count = None;
        for item in phrase::items(&piece.text, WORDS, &[Dimension::Area, Dimension::Length])? {
            match item {
                Item::Word("none") => none = true,
                Item::Word("all") => sides.extend(["north", "east", "south", "west"]),
                Item::Word(side) if COMPASS.contains(&side) => sides.push(side),
                Item::Word(mass @ ("light" | "medium" | "heavy")) => {
                    once(&mut walls.mass, mass, "how heavy the inside is")?;
                }
                Item::Word(word) if is_glazing(word) => {
                    once(&mut walls.glazing, word, "the kind of window")?;
                }
                Item::Word(word) => once(&mut walls.wall, word, "what the walls are made of")?,
                Item::Quantity(Dimension::Area, text) => {
                    areas_m2.push(in_si(&text, Dimension::Area));
                    typed = Some(text);
                }
                Item::Size(width, height) => {
                    let [width_m, height_m] =
                        [width, height].map(|side| in_si(&side, Dimension::Length));
                    areas_m2.push(f64::from(count.take().unwrap_or(1)) * width_m * height_m);
                }
                Item::Number(number) => count = Some(whole(number, [1, 60])?),
                Item::Quantity(..) => return Err("how wide and how high is a window?".into()),
            }
        }
        if count.is_some() {
            return Err("window areas have a unit: 70 ft2 or 6.5 m2".into());
        }
        // A door after a comma is on the side before it.
        let is_more = sides.is_empty() && windows.len() == 1 + last;
        match (areas_m2.as_slice(), sides.as_slice()) {
            ([], []) => {}
            ([], _) => return Err("how large are the windows of that side?".into()),
            (_, []) if !is_more => return Err("on which side are those windows?".into()),
            (_, []) => {
                let before_m2 = windows
                    .last()
                    .map_or(0.0, |(_, area)| in_si(area, Dimension::Area));
                let area = said_area(areas_m2.iter().sum::<f64>() + before_m2, None)?;
                if let Some((_, known)) = windows.last_mut() {
                    *known = area;
                }
            }
            (_, sides) => {
                last = windows.len();
                for side in sides {
                    if windows.iter().any(|(known, _)| known == side) {
                        return Err(format!("{side} is there twice").into());
                    }
                    let typed = typed.clone().filter(|_| areas_m2.len() == 1);
                    windows.push((side, said_area(areas_m2.iter().sum(), typed)?));
                }
            }
        }
    }
    if none && !windows.is_empty() {
        return Err("no windows does not go with windows".into());
    }
    walls.windows = (none || !windows.is_empty()).then_some(windows);
    if walls == Walls::default() {
        return Err("a word for the walls or windows with their sides are needed".into());
    }
    let echo = walls.said();
    answers.walls = Some(walls);
    Ok(echo)
}

fn in_si(text: &str, dimension: Dimension) -> f64 {
    parse(text, dimension).unwrap_or(0.0)
}

/// An area in its range, as it was typed if it was.
fn said_area(area_m2: f64, typed: Option<String>) -> Result<String, String> {
    let text = typed.unwrap_or_else(|| format!("{:.1} ft2", area_m2 / (0.3048 * 0.3048)));
    within(&text, Dimension::Area, [0.1, 100.0])
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
