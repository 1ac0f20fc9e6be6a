//! Residuals day by day: the waves in each, and what in them only passes.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use crate::elementary::cos;

use super::{DAY_S, PARTS, Part, Square, height, waves};

/// Whole days without which residuals do not tell, and readings of such a day.
const LEAST_DAYS: usize = 3;
const LEAST_A_DAY: usize = 18;

/// A day's residuals, s and K or W/m², and the heights of its waves.
pub(super) struct Day {
    residuals: Vec<(i64, f64)>,
    pub(super) heights: Part,
}

/// Each day that has enough readings; nothing if there are too few of them.
pub(super) fn by_day(times_s: &[i64], residuals: &[f64]) -> Option<Vec<Day>> {
    let mut days: BTreeMap<i64, Vec<(i64, f64)>> = BTreeMap::new();
    for (at_s, value) in times_s.iter().zip(residuals) {
        let day = days.entry(at_s.div_euclid(DAY_S)).or_default();
        day.push((*at_s, *value));
    }
    let days: Vec<Day> = days
        .into_values()
        .filter_map(|residuals| {
            let heights = of_day(&residuals)?;
            Some(Day { residuals, heights })
        })
        .collect();
    (days.len() >= LEAST_DAYS).then_some(days)
}

/// What errors that pass within hours, a logger's among them, bring into the heights of a day's waves, as
/// variances. How strong they are and how long they last shows in what the waves leave of each day, whose
/// readings are taken to hang together as in an autoregression of first order: its spectrum beyond the
/// waves tells that within them.
pub(super) fn passing(days: &[Day]) -> Part {
    const LONGEST: f64 = 0.995;
    let Some((count, square, next)) = left_by_waves(days) else {
        return Part::zeros();
    };
    let spectrum = |keep: f64, wave: usize| {
        let turn = cos(TAU * wave as f64 / count as f64);
        (1.0 - keep * keep) / (1.0 - 2.0 * keep * turn + keep * keep)
    };
    let beyond = PARTS.div_ceil(2)..=count / 2;
    // Of what lies beyond the waves: the mean square of a reading, and its product with the next.
    let sums = |keep: f64| {
        beyond.clone().fold([0.0, 0.0], |[one, both], wave| {
            let twice = if 2 * wave == count { 1.0 } else { 2.0 };
            let power = twice * spectrum(keep, wave) / count as f64;
            let turn = cos(TAU * wave as f64 / count as f64);
            [one + power, both + power * turn]
        })
    };
    let (mut low, mut high) = (0.0, LONGEST);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        let [one, both] = sums(middle);
        if both * square < next * one {
            low = middle;
        } else {
            high = middle;
        }
    }
    let variance = square / sums(low)[0].max(1e-9);
    Part::from_fn(|part, _| {
        let twice = if part == 0 { 1.0 } else { 2.0 };
        let power = twice * variance * spectrum(low, part.div_ceil(2)) / count as f64;
        power / height(part).powi(2)
    })
}

/// What their waves leave of days: how many readings a day has, the mean square of one, and the mean
/// product of two that follow one another.
fn left_by_waves(days: &[Day]) -> Option<(usize, f64, f64)> {
    let count = days.iter().map(|day| day.residuals.len()).max()?;
    let step_s = DAY_S / i64::try_from(count).ok()?.max(1);
    let (mut squares, mut singles, mut products, mut pairs) = (0.0, 0.0, 0.0, 0.0);
    for day in days {
        let left: Vec<(i64, f64)> = day
            .residuals
            .iter()
            .map(|(at_s, value)| (*at_s, value - waves(*at_s).dot(&day.heights)))
            .collect();
        squares += left.iter().map(|(_, value)| value * value).sum::<f64>();
        singles += left.len() as f64;
        for pair in left.windows(2) {
            if pair[1].0 - pair[0].0 == step_s {
                products += pair[0].1 * pair[1].1;
                pairs += 1.0;
            }
        }
    }
    (count >= 2 * PARTS && pairs > 0.0).then(|| (count, squares / singles, products / pairs))
}

fn of_day(day: &[(i64, f64)]) -> Option<Part> {
    if day.len() < LEAST_A_DAY {
        return None;
    }
    let mut square = Square::zeros();
    let mut side = Part::zeros();
    for (at_s, value) in day {
        let own = waves(*at_s);
        square += own * own.transpose();
        side += own * *value;
    }
    Some(square.cholesky()?.solve(&side))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::exp;

    /// A log of 28 days, every ten minutes: what a logger errs, 0.5 K that last an hour, and a wave of a
    /// day that is up to `own_k` high, drawn for each day.
    fn days(own_k: f64) -> Vec<Day> {
        const COUNT: i64 = 144;
        let mut state = 7_u64;
        let mut even = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
        };
        let keep = exp(-1.0 / 6.0);
        let spread = (1.0 - keep * keep).sqrt() * 0.5 * 3.0_f64.sqrt();
        let (mut times_s, mut residuals, mut drift) = (Vec::new(), Vec::new(), 0.0);
        for day in 0..28 {
            let own = own_k * even();
            for at in 0..COUNT {
                drift = keep * drift + spread * even();
                let angle = TAU * at as f64 / COUNT as f64;
                times_s.push(day * DAY_S + at * DAY_S / COUNT);
                residuals.push(drift + own * cos(angle));
            }
        }
        by_day(&times_s, &residuals).unwrap()
    }

    fn mean_square(days: &[Day], part: usize) -> f64 {
        let squares = days.iter().map(|day| day.heights[part].powi(2));
        squares.sum::<f64>() / days.len() as f64
    }

    /// A logger's errors are told as passing, all of them and no more, whatever a day has of its own.
    #[test]
    fn what_passes_within_an_hour_is_told_from_what_is_a_days_own() {
        for own_k in [0.0, 2.0] {
            let days = days(own_k);
            let passing = passing(&days);
            let (found, expected): (f64, f64) = (3..PARTS)
                .map(|part| (mean_square(&days, part), passing[part]))
                .fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
            assert!((expected / found - 1.0).abs() < 0.25, "{expected} {found}");
            let own = mean_square(&days, 1) - passing[1];
            let put_in = own_k * own_k / 3.0 / height(1).powi(2);
            assert!(
                (own - put_in).abs() < 0.25 * mean_square(&days, 1).max(passing[1]),
                "{own} {put_in}"
            );
        }
    }
}
