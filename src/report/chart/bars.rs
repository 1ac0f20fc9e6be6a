//! Groups of bars with their figures, to hold a few numbers against one another.

use super::plot::{Field, Stroke};
use super::svg::{Anchor, Svg, Type, width};
use super::{ChartError, Frame, Tint};

/// One bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Name.
    pub name: String,
    /// Colour.
    pub tint: Tint,
    /// How long it is, at least nothing.
    pub size: f64,
    /// Its figure with its unit.
    pub figure: String,
}

/// Bars of one sort.
#[derive(Debug, Clone, PartialEq)]
pub struct RowGroup {
    /// Heading.
    pub title: String,
    /// Groups with the same unit have the same scale.
    pub unit: &'static str,
    /// Bars from the top.
    pub rows: Vec<Row>,
}

/// Groups of bars.
#[derive(Debug, Clone, PartialEq)]
pub struct BarGroups {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// Groups from the top.
    pub groups: Vec<RowGroup>,
}

/// Height of a heading and of a bar with the room about it, px.
const HEAD_PX: f64 = 30.0;
const ROW_PX: f64 = 19.0;

impl BarGroups {
    /// What it tells, in words.
    pub fn in_words(&self) -> String {
        let groups = self.groups.iter().map(|group| {
            let rows = group
                .rows
                .iter()
                .map(|row| format!("{} {}", row.name, row.figure));
            format!("{}: {}.", group.title, rows.collect::<Vec<_>>().join(", "))
        });
        groups.collect::<Vec<_>>().join(" ")
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        let bold = Type::new(Tint::Ink, Anchor::Start).bold();
        let rows = || self.groups.iter().flat_map(|group| &group.rows);
        let widest = |of: &dyn Fn(&Row) -> String| {
            rows().map(|row| width(&of(row), bold)).fold(0.0, f64::max)
        };
        let left = widest(&|row| row.name.clone()) + 10.0;
        let right = frame.width() - widest(&|row| row.figure.clone()) - 10.0;
        let height = self
            .groups
            .iter()
            .map(|group| HEAD_PX + ROW_PX * group.rows.len() as f64);
        let mut svg = Svg::new(frame.width(), height.sum::<f64>() + 6.0);
        let mut top = 0.0;
        for group in &self.groups {
            let alike = self.groups.iter().filter(|other| other.unit == group.unit);
            let sizes = alike.flat_map(|other| &other.rows).map(|row| row.size);
            let most = sizes.filter(|size| size.is_finite()).fold(1e-9, f64::max);
            svg.text((0.0, top + 20.0), &group.title, bold);
            top += HEAD_PX;
            let bottom = top + ROW_PX * group.rows.len() as f64;
            let field = Field {
                left,
                top,
                right,
                bottom,
                x: 0.0..most,
                y: (group.rows.len().max(1) as f64)..0.0,
            };
            for (index, row) in group.rows.iter().enumerate() {
                let middle = index as f64 + 0.5;
                field.bar(
                    &mut svg,
                    0.0..row.size,
                    middle - 0.32..middle + 0.32,
                    row.tint,
                    1.0,
                )?;
                let y = field.y_px(middle);
                let name = Type::new(row.tint, Anchor::End);
                svg.text_about((left - 7.0, y), &row.name, name);
                let x = field.x_px(if row.size.is_finite() { row.size } else { 0.0 });
                svg.text_about(
                    (x + 7.0, y),
                    &row.figure,
                    Type::new(row.tint, Anchor::Start).bold(),
                );
            }
            let foot = [(0.0, field.y.start), (0.0, field.y.end)];
            field.line(&mut svg, &foot, Stroke::solid(Tint::Muted, 1.0))?;
            top = bottom;
        }
        Ok(svg.finish(&self.title, &self.in_words()))
    }
}
