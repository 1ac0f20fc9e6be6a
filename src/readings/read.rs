//! From a file to series of readings, each with its own instants.

use std::path::{Path, PathBuf};

use jiff::civil::DateTime;

use super::check;
use super::clock::{Clock, Instant, Stamp, stamp, tells_offset};
use super::decode::{Encoding, decode};
use super::description::{At, LogColumn, LogColumns, Role, Taken};
use super::notice::{Notice, TimeFault};
use super::screen;

/// Largest log that is read, bytes: ten years of minutes have some 300 MB; loggers hold less.
const LIMIT: u64 = 300_000_000;
/// Share of fields or times that may be unusable before a column is taken as wrongly described.
const MOST_BAD: f64 = 0.05;
/// Delimiters that are tried if none is given.
const DELIMITERS: [char; 5] = [',', ';', '\t', '|', ' '];

/// What a log holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// Name of the file.
    pub source: String,
    /// Standard time of the log's clock less universal time, h.
    pub utc_offset_h: f64,
    /// The clock by which its stamps were read; none where they tell their own.
    pub clock: Option<Clock>,
    /// The columns that hold anything.
    pub series: Vec<Series>,
    /// What was dropped and what looks wrong.
    pub notices: Vec<Notice>,
}

/// The readings of one column in the order of time.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What it tells.
    pub role: Role,
    /// Seconds since 1970-01-01T00:00 local standard time, strictly increasing.
    pub times_s: Vec<i64>,
    /// Values in SI, as many.
    pub values: Vec<f64>,
}

/// Why a log cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReadingsError {
    /// It cannot be read.
    #[error("cannot read {}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// It is larger than any log.
    #[error("{}: {size} bytes are more than the {LIMIT} that a log may have", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size, bytes.
        size: u64,
    },
    /// It is not text.
    #[error("{}: this is not a text file; export the log as CSV", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
    },
    /// A column is not there.
    #[error("{}:{line}: there is no column {wanted:?} for {role}; the columns are {}", path.display(), there.join(", "))]
    NoColumn {
        /// The file.
        path: PathBuf,
        /// Line of the names.
        line: usize,
        /// The column.
        wanted: String,
        /// What it was wanted for.
        role: String,
        /// The columns that are there.
        there: Vec<String>,
    },
    /// Times are not of the form told.
    #[error("{}:{line}: {found:?} is not a time of the form {format:?} ({bad} of {of} rows are not)", path.display())]
    Times {
        /// The file.
        path: PathBuf,
        /// Line of the first.
        line: usize,
        /// What stands there.
        found: String,
        /// The form.
        format: String,
        /// Rows that are not.
        bad: usize,
        /// All rows.
        of: usize,
    },
    /// Numbers are no numbers, or cannot be what the column should hold.
    #[error("{}:{line}: {found:?} cannot be {} in {unit:?} ({bad} of {of} values cannot); is it the right column, decimal mark and unit?", path.display(), role.key())]
    Values {
        /// The file.
        path: PathBuf,
        /// The column.
        role: Role,
        /// Line of the first.
        line: usize,
        /// What stands there.
        found: String,
        /// The unit.
        unit: String,
        /// Values that cannot be.
        bad: usize,
        /// All values.
        of: usize,
    },
    /// Nothing is left.
    #[error("{}: nothing in it can be used", path.display())]
    Nothing {
        /// The file.
        path: PathBuf,
    },
}

/// The fields of a row and its line.
pub(super) struct Fields {
    pub(super) line: usize,
    pub(super) fields: Vec<String>,
}

/// A row with its instant, universal time.
struct Row {
    line: usize,
    at_s: i64,
    fields: Vec<String>,
}

impl Readings {
    /// Reads a log.
    ///
    /// # Errors
    /// [`ReadingsError`] where nothing sound can be made of it.
    pub fn read(path: &Path, columns: &LogColumns) -> Result<Self, ReadingsError> {
        Self::parse(&bytes_of(path)?, path, columns)
    }

    /// Reads the bytes of a log; the path only names it in messages.
    ///
    /// # Errors
    /// As [`Readings::read`].
    pub fn parse(bytes: &[u8], path: &Path, columns: &LogColumns) -> Result<Self, ReadingsError> {
        let (text, encoding) = decode(bytes).ok_or_else(|| ReadingsError::NotText {
            path: path.to_owned(),
        })?;
        let mut notices = Vec::new();
        if encoding != Encoding::Utf8 {
            notices.push(Notice::Encoding { encoding });
        }
        let table = table(
            &text,
            columns.delimiter,
            columns.decimal_comma,
            &columns.comment,
            columns.skip_lines,
        );
        let mut rows = table.into_iter();
        let names = if columns.header { rows.next() } else { None };
        let rows: Vec<Fields> = rows.collect();
        let place = |at: &At, role: &str| position(at, names.as_ref(), role, path);
        let time = place(&columns.time, "the time")?;
        let day = columns.time_of_day.as_ref();
        let day = day.map(|at| place(at, "the time of day")).transpose()?;
        let places = columns.columns.iter();
        let places = places.map(|column| Ok((place(&column.at, column.role.key())?, column)));
        let places: Vec<(usize, &LogColumn)> = places.collect::<Result<_, ReadingsError>>()?;
        let rows = on_one_clock(rows, columns, (time, day), path, &mut notices)?;
        let Some(first) = rows.first() else {
            return Err(ReadingsError::Nothing {
                path: path.to_owned(),
            });
        };
        let utc_offset_h = columns.zone.standard_offset_h(first.at_s);
        #[expect(clippy::cast_possible_truncation, reason = "hours of a zone")]
        let local_s = (utc_offset_h * 3600.0).round() as i64;
        let step_s = common_step(&rows);
        irregular(&rows, step_s, &mut notices);
        let shift_s = local_s
            + match columns.taken {
                Taken::Instant => 0,
                Taken::Start => step_s / 2,
                Taken::End => -step_s / 2,
            };
        let short: Vec<&Row> = rows
            .iter()
            .filter(|row| places.iter().any(|(at, _)| *at >= row.fields.len()))
            .collect();
        if let Some(first) = short.first() {
            notices.push(Notice::ShortRows {
                rows: short.len(),
                first_line: first.line,
            });
        }
        let mut series = Vec::new();
        for (at, column) in places {
            let one = column_of(&rows, at, column, columns, shift_s, path, &mut notices)?;
            let one = screen::screen(one, step_s, &mut notices);
            if !one.values.is_empty() {
                series.push(one);
            }
        }
        if series.is_empty() {
            return Err(ReadingsError::Nothing {
                path: path.to_owned(),
            });
        }
        let name = path.file_name().unwrap_or(path.as_os_str());
        let middle_s = rows[rows.len() / 2].at_s;
        let clock = (!tells_offset(&columns.format)).then(|| Clock {
            zone: columns.zone_text.clone(),
            ahead_h: columns.zone.offset_h(middle_s),
        });
        let mut readings = Self {
            source: name.to_string_lossy().into_owned(),
            utc_offset_h,
            clock,
            series,
            notices,
        };
        check::swapped(&mut readings);
        Ok(readings)
    }

    /// The series of a role.
    pub fn find(&self, role: &Role) -> Option<&Series> {
        self.series.iter().find(|series| series.role == *role)
    }

    /// First and last instant of all series, seconds since 1970 local standard time.
    pub fn span_s(&self) -> [i64; 2] {
        let firsts = self.series.iter().filter_map(|one| one.times_s.first());
        let lasts = self.series.iter().filter_map(|one| one.times_s.last());
        [
            firsts.min().copied().unwrap_or(0),
            lasts.max().copied().unwrap_or(0),
        ]
    }

    /// The same with all times moved to another standard time, h ahead of universal time.
    #[must_use]
    pub fn on_standard_time(self, utc_offset_h: f64) -> Self {
        #[expect(clippy::cast_possible_truncation, reason = "hours of a zone")]
        let shift_s = ((utc_offset_h - self.utc_offset_h) * 3600.0).round() as i64;
        Self {
            utc_offset_h,
            ..self.later(shift_s)
        }
    }

    /// The same with all times later by so many seconds, as if another clock had stamped them.
    #[must_use]
    pub fn later(mut self, by_s: i64) -> Self {
        for series in &mut self.series {
            for at_s in &mut series.times_s {
                *at_s += by_s;
            }
        }
        self
    }
}

/// Civil time of seconds since 1970 on the same clock.
pub(super) fn civil(at_s: i64) -> DateTime {
    DateTime::constant(1970, 1, 1, 0, 0, 0, 0).saturating_add(jiff::SignedDuration::from_secs(at_s))
}

/// The bytes of a log.
pub(super) fn bytes_of(path: &Path) -> Result<Vec<u8>, ReadingsError> {
    let failed = |source| ReadingsError::Read {
        path: path.to_owned(),
        source,
    };
    let size = std::fs::metadata(path).map_err(failed)?.len();
    if size > LIMIT {
        return Err(ReadingsError::TooLarge {
            path: path.to_owned(),
            size,
        });
    }
    std::fs::read(path).map_err(failed)
}

/// The fields of a text, line by line; comments and empty lines are left out. Quotes enclose a
/// field as in RFC 4180.
pub(super) fn table(
    text: &str,
    delimiter: Option<char>,
    decimal_comma: bool,
    comment: &str,
    skip: usize,
) -> Vec<Fields> {
    let text = text.trim_start_matches('\u{feff}');
    let lines = text
        .lines()
        .enumerate()
        .map(|(index, line)| (index + 1, line.trim_end()))
        .filter(|(_, line)| {
            !line.trim().is_empty() && (comment.is_empty() || !line.starts_with(comment))
        })
        // A spreadsheet's hint at its own delimiter.
        .filter(|(_, line)| !line.to_ascii_lowercase().starts_with("sep="))
        .skip(skip);
    let lines: Vec<(usize, &str)> = lines.collect();
    let mark = delimiter.unwrap_or_else(|| vote(&lines, decimal_comma));
    lines
        .into_iter()
        .map(|(line, text)| Fields {
            line,
            fields: split(text, mark),
        })
        .collect()
}

/// The delimiter that cuts the most lines into the same number of fields, more than one.
pub(super) fn vote(lines: &[(usize, &str)], decimal_comma: bool) -> char {
    let sample = lines.iter().take(40);
    let score = |mark: &char| {
        let counts: Vec<usize> = sample
            .clone()
            .map(|(_, line)| split(line, *mark).len())
            .collect();
        let alike = |n: usize| counts.iter().filter(|m| **m == n).count();
        let cut = counts.iter().copied().filter(|n| *n > 1);
        cut.map(|n| (alike(n), usize::from(*mark != ' '), n))
            .max()
            .unwrap_or_default()
    };
    DELIMITERS
        .into_iter()
        .filter(|mark| !(decimal_comma && *mark == ','))
        .rev()
        .max_by_key(score)
        .unwrap_or(',')
}

fn split(line: &str, mark: char) -> Vec<String> {
    if mark == ' ' {
        let fields = line.split_whitespace();
        return fields.map(|f| f.trim_matches('"').to_owned()).collect();
    }
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(u8::try_from(mark).unwrap_or(b','))
        .from_reader(line.as_bytes());
    let record = reader.records().next();
    let record = record.and_then(Result::ok).unwrap_or_default();
    record.iter().map(str::to_owned).collect()
}

fn position(
    at: &At,
    names: Option<&Fields>,
    role: &str,
    path: &Path,
) -> Result<usize, ReadingsError> {
    let there = || names.map(|names| names.fields.clone()).unwrap_or_default();
    let found = match at {
        At::Number(number) => number.checked_sub(1).filter(|index| {
            let width = names.map(|names| names.fields.len());
            width.is_none_or(|width| *index < width)
        }),
        At::Name(name) => there().iter().position(|other| other == name.trim()),
    };
    found.ok_or_else(|| ReadingsError::NoColumn {
        path: path.to_owned(),
        line: names.map_or(0, |names| names.line),
        wanted: match at {
            At::Number(number) => number.to_string(),
            At::Name(name) => name.clone(),
        },
        role: role.to_owned(),
        there: there(),
    })
}

/// Rows with their instants, in order, none twice.
fn on_one_clock(
    mut rows: Vec<Fields>,
    columns: &LogColumns,
    (time, day): (usize, Option<usize>),
    path: &Path,
    notices: &mut Vec<Notice>,
) -> Result<Vec<Row>, ReadingsError> {
    let text_of = |fields: &[String]| -> String {
        let field = |at: usize| fields.get(at).map_or("", String::as_str);
        match day {
            Some(day) => format!("{} {}", field(time), field(day)),
            None => field(time).to_owned(),
        }
    };
    let count = rows.len();
    let mut stamps: Vec<Option<Stamp>> = rows
        .iter()
        .map(|row| stamp(&text_of(&row.fields), &columns.format))
        .collect();
    let bad = stamps.iter().filter(|stamp| stamp.is_none()).count();
    if let Some(first) = stamps.iter().position(Option::is_none) {
        let row = &rows[first];
        if bad as f64 > MOST_BAD * count as f64 {
            return Err(ReadingsError::Times {
                path: path.to_owned(),
                line: row.line,
                found: text_of(&row.fields).chars().take(40).collect(),
                format: columns.format.clone(),
                bad,
                of: count,
            });
        }
        notices.push(Notice::TimesDropped {
            fault: TimeFault::Unreadable,
            rows: bad,
            first_line: row.line,
        });
    }
    if newest_first(&stamps) {
        rows.reverse();
        stamps.reverse();
        notices.push(Notice::NewestFirst);
    }
    let mut timed: Vec<Row> = Vec::with_capacity(count);
    let mut twice: Vec<usize> = Vec::new();
    let mut never: Vec<usize> = Vec::new();
    let mut before_s = i64::MIN;
    for (Fields { line, fields }, stamp) in rows.into_iter().zip(stamps) {
        let at_s = match stamp {
            None => continue,
            Some(Stamp::Known(at_s)) => at_s,
            Some(Stamp::Civil(civil)) => match columns.zone.instant(civil) {
                Some(Instant::At(at_s)) => at_s,
                // What goes on after the first of the two is the second.
                Some(Instant::Twice(early, late)) => {
                    twice.push(line);
                    if early > before_s { early } else { late }
                }
                Some(Instant::Never) | None => {
                    never.push(line);
                    continue;
                }
            },
        };
        before_s = at_s;
        timed.push(Row { line, at_s, fields });
    }
    if let Some(first_line) = twice.iter().min().copied() {
        notices.push(Notice::HourTwice {
            rows: twice.len(),
            first_line,
        });
    }
    if let Some(first_line) = never.iter().min().copied() {
        notices.push(Notice::TimesDropped {
            fault: TimeFault::NeverWas,
            rows: never.len(),
            first_line,
        });
    }
    Ok(in_order(timed, notices))
}

/// Whether most rows are earlier than the row before.
fn newest_first(stamps: &[Option<Stamp>]) -> bool {
    let order = |stamp: &Stamp| match stamp {
        Stamp::Known(at_s) => *at_s,
        Stamp::Civil(at) => at
            .duration_since(DateTime::constant(1970, 1, 1, 0, 0, 0, 0))
            .as_secs(),
    };
    let known: Vec<i64> = stamps.iter().flatten().map(order).collect();
    let back = known.windows(2).filter(|pair| pair[1] < pair[0]).count();
    let ahead = known.windows(2).filter(|pair| pair[1] > pair[0]).count();
    back > ahead
}

/// Sorts rows and drops those whose time is there already.
fn in_order(mut rows: Vec<Row>, notices: &mut Vec<Notice>) -> Vec<Row> {
    let late = rows.windows(2).filter(|pair| pair[1].at_s < pair[0].at_s);
    let late: Vec<usize> = late.map(|pair| pair[1].line).collect();
    if let Some(first_line) = late.first().copied() {
        notices.push(Notice::OutOfOrder {
            rows: late.len(),
            first_line,
        });
        rows.sort_by_key(|row| row.at_s);
    }
    let mut kept: Vec<Row> = Vec::with_capacity(rows.len());
    let (mut dropped, mut differing, mut first_line) = (0, 0, usize::MAX);
    for row in rows {
        match kept.last() {
            Some(last) if last.at_s == row.at_s => {
                dropped += 1;
                differing += usize::from(last.fields != row.fields);
                first_line = first_line.min(row.line);
            }
            _ => kept.push(row),
        }
    }
    if dropped > 0 {
        notices.push(Notice::Duplicates {
            rows: dropped,
            differing,
            first_line,
        });
    }
    kept
}

/// The most frequent step, s.
fn common_step(rows: &[Row]) -> i64 {
    let mut counts = std::collections::BTreeMap::new();
    for pair in rows.windows(2) {
        *counts.entry(pair[1].at_s - pair[0].at_s).or_insert(0_usize) += 1;
    }
    let most = counts
        .into_iter()
        .max_by_key(|(step, count)| (*count, -*step));
    most.map_or(3600, |(step, _)| step).max(1)
}

/// Says so if steps vary by more than their seconds.
fn irregular(rows: &[Row], step_s: i64, notices: &mut Vec<Notice>) {
    /// Share of steps that may differ in an even log.
    const FEW: f64 = 0.02;
    let steps = rows.len().saturating_sub(1).max(1);
    let differs = |pair: &&[Row]| (pair[1].at_s - pair[0].at_s - step_s).abs() > 60;
    let share = rows.windows(2).filter(differs).count() as f64 / steps as f64;
    if share > FEW {
        notices.push(Notice::Irregular { step_s, share });
    }
}

/// The numbers of a column.
fn column_of(
    rows: &[Row],
    at: usize,
    column: &LogColumn,
    columns: &LogColumns,
    shift_s: i64,
    path: &Path,
    notices: &mut Vec<Notice>,
) -> Result<Series, ReadingsError> {
    let (low, high) = screen::believable(&column.role);
    let marks: Vec<f64> = columns
        .missing
        .iter()
        .filter_map(|m| m.parse().ok())
        .collect();
    let mut series = Series {
        role: column.role.clone(),
        times_s: Vec::new(),
        values: Vec::new(),
    };
    let mut texts: Vec<(usize, &str)> = Vec::new();
    let mut beyond: Vec<(usize, &str)> = Vec::new();
    for row in rows {
        let field = row.fields.get(at).map_or("", String::as_str);
        let is_blank = field.is_empty() || is_blank_word(field);
        if is_blank || columns.missing.iter().any(|mark| mark == field) {
            continue;
        }
        let Some(number) = number(field, columns.decimal_comma) else {
            texts.push((row.line, field));
            continue;
        };
        if marks.iter().any(|mark| (mark - number).abs() < 1e-9) {
            continue;
        }
        let value = column.unit.to_si(number);
        if !(low..=high).contains(&value) {
            beyond.push((row.line, field));
            continue;
        }
        series.times_s.push(row.at_s + shift_s);
        series.values.push(value);
    }
    let of = series.values.len() + texts.len() + beyond.len();
    let bad = texts.len() + beyond.len();
    let first = texts.first().or(beyond.first());
    if let Some((line, found)) = first
        && bad as f64 > MOST_BAD * of as f64
    {
        return Err(ReadingsError::Values {
            path: path.to_owned(),
            role: column.role.clone(),
            line: *line,
            found: found.chars().take(40).collect(),
            unit: column.unit_text.clone(),
            bad,
            of,
        });
    }
    if let Some((first_line, example)) = texts.first() {
        notices.push(Notice::NotNumbers {
            role: column.role.clone(),
            values: texts.len(),
            first_line: *first_line,
            example: example.chars().take(40).collect(),
        });
    }
    if let Some((first_line, _)) = beyond.first() {
        notices.push(Notice::Unbelievable {
            role: column.role.clone(),
            values: beyond.len(),
            first_line: *first_line,
        });
    }
    Ok(series)
}

/// Words that loggers and spreadsheets write where nothing was read.
fn is_blank_word(field: &str) -> bool {
    const WORDS: [&str; 9] = ["-", "--", "---", "na", "n/a", "nan", "null", "none", "#n/a"];
    WORDS.contains(&field.to_ascii_lowercase().as_str())
}

/// A number, with a unit or a degree sign after it or not.
pub(super) fn number(field: &str, decimal_comma: bool) -> Option<f64> {
    let bare = field
        .trim()
        .trim_end_matches(|c: char| c.is_alphabetic() || matches!(c, '°' | '%' | '²' | '/'))
        .trim()
        // Typographic minus, and blanks or thin spaces between thousands.
        .replace('\u{2212}', "-")
        .replace(['\u{a0}', '\u{202f}'], "");
    let plain = if decimal_comma {
        bare.replace(',', ".")
    } else {
        bare
    };
    plain.parse().ok().filter(|value: &f64| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_every_writing_are_read() {
        for (text, comma, value) in [
            ("21.5", false, 21.5),
            ("21,5", true, 21.5),
            ("\u{2212}3,2 °C", true, -3.2),
            ("71.3°F", false, 71.3),
            ("55 %", false, 55.0),
            ("1e2", false, 100.0),
        ] {
            assert_eq!(number(text, comma), Some(value), "{text}");
        }
        for text in ["", "LOW", "21,5", "12:30"] {
            assert_eq!(number(text, false), None, "{text}");
        }
    }

    #[test]
    fn delimiters_are_voted() {
        let vote = |text: &str, comma| {
            let lines: Vec<(usize, &str)> = text.lines().enumerate().collect();
            super::vote(&lines, comma)
        };
        assert_eq!(vote("a;b\n1,5;2,5\n3,5;4,5", true), ';');
        assert_eq!(vote("a;b\n1,5;2,5\n3,5;4,5", false), ';');
        assert_eq!(
            vote("time,a\n2022-01-01 00:00,1\n2022-01-01 01:00,2", false),
            ','
        );
        assert_eq!(vote("time\ta\n2022-01-01 00:00\t1", false), '\t');
    }
}
