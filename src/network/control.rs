//! Switches of thermostats, comparisons and clocks, each with its own memory.

use crate::equipment::Condition;
use crate::house::House;
use crate::ode::Real;

use super::Landmarks;

const DAY_S: f64 = 86_400.0;

/// All switches of a house, flat.
#[derive(Debug, Clone)]
pub(super) struct Switches {
    conditions: Vec<(usize, Condition)>,
    on: Vec<bool>,
    /// Time of the next change of a clock, s of the series.
    next_s: Vec<f64>,
    /// Whether each control is on, which it is while all its switches are.
    controls_on: Vec<bool>,
    lower: usize,
    upper: usize,
    living: usize,
    /// Weight of the upper layer at each switch's sensor.
    upper_weight: Vec<f64>,
    /// Second of the day at which the series starts.
    start_of_day_s: f64,
}

impl Switches {
    pub(super) fn new(house: &House, landmarks: &Landmarks) -> Self {
        let conditions: Vec<(usize, Condition)> = house
            .controls
            .iter()
            .enumerate()
            .flat_map(|(index, named)| named.control.all_of.iter().map(move |c| (index, *c)))
            .collect();
        let upper_weight = conditions
            .iter()
            .map(|(_, condition)| match condition {
                Condition::AtticAbove { height_m, .. } => landmarks.upper_weight(*height_m),
                // The mean of all attic air.
                _ => 1.0 - landmarks.lower_volume_share,
            })
            .collect();
        let mut switches = Self {
            on: vec![false; conditions.len()],
            next_s: vec![f64::INFINITY; conditions.len()],
            conditions,
            controls_on: vec![true; house.controls.len()],
            lower: landmarks.attic_lower,
            upper: landmarks.attic_upper,
            living: landmarks.living,
            upper_weight,
            start_of_day_s: 0.0,
        };
        switches.reset(0.0);
        switches
    }

    pub(super) fn count(&self) -> usize {
        self.conditions.len()
    }

    /// Second of the day at which the series of forcing starts.
    pub(super) fn set_start_of_day(&mut self, start_of_day_s: f64) {
        self.start_of_day_s = start_of_day_s;
    }

    /// Everything off but the clocks, which know the time; what ought to be on is switched at
    /// once when the march begins.
    pub(super) fn reset(&mut self, time_s: f64) {
        self.on.fill(false);
        self.resume(time_s);
    }

    /// Sets the clocks to a time; thermostats stay as they are.
    pub(super) fn resume(&mut self, time_s: f64) {
        for index in 0..self.conditions.len() {
            if let Condition::Daily { from_s, to_s } = self.conditions[index].1 {
                let day_s = (self.start_of_day_s + time_s).rem_euclid(DAY_S);
                self.on[index] = if from_s <= to_s {
                    (from_s..to_s).contains(&day_s)
                } else {
                    !(to_s..from_s).contains(&day_s)
                };
                self.set_next(index, time_s);
            }
        }
        self.combine();
    }

    fn set_next(&mut self, index: usize, time_s: f64) {
        if let Condition::Daily { from_s, to_s } = self.conditions[index].1 {
            let at = if self.on[index] { to_s } else { from_s };
            let day_s = self.start_of_day_s + time_s;
            let mut wait = (at - day_s).rem_euclid(DAY_S);
            if wait < 1e-6 {
                wait = DAY_S;
            }
            self.next_s[index] = time_s + wait;
        }
    }

    pub(super) fn toggle(&mut self, index: usize, time_s: f64) {
        if let Some(on) = self.on.get_mut(index) {
            *on = !*on;
            self.set_next(index, time_s);
            self.combine();
        }
    }

    /// Works out which controls are on after a switch has changed.
    fn combine(&mut self) {
        self.controls_on.fill(true);
        for ((control, _), on) in self.conditions.iter().zip(&self.on) {
            self.controls_on[*control] &= on;
        }
    }

    /// Whether each control is on.
    pub(super) fn controls_on(&self) -> &[bool] {
        &self.controls_on
    }

    /// The nodes that [`Self::values`] reads.
    pub(super) fn watched(&self) -> Vec<usize> {
        vec![self.lower, self.upper, self.living]
    }

    pub(super) fn values<R: Real>(&self, time_s: f64, state: &[R], outdoor_k: R, values: &mut [R]) {
        let (lower, upper, living) = (state[self.lower], state[self.upper], state[self.living]);
        for (index, (_, condition)) in self.conditions.iter().enumerate() {
            let attic = lower + (upper - lower) * self.upper_weight[index];
            let between = |temp: R, on_k: f64, off_k: f64| {
                if self.on[index] {
                    R::splat(off_k) - temp
                } else {
                    temp - on_k
                }
            };
            values[index] = match *condition {
                Condition::AtticAbove { on_k, off_k, .. } => between(attic, on_k, off_k),
                Condition::LivingAbove { on_k, off_k } => between(living, on_k, off_k),
                Condition::OutdoorsCoolerThanAttic { margin_k } => {
                    between(attic - outdoor_k, margin_k, 0.0)
                }
                Condition::OutdoorsCoolerThanLiving { margin_k } => {
                    between(living - outdoor_k, margin_k, 0.0)
                }
                Condition::Daily { .. } => R::splat(time_s - self.next_s[index]),
            };
        }
    }
}
