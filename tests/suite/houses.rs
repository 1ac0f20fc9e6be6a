//! Houses that are not a plain gable: each special case shrinks to the plain one.

use std::path::Path;

use rafterheat::house::{House, HouseError, HouseFile};
use rafterheat::run::{Outcome, RunOptions, simulate};
use rafterheat::weather::Weather;

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

fn read(base: &str, edits: &[(&str, &str)]) -> Result<House, HouseError> {
    let mut text = base.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "there is no {from:?}");
        text = text.replacen(from, to, 1);
    }
    HouseFile::from_text(&text, "house.toml").map(|file| file.base)
}

fn refused(base: &str, edits: &[(&str, &str)]) -> String {
    read(base, edits).unwrap_err().to_string()
}

pub(crate) fn weather() -> Weather {
    let path = "weather-samples/piedmont-typical-summer.csv";
    Weather::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path), None).unwrap()
}

/// Two days of summer.
pub(crate) fn run(house: &House, weather: &Weather) -> Outcome {
    let options = RunOptions {
        warm_up_days: 2,
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
fn column(outcome: &Outcome, name: &str) -> Vec<f64> {
    let node = outcome.nodes.iter().position(|n| n.name == name).unwrap();
    (0..=outcome.times_s.len())
        .map(|row| outcome.state_row(row)[node])
        .collect()
}

fn most(column: &[f64]) -> f64 {
    column.iter().copied().fold(f64::MIN, f64::max)
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
