//! Work on arrays of numbers that may be lanes, where only some lanes are meant.

use super::Real;
use super::formula::SOLVES;
use super::real::Mask;

#[inline(always)]
pub(super) fn combine<R: Real>(out: &mut [R], solves: &[Vec<R>; SOLVES], weights: [R; SOLVES]) {
    let [first, second, third, fourth, fifth] = solves;
    let firsts = first.iter().zip(second).zip(third);
    let lasts = fourth.iter().zip(fifth);
    for (out, (((&first, &second), &third), (&fourth, &fifth))) in
        out.iter_mut().zip(firsts.zip(lasts))
    {
        R::apart();
        *out = first * weights[0]
            + second * weights[1]
            + third * weights[2]
            + fourth * weights[3]
            + fifth * weights[4];
    }
}

#[inline(always)]
pub(super) fn add<R: Real>(
    lanes: R::Mask,
    solves: &mut [Vec<R>; SOLVES],
    changes: &[Vec<R>; SOLVES],
) {
    for (solve, change) in solves.iter_mut().zip(changes) {
        for (value, &change) in solve.iter_mut().zip(change) {
            R::apart();
            *value = R::select(lanes, *value + change, *value);
        }
    }
}

/// Writes values into some lanes.
#[inline(always)]
pub(super) fn store<R: Real>(lanes: R::Mask, kept: &mut [R], new: &[R]) {
    for (kept, &new) in kept.iter_mut().zip(new) {
        R::apart();
        *kept = R::select(lanes, new, *kept);
    }
}

/// The same, or by exchange where no other lane is in the way; what is in `new` then is no matter.
#[inline(always)]
pub(super) fn hand_over<R: Real>(
    lanes: R::Mask,
    others: R::Mask,
    kept: &mut Vec<R>,
    new: &mut Vec<R>,
) {
    if others.any() {
        store(lanes, kept, new);
    } else {
        std::mem::swap(kept, new);
    }
}

/// Adds what has been reached beyond what has been handed out.
#[inline(always)]
pub(super) fn give<R: Real>(lanes: R::Mask, totals: &mut [R], handed: &mut [R], reached: &[R]) {
    for (total, (handed, &reached)) in totals.iter_mut().zip(handed.iter_mut().zip(reached)) {
        R::apart();
        *total = R::select(lanes, *total + (reached - *handed), *total);
        *handed = R::select(lanes, reached, *handed);
    }
}

/// Lanes of which every value is a finite number.
#[inline(always)]
pub(super) fn finite<R: Real>(values: &[R]) -> R::Mask {
    // Several sums side by side: one alone would wait for each addition.
    let mut sums = [R::splat(0.0); 8];
    let chunks = values.chunks_exact(8);
    for (sum, &value) in sums.iter_mut().zip(chunks.remainder()) {
        R::apart();
        *sum += value * 0.0;
    }
    for chunk in chunks {
        R::apart();
        for (sum, &value) in sums.iter_mut().zip(chunk) {
            R::apart();
            *sum += value * 0.0;
        }
    }
    let mut all = R::Mask::ALL;
    for sum in sums {
        R::apart();
        all = all.and(sum.abs().at_most(R::splat(0.0)));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_value_that_is_not_finite_is_found_wherever_it_is() {
        for length in [1, 7, 8, 9, 31] {
            assert!(finite(&vec![1e300; length]));
            for at in 0..length {
                for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
                    let mut values = vec![2.0; length];
                    values[at] = bad;
                    assert!(!finite(&values));
                }
            }
        }
    }
}
