//! Peaks and means of the temperatures that people ask for, and what thermometers show.

use crate::run::Outcome;
use crate::units::celsius;

use super::{largest, mean, smallest};

/// A highest value and when it was reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// Temperature, °C.
    pub temp_c: f64,
    /// When, s from the start of the period.
    pub time_s: f64,
}

/// Peak and mean of one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Highest.
    pub peak: Peak,
    /// Mean over the period, °C.
    pub mean_c: f64,
    /// Lowest, °C.
    pub low_c: f64,
}

/// Places whose temperatures are told, by the names that outputs use.
pub const PLACES: [&str; 8] = [
    "outdoor",
    "attic_ridge",
    "attic_air",
    "attic_low",
    "deck_underside",
    "attic_floor",
    "ceiling_underside",
    "living_air",
];

/// Peaks and means of the places that people ask for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Readings {
    /// Outdoor air.
    pub outdoor: Reading,
    /// Attic air nine tenths of the way up to the ridge.
    pub attic_ridge: Reading,
    /// Mean of all attic air.
    pub attic_air: Reading,
    /// Attic air a tenth of the way up.
    pub attic_low: Reading,
    /// Underside of the hottest deck.
    pub deck_underside: Reading,
    /// Attic floor.
    pub attic_floor: Reading,
    /// Underside of the ceiling.
    pub ceiling_underside: Reading,
    /// Rooms' air.
    pub living_air: Reading,
}

impl Readings {
    /// In the order of [`PLACES`].
    pub fn all(&self) -> [Reading; 8] {
        [
            self.outdoor,
            self.attic_ridge,
            self.attic_air,
            self.attic_low,
            self.deck_underside,
            self.attic_floor,
            self.ceiling_underside,
            self.living_air,
        ]
    }
}

/// What a thermometer shows.
#[derive(Debug, Clone, PartialEq)]
pub struct SensorReading {
    /// Name in the file.
    pub name: String,
    /// Highest reading.
    pub high: Peak,
    /// Lowest reading, °C.
    pub low_c: f64,
    /// Reading less the air about it when the reading is highest, K.
    pub offset_at_high_k: f64,
    /// Mean of reading less air, K.
    pub offset_mean_k: f64,
}

/// Peaks and means of a run.
pub fn readings(outcome: &Outcome) -> Readings {
    let trace = &outcome.trace;
    let of = |column: &[f64]| {
        let (highest_k, index) = largest(column);
        Reading {
            peak: Peak {
                temp_c: celsius(highest_k),
                time_s: trace.times_s.get(index).copied().unwrap_or(0.0),
            },
            mean_c: celsius(mean(&trace.times_s, column)),
            low_c: celsius(smallest(column)),
        }
    };
    Readings {
        outdoor: of(&trace.outdoor_k),
        attic_ridge: of(&trace.attic_ridge_k),
        attic_air: of(&trace.attic_air_k),
        attic_low: of(&trace.attic_low_k),
        deck_underside: of(&trace.deck_underside_k),
        attic_floor: of(&trace.attic_floor_k),
        ceiling_underside: of(&trace.ceiling_underside_k),
        living_air: of(&trace.living_air_k),
    }
}

pub(super) fn sensors(outcome: &Outcome) -> Vec<SensorReading> {
    let times = &outcome.trace.times_s;
    let sensors = outcome.trace.sensors_k.iter();
    sensors
        .map(|sensor| {
            let (highest_k, index) = largest(&sensor.reading_k);
            let offsets: Vec<f64> = sensor
                .reading_k
                .iter()
                .zip(&sensor.air_k)
                .map(|(reading, air)| reading - air)
                .collect();
            SensorReading {
                name: sensor.name.clone(),
                high: Peak {
                    temp_c: celsius(highest_k),
                    time_s: times.get(index).copied().unwrap_or(0.0),
                },
                low_c: celsius(smallest(&sensor.reading_k)),
                offset_at_high_k: offsets.get(index).copied().unwrap_or(f64::NAN),
                offset_mean_k: mean(times, &offsets),
            }
        })
        .collect()
}
