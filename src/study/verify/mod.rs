//! What a finished change did, from a log before it and one after it.
//!
//! The house as it was is fitted to the log before. In the weather after the change it is run once
//! more: what its thermometers would read then, without the change, less what they did read is what
//! the change did, at equal weather. What is left of doubt about the house, and how far the fitted
//! house was off from day to day, make the interval.

mod days;
mod drops;
mod others;
mod without;

use crate::weather::Weather;
use jiff::civil::DateTime;

use super::calibrate::{
    Calibration, CalibrationError, ClockError, ColumnsExchanged, Model, NINE_IN_TEN, Target, Task,
    calibrate, clock_error, refuse_exchanged, student,
};
use super::sweep::normal;

use days::{MEAN, Side, by_day};
use drops::{drop_at, variance};
use others::{is_of_rooms, mimics, rooms_otherwise};

pub use super::calibrate::WORST_FIT_K;
pub use others::{Mimic, OTHER_ROOMS_K, RoomsOtherwise};
pub use without::{ByDay, Without};

/// Whole days that each log must have.
pub const LEAST_DAYS: usize = 3;
/// Difference of the days' mean outdoor temperature before and after up to which the weather is
/// taken as alike, K, and above which nothing is to be told.
pub const WEATHER_APART_K: [f64; 2] = [3.0, 10.0];
/// What each kelvin of it beyond that adds to the doubt, K (a judgement).
const DOUBT_PER_K: f64 = 0.1;
/// Houses that are usually drawn from what is left of doubt.
pub const DRAWS: u64 = 32;
/// Seed of the draws: the same for all, so that results repeat.
const SEED: u64 = 1;
/// Least expected drop by which what was measured is set in proportion, K.
const LEAST_EXPECTED_K: f64 = 0.5;

/// The same house before and after a change.
#[derive(Debug, Clone)]
pub struct Change<'a> {
    /// The house as it was, with the log before; the days kept out serve to see how far it is off.
    pub before: Task<'a>,
    /// The house as it was, with the log after; the priors are those of `before`.
    pub after: Task<'a>,
    /// The house with the change, with the log after, if the house file describes it.
    pub changed: Option<Task<'a>>,
    /// The weather file that stands beside what the logs have of outdoors.
    pub file: Option<&'a Weather>,
    /// Houses drawn from what is left of doubt, usually [`DRAWS`].
    pub draws: u64,
}

impl Change<'_> {
    fn rooms_are_logged(&self) -> bool {
        self.after.rooms_are_logged() && self.before.rooms_are_logged()
    }
}

/// Why nothing can be told.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum VerifyError {
    /// The house as it was cannot be fitted or run.
    #[error(transparent)]
    Calibration(#[from] CalibrationError),
    /// Too few whole days.
    #[error(
        "{before} whole day(s) before and {after} after are too few: at least {LEAST_DAYS} of each \
         are needed"
    )]
    TooFewDays {
        /// Days before.
        before: usize,
        /// Days after.
        after: usize,
    },
    /// The fitted house is too far off.
    #[error(
        "the fitted house misses the daily highs at {column:?} by {spread_k:.1} K from day to day: \
         too much to tell what a change did"
    )]
    PoorFit {
        /// Column.
        column: String,
        /// Spread of the daily errors, K.
        spread_k: f64,
    },
    /// The weather is too different.
    #[error(
        "the air outdoors was {:.1} K {} after the change than before: too far apart to tell what the \
         change did",
        .apart_k.abs(),
        if .apart_k > &0.0 { "warmer" } else { "cooler" }
    )]
    WeatherApart {
        /// Mean after less mean before, K.
        apart_k: f64,
    },
    /// A logger was moved or swapped.
    #[error(
        "at {column:?} the small hours read {night_k:+.1} K other than the house as it was, nearly as \
         much as the day ({day_k:+.1} K): that is a logger moved or swapped rather than a change of \
         the house"
    )]
    LoggerMoved {
        /// Column.
        column: String,
        /// Drop in the small hours, K.
        night_k: f64,
        /// Drop of the daily highs, K.
        day_k: f64,
    },
    /// The clock of a log is off, by more than an hour or so that the fitted house is too far off.
    #[error(
        "the clock of {:?} looks {} h {}: {:.1} K off what is worked out, {:.1} K on the right clock",
        .clock.log,
        .clock.ahead_h.abs(),
        if .clock.ahead_h > 0 { "ahead" } else { "behind" },
        .clock.rmse_k,
        .clock.rmse_otherwise_k
    )]
    ClockOff {
        /// The clock.
        clock: Box<ClockError>,
    },
    /// Nothing fits, and two columns of a log look exchanged.
    #[error(transparent)]
    ColumnsExchanged(#[from] ColumnsExchanged),
    /// The log after has ended when the log before begins.
    #[error(
        "the log after the change ends on {after_ends}, and the log before it begins on \
         {before_begins}: they look exchanged"
    )]
    LogsExchanged {
        /// Last day of the log after.
        after_ends: jiff::civil::Date,
        /// First day of the log before.
        before_begins: jiff::civil::Date,
    },
    /// The logs have no column in common.
    #[error("the logs before and after have no thermometer in common")]
    NothingInCommon,
}

/// A drop with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// Likeliest.
    pub value: f64,
    /// Limits between which nine in ten lie.
    pub interval: [f64; 2],
}

/// Why a drop is not told more closely: standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Doubt {
    /// From how far the fitted house was off from day to day, K.
    pub days_k: f64,
    /// On how many degrees of freedom that rests.
    pub freedom: f64,
    /// From what is left of doubt about the house, K.
    pub house_k: f64,
    /// From the weather after being other than that before, K.
    pub weather_k: f64,
}

impl Told {
    /// With a deviation that is known.
    fn new(value: f64, deviation: f64) -> Self {
        let reach = NINE_IN_TEN * deviation;
        Self {
            value,
            interval: [value - reach, value + reach],
        }
    }

    /// With a deviation of which one part was found from few days: only that part makes the limits
    /// wider than those of the normal law, by as much of the whole as it is (Welch 1947,
    /// Satterthwaite 1946).
    fn of(value: f64, doubt: &Doubt) -> Self {
        let days = doubt.days_k.powi(2);
        let whole = days + doubt.house_k.powi(2) + doubt.weather_k.powi(2);
        let freedom = doubt.freedom * (whole / days.max(f64::MIN_POSITIVE)).powi(2);
        let reach = student(freedom) * whole.sqrt();
        Self {
            value,
            interval: [value - reach, value + reach],
        }
    }

    /// Whether the interval leaves out that nothing changed.
    pub fn is_sure(&self) -> bool {
        self.interval[0] > 0.0 || self.interval[1] < 0.0
    }
}

/// What happened at one thermometer, K; positive is lower after the change.
#[derive(Debug, Clone, PartialEq)]
pub struct Drop {
    /// Column.
    pub column: String,
    /// Of the daily highs.
    pub highs: Told,
    /// Of the mean.
    pub mean: Told,
    /// What the limits of the highs are made of.
    pub doubt: Doubt,
    /// Whether the drop has another course through the day than the change makes, if it is
    /// described.
    pub shape: Option<Shape>,
    /// What the house with the change should have made of either, if it is described.
    pub expected: Option<[Told; 2]>,
    /// Of the high of each day.
    pub days: ByDay,
    /// The readings after the change beside what would have been read without it.
    pub without: Without,
}

/// A drop whose course through the day is not that of the change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Hours of the day in which they are furthest apart, local standard time.
    pub hours: [i64; 2],
    /// The drop in these hours, K.
    pub measured_k: f64,
    /// What the change makes of it there, in proportion to the whole drop, K.
    pub expected_k: f64,
}

/// What a change did.
#[derive(Debug, Clone, PartialEq)]
pub struct Verified {
    /// By thermometer.
    pub drops: Vec<Drop>,
    /// Heat through the ceiling that it keeps out, kWh a day, if the change is described.
    pub ceiling_kwh_day: Option<Told>,
    /// What was expected of it, by the design alone, kWh a day.
    pub ceiling_expected_kwh_day: Option<Told>,
    /// Share of the expected drop of the mean that was measured, by which the heat is set in
    /// proportion.
    pub measured_share: Option<f64>,
    /// Whole days before and after.
    pub days: [usize; 2],
    /// Mean outdoor temperature after less that before, K.
    pub warmer_k: f64,
    /// Whether the rooms' own temperature was logged and drove the rooms: if not, other habits of
    /// opening windows pass for the change.
    pub rooms_logged: bool,
    /// Logs, of those before and after, whose clock looks off.
    pub clocks: Vec<ClockError>,
    /// Thermometers in rooms that tell of other habits after the change.
    pub rooms_otherwise: Vec<RoomsOtherwise>,
    /// What else could make such a drop.
    pub mimics: Vec<Mimic>,
    /// The fit of the house as it was.
    pub fit: Calibration,
}

/// Works out what a change did; `progress` is called after each run.
///
/// # Errors
/// [`VerifyError`] if it cannot be told.
pub fn verify(change: &Change, progress: &(dyn Fn() + Sync)) -> Result<Verified, VerifyError> {
    carried(change)?;
    let fit = calibrate(&change.before, progress)?;
    verify_fitted(change, fit, progress)
}

/// The same where the house as it was is fitted already.
///
/// # Errors
/// [`VerifyError`] if it cannot be told.
pub fn verify_fitted(
    change: &Change,
    fit: Calibration,
    progress: &(dyn Fn() + Sync),
) -> Result<Verified, VerifyError> {
    carried(change)?;
    refuse_exchanged(&change.before, &fit, None)?;
    let clocks = clocks(change, &fit, progress)?;
    if let Some(clock) = clocks.iter().find(|clock| clock.is_far()) {
        return Err(exchanged(change).unwrap_or_else(|| VerifyError::ClockOff {
            clock: Box::new(clock.clone()),
        }));
    }
    let priors = &change.before.priors;
    let sets: Vec<Vec<f64>> = std::iter::once(fit.values.clone())
        .chain(
            (0..change.draws)
                .map(|row| fit.drawn(priors, &normal([row, change.draws], priors.len(), SEED))),
        )
        .collect();
    let was = Side::run(&change.before, &sets, whole(&change.before), progress)?;
    let is = Side::run(&change.after, &sets, change.after.fit, progress)?;
    let changed = change
        .changed
        .as_ref()
        .map(|task| {
            let sets = beside(&change.before, task, &sets);
            Side::run(task, &sets, task.fit, progress)
        })
        .transpose()?;
    if let Some(changed) = &changed {
        unexchanged(change, changed)?;
    }
    let warmer_k = is.outdoor_k - was.outdoor_k;
    if warmer_k.abs() > WEATHER_APART_K[1] {
        let apart = VerifyError::WeatherApart { apart_k: warmer_k };
        return Err(exchanged(change).unwrap_or(apart));
    }
    let extra_k = DOUBT_PER_K * (warmer_k.abs() - WEATHER_APART_K[0]).max(0.0);
    let mut drops = Vec::new();
    for before in &was.columns {
        let Some(at) = is.columns.iter().position(|one| one.name == before.name) else {
            continue;
        };
        let after = &is.columns[at];
        let expected = changed.as_ref().map(|changed| &changed.columns[at]);
        let is_in_rooms = is_of_rooms(&change.after, &before.name);
        let drop = drop_at(before, after, expected, (extra_k, is_in_rooms));
        drops.push(drop.map_err(|error| blamed(error, change, &clocks))?);
    }
    let (rooms_k, mimics) = mimics(change, &fit, [&was, &is], progress)?;
    let rooms_otherwise = rooms_otherwise(change, &is, &was, changed.as_ref(), &rooms_k);
    let measured_share = measured_share(&drops);
    let kept = changed.as_ref().map(|changed| kept_kwh_day(&is, changed));
    let ceiling = |kept: &Vec<f64>| ceiling(kept, &drops, measured_share);
    let expected = |kept: &Vec<f64>| Told::new(kept[0], variance(kept).sqrt());
    Ok(Verified {
        ceiling_kwh_day: kept.as_ref().map(ceiling),
        ceiling_expected_kwh_day: kept.as_ref().map(expected),
        drops,
        measured_share,
        days: [&was, &is].map(|side| side.columns.first().map_or(0, |one| one.days.len())),
        warmer_k,
        rooms_logged: change.rooms_are_logged(),
        clocks,
        rooms_otherwise,
        mimics,
        fit,
    })
}

/// The clocks of both logs, as far as they look off.
fn clocks(
    change: &Change,
    fit: &Calibration,
    progress: &(dyn Fn() + Sync),
) -> Result<Vec<ClockError>, CalibrationError> {
    let before = clock_error(&change.before, fit, true, change.file, progress)?;
    let after = match &change.changed {
        Some(changed) => {
            let own = beside(&change.before, changed, std::slice::from_ref(&fit.values));
            let fit = Calibration {
                values: own.into_iter().flatten().collect(),
                ..fit.clone()
            };
            clock_error(changed, &fit, false, change.file, progress)?
        }
        None => clock_error(&change.after, fit, false, change.file, progress)?,
    };
    Ok(before.into_iter().chain(after).collect())
}

/// A poor fit with the columns or the clock that explain it.
fn blamed(error: VerifyError, change: &Change, clocks: &[ClockError]) -> VerifyError {
    match error {
        VerifyError::PoorFit { .. } => exchanged(change).unwrap_or_else(|| {
            clocks.first().map_or(error, |clock| VerifyError::ClockOff {
                clock: Box::new(clock.clone()),
            })
        }),
        error => error,
    }
}

/// Refuses a log after whose columns look exchanged where the house with the change that is described
/// is nowhere near it. Of a change that is not described nothing is known: an attic that was sealed
/// swings less than outdoors too.
fn unexchanged(change: &Change, as_it_is: &Side) -> Result<(), ColumnsExchanged> {
    let is_far = as_it_is
        .columns
        .iter()
        .any(|one| one.rmse_k() > WORST_FIT_K);
    match ColumnsExchanged::of(change.after.readings) {
        Some(exchanged) if is_far => Err(exchanged),
        _ => Ok(()),
    }
}

/// Columns of either log that look exchanged, to explain what does not fit.
fn exchanged(change: &Change) -> Option<VerifyError> {
    let tasks = [&change.before, &change.after].into_iter();
    let mut found = tasks.filter_map(|task| ColumnsExchanged::of(task.readings));
    found.next().map(VerifyError::ColumnsExchanged)
}

/// Whether the logs have a thermometer in common and days enough, before anything is fitted.
fn carried(change: &Change) -> Result<(), VerifyError> {
    let (after_ends, before_begins) = (change.after.fit[1], change.before.fit[0]);
    if after_ends <= before_begins {
        return Err(VerifyError::LogsExchanged {
            after_ends: after_ends.date(),
            before_begins: before_begins.date(),
        });
    }
    let logged = |task: &Task, period| -> Result<Vec<(String, usize)>, CalibrationError> {
        let all = Model::new(task, &|| {})?.logged(period);
        let days = all
            .into_iter()
            .map(|(name, times_s, values)| (name, by_day(&times_s, &values).len()));
        Ok(days.collect())
    };
    let was = logged(&change.before, whole(&change.before))?;
    let is = logged(&change.after, change.after.fit)?;
    let mut common = was.iter().filter_map(|(name, before)| {
        let after = is.iter().find(|(other, _)| other == name)?.1;
        Some([*before, after])
    });
    let Some(first) = common.next() else {
        return Err(VerifyError::NothingInCommon);
    };
    for [before, after] in std::iter::once(first).chain(common) {
        if before < LEAST_DAYS || after < LEAST_DAYS {
            return Err(VerifyError::TooFewDays { before, after });
        }
    }
    Ok(())
}

/// The sets of values without those of keys that the change has replaced.
fn beside(before: &Task, changed: &Task, sets: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let is_replaced: Vec<bool> = before
        .priors
        .iter()
        .map(|prior| match &prior.target {
            Target::Key { key, .. } => !before.file.agrees_on(changed.file, key),
            _ => false,
        })
        .collect();
    let own = |values: &Vec<f64>| {
        let all = values.iter().zip(&before.priors).zip(&is_replaced);
        all.map(|((value, prior), replaced)| if *replaced { prior.value } else { *value })
            .collect()
    };
    sets.iter().map(own).collect()
}

/// Fitted days and those kept out, on end.
fn whole(task: &Task) -> [DateTime; 2] {
    match task.kept_out {
        Some(kept) => [task.fit[0].min(kept[0]), task.fit[1].max(kept[1])],
        None => task.fit,
    }
}

/// What was measured of the expected drop of the mean, over all thermometers.
fn measured_share(drops: &[Drop]) -> Option<f64> {
    let (mut measured, mut expected) = (0.0, 0.0);
    for drop in drops {
        measured += drop.mean.value;
        expected += drop.expected?[MEAN].value;
    }
    let count = drops.len() as f64;
    (expected / count > LEAST_EXPECTED_K).then(|| (measured / expected).clamp(0.0, 2.0))
}

/// Heat through the ceiling that a change keeps out in each run, kWh a day.
fn kept_kwh_day(is: &Side, changed: &Side) -> Vec<f64> {
    let pairs = is.ceiling_kwh_day.iter().zip(&changed.ceiling_kwh_day);
    pairs.map(|(a, b)| a - b).collect()
}

/// The same in proportion to what was measured.
fn ceiling(kept: &[f64], drops: &[Drop], share: Option<f64>) -> Told {
    let share = share.unwrap_or(1.0);
    // The measured drop's own doubt carries over in proportion.
    let doubts = drops.iter().filter_map(|drop| {
        let expected = drop.expected?[MEAN].value;
        let half = 0.5 * (drop.mean.interval[1] - drop.mean.interval[0]) / NINE_IN_TEN;
        (expected > LEAST_EXPECTED_K).then_some(half / expected)
    });
    let relative = doubts.fold(0.0, f64::max);
    let spread = variance(kept) * share * share + (kept[0] * relative).powi(2);
    Told::new(kept[0] * share, spread.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_few_days_told_is_widened_for_it() {
        let doubt = |days_k: f64, house_k: f64| Doubt {
            days_k,
            freedom: 3.0,
            house_k,
            weather_k: 0.0,
        };
        let reach = |doubt: &Doubt| Told::of(0.0, doubt).interval[1];
        assert!((reach(&doubt(1.0, 0.0)) - student(3.0)).abs() < 1e-12);
        assert!((reach(&doubt(1e-6, 1.0)) - NINE_IN_TEN).abs() < 1e-6);
        assert!(reach(&doubt(0.5, 0.5)) < student(3.0) * 0.5_f64.sqrt());
    }
}
