//! How far a result may be from the truth because of what was assumed.

use crate::house::Spread;

use super::effects::{Effect, Measures};

/// Standard deviations on either side of the mean.
const SPREAD: f64 = 2.0;

/// Limits between which a result very likely lies, as changes of the result with the values that
/// were assumed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// At least.
    pub low: f64,
    /// At most.
    pub high: f64,
}

impl Band {
    /// Half the distance between its limits.
    pub fn half_width(&self) -> f64 {
        0.5 * (self.high - self.low)
    }
}

/// The band of a measure.
///
/// What is not known is taken as even over its range or its cases, each alone moving the result
/// along straight lines between the runs, and as independent but for what a fit to readings has
/// found to hang together; means, variances and covariances add up, and the band is the mean with
/// two standard deviations on either side. It holds the result with the assumed values, and goes
/// no further than all effects together.
pub fn band(effects: &[&Effect], of: impl Fn(&Measures) -> f64) -> Band {
    Sum::of(effects, &of).band()
}

/// The assumption whose answer would narrow the band of a measure most, of those that can be found
/// out, and the band with it answered.
pub fn narrowest<'a>(
    effects: &[&'a Effect],
    of: impl Fn(&Measures) -> f64,
) -> Option<(&'a Effect, Band)> {
    let told: Vec<f64> = effects.iter().map(|one| tells(one, effects, &of)).collect();
    let open = (0..effects.len()).filter(|at| effects[*at].can_be_found_out());
    let first = open.max_by(|a, b| told[*a].total_cmp(&told[*b]))?;
    let mut rest = effects.to_vec();
    let answered = rest.remove(first);
    let mut without = Sum::of(&rest, &of);
    without.variance = (Sum::of(effects, &of).variance - told[first]).max(0.0);
    Some((answered, without.band()))
}

/// Mean and variance of a measure, and the least and most that all effects together make of it.
struct Sum {
    mean: f64,
    variance: f64,
    least: f64,
    most: f64,
}

impl Sum {
    fn of(effects: &[&Effect], of: &impl Fn(&Measures) -> f64) -> Self {
        let mut sum = Self {
            mean: 0.0,
            variance: 0.0,
            least: 0.0,
            most: 0.0,
        };
        for (at, effect) in effects.iter().enumerate() {
            let (mean, variance) = moments(effect, of);
            sum.mean += mean;
            sum.variance += variance;
            for other in &effects[at + 1..] {
                let correlation = effect.assumption.correlation(&other.assumption);
                if correlation.abs() > 0.0 {
                    sum.variance += 2.0 * correlation * signed(effect, of) * signed(other, of);
                }
            }
            let changes = effect.others.iter().filter_map(|o| o.change.as_ref());
            let (low, high) = changes.fold((0.0_f64, 0.0_f64), |(low, high), change| {
                (low.min(of(change)), high.max(of(change)))
            });
            sum.least += low;
            sum.most += high;
        }
        sum.variance = sum.variance.max(0.0);
        sum
    }

    fn band(&self) -> Band {
        let reach = SPREAD * self.variance.sqrt();
        Band {
            low: (self.mean - reach).max(self.least).min(0.0),
            high: (self.mean + reach).min(self.most).max(0.0),
        }
    }
}

/// Standard deviation of the change that one unknown makes, negative where more of it makes less.
fn signed(effect: &Effect, of: &impl Fn(&Measures) -> f64) -> f64 {
    let change = |at: usize| {
        let other = effect.others.get(at);
        let other = other.and_then(|other| other.change.as_ref());
        other.map_or(0.0, of)
    };
    moments(effect, of).1.sqrt() * (change(1) - change(0)).signum()
}

/// Variance of a measure that goes once an unknown is known: with what hangs together with it.
fn tells(effect: &Effect, all: &[&Effect], of: &impl Fn(&Measures) -> f64) -> f64 {
    let others = all.iter().filter(|other| !std::ptr::eq(**other, effect));
    let with: f64 = others
        .map(|other| effect.assumption.correlation(&other.assumption) * signed(other, of))
        .sum();
    if with.abs() > 0.0 {
        (signed(effect, of) + with).powi(2)
    } else {
        moments(effect, of).1
    }
}

/// Mean and variance of the change that one unknown makes.
fn moments(effect: &Effect, of: &impl Fn(&Measures) -> f64) -> (f64, f64) {
    let change = |at: usize| {
        let other = effect.others.get(at);
        other.and_then(|other| other.change.as_ref()).map(of)
    };
    let (mean, square) = match effect.assumption.spread {
        Spread::Number {
            value, low, high, ..
        } => {
            let width = high - low;
            let below = if width > 0.0 {
                ((value - low) / width).clamp(0.0, 1.0)
            } else {
                0.5
            };
            let (low, high) = (change(0).unwrap_or(0.0), change(1).unwrap_or(0.0));
            let above = 1.0 - below;
            (
                f64::midpoint(below * low, above * high),
                (below * low * low + above * high * high) / 3.0,
            )
        }
        Spread::Cases(_) => {
            let known: Vec<f64> = (0..effect.others.len()).filter_map(change).collect();
            let count = known.len() as f64 + 1.0;
            (
                known.iter().sum::<f64>() / count,
                known.iter().map(|k| k * k).sum::<f64>() / count,
            )
        }
    };
    (mean, (square - mean * mean).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::Assumption;
    use crate::study::effects::Other;
    use crate::units::Dimension;

    fn effect(spread: Spread, changes: &[f64]) -> Effect {
        let assumption = Assumption {
            field: "x".to_owned(),
            value: String::new(),
            range: [String::new(), String::new()],
            source: String::new(),
            spread,
            together: Vec::new(),
        };
        let other = |attic_high: f64| Other {
            value: String::new(),
            change: Some(Measures {
                attic_high,
                ..Measures::default()
            }),
        };
        Effect {
            assumption,
            design: String::new(),
            base: Measures::default(),
            others: changes.iter().copied().map(other).collect(),
        }
    }

    fn number(low: f64, high: f64) -> Effect {
        let spread = Spread::Number {
            dimension: Dimension::Fraction,
            value: 0.5,
            low: 0.0,
            high: 1.0,
        };
        effect(spread, &[low, high])
    }

    #[test]
    fn one_unknown_gives_its_own_range_and_many_less_than_all_together() {
        let of = |m: &Measures| m.attic_high;
        let one = number(-3.0, 3.0);
        assert_eq!(
            band(&[&one], of),
            Band {
                low: -3.0,
                high: 3.0
            }
        );
        // Twelve alike: the deviation of an even spread of 6 is 6/√12, of twelve together 6.
        let many = [&one; 12];
        let band = band(&many, of);
        assert!((band.high - 12.0).abs() < 1e-9 && (band.low + 12.0).abs() < 1e-9);
    }

    #[test]
    fn what_hangs_together_widens_or_narrows_the_band() {
        let of = |m: &Measures| m.attic_high;
        let pair = |correlation: f64, twice: bool| {
            let (mut one, mut other) = (number(-3.0, 3.0), number(-3.0, 3.0));
            other.assumption.field = "y".to_owned();
            one.assumption.together = vec![("y".to_owned(), correlation)];
            if twice {
                other.assumption.together = vec![("x".to_owned(), correlation)];
            }
            // A third, so that the reach of all together does not cut the band.
            let mut third = number(-3.0, 3.0);
            third.assumption.field = "z".to_owned();
            band(&[&one, &other, &third], of).high
        };
        // Deviation √3 each: 3 + 3 + 3 + 2ρ·3.
        let wanted = |correlation: f64| 2.0 * (9.0 + 6.0 * correlation).sqrt();
        for correlation in [-1.0, -0.5, 0.0, 0.5] {
            for twice in [false, true] {
                let found = pair(correlation, twice);
                assert!(
                    (found - wanted(correlation)).abs() < 1e-9,
                    "{correlation}: {found}"
                );
            }
        }
    }

    #[test]
    fn cases_count_alike_and_the_widest_is_named() {
        let of = |m: &Measures| m.attic_high;
        let cases = Spread::Cases(vec!["a".to_owned(), "b".to_owned()]);
        let case = effect(cases, &[-8.0]);
        // Either 0 or -8: mean -4, deviation 4.
        assert_eq!(
            band(&[&case], of),
            Band {
                low: -8.0,
                high: 0.0
            }
        );
        let small = number(-1.0, 1.0);
        let (first, rest) = narrowest(&[&small, &case], of).unwrap();
        assert_eq!(first, &case);
        assert_eq!(
            rest,
            Band {
                low: -1.0,
                high: 1.0
            }
        );
        assert!(narrowest(&[], of).is_none());
        // What a fit leaves unexplained widens the band and is no question to a person.
        let mut unexplained = number(-4.0, 4.0);
        unexplained.assumption.field = "attic.air_error".to_owned();
        let both = [&small, &unexplained];
        assert_eq!(narrowest(&both, of).unwrap().0, &small);
        assert!(band(&both, of).high > band(&[&small], of).high);
    }
}
