//! Points spread evenly over a cube, each worked out from its number alone.

use crate::elementary::{cos, ln};

/// Most axes that Sobol points are tabled for here.
pub const SOBOL_AXES: usize = 21;

/// A primitive polynomial and first direction numbers of a dimension.
struct Directions {
    degree: u32,
    coefficients: u32,
    first: &'static [u32],
}

/// Dimensions from the second on; the first needs none.
///
/// Source: Joe and Kuo (2008), the table of their criterion D(6); from memory, and held to its
/// property by the tests: any 2^k points in line put one into each of 2^k slices of every axis.
const DIRECTIONS: [Directions; SOBOL_AXES - 1] = [
    dimension(1, 0, &[1]),
    dimension(2, 1, &[1, 3]),
    dimension(3, 1, &[1, 3, 1]),
    dimension(3, 2, &[1, 1, 1]),
    dimension(4, 1, &[1, 1, 3, 3]),
    dimension(4, 4, &[1, 3, 5, 13]),
    dimension(5, 2, &[1, 1, 5, 5, 17]),
    dimension(5, 4, &[1, 1, 5, 5, 5]),
    dimension(5, 7, &[1, 1, 7, 11, 19]),
    dimension(5, 11, &[1, 1, 5, 1, 1]),
    dimension(5, 13, &[1, 1, 1, 3, 11]),
    dimension(5, 14, &[1, 3, 5, 5, 31]),
    dimension(6, 1, &[1, 3, 3, 9, 7, 49]),
    dimension(6, 13, &[1, 1, 1, 15, 21, 21]),
    dimension(6, 16, &[1, 3, 1, 13, 27, 49]),
    dimension(6, 19, &[1, 1, 1, 15, 7, 5]),
    dimension(6, 22, &[1, 3, 1, 15, 13, 25]),
    dimension(6, 25, &[1, 1, 5, 5, 19, 61]),
    dimension(7, 1, &[1, 3, 7, 11, 23, 15, 103]),
    dimension(7, 4, &[1, 3, 7, 13, 13, 15, 69]),
];

const fn dimension(degree: u32, coefficients: u32, first: &'static [u32]) -> Directions {
    Directions {
        degree,
        coefficients,
        first,
    }
}

/// Bits of a Sobol point.
const BITS: usize = 32;

/// Coordinate in 0 to 1 of a Sobol point on an axis, shifted by the seed (a shift of the binary
/// digits, which keeps the points as even as they were). Source: Sobol (1967).
///
/// Axes from [`SOBOL_AXES`] on, and points from 2³² on, repeat.
pub(super) fn sobol(row: u64, axis: usize, seed: u64) -> f64 {
    let axis = axis % SOBOL_AXES;
    let numbers = direction_numbers(axis);
    let mut point = 0u32;
    for (bit, number) in numbers.iter().enumerate() {
        if row >> bit & 1 == 1 {
            point ^= number;
        }
    }
    let [_, _, _, _, a, b, c, d] = mixed(seed ^ mixed(axis as u64 + 1)).to_be_bytes();
    point ^= u32::from_be_bytes([a, b, c, d]);
    // The middle of the point's cell.
    (f64::from(point) + 0.5) / 2f64.powi(32)
}

fn direction_numbers(axis: usize) -> [u32; BITS] {
    let mut numbers = [0u32; BITS];
    let Some(own) = axis.checked_sub(1).and_then(|at| DIRECTIONS.get(at)) else {
        for (bit, number) in numbers.iter_mut().enumerate() {
            *number = 1 << (BITS - 1 - bit);
        }
        return numbers;
    };
    let degree = own.degree as usize;
    for bit in 0..BITS {
        numbers[bit] = if let Some(first) = own.first.get(bit) {
            first << (BITS - 1 - bit)
        } else {
            let mut number = numbers[bit - degree] ^ (numbers[bit - degree] >> degree);
            for back in 1..degree {
                if own.coefficients >> (degree - 1 - back) & 1 == 1 {
                    number ^= numbers[bit - back];
                }
            }
            number
        };
    }
    numbers
}

/// Coordinate in 0 to 1 of a point of a Latin hypercube on an axis: each of `rows` slices of the
/// axis holds one point, at a random place in it. Source: McKay, Beckman and Conover (1979).
pub(in crate::study) fn latin_hypercube(row: u64, rows: u64, axis: usize, seed: u64) -> f64 {
    let key = mixed(seed ^ mixed(axis as u64 + 1));
    let slice = permuted(row, rows, key);
    let within = (mixed(key ^ mixed(row)) >> 11) as f64 / 2f64.powi(53);
    (slice as f64 + within) / rows as f64
}

/// Standard normal numbers of a row of a sample (Box & Muller 1958), spread evenly over its rows.
pub(in crate::study) fn normal([row, rows]: [u64; 2], count: usize, seed: u64) -> Vec<f64> {
    (0..count)
        .map(|at| {
            let share = |axis| latin_hypercube(row, rows, axis, seed);
            let radius = (-2.0 * ln(share(2 * at).max(1e-12))).sqrt();
            radius * cos(std::f64::consts::TAU * share(2 * at + 1))
        })
        .collect()
}

/// Rounds of the permutation; four are enough to look random, six to be sure.
const ROUNDS: u64 = 6;

/// A permutation of the numbers below `count`: a Feistel network over the next power of four, walked
/// until it comes back below `count`, so that no table is needed.
fn permuted(index: u64, count: u64, key: u64) -> u64 {
    if count <= 1 {
        return 0;
    }
    let bits = 64 - (count - 1).leading_zeros();
    let half = bits.div_ceil(2);
    let mask = (1u64 << half) - 1;
    let mut value = index;
    loop {
        let (mut left, mut right) = (value >> half, value & mask);
        for round in 0..ROUNDS {
            let turned = left ^ (mixed(right ^ key.rotate_left(8) ^ (round << 56)) & mask);
            (left, right) = (right, turned);
        }
        value = left << half | right;
        if value < count {
            return value;
        }
    }
}

/// Bits mixed so that neighbours have nothing in common: the finaliser of SplitMix64 (Steele, Lea
/// and Flood, 2014).
pub(super) fn mixed(value: u64) -> u64 {
    let mut z = value.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
mod tests {
    use super::*;

    fn slices(points: impl Iterator<Item = f64>, count: usize) -> Vec<usize> {
        let mut slices = vec![0; count];
        for point in points {
            assert!((0.0..1.0).contains(&point));
            slices[(point * count as f64) as usize] += 1;
        }
        slices
    }

    #[test]
    fn a_latin_hypercube_has_one_point_in_each_slice_of_each_axis() {
        for rows in [1, 2, 3, 10, 257, 1000] {
            for axis in 0..5 {
                let points = (0..rows).map(|row| latin_hypercube(row, rows, axis, 7));
                let slices = slices(points, rows as usize);
                assert!(slices.iter().all(|count| *count == 1), "{rows} {axis}");
            }
        }
    }

    #[test]
    fn axes_and_seeds_have_nothing_in_common() {
        let of = |axis, seed| -> Vec<f64> {
            (0..1000)
                .map(|row| latin_hypercube(row, 1000, axis, seed) - 0.5)
                .collect()
        };
        let together = |a: &[f64], b: &[f64]| {
            let sum: f64 = a.iter().zip(b).map(|(a, b)| a * b).sum();
            sum / 1000.0 * 12.0
        };
        for (a, b) in [(of(0, 1), of(1, 1)), (of(0, 1), of(0, 2))] {
            assert!(together(&a, &b).abs() < 0.1, "{}", together(&a, &b));
        }
    }

    #[test]
    fn sobol_points_fill_every_axis_evenly() {
        for axis in 0..SOBOL_AXES {
            for start in [0, 64, 4096] {
                let points = (start..start + 64).map(|row| sobol(row, axis, 3));
                assert_eq!(slices(points, 64), vec![1; 64], "{axis} {start}");
            }
        }
    }

    /// Without the seed's shift: the points that any table of the sequence starts with, and no two
    /// axes alike.
    #[test]
    fn sobol_points_start_as_published() {
        let plain = |row: u64, axis| {
            let shift = sobol(0, axis, 0) * 2f64.powi(32);
            let point = sobol(row, axis, 0) * 2f64.powi(32);
            f64::from((point as u32) ^ (shift as u32)) / 2f64.powi(32)
        };
        // In the order of counting; published tables, in Gray code's order, swap the last two.
        let first = [[0.5, 0.5, 0.5], [0.25, 0.75, 0.75], [0.75, 0.25, 0.25]];
        for (row, point) in first.iter().enumerate() {
            for (axis, value) in point.iter().enumerate() {
                let got = plain(row as u64 + 1, axis);
                assert!((got - value).abs() < 1e-9, "{row} {axis} {got}");
            }
        }
        for a in 0..SOBOL_AXES {
            for b in 0..a {
                let same = (0..256).all(|row| (plain(row, a) - plain(row, b)).abs() < 1e-12);
                assert!(!same, "{a} and {b}");
            }
        }
    }
}
