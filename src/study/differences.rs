//! How sure the difference between two designs is.
//!
//! What is not known of a house is mostly not known of all its designs alike: a darker roof makes
//! each of them hotter. Houses are drawn from what is not known, each with every design, and only
//! how much one design differs from another in the same house counts. Drawn together, unknowns may
//! act upon one another, as do the sun that a roof takes up and the foil below it.

use std::ops::Range;

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::assess::assess;
use crate::house::{Assumption, House, HouseFile, Spread, setting};
use crate::run::{RunError, measure_each};
use crate::weather::Weather;

use super::band::Band;
use super::effects::{Measures, hottest_day, options};
use super::sweep::{latin_hypercube, normal};

/// Houses that are drawn.
const DRAWS: u64 = 64;
/// Seed of the draws: the same for all, so that results repeat.
const SEED: u64 = 1;
/// Half of nine in ten, in standard deviations.
const NINE_IN_TEN: f64 = 1.645;
/// Heat through the ceiling below which no share of it is told, kWh a day.
const LEAST_KWH: f64 = 0.05;

/// How far a design's difference from the first may be from what comes out with the assumed values.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// The design.
    pub design: String,
    /// Change of the difference of the attic air's high, K.
    pub attic_high: Band,
    /// The same of the rooms' high, K.
    pub living_high: Band,
    /// The same of the heat through the ceiling: in units of the first design's heat, and as a share
    /// of what that lets in itself; nothing where it lets in next to none.
    pub ceiling: Option<[Band; 2]>,
}

/// How sure each design's difference from the first is on the hottest day of a period; nothing of a
/// design that can hardly be made with other values.
///
/// What a design states itself, or what follows from what it states, is its own: a roof painted
/// white is not as dark as the old one may be. Unknowns are drawn evenly over their range or cases,
/// those that a fit has found to hang together from its limits and correlations. The band holds what
/// comes out with the assumed values.
///
/// # Errors
/// [`RunError`] if a design as it is cannot be run.
pub fn differences(
    file: &HouseFile,
    weather: &Weather,
    period: &Range<usize>,
) -> Result<Vec<Difference>, RunError> {
    let houses: Vec<&House> = file.all().collect();
    let Some((first, designs)) = houses.split_first() else {
        return Ok(Vec::new());
    };
    let day = hottest_day(weather, period);
    let drawn: Vec<Vec<Option<House>>> = houses
        .par_iter()
        .map(|house| drawn(file, house, &axes(first, house)))
        .collect();
    let others = drawn.iter().flatten().flatten();
    let all = houses.iter().copied().chain(others);
    let made: Vec<(&House, &Weather)> = all.map(|house| (house, weather)).collect();
    let mut measures = measure_each(&made, &day, &options(), |index, outcome| {
        outcome.map(|outcome| Measures::of(&assess(made[index].0, weather, outcome)))
    })
    .into_iter();
    let as_they_are: Vec<Measures> = measures
        .by_ref()
        .take(houses.len())
        .collect::<Result<_, RunError>>()?;
    let drawn: Vec<Vec<Option<Measures>>> = drawn
        .iter()
        .map(|all| {
            let one = |house: &Option<House>| house.as_ref().and_then(|_| measures.next()?.ok());
            all.iter().map(one).collect()
        })
        .collect();
    let own = designs.iter().zip(&as_they_are[1..]).zip(&drawn[1..]);
    let told = own.filter_map(|((design, base), all)| {
        let pairs = all.iter().zip(&drawn[0]);
        let pairs: Vec<[&Measures; 2]> = pairs
            .filter_map(|(own, first)| Some([own.as_ref()?, first.as_ref()?]))
            .collect();
        let is_enough = 2 * pairs.len() as u64 >= DRAWS;
        is_enough.then(|| Difference::of(&design.design, [base, &as_they_are[0]], &pairs))
    });
    Ok(told.collect())
}

impl Difference {
    fn of(design: &str, as_they_are: [&Measures; 2], drawn: &[[&Measures; 2]]) -> Self {
        let band = |of: &dyn Fn([&Measures; 2]) -> f64| {
            let base = of(as_they_are);
            let changes = drawn.iter().map(|pair| of(*pair) - base);
            band_of(&changes.collect::<Vec<_>>())
        };
        let first_kwh = as_they_are[1].ceiling_kwh;
        let least = drawn.iter().map(|[_, first]| first.ceiling_kwh);
        let least_kwh = least.fold(first_kwh, f64::min);
        Self {
            design: design.to_owned(),
            attic_high: band(&|[own, first]| own.attic_high - first.attic_high),
            living_high: band(&|[own, first]| own.living_high - first.living_high),
            ceiling: (least_kwh > LEAST_KWH).then(|| {
                [
                    band(&|[own, first]| (own.ceiling_kwh - first.ceiling_kwh) / first_kwh),
                    band(&|[own, first]| own.ceiling_kwh / first.ceiling_kwh),
                ]
            }),
        }
    }
}

/// The band of changes that were drawn: from the least to the most. Of 64 draws it holds nine in ten
/// of all there are, whatever their law, with 99 % confidence, and 63 in 65 on the mean (Wilks 1941,
/// from memory); without the outermost two the confidence would be 89 %. Cases make laws of several
/// humps, whose deviation says little.
fn band_of(changes: &[f64]) -> Band {
    Band {
        low: changes.iter().copied().fold(0.0, f64::min),
        high: changes.iter().copied().fold(0.0, f64::max),
    }
}

/// What is not known of a design, each on the axis of a sample. What the first design assumes alike
/// is on the same axis there.
fn axes<'a>(first: &House, house: &'a House) -> Vec<(usize, &'a Assumption)> {
    let known = first.assumed.len();
    let axis = |own: &Assumption, place: usize| {
        let mut all = first.assumed.iter();
        let alike = all.position(|one| {
            one.field == own.field && one.value == own.value && one.range == own.range
        });
        alike.unwrap_or(known + place)
    };
    let own = house.assumed.iter().zip(0..);
    own.map(|(one, place)| (axis(one, place), one)).collect()
}

/// A design with values drawn for what is not known of it; nothing where there is no such house.
fn drawn(file: &HouseFile, house: &House, axes: &[(usize, &Assumption)]) -> Vec<Option<House>> {
    let root = root_of_correlations(axes);
    let most = axes.iter().map(|(axis, _)| axis + 1).max().unwrap_or(0);
    (0..DRAWS)
        .map(|row| {
            let all = normal([row, DRAWS], most, SEED);
            let own = axes.iter().map(|(axis, _)| all[*axis]);
            let normals = &root * DVector::from_iterator(axes.len(), own);
            let values: Vec<(&str, String)> = axes
                .iter()
                .zip(normals.iter())
                .map(|((axis, one), z)| {
                    let share = latin_hypercube(row, DRAWS, *axis, SEED ^ 1);
                    (
                        one.field.as_str(),
                        value(one, is_tied(one, axes), share, *z),
                    )
                })
                .collect();
            let settings: Vec<(&str, &str)> = values
                .iter()
                .map(|(key, value)| (*key, value.as_str()))
                .collect();
            file.design_with(&house.design, &settings).ok()
        })
        .collect()
}

/// A value of an assumption: evenly over what is likely, or of a normal law whose limits of nine in
/// ten it tells.
fn value(one: &Assumption, is_tied: bool, share: f64, z: f64) -> String {
    match one.spread {
        Spread::Number {
            dimension,
            value,
            low,
            high,
        } if is_tied => {
            let side = if z < 0.0 { value - low } else { high - value };
            setting(value + z * side / NINE_IN_TEN, dimension)
        }
        _ => one.at(share),
    }
}

/// Whether a fit has found an unknown to hang together with another.
fn is_tied(one: &Assumption, axes: &[(usize, &Assumption)]) -> bool {
    let names = |other: &Assumption| other.together.iter().any(|(key, _)| *key == one.field);
    !one.together.is_empty() || axes.iter().any(|(_, other)| names(other))
}

/// What turns independent normal numbers into such as hang together as a fit has found. Rounded
/// correlations that contradict one another are brought nearer to none until they do not.
fn root_of_correlations(axes: &[(usize, &Assumption)]) -> DMatrix<f64> {
    let count = axes.len();
    let mut all = DMatrix::from_fn(count, count, |a, b| {
        let (one, other) = (axes[a].1, axes[b].1);
        if a == b { 1.0 } else { one.correlation(other) }
    });
    for _ in 0..40 {
        if let Some(root) = all.clone().cholesky() {
            return root.l();
        }
        for (a, b) in (0..count).flat_map(|a| (0..count).map(move |b| (a, b))) {
            if a != b {
                all[(a, b)] *= 0.9;
            }
        }
    }
    DMatrix::identity(count, count)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Dimension;

    fn fitted(field: &str, together: &[(&str, f64)]) -> Assumption {
        Assumption {
            field: field.to_owned(),
            value: String::new(),
            range: [String::new(), String::new()],
            source: String::new(),
            spread: Spread::Number {
                dimension: Dimension::Fraction,
                value: 0.5,
                low: 0.4,
                high: 0.6,
            },
            together: together
                .iter()
                .map(|(key, correlation)| ((*key).to_owned(), *correlation))
                .collect(),
        }
    }

    #[test]
    fn draws_hang_together_as_a_fit_has_found() {
        let all = [
            fitted("a", &[("b", 0.8)]),
            fitted("b", &[]),
            fitted("c", &[]),
        ];
        let axes: Vec<(usize, &Assumption)> = (0..).zip(&all).collect();
        let root = root_of_correlations(&axes);
        let back = &root * root.transpose();
        assert!((back[(0, 1)] - 0.8).abs() < 1e-12 && back[(0, 2)].abs() < 1e-12);
        assert!(is_tied(&all[1], &axes) && !is_tied(&all[2], &axes));
        let drawn = |z: f64| value(&all[0], true, 0.5, z).parse::<f64>().unwrap();
        assert!((drawn(NINE_IN_TEN) - 0.6).abs() < 1e-9 && (drawn(0.0) - 0.5).abs() < 1e-9);
        // What cannot be: a with b, b with c, but a against c.
        let odd = [
            fitted("a", &[("b", 0.9), ("c", -0.9)]),
            fitted("b", &[("c", 0.9)]),
            fitted("c", &[]),
        ];
        let axes: Vec<(usize, &Assumption)> = (0..).zip(&odd).collect();
        assert!(root_of_correlations(&axes)[(1, 0)] > 0.3);
    }

    /// Whatever the law, 64 draws hold less than nine in ten between their ends once in a hundred
    /// sets: `64 · 0.9⁶³ − 63 · 0.9⁶⁴`.
    #[test]
    fn so_many_draws_hold_nine_in_ten_with_confidence() {
        #[expect(clippy::cast_possible_truncation, reason = "a handful")]
        let count = DRAWS as i32;
        let n = f64::from(count);
        let less = n * 0.9_f64.powi(count - 1) - (n - 1.0) * 0.9_f64.powi(count);
        assert!(less < 0.01, "{less}");
        let inside = Band {
            low: 0.0,
            high: 4.0,
        };
        assert_eq!(band_of(&[4.0, 1.0, 3.0, 2.0]), inside);
    }
}
