//! How much what was assumed for lack of an answer moves the result.

use std::ops::Range;

use rayon::prelude::*;

use crate::assess::{Assessment, assess};
use crate::house::{Assumption, House, HouseFile};
use crate::run::{RunError, RunOptions, simulate};
use crate::weather::Weather;

/// Days run before the day that is looked at: differences between runs settle sooner than the
/// runs themselves.
const WARM_UP_DAYS: u32 = 2;

/// An assumption with what its ends do to the hottest day.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// What was assumed.
    pub assumption: Assumption,
    /// Design in which it was varied.
    pub design: String,
    /// Change of the attic air's high at the low and the high end of its range, K; nothing where
    /// the house cannot be so.
    pub attic_high_k: [Option<f64>; 2],
    /// Change of the rooms' high, K.
    pub living_high_k: [Option<f64>; 2],
}

impl Effect {
    /// Largest change of the attic air's high, K, without its sign.
    pub fn attic_k(&self) -> f64 {
        let all = self.attic_high_k.iter().flatten();
        all.map(|k| k.abs()).fold(0.0, f64::max)
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
    let Some(day) = hottest_day(weather) else {
        return Ok(Vec::new());
    };
    let mut wanted: Vec<(&House, &Assumption)> = Vec::new();
    for house in file.all() {
        for assumption in &house.assumed {
            if !wanted
                .iter()
                .any(|(_, known)| known.field == assumption.field)
            {
                wanted.push((house, assumption));
            }
        }
    }
    let highs = |house: &House| run(house, weather, &day);
    let bases: Vec<(String, Highs)> = file
        .all()
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|house| Ok((house.design.clone(), highs(house)?)))
        .collect::<Result<_, RunError>>()?;
    let mut all: Vec<Effect> = wanted
        .into_par_iter()
        .map(|(house, assumption)| {
            let base = bases.iter().find(|(design, _)| *design == house.design);
            let mut effect = Effect {
                assumption: assumption.clone(),
                design: house.design.clone(),
                attic_high_k: [None; 2],
                living_high_k: [None; 2],
            };
            for (at, end) in assumption.range.iter().enumerate() {
                let varied = file.with(&[(assumption.field.as_str(), end.as_str())]).ok();
                let varied = varied.as_ref().and_then(|file| file.find(&house.design));
                let varied = varied.and_then(|house| highs(house).ok());
                if let (Some((_, base)), Some(own)) = (base, varied) {
                    effect.attic_high_k[at] = Some(own.attic_c - base.attic_c);
                    effect.living_high_k[at] = Some(own.living_c - base.living_c);
                }
            }
            effect
        })
        .collect();
    all.sort_by(|a, b| b.attic_k().total_cmp(&a.attic_k()));
    Ok(all)
}

#[derive(Debug, Clone, Copy)]
struct Highs {
    attic_c: f64,
    living_c: f64,
}

fn run(house: &House, weather: &Weather, day: &Range<usize>) -> Result<Highs, RunError> {
    let options = RunOptions {
        warm_up_days: WARM_UP_DAYS,
        ..RunOptions::default()
    };
    let outcome = simulate(house, weather, day.clone(), &options)?;
    let assessment: Assessment = assess(house, weather, &outcome);
    Ok(Highs {
        attic_c: assessment.readings.attic_air.peak.temp_c,
        living_c: assessment.readings.living_air.peak.temp_c,
    })
}

/// The day of the hottest week with the highest temperature.
fn hottest_day(weather: &Weather) -> Option<Range<usize>> {
    let week = weather.hottest_week()?.intervals;
    let per_day = (86_400 / weather.step_s().max(1)) as usize;
    let high = |day: &Range<usize>| {
        let air = &weather.air()[day.start..=day.end];
        air.iter()
            .map(|air| air.dry_bulb_k)
            .fold(f64::NEG_INFINITY, f64::max)
    };
    week.clone()
        .step_by(per_day)
        .map(|start| start..(start + per_day).min(week.end))
        .max_by(|a, b| high(a).total_cmp(&high(b)))
}
