//! Bounded nonlinear least squares: Levenberg–Marquardt (Moré 1978, through a kept crate) with
//! bounds by a logistic change of variable. All values that one derivative takes are handed over at
//! once, to be worked out side by side.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

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
    /// How many steps derivatives are kept up by the changes that the steps themselves show (Broyden
    /// 1965, Math. Comp. 19, 577) before they are worked out anew; 0 works them out at every step.
    pub renew_after: usize,
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

/// Derivatives of residuals by the values.
#[derive(Debug, Clone)]
pub(super) struct Slopes {
    /// A column for each value.
    pub(super) jacobian: DMatrix<f64>,
    /// Whether they are of the start itself, and not of a place near it.
    pub(super) is_of_start: bool,
    /// Residuals at the start, where they have been worked out.
    pub(super) residuals: Option<Vec<f64>>,
}

/// Residuals of several sets of values; `None` for a set whose residuals cannot be worked out.
pub type Residuals<'a> = &'a dyn Fn(&[Vec<f64>]) -> Vec<Option<Vec<f64>>>;

/// Finds the least sum of squares from one start; `None` if the residuals at the start cannot be
/// worked out.
pub fn minimise(unknowns: &[Unknown], residuals: Residuals, search: &Search) -> Option<Minimum> {
    minimise_from(unknowns, residuals, search, None)
}

/// The same with what is known of the derivatives of the residuals by the values: at the start, or
/// near it.
pub(super) fn minimise_from(
    unknowns: &[Unknown],
    residuals: Residuals,
    search: &Search,
    known: Option<Slopes>,
) -> Option<Minimum> {
    /// Most times that a search starts again where it ended.
    const LEGS: usize = 3;
    let mut problem = Problem::new(unknowns, residuals, search, known)?;
    let mut leg = 0;
    let converged = loop {
        let before = problem.now.as_ref()?.norm_squared();
        let (ended, report) = LevenbergMarquardt::new()
            .with_ftol(search.tolerance)
            .with_xtol(search.tolerance)
            .with_gtol(0.0)
            .with_stepbound(1.0)
            .with_patience(search.patience)
            .minimize(problem);
        problem = ended;
        leg += 1;
        // An end that derivatives kept up have told is looked at with new ones.
        let is_aged = problem.known.take().is_some_and(|known| known.age > 0);
        let after = problem.now.as_ref()?.norm_squared();
        let has_gone_on = before - after > search.tolerance * before;
        if !(is_aged && has_gone_on && leg < LEGS) {
            break report.termination.was_successful();
        }
    };
    let residuals = problem.now?;
    Some(Minimum {
        values: problem.values,
        sum_of_squares: residuals.norm_squared(),
        residuals: residuals.iter().copied().collect(),
        converged,
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
    let step_of = |index: usize| {
        let unknown = &unknowns[index];
        let ahead = values[index] + steps[index];
        if (unknown.low..=unknown.high).contains(&ahead) {
            steps[index]
        } else {
            -steps[index]
        }
    };
    let sets: Vec<Vec<f64>> = by
        .iter()
        .map(|&index| {
            let mut moved = values.to_vec();
            moved[index] += step_of(index);
            moved
        })
        .collect();
    let columns: Vec<Vec<f64>> = residuals(&sets)
        .into_iter()
        .zip(by)
        .map(|(there, &index)| match there {
            Some(there) => {
                let pairs = there.iter().zip(at_values);
                pairs.map(|(a, b)| (a - b) / step_of(index)).collect()
            }
            None => vec![0.0; at_values.len()],
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

    /// What a value moves with what is behind it.
    fn slope(&self, inner: f64) -> f64 {
        if !self.is_bounded() {
            return 1.0;
        }
        let share = 1.0 / (1.0 + exp(-inner));
        (self.high - self.low) * share * (1.0 - share)
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
    known: std::cell::RefCell<Option<Known>>,
}

/// Derivatives with the place that they are of.
#[derive(Debug, Clone)]
struct Known {
    inner: DVector<f64>,
    residuals: DVector<f64>,
    jacobian: DMatrix<f64>,
    /// Steps since they were worked out.
    age: usize,
}

impl Known {
    /// The derivatives nearest to these that tell the change from there to here.
    fn kept_up(mut self, inner: &DVector<f64>, residuals: &DVector<f64>) -> Self {
        let step = inner - &self.inner;
        let length = step.norm_squared();
        if length > 0.0 {
            let mut missed = residuals - &self.residuals;
            for (column, by) in self.jacobian.column_iter().zip(step.iter()) {
                missed.axpy(-by, &column, 1.0);
            }
            self.jacobian.ger(1.0 / length, &missed, &step, 1.0);
        }
        Self {
            inner: inner.clone(),
            residuals: residuals.clone(),
            jacobian: self.jacobian,
            age: self.age + 1,
        }
    }
}

impl<'a> Problem<'a> {
    fn new(
        unknowns: &'a [Unknown],
        residuals: Residuals<'a>,
        search: &'a Search,
        known: Option<Slopes>,
    ) -> Option<Self> {
        let start = unknowns.iter().map(|one| one.inner(one.start));
        let inner = DVector::from_iterator(unknowns.len(), start);
        let mut problem = Self {
            unknowns,
            residuals,
            search,
            values: Self::values_of(unknowns, inner.as_slice()),
            inner,
            now: None,
            count: std::cell::Cell::new(0),
            known: std::cell::RefCell::new(None),
        };
        let there = known.as_ref().and_then(|known| known.residuals.clone());
        match there {
            Some(there) if problem.is_at_start() => problem.now = Some(DVector::from_vec(there)),
            _ => problem.work_out(),
        }
        let now = problem.now.clone()?;
        if let Some(known) = known {
            let mut jacobian = known.jacobian;
            let scales = unknowns.iter().zip(problem.inner.iter());
            for (mut column, (unknown, inner)) in jacobian.column_iter_mut().zip(scales) {
                column.scale_mut(unknown.slope(*inner));
            }
            *problem.known.get_mut() = Some(Known {
                inner: problem.inner.clone(),
                residuals: now,
                jacobian,
                age: usize::from(!known.is_of_start),
            });
        }
        Some(problem)
    }

    /// Whether no start lay on a bound and was moved off it.
    fn is_at_start(&self) -> bool {
        let pairs = self.unknowns.iter().zip(&self.values);
        let mut apart = pairs.map(|(unknown, value)| (value - unknown.start, unknown.start));
        apart.all(|(apart, start)| apart.abs() <= 1e-9 * start.abs().max(1.0))
    }

    /// Works out the residuals at the values.
    fn work_out(&mut self) {
        let mut now = (self.residuals)(std::slice::from_ref(&self.values));
        self.now = now.pop().flatten().map(DVector::from_vec);
        self.count.set(self.count.get() + 1);
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
        // A step that led nowhere is taken back to where the derivatives are.
        match self.known.get_mut() {
            Some(known) if known.inner == self.inner => self.now = Some(known.residuals.clone()),
            _ => self.work_out(),
        }
    }

    fn params(&self) -> DVector<f64> {
        self.inner.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        self.now.clone()
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let now = self.now.as_ref()?;
        let mut known = self.known.borrow_mut();
        let young = known.take_if(|known| known.age < self.search.renew_after);
        let next = match young {
            Some(young) => young.kept_up(&self.inner, now),
            None => Known {
                inner: self.inner.clone(),
                residuals: now.clone(),
                jacobian: self.derivatives(now)?,
                age: 0,
            },
        };
        Some(known.insert(next).jacobian.clone())
    }
}

impl Problem<'_> {
    /// Derivatives from the residuals at neighbours.
    fn derivatives(&self, now: &DVector<f64>) -> Option<DMatrix<f64>> {
        let inner = self.inner.as_slice();
        let step = |index: usize| self.unknowns[index].step(inner[index], self.search.step);
        let moved = |index: usize, by: f64| {
            let mut moved = inner.to_vec();
            moved[index] += by;
            Self::values_of(self.unknowns, &moved)
        };
        let ahead = (0..inner.len()).map(|index| moved(index, step(index)));
        let behind = (0..inner.len()).map(|index| moved(index, -step(index)));
        let sets: Vec<Vec<f64>> = if self.search.both_ways {
            ahead.chain(behind).collect()
        } else {
            ahead.collect()
        };
        self.count.set(self.count.get() + sets.len());
        let there: Option<Vec<Vec<f64>>> = (self.residuals)(&sets).into_iter().collect();
        let there = there?;
        let now: Vec<f64> = now.iter().copied().collect();
        Some(DMatrix::from_fn(now.len(), inner.len(), |row, column| {
            let span = step(column);
            match there.get(inner.len() + column) {
                Some(behind) => (there[column][row] - behind[row]) / (2.0 * span),
                None => (there[column][row] - now[row]) / span,
            }
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
        renew_after: 0,
    };

    #[test]
    fn a_valley_is_found_and_a_bound_is_kept() {
        let rosenbrock = |sets: &[Vec<f64>]| {
            let of = |x: &Vec<f64>| Some(vec![10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]]);
            sets.iter().map(of).collect()
        };
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
        let kept_up = Search {
            renew_after: 3,
            ..SEARCH
        };
        let found = minimise(&[free, free], &rosenbrock, &kept_up).unwrap();
        assert!((found.values[0] - 1.0).abs() < 1e-4, "{found:?}");
        assert!(minimise(&[free], &|sets| vec![None; sets.len()], &SEARCH).is_none());
    }
}
