//! What stands around the house on each side: what it takes of the wind and of a low sun.

use crate::units::{Dimension, parse};

use super::phrase::{self, Item, Words, Wrong};
use super::question::Question;
use super::writing::Page;
use super::{Answers, site};

/// Share of the wind that sides let through: shelter factors 0.3 to 1.0 of ASHRAE Fundamentals, from
/// memory, as for the surroundings as a whole.
pub(super) const OPEN: &str = "0.85";
pub(super) const CLOSED_IN: &str = "0.4";
const USUAL: f64 = 0.6;
/// Width of a fist and of a finger at arm's length, degrees; common practice, no source.
const FIST_DEG: f64 = 10.0;
const FINGER_DEG: f64 = 2.0;
/// Names of the sides and where they lie, as parts to the north and to the east.
const SIDES: [(&str, [f64; 2]); 4] = [
    ("north", [1.0, 0.0]),
    ("south", [-1.0, 0.0]),
    ("east", [0.0, 1.0]),
    ("west", [0.0, -1.0]),
];

/// The two sides of which a corner is.
const CORNERS: [(&str, [usize; 2]); 4] = [
    ("northeast", [0, 2]),
    ("northwest", [0, 3]),
    ("southeast", [1, 2]),
    ("southwest", [1, 3]),
];

/// What stands on each of the sides, in their order: "open" or "closed"; nothing where it is as all
/// round.
pub(super) type Sides = [Option<&'static str>; 4];

pub(super) const SIDES_QUESTION: Question = Question::after(
    |_| true,
    "sides",
    "Do trees, a hill or another house stand close on one side of the house, or is one side open to \
     the wind, as to fields or water? Name the sides by the compass; one that is not named is taken \
     as what stands around.",
    "\"open west, trees close on the north\", \"hill south\" or \"none\"",
    read_sides,
)
.else_taken("not known: all sides are taken alike, and a log may tell otherwise");

pub(super) const SKYLINE_QUESTION: Question = Question::after(
    has_close_side,
    "skyline",
    "Seen from the edge of the roof or an upstairs window, how high do trees, houses or hills stand \
     where the sun rises and sets? Stretch your arm out and count fists on top of one another, from \
     the level of your eye up: a fist is about 10 degrees, a finger 2.",
    "\"half a fist\", \"1 fist\", \"3 fingers\", \"8 deg\" or \"flat\"",
    read_skyline,
)
.else_taken("not known: nothing is taken to stand before the sun, and a log may tell otherwise");

const SIDE_WORDS: &Words = &[
    ("none", &["alike", "same", "no", "nothing", "all alike"]),
    (
        "everywhere",
        &[
            "all round",
            "all around",
            "all sides",
            "all directions",
            "all four sides",
            "every side",
            "every direction",
            "four sides",
            "surrounded",
        ],
    ),
    (
        "open",
        &[
            "field",
            "fields",
            "farmland",
            "water",
            "lake",
            "view",
            "wide open",
            "exposed",
            "river",
            "desert",
        ],
    ),
    (
        "closed",
        &[
            "trees",
            "tree",
            "hill",
            "hills",
            "wood",
            "woods",
            "forest",
            "hedge",
            "wall",
            "building",
            "buildings",
            "neighbour",
            "neighbor",
            "houses",
            "house",
            "sheltered",
            "shaded",
            "closed in",
            "bushes",
            "slope",
        ],
    ),
    ("north", &["n"]),
    ("south", &["s"]),
    ("east", &["e"]),
    ("west", &["w"]),
    ("northeast", &["ne"]),
    ("northwest", &["nw"]),
    ("southeast", &["se"]),
    ("southwest", &["sw"]),
    (
        "",
        &[
            "another",
            "stand",
            "stands",
            "close",
            "near",
            "close by",
            "tall",
            "high",
            "big",
            "dense",
            "wind",
            "neighbour's",
            "neighbor's",
        ],
    ),
];

/// Whether something stands close on any side: where nothing does, the skyline is low.
fn has_close_side(answers: &Answers) -> bool {
    let sides = answers.sides.unwrap_or_default();
    let place = answers.place.as_ref();
    sides.contains(&Some("closed")) || place.is_some_and(site::Place::is_closed_in)
}

fn read_sides(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut sides: Sides = [None; 4];
    let mut carried: Option<&'static str> = None;
    let mut elsewhere: Option<&'static str> = None;
    let mut is_none = false;
    for piece in phrase::pieces(typed) {
        let mut kind = None;
        let mut named: Vec<usize> = Vec::new();
        let (mut is_all, mut denies) = (false, false);
        for item in phrase::items(&piece.text, SIDE_WORDS, &[])? {
            match item {
                Item::Word("none") => denies = true,
                Item::Word("everywhere") => is_all = true,
                Item::Word(word @ ("open" | "closed")) => {
                    if kind.is_some_and(|known| known != word) {
                        return Err(
                            "a comma is needed between a side that is open and one that is \
                                    not"
                            .into(),
                        );
                    }
                    kind = Some(word);
                }
                Item::Word(word) => {
                    named.extend(SIDES.iter().position(|(side, _)| *side == word));
                    let corner = CORNERS.iter().filter(|(corner, _)| *corner == word);
                    named.extend(corner.flat_map(|(_, sides)| *sides));
                }
                _ => return Err("sides and what stands there are needed".into()),
            }
        }
        if denies {
            // "No trees close by" says of no side what it is.
            if !named.is_empty() || kind == Some("open") {
                return Err("what stands there is needed, not what does not".into());
            }
            is_none = true;
            continue;
        }
        if is_all {
            let kind = kind.or(carried).filter(|_| named.is_empty());
            let kind = kind.ok_or("what stands on all sides and what on one need a comma")?;
            phrase::once(&mut elsewhere, kind, "what stands on all sides")?;
            carried = Some(kind);
            continue;
        }
        let is_said = kind.is_some();
        carried = kind.or(carried);
        if is_said && named.is_empty() {
            return Err("the side is missing: north, south, east or west".into());
        }
        for side in named {
            let kind = carried.ok_or("what stands on that side is missing")?;
            if sides[side].is_some_and(|known| known != kind) {
                return Err(format!("the {} is open and closed", SIDES[side].0).into());
            }
            sides[side] = Some(kind);
        }
    }
    for side in &mut sides {
        *side = side.or(elsewhere);
    }
    let is_named = sides.iter().any(Option::is_some);
    if is_named == is_none {
        return Err("sides, or \"none\", are needed".into());
    }
    answers.sides = Some(sides);
    let said = SIDES.iter().zip(sides);
    let said = said.filter_map(|((side, _), kind)| Some(format!("{side} {}", kind?)));
    let said: Vec<String> = said.collect();
    Ok(if is_named {
        said.join(", ")
    } else {
        "all sides alike".to_owned()
    })
}

fn read_skyline(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    const WORDS: &Words = &[
        ("flat", &["none", "nothing", "level", "no", "wide view"]),
        ("half", &[]),
        ("fist", &["fists"]),
        ("finger", &["fingers"]),
    ];
    let mut number: Option<f64> = None;
    let mut deg: Option<f64> = None;
    for item in phrase::items(typed, WORDS, &[Dimension::Angle])? {
        let found = match item {
            Item::Word("flat") => Some(0.0),
            Item::Word("half") => {
                number = Some(number.unwrap_or(0.0) + 0.5);
                None
            }
            Item::Word(unit) => {
                let each = if unit == "fist" { FIST_DEG } else { FINGER_DEG };
                Some(number.take().unwrap_or(1.0) * each)
            }
            Item::Number(count) if number.is_none() => {
                number = Some(count);
                None
            }
            Item::Quantity(_, text) => {
                let angle = parse(&text, Dimension::Angle).map_err(|error| error.to_string())?;
                Some(angle.to_degrees())
            }
            _ => return Err("one height is needed".into()),
        };
        if let Some(found) = found
            && deg.replace(found).is_some()
        {
            return Err("one height is needed".into());
        }
    }
    let Some(deg) = deg.filter(|_| number.is_none()) else {
        return Err("a number of fists, fingers or degrees is needed".into());
    };
    if !(0.0..=30.0).contains(&deg) {
        return Err("it is from 0 to 30 degrees, three fists".into());
    }
    let text = format!("{} deg", (deg * 10.0).round() / 10.0);
    let echo = format!("{} degrees above the level", text.trim_end_matches(" deg"));
    answers.skyline = Some(text);
    Ok(echo)
}

/// How much more of the wind comes through from the north and from the east than from all round, for
/// sides that let these shares through: the least-squares fit of what turns once about the compass.
fn more_wind(shares: [f64; 4]) -> [f64; 2] {
    let mean = shares.iter().sum::<f64>() / 4.0;
    [0, 1].map(|axis| {
        let parts = SIDES
            .iter()
            .zip(shares)
            .map(|((_, to), share)| to[axis] * share);
        0.5 * parts.sum::<f64>() / mean
    })
}

/// The share of the wind that all sides let through, where all are told alike.
pub(super) fn all_alike(answers: &Answers) -> Option<&'static str> {
    match answers.sides? {
        [Some("open"), Some("open"), Some("open"), Some("open")] => Some(OPEN),
        sides if sides.iter().all(|side| *side == Some("closed")) => Some(CLOSED_IN),
        _ => None,
    }
}

/// The wind from each side; `around` is the share that what stands around lets through, if it was told.
pub(super) fn write(page: &mut Page<'_>, around: Option<&str>) {
    page.asked("sides");
    let usual = around.and_then(|text| text.parse().ok()).unwrap_or(USUAL);
    let share = |kind: Option<&str>| match kind {
        Some("open") => OPEN.parse().unwrap_or(usual),
        Some(_) => CLOSED_IN.parse().unwrap_or(usual),
        None => usual,
    };
    let sides = page.answers.sides.unwrap_or_default();
    let [north, east] = more_wind(sides.map(share));
    for (key, more) in [("north_wind", north), ("east_wind", east)] {
        if more.abs() > 0.005 {
            page.bare(key, &format!("{more:.2}"));
        }
    }
    page.asked("skyline");
    if let Some(skyline) = page.answers.skyline.clone() {
        page.pair("skyline", &skyline);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sides(typed: &str) -> Sides {
        let mut answers = Answers::default();
        read_sides(typed, &mut answers).unwrap();
        answers.sides.unwrap()
    }

    #[test]
    fn sides_are_told_in_several_ways() {
        let wanted = [Some("closed"), None, None, Some("open")];
        for typed in [
            "open west, trees close on the north",
            "west open to fields; a hill stands on the north side",
            "W open, N house",
        ] {
            assert_eq!(sides(typed), wanted, "{typed}");
        }
        assert_eq!(
            sides("open south and west"),
            [None, Some("open"), None, Some("open")]
        );
        assert_eq!(
            sides("open southwest"),
            [None, Some("open"), None, Some("open")]
        );
        assert_eq!(sides("NE trees")[0], Some("closed"));
        for typed in [
            "trees all round",
            "surrounded by houses",
            "hedges on all four sides",
        ] {
            assert_eq!(sides(typed), [Some("closed"); 4], "{typed}");
        }
        for typed in [
            "open on all sides",
            "wide open all around",
            "open fields on every side",
        ] {
            assert_eq!(sides(typed), [Some("open"); 4], "{typed}");
        }
        assert_eq!(
            sides("trees all round, open to the south"),
            [Some("closed"), Some("open"), Some("closed"), Some("closed")]
        );
        for typed in ["none", "no trees close by", "nothing"] {
            assert_eq!(sides(typed), [None; 4], "{typed}");
        }
        for typed in [
            "no trees on the north",
            "open on all sides north",
            "all round",
        ] {
            assert!(
                read_sides(typed, &mut Answers::default()).is_err(),
                "{typed}"
            );
        }
    }

    #[test]
    fn all_sides_alike_are_what_stands_around() {
        let told = |typed: &str| {
            let mut answers = Answers::default();
            read_sides(typed, &mut answers).unwrap();
            all_alike(&answers)
        };
        assert_eq!(told("trees all round"), Some(CLOSED_IN));
        assert_eq!(told("open on all sides"), Some(OPEN));
        assert_eq!(told("trees all round, open south"), None);
        assert_eq!(told("none"), None);
    }

    #[test]
    fn more_wind_turns_with_the_compass_and_is_none_where_sides_are_alike() {
        assert!(more_wind([0.6; 4]).iter().all(|more| more.abs() < 1e-12));
        // North, south, east, west: open to the west, closed to the east.
        let [north, east] = more_wind([0.6, 0.6, 0.4, 0.85]);
        assert!(north.abs() < 1e-12 && east < 0.0);
        // What is made of it differs between these two by what was told.
        let mean = (0.6 + 0.6 + 0.4 + 0.85) / 4.0;
        assert!((mean * (1.0 - east) - mean * (1.0 + east) - 0.45).abs() < 1e-12);
    }

    #[test]
    fn a_height_is_told_in_fists_or_degrees() {
        for (typed, wanted) in [
            ("half a fist", "5 deg"),
            ("1 fist", "10 deg"),
            ("one and a half fists", "15 deg"),
            ("3 fingers", "6 deg"),
            ("8 deg", "8 deg"),
            ("flat", "0 deg"),
        ] {
            let mut answers = Answers::default();
            read_skyline(typed, &mut answers).unwrap_or_else(|wrong| panic!("{typed}: {wrong:?}"));
            assert_eq!(answers.skyline.as_deref(), Some(wanted), "{typed}");
        }
    }
}
