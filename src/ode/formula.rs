//! The rational functions of one linearly implicit step: see [`super::stages`].

use super::Real;

/// How many solves with the step's matrix a function takes: as many powers of X, and the order of the
/// method for what is linear.
pub(super) const SOLVES: usize = 5;

/// A coefficient for each power of X, the first for X itself.
pub(super) type Powers = [f64; SOLVES];

/// Pole with which the function is of fifth order and vanishes at infinity, the one of several that makes
/// the method L-stable (Hairer & Wanner 1996, Solving Ordinary Differential Equations II, table IV.6.4,
/// from memory; the conditions are tested below).
pub(super) const GAMMA: f64 = 0.278_053_841_136_452_3;
/// Coefficients that act on F₀.
pub(super) const A1: Powers = coefficients([1.0, 1.0 / 2.0, 1.0 / 6.0, 1.0 / 24.0]);
/// The same that act on the linear part of `r`: those of the extended autonomous system.
pub(super) const A2: Powers = chained(A1);
/// The same that act on the quadratic part of `r`.
pub(super) const A3: Powers = chained(A2);
/// Leading error coefficient of the rational approximation, of `(h J)⁵ F₀ h`.
pub(super) const LINEAR_ERROR: f64 = series(A1, SOLVES) - 1.0 / 720.0;
/// Weights of the solves (last first) that make `(h J X)⁵ h F₀ / γ⁵`; −1 for `F₀` itself.
pub(super) const FIFTH: Powers = combination([5.0, -10.0, 10.0, -5.0, 1.0]);
/// Weights of the solves that make the state in the middle of the step.
pub(super) const MIDDLE: Powers = combination(coefficients([0.5, 0.125, 1.0 / 48.0, 1.0 / 384.0]));

/// What may be missed of the integral of `r`, over the step's length, for each unit by which it bends
/// away from a straight line in the middle (twice that distance): a kink in the middle of the step is
/// missed by a quarter of the third that Simpson's rule adds for the bend, one elsewhere by less.
pub(super) const BEND_OF_KINKS: f64 = 0.25 / 3.0;
/// The same where flows may turn over by themselves: a jump just after the middle is missed by the whole
/// of that third.
pub(super) const BEND_OF_JUMPS: f64 = 1.0 / 3.0;

/// E-folds by which a change may grow in a step: the function is right for few, and beyond `1/γ` it
/// holds down what grows, without any sign of it.
pub(super) const MOST_GROWTH: f64 = 1.0;

/// Binomial coefficient.
const fn choose(n: usize, k: usize) -> f64 {
    let mut value = 1.0;
    let mut at = 0;
    while at < k {
        value = value * (n - at) as f64 / (at + 1) as f64;
        at += 1;
    }
    value
}

/// Coefficient of `(h J)ᵏ` in a function of X.
const fn series(a: Powers, k: usize) -> f64 {
    let mut sum = 0.0;
    let mut power = 0;
    while power < SOLVES {
        sum += a[power] * choose(power + k, k);
        power += 1;
    }
    let mut at = 0;
    while at < k {
        sum *= GAMMA;
        at += 1;
    }
    sum
}

/// `(−γ)ᵏ`.
const fn pole_power(k: usize) -> f64 {
    let mut value = 1.0;
    let mut at = 0;
    while at < k {
        value *= -GAMMA;
        at += 1;
    }
    value
}

/// How the coefficients follow from the first terms of the series wanted, and from the right limit at
/// infinity, in the last column.
///
/// The function is `N(z)/(1 − γz)ˢ` with `N = Σ a_k (1 − γz)^(s−k)`: the first terms of N are those of
/// the series times `(1 − γz)ˢ`, its last is that of the limit; then N is written in powers of `1 − γz`.
const FROM_SERIES: [Powers; SOLVES] = {
    let mut matrix = [[0.0; SOLVES]; SOLVES];
    let mut wanted = 0;
    while wanted < SOLVES {
        let mut numerator = [0.0; SOLVES];
        let mut term = 0;
        while term < SOLVES - 1 {
            if wanted < SOLVES - 1 && term >= wanted {
                numerator[term] = choose(SOLVES, term - wanted) * pole_power(term - wanted);
            }
            term += 1;
        }
        if wanted == SOLVES - 1 {
            numerator[term] = GAMMA * pole_power(SOLVES - 1);
        }
        let mut power = 0;
        while power < SOLVES {
            let mut value = 0.0;
            let mut term = power;
            while term < SOLVES {
                // ((q − 1)/−γ)ᵗ, of which the part with qᵖ.
                let sign = if (term - power).is_multiple_of(2) {
                    1.0
                } else {
                    -1.0
                };
                value += numerator[term] / pole_power(term) * choose(term, power) * sign;
                term += 1;
            }
            matrix[SOLVES - 1 - power][wanted] = value;
            power += 1;
        }
        wanted += 1;
    }
    matrix
};

/// Coefficients of the function whose series begins with these terms and that tends to the right limit
/// at infinity.
const fn coefficients(terms: [f64; SOLVES - 1]) -> Powers {
    let mut out = [0.0; SOLVES];
    let mut at = 0;
    while at < SOLVES {
        let row = FROM_SERIES[at];
        let mut sum = row[SOLVES - 1];
        let mut term = 0;
        while term < SOLVES - 1 {
            sum += row[term] * terms[term];
            term += 1;
        }
        out[at] = sum;
        at += 1;
    }
    out
}

/// Coefficients of the function one integration up: `γ Σ_{i≥l} a_i`.
const fn chained(a: Powers) -> Powers {
    let mut out = [0.0; SOLVES];
    let mut sum = 0.0;
    let mut at = SOLVES;
    while at > 0 {
        at -= 1;
        sum += a[at];
        out[at] = GAMMA * sum;
    }
    out
}

/// How the weights of the solves `w_l = Σ_{i≥l} a_i X^(i−l+1)` follow from the coefficients of the
/// polynomial in X that they are to make.
const FROM_POWERS: [Powers; SOLVES] = {
    let mut matrix = [[0.0; SOLVES]; SOLVES];
    let mut wanted = 0;
    while wanted < SOLVES {
        // From the highest power down, which only the first solve has.
        let mut solve = 0;
        while solve < SOLVES {
            let power = SOLVES - 1 - solve;
            let mut left = if power == wanted { 1.0 } else { 0.0 };
            let mut earlier = 0;
            while earlier < solve {
                left -= matrix[earlier][wanted] * A1[power + earlier];
                earlier += 1;
            }
            matrix[solve][wanted] = left / A1[SOLVES - 1];
            solve += 1;
        }
        wanted += 1;
    }
    matrix
};

/// Weights of the solves that make a given polynomial in X.
const fn combination(powers: Powers) -> Powers {
    let mut out = [0.0; SOLVES];
    let mut solve = 0;
    while solve < SOLVES {
        let mut power = 0;
        while power < SOLVES {
            out[solve] += FROM_POWERS[solve][power] * powers[power];
            power += 1;
        }
        solve += 1;
    }
    out
}

/// Coefficients of the change of state over a share of the step, lane by lane.
#[inline(always)]
pub(super) fn coefficients_lanes<R: Real>(share: R) -> [R; SOLVES] {
    let square = share * share;
    let terms = [
        share,
        square * 0.5,
        square * share * (1.0 / 6.0),
        square * square * (1.0 / 24.0),
    ];
    let mut out = [R::splat(0.0); SOLVES];
    for (out, row) in out.iter_mut().zip(&FROM_SERIES) {
        *out = terms[0] * row[0] + row[SOLVES - 1];
        for term in 1..SOLVES - 1 {
            *out += terms[term] * row[term];
        }
    }
    out
}

/// [`chained`], lane by lane.
#[inline(always)]
pub(super) fn chained_lanes<R: Real>(a: [R; SOLVES]) -> [R; SOLVES] {
    let mut out = a;
    let mut sum = R::splat(0.0);
    for at in (0..SOLVES).rev() {
        sum += a[at];
        out[at] = sum * GAMMA;
    }
    out
}

/// [`combination`], lane by lane.
#[inline(always)]
pub(super) fn combination_lanes<R: Real>(powers: [R; SOLVES]) -> [R; SOLVES] {
    let mut out = [R::splat(0.0); SOLVES];
    for (out, row) in out.iter_mut().zip(&FROM_POWERS) {
        *out = powers[0] * row[0];
        for power in 1..SOLVES {
            *out += powers[power] * row[power];
        }
    }
    out
}

/// A function of X where J is nothing.
#[inline(always)]
pub(super) fn at_rest<R: Real>(a: &[R; SOLVES]) -> R {
    let mut sum = a[0];
    for &more in &a[1..] {
        sum += more;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::exp;

    #[test]
    fn coefficients_meet_their_order_conditions_and_vanish_at_infinity() {
        // R(z) = 1 + z Σ a_i X^i with X = 1/(1 − γz) against the exponential.
        let stability = |z: f64| {
            let x = 1.0 / (1.0 - GAMMA * z);
            1.0 + z * x * A1.iter().rev().fold(0.0, |sum, a| sum * x + a)
        };
        for z in [0.1, 0.2, 0.3] {
            let missed = stability(-z) - exp(-z);
            assert!(
                (missed / (LINEAR_ERROR * z.powi(6)) - 1.0).abs() < 3.0 * z,
                "{z} {missed:e}"
            );
        }
        assert!(stability(-1e9).abs() < 1e-8);
        assert!((1..100_000).all(|tenth| stability(-0.1 * f64::from(tenth)).abs() < 1.0));
        // One over the factorials; what is one integration up has one term less that is right.
        let mut factorial = 1.0;
        for term in 0..SOLVES {
            factorial *= (term + 1) as f64;
            assert!((series(A1, term) * factorial - 1.0).abs() < 1e-11, "{term}");
            if term > 0 {
                assert!((series(A2, term - 1) * factorial - 1.0).abs() < 1e-11);
            }
        }
    }
}
