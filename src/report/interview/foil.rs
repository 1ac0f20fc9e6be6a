//! Foil, and where the channel behind it opens.

use crate::units::Dimension;

use super::Answers;
use super::phrase::{self, Words, Wrong, both, within};
use super::question::Question;
use super::writing::Page;

/// Foil or bright paint.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Foil {
    place: &'static str,
    /// Share of the surface that it covers, in hundredths.
    coverage: Option<String>,
    channel: Option<&'static str>,
}

pub(super) const FOIL: Question = Question::at(
    "foil",
    "foil",
    "Is there foil or bright paint (a radiant barrier) in the attic?",
    "a number or the word; \"rafters, half\" or \"rafters 40 %\" if it covers a part",
    read,
)
.drawn(
    r"
       2 under the rafters    3 on the roof deck     4 on the floor
            /\                     //\\                  /\
          / /\ \                 //    \\              /    \
        / /    \ \             //        \\          /________\
      /_/________\_\          //__________\\        ///////////",
)
.choosing(PLACES);

pub(super) const CHANNEL: Question = Question::after(
    |answers| matches!(&answers.foil, Some(foil) if foil.place == "rafters"),
    "channel",
    "Where does the channel behind the foil open?",
    "a number or the word",
    |typed, answers| {
        let channel = phrase::choice(typed, CHANNELS, &[])?;
        if let Some(foil) = &mut answers.foil {
            foil.channel = Some(channel);
        }
        Ok(channel.to_owned())
    },
)
.drawn(
    r"
     The foil (=) leaves a channel below the roof (_). From the side, the eave
     on the left and the ridge on the right; arrows where air goes through:

     1 closed           _______________
                       |===============|     shut at both ends

     2 attic            _______________
                       |v=============v|     gaps to the attic at both ends

     3 outdoors         _______________
                      ->===============->    in at the eave, out at the ridge

     4 eave-to-attic    _______________
                      ->==============v|     in at the eave, out to the attic",
)
.choosing(CHANNELS)
.else_taken("not known: all four are reckoned, and named where they decide");

const PLACES: &[(&str, &str)] = &[
    ("none", "no foil"),
    ("rafters", "hung under the rafters"),
    ("deck", "on the underside of the roof boards"),
    ("floor", "laid on the insulation"),
    ("paint", "bright paint on the underside of the roof boards"),
];
const PLACE_WORDS: &Words = &[
    ("none", &["no", "no foil", "nothing"]),
    (
        "rafters",
        &[
            "under the rafters",
            "under rafters",
            "yes rafters",
            "rafter",
        ],
    ),
    (
        "deck",
        &[
            "on the deck",
            "roof boards",
            "under the deck",
            "sheathing",
            "roof deck",
        ],
    ),
    (
        "floor",
        &[
            "on the floor",
            "attic floor",
            "on the insulation",
            "insulation",
        ],
    ),
    ("paint", &["painted", "bright paint"]),
];
const CHANNELS: &[(&str, &str)] = &[
    ("closed", "nowhere"),
    ("attic", "both ends to the attic"),
    ("outdoors", "eave and ridge to outdoors"),
    ("eave-to-attic", "eave outdoors, top to the attic"),
];

fn read(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut rest: Vec<String> = Vec::new();
    let mut coverage = None;
    for token in typed
        .replace(',', " ")
        .replace(" %", "%")
        .split_whitespace()
    {
        if token == "half" {
            coverage = Some("50 %".to_owned());
        } else if let Some(share) = token.strip_suffix('%') {
            let text = format!("{share} %");
            coverage = Some(within(&text, Dimension::Fraction, [0.05, 1.0])?);
        } else {
            rest.push(token.to_owned());
        }
    }
    let place = phrase::choice(&rest.join(" "), PLACES, PLACE_WORDS)?;
    if place == "none" && coverage.is_some() {
        return Err("a share does not go with none".into());
    }
    let echo = match &coverage {
        Some(share) => format!("{place}, {} of it", both(share, Dimension::Fraction)),
        None => place.to_owned(),
    };
    answers.foil = Some(Foil {
        place,
        coverage,
        channel: None,
    });
    Ok(echo)
}

pub(super) fn write(page: &mut Page<'_>) {
    page.table("barrier");
    page.asked("foil");
    page.asked("channel");
    let foil = page.answers.foil.clone();
    match foil.as_ref().map(|foil| foil.place) {
        Some("paint") => {
            page.pair("place", "deck");
            page.pair("product", "paint");
        }
        place => page.maybe("place", place),
    }
    if let Some(coverage) = foil.as_ref().and_then(|foil| foil.coverage.as_ref()) {
        page.pair("coverage", coverage);
    }
    if foil.as_ref().is_some_and(|foil| foil.place == "rafters") {
        page.maybe("channel", foil.and_then(|foil| foil.channel));
    }
}

/// A first design to compare with, where there is no foil.
pub(super) fn write_design(page: &mut Page<'_>) {
    let none = matches!(&page.answers.foil, Some(foil) if foil.place == "none");
    if none {
        page.gap();
        page.remark("A first thing to compare: foil under the rafters.");
        page.table("designs.foil");
        page.pair("barrier.place", "rafters");
    }
}
