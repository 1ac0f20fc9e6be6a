//! Houses that are not a plain gable: each special case shrinks to the plain one.

use std::fmt::Write as _;
use std::path::Path;

use rafterheat::assess::{Warning, inspect};
use rafterheat::house::{House, HouseError, HouseFile};
use rafterheat::run::{Choice, Outcome, RunError, RunOptions, simulate};
use rafterheat::weather::{MadeWeek, Weather};

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

const TURBINE: &str = r#"
[openings.turbine]
kind = "turbine"
place = "slope"
faces = "south"
hole = { shape = "round", diameter = "12 in" }
open_share = 1
height = "1.4 m"
discharge = 0.6
flow_coefficient = 0.3
"#;

#[test]
fn a_turbine_in_still_air_is_its_hole() {
    let calm = calm();
    let turbine = format!("{PLAIN}{TURBINE}");
    let spun = house(&turbine, &[]);
    let still = house(
        &turbine,
        &[("kind = \"turbine\"\n", ""), ("flow_coefficient = 0.3", "")],
    );
    let (spun, hole) = (run(&spun, &calm), run(&still, &calm));
    let attic = apart(&spun.trace.attic_air_k, &hole.trace.attic_air_k);
    let flow = apart(&spun.trace.attic_ach, &hole.trace.attic_ach);
    assert!(attic < 1e-6 && flow < 1e-6, "{attic} K, {flow}/h");
    assert!(most(&hole.trace.attic_ach) > 0.5, "the hole passes air");
}

/// A made day without wind, three times.
fn calm() -> Weather {
    let week = MadeWeek {
        wind_speed_m_s: 0.0,
        days: 14,
        ..MadeWeek::default()
    };
    week.weather().unwrap()
}

#[test]
fn a_brochures_point_is_set_aside_and_said_so() {
    let turbine = format!("{PLAIN}{TURBINE}");
    let point = |flow: &str| {
        let rated = format!("rated_flow = \"{flow}\"\nrated_wind = \"3 m/s\"");
        house(&turbine, &[("flow_coefficient = 0.3", &rated)])
    };
    let area = std::f64::consts::FRAC_PI_4 * 0.3048_f64.powi(2);
    let honest = point("60 L/s");
    let coefficient = honest.openings.iter().find_map(|o| o.turbine).unwrap();
    assert!((coefficient - 0.06 / (area * 3.0)).abs() < 1e-9);
    let brochure = point("400 L/s");
    let coefficient = brochure.openings.iter().find_map(|o| o.turbine).unwrap();
    assert!((coefficient - 0.3).abs() < 1e-12);
    let note = brochure
        .assumed
        .iter()
        .find(|note| note.field == "openings.turbine.flow_coefficient")
        .unwrap();
    assert!(
        note.source.contains("1.8 times") && note.source.contains("brochures"),
        "{}",
        note.source
    );
    let low = refused(&turbine, &[("place = \"slope\"", "place = \"gable\"")]);
    assert!(low.contains("no place for a turbine"), "{low}");
}

const WHOLE_HOUSE: &str = r#"
[fans.whole]
place = "ceiling"
flow = "1500 L/s"
shut_off = "60 Pa"
hole = { shape = "rectangle", width = "0.6 m", height = "0.6 m" }
open_share = 0.8
shutter_leak = "80 cm2"
control = "evening"
[controls.evening]
kind = "thermostat"
sensor = "living"
on = "20 C"
off = "18 C"
only_if_outdoors_cooler = "1 K"
[house.airing]
area = "0.8 m2"
faces = "south"
control = "evening"
"#;

#[test]
fn a_whole_house_fan_that_is_off_is_the_leak_of_its_shutter() {
    let weather = weather();
    let edits = [
        ("on = \"20 C\"", "on = \"80 C\""),
        ("off = \"18 C\"", "off = \"70 C\""),
    ];
    let off = run(&house(&format!("{PLAIN}{WHOLE_HOUSE}"), &edits), &weather);
    // A leak as large beside the ceiling's own; the house's other leaks stay what they were.
    let mut leaky = house(PLAIN, &[]);
    leaky.ceiling.leakage_area_m2 += 80e-4;
    let leak = run(&leaky, &weather);
    let attic = apart(&off.trace.attic_air_k, &leak.trace.attic_air_k);
    let rooms = apart(&off.trace.living_air_k, &leak.trace.living_air_k);
    assert!(
        attic < 1e-3 && rooms < 1e-3,
        "attic {attic} K, rooms {rooms} K"
    );
    let none = run(&house(PLAIN, &[]), &weather);
    assert!(
        apart(&off.trace.living_air_k, &none.trace.living_air_k) > 5e-3,
        "the leak is felt"
    );
}

#[test]
fn a_whole_house_fan_cools_the_rooms_through_open_windows_and_presses_on_the_attic() {
    let weather = weather();
    let text = format!("{PLAIN}{WHOLE_HOUSE}");
    let fan = house(&text, &[]);
    let with = run(&fan, &weather);
    let without = run(
        &house(
            &text,
            &[("flow = \"1500 L/s\"", "count = 0\nflow = \"1500 L/s\"")],
        ),
        &weather,
    );
    let low = |column: &[f64]| column.iter().copied().fold(f64::MAX, f64::min);
    assert!(
        with.fans[0].run_s > 3600.0 * 4.0,
        "{} h",
        with.fans[0].run_s / 3600.0
    );
    let delivered = with.fans[0].delivered_m3_s;
    assert!((0.4..1.3).contains(&delivered), "{delivered} m³/s of 1.5");
    assert!(low(&with.trace.living_air_k) < low(&without.trace.living_air_k) - 0.3);
    assert!(
        most(&with.trace.attic_pressure_pa) > 1.0,
        "exits of 0.4 m² for 0.59 asked"
    );
    let small = inspect(&fan);
    assert!((small.exit_asked_m2 - 1.5 * 0.3937).abs() < 1e-3);
}

/// The plain house without its rooms, their temperature in a log beside it.
fn attic_only(folder: &Path, log: &str) -> Result<House, HouseError> {
    std::fs::write(folder.join("hall.csv"), log).unwrap();
    let rooms = "rooms = \"given\"\nrooms_log = \"hall.csv\"";
    let start = PLAIN.find("wall = \"wood-siding-frame\"").unwrap();
    let end = PLAIN.find("[roof]").unwrap();
    let text = format!("{}{rooms}\n{}", &PLAIN[..start], &PLAIN[end..]);
    HouseFile::from_text(&text, folder.join("house.toml")).map(|file| file.base)
}

#[test]
fn the_attic_alone_with_the_logged_rooms_is_the_attic_of_the_whole_house() {
    let weather = weather();
    let options = RunOptions::default();
    let whole = simulate(&house(PLAIN, &[]), &weather, 144..288, &options).unwrap();
    let mut log = "time,hall_c\n".to_owned();
    for (index, &temp_k) in whole.trace.living_air_k.iter().enumerate().step_by(12) {
        let hour = 144 + i64::try_from(index / 12).unwrap();
        let time = weather.interval_start(0) + jiff::SignedDuration::from_hours(hour);
        writeln!(log, "{time},{:.2}", temp_k - 273.15).unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    let alone = attic_only(folder.path(), &log).unwrap();
    assert!(alone.living.wall.is_empty());
    let alone = simulate(&alone, &weather, 192..288, &options).unwrap();
    let after = whole
        .trace
        .times_s
        .iter()
        .position(|t| *t >= 48.0 * 3600.0)
        .unwrap();
    let attic = apart(&whole.trace.attic_air_k[after..], &alone.trace.attic_air_k);
    let deck = apart(
        &whole.trace.deck_underside_k[after..],
        &alone.trace.deck_underside_k,
    );
    let rooms = apart(
        &whole.trace.living_air_k[after..],
        &alone.trace.living_air_k,
    );
    eprintln!("attic {attic} K, deck {deck} K, rooms {rooms} K");
    assert!(
        attic <= 0.05 && deck <= 0.05,
        "attic {attic} K, deck {deck} K"
    );
    assert!(
        alone.nodes.len() < whole.nodes.len() - 10,
        "the rooms are left out"
    );
    let early = simulate(
        &attic_only(folder.path(), &log).unwrap(),
        &weather,
        0..48,
        &options,
    );
    assert!(matches!(early, Err(RunError::RoomsNotLogged { .. })));
}

#[test]
fn rooms_that_always_have_one_temperature_stay_at_it() {
    let rooms = (
        "wall = \"wood-siding-frame\"",
        "rooms = \"given\"\nrooms_temperature = \"24 C\"",
    );
    let held = run(&house(PLAIN, &[rooms]), &weather());
    let off = apart(
        &held.trace.living_air_k,
        &vec![297.15; held.trace.living_air_k.len()],
    );
    assert!(off < 0.02, "{off} K");
}

#[test]
fn a_log_that_cannot_be_used_is_refused_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let told = |log: &str| attic_only(folder.path(), log).unwrap_err().to_string();
    let text = told("time,hall_c\n2020-07-01 00:00,20\nlater,21\n");
    assert!(
        text.contains("line 3 has no time or no temperature"),
        "{text}"
    );
    let text = told("time,hall\n2020-07-01 00:00,20\n");
    assert!(text.contains("hall_c or hall_f"), "{text}");
    let none = refused(
        PLAIN,
        &[("wall = \"wood-siding-frame\"", "rooms = \"given\"")],
    );
    assert!(none.contains("rooms_temperature` or `rooms_log"), "{none}");
    let missing = refused(
        PLAIN,
        &[(
            "wall = \"wood-siding-frame\"",
            "rooms = \"given\"\nrooms_log = \"no.csv\"",
        )],
    );
    assert!(missing.contains("cannot be read"), "{missing}");
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

fn file(text: &str) -> Result<HouseFile, HouseError> {
    HouseFile::from_text(text, "house.toml")
}

const GABLE_FANS: &str = r#"
[fans.hot]
place = "gable"
faces = "east"
flow = "300 L/s"
hole = { shape = "round", diameter = "0.4 m" }
open_share = 1
count = 1
"#;

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

#[test]
fn exhaust_and_supply_fans_of_several_kinds_run_side_by_side() {
    let more = r#"
[fans.fresh]
place = "gable"
faces = "west"
curve = [["0 L/s", "60 Pa"], ["150 L/s", "35 Pa"], ["220 L/s", "0 Pa"]]
hole = { shape = "rectangle", width = "0.3 m", height = "0.3 m" }
open_share = 0.8
direction = "supply"
damper = true
count = 2
"#;
    let weather = weather();
    let both = run(&house(&format!("{PLAIN}{GABLE_FANS}{more}"), &[]), &weather);
    let out = run(&house(&format!("{PLAIN}{GABLE_FANS}"), &[]), &weather);
    let pressure = |run: &Outcome| {
        let column = &run.trace.attic_pressure_pa;
        column.iter().sum::<f64>() / column.len() as f64
    };
    assert_eq!(both.fans.len(), 2);
    let [hot, fresh] = [0, 1].map(|index| both.fans[index].delivered_m3_s);
    assert!((0.2..0.31).contains(&hot), "{hot} m³/s");
    assert!((0.3..0.45).contains(&fresh), "{fresh} m³/s");
    assert!(
        pressure(&both) > pressure(&out) + 0.3,
        "what blows in presses"
    );
    let alone = run(&house(&format!("{PLAIN}{more}"), &[]), &weather);
    let share = |run: &Outcome| most(&run.trace.from_living_share);
    assert!(
        share(&alone) < share(&out),
        "supply draws less on the rooms"
    );
}

const DUCTS: &str = r#"
[house.cooling]
set_point = "25 C"
capacity = "9 kW"
performance = 3
[house.ducts]
area = "25 m2"
insulation = "R-4.2"
leakage = 0.1
idle_leak = "50 cm2"
"#;

#[test]
fn ducts_of_no_area_are_none_and_others_warm_the_rooms_and_cool_the_attic() {
    let weather = weather();
    let text = format!("{PLAIN}{DUCTS}");
    let (plant, _) = DUCTS.split_once("[house.ducts]").unwrap();
    let none = house(&format!("{PLAIN}{plant}"), &[]);
    assert!(inspect(&none).warnings.contains(&Warning::DuctsUnsaid));
    let none = run(&none, &weather);
    let zero = house(&text, &[("area = \"25 m2\"", "area = \"0 m2\"")]);
    assert!(!inspect(&zero).warnings.contains(&Warning::DuctsUnsaid));
    let zero = run(&zero, &weather);
    assert!(apart(&none.state_k, &zero.state_k) < 1e-12);
    let ducts = run(&house(&text, &[]), &weather);
    let heat = |outcome: &Outcome| -> f64 {
        let is_plant = |name: &String| name == "living_air_to_cooling_plant";
        let flow = outcome.flow_names.iter().position(is_plant).unwrap();
        (0..outcome.times_s.len())
            .map(|row| outcome.flow_row(row)[flow])
            .sum()
    };
    let more = heat(&ducts) / heat(&none);
    assert!(
        (1.05..1.6).contains(&more),
        "the plant works {more} times as much"
    );
    assert!(most(&ducts.trace.attic_air_k) < most(&none.trace.attic_air_k) - 0.2);
    // What leaks out must come in: the rooms are drawn down.
    let pressures = none.trace.living_pressure_pa.iter();
    let drawn = pressures.zip(&ducts.trace.living_pressure_pa);
    let drawn = drawn.map(|(without, with)| without - with);
    let drawn = drawn.fold(f64::MIN, f64::max);
    assert!((0.05..2.0).contains(&drawn), "{drawn} Pa");
    let message = refused(
        PLAIN,
        &[("[roof]", "[house.ducts]\narea = \"9 m2\"\n[roof]")],
    );
    assert!(message.contains("needs the cooling plant"), "{message}");
}

#[test]
fn ducts_are_the_same_to_both_integrators() {
    let weather = weather();
    let house = house(&format!("{PLAIN}{DUCTS}"), &[]);
    let with = |integrator| {
        let options = RunOptions {
            integrator,
            warm_up_days: 1,
            ..RunOptions::default()
        };
        simulate(&house, &weather, 240..264, &options).unwrap()
    };
    let fast = with(RunOptions::default().integrator);
    let exact = with(Choice::Reference { tolerance: 1e-6 });
    let attic = apart(&fast.trace.attic_air_k, &exact.trace.attic_air_k);
    let rooms = apart(&fast.trace.living_air_k, &exact.trace.living_air_k);
    assert!(
        attic < 0.1 && rooms < 0.1,
        "attic {attic} K, rooms {rooms} K"
    );
}

/// A strong fan in the south slope, and the only other vents in the same slope.
const FAN_BESIDE_A_VENT: &str = r#"
[openings.near]
place = "slope"
faces = "south"
net_area = "0.15 m2"
height = "1 m"
[fans.roof]
place = "slope"
faces = "south"
height = "1 m"
flow = "600 L/s"
shut_off = "60 Pa"
hole = { shape = "round", diameter = "0.45 m" }
open_share = 1
vent_distance = "0.3 m"
"#;

#[test]
fn a_fan_beside_a_vent_draws_on_it_and_cools_less() {
    let weather = weather();
    let text = format!("{PLAIN}{FAN_BESIDE_A_VENT}");
    let no_ridge = (
        "place = \"ridge\"\nnet_area = \"0.2 m2\"",
        "place = \"ridge\"\nnet_area = \"0 m2\"",
    );
    let at = |distance: &str| run(&house(&text, &[no_ridge, ("0.3 m", distance)]), &weather);
    let [near, middle, far] = ["0.1 m", "0.4 m", "5 m"].map(at);
    let share = |run: &Outcome| most(&run.trace.short_circuit_share);
    eprintln!("shares {} {} {}", share(&near), share(&middle), share(&far));
    assert!(share(&far) == 0.0);
    assert!(share(&near) > share(&middle) && share(&middle) > 0.05);
    assert!(share(&near) < 1.0);
    let hot = |run: &Outcome| most(&run.trace.attic_air_k);
    assert!(
        hot(&near) > hot(&middle) && hot(&middle) > hot(&far),
        "less of the attic is swept"
    );
    // The air moved is nearly the same: what differs is where it comes from.
    let moved = near.fans[0].delivered_m3_s / far.fans[0].delivered_m3_s;
    assert!((moved - 1.0).abs() < 0.03, "{moved}");
}

#[test]
fn a_fan_far_from_any_vent_draws_on_none() {
    let outcome = run(&house(&format!("{PLAIN}{GABLE_FANS}"), &[]), &weather());
    assert!(
        outcome
            .trace
            .short_circuit_share
            .iter()
            .all(|share| *share == 0.0)
    );
}

const NO_CEILING: &[(&str, &str)] = &[(
    "insulation = \"R-19\"\nleakage = \"250 cm2\"",
    "open = true",
)];

#[test]
fn a_garage_without_a_ceiling_shares_its_roofs_heat() {
    let weather = weather();
    let open = run(&house(PLAIN, NO_CEILING), &weather);
    let shut = run(&house(PLAIN, &[]), &weather);
    let rooms = |run: &Outcome| most(&run.trace.living_air_k);
    let attic = |run: &Outcome| most(&run.trace.attic_air_k);
    assert!(
        rooms(&open) > rooms(&shut) + 2.0,
        "{} and {}",
        rooms(&open),
        rooms(&shut)
    );
    assert!(
        attic(&open) < attic(&shut),
        "the garage takes part of the heat"
    );
    // By night what is warm rises: the space above is hardly cooler than the garage.
    let [low, room] = ["attic_lower_air", "living_air"].map(|name| column(&open, name));
    let under = low.iter().zip(&room);
    let colder = under.map(|(low, room)| room - low).fold(f64::MIN, f64::max);
    assert!(colder < 0.6, "{colder} K");
    assert!(open.trace.attic_floor_k.iter().all(|temp| temp.is_finite()));
    assert!(most(&open.trace.ceiling_gain_w) > 0.0);
}

#[test]
fn a_porch_has_outdoors_below_its_roof() {
    let weather = weather();
    let porch = [
        NO_CEILING,
        &[("wall = \"wood-siding-frame\"", "rooms = \"outdoors\"")],
    ]
    .concat();
    let open = run(&house(PLAIN, &porch), &weather);
    let below = apart(&open.trace.living_air_k, &open.trace.outdoor_k);
    assert!(below < 0.1, "{below} K");
    let shut = run(
        &house(
            PLAIN,
            &[("wall = \"wood-siding-frame\"", "rooms = \"outdoors\"")],
        ),
        &weather,
    );
    let low = |run: &Outcome| most(&run.trace.attic_low_k);
    assert!(low(&open) < low(&shut) && low(&open) > most(&open.trace.outdoor_k));
}

#[test]
fn without_a_ceiling_nothing_can_be_in_it() {
    let told = |edits: &[(&str, &str)]| refused(PLAIN, edits);
    let text = told(&[(
        "insulation = \"R-19\"",
        "insulation = \"R-19\"\nopen = true",
    )]);
    assert!(
        text.contains("needs a ceiling") && text.contains("there is no ceiling"),
        "{text}"
    );
    let foil = [
        NO_CEILING,
        &[(
            "[materials.skin]",
            "[barrier]\nplace = \"floor\"\n[materials.skin]",
        )],
    ]
    .concat();
    assert!(told(&foil).contains("`barrier.place` needs a ceiling"));
    let base = format!("{PLAIN}{WHOLE_HOUSE}");
    assert!(refused(&base, NO_CEILING).contains("`fans.whole.place` needs a ceiling"));
}
