//! What is asked, in the order in which one walks round a house.

use crate::units::Dimension;

use super::Answers;

/// What a question takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Takes {
    /// Any words.
    Words,
    /// One of a few words, each with what it means.
    Choice(&'static [(&'static str, &'static str)]),
    /// Several of a few words.
    Choices(&'static [(&'static str, &'static str)]),
    /// A colour of the covering that was answered.
    Colour,
    /// A quantity, from a least to a greatest value in the unit of its dimension; and a word that
    /// may stand in its place.
    Quantity(Dimension, f64, f64, Option<&'static str>),
    /// Two lengths, such as `50 ft x 27 ft`.
    Lengths,
    /// Storeys and the height of a room, such as `1 x 8 ft`.
    Storeys,
    /// Latitude and longitude, or a latitude alone.
    Place,
    /// A day's high and low.
    HighLow,
    /// The direction of a line.
    Line,
    /// A direction.
    Direction,
    /// A number and the size of vents, such as `10 of 16 in x 8 in`.
    Vents,
    /// An R-value, a thickness, or none.
    Insulation,
    /// A whole number.
    Count(u32),
    /// Window areas by the side they face.
    Windows,
}

/// A question.
#[derive(Debug, Clone, Copy)]
pub(super) struct Question {
    /// Name.
    pub(super) id: &'static str,
    /// Number of the stop on the walk.
    pub(super) stop: usize,
    /// The question.
    pub(super) ask: &'static str,
    /// A drawing, where words fail.
    pub(super) drawing: &'static str,
    /// What is accepted, beside "don't know".
    pub(super) accepts: &'static str,
    /// What not knowing comes to.
    pub(super) unknown: &'static str,
    /// How it is read.
    pub(super) takes: Takes,
    /// Whether it is asked after these answers.
    pub(super) when: fn(&Answers) -> bool,
}

/// The stops of the walk.
pub(super) const STOPS: [&str; 12] = [
    "where the house stands",
    "its plan",
    "the roof",
    "what the rain falls on",
    "vents of the attic",
    "the attic floor",
    "foil",
    "fans",
    "the rooms",
    "cooling",
    "flames",
    "thermometers",
];

const fn q(
    stop: usize,
    id: &'static str,
    ask: &'static str,
    accepts: &'static str,
    takes: Takes,
) -> Question {
    Question {
        id,
        stop,
        ask,
        drawing: "",
        accepts,
        unknown: "not known: a usual value and its range are taken",
        takes,
        when: always,
    }
}

impl Question {
    const fn drawn(mut self, drawing: &'static str) -> Self {
        self.drawing = drawing;
        self
    }
    const fn else_taken(mut self, unknown: &'static str) -> Self {
        self.unknown = unknown;
        self
    }
    const fn only(mut self, when: fn(&Answers) -> bool) -> Self {
        self.when = when;
        self
    }
}

fn always(_: &Answers) -> bool {
    true
}

const FORMS: &str = r"
      1 gable              2 hip                 3 one-slope
         /\                  ______                     ___--|
       /    \              /        \            ___---     |
     /________\          /____________\         |          |
     |        |          |            |         |          |
     end walls up        slopes on all          low on one side,
     to the ridge        four sides             high on the other";

const RIDGE: &str = r"
     seen from above:      ____________________
                          |                    |
                 width    |- - - - ridge - - - |
                          |____________________|
                                 length";

const PITCH: &str = r"
               /|
             /  | rise       A level of 12 in held flat against a rafter:
           /    |            the rise over those 12 in is the pitch.
         /______|
            run";

const VENTS: &str = r"
                 ridge
              __==____          soffit: holes under the eave
            / |roof|   \        ridge:  a slot along the top
          /   |____|     \      gable:  a louvre in the end wall
     ___/   |||| gable     \___ roof:   boxes, tiles or turbines on a slope
       soffit            soffit";

const FOIL: &str = r"
       2 under the rafters    3 on the roof deck     4 on the floor
            /\                     //\\                  /\
          / /\ \                 //    \\              /    \
        / /    \ \             //        \\          /________\
      /_/________\_\          //__________\\        ///////////";

const CHANNEL: &str = r"
     The foil (=) leaves a channel below the roof (_). From the side, the eave
     on the left and the ridge on the right; arrows where air goes through:

     1 closed           _______________
                       |===============|     shut at both ends

     2 attic            _______________
                       |v=============v|     gaps to the attic at both ends

     3 outdoors         _______________
                      ->===============->    in at the eave, out at the ridge

     4 eave-to-attic    _______________
                      ->==============v|     in at the eave, out to the attic";

const HEIGHTS: &str = r"
               /\
             /    \
           /   o    \      o the thermometer
         /     |      \    | its height above the attic floor
       /_______|________\";

const AROUND: &[(&str, &str)] = &[
    ("open", "fields, water or a wide view on most sides"),
    ("suburban", "houses and trees at some distance"),
    ("closed-in", "houses and trees close by on most sides"),
    ("city", "tall buildings around"),
];
const FLOORS: &[(&str, &str)] = &[
    ("slab", "concrete on the ground"),
    ("crawl", "a wooden floor over a crawl space"),
];
const ROOF_FORMS: &[(&str, &str)] = &[
    ("gable", "two slopes, a wall at each end"),
    ("hip", "four slopes"),
    ("one-slope", "one slope"),
];
const COVERINGS: &[(&str, &str)] = &[
    ("asphalt-shingle", ""),
    ("roll-roofing", ""),
    ("wood-shake", ""),
    ("clay-tile", ""),
    ("concrete-tile", ""),
    ("slate", ""),
    ("steel-sheet", ""),
    ("aluminium-sheet", ""),
    ("tar-and-gravel", ""),
    ("membrane", ""),
];
const VENT_KINDS: &[(&str, &str)] = &[
    ("soffit", "holes or strips under the eaves"),
    ("ridge", "a slot along the ridge"),
    ("gable", "louvres in the end walls"),
    ("roof", "boxes or tiles on the slopes"),
    ("none", "none at all"),
];
const COVERS: &[(&str, &str)] = &[
    ("open", "nothing, or mesh as coarse as 1/4 in"),
    ("fine-mesh", "mesh of about 1/8 in"),
    ("insect-mesh", "mesh as fine as a window screen"),
    ("wood-louvre", "wooden slats with insect mesh behind"),
    ("metal-louvre", "metal slats with mesh behind"),
];
const INSULATIONS: &[(&str, &str)] = &[
    ("fibreglass-batt", "yellow or pink blankets"),
    ("fibreglass-loose", "fluffy and loose"),
    ("cellulose", "grey, like shredded paper"),
    ("mineral-wool", "brown or grey wool"),
];
const FOIL_PLACES: &[(&str, &str)] = &[
    ("none", "no foil"),
    ("rafters", "hung under the rafters"),
    ("deck", "on the underside of the roof boards"),
    ("floor", "laid on the insulation"),
];
const CHANNELS: &[(&str, &str)] = &[
    ("closed", "nowhere"),
    ("attic", "both ends to the attic"),
    ("outdoors", "eave and ridge to outdoors"),
    ("eave-to-attic", "eave outdoors, top to the attic"),
];
const FAN_PLACES: &[(&str, &str)] = &[
    ("gable", "through an end wall"),
    ("slope", "through the roof"),
];
const WALLS: &[(&str, &str)] = &[
    ("wood-siding-frame", "boards on a wooden frame"),
    ("stucco-frame", "stucco on a wooden frame"),
    ("brick-veneer-frame", "brick in front of a wooden frame"),
    ("concrete-block", ""),
    ("solid-brick", ""),
];
const GLAZINGS: &[(&str, &str)] = &[
    ("single", "one pane"),
    ("single-aluminium-frame", "one pane in a metal frame"),
    ("double", "two panes"),
    ("double-low-e", "two panes with a coating"),
];
const MASSES: &[(&str, &str)] = &[
    ("light", "furniture and wooden partitions"),
    ("medium", "some masonry or stone floors"),
    ("heavy", "inner walls of masonry"),
];
const YES_NO: &[(&str, &str)] = &[("yes", ""), ("no", "")];
const SHIELDS: &[(&str, &str)] = &[
    ("bare", "nothing around it"),
    ("shielded", "foil or a white cup around it, open to the air"),
];

/// All questions.
pub(super) const QUESTIONS: &[Question] = &[
    q(
        0,
        "name",
        "What do you call the house?",
        "any name",
        Takes::Words,
    )
    .else_taken("the file calls it \"my house\""),
    q(
        0,
        "place",
        "Where is it? A map on a phone shows two numbers when you hold a finger on the house. It \
         is for the sun's path, so the nearest town will do.",
        "\"38.1, -121.6\", \"38.1 N 121.6 W\", or the first number alone",
        Takes::Place,
    )
    .else_taken("not known: the place of the weather file is taken"),
    q(
        0,
        "hot_day",
        "On a hot day of your summer, what are the day's high and low? The weather file is made \
         from them; left open, a measured month of California stands in.",
        "\"97 F / 64 F\" or \"36 C / 18 C\"",
        Takes::HighLow,
    )
    .else_taken("not known: a measured month of California is taken"),
    q(
        0,
        "around",
        "What stands around the house? It decides how much wind reaches the roof.",
        "a number or the word",
        Takes::Choice(AROUND),
    ),
    q(
        1,
        "plan",
        "Length and width of the house, outside: first along the ridge, then across it.",
        "\"50 ft x 27 ft\" or \"15.2 m x 8.2 m\"",
        Takes::Lengths,
    )
    .drawn(RIDGE),
    q(
        1,
        "storeys",
        "How many storeys, and how high is a room?",
        "\"1 x 8 ft\" or \"2 x 2.5 m\"",
        Takes::Storeys,
    ),
    q(
        1,
        "floor",
        "What is under the lowest floor?",
        "a number or the word",
        Takes::Choice(FLOORS),
    ),
    q(
        2,
        "form",
        "Which form has the roof?",
        "a number or the word",
        Takes::Choice(ROOF_FORMS),
    )
    .drawn(FORMS),
    q(
        2,
        "ridge",
        "In which direction does the ridge run? Take it from a map; a phone's compass errs near \
         metal.",
        "\"east-west\", \"north-south\", or degrees from north, \"80 deg\"",
        Takes::Line,
    )
    .only(|answers| answers.word("form") != Some("one-slope")),
    q(
        2,
        "slope_faces",
        "Which way does the slope face, going down?",
        "\"south\", \"west\", or degrees from north, \"200 deg\"",
        Takes::Direction,
    )
    .only(|answers| answers.word("form") == Some("one-slope")),
    q(
        2,
        "pitch",
        "How steep is the roof?",
        "\"4:12\" or \"18 deg\"",
        Takes::Quantity(Dimension::Slope, 0.041_642, 1.030_4, None),
    )
    .drawn(PITCH),
    q(
        3,
        "covering",
        "What is the roof covered with?",
        "a number or the word",
        Takes::Choice(COVERINGS),
    ),
    q(
        3,
        "colour",
        "Which colour has it?",
        "one of these",
        Takes::Colour,
    )
    .else_taken("not known: any colour of that covering")
    .only(|answers| answers.word("covering").is_some()),
    q(
        4,
        "vents",
        "Which vents has the attic? Look from outside, and from inside for daylight.",
        "numbers or words, several with commas: \"1, 3\"",
        Takes::Choices(VENT_KINDS),
    )
    .drawn(VENTS),
    q(
        4,
        "soffit",
        "How many vents are under the eaves, on all sides together, and how large is one? In place \
         of its sides you may give the net free area printed on it. Vents that are painted shut or \
         stuffed with insulation do not count.",
        "\"10 of 16 in x 8 in\", \"2 of 30 ft x 2 in\" or \"10 of 26 in2\"",
        Takes::Vents,
    )
    .only(|answers| answers.has("vents", "soffit")),
    q(
        4,
        "ridge_vent",
        "How long is the slot along the ridge?",
        "\"30 ft\" or \"9 m\"",
        Takes::Quantity(Dimension::Length, 0.3, 60.0, None),
    )
    .only(|answers| answers.has("vents", "ridge")),
    q(
        4,
        "gable",
        "How many vents are in the end walls, and how large is one?",
        "\"2 of 14 in x 18 in\", \"1 of 12 in round\" or \"2 of 80 in2\"",
        Takes::Vents,
    )
    .only(|answers| answers.has("vents", "gable")),
    q(
        4,
        "roof_vents",
        "How many vents are on the slopes, and how large is the hole below one?",
        "\"3 of 8 in round\", \"3 of 8 in x 8 in\" or \"3 of 50 in2\"",
        Takes::Vents,
    )
    .only(|answers| answers.has("vents", "roof")),
    q(
        4,
        "cover",
        "What covers those holes? Where it differs, take the largest vents.",
        "a number or the word",
        Takes::Choice(COVERS),
    )
    .only(|answers| {
        ["soffit", "gable", "roof_vents"]
            .iter()
            .any(|id| answers.is_hole(id))
    }),
    q(
        5,
        "insulation",
        "How much insulation lies on the attic floor? Push a ruler down to the ceiling board, or \
         read the R-value on it. Flakes like small pebbles may hold asbestos: do not touch them.",
        "\"6 in\", \"150 mm\", \"R-19\" or \"none\"",
        Takes::Insulation,
    ),
    q(
        5,
        "insulation_kind",
        "What is it?",
        "a number or the word",
        Takes::Choice(INSULATIONS),
    )
    .only(|answers| answers.word("insulation") != Some("none")),
    q(
        6,
        "foil",
        "Is there foil (a radiant barrier) in the attic?",
        "a number or the word",
        Takes::Choice(FOIL_PLACES),
    )
    .drawn(FOIL),
    q(
        6,
        "channel",
        "Where does the channel behind the foil open?",
        "a number or the word",
        Takes::Choice(CHANNELS),
    )
    .drawn(CHANNEL)
    .only(|answers| answers.word("foil") == Some("rafters")),
    q(
        7,
        "fans",
        "How many fans blow air out of the attic?",
        "a number, 0 for none",
        Takes::Count(40),
    )
    .else_taken("not known: none is taken"),
    q(
        7,
        "fan_flow",
        "How much air does one of them move, by its label or the maker's sheet?",
        "\"75 cfm\" or \"130 m3/h\"",
        Takes::Quantity(Dimension::AirFlow, 0.001, 5.0, None),
    )
    .only(|answers| answers.count("fans") > 0),
    q(
        7,
        "fan_power",
        "How much power does one of them draw, by its label?",
        "\"5 W\"",
        Takes::Quantity(Dimension::Power, 0.1, 2000.0, None),
    )
    .only(|answers| answers.count("fans") > 0),
    q(
        7,
        "fan_hole",
        "How wide is the round hole that one of them blows through?",
        "\"6 in\" or \"150 mm\"",
        Takes::Quantity(Dimension::Length, 0.03, 1.5, None),
    )
    .only(|answers| answers.count("fans") > 0),
    q(
        7,
        "fan_place",
        "Where do they blow out?",
        "a number or the word",
        Takes::Choice(FAN_PLACES),
    )
    .only(|answers| answers.count("fans") > 0),
    q(
        7,
        "fan_switch",
        "At which attic temperature do they switch on?",
        "\"105 F\", \"40 C\", or \"always\" if they run day and night",
        Takes::Quantity(Dimension::Temperature, -5.0, 80.0, Some("always")),
    )
    .only(|answers| answers.count("fans") > 0),
    q(
        8,
        "walls",
        "What are the outer walls made of?",
        "a number or the word",
        Takes::Choice(WALLS),
    ),
    q(
        8,
        "windows",
        "How much window is on each side of the house, frames included? One front window of \
         5 ft x 4 ft is 20 ft2.",
        "\"south 70 ft2, north 60 ft2\" or \"none\"",
        Takes::Windows,
    ),
    q(
        8,
        "glazing",
        "Which kind are they?",
        "a number or the word",
        Takes::Choice(GLAZINGS),
    )
    .only(|answers| answers.word("windows") != Some("none")),
    q(
        8,
        "mass",
        "How heavy is the inside of the house?",
        "a number or the word",
        Takes::Choice(MASSES),
    ),
    q(
        8,
        "airing",
        "Are windows opened for cool air on summer nights?",
        "yes or no",
        Takes::Choice(YES_NO),
    )
    .else_taken("not known: taken as kept shut"),
    q(
        9,
        "cooling",
        "Is there air conditioning, and at which temperature is it set?",
        "\"78 F\", \"25 C\" or \"none\"",
        Takes::Quantity(Dimension::Temperature, 15.0, 35.0, Some("none")),
    )
    .else_taken("not known: none is taken"),
    q(
        9,
        "cooling_size",
        "How large is it, by its label?",
        "\"3 tons\", \"36000 Btu/h\" or \"10 kW\"",
        Takes::Quantity(Dimension::Power, 500.0, 60e3, None),
    )
    .only(|answers| answers.text("cooling", 0).is_some()),
    q(
        10,
        "flames",
        "Does anything burn gas, oil or wood in the house, the attic or the garage and send its \
         fumes up a plain flue: a water heater, a furnace, a stove?",
        "yes or no",
        Takes::Choice(YES_NO),
    )
    .else_taken("not known: look before any fan goes in"),
    q(
        11,
        "logger",
        "Have you a thermometer in the attic? How high above the attic floor does it hang? Middle \
         of the attic, away from fans, not touching wood.",
        "\"4 ft\", \"1.2 m\" or \"none\"",
        Takes::Quantity(Dimension::Length, 0.0, 10.0, Some("none")),
    )
    .drawn(HEIGHTS),
    q(
        11,
        "shield",
        "Is it bare, or shielded from the hot roof?",
        "a number or the word",
        Takes::Choice(SHIELDS),
    )
    .only(|answers| !matches!(answers.word("logger"), Some("none"))),
];
