//! Screening one column: stuck sensors, spikes, gaps.
//!
//! The limits are common practice, no source, unless said; they are wide, since a reading that is
//! dropped wrongly costs more than one that is kept wrongly among a thousand.

use crate::weather::Quantity;

use super::description::{CEILING_FLUX, Role};
use super::notice::Notice;
use super::read::{Series, civil};

/// Time without any change after which a thermometer outdoors or in an attic is stuck, s. Under
/// fog a day may pass within half a degree.
const STUCK_S: i64 = 24 * 3600;
/// The same in rooms, which a plant may hold for days, s.
const STUCK_IN_ROOMS_S: i64 = 4 * 86_400;
/// Least jump of a spike, K.
const SPIKE_K: f64 = 6.0;
/// A spike lasts at most so many readings.
const SPIKE_READINGS: usize = 2;
/// Readings before and after a spike are at most so far apart, s.
const SPIKE_SPAN_S: i64 = 4 * 3600;
/// A gap is longer than this and than three steps, s.
const GAP_S: i64 = 3 * 3600;

/// Range outside of which a reading is not believed, SI.
pub(super) fn believable(role: &Role) -> (f64, f64) {
    match role {
        Role::Outdoors(quantity) => quantity.believable(),
        Role::Inside(name) if name == CEILING_FLUX => (-200.0, 200.0),
        // Loggers fail above 85 °C; a dark covering reaches 90 °C.
        Role::Inside(_) => (213.0, 373.0),
    }
}

/// Drops what is not believed of a column.
pub(super) fn screen(mut series: Series, step_s: i64, notices: &mut Vec<Notice>) -> Series {
    if series.role.is_temperature() {
        drop_stuck(&mut series, step_s, notices);
        drop_spikes(&mut series, notices);
    }
    tell_gaps(&series, step_s, notices);
    series
}

fn keep(series: &mut Series, bad: &[bool]) {
    let mut flags = bad.iter();
    series
        .times_s
        .retain(|_| !flags.next().copied().unwrap_or(false));
    let mut flags = bad.iter();
    series
        .values
        .retain(|_| !flags.next().copied().unwrap_or(false));
}

fn drop_stuck(series: &mut Series, step_s: i64, notices: &mut Vec<Notice>) {
    let limit_s = match &series.role {
        Role::Inside(name) if is_of_rooms(name) => STUCK_IN_ROOMS_S,
        _ => STUCK_S,
    };
    let mut bad = vec![false; series.values.len()];
    let (mut from, mut longest_s, mut first) = (0, 0, None);
    for i in 1..=series.values.len() {
        let goes_on = i < series.values.len()
            && (series.values[i] - series.values[from]).abs() < 1e-9
            && series.times_s[i] - series.times_s[i - 1] <= 3 * step_s;
        if goes_on {
            continue;
        }
        let lasted_s = series.times_s[i - 1] - series.times_s[from];
        if lasted_s >= limit_s {
            bad[from..i].fill(true);
            first.get_or_insert(series.times_s[from]);
            longest_s = longest_s.max(lasted_s);
        }
        from = i;
    }
    if let Some(first_s) = first {
        notices.push(Notice::Stuck {
            role: series.role.clone(),
            values: bad.iter().filter(|bad| **bad).count(),
            from: civil(first_s),
            longest_h: longest_s as f64 / 3600.0,
        });
        keep(series, &bad);
    }
}

/// Whether a name of the results is one of the rooms.
pub(super) fn is_of_rooms(name: &str) -> bool {
    matches!(name, "living_air" | "rooms" | "ceiling_underside")
}

/// A spike stands away from what is before and after it by the same sign, by more than those
/// differ, and comes back within a few readings.
fn drop_spikes(series: &mut Series, notices: &mut Vec<Notice>) {
    let (times, values) = (&series.times_s, &series.values);
    let count = values.len();
    let mut bad = vec![false; count];
    let mut at = 1;
    while at + 1 < count {
        let spike = (1..=SPIKE_READINGS).find(|length| {
            let Some(after) = values.get(at + length) else {
                return false;
            };
            let before = values[at - 1];
            let inside = &values[at..at + length];
            let limit = SPIKE_K + 2.0 * (after - before).abs();
            let away = |sign: f64| {
                let beyond =
                    |value: &f64| sign * (value - before) > limit && sign * (value - after) > limit;
                inside.iter().all(beyond)
            };
            times[at + length] - times[at - 1] <= SPIKE_SPAN_S && (away(1.0) || away(-1.0))
        });
        if let Some(length) = spike {
            bad[at..at + length].fill(true);
            at += length;
        }
        at += 1;
    }
    if let Some(first) = bad.iter().position(|bad| *bad) {
        notices.push(Notice::Spikes {
            role: series.role.clone(),
            values: bad.iter().filter(|bad| **bad).count(),
            first: civil(times[first]),
        });
        keep(series, &bad);
    }
}

fn tell_gaps(series: &Series, step_s: i64, notices: &mut Vec<Notice>) {
    let limit_s = GAP_S.max(3 * step_s);
    let steps = series.times_s.windows(2).map(|pair| pair[1] - pair[0]);
    let gaps: Vec<i64> = steps.filter(|gap_s| *gap_s > limit_s).collect();
    if let Some(longest_s) = gaps.iter().max() {
        notices.push(Notice::Gaps {
            role: series.role.clone(),
            gaps: gaps.len(),
            longest_h: *longest_s as f64 / 3600.0,
        });
    }
}

/// Whether a quantity can be taken between readings along a straight line.
pub(super) fn is_smooth(quantity: Quantity) -> bool {
    !matches!(
        quantity,
        Quantity::WindDirection | Quantity::Global | Quantity::DirectNormal | Quantity::Diffuse
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::sin;

    fn attic(values: Vec<f64>) -> Series {
        Series {
            role: Role::Inside("attic_air".to_owned()),
            times_s: (0..values.len())
                .map(|i| 3600 * i64::try_from(i).unwrap())
                .collect(),
            values,
        }
    }

    #[test]
    fn a_spike_goes_and_a_sharp_noon_stays() {
        let mut values: Vec<f64> = [290.0, 292.0, 299.0, 307.0, 301.0, 293.0, 290.0].repeat(4);
        let mut notices = Vec::new();
        let kept = screen(attic(values.clone()), 3600, &mut notices);
        assert_eq!((kept.values.len(), notices.len()), (28, 0));
        values[8] = 340.0;
        values[15] = 240.0;
        values[16] = 241.0;
        let kept = screen(attic(values), 3600, &mut notices);
        assert_eq!(kept.values.len(), 25);
        assert!(
            matches!(notices[0], Notice::Spikes { values: 3, .. }),
            "{notices:?}"
        );
    }

    #[test]
    fn a_stuck_sensor_is_dropped_while_it_is_stuck() {
        let swing = |i: usize| 290.0 + sin(i as f64 * 0.26);
        let mut values: Vec<f64> = (0..100).map(swing).collect();
        values[40..80].fill(285.0);
        let mut notices = Vec::new();
        let kept = screen(attic(values), 3600, &mut notices);
        assert_eq!(kept.values.len(), 60);
        assert!(
            matches!(notices[0], Notice::Stuck { values: 40, .. }),
            "{notices:?}"
        );
        assert!(
            matches!(notices[1], Notice::Gaps { gaps: 1, .. }),
            "{notices:?}"
        );
    }
}
