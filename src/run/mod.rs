//! A house in weather: marches the network through a period and keeps the books.

mod balance;
mod batch;
mod course;
mod lanes;
mod march;
mod outcome;
mod warm_up;

use std::ops::Range;

use jiff::civil::DateTime;

use crate::house::{GivenRooms, House};
use crate::network::{AssemblyError, Common, Detail, Network};
use crate::ode::{OdeError, at_once};
use crate::weather::Weather;

use course::{Alone, Course, Drivers};
use outcome::Columns;

pub use balance::{Imbalance, check as check_balance};
pub use batch::{measure_each, simulate_each};
pub use outcome::{Balance, FanRun, Notice, Outcome, SensorTrace, Switching, Trace, WeatherOrigin};

/// How to run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOptions {
    /// Integrator.
    pub integrator: Choice,
    /// Length of the output intervals, s; a multiple of the forcing's grid.
    pub output_s: f64,
    /// Most days before the period that are run first and dropped.
    pub warm_up_days: u32,
    /// Temperature, K, from which all nodes start before the warm-up; `None` takes the outdoor
    /// mean. Results do not depend on it.
    pub start_k: Option<f64>,
    /// How finely the house is cut into stores.
    pub detail: Detail,
}

/// Integrator of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Choice {
    /// Linearly implicit, with the error allowed to the air in a step, K; solids may err three
    /// times as much.
    Default {
        /// Error allowed, K.
        tolerance_k: f64,
    },
    /// Explicit Dormand–Prince with tight tolerances.
    Reference {
        /// Relative and absolute tolerance.
        tolerance: f64,
    },
}

impl Default for RunOptions {
    fn default() -> Self {
        Self {
            integrator: Choice::Default { tolerance_k: 0.008 },
            output_s: 600.0,
            warm_up_days: 7,
            start_k: None,
            detail: Detail::Usual,
        }
    }
}

/// Why a run failed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RunError {
    /// The house could not be assembled.
    #[error(transparent)]
    Assembly(#[from] AssemblyError),
    /// The equations could not be solved.
    #[error("{0}")]
    Solution(#[from] OdeError),
    /// A control switches without end.
    #[error("a control switches more than {times} times within one interval at {time_s} s")]
    Chattering {
        /// Times it switched.
        times: u32,
        /// Time, s.
        time_s: f64,
    },
    /// A balance does not close.
    #[error(transparent)]
    Unbalanced(#[from] Imbalance),
    /// The log of the rooms' temperature does not reach over the period.
    #[error("the log of the rooms' temperature does not reach from {start} to {end}")]
    RoomsNotLogged {
        /// Start of the period.
        start: DateTime,
        /// Its end.
        end: DateTime,
    },
    /// The period has no weather.
    #[error("the period is empty")]
    EmptyPeriod,
    /// The period reaches past the weather.
    #[error("the period ends with interval {end}, the weather with {intervals}")]
    PastWeather {
        /// End of the period, intervals.
        end: usize,
        /// Intervals that the weather has.
        intervals: usize,
    },
}

/// Time by which a log may begin after a period's start or end before its end, s.
const LOG_SLACK_S: f64 = 3600.0;

/// Runs a house through a period of weather, given as intervals of it.
///
/// # Errors
/// [`RunError`]; a run whose balances do not close is an error, never a result.
pub fn simulate(
    house: &House,
    weather: &Weather,
    period: Range<usize>,
    options: &RunOptions,
) -> Result<Outcome, RunError> {
    check(house, weather, &period)?;
    let drivers = Drivers::new(weather);
    let course = Alone::new(Network::assemble_in(
        house,
        options.detail,
        &Common::default(),
    )?);
    let columns = Columns::default();
    at_once(whole(house, course, &drivers, period, options, columns))
}

/// Warms a house up and marches it through the period.
async fn whole<C: Course>(
    house: &House,
    mut course: C,
    drivers: &Drivers<'_>,
    period: Range<usize>,
    options: &RunOptions,
    columns: Columns,
) -> Result<Outcome, RunError> {
    let notices = warm_up::warm_up(&mut course, drivers, &period, options).await?;
    march::march(
        house,
        &mut course,
        drivers,
        period,
        notices,
        options,
        columns,
    )
    .await
}

/// Whether a house can be run through a period at all.
fn check(house: &House, weather: &Weather, period: &Range<usize>) -> Result<(), RunError> {
    if period.is_empty() {
        return Err(RunError::EmptyPeriod);
    }
    let intervals = weather.intervals();
    if period.end > intervals {
        let end = period.end;
        return Err(RunError::PastWeather { end, intervals });
    }
    if let Some(GivenRooms::Logged(log)) = &house.living.given {
        let start = weather.interval_start(period.start);
        let end = weather.interval_start(period.end);
        let [first_s, last_s] = log.span_s(start);
        let length_s = end.duration_since(start).as_secs_f64();
        if first_s > LOG_SLACK_S || last_s < length_s - LOG_SLACK_S {
            return Err(RunError::RoomsNotLogged { start, end });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{HouseFile, STARTER};
    use crate::weather::MadeWeek;

    #[test]
    fn a_period_without_weather_is_refused() {
        let house = HouseFile::from_text(STARTER, "house.toml").unwrap().base;
        let weather = MadeWeek::default().weather().unwrap();
        let intervals = weather.intervals();
        let run = |period| simulate(&house, &weather, period, &RunOptions::default());
        assert_eq!(run(5..5), Err(RunError::EmptyPeriod));
        for start in [0, intervals - 1, intervals + 5] {
            let end = intervals + 6;
            let past = RunError::PastWeather { end, intervals };
            assert_eq!(run(start..end), Err(past));
        }
    }
}
