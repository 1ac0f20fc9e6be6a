//! How much what was assumed for lack of an answer moves the result.

use std::ops::Range;

use rayon::prelude::*;

use crate::assess::{Assessment, assess};
use crate::house::{Assumption, House, HouseFile, SensorZone, Spread};
use crate::run::{Choice, RunError, RunOptions, simulate};
use crate::weather::Weather;

/// Days run before the day that is looked at: differences between runs settle sooner than the
/// runs themselves.
const WARM_UP_DAYS: u32 = 2;

/// Error allowed to a node in a step, K: a tenth of the least difference that is told.
const TOLERANCE_K: f64 = 0.02;

/// What is compared between runs of the hottest day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Measures {
    /// Highest mean temperature of the attic's air, °C, or a change of it, K.
    pub attic_high: f64,
    /// Highest temperature of the rooms' air, °C, or a change of it, K.
    pub living_high: f64,
    /// Heat that came down through the ceiling on that day, kWh.
    pub ceiling_kwh: f64,
    /// Highest reading of each thermometer, °C, or a change of it, K.
    pub sensors_high: Vec<f64>,
}

impl Measures {
    /// What a day's run came to.
    pub fn of(assessment: &Assessment) -> Self {
        Self {
            attic_high: assessment.readings.attic_air.peak.temp_c,
            living_high: assessment.readings.living_air.peak.temp_c,
            ceiling_kwh: assessment.heat.ceiling_gain_kwh,
            sensors_high: assessment.sensors.iter().map(|s| s.high.temp_c).collect(),
        }
    }

    /// These less others.
    pub(super) fn less(&self, other: &Self) -> Self {
        let sensors = self.sensors_high.iter().zip(&other.sensors_high);
        Self {
            attic_high: self.attic_high - other.attic_high,
            living_high: self.living_high - other.living_high,
            ceiling_kwh: self.ceiling_kwh - other.ceiling_kwh,
            sensors_high: sensors.map(|(a, b)| a - b).collect(),
        }
    }
}

/// An assumption with what other values in its place do to the hottest day.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// What was assumed.
    pub assumption: Assumption,
    /// Design in which it was varied.
    pub design: String,
    /// What the design as it is comes to on that day.
    pub base: Measures,
    /// The two ends of its range or, where it is one of a few cases, every other case.
    pub others: Vec<Other>,
}

/// Another value in place of an assumed one.
#[derive(Debug, Clone, PartialEq)]
pub struct Other {
    /// The value as a person would write it.
    pub value: String,
    /// What it changes; nothing where the house cannot be so.
    pub change: Option<Measures>,
}

/// Key of what a fitted house gets wrong beside all numbers.
pub(super) const AIR_ERROR: &str = "attic.air_error";

impl Effect {
    /// Whether a person could find it out: what no number of the house stands for cannot be.
    pub fn can_be_found_out(&self) -> bool {
        self.assumption.field != AIR_ERROR
    }

    /// Largest change of a measure, without its sign.
    pub fn largest(&self, of: impl Fn(&Measures) -> f64) -> f64 {
        let changes = self.others.iter().filter_map(|other| other.change.as_ref());
        changes.map(|change| of(change).abs()).fold(0.0, f64::max)
    }

    /// Largest change of the attic air's high, K, without its sign.
    pub fn attic_k(&self) -> f64 {
        self.largest(|change| change.attic_high)
    }

    /// Largest change of the heat through the ceiling as a share of it, without its sign.
    pub fn ceiling_share(&self) -> f64 {
        let kwh = self.largest(|change| change.ceiling_kwh);
        if self.base.ceiling_kwh > 0.0 {
            kwh / self.base.ceiling_kwh
        } else {
            0.0
        }
    }
}

/// Varies each assumption of a house and its designs over its range, one at a time, on the hottest
/// day of the weather's hottest week; the strongest on the attic's high first.
///
/// What only a design assumes is varied in the first design that assumes it, all else in the house
/// as it stands. Weather in which no week is whole gives nothing.
///
/// # Errors
/// [`RunError`] if a design as it is cannot be run.
pub fn effects(file: &HouseFile, weather: &Weather) -> Result<Vec<Effect>, RunError> {
    let Some(week) = weather.hottest_week() else {
        return Ok(Vec::new());
    };
    let houses: Vec<&House> = file.all().collect();
    vary(
        file,
        &houses,
        weather,
        &hottest_day(weather, &week.intervals),
    )
}

/// The same of one design, on the hottest day of a period.
///
/// # Errors
/// [`RunError`] if the design as it is cannot be run.
pub fn effects_of(
    file: &HouseFile,
    house: &House,
    weather: &Weather,
    period: &Range<usize>,
) -> Result<Vec<Effect>, RunError> {
    vary(file, &[house], weather, &hottest_day(weather, period))
}

fn vary(
    file: &HouseFile,
    houses: &[&House],
    weather: &Weather,
    day: &Range<usize>,
) -> Result<Vec<Effect>, RunError> {
    let mut wanted: Vec<(&House, &Assumption)> = Vec::new();
    for house in houses {
        for assumption in &house.assumed {
            if !wanted
                .iter()
                .any(|(_, known)| known.field == assumption.field)
            {
                wanted.push((house, assumption));
            }
        }
    }
    let needed = houses
        .iter()
        .filter(|house| wanted.iter().any(|(one, _)| one.design == house.design));
    let bases: Vec<(String, Measures)> = needed
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|house| Ok((house.design.clone(), run(house, weather, day)?)))
        .collect::<Result<_, RunError>>()?;
    let jobs: Vec<(usize, String)> = wanted
        .iter()
        .enumerate()
        .flat_map(|(at, (_, one))| others(one).into_iter().map(move |value| (at, value)))
        .collect();
    let runs: Vec<(usize, String, Option<Measures>)> = jobs
        .into_par_iter()
        .map(|(at, value)| {
            let (house, assumption) = wanted[at];
            let varied = file
                .with(&[(assumption.field.as_str(), value.as_str())])
                .ok();
            let varied = varied.as_ref().and_then(|file| file.find(&house.design));
            let measures = varied.and_then(|house| run(house, weather, day).ok());
            (at, value, measures)
        })
        .collect();
    let mut all: Vec<Effect> = Vec::new();
    for (at, (house, assumption)) in wanted.iter().enumerate() {
        let base = bases.iter().find(|(design, _)| *design == house.design);
        let Some((_, base)) = base else { continue };
        let own = runs.iter().filter(|(of, _, _)| *of == at);
        all.push(Effect {
            assumption: (*assumption).clone(),
            design: house.design.clone(),
            base: base.clone(),
            others: own
                .map(|(_, value, measures)| Other {
                    value: value.clone(),
                    change: measures.as_ref().map(|measures| measures.less(base)),
                })
                .collect(),
        });
    }
    all.sort_by(|a, b| b.attic_k().total_cmp(&a.attic_k()));
    Ok(all)
}

/// The values that are tried in place of an assumed one.
fn others(assumption: &Assumption) -> Vec<String> {
    match &assumption.spread {
        Spread::Number { .. } => assumption.range.to_vec(),
        Spread::Cases(cases) => cases.iter().skip(1).cloned().collect(),
    }
}

/// How a day is run to compare it with others.
pub(super) fn options() -> RunOptions {
    RunOptions {
        warm_up_days: WARM_UP_DAYS,
        integrator: Choice::Default {
            tolerance_k: TOLERANCE_K,
        },
        output_s: 3600.0,
        ..RunOptions::default()
    }
}

/// Runs a house through a day.
pub(super) fn run(
    house: &House,
    weather: &Weather,
    day: &Range<usize>,
) -> Result<Measures, RunError> {
    let outcome = simulate(house, weather, day.clone(), &options())?;
    let mut measures = Measures::of(&assess(house, weather, &outcome));
    let error_k = house.attic.air_error_k;
    measures.attic_high += error_k;
    // The assessment has the thermometers in the house's order.
    for (high, sensor) in measures.sensors_high.iter_mut().zip(&house.sensors) {
        if sensor.zone == SensorZone::Attic {
            *high += error_k;
        }
    }
    Ok(measures)
}

/// The day of a period, counted from its start, with the highest temperature.
pub(super) fn hottest_day(weather: &Weather, period: &Range<usize>) -> Range<usize> {
    let per_day = (86_400 / weather.step_s().max(1)) as usize;
    let high = |day: &Range<usize>| {
        let air = &weather.air()[day.start..=day.end];
        air.iter()
            .map(|air| air.dry_bulb_k)
            .fold(f64::NEG_INFINITY, f64::max)
    };
    period
        .clone()
        .step_by(per_day.max(1))
        .map(|start| start..(start + per_day).min(period.end))
        .max_by(|a, b| high(a).total_cmp(&high(b)))
        .unwrap_or(period.clone())
}
