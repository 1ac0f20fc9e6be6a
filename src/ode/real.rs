//! The number that the hot path is written over: one `f64`, or lanes of designs.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use crate::elementary;

/// A real number, or several side by side, without branches that depend on its value.
pub trait Real:
    Copy
    + std::fmt::Debug
    + PartialEq
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
    /// How many lanes there are.
    const WIDTH: usize;
    /// Some of the lanes.
    type Mask: Mask;
    /// The value of one lane.
    fn lane(self, lane: usize) -> f64;
    /// Puts a value into one lane; there is none beyond the width.
    fn set_lane(&mut self, lane: usize, value: f64);
    /// `if_true` in the lanes of the mask, else `if_false`.
    fn select(mask: Self::Mask, if_true: Self, if_false: Self) -> Self;
    /// Lanes in which `self` is at most `other`; not those where either is NaN.
    fn at_most(self, other: Self) -> Self::Mask;
    /// The same value in every lane.
    fn splat(value: f64) -> Self;
    /// As [`Self::splat`] of a number that stands beside others which are used likewise: left alone, the
    /// compiler takes such neighbours, and with them the same lane of several, together.
    fn alone(value: f64) -> Self;
    /// Square root; NaN below zero.
    fn sqrt(self) -> Self;
    /// Cube root, odd.
    fn cbrt(self) -> Self;
    /// `self` to −¼; `self` must be positive.
    fn inverse_fourth_root(self) -> Self;
    /// `self` to −1/24; `self` must be positive.
    fn inverse_twenty_fourth_root(self) -> Self;
    /// `self` to −1/40; `self` must be positive.
    fn inverse_fortieth_root(self) -> Self;
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

    /// Stands in loops over arrays of lanes: left alone, the compiler takes the same lane of several
    /// elements together, which it must gather, where a whole element fits a register as it is.
    fn apart();
    /// Does work, for lanes with the widest instructions that this processor has. Only what is
    /// inlined into the work gets them.
    fn wide<W: Work>(work: W) -> W::Output;

    /// Lanes in which `self` is a finite number.
    #[inline(always)]
    fn finite(self) -> Self::Mask {
        (self * 0.0).abs().at_most(Self::splat(0.0))
    }
    /// A value for each lane.
    #[inline(always)]
    fn from_lanes(value: impl Fn(usize) -> f64) -> Self {
        let mut lanes = Self::splat(0.0);
        for lane in 0..Self::WIDTH {
            lanes.set_lane(lane, value(lane));
        }
        lanes
    }
}

/// Something to be done by [`Real::wide`].
pub trait Work {
    /// What it gives.
    type Output;
    /// Does it; to be inlined always.
    fn run(self) -> Self::Output;
}

/// Some of the lanes of a number.
pub trait Mask: Copy + Send + Sync + std::fmt::Debug + PartialEq + 'static {
    /// All lanes.
    const ALL: Self;
    /// No lane.
    const NONE: Self;
    /// Lanes in both.
    fn and(self, other: Self) -> Self;
    /// Lanes in either.
    fn or(self, other: Self) -> Self;
    /// Lanes not in it.
    fn not(self) -> Self;
    /// Whether there is any lane in it.
    fn any(self) -> bool;
    /// Whether a lane is in it.
    fn has(self, lane: usize) -> bool;
    /// The same with one lane put in.
    fn with(self, lane: usize) -> Self;
}

impl Mask for bool {
    const ALL: Self = true;
    const NONE: Self = false;
    #[inline(always)]
    fn and(self, other: Self) -> Self {
        self & other
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        self | other
    }
    #[inline(always)]
    fn not(self) -> Self {
        !self
    }
    #[inline(always)]
    fn any(self) -> bool {
        self
    }
    #[inline(always)]
    fn has(self, _lane: usize) -> bool {
        self
    }
    #[inline(always)]
    fn with(self, _lane: usize) -> Self {
        true
    }
}

impl Real for f64 {
    const WIDTH: usize = 1;
    type Mask = bool;
    #[inline(always)]
    fn lane(self, _lane: usize) -> f64 {
        self
    }
    #[inline(always)]
    fn set_lane(&mut self, _lane: usize, value: f64) {
        *self = value;
    }
    #[inline(always)]
    fn select(mask: bool, if_true: Self, if_false: Self) -> Self {
        if mask { if_true } else { if_false }
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> bool {
        self <= other
    }
    #[inline(always)]
    fn splat(value: f64) -> Self {
        value
    }
    #[inline(always)]
    fn alone(value: f64) -> Self {
        value
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    #[inline(always)]
    fn cbrt(self) -> Self {
        elementary::cbrt(self)
    }
    #[inline(always)]
    fn inverse_fourth_root(self) -> Self {
        elementary::inverse_fourth_root(self)
    }
    #[inline(always)]
    fn inverse_twenty_fourth_root(self) -> Self {
        elementary::inverse_twenty_fourth_root(self)
    }
    #[inline(always)]
    fn inverse_fortieth_root(self) -> Self {
        elementary::inverse_fortieth_root(self)
    }
    #[inline(always)]
    fn exp(self) -> Self {
        elementary::exp(self)
    }
    #[inline(always)]
    fn ln(self) -> Self {
        elementary::ln(self)
    }
    #[inline(always)]
    fn powf(self, exponent: f64) -> Self {
        elementary::power(self, exponent)
    }
    #[inline(always)]
    fn abs(self) -> Self {
        f64::abs(self)
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        if self > other || self.is_nan() {
            self
        } else {
            other
        }
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        if self < other || self.is_nan() {
            self
        } else {
            other
        }
    }
    #[inline(always)]
    fn where_positive(self, if_true: Self, if_false: Self) -> Self {
        if self > 0.0 { if_true } else { if_false }
    }
    #[inline(always)]
    fn largest(self) -> f64 {
        self
    }
    #[inline(always)]
    fn apart() {}
    #[inline(always)]
    fn wide<W: Work>(work: W) -> W::Output {
        work.run()
    }
}

/// Rises from 0 at `x ≤ 0` to 1 at `x ≥ 1` with level ends: `3x² − 2x³`.
#[inline(always)]
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
