//! One linearly implicit step: formula, error estimate and flow totals.
//!
//! About the start of a step, `C y' = F₀ + J y + r(s)`, where `y` is the change of state, `s` the
//! time since the start, `J` the assembled partial derivatives and `r` what they leave out: forcing
//! that varies with time, and curvature of the flows. `r` is the parabola through what is found in the
//! middle and at the end of the step. The linear equation is then solved by rational functions with one
//! real pole, `X = (I − γ h C⁻¹J)⁻¹`:
//!
//! `y = h (a₁X + a₂X² + a₃X³ + a₄X⁴ + a₅X⁵)` applied to `F₀`, and alike for `r`
//!
//! with γ = 0.2780538 (L-stable, fifth order; Nørsett 1974, from memory). Applying such functions
//! to a linear part and interpolating the rest is the adaptive Runge–Kutta idea of Strehmel &
//! Weiner 1982 (from memory). Against ROS2 (Verwer, Spee, Blom & Hundsdorfer 1999), which costs as
//! many flow evaluations:
//!
//! * ROS2 without ∂F/∂t lets a stiff store overshoot what drives it by 1.7 times the change of the
//!   driver within the step. Here linear forcing is followed exactly.
//! * The linear part is of fifth order, so that what is left to err is `r`; the solves are cheap beside
//!   the flows.
//! * `J` may be wrong: `r` takes up the difference, and second order remains for any `J`.
//!
//! The middle is looked at where the step is predicted to be with `r` going on as in the step before, the
//! end where it is predicted to be with what was found in the middle. That is so near to where the step
//! ends that the next one takes its flows and gradients from there: a step costs two evaluations.
//!
//! The error estimate has two parts, both passed through `X` so that stores which settle within
//! the step do not ask for short ones: the leading error term of the rational function, and a share of
//! what the parabola adds to a straight line, since `r` has kinks where flows turn round.
//!
//! An implicit step much longer than the time in which something grows holds it down, and what should
//! have turned over stays where it was without any sign. So a step may be no longer than what grows
//! takes to grow by a factor of e. That is read off the pivots of the step's matrix and, where a system
//! says that its stores may run away, off those with the gradients at the end of the step too; there
//! the error is passed through the `X` of either end.
//!
//! All of it is written over numbers that may be lanes of several designs, each at its own time with
//! its own step. What is to stay as it is in a lane is masked, so that nothing that is done for one
//! design touches another.

mod growth;

use std::ops::Range;

use super::balance::Balance;
use super::columns::{add, combine, finite, give, hand_over, store};
use super::formula::{
    A1, A2, A3, BEND_OF_JUMPS, BEND_OF_KINKS, FIFTH, GAMMA, LINEAR_ERROR, MIDDLE, MOST_GROWTH,
    SOLVES, at_rest, chained_lanes, coefficients_lanes, combination_lanes,
};
use super::lu::SparseLu;
use super::real::{Mask, Work};
use super::{Ends, Fault, Real, System};

use growth::{fill, growth_of};

/// State, flows and matrices of the steps of a system, and where its march has got to.
#[derive(Debug, Clone)]
pub(crate) struct Stages<R: Real> {
    ends: Vec<Ends>,
    pattern: Vec<(usize, usize)>,
    capacities: Vec<R>,
    balance: Balance<R>,
    /// Flow and store of each gradient.
    terms: Vec<(u32, u32)>,
    /// What a look inside a step works out.
    watch: Watch,
    /// `C/(γh)` of the step that is factored.
    inertia: Vec<R>,
    lu: SparseLu<R>,
    /// Slots of each gradient in the rows of its flow's ends.
    slots: Vec<[Option<usize>; 2]>,
    diagonals: Vec<usize>,
    inverse_tolerances: Vec<R>,
    /// Factors with the gradients at the end of the step, where stores may run away, and the error
    /// passed through them.
    end_lu: Option<SparseLu<R>>,
    end_error: Vec<R>,
    /// State that has been handed out last, and the totals since they were emptied.
    pub(crate) state: Vec<R>,
    pub(crate) totals: Vec<R>,
    /// Totals that have been added up by [`Self::add_totals`].
    pub(crate) sums: Vec<R>,
    /// State, flows, gradients and rates at the start of the step.
    pub(crate) start: Vec<R>,
    start_flows: Vec<R>,
    gradients: Vec<R>,
    start_rates: Vec<R>,
    trial_state: Vec<R>,
    trial_flows: Vec<R>,
    trial_gradients: Vec<R>,
    /// State and totals at the end of the step, or inside it where that was looked at.
    pub(crate) next: Vec<R>,
    step_totals: Vec<R>,
    /// Totals of the step that have been handed out.
    handed_totals: Vec<R>,
    reached: Vec<R>,
    reached_totals: Vec<R>,
    /// What the gradients leave out at the end and in the middle of the step, by flow.
    rest: Vec<R>,
    end_rest: Vec<R>,
    middle_rest: Vec<R>,
    /// Rates of what the gradients leave out in the middle of the step.
    middle_rates: Vec<R>,
    /// State that was predicted for the end of the step, flows and gradients there, and how the rates of
    /// what the gradients leave out grow in a second there.
    end_state: Vec<R>,
    end_flows: Vec<R>,
    end_gradients: Vec<R>,
    end_slope: Vec<R>,
    /// Linear and quadratic part of `r` over the step, by store.
    linear: Vec<R>,
    quadratic: Vec<R>,
    /// Slope of `r` in the last step accepted, by store and second; none after a jump.
    slope: Vec<R>,
    has_slope: R::Mask,
    solves: [Vec<R>; SOLVES],
    trial_solves: [Vec<R>; SOLVES],
    changes: [Vec<R>; SOLVES],
    error: Vec<R>,
    scratch: Vec<R>,
    /// Largest error over tolerance and its store, of the step judged last.
    judged: (R, R),
    /// By how many e-folds the fastest growing change grows in the step that is factored, and the
    /// store where that shows; not above zero where none grows.
    growth: (R, R),
    /// Lanes in which what was checked last is finite.
    defined: R::Mask,
    /// Lanes in which a system is marched: nobody reads the others.
    seated: R::Mask,
    /// Lanes in which the start of the step in hand was evaluated.
    anew: R::Mask,
    /// What went wrong last, lane by lane.
    faults: Vec<Option<Fault>>,
}

/// What is looked at inside a step.
#[derive(Debug, Clone)]
struct Watch {
    /// Stores that switches look at.
    stores: Vec<usize>,
    /// Flows that are told, each with its gradients.
    flows: Vec<(usize, Range<usize>)>,
}

impl Watch {
    fn new<R: Real, S: System<R> + ?Sized>(system: &S) -> Self {
        let pattern = system.gradient_pattern();
        let before = |flow| pattern.partition_point(|of| of.0 < flow);
        let flows = system.told().into_iter();
        Self {
            stores: system.watched(),
            flows: flows
                .map(|flow| (flow, before(flow)..before(flow + 1)))
                .collect(),
        }
    }
}

/// The start of a step, lane by lane.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Start<R: Real> {
    /// Lanes that go on from the end of the step before.
    pub(crate) kept: R::Mask,
    /// Lanes of which the step before tells nothing.
    pub(crate) jumped: R::Mask,
    /// Time, s.
    pub(crate) time_s: R,
}

/// A step to be tried, lane by lane.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Attempt<R: Real> {
    /// Lanes it is tried in.
    pub(crate) lanes: R::Mask,
    /// Its start, s.
    pub(crate) time_s: R,
    /// Its length, s.
    pub(crate) step_s: R,
}

/// Judgement of a step that was tried, lane by lane.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Judgement<R: Real> {
    /// Estimated error over tolerance, the largest of all stores.
    pub(crate) error: R,
    /// Store with that error.
    pub(crate) store: R,
    /// Where the step was made: elsewhere something was undefined.
    pub(crate) sound: R::Mask,
    /// Where the state at the end is finite.
    pub(crate) finite: R::Mask,
}

/// What is to be handed out of the step in hand, lane by lane.
#[derive(Debug, Clone, Copy)]
pub(crate) struct HandOut<R: Real> {
    /// Lanes in which the totals start anew.
    pub(crate) anew: R::Mask,
    /// Lanes in which the step is handed out to its end.
    pub(crate) whole: R::Mask,
    /// Lanes in which it is handed out up to a share of it.
    pub(crate) part: R::Mask,
    /// Those of them in which only what is told inside a step is wanted.
    pub(crate) glance: R::Mask,
    /// That share.
    pub(crate) share: R,
    /// Length the step was tried with, s.
    pub(crate) step_s: R,
}

impl<R: Real> Stages<R> {
    pub(crate) fn new<S: System<R> + ?Sized>(system: &S) -> Self {
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
        let solves = || std::array::from_fn(|_| by_store());
        let mut balance = Balance::new(stores, &ends);
        balance.set_capacities(&capacities);
        Self {
            balance,
            terms: pattern
                .iter()
                .map(|&(flow, store)| (index(flow), index(store)))
                .collect(),
            watch: Watch::new(system),
            inertia: by_store(),
            gradients: vec![R::splat(0.0); pattern.len()],
            trial_gradients: vec![R::splat(0.0); pattern.len()],
            end_lu: system.may_run_away().then(|| lu.clone()),
            end_error: by_store(),
            lu,
            slots,
            diagonals,
            inverse_tolerances: vec![R::splat(1.0); stores],
            state: by_store(),
            totals: by_flow(),
            sums: by_flow(),
            start: by_store(),
            start_flows: by_flow(),
            start_rates: by_store(),
            trial_state: by_store(),
            trial_flows: by_flow(),
            next: by_store(),
            step_totals: by_flow(),
            handed_totals: by_flow(),
            reached: by_store(),
            reached_totals: by_flow(),
            end_rest: by_flow(),
            middle_rest: by_flow(),
            middle_rates: by_store(),
            end_state: by_store(),
            end_flows: by_flow(),
            end_gradients: vec![R::splat(0.0); pattern.len()],
            end_slope: by_store(),
            rest: by_flow(),
            anew: R::Mask::NONE,
            linear: by_store(),
            quadratic: by_store(),
            slope: by_store(),
            has_slope: R::Mask::NONE,
            solves: solves(),
            trial_solves: solves(),
            changes: solves(),
            error: by_store(),
            scratch: by_store(),
            judged: (R::splat(0.0), R::splat(0.0)),
            growth: (R::splat(0.0), R::splat(0.0)),
            defined: R::Mask::NONE,
            seated: R::Mask::ALL,
            faults: vec![None; R::WIDTH],
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

    /// Takes over the system's capacities where they have changed.
    pub(crate) fn take_capacities(&mut self, capacities: &[R]) {
        if self.capacities.as_slice() != capacities {
            self.capacities.copy_from_slice(capacities);
            self.balance.set_capacities(capacities);
        }
    }

    /// Says in which lanes a system is marched.
    pub(crate) fn set_seated(&mut self, lanes: R::Mask) {
        self.seated = lanes;
    }

    /// Sets the error tolerated in each store of a lane.
    pub(crate) fn set_tolerances(&mut self, lane: usize, tolerances: &[f64]) {
        for (inverse, tolerance) in self.inverse_tolerances.iter_mut().zip(tolerances) {
            inverse.set_lane(lane, 1.0 / tolerance);
        }
    }

    /// Whether the start of the step in hand was evaluated in a lane.
    pub(crate) fn is_anew(&self, lane: usize) -> bool {
        self.anew.has(lane)
    }

    /// What went wrong last in a lane.
    pub(crate) fn take_fault(&mut self, lane: usize, time_s: f64) -> Fault {
        let fault = self.faults.get_mut(lane).and_then(Option::take);
        fault.unwrap_or(Fault::NotFinite { time_s })
    }

    /// Forgets the past after a jump of the flows.
    #[inline(always)]
    fn forget(&mut self, lanes: R::Mask) {
        self.has_slope = self.has_slope.and(lanes.not());
    }

    /// Keeps what the accepted step has taught for the next.
    #[inline(always)]
    fn keep_slope(&mut self, lanes: R::Mask) {
        store(lanes, &mut self.slope, &self.end_slope);
        self.has_slope = self.has_slope.or(lanes);
    }

    /// Takes flows and gradients at the state in place, the start of a step. Where the step before has
    /// looked there, and nothing but what the system can tell has changed since, they are its own,
    /// carried along the gradients from the end that it has predicted to the one that it has found;
    /// elsewhere they are evaluated. Returns the lanes in which they are defined.
    pub(crate) fn begin<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        start: &Start<R>,
    ) -> R::Mask {
        let Start {
            kept,
            jumped,
            time_s,
        } = *start;
        let mut carried = R::Mask::NONE;
        self.forget(jumped);
        if kept.any() {
            self.keep_slope(kept);
            self.phase(Phase::CarryOn);
            system.attend(kept);
            carried = system.bring_over(time_s, &mut self.trial_flows);
            self.phase(Phase::Begin { lanes: carried });
            carried = carried.and(self.defined);
        }
        let anew = kept.or(jumped).and(carried.not());
        let mut sound = carried;
        if anew.any() {
            self.trial_state.copy_from_slice(&self.state);
            let defined = self.evaluate(system, anew, time_s);
            system.gradients(time_s, &self.trial_state, &mut self.trial_gradients);
            self.phase(Phase::Begin { lanes: anew });
            sound = sound.or(defined.and(self.defined));
        }
        self.anew = self.anew.and(carried.not()).or(anew);
        sound
    }

    /// Flows at the trial state; returns the lanes, of those given, in which they are defined.
    fn evaluate<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        lanes: R::Mask,
        time_s: R,
    ) -> R::Mask {
        self.phase(Phase::Check(Checked::State));
        let sound = lanes.and(self.defined);
        if !sound.any() {
            return sound;
        }
        system.attend(sound);
        if let Err(fault) = system.flows(time_s, &self.trial_state, &mut self.trial_flows) {
            for slot in &mut self.faults {
                *slot = Some(fault.clone());
            }
            return R::Mask::NONE;
        }
        self.phase(Phase::Check(Checked::Flows));
        let lost = sound.and(self.defined.not());
        if lost.any() {
            for (lane, slot) in self.faults.iter_mut().enumerate() {
                if lost.has(lane) {
                    *slot = system.fault(lane, time_s.lane(lane));
                }
            }
        }
        sound.and(self.defined)
    }

    /// Tries a step and works out where it ends.
    pub(crate) fn attempt<S: System<R> + ?Sized>(
        &mut self,
        system: &mut S,
        attempt: &Attempt<R>,
    ) -> Judgement<R> {
        let Attempt {
            lanes,
            time_s,
            step_s,
        } = *attempt;
        self.phase(Phase::Predict { step_s });
        let sound = self.evaluate(system, lanes, time_s + step_s * 0.5);
        self.phase(Phase::Middle { lanes, step_s });
        let sound = self.evaluate(system, sound, time_s + step_s);
        system.gradients(
            time_s + step_s,
            &self.trial_state,
            &mut self.trial_gradients,
        );
        if self.end_lu.is_some() {
            self.phase(Phase::LookForGrowth { step_s });
        }
        self.phase(Phase::Bend { lanes, step_s });
        let (error, store) = self.judged;
        self.phase(Phase::End { lanes, step_s });
        Judgement {
            error,
            store,
            sound,
            finite: self.defined,
        }
    }

    /// Works out [`Self::next`] at a share of the step that was tried last, for those stores that
    /// switches look at.
    pub(crate) fn look(&mut self, lanes: R::Mask, share: R, step_s: R) {
        self.phase(Phase::Look {
            lanes,
            share,
            step_s,
        });
    }

    /// Adds the totals to the sums.
    pub(crate) fn add_totals(&mut self, lanes: R::Mask) {
        self.phase(Phase::AddTotals { lanes });
    }

    /// Advances the state to the end of the step in hand, or to a place inside it.
    pub(crate) fn hand_out(&mut self, out: &HandOut<R>) {
        self.phase(Phase::HandOut(out));
    }

    /// Does a part of the arithmetic of a step between evaluations of the system.
    fn phase(&mut self, phase: Phase<'_, R>) {
        R::wide(Phased {
            stages: self,
            phase: &phase,
        });
    }

    /// Flows and gradients at the state in place, from those at the end that the step before predicted.
    #[inline(always)]
    fn carry_on(&mut self) {
        self.trial_state.copy_from_slice(&self.state);
        let ends = self.trial_state.iter().zip(&self.end_state);
        for (missed, (&found, &predicted)) in self.scratch.iter_mut().zip(ends) {
            R::apart();
            *missed = found - predicted;
        }
        self.trial_flows.copy_from_slice(&self.end_flows);
        self.trial_gradients.copy_from_slice(&self.end_gradients);
        for (&(flow, store), &gradient) in self.terms.iter().zip(&self.end_gradients) {
            R::apart();
            self.trial_flows[flow as usize] += gradient * self.scratch[store as usize];
        }
    }

    /// Takes over flows and gradients at the start of a step.
    #[inline(always)]
    fn take_start(&mut self, lanes: R::Mask) {
        self.defined = finite(&self.trial_gradients).and(finite(&self.trial_state));
        let others = self.seated.and(lanes.not());
        hand_over(lanes, others, &mut self.start, &mut self.trial_state);
        hand_over(lanes, others, &mut self.start_flows, &mut self.trial_flows);
        let gradients = &mut self.trial_gradients;
        hand_over(lanes, others, &mut self.gradients, gradients);
        self.balance.rates(&self.start_flows, &mut self.scratch);
        hand_over(lanes, others, &mut self.start_rates, &mut self.scratch);
        for handed in &mut self.handed_totals {
            R::apart();
            *handed = R::select(lanes, R::splat(0.0), *handed);
        }
    }

    /// The end of the step, with the slope of the step before.
    #[inline(always)]
    fn predict(&mut self, step_s: R) {
        self.factor(step_s);
        let zero = R::splat(0.0);
        for (linear, &slope) in self.linear.iter_mut().zip(&self.slope) {
            R::apart();
            *linear = R::select(self.has_slope, slope * step_s, zero);
        }
        self.quadratic.fill(zero);
        let mut solves = std::mem::take(&mut self.trial_solves);
        self.solve_all(true, &mut solves);
        self.set_trial(&solves, MIDDLE.map(|weight| step_s * weight));
        self.trial_solves = solves;
    }

    /// A trial state from a combination of solves, whose change stays in `scratch`.
    #[inline(always)]
    fn set_trial(&mut self, solves: &[Vec<R>; SOLVES], weights: [R; SOLVES]) {
        combine(&mut self.scratch, solves, weights);
        let starts = self.start.iter().zip(&self.scratch);
        for (trial, (&start, &change)) in self.trial_state.iter_mut().zip(starts) {
            R::apart();
            *trial = start + change;
        }
    }

    /// Flows at the trial state less those at the start and what the gradients say, and their net
    /// rates in `scratch`, which holds the change of state until then.
    #[inline(always)]
    fn take_rest(&mut self, lanes: R::Mask, middle: bool) {
        let pairs = self.trial_flows.iter().zip(&self.start_flows);
        for (rest, (&trial, &start)) in self.rest.iter_mut().zip(pairs) {
            R::apart();
            *rest = trial - start;
        }
        for (&(flow, store), &gradient) in self.terms.iter().zip(&self.gradients) {
            R::apart();
            self.rest[flow as usize] -= gradient * self.scratch[store as usize];
        }
        self.balance.rates(&self.rest, &mut self.scratch);
        let kept = if middle {
            &mut self.middle_rest
        } else {
            &mut self.end_rest
        };
        let others = self.seated.and(lanes.not());
        hand_over(lanes, others, kept, &mut self.rest);
    }

    /// The end of the step, with what was found in its middle.
    ///
    /// What the prediction has missed of `r` there, drawn out as a straight line, moves the end by
    /// `h (γ X + (½ − γ) X²)` times its double: right for what is slow and for what settles at once.
    #[inline(always)]
    fn set_end(&mut self, lanes: R::Mask, step_s: R) {
        self.take_rest(lanes, true);
        std::mem::swap(&mut self.middle_rates, &mut self.scratch);
        let rates = self.middle_rates.iter().zip(&self.linear);
        for ((missed, (&found, &linear)), &inertia) in
            self.error.iter_mut().zip(rates).zip(&self.inertia)
        {
            R::apart();
            *missed = (found * 2.0 - linear) * inertia;
        }
        self.lu.solve(&mut self.error);
        for ((twice, &once), &inertia) in
            self.scratch.iter_mut().zip(&self.error).zip(&self.inertia)
        {
            R::apart();
            *twice = once * inertia;
        }
        self.lu.solve(&mut self.scratch);
        let states = self.trial_state.iter_mut().zip(&self.start);
        let changes = self
            .scratch
            .iter_mut()
            .zip(&self.error)
            .zip(&self.trial_solves[0]);
        for ((trial, &start), ((change, &once), &predicted)) in states.zip(changes) {
            R::apart();
            *change = (predicted + once * GAMMA + *change * (0.5 - GAMMA)) * step_s;
            *trial = start + *change;
        }
    }

    /// Takes the parabola through what was found in the middle and at the end.
    #[inline(always)]
    fn bend(&mut self, lanes: R::Mask, step_s: R) {
        self.take_rest(lanes, false);
        let per_step = R::splat(1.0) / step_s;
        let share = if self.end_lu.is_some() {
            BEND_OF_JUMPS
        } else {
            BEND_OF_KINKS
        };
        let found = self.middle_rates.iter().zip(&self.scratch);
        let parts = self.linear.iter_mut().zip(&mut self.quadratic);
        let rests = self.error.iter_mut().zip(&mut self.end_slope);
        for (((&middle, &end), (linear, quadratic)), (error, slope)) in found.zip(parts).zip(rests)
        {
            R::apart();
            let bend = end - middle * 2.0;
            let straight = end - bend * 2.0;
            // What the prediction took for the straight part is in the solves already.
            *linear = straight - *linear;
            *quadratic = bend * 2.0;
            *error = bend.abs() * (step_s * share);
            *slope = R::select(lanes, end * per_step, *slope);
        }
        let mut changes = std::mem::take(&mut self.changes);
        self.solve_all(false, &mut changes);
        add(R::Mask::ALL, &mut self.trial_solves, &changes);
        self.changes = changes;
        self.judge(step_s);
    }

    /// Keeps the state and the totals at the end of the step.
    #[inline(always)]
    fn keep_reached(&mut self, lanes: R::Mask, step_s: R) {
        self.reach(R::splat(1.0), step_s);
        let others = self.seated.and(lanes.not());
        hand_over(lanes, others, &mut self.next, &mut self.reached);
        let totals = &mut self.reached_totals;
        hand_over(lanes, others, &mut self.step_totals, totals);
        self.defined = finite(&self.next).and(finite(&self.trial_gradients));
        hand_over(lanes, others, &mut self.end_state, &mut self.trial_state);
        hand_over(lanes, others, &mut self.end_flows, &mut self.trial_flows);
        let gradients = &mut self.trial_gradients;
        hand_over(lanes, others, &mut self.end_gradients, gradients);
    }

    /// What flowed in the first `share` of the step that was tried last, and the state then, from
    /// it, so that stores and totals agree to rounding.
    ///
    /// The state inside the step is the rational function that meets the first terms of its series there
    /// and tends to the right limit for stiff stores; its integral is one more function of the same
    /// kind, and so is that of `r` (see `chained`).
    #[inline(always)]
    fn reach(&mut self, share: R, step_s: R) {
        let Integral { weights, rest } = Integral::over(share, step_s);
        combine(&mut self.scratch, &self.solves, weights);
        for (((total, &start), &end), &middle) in self
            .reached_totals
            .iter_mut()
            .zip(&self.start_flows)
            .zip(&self.end_rest)
            .zip(&self.middle_rest)
        {
            R::apart();
            *total = (start * share + end * rest[0] + middle * rest[1]) * step_s;
        }
        for (&(flow, store), &gradient) in self.terms.iter().zip(&self.gradients) {
            R::apart();
            self.reached_totals[flow as usize] += gradient * self.scratch[store as usize];
        }
        self.balance.rates(&self.reached_totals, &mut self.scratch);
        let changes = self.start.iter().zip(&self.scratch);
        for (next, (&start, &change)) in self.reached.iter_mut().zip(changes) {
            R::apart();
            *next = start + change;
        }
    }

    /// As [`Self::reach`] for what is told inside a step: the state, straight from the solves, with which
    /// it agrees but for rounding, and the flows that are told. The others follow when the step is handed
    /// out.
    #[inline(always)]
    fn glance(&mut self, lanes: R::Mask, share: R, step_s: R) {
        let weights = combination_lanes(coefficients_lanes(share)).map(|weight| weight * step_s);
        combine(&mut self.scratch, &self.solves, weights);
        let states = self.state.iter_mut().zip(&self.start);
        for ((state, &start), &change) in states.zip(&self.scratch) {
            R::apart();
            *state = R::select(lanes, start + change, *state);
        }
        let Integral { weights, rest } = Integral::over(share, step_s);
        for (flow, terms) in &self.watch.flows {
            R::apart();
            let (start, flow) = (self.start_flows[*flow] * share, *flow);
            let bend = self.end_rest[flow] * rest[0] + self.middle_rest[flow] * rest[1];
            let mut reached = (start + bend) * step_s;
            let gradients = &self.gradients[terms.clone()];
            for (&(_, store), &gradient) in self.terms[terms.clone()].iter().zip(gradients) {
                reached += gradient * of_solves(&self.solves, store as usize, &weights);
            }
            let more = reached - self.handed_totals[flow];
            self.totals[flow] = R::select(lanes, self.totals[flow] + more, self.totals[flow]);
            self.handed_totals[flow] = R::select(lanes, reached, self.handed_totals[flow]);
        }
    }

    /// The state inside a step for the stores that are watched, into [`Self::next`].
    #[inline(always)]
    fn peek(&mut self, lanes: R::Mask, share: R, step_s: R) {
        let weights = combination_lanes(coefficients_lanes(share)).map(|weight| weight * step_s);
        for &store in &self.watch.stores {
            let reached = self.start[store] + of_solves(&self.solves, store, &weights);
            self.next[store] = R::select(lanes, reached, self.next[store]);
        }
    }

    #[inline(always)]
    fn give_out(&mut self, out: &HandOut<R>) {
        if out.anew.any() {
            for total in &mut self.totals {
                R::apart();
                *total = R::select(out.anew, R::splat(0.0), *total);
            }
        }
        let part = out.part.and(out.glance.not());
        if part.any() {
            self.reach(out.share, out.step_s);
            store(part, &mut self.state, &self.reached);
            let (totals, handed) = (&mut self.totals, &mut self.handed_totals);
            give(part, totals, handed, &self.reached_totals);
        }
        if out.glance.any() {
            self.glance(out.glance, out.share, out.step_s);
        }
        if out.whole.any() {
            store(out.whole, &mut self.state, &self.next);
            give(
                out.whole,
                &mut self.totals,
                &mut self.handed_totals,
                &self.step_totals,
            );
        }
    }

    /// Factors `C/(γh) − J`.
    #[inline(always)]
    fn factor(&mut self, step_s: R) {
        let scale = R::splat(1.0) / (step_s * GAMMA);
        for (inertia, &capacity) in self.inertia.iter_mut().zip(&self.capacities) {
            R::apart();
            *inertia = capacity * scale;
        }
        let lu = &mut self.lu;
        fill(
            lu,
            &self.slots,
            &self.gradients,
            &self.diagonals,
            &self.inertia,
        );
        lu.factor();
        self.growth = growth_of(lu, &self.diagonals, &self.balance, step_s);
    }

    /// `w₃ = X b₃`, `w₂ = X (b₂ + w₃)`, `w₁ = X (b₁ + w₂)`, where the `b` come from the parts of
    /// `r` and, if asked, from the rates at the start.
    #[inline(always)]
    fn solve_all(&mut self, with_start: bool, solves: &mut [Vec<R>; SOLVES]) {
        for level in (0..SOLVES).rev() {
            let [a1, a2, a3] = [A1[level], A2[level], 2.0 * A3[level]];
            let (now, earlier) = solves.split_at_mut(level + 1);
            let now = now[level].as_mut_slice();
            let parts = self
                .linear
                .iter()
                .zip(&self.quadratic)
                .zip(&self.start_rates);
            for (now, ((&linear, &quadratic), &start)) in now.iter_mut().zip(parts) {
                R::apart();
                *now = linear * a2 + quadratic * a3;
                if with_start {
                    *now += start * a1;
                }
            }
            if let Some(earlier) = earlier.first() {
                for (now, &earlier) in now.iter_mut().zip(earlier) {
                    R::apart();
                    *now += earlier;
                }
            }
            for (now, &inertia) in now.iter_mut().zip(&self.inertia) {
                R::apart();
                *now = *now * inertia;
            }
            self.lu.solve(now);
        }
    }

    /// Error estimate of the step from its solves and the quadrature error in `error`, over the
    /// tolerance: the largest and its store.
    #[inline(always)]
    fn judge(&mut self, step_s: R) {
        const PER_POLE: f64 = GAMMA * GAMMA * GAMMA * GAMMA * GAMMA;
        let weight = step_s * (LINEAR_ERROR / PER_POLE);
        combine(
            &mut self.scratch,
            &self.trial_solves,
            FIFTH.map(|fifth| weight * fifth),
        );
        let parts = self.start_rates.iter().zip(&self.error).zip(&self.inertia);
        for (scratch, ((&start, &quadrature), &inertia)) in self.scratch.iter_mut().zip(parts) {
            R::apart();
            let error = (*scratch - start * weight).abs() + quadrature;
            *scratch = error * inertia;
        }
        // What settles within the step at its start need not do so at its end.
        let at_end = self.end_lu.as_mut().map(|lu| {
            self.end_error.copy_from_slice(&self.scratch);
            lu.solve(&mut self.end_error);
            &self.end_error
        });
        self.lu.solve(&mut self.scratch);
        for (error, &at_end) in self.scratch.iter_mut().zip(at_end.into_iter().flatten()) {
            R::apart();
            *error = error.abs().max(at_end.abs());
        }
        let (growth, mut worst) = self.growth;
        let growth = growth.max(R::splat(0.0)) / MOST_GROWTH;
        let mut largest = growth * growth * growth;
        let errors = self.scratch.iter().zip(&self.inverse_tolerances);
        for (store, (error, &inverse)) in errors.enumerate() {
            R::apart();
            let error = error.abs() * inverse;
            worst = (error - largest).where_positive(R::splat(store as f64), worst);
            largest = error.max(largest);
        }
        self.judged = (largest, worst);
    }
}

/// Integrals over a share of a step.
struct Integral<R> {
    /// Weights of the solves that make that of the change of state.
    weights: [R; SOLVES],
    /// What those of the rest have of that found at the end and of that in the middle, over the length
    /// of the step.
    rest: [R; 2],
}

impl<R: Real> Integral<R> {
    #[inline(always)]
    fn over(share: R, step_s: R) -> Self {
        let once = chained_lanes(coefficients_lanes(share));
        let linear = at_rest(&once);
        let quadratic = at_rest(&chained_lanes(once)) * 2.0;
        let weights = combination_lanes(once);
        Self {
            weights: weights.map(|weight| weight * step_s * step_s),
            // Rest at the time σ of the step: `(4 middle − end) σ + (2 end − 4 middle) σ²`.
            rest: [quadratic * 2.0 - linear, (linear - quadratic) * 4.0],
        }
    }
}

/// A combination of solves for one store.
#[inline(always)]
fn of_solves<R: Real>(solves: &[Vec<R>; SOLVES], store: usize, weights: &[R; SOLVES]) -> R {
    let mut sum = solves[0][store] * weights[0];
    for (solve, &weight) in solves[1..].iter().zip(&weights[1..]) {
        sum += solve[store] * weight;
    }
    sum
}

/// A part of a step between evaluations of the system.
#[derive(Debug, Clone, Copy)]
enum Phase<'a, R: Real> {
    Check(Checked),
    CarryOn,
    Begin { lanes: R::Mask },
    Predict { step_s: R },
    LookForGrowth { step_s: R },
    Middle { lanes: R::Mask, step_s: R },
    Bend { lanes: R::Mask, step_s: R },
    End { lanes: R::Mask, step_s: R },
    Look { lanes: R::Mask, share: R, step_s: R },
    HandOut(&'a HandOut<R>),
    AddTotals { lanes: R::Mask },
}

/// What is checked to be finite.
#[derive(Debug, Clone, Copy)]
enum Checked {
    State,
    Flows,
}

struct Phased<'a, R: Real> {
    stages: &'a mut Stages<R>,
    phase: &'a Phase<'a, R>,
}

impl<R: Real> Work for Phased<'_, R> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let stages = self.stages;
        match *self.phase {
            Phase::Check(Checked::State) => stages.defined = finite(&stages.trial_state),
            Phase::Check(Checked::Flows) => stages.defined = finite(&stages.trial_flows),
            Phase::CarryOn => stages.carry_on(),
            Phase::Begin { lanes } => stages.take_start(lanes),
            Phase::Predict { step_s } => stages.predict(step_s),
            Phase::LookForGrowth { step_s } => stages.look_for_growth(step_s),
            Phase::Middle { lanes, step_s } => stages.set_end(lanes, step_s),
            Phase::Bend { lanes, step_s } => stages.bend(lanes, step_s),
            Phase::End { lanes, step_s } => {
                let others = stages.seated.and(lanes.not());
                let pairs = stages.solves.iter_mut().zip(&mut stages.trial_solves);
                for (kept, new) in pairs {
                    hand_over(lanes, others, kept, new);
                }
                stages.keep_reached(lanes, step_s);
            }
            Phase::Look {
                lanes,
                share,
                step_s,
            } => stages.peek(lanes, share, step_s),
            Phase::HandOut(out) => stages.give_out(out),
            Phase::AddTotals { lanes } => {
                for (sum, &total) in stages.sums.iter_mut().zip(&stages.totals) {
                    R::apart();
                    *sum = R::select(lanes, *sum + total, *sum);
                }
            }
        }
    }
}

/// Networks have far fewer flows than `u32` holds.
fn index(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}
