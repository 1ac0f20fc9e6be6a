//! The sun's direction, distance, rising and setting, and the air that its rays cross.

use std::f64::consts::{FRAC_PI_2, TAU};

use solar_positioning::time::JulianDate;
use solar_positioning::{Horizon, Location, SolarEvents, SolarPositions, delta_t};

use crate::elementary::{cos, power, sin, tan};
use crate::units::STANDARD_PRESSURE_PA;

/// Irradiance of a plane facing the sun at one astronomical unit, W/m².
///
/// Source: Gueymard 2018, Solar Energy 168 (from memory). The correlations of Erbs and Perez were
/// made with 1367 W/m²; the 0.4 % between them is far inside their scatter.
pub const SOLAR_CONSTANT_W_M2: f64 = 1_361.1;

/// Julian date of 1970-01-01 00:00 UTC.
const UNIX_EPOCH_JD: f64 = 2_440_587.5;
const DAY_S: f64 = 86_400.0;
/// Mean Gregorian year, s.
const YEAR_S: f64 = 365.242_5 * DAY_S;

/// Where the sun stands, seen from a place on the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunPosition {
    /// Angle from the vertical to the sun's centre, without refraction, rad.
    pub zenith_rad: f64,
    /// Direction clockwise from north, rad in 0..2π.
    pub azimuth_rad: f64,
    /// Distance of the sun, astronomical units.
    pub distance_au: f64,
}

impl SunPosition {
    /// Whether the sun's centre is above the horizon.
    pub fn is_up(&self) -> bool {
        self.zenith_rad < FRAC_PI_2
    }

    /// Cosine of the zenith angle: below zero at night.
    pub fn cos_zenith(&self) -> f64 {
        cos(self.zenith_rad)
    }

    /// Irradiance of a plane facing the sun above the atmosphere, W/m².
    pub fn extraterrestrial_w_m2(&self) -> f64 {
        SOLAR_CONSTANT_W_M2 / self.distance_au.powi(2)
    }
}

/// A place or time for which the sun's position is not defined.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SunError {
    /// Latitude outside −90° to 90°.
    #[error("latitude {0}° is not between -90° and 90°")]
    Latitude(f64),
    /// Longitude outside −180° to 180°.
    #[error("longitude {0}° is not between -180° and 180°")]
    Longitude(f64),
    /// Altitude that is no number.
    #[error("altitude {0} m is not a number")]
    Altitude(f64),
    /// Time outside the years −2000 to 6000 of the position algorithm, or −500 to 3000 of the
    /// estimate of the earth's rotation.
    #[error("the sun's position is not known {0} s from the start of 1970")]
    Time(f64),
}

/// Position of the sun by the NREL solar position algorithm (Reda & Andreas 2004).
///
/// * `utc_unix_s`: seconds from the start of 1970, UTC, without leap seconds
/// * `latitude_deg`: north positive; `longitude_deg`: east positive
/// * `altitude_m`: above sea level
///
/// # Errors
/// [`SunError`] if the place or the time is outside the range of the algorithm.
pub fn position(
    utc_unix_s: f64,
    latitude_deg: f64,
    longitude_deg: f64,
    altitude_m: f64,
) -> Result<SunPosition, SunError> {
    let delta_t_s = estimated_delta_t_s(utc_unix_s)?;
    position_with_delta_t(
        utc_unix_s,
        delta_t_s,
        latitude_deg,
        longitude_deg,
        altitude_m,
    )
}

/// As [`position`], with the difference of terrestrial and universal time given, s.
///
/// # Errors
/// [`SunError`] as for [`position`].
pub fn position_with_delta_t(
    utc_unix_s: f64,
    delta_t_s: f64,
    latitude_deg: f64,
    longitude_deg: f64,
    altitude_m: f64,
) -> Result<SunPosition, SunError> {
    let location = place(latitude_deg, longitude_deg)?;
    if !altitude_m.is_finite() {
        return Err(SunError::Altitude(altitude_m));
    }
    let outside = |_| SunError::Time(utc_unix_s);
    let time = JulianDate::new(julian_date(utc_unix_s), delta_t_s).map_err(outside)?;
    let prepared = SolarPositions::new()
        .for_time_from_julian(time)
        .map_err(outside)?;
    let sun = prepared.at(location, altitude_m, None).map_err(outside)?;
    Ok(SunPosition {
        zenith_rad: sun.zenith_angle().to_radians(),
        azimuth_rad: sun.azimuth().to_radians(),
        distance_au: prepared.earth_radius_vector().unwrap_or(1.0),
    })
}

/// When the sun rises and sets in an interval.
#[derive(Debug, Clone, PartialEq)]
pub struct SunTimes {
    /// Instants of rising, seconds from the start of 1970, UTC.
    pub rises_utc_unix_s: Vec<f64>,
    /// Instants of setting, seconds from the start of 1970, UTC.
    pub sets_utc_unix_s: Vec<f64>,
    /// Whether the sun stays up throughout.
    pub always_up: bool,
    /// Whether the sun stays down throughout.
    pub always_down: bool,
}

/// Rising and setting of the sun's upper edge, with refraction (0.8333° below the horizon),
/// between two instants.
///
/// # Errors
/// [`SunError`] if the place or the time is outside the range of the algorithm.
pub fn rise_and_set(
    from_utc_unix_s: f64,
    to_utc_unix_s: f64,
    latitude_deg: f64,
    longitude_deg: f64,
) -> Result<SunTimes, SunError> {
    let location = place(latitude_deg, longitude_deg)?;
    let delta_t_s = estimated_delta_t_s(from_utc_unix_s)?;
    let events = SolarEvents::new()
        .for_interval_from_julian(
            julian_date(from_utc_unix_s),
            julian_date(to_utc_unix_s),
            location,
            delta_t_s,
            Horizon::SunriseSunset,
        )
        .map_err(|_| SunError::Time(to_utc_unix_s))?;
    let unix = |days: &f64| (days - UNIX_EPOCH_JD) * DAY_S;
    Ok(SunTimes {
        rises_utc_unix_s: events.rises.iter().map(unix).collect(),
        sets_utc_unix_s: events.sets.iter().map(unix).collect(),
        always_up: events.always_above(),
        always_down: events.always_below(),
    })
}

fn place(latitude: f64, longitude: f64) -> Result<Location, SunError> {
    if !(-90.0..=90.0).contains(&latitude) {
        return Err(SunError::Latitude(latitude));
    }
    if !(-180.0..=180.0).contains(&longitude) {
        return Err(SunError::Longitude(longitude));
    }
    Ok(Location {
        latitude,
        longitude,
    })
}

fn julian_date(utc_unix_s: f64) -> f64 {
    UNIX_EPOCH_JD + utc_unix_s / DAY_S
}

fn estimated_delta_t_s(utc_unix_s: f64) -> Result<f64, SunError> {
    delta_t::estimate(1970.0 + utc_unix_s / YEAR_S).map_err(|_| SunError::Time(utc_unix_s))
}

/// Irradiance of a plane facing the sun above the atmosphere by the day of the year alone, W/m².
///
/// Source: Spencer 1971, Search 2(5). Without the year it is good to about 0.1 %; where the
/// position is known, [`SunPosition::extraterrestrial_w_m2`] is better.
pub fn spencer_extraterrestrial_w_m2(day_of_year: u16, solar_constant_w_m2: f64) -> f64 {
    let angle = TAU * (f64::from(day_of_year) - 1.0) / 365.0;
    solar_constant_w_m2
        * (1.000_11
            + 0.034_221 * cos(angle)
            + 0.001_28 * sin(angle)
            + 0.000_719 * cos(2.0 * angle)
            + 7.7e-5 * sin(2.0 * angle))
}

/// Zenith angle at which the sun appears, rad: raised by refraction where it is near or above the
/// horizon.
///
/// Source: Reda & Andreas 2004, equation 42 (Saemundsson's formula scaled to pressure and
/// temperature), with 0.5667° for refraction at the horizon.
pub fn apparent_zenith_rad(zenith_rad: f64, pressure_pa: f64, temp_c: f64) -> f64 {
    let elevation = 90.0 - zenith_rad.to_degrees();
    if elevation < -(0.266_67 + 0.566_7) {
        return zenith_rad;
    }
    let density = pressure_pa / 101_000.0 * 283.0 / (273.0 + temp_c);
    let bend = 1.02 / (60.0 * tan((elevation + 10.3 / (elevation + 5.11)).to_radians()));
    zenith_rad - (density * bend).to_radians()
}

/// Path through the air relative to the vertical one; `None` while the sun is below the horizon.
///
/// Source: Kasten & Young 1989, Applied Optics 28(22).
pub fn relative_air_mass(zenith_rad: f64) -> Option<f64> {
    let zenith_deg = zenith_rad.to_degrees();
    (zenith_deg <= 90.0)
        .then(|| 1.0 / (cos(zenith_rad) + 0.505_72 * power(96.079_95 - zenith_deg, -1.636_4)))
}

/// Air mass corrected for the pressure at the place.
pub fn absolute_air_mass(relative: f64, pressure_pa: f64) -> f64 {
    relative * pressure_pa / STANDARD_PRESSURE_PA
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_or_time_that_is_not_one_is_refused() {
        assert_eq!(position(0.0, 91.0, 0.0, 0.0), Err(SunError::Latitude(91.0)));
        assert_eq!(
            position(0.0, 0.0, -181.0, 0.0),
            Err(SunError::Longitude(-181.0))
        );
        assert!(matches!(
            position(0.0, f64::NAN, 0.0, 0.0),
            Err(SunError::Latitude(_))
        ));
        assert!(matches!(
            position(0.0, 0.0, 0.0, f64::INFINITY),
            Err(SunError::Altitude(_))
        ));
        for time in [f64::NAN, f64::INFINITY, 1e13, -1e13] {
            assert!(
                matches!(position(time, 0.0, 0.0, 0.0), Err(SunError::Time(_))),
                "{time}"
            );
            assert!(rise_and_set(time, time + 1.0, 0.0, 0.0).is_err(), "{time}");
        }
    }

    #[test]
    fn polar_summer_has_no_night() {
        // 2024-06-21, one day, 75° north.
        let day = 1_718_928_000.0;
        let times = rise_and_set(day, day + DAY_S, 75.0, 0.0).unwrap();
        assert!(times.always_up && times.rises_utc_unix_s.is_empty());
        let times = rise_and_set(day, day + DAY_S, -75.0, 0.0).unwrap();
        assert!(times.always_down && times.sets_utc_unix_s.is_empty());
    }

    #[test]
    fn the_air_mass_is_one_overhead_and_about_38_at_the_horizon() {
        // Kasten & Young 1989, table II: 37.92 at the horizon (from memory).
        assert!((relative_air_mass(0.0).unwrap() - 1.0).abs() < 1e-3);
        assert!((relative_air_mass(FRAC_PI_2).unwrap() - 37.92).abs() < 0.01);
        assert_eq!(relative_air_mass(FRAC_PI_2 + 1e-6), None);
    }
}
