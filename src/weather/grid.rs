//! From rows to a regular series, and from there to the steps that the engine uses.

use crate::elementary::{cos, sin};

use super::column_map::{Readings, Stamp};
use super::problem::{Problem, Problems};
use super::raw::{QUANTITIES, Raw, Row, civil_time, midnight};
use super::solar::Site;
use super::{Kind, Notice, Quantity, TYPICAL_YEAR};

/// Rows brought to a regular step, whatever its length and phase.
#[derive(Debug)]
pub(super) struct Series {
    /// Start of the interval of entry 0, s since 1970 local standard time.
    pub(super) first_s: i64,
    pub(super) step_s: i64,
    /// From the start of an interval to the instant of the readings of the air, s.
    readings_after_s: i64,
    values: [Vec<f64>; QUANTITIES],
}

/// The steps that the engine uses, s.
const STEPS: [i64; 3] = [900, 1800, 3600];
/// A jump by more than this is taken as a wrong date, s.
const FARTHEST_JUMP_S: i64 = 400 * 86_400;
/// Steps that a short file may leave open.
const SPARE_SLOTS: i64 = 20_000;
const YEAR_S: i64 = 365 * 86_400;

/// Brings the rows to a regular step; what does not fit is a problem.
pub(super) fn regular(raw: &mut Raw, problems: &mut Problems) -> Option<Series> {
    if raw.rows.len() < 2 {
        problems.push(Problem::TooFewRows {
            rows: raw.rows.len(),
        });
        return None;
    }
    let step_s = common_step(&raw.rows);
    if !(1..=3600).contains(&step_s) || 3600 % step_s != 0 {
        problems.push(Problem::Step { step_s });
        return None;
    }
    // From the stamp to the start of the interval.
    let to_start_s = match (raw.radiation_offset_s, raw.stamp) {
        (Some(offset_s), _) => offset_s - step_s / 2,
        (None, Stamp::Start) => 0,
        (None, Stamp::Middle) => -step_s / 2,
        (None, Stamp::End) => -step_s,
    };
    let readings_after_s = match raw.readings {
        Readings::AtStamp => -to_start_s,
        Readings::Mean => step_s / 2,
    };
    for row in &mut raw.rows {
        row.at_s += to_start_s;
    }
    if raw.kind == Kind::Typical {
        show_as_one_year(raw, step_s);
    }
    let rows = in_order(&raw.rows, step_s, to_start_s, problems);
    let (first, last) = (rows.first()?, rows.last()?);
    let slots = usize::try_from((last.at_s - first.at_s) / step_s + 1).ok()?;
    let mut values: [Vec<f64>; QUANTITIES] = std::array::from_fn(|_| vec![f64::NAN; slots]);
    for row in &rows {
        let slot = usize::try_from((row.at_s - first.at_s) / step_s).ok()?;
        for (column, value) in values.iter_mut().zip(row.values) {
            column[slot] = value;
        }
    }
    Some(Series {
        first_s: first.at_s,
        step_s,
        readings_after_s,
        values,
    })
}

/// The most frequent positive difference between one row and the next, s.
fn common_step(rows: &[Row]) -> i64 {
    let mut counts = std::collections::BTreeMap::new();
    for pair in rows.windows(2) {
        let step = pair[1].at_s.saturating_sub(pair[0].at_s);
        if step > 0 {
            *counts.entry(step).or_insert(0_usize) += 1;
        }
    }
    counts
        .into_iter()
        .max_by_key(|&(step, count)| (count, -step))
        .map_or(0, |(step, _)| step)
}

/// Gives all rows of a typical year one year number, and leaves out the leap day.
fn show_as_one_year(raw: &mut Raw, step_s: i64) {
    let before = raw.rows.len();
    let mut years = std::collections::BTreeSet::new();
    raw.rows.retain_mut(|row| {
        let date = civil_time(row.at_s + step_s / 2).date();
        let Ok(shown) = jiff::civil::Date::new(TYPICAL_YEAR, date.month(), date.day()) else {
            return false;
        };
        years.insert(date.year());
        row.at_s += midnight(shown) - midnight(date);
        true
    });
    if before > raw.rows.len() {
        raw.notices.push(Notice::LeapDayLeftOut {
            rows: before - raw.rows.len(),
        });
    }
    if years.len() > 1 {
        raw.notices.push(Notice::MonthsFromDifferentYears {
            shown_as: TYPICAL_YEAR,
        });
    }
    // Where December is followed by January, a whole year is turned until January comes first;
    // a part of a year runs on into the next.
    let Some(turn) = raw
        .rows
        .windows(2)
        .position(|pair| pair[1].at_s < pair[0].at_s - YEAR_S / 2)
    else {
        return;
    };
    let rows = i64::try_from(raw.rows.len()).unwrap_or(i64::MAX);
    if rows.saturating_mul(step_s) >= YEAR_S - 86_400 {
        raw.rows.rotate_left(turn + 1);
    } else {
        for row in &mut raw.rows[turn + 1..] {
            row.at_s += YEAR_S;
        }
    }
}

/// The rows that stand in order and on the step; the others are problems.
fn in_order(rows: &[Row], step_s: i64, to_start_s: i64, problems: &mut Problems) -> Vec<Row> {
    let mut kept: Vec<Row> = Vec::with_capacity(rows.len());
    let count = i64::try_from(rows.len()).unwrap_or(i64::MAX);
    let most_slots = count.saturating_mul(20).saturating_add(SPARE_SLOTS);
    for row in rows {
        let (line, at) = (row.line, civil_time(row.at_s - to_start_s));
        let (Some(first), Some(last)) = (kept.first(), kept.last()) else {
            kept.push(*row);
            continue;
        };
        let ahead_s = row.at_s - last.at_s;
        if ahead_s <= 0 {
            let clocks_back = ahead_s == step_s - 3600 && (step_s < 3600 || at.hour() <= 3);
            problems.push(if clocks_back {
                Problem::HourTwice { line, at }
            } else if ahead_s == 0 {
                Problem::Repeated {
                    line,
                    first_line: last.line,
                    at,
                }
            } else {
                Problem::OutOfOrder {
                    line,
                    at,
                    before: civil_time(last.at_s - to_start_s),
                }
            });
        } else if ahead_s > FARTHEST_JUMP_S || (row.at_s - first.at_s) / step_s > most_slots {
            problems.push(Problem::FarAway { line, at });
        } else if ahead_s % step_s != 0 {
            problems.push(Problem::Irregular { line, at, step_s });
        } else {
            kept.push(*row);
        }
    }
    kept
}

/// A series on the steps that the engine uses. Not-a-number is missing.
#[derive(Debug)]
pub(super) struct Grid {
    /// Start, s since 1970 local standard time.
    pub(super) start_s: i64,
    pub(super) step_s: i64,
    pub(super) intervals: usize,
    /// By [`Quantity`]: values of the air at the ends of the intervals (one more than there are
    /// intervals), the others as means over them. The wind's direction is its sine here.
    pub(super) values: [Vec<f64>; QUANTITIES],
    /// Cosine of the wind's direction at the ends of the intervals.
    pub(super) wind_cosine: Vec<f64>,
}

impl Series {
    /// Brings the series to the clock's quarters, halves or whole hours.
    pub(super) fn on_clock(&self, typical: bool, site: &Site, notices: &mut Vec<Notice>) -> Grid {
        let step_s = STEPS
            .into_iter()
            .find(|s| *s >= self.step_s && s % self.step_s == 0)
            .unwrap_or(3600);
        let end_s = self.first_s + self.slots() * self.step_s;
        let nearest = |at: i64| (at + step_s / 2).div_euclid(step_s) * step_s;
        let start_s = nearest(self.first_s)
            + if self.begins_with_air_only() {
                step_s
            } else {
                0
            };
        let intervals = usize::try_from((nearest(end_s) - start_s) / step_s).unwrap_or(0);
        let periodic = typical && self.slots() * self.step_s == YEAR_S;
        let aligned = (self.first_s - start_s) % self.step_s == 0;
        if step_s != self.step_s {
            let whole = |s: i64| u32::try_from(s).unwrap_or(0);
            notices.push(Notice::Averaged {
                from_step_s: whole(self.step_s),
                to_step_s: whole(step_s),
            });
        }
        if !aligned {
            notices.push(Notice::Realigned {
                by_s: start_s - self.first_s,
            });
        }
        let sampler = Sampler {
            series: self,
            periodic,
        };
        let ends = |column: &[f64]| -> Vec<f64> {
            let mut edge_s = start_s - step_s;
            std::iter::repeat_with(|| {
                edge_s += step_s;
                sampler.reading(column, edge_s, step_s)
            })
            .take(intervals + 1)
            .collect()
        };
        let direction = &self.values[Quantity::WindDirection as usize];
        let part =
            |of: fn(f64) -> f64| direction.iter().map(|&angle| of(angle)).collect::<Vec<_>>();
        let wind_cosine = ends(&part(cos));
        let values = std::array::from_fn(|q| {
            let quantity = Quantity::ALL[q];
            let column = &self.values[q];
            match quantity {
                Quantity::WindDirection => ends(&part(sin)),
                _ if quantity.is_of_air() => ends(column),
                _ => {
                    let mut at_s = start_s - step_s;
                    std::iter::repeat_with(|| {
                        at_s += step_s;
                        if aligned {
                            sampler.mean(column, at_s, step_s)
                        } else {
                            sampler.moved(quantity, column, at_s, step_s, site)
                        }
                    })
                    .take(intervals)
                    .collect()
                }
            }
        });
        Grid {
            start_s,
            step_s,
            intervals,
            values,
            wind_cosine,
        }
    }

    /// Whether the first row only tells the air at the start of the second row's interval.
    fn begins_with_air_only(&self) -> bool {
        let radiation = || {
            Quantity::ALL
                .into_iter()
                .filter(|q| !q.is_of_air())
                .map(|q| &self.values[q as usize])
        };
        self.step_s >= STEPS[0]
            && self.readings_after_s == self.step_s
            && self.slots() > 2
            && radiation().all(|column| column[0].is_nan())
            && radiation().any(|column| !column[1].is_nan())
    }

    /// First and last instant, s since 1970 local standard time.
    pub(super) fn covers(&self) -> (i64, i64) {
        (self.first_s, self.first_s + self.slots() * self.step_s)
    }

    fn slots(&self) -> i64 {
        i64::try_from(self.values[0].len()).unwrap_or(i64::MAX)
    }
}

struct Sampler<'a> {
    series: &'a Series,
    periodic: bool,
}

impl Sampler<'_> {
    /// The value of a slot; slots past an end belong to the other end of a whole year, or repeat
    /// the last.
    fn slot(&self, column: &[f64], slot: i64) -> f64 {
        let slots = self.series.slots();
        let slot = if self.periodic {
            slot.rem_euclid(slots)
        } else {
            slot.clamp(0, slots - 1)
        };
        usize::try_from(slot)
            .ok()
            .and_then(|slot| column.get(slot))
            .copied()
            .unwrap_or(f64::NAN)
    }

    /// The air at an instant: the reading there, between two readings a straight line, of finer
    /// readings the mean over the step around it.
    fn reading(&self, column: &[f64], at_s: i64, step_s: i64) -> f64 {
        let series = self.series;
        let after_s = at_s - series.first_s - series.readings_after_s;
        if step_s > series.step_s {
            let half = step_s / 2 / series.step_s;
            let middle = after_s.div_euclid(series.step_s);
            let last = self.series.slots() - 1;
            let window = (middle - half)..=(middle + half);
            let inside = window.filter(|slot| self.periodic || (0..=last).contains(slot));
            return mean(inside.map(|slot| self.slot(column, slot)), 1);
        }
        let before = after_s.div_euclid(series.step_s);
        let share = after_s.rem_euclid(series.step_s) as f64 / series.step_s as f64;
        let (low, high) = (self.slot(column, before), self.slot(column, before + 1));
        match (low.is_nan(), high.is_nan()) {
            _ if share == 0.0 => low,
            (false, true) if share <= 0.5 => low,
            (true, false) if share >= 0.5 => high,
            _ => low + share * (high - low),
        }
    }

    /// Mean over an interval that whole slots make up; missing if more than half is missing.
    fn mean(&self, column: &[f64], at_s: i64, step_s: i64) -> f64 {
        let series = self.series;
        let first = (at_s - series.first_s).div_euclid(series.step_s);
        let parts = step_s / series.step_s;
        let inside = (first..first + parts).filter(|slot| (0..series.slots()).contains(slot));
        mean(
            inside.map(|slot| self.slot(column, slot)),
            usize::try_from((parts + 1) / 2).unwrap_or(1),
        )
    }

    /// Mean over an interval that slots overlap in part. Radiation of the sun is moved by its
    /// share of what the sun gives outside the air, which keeps the energy of every slot.
    fn moved(
        &self,
        quantity: Quantity,
        column: &[f64],
        at_s: i64,
        step_s: i64,
        site: &Site,
    ) -> f64 {
        let series = self.series;
        let (mut sum, mut seen_s) = (0.0, 0);
        let mut slot = (at_s - series.first_s).div_euclid(series.step_s);
        loop {
            let slot_start = series.first_s + slot * series.step_s;
            let (from, to) = (
                slot_start.max(at_s),
                (slot_start + series.step_s).min(at_s + step_s),
            );
            if from >= at_s + step_s {
                break;
            }
            let value = self.slot(column, slot);
            slot += 1;
            if value.is_nan() {
                continue;
            }
            seen_s += to - from;
            let of_light = |from, to| match quantity {
                Quantity::Global | Quantity::Diffuse => site.mean_sine_elevation(from, to),
                Quantity::DirectNormal => site.share_with_sun(from, to),
                _ => 1.0,
            };
            let whole = of_light(slot_start, slot_start + series.step_s);
            if whole > 0.0 {
                sum += value * of_light(from, to) / whole * (to - from) as f64;
            }
        }
        if seen_s * 2 < step_s {
            f64::NAN
        } else {
            sum / seen_s as f64
        }
    }
}

/// Mean of what is present, missing if fewer than `least` are.
fn mean(values: impl Iterator<Item = f64>, least: usize) -> f64 {
    let (mut sum, mut count) = (0.0, 0_usize);
    for value in values.filter(|value| !value.is_nan()) {
        sum += value;
        count += 1;
    }
    if count == 0 || count < least {
        f64::NAN
    } else {
        sum / count as f64
    }
}
