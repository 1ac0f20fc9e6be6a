//! What of a run stands against which column of a log: the thermometer's own temperature where the
//! house file describes it.

use jiff::civil::DateTime;

use crate::house::{House, SensorZone};
use crate::readings::{Readings, Role, Series};
use crate::run::{Outcome, Trace};

/// Where in a run a column's counterpart is found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Where {
    /// A thermometer of the house, by its place among them.
    Sensor(usize),
    /// Attic air near the ridge.
    AtticRidge,
    /// Mean of the attic's air.
    AtticAir,
    /// Attic air near the floor.
    AtticLow,
    /// Underside of the hottest deck.
    DeckUnderside,
    /// Top of the attic floor.
    AtticFloor,
    /// Underside of the ceiling.
    CeilingUnderside,
    /// Air of the rooms.
    LivingAir,
    /// Heat through the ceiling into the rooms, W/m².
    CeilingFlux,
}

impl Where {
    /// The column of a log that is compared there; nothing for a thermometer of the house.
    pub fn column(&self) -> Option<&'static str> {
        let mut places = PLACES.iter();
        places.find(|(_, at)| at == self).map(|(name, _)| *name)
    }

    /// What is compared there.
    pub fn measure(&self) -> Measure {
        match self {
            Self::CeilingFlux => Measure::HeatFlux,
            _ => Measure::Temperature,
        }
    }
}

/// What a column measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// K.
    Temperature,
    /// W/m².
    HeatFlux,
}

/// Names of the places that are no thermometers.
const PLACES: [(&str, Where); 8] = [
    ("attic_ridge", Where::AtticRidge),
    ("attic_air", Where::AtticAir),
    ("attic_low", Where::AtticLow),
    ("deck_underside", Where::DeckUnderside),
    ("attic_floor", Where::AtticFloor),
    ("ceiling_underside", Where::CeilingUnderside),
    ("living_air", Where::LivingAir),
    ("ceiling_flux", Where::CeilingFlux),
];

/// Whether a column is of the attic's air: a place of it, or a thermometer of the house that hangs there.
pub(super) fn is_attic_air(name: &str, house: &House) -> bool {
    let own = house.sensors.iter().find(|sensor| sensor.name == name);
    let place = PLACES.iter().find(|(known, _)| *known == name);
    match (own, place) {
        (Some(sensor), _) => sensor.zone == SensorZone::Attic,
        (None, Some((_, at))) => {
            matches!(at, Where::AtticRidge | Where::AtticAir | Where::AtticLow)
        }
        (None, None) => false,
    }
}

/// Column that drives the rooms and is not compared.
pub(super) const ROOMS: &str = "rooms";

/// Why a log cannot be compared with a house.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CompareError {
    /// A column is called like nothing in the house.
    #[error("the log's column {name:?} is no thermometer of the house file and no place of the results; there is {}", there.join(", "))]
    Unknown {
        /// Its name.
        name: String,
        /// What it could be.
        there: Vec<String>,
    },
    /// No column can be compared.
    #[error("the log has no reading taken inside that could be compared")]
    Nothing,
    /// A column of the rooms stands beside rooms that are given.
    #[error(
        "the rooms' temperature is given and cannot be compared; call the column \"rooms\" to drive them by it"
    )]
    RoomsGiven,
}

/// Readings of one column in a period and their counterparts.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Name of the column.
    pub name: String,
    /// What it measures.
    pub measure: Measure,
    /// Times, s since 1970 local standard time.
    pub times_s: Vec<i64>,
    /// Logged, K or W/m².
    pub logged: Vec<f64>,
    /// Worked out, K or W/m².
    pub worked_out: Vec<f64>,
}

/// The columns that are compared and where.
pub(super) fn columns<'a>(
    readings: &'a Readings,
    house: &House,
) -> Result<Vec<(&'a Series, Where)>, CompareError> {
    let mut found = Vec::new();
    for series in &readings.series {
        let Role::Inside(name) = &series.role else {
            continue;
        };
        if name == ROOMS {
            continue;
        }
        let sensor = house.sensors.iter().position(|sensor| sensor.name == *name);
        let place = PLACES.iter().find(|(known, _)| known == name);
        let at = match (sensor, place) {
            (Some(index), _) => Where::Sensor(index),
            (None, Some((_, at))) => at.clone(),
            (None, None) => {
                let sensors = house.sensors.iter().map(|sensor| sensor.name.clone());
                let places = PLACES.iter().map(|(name, _)| (*name).to_owned());
                let there = sensors.chain(places).chain([ROOMS.to_owned()]).collect();
                return Err(CompareError::Unknown {
                    name: name.clone(),
                    there,
                });
            }
        };
        if at == Where::LivingAir && house.living.given.is_some() {
            return Err(CompareError::RoomsGiven);
        }
        found.push((series, at));
    }
    if found.is_empty() {
        return Err(CompareError::Nothing);
    }
    Ok(found)
}

/// The readings of a series inside a period.
pub(super) fn inside(series: &Series, [from_s, to_s]: [i64; 2]) -> (&[i64], &[f64]) {
    let first = series.times_s.partition_point(|at_s| *at_s < from_s);
    let end = series.times_s.partition_point(|at_s| *at_s <= to_s);
    (&series.times_s[first..end], &series.values[first..end])
}

/// What a run has at those times, K or W/m².
pub(super) fn worked_out(outcome: &Outcome, at: &Where, times_s: &[i64]) -> Vec<f64> {
    let trace: &Trace = &outcome.trace;
    let column: &[f64] = match at {
        Where::Sensor(index) => &trace.sensors_k[*index].reading_k,
        Where::AtticRidge => &trace.attic_ridge_k,
        Where::AtticAir => &trace.attic_air_k,
        Where::AtticLow => &trace.attic_low_k,
        Where::DeckUnderside => &trace.deck_underside_k,
        Where::AtticFloor => &trace.attic_floor_k,
        Where::CeilingUnderside => &trace.ceiling_underside_k,
        Where::LivingAir => &trace.living_air_k,
        Where::CeilingFlux => &trace.ceiling_gain_w,
    };
    let unit = match at.measure() {
        Measure::Temperature => 1.0,
        Measure::HeatFlux => outcome.landmarks.floor_m2,
    };
    // A flux is told as the mean of the part that ends at its time, and is that of its middle.
    let late_s = match (at.measure(), trace.times_s.as_slice()) {
        (Measure::HeatFlux, [first, second, ..]) => 0.5 * (second - first),
        _ => 0.0,
    };
    let start_s = seconds(outcome.start);
    let last = trace.times_s.len().saturating_sub(1);
    times_s
        .iter()
        .map(|at_s| {
            let after_s = (at_s - start_s) as f64 + late_s;
            let next = trace
                .times_s
                .partition_point(|t| *t < after_s)
                .clamp(1, last.max(1));
            let (before, after) = (trace.times_s[next - 1], trace.times_s[next]);
            let share = ((after_s - before) / (after - before)).clamp(0.0, 1.0);
            (column[next - 1] + share * (column[next] - column[next - 1])) / unit
        })
        .collect()
}

/// Seconds since 1970 on the same clock.
pub(in crate::study) fn seconds(at: DateTime) -> i64 {
    at.duration_since(DateTime::constant(1970, 1, 1, 0, 0, 0, 0))
        .as_secs()
}

/// The civil time of seconds since 1970.
pub(super) fn civil(at_s: i64) -> DateTime {
    DateTime::constant(1970, 1, 1, 0, 0, 0, 0).saturating_add(jiff::SignedDuration::from_secs(at_s))
}
