//! Global from the air alone, where neither sun nor cloud was recorded.
//!
//! A day's share of a clear sky goes with the root of its range of temperature. Within a day, and from
//! one day to the next, clouds and showers show in air that warms less and is damper than at the same
//! hour of the days around.

use super::derive::{Options, column, days};
use super::dew_point::over_water_pa;
use super::grid::Grid;
use super::raw::civil_seconds;
use super::record::Air;
use super::sunlight::{Light, split};
use super::{Notice, Quantity, Weather};

/// Coefficient of the temperature-range formula, 1/√K: between 0.16 inland and 0.19 near a coast
/// (Allen et al. 1998, FAO-56, equation 50).
const RANGE_COEFFICIENT: f64 = 0.17;
/// No day has more than this share of the extraterrestrial: Allen et al. 1998, FAO-56, equation
/// 37 at sea level.
const CLEAREST_DAY: f64 = 0.75;
/// Share of a clear sky's global under the thickest clouds by day (common practice, no source; a full
/// cover leaves 0.25 on the mean, Kasten & Czeplak 1980).
const DARKEST: f64 = 0.15;
/// Days on either side that tell what is usual at an hour.
const DAYS_AROUND: usize = 15;

/// What a share of a clear sky's global hangs on, against what is usual at the hour.
#[derive(Debug, Clone, Copy)]
struct Signs {
    /// Of how much the day's range puts it above or below the days around.
    range: f64,
    /// For each kelvin an hour that the air warms more than usual, h/K.
    warming: f64,
    /// For each part of relative humidity beyond the usual.
    damp: f64,
}

/// Where humidity was recorded. Least squares over the hours from April to September of the sources of
/// the four samples that ship (measured, California; reanalysis and satellite, Piedmont and Florida; a
/// typical year, North Carolina), each place with a factor of its own: hours err by 2 to 17 % less than
/// with the day's range alone, each place with the coefficients of the others, and in California, where
/// hardly a cloud passes, by 1 % more. The month or so of each that ships gives 0.1, 0.05 and 0.73
/// (`tests/data/scripts/sun_from_air.py`).
const WITH_HUMIDITY: Signs = Signs {
    range: 0.43,
    warming: 0.067,
    damp: 0.78,
};

/// Where it was not, from the same.
const WITHOUT_HUMIDITY: Signs = Signs {
    range: 1.0,
    warming: 0.06,
    damp: 0.0,
};

/// Global means, W/m².
///
/// Source of a day's: `H = k √(T_max − T_min) H₀`, Allen et al. 1998, FAO Irrigation and Drainage Paper
/// 56, equation 50. Source of an hour's: [`WITH_HUMIDITY`].
pub(super) fn global_w_m2(
    grid: &Grid,
    light: &Light,
    air: &[Air],
    options: &Options,
    notices: &mut Vec<Notice>,
) -> Vec<f64> {
    let coefficient = options.range_coefficient.unwrap_or(RANGE_COEFFICIENT);
    notices.push(Notice::GlobalFromTemperatureRange {
        coefficient,
        day_percent: 25.0,
        month_percent: 15.0,
    });
    let signs = if column(grid, Quantity::DewPoint).is_some() {
        WITH_HUMIDITY
    } else {
        WITHOUT_HUMIDITY
    };
    let days = by_days(grid, light, air, coefficient);
    let whole_day = usize::try_from(86_400 / grid.step_s).unwrap_or(24);
    let beyond_usual = |values: Vec<f64>| -> Vec<f64> {
        (0..values.len())
            .map(|i| values[i] - usual(&values, i, whole_day))
            .collect()
    };
    let range = beyond_usual(days.iter().map(|day| day.share).collect());
    let warming = beyond_usual(over_hours(grid, air, |at| at.dry_bulb_k, |[a, b]| b - a));
    let damp = beyond_usual(over_hours(grid, air, relative_humidity, |[a, b]| {
        0.5 * (a + b)
    }));
    let or_nothing = |x: f64| if x.is_finite() { x } else { 0.0 };
    (0..grid.intervals)
        .map(|i| {
            let share = days[i].share
                + or_nothing((signs.range - 1.0) * range[i])
                + or_nothing(signs.warming * warming[i])
                - or_nothing(signs.damp * damp[i]);
            let share = share.clamp(DARKEST.min(days[i].share), days[i].most);
            share * light.clear_w_m2[i]
        })
        .collect()
}

impl Weather {
    /// Stretches how far each interval's clearness is from what is usual at its hour: how plainly clouds
    /// show in the air hangs on the place.
    pub(super) fn stretch_sun(&mut self, by: f64) {
        let start_s = civil_seconds(self.start);
        let step_s = i64::from(self.step_s);
        let altitude_m = self.place.altitude_m;
        let light = Light::new([start_s, step_s], &self.site, &self.air, altitude_m);
        let whole_day = usize::try_from(86_400 / step_s.max(1)).unwrap_or(24);
        let shares: Vec<f64> = self
            .radiation
            .iter()
            .zip(&light.clear_w_m2)
            .map(|(mean, clear)| mean.global_w_m2 / clear)
            .collect();
        for (i, mean) in self.radiation.iter_mut().enumerate() {
            let usual = usual(&shares, i, whole_day);
            let share = usual + by * (shares[i] - usual);
            if !share.is_finite() {
                continue;
            }
            let share = share.clamp(DARKEST.min(shares[i]), shares[i].max(1.0));
            mean.global_w_m2 = share * light.clear_w_m2[i];
            mean.diffuse_w_m2 = split(mean.global_w_m2, &light, i).min(mean.global_w_m2);
        }
    }
}

/// A day's global against that of a clear sky.
#[derive(Debug, Clone, Copy)]
struct Day {
    share: f64,
    /// That of the clearest day.
    most: f64,
}

/// Each interval's day.
fn by_days(grid: &Grid, light: &Light, air: &[Air], coefficient: f64) -> Vec<Day> {
    let days = days(grid, grid.intervals);
    let whole_day = usize::try_from(86_400 / grid.step_s).unwrap_or(24);
    let mut ratios: Vec<f64> = days
        .iter()
        .map(|day| {
            if day.len() * 4 < whole_day * 3 {
                return f64::NAN;
            }
            let temps = || air[day.start..=day.end].iter().map(|at| at.dry_bulb_k);
            let range = temps().fold(f64::NAN, f64::max) - temps().fold(f64::NAN, f64::min);
            (coefficient * range.max(0.0).sqrt()).min(CLEAREST_DAY)
        })
        .collect();
    // A day that is cut takes what its neighbour has.
    for i in 1..ratios.len() {
        if ratios[i].is_nan() {
            ratios[i] = ratios[i - 1];
        }
    }
    for i in (1..ratios.len()).rev() {
        if ratios[i - 1].is_nan() {
            ratios[i - 1] = ratios[i];
        }
    }
    let mut shares = Vec::with_capacity(grid.intervals);
    for (day, ratio) in days.into_iter().zip(ratios) {
        let ratio = if ratio.is_nan() {
            CLEAREST_DAY * 0.7
        } else {
            ratio
        };
        let outside: f64 = day
            .clone()
            .map(|i| light.outside_w_m2[i] * light.sine[i])
            .sum();
        let clear: f64 = day.clone().map(|i| light.clear_w_m2[i]).sum();
        let of = |ratio: f64| {
            if clear > 0.0 {
                ratio * outside / clear
            } else {
                0.0
            }
        };
        let own = Day {
            share: of(ratio),
            most: of(CLEAREST_DAY),
        };
        shares.extend(day.map(|_| own));
    }
    shares
}

/// Mean of what is known at the same hour of this day and those around.
fn usual(values: &[f64], i: usize, whole_day: usize) -> f64 {
    let first = i - (i / whole_day).min(DAYS_AROUND) * whole_day;
    let near = values[first..]
        .iter()
        .step_by(whole_day)
        .take((i - first) / whole_day + DAYS_AROUND + 1);
    let (sum, count) = near
        .filter(|value| value.is_finite())
        .fold((0.0, 0.0), |(sum, count), value| (sum + value, count + 1.0));
    sum / count
}

/// What becomes of a quantity over the hour about the middle of each interval, from its values at the
/// hour's start and end.
fn over_hours(
    grid: &Grid,
    air: &[Air],
    of: impl Fn(&Air) -> f64,
    becomes: impl Fn([f64; 2]) -> f64,
) -> Vec<f64> {
    let values: Vec<f64> = air.iter().map(of).collect();
    let half = 1800.0 / grid.step_s as f64;
    let last = values.len().saturating_sub(1) as f64;
    let at = |place: f64| {
        let place = place.clamp(0.0, last);
        let share = place - place.floor();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and the number of records"
        )]
        let [low, high] = [place.floor() as usize, place.ceil() as usize];
        values[low] * (1.0 - share) + values[high] * share
    };
    (0..grid.intervals)
        .map(|i| {
            let middle = i as f64 + 0.5;
            becomes([at(middle - half), at(middle + half)])
        })
        .collect()
}

/// Over water.
fn relative_humidity(at: &Air) -> f64 {
    over_water_pa(at.dew_point_k) / over_water_pa(at.dry_bulb_k)
}
