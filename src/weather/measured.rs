//! Weather whose file is from elsewhere or derived, set right by what is known of the place.

use crate::elementary::hypot;
use crate::physics::moist_air;

use super::dew_point::{kept_k, over_water_pa};
use super::{Notice, Quantity, Weather};

/// What is added to weather from elsewhere, or multiplied with what was derived.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adjustment {
    /// Added to the air's temperature, K; its humidity stays.
    pub air_k: f64,
    /// Factor of the sun's radiation.
    pub sun: f64,
    /// How far an interval's clearness goes to the mean of its neighbours within an hour and a half,
    /// 0 to 1: a cloud over a station is some time later or never over a house some miles off.
    pub sun_spread: f64,
    /// How far an interval's clearness is from the usual at its hour, against what the air's warmth and
    /// damp say, for sun that was derived from them.
    pub sun_contrast: f64,
    /// Added to the infrared from the sky, W/m².
    pub infrared_w_m2: f64,
    /// Wind that is at the house when there is none in the file, m/s: the file's `u` becomes
    /// `√(u² + w²)`, as gusts are added to a mean wind (Beljaars 1995).
    pub wind_in_calm_m_s: f64,
    /// Factor of the snow that likely lies on the roof; 0 is none.
    pub snow: f64,
}

impl Default for Adjustment {
    fn default() -> Self {
        Self {
            air_k: 0.0,
            sun: 1.0,
            sun_spread: 0.0,
            sun_contrast: 1.0,
            infrared_w_m2: 0.0,
            wind_in_calm_m_s: 0.0,
            snow: 0.0,
        }
    }
}

impl Weather {
    /// The same weather with columns measured at the place: air at the ends of the intervals (one
    /// value more than there are intervals), radiation as means over them, SI; what is not a number
    /// stays as it was. Relative humidity becomes the dew point. Where the air is replaced, infrared
    /// keeps its share of a black body's at the air's temperature, since that is how a sky changes
    /// with it.
    #[must_use]
    pub fn with_measured(&self, columns: &[(Quantity, Vec<f64>)]) -> Self {
        let mut own = self.clone();
        let of = |quantity: Quantity| {
            columns
                .iter()
                .find(|(other, _)| *other == quantity)
                .map(|(_, column)| column.as_slice())
        };
        let put = |slot: &mut f64, quantity: Quantity, i: usize| {
            let value = of(quantity).and_then(|column| column.get(i)).copied();
            if let Some(value) = value.filter(|value| value.is_finite()) {
                *slot = value;
            }
        };
        for i in 0..own.air.len() {
            let at = &mut own.air[i];
            put(&mut at.dry_bulb_k, Quantity::DryBulb, i);
            put(&mut at.pressure_pa, Quantity::Pressure, i);
            put(&mut at.wind_speed_m_s, Quantity::WindSpeed, i);
            put(&mut at.wind_direction_rad, Quantity::WindDirection, i);
            let mut share = f64::NAN;
            put(&mut share, Quantity::RelativeHumidity, i);
            if share.is_finite() {
                let vapour_pa = share.max(0.01) * over_water_pa(at.dry_bulb_k);
                at.dew_point_k = moist_air::dew_point_k(vapour_pa);
            }
            let mut dew_k = f64::NAN;
            put(&mut dew_k, Quantity::DewPoint, i);
            if dew_k.is_finite() {
                at.dew_point_k = kept_k(dew_k);
            }
            at.dew_point_k = at.dew_point_k.min(at.dry_bulb_k);
        }
        for i in 0..own.radiation.len() {
            let middle =
                |weather: &Self| 0.5 * (weather.air[i].dry_bulb_k + weather.air[i + 1].dry_bulb_k);
            let warmer = (middle(&own) / middle(self)).powi(4);
            let split = self.radiation[i];
            let mean = &mut own.radiation[i];
            if warmer.is_finite() {
                mean.infrared_down_w_m2 *= warmer;
            }
            put(&mut mean.infrared_down_w_m2, Quantity::InfraredDown, i);
            put(&mut mean.albedo, Quantity::Albedo, i);
            put(&mut mean.global_w_m2, Quantity::Global, i);
            // Diffuse keeps its share unless it was measured too.
            if split.global_w_m2 > 0.0 {
                mean.diffuse_w_m2 *= mean.global_w_m2 / split.global_w_m2;
            } else if of(Quantity::Global).is_some() {
                mean.diffuse_w_m2 = mean.global_w_m2;
            }
            put(&mut mean.diffuse_w_m2, Quantity::Diffuse, i);
            mean.diffuse_w_m2 = mean.diffuse_w_m2.min(mean.global_w_m2);
        }
        for (quantity, column) in columns {
            let values = column.iter().filter(|value| value.is_finite()).count();
            if values > 0 {
                let of = column.len();
                own.notices.push(Notice::MeasuredAtHouse {
                    quantity: *quantity,
                    values,
                    of,
                });
            }
        }
        own.holes.retain(|hole| {
            let column = of(hole.quantity);
            let told =
                |i: usize| column.is_some_and(|c| c.get(i).is_some_and(|value| value.is_finite()));
            !(hole.first..hole.end).all(told)
        });
        own
    }

    /// The same weather, adjusted.
    #[must_use]
    pub fn adjusted(&self, by: &Adjustment) -> Self {
        let mut own = self.clone();
        for at in &mut own.air {
            at.dry_bulb_k += by.air_k;
            if by.wind_in_calm_m_s > 0.0 {
                at.wind_speed_m_s = hypot(at.wind_speed_m_s, by.wind_in_calm_m_s);
            }
            at.dew_point_k = at.dew_point_k.min(at.dry_bulb_k);
        }
        if by.snow > 0.0 {
            own.snow_m2k_w = self.likely_snow_m2k_w();
            for snow in &mut own.snow_m2k_w {
                *snow *= by.snow;
            }
        }
        if (by.sun_contrast - 1.0).abs() > 0.0 {
            own.stretch_sun(by.sun_contrast);
        }
        if by.sun_spread > 0.0 {
            own.spread_sun(by.sun_spread);
        }
        for (i, mean) in own.radiation.iter_mut().enumerate() {
            let warmer = 1.0 + by.air_k / self.air[i].dry_bulb_k;
            mean.global_w_m2 *= by.sun;
            mean.diffuse_w_m2 *= by.sun;
            mean.infrared_down_w_m2 *= warmer.powi(4);
            mean.infrared_down_w_m2 += by.infrared_w_m2;
        }
        own
    }

    /// Moves the sun's clearness towards the mean of its neighbours.
    fn spread_sun(&mut self, share: f64) {
        const REACH_S: i64 = 5400;
        let step_s = i64::from(self.step_s);
        let start_s = super::raw::civil_seconds(self.start);
        let sines: Vec<f64> = (start_s..)
            .step_by(usize::try_from(step_s).unwrap_or(3600))
            .take(self.radiation.len())
            .map(|from_s| self.site.mean_sine_elevation(from_s, from_s + step_s))
            .collect();
        let reach = usize::try_from(REACH_S / step_s).unwrap_or(0);
        let before: Vec<_> = self.radiation.clone();
        for (i, mean) in self.radiation.iter_mut().enumerate() {
            let near = i.saturating_sub(reach)..(i + reach + 1).min(before.len());
            // What is missing tells its neighbours nothing.
            let (mut sine, mut global, mut diffuse) = (0.0, 0.0, 0.0);
            for (sine_here, here) in sines[near.clone()].iter().zip(&before[near]) {
                if here.global_w_m2.is_finite() && here.diffuse_w_m2.is_finite() {
                    sine += sine_here;
                    global += here.global_w_m2;
                    diffuse += here.diffuse_w_m2;
                }
            }
            if sine <= 0.0 {
                continue;
            }
            let towards = |value: f64, sum: f64| value + share * (sum / sine * sines[i] - value);
            mean.global_w_m2 = towards(mean.global_w_m2, global);
            mean.diffuse_w_m2 = towards(mean.diffuse_w_m2, diffuse).min(mean.global_w_m2);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::MadeWeek;

    #[test]
    fn what_was_measured_goes_before_the_file_and_the_rest_stays() {
        let weather = MadeWeek::default().weather().unwrap();
        let mut column = vec![f64::NAN; weather.intervals() + 1];
        column[12] = 320.0;
        let own = weather.with_measured(&[(Quantity::DryBulb, column)]);
        assert!((own.air()[12].dry_bulb_k - 320.0).abs() < 1e-12);
        assert_eq!(own.air()[13], weather.air()[13]);
        assert!(
            own.radiation()[12].infrared_down_w_m2 > weather.radiation()[12].infrared_down_w_m2
        );
        assert!(own.notices().contains(&Notice::MeasuredAtHouse {
            quantity: Quantity::DryBulb,
            values: 1,
            of: weather.intervals() + 1
        }));
    }

    #[test]
    fn an_adjustment_of_nothing_changes_nothing() {
        let weather = MadeWeek::default().weather().unwrap();
        assert_eq!(weather.adjusted(&Adjustment::default()), weather);
        let dim = weather.adjusted(&Adjustment {
            sun: 0.5,
            ..Adjustment::default()
        });
        let noon = |weather: &Weather| weather.radiation()[12].global_w_m2;
        assert!((noon(&dim) / noon(&weather) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn spread_sun_keeps_its_sum_nearly_and_a_hole_to_itself() {
        let weather = MadeWeek::default().weather().unwrap();
        let mut broken = weather.clone();
        broken.radiation[12].global_w_m2 = 0.0;
        broken.radiation[12].diffuse_w_m2 = 0.0;
        broken.radiation[36].global_w_m2 = f64::NAN;
        let own = broken.adjusted(&Adjustment {
            sun_spread: 0.5,
            ..Adjustment::default()
        });
        assert!(own.radiation[12].global_w_m2 > 100.0, "a cloud has passed");
        let missing = own.radiation.iter().filter(|one| one.global_w_m2.is_nan());
        assert_eq!(missing.count(), 1);
        let sum = |of: &[crate::weather::Radiation]| -> f64 {
            of[..24].iter().map(|one| one.global_w_m2).sum()
        };
        assert!((sum(&own.radiation) / sum(&broken.radiation) - 1.0).abs() < 0.02);
    }
}
