//! A house with its log and weather, run with any values of what is not known.

use std::sync::atomic::{AtomicUsize, Ordering};

use jiff::civil::DateTime;
use rayon::prelude::*;

use crate::house::{GivenRooms, House, HouseError, HouseFile, LogFault, RoomsLog};
use crate::readings::{Readings, Role, Series};
use crate::run::{Choice, Outcome, RunError, RunOptions, simulate};
use crate::weather::{Adjustment, Weather, WeatherError};

use crate::study::side_by_side::run_made;

use super::compare::{
    CompareError, Compared, ROOMS, Where, civil, columns, inside, seconds, worked_out,
};
use super::exchanged::ColumnsExchanged;
use super::unknowns::{Prior, adjustment};

/// What is to be fitted to what.
#[derive(Debug, Clone)]
pub struct Task<'a> {
    /// The house.
    pub file: &'a HouseFile,
    /// The log, on the standard time of the weather.
    pub readings: &'a Readings,
    /// Weather of the log's days.
    pub weather: &'a Weather,
    /// What may be fitted.
    pub priors: Vec<Prior>,
    /// First instant and last of the readings that are fitted, local standard time.
    pub fit: [DateTime; 2],
    /// The same of readings that are kept out, to see how good the fit is.
    pub kept_out: Option<[DateTime; 2]>,
    /// Number of starts of the search, the first from the likeliest values.
    pub starts: usize,
}

impl Task<'_> {
    /// Whether the rooms' own temperature was logged, and drives them.
    pub fn rooms_are_logged(&self) -> bool {
        let rooms = Role::Inside(ROOMS.to_owned());
        self.readings.find(&rooms).is_some()
    }
}

/// Why nothing could be fitted.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum CalibrationError {
    /// The log does not fit the house.
    #[error(transparent)]
    Compare(#[from] CompareError),
    /// The house cannot be made so.
    #[error(transparent)]
    House(#[from] HouseError),
    /// There is no weather for the readings.
    #[error(transparent)]
    Weather(#[from] WeatherError),
    /// The house as it is described cannot be run.
    #[error("the house as it is described cannot be run through the log's days")]
    Run(#[from] RunError),
    /// Too few readings.
    #[error(
        "{readings} reading(s) from {from} to {to} are too few to fit: a day's worth is the least"
    )]
    TooFew {
        /// Readings found.
        readings: usize,
        /// Start.
        from: DateTime,
        /// End.
        to: DateTime,
    },
    /// The rooms' column cannot drive the rooms.
    #[error("the column \"rooms\" cannot drive the rooms: {fault:?}")]
    Rooms {
        /// What is wrong with it.
        fault: LogFault,
    },
    /// No unknown moves what was logged.
    #[error("none of the {unknowns} unknown(s) moves what was logged enough to be told from it")]
    NothingTold {
        /// How many unknowns there are.
        unknowns: usize,
    },
    /// Nothing fits, and two columns of the log look exchanged.
    #[error(transparent)]
    Exchanged(#[from] ColumnsExchanged),
    /// No start led anywhere.
    #[error("the search came to no end from any of {starts} start(s)")]
    Astray {
        /// Starts.
        starts: usize,
    },
}

/// A house, its log and its weather, ready to be run with any values.
pub(in crate::study) struct Model<'a> {
    file: HouseFile,
    rooms: Option<RoomsLog>,
    columns: Vec<(&'a Series, Where)>,
    weather: &'a Weather,
    priors: &'a [Prior],
    output_s: f64,
    runs: AtomicUsize,
    progress: &'a (dyn Fn() + Sync),
}

impl<'a> Model<'a> {
    pub(in crate::study) fn new(
        task: &'a Task,
        progress: &'a (dyn Fn() + Sync),
    ) -> Result<Self, CalibrationError> {
        let (file, rooms) = driven(task)?;
        let columns = columns(task.readings, &file.base)?;
        let steps_s = columns.iter().map(|(one, _)| usual_step_s(&one.times_s));
        let is_dense = steps_s.min().is_some_and(|step_s| step_s < 3600);
        Ok(Self {
            output_s: if is_dense { 1800.0 } else { 3600.0 },
            file,
            rooms,
            columns,
            weather: task.weather,
            priors: &task.priors,
            runs: AtomicUsize::new(0),
            progress,
        })
    }

    /// How many runs there were.
    pub(super) fn runs(&self) -> usize {
        self.runs.load(Ordering::Relaxed)
    }

    /// Runs a period with each of several sets of values, side by side, and hands on each outcome;
    /// what that made of them in the order of the sets.
    ///
    /// # Errors
    /// [`CalibrationError`] if there is no weather for the period; of a set, if it makes no house or
    /// one that cannot be run.
    pub(in crate::study) fn run_each<T: Send>(
        &self,
        sets: &[Vec<f64>],
        [from, to]: [DateTime; 2],
        take: impl Fn(Outcome) -> T + Sync,
    ) -> Result<Vec<Result<T, CalibrationError>>, CalibrationError> {
        let period = self.weather.span(from, to)?;
        let houses: Vec<Result<House, CalibrationError>> = sets
            .par_iter()
            .map(|values| Ok(self.house(values)?))
            .collect();
        let mut own: Vec<(Adjustment, Weather)> = Vec::new();
        for adjustment in sets.iter().map(|values| adjustment(self.priors, values)) {
            let is_known = own.iter().any(|(known, _)| *known == adjustment);
            if adjustment != Adjustment::default() && !is_known {
                own.push((adjustment, self.weather.adjusted(&adjustment)));
            }
        }
        let weather: Vec<&Weather> = sets
            .iter()
            .map(|values| {
                let adjustment = adjustment(self.priors, values);
                let own = own.iter().find(|(known, _)| *known == adjustment);
                own.map_or(self.weather, |(_, weather)| weather)
            })
            .collect();
        let take = |outcome| {
            self.count();
            take(outcome)
        };
        Ok(run_made(houses, &weather, &period, &self.options(), take))
    }

    /// Runs a period with values.
    pub(in crate::study) fn run(
        &self,
        values: &[f64],
        [from, to]: [DateTime; 2],
    ) -> Result<Outcome, CalibrationError> {
        let period = self.weather.span(from, to)?;
        let house = self.house(values)?;
        let weather = self.weather.adjusted(&adjustment(self.priors, values));
        let outcome = simulate(&house, &weather, period, &self.options())?;
        self.count();
        Ok(outcome)
    }

    fn house(&self, values: &[f64]) -> Result<House, HouseError> {
        let design = &self.file.base.design;
        house_with(&self.file, design, self.priors, values, self.rooms.as_ref())
    }

    fn options(&self) -> RunOptions {
        RunOptions {
            integrator: Choice::Default { tolerance_k: 0.05 },
            output_s: self.output_s,
            warm_up_days: 5,
            ..RunOptions::default()
        }
    }

    fn count(&self) {
        self.runs.fetch_add(1, Ordering::Relaxed);
        (self.progress)();
    }

    /// The columns that are compared, in a period: name, times, s since 1970 local standard time,
    /// and readings.
    pub(in crate::study) fn logged(
        &self,
        period: [DateTime; 2],
    ) -> Vec<(String, Vec<i64>, Vec<f64>)> {
        let period_s = period.map(seconds);
        let own = |(series, _): &(&Series, Where)| {
            let (times_s, logged) = inside(series, period_s);
            let name = series.role.key().to_owned();
            (name, times_s.to_vec(), logged.to_vec())
        };
        self.columns.iter().map(own).collect()
    }

    /// A run against the log.
    pub(in crate::study) fn compared(
        &self,
        outcome: &Outcome,
        period: [DateTime; 2],
    ) -> Vec<Compared> {
        let period_s = period.map(seconds);
        self.columns
            .iter()
            .map(|(series, at)| {
                let (times_s, logged) = inside(series, period_s);
                Compared {
                    name: series.role.key().to_owned(),
                    measure: at.measure(),
                    times_s: times_s.to_vec(),
                    logged: logged.to_vec(),
                    worked_out: worked_out(outcome, at, times_s),
                }
            })
            .collect()
    }
}

/// The house whose rooms are given where their temperature was logged, and that log.
pub(super) fn driven(task: &Task) -> Result<(HouseFile, Option<RoomsLog>), CalibrationError> {
    let rooms = task.readings.find(&Role::Inside(ROOMS.to_owned()));
    let rooms = rooms.map(rooms_log).transpose()?;
    let file = if rooms.is_some() && task.file.base.living.given.is_none() {
        task.file.with(&[
            ("house.rooms", "given"),
            ("house.rooms_temperature", "21 C"),
        ])?
    } else {
        task.file.clone()
    };
    Ok((file, rooms))
}

/// A design of a house file with values of its unknowns, and rooms that a log drives.
pub(super) fn house_with(
    file: &HouseFile,
    design: &str,
    priors: &[Prior],
    values: &[f64],
    rooms: Option<&RoomsLog>,
) -> Result<House, HouseError> {
    let settings = settings(priors, values);
    let settings: Vec<(&str, &str)> = settings
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()))
        .collect();
    let mut house = file.design_with(design, &settings)?;
    if let Some(log) = rooms {
        house.living.given = Some(GivenRooms::Logged(log.clone()));
    }
    Ok(house)
}

/// Settings of the house file for those values that are not the likeliest.
fn settings(priors: &[Prior], values: &[f64]) -> Vec<(String, String)> {
    priors
        .iter()
        .zip(values)
        .filter(|(prior, value)| (prior.value - **value).abs() > 0.0)
        .filter_map(|(prior, value)| prior.setting(*value))
        .collect()
}

fn rooms_log(series: &Series) -> Result<RoomsLog, CalibrationError> {
    let first_s = series.times_s.first().copied().unwrap_or(0);
    let times_s = series.times_s.iter().map(|at_s| (at_s - first_s) as f64);
    RoomsLog::new(civil(first_s), times_s.collect(), series.values.clone())
        .map_err(|fault| CalibrationError::Rooms { fault })
}

/// What values of the task's priors give in a period, against the log.
///
/// # Errors
/// [`CalibrationError`] if it cannot be run.
pub fn predict(
    task: &Task,
    values: &[f64],
    period: [DateTime; 2],
) -> Result<Vec<Compared>, CalibrationError> {
    let model = Model::new(task, &|| {})?;
    let outcome = model.run(values, period)?;
    Ok(model.compared(&outcome, period))
}

/// Runs several sets of values side by side.
///
/// # Errors
/// The first [`CalibrationError`].
pub fn predict_all(
    task: &Task,
    sets: &[Vec<f64>],
    period: [DateTime; 2],
) -> Result<Vec<Vec<Compared>>, CalibrationError> {
    let model = Model::new(task, &|| {})?;
    let take = |outcome: Outcome| model.compared(&outcome, period);
    model.run_each(sets, period, take)?.into_iter().collect()
}

/// The usual step of a log, s.
pub(super) fn usual_step_s(times_s: &[i64]) -> i64 {
    let mut steps: Vec<i64> = times_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
    steps.sort_unstable();
    steps.get(steps.len() / 2).copied().unwrap_or(3600)
}
