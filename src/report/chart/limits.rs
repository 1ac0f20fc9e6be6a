//! A few figures with their limits, to hold one against another.

use super::drops::within_limits;
use super::plot::{Field, Stroke};
use super::scale::ticks;
use super::svg::{Anchor, Svg, Type, width};
use super::{ChartError, Frame, Tint};

/// One figure.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitRow {
    /// Name.
    pub name: String,
    /// Colour.
    pub tint: Tint,
    /// The figure, in the group's unit.
    pub value: f64,
    /// Limits.
    pub limits: [f64; 2],
}

/// Figures of one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitGroup {
    /// Heading.
    pub title: String,
    /// Unit; groups with the same one have the same scale.
    pub unit: &'static str,
    /// Figures from the top.
    pub rows: Vec<LimitRow>,
}

/// Groups of figures.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitChart {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// Groups from the top.
    pub groups: Vec<LimitGroup>,
}

/// Height of a heading, of a row and of the figures below, px.
const HEAD_PX: f64 = 30.0;
const ROW_PX: f64 = 38.0;
const FOOT_PX: f64 = 26.0;

impl LimitChart {
    /// What it tells, in words.
    pub fn in_words(&self) -> String {
        let groups = self.groups.iter().map(|group| {
            let row = |row: &LimitRow| format!("{} {}", row.name, group.figure(row));
            let rows: Vec<String> = group.rows.iter().map(row).collect();
            format!("{}: {}.", group.title, rows.join(", "))
        });
        groups.collect::<Vec<_>>().join(" ")
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        let bold = Type::new(Tint::Ink, Anchor::Start).bold();
        let heights = self
            .groups
            .iter()
            .map(|group| HEAD_PX + ROW_PX * group.rows.len() as f64 + FOOT_PX);
        let mut svg = Svg::new(frame.width(), heights.sum::<f64>() + 4.0);
        let mut top = 0.0;
        for group in &self.groups {
            svg.text((0.0, top + 20.0), &group.title, bold);
            top += HEAD_PX;
            let field = Field {
                left: 8.0,
                top,
                right: frame.width() - 14.0,
                bottom: top + ROW_PX * group.rows.len() as f64,
                x: self.extent(group.unit),
                y: (group.rows.len().max(1) as f64)..0.0,
            };
            group.draw(&mut svg, &field)?;
            top = field.bottom + FOOT_PX;
        }
        Ok(svg.finish(&self.title, &self.in_words()))
    }

    /// What all figures of a unit take, with nothing in it and some room at the ends.
    fn extent(&self, unit: &str) -> std::ops::Range<f64> {
        let alike = self.groups.iter().filter(|group| group.unit == unit);
        let rows = alike.flat_map(|group| &group.rows);
        let ends = rows.flat_map(|row| [row.value, row.limits[0], row.limits[1]]);
        let (low, high) = ends
            .filter(|value| value.is_finite())
            .fold((0.0_f64, 0.0_f64), |(low, high), value| {
                (low.min(value), high.max(value))
            });
        let room = 0.03 * (high - low).max(1e-6);
        low - room..high + room
    }
}

impl LimitGroup {
    fn figure(&self, row: &LimitRow) -> String {
        format!("{} {}", within_limits(row.value, row.limits), self.unit)
    }

    fn draw(&self, svg: &mut Svg, field: &Field) -> Result<(), ChartError> {
        let count = self.rows.len() as f64;
        let upright = |value: f64| [(value, 0.0), (value, count)];
        let marks = ticks(&field.x, ((field.right - field.left) / 56.0).max(1.0));
        let middle = Type::new(Tint::Muted, Anchor::Middle).small();
        for &value in &marks.values {
            let is_nothing = value.abs() < 1e-9 * marks.step;
            let stroke = if is_nothing {
                Stroke::solid(Tint::Ink, 1.3)
            } else {
                Stroke::solid(Tint::Grid, 1.0)
            };
            field.line(svg, &upright(value), stroke)?;
            let at = (field.x_px(value), field.bottom + 15.0);
            svg.text(at, &marks.label(value), middle);
        }
        for (index, row) in self.rows.iter().enumerate() {
            let y = index as f64 + 0.72;
            let ends = [(row.limits[0], y), (row.limits[1], y)];
            field.line(svg, &ends, Stroke::solid(row.tint, 3.0))?;
            svg.circle(field.at(row.value, y), 5.0, row.tint);
            let words = format!("{}: {}", row.name, self.figure(row));
            let text = Type::new(row.tint, Anchor::Start).halo();
            let most = field.right - width(&words, text.bold());
            let x = field
                .x_px(row.limits[0])
                .clamp(field.left, most.max(field.left));
            svg.text((x, field.y_px(y) - 10.0), &words, text);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_agree_and_nothing_is_on_them() {
        let row = |value: f64| LimitRow {
            name: "measured".to_owned(),
            tint: Tint::Vermilion,
            value,
            limits: [value - 1.0, value + 1.0],
        };
        let group = |unit, value| LimitGroup {
            title: "daily highs".to_owned(),
            unit,
            rows: vec![row(value)],
        };
        let chart = LimitChart {
            title: "t".to_owned(),
            groups: vec![group("K", 5.0), group("K", 9.0), group("kWh a day", 2.0)],
        };
        let kelvin = chart.extent("K");
        assert!(kelvin.start < 0.0 && kelvin.end > 10.0);
        assert!(chart.extent("kWh a day").end < 4.0);
        assert!(chart.in_words().contains("measured 5.0 (4.0 to 6.0) K"));
        for frame in [Frame::Wide, Frame::Narrow] {
            assert!(!chart.draw(frame).unwrap().contains("NaN"));
        }
    }
}
