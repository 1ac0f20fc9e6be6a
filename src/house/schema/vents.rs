//! Openings, fans, controls and sensors.

use crate::house::names::Catalogue;
use crate::units::Dimension as D;

use super::{COMMON, Field, Kind, Section, field, quantity, share};

const PLACES: Kind = Kind::Words(&["soffit", "ridge", "gable", "slope"]);
const FAN_PLACES: Kind = Kind::Words(&["soffit", "ridge", "gable", "slope", "ceiling"]);
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

pub(super) const OPENING: Section = Section {
    path: "openings.*",
    required: false,
    help: "a vent or a group of like vents of the attic",
    fields: &[
        field("place", PLACES, "what it is in").required(),
        field(
            "faces",
            Kind::Faces,
            "direction that its side of the house faces, or \"both\" long sides, or \"all\"",
        ),
        quantity(
            "net_area",
            D::Area,
            0.0,
            20.0,
            "net free area of one, as printed on the vent",
        )
        .derived(),
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
        share(
            "blocked",
            0.0,
            1.0,
            "share of it that insulation, paint or nests block",
        )
        .or(0.0),
        field(
            "kind",
            Kind::Words(&["hole", "turbine"]),
            "a plain hole, or a wind turbine whose throat it is; left out, a hole",
        ),
        share(
            "flow_coefficient",
            0.0,
            1.0,
            "of a turbine: flow over throat area and wind speed, in free air",
        )
        .derived(),
        quantity(
            "rated_flow",
            D::AirFlow,
            1e-4,
            10.0,
            "of a turbine: flow of one at `rated_wind`, from its test sheet",
        ),
        quantity(
            "rated_wind",
            D::Speed,
            0.5,
            30.0,
            "of a turbine: wind speed that `rated_flow` belongs to",
        ),
    ],
};

pub(super) const OPENING_HOLE: Section = Section {
    path: "openings.*.hole",
    required: false,
    help: "shape and size of one hole",
    fields: HOLE_FIELDS,
};

pub(super) const FAN: Section = Section {
    path: "fans.*",
    required: false,
    help: "a group of like fans",
    fields: &[
        quantity("flow", D::AirFlow, 0.001, 5.0, "flow of one fan in free air, as printed on the label").derived(),
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
        field("place", FAN_PLACES, "what the holes are in; \"ceiling\" is a whole-house fan, from the rooms into the attic"),
        field("faces", Kind::Faces, "direction that their side of the house faces, or \"both\" long sides, or \"all\""),
        quantity("height", D::Length, -0.5, 20.0, "height of the holes' middle above the attic floor").derived(),
        DISCHARGE,
        field("direction", Kind::Words(&["exhaust", "supply"]), "which way they blow"),
        quantity("vent_distance", D::Length, 0.02, 30.0, "distance from a fan to the nearest vent on the same side")
            .derived(),
        quantity("shutter_leak", D::LeakageArea, 0.0, 0.5, "what the closed shutter of one whole-house fan leaks")
            .guess([60e-4, 10e-4, 250e-4], "gaps of a closed louvre shutter without a cover, by judgement; common practice, no source"),
        field("damper", Kind::Flag, "whether a stopped fan closes its hole"),
        field("control", Kind::Text, "which of [controls] switches them; left out, they run always"),
    ],
};

pub(super) const FAN_HOLE: Section = Section {
    path: "fans.*.hole",
    required: false,
    help: "shape and size of one hole",
    fields: HOLE_FIELDS,
};

pub(super) const CONTROL: Section = Section {
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

pub(super) const SENSOR: Section = Section {
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
        .derived(),
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

pub(super) const FITTED: Section = Section {
    path: "fitted.*",
    required: false,
    help: "what a fit to readings has left in doubt of a number of this file",
    fields: &[
        field(
            "key",
            Kind::Text,
            "key of the number, such as \"roof.absorptance\"",
        )
        .required(),
        field(
            "low",
            Kind::Text,
            "least of what is likely, as typed at the key",
        )
        .required(),
        field("high", Kind::Text, "most of what is likely").required(),
        field(
            "with",
            Kind::Text,
            "other keys that it hangs together with, and the correlations",
        ),
        field("from", Kind::Text, "the readings"),
    ],
};
