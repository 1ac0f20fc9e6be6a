//! Adds a run's balances up again from `timeline.csv` and `nodes.csv` alone, as a stranger would.

use std::collections::HashMap;
use std::path::Path;

use jiff::civil::DateTime;
use rafterheat::house::{DEMO, HouseFile};
use rafterheat::report::{nodes_csv, timeline_csv};
use rafterheat::run::{RunOptions, simulate};
use rafterheat::weather::Weather;

/// What is off, as a share of what passed: of the worst store, and of the air of the worst zone.
#[derive(Debug)]
struct Off {
    store: String,
    energy: f64,
    zone: String,
    air_kg_s: f64,
    /// How many flows were found to begin or end at some store.
    joined: usize,
}

/// Splits `<from>_to_<to>` where at least one end is a store; a trailing `_2` is a second flow.
fn ends<'a>(name: &'a str, nodes: &HashMap<&str, f64>) -> (&'a str, &'a str) {
    let (from, to) = name.split_once("_to_").expect("two ends");
    if nodes.contains_key(to) {
        return (from, to);
    }
    match to.rsplit_once('_') {
        Some((stem, number)) if number.parse::<u32>().is_ok() => (from, stem),
        _ => (from, to),
    }
}

fn add_up(timeline: &str, nodes: &str) -> Off {
    let capacities: HashMap<&str, f64> = nodes
        .lines()
        .skip(1)
        .map(|line| {
            let mut fields = line.split(',');
            (
                fields.next().unwrap(),
                fields.next().unwrap().parse().unwrap(),
            )
        })
        .collect();
    let mut lines = timeline.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    let time = |row: &[&str]| row[0].parse::<DateTime>().unwrap();
    let temps: Vec<(usize, &str)> = header
        .iter()
        .enumerate()
        .filter_map(|(index, name)| {
            let node = name.strip_suffix("_c")?;
            capacities.contains_key(node).then_some((index, node))
        })
        .collect();
    assert_eq!(temps.len(), capacities.len(), "every store has its column");
    let heats: Vec<(usize, &str, &str)> = header
        .iter()
        .enumerate()
        .filter_map(|(index, name)| {
            let (from, to) = ends(name.strip_suffix("_w")?, &capacities);
            Some((index, from, to))
        })
        .collect();
    let airs: Vec<(usize, &str, &str)> = header
        .iter()
        .enumerate()
        .filter_map(|(index, name)| {
            let (zones, _) = name.strip_suffix("_kg_s")?.split_once("_by_")?;
            let (from, to) = zones.split_once("_to_")?;
            Some((index, from, to))
        })
        .collect();
    let joined = heats
        .iter()
        .filter(|(_, from, to)| capacities.contains_key(from) || capacities.contains_key(to))
        .count();
    assert_eq!(joined, heats.len(), "every flow of heat touches a store");
    let number = |row: &[&str], index: usize| row[index].parse::<f64>().unwrap();
    let mut off = Off {
        store: String::new(),
        energy: 0.0,
        zone: String::new(),
        air_kg_s: 0.0,
        joined,
    };
    for pair in rows.windows(2) {
        let seconds = time(&pair[1]).duration_since(time(&pair[0])).as_secs_f64();
        let mut net: HashMap<&str, (f64, f64)> = HashMap::new();
        for &(index, from, to) in &heats {
            let heat = number(&pair[1], index) * seconds;
            for (end, sign) in [(from, -1.0), (to, 1.0)] {
                let book = net.entry(end).or_default();
                book.0 += sign * heat;
                book.1 += heat.abs();
            }
        }
        for &(index, node) in &temps {
            let change = number(&pair[1], index) - number(&pair[0], index);
            let (brought, passed) = net.get(node).copied().unwrap_or_default();
            let share = (capacities[node] * change - brought).abs() / passed.max(1.0);
            if share > off.energy {
                off.energy = share;
                node.clone_into(&mut off.store);
            }
        }
        let mut zones: HashMap<&str, f64> = HashMap::new();
        for &(index, from, to) in &airs {
            let flow = number(&pair[1], index);
            *zones.entry(from).or_default() -= flow;
            *zones.entry(to).or_default() += flow;
        }
        zones.remove("outdoors");
        assert!(zones.contains_key("attic") && zones.contains_key("living"));
        for (zone, left) in zones {
            if left.abs() > off.air_kg_s {
                off.air_kg_s = left.abs();
                zone.clone_into(&mut off.zone);
            }
        }
    }
    off
}

fn files(design: &str) -> (String, String) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("weather-samples/delta-california-2017-summer.csv");
    let weather = Weather::read(&path, None).unwrap();
    let week = weather.hottest_week().unwrap().intervals;
    let file = HouseFile::from_text(DEMO, "demo.toml").unwrap();
    let house = file.find(design).unwrap();
    let outcome = simulate(house, &weather, week, &RunOptions::default()).unwrap();
    let (timeline, nodes) = (timeline_csv(&outcome), nodes_csv(&outcome));
    // Names are what the files are joined by: none may occur twice.
    let mut names: Vec<&str> = timeline.lines().next().unwrap().split(',').collect();
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count, "columns share a name");
    (timeline, nodes)
}

#[test]
fn balances_close_from_the_files_alone() {
    for design in ["as it stands", "fans and barrier"] {
        let (timeline, nodes) = files(design);
        let off = add_up(&timeline, &nodes);
        assert!(off.energy <= 1e-6, "{design}: {off:?}");
        assert!(off.air_kg_s <= 1e-6, "{design}: {off:?}");
        assert!(off.joined > 100, "{off:?}");
    }
}

/// The air outdoors and the thermometers stand in the timeline at the ends of its intervals.
#[test]
fn the_timeline_has_outdoors_and_what_thermometers_would_read() {
    let (timeline, nodes) = files("as it stands");
    let mut lines = timeline.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    let file = HouseFile::from_text(DEMO, "demo.toml").unwrap();
    let sensors = file.base.sensors.iter();
    let names: Vec<String> = std::iter::once("outdoor_c".to_owned())
        .chain(sensors.map(|sensor| format!("sensor_{}_c", sensor.name)))
        .collect();
    assert!(names.len() > 1);
    assert_eq!(header[header.len() - names.len()..], names);
    assert!(!nodes.contains("\noutdoor,") && !nodes.contains("\nsensor_"));
    let column = |name: &str| header.iter().position(|one| *one == name).unwrap();
    let (outdoor, sensor) = (column("outdoor_c"), column(&names[1]));
    let upper = column("attic_upper_air_c");
    let mut apart: f64 = 0.0;
    for line in lines {
        let row: Vec<&str> = line.split(',').collect();
        let of = |at: usize| row[at].parse::<f64>().unwrap();
        assert!((10.0..50.0).contains(&of(outdoor)), "{line}");
        apart = apart.max((of(sensor) - of(upper)).abs());
    }
    // A thermometer in the attic reads near its air and not just that.
    assert!(apart > 0.1 && apart < 15.0, "{apart}");
}

/// A tenth of a percent on one flow of one row: the store at its end is named.
#[test]
fn a_flow_that_was_tampered_with_is_caught() {
    let (timeline, nodes) = files("fans");
    let mut lines: Vec<String> = timeline.lines().map(str::to_owned).collect();
    let header: Vec<String> = lines[0].split(',').map(str::to_owned).collect();
    let tamper = |lines: &mut [String], column: &str, factor: f64| {
        let index = header.iter().position(|name| name == column).expect(column);
        let row = lines.len() / 2;
        let mut fields: Vec<String> = lines[row].split(',').map(str::to_owned).collect();
        let value: f64 = fields[index].parse().unwrap();
        assert!(value.abs() > 1e-6, "{column} flows in the row chosen");
        fields[index] = format!("{}", value * factor);
        lines[row] = fields.join(",");
    };
    let untouched = lines.clone();
    tamper(&mut lines, "slope_s_skin_to_sky_w", 1.001);
    let off = add_up(&lines.join("\n"), &nodes);
    assert!(off.energy > 1e-6 && off.store == "slope_s_skin", "{off:?}");

    let mut lines = untouched;
    let fan = header
        .iter()
        .find(|name| name.starts_with("attic_to_outdoors_by_") && name.ends_with("_kg_s"))
        .unwrap()
        .clone();
    tamper(&mut lines, &fan, 1.001);
    let off = add_up(&lines.join("\n"), &nodes);
    assert!(off.air_kg_s > 1e-6 && off.zone == "attic", "{off:?}");
}
