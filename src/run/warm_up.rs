//! Brings a house to a state that does not remember where it started.
//!
//! First the earliest day of the warm-up is repeated until it ends as it began; the repetition is
//! sped up by Anderson's mixing (Anderson 1965; Walker & Ni 2011), since masonry and soil take
//! weeks on their own. Then the days before the period are run once.

use std::ops::Range;

use nalgebra::{DMatrix, DVector};

use crate::network::{Forcing, Network};
use crate::ode::{Advance, Integrator, Method};
use crate::weather::Weather;

use super::outcome::Notice;
use super::{RunError, RunOptions};

/// Change of any node over a repeated day that counts as none, K.
const SETTLED_K: f64 = 0.01;

/// Most repetitions of the first day.
const MOST_REPEATS: usize = 40;

/// How many past repetitions the mixing looks at.
const MEMORY: usize = 5;

/// Most switches within one interval of the forcing.
pub(super) const MOST_SWITCHES: u32 = 500;

/// Warms a house up for a period; returns the state at its start.
pub(super) fn warm_up(
    network: &mut Network,
    method: &mut Method,
    weather: &Weather,
    period: &Range<usize>,
    options: &RunOptions,
) -> Result<(Vec<f64>, Vec<Notice>), RunError> {
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
    let forcing = network.forcing(weather, range.clone());
    let first_day = forcing.first_seconds(86_400.0);
    let start = options.start_k.unwrap_or_else(|| network.start_k(&forcing));
    let mut state = vec![start; network.nodes().len()];
    settle(network, method, &forcing, first_day, &mut state)?;
    network.reset(forcing.span(0).0);
    run(network, method, &forcing, 0..forcing.len(), &mut state)?;
    Ok((state, notices))
}

/// The part of a range of intervals that has no hole and reaches its end.
fn first_complete(weather: &Weather, range: Range<usize>) -> Range<usize> {
    let holes = weather.holes().iter();
    let touching = holes.filter(|hole| hole.first < range.end && hole.end > range.start);
    let start = touching.map(|hole| hole.end).max().unwrap_or(range.start);
    start.clamp(range.start, range.end)..range.end
}

/// Repeats the first day until it ends as it began.
fn settle(
    network: &mut Network,
    method: &mut Method,
    forcing: &Forcing,
    day: Range<usize>,
    state: &mut [f64],
) -> Result<(), RunError> {
    let mut starts: Vec<DVector<f64>> = Vec::new();
    let mut changes: Vec<DVector<f64>> = Vec::new();
    for _ in 0..MOST_REPEATS {
        let begin = DVector::from_column_slice(state);
        network.reset(forcing.span(day.start).0);
        run(network, method, forcing, day.clone(), state)?;
        let change = DVector::from_column_slice(state) - &begin;
        if change.amax() < SETTLED_K {
            break;
        }
        starts.push(begin);
        changes.push(change);
        if starts.len() > MEMORY + 1 {
            starts.remove(0);
            changes.remove(0);
        }
        if let Some(mixed) = mixed(&starts, &changes) {
            state.copy_from_slice(mixed.as_slice());
        }
    }
    Ok(())
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
fn run(
    network: &mut Network,
    method: &mut Method,
    forcing: &Forcing,
    intervals: Range<usize>,
    state: &mut [f64],
) -> Result<(), RunError> {
    let mut totals = vec![0.0; network.flow_names().len()];
    for stretch in forcing.stretches(intervals) {
        let (mut from_s, to_s) = network.enter(forcing, stretch);
        let mut switches = 0;
        while let Advance::Switched { time_s, switch } =
            method.advance(network, from_s, to_s, state, &mut totals)?
        {
            network.toggle(switch, time_s);
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
