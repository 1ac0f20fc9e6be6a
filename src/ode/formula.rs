//! The rational functions of one linearly implicit step: see [`super::stages`].

use super::Real;

/// Pole: root of `γ³ − 3γ² + 3γ/2 − 1/6`, which makes the method L-stable.
pub(super) const GAMMA: f64 = 0.435_866_521_508_459;
/// Coefficients of X, X², X³ that act on F₀ (order 3, vanishing at infinity).
pub(super) const A1: [f64; 3] = coefficients(1.0, 0.5);
/// The same that act on the linear part of `r`: those of the extended autonomous system.
pub(super) const A2: [f64; 3] = chained(A1);
/// The same that act on the quadratic part of `r`.
pub(super) const A3: [f64; 3] = chained(A2);
/// Leading error coefficient of the rational approximation, of `(h J)³ F₀ h`.
pub(super) const LINEAR_ERROR: f64 =
    (A1[0] + 4.0 * A1[1] + 10.0 * A1[2]) * GAMMA * GAMMA * GAMMA - 1.0 / 24.0;
/// Weights of the three solves (last first) that make `(h J X)³ h F₀`; −1 for `F₀` itself.
pub(super) const THIRD: [f64; 3] = combination([3.0, -3.0, 1.0]);
/// Weights of the three solves that make the state in the middle of the step.
pub(super) const MIDDLE: [f64; 3] = combination(coefficients(0.5, 0.125));
/// Share of the parabola's correction counted as error once the correction has been made.
pub(super) const PROBED_SHARE: f64 = 0.25;

/// E-folds by which a change may grow in a step: the function is right for few, and beyond `1/γ` it
/// holds down what grows, without any sign of it.
pub(super) const MOST_GROWTH: f64 = 1.0;

/// Coefficients of X, X², X³ for a value `first` and slope `second` at zero and the right limit
/// at infinity.
pub(super) const fn coefficients(first: f64, second: f64) -> [f64; 3] {
    let third = second / GAMMA + GAMMA - 2.0 * first;
    [GAMMA, first - GAMMA - third, third]
}

/// Coefficients of the function one integration up: `γ Σ_{i≥l} a_i`.
pub(super) const fn chained(a: [f64; 3]) -> [f64; 3] {
    [
        GAMMA * (a[0] + a[1] + a[2]),
        GAMMA * (a[1] + a[2]),
        GAMMA * a[2],
    ]
}

/// Weights of the solves w₁, w₂, w₃ (from F₀: `a₁X+a₂X²+a₃X³`, `a₂X+a₃X²`, `a₃X`) that make a
/// given polynomial in X.
pub(super) const fn combination(wanted: [f64; 3]) -> [f64; 3] {
    let first = wanted[2] / A1[2];
    let second = (wanted[1] - first * A1[1]) / A1[2];
    let third = (wanted[0] - first * A1[0] - second * A1[1]) / A1[2];
    [first, second, third]
}

/// [`coefficients`], lane by lane.
#[inline(always)]
pub(super) fn coefficients_lanes<R: Real>(first: R, second: R) -> [R; 3] {
    let third = second / GAMMA + GAMMA - first * 2.0;
    [R::splat(GAMMA), first - GAMMA - third, third]
}

/// [`chained`], lane by lane.
#[inline(always)]
pub(super) fn chained_lanes<R: Real>(a: [R; 3]) -> [R; 3] {
    [
        (a[0] + a[1] + a[2]) * GAMMA,
        (a[1] + a[2]) * GAMMA,
        a[2] * GAMMA,
    ]
}

/// [`combination`], lane by lane.
#[inline(always)]
pub(super) fn combination_lanes<R: Real>(wanted: [R; 3]) -> [R; 3] {
    let first = wanted[2] / A1[2];
    let second = (wanted[1] - first * A1[1]) / A1[2];
    let third = (wanted[0] - first * A1[0] - second * A1[1]) / A1[2];
    [first, second, third]
}

#[cfg(test)]
fn sum(a: [f64; 3]) -> f64 {
    a[0] + a[1] + a[2]
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
            1.0 + z * x * (A1[0] + x * (A1[1] + x * A1[2]))
        };
        for z in [0.01, 0.02, 0.04] {
            let missed = stability(-z) - exp(-z);
            assert!(
                (missed / (LINEAR_ERROR * z.powi(4)) - 1.0).abs() < 2.0 * z,
                "{z} {missed:e}"
            );
        }
        assert!(stability(-1e9).abs() < 1e-8);
        assert!((1..100_000).all(|tenth| stability(-0.1 * f64::from(tenth)).abs() < 1.0));
        assert!((sum(A2) - 1.0 / 2.0).abs() < 1e-14 && (sum(A3) - 1.0 / 6.0).abs() < 1e-14);
    }
}
