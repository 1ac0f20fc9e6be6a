//! House files that are accepted, and what is made of them.

use proptest::prelude::*;

use rafterheat::equipment::{Condition, FanCurve};
use rafterheat::house::{
    BarrierPlace, Channel, DEMO, Floor, House, HouseError, HouseFile, Place, RoofForm, STARTER,
};
use rafterheat::physics::conduction::Layer;

fn read(text: &str) -> HouseFile {
    HouseFile::from_text(text, "house.toml").unwrap_or_else(|error| panic!("{error}"))
}

fn starter(edits: &[(&str, &str)]) -> House {
    let mut text = STARTER.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "the starter has no {from:?}");
        text = text.replacen(from, to, 1);
    }
    read(&text).base
}

fn near(got: f64, want: f64) {
    assert!(
        (got - want).abs() <= 1e-9 * want.abs().max(1e-3),
        "{got} is not {want}"
    );
}

#[test]
fn the_starter_is_what_its_words_say() {
    let house = starter(&[]);
    near(house.plan.length_m, 50.0 * 0.3048);
    near(house.roof.pitch_rad, (4.0_f64 / 12.0).atan());
    near(house.roof.ridge_azimuth_rad, std::f64::consts::FRAC_PI_2);
    assert_eq!(house.roof.form, RoofForm::Gable);
    near(house.roof.solar_absorptance, 0.88);
    assert!(house.barrier.is_none() && house.fans.is_empty());
    assert_eq!(house.openings.len(), 4, "two gables, two eaves");
    // 14 in × 18 in behind a wooden louvre with insect mesh: a third is free.
    near(
        house.openings[0].net_free_area_m2,
        14.0 * 18.0 * 0.66 * 0.5 * 0.0254_f64.powi(2),
    );
    assert_eq!(house.openings[2].place, Place::Soffit);
    near(
        house.openings[2].net_free_area_m2,
        5.0 * 26.0 * 0.0254_f64.powi(2),
    );
    assert!(matches!(house.living.floor, Floor::Crawl { .. }));
    assert_eq!(
        house.controls[house.living.airing.as_ref().unwrap().control].name,
        "night air"
    );
}

#[test]
fn the_demo_has_the_four_designs_and_says_that_it_is_invented() {
    let file = read(DEMO);
    let names: Vec<&str> = file.all().map(|house| house.design.as_str()).collect();
    assert_eq!(
        names,
        ["as it stands", "fans", "barrier", "fans and barrier"]
    );
    assert!(DEMO.contains("invented") && file.base.name.contains("invented"));
    let vents = file.base.vent_area();
    assert!(
        (250.0..400.0).contains(&vents.ratio()),
        "1:{}",
        vents.ratio()
    );
    let fans = file.find("fans").unwrap();
    assert_eq!(fans.fans.iter().map(|group| group.count).sum::<u32>(), 8);
    assert_eq!(fans.fans.len(), 2, "four in each gable");
    let both = file.find("fans and barrier").unwrap();
    assert_eq!(both.fans, fans.fans);
    let barrier = both.barrier.as_ref().unwrap();
    let hung = BarrierPlace::Rafters {
        gap_m: 5.5 * 0.0254,
        channel: Channel::Attic,
        open_share: 0.5,
    };
    assert_eq!(barrier.place, hung);
    assert_eq!(both.barrier, file.find("barrier").unwrap().barrier);
}

#[test]
fn fans_in_a_vent_take_their_part_of_it() {
    let file = read(DEMO);
    let (base, fans) = (&file.base, file.find("fans").unwrap());
    let group = &fans.fans[0];
    let part = |house: &House| {
        house
            .openings
            .iter()
            .find(|o| o.name == "openings.gable.west")
            .unwrap()
            .net_free_area_m2
    };
    near(part(base) - part(fans), 4.0 * group.hole_net_area_m2);
    near(
        group.hole_net_area_m2,
        std::f64::consts::PI / 4.0 * 0.1524_f64.powi(2) * 0.66 * 0.8,
    );
    assert_eq!((group.holes, group.height_m), (4, 3.5 * 0.3048));
}

#[test]
fn spare_holes_stay_open() {
    let file = read(STARTER).with(&[
        ("fans.flue", "{ flow = '75 cfm', place = 'slope', faces = 'north', holes = 3, fans_per_hole = 2, count = 3, screen = 'none', hole = { shape = 'oval', width = '10 in', height = '4 in' } }"),
    ]);
    let house = file.unwrap_or_else(|error| panic!("{error}")).base;
    let group = &house.fans[0];
    assert_eq!((group.count, group.holes, group.fans_per_hole), (3, 2, 2));
    let spare = house
        .openings
        .iter()
        .find(|opening| opening.name == "fans.flue.spare")
        .unwrap();
    near(spare.net_free_area_m2, group.hole_net_area_m2);
    near(
        spare.net_free_area_m2,
        std::f64::consts::PI / 4.0 * 0.254 * 0.1016,
    );
    assert!(group.control.is_none());
}

#[test]
fn units_are_the_owners_choice() {
    let us = starter(&[]);
    let si = starter(&[
        ("length = \"50 ft\"", "length = \"15.24 m\""),
        ("width = \"27 ft\"", "width = \"822.96 cm\""),
        ("pitch = \"4:12\"", "pitch = \"18.434948822922 deg\""),
        ("on = \"105 F\"", "on = \"40.5555555556 C\""),
        (
            "insulation = \"R-19\"              # printed",
            "insulation = \"3.34609 m2K/W\" #",
        ),
    ]);
    assert!((us.plan.width_m - si.plan.width_m).abs() < 1e-9);
    assert!((us.roof.pitch_rad - si.roof.pitch_rad).abs() < 1e-9);
    let on = |house: &House| match house.controls[0].control.all_of[0] {
        Condition::AtticAbove { on_k, .. } => on_k,
        other => panic!("{other:?}"),
    };
    assert!((on(&us) - on(&si)).abs() < 1e-6);
    let resistance = |house: &House| house.ceiling.insulation[0].resistance_m2k_w();
    assert!((resistance(&us) - resistance(&si)).abs() < 1e-4);
}

#[test]
fn unknown_is_the_same_as_nothing_and_both_are_told() {
    let silent = starter(&[
        ("leakage = \"unknown\"              # blower", "# blower"),
        ("absorptance = \"unknown\"          #", "#"),
    ]);
    let honest = starter(&[]);
    assert_eq!(silent, honest);
    for field in [
        "house.leakage",
        "roof.absorptance",
        "attic.framing_mass",
        "site.shelter",
    ] {
        let note = honest.assumed.iter().find(|note| note.field == field);
        let note = note.unwrap_or_else(|| panic!("{field} is not told"));
        assert!(
            note.source.len() > 10 && note.range[0] != note.range[1],
            "{note:?}"
        );
    }
}

#[test]
fn what_was_assumed_can_be_set() {
    for text in [STARTER, DEMO] {
        let file = read(text);
        for house in file.all() {
            for note in &house.assumed {
                for value in [&note.value, &note.range[0], &note.range[1]] {
                    let set = file.with(&[(&note.field, value)]);
                    let set = set.unwrap_or_else(|error| panic!("{}={value}: {error}", note.field));
                    let still = &set.find(&house.design).unwrap().assumed;
                    assert!(
                        !still.iter().any(|other| other.field == note.field),
                        "{}",
                        note.field
                    );
                }
            }
        }
    }
}

#[test]
fn an_assumed_value_set_to_itself_changes_little() {
    let file = read(DEMO);
    let leaky = file
        .base
        .assumed
        .iter()
        .find(|note| note.field == "attic.leakage")
        .unwrap();
    let set = file.with(&[("attic.leakage", &leaky.value)]).unwrap();
    let ratio = set.base.attic.leakage_area_m2 / file.base.attic.leakage_area_m2;
    assert!((ratio - 1.0).abs() < 0.01, "{ratio}");
}

#[test]
fn settings_reach_every_design() {
    let file = read(DEMO)
        .with(&[("fans.gable.count", "2"), ("barrier.place", "floor")])
        .unwrap();
    for house in file.all() {
        assert_eq!(
            house.fans.iter().map(|group| group.count).sum::<u32>(),
            2,
            "{}",
            house.design
        );
        assert_eq!(house.barrier.as_ref().unwrap().place, BarrierPlace::Floor);
    }
}

#[test]
fn a_later_choice_makes_older_answers_void() {
    // The house says where the channel opens; a design that lays foil on the floor has none.
    let text = STARTER.replace("# channel = \"attic\"", "channel = \"outdoors\"");
    let text = text.replace("place = \"none\" ", "place = \"rafters\" ");
    let floor = read(&text)
        .with(&[("barrier.place", "floor")])
        .unwrap()
        .base;
    assert_eq!(floor.barrier.unwrap().place, BarrierPlace::Floor);
    let hung = read(&text).base.barrier.unwrap().place;
    assert!(matches!(
        hung,
        BarrierPlace::Rafters {
            channel: Channel::Outdoors,
            ..
        }
    ));
}

#[test]
fn a_setting_is_laid_over_designs_too() {
    let text = STARTER.replace(
        "barrier.place = \"rafters\"",
        "barrier = { place = \"rafters\", channel = \"outdoors\" }",
    );
    let file = read(&text).with(&[("barrier.place", "deck")]).unwrap();
    for house in file.all() {
        assert_eq!(
            house.barrier.as_ref().unwrap().place,
            BarrierPlace::Deck,
            "{}",
            house.design
        );
    }
    let again = file.with(&[("barrier.place", "none")]).unwrap();
    assert!(again.all().all(|house| house.barrier.is_none()));
}

/// Also where settings were laid over the file before.
#[test]
fn every_bad_setting_is_told_as_it_was_typed() {
    let file = read(DEMO).with(&[("roof.pitch", "6:12")]).unwrap();
    let settings = [
        ("roof.overhang", "18 inn"),
        ("fans.gable.count", "2"),
        ("roof.absorptance", "1.5"),
        ("designs.x", "1"),
    ];
    let Err(HouseError::Invalid { faults, .. }) = file.design_with("fans", &settings) else {
        panic!("taken");
    };
    let told = faults.iter();
    let told: Vec<_> = told
        .map(|fault| (fault.file.as_str(), fault.column))
        .collect();
    assert_eq!(
        told,
        [
            ("designs.x=1", 1),
            ("roof.overhang=18 inn", 15),
            ("roof.absorptance=1.5", 18),
        ]
    );
    assert!(file.design_with("fans", &settings[1..2]).is_ok());
}

#[test]
fn dust_raises_the_emittance_of_a_floor_barrier() {
    let emittance = |dust: &str| {
        let set = [("barrier.place", "floor"), ("barrier.dust", dust)];
        read(STARTER)
            .with(&set)
            .unwrap()
            .base
            .barrier
            .unwrap()
            .emittance_attic
    };
    near(emittance("none"), 0.04);
    near(emittance("light"), 0.2);
    near(emittance("heavy"), 0.5);
    near(emittance("unknown"), 0.2);
}

#[test]
fn one_slope_faces_where_it_is_said_to() {
    let house = starter(&[
        ("form = \"gable\"", "form = \"one-slope\""),
        ("ridge = \"east-west\"", "faces = \"south\""),
        ("faces = \"both\"\nnet_area", "faces = \"south\"\nnet_area"),
    ]);
    let shape = house.attic_shape();
    near(shape.slopes[0].azimuth_rad, std::f64::consts::PI);
    near(shape.ridge_height_m, 27.0 * 0.3048 / 3.0);
    assert_eq!(shape.walls.len(), 3);
    let eave = house
        .openings
        .iter()
        .find(|opening| opening.place == Place::Soffit)
        .unwrap();
    near(eave.height_m, 0.0);
}

#[test]
fn tiles_lie_on_battens_unless_said_otherwise() {
    let tiles = ("covering = \"asphalt-shingle\"", "covering = \"Clay tile\"");
    let colour = ("colour = \"dark\"", "colour = \"red\"");
    let house = starter(&[tiles, colour]);
    assert!(house.roof.battens.is_some());
    assert!(
        house
            .assumed
            .iter()
            .any(|note| note.field == "roof.on_battens")
    );
    let flat = starter(&[
        tiles,
        colour,
        ("deck = \"osb\"", "on_battens = false\ndeck = \"osb\""),
    ]);
    assert!(flat.roof.battens.is_none());
}

#[test]
fn r_value_and_thickness_together_give_the_conductivity() {
    let house = starter(&[(
        "# insulation_thickness = \"6 in\"",
        "insulation_thickness = \"8 in\"",
    )]);
    let Layer::Solid { thickness_m, .. } = house.ceiling.insulation[0] else {
        panic!()
    };
    near(thickness_m, 8.0 * 0.0254);
    assert!((house.ceiling.insulation[0].resistance_m2k_w() - 19.0 * 0.176_110).abs() < 1e-4);
    // Thicker than the joists: what lies above them is part of their path.
    assert_eq!(house.ceiling.joist_path.len(), 2);
}

#[test]
fn layers_and_materials_of_ones_own_are_taken() {
    let house = starter(&[
        ("# [materials.straw-board]", "[materials.straw-board]"),
        ("# conductivity", "conductivity"),
        ("# density", "density"),
        ("# specific_heat", "specific_heat"),
        (
            "wall = \"stucco-frame\" ",
            "wall = [{ material = \"straw-board\", thickness = \"50 mm\" }, { material = \"brick\", thickness = \"4 in\" }] ",
        ),
        ("wall_insulation = \"R-11\"", "#"),
    ]);
    assert_eq!(house.living.wall.len(), 2);
    near(house.living.wall[0].resistance_m2k_w(), 0.05 / 0.09);
}

#[test]
fn a_makers_curve_is_taken_as_it_is() {
    let curve =
        "curve = [[\"0 cfm\", \"25 Pa\"], [\"50 cfm\", \"10 Pa\"], [\"75 cfm\", \"0 Pa\"]]\n#";
    let house = starter(&[
        ("flow = \"75 cfm\"", curve),
        ("shut_off = \"unknown\"", "#"),
        ("count = 0\nhole", "count = 2\nhole"),
    ]);
    let FanCurve::Points(points) = &house.fans[0].fan.curve else {
        panic!()
    };
    assert_eq!(points.len(), 3);
    near(points[0][1], 25.0);
    assert!((house.fan_label_flow_m3_s() - 150.0 * 0.000_471_947).abs() < 1e-6);
}

#[test]
fn a_blower_door_counts_the_ceiling_once() {
    let tight = starter(&[(
        "leakage = \"unknown\"              # blower",
        "leakage = \"3 ACH50\" # blower",
    )]);
    let loose = starter(&[(
        "leakage = \"unknown\"              # blower",
        "leakage = \"12 ACH50\" # blower",
    )]);
    let at_50_pa = |house: &House| {
        let ceiling = house.ceiling.leakage_area_m2 * (8.0_f64 / 1.2).sqrt() / 4.0_f64.powf(0.65);
        (house.living.leakage_m3_s + ceiling) * 50.0_f64.powf(0.65)
    };
    let volume_m3 = tight.living_volume_m3();
    assert!((at_50_pa(&tight) - 3.0 * volume_m3 / 3600.0).abs() < 1e-3);
    assert!((at_50_pa(&loose) - 12.0 * volume_m3 / 3600.0).abs() < 1e-3);
    assert!(tight.ceiling.leakage_area_m2 < loose.ceiling.leakage_area_m2);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,400}") {
        told(&HouseFile::from_text(&text, "any.toml"));
    }

    #[test]
    fn no_bytes_of_the_notation_make_it_panic(text in "[\\[\\]{}=.,\"'# \n\ta-z0-9é“-]{0,200}") {
        told(&HouseFile::from_text(&text, "any.toml"));
    }

    #[test]
    fn no_mutation_of_the_starter_makes_it_panic(
        at in 0usize..100_000, length in 0usize..40, put in "[\\[\\]{}=.,\"'# \na-z0-9é“\u{0}\u{7}-]{0,12}",
    ) {
        let start = floor_boundary(STARTER, at % STARTER.len());
        let end = floor_boundary(STARTER, (start + length).min(STARTER.len()));
        let text = format!("{}{put}{}", &STARTER[..start], &STARTER[end.max(start)..]);
        told(&HouseFile::from_text(&text, "starter.toml"));
    }

    #[test]
    fn no_line_moved_elsewhere_makes_it_panic(from in 0usize..200, to in 0usize..200, twice: bool) {
        let mut lines: Vec<&str> = STARTER.lines().collect();
        let (from, to) = (from % lines.len(), to % lines.len());
        let line = lines[from];
        if !twice {
            lines.remove(from);
        }
        lines.insert(to.min(lines.len()), line);
        told(&HouseFile::from_text(&lines.join("\n"), "moved.toml"));
    }

    #[test]
    fn no_setting_makes_it_panic(key in "[a-z_.\" ]{0,30}", value in "\\PC{0,20}") {
        let file = HouseFile::from_text(STARTER, "house.toml").unwrap();
        told(&file.with(&[(&key, &value)]));
    }
}

/// A house, or faults that can be shown.
fn told(read: &Result<HouseFile, HouseError>) {
    match read {
        Ok(file) => assert!(file.base.plan.length_m > 0.0),
        Err(HouseError::Invalid { faults, .. }) => {
            assert!(!faults.is_empty(), "refused without a word");
            assert!(faults.iter().all(|fault| fault.to_string().len() > 20));
        }
        Err(other) => panic!("{other}"),
    }
}

fn floor_boundary(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A house whose owner knows nothing but that it has two gable vents, one fan and a logger.
pub(crate) const NOTHING_KNOWN: &str = r#"
[house]
length = "unknown"
width = "unknown"
ceiling_height = "unknown"
wall = "unknown"
[house.floor]
kind = "unknown"
[house.windows.front]
faces = "south"
area = "unknown"
glazing = "unknown"
[roof]
form = "gable"
ridge = "unknown"
pitch = "unknown"
covering = "unknown"
deck = "unknown"
[attic]
gable_wall = "unknown"
[ceiling]
[openings.gable]
place = "gable"
faces = "both"
count = 2
net_area = "unknown"
[fans.gable]
flow = "unknown"
hole = { shape = "round", diameter = "12 in" }
place = "gable"
faces = "both"
[barrier]
place = "unknown"
[sensors.ridge]
zone = "attic"
height = "unknown"
"#;

#[test]
fn what_is_not_known_is_assumed_and_both_ends_of_it_can_be_built() {
    use rafterheat::house::Spread;
    let file = HouseFile::from_text(NOTHING_KNOWN, "house.toml").unwrap();
    let fields: Vec<&str> = file.base.assumed.iter().map(|a| a.field.as_str()).collect();
    for field in [
        "house.length",
        "house.wall",
        "house.windows.front.area",
        "house.windows.front.glazing",
        "roof.ridge",
        "roof.pitch",
        "roof.covering",
        "openings.gable.net_area",
        "fans.gable.flow",
        "barrier.place",
        "sensors.ridge.height",
    ] {
        assert!(fields.contains(&field), "{field} is not among {fields:?}");
    }
    for one in &file.base.assumed {
        let ends: Vec<String> = match &one.spread {
            Spread::Number {
                low, high, value, ..
            } => {
                assert!(low <= value && value <= high, "{}", one.field);
                one.range.to_vec()
            }
            Spread::Cases(cases) => {
                assert_eq!(cases[0], one.value);
                cases.clone()
            }
        };
        for end in ends {
            file.with(&[(one.field.as_str(), end.as_str())])
                .unwrap_or_else(|error| panic!("{} = {end}: {error}", one.field));
        }
    }
    let place = file
        .base
        .assumed
        .iter()
        .find(|a| a.field == "barrier.place");
    let Some(Spread::Cases(cases)) = place.map(|one| &one.spread) else {
        panic!("{place:?}");
    };
    assert_eq!(cases, &["none", "deck", "rafters", "floor"]);
}
