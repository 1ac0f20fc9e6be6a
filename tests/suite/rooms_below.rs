//! What lies below an attic: rooms that are given, roofs without a ceiling, ducts of a plant.

use std::fmt::Write as _;
use std::path::Path;

use rafterheat::assess::{Warning, inspect};
use rafterheat::house::{House, HouseError, HouseFile};
use rafterheat::run::{Choice, Outcome, RunError, RunOptions, simulate};

use crate::house_fans::WHOLE_HOUSE;
use crate::houses::{PLAIN, apart, column, house, most, refused, run, weather};

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
