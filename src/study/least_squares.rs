//! Bounded nonlinear least squares: Levenberg–Marquardt (Moré 1978, through a kept crate) with
//! bounds by a logistic change of variable and the derivatives worked out in parallel.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};
use rayon::prelude::*;

use crate::elementary::{exp, ln};

/// A number to be found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unknown {
    /// Where the search starts; inside the bounds.
    pub start: f64,
    /// Least value; may be infinite.
    pub low: f64,
    /// Greatest value; may be infinite.
    pub high: f64,
}

/// How derivatives are taken and when the search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// Step of the derivatives as a share of a value's size, or of its bounds' distance if it has
    /// both.
    pub step: f64,
    /// Whether derivatives look both ways; twice the cost, and a step's square in error.
    pub both_ways: bool,
    /// Relative change of the sum of squares, and of the values, at which the search ends.
    pub tolerance: f64,
    /// Most evaluations a value.
    pub patience: usize,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Minimum {
    /// The values.
    pub values: Vec<f64>,
    /// The residuals there.
    pub residuals: Vec<f64>,
    /// Sum of their squares.
    pub sum_of_squares: f64,
    /// Whether the search ended by itself, not for want of patience.
    pub converged: bool,
    /// Times that the residuals were worked out, derivatives counted.
    pub evaluations: usize,
}

/// Residuals of values; `None` where they cannot be worked out.
pub type Residuals<'a> = &'a (dyn Fn(&[f64]) -> Option<Vec<f64>> + Sync);

/// Finds the least sum of squares from one start; `None` if the residuals at the start cannot be
/// worked out.
pub fn minimise(unknowns: &[Unknown], residuals: Residuals, search: &Search) -> Option<Minimum> {
    let start: Vec<f64> = unknowns.iter().map(|one| one.inner(one.start)).collect();
    let problem = Problem::new(unknowns, residuals, search, start)?;
    let (problem, report) = LevenbergMarquardt::new()
        .with_ftol(search.tolerance)
        .with_xtol(search.tolerance)
        .with_gtol(0.0)
        .with_stepbound(1.0)
        .with_patience(search.patience)
        .minimize(problem);
    let residuals = problem.now?;
    Some(Minimum {
        values: problem.values,
        sum_of_squares: residuals.norm_squared(),
        residuals: residuals.iter().copied().collect(),
        converged: report.termination.was_successful(),
        evaluations: problem.count.into_inner(),
    })
}

/// The derivatives of the residuals by some of the values themselves, a column each, stepping by
/// `steps`, or the other way where that would leave the bounds; a value whose neighbours cannot be
/// worked out has none.
pub(super) fn derivatives(
    unknowns: &[Unknown],
    values: &[f64],
    at_values: &[f64],
    by: &[usize],
    steps: &[f64],
    residuals: Residuals,
) -> DMatrix<f64> {
    let columns: Vec<Vec<f64>> = by
        .par_iter()
        .map(|&index| {
            let unknown = &unknowns[index];
            let ahead = values[index] + steps[index];
            let step = if (unknown.low..=unknown.high).contains(&ahead) {
                steps[index]
            } else {
                -steps[index]
            };
            let mut moved = values.to_vec();
            moved[index] += step;
            match residuals(&moved) {
                Some(there) => {
                    let pairs = there.iter().zip(at_values);
                    pairs.map(|(a, b)| (a - b) / step).collect()
                }
                None => vec![0.0; at_values.len()],
            }
        })
        .collect();
    DMatrix::from_fn(at_values.len(), by.len(), |row, column| {
        columns[column][row]
    })
}

impl Unknown {
    fn is_bounded(&self) -> bool {
        self.low.is_finite() && self.high.is_finite()
    }

    /// The value behind the logistic: any number.
    fn inner(&self, value: f64) -> f64 {
        /// A start on a bound could never leave it.
        const OFF: f64 = 1e-3;
        if !self.is_bounded() {
            return value;
        }
        let share = ((value - self.low) / (self.high - self.low)).clamp(OFF, 1.0 - OFF);
        ln(share / (1.0 - share))
    }

    fn outer(&self, inner: f64) -> f64 {
        if !self.is_bounded() {
            return inner;
        }
        self.low + (self.high - self.low) / (1.0 + exp(-inner))
    }

    fn step(&self, inner: f64, share: f64) -> f64 {
        if self.is_bounded() {
            // The logistic's slope is a quarter in the middle.
            4.0 * share
        } else {
            share * inner.abs().max(1e-8)
        }
    }
}

struct Problem<'a> {
    unknowns: &'a [Unknown],
    residuals: Residuals<'a>,
    search: &'a Search,
    inner: DVector<f64>,
    values: Vec<f64>,
    now: Option<DVector<f64>>,
    count: std::cell::Cell<usize>,
}

impl<'a> Problem<'a> {
    fn new(
        unknowns: &'a [Unknown],
        residuals: Residuals<'a>,
        search: &'a Search,
        start: Vec<f64>,
    ) -> Option<Self> {
        let mut problem = Self {
            unknowns,
            residuals,
            search,
            inner: DVector::zeros(0),
            values: Vec::new(),
            now: None,
            count: std::cell::Cell::new(0),
        };
        problem.set_params(&DVector::from_vec(start));
        problem.now.is_some().then_some(problem)
    }

    fn values_of(unknowns: &[Unknown], inner: &[f64]) -> Vec<f64> {
        let pairs = unknowns.iter().zip(inner);
        pairs
            .map(|(unknown, inner)| unknown.outer(*inner))
            .collect()
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, inner: &DVector<f64>) {
        self.inner = inner.clone();
        self.values = Self::values_of(self.unknowns, inner.as_slice());
        self.now = (self.residuals)(&self.values).map(DVector::from_vec);
        self.count.set(self.count.get() + 1);
    }

    fn params(&self) -> DVector<f64> {
        self.inner.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        self.now.clone()
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let now = self.now.as_ref()?;
        // The parallel part sees none of what is not shared between threads.
        let (unknowns, residuals, search) = (self.unknowns, self.residuals, self.search);
        let inner = self.inner.as_slice();
        let columns: Option<Vec<Vec<f64>>> = (0..inner.len())
            .into_par_iter()
            .map(|index| {
                let step = unknowns[index].step(inner[index], search.step);
                let at = |by: f64| {
                    let mut moved = inner.to_vec();
                    moved[index] += by;
                    residuals(&Self::values_of(unknowns, &moved))
                };
                let ahead = at(step)?;
                let (behind, span) = if search.both_ways {
                    (at(-step)?, 2.0 * step)
                } else {
                    (now.iter().copied().collect(), step)
                };
                let pairs = ahead.iter().zip(&behind);
                Some(pairs.map(|(a, b)| (a - b) / span).collect())
            })
            .collect();
        let columns = columns?;
        let each = if search.both_ways { 2 } else { 1 };
        self.count.set(self.count.get() + each * inner.len());
        let rows = now.len();
        Some(DMatrix::from_fn(rows, inner.len(), |row, column| {
            columns[column][row]
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEARCH: Search = Search {
        step: 1e-6,
        both_ways: true,
        tolerance: 1e-12,
        patience: 200,
    };

    #[test]
    fn a_valley_is_found_and_a_bound_is_kept() {
        let rosenbrock = |x: &[f64]| Some(vec![10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]]);
        let free = Unknown {
            start: -1.2,
            low: f64::NEG_INFINITY,
            high: f64::INFINITY,
        };
        let found = minimise(&[free, free], &rosenbrock, &SEARCH).unwrap();
        assert!(
            (found.values[0] - 1.0).abs() < 1e-8 && found.converged,
            "{found:?}"
        );
        let kept = Unknown {
            start: 0.2,
            low: -2.0,
            high: 0.5,
        };
        let found = minimise(&[kept, free], &rosenbrock, &SEARCH).unwrap();
        assert!(
            (found.values[0] - 0.5).abs() < 1e-3 && found.values[0] <= 0.5,
            "{found:?}"
        );
        assert!(minimise(&[free], &|_| None, &SEARCH).is_none());
    }
}
