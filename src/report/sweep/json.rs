//! A sweep as JSON.

use serde_json::{Map, Value, json};

use crate::study::sweep::{Axis, COLUMNS, Ending, Figures, Mean, Order, Values};

use super::head::method_name;
use super::rows::word;
use super::{Summary, Told};

/// What a sweep found: axes, means by each value of each axis and, where two alone vary, by each
/// pair. Single rows are in its file.
pub fn sweep_json(summary: &Summary<'_>) -> Value {
    let (head, tally) = (summary.head, summary.tally);
    let weather: Vec<Value> = head
        .weather
        .iter()
        .map(|weather| {
            json!({
                "name": weather.name,
                "from": moment(weather.from),
                "to": moment(weather.to),
            })
        })
        .collect();
    let order = match head.plan.order() {
        Order::Grid => json!({"kind": "grid"}),
        Order::Sample { method, seed, .. } => {
            json!({"kind": "sample", "method": method_name(method), "seed": seed})
        }
    };
    let axes: Vec<Value> = head
        .plan
        .axes()
        .iter()
        .enumerate()
        .map(|(at, axis)| {
            let values: Vec<Value> = tally
                .by_value(at)
                .iter()
                .enumerate()
                .map(|(bin, mean)| {
                    let mut value = Map::new();
                    value.insert("value".to_owned(), json!(axis.bin_name(bin)));
                    value.insert("rows".to_owned(), json!(mean.count));
                    push_means(&mut value, mean);
                    Value::Object(value)
                })
                .collect();
            let is_list = matches!(axis.values, Values::List { .. });
            json!({
                "key": axis.key,
                "as_typed": axis.typed,
                "kind": if is_list { "values" } else { "between" },
                "means": values,
            })
        })
        .collect();
    let mut document = json!({
        "schema": 1,
        "house": head.house_name,
        "design": head.design,
        "weather": weather,
        "order": order,
        "rows": {
            "from": head.rows.start + 1,
            "to": head.rows.end,
            "of": head.plan.rows(),
            "ok": tally.all.count,
            "refused": tally.refused,
            "failed": tally.failed,
        },
        "columns": COLUMNS.map(|column| column.name),
        "axes": axes,
    });
    if head.plan.order() != Order::Grid {
        document["effects"] = effects(summary);
    }
    if let Some([down, across]) = summary.pair() {
        let key = |at: usize| head.plan.axes().get(at).map(|axis| &axis.key);
        let bins = |at: usize| head.plan.axes().get(at).map_or(0, Axis::bins);
        let mut grid = json!({"down": key(down), "across": key(across)});
        for told in Told::BOTH {
            let column = told.column();
            let rows: Vec<Vec<Option<f64>>> = (0..bins(down))
                .map(|row| {
                    (0..bins(across))
                        .map(|at| summary.of_pair(row, at, column).map(six))
                        .collect()
                })
                .collect();
            if let Some(name) = COLUMNS.get(column) {
                grid[name.name] = json!(rows);
            }
        }
        document["grid"] = grid;
    }
    document
}

/// What each field of a sample does by itself.
fn effects(summary: &Summary<'_>) -> Value {
    let plan = &summary.head.plan;
    let mut all = Map::new();
    for told in Told::BOTH {
        let swings = summary.tally.swings(plan, told.column());
        let fields: Vec<Value> = swings
            .all
            .iter()
            .filter_map(|swing| {
                let axis = plan.axes().get(swing.axis)?;
                Some(json!({
                    "key": axis.key,
                    "low": {"value": swing.low.0.name(axis), "mean": six(swing.low.1)},
                    "high": {"value": swing.high.0.name(axis), "mean": six(swing.high.1)},
                    "may_be_chance": swing.may_be_chance,
                }))
            })
            .collect();
        if let Some(name) = COLUMNS.get(told.column()) {
            let value = json!({"share_accounted": swings.accounted.map(six), "fields": fields});
            all.insert(name.name.to_owned(), value);
        }
    }
    Value::Object(all)
}

/// A row that was asked for by itself: what was asked, then its results.
pub fn row_json(asked: &Map<String, Value>, ending: &Ending, reason: Option<&str>) -> Value {
    let mut row = asked.clone();
    if let Ending::Done(Figures(values)) = ending {
        for (value, column) in values.iter().zip(COLUMNS) {
            row.insert(column.name.to_owned(), json!(value));
        }
    }
    row.insert("outcome".to_owned(), json!(word(ending)));
    if let Some(reason) = reason {
        row.insert("reason".to_owned(), json!(reason));
    }
    Value::Object(row)
}

fn push_means(map: &mut Map<String, Value>, mean: &Mean) {
    for (at, column) in COLUMNS.iter().enumerate() {
        if let Some(value) = mean.of(at) {
            map.insert(column.name.to_owned(), json!(six(value)));
        }
    }
}

/// To six digits behind the point.
fn six(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

fn moment(at: jiff::civil::DateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M:%S").to_string()
}
