//! Why a weather file cannot be used: every fault with its line.

use std::path::PathBuf;

use jiff::civil::DateTime;

use super::{ColumnMapError, Quantity};

/// How many problems of one file are listed; the rest is counted.
pub const LISTED_PROBLEMS: usize = 25;

/// Why weather cannot be read or used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum WeatherError {
    /// The file cannot be opened or read.
    #[error("cannot read {}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file cannot be written.
    #[error("cannot write {}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is larger than any weather file we know.
    #[error("{}: {megabytes} MB is more than the {limit_megabytes} MB that a weather file may have", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size, MB.
        megabytes: u64,
        /// The limit, MB.
        limit_megabytes: u64,
    },
    /// The file holds no text.
    #[error("{}: the file is empty", path.display())]
    Empty {
        /// The file.
        path: PathBuf,
    },
    /// The file is not text.
    #[error("{}: this is not a text file (byte {byte} cannot be part of one)", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
        /// Position of the first byte that cannot be text.
        byte: usize,
    },
    /// Nothing says which column is what.
    #[error("{}: nothing says which column is what: this is not a TMY3 file, has no '#:' lines, and no column description was given; its first line reads '{first_line}'", path.display())]
    NeedsDescription {
        /// The file.
        path: PathBuf,
        /// The first line, shortened.
        first_line: String,
    },
    /// The column description has faults.
    #[error("{}: the column description has faults", path.display())]
    Description {
        /// The file.
        path: PathBuf,
        /// The faults.
        source: ColumnMapError,
    },
    /// The rows have faults.
    #[error("{}: {} problem(s):\n{}", path.display(), problems.len() + more, lines(problems, *more))]
    Invalid {
        /// The file.
        path: PathBuf,
        /// The first [`LISTED_PROBLEMS`] problems in the order of the file.
        problems: Vec<Problem>,
        /// How many more there are.
        more: usize,
    },
    /// A period is wanted that the weather does not cover.
    #[error("the weather runs from {from} to {to}, and {wanted} is outside")]
    Outside {
        /// The instant that was wanted.
        wanted: DateTime,
        /// First instant of the weather.
        from: DateTime,
        /// Last instant of the weather.
        to: DateTime,
    },
    /// A period is wanted in which too much is missing.
    #[error("the weather from {from} to {to} misses {} for longer than can be bridged", quantity.key())]
    Hole {
        /// First instant that misses something.
        from: DateTime,
        /// Last instant that misses something.
        to: DateTime,
        /// What is missing.
        quantity: Quantity,
    },
}

/// A fault of a weather file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Problem {
    /// A column that the description names is not there.
    #[error("line {line}: there is no column '{column}' for {wanted}; the columns are {found}")]
    NoColumn {
        /// Line of the column names.
        line: usize,
        /// The column.
        column: String,
        /// What it was wanted for.
        wanted: &'static str,
        /// The columns that are there, shortened.
        found: String,
    },
    /// A row ends before the last column that is needed.
    #[error("line {line}: the row has {found} fields, and {needed} are needed")]
    ShortRow {
        /// Line.
        line: usize,
        /// Fields found.
        found: usize,
        /// Fields needed.
        needed: usize,
    },
    /// A date or time cannot be read.
    #[error("line {line}: '{found}' is not a time of the form '{expected}'")]
    Stamp {
        /// Line.
        line: usize,
        /// What stands there, shortened.
        found: String,
        /// The form that was expected.
        expected: String,
    },
    /// A field is not a number.
    #[error("line {line}: '{found}' in column '{column}' is not a number")]
    Number {
        /// Line.
        line: usize,
        /// Column.
        column: String,
        /// What stands there, shortened.
        found: String,
    },
    /// Two rows have the same stamp.
    #[error("line {line}: the time {at} stands on line {first_line} already")]
    Repeated {
        /// Line of the second row.
        line: usize,
        /// Line of the first row.
        first_line: usize,
        /// The stamp.
        at: DateTime,
    },
    /// An hour occurs twice, as when clocks are put back.
    #[error(
        "line {line}: the hour before {at} occurs twice, as when clocks are put back; weather files must keep standard time"
    )]
    HourTwice {
        /// Line at which the hour begins again.
        line: usize,
        /// The stamp.
        at: DateTime,
    },
    /// A row is earlier than the row before it.
    #[error("line {line}: {at} is earlier than {before} on the row before")]
    OutOfOrder {
        /// Line.
        line: usize,
        /// The stamp.
        at: DateTime,
        /// The stamp before.
        before: DateTime,
    },
    /// A row does not stand a whole number of steps after the first.
    #[error("line {line}: {at} does not fit the step of {step_s} s that the other rows have")]
    Irregular {
        /// Line.
        line: usize,
        /// The stamp.
        at: DateTime,
        /// The step of most rows, s.
        step_s: i64,
    },
    /// The rows are too far apart.
    #[error("the rows are {step_s} s apart; an hour or a whole fraction of it is needed")]
    Step {
        /// The step of most rows, s.
        step_s: i64,
    },
    /// The rows leave more open than they fill.
    #[error(
        "line {line}: {at} is so far from the other rows that nearly all of the span would be missing"
    )]
    FarAway {
        /// Line.
        line: usize,
        /// The stamp.
        at: DateTime,
    },
    /// A column holds values that cannot be what the description says.
    #[error("column '{column}': {count} of {of} values cannot be {} in '{unit}' (for instance {example} on line {line}); is the unit right?", quantity.key())]
    Unbelievable {
        /// Column.
        column: String,
        /// What the column should hold.
        quantity: Quantity,
        /// The unit it should be in.
        unit: String,
        /// How many values are outside the believable range.
        count: usize,
        /// How many values there are.
        of: usize,
        /// The first such value, as written.
        example: f64,
        /// Its line.
        line: usize,
    },
    /// A quantity is missing that cannot be derived.
    #[error("there is no {}, and it cannot be derived from anything else", quantity.key())]
    Missing {
        /// The quantity.
        quantity: Quantity,
    },
    /// The station line of a TMY3 file cannot be read.
    #[error("line {line}: the station line should hold {expected}, found '{found}'")]
    Station {
        /// Line.
        line: usize,
        /// What was expected.
        expected: &'static str,
        /// What stands there, shortened.
        found: String,
    },
    /// There are not enough rows to make an hour of weather.
    #[error("fewer than two rows can be used: {rows}")]
    TooFewRows {
        /// Usable rows.
        rows: usize,
    },
}

/// Problems of one file, of which only the first are kept.
#[derive(Debug, Default)]
pub(super) struct Problems {
    kept: Vec<Problem>,
    more: usize,
}

impl Problems {
    pub(super) fn push(&mut self, problem: Problem) {
        if self.kept.len() < LISTED_PROBLEMS {
            self.kept.push(problem);
        } else {
            self.more += 1;
        }
    }

    /// An error if anything was pushed.
    pub(super) fn check(self, path: &std::path::Path) -> Result<(), WeatherError> {
        if self.kept.is_empty() {
            return Ok(());
        }
        Err(WeatherError::Invalid {
            path: path.into(),
            problems: self.kept,
            more: self.more,
        })
    }

    pub(super) fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }
}

/// The first 40 characters of a text from a file, without control characters.
pub(super) fn shorten(text: &str) -> String {
    let mut short: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    if text.chars().nth(40).is_some() {
        short.push('…');
    }
    short
}

fn lines(problems: &[Problem], more: usize) -> String {
    use std::fmt::Write as _;
    let mut text = String::new();
    for (i, problem) in problems.iter().enumerate() {
        let _ = write!(text, "{}{problem}", if i == 0 { "" } else { "\n" });
    }
    if more > 0 {
        let _ = write!(text, "\nand {more} more");
    }
    text
}
