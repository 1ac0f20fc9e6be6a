//! What to log next: which further reading narrows a decision most.
//!
//! Readings and decision are taken as straight lines in the unknowns about their present values, so
//! that the doubt after a reading does not hang on what it will read: with the unknowns' covariance
//! `S`, the reading's derivatives `J`, its errors' covariance `R` and the decision's gradient `g`, the
//! decision's variance goes from `gᵀ S g` to `gᵀ (S⁻¹ + Jᵀ R⁻¹ J)⁻¹ g`.
//!
//! Source: Bayesian experimental design, linear, c-optimality (Chaloner & Verdinelli 1995; from
//! memory).

use std::ops::Range;

use jiff::civil::DateTime;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::house::{GivenRooms, House, HouseFile, RoomsLog, SensorZone};
use crate::readings::Role;
use crate::run::{Choice, Outcome, RunOptions, simulate};
use crate::study::least_squares::{Unknown, derivatives};
use crate::weather::Weather;

use super::compare::{Measure, ROOMS, Where, columns, seconds, worked_out};
use super::found::Calibration;
use super::model::{CalibrationError, Task, driven, settings};
use super::unknowns::{Prior, Target, adjustment};

/// Days of a reading, and days on which the decision is looked at.
const DAYS: usize = 2;
/// Days run before them: differences between runs settle sooner than the runs themselves.
const WARM_UP_DAYS: u32 = 2;
/// How far from the hottest days others are looked for, days.
const NEAR_DAYS: usize = 15;
/// Error of a consumer's logger, K; common practice, no source.
const LOGGER_K: f64 = 0.5;
/// Error of a heat flux plate under a ceiling, W/m². Judgement: its calibration and its contact err
/// by a twentieth each (ISO 9869-1, from memory), a ceiling differs more between joist and bay.
const PLATE_W_M2: f64 = 1.5;
/// Independent readings a day before residuals of a log tell.
const FIRST_A_DAY: f64 = 3.0;
/// How much windier or sunnier days must be than ordinary ones to be told apart.
const WINDIER: f64 = 1.25;
const SUNNIER: f64 = 1.08;
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

    /// Of one of so many readings, so widened that all weigh as much as the independent ones.
    fn of_one(self, measure: Measure, count: usize) -> f64 {
        let own = match measure {
            Measure::Temperature => self.temperature_k,
            Measure::HeatFlux => PLATE_W_M2,
        };
        own * (count as f64 / (self.a_day * DAYS as f64)).max(1.0).sqrt()
    }
}

/// Days of the weather, as intervals.
struct Stretches {
    hot: Range<usize>,
    ordinary: Range<usize>,
    windy: Option<Range<usize>>,
    clear: Option<Range<usize>>,
}

impl Stretches {
    /// Days near the hottest; where the rooms' log drives the rooms, days that it reaches over.
    fn find(task: &Task, rooms_are_logged: bool) -> Option<Self> {
        let weather = task.weather;
        let rooms = task.readings.find(&Role::Inside(ROOMS.to_owned()));
        let ends_s = rooms
            .filter(|_| rooms_are_logged)
            .and_then(|one| Some([*one.times_s.first()?, *one.times_s.last()?]));
        let per_day = (86_400 / weather.step_s().max(1)) as usize;
        let is_midnight = |at: &usize| weather.interval_start(*at).hour() == 0;
        let first = (0..weather.intervals().min(2 * per_day)).find(is_midnight)?;
        let all: Vec<_> = (first..weather.intervals())
            .step_by(per_day)
            .filter_map(|start| weather.stretch(start..start + DAYS * per_day))
            .filter(|one| {
                ends_s.is_none_or(|ends_s| {
                    ends_s[0] <= seconds(one.from) && seconds(one.to) <= ends_s[1]
                })
            })
            .collect();
        let hottest = |a: &&_, b: &&_| -> std::cmp::Ordering {
            let of = |one: &crate::weather::Stretch| one.mean_dry_bulb_k;
            of(a).total_cmp(&of(b))
        };
        let hot = all.iter().max_by(hottest)?.intervals.clone();
        let near: Vec<_> = all
            .iter()
            .filter(|one| one.intervals.start.abs_diff(hot.start) <= NEAR_DAYS * per_day)
            .collect();
        let middle = |of: &dyn Fn(&crate::weather::Stretch) -> f64| {
            let mut each: Vec<f64> = near.iter().map(|one| of(one)).collect();
            each.sort_by(f64::total_cmp);
            each[each.len() / 2].max(0.1)
        };
        let wind = |one: &crate::weather::Stretch| one.mean_wind_speed_m_s;
        let sun = |one: &crate::weather::Stretch| one.mean_global_w_m2;
        let (usual_wind, usual_sun) = (middle(&wind), middle(&sun));
        let off = |one: &crate::weather::Stretch| {
            (wind(one) / usual_wind - 1.0).abs() + (sun(one) / usual_sun - 1.0).abs()
        };
        let ordinary = near.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
        let most = |of: &dyn Fn(&crate::weather::Stretch) -> f64, times: f64| {
            let most = near.iter().max_by(|a, b| of(a).total_cmp(&of(b)))?;
            (of(most) > times * of(ordinary)).then(|| most.intervals.clone())
        };
        Some(Self {
            windy: most(&wind, WINDIER),
            clear: most(&sun, SUNNIER),
            ordinary: ordinary.intervals.clone(),
            hot,
        })
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
        let now = self.rows(&candidates, values)?;
        let jacobian = self.derivatives(&candidates, values, &now);
        let root = root_of(covariance);
        let goals = self.goal_count();
        let of_goal = |goal: usize| -> DVector<f64> { jacobian.row(goal).transpose() };
        let before: Vec<f64> = (0..goals)
            .map(|goal| (root.transpose() * of_goal(goal)).norm_squared())
            .collect();
        let mut first = goals;
        let mut readings: Vec<NextReading> = Vec::new();
        for one in &candidates {
            let rows = self.rows_of(one);
            let each = rows / one.at.len().max(1);
            let mut weighed = jacobian.rows(first, rows).into_owned();
            for (row, mut derivatives) in weighed.row_iter_mut().enumerate() {
                derivatives /= noise.of_one(one.at[row / each.max(1)].measure(), each);
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

    /// Hours of all that a candidate reads.
    fn rows_of(&self, candidate: &Candidate) -> usize {
        candidate.at.len() * self.hours(candidate.days).len()
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
                let outcome = self.design(house, values, &open, &weather).ok()?;
                Some((goals(&outcome)[0], house, open))
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

    /// Whether each unknown is as little known in a design as in the house: laying over it what the
    /// house says leaves the design as it is.
    fn open_in(&self, house: &House) -> Vec<bool> {
        let assumed = |house: &House, key: &str| house.assumed.iter().any(|one| one.field == key);
        let is_open = |prior: &Prior| {
            let Target::Key { key, .. } = &prior.target else {
                return true;
            };
            match self.file.typed(key) {
                Some(text) => self
                    .file
                    .design_with(&house.design, &[(key, text)])
                    .is_ok_and(|same| same == *house),
                None => assumed(house, key) == assumed(&self.file.base, key),
            }
        };
        self.task.priors.iter().map(is_open).collect()
    }

    /// Runs a design through the hottest days.
    fn design(
        &self,
        house: &House,
        values: &[f64],
        open: &[bool],
        weather: &Weather,
    ) -> Result<Outcome, CalibrationError> {
        let priors = &self.task.priors;
        let own: Vec<f64> = priors
            .iter()
            .zip(values.iter().zip(open))
            .map(|(prior, (value, open))| if *open { *value } else { prior.value })
            .collect();
        let house = self.house(&house.design, &own)?;
        self.run(&house, weather, &self.stretches.hot)
    }

    fn house(&self, design: &str, values: &[f64]) -> Result<House, CalibrationError> {
        let settings = settings(&self.task.priors, values);
        let settings: Vec<(&str, &str)> = settings
            .iter()
            .map(|(key, value)| (key.as_str(), value.as_str()))
            .collect();
        let mut house = self.file.design_with(design, &settings)?;
        if let Some(log) = &self.rooms {
            house.living.given = Some(GivenRooms::Logged(log.clone()));
        }
        Ok(house)
    }

    fn run(
        &self,
        house: &House,
        weather: &Weather,
        stretch: &Range<usize>,
    ) -> Result<Outcome, CalibrationError> {
        let options = RunOptions {
            integrator: Choice::Default { tolerance_k: 0.05 },
            output_s: 3600.0,
            warm_up_days: WARM_UP_DAYS,
            ..RunOptions::default()
        };
        let outcome = simulate(house, weather, stretch.clone(), &options)?;
        (self.progress)();
        Ok(outcome)
    }

    /// The goals, then what every candidate reads, K or W/m².
    fn rows(&self, candidates: &[Candidate], values: &[f64]) -> Result<Vec<f64>, CalibrationError> {
        let priors = &self.task.priors;
        let weather = self.task.weather.adjusted(&adjustment(priors, values));
        let house = self.house(&self.file.base.design, values)?;
        let mut all: Vec<f64> = match &self.choice {
            None => vec![goals(&self.run(&house, &weather, &self.stretches.hot)?)[0]],
            Some(choice) => {
                let of = |at: usize| -> Result<[f64; 2], CalibrationError> {
                    let design = self.file.find(&choice.designs[at]);
                    let design = design.unwrap_or(&self.file.base);
                    Ok(goals(&self.design(
                        design,
                        values,
                        &choice.open[at],
                        &weather,
                    )?))
                };
                let [one, other] = [of(0)?, of(1)?];
                vec![other[0] - one[0], other[1] - one[1]]
            }
        };
        let mut runs: Vec<(Days, Outcome)> = Vec::new();
        for candidate in candidates {
            if !runs.iter().any(|(days, _)| *days == candidate.days) {
                let mut own = house.clone();
                if candidate.days == Days::FansOff {
                    own.fans.iter_mut().for_each(|fan| fan.count = 0);
                }
                let outcome = self.run(&own, &weather, self.stretch(candidate.days))?;
                runs.push((candidate.days, outcome));
            }
            let Some((_, outcome)) = runs.iter().find(|(days, _)| *days == candidate.days) else {
                continue;
            };
            let hours = self.hours(candidate.days);
            for at in &candidate.at {
                all.extend(worked_out(outcome, at, &hours));
            }
        }
        Ok(all)
    }

    /// Derivatives of the rows by the unknowns on their scales, with the steps of the fit.
    fn derivatives(&self, candidates: &[Candidate], values: &[f64], now: &[f64]) -> DMatrix<f64> {
        let priors = &self.task.priors;
        let unknowns: Vec<Unknown> = priors
            .iter()
            .map(|prior| Unknown {
                start: prior.z(prior.value),
                low: prior.z(prior.bounds[0]),
                high: prior.z(prior.bounds[1]),
            })
            .collect();
        let pairs = || priors.iter().zip(values);
        let z: Vec<f64> = pairs().map(|(prior, x)| prior.z(*x)).collect();
        let steps: Vec<f64> = priors.iter().map(|prior| 0.4 * prior.deviation()).collect();
        let all: Vec<usize> = (0..priors.len()).collect();
        let run = |moved: &[f64]| -> Option<Vec<f64>> {
            let values: Vec<f64> = pairs()
                .zip(moved.iter().zip(&z))
                .map(|((prior, x), (to, from))| {
                    if (to - from).abs() > 0.0 {
                        prior.x(*to)
                    } else {
                        *x
                    }
                })
                .collect();
            self.rows(candidates, &values).ok()
        };
        derivatives(&unknowns, &z, now, &all, &steps, &run)
    }
}

/// Mean heat through the ceiling, W/m², and the attic air's high, K.
fn goals(outcome: &Outcome) -> [f64; 2] {
    let trace = &outcome.trace;
    let mean = trace.ceiling_gain_w.iter().sum::<f64>() / trace.ceiling_gain_w.len().max(1) as f64;
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

/// A matrix whose product with its own transpose is a covariance, which may be singular.
fn root_of(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    let eigen = covariance.clone().symmetric_eigen();
    let mut root = eigen.eigenvectors;
    for (mut column, value) in root.column_iter_mut().zip(eigen.eigenvalues.iter()) {
        column *= value.max(0.0).sqrt();
    }
    root
}

/// Variance of a goal after readings whose derivatives are weighed by their errors: with `S = L Lᵀ`,
/// `gᵀ (S⁻¹ + Jᵀ J)⁻¹ g = (Lᵀ g)ᵀ (1 + (J L)ᵀ J L)⁻¹ Lᵀ g`, which stands for a singular `S` too.
fn variance_left(goal: &DVector<f64>, root: &DMatrix<f64>, weighed: &DMatrix<f64>) -> f64 {
    let own = root.transpose() * goal;
    let told = weighed * root;
    let information = told.transpose() * &told + DMatrix::identity(own.len(), own.len());
    match information.cholesky() {
        Some(factors) => own.dot(&factors.solve(&own)),
        None => own.norm_squared(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An unknown of deviation 2 read `n` times with errors of 0.5: `1 / (1/4 + n/0.25)`.
    #[test]
    fn one_unknown_read_often_is_as_sure_as_the_books_say() {
        for count in [1_u32, 4, 48] {
            let root = root_of(&DMatrix::from_element(1, 1, 4.0));
            let weighed = DMatrix::from_element(count as usize, 1, 1.0 / 0.5);
            let left = variance_left(&DVector::from_element(1, 3.0), &root, &weighed);
            let books = 9.0 / (0.25 + f64::from(count) / 0.25);
            assert!((left / books - 1.0).abs() < 1e-12, "{left} {books}");
        }
    }

    /// Two unknowns of which only the sum is read: `S − S Jᵀ (J S Jᵀ + R)⁻¹ J S`, by hand, for a goal
    /// that is their sum, and for their difference, of which the sum tells nothing.
    #[test]
    fn a_sum_tells_of_the_sum_and_not_of_the_difference() {
        let root = root_of(&DMatrix::from_diagonal(&DVector::from_vec(vec![1.0, 1.0])));
        let weighed = DMatrix::from_row_slice(1, 2, &[1.0, 1.0]);
        let left = |goal: [f64; 2]| variance_left(&DVector::from_row_slice(&goal), &root, &weighed);
        assert!((left([1.0, 1.0]) - (2.0 - 4.0 / 3.0)).abs() < 1e-12);
        assert!((left([1.0, -1.0]) - 2.0).abs() < 1e-12);
    }

    proptest::proptest! {
        /// The law: more readings never widen a goal, whatever is known and read, and a singular
        /// covariance is no exception.
        #[test]
        fn more_information_never_widens(
            numbers in proptest::collection::vec(-3.0..3.0f64, 3 * 3 + 3 + 5 * 3),
            known in 0_usize..3,
        ) {
            let mut half = DMatrix::from_row_slice(3, 3, &numbers[..9]);
            half.column_mut(known).fill(0.0);
            let root = root_of(&(&half * half.transpose()));
            let goal = DVector::from_row_slice(&numbers[9..12]);
            let mut last = (root.transpose() * &goal).norm_squared();
            for rows in 0..=5 {
                let weighed = DMatrix::from_row_slice(rows, 3, &numbers[12..12 + 3 * rows]);
                let left = variance_left(&goal, &root, &weighed);
                proptest::prop_assert!(left >= 0.0 && left <= last + 1e-9, "{left} {last}");
                last = left;
            }
        }
    }
}
