//! Delimited files through a column description.

use jiff::civil::{Date, DateTime};
use jiff::fmt::strtime;

use super::column_map::{ColumnMap, ColumnRef, TimeColumns};
use super::problem::{Problem, Problems, shorten};
use super::raw::{QUANTITIES, Raw, Row, civil_seconds, midnight};

/// Delimiters that are tried if none is given.
const DELIMITERS: [char; 5] = [',', ';', '\t', '|', ' '];

/// The column description in the `#:` lines of a file; every other line is left empty so that
/// the lines of the faults are those of the file.
pub(super) fn embedded_description(text: &str) -> Option<String> {
    let mut found = false;
    let mut description = String::new();
    for line in text
        .lines()
        .take_while(|line| line.starts_with('#') || line.trim().is_empty())
    {
        if let Some(rest) = line.strip_prefix("#:") {
            found = true;
            description.push_str(rest.trim_start());
        }
        description.push('\n');
    }
    found.then_some(description)
}

/// Reads the rows of a delimited file.
pub(super) fn read(text: &str, map: &ColumnMap, problems: &mut Problems) -> Option<Raw> {
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line))
        .filter(|(_, line)| map.comment.is_empty() || !line.starts_with(&map.comment))
        .skip(map.skip_lines)
        .peekable();
    let sample: Vec<&str> = lines
        .clone()
        .map(|l| l.1)
        .filter(|l| !l.trim().is_empty())
        .take(12)
        .collect();
    let delimiter = map
        .delimiter
        .unwrap_or_else(|| vote(&sample, map.decimal_comma));
    let (header_line, names) = if map.header {
        let (line, text) = lines.find(|(_, text)| !text.trim().is_empty())?;
        (line, Some(split(text, delimiter)))
    } else {
        (lines.peek()?.0, None)
    };
    let mut finder = Finder {
        line: header_line,
        names: names.as_deref(),
        problems,
    };
    let columns: Vec<(usize, &super::Column)> = map
        .columns
        .iter()
        .map(|column| (finder.find(&column.column, column.quantity.key()), column))
        .collect();
    let time = TimeFinder::new(&map.time, &mut finder);
    if !finder.problems.is_empty() {
        return None;
    }
    let needed = columns
        .iter()
        .map(|c| c.0)
        .chain(time.columns())
        .max()
        .unwrap_or(0)
        + 1;
    let shift_s = whole_seconds((map.place.utc_offset_h - map.stamps_utc_offset_h) * 3600.0);
    let plan = Plan {
        map,
        delimiter,
        columns,
        time,
        needed,
        shift_s,
    };
    let rows = plan.rows(lines, problems);
    let mut described = std::array::from_fn(|_| None);
    for column in &map.columns {
        described[column.quantity as usize] = Some((
            name_of(&column.column),
            column.unit,
            column.unit_text.clone(),
        ));
    }
    Some(Raw {
        place: map.place.clone(),
        kind: map.kind,
        source: map.source.clone(),
        licence: map.licence.clone(),
        stamp: map.stamp,
        readings: map.readings,
        radiation_offset_s: map.radiation_offset_h.map(|h| whole_seconds(h * 3600.0)),
        columns: described,
        rows,
        wind_height_m: map.wind_height_m,
        albedo: map.albedo,
        range_coefficient: map.range_coefficient,
        notices: Vec::new(),
    })
}

/// How the rows of a file are taken apart.
struct Plan<'a> {
    map: &'a ColumnMap,
    delimiter: char,
    columns: Vec<(usize, &'a super::Column)>,
    time: TimeFinder<'a>,
    needed: usize,
    shift_s: i64,
}

impl Plan<'_> {
    fn rows<'t>(
        &self,
        lines: impl Iterator<Item = (usize, &'t str)>,
        problems: &mut Problems,
    ) -> Vec<Row> {
        let Self {
            map,
            delimiter,
            columns,
            time,
            needed,
            shift_s,
        } = self;
        let marks: Vec<f64> = map
            .missing
            .iter()
            .filter_map(|mark| mark.parse().ok())
            .collect();
        let mut rows = Vec::new();
        for (line, text) in lines {
            let ends = match map.footer.as_deref() {
                Some("") => text.trim().is_empty(),
                Some(mark) => text.starts_with(mark),
                None => false,
            };
            if ends {
                break;
            }
            if text.trim().is_empty() {
                continue;
            }
            let fields = split(text, *delimiter);
            if fields.len() < *needed {
                problems.push(Problem::ShortRow {
                    line,
                    found: fields.len(),
                    needed: *needed,
                });
                continue;
            }
            let at_s = match time.stamp(&fields) {
                Ok(at_s) => at_s + shift_s,
                Err(found) => {
                    let expected = time.expected();
                    problems.push(Problem::Stamp {
                        line,
                        found: shorten(&found),
                        expected,
                    });
                    continue;
                }
            };
            let mut values = [f64::NAN; QUANTITIES];
            for (i, column) in columns {
                let field = fields[*i].as_str();
                if field.is_empty() || map.missing.iter().any(|mark| mark == field) {
                    continue;
                }
                match number(field, map.decimal_comma) {
                    Some(value) if marks.iter().any(|mark| (mark - value).abs() < 1e-9) => {}
                    Some(value) => values[column.quantity as usize] = column.unit.to_si(value),
                    None => problems.push(Problem::Number {
                        line,
                        column: name_of(&column.column),
                        found: shorten(field),
                    }),
                }
            }
            rows.push(Row { line, at_s, values });
        }
        rows
    }
}

/// Seconds as a whole number; the descriptions bound them to a day.
#[expect(clippy::cast_possible_truncation, reason = "casts saturate")]
fn whole_seconds(seconds: f64) -> i64 {
    seconds.round() as i64
}

fn name_of(column: &ColumnRef) -> String {
    match column {
        ColumnRef::Name(name) => name.clone(),
        ColumnRef::Number(number) => format!("number {number}"),
    }
}

fn number(field: &str, decimal_comma: bool) -> Option<f64> {
    let value: f64 = if decimal_comma {
        field.replace(',', ".").parse().ok()?
    } else {
        field.parse().ok()?
    };
    value.is_finite().then_some(value)
}

/// The delimiter that cuts the most lines into the same number of fields, more than one.
fn vote(lines: &[&str], decimal_comma: bool) -> char {
    let score = |&mark: &char| {
        let counts: Vec<usize> = lines.iter().map(|line| split(line, mark).len()).collect();
        let most = counts
            .iter()
            .copied()
            .filter(|&n| n > 1)
            .max_by_key(|n| (counts.iter().filter(|&m| m == n).count(), *n));
        most.map_or((0, 0), |n| (counts.iter().filter(|&&m| m == n).count(), n))
    };
    DELIMITERS
        .into_iter()
        .filter(|&mark| !(decimal_comma && mark == ','))
        .rev()
        .max_by_key(score)
        .unwrap_or(',')
}

/// The fields of a line. Quotes may enclose a field; several blanks count as one delimiter.
fn split(line: &str, delimiter: char) -> Vec<String> {
    let line = line
        .trim_start_matches('\u{feff}')
        .trim_end_matches(['\r', '\n']);
    if delimiter == ' ' {
        return line
            .split_whitespace()
            .map(|field| field.trim_matches('"').to_owned())
            .collect();
    }
    let mut fields = Vec::new();
    let mut field = String::new();
    let mut quoted = false;
    for c in line.chars() {
        if c == '"' {
            quoted = !quoted;
        } else if c == delimiter && !quoted {
            fields.push(std::mem::take(&mut field).trim().to_owned());
        } else {
            field.push(c);
        }
    }
    fields.push(field.trim().to_owned());
    fields
}

/// Finds columns, and reports those that are not there.
struct Finder<'a> {
    line: usize,
    names: Option<&'a [String]>,
    problems: &'a mut Problems,
}

impl Finder<'_> {
    fn find(&mut self, column: &ColumnRef, wanted: &'static str) -> usize {
        let found = match (column, self.names) {
            (ColumnRef::Number(number), _) => Some(number.saturating_sub(1)),
            (ColumnRef::Name(name), Some(names)) => names.iter().position(|found| found == name),
            (ColumnRef::Name(_), None) => None,
        };
        found.unwrap_or_else(|| {
            let found = self.names.map(|names| names.join(", ")).unwrap_or_default();
            self.problems.push(Problem::NoColumn {
                line: self.line,
                column: name_of(column),
                wanted,
                found: found.chars().take(300).collect(),
            });
            0
        })
    }
}

/// Where the time stands, as positions.
enum TimeFinder<'a> {
    Text {
        column: usize,
        time_column: Option<usize>,
        format: &'a str,
    },
    Parts {
        year: usize,
        month_day: Option<(usize, usize)>,
        day_of_year: Option<usize>,
        hour: Option<usize>,
        minute: Option<usize>,
        hour_minute: Option<usize>,
    },
}

impl<'a> TimeFinder<'a> {
    fn new(time: &'a TimeColumns, finder: &mut Finder) -> Self {
        match time {
            TimeColumns::Text {
                column,
                time_column,
                format,
            } => Self::Text {
                column: finder.find(column, "the time"),
                time_column: time_column
                    .as_ref()
                    .map(|c| finder.find(c, "the time of day")),
                format,
            },
            TimeColumns::Parts {
                year,
                month,
                day,
                day_of_year,
                hour,
                minute,
                hour_minute,
            } => {
                let mut part = |column: &Option<ColumnRef>, wanted| {
                    column.as_ref().map(|column| finder.find(column, wanted))
                };
                Self::Parts {
                    month_day: part(month, "the month").zip(part(day, "the day")),
                    day_of_year: part(day_of_year, "the day of the year"),
                    hour: part(hour, "the hour"),
                    minute: part(minute, "the minute"),
                    hour_minute: part(hour_minute, "hour and minute"),
                    year: finder.find(year, "the year"),
                }
            }
        }
    }

    fn columns(&self) -> Vec<usize> {
        match *self {
            Self::Text {
                column,
                time_column,
                ..
            } => std::iter::once(column).chain(time_column).collect(),
            Self::Parts {
                year,
                month_day,
                day_of_year,
                hour,
                minute,
                hour_minute,
            } => {
                let (month, day) = month_day.unzip();
                [month, day, day_of_year, hour, minute, hour_minute]
                    .into_iter()
                    .flatten()
                    .chain(std::iter::once(year))
                    .collect()
            }
        }
    }

    fn expected(&self) -> String {
        match self {
            Self::Text { format, .. } => (*format).to_owned(),
            Self::Parts { .. } => "year, month, day, hour, minute".to_owned(),
        }
    }

    /// Seconds since 1970 on the clock of the file; the text that cannot be read otherwise.
    fn stamp(&self, fields: &[String]) -> Result<i64, String> {
        match *self {
            Self::Text {
                column,
                time_column,
                format,
            } => {
                let text = match time_column {
                    Some(time) => format!("{} {}", fields[column], fields[time]),
                    None => fields[column].clone(),
                };
                text_stamp(&text, format).ok_or(text)
            }
            Self::Parts {
                year,
                month_day,
                day_of_year,
                hour,
                minute,
                hour_minute,
            } => {
                let whole = |i: usize| -> Option<i64> { whole_number(&fields[i]) };
                let read = || -> Option<i64> {
                    let year = i16::try_from(whole(year)?).ok()?;
                    let days = match (month_day, day_of_year) {
                        (Some((month, day)), _) => midnight(
                            Date::new(
                                year,
                                i8::try_from(whole(month)?).ok()?,
                                i8::try_from(whole(day)?).ok()?,
                            )
                            .ok()?,
                        ),
                        (None, Some(day)) => {
                            let day = whole(day).filter(|day| (1..=366).contains(day))?;
                            midnight(Date::new(year, 1, 1).ok()?) + (day - 1) * 86_400
                        }
                        (None, None) => return None,
                    };
                    let (hour, minute) = match (hour_minute, hour) {
                        (Some(i), _) => (whole(i)? / 100, whole(i)? % 100),
                        (None, Some(i)) => (whole(i)?, minute.map_or(Some(0), whole)?),
                        (None, None) => return None,
                    };
                    ((0..=24).contains(&hour) && (0..60).contains(&minute))
                        .then_some(days + hour * 3600 + minute * 60)
                };
                read().ok_or_else(|| {
                    self.columns()
                        .iter()
                        .map(|&i| fields[i].as_str())
                        .collect::<Vec<_>>()
                        .join(" ")
                })
            }
        }
    }
}

/// A whole number that may be written `7.0`.
#[expect(clippy::cast_possible_truncation, reason = "below a million")]
fn whole_number(field: &str) -> Option<i64> {
    let value: f64 = field.parse().ok()?;
    (value.fract() == 0.0 && value.abs() < 1e6).then_some(value as i64)
}

/// Reads a stamp; `24:00` ends the day, and an hour that is written without a leading zero is
/// accepted.
fn text_stamp(text: &str, format: &str) -> Option<i64> {
    let parse = |text: &str| -> Option<DateTime> {
        let broken = strtime::parse(format, text).ok()?;
        broken.to_datetime().ok().or_else(|| {
            let date = broken.to_date().ok()?;
            let (hour, minute) = (broken.hour(), broken.minute());
            Some(date.at(hour.unwrap_or(0), minute.unwrap_or(0), 0, 0))
        })
    };
    if let Some(at) = parse(text) {
        return Some(civil_seconds(at));
    }
    // The end of the day: read it as its start and go a day ahead.
    let start = text.replacen(" 24:", " 00:", 1).replacen("T24:", "T00:", 1);
    let start = if start == text && format.ends_with("%H%M") && text.ends_with("2400") {
        format!("{}0000", &text[..text.len() - 4])
    } else {
        start
    };
    (start != text)
        .then(|| parse(&start))
        .flatten()
        .map(|at| civil_seconds(at) + 86_400)
}

#[cfg(test)]
mod tests {
    use super::super::raw::civil_time;
    use super::*;

    fn at(text: &str, format: &str) -> Option<String> {
        text_stamp(text, format).map(|seconds| civil_time(seconds).to_string())
    }

    #[test]
    fn stamps_of_many_forms_are_read() {
        for (text, format, want) in [
            ("201704010030", "%Y%m%d%H%M", "2017-04-01T00:30:00"),
            ("20180101:0100", "%Y%m%d:%H%M", "2018-01-01T01:00:00"),
            (
                "2013-01-01T06:00:00Z",
                "%Y-%m-%dT%H:%M:%SZ",
                "2013-01-01T06:00:00",
            ),
            ("07/04/2017 24:00", "%m/%d/%Y %H:%M", "2017-07-05T00:00:00"),
            ("201704302400", "%Y%m%d%H%M", "2017-05-01T00:00:00"),
            ("4.7.2017 9:05", "%d.%m.%Y %H:%M", "2017-07-04T09:05:00"),
            (
                "7/4/2017 3:05 PM",
                "%m/%d/%Y %I:%M %p",
                "2017-07-04T15:05:00",
            ),
        ] {
            assert_eq!(at(text, format).as_deref(), Some(want), "{text}");
        }
        assert_eq!(at("2017-13-01 00:00", "%Y-%m-%d %H:%M"), None);
    }

    #[test]
    fn the_delimiter_is_the_one_that_most_lines_agree_on() {
        assert_eq!(vote(&["a,b,c", "1,2,3", "4,5,6"], false), ',');
        assert_eq!(vote(&["a;b", "1,5;2,5", "1,5;2"], true), ';');
        assert_eq!(vote(&["a\tb c", "1\t2", "3\t4"], false), '\t');
        assert_eq!(vote(&["2016 1 1", "2016  1 2"], false), ' ');
    }

    #[test]
    fn quotes_enclose_a_field() {
        assert_eq!(split("1,\"a, b\", 2 \r", ','), ["1", "a, b", "2"]);
    }

    #[test]
    fn the_description_keeps_the_lines_of_the_file() {
        let text = "# hello\n#: place = \"a\"\n#\n#: [columns]\nwhen,t\n";
        assert_eq!(
            embedded_description(text).unwrap(),
            "\nplace = \"a\"\n\n[columns]\n"
        );
        assert_eq!(embedded_description("a,b\n#: x = 1\n"), None);
    }
}
