//! Fans of every kind, turbines, and fans beside vents: each shrinks to nothing where it should.

use rafterheat::assess::inspect;
use rafterheat::run::Outcome;
use rafterheat::weather::{MadeWeek, Weather};

use crate::houses::{PLAIN, apart, house, most, refused, run, run_closely, weather};

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

pub(crate) const WHOLE_HOUSE: &str = r#"
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
    let off = run_closely(&house(&format!("{PLAIN}{WHOLE_HOUSE}"), &edits), &weather);
    // A leak as large beside the ceiling's own; the house's other leaks stay what they were.
    let mut leaky = house(PLAIN, &[]);
    leaky.ceiling.leakage_area_m2 += 80e-4;
    let leak = run_closely(&leaky, &weather);
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

pub(crate) const GABLE_FANS: &str = r#"
[fans.hot]
place = "gable"
faces = "east"
flow = "300 L/s"
hole = { shape = "round", diameter = "0.4 m" }
open_share = 1
count = 1
"#;

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
