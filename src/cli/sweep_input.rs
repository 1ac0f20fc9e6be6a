//! `sweep --from-stdin`: a variation a line in, a row a line out, in order.

use std::io::{self, BufRead, Write};
use std::sync::mpsc::{Receiver, TryRecvError, sync_channel};

use serde_json::{Map, Value};

use crate::report::sweep::{ending_line, row_json};
use crate::study::sweep::{Ending, Figures, Ground, RowError, Variation};

use super::common::Common;
use super::failure::Failure;

/// Most lines that are read ahead, and run at a time.
const AHEAD: usize = 1024;

/// Answers every line of the input. What has come is run at once, so that a program may wait for
/// the answer to a line before it writes the next.
pub(super) fn run(
    common: &Common,
    out: &mut dyn Write,
    ground: &Ground<'_>,
) -> Result<(), Failure> {
    let (sender, lines) = sync_channel::<io::Result<String>>(AHEAD);
    std::thread::spawn(move || {
        for line in io::stdin().lock().lines() {
            let is_last = line.is_err();
            if sender.send(line).is_err() || is_last {
                break;
            }
        }
    });
    let mut number = 0;
    while let Some(batch) = waiting(&lines)? {
        let mut asked: Vec<(u64, Map<String, Value>, Variation)> = Vec::new();
        let mut wrong = None;
        for line in batch {
            number += 1;
            if line.trim().is_empty() {
                continue;
            }
            match variation(&line) {
                Ok((map, variation)) => asked.push((number, map, variation)),
                Err(reason) => {
                    wrong = Some(Failure::InputLine {
                        line: number,
                        reason,
                    });
                    break;
                }
            }
        }
        let variations: Vec<Variation> = asked.iter().map(|(_, _, one)| one.clone()).collect();
        for ((line, map, _), result) in asked.iter().zip(ground.each(&variations)) {
            answer(common, out, *line, map, result)?;
        }
        out.flush()?;
        if let Some(failure) = wrong {
            return Err(failure);
        }
    }
    Ok(())
}

/// The lines that wait, at least one; nothing at the end of the input.
fn waiting(lines: &Receiver<io::Result<String>>) -> Result<Option<Vec<String>>, Failure> {
    let Ok(first) = lines.recv() else {
        return Ok(None);
    };
    let mut batch = vec![first.map_err(Failure::ReadInput)?];
    while batch.len() < AHEAD {
        match lines.try_recv() {
            Ok(line) => batch.push(line.map_err(Failure::ReadInput)?),
            Err(TryRecvError::Empty | TryRecvError::Disconnected) => break,
        }
    }
    Ok(Some(batch))
}

fn answer(
    common: &Common,
    out: &mut dyn Write,
    line: u64,
    asked: &Map<String, Value>,
    result: Result<Figures, RowError>,
) -> Result<(), Failure> {
    let (ending, reason) = match result {
        Ok(figures) => (Ending::Done(figures), None),
        Err(error @ RowError::Run(_)) => (Ending::Failed, Some(error.to_string())),
        Err(RowError::House(error)) if error.is_out_of_bounds() => {
            (Ending::Refused, Some(error.to_string()))
        }
        // A key that is not known is a mistake of whoever writes the lines, not a house.
        Err(error) => {
            let source = Box::new(error);
            return Err(Failure::Input { line, source });
        }
    };
    if common.json {
        let row = row_json(asked, &ending, reason.as_deref());
        writeln!(out, "{}", serde_json::to_string(&row)?)?;
    } else {
        let id = match asked.get("id") {
            Some(Value::String(text)) if !text.contains([',', '"', '\n', '\r']) => text.clone(),
            Some(Value::String(text)) => format!("\"{}\"", text.replace('"', "\"\"")),
            Some(value) => value.to_string(),
            None => String::new(),
        };
        writeln!(out, "{id},{}", ending_line(&ending))?;
    }
    Ok(())
}

/// Reads a line.
fn variation(line: &str) -> Result<(Map<String, Value>, Variation), String> {
    let value: Value = serde_json::from_str(line).map_err(|error| error.to_string())?;
    let Value::Object(map) = value else {
        return Err("not an object such as {\"fans.gable.count\": 4}".to_owned());
    };
    let mut variation = Variation::default();
    for (key, value) in &map {
        match (key.as_str(), value) {
            ("id", _) => {}
            ("design", Value::String(name)) => variation.design = Some(name.clone()),
            ("weather", Value::String(name)) => variation.weather = Some(name.clone()),
            ("design" | "weather", _) => return Err(format!("{key} is not a name")),
            _ => settings(key, value, &mut variation.settings)?,
        }
    }
    Ok((map, variation))
}

/// A value as a house file would have it; an object is a table of further keys.
fn settings(key: &str, value: &Value, all: &mut Vec<(String, String)>) -> Result<(), String> {
    let text = match value {
        Value::String(text) => text.clone(),
        Value::Number(number) => number.to_string(),
        Value::Bool(flag) => flag.to_string(),
        Value::Array(_) => value.to_string(),
        Value::Null => return Err(format!("{key} has no value")),
        Value::Object(table) => {
            for (inner, value) in table {
                let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
                let inner = if inner.chars().all(plain) {
                    inner.clone()
                } else {
                    format!("\"{inner}\"")
                };
                settings(&format!("{key}.{inner}"), value, all)?;
            }
            return Ok(());
        }
    };
    all.push((key.to_owned(), text));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_becomes_settings() {
        let line = r#"{"id": 7, "design": "fans", "fans.gable.count": 4, "roof": {"pitch": "4:12"},
            "fans": {"whole house": {"damper": true}}, "x": [["0 cfm", "9 Pa"]]}"#;
        let (map, variation) = variation(line).unwrap();
        assert_eq!(map["id"], 7);
        assert_eq!(variation.design.as_deref(), Some("fans"));
        let settings: Vec<String> = variation
            .settings
            .iter()
            .map(|(key, value)| format!("{key}={value}"))
            .collect();
        assert_eq!(
            settings,
            [
                "fans.gable.count=4",
                "roof.pitch=4:12",
                "fans.\"whole house\".damper=true",
                "x=[[\"0 cfm\",\"9 Pa\"]]"
            ]
        );
    }

    #[test]
    fn what_is_no_object_is_told() {
        for (line, told) in [
            ("4", "not an object"),
            ("{\"a\": ", "EOF"),
            ("{\"a\": null}", "no value"),
            ("{\"design\": 4}", "not a name"),
        ] {
            let reason = variation(line).unwrap_err();
            assert!(reason.contains(told), "{line}: {reason}");
        }
    }
}
