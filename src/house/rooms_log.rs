//! A log of the rooms' temperature, for houses whose rooms are given and not worked out.

use std::path::Path;

use jiff::civil::DateTime;

use crate::units::{Dimension, kelvin, parse};

/// Name by which a run's own timeline calls the temperature of the rooms.
const OWN_COLUMN: &str = "living_air_c";

/// A temperature by time, local standard time; between readings it changes evenly.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomsLog {
    /// Time of the first reading.
    start: DateTime,
    /// Times of the readings, s from the first.
    times_s: Vec<f64>,
    /// Readings, K.
    temps_k: Vec<f64>,
}

/// What is wrong with a log.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum LogFault {
    /// It cannot be read.
    Unreadable {
        /// What the system says.
        reason: std::io::ErrorKind,
    },
    /// It is no table of text.
    NoTable,
    /// It has no such column.
    NoColumn {
        /// Columns it has.
        known: Vec<String>,
    },
    /// The column's name does not say its unit.
    NoUnit {
        /// Name of the column.
        column: String,
    },
    /// A line that has no time or no temperature.
    BadLine {
        /// Number of the line.
        line: u64,
    },
    /// A line that is not later than the one before it.
    NotLater {
        /// Number of the line.
        line: u64,
    },
    /// Fewer than two readings.
    TooShort,
}

impl RoomsLog {
    /// A log of readings that are at hand: seconds after `start`, each later than the one before,
    /// and K.
    ///
    /// # Errors
    /// [`LogFault::TooShort`] for fewer than two readings, [`LogFault::NotLater`] with the number of
    /// the first that is not later.
    pub fn new(start: DateTime, times_s: Vec<f64>, temps_k: Vec<f64>) -> Result<Self, LogFault> {
        if times_s.len() < 2 || times_s.len() != temps_k.len() {
            return Err(LogFault::TooShort);
        }
        if let Some(at) = times_s.windows(2).position(|pair| pair[1] <= pair[0]) {
            return Err(LogFault::NotLater {
                line: at as u64 + 1,
            });
        }
        Ok(Self {
            start,
            times_s,
            temps_k,
        })
    }

    /// Reads a CSV file with a header: the first column is the time, local standard time, such as
    /// `2017-07-01 14:00`; the column of the temperature has a name that ends in its unit, such as
    /// `hall_c` or `hall_f`. Lines that begin with `#` are remarks.
    ///
    /// # Errors
    /// [`LogFault`].
    pub fn read(path: &Path, column: Option<&str>) -> Result<Self, LogFault> {
        let bytes = std::fs::read(path).map_err(|error| LogFault::Unreadable {
            reason: error.kind(),
        })?;
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(bytes.as_slice());
        let header = reader.headers().map_err(|_| LogFault::NoTable)?.clone();
        let known = || header.iter().map(str::to_owned).collect::<Vec<_>>();
        let wanted = column.or_else(|| header.iter().find(|name| *name == OWN_COLUMN));
        let index = match wanted {
            Some(name) => header.iter().position(|other| other == name),
            None => (header.len() == 2).then_some(1),
        };
        let index = index
            .filter(|index| *index > 0)
            .ok_or_else(|| LogFault::NoColumn { known: known() })?;
        let name = header.get(index).unwrap_or_default();
        let to_kelvin = to_kelvin(name).ok_or_else(|| LogFault::NoUnit {
            column: name.to_owned(),
        })?;
        let mut start = None;
        let (mut times_s, mut temps_k): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
        for record in reader.records() {
            let record = record.map_err(|error| LogFault::BadLine {
                line: error.position().map_or(0, csv::Position::line),
            })?;
            let line = record.position().map_or(0, csv::Position::line);
            let cell = record.get(index).unwrap_or_default();
            if cell.is_empty() {
                continue;
            }
            let bad = LogFault::BadLine { line };
            let time: Option<DateTime> = record.get(0).and_then(|text| text.parse().ok());
            let temp = cell.parse::<f64>().ok().map(to_kelvin);
            let temp = temp.filter(|temp_k| (200.0..400.0).contains(temp_k));
            let (Some(time), Some(temp_k)) = (time, temp) else {
                return Err(bad);
            };
            let origin = *start.get_or_insert(time);
            let time_s = time.duration_since(origin).as_secs_f64();
            if times_s.last().is_some_and(|before| *before >= time_s) {
                return Err(LogFault::NotLater { line });
            }
            times_s.push(time_s);
            temps_k.push(temp_k);
        }
        match start {
            Some(start) if times_s.len() > 1 => Ok(Self {
                start,
                times_s,
                temps_k,
            }),
            _ => Err(LogFault::TooShort),
        }
    }

    /// Time of the first reading and of the last, s from a time.
    pub fn span_s(&self, from: DateTime) -> [f64; 2] {
        let shift = self.start.duration_since(from).as_secs_f64();
        [shift, shift + self.times_s.last().copied().unwrap_or(0.0)]
    }

    /// Temperature `after_s` seconds after a time, K; before the first reading and after the last
    /// it stays as it is there.
    pub fn temp_k(&self, from: DateTime, after_s: f64) -> f64 {
        let at_s = after_s - self.start.duration_since(from).as_secs_f64();
        let next = self.times_s.partition_point(|time_s| *time_s <= at_s);
        let last = self.times_s.len() - 1;
        if next == 0 {
            return self.temps_k[0];
        }
        if next > last {
            return self.temps_k[last];
        }
        let share = (at_s - self.times_s[next - 1]) / (self.times_s[next] - self.times_s[next - 1]);
        self.temps_k[next - 1] + share * (self.temps_k[next] - self.temps_k[next - 1])
    }
}

/// How a column whose name ends in a unit is turned into K.
fn to_kelvin(column: &str) -> Option<fn(f64) -> f64> {
    let bare = column.trim_end_matches([')', ']']);
    let unit = bare.rsplit(['_', ' ', '(', '[']).next()?;
    let unit = unit.trim_start_matches('°');
    if unit.len() == bare.len() {
        return None;
    }
    match unit.to_ascii_lowercase().as_str() {
        "c" => Some(kelvin),
        "k" => Some(|temp| temp),
        "f" => Some(|temp| {
            parse(&format!("{temp} F"), Dimension::Temperature).map_or(f64::NAN, kelvin)
        }),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log(text: &str) -> Result<RoomsLog, LogFault> {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("log.csv");
        std::fs::write(&path, text).unwrap();
        RoomsLog::read(&path, None)
    }

    #[test]
    fn a_log_is_read_between_its_readings_and_held_beyond() {
        let log = log(
            "# hall\ntime,hall_f\n2020-07-01 00:00,68\n2020-07-01T01:00,77\n2020-07-01 02:00,\n",
        )
        .unwrap();
        let from = DateTime::constant(2020, 6, 30, 23, 0, 0, 0);
        for (after_h, celsius) in [
            (0.0, 20.0),
            (1.0, 20.0),
            (1.5, 22.5),
            (2.0, 25.0),
            (9.0, 25.0),
        ] {
            let temp_k = log.temp_k(from, after_h * 3600.0);
            assert!(
                (temp_k - 273.15 - celsius).abs() < 1e-9,
                "{after_h} h: {temp_k}"
            );
        }
        assert!(
            log.span_s(from)
                .iter()
                .zip([3600.0, 7200.0])
                .all(|(a, b)| (a - b).abs() < 1e-9)
        );
    }

    #[test]
    fn what_is_wrong_with_a_log_is_told() {
        let row = "2020-07-01 00:00,20";
        assert_eq!(log("time,a_c\n"), Err(LogFault::TooShort));
        let unit = LogFault::NoUnit {
            column: "hall".to_owned(),
        };
        assert_eq!(log(&format!("time,hall\n{row}\n")), Err(unit));
        let twice = log(&format!("time,hall_c\n{row}\n{row}\n"));
        assert_eq!(twice, Err(LogFault::NotLater { line: 3 }));
        let bad = log(&format!("time,hall (°C)\n{row}\nnoon,20\n"));
        assert_eq!(bad, Err(LogFault::BadLine { line: 3 }));
        assert!(matches!(
            log("time,a_c,b_c\n"),
            Err(LogFault::NoColumn { .. })
        ));
    }
}
