//! Conditions at instants inside an interval.
//!
//! The air varies along straight lines between the ends of the intervals. Radiation of the sun is
//! rebuilt from the sun's position with the clearness of the interval held constant, so that the
//! trapezoid mean over the instants is the mean of the record; where the sun is below the horizon
//! nothing shines. Infrared follows a parabola that is continuous from one interval to the next
//! and keeps the mean.

use std::f64::consts::{PI, TAU};

use crate::physics::moist_air::saturation_humidity_ratio;
use crate::sun::SunPosition;

use super::Weather;
use super::raw::civil_seconds;

/// The weather at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Since the start of the weather, s.
    pub time_s: f64,
    /// Dry-bulb temperature, K.
    pub dry_bulb_k: f64,
    /// Humidity ratio, kg/kg.
    pub humidity_ratio: f64,
    /// Dew-point temperature, below freezing the frost point, K.
    pub dew_point_k: f64,
    /// Station pressure, Pa.
    pub pressure_pa: f64,
    /// Wind speed, m/s.
    pub wind_speed_m_s: f64,
    /// Direction that the wind blows from, clockwise from north, rad, 0 to 2π.
    pub wind_direction_rad: f64,
    /// Where the sun stands.
    pub sun: SunPosition,
    /// What the sun gives outside the air on a plane that faces it, W/m².
    pub extraterrestrial_normal_w_m2: f64,
    /// Global irradiance on the horizontal, W/m².
    pub global_w_m2: f64,
    /// Direct irradiance on a plane that faces the sun, W/m².
    pub direct_normal_w_m2: f64,
    /// Diffuse irradiance on the horizontal, W/m².
    pub diffuse_w_m2: f64,
    /// Infrared irradiance from the sky on the horizontal, W/m².
    pub infrared_down_w_m2: f64,
    /// Share of the sun's light that the ground reflects.
    pub albedo: f64,
    /// Thermal resistance of the snow on a roof, m²K/W.
    pub snow_m2k_w: f64,
}

impl Weather {
    /// The weather at `parts + 1` equally spaced instants of interval `interval`, its two ends
    /// included. Radiation jumps from the end of one interval to the start of the next.
    ///
    /// With one part an interval in which the sun both rises and sets, or is up only between the
    /// ends, loses its light: take four parts an hour or more. `parts` of 0 counts as 1; an
    /// interval past the end gives nothing.
    ///
    /// ```
    /// let weather = rafterheat::weather::MadeWeek::default().weather()?;
    /// let noon = weather.within(12, 4);
    /// assert_eq!(noon.len(), 5);
    /// assert!(noon[2].direct_normal_w_m2 > 500.0);
    /// # Ok::<(), rafterheat::weather::MadeError>(())
    /// ```
    pub fn within(&self, interval: usize, parts: usize) -> Vec<Conditions> {
        let (Some(mean), Some([start, end])) = (
            self.radiation.get(interval),
            self.air.get(interval..interval + 2),
        ) else {
            return Vec::new();
        };
        let parts = parts.max(1);
        let step_s = f64::from(self.step_s);
        let from_s = interval as f64 * step_s;
        let origin_s = civil_seconds(self.start) as f64;
        let infrared = self.infrared(interval, parts);
        let turn = (end.wind_direction_rad - start.wind_direction_rad + PI).rem_euclid(TAU) - PI;
        let snow = self.snow_m2k_w.get(interval..interval + 2);
        let snow = snow.map_or([0.0; 2], |ends| [ends[0], ends[1]]);
        let mut instants: Vec<Conditions> = (0..=parts)
            .map(|part| {
                let share = part as f64 / parts as f64;
                let between = |a: f64, b: f64| a + share * (b - a);
                let time_s = from_s + share * step_s;
                let moment = self.site.at(origin_s + time_s);
                let sun = moment.sun();
                let pressure_pa = between(start.pressure_pa, end.pressure_pa);
                let dry_bulb_k = between(start.dry_bulb_k, end.dry_bulb_k);
                let dew_point_k = between(start.dew_point_k, end.dew_point_k).min(dry_bulb_k);
                Conditions {
                    time_s,
                    dry_bulb_k,
                    humidity_ratio: saturation_humidity_ratio(dew_point_k, pressure_pa),
                    dew_point_k,
                    pressure_pa,
                    wind_speed_m_s: between(start.wind_speed_m_s, end.wind_speed_m_s),
                    wind_direction_rad: (start.wind_direction_rad + share * turn).rem_euclid(TAU),
                    sun,
                    extraterrestrial_normal_w_m2: sun.extraterrestrial_w_m2(),
                    // The sine of the sun's elevation for now: its scale follows.
                    global_w_m2: moment.sine_elevation().max(0.0),
                    direct_normal_w_m2: 0.0,
                    diffuse_w_m2: 0.0,
                    infrared_down_w_m2: infrared(share),
                    albedo: mean.albedo,
                    snow_m2k_w: between(snow[0], snow[1]),
                }
            })
            .collect();
        let ends = instants[0].global_w_m2 + instants[parts].global_w_m2;
        let sum: f64 = instants.iter().map(|at| at.global_w_m2).sum();
        let mean_sine = (sum - 0.5 * ends) / parts as f64;
        let (global, diffuse) = if mean_sine > 0.0 {
            (mean.global_w_m2 / mean_sine, mean.diffuse_w_m2 / mean_sine)
        } else {
            (0.0, 0.0)
        };
        for at in &mut instants {
            let sine = at.global_w_m2;
            at.global_w_m2 = global * sine;
            at.diffuse_w_m2 = diffuse * sine;
            // Beam on the horizontal is this times the sine: constant beam clearness.
            at.direct_normal_w_m2 = if sine > 0.0 { global - diffuse } else { 0.0 };
        }
        instants
    }

    /// Infrared inside an interval by the share of it that has gone.
    fn infrared(&self, interval: usize, parts: usize) -> impl Fn(f64) -> f64 + use<> {
        let last = self.radiation.len() - 1;
        let at = |i: usize| self.radiation[i].infrared_down_w_m2;
        let beside = |i: usize| {
            let value = at(i);
            if value.is_nan() { at(interval) } else { value }
        };
        let (before, after) = if self.wraps() {
            (
                if interval == 0 { last } else { interval - 1 },
                (interval + 1) % (last + 1),
            )
        } else {
            (interval.saturating_sub(1), (interval + 1).min(last))
        };
        let mean = at(interval);
        let (start, end) = (0.5 * (beside(before) + mean), 0.5 * (mean + beside(after)));
        let n = parts as f64;
        // The trapezoid mean of 6 x (1 − x) over n parts is 1 − 1/n².
        let bulge = if parts > 1 {
            (mean - 0.5 * (start + end)) / (1.0 - 1.0 / (n * n))
        } else {
            0.0
        };
        move |x| start + x * (end - start) + 6.0 * bulge * x * (1.0 - x)
    }
}
