//! Whether a log's clock was set otherwise than its description says: left on daylight saving, or on
//! another zone.
//!
//! The sun keeps its own time. A house whose log is late or early by an hour can be fitted only so
//! far; the same log on the right clock is met better. First the fitted house and its derivatives
//! tell, without another search, how far each other clock would come; what looks better is fitted
//! in earnest. Nothing is corrected here: it is for the owner to say what the clock was.

use nalgebra::{DMatrix, DVector};

use crate::elementary::ln;
use crate::readings::{Clock, Readings, Role, outdoor_weather};
use crate::run::Outcome;
use crate::weather::Weather;

use super::compare::{Compared, Measure};
use super::fit::calibrate;
use super::found::Calibration;
use super::model::{CalibrationError, Model, Task};
use super::unknowns::Prior;
use super::weights::off;

/// Hours that a clock may be off, to either side.
const MOST_H: i64 = 12;
/// Part of the mean square that another clock must leave at most, by the derivatives, to be fitted.
const LOOKS_BETTER: f64 = 0.95;
/// Odds at which a wrong clock is told, and what they are before any reading: one log in ten. Twice
/// the logarithm of their ratio is what the sum of squares must fall by, in deviations of
/// independent readings.
const SURE: f64 = 20.0;
const BEFORE: f64 = 0.1;
/// Part of the mean square that the fit on another clock must leave at most to be told. Judgement: a
/// house whose heat comes a little late is met somewhat better on a wrong clock too, by a tenth in a
/// measured attic; an hour's error leaves far less.
const MUCH_BETTER: f64 = 0.8;
/// What a deviation on a prior's scale is stepped by for derivatives.
const STEP: f64 = 0.4;
const HOUR_S: i64 = 3600;

/// A clock that was likely set otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockError {
    /// Name of the log.
    pub log: String,
    /// The clock by which its stamps were read; none where they tell their own.
    pub read_by: Option<Clock>,
    /// Hours by which the stamps, read so, are ahead of the true time.
    pub ahead_h: i64,
    /// Root of the mean square between worked-out and logged temperatures as the log is read, K.
    pub rmse_k: f64,
    /// The same once the house is fitted to the log on the other clock.
    pub rmse_otherwise_k: f64,
}

impl ClockError {
    /// Whether it is off by more than daylight saving is, so that nothing can be told.
    pub fn is_far(&self) -> bool {
        self.ahead_h.abs() > 1
    }
}

/// Looks whether a log is met far better on another clock: the one that was fitted, or another log
/// of the same house. `file` is the weather file that stands beside what the log has of outdoors;
/// `progress` is called after each run.
///
/// # Errors
/// [`CalibrationError`] if the fitted house cannot be run through the log's days.
pub fn clock_error(
    task: &Task,
    fit: &Calibration,
    is_fitted: bool,
    file: Option<&Weather>,
    progress: &(dyn Fn() + Sync),
) -> Result<Option<ClockError>, CalibrationError> {
    let screen = Screen::new(task, fit, file, progress)?;
    let Some(ahead_h) = screen.better() else {
        return Ok(None);
    };
    let Some((readings, weather)) = otherwise(task, file, ahead_h) else {
        return Ok(None);
    };
    let other = Task {
        readings: &readings,
        weather: weather.as_ref().unwrap_or(task.weather),
        kept_out: None,
        starts: 1,
        ..task.clone()
    };
    let again;
    let own = if is_fitted {
        fit
    } else {
        let task = Task {
            kept_out: None,
            starts: 1,
            ..task.clone()
        };
        // To what cannot be fitted as it is, nothing is compared.
        let Ok(found) = calibrate(&task, progress) else {
            return Ok(None);
        };
        again = found;
        &again
    };
    // A clock on which nothing can be fitted is not the right one.
    let Ok(found) = calibrate(&other, progress) else {
        return Ok(None);
    };
    let [rmse_k, rmse_otherwise_k] = [own, &found].map(|fit| root_mean_square(&fit.fitted));
    let is_told = fall(own, &found) > 2.0 * ln(SURE / BEFORE)
        && rmse_otherwise_k.powi(2) < MUCH_BETTER * rmse_k.powi(2);
    Ok(is_told.then(|| ClockError {
        log: task.readings.source.clone(),
        read_by: task.readings.clock.clone(),
        ahead_h,
        rmse_k,
        rmse_otherwise_k,
    }))
}

/// How much more likely readings and unknowns are in one fit than in another: twice the logarithm, with
/// the weights of the fit that is left.
fn fall(from: &Calibration, to: &Calibration) -> f64 {
    let score = |fit: &Calibration| {
        let readings: f64 = fit
            .fitted
            .iter()
            .filter_map(|one| {
                let weight = from.weights.iter().find(|weight| weight.name == one.name)?;
                let weighed = weight
                    .beside(&one.times_s)
                    .whitened(&off(std::slice::from_ref(one)));
                Some(weighed.iter().map(|off| off * off).sum::<f64>())
            })
            .sum();
        readings
            + fit
                .findings
                .iter()
                .map(|one| one.pull * one.pull)
                .sum::<f64>()
    };
    score(from) - score(to)
}

/// The log as it is on another clock, and its weather where the log tells of outdoors.
fn otherwise(
    task: &Task,
    file: Option<&Weather>,
    ahead_h: i64,
) -> Option<(Readings, Option<Weather>)> {
    let readings = task.readings.clone().later(-ahead_h * HOUR_S);
    let outdoors = |role: &Role| matches!(role, Role::Outdoors(_));
    if !readings.series.iter().any(|one| outdoors(&one.role)) {
        return Some((readings, None));
    }
    let weather = outdoor_weather(&readings, file, task.weather.place()).ok()?;
    Some((readings, Some(weather)))
}

/// The fitted house beside other clocks.
struct Screen<'a, 'b> {
    task: &'b Task<'a>,
    fit: &'b Calibration,
    file: Option<&'b Weather>,
    progress: &'b (dyn Fn() + Sync),
    /// Places of what was fitted among the priors.
    free: Vec<usize>,
    /// Runs with each of them stepped, and how far on its scale.
    stepped: Vec<(Outcome, f64)>,
    now: Outcome,
}

impl<'a, 'b> Screen<'a, 'b> {
    fn new(
        task: &'b Task<'a>,
        fit: &'b Calibration,
        file: Option<&'b Weather>,
        progress: &'b (dyn Fn() + Sync),
    ) -> Result<Self, CalibrationError> {
        let model = Model::new(task, progress)?;
        let now = model.run(&fit.values, task.fit)?;
        let is_fitted = |prior: &Prior| {
            fit.findings
                .iter()
                .any(|one| one.prior.name() == prior.name())
        };
        let wanted: Vec<usize> = (0..task.priors.len())
            .filter(|at| is_fitted(&task.priors[*at]))
            .collect();
        let (sets, steps): (Vec<Vec<f64>>, Vec<f64>) = wanted
            .iter()
            .map(|&at| {
                let prior = &task.priors[at];
                let z = prior.z(fit.values[at]);
                let step = STEP * prior.deviation();
                let is_room = z + step <= prior.z(prior.bounds[1]);
                let step = if is_room { step } else { -step };
                let mut values = fit.values.clone();
                values[at] = prior.x(z + step);
                (values, step)
            })
            .unzip();
        let outcomes = model.run_each(&sets, task.fit, |outcome| outcome)?;
        let (free, stepped) = wanted
            .into_iter()
            .zip(outcomes.into_iter().zip(steps))
            .filter_map(|(at, (outcome, step))| Some((at, (outcome.ok()?, step))))
            .unzip();
        Ok(Self {
            task,
            fit,
            file,
            progress,
            free,
            stepped,
            now,
        })
    }

    /// The clock that looks far better than that of the log: from an hour off further on as long as
    /// it gets better.
    fn better(&self) -> Option<i64> {
        let own = self.left(0)?;
        let [back, ahead] = [-1, 1].map(|side| self.left(side).unwrap_or(f64::INFINITY));
        let side: i64 = if ahead < back { 1 } else { -1 };
        let (mut best_h, mut best) = (side, back.min(ahead));
        while best_h.abs() < MOST_H {
            match self.left(best_h + side) {
                Some(next) if next < best => (best_h, best) = (best_h + side, next),
                _ => break,
            }
        }
        (best < LOOKS_BETTER * own).then_some(best_h)
    }

    /// What a fit on a clock would leave a reading, by straight lines: mean of the squares of
    /// readings and priors, in deviations.
    fn left(&self, ahead_h: i64) -> Option<f64> {
        let (readings, weather) = otherwise(self.task, self.file, ahead_h)?;
        let task = Task {
            readings: &readings,
            weather: weather.as_ref().unwrap_or(self.task.weather),
            ..self.task.clone()
        };
        let model = Model::new(&task, self.progress).ok()?;
        let own;
        let now = if weather.is_some() && ahead_h != 0 {
            own = model.run(&self.fit.values, task.fit).ok()?;
            &own
        } else {
            &self.now
        };
        let worked_out = |outcome: &Outcome| -> DVector<f64> {
            let all = model.compared(outcome, task.fit);
            DVector::from_vec(self.weighed(&all, |one| one.worked_out.clone()))
        };
        let compared = model.compared(now, task.fit);
        let off = self.weighed(&compared, |one| {
            let pairs = one.worked_out.iter().zip(&one.logged);
            pairs.map(|(a, b)| a - b).collect()
        });
        let base = worked_out(&self.now);
        let deviation = |at: usize| self.task.priors[at].deviation();
        let columns: Vec<DVector<f64>> = self
            .free
            .iter()
            .zip(&self.stepped)
            .map(|(at, (outcome, step))| (worked_out(outcome) - &base) * (deviation(*at) / step))
            .collect();
        let count = off.len();
        let off = DVector::from_vec(off);
        let pulls = self.free.iter().map(|at| {
            let prior = &self.task.priors[*at];
            (prior.z(self.fit.values[*at]) - prior.z(prior.value)) / prior.deviation()
        });
        let pulls = DVector::from_iterator(self.free.len(), pulls);
        if count == 0 {
            return None;
        }
        if columns.is_empty() {
            return Some(off.norm_squared() / count as f64);
        }
        let jacobian = DMatrix::from_columns(&columns);
        let normal =
            jacobian.tr_mul(&jacobian) + DMatrix::identity(self.free.len(), self.free.len());
        let step = -normal.cholesky()?.solve(&(jacobian.tr_mul(&off) + &pulls));
        let whole = (off + jacobian.transpose().tr_mul(&step)).norm_squared()
            + (pulls + step).norm_squared();
        Some(whole / count as f64)
    }

    /// Numbers of all columns in deviations of their readings that are independent of one another.
    fn weighed(&self, compared: &[Compared], of: impl Fn(&Compared) -> Vec<f64>) -> Vec<f64> {
        let mut all = Vec::new();
        for one in compared {
            let mut weights = self.fit.weights.iter();
            match weights.find(|weight| weight.name == one.name) {
                Some(weight) => all.extend(weight.beside(&one.times_s).whitened(&of(one))),
                None => all.extend(of(one)),
            }
        }
        all
    }
}

/// Mean square between worked-out and logged temperatures, K².
fn mean_square(one: &Compared) -> Option<f64> {
    let is_told = one.measure == Measure::Temperature && !one.logged.is_empty();
    is_told.then(|| one.quality().rmse.powi(2))
}

fn root_mean_square(all: &[Compared]) -> f64 {
    let squares: Vec<f64> = all.iter().filter_map(mean_square).collect();
    (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt()
}
