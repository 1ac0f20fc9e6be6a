//! Weather made from a few numbers, for someone who has nothing but a forecast.

use jiff::civil::Date;

use crate::elementary::{cos, sin};
use crate::units::kelvin;

use super::column_map_text::USUAL_WIND_HEIGHT_M;
use super::derive::{self, Options};
use super::dew_point;
use super::grid::Grid;
use super::raw::{QUANTITIES, civil_time, midnight};
use super::solar::Site;
use super::sunlight::cover_of_factor;
use super::{Kind, Notice, Place, Quantity, Weather};

/// How far below the day's high the air is at the end of hours 1 to 24, as a share of the day's
/// range.
///
/// Source: ASHRAE Handbook of Fundamentals (1997), chapter 28, table on the percentage of the
/// daily range (from memory).
const BELOW_HIGH: [f64; 24] = [
    0.87, 0.92, 0.96, 0.99, 1.00, 0.98, 0.93, 0.84, 0.71, 0.56, 0.39, 0.23, 0.11, 0.03, 0.00, 0.03,
    0.10, 0.21, 0.34, 0.47, 0.58, 0.68, 0.76, 0.82,
];

/// The least share of clear-sky sun that the cloud formula knows: that of a full cover.
pub const DULLEST: f64 = 0.25;

/// Days that are all alike, made from a forecast. Never to be shown as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeWeek {
    /// Where.
    pub place: Place,
    /// First day.
    pub first_day: Date,
    /// How many days.
    pub days: u16,
    /// Each day's highest temperature, K.
    pub high_k: f64,
    /// Each day's lowest temperature, K.
    pub low_k: f64,
    /// Dew point, K; where it is above the air temperature the air is saturated.
    pub dew_point_k: f64,
    /// Wind speed at 10 m above open ground, m/s.
    pub wind_speed_m_s: f64,
    /// Direction the wind blows from, clockwise from north, rad.
    pub wind_direction_rad: f64,
    /// Share of a clear sky's sun that reaches the ground, from [`DULLEST`] to 1.
    pub clearness: f64,
}

/// Numbers from which no weather can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
pub struct MadeError {
    /// Every one of them.
    pub faults: Vec<MadeFault>,
}

/// A number from which no weather can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what}: found {found}, accepts {accepts}")]
pub struct MadeFault {
    /// What it is.
    pub what: &'static str,
    /// The number; temperatures in K, angles in rad.
    pub found: f64,
    /// What is accepted.
    pub accepts: &'static str,
}

impl Default for MadeWeek {
    /// A clear hot week inland at 38° north.
    fn default() -> Self {
        Self {
            place: Place {
                name: "made place".into(),
                latitude_deg: 38.0,
                longitude_deg: -120.0,
                utc_offset_h: -8.0,
                altitude_m: 50.0,
            },
            first_day: Date::constant(2026, 7, 10),
            days: 7,
            high_k: kelvin(38.0),
            low_k: kelvin(19.0),
            dew_point_k: kelvin(12.0),
            wind_speed_m_s: 2.5,
            wind_direction_rad: 1.25 * std::f64::consts::PI,
            clearness: 1.0,
        }
    }
}

impl MadeWeek {
    /// The weather: hourly, of kind [`Kind::Made`].
    ///
    /// The temperature follows the shape of a design day, the sun a clear sky of usual turbidity
    /// times the clearness, and infrared the cloud cover that leaves that clearness.
    ///
    /// # Errors
    /// Every number that cannot be.
    pub fn weather(&self) -> Result<Weather, MadeError> {
        self.check()?;
        let start_s = midnight(self.first_day);
        let intervals = usize::from(self.days) * 24;
        let site = Site::new(
            &self.place,
            start_s,
            start_s + i64::from(self.days) * 86_400,
        );
        let mut values: [Vec<f64>; QUANTITIES] = std::array::from_fn(|_| Vec::new());
        let range = self.high_k - self.low_k;
        values[Quantity::DryBulb as usize] = (0..=intervals)
            .map(|i| self.high_k - BELOW_HIGH[(i + 23) % 24] * range)
            .collect();
        let mut fill = |quantity: Quantity, entries: usize, value: f64| {
            values[quantity as usize] = vec![value; entries];
        };
        fill(
            Quantity::DewPoint,
            intervals + 1,
            dew_point::kept_k(self.dew_point_k),
        );
        fill(Quantity::WindSpeed, intervals + 1, self.wind_speed_m_s);
        fill(
            Quantity::WindDirection,
            intervals + 1,
            sin(self.wind_direction_rad),
        );
        fill(
            Quantity::CloudCover,
            intervals,
            cover_of_factor(self.clearness),
        );
        let wind_cosine = vec![cos(self.wind_direction_rad); intervals + 1];
        let grid = Grid {
            start_s,
            step_s: 3600,
            intervals,
            values,
            wind_cosine,
        };
        let options = Options {
            altitude_m: self.place.altitude_m,
            albedo: None,
            range_coefficient: None,
        };
        // Everything is derived here; one notice says so.
        let (air, radiation) = derive::complete(&grid, &site, &options, &mut Vec::new());
        Ok(Weather {
            place: self.place.clone(),
            kind: Kind::Made,
            source: "made from a daily high and low".into(),
            licence: String::new(),
            start: civil_time(start_s),
            step_s: 3600,
            wind_height_m: USUAL_WIND_HEIGHT_M,
            air,
            radiation,
            snow_m2k_w: Vec::new(),
            site,
            holes: Vec::new(),
            notices: vec![Notice::Made {
                from: self.first_day,
                days: usize::from(self.days),
            }],
        })
    }

    fn check(&self) -> Result<(), MadeError> {
        let mut faults = Vec::new();
        let mut bound = |what: &'static str, found: f64, low: f64, high: f64, accepts| {
            if !(low..=high).contains(&found) {
                faults.push(MadeFault {
                    what,
                    found,
                    accepts,
                });
            }
        };
        let place = &self.place;
        bound(
            "latitude",
            place.latitude_deg,
            -90.0,
            90.0,
            "degrees from -90 to 90",
        );
        bound(
            "longitude",
            place.longitude_deg,
            -180.0,
            180.0,
            "degrees from -180 to 180",
        );
        bound(
            "UTC offset",
            place.utc_offset_h,
            -14.0,
            14.0,
            "hours from -14 to 14",
        );
        bound(
            "altitude",
            place.altitude_m,
            -450.0,
            6000.0,
            "metres from -450 to 6000",
        );
        bound(
            "days",
            f64::from(self.days),
            1.0,
            366.0,
            "a number of days from 1 to 366",
        );
        bound(
            "high",
            self.high_k,
            183.0,
            333.0,
            "a temperature from -90 to 60 C",
        );
        bound(
            "low",
            self.low_k,
            183.0,
            self.high_k,
            "a temperature not above the high",
        );
        bound(
            "dew point",
            self.dew_point_k,
            173.0,
            self.high_k,
            "a temperature below the high",
        );
        bound(
            "wind",
            self.wind_speed_m_s,
            0.0,
            75.0,
            "a speed from 0 to 75 m/s",
        );
        bound(
            "wind direction",
            self.wind_direction_rad,
            -7.0,
            7.0,
            "an angle of one turn",
        );
        bound(
            "clearness",
            self.clearness,
            DULLEST,
            1.0,
            "a share from 0.25 (overcast) to 1",
        );
        if faults.is_empty() {
            Ok(())
        } else {
            Err(MadeError { faults })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::celsius;

    #[test]
    fn every_day_reaches_its_high_in_the_afternoon_and_its_low_at_dawn() {
        let weather = MadeWeek::default().weather().unwrap();
        assert_eq!(weather.intervals(), 168);
        for day in 0..7 {
            assert!((celsius(weather.air()[24 * day + 15].dry_bulb_k) - 38.0).abs() < 1e-9);
            assert!((celsius(weather.air()[24 * day + 5].dry_bulb_k) - 19.0).abs() < 1e-9);
        }
        let noon = weather.radiation()[12];
        assert!((850.0..1050.0).contains(&noon.global_w_m2), "{noon:?}");
    }

    #[test]
    fn less_clearness_is_less_sun_and_more_infrared() {
        let clear = MadeWeek::default().weather().unwrap();
        let dull = MadeWeek {
            clearness: 0.5,
            ..MadeWeek::default()
        }
        .weather()
        .unwrap();
        let (clear, dull) = (clear.radiation()[12], dull.radiation()[12]);
        assert!((dull.global_w_m2 / clear.global_w_m2 - 0.5).abs() < 1e-9);
        assert!(dull.infrared_down_w_m2 > clear.infrared_down_w_m2 + 20.0);
    }

    #[test]
    fn every_number_that_cannot_be_is_named() {
        let mut week = MadeWeek {
            high_k: f64::NAN,
            clearness: 2.0,
            ..MadeWeek::default()
        };
        week.place.latitude_deg = 91.0;
        let faults = week.weather().unwrap_err().faults;
        let named: Vec<&str> = faults.iter().map(|fault| fault.what).collect();
        assert_eq!(named, ["latitude", "high", "low", "dew point", "clearness"]);
    }
}
