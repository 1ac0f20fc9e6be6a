//! Columns against one another, and the outdoor thermometer against another source.

use std::collections::BTreeMap;

use crate::weather::{Quantity, Weather};

use super::description::Role;
use super::notice::Notice;
use super::read::{Readings, Series, civil};
use super::screen::is_of_rooms;

const DAY_S: i64 = 86_400;
/// Days that must be told before columns are compared.
const LEAST_DAYS: usize = 3;
/// How much more the outdoor column swings before the two look exchanged.
const SWING_RATIO: f64 = 1.3;
/// Share of days on which outdoors must be the hotter.
const MOST_DAYS: f64 = 0.7;

/// Lowest and highest of each day that has at least eight readings.
fn days(series: &Series) -> BTreeMap<i64, (f64, f64, usize)> {
    let mut days = BTreeMap::new();
    for (at_s, value) in series.times_s.iter().zip(&series.values) {
        let day =
            days.entry(at_s.div_euclid(DAY_S))
                .or_insert((f64::INFINITY, f64::NEG_INFINITY, 0));
        *day = (day.0.min(*value), day.1.max(*value), day.2 + 1);
    }
    days.retain(|_, (_, _, count)| *count >= 8);
    days
}

/// Notes columns that look exchanged: an attic under sun swings more than the air outdoors and is
/// hotter, and rooms swing less than either.
pub(super) fn swapped(readings: &mut Readings) {
    let Some(outdoor) = readings.find(&Role::Outdoors(Quantity::DryBulb)) else {
        return;
    };
    let outdoors = days(outdoor);
    let mut found = Vec::new();
    for series in &readings.series {
        let Role::Inside(name) = &series.role else {
            continue;
        };
        if is_of_rooms(name) || !series.role.is_temperature() {
            continue;
        }
        let both: Vec<_> = days(series)
            .into_iter()
            .filter_map(|(day, inside)| Some((inside, *outdoors.get(&day)?)))
            .collect();
        if both.len() < LEAST_DAYS {
            continue;
        }
        let count = both.len() as f64;
        let inside_swing_k = both.iter().map(|(a, _)| a.1 - a.0).sum::<f64>() / count;
        let outdoor_swing_k = both.iter().map(|(_, b)| b.1 - b.0).sum::<f64>() / count;
        let hotter = both.iter().filter(|(a, b)| b.1 > a.1 + 2.0).count() as f64;
        if outdoor_swing_k > SWING_RATIO * inside_swing_k && hotter > MOST_DAYS * count {
            found.push(Notice::LooksSwapped {
                inside: series.role.clone(),
                inside_swing_k,
                outdoor_swing_k,
            });
        }
    }
    readings.notices.extend(found);
}

/// How much an hour's upper quartile must stand above the whole day's median, K.
const TOUCHED_K: f64 = 2.5;
/// The sun reaches a badly hung thermometer for at most so many hours a day; more is another
/// climate and not the sun.
const MOST_HOURS: usize = 6;
/// Hours that a clock may be off, to either side.
const MOST_AHEAD_H: i64 = 12;
/// Part of the mean square against the other source that another clock may leave at most to explain
/// such hours in the sun's place; a judgement.
const EXPLAINS: f64 = 0.5;

/// The outdoor thermometer beside another source of the same days.
struct Beside {
    /// Upper quartile of the difference by the hour of the log's clock, less its median, K.
    excess_k: [f64; 24],
    /// Mean square of the difference about its median, K².
    mean_square: f64,
}

impl Beside {
    /// With the log's stamps taken as ahead by some hours; none where too little is told of both.
    fn of(series: &Series, weather: &Weather, ahead_h: i64) -> Option<Self> {
        let start_s = weather.start().duration_since(civil(0)).as_secs() + ahead_h * 3600;
        let step_s = i64::from(weather.step_s());
        let elsewhere = |at_s: i64| -> Option<f64> {
            let from = at_s - start_s;
            let index = usize::try_from(from.div_euclid(step_s)).ok()?;
            let ends = weather.air().get(index..index + 2)?;
            let share = from.rem_euclid(step_s) as f64 / step_s as f64;
            let value = ends[0].dry_bulb_k + share * (ends[1].dry_bulb_k - ends[0].dry_bulb_k);
            value.is_finite().then_some(value)
        };
        let mut by_hour: [Vec<f64>; 24] = std::array::from_fn(|_| Vec::new());
        let mut all = Vec::new();
        for (at_s, value) in series.times_s.iter().zip(&series.values) {
            if let Some(other) = elsewhere(*at_s) {
                by_hour[hour(*at_s)].push(value - other);
                all.push(value - other);
            }
        }
        if all.len() < 24 * LEAST_DAYS {
            return None;
        }
        let usual = quantile(&mut all, 0.5);
        let squares = all.iter().map(|off| (off - usual).powi(2));
        Some(Self {
            mean_square: squares.sum::<f64>() / all.len() as f64,
            excess_k: by_hour.map(|mut of| {
                if of.is_empty() {
                    0.0
                } else {
                    quantile(&mut of, 0.75) - usual
                }
            }),
        })
    }

    /// The hours that stand out.
    fn touched(&self) -> Vec<usize> {
        let hours = 0..self.excess_k.len();
        hours.filter(|h| self.excess_k[*h] > TOUCHED_K).collect()
    }

    /// By how many hours the log's stamps would be ahead if no hour stood out because of the sun but
    /// all because of the clock.
    fn clock(&self, series: &Series, weather: &Weather) -> Option<i64> {
        let others = (1..=MOST_AHEAD_H).flat_map(|hours| [hours, -hours]);
        let others = others.filter_map(|ahead_h| {
            let other = Self::of(series, weather, ahead_h)?;
            let explains = other.mean_square < EXPLAINS * self.mean_square;
            (explains && other.touched().is_empty()).then_some((ahead_h, other.mean_square))
        });
        let best = others.min_by(|a, b| a.1.total_cmp(&b.1))?;
        Some(best.0)
    }
}

impl Readings {
    /// Drops the hours of the day at which the outdoor thermometer stands above another source of
    /// the same days as no other hour does: the sun reaches it then. A clock that is off makes such
    /// hours too: where another one explains them, nothing is dropped and that is noted.
    pub fn drop_sun_touched(&mut self, weather: &Weather) {
        let role = Role::Outdoors(Quantity::DryBulb);
        let Some(series) = self.series.iter_mut().find(|one| one.role == role) else {
            return;
        };
        let Some(beside) = Beside::of(series, weather, 0) else {
            return;
        };
        let touched = beside.touched();
        let (Some(&from_h), Some(&last_h)) = (touched.first(), touched.last()) else {
            return;
        };
        if last_h + 1 - from_h > MOST_HOURS || from_h < 4 || last_h > 21 {
            return;
        }
        let (to_h, excess_k) = (
            last_h + 1,
            beside.excess_k.iter().copied().fold(0.0, f64::max),
        );
        if let Some(ahead_h) = beside.clock(series, weather) {
            self.notices.push(Notice::ClockBeforeSun {
                from_h,
                to_h,
                excess_k,
                ahead_h,
            });
            return;
        }
        let inside = |at_s: i64| (from_h..=last_h).contains(&hour(at_s));
        let before = series.values.len();
        let times = series.times_s.clone();
        let mut at = times.iter();
        series
            .values
            .retain(|_| at.next().is_none_or(|at_s| !inside(*at_s)));
        series.times_s.retain(|at_s| !inside(*at_s));
        let values = before - series.values.len();
        self.notices.push(Notice::SunTouched {
            from_h,
            to_h,
            excess_k,
            values,
        });
    }
}

fn hour(at_s: i64) -> usize {
    usize::try_from(at_s.rem_euclid(DAY_S) / 3600).unwrap_or(0)
}

/// The value below which a share of the values lies.
fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of a list"
    )]
    let index = (share * (values.len() - 1) as f64).round() as usize;
    values[index]
}
