//! What a weather file holds: facts, no words.

use std::ops::Range;

use jiff::civil::DateTime;

use crate::physics::moist_air::saturation_humidity_ratio;

use super::raw::{civil_seconds, civil_time};
use super::{Hole, Kind, Notice, Place, Weather};

/// Days in the stretches that are looked for.
const WEEK_DAYS: usize = 7;

/// Facts about a weather series.
#[derive(Debug, Clone, PartialEq)]
pub struct Description {
    /// Where it was.
    pub place: Place,
    /// What sort of weather it is.
    pub kind: Kind,
    /// Who recorded or made it.
    pub source: String,
    /// Terms of use, empty if not stated.
    pub licence: String,
    /// First instant, local standard time.
    pub from: DateTime,
    /// Last instant, local standard time.
    pub to: DateTime,
    /// Length of an interval, s.
    pub step_s: u32,
    /// Number of intervals.
    pub intervals: usize,
    /// Spans that cannot be simulated.
    pub holes: Vec<Hole>,
    /// What was repaired, assumed or derived.
    pub notices: Vec<Notice>,
    /// The seven days with the highest mean dry bulb.
    pub hottest_week: Option<Stretch>,
    /// The seven days with the lowest mean dry bulb.
    pub coldest_week: Option<Stretch>,
    /// The seven days with the highest mean humidity ratio.
    pub most_humid_week: Option<Stretch>,
    /// Calendar months that are covered by at least 20 days.
    pub months: Vec<Month>,
}

/// Means and extremes of some days.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Its intervals.
    pub intervals: Range<usize>,
    /// First instant.
    pub from: DateTime,
    /// Last instant.
    pub to: DateTime,
    /// Mean dry bulb, K.
    pub mean_dry_bulb_k: f64,
    /// Highest dry bulb at the end of an interval, K.
    pub highest_dry_bulb_k: f64,
    /// Lowest dry bulb at the end of an interval, K.
    pub lowest_dry_bulb_k: f64,
    /// Mean humidity ratio, kg/kg.
    pub mean_humidity_ratio: f64,
    /// Mean wind speed, m/s.
    pub mean_wind_speed_m_s: f64,
    /// Mean global radiation over day and night, W/m².
    pub mean_global_w_m2: f64,
    /// Mean infrared from the sky, W/m².
    pub mean_infrared_down_w_m2: f64,
}

/// A calendar month.
#[derive(Debug, Clone, PartialEq)]
pub struct Month {
    /// Year.
    pub year: i16,
    /// Month, 1–12.
    pub month: i8,
    /// Means and extremes of what is covered of it.
    pub stretch: Stretch,
}

impl Weather {
    /// The facts.
    pub fn describe(&self) -> Description {
        let weeks = self.weeks();
        Description {
            place: self.place.clone(),
            kind: self.kind,
            source: self.source.clone(),
            licence: self.licence.clone(),
            from: self.start,
            to: self.end(),
            step_s: self.step_s,
            intervals: self.intervals(),
            holes: self.holes.clone(),
            notices: self.notices.clone(),
            hottest_week: highest(&weeks, |week| week.mean_dry_bulb_k),
            coldest_week: highest(&weeks, |week| -week.mean_dry_bulb_k),
            most_humid_week: highest(&weeks, |week| week.mean_humidity_ratio),
            months: self.months(),
        }
    }

    /// The seven days, from midnight to midnight, with the highest mean dry bulb; shorter weather
    /// as a whole. Nothing if every week has a hole.
    pub fn hottest_week(&self) -> Option<Stretch> {
        highest(&self.weeks(), |week| week.mean_dry_bulb_k)
    }

    /// Means and extremes of some intervals; nothing if they are none, past the end, or touch a
    /// hole.
    pub fn stretch(&self, intervals: Range<usize>) -> Option<Stretch> {
        let holed = self
            .holes
            .iter()
            .any(|h| h.first < intervals.end && h.end > intervals.start);
        if intervals.is_empty() || intervals.end > self.intervals() || holed {
            return None;
        }
        let air = &self.air[intervals.start..=intervals.end];
        let radiation = &self.radiation[intervals.clone()];
        let n = intervals.len() as f64;
        // Straight lines between the ends: the trapezoid mean.
        let mean = |of: &dyn Fn(&super::Air) -> f64| {
            let inner: f64 = air[1..air.len() - 1].iter().map(of).sum();
            (inner + 0.5 * (of(&air[0]) + of(&air[air.len() - 1]))) / n
        };
        let temps = || air.iter().map(|at| at.dry_bulb_k);
        Some(Stretch {
            from: self.interval_start(intervals.start),
            to: self.interval_start(intervals.end),
            mean_dry_bulb_k: mean(&|at| at.dry_bulb_k),
            highest_dry_bulb_k: temps().fold(f64::NEG_INFINITY, f64::max),
            lowest_dry_bulb_k: temps().fold(f64::INFINITY, f64::min),
            mean_humidity_ratio: mean(&|at| {
                saturation_humidity_ratio(at.dew_point_k, at.pressure_pa)
            }),
            mean_wind_speed_m_s: mean(&|at| at.wind_speed_m_s),
            mean_global_w_m2: radiation.iter().map(|at| at.global_w_m2).sum::<f64>() / n,
            mean_infrared_down_w_m2: radiation
                .iter()
                .map(|at| at.infrared_down_w_m2)
                .sum::<f64>()
                / n,
            intervals,
        })
    }

    /// Every seven whole days; fewer as a whole.
    fn weeks(&self) -> Vec<Stretch> {
        let step_s = i64::from(self.step_s);
        let per_day = usize::try_from(86_400 / step_s.max(1)).unwrap_or(24);
        let into_day_s = civil_seconds(self.start).rem_euclid(86_400);
        let first = usize::try_from((86_400 - into_day_s) % 86_400 / step_s.max(1)).unwrap_or(0);
        let days = self.intervals().saturating_sub(first) / per_day;
        if days < WEEK_DAYS {
            return self.stretch(0..self.intervals()).into_iter().collect();
        }
        (0..=days - WEEK_DAYS)
            .filter_map(|day| {
                let from = first + day * per_day;
                self.stretch(from..from + WEEK_DAYS * per_day)
            })
            .collect()
    }

    fn months(&self) -> Vec<Month> {
        let step_s = i64::from(self.step_s);
        let start_s = civil_seconds(self.start);
        let month_of = |i: usize| {
            let date = civil_time(start_s + i64::try_from(i).unwrap_or(0) * step_s).date();
            (date.year(), date.month())
        };
        let least = usize::try_from(20 * 86_400 / step_s.max(1)).unwrap_or(480);
        let mut months = Vec::new();
        let mut from = 0;
        for i in 1..=self.intervals() {
            if i == self.intervals() || month_of(i) != month_of(from) {
                let (year, month) = month_of(from);
                if i - from >= least
                    && let Some(stretch) = self.stretch(from..i)
                {
                    months.push(Month {
                        year,
                        month,
                        stretch,
                    });
                }
                from = i;
            }
        }
        months
    }
}

fn highest(weeks: &[Stretch], of: impl Fn(&Stretch) -> f64) -> Option<Stretch> {
    weeks.iter().max_by(|a, b| of(a).total_cmp(&of(b))).cloned()
}
