//! Brings a house to a state that does not remember where it started.
//!
//! First it is left in the mean of the warm-up's earliest day until nothing changes. Then that day
//! is repeated until it ends as it began: from what a repetition changes, the conductances between
//! the stores tell how far masonry and soil, which take weeks on their own, still have to go, and
//! Anderson's mixing (Anderson 1965; Walker & Ni 2011) learns the rest. Then the days before the
//! period are run once. All of this but the last hours is run with a looser tolerance: what a step
//! errs is forgotten by then.

use std::ops::Range;

use nalgebra::{DMatrix, DVector, Dyn, LU};

use crate::network::{Forcing, Network};
use crate::ode::{Advance, OdeError, System};
use crate::weather::Weather;

use super::course::{Course, Drivers, Manner, Purpose};
use super::outcome::Notice;
use super::{Choice, RunError, RunOptions};

/// Change that any node still has to go at which the repeated day has settled, K.
const SETTLED_K: f64 = 0.05;

/// Error allowed to a node in a step before the last hours, K. On the demo's four designs 1 K in place of
/// 0.004 K moves the attic by less than 0.001 K and the rooms by less than 0.004 K.
const LOOSE_K: f64 = 1.0;

/// No more than so many times what the run allows to the air, so that a closer run is warmed up more closely.
const LOOSER: f64 = 125.0;

/// Length of the first step after a switch before the last hours, s.
const LOOSE_FIRST_STEP_S: f64 = 900.0;

/// Length of the intervals on which all of the warm-up but the last day is run, s.
const COARSE_S: f64 = 10_800.0;

/// Length of the last part of the warm-up, which has the tolerance of the run, s.
const LAST_S: f64 = 21_600.0;

const DAY_S: f64 = 86_400.0;

/// Time in the mean weather, s: some thirty years.
const LONG_S: f64 = 1e9;

/// Steps for it: most houses take 30; in some the layers of attic air never come to rest.
const MOST_RESTING_STEPS: u64 = 300;

/// Most repetitions of the first day.
const MOST_REPEATS: usize = 40;

/// How many past repetitions the mixing looks at.
const MEMORY: usize = 5;

/// Most switches within one interval of the forcing.
pub(super) const MOST_SWITCHES: u32 = 500;

/// Warms a house up for a period; leaves it in the state at its start, with the integrator of the run.
pub(super) async fn warm_up<C: Course>(
    course: &mut C,
    drivers: &Drivers<'_>,
    period: &Range<usize>,
    options: &RunOptions,
) -> Result<Vec<Notice>, RunError> {
    let weather = drivers.weather();
    let day = (86_400 / weather.step_s().max(1)) as usize;
    let wanted = day * options.warm_up_days.max(1) as usize;
    let before = first_complete(weather, period.start.saturating_sub(wanted)..period.start);
    let mut notices = Vec::new();
    let range = if before.len() >= day {
        before
    } else {
        let stand_in = period.start..period.end.min(period.start + wanted);
        #[expect(clippy::cast_possible_truncation, reason = "at most warm_up_days")]
        notices.push(Notice::WarmedUpOnItself {
            days: (stand_in.len() / day) as u32,
        });
        stand_in
    };
    let [forcing, coarse] = drivers.with_coarse(course.network(), &range, COARSE_S);
    let first_day = coarse.first_seconds(DAY_S);
    let network = course.network();
    let start = options.start_k.unwrap_or_else(|| network.start_k(&forcing));
    let stores = network.nodes().len();
    course.set_state(&vec![start; stores]);
    let loosely = loose(course.network(), options.integrator);
    rest(course, &coarse, &first_day, loosely.clone()).await?;
    course.renew(&loosely);
    settle(course, &coarse, first_day).await?;
    course.change(|network| network.resume(&coarse));
    let days_before = 0..coarse.len() - last_part(&coarse, DAY_S).len();
    let last_day = last_part(&forcing, DAY_S);
    let last_hours = last_part(&forcing, LAST_S);
    run(course, &coarse, days_before).await?;
    run(course, &forcing, last_day.start..last_hours.start).await?;
    course.renew(&Manner::of(course.network(), options.integrator));
    run(course, &forcing, last_hours).await?;
    Ok(notices)
}

/// The part of a range of intervals that has no hole and reaches its end.
fn first_complete(weather: &Weather, range: Range<usize>) -> Range<usize> {
    let holes = weather.holes().iter();
    let touching = holes.filter(|hole| hole.first < range.end && hole.end > range.start);
    let start = touching.map(|hole| hole.end).max().unwrap_or(range.start);
    start.clamp(range.start, range.end)..range.end
}

fn loose(network: &Network, choice: Choice) -> Manner {
    let tolerance_k = match choice {
        Choice::Default { tolerance_k } => LOOSE_K.min(LOOSER * tolerance_k),
        Choice::Reference { .. } => LOOSE_K,
    };
    Manner::Steps {
        tolerances: vec![tolerance_k; network.nodes().len()],
        first_step_s: Some(LOOSE_FIRST_STEP_S),
        most_steps: None,
    }
}

/// The short intervals of the last part, s.
fn last_part(forcing: &Forcing, length_s: f64) -> Range<usize> {
    let count = forcing.len();
    let end_s = forcing.span(count - 1).1;
    let inside = (0..count)
        .rev()
        .take_while(|&index| forcing.span(index).0 >= end_s - length_s - 1e-6);
    count - inside.count()..count
}

/// Leaves the house in the mean of a day until nothing changes, or until it is clear that
/// something always will.
async fn rest<C: Course>(
    course: &mut C,
    forcing: &Forcing,
    day: &Range<usize>,
    mut manner: Manner,
) -> Result<(), OdeError> {
    let span_s = [0.0, LONG_S].map(|later_s| forcing.span(day.start).0 + later_s);
    course.change(|network| {
        network.reset(forcing);
        network.enter_mean(forcing, day);
    });
    if let Manner::Steps { most_steps, .. } = &mut manner {
        *most_steps = Some(MOST_RESTING_STEPS);
    }
    course.renew(&manner);
    match course.advance(span_s, span_s[1], Purpose::Rest).await {
        Ok(_) | Err(OdeError::TooManySteps { .. }) => Ok(()),
        Err(error) => Err(error),
    }
}

/// Repeats the first day until it ends as it began.
async fn settle<C: Course>(
    course: &mut C,
    forcing: &Forcing,
    day: Range<usize>,
) -> Result<(), RunError> {
    let mut starts: Vec<DVector<f64>> = Vec::new();
    let mut changes: Vec<DVector<f64>> = Vec::new();
    let gradients = course.gradients(forcing.span(day.start).0).await?;
    let inertia = Inertia::of(course.network(), gradients);
    for _ in 0..MOST_REPEATS {
        let begin = DVector::from_column_slice(course.state().await);
        course.change(|network| network.reset(forcing));
        run(course, forcing, day.clone()).await?;
        let end = DVector::from_column_slice(course.state().await);
        let change = inertia.carried_on(end - &begin);
        let next = &begin + &change;
        let left_k = change.amax();
        starts.push(begin);
        changes.push(change);
        if starts.len() > MEMORY + 1 {
            starts.remove(0);
            changes.remove(0);
        }
        course.set_state(mixed(&starts, &changes).unwrap_or(next).as_slice());
        if left_k < SETTLED_K {
            break;
        }
    }
    Ok(())
}

/// How the change over a day would go on if the day were repeated for ever.
struct Inertia {
    /// Net outflow of each store by temperature, W/K, where it can be inverted.
    conductance: Option<LU<f64, Dyn, Dyn>>,
    capacities_j_k: DVector<f64>,
}

impl Inertia {
    /// From the derivatives of a network's flows.
    fn of(network: &Network, gradients: Vec<f64>) -> Self {
        let size = network.nodes().len();
        let mut conductance = DMatrix::zeros(size, size);
        for (&(flow, store), gradient) in network.gradient_pattern().iter().zip(gradients) {
            let ends = network.ends()[flow];
            if let Some(from) = ends.from {
                conductance[(from, store)] += gradient;
            }
            if let Some(to) = ends.to {
                conductance[(to, store)] -= gradient;
            }
        }
        let conductance = conductance.lu();
        Self {
            conductance: conductance.is_invertible().then_some(conductance),
            capacities_j_k: DVector::from_column_slice(network.capacities()),
        }
    }

    /// The change until the day ends as it began, from that over one day.
    ///
    /// With `A = −C⁻¹G` and a day T this is `(I − e^{AT})⁻¹`, for which `I − (AT)⁻¹` stands: right
    /// for what settles within a day and for what takes months, and within 0.3 of it in between.
    fn carried_on(&self, change: DVector<f64>) -> DVector<f64> {
        let heat_w = change.component_mul(&self.capacities_j_k) / DAY_S;
        match self.conductance.as_ref().and_then(|lu| lu.solve(&heat_w)) {
            Some(rest) => change + rest,
            None => change,
        }
    }
}

/// The next start by Anderson's mixing; `None` where plain repetition is the better guess.
fn mixed(starts: &[DVector<f64>], changes: &[DVector<f64>]) -> Option<DVector<f64>> {
    let last = starts.len().checked_sub(1)?;
    if last < 1 {
        return None;
    }
    let size = changes[last].len();
    let differences = DMatrix::from_fn(size, last, |i, j| changes[j + 1][i] - changes[j][i]);
    let steps = DMatrix::from_fn(size, last, |i, j| {
        starts[j + 1][i] + changes[j + 1][i] - starts[j][i] - changes[j][i]
    });
    let weights = differences
        .svd(true, true)
        .solve(&changes[last], 1e-9)
        .ok()?;
    let next = &starts[last] + &changes[last] - steps * weights;
    // A wild extrapolation is worse than none.
    let sane = next
        .iter()
        .all(|t| t.is_finite() && *t > 200.0 && *t < 400.0);
    sane.then_some(next)
}

/// Marches through intervals of the forcing and drops what flowed.
async fn run<C: Course>(
    course: &mut C,
    forcing: &Forcing,
    intervals: Range<usize>,
) -> Result<(), RunError> {
    for stretch in forcing.stretches(intervals) {
        let (mut from_s, to_s) = course.change(|network| network.enter(forcing, stretch));
        let mut switches = 0;
        while let Advance::Switched { time_s, switch } =
            course.advance([from_s, to_s], to_s, Purpose::Read).await?
        {
            course.change(|network| network.toggle(switch, time_s));
            from_s = time_s;
            switches += 1;
            if switches > MOST_SWITCHES {
                return Err(RunError::Chattering {
                    times: switches,
                    time_s,
                });
            }
        }
    }
    Ok(())
}
