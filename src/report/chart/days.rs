//! Day by day: highest temperatures and hours of the fans.

use std::fmt::Write as _;

use jiff::civil::DateTime;

use crate::assess::Day;
use crate::report::Case;
use crate::units::{System, kelvin};

use super::label::{self, EndLabel};
use super::plot::{Field, Stroke};
use super::scale::{self, degree_sign, degrees, plain, ticks};
use super::svg::{Anchor, Svg, Type, width};
use super::temperatures::{SHORT_LETTERS, shortened};
use super::{ChartError, Frame, Tint};

/// What a column of figures is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Temperatures, K.
    Temperature,
    /// Hours, given in s.
    Hours,
}

/// One figure a day.
#[derive(Debug, Clone, PartialEq)]
pub struct DayColumn {
    /// Label.
    pub label: String,
    /// Shorter label where there is little room.
    pub short: String,
    /// Colour.
    pub tint: Tint,
    /// Whether it is drawn as the ground that others stand against.
    pub is_background: bool,
    /// A value for each day, K or s.
    pub values: Vec<f64>,
}

/// Columns of one quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct DayPanel {
    /// Heading.
    pub title: String,
    /// What is shown.
    pub quantity: Quantity,
    /// Columns.
    pub columns: Vec<DayColumn>,
}

/// Figures day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct DayChart {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// The days.
    pub days: Vec<DateTime>,
    /// Fields from the top.
    pub panels: Vec<DayPanel>,
}

impl DayChart {
    /// Highs of attic and rooms and hours of the fans for runs in the same weather.
    pub fn of_cases(cases: &[Case]) -> Self {
        let days_of = |case: &Case, of: fn(&Day) -> f64| -> Vec<f64> {
            case.assessment.days.iter().map(of).collect()
        };
        let column = |label: &str, tint, is_background, values| DayColumn {
            label: label.to_owned(),
            short: shortened(label, SHORT_LETTERS),
            tint,
            is_background,
            values,
        };
        let designs = |of: fn(&Day) -> f64| {
            cases.iter().enumerate().map(move |(index, case)| {
                column(
                    case.design(),
                    Tint::of_design(index),
                    false,
                    days_of(case, of),
                )
            })
        };
        let outdoors = || {
            cases.first().map(|first| {
                let highs = days_of(first, |day| kelvin(day.outdoor_high_c));
                column("outdoors", Tint::Blue, true, highs)
            })
        };
        let panel = |title: &str, of: fn(&Day) -> f64| DayPanel {
            title: title.to_owned(),
            quantity: Quantity::Temperature,
            columns: outdoors().into_iter().chain(designs(of)).collect(),
        };
        let mut panels = vec![
            panel("Attic air, highest of the day", |day| {
                kelvin(day.attic_high_c)
            }),
            panel("Rooms, highest of the day", |day| kelvin(day.living_high_c)),
        ];
        let fan_hours: Vec<DayColumn> = designs(|day| day.fan_hours * 3_600.0)
            .zip(cases)
            .filter(|(_, case)| case.outcome.fans.iter().any(|fan| fan.count > 0))
            .map(|(column, _)| column)
            .collect();
        if !fan_hours.is_empty() {
            panels.push(DayPanel {
                title: "Fans running, hours".to_owned(),
                quantity: Quantity::Hours,
                columns: fan_hours,
            });
        }
        let days = cases
            .first()
            .map_or(&[][..], |first| &first.assessment.days);
        Self {
            title: "Day by day".to_owned(),
            days: days.iter().map(|day| day.date.at(12, 0, 0, 0)).collect(),
            panels,
        }
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame, system: System) -> Result<String, ChartError> {
        let wide = frame.is_wide();
        let bold = Type::new(Tint::Ink, Anchor::Start).bold();
        let columns = || self.panels.iter().flat_map(|panel| &panel.columns);
        let label_px = columns()
            .map(|c| width(c.text(wide), bold))
            .fold(0.0, f64::max);
        let heights: Vec<f64> = self
            .panels
            .iter()
            .map(|panel| match panel.quantity {
                Quantity::Temperature => {
                    if wide {
                        150.0
                    } else {
                        130.0
                    }
                }
                Quantity::Hours => 70.0,
            })
            .collect();
        let head_px = 52.0;
        let whole: f64 = heights.iter().map(|height| height + head_px).sum();
        let mut svg = Svg::new(frame.width(), whole + 26.0);
        let count = self.days.len().max(1) as f64;
        let mut top = head_px;
        for (panel, height) in self.panels.iter().zip(&heights) {
            let field = Field {
                left: 36.0,
                top,
                right: frame.width() - label_px - 16.0,
                bottom: top + height,
                x: 0.0..count,
                y: panel.range(system),
            };
            svg.text((0.0, top - 22.0), &panel.title, bold);
            panel.draw(&mut svg, &field, system, wide)?;
            top += height + head_px;
        }
        self.day_names(
            &mut svg,
            top - head_px + 16.0,
            (36.0, frame.width() - label_px - 16.0),
        );
        Ok(svg.finish(&self.title, &self.in_words(system)))
    }

    fn day_names(&self, svg: &mut Svg, y: f64, (left, right): (f64, f64)) {
        let per_day = (right - left) / self.days.len().max(1) as f64;
        let style = Type::new(Tint::Muted, Anchor::Middle).small();
        let every = (26.0 / per_day).ceil().max(1.0);
        for (index, day) in self.days.iter().enumerate() {
            if index as f64 % every != 0.0 {
                continue;
            }
            let name = scale::day_name(*day);
            let word = if per_day >= 70.0 {
                name.as_str()
            } else if per_day >= 26.0 {
                name.split(' ').next().unwrap_or("")
            } else {
                name.split(' ').nth(1).unwrap_or("")
            };
            svg.text((left + (index as f64 + 0.5) * per_day, y), word, style);
        }
    }

    fn in_words(&self, system: System) -> String {
        let mut words = String::new();
        for panel in &self.panels {
            for column in &panel.columns {
                let values: Vec<String> = column
                    .values
                    .iter()
                    .map(|v| plain(panel.quantity.shown(system, *v), 0))
                    .collect();
                let values = values.join(", ");
                let _ = write!(words, "{}, {}: {values}. ", panel.title, column.label);
            }
        }
        words.trim_end().to_owned()
    }
}

impl Quantity {
    fn shown(self, system: System, value: f64) -> f64 {
        match self {
            Self::Temperature => degrees(system, value),
            Self::Hours => value / 3_600.0,
        }
    }
}

impl DayColumn {
    fn text(&self, wide: bool) -> &str {
        if wide { &self.label } else { &self.short }
    }
}

impl DayPanel {
    fn range(&self, system: System) -> std::ops::Range<f64> {
        let values = self.columns.iter().flat_map(|column| &column.values);
        let shown = values.map(|value| self.quantity.shown(system, *value));
        match self.quantity {
            Quantity::Temperature => scale::round_range(shown, 5.0),
            Quantity::Hours => scale::round_range(shown.chain([0.0]), 2.0),
        }
    }

    fn draw(
        &self,
        svg: &mut Svg,
        field: &Field,
        system: System,
        wide: bool,
    ) -> Result<(), ChartError> {
        let most = match self.quantity {
            Quantity::Temperature => 5.0,
            Quantity::Hours => 2.0,
        };
        let marks = ticks(&field.y, most);
        for &value in &marks.values {
            field.level(svg, value, &marks.label(value), Tint::Grid)?;
        }
        let unit = Type::new(Tint::Muted, Anchor::End).small();
        let sign = match self.quantity {
            Quantity::Temperature => degree_sign(system),
            Quantity::Hours => "h",
        };
        svg.text((field.left - 7.0, field.top - 9.0), sign, unit);
        let mut labels = Vec::new();
        for (index, column) in self.columns.iter().enumerate() {
            let points: Vec<(f64, f64)> = column
                .values
                .iter()
                .enumerate()
                .map(|(day, value)| (day as f64 + 0.5, self.quantity.shown(system, *value)))
                .collect();
            let stroke = if column.is_background {
                Stroke::dashed(column.tint, 1.2)
            } else {
                Stroke::solid(column.tint, 1.4)
            };
            if self.quantity == Quantity::Hours {
                self.bars(svg, field, index, &points)?;
            } else {
                field.line(svg, &points, stroke)?;
            }
            for &(x, y) in points.iter().filter(|_| self.quantity != Quantity::Hours) {
                svg.circle(
                    field.at(x, y),
                    if column.is_background { 2.0 } else { 3.0 },
                    column.tint,
                );
            }
            if let Some(&(x, y)) = points.last() {
                let (px, py) = field.at(x, y);
                labels.push(EndLabel {
                    end: (px + 4.0, py),
                    text: column.text(wide).to_owned(),
                    tint: column.tint,
                });
            }
        }
        label::write(svg, &labels, field.right + 8.0, (field.top, field.bottom));
        Ok(())
    }
}

impl DayPanel {
    /// Bars of one column beside those of the others.
    fn bars(
        &self,
        svg: &mut Svg,
        field: &Field,
        index: usize,
        points: &[(f64, f64)],
    ) -> Result<(), ChartError> {
        let count = self.columns.len().max(1) as f64;
        let bar = f64::min(0.6 / count, 0.22);
        for &(x, y) in points {
            let from = x + (index as f64 - 0.5 * count) * bar;
            field.bar(
                svg,
                from..from + 0.9 * bar,
                0.0..y,
                self.columns[index].tint,
                1.0,
            )?;
        }
        Ok(())
    }
}
