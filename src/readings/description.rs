//! The description of a log: which column is what, in which unit, by which clock.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::weather::{ColumnUnit, Quantity};

use super::clock::Zone;

/// A column by its name in the header, or by its number, from 1.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(untagged)]
pub enum At {
    /// Number, from 1.
    Number(usize),
    /// Name in the header.
    Name(String),
}

/// What a column tells.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Weather at the house.
    Outdoors(Quantity),
    /// Something in the house, by its name: a thermometer of the house file, or a place of the
    /// results such as `attic_air`.
    Inside(String),
}

/// What a stamp marks of the time in which a reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Taken {
    /// The instant.
    Instant,
    /// The start of the interval that the reading is the mean of.
    Start,
    /// Its end.
    End,
}

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub struct LogColumn {
    /// What it tells.
    pub role: Role,
    /// Where it is.
    pub at: At,
    /// How its numbers become SI.
    pub unit: ColumnUnit,
    /// The unit as written.
    pub unit_text: String,
}

/// Describes a log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogColumns {
    /// What stands between fields; voted if not given.
    pub delimiter: Option<char>,
    /// Whether a comma is the decimal mark.
    pub decimal_comma: bool,
    /// Lines that begin so are skipped.
    pub comment: String,
    /// Lines to skip at the start, comments and empty lines not counted.
    pub skip_lines: usize,
    /// Whether a line of names comes before the rows.
    pub header: bool,
    /// Text, besides an empty field, that marks a missing value.
    pub missing: Vec<String>,
    /// The column of the stamp or of the date.
    pub time: At,
    /// The column of the time of day, joined to the first by a blank.
    pub time_of_day: Option<At>,
    /// Form of the stamp as of `strftime`, or `unix`, or `unix-ms`.
    pub format: String,
    /// The clock of the stamps.
    pub zone: Zone,
    /// The zone as written.
    pub zone_text: String,
    /// What a stamp marks.
    pub taken: Taken,
    /// The columns, in the order of their roles.
    pub columns: Vec<LogColumn>,
}

/// Why a description cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LogColumnsError {
    /// It is not TOML, or a key is missing or unknown.
    #[error("{message}")]
    Syntax {
        /// What the parser said, with the line.
        message: String,
    },
    /// The zone is not known.
    #[error(
        "zone = {found:?} is neither a zone such as \"America/New_York\" nor hours such as \"-5\""
    )]
    Zone {
        /// What stands there.
        found: String,
    },
    /// A mark is not one character, or not a possible one.
    #[error("{key} = {found:?}: {accepts} is needed")]
    Mark {
        /// The key.
        key: &'static str,
        /// What stands there.
        found: String,
        /// What is accepted.
        accepts: &'static str,
    },
    /// A unit does not fit what its column tells.
    #[error("columns.{column}: the unit {found:?} is not one of {accepts}")]
    Unit {
        /// The column's key.
        column: String,
        /// What stands there.
        found: String,
        /// What is accepted.
        accepts: &'static str,
    },
    /// No column is named.
    #[error("[columns] names no column")]
    NoColumns,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    time: TimeWritten,
    zone: Hours,
    delimiter: Option<String>,
    decimal: Option<String>,
    comment: Option<String>,
    header: Option<bool>,
    skip_lines: Option<usize>,
    missing: Option<Vec<String>>,
    stamp: Option<Taken>,
    columns: BTreeMap<String, ColumnWritten>,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum Hours {
    Text(String),
    Number(f64),
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct TimeWritten {
    column: At,
    time_column: Option<At>,
    format: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ColumnWritten {
    column: At,
    unit: Option<String>,
}

/// Key of the heat flow through the ceiling.
pub(super) const CEILING_FLUX: &str = "ceiling_flux";

impl Role {
    /// The role of a key of `[columns]`: `outdoor`, `outdoor_humidity`, a quantity of weather such
    /// as `wind_speed`, or any other name, which must be one of the house.
    pub fn from_key(key: &str) -> Self {
        match key {
            "outdoor" => Self::Outdoors(Quantity::DryBulb),
            "outdoor_humidity" => Self::Outdoors(Quantity::RelativeHumidity),
            _ => {
                Quantity::from_key(key).map_or_else(|| Self::Inside(key.to_owned()), Self::Outdoors)
            }
        }
    }

    /// Its key.
    pub fn key(&self) -> &str {
        match self {
            Self::Outdoors(Quantity::DryBulb) => "outdoor",
            Self::Outdoors(Quantity::RelativeHumidity) => "outdoor_humidity",
            Self::Outdoors(quantity) => quantity.key(),
            Self::Inside(name) => name,
        }
    }

    /// What its numbers measure.
    pub(super) fn quantity(&self) -> Quantity {
        match self {
            Self::Outdoors(quantity) => *quantity,
            Self::Inside(name) if name == CEILING_FLUX => Quantity::Global,
            Self::Inside(_) => Quantity::DryBulb,
        }
    }

    /// Whether it is a temperature.
    pub fn is_temperature(&self) -> bool {
        matches!(self.quantity(), Quantity::DryBulb | Quantity::DewPoint)
    }
}

impl LogColumns {
    /// Reads a description.
    ///
    /// ```
    /// let columns = rafterheat::readings::LogColumns::parse(r#"
    ///     zone = "America/Los_Angeles"
    ///     time = { column = "Timestamp", format = "%m/%d/%Y %H:%M" }
    ///     [columns]
    ///     outdoor = { column = "yard", unit = "F" }
    ///     ridge = { column = 3, unit = "F" }
    /// "#)?;
    /// assert_eq!(columns.columns.len(), 2);
    /// # Ok::<(), rafterheat::readings::LogColumnsError>(())
    /// ```
    ///
    /// # Errors
    /// [`LogColumnsError`].
    pub fn parse(text: &str) -> Result<Self, LogColumnsError> {
        let written: Written = toml::from_str(text).map_err(|error| LogColumnsError::Syntax {
            message: error.to_string(),
        })?;
        let zone_text = match written.zone {
            Hours::Text(text) => text,
            Hours::Number(hours) => hours.to_string(),
        };
        let zone = Zone::find(&zone_text).ok_or_else(|| LogColumnsError::Zone {
            found: zone_text.clone(),
        })?;
        let delimiter = written.delimiter.as_deref().map(one_mark).transpose()?;
        let decimal_comma = match written.decimal.as_deref() {
            None | Some(".") => false,
            Some(",") => true,
            Some(found) => {
                return Err(LogColumnsError::Mark {
                    key: "decimal",
                    found: found.to_owned(),
                    accepts: "\".\" or \",\"",
                });
            }
        };
        if written.columns.is_empty() {
            return Err(LogColumnsError::NoColumns);
        }
        let columns = written.columns.into_iter().map(|(key, column)| {
            let role = Role::from_key(&key);
            let quantity = role.quantity();
            let unit_text = column.unit.unwrap_or_default();
            let unit = ColumnUnit::find(quantity, &unit_text);
            Ok(LogColumn {
                unit: unit.ok_or_else(|| LogColumnsError::Unit {
                    column: key,
                    found: unit_text.clone(),
                    accepts: quantity.accepted_units(),
                })?,
                role,
                at: column.column,
                unit_text,
            })
        });
        let mut columns = columns.collect::<Result<Vec<_>, _>>()?;
        columns.sort_by(|a, b| a.role.cmp(&b.role));
        Ok(Self {
            delimiter,
            decimal_comma,
            comment: written.comment.unwrap_or_else(|| "#".to_owned()),
            skip_lines: written.skip_lines.unwrap_or(0),
            header: written.header.unwrap_or(true),
            missing: written.missing.unwrap_or_default(),
            time: written.time.column,
            time_of_day: written.time.time_column,
            format: written.time.format,
            zone,
            zone_text,
            taken: written.stamp.unwrap_or(Taken::Instant),
            columns,
        })
    }

    /// The description in the `#:` lines at the head of a log, if it has any.
    ///
    /// # Errors
    /// [`LogColumnsError`] if it has some that cannot be used.
    pub fn embedded(text: &str) -> Result<Option<Self>, LogColumnsError> {
        let mut found = false;
        let mut description = String::new();
        let head = |line: &&str| line.starts_with('#') || line.trim().is_empty();
        for line in text.trim_start_matches('\u{feff}').lines().take_while(head) {
            if let Some(rest) = line.strip_prefix("#:") {
                found = true;
                description.push_str(rest.trim_start());
            }
            description.push('\n');
        }
        found.then(|| Self::parse(&description)).transpose()
    }

    /// The description as text that [`LogColumns::parse`] reads.
    pub fn to_text(&self) -> String {
        use std::fmt::Write as _;
        let at = |at: &At| match at {
            At::Number(number) => number.to_string(),
            At::Name(name) => quoted(name),
        };
        let mut text = format!("zone = {}\n", quoted(&self.zone_text));
        let day = self.time_of_day.as_ref();
        let day = day.map_or(String::new(), |day| format!("time_column = {}, ", at(day)));
        let _ = writeln!(
            text,
            "time = {{ column = {}, {day}format = {} }}",
            at(&self.time),
            quoted(&self.format)
        );
        if let Some(delimiter) = self.delimiter {
            let _ = writeln!(text, "delimiter = {}", quoted(&delimiter.to_string()));
        }
        if self.decimal_comma {
            text.push_str("decimal = \",\"\n");
        }
        if !self.header {
            text.push_str("header = false\n");
        }
        if self.skip_lines > 0 {
            let _ = writeln!(text, "skip_lines = {}", self.skip_lines);
        }
        match self.taken {
            Taken::Instant => {}
            Taken::Start => text.push_str("stamp = \"start\"\n"),
            Taken::End => text.push_str("stamp = \"end\"\n"),
        }
        if !self.missing.is_empty() {
            let marks: Vec<String> = self.missing.iter().map(|mark| quoted(mark)).collect();
            let _ = writeln!(text, "missing = [{}]", marks.join(", "));
        }
        text.push_str("[columns]\n");
        for column in &self.columns {
            let _ = writeln!(
                text,
                "{} = {{ column = {}, unit = {} }}",
                bare_or_quoted(column.role.key()),
                at(&column.at),
                quoted(&column.unit_text)
            );
        }
        text
    }
}

fn one_mark(text: &str) -> Result<char, LogColumnsError> {
    let word = match text {
        "tab" => "\t",
        "blank" => " ",
        other => other,
    };
    let mut marks = word.chars();
    match (marks.next(), marks.next()) {
        (Some(mark), None) if !mark.is_alphanumeric() && mark.is_ascii() && mark != '"' => Ok(mark),
        _ => Err(LogColumnsError::Mark {
            key: "delimiter",
            found: text.to_owned(),
            accepts: "one character such as \",\", or \"tab\" or \"blank\"",
        }),
    }
}

fn bare_or_quoted(key: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
    if !key.is_empty() && key.chars().all(bare) {
        key.to_owned()
    } else {
        quoted(key)
    }
}

/// A TOML string.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOUND: &str = "zone = -5\ntime = { column = \"when\", format = \"%Y-%m-%d %H:%M\" }\n\
         delimiter = \"tab\"\ndecimal = \",\"\n[columns]\n\
         outdoor = { column = \"yard\", unit = \"F\" }\n\"my attic\" = { column = 4, unit = \"C\" }\n";

    #[test]
    fn a_description_can_be_written_and_read_again() {
        let columns = LogColumns::parse(SOUND).unwrap();
        assert_eq!(columns.delimiter, Some('\t'));
        assert!(columns.decimal_comma);
        assert_eq!(LogColumns::parse(&columns.to_text()).unwrap(), columns);
    }

    #[test]
    fn what_cannot_be_used_is_named() {
        let with = |from: &str, to: &str| LogColumns::parse(&SOUND.replace(from, to)).unwrap_err();
        assert!(matches!(
            with("-5", "\"Nowhere\""),
            LogColumnsError::Zone { .. }
        ));
        assert!(matches!(
            with("\"F\"", "\"W/m2\""),
            LogColumnsError::Unit { .. }
        ));
        assert!(matches!(
            with("tab", "xx"),
            LogColumnsError::Mark {
                key: "delimiter",
                ..
            }
        ));
        assert!(matches!(
            with("\",\"", "\"x\""),
            LogColumnsError::Mark { key: "decimal", .. }
        ));
        let LogColumnsError::Syntax { message } = with("zone", "zones") else {
            panic!("an unknown key is a fault of the syntax");
        };
        assert!(message.contains("zones"), "{message}");
    }
}
