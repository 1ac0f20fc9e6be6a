//! What a fit found.

use nalgebra::{DMatrix, DVector};

use super::compare::{Compared, is_attic_air};
use super::daily::DailyError;
use super::statistics::{NINE_IN_TEN, Quality};
use super::unknowns::{Prior, Target};
use super::weights::Weight;
use crate::house::{HouseFile, as_written, setting};
use crate::study::effects::AIR_ERROR;
use crate::units::{Dimension, parse};

/// What was found of an unknown.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What was likely before.
    pub prior: Prior,
    /// Its most likely value.
    pub value: f64,
    /// Limits between which nine in ten lie.
    pub interval: [f64; 2],
    /// How far it went from the prior, in the prior's standard deviations.
    pub pull: f64,
    /// Share of the prior's doubt that is left.
    pub doubt_left: f64,
}

/// An unknown that the readings do not tell: it stays at its prior, with all its doubt.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// It.
    pub prior: Prior,
    /// What the readings could have told alone: by how many of their own deviations one of the
    /// prior's moves them.
    pub told: f64,
}

/// Unknowns that move together.
#[derive(Debug, Clone, PartialEq)]
pub struct Direction {
    /// By how many of the readings' deviations one of the prior's moves them along it; below one
    /// the readings say less than the prior.
    pub told: f64,
    /// Names and shares, the largest first; unlike signs move against one another.
    pub parts: Vec<(String, f64)>,
}

/// What a fit found.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// What was fitted.
    pub findings: Vec<Finding>,
    /// What was held.
    pub held: Vec<Held>,
    /// Correlations of what was fitted, in its order.
    pub correlations: DMatrix<f64>,
    /// From the best told to the least.
    pub directions: Vec<Direction>,
    /// Weights.
    pub weights: Vec<Weight>,
    /// The fitted days.
    pub fitted: Vec<Compared>,
    /// The days kept out.
    pub kept_out: Vec<Compared>,
    /// The fitted days with the likeliest values, before any fit.
    pub before: Vec<Compared>,
    /// Values of all priors of the task, in their order.
    pub values: Vec<f64>,
    /// Their covariance, on the priors' scales.
    pub covariance: DMatrix<f64>,
    /// What the house gets wrong every day alike, column by column.
    pub daily: Vec<DailyError>,
    /// Sums of squares that the starts came to, the kept one first.
    pub sums: Vec<f64>,
    /// Runs that it took.
    pub runs: usize,
}

impl Calibration {
    /// How well the columns are met, in their order: on the days kept out if there are any and
    /// `kept_out` is asked for, else on the fitted ones.
    pub fn quality(&self, kept_out: bool) -> Vec<(String, Quality)> {
        let which = if kept_out {
            &self.kept_out
        } else {
            &self.fitted
        };
        which
            .iter()
            .map(|one| (one.name.clone(), one.quality()))
            .collect()
    }

    /// Settings of the house file for what was fitted of it, as a person would type them.
    pub fn settings(&self) -> Vec<(String, String)> {
        self.findings
            .iter()
            .filter_map(|finding| match &finding.prior.target {
                Target::Key { key, dimension } => {
                    Some((key.clone(), typed(finding.value, *dimension)))
                }
                _ => None,
            })
            .collect()
    }

    /// Settings of the house file for what was fitted of it and for the doubt that is left. `names`
    /// are those of the task's unknowns in their order; `readings` tells what was fitted.
    pub fn settings_with_doubt(
        &self,
        file: &HouseFile,
        names: &[&str],
        readings: &str,
    ) -> Vec<(String, String)> {
        /// Correlations below this are not told.
        const TOLD: f64 = 0.05;
        let mut settings = self.settings();
        for finding in &self.findings {
            let Target::Key { key, dimension } = &finding.prior.target else {
                continue;
            };
            let Some(own) = names.iter().position(|name| name == key) else {
                continue;
            };
            let together: Vec<String> = names
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != own)
                .filter_map(|(other, name)| {
                    let correlation = self.correlation(own, other);
                    (correlation.abs() >= TOLD).then(|| format!("{name} {correlation:.2}"))
                })
                .collect();
            settings.extend(discharge_of(file, key));
            let table = format!("fitted.{}", key.replace('.', "-"));
            let mut put = |name: &str, value: String| {
                settings.push((format!("{table}.{name}"), value));
            };
            let [low, high] = finding.interval.map(|limit| typed(limit, *dimension));
            put("key", key.clone());
            put("low", low);
            put("high", high);
            if !together.is_empty() {
                put("with", together.join(", "));
            }
            put("from", readings.to_owned());
        }
        settings.extend(self.air_error(file, readings));
        settings
    }

    /// Settings for what the attic's air may get wrong on a day beside all numbers, after the
    /// thermometer in it where that is most; none where none was logged there.
    fn air_error(&self, file: &HouseFile, readings: &str) -> Vec<(String, String)> {
        let own = self.daily.iter();
        let of_air = own.filter(|daily| is_attic_air(&daily.name, &file.base));
        let errors = of_air.map(DailyError::of_afternoons);
        let most_k = errors.fold(0.0, f64::max);
        if most_k <= 0.0 {
            return Vec::new();
        }
        // As other settings are typed: in tenths of a degree F, none too narrow.
        let limit_f = (18.0 * NINE_IN_TEN * most_k).ceil() / 10.0;
        let of_fit = |name: &str, value: String| (format!("fitted.attic-air_error.{name}"), value);
        vec![
            (AIR_ERROR.to_owned(), "0 F".to_owned()),
            of_fit("key", AIR_ERROR.to_owned()),
            of_fit("low", format!("-{limit_f:.1} F")),
            of_fit("high", format!("{limit_f:.1} F")),
            of_fit("from", readings.to_owned()),
        ]
    }

    /// Correlation of two of the task's unknowns, by their places.
    fn correlation(&self, one: usize, other: usize) -> f64 {
        let variances = self.covariance[(one, one)] * self.covariance[(other, other)];
        if variances > 0.0 {
            self.covariance[(one, other)] / variances.sqrt()
        } else {
            0.0
        }
    }

    /// Values of all priors, drawn from what is left of doubt; the numbers are standard normal ones,
    /// as many as there are priors.
    pub fn drawn(&self, priors: &[Prior], normal: &[f64]) -> Vec<f64> {
        let root = self.covariance.clone().cholesky();
        let moves = root.map_or_else(
            || DVector::zeros(priors.len()),
            |root| root.l() * DVector::from_column_slice(normal),
        );
        priors
            .iter()
            .zip(&self.values)
            .zip(moves.iter())
            .map(|((prior, value), by)| {
                prior
                    .x(prior.z(*value) + by)
                    .clamp(prior.bounds[0], prior.bounds[1])
            })
            .collect()
    }
}

impl Compared {
    /// How well they agree.
    pub fn quality(&self) -> Quality {
        Quality::of(self.measure, &self.times_s, &self.worked_out, &self.logged)
    }
}

/// The discharge coefficient that the fitted area of a vent goes with, where it was assumed: only
/// their product acts, so that it has no doubt of its own any more.
fn discharge_of(file: &HouseFile, key: &str) -> Option<(String, String)> {
    let vent = key.strip_suffix(".net_area")?;
    let discharge = format!("{vent}.discharge");
    let mut assumed = file.base.assumed.iter();
    let own = assumed.find(|one| one.field == discharge)?;
    Some((discharge, own.value.clone()))
}

/// A value as a person would type it, or to four digits where that would not be read back.
fn typed(value: f64, dimension: Dimension) -> String {
    /// Three digits are within this of the value.
    const ROUNDING: f64 = 0.006;
    let text = as_written(value, dimension);
    let is_read =
        parse(&text, dimension).is_ok_and(|read| (read - value).abs() <= ROUNDING * value.abs());
    if is_read {
        text
    } else {
        let rounded = format!("{value:.3e}").parse().unwrap_or(value);
        setting(rounded, dimension)
    }
}
