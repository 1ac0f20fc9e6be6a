//! How residuals of a log are weighed: errors of its readings hang together, and the house's own error
//! comes back every day.

use nalgebra::{DMatrix, DVector};

use super::compare::{Compared, Measure};
use super::daily::{self, Beside, DailyError};
use super::model::usual_step_s;
use super::statistics::effective_count;
use super::unknowns::Prior;

/// Independent readings a day, and their spread, K, that are taken before residuals tell.
const FIRST_A_DAY: f64 = 3.0;
const FIRST_SPREAD_K: f64 = 1.0;
/// The same of a heat flux, W/m².
const FIRST_SPREAD_W_M2: f64 = 1.5;
/// Least spread of residuals, in their own unit: a logger's step.
const LEAST_SPREAD: f64 = 0.1;

/// How a column's readings were weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// Name.
    pub name: String,
    /// What it measures.
    pub measure: Measure,
    /// Spread of the residuals without what comes back every day, K or W/m².
    pub spread: f64,
    /// Readings.
    pub count: usize,
    /// Independent readings with the same information.
    pub effective: f64,
    /// Deviation of what the house may get wrong every day alike, K or W/m².
    pub daily: f64,
}

impl Weight {
    /// Deviation of one reading, so widened that all together weigh as much as the independent ones.
    fn deviation(&self) -> f64 {
        self.spread * (self.count as f64 / self.effective.max(1.0)).sqrt()
    }

    /// Its two kinds of error, for readings at times.
    pub(super) fn beside(&self, times_s: &[i64]) -> Beside {
        Beside::new(times_s, self.deviation(), self.daily)
    }
}

/// Worked out less logged, column by column.
pub(super) fn off(compared: &[Compared]) -> Vec<f64> {
    let pairs = compared
        .iter()
        .flat_map(|one| one.worked_out.iter().zip(&one.logged));
    pairs.map(|(a, b)| a - b).collect()
}

/// How the readings of all columns are weighed.
pub(super) struct Weights {
    columns: Vec<Weight>,
    /// Of each column.
    beside: Vec<Beside>,
}

impl Weights {
    /// Before any residuals tell, of so many days.
    pub(super) fn before_residuals(compared: &[Compared], days: f64) -> Self {
        let columns = compared.iter().map(|one| Weight {
            name: one.name.clone(),
            measure: one.measure,
            spread: match one.measure {
                Measure::Temperature => FIRST_SPREAD_K,
                Measure::HeatFlux => FIRST_SPREAD_W_M2,
            },
            count: one.logged.len(),
            effective: (FIRST_A_DAY * days).min(one.logged.len() as f64),
            daily: daily::usual(one.measure),
        });
        Self::new(columns.collect(), compared)
    }

    fn new(columns: Vec<Weight>, compared: &[Compared]) -> Self {
        let pairs = columns.iter().zip(compared);
        let beside = pairs
            .map(|(weight, one)| weight.beside(&one.times_s))
            .collect();
        Self { columns, beside }
    }

    /// Of each column.
    pub(super) fn columns(&self) -> &[Weight] {
        &self.columns
    }

    /// Readings of all columns.
    pub(super) fn count(&self) -> usize {
        self.columns.iter().map(|weight| weight.count).sum()
    }

    /// Residuals of readings, or their derivatives, in deviations that are independent of one another.
    pub(super) fn weighed(&self, of_readings: &[f64]) -> Vec<f64> {
        let mut all = Vec::with_capacity(of_readings.len());
        let mut rest = of_readings;
        for (weight, beside) in self.columns.iter().zip(&self.beside) {
            let (own, others) = rest.split_at(weight.count.min(rest.len()));
            all.extend(beside.whitened(own));
            rest = others;
        }
        all
    }

    /// Derivatives of the readings, in their deviations, by what is one deviation of each prior.
    pub(super) fn scaled(&self, jacobian: &DMatrix<f64>, priors: &[Prior]) -> DMatrix<f64> {
        let mut scaled = jacobian.clone();
        for (mut column, prior) in scaled.column_iter_mut().zip(priors) {
            let own = self.weighed(column.as_slice());
            column.copy_from_slice(&own);
            column.scale_mut(prior.deviation());
        }
        scaled
    }

    /// New weights from residuals, and from the derivatives there by the unknowns that are free, which
    /// tell what these take up of an error that comes back every day.
    pub(super) fn renew(
        &mut self,
        compared: &[Compared],
        jacobian: &DMatrix<f64>,
        priors: &[Prior],
        free: &[usize],
    ) {
        let scaled = self.scaled(jacobian, priors).select_columns(free);
        let information = scaled.tr_mul(&scaled) + DMatrix::identity(free.len(), free.len());
        let Some(root) = information.cholesky() else {
            return;
        };
        let mut own = jacobian.select_columns(free);
        for (mut column, index) in own.column_iter_mut().zip(free) {
            column.scale_mut(priors[*index].deviation());
        }
        let mut first = 0;
        let mut columns = self.columns.clone();
        for ((weight, beside), one) in columns.iter_mut().zip(&self.beside).zip(compared) {
            let errors = off(std::slice::from_ref(one));
            let rows = scaled.rows(first, weight.count);
            let across = own.rows(first, weight.count).transpose();
            // What each wave of an error moves the unknowns, and those the readings.
            let mut taken = daily::waves_of(&one.times_s);
            for mut wave in taken.column_iter_mut() {
                let weighed = DVector::from_vec(beside.whitened(wave.as_slice()));
                wave.copy_from(&across.tr_mul(&root.solve(&rows.tr_mul(&weighed))));
            }
            first += weight.count;
            let daily = beside.likeliest(&errors);
            let rest: Vec<f64> = errors
                .iter()
                .zip(&daily)
                .map(|(e, daily)| e - daily)
                .collect();
            let mean_square = rest.iter().map(|e| e * e).sum::<f64>() / rest.len().max(1) as f64;
            weight.spread = mean_square.sqrt().max(LEAST_SPREAD);
            weight.effective = effective_count(&rest, usual_step_s(&one.times_s));
            weight.daily = daily::deviation(weight.measure, &one.times_s, &errors, &taken);
        }
        *self = Self::new(columns, compared);
    }

    /// What is known of each column's daily error.
    pub(super) fn daily_errors(
        &self,
        compared: &[Compared],
        jacobian: &DMatrix<f64>,
    ) -> Vec<DailyError> {
        let mut first = 0;
        let pairs = self.beside.iter().zip(compared);
        pairs
            .map(|(beside, one)| {
                let errors = off(std::slice::from_ref(one));
                let own = jacobian.rows(first, errors.len()).into_owned();
                first += errors.len();
                DailyError::new(&one.name, &one.times_s, beside, &errors, &own)
            })
            .collect()
    }
}
