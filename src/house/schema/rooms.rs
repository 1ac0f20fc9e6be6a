//! Site and rooms.

use crate::house::names::Catalogue;
use crate::units::Dimension as D;

use super::{COMMON, Field, Kind, R, Section, field, quantity, share};

pub(super) const TOP: Section = Section {
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

pub(super) const SITE: Section = Section {
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
            "north_wind",
            -0.8,
            0.8,
            "how much more of the wind comes through from the north than from all round, and as much \
             less from the south",
        )
        .or(0.0),
        share(
            "east_wind",
            -0.8,
            0.8,
            "how much more of the wind comes through from the east than from all round, and as much \
             less from the west",
        )
        .or(0.0),
        share(
            "natural_film",
            0.3,
            3.0,
            "how much more heat still air takes from outer surfaces than is worked out",
        )
        .or(1.0),
        share(
            "wind_film",
            0.3,
            3.0,
            "how much more heat the wind takes from outer surfaces than is worked out",
        )
        .or(1.0),
        quantity(
            "skyline",
            D::Angle,
            0.0,
            0.6,
            "height of trees, houses and hills around, as an angle above the level: below it the sun \
             is behind them",
        )
        .or(0.0),
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
        ),
        quantity(
            "annual_mean",
            D::Temperature,
            -15.0,
            35.0,
            "mean outdoor temperature of the year",
        ),
        quantity(
            "climate_zone",
            D::Count,
            1.0,
            8.0,
            "climate zone of the energy code, for rules of codes",
        )
        .derived(),
    ],
};

pub(super) const HOUSE: Section = Section {
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
        .stated(
            [15.0, 10.0, 22.0],
            "usual single-family houses; common practice, no source",
        ),
        quantity(
            "width",
            D::Length,
            2.0,
            60.0,
            "outside width of the house, measured across the ridge",
        )
        .stated(
            [8.5, 7.0, 13.0],
            "usual single-family houses; common practice, no source",
        ),
        quantity("storeys", D::Count, 1.0, 4.0, "number of storeys").or(1.0),
        quantity(
            "ceiling_height",
            D::Length,
            1.8,
            6.0,
            "height from floor to ceiling",
        )
        .stated(
            [2.44, 2.3, 3.0],
            "8 feet, in some houses 9 or 10; common practice, no source",
        ),
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
        .stated_word(
            ["wood-siding-frame", "stucco-frame", "brick-veneer-frame"],
            "wooden frame; common practice, no source",
        ),
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
        field(
            "rooms",
            Kind::Words(&["simulated", "given", "outdoors"]),
            "whether the rooms are worked out, their temperature is given, or there are none but outdoors; left out, worked out",
        ),
        quantity(
            "rooms_temperature",
            D::Temperature,
            -20.0,
            60.0,
            "temperature of given rooms, always the same",
        ),
        field(
            "rooms_log",
            Kind::Text,
            "CSV file with the temperature of given rooms by time, beside this file",
        ),
        field(
            "rooms_column",
            Kind::Text,
            "column of that file, whose name ends in its unit, such as hall_f",
        ),
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

pub(super) const FLOOR: Section = Section {
    path: "house.floor",
    required: true,
    help: "the lowest floor",
    fields: &[
        field(
            "kind",
            Kind::Words(&["slab", "crawl"]),
            "a slab on the ground, or a wooden floor over a crawl space",
        )
        .stated_word(
            ["slab", "slab", "crawl"],
            "either, by region; common practice, no source",
        ),
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

pub(super) const WINDOW: Section = Section {
    path: "house.windows.*",
    required: false,
    help: "the windows of one side of the house",
    fields: &[
        field("faces", Kind::Direction, "direction that they face").required(),
        quantity("area", D::Area, 0.0, 200.0, "area with frames").stated(
            [6.0, 3.0, 12.0],
            "one side of a usual house; common practice, no source",
        ),
        field(
            "glazing",
            Kind::Name(Catalogue::Glazing),
            "kind of window, in place of u and solar_gain",
        )
        .guess_word(
            ["double", "single-aluminium-frame", "double-low-e"],
            "either, by age; common practice, no source",
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

pub(super) const AIRING: Section = Section {
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
            Kind::Direction,
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

pub(super) const COOLING: Section = Section {
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
        .stated(
            [25.5, 23.0, 27.5],
            "74 to 82 °F; common practice, no source",
        ),
        quantity(
            "capacity",
            D::Power,
            100.0,
            100e3,
            "sensible cooling capacity",
        )
        .stated(
            [8e3, 5e3, 13e3],
            "2 to 5 tons, three quarters of it sensible; common practice, no source",
        ),
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

pub(super) const DUCTS: Section = Section {
    path: "house.ducts",
    required: false,
    help: "supply ducts of the cooling plant in the attic",
    fields: &[
        quantity(
            "area",
            D::Area,
            0.0,
            200.0,
            "outer surface of the ducts in the attic; 0 if there are none",
        )
        .derived(),
        Field {
            low: 0.0,
            high: 20.0 * R,
            ..field("insulation", Kind::Insulation, "insulation of the ducts")
        }
        .guess(
            [4.2 * R, 0.0, 8.0 * R],
            "R-4 to R-8 of flexible ducts; common practice, no source",
        ),
        share(
            "leakage",
            0.0,
            0.5,
            "share of the plant's air that they lose to the attic",
        )
        .guess(
            [0.1, 0.03, 0.2],
            "supply leaks found in surveys of existing houses, from memory, low confidence",
        ),
        quantity(
            "idle_leak",
            D::LeakageArea,
            0.0,
            0.2,
            "way for air between rooms and attic that their leaks leave",
        )
        .guess(
            [50e-4, 10e-4, 150e-4],
            "by judgement; common practice, no source",
        ),
    ],
};

pub(super) const HEATING: Section = Section {
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
