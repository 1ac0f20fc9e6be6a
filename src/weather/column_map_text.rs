//! Reading a column description from TOML: one walk that meets every fault.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::column_map::{
    Column, ColumnMap, ColumnMapError, ColumnRef, MapFault, Readings, Stamp, TimeColumns,
};
use super::{ColumnUnit, Kind, Place, Quantity};

/// Height at which weather services measure wind, m: WMO 2018, Guide to Instruments and Methods of
/// Observation, chapter 5 (from memory).
pub(super) const USUAL_WIND_HEIGHT_M: f64 = 10.0;
const KEYS: &[&str] = &[
    "albedo",
    "altitude_m",
    "columns",
    "comment",
    "decimal",
    "delimiter",
    "footer",
    "header",
    "kind",
    "latitude_deg",
    "licence",
    "longitude_deg",
    "missing",
    "place",
    "radiation_offset_h",
    "range_coefficient",
    "readings",
    "skip_lines",
    "source",
    "stamp",
    "stamps_utc_offset_h",
    "time",
    "utc_offset_h",
    "wind_height_m",
];
const TIME_KEYS: &[&str] = &[
    "column",
    "day",
    "day_of_year",
    "format",
    "hour",
    "hour_minute",
    "minute",
    "month",
    "time_column",
    "year",
];
const COLUMN_KEYS: &[&str] = &["column", "unit"];

impl ColumnMap {
    /// Reads a column description.
    ///
    /// ```
    /// let map = rafterheat::weather::ColumnMap::parse(r#"
    ///     place = "Back yard"
    ///     latitude_deg = 36.1
    ///     longitude_deg = -79.95
    ///     altitude_m = 273
    ///     utc_offset_h = -5
    ///     stamp = "end"
    ///     time = { column = "when", format = "%Y-%m-%d %H:%M" }
    ///     [columns]
    ///     dry_bulb = { column = "temp", unit = "F" }
    ///     relative_humidity = { column = "rh", unit = "%" }
    /// "#)?;
    /// assert_eq!(map.columns.len(), 2);
    /// # Ok::<(), rafterheat::weather::ColumnMapError>(())
    /// ```
    ///
    /// # Errors
    /// All faults at once, each with its line.
    pub fn parse(text: &str) -> Result<Self, ColumnMapError> {
        let (table, errors) = DeTable::parse_recoverable(text);
        let mut walk = Walk {
            text,
            faults: Vec::new(),
        };
        for error in errors {
            let line = walk.line(error.span().map_or(0, |span| span.start));
            walk.faults.push(MapFault::Syntax {
                line,
                message: error.message().to_owned(),
            });
        }
        if !walk.faults.is_empty() {
            // What a broken text leaves out must not be reported as missing.
            return Err(ColumnMapError {
                faults: walk.faults,
            });
        }
        let map = walk.map(table.get_ref());
        if walk.faults.is_empty() {
            Ok(map)
        } else {
            walk.faults.sort_by_key(fault_line);
            Err(ColumnMapError {
                faults: walk.faults,
            })
        }
    }
}

fn fault_line(fault: &MapFault) -> usize {
    match fault {
        MapFault::Syntax { line, .. }
        | MapFault::UnknownKey { line, .. }
        | MapFault::Value { line, .. } => *line,
        MapFault::MissingKey { .. } => usize::MAX,
    }
}

struct Walk<'a> {
    text: &'a str,
    faults: Vec<MapFault>,
}

type Value<'a> = Spanned<DeValue<'a>>;

impl Walk<'_> {
    fn line(&self, position: usize) -> usize {
        let before = self.text.as_bytes().iter().take(position);
        1 + before.filter(|&&byte| byte == b'\n').count()
    }

    fn refuse(&mut self, key: &str, value: &Value, accepts: &'static str) {
        let span = value.span();
        let found = super::problem::shorten(self.text.get(span.clone()).unwrap_or_default());
        let line = self.line(span.start);
        self.faults.push(MapFault::Value {
            line,
            key: key.to_owned(),
            found,
            accepts,
        });
    }

    fn missing(&mut self, key: &'static str, accepts: &'static str) {
        self.faults.push(MapFault::MissingKey { key, accepts });
    }

    fn unknown_keys(&mut self, table: &DeTable, known: &'static [&'static str]) {
        for key in table.keys() {
            if known.contains(&key.get_ref().as_ref()) {
                continue;
            }
            let meant = known
                .iter()
                .map(|&name| (strsim::damerau_levenshtein(name, key.get_ref()), name))
                .min()
                .filter(|&(distance, _)| distance <= 3)
                .map(|(_, name)| name);
            let line = self.line(key.span().start);
            self.faults.push(MapFault::UnknownKey {
                line,
                key: key.get_ref().to_string(),
                meant,
            });
        }
    }

    fn map(&mut self, table: &DeTable) -> ColumnMap {
        self.unknown_keys(table, KEYS);
        let utc_offset_h = self.required_number(
            table,
            "utc_offset_h",
            (-14.0, 14.0),
            "hours from -14 to 14 (standard time, not daylight saving)",
        );
        let place = self.place(table, utc_offset_h);
        let stamps_utc_offset_h = self
            .number(
                table,
                "stamps_utc_offset_h",
                (-14.0, 14.0),
                "hours from -14 to 14",
            )
            .unwrap_or(utc_offset_h);
        ColumnMap {
            place,
            stamps_utc_offset_h,
            kind: self
                .choice(
                    table,
                    "kind",
                    &[
                        ("measured", Kind::Measured),
                        ("typical", Kind::Typical),
                        ("made", Kind::Made),
                    ],
                    "\"measured\", \"typical\" or \"made\"",
                )
                .unwrap_or(Kind::Measured),
            source: self.text(table, "source").unwrap_or_default(),
            licence: self.text(table, "licence").unwrap_or_default(),
            delimiter: self.delimiter(table),
            decimal_comma: self
                .choice(
                    table,
                    "decimal",
                    &[(".", false), (",", true)],
                    "\".\" or \",\"",
                )
                .unwrap_or(false),
            comment: self.text(table, "comment").unwrap_or_else(|| "#".into()),
            skip_lines: self.count(table, "skip_lines").unwrap_or(0),
            header: self.boolean(table, "header").unwrap_or(true),
            missing: self.missing_marks(table),
            footer: self.text(table, "footer"),
            stamp: self
                .choice(
                    table,
                    "stamp",
                    &[
                        ("start", Stamp::Start),
                        ("middle", Stamp::Middle),
                        ("end", Stamp::End),
                    ],
                    "\"start\", \"middle\" or \"end\" of the interval",
                )
                .unwrap_or(Stamp::End),
            readings: self
                .choice(
                    table,
                    "readings",
                    &[("instant", Readings::AtStamp), ("mean", Readings::Mean)],
                    "\"instant\" or \"mean\"",
                )
                .unwrap_or(Readings::AtStamp),
            radiation_offset_h: self.number(
                table,
                "radiation_offset_h",
                (-1.0, 1.0),
                "hours from -1 to 1",
            ),
            time: self.time(table),
            columns: self.columns(table),
            wind_height_m: self
                .number(
                    table,
                    "wind_height_m",
                    (0.5, 200.0),
                    "metres from 0.5 to 200",
                )
                .unwrap_or(USUAL_WIND_HEIGHT_M),
            albedo: self.number(table, "albedo", (0.0, 1.0), "a number from 0 to 1"),
            range_coefficient: self.number(
                table,
                "range_coefficient",
                (0.05, 0.3),
                "a number from 0.05 to 0.3 (0.16 inland, 0.19 near a coast)",
            ),
        }
    }

    fn place(&mut self, table: &DeTable, utc_offset_h: f64) -> Place {
        Place {
            name: self
                .text(table, "place")
                .unwrap_or_else(|| "unnamed place".into()),
            latitude_deg: self.required_number(
                table,
                "latitude_deg",
                (-90.0, 90.0),
                "degrees from -90 to 90, north positive",
            ),
            longitude_deg: self.required_number(
                table,
                "longitude_deg",
                (-180.0, 180.0),
                "degrees from -180 to 180, east positive",
            ),
            utc_offset_h,
            altitude_m: self
                .number(
                    table,
                    "altitude_m",
                    (-450.0, 6000.0),
                    "metres from -450 to 6000",
                )
                .unwrap_or(0.0),
        }
    }

    fn number(
        &mut self,
        table: &DeTable,
        key: &'static str,
        (low, high): (f64, f64),
        accepts: &'static str,
    ) -> Option<f64> {
        let value = table.get(key)?;
        let number = as_number(value.get_ref()).filter(|x| (low..=high).contains(x));
        if number.is_none() {
            self.refuse(key, value, accepts);
        }
        number
    }

    fn required_number(
        &mut self,
        table: &DeTable,
        key: &'static str,
        range: (f64, f64),
        accepts: &'static str,
    ) -> f64 {
        if table.get(key).is_none() {
            self.missing(key, accepts);
        }
        self.number(table, key, range, accepts).unwrap_or(0.0)
    }

    fn text(&mut self, table: &DeTable, key: &'static str) -> Option<String> {
        let value = table.get(key)?;
        let text = value.get_ref().as_str().map(str::to_owned);
        if text.is_none() {
            self.refuse(key, value, "text in quotes");
        }
        text
    }

    fn boolean(&mut self, table: &DeTable, key: &'static str) -> Option<bool> {
        let value = table.get(key)?;
        let answer = value.get_ref().as_bool();
        if answer.is_none() {
            self.refuse(key, value, "true or false");
        }
        answer
    }

    fn count(&mut self, table: &DeTable, key: &'static str) -> Option<usize> {
        let value = table.get(key)?;
        let count = value
            .get_ref()
            .as_integer()
            .and_then(|n| n.as_str().parse().ok());
        if count.is_none() {
            self.refuse(key, value, "a whole number, not negative");
        }
        count
    }

    fn choice<T: Copy>(
        &mut self,
        table: &DeTable,
        key: &'static str,
        choices: &[(&str, T)],
        accepts: &'static str,
    ) -> Option<T> {
        let value = table.get(key)?;
        let text = value.get_ref().as_str();
        let found = choices
            .iter()
            .find(|&&(name, _)| Some(name) == text)
            .map(|&(_, chosen)| chosen);
        if found.is_none() {
            self.refuse(key, value, accepts);
        }
        found
    }

    fn delimiter(&mut self, table: &DeTable) -> Option<char> {
        let value = table.get("delimiter")?;
        let mut chars = value.get_ref().as_str().unwrap_or_default().chars();
        match (chars.next(), chars.next()) {
            (Some(mark), None) if mark.is_ascii() && !mark.is_ascii_alphanumeric() => Some(mark),
            _ => {
                self.refuse(
                    "delimiter",
                    value,
                    "one mark such as \",\", \";\", \"\\t\" or \" \"",
                );
                None
            }
        }
    }

    fn missing_marks(&mut self, table: &DeTable) -> Vec<String> {
        const ACCEPTS: &str = "a list of texts or numbers such as [\"NA\", -9999]";
        let Some(value) = table.get("missing") else {
            return Vec::new();
        };
        let Some(list) = value.get_ref().as_array() else {
            self.refuse("missing", value, ACCEPTS);
            return Vec::new();
        };
        let mut marks = Vec::new();
        for item in list {
            match item.get_ref() {
                DeValue::String(text) => marks.push(text.to_string()),
                DeValue::Integer(number) => marks.push(number.as_str().to_owned()),
                DeValue::Float(number) => marks.push(number.as_str().to_owned()),
                _ => self.refuse("missing", item, ACCEPTS),
            }
        }
        marks
    }

    fn column_ref(&mut self, key: &str, value: &Value) -> ColumnRef {
        match value.get_ref() {
            DeValue::String(name) => return ColumnRef::Name(name.to_string()),
            DeValue::Integer(number) => match number.as_str().parse() {
                Ok(n) if (1..=10_000).contains(&n) => return ColumnRef::Number(n),
                _ => {}
            },
            _ => {}
        }
        self.refuse(key, value, "the name of a column, or its number from 1");
        ColumnRef::Number(1)
    }

    fn time(&mut self, table: &DeTable) -> TimeColumns {
        const ACCEPTS: &str = "a table such as { column = \"time\", format = \"%Y-%m-%d %H:%M\" } or { year = \"Y\", month = \"M\", day = \"D\", hour = \"h\" }";
        let nothing = TimeColumns::Text {
            column: ColumnRef::Number(1),
            time_column: None,
            format: String::new(),
        };
        let Some(value) = table.get("time") else {
            self.missing("time", ACCEPTS);
            return nothing;
        };
        let Some(time) = value.get_ref().as_table() else {
            self.refuse("time", value, ACCEPTS);
            return nothing;
        };
        self.unknown_keys(time, TIME_KEYS);
        let mut part = |key: &'static str| {
            time.get(key)
                .map(|value| self.column_ref(&format!("time.{key}"), value))
        };
        if let Some(column) = part("column") {
            let time_column = part("time_column");
            let format = self
                .text(time, "format")
                .unwrap_or_else(|| "%Y-%m-%d %H:%M".into());
            return TimeColumns::Text {
                column,
                time_column,
                format,
            };
        }
        let (month, day, day_of_year) = (part("month"), part("day"), part("day_of_year"));
        let (hour, minute, hour_minute) = (part("hour"), part("minute"), part("hour_minute"));
        let dated = day_of_year.is_some() || (month.is_some() && day.is_some());
        let timed = hour.is_some() || hour_minute.is_some();
        match part("year") {
            Some(year) if dated && timed => TimeColumns::Parts {
                year,
                month,
                day,
                day_of_year,
                hour,
                minute,
                hour_minute,
            },
            _ => {
                self.refuse("time", value, ACCEPTS);
                nothing
            }
        }
    }

    fn columns(&mut self, table: &DeTable) -> Vec<Column> {
        const ACCEPTS: &str =
            "a table of quantities, each such as dry_bulb = { column = \"T\", unit = \"C\" }";
        let Some(value) = table.get("columns") else {
            self.missing("columns", ACCEPTS);
            return Vec::new();
        };
        let Some(columns) = value.get_ref().as_table() else {
            self.refuse("columns", value, ACCEPTS);
            return Vec::new();
        };
        let mut found = Vec::new();
        for (key, value) in columns {
            let name = key.get_ref().as_ref();
            let Some(quantity) = Quantity::from_key(name) else {
                let meant = Quantity::ALL
                    .into_iter()
                    .map(|quantity| (strsim::damerau_levenshtein(quantity.key(), name), quantity))
                    .min()
                    .filter(|&(distance, _)| distance <= 4)
                    .map(|(_, quantity)| quantity.key());
                let line = self.line(key.span().start);
                self.faults.push(MapFault::UnknownKey {
                    line,
                    key: name.to_owned(),
                    meant,
                });
                continue;
            };
            let Some(entry) = value.get_ref().as_table() else {
                self.refuse(
                    name,
                    value,
                    "a table such as { column = \"T\", unit = \"C\" }",
                );
                continue;
            };
            self.unknown_keys(entry, COLUMN_KEYS);
            let Some(column) = entry.get("column") else {
                self.refuse(name, value, "a table with the key 'column'");
                continue;
            };
            let column = self.column_ref(&format!("{name}.column"), column);
            let Some(unit_value) = entry.get("unit") else {
                self.refuse(
                    name,
                    value,
                    "a table with the key 'unit': units are never guessed",
                );
                continue;
            };
            let unit_text = unit_value.get_ref().as_str().unwrap_or_default().to_owned();
            match ColumnUnit::find(quantity, &unit_text) {
                Some(unit) => found.push(Column {
                    quantity,
                    column,
                    unit,
                    unit_text,
                }),
                None => {
                    self.refuse(
                        &format!("{name}.unit"),
                        unit_value,
                        quantity.accepted_units(),
                    );
                }
            }
        }
        found
    }
}

fn as_number(value: &DeValue) -> Option<f64> {
    match value {
        DeValue::Integer(number) => number.as_str().parse().ok(),
        DeValue::Float(number) => number.as_str().parse().ok(),
        _ => None,
    }
    .filter(|number: &f64| number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = r#"
place = "Yard"
latitude_deg = 36.1
longitude_deg = -79.95
utc_offset_h = -5
missing = ["NA", -9999]
time = { column = "when", format = "%Y-%m-%d %H:%M" }
[columns]
dry_bulb = { column = "temp", unit = "F" }
relative_humidity = { column = 3, unit = "%" }
"#;

    #[test]
    fn a_sound_description_is_read() {
        let map = ColumnMap::parse(GOOD).unwrap();
        assert!((map.place.latitude_deg - 36.1).abs() < 1e-12);
        assert!((map.stamps_utc_offset_h + 5.0).abs() < 1e-12);
        assert_eq!(map.missing, ["NA", "-9999"]);
        assert_eq!(map.columns[1].column, ColumnRef::Number(3));
        assert_eq!(map.stamp, Stamp::End);
    }

    #[test]
    fn every_fault_is_met_at_once_with_its_line() {
        let bad = GOOD
            .replace("36.1", "361")
            .replace("utc_offset_h = -5\n", "")
            .replace("missing", "mising")
            .replace("\"F\"", "\"W/m2\"")
            .replace("relative_humidity", "relativ_humidity");
        let faults = ColumnMap::parse(&bad).unwrap_err().faults;
        let text: Vec<String> = faults.iter().map(ToString::to_string).collect();
        assert_eq!(faults.len(), 5, "{text:?}");
        assert!(
            text[0].starts_with("line 3: latitude_deg is 361"),
            "{text:?}"
        );
        assert!(text[1].contains("is 'missing' meant?"), "{text:?}");
        assert!(text[2].starts_with("line 8: dry_bulb.unit"), "{text:?}");
        assert!(
            text[3].contains("is 'relative_humidity' meant?"),
            "{text:?}"
        );
        assert!(text[4].starts_with("'utc_offset_h' is missing"), "{text:?}");
    }

    #[test]
    fn broken_toml_is_named_by_its_line() {
        let faults = ColumnMap::parse("place = \"a\"\nlatitude_deg = = 3\n")
            .unwrap_err()
            .faults;
        assert!(
            matches!(faults[0], MapFault::Syntax { line: 2, .. }),
            "{faults:?}"
        );
    }
}
