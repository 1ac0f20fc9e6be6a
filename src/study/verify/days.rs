//! One side of a change: what its days were logged as and worked out at.

use std::collections::BTreeMap;

use jiff::SignedDuration;
use jiff::civil::{Date, DateTime};

use crate::run::Outcome;

use super::super::calibrate::{CalibrationError, Compared, Measure, Model, Task};

/// What is told of each day: its high, its mean, the mean of its small hours, and the mean of each
/// of its eight parts.
pub(super) type Day = [f64; 3 + PARTS];
pub(super) const HIGH: usize = 0;
pub(super) const MEAN: usize = 1;
pub(super) const NIGHT: usize = 2;
/// Parts of a day, of three hours each, and the place of the first.
pub(super) const PARTS: usize = 8;
pub(super) const FIRST_PART: usize = 3;
pub(super) const PART_H: i64 = 3;
/// Hours of the night in which hardly any measure acts, standard time.
const SMALL_HOURS: [i64; 2] = [2, 5];
/// Readings that a day must have.
const LEAST_A_DAY: usize = 18;
pub(super) const DAY_S: i64 = 86_400;
const KWH_J: f64 = 3.6e6;

/// Runs of one side of the change: the likeliest house first, then the drawn ones.
pub(super) struct Side {
    pub(super) columns: Vec<Column>,
    /// Mean outdoor temperature, K.
    pub(super) outdoor_k: f64,
    /// Heat through the ceiling of each run, kWh a day.
    pub(super) ceiling_kwh_day: Vec<f64>,
    /// The run of the likeliest house.
    pub(super) likeliest: Outcome,
}

/// A thermometer on one side.
pub(super) struct Column {
    pub(super) name: String,
    /// Times of the readings, s since 1970 local standard time.
    pub(super) times_s: Vec<i64>,
    /// Readings, K.
    pub(super) logged_k: Vec<f64>,
    /// What each run has at these times, K; the likeliest house first.
    pub(super) worked_k: Vec<Vec<f64>>,
    /// The whole days, counted from 1970.
    pub(super) day_numbers: Vec<i64>,
    /// Worked out less logged of each whole day with the likeliest house, K.
    pub(super) days: Vec<Day>,
    /// What is told of the whole days in each run, K.
    pub(super) run_days: Vec<Vec<Day>>,
    /// What the worked-out days come to on the mean in each run, K.
    pub(super) runs: Vec<Day>,
}

impl Column {
    /// What the likeliest house has at the readings' times, K.
    pub(super) fn likeliest_k(&self) -> &[f64] {
        self.worked_k.first().map_or(&[], Vec::as_slice)
    }

    /// How far the likeliest house is off: root of the mean square, K.
    pub(super) fn rmse_k(&self) -> f64 {
        let pairs = self.likeliest_k().iter().zip(&self.logged_k);
        mean(pairs.map(|(a, b)| (a - b).powi(2))).sqrt()
    }
}

impl Side {
    pub(super) fn run(
        task: &Task,
        sets: &[Vec<f64>],
        period: [DateTime; 2],
        progress: &(dyn Fn() + Sync),
    ) -> Result<Self, CalibrationError> {
        let model = Model::new(task, progress)?;
        // A draw that makes no house is passed over; the likeliest one makes one.
        let (first, others) = sets.split_first().unzip();
        let first = first.map_or(&[][..], Vec::as_slice);
        let likeliest = model.run(first, period)?;
        let others = others.unwrap_or_default();
        let drawn = model.run_each(others, period, |outcome| outcome)?;
        let outcomes = || std::iter::once(&likeliest).chain(drawn.iter().flatten());
        let compared: Vec<Vec<Compared>> = outcomes()
            .map(|outcome| model.compared(outcome, period))
            .collect();
        Ok(Self {
            columns: columns(&compared),
            outdoor_k: mean(likeliest.trace.outdoor_k.iter().copied()),
            ceiling_kwh_day: outcomes().map(ceiling_kwh_day).collect(),
            likeliest,
        })
    }

    /// A thermometer by its name.
    pub(super) fn find(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|one| one.name == name)
    }
}

fn columns(compared: &[Vec<Compared>]) -> Vec<Column> {
    let count = compared.first().map_or(0, Vec::len);
    (0..count)
        .filter(|at| compared[0][*at].measure == Measure::Temperature)
        .map(|at| {
            let one = &compared[0][at];
            let logged = dated(&one.times_s, &one.logged);
            let run_days: Vec<Vec<Day>> = compared
                .iter()
                .map(|run| by_day(&run[at].times_s, &run[at].worked_out))
                .collect();
            let pairs = run_days[0].iter().zip(&logged);
            let days = pairs.map(|(a, (_, b))| std::array::from_fn(|which| a[which] - b[which]));
            Column {
                name: one.name.clone(),
                times_s: one.times_s.clone(),
                logged_k: one.logged.clone(),
                worked_k: compared
                    .iter()
                    .map(|run| run[at].worked_out.clone())
                    .collect(),
                day_numbers: logged.iter().map(|(day, _)| *day).collect(),
                days: days.collect(),
                runs: run_days.iter().map(|days| mean_day(days)).collect(),
                run_days,
            }
        })
        .collect()
}

/// The mean of days, each by itself.
pub(super) fn mean_day(days: &[Day]) -> Day {
    std::array::from_fn(|which| mean(days.iter().map(|day| day[which])))
}

/// What is told of each day that has enough readings of all its parts.
pub(super) fn by_day(times_s: &[i64], values: &[f64]) -> Vec<Day> {
    let days = dated(times_s, values).into_iter();
    days.map(|(_, day)| day).collect()
}

/// The same with the number of each day, counted from 1970.
fn dated(times_s: &[i64], values: &[f64]) -> Vec<(i64, Day)> {
    let mut days: BTreeMap<i64, Vec<(i64, f64)>> = BTreeMap::new();
    for (at_s, value) in times_s.iter().zip(values) {
        let day = days.entry(at_s.div_euclid(DAY_S)).or_default();
        day.push((at_s.rem_euclid(DAY_S) / 3600, *value));
    }
    let told = |(number, day): (&i64, &Vec<(i64, f64)>)| Some((*number, told(day)?));
    days.iter().filter_map(told).collect()
}

/// The date of a day counted from 1970.
pub(super) fn date(day: i64) -> Date {
    let epoch = DateTime::constant(1970, 1, 1, 0, 0, 0, 0);
    epoch
        .saturating_add(SignedDuration::from_secs(day * DAY_S))
        .date()
}

fn told(day: &[(i64, f64)]) -> Option<Day> {
    let of = |from_h: i64, to_h: i64| -> Option<f64> {
        let inside = day.iter().filter(|(hour, _)| (from_h..to_h).contains(hour));
        let values: Vec<f64> = inside.map(|(_, value)| *value).collect();
        (!values.is_empty()).then(|| mean(values.into_iter()))
    };
    if day.len() < LEAST_A_DAY {
        return None;
    }
    let mut all: Day = [0.0; 3 + PARTS];
    let values = day.iter().map(|(_, value)| *value);
    all[HIGH] = values.clone().fold(f64::NEG_INFINITY, f64::max);
    all[MEAN] = mean(values);
    all[NIGHT] = of(SMALL_HOURS[0], SMALL_HOURS[1])?;
    for (part, from_h) in all[FIRST_PART..].iter_mut().zip((0..).step_by(3)) {
        *part = of(from_h, from_h + PART_H)?;
    }
    Some(all)
}

pub(super) fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for value in values {
        sum += value;
        count += 1.0;
    }
    sum / f64::max(count, 1.0)
}

/// Heat down through the ceiling, kWh a day.
fn ceiling_kwh_day(outcome: &Outcome) -> f64 {
    let trace = &outcome.trace;
    let span_s = trace.times_s.last().copied().unwrap_or(1.0).max(1.0);
    // What is told at an instant is the mean of the part before it.
    let parts = trace
        .times_s
        .windows(2)
        .zip(trace.ceiling_gain_w.iter().skip(1));
    let joules: f64 = parts.map(|(t, w)| (t[1] - t[0]) * w).sum();
    joules / KWH_J / (span_s / DAY_S as f64)
}
