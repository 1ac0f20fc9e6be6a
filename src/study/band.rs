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
/// What is not known is taken as independent and even over its range or its cases, each alone
/// moving the result along straight lines between the runs; means and variances add up, and the
/// band is the mean with two standard deviations on either side. It holds the result with the
/// assumed values, and goes no further than all effects together.
pub fn band(effects: &[&Effect], of: impl Fn(&Measures) -> f64) -> Band {
    let (mut mean, mut variance) = (0.0, 0.0);
    let (mut least, mut most) = (0.0, 0.0);
    for effect in effects {
        let (own_mean, own_variance) = moments(effect, &of);
        mean += own_mean;
        variance += own_variance;
        let changes = effect.others.iter().filter_map(|o| o.change.as_ref());
        let (low, high) = changes.fold((0.0_f64, 0.0_f64), |(low, high), change| {
            (low.min(of(change)), high.max(of(change)))
        });
        least += low;
        most += high;
    }
    let reach = SPREAD * variance.sqrt();
    Band {
        low: (mean - reach).max(least).min(0.0),
        high: (mean + reach).min(most).max(0.0),
    }
}

/// The assumption whose answer would narrow the band of a measure most, and the band without it.
pub fn narrowest<'a>(
    effects: &[&'a Effect],
    of: impl Fn(&Measures) -> f64,
) -> Option<(&'a Effect, Band)> {
    let first = effects
        .iter()
        .copied()
        .max_by(|a, b| moments(a, &of).1.total_cmp(&moments(b, &of).1))?;
    let rest: Vec<&Effect> = effects
        .iter()
        .copied()
        .filter(|effect| !std::ptr::eq(*effect, first))
        .collect();
    Some((first, band(&rest, of)))
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
    }
}
