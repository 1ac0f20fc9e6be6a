//! A description proposed from the header and the first rows. It is for a person to accept: a
//! column that looks like an attic may be one of a neighbour's.

use std::path::Path;

use crate::weather::{ColumnUnit, Quantity};

use super::clock::{Stamp, Zone, stamp};
use super::decode::decode;
use super::description::{At, LogColumn, LogColumns, Role, Taken};
use super::read::{Fields, ReadingsError, bytes_of, number, table};

/// A proposed description.
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    /// The description.
    pub columns: LogColumns,
    /// Whether the day might stand before the month or after: the rows tell neither.
    pub day_or_month_first: bool,
    /// Columns whose unit no name told and whose size did.
    pub units_by_size: Vec<String>,
    /// Columns of the file that are not used.
    pub unused: Vec<String>,
}

/// Why nothing can be proposed.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum GuessError {
    /// The file cannot be read.
    #[error(transparent)]
    Read(#[from] ReadingsError),
    /// No column looks like a time.
    #[error("{path}: no column looks like a time; the columns are {}", names.join(", "))]
    NoTime {
        /// The file.
        path: String,
        /// Its columns.
        names: Vec<String>,
    },
    /// No column looks like a temperature of an attic, rooms or outdoors.
    #[error("{path}: no column's name tells what it is; the columns are {}", names.join(", "))]
    NoColumn {
        /// The file.
        path: String,
        /// Its columns.
        names: Vec<String>,
    },
}

/// Forms of stamps that loggers and phones write, the likelier first.
const FORMATS: [&str; 26] = [
    "%Y-%m-%d %H:%M:%S",
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M:%S%:z",
    "%Y-%m-%dT%H:%M:%S%z",
    "%Y-%m-%dT%H:%M:%SZ",
    "%Y-%m-%dT%H:%M:%S",
    "%Y-%m-%dT%H:%M",
    "%Y-%m-%d %H:%M:%S%.f",
    "%Y/%m/%d %H:%M:%S",
    "%Y/%m/%d %H:%M",
    "%d.%m.%Y %H:%M:%S",
    "%d.%m.%Y %H:%M",
    "%d.%m.%y %H:%M",
    "%m/%d/%Y %I:%M:%S %p",
    "%m/%d/%Y %I:%M %p",
    "%m/%d/%y %I:%M:%S %p",
    "%m/%d/%y %I:%M %p",
    "%m/%d/%Y %H:%M:%S",
    "%m/%d/%Y %H:%M",
    "%m/%d/%y %H:%M",
    "%d/%m/%Y %H:%M:%S",
    "%d/%m/%Y %H:%M",
    "%d-%m-%Y %H:%M:%S",
    "%d-%m-%Y %H:%M",
    "unix",
    "unix-ms",
];
/// Rows that are looked at.
const ROWS: usize = 2000;
/// Name under which a column of an attic without a thermometer of its own goes.
const ATTIC: &str = "attic_air";
const ROOMS: &str = "living_air";

impl LogColumns {
    /// Proposes a description; `sensors` are the thermometers of the house file, `attic` that in the
    /// attic if there is but one, and `zone` the clock that is taken.
    ///
    /// # Errors
    /// [`GuessError`].
    pub fn guess(
        path: &Path,
        sensors: &[&str],
        attic: Option<&str>,
        zone: &str,
    ) -> Result<Guess, GuessError> {
        Self::guess_of(&bytes_of(path)?, path, sensors, attic, zone)
    }

    /// The same of the bytes of a file; the path only names it in messages.
    ///
    /// # Errors
    /// [`GuessError`].
    pub fn guess_of(
        bytes: &[u8],
        path: &Path,
        sensors: &[&str],
        attic: Option<&str>,
        zone: &str,
    ) -> Result<Guess, GuessError> {
        let (text, _) = decode(bytes).ok_or_else(|| ReadingsError::NotText {
            path: path.to_owned(),
        })?;
        let mut rows = table(&text, None, false, "#", 0);
        rows.truncate(ROWS + 1);
        let mut rows = rows.into_iter();
        let names = rows.next().map(|row| row.fields).unwrap_or_default();
        let rows: Vec<Fields> = rows.collect();
        let (time, time_of_day, format, day_or_month_first) =
            find_time(&names, &rows).ok_or_else(|| GuessError::NoTime {
                path: path.display().to_string(),
                names: names.clone(),
            })?;
        let used = |index: usize| index == time || Some(index) == time_of_day;
        let decimal_comma = has_decimal_comma(&rows, &used);
        let mut units_by_size = Vec::new();
        let mut columns: Vec<LogColumn> = Vec::new();
        let mut unused = Vec::new();
        for (index, name) in names.iter().enumerate().filter(|(index, _)| !used(*index)) {
            let role = role_of(name, sensors, attic);
            let role = role.filter(|role| columns.iter().all(|other| other.role != *role));
            let Some(role) = role else {
                unused.push(name.clone());
                continue;
            };
            let (unit_text, told) = unit_of(name, &role, &rows, index, decimal_comma);
            let Some(unit) = ColumnUnit::find(role.quantity(), unit_text) else {
                unused.push(name.clone());
                continue;
            };
            if !told {
                units_by_size.push(name.clone());
            }
            columns.push(LogColumn {
                role,
                at: At::Name(name.clone()),
                unit,
                unit_text: unit_text.to_owned(),
            });
        }
        columns.sort_by(|a, b| a.role.cmp(&b.role));
        if columns.is_empty() {
            return Err(GuessError::NoColumn {
                path: path.display().to_string(),
                names,
            });
        }
        let name = |index: usize| At::Name(names[index].clone());
        Ok(Guess {
            columns: LogColumns {
                delimiter: None,
                decimal_comma,
                comment: "#".to_owned(),
                skip_lines: 0,
                header: true,
                missing: Vec::new(),
                time: name(time),
                time_of_day: time_of_day.map(name),
                format: format.to_owned(),
                zone: Zone::find(zone).unwrap_or(Zone::Fixed { hours: 0.0 }),
                zone_text: zone.to_owned(),
                taken: Taken::Instant,
                columns,
            },
            day_or_month_first,
            units_by_size,
            unused,
        })
    }
}

type Time = (usize, Option<usize>, &'static str, bool);

/// The column of the stamp, or those of date and time, and the form.
fn find_time(names: &[String], rows: &[Fields]) -> Option<Time> {
    let likely = |name: &str| {
        const WORDS: [&str; 9] = [
            "time", "date", "stamp", "zeit", "datum", "aika", "fecha", "hora", "heure",
        ];
        let name = name.to_lowercase();
        WORDS.iter().any(|word| name.contains(word)) || name.starts_with("t_utc")
    };
    let mut order: Vec<usize> = (0..names.len()).collect();
    order.sort_by_key(|index| !likely(&names[*index]));
    for index in order {
        let alone = |row: &Fields| row.fields.get(index).cloned().unwrap_or_default();
        if let Some((format, open)) = form(rows, &alone) {
            return Some((index, None, format, open));
        }
        let next = index + 1;
        if next < names.len() {
            let both = |row: &Fields| {
                let field = |at: usize| row.fields.get(at).map_or("", String::as_str);
                format!("{} {}", field(index), field(next))
            };
            if likely(&names[index])
                && let Some((format, open)) = form(rows, &both)
            {
                return Some((index, Some(next), format, open));
            }
        }
    }
    None
}

/// The form that fits nearly all rows and lets them follow one another, and whether day and month
/// might be exchanged.
fn form(rows: &[Fields], text: &dyn Fn(&Fields) -> String) -> Option<(&'static str, bool)> {
    let texts: Vec<String> = rows.iter().map(text).collect();
    let fits = |format: &str| -> Option<i64> {
        let mut bad = 0;
        let mut before: Option<i64> = None;
        let mut wandering = 0;
        for text in &texts {
            match stamp(text, format) {
                None => bad += 1,
                Some(at) => {
                    let at_s = match at {
                        Stamp::Known(at_s) => at_s,
                        Stamp::Civil(at) => at.duration_since(super::read::civil(0)).as_secs(),
                    };
                    if let Some(before) = before {
                        wandering += (at_s - before).abs();
                    }
                    before = Some(at_s);
                }
            }
        }
        (bad * 20 <= texts.len() && before.is_some()).then_some(wandering)
    };
    // Numbers such as 21.5 are no stamps of 1970.
    let plausible = |format: &str| {
        let numeric = |text: &String| text.trim().parse::<f64>().is_ok_and(|n| n > 5e8);
        !format.starts_with("unix") || texts.iter().all(numeric)
    };
    let candidates: Vec<(&'static str, i64)> = FORMATS
        .into_iter()
        .filter(|format| plausible(format))
        .filter_map(|format| Some((format, fits(format)?)))
        .collect();
    // Of day first and month first, the one that jumps less about is right.
    let (best, least) = candidates.iter().min_by_key(|(_, wandering)| *wandering)?;
    let swapped = best
        .replace("%m/%d", "%x")
        .replace("%d/%m", "%m/%d")
        .replace("%x", "%d/%m");
    let open = candidates
        .iter()
        .any(|(format, wandering)| *format == swapped && format != best && wandering == least);
    Some((best, open))
}

/// Whether fields read as numbers with a decimal comma and not without.
fn has_decimal_comma(rows: &[Fields], used: &dyn Fn(usize) -> bool) -> bool {
    let count = |comma: bool| -> usize {
        let of = |row: &Fields| {
            let fields = row.fields.iter().enumerate().filter(|(i, _)| !used(*i));
            fields
                .filter(|(_, field)| number(field, comma).is_some())
                .count()
        };
        rows.iter().map(of).sum()
    };
    count(true) > count(false)
}

/// What a column's name tells.
fn role_of(name: &str, sensors: &[&str], attic: Option<&str>) -> Option<Role> {
    let plain = name.to_lowercase();
    if let Some(sensor) = sensors.iter().find(|sensor| {
        let sensor = sensor.to_lowercase();
        plain == sensor || words(&plain).contains(&sensor.as_str())
    }) {
        return Some(Role::Inside((*sensor).to_owned()));
    }
    let has = |parts: &[&str]| parts.iter().any(|part| plain.contains(part));
    let word = |parts: &[&str]| words(&plain).iter().any(|word| parts.contains(word));
    let outdoors = has(&[
        "outdoor", "outside", "aussen", "außen", "ulko", "yard", "ambient", "ext",
    ]);
    if has(&["hum", "feucht"]) || word(&["rh"]) {
        return outdoors.then_some(Role::Outdoors(Quantity::RelativeHumidity));
    }
    if has(&["dew"]) {
        return outdoors.then_some(Role::Outdoors(Quantity::DewPoint));
    }
    if has(&["wind"]) {
        let direction = has(&["dir"]);
        return Some(Role::Outdoors(if direction {
            Quantity::WindDirection
        } else {
            Quantity::WindSpeed
        }));
    }
    if has(&["solar", "global", "irradiance"]) {
        return Some(Role::Outdoors(Quantity::Global));
    }
    if outdoors {
        return Some(Role::Outdoors(Quantity::DryBulb));
    }
    if has(&["attic", "loft", "dachboden", "ullakko", "roof space"]) {
        return Some(Role::Inside(attic.unwrap_or(ATTIC).to_owned()));
    }
    if has(&[
        "living", "indoor", "inside", "hall", "room", "innen", "wohn",
    ]) {
        return Some(Role::Inside(ROOMS.to_owned()));
    }
    None
}

fn words(name: &str) -> Vec<&str> {
    name.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect()
}

/// The unit, and whether the name told it.
fn unit_of(
    name: &str,
    role: &Role,
    rows: &[Fields],
    index: usize,
    decimal_comma: bool,
) -> (&'static str, bool) {
    let plain = name.to_lowercase();
    let last = words(&plain).last().copied().unwrap_or("").to_owned();
    if role.is_temperature() {
        if plain.contains("°f") || plain.contains("fahrenheit") || last == "f" {
            return ("F", true);
        }
        if plain.contains("°c") || plain.contains("celsius") || last == "c" {
            return ("C", true);
        }
        let values = rows
            .iter()
            .filter_map(|row| number(row.fields.get(index)?, decimal_comma));
        let mut values: Vec<f64> = values.collect();
        values.sort_by(f64::total_cmp);
        // Half of all readings above 45 °C are no house's.
        let median = values.get(values.len() / 2).copied().unwrap_or(0.0);
        return (if median > 45.0 { "F" } else { "C" }, false);
    }
    match role.quantity() {
        Quantity::RelativeHumidity => ("%", true),
        Quantity::WindDirection => ("deg", true),
        Quantity::WindSpeed if plain.contains("mph") => ("mph", true),
        Quantity::WindSpeed if plain.contains("km/h") => ("km/h", true),
        Quantity::WindSpeed => ("m/s", plain.contains("m/s")),
        _ => ("W/m2", true),
    }
}
