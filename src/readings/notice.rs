//! What was dropped, what looks wrong, and how much of it.

use jiff::civil::DateTime;

use super::decode::Encoding;
use super::description::Role;

/// Why a stamp could not be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeFault {
    /// It is not of the form that the description tells.
    Unreadable,
    /// Its hour is skipped when clocks are put forward.
    NeverWas,
}

/// What a reader of a log ought to know.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Notice {
    /// The file was not plain UTF-8.
    Encoding {
        /// How it was read.
        encoding: Encoding,
    },
    /// Rows whose time could not be used were dropped.
    TimesDropped {
        /// Why.
        fault: TimeFault,
        /// How many.
        rows: usize,
        /// Line of the first.
        first_line: usize,
    },
    /// The newest row came first; the file was turned round.
    NewestFirst,
    /// Rows were not in the order of their times and were sorted.
    OutOfOrder {
        /// How many were earlier than the row before.
        rows: usize,
        /// Line of the first.
        first_line: usize,
    },
    /// An hour came twice, as when clocks are put back, and was told apart by the order of rows.
    HourTwice {
        /// Rows inside such hours.
        rows: usize,
        /// Line of the first.
        first_line: usize,
    },
    /// Rows had a time that was there already; the first was kept.
    Duplicates {
        /// How many were dropped.
        rows: usize,
        /// How many of them differed from the one that was kept.
        differing: usize,
        /// Line of the first.
        first_line: usize,
    },
    /// Rows were shorter than the columns need and what is missing was left out.
    ShortRows {
        /// How many.
        rows: usize,
        /// Line of the first.
        first_line: usize,
    },
    /// Fields that are not numbers were dropped.
    NotNumbers {
        /// Column.
        role: Role,
        /// How many.
        values: usize,
        /// Line of the first.
        first_line: usize,
        /// What stands there, shortened.
        example: String,
    },
    /// Readings that cannot be were dropped.
    Unbelievable {
        /// Column.
        role: Role,
        /// How many.
        values: usize,
        /// Line of the first.
        first_line: usize,
    },
    /// A sensor stuck to one value; those readings were dropped.
    Stuck {
        /// Column.
        role: Role,
        /// How many.
        values: usize,
        /// When it first began, local standard time.
        from: DateTime,
        /// How long the longest lasted, h.
        longest_h: f64,
    },
    /// Single readings far from those before and after were dropped.
    Spikes {
        /// Column.
        role: Role,
        /// How many.
        values: usize,
        /// When the first was, local standard time.
        first: DateTime,
    },
    /// Readings are missing for longer than usual.
    Gaps {
        /// Column.
        role: Role,
        /// How many gaps.
        gaps: usize,
        /// The longest, h.
        longest_h: f64,
    },
    /// Rows are not evenly spaced.
    Irregular {
        /// The most frequent step, s.
        step_s: i64,
        /// Share of steps that differ from it.
        share: f64,
    },
    /// The outdoor thermometer reads more than another source at the same hours of every day, as
    /// when the sun reaches it; those hours were dropped.
    SunTouched {
        /// First hour of the day, local standard time.
        from_h: usize,
        /// One past the last hour.
        to_h: usize,
        /// How much it reads too high in the worst of them, K.
        excess_k: f64,
        /// How many readings were dropped.
        values: usize,
    },
    /// The outdoor thermometer reads more than another source at the same hours of every day, as
    /// when the sun reaches it, and on another clock it would not; nothing was dropped.
    ClockBeforeSun {
        /// First hour of the day, local standard time.
        from_h: usize,
        /// One past the last hour.
        to_h: usize,
        /// How much it reads too high in the worst of them, K.
        excess_k: f64,
        /// Hours by which the log's stamps would be ahead of the true time.
        ahead_h: i64,
    },
    /// A column swings so little, and the outdoor one so much, that they may have been exchanged.
    LooksSwapped {
        /// The column that looks like outdoors.
        inside: Role,
        /// Mean daily swing of that column, K.
        inside_swing_k: f64,
        /// Mean daily swing of the outdoor column, K.
        outdoor_swing_k: f64,
    },
}
