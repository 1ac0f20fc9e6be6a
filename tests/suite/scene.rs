//! Houses and weather for tests: an invented house to change, and days in which every number is
//! known.

use std::fmt::Write as _;
use std::ops::Range;
use std::path::Path;

use rafterheat::house::{House, HouseFile, Plant};
use rafterheat::physics::radiation::STEFAN_BOLTZMANN_W_M2K4;
use rafterheat::run::{Choice, Outcome, RunOptions, simulate};
use rafterheat::weather::{ColumnMap, Weather};

/// Weather at an instant; radiation is the mean of the hour that ends there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hour {
    pub(super) air_c: f64,
    pub(super) wind_m_s: f64,
    pub(super) wind_from_deg: f64,
    pub(super) global_w_m2: f64,
    pub(super) diffuse_w_m2: f64,
    pub(super) infrared_w_m2: f64,
}

/// Air at rest, a black sky of its temperature and no sun.
pub(super) fn still(air_c: f64) -> Hour {
    Hour {
        air_c,
        wind_m_s: 0.0,
        wind_from_deg: 0.0,
        global_w_m2: 0.0,
        diffuse_w_m2: 0.0,
        infrared_w_m2: black_w_m2(air_c + 273.15),
    }
}

/// What a black surface sends out, W/m².
pub(super) fn black_w_m2(temp_k: f64) -> f64 {
    STEFAN_BOLTZMANN_W_M2K4 * temp_k.powi(4)
}

/// Days of weather from 20 June at 38° north at sea level, by the hour since the start.
pub(super) fn weather(days: u32, at: impl Fn(f64) -> Hour) -> Weather {
    let map = r#"
        place = "nowhere"
        kind = "made"
        latitude_deg = 38.0
        longitude_deg = -120.0
        altitude_m = 0
        utc_offset_h = -8
        stamp = "end"
        readings = "instant"
        wind_height_m = 10
        time = { column = "when", format = "%Y-%m-%d %H:%M" }
        [columns]
        dry_bulb = { column = "air", unit = "C" }
        dew_point = { column = "dew", unit = "C" }
        pressure = { column = "pressure", unit = "Pa" }
        wind_speed = { column = "wind", unit = "m/s" }
        wind_direction = { column = "from", unit = "deg" }
        global = { column = "global", unit = "W/m2" }
        diffuse = { column = "diffuse", unit = "W/m2" }
        infrared_down = { column = "infrared", unit = "W/m2" }
    "#;
    let map = ColumnMap::parse(map).unwrap();
    let mut text = String::from("when,air,dew,pressure,wind,from,global,diffuse,infrared\n");
    for hour in 1..=24 * days {
        let row = at(f64::from(hour));
        let (day, of_day) = (20 + (hour - 1) / 24, (hour - 1) % 24 + 1);
        let from = row.wind_from_deg.rem_euclid(360.0);
        writeln!(
            text,
            "2026-06-{day:02} {of_day:02}:00,{},{},101325,{},{from},{},{},{}",
            row.air_c,
            row.air_c - 20.0,
            row.wind_m_s,
            row.global_w_m2,
            row.diffuse_w_m2,
            row.infrared_w_m2
        )
        .unwrap();
    }
    Weather::parse(text.as_bytes(), Path::new("made.csv"), Some(&map)).unwrap()
}

/// A clear day in three numbers: mean air and swing, °C, and the highest sun, W/m², with the wind.
pub(super) fn sunny(hour: f64, mean_c: f64, swing_c: f64, wind_m_s: f64, from_deg: f64) -> Hour {
    let turn = |of: f64| (2.0 * std::f64::consts::PI * (hour - of) / 24.0).cos();
    // Up for less time than the sun of 38° north in June.
    let height = (0.18 + 0.82 * turn(12.5)).max(0.0);
    let air_c = mean_c + swing_c * turn(15.0);
    let global_w_m2 = 940.0 * height;
    Hour {
        air_c,
        wind_m_s,
        wind_from_deg: from_deg,
        global_w_m2,
        diffuse_w_m2: global_w_m2.min(110.0 * height.sqrt()),
        infrared_w_m2: 0.8 * black_w_m2(air_c + 273.15),
    }
}

/// All intervals of a weather that is `days` long, from day `from` on.
pub(super) fn days(weather: &Weather, range: Range<usize>) -> Range<usize> {
    let day = (86_400 / weather.step_s()) as usize;
    range.start * day..range.end * day
}

/// The invented house of the demo with its designs.
pub(super) fn demo() -> HouseFile {
    HouseFile::from_text(rafterheat::house::DEMO, "demo.toml").unwrap()
}

/// The demo's house as it stands, without fans and without windows that open.
pub(super) fn plain() -> House {
    let mut house = demo().base;
    house.fans.clear();
    house.living.airing = None;
    house.controls.clear();
    house.sensors.clear();
    house
}

/// Gives rooms a temperature, °C, that nothing moves.
pub(super) fn hold(house: &mut House, set_point_c: f64) {
    let plant = Plant {
        set_point_c,
        capacity_w: 4e5,
        performance: 3.0,
        performance_per_k: 0.0,
    };
    house.living.cooling = Some(plant.clone());
    house.living.heating = Some(plant);
}

/// A run with the usual options, or its error as a person would read it.
pub(super) fn run(house: &House, weather: &Weather, period: Range<usize>) -> Outcome {
    run_by(RunOptions::default().integrator, house, weather, period)
}

/// The same with steps that err by so little that it does not matter where they fall, which rounding alone
/// may change.
pub(super) fn run_closely(house: &House, weather: &Weather, period: Range<usize>) -> Outcome {
    run_by(
        Choice::Default { tolerance_k: 1e-4 },
        house,
        weather,
        period,
    )
}

fn run_by(integrator: Choice, house: &House, weather: &Weather, period: Range<usize>) -> Outcome {
    let options = RunOptions {
        integrator,
        ..RunOptions::default()
    };
    simulate(house, weather, period, &options)
        .unwrap_or_else(|error| panic!("{}: {error}", house.design))
}

/// Temperature of a node at the end of a run, K.
pub(super) fn last_k(outcome: &Outcome, node: &str) -> f64 {
    let index = outcome.nodes.iter().position(|n| n.name == node);
    let index = index.unwrap_or_else(|| panic!("no node {node}"));
    outcome.state_row(outcome.times_s.len())[index]
}

/// Mean flow over the last output interval, W or kg/s.
pub(super) fn last_flow(outcome: &Outcome, flow: &str) -> f64 {
    let index = outcome.flow_names.iter().position(|n| n == flow);
    let index = index.unwrap_or_else(|| panic!("no flow {flow} among {:?}", outcome.flow_names));
    outcome.flow_row(outcome.times_s.len() - 1)[index]
}

/// Largest of a column.
pub(super) fn peak(column: &[f64]) -> f64 {
    column.iter().copied().fold(f64::MIN, f64::max)
}
