//! One design with its run and what the run means.

use jiff::SignedDuration;
use jiff::civil::DateTime;

use crate::assess::Assessment;
use crate::house::House;
use crate::run::Outcome;

/// One design with its run and what the run means: what reports are made of.
#[derive(Debug, Clone)]
pub struct Case {
    /// The design.
    pub house: House,
    /// Its run.
    pub outcome: Outcome,
    /// What the run means.
    pub assessment: Assessment,
}

impl Case {
    /// Name of the design.
    pub fn design(&self) -> &str {
        &self.house.design
    }

    /// Civil time of an instant of the run, to the nearest minute.
    pub(super) fn time(&self, time_s: f64) -> DateTime {
        at(&self.outcome, time_s)
    }
}

/// Civil time of an instant of a run, to the nearest second.
pub(super) fn at(outcome: &Outcome, time_s: f64) -> DateTime {
    #[expect(clippy::cast_possible_truncation, reason = "seconds of a period")]
    let ahead = SignedDuration::from_secs(time_s.round() as i64);
    outcome.start.saturating_add(ahead)
}
