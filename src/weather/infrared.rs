//! Infrared from the sky, measured or derived from dew point and cloud.

use crate::physics::radiation::{clear_sky_emissivity, cloudy_sky_emissivity};
use crate::units::{STEFAN_BOLTZMANN, celsius};

use super::derive::column;
use super::grid::Grid;
use super::record::Air;
use super::sunlight::{Light, cover_of_factor};
use super::{Notice, Quantity};

/// What a full cover adds of what a clear sky lacks: Martin & Berdahl 1984, between low and
/// middle cloud (from memory).
const CLOUD_FACTOR: f64 = 0.8;
/// Uncertainty of derived infrared with recorded cloud, W/m²: published comparisons with
/// pyrgeometers find 10–20 (from memory).
const WITH_CLOUD_W_M2: f64 = 20.0;
/// Uncertainty of derived infrared with estimated cloud, W/m². On the samples that ship it is too
/// high by 10, off by 16 (root mean square; measured half hours, California), and too high by 17,
/// off by 27 (reanalysed hours, Piedmont).
const WITHOUT_CLOUD_W_M2: f64 = 25.0;
/// The sun must stand above this mean sine (10°) to tell cloud from haze.
const TELLING_SUN: f64 = 0.17;
/// Half the span over which clearness is averaged before it tells a cloud cover, s.
const HALF_SPAN_S: i64 = 3600;

/// Infrared means, W/m².
pub(super) fn complete(
    grid: &Grid,
    light: &Light,
    air: &[Air],
    global: &[f64],
    notices: &mut Vec<Notice>,
) -> Vec<f64> {
    let measured = column(grid, Quantity::InfraredDown);
    let missing = measured.map_or(grid.intervals, nans);
    if let (Some(measured), 0) = (measured, missing) {
        return measured.to_vec();
    }
    if measured.is_some() {
        let quantity = Quantity::InfraredDown;
        notices.push(Notice::DerivedWhereMissing {
            quantity,
            intervals: missing,
        });
    }
    let half = usize::try_from(HALF_SPAN_S / grid.step_s).unwrap_or(1);
    let cover = match column(grid, Quantity::CloudCover) {
        Some(cloud) if nans(cloud) == 0 => {
            let uncertainty_w_m2 = WITH_CLOUD_W_M2;
            notices.push(Notice::InfraredFromCloud { uncertainty_w_m2 });
            cloud.to_vec()
        }
        _ => {
            let uncertainty_w_m2 = WITHOUT_CLOUD_W_M2;
            notices.push(Notice::InfraredFromClearness { uncertainty_w_m2 });
            cover_from_clearness(light, global, half)
        }
    };
    (0..grid.intervals)
        .map(|i| {
            if let Some(value) = measured.map(|column| column[i]).filter(|x| !x.is_nan()) {
                return value;
            }
            let middle = |of: fn(&Air) -> f64| 0.5 * (of(&air[i]) + of(&air[i + 1]));
            sky_w_m2(
                middle(|at| at.dry_bulb_k),
                middle(|at| at.dew_point_k),
                middle(|at| at.pressure_pa),
                light.solar_hour[i],
                cover[i],
            )
        })
        .collect()
}

fn nans(column: &[f64]) -> usize {
    column.iter().filter(|value| value.is_nan()).count()
}

/// What the sky sends to the horizontal, W/m².
fn sky_w_m2(
    dry_bulb_k: f64,
    dew_point_k: f64,
    pressure_pa: f64,
    solar_hour: f64,
    cover: f64,
) -> f64 {
    let clear = clear_sky_emissivity(celsius(dew_point_k), solar_hour, pressure_pa);
    let emissivity = cloudy_sky_emissivity(clear, cover, CLOUD_FACTOR).min(1.0);
    emissivity * STEFAN_BOLTZMANN * dry_bulb_k.powi(4)
}

/// Cloud cover from global against the clear sky over two hours by day; over the night a straight
/// line from the evening to the morning.
fn cover_from_clearness(light: &Light, global: &[f64], half: usize) -> Vec<f64> {
    let told: Vec<f64> = (0..global.len())
        .map(|i| {
            if light.sine[i] < TELLING_SUN {
                return f64::NAN;
            }
            let around = i.saturating_sub(half)..(i + half + 1).min(global.len());
            let around = around.filter(|&j| light.sine[j] > TELLING_SUN);
            let (seen, clear) = around.fold((0.0, 0.0), |(seen, clear), j| {
                (seen + global[j], clear + light.clear_w_m2[j])
            });
            cover_of_factor(seen / clear)
        })
        .collect();
    let mut cover = told.clone();
    let mut last: Option<usize> = None;
    for i in 0..=told.len() {
        let is_end = i == told.len();
        if !is_end && told[i].is_nan() {
            continue;
        }
        let from = last.map_or(0, |j| j + 1);
        let low = last.map(|j| told[j]);
        let high = told.get(i).copied();
        for (n, value) in cover[from..i].iter_mut().enumerate() {
            let share = (n + 1) as f64 / (i - from + 1) as f64;
            *value = match (low, high) {
                (Some(low), Some(high)) => low + share * (high - low),
                (Some(only), None) | (None, Some(only)) => only,
                // The sun never told: half covered is the least wrong.
                (None, None) => 0.5,
            };
        }
        last = Some(i);
    }
    cover
}
