//! Temperatures over time: one run's places, or one place of several designs.

use std::fmt::Write as _;
use std::ops::Range;

use jiff::civil::DateTime;

use crate::run::Outcome;
use crate::units::System;

use super::label::{self, EndLabel};
use super::plot::{Field, Stroke};
use super::scale::{self, Ticks, degree_sign, degrees, ticks, whole_degrees};
use super::svg::{Anchor, Svg, Type, width};
use super::{ChartError, Frame, Tint};

/// A curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Label at its end.
    pub label: String,
    /// Shorter label where there is little room.
    pub short: String,
    /// Colour.
    pub tint: Tint,
    /// Whether it is drawn as the ground that others stand against.
    pub is_background: bool,
    /// Temperatures at the chart's times, K.
    pub temps_k: Vec<f64>,
}

/// The space between two curves.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Lower edge, K.
    pub low_k: Vec<f64>,
    /// Upper edge, K.
    pub high_k: Vec<f64>,
    /// Colour.
    pub tint: Tint,
}

/// A value that is pointed out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// The highest of a line, by its index.
    Highest(usize),
}

/// One field of a chart; fields of a chart stand above one another on one time axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Heading; may be empty.
    pub title: String,
    /// Curves.
    pub lines: Vec<Line>,
    /// Band under them.
    pub band: Option<Band>,
    /// What is pointed out.
    pub marks: Vec<Mark>,
}

/// Temperatures over time.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureChart {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// Local standard time at time 0.
    pub start: DateTime,
    /// Times, s.
    pub times_s: Vec<f64>,
    /// What is shown of them, s.
    pub span_s: Range<f64>,
    /// Fields from the top.
    pub panels: Vec<Panel>,
}

/// Least distance of level lines, px.
const PER_TICK_PX: f64 = 34.0;

impl TemperatureChart {
    /// Outdoors, deck, attic and rooms of one run.
    pub fn of_run(outcome: &Outcome) -> Self {
        let trace = &outcome.trace;
        let line = |label: &str, short: &str, tint, is_background, temps: &[f64]| Line {
            label: label.to_owned(),
            short: short.to_owned(),
            tint,
            is_background,
            temps_k: temps.to_vec(),
        };
        let lines = vec![
            line("outdoors", "outdoors", Tint::Blue, true, &trace.outdoor_k),
            line(
                "deck underside",
                "deck",
                Tint::Purple,
                false,
                &trace.deck_underside_k,
            ),
            line(
                "attic air",
                "attic",
                Tint::Vermilion,
                false,
                &trace.attic_air_k,
            ),
            line("rooms", "rooms", Tint::Green, false, &trace.living_air_k),
        ];
        Self {
            title: format!("Temperatures, {}", outcome.design),
            start: outcome.start,
            times_s: trace.times_s.clone(),
            span_s: whole(&trace.times_s),
            panels: vec![Panel {
                title: String::new(),
                lines,
                band: Some(Band {
                    low_k: trace.attic_low_k.clone(),
                    high_k: trace.attic_ridge_k.clone(),
                    tint: Tint::Vermilion,
                }),
                marks: vec![Mark::Highest(1), Mark::Highest(2), Mark::Highest(3)],
            }],
        }
    }

    /// Attic air, and rooms below it, of several designs in the same weather.
    pub fn of_designs(outcomes: &[&Outcome]) -> Self {
        let times_s = outcomes
            .first()
            .map(|o| o.trace.times_s.clone())
            .unwrap_or_default();
        let panel = |title: &str, of: &dyn Fn(&Outcome) -> &Vec<f64>| {
            let outdoors = outcomes.first().map(|first| Line {
                label: "outdoors".to_owned(),
                short: "outdoors".to_owned(),
                tint: Tint::Blue,
                is_background: true,
                temps_k: first.trace.outdoor_k.clone(),
            });
            let designs = outcomes.iter().enumerate().map(|(index, outcome)| Line {
                label: outcome.design.clone(),
                short: shortened(&outcome.design, SHORT_LETTERS),
                tint: Tint::of_design(index),
                is_background: false,
                temps_k: of(outcome).clone(),
            });
            Panel {
                title: title.to_owned(),
                lines: outdoors.into_iter().chain(designs).collect(),
                band: None,
                marks: Vec::new(),
            }
        };
        Self {
            title: "Attic and rooms, design by design".to_owned(),
            start: outcomes
                .first()
                .map_or(DateTime::default(), |first| first.start),
            span_s: whole(&times_s),
            times_s,
            panels: vec![
                panel("Attic air", &|o| &o.trace.attic_air_k),
                panel("Rooms", &|o| &o.trace.living_air_k),
            ],
        }
    }

    /// The same with only a part of the time shown.
    pub fn within(&self, span_s: Range<f64>) -> Self {
        Self {
            span_s,
            ..self.clone()
        }
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame, system: System) -> Result<String, ChartError> {
        let wide = frame.is_wide();
        let label_style = Type::new(Tint::Ink, Anchor::Start).bold();
        let label_px = self
            .panels
            .iter()
            .flat_map(|panel| &panel.lines)
            .map(|line| width(line.text(frame), label_style))
            .fold(0.0, f64::max);
        let field_px = match (self.panels.len(), wide) {
            (0 | 1, true) => 260.0,
            (0 | 1, false) => 210.0,
            (_, true) => 190.0,
            (_, false) => 160.0,
        };
        let heading_px = if self.panels.iter().all(|panel| panel.title.is_empty()) {
            20.0
        } else {
            48.0
        };
        let count = self.panels.len().max(1) as f64;
        let mut svg = Svg::new(frame.width(), count * (field_px + heading_px) + 24.0);
        let left = if wide { 68.0 } else { 32.0 };
        let right = frame.width() - label_px - 16.0;
        let marks = scale::time_marks(system, self.start, &self.span_s, right - left);
        for (index, panel) in self.panels.iter().enumerate() {
            let top = heading_px + index as f64 * (field_px + heading_px);
            let range = self.range(panel, system, field_px / PER_TICK_PX);
            let field = Field {
                left,
                top,
                right,
                bottom: top + field_px,
                x: if self.span_s.end > self.span_s.start {
                    self.span_s.clone()
                } else {
                    0.0..1.0
                },
                y: range,
            };
            if !panel.title.is_empty() {
                svg.text((0.0, top - 22.0), &panel.title, label_style);
            }
            axes(&mut svg, &field, system, wide)?;
            for &at in &marks.lines_s {
                let ends = [(at, field.y.start), (at, field.y.end)];
                field.line(&mut svg, &ends, Stroke::solid(Tint::Grid, 1.0))?;
            }
            self.curves(&mut svg, &field, panel, frame, system)?;
            if index + 1 == self.panels.len() {
                for (at, word) in &marks.words {
                    let style = Type::new(Tint::Muted, Anchor::Middle).small();
                    svg.text((field.x_px(*at), field.bottom + 16.0), word, style);
                }
            }
        }
        Ok(svg.finish(&self.title, &self.in_words(system)))
    }

    fn curves(
        &self,
        svg: &mut Svg,
        field: &Field,
        panel: &Panel,
        frame: Frame,
        system: System,
    ) -> Result<(), ChartError> {
        let shown = self.shown();
        let at = |temps_k: &[f64]| -> Vec<(f64, f64)> {
            let pairs = self.times_s.iter().zip(temps_k);
            let mut points: Vec<(f64, f64)> =
                pairs.map(|(t, k)| (*t, degrees(system, *k))).collect();
            points.truncate(shown.end);
            points.drain(..shown.start.min(points.len()));
            points
        };
        if let Some(band) = &panel.band {
            let mut outline = at(&band.low_k);
            outline.extend(at(&band.high_k).into_iter().rev());
            field.area(svg, &outline, band.tint, 0.16)?;
        }
        let mut labels = Vec::new();
        for line in &panel.lines {
            let points = at(&line.temps_k);
            let stroke = if line.is_background {
                Stroke::dashed(line.tint, 1.4)
            } else {
                Stroke::solid(line.tint, 1.7)
            };
            field.line(svg, &points, stroke)?;
            if let Some(&(x, y)) = points.last() {
                labels.push(EndLabel {
                    end: field.at(x, y),
                    text: line.text(frame).to_owned(),
                    tint: line.tint,
                });
            }
        }
        for Mark::Highest(index) in &panel.marks {
            let Some(line) = panel.lines.get(*index) else {
                continue;
            };
            if let Some((x, y)) = highest(&at(&line.temps_k)) {
                let (px, py) = field.at(x, y);
                svg.circle((px, py), 2.8, line.tint);
                let value = whole_degrees(system, scale::kelvin_of(system, y));
                let style = Type::new(line.tint, Anchor::Middle).bold().halo();
                let half = width(&value, style) / 2.0;
                let px = px.clamp(
                    field.left + half,
                    (field.right - half).max(field.left + half),
                );
                svg.text((px, py - 7.0), &value, style);
            }
        }
        label::write(
            svg,
            &labels,
            field.right + 12.0,
            (field.top + 4.0, field.bottom - 4.0),
        );
        Ok(())
    }

    /// Indices of the times that are shown.
    fn shown(&self) -> Range<usize> {
        let first = self
            .times_s
            .partition_point(|t| *t < self.span_s.start - 1e-6);
        let end = self
            .times_s
            .partition_point(|t| *t <= self.span_s.end + 1e-6);
        first..end.max(first)
    }

    fn range(&self, panel: &Panel, system: System, most: f64) -> Range<f64> {
        let shown = self.shown();
        let columns = panel.lines.iter().map(|line| &line.temps_k);
        let edges = panel
            .band
            .iter()
            .flat_map(|band| [&band.low_k, &band.high_k]);
        let values = columns
            .chain(edges)
            .flat_map(|column| {
                column
                    .get(shown.start..shown.end.min(column.len()))
                    .unwrap_or(&[])
            })
            .map(|temp_k| degrees(system, *temp_k));
        scale::round_range(values, most)
    }

    /// What the chart shows, in words.
    fn in_words(&self, system: System) -> String {
        let shown = self.shown();
        let mut words = String::new();
        for panel in &self.panels {
            if !panel.title.is_empty() {
                let _ = write!(words, "{}. ", panel.title);
            }
            for line in &panel.lines {
                let column = line
                    .temps_k
                    .get(shown.start..shown.end.min(line.temps_k.len()));
                let points: Vec<(f64, f64)> = self.times_s[shown.clone()]
                    .iter()
                    .zip(column.unwrap_or(&[]))
                    .map(|(t, k)| (*t, *k))
                    .collect();
                if let Some((at, high)) = highest(&points) {
                    let when = scale::after(self.start, at);
                    let _ = write!(
                        words,
                        "{}: highest {} on {}, {}. ",
                        line.label,
                        whole_degrees(system, high),
                        scale::day_name(when),
                        scale::hour_name(system, when),
                    );
                }
            }
        }
        words.trim_end().to_owned()
    }
}

impl Line {
    fn text(&self, frame: Frame) -> &str {
        if frame.is_wide() {
            &self.label
        } else {
            &self.short
        }
    }
}

/// Degrees on the left, and in a wide frame those of the other system further left.
fn axes(svg: &mut Svg, field: &Field, system: System, wide: bool) -> Result<(), ChartError> {
    let own: Ticks = ticks(&field.y, field.height() / PER_TICK_PX);
    for &value in &own.values {
        field.level(svg, value, &own.label(value), Tint::Grid)?;
    }
    let unit = Type::new(Tint::Muted, Anchor::End).small();
    svg.text(
        (field.left - 7.0, field.top - 9.0),
        degree_sign(system),
        unit,
    );
    if wide {
        let second = scale::other(system);
        let convert = |value: f64| degrees(second, scale::kelvin_of(system, value));
        let range = convert(field.y.start)..convert(field.y.end);
        let marks = ticks(&range, field.height() / PER_TICK_PX);
        let x = field.left - 40.0;
        svg.text((x, field.top - 9.0), degree_sign(second), unit);
        for &value in &marks.values {
            let y = field.y_px(degrees(system, scale::kelvin_of(second, value)));
            svg.text_about((x, y), &marks.label(value), unit);
        }
    }
    Ok(())
}

fn whole(times_s: &[f64]) -> Range<f64> {
    match (times_s.first(), times_s.last()) {
        (Some(first), Some(last)) => *first..*last,
        _ => 0.0..0.0,
    }
}

fn highest(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    points
        .iter()
        .copied()
        .filter(|point| point.1.is_finite())
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Letters of a name that have room beside a chart on a phone.
pub(super) const SHORT_LETTERS: usize = 18;

/// The first letters of a name, if it is long.
pub(super) fn shortened(name: &str, letters: usize) -> String {
    if name.chars().count() <= letters {
        return name.to_owned();
    }
    let start: String = name.chars().take(letters - 1).collect();
    format!("{}…", start.trim_end())
}
