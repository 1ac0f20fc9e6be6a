//! Many designs of one house: every value of some fields with every other, or samples of them.

mod axis;
mod figures;
mod fit;
mod plan;
mod sample;
mod tally;

use std::ops::Range;
use std::time::{Duration, Instant};

use rayon::prelude::*;

use crate::house::{House, HouseError, HouseFile};
use crate::run::{Outcome, RunError, RunOptions, measure_each};
use crate::weather::Weather;

pub use axis::{Axis, AxisError, Reading, Subject, Values};
pub use figures::{ATTIC_AIR, CEILING, COLUMNS, Column, DELIVERED, Figures, LIVING, RUN_HOURS};
pub use plan::{Cell, Method, Order, Plan, PlanError};
pub use sample::SOBOL_AXES;
pub(super) use sample::{latin_hypercube, normal};
pub use tally::{Ending, Mean, Place, Swing, Swings, Tally};

/// Weather that houses are run in.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// What it is called where several are compared.
    pub name: String,
    /// The weather.
    pub weather: Weather,
    /// Intervals of it that are run.
    pub period: Range<usize>,
}

/// A house file and the weather its variations are run in.
#[derive(Debug)]
pub struct Ground<'a> {
    /// The file.
    pub file: &'a HouseFile,
    /// Design that is varied, where a variation names none.
    pub design: String,
    /// Weather; the first where a variation names none.
    pub climates: Vec<Climate>,
}

/// A variation of a house.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Variation {
    /// Settings, keys and values.
    pub settings: Vec<(String, String)>,
    /// Design, if not the ground's.
    pub design: Option<String>,
    /// Name of the weather, if not the first.
    pub weather: Option<String>,
}

/// Why a variation has no results.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RowError {
    /// The house cannot be so.
    #[error(transparent)]
    House(#[from] HouseError),
    /// The run failed.
    #[error(transparent)]
    Run(#[from] RunError),
    /// There is no such design.
    #[error("there is no design {found:?}")]
    NoDesign {
        /// As asked for.
        found: String,
    },
    /// There is no such weather.
    #[error("there is no weather {found:?}")]
    NoWeather {
        /// As asked for.
        found: String,
    },
}

/// A row with what came of it.
#[derive(Debug)]
pub struct Row {
    /// Number, from 0.
    pub index: u64,
    /// Values of the axes.
    pub cells: Vec<Cell>,
    /// What came of it.
    pub result: Result<Figures, RowError>,
}

impl Row {
    /// How it ended.
    pub fn ending(&self) -> Ending {
        match &self.result {
            Ok(figures) => Ending::Done(*figures),
            Err(RowError::Run(_)) => Ending::Failed,
            Err(_) => Ending::Refused,
        }
    }
}

impl Ground<'_> {
    /// The house of a variation, and the index of its weather.
    fn house(&self, variation: &Variation) -> Result<(House, usize), RowError> {
        let settings = variation.settings.iter();
        let settings: Vec<(&str, &str)> = settings.map(|(k, v)| (k.as_str(), v.as_str())).collect();
        let design = variation.design.as_ref().unwrap_or(&self.design);
        if self.file.find(design).is_none() {
            let found = design.clone();
            return Err(RowError::NoDesign { found });
        }
        let mut climates = self.climates.iter();
        let climate = match &variation.weather {
            Some(name) => climates.position(|climate| climate.name == *name),
            None => climates.next().map(|_| 0),
        };
        let Some(climate) = climate else {
            let found = variation.weather.clone().unwrap_or_default();
            return Err(RowError::NoWeather { found });
        };
        let mut house = self.file.design_with(design, &settings)?;
        // Nothing of a row is read off them.
        house.sensors.clear();
        Ok((house, climate))
    }

    /// The variation of some values of a plan's axes.
    fn variation(plan: &Plan, cells: &[Cell]) -> Variation {
        let mut variation = Variation::default();
        for (axis, cell) in plan.axes().iter().zip(cells) {
            let text = cell.text.clone();
            match axis.subject() {
                Subject::Design => variation.design = Some(text),
                Subject::Weather => variation.weather = Some(text),
                Subject::Field => variation.settings.push((axis.key.clone(), text)),
            }
        }
        variation
    }

    /// Tries every value of every axis by itself, before anything is run: a key that is not known,
    /// a value that cannot be read or is out of its range. Values that only do not go with the rest
    /// of the house may go with other axes' and pass.
    ///
    /// # Errors
    /// [`HouseError`] with the faults of the first value that has any.
    pub fn check(&self, plan: &Plan) -> Result<(), HouseError> {
        let alone = plan.axes().len() == 1;
        for axis in plan.axes() {
            if axis.subject() != Subject::Field {
                continue;
            }
            let trials = axis.trials();
            let faults = trials.par_iter().map(|value| {
                let setting = [(axis.key.as_str(), value.as_str())];
                match self.file.design_with(&self.design, &setting) {
                    Err(error) if alone || !error.is_misfit() => Some(error),
                    _ => None,
                }
            });
            // Of a single axis some values may fit and others not, such as too many fans.
            let faults: Vec<HouseError> = faults.flatten().collect();
            let all = faults.len() == trials.len();
            let wrong = faults.into_iter().find(|fault| all || !fault.is_misfit());
            if let Some(error) = wrong {
                return Err(error);
            }
        }
        Ok(())
    }

    /// Runs rows side by side and hands them on in their order; memory does not grow with them.
    ///
    /// # Errors
    /// What `sink` fails with; rows after that are not run.
    pub fn rows<E>(
        &self,
        plan: &Plan,
        rows: Range<u64>,
        mut sink: impl FnMut(Row) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut next = rows.start;
        let mut batch = Batch::new();
        while next < rows.end {
            let end = rows.end.min(next.saturating_add(batch.len() as u64));
            let started = Instant::now();
            let cells: Vec<Vec<Cell>> = (next..end).map(|index| plan.cells(index)).collect();
            let variations: Vec<Variation> = cells
                .iter()
                .map(|cells| Self::variation(plan, cells))
                .collect();
            let results = self.each(&variations);
            batch.adapt(started.elapsed());
            for ((index, cells), result) in (next..end).zip(cells).zip(results) {
                sink(Row {
                    index,
                    cells,
                    result,
                })?;
            }
            next = end;
        }
        Ok(())
    }

    /// Runs variations side by side, in their order.
    ///
    /// A row's error is that its house cannot be so, or that its run fails.
    pub fn each(&self, variations: &[Variation]) -> Vec<Result<Figures, RowError>> {
        // Every house that is assembled takes memory until it has been run.
        let parts = variations.chunks(MOST);
        parts.flat_map(|part| self.at_once(part)).collect()
    }

    fn at_once(&self, variations: &[Variation]) -> Vec<Result<Figures, RowError>> {
        let houses: Vec<Result<(House, usize), RowError>> = variations
            .par_iter()
            .map(|variation| self.house(variation))
            .collect();
        let mut results: Vec<Option<Result<Figures, RowError>>> = Vec::new();
        results.resize_with(houses.len(), || None);
        for (at, climate) in self.climates.iter().enumerate() {
            let Climate {
                weather, period, ..
            } = climate;
            let there = houses.iter().enumerate().filter_map(|(row, house)| {
                let (house, climate) = house.as_ref().ok()?;
                (*climate == at).then_some((row, (house, weather)))
            });
            let (rows, here): (Vec<usize>, Vec<(&House, &Weather)>) = there.unzip();
            let figures = |_, outcome: Result<&Outcome, RunError>| Ok(Figures::of(outcome?));
            let options = RunOptions::default();
            let done = measure_each(&here, period, &options, figures);
            for (row, result) in rows.into_iter().zip(done) {
                results[row] = Some(result);
            }
        }
        let pairs = results.into_iter().zip(houses);
        pairs
            .filter_map(|(result, house)| result.or_else(|| house.err().map(Err)))
            .collect()
    }
}

/// Number of rows that are run at a time: as many as take a second or three, so that lanes are full, no
/// thread waits long for the last, and little is lost to a kill.
#[derive(Debug)]
struct Batch {
    len: usize,
}

/// Shortest time that a batch should take.
const SHORT: Duration = Duration::from_millis(1600);
/// Rows for each thread in the first batch: about a second's, of several forms each with its lanes.
const FIRST: usize = 48;
/// Most rows at a time.
const MOST: usize = 512;

impl Batch {
    fn new() -> Self {
        let len = FIRST * rayon::current_num_threads();
        Self { len }
    }

    fn len(&self) -> usize {
        self.len
    }

    fn adapt(&mut self, took: Duration) {
        if took < SHORT {
            self.len = (self.len * 2).min(MOST);
        }
    }
}
