//! The column description: which column of a delimited file is what, in which unit, and what its
//! times mean.

use super::{ColumnUnit, Kind, Place, Quantity};

/// What the stamp of a row marks of the interval that the row's radiation is the mean of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stamp {
    /// Its start.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// What the readings of temperature, humidity, pressure and wind are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readings {
    /// Taken at the stamp.
    AtStamp,
    /// Means over the interval, hence placed at its middle.
    Mean,
}

/// A column by its name in the header, or by its number, from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ColumnRef {
    /// Name in the header.
    Name(String),
    /// Number, from 1.
    Number(usize),
}

/// A column that holds a quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// What it holds.
    pub quantity: Quantity,
    /// Where it is.
    pub column: ColumnRef,
    /// How its numbers become SI.
    pub unit: ColumnUnit,
    /// The unit as written.
    pub unit_text: String,
}

/// Where the time of a row stands.
#[derive(Debug, Clone, PartialEq)]
pub enum TimeColumns {
    /// In one column or two (date and time of day). The form is that of `strftime`; `24:00` is
    /// understood as the end of the day.
    Text {
        /// The column of the stamp or of the date.
        column: ColumnRef,
        /// The column of the time of day, joined to the first by a blank.
        time_column: Option<ColumnRef>,
        /// The form of both together.
        format: String,
    },
    /// In columns of their own. Month and day of the month, or the day of the year.
    Parts {
        /// Year.
        year: ColumnRef,
        /// Month, 1–12.
        month: Option<ColumnRef>,
        /// Day of the month.
        day: Option<ColumnRef>,
        /// Day of the year, from 1.
        day_of_year: Option<ColumnRef>,
        /// Hour, 0–24.
        hour: Option<ColumnRef>,
        /// Minute.
        minute: Option<ColumnRef>,
        /// Hour and minute as one number: 1305 is 13:05.
        hour_minute: Option<ColumnRef>,
    },
}

/// Describes a delimited weather file.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnMap {
    /// Where the weather was.
    pub place: Place,
    /// What sort of weather it is. The rows of a typical year may come from several years.
    pub kind: Kind,
    /// Who recorded it.
    pub source: String,
    /// The terms on which the data may be used.
    pub licence: String,
    /// Offset of the stamps from coordinated universal time, h; that of the place unless given.
    pub stamps_utc_offset_h: f64,
    /// What stands between fields; voted from the first rows if not given.
    pub delimiter: Option<char>,
    /// Whether a comma is the decimal mark.
    pub decimal_comma: bool,
    /// Lines that begin so are skipped.
    pub comment: String,
    /// Lines to skip at the start, comments not counted.
    pub skip_lines: usize,
    /// Whether a line of column names comes before the rows.
    pub header: bool,
    /// Text, besides an empty field, that marks a missing value.
    pub missing: Vec<String>,
    /// The rows end before a line that begins so; an empty text means an empty line.
    pub footer: Option<String>,
    /// What the stamp marks.
    pub stamp: Stamp,
    /// What the readings of the air are.
    pub readings: Readings,
    /// If given, radiation belongs to an instant this long after the stamp, h: the interval is
    /// centred there, whatever [`Self::stamp`] says.
    pub radiation_offset_h: Option<f64>,
    /// Where the time stands.
    pub time: TimeColumns,
    /// The columns.
    pub columns: Vec<Column>,
    /// Height of the wind's measurement above the ground, m; 10 unless given.
    pub wind_height_m: f64,
    /// Ground reflectance where no column tells it.
    pub albedo: Option<f64>,
    /// Coefficient of the temperature-range formula, 1/√K, where radiation is missing.
    pub range_coefficient: Option<f64>,
}

/// The faults of a column description.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", self.lines())]
pub struct ColumnMapError {
    /// The faults in the order of the text.
    pub faults: Vec<MapFault>,
}

/// A fault of a column description.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MapFault {
    /// The text is not TOML.
    #[error("line {line}: {message}")]
    Syntax {
        /// Line, from 1.
        line: usize,
        /// What the parser said.
        message: String,
    },
    /// A key is not known.
    #[error("line {line}: there is no key '{key}'{}", nearest(*.meant))]
    UnknownKey {
        /// Line, from 1.
        line: usize,
        /// The key.
        key: String,
        /// The nearest key.
        meant: Option<&'static str>,
    },
    /// A key is missing.
    #[error("'{key}' is missing: {accepts}")]
    MissingKey {
        /// The key.
        key: &'static str,
        /// What it accepts.
        accepts: &'static str,
    },
    /// A value is not accepted.
    #[error("line {line}: {key} is {found}, and must be {accepts}")]
    Value {
        /// Line, from 1.
        line: usize,
        /// The key.
        key: String,
        /// What stands there.
        found: String,
        /// What is accepted.
        accepts: &'static str,
    },
}

impl ColumnMapError {
    fn lines(&self) -> String {
        self.faults
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join("\n")
    }
}

fn nearest(meant: Option<&'static str>) -> String {
    meant
        .map(|key| format!("; is '{key}' meant?"))
        .unwrap_or_default()
}
