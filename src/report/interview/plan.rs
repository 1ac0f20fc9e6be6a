//! The plan of the house.

use crate::units::{Dimension, parse};

use super::Answers;
use super::phrase::{self, Item, Words, Wrong, both, once, or_unknown, whole, within};
use super::question::Question;
use super::writing::Page;

/// The plan of the house.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Plan {
    /// Along the ridge and across it.
    size: Option<(String, String)>,
    storeys: Option<u32>,
    room_height: Option<String>,
    under: Option<&'static str>,
}

pub(super) const PLAN: Question = Question::at(
    "its plan",
    "plan",
    "How long is the house along the ridge and how wide across it, outside? How many storeys, how \
     high are the rooms, and what is under the lowest floor: a concrete slab, a crawl space, a \
     basement? Of an L, give a length and a width that make its area.",
    "\"50 x 27 ft, 1 storey, 8 ft rooms, slab\", or as much of it as you know",
    read,
)
.drawn(
    r"
     seen from above:      ____________________
                          |                    |
                 width    |- - - - ridge - - - |
                          |____________________|
                                 length",
);

const WORDS: &Words = &[
    ("storey", &["story", "stories", "level", "floors"]),
    ("slab", &["concrete", "on the ground", "slab on grade"]),
    (
        "crawl",
        &["crawl space", "crawlspace", "pier", "raised floor"],
    ),
    ("basement", &["cellar"]),
    ("room", &["ceiling", "ceilings", "high", "height"]),
    ("length", &["long", "along ridge", "along the ridge"]),
    (
        "width",
        &["wide", "deep", "across", "across ridge", "across the ridge"],
    ),
    (
        "",
        &[
            "floor",
            "foot",
            "lowest",
            "under",
            "underneath",
            "house",
            "across it",
            "along it",
            "below",
            "beneath",
            "space",
        ],
    ),
];

fn read(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut plan = Plan::default();
    let mut sides: [Option<String>; 2] = [None, None];
    // "50 ft long by 27 ft wide" are two sides, each with its word.
    let named = typed.contains(" long by ") || typed.contains(" wide by ");
    let typed = if named {
        typed.replace(" by ", ", ")
    } else {
        typed.to_owned()
    };
    for piece in phrase::pieces(&typed) {
        let items = phrase::items(&piece.text, WORDS, &[Dimension::Length])?;
        let says = |word| items.contains(&Item::Word(word));
        let (storeys, room) = (says("storey"), says("room"));
        let told = [says("length"), says("width")];
        for item in items {
            match item {
                Item::Size(length, width) => {
                    let length = within(&length, Dimension::Length, [2.0, 100.0])?;
                    let width = within(&width, Dimension::Length, [2.0, 60.0])?;
                    once(&mut plan.size, (length, width), "the size of the house")?;
                }
                Item::Number(number) if storeys || plan.storeys.is_none() => {
                    let count = whole(number, [1, 4])
                        .map_err(|_| format!("{number} is no number of storeys from 1 to 4"))?;
                    once(&mut plan.storeys, count, "the number of storeys")?;
                }
                // No room is so high: a side of the house, the first one its length.
                Item::Quantity(_, text) if !room && length_m(&text) > 6.0 => {
                    let at = usize::from(told[1] || (!told[0] && sides[0].is_some()));
                    let most = [100.0, 60.0][at];
                    let side = within(&text, Dimension::Length, [2.0, most])?;
                    once(&mut sides[at], side, ["the length", "the width"][at])?;
                }
                Item::Quantity(_, text) => {
                    let height = within(&text, Dimension::Length, [1.8, 6.0])
                        .map_err(|wrong| format!("the height of a room of {wrong}"))?;
                    once(&mut plan.room_height, height, "the height of the rooms")?;
                }
                Item::Word(under @ ("slab" | "crawl" | "basement")) => {
                    once(&mut plan.under, under, "what is under the floor")?;
                }
                Item::Word(_) => {}
                Item::Number(_) => {
                    return Err("it is not clear what each number is".into());
                }
            }
        }
    }
    match sides {
        [Some(length), Some(width)] => {
            once(&mut plan.size, (length, width), "the size of the house")?;
        }
        [None, None] => {}
        [Some(_), None] => return Err("the width across the ridge is needed too".into()),
        [None, Some(_)] => return Err("the length along the ridge is needed too".into()),
    }
    if plan == Plan::default() {
        return Err("length and width are needed, or what else you know".into());
    }
    let size = match &plan.size {
        Some((length, width)) => format!(
            "{} along the ridge, {} across it",
            both(length, Dimension::Length),
            both(width, Dimension::Length)
        ),
        None => "size not known".to_owned(),
    };
    let storeys = match plan.storeys {
        Some(1) => "1 storey".to_owned(),
        Some(count) => format!("{count} storeys"),
        None => "1 storey, as nothing else is said".to_owned(),
    };
    let under = match plan.under {
        Some("slab") => "a slab on the ground",
        Some("crawl") => "a crawl space below",
        Some(_) => "a basement, reckoned as a crawl space 7 ft (2.1 m) high",
        None => "what is below not known",
    };
    let rooms = or_unknown(plan.room_height.as_ref(), Dimension::Length);
    answers.plan = Some(plan);
    Ok(format!(
        "{size}; {storeys}, height of rooms {rooms}; {under}"
    ))
}

fn length_m(text: &str) -> f64 {
    parse(text, Dimension::Length).unwrap_or(0.0)
}

pub(super) fn write(page: &mut Page<'_>) {
    page.table("house");
    page.asked("plan");
    let plan = page.answers.plan.clone().unwrap_or_default();
    let (length, width) = plan.size.unzip();
    page.maybe("length", length.as_deref());
    page.maybe("width", width.as_deref());
    page.bare("storeys", &plan.storeys.unwrap_or(1).to_string());
    page.maybe("ceiling_height", plan.room_height.as_deref());
}

/// The floor, of rooms that are worked out.
pub(super) fn write_floor(page: &mut Page<'_>) {
    page.table("house.floor");
    let under = page.answers.plan.as_ref().and_then(|plan| plan.under);
    if under == Some("basement") {
        page.remark("A basement: reckoned as a tall crawl space without vents, by judgement.");
        page.pair("kind", "crawl");
        page.pair("crawl_height", "7 ft");
        page.pair("vent_area", "0 in2");
    } else {
        page.maybe("kind", under);
    }
}
