//! Why nothing can be told of a change, and what to do about it.

use crate::study::verify::{LEAST_DAYS, VerifyError, WEATHER_APART_K, WORST_FIT_K};
use crate::units::show::{self, System};

use super::super::clock::clock_words;
use super::super::layout::{heading, paragraph};
use super::super::readings::readings_text;
use super::super::refusal::Refusal;
use super::super::words;
use super::{ProofInput, named};

impl Refusal {
    /// In words; nothing where the input is wrong rather than the data too weak.
    pub(super) fn of(system: System, error: &VerifyError) -> Option<Self> {
        let of = |by_k: f64| words::difference(system, by_k);
        let (why, what_to_do) = match error {
            VerifyError::TooFewDays { before, after } => (
                format!(
                    "There are {before} whole day(s) before the change and {after} after it that can be \
                     used; {LEAST_DAYS} of each are the least, and a week of each is better."
                ),
                "Leave the loggers where they are and read them again later; for the days before, look \
                 for an older or longer log."
                    .to_owned(),
            ),
            VerifyError::PoorFit { column, spread_k } => (
                format!(
                    "The house as it was, fitted to its log, misses the daily highs at {} by {} from \
                     day to day. With more than {} a change cannot be told from that.",
                    column.replace('_', " "),
                    of(*spread_k),
                    of(WORST_FIT_K)
                ),
                "Look at the page of calibrate for the log before: it shows at which hours and in which \
                 wind the two part. What the house file says of the place of the logger, vents and fans \
                 comes first; and if the log is all that tells of the weather, a weather file of the same \
                 days with sun and wind."
                    .to_owned(),
            ),
            VerifyError::WeatherApart { apart_k } => (
                format!(
                    "It was {} {} outdoors after the change than before. Beyond {} the fitted house \
                     would be asked for what it never showed.",
                    of(*apart_k),
                    if *apart_k > 0.0 { "warmer" } else { "cooler" },
                    of(WEATHER_APART_K[1])
                ),
                "Use days after the change whose weather is more like that before.".to_owned(),
            ),
            VerifyError::LoggerMoved {
                column,
                night_k,
                day_k,
            } => (
                format!(
                    "At {}, the small hours read {} other than the house as it was, nearly as much as the \
                     highs ({}). Hardly anything that is done to an attic acts at that time: that is a \
                     logger that was moved or swapped.",
                    column.replace('_', " "),
                    show::temperature_difference(system, *night_k),
                    show::temperature_difference(system, *day_k)
                ),
                "Hang the logger where it was before, or put both loggers side by side for a night and \
                 correct the log by what they differ."
                    .to_owned(),
            ),
            VerifyError::ColumnsExchanged(exchanged) => return Some(Self::of_exchanged(exchanged)),
            VerifyError::LogsExchanged {
                after_ends,
                before_begins,
            } => (
                format!(
                    "The log after the change ends on {}, and the log before it begins on {}.",
                    after_ends.strftime("%-d %B %Y"),
                    before_begins.strftime("%-d %B %Y")
                ),
                "If they are exchanged, give the older one with --before and the newer one with --after."
                    .to_owned(),
            ),
            VerifyError::ClockOff { clock } => (
                clock_words(system, clock),
                "Set the clock of the log's description right and run this again.".to_owned(),
            ),
            VerifyError::NothingInCommon => (
                "The logs before and after have no thermometer in common.".to_owned(),
                "Give the same thermometer the same name in the descriptions of both logs.".to_owned(),
            ),
            VerifyError::Calibration(_) => return None,
        };
        Some(Self { why, what_to_do })
    }

    pub(super) fn headline(input: &ProofInput<'_>) -> String {
        format!(
            "What {} did cannot be told from these logs.",
            named(input.change)
        )
    }

    /// As text, with what the logs hold.
    pub(super) fn text(&self, input: &ProofInput<'_>) -> String {
        let mut text = String::new();
        for log in input.logs {
            text.push_str(&readings_text(input.system, log.readings));
            text.push('\n');
        }
        text.push_str(&paragraph("", 0, &Self::headline(input)));
        text.push_str(&heading("Why"));
        text.push_str(&paragraph("  -", 4, &self.why));
        text.push_str(&heading("What to do"));
        text.push_str(&paragraph("  -", 4, &self.what_to_do));
        text
    }
}

/// Why nothing can be told of a change, and what to do, as lines; nothing where the input is wrong
/// rather than the data too weak.
pub fn refused_text(system: System, error: &VerifyError) -> Option<String> {
    Some(Refusal::of(system, error)?.lines())
}
