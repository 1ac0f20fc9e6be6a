//! Eight numbers side by side, one for each of as many designs.
//!
//! Plain arrays, which the compiler turns into the processor's wide instructions, of whatever width
//! it may use. Each lane goes through the same operations as a single number, in the same order and
//! without fused multiply-adds, so that its bits are those of a single number and never depend on its
//! neighbours.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use crate::elementary;

use super::real::{Mask, Real, Work};

/// Number of lanes.
pub(super) const WIDTH: usize = 8;

/// Numbers of as many designs.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub struct Lanes([f64; WIDTH]);

/// Some of the lanes: all bits set in those, none in the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(align(64))]
pub struct LaneMask([u64; WIDTH]);

impl Lanes {
    #[inline(always)]
    fn each(self, map: impl Fn(f64) -> f64) -> Self {
        let mut out = self;
        for lane in 0..WIDTH {
            out.0[lane] = map(self.0[lane]);
        }
        out
    }

    #[inline(always)]
    fn with(self, other: Self, map: impl Fn(f64, f64) -> f64) -> Self {
        let mut out = self;
        for lane in 0..WIDTH {
            out.0[lane] = map(self.0[lane], other.0[lane]);
        }
        out
    }
}

macro_rules! operator {
    ($operator:ident, $method:ident) => {
        impl $operator for Lanes {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                self.with(other, f64::$method)
            }
        }

        impl $operator<f64> for Lanes {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: f64) -> Self {
                self.each(|value| value.$method(other))
            }
        }
    };
}

operator!(Add, add);
operator!(Sub, sub);
operator!(Mul, mul);
operator!(Div, div);

impl Neg for Lanes {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.each(f64::neg)
    }
}

impl AddAssign for Lanes {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Lanes {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Real for Lanes {
    const WIDTH: usize = WIDTH;
    type Mask = LaneMask;
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.0[lane]
    }
    #[inline(always)]
    fn set_lane(&mut self, lane: usize, value: f64) {
        self.0[lane] = value;
    }
    #[inline(always)]
    fn select(mask: LaneMask, if_true: Self, if_false: Self) -> Self {
        let mut out = if_false;
        for lane in 0..WIDTH {
            let kept = if_false.0[lane].to_bits() & !mask.0[lane];
            out.0[lane] = f64::from_bits((if_true.0[lane].to_bits() & mask.0[lane]) | kept);
        }
        out
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> LaneMask {
        let mut out = LaneMask::NONE;
        for lane in 0..WIDTH {
            out.0[lane] = u64::from(self.0[lane] <= other.0[lane]).wrapping_neg();
        }
        out
    }
    #[inline(always)]
    fn splat(value: f64) -> Self {
        Self([value; WIDTH])
    }
    #[inline(always)]
    fn alone(value: f64) -> Self {
        Self::splat(std::hint::black_box(value))
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        self.each(f64::sqrt)
    }
    #[inline(always)]
    fn cbrt(self) -> Self {
        self.each(elementary::cbrt)
    }
    #[inline(always)]
    fn inverse_fourth_root(self) -> Self {
        self.each(elementary::inverse_fourth_root)
    }
    #[inline(always)]
    fn inverse_twenty_fourth_root(self) -> Self {
        self.each(elementary::inverse_twenty_fourth_root)
    }
    #[inline(always)]
    fn inverse_fortieth_root(self) -> Self {
        self.each(elementary::inverse_fortieth_root)
    }
    #[inline(always)]
    fn exp(self) -> Self {
        self.each(elementary::exp)
    }
    #[inline(always)]
    fn ln(self) -> Self {
        self.each(elementary::ln)
    }
    #[inline(always)]
    fn powf(self, exponent: f64) -> Self {
        self.each(|value| elementary::power(value, exponent))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        self.each(f64::abs)
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        self.with(other, Real::max)
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        self.with(other, Real::min)
    }
    #[inline(always)]
    fn where_positive(self, if_true: Self, if_false: Self) -> Self {
        let mut out = if_false;
        for lane in 0..WIDTH {
            out.0[lane] = self.0[lane].where_positive(if_true.0[lane], if_false.0[lane]);
        }
        out
    }
    #[inline(always)]
    fn largest(self) -> f64 {
        self.0.into_iter().fold(f64::NEG_INFINITY, Real::max)
    }
    #[inline(always)]
    fn apart() {
        std::hint::black_box(());
    }
    fn wide<W: Work>(work: W) -> W::Output {
        pulp::Arch::new().dispatch(Wide(work))
    }
}

/// Work in the form in which it is handed to the processor's widest instructions.
struct Wide<W>(W);

impl<W: Work> pulp::NullaryFnOnce for Wide<W> {
    type Output = W::Output;
    #[inline(always)]
    fn call(self) -> W::Output {
        self.0.run()
    }
}

impl LaneMask {
    #[inline(always)]
    fn join(self, other: Self, map: impl Fn(u64, u64) -> u64) -> Self {
        let mut out = self;
        for lane in 0..WIDTH {
            out.0[lane] = map(self.0[lane], other.0[lane]);
        }
        out
    }
}

impl Mask for LaneMask {
    const ALL: Self = Self([u64::MAX; WIDTH]);
    const NONE: Self = Self([0; WIDTH]);
    #[inline(always)]
    fn and(self, other: Self) -> Self {
        self.join(other, |a, b| a & b)
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        self.join(other, |a, b| a | b)
    }
    #[inline(always)]
    fn not(self) -> Self {
        self.join(self, |a, _| !a)
    }
    #[inline(always)]
    fn any(self) -> bool {
        self.0.into_iter().fold(0, |all, lane| all | lane) != 0
    }
    #[inline(always)]
    fn has(self, lane: usize) -> bool {
        self.0[lane] != 0
    }
    #[inline(always)]
    fn with(mut self, lane: usize) -> Self {
        self.0[lane] = u64::MAX;
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::power;

    /// Numbers of all sizes and signs, with those that are none.
    fn numbers() -> Vec<f64> {
        let mut numbers = vec![0.0, -0.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1.0];
        let mut seed = 1_u64;
        while numbers.len() < 4000 {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let mantissa = (seed >> 11) as f64 / 9.0e15 - 0.5;
            numbers.push(mantissa * power(10_f64, (seed % 37) as f64 - 18.0));
        }
        numbers
    }

    fn same(a: f64, b: f64) -> bool {
        a.to_bits() == b.to_bits() || (a.is_nan() && b.is_nan())
    }

    #[test]
    fn every_lane_of_every_operation_has_the_bits_of_the_number_alone() {
        fn all<R: Real>(a: R, b: R) -> Vec<R> {
            vec![
                a + b,
                a - b,
                a * b,
                a / b,
                a + 0.3,
                a - 0.3,
                a * 0.3,
                a / 0.3,
                -a,
                a.abs().sqrt(),
                a.cbrt(),
                a.abs().inverse_fourth_root(),
                a.abs().inverse_twenty_fourth_root(),
                a.abs().inverse_fortieth_root(),
                (a * 1e-3).exp(),
                a.abs().ln(),
                a.abs().powf(0.65),
                a.abs().powf(-0.175),
                a.max(b),
                a.min(b),
                a.where_positive(b, a * 2.0),
                R::select(a.at_most(b), a, b * 3.0),
                R::select(a.finite(), a, b),
                super::super::smoothstep(a),
            ]
        }
        let numbers = numbers();
        for (index, chunk) in numbers.chunks_exact(WIDTH).enumerate() {
            let other = |lane: usize| numbers[(index * 31 + lane * 7) % numbers.len()];
            let a = Lanes::from_lanes(|lane| chunk[lane]);
            let b = Lanes::from_lanes(other);
            let together = all(a, b);
            for lane in 0..WIDTH {
                for (at, alone) in all(chunk[lane], other(lane)).into_iter().enumerate() {
                    let found = together[at].lane(lane);
                    assert!(
                        same(found, alone),
                        "operation {at} of {}: {found:e}",
                        chunk[lane]
                    );
                }
            }
        }
    }

    #[test]
    fn masks_pick_their_lanes_and_the_largest_shows_what_is_no_number() {
        let some = LaneMask::NONE.with(2).with(5);
        let picked = Lanes::select(some, Lanes::splat(1.0), Lanes::splat(0.0));
        assert!((0..WIDTH).all(|lane| (picked.lane(lane) > 0.5) == some.has(lane)));
        assert!(some.any() && !some.and(some.not()).any() && some.or(some.not()) == LaneMask::ALL);
        let mut numbers = Lanes::splat(3.0);
        numbers.set_lane(4, 7.0);
        assert!((numbers.largest() - 7.0).abs() < 1e-15);
        numbers.set_lane(1, f64::NAN);
        assert!(numbers.largest().is_nan());
    }
}
