//! Values put into a house file as typed: everything else of its text, remarks included, stays.

use crate::units::Dimension;

use super::document::{Entry, Value, split_key};
use super::file::HouseFile;
use super::form::field;
use super::schema::Kind;

/// Why a value cannot be put into the text of a file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum RewriteError {
    /// The table is written so that no line can be added to it.
    #[error("{key}: its table is written on one line or in parts, and no line can be added to it")]
    NoPlace {
        /// The key.
        key: String,
    },
    /// The changed text is no longer a sound house.
    #[error("the changed file is not a sound house: {faults}")]
    Unsound {
        /// Its faults.
        faults: String,
    },
}

/// A value as text that a house file takes, with all its digits.
///
/// ```
/// use rafterheat::units::Dimension;
/// assert_eq!(rafterheat::house::setting(0.25, Dimension::Area), "0.25 m2");
/// assert_eq!(rafterheat::house::setting(4e-17, Dimension::Area), "0 m2");
/// ```
pub fn setting(value: f64, dimension: Dimension) -> String {
    /// No quantity of a house is as small and not none.
    const NONE: f64 = 1e-12;
    let value = if value.abs() < NONE { 0.0 } else { value };
    match dimension {
        Dimension::Angle | Dimension::Slope => format!("{} deg", value.to_degrees()),
        // Leakage says at which pressure.
        Dimension::AirChangeRate => format!("{value} ACH50"),
        Dimension::AirFlowAt50Pa => format!("{value} m3/s at 50 Pa"),
        Dimension::LeakageArea => format!("{value} m2"),
        _ => format!("{value} {}", dimension.unit())
            .trim_end()
            .to_owned(),
    }
}

/// A value as a person would write it in a house file, rounded.
pub fn as_written(value: f64, dimension: Dimension) -> String {
    super::written::quantity(value, dimension)
}

impl HouseFile {
    /// What a key measures, and the least and greatest value it takes; nothing if it is no key of a
    /// quantity.
    pub fn limits(&self, key: &str) -> Option<(Dimension, [f64; 2])> {
        let field = field(key)?;
        let dimension = match field.kind {
            Kind::Quantity(dimension) => dimension,
            Kind::Insulation => Dimension::ThermalResistance,
            Kind::Number => Dimension::Fraction,
            Kind::Direction | Kind::Line => Dimension::Angle,
            _ => return None,
        };
        Some((dimension, [field.low, field.high]))
    }

    /// What the file itself says at a key, as typed; nothing where it is left out or a table or
    /// list.
    pub fn typed(&self, key: &str) -> Option<&str> {
        let path = split_key(key)?;
        match &find(self.entries(), &path)?.node.value {
            Value::Text(text) | Value::Number(text) => Some(text),
            _ => None,
        }
    }

    /// The text of the file with values of the house as it stands put in: in place of what a key
    /// says, or on a new line at the head of its table, or in a new table at the end. All remarks
    /// and designs stay as they are.
    ///
    /// # Errors
    /// [`RewriteError`].
    pub fn rewritten(&self, settings: &[(String, String)]) -> Result<String, RewriteError> {
        let text = self.text();
        // Bytes to cut, and what to put there.
        let mut edits: Vec<(usize, usize, String)> = Vec::new();
        let mut tables: Vec<(String, String)> = Vec::new();
        for (key, value) in settings {
            let no_place = || RewriteError::NoPlace { key: key.clone() };
            let path = split_key(key).ok_or_else(no_place)?;
            let value = quoted(value);
            if let Some(entry) = find(self.entries(), &path) {
                let range = &entry.node.spot.range;
                let (end, value) = aligned(text, [range.start, range.end], value);
                edits.push((range.start, end, value));
                continue;
            }
            let (last, table) = path.split_last().ok_or_else(no_place)?;
            let line = format!("{} = {value}\n", part(last));
            if let Some(entry) = find(self.entries(), table) {
                let at = entry.node.spot.range.start;
                let begin = text.get(..at).and_then(|before| before.rfind('\n'));
                let begin = begin.map_or(0, |at| at + 1);
                let rest = text.get(begin..).unwrap_or_default();
                let is_header = rest.trim_start().starts_with('[');
                if !is_header {
                    return Err(no_place());
                }
                let end = rest
                    .find('\n')
                    .map_or(text.len(), |length| begin + length + 1);
                let line = if end == text.len() && !text.ends_with('\n') {
                    format!("\n{line}")
                } else {
                    line
                };
                edits.push((end, end, line));
            } else {
                let table: Vec<String> = table.iter().map(|name| part(name)).collect();
                let table = table.join(".");
                match tables.iter_mut().find(|(known, _)| *known == table) {
                    Some((_, lines)) => lines.push_str(&line),
                    None => tables.push((table, line)),
                }
            }
        }
        edits.sort_by_key(|(start, _, _)| std::cmp::Reverse(*start));
        let mut out = text.to_owned();
        for (start, end, value) in edits {
            out.replace_range(start..end, &value);
        }
        for (table, lines) in tables {
            if !out.ends_with('\n') {
                out.push('\n');
            }
            out.push_str("\n[");
            out.push_str(&table);
            out.push_str("]\n");
            out.push_str(&lines);
        }
        Self::from_text(&out, self.path()).map_err(|error| RewriteError::Unsound {
            faults: error.to_string(),
        })?;
        Ok(out)
    }
}

fn find<'a>(entries: &'a [Entry], path: &[String]) -> Option<&'a Entry> {
    let (first, rest) = path.split_first()?;
    let entry = entries.iter().find(|entry| entry.key == *first)?;
    if rest.is_empty() {
        return Some(entry);
    }
    match &entry.node.value {
        Value::Table(entries) => find(entries, rest),
        _ => None,
    }
}

/// A part of a dotted key, in quotes where it needs them.
/// A value in place of another, with the blanks before a remark behind it made fewer or more, so
/// that the remark stays in its column; and where what it replaces ends.
fn aligned(text: &str, [start, end]: [usize; 2], value: String) -> (usize, String) {
    let rest = text.get(end..).unwrap_or_default();
    let blanks = rest.len() - rest.trim_start_matches(' ').len();
    if blanks == 0 || !rest.trim_start_matches(' ').starts_with('#') {
        return (end, value);
    }
    let width = text.get(start..end).unwrap_or_default().chars().count() + blanks;
    let left = width.saturating_sub(value.chars().count()).max(1);
    (end + blanks, value + &" ".repeat(left))
}

fn part(name: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
    if name.chars().all(bare) {
        name.to_owned()
    } else {
        quoted(name)
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{DEMO, STARTER, Spread};

    fn set(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
        let own = |(key, value): &(&str, &str)| ((*key).to_owned(), (*value).to_owned());
        pairs.iter().map(own).collect()
    }

    #[test]
    fn values_change_and_remarks_stay() {
        let file = HouseFile::from_text(STARTER, "house.toml").unwrap();
        let changed = [
            ("site.shelter", "0.55"),
            ("openings.soffit.discharge", "0.41"),
            ("roof.battens.gap", "40 mm"),
            ("roof.battens.open", "0.2"),
        ];
        let text = file.rewritten(&set(&changed)).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        let kept = STARTER.lines().filter(|line| lines.contains(line)).count();
        assert_eq!(
            STARTER.lines().count() - kept,
            1,
            "one line is changed, the others stay"
        );
        assert!(
            text.contains("shelter = \"0.55\"               #")
                || text.contains("shelter = \"0.55\"")
        );
        assert!(text.contains("[roof.battens]\ngap = \"40 mm\"\nopen = \"0.2\"\n"));
        let again = HouseFile::from_text(&text, "house.toml").unwrap();
        assert_eq!(again.base, file.with(&changed).unwrap().base);
        assert_eq!(again.designs.len(), file.designs.len());
    }

    #[test]
    fn what_has_no_line_of_its_own_is_refused() {
        let inline = STARTER.replace(
            "[barrier]\nplace = \"none\"",
            "[barrier]\n# x\nplace = \"none\"",
        );
        let file = HouseFile::from_text(&inline, "house.toml").unwrap();
        let error = file.rewritten(&set(&[("openings.gable.hole.discharge", "0.5")]));
        assert!(error.is_err(), "{error:?}");
        let error = file
            .rewritten(&set(&[("roof.emittance", "7")]))
            .unwrap_err();
        assert!(matches!(error, RewriteError::Unsound { .. }), "{error}");
    }

    #[test]
    fn a_setting_is_read_back_as_it_was() {
        for text in [STARTER, DEMO] {
            let file = HouseFile::from_text(text, "house.toml").unwrap();
            for assumption in &file.base.assumed {
                let Spread::Number {
                    dimension, value, ..
                } = assumption.spread
                else {
                    continue;
                };
                let written = setting(value, dimension);
                let back = crate::units::parse(&written, dimension).unwrap();
                let key = assumption.field.as_str();
                if let Err(error) = file.with(&[(key, written.as_str())]) {
                    panic!("{key} = {written}: {error}");
                }
                assert!(
                    (back - value).abs() <= 1e-9 * value.abs(),
                    "{written}: {back}"
                );
            }
        }
    }
}
