//! Houses that are not a plain gable: each special case shrinks to the plain one.

use std::path::Path;

use rafterheat::assess::{Warning, inspect};
use rafterheat::house::{House, HouseError, HouseFile};
use rafterheat::run::{Choice, Outcome, RunOptions, simulate};
use rafterheat::weather::Weather;

use crate::house_fans::GABLE_FANS;

/// A slab house with a vented attic whose gables are made of what the roof is made of.
pub(crate) const PLAIN: &str = r#"
name = "a plain house"
design = "plain"
[house]
length = "14 m"
width = "9 m"
ceiling_height = "2.4 m"
leakage = "9 ACH50"
wall = "wood-siding-frame"
wall_insulation = "R-11"
mass = "light"
[house.floor]
kind = "slab"
[house.windows.a]
faces = "south"
area = "8 m2"
glazing = "double"
[roof]
form = "gable"
ridge = "east-west"
pitch = "5:12"
covering = "skin"
covering_thickness = "6 mm"
absorptance = 0.85
emittance = 0.9
deck = [{ material = "osb", thickness = "11 mm" }]
[attic]
gable_wall = [{ material = "osb", thickness = "11 mm" }, { material = "skin", thickness = "6 mm" }]
gable_absorptance = 0.85
leakage = "100 cm2"
framing_mass = "1000 kg"
framing_area = "90 m2"
[ceiling]
insulation = "R-19"
leakage = "250 cm2"
[openings.soffit]
place = "soffit"
faces = "both"
net_area = "0.1 m2"
count = 2
[openings.ridge]
place = "ridge"
net_area = "0.2 m2"
[materials.skin]
conductivity = "0.16 W/mK"
density = "1100 kg/m3"
specific_heat = "1260 J/kgK"
"#;

pub(crate) fn house(base: &str, edits: &[(&str, &str)]) -> House {
    read(base, edits).unwrap_or_else(|error| panic!("{error}"))
}

pub(crate) fn read(base: &str, edits: &[(&str, &str)]) -> Result<House, HouseError> {
    let mut text = base.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "there is no {from:?}");
        text = text.replacen(from, to, 1);
    }
    HouseFile::from_text(&text, "house.toml").map(|file| file.base)
}

pub(crate) fn refused(base: &str, edits: &[(&str, &str)]) -> String {
    read(base, edits).unwrap_err().to_string()
}

pub(crate) fn weather() -> Weather {
    let path = "weather-samples/piedmont-typical-summer.csv";
    Weather::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path), None).unwrap()
}

/// Two days of summer.
pub(crate) fn run(house: &House, weather: &Weather) -> Outcome {
    run_by(RunOptions::default().integrator, house, weather)
}

/// The same with steps that err by less than what two houses that should be alike may differ.
pub(crate) fn run_closely(house: &House, weather: &Weather) -> Outcome {
    run_by(Choice::Default { tolerance_k: 1e-3 }, house, weather)
}

fn run_by(integrator: Choice, house: &House, weather: &Weather) -> Outcome {
    let options = RunOptions {
        warm_up_days: 2,
        integrator,
        ..RunOptions::default()
    };
    simulate(house, weather, 240..288, &options).unwrap()
}

/// Largest difference of two columns.
pub(crate) fn apart(a: &[f64], b: &[f64]) -> f64 {
    assert_eq!(a.len(), b.len());
    a.iter()
        .zip(b)
        .map(|(a, b)| (a - b).abs())
        .fold(0.0, f64::max)
}

/// Temperatures of a node at the ends of the output intervals.
pub(crate) fn column(outcome: &Outcome, name: &str) -> Vec<f64> {
    let node = outcome.nodes.iter().position(|n| n.name == name).unwrap();
    (0..=outcome.times_s.len())
        .map(|row| outcome.state_row(row)[node])
        .collect()
}

pub(crate) fn most(column: &[f64]) -> f64 {
    column.iter().copied().fold(f64::MIN, f64::max)
}

fn file(text: &str) -> Result<HouseFile, HouseError> {
    HouseFile::from_text(text, "house.toml")
}

const HIP: &[(&str, &str)] = &[
    ("form = \"gable\"", "form = \"hip\""),
    (
        "gable_wall = [{ material = \"osb\", thickness = \"11 mm\" }, { material = \"skin\", thickness = \"6 mm\" }]",
        "",
    ),
];

#[test]
fn a_hip_roof_whose_hips_shrink_to_nothing_is_the_gable_roof() {
    let weather = weather();
    let gable = run(&house(PLAIN, &[]), &weather);
    let upright = [
        HIP,
        &[(
            "pitch = \"5:12\"",
            "pitch = \"5:12\"\nhip_pitch = \"89.8 deg\"",
        )],
    ]
    .concat();
    let hip = run(&house(PLAIN, &upright), &weather);
    let attic = apart(&gable.trace.attic_air_k, &hip.trace.attic_air_k);
    let south = |run: &Outcome| column(run, "slope_s_underside");
    let deck = apart(&south(&gable), &south(&hip));
    let ceiling = apart(&gable.trace.ceiling_gain_w, &hip.trace.ceiling_gain_w);
    let flow = apart(&gable.trace.attic_ach, &hip.trace.attic_ach);
    eprintln!("attic {attic} K, deck {deck} K, ceiling {ceiling} W, air change {flow}/h");
    assert!(
        attic < 0.05 && deck < 0.05,
        "attic {attic} K, deck {deck} K"
    );
    assert!(
        ceiling < 0.005 * most(&gable.trace.ceiling_gain_w),
        "{ceiling} W"
    );
    assert!(flow < 0.02 * most(&gable.trace.attic_ach), "{flow}/h");
}

#[test]
fn a_hip_roof_runs_with_vents_on_all_four_eaves() {
    let all = [HIP, &[("faces = \"both\"", "faces = \"all\"")]].concat();
    let hip = house(PLAIN, &all);
    let eaves: Vec<f64> = hip
        .openings
        .iter()
        .filter(|o| o.name.starts_with("openings.soffit"))
        .map(|o| o.net_free_area_m2)
        .collect();
    // 0.2 m² over 46 m of eaves.
    let expected = [14.0, 14.0, 9.0, 9.0].map(|eave| 0.2 * eave / 46.0);
    assert!(apart(&eaves, &expected) < 1e-12, "{eaves:?}");
    let outcome = run(&hip, &weather());
    assert!(
        outcome
            .nodes
            .iter()
            .any(|node| node.name == "slope_e_underside")
    );
    assert!((300.0..345.0).contains(&most(&outcome.trace.attic_air_k)));
}

#[test]
fn a_hip_roof_refuses_gables_and_a_ridge_across_with_a_sentence() {
    let message = refused(PLAIN, &[("form = \"gable\"", "form = \"hip\"")]);
    assert!(
        message.contains("`attic.gable_wall` does not go with form = \"hip\""),
        "{message}"
    );
    let gable_vent = [
        HIP,
        &[("place = \"ridge\"", "place = \"gable\"\nfaces = \"both\"")],
    ]
    .concat();
    let message = refused(PLAIN, &gable_vent);
    assert!(message.contains("a hip roof has no gables"), "{message}");
    let across = [HIP, &[("length = \"14 m\"", "length = \"8 m\"")]].concat();
    let message = refused(PLAIN, &across);
    assert!(
        message.contains("meet below the ridge") && message.contains("longer side"),
        "{message}"
    );
    let pitch = [(
        "pitch = \"5:12\"",
        "pitch = \"5:12\"\nhip_pitch = \"30 deg\"",
    )];
    let message = refused(PLAIN, &pitch);
    assert!(
        message.contains("`roof.hip_pitch` does not go with form = \"gable\""),
        "{message}"
    );
    let pyramid = [
        HIP,
        &[
            ("length = \"14 m\"", "length = \"9 m\""),
            ("place = \"ridge\"", "place = \"slope\"\nfaces = \"south\""),
        ],
    ]
    .concat();
    assert!(house(PLAIN, &pyramid).attic_shape().ridge_length_m().abs() < 1e-9);
}

const KEYS_OF_THE_ATTIC: &str = "framing_mass = \"1000 kg\"";

#[test]
fn an_excluded_area_of_nothing_is_none() {
    let weather = weather();
    let none = run(&house(PLAIN, &[]), &weather);
    let text =
        format!("excluded_area = \"0 m2\"\nexcluded_insulation = \"R-11\"\n{KEYS_OF_THE_ATTIC}");
    let zero = run(&house(PLAIN, &[(KEYS_OF_THE_ATTIC, &text)]), &weather);
    assert!(apart(&none.state_k, &zero.state_k) < 1e-12);
    // As it shrinks, its effect does.
    let text =
        format!("excluded_area = \"0.01 m2\"\nexcluded_insulation = \"R-11\"\n{KEYS_OF_THE_ATTIC}");
    let small = run(&house(PLAIN, &[(KEYS_OF_THE_ATTIC, &text)]), &weather);
    let off = apart(&none.trace.attic_air_k, &small.trace.attic_air_k);
    assert!(off < 0.02, "{off} K");
}

#[test]
fn a_part_without_attic_takes_its_share_of_floor_slopes_and_volume_and_heats_the_rooms() {
    let weather = weather();
    let text =
        format!("excluded_area = \"63 m2\"\nexcluded_insulation = \"none\"\n{KEYS_OF_THE_ATTIC}");
    let half = house(PLAIN, &[(KEYS_OF_THE_ATTIC, &text)]);
    let whole = house(PLAIN, &[]);
    let (a, b) = (half.attic_shape(), whole.attic_shape());
    assert!((a.floor_area_m2() / b.floor_area_m2() - 0.5).abs() < 1e-9);
    assert!((a.volume_m3() / b.volume_m3() - 0.5).abs() < 1e-9);
    assert!((a.slopes[0].area_m2 / b.slopes[0].area_m2 - 0.5).abs() < 1e-9);
    assert!(
        (half.floor_area_m2() - whole.floor_area_m2()).abs() < 1e-9,
        "rooms stay"
    );
    let hot = run(&half, &weather);
    let area: f64 = hot
        .nodes
        .iter()
        .filter(|node| node.name.starts_with("cathedral_") && node.name.ends_with("skin"))
        .map(|node| node.area_m2)
        .sum();
    assert!(
        (area - 63.0 * (1.0_f64 + 25.0 / 144.0).sqrt()).abs() < 1e-6,
        "{area}"
    );
    let insulated = text.replace("none", "R-30");
    let cool = run(&house(PLAIN, &[(KEYS_OF_THE_ATTIC, &insulated)]), &weather);
    let warmer = most(&hot.trace.living_air_k) - most(&cool.trace.living_air_k);
    assert!(warmer > 1.0, "{warmer} K");
    let all = text.replace("63 m2", "126 m2");
    let message = refused(PLAIN, &[(KEYS_OF_THE_ATTIC, &all)]);
    assert!(
        message.contains("leaves no attic") && message.contains("accepts up to"),
        "{message}"
    );
}

#[test]
fn sealed_and_foamed_attics_refuse_vents_and_fans_with_the_reason() {
    let sealed = format!("sealed = true\n{KEYS_OF_THE_ATTIC}");
    let with_fans = format!("{PLAIN}{GABLE_FANS}");
    let message = refused(&with_fans, &[(KEYS_OF_THE_ATTIC, &sealed)]);
    assert!(
        message.contains("has 3 faults"),
        "both vents and the fan: {message}"
    );
    assert!(
        message.contains("does not go with a sealed attic"),
        "{message}"
    );
    assert!(
        message.contains("a fan would draw on the rooms"),
        "{message}"
    );
    let foam = "underside_insulation = \"R-20\"\nabsorptance = 0.85";
    let message = refused(PLAIN, &[("absorptance = 0.85", foam)]);
    assert!(
        message.contains("no outdoor air blows in below it"),
        "{message}"
    );
}

#[test]
fn a_design_that_seals_the_attic_closes_its_vents_and_stops_its_fans() {
    let designs = r#"
[designs.foamed]
attic.sealed = true
roof.underside_insulation = "R-20"
[designs.reopened]
with = ["foamed"]
openings.ridge.count = 1
"#;
    let both = format!("{PLAIN}{GABLE_FANS}{designs}");
    let message = file(&both).unwrap_err().to_string();
    assert!(
        message.contains("1 fault") && message.contains("openings.ridge.count"),
        "{message}"
    );
    let (alone, _) = both.split_once("[designs.reopened]").unwrap();
    let file = file(alone).unwrap();
    let foamed = file.find("foamed").unwrap();
    assert!(foamed.openings.is_empty() && foamed.fans.is_empty());
    assert!(!file.base.openings.is_empty() && file.base.fans.len() == 1);
    assert!(
        !inspect(foamed).warnings.contains(&Warning::NoVents),
        "on purpose"
    );
    let weather = weather();
    let (as_is, foamed) = (run(&file.base, &weather), run(foamed, &weather));
    let (hot, cool) = (
        most(&as_is.trace.attic_air_k),
        most(&foamed.trace.attic_air_k),
    );
    assert!(cool < hot - 4.0, "{hot} and {cool}");
    assert!(most(&foamed.trace.attic_ach) < 0.4 * most(&as_is.trace.attic_ach));
}

#[test]
fn blocked_soffits_are_smaller_soffits() {
    let weather = weather();
    let blocked = house(
        PLAIN,
        &[(
            "net_area = \"0.1 m2\"",
            "net_area = \"0.1 m2\"\nblocked = 0.75",
        )],
    );
    let small = house(
        PLAIN,
        &[("net_area = \"0.1 m2\"", "net_area = \"0.025 m2\"")],
    );
    let (a, b) = (run(&blocked, &weather), run(&small, &weather));
    assert!(apart(&a.trace.attic_air_k, &b.trace.attic_air_k) < 1e-9);
    let open = run(&house(PLAIN, &[]), &weather);
    assert!(most(&a.trace.attic_air_k) > most(&open.trace.attic_air_k) + 0.5);
    let all = house(
        PLAIN,
        &[(
            "net_area = \"0.1 m2\"",
            "net_area = \"0.1 m2\"\nblocked = 1",
        )],
    );
    assert_eq!(all.openings.len(), 1, "only the ridge is left");
}

#[test]
fn air_sealing_closes_the_ceilings_leaks_and_no_others() {
    let text = format!("{PLAIN}\n[designs.tight]\nceiling.air_sealing = 0.8\n");
    let file = file(&text).unwrap();
    let tight = file.find("tight").unwrap();
    let (before, after) = (
        file.base.ceiling.leakage_area_m2,
        tight.ceiling.leakage_area_m2,
    );
    assert!((after - 0.2 * before).abs() < 1e-12 && before > 0.02);
    assert!((tight.living.leakage_m3_s - file.base.living.leakage_m3_s).abs() < 1e-15);
    let weather = weather();
    let (leaky, tight) = (run(&file.base, &weather), run(tight, &weather));
    let share = |run: &Outcome| run.trace.from_living_share.iter().sum::<f64>();
    assert!(share(&tight) < 0.4 * share(&leaky));
}
