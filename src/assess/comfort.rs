//! How long the rooms are too warm.

use jiff::civil::Date;

use crate::house::House;
use crate::run::Outcome;
use crate::units::celsius;
use crate::weather::Weather;

use super::time_above_s;

/// Room temperature above which people without cooling commonly complain, °C: 80 °F (common
/// practice, no source).
pub const COMFORT_LIMIT_C: f64 = 26.7;

/// Weight of each day against the day after it in the running mean: ASHRAE 55-2017, 5.4, allows
/// 0.6 to 0.9; 0.8 is that of EN 16798-1:2019.
const DAY_WEIGHT: f64 = 0.8;

/// Days of the running mean: seven, as in the short form of EN 16798-1:2019.
const DAYS: usize = 7;

/// How long the rooms are too warm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comfort {
    /// Time that the rooms' air is above [`COMFORT_LIMIT_C`], h.
    pub hours_above_limit: f64,
    /// Time that the operative temperature is above the adaptive limit for 80 % of people, h;
    /// nothing where there is a cooling plant, for which the adaptive model is not made.
    pub hours_above_adaptive: Option<f64>,
    /// Mean of the adaptive limit over the period, °C.
    pub adaptive_limit_mean_c: Option<f64>,
}

/// Time that the rooms' air is above [`COMFORT_LIMIT_C`], h.
pub fn hours_above_limit(outcome: &Outcome) -> f64 {
    let trace = &outcome.trace;
    let temps_k = trace.living_air_k.iter();
    let air_c: Vec<f64> = temps_k.map(|&temp_k| celsius(temp_k)).collect();
    time_above_s(&trace.times_s, &air_c, COMFORT_LIMIT_C) / 3600.0
}

/// Comfort in a run's rooms.
///
/// The adaptive upper limit for 80 % acceptability is `0.31 t_pma + 21.3 °C` (ASHRAE 55-2017, 5.4.2,
/// from memory), where the prevailing mean outdoor temperature `t_pma` lies between 10 and
/// 33.5 °C; beyond, it is taken at the nearer end. `t_pma` is the mean of up to seven days before,
/// each weighing 0.8 of the next; at the start of the weather, of those there are. The operative
/// temperature is the mean of air and furnishings, which stand for what a person sees.
pub(super) fn comfort(house: &House, weather: &Weather, outcome: &Outcome) -> Comfort {
    let hours_above_limit = hours_above_limit(outcome);
    if house.living.cooling.is_some() {
        return Comfort {
            hours_above_limit,
            hours_above_adaptive: None,
            adaptive_limit_mean_c: None,
        };
    }
    let days = daily_means_c(weather);
    let marks = &outcome.landmarks;
    let rows = outcome.times_s.len();
    let mut times = Vec::with_capacity(rows + 1);
    let mut excess = Vec::with_capacity(rows + 1);
    let (mut limits, mut seconds) = (0.0, 0.0);
    for row in 0..=rows {
        let time_s = if row == 0 {
            0.0
        } else {
            outcome.times_s[row - 1]
        };
        #[expect(clippy::cast_possible_truncation, reason = "seconds of a period")]
        let ahead = jiff::SignedDuration::from_secs(time_s as i64);
        let date = outcome.start.saturating_add(ahead).date();
        let limit_c = limit_c(prevailing_mean_c(&days, date));
        let state = outcome.state_row(row);
        let operative_c = celsius(0.5 * (state[marks.living] + state[marks.furniture]));
        times.push(time_s);
        excess.push(operative_c - limit_c);
        if row > 0 {
            let step_s = outcome.interval_s(row - 1);
            limits += limit_c * step_s;
            seconds += step_s;
        }
    }
    Comfort {
        hours_above_limit,
        hours_above_adaptive: Some(time_above_s(&times, &excess, 0.0) / 3600.0),
        adaptive_limit_mean_c: Some(limits / seconds),
    }
}

fn limit_c(prevailing_c: f64) -> f64 {
    0.31 * prevailing_c.clamp(10.0, 33.5) + 21.3
}

/// Mean of the days before a date, the nearer the heavier; of the date itself, or the first day
/// there is, if there is none before.
fn prevailing_mean_c(days: &[(Date, f64)], date: Date) -> f64 {
    let before = days.partition_point(|(day, _)| *day < date);
    let (mut sum, mut weights, mut weight) = (0.0, 0.0, 1.0);
    for (_, mean_c) in days[..before].iter().rev().take(DAYS) {
        sum += weight * mean_c;
        weights += weight;
        weight *= DAY_WEIGHT;
    }
    if weights > 0.0 {
        return sum / weights;
    }
    days.get(before).or(days.last()).map_or(20.0, |day| day.1)
}

/// Mean outdoor temperature of each day that the weather touches, °C, in order.
fn daily_means_c(weather: &Weather) -> Vec<(Date, f64)> {
    let mut days: Vec<(Date, f64, u32)> = Vec::new();
    for interval in 0..weather.intervals() {
        let ends = [weather.air()[interval], weather.air()[interval + 1]];
        let mean_c = celsius(0.5 * (ends[0].dry_bulb_k + ends[1].dry_bulb_k));
        if !mean_c.is_finite() {
            continue;
        }
        let date = weather.interval_start(interval).date();
        match days.last_mut() {
            Some((day, sum, count)) if *day == date => {
                *sum += mean_c;
                *count += 1;
            }
            _ => days.push((date, mean_c, 1)),
        }
    }
    days.into_iter()
        .map(|(day, sum, count)| (day, sum / f64::from(count)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(means: &[f64]) -> Vec<(Date, f64)> {
        let first = Date::constant(2026, 7, 1);
        means
            .iter()
            .enumerate()
            .map(|(index, &mean)| {
                let ahead = jiff::Span::new().days(i64::try_from(index).unwrap());
                (first.checked_add(ahead).unwrap(), mean)
            })
            .collect()
    }

    #[test]
    fn the_last_days_weigh_most() {
        let days = days(&[10.0, 20.0, 30.0]);
        let mean = prevailing_mean_c(&days, Date::constant(2026, 7, 3));
        assert!((mean - (20.0 + 0.8 * 10.0) / 1.8).abs() < 1e-12);
        // The first day has only itself, and the day after the last has all three.
        assert!((prevailing_mean_c(&days, Date::constant(2026, 7, 1)) - 10.0).abs() < 1e-12);
        let after = prevailing_mean_c(&days, Date::constant(2026, 7, 4));
        assert!((after - (30.0 + 16.0 + 6.4) / 2.44).abs() < 1e-12);
    }

    #[test]
    fn the_limit_rises_with_the_weather_and_ends_where_the_standard_does() {
        assert!((limit_c(20.0) - 27.5).abs() < 1e-12);
        assert!((limit_c(40.0) - limit_c(33.5)).abs() < 1e-12);
    }
}
