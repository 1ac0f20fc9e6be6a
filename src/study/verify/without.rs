//! What a thermometer would have read after the change without it: reading by reading, and the drop
//! of each day.

use jiff::civil::Date;

use super::days::{Column, DAY_S, FIRST_PART, HIGH, PART_H, PARTS, date, mean};
use super::drops::{Errors, variance};
use super::{Doubt, Told};

/// Readings after the change beside what the house as it was would have read then.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Without {
    /// Times, s since 1970 local standard time.
    pub times_s: Vec<i64>,
    /// What was read, K.
    pub logged_k: Vec<f64>,
    /// What the house as it was would likeliest have read, K: worked out, less what it was off at
    /// that time of the day before the change.
    pub likely_k: Vec<f64>,
    /// Limits between which nine in ten such readings would have lain, each by itself, K.
    pub limits_k: Vec<[f64; 2]>,
}

/// The drop of the high of each whole day, K; positive is lower than without the change.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ByDay {
    /// Of the days before, where nothing was changed: how far the fitted house was off that day
    /// beside its mean.
    pub before: Vec<(Date, f64)>,
    /// Of the days after, with limits for that day by itself; their mean is the drop of the highs.
    pub after: Vec<(Date, Told)>,
}

/// How far the fitted house was off before the change at a time of the day.
#[derive(Debug, Clone, Copy, Default)]
struct Off {
    /// On the mean, K.
    mean_k: f64,
    /// Deviation of one reading more from that mean, K.
    deviation_k: f64,
    /// Degrees of freedom of the deviation.
    freedom: f64,
}

/// The errors before the change of each part of the day.
fn parts_off(before: &Column) -> [Off; PARTS] {
    std::array::from_fn(|part| {
        let days: Vec<f64> = before
            .days
            .iter()
            .map(|day| day[FIRST_PART + part])
            .collect();
        let mean_k = mean(days.iter().copied());
        let errors = Errors::of(&days);
        let of_part = |at_s: &i64| part_of(*at_s) == part;
        let squares = (before.times_s.iter().zip(before.logged_k.iter()))
            .zip(before.likeliest_k())
            .filter(|((at_s, _), _)| of_part(at_s))
            .map(|((_, logged_k), worked_k)| (worked_k - logged_k - mean_k).powi(2));
        // The scatter of single readings; it cannot be less than that of the days' own means.
        let variance = mean(squares).max(errors.variance);
        Off {
            mean_k,
            deviation_k: (variance * (1.0 + 1.0 / errors.independent)).sqrt(),
            freedom: errors.freedom,
        }
    })
}

/// The part of the day that a time lies in.
fn part_of(at_s: i64) -> usize {
    usize::try_from(at_s.rem_euclid(DAY_S) / (PART_H * 3600)).unwrap_or(0)
}

/// A value at a time of the day between the middles of its parts, the last of which is followed by the
/// first.
fn between(parts: &[f64; PARTS], at_s: i64) -> f64 {
    let place = at_s.rem_euclid(DAY_S) as f64 / (PART_H * 3600) as f64 - 0.5;
    let first = place.floor();
    let share = place - first;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "from -1 to 7, and 8 more"
    )]
    let at = (first + PARTS as f64) as usize;
    parts[at % PARTS] * (1.0 - share) + parts[(at + 1) % PARTS] * share
}

/// Readings after the change beside what would have been read; `extra_k` is what the weather adds to
/// the doubt.
pub(super) fn without(before: &Column, after: &Column, extra_k: f64) -> Without {
    let off = parts_off(before);
    let each = |of: fn(&Off) -> f64| std::array::from_fn(|part| of(&off[part]));
    let mean_k = each(|one| one.mean_k);
    let deviation_k = each(|one| one.deviation_k);
    let freedom = each(|one| one.freedom);
    let own_parts: Vec<[f64; PARTS]> = before
        .runs
        .iter()
        .map(|day| std::array::from_fn(|part| day[FIRST_PART + part]))
        .collect();
    let told = after.times_s.iter().enumerate().map(|(at, at_s)| {
        // A house drawn is off before as well as after: only what it makes of the difference counts.
        let drawn = after.worked_k.iter().zip(&own_parts);
        let moved: Vec<f64> = drawn
            .filter_map(|(run, parts)| Some(run.get(at)? - between(parts, *at_s)))
            .collect();
        let doubt = Doubt {
            days_k: between(&deviation_k, *at_s),
            freedom: between(&freedom, *at_s),
            house_k: variance(&moved).sqrt(),
            weather_k: extra_k,
        };
        let worked_k = after.likeliest_k().get(at).copied().unwrap_or(f64::NAN);
        Told::of(worked_k - between(&mean_k, *at_s), &doubt)
    });
    let told: Vec<Told> = told.collect();
    Without {
        times_s: after.times_s.clone(),
        logged_k: after.logged_k.clone(),
        likely_k: told.iter().map(|one| one.value).collect(),
        limits_k: told.iter().map(|one| one.interval).collect(),
    }
}

/// The drop of each day's high.
pub(super) fn day_by_day(before: &Column, after: &Column, extra_k: f64) -> ByDay {
    let errors: Vec<f64> = before.days.iter().map(|day| day[HIGH]).collect();
    let mean_k = mean(errors.iter().copied());
    let found = Errors::of(&errors);
    let of_day = |at: usize| {
        let drawn = after.run_days.iter().zip(&before.runs);
        let moved: Vec<f64> = drawn
            .filter_map(|(days, own)| Some(days.get(at)?[HIGH] - own[HIGH]))
            .collect();
        let doubt = Doubt {
            days_k: (found.variance * (1.0 + 1.0 / found.independent)).sqrt(),
            freedom: found.freedom,
            house_k: variance(&moved).sqrt(),
            weather_k: extra_k,
        };
        Told::of(after.days[at][HIGH] - mean_k, &doubt)
    };
    let after_days = after.day_numbers.iter().enumerate();
    let before_days = before.day_numbers.iter().zip(&errors);
    ByDay {
        before: before_days
            .map(|(day, error)| (date(*day), error - mean_k))
            .collect(),
        after: after_days
            .map(|(at, day)| (date(*day), of_day(at)))
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_closes_on_itself() {
        let parts: [f64; PARTS] = std::array::from_fn(|part| part as f64);
        // Half hours of the day; at midnight half way from the last part's middle to the first's.
        for (half_hours, wanted) in [(3, 0.0), (6, 0.5), (45, 7.0), (0, 3.5), (48, 3.5)] {
            let found = between(&parts, half_hours * 1800);
            assert!((found - wanted).abs() < 1e-12, "{half_hours}: {found}");
        }
    }
}
