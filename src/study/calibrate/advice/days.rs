//! Days of the weather that stand for those on which a reading could be taken.

use std::ops::Range;

use crate::readings::Role;
use crate::study::calibrate::compare::{ROOMS, seconds};
use crate::study::calibrate::model::Task;
use crate::weather::Stretch;

use super::DAYS;

/// How far from the hottest days others are looked for, days.
const NEAR_DAYS: usize = 15;
/// How much windier or sunnier days must be than ordinary ones to be told apart.
const WINDIER: f64 = 1.25;
const SUNNIER: f64 = 1.08;

/// Days of the weather, as intervals.
pub(super) struct Stretches {
    pub(super) hot: Range<usize>,
    pub(super) ordinary: Range<usize>,
    pub(super) windy: Option<Range<usize>>,
    pub(super) clear: Option<Range<usize>>,
}

impl Stretches {
    /// Days near the hottest; where the rooms' log drives the rooms, days that it reaches over.
    pub(super) fn find(task: &Task, rooms_are_logged: bool) -> Option<Self> {
        let weather = task.weather;
        let rooms = task.readings.find(&Role::Inside(ROOMS.to_owned()));
        let ends_s = rooms
            .filter(|_| rooms_are_logged)
            .and_then(|one| Some([*one.times_s.first()?, *one.times_s.last()?]));
        let per_day = (86_400 / weather.step_s().max(1)) as usize;
        let is_midnight = |at: &usize| weather.interval_start(*at).hour() == 0;
        let first = (0..weather.intervals().min(2 * per_day)).find(is_midnight)?;
        let all: Vec<_> = (first..weather.intervals())
            .step_by(per_day)
            .filter_map(|start| weather.stretch(start..start + DAYS * per_day))
            .filter(|one| {
                ends_s.is_none_or(|ends_s| {
                    ends_s[0] <= seconds(one.from) && seconds(one.to) <= ends_s[1]
                })
            })
            .collect();
        let hottest = |a: &&_, b: &&_| -> std::cmp::Ordering {
            let of = |one: &Stretch| one.mean_dry_bulb_k;
            of(a).total_cmp(&of(b))
        };
        let hot = all.iter().max_by(hottest)?.intervals.clone();
        let near: Vec<_> = all
            .iter()
            .filter(|one| one.intervals.start.abs_diff(hot.start) <= NEAR_DAYS * per_day)
            .collect();
        let middle = |of: &dyn Fn(&Stretch) -> f64| {
            let mut each: Vec<f64> = near.iter().map(|one| of(one)).collect();
            each.sort_by(f64::total_cmp);
            each[each.len() / 2].max(0.1)
        };
        let wind = |one: &Stretch| one.mean_wind_speed_m_s;
        let sun = |one: &Stretch| one.mean_global_w_m2;
        let (usual_wind, usual_sun) = (middle(&wind), middle(&sun));
        let off = |one: &Stretch| {
            (wind(one) / usual_wind - 1.0).abs() + (sun(one) / usual_sun - 1.0).abs()
        };
        let ordinary = near.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
        let most = |of: &dyn Fn(&Stretch) -> f64, times: f64| {
            let most = near.iter().max_by(|a, b| of(a).total_cmp(&of(b)))?;
            (of(most) > times * of(ordinary)).then(|| most.intervals.clone())
        };
        Some(Self {
            windy: most(&wind, WINDIER),
            clear: most(&sun, SUNNIER),
            ordinary: ordinary.intervals.clone(),
            hot,
        })
    }
}
