//! What is left between worked out and logged, sorted by the hour and by the wind.

use crate::study::calibrate::Compared;
use crate::units::System;
use crate::weather::{Air, Weather};

use super::super::chart::Spread;

const DAY_S: i64 = 86_400;
/// Wind below which a vane tells nothing, m/s: common starting speed of vanes, from memory.
const CALM_M_S: f64 = 0.5;
/// One mile an hour, m/s (international mile).
pub(super) const MPH_M_S: f64 = 1_609.344 / 3600.0;

/// What of the wind is told: a wind that never changes was assumed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wind<'a> {
    weather: &'a Weather,
    pub(super) has_speed: bool,
    pub(super) has_direction: bool,
}

impl<'a> Wind<'a> {
    pub(super) fn of(weather: &'a Weather) -> Self {
        let changes = |of: fn(&Air) -> f64| {
            let mut values = weather
                .air()
                .iter()
                .map(of)
                .filter(|value| value.is_finite());
            let first = values.next();
            values.any(|value| first.is_some_and(|first| (value - first).abs() > 1e-9))
        };
        Self {
            weather,
            has_speed: changes(|air| air.wind_speed_m_s),
            has_direction: changes(|air| air.wind_direction_rad),
        }
    }

    /// The weather nearest to a time, s since 1970 local standard time.
    fn air(&self, at_s: i64) -> Option<&'a Air> {
        let after = |by_s: i64| super::super::words::civil(at_s + by_s);
        let start_s = super::charts::seconds(self.weather.start());
        let step_s = i64::from(self.weather.step_s()).max(1);
        let into_s = (at_s - start_s).rem_euclid(step_s);
        let index = match self.weather.span(after(0), after(1)) {
            Ok(span) => span.start + usize::from(2 * into_s >= step_s),
            Err(_) => self.weather.span(after(-1), after(0)).ok()?.end,
        };
        self.weather.air().get(index)
    }

    /// Speed, m/s, if it is told.
    pub(super) fn speed_m_s(&self, at_s: i64) -> Option<f64> {
        let speed = self.air(at_s)?.wind_speed_m_s;
        (self.has_speed && speed.is_finite()).then_some(speed)
    }

    /// Where it comes from, degrees from north, if it is told and blows.
    pub(super) fn comes_from_deg(&self, at_s: i64) -> Option<f64> {
        let from = self.air(at_s)?.wind_direction_rad.to_degrees();
        let blows = self.speed_m_s(at_s).is_none_or(|speed| speed >= CALM_M_S);
        (self.has_direction && blows && from.is_finite()).then(|| from.rem_euclid(360.0))
    }
}

/// Ways to sort readings into classes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sorting {
    Hour,
    From,
    Speed,
}

/// Upper ends of all classes of wind speed but the last, m/s and mph.
const SPEEDS_M_S: [f64; 5] = [1.0, 2.0, 3.0, 5.0, 8.0];
const SPEEDS_MPH: [f64; 5] = [2.0, 4.0, 7.0, 11.0, 18.0];

impl Sorting {
    /// Names of the classes.
    pub(super) fn names(self, system: System) -> Vec<String> {
        match self {
            Self::Hour => (0..24).map(|hour| hour.to_string()).collect(),
            Self::From => ["N", "NE", "E", "SE", "S", "SW", "W", "NW"]
                .map(str::to_owned)
                .to_vec(),
            Self::Speed => {
                let ends = match system {
                    System::Us => SPEEDS_MPH,
                    System::Si => SPEEDS_M_S,
                };
                let mut from = 0.0;
                let mut names = Vec::new();
                for end in ends {
                    names.push(format!("{from}–{end}"));
                    from = end;
                }
                names.push(format!("{from}+"));
                names
            }
        }
    }

    /// The class of a time.
    fn class(self, system: System, wind: &Wind<'_>, at_s: i64) -> Option<usize> {
        match self {
            Self::Hour => usize::try_from(at_s.rem_euclid(DAY_S) / 3600).ok(),
            Self::From => {
                let eighths = ((wind.comes_from_deg(at_s)? + 22.5) / 45.0).floor();
                (0..8)
                    .find(|class| (f64::from(*class) - eighths.rem_euclid(8.0)).abs() < 0.5)
                    .and_then(|class| usize::try_from(class).ok())
            }
            Self::Speed => {
                let speed = wind.speed_m_s(at_s)?;
                Some(match system {
                    System::Us => SPEEDS_MPH.partition_point(|end| *end <= speed / MPH_M_S),
                    System::Si => SPEEDS_M_S.partition_point(|end| *end <= speed),
                })
            }
        }
    }

    /// Spread of worked out less logged in each class, in the unit shown.
    pub(super) fn spreads(
        self,
        system: System,
        wind: &Wind<'_>,
        one: &Compared,
    ) -> Vec<Option<Spread>> {
        let mut classes: Vec<Vec<f64>> = vec![Vec::new(); self.names(system).len()];
        for (at_s, (a, b)) in one
            .times_s
            .iter()
            .zip(one.worked_out.iter().zip(&one.logged))
        {
            let class = self.class(system, wind, *at_s);
            if let Some(values) = class.and_then(|class| classes.get_mut(class)) {
                values.push(super::shown_difference(system, one.measure, a - b));
            }
        }
        classes.into_iter().map(Spread::of).collect()
    }
}
