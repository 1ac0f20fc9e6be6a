//! Every key of a house file: what it takes, its range, and what stands in for "unknown".

use crate::units::Dimension;
use crate::units::Dimension as D;

use super::names::Catalogue;

/// What a key takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Kind {
    /// A quantity with its unit; a bare number where the dimension has none.
    Quantity(Dimension),
    /// A number without a unit.
    Number,
    /// A thermal resistance, or `"none"`.
    Insulation,
    /// A blower-door result or a leakage area.
    Leakage,
    /// One of a few words.
    Words(&'static [&'static str]),
    /// A name from a catalogue or, for materials, from the file's own `[materials]`.
    Name(Catalogue),
    /// A name, or a list of layers.
    Layers(Catalogue),
    /// Any text.
    Text,
    /// `true` or `false`.
    Flag,
    /// A compass direction, or `"both"`.
    Faces,
    /// A direction of a line: `"east-west"`, `"80 deg"`.
    Line,
    /// Degrees with these letters for positive and negative.
    Degrees([char; 2]),
    /// A list of pairs of flow and pressure.
    Curve,
    /// A list of two times of day.
    Times,
    /// A list of names.
    Texts,
}

/// What happens without an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Need {
    /// There must be one.
    Required,
    /// There may be one.
    Optional,
    /// A plain default that leaves nothing uncertain.
    Default(f64),
    /// What is likely.
    Guess(Guess),
    /// What is likely, as words.
    GuessWord(GuessWord),
    /// What is likely is worked out from other answers.
    Derived,
}

/// A value that stands in for an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Guess {
    /// Value, least and most of what is likely, in the unit of the dimension.
    pub(super) likely: [f64; 3],
    /// Source.
    pub(super) source: &'static str,
}

/// A word that stands in for an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct GuessWord {
    /// Word, and the two ends of what is likely.
    pub(super) likely: [&'static str; 3],
    /// Source.
    pub(super) source: &'static str,
}

/// A key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Field {
    /// Key.
    pub(super) key: &'static str,
    /// What it takes.
    pub(super) kind: Kind,
    /// Least value, in the unit of the dimension.
    pub(super) low: f64,
    /// Greatest value.
    pub(super) high: f64,
    /// What happens without an answer.
    pub(super) need: Need,
    /// What it is, in plain words.
    pub(super) help: &'static str,
}

impl Field {
    /// Whether `"unknown"` is an answer.
    pub(super) fn may_be_unknown(&self) -> bool {
        matches!(
            self.need,
            Need::Guess(_) | Need::GuessWord(_) | Need::Derived
        )
    }

    const fn required(mut self) -> Self {
        self.need = Need::Required;
        self
    }
    const fn or(mut self, value: f64) -> Self {
        self.need = Need::Default(value);
        self
    }
    const fn guess(mut self, likely: [f64; 3], source: &'static str) -> Self {
        self.need = Need::Guess(Guess { likely, source });
        self
    }
    const fn guess_word(mut self, likely: [&'static str; 3], source: &'static str) -> Self {
        self.need = Need::GuessWord(GuessWord { likely, source });
        self
    }
    const fn derived(mut self) -> Self {
        self.need = Need::Derived;
        self
    }
}

/// A table of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Section {
    /// Path; `*` stands for a name that the owner gives.
    pub(super) path: &'static str,
    /// Whether the file must have it.
    pub(super) required: bool,
    /// Its keys.
    pub(super) fields: &'static [Field],
    /// What it is, in plain words.
    pub(super) help: &'static str,
}

const fn quantity(
    key: &'static str,
    dimension: Dimension,
    low: f64,
    high: f64,
    help: &'static str,
) -> Field {
    Field {
        key,
        kind: Kind::Quantity(dimension),
        low,
        high,
        need: Need::Optional,
        help,
    }
}

const fn field(key: &'static str, kind: Kind, help: &'static str) -> Field {
    Field {
        key,
        kind,
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        need: Need::Optional,
        help,
    }
}

const fn share(key: &'static str, low: f64, high: f64, help: &'static str) -> Field {
    quantity(key, D::Fraction, low, high, help)
}

/// R-1 in m² K/W.
const R: f64 = 0.176_110_18;
const COMMON: &str = "common practice, no source";

pub(super) const ROOT: Section = Section {
    path: "",
    required: true,
    help: "the house file",
    fields: &[
        field("name", Kind::Text, "what you call the house"),
        field(
            "design",
            Kind::Text,
            "what you call the house as this file describes it",
        ),
    ],
};

const SITE: Section = Section {
    path: "site",
    required: false,
    help: "where the house stands",
    fields: &[
        Field {
            low: -66.0,
            high: 66.0,
            ..field(
                "latitude",
                Kind::Degrees(['N', 'S']),
                "latitude of the house; left out, the weather file's",
            )
        },
        Field {
            low: -180.0,
            high: 180.0,
            ..field(
                "longitude",
                Kind::Degrees(['E', 'W']),
                "longitude of the house; left out, the weather file's",
            )
        },
        field(
            "terrain",
            Kind::Name(Catalogue::Terrain),
            "what the surroundings are like for the wind",
        )
        .guess_word(
            ["suburban", "open", "city"],
            "most houses stand among others; common practice, no source",
        ),
        share(
            "shelter",
            0.2,
            1.0,
            "share of the wind that neighbouring houses and trees let through",
        )
        .guess(
            [0.6, 0.35, 0.9],
            "shelter factors 0.3 to 1.0 of ASHRAE Fundamentals, from memory",
        ),
        share(
            "ground_reflectance",
            0.0,
            0.9,
            "share of sunlight that the ground reflects",
        )
        .guess(
            [0.2, 0.1, 0.3],
            "usual value for grass, soil and paving; common practice, no source",
        ),
        field("soil", Kind::Name(Catalogue::Soil), "soil under the house").guess_word(
            ["clay", "clay", "sand"],
            "default class of ISO 13370, from memory",
        ),
        quantity(
            "wind_height",
            D::Length,
            1.0,
            100.0,
            "height above ground of the weather station's wind gauge",
        )
        .guess(
            [10.0, 2.0, 10.0],
            "standard height of weather stations; common practice, no source",
        ),
        quantity(
            "annual_mean",
            D::Temperature,
            -15.0,
            35.0,
            "mean outdoor temperature of the year",
        ),
    ],
};

const HOUSE: Section = Section {
    path: "house",
    required: true,
    help: "the rooms under the attic",
    fields: &[
        quantity(
            "length",
            D::Length,
            2.0,
            100.0,
            "outside length of the house, measured along the ridge",
        )
        .required(),
        quantity(
            "width",
            D::Length,
            2.0,
            60.0,
            "outside width of the house, measured across the ridge",
        )
        .required(),
        quantity("storeys", D::Count, 1.0, 4.0, "number of storeys").or(1.0),
        quantity(
            "ceiling_height",
            D::Length,
            1.8,
            6.0,
            "height from floor to ceiling",
        )
        .required(),
        quantity(
            "floor_height",
            D::Length,
            0.0,
            3.0,
            "height of the lowest floor above the ground outside",
        )
        .guess([0.45, 0.1, 0.9], COMMON),
        field(
            "leakage",
            Kind::Leakage,
            "how leaky the house is, from a blower-door test",
        )
        .derived(),
        share(
            "leakage_exponent",
            0.5,
            1.0,
            "exponent of the blower-door line",
        )
        .guess(
            [0.65, 0.55, 0.75],
            "whole-house values of ASHRAE and Sherman, from memory",
        ),
        field(
            "wall",
            Kind::Layers(Catalogue::Wall),
            "what the outer walls are made of",
        )
        .required(),
        Field {
            low: 0.0,
            high: 60.0 * R,
            ..field(
                "wall_insulation",
                Kind::Insulation,
                "insulation in the outer walls",
            )
        }
        .derived(),
        share(
            "wall_absorptance",
            0.05,
            0.98,
            "share of sunlight that the outer walls take up",
        )
        .guess(
            [0.6, 0.4, 0.8],
            "light to dark paint; common practice, no source",
        ),
        field(
            "mass",
            Kind::Name(Catalogue::Mass),
            "how heavy the inside is",
        )
        .guess_word(
            ["light", "light", "heavy"],
            "wooden frame with furniture; common practice, no source",
        ),
        quantity(
            "fast_mass",
            D::HeatCapacity,
            1e5,
            1e9,
            "heat held by furniture and partitions, in place of the class",
        ),
        quantity(
            "fast_mass_area",
            D::Area,
            1.0,
            5000.0,
            "surface of furniture and partitions",
        ),
        quantity(
            "slow_mass",
            D::HeatCapacity,
            0.0,
            1e10,
            "heat held by inner masonry, in place of the class",
        ),
        quantity(
            "slow_mass_area",
            D::Area,
            0.0,
            5000.0,
            "surface of inner masonry",
        ),
        quantity(
            "internal_gain",
            D::Power,
            0.0,
            20e3,
            "mean heat from people, lamps and appliances",
        )
        .derived(),
    ],
};

const FLOOR: Section = Section {
    path: "house.floor",
    required: true,
    help: "the lowest floor",
    fields: &[
        field(
            "kind",
            Kind::Words(&["slab", "crawl"]),
            "a slab on the ground, or a wooden floor over a crawl space",
        )
        .required(),
        field(
            "covering",
            Kind::Name(Catalogue::Floor),
            "what lies on the floor",
        )
        .guess_word(["carpet", "carpet", "tile"], COMMON),
        quantity(
            "slab_thickness",
            D::Length,
            0.05,
            0.5,
            "thickness of the slab",
        )
        .guess([0.1, 0.09, 0.15], COMMON),
        quantity(
            "wall_thickness",
            D::Length,
            0.05,
            1.0,
            "thickness of the outer walls at the floor",
        )
        .guess([0.15, 0.12, 0.3], COMMON),
        quantity(
            "crawl_height",
            D::Length,
            0.2,
            3.0,
            "height of the crawl space",
        )
        .guess([0.6, 0.4, 1.0], COMMON),
        quantity(
            "vent_area",
            D::Area,
            0.0,
            10.0,
            "net free area of the crawl space's vents",
        )
        .derived(),
        quantity(
            "wall_u",
            D::Transmittance,
            0.1,
            6.0,
            "transmittance of the crawl space's walls",
        )
        .guess(
            [3.0, 1.0, 4.0],
            "bare concrete stem wall; common practice, no source",
        ),
        Field {
            low: 0.0,
            high: 60.0 * R,
            ..field(
                "insulation",
                Kind::Insulation,
                "insulation between the floor joists of a crawl space",
            )
        }
        .guess([0.0, 0.0, 19.0 * R], COMMON),
    ],
};

const WINDOW: Section = Section {
    path: "house.windows.*",
    required: false,
    help: "the windows of one side of the house",
    fields: &[
        field("faces", Kind::Faces, "direction that they face").required(),
        quantity("area", D::Area, 0.0, 200.0, "area with frames").required(),
        field(
            "glazing",
            Kind::Name(Catalogue::Glazing),
            "kind of window, in place of u and solar_gain",
        ),
        quantity(
            "u",
            D::Transmittance,
            0.4,
            8.0,
            "transmittance, from the label",
        ),
        share(
            "solar_gain",
            0.02,
            0.95,
            "solar heat gain coefficient, from the label",
        ),
        share(
            "shade",
            0.0,
            1.0,
            "share of sunlight that eaves, trees and blinds outside keep off",
        )
        .guess([0.2, 0.0, 0.5], COMMON),
    ],
};

const AIRING: Section = Section {
    path: "house.airing",
    required: false,
    help: "windows opened for cool air",
    fields: &[
        quantity(
            "area",
            D::Area,
            0.0,
            20.0,
            "open area on each of two opposite sides",
        )
        .required(),
        field(
            "faces",
            Kind::Faces,
            "direction that one of the two sides faces",
        )
        .required(),
        field(
            "control",
            Kind::Text,
            "which of [controls] says when they are open",
        )
        .required(),
    ],
};

const COOLING: Section = Section {
    path: "house.cooling",
    required: false,
    help: "cooling plant",
    fields: &[
        quantity(
            "set_point",
            D::Temperature,
            10.0,
            40.0,
            "temperature that it holds",
        )
        .required(),
        quantity(
            "capacity",
            D::Power,
            100.0,
            100e3,
            "sensible cooling capacity",
        )
        .required(),
        Field {
            low: 1.0,
            high: 10.0,
            ..field(
                "performance",
                Kind::Number,
                "heat moved per electricity at 35 °C (95 °F) outdoors",
            )
        }
        .guess(
            [3.0, 2.2, 4.0],
            "older to newer split plant; common practice, no source",
        ),
        quantity(
            "performance_per_degree",
            D::TemperatureCoefficient,
            -0.05,
            0.0,
            "change of the performance for each degree of outdoor heat",
        )
        .guess([-0.02, -0.03, -0.01], COMMON),
    ],
};

const HEATING: Section = Section {
    path: "house.heating",
    required: false,
    help: "heating plant",
    fields: &[
        quantity(
            "set_point",
            D::Temperature,
            5.0,
            30.0,
            "temperature that it holds",
        )
        .required(),
        quantity("capacity", D::Power, 100.0, 100e3, "heating capacity").required(),
        Field {
            low: 0.3,
            high: 10.0,
            ..field(
                "performance",
                Kind::Number,
                "heat given per energy bought at 8 °C (47 °F) outdoors",
            )
        }
        .guess([0.8, 0.7, 0.95], "gas furnace; common practice, no source"),
        quantity(
            "performance_per_degree",
            D::TemperatureCoefficient,
            0.0,
            0.05,
            "change of the performance for each degree of outdoor warmth",
        )
        .guess([0.0, 0.0, 0.025], COMMON),
    ],
};

const ROOF: Section = Section {
    path: "roof",
    required: true,
    help: "the roof",
    fields: &[
        field(
            "form",
            Kind::Words(&["gable", "one-slope"]),
            "form of the roof",
        )
        .required(),
        field(
            "ridge",
            Kind::Line,
            "direction in which the ridge runs (gable roof)",
        ),
        field(
            "faces",
            Kind::Faces,
            "direction that the one slope faces (one-slope roof)",
        ),
        quantity(
            "pitch",
            D::Slope,
            0.0415,
            1.0473,
            "pitch of the roof: rise for 12 of run, or degrees",
        )
        .required(),
        field(
            "covering",
            Kind::Name(Catalogue::Covering),
            "what the rain falls on",
        )
        .required(),
        quantity(
            "covering_thickness",
            D::Length,
            1e-4,
            0.2,
            "thickness of a covering that is one of your own [materials]",
        ),
        field("colour", Kind::Text, "colour of the covering"),
        share(
            "absorptance",
            0.03,
            0.98,
            "share of sunlight that the covering takes up, in place of the colour's",
        )
        .derived(),
        share(
            "emittance",
            0.03,
            0.98,
            "thermal emittance of the covering, in place of the colour's",
        )
        .derived(),
        field(
            "deck",
            Kind::Layers(Catalogue::Material),
            "what the covering lies on",
        )
        .required(),
        quantity(
            "deck_thickness",
            D::Length,
            0.003,
            0.15,
            "thickness of the deck",
        )
        .derived(),
        field(
            "on_battens",
            Kind::Flag,
            "whether the covering lies on battens with an air space below",
        ),
        share(
            "deck_emittance",
            0.03,
            0.98,
            "emittance of the bare underside of the deck",
        )
        .guess(
            [0.9, 0.85, 0.95],
            "bare wood and boards 0.8 to 0.9, use 0.90; general",
        ),
        quantity(
            "overhang",
            D::Length,
            0.0,
            3.0,
            "how far the eaves stand out",
        )
        .guess([0.45, 0.15, 0.9], COMMON),
        quantity(
            "rafter_depth",
            D::Length,
            0.05,
            0.5,
            "depth of the rafters below the deck",
        )
        .guess(
            [0.14, 0.089, 0.24],
            "2×4 to 2×10, mostly 2×6; common practice, no source",
        ),
    ],
};

const BATTENS: Section = Section {
    path: "roof.battens",
    required: false,
    help: "the air space under a covering laid on battens",
    fields: &[
        quantity("gap", D::Length, 0.005, 0.25, "depth of the air space").guess(
            [0.038, 0.02, 0.06],
            "tile or metal on battens; common practice, no source",
        ),
        share(
            "open",
            0.0,
            1.0,
            "share of the air space that is open at eave and ridge",
        )
        .guess([0.3, 0.0, 0.8], COMMON),
    ],
};

const ATTIC: Section = Section {
    path: "attic",
    required: true,
    help: "the space under the roof",
    fields: &[
        field(
            "gable_wall",
            Kind::Layers(Catalogue::GableWall),
            "what the attic's upright walls are made of",
        )
        .required(),
        share(
            "gable_absorptance",
            0.05,
            0.98,
            "share of sunlight that those walls take up",
        )
        .guess(
            [0.6, 0.4, 0.8],
            "light to dark paint; common practice, no source",
        ),
        share(
            "gable_emittance",
            0.03,
            0.98,
            "emittance of those walls' inner side",
        )
        .guess(
            [0.9, 0.85, 0.95],
            "bare wood and boards 0.8 to 0.9, use 0.90; general",
        ),
        quantity(
            "framing_mass",
            D::Mass,
            0.0,
            50e3,
            "mass of rafters, struts and other timber in the attic air",
        )
        .derived(),
        quantity(
            "framing_area",
            D::Area,
            0.0,
            3000.0,
            "surface of that timber",
        )
        .derived(),
        quantity(
            "leakage",
            D::LeakageArea,
            0.0,
            2.0,
            "leaks of roof and gables beside the vents",
        )
        .derived(),
    ],
};

const CEILING: Section = Section {
    path: "ceiling",
    required: true,
    help: "the ceiling between rooms and attic",
    fields: &[
        field(
            "board",
            Kind::Layers(Catalogue::Material),
            "what the ceiling is made of",
        )
        .guess_word(["gypsum-board", "gypsum-board", "plaster"], COMMON),
        quantity(
            "board_thickness",
            D::Length,
            0.003,
            0.15,
            "thickness of the ceiling",
        )
        .derived(),
        Field {
            low: 0.0,
            high: 100.0 * R,
            ..field(
                "insulation",
                Kind::Insulation,
                "insulation on the attic floor",
            )
        }
        .derived(),
        quantity(
            "insulation_thickness",
            D::Length,
            0.0,
            1.0,
            "thickness of the insulation",
        ),
        field(
            "insulation_material",
            Kind::Name(Catalogue::Insulation),
            "what the insulation is",
        )
        .guess_word(["fibreglass-batt", "fibreglass-loose", "cellulose"], COMMON),
        quantity(
            "joist_depth",
            D::Length,
            0.05,
            0.5,
            "depth of the ceiling joists",
        )
        .guess(
            [0.14, 0.089, 0.235],
            "2×4 to 2×10, mostly 2×6; common practice, no source",
        ),
        quantity(
            "joist_spacing",
            D::Length,
            0.2,
            1.3,
            "distance from joist to joist, centre to centre",
        )
        .guess(
            [0.406, 0.406, 0.61],
            "16 or 24 inches; common practice, no source",
        ),
        quantity("joist_width", D::Length, 0.015, 0.2, "width of a joist").or(0.038),
        share(
            "floor_emittance",
            0.03,
            0.98,
            "emittance of the attic floor",
        )
        .guess(
            [0.9, 0.85, 0.95],
            "fibrous insulation 0.8 to 0.9, use 0.90; general",
        ),
        quantity(
            "leakage",
            D::LeakageArea,
            0.0,
            2.0,
            "leaks between rooms and attic: hatch, lights, pipes, walls",
        )
        .derived(),
    ],
};

const PLACES: Kind = Kind::Words(&["soffit", "ridge", "gable", "slope"]);
const HOLE_FIELDS: &[Field] = &[
    field(
        "shape",
        Kind::Words(&["round", "oval", "rectangle", "strip"]),
        "shape of the hole",
    )
    .required(),
    quantity("diameter", D::Length, 0.01, 3.0, "diameter of a round hole"),
    quantity("width", D::Length, 0.001, 10.0, "width of the hole"),
    quantity(
        "height",
        D::Length,
        0.01,
        5.0,
        "height of an oval or rectangular hole",
    ),
    quantity("length", D::Length, 0.02, 100.0, "length of a strip"),
];
const SCREEN: Field = field(
    "screen",
    Kind::Name(Catalogue::Screen),
    "mesh over the hole",
)
.derived();
const LOUVRE: Field = field(
    "louvre",
    Kind::Name(Catalogue::Louvre),
    "slats or guard over the hole",
)
.derived();
const OPEN_SHARE: Field = share(
    "open_share",
    0.01,
    1.0,
    "share of the hole that air can pass, in place of screen and louvre",
);
const DISCHARGE: Field = share("discharge", 0.2, 1.0, "discharge coefficient").guess(
    [0.6, 0.5, 0.65],
    "sharp-edged opening 0.60 to 0.65, ASHRAE Fundamentals, from memory; less for two-way flow",
);

const OPENING: Section = Section {
    path: "openings.*",
    required: false,
    help: "a vent or a group of like vents of the attic",
    fields: &[
        field("place", PLACES, "what it is in").required(),
        field(
            "faces",
            Kind::Faces,
            "direction that its side of the house faces, or \"both\"",
        ),
        quantity(
            "net_area",
            D::Area,
            0.0,
            20.0,
            "net free area of one, as printed on the vent",
        ),
        quantity(
            "count",
            D::Count,
            0.0,
            1000.0,
            "number of them, on all sides together",
        )
        .or(1.0),
        SCREEN,
        LOUVRE,
        OPEN_SHARE,
        quantity(
            "height",
            D::Length,
            -0.5,
            20.0,
            "height of the middle above the attic floor",
        )
        .derived(),
        DISCHARGE,
    ],
};

const OPENING_HOLE: Section = Section {
    path: "openings.*.hole",
    required: false,
    help: "shape and size of one hole",
    fields: HOLE_FIELDS,
};

const FAN: Section = Section {
    path: "fans.*",
    required: false,
    help: "a group of like fans",
    fields: &[
        quantity("flow", D::AirFlow, 0.001, 5.0, "flow of one fan in free air, as printed on the label"),
        quantity("shut_off", D::Pressure, 1.0, 1000.0, "pressure of one fan at which nothing moves any more")
            .guess([25.0, 15.0, 40.0], "shut-off of small attic fans, from memory, low confidence; the maker's curve is better"),
        field("curve", Kind::Curve, "the maker's curve: pairs of flow and pressure"),
        quantity("curve_density", D::Density, 0.5, 1.5, "density of the air in which the curve was measured").or(1.2),
        quantity("power", D::Power, 0.0, 5000.0, "electric power of one fan at full speed").derived(),
        share("speed", 0.05, 1.0, "speed against full speed, such as at a lower voltage").or(1.0),
        quantity("count", D::Count, 0.0, 500.0, "number of fans").or(1.0),
        quantity("holes", D::Count, 0.0, 500.0, "number of holes; left out, just enough"),
        quantity("fans_per_hole", D::Count, 1.0, 50.0, "fans that one hole takes").or(1.0),
        field("in_opening", Kind::Text, "the one of [openings] whose area the fans take up"),
        SCREEN,
        LOUVRE,
        OPEN_SHARE,
        field("place", PLACES, "what the holes are in"),
        field("faces", Kind::Faces, "direction that their side of the house faces, or \"both\""),
        quantity("height", D::Length, -0.5, 20.0, "height of the holes' middle above the attic floor").derived(),
        DISCHARGE,
        field("direction", Kind::Words(&["exhaust", "supply"]), "which way they blow"),
        field("damper", Kind::Flag, "whether a stopped fan closes its hole"),
        field("control", Kind::Text, "which of [controls] switches them; left out, they run always"),
    ],
};

const FAN_HOLE: Section = Section {
    path: "fans.*.hole",
    required: false,
    help: "shape and size of one hole",
    fields: HOLE_FIELDS,
};

const BARRIER: Section = Section {
    path: "barrier",
    required: false,
    help: "a radiant barrier",
    fields: &[
        field(
            "place",
            Kind::Words(&["none", "rafters", "deck", "floor"]),
            "where the bright surface is",
        )
        .required(),
        field("product", Kind::Name(Catalogue::Barrier), "what it is")
            .guess_word(["foil", "foil", "paint"], COMMON),
        share(
            "emittance",
            0.02,
            0.98,
            "emittance of the face to the attic, from the data sheet",
        )
        .derived(),
        share("other_face", 0.02, 0.98, "emittance of the other face").derived(),
        share("coverage", 0.05, 1.0, "share of the surface that it covers").guess(
            [0.9, 0.75, 0.98],
            "gaps of 3 to 6 inches left at ridge and eave; DOE fact sheet practice, from memory",
        ),
        field(
            "dust",
            Kind::Name(Catalogue::Dust),
            "dust on a bright face that looks up",
        )
        .derived(),
        field(
            "channel",
            Kind::Words(&["closed", "attic", "outdoors", "eave-to-attic"]),
            "where the air space behind a hung sheet opens",
        )
        .guess_word(
            ["attic", "closed", "outdoors"],
            "sheet stapled under rafters with gaps at ridge and eave; common practice, no source",
        ),
        quantity(
            "gap",
            D::Length,
            0.005,
            0.5,
            "depth of the air space behind a hung sheet",
        )
        .derived(),
        share(
            "open_share",
            0.0,
            1.0,
            "share of that air space that is open at its ends",
        )
        .guess([0.5, 0.2, 1.0], COMMON),
    ],
};

const CONTROL: Section = Section {
    path: "controls.*",
    required: false,
    help: "a switch for fans or windows",
    fields: &[
        field(
            "kind",
            Kind::Words(&["thermostat", "timer", "always"]),
            "what switches",
        )
        .required(),
        quantity(
            "on",
            D::Temperature,
            -10.0,
            90.0,
            "temperature at which it switches on",
        ),
        quantity(
            "off",
            D::Temperature,
            -10.0,
            90.0,
            "temperature at which it switches off",
        ),
        quantity(
            "differential",
            D::TemperatureDifference,
            0.1,
            40.0,
            "how far below `on` it switches off, in place of `off`",
        ),
        field(
            "sensor",
            Kind::Words(&["attic", "living"]),
            "where its sensor is; left out, in the attic",
        ),
        quantity(
            "height",
            D::Length,
            0.0,
            20.0,
            "height of its sensor above the attic floor",
        )
        .derived(),
        quantity(
            "only_if_outdoors_cooler",
            D::TemperatureDifference,
            0.1,
            30.0,
            "runs only while outdoors is cooler than its sensor by this much",
        ),
        field(
            "between",
            Kind::Times,
            "times of day between which it may run, standard time",
        ),
    ],
};

const SENSOR: Section = Section {
    path: "sensors.*",
    required: false,
    help: "a thermometer whose reading is worked out",
    fields: &[
        field("zone", Kind::Words(&["attic", "living"]), "where it hangs").required(),
        quantity(
            "height",
            D::Length,
            0.0,
            20.0,
            "height above the floor of its zone",
        )
        .required(),
        share(
            "shielding",
            0.0,
            1.0,
            "share of radiation that its shield keeps off",
        )
        .guess(
            [0.0, 0.0, 0.8],
            "a bare logger has none; common practice, no source",
        ),
        quantity(
            "time_constant",
            D::Duration,
            1.0,
            7200.0,
            "time in which it follows 63 % of a change in still air",
        )
        .guess(
            [300.0, 60.0, 1200.0],
            "small plastic logger; common practice, no source",
        ),
        quantity("diameter", D::Length, 0.0005, 0.2, "diameter of its body")
            .guess([0.02, 0.005, 0.04], COMMON),
    ],
};

const MATERIAL: Section = Section {
    path: "materials.*",
    required: false,
    help: "a material of your own",
    fields: &[
        quantity("conductivity", D::Conductivity, 0.01, 500.0, "conductivity").required(),
        quantity("density", D::Density, 1.0, 12e3, "density").required(),
        quantity(
            "specific_heat",
            D::SpecificHeat,
            100.0,
            5000.0,
            "specific heat",
        )
        .required(),
    ],
};

/// Key that a design has beside what it changes.
pub(super) const DESIGN_WITH: Field = field(
    "with",
    Kind::Texts,
    "other designs whose changes this one starts from",
);

/// Every table of a file but the root and the designs.
pub(super) const SECTIONS: &[Section] = &[
    SITE,
    HOUSE,
    FLOOR,
    WINDOW,
    AIRING,
    COOLING,
    HEATING,
    ROOF,
    BATTENS,
    ATTIC,
    CEILING,
    OPENING,
    OPENING_HOLE,
    FAN,
    FAN_HOLE,
    BARRIER,
    CONTROL,
    SENSOR,
    MATERIAL,
];

/// The section that describes a path, in which `*` stands for any name.
pub(super) fn section(path: &[String]) -> Option<&'static Section> {
    if path.is_empty() {
        return Some(&ROOT);
    }
    SECTIONS.iter().find(|section| fits(section.path, path))
}

/// Whether a pattern describes a path or the beginning of one.
pub(super) fn begins(path: &[String]) -> bool {
    SECTIONS.iter().any(|section| {
        let parts: Vec<&str> = section.path.split('.').collect();
        parts.len() > path.len()
            && parts
                .iter()
                .zip(path)
                .all(|(part, key)| *part == "*" || part == key)
    })
}

/// The keys that may follow a path as tables.
pub(super) fn tables_below(path: &[String]) -> Vec<&'static str> {
    let mut keys: Vec<&'static str> = SECTIONS
        .iter()
        .filter_map(|section| {
            let parts: Vec<&'static str> = section.path.split('.').collect();
            let fits = parts.len() > path.len()
                && parts
                    .iter()
                    .zip(path)
                    .all(|(part, key)| *part == "*" || part == key);
            fits.then(|| parts.get(path.len()).copied()).flatten()
        })
        .filter(|key| *key != "*")
        .collect();
    keys.dedup();
    keys
}

/// Whether the names of a table are the owner's.
pub(super) fn is_group(path: &[String]) -> bool {
    SECTIONS.iter().any(|section| {
        section
            .path
            .strip_suffix(".*")
            .is_some_and(|group| fits(group, path))
    })
}

/// Where else a key belongs.
pub(super) fn elsewhere(key: &str) -> Option<&'static str> {
    let mut homes = SECTIONS
        .iter()
        .filter(|s| s.fields.iter().any(|f| f.key == key))
        .map(|s| s.path);
    let first = homes.next()?;
    homes.next().is_none().then_some(first)
}

fn fits(pattern: &str, path: &[String]) -> bool {
    let mut parts = pattern.split('.');
    let matched = path
        .iter()
        .all(|key| parts.next().is_some_and(|part| part == "*" || part == key));
    matched && parts.next().is_none()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_is_explained_and_its_guess_is_within_its_range() {
        for section in SECTIONS.iter().chain([&ROOT]) {
            assert!(section.help.len() > 5, "{}", section.path);
            for field in section.fields {
                assert!(field.help.len() > 5, "{}.{}", section.path, field.key);
                assert!(field.low < field.high);
                let twins = section
                    .fields
                    .iter()
                    .filter(|other| other.key == field.key)
                    .count();
                assert_eq!(twins, 1, "{}.{}", section.path, field.key);
                if let Need::Guess(Guess {
                    likely: [value, low, high],
                    source,
                }) = field.need
                {
                    assert!(
                        low <= value && value <= high,
                        "{}.{}",
                        section.path,
                        field.key
                    );
                    assert!(
                        field.low <= low && high <= field.high,
                        "{}.{}",
                        section.path,
                        field.key
                    );
                    assert!(source.len() > 15);
                }
                if let (Need::GuessWord(guess), Kind::Name(names)) = (field.need, field.kind) {
                    for word in guess.likely {
                        assert!(names.has(word), "{}.{}: {word}", section.path, field.key);
                    }
                }
            }
        }
    }

    #[test]
    fn paths_find_their_sections() {
        let path = |text: &str| text.split('.').map(str::to_owned).collect::<Vec<_>>();
        assert_eq!(
            section(&path("fans.gable.hole")).unwrap().path,
            "fans.*.hole"
        );
        assert_eq!(section(&path("fans.gable")).unwrap().path, "fans.*");
        assert!(section(&path("fans")).is_none() && begins(&path("fans")));
        assert!(section(&path("gans")).is_none() && !begins(&path("gans")));
        assert!(
            is_group(&path("fans"))
                && is_group(&path("house.windows"))
                && !is_group(&path("house"))
        );
        assert_eq!(
            tables_below(&path("house")),
            ["floor", "windows", "airing", "cooling", "heating"]
        );
        assert_eq!(elsewhere("pitch"), Some("roof"));
        assert_eq!(elsewhere("area"), None);
    }
}
