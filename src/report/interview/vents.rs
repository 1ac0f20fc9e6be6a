//! Vents of the attic.

use std::fmt::Write as _;

use crate::units::{Dimension, parse};

use super::Answers;
use super::phrase::{self, Item, Words, Wrong, both, once, whole, within};
use super::question::Question;
use super::writing::Page;

/// Net free area of a ridge slot, in² for each foot: about 13 % of a foot's width.
///
/// Source: fan makers' installation manuals.
const RIDGE_IN2_PER_FT: f64 = 18.0;

/// Vents of one kind and size.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Vents {
    pub(super) kind: &'static str,
    count: Option<u32>,
    size: Option<Size>,
    cover: Option<&'static str>,
    /// Share that is shut, in hundredths.
    blocked: Option<String>,
    /// Of a turbine: flow from its sheet, and the wind of it.
    rated: [Option<String>; 2],
    pub(super) name: String,
}

/// Size of one vent.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Size {
    /// Net free area.
    Net(String),
    /// Diameter of a round hole, or length of a ridge slot.
    Length(String),
    /// Two sides.
    Sides(String, String),
}

pub(super) const VENTS: Question = Question::at(
    "vents of the attic",
    "vents",
    "Which vents has the attic, how many of each, and how large is one: its sides, or the net free \
     area printed on it? Look from outside, and from inside for daylight. Say \"half blocked\" of \
     those that paint or insulation shuts.",
    "\"10 soffit 16x8 in, 2 gable 14x18 in wood louvre\", \"ridge 30 ft, 3 roof 50 in2\", \
     \"2 turbines 12 in\" or \"none\"",
    read,
)
.drawn(
    r"
                 ridge
              __==____          soffit:  holes or strips under the eave
            / |roof|   \        ridge:   a slot along the top
          /   |____|     \      gable:   a louvre in the end wall
     ___/   |||| gable     \___ roof:    boxes or tiles on a slope
       soffit            soffit turbine: turned by the wind",
)
.else_taken("not known: soffit vents of a usual size, with a wide range, are taken");

pub(super) const COVER: Question = Question::after(
    |answers| vents(answers).iter().any(lacks_cover),
    "cover",
    "What covers those holes? Where it differs, take the largest vents.",
    "a number or the word",
    |typed, answers| {
        let cover = phrase::choice(typed, COVERS, COVER_WORDS)?;
        let groups = answers.vents.iter_mut().flatten();
        for group in groups.filter(|group| lacks_cover(group)) {
            group.cover = Some(cover);
        }
        Ok(cover.to_owned())
    },
)
.choosing(COVERS);

const COVERS: &[(&str, &str)] = &[
    ("open", "nothing, or mesh as coarse as 1/4 in"),
    ("fine-mesh", "mesh of about 1/8 in"),
    ("insect-mesh", "mesh as fine as a window screen"),
    ("wood-louvre", "wooden slats with insect mesh behind"),
    ("metal-louvre", "metal slats with mesh behind"),
];

const COVER_WORDS: &Words = &[
    (
        "open",
        &[
            "uncovered",
            "coarse mesh",
            "quarter inch mesh",
            "hardware cloth",
            "1/4 in mesh",
        ],
    ),
    ("fine-mesh", &["eighth inch mesh", "1/8 in mesh"]),
    (
        "insect-mesh",
        &[
            "insect screen",
            "bug screen",
            "window screen",
            "screened",
            "screen",
            "mesh",
            "netting",
        ],
    ),
    (
        "wood-louvre",
        &[
            "wood louvres",
            "wooden louvre",
            "wooden louvres",
            "wood louver",
            "wooden louver",
            "wooden slats",
            "wood slats",
            "wood",
        ],
    ),
    (
        "metal-louvre",
        &[
            "metal louver",
            "metal slats",
            "aluminium louvre",
            "aluminum louver",
            "metal",
            "louvre",
            "louver",
            "slats",
        ],
    ),
];

const KINDS: &Words = &[
    (
        "soffit",
        &[
            "eave",
            "eaves",
            "under eaves",
            "under the eaves",
            "under eave",
        ],
    ),
    ("ridge", &["ridge slot", "ridge vent", "ridge cap"]),
    ("gable", &["end wall", "end walls", "gable end"]),
    (
        "roof",
        &[
            "box",
            "boxes",
            "turtle",
            "roof vent",
            "roof box",
            "tile vent",
            "dormer",
            "o'hagin",
            "slope",
            "slopes",
            "on slope",
            "static",
            "low profile",
            "mushroom",
        ],
    ),
    (
        "turbine",
        &[
            "turbine vent",
            "whirlybird",
            "wind turbine",
            "spinner",
            "whirly bird",
        ],
    ),
    ("none", &["no", "nothing", "sealed", "closed"]),
    (
        "blocked",
        &["painted shut", "stuffed", "shut", "covered", "plugged"],
    ),
    ("half", &["half of them"]),
    ("round", &["diameter", "across", "throat"]),
    (
        "",
        &[
            "strip",
            "strips",
            "near",
            "near the ridge",
            "near ridge",
            "below the ridge",
            "little",
            "small",
            "slot",
            "continuous",
            "free",
            "net free area",
            "nfa",
            "net free",
            "long",
            "feet of",
            "painted",
            "wall",
            "roof vents on",
            "perforated",
            "rectangular",
            "square",
            "attic",
            "them",
            "rated",
            "wind",
            "behind",
            "insulation",
        ],
    ),
];

const DIMENSIONS: &[Dimension] = &[
    Dimension::Length,
    Dimension::Area,
    Dimension::AirFlow,
    Dimension::Speed,
    Dimension::Fraction,
];

/// The vents that were described.
pub(super) fn vents(answers: &Answers) -> &[Vents] {
    answers.vents.as_deref().unwrap_or_default()
}

fn lacks_cover(group: &Vents) -> bool {
    let hole = match group.size {
        Some(Size::Sides(..)) => true,
        Some(Size::Length(_)) => group.kind != "ridge",
        _ => false,
    };
    hole && group.cover.is_none() && group.kind != "turbine"
}

fn read(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut words = KINDS.to_vec();
    words.extend_from_slice(COVER_WORDS);
    let mut groups: Vec<Vents> = Vec::new();
    let mut none = false;
    let mut pending: Vec<Item> = Vec::new();
    for piece in phrase::pieces(typed) {
        let mut items = phrase::items(&piece.text, &words, DIMENSIONS)?;
        if items == [Item::Word("none")] || items == [Item::Number(0.0)] {
            none = true;
            continue;
        }
        let mut kinds: Vec<&'static str> = items.iter().filter_map(kind).collect();
        kinds.dedup();
        match kinds.as_slice() {
            [] if groups.is_empty() => {
                pending.extend(items);
                continue;
            }
            [] => {}
            [kind] => {
                let same = groups.iter().filter(|group| group.kind == *kind).count();
                let name = if same > 0 {
                    format!("{kind} {}", same + 1)
                } else {
                    (*kind).to_owned()
                };
                groups.push(Vents {
                    kind,
                    count: None,
                    size: None,
                    cover: None,
                    blocked: None,
                    rated: [None, None],
                    name,
                });
                items.splice(0..0, std::mem::take(&mut pending));
            }
            _ => return Err("put a comma between the kinds of vents".into()),
        }
        if let Some(group) = groups.last_mut() {
            group.fill(items)?;
        }
    }
    if !pending.is_empty() || (groups.is_empty() && !none) {
        return Err("the kind is needed: soffit, ridge, gable, roof, turbine or none".into());
    }
    if none && !groups.is_empty() {
        return Err("none does not go with others".into());
    }
    let echo: Vec<String> = groups.iter().map(Vents::said).collect();
    answers.vents = Some(groups);
    Ok(if none {
        "none".to_owned()
    } else {
        echo.join("; ")
    })
}

fn kind(item: &Item) -> Option<&'static str> {
    match item {
        Item::Word(kind @ ("soffit" | "ridge" | "gable" | "roof" | "turbine")) => Some(kind),
        _ => None,
    }
}

impl Vents {
    fn fill(&mut self, items: Vec<Item>) -> Result<(), String> {
        // "Three of them painted shut".
        if let ([Item::Number(shut), Item::Word("blocked")], Some(count)) =
            (items.as_slice(), self.count)
        {
            let shut = whole(*shut, [0, count])?;
            let share = 100.0 * f64::from(shut) / f64::from(count);
            self.blocked = Some(format!("{share:.0} %"));
            return Ok(());
        }
        for item in items {
            let lengths = |text: &str| within(text, Dimension::Length, [0.005, 60.0]);
            match item {
                Item::Number(number) => {
                    once(&mut self.count, whole(number, [1, 200])?, "the number")?;
                }
                Item::Size(first, second) => {
                    let sides = Size::Sides(lengths(&first)?, lengths(&second)?);
                    once(&mut self.size, sides, "the size")?;
                }
                Item::Quantity(Dimension::Length, text) => {
                    let most = if self.kind == "ridge" { 60.0 } else { 2.0 };
                    let text = within(&text, Dimension::Length, [0.01, most])?;
                    if self.kind == "soffit" && parse(&text, Dimension::Length).unwrap_or(0.0) > 0.4
                    {
                        return Err("how wide is the strip? Such as 30 ft x 2 in".to_owned());
                    }
                    once(&mut self.size, Size::Length(text), "the size")?;
                }
                Item::Quantity(Dimension::Area, text) => {
                    let text = within(&text, Dimension::Area, [1e-4, 5.0])?;
                    once(&mut self.size, Size::Net(text), "the size")?;
                }
                Item::Quantity(Dimension::Fraction, text) => {
                    let text = within(&text, Dimension::Fraction, [0.0, 1.0])?;
                    once(&mut self.blocked, text, "how much is blocked")?;
                }
                Item::Quantity(dimension, text) if self.kind == "turbine" => {
                    let at = usize::from(dimension == Dimension::Speed);
                    once(&mut self.rated[at], text, "its flow")?;
                }
                Item::Quantity(_, text) => return Err(format!("{text} is of turbines or fans")),
                Item::Word("blocked") => {
                    self.blocked.get_or_insert_with(|| "100 %".to_owned());
                }
                Item::Word("half") => self.blocked = Some("50 %".to_owned()),
                Item::Word(word) => {
                    if COVERS.iter().any(|(cover, _)| *cover == word) {
                        once(&mut self.cover, word, "what covers them")?;
                    }
                }
            }
        }
        Ok(())
    }

    fn said(&self) -> String {
        let length = |text: &str| both(text, Dimension::Length);
        let size = match &self.size {
            Some(Size::Net(area)) => format!("{} free", both(area, Dimension::Area)),
            Some(Size::Length(long)) if self.kind == "ridge" => format!("{} long", length(long)),
            Some(Size::Length(across)) => format!("{} round", length(across)),
            Some(Size::Sides(first, second)) => format!("{} x {}", length(first), length(second)),
            None => "size not known".to_owned(),
        };
        let mut said = format!("{} {}: {size}", self.count.unwrap_or(1), self.kind);
        if let Some(cover) = self.cover {
            let _ = write!(said, ", {cover}");
        }
        if let Some(blocked) = &self.blocked {
            let _ = write!(said, ", {} blocked", both(blocked, Dimension::Fraction));
        }
        if let [Some(flow), wind] = &self.rated {
            let _ = write!(said, ", {}", both(flow, Dimension::AirFlow));
            if let Some(wind) = wind {
                let _ = write!(said, " at {}", both(wind, Dimension::Speed));
            }
        }
        said
    }

    fn write(&self, page: &mut Page<'_>, eaves: &'static str, one_slope: bool) {
        page.named("openings", &self.name);
        let place = match self.kind {
            "roof" | "turbine" => "slope",
            kind => kind,
        };
        if self.kind == "turbine" {
            page.pair("kind", "turbine");
        }
        page.pair("place", place);
        match place {
            "soffit" => page.pair("faces", eaves),
            "gable" => page.pair("faces", "both"),
            "slope" if !one_slope => page.pair("faces", "both"),
            _ => {}
        }
        page.bare("count", &self.count.unwrap_or(1).to_string());
        self.write_size(page);
        if let Some(blocked) = &self.blocked {
            page.pair("blocked", blocked);
        }
        for (key, rated) in ["rated_flow", "rated_wind"].iter().zip(&self.rated) {
            if let (Some(rated), [Some(_), Some(_)]) = (rated, &self.rated) {
                page.pair(key, rated);
            }
        }
    }

    fn write_size(&self, page: &mut Page<'_>) {
        let hole = match &self.size {
            Some(Size::Net(area)) => return page.pair("net_area", area),
            None => return page.maybe("net_area", None),
            Some(Size::Length(long)) if self.kind == "ridge" => {
                page.remark("18 in2 of free area a foot, as fan makers' manuals reckon.");
                let long_m = parse(long, Dimension::Length).unwrap_or(0.0);
                let area_in2 = long_m / 0.3048 * RIDGE_IN2_PER_FT;
                return page.pair("net_area", &format!("{area_in2:.0} in2"));
            }
            Some(Size::Length(across)) => [("shape", "round"), ("diameter", across), ("", "")],
            // Under an eave and along a ridge the longer side may be a strip's.
            Some(Size::Sides(length, width)) if matches!(self.kind, "soffit" | "ridge") => {
                [("shape", "strip"), ("length", length), ("width", width)]
            }
            Some(Size::Sides(width, height)) => {
                [("shape", "rectangle"), ("width", width), ("height", height)]
            }
        };
        page.inline("hole", &hole);
        let (louvre, screen) = match self.cover {
            Some("open") => (Some("none"), Some("quarter-inch-mesh")),
            Some("fine-mesh") => (Some("none"), Some("eighth-inch-mesh")),
            Some("insect-mesh") => (Some("none"), Some("insect-mesh")),
            // Whether there is mesh behind the slats is seldom seen from below.
            Some("wood-louvre") => (Some("wood"), None),
            Some("metal-louvre") => (Some("metal"), Some("eighth-inch-mesh")),
            _ if self.kind == "turbine" => (Some("none"), Some("none")),
            _ => (None, None),
        };
        page.maybe("louvre", louvre);
        page.maybe("screen", screen);
    }
}

pub(super) fn write(page: &mut Page<'_>) {
    page.gap();
    page.asked("vents");
    page.asked("cover");
    let form = page.answers.roof.as_ref().and_then(|roof| roof.form);
    let eaves = if form == Some("hip") { "all" } else { "both" };
    let one_slope = form == Some("one-slope");
    for group in page.answers.vents.clone().unwrap_or_default() {
        group.write(page, eaves, one_slope);
    }
    let sealed = page
        .answers
        .ceiling
        .as_ref()
        .is_some_and(super::ceiling::Ceiling::is_sealed);
    if page.answers.vents.is_none() && !sealed {
        page.named("openings", "somewhere");
        page.pair("place", "soffit");
        page.pair("faces", eaves);
        page.maybe("net_area", None);
    }
}
