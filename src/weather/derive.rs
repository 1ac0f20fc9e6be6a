//! What a file does not have, derived in a stated order.
//!
//! 1. Dew point: the file's, from relative humidity, else each day's lowest temperature.
//! 2. Pressure: the file's, else the standard atmosphere's at the altitude.
//! 3. Global: the file's, direct and diffuse together, cloud cover, else the air alone: the daily range
//!    of temperature, and how warm and damp each hour is.
//! 4. Diffuse: the file's, what direct leaves of global, else split from global.
//! 5. Infrared: the file's, else from dew point and cloud cover; where there is no cloud cover,
//!    from the clearness of the sky by day, carried over the night.

use crate::elementary::{atan2, power};

use super::grid::Grid;
use super::raw::QUANTITIES;
use super::record::{Air, Radiation};
use super::solar::Site;
use super::sunlight::{self, Light};
use super::{Notice, Quantity, infrared};

/// Wind speed where none is recorded, m/s: the mean over 2000 stations that Allen et al. 1998
/// (FAO-56, chapter 3) recommend.
const USUAL_WIND_M_S: f64 = 2.0;
/// Ground reflectance where none is recorded: grass and bare soil, common practice, no source.
const USUAL_ALBEDO: f64 = 0.2;
/// Spread of the dew point about the daily low, K: common practice, no source; Allen et al. 1998
/// (FAO-56, annex 6) subtract 2–3 K in dry places.
const LOW_AS_DEW_POINT_K: f64 = 3.0;

/// What the description of a file adds to its rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Options {
    pub(super) altitude_m: f64,
    pub(super) albedo: Option<f64>,
    pub(super) range_coefficient: Option<f64>,
}

/// Completes the records.
pub(super) fn complete(
    grid: &Grid,
    site: &Site,
    options: &Options,
    notices: &mut Vec<Notice>,
) -> (Vec<Air>, Vec<Radiation>) {
    let air = air(grid, options, notices);
    let light = Light::new([grid.start_s, grid.step_s], site, &air, options.altitude_m);
    let (global, diffuse) = sunlight::complete(grid, &light, &air, options, notices);
    let infrared = infrared::complete(grid, &light, &air, &global, notices);
    let albedo = column(grid, Quantity::Albedo);
    let usual = options.albedo.unwrap_or(USUAL_ALBEDO);
    if albedo.is_none() && options.albedo.is_none() {
        notices.push(Notice::AlbedoAssumed { albedo: usual });
    }
    let radiation = (0..grid.intervals)
        .map(|i| Radiation {
            global_w_m2: global[i],
            diffuse_w_m2: diffuse[i],
            infrared_down_w_m2: infrared[i],
            albedo: albedo.map_or(
                usual,
                |column| {
                    if column[i].is_nan() { usual } else { column[i] }
                },
            ),
        })
        .collect();
    (air, radiation)
}

/// The column of a quantity, if it has any value.
pub(super) fn column(grid: &Grid, quantity: Quantity) -> Option<&[f64]> {
    debug_assert!((quantity as usize) < QUANTITIES);
    let column = grid.values[quantity as usize].as_slice();
    column.iter().any(|value| !value.is_nan()).then_some(column)
}

fn air(grid: &Grid, options: &Options, notices: &mut Vec<Notice>) -> Vec<Air> {
    let dry_bulb = &grid.values[Quantity::DryBulb as usize];
    let dew_point = column(grid, Quantity::DewPoint).map_or_else(
        || {
            notices.push(Notice::DewPointFromDailyLow {
                uncertainty_k: LOW_AS_DEW_POINT_K,
            });
            daily_lows(grid, dry_bulb)
        },
        <[f64]>::to_vec,
    );
    let usual_pressure_pa = standard_pressure_pa(options.altitude_m);
    let pressure = column(grid, Quantity::Pressure);
    if pressure.is_none() {
        notices.push(Notice::PressureFromAltitude);
    }
    let speed = column(grid, Quantity::WindSpeed);
    if speed.is_none() {
        notices.push(Notice::WindSpeedAssumed {
            speed_m_s: USUAL_WIND_M_S,
        });
    }
    let sine = column(grid, Quantity::WindDirection);
    if sine.is_none() {
        notices.push(Notice::WindDirectionAssumed { direction_deg: 0.0 });
    }
    (0..=grid.intervals)
        .map(|i| Air {
            dry_bulb_k: dry_bulb[i],
            dew_point_k: if dew_point[i] > dry_bulb[i] {
                dry_bulb[i]
            } else {
                dew_point[i]
            },
            pressure_pa: pressure.map_or(usual_pressure_pa, |column| column[i]),
            wind_speed_m_s: speed.map_or(USUAL_WIND_M_S, |column| column[i]),
            wind_direction_rad: sine.map_or(0.0, |column| {
                atan2(column[i], grid.wind_cosine[i]).rem_euclid(std::f64::consts::TAU)
            }),
        })
        .collect()
}

/// Pressure of the standard atmosphere, Pa.
///
/// Source: U.S. Standard Atmosphere 1976, troposphere, in the form of the ASHRAE Handbook of
/// Fundamentals (2017), chapter 1, equation 3 (from memory).
fn standard_pressure_pa(altitude_m: f64) -> f64 {
    crate::units::STANDARD_PRESSURE_PA * power(1.0 - 2.255_77e-5 * altitude_m, 5.255_9)
}

/// Each day's lowest value, at every end of an interval of the day.
///
/// Source: Allen et al. 1998, FAO Irrigation and Drainage Paper 56, equation 48.
fn daily_lows(grid: &Grid, dry_bulb: &[f64]) -> Vec<f64> {
    let mut lows = Vec::with_capacity(dry_bulb.len());
    for day in days(grid, dry_bulb.len()) {
        let low = dry_bulb[day.clone()]
            .iter()
            .copied()
            .fold(f64::NAN, f64::min);
        lows.extend(day.map(|_| low));
    }
    lows
}

/// The entries of each calendar day, in order; the first and the last day may be cut.
pub(super) fn days(grid: &Grid, entries: usize) -> Vec<std::ops::Range<usize>> {
    let mut days = Vec::new();
    let mut from = 0;
    while from < entries {
        let at_s = grid.start_s + i64::try_from(from).unwrap_or(0) * grid.step_s;
        let left_s = 86_400 - at_s.rem_euclid(86_400);
        let steps = usize::try_from(left_s / grid.step_s).unwrap_or(1).max(1);
        let end = (from + steps).min(entries);
        days.push(from..end);
        from = end;
    }
    days
}
