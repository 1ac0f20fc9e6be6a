//! Every number of a run as CSV, so that its balances can be added up again from the files alone.

use std::fmt::Write as _;

use crate::elementary::log10;
use crate::run::Outcome;
use crate::units::celsius;

use super::case::at;

/// What the columns of the CSV files mean: goes with them.
pub const COLUMNS_NOTE: &str = "\
timeline.csv: one row for each output interval; the first row is the start, and has no flows.
  time             end of the interval, local standard time
  NODE_c           temperature of a store of heat at that time, degrees Celsius
  FROM_to_TO_w     mean heat flow over the interval, W, from a store or the surroundings to
                   another; a second flow between the same two ends in _2, and so on
  FROM_to_TO_by_PATH_kg_s
                   mean flow of air over the interval, kg/s, between attic, living (the rooms),
                   crawl (the crawl space) and outdoors
  GROUP_on         share of the interval in which a group of fans ran
  outdoor_c        air temperature outdoors at that time, degrees Celsius; no store
  sensor_NAME_c    what a thermometer of the house file would read at that time; no store
nodes.csv: the stores of heat.
  capacity_j_k     heat capacity, J/K
  area_m2          surface, m2; 0 for air

Each store keeps its books: capacity x (temperature - temperature of the row before) is the length
of the interval x (all flows to it - all flows from it). A name that is no store, such as sun, sky
or outdoors, is the surroundings. Heat carried by air is counted against outdoor air.
";

/// The timeline of a run.
pub fn timeline_csv(outcome: &Outcome) -> String {
    let mut text = String::from("time");
    for node in &outcome.nodes {
        column(&mut text, &format!("{}_c", node.name));
    }
    for (flow, name) in outcome.flow_names.iter().enumerate() {
        let unit = if outcome.is_air(flow) { "kg_s" } else { "w" };
        column(&mut text, &format!("{name}_{unit}"));
    }
    for fan in &outcome.fans {
        column(&mut text, &format!("{}_on", fan.name));
    }
    text.push_str(",outdoor_c");
    for sensor in &outcome.trace.sensors_k {
        column(&mut text, &format!("sensor_{}_c", sensor.name));
    }
    text.push('\n');
    let fans = outcome.fans.len();
    for row in 0..=outcome.times_s.len() {
        let time_s = if row == 0 {
            0.0
        } else {
            outcome.times_s[row - 1]
        };
        let _ = write!(
            text,
            "{}",
            at(outcome, time_s).strftime("%Y-%m-%dT%H:%M:%S")
        );
        for &temp_k in outcome.state_row(row) {
            // Eleven digits: what a ton of soil stores shows in the ninth.
            let _ = write!(text, ",{:.11}", celsius(temp_k));
        }
        if let Some(before) = row.checked_sub(1) {
            for &flow in outcome.flow_row(before) {
                text.push(',');
                push_flow(&mut text, flow);
            }
            for &share in &outcome.fan_share[before * fans..(before + 1) * fans] {
                let _ = write!(text, ",{share:.4}");
            }
        } else {
            let empty = outcome.flow_names.len() + fans;
            text.extend(std::iter::repeat_n(',', empty));
        }
        push_readings(&mut text, outcome, time_s);
        text.push('\n');
    }
    text
}

/// The air outdoors and what the thermometers read at a time.
fn push_readings(text: &mut String, outcome: &Outcome, time_s: f64) {
    let trace = &outcome.trace;
    let at = trace.times_s.partition_point(|known| *known < time_s - 0.5);
    let sensors = trace.sensors_k.iter().map(|sensor| &sensor.reading_k);
    for column in std::iter::once(&trace.outdoor_k).chain(sensors) {
        text.push(',');
        if let Some(temp_k) = column.get(at) {
            let _ = write!(text, "{:.4}", celsius(*temp_k));
        }
    }
}

/// The stores of heat of a run.
pub fn nodes_csv(outcome: &Outcome) -> String {
    let mut text = String::from("node,capacity_j_k,area_m2\n");
    for node in &outcome.nodes {
        let _ = writeln!(
            text,
            "{},{},{}",
            field(&node.name),
            node.capacity_j_k,
            node.area_m2
        );
    }
    text
}

fn column(text: &mut String, name: &str) {
    text.push(',');
    text.push_str(&field(name));
}

/// A field in quotes where it needs them.
fn field(name: &str) -> String {
    if name.contains([',', '"', '\n']) {
        format!("\"{}\"", name.replace('"', "\"\""))
    } else {
        name.to_owned()
    }
}

/// A flow to ten significant digits, without an exponent and without idle zeros.
fn push_flow(text: &mut String, flow: f64) {
    if flow == 0.0 {
        text.push('0');
        return;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped"
    )]
    let decimals = (9.0 - log10(flow.abs()).floor()).clamp(0.0, 17.0) as usize;
    let start = text.len();
    let _ = write!(text, "{flow:.decimals$}");
    if text[start..].contains('.') {
        let kept = text.trim_end_matches('0').trim_end_matches('.').len();
        text.truncate(kept.max(start + 1));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flows_keep_ten_digits_and_drop_idle_zeros() {
        let written = |flow: f64| {
            let mut text = String::new();
            push_flow(&mut text, flow);
            text
        };
        assert_eq!(written(0.0), "0");
        assert_eq!(written(1234.5), "1234.5");
        assert_eq!(written(-0.1), "-0.1");
        assert_eq!(written(1.0 / 3.0), "0.3333333333");
        assert_eq!(
            written(1e-20),
            "0.00000000000000000"
                .trim_end_matches('0')
                .trim_end_matches('.')
        );
    }
}
