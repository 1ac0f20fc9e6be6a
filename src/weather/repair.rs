//! Gaps: what is bridged, what is taken from neighbouring days, and what is refused.
//!
//! * up to 3 h: a straight line (radiation of the sun: the clearness of the sky is bridged);
//! * up to 24 h: the same hours of the day before and the day after, blended across the gap;
//! * longer: a hole, which is not simulated. Pressure varies little and is bridged over any gap;
//!   infrared, direct, diffuse and albedo are derived from the others as if they had no column.
//!
//! The limits are common practice, no source.

use super::grid::Grid;
use super::raw::civil_time;
use super::record::Hole;
use super::solar::Site;
use super::{Notice, Quantity};

/// Longest gap bridged by a straight line, s.
const BRIDGED_S: i64 = 3 * 3600;
/// Longest gap filled from neighbouring days, s.
const FROM_NEIGHBOURS_S: i64 = 24 * 3600;
/// Below this mean sine of the sun's elevation clearness says nothing of its own (about 1.1°).
const LOW_SUN: f64 = 0.02;

#[derive(Debug, Default, Clone, Copy)]
struct Tally {
    bridged: (usize, usize),
    neighbours: (usize, usize),
}

/// Fills the gaps of every quantity that has any value; returns the holes that are left.
pub(super) fn fill(grid: &mut Grid, site: &Site, notices: &mut Vec<Notice>) -> Vec<Hole> {
    let mut holes = Vec::new();
    let per_day = usize::try_from(86_400 / grid.step_s).unwrap_or(24);
    for (q, quantity) in Quantity::ALL.into_iter().enumerate() {
        if quantity == Quantity::RelativeHumidity
            || grid.values[q].iter().all(|value| value.is_nan())
            || !grid.values[q].iter().any(|value| value.is_nan())
        {
            continue;
        }
        let bridge_s = if quantity == Quantity::Pressure {
            i64::MAX
        } else {
            BRIDGED_S
        };
        let limits = (bridge_s / grid.step_s, FROM_NEIGHBOURS_S / grid.step_s);
        let mut tally = Tally::default();
        let light = matches!(
            quantity,
            Quantity::Global | Quantity::DirectNormal | Quantity::Diffuse
        )
        .then(|| light_outside(grid, quantity, site));
        let left = match light {
            Some(light) => {
                let column = &mut grid.values[q];
                through_clearness(column, &light, limits, per_day, &mut tally)
            }
            None => bridge(&mut grid.values[q], limits, per_day, &mut tally),
        };
        if quantity == Quantity::WindDirection {
            bridge(
                &mut grid.wind_cosine,
                limits,
                per_day,
                &mut Tally::default(),
            );
        }
        let Tally {
            bridged,
            neighbours,
        } = tally;
        if bridged.0 > 0 {
            let (gaps, values) = bridged;
            notices.push(Notice::GapsBridged {
                quantity,
                gaps,
                values,
            });
        }
        if neighbours.0 > 0 {
            let (gaps, values) = neighbours;
            notices.push(Notice::GapsFromNeighbourDays {
                quantity,
                gaps,
                values,
            });
        }
        if is_derived_where_missing(grid, quantity) {
            continue;
        }
        for (from, to) in left {
            // A reading at an end is missing to the intervals on both of its sides.
            let first = if quantity.is_of_air() {
                from.saturating_sub(1)
            } else {
                from
            };
            let end = to.min(grid.intervals);
            let at =
                |i: usize| civil_time(grid.start_s + i64::try_from(i).unwrap_or(0) * grid.step_s);
            notices.push(Notice::Hole {
                from: at(first),
                to: at(end),
                quantity,
            });
            holes.push(Hole {
                first,
                end,
                quantity,
            });
        }
    }
    holes
}

/// Whether long gaps of a quantity are filled later with what the others tell.
fn is_derived_where_missing(grid: &Grid, quantity: Quantity) -> bool {
    match quantity {
        Quantity::Albedo | Quantity::InfraredDown | Quantity::DirectNormal | Quantity::Diffuse => {
            true
        }
        // Cloud cover matters where global is derived from it.
        Quantity::CloudCover => grid.values[Quantity::Global as usize]
            .iter()
            .any(|x| !x.is_nan()),
        _ => false,
    }
}

/// What clearness is measured against, interval by interval: the mean sine of the sun's
/// elevation, or for light on a plane that faces the sun the share of time with sun.
fn light_outside(grid: &Grid, quantity: Quantity, site: &Site) -> Vec<f64> {
    let mut at_s = grid.start_s;
    let mut light = Vec::with_capacity(grid.intervals);
    for _ in 0..grid.intervals {
        let to_s = at_s + grid.step_s;
        let sine = site.mean_sine_elevation(at_s, to_s);
        light.push(if quantity == Quantity::DirectNormal && sine > LOW_SUN {
            site.share_with_sun(at_s, to_s)
        } else {
            sine
        });
        at_s = to_s;
    }
    light
}

/// Fills gaps of radiation by way of clearness; night is never a gap.
fn through_clearness(
    column: &mut [f64],
    light: &[f64],
    limits: (i64, i64),
    per_day: usize,
    tally: &mut Tally,
) -> Vec<(usize, usize)> {
    let missing: Vec<bool> = column.iter().map(|value| value.is_nan()).collect();
    let mut clearness: Vec<f64> = column
        .iter()
        .zip(light)
        .map(|(&value, &light)| {
            if light > LOW_SUN {
                value / light
            } else {
                f64::NAN
            }
        })
        .collect();
    // Night and low sun hold the clearness of the nearest daylight, unless that is missing too.
    let mut carried = f64::NAN;
    for i in 0..clearness.len() {
        if light[i] > LOW_SUN {
            carried = clearness[i];
        } else {
            clearness[i] = carried;
        }
    }
    carried = f64::NAN;
    for i in (0..clearness.len()).rev() {
        if light[i] > LOW_SUN {
            carried = clearness[i];
        } else if clearness[i].is_nan() {
            clearness[i] = carried;
        }
    }
    if clearness.iter().all(|value| value.is_nan()) {
        clearness.fill(0.0);
    }
    let mut inner = Tally::default();
    let left = bridge(&mut clearness, limits, per_day, &mut inner);
    tally.bridged.0 += inner.bridged.0;
    tally.neighbours.0 += inner.neighbours.0;
    for (i, value) in column.iter_mut().enumerate() {
        if missing[i] {
            *value = clearness[i] * light[i];
            if light[i] <= 0.0 {
                *value = 0.0;
            }
        }
    }
    let filled = missing
        .iter()
        .zip(light)
        .filter(|(m, l)| **m && **l > LOW_SUN)
        .count();
    if inner.neighbours.0 > 0 {
        tally.neighbours.1 += filled;
    } else {
        tally.bridged.1 += filled;
    }
    left
}

/// Fills gaps of a column; returns those that are too long as half-open spans.
fn bridge(
    column: &mut [f64],
    (bridged, from_neighbours): (i64, i64),
    per_day: usize,
    tally: &mut Tally,
) -> Vec<(usize, usize)> {
    let mut left = Vec::new();
    let original = column.to_vec();
    let mut i = 0;
    while i < column.len() {
        if !column[i].is_nan() {
            i += 1;
            continue;
        }
        let from = i;
        while i < column.len() && column[i].is_nan() {
            i += 1;
        }
        let length = i - from;
        let before = from.checked_sub(1).map(|j| original[j]);
        let after = original.get(i).copied();
        let steps = i64::try_from(length).unwrap_or(i64::MAX);
        if steps <= bridged
            && let Some((low, high)) = match (before, after) {
                (Some(low), Some(high)) => Some((low, high)),
                (Some(only), None) | (None, Some(only)) => Some((only, only)),
                (None, None) => None,
            }
        {
            for (n, value) in column[from..i].iter_mut().enumerate() {
                let share = (n + 1) as f64 / (length + 1) as f64;
                *value = low + share * (high - low);
            }
            tally.bridged.0 += 1;
            tally.bridged.1 += length;
        } else if steps <= from_neighbours
            && let Some(filled) = neighbour_days(&original, from, length, per_day)
        {
            column[from..i].copy_from_slice(&filled);
            tally.neighbours.0 += 1;
            tally.neighbours.1 += length;
        } else {
            left.push((from, i));
        }
    }
    left
}

/// The same hours of the day before fading into those of the day after; one of them alone if the
/// other is missing.
fn neighbour_days(column: &[f64], from: usize, length: usize, per_day: usize) -> Option<Vec<f64>> {
    (0..length)
        .map(|n| {
            let before = (from + n)
                .checked_sub(per_day)
                .map_or(f64::NAN, |j| column[j]);
            let after = column.get(from + n + per_day).copied().unwrap_or(f64::NAN);
            let share = (n + 1) as f64 / (length + 1) as f64;
            match (before.is_nan(), after.is_nan()) {
                (false, false) => Some(before + share * (after - before)),
                (false, true) => Some(before),
                (true, false) => Some(after),
                (true, true) => None,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: (i64, i64) = (3, 24);

    #[test]
    fn three_hours_are_bridged_by_a_straight_line() {
        let mut column = vec![0.0, f64::NAN, f64::NAN, f64::NAN, 8.0];
        let mut tally = Tally::default();
        assert!(bridge(&mut column, LIMITS, 24, &mut tally).is_empty());
        assert_eq!(column, [0.0, 2.0, 4.0, 6.0, 8.0]);
        assert_eq!(tally.bridged, (1, 3));
    }

    #[test]
    fn a_day_is_taken_from_its_neighbours_and_a_longer_gap_is_left() {
        let hour = |i: usize| (i % 24) as f64;
        let mut column: Vec<f64> = (0..96).map(hour).collect();
        column[30..50].fill(f64::NAN);
        let mut tally = Tally::default();
        assert!(bridge(&mut column, LIMITS, 24, &mut tally).is_empty());
        assert!((30..50).all(|i| (column[i] - hour(i)).abs() < 1e-12));
        assert_eq!(tally.neighbours, (1, 20));

        column[30..60].fill(f64::NAN);
        assert_eq!(bridge(&mut column, LIMITS, 24, &mut tally), [(30, 60)]);
        assert!(column[30..60].iter().all(|value| value.is_nan()));
    }

    #[test]
    fn radiation_is_bridged_by_clearness_and_night_is_no_gap() {
        let light = [0.0, 0.0, 0.2, 0.4, 0.6, 0.4, 0.2, 0.0, 0.0];
        let mut column: Vec<f64> = light.iter().map(|l| 1000.0 * l).collect();
        for i in [0, 1, 4, 7] {
            column[i] = f64::NAN;
        }
        let mut tally = Tally::default();
        assert!(through_clearness(&mut column, &light, LIMITS, 24, &mut tally).is_empty());
        for (value, light) in column.iter().zip(light) {
            assert!((value - 1000.0 * light).abs() < 1e-9, "{column:?}");
        }
    }
}
