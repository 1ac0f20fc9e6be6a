//! The drop at a thermometer, and how sure it is.

use super::super::calibrate::WORST_FIT_K;
use super::days::{Column, Day, FIRST_PART, HIGH, MEAN, NIGHT, PART_H, PARTS, mean};
use super::without::{day_by_day, without};
use super::{Doubt, Drop, Shape, Told, VerifyError};

/// Shift of the small hours from which a logger is taken as moved, K, and its share of the drop by
/// day.
const MOVED_K: f64 = 1.5;
const MOVED_SHARE: f64 = 0.6;
/// Least correlation from day to day that is taken: a handful of days does not tell it. Errors of
/// the daily highs on 56 days kept out of a fit hung together by 0.12 and 0.14 in two measured attics
/// (`tests/suite/real_logs.rs` prints it).
const LEAST_MEMORY: f64 = 0.15;
/// Least spread of daily errors, K: a logger's step and its own drift.
const LEAST_SPREAD_K: f64 = 0.2;
/// How far a part of the day must be from the course that the change makes, K, as a share of the
/// largest drop of any part, and in its own deviations, to be told.
const SHAPE_K: f64 = 1.0;
const SHAPE_SHARE: f64 = 0.25;
const SHAPE_DEVIATIONS: f64 = 3.0;
/// Part of a drop that may be left between its course and another for both to be alike.
const ALIKE_SHARE: f64 = 0.2;

/// Variance of values about their mean.
pub(super) fn variance(values: &[f64]) -> f64 {
    let middle = mean(values.iter().copied());
    let squares = values.iter().map(|value| (value - middle).powi(2));
    squares.sum::<f64>() / (values.len() as f64 - 1.0).max(1.0)
}

/// Daily errors that hang together from day to day.
pub(super) struct Errors {
    /// Their variance, K².
    pub(super) variance: f64,
    /// Independent days with the same information of their mean.
    pub(super) independent: f64,
    /// Degrees of freedom of the variance.
    pub(super) freedom: f64,
}

impl Errors {
    /// Of a first-order process: of `n` days with correlation `r` from one to the next, the mean is
    /// worth `n (1 − r)/(1 + r)` and the variance `(n − 1) (1 − r²)/(1 + r²)` degrees of freedom
    /// (Bartlett 1946).
    pub(super) fn of(errors: &[f64]) -> Self {
        let n = errors.len() as f64;
        let middle = mean(errors.iter().copied());
        let whole = variance(errors) * (n - 1.0);
        let next = errors.windows(2).map(|e| (e[0] - middle) * (e[1] - middle));
        let memory = if whole > 0.0 {
            (next.sum::<f64>() / whole).clamp(LEAST_MEMORY, 0.9)
        } else {
            LEAST_MEMORY
        };
        let square = memory * memory;
        Self {
            variance: variance(errors).max(LEAST_SPREAD_K * LEAST_SPREAD_K),
            independent: (n * (1.0 - memory) / (1.0 + memory)).max(1.0),
            freedom: ((n - 1.0) * (1.0 - square) / (1.0 + square)).max(1.0),
        }
    }
}

/// The drop of one measure of the day, K, and its doubt; what `extra_k` says of the weather is in it.
fn drop_of(before: &Column, after: &Column, which: usize, extra_k: f64) -> (f64, Doubt, Errors) {
    let errors: Vec<f64> = before.days.iter().map(|day| day[which]).collect();
    let value = mean(after.days.iter().map(|day| day[which])) - mean(errors.iter().copied());
    // Daily errors are those of the house as it was: the change itself is in those after.
    let errors = Errors::of(&errors);
    let own = errors.independent;
    let after_days = (own * after.days.len() as f64 / before.days.len() as f64).max(1.0);
    // A house drawn is off before as well as after: only what it makes of the difference counts.
    let pairs = after.runs.iter().zip(&before.runs);
    let moved: Vec<f64> = pairs.map(|(a, b)| a[which] - b[which]).collect();
    let doubt = Doubt {
        days_k: (errors.variance * (1.0 / own + 1.0 / after_days)).sqrt(),
        freedom: errors.freedom,
        house_k: variance(&moved).sqrt(),
        weather_k: extra_k,
    };
    (value, doubt, errors)
}

/// The drop at one thermometer. In rooms other small hours are habits and no moved logger.
pub(super) fn drop_at(
    before: &Column,
    after: &Column,
    changed: Option<&Column>,
    (extra_k, is_in_rooms): (f64, bool),
) -> Result<Drop, VerifyError> {
    let all = [HIGH, MEAN, NIGHT].map(|which| {
        let (value, doubt, errors) = drop_of(before, after, which, extra_k);
        (Told::of(value, &doubt), doubt, errors.variance.sqrt())
    });
    let [(highs, doubt, spread_k), (means, ..), (night, ..)] = all;
    if spread_k > WORST_FIT_K {
        return Err(VerifyError::PoorFit {
            column: before.name.clone(),
            spread_k,
        });
    }
    let expected = changed.map(|changed| {
        [HIGH, MEAN, NIGHT].map(|which| {
            let pairs = after.runs.iter().zip(&changed.runs);
            let drops: Vec<f64> = pairs.map(|(a, b)| a[which] - b[which]).collect();
            Told::new(drops[0], variance(&drops).sqrt())
        })
    });
    let expected_night_k = expected.map_or(0.0, |expected| expected[NIGHT].value);
    let shift_k = night.value - expected_night_k;
    let is_beyond = shift_k.abs() > MOVED_K.max(night.interval[1] - night.value);
    if !is_in_rooms && is_beyond && shift_k.abs() > MOVED_SHARE * highs.value.abs() {
        return Err(VerifyError::LoggerMoved {
            column: before.name.clone(),
            night_k: -shift_k,
            day_k: -highs.value,
        });
    }
    Ok(Drop {
        column: before.name.clone(),
        highs,
        mean: means,
        doubt,
        shape: changed.and_then(|changed| shape(before, after, changed)),
        expected: expected.map(|[highs, means, _]| [highs, means]),
        days: day_by_day(before, after, extra_k),
        without: without(before, after, extra_k),
    })
}

/// How much lower the small hours are than the change makes them.
pub(super) fn night_beyond(before: &Column, after: &Column, changed: &Column) -> Told {
    let (value, doubt, _) = drop_of(before, after, NIGHT, 0.0);
    let expected_k = made_by(after, changed).map_or(0.0, |drop_k| drop_k[NIGHT]);
    Told::of(value - expected_k, &doubt)
}

/// The course of a drop through the day beside one that something would give it.
pub(super) struct Course {
    /// What the drop is of the other, over all.
    pub(super) size: f64,
    /// Each part: measured, of the other in proportion, and the doubt of their difference, K.
    parts: Vec<[f64; 3]>,
}

impl Course {
    /// Of a drop beside `other`, the drop of each measure of a day.
    pub(super) fn of(before: &Column, after: &Column, other: &Day) -> Self {
        let mut parts: Vec<[f64; 3]> = (FIRST_PART..FIRST_PART + PARTS)
            .map(|which| {
                let (measured_k, doubt, _) = drop_of(before, after, which, 0.0);
                let deviation_k =
                    (doubt.days_k * doubt.days_k + doubt.house_k * doubt.house_k).sqrt();
                [measured_k, other[which], deviation_k]
            })
            .collect();
        let sum = |of: &dyn Fn(&[f64; 3]) -> f64| parts.iter().map(of).sum::<f64>();
        let whole = sum(&|[_, e, k]| e * e / (k * k));
        let size = sum(&|[m, e, k]| m * e / (k * k)) / whole.max(f64::MIN_POSITIVE);
        for part in &mut parts {
            part[1] *= size;
        }
        Self { size, parts }
    }

    /// The part that is furthest off, if one is clearly.
    fn off(&self) -> Option<Shape> {
        let most_k = self.parts.iter().map(|[m, ..]| m.abs()).fold(0.0, f64::max);
        let least_k = SHAPE_K.max(SHAPE_SHARE * most_k);
        let off = |[measured_k, other_k, _]: &[f64; 3]| (measured_k - other_k).abs();
        (0..)
            .zip(&self.parts)
            .filter(|(_, part)| off(part) > least_k.max(SHAPE_DEVIATIONS * part[2]))
            .max_by(|(_, a), (_, b)| off(a).total_cmp(&off(b)))
            .map(|(at, [measured_k, expected_k, _])| Shape {
                hours: [at * PART_H, (at + 1) * PART_H],
                measured_k: *measured_k,
                expected_k: *expected_k,
            })
    }

    /// Whether both take the same course, as far as can be told.
    pub(super) fn is_alike(&self) -> bool {
        let square = |of: &dyn Fn(&[f64; 3]) -> f64| -> f64 {
            self.parts.iter().map(|part| of(part).powi(2)).sum()
        };
        let apart = square(&|[m, e, _]| m - e);
        let doubt = square(&|[.., k]| *k);
        apart < doubt.max(ALIKE_SHARE * ALIKE_SHARE * square(&|[m, ..]| *m))
    }
}

/// The drop of each measure of a day that the change makes.
fn made_by(after: &Column, changed: &Column) -> Option<Day> {
    let (without, with) = (after.runs.first()?, changed.runs.first()?);
    Some(std::array::from_fn(|at| without[at] - with[at]))
}

/// Whether the drop takes another course through the day than the change makes of any size.
fn shape(before: &Column, after: &Column, changed: &Column) -> Option<Shape> {
    Course::of(before, after, &made_by(after, changed)?).off()
}
