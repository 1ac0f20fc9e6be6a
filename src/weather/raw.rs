//! Rows as a reader leaves them: SI values, stamps as the file has them, lines remembered.

use jiff::civil::{Date, DateTime};

use super::column_map::{Readings, Stamp};
use super::problem::{Problem, Problems};
use super::{ColumnUnit, Kind, Notice, Place, Quantity};

/// How many quantities a row can hold.
pub(super) const QUANTITIES: usize = Quantity::ALL.len();

/// A row: not-a-number is missing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    pub(super) line: usize,
    /// Seconds of the stamp since 1970-01-01T00:00 local standard time.
    pub(super) at_s: i64,
    pub(super) values: [f64; QUANTITIES],
}

/// What a reader hands on.
#[derive(Debug)]
pub(super) struct Raw {
    pub(super) place: Place,
    pub(super) kind: Kind,
    pub(super) source: String,
    pub(super) licence: String,
    pub(super) stamp: Stamp,
    pub(super) readings: Readings,
    pub(super) radiation_offset_s: Option<i64>,
    /// Name and unit of the column of each quantity, for messages; `None` if there is none.
    pub(super) columns: [Option<(String, ColumnUnit, String)>; QUANTITIES],
    pub(super) rows: Vec<Row>,
    pub(super) wind_height_m: f64,
    pub(super) albedo: Option<f64>,
    pub(super) range_coefficient: Option<f64>,
    pub(super) notices: Vec<Notice>,
}

/// Seconds since 1970-01-01T00:00 of a civil time, all on the same clock.
pub(super) fn civil_seconds(at: DateTime) -> i64 {
    at.duration_since(EPOCH).as_secs()
}

/// The civil time so many seconds after 1970-01-01T00:00; at most the last civil instant.
pub(super) fn civil_time(seconds: i64) -> DateTime {
    EPOCH.saturating_add(jiff::SignedDuration::from_secs(seconds))
}

const EPOCH: DateTime = DateTime::constant(1970, 1, 1, 0, 0, 0, 0);

/// Midnight that begins a date, in seconds since 1970-01-01.
pub(super) fn midnight(date: Date) -> i64 {
    civil_seconds(date.to_datetime(jiff::civil::Time::midnight()))
}

impl Raw {
    /// Takes values outside the believable range as missing and small night offsets as zero. A
    /// column in which more than a twentieth is unbelievable is a problem: its unit is wrong.
    pub(super) fn screen(&mut self, problems: &mut Problems) {
        for (q, quantity) in Quantity::ALL.into_iter().enumerate() {
            let (low, high) = quantity.believable();
            let (mut present, mut outside, mut clipped) = (0, 0, 0);
            let mut first = None;
            let mut lowest = 0.0;
            for row in &mut self.rows {
                let value = row.values[q];
                if value.is_nan() {
                    continue;
                }
                present += 1;
                if (low..=high).contains(&value) {
                    let settled = quantity.settle(value);
                    if settled == 0.0 && value < 0.0 {
                        clipped += 1;
                        lowest = value.min(lowest);
                    }
                    row.values[q] = settled;
                } else {
                    outside += 1;
                    first.get_or_insert((row.line, value));
                    row.values[q] = f64::NAN;
                }
            }
            if clipped > 0 && lowest < -0.05 {
                self.notices.push(Notice::NightOffsetsClipped {
                    quantity,
                    values: clipped,
                    lowest_w_m2: lowest,
                });
            }
            let Some((line, value)) = first else { continue };
            match &self.columns[q] {
                Some((column, unit, unit_text)) if outside * 20 > present => {
                    problems.push(Problem::Unbelievable {
                        column: column.clone(),
                        quantity,
                        unit: unit_text.clone(),
                        count: outside,
                        of: present,
                        example: unit.from_si(value),
                        line,
                    });
                }
                _ => self.notices.push(Notice::UnbelievableDropped {
                    quantity,
                    values: outside,
                    first_line: line,
                }),
            }
        }
    }

    /// Whether a quantity has any value at all.
    pub(super) fn has(&self, quantity: Quantity) -> bool {
        self.rows
            .iter()
            .any(|row| !row.values[quantity as usize].is_nan())
    }
}
