//! What a finished change did, from a log before it and one after it.
//!
//! The house as it was is fitted to the log before. In the weather after the change it is run once
//! more: what its thermometers would read then, without the change, less what they did read is what
//! the change did, at equal weather. What is left of doubt about the house, and how far the fitted
//! house was off from day to day, make the interval.

use jiff::civil::DateTime;

use crate::elementary::{cos, ln};
use crate::run::Outcome;

use super::calibrate::{
    Calibration, CalibrationError, Compared, Measure, Model, Target, Task, calibrate,
};
use super::sweep::latin_hypercube;

/// Whole days that each log must have.
pub const LEAST_DAYS: usize = 3;
/// Spread of the daily errors of the fitted house above which nothing is to be told, K.
pub const WORST_FIT_K: f64 = 2.5;
/// Difference of the days' mean outdoor temperature before and after up to which the weather is
/// taken as alike, K, and above which nothing is to be told.
pub const WEATHER_APART_K: [f64; 2] = [3.0, 10.0];
/// What each kelvin of it beyond that adds to the doubt, K (a judgement).
const DOUBT_PER_K: f64 = 0.1;
/// Shift of the small hours from which a logger is taken as moved, K, and its share of the drop by
/// day.
const MOVED_K: f64 = 1.5;
const MOVED_SHARE: f64 = 0.6;
/// Hours of the night in which hardly any measure acts, standard time.
const SMALL_HOURS: [i64; 2] = [2, 5];
/// Readings that a day must have.
const LEAST_A_DAY: usize = 18;
/// Least correlation from day to day that is taken.
const LEAST_MEMORY: f64 = 0.3;
/// Least spread of daily errors, K: a logger's step and its own drift.
const LEAST_SPREAD_K: f64 = 0.2;
/// Houses that are usually drawn from what is left of doubt.
pub const DRAWS: u64 = 32;
/// Seed of the draws: the same for all, so that results repeat.
const SEED: u64 = 1;
/// Half of nine in ten, in standard deviations.
const NINE_IN_TEN: f64 = 1.645;
/// Least expected drop by which what was measured is set in proportion, K.
const LEAST_EXPECTED_K: f64 = 0.5;
const DAY_S: i64 = 86_400;
const KWH_J: f64 = 3.6e6;

/// The same house before and after a change.
#[derive(Debug, Clone)]
pub struct Change<'a> {
    /// The house as it was, with the log before; the days kept out serve to see how far it is off.
    pub before: Task<'a>,
    /// The house as it was, with the log after; the priors are those of `before`.
    pub after: Task<'a>,
    /// The house with the change, with the log after, if the house file describes it.
    pub changed: Option<Task<'a>>,
    /// Houses drawn from what is left of doubt, usually [`DRAWS`].
    pub draws: u64,
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
        "it was {apart_k:+.1} K outdoors after the change against before: too far apart to tell what \
         the change did"
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

impl Told {
    fn new(value: f64, deviation: f64, days: f64) -> Self {
        // Student's quantile for few days (first term of its expansion about the normal one).
        let z = NINE_IN_TEN;
        let reach = (z + (z * z * z + z) / (4.0 * days.max(1.0))) * deviation;
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
    /// What the house with the change should have made of either, if it is described.
    pub expected: Option<[Told; 2]>,
}

/// What a change did.
#[derive(Debug, Clone, PartialEq)]
pub struct Verified {
    /// By thermometer.
    pub drops: Vec<Drop>,
    /// Heat through the ceiling that it keeps out, kWh a day, if the change is described.
    pub ceiling_kwh_day: Option<Told>,
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
    let priors = &change.before.priors;
    let sets: Vec<Vec<f64>> = std::iter::once(fit.values.clone())
        .chain(
            (0..change.draws)
                .map(|row| fit.drawn(priors, &normal([row, change.draws], priors.len()))),
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
    let warmer_k = is.outdoor_k - was.outdoor_k;
    if warmer_k.abs() > WEATHER_APART_K[1] {
        return Err(VerifyError::WeatherApart { apart_k: warmer_k });
    }
    let extra_k = DOUBT_PER_K * (warmer_k.abs() - WEATHER_APART_K[0]).max(0.0);
    let mut drops = Vec::new();
    for before in &was.columns {
        let Some(at) = is.columns.iter().position(|one| one.name == before.name) else {
            continue;
        };
        let after = &is.columns[at];
        let expected = changed.as_ref().map(|changed| &changed.columns[at]);
        drops.push(drop_at(before, after, expected, extra_k)?);
    }
    let measured_share = measured_share(&drops);
    let ceiling_kwh_day = changed
        .as_ref()
        .map(|changed| ceiling(&is, changed, &drops, measured_share));
    Ok(Verified {
        drops,
        ceiling_kwh_day,
        measured_share,
        days: [&was, &is].map(|side| side.columns.first().map_or(0, |one| one.days.len())),
        warmer_k,
        rooms_logged: change.after.rooms_are_logged() && change.before.rooms_are_logged(),
        fit,
    })
}

/// Whether the logs have a thermometer in common and days enough, before anything is fitted.
fn carried(change: &Change) -> Result<(), VerifyError> {
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

/// Standard normal numbers of a draw (Box & Muller 1958), spread evenly over the draws.
fn normal([row, rows]: [u64; 2], count: usize) -> Vec<f64> {
    (0..count)
        .map(|at| {
            let share = |axis| latin_hypercube(row, rows, axis, SEED);
            let radius = (-2.0 * ln(share(2 * at).max(1e-12))).sqrt();
            radius * cos(std::f64::consts::TAU * share(2 * at + 1))
        })
        .collect()
}

/// Runs of one side of the change: the likeliest house first, then the drawn ones.
struct Side {
    columns: Vec<Column>,
    /// Mean outdoor temperature, K.
    outdoor_k: f64,
    /// Heat through the ceiling of each run, kWh a day.
    ceiling_kwh_day: Vec<f64>,
}

/// A thermometer on one side.
struct Column {
    name: String,
    /// Worked out less logged of each whole day with the likeliest house: highs, means and small
    /// hours, K.
    days: Vec<[f64; 3]>,
    /// What the worked-out days' mean high, mean and small hours are in each run, K.
    runs: Vec<[f64; 3]>,
}

impl Side {
    fn run(
        task: &Task,
        sets: &[Vec<f64>],
        period: [DateTime; 2],
        progress: &(dyn Fn() + Sync),
    ) -> Result<Self, CalibrationError> {
        let model = Model::new(task, progress)?;
        // A draw that makes no house is passed over; the likeliest one makes one.
        let (first, others) = sets.split_first().unzip();
        let first = first.map_or(&[][..], Vec::as_slice);
        let first = model.run(first, period)?;
        let others = others.unwrap_or_default();
        let mut outcomes = vec![first];
        let drawn = model.run_each(others, period, |outcome| outcome)?;
        outcomes.extend(drawn.into_iter().flatten());
        let compared: Vec<Vec<Compared>> = outcomes
            .iter()
            .map(|outcome| model.compared(outcome, period))
            .collect();
        let trace = &outcomes[0].trace;
        let outdoor_k = trace.outdoor_k.iter().sum::<f64>() / trace.outdoor_k.len().max(1) as f64;
        Ok(Self {
            columns: columns(&compared),
            outdoor_k,
            ceiling_kwh_day: outcomes.iter().map(ceiling_kwh_day).collect(),
        })
    }
}

fn columns(compared: &[Vec<Compared>]) -> Vec<Column> {
    let count = compared.first().map_or(0, Vec::len);
    (0..count)
        .filter(|at| compared[0][*at].measure == Measure::Temperature)
        .map(|at| {
            let one = &compared[0][at];
            let logged = by_day(&one.times_s, &one.logged);
            let worked = by_day(&one.times_s, &one.worked_out);
            let pairs = worked.iter().zip(&logged);
            let days = pairs.map(|(a, b)| std::array::from_fn(|which| a[which] - b[which]));
            let runs = compared.iter().map(|run| {
                let days = by_day(&run[at].times_s, &run[at].worked_out);
                std::array::from_fn(|which| mean(days.iter().map(|day| day[which])))
            });
            Column {
                name: one.name.clone(),
                days: days.collect(),
                runs: runs.collect(),
            }
        })
        .collect()
}

/// The high, the mean and the mean of the small hours of each day that has enough readings of all.
fn by_day(times_s: &[i64], values: &[f64]) -> Vec<[f64; 3]> {
    let mut days: std::collections::BTreeMap<i64, (f64, Vec<f64>, Vec<f64>)> =
        std::collections::BTreeMap::new();
    for (at_s, value) in times_s.iter().zip(values) {
        let none = || (f64::NEG_INFINITY, Vec::new(), Vec::new());
        let day = days.entry(at_s.div_euclid(DAY_S)).or_insert_with(none);
        day.0 = day.0.max(*value);
        day.1.push(*value);
        let hour = at_s.rem_euclid(DAY_S) / 3600;
        if (SMALL_HOURS[0]..SMALL_HOURS[1]).contains(&hour) {
            day.2.push(*value);
        }
    }
    let whole = |day: &&(f64, Vec<f64>, Vec<f64>)| day.1.len() >= LEAST_A_DAY && !day.2.is_empty();
    days.values()
        .filter(whole)
        .map(|(high, all, night)| {
            let of = |values: &[f64]| mean(values.iter().copied());
            [*high, of(all), of(night)]
        })
        .collect()
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for value in values {
        sum += value;
        count += 1.0;
    }
    sum / f64::max(count, 1.0)
}

/// Variance of values about their mean.
fn variance(values: &[f64]) -> f64 {
    let middle = mean(values.iter().copied());
    let squares = values.iter().map(|value| (value - middle).powi(2));
    squares.sum::<f64>() / (values.len() as f64 - 1.0).max(1.0)
}

/// Heat down through the ceiling, kWh a day.
fn ceiling_kwh_day(outcome: &Outcome) -> f64 {
    let trace = &outcome.trace;
    let span_s = trace.times_s.last().copied().unwrap_or(1.0).max(1.0);
    let pairs = trace
        .times_s
        .windows(2)
        .zip(trace.ceiling_gain_w.windows(2));
    let joules: f64 = pairs
        .map(|(t, w)| (t[1] - t[0]) * 0.5 * (w[0] + w[1]))
        .sum();
    joules / KWH_J / (span_s / DAY_S as f64)
}

/// Independent days among days whose errors hang together.
fn independent(errors: &[f64]) -> f64 {
    let n = errors.len() as f64;
    let middle = mean(errors.iter().copied());
    let whole = variance(errors) * (n - 1.0);
    let next = errors.windows(2).map(|e| (e[0] - middle) * (e[1] - middle));
    let memory = if whole > 0.0 {
        (next.sum::<f64>() / whole).clamp(LEAST_MEMORY, 0.9)
    } else {
        LEAST_MEMORY
    };
    (n * (1.0 - memory) / (1.0 + memory)).max(1.0)
}

/// The drop at one thermometer.
fn drop_at(
    before: &Column,
    after: &Column,
    changed: Option<&Column>,
    extra_k: f64,
) -> Result<Drop, VerifyError> {
    let [highs, means, nights] = [0, 1, 2].map(|which| {
        let errors: Vec<f64> = before.days.iter().map(|day| day[which]).collect();
        // Daily errors are those of the house as it was: the change itself is in those after.
        let spread = variance(&errors).max(LEAST_SPREAD_K * LEAST_SPREAD_K);
        let own = independent(&errors);
        let after_days = own * after.days.len() as f64 / before.days.len() as f64;
        let value = mean(after.days.iter().map(|day| day[which])) - mean(errors.iter().copied());
        // A house drawn is off before as well as after: only what it makes of the difference counts.
        let pairs = after.runs.iter().zip(&before.runs);
        let moved: Vec<f64> = pairs.map(|(a, b)| a[which] - b[which]).collect();
        let doubt = variance(&moved);
        let whole = spread * (1.0 / own + 1.0 / after_days.max(1.0)) + doubt + extra_k * extra_k;
        (Told::new(value, whole.sqrt(), own), spread)
    });
    if highs.1.sqrt() > WORST_FIT_K {
        return Err(VerifyError::PoorFit {
            column: before.name.clone(),
            spread_k: highs.1.sqrt(),
        });
    }
    let expected = changed.map(|changed| {
        [0, 1, 2].map(|which| {
            let pairs = after.runs.iter().zip(&changed.runs);
            let drops: Vec<f64> = pairs.map(|(a, b)| a[which] - b[which]).collect();
            Told::new(drops[0], variance(&drops).sqrt(), f64::INFINITY)
        })
    });
    let (day_k, night) = (highs.0.value, nights.0);
    let expected_night_k = expected.map_or(0.0, |expected| expected[2].value);
    let shift_k = night.value - expected_night_k;
    let is_beyond = shift_k.abs() > MOVED_K.max(night.interval[1] - night.value);
    if is_beyond && shift_k.abs() > MOVED_SHARE * day_k.abs() {
        return Err(VerifyError::LoggerMoved {
            column: before.name.clone(),
            night_k: -shift_k,
            day_k: -day_k,
        });
    }
    Ok(Drop {
        column: before.name.clone(),
        highs: highs.0,
        mean: means.0,
        expected: expected.map(|[highs, means, _]| [highs, means]),
    })
}

/// What was measured of the expected drop of the mean, over all thermometers.
fn measured_share(drops: &[Drop]) -> Option<f64> {
    let (mut measured, mut expected) = (0.0, 0.0);
    for drop in drops {
        measured += drop.mean.value;
        expected += drop.expected?[1].value;
    }
    let count = drops.len() as f64;
    (expected / count > LEAST_EXPECTED_K).then(|| (measured / expected).clamp(0.0, 2.0))
}

/// Heat through the ceiling that a change keeps out, in proportion to what was measured.
fn ceiling(is: &Side, changed: &Side, drops: &[Drop], share: Option<f64>) -> Told {
    let pairs = is.ceiling_kwh_day.iter().zip(&changed.ceiling_kwh_day);
    let kept: Vec<f64> = pairs.map(|(a, b)| a - b).collect();
    let share = share.unwrap_or(1.0);
    // The measured drop's own doubt carries over in proportion.
    let doubts = drops.iter().filter_map(|drop| {
        let expected = drop.expected?[1].value;
        let half = 0.5 * (drop.mean.interval[1] - drop.mean.interval[0]) / NINE_IN_TEN;
        (expected > LEAST_EXPECTED_K).then_some(half / expected)
    });
    let relative = doubts.fold(0.0, f64::max);
    let spread = variance(&kept) * share * share + (kept[0] * relative).powi(2);
    Told::new(kept[0] * share, spread.sqrt(), f64::INFINITY)
}
