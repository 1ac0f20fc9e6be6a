//! The matrix of a step, and how fast what it shows to grow does so.

use crate::ode::Real;
use crate::ode::balance::Balance;
use crate::ode::formula::GAMMA;
use crate::ode::lu::SparseLu;

use super::Stages;

impl<R: Real> Stages<R> {
    /// Looks whether stores that hold one another back at the start of the step drive one another on
    /// at its end.
    #[inline(always)]
    pub(super) fn look_for_growth(&mut self, step_s: R) {
        let Some(lu) = &mut self.end_lu else {
            return;
        };
        fill(
            lu,
            &self.slots,
            &self.trial_gradients,
            &self.diagonals,
            &self.inertia,
        );
        lu.factor();
        let (growth, store) = self.growth;
        let at_end = growth_of(lu, &self.diagonals, &self.balance, step_s);
        self.growth = (
            growth.max(at_end.0),
            (at_end.0 - growth).where_positive(at_end.1, store),
        );
    }
}

/// Writes the matrix of a step.
#[inline(always)]
pub(super) fn fill<R: Real>(
    lu: &mut SparseLu<R>,
    slots: &[[Option<usize>; 2]],
    gradients: &[R],
    diagonals: &[usize],
    inertia: &[R],
) {
    let values = lu.values_mut();
    values.fill(R::splat(0.0));
    for (&slot, &inertia) in diagonals.iter().zip(inertia) {
        R::apart();
        values[slot] = inertia;
    }
    for (&[from, to], &gradient) in slots.iter().zip(gradients) {
        R::apart();
        if let Some(slot) = from {
            values[slot] += gradient;
        }
        if let Some(slot) = to {
            values[slot] -= gradient;
        }
    }
}

/// By how many e-folds the fastest growing change grows in a step whose matrix is factored, and the
/// store where that shows.
///
/// A pivot is what holds its store back, by its own inertia and by all that is eliminated: it is less
/// than the inertia where the network drives the store on.
#[inline(always)]
pub(super) fn growth_of<R: Real>(
    lu: &mut SparseLu<R>,
    diagonals: &[usize],
    balance: &Balance<R>,
    step_s: R,
) -> (R, R) {
    let (mut least, mut where_least) = (R::splat(f64::INFINITY), R::splat(0.0));
    let pivots = lu.values_mut();
    let stores = diagonals.iter().zip(balance.per_capacity());
    for (store, (&slot, &per_capacity)) in stores.enumerate() {
        R::apart();
        let held = pivots[slot] * per_capacity;
        where_least = (least - held).where_positive(R::splat(store as f64), where_least);
        least = least.min(held);
    }
    let growth = (R::splat(1.0) - least * (step_s * GAMMA)) / GAMMA;
    (growth, where_least)
}
