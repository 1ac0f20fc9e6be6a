//! The roof: form, pitch, direction, and what the rain falls on.

use std::f64::consts::FRAC_PI_2;

use crate::catalog::{self, COVERINGS};
use crate::elementary::cos;
use crate::units::show::direction;
use crate::units::{Dimension, parse};

use super::Answers;
use super::phrase::{self, Item, Words, Wrong, once, or_unknown, within};
use super::question::Question;
use super::writing::Page;

/// The form of the roof.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Roof {
    pub(super) form: Option<&'static str>,
    pitch: Option<String>,
    /// Of the ridge; of a single slope, the direction that it faces.
    direction: Option<String>,
}

/// What the rain falls on.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Covering {
    name: &'static str,
    colour: Option<&'static str>,
}

pub(super) const ROOF: Question = Question::at(
    "the roof",
    "roof",
    "Which form has the roof, how steep is it, and in which direction does the ridge run (of one \
     slope: which way does it face, going down)? Take directions from a map; a phone's compass \
     errs near metal. A level of 12 in held flat against a rafter: the rise over those 12 in is \
     the pitch.",
    "\"gable, 4:12, ridge east-west\", \"hip, 18 deg, ridge 80 deg\" or \"one-slope, 2:12, faces \
     south\"",
    read_roof,
)
.drawn(
    r"
        gable                hip                one-slope              pitch
         /\                ________                  __--|               /|
       /    \             /        \           __--      |             /  | rise
     /________\          /__________\         |          |           /____|
     |        |          |          |         |          |            run
   end walls up to      slopes on all         low on one side,
   the ridge            four sides            high on the other",
);

pub(super) const COVERING: Question = Question::at(
    "what the rain falls on",
    "covering",
    "What is the roof covered with, and which colour has it?",
    "\"dark asphalt shingles\", \"red clay tile\" or \"white steel-sheet\"",
    read_covering,
)
.choosing(&[
    (
        "asphalt-shingle",
        "black, dark, brown, light-brown, grey, red, green, white,",
    ),
    ("", "bright-white; roll-roofing in the same"),
    (
        "clay-tile",
        "black, brown, grey, red, white; concrete-tile, slate too",
    ),
    (
        "steel-sheet",
        "bare-new, bare-weathered, black, dark, light, white;",
    ),
    ("", "aluminium-sheet too"),
    (
        "membrane",
        "black, gravel, white, aluminium; tar-and-gravel too",
    ),
    ("wood-shake", "new, weathered"),
]);

const FORMS: &Words = &[
    ("gable", &["gabled", "saddle", "two slopes"]),
    ("hip", &["hipped", "four slopes"]),
    (
        "one-slope",
        &[
            "single slope",
            "one",
            "lean to",
            "mono pitch",
            "monopitch",
            "pent",
            "skillion",
        ],
    ),
    (
        "other",
        &["flat", "gambrel", "mansard", "dome", "butterfly", "a frame"],
    ),
    (
        "east-west",
        &[
            "e w",
            "ew",
            "w e",
            "west east",
            "east to west",
            "west to east",
        ],
    ),
    (
        "north-south",
        &[
            "n s",
            "ns",
            "s n",
            "south north",
            "north to south",
            "south to north",
        ],
    ),
    (
        "northeast-southwest",
        &["ne sw", "sw ne", "southwest northeast"],
    ),
    (
        "northwest-southeast",
        &["nw se", "se nw", "southeast northwest"],
    ),
    ("north", &["n"]),
    ("northeast", &["ne", "north east"]),
    ("east", &["e"]),
    ("southeast", &["se", "south east"]),
    ("south", &["s"]),
    ("southwest", &["sw", "south west"]),
    ("west", &["w"]),
    ("northwest", &["nw", "north west"]),
    ("nne", &["north northeast"]),
    ("ene", &["east northeast"]),
    ("ese", &["east southeast"]),
    ("sse", &["south southeast"]),
    ("ssw", &["south southwest"]),
    ("wsw", &["west southwest"]),
    ("wnw", &["west northwest"]),
    ("nnw", &["north northwest"]),
    (
        "faces",
        &[
            "face",
            "facing",
            "slopes face",
            "looks",
            "slopes down",
            "down to",
            "toward",
        ],
    ),
    ("ridge", &["runs", "run", "running", "along", "azimuth"]),
    (
        "",
        &[
            "roof",
            "pitch",
            "slope",
            "slopes",
            "steep",
            "going down",
            "down",
            "from north",
        ],
    ),
];

fn read_roof(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut roof = Roof::default();
    let mut faces = false;
    for piece in phrase::pieces(&typed.replace(" in 12", ":12")) {
        let items = phrase::items(&piece.text, FORMS, &[Dimension::Slope])?;
        let is = |word| items.contains(&Item::Word(word));
        faces |= is("faces");
        // Degrees are of the pitch unless they are said of the ridge.
        let mut turned = (is("faces") || is("ridge")) && !typed_pitch(&items);
        for item in items {
            match item {
                Item::Word(form @ ("gable" | "hip" | "one-slope")) => {
                    once(&mut roof.form, form, "the form")?;
                }
                Item::Word("other") => {
                    return Err(
                        "such a roof is not known here: take the form that is nearest, \
                                with its mean pitch"
                            .into(),
                    );
                }
                Item::Word("faces" | "ridge") => turned |= roof.pitch.is_some(),
                // A ridge has two ends: "WNW-ESE" is one direction.
                Item::Word(side) if is_opposite(roof.direction.as_deref(), side) => {}
                Item::Word(side) => {
                    once(&mut roof.direction, side.to_owned(), "the direction")?;
                }
                Item::Quantity(_, text) if !turned && roof.pitch.is_none() => {
                    let pitch = within(&text, Dimension::Slope, [0.041_642, 1.030_4])?;
                    once(&mut roof.pitch, pitch, "the pitch")?;
                }
                Item::Quantity(_, text) => {
                    parse(&text, Dimension::Angle)
                        .map_err(|_| format!("{text} is no direction"))?;
                    once(&mut roof.direction, text, "the direction")?;
                }
                Item::Number(number) => {
                    return Err(format!(
                        "{number} has no unit: is it {number}:12 or {number} deg?"
                    )
                    .into());
                }
                Item::Size(..) => return Err("a roof has no sizes here".into()),
            }
        }
    }
    if roof == Roof::default() {
        return Err("form, pitch or direction is needed".into());
    }
    settle(&mut roof, faces)?;
    let way = match (&roof.direction, roof.form) {
        (Some(way), Some("one-slope")) => format!("faces {}", said(way)),
        (Some(way), _) => format!("ridge {}", said(way)),
        (None, _) => "direction not known".to_owned(),
    };
    let echo = format!(
        "{}, pitch {}, {way}",
        roof.form.unwrap_or("form not known"),
        or_unknown(roof.pitch.as_ref(), Dimension::Slope),
    );
    answers.roof = Some(roof);
    Ok(echo)
}

/// Whether a rise over a run stands there.
fn typed_pitch(items: &[Item]) -> bool {
    items.iter().any(
        |item| matches!(item, Item::Quantity(_, text) if parse(text, Dimension::Angle).is_err()),
    )
}

/// Whether two directions are the two ends of a line.
fn is_opposite(one: Option<&str>, other: &str) -> bool {
    let angle = |text: &str| parse(text, Dimension::Angle).ok();
    let both = one.and_then(angle).zip(angle(other));
    both.is_some_and(|(one_rad, other_rad)| cos(one_rad - other_rad) < -0.999)
}

/// A single slope faces one way; where two slopes face a way, the ridge runs across it.
fn settle(roof: &mut Roof, faces: bool) -> Result<(), String> {
    let Some(way) = roof.direction.clone() else {
        return Ok(());
    };
    let azimuth_rad = parse(&way, Dimension::Angle).ok();
    if roof.form == Some("one-slope") {
        if azimuth_rad.is_none() {
            return Err("one slope faces one way: south, west, \"200 deg\"".to_owned());
        }
    } else if faces && let Some(azimuth_rad) = azimuth_rad {
        let across_deg = (azimuth_rad + FRAC_PI_2).to_degrees().rem_euclid(180.0);
        roof.direction = Some(format!("{across_deg:.0} deg"));
    }
    Ok(())
}

fn said(way: &str) -> String {
    match parse(way, Dimension::Angle) {
        Ok(azimuth_rad) if way.starts_with(|c: char| c.is_ascii_digit()) => {
            format!("{way} ({})", direction(azimuth_rad))
        }
        _ => way.to_owned(),
    }
}

const NAMES: &Words = &[
    (
        "asphalt-shingle",
        &[
            "asphalt",
            "shingle",
            "composition shingle",
            "composition",
            "comp",
            "3 tab",
        ],
    ),
    ("roll-roofing", &["rolled roofing", "roll", "felt"]),
    (
        "wood-shake",
        &[
            "shake",
            "wood shingle",
            "wooden shingle",
            "cedar",
            "cedar shake",
            "cedar shingle",
            "wood",
        ],
    ),
    (
        "clay-tile",
        &["clay", "terracotta", "tile", "tiles", "spanish tile"],
    ),
    ("concrete-tile", &["concrete", "cement tile"]),
    ("slate", &[]),
    (
        "steel-sheet",
        &[
            "steel",
            "metal",
            "metal sheet",
            "sheet metal",
            "standing seam",
            "corrugated",
            "tin",
            "iron",
            "galvanised",
            "galvanized",
        ],
    ),
    (
        "aluminium-sheet",
        &["aluminium roof", "aluminum sheet", "aluminum roof"],
    ),
    ("tar-and-gravel", &["tar gravel", "built up", "tar"]),
    ("membrane", &["rubber", "epdm", "tpo", "pvc"]),
    (
        "",
        &[
            "old", "aged", "worn", "roof", "covering", "colour", "color", "coloured", "colored",
            "painted", "very",
        ],
    ),
];

/// Colours as people say them; those of the catalogue are added.
const COLOURS: &Words = &[
    ("grey", &["gray", "light grey", "light gray", "silver"]),
    (
        "dark",
        &[
            "dark grey",
            "dark gray",
            "charcoal",
            "dark brown",
            "dark green",
            "dark red",
            "blue",
        ],
    ),
    ("light-brown", &["tan", "beige", "sand", "light"]),
    ("bright-white", &["cool white"]),
    ("bare-new", &["bare", "shiny", "unpainted"]),
    ("bare-weathered", &["weathered", "rusty", "dull"]),
    ("red", &["orange", "terracotta red"]),
    ("brown", &["dark brown"]),
    ("aluminium", &["aluminum", "silver"]),
];

fn read_covering(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let text = typed.to_lowercase().replace([',', ';', '/'], " ");
    let all: Vec<&'static str> = catalog::COLOURS
        .iter()
        .map(|row| row.name)
        .filter(|name| *name != "unknown")
        .collect();
    let mut words: Vec<(&'static str, &'static [&'static str])> = NAMES.to_vec();
    words.extend(all.iter().map(|name| (*name, &[] as &[&str])));
    words.extend_from_slice(COLOURS);
    // A word that is not understood may be a colour, unless there is one.
    let is_colour = |part: &str| {
        let said = COLOURS.iter().flat_map(|(_, others)| others.iter());
        all.iter().chain(said).any(|colour| *colour == part)
    };
    let coloured = text.split(' ').any(is_colour);
    let found = phrase::items(&text, &words, &[])
        .map_err(|wrong| if coloured { wrong } else { wrong.words.into() })?;
    let mut name = None;
    for item in &found {
        match item {
            Item::Word(word) if NAMES.iter().any(|(name, _)| name == word) => {
                once(&mut name, *word, "the covering")?;
            }
            Item::Word(_) => {}
            _ => return Err("words are needed here, no numbers".into()),
        }
    }
    let name = name.ok_or("the covering is needed with its colour")?;
    let row = catalog::find(COVERINGS, name).ok_or("that covering is not known")?;
    // Once more, with the colours alone that this covering comes in.
    let known: Vec<&'static str> = catalog::colours_of(row.surface).collect();
    let mut words: Vec<(&'static str, &'static [&'static str])> = NAMES.to_vec();
    words.extend(known.iter().map(|colour| {
        let said = COLOURS.iter().find(|(name, _)| name == colour);
        (*colour, said.map_or(&[] as &[&str], |(_, others)| *others))
    }));
    let list = known.join(", ");
    let none = format!("{name} comes in {list} here");
    let found = phrase::items(&text, &words, &[]).map_err(|_| none)?;
    let mut colour = None;
    for item in found {
        if let Item::Word(word) = item
            && known.contains(&word)
            && colour != Some(word)
        {
            once(&mut colour, word, "a colour")?;
        }
    }
    answers.covering = Some(Covering { name, colour });
    let said = colour.unwrap_or("not known: any colour of that covering");
    Ok(format!("{name}, {said}"))
}

pub(super) fn write(page: &mut Page<'_>) {
    page.table("roof");
    page.asked("roof");
    let roof = page.answers.roof.clone().unwrap_or_default();
    page.maybe("form", roof.form);
    let key = match roof.form {
        Some("one-slope") => "faces",
        _ => "ridge",
    };
    page.maybe(key, roof.direction.as_deref());
    page.maybe("pitch", roof.pitch.as_deref());
    page.asked("covering");
    let covering = page.answers.covering.clone();
    page.maybe("covering", covering.as_ref().map(|covering| covering.name));
    if let Some(colour) = covering.and_then(|covering| covering.colour) {
        page.pair("colour", colour);
    }
    page.maybe("deck", None);
}
