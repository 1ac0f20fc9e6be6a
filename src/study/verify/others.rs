//! What else than the change could have made a drop: a logger that hangs elsewhere, rooms that were
//! used otherwise.

use crate::house::SensorZone;
use crate::readings::{Role, Series};

use super::super::calibrate::{Calibration, CalibrationError, Model, Task, seconds};
use super::days::{Column, Day, HIGH, MEAN, Side, by_day, mean_day};
use super::drops::{Course, night_beyond};
use super::{Change, Told};

/// How much cooler or warmer rooms are taken to be with other habits, K: windows opened by night, or
/// cooling used, where they were not before (a judgement).
pub const OTHER_ROOMS_K: f64 = 3.0;
/// Shift of the rooms' small hours from which habits are told to have changed, K.
const OTHERWISE_K: f64 = 1.0;
/// Least drop whose course is held against that of a logger hung lower, K.
const MOVED_K: f64 = 1.0;
/// Least that is told of what could mimic a change, K.
const LEAST_K: f64 = 0.1;

/// What could make a drop like that of the change.
#[derive(Debug, Clone, PartialEq)]
pub enum Mimic {
    /// The logger hung elsewhere in the attic after the change than before.
    LoggerElsewhere {
        /// Column.
        column: String,
        /// How far it would have gone towards the floor to make the drop, whose course through the
        /// day is just that; none where the change is described, or the course is another.
        likely_share: Option<f64>,
        /// Drop of the daily highs if it hung just above the attic floor after, K.
        at_floor_k: f64,
        /// The same if it hung just below the ridge, K.
        at_ridge_k: f64,
    },
    /// The rooms were kept cooler after the change than before, by [`OTHER_ROOMS_K`].
    CoolerRooms {
        /// Column.
        column: String,
        /// Drop of the daily highs by that, K.
        highs_k: f64,
        /// Drop of the mean, K.
        mean_k: f64,
    },
}

/// A thermometer in the rooms that read otherwise by night after the change, beyond what the change
/// makes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomsOtherwise {
    /// Column.
    pub column: String,
    /// How much lower the small hours were, K.
    pub by: Told,
    /// What that makes of the drop of the daily highs at the attic's thermometers, K, in the order
    /// of their names.
    pub highs_k: Vec<(String, f64)>,
}

/// A thermometer and what is told of its days.
type ByColumn = (String, Day);

/// Whether a column is one of the attic's air; otherwise of the rooms.
fn is_of_attic(task: &Task, column: &str) -> bool {
    let mut sensors = task.file.base.sensors.iter();
    match sensors.find(|sensor| sensor.name == column) {
        Some(sensor) => sensor.zone == SensorZone::Attic,
        None => matches!(column, "attic_ridge" | "attic_air" | "attic_low"),
    }
}

/// Whether a column is one of the rooms.
pub(super) fn is_of_rooms(task: &Task, column: &str) -> bool {
    let mut sensors = task.file.base.sensors.iter();
    match sensors.find(|sensor| sensor.name == column) {
        Some(sensor) => sensor.zone == SensorZone::Living,
        None => column == "living_air",
    }
}

/// What could mimic the change, and by how much each thermometer drops where rooms are cooler by
/// [`OTHER_ROOMS_K`].
pub(super) fn mimics(
    change: &Change,
    fit: &Calibration,
    [was, is]: [&Side; 2],
    progress: &(dyn Fn() + Sync),
) -> Result<(Vec<ByColumn>, Vec<Mimic>), CalibrationError> {
    let task = &change.after;
    let trace = &is.likeliest.trace;
    let start_s = seconds(is.likeliest.start);
    #[expect(clippy::cast_possible_truncation, reason = "seconds of a period")]
    let times_s: Vec<i64> = trace.times_s.iter().map(|t| start_s + *t as i64).collect();
    let [floor_k, ridge_k] = [&trace.attic_low_k, &trace.attic_ridge_k]
        .map(|temps_k| mean_day(&by_day(&times_s, temps_k)));
    let mut all: Vec<Mimic> = Vec::new();
    for one in is.columns.iter().filter(|one| is_of_attic(task, &one.name)) {
        let Some(own) = one.runs.first() else {
            continue;
        };
        let lower_k: Day = std::array::from_fn(|at| own[at] - floor_k[at]);
        let before = was.find(&one.name).filter(|_| change.changed.is_none());
        all.push(Mimic::LoggerElsewhere {
            column: one.name.clone(),
            likely_share: before.and_then(|before| likely_share(before, one, &lower_k)),
            at_floor_k: lower_k[HIGH],
            at_ridge_k: own[HIGH] - ridge_k[HIGH],
        });
    }
    let rooms_k = if change.rooms_are_logged() {
        Vec::new()
    } else {
        cooler_rooms(task, fit, &times_s, &trace.living_air_k, progress)?
    };
    for (column, drop_k) in &rooms_k {
        if drop_k[HIGH].abs() > LEAST_K || drop_k[MEAN].abs() > LEAST_K {
            all.push(Mimic::CoolerRooms {
                column: column.clone(),
                highs_k: drop_k[HIGH],
                mean_k: drop_k[MEAN],
            });
        }
    }
    Ok((rooms_k, all))
}

/// How far a logger would have gone towards the floor to make the drop, if both take one course.
fn likely_share(before: &Column, after: &Column, lower_k: &Day) -> Option<f64> {
    let course = Course::of(before, after, lower_k);
    let made_k = course.size * lower_k[HIGH];
    (made_k > MOVED_K && course.is_alike()).then_some(course.size)
}

/// How much each thermometer of the attic drops where the rooms, otherwise as they were, are cooler.
fn cooler_rooms(
    task: &Task,
    fit: &Calibration,
    times_s: &[i64],
    living_k: &[f64],
    progress: &(dyn Fn() + Sync),
) -> Result<Vec<ByColumn>, CalibrationError> {
    let run = |less_k: f64| -> Result<Vec<ByColumn>, CalibrationError> {
        let mut readings = task.readings.clone();
        readings.series.retain(|one| match &one.role {
            Role::Inside(name) => is_of_attic(task, name),
            Role::Outdoors(_) => true,
        });
        readings.series.push(Series {
            role: Role::Inside("rooms".to_owned()),
            times_s: times_s.to_vec(),
            values: living_k.iter().map(|k| k - less_k).collect(),
        });
        let given = Task {
            readings: &readings,
            ..task.clone()
        };
        let model = Model::new(&given, progress)?;
        let outcome = model.run(&fit.values, task.fit)?;
        let compared = model.compared(&outcome, task.fit);
        let days = compared.into_iter().map(|one| {
            let day = mean_day(&by_day(&one.times_s, &one.worked_out));
            (one.name, day)
        });
        Ok(days.collect())
    };
    let is_attic_logged = |one: &Series| match &one.role {
        Role::Inside(name) => is_of_attic(task, name),
        Role::Outdoors(_) => false,
    };
    if !task.readings.series.iter().any(is_attic_logged) {
        return Ok(Vec::new());
    }
    let (as_they_were, cooler) = (run(0.0)?, run(OTHER_ROOMS_K)?);
    let pairs = as_they_were.into_iter().zip(cooler);
    Ok(pairs
        .map(|((name, was), (_, is))| (name, std::array::from_fn(|at| was[at] - is[at])))
        .collect())
}

/// Thermometers of the rooms that tell of other habits, where the change is described.
pub(super) fn rooms_otherwise(
    change: &Change,
    is: &Side,
    was: &Side,
    changed: Option<&Side>,
    rooms_k: &[ByColumn],
) -> Vec<RoomsOtherwise> {
    let Some(changed) = changed else {
        return Vec::new();
    };
    let of_rooms = was.columns.iter();
    let of_rooms = of_rooms.filter(|one| is_of_rooms(&change.after, &one.name));
    of_rooms
        .filter_map(|before| {
            let (after, expected) = (is.find(&before.name)?, changed.find(&before.name)?);
            let by = night_beyond(before, after, expected);
            let reach = by.interval[1] - by.value;
            (by.value.abs() > OTHERWISE_K.max(reach)).then(|| RoomsOtherwise {
                column: before.name.clone(),
                by,
                highs_k: rooms_k
                    .iter()
                    .map(|(name, day)| (name.clone(), day[HIGH] * by.value / OTHER_ROOMS_K))
                    .collect(),
            })
        })
        .collect()
}
