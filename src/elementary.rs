//! Elementary functions whose last bits are the same on any processor.
//!
//! The system's own library chooses its code by what the processor offers (fused multiply-adds, wide
//! registers), and so its last bits differ from machine to machine. Everything that feeds a result
//! takes its functions from here instead; `.clippy.toml` bars the others.
//!
//! Cube root, roots of powers of two, exponential, logarithm and power are additions,
//! multiplications and divisions alone, which also lets lanes take them, and they are quicker.
//! Arguments are ordinary numbers: what is not finite, or too small to be normal, gives something
//! harmless and not what the standard for such numbers asks for. The others are those of `libm`,
//! which takes from the processor only what is exact (square roots, rounding, a fused multiply-add
//! where it asks for one, worked out in whole numbers where there is none).

pub(crate) use libm::{
    acos, asin, atan, atan2, cos, cosh, hypot, log10, sin, sincos as sin_cos, sinh, tan,
};

/// Cube root, odd; within 3 units in the last place.
///
/// The inverse root from the exponent's bits to a few percent (the trick of dividing the bit
/// pattern by three, Kahan 1991; constant of Moroz, Samotyy & Walczyk 2021; both from memory),
/// then two steps of fourth order, which need no division.
#[inline(always)]
pub(crate) fn cbrt(x: f64) -> f64 {
    const INVERSE_ROOT_BITS: u64 = 0x553e_f0ff_289d_d796;
    let size = x.abs();
    // A third of the upper half alone, which is enough: lanes have no division of whole numbers.
    let third = ((size.to_bits() >> 32) * 0x5555_5556) & 0xffff_ffff_0000_0000;
    let mut y = f64::from_bits(INVERSE_ROOT_BITS.wrapping_sub(third));
    for _ in 0..2 {
        let e = 1.0 - size * y * (y * y);
        y += y * (e * (1.0 / 3.0 + e * (2.0 / 9.0 + e * (14.0 / 81.0))));
    }
    x * (y * y)
}

/// `x^(−1/4)` of a positive number, within 3 units in the last place.
///
/// As above: the exponent's bits over four (constant found by trying), then two steps of fourth order.
#[inline(always)]
pub(crate) fn inverse_fourth_root(x: f64) -> f64 {
    const INVERSE_ROOT_BITS: u64 = 0x4feb_020c_49ba_5e36;
    let mut y = f64::from_bits(INVERSE_ROOT_BITS.wrapping_sub(x.to_bits() >> 2));
    for _ in 0..2 {
        let square = y * y;
        let e = 1.0 - x * (square * square);
        y += y * (e * (1.0 / 4.0 + e * (5.0 / 32.0 + e * (15.0 / 128.0))));
    }
    y
}

/// `x^(−1/24)` of a positive number, within 2 units in the last place: its powers times `x` are the
/// fourth, sixth and square root of what `x` is the square of.
///
/// From [`near_inverse_root`] one step by the binomial series of `(1 − e)^(−1/24)`, whose coefficients
/// are evened out (Chebyshev) over `|e| < 0.034`, all that is left of `e` there.
#[inline(always)]
pub(crate) fn inverse_twenty_fourth_root(x: f64) -> f64 {
    let y = near_inverse_root(x, 24.0);
    let y2 = y * y;
    let y4 = y2 * y2;
    let y8 = y4 * y4;
    let e = 1.0 - x * ((y8 * y8) * y8);
    let last =
        9.078_055_090_566_346e-3 + e * (7.639_832_801_972_558e-3 + e * 6.595_760_345_191_665e-3);
    let series = 1.476_900_077_360_872_8e-2 + e * (1.123_058_754_971_316_5e-2 + e * last);
    y + y * (e * (4.166_666_666_666_588e-2 + e * (2.170_138_888_986_981e-2 + e * series)))
}

/// `x^(−1/40)` of a positive number, within 2 units in the last place; its seventh power is that of the
/// law of most leaks.
///
/// As above with `(1 − e)^(−1/40)`.
#[inline(always)]
pub(crate) fn inverse_fortieth_root(x: f64) -> f64 {
    let y = near_inverse_root(x, 40.0);
    let y2 = y * y;
    let y4 = y2 * y2;
    let y8 = y4 * y4;
    let y16 = y8 * y8;
    let e = 1.0 - x * ((y16 * y16) * y8);
    let last = 5.265_001_618_986_39e-3
        + e * (4.409_436_960_736_409e-3
            + e * (3.802_150_314_898_331e-3 + e * 3.339_708_046_819_068_4e-3));
    let series = 8.648_437_501_149_97e-3 + e * (6.540_380_861_321_377e-3 + e * last);
    y + y * (e * (2.499_999_999_999_996e-2 + e * (1.281_249_999_999_983_1e-2 + e * series)))
}

/// `x^(−1/n)` of a positive number, so near that `|1 − x yⁿ| < 0.034` for n to 40.
///
/// The exponent's and mantissa's bits, taken as a straight line between powers of two, are the logarithm
/// to within 0.043 of its middle; a cubic gives the power of two of its n-th part to 0.008 %.
#[inline(always)]
fn near_inverse_root(x: f64, n: f64) -> f64 {
    /// With a whole number in its low bits, and what it is then less that number.
    const WHOLE_BITS: u64 = 0x4330_0000_0000_0000;
    const WHOLE: f64 = 4_503_599_627_370_496.0;
    /// Steps of the upper half of a number from one power of two to the next.
    const PER_POWER: f64 = 1_048_576.0;
    /// The bias of the exponent less half of what the line is at most below the logarithm.
    const BIAS: f64 = 1023.0 - 0.043;
    let upper = f64::from_bits((x.to_bits() >> 32) | WHOLE_BITS) - WHOLE;
    let power = BIAS / n - upper * (1.0 / (PER_POWER * n));
    let shifted = power + ROUNDER;
    let r = power - (shifted - ROUNDER);
    let y = 0.999_928_073 + r * (0.693_260_994_7 + r * (0.242_611_132_9 + r * 0.055_171_603_5));
    f64::from_bits(y.to_bits().wrapping_add(shifted.to_bits() << 52))
}

/// Added and taken away again, it rounds to a whole number, which is then in the low bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0;

/// High and low part of the logarithm of 2.
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// Natural exponential within 1e-15; held at the ends of its range, ±708.
///
/// Method and coefficients: `e_exp.c` of FreeBSD's msun (Sun Microsystems 1993).
#[inline(always)]
pub(crate) fn exp(x: f64) -> f64 {
    let x = if x > 708.0 { 708.0 } else { x };
    let x = if x < -708.0 { -708.0 } else { x };
    let shifted = x * std::f64::consts::LOG2_E + ROUNDER;
    let k = shifted - ROUNDER;
    let high = x - k * LN_2_HIGH;
    let low = k * LN_2_LOW;
    let r = high - low;
    let z = r * r;
    let c = r - z
        * (1.666_666_666_666_660_2e-1
            + z * (-2.777_777_777_701_559_3e-3
                + z * (6.613_756_321_437_934e-5
                    + z * (-1.653_390_220_546_525_2e-6 + z * 4.138_136_797_057_238_5e-8))));
    let y = 1.0 - ((low - r * c / (2.0 - c)) - high);
    // The low bits of the shifted number are k.
    f64::from_bits(y.to_bits().wrapping_add(shifted.to_bits() << 52))
}

/// Natural logarithm of a positive number, within 1e-15 of it or of 1; NaN below zero and about
/// −709 at zero.
///
/// Method and coefficients: `e_log.c` of FreeBSD's msun (Sun Microsystems 1993).
#[inline(always)]
pub(crate) fn ln(x: f64) -> f64 {
    /// Bits of √½: the mantissa is taken between that and √2.
    const ROOT_HALF_BITS: u64 = 0x3fe6_a09e_667f_3bcd;
    let above = x.to_bits().wrapping_sub(ROOT_HALF_BITS);
    #[expect(clippy::cast_possible_wrap, reason = "the sign of the exponent")]
    let exponent = (above as i64) >> 52;
    let mantissa = f64::from_bits((above & 0x000f_ffff_ffff_ffff).wrapping_add(ROOT_HALF_BITS));
    let k = f64::from(exponent as i32);
    let f = mantissa - 1.0;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let odd = w
        * (3.999_999_999_940_942e-1
            + w * (2.222_219_843_214_978_4e-1 + w * 1.531_383_769_920_937_3e-1));
    let even = z
        * (6.666_666_666_666_735e-1
            + w * (2.857_142_874_366_239e-1
                + w * (1.818_357_216_161_805e-1 + w * 1.479_819_860_511_658_6e-1)));
    let half = 0.5 * f * f;
    let sum = k * LN_2_HIGH + (f - (half - (s * (half + odd + even) + k * LN_2_LOW)));
    if x >= 0.0 { sum } else { f64::NAN }
}

/// A number that is not negative to a power, within 1e-14 for ordinary ones; next to nothing where
/// zero is raised to a power above zero.
#[inline(always)]
pub(crate) fn power(x: f64, exponent: f64) -> f64 {
    exp(ln(x) * exponent)
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "what they are compared with")]
mod tests {
    use super::*;

    fn numbers() -> impl Iterator<Item = f64> {
        (0..40_000).map(|step| 10_f64.powf(f64::from(step) * 6e-4 - 12.0) * 1.000_37)
    }

    #[test]
    fn each_agrees_with_the_standard_library() {
        for x in numbers() {
            let off = (cbrt(x) / x.cbrt() - 1.0).abs();
            assert!(off < 8e-16, "cube root of {x:e}: {off:e}");
            let off = (inverse_fourth_root(x) * x.sqrt().sqrt() - 1.0).abs();
            assert!(off < 8e-16, "inverse fourth root of {x:e}: {off:e}");
            let off = (inverse_twenty_fourth_root(x) / x.powf(-1.0 / 24.0) - 1.0).abs();
            assert!(off < 6e-16, "inverse 24th root of {x:e}: {off:e}");
            let off = (inverse_fortieth_root(x) / x.powf(-1.0 / 40.0) - 1.0).abs();
            assert!(off < 6e-16, "inverse fortieth root of {x:e}: {off:e}");
            let off = (ln(x) - x.ln()).abs();
            assert!(off < 3e-16 * x.ln().abs().max(1.0), "log of {x:e}: {off:e}");
            for exponent in [0.8, 0.6, 0.65, -0.175, -1.36] {
                let off = (power(x, exponent) / x.powf(exponent) - 1.0).abs();
                assert!(off < 1e-14, "{x:e} to {exponent}: {off:e}");
            }
        }
        for step in -60_000..60_000 {
            let x = f64::from(step) * 0.011_3;
            let off = (exp(x) / x.exp() - 1.0).abs();
            assert!(off < 5e-16, "exponential of {x}: {off:e}");
        }
    }

    #[test]
    fn nothing_and_what_is_no_number_stay_so() {
        assert!(cbrt(0.0) == 0.0 && (cbrt(-27.0) + 3.0).abs() < 1e-14);
        assert!(power(0.0, 0.6) < 1e-100 && power(0.0, 0.6) >= 0.0);
        assert!(ln(-1.0).is_nan());
        for function in [cbrt, exp, ln] {
            assert!(function(f64::NAN).is_nan());
        }
    }

    #[test]
    fn powers_of_ten_have_whole_logarithms() {
        for power in -300..=300 {
            let x: f64 = format!("1e{power}").parse().unwrap();
            assert_eq!(log10(x).to_bits(), f64::from(power).to_bits(), "1e{power}");
        }
    }

    #[test]
    fn those_of_angles_and_sides_agree_with_the_standard_library() {
        for step in -4000..4000 {
            let x = f64::from(step) * 0.003_7;
            let near = |got: f64, want: f64| {
                let off = (got - want).abs();
                assert!(off <= 4e-16 * want.abs().max(1e-3), "{x}: {got} for {want}");
            };
            near(sin(x), x.sin());
            near(cos(x), x.cos());
            near(tan(x), x.tan());
            near(atan(x), x.atan());
            near(atan2(x, 0.7), x.atan2(0.7));
            near(hypot(x, 0.7), x.hypot(0.7));
            near(sinh(x), x.sinh());
            near(cosh(x), x.cosh());
            let share = f64::from(step) / 4000.0;
            near(asin(share), share.asin());
            near(acos(share), share.acos());
            assert_eq!(sin_cos(x), (sin(x), cos(x)));
        }
    }
}
