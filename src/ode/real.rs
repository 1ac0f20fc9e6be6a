//! The number that the hot path is written over: one `f64` now, lanes of designs later.

use super::elementary;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// A real number, or several side by side, without branches that depend on its value.
pub trait Real:
    Copy
    + Send
    + Sync
    + 'static
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
{
    /// The same value in every lane.
    fn splat(value: f64) -> Self;
    /// Square root; NaN below zero.
    fn sqrt(self) -> Self;
    /// Cube root, odd.
    fn cbrt(self) -> Self;
    /// Natural exponential.
    fn exp(self) -> Self;
    /// Natural logarithm; NaN below zero.
    fn ln(self) -> Self;
    /// `self` to a fixed power; `self` must not be negative.
    fn powf(self, exponent: f64) -> Self;
    /// Magnitude.
    fn abs(self) -> Self;
    /// The larger value; NaN if either is NaN, so that a fault is never hidden.
    fn max(self, other: Self) -> Self;
    /// The smaller value; NaN if either is NaN.
    fn min(self, other: Self) -> Self;
    /// `if_true` where `self` is above zero, else `if_false`.
    fn where_positive(self, if_true: Self, if_false: Self) -> Self;
    /// The largest of the lanes; NaN if any is NaN.
    fn largest(self) -> f64;
}

impl Real for f64 {
    #[inline]
    fn splat(value: f64) -> Self {
        value
    }
    #[inline]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    #[inline]
    fn cbrt(self) -> Self {
        elementary::cbrt(self)
    }
    #[inline]
    fn exp(self) -> Self {
        elementary::exp(self)
    }
    #[inline]
    fn ln(self) -> Self {
        elementary::ln(self)
    }
    #[inline]
    fn powf(self, exponent: f64) -> Self {
        elementary::power(self, exponent)
    }
    #[inline]
    fn abs(self) -> Self {
        f64::abs(self)
    }
    #[inline]
    fn max(self, other: Self) -> Self {
        if self > other || self.is_nan() {
            self
        } else {
            other
        }
    }
    #[inline]
    fn min(self, other: Self) -> Self {
        if self < other || self.is_nan() {
            self
        } else {
            other
        }
    }
    #[inline]
    fn where_positive(self, if_true: Self, if_false: Self) -> Self {
        if self > 0.0 { if_true } else { if_false }
    }
    #[inline]
    fn largest(self) -> f64 {
        self
    }
}

/// Rises from 0 at `x ≤ 0` to 1 at `x ≥ 1` with level ends: `3x² − 2x³`.
#[inline]
pub fn smoothstep<R: Real>(x: R) -> R {
    let x = x.max(R::splat(0.0)).min(R::splat(1.0));
    x * x * (R::splat(3.0) - x * 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_nan_is_never_hidden_by_the_larger_or_smaller_value() {
        assert!(Real::max(f64::NAN, 1.0).is_nan() && Real::max(1.0, f64::NAN).is_nan());
        assert!(Real::min(f64::NAN, 1.0).is_nan() && Real::min(1.0, f64::NAN).is_nan());
    }

    #[test]
    fn smoothstep_is_level_at_both_ends_and_half_in_the_middle() {
        for (x, y) in [(-1.0, 0.0), (0.0, 0.0), (0.5, 0.5), (1.0, 1.0), (2.0, 1.0)] {
            assert!((smoothstep(x) - y).abs() < 1e-15);
        }
    }
}
