//! Curves over stretches of time that need not touch, such as the days of a fit and days kept out.

use std::ops::Range;

use jiff::civil::DateTime;

use super::label::{self, EndLabel};
use super::plot::{Field, Stroke};
use super::scale::{self, round_range, ticks};
use super::svg::{Anchor, Point, Svg, Type, left_of_units, width};
use super::{ChartError, Frame, Tint};
use crate::units::System;

/// A stretch of the time axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// What it is, with its days.
    pub name: String,
    /// What it is, where there is little room.
    pub short: String,
    /// Whether its ground is shaded.
    pub is_shaded: bool,
    /// From when to when, s from the chart's start.
    pub span_s: Range<f64>,
}

/// Where the name of a curve stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Naming {
    /// Beside its end.
    End,
    /// Above or below a point of it.
    At {
        /// Time, s from the chart's start, and value.
        point: (f64, f64),
        /// Whether it stands above.
        above: bool,
    },
    /// Nowhere: another part of the same curve has it.
    Nowhere,
}

/// A curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Name.
    pub name: String,
    /// Where the name stands.
    pub naming: Naming,
    /// Colour.
    pub tint: Tint,
    /// Width, px.
    pub px: f64,
    /// Times, s from the chart's start, and values in the unit shown; one that is no number breaks
    /// the line.
    pub points: Vec<(f64, f64)>,
}

/// The space between two limits.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeBand {
    /// Colour.
    pub tint: Tint,
    /// Times, s from the chart's start, and both limits in the unit shown; those that are no numbers
    /// break the band.
    pub points: Vec<(f64, [f64; 2])>,
}

/// One field of a chart; all have one time axis.
#[derive(Debug, Clone, PartialEq)]
pub struct TimePanel {
    /// Heading; may be empty.
    pub title: String,
    /// Unit of the values.
    pub unit: &'static str,
    /// Whether the line of nothing is in it and stands out.
    pub has_zero: bool,
    /// Bands under the curves.
    pub bands: Vec<TimeBand>,
    /// Curves, the last on top.
    pub curves: Vec<Curve>,
}

/// Curves over stretches of time.
#[derive(Debug, Clone, PartialEq)]
pub struct OverTime {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// What it tells, in a few sentences.
    pub words: String,
    /// For the names of hours.
    pub system: System,
    /// Local standard time at time 0.
    pub start: DateTime,
    /// Stretches in the order of time.
    pub stretches: Vec<Stretch>,
    /// Fields from the top.
    pub panels: Vec<TimePanel>,
}

/// Least distance of level lines, px.
const PER_TICK_PX: f64 = 34.0;
/// Stretches nearer than this touch, s.
const TOUCHING_S: f64 = 6.0 * 3600.0;
/// Room between stretches that do not touch, px.
const BETWEEN_PX: f64 = 12.0;
/// Least width of a stretch, px.
const LEAST_PX: f64 = 48.0;

impl OverTime {
    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        let wide = frame.is_wide();
        let bold = Type::new(Tint::Ink, Anchor::Start).bold();
        let curves = || self.panels.iter().flat_map(|panel| &panel.curves);
        let label_px = curves()
            .filter(|curve| curve.naming == Naming::End)
            .map(|curve| width(&curve.name, bold))
            .fold(0.0, f64::max);
        let field_px = match (self.panels.len(), wide) {
            (0 | 1, true) => 230.0,
            (0 | 1, false) => 190.0,
            (_, true) => 170.0,
            (_, false) => 150.0,
        };
        let has_titles = self.panels.iter().any(|panel| !panel.title.is_empty());
        let head_px = if has_titles { 58.0 } else { 24.0 };
        let count = self.panels.len().max(1) as f64;
        let mut svg = Svg::new(frame.width(), count * (field_px + head_px) + 24.0);
        let unit = Type::new(Tint::Muted, Anchor::End).small();
        let left = left_of_units(self.panels.iter().map(|panel| panel.unit), unit);
        let right = frame.width() - label_px - if label_px > 0.0 { 18.0 } else { 10.0 };
        let spans = self.spans_px(left, right);
        for (index, panel) in self.panels.iter().enumerate() {
            let top = head_px + index as f64 * (field_px + head_px);
            if !panel.title.is_empty() {
                svg.text((0.0, top - 28.0), &panel.title, bold);
            }
            let fields = self.fields(panel, &spans, top, field_px);
            let is_last = index + 1 == self.panels.len();
            self.ground(&mut svg, panel, &fields, is_last)?;
            curves_of(&mut svg, panel, &fields, right)?;
        }
        Ok(svg.finish(&self.title, &self.words))
    }

    /// Where each stretch lies across, px.
    fn spans_px(&self, left: f64, right: f64) -> Vec<Range<f64>> {
        let gaps: Vec<f64> = self
            .stretches
            .windows(2)
            .map(|pair| {
                let apart_s = pair[1].span_s.start - pair[0].span_s.end;
                if apart_s < TOUCHING_S {
                    0.0
                } else {
                    BETWEEN_PX
                }
            })
            .collect();
        let room = right - left - gaps.iter().sum::<f64>();
        let length = |stretch: &Stretch| (stretch.span_s.end - stretch.span_s.start).max(1.0);
        let whole: f64 = self.stretches.iter().map(length).sum();
        let wanted = self.stretches.iter().map(|one| {
            let even = room / self.stretches.len() as f64;
            (room * length(one) / whole).max(LEAST_PX.min(even))
        });
        let wanted: Vec<f64> = wanted.collect();
        let scale = room / wanted.iter().sum::<f64>();
        let mut at = left;
        let mut spans = Vec::new();
        for (index, px) in wanted.iter().enumerate() {
            spans.push(at..at + px * scale);
            at += px * scale + gaps.get(index).copied().unwrap_or(0.0);
        }
        spans
    }

    fn fields(&self, panel: &TimePanel, spans: &[Range<f64>], top: f64, px: f64) -> Vec<Field> {
        let shown = |at_s: f64| {
            let mut stretches = self.stretches.iter();
            stretches.any(|one| one.span_s.start <= at_s && at_s <= one.span_s.end)
        };
        let points = panel.curves.iter().flat_map(|curve| &curve.points);
        let mut values: Vec<f64> = points
            .filter(|point| shown(point.0) && point.1.is_finite())
            .map(|point| point.1)
            .collect();
        let limits = panel.bands.iter().flat_map(|band| &band.points);
        values.extend(
            limits
                .filter(|(at_s, _)| shown(*at_s))
                .flat_map(|(_, ends)| *ends),
        );
        values.extend(panel.has_zero.then_some(0.0));
        // A name on a curve needs room.
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let room = 24.0 / px * (most - least);
        values.extend(panel.curves.iter().filter_map(|curve| match curve.naming {
            Naming::At { point, above: true } => Some(point.1 + room),
            Naming::At { point, .. } => Some(point.1 - room),
            _ => None,
        }));
        let y = round_range(values.into_iter(), px / PER_TICK_PX);
        self.stretches
            .iter()
            .zip(spans)
            .map(|(stretch, across)| Field {
                left: across.start,
                top,
                right: across.end,
                bottom: top + px,
                x: if stretch.span_s.end > stretch.span_s.start {
                    stretch.span_s.clone()
                } else {
                    stretch.span_s.start..stretch.span_s.start + 1.0
                },
                y: y.clone(),
            })
            .collect()
    }

    /// Shades, axes and names of the stretches.
    fn ground(
        &self,
        svg: &mut Svg,
        panel: &TimePanel,
        fields: &[Field],
        is_last: bool,
    ) -> Result<(), ChartError> {
        let soft = Type::new(Tint::Muted, Anchor::Start).small();
        let Some(first) = fields.first() else {
            return Ok(());
        };
        let levels = ticks(&first.y, first.height() / PER_TICK_PX);
        let spans = self.stretches.iter().map(|stretch| &stretch.span_s);
        let widths = fields.iter().map(|field| field.right - field.left);
        let all_marks = scale::marks_of_stretches(self.system, self.start, spans.zip(widths));
        let placed = fields.iter().zip(&self.stretches).zip(&all_marks);
        for (index, ((field, stretch), marks)) in placed.enumerate() {
            if stretch.is_shaded {
                let (from, to) = ((field.left, field.top), (field.right, field.bottom));
                svg.rect(from, to, Tint::Sky, 0.16);
            }
            for &value in &levels.values {
                let is_zero = panel.has_zero && value.abs() < 1e-9 * levels.step;
                let stroke = if is_zero {
                    Stroke::solid(Tint::Muted, 1.2)
                } else {
                    Stroke::solid(Tint::Grid, 1.0)
                };
                let ends = [(field.x.start, value), (field.x.end, value)];
                field.line(svg, &ends, stroke)?;
                if index == 0 {
                    let figure = Type::new(Tint::Muted, Anchor::End).small();
                    let at = (field.left - 7.0, field.y_px(value));
                    svg.text_about(at, &levels.label(value), figure);
                }
            }
            let span_px = field.right - field.left;
            for &at in &marks.lines_s {
                let ends = [(at, field.y.start), (at, field.y.end)];
                field.line(svg, &ends, Stroke::solid(Tint::Grid, 1.0))?;
            }
            if is_last {
                let middle = Type::new(Tint::Muted, Anchor::Middle).small();
                for (at, word) in &marks.words {
                    svg.text((field.x_px(*at), field.bottom + 16.0), word, middle);
                }
            }
            let tint = if stretch.is_shaded {
                Tint::Blue
            } else {
                Tint::Muted
            };
            let style = Type { tint, ..soft };
            let fits = |name: &str| width(name, style) <= span_px;
            let name = if fits(&stretch.name) {
                &stretch.name
            } else {
                &stretch.short
            };
            svg.text((field.left, field.top - 8.0), name, style);
        }
        let unit = Type::new(Tint::Muted, Anchor::End).small();
        svg.text((first.left - 7.0, first.top - 8.0), panel.unit, unit);
        Ok(())
    }
}

impl TimeBand {
    fn draw(&self, svg: &mut Svg, field: &Field) -> Result<(), ChartError> {
        let inside = |(at_s, _): &&(f64, [f64; 2])| field.x.start <= *at_s && *at_s <= field.x.end;
        let points: Vec<(f64, [f64; 2])> = self.points.iter().filter(inside).copied().collect();
        for run in points.split(|(_, ends)| ends.iter().any(|value| !value.is_finite())) {
            let low = run.iter().map(|(at_s, [low, _])| (*at_s, *low));
            let high = run.iter().rev().map(|(at_s, [_, high])| (*at_s, *high));
            let outline: Vec<Point> = low.chain(high).collect();
            field.area(svg, &outline, self.tint, 0.2)?;
        }
        Ok(())
    }
}

/// Points of readings by their times, s since 1970, on a chart that starts at another such time; where
/// readings are missing for long there is a point that is no number.
pub(in crate::report) fn gapped<T>(
    times_s: &[i64],
    start_s: i64,
    missing: T,
    of: impl Fn(usize) -> T,
) -> Vec<(f64, T)>
where
    T: Copy,
{
    let mut steps: Vec<i64> = times_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
    steps.sort_unstable();
    let longest_s = steps
        .get(steps.len() / 2)
        .map_or(i64::MAX, |usual_s| 3 * usual_s);
    let mut points = Vec::with_capacity(times_s.len());
    let mut before_s: Option<i64> = None;
    for (index, at_s) in times_s.iter().enumerate() {
        let place = (at_s - start_s) as f64;
        if before_s.is_some_and(|before_s| at_s - before_s > longest_s) {
            points.push((place - 1.0, missing));
        }
        points.push((place, of(index)));
        before_s = Some(*at_s);
    }
    points
}

impl Naming {
    /// Where the name of a curve stands clear of another with the same times: above it where it is
    /// highest, or below it where it is lowest.
    pub(in crate::report) fn clear_of(
        points: &[(f64, f64)],
        other: &[(f64, f64)],
        stretches: &[Stretch],
    ) -> Self {
        let shown = |point: &&(f64, f64)| {
            let mut inside = stretches.iter().map(|one| &one.span_s);
            let is_shown = |span_s: &Range<f64>| span_s.start <= point.0 && point.0 <= span_s.end;
            point.1.is_finite() && inside.any(is_shown)
        };
        let by_value = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
        let highest = |of: &[(f64, f64)]| of.iter().filter(shown).max_by(by_value).copied();
        let lowest = |of: &[(f64, f64)]| of.iter().filter(shown).min_by(by_value).copied();
        let above = highest(points).zip(highest(other));
        let below = lowest(points).zip(lowest(other));
        let by_above = above.map_or(f64::NAN, |(own, other)| own.1 - other.1);
        let by_below = below.map_or(f64::NAN, |(own, other)| other.1 - own.1);
        match (above, below) {
            (Some((point, _)), _) if by_above >= by_below => Self::At { point, above: true },
            (_, Some((point, _))) => Self::At {
                point,
                above: false,
            },
            _ => Self::Nowhere,
        }
    }
}

/// The curves of a field, in each of its stretches, and their names.
fn curves_of(
    svg: &mut Svg,
    panel: &TimePanel,
    fields: &[Field],
    right: f64,
) -> Result<(), ChartError> {
    for band in &panel.bands {
        for field in fields {
            band.draw(svg, field)?;
        }
    }
    let mut ends = Vec::new();
    for curve in &panel.curves {
        let mut last: Option<Point> = None;
        for field in fields {
            let inside = |point: &&Point| field.x.start <= point.0 && point.0 <= field.x.end;
            let points: Vec<Point> = curve.points.iter().filter(inside).copied().collect();
            field.line(svg, &points, Stroke::solid(curve.tint, curve.px))?;
            let end = points.iter().rev().find(|point| point.1.is_finite());
            last = end.map(|(x, y)| field.at(*x, *y)).or(last);
        }
        if let (Naming::End, Some(end)) = (curve.naming, last) {
            ends.push(EndLabel {
                end,
                text: curve.name.clone(),
                tint: curve.tint,
            });
        }
    }
    for curve in &panel.curves {
        let Naming::At { point, above } = curve.naming else {
            continue;
        };
        let inside = |field: &&Field| field.x.start <= point.0 && point.0 <= field.x.end;
        if let Some(field) = fields.iter().find(inside) {
            let style = Type::new(curve.tint, Anchor::Middle).bold().halo();
            let half = width(&curve.name, style) / 2.0;
            let (x, y) = field.at(point.0, point.1);
            let y = if above { y - 7.0 } else { y + 16.0 };
            let most = (field.right - half).max(field.left + half);
            svg.text((x.clamp(field.left + half, most), y), &curve.name, style);
        }
    }
    if let Some(field) = fields.last() {
        let between = (field.top + 4.0, field.bottom - 4.0);
        label::write(svg, &ends, right + 10.0, between);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    const DAY_S: f64 = 86_400.0;

    fn chart(spans: &[Range<f64>]) -> OverTime {
        OverTime {
            title: "t".to_owned(),
            words: "w".to_owned(),
            system: System::Us,
            start: date(2017, 7, 10).at(0, 0, 0, 0),
            stretches: spans
                .iter()
                .map(|span_s| Stretch {
                    name: "a name that is much too long for a short stretch of time".to_owned(),
                    short: "short".to_owned(),
                    is_shaded: true,
                    span_s: span_s.clone(),
                })
                .collect(),
            panels: vec![TimePanel {
                title: String::new(),
                unit: "°F",
                has_zero: true,
                bands: vec![TimeBand {
                    tint: Tint::Vermilion,
                    points: vec![
                        (0.0, [0.0, 2.0]),
                        (0.5 * DAY_S, [1.0, 3.0]),
                        (DAY_S, [f64::NAN; 2]),
                        (2.0 * DAY_S, [-4.0, -2.0]),
                    ],
                }],
                curves: vec![Curve {
                    name: "measured".to_owned(),
                    naming: Naming::End,
                    tint: Tint::Ink,
                    px: 1.5,
                    points: vec![(0.0, 1.0), (DAY_S, f64::NAN), (2.0 * DAY_S, -3.0)],
                }],
            }],
        }
    }

    #[test]
    fn stretches_fill_the_width_and_touch_only_where_their_times_do() {
        let near = chart(&[0.0..4.0 * DAY_S, 4.0 * DAY_S..5.0 * DAY_S]).spans_px(40.0, 540.0);
        assert!(
            (near[0].end - 440.0).abs() < 1e-9 && near[0].end.to_bits() == near[1].start.to_bits()
        );
        let far = chart(&[0.0..60.0 * DAY_S, 200.0 * DAY_S..201.0 * DAY_S]).spans_px(40.0, 540.0);
        assert!((far[1].end - 540.0).abs() < 1e-9);
        assert!((far[1].start - far[0].end - BETWEEN_PX).abs() < 1e-9);
        assert!(far[1].end - far[1].start > 40.0, "a single day can be seen");
    }

    #[test]
    fn nothing_that_is_no_number_is_drawn() {
        for spans in [
            vec![],
            vec![0.0..0.0],
            vec![0.0..2.0 * DAY_S, 9.0 * DAY_S..9.5 * DAY_S],
        ] {
            for frame in [Frame::Wide, Frame::Narrow] {
                let svg = chart(&spans).draw(frame).unwrap();
                assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            }
        }
    }
}
