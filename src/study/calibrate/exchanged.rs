//! Columns of a log that look exchanged, where nothing fits that is read from them.

use crate::readings::{Notice, Readings, Role};

use super::clock::ClockError;
use super::compare::{Compared, Measure};
use super::found::Calibration;
use super::model::Task;

/// What the fitted house may be off, K: spread of the daily highs' errors, or root of the mean square of
/// all readings, above which nothing is to be told.
pub const WORST_FIT_K: f64 = 2.5;

/// Two columns of a log that look exchanged.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "two columns of {log:?} look exchanged: {inside:?} swings less through the day than the air \
     outdoors does"
)]
pub struct ColumnsExchanged {
    /// Name of the log.
    pub log: String,
    /// Column that looks like outdoors.
    pub inside: String,
}

impl ColumnsExchanged {
    /// The columns of a log that look so. A sealed attic looks so too: this explains what does not fit
    /// and is no reason by itself.
    pub(in crate::study) fn of(readings: &Readings) -> Option<Self> {
        let inside = readings.notices.iter().find_map(|notice| match notice {
            Notice::LooksSwapped {
                inside: Role::Inside(name),
                ..
            } => Some(name.clone()),
            _ => None,
        })?;
        Some(Self {
            log: readings.source.clone(),
            inside,
        })
    }
}

/// Refuses a fit to columns that look exchanged where the readings are not met or look hours off:
/// what was found then is of no house.
///
/// # Errors
/// [`ColumnsExchanged`].
pub fn refuse_exchanged(
    task: &Task,
    fit: &Calibration,
    clock: Option<&ClockError>,
) -> Result<(), ColumnsExchanged> {
    let is_far = |one: &Compared| {
        let quality = one.quality();
        one.measure == Measure::Temperature
            && (quality.rmse > WORST_FIT_K || quality.peak_spread > WORST_FIT_K)
    };
    let is_off = clock.is_some_and(ClockError::is_far) || fit.fitted.iter().any(is_far);
    match ColumnsExchanged::of(task.readings) {
        Some(exchanged) if is_off => Err(exchanged),
        _ => Ok(()),
    }
}
