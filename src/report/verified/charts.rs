//! The charts of a finished change.

use std::ops::Range;

use crate::study::calibrate::Measure;
use crate::study::verify::{Drop, Told, Verified, Without};
use crate::units::{System, show};
use crate::weather::Kind;

use super::super::chart::{
    self, Curve, DropChart, DropDay, DropPanel, LimitChart, LimitGroup, LimitRow, Naming, OverTime,
    Stretch, TimeBand, TimePanel, Tint, degree_sign, degrees,
};
use super::super::figure::{Drawing, Figure};
use super::super::fitted::{difference_unit, shown_difference};
use super::super::notices::capital;
use super::super::words::{self, civil};
use super::{ProofInput, named};

const DAY_S: i64 = 86_400;

/// The charts of a change in their order.
pub(super) struct Charts {
    /// The days after, all and the hottest.
    pub(super) after: Vec<Figure>,
    /// Day by day.
    pub(super) days: Figure,
    /// Against what was expected of the design, where one describes the change.
    pub(super) expected: Option<Figure>,
}

impl Charts {
    pub(super) fn of(input: &ProofInput<'_>, found: &Verified) -> Self {
        let maker = Maker {
            system: input.system,
            found,
        };
        let mut after = Vec::new();
        if let Some(span_s) = maker.span_s() {
            after.push(Figure {
                name: "days-after",
                heading: "The days after".into(),
                caption: "What was read after the change, and what the house as it was would have \
                          read in the same weather. Band: nine in ten readings would have lain in \
                          it without the change. A line breaks where the log has no readings."
                    .into(),
                drawing: Drawing::Time(maker.courses(span_s)),
            });
        }
        if let Some((at_s, heading, caption)) = maker.hottest() {
            after.push(Figure {
                name: "hottest-day-after",
                heading: heading.into(),
                caption: caption.into(),
                drawing: Drawing::Time(maker.courses(at_s..at_s + DAY_S)),
            });
        }
        Self {
            after,
            days: Figure {
                name: "day-by-day",
                heading: "How much lower the high of each day was".into(),
                caption: "Dots: the drop of each day's high. Before the change they show how far the \
                          fitted house is off from day to day. Upright lines: nine in ten, that day by \
                          itself; line and band: all days after together, and nine in ten of that. Days that \
                          are not whole are left out."
                    .into(),
                drawing: Drawing::Drops(maker.drops()),
            },
            expected: maker.limits(input.change).map(|chart| Figure {
                name: "against-design",
                heading: "Against what was expected of the design".into(),
                caption: "Dot: likeliest; line: nine in ten. Heat through the ceiling cannot be read \
                          off a thermometer: it is that of the design, in proportion to the drop of the \
                          mean that was measured."
                    .into(),
                drawing: Drawing::Limits(chart),
            }),
        }
    }

    /// All of them.
    pub(super) fn all(&self) -> impl Iterator<Item = &Figure> {
        let rest = std::iter::once(&self.days).chain(&self.expected);
        self.after.iter().chain(rest)
    }
}

/// Makes charts of one change.
struct Maker<'a> {
    system: System,
    found: &'a Verified,
}

impl Maker<'_> {
    /// From the midnight before the first reading after the change to the last one.
    fn span_s(&self) -> Option<Range<i64>> {
        let readings = || self.found.drops.iter().map(|drop| &drop.without.times_s);
        let first = readings().filter_map(|times_s| times_s.first()).min()?;
        let last = readings().filter_map(|times_s| times_s.last()).max()?;
        (first < last).then_some(*first..*last)
    }

    /// The midnight before the hottest day that the house as it was would have had at the first
    /// thermometer, its heading, and its highs in words.
    fn hottest(&self) -> Option<(i64, String, String)> {
        let drop = self.found.drops.first()?;
        let all = &drop.without;
        let whole = |at_s: i64| {
            let date = civil(at_s).date();
            drop.days.after.iter().any(|(day, _)| *day == date)
        };
        let pairs = all.times_s.iter().zip(&all.likely_k);
        let pairs = pairs.filter(|(at_s, _)| whole(**at_s));
        let (hottest_s, _) = pairs.max_by(|a, b| a.1.total_cmp(b.1))?;
        let midnight_s = hottest_s.div_euclid(DAY_S) * DAY_S;
        let of_day = |values: &[f64]| {
            let pairs = all.times_s.iter().zip(values);
            let own = pairs.filter(|(at_s, _)| at_s.div_euclid(DAY_S) * DAY_S == midnight_s);
            own.map(|(_, value)| *value)
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let [logged_k, likely_k] = [of_day(&all.logged_k), of_day(&all.likely_k)];
        let of = |k: f64| show::temperature(self.system, crate::units::celsius(k));
        let day = chart::day_name(civil(midnight_s));
        let caption = format!(
            "{}: {} was the highest that was read, {} the highest that the house as it was would \
             likeliest have read.",
            capital(&drop.column.replace('_', " ")),
            of(logged_k),
            of(likely_k)
        );
        Some((midnight_s, format!("The hottest of them, {day}"), caption))
    }

    fn title(&self, drop: &Drop) -> String {
        if self.found.drops.len() > 1 {
            drop.column.replace('_', " ")
        } else {
            String::new()
        }
    }

    /// Readings and what would have been read over a span of time.
    fn courses(&self, span_s: Range<i64>) -> OverTime {
        let start_s = span_s.start.div_euclid(DAY_S) * DAY_S;
        let own_s = (span_s.start - start_s) as f64..(span_s.end - start_s) as f64;
        let days = words::days(civil(span_s.start), civil(span_s.end), Kind::Measured);
        let stretches = vec![Stretch {
            name: format!("after the change, {days}"),
            short: "after the change".to_owned(),
            is_shaded: false,
            span_s: own_s,
        }];
        let panels = self.found.drops.iter().map(|drop| {
            let all = &drop.without;
            let shown = |k: f64| degrees(self.system, k);
            let points =
                |of: &[f64]| chart::gapped(&all.times_s, start_s, f64::NAN, |at| shown(of[at]));
            let (logged, likely) = (points(&all.logged_k), points(&all.likely_k));
            let band = chart::gapped(&all.times_s, start_s, [f64::NAN; 2], |at| {
                all.limits_k[at].map(shown)
            });
            let curve = |name: &str, naming, tint, px, points| Curve {
                name: name.to_owned(),
                naming,
                tint,
                px,
                points,
            };
            let naming = Naming::clear_of(&likely, &logged, &stretches);
            TimePanel {
                title: self.title(drop),
                unit: degree_sign(self.system),
                has_zero: false,
                bands: vec![TimeBand {
                    tint: Tint::Vermilion,
                    points: band,
                }],
                curves: vec![
                    curve("without the change", naming, Tint::Vermilion, 1.4, likely),
                    curve("measured", Naming::End, Tint::Ink, 1.6, logged),
                ],
            }
        });
        OverTime {
            title: "Measured after the change, and without it".to_owned(),
            words: self.in_words(),
            system: self.system,
            start: civil(start_s),
            panels: panels.collect(),
            stretches,
        }
    }

    /// How the readings lie to the band, in words.
    fn in_words(&self) -> String {
        let told = self.found.drops.iter().map(|drop| {
            let Without {
                logged_k, limits_k, ..
            } = &drop.without;
            let pairs = || logged_k.iter().zip(limits_k);
            let below = pairs().filter(|(k, [low, _])| *k < low).count();
            let above = pairs().filter(|(k, [_, high])| *k > high).count();
            format!(
                "At {}, of {} readings {below} are below the band of what nine in ten would have been \
                 without the change and {above} above it.",
                drop.column.replace('_', " "),
                logged_k.len()
            )
        });
        told.collect::<Vec<_>>().join(" ")
    }

    fn drops(&self) -> DropChart {
        let mut words = Vec::new();
        let by = |k: f64| shown_difference(self.system, Measure::Temperature, k);
        let panels = self.found.drops.iter().map(|drop| {
            let before = drop.days.before.iter().map(|(date, k)| DropDay {
                date: *date,
                value: by(*k),
                limits: None,
            });
            let after = drop.days.after.iter().map(|(date, told)| DropDay {
                date: *date,
                value: by(told.value),
                limits: Some(told.interval.map(by)),
            });
            let panel = DropPanel {
                title: self.title(drop),
                before: before.collect(),
                after: after.collect(),
                all: by(drop.highs.value),
                all_limits: drop.highs.interval.map(by),
            };
            words.push(format!(
                "At {}, over all {} days after: {} {}.",
                drop.column.replace('_', " "),
                panel.after.len(),
                chart::within_limits(panel.all, panel.all_limits),
                difference_unit(self.system, Measure::Temperature)
            ));
            panel
        });
        let panels = panels.collect();
        DropChart {
            title: "Drop of the daily highs, day by day".to_owned(),
            words: words.join(" "),
            unit: difference_unit(self.system, Measure::Temperature),
            panels,
        }
    }

    /// What was measured against what was expected of the design; nothing where no design is named.
    fn limits(&self, change: Option<&str>) -> Option<LimitChart> {
        change?;
        let by_design = format!("expected of {}", named(change));
        let row = |name: &str, tint, told: Told, by: &dyn Fn(f64) -> f64| LimitRow {
            name: name.to_owned(),
            tint,
            value: by(told.value),
            limits: told.interval.map(by),
        };
        let mut groups = Vec::new();
        for drop in &self.found.drops {
            let by = |k: f64| shown_difference(self.system, Measure::Temperature, k);
            let expected = drop.expected?;
            let both = [("daily highs", drop.highs), ("mean", drop.mean)];
            for ((what, told), expected) in both.into_iter().zip(expected) {
                groups.push(LimitGroup {
                    title: format!("{}: {what} lower by", drop.column.replace('_', " ")),
                    unit: difference_unit(self.system, Measure::Temperature),
                    rows: vec![
                        row("measured", Tint::Vermilion, told, &by),
                        row(&by_design, Tint::Blue, expected, &by),
                    ],
                });
            }
        }
        if let (Some(told), Some(expected)) = (
            self.found.ceiling_kwh_day,
            self.found.ceiling_expected_kwh_day,
        ) {
            let same = |kwh: f64| kwh;
            groups.push(LimitGroup {
                title: "Heat kept from the ceiling".to_owned(),
                unit: "kWh a day",
                rows: vec![
                    row("by what was measured", Tint::Vermilion, told, &same),
                    row(&by_design, Tint::Blue, expected, &same),
                ],
            });
        }
        Some(LimitChart {
            title: "Measured against expected".to_owned(),
            groups,
        })
    }
}
