//! The fit: screening, several starts, weights from the residuals, and what the readings tell.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::study::least_squares::{Minimum, Search, Slopes, Unknown, derivatives, minimise_from};

use super::compare::{Compared, seconds};
use super::found::{Calibration, Direction, Finding, Held};
use super::model::{CalibrationError, Model, Task};
use super::statistics::NINE_IN_TEN;
use super::unknowns::{Prior, moved};
use super::weights::{Weights, off};

/// Most unknowns that are searched for from several starts, and that are fitted in the end.
const MOST_AT_FIRST: usize = 6;
const MOST_FREE: usize = 16;
/// What one of the prior's deviations must move, in the readings' own, to be fitted.
const LEAST_TOLD: f64 = 0.3;
/// What it must move at first to be tried again.
const LEAST_HEARD: f64 = 0.03;
/// Share of the prior's doubt above which nothing was learnt.
const NOTHING_LEARNT: f64 = 0.95;
/// Steps of a search between derivatives worked out anew.
const RENEW_AFTER: usize = 4;
/// Residual in place of a run that fails, in deviations.
const FAILED: f64 = 1e3;
const DAY_S: i64 = 86_400;

/// Fits the unknowns of a house to a log; `progress` is called after each run.
///
/// # Errors
/// [`CalibrationError`].
pub fn calibrate(
    task: &Task,
    progress: &(dyn Fn() + Sync),
) -> Result<Calibration, CalibrationError> {
    let model = Model::new(task, progress)?;
    let start: Vec<f64> = task.priors.iter().map(|prior| prior.value).collect();
    let before = model.compared(&model.run(&start, task.fit)?, task.fit);
    let readings: usize = before.iter().map(|one| one.logged.len()).sum();
    let days = (seconds(task.fit[1]) - seconds(task.fit[0])) as f64 / DAY_S as f64;
    if readings < 24 || days < 0.99 {
        return Err(CalibrationError::TooFew {
            readings,
            from: task.fit[0],
            to: task.fit[1],
        });
    }
    let mut fit = Fit {
        model: &model,
        task,
        values: start,
        weights: Weights::before_residuals(&before, days),
        free: Vec::new(),
        heard: (0..task.priors.len()).collect(),
    };
    let first = fit.derivatives_at(&before);
    let told = fit.told(&first);
    fit.choose(&told, MOST_AT_FIRST);
    fit.heard = (0..task.priors.len())
        .filter(|index| told[*index] > LEAST_HEARD)
        .collect();
    if fit.free.is_empty() {
        return Err(CalibrationError::NothingTold {
            unknowns: task.priors.len(),
        });
    }
    let sums = fit.start_several(&first, &before)?;
    // The weights hang on the residuals and the residuals on the weights: twice is enough. With the
    // first of them it is known what the readings tell.
    let (jacobian, compared) = fit.derivatives_of_all()?;
    fit.weights
        .renew(&compared, &jacobian, &task.priors, &fit.free);
    let were = fit.values.clone();
    fit.choose(&fit.told(&jacobian), MOST_FREE);
    let is_there = fit.values == were;
    fit.refine(&jacobian, is_there, is_there.then_some(&compared))?;
    let compared = fit.compared()?;
    fit.weights
        .renew(&compared, &jacobian, &task.priors, &fit.free);
    fit.refine(&jacobian, false, Some(&compared))?;
    // What is held is told as much as before.
    let (mut jacobian, mut fitted) = fit.derivatives_of_free(&jacobian)?;
    let mut covariance = fit.covariance(&jacobian);
    // What nothing was learnt of goes back to its prior, and the others once more.
    let deviation = |index: usize, of: &DMatrix<f64>| {
        of[(index, index)].max(0.0).sqrt() / task.priors[index].deviation()
    };
    let learnt: Vec<usize> = fit
        .free
        .iter()
        .copied()
        .filter(|index| deviation(*index, &covariance) < NOTHING_LEARNT)
        .collect();
    if learnt.len() < fit.free.len() && !learnt.is_empty() {
        for index in fit.free.iter().filter(|index| !learnt.contains(index)) {
            fit.values[*index] = task.priors[*index].value;
        }
        fit.free = learnt;
        fit.refine(&jacobian, false, None)?;
        (jacobian, fitted) = fit.derivatives_of_free(&jacobian)?;
        covariance = fit.covariance(&jacobian);
    }
    let kept_out = match task.kept_out {
        Some(period) => model.compared(&model.run(&fit.values, period)?, period),
        None => Vec::new(),
    };
    let findings = fit.findings(&jacobian, &fitted);
    let told = fit.told(&jacobian);
    let held = (0..task.priors.len())
        .filter(|index| !fit.free.contains(index))
        .map(|index| Held {
            prior: task.priors[index].clone(),
            told: told[index],
        })
        .collect();
    Ok(Calibration {
        findings,
        held,
        correlations: correlations(&covariance, &fit.free),
        directions: fit.directions(&jacobian),
        daily: fit.weights.daily_errors(&fitted, &jacobian),
        weights: fit.weights.columns().to_vec(),
        fitted,
        kept_out,
        before,
        values: fit.values.clone(),
        covariance,
        sums,
        runs: model.runs(),
    })
}

fn finding(prior: &Prior, value: f64, deviations: [f64; 2]) -> Finding {
    let z = prior.z(value);
    let [below, above] = deviations;
    let ends = [z - NINE_IN_TEN * below, z + NINE_IN_TEN * above];
    Finding {
        value,
        interval: ends.map(|z| prior.x(z).clamp(prior.bounds[0], prior.bounds[1])),
        pull: (z - prior.z(prior.value)) / prior.deviation(),
        doubt_left: 0.5 * (below + above) / prior.deviation(),
        prior: prior.clone(),
    }
}

fn correlations(covariance: &DMatrix<f64>, free: &[usize]) -> DMatrix<f64> {
    DMatrix::from_fn(free.len(), free.len(), |a, b| {
        let (a, b) = (free[a], free[b]);
        covariance[(a, b)] / (covariance[(a, a)] * covariance[(b, b)]).max(1e-300).sqrt()
    })
}

/// A fit on its way.
struct Fit<'a, 'b> {
    model: &'b Model<'a>,
    task: &'b Task<'a>,
    /// Of all priors.
    values: Vec<f64>,
    weights: Weights,
    /// The priors that are fitted.
    free: Vec<usize>,
    /// The priors that do something to what was logged; the others are not tried again.
    heard: Vec<usize>,
}

impl Fit<'_, '_> {
    /// The values with those of the free unknowns, on their scales, put in.
    fn with_free(&self, z: &[f64]) -> Vec<f64> {
        let mut values = self.values.clone();
        for (index, z) in self.free.iter().zip(z) {
            values[*index] = self.task.priors[*index].x(*z);
        }
        values
    }

    fn readings_at(&self, sets: &[Vec<f64>]) -> Vec<Option<Vec<f64>>> {
        let period = self.task.fit;
        let take = |outcome| off(&self.model.compared(&outcome, period));
        match self.model.run_each(sets, period, take) {
            Ok(each) => each.into_iter().map(Result::ok).collect(),
            Err(_) => vec![None; sets.len()],
        }
    }

    /// Residuals of readings and priors for the search; a run that fails is far away.
    fn residuals(&self, sets: &[Vec<f64>]) -> Vec<Option<Vec<f64>>> {
        let count = self.weights.count();
        let whole: Vec<Vec<f64>> = sets.iter().map(|z| self.with_free(z)).collect();
        let pairs = self.readings_at(&whole).into_iter().zip(sets);
        let own = |(readings, z): (Option<Vec<f64>>, &Vec<f64>)| {
            let all =
                readings.map_or_else(|| vec![FAILED; count], |all| self.weights.weighed(&all));
            Some(self.with_pulls(all, z))
        };
        pairs.map(own).collect()
    }

    /// Residuals of the readings with those of the priors behind them.
    fn with_pulls(&self, mut residuals: Vec<f64>, z: &[f64]) -> Vec<f64> {
        for (index, z) in self.free.iter().zip(z) {
            let prior = &self.task.priors[*index];
            residuals.push((z - prior.z(prior.value)) / prior.deviation());
        }
        residuals
    }

    /// What is known at a place without a run: derivatives of the readings there, or near there, and
    /// the readings themselves.
    fn known(&self, jacobian: &DMatrix<f64>, is_of_start: bool, at: Option<&[Compared]>) -> Slopes {
        let residuals = at.map(|compared| {
            let readings = self.weights.weighed(&off(compared));
            self.with_pulls(readings, &self.z_now())
        });
        Slopes {
            jacobian: self.slopes(jacobian),
            is_of_start,
            residuals,
        }
    }

    fn search(
        &self,
        start: &[f64],
        known: Option<Slopes>,
        tolerance: f64,
        patience: usize,
    ) -> Option<Minimum> {
        let unknowns: Vec<Unknown> = self
            .free
            .iter()
            .zip(start)
            .map(|(index, start)| self.task.priors[*index].unknown(*start))
            .collect();
        let search = Search {
            step: 0.02,
            both_ways: false,
            tolerance,
            patience,
            renew_after: RENEW_AFTER,
        };
        minimise_from(&unknowns, &|sets| self.residuals(sets), &search, known)
    }

    fn z_now(&self) -> Vec<f64> {
        let of = |index: &usize| self.task.priors[*index].z(self.values[*index]);
        self.free.iter().map(of).collect()
    }

    /// Searches from several starts and keeps the best; the sums of squares, the best first.
    ///
    /// `jacobian` is that of the readings, which are `compared`, at the likeliest values, the first
    /// start.
    fn start_several(
        &mut self,
        jacobian: &DMatrix<f64>,
        compared: &[Compared],
    ) -> Result<Vec<f64>, CalibrationError> {
        let first = self.known(jacobian, true, Some(compared));
        let starts = self.task.starts.max(1);
        let mut found: Vec<Minimum> = (0..starts)
            .into_par_iter()
            .filter_map(|number| {
                let start: Vec<f64> = self
                    .free
                    .iter()
                    .enumerate()
                    .map(|(place, index)| {
                        let prior = &self.task.priors[*index];
                        // Spread evenly over ±1.2 deviations, the first at the likeliest.
                        let away = if number == 0 {
                            0.0
                        } else {
                            scattered(number, place)
                        };
                        let z = prior.z(prior.value) + 1.2 * prior.deviation() * away;
                        z.clamp(prior.z(prior.bounds[0]), prior.z(prior.bounds[1]))
                    })
                    .collect();
                let known = (number == 0).then(|| first.clone());
                self.search(&start, known, 1e-2, 4)
            })
            .collect();
        found.sort_by(|a, b| a.sum_of_squares.total_cmp(&b.sum_of_squares));
        let best = found.first().ok_or(CalibrationError::Astray { starts })?;
        self.values = self.with_free(&best.values);
        Ok(found.iter().map(|one| one.sum_of_squares).collect())
    }

    /// Searches on from where it is, with the readings' derivatives there or near there, and what was
    /// `compared` there, if it was.
    fn refine(
        &mut self,
        jacobian: &DMatrix<f64>,
        is_there: bool,
        compared: Option<&[Compared]>,
    ) -> Result<(), CalibrationError> {
        let known = self.known(jacobian, is_there, compared);
        let found = self.search(&self.z_now(), Some(known), 2e-3, 6);
        let found = found.ok_or(CalibrationError::Astray { starts: 1 })?;
        self.values = self.with_free(&found.values);
        Ok(())
    }

    /// Derivatives of the residuals of the search by what is free, on its scale.
    fn slopes(&self, jacobian: &DMatrix<f64>) -> DMatrix<f64> {
        let own = jacobian.select_columns(&self.free);
        let readings = own.nrows();
        let mut slopes = DMatrix::zeros(readings + self.free.len(), self.free.len());
        for (place, index) in self.free.iter().enumerate() {
            let weighed = self.weights.weighed(own.column(place).as_slice());
            slopes.column_mut(place).as_mut_slice()[..readings].copy_from_slice(&weighed);
            slopes[(readings + place, place)] = 1.0 / self.task.priors[*index].deviation();
        }
        slopes
    }

    fn steps(&self) -> Vec<f64> {
        self.task
            .priors
            .iter()
            .map(|prior| 0.4 * prior.deviation())
            .collect()
    }

    /// What was found of each fitted unknown. A house answers with kinks (insulation that just covers
    /// the joists), so that each limit is worked out from the derivative on its own side.
    fn findings(&self, jacobian: &DMatrix<f64>, compared: &[Compared]) -> Vec<Finding> {
        let steps: Vec<f64> = self.steps().iter().map(|step| -step).collect();
        let behind = self.derivatives_by(compared, &self.free, &steps);
        let deviation = |index: usize, jacobian: &DMatrix<f64>| {
            let variance = self.covariance(jacobian)[(index, index)];
            variance.max(0.0).sqrt()
        };
        self.free
            .iter()
            .enumerate()
            .map(|(place, &index)| {
                let mut below = jacobian.clone();
                below.set_column(index, &behind.column(place));
                let sides = [deviation(index, &below), deviation(index, jacobian)];
                finding(&self.task.priors[index], self.values[index], sides)
            })
            .collect()
    }

    /// Derivatives of the readings, K or W/m², by all unknowns on their scales, at `compared`.
    fn derivatives_at(&self, compared: &[Compared]) -> DMatrix<f64> {
        let heard = self.derivatives_by(compared, &self.heard, &self.steps());
        let mut all = DMatrix::zeros(heard.nrows(), self.task.priors.len());
        for (place, &index) in self.heard.iter().enumerate() {
            all.set_column(index, &heard.column(place));
        }
        all
    }

    /// The same by some of them, one column each, with steps of all.
    fn derivatives_by(&self, compared: &[Compared], by: &[usize], steps: &[f64]) -> DMatrix<f64> {
        let priors = &self.task.priors;
        let at = off(compared);
        let unknowns: Vec<Unknown> = priors
            .iter()
            .map(|prior| prior.unknown(prior.z(prior.value)))
            .collect();
        let z: Vec<f64> = priors
            .iter()
            .zip(&self.values)
            .map(|(p, x)| p.z(*x))
            .collect();
        let run = |sets: &[Vec<f64>]| {
            let own = |to: &Vec<f64>| moved(priors, &self.values, to);
            self.readings_at(&sets.iter().map(own).collect::<Vec<_>>())
        };
        derivatives(&unknowns, &z, &at, by, steps, &run)
    }

    fn derivatives_of_all(&self) -> Result<(DMatrix<f64>, Vec<Compared>), CalibrationError> {
        let compared = self.compared()?;
        Ok((self.derivatives_at(&compared), compared))
    }

    /// Derivatives of what is free where the values are, put into those of all.
    fn derivatives_of_free(
        &self,
        all: &DMatrix<f64>,
    ) -> Result<(DMatrix<f64>, Vec<Compared>), CalibrationError> {
        let compared = self.compared()?;
        let own = self.derivatives_by(&compared, &self.free, &self.steps());
        let mut all = all.clone();
        for (place, &index) in self.free.iter().enumerate() {
            all.set_column(index, &own.column(place));
        }
        Ok((all, compared))
    }

    /// The fitted days with the values as they are.
    fn compared(&self) -> Result<Vec<Compared>, CalibrationError> {
        let outcome = self.model.run(&self.values, self.task.fit)?;
        Ok(self.model.compared(&outcome, self.task.fit))
    }

    /// Frees the unknowns that are told most; the others go back to their priors.
    fn choose(&mut self, told: &[f64], most: usize) {
        let priors = &self.task.priors;
        let mut order: Vec<usize> = (0..priors.len())
            .filter(|index| told[*index] > LEAST_TOLD)
            .collect();
        order.sort_by(|a, b| told[*b].total_cmp(&told[*a]));
        order.truncate(most);
        order.sort_unstable();
        for index in self.free.iter().filter(|index| !order.contains(index)) {
            self.values[*index] = priors[*index].value;
        }
        self.free = order;
    }

    /// By how many of the readings' deviations one of each prior's moves them.
    fn told(&self, jacobian: &DMatrix<f64>) -> Vec<f64> {
        let scaled = self.weights.scaled(jacobian, &self.task.priors);
        scaled.column_iter().map(|column| column.norm()).collect()
    }

    /// Covariance of all unknowns, on their scales: of what is fitted from readings and priors, with
    /// the doubt that what is held brings into it (the consider covariance of Schmidt 1966); what is
    /// held keeps all its own.
    fn covariance(&self, jacobian: &DMatrix<f64>) -> DMatrix<f64> {
        let deviations: Vec<f64> = self.task.priors.iter().map(Prior::deviation).collect();
        let scaled = self.weights.scaled(jacobian, &self.task.priors);
        let count = deviations.len();
        let held: Vec<usize> = (0..count).filter(|i| !self.free.contains(i)).collect();
        let (own, others) = (
            scaled.select_columns(&self.free),
            scaled.select_columns(&held),
        );
        let size = self.free.len();
        let information = own.tr_mul(&own) + DMatrix::identity(size, size);
        let inverse = information
            .cholesky()
            .map_or_else(|| DMatrix::identity(size, size), |root| root.inverse());
        // How what is fitted moves with what is held.
        let moved_t = -(own.tr_mul(&others).tr_mul(&inverse));
        let moved = moved_t.transpose();
        let spread = &inverse + moved_t.tr_mul(&moved_t);
        let mut all = DMatrix::identity(count, count);
        for (a, &i) in self.free.iter().enumerate() {
            for (b, &j) in self.free.iter().enumerate() {
                all[(i, j)] = spread[(a, b)];
            }
            for (b, &j) in held.iter().enumerate() {
                all[(i, j)] = moved[(a, b)];
                all[(j, i)] = moved[(a, b)];
            }
        }
        DMatrix::from_fn(count, count, |a, b| {
            all[(a, b)] * deviations[a] * deviations[b]
        })
    }

    /// Directions of what is fitted, from the best told to the least.
    fn directions(&self, jacobian: &DMatrix<f64>) -> Vec<Direction> {
        /// Shares below this are not named.
        const NAMED: f64 = 0.3;
        if self.free.is_empty() {
            return Vec::new();
        }
        let scaled = self
            .weights
            .scaled(jacobian, &self.task.priors)
            .select_columns(&self.free);
        // The eigenvectors of a small matrix in place of the singular ones of a tall one.
        let eigen = scaled.tr_mul(&scaled).symmetric_eigen();
        let mut directions: Vec<Direction> = (0..self.free.len())
            .map(|at| {
                let vector: DVector<f64> = eigen.eigenvectors.column(at).into();
                let mut parts: Vec<(String, f64)> = self
                    .free
                    .iter()
                    .zip(vector.iter())
                    .filter(|(_, share)| share.abs() > NAMED)
                    .map(|(index, share)| (self.task.priors[*index].name().to_owned(), *share))
                    .collect();
                parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
                Direction {
                    told: eigen.eigenvalues[at].max(0.0).sqrt(),
                    parts,
                }
            })
            .collect();
        directions.sort_by(|a, b| b.told.total_cmp(&a.told));
        directions
    }
}

/// A number from −1 to 1 of a sequence that fills a box evenly (Halton 1960).
fn scattered(number: usize, place: usize) -> f64 {
    const BASES: [usize; 10] = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29];
    let base = BASES[place % BASES.len()];
    let (mut rest, mut share, mut part) = (number, 0.0, 1.0);
    while rest > 0 {
        part /= base as f64;
        share += part * (rest % base) as f64;
        rest /= base;
    }
    2.0 * share - 1.0
}
