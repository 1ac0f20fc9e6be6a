//! Roof, attic, ceiling, barrier and materials.

use crate::house::names::Catalogue;
use crate::units::Dimension as D;

use super::{COMMON, Field, Kind, R, Section, field, quantity, share};

pub(super) const ROOF: Section = Section {
    path: "roof",
    required: true,
    help: "the roof",
    fields: &[
        field(
            "form",
            Kind::Words(&["gable", "hip", "one-slope"]),
            "form of the roof",
        )
        .stated_word(
            ["gable", "gable", "hip"],
            "most roofs; common practice, no source",
        ),
        field(
            "ridge",
            Kind::Line,
            "direction in which the ridge runs (gable or hip roof)",
        )
        .guess_word(
            ["east-west", "east-west", "north-south"],
            "either; common practice, no source",
        ),
        field(
            "faces",
            Kind::Direction,
            "direction that the one slope faces (one-slope roof)",
        )
        .guess_word(
            ["south", "north", "west"],
            "any; common practice, no source",
        ),
        quantity(
            "pitch",
            D::Slope,
            0.041_642,
            1.030_4,
            "pitch of the roof: rise for 12 of run, or degrees",
        )
        .stated(
            [0.3217, 0.245, 0.588],
            "3:12 to 8:12, mostly 4:12; common practice, no source",
        ),
        quantity(
            "hip_pitch",
            D::Slope,
            0.041_642,
            1.569_05,
            "pitch of the end slopes of a hip roof; left out, that of the others",
        ),
        field(
            "covering",
            Kind::Name(Catalogue::Covering),
            "what the rain falls on",
        )
        .stated_word(
            ["asphalt-shingle", "concrete-tile", "steel-sheet"],
            "most houses have shingles; common practice, no source",
        ),
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
        .stated_word(
            ["osb", "boards", "plywood"],
            "older decks are boards; common practice, no source",
        ),
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
        Field {
            low: 0.0,
            high: 60.0 * R,
            ..field(
                "underside_insulation",
                Kind::Insulation,
                "insulation on the underside of the deck, such as sprayed foam",
            )
        },
        field(
            "underside_material",
            Kind::Name(Catalogue::Insulation),
            "what that insulation is",
        )
        .guess_word(["spray-foam", "spray-foam", "mineral-wool"], COMMON),
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

pub(super) const BATTENS: Section = Section {
    path: "roof.battens",
    required: false,
    help: "the air space under a covering laid on battens",
    fields: &[
        quantity("gap", D::Length, 0.005, 0.25, "depth of the air space")
            .guess(
                [0.038, 0.02, 0.06],
                "tile or metal on battens; common practice, no source",
            )
            .because("if the covering lies flat on the deck, leave the table [roof.battens] out"),
        share(
            "open",
            0.0,
            1.0,
            "share of the air space that is open at eave and ridge",
        )
        .guess([0.3, 0.0, 0.8], COMMON),
    ],
};

pub(super) const ATTIC: Section = Section {
    path: "attic",
    required: true,
    help: "the space under the roof",
    fields: &[
        field(
            "gable_wall",
            Kind::Layers(Catalogue::GableWall),
            "what the attic's upright walls are made of; a hip roof has none",
        )
        .guess_word(
            ["wood-siding", "stucco", "brick"],
            "as the walls below; common practice, no source",
        ),
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
        field(
            "sealed",
            Kind::Flag,
            "whether the attic was closed to outdoors on purpose",
        ),
        quantity(
            "excluded_area",
            D::Area,
            0.0,
            2000.0,
            "part of the plan that has no attic: cathedral ceilings, rooms behind knee walls",
        ),
        Field {
            low: 0.0,
            high: 60.0 * R,
            ..field(
                "excluded_insulation",
                Kind::Insulation,
                "insulation between ceiling and roof of that part",
            )
        }
        .guess(
            [19.0 * R, 0.0, 30.0 * R],
            "what fits between rafters; common practice, no source",
        ),
        share(
            "film",
            0.3,
            3.0,
            "how much stronger the films of air at the attic's surfaces are than worked out",
        )
        .or(1.0),
        quantity(
            "air_error",
            D::TemperatureDifference,
            -20.0,
            20.0,
            "how much warmer the attic's air is on a hot afternoon than worked out, whatever the other \
             numbers: no run has it, only the limits do",
        )
        .or(0.0),
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
        quantity(
            "air_path",
            D::Length,
            0.0,
            1.0,
            "clear way for air between insulation and deck above the eave vents, for rules of codes",
        )
        .derived(),
    ],
};

pub(super) const CEILING: Section = Section {
    path: "ceiling",
    required: true,
    help: "the ceiling between rooms and attic",
    fields: &[
        field(
            "open",
            Kind::Flag,
            "true if there is no ceiling, as over many garages and porches",
        ),
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
        share(
            "air_sealing",
            0.0,
            1.0,
            "share of those leaks that was closed after any blower-door test",
        )
        .or(0.0),
        field(
            "vapour_retarder",
            Kind::Words(&["none", "class-1", "class-2", "class-3"]),
            "class of the vapour retarder on its warm-in-winter side, for rules of codes",
        )
        .derived(),
    ],
};

pub(super) const BARRIER: Section = Section {
    path: "barrier",
    required: false,
    help: "a radiant barrier",
    fields: &[
        field(
            "place",
            Kind::Words(&["none", "rafters", "deck", "floor"]),
            "where the bright surface is",
        )
        .stated_word(
            ["none", "none", "deck"],
            "few attics have one; common practice, no source",
        ),
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
        share("coverage", 0.05, 1.0, "share of the surface that it covers")
            .guess(
                [0.9, 0.75, 0.98],
                "gaps of 3 to 6 inches left at ridge and eave; DOE fact sheet practice, from memory",
            )
            .because("for no barrier at all say place = \"none\""),
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
        .derived()
        .because("a bright face does nothing without an air space in front of it"),
        share(
            "open_share",
            0.0,
            1.0,
            "share of that air space that is open at its ends",
        )
        .guess([0.5, 0.2, 1.0], COMMON),
    ],
};

pub(super) const MATERIAL: Section = Section {
    path: "materials.*",
    required: false,
    help: "a material of your own",
    fields: &[
        quantity(
            "conductivity",
            D::Conductivity,
            0.01,
            500.0,
            "how well it conducts heat",
        )
        .required(),
        quantity("density", D::Density, 1.0, 12e3, "how heavy it is").required(),
        quantity(
            "specific_heat",
            D::SpecificHeat,
            100.0,
            5000.0,
            "how much heat a weight of it holds",
        )
        .required(),
    ],
};
