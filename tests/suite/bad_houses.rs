//! Broken house files, each with the message its owner gets.

use std::path::Path;

use rafterheat::house::{DEMO, House, HouseError, HouseFile, STARTER};

use crate::golden::check;

/// The starter with parts replaced; a part that is not there is a fault of the test.
fn edited(edits: &[(&str, &str)]) -> String {
    let mut text = STARTER.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "the starter has no {from:?}");
        text = text.replacen(from, to, 1);
    }
    text
}

/// Checks the message of a text that must be refused.
fn refused(name: &str, text: &str) {
    match HouseFile::from_text(text, "house.toml") {
        Ok(_) => panic!("{name} was accepted"),
        Err(error) => check(&format!("houses/{name}.txt"), &format!("{error}\n")),
    }
}

/// A name and what is replaced in the starter.
type Case = (&'static str, &'static [(&'static str, &'static str)]);

const NOTATION: &[Case] = &[
    ("no-quotes", &[("length = \"50 ft\" ", "length = 50 ft ")]),
    (
        "curly-quotes",
        &[("width = \"27 ft\" ", "width = “27 ft” ")],
    ),
    (
        "quote-not-closed",
        &[("ceiling_height = \"8 ft\"", "ceiling_height = \"8 ft")],
    ),
    ("table-not-closed", &[("[roof]", "[roof")]),
    ("key-twice", &[("storeys = 1", "storeys = 1\nstoreys = 2")]),
    ("table-twice", &[("[attic]", "[roof]\n[attic]")]),
    ("decimal-comma", &[("coverage = 0.9 ", "coverage = 0,9 ")]),
    ("no-value", &[("pitch = \"4:12\"", "pitch =")]),
    ("not-a-pair", &[("storeys = 1", "one storey")]),
];

const KEYS: &[Case] = &[
    (
        "misspelt-key",
        &[("ceiling_height = ", "cieling_height = ")],
    ),
    (
        "key-of-another-table",
        &[("storeys = 1", "storeys = 1\npitch = \"4:12\"")],
    ),
    (
        "key-of-the-top",
        &[("storeys = 1", "storeys = 1\ndesign = \"mine\"")],
    ),
    (
        "unknown-key",
        &[("storeys = 1", "storeys = 1\nswimming_pool = true")],
    ),
    ("misspelt-table", &[("[ceiling]", "[cieling]")]),
    (
        "unknown-table",
        &[("[ceiling]", "[garage]\ncars = 2\n\n[ceiling]")],
    ),
    (
        "table-as-text",
        &[
            ("[ceiling]", "[ceiling2]"),
            ("name = ", "ceiling = \"gypsum\"\nname = "),
        ],
    ),
    (
        "bad-name",
        &[("[sensors.ridge]", "[sensors.\"ridge/top\"]")],
    ),
    ("group-without-names", &[("[sensors.ridge]", "[sensors]")]),
    ("missing-key", &[("length = \"50 ft\"", "#")]),
    ("missing-table", &[("[ceiling]", "[designs.lined.ceiling]")]),
    (
        "layer-misspelt",
        &[(
            "wall = \"stucco-frame\"",
            "wall = [{ materail = \"brick\", thickness = \"8 in\" }]",
        )],
    ),
    (
        "layer-without-thickness",
        &[(
            "wall = \"stucco-frame\"",
            "wall = [{ material = \"brick\" }]",
        )],
    ),
    (
        "material-without-density",
        &[(
            "[designs.fans]",
            "[materials.straw]\nconductivity = \"0.09 W/mK\"\nspecific_heat = \"1500 J/kgK\"\n\n[designs.fans]",
        )],
    ),
];

const VALUES: &[Case] = &[
    (
        "number-without-unit",
        &[("length = \"50 ft\"", "length = 50")],
    ),
    (
        "text-without-unit",
        &[("width = \"27 ft\"", "width = \"27\"")],
    ),
    (
        "unit-of-something-else",
        &[("area = \"70 ft2\"", "area = \"70 ft\"")],
    ),
    (
        "misspelt-unit",
        &[("flow = \"75 cfm\"", "flow = \"75 cmf\"")],
    ),
    (
        "thousands-comma",
        &[("area = \"70 ft2\"", "area = \"1,070 ft2\"")],
    ),
    ("no-number", &[("area = \"70 ft2\"", "area = \"large\"")]),
    (
        "pitch-in-words",
        &[("pitch = \"4:12\"", "pitch = \"steep\"")],
    ),
    (
        "pitch-too-steep",
        &[("pitch = \"4:12\"", "pitch = \"45:12\"")],
    ),
    (
        "share-above-one",
        &[("absorptance = \"unknown\"          #", "absorptance = 88 #")],
    ),
    ("share-of-nothing", &[("coverage = 0.9", "coverage = 0")]),
    (
        "fraction-of-a-fan",
        &[("count = 0\nhole", "count = 2.5\nhole")],
    ),
    (
        "negative-area",
        &[("net_area = \"26 in2\"", "net_area = \"-26 in2\"")],
    ),
    (
        "giant-house",
        &[
            ("length = \"50 ft\"", "length = \"50 m\""),
            ("width = \"27 ft\"", "width = \"270 m\""),
        ],
    ),
    (
        "r-value-too-large",
        &[(
            "insulation = \"R-19\"              # printed",
            "insulation = \"R-1900\" #",
        )],
    ),
    (
        "leakage-out-of-range",
        &[(
            "leakage = \"unknown\"              # blower",
            "leakage = \"900 ACH50\" # blower",
        )],
    ),
    (
        "leakage-unreadable",
        &[(
            "leakage = \"unknown\"              # blower",
            "leakage = \"drafty\" # blower",
        )],
    ),
    ("flag-in-quotes", &[("damper = false", "damper = \"no\"")]),
    (
        "list-for-text",
        &[(
            "covering = \"asphalt-shingle\"",
            "covering = [\"asphalt-shingle\"]",
        )],
    ),
    (
        "latitude-too-far",
        &[("# latitude = \"38.1 N\"", "latitude = \"98.1 N\"")],
    ),
    (
        "temperature-without-unit",
        &[("on = \"105 F\"", "on = 105")],
    ),
    (
        "time-unreadable",
        &[(
            "between = [\"20:00\", \"08:00\"]",
            "between = [\"dusk\", \"dawn\"]",
        )],
    ),
    (
        "times-the-same",
        &[(
            "between = [\"20:00\", \"08:00\"]",
            "between = [\"20:00\", \"20:00\"]",
        )],
    ),
    (
        "one-time",
        &[("between = [\"20:00\", \"08:00\"]", "between = [\"20:00\"]")],
    ),
    (
        "cannot-be-unknown",
        &[("storeys = 1", "storeys = \"unknown\"")],
    ),
    (
        "form-unknown",
        &[("form = \"gable\"", "form = \"mansard\"")],
    ),
    (
        "covering-misspelt",
        &[(
            "covering = \"asphalt-shingle\"",
            "covering = \"asfalt shingles\"",
        )],
    ),
    (
        "colour-of-another-covering",
        &[("colour = \"dark\"", "colour = \"bare-new\"")],
    ),
    (
        "direction-unreadable",
        &[(
            "faces = \"south\"                  # a",
            "faces = \"the street\" # a",
        )],
    ),
    (
        "ridge-around-a-corner",
        &[("ridge = \"east-west\"", "ridge = \"east-north\"")],
    ),
    (
        "material-unknown",
        &[(
            "wall = \"stucco-frame\"",
            "wall = [{ material = \"bricks\", thickness = \"8 in\" }]",
        )],
    ),
];

const CLASHES: &[Case] = &[
    (
        "control-not-defined",
        &[("control = \"hot attic\"", "control = \"hot atic\"")],
    ),
    (
        "opening-not-defined",
        &[("in_opening = \"gable\"", "in_opening = \"gabel\"")],
    ),
    ("off-above-on", &[("off = \"95 F\"", "off = \"110 F\"")]),
    (
        "off-and-differential",
        &[(
            "off = \"95 F\"  ",
            "off = \"95 F\"\ndifferential = \"10 F\"  ",
        )],
    ),
    ("thermostat-without-off", &[("off = \"95 F\"", "#")]),
    (
        "timer-with-thermostat",
        &[("kind = \"timer\"", "kind = \"timer\"\non = \"80 F\"")],
    ),
    ("opening-without-size", &[("net_area = \"26 in2\"", "#")]),
    (
        "net-area-with-screen",
        &[(
            "net_area = \"26 in2\"",
            "net_area = \"26 in2\"\nscreen = \"insect-mesh\"",
        )],
    ),
    (
        "open-share-with-louvre",
        &[("louvre = \"wood\" ", "open_share = 0.4\nlouvre = \"wood\" ")],
    ),
    (
        "vent-larger-than-gable",
        &[(
            "width = \"14 in\", height = \"18 in\"",
            "width = \"24 ft\", height = \"4 ft\"",
        )],
    ),
    (
        "vent-taller-than-gable",
        &[
            (
                "width = \"14 in\", height = \"18 in\"",
                "width = \"4 in\", height = \"6 ft\"",
            ),
            ("height = \"3 ft\"                  # of the middle", "# "),
        ],
    ),
    (
        "vent-above-ridge",
        &[(
            "height = \"3 ft\"                  # of the middle",
            "height = \"4 ft\" # of the middle",
        )],
    ),
    (
        "gable-vent-in-the-eave-wall",
        &[
            (
                "place = \"gable\"                  # soffit",
                "place = \"gable\" # soffit",
            ),
            (
                "faces = \"both\"                   # a direction",
                "faces = \"south\" # a direction",
            ),
        ],
    ),
    (
        "no-direction",
        &[(
            "faces = \"both\"                   # a direction",
            "# a direction",
        )],
    ),
    (
        "round-with-width",
        &[(
            "{ shape = \"round\", diameter = \"6 in\" }",
            "{ shape = \"round\", diameter = \"6 in\", width = \"6 in\" }",
        )],
    ),
    (
        "oval-without-height",
        &[(
            "{ shape = \"round\", diameter = \"6 in\" }",
            "{ shape = \"oval\", width = \"6 in\" }",
        )],
    ),
    (
        "fan-without-hole",
        &[("hole = { shape = \"round\", diameter = \"6 in\" }", "#")],
    ),
    ("fan-without-place", &[("in_opening = \"gable\"", "#")]),
    ("fan-without-flow", &[("flow = \"75 cfm\"", "#")]),
    (
        "fan-place-twice",
        &[(
            "in_opening = \"gable\" ",
            "in_opening = \"gable\"\nplace = \"gable\" ",
        )],
    ),
    (
        "fan-hole-larger-than-gable",
        &[
            (
                "in_opening = \"gable\" ",
                "place = \"gable\"\nfaces = \"both\" ",
            ),
            ("diameter = \"6 in\" }", "diameter = \"7 ft\" }"),
        ],
    ),
    (
        "too-many-fans-for-the-holes",
        &[(
            "in_opening = \"gable\" ",
            "place = \"gable\"\nfaces = \"both\"\nholes = 2 ",
        )],
    ),
    (
        "curve-with-one-point",
        &[(
            "flow = \"75 cfm\"",
            "curve = [[\"0 cfm\", \"0.1 in w.g.\"]]\n#",
        )],
    ),
    (
        "curve-that-rises",
        &[(
            "flow = \"75 cfm\"",
            "curve = [[\"0 cfm\", \"5 Pa\"], [\"75 cfm\", \"9 Pa\"]]\n#",
        )],
    ),
    (
        "curve-and-flow",
        &[(
            "flow = \"75 cfm\" ",
            "flow = \"75 cfm\"\ncurve = [[\"0 cfm\", \"9 Pa\"], [\"75 cfm\", \"0 Pa\"]] ",
        )],
    ),
    (
        "channel-behind-a-deck-barrier",
        &[(
            "place = \"none\" ",
            "place = \"deck\"\nchannel = \"attic\" ",
        )],
    ),
    (
        "closed-channel-with-open-share",
        &[(
            "place = \"none\" ",
            "place = \"rafters\"\nchannel = \"closed\"\nopen_share = 0.5\n# ",
        )],
    ),
    (
        "dust-under-rafters",
        &[(
            "place = \"none\" ",
            "place = \"rafters\"\ndust = \"heavy\" ",
        )],
    ),
    (
        "barrier-without-air-space",
        &[("place = \"none\" ", "place = \"rafters\"\ngap = \"0 in\" ")],
    ),
    (
        "barrier-too-deep",
        &[
            ("place = \"none\" ", "place = \"rafters\"\ngap = \"18 in\" "),
            ("width = \"27 ft\"", "width = \"20 ft\""),
        ],
    ),
    (
        "battens-without-gap",
        &[
            ("# [roof.battens]", "[roof.battens]"),
            ("# gap = \"1.5 in\"", "gap = \"0 in\""),
        ],
    ),
    (
        "battens-denied",
        &[
            ("# [roof.battens]", "on_battens = false\n[roof.battens]"),
            ("# gap = \"1.5 in\"", "gap = \"1.5 in\""),
        ],
    ),
    (
        "one-slope-with-ridge",
        &[("form = \"gable\"", "form = \"one-slope\"")],
    ),
    (
        "slab-with-crawl-space",
        &[("kind = \"crawl\"", "kind = \"slab\"")],
    ),
    (
        "windows-larger-than-wall",
        &[("area = \"70 ft2\"", "area = \"700 ft2\"")],
    ),
    (
        "window-without-glazing",
        &[("glazing = \"single-aluminium-frame\"  #", "#")],
    ),
    (
        "window-facing-both",
        &[(
            "faces = \"south\"                  # a",
            "faces = \"both\" # a",
        )],
    ),
    (
        "r-value-and-thickness-disagree",
        &[(
            "# insulation_thickness = \"6 in\"",
            "insulation_thickness = \"1 in\"",
        )],
    ),
    (
        "wall-insulation-too-thick",
        &[("wall_insulation = \"R-11\"", "wall_insulation = \"R-30\"")],
    ),
    (
        "joists-touch",
        &[
            ("joist_spacing = \"16 in\"", "joist_spacing = \"8 in\""),
            ("joist_width = \"1.5 in\"", "joist_width = \"7.8 in\""),
            ("joist_width = \"7.8 in\"", "joist_width = \"200 mm\""),
            ("joist_spacing = \"8 in\"", "joist_spacing = \"200 mm\""),
        ],
    ),
    (
        "ceiling-leaks-more-than-house",
        &[
            (
                "leakage = \"unknown\"              # blower",
                "leakage = \"2 ACH50\" # blower",
            ),
            (
                "leakage = \"unknown\"              # leaks to the rooms",
                "leakage = \"3 ft2\" # leaks",
            ),
        ],
    ),
    (
        "sensor-above-ridge",
        &[("height = \"4 ft\" ", "height = \"9 ft\" ")],
    ),
    (
        "own-covering-without-thickness",
        &[
            ("# [materials.straw-board]", "[materials.reed]"),
            ("# conductivity", "conductivity"),
            ("# density", "density"),
            ("# specific_heat", "specific_heat"),
            ("covering = \"asphalt-shingle\"", "covering = \"reed\""),
        ],
    ),
];

const DESIGNS: &[Case] = &[
    (
        "design-misspelt",
        &[("fans.gable.count = 8", "fans.gable.cuont = 8")],
    ),
    (
        "design-out-of-range",
        &[("fans.gable.count = 8", "roof.absorptance = 1.2")],
    ),
    (
        "design-that-does-not-fit",
        &[("fans.gable.count = 8", "fans.gable.count = 80")],
    ),
    (
        "design-with-new-group",
        &[(
            "fans.gable.count = 8",
            "fans.flue = { flow = \"75 cfm\", place = \"slope\" }",
        )],
    ),
    (
        "design-from-nowhere",
        &[(
            "with = [\"fans\", \"barrier\"]",
            "with = [\"fans\", \"barier\"]",
        )],
    ),
    (
        "design-loop",
        &[("fans.gable.count = 8", "with = [\"fans and barrier\"]")],
    ),
    ("design-without-change", &[("fans.gable.count = 8", "")]),
    (
        "design-as-text",
        &[(
            "[designs.fans]\nfans.gable.count = 8",
            "[designs]\nfans = \"eight\"",
        )],
    ),
    (
        "several-faults",
        &[
            ("length = \"50 ft\"", "length = 50"),
            ("pitch = \"4:12\"", "pitch = \"45:12\""),
            ("covering = \"asphalt-shingle\"", "covering = \"shingle\""),
            ("control = \"hot attic\"", "control = \"hot\""),
            ("place = \"none\"", "place = \"celing\""),
            ("fans.gable.count = 8", "fans.gable.cuont = 8"),
        ],
    ),
];

fn all_refused(cases: &[Case]) {
    for (name, edits) in cases {
        refused(name, &edited(edits));
    }
}

#[test]
fn broken_notation_is_shown() {
    all_refused(NOTATION);
}

#[test]
fn unknown_and_missing_keys_are_shown() {
    all_refused(KEYS);
}

#[test]
fn wrong_values_are_shown() {
    all_refused(VALUES);
}

#[test]
fn answers_that_do_not_fit_together_are_shown() {
    all_refused(CLASHES);
}

#[test]
fn faults_of_designs_are_shown_where_they_stand() {
    all_refused(DESIGNS);
}

#[test]
fn files_that_are_no_house_are_refused() {
    refused("empty", "");
    refused("only-a-remark", "# my house\n");
    refused("control-characters", "name = \"a\u{1}b\"\n\u{7}[roof]\n");
    refused("weather-instead", "time,temp\n2017-07-01 01:00,31.2\n");
    let half = STARTER.find("clay, sand or rock").unwrap();
    let cut = (half..STARTER.len())
        .find(|at| STARTER.is_char_boundary(*at))
        .unwrap();
    refused("cut-short", &STARTER[..cut]);
}

#[test]
fn files_that_cannot_be_read_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let read = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        House::read(&path).unwrap_err()
    };
    let binary = read("binary.toml", b"name = \"x\"\n\xff\xfe\x00");
    assert!(
        matches!(binary, HouseError::NotText { line: 2, .. }),
        "{binary}"
    );
    let huge = read("huge.toml", &vec![b'#'; 1_000_001]);
    assert!(matches!(huge, HouseError::TooLarge { .. }), "{huge}");
    let gone = House::read(Path::new("no such house.toml")).unwrap_err();
    assert!(matches!(gone, HouseError::Read { .. }), "{gone}");
    let folder_error = House::read(folder.path()).unwrap_err();
    assert!(
        matches!(folder_error, HouseError::Read { .. }),
        "{folder_error}"
    );
}

#[test]
fn settings_are_refused_like_files() {
    let house = HouseFile::from_text(DEMO, "demo.toml").unwrap();
    let cases: &[(&str, &[(&str, &str)])] = &[
        ("setting-out-of-range", &[("fans.gable.count", "-3")]),
        ("setting-misspelt", &[("fans.gable.cuont", "4")]),
        (
            "setting-of-a-design",
            &[("designs.fans.fans.gable.count", "4")],
        ),
        ("setting-without-key", &[("", "4")]),
        ("setting-of-no-fan", &[("fans.flue.count", "4")]),
    ];
    for (name, settings) in cases {
        let error = house.with(settings).unwrap_err();
        check(&format!("houses/{name}.txt"), &format!("{error}\n"));
    }
}
