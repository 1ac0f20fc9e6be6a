//! What to log next: which further reading narrows a decision most.
//!
//! Readings and decision are taken as straight lines in the unknowns about their present values, so
//! that the doubt after a reading does not hang on what it will read: with the unknowns' covariance
//! `S`, the reading's derivatives `J`, its errors' covariance `R` and the decision's gradient `g`, the
//! decision's variance goes from `gᵀ S g` to `gᵀ (S⁻¹ + Jᵀ R⁻¹ J)⁻¹ g`.
//!
//! Source: Bayesian experimental design, linear, c-optimality (Chaloner & Verdinelli 1995; from
//! memory).

mod days;
mod narrowing;

use std::ops::Range;

use jiff::civil::DateTime;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::house::{House, HouseFile, RoomsLog, SensorZone};
use crate::run::{Choice, Outcome, RunOptions};
use crate::study::least_squares::{Unknown, derivatives};
use crate::study::side_by_side::run_made;
use crate::weather::Weather;

use super::compare::{Measure, Where, columns, seconds, worked_out};
use super::daily::{Beside, usual};
use super::found::Calibration;
use super::model::{CalibrationError, Task, driven, house_with};
use super::unknowns::{Prior, Target, adjustment, moved};

use days::Stretches;
use narrowing::{root_of, variance_left};

/// Days of a reading, and days on which the decision is looked at.
const DAYS: usize = 2;
/// Days run before them: differences between runs settle sooner than the runs themselves.
const WARM_UP_DAYS: u32 = 2;
/// Error of a consumer's logger, K; common practice, no source.
const LOGGER_K: f64 = 0.5;
/// Error of a heat flux plate under a ceiling, W/m². Judgement: its calibration and its contact err
/// by a twentieth each (ISO 9869-1, from memory), a ceiling differs more between joist and bay.
const PLATE_W_M2: f64 = 1.5;
/// Independent readings a day before residuals of a log tell.
const FIRST_A_DAY: f64 = 3.0;
const DAY_S: f64 = 86_400.0;
const HOUR_S: i64 = 3600;

/// What is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reading {
    /// One more thermometer, or a heat flux plate.
    At(Where),
    /// The thermometers that were logged; where none was, one near the ridge.
    SameAgain,
}

/// The days on which it is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Days {
    /// With wind and sun near the middle of the weather's days.
    Ordinary,
    /// With the most wind.
    Windy,
    /// With the most sun.
    Clear,
    /// Ordinary ones with the fans switched off.
    FansOff,
}

/// A reading that could be taken next.
#[derive(Debug, Clone, PartialEq)]
pub struct NextReading {
    /// What is read.
    pub reading: Reading,
    /// On what days.
    pub days: Days,
    /// Start of the days in the weather that stand for them, local standard time.
    pub from: DateTime,
    /// Share by which the decision's spread shrinks: the root of the mean, over what the decision
    /// hangs on, of the variance left against the present one, less than one.
    pub narrows: f64,
}

/// What a decision hangs on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    /// Present value: K of the attic air's high, or W/m² of mean heat through the ceiling; of one
    /// design less the other's.
    pub value: f64,
    /// Its standard deviation from what is not known.
    pub deviation: f64,
}

/// What to log next.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// The designs between which the decision lies, the one that lets less heat through the ceiling
    /// first; nothing where the file has no design that can be run.
    pub designs: Option<[String; 2]>,
    /// How much lower the attic air's high is on the hottest days; nothing without designs.
    pub attic_high_k: Option<Goal>,
    /// How much less heat comes through the ceiling; without designs, how much comes.
    pub ceiling_w_m2: Goal,
    /// Readings, the one that narrows the decision most first.
    pub readings: Vec<NextReading>,
    /// Length of each, days.
    pub length_days: usize,
}

/// Where one more reading could be taken.
const PLACES: [Where; 6] = [
    Where::AtticRidge,
    Where::AtticLow,
    Where::AtticFloor,
    Where::DeckUnderside,
    Where::CeilingFlux,
    Where::LivingAir,
];

/// Ranks readings by how much each would narrow the decision, from what a fit left open, or from the
/// priors alone; nothing where the weather has no two whole days. `progress` is called after each
/// run.
///
/// # Errors
/// [`CalibrationError`] where the house as it stands cannot be run.
pub fn advise(
    task: &Task,
    fit: Option<&Calibration>,
    progress: &(dyn Fn() + Sync),
) -> Result<Option<Advice>, CalibrationError> {
    let values: Vec<f64> = match fit {
        Some(fit) => fit.values.clone(),
        None => task.priors.iter().map(|prior| prior.value).collect(),
    };
    let covariance = fit.map_or_else(|| of_priors(&task.priors), |fit| fit.covariance.clone());
    let (file, rooms) = driven(task)?;
    let Some(stretches) = Stretches::find(task, rooms.is_some()) else {
        return Ok(None);
    };
    let logged = columns(task.readings, &file.base).unwrap_or_default();
    let mut scene = Scene {
        task,
        same: logged.into_iter().map(|(_, at)| at).collect(),
        choice: None,
        file,
        rooms,
        stretches,
        progress,
    };
    scene.choice = scene.choose(&values);
    scene.advise(&values, &covariance, Noise::of(task, fit))
}

/// The priors' own covariance on their scales.
fn of_priors(priors: &[Prior]) -> DMatrix<f64> {
    let variances = priors.iter().map(|prior| prior.deviation().powi(2));
    DMatrix::from_diagonal(&DVector::from_iterator(priors.len(), variances))
}

/// Errors of readings.
#[derive(Debug, Clone, Copy)]
struct Noise {
    /// Of a temperature, K.
    temperature_k: f64,
    /// Independent readings a day.
    a_day: f64,
}

impl Noise {
    /// A consumer's logger; after a fit as large and as long as its residuals, which are the model's
    /// errors too.
    fn of(task: &Task, fit: Option<&Calibration>) -> Self {
        let weights = fit.map_or(&[][..], |fit| &fit.weights);
        let of_air = weights
            .iter()
            .filter(|one| one.measure == Measure::Temperature);
        let count = of_air.clone().count();
        if count == 0 {
            return Self {
                temperature_k: LOGGER_K,
                a_day: FIRST_A_DAY,
            };
        }
        let mean = |sum: f64| sum / count as f64;
        let days = (seconds(task.fit[1]) - seconds(task.fit[0])) as f64 / DAY_S;
        Self {
            temperature_k: mean(of_air.clone().map(|one| one.spread).sum()).max(LOGGER_K),
            a_day: (mean(of_air.map(|one| one.effective).sum()) / days).clamp(1.0, 24.0),
        }
    }

    /// Of readings at times: one is so widened that all weigh as much as the independent ones, and
    /// what the house gets wrong every day alike stands beside it.
    fn beside(self, measure: Measure, times_s: &[i64]) -> Beside {
        let own = match measure {
            Measure::Temperature => self.temperature_k,
            Measure::HeatFlux => PLATE_W_M2,
        };
        let each = times_s.len() as f64 / (self.a_day * DAYS as f64);
        Beside::new(times_s, own * each.max(1.0).sqrt(), usual(measure))
    }
}

/// Two designs, and for each whether an unknown is its own business: what a design states itself
/// (a roof painted white) is not what was not known of the house.
struct Choices {
    designs: [String; 2],
    open: [Vec<bool>; 2],
}

struct Scene<'a> {
    task: &'a Task<'a>,
    file: HouseFile,
    rooms: Option<RoomsLog>,
    /// What was logged.
    same: Vec<Where>,
    choice: Option<Choices>,
    stretches: Stretches,
    progress: &'a (dyn Fn() + Sync),
}

/// What is looked at.
#[derive(Clone, Copy)]
enum View<'a> {
    /// A design in the hottest days, where what it states itself is not open.
    Design { design: &'a str, open: &'a [bool] },
    /// The house as it stands on the days of a reading.
    Days(Days),
}

/// A reading with its rows among all that runs give.
struct Candidate {
    reading: Reading,
    days: Days,
    from: DateTime,
    at: Vec<Where>,
}

impl Scene<'_> {
    fn advise(
        &self,
        values: &[f64],
        covariance: &DMatrix<f64>,
        noise: Noise,
    ) -> Result<Option<Advice>, CalibrationError> {
        let candidates = self.candidates();
        let mut rows = self.rows(&candidates, &[values.to_vec()]);
        let Some(now) = rows.pop().transpose()? else {
            return Ok(None);
        };
        let jacobian = self.derivatives(&candidates, values, &now);
        let root = root_of(covariance);
        let goals = self.goal_count();
        let of_goal = |goal: usize| -> DVector<f64> { jacobian.row(goal).transpose() };
        let before: Vec<f64> = (0..goals)
            .map(|goal| root.tr_mul(&of_goal(goal)).norm_squared())
            .collect();
        let mut first = goals;
        let mut readings: Vec<NextReading> = Vec::new();
        for one in &candidates {
            let times_s = self.hours(one.days);
            let rows = one.at.len() * times_s.len();
            let mut weighed = jacobian.rows(first, rows).into_owned();
            for (place, at) in one.at.iter().enumerate() {
                let beside = noise.beside(at.measure(), &times_s);
                let mut own = weighed.rows_mut(place * times_s.len(), times_s.len());
                for mut column in own.column_iter_mut() {
                    let read: Vec<f64> = column.iter().copied().collect();
                    column.copy_from_slice(&beside.whitened(&read));
                }
            }
            first += rows;
            let shares = before.iter().enumerate().map(|(goal, before)| {
                if *before > 0.0 {
                    variance_left(&of_goal(goal), &root, &weighed) / before
                } else {
                    1.0
                }
            });
            readings.push(NextReading {
                reading: one.reading.clone(),
                days: one.days,
                from: one.from,
                narrows: 1.0 - (shares.sum::<f64>() / goals as f64).sqrt(),
            });
        }
        readings.sort_by(|a, b| b.narrows.total_cmp(&a.narrows));
        let goal = |at: usize| Goal {
            value: now[at],
            deviation: before[at].sqrt(),
        };
        Ok(Some(Advice {
            designs: self.choice.as_ref().map(|choice| choice.designs.clone()),
            attic_high_k: (goals > 1).then(|| goal(1)),
            ceiling_w_m2: goal(0),
            readings,
            length_days: DAYS,
        }))
    }

    /// Heat through the ceiling, and between designs the attic's high.
    fn goal_count(&self) -> usize {
        1 + usize::from(self.choice.is_some())
    }

    fn candidates(&self) -> Vec<Candidate> {
        let weather = self.task.weather;
        let house = &self.file.base;
        let candidate = |reading: Reading, days: Days, at: Vec<Where>| Candidate {
            reading,
            days,
            from: weather.interval_start(self.stretch(days).start),
            at,
        };
        let known: Vec<Where> = self.same.iter().map(|at| place_of(at, house)).collect();
        let mut all: Vec<Candidate> = PLACES
            .iter()
            .filter(|at| !known.contains(at))
            .filter(|at| **at != Where::LivingAir || house.living.given.is_none())
            .map(|at| candidate(Reading::At(at.clone()), Days::Ordinary, vec![at.clone()]))
            .collect();
        let is_logged = !self.same.is_empty();
        let same = if is_logged {
            self.same.clone()
        } else {
            vec![Where::AtticRidge]
        };
        let has_fans = house.fans.iter().any(|fan| fan.count > 0);
        let days = [
            (Days::Ordinary, is_logged),
            (Days::Windy, self.stretches.windy.is_some()),
            (Days::Clear, self.stretches.clear.is_some()),
            (Days::FansOff, has_fans),
        ];
        let there = days.into_iter().filter(|(_, there)| *there);
        all.extend(there.map(|(days, _)| candidate(Reading::SameAgain, days, same.clone())));
        all
    }

    fn stretch(&self, days: Days) -> &Range<usize> {
        let own = match days {
            Days::Ordinary | Days::FansOff => None,
            Days::Windy => self.stretches.windy.as_ref(),
            Days::Clear => self.stretches.clear.as_ref(),
        };
        own.unwrap_or(&self.stretches.ordinary)
    }

    /// Times at which is read, s since 1970.
    fn hours(&self, days: Days) -> Vec<i64> {
        let weather = self.task.weather;
        let stretch = self.stretch(days);
        let [from_s, to_s] =
            [stretch.start, stretch.end].map(|at| seconds(weather.interval_start(at)));
        (1..=(to_s - from_s) / HOUR_S)
            .map(|hour| from_s + hour * HOUR_S)
            .collect()
    }

    /// The two designs that let the least heat through the ceiling, or the only one against the
    /// house as it stands; those that cannot be run are left out.
    fn choose(&self, values: &[f64]) -> Option<Choices> {
        let priors = &self.task.priors;
        let weather = self.task.weather.adjusted(&adjustment(priors, values));
        let mut all: Vec<(f64, &House, Vec<bool>)> = self
            .file
            .designs
            .par_iter()
            .filter_map(|house| {
                let open = self.open_in(house);
                let view = View::Design {
                    design: &house.design,
                    open: &open,
                };
                let heat = self.look(view, &[(values, &weather)], |outcome| goals(outcome)[0]);
                let heat = heat.into_iter().next()?.ok()?;
                Some((heat, house, open))
            })
            .collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        if all.len() == 1 {
            all.push((0.0, &self.file.base, vec![true; priors.len()]));
        }
        let mut best = all.into_iter();
        let (one, other) = (best.next()?, best.next()?);
        Some(Choices {
            designs: [one.1.design.clone(), other.1.design.clone()],
            open: [one.2, other.2],
        })
    }

    /// Whether each unknown is the same in a design as in the house.
    fn open_in(&self, house: &House) -> Vec<bool> {
        let design = self.file.as_design(&house.design);
        let is_open = |prior: &Prior| match (&prior.target, &design) {
            (Target::Key { key, .. }, Some(design)) => self.file.agrees_on(design, key),
            _ => true,
        };
        self.task.priors.iter().map(is_open).collect()
    }

    fn house(&self, design: &str, values: &[f64]) -> Result<House, CalibrationError> {
        let priors = &self.task.priors;
        Ok(house_with(
            &self.file,
            design,
            priors,
            values,
            self.rooms.as_ref(),
        )?)
    }

    /// The house that is looked at, with values.
    fn seen(&self, view: View, values: &[f64]) -> Result<House, CalibrationError> {
        match view {
            View::Design { design, open } => {
                let priors = self.task.priors.iter().zip(values.iter().zip(open));
                let own: Vec<f64> = priors
                    .map(|(prior, (value, open))| if *open { *value } else { prior.value })
                    .collect();
                self.house(design, &own)
            }
            View::Days(days) => {
                let mut house = self.house(&self.file.base.design, values)?;
                if days == Days::FansOff {
                    house.fans.iter_mut().for_each(|fan| fan.count = 0);
                }
                Ok(house)
            }
        }
    }

    /// Looks at a house with each of several sets of values, side by side.
    fn look<T: Send>(
        &self,
        view: View,
        sets: &[(&[f64], &Weather)],
        take: impl Fn(&Outcome) -> T + Sync,
    ) -> Vec<Result<T, CalibrationError>> {
        let stretch = match view {
            View::Design { .. } => &self.stretches.hot,
            View::Days(days) => self.stretch(days),
        };
        let options = RunOptions {
            integrator: Choice::Default { tolerance_k: 0.05 },
            output_s: 3600.0,
            warm_up_days: WARM_UP_DAYS,
            ..RunOptions::default()
        };
        let houses: Vec<Result<House, CalibrationError>> = sets
            .par_iter()
            .map(|(values, _)| self.seen(view, values))
            .collect();
        let weather: Vec<&Weather> = sets.iter().map(|(_, weather)| *weather).collect();
        run_made(houses, &weather, stretch, &options, |outcome| {
            (self.progress)();
            take(&outcome)
        })
    }

    /// The goals, then what every candidate reads, K or W/m², with each of several sets of values;
    /// candidates of the same days stand together.
    fn rows(
        &self,
        candidates: &[Candidate],
        sets: &[Vec<f64>],
    ) -> Vec<Result<Vec<f64>, CalibrationError>> {
        let priors = &self.task.priors;
        let weather: Vec<Weather> = sets
            .par_iter()
            .map(|values| self.task.weather.adjusted(&adjustment(priors, values)))
            .collect();
        let pairs = sets.iter().zip(&weather);
        let scenes: Vec<(&[f64], &Weather)> = pairs
            .map(|(values, weather)| (&values[..], weather))
            .collect();
        let mut parts = vec![self.goals_of(&scenes)];
        let mut days: Vec<Days> = Vec::new();
        for candidate in candidates {
            if !days.contains(&candidate.days) {
                days.push(candidate.days);
            }
        }
        for of in &days {
            let hours = self.hours(*of);
            let read = |outcome: &Outcome| -> Vec<f64> {
                let own = candidates.iter().filter(|one| one.days == *of);
                let places = own.flat_map(|one| &one.at);
                places
                    .flat_map(|at| worked_out(outcome, at, &hours))
                    .collect()
            };
            parts.push(self.look(View::Days(*of), &scenes, read));
        }
        let mut parts: Vec<_> = parts.into_iter().map(Vec::into_iter).collect();
        let row = |_: &Vec<f64>| -> Result<Vec<f64>, CalibrationError> {
            // Every part is taken from, though one has failed.
            let own: Vec<Result<Vec<f64>, _>> =
                parts.iter_mut().filter_map(Iterator::next).collect();
            let own: Vec<Vec<f64>> = own.into_iter().collect::<Result<_, _>>()?;
            Ok(own.concat())
        };
        sets.iter().map(row).collect()
    }

    /// What the decision hangs on, with each of several sets of values.
    fn goals_of(&self, scenes: &[(&[f64], &Weather)]) -> Vec<Result<Vec<f64>, CalibrationError>> {
        let Some(choice) = &self.choice else {
            let open = vec![true; self.task.priors.len()];
            let design = &self.file.base.design;
            let view = View::Design {
                design,
                open: &open,
            };
            return self.look(view, scenes, |outcome| vec![goals(outcome)[0]]);
        };
        let of = |at: usize| {
            let view = View::Design {
                design: &choice.designs[at],
                open: &choice.open[at],
            };
            self.look(view, scenes, goals)
        };
        let pairs = of(0).into_iter().zip(of(1));
        pairs
            .map(|(one, other)| {
                let (one, other) = (one?, other?);
                Ok(vec![other[0] - one[0], other[1] - one[1]])
            })
            .collect()
    }

    /// Derivatives of the rows by the unknowns on their scales, with the steps of the fit.
    fn derivatives(&self, candidates: &[Candidate], values: &[f64], now: &[f64]) -> DMatrix<f64> {
        let priors = &self.task.priors;
        let unknowns: Vec<Unknown> = priors
            .iter()
            .map(|prior| prior.unknown(prior.z(prior.value)))
            .collect();
        let z: Vec<f64> = priors
            .iter()
            .zip(values)
            .map(|(prior, x)| prior.z(*x))
            .collect();
        let steps: Vec<f64> = priors.iter().map(|prior| 0.4 * prior.deviation()).collect();
        let all: Vec<usize> = (0..priors.len()).collect();
        let run = |sets: &[Vec<f64>]| {
            let own = |to: &Vec<f64>| moved(priors, values, to);
            let sets: Vec<Vec<f64>> = sets.iter().map(own).collect();
            let rows = self.rows(candidates, &sets).into_iter();
            rows.map(Result::ok).collect()
        };
        derivatives(&unknowns, &z, now, &all, &steps, &run)
    }
}

/// Mean heat through the ceiling, W/m², and the attic air's high, K.
fn goals(outcome: &Outcome) -> [f64; 2] {
    let trace = &outcome.trace;
    // The first is of no part of the run.
    let parts = trace.ceiling_gain_w.get(1..).unwrap_or_default();
    let mean = parts.iter().sum::<f64>() / parts.len().max(1) as f64;
    let high = trace.attic_air_k.iter().copied().fold(0.0, f64::max);
    [mean / outcome.landmarks.floor_m2, high]
}

/// The place of the list that a logged one is as good as.
fn place_of(at: &Where, house: &House) -> Where {
    let Where::Sensor(index) = at else {
        return at.clone();
    };
    let Some(sensor) = house.sensors.get(*index) else {
        return at.clone();
    };
    match sensor.zone {
        SensorZone::Living => Where::LivingAir,
        SensorZone::Attic => {
            let ridge_m = house.attic_shape().ridge_height_m;
            if sensor.height_m > 0.5 * ridge_m {
                Where::AtticRidge
            } else {
                Where::AtticLow
            }
        }
    }
}
