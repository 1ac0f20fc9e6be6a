//! The charts of a fit.

use std::borrow::Cow;
use std::ops::Range;

use jiff::civil::DateTime;

use crate::study::calibrate::{Calibration, Compared};
use crate::units::System;
use crate::weather::Kind;

use super::super::chart::{
    self, Across, BarGroups, Curve, Naming, OverTime, Row, RowGroup, SpreadChart, SpreadGroup,
    SpreadPanel, Stretch, TimePanel, Tint,
};
use super::super::figure::{Drawing, Figure};
use super::super::words::{self, civil};
use super::left::{Sorting, Wind};
use super::{FitInput, difference_unit, shown, shown_difference, unit};

const DAY_S: i64 = 86_400;
/// Days about the hottest one that are shown closely, and the length from which that is done.
const CLOSE_DAYS: i64 = 3;
const LONG_DAYS: i64 = 7;

/// Seconds since 1970 on the same clock.
pub(super) fn seconds(at: DateTime) -> i64 {
    let epoch = DateTime::constant(1970, 1, 1, 0, 0, 0, 0);
    at.duration_since(epoch).as_secs()
}

/// The charts of a fit in their order.
pub(super) struct Charts {
    /// Before against after.
    pub(super) gain: Figure,
    /// Measured and worked out.
    pub(super) courses: Vec<Figure>,
    /// What is left.
    pub(super) left: Vec<Figure>,
}

impl Charts {
    pub(super) fn of(input: &FitInput<'_>) -> Self {
        let maker = Maker::of(input);
        let mut courses = vec![Figure {
            name: "over-time",
            heading: "All days".into(),
            caption:
                "Days on blue ground were kept out of the fit. A line breaks where the log has \
                      no readings."
                    .into(),
            drawing: Drawing::Time(maker.courses(&maker.stretches())),
        }];
        if let Some(close) = maker.close() {
            courses.push(Figure {
                name: "closely",
                heading: "The hottest days closely".into(),
                caption: "The hottest day of the log with the days beside it.".into(),
                drawing: Drawing::Time(maker.courses(&close)),
            });
        }
        Self {
            gain: Figure {
                name: "before-after",
                heading: "Before against after".into(),
                caption:
                    "How far worked-out readings are from those of the log: before the fit and \
                          after it on the fitted days, and on days that it has not seen."
                        .into(),
                drawing: Drawing::Bars(maker.gain()),
            },
            courses,
            left: maker.left(),
        }
    }

    /// All of them.
    pub(super) fn all(&self) -> impl Iterator<Item = &Figure> {
        let rest = self.courses.iter().chain(&self.left);
        std::iter::once(&self.gain).chain(rest)
    }
}

/// Makes charts of one fit.
struct Maker<'a> {
    system: System,
    fit: &'a Calibration,
    wind: Wind<'a>,
    /// Midnight before all readings, s since 1970.
    start_s: i64,
}

impl<'a> Maker<'a> {
    fn of(input: &FitInput<'a>) -> Self {
        let all = input.fit.fitted.iter().chain(&input.fit.kept_out);
        let first = all.filter_map(|one| one.times_s.first()).min().copied();
        Self {
            system: input.system,
            fit: input.fit,
            wind: Wind::of(input.weather),
            start_s: first.unwrap_or(0).div_euclid(DAY_S) * DAY_S,
        }
    }

    fn after_start(&self, at_s: i64) -> f64 {
        (at_s - self.start_s) as f64
    }

    /// The name of a column; empty if it is the only one.
    fn title(&self, one: &Compared) -> String {
        if self.fit.fitted.len() > 1 {
            one.name.replace('_', " ")
        } else {
            String::new()
        }
    }

    fn kept_out(&self, one: &Compared) -> Option<&'a Compared> {
        let mut kept_out = self.fit.kept_out.iter();
        kept_out.find(|other| other.name == one.name)
    }

    /// The fitted days and those kept out, in the order of time.
    fn stretches(&self) -> Vec<Stretch> {
        let all = [(&self.fit.fitted, false), (&self.fit.kept_out, true)];
        let spans = all.into_iter().filter_map(|(columns, kept)| {
            let [from_s, to_s] = span_s(columns)?;
            Some(self.stretch(from_s..to_s, kept))
        });
        let mut stretches: Vec<Stretch> = spans.collect();
        stretches.sort_by(|a, b| a.span_s.start.total_cmp(&b.span_s.start));
        stretches
    }

    fn stretch(&self, span: Range<i64>, kept: bool) -> Stretch {
        let short = if kept { "kept out" } else { "fitted" };
        // What begins in the last minutes of a day belongs to the next for people.
        let days = words::days(civil(span.start + 600), civil(span.end), Kind::Measured);
        Stretch {
            name: format!("{short}, {days}"),
            short: short.to_owned(),
            is_shaded: kept,
            span_s: self.after_start(span.start)..self.after_start(span.end),
        }
    }

    /// The hottest days of each stretch; none if the whole is short.
    fn close(&self) -> Option<Vec<Stretch>> {
        let all = [(&self.fit.fitted, false), (&self.fit.kept_out, true)];
        let mut whole_s = 0;
        let mut stretches = Vec::new();
        for (columns, kept) in all {
            let Some([from_s, to_s]) = span_s(columns) else {
                continue;
            };
            whole_s += to_s - from_s;
            let first = columns.first()?;
            let pairs = first.times_s.iter().zip(&first.logged);
            let (hottest_s, _) = pairs.max_by(|a, b| a.1.total_cmp(b.1))?;
            let about_s = (hottest_s.div_euclid(DAY_S) - CLOSE_DAYS / 2) * DAY_S;
            let latest_s = to_s.div_euclid(DAY_S) * DAY_S - (CLOSE_DAYS - 1) * DAY_S;
            let start_s = about_s.min(latest_s).max(from_s);
            let end_s = (start_s + CLOSE_DAYS * DAY_S).min(to_s);
            stretches.push(self.stretch(start_s..end_s, kept));
        }
        stretches.sort_by(|a, b| a.span_s.start.total_cmp(&b.span_s.start));
        (whole_s > LONG_DAYS * DAY_S).then_some(stretches)
    }

    /// Points of a column; where readings are missing a point that is no number.
    fn points(&self, one: &Compared, of: impl Fn(usize) -> f64) -> Vec<(f64, f64)> {
        chart::gapped(&one.times_s, self.start_s, f64::NAN, of)
    }

    fn values(&self, one: &Compared, column: &[f64]) -> Vec<(f64, f64)> {
        self.points(one, |index| {
            let value = column.get(index).copied().unwrap_or(f64::NAN);
            shown(self.system, one.measure, value)
        })
    }

    /// Measured and worked out over stretches of time.
    fn courses(&self, stretches: &[Stretch]) -> OverTime {
        let panels = self.fit.fitted.iter().map(|one| {
            let kept = self.kept_out(one);
            let parts = || std::iter::once(one).chain(kept);
            let joined = |of: fn(&Compared) -> &[f64]| {
                joined_of(parts().map(|part| self.values(part, of(part))).collect())
            };
            let logged = joined(|part| &part.logged);
            let mut curves = Vec::new();
            let before = self.fit.before.iter().find(|other| other.name == one.name);
            if let Some(before) = before {
                let points = self.values(before, &before.worked_out);
                curves.push(Curve {
                    name: "before the fit".to_owned(),
                    naming: Naming::clear_of(&points, &logged, stretches),
                    tint: Tint::Purple,
                    px: 1.2,
                    points,
                });
            }
            curves.push(Curve {
                name: "measured".to_owned(),
                naming: Naming::End,
                tint: Tint::Ink,
                px: 1.6,
                points: logged,
            });
            curves.push(Curve {
                name: "worked out".to_owned(),
                naming: Naming::End,
                tint: Tint::Vermilion,
                px: 1.4,
                points: joined(|part| &part.worked_out),
            });
            TimePanel {
                title: self.title(one),
                unit: unit(self.system, one.measure),
                has_zero: false,
                bands: Vec::new(),
                curves,
            }
        });
        OverTime {
            title: "Measured and worked out".to_owned(),
            words: self.in_words(),
            system: self.system,
            start: civil(self.start_s),
            stretches: stretches.to_vec(),
            panels: panels.collect(),
        }
    }

    /// How well each column is met, in words.
    fn in_words(&self) -> String {
        let parts = [
            ("Fitted days", &self.fit.fitted),
            ("Days kept out", &self.fit.kept_out),
        ];
        let told = parts.iter().flat_map(|(days, columns)| {
            columns.iter().map(move |one| {
                let rmse = self.figure(one, one.quality().rmse);
                format!(
                    "{days}: {} is worked out within {rmse} (RMSE).",
                    one.name.replace('_', " ")
                )
            })
        });
        told.collect::<Vec<_>>().join(" ")
    }

    /// A difference with its unit.
    fn figure(&self, one: &Compared, by: f64) -> String {
        super::super::calibration::difference(self.system, one.measure, by)
    }

    /// Before against after.
    fn gain(&self) -> BarGroups {
        let mut groups = Vec::new();
        for one in &self.fit.fitted {
            let before = self.fit.before.iter().find(|other| other.name == one.name);
            let parts = [
                ("before", Tint::Purple, before),
                ("fitted days", Tint::Vermilion, Some(one)),
                ("days kept out", Tint::Blue, self.kept_out(one)),
            ];
            let has_peaks = one.quality().days > 0;
            for (what, of) in [
                ("spread (RMSE)", 0),
                ("daily peak, mean distance", 1),
                ("bias, above zero is too high", 2),
            ] {
                if of == 1 && !has_peaks {
                    continue;
                }
                let rows = parts.iter().filter_map(|(name, tint, part)| {
                    let part = (*part)?;
                    let quality = part.quality();
                    if of == 1 && quality.days == 0 {
                        return None;
                    }
                    let value = [quality.rmse, quality.peak_off, quality.bias][of];
                    let figure = self.figure(part, value).replace('-', "−");
                    Some(Row {
                        name: (*name).to_owned(),
                        tint: *tint,
                        size: value.abs(),
                        figure,
                    })
                });
                groups.push(RowGroup {
                    title: format!("{}: {what}", one.name.replace('_', " ")),
                    unit: difference_unit(self.system, one.measure),
                    rows: rows.collect(),
                });
            }
        }
        BarGroups {
            title: "Before against after".to_owned(),
            groups,
        }
    }

    /// Charts of worked out less measured.
    fn left(&self) -> Vec<Figure> {
        let mut figures = vec![Figure {
            name: "residuals-time",
            heading: "Over time".into(),
            caption: "Worked out less measured: above the line what is worked out is too high."
                .into(),
            drawing: Drawing::Time(self.residuals()),
        }];
        let bands = "Line: middle value. Dark band: the middle half of the readings of the fitted days; \
                     pale band: nine in ten. Local standard time.";
        let boxes = "Line: middle value. Dark: the middle half of the readings; pale: nine in ten. \
                     Figures below: how many readings.";
        let mut put = |name, heading, caption, sorting| {
            let chart = self.spread(sorting);
            let words = spread_words(sorting, &chart, self.system);
            figures.push(Figure {
                name,
                heading: Cow::Borrowed(heading),
                caption: Cow::Borrowed(caption),
                drawing: Drawing::Spread(chart, words),
            });
        };
        put(
            "residuals-hour",
            "By the hour of the day",
            bands,
            Sorting::Hour,
        );
        if self.wind.has_direction {
            put(
                "residuals-wind-direction",
                "By where the wind came from",
                boxes,
                Sorting::From,
            );
        }
        if self.wind.has_speed {
            put(
                "residuals-wind-speed",
                "By the speed of the wind",
                boxes,
                Sorting::Speed,
            );
        }
        figures
    }

    fn residuals(&self) -> OverTime {
        let stretches = self.stretches();
        let panels = self.fit.fitted.iter().map(|one| {
            let curve = |part: &Compared, tint, name: &str| Curve {
                name: name.to_owned(),
                naming: Naming::Nowhere,
                tint,
                px: 1.3,
                points: self.points(part, |index| {
                    let pair = [part.worked_out.get(index), part.logged.get(index)];
                    match pair {
                        [Some(a), Some(b)] => shown_difference(self.system, part.measure, a - b),
                        _ => f64::NAN,
                    }
                }),
            };
            let mut curves = vec![curve(one, Tint::Vermilion, "fitted")];
            if let Some(kept) = self.kept_out(one) {
                curves.push(curve(kept, Tint::Blue, "kept out"));
            }
            TimePanel {
                title: self.title(one),
                unit: difference_unit(self.system, one.measure),
                has_zero: true,
                bands: Vec::new(),
                curves,
            }
        });
        OverTime {
            title: "Worked out less measured, over time".to_owned(),
            words: self.in_words(),
            system: self.system,
            start: civil(self.start_s),
            panels: panels.collect(),
            stretches,
        }
    }

    fn spread(&self, sorting: Sorting) -> SpreadChart {
        let mut names = sorting.names(self.system);
        let spreads = |part: &Compared| sorting.spreads(self.system, &self.wind, part);
        if sorting == Sorting::Speed {
            // Stronger winds than there were.
            let all = self
                .fit
                .fitted
                .iter()
                .chain(&self.fit.kept_out)
                .map(spreads);
            let used = all.filter_map(|classes| classes.iter().rposition(Option::is_some));
            names.truncate(used.max().map_or(1, |last| last + 1));
        }
        let (what, across) = match sorting {
            Sorting::Hour => {
                let marks = (0..=4_i64).map(|quarter| {
                    let at = civil(quarter * 6 * 3600);
                    let place = 6.0 * quarter as f64;
                    (place, chart::hour_name(self.system, at))
                });
                ("hour of the day".to_owned(), Across::Even(marks.collect()))
            }
            Sorting::From => (
                "the wind comes from".to_owned(),
                Across::Named(names.clone()),
            ),
            Sorting::Speed => {
                let unit = match self.system {
                    System::Us => "mph",
                    System::Si => "m/s",
                };
                let what = format!("speed of the wind in the weather data, {unit}");
                (what, Across::Named(names.clone()))
            }
        };
        let panels = self.fit.fitted.iter().map(|one| {
            let group = |name: &str, tint, part: &Compared| SpreadGroup {
                name: name.to_owned(),
                tint,
                classes: spreads(part).into_iter().take(names.len()).collect(),
            };
            let mut groups = vec![group("fitted", Tint::Vermilion, one)];
            if let Some(kept) = self.kept_out(one) {
                groups.push(group("kept out", Tint::Blue, kept));
            }
            SpreadPanel {
                title: self.title(one),
                unit: difference_unit(self.system, one.measure),
                groups,
            }
        });
        SpreadChart {
            title: format!("Worked out less measured, by {what}"),
            what,
            classes: names.len(),
            across,
            panels: panels.collect(),
        }
    }
}

/// Parts of a curve in the order of time, with a break between them.
fn joined_of(mut parts: Vec<Vec<(f64, f64)>>) -> Vec<(f64, f64)> {
    parts.retain(|part| !part.is_empty());
    parts.sort_by(|a, b| a[0].0.total_cmp(&b[0].0));
    let touch = |a: &[(f64, f64)], b: &[(f64, f64)]| {
        let (Some(last), Some(first)) = (a.last(), b.first()) else {
            return true;
        };
        first.0 - last.0 <= 3.0 * 3600.0
    };
    let mut all: Vec<(f64, f64)> = Vec::new();
    for part in parts {
        if !touch(&all, &part) {
            all.push((part[0].0 - 1.0, f64::NAN));
        }
        all.extend(part);
    }
    all
}

/// The largest middle value of each group, in words.
fn spread_words(sorting: Sorting, chart: &SpreadChart, system: System) -> String {
    let names = sorting.names(system);
    let mut told = Vec::new();
    for panel in &chart.panels {
        for group in &panel.groups {
            let known = group.classes.iter().zip(&names);
            let medians = known.filter_map(|(spread, name)| Some((name, (*spread)?.median)));
            let farthest = medians.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
            if let Some((name, median)) = farthest {
                let class = match sorting {
                    Sorting::Hour => format!("in the hour from {name}:00"),
                    Sorting::From => format!("with wind from {name}"),
                    Sorting::Speed => format!("with wind of {name}"),
                };
                let title = if panel.title.is_empty() {
                    String::new()
                } else {
                    format!("{}, ", panel.title)
                };
                told.push(format!(
                    "{title}{}: farthest off {class}, by {median:.1} {}.",
                    group.name, panel.unit
                ));
            }
        }
    }
    told.join(" ")
}

/// From the first reading of columns to their last, s since 1970.
pub(super) fn span_s(columns: &[Compared]) -> Option<[i64; 2]> {
    let first = columns.iter().filter_map(|one| one.times_s.first()).min()?;
    let last = columns.iter().filter_map(|one| one.times_s.last()).max()?;
    Some([*first, *last])
}
