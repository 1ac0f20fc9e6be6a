//! One linearly implicit step: formula, error estimate and flow totals.
//!
//! About the start of a step, `C y' = F₀ + J y + r(s)`, where `y` is the change of state, `s` the
//! time since the start, `J` the assembled partial derivatives and `r` what they leave out: forcing
//! that varies with time, and curvature of the flows. `r` is read off the flows at the end of the
//! step (a straight line) and, when it matters, in the middle too (a parabola). The linear
//! equation is then solved by rational functions with one real pole, `X = (I − γ h C⁻¹J)⁻¹`:
//!
//! `y = h (a₁X + a₂X² + a₃X³)` applied to `F₀`, and alike for `r`
//!
//! with γ = 0.4358665 (L-stable, third order; Nørsett 1974, from memory). Applying such functions
//! to a linear part and interpolating the rest is the adaptive Runge–Kutta idea of Strehmel &
//! Weiner 1982 (from memory). Against ROS2 (Verwer, Spee, Blom & Hundsdorfer 1999), which costs as
//! many flow evaluations:
//!
//! * ROS2 without ∂F/∂t lets a stiff store overshoot what drives it by 1.7 times the change of the
//!   driver within the step. Here linear forcing is followed exactly.
//! * The linear part is of third order; the solves are cheap beside the flows.
//! * `J` may be wrong: `r` takes up the difference, and second order remains for any `J`.
//!
//! The error estimate has two parts, both passed through `X` so that stores which settle within
//! the step do not ask for short ones: the leading error term of the rational function, and that
//! of the quadrature of `r` (from the parabola, or else from the change of slope since the step
//! before).

use super::balance::Balance;
use super::lu::SparseLu;
use super::{Ends, Fault, Real, Stats, System};

/// Pole: root of `γ³ − 3γ² + 3γ/2 − 1/6`, which makes the method L-stable.
const GAMMA: f64 = 0.435_866_521_508_459;
/// Coefficients of X, X², X³ that act on F₀ (order 3, vanishing at infinity).
const A1: [f64; 3] = coefficients(1.0, 0.5);
/// The same that act on the linear part of `r`: those of the extended autonomous system.
const A2: [f64; 3] = chained(A1);
/// The same that act on the quadratic part of `r`.
const A3: [f64; 3] = chained(A2);
/// Leading error coefficient of the rational approximation, of `(h J)³ F₀ h`.
const LINEAR_ERROR: f64 = (A1[0] + 4.0 * A1[1] + 10.0 * A1[2]) * GAMMA * GAMMA * GAMMA - 1.0 / 24.0;
/// Weights of the three solves (last first) that make `(h J X)³ h F₀`; −1 for `F₀` itself.
const THIRD: [f64; 3] = combination([3.0, -3.0, 1.0]);
/// Weights of the three solves that make the state in the middle of the step.
const MIDDLE: [f64; 3] = combination(coefficients(0.5, 0.125));
/// Share of the parabola's correction counted as error once the correction has been made.
const PROBED_SHARE: f64 = 0.25;

/// Coefficients of X, X², X³ for a value `first` and slope `second` at zero and the right limit
/// at infinity.
const fn coefficients(first: f64, second: f64) -> [f64; 3] {
    let third = second / GAMMA + GAMMA - 2.0 * first;
    [GAMMA, first - GAMMA - third, third]
}

/// Coefficients of the function one integration up: `γ Σ_{i≥l} a_i`.
const fn chained(a: [f64; 3]) -> [f64; 3] {
    [
        GAMMA * (a[0] + a[1] + a[2]),
        GAMMA * (a[1] + a[2]),
        GAMMA * a[2],
    ]
}

/// Weights of the solves w₁, w₂, w₃ (from F₀: `a₁X+a₂X²+a₃X³`, `a₂X+a₃X²`, `a₃X`) that make a
/// given polynomial in X.
const fn combination(wanted: [f64; 3]) -> [f64; 3] {
    let first = wanted[2] / A1[2];
    let second = (wanted[1] - first * A1[1]) / A1[2];
    let third = (wanted[0] - first * A1[0] - second * A1[1]) / A1[2];
    [first, second, third]
}

fn sum(a: [f64; 3]) -> f64 {
    a[0] + a[1] + a[2]
}

/// Scratch and matrices for the steps of one system.
#[derive(Debug, Clone)]
pub(super) struct Stages<R> {
    ends: Vec<Ends>,
    pattern: Vec<(usize, usize)>,
    capacities: Vec<R>,
    balance: Balance<R>,
    /// Flow and store of each gradient.
    places: Vec<[u32; 2]>,
    /// `C/(γh)` of the step that is factored.
    inertia: Vec<R>,
    lu: SparseLu<R>,
    /// Slots of each gradient in the rows of its flow's ends.
    slots: Vec<[Option<usize>; 2]>,
    diagonals: Vec<usize>,
    tolerances: Vec<f64>,
    /// Flows, gradients and rates at the start of the step.
    start_flows: Vec<R>,
    gradients: Vec<R>,
    start_rates: Vec<R>,
    trial_state: Vec<R>,
    trial_flows: Vec<R>,
    /// What the gradients leave out at the end and in the middle of the step, by flow.
    end_rest: Vec<R>,
    middle_rest: Vec<R>,
    /// Linear and quadratic part of `r` over the step, by store.
    linear: Vec<R>,
    quadratic: Vec<R>,
    /// Slope of `r` in the last step accepted, by store and second; none after a jump.
    slope: Vec<R>,
    has_slope: bool,
    /// Quadrature error of the last probe, by store, per h³.
    curvature: Vec<R>,
    solves: [Vec<R>; 3],
    changes: [Vec<R>; 3],
    error: Vec<R>,
    scratch: Vec<R>,
    factored_for_s: f64,
    probed: bool,
}

/// Judgement of a trial step.
#[derive(Debug, Clone, Copy)]
pub(super) struct Trial {
    /// Estimated error over tolerance, the largest of all stores.
    pub(super) error: f64,
    /// Store with that error.
    pub(super) store: usize,
}

impl<R: Real> Stages<R> {
    pub(super) fn new<S: System<R> + ?Sized>(system: &S, tolerances: &[f64]) -> Self {
        let ends = system.ends().to_vec();
        let pattern = system.gradient_pattern().to_vec();
        let capacities = system.capacities().to_vec();
        let (stores, flows) = (capacities.len(), ends.len());
        let entries: Vec<_> = pattern
            .iter()
            .flat_map(|&(flow, store)| [ends[flow].from, ends[flow].to].map(|end| (end, store)))
            .filter_map(|(end, store)| end.map(|row| (row, store)))
            .collect();
        let lu = SparseLu::new(stores, &entries);
        let slots = pattern
            .iter()
            .map(|&(flow, store)| {
                [ends[flow].from, ends[flow].to].map(|end| end.and_then(|row| lu.slot(row, store)))
            })
            .collect();
        let diagonals = (0..stores).filter_map(|row| lu.slot(row, row)).collect();
        let by_store = || vec![R::splat(0.0); stores];
        let by_flow = || vec![R::splat(0.0); flows];
        Self {
            balance: Balance::new(stores, &ends),
            places: pattern
                .iter()
                .map(|&(flow, store)| [index(flow), index(store)])
                .collect(),
            inertia: by_store(),
            gradients: vec![R::splat(0.0); pattern.len()],
            lu,
            slots,
            diagonals,
            tolerances: tolerances.to_vec(),
            start_flows: by_flow(),
            start_rates: by_store(),
            trial_state: by_store(),
            trial_flows: by_flow(),
            end_rest: by_flow(),
            middle_rest: by_flow(),
            linear: by_store(),
            quadratic: by_store(),
            slope: by_store(),
            has_slope: false,
            curvature: by_store(),
            solves: [by_store(), by_store(), by_store()],
            changes: [by_store(), by_store(), by_store()],
            error: by_store(),
            scratch: by_store(),
            factored_for_s: f64::NAN,
            probed: false,
            ends,
            pattern,
            capacities,
        }
    }

    /// Whether these stages were made for a system of this form.
    pub(super) fn fits<S: System<R> + ?Sized>(&self, system: &S) -> bool {
        self.ends.as_slice() == system.ends()
            && self.pattern.as_slice() == system.gradient_pattern()
            && self.capacities.len() == system.capacities().len()
    }

    /// Forgets the past after a jump of the flows.
    pub(super) fn forget(&mut self) {
        self.has_slope = false;
        self.curvature.fill(R::splat(0.0));
    }

    /// Evaluates flows and gradients at the start of a step.
    pub(super) fn begin<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        time_s: f64,
        state: &[R],
        stats: &mut Stats,
    ) -> Result<(), Fault> {
        self.capacities.copy_from_slice(system.capacities());
        self.balance.set_capacities(&self.capacities);
        system.flows(time_s, state, &mut self.start_flows)?;
        stats.flow_evaluations += 1;
        system.gradients(time_s, state, &mut self.gradients);
        stats.gradient_evaluations += 1;
        self.factored_for_s = f64::NAN;
        if !(all_finite(&self.start_flows) && all_finite(&self.gradients) && all_finite(state)) {
            return Err(Fault::NotFinite { time_s });
        }
        self.balance.rates(&self.start_flows, &mut self.start_rates);
        Ok(())
    }

    /// Tries a step; `probe` asks for the evaluation in the middle whatever the estimate.
    pub(super) fn attempt<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        time_s: f64,
        state: &[R],
        step_s: f64,
        probe: bool,
        stats: &mut Stats,
    ) -> Result<Trial, Fault> {
        self.factor(step_s, stats);
        if self.has_slope {
            assign(&mut self.linear, &self.slope, |slope| slope * step_s);
        } else {
            self.linear.fill(R::splat(0.0));
        }
        self.quadratic.fill(R::splat(0.0));
        let mut solves = std::mem::take(&mut self.solves);
        let mut changes = std::mem::take(&mut self.changes);
        let result = self.attempt_with(
            system,
            time_s,
            state,
            step_s,
            probe,
            stats,
            &mut solves,
            &mut changes,
        );
        self.solves = solves;
        self.changes = changes;
        result
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "parts of one step, split to be read"
    )]
    fn attempt_with<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        time_s: f64,
        state: &[R],
        step_s: f64,
        probe: bool,
        stats: &mut Stats,
        solves: &mut [Vec<R>; 3],
        changes: &mut [Vec<R>; 3],
    ) -> Result<Trial, Fault> {
        self.probed = false;
        self.solve_all(true, solves);
        // The end of the step, with the slope of the step before.
        combine(&mut self.scratch, solves, [step_s, 0.0, 0.0]);
        self.rest_at(system, time_s + step_s, state, false, stats)?;
        self.balance.rates(&self.end_rest, &mut self.scratch);
        let Self {
            scratch,
            linear,
            error,
            curvature,
            ..
        } = self;
        for (((new, old), error), &curvature) in scratch
            .iter_mut()
            .zip(linear.iter_mut())
            .zip(error.iter_mut())
            .zip(&*curvature)
        {
            let total = *new;
            let change = total - *old;
            *error = change.abs() * (step_s / 12.0) + curvature.abs() * (step_s * step_s * step_s);
            *old = change;
            *new = total;
        }
        self.solve_all(false, changes);
        add(solves, changes);
        std::mem::swap(&mut self.linear, &mut self.scratch);
        let mut trial = self.judge(step_s, solves, true);
        if probe || !self.has_slope || trial.error > 0.5 {
            if trial.error > 1.0 {
                // No look at the middle can mend what the linear part misses.
                let linear = self.judge(step_s, solves, false);
                if linear.error > 1.0 {
                    return Ok(linear);
                }
            }
            self.probe(system, time_s, state, step_s, stats, solves, changes)?;
            trial = self.judge(step_s, solves, true);
        }
        Ok(trial)
    }

    /// Evaluates the middle of the step and replaces the straight line by a parabola.
    #[expect(
        clippy::too_many_arguments,
        reason = "parts of one step, split to be read"
    )]
    fn probe<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        time_s: f64,
        state: &[R],
        step_s: f64,
        stats: &mut Stats,
        solves: &mut [Vec<R>; 3],
        changes: &mut [Vec<R>; 3],
    ) -> Result<(), Fault> {
        combine(
            &mut self.scratch,
            solves,
            MIDDLE.map(|weight| weight * step_s),
        );
        self.rest_at(system, time_s + 0.5 * step_s, state, true, stats)?;
        stats.probes += 1;
        self.balance.rates(&self.middle_rest, &mut self.scratch);
        let stores = self
            .scratch
            .iter()
            .zip(&mut self.linear)
            .zip(&mut self.quadratic)
            .zip(self.error.iter_mut().zip(&mut self.curvature));
        for (((&middle, linear), quadratic), (error, curvature)) in stores {
            let bend = *linear - middle * 2.0;
            // The parabola's linear part less the straight line's, until it has been solved for.
            *quadratic = bend * 2.0;
            *linear = bend * -2.0;
            let missed = bend * (-step_s / 3.0);
            *error = missed.abs() * PROBED_SHARE;
            *curvature = missed / (step_s * step_s * step_s);
        }
        self.solve_all(false, changes);
        add(solves, changes);
        self.probed = true;
        Ok(())
    }

    /// What flowed in the first `share` of the step that was tried last, and the state then, from
    /// it, so that stores and totals agree to rounding.
    ///
    /// The state inside the step is the rational function that meets value and slope there and
    /// tends to the right limit for stiff stores; its integral is one more function of the same
    /// kind, and so is that of `r` (see `chained`).
    pub(super) fn reach(
        &mut self,
        share: f64,
        step_s: f64,
        state: &[R],
        next: &mut [R],
        totals: &mut [R],
    ) {
        let once = chained(coefficients(share, 0.5 * share * share));
        let twice = chained(once);
        // Integral of the change of state.
        combine(
            &mut self.scratch,
            &self.solves,
            combination(once).map(|weight| weight * step_s * step_s),
        );
        // Rest at the time σ of the step: `(4 middle − end) σ + (2 end − 4 middle) σ²`, or
        // `end σ`; these are its integrals.
        let [by_end, by_middle] = if self.probed {
            let (linear, quadratic) = (sum(once), 2.0 * sum(twice));
            [2.0 * quadratic - linear, 4.0 * (linear - quadratic)]
        } else {
            [sum(once), 0.0]
        };
        for (((total, &start), &end), &middle) in totals
            .iter_mut()
            .zip(&self.start_flows)
            .zip(&self.end_rest)
            .zip(&self.middle_rest)
        {
            *total = (start * share + end * by_end + middle * by_middle) * step_s;
        }
        for (&[flow, store], &gradient) in self.places.iter().zip(&self.gradients) {
            totals[flow as usize] += gradient * self.scratch[store as usize];
        }
        self.balance.rates(totals, &mut self.scratch);
        for ((next, &now), &change) in next.iter_mut().zip(state).zip(&self.scratch) {
            *next = now + change;
        }
    }

    /// Keeps what the accepted step has taught for the next.
    pub(super) fn keep_slope(&mut self, step_s: f64) {
        self.balance.rates(&self.end_rest, &mut self.scratch);
        assign(&mut self.slope, &self.scratch, |rest| rest / step_s);
        self.has_slope = true;
    }

    /// Flows at the start plus the change in `scratch`, less what the gradients say.
    fn rest_at<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        time_s: f64,
        state: &[R],
        middle: bool,
        stats: &mut Stats,
    ) -> Result<(), Fault> {
        for ((trial, &now), &change) in self.trial_state.iter_mut().zip(state).zip(&self.scratch) {
            *trial = now + change;
        }
        if !all_finite(&self.trial_state) {
            return Err(Fault::NotFinite { time_s });
        }
        stats.flow_evaluations += 1;
        system.flows(time_s, &self.trial_state, &mut self.trial_flows)?;
        if !all_finite(&self.trial_flows) {
            return Err(Fault::NotFinite { time_s });
        }
        let rest = if middle {
            &mut self.middle_rest
        } else {
            &mut self.end_rest
        };
        for ((rest, &trial), &start) in rest
            .iter_mut()
            .zip(&self.trial_flows)
            .zip(&self.start_flows)
        {
            *rest = trial - start;
        }
        for (&[flow, store], &gradient) in self.places.iter().zip(&self.gradients) {
            rest[flow as usize] -= gradient * self.scratch[store as usize];
        }
        Ok(())
    }

    /// Factors `C/(γh) − J` unless that was done for this step length.
    fn factor(&mut self, step_s: f64, stats: &mut Stats) {
        if (self.factored_for_s - step_s).abs() <= 0.0 {
            return;
        }
        let values = self.lu.values_mut();
        values.fill(R::splat(0.0));
        let scale = 1.0 / (GAMMA * step_s);
        assign(&mut self.inertia, &self.capacities, |capacity| {
            capacity * scale
        });
        for (&slot, &inertia) in self.diagonals.iter().zip(&self.inertia) {
            values[slot] = inertia;
        }
        for (&[from, to], &gradient) in self.slots.iter().zip(&self.gradients) {
            if let Some(slot) = from {
                values[slot] += gradient;
            }
            if let Some(slot) = to {
                values[slot] -= gradient;
            }
        }
        self.lu.factor();
        self.factored_for_s = step_s;
        stats.factorisations += 1;
    }

    /// `w₃ = X b₃`, `w₂ = X (b₂ + w₃)`, `w₁ = X (b₁ + w₂)`, where the `b` come from the parts of
    /// `r` and, if asked, from the rates at the start.
    fn solve_all(&mut self, with_start: bool, solves: &mut [Vec<R>; 3]) {
        for level in (0..3).rev() {
            let [a1, a2, a3] = [A1[level], A2[level], 2.0 * A3[level]];
            let (now, earlier) = solves.split_at_mut(level + 1);
            let now = now[level].as_mut_slice();
            let parts = self
                .linear
                .iter()
                .zip(&self.quadratic)
                .zip(&self.start_rates);
            for (now, ((&linear, &quadratic), &start)) in now.iter_mut().zip(parts) {
                *now = linear * a2 + quadratic * a3;
                if with_start {
                    *now += start * a1;
                }
            }
            if let Some(earlier) = earlier.first() {
                for (now, &earlier) in now.iter_mut().zip(earlier) {
                    *now += earlier;
                }
            }
            for (now, &inertia) in now.iter_mut().zip(&self.inertia) {
                *now = *now * inertia;
            }
            self.lu.solve(now);
        }
    }

    /// Error estimate of the step from its solves and, if asked, the quadrature error in `error`.
    fn judge(&mut self, step_s: f64, solves: &[Vec<R>; 3], with_quadrature: bool) -> Trial {
        let weight = step_s * LINEAR_ERROR / (GAMMA * GAMMA * GAMMA);
        combine(&mut self.scratch, solves, THIRD.map(|third| third * weight));
        let parts = self.start_rates.iter().zip(&self.error).zip(&self.inertia);
        for (scratch, ((&start, &quadrature), &inertia)) in self.scratch.iter_mut().zip(parts) {
            let mut error = (*scratch - start * weight).abs();
            if with_quadrature {
                error += quadrature;
            }
            *scratch = error * inertia;
        }
        self.lu.solve(&mut self.scratch);
        let mut worst = Trial {
            error: 0.0,
            store: 0,
        };
        for (store, (error, tolerance)) in self.scratch.iter().zip(&self.tolerances).enumerate() {
            let error = error.abs().largest() / tolerance;
            if error > worst.error || error.is_nan() {
                worst = Trial { error, store };
            }
        }
        worst
    }
}

/// Networks have far fewer flows than `u32` holds.
fn index(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

fn combine<R: Real>(out: &mut [R], solves: &[Vec<R>; 3], weights: [f64; 3]) {
    let [first, second, third] = solves;
    for (((out, &first), &second), &third) in out.iter_mut().zip(first).zip(second).zip(third) {
        *out = first * weights[0] + second * weights[1] + third * weights[2];
    }
}

fn add<R: Real>(solves: &mut [Vec<R>; 3], changes: &[Vec<R>; 3]) {
    for (solve, change) in solves.iter_mut().zip(changes) {
        for (value, &change) in solve.iter_mut().zip(change) {
            *value += change;
        }
    }
}

fn assign<R: Real>(out: &mut [R], from: &[R], map: impl Fn(R) -> R) {
    for (out, &from) in out.iter_mut().zip(from) {
        *out = map(from);
    }
}

/// Whether every lane of every value is a finite number.
pub(super) fn all_finite<R: Real>(values: &[R]) -> bool {
    // Several sums side by side: one alone would wait for each addition.
    let mut sums = [R::splat(0.0); 8];
    let chunks = values.chunks_exact(8);
    for (sum, &value) in sums.iter_mut().zip(chunks.remainder()) {
        *sum += value * 0.0;
    }
    for chunk in chunks {
        for (sum, &value) in sums.iter_mut().zip(chunk) {
            *sum += value * 0.0;
        }
    }
    sums.iter().all(|sum| sum.abs().largest() <= 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_value_that_is_not_finite_is_found_wherever_it_is() {
        for length in [1, 7, 8, 9, 31] {
            assert!(all_finite(&vec![1e300; length]));
            for at in 0..length {
                for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
                    let mut values = vec![2.0; length];
                    values[at] = bad;
                    assert!(!all_finite(&values));
                }
            }
        }
    }

    #[test]
    fn coefficients_meet_their_order_conditions_and_vanish_at_infinity() {
        // R(z) = 1 + z Σ a_i X^i with X = 1/(1 − γz) against the exponential.
        let stability = |z: f64| {
            let x = 1.0 / (1.0 - GAMMA * z);
            1.0 + z * x * (A1[0] + x * (A1[1] + x * A1[2]))
        };
        for z in [0.01, 0.02, 0.04] {
            let missed = stability(-z) - (-z).exp();
            assert!(
                (missed / (LINEAR_ERROR * z.powi(4)) - 1.0).abs() < 2.0 * z,
                "{z} {missed:e}"
            );
        }
        assert!(stability(-1e9).abs() < 1e-8);
        assert!((1..100_000).all(|tenth| stability(-0.1 * f64::from(tenth)).abs() < 1.0));
        assert!((sum(A2) - 1.0 / 2.0).abs() < 1e-14 && (sum(A3) - 1.0 / 6.0).abs() < 1e-14);
    }
}
