//! Global and diffuse radiation, measured or derived, interval by interval.

use std::f64::consts::FRAC_PI_2;

use crate::elementary::{acos, power};
use crate::sun;

use super::derive::{Options, column};
use super::grid::Grid;
use super::record::Air;
use super::solar::Site;
use super::{Notice, Quantity, sun_from_air};

/// Linke turbidity of the clear sky that cloud cover and temperature range are laid on: between
/// clear (3) and hazy summer air (4–5); common practice, no source.
pub(super) const TURBIDITY: f64 = 3.5;
/// Reflection at cloud edges lets quarter hours pass the extraterrestrial by this factor (common
/// practice, no source).
const BRIGHTEST: f64 = 1.5;
/// Largest beam transmittance of the air (common practice, no source).
const CLEAREST_BEAM: f64 = 0.85;
/// Radiation below this that is lost at night is not worth a notice, W/m².
const WORTH_A_NOTICE_W_M2: f64 = 5.0;
/// Disagreement of measured components worth a notice, W/m².
const DISAGREEMENT_W_M2: f64 = 15.0;

/// What the sun offers in each interval.
#[derive(Debug)]
pub(super) struct Light {
    /// Mean sine of the elevation, night as zero.
    pub(super) sine: Vec<f64>,
    /// Share of the interval with sun.
    pub(super) share: Vec<f64>,
    /// Extraterrestrial on a plane that faces the sun, W/m².
    pub(super) outside_w_m2: Vec<f64>,
    /// Global of a clear sky, mean over the interval, W/m².
    pub(super) clear_w_m2: Vec<f64>,
    /// Solar hour in the middle of the interval, h.
    pub(super) solar_hour: Vec<f64>,
}

impl Light {
    /// Intervals of a length that follow one another from a time on, both in s, with the air at their
    /// ends.
    pub(super) fn new(
        [start_s, step_s]: [i64; 2],
        site: &Site,
        air: &[Air],
        altitude_m: f64,
    ) -> Self {
        let intervals = air.len().saturating_sub(1);
        let mut light = Self {
            sine: Vec::with_capacity(intervals),
            share: Vec::with_capacity(intervals),
            outside_w_m2: Vec::with_capacity(intervals),
            clear_w_m2: Vec::with_capacity(intervals),
            solar_hour: Vec::with_capacity(intervals),
        };
        let mut from_s = start_s;
        for at in air.iter().take(intervals) {
            let to_s = from_s + step_s;
            let moment = site.at((from_s + to_s) as f64 / 2.0);
            let outside = moment.sun().extraterrestrial_w_m2();
            let sine = site.mean_sine_elevation(from_s, to_s);
            let share = site.share_with_sun(from_s, to_s);
            light.sine.push(sine);
            light.share.push(share);
            light.outside_w_m2.push(outside);
            light.solar_hour.push(moment.solar_hour());
            light.clear_w_m2.push(if share > 0.0 {
                share * clear_global_w_m2(sine / share, outside, at.pressure_pa, altitude_m)
            } else {
                0.0
            });
            from_s = to_s;
        }
        light
    }

    /// Angle from the vertical at which the sun stands in the mean while it is up, rad.
    fn zenith_rad(&self, i: usize) -> f64 {
        if self.share[i] > 0.0 {
            acos((self.sine[i] / self.share[i]).min(1.0))
        } else {
            FRAC_PI_2
        }
    }
}

fn clear_global_w_m2(sine: f64, outside_w_m2: f64, pressure_pa: f64, altitude_m: f64) -> f64 {
    let zenith = acos(sine.clamp(0.0, 1.0));
    // The air bends light by a degree at the horizon, of no weight for the energy of a day.
    let Some(relative) = sun::relative_air_mass(zenith) else {
        return 0.0;
    };
    let mass = sun::absolute_air_mass(relative, pressure_pa);
    sun::ineichen(zenith, mass, TURBIDITY, altitude_m, outside_w_m2).global_w_m2
}

/// Global and diffuse means, W/m².
pub(super) fn complete(
    grid: &Grid,
    light: &Light,
    air: &[Air],
    options: &Options,
    notices: &mut Vec<Notice>,
) -> (Vec<f64>, Vec<f64>) {
    let measured = |quantity| column(grid, quantity);
    let direct = measured(Quantity::DirectNormal);
    let sky = measured(Quantity::Diffuse);
    // Direct on the horizontal while its clearness is constant.
    let beam = |direct: &[f64], i: usize| {
        if light.share[i] > 0.0 {
            direct[i] * light.sine[i] / light.share[i]
        } else {
            0.0
        }
    };
    let mut global = match (measured(Quantity::Global), direct, sky) {
        (Some(global), ..) => global.to_vec(),
        (None, Some(direct), Some(sky)) => {
            notices.push(Notice::GlobalFromComponents);
            (0..grid.intervals)
                .map(|i| beam(direct, i) + sky[i])
                .collect()
        }
        _ => match measured(Quantity::CloudCover) {
            Some(cloud) => from_cloud(cloud, light, notices),
            None => sun_from_air::global_w_m2(grid, light, air, options, notices),
        },
    };
    if let (Some(_), Some(direct), Some(sky)) = (measured(Quantity::Global), direct, sky) {
        check_closure(light, notices, |i| global[i] - beam(direct, i) - sky[i]);
    }
    bound(&mut global, light, notices);
    let gaps = sky
        .or(direct)
        .map_or(0, |column| column.iter().filter(|x| x.is_nan()).count());
    if gaps > 0 {
        let quantity = Quantity::Diffuse;
        notices.push(Notice::DerivedWhereMissing {
            quantity,
            intervals: gaps,
        });
    }
    let diffuse = match (sky, direct) {
        (Some(sky), _) => sky.to_vec(),
        (None, Some(direct)) => {
            notices.push(Notice::DiffuseFromDirect);
            (0..grid.intervals)
                .map(|i| global[i] - beam(direct, i))
                .collect()
        }
        (None, None) => {
            notices.push(Notice::DiffuseFromGlobal);
            (0..grid.intervals)
                .map(|i| split(global[i], light, i))
                .collect()
        }
    };
    let diffuse = (0..grid.intervals)
        .map(|i| {
            // In a long gap of the sky's part it is split from global.
            let seen = if diffuse[i].is_nan() {
                split(global[i], light, i)
            } else {
                diffuse[i]
            };
            let most_beam = CLEAREST_BEAM * light.outside_w_m2[i] * light.sine[i];
            // Written so that a hole stays one.
            let least = global[i] - most_beam;
            let diffuse = if seen < least { least } else { seen };
            let diffuse = if diffuse < 0.0 { 0.0 } else { diffuse };
            if diffuse > global[i] {
                global[i]
            } else {
                diffuse
            }
        })
        .collect();
    (global, diffuse)
}

/// The diffuse mean of a global mean.
pub(super) fn split(global_w_m2: f64, light: &Light, i: usize) -> f64 {
    if light.share[i] <= 0.0 || global_w_m2.is_nan() {
        return global_w_m2;
    }
    let up = light.share[i];
    up * sun::erbs(global_w_m2 / up, light.zenith_rad(i), light.outside_w_m2[i]).diffuse_w_m2
}

fn check_closure(light: &Light, notices: &mut Vec<Notice>, rest: impl Fn(usize) -> f64) {
    let (mut sum, mut squares, mut count) = (0.0, 0.0, 0_usize);
    for i in (0..light.sine.len()).filter(|&i| light.sine[i] > 0.05) {
        let rest = rest(i);
        if !rest.is_nan() {
            sum += rest;
            squares += rest * rest;
            count += 1;
        }
    }
    let n = count.max(1) as f64;
    let rms_w_m2 = (squares / n).sqrt();
    if rms_w_m2 > DISAGREEMENT_W_M2 {
        notices.push(Notice::ComponentsDisagree {
            mean_w_m2: sum / n,
            rms_w_m2,
        });
    }
}

/// Drops what is recorded at night and what is brighter than can be.
fn bound(global: &mut [f64], light: &Light, notices: &mut Vec<Notice>) {
    let (mut night, mut bright) = ((0, 0.0), (0, 0.0));
    for (i, value) in global.iter_mut().enumerate() {
        let most = BRIGHTEST * light.outside_w_m2[i] * light.sine[i];
        let excess = *value - most;
        if excess > 0.0 {
            *value = most;
            if excess > WORTH_A_NOTICE_W_M2 {
                let tally = if light.sine[i] > 0.0 {
                    &mut bright
                } else {
                    &mut night
                };
                *tally = (tally.0 + 1, excess.max(tally.1));
            }
        }
    }
    if night.0 > 0 {
        let (intervals, highest_w_m2) = night;
        notices.push(Notice::SunBelowHorizon {
            intervals,
            highest_w_m2,
        });
    }
    if bright.0 > 0 {
        let (intervals, highest_w_m2) = bright;
        notices.push(Notice::BrighterThanPossible {
            intervals,
            highest_w_m2,
        });
    }
}

/// Global from cloud cover: `G = G_clear (1 − 0.75 N^3.4)`, N the covered share of the sky.
///
/// Source: Kasten & Czeplak 1980, Solar Energy 24, 177 (coefficients from memory), over a clear
/// sky of turbidity [`TURBIDITY`]. Against a packaged typical year it missed by 22–30 % an hour
/// and 13–20 % a day; that year's sun is partly modelled from cloud itself, so more is stated.
fn from_cloud(cloud: &[f64], light: &Light, notices: &mut Vec<Notice>) -> Vec<f64> {
    notices.push(Notice::GlobalFromCloud {
        hour_percent: 35.0,
        day_percent: 25.0,
    });
    cloud
        .iter()
        .zip(&light.clear_w_m2)
        .map(|(cover, clear)| clear * cloud_factor(*cover))
        .collect()
}

/// What a covered share of the sky leaves of clear-sky global.
pub(super) fn cloud_factor(cover: f64) -> f64 {
    1.0 - 0.75 * power(cover, 3.4)
}

/// The covered share of the sky that leaves `factor` of clear-sky global.
pub(super) fn cover_of_factor(factor: f64) -> f64 {
    power(((1.0 - factor) / 0.75).clamp(0.0, 1.0), 1.0 / 3.4)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cloud_and_its_shade_are_inverse() {
        for cover in [0.0, 0.3, 0.7, 1.0] {
            assert!((cover_of_factor(cloud_factor(cover)) - cover).abs() < 1e-12);
        }
        assert!(cover_of_factor(1.3).abs() < 1e-12);
        assert!((cover_of_factor(0.0) - 1.0).abs() < 1e-12);
    }
}
